"""Corn, legume and both over many seasons read whole, compiled: counts by place, and nothing in between.

The numpy kernels of `seasons` are the truth; this gives the same counts (held by a test) for plans whose clocks are
degree days or corn heat units in whole tenths and whose seedbed asks for warm soil alone. All other plans go by them.

How: sown a day later no stage comes earlier, so that the sowings that have met a need by some evening are the first so
many, found in the sums by halving; a cold night takes a stretch of them. A season's seeding days are the bits of two
words: what spreads, joins or is counted is done to all of them at once.
"""

from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from frostkit.answers.plans import plan
from frostkit.answers.seeding.grids import Asked, corn_plan
from frostkit.seasons.calendar import DAYS
from frostkit.seasons.frost import limit
from frostkit.seasons.growth import Plan
from frostkit.seasons.heat import Heat, chu_numbers, degree_day_numbers
from frostkit.seasons.soil import SoilReady

Ints = NDArray[np.int64]
Bits = NDArray[np.uint64]
MEAN, CLAMPED, CHU = range(3)
NO_COLD = -32_768  # tenths: nothing is as cold
WHOLE_ROWS = 5000  # rows from which on it pays to load what was compiled
SPAN = 208  # days of a season that are looked at: a number known when it is compiled makes the sums three times as fast
MOST_DAYS = 128  # seeding days, and those after, that two words of bits hold
WORD, ONE, NONE = np.uint64(64), np.uint64(1), np.uint64(0)


def _lowest() -> Bits:
    """Masks of the first so many seeding days. [0 to 128, word]"""
    return np.array([[(1 << min(n, 64)) - 1, (1 << max(n - 64, 0)) - 1] for n in range(MOST_DAYS + 1)], np.uint64)


_LOWEST = _lowest()


class Compiled(NamedTuple):
    """A question as plain arrays.

    clocks : int32 [clock, 6]: kind and its numbers
    stages : int [crop, stage, 6]: clock, need, since, killing tenths, first day of it, stage that ends it; -1: none
    goals : int [crop, 3]: need of the goal for itself, core and fringe; number : int [crop], stages of each
    sown : int [crop], the first seeding day; days : of them, in a row; end : last column that counts
    soil : float [crop, 6]: lag, warmer, limit, next days, first day, 1 where any day is fit
    bound : float [crop, 365]: what the filtered air must reach for the soil to be fit on each day
    """

    clocks: NDArray[np.int32]
    stages: Ints
    goals: Ints
    number: Ints
    sown: Ints
    days: int
    end: int
    soil: NDArray[np.float64]
    bound: NDArray[np.float64]


