"""When to seed corn, the legume, and both in the same seasons: the window at the odds wanted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

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
    season_dates,
)
from frostkit.answers.cautions import cautions_of
from frostkit.answers.corn import is_silage, off_range, usable
from frostkit.answers.legume.growth import worth_having_from
from frostkit.answers.plans import plan
from frostkit.answers.seeding.grids import (
    FIRST,
    LAST,
    NEEDS,
    SOON,
    Asked,
    Grids,
    Mask,
    Window,
    asking,
    corn_plan,
    grids,
    reached,
    ready_days,
    totals,
    window_of,
    with_cold,
    with_need,
)
from frostkit.answers.seeding.pays import pays
from frostkit.answers.seeding.pooled import pooled
from frostkit.answers.seeding.ratings import as_sold, heat_met, largest, met_at, on_first_fit_day
from frostkit.answers.working import has_rain, needs_of
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share
from frostkit.seasons.calendar import words
from frostkit.seasons.windows import earliest, latest, made_it, waited

NEED_RANGE = 150.0  # CHU to either side of a hybrid's need: the moisture curve's own scatter (DESIGN)


@dataclass(frozen=True)
class Decided:
    """The window and what goes with it; windows are places among the seeding days.

    window, core, fringe : at the hybrid's own need, at the high and at the low end of its range; None: no such day
    ready_on : usual and late first fit day, columns; best : first and last of the days that made it most often
    before, after : what stands in the way on either side, {"reason", "whose"}
    smaller : where the corn is what fails, the largest rating that would make it [CHU], None where it is not
    cold : the window should the tenderest, the hardiest of the sources be right on the cold that kills
    off : moisture above the store's range of the corn sown on the last day that came out usable, the middle of its
        seasons [points]; NaN where none did
    """

    window: Window | None
    core: Window | None
    fringe: Window | None
    ready_on: tuple[float, float]
    best: tuple[int, int] | None
    before: dict[str, str] | None
    after: dict[str, str] | None
    smaller: int | None
    cold: dict[str, Window | None]
    off: float


@dataclass(frozen=True)
class Counted:
    """The three shares of every seeding day, by "corn", "legume", "both"."""

    made: dict[str, Share]
    fit: dict[str, Share]
    plan: dict[str, Share]


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
    worth: float | None = None,
    per_day: float = 0.0,
    loss: float = 0.0,
    also: Sequence[Site] = (),
    workdays: bool = False,
    need_range: float = NEED_RANGE,
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
    worth, per_day, loss : see `pays.pays`; left out, no day is weighed by what it brings
    also : the same field at other stations, see `pooled.pooled`
    workdays : ready needs a day on which the field can be worked too, where the record has rain
    need_range : CHU to either side of the corn's need that core and fringe span; narrower for a hybrid known by samples

    Raises
    ------
    SettingError
        For odds, days, crops or amounts that are not allowed.
    CropError
        For late planting with a corn whose entry has no figure for it.
    RecordError
        Where no season counts.
    """
    asked = asking(
        site, corn, legume, after=after, store=store, first=first, last=last, apart=apart, late=late_planting
    )
    odds = checked_odds(odds)
    if seeding is not None and not first <= seeding <= last:
        raise SettingError(
            f"{words(seeding)} is not among the seeding days looked at.",
            f"Give a day from {words(first)} to {words(last)}.",
        )
    if worth is None and (per_day or loss):
        raise SettingError("What a later day or a failure costs is weighed against a worth.", "Give --worth too.")
    rain = workdays and has_rain(site)
    asked = replace(asked, workdays=rain)
    rows = site.ensemble(needs_of(site) if rain else NEEDS)
    found, shares = site.once(("window", *asked.key), lambda: _counted(rows, asked))
    of = _decided(rows, asked, found, odds, not_after, need_range)
    table = _odds_table(rows, asked, shares, of.window)
    headline, sentences = _said(asked, of, shares, table, odds, not_after, need_range)
    answer = Answer(
        "window",
        headline,
        sentences,
        _values(asked, of, odds, not_after) | {"need_range_chu": round(need_range, 1)},
        (table, _season_table(rows, found, asked)),
        cautions_of("seeding"),
        site,
        {"corn": corn, "legume": legume, "store": asked.store, "odds": odds},
        rows,
        Says("do_choose") if of.window is None else Says("do_ready", {"day": Day(asked.days[of.window.first])}),
    )
    if workdays:
        answer = answer.with_more([Says("workdays" if rain else "no_rain")], {"workdays": rain})
    if seeding is not None:
        answer = _one_day(answer, asked, shares, seeding)
    if worth is not None:
        answer = pays(answer, rows, asked, found, shares.plan[asked.subject], worth, per_day, loss)
    return pooled(answer, asked, found, also, odds, not_after) if also else answer


