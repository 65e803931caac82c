"""How good odds were, once it is known what happened."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from frostkit.odds.intervals import LEVEL


def brier(share: ArrayLike, happened: ArrayLike) -> NDArray[np.float64]:
    """Mean squared distance of odds from what happened (1 or 0), over the last axis: 0 is best.

    Source: Brier 1950, Monthly Weather Review 78:1-3.

    >>> float(brier([0.1, 0.8], [0, 1]).round(6))
    0.025
    """
    return ((np.asarray(share, float) - np.asarray(happened, float)) ** 2).mean(-1)


class Parts(NamedTuple):
    """The Brier score taken apart: brier = reliability - resolution + uncertainty + within - along.

    reliability : squared gap between odds given and what happened; 0 is best
    resolution : how far apart the outcomes of different odds lie; large is best
    uncertainty : of the outcome itself
    within, along : by classes only, spread of the odds inside a class and how it goes with the outcome; else 0
    """

    brier: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float
    along: float


def parts(share: ArrayLike, happened: ArrayLike, classes: int | None = None) -> Parts:
    """Murphy's decomposition, exact: by distinct odds, or by classes of equal width with the terms inside them.

    References
    ----------
    Murphy 1973, Journal of Applied Meteorology 12:595-600; Stephenson, Coelho, Jolliffe 2008, Weather and Forecasting
    23:752-757 (the two terms inside classes).

    >>> p = parts([0.1] * 10 + [0.5] * 6 + [0.8] * 4, [1] + [0] * 9 + [1] * 3 + [0] * 3 + [1] * 3 + [0])
    >>> [round(v, 4) for v in p]
    [0.158, 0.0005, 0.07, 0.2275, 0.0, 0.0]
    """
    odds, came = np.ravel(np.asarray(share, float)), np.ravel(np.asarray(happened, float))
    if classes is None:
        _, group = np.unique(odds, return_inverse=True)
    else:
        _, group = np.unique(tenth(odds, classes), return_inverse=True)
    number = np.bincount(group)
    given, seen = np.bincount(group, odds) / number, np.bincount(group, came) / number
    base, total = came.mean(), odds.size
    off_odds, off_came = odds - given[group], came - seen[group]
    return Parts(
        float(brier(odds, came)),
        float((number * (given - seen) ** 2).sum() / total),
        float((number * (seen - base) ** 2).sum() / total),
        float(base * (1 - base)),
        float((off_odds**2).mean()),
        float(2 * (off_odds * off_came).mean()),
    )


def tenth(share: ArrayLike, classes: int = 10) -> NDArray[np.int64]:
    """Which class of equal width the odds fall in: 0 to classes - 1; 1 belongs to the last.

    >>> tenth([0.0, 0.1, 0.99, 1.0]).tolist()
    [0, 1, 9, 9]
    """
    return np.minimum((np.asarray(share, float) * classes + 1e-9).astype(int), classes - 1)


def skill(score: ArrayLike, reference: ArrayLike) -> NDArray[np.float64]:
    """Part of the reference's score that is saved: 1 perfect, 0 no better, below 0 worse.

    >>> float(skill(0.15, 0.20).round(3))
    0.25
    """
    return 1 - np.asarray(score, float) / np.asarray(reference, float)


def crps_normal(mean: ArrayLike, sd: ArrayLike, day: ArrayLike) -> NDArray[np.float64]:
    """How far a normal forecast of a date was off [days], continuous ranked probability score: 0 is best.

    Source: Gneiting, Raftery 2007, J. Am. Stat. Assoc. 102:359-378, section 4.2.

    >>> float(crps_normal(0, 1, 0).round(4))
    0.2337
    """
    spread = np.asarray(sd, float)
    z = (np.asarray(day, float) - np.asarray(mean, float)) / spread
    return spread * (z * (2 * ndtr(z) - 1) + np.sqrt(2 / np.pi) * np.exp(-(z**2) / 2) - 1 / np.sqrt(np.pi))


def crps(share: ArrayLike, happened: ArrayLike, step: float = 1.0) -> NDArray[np.float64]:
    """The same for odds given every `step` days over all days that matter: [..., day] -> [...], in days.

    >>> float(crps([0.0, 0.5, 1.0], [0, 0, 1]))
    0.25
    """
    return ((np.asarray(share, float) - np.asarray(happened, float)) ** 2).sum(-1) * step


def quantile_score(p: ArrayLike, forecast: ArrayLike, day: ArrayLike) -> NDArray[np.float64]:
    """How far a day given for odds `p` was off [days], the side that should be rare weighing more: 0 is best.

    Source: Koenker, Bassett 1978, Econometrica 46:33-50.

    >>> [float(quantile_score(0.9, 10, y).round(3)) for y in (12, 8)]
    [1.8, 0.2]
    """
    off = np.asarray(day, float) - np.asarray(forecast, float)
    odds = np.asarray(p, float)
    return np.maximum(odds * off, (odds - 1) * off)


class Estimate(NamedTuple):
    """A mean over all forecasts with its interval."""

    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


def draws(
    year: ArrayLike, rng: np.random.Generator, times: int = 2000
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Whole years drawn again and again: (which year each forecast belongs to, weight of each year [time, year]).

    All stations and days of a year come or stay away together, for neighbours share a summer.
    """
    years, belongs = np.unique(np.asarray(year), return_inverse=True)
    weight = rng.multinomial(years.size, np.full(years.size, 1 / years.size), size=times)
    return belongs, weight.astype(float)


def mean_by_years(values: ArrayLike, year: ArrayLike, rng: np.random.Generator, level: float = LEVEL,
                  times: int = 2000) -> Estimate:  # fmt: skip
    """Mean of values [..., case] and its interval from drawing whole years again.

    Source: Efron, Tibshirani 1993, An Introduction to the Bootstrap, chapter 13 (percentiles), years as the units.
    """
    value = np.asarray(values, float)
    belongs, weight = draws(year, rng, times)
    member = np.zeros((belongs.size, weight.shape[1]))
    member[np.arange(belongs.size), belongs] = 1.0
    total = value @ member  # [..., year]
    number = member.sum(0)
    mean = (total @ weight.T) / (number @ weight.T)
    low, high = np.quantile(mean, [(1 - level) / 2, (1 + level) / 2], axis=-1)
    return Estimate(value.mean(-1), low, high)
