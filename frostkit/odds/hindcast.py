"""Would these odds have been right? Stand before each past season, count over earlier ones alone, then look.

The odds that are judged are the ones that are printed: the caller cuts the record before each season and runs the same
pipeline on it. What happened is known of seasons that were read without a hole, and only these are judged: they are
settled before their outcome is looked at. The days judged are settled by the first seasons alone.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import comb
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.odds.scores import brier, tenth
from frostkit.odds.share import LEVEL, ODDS, posterior

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]
FIRSTS = (30, 20, 10)  # counted seasons that have gone before the first forecast: as many as leave enough to judge by
ENOUGH = 10  # seasons to judge by, for which fewer first seasons are taken: a setting
EDGE = 0.03  # share of the first seasons below which, or as near to 1, a day says the same whoever asks: not judged
NEWEST = 30  # seasons of the comparison that counts the newest ones as they were read: the length of a normal
AHEAD = 5  # seasons over which the interval is checked
SEED = 20  # of what luck is drawn by: the same record gives the same answer
AT_ONCE = 8192  # rows that a question is asked of at once
ALL, RECENT, FIXED = "as_read_all", "as_read_newest", "fixed"
"""What the odds are held against: all earlier seasons as they were read, the newest 30, and the first ones for good."""


Rows = Any
"""Possible seasons as rows: `frostkit.ensemble.site.Ensemble`, which stands in a room above this one."""


class Weather(NamedTuple):
    """Rows of several ensembles put together, for a question. int16 [row, 365]; prcp may be None."""

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    prcp: NDArray[np.int16] | None


Question = Callable[[Any, Ints], Mask]
"""What is asked: rows with `tmin`, `tmax`, `prcp`, and days [day] -> bool [row, day], whether it is so on each."""


class Cases(NamedTuple):
    """Every forecast and what happened. A case is a season that is judged; each of its days is a forecast.

    days : int [day], columns that are judged; year : int [case]
    given : float [case, day], the odds; happened : bool [case, day]
    against : what they are held against, by name, float [case, day]
    first : seasons that had gone before the first forecast
    seasons, came, complete : of all counted seasons, int [season], bool [season, day], bool [season]
    """

    days: Ints
    year: Ints
    given: Floats
    happened: Mask
    against: Mapping[str, Floats]
    first: int
    seasons: Ints
    came: Mask
    complete: Mask


def first_seasons(complete: Mask) -> int:
    """Counted seasons that go before the first forecast: 30 where that leaves enough to judge by, else 20, else 10.

    >>> first_seasons(np.ones(60, bool)), first_seasons(np.ones(31, bool))
    (30, 20)
    """
    return next((first for first in FIRSTS if complete[first:].sum() >= ENOUGH), FIRSTS[-1])


def hindcast(
    as_read: Rows,
    question: Question,
    days: Ints,
    before: Callable[[Sequence[int]], Iterable[Rows]],
    first: int | None = None,
    newest: int | None = None,
) -> Cases:
    """The odds before each past season, and what happened in it.

    Parameters
    ----------
    as_read : all counted seasons as they were read
    question : what is asked; days : int [day], columns it may be asked of
    before : the ensembles before each of some seasons, rising: the record cut there
    first : counted seasons before the first forecast; left out: `first_seasons`
    newest : judge so many of the newest seasons alone; left out: all after the first ones

    Returns
    -------
    Cases, without any where the record is too short, or where no day is left in doubt by the first seasons
    """
    complete, seasons = np.asarray(as_read.complete), np.asarray(as_read.seasons)
    first = first_seasons(complete) if first is None else first
    share = question(as_read, days)[as_read.index].mean(axis=0)  # [season, day], by draws
    start = share[:first].mean(axis=0) if len(share) else np.zeros(days.size)
    doubt = (start >= EDGE) & (start <= 1 - EDGE)
    days, share, start = days[doubt], share[:, doubt], start[doubt]
    judged = np.flatnonzero(complete & (np.arange(complete.size) >= first))
    judged = judged[-newest:] if newest is not None else judged
    if not days.size:
        judged = judged[:0]
    years = [int(seasons[place]) for place in judged]
    given = np.array([yes[rows.index].mean(axis=(0, 1)) for rows, yes in answered(before(years), question, days)])
    gone = np.concatenate([np.zeros((1, days.size)), np.cumsum(share, axis=0)])
    back = np.maximum(judged - NEWEST, 0)
    against = {
        ALL: gone[judged] / np.maximum(judged, 1)[:, None],
        RECENT: (gone[judged] - gone[back]) / np.maximum(judged - back, 1)[:, None],
        FIXED: np.broadcast_to(start, (judged.size, days.size)),
    }
    came = share >= 0.5
    return Cases(
        days,
        np.array(years, int),
        given.reshape(judged.size, days.size),
        came[judged],
        against,
        first,
        seasons,
        came,
        complete,
    )


def answered(ensembles: Iterable[Rows], question: Question, days: Ints) -> Iterator[tuple[Rows, Mask]]:
    """Each ensemble with what its rows say, bool [row, day]; the question is asked of many rows at once."""
    waiting: list[Rows] = []
    number = 0
    for rows in ensembles:
        waiting.append(rows)
        number += len(rows.tmin)
        if number >= AT_ONCE:
            yield from _asked_at_once(waiting, question, days)
            waiting, number = [], 0
    yield from _asked_at_once(waiting, question, days)


def _asked_at_once(ensembles: list[Rows], question: Question, days: Ints) -> Iterator[tuple[Rows, Mask]]:
    if not ensembles:
        return
    rain = None if ensembles[0].prcp is None else np.concatenate([rows.prcp for rows in ensembles])
    together = Weather(
        np.concatenate([rows.tmin for rows in ensembles]), np.concatenate([rows.tmax for rows in ensembles]), rain
    )
    yes = question(together, days)
    ends = np.cumsum([len(rows.tmin) for rows in ensembles])
    yield from zip(ensembles, np.split(yes, ends[:-1]), strict=True)


class Tenths(NamedTuple):
    """Odds given against what happened, by tenths of the odds; only tenths with a forecast. [tenth]"""

    given: Floats
    happened: Floats
    forecasts: Ints


class Judged(NamedTuple):
    """How far odds were off.

    seasons : judged; forecasts : seasons x days
    brier : mean squared distance from what happened (Brier 1950, Monthly Weather Review 78:1-3)
    mean_gap : mean size of the gaps of the tenths, weighed by their forecasts; largest_gap : the largest of them
    bias : odds given less what happened, mean
    """

    seasons: int
    forecasts: int
    brier: float
    mean_gap: float
    largest_gap: float
    bias: float
    tenths: Tenths


def judged(given: Floats, happened: Mask) -> Judged:
    """Scores of odds [case, day]; NaN without any.

    >>> off = judged(np.array([[0.25, 0.75]] * 4), np.array([[True, True], [False, True]] * 2))
    >>> off.mean_gap, off.bias
    (0.25, -0.25)
    """
    odds, came = given.ravel(), happened.ravel().astype(float)
    if not odds.size:
        nothing = float("nan")
        return Judged(0, 0, nothing, nothing, nothing, nothing, Tenths(np.empty(0), np.empty(0), np.empty(0, int)))
    group = tenth(odds)
    number = np.bincount(group, minlength=10)
    filled = number > 0
    mean = [np.bincount(group, values, minlength=10)[filled] / number[filled] for values in (odds, came)]
    number = number[filled]
    gap = np.abs(mean[0] - mean[1])
    return Judged(
        len(given),
        odds.size,
        float(brier(odds, came)),
        float(np.average(gap, weights=number)),
        float(gap.max()),
        float((odds - came).mean()),
        Tenths(mean[0], mean[1], number),
    )


def luck(given: Floats, times: int = 200) -> float:
    """The mean gap that odds [case, day] would show by luck alone, had each of them been right; NaN without any.

    One number a season decides all its days, as one frost does: the days of a season are not so many seasons.
    """
    if not given.size:
        return float("nan")
    drawn = np.random.default_rng(SEED).random((times, len(given), 1))
    return float(np.mean([judged(given, one < given).mean_gap for one in drawn]))


class Predicted(NamedTuple):
    """How often the number of yes in the next seasons lay within the range that the interval gives, below and above."""

    within: float
    below: float
    above: float
    forecasts: int


def predictive(
    cases: Cases,
    ensembles: Iterable[Rows],
    question: Question,
    ahead: int = AHEAD,
    level: float = LEVEL,
) -> Predicted:
    """Do the intervals hold? The number of yes in the next seasons against the range that they give for it.

    The range is that of the mixture of beta-binomials over the draws of the climate's move. A number is whole, so an
    honest 90 % can't be hit by whole numbers: each outcome counts by the part of its own step that lies inside
    (the randomised probability integral transform: Czado, Gneiting and Held 2009, Biometrics 65:1254-1261, from
    memory).

    Parameters
    ----------
    cases : from `hindcast`; ensembles : those before some of its seasons, with draws of the climate's move
    question : the same; ahead : seasons looked at, complete ones from the season asked for on
    level : of the range

    >>> from types import SimpleNamespace
    >>> few = Cases(np.array([1]), np.array([2000]), np.zeros((1, 1)), np.zeros((1, 1), bool), {}, 0,
    ...             np.array([2000]), np.zeros((1, 1), bool), np.ones(1, bool))
    >>> predictive(few, [], lambda rows, days: rows).forecasts
    0
    """
    inside = np.zeros(3)
    forecasts = 0
    tail = (1 - level) / 2
    known = np.flatnonzero(cases.complete)
    for rows, yes in answered(ensembles, question, cases.days):
        next_ones = known[cases.seasons[known] >= int(rows.asked)][:ahead]
        if next_ones.size < ahead:
            continue
        drawn = rows.index if rows.shifted is None else rows.shifted
        below = chances(yes[drawn].sum(axis=1), len(rows.seasons), ahead)  # [day, number of yes + 1]
        number = cases.came[next_ones].sum(axis=0)
        at = np.arange(number.size)
        low, high = below[at, number], below[at, number + 1]
        step = np.maximum(high - low, 1e-12)
        under = np.clip((tail - low) / step, 0, 1)
        over = np.clip((high - (1 - tail)) / step, 0, 1)
        inside += [(1 - under - over).sum(), under.sum(), over.sum()]
        forecasts += number.size
    if not forecasts:
        return Predicted(float("nan"), float("nan"), float("nan"), 0)
    within, under_all, over_all = (float(value) for value in inside / forecasts)
    return Predicted(within, under_all, over_all, forecasts)


def chances(counts: Ints, seasons: int, ahead: int) -> Floats:
    """How surely fewer than 0, 1, ... yes come in the next seasons, when each draw counted so many of some seasons.

    The mixture over draws of beta-binomials with Jeffreys' distribution behind each. counts : int [draw, day] ->
    float [day, ahead + 2], from 0 to 1

    >>> chances(np.array([[0]]), 0, 1).round(3).tolist()
    [[0.0, 0.5, 1.0]]
    """
    past = np.arange(seasons + 1.0)
    weight = posterior(past, seasons - past).density.copy()  # even steps of a whole period: the sum is exact
    weight[:, [0, -1]] /= 2
    weight /= weight.sum(axis=1, keepdims=True)
    each = np.stack([comb(ahead, k) * weight @ (ODDS**k * (1 - ODDS) ** (ahead - k)) for k in range(ahead + 1)], axis=1)
    mixed = each[counts].mean(axis=0)
    return np.concatenate([np.zeros((len(mixed), 1)), np.cumsum(mixed, axis=1)], axis=1)
