"""How far a share counted over a few dozen seasons can be trusted."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

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
