"""From arrays to window odds, as ratios measured in one run: `python tests/bench/bench_windows.py [--repeats 7] [--cpu]`.

200 stations x 60 seasons x 365 days of made-up temperatures, 70 seeding days, 8 crops. The unit is one pass: the time
numpy takes to sum both arrays once as float32, read from memory (the caches are swept before each pass), on one thread.
The grid is what made it on every day, the warm soil, and both at once, from folded tenths; the whole way starts from
raw degrees and ends with counts of seasons.

Run it with OPENBLAS_NUM_THREADS=1, so that numpy keeps to one thread. The best of several repeats is taken. On a busy
machine `--cpu` counts processor time instead of the clock's; say so wherever such numbers are quoted.
"""

import argparse
import os
import sys
import time
import warnings

import numpy as np
import pandas as pd
import xarray as xr
from xclim import indices

from frostkit.seasons.calendar import column, tenths
from frostkit.seasons.frost import first_fall
from frostkit.seasons.growth import Plan, Stage, stage_days
from frostkit.seasons.heat import Heat, total
from frostkit.seasons.soil import SoilReady, Warmth, ready
from frostkit.seasons.windows import Shelter, killed, made_it, made_it_many, works_many
from tests.plain_loops import heat_of

CHU, DEGREE_DAYS, LEAVES = Heat("chu"), Heat("mean", 10), Heat("clamped", 10, 30)
WARM, FALL = Warmth(), column(8, 1)
SOWING = np.arange(column(4, 25), column(4, 25) + 70)


def corn(need: int) -> Plan:
    """Corn as on the northern plains: up at 180, killed by -2 degC in fall. The needs are made up."""
    up = Stage("emergence", CHU, 180 * CHU.per_unit, kills_at=-2.0, kills_from=FALL)
    return Plan((up, Stage("goal", CHU, need * CHU.per_unit)), 1, WARM)


def bean(need: int, kills_at: float) -> Plan:
    """Beans by degree days: killed in spring and fall. The needs are made up."""
    up = Stage("emergence", DEGREE_DAYS, 7000, kills_at=kills_at)
    return Plan((up, Stage("goal", DEGREE_DAYS, 100 * need)), 1, WARM)


CROPS = [*(corn(need) for need in (1900, 2000, 2100, 2200, 2300, 2500)), bean(550, -1.0), bean(700, -2.2)]
CHAINED = Plan(  # as the library's corn: two clocks, a stage counted from another, two killing temperatures
    (
        Stage("emergence", LEAVES, 6400, kills_at=-4.0),
        Stage("v5", LEAVES, 22800, since=0, kills_at=-2.0),
        Stage("goal", CHU, 2150 * CHU.per_unit),
    ),
    2,
    SoilReady(),
)


def weather(stations: int, seasons: int) -> tuple[np.ndarray, np.ndarray]:
    """Made-up tmin, tmax [degC], float32 in whole tenths."""
    rng = np.random.default_rng(1)
    day = np.arange(365)
    shape = (stations, seasons, 365)
    noise = rng.standard_normal(shape, dtype=np.float32) * 2.2
    noise[..., 1:] += 0.6 * noise[..., :-1]
    noise += rng.normal(0, 1.5, (stations, 1, 1)).astype(np.float32)
    mean = (4 - 17 * np.cos(2 * np.pi * (day - 18) / 365)).astype(np.float32) + noise
    swing = rng.uniform(4, 16, shape).astype(np.float32)
    return np.round(mean - swing / 2, 1), np.round(mean + swing / 2, 1)


class Clock:
    """The best time of several runs, by the wall or by the processor."""

    def __init__(self, repeats: int, cpu: bool):
        self.repeats, self.now = repeats, time.process_time if cpu else time.perf_counter
        self.sweep = np.ones(16 << 20)

    def best(self, work, repeats: int = 0) -> float:
        """Seconds of the quickest run, with other data in the caches at its start."""
        took = []
        for _ in range(repeats or self.repeats):
            self.sweep += 1
            start = self.now()
            work()
            took.append(self.now() - start)
        return min(took)


def by_pandas(tmin: np.ndarray, tmax: np.ndarray, crops: list[Plan], sowing: np.ndarray) -> list[bool]:
    """The same as people write it: a Series a season, a loop over crops and seeding days."""
    out = []
    for season in range(len(tmin)):
        low, high = pd.Series(tmin[season]), pd.Series(tmax[season])
        warm = ((low + high) / 2).rolling(7).mean().loc[90:]
        first = warm[warm >= 10].index.min()
        for crop in crops:
            up, goal = crop.stages
            for day in sowing:
                heat = pd.Series(heat_of(goal.clock, low, high)).loc[day + 1 : crop.season_end].round(5).cumsum()
                emerged, there = (heat[heat >= stage.need / stage.clock.per_unit - 1e-6] for stage in (up, goal))
                if day < first or emerged.empty or there.empty:
                    out.append(False)
                    continue
                alive = low.loc[max(emerged.index[0], up.kills_from) : there.index[0]]
                out.append(not (alive <= up.kills_at + 0.05).any())
    return out


