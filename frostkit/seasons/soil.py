"""The seedbed's temperature from the air's: a lagged filter, and degree days of it as a clock for emergence.

Fitted on the US Climate Reference Network, 2020, 10 April to 30 June, 5 cm, 13 stations at 43 to 50 N, 95 to 112 W:
a day's soil lies within 2.3 degC (one standard deviation) of the filter, a single station 2.6 degC below to 3.4 degC
above it all spring. So it is a calibration, and a thermometer in your own seedbed is better.
"""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.calendar import DAYS, MISSING
from frostkit.seasons.growth import reached
from frostkit.seasons.heat import running
from frostkit.seasons.interval import NEVER

LAG = 0.2  # ours, fitted: see above
WARMER = 0.8  # degC, ours, fitted: see above


@dataclass(frozen=True)
class SoilDegreeDays:
    """The clock of degree days of the soil at seed depth, above a base [degC], in hundredths.

    The filter looks back some three weeks: after missing days it leans on the days before them, so the ends of a season
    date by this clock are a little too near each other in seasons with holes.

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
        """Degree days of each day [hundredths]. tmin10, tmax10 : int16 [..., season, 365], tenths of degC"""
        known = (tmin10 != MISSING) & (tmax10 != MISSING)
        air = np.where(known, (tmin10.astype(float) + tmax10) / 20, np.nan)
        soil = soil_temperature(air, self.lag, self.warmer)
        return np.rint(100 * np.maximum(np.nan_to_num(soil) - self.base, 0)).astype(np.int32)


def soil_temperature(air: ArrayLike, lag: float = LAG, warmer: float = WARMER) -> NDArray[np.float64]:
    """Mean temperature of the seedbed (5 cm) from that of the air: each day it goes a share of the way to the air.

    Parameters
    ----------
    air : array, shape (..., day) [degC]
        Mean of each day; NaN days have no say.
    lag : share of the way from yesterday's soil to today's air
    warmer : degC that the soil's mean stands above the filtered air's

    Returns
    -------
    array, shape (..., day) [degC]; NaN before the first known day

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
    air = np.asarray(air, float)
    back = np.arange(air.shape[-1])
    ago = back[None, :] - back[:, None]  # [day then, day now]
    weight = np.where(ago >= 0, lag * (1 - lag) ** np.maximum(ago, 0), 0.0)
    known = ~np.isnan(air)
    total = known @ weight
    with np.errstate(invalid="ignore"):
        return (
            np.where(total > 0, (np.where(known, air, 0.0) @ weight) / np.where(total > 0, total, 1.0), np.nan) + warmer
        )


def emergence(soil: ArrayLike, sowing: ArrayLike, need: float, base: float = 10.0) -> NDArray[np.float64]:
    """Day of emergence by measured soil temperature: the first by whose end the degree days since sowing are there.

    Parameters
    ----------
    soil : array, shape (..., 365) [degC]
        Daily mean at seed depth; where NaN, the day is not known, and so is what comes after it.
    sowing : int array, shape (seeding day,) [column]
    need : degree days [degC day] above `base`

    Returns
    -------
    array, shape (..., seeding day) [column]; +inf where it does not come, NaN where the record can't tell

    >>> emergence(np.full(365, 16.0), [130], need=60).tolist()
    [140.0]
    """
    soil = np.asarray(soil, float)
    rate = np.rint(100 * np.maximum(np.nan_to_num(soil) - base, 0)).astype(np.int32)
    sowing = np.asarray(sowing)
    came = reached(running(rate), sowing, round(100 * need))
    holes = np.concatenate([np.zeros((*soil.shape[:-1], 1)), np.cumsum(np.isnan(soil), axis=-1)], axis=-1)
    until = np.where(came == NEVER, DAYS - 1, came).astype(int)
    first = np.broadcast_to(sowing + 1, until.shape)
    hidden = np.take_along_axis(holes, until + 1, axis=-1) > np.take_along_axis(holes, first, axis=-1)
    return np.where(hidden, np.nan, came)
