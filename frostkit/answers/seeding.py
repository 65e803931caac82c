"""When to seed corn, the legume, and both in the same seasons: the window at the odds wanted."""

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.cautions import Caution, cautions_of
from frostkit.answers.plans import late_planting as needing_less
from frostkit.answers.plans import plan
from frostkit.answers.station import Behind
from frostkit.answers.together import corn_days, shelter
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError
from frostkit.odds.estimate import Share, reaches, share
from frostkit.seasons.calendar import column, words
from frostkit.seasons.growth import Plan
from frostkit.seasons.interval import SeasonDates
from frostkit.seasons.windows import Works, both, days_worked, earliest, latest, works, works_many

FIRST, LAST = column(4, 15), column(7, 15)  # the seeding days an answer looks at: a setting, common practice, no source
AFTER = (-1, 0, 1, 2)  # days from corn to legume seeding that growers use: common practice, no source
NEWEST = 30  # seasons: a climate normal's length (WMO-No. 1203, 2017), and the window of docs/odds_choice.md
RATING_STEP = 100  # CHU more or less, to show what a rating's own blur would change

COLD_SOIL, SPRING_FROST, FALL_FROST, HEAT = "cold soil", "spring frost", "killing frost", "heat"


class Run(NamedTuple):
    """Seeding days in a row, both ends included, as columns."""

    first: int
    last: int


class Bound(NamedTuple):
    """What ended a season's window on one side: "cold soil", "spring frost", "killing frost" or "heat", and whose.

    `whose` is "corn", "legume" or "both"; None where the window runs to the edge of the days looked at.
    """

    reason: str | None
    whose: str | None


@dataclass(frozen=True)
class SeedingAnswer:
    """The seeding window, with all that carries it. Days are columns; the legume is listed by the corn's day.

    days : int [seeding day], the corn's seeding days looked at
    chopped : whether "both" means chopped together (the legume within the corn), or each to its own goal in the open
    works : by "corn", "legume" (in the open), "both": bool grids [season, seeding day]
    odds : by the same names: `Share` over the seeding days
    subject : which of them the window is for
    window : the longest run of days that reach `odds_wanted`, None where no day does
    best : the days of the window with the most seasons
    earliest, latest : each season's own first and last day that worked; worked : how many (certain, possible)
    began, ended : per season what stood before and after its window
    before, after_window : what stands before and after the window in most seasons that failed there
    newest : the window counted over the newest `NEWEST` complete seasons alone: what a drifting climate would change;
        the window itself where the record has no more seasons than that
    late_planting : whether the corn's need falls with later seeding
    blur : the window with the corn's need `RATING_STEP` CHU lower and higher, where the corn counts in CHU
    """

    behind: Behind
    corn: Crop | None
    legume: Crop | None
    after: int
    chopped: bool
    odds_wanted: float
    not_after: int | None
    days: NDArray[np.int64]
    works: dict[str, Works]
    odds: dict[str, Share]
    subject: str
    window: Run | None
    best: Run | None
    earliest: SeasonDates
    latest: SeasonDates
    worked: SeasonDates
    began: tuple[Bound, ...]
    ended: tuple[Bound, ...]
    before: Bound
    after_window: Bound
    blur: tuple[Run | None, Run | None] | None
    newest: Run | None
    season_end: int
    cautions: tuple[Caution, ...]
    late_planting: bool = False

    @property
    def seasons(self) -> NDArray[np.int64]:
        """The seasons, by the year each starts in."""
        return self.behind.cube.seasons

    def at(self, day: int) -> dict[str, Share]:
        """The odds of one seeding day. Raises `SettingError` for a day that was not looked at."""
        if not self.days[0] <= day <= self.days[-1]:
            raise SettingError(
                f"{words(day)} is not among the seeding days looked at.",
                f"Give a day from {words(self.days[0])} to {words(self.days[-1])}.",
            )
        index = int(day - self.days[0])
        return {name: one(of, index) for name, of in self.odds.items()}

    def gaps(self) -> NDArray[np.bool_]:
        """Seasons whose days that worked have days between them that did not."""
        first, last = self.earliest.last, self.latest.first
        span = np.where(np.isfinite(first) & np.isfinite(last), last - first + 1, 0)
        return self.worked.first < span

    def does_not_know(self) -> tuple[str, ...]:
        """What the odds leave out, by the names that `show` has sentences for."""
        return ("low_spots", "soil")


