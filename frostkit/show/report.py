"""The page a grower takes home: one to two printed pages of HTML that stand alone, in any of the languages."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from frostkit.answers import feed
from frostkit.answers.field import over
from frostkit.answers.frosts import FrostAnswer, frosts
from frostkit.answers.holdings import holdings
from frostkit.answers.late_legume import LateLegumeAnswer, Sown, late_legume
from frostkit.answers.seeding import RATING_STEP, SeedingAnswer, seeding
from frostkit.answers.spread import Spread, spread
from frostkit.answers.station import Behind
from frostkit.answers.track_record import track_record
from frostkit.answers.warmth import gathered
from frostkit.crops.entry import Crop
from frostkit.errors import FrostkitError
from frostkit.seasons.calendar import column
from frostkit.show import phrases
from frostkit.show.look import svg
from frostkit.show.page import made_line, rendered
from frostkit.show.pictures.frost import day_at
from frostkit.show.pictures.seeding import seeding_panels
from frostkit.show.texts import Texts, texts

THRESHOLDS = (0.0, -2.2)  # a frost in the screen; 28 °F, as it is stored
HEAT_DAYS = column(5, 15), column(9, 15)  # corn's time in the ground on the northern plains: common practice, no source
EVERY, ROWS = (5, 10, 15, 30), 13  # a row of the odds table for every so many seeding days, the first that fits
MARGIN = 15  # days listed on either side of the window
OTHER = ("PRCP", "SNOW", "SNWD")  # what was mended among elements that no answer here uses


@dataclass(frozen=True)
class Units:
    """The units a page is written in: temperatures in °C or °F, heat in CHU or degree days, mass in kg/ha or lb/ac."""

    fahrenheit: bool = False
    heat: str = "chu"
    pounds: bool = False


@dataclass(frozen=True)
class Asked:
    """What the page is asked for: crops, days and odds, and the command that makes it again."""

    corn: Crop | None
    legume: Crop | None
    after: int = 0
    odds: float = 0.8
    not_after: int | None = None
    command: str = "frostkit report"


def report(at: Behind, asked: Asked, units: Units | None = None, language: str = "en", made: date | None = None) -> str:
    """The page as HTML, without anything from outside: pictures inline, no script, ready to print.

    Parameters
    ----------
    at : Behind
    asked : Asked
    units : Units
    language : one of `texts.LANGUAGES`
    made : the day written on it; today where it is left out
    """
    say, units = texts(language), units or Units()
    answer = over(at, seeding, asked.corn, asked.legume, odds=asked.odds, after=asked.after, not_after=asked.not_after)
    late = _late(at, asked, answer)
    frost = [over(at, frosts, threshold) for threshold in THRESHOLDS]
    seen: dict[str, Any] = {}
    for of in (answer, late, *frost):
        seen.update({caution.topic: caution for caution in (of.cautions if of is not None else ())})
    title = {"both": "title", "corn": "title_corn", "legume": "title_legume"}[answer.subject]
    head, under = phrases.headline(say, answer)
    shows = say("report.picture", title=head, under=under)
    page = {
        "language": language,
        "title": say(f"report.{title}", place=phrases.station_name(say, at)),
        "invented": at.invented,
        "made": made_line(say, made),
        "again": asked.command,
        "window": _window(say, answer, head, under),
        "picture": svg(seeding_panels(answer, language), shows),
        "picture_narrow": svg(seeding_panels(answer, language, wide=4.6), shows),
        "odds": _odds(say, answer),
        "late": None if late is None else _late_table(say, late, units),
        "frost": _frost_table(say, frost, units),
        "heat": _heat(say, at, units),
        "worth": _worth(say, units) if asked.legume is not None else [],
        "record": _record(say, at, units),
        "track_record": _track(say, at),
        "cautions": [phrases.caution(say, caution, units.fahrenheit) for caution in seen.values()],
        "unknown": [say(f"unknowns.{key}") for key in answer.does_not_know()],
        "sources": _sources(say, at, asked, units),
    }
    return rendered("report.html", say, page)


def _window(say: Texts, answer: SeedingAnswer, head: str, under: str) -> dict[str, Any]:
    share = answer.odds[answer.subject]
    lines = []
    if answer.best is not None:
        top = answer.best.first - int(answer.days[0])
        lines.append(say("window.best", span=phrases.span(say, answer.best), count=phrases.count(say, share, top),
                         interval=phrases.percent(say, share, top)))  # fmt: skip
    lines += [phrases.ends(say, answer), phrases.blur(say, answer, RATING_STEP), phrases.newest(say, answer)]
    if gaps := int(answer.gaps().sum()):
        lines.append(say("window.gaps", count=gaps, total=answer.seasons.size))
    return {"head": head, "under": under, "lines": [line for line in lines if line]}


def _listed_days(answer: SeedingAnswer) -> list[int]:
    """The seeding days of the odds table: those the sentences speak of, and others around the window, ROWS at most."""
    if answer.window is None or answer.best is None:
        return [int(day) for day in answer.days[:: 2 * EVERY[0]]]
    named = {*answer.window, answer.best.first, int(answer.days[phrases.least(answer)])}
    low, high = answer.window.first - MARGIN, answer.window.last + MARGIN  # farther off nothing worked
    for every in EVERY:
        days = named | {int(day) for day in answer.days[::every] if low <= day <= high}
        if len(days) <= ROWS:
            break
    return sorted(days)


def _odds(say: Texts, answer: SeedingAnswer) -> dict[str, Any]:
    days = _listed_days(answer)
    subject = answer.odds[answer.subject]
    rows = []
    for day in days:
        index = day - int(answer.days[0])
        inside = answer.window is not None and answer.window.first <= day <= answer.window.last
        cells = [phrases.count(say, share, index) for share in answer.odds.values()]
        unknown = int(subject.not_known[index])
        cells += [phrases.percent(say, subject, index), str(unknown) if unknown else ""]
        rows.append({"day": say.day(day), "inside": inside, "cells": cells})
    heads = [say(f"crops.title_{name}") for name in answer.odds]
    return {
        "note": say("report.odds_note", crops=say(f"crops.{answer.subject}")),
        "heads": [*heads, say("report.col_interval"), say("report.col_unknown")],
        "rows": rows,
    }


def _late(at: Behind, asked: Asked, answer: SeedingAnswer) -> LateLegumeAnswer | None:
    if asked.corn is None or asked.legume is None:
        return None
    day = answer.best.first if answer.best is not None else column(5, 20)
    return over(at, late_legume, asked.corn, asked.legume, day, odds=asked.odds)


def _late_table(say: Texts, late: LateLegumeAnswer, units: Units) -> dict[str, Any]:
    bean = late.beans[0]
    whole = late.behind.complete
    title = phrases.capital(phrases.crop_title(say, bean.crop))
    wanted = say("say.tenths", tenths=say.plain(late.odds_wanted * 10))
    run = phrases.sowing_run(bean, late.odds_wanted)
    lead = say("report.late_lead_few" if phrases.too_few(bean) else "report.late_lead_none", bean=title, wanted=wanted)
    if run is not None:
        lead = say("report.late_lead", bean=title, span=phrases.span(say, run), wanted=wanted)

    def cells(sown: Sown) -> list[str]:
        within, alone = phrases.row(sown.odds), phrases.row(sown.alone)
        vegetative = spread(sown.vegetative, whole) if sown.vegetative is not None else None
        heat = spread(sown.heat_at_chop, whole)
        factor = 1.8 if units.fahrenheit else 1.0
        return [
            phrases.date_span(say, spread(sown.sown, whole)),
            f"{phrases.count(say, within, 0)} ({phrases.percent(say, within, 0)})",
            f"{phrases.count(say, alone, 0)} ({phrases.percent(say, alone, 0)})",
            "" if vegetative is None else phrases.amount_span(say, vegetative),
            phrases.amount_span(say, Spread(heat.low * factor, heat.middle * factor, heat.high * factor, heat.seasons)),
        ]

    unit = say("units.degree days F" if units.fahrenheit else "units.degree days C")
    keys = ("col_sown", "col_day", "col_within", "col_open", "col_vegetative")
    heads = [*(say(f"report.{key}") for key in keys), say("report.col_heat", unit=unit)]
    rows = [[phrases.way(say, late, sown.name), *cells(sown)] for sown in bean.sown]
    told = [place for place in range(len(heads)) if any(row[place] for row in rows)]  # without latitude no day length
    growth = phrases.growth(say, bean, units.fahrenheit)
    return {
        "lead": lead,
        "note": say("report.late_note", growth=growth, day=say.day(late.seeding_day)),
        "heads": [heads[place] for place in told],
        "rows": [{"name": row[0], "cells": [row[place] for place in told[1:]]} for row in rows],
    }


def _frost_table(say: Texts, frost: list[FrostAnswer], units: Units) -> dict[str, Any]:
    spring, fall = say("report.col_last_spring"), say("report.col_first_fall")
    half, nine, one = (say(f"report.{key}") for key in ("col_half", "col_nine", "col_one"))
    return {
        "heads": [half, nine, one, half],
        "long_heads": [f"{spring}: {half}", f"{spring}: {nine}", f"{fall}: {one}", f"{fall}: {half}",
                       say("report.col_free")],
        "rows": [_frost_row(say, answer, units) for answer in frost],
    }  # fmt: skip


def _frost_row(say: Texts, answer: FrostAnswer, units: Units) -> dict[str, Any]:
    spring, fall = answer.spring_odds, answer.fall_odds
    free = answer.between.first[answer.between.known() & np.isfinite(answer.between.first)]
    return {
        "at": phrases.degrees(say, answer.threshold, units.fahrenheit),
        "cells": [
            say.day(day_at(spring.share, spring.day, 0.5)),
            say.day(day_at(spring.share, spring.day, 0.9)),
            say.day(day_at(fall.share, fall.day, 0.1)),
            say.day(day_at(fall.share, fall.day, 0.5)),
            say.number(float(np.median(free))) if free.size else "",
        ],
    }


def _heat(say: Texts, at: Behind, units: Units) -> str:
    method = "chu" if units.heat == "chu" else "mean"
    answer = gathered(at, method, first=HEAT_DAYS[0], last=HEAT_DAYS[1])
    known = answer.least[answer.least == answer.most]
    if not known.size:
        return ""
    factor = 1.8 if units.fahrenheit and method == "mean" else 1.0
    low, middle, high = np.quantile(known, (0.1, 0.5, 0.9), method="median_unbiased") * factor
    unit = "CHU" if method == "chu" else f"degree days {'F' if units.fahrenheit else 'C'}"
    return say("report.heat", first=say.day(HEAT_DAYS[0]), last=say.day(HEAT_DAYS[1]), unit=say(f"units.{unit}"),
               low=say.number(low), middle=say.number(middle), high=say.number(high))  # fmt: skip


def _worth(say: Texts, units: Units) -> list[dict[str, str]]:
    of = feed.facts()
    corn, beans = of["protein_corn"], of["protein_beans"]
    middle = (corn["low"] + corn["high"]) / 2
    bean = (beans["low"] + beans["high"]) / 2
    wanted = of["protein_with_beans"]["value"]
    pounds = of["nitrogen_left"]["value"]
    protein = say(
        "report.worth_protein", low=say.plain(corn["low"]), high=say.plain(corn["high"]), with_beans=say.plain(wanted),
        rise=say.plain(of["protein_rise"]["value"]), middle=say.plain(middle), beans=say.plain(bean),
        share=say.number(100 * feed.share_of_beans(middle, bean, wanted)),
    )  # fmt: skip
    amount = say.number(pounds if units.pounds else feed.kg_ha(pounds))
    fixed = say.plain(of["nitrogen_fixed"]["value"])
    nitrogen = say("report.worth_nitrogen", amount=amount, unit="lb/ac" if units.pounds else "kg/ha", fixed=fixed)
    cost = say("report.worth_yield", value=say.plain(of["yield_of_corn_alone"]["value"]))
    named = (("protein_corn", "protein_rise"), ("nitrogen_left", "nitrogen_fixed"), ("yield_of_corn_alone",))
    sources = ["; ".join(dict.fromkeys(of[name]["source"] for name in names)) for names in named]
    return [
        {"text": text, "source": phrases.source(say, source)}
        for text, source in zip((protein, nitrogen, cost), sources, strict=True)
    ]


def _record(say: Texts, at: Behind, units: Units) -> list[str]:
    held = holdings(at)
    days = (held.last - held.first + 1) * at.complete.size
    tmin, tmax = (say.number(100 * float(part.sum()) / days, 1) for part in (held.missing_tmin, held.missing_tmax))
    lines = [
        phrases.record_line(say, at, units.fahrenheit),
        say("report.record_missing", first=say.day(held.first), last=say.day(held.last), tmin=tmin, tmax=tmax),
        say("report.record_complete", zero=phrases.degrees(say, 0.0, units.fahrenheit)),
    ]
    if repairs := [phrases.repair(say, repair) for repair in at.repairs if not repair.startswith(OTHER)]:
        lines.append(say("report.repairs", repairs="; ".join(repairs)))
    return lines


def _track(say: Texts, at: Behind) -> str:
    """How far the odds of the first fall frost were off in the past; empty where the record is too short to tell."""
    try:
        past = track_record(at, "first-fall-frost")
    except FrostkitError:
        return ""
    first, last = past.years()
    gap, luck = (f"{100 * part:.0f}" for part in (past.verdict.gap, past.verdict.luck))
    counts = {"number": past.verdict.number, "first": first, "last": last, "gap": gap, "luck": luck}
    return say("report.track_line", event=say(f"track.{past.event}"), **counts)


def _sources(say: Texts, at: Behind, asked: Asked, units: Units) -> list[str]:
    """Where the numbers of this page come from: the record, then the crops' needs, kills and warm-soil rules."""
    lines = [phrases.source_line(say, at)]
    for crop in (asked.corn, asked.legume):
        if crop is None:
            continue
        goal = crop.stage[crop.goal]
        kills = [stage.kills.source for stage in crop.stage.values() if stage.kills is not None]
        parts = [goal.need.source, crop.soil.source, *kills]
        lines.append(f"{phrases.crop_line(say, crop, units.fahrenheit)} [{'; '.join(dict.fromkeys(parts))}]")
    return [line for line in lines if line]
