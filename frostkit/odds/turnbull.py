"""The odds that fit seasons with holes best: the nonparametric maximum likelihood estimate of Turnbull.

A season is known to have its date somewhere in `first..last`. The share put on each innermost stretch of days is the
one that makes what was seen most likely. Plain expectation-maximisation creeps towards it and a stop on the size of
its steps ends early; here the concave problem is solved by an interior-point method and the answer is checked
against the conditions that only the maximum meets.

References
----------
Turnbull 1976, J. Roy. Stat. Soc. B 38:290-295; Peto 1973, Applied Statistics 22:86-91 (innermost intervals);
Lindsay 1983, Annals of Statistics 11:86-94 (the gradient conditions).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.odds.curve import Curve, from_known

GAP = 1e-9  # largest excess of the gradient over its bound, a season: far inside the 1e-6 asked of the shares
_ROUNDS = 80  # interior-point steps; 15 to 30 are enough, the rest is room
_AT_ONCE = 2_000_000  # numbers of the seasons-by-pieces table held at one time


class Fit(NamedTuple):
    """The estimate and its proof.

    curve : Curve [..., piece], in seasons; rows with fewer pieces than others are filled up with empty ones at +inf
    excess : float [...], how far the steepest direction still rises, per season: at most `GAP` at the maximum
    """

    curve: Curve
    excess: NDArray[np.float64]


def turnbull(first: ArrayLike, last: ArrayLike, weight: ArrayLike | None = None) -> Fit:
    """Shares of seasons on each innermost stretch of days, for every row of season dates at once.

    Where every date is known this is plain counting, and where open dates have no end on one side it is Kaplan and
    Meier's product limit; both are done as that.

    Parameters
    ----------
    first, last : float array [..., season], days, ends included; `-inf` and `inf` allowed
    weight : float array [..., season], optional
        0 leaves a season out. A season that can be any day at all says nothing and is left out too.

    Examples
    --------
    The middle share is exactly 0, where expectation-maximisation still holds 1e-4 after 20,000 rounds:

    >>> fit = turnbull([1, 1, 2, 3, 1], [1, 2, 3, 3, 3])
    >>> (fit.curve.first.tolist(), fit.curve.mass.round(6).tolist())
    ([1.0, 2.0, 3.0], [2.5, 0.0, 2.5])
    """
    low, high = np.broadcast_arrays(np.asarray(first, float), np.asarray(last, float))
    w = np.broadcast_to(np.ones(1) if weight is None else np.asarray(weight, float), low.shape)
    w = np.where((low == -np.inf) & (high == np.inf), 0.0, w)
    if not (w * (low != high)).any():
        return Fit(from_known(low, w), np.zeros(low.shape[:-1]))
    shape, seasons = low.shape[:-1], low.shape[-1]
    low, high, w = (part.reshape(-1, seasons) for part in (low, high, w))
    low, high = np.where(w > 0, low, -np.inf), np.where(w > 0, high, np.inf)
    open_date = (low != high) & (w > 0)
    parts = [np.full(low.shape, np.inf), np.full(low.shape, np.inf), np.zeros(low.shape)]
    excess = np.zeros(low.shape[0])
    later = ~(open_date & (high < np.inf)).any(-1)
    earlier = ~(open_date & (low > -np.inf)).any(-1) & ~later
    widest = seasons if (later | earlier).any() else 1
    for rows, sign in ((later, 1.0), (earlier, -1.0)):
        begin, end = (low, high) if sign > 0 else (-high, -low)
        day, mass = _product_limit(begin[rows], end[rows], w[rows])
        parts[0][rows] = parts[1][rows] = sign * day
        parts[2][rows] = mass
    rows = np.flatnonzero(~later & ~earlier)
    step = max(1, _AT_ONCE // seasons**2)
    for start in range(0, rows.size, step):
        block = rows[start : start + step]
        solved, gap = _solve(low[block], high[block], w[block])
        width = solved.mass.shape[-1]
        widest = max(widest, width)
        for part, value in zip(parts, solved, strict=True):
            part[block, :width] = value
        excess[block] = gap
    first_, last_, mass = (part[:, :widest].reshape(*shape, widest) for part in parts)
    return Fit(Curve(first_, last_, mass), excess.reshape(shape))


def _product_limit(first: NDArray, last: NDArray, w: NDArray) -> tuple[NDArray, NDArray]:
    """Rows whose open dates have no end, in closed form: (day, seasons on it) [row, season].

    What is left when the last season seen is an open one stays on its first day.

    References
    ----------
    Kaplan, Meier 1958, J. Am. Stat. Assoc. 53:457-481.
    """
    event = (first == last) & (w > 0)
    day = np.where(w > 0, first, np.inf)
    order = np.lexsort((event, w == 0, day), axis=-1)  # on one day those open from it say nothing of that day
    day, event, weight = (np.take_along_axis(part, order, -1) for part in (day, event, w))
    to_come = np.cumsum(weight[..., ::-1], -1)[..., ::-1]
    with np.errstate(invalid="ignore", divide="ignore"):
        stays = np.where(event & (to_come > weight), 1 - weight / to_come, np.where(event, 0.0, 1.0))
    left = np.cumprod(stays, -1)
    before = np.concatenate([np.ones_like(left[..., :1]), left[..., :-1]], -1)
    mass = before - left
    final = (weight > 0) & (to_come <= weight)  # the last season that counts
    mass = np.where(final, before, mass)
    return day, mass * weight.sum(-1, keepdims=True)


def innermost(low: NDArray[np.float64], high: NDArray[np.float64]) -> tuple[NDArray, NDArray, NDArray[np.bool_]]:
    """Stretches of days that can carry a share: from a season's first day to the next last day, none between.

    low, high : [row, season] -> first, last, there : [row, piece]

    An open end is brought in to the other end: with nothing seen beyond a day, the event is taken to come on that day.

    >>> [part.tolist() for part in innermost(np.array([[250., 253, 255, 254]]), np.array([[250., np.inf, 255, 261]]))]
    [[[250.0, 255.0]], [[250.0, 255.0]], [[True, True]]]
    """
    seasons = low.shape[-1]
    ends = np.concatenate([low, high], -1)
    is_last = np.repeat([[False, True]], [seasons, seasons], axis=-1)
    order = np.lexsort((np.broadcast_to(is_last, ends.shape), ends), axis=-1)
    value = np.take_along_axis(ends, order, -1)
    closing = order >= seasons
    opens = ~closing[:, :-1] & closing[:, 1:]
    count = opens.sum(-1)
    place = np.argsort(~opens, axis=-1, kind="stable")[:, : count.max(initial=1)]
    first = np.take_along_axis(value[:, :-1], place, -1)
    last = np.take_along_axis(value[:, 1:], place, -1)
    there = np.arange(place.shape[-1]) < count[:, None]
    first = np.where(there, np.where(np.isfinite(first), first, np.where(np.isfinite(last), last, first)), np.inf)
    last = np.where(there, np.where(np.isfinite(last), last, np.where(np.isfinite(first), first, last)), np.inf)
    return first, last, there


def _solve(low: NDArray, high: NDArray, w: NDArray) -> Fit:
    """Every row by primal-dual interior-point steps, then Newton's on the pieces that carry a share."""
    first, last, there = innermost(low, high)
    inside = (low[:, :, None] <= first[:, None, :]) & (last[:, None, :] <= high[:, :, None]) & there[:, None, :]
    n = w.sum(-1, keepdims=True)
    whole = (inside.astype(float), there, w, n)
    mass = np.where(there, n / there.sum(-1, keepdims=True), 0.0)  # in seasons, not shares: the bound on the slope is 1
    slack = there.astype(float)
    unit = np.eye(there.shape[-1])
    live = np.arange(low.shape[0])
    answer = mass.copy()
    for _ in range(_ROUNDS):
        table, real, weight, total = (part[live] for part in whole)
        rise, bend = _slopes(table, mass, weight)
        off = np.where(real, 1 - rise - slack, 0.0)
        gap = (mass * slack).sum(-1, keepdims=True) / total
        answer[live] = mass
        go = ((gap > 1e-14) | (np.abs(off).max(-1, keepdims=True) > 1e-11))[:, 0]
        if not go.any():
            break
        live, mass, slack, real, off, gap, total = (part[go] for part in (live, mass, slack, real, off, gap, total))
        aim = 0.1 * gap * total / real.sum(-1, keepdims=True) - mass * slack
        safe = np.where(real, mass, 1.0)
        left = bend[go] + unit * np.where(real, slack / safe, 1.0)[:, None, :]
        move = np.linalg.solve(left, np.where(real, aim / safe - off, 0.0)[..., None])[..., 0]
        push = np.where(real, (aim - slack * move) / safe, 0.0)
        step = np.minimum(_room(mass, move), _room(slack, push))
        mass, slack = mass + step * move, slack + step * push
    sharp = _sharpen(whole, answer)
    before, after = _excess(whole, answer), _excess(whole, sharp)
    better = (after <= np.maximum(before, GAP)) & (sharp >= 0).all(-1)
    answer = np.where(better[:, None], sharp, answer)
    total = answer.sum(-1, keepdims=True)
    return Fit(Curve(first, last, answer * n / total), np.where(better, after, before))


