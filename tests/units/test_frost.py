"""Last spring and first fall frost as intervals: as narrow as the missing days allow, and no narrower."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from frostkit.seasons.calendar import DAYS, MISSING, column, station_lows
from frostkit.seasons.frost import cold, complete, first_fall, frost_free_days, last_spring, limit, warm_up
from tests import plain_loops

SPLIT = column(8, 1)
reading = st.sampled_from([-30, 0, 1, 40, int(MISSING)])


def one_season(around_split: list[int], lows: int = -400):
    """A warm season with these readings [tenths] centred on 1 August."""
    tmin = np.full((1, DAYS), 150, np.int16)
    start = SPLIT - len(around_split) // 2
    tmin[0, start : start + len(around_split)] = around_split
    return plain_loops.cube(tmin, tmin + np.int16(100), lows)


@given(st.lists(reading, min_size=2, max_size=9))
def test_frost_dates_are_as_narrow_as_the_missing_days_allow(readings):
    cube = one_season(readings)
    spring, fall = last_spring(cube, 0.0), first_fall(cube, 0.0)
    could_spring, could_fall = [], []
    for fill in product([-5, 50], repeat=readings.count(MISSING)):
        filled, values = iter(fill), one_season(readings).tmin[0].copy()
        for day in np.flatnonzero(values == MISSING):
            values[day] = next(filled)
        cold_days = np.flatnonzero(values <= 0)
        could_spring.append(max(cold_days[cold_days < SPLIT], default=-np.inf))
        could_fall.append(min(cold_days[cold_days >= SPLIT], default=np.inf))
    assert (spring.first[0], spring.last[0]) == (min(could_spring), max(could_spring))
    assert (fall.first[0], fall.last[0]) == (min(could_fall), max(could_fall))


@given(st.lists(reading, min_size=2, max_size=9), st.floats(-5, 3), st.floats(0, 4))
def test_a_colder_threshold_never_gives_an_earlier_fall_frost_or_a_later_spring_frost(readings, warmer, by):
    cube = one_season(readings)
    fall, colder = first_fall(cube, warmer), first_fall(cube, warmer - by)
    assert (colder.first >= fall.first).all() and (colder.last >= fall.last).all()
    spring, colder = last_spring(cube, warmer), last_spring(cube, warmer - by)
    assert (colder.first <= spring.first).all() and (colder.last <= spring.last).all()


@settings(max_examples=50)
@given(st.integers(0, 10**6))
def test_more_missing_days_never_narrow_a_frost_date(seed):
    rng = np.random.default_rng(seed)
    tmin, tmax = plain_loops.weather(seed, 5)
    cube = plain_loops.cube(tmin, tmax)
    # fixed from here on; each season counted twice, so that the second lowest is the lowest: a night that was cold is
    # always one that could be (the law needs that; a single night 2 degC below all others may be lost with its reading)
    cube = replace(cube, lows=station_lows(np.concatenate([tmin, tmin])))
    few = np.where(rng.random(tmin.shape) < 0.05, MISSING, tmin)
    many = np.where(rng.random(tmin.shape) < 0.05, MISSING, few)
    for event in (last_spring, first_fall, frost_free_days):
        narrow, wide = event(replace(cube, tmin=few), -1.0), event(replace(cube, tmin=many), -1.0)
        assert (wide.first <= narrow.first).all() and (narrow.last <= wide.last).all()


def test_a_missing_day_hides_a_frost_only_where_the_station_has_come_near_it():
    cube = one_season([MISSING, 50], lows=21)  # second lowest 2.1 degC: 2 degC less is 0.1
    assert last_spring(cube, 0.0).last[0] == -np.inf
    cube = one_season([MISSING, 50], lows=20)
    assert last_spring(cube, 0.0).last[0] == SPLIT - 1


@pytest.mark.parametrize(
    ("sign", "at_or_below", "says"),
    [
        (1, 0.0, (False, False)),  # known to be above 0 degC
        (1, -2.2, (False, False)),
        (1, 2.0, (False, True)),  # 1 degC is above 0 and at or below 2
        (-1, 0.0, (True, True)),  # known to be below 0 degC
        (-1, -0.1, (True, True)),
        (-1, -2.2, (False, True)),
        (0, 0.0, (False, True)),
    ],
)
def test_what_the_record_says_of_a_missing_night_settles_thresholds_on_that_side(sign, at_or_below, says):
    cube = one_season([MISSING, 50])
    signs = np.zeros((1, DAYS), np.int8)
    signs[0, SPLIT - 1] = sign
    certain, possible = cold(replace(cube, sign=signs), at_or_below)
    assert (certain[0, SPLIT - 1], possible[0, SPLIT - 1]) == says


def test_nothing_missing_is_one_array_for_both_ends():
    certain, possible = cold(one_season([5, -5]), 0.0)
    assert certain is possible


def test_28_fahrenheit_stored_as_minus_2_2_counts():
    # PROVENANCE.md: (28 - 32)/1.8 = -2.2222 compared as a float loses the nights stored as -2.2
    cube = one_season([-22, 50])
    assert last_spring(cube, (28 - 32) / 1.8).first[0] == SPLIT - 1
    assert [limit(t / 10) for t in range(-120, 120)] == list(range(-120, 120))


def test_no_fall_frost_is_never_and_no_spring_frost_is_no_obstacle():
    cube = one_season([50, 50])
    assert first_fall(cube).first[0] == np.inf and last_spring(cube).last[0] == -np.inf


def test_days_still_to_come_may_freeze_or_not():
    cube = one_season([50, 50])
    cube.tmin[0, 240:] = cube.tmax[0, 240:] = MISSING
    fall = first_fall(cube)
    assert (fall.first[0], fall.last[0]) == (240, np.inf)


def test_a_season_is_complete_by_its_missing_days_and_not_by_its_outcome():
    tmin = np.full((6, DAYS), 150, np.int16)
    tmax = tmin + np.int16(80)
    tmax[1, 180:183] = MISSING  # three days without heat: complete
    tmax[2, 180:184] = MISSING  # four in a row: not
    tmin[3, 150] = MISSING  # could be cold at 0 degC
    tmin[4, 200] = MISSING  # could not
    tmin[5, : column(4, 1)] = MISSING  # before 1 April: not asked
    cube = plain_loops.cube(tmin, tmax)
    cube.lows[:] = np.where(np.arange(DAYS) < 160, 15, 100)
    assert complete(cube).tolist() == [True, True, False, False, True, True]


def test_warm_up_is_the_first_day_with_a_warm_week_behind_it():
    tmin = np.full((3, DAYS), 0, np.int16)
    tmax = np.full((3, DAYS), 100, np.int16)  # mean 5
    tmin[:2, 120:] = 60
    tmax[:2, 120:] = 160  # mean 11 from 30 April on: 6 days of 11 and one of 5 are under 10.2
    tmax[1, 125] = MISSING
    got = warm_up(plain_loops.cube(tmin, tmax), 7, 10.2, 90)
    assert got.first.tolist() == [126, 126, np.inf] and got.last.tolist() == [126, 126, np.inf]
    assert warm_up(plain_loops.cube(tmin, tmax), 7, 10.1, 90).first[0] == 125
    tmax[1, 124:129] = MISSING  # long: 127 at the earliest would need warmth that the station has shown
    got = warm_up(plain_loops.cube(tmin, tmax), 7, 10.2, 90)
    assert got.first[1] == 126 and got.last[1] == 135
    assert warm_up(plain_loops.cube(tmin, tmax), 7, 10.2, 150).first[0] == 150
