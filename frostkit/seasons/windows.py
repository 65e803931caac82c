"""Windows: for every season and seeding day, would it have worked: yes, no, not known.

It worked when the soil was warm enough to sow, no cold killed the plant from emergence to its goal, that day included,
and the goal was reached within the season. This grid is the truth; `seasons.shortcut` gives a season's first and last
day without it where that is exact.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.calendar import Cube
from frostkit.seasons.frost import Mask, first_true, last_true, limit
from frostkit.seasons.growth import Plan, Stage, asked
from frostkit.seasons.heat import SHORT
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.rows import HIGH, LOW, MID, Celsius, Rows, blocks

Days = NDArray[np.int64]


@dataclass(frozen=True)
class Works:
    """What would have worked.

    certain, possible : bool [..., season, seeding day]; the same array where nothing is missing
    typical : bool, same shape: missing heat at the middle of its bounds, for complete seasons; elsewhere as certain
    complete : bool [..., season], see `frost.complete`
    sowing : int [seeding day], columns
    """

    certain: Mask
    possible: Mask
    typical: Mask
    complete: Mask
    sowing: Days
    tallied: tuple[NDArray[Any], NDArray[Any], NDArray[Any]] | None = field(default=None, repr=False, compare=False)
    """Seasons certain, possible, and typical among the complete, where they were counted on the way."""

    def counts(self) -> tuple[Days, Days, Days, Days, Days]:
        """Seasons by seeding day: (yes, no, not known, complete, yes among the complete). int [..., seeding day]"""
        seasons = self.certain.shape[-2]
        if self.tallied is not None:
            yes, possible, typical = self.tallied
            of = np.broadcast_to(self.complete.sum(axis=-1)[..., None], yes.shape)
            return yes, seasons - possible, possible - yes, of, typical
        yes = _seasons(self.certain)
        possible = yes if self.possible is self.certain else _seasons(self.possible)
        of = np.broadcast_to(self.complete.sum(axis=-1)[..., None], yes.shape)
        if self.typical is self.certain and self.complete.all():
            return yes, seasons - possible, possible - yes, of, yes
        return yes, seasons - possible, possible - yes, of, _seasons(self.typical & self.complete[..., None])


def _seasons(mask: Mask) -> Days:
    """Seasons by seeding day, from [..., season, seeding day]; sums that need no conversion are the quick ones."""
    kind = np.uint8 if mask.shape[-2] < 256 else np.int64
    return np.add.reduce(mask.view(np.uint8), axis=-2, dtype=kind).astype(np.int64)


class Shelter(NamedTuple):
    """Degrees that a neighbour's canopy keeps off a plant, from one day to another, both included.

    degrees : float [degC] by which the cold that kills is lower; first, last : SeasonDates or array
    [..., season, seeding day] [column]
    """

    degrees: float
    first: SeasonDates | ArrayLike
    last: SeasonDates | ArrayLike


def works(cube: Cube | Celsius, plan: Plan, sowing: ArrayLike, *, end: SeasonDates | ArrayLike | None = None,
          shelter: Shelter | None = None, short: int = SHORT) -> Works:  # fmt: skip
    """Would the crop have reached its goal: for every season and seeding day.

    Parameters
    ----------
    cube : Cube [..., season, 365]
    plan : Plan
    sowing : int array, shape (seeding day,) [column]
    end : SeasonDates or array, shape (..., season, seeding day) [column], optional
        The last day of each cell on which the goal still counts, e.g. the neighbour's chop.
    shelter : Shelter, optional
    short : int [days], see `heat.bounds`

    Returns
    -------
    Works. `certain`: whatever the missing days were. `possible`: for something they can have been. Each end is taken as
    bad, or as good, as it can be on its own, so the truth is never outside.
    """
    return works_many(cube, [plan], sowing, end=end, shelter=shelter, short=short)[0]


def works_many(cube: Cube | Celsius, plans: Sequence[Plan], sowing: ArrayLike, *,
               end: SeasonDates | ArrayLike | None = None, shelter: Shelter | None = None,
               short: int = SHORT) -> list[Works]:  # fmt: skip
    """`works` for several crops sown on the same days; what they share is worked out once."""
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*cube.tmin.shape[:-1], days.size)
    count = int(np.prod(shape[:-1]))
    ends = _three(end, shape)
    covers = None if shelter is None else (_three(shelter.first, shape), _three(shelter.last, shape))
    degrees = 0.0 if shelter is None else shelter.degrees
    certain = [np.empty((count, days.size), bool) for _ in plans]
    found: list[list[tuple[Any, Mask, Mask, Mask]]] = [[] for _ in plans]
    good = np.empty(count, bool)
    for block in blocks(cube, *asked(plans, days), short):
        good[block.rows] = block.complete
        for number, plan in enumerate(plans):
            at: Any = block.rows
            kept = _Kept(ends, covers, degrees, at)
            certain[number][at] = grid(block.whole, plan, days, LOW, kept)
            if kept.differs():
                found[number].append((at, *(grid(block.whole, plan, days, which, kept) for which in (LOW, HIGH, MID))))
            if block.holed is not None:
                at = block.holes
                kept = _Kept(ends, covers, degrees, at)
                low, high = (grid(block.holed, plan, days, which, kept) for which in (LOW, HIGH))
                middle = low
                if block.likely is not None:
                    middle, some = low.copy(), block.likely.at
                    middle[some] = grid(block.likely, plan, days, MID, _Kept(ends, covers, degrees, at[some]))
                found[number].append((at, low, high, middle))
    good = good.reshape(shape[:-1])
    return [_assemble(some, more, shape, good, days) for some, more in zip(certain, found, strict=True)]


def _assemble(certain: Mask, more: list[tuple[Any, Mask, Mask, Mask]], shape: tuple[int, ...], good: Mask,
              days: Days) -> Works:  # fmt: skip
    ends = [certain, certain.copy(), certain.copy()] if more else []
    for at, *parts in more:
        for end, part in zip(ends, parts, strict=True):
            end[at] = part
    low, high, middle = (end.reshape(shape) for end in ends) if more else [certain.reshape(shape)] * 3
    return Works(low, high, middle, good, days)


class _Kept:
    """The ends and shelters of some rows, as (LOW, MID, HIGH): what is worst, likely and best for the plant."""

    def __init__(self, ends: Any, covers: Any, degrees: float, at: Any):
        self.ends = None if ends is None else tuple(end[at] for end in ends)
        self.covers = None if covers is None else tuple(tuple(end[at] for end in cover) for cover in covers)
        self.degrees = degrees

    def end(self, which: int) -> NDArray[np.float64] | None:
        return None if self.ends is None else self.ends[which]

    def cover(self, which: int) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
        """First and last sheltered day: late and early where it is worst for the plant."""
        return None if self.covers is None else (self.covers[0][2 - which], self.covers[1][which])

    def free(self) -> bool:
        """Whether there is neither an end nor a shelter."""
        return self.ends is None and self.covers is None

    def differs(self) -> bool:
        """Whether the ends are apart for some cell."""
        pairs = [] if self.ends is None else [self.ends]
        pairs += [] if self.covers is None else list(self.covers)
        return any(not np.array_equal(pair[LOW], pair[HIGH]) for pair in pairs)


def _three(given: Any, shape: tuple[int, ...]) -> tuple[NDArray[np.float64], ...] | None:
    """(first, middle, last) of days given as a pair or as one array, by row."""
    if given is None:
        return None
    first, last = given if isinstance(given, SeasonDates) else (given, given)
    first, last = np.asarray(first, float), np.asarray(last, float)
    with np.errstate(invalid="ignore"):
        middle = np.where(first == last, first, np.floor((first + last) / 2))
    middle = np.where(np.isnan(middle), first, middle)
    flat = (int(np.prod(shape[:-1])), shape[-1])
    return tuple(np.broadcast_to(end, shape).reshape(flat) for end in (first, middle, last))


def grid(rows: Rows, plan: Plan, sowing: Days, which: int, kept: _Kept | None = None) -> Mask:
    """Would it have worked, with missing days at their worst (LOW), middle (MID) or best (HIGH). [row, seeding day]

    Worst: what makes the plant vulnerable comes early and what ends that comes late, possible cold kills, the goal is
    reached on the least heat, sowing starts on the latest warm day. Best: all the other way.
    """
    goal = plan.stages[plan.goal]
    way = tuple(
        (stage.clock, stage.need, stage.since, stage.kills_at, stage.kills_from) for stage in plan.stages[: plan.goal]
    )
    key = ("gathered", way, goal.clock, goal.since, plan.season_end, sowing.tobytes(), rows.end(which))
    if kept is None or kept.free():
        gathered = rows.once(key, lambda: _gathered(rows, plan, sowing, which, None))
    else:
        gathered = _gathered(rows, plan, sowing, which, kept)
    worked = gathered >= np.asarray(goal.need)
    if plan.warm is not None:
        if sowing.max() < plan.warm.from_day:
            return np.zeros_like(worked)
        worked &= rows.once(
            ("may sow", plan.warm, sowing.tobytes(), rows.end(which)),
            lambda: sowing - rows.first >= rows.warm(plan.warm, which, int(sowing.max()))[:, None],
        )
    return worked & (sowing < plan.season_end) if sowing.max(initial=0) >= plan.season_end else worked


def _gathered(rows: Rows, plan: Plan, sowing: Days, which: int, kept: _Kept | None) -> NDArray[np.int32]:
    """Heat towards the goal until the season's end, the cell's end or the killing day. [row, seeding day]"""
    goal = plan.stages[plan.goal]
    last = plan.season_end + 1 - rows.first
    stop: Any = rows.row + last
    if kept is not None and (end := kept.end(which)) is not None:
        stop = rows.row + np.clip(end + 1 - rows.first, 0, last).astype(np.int64)
    for danger in _dangers(rows, plan.stages[: plan.goal], sowing, which):
        stop = np.minimum(stop, _first_kill(rows, *danger, HIGH + LOW - which, kept, which))
    begun = rows.after(rows.stage(plan.stages, goal.since, sowing, which))
    total = rows.heat(goal.clock, which)
    return total.take(np.maximum(stop, begun)) - total.take(begun)


def _dangers(rows: Rows, stages: Sequence[Stage], sowing: Days, which: int) -> Iterable[tuple[float, int, Any, Any]]:
    """Stretches with one killing temperature: (at_or_below, counted from column, first place, place after the last)."""
    other = HIGH + LOW - which
    stretches: list[list[Any]] = []  # number of the first stage, at_or_below, since
    for number, stage in enumerate(stages):
        danger = [stage.kills_at, stage.kills_from]
        if not stretches or (stage.kills_at is not None and danger != stretches[-1][1:]):
            stretches.append([number, *danger])
    for at, (number, degrees, since) in enumerate(stretches):
        if degrees is None:
            continue
        start = rows.stage(stages, number, sowing, other)
        until = None
        if at + 1 < len(stretches):
            until = rows.stage(stages, stretches[at + 1][0], sowing, which)
        yield degrees, since, start, until


def _first_kill(rows: Rows, at_or_below: float, since: int, start: Any, until: Any, cold: int, kept: _Kept | None,
                which: int) -> NDArray[Any]:  # fmt: skip
    """First killing place from `start` to the one before `until`, never where none. [row, seeding day]"""

    def first(degrees: float, start: Any, until: Any) -> NDArray[Any]:
        place = rows.next_cold(np.minimum(start, rows.never), limit(degrees), since, cold)
        return place if until is None else np.where(place < until, place, rows.never)

    cover = None if kept is None else kept.cover(which)
    if cover is None or kept is None:
        return first(at_or_below, start, until)
    covered = rows.row + np.clip(cover[0] - rows.first, 0, rows.days).astype(np.int64)
    bare = rows.row + np.clip(cover[1] + 1 - rows.first, 0, rows.days).astype(np.int64)
    bare = np.maximum(bare, covered)
    whole = rows.never if until is None else until
    return np.minimum.reduce([
        first(at_or_below, start, np.minimum(whole, covered)),
        first(at_or_below - kept.degrees, np.maximum(start, covered), np.minimum(whole, bare)),
        first(at_or_below, np.maximum(start, bare), until),
    ])  # fmt: skip


def killed(cube: Cube | Celsius, plan: Plan, sowing: ArrayLike, *, shelter: Shelter | None = None,
           short: int = SHORT) -> SeasonDates:  # fmt: skip
    """The day on which cold kills the plant, whatever it has reached by then; +inf where none does in the season.

    Arguments as for `works`; every stage's killing temperature counts, those after the goal too.

    Returns
    -------
    SeasonDates, shape (..., season, seeding day) [column]
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*cube.tmin.shape[:-1], days.size)
    covers = None if shelter is None else (_three(shelter.first, shape), _three(shelter.last, shape))
    ends = [np.empty((int(np.prod(shape[:-1])), days.size)) for _ in range(2)]
    for block in blocks(cube, *asked([plan], days), short):
        parts: list[tuple[Any, Rows]] = [(block.rows, block.whole)]
        if block.holed is not None:
            parts.append((block.holes, block.holed))
        for at, rows in parts:
            kept = _Kept(None, covers, 0.0 if shelter is None else shelter.degrees, at)
            for end, which in zip(ends, (LOW, HIGH), strict=True):
                kills = [_first_kill(rows, *danger, HIGH + LOW - which, kept, which)
                         for danger in _dangers(rows, plan.stages, days, which)]  # fmt: skip
                day = np.minimum.reduce(kills) if kills else np.broadcast_to(rows.never, (len(rows.tmin), days.size))
                end[at] = rows.column_of(day)
    for end in ends:
        end[end > plan.season_end] = np.inf
    return SeasonDates(*(end.reshape(shape) for end in ends))


