"""Moisture of every possible season from today on, and the odds and dates that follow from it."""

from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from frostkit.answers.silage.drying import Hybrid, Standing, numbers
from frostkit.answers.silage.stores import Store
from frostkit.ensemble.pin import Pinned
from frostkit.ensemble.site import Ensemble
from frostkit.seasons.calendar import NEVER, SPLIT, column
from frostkit.seasons.frost import cold_days, first_true
from frostkit.seasons.heat import rates, running
from frostkit.seasons.silage import mixed, moisture_by_day

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
TENTHS = (0.1, 0.5, 0.9)  # odds at which dates are given: the middle and the ends of an 80 % band
WORTH_SAYING = 0.2  # odds below which no day is called best: common practice, no source
NEAR_BEST = 0.02  # odds within which days beside the best one are as good
CONDITIONS = ("in_range", "too_wet", "too_dry", "killed")


class Dates(NamedTuple):
    """The day of an event at odds of 1, 5 and 9 in 10; columns, +inf: not in the season.

    by_weather : from the possible seasons alone; all : with the hybrid's own spread about the curve
    """

    by_weather: tuple[float, float, float]
    all: tuple[float, float, float]


class Ahead(NamedTuple):
    """Moisture of every possible season, by the evening of each day.

    path : float [row, day], percent; first : column of its first day, yesterday or the day of the last observation
    heat : float [row, day], whole units gathered since sowing, by the same evenings
    killed : float [row], column of the killing frost from 1 August on, +inf where none comes
    weight : float [row], part of all draws of all seasons that a row stands for; the sum is 1
    """

    path: Floats
    first: int
    heat: Floats
    killed: Floats
    weight: Floats

    def since(self, day: int) -> Floats:
        """Moisture from a day on. [row, day]"""
        return self.path[:, day - self.first :]


def heat_of(of: Ensemble, corn: Hybrid, since: int, last: int) -> NDArray[np.int64]:
    """Heat since sowing by the end of each day, from `since - 1` (nothing yet) to `last`. [row, day], whole units

    since : column of the first day whose heat counts
    """
    return running(rates(corn.clock, of.tmin, of.tmax, slice(since, last + 1))).astype(np.int64)


def kills(of: Ensemble, corn: Hybrid) -> Floats:
    """First killing frost from 1 August on of every row; +inf where there is none: the field stands till then. [row]"""
    begin = max(column(*SPLIT), corn.kills_from)
    day: Floats = first_true(cold_days(of.tmin[:, begin:], corn.kills_at)) + begin
    return day


def own_rows(of: Pinned) -> NDArray[np.int64]:
    """One row for each draw of this season's own days. [own]"""
    return np.unique(of.own, return_index=True)[1]


def ahead(of: Ensemble, corn: Hybrid, at: Standing, since: int, last: int, legume_share: float = 0.0) -> Ahead:
    """Moisture of every possible season, from the last observation, or from sowing, to the evening of `last`.

    since : column from which heat counts (the day after seeding, or of the first observation)
    legume_share : part of the wet weight that is legume, which is greener
    """
    begin = since - 1 if at.since is None else at.since
    own = of.own if isinstance(of, Pinned) else np.zeros(len(of.tmin), np.int64)
    heat = heat_of(of, corn, since, last)[:, begin - since + 1 :] + at.offset[own][:, None]
    killed = kills(of, corn)
    start = None if at.start is None else at.start[own]
    path = moisture_by_day(heat, corn.drying, killed, first_day=begin, start=start)
    if legume_share:
        path = mixed(path, numbers()["legume"]["moisture"], legume_share)
    weight = np.bincount(of.index.ravel(), minlength=len(path)) / of.index.size
    return Ahead(path, begin, heat, killed, weight)


def predicted(days: Floats, odds: float) -> float:
    """The day that the coming season keeps to with given odds, from the days of possible seasons. [draw, season]

    The i-th of n seasons stands at i/(n + 1) (Weibull 1939; what exchangeable seasons cover), its draws evenly around
    that, straight between; beyond the outermost it is the outermost. +inf where the event does not come by then.

    >>> predicted(np.arange(250.0, 259.0)[None], 0.5)
    254.0
    """
    draws, seasons = days.shape
    day = np.sort(days, axis=None)
    at = (np.arange(1, day.size + 1) / draws + (1 - 1 / draws) / 2) / (seasons + 1)
    last = int(np.searchsorted(at, odds - 1e-12))
    if last == 0:
        return float(day[0])
    if last == day.size:
        return float(day[-1])
    if not isfinite(day[last]) or not isfinite(day[last - 1]):
        return float(day[last])
    return float(np.interp(odds, at[last - 1 : last + 1], day[last - 1 : last + 1]))


