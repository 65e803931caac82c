"""The seedbed: its temperature from the air's by a lagged filter, and the days on which it is fit to sow.

The filter was fitted on the US Climate Reference Network, 2020, 10 April to 30 June, 5 cm, 13 stations at 43 to 50 N,
95 to 112 W: a day's soil lies within 2.3 degC (one standard deviation) of it, a single station 2.6 degC below to
3.4 degC above it all spring. So it is a calibration, and a thermometer in your own seedbed is better.
"""

from dataclasses import dataclass
from math import ceil
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.seasons.calendar import DAYS
from frostkit.seasons.frost import Mask, first_true, stretches

LAG = 0.2  # ours, fitted: see above
WARMER = 0.8  # degC, ours, fitted: see above
ROWS = 1024  # rows worked on at a time: their days stay in cache


@dataclass(frozen=True)
class SoilDegreeDays:
    """The clock of degree days of the soil at seed depth, above a base [degC], in hundredths.

    >>> steady = np.full((1, 365), 150, np.int16)
    >>> SoilDegreeDays().rate(steady, steady)[0, 100]
    np.int32(580)
    """

    base: float = 10.0
    lag: float = LAG
    warmer: float = WARMER

    per_unit: ClassVar[int] = 100
    unit: ClassVar[str] = "degC day"

    def rate(self, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> NDArray[np.int32]:
        """Degree days of each day [hundredths]. tmin10, tmax10 : int16 [..., 365], tenths of degC"""
        soil = soil_temperature(np.add(tmin10, tmax10, dtype=np.int32) / 20, self.lag, self.warmer)
        return np.rint(100 * np.maximum(soil - self.base, 0)).astype(np.int32)


@dataclass(frozen=True)
class Warmth:
    """Fit from the first day >= from_day with a warm stretch of air behind it; from then on it stays so.

    days : int, length of the stretch; mean : float [degC], of (tmax + tmin)/2; from_day : int [column]
    """

    days: int = 7
    mean: float = 10.0
    from_day: int = 90


@dataclass(frozen=True)
class SoilReady:
    """Fit on a day when the soil is warm enough on it and on the days after; a cold spell closes it again.

    Parameters
    ----------
    limit : float [degC]
        Least mean temperature of the seedbed, as `soil_temperature` has it.
    next_days : int
        Days after sowing on which it must hold too: seed that takes up cold water in its first 24 hours is harmed.
    from_day : int [column]
        Not fit before this day.
    rain : float [mm] or None
        A day with at least so much rain and a mean of the air below `rain_below` [degC] is a cold rain: not fit on it,
        nor on the `next_days` before it. Asked only where rain is given.
    lag, warmer : of the filter

    References
    ----------
    10 degC in the soil at sowing, and through the first 24 hours for soybean: Manitoba Agriculture 2013; Ohio State
    Univ. 2022; no figure for how much cold rain does harm: yours to set.
    """

    limit: float = 10.0
    next_days: int = 1
    from_day: int = 0
    rain: float | None = None
    rain_below: float = 10.0
    lag: float = LAG
    warmer: float = WARMER


Rule = Warmth | SoilReady


def soil_temperature(air: ArrayLike, lag: float = LAG, warmer: float = WARMER) -> NDArray[np.float64]:
    """Mean temperature of the seedbed (5 cm) from that of the air: each day it goes a share of the way to the air.

    Parameters
    ----------
    air : array, shape (..., day) [degC]
        Mean of each day. The first days stand for those before them, by their weight.
    lag : share of the way from yesterday's soil to today's air
    warmer : degC that the soil's mean stands above the filtered air's

    Returns
    -------
    array, shape (..., day) [degC]

    References
    ----------
    The idea: Zheng, Hunt & Running 1993, Climate Research 2:183-191 (from memory; theirs is an 11-day mean with a
    regression). `lag` and `warmer` are ours.

    Examples
    --------
    From 0 to 10 degC at once, a quarter of the way a day: after five days

    >>> float(soil_temperature([0.0] * 60 + [10.0] * 5, lag=0.25, warmer=0.0)[-1].round(3))
    7.627
    """
    by_day = np.multiply(np.moveaxis(np.asarray(air, float), -1, 0), lag, order="C")  # a day of all rows side by side
    for day in range(1, len(by_day)):
        by_day[day] += (1 - lag) * by_day[day - 1]
    weight = 1 - (1 - lag) ** np.arange(1, len(by_day) + 1)  # of the days since the first
    by_day /= weight.reshape(-1, *[1] * (by_day.ndim - 1))
    by_day += warmer
    return np.moveaxis(by_day, 0, -1)


def ready(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    rule: Rule | None,
    sowing: ArrayLike,
    prcp: NDArray[np.int16] | None = None,
) -> Mask:
    """Whether the seedbed was fit on each seeding day.

    Parameters
    ----------
    tmin, tmax : int16 arrays, shape (..., 365) [tenths of degC]
    rule : Warmth, SoilReady, or None (then any day is fit)
    sowing : int array, shape (seeding day,) [column]
    prcp : int16 array, shape (..., 365) [tenths of mm], optional
        For a rule about cold rain; a day without a reading (below 0) has none.

    Returns
    -------
    bool array, shape (..., seeding day)
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*tmin.shape[:-1], days.size)
    if rule is None:
        return np.ones(shape, bool)
    low, high = tmin.reshape(-1, DAYS), tmax.reshape(-1, DAYS)
    if isinstance(rule, Warmth):
        return (first_warm(low, high, rule, int(days.max()))[:, None] <= days).reshape(shape)
    rain = None if prcp is None or rule.rain is None else prcp.reshape(-1, DAYS)
    last = int(days.max()) + rule.next_days
    if last >= DAYS:
        raise SettingError(
            f"A seedbed can't be judged for seeding on day {int(days.max())} of the season.",
            "Give seeding days whose next days lie in the same season.",
        )
    out = np.empty((len(low), days.size), bool)
    for start in range(0, len(low), ROWS):
        rows = slice(start, start + ROWS)
        good = _good_days(low[rows], high[rows], rule, last, None if rain is None else rain[rows])
        fit = good[:, : last + 1 - rule.next_days].copy()
        for after in range(1, rule.next_days + 1):
            fit &= good[:, after : after + fit.shape[1]]
        out[rows] = fit[:, days]
    out &= days >= rule.from_day
    return out.reshape(shape)


def _good_days(
    tmin: NDArray[np.int16], tmax: NDArray[np.int16], rule: SoilReady, last: int, prcp: NDArray[np.int16] | None
) -> Mask:
    """Days of warm soil without a cold rain, up to column `last`. [row, day]"""
    low, high = (np.ascontiguousarray(part[:, : last + 1].T) for part in (tmin, tmax))  # as the filter goes: day by day
    air = (np.add(low, high, dtype=np.int32) / 20).T
    good = soil_temperature(air, rule.lag, rule.warmer) >= rule.limit - 1e-9
    if prcp is not None and rule.rain is not None:
        good &= ~((prcp[:, : last + 1] >= ceil(10 * rule.rain - 1e-9)) & (air < rule.rain_below))
    return good


def first_warm(
    tmin: NDArray[np.int16], tmax: NDArray[np.int16], rule: Warmth, by: int = DAYS - 1
) -> NDArray[np.float64]:
    """First day with a warm stretch behind it, by column `by`; +inf if none. tmin, tmax : int16 [..., 365], tenths"""
    first = max(rule.from_day, rule.days - 1)
    days = np.s_[..., first - rule.days + 1 : by + 1]
    kind = np.int16 if rule.days <= 16 else np.int32  # two readings of 100 degC on 16 days still fit 16 bits
    behind = stretches(np.add(tmin[days], tmax[days], dtype=kind), rule.days)
    return first_true(behind >= ceil(20 * rule.days * rule.mean - 1e-6)) + first  # 20: two temperatures, in tenths
