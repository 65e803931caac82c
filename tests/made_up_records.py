"""Made-up records with weather whose odds are known: daily memory, seasons that scatter, a climate that warms."""

import numpy as np

from frostkit.ensemble.today import warmth_of_globe
from frostkit.records.record import Record, Station

LAST = 2025
DAYS_OF_FALL = np.arange(240, 300, 5)


def weather(
    rng: np.random.Generator, years: np.ndarray, warming: float, spread: float = 0.6
) -> tuple[np.ndarray, np.ndarray]:
    """Tmin and Tmax [season, 365], degC: as warm as 2026 will be, less what the place has warmed until then.

    warming : degC in ten seasons over the newest thirty years, following the globe
    """
    globe = warmth_of_globe(np.append(years, [LAST - 29, LAST + 1]), LAST + 1)
    cooler = 3 * warming * (globe[:-2] - globe[-1]) / (globe[-1] - globe[-2])
    day = np.arange(365)
    noise = rng.normal(0, 3.0, (years.size, 365))
    for at in range(1, 365):
        noise[:, at] += 0.6 * noise[:, at - 1]
    air = 5 - 15 * np.cos(2 * np.pi * (day - 20) / 365) + noise + rng.normal(0, spread, (years.size, 1))
    air += cooler[:, None]
    swing = rng.uniform(6, 16, (years.size, 365))
    return np.round(air - swing / 2, 1), np.round(air + swing / 2, 1)


def fall_truth(rng: np.random.Generator) -> np.ndarray:
    """True odds of a first fall frost by each of `DAYS_OF_FALL` in 2026, from many made-up seasons."""
    low, _ = weather(rng, np.full(3000, LAST + 1), 0.0)
    cold = (low <= 0.05)[:, 212:]
    first = np.where(cold.any(1), 212 + cold.argmax(1), np.inf)
    return (first[:, None] <= DAYS_OF_FALL).mean(0)


def record_of(low: np.ndarray, high: np.ndarray, first: int) -> Record:
    """Seasons as days in a row; 29 February has the readings of the day before."""
    start = np.datetime64(f"{first}-01-01")
    days = start + np.arange((np.datetime64(f"{first + len(low)}-01-01") - start).astype(int))
    year = days.astype("datetime64[Y]").astype(int) + 1970 - first
    of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(int)
    leap = np.array([np.datetime64(f"{first + one}-12-31") - np.datetime64(f"{first + one}-01-01") for one in year])
    place = of_year - ((leap.astype(int) == 365) & (of_year >= 59))
    tmin, tmax = (values[year, place].astype(np.float32) for values in (low, high))
    return Record(Station("made up", "Made Up", 50.0, -100.0, 300.0), start, tmin, tmax)
