"""The report: the numbers of the commands, in the units and language asked for, from records good and poor."""

import json
import re
from dataclasses import replace
from datetime import date
from html import unescape

import pytest

import frostkit as fk
from frostkit.answers.cautions import NEEDED, cautions_for
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import Site
from frostkit.seasons.calendar import column, from_code
from frostkit.show.cli import main
from frostkit.show.pages.page import made_line
from frostkit.show.pages.report import ROWS, SECTION
from frostkit.show.render import fixed
from frostkit.show.render.words import words
from frostkit.show.texts import LANGUAGES, texts

SITE = fk.demo()
CORN, LEGUME = load("silage-2300"), load("forage-late")
SAY = texts("en")


def said(html):
    """The words of a page, pictures left out."""
    body = re.sub(r"<svg.*?</svg>", " ", re.split("<body[^>]*>", html)[1], flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))


def table(html, title):
    """Rows of the table after a heading: the cells' texts."""
    part = html.split(title, 1)[1].split("<tbody>", 1)[1].split("</tbody>", 1)[0]
    rows = re.findall(r"<tr.*?</tr>", part, flags=re.DOTALL)
    return [[unescape(re.sub(r"<[^>]+>", "", cell)).strip() for cell in re.findall(r"<t[hd].*?</t[hd]>", row)] for row in rows]  # fmt: skip


@pytest.fixture(scope="module")
def page():
    return fk.report(SITE, tables=True, command="frostkit report --out <page>.html").html


def test_the_answer_is_the_one_the_command_gives(page, capsys):
    assert main(["window"]) == 0
    lines = capsys.readouterr().out.split("\n\n")[0].splitlines()
    told = re.sub(r"\s+", " ", " ".join(lines))
    text = said(page)
    verdict, *_ = re.split(r"(?<=\.) (?=[A-Z])", told)
    assert re.findall(r'<p class="answer">(.*?)</p>', page) == [verdict]
    for sentence in re.split(r"(?<=\.) (?=[A-Z])", told):
        assert sentence in text


def test_the_odds_table_has_the_counts_of_the_json_and_the_days_the_sentences_speak_of(page, capsys):
    main(["window", "--json"])
    answer = json.loads(capsys.readouterr().out)
    by_day = {SAY.day(from_code(row["seeding"])): row for row in answer["odds"]}
    rows = table(page, "When to seed")
    assert 10 <= len(rows) <= 30
    for day, *cells in rows:
        both = by_day[day.removeprefix("* ")]["both"]
        for cell, share in zip(cells, (both, both["ready"], both["plan"]), strict=True):
            count, of, low, high = (int(part) for part in re.findall(r"\d+", cell))
            assert (count, of) == (share["count"], share["seasons"])
            assert (low / 100, high / 100) == pytest.approx((share["low"], share["high"]), abs=0.0051)
    first, last = (SAY.day(from_code(answer["window"][end])) for end in ("from", "to"))
    marked = [day.removeprefix("* ") for day, *_ in rows if day.startswith("* ")]
    assert (marked[0], marked[-1]) == (first, last)
    assert f"from {first}, as soon as the soil is ready, to {last}" in said(page)


@pytest.mark.parametrize("threshold", ["0", "-2.2"])
def test_frost_dates_are_those_of_the_frost_command(page, capsys, threshold):
    assert main(["frost", "--threshold", threshold]) == 0
    head = capsys.readouterr().out.split("\n  ")[0]
    assert head in said(page)
    frame = fk.frost(SITE, float(threshold)).to_frame("dates")
    rows = table(page, head)
    assert len(rows) == len(frame) == 5
    for row, (_, spring, fall) in zip(rows, frame[["last_spring_share_count", "first_fall_share_count"]].itertuples()):
        assert [int(row[place].split(" of ")[0]) for place in (2, 4)] == [spring, fall]


def test_the_late_legume_and_heat_are_those_of_their_own_answers(page):
    text = said(page)
    usual = fk.window(SITE).answer.values["ready_days"]["usual"]
    late = fk.late_legume(SITE, seeding=int(usual.column))
    heat = fk.heat(SITE, "chu", first="05-15", last="09-15")
    for answer in (late, heat):
        told = words("en")
        for says in (answer.answer.headline, *answer.answer.sentences[:SECTION]):
            assert " ".join(told.say(answer.answer.question, says).split()) in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_asks_for_nothing_from_outside(language):
    html = fk.report(SITE, language=language).html
    assert f'<html lang="{language}">' in html
    assert set(re.findall(r"https?://[^\s\"'<>)]*", html)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }
    assert not re.search(r"<(link|img|iframe|object|embed)\b|@import|url\((?!#)|\ssrc=", html)
    assert html.count("<script>") == html.count("<script") == 1  # finds a season; every season stands without it
    assert all(address.startswith("#") for address in re.findall(r"href=\"([^\"]*)\"", html))
    assert len(html.encode()) < 500_000


