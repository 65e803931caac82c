"""A record: one station's days in a row, where they came from, and what was repaired on the way in."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import asin, cos, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray

EARTH_KM = 6371.0  # mean radius, IUGG


@dataclass(frozen=True)
class Station:
    """Where the thermometer stands; NaN for what the file does not say."""

    id: str = ""
    name: str = ""
    latitude: float = float("nan")  # degrees north
    longitude: float = float("nan")  # degrees east
    elevation: float = float("nan")  # m


@dataclass(frozen=True)
class Repair:
    """Something done to the values on the way in, counted and reported; a value is masked, never altered."""

    what: str  # a sentence: "Tmin above Tmax: both taken as missing"
    count: int
    first: str = ""  # where it was first seen: "1998-03-03" or "line 412"


@dataclass(frozen=True)
class Record:
    """Daily values of one station on a regular axis without gaps.

    start : datetime64[D], the first day; day `i` is `start + i`
    tmin, tmax : float32 [day], degC; NaN is not known. Never filled.
    sign : int8 [day] or None; where Tmin is missing: 1 known to be above 0 degC, -1 below
    more : other daily columns by name, float32 [day] in SI units of the field: `prcp` mm, `snwd` mm
    source : where it came from, as text by key: "format", "files", "provider", "licence", "attribution", "fetched"
    repairs : what was done on the way in
    invented : True for demo data, and then said wherever it is shown
    """

    station: Station
    start: np.datetime64
    tmin: NDArray[np.float32]
    tmax: NDArray[np.float32]
    sign: NDArray[np.int8] | None = None
    more: Mapping[str, NDArray[np.float32]] = field(default_factory=dict)
    source: Mapping[str, str] = field(default_factory=dict)
    repairs: tuple[Repair, ...] = ()
    invented: bool = False

    def time(self) -> NDArray[np.datetime64]:
        """The days, datetime64[D]."""
        return self.start + np.arange(self.tmin.size)


@dataclass(frozen=True)
class Hours:
    """Hourly air temperature of one station on a regular axis without gaps.

    start : datetime64[h], the first hour, in universal time
    temp : float32 [hour], degC; NaN is not known. Never filled.
    source : as in `Record`
    """

    station: Station
    start: np.datetime64
    temp: NDArray[np.float32]
    source: Mapping[str, str] = field(default_factory=dict)

    def time(self) -> NDArray[np.datetime64]:
        """The hours, datetime64[h]."""
        return self.start + np.arange(self.temp.size)


def distance_km(latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> float:
    """Great-circle distance [km] between two places [degrees north, east] (haversine formula).

    >>> round(distance_km(50, -100, 51, -100))
    111
    """
    a, b = radians(latitude), radians(to_latitude)
    half = sin((b - a) / 2) ** 2 + cos(a) * cos(b) * sin(radians(to_longitude - longitude) / 2) ** 2
    return 2 * EARTH_KM * asin(sqrt(half))
