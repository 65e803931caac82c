"""From a crop entry to the plan that the seasons room works with: clocks, needs in whole units, what kills."""

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from frostkit.crops.entry import Clock, Cold, Crop, Need, Photothermal, SoilHeat, Thermal, load
from frostkit.crops.mixes import SOWING
from frostkit.errors import CropError, SettingError, choose
from frostkit.seasons.calendar import from_code
from frostkit.seasons.growth import Clock as AnyClock, Plan, Stage
from frostkit.seasons.heat import Heat
from frostkit.seasons.photothermal import Photothermal as DayClock
from frostkit.seasons.soil import SoilDegreeDays, SoilReady

FAHRENHEIT = 1.8
FROST = {"usual": "value", "tender": "high", "hardy": "low"}
"""Which end of a killing temperature's range is taken: the usual figure, the warmest or the coldest of the sources."""


def plan(crop: Crop | str, latitude: float | None = None, goal: str | None = None, more: float = 0.0,
         frost: str = "usual", cool_nights: bool | None = None) -> Plan:  # fmt: skip
    """What decides whether a sowing worked: the stages up to the goal, and those that change what kills the crop.

    Parameters
    ----------
    crop : an entry, or the name or path of one
    latitude : degrees north; needed where the goal, or a stage on the way to it, goes by day length
    goal : name of another stage to take as the goal
    more : heat added to the need of the goal, in the unit of that need (may be negative)
    frost : "usual", "tender" (the warmest killing temperature that a source names) or "hardy" (the coldest)
    cool_nights : count the slowing by cool nights where the entry has one; None: as the entry says

    Raises `SettingError` for a goal or a latitude that is missing, `CropError` for an entry with faults.

    >>> [stage.name for stage in plan("silage-2300").stages]
    ['emergence', 'v5', 'fit_to_chop']
    """
    crop = crop if isinstance(crop, Crop) else load(crop)
    goal = crop.goal if goal is None else choose("goal", goal, crop.stage)
    wanted = {name for name, stage in crop.stage.items() if stage.kills is not None} | {goal}
    wanted = {on_way for name in wanted for on_way in _way(crop, name)}
    return _plan(crop, [name for name in crop.stage if name in wanted], latitude, goal, more, frost, cool_nights)


def whole_plan(crop: Crop | str, latitude: float | None = None, goal: str | None = None, more: float = 0.0,
               frost: str = "usual", cool_nights: bool | None = None) -> Plan:  # fmt: skip
    """Like `plan`, with every stage of the entry: for the season as a strip of stages.

    Without a latitude the stages that go by day length are left out.

    >>> [stage.name for stage in whole_plan("forage-late").stages]
    ['emergence', 'growth']
    """
    crop = crop if isinstance(crop, Crop) else load(crop)
    goal = crop.goal if goal is None else choose("goal", goal, crop.stage)
    latitude = _known(latitude)
    names = [name for name in crop.stage if latitude is not None or not _by_day_length(crop, name) or name == goal]
    return _plan(crop, names, latitude, goal, more, frost, cool_nights)


def late_planting(of: Plan, crop: Crop | str, sowing: ArrayLike) -> Plan:
    """The plan with needs that fall with later sowing: an option, for the works grid (the fast path declines it).

    The goal's need falls by the entry's figure for each day after its first day, and by nothing more beyond its last;
    stages that count from sowing on the goal's clock fall by the same share.

    Parameters
    ----------
    of : Plan of this crop
    crop : an entry with `late_planting`
    sowing : int array [seeding day] [column], the same days that are asked of the grid

    References
    ----------
    Nielsen, Thomison, Brown, Halter, Wells & Wuethrich 2002, Agron. J. 94:549-558: 6.8 degree days (degF) a day after
    1 May in Indiana and Ohio; the authors warn that it may not hold elsewhere.

    Raises `CropError` for an entry without it.

    >>> from frostkit.seasons.calendar import column
    >>> late_planting(plan("silage-2300"), "silage-2300", [column(5, 1), column(5, 21)]).stages[-1].need
    (107500000, 102100000)
    """
    crop = crop if isinstance(crop, Crop) else load(crop)
    entry = crop.late_planting
    if entry is None:
        raise CropError(f"{crop.name} does not say how late planting changes its need.",
                        "Add [late_planting] to the entry: value, unit, from, until, source.")  # fmt: skip
    goal = of.stages[of.goal]
    begins, ends = from_code(entry.from_day), from_code(entry.until_day)
    late = np.clip(np.atleast_1d(np.asarray(sowing)), begins, ends) - begins
    share = late * entry.value / crop.stage[goal.name].need.value
    stages = tuple(
        replace(stage, need=tuple(int(need) for need in np.rint(np.asarray(stage.need) * (1 - share))))
        if stage.since == -1 and stage.clock == goal.clock
        else stage
        for stage in of.stages
    )
    return replace(of, stages=stages)


