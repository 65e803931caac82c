"""Windows: for every season and seeding day, would the crop have made it.

It made it when no cold killed the plant from emergence to its goal, that day included, and the goal was reached within
the season. Whether the seedbed was fit to sow is asked apart (`soil.ready`).

How: a killing day takes the sowings that had come up by then (one last sowing each) and not yet reached their goal by
the evening before (another): a stretch of seeding days. So each stage is looked up once a killing day, backwards, and
not once a seeding day; and of these days only those count before every sowing has come up, and the first after.
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.seasons.frost import Floats, Mask, first_true, last_true, limit
from frostkit.seasons.growth import Plan, Stage, by_need
from frostkit.seasons.rows import Days, Rows, blocks
from frostkit.seasons.soil import ready


class Shelter(NamedTuple):
    """Degrees that a neighbour's canopy keeps off a plant, from one day to another, both included.

    degrees : float [degC] by which the cold that kills is lower, at least 0; first, last : arrays that broadcast to
    [..., seeding day] [column]
    """

    degrees: float
    first: ArrayLike
    last: ArrayLike


def made_it(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    plan: Plan,
    sowing: ArrayLike,
    *,
    end: ArrayLike | None = None,
    shelter: Shelter | None = None,
) -> Mask:
    """Would the crop have reached its goal, sown on that day whatever the soil: for every season and seeding day.

    Parameters
    ----------
    tmin, tmax : int16 arrays, shape (..., 365) [tenths of degC]
        No day from the first seeding day to the plan's season end may be missing.
    plan : Plan
    sowing : int array, shape (seeding day,) [column]
    end : array that broadcasts to (..., seeding day) [column], optional
        The last day of each cell on which the goal still counts, e.g. the neighbour's chop.
    shelter : Shelter, optional

    Returns
    -------
    bool array, shape (..., seeding day)
    """
    return made_it_many(tmin, tmax, [plan], sowing, end=end, shelter=shelter)[0]


def made_it_many(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    plans: Sequence[Plan],
    sowing: ArrayLike,
    *,
    end: ArrayLike | None = None,
    shelter: Shelter | None = None,
) -> list[Mask]:
    """`made_it` for several crops sown on the same days; the heat and cold that they share is worked out once."""
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*tmin.shape[:-1], days.size)
    ends, cover = _cells(end, shape), _cover(shelter, shape)
    out = [np.empty((int(np.prod(shape[:-1])), days.size), bool) for _ in plans]
    stop = max((plan.season_end for plan in plans), default=0) + 1
    for rows, at in blocks(tmin, tmax, int(days.min()) + 1, stop):
        for made, plan in zip(out, plans, strict=True):
            for cells, same in by_need(plan, days.size):
                made[at, cells] = _made_it(rows, same, days[cells], _part(cover, at, cells))
            if ends is not None:
                for cells, same in by_need(plan, days.size):
                    came = rows.column_of(rows.stage_day(same.stages, plan.goal, days[cells]))
                    made[at, cells] &= came <= ends[at][:, cells]
    return [made.reshape(shape) for made in out]


def works(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    plan: Plan,
    sowing: ArrayLike,
    *,
    end: ArrayLike | None = None,
    shelter: Shelter | None = None,
    prcp: NDArray[np.int16] | None = None,
) -> Mask:
    """`made_it` on days on which the seedbed was fit by the plan's own rule. Arguments as there and in `soil.ready`."""
    made = made_it(tmin, tmax, plan, sowing, end=end, shelter=shelter)
    return made & ready(tmin, tmax, plan.warm, sowing, prcp)


def works_many(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    plans: Sequence[Plan],
    sowing: ArrayLike,
    prcp: NDArray[np.int16] | None = None,
) -> list[Mask]:
    """`works` for several crops sown on the same days; what they share is worked out once."""
    fit = {rule: ready(tmin, tmax, rule, sowing, prcp) for rule in {plan.warm for plan in plans}}
    made = made_it_many(tmin, tmax, plans, sowing)
    return [np.logical_and(grid, fit[plan.warm], out=grid) for grid, plan in zip(made, plans, strict=True)]


