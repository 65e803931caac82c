"""Late-legume odds for 6 beans x 70 sowing days x 60 seasons, as a ratio to one xclim call. Run by hand, one core:

    OMP_NUM_THREADS=1 taskset -c 0 python tests/bench/bench_late_legume.py

The yardstick, in the same run: xclim's yearly growing degree days on a 200-station, 60-year float32 array. Goal: the
odds take at most that time. Made-up weather; best of several runs of each.
"""

import time

import numpy as np
import pandas as pd
import xarray as xr
import xclim

from frostkit.answers.growth import growth_plan, wanted
from frostkit.answers.late_legume import late_legume
from frostkit.answers.legume_grid import shares
from frostkit.answers.station import Behind
from frostkit.answers.together import corn_days, shelter
from frostkit.crops.entry import load
from frostkit.records.record import Station
from frostkit.seasons.calendar import Cube, column, station_lows, tenths
from frostkit.seasons.frost import complete
from frostkit.seasons.windows import works_many

BEANS = ("forage-late", "soybean-00", "soybean-2", "soybean-5", "soybean-6", "soybean-7")
SEASONS, STATIONS, SOWN, LATITUDE = 60, 200, column(5, 15), 50.0
SOWING = SOWN - 1 + np.arange(70)


def weather(rng, *shape):
    day = np.arange(365)
    mean = 3 - 21 * np.cos(2 * np.pi * (day - 20) / 365) + rng.normal(0, 4, (*shape, 365))
    swing = 6 + rng.gamma(4, 0.7, (*shape, 365))
    return mean - swing, mean + swing


def best(times, work):
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spans.append(time.perf_counter() - start)
    return min(spans)


def main():
    rng = np.random.default_rng(7)
    tmin, tmax = (tenths(t) for t in weather(rng, SEASONS))
    cube = Cube(tmin, tmax, np.arange(1960, 1960 + SEASONS), station_lows(tmin))
    behind = Behind(Station("made-up", latitude=LATITUDE), cube, complete(cube), {}, (), True)
    corn, beans = load("silage-2300"), [load(name) for name in BEANS]
    goals = [wanted(None if bean.use == "grain" else "first_flower" if bean.name != "forage-late" else None, bean)
             for bean in beans]  # fmt: skip
    plans = [growth_plan(bean, goal, LATITUDE) for bean, goal in zip(beans, goals, strict=True)]

    def odds():
        of = corn_days(cube, corn, [SOWN], LATITUDE)
        grids = works_many(cube, plans, SOWING, end=of.chop, shelter=shelter(beans[0], of))
        return [shares(grid.certain, grid.possible, grid.typical, grid.complete) for grid in grids]

    def whole_answer():
        return late_legume(behind, corn, beans, SOWN, last=int(SOWING[-1]))

    long_min, long_max = (t.astype("float32") for t in weather(rng, STATIONS))
    days = pd.date_range("1960-01-01", periods=365 * SEASONS, freq="D")
    tas = xr.DataArray(np.tile((long_min + long_max) / 2, (1, SEASONS)), dims=("station", "time"), coords={"time": days},
                       attrs={"units": "degC", "standard_name": "air_temperature", "cell_methods": "time: mean"})  # fmt: skip

    def yardstick():
        return xclim.indices.growing_degree_days(tas, thresh="10 degC", freq="YS").values

    counted = odds()
    print(f"beans {len(counted)}, sowing days {counted[0].yes.size}, seasons {SEASONS}")
    yardstick()
    whole_answer()
    ours, answer, theirs = best(9, odds), best(3, whole_answer), best(3, yardstick)
    print(f"late-legume odds       {1e3 * ours:8.1f} ms")
    print(
        f"the whole answer       {1e3 * answer:8.1f} ms   (every way to sow, in the corn and in the open, stages, heat)"
    )
    print(f"xclim degree days      {1e3 * theirs:8.1f} ms   {STATIONS} stations x {SEASONS} years")
    print(f"odds / xclim           {ours / theirs:8.2f}   (goal: at most 1)")
    print(f"whole answer / xclim   {answer / theirs:8.2f}")


if __name__ == "__main__":
    main()
