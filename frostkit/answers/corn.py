"""The corn's days, season by season: when it emerges, closes, browns, dies, is fit for the store and is chopped.

One definition of fit for every answer: the field enters the store's range of moisture alive. Down to the range the
moisture follows the heat since sowing along the hybrid's drying curve, so that entering it is a need of heat.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.plans import kills_at, late_planting, plan, whole_plan
from frostkit.answers.silage.drying import DENT, hybrid
from frostkit.answers.silage.stores import Store
from frostkit.crops.entry import Crop
from frostkit.errors import CropError
from frostkit.seasons.calendar import NEVER
from frostkit.seasons.growth import Plan, Stage, stage_days
from frostkit.seasons.heat import running
from frostkit.seasons.silage import heat_at, moisture_at
from frostkit.seasons.windows import Shelter, killed, made_it

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Tenths = NDArray[np.int16]


def is_silage(corn: Crop) -> bool:
    """Whether a corn goes to a store, so that fit is the store's range."""
    return corn.use == "silage" and corn.moisture is not None


def need_at(corn: Crop, moisture: float, more: float = 0.0) -> int:
    """Heat since sowing at which the hybrid has a whole-plant moisture [whole units of its clock].

    moisture : percent; more : added to every need of the hybrid, in its own unit
    """
    of = hybrid(corn)
    return round(float(heat_at(moisture, of.drying)) + more * of.clock.per_unit)


def fit_plan(
    corn: Crop,
    store: Store,
    latitude: float | None = None,
    *,
    more: float = 0.0,
    frost: str = "usual",
) -> Plan:
    """The plan whose goal is what the corn is grown for: for silage the store's range, entered alive.

    Parameters
    ----------
    corn : an entry
    store : for silage; of no account for grain, whose goal stands in its entry
    latitude : degrees north, where a stage goes by day length
    more : added to the need of the goal, in its unit; may be negative
    frost : "usual", "tender" or "hardy"
    """
    of = plan(corn, latitude, more=more, frost=frost)
    return _entering(of, corn, store, more)


def whole_fit_plan(corn: Crop, store: Store, latitude: float | None = None, frost: str = "usual") -> Plan:
    """`fit_plan` with every stage of the entry."""
    return _entering(whole_plan(corn, latitude, frost=frost), corn, store, 0.0)


def _entering(of: Plan, corn: Crop, store: Store, more: float) -> Plan:
    if not is_silage(corn):
        return of
    goal = replace(of.stages[of.goal], need=need_at(corn, store.high, more))
    return replace(of, stages=tuple(goal if at == of.goal else stage for at, stage in enumerate(of.stages)))


def dent_plan(corn: Crop, latitude: float | None = None, frost: str = "usual") -> Plan | None:
    """The plan whose goal is dent: killed from then on the corn is still usable. None for an entry without dent."""
    return plan(corn, latitude, goal=DENT, frost=frost) if DENT in corn.stage and is_silage(corn) else None


@dataclass(frozen=True)
class CornDays:
    """The days of the corn's season that matter to what grows below it; float [row, seeding day], columns.

    stages : day of each stage, by name
    closed : its canopy closes and shelters; browned : its leaves go after that; killed : the plant dies
    fit : it enters the store's range by heat, whatever the frost; chop : it is chopped; +inf where not in the season
    """

    stages: dict[str, Floats]
    closed: Floats
    browned: Floats
    killed: Floats
    fit: Floats
    chop: Floats


def corn_days(
    tmin: Tenths,
    tmax: Tenths,
    corn: Crop,
    sowing: Ints,
    store: Store,
    latitude: float | None = None,
    *,
    frost: str = "usual",
    late: bool = False,
    every: bool = True,
) -> CornDays:
    """When the corn closes, browns, dies and is chopped, for every row and seeding day.

    Corn that a frost kills before it is fit dries at the frosted rate and is chopped when it gets to the range.

    Parameters
    ----------
    tmin, tmax : int16 [row, 365], tenths of degC
    corn : Crop; sowing : int [seeding day], columns; store : Store
    latitude, frost : as in `plans.plan`
    late : the corn needs less the later it is sown (`plans.late_planting`)
    every : the day of every stage; else of those alone that the other days rest on

    Raises `CropError` for an entry that is no corn.
    """
    if corn.kind != "corn":
        raise CropError(
            f"{corn.name} is no corn, so nothing grows in its shelter.", "Name a corn, such as silage-2300."
        )
    of = whole_fit_plan(corn, store, latitude, frost)
    of = of if every else _without_idle(of, corn)
    of = late_planting(of, corn, sowing) if late else of
    days = stage_days(tmin, tmax, of, sowing)
    stages = {stage.name: days[..., number] for number, stage in enumerate(of.stages)}
    dead = killed(tmin, tmax, of, sowing)
    closed = stages[corn.closes] if corn.closes else np.full(dead.shape, NEVER)
    fit = stages[corn.goal]
    chop = np.where(dead <= fit, _dried(tmin, tmax, corn, of, sowing, store, dead), fit)
    return CornDays(stages, closed, _browned(tmin, tmax, corn, of, sowing, frost), dead, fit, chop)


