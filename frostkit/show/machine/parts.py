"""Parts of answers for programs: days are "MM-DD", a date per season is a pair [first, last]; None, never NaN."""

import json
from math import isfinite

import numpy as np

from frostkit.odds.estimate import Odds, Share
from frostkit.seasons.calendar import code
from frostkit.seasons.interval import SeasonDates
from frostkit.show.phrases import row
from frostkit.show.printed import escaped


def text(answer: dict) -> str:
    """JSON on several lines, without NaN or infinity, and with nothing in it that a terminal would act on."""
    return escaped(json.dumps(answer, indent=1, ensure_ascii=False, allow_nan=False))


def number(value: float, digits: int = 4) -> float | None:
    """A rounded number, None for one that is not there.

    >>> number(0.123456), number(float("nan"))
    (0.1235, None)
    """
    return round(float(value), digits) if isfinite(value) else None


def whole(value: float) -> int | None:
    """A whole number, None for one without an end.

    >>> whole(119.0), whole(float("inf"))
    (119, None)
    """
    return int(value) if isfinite(value) else None


def pairs(dates: SeasonDates) -> list[list[str | None]]:
    """[first, last] a season; None for an end that perhaps never came.

    >>> pairs(SeasonDates(np.array([137.0]), np.array([np.inf])))
    [['05-18', None]]
    """
    return [[code(first), code(last)] for first, last in zip(dates.first, dates.last, strict=True)]


def share_dict(share: Share | Odds, index: int, estimator: str = "counted") -> dict:
    """One day's odds."""
    return {
        "share": number(share.share[index]),
        "low": number(share.low[index]),
        "high": number(share.high[index]),
        "level": share.level,
        "yes": int(share.yes[index]),
        "no": int(share.no[index]),
        "not_known": int(share.not_known[index]),
        "complete": int(np.broadcast_to(np.asarray(share.complete), share.yes.shape)[index]),
        "estimator": estimator,
    }


def odds_list(odds: Odds) -> list[dict]:
    """Odds by day: of the event on or before that day."""
    return [{"day": code(day), **share_dict(odds, index, odds.estimator)} for index, day in enumerate(odds.day)]


def one_share(share: Share) -> dict:
    """The odds of one case."""
    return share_dict(row(share), 0)
