"""An entry of one's own: copied from the library, with one's own numbers and sources."""

import pytest

from frostkit.crops.entry import check, load
from frostkit.crops.own import copied
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
