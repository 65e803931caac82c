"""How long the day is: by latitude and day, in closed form for speed, and from a dated position of the sun for display.

A day length is a number only with its definition: at 50 N civil twilight adds an hour and a half in June. So every
function takes one by name and hands it back with the hours.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import choose
from frostkit.seasons.calendar import DAYS

SUN_BELOW = {
    "centre": 0.0,
    "limb": 0.26667,
    "sunrise": 0.8333,
    "civil": 6.0,
}
"""Degrees of the sun's centre below the horizon: centre on the horizon; upper limb; upper limb with refraction, the
almanac's sunrise and sunset; civil twilight. Forsythe et al. 1995, table 1 (from memory of it; 0.8333 read)."""
CLOSED = (*SUN_BELOW, "centre-spitters", "centre-fao56")
"""Definitions of the closed forms: those above after Forsythe et al. 1995, and two other forms for the sun's centre."""
J2000 = np.datetime64("2000-01-01T12:00")


class DayLength(NamedTuple):
    """Hours of day with the definition of day that they are for."""

    hours: NDArray[np.float64]
    definition: str


class SunTimes(NamedTuple):
    """Rise and set of the sun by one definition [h after 00:00 UTC of the date]; NaN where it does neither.

    `hours`: length of the day, 0 in the polar night and 24 in the polar day.
    """

    rise: NDArray[np.float64]
    set: NDArray[np.float64]
    hours: NDArray[np.float64]
    definition: str


def day_length(latitude: ArrayLike, day_of_year: ArrayLike, definition: str = "sunrise") -> DayLength:
    """Length of the day in closed form: fast, at most 2 to 5 minutes off from May to September at 50 N.

    How much depends on the leap cycle (2021 5.2, 2022 4.3, 2023 3.4, 2024 2.5 minutes at Greenwich) and on longitude (a
    minute more at 100 W); on the axis without 29 February leap years are up to 7 minutes off.

    Parameters
    ----------
    latitude : array [degrees north]
    day_of_year : array [1 = 1 January], broadcast against `latitude`
    definition : one of `CLOSED`

    Returns
    -------
    DayLength, hours [h]; 0 in the polar night and 24 in the polar day

    References
    ----------
    Forsythe, Rykiel, Stahl, Wu & Schoolfield 1995, Ecol. Modelling 80:87-95, eq. 1 to 3.
    "centre-spitters": Spitters, Toussaint & Goudriaan 1986, Agric. For. Meteorol. 38:217-229, the form that the
    published soybean coefficients were fitted with. "centre-fao56": Allen et al. 1998, FAO-56, eq. 24, 25, 34.

    Examples
    --------
    >>> [round(float(day_length(50, 172, d).hours), 2) for d in ("centre", "sunrise", "civil")]
    [16.15, 16.37, 17.86]
    """
    choose("definition", definition, CLOSED)
    lat = np.deg2rad(np.clip(np.asarray(latitude, float), -90, 90))
    j = np.asarray(day_of_year, float)
    below = 0.0
    if definition == "centre-spitters":
        declination = -np.deg2rad(23.45) * np.cos(2 * np.pi * (j + 10) / 365)  # Spitters et al. 1986
    elif definition == "centre-fao56":
        declination = 0.409 * np.sin(2 * np.pi * j / 365 - 1.39)  # FAO-56, eq. 24
    else:
        theta = 0.2163108 + 2 * np.arctan(0.9671396 * np.tan(0.00860 * (j - 186)))  # Forsythe et al. 1995, eq. 1
        declination = np.arcsin(0.39795 * np.cos(theta))  # eq. 2
        below = np.deg2rad(SUN_BELOW[definition])
    return DayLength(24 / np.pi * _half_day(lat, declination, below), definition)


