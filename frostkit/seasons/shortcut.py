"""Shortcut: each season's first and last seeding day that worked, by one search an end; else by the grid.

For a season without missing days and a crop that is never more tender young than old, the days that worked are one
block. With L and F the killing days on either side of 1 August and P the running heat, they are those with
P[s + 1] > P[L + 1] - emergence (it comes up after L) and P[s + 1] <= P[F] - goal (it gets there before F). Where the
heat before L, or after F, could reach the goal too, there may be a second block: such seasons, seasons with missing
days, and crops of another kind go to the grid, whose answers come out the same way.
"""

from collections.abc import Sequence
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
from frostkit.seasons.rows import HIGH, LOW, MID, Celsius, Rows, blocks, lower_bound
from frostkit.seasons.windows import Days, Works, grid


@dataclass(frozen=True)
class Windows:
    """What would have worked, as a block of seeding days a season; the seasons that the grid answered stand apart.

    first, last : int [..., season], places in `sowing`; last < first where no day worked, or where the grid answered
    apart : (rows, certain, possible, typical) of the seasons that the grid answered: int [k], bool [k, seeding day]
    complete : bool [..., season]; sowing : int [seeding day], columns
    """

    first: NDArray[np.int64]
    last: NDArray[np.int64]
    apart: tuple[tuple[NDArray[np.int64], Mask, Mask, Mask], ...]
    complete: Mask
    sowing: Days

    def by_grid(self) -> Mask:
        """Seasons that the shortcut declined. [..., season]"""
        declined = np.zeros(self.first.size, bool)
        for rows, *_ in self.apart:
            declined[rows] = True
        return declined.reshape(self.first.shape)

    def works(self) -> Works:
        """The same as a grid."""
        place = np.arange(self.sowing.size)
        certain = (place >= self.first[..., None]) & (place <= self.last[..., None])
        if not self.apart:
            return Works(certain, certain, certain, self.complete, self.sowing)
        ends = certain, certain.copy(), certain.copy()
        for rows, *parts in self.apart:
            for end, part in zip(ends, parts, strict=True):
                end.reshape(-1, self.sowing.size)[rows] = part
        return Works(*ends, self.complete, self.sowing)

    def counts(self) -> tuple[Days, Days, Days, Days, Days]:
        """As `Works.counts`, without the grid: (yes, no, not known, complete, yes among the complete)."""
        *stations, seasons = self.first.shape
        days = self.sowing.size
        count = int(np.prod(stations))
        worked = self.first.reshape(-1) <= self.last.reshape(-1)
        of = (np.flatnonzero(worked) // seasons) * (days + 1)
        size = count * (days + 1)
        steps = np.bincount(of + self.first.reshape(-1)[worked], minlength=size)
        steps -= np.bincount(of + self.last.reshape(-1)[worked] + 1, minlength=size)
        yes = np.cumsum(steps.reshape(count, days + 1)[:, :-1], axis=1)
        possible = typical = yes
        if self.apart:
            possible, typical = yes.copy(), yes.copy()
            kind = np.uint8 if seasons < 256 else np.int64  # sums that need no conversion are the quick ones
            for rows, *parts in self.apart:
                station, starts = np.unique(rows // seasons, return_index=True)
                parts[2] = parts[2] & self.complete.reshape(-1)[rows, None]
                for total, part in zip((yes, possible, typical), parts, strict=True):
                    total[station] += np.add.reduceat(part.view(np.uint8), starts, axis=0, dtype=kind)
        shape = (*stations, days)
        of_complete = np.broadcast_to(self.complete.sum(axis=-1)[..., None], shape)
        yes, possible, typical = (end.reshape(shape) for end in (yes, possible, typical))
        return yes, seasons - possible, possible - yes, of_complete, typical

    def earliest(self) -> SeasonDates:
        """First seeding day that worked, +inf where none did. [..., season] [column]"""
        known = self._day(self.first, np.inf)
        return self._dates(known, known.copy(), lambda low, high: (first_true(high), first_true(low)))

    def latest(self) -> SeasonDates:
        """Last seeding day that worked, -inf where none did. [..., season] [column]"""
        known = self._day(self.last, -np.inf)
        return self._dates(known, known.copy(), lambda low, high: (last_true(low), last_true(high)))

    def days_worked(self) -> SeasonDates:
        """How many seeding days worked: (least, most). [..., season]"""
        least = np.maximum(self.last - self.first + 1, 0).astype(float)
        most = least.copy()
        for rows, certain, possible, _ in self.apart:
            least.reshape(-1)[rows], most.reshape(-1)[rows] = certain.sum(axis=-1), possible.sum(axis=-1)
        return SeasonDates(least, most)

    def _day(self, place: NDArray[np.int64], never: float) -> NDArray[np.float64]:
        worked = self.first <= self.last
        return np.where(worked, self.sowing[np.where(worked, place, 0)], never)

    def _dates(self, first: NDArray[np.float64], last: NDArray[np.float64], ends: Any) -> SeasonDates:
        for rows, certain, possible, _ in self.apart:
            for out, place in zip((first, last), ends(certain, possible), strict=True):
                there = np.isfinite(place)
                out.reshape(-1)[rows] = np.where(there, self.sowing[np.where(there, place, 0).astype(int)], place)
        return SeasonDates(first, last)


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
    first, last = np.zeros((len(plans), count), np.int64), np.full((len(plans), count), -1)
    apart: list[list[tuple[NDArray[np.int64], Mask, Mask, Mask]]] = [[] for _ in plans]
    complete = np.empty(count, bool)
    groups = _groups(plans)
    for block in blocks(cube, *asked(plans, days), short):
        complete[block.rows] = block.complete
        declined = np.ones((len(plans), len(block.complete)), bool)
        for clock, members in groups.items():
            numbers = [member.number for member in members]
            found = _blocks_of_days(block.whole, clock, members, days)
            first[numbers, block.rows], last[numbers, block.rows], declined[numbers] = found
        if block.holed is not None:
            declined[:, block.whole.holes] = False
            last[:, block.holes] = -1
        for at, rows in (_declined(block.whole, declined, block.rows.start), (block.holes, block.holed)):
            if rows is None:
                continue
            for parts, plan, left in zip(apart, plans, declined, strict=True):
                mine = np.arange(at.size) if rows is block.holed else np.flatnonzero(left[at - block.rows.start])
                if mine.size:
                    low = grid(rows, plan, days, LOW)[mine]
                    high, middle = (grid(rows, plan, days, end)[mine] if rows.ends > 1 else low for end in (HIGH, MID))
                    parts.append((at[mine], low, high, middle))
    out = []
    for one, other, parts in zip(first, last, apart, strict=True):
        together = _together(parts)
        for at, *_ in together:
            other[at] = -1
        out.append(Windows(one.reshape(shape), other.reshape(shape), together, complete.reshape(shape), days))
    return out


def _together(parts: list[tuple[NDArray[np.int64], Mask, Mask, Mask]]) -> tuple[Any, ...]:
    """What the blocks sent to the grid, in one piece and in order of rows."""
    if not parts:
        return ()
    rows, *ends = (np.concatenate(of) for of in zip(*parts, strict=True))
    order = np.argsort(rows)
    return ((rows[order], *(end[order] for end in ends)),)


def _declined(whole: Rows, declined: Mask, start: int) -> tuple[NDArray[np.int64], Rows | None]:
    """The rows that some crop's shortcut declined [plan, row], as rows of their own."""
    at = np.flatnonzero(declined.any(axis=0))
    if not at.size:
        return at, None
    if at.size == len(whole.tmin):
        return start + at, whole
    return start + at, whole.some(at)


class _Member(NamedTuple):
    """A crop that the shortcut serves: what it needs, and the one cold that kills it from one stage on, if any does."""

    number: int
    plan: Plan
    need: int
    up: int  # number of the stage from which cold kills, -1: none does
    kill: tuple[int, int, int] | None  # at most [tenths], counted from column, until column


def _groups(plans: Sequence[Plan]) -> dict[Any, list[_Member]]:
    """The crops that the shortcut serves, by the clock of their goal."""
    groups: dict[Any, list[_Member]] = {}
    for number, plan in enumerate(plans):
        goal = plan.stages[plan.goal]
        says = [place for place, stage in enumerate(plan.stages[: plan.goal]) if stage.kills_at is not None]
        kills = {(stage.kills_at, stage.kills_from) for stage in (plan.stages[place] for place in says)}
        if len(kills) > 1 or not _from_sowing(goal):
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


def _blocks_of_days(rows: Rows, clock: Any, members: list[_Member], sowing: Days) -> tuple[Any, Any, Any]:
    """(first, last, declined) of crops of one clock: places in `sowing`, and rows that may have a second block.

    Declined: where the last sown comes up after F, so that another killing day may end it; where the heat before L
    could reach the goal. [plan, row]
    """
    row = rows.row[:, 0]
    flat = rows.heat(clock).reshape(-1)
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
            spring, fall = rows.once(("around", *kill), partial(_around, rows, *kill))
            late = rows.stage(plan.stages, up, sowing[-1:])[:, 0] > row + fall
            start, gone = None, None
            if spring is not None:
                of = rows.heat(plan.stages[up].clock).reshape(-1)
                up_by = of.take(row + np.maximum(spring + 1, 0)) - int(plan.stages[up].need)  # type: ignore[arg-type]
                start = _first_over(rows, plan.stages[up].clock, up_by[None], sowing)[0]
                gone = flat.take(row + np.maximum(spring, 0)) - before
            done[key] = flat.take(row + fall), late, start, gone
        by_fall, late, start, gone = done[key]
        level[place], declined[place] = by_fall - need, late
        if start is not None:
            first[place] = start
            declined[place] |= gone >= need
    last = _first_over(rows, clock, level, sowing) - 1
    for place, member in enumerate(members):
        warm, end = member.plan.warm, member.plan.season_end
        if warm is not None:
            allowed = rows.once(("allowed", warm), partial(_allowed, rows, warm, sowing))
            np.maximum(first[place], allowed, out=first[place])
        if sowing[-1] >= end:
            np.minimum(last[place], np.searchsorted(sowing, end) - 1, out=last[place])
    return first, last, declined


def _allowed(rows: Rows, warm: Any, sowing: Days) -> NDArray[np.int64]:
    """First place in `sowing` that is warm enough. [row]"""
    return np.searchsorted(sowing, rows.warm(warm, by=int(sowing[-1])) + rows.first)


def _from_sowing(stage: Stage) -> bool:
    """Whether a stage counts from sowing, with one need for every seeding day."""
    return stage.since < 0 and isinstance(stage.need, int)


def _first_over(rows: Rows, clock: Any, level: NDArray[Any], sowing: Days) -> NDArray[np.int64]:
    """First place in `sowing` with more heat before the day after than the row's level [k, row], its size if none."""
    columns = sowing + 1 - rows.first
    total, start = rows.heat(clock), rows.row[:, 0] + columns[0]
    if columns.size < columns[-1] - columns[0] + 1:  # some days are left out
        total = np.ascontiguousarray(total[:, columns])
        start = np.arange(len(total)) * columns.size
    start = np.broadcast_to(start, level.shape)
    return lower_bound(total, level + 1, start, columns.size) - start


def _around(rows: Rows, at_most: int, since: int, until: int) -> tuple[NDArray[np.int64] | None, NDArray[np.int64]]:
    """(last cold day before 1 August, -1 if none; first from it on to the day before column `until`, that if none).

    None instead of the first where cold does not count before 1 August.
    """
    start, stop = max(since - rows.first, 0), until - rows.first
    split = min(max(column(*SPLIT) - rows.first, start), stop)
    fall = np.ones((len(rows.tmin), stop - split + 1), bool)
    np.less_equal(rows.tmin[:, split:stop], at_most, out=fall[:, :-1])
    spring = None
    if since < column(*SPLIT) and start < split:
        cold = np.ones((len(rows.tmin), split - start + 1), bool)
        np.less_equal(rows.tmin[:, start:split], at_most, out=cold[:, 1:])
        back = cold[:, ::-1].argmax(axis=1)
        spring = np.where(back == split - start, -1, split - 1 - back)
    return spring, split + fall.argmax(axis=1)
