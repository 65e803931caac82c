"""A crop's stages in every possible season, from its sowing day and from what was seen of it.

What was seen sets the clock. A stage seen came on that day, and stages that count from it count from there; every
other count that was running is put ahead or back by the same part of the heat gathered in it: a plant that came to its
seventh collar with a tenth less heat than usual is that much ahead on the clock to silking too.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from frostkit.answers.collars import with_collar
from frostkit.answers.plans import kills_at, whole_plan, whole_units
from frostkit.answers.silage.ahead import TENTHS, predicted
from frostkit.crops.entry import Crop, Need
from frostkit.ensemble.site import Ensemble
from frostkit.errors import CropError, SettingError, nearest
from frostkit.seasons.calendar import DAYS, NEVER, from_code, words
from frostkit.seasons.frost import Mask, cold_days, first_true
from frostkit.seasons.growth import Stage, reached
from frostkit.seasons.heat import Ints, running

Floats = NDArray[np.float64]
Dates = tuple[float, float, float]
SOONEST = 3  # days from sowing to anything that can be seen of a crop: below is a slip of the hand


@dataclass(frozen=True)
class Count:
    """One stage's count: heat since what it counts from, as it stands by the evening of each day.

    heat : float [row, day], whole units of its clock; below 0 before it begins; need, spread : whole units
    """

    heat: Floats
    need: int
    spread: float


@dataclass(frozen=True)
class Course:
    """One crop through every possible season.

    crop : its entry, with the collars that were seen; sown : column; end : last column that counts
    days : by stage, float [row], columns; +inf: not in the season
    counts : by stage; seen : by stage, the column on which it was seen
    ahead : by clock, float [row], whole units that the plant is ahead of the heat since sowing
    """

    crop: Crop
    sown: int
    end: int
    days: Mapping[str, Floats]
    counts: Mapping[str, Count]
    seen: Mapping[str, int]
    ahead: Mapping[Any, Floats]


def course(
    rows: Ensemble,
    crop: Crop,
    sown: int,
    latitude: float,
    seen: Mapping[str, int] | None = None,
    collars: tuple[int, int] | None = None,
) -> Course:
    """The stages of a crop in every row.

    Parameters
    ----------
    rows : possible seasons; sown : column; latitude : degrees north, NaN: stages that go by day length are left out
    seen : columns on which stages of the entry were seen; collars : (number, column) of leaf collars seen, of corn

    Raises
    ------
    SettingError
        For something seen within three days of sowing, or not in the order of the stages.
    CropError
        For a stage that the entry does not have.
    """
    seen, entry = dict(seen or {}), crop
    if collars is not None:
        crop = with_collar(crop, collars[0])
        seen[f"v{collars[0]}"] = collars[1]
    of = whole_plan(crop, latitude)
    numbers = {stage.name: number for number, stage in enumerate(of.stages)}
    _check(crop, sown, seen)
    totals = {clock: running(clock.rate(rows.tmin, rows.tmax)) for clock in {stage.clock for stage in of.stages}}
    start = np.full(len(rows.tmin), float(sown))
    ahead: dict[tuple[int, Any], Floats] = {}
    came: dict[str, Floats] = {}
    for name, on in sorted(seen.items(), key=lambda one: one[1]):
        stage = of.stages[numbers[name]]
        before = _days(of.stages, totals, start, ahead, came, of.season_end)
        for number in _earlier(of.stages, numbers[name], name in entry.stage):
            came.setdefault(of.stages[number].name, np.minimum(before[number], on))
        came[name] = np.full(len(start), float(on))
        since = start if stage.since < 0 else before[stage.since]
        gathered = _between(totals[stage.clock], since, on)
        part = (stage.need - gathered) / np.maximum(gathered, 1)
        for begin in range(-1, len(of.stages)):
            for clock, total in totals.items():
                ahead[begin, clock] = part * _between(total, since, on)
        ahead[stage.since, stage.clock] = stage.need - gathered
        for clock in totals:
            ahead[numbers[name], clock] = np.zeros(len(start))
    days = _days(of.stages, totals, start, ahead, came, of.season_end)
    counts = {
        stage.name: _count(
            crop, stage, totals[stage.clock], start if stage.since < 0 else days[stage.since], ahead, seen
        )
        for stage in of.stages
    }
    named = {stage.name: day for stage, day in zip(of.stages, days, strict=True)}
    since_sowing = {clock: more for (begin, clock), more in ahead.items() if begin < 0}
    return Course(crop, sown, of.season_end, named, counts, seen, since_sowing)


def _earlier(stages: tuple[Stage, ...], number: int, by_place: bool) -> list[int]:
    """Stages that have come when one is seen: those it counts from, lesser needs of its count, and, where the entry
    lists it among the others (`by_place`), those before it."""
    of = stages[number]
    found = set(range(number)) if by_place else set()
    since = of.since
    while since >= 0:
        found.add(since)
        since = stages[since].since
    for other, stage in enumerate(stages):
        if (stage.clock, stage.since) == (of.clock, of.since) and np.max(stage.need) < np.min(of.need):
            found.add(other)
    return sorted(found)


def _days(
    stages: tuple[Stage, ...],
    totals: Mapping[Any, Ints],
    start: Floats,
    ahead: Mapping[tuple[int, Any], Floats],
    came: Mapping[str, Floats],
    end: int,
) -> list[Floats]:
    """The day of each stage: as it came, or by its count."""
    out: list[Floats] = []
    for stage in stages:
        if stage.name in came:
            out.append(came[stage.name])
            continue
        since = start if stage.since < 0 else out[stage.since]
        more = np.rint(ahead.get((stage.since, stage.clock), np.zeros(len(start)))).astype(np.int64)
        begin = np.where(np.isfinite(since), since, end).astype(np.int64)
        day = reached(totals[stage.clock], begin[:, None], (stage.need - more)[:, None])[:, 0]
        out.append(np.where((day > end) | ~np.isfinite(since), NEVER, day))
    return out


def _between(total: Ints, since: Floats, on: int) -> Floats:
    """Heat from the day after one day to the end of another. [row]"""
    begin = np.minimum(np.where(np.isfinite(since), since, on), on).astype(np.int64)
    rows = np.arange(len(total))
    return (total[rows, on + 1] - total[rows, begin + 1]).astype(float)


def _count(
    crop: Crop,
    stage: Stage,
    total: Ints,
    since: Floats,
    ahead: Mapping[tuple[int, Any], Floats],
    seen: Mapping[str, int],
) -> Count:
    begin = np.where(np.isfinite(since), since, DAYS - 1).astype(np.int64)
    heat = (total[:, 1:] - np.take_along_axis(total, begin[:, None] + 1, axis=1)).astype(float)
    heat += ahead.get((stage.since, stage.clock), np.zeros(len(total)))[:, None]
    entry = crop.stage[stage.name]
    own = _spread(entry.need, stage.clock.per_unit)
    for name in seen:  # what was seen on the same count takes its part of the spread off
        other = crop.stage[name]
        if (other.clock, other.since) == (entry.clock, entry.since) and other.need.value <= entry.need.value:
            own = float(np.sqrt(max(own**2 - _spread(other.need, stage.clock.per_unit) ** 2, own**2 / 4)))
    need = stage.need if isinstance(stage.need, int) else stage.need[0]
    return Count(heat, need, own)


def _spread(need: Need, per_unit: int) -> float:
    """Half of a need's range, taken as a standard deviation as the moisture's is [whole units]."""
    low = need.value if need.low is None else need.low
    high = need.value if need.high is None else need.high
    more = (whole_units(need, per_unit, high - need.value) - whole_units(need, per_unit, low - need.value)) / 2
    return float(more)


def _opening(crop: Crop, name: str) -> str:
    """A stage's title, to open a sentence with."""
    title = crop.stage[name].title
    return title[:1].upper() + title[1:]


