"""Cold soil and cold rain in the days after sowing: a caution on early days, counted over the record's seasons."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.odds.estimate import Share, share
from frostkit.records.record import Record
from frostkit.seasons.calendar import DAYS, Cube, fold
from frostkit.seasons.frost import Mask
from frostkit.seasons.heat import has_heat
from frostkit.seasons.soil import soil_temperature

BEFORE = (
    7  # days before sowing that must be known: the soil's filter has then forgotten four fifths of what came before
)


class ColdStart(NamedTuple):
    """Seasons in which the seed would have lain in cold soil, and in cold soil with rain (None: no rain in the record).

    soil, rain : Share, one entry a sowing day; limit : degC; days : from the sowing day on; millimetres in those days
    """

    soil: Share
    rain: Share | None
    limit: float
    days: int
    millimetres: float


@cache
def numbers() -> dict[str, Any]:
    """What stands in `choosing.toml`."""
    return tomllib.loads((files("frostkit.answers") / "choosing.toml").read_text("utf-8"))


def rain_of(record: Record, cube: Cube) -> NDArray[np.float64] | None:
    """The record's rain on the seasons of a cube [season, 365] [mm], NaN where not known; None where it has none in any
    growing season."""
    fallen = record.more.get("prcp")
    if fallen is None or np.isnan(fallen).all():
        return None
    try:
        of = fold(record.start, fallen, fallen, season_starts=cube.season_starts)
    except SettingError:  # rain in winter alone
        return None
    out = np.full((len(cube.seasons), DAYS), np.nan)
    _, mine, theirs = np.intersect1d(cube.seasons, of.seasons, return_indices=True)
    tenths = of.tmin[theirs].astype(float)
    out[mine] = np.where(tenths < 0, np.nan, tenths / 10)
    return out


def cold_start(cube: Cube, sowing: ArrayLike, complete: Mask,
               rain: NDArray[np.float64] | None = None) -> ColdStart:  # fmt: skip
    """How often the days after sowing were cold, and cold and wet.

    Parameters
    ----------
    cube : Cube [season, 365]
    sowing : int array [sowing day] [column]
    complete : bool [season]
    rain : array [season, 365] [mm], see `rain_of`
    """
    chill, wet = numbers()["chill"], numbers()["rain"]
    days = np.atleast_1d(np.asarray(sowing, int))
    at = np.minimum(days[:, None] + np.arange(chill["days"]), DAYS - 1)
    before = np.maximum(days[:, None] - np.arange(1, BEFORE + 1), 0)
    known = has_heat(*cube.columns())
    air = np.where(known, (cube.tmin.astype(float) + cube.tmax) / 20, np.nan)
    soil_by_day = soil_temperature(air)
    with np.errstate(invalid="ignore"):
        cold: Mask = np.any(soil_by_day[:, at] < chill["soil"], axis=-1)
    told: Mask = np.all(known[:, at], axis=-1) & np.all(known[:, before], axis=-1)
    soil = _share(cold, told, complete)
    if rain is None:
        return ColdStart(soil, None, chill["soil"], chill["days"], wet["millimetres"])
    fallen = rain[:, at]
    soaked: Mask = np.asarray(np.nansum(fallen, -1) >= wet["millimetres"])
    dry: Mask = ~np.isnan(fallen).any(-1) & ~soaked
    settled = (told & ~cold) | dry | (told & cold & soaked)
    return ColdStart(soil, _share(cold & soaked, settled, complete), chill["soil"], chill["days"], wet["millimetres"])


def _share(came: Mask, told: Mask, complete: Mask) -> Share:
    yes, no = (came & told).sum(0), (~came & told).sum(0)
    good = told & complete[:, None]
    return share(yes, no, len(told) - yes - no, complete=good.sum(0), complete_yes=(came & good).sum(0))
