"""The numbers behind growth on light, from `bean_light.toml`, as the kernels of the seasons room ask for them."""

import tomllib
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.answers.collars import collar_need
from frostkit.answers.plans import FAHRENHEIT, clock
from frostkit.crops.entry import Crop
from frostkit.errors import choose
from frostkit.seasons import canopy, rowlight
from frostkit.seasons.calendar import DAYS
from frostkit.seasons.heat import running
from frostkit.seasons.light import season_radiation

ENDS = ("low", "middle", "high")
"""From little growth of the legume to much."""
EVERY = 10  # days between those on which the light between rows is worked out; straight between them


@cache
def numbers() -> dict[str, Any]:
    """`bean_light.toml`: every number with its source.

    >>> numbers()["corn"]["most_leaf"]["value"]
    4.0
    """
    return tomllib.loads((files("frostkit.answers.legume") / "bean_light.toml").read_text("utf-8"))


def _at(entry: dict[str, Any], end: str) -> Any:
    """A number at an end: `middle` is its value."""
    return entry["value" if choose("end", end, ENDS) == "middle" else end]


def bean(end: str = "middle") -> canopy.Bean:
    """What a soybean makes of light, at one end of what is published.

    >>> bean("high").use
    2.0
    """
    table = numbers()["bean"]
    values = {name: float(table[name]["value"]) for name in canopy.Bean._fields}
    return canopy.Bean(**{**values, "use": float(_at(table["use"], end))})


def growing_light(
    tmin10: NDArray[np.int16], tmax10: NDArray[np.int16], latitude: float, elevation: float = 0.0
) -> canopy.Singles:
    """PAR of each day x what its warmth allows a soybean. int16 arrays [row, 365] -> float32 [row, 365] [MJ m-2 d-1]

    latitude : [degrees north]; elevation : [m]
    """
    table = numbers()
    air = table["radiation"]["kinds"]
    radiation = season_radiation(tmin10, tmax10, latitude, air["inland"], elevation, mean_days=air["mean_days"])
    radiation *= np.float32(table["par_share"]["kinds"]["value"])
    radiation *= canopy.warm_response(tmin10, tmax10, tuple(table["bean"]["warmth"]["value"]))
    return radiation


