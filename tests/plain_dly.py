"""A GHCN-Daily `.dly` file read by plain loops, apart from the package's own readers, for tests of the seasons."""

import datetime
from functools import lru_cache
from pathlib import Path

import numpy as np

from frostkit.seasons.calendar import MISSING


@lru_cache
def days(path: Path) -> tuple[np.datetime64, np.ndarray, np.ndarray]:
    """(first day, tmin, tmax): degC, NaN where there is no value or it is flagged."""
    values: dict[str, dict[datetime.date, float]] = {"TMIN": {}, "TMAX": {}}
    for line in path.read_text().splitlines():
        year, month, element = int(line[11:15]), int(line[15:17]), line[17:21]
        if element not in values:
            continue
        for day in range(31):
            field = line[21 + 8 * day : 29 + 8 * day]
            if field[:5] != "-9999" and field[6] == " ":
                values[element][datetime.date(year, month, day + 1)] = int(field[:5]) / 10
    first = min(min(of) for of in values.values())
    count = (max(max(of) for of in values.values()) - first).days + 1
    tmin, tmax = (
        np.array([values[name].get(first + datetime.timedelta(days=k), np.nan) for k in range(count)])
        for name in ("TMIN", "TMAX")
    )
    return np.datetime64(first), tmin, tmax


@lru_cache
def seasons(path: Path) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(years [season], tmin, tmax [season, 365] in tenths, `MISSING` where there is no reading), day by day."""
    start, *columns = days(path)
    first = int(str(start)[:4])
    last = int(str(start + columns[0].size - 1)[:4])
    out = np.full((2, last - first + 1, 365), MISSING, np.int16)
    for which, column in enumerate(columns):
        for k, value in enumerate(column):
            day = datetime.date.fromisoformat(str(start + k))
            if not np.isnan(value) and (day.month, day.day) != (2, 29):
                place = (day.replace(year=2001) - datetime.date(2001, 1, 1)).days  # of a common year
                out[which, day.year - first, place] = round(10 * value)
    return np.arange(first, last + 1), out[0], out[1]
