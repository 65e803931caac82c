"""Growth: what a crop needs stage by stage, what kills it, and on which day each stage comes."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.seasons.calendar import DAYS, SEASON_END, Cube, column
from frostkit.seasons.heat import SHORT, Ints
from frostkit.seasons.interval import NEVER, NONE, SeasonDates
from frostkit.seasons.rows import HIGH, LOW, blocks, lower_bound


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
        """Whole units of each day, never below 0. [..., season, 365]"""


@dataclass(frozen=True)
class Stage:
    """One stage of a crop: it comes on the day by whose end its need is met, and lasts until the next one comes.

    Parameters
    ----------
    name : str
    clock : a clock
    need : int, or tuple of int [seeding day]
        In the clock's own whole units, as its `rate` gives them: 180 corn heat units are 18000 hundredths. Counted from
        the day after sowing, or after the day on which stage number `since` came.
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
            raise SettingError(f"Stage '{self.name}' needs {self.need}: a need is at least 1 whole unit of its clock.",
                               "Give what the stage needs, or leave the stage out.")  # fmt: skip


@dataclass(frozen=True)
class Warmth:
    """When sowing may start: the first day >= from_day with a warm stretch behind it; from then on it stays allowed.

    days : int, length of the stretch; mean : float [degC], of (tmax + tmin)/2; from_day : int [column]
    """

    days: int = 7
    mean: float = 10.0
    from_day: int = 90


@dataclass(frozen=True)
class Plan:
    """A crop as the works grid sees it.

    stages : tuple of Stage, in the order in which they come
    goal : int, number of the stage that the crop is grown for
    warm : Warmth or None (then any day will do)
    season_end : int [column], the last day whose heat and cold count
    """

    stages: tuple[Stage, ...]
    goal: int = -1
    warm: Warmth | None = None
    season_end: int = column(*SEASON_END)

    def __post_init__(self) -> None:
        count = len(self.stages)
        if not -count <= self.goal < count:
            raise SettingError(f"Goal {self.goal} is none of the {count} stages.", "Give the number of a stage.")
        object.__setattr__(self, "goal", self.goal % count)
        for number, stage in enumerate(self.stages):
            if not -1 <= stage.since < number:
                raise SettingError(f"Stage '{stage.name}' counts from stage {stage.since}, which is not before it.",
                                   "Count from -1 (sowing) or from the number of an earlier stage.")  # fmt: skip
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


def stage_days(cube: Cube, plan: Plan, sowing: ArrayLike, short: int = SHORT) -> SeasonDates:
    """The day on which each stage comes, for every season and seeding day; frost is not asked.

    Parameters
    ----------
    sowing : int array, shape (seeding day,) [column]
    short : int [days], see `heat.bounds`

    Returns
    -------
    SeasonDates, shape (..., season, seeding day, stage) [column]; +inf for a stage that does not come in the season.
    Both ends are one array where nothing is missing.
    """
    days = np.atleast_1d(np.asarray(sowing, np.int64))
    shape = (*cube.tmin.shape[:-1], days.size, len(plan.stages))
    first = np.empty((int(np.prod(shape[:-2])), *shape[-2:]))
    late = []
    for block in blocks(cube, *asked([plan], days), short):
        for number in range(len(plan.stages)):
            first[block.rows, :, number] = block.whole.column_of(block.whole.stage(plan.stages, number, days))
            if block.holed is not None:
                at = block.holes
                ends = (block.holed.stage(plan.stages, number, days, end) for end in (HIGH, LOW))
                first[at, :, number], last_day = (block.holed.column_of(end) for end in ends)
                late.append((at, number, last_day))
    last = first.copy() if late else first
    for at, number, day in late:
        last[at, :, number] = day
    for end in (first,) if last is first else (first, last):
        end[end > plan.season_end] = NEVER
    return SeasonDates(first.reshape(shape), last.reshape(shape))


def asked(plans: Sequence[Plan], sowing: NDArray[np.int64]) -> tuple[int, int]:
    """First and last column that plans sown on these days look at."""
    warm = [max(plan.warm.from_day - plan.warm.days + 1, 0) for plan in plans if plan.warm]
    return min([int(sowing.min()) + 1, *warm]), max(plan.season_end for plan in plans)
