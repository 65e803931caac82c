"""Rows: seasons side by side, with heat, cold and warmth worked out once and shared by every crop that asks.

Days are counted from the first column of the block here, and `days` (one past the last) stands for never. What missing
days leave open has three ends: LOW (least heat, certain cold), HIGH (most heat, possible cold) and MID (the middle of
the heat, certain cold). Rows without missing days have one end only, whichever is asked for.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.seasons.calendar import DAYS, NEAR, Cube
from frostkit.seasons.frost import Mask, cold_days, double_bounds, first_warm
from frostkit.seasons.heat import Ints, bounds, extremes, has_heat, running

LOW, MID, HIGH = 0, 1, 2
ROWS = 960  # rows worked on at a time: their arrays stay in cache
_LIFT = np.int64(1) << 40  # more than any sum of heat


def places(total: Ints, wanted: NDArray[Any], side: Any = "left") -> NDArray[np.int64]:
    """`searchsorted` of each row of `wanted` [row, k] in the same row of `total` [row, n]: one search for all, each row
    lifted above the one before."""
    n = total.shape[-1]
    row = np.arange(len(total))[:, None]
    found = np.searchsorted((total + _LIFT * row).ravel(), wanted + _LIFT * row, side=side)
    return found - n * row


class Rows:
    """Rows of seasons without missing days, or whose missing days are not looked at.

    tmin, tmax : int16 [row, 365], tenths of degC; columns first to first + days are used
    """

    ends = 1

    def __init__(self, tmin: NDArray[np.int16], tmax: NDArray[np.int16], first: int, days: int):
        self.all_tmin, self.all_tmax = tmin, tmax
        self.first, self.days = first, days
        self.tmin, self.tmax = tmin[:, first : first + days], tmax[:, first : first + days]
        self.row = np.arange(len(tmin))[:, None] * (days + 1)
        self.known: Mask | None = None
        self._done: dict[Any, Any] = {}

    def once(self, key: Any, work: Any) -> Any:
        """What `work()` gives, worked out the first time only."""
        if key not in self._done:
            self._done[key] = work()
        return self._done[key]

    def rate(self, clock: Any) -> Ints:
        """Heat of each day, 0 where it is missing. [row, day]"""

        def work() -> Ints:
            if getattr(clock, "same_every_day", False):
                rate = clock.rate(self.tmin, self.tmax)
            else:
                rate = clock.rate(self.all_tmin, self.all_tmax)[:, self.first : self.first + self.days]
            return rate if self.known is None else np.where(self.known, rate, 0)

        return self.once(("rate", clock), work)

    def heat(self, clock: Any, end: int = LOW) -> Ints:
        """Running sums. [row, day + 1]"""
        return self.once(("heat", clock), lambda: running(self.rate(clock)))

    def cold(self, at_most: int, end: int = LOW) -> Mask:
        """Days at or below a limit [tenths]. [row, day]"""
        return self.tmin <= at_most

    def next_cold(self, at_most: int, since: int = 0, end: int = LOW) -> NDArray[np.int16]:
        """The first cold day from each day on, counting cold from column `since` on. [row, day + 1]"""
        end = end if self.ends > 1 else LOW

        def work() -> NDArray[np.int16]:
            out = np.full((len(self.tmin), self.days + 1), self.days, np.int16)
            start = max(since - self.first, 0)
            day = np.arange(start, self.days, dtype=np.int16)
            seen = np.where(self.cold(at_most, end)[:, start:], day, np.int16(self.days))
            out[:, start:-1] = np.minimum.accumulate(seen[:, ::-1], axis=1)[:, ::-1]
            out[:, :start] = out[:, start : start + 1]
            return out

        return self.once(("cold", at_most, since, end), work)

    def warm(self, warmth: Any, end: int = LOW) -> NDArray[np.int64]:
        """First day on which sowing may start. [row]"""

        def work() -> NDArray[np.int64]:
            double = np.add(self.tmin, self.tmax, dtype=np.int32)
            return self._warm(double, warmth)

        return self.once(("warm", warmth), work)

    def _warm(self, double: Ints, warmth: Any) -> NDArray[np.int64]:
        day = first_warm(double, warmth.days, warmth.mean, warmth.from_day - self.first)
        return np.minimum(day, self.days).astype(np.int64)

    def stage_day(self, stages: Sequence[Any], number: int, sowing: NDArray[np.int64], end: int = LOW) -> Ints:
        """Day on which a stage comes; number -1 is sowing itself. [row, seeding day]"""
        end = end if self.ends > 1 else LOW
        chain, at = [], number
        while at >= 0:
            chain.append((stages[at].clock, stages[at].need))
            at = stages[at].since
        if not chain:
            return np.broadcast_to(np.minimum(sowing - self.first, self.days), (len(self.tmin), sowing.size))

        def work() -> Ints:
            stage = stages[number]
            total = self.heat(stage.clock, end)
            start = self.stage_day(stages, stage.since, sowing, end)
            wanted = self.at(total, np.minimum(start + 1, self.days)) + np.asarray(stage.need)
            return (places(total, wanted) - 1).astype(np.int32)

        return self.once(("stage", tuple(chain), sowing.tobytes(), end), work)

    def at(self, table: NDArray[Any], day: NDArray[Any]) -> NDArray[Any]:
        """Each row's entries of a table [row, day + 1] on days [row, k]."""
        return table.ravel().take(self.row + day)

    def column_of(self, day: NDArray[Any]) -> NDArray[np.float64]:
        """Days of this block as columns of the season, +inf for never."""
        return np.where(day >= self.days, np.inf, day + float(self.first))


