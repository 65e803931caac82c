"""The works grid compiled, for blocks of many places: the same answers as `windows.works_many`, several times as fast.

Needs numba (the extra `fast`); nothing else in frostkit does. The crops are first written down as small tables, in
which whatever two of them share (a clock, a stage, a cold) stands once; one compiled loop over stations then works
through them season by season, in threads, without the interpreter's lock.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from math import ceil
from typing import Any

import numba
import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons import heat
from frostkit.seasons.calendar import COMPLETE, DAYS, MISSING, NEAR, Cube, column
from frostkit.seasons.frost import HIDDEN, limit
from frostkit.seasons.growth import Plan, Stage, asked
from frostkit.seasons.heat import SHORT, UNBOUNDED, WEEK, Heat
from frostkit.seasons.rows import Celsius, span
from frostkit.seasons.windows import Works
from frostkit.seasons.windows import works_many as by_numpy

GIVEN, CHU, MEAN, CLAMPED = 0, 1, 2, 3
NO_CAP = 1 << 14  # more than twice any reading in tenths
LOW, MID, HIGH = 0, 1, 2
COMPLETE_FROM, COMPLETE_TO = (column(*day) for day in COMPLETE)


@dataclass
class Tables:
    """Crops as numbers. Days count from column `first`; -1 stands for sowing, or for none."""

    sowing: NDArray[np.int64]
    first: int
    clocks: list[Any] = field(default_factory=list)
    needs: list[tuple[int, ...]] = field(default_factory=list)  # [need][seeding day]
    nodes: list[tuple[int, int, int]] = field(default_factory=list)  # clock, need, node it counts from
    colds: list[tuple[int, int]] = field(default_factory=list)  # at most [tenths], counted from day
    parts: list[tuple[int, int, int]] = field(default_factory=list)  # cold, first node, node that ends it
    stops: list[tuple[int, ...]] = field(default_factory=list)  # day after the season's last, then numbers of parts
    sums: list[tuple[int, int, int]] = field(default_factory=list)  # stop, clock, node it counts from
    warms: list[tuple[int, int, int]] = field(default_factory=list)  # days, sum of tmin + tmax [tenths], from day
    crops: list[tuple[int, int, int, int]] = field(default_factory=list)  # sum, need, warm, day after the season's last

    def add(self, plan: Plan) -> None:
        """One more crop."""
        stages, goal = plan.stages, plan.stages[plan.goal]
        stretches: list[list[Any]] = []
        for number, stage in enumerate(stages[: plan.goal]):
            danger = [stage.kills_at, stage.kills_from]
            if not stretches or (stage.kills_at is not None and danger != stretches[-1][1:]):
                stretches.append([number, *danger])
        parts = []
        for place, (number, degrees, since) in enumerate(stretches):
            if degrees is not None:
                cold = _place(self.colds, (limit(degrees), max(since - self.first, 0)))
                until = self._node(stages, stretches[place + 1][0]) if place + 1 < len(stretches) else -1
                parts.append(_place(self.parts, (cold, self._node(stages, number), until)))
        end = plan.season_end + 1 - self.first
        stop = _place(self.stops, (end, *parts))
        total = _place(self.sums, (stop, _place(self.clocks, goal.clock), self._node(stages, goal.since)))
        warm = -1
        if plan.warm is not None:
            wanted = ceil(20 * plan.warm.days * plan.warm.mean - 1e-6)  # 20: two temperatures, in tenths
            warm = _place(self.warms, (plan.warm.days, wanted, plan.warm.from_day - self.first))
        self.crops.append((total, self._need(goal), warm, end))

    def _need(self, stage: Stage) -> int:
        need = (stage.need,) * self.sowing.size if isinstance(stage.need, int) else stage.need
        return _place(self.needs, need)

    def _node(self, stages: Sequence[Stage], number: int) -> int:
        if number < 0:
            return -1
        stage = stages[number]
        since = self._node(stages, stage.since)
        return _place(self.nodes, (_place(self.clocks, stage.clock), self._need(stage), since))

    def arrays(self) -> tuple[NDArray[Any], ...]:
        """The tables as the compiled loop takes them; stops padded with -1."""
        width = max(len(stop) for stop in self.stops)
        stops = [stop + (-1,) * (width - len(stop)) for stop in self.stops]
        three = [np.array(of, np.int64).reshape(-1, 3) for of in (self.nodes, self.parts, self.sums, self.warms)]
        nodes, parts, sums, warms = three
        return (np.array(self.needs, np.int32), nodes, np.array(self.colds, np.int64).reshape(-1, 2), parts,
                np.array(stops, np.int64), sums, warms, np.array(self.crops, np.int64))  # fmt: skip


def _place(table: list[Any], entry: Any) -> int:
    """Where an entry stands in a table, added if it is new."""
    if entry not in table:
        table.append(entry)
    return table.index(entry)


def _clock_numbers(clock: Any) -> tuple[int, ...]:
    """kind, and the whole numbers it works with; GIVEN: its rates come from its own `rate`."""
    if isinstance(clock, Heat):
        if clock.method == "chu":
            numbers = heat.chu_numbers(clock.day, clock.night_base)
            return (CHU, *numbers) if heat.fits_single(*numbers) else (GIVEN, 0, 0, 0, 0, 0)
        if clock.method in ("mean", "clamped"):
            low, high, scale = heat.degree_day_numbers(clock.base, clock.cap)
            if scale == 1:
                return (MEAN if clock.method == "mean" else CLAMPED, low, NO_CAP if high is None else high, 0, 0, 0)
    return GIVEN, 0, 0, 0, 0, 0


def works_many(cube: Cube | Celsius, plans: Sequence[Plan], sowing: ArrayLike, *, short: int = SHORT,
               threads: int = 2) -> list[Works]:  # fmt: skip
    """`windows.works_many`, compiled: the same for the same arguments, but for ends and shelters, which it has not.

    threads : int, how many parts of the stations are worked on at a time
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    ends, complete, tallies, apart = _run(cube, plans, days, short, threads, keep=True)
    shape, grids = cube.tmin.shape[:-1], []
    for place in range(len(plans)):
        low, middle, high = (end[place].reshape(*shape, days.size) for end in ends)
        if not apart.any():
            middle = high = low
        yes, typical, possible = (of[place].reshape(*shape[:-1], days.size) for of in tallies)
        grids.append(Works(low, high, middle, complete.reshape(shape), days, tallied=(yes, possible, typical)))
    return grids


