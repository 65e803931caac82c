"""What the days around it and the neighbours lead one to expect of a reading, and how far readings scatter about that.

One linear regression serves the checks and the filling of holes: departures from the time of year, by calendar month,
on whatever predictors a day has. It is the best linear estimate (the conditional mean of a joint normal), worked from
covariances, so that a day with a missing predictor is estimated from the others.
"""

import numpy as np
from numpy.typing import NDArray

HARMONICS = 3  # a year's course by three sine waves: common practice, no source
SLOW = 365  # days either side for the slow level (warming, a moved thermometer): ours, no source
LEAST = 60  # days in common before a predictor is used; Durre et al. 2010 ask 40: from memory
RIDGE, RIDGE_BY_PAIR = 0.01, 0.1  # share added to each variance, so that the systems can be solved: ours, no source
TO_SD = 1.4826  # median absolute deviation to standard deviation of a normal: 1 / Phi^-1(3/4)


def course(values: NDArray, place: NDArray) -> NDArray[np.float32]:
    """The year's course at this station: three sine waves through all its readings.

    Parameters
    ----------
    values : float array, shape (..., day) [degC], NaN where nothing is known
    place : int array, shape (day,), 0 to 364

    Returns
    -------
    float32 array, shape (..., day) [degC]
    """
    turn = 2 * np.pi * np.arange(365) / 365
    waves = np.stack([np.ones(365), *(f(k * turn) for k in range(1, HARMONICS + 1) for f in (np.sin, np.cos))])
    flat = np.asarray(values, np.float32).reshape(-1, place.size)
    out = np.zeros(flat.shape, np.float32)
    for row, reading in enumerate(flat):
        there = np.isfinite(reading)
        weight = np.bincount(place[there], minlength=365).astype(float)
        total = np.bincount(place[there], reading[there], minlength=365)
        normal = (waves * weight) @ waves.T + 1e-6 * np.eye(len(waves))
        out[row] = (np.linalg.solve(normal, waves @ total) @ waves)[place]
    return out.reshape(np.shape(values))


def usual(values: NDArray, place: NDArray) -> NDArray[np.float32]:
    """What is usual for the time of year at this station in these years: its course, and how the year around departs.

    As `course`, plus the mean departure of the year before and after, shrunk to nothing where few days are known.
    """
    values = np.asarray(values, np.float32)
    there = np.isfinite(values)
    mean = course(values, place)
    departure = np.where(there, values - mean, 0)
    zero = np.zeros((*values.shape[:-1], 1))
    total = np.concatenate([zero, np.cumsum(departure, axis=-1, dtype=float)], axis=-1)
    count = np.concatenate([zero, np.cumsum(there, axis=-1)], axis=-1)
    low = np.clip(np.arange(place.size) - SLOW, 0, None)
    high = np.clip(np.arange(place.size) + SLOW + 1, None, place.size)
    number = count[..., high] - count[..., low]
    return mean + ((total[..., high] - total[..., low]) / (number + LEAST)).astype(np.float32)


def later(values: NDArray, by: int) -> NDArray:
    """The series `by` days later (the reading of `by` days before stands on each day); NaN where there is none.

    >>> later(np.array([1.0, 2.0, 3.0]), 1).tolist()
    [nan, 1.0, 2.0]
    """
    out = np.full_like(values, np.nan)
    if by > 0:
        out[by:] = values[:-by]
    elif by < 0:
        out[:by] = values[-by:]
    else:
        out[:] = values
    return out


def expected(target: NDArray, predictors: NDArray, month: NDArray) -> tuple[NDArray, NDArray]:
    """Each day's value as its predictors give it, and the scatter of readings about that.

    Parameters
    ----------
    target : float32 array, shape (day,) [degC], departures from `usual`, NaN where nothing is known
    predictors : float32 array, shape (predictor, day) [degC], departures from `usual`, NaN where nothing is known
    month : int array, shape (day,), 0 to 11

    Returns
    -------
    expected, scatter : float32 arrays, shape (day,) [degC]
        Worked from the month and the months beside it. `scatter` is a robust standard deviation (from the median of
        the absolute residuals of the season); a day without predictors is expected as usual, with the full scatter.
    """
    every = np.concatenate([predictors, target[None]]).astype(np.float32)
    there = np.isfinite(every)
    every = np.where(there, every, np.float32(0))
    number, size = predictors.shape[0], target.size
    cov, enough, ridge = _covariance(every, there, month)

    # one small system for each month and each set of predictors that is there
    use = there[:number] & enough[month].T
    code = month + 12 * (1 << np.arange(number)).dot(use)
    _, first, which = np.unique(code, return_index=True, return_inverse=True)
    has = use[:, first].T  # (set, predictor)
    inside = cov[month[first]]
    both = inside[:, :number, :number] * (has[:, :, None] & has[:, None, :])
    own = np.where(has, np.diagonal(inside[:, :number, :number], axis1=1, axis2=2) * ridge[month[first], None], 1)
    both[:, np.arange(number), np.arange(number)] += own
    to = inside[:, :number, number] * has
    by = np.linalg.solve(both, to[..., None])[..., 0]  # (set, predictor)
    left = np.sqrt(np.maximum(inside[:, number, number] - (by * to).sum(1), 0.01))

    value = np.zeros(size, np.float32)
    for each in range(number):
        value += by[which, each].astype(np.float32) * every[each]
    spread = left[which].astype(np.float32)
    score = np.where(there[number], np.abs(every[number] - value) / spread, np.nan)
    scale = np.ones(12)
    for each in range(12):
        near = score[np.isin(month, [(each - 1) % 12, each, (each + 1) % 12])]
        near = near[near == near]
        if near.size >= LEAST:
            scale[each] = TO_SD * np.median(near)
    return value, spread * scale[month].astype(np.float32)


def _covariance(every, there, month):
    """Covariances by calendar month, which predictors have days enough, and the ridge each month needs.

    From the days on which all are known; in a month with too few of those, from the days each pair has in common,
    which may contradict each other and so are trusted less.
    """
    number = len(every) - 1
    full = there.all(0)
    products, pairs = np.zeros((2, 12, number + 1, number + 1)), np.zeros((12, number + 1, number + 1))
    whole = np.zeros(12)
    for each in range(12):  # twelve matrix products are faster than one gather of every pair
        days = month == each
        whole[each] = (days & full).sum()
        products[0, each] = every[:, days & full] @ every[:, days & full].T
    sparse = _with_next(whole) < LEAST
    if sparse.any():
        weight = there.astype(np.float32)
        for each in range(12):
            days = month == each
            products[1, each] = every[:, days] @ every[:, days].T
            pairs[each] = weight[:, days] @ weight[:, days].T
    complete = _with_next(products[0]) / np.maximum(_with_next(whole), 1)[:, None, None]
    by_pair = _with_next(products[1]) / np.maximum(_with_next(pairs), 1)
    cov = np.where(sparse[:, None, None], by_pair, complete)
    enough = ~sparse[:, None] | (_with_next(pairs)[:, :number, number] >= LEAST)
    return cov, enough, np.where(sparse, RIDGE_BY_PAIR, RIDGE)


def _with_next(by_month):
    """Each month with the month before and after."""
    return by_month + np.roll(by_month, 1, 0) + np.roll(by_month, -1, 0)