def both(one: Works, other: Works) -> Works:
    """Both worked, in the same season: never multiplied. Listed by the seeding days of the first.

    For a legume sown `after` days after the corn: `both(works(cube, corn, days), works(cube, legume, days + after))`.
    """
    certain = one.certain & other.certain
    good = one.complete & other.complete
    if one.certain is one.possible and other.certain is other.possible:
        return Works(certain, certain, certain, good, one.sowing)
    return Works(certain, one.possible & other.possible, one.typical & other.typical, good, one.sowing)


def earliest(works: Works) -> SeasonDates:
    """First seeding day that worked, +inf where none did. [..., season] [column]"""
    return SeasonDates(_day(works, first_true(works.possible)), _day(works, first_true(works.certain)))


def latest(works: Works) -> SeasonDates:
    """Last seeding day that worked, -inf where none did. [..., season] [column]"""
    return SeasonDates(_day(works, last_true(works.certain)), _day(works, last_true(works.possible)))


def days_worked(works: Works) -> SeasonDates:
    """How many seeding days worked: (least, most); fewer than from first to last means a gap. [..., season]"""
    return SeasonDates(works.certain.sum(axis=-1).astype(float), works.possible.sum(axis=-1).astype(float))


def _day(works: Works, place: NDArray[np.float64]) -> NDArray[np.float64]:
    there = np.isfinite(place)
    return np.where(there, works.sowing[np.where(there, place, 0).astype(int)], place)
