"""Corn and a legume in one field: chopped together, and the legume sheltered by the corn while its canopy is closed.

The legume's time ends at the corn's chop or at its own killing frost, whichever comes first. The corn is chopped when
it is fit; corn that a frost kills before that dries at the frosted rate and is chopped when it gets there.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.answers.drying import hybrid
from frostkit.answers.plans import kills_at, late_planting, plan, whole_plan
from frostkit.crops.entry import Crop
from frostkit.errors import CropError
from frostkit.seasons.calendar import Cube
from frostkit.seasons.growth import Plan, Stage, stage_days
from frostkit.seasons.heat import bounds, has_heat, running
from frostkit.seasons.interval import NEVER, SeasonDates
from frostkit.seasons.silage import moisture_at
from frostkit.seasons.windows import Shelter, Works, both, killed, works


@dataclass(frozen=True)
class CornDays:
    """The days of the corn's season that matter to what grows below it; SeasonDates [..., season, seeding day].

    stages : day of each stage, by name
    closed : its canopy closes and shelters; browned : its leaves go after that; killed : the plant dies
    fit : it reaches its goal by heat; chop : it is chopped; +inf where not within the season
    """

    stages: dict[str, SeasonDates]
    closed: SeasonDates
    browned: SeasonDates
    killed: SeasonDates
    fit: SeasonDates
    chop: SeasonDates


@dataclass(frozen=True)
class Together:
    """Corn, the legume within it, and both in the same season; listed by the corn's seeding day."""

    corn: Works
    legume: Works
    both: Works
    days: CornDays


def corn_days(
    cube: Cube, corn: Crop, sowing: ArrayLike, latitude: float | None = None, frost: str = "usual", late: bool = False
) -> CornDays:
    """When the corn closes, browns, dies and is chopped, in every season and for every seeding day.

    Parameters
    ----------
    cube : Cube [..., season, 365]
    corn : Crop
    sowing : int array [seeding day] [column]
    latitude, frost : as for `plans.plan`
    late : the corn needs less the later it is sown (`plans.late_planting`)
    """
    if corn.kind != "corn":
        raise CropError(
            f"{corn.name} is no corn, so nothing grows in its shelter.", "Name a corn, such as silage-2300."
        )
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    of = whole_plan(corn, latitude, frost=frost)
    of = late_planting(of, corn, days) if late else of
    every = stage_days(cube, of, days)
    stages = {
        stage.name: SeasonDates(every.first[..., number], every.last[..., number])
        for number, stage in enumerate(of.stages)
    }
    dead = killed(cube, of, days)
    nowhere = np.full(dead.first.shape, NEVER)
    closed = stages[corn.closes] if corn.closes else SeasonDates(nowhere, nowhere)
    fit = stages[corn.goal]
    chop = _chop(cube, corn, of, days, fit, dead)
    return CornDays(stages, closed, _browned(cube, corn, of, days, frost), dead, fit, chop)


def _browned(cube: Cube, corn: Crop, of: Plan, days: NDArray[np.int64], frost: str) -> SeasonDates:
    """First frost that takes the leaves once the canopy has closed."""
    begins = [stage.name for stage in of.stages].index(corn.closes) if corn.closes else 0
    found: float | None = None
    stages: list[Stage] = []
    for number, stage in enumerate(of.stages):
        browns = corn.stage[stage.name].browns
        found = kills_at(browns, frost) if browns is not None else found
        stages.append(replace(stage, kills_at=found if number >= begins else None, kills_from=0))
    return killed(cube, replace(of, stages=tuple(stages)), days)


def _chop(
    cube: Cube, corn: Crop, of: Plan, days: NDArray[np.int64], fit: SeasonDates, dead: SeasonDates
) -> SeasonDates:
    """The day of the chop: fit by heat, or dried to the goal's moisture after a killing frost that came first."""
    first, last = fit.first.copy(), fit.last.copy()
    before = dead.first <= fit.last  # a frost may have come first
    if not before.any():
        return fit
    clock = of.stages[of.goal].clock
    known = has_heat(*cube.columns())
    sums = [running(end) for end in bounds(np.where(known, clock.rate(*cube.columns()), 0), known)]
    need = of.stages[of.goal].need
    dried = [_dried(corn, total, days, day, of.season_end, need) for total in sums for day in dead]
    earliest, latest = np.minimum.reduce(dried), np.maximum.reduce(dried)
    certain = dead.last <= fit.first
    first = np.where(before, np.where(certain, earliest, np.minimum(first, earliest)), first)
    last = np.where(before, np.where(certain, latest, np.maximum(last, latest)), last)
    return SeasonDates(first, last)


def _dried(corn: Crop, total: NDArray[np.int32], days: NDArray[np.int64], dead: NDArray[np.float64], end: int,
           need: int | tuple[int, ...]):  # fmt: skip
    """Day on which corn killed on day `dead` has dried to its goal's moisture. [..., season, seeding day]

    need : of the goal; where it falls with later sowing, the curve of moisture by heat is drawn together with it
    """
    if corn.moisture is None:
        return dead
    drying = hybrid(corn).drying
    at = np.where(np.isfinite(dead), dead, 0).astype(int)
    start = np.broadcast_to(days + 1, at.shape)
    heat = np.take_along_axis(total, at + 1, -1) - np.take_along_axis(total, start, -1)
    nearer = (
        1.0 if isinstance(need, int) else drying.heat[drying.moisture.index(corn.moisture.at_goal)] / np.array(need)
    )
    points = np.maximum(moisture_at(np.maximum(heat, 0) * nearer, drying) - corn.moisture.at_goal, 0)
    day = dead + np.ceil(points / drying.frosted)
    return np.where(day > end, NEVER, day)


def shelter(legume: Crop, of: CornDays) -> Shelter | None:
    """Degrees that the corn keeps off the legume, from its closing to the night on which it browns, or to the chop."""
    if legume.shelter is None:
        return None
    last = SeasonDates(np.minimum(of.browned.first, of.chop.first), np.minimum(of.browned.last, of.chop.last))
    return Shelter(legume.shelter.value, of.closed, last)


def together(cube: Cube, corn: Crop, legume: Crop, sowing: ArrayLike, after: int = 0, latitude: float | None = None,
             frost: str = "usual") -> Together:  # fmt: skip
    """Would corn and legume both have reached their goals, chopped together: for every season and seeding day.

    Parameters
    ----------
    cube : Cube [..., season, 365]
    corn, legume : Crop
    sowing : int array [seeding day] [column], the corn's
    after : int [days] from the corn's seeding to the legume's
    latitude, frost : as for `plans.plan`
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    of = corn_days(cube, corn, days, latitude, frost)
    alone = works(cube, plan(corn, latitude, frost=frost), days)
    below = works(cube, plan(legume, latitude, frost=frost), days + after, end=of.chop, shelter=shelter(legume, of))
    return Together(alone, below, both(alone, below), of)
