"""Laws of the drying curve and of the paths along it."""

import numpy as np
import pytest
from hypothesis import given, strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.silage import Drying, first_day_at, moisture_at, moisture_by_day

DRYING = Drying((1000, 2000, 2200), (82, 73, 65), held_from=73, least=0.4, most=1.0, frosted=0.5)


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
    np.testing.assert_allclose(moisture_by_day(gathered, DRYING, killed), slow(gathered, killed), atol=1e-9)
    assert np.array_equal(moisture_by_day(gathered, DRYING, np.inf), moisture_by_day(gathered, DRYING))


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 15)), min_size=2, max_size=60), st.integers(800, 2100))
def test_more_heat_never_leaves_it_wetter_before_any_frost(pairs, begin):
    rates = np.array(pairs)
    low = begin + np.cumsum(rates[:, 0])
    high = begin + np.cumsum(rates.sum(1))
    # a day that passes dent is the curve's, later days are held to a least and a most: half a point may be lost to that
    assert (moisture_by_day(high, DRYING) <= moisture_by_day(low, DRYING) + 0.5).all()


def test_before_dent_it_dries_by_the_curve_however_little_heat_a_day_brings():
    gathered = np.arange(1000.0, 1500.0, 5)  # 5 units a day: 0.045 points, far less than the least from dent on
    assert moisture_by_day(gathered, DRYING) == pytest.approx(moisture_at(gathered, DRYING))
    from_dent = moisture_by_day(np.arange(2000.0, 2050.0, 5), DRYING)
    assert np.diff(from_dent) == pytest.approx(-DRYING.least)


def test_the_first_day_at_a_moisture_brackets_it():
    path = moisture_by_day(1100 + 20 * np.arange(80), DRYING, first_day=200)
    for percent in (80, 72.5, 70, 65, 60.1):
        day = int(first_day_at(path, percent, 200)) - 200
        assert path[day] <= percent < path[day - 1]
    assert first_day_at(path, 10, 200) == np.inf


def test_leading_axes_are_free():
    gathered = np.cumsum(np.random.default_rng(1).integers(0, 30, (2, 3, 90)), axis=-1) + 1000
    killed = np.array([[60.0, 20.0, np.inf], [5.0, -np.inf, 80.0]])
    all_at_once = moisture_by_day(gathered, DRYING, killed)
    for i in range(2):
        for j in range(3):
            one = moisture_by_day(gathered[i, j], DRYING, killed[i, j])
            np.testing.assert_allclose(all_at_once[i, j], one)


@pytest.mark.parametrize(("heat", "moisture", "says"), [
    ((100, 50), (80, 60), "is no drying curve"), ((50, 100), (60, 80), "is no drying curve"), ((50,), (60,), "no drying")])  # fmt: skip
def test_a_curve_that_does_not_dry_gets_two_lines(heat, moisture, says):
    with pytest.raises(SettingError, match=says):
        Drying(heat, moisture, 73, 0.4, 1.0, 0.5)


def test_rates_that_do_not_fit_together_get_two_lines():
    with pytest.raises(SettingError, match="0.4 to 1 points a day and 2 when frosted"):
        Drying((0, 1), (80, 60), 73, 0.4, 1.0, 2.0)
