"""The shortcut and the compiled grid against the grid: equal in every season, column and count."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from frostkit.seasons.calendar import MISSING, Cube, station_lows
from frostkit.seasons.growth import Plan, Stage, Warmth
from frostkit.seasons.heat import Heat
from frostkit.seasons.rows import Celsius
from frostkit.seasons.shortcut import season_windows
from frostkit.seasons.windows import Works, days_worked, earliest, latest, works_many
from tests import plain_loops
from tests.plain_loops import BEAN, CHU, CORN, MEAN, SOWING, TENDER

compiled = pytest.importorskip("frostkit.seasons.compiled", reason="numba is an extra")


class ByDay:
    """A clock that goes by the calendar, as day-length clocks do."""

    per_unit, unit = 1, "days"

    def rate(self, tmin10, tmax10):
        return np.where(np.arange(365) > 150, 3, 1).astype(np.int32) + np.zeros(tmin10.shape, np.int32)


BY_DAY = ByDay()
SHORT_BEAN = Plan((Stage("up", MEAN, 9000, kills_at=-0.5), Stage("goal", MEAN, 35000)), 1, Warmth(5, 6.0, 95))
OTHERS = [
    SHORT_BEAN,  # fast enough to get ready on either side of a frost: a second block
    Plan((Stage("goal", MEAN, 60000),), 0),  # nothing kills it, any day will do
    Plan((Stage("up", MEAN, 9000, kills_at=-9.0), Stage("goal", MEAN, 130000)), 1, season_end=360),
    Plan((Stage("up", Heat("sine", 6, 30), 5000, kills_at=-1.0), Stage("goal", CHU, 150000)), 1, Warmth(9, 7.0)),
    Plan((Stage("up", CHU, 18000), Stage("v5", CHU, 20000, since=0, kills_at=-1.5, kills_from=220),
          Stage("goal", CHU, 170000)), 2, Warmth(), season_end=280),
    Plan((Stage("up", MEAN, 9000, kills_at=-1.0), Stage("flower", BY_DAY, 200, since=0),
          Stage("goal", MEAN, 30000, since=1)), 2, Warmth()),
    Plan((Stage("up", Heat("clamped", 8.85, 30.05), 9000, kills_at=-1.0), Stage("goal", Heat("mean", 7.2, 26), 90000)), 1),
    Plan((Stage("up", MEAN, 9000, kills_at=-1.0), Stage("goal", MEAN, tuple(60000 + 9 * k * k for k in range(34)))), 1),
]  # fmt: skip
PLANS = [CORN, BEAN, TENDER, *OTHERS]


def records(seed: int, share: float) -> Cube:
    """Four stations of nine seasons, some with missing days, the last without one whole season."""
    rng = np.random.default_rng(seed)
    parts = [plain_loops.weather(seed + k, 9, warmer=k - 2.0) for k in range(4)]
    tmin, tmax = (np.stack(of) for of in zip(*parts, strict=True))
    for station in range(4):
        for season in range(9):
            if station < 3 and rng.random() > share:
                continue
            for start in rng.integers(60, 330, 3):
                for array in (tmin, tmax):
                    if rng.random() < 0.8:
                        array[station, season, start : start + rng.integers(1, 12)] = MISSING
    sign = rng.integers(-1, 2, tmin.shape).astype(np.int8)
    sign[tmin != MISSING] = 0
    return Cube(tmin, tmax, np.arange(9), station_lows(tmin), sign)


def same(one: Works, other: Works) -> bool:
    return all(np.array_equal(getattr(one, end), getattr(other, end)) for end in
               ("certain", "possible", "typical", "complete", "sowing"))  # fmt: skip


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 10**6), share=st.sampled_from([0.0, 0.3, 1.0]))
def test_the_shortcut_equals_the_grid_in_every_season_and_count(seed, share):
    cube = records(seed, share)
    for grid, short in zip(works_many(cube, PLANS, SOWING), season_windows(cube, PLANS, SOWING), strict=True):
        assert same(grid, short.works())
        assert all(np.array_equal(a, b) for a, b in zip(grid.counts(), short.counts(), strict=True))
        for of_grid, of_short in ((earliest, short.earliest), (latest, short.latest), (days_worked, short.days_worked)):
            assert all(np.array_equal(a, b) for a, b in zip(of_grid(grid), of_short(), strict=True))


def test_the_shortcut_declines_where_a_second_block_may_be_and_says_so():
    tmin, tmax = np.full((4, 365), 150, np.int16), np.full((4, 365), 250, np.int16)  # 15 degree days a day
    tmin[:, 100], tmin[:, 300] = -50, -50
    tmin[
        1, 150
    ] = -50  # beans up in 6 days and ready in 24: those sown by 126 are in before it, those from 145 on after
    tmin[2, 220] = -50  # those sown by 196 are in before it; those from 215 on come up after
    tmin[3, 200] = MISSING
    sowing = np.arange(120, 240)
    short, tender = season_windows(plain_loops.cube(tmin, tmax), [SHORT_BEAN, TENDER], sowing)
    assert short.by_grid().tolist() == [False, True, True, True]
    assert tender.by_grid().all()
    assert short.days_worked().first.tolist() == [120, 120 - (145 - 127), 120 - (215 - 197), 101]
    assert short.earliest().first[1] == 120 and short.latest().last[1] == 239


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 10**6), share=st.sampled_from([0.0, 0.3, 1.0]), short=st.sampled_from([0, 3]))
def test_the_compiled_grid_equals_numpy(seed, share, short):
    cube = records(seed, share)
    numpy = works_many(cube, PLANS, SOWING, short=short)
    for threads in (1, 3):
        fast = compiled.works_many(cube, PLANS, SOWING, short=short, threads=threads)
        assert all(same(a, b) for a, b in zip(numpy, fast, strict=True))
        counted = compiled.counts_many(cube, PLANS, SOWING, short=short, threads=threads)
        for grid, other, counts in zip(numpy, fast, counted, strict=True):
            for one, two, three in zip(grid.counts(), other.counts(), counts, strict=True):
                assert np.array_equal(one, two) and np.array_equal(one, three)


@pytest.mark.parametrize("days", [[60, 61], [94], [302, 303, 304, 350], [5, 120], [110, 364]])
def test_odd_seeding_days_do_no_harm(days):
    cube = records(4, 0.3)
    numpy = works_many(cube, PLANS[:-1], days)
    for grid, fast, short in zip(numpy, compiled.works_many(cube, PLANS[:-1], days),
                                 season_windows(cube, PLANS[:-1], days), strict=True):  # fmt: skip
        assert same(grid, fast) and same(grid, short.works())


def test_plain_temperatures_give_what_the_cube_gives():
    cube = records(8, 0.3)
    plain = [np.where(t == MISSING, np.nan, t / 10).astype(np.float32) for t in cube.columns()]
    celsius = Celsius(*plain, cube.lows, cube.sign)
    for work in (works_many, compiled.works_many):
        assert all(map(same, work(celsius, PLANS, SOWING), works_many(cube, PLANS, SOWING)))
    for one, other in zip(season_windows(celsius, PLANS, SOWING), works_many(cube, PLANS, SOWING), strict=True):
        assert same(one.works(), other)


def test_one_station_needs_no_station_axis():
    cube = records(5, 0.3)
    one = Cube(cube.tmin[1], cube.tmax[1], cube.seasons, cube.lows[1], cube.sign[1])
    for work in (works_many, compiled.works_many):
        grids = zip(work(one, PLANS, SOWING), work(cube, PLANS, SOWING), strict=True)
        assert all(np.array_equal(alone.possible, stack.possible[1]) for alone, stack in grids)
    short = season_windows(one, PLANS, SOWING)[0]
    assert short.counts()[0].shape == SOWING.shape