def killed(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    plan: Plan,
    sowing: ArrayLike,
    *,
    shelter: Shelter | None = None,
) -> Floats:
    """The day on which cold kills the plant, whatever it has reached by then; +inf where none does in the season.

    Arguments as for `made_it`; every stage's killing temperature counts, those after the goal too.

    Returns
    -------
    float array, shape (..., seeding day) [column]
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*tmin.shape[:-1], days.size)
    cover = _cover(shelter, shape)
    out = np.empty((int(np.prod(shape[:-1])), days.size))
    for rows, at in blocks(tmin, tmax, int(days.min()) + 1, plan.season_end + 1):
        for cells, same in by_need(plan, days.size):
            out[at, cells] = rows.column_of(_killed(rows, same, days[cells], _part(cover, at, cells)))
    return out.reshape(shape)


def earliest(mask: Mask, sowing: ArrayLike) -> Floats:
    """First seeding day that holds, +inf where none does. mask [..., seeding day] -> float [...] [column]

    >>> earliest(np.array([[False, True, True], [False, False, False]]), [120, 122, 124]).tolist()
    [122.0, inf]
    """
    return _day(first_true(mask), sowing)


def latest(mask: Mask, sowing: ArrayLike) -> Floats:
    """Last seeding day that holds, -inf where none does. mask [..., seeding day] -> float [...] [column]"""
    return _day(last_true(mask), sowing)


def _day(place: Floats, sowing: ArrayLike) -> Floats:
    there = np.isfinite(place)
    return np.where(there, np.asarray(sowing)[np.where(there, place, 0).astype(int)], place)


def waited(made: Mask, fit: Mask) -> Mask:
    """The plan "sow on the first fit day from then on" made it. made, fit, result : bool [..., seeding day]

    >>> waited(np.array([False, True, False]), np.array([False, True, False])).tolist()
    [True, True, False]
    """
    count = fit.shape[-1]
    first = np.where(fit, np.arange(count), count)
    first = np.minimum.accumulate(first[..., ::-1], axis=-1)[..., ::-1]
    sown = np.take_along_axis(made, np.minimum(first, count - 1), axis=-1)
    return sown & (first < count)


# --- by blocks of rows ---------------------------------------------------------------------------------------------

Cover = tuple[float, Floats, Floats]


class _Danger(NamedTuple):
    """A stretch of stages with one killing temperature: from stage `begins` to before stage `ends` (None: for good)."""

    begins: int
    ends: int | None
    kills_at: float
    kills_from: int


class _Hits(NamedTuple):
    """Killing days that take some sowings: those whose begin is later than `after` and at latest `upto`. All [k].

    sheltered : whether a shelter would have kept the cold off. Rows rise.
    """

    row: Days
    day: Days
    after: Days
    upto: Days
    sheltered: Mask


def _dangers(stages: Sequence[Stage]) -> list[_Danger]:
    found: list[_Danger] = []
    at: tuple[int, float | None, int] | None = None
    for number, stage in enumerate(stages):
        if at is not None and (stage.kills_at is None or (stage.kills_at, stage.kills_from) == at[1:]):
            continue
        if at is not None and at[1] is not None:
            found.append(_Danger(at[0], number, at[1], at[2]))
        at = number, stage.kills_at, stage.kills_from
    if at is not None and at[1] is not None:
        found.append(_Danger(at[0], None, at[1], at[2]))
    return found


def _killings(
    rows: Rows, stages: tuple[Stage, ...], sowing: Days, stop: int, degrees: float
) -> tuple[Days, list[_Hits]]:
    """`_killing_days`, worked out once for crops that differ by their goal alone."""
    key = ("killings", stages, sowing.tobytes(), stop, degrees)
    return rows.once(key, lambda: _killing_days(rows, stages, sowing, stop, degrees))


def _killing_days(
    rows: Rows, stages: tuple[Stage, ...], sowing: Days, stop: int, degrees: float
) -> tuple[Days, list[_Hits]]:
    """The day [row] on which every sowing that is left dies, `stop` where there is none, and the killing days before.

    stop : the day after the last that counts; degrees : what a shelter keeps off
    """
    dangers = _dangers(stages)
    sure = np.full(len(rows.tmin), stop)
    early, late = np.array([sowing.min()]), np.array([sowing.max()])
    if dangers:
        last = dangers[-1]  # nothing ends it
        cold = rows.cold(last.kills_at - degrees, last.kills_from)
        begun = rows.stage_day(stages, last.begins, late)[:, 0]
        sure = np.minimum(cold[np.searchsorted(cold, rows.row + begun)] - rows.row, stop)
    found = []
    for danger in dangers:
        cold = rows.cold(danger.kills_at, danger.kills_from)
        first = rows.stage_day(stages, danger.begins, early)[:, 0]
        until = sure
        if danger.ends is not None:
            until = np.minimum(sure, rows.stage_day(stages, danger.ends, late)[:, 0])
        start = np.searchsorted(cold, rows.row + first)
        count = np.maximum(np.searchsorted(cold, rows.row + until) - start, 0)
        if not count.any():
            continue
        row = np.repeat(np.arange(len(count)), count)
        place = cold[np.arange(row.size) + np.repeat(start - (np.cumsum(count) - count), count)]
        day = place - rows.row[row]
        upto = rows.last_begin(stages, danger.begins, row, day)
        after = np.full(row.size, -1) if danger.ends is None else rows.last_begin(stages, danger.ends, row, day)
        sheltered = rows.tmin[row, rows.first + day] > limit(danger.kills_at - degrees)
        found.append(_Hits(row, day, after, upto, sheltered))
    return sure, found


def _struck(rows: Rows, hits: _Hits, begin: NDArray[np.int16], cover: Cover | None) -> tuple[_Hits, Mask, Days]:
    """The hits that strike any sowing, which sowings [hit, seeding day], and the first hit of each row."""
    some = (hits.upto > hits.after) & (hits.upto >= begin.min()) & (hits.after < begin.max())
    hits = _Hits(*(array[some] for array in hits))
    after, upto = (array.astype(np.int16)[:, None] for array in (hits.after, hits.upto))
    struck = (begin > after) & (begin <= upto)
    if cover is not None:
        column = (hits.day + rows.first)[:, None]
        bare = (column < cover[1][hits.row]) | (column > cover[2][hits.row])
        struck &= bare | ~hits.sheltered[:, None]
    return hits, struck, np.flatnonzero(np.diff(hits.row, prepend=-1))


def _made_it(rows: Rows, plan: Plan, sowing: Days, cover: Cover | None) -> Mask:
    """`made_it` with one need for each stage. [row, seeding day]"""
    begin = (sowing + 1 - rows.first).astype(np.int16)
    stop = min(max(plan.season_end + 1 - rows.first, 0), rows.days)
    sure, killings = _killings(rows, plan.stages[: plan.goal], sowing, stop, 0.0 if cover is None else cover[0])
    last = rows.last_begin(plan.stages, plan.goal, np.arange(len(sure)), sure - 1)
    made = begin <= last.astype(np.int16)[:, None]
    for hits in killings:
        done = rows.last_begin(plan.stages, plan.goal, hits.row, hits.day - 1)
        hits = hits._replace(after=np.maximum(hits.after, done))
        hits, struck, firsts = _struck(rows, hits, begin, cover)
        if firsts.size:
            made[hits.row[firsts]] &= ~np.logical_or.reduceat(struck, firsts, axis=0)
    return made


def _killed(rows: Rows, plan: Plan, sowing: Days, cover: Cover | None) -> Days:
    """The killing day, never where there is none. [row, seeding day]"""
    begin = (sowing + 1 - rows.first).astype(np.int16)
    sure, killings = _killings(rows, plan.stages, sowing, rows.days, 0.0 if cover is None else cover[0])
    day = np.repeat(sure[:, None], sowing.size, axis=1)
    for hits in killings:
        hits, struck, firsts = _struck(rows, hits, begin, cover)
        if firsts.size:
            at = np.where(struck, hits.day[:, None], rows.days)
            some = hits.row[firsts]
            day[some] = np.minimum(day[some], np.minimum.reduceat(at, firsts, axis=0))
    return day


def _cells(given: ArrayLike | None, shape: tuple[int, ...]) -> Floats | None:
    """Days by row and seeding day, of an array that broadcasts to `shape`."""
    if given is None:
        return None
    return np.broadcast_to(np.asarray(given, float), shape).reshape(int(np.prod(shape[:-1])), shape[-1])


def _cover(shelter: Shelter | None, shape: tuple[int, ...]) -> tuple[float, Floats | None, Floats | None] | None:
    if shelter is None:
        return None
    return shelter.degrees, _cells(shelter.first, shape), _cells(shelter.last, shape)


def _part(cover: Any, at: slice, cells: Any) -> Cover | None:
    """The shelter of some rows and seeding days."""
    return None if cover is None else (cover[0], *(days[at][:, cells] for days in cover[1:]))
