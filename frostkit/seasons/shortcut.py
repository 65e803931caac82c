"""Shortcut: each season's first and last seeding day that worked, by one search an end; else by the grid.

For a crop that is never more tender young than old, the days that worked in a season are one block. With L and F the
killing days on either side of 1 August and P the running heat, they are those with P[s + 1] > P[L + 1] - emergence (it
comes up after L) and P[s + 1] <= P[F] - goal (it gets there before F). Where the heat before L, or what comes up after
F, could reach the goal too, there may be a second block: such seasons, and crops of another kind, go to the grid, whose
answers come out the same way. With missing days the same holds at each end (see `rows`) on its own: at the worst, say,
with L and F among the possible kills, emergence on the most heat and the goal on the least.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.calendar import SPLIT, Cube, column
from frostkit.seasons.frost import Mask, first_true, last_true, limit
from frostkit.seasons.growth import Plan, Stage, asked
from frostkit.seasons.heat import SHORT
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.rows import HIGH, LOW, MID, Celsius, Likely, Rows, blocks, lower_bound
from frostkit.seasons.windows import Days, Works, grid


class Span(NamedTuple):
    """A block of seeding days a season: places in `sowing`, last < first where there is none. int [..., season]"""

    first: NDArray[np.int64]
    last: NDArray[np.int64]


@dataclass(frozen=True)
class Windows:
    """What would have worked, as a block of seeding days a season; the seasons that the grid answered stand apart.

    certain, possible, typical : Span, as in `Works`; one and the same where nothing is missing
    apart : (rows, certain, possible, typical) of the seasons that the grid answered: int [k], bool [k, seeding day]
    complete : bool [..., season]; sowing : int [seeding day], columns
    """

    certain: Span
    possible: Span
    typical: Span
    apart: tuple[Any, ...] | None
    complete: Mask
    sowing: Days

    def by_grid(self) -> Mask:
        """Seasons that the shortcut declined. [..., season]"""
        declined = np.zeros(self.complete.size, bool)
        if self.apart is not None:
            declined[self.apart[0]] = True
        return declined.reshape(self.complete.shape)

    def works(self) -> Works:
        """The same as a grid."""
        place = np.arange(self.sowing.size)
        ends: list[Mask] = []
        for number, (first, last) in enumerate((self.certain, self.possible, self.typical)):
            if number and self.possible is self.certain and self.apart is None:
                ends.append(ends[0])
                continue
            end = (place >= first[..., None]) & (place <= last[..., None])
            if self.apart is not None:
                end.reshape(-1, place.size)[self.apart[0]] = self.apart[1 + number]
            ends.append(end)
        return Works(ends[0], ends[1], ends[2], self.complete, self.sowing)

    def counts(self) -> tuple[Days, Days, Days, Days, Days]:
        """As `Works.counts`, without the grid: (yes, no, not known, complete, yes among the complete)."""
        *stations, seasons = self.complete.shape
        shape = (*stations, self.sowing.size)
        yes = self._count(0, None).reshape(shape)
        possible = typical = yes
        if self.possible is not self.certain or self.apart is not None:
            possible = self._count(1, None).reshape(shape)
            typical = self._count(2, self.complete.reshape(-1)).reshape(shape)
        of_complete = np.broadcast_to(self.complete.sum(axis=-1)[..., None], shape)
        return yes, seasons - possible, possible - yes, of_complete, typical

    def _count(self, end: int, only: Mask | None) -> Days:
        """Seasons of each station by seeding day that worked at one end. [station, seeding day]"""
        seasons, days = self.complete.shape[-1], self.sowing.size
        first, last = (of.reshape(-1) for of in (self.certain, self.possible, self.typical)[end])
        worked = first <= last if only is None else (first <= last) & only
        row = np.flatnonzero(worked)
        of = row // seasons * (days + 1)
        size = self.complete.size // seasons * (days + 1)
        steps = np.bincount(of + first[row], minlength=size) - np.bincount(of + last[row] + 1, minlength=size)
        total = np.cumsum(steps.reshape(-1, days + 1)[:, :-1], axis=1)
        if self.apart is not None:
            rows, *parts = self.apart
            station, starts = np.unique(rows // seasons, return_index=True)
            part = parts[end] if only is None else parts[end] & only[rows, None]
            kind = np.uint8 if seasons < 256 else np.int64  # sums that need no conversion are the quick ones
            total[station] += np.add.reduceat(part.view(np.uint8), starts, axis=0, dtype=kind)
        return total

    def earliest(self) -> SeasonDates:
        """First seeding day that worked, +inf where none did. [..., season] [column]"""
        return SeasonDates(self._day(1, 0, np.inf, first_true), self._day(0, 0, np.inf, first_true))

    def latest(self) -> SeasonDates:
        """Last seeding day that worked, -inf where none did. [..., season] [column]"""
        return SeasonDates(self._day(0, 1, -np.inf, last_true), self._day(1, 1, -np.inf, last_true))

    def days_worked(self) -> SeasonDates:
        """How many seeding days worked: (least, most). [..., season]"""
        ends = [np.maximum(end.last - end.first + 1, 0).astype(float) for end in (self.certain, self.possible)]
        if self.apart is not None:
            for end, part in zip(ends, self.apart[1:], strict=False):
                end.reshape(-1)[self.apart[0]] = part.sum(axis=-1)
        return SeasonDates(*ends)

    def _day(self, end: int, side: int, never: float, of_grid: Callable[[Mask], Any]) -> NDArray[np.float64]:
        span = (self.certain, self.possible)[end]
        there = span.first <= span.last
        day = np.where(there, self.sowing[np.where(there, span[side], 0)], never)
        if self.apart is not None:
            place = of_grid(self.apart[1 + end])
            there = np.isfinite(place)
            day.reshape(-1)[self.apart[0]] = np.where(there, self.sowing[np.where(there, place, 0).astype(int)], place)
        return day


def season_windows(cube: Cube | Celsius, plans: Sequence[Plan], sowing: ArrayLike, short: int = SHORT) -> list[Windows]:
    """What would have worked, by the shortcut where it is exact and by the grid where it is not.

    Parameters
    ----------
    cube : Cube, or Celsius for temperatures as they come [..., season, 365]
    plans : crops; sowing : rising int array, shape (seeding day,) [column]
    short : int [days], see `heat.bounds`
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = cube.tmin.shape[:-1]
    count = int(np.prod(shape))
    spans = np.zeros((3, 2, len(plans), count), np.int64)  # end, first and last
    any_holed = False
    apart: list[list[tuple[Any, ...]]] = [[] for _ in plans]
    complete = np.empty(count, bool)
    groups = _groups(plans, int(days[-1]))
    for block in blocks(cube, *asked(plans, days), short):
        complete[block.rows] = block.complete
        spans[LOW, :, :, block.rows], declined = _spans(block.whole, len(plans), groups, days, LOW)
        declined[:, block.whole.holes] = False
        _to_grid(block.whole, declined, block.rows.start + np.arange(declined.shape[1]), plans, days, apart)
        if any_holed or block.holed is not None:
            if not any_holed:
                spans[MID:, :, :, : block.rows.start] = spans[LOW, :, :, : block.rows.start]
            any_holed = True
            spans[MID:, :, :, block.rows] = spans[LOW, :, :, block.rows]
        if block.holed is not None:
            declined = np.zeros((len(plans), block.holes.size), bool)
            for end in (LOW, HIGH):
                spans[end][:, :, block.holes], second = _spans(block.holed, len(plans), groups, days, end)
                declined |= second
            spans[MID][:, :, block.holes] = spans[LOW][:, :, block.holes]
            if block.likely is not None:
                some = block.likely.at
                spans[MID][:, :, block.holes[some]], second = _spans(block.likely, len(plans), groups, days, MID)
                declined[:, some] |= second
            _to_grid(block.holed, declined, block.holes, plans, days, apart, block.likely)
    out = []
    good = complete.reshape(shape)
    for number, parts in enumerate(apart):
        together = None
        if parts:
            rows, *ends = (np.concatenate(of) for of in zip(*parts, strict=True))
            order = np.argsort(rows)
            together = (rows[order], *(end[order] for end in ends))
            spans[:, 0, number, rows], spans[:, 1, number, rows] = 0, -1
        low, middle, high = (Span(*(of.reshape(shape) for of in end)) for end in spans[:, :, number])
        out.append(Windows(low, high if any_holed else low, middle if any_holed else low, together, good, days))
    return out


