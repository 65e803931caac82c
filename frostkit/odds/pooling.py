"""A field between several stations: their odds taken together, wider where they disagree."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.odds.estimate import Odds, Share
from frostkit.odds.intervals import LEVEL, jeffreys


class Pooled(NamedTuple):
    """Odds at a place between stations; arrays [...], without the stations' axis.

    share, low, high : weighted odds and their interval
    apart : standard deviation between the stations' odds, weighted
    weight : what each station counts [station, ...], adding up to 1; 0 where it has no point share
    """

    share: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    apart: NDArray[np.float64]
    weight: NDArray[np.float64]


def nearness(
    distance: ArrayLike, height: ArrayLike = 0.0, far: float = 50.0, high: float = 100.0
) -> NDArray[np.float64]:
    """What a station counts by its distance [km] and difference in height [m] from the field; 1 on the spot.

    Falls to 0.37 at `far` km or `high` m: judgement, no source; give weights of your own where you know better.

    >>> nearness([0, 50], [0, 100]).round(3).tolist()
    [1.0, 0.135]
    """
    return np.exp(-((np.asarray(distance, float) / far) ** 2) - (np.asarray(height, float) / high) ** 2)


def pool(stations: Share | Odds, weight: ArrayLike, level: float = LEVEL) -> Pooled:
    """Odds of several stations taken together.

    Stations share their summers: together they are worth no more seasons than one of them, the weighted mean. To that
    comes the spread between them, all of it taken as real, for the field may be like any one of them. Not-known
    seasons are no for the low end and yes for the high end, as for one station.

    Parameters
    ----------
    stations : Share or Odds whose arrays have the station first: [station, ...]
    weight : float array [station], 0 or more, in any scale, such as from `nearness`

    Raises
    ------
    SettingError
        For weights that are negative, all zero, or not one per station.

    Examples
    --------
    >>> from frostkit.odds.estimate import share
    >>> alike, apart = share([24, 24], [6, 6]), share([18, 30], [12, 0])
    >>> [[round(float(end), 2) for end in pool(s, [1, 1])[:4]] for s in (alike, apart)]
    [[0.8, 0.66, 0.9, 0.0], [0.8, 0.24, 0.98, 0.28]]
    """
    given = np.asarray(stations.share, float)
    by = np.asarray(weight, float)
    if by.shape != given.shape[:1] or not (by >= 0).all() or not by.sum() > 0:
        raise SettingError(f"The weights {by.tolist()} don't fit {given.shape[0]} stations.",
                           "Give one weight for each, none below 0, not all 0.")  # fmt: skip
    by = by.reshape(-1, *[1] * (given.ndim - 1))
    by = np.where(np.isnan(given), 0.0, by)
    with np.errstate(invalid="ignore", divide="ignore"):
        by = by / by.sum(0)
        point = np.where(by > 0, given, 0.0)
        middle = (by * point).sum(0)
        spread = (by * (point - middle) ** 2).sum(0) / np.maximum(1 - (by**2).sum(0), 1e-12)
        spread = np.where((by > 0).sum(0) > 1, spread, 0.0)
        total = stations.yes + stations.no + stations.not_known
        seasons = (by * total).sum(0)
        open_part = (by * stations.not_known / np.maximum(total, 1)).sum(0)
        own = np.maximum(middle * (1 - middle), 0.25 / seasons)  # at 0 and 1 too a count is not sure
        worth = seasons * own / (own + seasons * spread)
    low = jeffreys(middle * (1 - open_part) * worth, worth, level).low
    high = jeffreys((middle * (1 - open_part) + open_part) * worth, worth, level).high
    nothing = np.isnan(middle)
    return Pooled(middle, np.where(nothing, 0.0, low), np.where(nothing, 1.0, high), np.sqrt(spread), by)
