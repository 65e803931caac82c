"""The works grid against plain loops, and the laws it keeps when days are missing."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from frostkit.errors import SettingError
from frostkit.seasons.calendar import MISSING
from frostkit.seasons.growth import Plan, Stage, stage_days
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.shortcut import season_windows
from frostkit.seasons.windows import Shelter, both, days_worked, earliest, latest, works, works_many
from tests import plain_loops
from tests.plain_loops import BEAN, CHU, CORN, PLANS, SOWING, TENDER

seeds = st.integers(0, 10**6)


def holed(tmin, tmax, seed, share=0.05, of=0, longest=9):
    """One season of the arrays with runs of missing days."""
    rng = np.random.default_rng(seed)
    tmin, tmax = tmin.copy(), tmax.copy()
    for start in np.flatnonzero(rng.random(365) < share):
        stop = start + rng.integers(1, longest)
        for array in (tmin, tmax):
            if rng.random() < 0.8:
                array[of, start:stop] = MISSING
    return tmin, tmax


def with_extremes(tmin, tmax):
    """Two more seasons that are never holed: one the warmest, one the coldest, so that the bounds of missing days stay."""
    warm, cold = np.full((1, 365), 380, np.int16), np.full((1, 365), -400, np.int16)
    return np.concatenate([tmin, warm, cold]), np.concatenate([tmax, warm, cold])


@pytest.mark.parametrize("name", PLANS)
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_the_grid_equals_plain_loops(name, seed):
    tmin, tmax = plain_loops.weather(seed)
    got = works(plain_loops.cube(tmin, tmax), PLANS[name], SOWING)
    truth = [[plain_loops.worked(tmin[y], tmax[y], PLANS[name], int(s)) for s in SOWING] for y in range(3)]
    assert got.certain.tolist() == truth
    assert got.possible is got.certain and got.typical is got.certain


@settings(max_examples=10, deadline=None)
@given(seed=seeds, degrees=st.sampled_from([0.0, 1.0, 3.0]))
def test_an_end_and_a_shelter_of_its_own_for_each_cell_equal_plain_loops(seed, degrees):
    tmin, tmax = plain_loops.weather(seed)
    rng = np.random.default_rng(seed)
    cells = (3, SOWING.size)
    end = rng.integers(220, 300, cells).astype(float)
    end[rng.random(cells) < 0.2] = np.inf
    first, last = rng.integers(150, 250, cells), rng.integers(200, 300, cells)
    for plan in (BEAN, TENDER):
        got = works(plain_loops.cube(tmin, tmax), plan, SOWING, end=end, shelter=Shelter(degrees, first, last))
        for (y, k), value in np.ndenumerate(got.certain):
            kept = (degrees, first[y, k], last[y, k])
            assert value == plain_loops.worked(tmin[y], tmax[y], plan, int(SOWING[k]), end[y, k], kept)
        assert np.array_equal(got.certain, got.possible)


@pytest.mark.parametrize("name", PLANS)
@settings(max_examples=15, deadline=None)
@given(seed=seeds, short=st.sampled_from([0, 3]))
def test_with_missing_days_the_truth_stays_between_certain_and_possible(name, seed, short):
    tmin, tmax = with_extremes(*plain_loops.weather(seed, 1))
    truth = works(plain_loops.cube(tmin, tmax), PLANS[name], SOWING).certain
    got = works(plain_loops.cube(*holed(tmin, tmax, seed)), PLANS[name], SOWING, short=short)
    if short == 0:  # the week around a short run is a guess, not a bound
        assert not (got.certain & ~truth).any()
        assert not (truth & ~got.possible).any()
    assert not (got.certain & ~got.typical).any()
    assert not (got.typical & ~got.possible).any()
    assert np.array_equal(got.certain[1:], truth[1:])


@pytest.mark.parametrize("name", PLANS)
@settings(max_examples=15, deadline=None)
@given(seed=seeds)
def test_more_missing_days_never_narrow_a_season_date(name, seed):
    plan = PLANS[name]
    once = holed(*with_extremes(*plain_loops.weather(seed, 1)), seed)
    twice = holed(*once, seed + 1)
    few, many = (works(plain_loops.cube(*t), plan, SOWING, short=0) for t in (once, twice))
    assert not (many.certain & ~few.certain).any()
    assert not (few.possible & ~many.possible).any()
    for dates in (earliest, latest, days_worked):
        assert (dates(many).first <= dates(few).first).all() and (dates(few).last <= dates(many).last).all()
    few_days, many_days = (stage_days(plain_loops.cube(*t), plan, SOWING, short=0) for t in (once, twice))
    assert (many_days.first <= few_days.first).all() and (few_days.last <= many_days.last).all()


@settings(max_examples=10, deadline=None)
@given(seed=seeds)
def test_wider_ends_and_shelters_never_narrow(seed):
    tmin, tmax = plain_loops.weather(seed)
    cube = plain_loops.cube(*holed(tmin, tmax, seed, of=1))
    rng = np.random.default_rng(seed)
    cells = (3, SOWING.size)
    day, more = rng.integers(200, 280, cells), rng.integers(0, 30, cells)
    sharp = works(cube, TENDER, SOWING, end=day, shelter=Shelter(2.0, day - 60, day))
    wide = works(cube, TENDER, SOWING, end=SeasonDates(day - more, day + more),
                 shelter=Shelter(2.0, SeasonDates(day - 60 - more, day - 60), SeasonDates(day, day + more)))  # fmt: skip
    assert not (wide.certain & ~sharp.certain).any()
    assert not (sharp.possible & ~wide.possible).any()
    assert not (wide.certain & ~wide.typical).any() and not (wide.typical & ~wide.possible).any()


def test_both_is_never_better_than_either_and_is_of_the_same_season():
    cube = plain_loops.cube(*holed(*plain_loops.weather(7, 6), 7, of=2))
    corn, bean = works(cube, CORN, SOWING), works(cube, BEAN, SOWING + 2)
    together = both(corn, bean)
    for end in ("certain", "possible", "typical"):
        assert np.array_equal(getattr(together, end), getattr(corn, end) & getattr(bean, end))
    assert np.array_equal(together.sowing, SOWING)
    assert together.counts()[0].max() > 0


def test_crops_asked_together_get_what_they_get_alone_in_whatever_blocks():
    tmin, tmax = plain_loops.weather(3, 40)
    cube = plain_loops.cube(*holed(tmin, tmax, 5, of=17))
    stack = replace(cube, tmin=np.stack([cube.tmin] * 30), tmax=np.stack([cube.tmax] * 30),
                    lows=np.stack([cube.lows] * 30))  # fmt: skip
    alone = [works(cube, plan, SOWING) for plan in PLANS.values()]
    for of_stack, one in zip(works_many(stack, list(PLANS.values()), SOWING), alone, strict=True):
        for end in ("certain", "possible", "typical", "complete"):
            whole = getattr(of_stack, end)
            assert whole.shape == (30, *getattr(one, end).shape)
            assert (whole == getattr(one, end)).all()


def test_a_need_of_its_own_for_each_seeding_day_is_met_day_by_day():
    tmin, tmax = plain_loops.weather(11)
    needs = tuple(190000 - 300 * k for k in range(SOWING.size))
    plan = replace(CORN, stages=(*CORN.stages[:2], replace(CORN.stages[2], need=needs)))
    got = works(plain_loops.cube(tmin, tmax), plan, SOWING).certain
    for k, need in enumerate(needs):
        one = replace(CORN, stages=(*CORN.stages[:2], replace(CORN.stages[2], need=need)))
        assert np.array_equal(works(plain_loops.cube(tmin, tmax), one, SOWING[k : k + 1]).certain[:, 0], got[:, k])


def test_days_too_early_for_warm_soil_or_too_late_for_anything_do_not_work():
    cube = plain_loops.cube(*holed(*plain_loops.weather(6, 3), 6, of=1))
    for days in ([60, 61], [94], [302, 303, 304, 350]):
        grid = works(cube, CORN, days)
        assert not grid.possible.any() and not season_windows(cube, [CORN], days)[0].works().possible.any()


def test_counts_add_up_and_the_point_share_is_of_complete_seasons():
    tmin, tmax = plain_loops.weather(2, 20)
    for season in range(6):
        tmin, tmax = holed(tmin, tmax, season, of=season)
    grid = works(plain_loops.cube(tmin, tmax, lows=-50), BEAN, SOWING)
    yes, no, not_known, complete, complete_yes = grid.counts()
    assert (yes + no + not_known == 20).all()
    assert (complete == grid.complete.sum()).all() and 14 <= complete[0] < 20
    assert (complete_yes <= complete).all()


def test_the_days_of_a_season_still_to_come_are_not_known():
    tmin, tmax = plain_loops.weather(4, 5)
    tmin[-1, 180:] = tmax[-1, 180:] = MISSING
    grid = works(plain_loops.cube(tmin, tmax), CORN, SOWING)
    assert not grid.certain[-1].any() and grid.possible[-1].any() and not grid.complete[-1]
    assert earliest(grid).last[-1] == np.inf and latest(grid).first[-1] == -np.inf


def test_a_season_in_which_nothing_worked_has_no_window():
    tmin, tmax = plain_loops.weather(4, 2, warmer=-15)
    grid = works(plain_loops.cube(tmin, tmax), CORN, SOWING)
    assert np.isposinf(earliest(grid).last).all() and np.isneginf(latest(grid).first).all()
    assert (days_worked(grid).last == 0).all()


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Stage("up", CHU, 0), "needs 0: a need is at least 1"),
        (lambda: Plan((Stage("up", CHU, 5),), 3), "Goal 3 is none of the 1 stages"),
        (lambda: Plan((Stage("up", CHU, 5, since=0),), 0), "'up' counts from stage 0, which is not before it"),
        (lambda: Plan((Stage("up", CHU, 5),), 0, season_end=400), "can't end with column 400"),
    ],
)
def test_a_plan_that_makes_no_sense_is_refused(make, says):
    with pytest.raises(SettingError, match=says):
        make()