def _spans(rows: Rows, count: int, groups: dict[Any, list["_Member"]], sowing: Days, which: int) -> tuple[Any, Mask]:
    """(first and last [2, plan, row], declined [plan, row]) of these rows at one end."""
    found = np.zeros((2, count, len(rows.tmin)), np.int64)
    declined = np.ones((count, len(rows.tmin)), bool)
    for clock, members in groups.items():
        numbers = [member.number for member in members]
        found[0, numbers], found[1, numbers], declined[numbers] = _blocks_of_days(rows, clock, members, sowing, which)
    return found, declined


def _to_grid(rows: Rows, declined: Mask, number: NDArray[np.int64], plans: Sequence[Plan], sowing: Days,
             apart: list[list[tuple[Any, ...]]], likely: Likely | None = None) -> None:  # fmt: skip
    """The grid's answers for declined rows [plan, row], which are the rows `number` of all, into `apart` by plan."""
    at = np.flatnonzero(declined.any(axis=0))
    if not at.size:
        return
    if rows.plain:
        rows, declined, number = rows.some(at), declined[:, at], number[at]
    for parts, plan, mine in zip(apart, plans, declined, strict=True):
        if mine.any():
            low, high = (grid(rows, plan, sowing, end) for end in (LOW, HIGH))
            middle = low
            if likely is not None:
                middle = low.copy()
                middle[likely.at] = grid(likely, plan, sowing, MID)
            parts.append((number[mine], low[mine], high[mine], middle[mine]))


