"""Sunlight without a sensor: what arrives above the air by latitude and day, and what of it a day's temperatures tell.

The rule from the temperature range is meant for means over 7 to 10 days; a single day can be far off. Against measured
radiation at 32 stations between 40 and 50.5 N, May to September 2020, a single day was off by 24 % of the mean, nine
days by 12 %, and the season's sum was 7 % too high (half of the stations 3 to 14 %): see tests/published.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.calendar import DAYS, column

Floats = NDArray[np.float64]
SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1: FAO-56 (Allen et al. 1998), eq. 21
INLAND, COAST = 0.16, 0.19  # degC^-0.5: FAO-56, eq. 50
MEAN_DAYS = 9  # of the mean: within FAO-56's "7 to 10 days", odd so that each day stands in the middle of its own


def earth_sun(day_of_year: ArrayLike) -> Floats:
    """Inverse relative distance between earth and sun (FAO-56, eq. 23). [...]

    >>> round(float(earth_sun(246)), 3)
    0.985
    """
    return 1 + 0.033 * np.cos(2 * np.pi * np.asarray(day_of_year, float) / 365)


def declination(day_of_year: ArrayLike) -> Floats:
    """Declination of the sun [rad] (FAO-56, eq. 24): at most a quarter of a degree off from May to September. [...]

    >>> round(float(declination(246)), 2)
    0.12
    """
    return 0.409 * np.sin(2 * np.pi * np.asarray(day_of_year, float) / 365 - 1.39)


def sunset_angle(latitude: ArrayLike, declined: ArrayLike) -> Floats:
    """Hour angle of sunset [rad] (FAO-56, eq. 25); 0 in the polar night, pi in the polar day.

    latitude : array [degrees north]; declined : array [rad], the sun's declination
    """
    return np.arccos(np.clip(-np.tan(np.deg2rad(np.asarray(latitude, float))) * np.tan(declined), -1, 1))


def daylight(angle: ArrayLike) -> Floats:
    """Hours of daylight by the sun's centre, from the hour angle of sunset [rad] (FAO-56, eq. 34). [h]"""
    return 24 / np.pi * np.asarray(angle, float)


