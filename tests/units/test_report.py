"""The report: the numbers of the commands, in the units and language asked for, from records good and poor."""

import json
import re
from dataclasses import replace
from datetime import date
from html import unescape

import numpy as np
import pytest

from frostkit.answers.cautions import NEEDED, cautions_for
from frostkit.answers.frosts import frosts
from frostkit.answers.late_legume import late_legume
from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.seasons.calendar import column, from_code
from frostkit.show import phrases
from frostkit.show.cli import main
from frostkit.show.pictures.frost import day_at
from frostkit.show.report import Asked, Units, report
from frostkit.show.texts import LANGUAGES, texts

RECORD = demo_record()
AT = behind(RECORD)
CORN, LEGUME = load("silage-2300"), load("forage-late")
BOTH = Asked(CORN, LEGUME)
MADE = date(2026, 3, 1)
SAY = texts("en")


def words(page):
    """The words of a page, pictures left out."""
    body = re.sub(r"<svg.*?</svg>", " ", page.split("<body>")[1], flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))


def table(page, title):
    """Rows of the table after a heading: the cells' texts."""
    part = page.split(title, 1)[1].split("<table", 1)[1].split("</table>", 1)[0].split("<tbody", 1)[1]
    rows = re.findall(r"<tr.*?</tr>", part, flags=re.DOTALL)
    return [[unescape(re.sub(r"<small>.*?</small>|<[^>]+>", "", cell)).strip() for cell in re.findall(r"<t[hd].*?</t[hd]>", row, re.DOTALL)] for row in rows]  # fmt: skip


@pytest.fixture(scope="module")
def page():
    return report(AT, BOTH, made=MADE)


def test_the_answer_is_the_one_the_command_gives(page, capsys):
    assert main(["window"]) == 0
    head, *below = [line.strip() for line in capsys.readouterr().out.split("\n\n")[0].splitlines()]
    said = re.sub(r"\s+", " ", " ".join(below))
    text = words(page)
    assert head.rstrip(".") in text
    answer = seeding(AT, CORN, LEGUME)
    for sentence in (phrases.headline(SAY, answer)[1], phrases.ends(SAY, answer)):
        assert sentence in text
        assert sentence in said


def test_the_odds_table_has_the_counts_of_the_json_and_the_days_the_sentences_speak_of(page, capsys):
    main(["window", "--json"])
    answer = json.loads(capsys.readouterr().out)
    by_day = {SAY.day(from_code(row["seeding"])): row for row in answer["odds"]}
    rows = table(page, "When to seed")
    assert 5 <= len(rows) <= 13
    for day, corn, legume, both, interval, _ in rows:
        for cell, name in ((corn, "corn"), (legume, "legume"), (both, "both")):
            share = by_day[day][name]
            yes, complete = (int(part) for part in cell.split(" of "))
            assert complete == share["complete"]
            assert yes / complete == pytest.approx(share["share"], abs=5e-5)
        assert interval == f"{100 * by_day[day]['both']['low']:.0f} to {100 * by_day[day]['both']['high']:.0f} %"
    days = [row[0] for row in rows]
    for end in ("from", "to"):
        assert SAY.day(from_code(answer["window"][end])) in days
    counts = [int(row[3].split(" of ")[0]) for row in rows if row[0] in days]
    least = re.search(r"at least (\d+) of", words(page)).group(1)
    assert int(least) in counts


def test_frost_dates_are_those_of_the_frost_answer(page):
    rows = table(page, ">Frost<")
    for row, threshold in zip(rows, (0.0, -2.2)):
        answer = frosts(AT, threshold)
        spring, fall = answer.spring_odds, answer.fall_odds
        free = answer.between.first[answer.between.known() & np.isfinite(answer.between.first)]
        assert row == [
            phrases.degrees(SAY, threshold),
            SAY.day(day_at(spring.share, spring.day, 0.5)), SAY.day(day_at(spring.share, spring.day, 0.9)),
            SAY.day(day_at(fall.share, fall.day, 0.1)), SAY.day(day_at(fall.share, fall.day, 0.5)),
            str(round(float(np.median(free)))),
        ]  # fmt: skip


def test_the_late_legume_is_the_one_of_its_own_answer(page):
    answer = seeding(AT, CORN, LEGUME)
    late = late_legume(AT, CORN, LEGUME, answer.best.first)
    rows = table(page, "How late the legume can still go in")
    assert len(rows) == len(late.beans[0].sown)
    for row, sown in zip(rows, late.beans[0].sown):
        assert row[2].startswith(phrases.count(SAY, phrases.row(sown.odds), 0))


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_asks_for_nothing_from_outside(language):
    html = report(AT, BOTH, language=language, made=MADE)
    assert set(re.findall(r"https?://[^\s\"'<>)]*", html)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }
    assert not re.search(r"<(script|link|img|iframe|object|embed)\b|@import|url\((?!#)|\ssrc=", html)
    assert all(address.startswith("#") for address in re.findall(r"href=\"([^\"]*)\"", html))
    assert len(html.encode()) < 1_000_000


