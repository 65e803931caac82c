"""A season date is an interval: the earliest and the latest day it can have been."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

NEVER = np.inf
"""An event that comes first (first fall frost, ripe) and did not come."""
NONE = -np.inf
"""An event that comes last (last spring frost) and did not come: no obstacle."""


class SeasonDates(NamedTuple):
    """One event's day in every season, as (first, last) it can have been.

    first, last : float arrays [..., season], columns of the season's axis. Equal ends: known. `+inf` for an event that
    comes first and never came, `-inf` for one that comes last and never came. No NaN.
    """

    first: NDArray[np.float64]
    last: NDArray[np.float64]

    def known(self) -> NDArray[np.bool_]:
        """Seasons whose date is one day, or known not to have come."""
        return self.first == self.last


def dates(first: ArrayLike, last: ArrayLike | None = None) -> SeasonDates:
    """Season dates from plain arrays; with one array all are known.

    >>> dates([120, 130]).known().tolist()
    [True, True]
    """
    lower = np.asarray(first, float)
    return SeasonDates(lower, lower if last is None else np.asarray(last, float))


def days_between(earlier: SeasonDates, later: SeasonDates) -> SeasonDates:
    """Days strictly between two events, as published frost-free lengths count them; at least 0, `+inf` if unbounded.

    Source: Environment and Climate Change Canada, 1981-2010 normals: length = first fall - last spring - 1.

    >>> days_between(dates([137]), dates([257])).first.tolist()
    [119.0]
    """
    least = np.maximum(later.first - earlier.last - 1, 0)
    most = np.maximum(later.last - earlier.first - 1, 0)
    return SeasonDates(least, most)
