"""The ways to turn season dates into odds, behind one interface: a table of estimators.

Each is fitted to season dates and then answers four questions, for any days and any odds: the share of seasons by a
day, its interval, the day of given odds, its interval.
"""

from collections.abc import Callable
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.odds.curve import Curve, from_known
from frostkit.odds.intervals import Interval, jeffreys, order_ranks
from frostkit.odds.turnbull import turnbull

DEFAULT = "interval-censored"
"""Chosen by the track record, see docs/odds_choice.md."""


class Seen(NamedTuple):
    """What an estimator may use.

    first, last : float [..., season], days
    use : bool [..., season], seasons that count (a window of past seasons, say)
    complete : bool [..., season] or None; decided beforehand, never by the outcome
    seasons : float [season], the year of each
    at : float, or array that broadcasts with the leading axes: the season that the odds are for
    """

    first: NDArray[np.float64]
    last: NDArray[np.float64]
    use: NDArray[np.bool_]
    complete: NDArray[np.bool_] | None
    seasons: NDArray[np.float64]
    at: NDArray[np.float64]


class Fitted(Protocol):
    """An estimator after it has seen the seasons."""

    def share(self, days: NDArray) -> NDArray[np.float64]:
        """Odds of the event on or before each day [..., day]."""

    def interval(self, days: NDArray, level: float) -> Interval:
        """Interval of those odds [..., day]."""

    def day_of(self, p: NDArray) -> NDArray[np.float64]:
        """First day by which the odds reach `p` [..., q]; `+inf` where none does."""

    def day_interval(self, p: NDArray, level: float) -> Interval:
        """Interval of that day [..., q]."""


class Estimator(NamedTuple):
    """One way to odds: in words, and as a function."""

    words: str
    fit: Callable[[Seen], Fitted]


class Counts(NamedTuple):
    """Seasons in which the event came for certain by a day, for certain not, or that can't say: int [..., day]."""

    yes: NDArray[np.int64]
    no: NDArray[np.int64]
    not_known: NDArray[np.int64]


def count(first: ArrayLike, last: ArrayLike, use: ArrayLike, days: ArrayLike) -> Counts:
    """Yes, no and not known over all seasons used, for each day.

    first, last, use : [..., season]; days : [..., day] with the same leading axes, or [day]
    """
    day = np.asarray(days, float)[..., None, :]
    first, last, use = (np.asarray(part)[..., None] for part in (first, last, use))
    yes = (use & (last <= day)).sum(-2)
    no = (use & (first > day)).sum(-2)
    return Counts(yes, no, np.broadcast_to(use.sum(-2), yes.shape) - yes - no)


def counted_interval(counts: Counts, level: float) -> Interval:
    """Jeffreys, the low end with the not-known as no, the high end as yes."""
    total = counts.yes + counts.no + counts.not_known
    return Interval(jeffreys(counts.yes, total, level).low, jeffreys(counts.yes + counts.not_known, total, level).high)


def ordered_interval(first: NDArray, last: NDArray, use: NDArray, p: NDArray, level: float) -> Interval:
    """The day of odds `p` between two seasons in order of date: [..., q]; an open end is -inf or +inf.

    The low end takes every season at the earliest day it can have been, the high end at the latest.
    """
    total = use.sum(-1)
    ranks = order_ranks(total[..., None], p, level)

    def at(day, rank, beyond):
        ordered = np.sort(np.where(use, day, np.inf), -1)
        padded = np.concatenate([np.full((*day.shape[:-1], 1), -np.inf), ordered], -1)
        picked = np.take_along_axis(padded, np.minimum(rank, day.shape[-1]), -1)
        return np.where(rank > total[..., None], beyond, picked)

    return Interval(at(first, ranks.low, np.inf), at(last, ranks.high, np.inf))


class Spread:
    """Odds read off a curve; intervals from the counts."""

    def __init__(self, seen: Seen, curve: Curve):
        self.seen, self.curve = seen, curve

    def share(self, days: NDArray) -> NDArray[np.float64]:
        return self.curve.by(days)

    def interval(self, days: NDArray, level: float) -> Interval:
        return counted_interval(count(self.seen.first, self.seen.last, self.seen.use, days), level)

    def day_of(self, p: NDArray) -> NDArray[np.float64]:
        return self.curve.day_of(p)

    def day_interval(self, p: NDArray, level: float) -> Interval:
        return ordered_interval(self.seen.first, self.seen.last, self.seen.use, p, level)


def _counted(seen: Seen) -> Fitted:
    """Complete seasons, each at the middle of what it can have been; no curve where none is said to be complete and
    some are not known."""
    middle = middle_day(seen.first, seen.last)
    if seen.complete is not None:
        return Spread(seen, from_known(middle, seen.use & seen.complete))
    certain = ((seen.first == seen.last) | ~seen.use).all(-1, keepdims=True)
    return Spread(seen, from_known(middle, np.where(certain, seen.use, np.nan)))


def middle_day(first: NDArray, last: NDArray) -> NDArray[np.float64]:
    """Middle of what a date can have been, rounded down to a day; the end that is a day where the other is open.

    >>> middle_day(np.array([250., 250, np.inf]), np.array([253., np.inf, np.inf])).tolist()
    [251.0, 250.0, inf]
    """
    with np.errstate(invalid="ignore"):
        middle = np.floor((first + last) / 2)
    ends = np.where(np.isfinite(first), first, last)
    return np.where(first == last, first, np.where(np.isfinite(first) & np.isfinite(last), middle, ends))


def _censored(seen: Seen) -> Fitted:
    return Spread(seen, turnbull(seen.first, seen.last, seen.use).curve)


ESTIMATORS: dict[str, Estimator] = {
    "counted": Estimator("share of the complete seasons", _counted),
    "interval-censored": Estimator("share that fits every season best, those with holes included", _censored),
}