class _Member(NamedTuple):
    """A crop that the shortcut serves: what it needs, and the one cold that kills it from one stage on, if any does."""

    number: int
    plan: Plan
    need: int
    up: int  # number of the stage from which cold kills, -1: none does
    kill: tuple[int, int, int] | None  # at most [tenths], counted from column, until column


def _groups(plans: Sequence[Plan], last: int) -> dict[Any, list[_Member]]:
    """The crops that the shortcut serves, by the clock of their goal; last: column of the last sowing."""
    groups: dict[Any, list[_Member]] = {}
    for number, plan in enumerate(plans):
        goal = plan.stages[plan.goal]
        says = [place for place, stage in enumerate(plan.stages[: plan.goal]) if stage.kills_at is not None]
        kills = {(stage.kills_at, stage.kills_from) for stage in (plan.stages[place] for place in says)}
        if len(kills) > 1 or not _from_sowing(goal) or last >= plan.season_end:
            continue
        kill = None
        if says:
            up = plan.stages[says[0]]
            if up.kills_from < min(column(*SPLIT), plan.season_end + 1) and not _from_sowing(up):
                continue
            kill = (limit(float(up.kills_at)), up.kills_from, plan.season_end + 1)  # type: ignore[arg-type]
        need = int(goal.need)  # type: ignore[arg-type]
        groups.setdefault(goal.clock, []).append(_Member(number, plan, need, says[0] if says else -1, kill))
    return groups


def _blocks_of_days(rows: Rows, clock: Any, members: list[_Member], sowing: Days, which: int) -> tuple[Any, Any, Any]:
    """(first, last, declined) of crops of one clock: places in `sowing`, and rows that may have a second block.

    Declined: where the last sown comes up after F, so that another killing day may end it; where the heat before L
    could reach the goal. [plan, row]
    """
    row, other = rows.row[:, 0], HIGH + LOW - which
    flat = rows.heat(clock, which).reshape(-1)
    shape = (len(members), len(row))
    first, level, declined = np.zeros(shape, np.int64), np.empty(shape, np.int32), np.zeros(shape, bool)
    before = flat.take(row + (sowing[0] + 1 - rows.first))
    done: dict[Any, Any] = {}
    for place, (_, plan, need, up, kill) in enumerate(members):
        if kill is None:
            level[place] = flat.take(row + (plan.season_end + 1 - rows.first)) - need
            continue
        key = (kill, plan.stages[up].clock, plan.stages[up].need, plan.stages[up].since)
        if key not in done:
            spring, fall = rows.once(
                ("around", *kill, rows.end(other)), partial(_around, rows, *kill, int(sowing[0]), other)
            )
            late = _up_after(rows, plan.stages, up, sowing[-1:], fall, other)
            start, gone = None, None
            if spring is not None:
                of = rows.heat(plan.stages[up].clock, other).reshape(-1)
                up_by = of.take(row + np.maximum(spring + 1, 0)) - int(plan.stages[up].need)  # type: ignore[arg-type]
                start = _first_over(rows, plan.stages[up].clock, up_by[None], sowing, other)[0]
                gone = flat.take(row + np.maximum(spring, 0)) - before
            done[key] = flat.take(row + fall), late, start, gone
        by_fall, late, start, gone = done[key]
        level[place], declined[place] = by_fall - need, late
        if start is not None:
            first[place] = start
            declined[place] |= gone >= need
    last = _first_over(rows, clock, level, sowing, which) - 1
    for place, member in enumerate(members):
        warm = member.plan.warm
        if warm is not None:
            allowed = rows.once(("allowed", warm, rows.end(which)), partial(_allowed, rows, warm, sowing, which))
            np.maximum(first[place], allowed, out=first[place])
    return first, last, declined


