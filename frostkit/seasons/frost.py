"""Frost: days at or below a threshold, the last in spring, the first in fall, and when spring has warmed up."""

from dataclasses import replace
from math import ceil, floor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.seasons.calendar import COMPLETE, DAYS, MISSING, SPLIT, Cube, moved
from frostkit.seasons.heat import SHORT, Ints, bounds, extremes, has_heat, in_long_run
from frostkit.seasons.interval import NEVER, NONE, SeasonDates, days_between

Mask = NDArray[np.bool_]
HIDDEN = 20  # tenths of degC by which a missing day may be colder than the station's second lowest near that date


def limit(at_or_below: float) -> int:
    """The warmest reading [tenths of degC] that counts as at or below a threshold [degC].

    Readings come in tenths and 28 degF is stored as -2.2: a day counts when tmin <= threshold + 0.05.

    >>> limit(-2.2), limit((28 - 32) / 1.8), limit(0)
    (-22, -22, 0)
    """
    return floor(10 * at_or_below + 0.5 + 1e-9)


def cold(cube: Cube, at_or_below: float) -> tuple[Mask, Mask]:
    """Days at or below a threshold: (certainly, possibly); the same array twice where no missing day matters.

    A day without a reading is possibly cold where the station has come near it: where its second lowest Tmin near that
    date, less 2 degC, is at or below the threshold. Where the record says that a missing Tmin was above or below
    0 degC, that settles thresholds on that side.

    Returns
    -------
    two bool arrays, shape (..., season, 365)
    """
    return cold_days(cube.tmin, limit(at_or_below), cube.lows, cube.sign)


def cold_days(tmin10: NDArray[np.int16], at_most: int, lows: NDArray[np.int16],
              sign: NDArray[np.int8] | None = None) -> tuple[Mask, Mask]:  # fmt: skip
    """`cold` on plain arrays: tmin10 [..., season, day] tenths, at_most [tenths], lows [..., day], sign as tmin10."""
    at_most = max(at_most, int(MISSING) + 1)
    certain = tmin10 <= at_most
    missing = tmin10 == MISSING
    if not missing.any():
        return certain, certain
    certain &= ~missing
    could = (lows.astype(np.int32) - HIDDEN <= at_most)[..., None, :]
    if sign is not None and at_most >= -1:  # below 0 degC is -0.1 or colder
        certain |= missing & (sign < 0)
    hidden = missing & could
    if sign is not None and at_most <= 0:
        hidden &= sign <= 0
    possible = certain | hidden
    return (certain, certain) if np.array_equal(certain, possible) else (certain, possible)


def last_spring(cube: Cube, at_or_below: float = 0.0) -> SeasonDates:
    """Last day at or below a threshold before 1 August; -inf where spring has none.

    Returns
    -------
    SeasonDates, shape (..., season) [column]: `first` is the last such day that was seen, `last` the last that was or
    may have been.
    """
    certain, possible = cold(part(cube, 0, moved(SPLIT, cube.season_starts)), at_or_below)
    first = last_true(certain)
    return SeasonDates(first, first if possible is certain else last_true(possible))


def first_fall(cube: Cube, at_or_below: float = 0.0) -> SeasonDates:
    """First day at or below a threshold from 1 August on; +inf where the season has none.

    Returns
    -------
    SeasonDates, shape (..., season) [column]: `first` is the first day that was or may have been cold, `last` the first
    that was seen. Days to come are missing days: they may be cold, and may not.
    """
    split = moved(SPLIT, cube.season_starts)
    certain, possible = cold(part(cube, split, DAYS), at_or_below)
    last = first_true(certain) + split
    return SeasonDates(last if possible is certain else first_true(possible) + split, last)


def part(cube: Cube, first: int, stop: int) -> Cube:
    """The columns of a cube from `first` to the one before `stop`."""
    days = np.s_[..., first:stop]
    sign = None if cube.sign is None else cube.sign[days]
    return replace(cube, tmin=cube.tmin[days], tmax=cube.tmax[days], lows=cube.lows[days], sign=sign)


