"""A hybrid's drying curve, and how an observation in the field moves and narrows a forecast of its moisture.

The rule, in one place. Before anything is seen, a hybrid at a given heat lies around the curve with a standard
deviation of `by_heat` points. Silking seen sets the heat at silking and takes the blur of the need up to silking off
it. A milk line or a dried sample has a standard deviation of its own: the forecast moves towards it by the share that
the forecast's variance has in the sum of both, and is left with the variance of the two together (normal errors, each
weighted by one over its variance). Every day after the last observation adds `a_day` to it, up to `by_heat`.
"""

import tomllib
from dataclasses import replace
from functools import cache
from importlib.resources import files
from math import inf, sqrt
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.plans import clock, kills_at, whole_units
from frostkit.answers.silage.stores import Store
from frostkit.crops.entry import Crop
from frostkit.crops.mixes import SOWING
from frostkit.errors import CropError, SettingError
from frostkit.seasons.calendar import from_code, words
from frostkit.seasons.silage import Drying, heat_at, moisture_by_day

Floats = NDArray[np.float64]
DENT = "dent"  # the stage from which killed corn is still worth chopping
WETTEST, DRIEST = 90.0, 40.0  # percent a whole-plant sample of standing corn can have: beyond it is a slip of the hand


class Hybrid(NamedTuple):
    """A corn entry as the chopping answer sees it: all needs in whole units of `clock` since sowing.

    stages : (name, title, need) in order, those that count on the goal's clock
    silking_blur : points of moisture that the range of the need to silking is worth, as a standard deviation
    kills_at, kills_from : what kills it once it stands [degC], and from which column on
    """

    crop: Crop
    clock: Any
    drying: Drying
    stages: tuple[tuple[str, str, int], ...]
    silking: int | None
    silking_blur: float
    kills_at: float
    kills_from: int

    def for_store(self, store: Store) -> "Hybrid":
        """The same hybrid on its way to a store: down to the store's range heat alone decides, so that the day on which
        it enters is a need of heat (`corn.need_at`); from there on a day's drying is held to what is published."""
        return self._replace(drying=replace(self.drying, held_from=store.high))


class Seen(NamedTuple):
    """Something seen in the field on a day: "silking", "milk line" (share) or "moisture" (percent)."""

    kind: str
    value: float
    day: int

    def says(self) -> str:
        """The observation in words."""
        what = {"silking": "Silking", "milk line": f"A milk line {100 * self.value:.0f} % down"}
        return f"{what.get(self.kind, f'A moisture of {self.value:g} %')} on {words(self.day)}"


class Standing(NamedTuple):
    """Where a field stands after all observations; `own` are the draws of this season's own days.

    offset : float [own], whole units to add to the heat gathered
    start : float [own], moisture at the end of column `since`, where it was measured; None with nothing seen
    spread : standard deviation in points at `since` (or throughout, with nothing seen)
    moved : for each observation, points that it moved the forecast (mean of the draws) and the spread that it leaves
    """

    offset: Floats
    start: Floats | None
    since: int | None
    spread: float
    moved: tuple[tuple[Seen, float, float], ...]


@cache
def numbers() -> dict[str, Any]:
    """What stands in `chopping.toml`."""
    return tomllib.loads((files("frostkit.answers.silage") / "chopping.toml").read_text("utf-8"))


def hybrid(crop: Crop, frost: str = "usual") -> Hybrid:
    """The drying curve and stages of a corn entry: dent, the goal's moisture at the goal, its slope beyond.

    frost : which end of the killing temperature's range is taken: "usual", "tender" (warmest) or "hardy" (coldest)

    Raises `CropError` for an entry that is not corn for silage, or does not say its moisture at the goal.
    """
    if crop.moisture is None or crop.kind != "corn":
        raise CropError(f"{crop.name} does not say its moisture at the goal, so it has no chopping time.",
                        "Choose a silage corn, or add [moisture] to the entry (see silage-2300).")  # fmt: skip
    goal = crop.stage[crop.goal]
    its_clock = clock(crop, goal.clock)
    stages = tuple(
        (name, stage.title, whole_units(stage.need, its_clock.per_unit))
        for name, stage in crop.stage.items()
        if stage.clock == goal.clock and stage.since == SOWING
    )
    needs = {name: need for name, _, need in stages}
    if crop.goal not in needs:
        raise CropError(f"{crop.name}: the goal '{crop.goal}' does not count from sowing.",
                        "Give its need from sowing, so that moisture can follow heat.")  # fmt: skip
    at_goal, per_unit = crop.moisture.at_goal, its_clock.per_unit
    slope = crop.moisture.points_per_100 / (100 * per_unit)
    curve, daily = numbers()["curve"], numbers()["daily"]
    points = [(needs[crop.goal], float(at_goal)), (needs[crop.goal] + 100 * per_unit, at_goal - 100 * per_unit * slope)]
    dent, silking = float(curve["dent"]["value"]), float(curve["silking"]["value"])
    at_dent = needs.get("dent", needs[crop.goal] - round((dent - at_goal) / slope))
    if at_goal < dent and at_dent < needs[crop.goal]:
        points.insert(0, (at_dent, dent))
    if needs.get("silking", inf) < points[0][0] and silking > points[0][1]:
        points.insert(0, (needs["silking"], silking))
    heat, moisture = zip(*points, strict=True)
    blur = 0.0
    if "silking" in needs:
        need = crop.stage["silking"].need
        wide = (need.value if need.high is None else need.high) - (need.value if need.low is None else need.low)
        blur = (
            wide / 2 * per_unit * (points[-3][1] - points[-2][1]) / (points[-2][0] - points[-3][0])
            if len(points) > 2
            else 0.0
        )
    kills = [stage.kills for stage in crop.stage.values() if stage.kills is not None]
    if not kills:
        raise CropError(f"{crop.name} does not say which frost kills it.", "Add kills to a stage of the entry.")
    drying = Drying(tuple(map(float, heat)), moisture, dent, daily["least"], daily["most"], daily["frosted"])
    begins = 0 if kills[-1].from_day is None else from_code(kills[-1].from_day)
    return Hybrid(crop, its_clock, drying, stages, needs.get("silking"), blur, kills_at(kills[-1], frost), begins)


