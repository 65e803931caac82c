"""Moisture of every possible rest of this season, and the odds and dates that follow from it."""

from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from frostkit.answers.drying import Hybrid, Standing, numbers
from frostkit.answers.rests import LEAST, MIDDLE, MOST, Rests
from frostkit.answers.stores import Store
from frostkit.odds.estimate import FEWEST, Share, share
from frostkit.odds.intervals import LEVEL, jeffreys
from frostkit.seasons.silage import mixed, moisture_by_day

TENTHS = (0.1, 0.5, 0.9)  # odds at which dates are given: the middle and the ends of an 80 % band
WORTH_SAYING = 0.2  # odds below which no day is called best: common practice, no source
CONDITIONS = ("in_range", "too_wet", "too_dry", "killed")


class DayOdds(NamedTuple):
    """One condition on every day looked at; arrays [day].

    share : the count over past seasons, with its interval, for a hybrid that lies on the curve
    odds, low, high : the same with the hybrid's own spread about the curve and the weights; NaN with too few seasons
    """

    share: Share
    odds: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


class Dates(NamedTuple):
    """The day of an event at odds of 1, 5 and 9 in 10; columns, +inf: not in the season; NaN with too few seasons.

    by_weather : from past seasons alone; all : with the hybrid's own spread about the curve
    """

    by_weather: tuple[float, float, float]
    all: tuple[float, float, float]


class Ahead(NamedTuple):
    """Moisture of every rest from yesterday on [rest, day]: the middle, the wettest and the driest it can be."""

    middle: NDArray[np.float64]
    wet: NDArray[np.float64]
    dry: NDArray[np.float64]
    first: int


def ahead(of: Rests, corn: Hybrid, at: Standing, since: int, last: int, more: float = 0.0) -> Ahead:
    """Moisture from yesterday evening to the evening of `last`, for every rest.

    since : column from which heat counts (the day after seeding, or of the first observation); more : whole units added
    """
    begin = max(since - 1, 0) if at.since is None else at.since
    paths = []
    for end, heat_end in (("usual", MIDDLE), ("wet", LEAST), ("dry", MOST)):
        own = np.cumsum(of.own[heat_end, since : of.today])
        before = np.concatenate([[0], own])[begin - since + 1 :] if begin >= since else np.concatenate([[0], own])
        total = own[-1] if own.size else 0
        rest = total + np.cumsum(of.heat[heat_end, :, of.today : last + 1], axis=1)
        gathered = np.concatenate([np.broadcast_to(before, (len(rest), before.size)), rest], axis=1) + at.offset + more
        path = moisture_by_day(gathered, corn.drying, of.killed, first_day=begin, start=at.start, end=end)
        paths.append(path[:, of.today - 1 - begin :])
    return Ahead(paths[0], np.maximum.reduce(paths), np.minimum.reduce(paths), of.today - 1)


def mix(paths: Ahead, legume_share: float) -> Ahead:
    """The paths of corn with a share of its wet weight in legume, which is greener."""
    if not legume_share:
        return paths
    green = numbers()["legume"]["moisture"]
    middle, wet, dry = (mixed(path, green, legume_share) for path in paths[:3])
    return Ahead(middle, wet, dry, paths.first)


def predicted(days: NDArray[np.float64], weights: NDArray[np.float64], odds: float) -> float:
    """The day that the next season keeps to with given odds, from the days of past seasons and their weights.

    The i-th of n seasons stands at i/(n + 1) (Weibull 1939; what exchangeable seasons cover), straight between; beyond
    the outermost it is the outermost. +inf where the event does not come by then; NaN for no seasons.

    >>> predicted(np.arange(250.0, 259.0), np.ones(9), 0.5)
    254.0
    """
    if not days.size or weights.sum() <= 0:
        return float("nan")
    order = np.argsort(days, kind="stable")
    day, weight = days[order], weights[order]
    at = np.cumsum(weight) / (weight.sum() + weight.sum() ** -1 * (weight**2).sum())
    last = np.searchsorted(at, odds)
    if last == 0:
        return float(day[0])
    if last == day.size:
        return float(day[-1])
    if not isfinite(day[last]) or not isfinite(day[last - 1]):
        return float(day[last])
    return float(np.interp(odds, at[last - 1 : last + 1], day[last - 1 : last + 1]))


