"""Light on the floor between rows of corn: where the sun stands, what the rows let through, which way they should run.

A row is a hedge: height, width, the same leaf area everywhere inside, and the next one a row spacing away, without end
and without slope. Light that meets a leaf is taken; light that meets none reaches the floor. Hours are solar time: 12
is when the sun stands highest. Bearings and azimuths are degrees from north through east; rows that bear 0 run
north-south.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError

Floats = NDArray[np.float64]
CLEAR = 0.7  # share of the beam that a clear air lets through with the sun overhead; from memory of textbook practice
NORTH_SOUTH, EAST_WEST = 0.0, 90.0
STEPS = 24  # of the sky in each direction, for light that comes from all of it
SPHERICAL = 1.0  # leaves that face every way alike: Campbell 1986


class Rows(NamedTuple):
    """Rows of corn as hedges. Each is a number or an array [...].

    spacing : from row to row [m]
    height, width : of the hedge [m]; a hedge as wide as the spacing is an even canopy
    leaf_area : of the field [m2 per m2 of ground]; infinite: opaque hedges, the dark limit
    leaf_angle : Campbell's x, 1 where leaves face every way alike, more where they lie flatter
    """

    spacing: ArrayLike
    height: ArrayLike
    width: ArrayLike
    leaf_area: ArrayLike = np.inf
    leaf_angle: ArrayLike = SPHERICAL


class Sun(NamedTuple):
    """Where the sun stands [degrees]: elevation above the horizon, azimuth from north through east. [...]"""

    elevation: Floats
    azimuth: Floats


# --- the sun -------------------------------------------------------------------------------------------------------


def declination(day_of_year: ArrayLike) -> Floats:
    """Declination of the sun at the middle of a day [degrees]: within 0.6 degrees in any year. [...]

    Spencer 1971, Search 2:172 (from memory of it; checked against a reference library).

    >>> round(float(declination(172)), 1)
    23.5
    """
    turn = 2 * np.pi * (np.asarray(day_of_year, float) - 0.5) / 365
    return np.rad2deg(
        0.006918
        - 0.399912 * np.cos(turn)
        + 0.070257 * np.sin(turn)
        - 0.006758 * np.cos(2 * turn)
        + 0.000907 * np.sin(2 * turn)
        - 0.002697 * np.cos(3 * turn)
        + 0.001480 * np.sin(3 * turn)
    )


def sun(latitude: ArrayLike, declined: ArrayLike, hour: ArrayLike) -> Sun:
    """Where the sun stands, by spherical astronomy.

    latitude : array [degrees north]; declined : array [degrees], see `declination`; hour : array [h, solar time]

    >>> [round(float(angle), 2) for angle in sun(50, 23.44, 12)]
    [63.44, 180.0]
    """
    lat, dec = np.deg2rad(np.asarray(latitude, float)), np.deg2rad(np.asarray(declined, float))
    angle = np.deg2rad(15 * (np.asarray(hour, float) - 12))
    up = np.sin(lat) * np.sin(dec) + np.cos(lat) * np.cos(dec) * np.cos(angle)
    north = np.cos(lat) * np.sin(dec) - np.sin(lat) * np.cos(dec) * np.cos(angle)
    east = -np.cos(dec) * np.sin(angle)
    return Sun(np.rad2deg(np.arcsin(np.clip(up, -1, 1))), np.rad2deg(np.arctan2(east, north)) % 360)


def across(latitude: ArrayLike, declined: ArrayLike) -> tuple[Floats, Floats]:
    """When the sun stands due east or west: its elevation [degrees] and the hours from noon.

    asin(sin dec / sin lat), acos(tan dec / tan lat); NaN where it never does (a sun that rises south of east).

    >>> [round(float(value), 2) for value in across(50, 23.44)]
    [31.28, 4.58]
    """
    lat, dec = np.deg2rad(np.asarray(latitude, float)), np.deg2rad(np.asarray(declined, float))
    with np.errstate(invalid="ignore", divide="ignore"):
        elevation = np.where(dec * lat >= 0, np.arcsin(np.sin(dec) / np.sin(lat)), np.nan)
        hours = np.arccos(np.tan(dec) / np.tan(lat)) * 12 / np.pi
    return np.rad2deg(elevation), np.where(np.isnan(elevation), np.nan, hours)


def beam(elevation: ArrayLike, clear: float = CLEAR) -> Floats:
    """Weight of the sun's beam on level ground under a clear sky: sin b x clear^(1 / sin b); 0 at night. [...]"""
    sine = np.sin(np.deg2rad(np.asarray(elevation, float)))
    return np.where(sine > 0, sine * clear ** (1 / np.maximum(sine, 1e-3)), 0.0)


