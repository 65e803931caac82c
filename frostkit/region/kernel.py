"""Corn, legume and both over many seasons read whole, compiled: counts by place, and nothing in between.

The numpy kernels of `seasons` are the truth; this gives the same counts (held by a test) for plans whose clocks are
degree days or corn heat units in whole tenths and whose seedbed asks for warm soil alone. All other plans go by them.

How: sown a day later no stage comes earlier, so that each stage is found by walking on from the day before; and the
next killing night from each day on is known from one walk backwards.
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
MEAN, CLAMPED, CHU = range(3)
NO_COLD = -32_768  # tenths: nothing is as cold
WHOLE_ROWS = 5000  # rows from which on it pays to load what was compiled


class Compiled(NamedTuple):
    """A question as plain arrays.

    clocks : int32 [clock, 6]: kind and its numbers
    stages : int [crop, stage, 6]: clock, need, since, killing tenths, first day of it, stage that ends it; -1: none
    goals : int [crop, 3]: need of the goal for itself, core and fringe; number : int [crop], stages of each
    sown : int [crop, seeding day]; end : last column that counts
    soil : float [crop, 6]: lag, warmer, limit, next days, first day, 1 where any day is fit
    weight : float [crop, 365]: of the air of the days so far in the soil of each day
    """

    clocks: NDArray[np.int32]
    stages: Ints
    goals: Ints
    number: Ints
    sown: Ints
    end: int
    soil: NDArray[np.float64]
    weight: NDArray[np.float64]


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
    sown = np.stack([days for _, days in plans]).astype(np.int64)
    if sown.min() < 0 or sown.max() + 1 >= DAYS:
        return None
    weight = 1 - (1 - soil[:, :1]) ** np.arange(1, DAYS + 1)
    return Compiled(np.array(clocks, np.int32), stages, goals, sizes, sown, plans[0][0][0].season_end, soil, weight)


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
def _heat(clock, tmin, tmax, first, end, rate, total):  # pragma: no cover
    """Running sums of a season's heat from column `first` to `end`, 0 up to it."""
    kind = clock[0]
    a, b, c, d, nothing = clock[1], clock[2], clock[3], clock[4], clock[5]
    two, five, hundred, none = np.int32(2), np.int32(5), np.int32(100), np.int32(0)
    base, double, height = np.int32(d // c if c else 0), np.int32(two * a), np.int32(two * b)
    if kind == CHU:  # a loop for each kind, apart from the sums, in 32 bits: many days at once
        for day in range(first, end + 1):
            over = np.int32(min(max(np.int32(tmax[day]), hundred), nothing) - hundred)
            light = max(np.int32(np.int32(a - np.int32(b * over)) * over), none)
            night = max(np.int32(np.int32(max(np.int32(tmin[day]), base) * c) - d), none)
            rate[day] = np.int32(light + night)
    elif kind == MEAN:
        for day in range(first, end + 1):
            both = np.int32(np.int32(tmin[day]) + np.int32(tmax[day]))
            rate[day] = np.int32(five * np.int32(min(max(both, double), height) - double))
    else:
        for day in range(first, end + 1):
            low = min(max(np.int32(tmin[day]), a), b)
            high = min(max(np.int32(tmax[day]), a), b)
            rate[day] = np.int32(five * np.int32(np.int32(low + high) - double))
    sum_ = np.int32(0)
    total[first] = 0
    for day in range(first, end + 1):
        sum_ += rate[day]
        total[day + 1] = sum_


@njit(nogil=True, cache=True)
def _fit(soil, weight, tmin, tmax, days, weighed, good, fit):  # pragma: no cover
    """Whether the seedbed is fit on each seeding day of a season."""
    if soil[5] == 1:
        fit[:] = True
        return
    lag, warmer, least, after, first = soil[0], soil[1], soil[2], int(soil[3]), int(soil[4])
    last = days[-1] + after
    for day in range(last + 1):
        weighed[day] = (np.int32(tmin[day]) + np.int32(tmax[day])) / 20 * lag
    keep = 1 - lag
    before = weighed[0]
    for day in range(1, last + 1):
        before = weighed[day] + keep * before
        weighed[day] = before
    for day in range(last + 1):
        good[day] = weighed[day] / weight[day] + warmer >= least
    run = 0  # fit days in a row, walking backwards
    day = last
    for place in range(days.size - 1, -1, -1):
        while day >= days[place]:
            run = run + 1 if good[day] else 0
            day -= 1
        fit[place] = run > after and days[place] >= first


@njit(nogil=True, cache=True)
def _walk(total, need, begin, end, reach):  # pragma: no cover
    """The day by whose end a need is met, from each begin on (they rise); end + 1 where it never is."""
    at = 0
    for place in range(begin.size):
        start = begin[place]
        wanted = total[start] + need
        at = max(at, start)
        while at <= end and total[at + 1] < wanted:
            at += 1
        reach[place] = at


@njit(nogil=True, cache=True)
def _made(stages, number, goals, totals, tmin, first, begin, end, work, reach, cold, made):  # pragma: no cover
    """Whether a crop made it in a season, for each need of its goal and each seeding day. made : [need, seeding day]"""
    size = begin.size
    for stage in range(number - 1):
        since = stages[stage, 2]
        start = begin
        if since >= 0:
            for place in range(size):
                work[place] = min(reach[since, place] + 1, end + 1)
            start = work
        _walk(totals[stages[stage, 0]], np.int32(stages[stage, 1]), start, end, reach[stage])
        if stages[stage, 3] == NO_COLD:
            continue
        limit_, from_ = stages[stage, 3], stages[stage, 4]
        next_ = end + 1
        cold[stage, next_] = next_
        for day in range(end, first - 1, -1):
            if tmin[day] <= limit_ and day >= from_:
                next_ = day
            cold[stage, day] = next_
    for stage in range(number - 1):  # the night that ends it: the first cold one of a stage before the next danger
        ends = stages[stage, 5]
        if stages[stage, 3] == NO_COLD:
            for place in range(size):
                work[place] = end + 1
        else:
            for place in range(size):
                hit = cold[stage, reach[stage, place]]
                work[place] = end + 1 if ends >= 0 and hit >= reach[ends, place] else hit
        for place in range(size):  # kept in the row of the stage before the goal's own: the earliest of them
            night = work[place]
            reach[number, place] = night if stage == 0 else min(reach[number, place], night)
    if number == 1:
        reach[1, :] = end + 1
    goal = number - 1
    since = stages[goal, 2]
    start = begin
    if since >= 0:
        for place in range(size):
            work[place] = min(reach[since, place] + 1, end + 1)
        start = work
    for need in range(goals.size):
        _walk(totals[stages[goal, 0]], np.int32(goals[need]), start, end, reach[goal])
        for place in range(size):
            made[need, place] = reach[goal, place] <= end and reach[number, place] > reach[goal, place]


@njit(nogil=True, cache=True)
def _tally(fit, made, of_made, of_plan, of_fit, counts_fit):  # pragma: no cover
    """A season more in the counts of each seeding day."""
    for day in range(fit.size):
        of_made[day] += np.int32(made[day])
    if counts_fit:
        for day in range(fit.size):
            of_fit[day] += np.int32(fit[day])
    then = np.int32(0)
    for day in range(fit.size - 1, -1, -1):
        then = np.int32(made[day]) if fit[day] else then
        of_plan[day] += then


@njit(nogil=True, cache=True)
def _counts(
    clocks, stages, goals, number, sown, end, soil, weight, same, tmin, tmax, found, first_fit
):  # pragma: no cover
    """See `counts`. tmin, tmax : [place, season, 365]"""
    crops, days = sown.shape
    needs = goals.shape[1]
    size = tmin.shape[2]
    first = sown.min() + 1
    totals, rate = np.zeros((len(clocks), size + 1), np.int32), np.zeros(size, np.int32)
    weighed, good = np.zeros(size), np.zeros(size, np.bool_)
    begin = np.minimum(sown + 1, end + 1)
    work = np.zeros(days, np.int64)
    reach, cold = np.zeros((stages.shape[1] + 1, days), np.int64), np.zeros((stages.shape[1], end + 2), np.int64)
    every = crops if crops == 1 else 3
    made, fit = np.zeros((every, needs, days), np.bool_), np.zeros((every, days), np.bool_)
    later = np.zeros(days, np.int16)
    for place in range(tmin.shape[0]):
        for season in range(tmin.shape[1]):
            low, high = tmin[place, season], tmax[place, season]
            for clock in range(len(clocks)):
                _heat(clocks[clock], low, high, first, end, rate, totals[clock])
            for crop in range(crops):
                _made(stages[crop], number[crop], goals[crop], totals, low, first, begin[crop], end, work, reach, cold,
                      made[crop])  # fmt: skip
                if same[crop]:
                    fit[crop, :] = fit[0, :]
                else:
                    _fit(soil[crop], weight[crop], low, high, sown[crop], weighed, good, fit[crop])
            if crops == 2:
                for day in range(days):
                    fit[2, day] = fit[0, day] & fit[1, day]
                for need in range(needs):
                    for day in range(days):
                        made[2, need, day] = made[0, need, day] & made[1, need, day]
            for crop in range(every):
                at = found[place, crop]
                for need in range(needs if crop == every - 1 else 1):  # of a crop beside another its own need alone
                    _tally(fit[crop], made[crop, need], at[1 + need], at[1 + needs + need], at[0], need == 0)
            wait = np.int16(-1)
            for day in range(days - 1, -1, -1):
                if fit[every - 1, day]:
                    wait = np.int16(day)
                later[day] = wait
            first_fit[place, season, :] = later


def counts(
    of: Compiled, tmin: NDArray[np.int16], tmax: NDArray[np.int16]
) -> tuple[NDArray[np.int32], NDArray[np.int16]]:
    """Seasons by place, crop and seeding day.

    Parameters
    ----------
    of : the question
    tmin, tmax : int16 [place, season, 365], tenths of degC, nothing missing

    Returns
    -------
    int32 [place, crop, part, seeding day]: crops corn, legume, both as asked for; parts are seasons in which the soil
    was fit, then made it for each need of the goal, then the plan for each; of a crop beside another only its own need
    int16 [place, season, seeding day]: the first fit place from each seeding day on for what is asked for, -1: none
    """
    crops, days = of.sown.shape
    parts = 1 + 2 * of.goals.shape[1]
    found = np.zeros((len(tmin), crops if crops == 1 else 3, parts, days), np.int32)
    first_fit = np.empty((*tmin.shape[:2], days), np.int16)
    _counts(*of, _same(of), np.ascontiguousarray(tmin), np.ascontiguousarray(tmax), found, first_fit)
    return found, first_fit


def _same(of: Compiled) -> NDArray[np.bool_]:
    """Which crops have the seedbed of the first one, on the same days. [crop]"""
    same = (of.soil == of.soil[0]).all(1) & (of.sown == of.sown[0]).all(1)
    same[0] = False
    return same
