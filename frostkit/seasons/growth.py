"""Growth: what a crop needs stage by stage, what kills it, and on which day each stage comes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.seasons.calendar import DAYS, NEVER, NONE, SEASON_END, column
from frostkit.seasons.heat import Ints
from frostkit.seasons.rows import blocks, lower_bound
from frostkit.seasons.soil import Rule


class Clock(Protocol):
    """What drives a stage: `seasons.heat.Heat`, or any frozen hashable object with the same three.

    A clock that has `same_every_day = True` depends on temperatures alone; others are always asked for all 365 days.
    """

    @property
    def per_unit(self) -> int:
        """Whole units in one unit that people say."""

    @property
    def unit(self) -> str:
        """The unit that people say."""

    def rate(self, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
        """Whole units of each day, never below 0. [..., 365]"""


@dataclass(frozen=True)
class Stage:
    """One stage of a crop: it comes on the day by whose end its need is met, and lasts until the next one comes.

    Parameters
    ----------
    name : str
    clock : a clock
    need : int, or tuple of int [seeding day]
        In the clock's own whole units, as its `rate` gives them: 180 degree days are 18000 hundredths. Counted from the
        day after sowing, or after the day on which stage number `since` came. One for each seeding day only where it
        counts from sowing.
    since : int
        Number of an earlier stage of the plan, -1 for sowing.
    kills_at : float or None [degC]
        From the day the stage comes the plant dies at Tmin at or below this; None: as in the stage before, `kills_from`
        too. Before the first stage (emergence) nothing kills.
    kills_from : int [column]
        Cold before this day does not count, as long as this `kills_at` holds.
    """

    name: str
    clock: Any
    need: int | tuple[int, ...]
    since: int = -1
    kills_at: float | None = None
    kills_from: int = 0

    def __post_init__(self) -> None:
        if not isinstance(self.need, int):
            object.__setattr__(self, "need", tuple(int(need) for need in np.atleast_1d(self.need)))
        if min(np.atleast_1d(self.need)) < 1:
            raise SettingError(
                f"Stage '{self.name}' needs {self.need}: a need is at least 1 whole unit of its clock.",
                "Give what the stage needs, or leave the stage out.",
            )
        if self.since >= 0 and not isinstance(self.need, int):
            raise SettingError(
                f"Stage '{self.name}' has a need for each seeding day and counts from stage {self.since}.",
                "Let it count from sowing (-1), or give one need.",
            )


@dataclass(frozen=True)
class Plan:
    """A crop as the works grid sees it.

    stages : tuple of Stage, in the order in which they come
    goal : int, number of the stage that the crop is grown for
    warm : when the seedbed is fit: soil.Warmth, soil.SoilReady, or None (then any day will do)
    season_end : int [column], the last day whose heat and cold count
    """

    stages: tuple[Stage, ...]
    goal: int = -1
    warm: Rule | None = None
    season_end: int = column(*SEASON_END)

    def __post_init__(self) -> None:
        count = len(self.stages)
        if not -count <= self.goal < count:
            raise SettingError(f"Goal {self.goal} is none of the {count} stages.", "Give the number of a stage.")
        object.__setattr__(self, "goal", self.goal % count)
        for number, stage in enumerate(self.stages):
            if not -1 <= stage.since < number:
                raise SettingError(
                    f"Stage '{stage.name}' counts from stage {stage.since}, which is not before it.",
                    "Count from -1 (sowing) or from the number of an earlier stage.",
                )
        if not 0 <= self.season_end < DAYS:
            raise SettingError(f"The season can't end with column {self.season_end}.", "Give a column from 0 to 364.")


def reached(total: Ints, start: ArrayLike, need: ArrayLike) -> NDArray[np.float64]:
    """First day by whose end the need is met, counting from the day after `start`; +inf where never.

    Parameters
    ----------
    total : int array, shape (..., 366) [whole units]: running sums, see `heat.running`
    start : int array, shape (..., seeding day) or (seeding day,) [column]
    need : int, or int array that goes with `start` [whole units]

    Returns
    -------
    float array, shape (..., seeding day) [column]

    Examples
    --------
    Ten units on each day: sown on day 1, twenty are there by the end of day 3.

    >>> reached(np.arange(0, 70, 10), [1], 20)
    array([3.])
    """
    total, first = np.asarray(total), np.asarray(start) + 1
    at = np.broadcast_to(first, (*total.shape[:-1], first.shape[-1]))
    wanted = np.take_along_axis(total, at, axis=-1) + np.asarray(need)
    met = _places(total, wanted)
    return np.where(met == total.shape[-1], NEVER, np.maximum(met, at) - 1)


def must_start(total: Ints, end: ArrayLike, need: ArrayLike) -> NDArray[np.float64]:
    """Last day to sow that still meets the need by the end of day `end`; -inf where none does.

    total : int array [..., 366]; end : int array [..., k] or [k] [column]; need : int or array that goes with `end`

    >>> must_start(np.arange(0, 70, 10), [3], 20)
    array([1.])
    """
    total, after = np.asarray(total), np.asarray(end) + 1
    at = np.broadcast_to(after, (*total.shape[:-1], after.shape[-1]))
    spare = np.take_along_axis(total, at, axis=-1) - np.asarray(need)
    last = np.minimum(_places(total, spare + 1) - 1, at) - 1
    return np.where(last < 0, NONE, last)


def _places(total: Ints, wanted: NDArray[Any]) -> NDArray[np.int64]:
    """First entry of each row of `total` [..., n] that is at least as wanted [..., k], n if none."""
    n = total.shape[-1]
    start = np.broadcast_to(n * np.arange(total.size // n).reshape(*total.shape[:-1], 1), wanted.shape)
    return lower_bound(total, wanted, start, n) - start


def stage_days(tmin: NDArray[np.int16], tmax: NDArray[np.int16], plan: Plan, sowing: ArrayLike) -> NDArray[np.float64]:
    """The day on which each stage comes, for every season and seeding day; frost is not asked.

    Parameters
    ----------
    tmin, tmax : int16 arrays, shape (..., 365) [tenths of degC]
    plan : Plan
    sowing : int array, shape (seeding day,) [column]

    Returns
    -------
    float array, shape (..., seeding day, stage) [column]; +inf for a stage that does not come by the season's end
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*tmin.shape[:-1], days.size)
    out = np.empty((len(plan.stages), int(np.prod(shape[:-1])), days.size))
    for rows, at in blocks(tmin, tmax, int(days.min()) + 1, plan.season_end + 1):
        for cells, same in by_need(plan, days.size):
            for number in range(len(plan.stages)):
                day = rows.stage_day(same.stages, number, days[cells])
                out[number][at, cells] = rows.column_of(day)
    return np.moveaxis(out.reshape(-1, *shape), 0, -1)


def by_need(plan: Plan, count: int) -> Iterator[tuple[slice | NDArray[np.int64], Plan]]:
    """The plan with one need for each stage, and the places of the `count` seeding days that it is for.

    >>> [(cells.tolist(), one.stages[0].need) for cells, one in by_need(Plan((Stage("up", None, (5, 5, 7)),)), 3)]
    [([0, 1], 5), ([2], 7)]
    """
    if all(isinstance(stage.need, int) for stage in plan.stages):
        yield slice(None), plan
        return
    needs = np.stack([np.broadcast_to(stage.need, count) for stage in plan.stages], axis=-1)
    each, which = np.unique(needs, axis=0, return_inverse=True)
    for number, some in enumerate(each):
        stages = [replace(stage, need=int(need)) for stage, need in zip(plan.stages, some, strict=True)]
        yield np.flatnonzero(which == number), replace(plan, stages=tuple(stages))