# --- opaque hedges: exact views ------------------------------------------------------------------------------------


class Views(NamedTuple):
    """What the floor of a gap and each of its two walls see of each other and of the sky; each row sums to 1. [...]

    floor_sky, floor_walls : from the floor, on average; wall_sky, wall_wall, wall_floor : from a wall
    centre_sky, edge_sky : from the middle of the floor and from the foot of a hedge
    """

    floor_sky: Floats
    floor_walls: Floats
    wall_sky: Floats
    wall_wall: Floats
    wall_floor: Floats
    centre_sky: Floats
    edge_sky: Floats


def views(height: ArrayLike, gap: ArrayLike) -> Views:
    """View factors of a gap between two long opaque hedges (crossed-strings rule, Hottel).

    height : array [m] of the hedges; gap : array [m] between them

    >>> [round(float(part), 4) for part in views(1, 0.75)[:2]]
    [0.3333, 0.6667]
    """
    high, wide = np.asarray(height, float), np.asarray(gap, float)
    across_gap = np.hypot(high, wide)
    floor_sky = (across_gap - high) / wide
    with np.errstate(invalid="ignore", divide="ignore"):
        wall_wall = np.where(high > 0, (across_gap - wide) / high, 0.0)
    wall_floor = (1 - wall_wall) / 2  # floor and opening are alike to a wall
    centre, edge = wide / np.hypot(wide, 2 * high), wide / (2 * across_gap)
    return Views(floor_sky, 1 - floor_sky, wall_floor, wall_wall, wall_floor, centre, edge)


def shadow(height: ArrayLike, elevation: ArrayLike, off_row: ArrayLike) -> Floats:
    """Length of a hedge's shadow across the gap [m]: H |sin dA| / tan b.

    height : [m]; elevation : of the sun [degrees]; off_row : its azimuth less the rows' bearing [degrees]
    """
    tangent = np.tan(np.deg2rad(np.asarray(elevation, float)))
    return np.asarray(height, float) * np.abs(np.sin(np.deg2rad(off_row))) / tangent


# --- hedges of leaves ----------------------------------------------------------------------------------------------


def leaf_extinction(zenith: ArrayLike, leaf_angle: ArrayLike = SPHERICAL) -> Floats:
    """Extinction of a beam by leaves whose angles follow an ellipsoid, for each unit of leaf area above the ground.

    Campbell 1986, Agric. For. Meteorol. 36:317-321; Campbell and Norman 1998, eq. 15.4 (from memory of them).
    zenith : array [degrees] from the vertical; leaf_angle : x, see `Rows`

    >>> round(float(leaf_extinction(45, 1.0)), 4)
    0.7066
    """
    x = np.asarray(leaf_angle, float)
    return np.sqrt(x * x + np.tan(np.deg2rad(np.asarray(zenith, float))) ** 2) / (x + 1.774 * (x + 1.182) ** -0.733)


