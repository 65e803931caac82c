"""What the field's book tells other answers: the same as telling it by hand, and what is typed goes before it."""

from datetime import date

import numpy as np
import pytest

import frostkit as fk
from frostkit.answers.season.book import read_book
from frostkit.answers.season.calibrate import BAND, calibrate, with_need
from frostkit.crops.entry import listed, load
from frostkit.demo.place import FARM, HERE
from frostkit.errors import SettingError
from frostkit.public import each_field
from frostkit.show.cli import main

BOOK = HERE / "book.toml"
SITE = fk.demo()
TODAY = "2025-08-25"


def told(answer):
    """What an answer says apart from the book itself."""
    return {key: value for key, value in answer.to_dict().items()
            if key not in ("sentences", "by_book", "calibrated", "corn", "need_range_chu")}  # fmt: skip


def test_chopping_by_the_book_is_chopping_with_what_it_tells_typed_by_hand():
    north = {one.what: one for one in read_book(BOOK).of("north", 2025) if one.on <= date.fromisoformat(TODAY)}
    need = calibrate(SITE, load("silage-2300"), read_book(BOOK), ("north",), before=2025)
    own = with_need(load("silage-2300"), need.need)
    by_hand = fk.chop(SITE, own, seeding=north["sown"].column, silking=north["silking"].column, today=TODAY)
    by_book = fk.chop(SITE, "silage-2300", today=TODAY, book=BOOK, field="north")
    assert told(by_book) == told(by_hand)
    assert by_book.to_dict()["by_book"] == {"field": "north", "what": ["sown", "silking"]}
    assert by_book.to_dict()["calibrated"]["samples"] == len(need.samples) >= 2
    for said in ("From the book of north: corn sown and silking.", "your corn needs"):
        assert said in " ".join(by_book.brief().split())


def test_choosing_by_the_book_is_choosing_among_corns_moved_by_hand():
    book = read_book(BOOK)
    corns = [crop for crop in map(load, listed()) if crop.kind == "corn"]
    needs = {crop.name: calibrate(SITE, crop, book, ()) for crop in corns if crop.use == "silage"}
    moved = {name: need for name, need in needs.items() if need is not None}
    assert sorted(moved) == ["silage-2150", "silage-2300"]
    by_hand = fk.choose(
        SITE, corn=[with_need(one, moved[one.name].need) if one.name in moved else one for one in corns]
    )
    by_book = fk.choose(SITE, book=BOOK)
    assert told(by_book) == told(by_hand) != told(fk.choose(SITE))
    assert [(one["crop"], one["samples"]) for one in by_book.to_dict()["calibrated"]] == [
        (name, len(need.samples)) for name, need in moved.items()
    ]
    assert "Moved by the book's dried samples: silage corn rated 2,150 CHU" in " ".join(by_book.brief().split())


def test_choosing_from_a_farm_reads_the_book_beside_it(capsys):
    said = []
    for typed in (["choose"], ["--farm", str(FARM), "choose"], ["choose", "--book", str(BOOK)]):
        assert main([*typed, "--json"]) == 0
        said.append('"calibrated"' in capsys.readouterr().out)
    assert said == [False, True, True]


def test_what_is_typed_goes_before_the_book_and_nothing_later_than_today_counts():
    typed = fk.chop(SITE, "silage-2300", seeding="05-30", today=TODAY, book=BOOK, field="north")
    assert typed.to_dict()["seeding_day"] == "05-30"
    assert typed.to_dict()["by_book"]["what"] == ["silking"]
    early = fk.chop(SITE, "silage-2300", today="2025-07-01", book=BOOK, field="north")
    assert early.to_dict()["by_book"]["what"] == ["sown"]  # silking was seen later
    with pytest.raises(SettingError, match=r"book\.toml tells of \d fields"):
        fk.chop(SITE, "silage-2300", today=TODAY, book=BOOK)


def test_the_farms_file_gives_way_to_the_book_and_the_book_to_what_is_typed(tmp_path, capsys):
    farm, book = tmp_path / "farm.toml", tmp_path / "book.toml"
    farm.write_text('[field.north]\nseeding = "05-10"\narea_ha = 10\n', "utf-8")
    seen = '[[seen]]\nfield = "north"\non = 2025-05-24\nwhat = "sown"\n'
    for text, typed, day in ((seen, (), "05-24"), ("", (), "05-10"), (seen, ("--seeding", "05-30"), "05-30")):
        book.write_text(text, "utf-8")
        for command in ("chop", "season"):
            assert main(["--farm", str(farm), command, "--today", TODAY, "--json", *typed]) == 0
            assert f'"seeding_day": "{day}"' in capsys.readouterr().out


def test_fields_stand_as_the_book_tells_and_those_chopped_are_left_out(tmp_path):
    book = tmp_path / "book.csv"
    book.write_text("field,on,what,value\nnorth,2025-08-20,chopped,\nslough,2025-05-29,sown,\n"
                    "slough,2025-08-23,moisture,72\n", "utf-8")  # fmt: skip
    order = fk.fields(SITE, FARM, today=TODAY, book=book)
    assert order.to_dict()["chopped_already"] == ["north"]
    assert set(order.to_dict()["order"]) == {"slough", "corner"}
    assert "Chopped already, by the book: north." in " ".join(order.brief().split())
    slough = each_field(order)["slough"].to_dict()
    assert (slough["seeding_day"], slough["seen"][0]["what"]) == ("05-29", "moisture")
    book.write_text(
        "field,on,what\n" + "".join(f"{name},2025-08-20,chopped\n" for name in ("north", "slough", "corner"))
    )
    with pytest.raises(SettingError, match="Every field is chopped already"):
        fk.fields(SITE, FARM, today=TODAY, book=book)


def test_samples_move_the_windows_need_and_narrow_its_core_and_fringe():
    need = calibrate(SITE, load("silage-2300"), read_book(BOOK), ("north",))
    by_book = fk.window(SITE, "silage-2300", None, book=BOOK, field="north", track_record=False).to_dict()
    entry = fk.window(SITE, with_need(load("silage-2300"), need.need), None, track_record=False).to_dict()
    assert by_book["window"]["to"] == entry["window"]["to"]
    assert by_book["need_range_chu"] == pytest.approx(BAND * need.spread, abs=0.05)
    assert by_book["need_range_chu"] < entry["need_range_chu"] == 150
    wide, narrow = (
        np.diff([day(one["window"][end]["to"]) for end in ("core", "fringe")])[0] for one in (entry, by_book)
    )
    assert 0 < narrow < wide


def day(code):
    return date(2025, *map(int, code.split("-"))).toordinal()
