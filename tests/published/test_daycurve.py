"""Day curves against published values, against each other's definitions, and against hourly readings.

`checks/values.csv` SUB-01 to SUB-07, READ (formula read in an open package, recomputed there to five decimals), SUB-12
and SUB-13 computed from a formula read. There is no hourly record in the shared data. The hourly readings here are
those of a typical year that the library pvlib ships (Sand Point, Alaska: months of 1991 to 2005 joined): a mild coast,
so that what holds there is no promise for the plains.
"""

from pathlib import Path

import numpy as np
import pvlib
import pytest

from frostkit.seasons.daycurve import (
    DECAY,
    MAXIMUM_LAG,
    MINIMUM_LAG,
    SUNSET_DROP,
    TO_SUNSET,
    hours_at_or_below,
)
from frostkit.seasons.daylength import sun_times


def parton_logan(
    hour, before, tmin, after, sunrise, sunset, maximum_lag=MAXIMUM_LAG, decay=DECAY, minimum_lag=MINIMUM_LAG
):
    """Temperature of a night after Parton and Logan 1981: a sine by day, a decay towards the minimum by night.

    hour : [h], from sunrise of the day before (its own hours, 0 to 24) to noon of the day after (24 to 36); before,
    tmin, after : [degC], maximum of the day before, minimum of the night, maximum of the day after; sunrise, sunset :
    [h], the same on both days; maximum_lag, decay, minimum_lag : the paper's a [h after noon], b, c [h after sunrise].

    Parton and Logan 1981, Agric. Meteorol. 23:205-216. The night does not quite come down to the minimum, and jumps to
    it at dawn: so the curve is written. The sine of the day before starts from the night's own minimum.
    """
    hour = np.asarray(hour, float)
    length = sunset - sunrise
    width, night = length + 2 * (maximum_lag - minimum_lag), 24 - length + minimum_lag

    def by_day(tmax, since_sunrise):
        return tmin + (tmax - tmin) * np.sin(np.pi * (since_sunrise - minimum_lag) / width)

    at_sunset = by_day(before, length)
    by_night = tmin + (at_sunset - tmin) * np.exp(-decay * (hour - sunset) / night)
    morning = np.where(hour < sunrise + 24 + minimum_lag, by_night, by_day(after, hour - sunrise - 24))
    return np.where(hour < sunset, by_day(before, hour - sunrise), morning)


def cesaraccio(hour, before, tmin, after, sunrise, sunset):
    """Temperature of a night after Cesaraccio, Spano, Duce and Snyder 2001, Int. J. Biometeorol. 45:161-169: two sines
    by day, a square root by night. As `parton_logan`, from the maximum of the day before (4 h before sunset) on."""
    hour = np.asarray(hour, float)
    at_sunset = before - SUNSET_DROP * (before - tmin)
    top = sunset - TO_SUNSET
    falling = at_sunset + (before - at_sunset) * np.sin(np.pi / 2 * (1 + (hour - top) / TO_SUNSET))
    by_night = at_sunset + (tmin - at_sunset) * np.sqrt(np.clip(hour - sunset, 0, None) / (sunrise + 24 - sunset))
    rising = tmin + (after - tmin) * np.sin(np.pi / 2 * (hour - sunrise - 24) / (top - sunrise))
    until_dawn = np.where(hour < sunset, falling, np.where(hour < sunrise + 24, by_night, rising))
    return np.where(hour < top, before, until_dawn)


@pytest.mark.parametrize(("hour", "expected"), [(11, 23.91954), (20, 20.46866), (3 + 24, 13.35971)])
def test_parton_and_logan_1981(hour, expected):
    """SUB-01 to SUB-03: Tmax 30, Tmin 10, sunrise 6, sunset 18, a 2.59, lag of the minimum 1.55, night 2.20."""
    got = parton_logan(hour, 30, 10, 30, 6, 18, maximum_lag=2.59, decay=2.20, minimum_lag=1.55)
    assert got == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(("hour", "tmin", "expected"), [
    (8 + 24, 10, 17.65367), (2 + 24, 12, 14.01487), (16, 12, 27.94389), (20, 12, 18.49743)])  # fmt: skip
def test_cesaraccio_and_others_2001(hour, tmin, expected):
    """SUB-04 to SUB-07: Tmax 30, Tmin 10, next Tmin 12, sunrise 6, sunset 18."""
    assert cesaraccio(hour, 30, tmin, 30, 6, 18) == pytest.approx(expected, abs=1e-4)


def test_hours_at_or_below_freezing_differ_by_curve_as_printed():
    """SUB-12 4.85 h, SUB-13 3.33 h: Tmax 14, Tmin -2 both nights, sunrise 6.7, sunset 19.4; tolerance 0.05."""
    low, high = hours_at_or_below(0.0, 14.0, -2.0, 14.0, 6.7, 19.4)
    assert low == pytest.approx(3.33, abs=0.05)
    assert high == pytest.approx(4.85, abs=0.05)


