"""The 365-day axis of a season: a column is the same day and month in every season.

29 February has no column. A season is a calendar year, or runs from 1 July for the south; then every fixed date of
the year (the split between spring and fall, the end of the season) moves by half a year with it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError

DAYS = 365
MISSING = np.int16(-32768)
"""Tenths of a degree that stand for 'no reading'."""
SPLIT = (8, 1)  # US Climate Normals freeze dates: spring ends with 31 July
SEASON_END = (10, 31)  # the last day whose heat and frost count for a crop: a setting, said in results
COMPLETE = (4, 1), (10, 31)  # a complete season is judged from the first to the last of these days
NEAR = 10  # days either side of a date that count as "this time of year" at a station

_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_FIRSTS = np.concatenate([[0], np.cumsum(_LENGTHS)[:-1]])
_NAMES = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip


def column(month: int, day: int, season_starts: tuple[int, int] = (1, 1)) -> int:
    """The column of a day and month on the axis of a season.

    Raises `SettingError` for a day that is not in the calendar; 29 February is, but has no column.

    >>> column(1, 1), column(8, 1), column(8, 1, season_starts=(7, 1))
    (0, 212, 31)
    """
    if not (1 <= month <= 12 and 1 <= day <= _LENGTHS[month - 1]):
        raise SettingError(f"Day {day} of month {month} is not one of the 365 days of a season.",
                           "Give a month from 1 to 12 and a day of that month; 29 February has no column.")  # fmt: skip
    start = _FIRSTS[season_starts[0] - 1] + season_starts[1] - 1
    return int((_FIRSTS[month - 1] + day - 1 - start) % DAYS)


def month_day(day: int, season_starts: tuple[int, int] = (1, 1)) -> tuple[int, int]:
    """Month and day of a column: the way back from `column`.

    >>> month_day(137)
    (5, 18)
    """
    of_year = (int(day) + int(_FIRSTS[season_starts[0] - 1]) + season_starts[1] - 1) % DAYS
    month = int(np.searchsorted(_FIRSTS, of_year, side="right"))
    return month, of_year - int(_FIRSTS[month - 1]) + 1


def words(day: float, season_starts: tuple[int, int] = (1, 1)) -> str:
    """A column as people say it.

    >>> words(137), words(float("inf"))
    ('18 May', 'never')
    """
    if not np.isfinite(day):
        return "never"
    month, of_month = month_day(int(day), season_starts)
    return f"{of_month} {_NAMES[month - 1]}"


def code(day: float, season_starts: tuple[int, int] = (1, 1)) -> str | None:
    """A column as programs read it: "MM-DD", or None for a day that is not there.

    >>> code(137), code(float("inf"))
    ('05-18', None)
    """
    if not np.isfinite(day):
        return None
    return "{:02d}-{:02d}".format(*month_day(int(day), season_starts))


def from_code(text: str, season_starts: tuple[int, int] = (1, 1)) -> int:
    """The column of "MM-DD", as typed by a person. Raises `SettingError` for anything else.

    >>> from_code("05-18")
    137
    """
    try:
        month, day = (int(part) for part in text.split("-"))
    except ValueError:
        raise SettingError(f"'{text}' is not a day.", "Write month and day as MM-DD, such as 05-28.") from None
    return column(month, day, season_starts)


def moved(month_and_day: tuple[int, int], season_starts: tuple[int, int] = (1, 1)) -> int:
    """Column of a fixed date of the northern year, moved by half a year where the season starts on 1 July.

    >>> moved(SPLIT), moved(SPLIT, (7, 1))
    (212, 212)
    """
    return column(*month_and_day)


_PIECE = 1 << 16  # values worked on at a time: they stay in cache from one step to the next


def tenths(celsius: ArrayLike) -> NDArray[np.int16]:
    """Temperatures [degC] as whole tenths, `MISSING` where not a number: readings come in tenths, ties are exact.

    >>> tenths([-2.2, float("nan"), 10.04]).tolist()
    [-22, -32768, 100]
    """
    t = np.asarray(celsius)
    t = t if t.dtype.kind == "f" else t.astype(float)
    out = np.empty(t.shape, np.int16)
    flat, whole = t.reshape(-1), out.reshape(-1)
    for start in range(0, flat.size, _PIECE):
        scaled = flat[start : start + _PIECE] * t.dtype.type(10)
        np.rint(scaled, out=scaled)
        missing = np.isnan(scaled)
        if missing.any():
            scaled[missing] = MISSING
        whole[start : start + _PIECE] = scaled
    return out


@dataclass(frozen=True)
class Cube:
    """A record folded into seasons.

    tmin, tmax : int16 [..., season, 365], tenths of degC, `MISSING` where there is no reading
    seasons : int [season], the year in which each season starts
    lows : int16 [..., 365], tenths of degC: the second lowest checked Tmin of all seasons within `NEAR` days of each
        date; a day without a reading can hide a frost only where the station has come near it
    sign : int8 [..., season, 365] or None; where Tmin is missing: 1 it is known to have been above 0 degC, -1 below
    """

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    seasons: NDArray[np.int64]
    lows: NDArray[np.int16]
    sign: NDArray[np.int8] | None = None
    season_starts: tuple[int, int] = (1, 1)

    def columns(self) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
        """`tmin`, `tmax`: the two arrays every kernel starts from."""
        return self.tmin, self.tmax


def station_lows(tmin: NDArray[np.int16]) -> NDArray[np.int16]:
    """Second lowest Tmin of all seasons within `NEAR` days of each date (DESIGN: "could be cold").

    One wrong low value then does not make every missing July day a possible frost. The axis is taken as a ring.

    Parameters
    ----------
    tmin : int16 array, shape (..., season, 365) [tenths of degC], `MISSING` for no reading

    Returns
    -------
    int16 array, shape (..., 365) [tenths of degC]; the lowest possible value where there are fewer than two readings,
    so that an unknown time of year can be cold.
    """
    high = np.int16(32767)
    seen = np.where(tmin == MISSING, high, tmin)
    seasons = seen.shape[-2]
    if seasons >= 2:
        lowest = np.partition(seen, 1, axis=-2)[..., :2, :]
    else:
        lowest = np.concatenate([seen, np.full_like(seen, high)], axis=-2)
    around = np.arange(DAYS)[:, None] + np.arange(-NEAR, NEAR + 1)
    near = lowest[..., around % DAYS]  # (..., 2, 365, 21)
    near = np.moveaxis(near, -3, -1).reshape(*near.shape[:-3], DAYS, -1)
    second = np.partition(near, 1, axis=-1)[..., 1]
    return np.where(second == high, np.int16(-32767), second).astype(np.int16)


def fold(start: np.datetime64, tmin: ArrayLike, tmax: ArrayLike, sign: ArrayLike | None = None,
         season_starts: tuple[int, int] = (1, 1)) -> Cube:  # fmt: skip
    """Days in a row folded into seasons of 365 columns.

    The first and the last season are those with at least one reading of either temperature in the time of year that a
    complete season is judged by (1 April to 31 October); seasons between them stay in, known or not.

    Parameters
    ----------
    start : datetime64
        Day of the first reading.
    tmin, tmax : array, shape (..., day) [degC], NaN where there is no reading
    sign : int8 array, shape (..., day), optional
        Where Tmin is missing: 1 known to be above 0 degC, -1 below.

    Raises
    ------
    SettingError
        Where no season has a reading between 1 April and 31 October.
    """
    tmin10, tmax10 = tenths(tmin), tenths(tmax)
    days = np.asarray(start, "datetime64[D]") + np.arange(tmin10.shape[-1])
    months = days.astype("datetime64[M]")
    month = months.astype(int) % 12 + 1
    of_month = (days - months.astype("datetime64[D]")).astype(int) + 1
    year = days.astype("datetime64[Y]").astype(int) + 1970
    keep = ~((month == 2) & (of_month == 29))
    of_year = _FIRSTS[month - 1] + of_month - 1
    shift = column(*season_starts)
    season = np.where(of_year >= shift, year, year - 1)
    place = (of_year - shift) % DAYS

    first_day, last_day = (moved(day, season_starts) for day in COMPLETE)
    read = (tmin10 != MISSING) | (tmax10 != MISSING)
    in_time = read.any(axis=tuple(range(read.ndim - 1))) & (place >= first_day) & (place <= last_day)
    if not in_time.any():
        raise SettingError("There is no reading between 1 April and 31 October in any season.",
                           "Give a record that covers at least part of one growing season.")  # fmt: skip
    first, last = season[in_time].min(), season[in_time].max()
    keep &= (season >= first) & (season <= last)

    def cube(values, empty, dtype):
        out = np.full((*values.shape[:-1], last - first + 1, DAYS), empty, dtype)
        out[..., season[keep] - first, place[keep]] = values[..., keep]
        return out

    folded = cube(tmin10, MISSING, np.int16)
    return Cube(folded, cube(tmax10, MISSING, np.int16), np.arange(first, last + 1), station_lows(folded),
                None if sign is None else cube(np.asarray(sign), 0, np.int8), season_starts)  # fmt: skip
