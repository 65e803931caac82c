"""When to seed corn, the legume, and both in the same seasons: the window at the odds wanted."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import (
    Amount,
    Answer,
    Column,
    CropName,
    Day,
    Odds,
    Says,
    Table,
    Term,
    checked_odds,
    counted,
    longest_run,
    runs,
    season_dates,
)
from frostkit.answers.cautions import cautions_of
from frostkit.answers.corn import chopped_together, corn_days, fit_plan, is_silage, shelter, usable
from frostkit.answers.plans import late_planting as needing_less
from frostkit.answers.plans import plan
from frostkit.answers.silage.stores import Store, wanted
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share
from frostkit.seasons.calendar import column, words
from frostkit.seasons.growth import Plan
from frostkit.seasons.soil import ready
from frostkit.seasons.windows import Shelter, earliest, latest, made_it, waited

Mask = NDArray[np.bool_]
Ints = NDArray[np.int64]
FIRST, LAST = column(4, 15), column(7, 15)  # the seeding days an answer looks at: a setting, common practice, no source
SOON = 0.1  # share of seasons in which the soil is fit, from which on it pays to stand ready (DESIGN)
LATE = 0.9  # share of seasons by which a "late" first fit day has come
NEED_RANGE = 150.0  # CHU to either side of a hybrid's need: the moisture curve's own scatter (DESIGN)
NEEDS = ("tmin", "tmax")


@dataclass(frozen=True)
class Asked:
    """What was asked: crops, days, and how corn and legume go together.

    corn, legume : entries, or None; after : days from corn to legume; days : seeding days of the first crop, columns
    store : of the silage; together : chopped in one pass, the legume under the corn
    late : the corn needs less the later it is sown; frost : end of the killing temperatures' range
    """

    corn: Crop | None
    legume: Crop | None
    after: int
    days: Ints
    store: Store
    together: bool
    late: bool
    latitude: float
    frost: str = "usual"

    @property
    def subject(self) -> str:
        """What the window is for: "both", "corn" or "legume"."""
        return "both" if self.corn and self.legume else "corn" if self.corn else "legume"

    def sown(self, name: str) -> Ints:
        """Sowing days of a crop."""
        return self.days + self.after if name == "legume" else self.days


@dataclass(frozen=True)
class Grids:
    """What happened by row and seeding day; bool [row, seeding day].

    made : by "corn", "legume", "both": it made it, whatever the soil; alone for the legume is in the open
    fit : by the same: the soil was ready; plan : sown on the first fit day from then on it made it
    """

    made: dict[str, Mask]
    fit: dict[str, Mask]
    plan: dict[str, Mask]


def corn_plan(asked: Asked, more: float = 0.0) -> Plan:
    """The corn's plan to the store's range, or to the goal of its entry."""
    assert asked.corn is not None
    of = fit_plan(asked.corn, asked.store, asked.latitude, more=more, frost=asked.frost)
    return needing_less(of, asked.corn, asked.days) if asked.late else of


def legume_plan(asked: Asked) -> Plan:
    """The legume's plan to the goal of its entry, in the open."""
    assert asked.legume is not None
    return plan(asked.legume, asked.latitude, frost=asked.frost)


def _corn_made(rows: Ensemble, asked: Asked, more: float = 0.0) -> Mask:
    return made_it(rows.tmin, rows.tmax, corn_plan(asked, more), asked.days)


def _legume_made(rows: Ensemble, asked: Asked) -> Mask:
    return made_it(rows.tmin, rows.tmax, legume_plan(asked), asked.sown("legume"))


def subject_made(rows: Ensemble, asked: Asked) -> Mask:
    """Whether what the window is for made it, whatever the soil: `grids` without the rest. bool [row, seeding day]"""
    if asked.subject == "legume":
        return _legume_made(rows, asked)
    corn = _corn_made(rows, asked)
    if asked.subject == "corn":
        return corn
    return corn & (_below(rows, asked, 0.0) if asked.together else _legume_made(rows, asked))


