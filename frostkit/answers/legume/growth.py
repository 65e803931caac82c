"""A legume's growth under corn, by rows: light, emergence, killing frost and the chop put together."""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.corn import CornDays, shelter
from frostkit.answers.legume import bean_light
from frostkit.answers.plans import plan
from frostkit.crops.entry import Crop, load
from frostkit.seasons import canopy
from frostkit.seasons.calendar import SEASON_END, column
from frostkit.seasons.growth import reached
from frostkit.seasons.heat import running
from frostkit.seasons.windows import killed

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Tenths = NDArray[np.int16]
END = column(*SEASON_END)
LIKE = "silage-2300"  # whose collars stand for those of an entry that has none: they go by heat, not by rating
ROWS = ("ordinary", "wide", "paired")
HIGH = "high"  # the end that light alone gives; the others are shares of it


@cache
def facts() -> dict[str, Any]:
    """`legume.toml`: sections of numbers, each with unit and source.

    >>> facts()["goal"]["weight"]["value"]
    300
    """
    return tomllib.loads((files("frostkit.answers.legume") / "legume.toml").read_text("utf-8"))


def sunlit(latitude: float) -> float:
    """The latitude for sunlight: as it is, or one of the prairie where it is not known. [degrees north]

    >>> sunlit(float("nan"))
    50.0
    """
    return float(facts()["latitude"]["assumed"]["value"]) if latitude != latitude else latitude


def factors(rows: str = "ordinary") -> tuple[float, float, float]:
    """What competition leaves of the growth that light alone gives: (low, middle, high), by the corn's rows."""
    return bean_light.competition("closing" if rows == "ordinary" else "wide")


@dataclass(frozen=True)
class Field:
    """What every sowing of a legume into one field's corn shares.

    tmin, tmax : int16 [row, 365], tenths of degC
    corn, legume : entries; latitude : degrees north, NaN where it is not known; frost : end of the killing temperatures
    rows : "ordinary", "wide" or "paired"; bearing : of the rows, degrees from north
    light : PAR x what the day's warmth allows [row, 365], MJ m-2 d-1; heat : of the corn's leaves [row, 366]
    """

    tmin: Tenths
    tmax: Tenths
    corn: Crop
    legume: Crop
    latitude: float
    frost: str
    rows: str
    bearing: float
    light: canopy.Singles
    heat: NDArray[np.int32]

    def some(self, which: Ints) -> "Field":
        """Some of the rows."""
        parts = {name: getattr(self, name)[which] for name in ("tmin", "tmax", "light", "heat")}
        return Field(**{**self.__dict__, **parts})


def field(
    tmin: Tenths,
    tmax: Tenths,
    corn: Crop,
    legume: Crop,
    latitude: float,
    *,
    frost: str = "usual",
    rows: str = "ordinary",
    bearing: float = 0.0,
) -> Field:
    """Light and heat of each row, worked out once for every sowing. Arguments as in `Field`."""
    corn = leaves(corn)
    light = bean_light.growing_light(tmin, tmax, sunlit(latitude))
    heat = bean_light.corn_heat(corn, tmin, tmax)
    return Field(tmin, tmax, corn, legume, latitude, frost, rows, bearing, light, heat)


def leaves(corn: Crop) -> Crop:
    """The entry whose collars a canopy follows: the corn's own, or a library entry's where it has none."""
    return corn if corn.collars is not None else load(LIKE)


def over(of: Field, corn_sown: Ints) -> canopy.Corn:
    """The corn over the legume, on light alone. corn_sown : int [sowing day] or [1]"""
    sown = np.asarray(corn_sown, np.int64)[None]
    if of.rows == "ordinary":
        return bean_light.even_corn(of.corn, of.heat, sown, HIGH)
    return bean_light.row_corn(of.corn, of.heat, sown, sunlit(of.latitude), of.rows, of.bearing, end=HIGH)


def emerged(of: Field, sown: Ints) -> Floats:
    """Day on which the legume comes up: the first stage of its entry. [row, sowing day]"""
    stage = plan(of.legume, of.latitude, next(iter(of.legume.stage)), frost=of.frost).stages[0]
    return reached(running(stage.clock.rate(of.tmin, of.tmax)), sown, stage.need)


def frosted(of: Field, sown: Ints, corn_days: CornDays | None = None) -> Floats:
    """Day on which a frost kills the legume, in the corn's shelter or in the open. [row, sowing day]"""
    first = plan(of.legume, of.latitude, next(iter(of.legume.stage)), frost=of.frost)
    cover = None if corn_days is None else shelter(of.legume, corn_days)
    return killed(of.tmin, of.tmax, first, sown, shelter=cover)