def test_names_inside_the_pictures_are_unique_so_that_one_does_not_draw_with_the_others(page):
    names = re.findall(r'\sid="([^"]+)"', page)
    assert len(names) == len(set(names))


def test_units_are_those_asked_for():
    text = words(report(AT, BOTH, Units(fahrenheit=True, heat="degree-days", pounds=True), made=MADE))
    assert "32 °F" in text and "28 °F" in text
    assert "lb/ac" in text and "kg/ha" not in text
    assert "corn heat units)" not in text and "degree days °F)" in text
    assert "630 degree days °F" in text  # 350 degree days °C of the legume's goal
    assert "degree days °C" not in text.split("Sources")[0]
    metric = words(report(AT, BOTH, made=MADE))
    assert (
        "0 °C" in metric
        and "°F" not in metric.split("Sources")[0]
        and "kg/ha" in metric
        and "corn heat units)" in metric
    )


def test_heat_in_fahrenheit_is_nine_fifths_of_heat_in_celsius():
    def middle(units):
        said = re.search(r"half the seasons have ([\d,]+) or more", words(report(AT, BOTH, units, made=MADE))).group(1)
        return int(said.replace(",", ""))

    assert middle(Units(True, "degree-days")) == pytest.approx(1.8 * middle(Units(False, "degree-days")), abs=1)


def test_without_a_legume_the_page_speaks_of_corn_alone():
    text = words(report(AT, Asked(CORN, None), made=MADE))
    assert text.strip().startswith("Seeding corn at River Flat (invented)")
    assert "Seed corn from " in text
    assert "How late the legume" not in text and "What the legume brings" not in text


def test_without_corn_the_page_speaks_of_the_legume_alone():
    text = words(report(AT, Asked(None, LEGUME), made=MADE))
    assert text.strip().startswith("Seeding the legume at River Flat (invented)")
    assert "How late the legume" not in text and "What the legume brings" in text


def test_a_record_of_fewer_than_ten_complete_seasons_gives_bounds_and_no_odds():
    short = report(behind(RECORD, seasons=(2016, 2022)), BOTH, made=MADE)
    text = words(short)
    assert "Too few complete seasons to say when to seed corn and legume together" in text
    assert "too few complete seasons to say when to sow it" in text
    assert "no window" not in text and "never" not in text
    assert [row[1:5] for row in table(short, ">Frost<")] == [["not known"] * 4] * 2
    assert "below 10 there are bounds, and no odds" in text
    assert "to 7 of 7" in text or "to 6 of 7" in text  # bounds out of all seasons, in the table
    assert "nan" not in text.lower()


def test_a_record_without_latitude_leaves_out_what_needs_day_length():
    lost = replace(RECORD, station=replace(RECORD.station, latitude=float("nan"), longitude=float("nan")))
    text = words(report(behind(lost), BOTH, made=MADE))
    assert "days vegetative" not in text and "days vegetative" in words(report(AT, BOTH, made=MADE))
    assert "nan" not in text.lower()


def test_ones_own_last_day_holds_on_the_page():
    text = words(report(AT, replace(BOTH, not_after=column(5, 25)), made=MADE))
    assert "to 25 May" in text
    assert "25 May is your own last day" in text


def test_the_page_says_how_it_was_made(page):
    text = words(report(AT, replace(BOTH, command="frostkit report --out <page>.html"), made=MADE))
    assert "Made on 1 March 2026 with frostkit " in text
    assert "frostkit report --out <page>.html" in text


def test_every_source_of_the_crops_numbers_stands_on_the_page(page):
    text = words(page)
    for crop in (CORN, LEGUME):
        assert crop.stage[crop.goal].need.source in text
        assert crop.soil.source in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_caution_of_seeding_late_legume_and_frost_stands_whole_before_the_picture(language):
    html = report(AT, BOTH, language=language, made=MADE)
    say = texts(language)
    before = words("<body>" + html.split("<body>")[1].split("<figure>")[0])
    for topic in {*NEEDED["seeding"], *NEEDED["late legume"], *NEEDED["frost"]}:
        told = phrases.caution(say, cautions_for(topic)[0])
        assert f"{told['title']}. {told['text']}" in before
        assert told["source"] in before