def _sharpen(whole: tuple, mass: NDArray) -> NDArray:
    """Pieces with next to nothing set to zero, the others brought to the maximum by Newton steps."""
    table, _, w, n = whole
    on = mass > 1e-6 * n
    unit = np.eye(mass.shape[-1])
    mass = np.where(on, mass, 0.0)
    for _ in range(4):
        rise, bend = _slopes(table, mass, w)
        left = np.where(on[:, :, None] & on[:, None, :], bend, 0.0) + unit * np.where(on, 1e-13, 1.0)[:, None, :]
        mass = mass + np.linalg.solve(left, np.where(on, rise - 1, 0.0)[..., None])[..., 0]
    return mass


def _excess(whole: tuple, mass: NDArray) -> NDArray:
    """How far the steepest rise of the log likelihood is above 1, the most it can be at the maximum."""
    table, there, w, n = whole
    rise, _ = _slopes(table, mass * n / mass.sum(-1, keepdims=True), w)
    return np.maximum(np.where(there, rise, 0.0).max(-1) - 1, 0.0)


def _slopes(table, mass, w):
    """First derivative and minus the second one of the log likelihood: [row, piece], [row, piece, piece]."""
    seen = np.matmul(table, mass[..., None])[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(w > 0, w / seen, 0.0)
        curved = np.where(w > 0, w / seen**2, 0.0)
    rise = np.matmul(ratio[:, None, :], table)[:, 0]
    return rise, np.matmul(np.swapaxes(table * curved[..., None], 1, 2), table)


def _room(value, move):
    """Longest step, at most 1, that keeps every value above 0.005 of itself."""
    with np.errstate(divide="ignore", invalid="ignore"):
        limit = np.where(move < 0, -0.995 * value / move, np.inf)
    return np.minimum(1.0, limit.min(-1, keepdims=True))
