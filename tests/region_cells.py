"""Made-up cells of a grid, with and without holes, for tests and benchmarks of the region."""

import numpy as np
from scipy.signal import lfilter

from frostkit.region import store
from frostkit.region.store import Days, Spots
from frostkit.seasons.calendar import DAYS, MISSING


def made_up(places: int, seasons: int = 12, seed: int = 1, last: int = 2023) -> Days:
    """Prairie-like days: a year's wave by place, weather that lasts some days, a slow warming."""
    rng = np.random.default_rng(seed)
    weather = lfilter([1], [1, -0.7], rng.normal(0, 3.0, (places, seasons, DAYS))).astype(np.float32)
    wave = -np.cos(2 * np.pi * (np.arange(DAYS) - 20) / DAYS)
    level = rng.normal(4.5, 1.5, (places, 1, 1)) + 0.03 * np.arange(seasons)[:, None]
    mean = level + 15.5 * wave + weather
    spread = rng.uniform(4, 7.5, (places, seasons, DAYS))
    low, high = (np.rint(10 * (mean + side * spread)).astype(np.int16) for side in (-1, 1))
    return Days(low, high, None, np.arange(last + 1 - seasons, last + 1))


def holed(days: Days, seed: int = 2) -> Days:
    """The same with holes: single days, runs, seasons, Tmax alone, and every tenth cell whole or never read."""
    rng = np.random.default_rng(seed)
    low, high = days.tmin.copy(), days.tmax.copy()
    places, seasons = low.shape[:2]
    for cell in range(places):
        kind = cell % 10
        if kind == 0:
            continue
        if kind == 9:
            low[cell] = high[cell] = MISSING
            continue
        single = rng.random((seasons, DAYS)) < 0.01 * kind / 3
        low[cell][single] = MISSING
        if kind % 2:
            high[cell][single] = MISSING
        for _ in range(kind):
            season, first = rng.integers(seasons), rng.integers(60, 300)
            length = rng.integers(2, 45)
            low[cell, season, first : first + length] = high[cell, season, first : first + length] = MISSING
        if kind > 5:
            high[cell, rng.integers(seasons), 120:200] = MISSING
        if kind == 8:
            low[cell, : seasons // 3] = high[cell, : seasons // 3] = MISSING
    return Days(low, high, None, days.seasons)


def spots(places: int) -> Spots:
    """Places in rows, half a degree apart."""
    number = np.arange(places)
    names = np.array([f"cell {one}" for one in number], object)
    return Spots(names, 49.0 + 0.5 * (number % 8), -110.0 + 0.5 * (number // 8), 300.0 + 10 * (number % 7))


def kept(path, days: Days, block: int = 4):
    """A store of these days."""
    store.create(path, spots(len(days.tmin)), days.seasons, block=block)
    for number in range(-(-len(days.tmin) // block)):
        at = slice(number * block, (number + 1) * block)
        store.put(path, number, days.tmin[at], days.tmax[at])
    return path