def _allowed(rows: Rows, warm: Any, sowing: Days, which: int) -> NDArray[np.int64]:
    """First place in `sowing` that is warm enough. [row]"""
    if sowing[-1] < warm.from_day:
        return np.full(len(rows.tmin), sowing.size)
    day = rows.warm(warm, which, int(sowing[-1])) + rows.first
    if _in_a_row(sowing):
        return np.clip(day - sowing[0], 0, sowing.size)
    return np.searchsorted(sowing, day)


def _in_a_row(sowing: Days) -> bool:
    """Whether no day is left out."""
    return bool(sowing[-1] - sowing[0] + 1 == sowing.size)


def _up_after(rows: Rows, stages: Sequence[Stage], up: int, last: Days, fall: NDArray[np.int64], other: int) -> Mask:
    """Rows in which what is sown last comes up after the day `fall`, or not at all."""
    row = rows.row[:, 0]
    if not _from_sowing(stages[up]):
        return rows.stage(stages, up, last, other)[:, 0] > row + fall
    flat = rows.heat(stages[up].clock, other).reshape(-1)
    by_fall = flat.take(row + np.minimum(fall + 1, rows.days))
    return by_fall - flat.take(row + (last[0] + 1 - rows.first)) < stages[up].need


def _from_sowing(stage: Stage) -> bool:
    """Whether a stage counts from sowing, with one need for every seeding day."""
    return stage.since < 0 and isinstance(stage.need, int)


def _first_over(rows: Rows, clock: Any, level: NDArray[Any], sowing: Days, which: int) -> NDArray[np.int64]:
    """First place in `sowing` with more heat before the day after than the row's level [k, row], its size if none."""
    columns = sowing + 1 - rows.first
    total, start = rows.heat(clock, which), rows.row[:, 0] + columns[0]
    if not _in_a_row(sowing):
        total = np.ascontiguousarray(total[:, columns])
        start = np.arange(len(total)) * columns.size
    start = np.broadcast_to(start, level.shape)
    return lower_bound(total, level + 1, start, columns.size) - start


def _around(rows: Rows, at_most: int, since: int, until: int, sown: int,
            which: int) -> tuple[NDArray[np.int64] | None, NDArray[np.int64]]:  # fmt: skip
    """(last cold day before 1 August, -1 if none; first from it on to the day before column `until`, that if none).

    None instead of the first where cold does not count before 1 August. Before the first sowing nothing is killed.
    """
    start, stop = max(since - rows.first, sown - rows.first, 0), until - rows.first
    split = min(max(column(*SPLIT) - rows.first, start), stop)
    kills = None if rows.plain else rows.cold(at_most, which)
    fall = np.ones((len(rows.tmin), stop - split + 1), bool)
    if kills is None:
        np.less_equal(rows.tmin[:, split:stop], at_most, out=fall[:, :-1])
    else:
        fall[:, :-1] = kills[:, split:stop]
    spring = None
    if since < column(*SPLIT) and start < split:
        cold = np.ones((len(rows.tmin), split - start + 1), bool)
        if kills is None:
            np.less_equal(rows.tmin[:, start:split], at_most, out=cold[:, 1:])
        else:
            cold[:, 1:] = kills[:, start:split]
        back = cold[:, ::-1].argmax(axis=1)
        spring = np.where(back == split - start, -1, split - 1 - back)
    return spring, split + fall.argmax(axis=1)
