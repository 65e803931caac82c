"""Frost: the last day at or below a threshold in spring, the first in fall, and the days between them."""

from math import floor
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.calendar import MISSING, NEVER, NONE, SPLIT, column

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]


def limit(at_or_below: float) -> int:
    """The warmest reading [tenths of degC] that counts as at or below a threshold [degC].

    Readings come in tenths and 28 degF is stored as -2.2: a day counts when tmin <= threshold + 0.05.

    >>> limit(-2.2), limit((28 - 32) / 1.8), limit(0)
    (-22, -22, 0)
    """
    return floor(10 * at_or_below + 0.5 + 1e-9)


def cold_days(tmin: NDArray[np.int16], at_or_below: float) -> Mask:
    """Days at or below a threshold [degC]; a day that was not read is none. tmin : int16 [..., day], tenths of degC"""
    at_most = np.int16(limit(at_or_below))
    return (tmin <= at_most) & (tmin != MISSING)


def last_spring(tmin: NDArray[np.int16], at_or_below: float = 0.0) -> Floats:
    """Last day at or below a threshold [degC] before 1 August; -inf where spring has none.

    tmin : int16 [..., 365], tenths of degC. Returns float [...] [column].
    """
    return last_true(cold_days(tmin[..., : column(*SPLIT)], at_or_below))


def first_fall(tmin: NDArray[np.int16], at_or_below: float = 0.0) -> Floats:
    """First day at or below a threshold [degC] from 1 August on; +inf where the season has none.

    tmin : int16 [..., 365], tenths of degC. Returns float [...] [column].
    """
    split = column(*SPLIT)
    return first_true(cold_days(tmin[..., split:], at_or_below)) + split


def frost_free_days(spring: ArrayLike, fall: ArrayLike) -> Floats:
    """Days strictly between the last spring and the first fall frost, at least 0; +inf where one of them never came.

    spring, fall : arrays [...] [column]. Source: Environment and Climate Change Canada, 1981-2010 normals: length =
    first fall - last spring - 1.

    >>> frost_free_days([137, float("-inf")], [257, 257]).tolist()
    [119.0, inf]
    """
    return np.maximum(np.asarray(fall, float) - np.asarray(spring, float) - 1, 0)


def first_true(mask: Mask) -> Floats:
    """First day of `mask` [..., day] that holds, +inf where none does.

    >>> first_true(np.array([[False, True, True], [False, False, False]])).tolist()
    [1.0, inf]
    """
    if not mask.shape[-1]:
        return np.full(mask.shape[:-1], NEVER)
    at = mask.argmax(axis=-1)
    return np.where(_holds(mask, at), at, NEVER)


def last_true(mask: Mask) -> Floats:
    """Last day of `mask` [..., day] that holds, -inf where none does.

    >>> last_true(np.array([[False, True, True], [False, False, False]])).tolist()
    [2.0, -inf]
    """
    if not mask.shape[-1]:
        return np.full(mask.shape[:-1], NONE)
    at = mask.shape[-1] - 1 - mask[..., ::-1].argmax(axis=-1)
    return np.where(_holds(mask, at), at, NONE)


def _holds(mask: Mask, at: NDArray[np.int64]) -> Mask:
    return np.take_along_axis(mask, at[..., None], axis=-1)[..., 0]


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
