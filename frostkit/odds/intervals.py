"""How far a share counted over a few dozen seasons can be trusted."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr, betaincinv, ndtri

LEVEL = 0.90
"""Every interval is a 90 % one unless asked otherwise (DESIGN)."""


class Interval(NamedTuple):
    """Two ends of an interval, arrays of one shape."""

    low: NDArray[np.float64]
    high: NDArray[np.float64]


def jeffreys(yes: ArrayLike, total: ArrayLike, level: float = LEVEL) -> Interval:
    """Where the true odds lie when `yes` of `total` seasons said yes: frostkit's interval.

    The middle `level` of Beta(yes + 1/2, total - yes + 1/2); 0 when none said yes, 1 when all did, (0, 1) for no
    seasons. Counts need not be whole: an effective number of seasons may be given.

    References
    ----------
    Brown, Cai, DasGupta 2001, Statistical Science 16:101-133, section 3.2 and 4.1.3 (ends at 0 and n).

    >>> [end.round(3).tolist() for end in jeffreys(27, 30)]
    [0.783, 0.963]
    """
    x, n = np.broadcast_arrays(np.asarray(yes, float), np.asarray(total, float))
    tail = (1 - level) / 2
    low = np.where(x > 0, betaincinv(x + 0.5, n - x + 0.5, tail), 0.0)
    high = np.where(x < n, betaincinv(x + 0.5, n - x + 0.5, 1 - tail), 1.0)
    return Interval(low, high)


def wilson(yes: ArrayLike, total: ArrayLike, level: float = LEVEL) -> Interval:
    """The score interval, to check the default against.

    References
    ----------
    Wilson 1927, J. Am. Stat. Assoc. 22:209-212; Newcombe 1998, Statistics in Medicine 17:857-872, method 3.

    >>> [end.round(4).tolist() for end in wilson(81, 263, 0.95)]
    [0.2553, 0.3662]
    """
    x, n = np.broadcast_arrays(np.asarray(yes, float), np.asarray(total, float))
    z = ndtri(0.5 + level / 2)
    with np.errstate(invalid="ignore", divide="ignore"):
        middle = (x + z**2 / 2) / (n + z**2)
        half = z / (n + z**2) * np.sqrt(x * (n - x) / n + z**2 / 4)
    nothing = n == 0
    low = np.where(nothing | (x == 0), 0.0, middle - half)
    high = np.where(nothing | (x == n), 1.0, middle + half)
    return Interval(low, high)


def exact(yes: ArrayLike, total: ArrayLike, level: float = LEVEL) -> Interval:
    """The interval that never covers too little and mostly covers too much, to check the default against.

    References
    ----------
    Clopper, Pearson 1934, Biometrika 26:404-413.

    >>> [end.round(4).tolist() for end in exact(0, 20, 0.95)]
    [0.0, 0.1684]
    """
    x, n = np.broadcast_arrays(np.asarray(yes, float), np.asarray(total, float))
    tail = (1 - level) / 2
    low = np.where(x > 0, betaincinv(np.maximum(x, 0.5), n - x + 1, tail), 0.0)
    high = np.where(x < n, betaincinv(x + 1, np.maximum(n - x, 0.5), 1 - tail), 1.0)
    return Interval(low, high)


class Ranks(NamedTuple):
    """Ranks (from 1) of the two seasons, put in order of date, between which a quantile lies; 0 and total + 1: open."""

    low: NDArray[np.int64]
    high: NDArray[np.int64]


def order_ranks(total: ArrayLike, p: ArrayLike, level: float = LEVEL) -> Ranks:
    """Between which seasons, put in order of date, the day of odds `p` lies with at least `level` confidence.

    Each end leaves out at most half of what is left. 0: no season is early enough to bound it from below; total + 1:
    none is late enough to bound it from above.

    References
    ----------
    Conover 1999, Practical Nonparametric Statistics, 3rd ed., section 3.2 (from memory).

    >>> [(int(r.low), int(r.high)) for r in (order_ranks(30, 0.5), order_ranks(30, 0.9))]
    [(11, 20), (24, 30)]
    """
    n, odds = np.broadcast_arrays(np.asarray(total, int), np.asarray(p, float))
    most = int(n.max(initial=0))
    k = np.arange(most + 1)
    with np.errstate(invalid="ignore"):
        at_most = np.where(k <= n[..., None], bdtr(k, n[..., None], odds[..., None]), 1.0)  # P(B <= k)
    tail = (1 - level) / 2 + 1e-12
    low = (at_most <= tail).sum(-1)  # the largest r with P(B <= r - 1) <= tail
    high = ((1 - at_most > tail) & (k < n[..., None])).sum(-1) + 1  # the smallest s with P(B >= s) <= tail
    return Ranks(low, high)


def order_coverage(total: ArrayLike, p: ArrayLike, low: ArrayLike, high: ArrayLike) -> NDArray[np.float64]:
    """Confidence that the day of odds `p` lies between the `low`-th and the `high`-th season in order of date.

    >>> order_coverage(30, 0.5, 11, 20).round(4).tolist(), order_coverage(30, 0.9, 24, 30).round(4).tolist()
    (0.9013, 0.9318)
    """
    n, odds, r, s = np.broadcast_arrays(np.asarray(total), np.asarray(p, float), np.asarray(low), np.asarray(high))
    upper = np.where(s > n, 1.0, bdtr(np.minimum(s, n) - 1, n, odds))
    return upper - np.where(r > 0, bdtr(np.maximum(r, 1) - 1, n, odds), 0.0)
