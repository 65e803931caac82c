"""What moved since the last page of the same field."""

import json
from dataclasses import replace
from datetime import date

import pytest

import frostkit as fk
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import Site
from frostkit.seasons.calendar import DAYS
from frostkit.show.cli import main
from frostkit.show.pages import since
from frostkit.show.pages.since import Kept
from frostkit.show.render.words import words

ASKED = {"station": "X", "corn": "silage-2300"}
OLD = Kept(ASKED, "2026-05-03", dict.fromkeys(since.DAYS, 160.0), "2025-12-31", (27, 30))
NEW = replace(OLD, made="2026-11-20", days={**OLD.days, "window_to": 157.0}, record="2026-11-19", odds=(26, 31))


def test_what_moved_is_said_and_nothing_else():
    assert since.moved(OLD, NEW, words("en")) == [
        "Last sowing day: 7 June; it was 10 June.",
        "Sown on the last day it makes it in 26 of 31 seasons; it was 27 of 30.",
        "The record now goes to 19 November 2026; it went to 31 December 2025.",
    ]
    assert since.title(OLD, NEW, words("en")) == "Since the page of 3 May 2026"


def test_a_window_that_is_gone_is_said():
    gone = replace(NEW, days={**NEW.days, "window_to": None}, odds=None)
    assert since.moved(OLD, gone, words("en"))[0] == "Last sowing day: no day; it was 10 June."


@pytest.mark.parametrize("older", [None, NEW, replace(OLD, asked={"station": "Y"})], ids=["none", "same", "another"])
def test_on_the_first_page_after_the_same_one_and_after_another_place_nothing_is_said(older):
    assert since.moved(older, NEW, words("en")) == []
    assert since.title(older, NEW, words("en")) == ""


def test_a_page_made_twice_still_says_what_moved_before():
    first = NEW.with_before(OLD)
    again = since._of(json.loads(first.as_text()))
    assert since.moved(again, NEW, words("en")) == since.moved(OLD, NEW, words("en"))
    assert again.with_before(first).before == OLD


def grown(days: int) -> Site:
    """The invented place with so many days fewer at the end."""
    record = demo_record()
    cut = {name: getattr(record, name)[:-days] for name in ("tmin", "tmax")}
    more = {name: values[:-days] for name, values in record.more.items()}
    return Site(replace(record, **cut, more=more))


def test_a_report_over_an_older_one_says_what_the_years_between_moved(tmp_path):
    path = tmp_path / "page.html"
    assert fk.report(grown(6 * DAYS), since=path).save(path) == path
    assert "Since the page" not in path.read_text("utf-8")
    html = fk.report(fk.demo(), since=path).html
    assert "Since the page of " in html and "The record now goes to 31 December 2025; it went to " in html
    assert "Depuis la page du " in fk.report(fk.demo(), since=path, language="fr").html


def test_the_command_compares_with_the_page_it_replaces_and_with_nothing_that_is_none(tmp_path):
    path = tmp_path / "page.html"
    fk.report(grown(6 * DAYS)).save(path)
    assert main(["report", "--out", str(path)]) == 0
    assert "Since the page of " in path.read_text("utf-8")


@pytest.mark.parametrize(
    "old",
    ["", "<html>", '<meta name="frostkit-kept" content="{">', '<meta name="frostkit-kept" content="[1, 2]">',
     '<meta name="frostkit-kept" content=\'{"asked": {}, "made": "yesterday"}\'>', "\x00\xff"],
)  # fmt: skip
def test_a_page_of_another_kind_is_no_older_page(old, tmp_path):
    path = tmp_path / "old.html"
    path.write_text(old, "utf-8")
    assert since.read(path) is None
    assert since.read(tmp_path / "none.html") is None
    assert since.read(tmp_path) is None


def test_what_a_page_keeps_is_read_back_as_it_was(tmp_path):
    page = fk.report(fk.demo())
    page.save(tmp_path / "page.html")
    back = since.read(tmp_path / "page.html")
    window = fk.window(fk.demo()).answer.values["window"]
    assert back is not None and back.days["window_to"] == window["to"].column
    assert back.made == date.today().isoformat() and back.record == "2025-12-31"
