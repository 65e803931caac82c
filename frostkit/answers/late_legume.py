"""How late the legume can still go in: with the corn, at its fifth leaf, at any stage or day, against sowing with it.

For each sowing: emergence, days vegetative, stage and heat at the corn's chop and at the legume's own killing frost in
the open, the share of seasons that reach the growth wanted; and the last sensible sowing day at the odds wanted.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.cautions import Caution, cautions_of
from frostkit.answers.corn_leaves import with_collar
from frostkit.answers.growth import HEAT, Growth, wanted
from frostkit.answers.legume_grid import Cells, Grid, shares
from frostkit.answers.spread import Spread, spread
from frostkit.answers.station import Behind
from frostkit.answers.together import CornDays, corn_days
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError, nearest
from frostkit.odds.estimate import Share, reaches
from frostkit.seasons.calendar import column, from_code, words
from frostkit.seasons.heat import bounds, has_heat, running
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.windows import Works

LAST = column(8, 20)  # last sowing day looked at: a setting, common practice, no source
WHEN: tuple[str | int, ...] = (0, -1, 1, "v5")  # with the corn, a day before, a day after, at its fifth leaf
NOT_STAGES = ("growth",)  # amounts of growth in an entry, which the plant does not show


@dataclass(frozen=True)
class Sown:
    """One way to sow one bean; a value for each season.

    name : "with the corn", "at fifth leaf collar (V5)" ...
    sown, emergence, flower : SeasonDates [season]; flower None where the entry can't tell it
    chop : the corn's; killed : the bean's own killing frost within the corn; killed_open : in the open
    vegetative : days from emergence to first flower, chop or killing frost, as (least, most); None without a flower
    heat_at_chop, heat_at_frost : degree days above 10 degC since emergence at the end within the corn, and at the
        killing frost in the open, as (least, most)
    stage_at_chop, stage_at_frost : title of the stage then, None where the record can't tell
    odds : seasons that reach the growth wanted by the chop; alone : in the open by the bean's own killing frost
    vegetative_at_chop : seasons in which it does not flower before its end within the corn; None without a flower
    ripens : seasons in which it ripens in the open; None for an entry without that stage
    instead : complete seasons by what reached the growth: (both, only with the corn, only this way, neither)
    """

    name: str
    sown: SeasonDates
    emergence: SeasonDates
    flower: SeasonDates | None
    chop: SeasonDates
    killed: SeasonDates
    killed_open: SeasonDates
    vegetative: SeasonDates | None
    heat_at_chop: SeasonDates
    heat_at_frost: SeasonDates
    stage_at_chop: tuple[str | None, ...]
    stage_at_frost: tuple[str | None, ...]
    odds: Share
    alone: Share
    vegetative_at_chop: Share | None
    ripens: Share | None
    instead: tuple[int, int, int, int]


@dataclass(frozen=True)
class Bean:
    """One bean: every way to sow it, and the odds of each sowing day within the corn.

    days : int [sowing day]; odds : `Share` over them; last_day : the last day that reaches the odds wanted, or None
    """

    crop: Crop
    growth: Growth
    sown: tuple[Sown, ...]
    days: NDArray[np.int64]
    works: Works
    odds: Share
    last_day: int | None


@dataclass(frozen=True)
class LateLegumeAnswer:
    """What is still worth sowing, bean by bean, with all that carries it. Days are columns.

    draws : the answer for each draw of the field's record, where it was drawn several times (`answers.field.over`)
    corn_days : the corn's own days [season, 1]; options : which options the numbers rest on, in words
    """

    behind: Behind
    corn: Crop
    seeding_day: int
    odds_wanted: float
    beans: tuple[Bean, ...]
    corn_days: CornDays
    options: tuple[str, ...]
    cautions: tuple[Caution, ...]
    draws: tuple["LateLegumeAnswer", ...] = ()

    def spread(self, dates: Callable[["LateLegumeAnswer"], SeasonDates]) -> Spread:
        """How season dates, or amounts, of this answer spread: over every draw of the field's record where it has them.

        dates : takes them out of an answer [season]
        """
        parts = self.draws or (self,)
        first, last = (np.concatenate(ends) for ends in zip(*(dates(part) for part in parts), strict=True))
        return spread(SeasonDates(first, last), np.concatenate([part.behind.complete for part in parts]))

    @property
    def seasons(self) -> NDArray[np.int64]:
        """The seasons, by the year each starts in."""
        return self.behind.cube.seasons

    def does_not_know(self) -> tuple[str, ...]:
        """What the odds leave out, in words."""
        return (
            "how much the corn's shade takes from the legume's growth",
            "rain, and whether the seedbed between the rows is moist",
            "low spots, wet fields and this year's weather",
        )


def late_legume(
    behind: Behind,
    corn: Crop,
    beans: Crop | Sequence[Crop],
    seeding_day: int,
    *,
    when: Sequence[str | int] = WHEN,
    growth: str | None = None,
    odds: float = 0.8,
    last: int = LAST,
    frost: str = "usual",
    cool_nights: bool | None = None,
    latitude: float | None = None,
) -> LateLegumeAnswer:
    """What a bean sown with, into or between the corn still makes before the chop: bean by bean, sowing by sowing.

    Parameters
    ----------
    behind : Behind
        The record, folded.
    corn : Crop
    beans : Crop, or several
    seeding_day : int [column]
        The corn's.
    when : sequence
        Ways to sow: days after the corn (-1, 0, 1 ...), a stage or leaf collar of the corn ("v5"), or a day
        ("06-25").
    growth : str, optional
        "500 degree days", "90 days" (vegetative) or a stage of the bean; left out, each bean's own goal.
    odds : float
        Odds wanted, for the last sensible sowing day.
    last : int [column]
        Last sowing day looked at.
    frost : "usual", "tender" or "hardy"
        Which end of the killing temperatures' range counts.
    cool_nights : bool, optional
        Count the slowing by cool nights; left out, as the entries say (off in the library).
    latitude : float, optional [degrees north]
        The field's; left out, the station's. Without either, beans that go by day length alone can't be told.

    Raises
    ------
    SettingError
        For odds, a growth, a stage or a day that is not allowed, or a station without latitude where one is needed.
    """
    if not 0 < odds <= 1:
        raise SettingError(f"Odds of {odds:g} can't be wanted.", "Give odds above 0 and up to 1, such as 0.8.")
    chosen = (beans,) if isinstance(beans, Crop) else tuple(beans)
    if not chosen:
        raise SettingError("There is no bean to sow.", "Name one or more, such as forage-late.")
    cube = behind.cube
    latitude = behind.latitude if latitude is None else latitude
    for way in when:  # "v7" and so on: leaf collars that the entry has no stage for
        if isinstance(way, str) and way[:1] == "v" and way[1:].isdigit():
            corn = with_collar(corn, int(way[1:]))
    of_corn = corn_days(cube, corn, [seeding_day], latitude, frost)
    ways = [_way(way, corn, of_corn, seeding_day, len(cube.seasons)) for way in when]
    early = min([seeding_day, *(int(sown.first.min()) for _, sown in ways if np.isfinite(sown.first.min()))])
    days = np.arange(min(early, seeding_day), max(last, seeding_day) + 1)
    known = has_heat(*cube.columns())
    least, most = (running(end) for end in bounds(np.where(known, HEAT.rate(*cube.columns()), 0), known))
    found = []
    for bean in chosen:
        want = wanted(growth, bean)
        grid = Grid(cube, bean, want, days, of_corn, latitude, frost, cool_nights)
        with_corn = Cells(_on(seeding_day, len(cube.seasons)), days).worked(grid.works)[2]
        sown = tuple(_sown(name, Cells(day, days), grid, bean, behind, (least, most), with_corn) for name, day in ways)
        by_day = shares(grid.works.certain, grid.works.possible, grid.works.typical, grid.works.complete)
        good = np.flatnonzero(reaches(by_day.complete_yes, by_day.complete, odds))
        last_day = int(days[good[-1]]) if good.size else None
        found.append(Bean(bean, want, sown, days, grid.works, by_day, last_day))
    return LateLegumeAnswer(behind, corn, seeding_day, odds, tuple(found), of_corn,
                            _options(chosen, latitude, frost, cool_nights), cautions_of("late legume"))  # fmt: skip


def _on(day: int, seasons: int) -> SeasonDates:
    return SeasonDates(np.full(seasons, float(day)), np.full(seasons, float(day)))


def _way(way: str | int, corn: Crop, of: CornDays, seeding_day: int, seasons: int) -> tuple[str, SeasonDates]:
    """Name and sowing day in each season of one way to sow."""
    if isinstance(way, int) or way.lstrip("-+").isdigit():
        after = int(way)
        if abs(after) > 120:
            raise SettingError(f"The legume {after} days after the corn is outside -120 to 120.",
                               "Give days after the corn, such as 1, or a day as MM-DD.")  # fmt: skip
        side = "before" if after < 0 else "after"
        name = f"{abs(after)} day{'s' if abs(after) > 1 else ''} {side} the corn" if after else "with the corn"
        return name, _on(seeding_day + after, seasons)
    if way in of.stages:
        day = of.stages[way]
        return f"at {corn.stage[way].title}", SeasonDates(day.first[:, 0], day.last[:, 0])
    if way[:1].isdigit():
        day_of = from_code(way)
        return f"on {words(day_of)}", _on(day_of, seasons)
    raise SettingError(f"when='{way}' is not known.{nearest(way, of.stages)}",
                       f"Give days after the corn, MM-DD, or a stage of the corn: {', '.join(of.stages)}.")  # fmt: skip


def _sown(name: str, cells: Cells, grid: Grid, bean: Crop, behind: Behind,
          totals: tuple[NDArray[np.int32], NDArray[np.int32]], with_corn: NDArray[np.bool_]) -> Sown:  # fmt: skip
    good = behind.complete
    certain, possible, typical = cells.worked(grid.works)
    vegetative = still = None
    if grid.flower is not None:
        vegetative = cells.date(grid.vegetative(grid.end), absent=0.0)
        flower, end = cells.date(grid.flower), cells.date(grid.end)
        middle = [np.where(np.isfinite(d.first), d.first, 1e6) + np.where(np.isfinite(d.last), d.last, 1e6)
                  for d in (flower, end)]  # fmt: skip
        up = cells.there & np.isfinite(cells.date(grid.emergence).first)
        still = shares(
            up & (flower.first > end.last), up & (flower.last > end.first), up & (middle[0] > middle[1]), good
        )
    ripens = None if grid.ripe is None else shares(*cells.worked(grid.ripe), good)
    full, base = typical & good, with_corn & good
    instead = (int((full & base).sum()), int((base & ~full).sum()), int((full & ~base).sum()),
               int((good & ~full & ~base).sum()))  # fmt: skip
    return Sown(
        name,
        cells.sown,
        cells.date(grid.emergence),
        None if grid.flower is None else cells.date(grid.flower),
        cells.date(grid.chop),
        cells.date(grid.killed),
        cells.date(grid.killed_open),
        vegetative,
        cells.date(grid.heat(totals, grid.end), absent=0.0),
        cells.date(grid.heat(totals, grid.end_open), absent=0.0),
        _stage_at(cells, grid, bean, grid.end),
        _stage_at(cells, grid, bean, grid.end_open),
        shares(certain, possible, typical, good),
        shares(*cells.worked(grid.alone), good),
        still,
        ripens,
        instead,
    )


def _stage_at(cells: Cells, grid: Grid, bean: Crop, end: SeasonDates) -> tuple[str | None, ...]:
    """Title of the last stage reached by the end of each season's cells; None where the record can't tell."""
    until = cells.date(end)
    seen = [n for n, name in enumerate(grid.names) if name not in NOT_STAGES]
    titles = ["sown, not up"] + [bean.stage[grid.names[n]].title for n in seen]
    if grid.flower is not None:
        titles[1] = "vegetative"
    elif len(grid.names) < len(bean.stage):  # stages that go by day length, and no latitude
        titles[1] = "up, flowering not told"
    order = [cells.date(grid.stages[n]) for n in seen]
    surely = np.array([stage.last <= until.first for stage in order])
    maybe = np.array([stage.first <= until.last for stage in order])
    found: list[str | None] = []
    for season in range(len(cells.low)):  # a label a season: a loop is clearer and fast enough
        if not cells.there[season]:
            found.append("not sown")
        elif (surely[:, season] != maybe[:, season]).any() or not cells.surely[season]:
            found.append(None)
        else:  # stages on other clocks may come out of order: the latest to have come is the one it is in
            came = [(order[n].first[season], n + 1) for n in range(len(order)) if surely[n, season]]
            found.append(titles[max(came)[1]] if came else titles[0])
    return tuple(found)


def _options(beans: Sequence[Crop], latitude: float, frost: str, cool_nights: bool | None) -> tuple[str, ...]:
    """Which options the numbers rest on."""
    nights = {bean.name: clock.cool_nights for bean in beans for clock in bean.clock.values()
              if clock.method == "photothermal" and clock.cool_nights is not None}  # fmt: skip
    on = [name for name, entry in nights.items() if (entry.on if cool_nights is None else cool_nights)]
    lines = ["slowing by cool nights is on for " + ", ".join(on) if on else "slowing by cool nights is off"]
    if np.isfinite(latitude):
        lines.append(f"day length of the sun's centre (Spitters' form) at {latitude:.1f} N, as the coefficients use it")
    else:
        lines.append("no latitude: stages that go by day length are left out")
    ends = {"usual": "the usual killing temperatures", "tender": "the warmest killing temperatures of the sources",
            "hardy": "the coldest killing temperatures of the sources"}  # fmt: skip
    lines.append(ends[frost])
    return tuple(lines)
