"""Controls of notebooks: a day that can't have been seen is not offered, and one picture follows one move."""

from functools import wraps

import pytest

import frostkit as fk
from frostkit.show.notebook import live

ASKED = {"corn": "silage-2300", "legume": "forage-late", "today": "2025-07-10"}


@pytest.fixture
def moving():
    """The answer, and the controls by name, of a season on the invented place; and how often it was asked."""
    times = []

    @wraps(fk.season)
    def season(*asked, **options):
        times.append(options)
        return fk.season(*asked, **options)

    box = live(season, fk.demo(), seeding="05-22", **ASKED)
    names = ("corn", "legume", "seeding", "emergence", "silking", "store")
    return box.children[1], dict(zip(names, box.children[0].children, strict=True)), times


def values(slider):
    return [value for _, value in slider.options]


def test_days_seen_are_offered_from_seeding_to_today(moving):
    _, controls, _ = moving
    assert values(controls["emergence"])[:2] == ["", "05-25"]
    assert values(controls["emergence"])[-1] == "07-01"
    assert values(controls["silking"])[-1] == "07-09", "silks seen today have no evening yet"


def test_days_seen_follow_the_seeding_day(moving):
    answer, controls, times = moving
    controls["emergence"].value = "06-04"
    seen = answer.value
    assert len(times) == 2
    controls["seeding"].value = "06-01"
    assert values(controls["emergence"])[1] == "06-04"
    assert controls["emergence"].value == "06-04", "still possible: it stays where it stood"
    controls["seeding"].value = "06-02"
    assert controls["emergence"].value == "", "it can't have been up by then"
    assert [one["emergence"] for one in times] == [None, "06-04", "06-04", None], "one answer a move"
    assert answer.value != seen
    assert "color:#8f2a1c" not in answer.value


def test_what_is_still_to_be_sown_was_not_seen(moving):
    _, controls, _ = moving
    controls["seeding"].value = "05-15"
    controls["seeding"].index = 0
    assert (controls["seeding"].value, values(controls["emergence"]), values(controls["silking"])) == ("", [""], [""])


def test_a_slider_moves_back_to_no_day():
    box = live(fk.window, fk.demo(), corn="silage-2300", legume="forage-late")
    slider = next(one for one in box.children[0].children if one.description == "not after")
    before = box.children[1].value
    slider.index = 40
    assert box.children[1].value != before
    slider.index = 0
    assert box.children[1].value == before


def test_a_start_that_no_slider_has_is_offered_too():
    box = live(fk.chop, fk.demo(), seeding="06-20", today="2025-08-25")
    slider = next(one for one in box.children[0].children if one.description == "corn seeded")
    assert (slider.index, slider.value, slider.options[0]) == (0, "06-20", ("06-20", "06-20"))
    before = box.children[1].value
    slider.value = "05-22"
    assert box.children[1].value != before
    assert "Fit to chop" in box.children[1].value


def test_a_day_to_stand_on_that_is_none_is_said_in_the_answer():
    for today in ("2025-13-01", "not a day"):
        box = live(fk.season, fk.demo(), seeding="05-22", today=today)
        assert "color:#8f2a1c" in box.children[1].value
    box = live(fk.season, fk.demo(), seeding=141, today="2025-07-10")
    assert "color:#8f2a1c" not in box.children[1].value