def longest_run(reached: NDArray[np.bool_], days: NDArray[np.int64]) -> Run | None:
    """The longest run of days that reach the odds; the first of equals. None where no day does.

    >>> longest_run(np.array([True, False, True, True]), np.arange(100, 104))
    Run(first=102, last=103)
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], reached, [False]]).astype(np.int8)))
    if not edges.size:
        return None
    starts, stops = edges[::2], edges[1::2]
    longest = int(np.argmax(stops - starts))
    return Run(int(days[starts[longest]]), int(days[stops[longest] - 1]))


def counted(works: Works) -> Share:
    """Odds of every seeding day from a works grid: yes, no and not known over all seasons, the point among complete."""
    yes, no, not_known, complete, complete_yes = works.counts()
    return share(yes, no, not_known, complete=complete, complete_yes=complete_yes)


def one(of: Share, index: int) -> Share:
    """The odds of one day out of odds over days."""
    full, full_yes = of.complete[index], of.complete_yes[index]
    return share(of.yes[index], of.no[index], of.not_known[index], complete=full, complete_yes=full_yes, level=of.level)


def shown(works: Works) -> NDArray[np.bool_]:
    """Days that worked, as drawn: missing heat at its middle in complete seasons, only what is certain in others."""
    return np.where(works.complete[:, None], works.typical, works.certain)


def of_newest(works: Works, seasons: int = NEWEST) -> Works:
    """The grid of the newest complete seasons, and those between them."""
    whole = np.flatnonzero(works.complete)
    rows = slice(int(whole[-seasons]) if whole.size > seasons else 0, None)
    return Works(works.certain[rows], works.possible[rows], works.typical[rows], works.complete[rows], works.sowing)


def _window(of: Share, days: NDArray[np.int64], odds: float, not_after: int | None) -> Run | None:
    reached = reaches(of.complete_yes, of.complete, odds) & ~np.isnan(of.share)
    return longest_run(reached & (days <= not_after) if not_after is not None else reached, days)


def _bare(of: Plan, kills: bool, warm: bool) -> Plan:
    """The plan without its frosts or without its warm-soil rule: what then works shows what stood in the way."""
    stages = of.stages if kills else tuple(replace(stage, kills_at=None) for stage in of.stages)
    return replace(of, stages=stages, warm=of.warm if warm else None)


class _Reasons(NamedTuple):
    """Per crop and season x day: did it work, and would it have worked without frost, without the warm-soil rule."""

    works: NDArray[np.bool_]
    no_frost: NDArray[np.bool_]
    no_rule: NDArray[np.bool_]


def _bound(reasons: dict[str, _Reasons], cell: tuple, side: str) -> Bound:
    """What kept the crops from working at a cell (or in most seasons of a column), and whose it was."""
    found: dict[str, tuple[int, str]] = {}
    for name, of in reasons.items():
        failed = ~np.atleast_1d(of.works[cell])
        if not failed.any():
            continue
        if side == "before":
            cold = failed & np.atleast_1d(of.no_rule[cell])
            counts = {COLD_SOIL: int(cold.sum()), SPRING_FROST: int((failed & ~cold).sum())}
        else:
            frost = failed & np.atleast_1d(of.no_frost[cell])
            counts = {FALL_FROST: int(frost.sum()), HEAT: int((failed & ~frost).sum())}
        reason = max(counts, key=counts.__getitem__)
        found[name] = (int(failed.sum()), reason)
    if not found:
        return Bound(None, None)
    most = max(count for count, _ in found.values())
    whose = [name for name, (count, _) in found.items() if count == most]
    return Bound(found[whose[0]][1], whose[0] if len(whose) == 1 else "both")


def seeding(
    behind: Behind,
    corn: Crop | None,
    legume: Crop | None = None,
    *,
    odds: float = 0.8,
    after: int = 0,
    not_after: int | None = None,
    first: int = FIRST,
    last: int = LAST,
    apart: bool = False,
    late_planting: bool = False,
    with_blur: bool = True,
    drawn: dict[str, Share] | None = None,
) -> SeedingAnswer:
    """When corn, the legume, or both in the same seasons can be seeded at the odds wanted.

    Parameters
    ----------
    behind : Behind
        The record, folded (`answers.station.behind`).
    corn, legume : Crop
        Entries; at least one. With both, the window is for both in the same seasons.
    odds : float
        Odds wanted, above 0 up to 1: a day reaches them when yes >= odds x complete seasons.
    after : int [days]
        Days from the corn's seeding to the legume's.
    not_after : int, column
        The user's own last seeding day (an insurer's deadline): the window does not go past it.
    first, last : int, columns
        Seeding days looked at.
    apart : bool
        Each crop to its own goal in the open, even where silage corn and a forage legume would be chopped together:
        then the legume's time ends at the chop, and the corn shelters it.
    late_planting : bool
        Count the corn's need as falling with later seeding, by its entry's figure (`plans.late_planting`): measured in
        one region, and never assumed.
    with_blur : bool
        Work out `blur` too; a picture that follows its controls does without.
    drawn : dict, optional
        Odds counted over several draws of the field's record (`answers.field.over`): the window is taken from them.

    Raises
    ------
    SettingError
        For odds outside 0 to 1, days in the wrong order, a legume that would fall outside the season, or no crop.
    CropError
        For late planting with a corn whose entry has no figure for it.
    """
    if not 0 < odds <= 1:
        raise SettingError(
            f"Odds of {odds:g} can't be wanted.", "Give odds above 0 and up to 1, such as 0.8 for 8 in 10."
        )
    if first > last:
        raise SettingError(f"The first seeding day, {words(first)}, is after the last, {words(last)}.", "Swap them.")
    if abs(after) > 60:  # beyond that the legume is a late legume, with its own answer
        raise SettingError(
            f"The legume {after} days after the corn is outside -60 to 60.",
            "For a legume sown into standing corn use: frostkit late-legume.",
        )
    crops = {name: crop for name, crop in (("corn", corn), ("legume", legume)) if crop is not None}
    if not crops:
        raise SettingError("There is no crop to seed.", "Name a corn, a legume or both.")
    days = np.arange(first, last + 1)
    sown = {"corn": days, "legume": days + after}
    plans = {name: plan(crop, latitude=behind.latitude) for name, crop in crops.items()}
    if late_planting:
        if corn is None:
            raise SettingError("Late planting changes the corn's need, and there is no corn.", "Name a corn.")
        plans["corn"] = needing_less(plans["corn"], corn, days)

    chopped = chopped_together(corn, legume) and not apart
    grids, parts, reasons = {}, {}, {}
    for name, of in plans.items():
        kept = _within(behind, corn, legume, days, late_planting) if chopped and name == "legume" else {}
        variants = [of, _bare(of, kills=False, warm=True), _bare(of, kills=True, warm=False)]
        found = works_many(behind.cube, variants, sown[name], **kept)
        parts[name], reasons[name] = found[0], _Reasons(*(shown(one) for one in found))
        grids[name] = works(behind.cube, of, sown[name]) if kept else found[0]
    subject = next(iter(grids)) if len(grids) == 1 else "both"
    if subject == "both":
        grids["both"] = both(parts["corn"], parts["legume"])
    odds_of = {name: counted(grid) for name, grid in grids.items()} if drawn is None else drawn
    window = _window(odds_of[subject], days, odds, not_after)
    newest = _window(counted(of_newest(grids[subject])), days, odds, not_after)
    best = None
    if window is not None:
        in_window = (days >= window.first) & (days <= window.last)
        yes = odds_of[subject].complete_yes
        best = longest_run(in_window & (yes == yes[in_window].max()), days)

    grid = grids[subject]
    began, ended = _season_bounds(shown(grid), days, reasons)
    before = after_window = Bound(None, None)
    if window is not None:  # what stands before and after it in most complete seasons that failed there
        if window.first > first:
            before = _bound(reasons, (grid.complete, window.first - first - 1), "before")
        if window.last < last and window.last != not_after:
            after_window = _bound(reasons, (grid.complete, window.last - first + 1), "after")
    blur = None
    if with_blur and corn is not None and corn.goal_need().unit == "CHU" and corn.goal_need().value >= 4 * RATING_STEP:
        blurred = _blur(behind, corn, legume, parts.get("legume"), days, after, chopped, late_planting)
        lower, higher = (_window(counted(one), days, odds, not_after) for one in blurred)
        blur = lower, higher
    return SeedingAnswer(
        behind,
        corn,
        legume,
        after,
        chopped,
        odds,
        not_after,
        days,
        grids,
        odds_of,
        subject,
        window,
        best,
        earliest(grid),
        latest(grid),
        days_worked(grid),
        began,
        ended,
        before,
        after_window,
        blur,
        newest,
        plans[next(iter(plans))].season_end,
        cautions_of("seeding"),
        late_planting,
    )


def _season_bounds(grid: NDArray[np.bool_], days: NDArray[np.int64], reasons: dict[str, _Reasons]):
    began, ended = [], []
    for season, row in enumerate(grid):  # a picture's labels, one a season: a loop is clearer and fast enough
        on = np.flatnonzero(row)
        if not on.size:
            began.append(Bound(None, None))
            ended.append(Bound(None, None))
            continue
        began.append(_bound(reasons, (season, on[0] - 1), "before") if on[0] > 0 else Bound(None, None))
        ended.append(_bound(reasons, (season, on[-1] + 1), "after") if on[-1] + 1 < days.size else Bound(None, None))
    return tuple(began), tuple(ended)


def chopped_together(corn: Crop | None, legume: Crop | None) -> bool:
    """Whether corn and legume come off the field in one pass: silage corn with a forage legume."""
    return corn is not None and legume is not None and corn.use == "silage" and legume.use == "forage"


def _within(behind: Behind, corn: Crop | None, legume: Crop | None, days: NDArray[np.int64],
            late: bool) -> dict[str, Any]:  # fmt: skip
    """The legume's time ends at the corn's chop, and the corn shelters it until it browns or is chopped."""
    assert corn is not None and legume is not None
    of = corn_days(behind.cube, corn, days, behind.latitude, late=late)
    return {"end": of.chop, "shelter": shelter(legume, of)}


def _blur(behind: Behind, corn: Crop, legume: Crop | None, below: Works | None, days: NDArray[np.int64], after: int,
          chopped: bool, late: bool) -> list[Works]:  # fmt: skip
    """What would work were the corn's need a rating step lower or higher: the rating's own blur. (lower, higher)"""
    found = []
    for change in (-RATING_STEP, RATING_STEP):
        goal = corn.stage[corn.goal]
        need = goal.need.model_copy(update={"value": goal.need.value + change})
        stages = {**corn.stage, corn.goal: goal.model_copy(update={"need": need})}
        rated = corn.model_copy(update={"stage": stages})
        of = plan(rated, latitude=behind.latitude)
        grid = works(behind.cube, needing_less(of, rated, days) if late else of, days)
        if chopped and legume is not None:
            kept = _within(behind, rated, legume, days, late)
            below = works(behind.cube, plan(legume, latitude=behind.latitude), days + after, **kept)
        found.append(grid if below is None else both(grid, below))
    return found