class Holed(Rows):
    """Rows of seasons with missing days, between the ends that these leave open.

    whole : all rows of the same stations; where : which of them these are
    """

    ends = 3

    def __init__(self, whole: Rows, where: NDArray[np.int64], seasons: int, lows: NDArray[np.int16],
                 sign: NDArray[np.int8] | None, short: int):  # fmt: skip
        super().__init__(whole.all_tmin[where], whole.all_tmax[where], whole.first, whole.days)
        self.whole, self.where, self.seasons, self.short = whole, where, seasons, short
        self.station = where // seasons
        part = slice(self.first, self.first + self.days)
        self.lows = lows[self.station, part]
        self.sign = None if sign is None else sign[where, part]
        self.known: Mask = has_heat(self.tmin, self.tmax)

    def heat(self, clock: Any, end: int = LOW) -> Ints:
        return self.once(("heat", clock), lambda: self._heat(clock))[end]

    def _heat(self, clock: Any) -> tuple[Ints, Ints, Ints]:
        per_station = (-1, self.seasons, self.days)
        whole_known = self.whole.once("known", lambda: has_heat(self.whole.tmin, self.whole.tmax))
        largest = extremes(self.whole.rate(clock).reshape(per_station), whole_known.reshape(per_station),
                           ring=self.days == DAYS)[1]  # fmt: skip
        low, high = bounds(self.rate(clock)[:, None], self.known[:, None], 0, largest[self.station], self.short)
        return running(low[:, 0]), running((low[:, 0] + high[:, 0]) >> 1), running(high[:, 0])

    def cold(self, at_most: int, end: int = LOW) -> Mask:
        def work() -> tuple[Mask, Mask]:
            sign = None if self.sign is None else self.sign[:, None]
            certain, possible = cold_days(self.tmin[:, None], at_most, self.lows, sign)
            return certain[:, 0], possible[:, 0]

        return self.once(("is cold", at_most), work)[end == HIGH]

    def warm(self, warmth: Any, end: int = LOW) -> NDArray[np.int64]:
        return self.once(("warm", warmth), lambda: self._warms(warmth))[end]

    def _warms(self, warmth: Any) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        double = np.add(self.whole.tmin, self.whole.tmax, dtype=np.int32).reshape(-1, self.seasons, self.days)
        known = self.whole.once("known", lambda: has_heat(self.whole.tmin, self.whole.tmax))
        low, high = double_bounds(double, known.reshape(double.shape), self.short)
        low, high = (end.reshape(-1, self.days)[self.where] for end in (low, high))
        return self._warm(low, warmth), self._warm((low + high) >> 1, warmth), self._warm(high, warmth)


@dataclass(frozen=True)
class Block:
    """Some stations' rows.

    rows : slice of all rows [station x season]; whole : every one of them, as if nothing were missing;
    holes : int [k], which of them have missing days; holed : these, or None
    """

    rows: slice
    whole: Rows
    holes: NDArray[np.int64]
    holed: Holed | None


def blocks(cube: Cube, first: int, last: int, short: int, rows: int = ROWS) -> Iterator[Block]:
    """The stations of a cube, some at a time, for questions about columns first to last.

    Ten days more on either side come along, for the station's extremes near a date; near the ends of the axis all do.
    """
    low, high = first - NEAR, last + 1 + NEAR
    if low < 0 or high > DAYS:
        low, high = 0, DAYS
    seasons = cube.tmin.shape[-2]
    tmin, tmax = cube.tmin.reshape(-1, DAYS), cube.tmax.reshape(-1, DAYS)
    lows = cube.lows.reshape(-1, DAYS)
    sign = None if cube.sign is None else cube.sign.reshape(-1, DAYS)
    step = seasons * max(1, rows // seasons)
    for start in range(0, len(tmin), step):
        at = slice(start, min(start + step, len(tmin)))
        whole = Rows(tmin[at], tmax[at], low, high - low)
        asked = np.s_[:, first - low : last + 1 - low]
        holes = np.flatnonzero(~has_heat(whole.tmin[asked], whole.tmax[asked]).all(axis=1))
        holed = None
        if holes.size:
            whole.known = whole.once("known", lambda whole=whole: has_heat(whole.tmin, whole.tmax))
            station = slice(start // seasons, at.stop // seasons)
            holed = Holed(whole, holes, seasons, lows[station], None if sign is None else sign[at], short)
        yield Block(at, whole, holes, holed)