def season_day_length(latitude: ArrayLike, definition: str = "sunrise") -> DayLength:
    """Length of the day in every column of a season, in closed form.

    latitude : array [...] [degrees north]. Returns DayLength, hours [..., 365].

    >>> season_day_length([0.0, 50.0]).hours.shape
    (2, 365)
    """
    return day_length(np.asarray(latitude, float)[..., None], np.arange(1, DAYS + 1), definition)


def sun_times(latitude: ArrayLike, dates: ArrayLike, definition: str = "sunrise",
              longitude: ArrayLike = 0.0) -> SunTimes:  # fmt: skip
    """When the sun rises and sets on a date, from its position at those times: within a minute to 65 degrees.

    Parameters
    ----------
    latitude, longitude : arrays [degrees north, degrees east]
    dates : array of datetime64[D], broadcast against both
    definition : one of `SUN_BELOW`

    References
    ----------
    Meeus 1998, Astronomical Algorithms, ch. 25, the sun to 0.01 degree (formulas from memory; checked against `pvlib`).

    Examples
    --------
    >>> round(float(sun_times(52.14, np.datetime64("2022-05-15")).hours), 2)
    15.71
    """
    choose("definition", definition, SUN_BELOW)
    lat, lon, day = np.broadcast_arrays(np.asarray(latitude, float), np.asarray(longitude, float),
                                        np.asarray(dates, "datetime64[D]"))  # fmt: skip
    lat, below = np.deg2rad(np.clip(lat, -90, 90)), np.deg2rad(SUN_BELOW[definition])
    midnight = (day - J2000) / np.timedelta64(1, "D")
    ends = []
    for side in (-1, 1):
        hour = 12 - lon / 15 + side * 6
        for _ in range(4):  # each round moves the sun to where it stands then; four bring it under a second
            declination, early = _sun(midnight + hour / 24)
            half = _half_day(lat, declination, below) * 12 / np.pi
            hour = 12 - lon / 15 - early + side * half
        ends.append((hour, half))
    (rise, first), (set_, second) = ends
    polar = (np.minimum(first, second) <= 0) | (np.maximum(first, second) >= 12)
    hours = np.where(polar, np.where(first + second > 12, 24.0, 0.0), set_ - rise)
    return SunTimes(np.where(polar, np.nan, rise), np.where(polar, np.nan, set_), hours, definition)


def _half_day(lat, declination, below):
    """Hour angle at which the sun's centre stands `below` the horizon; 0 to pi, all in radians."""
    pole = np.where(np.abs(np.cos(lat)) < 1e-9, 1e-9, np.cos(lat))
    cosine = -(np.sin(below) + np.sin(lat) * np.sin(declination)) / (pole * np.cos(declination))
    return np.arccos(np.clip(cosine, -1, 1))


def _sun(days):
    """Declination [rad] and equation of time [h], by days since noon of 1 January 2000 (Meeus 1998, ch. 25)."""
    t = days / 36525
    mean_longitude = 280.46646 + t * (36000.76983 + 0.0003032 * t)
    anomaly = np.deg2rad(357.52911 + t * (35999.05029 - 0.0001537 * t))
    centre = ((1.914602 - t * (0.004817 + 0.000014 * t)) * np.sin(anomaly)
              + (0.019993 - 0.000101 * t) * np.sin(2 * anomaly) + 0.000289 * np.sin(3 * anomaly))  # fmt: skip
    node = np.deg2rad(125.04 - 1934.136 * t)
    longitude = np.deg2rad(mean_longitude + centre - 0.00569 - 0.00478 * np.sin(node))
    tilt = np.deg2rad(23.439291 - 0.0130042 * t + 0.00256 * np.cos(node))
    declination = np.arcsin(np.sin(tilt) * np.sin(longitude))
    right_ascension = np.rad2deg(np.arctan2(np.cos(tilt) * np.sin(longitude), np.cos(longitude)))
    early = (mean_longitude - 0.0057183 - right_ascension + 180) % 360 - 180
    return declination, early / 15
