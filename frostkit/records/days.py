"""The calendar of a record's days: month, year, column of the 365-day axis. Records know nothing of seasons."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.records.record import Record

_FIRSTS = np.concatenate([[0], np.cumsum([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])])


class Days(NamedTuple):
    """Where each day of a record stands in its year.

    year, month (0 to 11), of_month (1 to 31) : int [day]
    place : int [day], 0 to 364; 29 February stands on the place of 28 February
    leap : bool [day], 29 February
    """

    year: NDArray[np.int64]
    month: NDArray[np.int64]
    of_month: NDArray[np.int64]
    place: NDArray[np.int64]
    leap: NDArray[np.bool_]


def days_of(start: np.datetime64, count: int) -> Days:
    """The calendar of `count` days from `start` on.

    >>> days = days_of(np.datetime64("2020-02-28"), 3)
    >>> days.place.tolist(), days.leap.tolist()
    ([58, 58, 59], [False, True, False])
    """
    day = start.astype("datetime64[D]") + np.arange(count)
    months = day.astype("datetime64[M]")
    month = months.astype(np.int64) % 12
    of_month = (day - months.astype("datetime64[D]")).astype(np.int64) + 1
    leap = (month == 1) & (of_month == 29)
    return Days(day.astype("datetime64[Y]").astype(np.int64) + 1970, month, of_month,
                _FIRSTS[month] + of_month - 1 - leap, leap)  # fmt: skip


def on_axis(other: Record, start: np.datetime64, count: int) -> NDArray[np.float32]:
    """Tmin and Tmax of one record on the days of another: float32 [2, day], NaN where it has none."""
    out = np.full((2, count), np.nan, np.float32)
    ahead = int((other.start - start).astype("timedelta64[D]").astype(int))
    first, last = max(ahead, 0), min(ahead + other.tmin.size, count)
    if first < last:
        out[0, first:last] = other.tmin[first - ahead : last - ahead]
        out[1, first:last] = other.tmax[first - ahead : last - ahead]
    return out