def counts_many(cube: Cube | Celsius, plans: Sequence[Plan], sowing: ArrayLike, *, short: int = SHORT,
                threads: int = 2) -> list[tuple[NDArray[Any], ...]]:  # fmt: skip
    """`Works.counts` of every crop: each cell of the grid is worked out and counted, none is kept.

    For regions, whose grids would fill the memory. Arguments as for `works_many`.
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    _, complete, tallies, _ = _run(cube, plans, days, short, threads, keep=False)
    shape = (*cube.tmin.shape[:-2], days.size)
    seasons, counts = cube.tmin.shape[-2], list[tuple[NDArray[Any], ...]]()
    good = np.broadcast_to(complete.reshape(-1, seasons).sum(axis=1).reshape(*shape[:-1], 1), shape)
    for place in range(len(plans)):
        yes, typical, possible = (of[place].reshape(shape) for of in tallies)
        counts.append((yes, seasons - possible, possible - yes, good, typical))
    return counts


def _run(cube: Cube | Celsius, plans: Sequence[Plan], days: NDArray[np.int64], short: int, threads: int,
         keep: bool) -> tuple[list[NDArray[Any]], NDArray[Any], NDArray[Any], NDArray[Any]]:  # fmt: skip
    """(grids at LOW, MID, HIGH [plan, row, seeding day] if kept, complete [row], seasons counted [end, plan, station,
    seeding day], and of each station whether its ends are apart)."""
    low, high = span(*asked(plans, days))
    tables = Tables(days, low)
    for plan in plans:
        tables.add(plan)
    seasons = cube.tmin.shape[-2]
    tmin, tmax = cube.tmin.reshape(-1, DAYS), cube.tmax.reshape(-1, DAYS)
    lows = cube.lows.reshape(-1, DAYS)
    sign = np.zeros((1, DAYS), np.int8) if cube.sign is None else cube.sign.reshape(-1, DAYS)
    clocks = np.array([_clock_numbers(clock) for clock in tables.clocks], np.int64)
    ends = [np.empty((len(plans), len(tmin), days.size) if keep else (1, 1, 1), bool) for _ in (LOW, MID, HIGH)]
    complete = np.empty(len(tmin), bool)
    tallies = np.zeros((3, len(plans), len(lows), days.size), np.int32)
    state = np.zeros(len(lows), np.int8)  # of each station: 0 nothing missing, 1 ends apart, 2 left to numpy
    local = (days - low).astype(np.int32)
    fixed = (lows, sign, cube.sign is not None, seasons, low, high - low, short, clocks, local, *tables.arrays(),
             keep, *ends, complete, tallies, state)  # fmt: skip

    def some(first: int, last: int) -> None:
        given = np.zeros((1, 1, 1), np.int32)
        if (clocks[:, 0] == GIVEN).any():
            part = [tenths_of(array[first * seasons : last * seasons]) for array in (tmin, tmax)]
            given = np.zeros((len(clocks), len(part[0]), high - low), np.int32)
            for place, clock in enumerate(tables.clocks):
                if clocks[place, 0] == GIVEN:
                    given[place] = clock.rate(*part)[:, low:high]
        _stations(tmin, tmax, tmin.dtype.type(10 if tmin.dtype.kind == "f" else 1), first, last, given, *fixed)

    step = min(-(-len(lows) // (8 * threads)), 32)  # parts small enough that no thread waits long for the last
    starts = range(0, len(lows), step)
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(some, starts, [min(start + step, len(lows)) for start in starts]))
    for station in np.flatnonzero(state == 2):  # no season without missing days: extremes may come from other dates
        rows = slice(station * seasons, (station + 1) * seasons)
        one_station: dict[str, Any] = {"tmin": tmin[rows], "tmax": tmax[rows], "lows": lows[station]}
        one = replace(cube, **one_station, sign=None if cube.sign is None else sign[rows])
        for place, grid in enumerate(by_numpy(one, plans, days, short=short)):
            yes, no, *_, typical = grid.counts()
            tallies[:, place, station] = yes, typical, seasons - no
            complete[rows] = grid.complete
            if keep:
                for end, of_end in zip(ends, (grid.certain, grid.typical, grid.possible), strict=True):
                    end[place, rows] = of_end
    if keep and state.any():
        for station in np.flatnonzero(state == 0):
            rows = slice(station * seasons, (station + 1) * seasons)
            ends[MID][:, rows] = ends[HIGH][:, rows] = ends[LOW][:, rows]
    return ends, complete, tallies, state


def tenths_of(array: NDArray[Any]) -> NDArray[np.int16]:
    """Tenths of degC of whole seasons, as `rows` has them."""
    return array if array.dtype.kind != "f" else _tenths(array, array.dtype.type(10))


_jit = numba.njit(nogil=True, cache=True, error_model="numpy")


@_jit
def _tenths(array, ten):
    out = np.empty(array.shape, np.int16)
    for i in range(array.shape[0]):
        _to_tenths(array[i], ten, out[i])
    return out


@_jit
def _to_tenths(source, ten, out):
    """Tenths of a row that stands in degC times `ten`; True where a reading is missing."""
    missing = False
    for j in range(out.size):
        value = source[j]
        out[j] = np.int16(np.rint(value * ten)) if value == value else MISSING
        missing |= out[j] == MISSING
    return missing


@_jit
def _rates(tmin, tmax, clock, given, out):
    """Heat of each day of a row in whole units, as `heat` has it."""
    kind = clock[0]
    if kind == CHU:
        a, b, c, d = np.float32(clock[1]), np.float32(clock[2]), np.float32(clock[3]), np.float32(clock[4])
        scale, zero, start = np.float32(clock[5]), np.float32(0), np.float32(100)
        for j in range(out.size):
            over = max(np.float32(tmax[j]) - start, zero)
            by_day = max((a - b * over) * over, zero)
            by_night = max(c * np.float32(tmin[j]) - d, zero)
            out[j] = np.int32(np.rint((by_day + by_night) / scale))
    elif kind == MEAN:
        low, high = np.int32(2 * clock[1]), np.int32(min(2 * clock[2], 4 * NO_CAP))
        for j in range(out.size):
            total = np.int32(tmin[j]) + np.int32(tmax[j])
            out[j] = np.int32(5) * (min(max(total, low), high) - low)
    elif kind == CLAMPED:
        low, high = np.int32(clock[1]), np.int32(clock[2])
        for j in range(out.size):
            night = min(max(np.int32(tmin[j]), low), high)
            day = min(max(np.int32(tmax[j]), low), high)
            out[j] = np.int32(5) * (night + day - low - low)
    else:
        out[:] = given


@_jit
def _raise(best, values, cool, hot, holed):
    """Each day's largest value so far; days without a reading don't count."""
    if holed:
        for j in range(best.size):
            read = (cool[j] != MISSING) & (hot[j] != MISSING)
            best[j] = max(best[j], values[j] if read else np.int32(-UNBOUNDED))
    else:
        for j in range(best.size):
            best[j] = max(best[j], values[j])


@_jit
def _near(best, ring, wide, out):
    """Largest within ten days of each: windows of 1, 2, 4, 8 and 16 days, then two of these that overlap."""
    n = best.size
    wide[:] = -UNBOUNDED
    wide[NEAR : NEAR + n] = best
    if ring:
        wide[:NEAR] = best[n - NEAR :]
        wide[NEAR + n :] = best[:NEAR]
    width, size = 1, wide.size
    while 2 * width < 2 * NEAR + 1:
        size -= width
        for j in range(size):
            wide[j] = max(wide[j], wide[j + width])
        width *= 2
    for j in range(n):
        out[j] = max(wide[j], wide[j + 2 * NEAR + 1 - width])


@_jit
def _sums(cool, hot, side, out):
    """tmin + tmax of each day [tenths], times 1 or -1."""
    for j in range(out.size):
        out[j] = side * (np.int32(cool[j]) + np.int32(hot[j]))


@_jit
def _missing(cool, hot, short, known, gap, long):
    """The missing days, and which of them lie in runs of more than `short`: their number."""
    count = 0
    for j in range(known.size):
        known[j] = (cool[j] != MISSING) & (hot[j] != MISSING)
        gap[count] = j
        count += not known[j]
    first = 0
    for k in range(1, count + 1):
        if k == count or gap[k] != gap[k - 1] + 1:
            for member in range(first, k):
                long[member] = k - first > short
            first = k
    return count


@_jit
def _bounds(values, known, gap, long, count, least, most, low, middle, high):
    """As `heat.bounds`: the week around in short runs, least to most in long ones; and the middle of both."""
    n = values.size
    low[:] = values
    middle[:] = values
    high[:] = values
    for k in range(count):
        j = gap[k]
        small, large = least[j], most[j]
        if not long[k]:
            seen = False
            for near in range(max(j - WEEK, 0), min(j + WEEK + 1, n)):
                if known[near]:
                    small = values[near] if not seen else min(small, values[near])
                    large = values[near] if not seen else max(large, values[near])
                    seen = True
        low[j], middle[j], high[j] = small, (small + large) >> 1, large


@_jit
def _running(rate, out):
    total = np.int32(0)
    out[0] = 0
    for j in range(rate.size):
        total += rate[j]
        out[j + 1] = total


@_jit
def _first_warm(double, days, wanted, start, by):
    """First day with a warm stretch behind it, as `frost.first_warm`; one past `by` where none comes by then."""
    start = max(start, days - 1)
    total = np.int32(0)
    for j in range(start - days + 1, start):
        total += double[j]
    for j in range(start, by + 1):
        total += double[j]
        if total >= wanted:
            return j
        total -= double[j - days + 1]
    return by + 1


@_jit
def _come(heat, need, start, out):
    """Day on which each sowing's need is met after its start, n where it is not: one walk, since both rise."""
    n, one = np.int32(heat.size - 1), np.int32(1)
    at, before, last = np.uint64(0), np.int32(-1), np.uint64(n)  # places without a sign need no test for counting back
    for s in range(out.size):
        begun = np.uint64(min(start[s] + one, n))
        wanted = heat[begun] + need[s]
        at = max(at, begun) if wanted >= before else begun
        before = wanted
        while at <= last and heat[at] < wanted:
            at += np.uint64(1)
        out[s] = np.int32(at) - one if at <= last else n