def compiled(asked: Asked, more: tuple[float, ...], rain: bool) -> Compiled | None:
    """A question for `counts`; None where it is not of the plain kind.

    more : heat added to the corn's need: nothing, and both ends of its range; rain : whether the places have rain
    """
    if asked.together or asked.late:
        return None
    plans: list[tuple[list[Plan], Ints]] = []
    if asked.corn is not None:
        plans.append(([corn_plan(asked, one) for one in more], asked.sown("corn")))
    if asked.legume is not None:
        of = plan(asked.legume, asked.latitude, frost=asked.frost)
        plans.append(([of] * len(more), asked.sown("legume")))
    clocks: list[tuple[int, ...]] = []
    most = max(len(ways[0].stages) for ways, _ in plans)
    stages = np.full((len(plans), most, 6), -1, np.int64)
    soil = np.zeros((len(plans), 6))
    for crop, (ways, days) in enumerate(plans):
        of = ways[0]
        rule = of.warm
        if (rule is not None and not isinstance(rule, SoilReady)) or of.season_end != plans[0][0][0].season_end:
            return None
        if rule is not None and (int(days.max()) + rule.next_days >= DAYS or (rain and rule.rain is not None)):
            return None
        soil[crop] = (0, 0, 0, 0, 0, 1) if rule is None else (
            rule.lag, rule.warmer, rule.limit - 1e-9, rule.next_days, rule.from_day, 0)  # fmt: skip
        lasting = None
        for number, stage in enumerate(of.stages):
            clock = _clock(stage.clock)
            if clock is None or not isinstance(stage.need, int):
                return None
            if clock not in clocks:
                clocks.append(clock)
            stages[crop, number] = clocks.index(clock), stage.need, stage.since, NO_COLD, stage.kills_from, -1
            if stage.kills_at is not None and number < of.goal:
                cold = limit(stage.kills_at)
                if lasting is not None and tuple(stages[crop, lasting, 3:5]) == (cold, stage.kills_from):
                    continue
                stages[crop, number, 3] = cold
                if lasting is not None:
                    stages[crop, lasting, 5] = number
                lasting = number
        if of.goal != len(of.stages) - 1:
            return None
    goals = np.array([[way.stages[way.goal].need for way in ways] for ways, _ in plans], np.int64)
    sizes = np.array([len(ways[0].stages) for ways, _ in plans])
    first, size = np.array([days[0] for _, days in plans], np.int64), len(asked.days)
    after, end = int(soil[:, 3].max()), plans[0][0][0].season_end
    if first.min() < 0 or first.min() + 1 + SPAN > DAYS or end > first.min() + SPAN:
        return None
    if size + after > MOST_DAYS or first.max() + size + after > SPAN:
        return None
    weight = 1 - (1 - soil[:, :1]) ** np.arange(1, DAYS + 1)
    bound = np.where(np.arange(DAYS) >= soil[:, 4:5], (soil[:, 2:3] - soil[:, 1:2]) * weight, np.inf)
    return Compiled(np.array(clocks, np.int32), stages, goals, sizes, first, size, end, soil, bound)


