"""Growth on light: 6 ways x 92 sowing days x 60 seasons x 20 draws, from temperatures to kilogrammes. Run by hand:

    OMP_NUM_THREADS=1 taskset -c 0 python tests/bench/bench_light.py

Goal: all of it in under a second. Made-up weather, no two rows alike; best of several runs.
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from frostkit.answers.legume import bean_light
from frostkit.answers.plans import plan
from frostkit.crops.entry import load
from frostkit.seasons import canopy
from frostkit.seasons.calendar import column
from frostkit.seasons.growth import reached
from frostkit.seasons.heat import running
from frostkit.seasons.rowlight import NORTH_SOUTH

ROWS, SOWING, LATITUDE = 60 * 20, column(5, 15) + np.arange(92), 50.0
CORN, BEAN = load("silage-2300"), load("forage-late")


def weather(rng):
    day = np.arange(365)
    mean = 3 - 17 * np.cos(2 * np.pi * (day - 20) / 365) + rng.normal(0, 4, (ROWS, 365))
    swing = 4 + rng.gamma(4, 0.7, (ROWS, 365))
    return np.rint(10 * (mean - swing)).astype(np.int16), np.rint(10 * (mean + swing)).astype(np.int16)


def main():
    tmin, tmax = weather(np.random.default_rng(7))
    emergence = plan(BEAN, goal="emergence").stages[0]
    corn_day, chop = np.full((1, 1), column(5, 20)), np.full((ROWS, 1), column(9, 12))
    bean = bean_light.bean("high")
    spans = {}

    def timed(name, work, *given):
        start = time.perf_counter()
        out = work(*given)
        spans.setdefault(name, []).append(time.perf_counter() - start)
        return out

    for _ in range(5):
        bean_light._between_rows.cache_clear()  # kept for the next question about the same rows
        light = timed("radiation, warmth", bean_light.growing_light, tmin, tmax, LATITUDE)
        heat = timed("corn's heat", bean_light.corn_heat, CORN, tmin, tmax)
        total = running(emergence.clock.rate(tmin, tmax))
        up = timed("emergence of 92 sowings", reached, total, SOWING, emergence.need)
        with_corn = bean_light.even_corn(CORN, heat, SOWING[None], "high")
        before = with_corn._replace(sown=SOWING[None] + 1)
        after = with_corn._replace(sown=SOWING[None] - 1)
        fixed = with_corn._replace(sown=corn_day)
        wide, paired = (
            timed(
                "light between rows", bean_light.row_corn, CORN, heat, corn_day, LATITUDE, way, NORTH_SOUTH, 0.5, "high"
            )
            for way in ("wide", "paired")
        )
        ways = {
            "with the corn": with_corn,
            "a day before": before,
            "a day after": after,
            "between its rows (V3 to V7)": fixed,
            "wide rows": wide,
            "paired rows": paired,
        }
        for name, corn in ways.items():
            grown = timed(name, canopy.growth, light, up, [chop], bean, corn)
            assert grown.shape == (1, ROWS, SOWING.size)
        timed("sole crop", canopy.growth, light, up, [chop], bean)
    for name, each in spans.items():
        print(f"{name:30} {1e3 * min(each):8.1f} ms")
    print(f"{'all of it':30} {1e3 * sum(min(each) for each in spans.values()):8.1f} ms   (goal: under 1,000)")


if __name__ == "__main__":
    main()
