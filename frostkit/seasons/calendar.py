"""The 365-day axis of a season: a column is the same day and month in every season.

A season is a calendar year. 29 February has no column.
"""

import re
import unicodedata
from datetime import date

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError

DAYS = 365
MISSING = np.int16(-32768)
"""Tenths of a degree that stand for 'no reading'."""
NEVER = np.inf
"""An event that comes first (first fall frost, ripe) and did not come."""
NONE = -np.inf
"""An event that comes last (last spring frost) and did not come: no obstacle."""
SPLIT = (8, 1)  # US Climate Normals freeze dates: spring ends with 31 July
SEASON_END = (10, 31)  # the last day whose heat and frost count for a crop: a setting, said in results

_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_FIRSTS = np.concatenate([[0], np.cumsum(_LENGTHS)[:-1]])
_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def column(month: int, day: int) -> int:
    """The column of a day and month on the axis of a season.

    Raises `SettingError` for a day that is not in the calendar; 29 February is, but has no column.

    >>> column(1, 1), column(8, 1)
    (0, 212)
    """
    if not (1 <= month <= 12 and 1 <= day <= _LENGTHS[month - 1]):
        raise SettingError(
            f"Day {day} of month {month} is not one of the 365 days of a season.",
            "Give a month from 1 to 12 and a day of that month; 29 February has no column.",
        )
    return int(_FIRSTS[month - 1]) + day - 1


def month_day(day: int) -> tuple[int, int]:
    """Month and day of a column: the way back from `column`.

    >>> month_day(137)
    (5, 18)
    """
    of_year = int(day) % DAYS
    month = int(np.searchsorted(_FIRSTS, of_year, side="right"))
    return month, of_year - int(_FIRSTS[month - 1]) + 1


def words(day: float) -> str:
    """A column as people say it.

    >>> words(137), words(float("inf"))
    ('18 May', 'never')
    """
    if not np.isfinite(day):
        return "never"
    month, of_month = month_day(int(day))
    return f"{of_month} {_NAMES[month - 1]}"


def code(day: float) -> str | None:
    """A column as programs read it: "MM-DD", or None for a day that is not there.

    >>> code(137), code(float("inf"))
    ('05-18', None)
    """
    if not np.isfinite(day):
        return None
    return "{:02d}-{:02d}".format(*month_day(int(day)))


_TYPED = (
    [
        "janvier",
        "fevrier",
        "mars",
        "avril",
        "mai",
        "juin",
        "juillet",
        "aout",
        "septembre",
        "octobre",
        "novembre",
        "decembre",
    ],
    [name.lower() for name in _NAMES],
)
"""Names of the months, accents apart, in the languages that days are typed in; three letters of one are enough."""
_ISO = re.compile(r"(?:\d{4}-)?(\d{1,2})-(\d{1,2})")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:er|st|nd|rd|th|\.)? +([a-z]{3,})\.?(?: +\d{4})?")
_MONTH_DAY = re.compile(r"([a-z]{3,})\.? +(\d{1,2})(?:st|nd|rd|th)?(?:,? +\d{4})?")


def from_code(text: str) -> int:
    """The column of a day as typed by a person: "05-18", "2026-05-18", "18 May", "May 18", "18 mai".

    A year is left out. Raises `SettingError` for anything else, and for a day that is not in the calendar.

    >>> [from_code(day) for day in ("05-18", "2026-05-18", "18 May", "May 18", "18 mai")]
    [137, 137, 137, 137, 137]
    """
    letters = unicodedata.normalize("NFKD", str(text)).strip().lower()
    plain = "".join(letter for letter in letters if not unicodedata.combining(letter))
    if found := _ISO.fullmatch(plain):
        return column(int(found[1]), int(found[2]))
    named = None
    if found := _DAY_MONTH.fullmatch(plain):
        named = found[2], found[1]
    elif found := _MONTH_DAY.fullmatch(plain):
        named = found[1], found[2]
    if named is not None:
        months = {n for names in _TYPED for n, name in enumerate(names, start=1) if name.startswith(named[0])}
        if len(months) == 1:
            return column(months.pop(), int(named[1]))
    raise SettingError(f"'{text}' is not a day.", "Write month and day as MM-DD, such as 05-28, or as 28 May.")


def from_date(text: str) -> date:
    """A date as typed by a person: "2026-05-18", "18 May 2026", "May 18, 2026".

    Raises `SettingError` for anything else, and for a day without its year.

    >>> from_date("18 May 2026") == from_date("2026-05-18") == date(2026, 5, 18)
    True
    """
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        pass
    year = re.search(r"(?<!\d)\d{4}(?!\d)", str(text))
    try:
        month, day = month_day(from_code(text))
    except SettingError:
        raise SettingError(
            f"'{text}' is not a date.", "Write it as YYYY-MM-DD, such as 2020-09-01, or as 1 September 2020."
        ) from None
    if year is None:
        raise SettingError(f"'{text}' has no year.", f"Write it as YYYY-MM-DD: the year, then -{month:02d}-{day:02d}.")
    return date(int(year[0]), month, day)


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
