"""Shortcut: each season's first and last seeding day that worked, by one search an end; else by the grid.

For a season without missing days and a crop that is never more tender young than old, the days that worked are one
block. With L and F the killing days on either side of 1 August and P the running heat, they are those with
P[s + 1] > P[L + 1] - emergence (it comes up after L) and P[s + 1] <= P[F] - goal (it gets there before F). Where the
heat before L, or after F, could reach the goal too, there may be a second block: such seasons, seasons with missing
days, and crops of another kind go to the grid, whose answers come out the same way.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.calendar import SPLIT, Cube, column
from frostkit.seasons.frost import Mask, first_true, last_true, limit
from frostkit.seasons.growth import Plan, Stage, asked
from frostkit.seasons.heat import SHORT
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.rows import HIGH, LOW, MID, Celsius, Rows, blocks
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
            for rows, *parts in self.apart:
                station, starts = np.unique(rows // seasons, return_index=True)
                parts[2] = parts[2] & self.complete.reshape(-1)[rows, None]
                for total, part in zip((yes, possible, typical), parts, strict=True):
                    total[station] += np.add.reduceat(part, starts, axis=0, dtype=np.int64)
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
    ends = [(np.zeros(count, np.int64), np.full(count, -1)) for _ in plans]
    apart: list[list[tuple[NDArray[np.int64], Mask, Mask, Mask]]] = [[] for _ in plans]
    complete = np.empty(count, bool)
    for block in blocks(cube, *asked(plans, days), short):
        complete[block.rows] = block.complete
        without = np.ones(len(block.complete), bool)
        without[block.whole.holes] = False
        declined = []
        for (first, last), plan in zip(ends, plans, strict=True):
            found = _block_of_days(block.whole, plan, days)
            if found is None:
                declined.append(without)
                continue
            first[block.rows], last[block.rows], second = found
            second &= without
            declined.append(second)
            last[block.rows][second | ~without] = -1
        for at, rows in (_declined(block.whole, declined, block.rows.start), (block.holes, block.holed)):
            if rows is None:
                continue
            for parts, plan, left in zip(apart, plans, declined, strict=True):
                mine = np.arange(at.size) if rows is block.holed else np.flatnonzero(left[at - block.rows.start])
                if mine.size:
                    low = grid(rows, plan, days, LOW)[mine]
                    high, middle = (grid(rows, plan, days, end)[mine] if rows.ends > 1 else low for end in (HIGH, MID))
                    parts.append((at[mine], low, high, middle))
    return [
        Windows(first.reshape(shape), last.reshape(shape), tuple(parts), complete.reshape(shape), days)
        for (first, last), parts in zip(ends, apart, strict=True)
    ]


def _declined(whole: Rows, declined: list[Mask], start: int) -> tuple[NDArray[np.int64], Rows | None]:
    """The rows that some crop's shortcut declined, as rows of their own."""
    at = np.flatnonzero(np.logical_or.reduce(declined))
    if not at.size:
        return at, None
    if at.size == len(whole.tmin):
        return start + at, whole
    return start + at, Rows([array[at] for array in whole.source], whole.first, whole.days)


def _block_of_days(rows: Rows, plan: Plan, sowing: Days) -> tuple[NDArray[Any], NDArray[Any], Mask] | None:
    """(first, last, declined): places in `sowing`, and rows that may have a second block; None: not this crop. [row]"""
    way, goal = plan.stages[: plan.goal], plan.stages[plan.goal]
    says = [number for number, stage in enumerate(way) if stage.kills_at is not None]
    if len({(way[number].kills_at, way[number].kills_from) for number in says}) > 1 or not _from_sowing(goal):
        return None
    stop = plan.season_end + 1 - rows.first
    row = rows.row[:, 0]
    sums, flat = _sown(rows, goal.clock, sowing), rows.heat(goal.clock).reshape(-1)
    first, end, declined = np.zeros(len(row), np.int64), np.full(len(row), stop), np.zeros(len(row), bool)
    if says:
        up = way[says[0]]
        at_or_below, since = limit(float(up.kills_at)), up.kills_from  # type: ignore[arg-type]
        spring, end = rows.once(("around", at_or_below, since, stop), lambda: _around(rows, at_or_below, since, stop))
        up_last = rows.stage(way, says[0], sowing[-1:])[:, 0] - row  # the last sown come up last
        declined = up_last > end
        if spring is not None:
            if not _from_sowing(up):
                return None
            of = rows.heat(up.clock).reshape(-1)
            first = _first_over(_sown(rows, up.clock, sowing), of.take(row + np.maximum(spring + 1, 0)) - up.need)
            declined |= flat.take(row + np.maximum(spring, 0)) - sums[:, 0] >= goal.need
    last = _first_over(sums, flat.take(row + end) - goal.need) - 1
    if plan.warm is not None:
        warm = rows.warm(plan.warm, by=int(sowing[-1])) + rows.first
        first = np.maximum(first, np.searchsorted(sowing, warm))
    if sowing[-1] >= plan.season_end:
        last = np.minimum(last, np.searchsorted(sowing, plan.season_end) - 1)
    return first, last, declined


def _from_sowing(stage: Stage) -> bool:
    """Whether a stage counts from sowing, with one need for every seeding day."""
    return stage.since < 0 and isinstance(stage.need, int)


def _sown(rows: Rows, clock: Any, sowing: Days) -> NDArray[np.int32]:
    """Heat before the day after each sowing. [row, seeding day]"""
    columns = sowing + 1 - rows.first

    def work() -> NDArray[np.int32]:
        if columns.size == columns[-1] - columns[0] + 1:
            return rows.heat(clock)[:, columns[0] : columns[-1] + 1]
        return rows.heat(clock)[:, columns]

    return rows.once(("sown", clock, sowing.tobytes()), work)


def _first_over(sums: NDArray[Any], level: NDArray[Any]) -> NDArray[np.int64]:
    """First place of each row [row, k] that is above the row's level [row], k if none."""
    over = np.ones((len(sums), sums.shape[1] + 1), bool)
    np.greater(sums, level[:, None], out=over[:, :-1])
    return over.argmax(axis=1)


def _around(rows: Rows, at_most: int, since: int, stop: int) -> tuple[NDArray[np.int64] | None, NDArray[np.int64]]:
    """(last cold day before 1 August, -1 if none; first one from it on, `stop` if none); None: spring does not kill."""
    start, split = max(since - rows.first, 0), column(*SPLIT) - rows.first
    split = min(max(split, start), stop)
    fall = np.ones((len(rows.tmin), stop - split + 1), bool)
    np.less_equal(rows.tmin[:, split:stop], at_most, out=fall[:, :-1])
    spring = None
    if start < split:
        cold = np.ones((len(rows.tmin), split - start + 1), bool)
        np.less_equal(rows.tmin[:, start:split], at_most, out=cold[:, 1:])
        back = cold[:, ::-1].argmax(axis=1)
        spring = np.where(back == split - start, -1, split - 1 - back)
    return spring, split + fall.argmax(axis=1)
