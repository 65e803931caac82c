"""How far the odds were off in the past: asked before each past season, held against what came."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, CropName, Day, Says, Table, Term
from frostkit.answers.plans import plan
from frostkit.answers.seeding.grids import NEEDS, Asked, asking, corn_plan, under_corn
from frostkit.answers.station.frost import degrees
from frostkit.answers.units import frost_degrees
from frostkit.crops.entry import Crop
from frostkit.ensemble.past import ensembles_before
from frostkit.ensemble.site import AS_READ, Ensemble, Site
from frostkit.errors import choose
from frostkit.odds.hindcast import (
    AHEAD,
    ALL,
    ENOUGH,
    FIXED,
    RECENT,
    Cases,
    Judged,
    Predicted,
    Question,
    hindcast,
    judged,
    luck,
    predictive,
)
from frostkit.seasons.calendar import DAYS, SPLIT, column
from frostkit.seasons.frost import first_fall, last_spring
from frostkit.seasons.windows import made_it

Ints = NDArray[np.int64]
EVENTS = ("first-fall-frost", "last-spring-frost", "seeding")
QUICK, QUICK_DAYS = 24, 3  # where another answer ends with the one line: newest seasons judged, every third day of each
FAIR = 0.005  # bias below which odds were neither too high nor too low: half a point, as it is printed
SHIFTS = 20  # draws of the climate's move, for the check of intervals


@dataclass(frozen=True)
class Event:
    """What is judged.

    name : one of `EVENTS`; question, days : see `odds.hindcast`; needs : elements asked for
    values : what names it in sentences and for programs; key : all that it hangs on, for `Site.once`
    """

    name: str
    question: Question
    days: Ints
    needs: tuple[str, ...]
    values: Mapping[str, Any]
    key: tuple[Any, ...]

    def says(self) -> Says:
        """The event in words."""
        return Says(f"event_{self.name.replace('-', '_')}", self.values)


def frost_event(name: str, threshold: float) -> Event:
    """The first fall or the last spring frost at or below a threshold [degC], on or before a day."""
    split = column(*SPLIT)
    date: Callable[..., NDArray[np.float64]] = first_fall if name == "first-fall-frost" else last_spring
    days = np.arange(split, DAYS) if name == "first-fall-frost" else np.arange(split)

    def question(rows: Any, days: Ints) -> NDArray[np.bool_]:
        return np.asarray(date(rows.tmin, threshold)[:, None] <= days)

    return Event(name, question, days, ("tmin",), {"threshold": degrees(threshold)}, (name, threshold))


def made_on(rows: Any, asked: Asked) -> NDArray[np.bool_]:
    """Whether what was asked for made it, sown on each day whatever the soil, as `grids` has it. bool [row, day]"""
    corn = None if asked.corn is None else made_it(rows.tmin, rows.tmax, corn_plan(asked), asked.days)
    if corn is not None and asked.legume is not None and asked.together:
        return corn & under_corn(rows, asked)
    if asked.legume is None:
        assert corn is not None
        return corn
    of = plan(asked.legume, asked.latitude, frost=asked.frost)
    legume = made_it(rows.tmin, rows.tmax, of, asked.sown("legume"))
    return legume if corn is None else corn & legume


def seeding_event(asked: Asked) -> Event:
    """Sown on a day, what the window is for made it: the odds that `window` prints."""

    def question(rows: Any, days: Ints) -> NDArray[np.bool_]:
        return made_on(rows, replace(asked, days=days))

    values: dict[str, Any] = {"subject": Term(f"subject_{asked.subject}")}
    if asked.corn is not None:
        values["corn"] = CropName(asked.corn.name, asked.corn.title)
    if asked.legume is not None:
        values["legume"] = CropName(asked.legume.name, asked.legume.title)
    return Event("seeding", question, asked.days, NEEDS, values, ("seeding", *asked.key))


def cases_of(site: Site, event: Event, newest: int | None = None, **how: Any) -> Cases:
    """Every forecast of an event at a site, and what happened. newest : see `hindcast`; how : `ensembles_before`"""

    def before(years: Any) -> Any:
        return ensembles_before(site, years, event.needs, **how)

    return hindcast(_as_read(site, event.needs, **how), event.question, event.days, before, newest=newest)


def _as_read(site: Site, needs: tuple[str, ...], **how: Any) -> Ensemble:
    """All counted seasons before the one asked for, as they were read."""
    last = int(site.folded.seasons[-1]) + 1
    asked = last if site.for_season is None else min(last, site.for_season)
    return next(ensembles_before(site.asking(asked, AS_READ), [asked], needs, **how))


def intervals_hold(site: Site, event: Event, cases: Cases, ahead: int = AHEAD) -> Predicted:
    """Whether the number of yes in the next seasons lies within the range given for it.

    Asked every so many seasons, so that none is looked at twice.
    """
    known = cases.seasons[cases.complete]
    years = known[np.isin(known, cases.year)][::ahead].tolist()
    ensembles = ensembles_before(site, years, event.needs, SHIFTS)
    return predictive(cases, ensembles, event.question, ahead)


def track_record(
    site: Site,
    event: str = "first-fall-frost",
    threshold: float = 0.0,
    corn: Crop | None = None,
    legume: Crop | None = None,
    *,
    after: int = 0,
    store: str = "bunker",
    apart: bool = False,
    late_planting: bool = False,
) -> Answer:
    """How far the odds of an event were off in the past at this station.

    Parameters
    ----------
    site : Site
    event : one of `EVENTS`; "seeding": what `window` prints as made it, for the crops given
    threshold : of the frost [degC]
    corn, legume : entries, for "seeding"
    after, store, apart, late_planting : as in `answers.seeding.window`

    Raises
    ------
    SettingError
        For an event that is not known, or one that does not go with what is asked.
    RecordError
        Where no season counts.
    """
    choose("event", event, EVENTS)
    if event == "seeding":
        of = seeding_event(asking(site, corn, legume, after=after, store=store, apart=apart, late=late_planting))
    else:
        of = frost_event(event, frost_degrees(threshold))
    rows = site.ensemble(of.needs)  # refuses a record in which no season counts
    cases = cases_of(site, of)
    own = judged(cases.given, cases.happened)
    by_luck = luck(cases.given)
    held = intervals_hold(site, of, cases)
    others = {name: judged(odds, cases.happened) for name, odds in cases.against.items()}
    said = _said(of, cases, own, others, held, by_luck)
    values = {
        "event": event,
        "threshold_c": threshold if event != "seeding" else None,
        "corn": None if corn is None or event != "seeding" else corn.name,
        "legume": None if legume is None or event != "seeding" else legume.name,
        "first_seasons": cases.first,
        "years": _years(cases),
        "days": {"from": Day(cases.days[0]), "to": Day(cases.days[-1])} if cases.days.size else None,
        "judged": judged_values(own, others[FIXED])
        | {
            "coverage": _known(held.within),
            "below": _known(held.below),
            "above": _known(held.above),
            "gap_of_perfect_odds": _known(by_luck),
        },
    }
    settings = {"event": event, "threshold": threshold, "corn": corn, "legume": legume}
    return Answer(
        "track-record", said[0], said[1:], values, (_tenths(own), _compared(own, others)), (), site, settings,
        rows, Says("do_end"),
    )  # fmt: skip


def judged_values(own: Judged, fixed: Judged) -> dict[str, Any]:
    """How far odds were off, for programs: shares as fractions."""
    table = zip(own.tenths.given, own.tenths.happened, own.tenths.forecasts, strict=True)
    return {
        "seasons": own.seasons,
        "forecasts": own.forecasts,
        "brier": _known(own.brier),
        "fixed_brier": _known(fixed.brier),
        "mean_gap": _known(own.mean_gap),
        "largest_gap": _known(own.largest_gap),
        "bias": _known(own.bias),
        "tenths": [{"given": float(a), "happened": float(b), "forecasts": int(n)} for a, b, n in table],
    }


def _known(value: float) -> float | None:
    return None if value != value else float(value)


def _years(cases: Cases) -> list[int] | None:
    return [int(cases.year[0]), int(cases.year[-1])] if cases.year.size else None


def _points(share: float) -> Amount:
    """A difference of shares, in points of a hundred."""
    return Amount(100 * abs(share), "points", 1)


def _said(
    of: Event, cases: Cases, own: Judged, others: Mapping[str, Judged], held: Predicted, by_luck: float
) -> tuple[Says, ...]:
    """The verdict, and what carries it."""
    if not own.forecasts:
        key = "settled" if not cases.days.size and cases.complete[cases.first :].any() else "too_few"
        whole = int(cases.complete.sum())
        return (Says(key, {"event": of.says(), "seasons": cases.seasons.size, "complete": whole}),)
    said = [headline_of(of, cases, own)]
    said.append(Says(f"bias_{_side(own.bias)}", {"bias": _points(own.bias)}))
    said.append(Says("luck", {"luck": _points(by_luck)}))
    better = 1 - own.brier / others[FIXED].brier if others[FIXED].brier > 0 else 0.0
    how = "better" if better > 0.005 else "worse" if better < -0.005 else "same"
    percent = Amount(100 * abs(better), "%")
    said.append(Says(f"fixed_{how}", {"first": cases.first, "percent": percent, "as_read": _points(others[ALL].bias)}))
    if held.forecasts:
        said.append(Says("held", {"within": Amount(100 * held.within, "%"), "ahead": AHEAD}))
    if own.seasons < ENOUGH:
        said.append(Says("few", {"seasons": own.seasons}))
    said.append(Says("days", {"first": Day(cases.days[0]), "last": Day(cases.days[-1]), "seasons": cases.first}))
    return tuple(said)


def headline_of(of: Event, cases: Cases, own: Judged) -> Says:
    """How far the odds were off, in one line."""
    first, last = int(cases.year[0]), int(cases.year[-1])
    values = {"event": of.says(), "seasons": own.seasons, "first": str(first), "last": str(last)}
    return Says("off", {**values, "gap": _points(own.mean_gap)})


def _side(bias: float) -> str:
    return "none" if abs(bias) < FAIR else "high" if bias > 0 else "low"


def _tenths(own: Judged) -> Table:
    """Odds given against what happened, by tenths of the odds."""
    of = own.tenths
    return Table(
        "by_tenths",
        Column("given_percent", "amount", 100 * of.given, "%"),
        (
            Column("happened_percent", "amount", 100 * of.happened, "%"),
            Column("forecasts", "number", of.forecasts),
        ),
    )


def _compared(own: Judged, others: Mapping[str, Judged]) -> Table:
    """The odds that are printed beside plainer ones."""
    ways = {"printed": own, **{name: others[name] for name in (RECENT, ALL, FIXED)}}
    found = list(ways.values()) if own.forecasts else []
    return Table(
        "compared",
        Column("way", "term", [f"way_{name}" for name in ways] if found else []),
        (
            Column("brier", "amount", [one.brier for one in found], "", 4),
            Column("mean_gap", "amount", [100 * one.mean_gap for one in found], "points", 1),
            Column("bias", "amount", [100 * one.bias for one in found], "points", 1),
        ),
    )


def quickly_judged(site: Site, event: Event) -> tuple[Cases, Judged]:
    """An event judged over the newest seasons and every third day alone, for a line beside another answer."""

    def asked_before() -> tuple[Cases, Judged]:
        cases = cases_of(site, replace(event, days=event.days[::QUICK_DAYS]), QUICK, draws=1)
        return cases, judged(cases.given, cases.happened)

    return site.once(("judged", *event.key), asked_before)


def in_one_line(answer: Answer, site: Site, event: Event) -> Answer:
    """Another answer with the track record of its own odds as its last sentence, over the newest seasons alone."""
    cases, own = quickly_judged(site, event)
    if not own.forecasts:
        return answer.with_more(values={"track_record": None})
    headline = headline_of(event, cases, own)
    said = Says(
        "track_record", {**headline.values, "bias": Says(f"side_{_side(own.bias)}", {"bias": _points(own.bias)})}
    )
    against = judged(cases.against[FIXED], cases.happened)
    values = judged_values(own, against) | {"years": _years(cases)}
    return answer.with_more([said], {"track_record": values})