def grids(rows: Ensemble, asked: Asked, more: float = 0.0) -> Grids:
    """Ready, made it and plan for every row and seeding day.

    more : heat added to the corn's need, in its unit
    """
    made: dict[str, Mask] = {}
    fit: dict[str, Mask] = {}
    if asked.corn is not None:
        made["corn"] = _corn_made(rows, asked, more)
        fit["corn"] = ready(rows.tmin, rows.tmax, corn_plan(asked).warm, asked.days, rows.prcp)
    if asked.legume is not None:
        made["legume"] = _legume_made(rows, asked)
        rule = legume_plan(asked).warm
        fit["legume"] = ready(rows.tmin, rows.tmax, rule, asked.sown("legume"), rows.prcp)
    if asked.subject == "both":
        below = _below(rows, asked, more) if asked.together else made["legume"]
        made["both"] = made["corn"] & below
        fit["both"] = fit["corn"] & fit["legume"]
    return Grids(made, fit, {name: waited(made[name], fit[name]) for name in made})


def _below(rows: Ensemble, asked: Asked, more: float) -> Mask:
    """The legume under the corn: its time ends at the chop, and the corn shelters it until it browns."""
    assert asked.corn is not None and asked.legume is not None
    of = corn_days(
        rows.tmin, rows.tmax, asked.corn, asked.days, asked.store, asked.latitude, frost=asked.frost, late=asked.late
    )
    del more  # a rating's blur moves the chop by a few days, which the legume's own range covers
    cover: Shelter | None = shelter(asked.legume, of)
    return made_it(rows.tmin, rows.tmax, legume_plan(asked), asked.sown("legume"), end=of.chop, shelter=cover)


@dataclass(frozen=True)
class Window:
    """From the first day it pays to stand ready to the last sowing day that reaches the odds; places among the days."""

    first: int
    last: int


def window_of(made: Share, fit: Share, plan_: Share, odds: float, allowed: Mask) -> Window | None:
    """The window at some odds, by the shares of each seeding day.

    `from` is the first day on which the soil was ready in at least 1 counted season in 10 and whose plan reaches the
    odds; `to` the last day of the run from there on which *made it* reaches the odds.
    """
    starts = np.flatnonzero((fit.share >= SOON - 1e-12) & plan_.reaches(odds) & allowed)
    if not starts.size:
        return None
    first = int(starts[0])
    run = next(((a, b) for a, b in runs(made.reaches(odds) & allowed) if b >= first), None)
    return None if run is None else Window(first, run[1])


def first_fit_days(rows: Ensemble, fit: Mask, days: Ints, since: int) -> NDArray[np.float64]:
    """First fit day from place `since` on, of every possible season; +inf where none. [draw, season]"""
    return earliest(fit[:, since:], days[since:])[rows.index]


def window(
    site: Site,
    corn: Crop | None,
    legume: Crop | None = None,
    *,
    odds: float = 0.8,
    after: int = 0,
    not_after: int | None = None,
    store: str = "bunker",
    first: int = FIRST,
    last: int = LAST,
    apart: bool = False,
    late_planting: bool = False,
    seeding: int | None = None,
) -> Answer:
    """When corn, the legume, or both in the same seasons can be seeded at the odds wanted.

    Parameters
    ----------
    site : Site
    corn, legume : entries; at least one. With both, the window is for both in the same seasons
    odds : wanted, 0.05 to 0.99
    after : days from the corn's seeding to the legume's, -60 to 60
    not_after : column, the user's own last seeding day (an insurer's deadline)
    store : where silage goes; it decides what fit means
    first, last : columns, seeding days looked at
    apart : each crop to its own goal in the open, even where both would be chopped together
    late_planting : count the corn's need as falling with later seeding, by its entry's figure; never assumed
    seeding : column, a day whose odds are told apart

    Raises
    ------
    SettingError
        For odds, days or crops that are not allowed.
    CropError
        For late planting with a corn whose entry has no figure for it.
    RecordError
        Where no season counts.
    """
    asked = asked_of(site, corn, legume, after, store, first, last, apart, late_planting)
    odds = checked_odds(odds)
    days, subject = asked.days, asked.subject
    if seeding is not None and not days[0] <= seeding <= days[-1]:
        raise SettingError(
            f"{words(seeding)} is not among the seeding days looked at.",
            f"Give a day from {words(days[0])} to {words(days[-1])}.",
        )
    rows = site.ensemble(NEEDS)
    found = grids(rows, asked)
    made = {name: counted(rows, of) for name, of in found.made.items()}
    fit = {name: counted(rows, of) for name, of in found.fit.items()}
    planned = {name: counted(rows, of) for name, of in found.plan.items()}
    allowed = np.ones(days.size, bool) if not_after is None else days <= not_after
    of = window_of(made[subject], fit[subject], planned[subject], odds, allowed)
    core, fringe = _core_and_fringe(rows, asked, odds, allowed, found, of)
    usual = late = float("inf")
    if of is not None:
        usual, late = ready_days(rows, found.fit[subject], days, of.first)
    best = None
    if of is not None:
        inside = (np.arange(days.size) >= of.first) & (np.arange(days.size) <= of.last)
        best = longest_run(inside & (made[subject].total == made[subject].total[inside].max()))
    table = _odds_table(rows, asked, made, fit, planned, of)
    seasons = _season_table(rows, found, asked)
    values = _values(rows, asked, of, core, fringe, (usual, late), best, odds, not_after)
    reasons = _reasons(rows, asked, found, of, not_after)
    values["before"], values["after_window"] = reasons
    if seeding is not None:
        place = int(seeding - days[0])
        values["seeding"] = {"seeding": Day(seeding)} | {
            name: {"made_it": made[name].at(place), "ready": fit[name].at(place), "plan": planned[name].at(place)}
            for name in made
        }
    headline, sentences = _said(asked, of, core, fringe, (usual, late), made, planned, reasons, odds, not_after, seeding)
    return Answer(
        "window",
        headline,
        sentences,
        values,
        (table, seasons),
        cautions_of("seeding"),
        site,
        {"corn": corn, "legume": legume, "store": asked.store, "odds": odds},
        rows,
    )