def _check(crop: Crop, sown: int, seen: Mapping[str, int]) -> None:
    for name, on in seen.items():
        if name not in crop.stage:
            raise CropError(
                f"{crop.name} has no stage '{name}', so to have seen it says nothing.{nearest(name, crop.stage)}",
                f"Its stages: {', '.join(crop.stage)}.",
            )
        if on < sown + SOONEST:
            raise SettingError(
                f"{_opening(crop, name)} on {words(on)} comes within {SOONEST} days of sowing on {words(sown)}.",
                "Check the two days.",
            )
    order = [(on, crop.stage[name].need.value, name) for name, on in seen.items()]
    for on, _, name in order:
        base = crop.stage[name].since
        if base in seen and seen[base] >= on:
            raise SettingError(
                f"{_opening(crop, name)} on {words(on)} is not after {crop.stage[base].title} on {words(seen[base])}.",
                "Check the two days.",
            )


def killed_on(
    rows: Ensemble, of: Course, frost: str = "usual", shelter: tuple[float, Floats, Floats] | None = None
) -> Floats:
    """The day on which cold kills the crop, by the stages as they come; +inf where none does by the season's end. [row]

    shelter : (degrees, first, last): degC that a neighbour's canopy keeps off, from one day to another, float [row]
    """
    day = np.arange(DAYS)
    tmin = rows.tmin
    if shelter is not None:
        degrees, first, last = shelter
        under = (day >= first[:, None]) & (day <= last[:, None])
        tmin = np.where(under, tmin + np.int16(round(10 * degrees)), tmin)
    deadly: Mask = np.zeros(tmin.shape, bool)
    killing = [name for name in of.days if of.crop.stage[name].kills is not None]
    for number, name in enumerate(killing):
        cold = of.crop.stage[name].kills
        assert cold is not None
        after = np.min([of.days[later] for later in killing[number + 1 :]], axis=0, initial=NEVER, where=True)
        begins = 0 if cold.from_day is None else from_code(cold.from_day)
        holds = (day >= of.days[name][:, None]) & (day < np.broadcast_to(after, len(tmin))[:, None]) & (day >= begins)
        deadly |= holds & cold_days(tmin, kills_at(cold, frost))
    deadly[:, of.end + 1 :] = False
    found: Floats = first_true(deadly)
    return found