def _clock(clock: Any) -> tuple[int, ...] | None:
    """A clock in whole numbers, None for one of another kind."""
    if not isinstance(clock, Heat):
        return None
    if clock.method == "chu":
        a, b, c, d, per_unit, parts = chu_numbers(clock.day, clock.night_base)
        return (CHU, a, b, c, d, 101 + a // b) if per_unit == parts and b > 0 else None
    if clock.method not in ("mean", "clamped"):
        return None
    low, high, scale = degree_day_numbers(clock.base, clock.cap)
    kind = MEAN if clock.method == "mean" else CLAMPED
    return (kind, low, 16_000 if high is None else high, 0, 0, 0) if scale == 1 else None


@njit(nogil=True, cache=True)
def _heat(clock, tmin, tmax, first, rate, total):  # pragma: no cover
    """Running sums of a season's heat from column `first` on, 0 up to it."""
    kind, a, b, c, d, most = clock[0], clock[1], clock[2], clock[3], clock[4], clock[5]
    low, high = tmin[first : first + SPAN], tmax[first : first + SPAN]
    if kind == CHU:  # a loop for each kind, apart from the sums, in 32 bits: many days at once
        base = np.int32(d // c)
        for day in range(SPAN):
            over = np.int32(min(max(np.int32(high[day]), np.int32(100)), most) - np.int32(100))
            light = max(np.int32(np.int32(a - np.int32(b * over)) * over), np.int32(0))
            night = max(np.int32(np.int32(max(np.int32(low[day]), base) * c) - d), np.int32(0))
            rate[day] = np.int32(light + night)
    elif kind == MEAN:
        least, height = np.int32(np.int32(2) * a), np.int32(np.int32(2) * b)
        for day in range(SPAN):
            both = np.int32(np.int32(low[day]) + np.int32(high[day]))
            rate[day] = np.int32(np.int32(5) * np.int32(min(max(both, least), height) - least))
    else:
        least = np.int32(np.int32(2) * a)
        for day in range(SPAN):
            cool = min(max(np.int32(low[day]), a), b)
            warm = min(max(np.int32(high[day]), a), b)
            rate[day] = np.int32(np.int32(5) * np.int32(np.int32(cool + warm) - least))
    now, after = np.int32(0), total[first + 1 :]
    for day in range(0, SPAN, 4):  # four at a time: a sum waits for the one before it
        one = rate[day]
        two = np.int32(one + rate[day + 1])
        three = np.int32(two + rate[day + 2])
        after[day] = np.int32(now + one)
        after[day + 1] = np.int32(now + two)
        after[day + 2] = np.int32(now + three)
        now = np.int32(now + np.int32(three + rate[day + 3]))
        after[day + 3] = now
    total[first] = 0


@njit(nogil=True, cache=True)
def _last(total, most, first, upto):  # pragma: no cover
    """The last column from `first` to `upto` whose sum is at most `most`; `first` - 1 where none is. Sums rise."""
    at, left = first, upto + 1 - first
    if left <= 0:
        return first - 1
    while left > 1:
        half = left >> 1
        at = at + half if total[at + half] <= most else at
        left -= half
    return at if total[at] <= most else first - 1


@njit(nogil=True, cache=True)
def _sown(stages, stage, need, totals, begin, size, day):  # pragma: no cover
    """How many of the seeding days, the first ones, have met the need of a stage by the end of `day`."""
    while True:
        if day < begin:
            return 0
        total, since = totals[stages[stage, 0]], stages[stage, 2]
        most = np.int32(total[day + 1] - need)
        if since < 0:
            return _last(total, most, begin, min(day, begin + size - 1)) - begin + 1
        at = _last(total, most, begin, day)
        stage, day = since, at - 1
        need = np.int32(stages[stage, 1])


@njit(nogil=True, cache=True)
def _made(stages, number, goals, totals, tmin, begin, size, end, lowest, first, made):  # pragma: no cover
    """Whether a crop made it in a season, for each need of its goal: bits of the seeding days. made : [need, word]

    A cold night takes those that had come up by then and had not reached their goal, nor the next danger, by the
    evening before: a stretch of seeding days.
    """
    goal = number - 1
    for need in range(goals.size):
        upto = _sown(stages, goal, np.int32(goals[need]), totals, begin, size, end)
        made[need, 0], made[need, 1] = lowest[upto, 0], lowest[upto, 1]
    for stage in range(goal):  # the day on which the first sowing reaches the stage: no night before it counts
        since = stages[stage, 2]
        start = begin if since < 0 else min(first[since] + 1, end + 1)
        total = totals[stages[stage, 0]]
        first[stage] = _last(total, np.int32(total[start] + stages[stage, 1] - 1), start, end + 1)
    for stage in range(goal):
        limit_, ends = stages[stage, 3], stages[stage, 5]
        if limit_ == NO_COLD:
            continue
        start = max(first[stage], stages[stage, 4])
        nights = tmin[start : end + 1]
        for night in range(nights.size):
            if nights[night] > limit_:
                continue
            day = start + night
            upto = _sown(stages, stage, np.int32(stages[stage, 1]), totals, begin, size, day)
            past = 0 if ends < 0 else _sown(stages, ends, np.int32(stages[ends, 1]), totals, begin, size, day)
            for need in range(goals.size):
                after = max(past, _sown(stages, goal, np.int32(goals[need]), totals, begin, size, day - 1))
                if after < upto:
                    for word in range(2):
                        made[need, word] &= ~(lowest[upto, word] & ~lowest[after, word])
            if past == size or (ends < 0 and upto == size):
                break


@njit(nogil=True, cache=True)
def _fit(soil, bound, tmin, tmax, sown, size, air, fit):  # pragma: no cover
    """Bits of the seeding days on which the seedbed is fit. bound : what the filtered air must reach on each day

    The filter b(d) = w(d) + k b(d-1), eight days at a time: b(d) = w(d) + k w(d-1) + ... + k^8 b(d-8), by doubling.
    """
    lag, after = soil[0], int(soil[3])
    part = lag / 20
    one, two = air[0], air[1]  # eight days without air stand before the first
    now = one[8:]
    for day in range(SPAN):
        now[day] = np.int32(np.int32(tmin[day]) + np.int32(tmax[day])) * part
    keep = 1 - lag
    for step in (1, 2, 4):
        now, back, then = one[8:], one[8 - step :], two[8:]
        for day in range(SPAN):
            then[day] = now[day] + keep * back[day]
        one, two, keep = two, one, keep * keep
    now, back = one[8:], one[0:]
    for day in range(SPAN):
        now[day] += keep * back[day]
    now, bound = now[sown:], bound[sown:]
    good, more = NONE, NONE
    for place in range(min(size + after, 64)):
        good |= np.uint64(now[place] >= bound[place]) << np.uint64(place)
    now, bound = now[64:], bound[64:]
    for place in range(size + after - 64):
        more |= np.uint64(now[place] >= bound[place]) << np.uint64(place)
    fit[0], fit[1] = good, more
    for _ in range(after):
        good, more = (good >> ONE) | (more << np.uint64(63)), more >> ONE
        fit[0] &= good
        fit[1] &= more


@njit(nogil=True, cache=True)
def _waited(made, fit, out):  # pragma: no cover
    """Bits of the days on which to begin to wait, whose first fit day made it: what is set spreads over unfit days."""
    low, high = made[0] & fit[0], made[1] & fit[1]
    free, above = ~fit[0], ~fit[1]
    for step in range(6):
        by = np.uint64(1 << step)
        back = WORD - by
        low |= ((low >> by) | (high << back)) & free
        high |= (high >> by) & above
        free &= (free >> by) | (above << back)
        above &= above >> by
    low |= high & free
    out[0], out[1] = low, high


@njit(nogil=True, cache=True)
def _add(planes, mask):  # pragma: no cover
    """A season more in counters that stand upright: bit p of every day's count in plane p. planes : [plane, word]"""
    low, high = mask[0], mask[1]
    for plane in range(len(planes)):
        one, two = planes[plane, 0], planes[plane, 1]
        planes[plane, 0], planes[plane, 1] = one ^ low, two ^ high
        low, high = one & low, two & high
        if low | high == NONE:
            break


@njit(nogil=True, cache=True)
def _counted(planes, out):  # pragma: no cover
    """Counts of each seeding day. planes : [plane, word] -> out : int [seeding day]"""
    out[:] = 0
    for plane in range(len(planes)):
        for word in range(2):
            bits = planes[plane, word]
            for day in range(min(64, out.size - 64 * word)):
                out[64 * word + day] += np.int32((bits >> np.uint64(day)) & ONE) << plane


@njit(nogil=True, cache=True)
def _counts(
    clocks, stages, goals, number, sown, end, soil, bound, same, lowest, tmin, tmax, found, fits
):  # pragma: no cover
    """See `counts`. tmin, tmax : [place, season, 365]"""
    crops, needs, size = len(sown), goals.shape[1], tmin.shape[2]
    days, first = found.shape[3], sown.min() + 1
    totals, rate = np.zeros((len(clocks), size + 1), np.int32), np.zeros(SPAN, np.int32)
    air = np.zeros((2, SPAN + 8))
    every = crops if crops == 1 else 3
    made, fit = np.zeros((every, needs, 2), np.uint64), np.zeros((every, 2), np.uint64)
    plan, reached = np.zeros(2, np.uint64), np.zeros(stages.shape[1], np.int64)
    waits, alike = soil[:, 5].min() == 0, crops == 2 and same[1]
    kinds = np.array([1 + (needs - 1) * (goals[crop].max() > goals[crop].min()) for crop in range(crops)])
    width = 1
    while tmin.shape[1] >> width:
        width += 1
    planes = np.zeros((every, 1 + 2 * needs, width, 2), np.uint64)
    for place in range(tmin.shape[0]):
        planes[:] = NONE
        for season in range(tmin.shape[1]):
            low, high = tmin[place, season], tmax[place, season]
            for clock in range(len(clocks)):
                _heat(clocks[clock], low, high, first, rate, totals[clock])
            for crop in range(crops):
                _made(stages[crop], number[crop], goals[crop, : kinds[crop]], totals, low, sown[crop] + 1, days, end,
                      lowest, reached, made[crop])  # fmt: skip
                for need in range(kinds[crop], needs):
                    made[crop, need] = made[crop, 0]
                if soil[crop, 5] == 1:
                    fit[crop] = lowest[days]
                elif same[crop]:
                    fit[crop] = fit[0]
                else:
                    _fit(soil[crop], bound[crop], low, high, sown[crop], days, air, fit[crop])
            if crops == 2:
                for word in range(2):
                    fit[2, word] = fit[0, word] & fit[1, word]
                    for need in range(needs):
                        made[2, need, word] = made[0, need, word] & made[1, need, word]
            for crop in range(every):
                mine = needs if crop == every - 1 else 1  # of a crop beside another its own need alone
                for need in range(mine):
                    _add(planes[crop, 1 + need], made[crop, need])
                if waits:
                    if crop == 0 or not alike:
                        _add(planes[crop, 0], fit[crop])
                    for need in range(mine):
                        _waited(made[crop, need], fit[crop], plan)
                        _add(planes[crop, 1 + needs + need], plan)
            fits[place, season] = fit[every - 1]
        for crop in range(every):
            for part in range(1 + 2 * needs):
                _counted(planes[crop, part], found[place, crop, part])
            if alike:  # one seedbed for both
                found[place, crop, 0] = found[place, 0, 0]
            if not waits:  # any day is fit
                found[place, crop, 0] = tmin.shape[1]
                found[place, crop, 1 + needs :] = found[place, crop, 1 : 1 + needs]


def counts(of: Compiled, tmin: NDArray[np.int16], tmax: NDArray[np.int16]) -> tuple[NDArray[np.int32], Bits]:
    """Seasons by place, crop and seeding day.

    Parameters
    ----------
    of : the question
    tmin, tmax : int16 [place, season, 365], tenths of degC, nothing missing

    Returns
    -------
    int32 [place, crop, part, seeding day]: crops corn, legume, both as asked for; parts are seasons in which the soil
    was fit, then made it for each need of the goal, then the plan for each; of a crop beside another only its own need
    uint64 [place, season, 2]: the days on which the soil was fit for what is asked for, a bit a seeding day
    """
    crops = len(of.sown)
    parts = 1 + 2 * of.goals.shape[1]
    found = np.zeros((len(tmin), crops if crops == 1 else 3, parts, of.days), np.int32)
    fits = np.zeros((*tmin.shape[:2], 2), np.uint64)
    _counts(of.clocks, of.stages, of.goals, of.number, of.sown, of.end, of.soil, of.bound, _same(of), _LOWEST,
            np.ascontiguousarray(tmin), np.ascontiguousarray(tmax), found, fits)  # fmt: skip
    return found, fits


def first_fit(fits: Bits, since: NDArray[np.int64]) -> NDArray[np.int64]:
    """The first place of a seeding day on which the soil was fit, from a place on; 128 where there is none.

    fits : uint64 [place, season, 2]; since : int [place] -> int [place, season]

    >>> first_fit(np.array([[[0b1001, 0], [0, 1]]], np.uint64), np.array([1])).tolist()
    [[3, 64]]
    """
    low, high = (fits[..., word] & ~_LOWEST[since, word][:, None] for word in range(2))
    below = [np.bitwise_count((part & -part) - ONE).astype(np.int64) for part in (low, high)]
    return np.where(low != 0, below[0], 64 + below[1])


def _same(of: Compiled) -> NDArray[np.bool_]:
    """Which crops have the seedbed of the first one, on the same days. [crop]"""
    same = (of.soil == of.soil[0]).all(1) & (of.sown == of.sown[0])
    same[0] = False
    return same