def beam_to_floor(rows: Rows, elevation: ArrayLike, off_row: ArrayLike) -> Floats:
    """Share of the sun's beam over the field that reaches its floor, hedges' feet counted in. Exact.

    Between opaque hedges it is max(0, gap - shadow) / spacing; in a canopy without gaps exp(-Kb LAI).

    Parameters
    ----------
    rows : Rows
    elevation, off_row : arrays [degrees]: sun above the horizon, its azimuth less the rows' bearing

    Returns
    -------
    float array [...], what `rows` and the angles broadcast to; 0 for a sun at or below the horizon
    """
    spacing, height, width, leaf, x = (np.asarray(value, float) for value in rows)
    if np.any(spacing <= 0) or np.any(width < 0) or np.any(width > spacing) or np.any(height < 0) or np.any(leaf < 0):
        raise SettingError(
            "Rows that are wider than their spacing, or have a size below 0, can't be.",
            "Give spacing above 0, width from 0 to the spacing, height and leaf area of 0 or more.",
        )
    angle = np.asarray(elevation, float)
    slant = np.where(angle > 0, angle, 90.0)
    reach = shadow(height, slant, off_row) / spacing  # in row spacings from here on
    foot = width / spacing
    bare = (foot == 0) | (height == 0) | (leaf == 0)
    deep = leaf_extinction(90 - slant, x) * leaf / np.where(bare, 1, foot)  # optical depth of a ray inside all the way
    lit = _mean_through(np.where(bare, 0.5, foot), reach, np.minimum(deep, 1e6))
    return np.where(angle > 0, np.where(bare, 1.0, lit), 0.0)


def _mean_through(foot: Floats, reach: Floats, deep: Floats) -> Floats:
    """Mean over the floor of exp(-deep x share of the ray inside hedges); hedges fill [0, foot] of each spacing of 1.

    A ray from floor point p meets hedges between p and p + reach. How much lies inside is straight in p between four
    points, so the mean over each piece is exact.
    """
    foot, reach, deep = np.broadcast_arrays(foot, reach, deep)
    whole, part = np.floor(reach), reach - np.floor(reach)
    upright = reach < 1e-9
    edges = [np.zeros_like(foot), foot, (1 - part) % 1, (foot - part) % 1]
    points = np.sort(np.stack([*edges, np.ones_like(foot)]), axis=0)

    def inside(point: Floats) -> Floats:
        """Hedge between 0 and a point, in spacings."""
        return np.floor(point) * foot + np.minimum(point - np.floor(point), foot)

    length = whole * foot + inside(points + part) - inside(points)
    depth = deep * length / np.where(upright, 1.0, reach)
    first, last = depth[:-1], depth[1:]
    change = last - first
    small = np.abs(change) < 1e-6
    mean = np.where(small, np.exp(-(first + last) / 2), (np.exp(-first) - np.exp(-last)) / np.where(small, 1, change))
    slanted = (np.diff(points, axis=0) * mean).sum(axis=0)
    return np.where(upright, foot * np.exp(-deep) + 1 - foot, slanted)


def sky_to_floor(rows: Rows, steps: int = STEPS) -> Floats:
    """Share of the light of an even sky that reaches the floor. rows : Rows of numbers or arrays [...] -> [...]

    Every direction of the sky counts by the sine of its elevation (a uniform sky on level ground).
    """
    # As evenly over sin^2 of the elevation, which makes the weights equal, and over the azimuth from along to across
    elevation = np.rad2deg(np.arcsin(np.sqrt((np.arange(steps) + 0.5) / steps)))
    off_row = 90 * (np.arange(steps) + 0.5) / steps
    spread = Rows(*(np.asarray(value, float)[..., None, None] for value in rows))
    return beam_to_floor(spread, elevation[:, None], off_row).mean(axis=(-2, -1))


class Budget(NamedTuple):
    """Where the light over the field goes; the three sum to 1. [...]

    floor : the ground takes it; leaves : the hedges take it; sky : it goes back up
    """

    floor: Floats
    leaves: Floats
    sky: Floats


