"""Forward and backward search, and the day of each stage."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from frostkit.seasons.growth import Plan, Stage, must_start, reached, stage_days
from frostkit.seasons.heat import Heat, running
from tests import plain_loops
from tests.plain_loops import PLANS, SOWING

rates = st.lists(st.sampled_from([0, 0, 1, 5, 10, 250]), min_size=2, max_size=40)


@given(rates, st.integers(1, 600))
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
    cube = plain_loops.cube(*plain_loops.weather(seed))
    for plan in PLANS.values():
        got = stage_days(cube, plan, SOWING)
        assert (got.first[:, 1:] >= got.first[:, :-1]).all()


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_stage_days_equal_plain_loops(seed):
    tmin, tmax = plain_loops.weather(seed)
    for plan in PLANS.values():
        got = stage_days(plain_loops.cube(tmin, tmax), plan, SOWING)
        assert got.first is got.last or np.array_equal(got.first, got.last)
        for season in range(3):
            rate_of = {stage.clock: stage.clock.rate(tmin[season], tmax[season]) for stage in plan.stages}
            truth = [plain_loops.stages(rate_of, plan, int(sown)) for sown in SOWING]
            assert got.first[season].tolist() == truth


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
    got = stage_days(plain_loops.cube(*plain_loops.weather(1)), plan, [130])
    assert (got.first[:, 0, 1] == 209).all()