def frost_free_days(cube: Cube, at_or_below: float = 0.0) -> SeasonDates:
    """Days strictly between the last spring and the first fall frost: (least, most). [..., season]"""
    return days_between(last_spring(cube, at_or_below), first_fall(cube, at_or_below))


def first_true(mask: Mask) -> NDArray[np.float64]:
    """First day of `mask` [..., day] that holds, +inf where none does.

    >>> first_true(np.array([[False, True, True], [False, False, False]])).tolist()
    [1.0, inf]
    """
    if not mask.shape[-1]:
        return np.full(mask.shape[:-1], NEVER)
    at = mask.argmax(axis=-1)
    return np.where(_holds(mask, at), at, NEVER)


def last_true(mask: Mask) -> NDArray[np.float64]:
    """Last day of `mask` [..., day] that holds, -inf where none does.

    >>> last_true(np.array([[False, True, True], [False, False, False]])).tolist()
    [2.0, -inf]
    """
    at = mask.shape[-1] - 1 - mask[..., ::-1].argmax(axis=-1)
    return np.where(_holds(mask, at), at, NONE)


def _holds(mask: Mask, at: NDArray[np.int64]) -> Mask:
    return np.take_along_axis(mask, at[..., None], axis=-1)[..., 0]


def warm_up(cube: Cube, days: int = 7, mean: float = 10.0, from_day: int = 90) -> SeasonDates:
    """First day from `from_day` on with a warm week behind it: the air's stand-in for soil warm enough to sow.

    Warm: the mean of (tmax + tmin)/2 over that day and the `days - 1` before it is at least `mean` [degC].

    Returns
    -------
    SeasonDates, shape (..., season) [column]; +inf where it never comes
    """
    double = np.add(*cube.columns(), dtype=np.int32)
    known = has_heat(*cube.columns())
    low, high = double_bounds(double, known)
    last = first_warm(low, days, mean, from_day)
    return SeasonDates(last if low is high else first_warm(high, days, mean, from_day), last)


def double_bounds(double: Ints, known: Mask, short: int = SHORT) -> tuple[Ints, Ints]:
    """Bounds of tmin + tmax [tenths, ..., season, day] on missing days: as for heat, but down to the station's smallest
    near that date, since a mean temperature has no floor at 0."""
    if known.all():
        return double, double
    smallest, largest = extremes(double, known, ring=double.shape[-1] == DAYS)
    return bounds(double, known, smallest, largest, short)


def first_warm(double: NDArray[Any], days: int, mean: float, from_day: int) -> NDArray[np.float64]:
    """First day with a warm stretch behind it, +inf if none: double = tmin + tmax [tenths, ..., day]."""
    start = max(from_day, days - 1)
    behind = stretches(double[..., start - days + 1 :], days)
    return first_true(behind >= ceil(20 * days * mean - 1e-6)) + start  # 20: two temperatures, in tenths


def stretches(values: NDArray[Any], days: int) -> NDArray[Any]:
    """Sum of each `days` days in a row, from sums of 1, 2, 4, ... days. [..., day] -> [..., day - days + 1]

    >>> stretches(np.array([1, 2, 3, 4, 5]), 3).tolist()
    [6, 9, 12]
    """
    size = max(values.shape[-1] - days + 1, 0)
    total = np.zeros((*values.shape[:-1], size), values.dtype)
    part, width, done = values, 1, 0
    while width <= days and size:
        if days & width:
            total += part[..., done : done + size]
            done += width
        if 2 * width <= days:
            part = part[..., :-width] + part[..., width:]
        width *= 2
    return total


def complete(cube: Cube, short: int = SHORT) -> Mask:
    """Seasons that may carry a point share, decided before any outcome is known. [..., season]

    From 1 April to 31 October no run of more than 3 days without heat, and no missing day that could be cold at 0 degC.
    """
    first, last = (moved(day, cube.season_starts) for day in COMPLETE)
    days = part(cube, first, last + 1)
    missing = ~has_heat(*days.columns())
    good: Mask = np.logical_not(missing.any(axis=-1))
    if good.all():
        return good
    certain, possible = cold(days, 0.0)
    spoilt = in_long_run(missing, short) | (possible & ~certain)
    return good | ~spoilt.any(axis=-1)
