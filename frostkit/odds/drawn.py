"""Odds over several draws of one record: its seasons with an unsure offset drawn anew each time, counted together."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from frostkit.odds.estimate import FEWEST, Odds, Share


def over_shares(parts: Sequence[Share]) -> Share:
    """The odds of several draws as one: shares are means over draws, the interval holds their scatter too.

    Counts are means over draws in whole seasons: those that said yes are rounded down, so that no odds are reached by
    rounding. All draws are of the same seasons.

    References
    ----------
    Interval: Rubin 1987, Multiple Imputation for Nonresponse in Surveys, eq. 3.1.5: the squared half width within
    draws, and (1 + 1/m) times the variance between them; from memory.

    >>> from frostkit.odds.estimate import share
    >>> both = over_shares([share(20, 10), share(25, 5)])
    >>> int(both.complete_yes), float(both.share), bool(both.low < share(20, 10).low)
    (22, 0.75, True)
    """
    total = parts[0].yes + parts[0].no + parts[0].not_known
    yes, unknown, full, full_yes = (
        _mean([getattr(part, name) for part in parts]) for name in ("yes", "not_known", "complete", "complete_yes")
    )
    sure, maybe = np.floor(yes + 1e-9).astype(np.int64), np.rint(unknown).astype(np.int64)
    with np.errstate(invalid="ignore", divide="ignore"):
        point = np.where(full >= FEWEST, full_yes / full, np.nan)
    of = np.maximum(total, 1)
    low, _ = _ends([part.yes / of for part in parts], [part.low for part in parts], None, parts[0].level)
    _, high = _ends([(part.yes + part.not_known) / of for part in parts], None, [part.high for part in parts],
                    parts[0].level)  # fmt: skip
    return Share(sure, total - sure - maybe, maybe, np.rint(full).astype(np.int64),
                 np.floor(full_yes + 1e-9).astype(np.int64), point, low, high, parts[0].level)  # fmt: skip


def over_odds(parts: Sequence[Odds]) -> Odds:
    """As `over_shares`, for odds by day of one estimator; all draws are on the same days."""
    first = parts[0]
    shares = [part.share for part in parts]
    low, high = _ends(shares, [part.low for part in parts], [part.high for part in parts], first.level)
    yes, unknown = _mean([part.yes for part in parts]), _mean([part.not_known for part in parts])
    sure, maybe = np.floor(yes + 1e-9).astype(np.int64), np.rint(unknown).astype(np.int64)
    total = first.yes + first.no + first.not_known
    return first._replace(share=_mean(shares), low=low, high=high, yes=sure, no=total - sure - maybe, not_known=maybe)


def _mean(values: Sequence[ArrayLike]) -> NDArray[np.float64]:
    return np.mean(np.stack([np.asarray(value, float) for value in values]), axis=0)


def _ends(middles: Sequence[NDArray], lows: Sequence[NDArray] | None, highs: Sequence[NDArray] | None,
          level: float) -> tuple[NDArray, NDArray]:  # fmt: skip
    """Both ends of the interval about the mean of the draws' middles; an end that is not given is the middle."""
    every = np.stack([np.asarray(middle, float) for middle in middles])
    middle, number = every.mean(0), len(middles)
    between = (1 + 1 / number) * every.var(0, ddof=1 if number > 1 else 0) * ndtri(0.5 + level / 2) ** 2
    low = middle if lows is None else middle - np.sqrt((middle - _mean(lows)) ** 2 + between)
    high = middle if highs is None else middle + np.sqrt((_mean(highs) - middle) ** 2 + between)
    return np.clip(low, 0, 1), np.clip(high, 0, 1)
