"""Rows: seasons side by side, with heat, cold and warmth worked out once and shared by every crop that asks.

A **place** is an entry of a table [row, day + 1] counted through all rows, so that one `take` serves every row. Days
count from the first column of a block; `days` (one past the last) stands for never. What missing days leave open has
two ends: LOW (least heat, certain cold) and HIGH (most heat, possible cold); MID, for complete seasons, is the middle
of the heat with the certain cold. Rows without missing days have one end only, whichever is asked for.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.seasons.calendar import COMPLETE, DAYS, MISSING, NEAR, Cube, column
from frostkit.seasons.frost import Mask, cold_days, first_warm
from frostkit.seasons.heat import (
    PIECE,
    UNBOUNDED,
    Ints,
    around,
    between,
    gaps,
    has_heat,
    in_long_run,
    largest_near,
    running,
)

Places = NDArray[np.int64]
LOW, MID, HIGH = 0, 1, 2
ROWS = 1920  # rows worked on at a time: their arrays stay in cache
SOON = 64  # days within which most stages come; a power of 2


@dataclass(frozen=True)
class Celsius:
    """Seasons as plain temperatures, for stacks of stations: each block is turned into tenths when its turn comes.

    tmin, tmax : float32 [..., season, 365], degC, NaN where there is no reading; lows, sign : as in a `Cube`
    """

    tmin: NDArray[np.float32]
    tmax: NDArray[np.float32]
    lows: NDArray[np.int16]
    sign: NDArray[np.int8] | None = None


class Rows:
    """Rows of seasons, as if nothing were missing.

    tmin, tmax : int16 [row, day], tenths of degC from column `first` on
    holes : int [k], which rows have missing days in these columns
    source : tmin and tmax [row, 365], tenths of degC or plain degC, for clocks that go by the calendar
    """

    ends = 1
    plain = True  # missing days are not looked at

    def __init__(self, tmin: NDArray[np.int16], tmax: NDArray[np.int16], first: int, holes: NDArray[np.int64],
                 source: Sequence[NDArray[Any]]):  # fmt: skip
        self.tmin, self.tmax, self.first, self.holes, self.source = tmin, tmax, first, holes, source
        self.days = days = tmin.shape[1]
        self.row: Places = np.arange(len(self.tmin))[:, None] * (days + 1)
        self.never = self.row + days
        self._done: dict[Any, Any] = {}

    def some(self, at: NDArray[np.int64]) -> "Rows":
        """Some of these rows, none of which has missing days."""
        source = [array[at] for array in self.source]
        return Rows(self.tmin[at], self.tmax[at], self.first, np.empty(0, np.int64), source)

    def once(self, key: Any, work: Callable[[], Any]) -> Any:
        """What `work()` gives, worked out the first time only."""
        if key not in self._done:
            self._done[key] = work()
        return self._done[key]

    def end(self, end: int) -> int:
        """The end that is meant: there may be one only."""
        return end if self.ends > 1 else LOW

    def every_day(self) -> list[NDArray[np.int16]]:
        """tmin and tmax of all 365 days. [row, 365]"""
        return self.once("every day", lambda: [_tenths(array)[0] for array in self.source])

    def _all_rates(self, clock: Any) -> Ints:
        if getattr(clock, "same_every_day", False):
            return clock.rate(self.tmin, self.tmax)
        return np.ascontiguousarray(clock.rate(*self.every_day())[:, self.first : self.first + self.days])

    def rate(self, clock: Any) -> Ints:
        """Heat of each day; where a reading is missing the value means nothing. [row, day]"""

        return self.once(("rate", clock), lambda: self._all_rates(clock))

    def heat(self, clock: Any, end: int = LOW) -> Ints:
        """Running sums. [row, day + 1]"""
        return self.once(("heat", clock), lambda: running(self.rate(clock)))

    def cold(self, at_most: int, end: int = LOW) -> Mask:
        """Days at or below a limit [tenths]. [row, day]"""
        return self.tmin <= at_most

    def next_cold(self, place: Places, at_most: int, since: int = 0, end: int = LOW) -> Places:
        """The first cold day from each place on, never if none; cold before column `since` does not count."""

        def work() -> tuple[NDArray[np.int32], Places]:
            cold = np.empty((len(self.tmin), self.days + 1), bool)
            cold[:, :-1] = self.cold(at_most, end)
            cold[:, : max(since - self.first, 0)] = False
            cold[:, -1] = True
            before = running(cold.ravel()[:-1].view(np.int8))
            return before, np.flatnonzero(cold)

        before, days = self.once(("cold", at_most, since, self.end(end)), work)
        return days.take(before.take(place))

    def warm(self, warmth: Any, end: int = LOW, by: int = DAYS - 1) -> NDArray[np.int64]:
        """First day on which sowing may start, never where that is after column `by`. [row]"""
        kind = np.int16 if warmth.days <= 16 else np.int32  # two readings of 100 degC on 16 days still fit 16 bits
        return self.once(("warm", warmth, by), lambda: self._warm(self._double(warmth, by, kind)[0], warmth, by))

    def _double(self, warmth: Any, by: int, kind: Any, more: int = 0) -> tuple[NDArray[Any], slice]:
        """tmin + tmax [tenths] of the days that a warm stretch by then is looked for in, and which days these are."""
        first = max(warmth.from_day - warmth.days + 1 - self.first - more, 0)
        part = slice(first, min(by + 1 - self.first + more, self.days))
        return (self.tmin[:, part] + self.tmax[:, part]).astype(kind, copy=False), part

    def _warm(self, double: Ints, warmth: Any, by: int, more: int = 0) -> NDArray[np.int64]:
        first = max(warmth.from_day - warmth.days + 1 - self.first - more, 0)
        day = first_warm(double, warmth.days, warmth.mean, warmth.from_day - self.first - first) + first
        return np.where(day > by - self.first, self.days, day).astype(np.int64)

    def after(self, place: Places) -> Places:
        """The place of the day after, the never of its row at the latest."""
        return np.minimum(place + 1, self.never)

    def stage(self, stages: Sequence[Any], number: int, sowing: NDArray[np.int64], end: int = LOW) -> Places:
        """Place of the day on which a stage comes; number -1 is sowing itself. [row, seeding day]"""
        end = self.end(end)
        chain, at = [], number
        while at >= 0:
            chain.append((stages[at].clock, stages[at].need))
            at = stages[at].since

        def work() -> Places:
            if not chain:
                return self.row + np.minimum(sowing - self.first, self.days)
            start = self.after(self.stage(stages, stages[number].since, sowing, end))
            total = self.heat(stages[number].clock, end)
            return self._reach(total, start, total.take(start) + np.asarray(stages[number].need)) - 1

        return self.once(("stage", tuple(chain), sowing.tobytes(), end), work)

    def _reach(self, total: Ints, start: Places, wanted: NDArray[Any]) -> Places:
        """First place of each row at which the sum is as wanted, one past its never if none."""
        if self.days >= SOON:
            soon = np.minimum(start, self.never - (SOON - 1))
            if (total.take(soon + (SOON - 1)) >= wanted).all():
                return lower_bound(total, wanted, soon, SOON)
        return lower_bound(total, wanted, np.broadcast_to(self.row, wanted.shape), self.days + 1)

    def column_of(self, place: Places) -> NDArray[np.float64]:
        """Places as columns of the season, +inf for never."""
        day = place - self.row
        return np.where(day >= self.days, np.inf, day + float(self.first))


class Holed(Rows):
    """Rows of seasons with missing days, between the ends that these leave open.

    whole : all rows of the same stations, of which these are `whole.holes`
    """

    ends = 2
    plain = False

    def __init__(self, whole: Rows, seasons: int, lows: NDArray[np.int16], sign: NDArray[np.int8] | None, short: int):
        at = whole.holes
        self.whole, self.seasons, self.short = whole, seasons, short
        super().__init__(whole.tmin[at], whole.tmax[at], whole.first, at, [])
        self.station = at // seasons
        part = slice(self.first, self.first + self.days)
        self.lows = lows[self.station, part]
        self.sign = None if sign is None else sign[at, part]
        self.known: Mask = has_heat(self.tmin, self.tmax)
        full = np.ones(len(whole.tmin), bool)
        full[at] = False
        self.some_whole = bool(full.reshape(-1, seasons).any(axis=1).all())

    def _bounded(
        self, values: Ints, part: slice, floor: int | None, every_day: Callable[[], Ints]
    ) -> tuple[Ints, Ints]:
        """(least, most) of these rows' days, never below `floor`.

        values : int [row of whole, day of part]; every_day : gives the same for all 365 days
        """
        most = self._largest(values, part, every_day)
        least: Any = floor
        if floor is None:
            least = -self._largest(-values, part, lambda: -every_day())[self.station]
        rows = values[self.holes, None]
        gap = self.once(("gaps", part.start, part.stop), lambda: gaps(self.known[:, None, part], self.short))
        low, high = between(rows, gap, least, most[self.station])
        return low[:, 0], high[:, 0]

    def _largest(self, values: Ints, part: slice, every_day: Callable[[], Ints]) -> Ints:
        """As `heat.largest_near`, of the stations of the block. [station, day of part]"""
        by_station = (-1, self.seasons, values.shape[1])
        if not self.some_whole:
            known = has_heat(*self.whole.every_day()).reshape(-1, self.seasons, DAYS)
            largest = largest_near(every_day().reshape(known.shape), known)
            return largest[:, self.first + part.start : self.first + part.stop]
        values[self.holes] = np.where(self.known[:, part], values[self.holes], -UNBOUNDED)
        best = values.reshape(by_station).max(axis=1)  # each station has a season without missing days
        return around(best, -UNBOUNDED, ring=values.shape[1] == DAYS)

    def rates(self, clock: Any) -> tuple[Ints, Ints]:
        """Least and most heat of each day. [row, day]"""
        part = slice(0, self.days)
        return self.once(
            ("rates", clock),
            lambda: self._bounded(self.whole.rate(clock), part, 0, lambda: clock.rate(*self.whole.every_day())),
        )

    def heat(self, clock: Any, end: int = LOW) -> Ints:
        return self.once(("heat", clock, end), lambda: running(self.rates(clock)[end == HIGH]))

    def cold(self, at_most: int, end: int = LOW) -> Mask:
        def work() -> tuple[Mask, Mask]:
            sign = None if self.sign is None else self.sign[:, None]
            certain, possible = cold_days(self.tmin[:, None], at_most, self.lows, sign)
            return certain[:, 0], possible[:, 0]

        return self.once(("is cold", at_most), work)[end == HIGH]

    def doubles(self, warmth: Any, by: int) -> tuple[Ints, Ints]:
        """Least and most of tmin + tmax. [row, day]"""

        def work() -> tuple[Ints, Ints]:
            double, part = self.whole._double(warmth, by, np.int32, more=NEAR)
            return self._bounded(double, part, None, lambda: np.add(*self.whole.every_day(), dtype=np.int32))

        return self.once(("double", warmth, by), work)

    def warm(self, warmth: Any, end: int = LOW, by: int = DAYS - 1) -> NDArray[np.int64]:
        double = self.doubles(warmth, by)[end == HIGH]
        return self.once(("warm", warmth, by, end), lambda: self._warm(double, warmth, by, more=NEAR))

    def complete(self) -> Mask:
        """As `frost.complete`. [row]"""
        first, last = (column(*day) - self.first for day in COMPLETE)
        part = np.s_[:, first : last + 1]
        hidden = self.cold(0, HIGH)[part] & ~self.cold(0, LOW)[part]
        return np.logical_not((in_long_run(~self.known[part], self.short) | hidden).any(axis=-1))


class Likely(Rows):
    """Complete seasons among the holed ones, with what their short runs leave open at its middle.

    at : which of the holed rows these are
    """

    plain = False

    def __init__(self, holed: Holed, at: NDArray[np.int64]):
        super().__init__(holed.tmin[at], holed.tmax[at], holed.first, at, [])
        self.holed, self.at = holed, at

    def heat(self, clock: Any, end: int = LOW) -> Ints:
        return self.once(("heat", clock), lambda: running(self._middle(self.holed.rates(clock))))

    def cold(self, at_most: int, end: int = LOW) -> Mask:
        return self.holed.cold(at_most, LOW)[self.at]

    def warm(self, warmth: Any, end: int = LOW, by: int = DAYS - 1) -> NDArray[np.int64]:
        double = self._middle(self.holed.doubles(warmth, by))
        return self.once(("warm", warmth, by), lambda: self._warm(double, warmth, by, more=NEAR))

    def _middle(self, ends: tuple[Ints, Ints]) -> Ints:
        return (ends[0][self.at] + ends[1][self.at]) >> 1


@dataclass(frozen=True)
class Block:
    """Some stations' rows.

    rows : slice of all rows [station x season]; whole : every one of them, as if nothing were missing;
    holed : those with missing days, or None; likely : those of them that are complete; complete : see `frost.complete`
    [row]
    """

    rows: slice
    whole: Rows
    holed: Holed | None
    likely: Likely | None
    complete: Mask

    @property
    def holes(self) -> NDArray[np.int64]:
        """Which of all rows have missing days."""
        return self.rows.start + self.whole.holes


def span(first: int, last: int) -> tuple[int, int]:
    """The columns that questions about columns first to last look at: first, and one past the last.

    >>> span(116, 303), span(5, 303)
    ((80, 314), (0, 365))
    """
    low = min(first, column(*COMPLETE[0])) - NEAR
    high = max(last, column(*COMPLETE[1])) + 1 + NEAR
    return (0, DAYS) if low < 0 or high > DAYS else (low, high)


def blocks(cube: Cube | Celsius, first: int, last: int, short: int, rows: int = ROWS) -> Iterator[Block]:
    """The stations of a cube, some at a time, for questions about columns first to last.

    Ten days more on either side come along, for the station's extremes near a date; near the ends of the axis all do.
    """
    low, high = span(first, last)
    seasons = cube.tmin.shape[-2]
    source = [array.reshape(-1, DAYS) for array in (cube.tmin, cube.tmax)]
    lows = cube.lows.reshape(-1, DAYS)
    sign = None if cube.sign is None else cube.sign.reshape(-1, DAYS)
    step = seasons * max(1, rows // seasons)
    for start in range(0, len(source[0]), step):
        at = slice(start, min(start + step, len(source[0])))
        (tmin, no_tmin), (tmax, no_tmax) = (_tenths(array[at, low:high]) for array in source)
        whole = Rows(tmin, tmax, low, np.union1d(no_tmin, no_tmax), [array[at] for array in source])
        complete = np.ones(at.stop - start, bool)
        holed = likely = None
        if whole.holes.size:
            station = slice(start // seasons, at.stop // seasons)
            holed = Holed(whole, seasons, lows[station], None if sign is None else sign[at], short)
            complete[whole.holes] = good = holed.complete()
            likely = Likely(holed, np.flatnonzero(good)) if good.any() else None
        yield Block(at, whole, holed, likely, complete)


def lower_bound(total: NDArray[Any], wanted: NDArray[Any], start: Places, length: int) -> Places:
    """The first of `length` places from `start` on at which `total` is at least as wanted, `start + length` if none.

    total : int array, rising from each start on; wanted, start : int arrays of one shape

    >>> lower_bound(np.array([0, 0, 5, 9]), np.array([1, 9, 10]), np.zeros(3, int), 4).tolist()
    [2, 3, 4]
    """
    flat = total.reshape(-1)
    place = start.astype(np.int64)
    while length > 1:
        half = length // 2
        place += (flat[half - 1 :].take(place) < wanted) * np.int64(half)
        length -= half
    place += flat.take(place) < wanted
    return place


def _tenths(array: NDArray[Any]) -> tuple[NDArray[np.int16], NDArray[np.int64]]:
    """Tenths of degC, `MISSING` where there is no reading, and the rows with missing days. [row, day]"""
    if array.dtype.kind != "f":
        return array, np.flatnonzero(array.min(axis=1) == MISSING)
    out = np.empty(array.shape, np.int16)
    holes = [np.empty(0, np.int64)]
    step = max(1, PIECE // array.shape[1])
    ten, ones = array.dtype.type(10), np.ones(array.shape[1], array.dtype)
    room = np.empty((step, array.shape[1]), array.dtype)
    for start in range(0, len(array), step):  # pieces that stay in cache from one step to the next
        at = slice(start, start + step)
        scaled = np.multiply(array[at], ten, out=room[: len(array[at])])
        np.rint(scaled, out=scaled)
        missing = np.flatnonzero(np.isnan(scaled @ ones))  # the quickest sum of each row
        if missing.size:
            holed = scaled[missing]
            holed[np.isnan(holed)] = MISSING
            scaled[missing] = holed
            holes.append(start + missing)
        out[at] = scaled
    return out, np.concatenate(holes)