def main() -> None:
    """Prints the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--stations", type=int, default=200)
    ask.add_argument("--repeats", type=int, default=7)
    ask.add_argument("--cpu", action="store_true", help="processor time, for a busy machine")
    options = ask.parse_args()
    clock, seasons = Clock(options.repeats, options.cpu), 60
    raw = weather(options.stations, seasons)
    tmin, tmax = (tenths(values) for values in raw)
    count = options.stations * seasons
    one_pass = clock.best(lambda: [values.sum() for values in raw], 3 * options.repeats)

    def whole_way():
        return [grid.sum(axis=-2) for grid in works_many(tenths(raw[0]), tenths(raw[1]), CROPS, SOWING)]

    cover = Shelter(1.5, np.full(SOWING.size, 200.0), np.full(SOWING.size, 260.0))
    ways = [
        ("the grid of 8 crops: made it and warm soil", lambda: works_many(tmin, tmax, CROPS, SOWING), "at most 40"),
        ("raw degrees to counts of seasons, 8 crops", whole_way, ""),
        ("8 crops, whatever the soil", lambda: made_it_many(tmin, tmax, CROPS, SOWING), ""),
        ("one crop, one clock", lambda: made_it(tmin, tmax, CROPS[-1], SOWING), ""),
        ("one crop, two clocks, chained stages", lambda: made_it(tmin, tmax, CHAINED, SOWING), ""),
        ("the same, sheltered", lambda: made_it(tmin, tmax, CHAINED, SOWING, shelter=cover), ""),
        ("its killing days", lambda: killed(tmin, tmax, CHAINED, SOWING), ""),
        ("its three stages on every seeding day", lambda: stage_days(tmin, tmax, CHAINED, SOWING), ""),
        ("warm week of the air", lambda: ready(tmin, tmax, WARM, SOWING), ""),
        ("warm soil that closes again", lambda: ready(tmin, tmax, SoilReady(), SOWING), ""),
    ]
    rows = [("one pass over both arrays", one_pass, "", "")]
    for name, way, goal in ways:
        took = clock.best(way)
        rows.append((name, took, f"{took / one_pass:.1f} passes, {1e6 * took / count:.2f} us a season", goal))
    rows.append(against_pandas(raw, tmin, tmax, clock, rows[1][1]))
    rows += against_xclim(raw, tmin, tmax, clock)
    print(f"{options.stations} stations x {seasons} seasons x 365 days, {len(CROPS)} crops, {SOWING.size} seeding days; "
          f"{'processor' if options.cpu else 'wall'} time, best of {options.repeats}; load {os.getloadavg()[0]:.1f}")  # fmt: skip
    width = max(len(row[0]) for row in rows)
    for name, took, ratio, goal in rows:
        print(f"{name:<{width}}  {took * 1e3:>14,.2f} ms  {ratio:>30}  {goal}")


def against_pandas(raw, tmin, tmax, clock: Clock, grid_time: float) -> tuple[str, float, str, str]:
    """Plain loops on two seasons of one station, two crops and five seeding days, and what they would take for all."""
    some, few = SOWING[::14], [CROPS[0], CROPS[-1]]
    low, high = (values[0, :2] for values in raw)
    slow = clock.best(lambda: by_pandas(low, high, few, some), 1)
    plain = [grid[0, :2] for grid in works_many(tmin, tmax, few, some)]
    assert np.stack(plain, axis=1).ravel().tolist() == by_pandas(low, high, few, some)
    slow *= tmin[..., 0].size * len(CROPS) * SOWING.size / (2 * len(few) * some.size)
    return "plain pandas loops, from a sample of 20 cells", slow, f"{slow / grid_time:,.0f} x the grid", "10,000"


def against_xclim(raw, low10, high10, clock: Clock) -> list[tuple[str, float, str, str]]:
    """Yearly degree days and first fall frosts, from the same float32 degrees."""
    warnings.simplefilter("ignore")
    tmin, tmax = raw
    stations, seasons, days = tmin.shape
    time_axis = xr.date_range("1961-01-01", periods=seasons * days, calendar="noleap", use_cftime=True)

    def series(values):
        return xr.DataArray(
            values.reshape(stations, -1), {"time": time_axis}, ["station", "time"], attrs={"units": "degC"}
        )

    low, mean = series(tmin), series((tmin + tmax) / 2)
    pairs = [
        ("yearly degree days", "16",
         lambda: total(low10, high10, Heat("mean", 5), 0, 364) / 100,
         lambda: indices.growing_degree_days(mean, "5 degC", freq="YS")),
        ("first fall frost", "100",
         lambda: first_fall(low10, 0.0),
         lambda: indices.first_day_temperature_below(low, "0 degC", op="<=", after_date="08-01", window=1, freq="YS")),
    ]  # fmt: skip
    rows = []
    for name, goal, ours, theirs in pairs:
        fast, slow = clock.best(ours), clock.best(theirs, 1)
        gap = np.nanmax(np.abs(ours() - theirs().to_numpy().reshape(stations, seasons) + (goal == "100")))
        assert gap < 0.02, gap  # single precision sums
        rows.append((f"{name}, xclim", slow, "", ""))
        rows.append((f"{name}, frostkit from folded tenths", fast, f"{slow / fast:.0f} x faster", goal))
    return rows


if __name__ == "__main__":
    sys.exit(main())