def _condition(
    paths: Ahead, limits: Store, name: str
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
    """Certainly, possibly, and by the middle. [rest, day], from today on."""
    middle, wet, dry = (path[:, 1:] for path in paths[:3])
    if name == "in_range":
        return ((wet <= limits.high) & (dry >= limits.low), (dry <= limits.high) & (wet >= limits.low),
                (middle <= limits.high) & (middle >= limits.low))  # fmt: skip
    if name == "too_wet":
        return dry > limits.high, wet > limits.high, middle > limits.high
    return wet < limits.low, dry < limits.low, middle < limits.low


def odds_by_day(paths: Ahead, joined: Rests, limits: Store, spread: NDArray[np.float64], use: NDArray[np.float64],
          days: NDArray[np.int64]) -> dict[str, DayOdds]:  # fmt: skip
    whole = joined.complete
    total = use.sum()
    enough = int(whole.sum()) >= FEWEST
    effective = total**2 / (use**2).sum() if total > 0 else 0.0
    middle = paths.middle[:, 1:]
    wet = ndtr((middle - limits.high) / spread)
    dry = ndtr((limits.low - middle) / spread)
    smooth = {"too_wet": wet, "too_dry": dry, "in_range": 1 - wet - dry}
    found = {}
    for name in CONDITIONS:
        if name == "killed":
            yes, maybe = joined.killed.last[:, None] <= days, joined.killed.first[:, None] <= days
            middle_yes = yes
            part = yes.astype(float)
        else:
            yes, maybe, middle_yes = _condition(paths, limits, name)
            part = smooth[name]
        count = share(yes.sum(0), (~maybe).sum(0), (maybe & ~yes).sum(0), complete=int(whole.sum()),
                      complete_yes=(middle_yes & whole[:, None]).sum(0))  # fmt: skip
        point, low, high = np.full(days.size, np.nan), np.zeros(days.size), np.ones(days.size)
        if enough:
            point = np.clip((use[:, None] * part).sum(0) / total, 0, 1)  # rounding can leave the last place outside
            low, high = jeffreys(point * effective, effective, LEVEL)
        found[name] = DayOdds(count, point, low, high)
    return found


def moment(path: NDArray[np.float64], percent: float, first: int) -> NDArray[np.float64]:
    """The moment at which moisture passes a percentage, within its day; +inf where never. [rest]"""
    below = path <= percent + 1e-9
    index = below.argmax(axis=1)
    rows = np.arange(len(path))
    after, before = path[rows, index], path[rows, np.maximum(index - 1, 0)]
    with np.errstate(invalid="ignore", divide="ignore"):
        back = np.where(index > 0, (percent - after) / np.maximum(before - after, 1e-9), 0.0)
    return np.where(below.any(axis=1), index - np.clip(back, 0, 1) + first, np.inf)


def dates_at(paths: Ahead, percent: float, spread: NDArray[np.float64], use: NDArray[np.float64],
             days: NDArray[np.int64], enough: bool, shift: int = 0) -> Dates:  # fmt: skip
    """The day on which moisture falls to a percentage, at odds of 1, 5 and 9 in 10; `shift` days later."""
    if not enough:
        none = float("nan")
        return Dates((none, none, none), (none, none, none))
    moments = moment(paths.middle, percent, paths.first)
    weather = tuple(predicted(moments[use > 0], use[use > 0], p) for p in TENTHS)
    reached = (use[:, None] * ndtr((percent - paths.middle[:, 1:]) / spread)).sum(0) / use.sum()
    reached = np.maximum.accumulate(reached)
    both = []
    for p in TENTHS:
        index = int(np.searchsorted(reached, p))
        both.append(float(days[index]) if index < days.size else float("inf"))
    (a, b, c), (d, e, f) = ([float(np.ceil(day)) + shift for day in days_of] for days_of in (weather, both))
    return Dates((a, b, c), (d, e, f))


def band(paths: Ahead, spread: NDArray[np.float64], use: NDArray[np.float64]) -> NDArray[np.float64]:
    """Moisture that 1 and 9 in 10 fields have at most on each day [percent], over the past seasons and the hybrid's
    own spread about its curve: the ends of an 80 % band. [2, day]

    Found by halving, for the rests' normal curves add up to one that has no formula for its inverse.
    """
    weight = use[:, None] / use.sum()
    middle = paths.middle[:, 1:]
    low = np.broadcast_to(middle.min(0) - 5 * spread, (2, spread.size)).copy()
    high = np.broadcast_to(middle.max(0) + 5 * spread, (2, spread.size)).copy()
    wanted = np.array([TENTHS[0], TENTHS[2]])[:, None]
    for _ in range(24):  # a hundred points halved so often are under a ten thousandth
        half = (low + high) / 2
        under = (weight * ndtr((half[:, None] - middle) / spread)).sum(1) < wanted
        low, high = np.where(under, half, low), np.where(under, high, half)
    return (low + high) / 2


def best_days(odds: NDArray[np.float64], days: NDArray[np.int64]) -> tuple[int, int] | None:
    """The run of days around the best one with odds within 2 points of it."""
    if not np.isfinite(odds).any() or np.nanmax(odds) < WORTH_SAYING:
        return None
    top = int(np.nanargmax(odds))
    near = odds >= odds[top] - 0.02
    first = last = top
    while first > 0 and near[first - 1]:
        first -= 1
    while last + 1 < days.size and near[last + 1]:
        last += 1
    return int(days[first]), int(days[last])
