"""Working days: evaporation and the balance of the upper zones by plain loops over days, and what the rule says of them."""

from math import acos, cos, pi, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.calendar import MISSING, column
from frostkit.seasons.workdays import SOILS, by_week, evapotranspiration, workdays, zones

LATITUDE = 49.0
DRY = np.zeros((1, 365), np.int16)
MILD = np.full((1, 365), 80, np.int16), np.full((1, 365), 200, np.int16)


def plainly(tmin, tmax, prcp, latitude, holds, uses):
    """Workdays of one season, day by day, from the rule as it is told: nothing of the package is used."""
    stored, snow, soil, weight = list(holds), 0.0, 0.0, 0.0
    out = []
    for day in range(365):
        low, high, fallen = tmin[day] / 10, tmax[day] / 10, max(prcp[day], 0) / 10
        mean = (low + high) / 2
        soil, weight = 0.8 * soil + 0.2 * mean, 0.8 * weight + 0.2
        frozen = soil / weight + 0.8 <= 0
        sun = 0.409 * sin(2 * pi * (day + 1) / 365 - 1.39)
        phi = latitude * pi / 180
        angle = acos(-tan(phi) * tan(sun))
        above = 24 * 60 / pi * 0.0820 * (1 + 0.033 * cos(2 * pi * (day + 1) / 365))
        above *= angle * sin(phi) * sin(sun) + cos(phi) * cos(sun) * sin(angle)
        demand = max(0.0023 * (mean + 17.8) * sqrt(max(high - low, 0)) * 0.408 * above, 0)
        melt = min(snow, 3 * max(mean, 0))
        snow += (fallen if mean <= 0 else 0) - melt
        water = melt + (0 if mean <= 0 else fallen)
        for zone, held in enumerate(holds):
            into = min(water, held - stored[zone])
            stored[zone] += into
            water -= into
            if snow < 1 and not frozen:
                stored[zone] -= uses[zone] * demand * stored[zone] / held
        full = any(of > 0.95 * held + 1e-9 for of, held in zip(stored, holds, strict=True))
        out.append(not full and snow < 1 and not frozen)
    return out


@settings(max_examples=12)
@given(st.integers(0, 10_000), st.sampled_from(sorted(SOILS)))
def test_workdays_are_those_of_a_plain_loop(seed, soil):
    rng = np.random.default_rng(seed)
    day = np.arange(365)
    mean = 5 - 18 * np.cos(2 * np.pi * (day - 20) / 365) + rng.normal(0, 5, 365)
    swing = rng.uniform(0, 18, 365)
    tmin, tmax = (np.round(10 * (mean + sign * swing / 2)).astype(np.int16) for sign in (-1, 1))
    prcp = np.where(rng.random(365) < 0.35, rng.gamma(0.7, 60, 365), 0).astype(np.int16)
    prcp[rng.random(365) < 0.05] = MISSING
    got = workdays(tmin[None], tmax[None], prcp[None], LATITUDE, soil)[0]
    assert got.tolist() == plainly(tmin, tmax, prcp, LATITUDE, SOILS[soil].holds, SOILS[soil].uses)


def test_a_july_day_at_lyon_evaporates_five_millimetres():
    # FAO-56 (Allen et al. 1998), eq. 52 with the July data of its example 15 (14.8 and 26.6 degC, Ra 40.6 MJ):
    # 0.0023 (20.7 + 17.8) sqrt(11.8) 0.408 x 40.6, worked by hand
    assert float(evapotranspiration(14.8, 26.6, 40.6)) == pytest.approx(5.038, abs=5e-3)


def test_no_workday_while_any_upper_zone_is_over_95_percent_of_what_it_holds():
    # Rutledge and McHardy as given in Baier 1973 (WRK-11): one zone alone is enough
    stored, free = zones(*MILD, DRY, LATITUDE)
    work = workdays(*MILD, DRY, LATITUDE)[0]
    over = (stored[0] > 0.95 * np.array(SOILS["loam"].holds) + 1e-9).any(axis=-1)
    assert free.all()
    assert (work == ~over).all()
    one_zone_alone = over & (stored[0, :, 0] < 0.9 * SOILS["loam"].holds[0])
    assert one_zone_alone.any()


def test_a_light_rain_on_dry_ground_stops_no_work_and_one_that_fills_all_three_zones_stops_it_for_days():
    day = column(6, 10)
    stopped = []
    for millimetres in (2, 60):
        rain = DRY.copy()
        rain[0, day] = 10 * millimetres
        dry, wet = (workdays(*MILD, of, LATITUDE)[0] for of in (DRY, rain))
        stopped.append(int((dry & ~wet).sum()))
    assert stopped[0] == 0
    assert 2 <= stopped[1] <= 7


def test_sand_is_fit_sooner_than_loam_and_more_rain_never_brings_more_workdays():
    rng = np.random.default_rng(4)
    rain = np.where(rng.random((1, 365)) < 0.3, rng.gamma(0.7, 60, (1, 365)), 0).astype(np.int16)
    loam, sand, wetter = (
        workdays(*MILD, rain, LATITUDE),
        workdays(*MILD, rain, LATITUDE, "sand"),
        workdays(*MILD, 2 * rain, LATITUDE),
    )
    assert (loam & ~sand).sum() == 0
    assert (wetter & ~loam).sum() == 0


def test_nobody_works_in_snow_or_on_frozen_ground():
    tmin, tmax = MILD[0].copy(), MILD[1].copy()
    tmin[:, :100], tmax[:, :100] = -150, -50
    rain = DRY.copy()
    rain[:, 50] = 300
    work = workdays(tmin, tmax, rain, LATITUDE)[0]
    assert not work[:102].any()
    assert work[120:].any()


def test_weeks_are_whole_and_count_days():
    start, days = by_week(np.arange(365)[None] % 2 == 0, column(5, 1), column(5, 31))
    assert start.tolist() == [120, 127, 134, 141]
    assert days.tolist() == [[4, 3, 4, 3]]


def test_a_soil_that_is_not_known_is_refused():
    with pytest.raises(SettingError, match="soil='clai' is not known"):
        workdays(*MILD, DRY, LATITUDE, "clai")
