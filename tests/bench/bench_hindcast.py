"""How fast a full hindcast of 100 stations x 100 seasons is, as a ratio to one straightforward loop.

Run by hand from the repository: python tests/bench/bench_hindcast.py
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from frostkit.odds.estimate import by_day
from frostkit.odds.estimators import ESTIMATORS
from frostkit.odds.hindcast import WINDOWS, hindcast
from frostkit.seasons.interval import SeasonDates

STATIONS, SEASONS, FIRST = 100, 100, 30
SAMPLE = 60  # forecasts that the loop makes of each way; the rest is extrapolated


def made_up(holed: float) -> tuple[SeasonDates, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(1)
    day = np.round(rng.normal(265, 10, (STATIONS, SEASONS)) + 0.1 * np.arange(SEASONS))
    hole = rng.random(day.shape) < holed
    last = np.where(hole, np.where(rng.random(day.shape) < 0.5, np.inf, day + 7), day)
    return SeasonDates(day, last), np.arange(1920, 1920 + SEASONS), ~hole


def vectorised(dates: SeasonDates, years: np.ndarray, complete: np.ndarray) -> float:
    begin = time.perf_counter()
    hindcast(dates, years, complete, first=FIRST, open_end="later")
    return time.perf_counter() - begin


def loop(dates: SeasonDates, years: np.ndarray, complete: np.ndarray) -> float:
    """Forecast by forecast, as anyone would write it: seconds for all, from a sample."""
    rng = np.random.default_rng(2)
    days = np.arange(250, 295, 5.0)
    total = 0.0
    for name in ESTIMATORS:
        for window in WINDOWS:
            begin = time.perf_counter()
            for _ in range(SAMPLE):
                station, season = rng.integers(STATIONS), rng.integers(FIRST, SEASONS)
                past = SeasonDates(dates.first[station, :season], dates.last[station, :season])
                by_day(past, days=days, estimator=name, seasons=years[:season], complete=complete[station, :season],
                       at=years[season], window=window, open_end="later")  # fmt: skip
            total += (time.perf_counter() - begin) / SAMPLE * STATIONS * (SEASONS - FIRST)
    return total


def main() -> None:
    print(
        f"{STATIONS} stations x {SEASONS} seasons, {len(ESTIMATORS)} estimators x {len(WINDOWS)} windows, 9 days each"
    )
    for holed in (0.0, 0.1):
        record = made_up(holed)
        fast = min(vectorised(*record) for _ in range(2))
        slow = loop(*record)
        print(
            f"{holed:4.0%} of the seasons open: {fast:6.1f} s at once; a loop {slow:7.0f} s; ratio {slow / fast:5.0f}"
        )


if __name__ == "__main__":
    main()
