"""From the station to the field: how much each night of each season moves, drawn where the offset has scatter."""

import numpy as np
from numpy.typing import NDArray

from frostkit.records.field import ALIKE, LEAST_NIGHTS, Offset
from frostkit.seasons.calendar import DAYS, MISSING, month_day

Floats = NDArray[np.float64]
SEED = 20
_MONTH = np.array([month_day(day)[0] for day in range(DAYS)])
_SEASON = np.array([0, 0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2])[_MONTH - 1]
"""Spring, summer or fall of each column; winter days go with the nearer of spring and fall."""


def is_plain(offset: Offset) -> bool:
    """Whether an offset is one number for each kind of night, without scatter: nobody measured it."""
    return not offset.scatter.any() and not offset.error.any()


def field_moves(
    offset: Offset, tmin: NDArray[np.int16], tmax: NDArray[np.int16], departure: Floats, draws: int
) -> Floats:
    """Degrees that each night moves from the station to the field.

    Each draw takes the offset of each kind of night within its error, and for each night the residual of a night that
    the logger saw. Tmax is not moved.

    Parameters
    ----------
    offset : Offset, from `records.field.compare` or `low_spot`
    tmin, tmax : int16 [draw or 1, season, 365], tenths of degC, without holes; Tmax `MISSING` where it is not known
    departure : float, same shape: Tmin's departure from the usual of its date and season, degC
    draws : 1 for an offset without scatter

    Returns
    -------
    float [draw, season, 365], degC
    """
    rng = np.random.default_rng(SEED)
    clear = _clear_nights(tmin, tmax)
    kind = np.broadcast_to(_SEASON * 2 + clear, clear.shape)
    ahead = departure - _means(departure, kind)[kind]
    out = np.empty((draws, *tmin.shape[1:]))
    for draw in range(draws):
        here = draw % len(tmin)
        mean = (offset.mean + offset.error * rng.standard_normal(offset.mean.shape)).ravel()
        lean = offset.lean + offset.lean_error * rng.standard_normal()
        out[draw] = mean[kind[here]] + lean * ahead[here]
        for each, pool in enumerate(offset.residuals):
            nights = kind[here] == each
            if pool.size:
                out[draw][nights] += _residuals(pool, ahead[here][nights], rng)
    return out


def _clear_nights(tmin: NDArray[np.int16], tmax: NDArray[np.int16]) -> NDArray[np.int64]:
    """1 where a night counts as clear and calm: where the day's range is at least the median of its month; else 0."""
    span = np.where(tmax == MISSING, -1, tmax.astype(np.int32) - tmin)
    usual = np.full(DAYS, np.inf)
    for month in range(1, 13):
        days = month == _MONTH
        known = span[..., days][tmax[..., days] != MISSING]
        if known.size:
            usual[days] = np.median(known)
    return (span >= usual).astype(np.int64)


def _means(values: Floats, kind: NDArray[np.int64]) -> Floats:
    """Mean over the nights of each of the six kinds."""
    number = np.bincount(kind.ravel(), minlength=6)
    return np.bincount(kind.ravel(), values.ravel(), 6) / np.maximum(number, 1)


def _residuals(pool: Floats, ahead: Floats, rng: np.random.Generator) -> Floats:
    """For each night the residual of one of the logged nights that were most like it: cold nights scatter less."""
    number = pool.shape[1]
    alike = min(number, max(LEAST_NIGHTS, round(number * ALIKE)))
    first = np.clip(np.searchsorted(pool[0], ahead) - alike // 2, 0, number - alike)
    return pool[1][first + rng.integers(alike, size=ahead.size)]
