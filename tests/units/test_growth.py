"""Forward and backward search, and the day of each stage."""

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from frostkit.seasons.growth import Plan, Stage, must_start, reached, stage_days
from frostkit.seasons.heat import Heat, running
from tests import plain_loops
from tests.plain_loops import PLANS, SOWING

amounts = st.lists(st.sampled_from([0, 0, 1, 5, 10, 250]), min_size=2, max_size=40)


@given(amounts, st.integers(1, 600))
def test_forward_and_backward_agree_on_every_seeding_day(rate, need):
    total = running(np.array(rate))
    days = np.arange(len(rate) - 1)
    arrives = reached(total, days, need)
    for sown, day in zip(days, arrives, strict=True):
        came = np.cumsum(rate[sown + 1 :]) >= need
        assert day == (sown + 1 + came.argmax() if came.any() else np.inf)
    for end in range(len(rate)):
        in_time = [s for s in range(end) if arrives[s] <= end]
        assert must_start(total, [end], need)[0] == max(in_time, default=-np.inf)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6))
def test_a_later_seeding_never_gets_there_earlier(seed):
    tmin, tmax = plain_loops.weather(seed)
    for name, plan in PLANS.items():
        if name != "a need for each day":
            got = stage_days(tmin, tmax, plan, SOWING)
            assert (got[:, 1:] >= got[:, :-1]).all()


@pytest.mark.parametrize("name", PLANS)
@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10**6))
def test_stage_days_equal_plain_loops(name, seed):
    tmin, tmax = plain_loops.weather(seed)
    plan = PLANS[name]
    got = stage_days(tmin, tmax, plan, SOWING)
    assert got.shape == (3, SOWING.size, len(plan.stages))
    for season in range(3):
        rate_of = plain_loops.rates(tmin[season], tmax[season], plan)
        truth = [plain_loops.stages(rate_of, plan, int(sown), place) for place, sown in enumerate(SOWING)]
        assert got[season].tolist() == truth


def test_searches_take_leading_axes_and_a_need_for_each_day():
    total = running(np.arange(24).reshape(2, 3, 4) % 5)
    got = reached(total, [0, 1], [2, 3])
    assert got.shape == (2, 3, 2)
    assert got[1, 2].tolist() == reached(total[1, 2], [0, 1], [2, 3]).tolist()


def test_a_clock_that_knows_the_day_is_given_the_whole_season():
    class ByDay:
        per_unit, unit = 1, "days"

        def rate(self, tmin10, tmax10):
            assert tmin10.shape[-1] == 365
            return np.broadcast_to((np.arange(365) >= 200).astype(np.int32), tmin10.shape)

    plan = Plan((Stage("up", Heat("mean", 5), 5000), Stage("flower", ByDay(), 10, since=0)), 1)
    got = stage_days(*plain_loops.weather(1), plan, [130])
    assert (got[:, 0, 1] == 209).all()


def test_a_stage_after_the_seasons_end_does_not_come():
    tmin, tmax = np.full(365, 100, np.int16), np.full(365, 200, np.int16)  # 10 degree days above 5 a day
    plan = Plan((Stage("one", Heat("mean", 5), 10000), Stage("other", Heat("mean", 5), 11000)), 1, season_end=200)
    assert stage_days(tmin, tmax, plan, [189, 190, 191]).tolist() == [[199, 200], [200, np.inf], [np.inf, np.inf]]