def corn_heat(crop: Crop, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> NDArray[np.int32]:
    """Running sum of the clock that the corn's collars follow, in whole units. [row, 365] -> [row, 366]"""
    collar_need(crop, 1)
    assert crop.collars is not None
    of = clock(crop, crop.collars.clock)
    return running(of.rate(tmin10, tmax10)) // np.int32(of.per_unit)


def collar_heat(crop: Crop, number: ArrayLike) -> list[float]:
    """Heat from sowing to leaf collars, in whole units of `corn_heat`; collar 0 is emergence.

    >>> from frostkit.crops.entry import load
    >>> [round(heat) for heat in collar_heat(load("silage-2300"), [0, 5])]
    [64, 292]
    """
    collar_need(crop, 1)
    collars = crop.collars
    assert collars is not None
    turn = FAHRENHEIT if collars.early.unit == "degree days F" else 1.0
    begun = crop.stage[collars.since].need.value
    return [(begun + (collar_need(crop, n) if n else 0.0)) / turn for n in np.atleast_1d(number)]


def _by_collar(crop: Crop, name: str) -> canopy.Singles:
    """One column of `corn.by_collar` by heat since sowing; 0 up to emergence. [unit]"""
    table = numbers()["corn"]["by_collar"]
    return canopy.by_heat([0.0, *collar_heat(crop, table["collars"])], [0.0, *table[name]])


def even_corn(crop: Crop, heat: NDArray[np.int32], sown: ArrayLike, end: str = "middle") -> canopy.Corn:
    """Corn in rows that close, as an even canopy, at one end of what is published.

    heat : [row, 366], see `corn_heat`; sown : int array that broadcasts to [row, sowing day] [column]
    """
    table = numbers()["corn"]
    depth = _at(table["extinction"], end) * _at(table["most_leaf"], end) * _by_collar(crop, "leaf")
    return canopy.Corn(heat, np.asarray(sown), canopy.reaching(depth, _at(table["above"], end))[None])


def row_corn(
    crop: Crop,
    heat: NDArray[np.int32],
    sown: ArrayLike,
    latitude: float,
    way: str,
    bearing: float,
    diffuse: float = 0.5,
    end: str = "middle",
) -> canopy.Corn:
    """Corn in rows with gaps: the even canopy's extinction less what the gaps let through on each day of the year.

    The gaps tell by the ratio of the logarithms of the light through rows and through an even canopy of the same leaves
    (a clumping index): it is 1 where rows have closed.

    Parameters
    ----------
    heat, sown : as in `even_corn`
    latitude : [degrees north]
    way : "ordinary", "wide" or "paired", of `bean_light.toml`
    bearing : of the rows [degrees from north]
    diffuse : share of the light that comes from the sky; 0.5 over a summer is judgement, see `light.diffuse_share`
    """
    choose("rows", way, numbers()["rows"])
    collars = collar_heat(crop, numbers()["corn"]["by_collar"]["collars"])
    return canopy.Corn(heat, np.asarray(sown), _between_rows(tuple(collars), latitude, way, bearing, diffuse, end))


@lru_cache(maxsize=8)  # a person who moves a seeding day asks for the same rows again
def _between_rows(
    collars: tuple[float, ...], latitude: float, way: str, bearing: float, diffuse: float, end: str
) -> canopy.Singles:
    """Share of the light that reaches a legume between rows, by day and heat since sowing. [365, unit]"""
    table = numbers()
    row, corn = table["rows"][way], table["corn"]
    leaf = _at(corn["most_leaf"], end) * row["leaf"] * np.asarray(corn["by_collar"]["leaf"])
    width = np.minimum(row["pair"] + np.asarray(corn["by_collar"]["width"]), row["spacing"])
    rows = rowlight.Rows(
        row["spacing"], np.asarray(corn["by_collar"]["height"]), width, leaf, corn["leaf_angle"]["value"]
    )
    days = np.append(np.arange(1, DAYS, EVERY), DAYS)
    gaps = rowlight.floor_share(latitude, days[:, None], rows, bearing, diffuse)
    even = rowlight.floor_share(latitude, days[:, None], rows._replace(width=row["spacing"]), bearing, diffuse)
    clumped = np.log(gaps) / np.log(even)  # [day, collar]
    depth = _at(corn["extinction"], end) * clumped * leaf
    share = np.stack(
        [canopy.reaching(canopy.by_heat([0.0, *collars], [0.0, *one]), _at(corn["above"], end)) for one in depth]
    )
    by_day = np.stack([np.interp(np.arange(1, DAYS + 1), days, unit) for unit in share.T], axis=1)
    out = by_day.astype(np.float32)
    out.flags.writeable = False
    return out


def competition(rows: str = "closing") -> tuple[float, float, float]:
    """What is left of the growth that light alone gives at its `high` end: (low, middle, high); high is light alone.

    rows : "closing" for rows whose corn closes, "wide" for 60-inch rows, paired or not

    >>> competition()[2]
    1.0
    """
    table = numbers()["competition"]
    entry = table[choose("rows", rows, table)]
    return float(entry["low"]), float(entry["middle"]), float(entry["high"])


def rows_at(crop: Crop, heat: ArrayLike, way: str, end: str = "middle") -> rowlight.Rows:
    """Rows of corn as hedges, by the heat since sowing.

    heat : array [...] in whole units of `corn_heat`; way : "ordinary", "wide" or "paired"

    >>> from frostkit.crops.entry import load
    >>> round(float(rows_at(load("silage-2300"), 0.0, "wide").spacing), 3)
    1.524
    """
    table = numbers()
    row, by = table["rows"][choose("rows", way, table["rows"])], table["corn"]["by_collar"]
    at = [0.0, *collar_heat(crop, by["collars"])]

    def grown(name: str) -> NDArray[np.float64]:
        return np.interp(np.asarray(heat, float), at, [0.0, *by[name]])

    width = np.minimum(row["pair"] + grown("width"), row["spacing"])
    leaf = _at(table["corn"]["most_leaf"], end) * row["leaf"] * grown("leaf")
    return rowlight.Rows(row["spacing"], grown("height"), width, leaf, table["corn"]["leaf_angle"]["value"])
