"""How a date or an amount spreads over the complete seasons, for the tables: its middle and the 8 in 10 around it."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.seasons.interval import SeasonDates


class Spread(NamedTuple):
    """One season in 10 lies below `low`, half below `middle`, 9 in 10 below `high`; `inf` for "not in the season".

    seasons : complete seasons counted; NaN ends where there is none
    """

    low: float
    middle: float
    high: float
    seasons: int


def spread(dates: SeasonDates, complete: NDArray[np.bool_]) -> Spread:
    """The spread of season dates, or of amounts given as (least, most), over complete seasons.

    dates : SeasonDates [season]; the middle of each season's two ends is taken (an open end stays open)
    complete : bool [season]

    >>> spread(SeasonDates(np.arange(100.0, 121), np.arange(100.0, 121)), np.ones(21, bool)).middle
    110.0
    """
    first, last = dates.first[complete], dates.last[complete]
    if not first.size:
        return Spread(np.nan, np.nan, np.nan, 0)
    both = np.isfinite(first) & np.isfinite(last)
    with np.errstate(invalid="ignore"):
        value = np.where(both, (first + last) / 2, np.where(first == last, first, last))
    low, middle, high = np.quantile(value, (0.1, 0.5, 0.9), method="inverted_cdf")
    return Spread(float(low), float(middle), float(high), int(value.size))


def commonest(names: tuple[str | None, ...], complete: NDArray[np.bool_]) -> tuple[str, int, int]:
    """The name most complete seasons have, in how many of them, and of how many.

    >>> commonest(("a", "b", "a", None), np.ones(4, bool))
    ('a', 2, 4)
    """
    told = [name for name, whole in zip(names, complete, strict=True) if whole]
    known = [name for name in told if name is not None]
    if not known:
        return "not known", 0, len(told)
    best = max(dict.fromkeys(known), key=known.count)
    return best, known.count(best), len(told)


def only_day(dates: SeasonDates) -> SeasonDates:
    """Season dates [season] out of dates by [season, seeding day] that were asked for one seeding day.

    >>> only_day(SeasonDates(np.array([[120.0]]), np.array([[121.0]]))).last.tolist()
    [121.0]
    """
    return SeasonDates(dates.first[:, 0], dates.last[:, 0])