def clock(crop: Crop, name: str, latitude: float | None = None, cool_nights: bool | None = None) -> AnyClock:
    """The clock of this name in an entry, as the seasons room knows it.

    >>> clock(load("silage-2300"), "chu").unit
    'CHU'
    """
    entry: Clock = crop.clock[name]
    latitude = _known(latitude)
    if isinstance(entry, Photothermal):
        if latitude is None:
            raise SettingError(f"{crop.name} goes by day length ('{name}'), and the latitude is not known.",
                               "Give the latitude in degrees north, such as --latitude 50.")  # fmt: skip
        nights = entry.cool_nights
        on = nights is not None and (nights.on if cool_nights is None else cool_nights)
        return DayClock(
            temperatures=entry.temperatures.values,
            latitude=latitude,
            critical=entry.critical.value,
            sensitivity=entry.sensitivity.value,
            day_length=entry.day_length,
            cool_nights=(nights.below, nights.slowing) if on and nights else None,
        )
    if isinstance(entry, Thermal):
        return DayClock(temperatures=entry.temperatures.values, latitude=latitude)
    if isinstance(entry, SoilHeat):
        return SoilDegreeDays(base=entry.base, lag=entry.lag, warmer=entry.warmer)
    if entry.method == "chu":
        return Heat(method="chu", day=entry.day, night_base=entry.night_base)
    return Heat(method=entry.method, base=entry.base, cap=getattr(entry, "cap", None))


def whole_units(need: Need, per_unit: int, more: float = 0.0) -> int:
    """A need in whole units of its clock; degree days in °F become degree days in °C (1.8 to 1).

    >>> whole_units(load("silage-2300").stage["emergence"].need, 100)
    6389
    """
    return round((need.value + more) / (FAHRENHEIT if need.unit == "degree days F" else 1.0) * per_unit)


def kills_at(cold: Cold, frost: str = "usual") -> float:
    """A killing temperature [degC], or the warm or the cold end of its range."""
    end = getattr(cold, FROST[choose("frost", frost, FROST)])
    return cold.value if end is None else float(end)


def _plan(crop: Crop, names: list[str], latitude: float | None, goal: str, more: float, frost: str,
          cool_nights: bool | None) -> Plan:  # fmt: skip
    stages = []
    for name in names:
        entry = crop.stage[name]
        its_clock = clock(crop, entry.clock, latitude, cool_nights)
        kills = entry.kills
        stages.append(
            Stage(
                name=name,
                clock=its_clock,
                need=whole_units(entry.need, its_clock.per_unit, more if name == goal else 0.0),
                since=-1 if entry.since == SOWING else names.index(entry.since),
                kills_at=None if kills is None else kills_at(kills, frost),
                kills_from=0 if kills is None or kills.from_day is None else from_code(kills.from_day),
            )
        )
    return Plan(stages=tuple(stages), goal=names.index(goal), warm=soil_rule(crop))


def soil_rule(crop: Crop) -> SoilReady:
    """When the seedbed is fit for this crop, as the seasons room knows it.

    >>> soil_rule(load("forage-late")).rain
    5.0
    """
    soil = crop.soil
    return SoilReady(soil.limit, soil.next_days, from_code(soil.from_day), soil.rain)


def needs_latitude(crop: Crop, goal: str | None = None) -> bool:
    """Whether this goal of a crop goes by day length.

    >>> needs_latitude(load("soybean-00")), needs_latitude(load("forage-late"))
    (True, False)
    """
    return _by_day_length(crop, crop.goal if goal is None else goal)


def _known(latitude: float | None) -> float | None:
    """A station without a position has NaN."""
    return None if latitude is None or latitude != latitude else float(latitude)


def _way(crop: Crop, name: str) -> list[str]:
    """A stage and those it is counted from."""
    since = crop.stage[name].since
    return [name] if since == SOWING else [name, *_way(crop, since)]


def _by_day_length(crop: Crop, name: str) -> bool:
    return any(isinstance(crop.clock[crop.stage[on_way].clock], Photothermal) for on_way in _way(crop, name))