def test_names_inside_the_picture_are_unique_and_it_can_be_read_aloud(page):
    names = re.findall(r'\sid="([^"]+)"', page)
    assert len(names) == len(set(names))
    assert len(re.findall("<h1", page)) == 1
    assert len(re.findall('<svg role="img" aria-label="Seed silage corn', page)) == 2, "for paper, and for a telephone"
    assert not re.search(r"<th(?! scope)[ >]", page)


def test_units_are_those_asked_for():
    states = said(fk.report(SITE, units="us").html).rsplit(" Sources ", 1)[0]
    assert "No frost at or below 32 °F" in states
    assert "lb/ac" in states and "kg/ha" not in states
    assert "°C" not in states
    metric = said(fk.report(SITE).html).rsplit(" Sources ", 1)[0]
    assert "No frost at or below 0 °C" in metric
    assert "kg/ha" in metric and "lb/ac" not in metric
    assert "°F" not in metric


def test_without_a_legume_the_page_speaks_of_corn_alone():
    text = said(fk.report(SITE, legume=None).html)
    assert text.strip().startswith("Seeding corn at River Flat")
    assert "Seed silage corn rated 2,300 CHU for the bunker from " in text
    assert "Into corn seeded" not in text
    assert "Source: soybean" not in text


def test_without_corn_the_page_speaks_of_the_legume_alone():
    text = said(fk.report(SITE, corn=None).html)
    assert text.strip().startswith("Seeding the legume at River Flat")
    assert "Seed late forage soybean from " in text
    assert "Into corn seeded" not in text


def test_a_record_of_seven_seasons_answers_with_wide_intervals_and_its_caution():
    short = said(fk.report(Site(demo_record(), only=(2018, 2024))).html)
    assert "7 seasons" in short and "of 7 (" in short
    assert "nan" not in short.lower()


def test_a_record_without_latitude_makes_a_page_too():
    record = demo_record()
    lost = replace(record, station=replace(record.station, latitude=float("nan"), longitude=float("nan")))
    assert "nan" not in said(fk.report(Site(lost), legume=None).html).lower()


def test_ones_own_last_day_holds_on_the_page():
    text = said(fk.report(SITE, not_after=column(5, 25), tables=True).html)
    assert "to 25 May for odds of 8 in 10" in text
    assert "your own last day, 25 May" in text


def test_the_page_says_how_it_was_made(page):
    text = said(page)
    assert f"{made_line(SAY)} To make it again: frostkit report --out <page>.html" in text
    assert made_line(SAY, date(2026, 3, 1)).startswith("Made on 1 March 2026 with frostkit ")
    assert "This place and its weather are invented" in text


def test_every_source_of_the_crops_numbers_stands_on_the_page(page):
    text = said(page)
    for crop in (CORN, LEGUME):
        assert crop.stage[crop.goal].need.source in text
        assert crop.soil.source in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_caution_of_seeding_late_legume_and_frost_stands_whole_before_the_tables(language):
    html = fk.report(SITE, tables=True, language=language).html
    before = said("<body>" + re.split("<body[^>]*>", html)[1].split("<table")[0])
    for topic in {*NEEDED["seeding"], *NEEDED["late legume"], *NEEDED["frost"]}:
        told = fixed.caution(cautions_for(topic)[0], words(language))
        assert " ".join(f"{told.title}. {told.text}".split()) in before
        assert " ".join(told.source.split()) in before


def test_by_default_the_page_has_the_window_a_line_a_section_and_every_caution_by_its_act():
    html, whole = fk.report(SITE).html, fk.report(SITE, tables=True).html
    assert html.count("<table") == 2 < whole.count("<table")  # the window's, and every season's, folded
    rows = table(html, "When to seed")
    assert 2 <= len(rows) <= ROWS
    full = table(whole, "When to seed")
    marked = [row for row in full if row[0].startswith("* ")]
    assert rows[0] == marked[0] and rows[-1] == marked[-1] and all(row in full for row in rows)
    for topic in {*NEEDED["seeding"], *NEEDED["late legume"], *NEEDED["frost"]}:
        assert cautions_for(topic)[0].act in said(html)
    assert "<details open" not in html and html.count("<details>") == whole.count("<details open")