def conditions(of: Ahead, limits: Store, days: NDArray[np.int64]) -> dict[str, Mask]:
    """Whether each condition holds on each day, for a hybrid that lies on the curve. bool [row, day]"""
    path = of.since(int(days[0]))
    wet, dry = path > limits.high + 1e-9, path < limits.low - 1e-9
    return {"in_range": ~wet & ~dry, "too_wet": wet, "too_dry": dry, "killed": of.killed[:, None] <= days}


def with_spread(of: Ahead, limits: Store, spread: Floats, days: NDArray[np.int64]) -> dict[str, Floats]:
    """Odds of each state of moisture on each day with the hybrid's own spread about the curve. [day]"""
    path = of.since(int(days[0]))
    wet = of.weight @ ndtr((path - limits.high) / spread)
    dry = of.weight @ ndtr((limits.low - path) / spread)
    inside = np.clip(1 - wet - dry, 0, 1)  # rounding can leave the last place outside
    return {"in_range": inside, "too_wet": wet, "too_dry": dry}


def moment(path: Floats, percent: float, first: int) -> Floats:
    """The moment at which moisture passes a percentage, within its day; +inf where never. [row]"""
    below = path <= percent + 1e-9
    index = below.argmax(axis=1)
    rows = np.arange(len(path))
    after, before = path[rows, index], path[rows, np.maximum(index - 1, 0)]
    back = np.where(index > 0, (percent - after) / np.maximum(before - after, 1e-9), 0.0)
    return np.where(below.any(axis=1), index - np.clip(back, 0, 1) + first, NEVER)


def dates_at(
    of: Ahead, index: NDArray[np.int64], percent: float, spread: Floats, days: NDArray[np.int64], shift: int = 0
) -> Dates:
    """The day on which moisture falls to a percentage, at odds of 1, 5 and 9 in 10; `shift` days later."""
    moments = moment(of.path, percent, of.first)[index]
    weather = [predicted(moments, odds) for odds in TENTHS]
    reached = np.maximum.accumulate(of.weight @ ndtr((percent - of.since(int(days[0]))) / spread))
    both = [float(days[place]) if (place := int(np.searchsorted(reached, p))) < days.size else NEVER for p in TENTHS]
    (a, b, c), (d, e, f) = ([float(np.ceil(day - 1e-9)) + shift for day in of_odds] for of_odds in (weather, both))
    return Dates((a, b, c), (d, e, f))


def band(path: Floats, spread: Floats, weight: Floats) -> Floats:
    """Moisture that 1 and 9 in 10 fields have at most on each day [percent], over the possible seasons and the hybrid's
    own spread about its curve: the ends of an 80 % band. [2, day]

    Found by halving, for the seasons' normal curves add up to one that has no formula for its inverse.
    """
    used = weight > 0
    middle, weight = path[used], weight[used]
    wanted = np.array([TENTHS[0], TENTHS[2]])[:, None]
    low = np.broadcast_to(middle.min(0) - 5 * spread, (2, spread.size)).copy()
    high = np.broadcast_to(middle.max(0) + 5 * spread, (2, spread.size)).copy()
    for _ in range(20):  # a hundred points halved so often are a ten thousandth
        half = (low + high) / 2
        under = np.stack([weight @ ndtr((end - middle) / spread) for end in half]) < wanted
        low, high = np.where(under, half, low), np.where(under, high, half)
    return (low + high) / 2


def best_days(odds: Floats, days: NDArray[np.int64]) -> tuple[int, int] | None:
    """The run of days around the best one with odds within 2 points of it; None where no day is worth naming."""
    if odds.max() < WORTH_SAYING:
        return None
    top = int(odds.argmax())
    near = odds >= odds[top] - NEAR_BEST
    first = last = top
    while first > 0 and near[first - 1]:
        first -= 1
    while last + 1 < days.size and near[last + 1]:
        last += 1
    return int(days[first]), int(days[last])