def test_the_trap_of_the_swapped_parameters_gives_another_curve():
    """Handbook section 10: a document lists a, lag of the minimum, decay in another order than its code takes them."""
    hour = np.array([20, 23, 27])
    right = parton_logan(hour, 30, 10, 30, 6, 18)
    swapped = parton_logan(hour, 30, 10, 30, 6, 18, decay=-0.17, minimum_lag=2.20)
    assert (np.diff(right) < 0).all()
    assert (np.diff(swapped) > 0).all()  # a night that warms


def test_hours_turned_round_are_those_of_counting_along_the_curve():
    rng = np.random.default_rng(0)
    for _ in range(100):
        before, after = rng.uniform(-5, 30, 2)
        tmin = min(before, after) - rng.uniform(0, 20)
        length = rng.uniform(8, 17)
        sunrise, sunset = 12 - length / 2, 12 + length / 2
        limit = rng.uniform(tmin - 2, max(before, after) + 2)
        counted = []
        for curve, top in ((parton_logan, 12 + 1.86), (cesaraccio, sunset - 4)):
            hour = np.arange(top, top + 24, 1 / 240) + 1 / 480
            counted.append((curve(hour, before, tmin, after, sunrise, sunset) <= limit).sum() / 240)
        got = hours_at_or_below(limit, before, tmin, after, sunrise, sunset)
        assert got == pytest.approx((min(counted), max(counted)), abs=0.02)


def test_hours_broadcast_over_seasons_and_a_missing_reading_is_not_known():
    tmin = np.array([[-2.0, np.nan, 3.0], [-4.0, -1.0, 0.0]])
    low, high = hours_at_or_below(0.0, 12.0, tmin, 14.0, np.array([6.5, 6.6, 6.7]), 19.0)
    assert low.shape == high.shape == (2, 3)
    assert np.isnan(low).tolist() == np.isnan(high).tolist() == [[False, True, False], [False, False, False]]
    assert high[0, 2] == 0
    assert low[1, 0] > low[0, 0] > 0
    assert (low[np.isfinite(low)] <= high[np.isfinite(low)]).all()


def test_colder_thresholds_never_last_longer_and_a_warm_one_lasts_all_day():
    limits = np.linspace(-5, 20, 101)
    low, high = hours_at_or_below(limits, 15.0, -3.0, 13.0, 6.3, 18.9)
    assert (np.diff(low) >= -1e-9).all()
    assert (np.diff(high) >= -1e-9).all()
    assert low[0] == high[0] == 0
    assert high[-1] == pytest.approx(24)


def hourly_nights():
    """Each night of the typical year: hours in solar time from 14 to 36, readings, extremes, sunrise and sunset."""
    lines = (Path(pvlib.__file__).parent / "data" / "703165TY.csv").read_text().split("\n")
    latitude, longitude, zone = 55.317, -160.517, -9  # the file's first line
    column = lines[1].split(",").index("Dry-bulb (C)")
    reading = np.array([float(line.split(",")[column]) for line in lines[2:] if line])  # at the end of each hour
    days = np.datetime64("2001-01-01") + np.arange(365)
    sun = sun_times(latitude, days, longitude=longitude)
    noon = (sun.rise + sun.set) / 2 + zone
    for day in range(1, 363):
        here = reading[(day - 1) * 24 : (day + 2) * 24]
        solar = np.arange(1, 73) - noon[day] + 12  # from the midnight before the evening
        before, after = here[(solar >= 8) & (solar < 22)].max(), here[(solar >= 30) & (solar < 46)].max()
        tmin = here[(solar >= 16) & (solar <= 34)].min()
        length = sun.hours[day]
        keep = (solar >= 14) & (solar <= 36)
        yield day, solar[keep], here[keep], before, tmin, after, 12 - length / 2, 12 + length / 2


def test_curves_follow_real_hours_within_a_degree_and_a_half_and_mean_hours_of_frost_within_an_hour():
    miss, frost = [], []
    for _, solar, seen, before, tmin, after, sunrise, sunset in hourly_nights():
        curves = [curve(solar, before, tmin, after, sunrise, sunset) for curve in (parton_logan, cesaraccio)]
        miss.append([np.mean((each - seen) ** 2) for each in curves])
        if tmin <= 0 < min(before, after):
            fine = np.arange(solar[0], solar[-1], 1 / 60)
            below = (np.interp(fine, solar, seen) <= 0).sum() / 60
            frost.append((below, *hours_at_or_below(0.0, before, tmin, after, sunrise, sunset)))
    off = np.sqrt(np.mean(miss, axis=0))
    seen, low, high = np.mean(frost, axis=0)
    single = np.abs(np.array(frost)[:, 0] - np.array(frost)[:, 1:].mean(1)).mean()
    print(f"\n{len(miss)} nights: root mean square {off.round(2)} °C; {len(frost)} with frost: {seen:.1f} h seen, "
          f"{low:.1f} to {high:.1f} h by the curves; a single night is {single:.1f} h off")  # fmt: skip
    assert len(miss) > 350
    assert len(frost) > 30
    assert off.max() < 1.5
    assert low - 1 < seen < high + 1