def _without_idle(of: Plan, corn: Crop) -> Plan:
    """The plan without stages that change nothing: no goal, no closing, no cold that harms from then on."""
    wanted = {of.goal}
    for number, stage in enumerate(of.stages):
        entry = corn.stage[stage.name]
        if entry.kills is not None or entry.browns is not None or stage.name == corn.closes:
            wanted.add(number)
    for number in sorted(wanted, reverse=True):  # and those that they are counted from
        while number >= 0:
            wanted.add(number)
            number = of.stages[number].since
    kept = sorted(wanted)
    stages = tuple(
        replace(of.stages[number], since=kept.index(of.stages[number].since) if of.stages[number].since >= 0 else -1)
        for number in kept
    )
    return replace(of, stages=stages, goal=kept.index(of.goal))


def _browned(tmin: Tenths, tmax: Tenths, corn: Crop, of: Plan, sowing: Ints, frost: str) -> Floats:
    """First frost that takes the leaves once the canopy has closed."""
    begins = [stage.name for stage in of.stages].index(corn.closes) if corn.closes else 0
    found: float | None = None
    stages: list[Stage] = []
    for number, stage in enumerate(of.stages):
        browns = corn.stage[stage.name].browns
        found = kills_at(browns, frost) if browns is not None else found
        stages.append(replace(stage, kills_at=found if number >= begins else None, kills_from=0))
    return killed(tmin, tmax, replace(of, stages=tuple(stages)), sowing)


def _dried(tmin: Tenths, tmax: Tenths, corn: Crop, of: Plan, sowing: Ints, store: Store, dead: Floats) -> Floats:
    """Day on which corn killed on day `dead` has dried to the store's range; the day itself for grain. [row, sowing]"""
    if not is_silage(corn):
        return dead
    drying = hybrid(corn).drying
    gathered = heat_to(tmin, tmax, of, sowing, dead)
    need = np.broadcast_to(np.asarray(of.stages[of.goal].need, float), gathered.shape[-1:])
    nearer = float(heat_at(store.high, drying)) / need  # where the need falls with later sowing, the curve does too
    points = np.maximum(moisture_at(gathered * nearer, drying) - store.high, 0)
    day = dead + np.ceil(points / drying.frosted - 1e-9)
    return np.where(day > of.season_end, NEVER, day)


def heat_to(tmin: Tenths, tmax: Tenths, of: Plan, sowing: Ints, day: Floats) -> Floats:
    """Heat on the goal's clock from the day after sowing to the end of a day [whole units]. [row, sowing]"""
    total = running(of.stages[of.goal].clock.rate(tmin, tmax))
    at = np.where(np.isfinite(day), day, of.season_end).astype(np.int64) + 1
    start = np.broadcast_to(sowing + 1, at.shape)
    heat = np.take_along_axis(total, np.maximum(at, start), -1) - np.take_along_axis(total, start, -1)
    return heat.astype(float)


def shelter(legume: Crop, of: CornDays) -> Shelter | None:
    """Degrees that the corn keeps off the legume, from its closing to the night on which it browns, or to the chop."""
    if legume.shelter is None:
        return None
    return Shelter(legume.shelter.value, of.closed, np.minimum(of.browned, of.chop))


def chopped_together(corn: Crop | None, legume: Crop | None) -> bool:
    """Whether corn and legume come off the field in one pass: silage corn with a forage legume."""
    return corn is not None and legume is not None and corn.use == "silage" and legume.use == "forage"


def usable(tmin: Tenths, tmax: Tenths, corn: Crop, sowing: Ints, latitude: float | None, frost: str) -> NDArray:
    """Whether the corn came to dent alive within the season: worth chopping off the range. bool [row, sowing]"""
    of = dent_plan(corn, latitude, frost)
    if of is None:
        return np.zeros((len(tmin), sowing.size), bool)
    return made_it(tmin, tmax, of, sowing)


def off_range(
    tmin: Tenths, tmax: Tenths, corn: Crop, sowing: Ints, store: Store, latitude: float | None, frost: str
) -> Floats:
    """Points of moisture above the store's range on the day the corn was killed, or on 31 October. [row, sowing]

    0 where it was in the range or drier.
    """
    of = whole_fit_plan(corn, store, latitude, frost)
    dead = killed(tmin, tmax, of, sowing)
    return np.maximum(moisture_at(heat_to(tmin, tmax, of, sowing, dead), hybrid(corn).drying) - store.high, 0)
