"""Days in a row folded into seasons of 365 columns; 29 February has no column."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import RecordError
from frostkit.seasons.calendar import DAYS, MISSING, column, tenths

GROWING = column(4, 1), column(10, 31)
"""First and last column of the time of year by which a season is judged: 1 April to 31 October."""
ENOUGH = 0.8  # part of these days that must be read for a season to count (DESIGN; WMO-No. 1203 asks the same of years)
LONGEST = 31  # days: a longer run without readings leaves the season out (DESIGN)
ELEMENTS = ("tmin", "tmax")


@dataclass(frozen=True)
class Folded:
    """A record as seasons.

    tmin, tmax : int16 [season, 365], tenths of degC; `MISSING` where there is no reading
    prcp : int16 [season, 365], tenths of mm, or None where the record has no rain
    sign : int8 [season, 365] or None; where Tmin is missing: 1 known to have been above 0 degC, -1 below
    seasons : int [season], the year of each
    """

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    seasons: NDArray[np.int64]
    prcp: NDArray[np.int16] | None = None
    sign: NDArray[np.int8] | None = None

    def some(self, keep: NDArray[np.bool_]) -> "Folded":
        """Some of the seasons. keep : bool [season]"""
        return Folded(
            self.tmin[keep],
            self.tmax[keep],
            self.seasons[keep],
            None if self.prcp is None else self.prcp[keep],
            None if self.sign is None else self.sign[keep],
        )


def fold(
    start: np.datetime64,
    tmin: ArrayLike,
    tmax: ArrayLike,
    prcp: ArrayLike | None = None,
    sign: ArrayLike | None = None,
) -> Folded:
    """Days in a row folded into seasons.

    The first and the last season are those with a reading between 1 April and 31 October; all between them stay in,
    read or not.

    Parameters
    ----------
    start : datetime64, day of the first reading
    tmin, tmax : array, shape (day,) [degC], NaN where there is no reading
    prcp : array, shape (day,) [mm], optional
    sign : int8 array, shape (day,), optional; see `Folded`

    Raises
    ------
    RecordError
        Where no season has a reading between 1 April and 31 October.
    """
    low, high = tenths(tmin), tenths(tmax)
    begin = np.datetime64(str(start), "D")
    year, place = day_places(np.arange(begin, begin + low.size))
    growing = (place >= GROWING[0]) & (place <= GROWING[1]) & ((low != MISSING) | (high != MISSING))
    if not growing.any():
        raise RecordError(
            "There is no reading between 1 April and 31 October in any season.",
            "Give a record that covers at least part of one growing season.",
        )
    first, last = int(year[growing].min()), int(year[growing].max())
    keep = (place >= 0) & (year >= first) & (year <= last)
    at = year[keep] - first, place[keep]

    def seasons_of(values: NDArray, empty: int) -> NDArray:
        out = np.full((last - first + 1, DAYS), empty, values.dtype)
        out[at] = values[keep]
        return out

    return Folded(
        seasons_of(low, int(MISSING)),
        seasons_of(high, int(MISSING)),
        np.arange(first, last + 1),
        None if prcp is None else seasons_of(tenths(prcp), int(MISSING)),
        None if sign is None else seasons_of(np.asarray(sign, np.int8), 0),
    )


def counted(folded: Folded, needs: tuple[str, ...] = ELEMENTS) -> NDArray[np.bool_]:
    """Seasons that count: enough was read, settled before any outcome is looked at. [season]

    At least 80 % of 1 April to 31 October, and no run of over 31 days without a reading, in each element needed.
    """
    missing = _missing(folded, needs)
    enough: NDArray[np.bool_] = missing.mean(axis=1) <= 1 - ENOUGH + 1e-9
    return enough & (longest_run(missing) <= LONGEST)


def observed(folded: Folded) -> NDArray[np.bool_]:
    """Seasons with any reading from 1 April to 31 October; the others were not observed. [season]"""
    growing = np.s_[:, GROWING[0] : GROWING[1] + 1]
    read = (folded.tmin[growing] != MISSING) | (folded.tmax[growing] != MISSING)
    return np.asarray(read.any(axis=1))


def complete(folded: Folded, needs: tuple[str, ...] = ELEMENTS) -> NDArray[np.bool_]:
    """Seasons read without a hole from 1 April to 31 October in the elements needed. [season]"""
    return np.asarray(~_missing(folded, needs).any(axis=1))


def longest_run(missing: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Length of the longest run of True. [..., day] -> [...]

    >>> longest_run(np.array([[True, True, False, True]])).tolist()
    [2]
    """
    day = np.arange(1, missing.shape[-1] + 1)
    since = np.maximum.accumulate(np.where(missing, 0, day), axis=-1)
    return (day - since).max(axis=-1)


def _missing(folded: Folded, needs: tuple[str, ...]) -> NDArray[np.bool_]:
    """Growing-season days on which an element needed was not read. [season, day]"""
    growing = np.s_[:, GROWING[0] : GROWING[1] + 1]
    return np.logical_or.reduce([getattr(folded, name)[growing] == MISSING for name in needs])


def day_places(days: NDArray[np.datetime64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Year and column of each day; column -1 on 29 February. [day]"""
    year = days.astype("datetime64[Y]").astype(np.int64) + 1970
    of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    place = of_year - (leap & (of_year > 59))
    return year, np.where(leap & (of_year == 59), -1, place)