def budget(to_floor: ArrayLike, up: ArrayLike, soil: float = 0.1) -> Budget:
    """The light over the field by who takes it, with a floor that throws part of it back.

    to_floor : share that reaches the floor, see `beam_to_floor`, `sky_to_floor`
    up : share of light from the floor that leaves through the rows: `sky_to_floor`, for the way up is the way down
    soil : share that the ground throws back, even in all directions; 0.1 is judgement

    Leaves throw nothing back here: they take most of the PAR that they meet.
    """
    down = np.asarray(to_floor, float)
    back = down * soil * np.asarray(up, float)
    ground = down * (1 - soil)
    return Budget(ground, 1 - ground - back, back)


# --- days and seasons ----------------------------------------------------------------------------------------------


class RowDay(NamedTuple):
    """A day's light on the floor, hour by hour. [..., hour]

    weight : beam on level ground in each hour under a clear sky, any unit; sun : Sun
    direct : share of the beam that reaches the floor
    """

    weight: Floats
    sun: Sun
    direct: Floats


def row_day(latitude: float, day_of_year: ArrayLike, rows: Rows, bearing: float, hours: ArrayLike) -> RowDay:
    """The sun and its light on the floor at hours of a day, or of several days.

    day_of_year : array [...]; rows : numbers or arrays [...]; bearing : of the rows [degrees]; hours : array [hour] [h]
    """
    declined = declination(day_of_year)[..., None]
    place = sun(latitude, declined, hours)
    wide = Rows(*(np.asarray(value, float)[..., None] for value in rows))
    direct = beam_to_floor(wide, place.elevation, place.azimuth - bearing)
    return RowDay(beam(place.elevation), place, direct)


HOURS = np.arange(0.125, 24, 0.25)
"""Middles of the quarter hours of a day, for sums."""


def direct_share(latitude: float, day_of_year: ArrayLike, rows: Rows, bearing: float) -> Floats:
    """Share of a clear day's beam that reaches the floor. day_of_year, rows : [...] -> [...]

    >>> opaque = Rows(spacing=0.75, height=1.0, width=0.3)
    >>> [round(float(direct_share(50, 213, opaque, bearing)), 2) for bearing in (NORTH_SOUTH, EAST_WEST)]
    [0.11, 0.06]
    """
    day = row_day(latitude, np.asarray(day_of_year), rows, bearing, HOURS)
    total = day.weight.sum(axis=-1)
    return (day.weight * day.direct).sum(axis=-1) / np.where(total > 0, total, 1)


def floor_share(latitude: float, day_of_year: ArrayLike, rows: Rows, bearing: float, diffuse: ArrayLike) -> Floats:
    """Share of a day's light, direct and from the sky, that reaches the floor. [...]

    diffuse : share of the day's light that comes from the sky, see `light.diffuse_share` [...]
    """
    sky = np.asarray(diffuse, float)
    return (1 - sky) * direct_share(latitude, day_of_year, rows, bearing) + sky * sky_to_floor(rows)


def season_share(
    latitude: float, day_of_year: ArrayLike, rows: Rows, bearing: float, light: ArrayLike, diffuse: ArrayLike
) -> float:
    """Share of the light of many days that reaches the floor: rows may grow from day to day.

    day_of_year : array [day]; rows : numbers or arrays [day]; light : array [day] of each day's light, any unit;
    diffuse : array [day]
    """
    each = floor_share(latitude, day_of_year, rows, bearing, diffuse)
    weight = np.broadcast_to(np.asarray(light, float), each.shape)
    return float((each * weight).sum() / weight.sum())


def crossing(first: ArrayLike, second: ArrayLike) -> int | None:
    """First place from which on `second` stays above `first`; None where it does not at the end.

    first, second : arrays [day], such as the floor's light in rows east-west and north-south

    >>> crossing([3, 2, 1, 0], [1, 1, 2, 2])
    2
    """
    ahead = np.asarray(second, float) > np.asarray(first, float)
    if not ahead.size or not ahead[-1]:
        return None
    behind = np.flatnonzero(~ahead)
    return int(behind[-1]) + 1 if behind.size else 0
