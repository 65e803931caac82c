"""Days on which a field can be worked: a daily water balance of its upper zones, and a published rule on them.

The rule: no workday while any of the upper zones holds over 95 % of what it can (Rutledge and McHardy, seven stations
in Alberta, as given in Baier 1973, Can. Agric. Eng. 15). It was set on a balance of a four-inch store; ours is a plain
one with the same zones, and snow and frost in the ground are ours. Held against weekly counts in docs/season.md: the
number of days in a May comes out right, which days they are in one week much less.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import choose
from frostkit.seasons.calendar import DAYS, MISSING
from frostkit.seasons.frost import Mask
from frostkit.seasons.light import season_extraterrestrial
from frostkit.seasons.soil import soil_temperature

Floats = NDArray[np.float64]
LATENT = 0.408  # mm of water that a MJ m-2 can evaporate: FAO-56 (Allen et al. 1998), eq. 20


@dataclass(frozen=True)
class UpperSoil:
    """The upper soil of a field before its crop covers it.

    holds : mm of water that each upper zone holds, from the top
    uses : share of the day's evaporation that each gives while it is full
    at_most : share of what it holds above which no zone may stand on a workday
    """

    holds: tuple[float, ...]
    uses: tuple[float, ...]
    at_most: float = 0.95  # Rutledge and McHardy, as given in Baier 1973


# Baier and Robertson 1966 (Can. J. Plant Sci. 46:299-315), from memory: of a four-inch (100 mm) store the zones hold 5,
# 7.5 and 12.5 %, and give 0.60, 0.15 and 0.05 of the evaporation from bare ground. Two zones in sand: Baier 1973.
SOILS = {
    "loam": UpperSoil((5.0, 7.5, 12.5), (0.60, 0.15, 0.05)),
    "sand": UpperSoil((5.0, 7.5), (0.60, 0.15)),
}
SNOW_BELOW = 0.0  # degC, mean of the air: what falls stays as snow; common practice, no source
MELTS = 3.0  # mm a day for a degree above 0: within 1.6 to 6 of degree-day handbooks, from memory
SNOW_COVER = 1.0  # mm of water in snow from which on nobody works: common practice, no source
FROZEN = 0.0  # degC of the seedbed at or below which the ground is frozen, gives no water and is not worked


def evapotranspiration(tmin: ArrayLike, tmax: ArrayLike, above: ArrayLike) -> Floats:
    """Reference evapotranspiration of a day from its temperatures [mm] (Hargreaves; FAO-56, eq. 52); never below 0.

    tmin, tmax : arrays [degC]; above : array [MJ m-2 d-1], radiation above the air, from `light.extraterrestrial`

    >>> round(float(evapotranspiration(14.8, 26.6, 40.6)), 1)
    5.0
    """
    low, high = np.asarray(tmin, float), np.asarray(tmax, float)
    swing = np.sqrt(np.maximum(high - low, 0))
    return np.maximum(0.0023 * ((low + high) / 2 + 17.8) * swing * LATENT * np.asarray(above, float), 0)


def workdays(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    prcp: NDArray[np.int16],
    latitude: float,
    soil: str = "loam",
    last: int = DAYS - 1,
) -> Mask:
    """Whether a field could be worked on each day of each season: by its evening, rain of the day included.

    The season starts with full zones: what the winter left wets them in any case.

    Parameters
    ----------
    tmin, tmax : int16 arrays, shape (..., 365) [tenths of degC], without holes
    prcp : int16 array, shape (..., 365) [tenths of mm]; a day without a reading has none
    latitude : degrees north
    soil : a key of `SOILS`
    last : the last column that is looked at; later ones are False

    Returns
    -------
    bool array, shape (..., 365)
    """
    of = SOILS[choose("soil", soil, SOILS)]
    stored, workable = zones(tmin, tmax, prcp, latitude, of, last)
    limit = of.at_most * np.array(of.holds) + 1e-9
    out = np.zeros(tmin.shape, bool)
    out[..., : last + 1] = workable & (stored <= limit).all(axis=-1)
    return out


def zones(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    prcp: NDArray[np.int16],
    latitude: float,
    soil: UpperSoil = SOILS["loam"],
    last: int = DAYS - 1,
) -> tuple[Floats, Mask]:
    """Water in each zone by the evening of each day, and whether neither snow nor frost kept people off.

    Rain and melt fill the zones from the top, what none of them holds leaves; then each gives its share of the day's
    evaporation, less as it dries.

    Returns
    -------
    float array, shape (..., day, zone) [mm], and bool array, shape (..., day); day up to `last`
    """
    shape, size = tmin.shape[:-1], last + 1
    low = tmin.reshape(-1, DAYS)[:, :size].T / 10
    high = tmax.reshape(-1, DAYS)[:, :size].T / 10
    fallen = prcp.reshape(-1, DAYS)[:, :size].T
    rain = np.where(fallen == MISSING, 0, np.maximum(fallen, 0)) / 10
    mean = (low + high) / 2
    demand = evapotranspiration(low, high, season_extraterrestrial(latitude)[:size, None])
    frozen = soil_temperature(mean.T).T <= FROZEN
    melts = np.maximum(mean - SNOW_BELOW, 0) * MELTS
    snow = np.zeros(mean.shape[1])
    stored = [np.full(mean.shape[1], held) for held in soil.holds]
    out = np.empty((size, len(soil.holds), mean.shape[1]))
    free = np.empty(mean.shape, bool)
    for day in range(size):
        cold = mean[day] <= SNOW_BELOW
        melted = np.minimum(snow, melts[day])
        snow = snow - melted + np.where(cold, rain[day], 0)
        water = melted + np.where(cold, 0, rain[day])
        bare = (snow < SNOW_COVER) & ~frozen[day]
        for zone, (held, used) in enumerate(zip(soil.holds, soil.uses, strict=True)):
            filled = stored[zone] + water
            stored[zone] = np.minimum(filled, held)
            water = filled - stored[zone]
            given = used * demand[day] * stored[zone] / held
            stored[zone] = np.where(bare, np.maximum(stored[zone] - given, 0), stored[zone])
            out[day, zone] = stored[zone]
        free[day] = bare
    return np.moveaxis(out, -1, 0).reshape(*shape, size, -1), free.T.reshape(*shape, size)


def by_week(work: Mask, first: int, last: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Workdays in each whole week from one day to another: first day of each week [week], and days [..., week].

    >>> start, days = by_week(np.ones((1, 365), bool), 90, 119)
    >>> start.tolist(), days.tolist()
    ([90, 97, 104, 111], [[7, 7, 7, 7]])
    """
    weeks = (last - first + 1) // 7
    part = work[..., first : first + 7 * weeks]
    return first + 7 * np.arange(weeks), part.reshape(*work.shape[:-1], weeks, 7).sum(axis=-1)