def asked_of(
    site: Site,
    corn: Crop | None,
    legume: Crop | None,
    after: int,
    store: str,
    first: int,
    last: int,
    apart: bool,
    late: bool,
) -> Asked:
    """The question, checked."""
    if first > last:
        raise SettingError(f"The first seeding day, {words(first)}, is after the last, {words(last)}.", "Swap them.")
    if abs(after) > 60:  # beyond that the legume is a late legume, with its own answer
        raise SettingError(
            f"The legume {after} days after the corn is outside -60 to 60.",
            "For a legume sown into standing corn use: frostkit late-legume.",
        )
    if corn is None and legume is None:
        raise SettingError("There is no crop to seed.", "Name a corn, a legume or both.")
    if late and corn is None:
        raise SettingError("Late planting changes the corn's need, and there is no corn.", "Name a corn.")
    together = chopped_together(corn, legume) and not apart
    days = np.arange(first, last + 1)
    return Asked(corn, legume, after, days, wanted(store), together, late, site.latitude)


def ready_days(rows: Ensemble, fit: Mask, days: Ints, since: int) -> tuple[float, float]:
    """Usual (half the possible seasons by) and late (9 in 10 by) first fit day from place `since` on; +inf: not by
    the last day looked at."""
    came = np.sort(first_fit_days(rows, fit, days, since).ravel())
    return tuple(float(came[max(int(np.ceil(odds * came.size - 1e-9)) - 1, 0)]) for odds in (0.5, LATE))  # type: ignore[return-value]


def _core_and_fringe(
    rows: Ensemble, asked: Asked, odds: float, allowed: Mask, found: Grids, of: Window | None
) -> tuple[Window | None, Window | None]:
    """The window at the high end of the hybrid's need, and at its low end; both the window itself without a range."""
    if asked.corn is None or asked.corn.goal_need().unit != "CHU" or asked.corn.goal_need().value <= NEED_RANGE:
        return of, of
    ends = []
    for more in (NEED_RANGE, -NEED_RANGE):
        made = {"corn": made_it(rows.tmin, rows.tmax, corn_plan(asked, more), asked.days)}
        if asked.subject == "both":
            below = _below(rows, asked, more) if asked.together else found.made["legume"]
            made["both"] = made["corn"] & below
        mine, fit = made[asked.subject], found.fit[asked.subject]
        shares = counted(rows, mine), counted(rows, fit), counted(rows, waited(mine, fit))
        ends.append(window_of(*shares, odds, allowed))
    return ends[0], ends[1]


