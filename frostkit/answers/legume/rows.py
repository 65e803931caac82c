"""Which way the corn's rows should run, and how far apart: the light on the floor between them, by hour and by day."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, Day, Named, Part, Says, Table
from frostkit.answers.cautions import cautions_for
from frostkit.answers.corn import corn_days
from frostkit.answers.legume import bean_light
from frostkit.answers.legume.growth import END, leaves, low_middle_high, sunlit
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError
from frostkit.seasons.calendar import column
from frostkit.seasons.light import diffuse_share, extraterrestrial, season_radiation
from frostkit.seasons.rowlight import EAST_WEST, NORTH_SOUTH, Rows, crossing, direct_share, floor_share, row_day

Floats = NDArray[np.float64]
SEEDING, MIDSUMMER = column(5, 20), column(6, 21)
SPACINGS = ("ordinary", "wide")
HOURS = np.arange(4.5, 20, 0.5)
"""Solar time of the table of hours: from before sunrise to after sunset in June at 55 N."""
WALL = 0.4  # m: width of hedges that do not close, the widest of the worked examples; judgement
FROM_COLLAR = 1  # before the corn's first collar rows let all light through whichever way they run


def rows(
    site: Site,
    corn: Crop,
    seeding: int = SEEDING,
    *,
    bearing: float | None = None,
    day: int = MIDSUMMER,
    store: str = "bunker",
) -> Answer:
    """Light on the floor between rows of corn, north-south, east-west and by the field's own bearing.

    Parameters
    ----------
    site : Site
    corn : an entry, whose leaves follow their heat clock; seeding : column, its seeding day
    bearing : of the field's own rows, degrees from north; None: none beside the two
    day : column, whose hours are told
    store : where silage goes; it decides when the corn is chopped

    Raises
    ------
    SettingError, CropError, RecordError
        For a day or bearing that is not allowed, or a record without a season that counts.
    """
    if bearing is not None and not 0 <= bearing < 360:
        raise SettingError(f"A bearing of {bearing:g} degrees can't be.", "Give degrees from north, 0 to 359.")
    if not column(3, 1) <= seeding <= column(7, 31):
        raise SettingError("Corn seeded then is no crop here.", "Give a seeding day from 1 March to 31 July.")
    latitude = sunlit(site.latitude)
    of = site.ensemble(("tmin", "tmax"), 0)
    which, weight = np.unique(of.index, return_counts=True)
    tmin, tmax = of.tmin[which], of.tmax[which]
    chop = corn_days(tmin, tmax, corn, np.array([seeding]), wanted(store), site.latitude).chop
    last = int(low_middle_high(np.minimum(chop[:, 0], END), weight)[1])
    if not seeding < day <= last:
        raise SettingError("The day whose hours are told lies outside the corn's time.",
                           "Give a day between its seeding and its usual chop.")  # fmt: skip
    days = np.arange(seeding, last + 1)
    plant = leaves(corn)
    heat = bean_light.corn_heat(plant, tmin, tmax)
    since = low_middle_high((heat[:, days + 1] - heat[:, seeding + 1, None]).astype(float), weight)[1]
    sun = season_radiation(tmin, tmax, latitude)[:, days]
    light = np.average(sun, axis=0, weights=weight)
    sky = np.average(diffuse_share(sun / extraterrestrial(latitude, days + 1)), axis=0, weights=weight)
    ways = {"north_south": NORTH_SOUTH, "east_west": EAST_WEST} | ({} if bearing is None else {"own": float(bearing)})
    by_day: dict[str, dict[str, Floats]] = {}
    hours: dict[str, dict[str, Floats]] = {}
    for spacing in SPACINGS:
        hedges = bean_light.rows_at(plant, since, spacing)
        by_day[spacing] = {name: floor_share(latitude, days + 1, hedges, to, sky) for name, to in ways.items()}
        hours[spacing] = {name: _hours(latitude, day, _one(hedges, day - seeding), to) for name, to in ways.items()}
    crosses = {name: _crosses(each, plant, since, days) for name, each in by_day.items()}
    opaque = {name: _crosses(_opaque(latitude, days, bean_light.rows_at(plant, since, name), ways), plant, since, days)
              for name in SPACINGS}  # fmt: skip
    season = {name: {way: float(np.average(one, weights=light)) for way, one in each.items()}
              for name, each in by_day.items()}  # fmt: skip
    values = {
        "corn": corn.name,
        "seeding": Day(seeding),
        "usual_chop": Day(last),
        "latitude": round(latitude, 4),
        "bearing": bearing,
        "day": Day(day),
        "crossing": {name: None if at is None else Day(at) for name, at in crosses.items()},
        "crossing_of_opaque_hedges": {name: None if at is None else Day(at) for name, at in opaque.items()},
        "trials_at_45_to_55_n": 0,
    }
    tables = (_summary(season, list(ways)), _hour_table(hours, latitude, day, list(ways)),
              _day_table(by_day, days, since, plant, list(ways)))  # fmt: skip
    headline, sentences = _said(site, season, crosses, opaque, hours, latitude, day, seeding, last, bearing)
    return Answer("rows", headline, sentences, values, tables, cautions_for("local"), site, {"ways": ways}, of,
                  Says("do_look"))  # fmt: skip


def _one(hedges: Rows, at: int) -> Rows:
    """The hedges of one day."""
    return Rows(*(np.broadcast_to(np.asarray(value, float), np.shape(hedges.height))[at] for value in hedges))


def _opaque(latitude: float, days: NDArray[np.int64], hedges: Rows, ways: dict[str, float]) -> dict[str, Floats]:
    """The beam alone between hedges that let nothing through and do not close: the dark limit, as sayings have it."""
    walls = hedges._replace(width=np.minimum(hedges.width, WALL), leaf_area=np.inf)
    return {name: direct_share(latitude, days + 1, walls, to) for name, to in ways.items()}


def _hours(latitude: float, day: int, hedges: Rows, bearing: float) -> Floats:
    """Share of the sun's beam on the floor at each of `HOURS`; NaN while the sun is down."""
    found = row_day(latitude, day + 1, hedges, bearing, HOURS)
    return np.where(found.sun.elevation > 0, found.direct, np.nan)


