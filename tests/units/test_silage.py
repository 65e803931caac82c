"""Laws of the drying curve and of the paths along it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.silage import Drying, Killed, days_at, first_day_at, moisture_at, moisture_by_day

DRYING = Drying((1000, 2000, 2200), (82, 73, 65), held_from=73, least=0.4, most=1.0, frosted=0.5)
NEVER = np.array(np.inf)


def slow(gathered, killed, start=None):
    """Day by day, as a person would reckon it."""
    curve = [float(moisture_at(g, DRYING)) for g in gathered]
    moisture = [curve[0] if start is None else start]
    for day in range(1, len(gathered)):
        lost = curve[day - 1] - curve[day]
        if curve[day] <= 73 and curve[day - 1] <= 73:
            lost = min(max(lost, 0.4), 1.0)
        if day > killed:
            lost = 0.5
        moisture.append(max(moisture[-1] - lost, 20.0))
    return moisture


@given(st.lists(st.integers(0, 60), min_size=2, max_size=60), st.integers(800, 2500), st.integers(-1, 70))
def test_whole_arrays_and_day_by_day_reckoning_agree(rates, begin, killed):
    gathered = begin + np.cumsum(rates)
    frost = Killed(np.array(float(killed)), np.array(float(killed)))
    np.testing.assert_allclose(moisture_by_day(gathered, DRYING, frost), slow(gathered, killed), atol=1e-9)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 15)), min_size=2, max_size=60), st.integers(800, 2100))
def test_more_heat_never_leaves_it_wetter_before_any_frost(pairs, begin):
    rates = np.array(pairs)
    low = begin + np.cumsum(rates[:, 0])
    high = begin + np.cumsum(rates.sum(1))
    # a day that passes dent is the curve's, later days are held to a least and a most: half a point may be lost to that
    assert (moisture_by_day(high, DRYING) <= moisture_by_day(low, DRYING) + 0.5).all()


@given(st.lists(st.integers(0, 30), min_size=3, max_size=60), st.integers(0, 50), st.integers(0, 30))
def test_a_frost_that_may_have_come_leaves_the_truth_between_wet_and_dry(rates, first, later):
    gathered = 1900 + np.cumsum(rates)
    maybe = Killed(np.array(float(first)), np.array(float(first + later)))
    wet, dry = (moisture_by_day(gathered, DRYING, maybe, end=end) for end in ("wet", "dry"))
    for day in range(first, first + later + 1):
        real = moisture_by_day(gathered, DRYING, Killed(np.array(float(day)), np.array(float(day))))
        assert (dry <= real + 1e-9).all()
        assert (real <= wet + 1e-9).all()


def test_the_first_day_at_a_moisture_brackets_it():
    path = moisture_by_day(1100 + 20 * np.arange(80), DRYING, first_day=200)
    for percent in (80, 72.5, 70, 65, 60.1):
        day = int(first_day_at(path, percent, 200)) - 200
        assert path[day] <= percent < path[day - 1]
    assert first_day_at(path, 10, 200) == np.inf


def test_bounds_of_moisture_are_bounds_of_the_day():
    wet, dry = np.array([72.0, 71.0, 70.0, 69.0]), np.array([71.0, 70.0, 69.0, 68.0])
    found = days_at(wet, dry, 70, first_day=250)
    assert [found.first, found.last] == [251, 252]


def test_leading_axes_are_free():
    gathered = np.cumsum(np.random.default_rng(1).integers(0, 30, (2, 3, 90)), axis=-1) + 1000
    killed = Killed(np.full((2, 3), 60.0), np.full((2, 3), 60.0))
    all_at_once = moisture_by_day(gathered, DRYING, killed)
    for i in range(2):
        for j in range(3):
            one = moisture_by_day(gathered[i, j], DRYING, Killed(np.array(60.0), np.array(60.0)))
            np.testing.assert_allclose(all_at_once[i, j], one)


@pytest.mark.parametrize(("heat", "moisture", "says"), [
    ((100, 50), (80, 60), "is no drying curve"), ((50, 100), (60, 80), "is no drying curve"), ((50,), (60,), "no drying")])  # fmt: skip
def test_a_curve_that_does_not_dry_gets_two_lines(heat, moisture, says):
    with pytest.raises(SettingError, match=says):
        Drying(heat, moisture, 73, 0.4, 1.0, 0.5)


def test_rates_that_do_not_fit_together_get_two_lines():
    with pytest.raises(SettingError, match="0.4 to 1 points a day and 2 when frosted"):
        Drying((0, 1), (80, 60), 73, 0.4, 1.0, 2.0)