def _odds_table(
    rows: Ensemble,
    asked: Asked,
    made: Mapping[str, Share],
    fit: Mapping[str, Share],
    planned: Mapping[str, Share],
    of: Window | None,
) -> Table:
    """A row a seeding day: ready, made it and plan of each crop and of both; how the corn's harvest came out."""
    subject, days = asked.subject, asked.days
    columns = []
    for name, share_ in made.items():  # of several crops, people read what is asked for: all of them together
        of_subject = name == subject
        columns.append(Column(name, "share", share_, shown=of_subject))
        columns.append(Column(f"{name}.ready", "share", fit[name], shown=of_subject))
        columns.append(Column(f"{name}.plan", "share", planned[name], shown=of_subject))
    if asked.corn is not None and is_silage(asked.corn):
        columns += _outcomes(rows, asked, made["corn"])
    places = np.arange(days.size)
    marked = np.zeros(days.size, bool) if of is None else (places >= of.first) & (places <= of.last)
    brief = np.flatnonzero((places % 5 == 0) | np.isin(places, [] if of is None else [of.first, of.last]))
    return Table("odds", Column("seeding", "day", days.astype(float)), tuple(columns), marked=marked, brief=brief)


def _outcomes(rows: Ensemble, asked: Asked, fit: Share) -> list[Column]:
    """Seasons in which the corn came out fit, usable or lost, sown on each day; the three sum to the seasons."""
    assert asked.corn is not None
    dented = usable(rows.tmin, rows.tmax, asked.corn, asked.days, asked.latitude, asked.frost)[rows.index].sum(0)
    draws, seasons = rows.draws, rows.seasons.size
    as_fit = fit.count
    either = np.maximum(dented.sum(0) // draws, as_fit)
    counts = {"fit": as_fit, "usable": either - as_fit, "lost": seasons - either}
    return [Column(f"outcomes.{name}", "number", values, shown=False) for name, values in counts.items()]


def _season_table(rows: Ensemble, found: Grids, asked: Asked) -> Table:
    """A row a season that is counted: its own window, earliest and latest among the draws."""
    days, subject = asked.days, asked.subject
    worked = found.made[subject] & found.fit[subject]
    early = season_dates(rows, earliest(worked, days))
    late = season_dates(rows, latest(worked, days))
    last_made = season_dates(rows, latest(found.made[subject], days))
    number = worked.sum(axis=1)[rows.index]
    return Table(
        "seasons",
        Column("season", "season", rows.seasons),
        (
            Column("complete", "flag", rows.complete),
            Column("first_fit", "dates", season_dates(rows, earliest(found.fit[subject], days))),
            Column("earliest", "dates", early),
            Column("latest", "dates", late),
            Column("last_made_it", "dates", last_made),
            Column("days_worked.least", "number", number.min(axis=0)),
            Column("days_worked.most", "number", number.max(axis=0)),
        ),
        brief=np.empty(0, np.int64),
    )


def _span(of: Window | None, days: Ints) -> dict[str, Day] | None:
    return None if of is None else {"from": Day(days[of.first]), "to": Day(days[of.last])}


def _values(
    rows: Ensemble,
    asked: Asked,
    of: Window | None,
    core: Window | None,
    fringe: Window | None,
    ready_on: tuple[float, float],
    best: tuple[int, int] | None,
    odds: float,
    not_after: int | None,
) -> dict[str, Any]:
    days = asked.days
    span = _span(of, days) or {"from": None, "to": None}
    return {
        "corn": None if asked.corn is None else asked.corn.name,
        "legume": None if asked.legume is None else asked.legume.name,
        "after": asked.after,
        "store": asked.store.name if asked.corn is not None and is_silage(asked.corn) else None,
        "chopped_together": asked.together,
        "subject": asked.subject,
        "not_after": None if not_after is None else Day(not_after),
        "late_planting": asked.late,
        "window": {"odds_wanted": odds, **span, "core": _span(core, days), "fringe": _span(fringe, days)},
        "ready_days": {"usual": Day(ready_on[0]), "late": Day(ready_on[1])} if of is not None else None,
        "best": None if best is None else {"from": Day(days[best[0]]), "to": Day(days[best[1]])},
    }


def _reasons(
    rows: Ensemble, asked: Asked, found: Grids, of: Window | None, not_after: int | None
) -> tuple[dict | None, dict | None]:
    """What stands before and after the window in most seasons that failed there: {"reason", "whose"} or None."""
    if of is None:
        return None, None
    before = after = None
    crops = [name for name in ("corn", "legume") if name in found.made]
    if of.first > 0:
        place = of.first - 1
        short = {name: int((~found.fit[name][rows.index][..., place]).sum()) for name in crops}
        failed = {name: int((~found.made[name][rows.index][..., place]).sum()) for name in crops}
        name = max(crops, key=lambda one: short[one] + failed[one])
        before = {"reason": "cold_soil" if short[name] >= failed[name] else "spring_frost", "whose": name}
    place = of.last + 1
    if place < asked.days.size and not (not_after is not None and asked.days[place] > not_after):
        failed = {name: int((~found.made[name][rows.index][..., place]).sum()) for name in crops}
        name = max(crops, key=lambda one: failed[one])
        frost = _without_frost(rows, asked, name, place)
        lost = ~found.made[name][rows.index][..., place]
        by_frost = int((lost & frost[rows.index][..., 0]).sum())
        after = {"reason": "fall_frost" if 2 * by_frost >= int(lost.sum()) else "heat", "whose": name}
    return before, after


def _without_frost(rows: Ensemble, asked: Asked, name: str, place: int) -> Mask:
    """Whether a crop would have made it on one day had no frost come. bool [row, 1]"""
    of = corn_plan(asked) if name == "corn" else plan(asked.legume, asked.latitude)  # type: ignore[arg-type]
    stages = tuple(
        replace(
            stage,
            kills_at=None,
            need=stage.need if isinstance(stage.need, int) else stage.need[place],
        )
        for stage in of.stages
    )
    return made_it(rows.tmin, rows.tmax, replace(of, stages=stages), asked.sown(name)[place : place + 1])


def _said(
    asked: Asked,
    of: Window | None,
    core: Window | None,
    fringe: Window | None,
    ready_on: tuple[float, float],
    made: Mapping[str, Share],
    planned: Mapping[str, Share],
    reasons: tuple[dict | None, dict | None],
    odds: float,
    not_after: int | None,
    seeding: int | None,
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, and what carries it."""
    days, subject = asked.days, asked.subject
    crops: dict[str, Any] = {"subject": Term(f"subject_{subject}"), "odds": Odds(odds)}
    if asked.corn is not None:
        crops["corn"] = CropName(asked.corn.name, asked.corn.title)
    if asked.legume is not None:
        crops["legume"] = CropName(asked.legume.name, asked.legume.title)
    if asked.corn is not None and is_silage(asked.corn):
        crops["store"] = Term(f"store_{asked.store.name}")
    of_subject = made[subject]
    sentences: list[Says] = []
    if of is None:
        top = int(np.argmax(of_subject.total))
        best = {"day": Day(days[top]), "made": of_subject.at(top)}
        headline = Says("none", crops)
        sentences.append(Says("most", {**crops, **best}))
    else:
        first, last = Day(days[of.first]), Day(days[of.last])
        usual, late = Day(ready_on[0]), Day(ready_on[1])
        at = of_subject.at(of.last)
        headline = Says("window", {**crops, "first": first, "last": last})
        sentences.append(Says("ready", {"first": first, "usual": usual, "late": late, "subject": crops["subject"]}))
        sentences.append(Says("made", {**crops, "last": last, "made": at}))
        sentences.append(Says("plan", {"first": first, "plan": planned[subject].at(of.first)}))
        if core != fringe:
            amount = Amount(NEED_RANGE, "CHU")
            if core is not None:
                sentences.append(
                    Says("core", {"first": Day(days[core.first]), "last": Day(days[core.last]), "more": amount})
                )
            else:
                sentences.append(Says("no_core", {"more": amount, "odds": crops["odds"]}))
            if fringe is not None:
                sentences.append(
                    Says("fringe", {"first": Day(days[fringe.first]), "last": Day(days[fringe.last]), "less": amount})
                )
        for side, reason in zip(("before", "after_window"), reasons, strict=True):
            if reason is not None:
                day = first if side == "before" else last
                whose = Term(f"subject_{reason['whose']}")
                sentences.append(Says(side, {"day": day, "reason": Term(f"reason_{reason['reason']}"), "whose": whose}))
        if of.last == days.size - 1:
            sentences.append(Says("edge_last", {"last": last}))
        if of.first == 0:
            sentences.append(Says("edge_first", {"first": first}))
        if not_after is not None and days[of.last] == not_after:
            sentences.append(Says("not_after", {"last": last}))
    if seeding is not None:
        place = int(seeding - days[0])
        sentences.append(
            Says("one_day", {"day": Day(seeding), "made": of_subject.at(place), "plan": planned[subject].at(place)})
        )
    return headline, tuple(sentences)
