"""Heat in whole numbers, running sums, totals."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.calendar import column
from frostkit.seasons.heat import FINEST, Heat, running, total
from tests import plain_loops
from tests.plain_loops import heat_of

tenths = st.integers(-450, 500)
VARIANTS = [
    Heat("chu"),
    Heat("chu", night_base=4.44),
    Heat("chu", day=(3.3, 0.082)),
    Heat("chu", day=(3.3333, 0.08421)),  # finer than is carried: each day is rounded
    Heat("mean", 10),
    Heat("mean", 7.22, 29.95),
    Heat("clamped", 10, 30),
    Heat("clamped", 8.85, 30.05),
]


def in_fractions(heat: Heat, tmin10: int, tmax10: int) -> Fraction:
    """A day's heat [degC day or CHU] without any float."""
    tmin, tmax = Fraction(int(tmin10), 10), Fraction(int(tmax10), 10)

    def of(number: float) -> Fraction:
        return Fraction(str(number))

    def held(value: Fraction) -> Fraction:
        value = max(value, of(heat.base))
        return value if heat.cap is None else min(value, of(heat.cap))

    if heat.method == "mean":
        return held((tmin + tmax) / 2) - of(heat.base)
    if heat.method == "clamped":
        return (held(tmin) + held(tmax)) / 2 - of(heat.base)
    over = max(tmax - 10, Fraction(0))
    by_day = max(of(heat.day[0]) * over - of(heat.day[1]) * over**2, Fraction(0))
    by_night = max(Fraction(18, 10) * (tmin - of(heat.night_base)), Fraction(0))
    return (by_day + by_night) / 2


@pytest.mark.parametrize("heat", VARIANTS, ids=str)
@settings(max_examples=300, deadline=None)
@given(tmin=tenths, tmax=tenths)
def test_rates_are_exact_in_whole_units_halves_to_even(heat, tmin, tmax):
    exact = heat.per_unit * in_fractions(heat, tmin, tmax)
    assert heat.rate(np.int16([tmin]), np.int16([tmax]))[0] == round(exact)  # Python rounds halves to even


@pytest.mark.parametrize(
    ("heat", "per_unit"), [(VARIANTS[0], 50_000), (VARIANTS[1], 50_000), (VARIANTS[2], FINEST)], ids=str
)
def test_corn_heat_of_the_published_coefficients_is_not_rounded_at_all(heat, per_unit):
    """So that a season's sum is exact, and its ties with a need are ties."""
    tmin, tmax = plain_loops.weather(3, 20)
    tmax[0] = tmin[0] + 400  # hot beyond where the day part has fallen to nothing
    assert heat.per_unit == per_unit
    exact = sum(in_fractions(heat, low, high) for low, high in zip(tmin[:, 100:300].ravel(), tmax[:, 100:300].ravel()))
    assert Fraction(int(total(tmin, tmax, heat, 100, 299).sum()), heat.per_unit) == exact


def test_a_tropical_year_of_corn_heat_fits_its_sum():
    steady = np.full((1, 365), 300, np.int16)
    for heat in VARIANTS[:4]:
        whole = running(heat.rate(steady, steady))
        assert whole[0, -1] / heat.per_unit == pytest.approx(365 * float(heat_of(heat, 30, 30)), rel=1e-6)


@settings(max_examples=200, deadline=None)
@given(tmin=tenths, more=st.integers(0, 250), cap=st.sampled_from([None, 28.0]))
def test_a_sine_lies_between_nothing_and_the_warmest_and_is_rounded_once(tmin, more, cap):
    heat = Heat("sine", 10, cap)
    rate = int(heat.rate(np.int16([tmin]), np.int16([tmin + more]))[0])
    assert abs(rate - 100 * float(heat_of(heat, tmin / 10, (tmin + more) / 10))) <= 0.5 + 1e-9
    warmest = max(tmin + more, 100) if cap is None else min(max(tmin + more, 100), 280)
    assert 0 <= rate <= 10 * (warmest - 100)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Heat("maen"), "method='maen' is not known. Did you mean 'mean'"),
        (lambda: Heat("clamped", 10, 8), "cap=8 is not above base=10"),
        (lambda: total(*plain_loops.weather(1), Heat(), 200, 100), "from day 200 to day 100"),
    ],
)
def test_settings_that_make_no_sense_are_refused(make, says):
    with pytest.raises(SettingError, match=says):
        make()


def test_running_sums_give_the_heat_of_any_stretch_in_whole_numbers():
    tmin, tmax = plain_loops.weather(5)
    rate = Heat("chu").rate(tmin, tmax)
    sums = running(rate)
    assert sums.dtype == np.int32 and sums.shape == (3, 366)
    assert sums[1, 151] - sums[1, 120] == sum(int(r) for r in rate[1, 120:151])


def test_totals_count_both_days_whatever_the_axes():
    tmin, tmax = plain_loops.weather(8, 800)
    first, last = column(5, 1), column(9, 30)
    for clock in (Heat(base=10), Heat("chu"), plain_loops.ByDay()):
        rate = clock.rate(tmin, tmax)
        got = total(tmin.reshape(2, 400, 365), tmax.reshape(2, 400, 365), clock, first, last)
        assert np.array_equal(got.ravel(), rate[:, first : last + 1].sum(axis=1))
    assert total(tmin[0], tmax[0], Heat(), 200, 200).shape == ()
