"""Heat in whole hundredths, running sums, and what missing days leave open."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.calendar import MISSING, column
from frostkit.seasons.heat import Heat, bounds, extremes, has_heat, running, totals
from tests import plain_loops

tenths = st.integers(-450, 500)
VARIANTS = [
    Heat("chu"),
    Heat("chu", night_base=4.44),
    Heat("chu", day=(3.3, 0.082)),
    Heat("mean", 10),
    Heat("mean", 7.22, 29.95),
    Heat("clamped", 10, 30),
    Heat("clamped", 8.85, 30.05),
]


def in_fractions(heat: Heat, tmin10: int, tmax10: int) -> int:
    """Hundredths of a day's heat without any float; Python rounds halves to even."""
    tmin, tmax = Fraction(tmin10, 10), Fraction(tmax10, 10)

    def of(number: float) -> Fraction:
        return Fraction(str(number))

    def held(value: Fraction) -> Fraction:
        value = max(value, of(heat.base))
        return value if heat.cap is None else min(value, of(heat.cap))

    if heat.method == "mean":
        return round(100 * (held((tmin + tmax) / 2) - of(heat.base)))
    if heat.method == "clamped":
        return round(100 * ((held(tmin) + held(tmax)) / 2 - of(heat.base)))
    over = max(tmax - 10, Fraction(0))
    by_day = max(of(heat.day[0]) * over - of(heat.day[1]) * over**2, Fraction(0))
    by_night = max(Fraction(18, 10) * (tmin - of(heat.night_base)), Fraction(0))
    return round(50 * (by_day + by_night))


@pytest.mark.parametrize("heat", VARIANTS, ids=str)
@settings(max_examples=300, deadline=None)
@given(tmin=tenths, tmax=tenths)
def test_rates_are_exact_in_hundredths_halves_to_even(heat, tmin, tmax):
    assert heat.rate(np.int16([tmin]), np.int16([tmax]))[0] == in_fractions(heat, tmin, tmax)


def test_ties_of_corn_heat_go_to_the_even_hundredth():
    # 25/12 degC gives 22.365, a tie; so does 25/12.1 with 22.455
    assert Heat("chu").rate(np.int16([120, 121]), np.int16([250, 250])).tolist() == [2236, 2246]


@settings(max_examples=200, deadline=None)
@given(tmin=tenths, more=st.integers(0, 250), cap=st.sampled_from([None, 28.0]))
def test_a_sine_lies_between_nothing_and_the_warmest_and_is_rounded_once(tmin, more, cap):
    heat = Heat("sine", 10, cap)
    rate = int(heat.rate(np.int16([tmin]), np.int16([tmin + more]))[0])
    assert abs(rate - 100 * float(heat.of(tmin / 10, (tmin + more) / 10))) <= 0.5 + 1e-9
    warmest = max(tmin + more, 100) if cap is None else min(max(tmin + more, 100), 280)
    assert 0 <= rate <= 10 * (warmest - 100)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Heat("maen"), "method='maen' is not known. Did you mean 'mean'"),
        (lambda: Heat("clamped", 10, 8), "cap=8 is not above base=10"),
        (lambda: totals(plain_loops.cube(*plain_loops.weather(1)), Heat(), 200, 100), "from day 200 to day 100"),
    ],
)
def test_settings_that_make_no_sense_are_refused(make, says):
    with pytest.raises(SettingError, match=says):
        make()


def test_running_sums_give_the_heat_of_any_stretch_in_whole_numbers():
    tmin, tmax = plain_loops.weather(5)
    rate = Heat("chu").rate(tmin, tmax)
    total = running(rate)
    assert total.dtype == np.int32 and total.shape == (3, 366)
    assert total[1, 151] - total[1, 120] == sum(int(r) for r in rate[1, 120:151])


def test_short_runs_lie_between_the_days_around_and_long_ones_between_nothing_and_the_largest():
    rate = np.array([[[5, 6, 7, 8, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0, 1, 2]]])
    known = np.ones(rate.shape, bool)
    known[0, 0, [2, 3, 4]] = False
    known[0, 0, 9:13] = False
    low, high = bounds(rate, known, largest=np.full((1, 16), 50))
    assert low[0, 0].tolist() == [5, 6, 5, 5, 6, 8, 7, 6, 5, 0, 0, 0, 0, 0, 1, 2]
    assert high[0, 0].tolist() == [5, 6, 8, 8, 8, 8, 7, 6, 5, 50, 50, 50, 50, 0, 1, 2]
    low, high = bounds(rate, known, largest=np.full((1, 16), 50), short=0)
    assert low[0, 0, 2:5].tolist() == [0, 0, 0] and high[0, 0, 2:5].tolist() == [50, 50, 50]


def test_nothing_missing_is_one_array_for_both_ends():
    rate = np.ones((2, 365), np.int32)
    low, high = bounds(rate, rate > 0)
    assert low is rate and high is rate


def test_the_largest_rate_is_the_stations_own_within_ten_days_of_the_date_in_any_season():
    rate = np.zeros((2, 3, 365), np.int32)
    rate[0, 2, 100] = 9
    rate[0, 1, 3] = 5
    smallest, largest = extremes(rate, np.ones(rate.shape, bool))
    assert np.flatnonzero(largest[0] == 9).tolist() == list(range(90, 111))
    assert np.flatnonzero(largest[0] == 5).tolist() == [*range(14), *range(358, 365)]
    assert (largest[1] == 0).all() and (smallest == 0).all()


def test_a_time_of_year_without_any_reading_takes_the_stations_extremes_of_all_dates():
    rate = np.full((1, 1, 365), 7, np.int32)
    known = np.ones(rate.shape, bool)
    known[..., 100:200] = False
    assert (extremes(rate, known)[1] == 7).all()
    assert extremes(rate, np.zeros(rate.shape, bool))[1].min() > 10**6


@settings(max_examples=50, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_more_missing_days_never_narrow_a_heat_total_within_fixed_bounds(seed):
    rng = np.random.default_rng(seed)
    rate = rng.integers(0, 90, (1, 1, 365)).astype(np.int32)
    few = rng.random(rate.shape) < 0.9
    many = few & (rng.random(rate.shape) < 0.9)
    (few_low, few_high), (many_low, many_high) = (bounds(rate, k, 0, np.full((1, 365), 90), 0) for k in (few, many))
    assert (many_low <= few_low).all() and (few_high <= many_high).all()


def test_totals_count_both_days_and_say_how_many_were_missing():
    tmin, tmax = plain_loops.weather(8)
    first, last = column(5, 1), column(9, 30)
    rate = Heat(base=10).rate(tmin, tmax)
    tmin[1, 150] = MISSING
    tmax[2, 160:190] = MISSING
    tmin[2, 20] = MISSING
    cube = plain_loops.cube(tmin, tmax)
    least, most, missing = totals(cube, Heat(base=10), first, last)
    assert missing.tolist() == [0, 1, 30]
    assert least[0] == most[0] == rate[0, first : last + 1].sum()
    around = np.delete(rate[1, 147:154], 3)
    there = rate[1, first : last + 1].sum() - rate[1, 150]
    assert (least[1] - there, most[1] - there) == (around.min(), around.max())
    assert least[2] == rate[2, first : last + 1].sum() - rate[2, 160:190].sum() < most[2]
    assert has_heat(tmin, tmax).sum() == tmin.size - 32
