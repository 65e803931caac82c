"""From arrays to window odds, as ratios measured in one run: `python tests/bench/bench_windows.py [--repeats 7] [--cpu]`.

200 stations x 60 seasons x 365 days of made-up float32 temperatures, 70 seeding days, 8 crops. The unit is one pass:
the time numpy takes to sum both arrays once, read from memory (the caches are swept before each pass), on one thread.
Everything else is the whole way: raw degrees to tenths, heat, cold, soil warmth, what worked, counts of seasons, the
share and its 90 % interval on every seeding day of every crop and station.

Run it with OPENBLAS_NUM_THREADS=1, so that numpy keeps to one thread. The best of several repeats is taken. On a busy machine `--cpu` counts processor time instead of the clock's, and halves
it for two threads; say so wherever such numbers are quoted.
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

from frostkit.odds.intervals import jeffreys
from frostkit.seasons import compiled
from frostkit.seasons.calendar import Cube, column, station_lows, tenths
from frostkit.seasons.frost import first_fall
from frostkit.seasons.growth import Plan, Stage, Warmth
from frostkit.seasons.heat import Heat, totals
from frostkit.seasons.rows import Celsius
from frostkit.seasons.shortcut import season_windows
from frostkit.seasons.windows import works_many

CHU, DEGREE_DAYS, WARM, FALL = Heat("chu"), Heat("mean", 10), Warmth(), column(8, 1)
SOWING = np.arange(column(4, 25), column(4, 25) + 70)


def corn(need: int) -> Plan:
    """Corn as on the northern plains: up at 180, killed by -2 degC in fall. The needs are made up."""
    up = Stage("emergence", CHU, 18000, kills_at=-2.0, kills_from=FALL)
    return Plan((up, Stage("goal", CHU, 100 * need)), 1, WARM)


def bean(need: int, kills_at: float) -> Plan:
    """Beans by degree days: killed in spring and fall. The needs are made up."""
    up = Stage("emergence", DEGREE_DAYS, 7000, kills_at=kills_at)
    return Plan((up, Stage("goal", DEGREE_DAYS, 100 * need)), 1, WARM)


CROPS = [*(corn(need) for need in (1900, 2000, 2100, 2200, 2300, 2500)), bean(550, -1.0), bean(700, -2.2)]


def weather(stations: int, seasons: int, holed: float) -> tuple[np.ndarray, np.ndarray]:
    """Made-up tmin, tmax [degC], float32 in whole tenths; `holed`: share of seasons with three runs of missing days."""
    rng = np.random.default_rng(1)
    day = np.arange(365)
    shape = (stations, seasons, 365)
    noise = rng.standard_normal(shape, dtype=np.float32) * 2.2
    noise[..., 1:] += 0.6 * noise[..., :-1]
    noise += rng.normal(0, 1.5, (stations, 1, 1)).astype(np.float32)
    mean = (4 - 17 * np.cos(2 * np.pi * (day - 18) / 365)).astype(np.float32) + noise
    swing = rng.uniform(4, 16, shape).astype(np.float32)
    tmin, tmax = np.round(mean - swing / 2, 1), np.round(mean + swing / 2, 1)
    for station, season in np.argwhere(rng.random(shape[:2]) < holed):
        for start in rng.integers(95, 300, 3):
            missing = slice(start, start + rng.integers(1, 12))
            tmin[station, season, missing] = tmax[station, season, missing] = np.nan
    return tmin, tmax


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


class Odds:
    """Shares with Jeffreys intervals from tables over counts: looked up, not worked out again for each cell."""

    def __init__(self, seasons: int):
        yes, complete = np.arange(seasons + 1), np.arange(seasons + 1)[:, None]
        self.width = seasons + 1
        with np.errstate(divide="ignore", invalid="ignore"):
            self.share = (yes / complete).astype(np.float32)
        found = jeffreys(yes, np.full(seasons + 1, seasons))
        self.low, self.high = np.asarray(found.low, np.float32), np.asarray(found.high, np.float32)

    def of(self, counts) -> tuple[np.ndarray, ...]:
        """Share among complete seasons, the low end with the not known as no, the high end as yes."""
        yes, _, not_known, complete, complete_yes = counts
        return (self.share.take(complete * self.width + complete_yes), self.low.take(yes),
                self.high.take(yes + not_known))  # fmt: skip


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
                rate = pd.Series(goal.clock.of(low, high)).loc[day + 1 : crop.season_end].round(2)
                heat = rate.cumsum()
                emerged, there = heat[heat >= up.need / 100], heat[heat >= goal.need / 100]
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
    odds = Odds(seasons)
    threads = 2
    rows = []
    for holed, goals in ((0.0, (20, 250, 10)), (0.2, (35, 250, 15))):
        tmin, tmax = weather(options.stations, seasons, holed)
        raw = Celsius(tmin, tmax, station_lows(tenths(tmin)))  # lows are worked out once for a record
        ways = {
            "shortcut, numpy": lambda raw=raw: [of.counts() for of in season_windows(raw, CROPS, SOWING)],
            "whole grid, numpy": lambda raw=raw: [of.counts() for of in works_many(raw, CROPS, SOWING)],
            "whole grid, compiled, 2 threads": lambda raw=raw: compiled.counts_many(
                raw, CROPS, SOWING, threads=threads
            ),
            "the same, every cell kept": lambda raw=raw: [
                of.counts() for of in compiled.works_many(raw, CROPS, SOWING, threads=threads)
            ],
        }
        answers = [[odds.of(counts) for counts in way()] for way in ways.values()]
        for other in answers[1:]:
            for one, same in zip(answers[0], other, strict=True):
                assert all(np.array_equal(a, b, equal_nan=True) for a, b in zip(one, same, strict=True))
        one_pass = clock.best(lambda tmin=tmin, tmax=tmax: (tmin.sum(), tmax.sum()), 3 * options.repeats)
        what = "a fifth of the seasons holed" if holed else "nothing missing"
        rows.append((f"one pass over both arrays, {what}", one_pass, "", ""))
        for (name, way), goal in zip(ways.items(), (*goals, 0), strict=True):
            took = clock.best(lambda way=way: [odds.of(counts) for counts in way()])
            if options.cpu and ("threads" in name or "kept" in name):
                took /= threads
            rows.append((f"{name}, {what}", took, f"{took / one_pass:.1f} passes", f"at most {goal}" if goal else ""))
        if holed:
            break
        grid_time = rows[2][1]
        rows.append(against_pandas(raw, clock, grid_time))
        rows += against_xclim(tmin, tmax, clock)
    print(f"{options.stations} stations x {seasons} seasons x 365 days, {len(CROPS)} crops, {SOWING.size} seeding days; "
          f"{'processor' if options.cpu else 'wall'} time, best of {options.repeats}; load {os.getloadavg()[0]:.1f}")  # fmt: skip
    width = max(len(row[0]) for row in rows)
    for name, took, ratio, goal in rows:
        print(f"{name:<{width}}  {took * 1e3:>14,.2f} ms  {ratio:>22}  {goal}")


def against_pandas(raw: Celsius, clock: Clock, grid_time: float) -> tuple[str, float, str, str]:
    """Plain loops on two seasons of one station, two crops and five seeding days, and what they would take for all."""
    some, few = SOWING[::14], [CROPS[0], CROPS[-1]]
    tmin, tmax = raw.tmin[0, :2], raw.tmax[0, :2]
    slow = clock.best(lambda: by_pandas(tmin, tmax, few, some), 1)
    plain = [grid.certain[0, :2] for grid in works_many(raw, few, some)]
    assert np.stack(plain, axis=1).ravel().tolist() == by_pandas(tmin, tmax, few, some)
    slow *= raw.tmin[..., 0].size * len(CROPS) * SOWING.size / (2 * len(few) * some.size)
    return "plain pandas loops, from a sample of 20 cells", slow, f"{slow / grid_time:,.0f} x the grid", "10,000"


def against_xclim(tmin: np.ndarray, tmax: np.ndarray, clock: Clock) -> list[tuple[str, float, str, str]]:
    """Yearly degree days and first fall frosts, from the same float32 degrees."""
    warnings.simplefilter("ignore")
    stations, seasons, days = tmin.shape
    time_axis = xr.date_range("1961-01-01", periods=seasons * days, calendar="noleap", use_cftime=True)

    def series(values):
        return xr.DataArray(
            values.reshape(stations, -1), {"time": time_axis}, ["station", "time"], attrs={"units": "degC"}
        )

    low, mean = series(tmin), series((tmin + tmax) / 2)

    def cube():
        return Cube(tenths(tmin), tenths(tmax), np.arange(seasons), np.zeros((stations, days), np.int16))

    folded = cube()
    pairs = [
        ("yearly degree days", "16",
         lambda of: totals(of, Heat("mean", 5), 0, 364)[0] / 100,
         lambda: indices.growing_degree_days(mean, "5 degC", freq="YS")),
        ("first fall frost", "100",
         lambda of: first_fall(of, 0.0).first,
         lambda: indices.first_day_temperature_below(low, "0 degC", op="<=", after_date="08-01", window=1, freq="YS")),
    ]  # fmt: skip
    rows = []
    for name, goal, ours, theirs in pairs:
        fast, slow = clock.best(lambda ours=ours: ours(folded)), clock.best(theirs, 1)
        raw = clock.best(lambda ours=ours: ours(cube()))
        gap = np.nanmax(np.abs(ours(folded) - theirs().to_numpy().reshape(stations, seasons) + (goal == "100")))
        assert gap < 0.02, gap  # single precision sums
        rows.append((f"{name}, xclim", slow, "", ""))
        rows.append((f"{name}, frostkit from its folded tenths", fast, f"{slow / fast:.0f} x faster", goal))
        rows.append((f"{name}, frostkit from degC, both arrays folded", raw, f"{slow / raw:.0f} x faster", ""))
    return rows


if __name__ == "__main__":
    sys.exit(main())
