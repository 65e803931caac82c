"""The seedbed: the filter against its own weights, and the days on which it is fit against plain loops."""

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.calendar import MISSING, column
from frostkit.seasons.soil import SoilDegreeDays, SoilReady, Warmth, first_warm, ready, soil_temperature
from tests import plain_loops

SOWING = np.arange(90, 190)
seeds = st.integers(0, 10**6)


def plain_soil(air: np.ndarray, rule: SoilReady) -> list[float]:
    """Soil of each day: the mean of the days so far, the last one weighing most."""
    out = []
    for day in range(len(air)):
        weights = [rule.lag * (1 - rule.lag) ** ago for ago in range(day + 1)]
        out.append(sum(w * air[day - ago] for ago, w in enumerate(weights)) / sum(weights) + rule.warmer)
    return out


@settings(max_examples=15, deadline=None)
@given(
    seed=seeds, next_days=st.sampled_from([0, 1, 3]), rain=st.sampled_from([None, 4.0]), from_day=st.integers(0, 150)
)
def test_fit_days_equal_plain_loops(seed, next_days, rain, from_day):
    tmin, tmax = plain_loops.weather(seed, 2)
    rng = np.random.default_rng(seed)
    prcp = np.where(rng.random(tmin.shape) < 0.3, rng.integers(0, 90, tmin.shape), 0).astype(np.int16)
    prcp[rng.random(tmin.shape) < 0.05] = MISSING
    rule = SoilReady(9.0, next_days, from_day, rain, rain_below=11.0)
    got = ready(tmin, tmax, rule, SOWING, prcp)
    for season in range(2):
        air = (tmin[season].astype(int) + tmax[season]) / 20
        soil = plain_soil(air[:200], rule)
        for k, sown in enumerate(SOWING):
            days = range(sown, sown + next_days + 1)
            cold_rain = rain is not None and any(prcp[season, d] >= 10 * rain and air[d] < 11 for d in days)
            truth = sown >= from_day and all(soil[d] >= 9.0 for d in days) and not cold_rain
            assert got[season, k] == truth


@settings(max_examples=8, deadline=None)
@given(seed=seeds, days=st.sampled_from([1, 5, 7, 20]), mean=st.floats(4, 12), from_day=st.integers(0, 130))
def test_a_warm_stretch_equals_plain_loops_and_is_not_forgotten(seed, days, mean, from_day):
    tmin, tmax = plain_loops.weather(seed, 2)
    rule = Warmth(days, round(mean, 1), from_day)
    got = ready(tmin, tmax, rule, SOWING)
    for season in range(2):
        assert got[season].tolist() == [plain_loops.is_warm(tmin[season], tmax[season], rule, int(s)) for s in SOWING]
    assert (got[:, 1:] >= got[:, :-1]).all()
    first = first_warm(tmin, tmax, rule)
    assert np.array_equal(first[:, None] <= SOWING, got)


def test_a_cold_spell_closes_the_seedbed_again_and_a_warm_week_of_air_does_not():
    tmin, tmax = np.full((1, 365), 70, np.int16), np.full((1, 365), 170, np.int16)  # 12 degC, soil 12.8
    tmin[:, 140:148] -= 80
    tmax[:, 140:148] -= 80  # eight days of 4 degC
    fit = ready(tmin, tmax, SoilReady(10.0), SOWING)[0]
    shut = SOWING[~fit]
    # the soil is below 10 degC on the second cold day: not fit from the day before that on, and back within days
    assert shut[0] == 140 and shut[-1] < 156 and np.array_equal(shut, np.arange(shut[0], shut[-1] + 1))
    assert ready(tmin, tmax, Warmth(7, 10.0, 90), SOWING).all()


def test_a_cold_rain_keeps_out_on_its_day_and_the_day_before_and_only_where_rain_is_given():
    tmin, tmax = np.full((1, 365), 50, np.int16), np.full((1, 365), 150, np.int16)  # 10 degC, soil 10.8
    tmin[:, 130] = 0
    prcp = np.zeros((1, 365), np.int16)
    prcp[:, [130, 150]] = 80  # the second is no colder than 10 degC
    rule = SoilReady(10.0, next_days=1, rain=5.0, rain_below=10.0)
    assert SOWING[~ready(tmin, tmax, rule, SOWING, prcp)[0]].tolist() == [129, 130]
    assert ready(tmin, tmax, rule, SOWING).all() and ready(tmin, tmax, None, SOWING).all()


def test_what_is_fit_depends_on_neither_the_days_asked_nor_the_rows_beside():
    tmin, tmax = plain_loops.weather(5, 1300)
    whole = ready(tmin, tmax, SoilReady(), SOWING)
    assert np.array_equal(ready(tmin[1100], tmax[1100], SoilReady(), [150, 120]), whole[1100][[60, 30]])
    stack = ready(tmin.reshape(13, 100, 365), tmax.reshape(13, 100, 365), SoilReady(), SOWING)
    assert np.array_equal(stack.reshape(whole.shape), whole)


def test_the_soil_filter_leaves_what_it_is_given_alone_and_takes_leading_axes():
    air = np.random.default_rng(1).normal(8, 5, (2, 3, 60))
    before = air.copy()
    soil = soil_temperature(air)
    assert np.array_equal(air, before)
    assert soil[1, 2] == pytest.approx(plain_soil(air[1, 2], SoilReady()))
    assert soil_temperature(np.full(9, 7.0), warmer=0.5) == pytest.approx(np.full(9, 7.5))


def test_the_clock_of_the_soil_counts_what_the_filter_gives():
    tmin, tmax = plain_loops.weather(2, 2)
    soil = soil_temperature((tmin.astype(int) + tmax) / 20)
    assert np.array_equal(SoilDegreeDays(8.0).rate(tmin, tmax), np.rint(100 * np.maximum(soil - 8, 0)))


def test_a_seeding_day_whose_next_day_lies_in_another_season_is_refused():
    with pytest.raises(SettingError, match="seeding on day 364"):
        ready(*plain_loops.weather(1), SoilReady(), [column(12, 31)])