def _counted(rows: Ensemble, asked: Asked) -> tuple[Grids, Counted]:
    """What happened on every seeding day, and its shares: whatever odds are wanted."""
    found = grids(rows, asked)
    return found, Counted(*({name: counted(rows, of) for name, of in part.items()} for part in _parts(found)))


def _parts(found: Grids) -> tuple[dict[str, Mask], ...]:
    return found.made, found.fit, found.plan


def _decided(
    rows: Ensemble, asked: Asked, found: Grids, odds: float, not_after: int | None, need_range: float
) -> Decided:
    """The window, its core and fringe, and what stands on either side."""
    days, subject, every = asked.days, asked.subject, rows.index.size
    allowed = np.ones(days.size, bool) if not_after is None else days <= not_after
    made, fit, planned = (totals(rows, part[subject]) for part in _parts(found))
    soon = reached(fit, every, SOON)
    of = window_of(reached(made, every, odds), soon, reached(planned, every, odds), allowed)
    core = fringe = of
    if asked.corn is not None and asked.corn.goal_need().unit == "CHU" and asked.corn.goal_need().value > need_range:
        ends = []
        for more in (need_range, -need_range):
            mine = with_need(rows, asked, found, more)
            both = (mine, waited(mine, found.fit[subject]))
            reach = [reached(totals(rows, part), every, odds) for part in both]
            ends.append(window_of(reach[0], soon, reach[1], allowed))
        core, fringe = ends
    cold = {}
    for frost in ("tender", "hardy"):
        mine = with_cold(rows, asked, found, frost)
        reach = [reached(totals(rows, part), every, odds) for part in (mine, waited(mine, found.fit[subject]))]
        cold[frost] = window_of(reach[0], soon, reach[1], allowed)
    since = of.first if of is not None else int(np.argmax(soon))
    ready_on = ready_days(rows, found.fit[subject], days, since)
    best = before = after = smaller = None
    if of is not None:
        inside = (np.arange(days.size) >= of.first) & (np.arange(days.size) <= of.last)
        best = longest_run(inside & (made == made[inside].max()))
        before, after = _reasons(rows, asked, found, of, not_after)
    elif asked.corn is not None and asked.corn.rating is not None:
        smaller = _smaller(rows, asked, found, odds, allowed, since)
    off = float("nan") if of is None else _off_range(rows, asked, found, of.last)
    return Decided(of, core, fringe, ready_on, best, before, after, smaller, cold, off)


def _off_range(rows: Ensemble, asked: Asked, found: Grids, place: int) -> float:
    """Points above the store's range, the middle of the possible seasons that came out usable; NaN for none."""
    if asked.corn is None or not is_silage(asked.corn):
        return float("nan")
    day = asked.days[place : place + 1]
    dented = usable(rows.tmin, rows.tmax, asked.corn, day, asked.latitude, asked.frost)[:, 0]
    these = (dented & ~found.made["corn"][:, place])[rows.index]
    if not these.any():
        return float("nan")
    points = off_range(rows.tmin, rows.tmax, asked.corn, day, asked.store, asked.latitude, asked.frost)[:, 0]
    return float(np.median(points[rows.index][these]))


def _smaller(rows: Ensemble, asked: Asked, found: Grids, odds: float, allowed: Mask, since: int) -> int | None:
    """The largest rating whose plan from a place on makes it where the corn asked for does not; None where it does."""
    assert asked.corn is not None and asked.corn.rating is not None
    use = "silage" if is_silage(asked.corn) else "grain"
    met = heat_met(rows, use, asked.store, asked.days, asked.latitude, asked.frost)
    by_plan = on_first_fit_day(met, found.fit["corn"] & allowed)[:, since : since + 1]
    rating = as_sold(largest(met_at(rows, by_plan, odds), use, asked.store)[0])
    return rating if rating is not None and rating < asked.corn.rating.value else None


