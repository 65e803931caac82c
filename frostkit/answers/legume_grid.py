"""One bean on the grid of seasons and sowing days, within the corn and in the open, and ways to sow as cells of it."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.growth import HEAT, Growth, growth_plan
from frostkit.answers.plans import whole_plan
from frostkit.answers.together import CornDays, shelter
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError
from frostkit.odds.estimate import Share, share
from frostkit.seasons.calendar import DAYS, Cube
from frostkit.seasons.frost import complete
from frostkit.seasons.growth import stage_days
from frostkit.seasons.interval import NEVER, SeasonDates
from frostkit.seasons.windows import Works, killed, works

Floats = NDArray[np.float64]


class Grid:
    """Everything about one bean on the grid [season, sowing day], within the corn and in the open."""

    def __init__(self, cube: Cube, bean: Crop, growth: Growth, days: NDArray[np.int64], corn: CornDays,
                 latitude: float | None, frost: str = "usual", cool_nights: bool | None = None):  # fmt: skip
        whole = whole_plan(bean, latitude, frost=frost, cool_nights=cool_nights)
        cover = shelter(bean, corn)
        every = stage_days(cube, whole, days)
        self.names = [stage.name for stage in whole.stages]
        self.stages = [SeasonDates(every.first[..., n], every.last[..., n]) for n in range(len(self.names))]
        self.end_of_season = whole.season_end
        self.killed = killed(cube, whole, days, shelter=cover)
        self.killed_open = killed(cube, whole, days)
        self.chop = SeasonDates(np.broadcast_to(corn.chop.first, self.killed.first.shape),
                                np.broadcast_to(corn.chop.last, self.killed.first.shape))  # fmt: skip
        self.end = self._end(self.killed, self.chop)
        self.end_open = self._end(self.killed_open)
        self.emergence = self.stages[0]
        self.flower = self.stages[self.names.index("first_flower")] if "first_flower" in self.names else None
        if growth.unit == "days":
            self.works = self._days_vegetative(cube, growth, days, self.end, bean)
            self.alone = self._days_vegetative(cube, growth, days, self.end_open, bean)
        else:
            of = growth_plan(bean, growth, latitude, frost, cool_nights)
            self.works = works(cube, of, days, end=corn.chop, shelter=cover)
            self.alone = works(cube, of, days)
        self.ripe = None
        if "ripe" in self.names:
            ripe = growth_plan(bean, Growth(0, "stage", "ripe"), latitude, frost, cool_nights)
            self.ripe = self.alone if growth == (0, "stage", "ripe") else works(cube, ripe, days)

    def _end(self, *days: SeasonDates) -> SeasonDates:
        first, last = days[0]
        for day in days[1:]:
            first, last = np.minimum(first, day.first), np.minimum(last, day.last)
        return SeasonDates(np.minimum(first, self.end_of_season), np.minimum(last, self.end_of_season))

    def _days_vegetative(
        self, cube: Cube, growth: Growth, days: NDArray[np.int64], end: SeasonDates, bean: Crop
    ) -> Works:
        if self.flower is None:
            raise SettingError(
                f"{bean.name} can't count days vegetative: its first flower is not known here.",
                "Give the latitude, and a bean with a stage 'first_flower'.",
            )
        least, most = self.vegetative(end)
        with np.errstate(invalid="ignore"):
            middle = np.floor((least + most) / 2)
        good = complete(cube)
        return Works(least >= growth.amount, most >= growth.amount, middle >= growth.amount, good, days)

    def vegetative(self, end: SeasonDates) -> SeasonDates:
        """Days from emergence to first flower or the end, as (least, most)."""
        flower = self.flower
        assert flower is not None
        until = SeasonDates(np.minimum(flower.first, end.first), np.minimum(flower.last, end.last))
        least = np.where(np.isfinite(self.emergence.last), until.first - self.emergence.last, 0)
        most = np.where(np.isfinite(self.emergence.first), until.last - self.emergence.first, 0)
        return SeasonDates(np.maximum(least, 0), np.maximum(most, 0))

    def heat(self, totals: tuple[NDArray[np.int32], NDArray[np.int32]], end: SeasonDates) -> SeasonDates:
        """Degree days from emergence to the end, as (least, most)."""

        def between(total: NDArray[np.int32], since: Floats, until: Floats) -> Floats:
            begun = np.where(np.isfinite(since), since, DAYS - 1).astype(int)
            stop = np.maximum(until.astype(int), begun)
            sums = np.take_along_axis(total, stop + 1, -1) - np.take_along_axis(total, begun + 1, -1)
            return sums / HEAT.per_unit

        return SeasonDates(between(totals[0], self.emergence.last, end.first),
                           between(totals[1], self.emergence.first, end.last))  # fmt: skip


class Cells:
    """One way to sow, as cells of the grid: for each season the sowing days it can have been.

    sown : SeasonDates [season]; a day after the last of `days`, or never, is not sown
    """

    def __init__(self, sown: SeasonDates, days: NDArray[np.int64]):
        self.sown = sown
        top = float(days[-1])
        self.there, self.surely = sown.first <= top, sown.last <= top
        low = np.where(self.there, np.maximum(sown.first - days[0], 0), 0).astype(int)
        high = np.where(self.surely, sown.last - days[0], days.size - 1).astype(int)
        self.low, self.high = low, np.maximum(high, low)
        self.middle = (self.low + self.high) // 2

    def _each(self, array: NDArray[Any]) -> list[NDArray[Any]]:
        seasons = np.arange(len(self.low))
        wide = int((self.high - self.low).max(initial=0))
        return [array[seasons, np.minimum(self.low + step, self.high)] for step in range(wide + 1)]

    def date(self, of: SeasonDates, absent: float = NEVER) -> SeasonDates:
        """The ends over all cells of a season; `absent` where it may not be sown."""
        first = np.where(self.there, np.asarray(np.minimum.reduce(self._each(of.first))), absent)
        last: Floats = np.maximum.reduce(self._each(of.last))
        unsure = ~self.surely
        return SeasonDates(np.where(unsure, np.minimum(first, absent), first),
                           np.where(unsure, np.maximum(last, absent), last))  # fmt: skip

    def worked(self, of: Works) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
        """(certain, possible, typical) by season."""
        certain = np.logical_and.reduce(self._each(of.certain)) & self.surely
        possible = np.logical_or.reduce(self._each(of.possible)) & self.there
        typical = of.typical[np.arange(len(self.low)), self.middle] & self.there
        return certain, possible, typical


def shares(certain: NDArray[np.bool_], possible: NDArray[np.bool_], typical: NDArray[np.bool_],
           good: NDArray[np.bool_]) -> Share:  # fmt: skip
    """Odds from what is certain, possible and typical in each season; the last axis but one is the season, if two."""
    axis = 0
    yes, no = certain.sum(axis), (~possible).sum(axis)
    whole = good[:, None] if certain.ndim == 2 else good
    full = np.broadcast_to(whole.sum(axis), np.shape(yes))
    return share(yes, no, len(good) - yes - no, complete=full, complete_yes=(typical & whole).sum(axis))
