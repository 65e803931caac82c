"""The field sheet: one page with today, the coming weeks, what to check, every caution, sources and how to make it again."""

import re
from datetime import date
from functools import cache
from html import unescape

import pytest

from frostkit.answers.cautions import in_language
from frostkit.answers.silage.chop import chop
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import Site
from frostkit.seasons.calendar import column
from frostkit.show.pages.sheet import ODDS, field_sheet
from frostkit.show.render.words import words
from frostkit.show.texts import texts

SITE = Site(demo_record())
CORN = load("silage-2300")
EN, FR = words("en"), words("fr")
CASES = {
    "too early": {"today": "2025-06-20"},
    "before": {"today": "2025-08-25"},
    "frosted": {"today": "2025-09-14", "seeding": column(5, 31)},
    "too dry": {"today": "2025-09-20"},
    "seen": {"today": "2025-08-25", "silking": column(8, 1), "milk_line": (0.3, column(8, 22)), "moisture": 70.5,
             "legume_share": 0.1},
}  # fmt: skip


@cache
def answered(case):
    return chop(SITE, CORN, **{"seeding": column(5, 22), **CASES[case]})


def plain(page):
    """The words of a page."""
    body = re.sub(r"<(style|svg|small).*?</\1>", " ", page.split("<body>")[1], flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))


@pytest.fixture(scope="module")
def page():
    return field_sheet(answered("before"), EN, name="Slough", lines=["In the order of fields: 2 of 3."],
                       command="frostkit chop", made=date(2026, 8, 25))  # fmt: skip


@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("case", CASES)
def test_every_caution_of_its_kind_stands_in_full_above_the_numbers(case, language):
    answer = answered(case)
    said = plain(field_sheet(answer, words(language)))
    ahead = " ".join(texts(language)("sheet.ahead").split())
    for caution in answer.cautions:
        told = in_language(caution, language)
        assert f"{told.title}. {' '.join(told.text.split())}" in said
        assert said.index(" ".join(told.act.split())) < said.index(ahead)


def test_the_sheet_says_today_what_to_check_its_sources_and_how_to_make_it_again(page):
    said = plain(page)
    assert "Field sheet: Slough, season 2025" in said
    assert "Today, 25 August: silking; about 73 % moisture, give or take 4." in said
    assert "In the order of fields: 2 of 3." in said
    assert "Next: dry a" in said
    assert "Start testing when the milk line is 20 % down" in said
    assert "Moisture of the bunker: University of Wisconsin W031" in said
    assert "silage corn rated 2,300 CHU: 2,150 CHU from sowing to its goal" in said
    assert "Made on 25 August 2026 with frostkit " in said
    assert "To make it again: frostkit chop" in said
    assert "River Flat (invented)" in said and "for the season 2025" in said
    assert "This place and its weather are invented" in said


def test_the_table_has_the_answers_numbers(page):
    table = answered("before").table("odds")
    rows = re.findall(r"<tr[^>]*><th scope=\"row\">(.*?)</th>(.*?)</tr>", page.replace("\u00a0", " "))
    assert 5 <= len(rows) <= 9
    for head, cells in rows:
        day = re.match(r"(\d+ \w+)", head)[1]
        row = next(n for n, at in enumerate(table.index.values) if texts("en").day(at) == day)
        moisture, *odds = re.findall(r"<td>(.*?)</td>", cells)
        low, high = (table[f"moisture_band.{end}"].values[row] for end in ("low", "high"))
        assert moisture == f"{low:.0f} to {high:.0f} %"
        by_name = [table[f"{name}.odds"].values[row] for name in ODDS] + [table["killed"].values.share[row]]
        assert odds == [f"{100 * value:.0f} %" for value in by_name]
        assert ("best days" in head) == bool(table.marked[row])


def test_a_killing_frost_is_said_and_the_days_drying_with_it():
    said = plain(field_sheet(answered("frosted"), EN))
    assert "A killing frost has come: it dries about half a point a day from there, no faster" in said
    assert "It was frosted: dry a sample before you believe your eyes" in said
    assert "A killing frost, -2.0 °C, has come by" in plain(field_sheet(answered("before"), EN))


def test_what_was_seen_in_the_field_is_said_in_the_order_of_its_days():
    said = plain(field_sheet(answered("seen"), EN))
    assert re.findall(r"Seen: (silking|milk line 30 %|70.5 % moisture)", said) == [
        "silking", "milk line 30 %", "70.5 % moisture"]  # fmt: skip
    assert "10 % of the wet weight" in said


def test_the_sheet_stands_alone_and_is_small(page):
    assert len(page.encode()) < 200_000
    assert re.findall(r'(?:src|href)="(?!#)([^"]+)"', page) == []
    assert "<script" not in page
    assert "@import" not in page and "url(" not in page.replace("url(#", "")


def test_the_sheet_can_be_read_aloud(page):
    assert len(re.findall("<h1", page)) == 1
    assert '<html lang="en">' in page
    assert re.search(r'<svg role="img" aria-label="Fit to chop[^"]+"', page)
    assert not re.search(r"<th(?! scope)[ >]", page)


def test_a_name_can_not_break_the_page():
    page = field_sheet(answered("before"), EN, name="<script>alert(1)</script> & co", lines=["5 < 6"])
    assert "<script" not in page
    assert "&lt;script&gt;" in page and "5 &lt; 6" in page


@pytest.mark.parametrize("case", CASES)
def test_the_sheet_in_french_has_no_english_sentence_of_its_own(case):
    """All but the record's line and sources, which stay in their own language, and names."""
    english = texts("en").entries
    said = plain(field_sheet(answered(case), FR, name="Coulée")).split("Sources Counted")[0]
    for room in ("sheet", "chop", "chop_picture"):
        for key, sentence in english[room].items():
            part = max(re.split(r"\{\w+\}", sentence), key=len).strip(" .,:;%")
            if len(part) > 12 and part != "frostkit triage --at -2 --hours 3":
                assert part not in said, f"{room}.{key}"
    assert "août" in said or "septembre" in said


def test_in_units_of_the_states_the_killing_frost_and_the_cautions_are_in_fahrenheit():
    said = plain(field_sheet(answered("before"), words("en", "us")))
    assert "A killing frost, 28.4 °F, has come by" in said


def test_the_sheet_says_what_the_answer_does_not_know():
    answer = answered("before")
    said = plain(field_sheet(answer, EN))
    assert all(EN.value(term) in said for term in answer.values["does_not_know"])


@pytest.mark.browser
@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("case", CASES)
def test_printed_it_is_exactly_one_a4_page(case, language, tmp_path):
    pypdf = pytest.importorskip("pypdf")
    from frostkit.show.pages.page import write

    lines = ["In the order of fields: 2 of 3, chopped from about 22 August (17 August to 29 August)."]
    html = field_sheet(answered(case), words(language), name="The far field beyond the slough", lines=lines,
                       command="frostkit fields --today 2025-08-25 --fields my_fields.csv --sheets sheets --sheet-kind pdf")  # fmt: skip
    pages = pypdf.PdfReader(write(html, tmp_path / "sheet.pdf")).pages
    assert len(pages) == 1
    millimetres = [float(side) / 72 * 25.4 for side in (pages[0].mediabox.width, pages[0].mediabox.height)]
    assert millimetres == pytest.approx([210, 297], abs=0.5)  # ISO 216
    text = pages[0].extract_text()
    assert "frostkit fields" in text.replace("\n", " ")