@dataclass(frozen=True)
class Grown:
    """A legume sown on each of several days. [row, sowing day]

    sown : int [sowing day]; up : it emerges; killed : a frost kills it under the corn, +inf for never
    chop : the corn's chop, the season's end where it is not chopped
    alone : float32 [end, row, sowing day], on light alone: at the chop, and at its killing frost or the season's end
        were it left standing; kg/ha
    """

    sown: Ints
    up: Floats
    killed: Floats
    chop: Floats
    alone: canopy.Singles


def grow(of: Field, sown: Sequence[Ints], corn_sown: Ints, corn_days: CornDays) -> list[Grown]:
    """What legumes make under the same corn on light alone.

    sown : int [sowing day], one for each legume
    corn_sown : int [sowing day] or [1], the corn's day; corn_days : for those days
    """
    days = np.unique(np.concatenate(sown))  # legumes that differ by a day come up on the same days
    each = emerged(of, days)
    up = np.stack([each[:, np.searchsorted(days, one)] for one in sown])
    dead = np.stack([frosted(of, one, corn_days) for one in sown])
    chop = np.broadcast_to(np.minimum(corn_days.chop, END), up.shape[1:])
    ends = [chop, np.minimum(dead, END)]
    alone = canopy.growth(of.light, up, ends, bean_light.bean(HIGH), over(of, corn_sown), dead)
    return [Grown(one, up[n], dead[n], chop, alone[:, n]) for n, one in enumerate(sown)]


def in_the_open(of: Field, grown: Grown, dead: Floats) -> canopy.Singles:
    """The same sowings as a sole crop, on light alone, at the same chop, kg/ha. dead : see `frosted` [row, sowing]"""
    return canopy.growth(of.light, grown.up, [grown.chop], bean_light.bean(HIGH), None, dead)[0]


def light_share(of: Field, grown: Grown, corn_sown: Ints) -> Floats:
    """Share of the light from emergence to the chop that reaches it, by what the legume could use. [row, sowing day]"""
    return canopy.light_share(of.light, over(of, corn_sown), np.minimum(grown.up, END), grown.chop)


def worth_having_from() -> float:
    """Growth at the chop [kg/ha of dry matter] from which a legume under corn counts as worth having: judgement.

    >>> worth_having_from()
    300.0
    """
    return float(facts()["goal"]["weight"]["value"])


def worth_having(
    tmin: Tenths,
    tmax: Tenths,
    corn: Crop,
    legume: Crop,
    sown: Ints,
    corn_sown: Ints,
    corn_days: CornDays,
    latitude: float,
    frost: str = "usual",
    goal: float | None = None,
) -> NDArray[np.bool_]:
    """Whether a legume makes the growth wanted by the chop under the corn, at the middle of what is known of it.

    Arguments as in `field` and `grow`; goal : [kg/ha], the default of `legume.toml` where left out.

    Returns bool array [row, sowing day]
    """
    wanted = worth_having_from() if goal is None else goal
    of = field(tmin, tmax, corn, legume, latitude, frost=frost)
    up, dead = emerged(of, sown), frosted(of, sown, corn_days)
    end = np.minimum(corn_days.chop, END)
    alone = canopy.growth(of.light, up, [end], bean_light.bean(HIGH), over(of, corn_sown), dead)[0]
    return np.asarray(alone * np.float32(factors()[1]) >= wanted)


def low_middle_high(values: NDArray[Any], weight: Ints) -> Floats:
    """Values that 10, 50 and 90 % of the weight do not exceed: the first at which that much has come.

    values : array [n, ...]; weight : int [n] -> float [3, ...]

    >>> low_middle_high(np.array([5.0, 1.0, 3.0]), np.array([3, 3, 4])).tolist()
    [1.0, 3.0, 5.0]
    """
    each = np.ascontiguousarray(values.reshape(len(values), -1).T)  # sorting is fast along what lies in one piece
    order = np.argsort(each, axis=1)
    come = np.cumsum(weight[order], axis=1)
    places = [(come >= level * come[:, -1:] - 1e-9).argmax(axis=1) for level in (0.1, 0.5, 0.9)]
    column = np.arange(len(each))
    found = np.stack([each[column, order[column, place]] for place in places])
    return found.astype(float).reshape(3, *values.shape[1:])


def with_model(alone: NDArray[Any], weight: Ints, rows: str = "ordinary") -> Floats:
    """10, 50 and 90 % of the growth over seasons and the model's range together.

    alone : float [n, ...], on light alone; weight : int [n] -> float [3, ...], in the unit of `alone`
    """
    parts = np.asarray(facts()["weights"]["ends"]["value"])
    values = np.concatenate([alone * np.float32(one) for one in factors(rows)])
    return low_middle_high(values, np.concatenate([weight * part for part in parts]))
