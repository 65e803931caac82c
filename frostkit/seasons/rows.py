"""Rows: seasons side by side, with heat sums and cold days worked out once for every crop that asks.

Days count from the first column of the block; `days`, one past the last, stands for never. A **begin** is the first day
whose heat counts: the day after sowing, or after the stage that is counted from. A **place** is an entry of a table
[row, day + 1] counted through all rows, so that one `take` serves every row.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.seasons.calendar import DAYS, NEVER
from frostkit.seasons.frost import limit
from frostkit.seasons.heat import Ints, rates, running
from frostkit.seasons.photothermal import Photothermal, temperature_response

Days = NDArray[np.int64]
ROWS = 1024  # rows worked on at a time: their arrays stay in cache


class Rows:
    """Some rows of seasons, from column `first` to the one before `stop`. tmin, tmax : int16 [row, 365], tenths"""

    def __init__(self, tmin: NDArray[np.int16], tmax: NDArray[np.int16], first: int, stop: int):
        self.tmin, self.tmax, self.first = tmin, tmax, first
        self.days = max(stop - first, 0)
        self.row: Days = np.arange(len(tmin)) * (self.days + 1)
        self._done: dict[Any, Any] = {}

    def once(self, key: Any, work: Callable[[], Any]) -> Any:
        """What `work()` gives, worked out the first time only."""
        if key not in self._done:
            self._done[key] = work()
        return self._done[key]

    def heat(self, clock: Any) -> Ints:
        """Running sums. [row, day + 1]"""
        return self.once(("heat", clock), lambda: running(self._rates(clock)))

    def _rates(self, clock: Any) -> Ints:
        days = slice(self.first, self.first + self.days)
        if not isinstance(clock, Photothermal):
            return rates(clock, self.tmin, self.tmax, days)
        of = clock.temperatures  # the slow part, the same for all soybeans of a table
        response = self.once(("response", of), lambda: temperature_response(self.tmin, self.tmax, of))
        return clock.rate(self.tmin, self.tmax, response)[:, days]

    def cold(self, at_or_below: float, since: int) -> Days:
        """Places of the days from column `since` on at or below a temperature, and of each row's never; rising."""

        def work() -> Days:
            begin = min(max(since - self.first, 0), self.days)
            cold = np.zeros((len(self.tmin), self.days + 1), bool)
            days = self.tmin[:, self.first + begin : self.first + self.days]
            np.less_equal(days, np.int16(limit(at_or_below)), out=cold[:, begin:-1])
            cold[:, -1] = True
            return np.flatnonzero(cold)

        return self.once(("cold", at_or_below, since), work)

    def stage_day(self, stages: Sequence[Any], number: int, sowing: Days) -> Days:
        """Day on which a stage comes, never where it does not. [row, seeding day]"""
        chain = []
        at = number
        while at >= 0:
            chain.append((stages[at].clock, stages[at].need))
            at = stages[at].since

        def work() -> Days:
            if number < 0:
                return np.broadcast_to(np.clip(sowing - self.first, -1, self.days), (len(self.tmin), sowing.size))
            stage = stages[number]
            begin = np.minimum(self.stage_day(stages, stage.since, sowing) + 1, self.days) + self.row[:, None]
            total = self.heat(stage.clock)
            start = np.broadcast_to(self.row[:, None], begin.shape)
            met = lower_bound(total, total.take(begin) + stage.need, start, self.days + 1)
            return met - start - 1

        return self.once(("stage", tuple(chain), sowing.tobytes()), work)

    def last_begin(self, stages: Sequence[Any], number: int, row: Days, day: Days) -> Days:
        """Last begin of a sowing whose stage has come by the end of a day; -1 or less: none. row, day, result : [k]"""
        if number < 0:
            return day + 1
        stage = stages[number]
        total, start = self.heat(stage.clock), self.row[row]
        spare = total.take(start + np.maximum(day + 1, 0)) - stage.need
        last = lower_bound(total, spare + 1, start, self.days + 1) - start - 1
        return self.last_begin(stages, stage.since, row, last - 1)

    def column_of(self, day: NDArray[Any]) -> NDArray[np.float64]:
        """Days as columns of the season, +inf for never."""
        return np.where(day >= self.days, NEVER, day + float(self.first))


def blocks(tmin: NDArray[np.int16], tmax: NDArray[np.int16], first: int, stop: int) -> Iterator[tuple[Rows, slice]]:
    """Seasons [..., 365] by blocks of rows, columns `first` to the one before `stop`, and which rows these are."""
    low, high = tmin.reshape(-1, DAYS), tmax.reshape(-1, DAYS)
    for start in range(0, len(low), ROWS):
        at = slice(start, min(start + ROWS, len(low)))
        yield Rows(low[at], high[at], first, stop), at


def lower_bound(total: NDArray[Any], wanted: NDArray[Any], start: Days, length: int) -> Days:
    """The first of `length` places from `start` on at which `total` is at least as wanted, `start + length` if none.

    total : int array, rising from each start on; wanted, start : int arrays of one shape

    >>> lower_bound(np.array([0, 0, 5, 9]), np.array([1, 9, 10]), np.zeros(3, int), 4).tolist()
    [2, 3, 4]
    """
    flat = total.reshape(-1)
    place = start.astype(np.int64)
    seen, under, step = np.empty(place.shape, flat.dtype), np.empty(place.shape, bool), np.empty_like(place)
    while length > 1:
        half = length // 2
        np.take(flat[half - 1 :], place, out=seen, mode="clip")
        np.less(seen, wanted, out=under)
        place += np.multiply(under, half, out=step)
        length -= half
    place += flat.take(place) < wanted
    return place
