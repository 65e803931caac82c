"""Last spring and first fall frost, and the days between."""

import numpy as np
from hypothesis import given, strategies as st

from frostkit.seasons.calendar import DAYS, MISSING, column
from frostkit.seasons.frost import first_fall, first_true, frost_free_days, last_spring, last_true, limit

SPLIT = column(8, 1)
reading = st.sampled_from([-30, -1, 0, 1, 40])


def one_season(around_split: list[int]) -> np.ndarray:
    """Tmin of a warm season with these readings [tenths] centred on 1 August. [season, 365]"""
    tmin = np.full((1, DAYS), 150, np.int16)
    start = SPLIT - len(around_split) // 2
    tmin[0, start : start + len(around_split)] = around_split
    return tmin


@given(st.lists(reading, min_size=2, max_size=9), st.sampled_from([-2.2, 0.0, 0.1]))
def test_frost_dates_are_the_last_before_and_the_first_from_1_august(readings, at_or_below):
    tmin = one_season(readings)
    cold = [day for day in range(DAYS) if tmin[0, day] / 10 <= at_or_below + 0.05]
    spring, fall = last_spring(tmin, at_or_below), first_fall(tmin, at_or_below)
    assert spring[0] == max((day for day in cold if day < SPLIT), default=-np.inf)
    assert fall[0] == min((day for day in cold if day >= SPLIT), default=np.inf)
    between = frost_free_days(spring, fall)[0]
    both = np.isfinite(spring[0]) and np.isfinite(fall[0])
    assert between == (sum(spring[0] < day < fall[0] for day in range(DAYS)) if both else np.inf)


@given(st.lists(reading, min_size=2, max_size=9), st.floats(-5, 3), st.floats(0, 4))
def test_a_colder_threshold_never_gives_an_earlier_fall_frost_or_a_later_spring_frost(readings, warmer, by):
    tmin = one_season(readings)
    assert (first_fall(tmin, warmer - by) >= first_fall(tmin, warmer)).all()
    assert (last_spring(tmin, warmer - by) <= last_spring(tmin, warmer)).all()


def test_28_fahrenheit_stored_as_minus_2_2_counts():
    # PROVENANCE.md: (28 - 32)/1.8 = -2.2222 compared as a float loses the nights stored as -2.2
    assert last_spring(one_season([-22, 50]), (28 - 32) / 1.8)[0] == SPLIT - 1
    assert [limit(t / 10) for t in range(-120, 120)] == list(range(-120, 120))


def test_no_fall_frost_is_never_and_no_spring_frost_is_no_obstacle():
    tmin = one_season([50, 50])
    assert first_fall(tmin)[0] == np.inf and last_spring(tmin)[0] == -np.inf
    assert frost_free_days(last_spring(tmin), first_fall(tmin))[0] == np.inf


def test_a_day_that_was_not_read_is_no_frost():
    tmin = one_season([50, 50])
    tmin[0, [10, 340]] = MISSING
    assert first_fall(tmin)[0] == np.inf and last_spring(tmin)[0] == -np.inf


def test_leading_axes_are_free_and_no_days_hold_nothing():
    tmin = np.stack([one_season([-30, 40]), one_season([40, -30])])
    assert last_spring(tmin).shape == (2, 1)
    assert first_fall(tmin)[:, 0].tolist() == [np.inf, SPLIT]
    none = np.zeros((3, 0), bool)
    assert first_true(none).tolist() == [np.inf] * 3 and last_true(none).tolist() == [-np.inf] * 3