@_jit
def _gather(heat, start, stop, out):
    """Heat from the day after each start to the day before its stop."""
    n, one = np.int32(heat.size - 1), np.int32(1)
    for s in range(out.size):
        begun = min(start[s] + one, n)
        out[s] = heat[np.uint32(max(stop[s], begun))] - heat[np.uint32(begun)]


@_jit
def _judge(heat, need, sowing, allowed, final, out):
    """Whether it worked: enough heat, sown when it was warm, and before the last day."""
    for s in range(out.size):
        out[s] = (heat[s] >= need[s]) & (sowing[s] >= allowed) & (sowing[s] < final)


@_jit
def _tally(cells, count):
    for s in range(cells.size):
        count[s] += cells[s]


@_jit
def _stop(cold, since, start, until, ends, out):
    """The first cold day from each start on, before `until`, into `out` where it is earlier; the last day is cold."""
    first, kill, asked = np.uint64(since), np.uint64(0), np.uint64(0)
    one, eight, seven, three = np.uint64(1), np.uint64(8), np.uint64(7), np.uint64(3)
    weeks = cold.view(np.uint64)  # eight days at a time where none of them is cold
    day = np.int32(-1)
    for s in range(out.size):
        begun = max(np.uint64(start[s]), first)
        if kill < begun or begun < asked or day < 0:
            kill = begun
            while not cold[kill]:
                if kill & seven == 0 and weeks[kill >> three] == 0:
                    kill += eight
                else:
                    kill += one
            day = np.int32(kill)
        asked = begun
        if not ends or day < until[s]:
            out[s] = min(out[s], day)