def alive(days: Floats, killed: Floats) -> Floats:
    """The days of a stage in seasons in which the crop lives to see it; +inf in the others. [row]"""
    return np.where(killed <= days, NEVER, days)


def moments(of: Count, days: Floats) -> Floats:
    """The moment within its day at which each count is met; the end of a day is a whole number, never is +inf. [row]

    >>> moments(Count(np.array([[4.0, 8.0, 12.0]]), 9, 0.0), np.array([2.0])).tolist()
    [1.25]
    """
    rows, day = np.arange(len(days)), np.where(np.isfinite(days), days, 1).astype(np.int64)
    after, before = of.heat[rows, day], of.heat[rows, np.maximum(day - 1, 0)]
    part = np.where(after > before, (after - of.need) / np.maximum(after - before, 1), 0.0)
    return np.where(np.isfinite(days), day - np.clip(part, 0, 1), NEVER)


def possible(rows: Ensemble) -> NDArray[np.int64]:
    """The rows that dates are told from: with the climate's move drawn within its error, where past seasons are moved.

    Without those draws bands hold 75 to 81 % instead of 80; with them 78 to 82 (docs/season.md). int [draw, season]
    """
    return rows.index if rows.shifted is None else rows.shifted


def by_weather(rows: Ensemble, came: Floats) -> Dates:
    """Days at odds of 1, 5 and 9 in 10, from the possible seasons alone; columns, +inf: not in the season.

    came : float [row], days or `moments`
    """
    early, middle, late = (float(np.ceil(predicted(came[possible(rows)], odds) - 1e-9)) for odds in TENTHS)
    return early, middle, late


def with_spread(rows: Ensemble, of: Count, killed: Floats, first: int, last: int) -> Dates:
    """The same with the crop's own spread about its need; a crop that was killed comes to nothing.

    first, last : columns looked at; a stage that came before the first is said as the first
    """
    weight = np.bincount(rows.index.ravel(), minlength=len(rows.tmin)) / rows.index.size
    days = np.arange(first, last + 1)
    come = ndtr((of.heat[:, first : last + 1] - of.need) / max(of.spread, 1e-9)) * (days < killed[:, None])
    odds = np.maximum.accumulate(weight @ come)
    early, middle, late = (
        float(days[place]) if (place := int(np.searchsorted(odds, wanted - 1e-9))) < days.size else NEVER
        for wanted in TENTHS
    )
    return early, middle, late