def observations(today: int, silking: int | None, milk_line: float | tuple[float, int] | None,
                 moisture: float | tuple[float, int] | None, seeding_day: int | None) -> list[Seen]:  # fmt: skip
    """What was seen in the field, in the order of its days; a value without a day was seen today.

    Raises `SettingError` for a moisture outside 40 to 90 %, a milk line outside 0 to 1, a day after today or before
    seeding, or silking after a milk line.
    """
    seen = [Seen("silking", 0.0, silking)] if silking is not None else []
    for kind, found in (("milk line", milk_line), ("moisture", moisture)):
        if found is not None:
            value, day = found if isinstance(found, tuple) else (found, today)
            seen.append(Seen(kind, float(value), day))
    for one in seen:
        if one.kind == "moisture" and not DRIEST <= one.value <= WETTEST:
            raise SettingError(f"A whole-plant moisture of {one.value:g} % is outside {DRIEST:g} to {WETTEST:g}.",
                               "Give percent of wet weight from a dried sample, such as 68.")  # fmt: skip
        if one.kind == "milk line" and not 0 <= one.value <= 1:
            raise SettingError(f"A milk line of {one.value:g} is outside 0 to 1.",
                               "Give the share of the kernel it has come down: 0.5 is half way.")  # fmt: skip
        if one.day > today or (one.kind == "silking" and one.day >= today):
            raise SettingError(f"{one.says()} is not before today, {words(today)}.",
                               "Give a day that has passed.")  # fmt: skip
        if seeding_day is not None and one.day <= seeding_day:
            raise SettingError(f"{one.says()} is not after seeding on {words(seeding_day)}.",
                               "Check the two days.")  # fmt: skip
        if silking is not None and one.kind != "silking" and one.day <= silking:
            raise SettingError(f"{one.says()} is not after silking on {words(silking)}.",
                               "Check the two days.")  # fmt: skip
    return sorted(seen, key=lambda one: one.day)


def standing(
    of: Hybrid, gathered: Floats, first: int, seen: list[Seen], killed: Floats, by_heat: bool = True
) -> Standing:
    """Where the field stands once every observation has moved it (the rule at the top of this module).

    Parameters
    ----------
    gathered : float array [own, day], whole units since sowing by the end of each day, from column `first` to yesterday
    seen : observations in order of day
    killed : float [own], the killing frost of this season so far, +inf where there was none
    by_heat : False where the seeding day is not known: heat then says nothing until something was seen
    """
    spread = numbers()["spread"]
    variance = spread["by_heat"]["value"] ** 2 if by_heat else inf
    offset, start, since = np.zeros(len(gathered)), None, None
    moved = []
    for one in seen:
        if one.kind == "silking":
            if of.silking is None:
                raise CropError(f"{of.crop.name} has no stage 'silking', so silking seen says nothing.",
                                "Add [stage.silking] to the entry, or leave the silking day out.")  # fmt: skip
            offset = of.silking - gathered[:, one.day - first]
            whole = spread["by_heat"]["value"] ** 2
            variance = max(whole - of.silking_blur**2, whole / 4)
            moved.append((one, 0.0, sqrt(variance)))
            continue
        table = numbers()["milk_line"]
        value = one.value if one.kind == "moisture" else float(np.interp(one.value, table["share"], table["moisture"]))
        own = spread["sample" if one.kind == "moisture" else "milk_line"]["value"] ** 2
        morning = max(one.day - 1, first)  # what is seen on a day is the moisture of the evening before
        if variance == inf:
            expected, weight = np.full(len(gathered), value), 1.0
        else:
            begin = first if since is None else since
            part = gathered[:, begin - first : morning - first + 1] + offset[:, None]
            expected = moisture_by_day(part, of.drying, killed, first_day=begin, start=start)[:, -1]
            variance += (spread["a_day"]["value"] * (morning - since)) ** 2 if since is not None else 0.0
            weight = variance / (variance + own)
        start, since = expected + weight * (value - expected), morning
        alive = killed > morning  # once it is killed, heat has no say in what comes
        offset = np.where(alive, heat_at(start, of.drying) - gathered[:, morning - first], offset)
        variance = own if variance == inf else variance * (1 - weight)
        moved.append((one, float((start - expected).mean()), sqrt(variance)))
    return Standing(offset, start, since, sqrt(variance), tuple(moved))


def spread_on(days: NDArray[np.int64], of: Standing) -> Floats:
    """Standard deviation of the moisture on each day [points]: it grows from the last observation on, and never above
    what heat alone gives."""
    if of.since is None:
        return np.full(days.size, of.spread)
    spread = numbers()["spread"]
    grown = np.sqrt(of.spread**2 + (spread["a_day"]["value"] * (days - of.since)) ** 2)
    return np.minimum(grown, max(spread["by_heat"]["value"], of.spread))
