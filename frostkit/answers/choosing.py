"""Which hybrid and which bean for a place and a seeding day: ranked by odds, and the highest rating that gets there."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.cautions import Caution, cautions_of
from frostkit.answers.cold_start import ColdStart, cold_start
from frostkit.answers.growth import growth_plan, wanted
from frostkit.answers.legume_grid import Grid, shares
from frostkit.answers.plans import needs_latitude, plan
from frostkit.answers.station import Behind
from frostkit.answers.together import corn_days
from frostkit.crops.entry import Crop, listed, load
from frostkit.errors import SettingError
from frostkit.odds.estimate import Share, reaches
from frostkit.seasons.windows import Works, works, works_many


@dataclass(frozen=True)
class Choice:
    """One crop sown on the day asked for.

    odds : seasons in which it reaches its goal: a forage bean within the corn named, a grain bean in the open
    alone : for a bean, in the open; None for corn
    reaches : whether the odds wanted are reached
    """

    crop: Crop
    odds: Share
    alone: Share | None
    reaches: bool


@dataclass(frozen=True)
class ChoosingAnswer:
    """Hybrids and beans for one seeding day, best odds first; equal odds: higher rating, later group first.

    highest : by use ("silage", "grain"), the corn of the highest rating that reaches the odds wanted, or None
    within : the corn that the beans are looked at in
    left_out : beans of the library that go by day length, where the latitude is not known
    """

    behind: Behind
    seeding_day: int
    after: int
    odds_wanted: float
    corns: tuple[Choice, ...]
    beans: tuple[Choice, ...]
    highest: dict[str, Crop | None]
    within: Crop | None
    left_out: tuple[str, ...]
    start: ColdStart
    cautions: tuple[Caution, ...]


def choosing(behind: Behind, seeding_day: int, corns: Sequence[Crop] | None = None, beans: Sequence[Crop] | None = None,
             *, odds: float = 0.8, after: int = 0, growth: str | None = None,
             rain: NDArray[np.float64] | None = None, latitude: float | None = None) -> ChoosingAnswer:  # fmt: skip
    """Rank hybrids and beans for a place and a seeding day.

    Parameters
    ----------
    behind : Behind
    seeding_day : int [column], the corn's
    corns, beans : crops to choose from; left out, the library's
    odds : odds wanted
    after : days from the corn's seeding to the bean's
    growth : what is wanted of the beans, see `growth.wanted`; left out, each bean's own goal
    rain : mm by season and day, see `cold_start.rain_of`
    latitude : degrees north, the field's; left out, the station's; without either, the library's beans that go by day
        length alone are left out

    Raises `SettingError` for odds outside 0 to 1, or no crop to choose from.
    """
    if not 0 < odds <= 1:
        raise SettingError(f"Odds of {odds:g} can't be wanted.", "Give odds above 0 and up to 1, such as 0.8.")
    every = [load(name) for name in listed()] if corns is None or beans is None else []
    corns = [crop for crop in every if crop.kind == "corn"] if corns is None else corns
    latitude = behind.latitude if latitude is None else latitude
    dark = beans is None and latitude != latitude and growth is None
    beans = [crop for crop in every if crop.kind == "legume"] if beans is None else beans
    left_out = tuple(crop.name for crop in beans if dark and needs_latitude(crop))
    beans = [crop for crop in beans if crop.name not in left_out]
    if not corns and not beans:
        raise SettingError("There is no crop to choose from.", "Name hybrids, beans or both.")
    cube = behind.cube
    day = np.array([seeding_day])

    grids = works_many(cube, [plan(crop, latitude) for crop in corns], day) if corns else []
    ranked = [_choice(crop, grid, None, odds) for crop, grid in zip(corns, grids, strict=True)]
    ranked.sort(key=lambda one: (-_order(one.odds), -_rating(one.crop)))
    highest: dict[str, Crop | None] = {}
    for use in dict.fromkeys(crop.use for crop in corns):
        fit = [one.crop for one in ranked if one.reaches and one.crop.use == use]
        highest[use] = max(fit, key=_rating, default=None)
    within = highest.get("silage") or highest.get("grain")

    found = []
    of = None if within is None else corn_days(cube, within, day, latitude)
    for bean in beans:
        if of is None:
            alone = inside = works(cube, growth_plan(bean, wanted(growth, bean), latitude), day + after)
        else:
            grid = Grid(cube, bean, wanted(growth, bean), day + after, of, latitude)
            alone, inside = grid.alone, grid.works
        found.append(_choice(bean, alone if bean.use == "grain" else inside, alone, odds))
    found.sort(key=lambda one: (-_order(one.odds), one.crop.name))
    start = cold_start(cube, np.array([seeding_day, seeding_day + after]), behind.complete, rain)
    return ChoosingAnswer(behind, seeding_day, after, odds, tuple(ranked), tuple(found), highest, within, left_out,
                          start, cautions_of("seeding"))  # fmt: skip


def _choice(crop: Crop, grid: Works, alone: Works | None, odds: float) -> Choice:
    share = _one(grid)
    return Choice(crop, share, None if alone is None else _one(alone),
                  bool(reaches(share.complete_yes, share.complete, odds)))  # fmt: skip


def _one(grid: Works) -> Share:
    return shares(grid.certain[:, 0], grid.possible[:, 0], grid.typical[:, 0], grid.complete)


def _order(share: Share) -> float:
    """What a ranking goes by: the point share; with too few complete seasons, the low end."""
    return float(share.low if np.isnan(share.share) else share.share)


def _rating(crop: Crop) -> float:
    return 0.0 if crop.rating is None else crop.rating.value
