"""Every number has its range: what lies beyond is refused in two lines with exit code 2, and never answered."""

import copy
import re
import tomllib

import pytest

from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.answers.usable import faults
from frostkit.crops.entry import LIBRARY, load, read
from frostkit.demo.place import demo_record
from frostkit.errors import CropError

NAN, INF = float("nan"), float("inf")
NUMBERS = (0, -1, 1e9, -1e9, NAN, INF, -INF, 1e-9, 0.123456789, 100.001, 9_999, -30)
DAYS = ("02-29", "02-30", "12-31", "01-01", "11-15")
AT = behind(demo_record(), seasons=(2021, 2024))
OTHER = {"corn": load("forage-late"), "legume": load("silage-2300")}


def raw(name):
    return tomllib.loads((LIBRARY / f"{name}.toml").read_text("utf-8"))


def keys(table, at=()):
    """Paths to every number and day of an entry, and to its numbers with a range, all of which move together."""
    if {"value", "low", "high"} <= table.keys():
        yield (*at, ("value", "low", "high")), NUMBERS
    for key, inner in table.items():
        for number, one in enumerate(inner) if isinstance(inner, list) else [(None, inner)]:
            path = (*at, key) if number is None else (*at, key, number)
            if isinstance(one, dict):
                yield from keys(one, path)
            elif isinstance(one, int | float) and not isinstance(one, bool):
                yield path, NUMBERS
            elif key in ("from", "until"):
                yield path, DAYS


def put(entry, path, value):
    spoiled = copy.deepcopy(entry)
    table = spoiled
    for key in path[:-1]:
        table = table[key]
    for key in path[-1] if isinstance(path[-1], tuple) else path[-1:]:
        table[key] = value
    return spoiled


@pytest.mark.parametrize("name", ["silage-2300", "forage-late", "soybean-00"])
def test_no_extreme_value_passes_the_check_and_then_breaks_the_window(name):
    """Of over 500 extreme values in each entry; those that pass are answered with late planting too."""
    tried = passed = 0
    for path, values in keys(raw(name)):
        for value in values:
            tried += 1
            try:
                crop = read(put(raw(name), path, value), "mine", "mine.toml")
            except CropError:
                continue
            if faults(crop):
                continue
            passed += 1
            pair = (crop, OTHER["corn"]) if crop.kind == "corn" else (OTHER["legume"], crop)
            seeding(AT, *pair, late_planting=crop.late_planting is not None)
    assert tried > 500 * (name == "silage-2300")
    assert 0 < passed < tried / 2


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("clock", "leaves", "cap"), 10.0, "[clock.leaves], key 'cap': 10.0 found; allowed: above the base of 10.0"),
        (("clock", "leaves", "cap"), 5.0, "allowed: above the base"),
        (("clock", "leaves", "base"), 10.123456, "up to three decimals"),
        (
            ("moisture", "points_per_100"),
            0,
            "[moisture], key 'points_per_100': 0 found; input should be greater than 0",
        ),
        (("moisture", "points_per_100"), 9.0, "[moisture]: value 9.0 is outside its range 2.0 to 5.0"),
        (("stage", "silking", "need", ("value", "low", "high")), 0.5, "greater than or equal to 1"),
        (("stage", "silking", "need", ("value", "low", "high")), 10_000, "less than or equal to 9999"),
        (("stage", "silking", "need", ("value", "low", "high")), 1_950, "stages stand in the order in which they come"),
        (("stage", "v5", "kills", ("value", "low", "high")), 28.0, "less than or equal to 5"),
        (("soil", "from"), "02-30", "not one of the 365 days"),
        (("late_planting", "until"), "04-15", "allowed: a day after '05-01'"),
        (("late_planting", ("value", "high")), 60.0, "allowed: half of it in all"),
        (("collars", "early", "value"), 90, "[collars], key 'early': value 90 is outside its range 82 to 84"),
    ],
)
def test_a_number_outside_its_range_is_named_with_what_is_allowed(path, value, said):
    with pytest.raises(CropError, match=re.escape(said)):
        read(put(raw("silage-2300"), path, value), "mine", "mine.toml")


def test_the_check_builds_the_plan_as_the_window_does(run, tmp_path):
    """Moisture can't follow heat that is not counted from sowing: the window says so, and so the check must."""
    text = (LIBRARY / "silage-2300.toml").read_text("utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text.replace("[stage.fit_to_chop]\n", '[stage.fit_to_chop]\nsince = "emergence"\n'), "utf-8")
    code, out, _ = run("crops", "check", mine)
    assert code == 2
    assert "does not count from sowing" in out
    assert run("window", "--corn", mine)[0] == 2