@_jit
def _stations(tmin, tmax, ten, first_station, last_station, given, lows, sign, has_sign, seasons, first, n, short,
              clocks, sowing, needs, nodes, colds, parts, stops, sums, warms, crops,
              keep, certain, typical, possible, complete, tallies, state):  # fmt: skip
    """The grid of some stations, season by season; arguments as `works_many` lays them out."""
    days = sowing.size
    ring = n == DAYS
    cold_season, warm_season = COMPLETE_FROM - first, COMPLETE_TO - first
    cool = np.empty((seasons, n), np.int16)
    hot = np.empty((seasons, n), np.int16)
    holed = np.empty(seasons, np.bool_)
    rates = np.empty((len(clocks), seasons, n), np.int32)
    largest = np.empty((len(clocks), n), np.int32)
    warmest, coldest = np.empty(n, np.int32), np.empty(n, np.int32)
    best, zero, wide = np.empty(n, np.int32), np.zeros(n, np.int32), np.empty(n + 2 * NEAR, np.int32)
    known, gap, long = np.ones(n, np.bool_), np.empty(n + 1, np.int64), np.empty(n, np.bool_)
    low, middle, high = np.empty(n, np.int32), np.empty(n, np.int32), np.empty(n, np.int32)
    double = np.empty(n, np.int32)
    heats = np.empty((3, len(clocks), n + 1), np.int32)
    cold = np.ones((2, len(colds), (n // 8 + 1) * 8), np.uint8)
    come = np.empty((3, len(nodes) + 1, days), np.int32)  # the last is sowing
    stop = np.empty((len(stops), days), np.int32)
    gathered, plain = np.empty((len(sums), days), np.int32), np.empty((len(crops), days), np.int32)
    scratch = np.empty(days, np.bool_)
    by = np.int64(min(sowing.max(), n - 1))
    warm_days = min(by + 1 + WEEK, n)
    may_sow = np.empty((3, len(warms)), np.int32)
    for end in range(3):
        for s in range(days):
            come[end, -1, s] = min(sowing[s], n)
    for station in range(first_station, last_station):
        any_holed, any_whole = False, False
        for season in range(seasons):
            row = station * seasons + season
            holed[season] = _to_tenths(tmin[row, first : first + n], ten, cool[season])
            holed[season] |= _to_tenths(tmax[row, first : first + n], ten, hot[season])
            any_holed |= holed[season]
            any_whole |= not holed[season]
        if not any_whole:
            state[station] = 2
            continue
        plain[:] = 0
        for clock in range(len(clocks)):
            for season in range(seasons):
                other = (
                    given[clock, (station - first_station) * seasons + season] if clocks[clock, 0] == GIVEN else zero
                )
                _rates(cool[season], hot[season], clocks[clock], other, rates[clock, season])
        if any_holed:
            state[station] = 1
            for clock in range(len(clocks)):
                best[:] = -UNBOUNDED
                for season in range(seasons):
                    _raise(best, rates[clock, season], cool[season], hot[season], holed[season])
                _near(best, ring, wide, largest[clock])
            for side in (1, -1):
                best[:] = -UNBOUNDED
                for season in range(seasons):
                    _sums(cool[season], hot[season], np.int32(side), middle)
                    _raise(best, middle, cool[season], hot[season], holed[season])
                _near(best, ring, wide, warmest if side == 1 else coldest)
            coldest[:] = -coldest
        for season in range(seasons):
            row = station * seasons + season
            complete[row] = True
            worlds = 3 if holed[season] else 1
            count = _missing(cool[season], hot[season], short, known, gap, long) if worlds == 3 else 0
            for k in range(count):
                j = gap[k]
                if cold_season <= j <= warm_season:
                    hidden = cool[season, j] == MISSING and np.int32(lows[station, first + j]) - HIDDEN <= 0
                    if long[k] or (hidden and not (has_sign and sign[row, first + j] != 0)):
                        complete[row] = False
            for clock in range(len(clocks)):
                rate = rates[clock, season]
                if worlds == 1:
                    _running(rate, heats[0, clock])
                else:
                    _bounds(rate, known, gap, long, count, zero, largest[clock], low, middle, high)
                    _running(low, heats[LOW, clock])
                    if complete[row]:
                        _running(middle, heats[MID, clock])
                    _running(high, heats[HIGH, clock])
            for place in range(len(colds)):
                at_most = np.int16(max(colds[place, 0], MISSING + 1))
                for j in range(n):
                    cold[0, place, j] = cool[season, j] <= at_most
                if worlds == 3:
                    cold[1, place] = cold[0, place]
                    for k in range(count):
                        j = gap[k]
                        if cool[season, j] == MISSING:
                            says = sign[row, first + j] if has_sign else 0
                            cold[0, place, j] = says < 0 and at_most >= -1
                            could = np.int32(lows[station, first + j]) - HIDDEN <= at_most
                            cold[1, place, j] = cold[0, place, j] or (could and not (says > 0 and at_most <= 0))
            if len(warms):
                _sums(cool[season, :warm_days], hot[season, :warm_days], np.int32(1), double[:warm_days])
                if worlds == 3:
                    _bounds(double, known, gap, long, count, coldest, warmest, low, middle, high)
            for place in range(len(warms)):
                stretch, wanted, since = warms[place]
                if worlds == 1:
                    may_sow[0, place] = _first_warm(double, stretch, wanted, since, by)
                else:
                    may_sow[LOW, place] = _first_warm(low, stretch, wanted, since, by)
                    if complete[row]:
                        may_sow[MID, place] = _first_warm(middle, stretch, wanted, since, by)
                    may_sow[HIGH, place] = _first_warm(high, stretch, wanted, since, by)
            for end in range(worlds):
                if end == MID and not complete[row]:
                    continue
                for node in range(len(nodes)):
                    _come(heats[end, nodes[node, 0]], needs[nodes[node, 1]], come[end, nodes[node, 2]], come[end, node])
            for end in range(worlds):
                if end == MID and not complete[row]:
                    continue
                other = 2 - end if worlds == 3 else 0
                out = certain if end == LOW else (typical if end == MID else possible)
                for place in range(len(stops)):
                    stop[place] = stops[place, 0]
                    for k in range(1, stops.shape[1]):
                        if stops[place, k] >= 0:
                            part = parts[stops[place, k]]
                            mask = cold[1 if other == HIGH else 0, part[0]]
                            _stop(mask, colds[part[0], 1], come[other, part[1]], come[end, part[2]], part[2] >= 0,
                                  stop[place])  # fmt: skip
                for place in range(len(sums)):
                    _gather(
                        heats[end, sums[place, 1]], come[end, sums[place, 2]], stop[sums[place, 0]], gathered[place]
                    )
                for crop in range(len(crops)):
                    allowed = may_sow[end, crops[crop, 2]] if crops[crop, 2] >= 0 else np.int32(0)
                    final = np.int32(crops[crop, 3] - 1)
                    cells = out[crop, row] if keep else scratch
                    _judge(gathered[crops[crop, 0]], needs[crops[crop, 1]], sowing, allowed, final, cells)
                    if worlds == 1:
                        _tally(cells, plain[crop])
                    else:
                        _tally(cells, tallies[end, crop, station])
            if keep and any_holed:
                for crop in range(len(crops)):
                    if worlds == 1 or not complete[row]:
                        typical[crop, row] = certain[crop, row]
                    if worlds == 1:
                        possible[crop, row] = certain[crop, row]
        for end in range(3):
            tallies[end, :, station] += plain
