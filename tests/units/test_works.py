"""The works grid against plain loops, and the laws it keeps."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.growth import Plan, Stage, stage_days
from frostkit.seasons.soil import ready
from frostkit.seasons.windows import (
    Shelter,
    earliest,
    killed,
    latest,
    made_it,
    made_it_many,
    waited,
    works,
    works_many,
)
from tests import plain_loops
from tests.plain_loops import BEAN, CHU, CORN, PLANS, SHORT_BEAN, SOWING, TENDER

seeds = st.integers(0, 10**6)
EQUAL = [name for name in PLANS if name != "a need for each day"]


@pytest.mark.parametrize("name", PLANS)
@settings(max_examples=6, deadline=None)
@given(seed=seeds, warmer=st.sampled_from([-3.0, 0.0, 3.0]))
def test_the_grid_equals_plain_loops(name, seed, warmer):
    tmin, tmax = plain_loops.weather(seed, warmer=warmer)
    plan = PLANS[name]
    truth = [
        [plain_loops.made_it(tmin[y], tmax[y], plan, int(s), place=k) for k, s in enumerate(SOWING)] for y in range(3)
    ]
    assert made_it(tmin, tmax, plan, SOWING).tolist() == truth
    if plan.warm is not None:
        warm = [[plain_loops.is_warm(tmin[y], tmax[y], plan.warm, int(s)) for s in SOWING] for y in range(3)]
        assert works(tmin, tmax, plan, SOWING).tolist() == (np.array(truth) & warm).tolist()


@pytest.mark.parametrize("name", PLANS)
@settings(max_examples=5, deadline=None)
@given(seed=seeds, degrees=st.sampled_from([0.0, 1.0, 3.0]))
def test_an_end_and_a_shelter_of_its_own_for_each_cell_equal_plain_loops(name, seed, degrees):
    tmin, tmax = plain_loops.weather(seed)
    rng = np.random.default_rng(seed)
    cells, plan = (3, SOWING.size), PLANS[name]
    end = rng.integers(220, 300, cells).astype(float)
    end[rng.random(cells) < 0.2] = np.inf
    first, last = rng.integers(150, 250, cells).astype(float), rng.integers(200, 300, cells)
    first[rng.random(cells) < 0.1] = np.inf  # a canopy that never closed
    made = made_it(tmin, tmax, plan, SOWING, end=end, shelter=Shelter(degrees, first, last))
    dead = killed(tmin, tmax, plan, SOWING, shelter=Shelter(degrees, first, last))
    for (y, k), value in np.ndenumerate(made):
        kept = (degrees, first[y, k], last[y, k])
        assert value == plain_loops.made_it(tmin[y], tmax[y], plan, int(SOWING[k]), end[y, k], kept, place=k)
        days = plain_loops.stages(plain_loops.rates(tmin[y], tmax[y], plan), plan, int(SOWING[k]), place=k)
        assert dead[y, k] == plain_loops.killed(tmin[y], days, plan.stages, plan.season_end, kept)


@pytest.mark.parametrize("name", EQUAL)
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_a_crop_made_it_when_its_goal_came_before_any_day_that_kills(name, seed):
    """The same by other routes: stage days, killing days, and the grid."""
    tmin, tmax = plain_loops.weather(seed, 4)
    plan = PLANS[name]
    after = [replace(stage, kills_at=None) for stage in plan.stages[plan.goal :]]  # what the goal changes is not asked
    stages = (*plan.stages[: plan.goal], *after)
    goal = stage_days(tmin, tmax, plan, SOWING)[..., plan.goal]
    dead = killed(tmin, tmax, replace(plan, stages=stages), SOWING)
    assert np.array_equal(made_it(tmin, tmax, plan, SOWING), (goal <= plan.season_end) & (goal < dead))


@settings(max_examples=20, deadline=None)
@given(seed=seeds, days=st.lists(st.integers(60, 330), min_size=1, max_size=12))
def test_each_seeding_day_is_answered_alike_whichever_days_are_asked_with_it(seed, days):
    tmin, tmax = plain_loops.weather(seed, 2)
    for name in EQUAL:
        whole = made_it(tmin, tmax, PLANS[name], np.arange(60, 331))
        assert np.array_equal(made_it(tmin, tmax, PLANS[name], days), whole[:, np.array(days) - 60])


@settings(max_examples=10, deadline=None)
@given(seed=seeds)
def test_a_warmer_shelter_and_a_later_end_never_harm(seed):
    tmin, tmax = plain_loops.weather(seed)
    day = np.random.default_rng(seed).integers(200, 280, (3, SOWING.size))
    for plan in (BEAN, TENDER, SHORT_BEAN):
        little = made_it(tmin, tmax, plan, SOWING, end=day, shelter=Shelter(1.0, day - 60, day))
        more = made_it(tmin, tmax, plan, SOWING, end=day + 9, shelter=Shelter(2.5, day - 70, day + 5))
        assert not (little & ~more).any()
        dead = [killed(tmin, tmax, plan, SOWING, shelter=Shelter(by, day - 60, day)) for by in (0.0, 1.0, 2.5)]
        assert (dead[0] <= dead[1]).all() and (dead[1] <= dead[2]).all()
        assert np.array_equal(dead[0], killed(tmin, tmax, plan, SOWING))


def test_crops_asked_together_get_what_they_get_alone_in_whatever_blocks_and_axes():
    parts = [plain_loops.weather(seed, 40) for seed in range(35)]
    tmin, tmax = (np.stack(of).reshape(7, 5, 40, 365) for of in zip(*parts))
    plans = list(PLANS.values())
    together, fit = made_it_many(tmin, tmax, plans, SOWING), works_many(tmin, tmax, plans, SOWING)
    for plan, made, grid in zip(plans, together, fit):
        assert made.shape == (7, 5, 40, SOWING.size)
        alone = made_it(tmin[3, 2], tmax[3, 2], plan, SOWING)
        assert np.array_equal(made[3, 2], alone)
        assert np.array_equal(made_it(tmin[3, 2, 7], tmax[3, 2, 7], plan, SOWING), alone[7])
        assert np.array_equal(grid, made & ready(tmin, tmax, plan.warm, SOWING))
    assert 0.1 < together[0].mean() < 0.95


def test_two_crops_worked_in_the_same_season_or_not():
    tmin, tmax = plain_loops.weather(7, 6)
    corn, bean = works(tmin, tmax, CORN, SOWING), works(tmin, tmax, BEAN, SOWING + 2)
    both = corn & bean
    assert both.any() and (both.mean(0) <= np.minimum(corn.mean(0), bean.mean(0))).all()


def test_a_gap_between_two_frosts_is_seen():
    tmin, tmax = np.full((3, 365), 150, np.int16), np.full((3, 365), 250, np.int16)  # 15 degree days a day
    tmin[:, [100, 300]] = -50
    tmin[1, 150] = -50  # up in 6 days and ready in 24: those sown by 125 are in before it, those from 144 on after
    tmin[2, 220] = -50  # those sown by 195 are in before it, those from 214 on come up after
    sowing = np.arange(120, 240)
    grid = works(tmin, tmax, SHORT_BEAN, sowing)
    assert grid.sum(axis=1).tolist() == [120, 120 - (144 - 126), 120 - (214 - 196)]
    assert earliest(grid, sowing).tolist() == [120] * 3 and latest(grid, sowing).tolist() == [239] * 3
    assert np.flatnonzero(~grid[1]).tolist() == list(range(126 - 120, 144 - 120))


def test_a_need_of_its_own_for_each_seeding_day_is_met_day_by_day():
    tmin, tmax = plain_loops.weather(11)
    needs = tuple((1900 - 3 * k) * CHU.per_unit for k in range(SOWING.size))
    plan = replace(CORN, stages=(*CORN.stages[:2], replace(CORN.stages[2], need=needs)))
    got = works(tmin, tmax, plan, SOWING)
    for k, need in enumerate(needs):
        one = replace(CORN, stages=(*CORN.stages[:2], replace(CORN.stages[2], need=need)))
        assert np.array_equal(works(tmin, tmax, one, SOWING[k : k + 1])[:, 0], got[:, k])


@pytest.mark.parametrize("days", [[60, 61], [94], [302, 303, 304, 350], [363]])
def test_days_too_early_for_warm_soil_or_too_late_for_anything_do_not_work(days):
    tmin, tmax = plain_loops.weather(6, 3)
    assert not works(tmin, tmax, CORN, days).any()
    if min(days) > 300:
        assert not made_it(tmin, tmax, CORN, days).any() and np.isinf(killed(tmin, tmax, CORN, days)).all()


def test_a_season_in_which_nothing_worked_has_no_window():
    tmin, tmax = plain_loops.weather(4, 2, warmer=-15)
    grid = works(tmin, tmax, CORN, SOWING)
    assert np.isposinf(earliest(grid, SOWING)).all() and np.isneginf(latest(grid, SOWING)).all()


@settings(max_examples=50)
@given(cells=st.lists(st.tuples(st.booleans(), st.booleans()), min_size=1, max_size=12))
def test_who_waits_for_the_first_fit_day_gets_what_that_day_gives(cells):
    made, fit = (np.array(of) for of in zip(*cells))
    got = waited(np.stack([made, made]), np.stack([fit, ~fit]))
    for row, soil in zip(got, (fit, ~fit)):
        for day, answer in enumerate(row):
            later = [k for k in range(day, made.size) if soil[k]]
            assert answer == (bool(later) and made[later[0]])


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Stage("up", CHU, 0), "needs 0: a need is at least 1"),
        (lambda: Stage("up", CHU, (5, 6), since=0), "a need for each seeding day and counts from stage 0"),
        (lambda: Plan((Stage("up", CHU, 5),), 3), "Goal 3 is none of the 1 stages"),
        (lambda: Plan((Stage("up", CHU, 5, since=0),), 0), "'up' counts from stage 0, which is not before it"),
        (lambda: Plan((Stage("up", CHU, 5),), 0, season_end=400), "can't end with column 400"),
    ],
)
def test_a_plan_that_makes_no_sense_is_refused(make, says):
    with pytest.raises(SettingError, match=says):
        make()
