"""An invented region, and one place of it looked into: the window that the region has for it."""

import pytest

import frostkit as fk
from frostkit.errors import SettingError
from frostkit.seasons.calendar import from_code


@pytest.fixture(scope="module")
def region():
    return fk.region(workers=0)


def test_the_invented_region_says_that_it_is_and_has_fields_with_and_without_a_window(region):
    told = region.to_dict()
    assert told["places_asked"] == 30 and 0 < told["places_with_window"] < 30
    assert "This region around River Flat, its stations and fields are invented." in " ".join(region.brief().split())
    assert all("(invented)" in place["station"] for place in told["places"])


def test_higher_and_further_north_the_window_ends_earlier(region):
    ends = {place["station"]: place["window_to"] for place in region.to_dict()["places"] if place["window_to"]}
    assert ends["south mouth (invented)"] > ends["upper ford (invented)"]
    assert "north ridge (invented)" not in ends or ends["north ridge (invented)"] < ends["south mouth (invented)"]


def test_a_place_looked_into_has_the_regions_own_window(region):
    for place in region.to_dict()["places"][::7]:
        window = fk.place(region, place["name"]).answer.values["window"]
        got = [None if window[end] is None else window[end].column for end in ("from", "to")]
        there = [place[f"window_{end}"] and from_code(place[f"window_{end}"]) for end in ("from", "to")]
        assert got == there, place["name"]


def test_a_place_that_is_not_there_is_refused_with_the_nearest(region):
    with pytest.raises(SettingError, match=r"There is no place 'feild 3'. Did you mean 'field 3'\?"):
        fk.place(region, "feild 3")
