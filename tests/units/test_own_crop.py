"""An entry of one's own: copied from the library, with one's own numbers and sources."""

import pytest

from frostkit.answers.usable import faults
from frostkit.crops.entry import check, listed, load, text_of
from frostkit.crops.own import as_it_is, copied
from frostkit.crops.rated import PATTERNS, at_rating, rated
from frostkit.errors import CropError

OWN = {
    "title": 'my "hybrid"',
    "rating": 2150.0,
    "rating_source": "invented for this test",
    "need": 1990,
    "low": 1950,
    "high": 2050,
    "derived": "rating less 160, invented for this test",
    "need_source": "invented for this test too",
}


@pytest.mark.parametrize("name", ["silage-2000", "silage-2150", "silage-2300", "silage-2450", "silage-2600"])
def test_a_copy_has_its_own_numbers_and_sources_and_can_be_used(name, tmp_path):
    crop, library = copied(name, tmp_path / "mine.toml", **OWN), load(name)
    assert check(tmp_path / "mine.toml") == []
    assert (crop.title, crop.rating.value, crop.rating.source) == ("my 'hybrid'", 2150, "invented for this test")
    goal = crop.goal_need()
    assert (goal.value, goal.low, goal.high, goal.source) == (1990, 1950, 2050, "invented for this test too")
    assert crop.soil == library.soil
    for stage, own in crop.stage.items():
        assert own.kills == library.stage[stage].kills
        if own.need.unit != "CHU":
            assert own.need == library.stage[stage].need
        elif stage != crop.goal:  # derived from the rating in the library: moves with it
            assert own.need.value == pytest.approx(
                library.stage[stage].need.value * 2150 / library.rating.value, abs=0.51
            )
            assert own.need.low <= own.need.value <= own.need.high


def test_the_copy_with_the_librarys_own_numbers_is_the_librarys(tmp_path):
    library = load("silage-2150")
    of = {
        "rating": 2150,
        "need": library.goal_need().value,
        "low": library.goal_need().low,
        "high": library.goal_need().high,
    }
    crop = copied("silage-2150", tmp_path / "mine.toml", **{**OWN, **of})
    for stage in library.stage:
        assert crop.stage[stage].need.value == library.stage[stage].need.value


@pytest.mark.parametrize(
    ("name", "file", "says"),
    [
        ("forage-late", "mine.toml", "'forage-late' has no rating and need in CHU"),
        ("silage-2150", "mine.txt", "does not end in .toml"),
        ("silage-2150", "there.toml", "is there already"),
        ("silage-215", "mine.toml", "Did you mean 'silage-2150'"),
    ],
)
def test_what_can_not_be_copied_is_said(name, file, says, tmp_path):
    (tmp_path / "there.toml").write_text("mine\n")
    with pytest.raises(CropError, match=says):
        copied(name, tmp_path / file, **OWN)
    assert (tmp_path / "there.toml").read_text() == "mine\n"


def test_a_need_outside_its_range_is_refused(tmp_path):
    with pytest.raises(CropError, match="need"):
        copied("silage-2150", tmp_path / "mine.toml", **{**OWN, "need": 2500})


def test_every_corn_of_the_library_is_the_rules_own():
    """One rule from a rating to its needs, wherever the sources of an entry name one."""
    for name in (name for name in listed() if load(name).kind == "corn"):
        kind, _, rating = name.rpartition("-")
        assert rated(text_of(PATTERNS[kind]), int(rating)) == text_of(name)


@pytest.mark.parametrize("name", ["silage-1700", "silage-2325", "grain-corn-2650", "silage-3200", "silage-3600"])
def test_a_corn_of_any_rating_that_is_sold_can_be_used_and_copied(name, tmp_path):
    crop, rating = load(name), float(name[-4:])
    assert not faults(crop)
    assert crop.rating.value == rating
    assert crop.goal_need().value == (rating - 150 if crop.use == "silage" else rating)
    assert crop.title.endswith(f"rated {rating:,.0f} CHU")
    as_it_is(name, tmp_path / "mine.toml")
    assert load(tmp_path / "mine.toml").stage == crop.stage


def test_the_quick_way_to_another_rating_gives_the_same_needs():
    for use, rating in (("silage-2300", 2825), ("grain-corn-2300", 2125)):
        quick = at_rating(load(use), rating)
        assert quick.stage == load(f"{use[:-4]}{rating}").stage


@pytest.mark.parametrize("name", ["silage-2310", "silage-275", "corn-2300", "silage-23000"])
def test_a_rating_between_the_steps_is_told_with_what_there_is(name):
    with pytest.raises(CropError, match="is not known") as told:
        load(name)
    assert "in steps of 25" in told.value.do


def test_a_rating_that_nobody_sells_is_refused():
    with pytest.raises(CropError, match="a rating of 5,000 CHU is outside 1,700 to 3,600"):
        load("silage-5000")