def _odds_table(rows: Ensemble, asked: Asked, shares: Counted, of: Window | None) -> Table:
    """A row a seeding day: ready, made it and plan of each crop and of both; how the corn's harvest came out."""
    subject, days = asked.subject, asked.days
    columns = []
    for name in shares.made:  # of several crops, people read what is asked for: all of them together
        parts = {name: shares.made, f"{name}.ready": shares.fit, f"{name}.plan": shares.plan}
        columns += [Column(key, "share", part[name], shown=name == subject) for key, part in parts.items()]
    if asked.corn is not None and is_silage(asked.corn):
        columns += _outcomes(rows, asked, shares.made["corn"])
    places = np.arange(days.size)
    marked = np.zeros(days.size, bool) if of is None else (places >= of.first) & (places <= of.last)
    brief = np.flatnonzero((places % 5 == 0) | np.isin(places, [] if of is None else [of.first, of.last]))
    return Table("odds", Column("seeding", "day", days.astype(float)), tuple(columns), marked=marked, brief=brief)


def _outcomes(rows: Ensemble, asked: Asked, fit: Share) -> list[Column]:
    """Seasons in which the corn came out fit, usable or lost, sown on each day; the three sum to the seasons."""
    assert asked.corn is not None
    dented = totals(rows, usable(rows.tmin, rows.tmax, asked.corn, asked.days, asked.latitude, asked.frost))
    as_fit = fit.count
    either = np.maximum(dented // rows.draws, as_fit)
    counts = {"fit": as_fit, "usable": either - as_fit, "lost": rows.seasons.size - either}
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


def _span(of: Window | None, asked: Asked) -> dict[str, Day] | None:
    return None if of is None else {"from": Day(asked.days[of.first]), "to": Day(asked.days[of.last])}


def _values(asked: Asked, of: Decided, odds: float, not_after: int | None) -> dict[str, Any]:
    """The decisions for programs."""
    span: dict[str, Day] | dict[str, None] = _span(of.window, asked) or {"from": None, "to": None}
    best = None if of.best is None else _span(Window(*of.best), asked)
    return {
        "corn": None if asked.corn is None else asked.corn.name,
        "legume": None if asked.legume is None else asked.legume.name,
        "after": asked.after,
        "store": asked.store.name if asked.corn is not None and is_silage(asked.corn) else None,
        "chopped_together": asked.together,
        "legume_goal_kg_ha": worth_having_from() if asked.subject == "both" and asked.together else None,
        "subject": asked.subject,
        "not_after": None if not_after is None else Day(not_after),
        "late_planting": asked.late,
        "window": {"odds_wanted": odds, **span, "core": _span(of.core, asked), "fringe": _span(of.fringe, asked)},
        "at_edge": {
            "from": of.window is not None and of.window.first == 0,
            "to": of.window is not None and of.window.last == asked.days.size - 1,
        },
        "cold": {frost: _span(one, asked) for frost, one in of.cold.items()},
        "usable_points_off": None if of.off != of.off else Amount(of.off, "points", 1),
        "ready_days": {"usual": Day(of.ready_on[0]), "late": Day(of.ready_on[1])},
        "best": best,
        "smaller_rating": of.smaller,
        "before": of.before,
        "after_window": of.after,
    }


def _one_day(answer: Answer, asked: Asked, shares: Counted, seeding: int) -> Answer:
    """The answer with the odds of one seeding day told apart, each crop's as in its row of the table."""
    place = int(seeding - asked.days[0])
    of = {
        name: {**made.at(place).as_dict(), "ready": shares.fit[name].at(place), "plan": shares.plan[name].at(place)}
        for name, made in shares.made.items()
    }
    made, planned = shares.made[asked.subject], shares.plan[asked.subject]
    says = Says("one_day", {"day": Day(seeding), "made": made.at(place), "plan": planned.at(place)})
    return answer.with_more([says], {"seeding": {"seeding": Day(seeding), **of}})


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


def crops_said(asked: Asked) -> Any:
    """What is seeded and where it goes: "silage corn rated 2,300 CHU for the bunker and late forage soybean"."""
    said: list[Any] = []
    if asked.corn is not None:
        corn = CropName(asked.corn.name, asked.corn.title)
        store = {"corn": corn, "store": Term(f"store_{asked.store.name}")}
        said.append(Says("corn_for_store", store) if is_silage(asked.corn) else corn)
    if asked.legume is not None:
        said.append(CropName(asked.legume.name, asked.legume.title))
    return said[0] if len(said) == 1 else Says("and", {"first": said[0], "last": said[1]})


def _said(
    asked: Asked,
    of: Decided,
    shares: Counted,
    table: Table,
    odds: float,
    not_after: int | None,
    need_range: float,
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, and what carries it."""
    days = asked.days
    made, planned = shares.made[asked.subject], shares.plan[asked.subject]
    about = {"crops": crops_said(asked), "subject": Term(f"subject_{asked.subject}"), "odds": Odds(odds)}
    if asked.corn is not None and is_silage(asked.corn):
        about["store"] = Term(f"store_{asked.store.name}")
    if of.window is None:
        top = int(np.argmax(made.total))
        best = {**about, "day": Day(days[top]), "made": made.at(top)}
        if of.smaller is None:
            return Says("none", best), ()
        assert asked.corn is not None
        use = Term("silage_corn" if is_silage(asked.corn) else "grain_corn")
        rating = {"use": use, "rating": Amount(of.smaller, "CHU"), "usual": Day(of.ready_on[0])}
        return Says("too_late", {**best, **rating}), (Says("too_late_best", best),)
    first, last = Day(days[of.window.first]), Day(days[of.window.last])
    usual, late = (Day(day) for day in of.ready_on)
    sentences = [
        Says("ready", {"first": first, "usual": usual, "late": late}),
        Says("made", {**about, "last": last, "made": made.at(of.window.last)}),
        *([Says("edge_last", {"last": last})] if of.window.last == days.size - 1 else []),
        *([Says("edge_first", {"first": first})] if of.window.first == 0 else []),
        Says("plan", {"first": first, "plan": planned.at(of.window.first)}),
        *_outcomes_said(about, last, table, of),
        *_core_said(asked, of, odds, need_range),
        *_cold_said(asked, of, odds),
    ]
    for side, day, reason in (("before", first, of.before), ("after_window", last, of.after)):
        if reason is not None:
            whose = Term(f"subject_{reason['whose']}")
            sentences.append(Says(side, {"day": day, "reason": Term(f"reason_{reason['reason']}"), "whose": whose}))
    if not_after is not None and days[of.window.last] == not_after:
        sentences.append(Says("not_after", {"last": last}))
    if asked.subject == "both" and asked.together:
        sentences.append(Says("legume_goal", {"goal": Amount(worth_having_from(), "kg/ha")}))
    return Says("window", {**about, "first": first, "last": last}), tuple(sentences)


def _outcomes_said(about: dict[str, Any], last: Day, table: Table, of: Decided) -> list[Says]:
    """How the corn's harvest came out, sown on the window's last day; nothing for what does not go into a store."""
    if "outcomes.fit" not in table or of.window is None:
        return []
    counts = {name: int(table[f"outcomes.{name}"].values[of.window.last]) for name in ("fit", "usable", "lost")}
    said = [Says("outcomes", {"last": last, "seasons": sum(counts.values()), **counts, **about})]
    if counts["usable"] and of.off == of.off:
        said.append(Says("usable", {"off": Amount(of.off, "points", 0), **about}))
    return said


def _cold_said(asked: Asked, of: Decided, odds: float) -> list[Says]:
    """Where the sources' disagreement on the cold that kills decides the last day."""
    last = {name: None if one is None else one.last for name, one in of.cold.items()}
    if of.window is None or last["tender"] == last["hardy"] == of.window.last:
        return []
    if of.cold["tender"] is None or of.cold["hardy"] is None:
        return [Says("no_tender", {"odds": Odds(odds)})]
    tender, hardy = (Day(asked.days[of.cold[name].last]) for name in ("tender", "hardy"))  # type: ignore[union-attr]
    return [Says("cold", {"tender": tender, "hardy": hardy})]


def _core_said(asked: Asked, of: Decided, odds: float, need_range: float) -> list[Says]:
    """The window at either end of the hybrid's need, where it differs."""
    if of.core == of.window == of.fringe:
        return []
    amount = Amount(need_range, "CHU")
    said = [Says("no_core", {"amount": amount, "odds": Odds(odds)})]
    if of.core is not None:
        said = [Says("core", {"first": Day(asked.days[of.core.first]), "last": Day(asked.days[of.core.last]),
                              "amount": amount})]  # fmt: skip
    if of.fringe is not None:
        span = {"first": Day(asked.days[of.fringe.first]), "last": Day(asked.days[of.fringe.last])}
        said.append(Says("fringe", {**span, "amount": amount}))
    return said
