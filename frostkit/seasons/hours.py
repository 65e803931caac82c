"""How long cold lasted, where hourly readings are there: the longest run of hours, and what it kills."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

NOON = 12


def nights(hourly: ArrayLike) -> NDArray[np.float64]:
    """Hours of each day's night, from the noon before to that noon, so that a night is one row.

    hourly : array [..., hour] [degC], from midnight of the first day, whole days; NaN where not known.
    Returns array [..., day, 24]; the first day has no night before it, its early hours are NaN.

    >>> nights(np.arange(48.0))[1, [0, 23]].tolist()
    [12.0, 35.0]
    """
    readings = np.asarray(hourly, float)
    before = np.full((*readings.shape[:-1], NOON), np.nan)
    whole = np.concatenate([before, readings], axis=-1)[..., : readings.shape[-1]]
    return whole.reshape(*readings.shape[:-1], -1, 24)


def lasted(night: ArrayLike, at_or_below: float, step: float = 1.0) -> NDArray[np.float64]:
    """The longest run of readings at or below a temperature [h] that was seen; an hour without a reading ends a run.

    Parameters
    ----------
    night : array, shape (..., reading) [degC]
        NaN where not known.
    at_or_below : float [degC]
        A reading counts when it is at or below this and half a tenth.
    step : float [h] between readings; each stands for one step

    Examples
    --------
    >>> float(lasted([1, -1, -2, np.nan, -1, 3], 0.0))
    2.0
    """
    cold = np.asarray(night, float) <= at_or_below + 0.05  # readings come in tenths; NaN is not cold
    place = np.arange(1, cold.shape[-1] + 1)
    broken = np.maximum.accumulate(np.where(cold, 0, place), axis=-1)
    return step * (place - broken).max(axis=-1)


def kills(night: ArrayLike, rules: Iterable[tuple[float, float]], step: float = 1.0) -> NDArray[np.bool_]:
    """Whether a night was seen to kill by any of the rules (at_or_below [degC], hours in a row). [...]

    A rule of less than a step is met by one reading.

    >>> bool(kills([2, 0, 0, -1, 0, 2], [(0.0, 4.0), (-2.2, 0.25)]))
    True
    """
    readings = np.asarray(night, float)
    dead = np.zeros(readings.shape[:-1], bool)
    for at_or_below, hours in rules:
        dead |= lasted(readings, at_or_below, step) >= hours
    return dead
