"""Dates taken as normal, with or without seasons in which the event does not come."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from frostkit.odds.curve import Curve


def normal_share(day: ArrayLike, mean: ArrayLike, sd: ArrayLike) -> NDArray[np.float64]:
    """Odds of an event on or before a day when its dates are normal.

    References
    ----------
    Thom, Shaw 1958, Monthly Weather Review 86:131-136.

    >>> normal_share(253, 263, 10).round(4).tolist()
    0.1587
    """
    return ndtr((np.asarray(day, float) - np.asarray(mean, float)) / np.asarray(sd, float))


def normal_day(p: ArrayLike, mean: ArrayLike, sd: ArrayLike) -> NDArray[np.float64]:
    """Day by which the odds of a normal date reach `p`.

    >>> normal_day(0.1, 263, 10).round(3).tolist()
    250.184
    """
    return np.asarray(mean, float) + np.asarray(sd, float) * ndtri(p)


def mixed_share(day: ArrayLike, event: ArrayLike, mean: ArrayLike, sd: ArrayLike,
                before: ArrayLike = 0.0) -> NDArray[np.float64]:  # fmt: skip
    """Odds by a day when the event comes in a share `event` of the seasons, then on a normal date.

    before : share of seasons in which an event that comes last does not come (no spring frost: it is over on any day)

    References
    ----------
    Thom 1959, Monthly Weather Review 87:136-144: P(by day d) = q F(d).

    >>> mixed_share([260, 270, 280, 300], 0.9, 270, 10).round(4).tolist()
    [0.1428, 0.45, 0.7572, 0.8988]
    """
    return np.asarray(before) + np.asarray(event) * normal_share(day, mean, sd)


def mixed_day(p: ArrayLike, event: ArrayLike, mean: ArrayLike, sd: ArrayLike,
              before: ArrayLike = 0.0) -> NDArray[np.float64]:  # fmt: skip
    """Day by which the odds of `mixed_share` reach `p`; `+inf` where they never do, `-inf` where they always do.

    A 90 % day does not exist when the event comes in fewer than 90 % of the seasons (Thom 1959).

    >>> mixed_day([0.5, 0.9], 25 / 30, 300, 10).round(3).tolist()
    [302.533, inf]
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        inside = (np.asarray(p, float) - before) / np.asarray(event, float)
        day = normal_day(np.clip(inside, 0, 1), mean, sd)
    return np.where(inside <= 0, -np.inf, np.where(inside < 1, day, np.inf))


class Moments(NamedTuple):
    """What a normal needs to know of a curve, arrays [...].

    mean, sd : of the days on which the event came; sd with one less than their number, at least 0.5 day
    event, before : share of seasons in which it came, and in which it was over before any day
    dated, total : seasons with a day, and all
    """

    mean: NDArray[np.float64]
    sd: NDArray[np.float64]
    event: NDArray[np.float64]
    before: NDArray[np.float64]
    dated: NDArray[np.float64]
    total: NDArray[np.float64]


def moments(curve: Curve) -> Moments:
    """Mean and spread of the dated seasons, shares of the others; NaN with fewer than two dated seasons.

    >>> m = moments(Curve(*(np.array([250., 270., np.inf]),) * 2, np.ones(3)))
    >>> float(m.mean), round(float(m.sd), 3), round(float(m.event), 3)
    (260.0, 14.142, 0.667)
    """
    first, last, mass = curve
    there = np.isfinite(first) & np.isfinite(last)
    weight = np.where(there, mass, 0.0)
    low, high = np.where(there, first, 0.0), np.where(there, last, 0.0)
    dated, total = weight.sum(-1), mass.sum(-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = (weight * (low + high) / 2).sum(-1) / dated
        inside = ((high - low + 1) ** 2 - 1) / 12  # variance of a date that lies evenly on these whole days
        square = (weight * (((low + high) / 2 - mean[..., None]) ** 2 + inside)).sum(-1)
        sd = np.sqrt(square / (dated - 1))
        before = np.where(first == -np.inf, mass, 0.0).sum(-1) / total
        event = dated / total
    enough = dated > 1
    return Moments(np.where(enough, mean, np.nan), np.where(enough, np.maximum(sd, 0.5), np.nan), event, before,
                   dated, total)  # fmt: skip
