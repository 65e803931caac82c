"""Frost by its hours: runs within a night, hours without a reading, and the rules of the crop entries."""

import numpy as np
import pytest
from hypothesis import given, strategies as st

from frostkit.crops.entry import load
from frostkit.seasons.hours import kills, lasted, nights

reading = st.sampled_from([-3.0, -1.0, 0.0, 2.0, np.nan])


@given(st.lists(reading, min_size=1, max_size=12))
def test_the_run_is_the_longest_that_was_seen(night):
    best = run = 0
    for value in night:
        run = run + 1 if value <= 0 else 0  # an hour without a reading ends it
        best = max(best, run)
    assert lasted(night, 0.0) == best


def test_a_night_runs_from_noon_to_noon():
    hourly = np.full(72, 5.0)
    hourly[22:27] = -1.0  # from 22 h of the first day to 2 h of the second
    cold = lasted(nights(hourly), 0.0)
    assert cold.tolist() == [0, 5, 0]


@pytest.mark.parametrize(
    ("degrees", "hours", "dead"), [(0.0, 3, False), (0.0, 4, True), (-2.2, 1, True), (-1.5, 2, False)]
)
def test_corn_dies_of_hours_or_of_minutes(degrees, hours, dead):
    """0 degC for 3 to 5 hours or 28 degF for minutes (NDSU; NCH-57, Carter and Hesterman 1990), READ in thresholds.toml."""
    night = np.full(24, 6.0)
    night[12 : 12 + hours] = degrees
    rules = [(rule.value, rule.hours) for rule in load("silage-2300").stage["v5"].lasting]
    assert kills(night, rules) == dead


def test_a_bean_stands_a_short_frost():
    """Manitoba Agriculture: -2 degC for an extended period kills; short and long frosts part at 2 hours (READ)."""
    rules = [(rule.value, rule.hours) for rule in load("forage-late").stage["emergence"].lasting]
    night = np.full(24, 4.0)
    night[15] = -2.1
    assert not kills(night, rules)
    night[16] = -2.0
    assert kills(night, rules)