def extraterrestrial(latitude: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Radiation above the air on a level square metre in a day, Ra [MJ m-2 d-1] (FAO-56, eq. 21).

    latitude : array [degrees north]; day_of_year : array [1 = 1 January], broadcast against each other

    >>> round(float(extraterrestrial(45, 196)), 1)
    40.6
    """
    lat, sun = np.deg2rad(np.asarray(latitude, float)), declination(day_of_year)
    sunset = sunset_angle(latitude, sun)
    height = sunset * np.sin(lat) * np.sin(sun) + np.cos(lat) * np.cos(sun) * np.sin(sunset)
    return 24 * 60 / np.pi * SOLAR_CONSTANT * earth_sun(day_of_year) * height


def season_extraterrestrial(latitude: ArrayLike, season_starts: tuple[int, int] = (1, 1)) -> Floats:
    """`extraterrestrial` in every column of a season. latitude : array [...] -> [..., 365] [MJ m-2 d-1]

    >>> season_extraterrestrial([45.0, 50.0]).shape
    (2, 365)
    """
    day = (np.arange(DAYS) + column(*season_starts)) % DAYS + 1
    return extraterrestrial(np.asarray(latitude, float)[..., None], day)


def clear_sky(above: ArrayLike, elevation: float = 0.0) -> Floats:
    """Radiation under a clear sky, Rso [MJ m-2 d-1]: the most that can arrive (FAO-56, eq. 37).

    above : array [MJ m-2 d-1], from `extraterrestrial`; elevation : [m]

    >>> round(float(clear_sky(41.09, 100)), 1)
    30.9
    """
    return (0.75 + 2e-5 * elevation) * np.asarray(above, float)


def from_sunshine(hours: ArrayLike, possible: ArrayLike, above: ArrayLike) -> Floats:
    """Radiation of a day from its hours of sunshine, where a record has them (FAO-56, eq. 35). [MJ m-2 d-1]

    hours : array [h] of sunshine; possible : array [h], see `daylight`; above : array [MJ m-2 d-1]

    >>> round(float(from_sunshine(7.1, 10.9, 25.1)), 2)
    14.45
    """
    return (0.25 + 0.50 * np.asarray(hours, float) / np.asarray(possible, float)) * np.asarray(above, float)


def from_range(
    tmin: ArrayLike, tmax: ArrayLike, above: ArrayLike, factor: float = INLAND, elevation: float = 0.0
) -> Floats:
    """Radiation of each day from its temperature range, Rs [MJ m-2 d-1] (Hargreaves; FAO-56, eq. 50).

    Parameters
    ----------
    tmin, tmax : arrays [degC]; a Tmax below Tmin counts as no range
    above : array [MJ m-2 d-1], from `extraterrestrial`
    factor : `INLAND` or, where a large water body rules the air, `COAST` [degC^-0.5]
    elevation : [m], for the clear sky, which caps each day

    Examples
    --------
    >>> round(float(from_range(14.8, 26.6, 40.6)), 1)
    22.3
    """
    swing = np.maximum(np.asarray(tmax, float) - np.asarray(tmin, float), 0)
    return np.minimum(factor * np.sqrt(swing) * np.asarray(above, float), clear_sky(above, elevation))


def season_radiation(
    tmin10: NDArray[np.int16],
    tmax10: NDArray[np.int16],
    latitude: float,
    factor: float = INLAND,
    elevation: float = 0.0,
    season_starts: tuple[int, int] = (1, 1),
    mean_days: int = MEAN_DAYS,
) -> NDArray[np.float32]:
    """Radiation of the days of each row, as the mean of the days around (see `MEAN_DAYS`).

    The mean of daily estimates, not the estimate from mean temperatures: measured better, 12 against 13 % off.

    Parameters
    ----------
    tmin10, tmax10 : int16 arrays, shape (..., 365) [tenths of degC], without holes
    latitude : [degrees north]; elevation : [m]
    mean_days : odd; 1 leaves each day as it is

    Returns
    -------
    float32 array, shape (..., 365) [MJ m-2 d-1]
    """
    above = season_extraterrestrial(latitude, season_starts)
    swing = np.maximum(tmax10 - tmin10.astype(np.int32), 0).astype(np.float32)
    swing *= np.float32(0.1)
    day = np.sqrt(swing, out=swing)
    day *= (factor * above).astype(np.float32)
    np.minimum(day, clear_sky(above, elevation).astype(np.float32), out=day)
    return day if mean_days == 1 else mean_around(day, mean_days)


def mean_around(values: NDArray[np.float32], days: int) -> NDArray[np.float32]:
    """Mean of the days around each, `days` of them (odd), fewer at the two ends. [..., day]

    >>> mean_around(np.array([3, 0, 0, 6, 0], np.float32), 3).tolist()
    [1.5, 1.0, 2.0, 2.0, 3.0]
    """
    length, half = values.shape[-1], days // 2
    total = np.zeros((*values.shape[:-1], length + 1))
    np.cumsum(values, axis=-1, out=total[..., 1:])
    first = np.maximum(np.arange(length) - half, 0)
    after = np.minimum(np.arange(length) + half + 1, length)
    return ((total[..., after] - total[..., first]) / (after - first)).astype(np.float32)


def diffuse_share(clearness: ArrayLike) -> Floats:
    """Share of a day's radiation that comes from the sky and not straight from the sun, by its clearness Rs / Ra.

    Spitters, Toussaint and Goudriaan 1986, Agric. For. Meteorol. 38:217-229, daily relation (from memory of it).

    >>> diffuse_share([0.05, 0.5, 0.8]).round(2).tolist()
    [1.0, 0.6, 0.23]
    """
    clear = np.asarray(clearness, float)
    half_clear = 1 - 2.3 * (clear - 0.07) ** 2
    return np.where(clear < 0.07, 1.0, np.where(clear < 0.35, half_clear, np.maximum(1.33 - 1.46 * clear, 0.23)))