def _crosses(each: dict[str, Floats], plant: Crop, since: Floats, days: NDArray[np.int64]) -> float | None:
    """The day from which on north-south rows let in more than east-west ones; None where they do not."""
    first = bean_light.collar_heat(plant, FROM_COLLAR)[0]
    begins = int(np.searchsorted(since, first))
    at = crossing(each["east_west"][begins:], each["north_south"][begins:])
    return None if at is None else float(days[begins + at])


def _named(spacing: str) -> Named:
    return Named(spacing, Says(f"rows_{spacing}"))


def _summary(season: dict[str, dict[str, float]], ways: list[str]) -> Table:
    """A row a spacing: the season's light on the floor."""
    columns = [Column(way, "part", np.round([season[name][way] for name in SPACINGS], 4)) for way in ways]
    return Table("season", Column("rows", "named", [_named(name) for name in SPACINGS]), tuple(columns))


def _hour_table(hours: dict[str, dict[str, Floats]], latitude: float, day: int, ways: list[str]) -> Table:
    sun = row_day(latitude, day + 1, Rows(1.0, 0.0, 0.0), 0.0, HOURS).sun
    up = np.flatnonzero(sun.elevation > 0)
    columns = [Column("sun.elevation", "amount", np.round(sun.elevation[up], 1), "degrees", shown=False),
               Column("sun.azimuth", "amount", np.round(sun.azimuth[up], 1), "degrees", shown=False)]  # fmt: skip
    columns += [Column(f"{name}.{way}", "part", np.round(hours[name][way][up], 4)) for name in SPACINGS for way in ways]
    whole = np.flatnonzero(HOURS[up] % 2 == 0)
    return Table("hours", Column("hour", "amount", HOURS[up], "h", 1), tuple(columns), brief=whole)


def _day_table(
    by_day: dict[str, dict[str, Floats]], days: NDArray[np.int64], since: Floats, plant: Crop, ways: list[str]
) -> Table:
    numbers = np.arange(0, 23)
    collars = np.interp(since, bean_light.collar_heat(plant, numbers), numbers)
    columns = [Column("corn_collars", "number", np.round(collars, 1))]
    columns += [Column(f"{name}.{way}", "part", np.round(by_day[name][way], 4)) for name in SPACINGS for way in ways]
    brief = np.flatnonzero((days - days[0]) % 10 == 0)
    return Table("days", Column("day", "day", days.astype(float)), tuple(columns), brief=brief)


def _said(
    site: Site,
    season: dict[str, dict[str, float]],
    crosses: dict[str, float | None],
    opaque: dict[str, float | None],
    hours: dict[str, dict[str, Floats]],
    latitude: float,
    day: int,
    seeding: int,
    last: int,
    bearing: float | None,
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, and what carries it."""
    usual, wide = season["ordinary"], season["wide"]
    values: dict[str, Any] = {
        "ns": Part(usual["north_south"]),
        "ew": Part(usual["east_west"]),
        "wide_ns": Part(wide["north_south"]),
        "wide_ew": Part(wide["east_west"]),
    }
    at, dark = crosses["wide"], opaque["ordinary"]
    headline = Says("no_crossing", values) if at is None else Says("crossing", {**values, "day": Day(at)})
    said = [Says("season", {**values, "first": Day(seeding), "last": Day(last)})]
    said.append(Says("closing") if crosses["ordinary"] is None else Says("ordinary", {"day": Day(crosses["ordinary"])}))
    if dark is not None:
        said.append(Says("opaque", {"day": Day(dark)}))
    if bearing is not None:
        own = {"bearing": Amount(bearing, "degrees"), "own": Part(usual["own"]), "wide_own": Part(wide["own"])}
        said.append(Says("own", own))
    noon = int(np.flatnonzero(HOURS == 12)[0])
    of_noon = {name: Part(float(one[noon])) for name, one in hours["ordinary"].items()}
    morning = {name: Part(float(one[int(np.flatnonzero(HOURS == 8)[0])])) for name, one in hours["ordinary"].items()}
    said.append(Says("noon", {"day": Day(day), "ns": of_noon["north_south"], "ew": of_noon["east_west"],
                              "morning_ns": morning["north_south"], "morning_ew": morning["east_west"]}))  # fmt: skip
    said += [Says("practice"), Says("no_trial"), Says("model")]
    if site.latitude != site.latitude:
        said.append(Says("latitude", {"latitude": Amount(latitude, "degrees north")}))
    return headline, tuple(said)
