"""Before seeding: is the soil fit, will it stay so, and seed today or wait."""

from dataclasses import replace
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, CropName, Day, Odds, Says, Table, Term, counted
from frostkit.answers.cautions import cautions_of
from frostkit.answers.plans import soil_rule
from frostkit.answers.season.after import common_said
from frostkit.answers.seeding.grids import FIRST, LAST, Asked, Grids, asking, grids
from frostkit.answers.silage.ahead import TENTHS, own_rows, predicted
from frostkit.answers.working import needs_of, workable
from frostkit.crops.entry import Crop
from frostkit.ensemble.pin import Pinned, pin
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import words
from frostkit.seasons.frost import Mask
from frostkit.seasons.soil import ready, soil_temperature
from frostkit.seasons.windows import earliest

Floats = NDArray[np.float64]
HOURS, DAYS_OF = 48, 2  # what seed takes up its water in: the longest that extension names for corn (24 to 48 hours)
RAIN, RAIN_BELOW = 5.0, 10.0  # mm of rain on a day with a colder mean [degC]: common practice, no source
MAY = 0.5  # odds of fit soil below which it is said to wait, and from which to look for oneself: common practice
WEEK = 7
SHOWN, BACK, ON = 14, 45, 45  # days ahead that people read; days of the soil's picture before and after today


def before(
    site: Site,
    corn: Crop | None,
    legume: Crop | None,
    season: int,
    today: int,
    forecast: Forecast | None = None,
    *,
    seeding: int | None = None,
    after: int = 0,
    store: str = "bunker",
    odds: float = 0.8,
    workdays: bool = False,
) -> Answer:
    """Soil now against usual, the first fit day ahead, and what each day's wait costs in odds.

    Parameters
    ----------
    site : Site; corn, legume : entries, at least one; season, today : year and column
    seeding : column that is planned, from today on; after : days from the corn's seeding to the legume's
    odds : wanted of a seeding day; workdays : ready needs a working day too, where the record has rain

    Raises
    ------
    SettingError
        For a day after the last seeding day that is looked at, or settings that are not allowed.
    """
    if today > LAST:
        raise SettingError(
            f"On {words(today)} it is too late to seed: days until {words(LAST)} are looked at.",
            "Give the day on which the field was seeded, --seeding.",
        )
    first = max(today, FIRST)
    rows = pin(site, season, today, forecast, needs_of(site))
    asked = asking(site, corn, legume, after=after, store=store, first=first, last=LAST)
    work = workable(rows, site.latitude)
    asked = replace(asked, workdays=workdays and work is not None)
    found = grids(rows, asked)
    cold, wet = chill(rows, asked)
    subject = asked.subject
    made, fit, plan = (counted(rows, of[subject]) for of in (found.made, found.fit, found.plan))
    shares = {"made": made, "ready": fit, "plan": plan, "cold_soil": counted(rows, cold[:, asked.days])}
    shares["cold_rain"] = None if wet is None else counted(rows, wet[:, asked.days])  # type: ignore[assignment]
    shares["workday"] = None if work is None else counted(rows, work[:, asked.days])  # type: ignore[assignment]
    values = _values(site, rows, asked, found, shares, seeding, odds, workdays)
    headline, sentences = _said(rows, asked, values, shares, seeding, odds, workdays)
    return Answer(
        "season",
        headline,
        sentences,
        values,
        (_days_table(asked, shares, found, rows, odds, workdays), _soil_table(rows, asked)),
        cautions_of("seeding"),
        site.asking(season),
        {"corn": corn, "legume": legume, "store": asked.store, "sown": None},
        rows,
        Says(f"do_{values['advice'].key}", {"usual": values["first_fit"][asked.subject][1]}),
    )


def chill(rows: Ensemble, asked: Asked) -> tuple[Mask, Mask | None]:
    """Whether seed sown on each day would lie in cold soil, or get a cold rain, within 48 hours. bool [row, 365]"""
    air = (rows.tmin.astype(float) + rows.tmax) / 20
    limit = max(soil_rule(crop).limit for crop in (asked.corn, asked.legume) if crop is not None)
    cold = soil_temperature(air) < limit - 1e-9
    wet = None if rows.prcp is None else (rows.prcp >= 10 * RAIN) & (air < RAIN_BELOW)
    return _within(cold), None if wet is None else _within(wet)


def _within(mask: Mask) -> Mask:
    """Whether something holds on a day or on the one after it."""
    out = mask.copy()
    for more in range(1, DAYS_OF):
        out[:, :-more] |= mask[:, more:]
    return out


def _first_fit(rows: Ensemble, fit: Mask, days: NDArray[np.int64]) -> list[Day]:
    """First fit day at odds of 1, 5 and 9 in 10."""
    came = earliest(fit, days)[rows.index]
    return [Day(float(np.ceil(predicted(came, odds) - 1e-9))) for odds in TENTHS]


def _soil(rows: Pinned) -> dict[str, Any]:
    """The seedbed yesterday against past seasons on the same day [degC]."""
    at = max(rows.today - 1, 0)

    def on(of: Ensemble) -> Floats:
        return soil_temperature((of.tmin[:, : at + 1].astype(float) + of.tmax[:, : at + 1]) / 20)[:, -1]

    own, theirs = float(on(rows)[own_rows(rows)].mean()), on(rows.before)
    usual = [round(float(value), 1) for value in np.quantile(theirs[rows.before.index].ravel(), TENTHS)]
    warmer = counted(rows.before, theirs > own)
    return {"now": round(own, 1), "usual": usual, "warmer_seasons": int(warmer.count), "of_seasons": warmer.seasons}


def _values(
    site: Site,
    rows: Pinned,
    asked: Asked,
    found: Grids,
    shares: dict[str, Share],
    seeding: int | None,
    odds: float,
    workdays: bool,
) -> dict[str, Any]:
    """What programs read."""
    today = {name: None if of is None else of.at(0) for name, of in shares.items()}
    weekly = min(WEEK, asked.days.size - 1)
    planned = None
    if seeding is not None and seeding >= asked.days[0]:
        place = min(int(seeding - asked.days[0]), asked.days.size - 1)
        planned = {"seeding": Day(seeding), "made_it": shares["made"].at(place), "plan": shares["plan"].at(place)}
    usual = _usual_first_fit(rows, asked)
    return {
        "season": rows.season,
        "today": Day(rows.today),
        "seeding_day": None,
        "corn": None if asked.corn is None else asked.corn.name,
        "legume": None if asked.legume is None else asked.legume.name,
        "subject": asked.subject,
        "odds_wanted": odds,
        "advice": Term(f"advice_{_advice(rows, asked, today, shares, odds)}"),
        "soil": _soil(rows),
        "limit": Amount(max(soil_rule(crop).limit for crop in (asked.corn, asked.legume) if crop is not None), "degC"),
        "ready_today": today["ready"],
        "cold_soil_48h": today["cold_soil"],
        "cold_rain_48h": today["cold_rain"],
        "workday_today": today["workday"],
        "workdays": bool(workdays and shares["workday"] is not None),
        "first_fit": {name: _first_fit(rows, mask, asked.days) for name, mask in found.fit.items()},
        "usual_first_fit": usual,
        "seeded_today": {"made_it": today["made"], "plan": today["plan"]},
        "seeded_in_a_week": {"day": Day(asked.days[weekly]), "made_it": shares["made"].at(weekly)},
        "last_day": _last_day(asked, shares["made"], odds),
        "planned": planned,
        "departure": {"tmin": rows.departure[0], "tmax": rows.departure[1]},
        "own_days_missing": int((~rows.known[-60:]).sum()),
        "forecast_days": rows.forecast_days,
    }


def _usual_first_fit(rows: Pinned, asked: Asked) -> Day:
    """The middle of first fit days of whole past seasons, from the first seeding day that is looked at."""
    days = np.arange(FIRST, LAST + 1)
    of = rows.before
    fit = np.ones((len(of.tmin), days.size), bool)
    for name, crop in (("corn", asked.corn), ("legume", asked.legume)):
        if crop is not None:
            sown = days + (asked.after if name == "legume" else 0)
            fit &= ready(of.tmin, of.tmax, soil_rule(crop), sown, of.prcp)
    return Day(float(np.ceil(predicted(earliest(fit, days)[of.index], 0.5) - 1e-9)))


def _last_day(asked: Asked, made: Share, odds: float) -> Day | None:
    """The last day of the run from today on that reaches the odds, sown on that day; None where today does not."""
    reached = made.reaches(odds)
    if not reached.any():
        return None
    first = int(reached.argmax())
    later = np.flatnonzero(~reached[first:])
    return Day(asked.days[first + int(later[0]) - 1 if later.size else -1])


def _advice(rows: Pinned, asked: Asked, today: dict[str, Share], shares: dict[str, Share], odds: float) -> str:
    """What to do: "early", "seed", "look", "wait", "hurry" or "late"."""
    if not shares["made"].reaches(odds).any():
        return "late"
    if rows.today < asked.days[0]:
        return "early"
    fit = float(today["ready"].share)
    if fit >= odds:
        return "seed"
    return "look" if fit >= MAY else "wait"


def _days_table(
    asked: Asked, shares: dict[str, Share], found: Grids, rows: Pinned, odds: float, workdays: bool
) -> Table:
    """A row a seeding day from today on."""
    columns = [Column("ready", "share", shares["ready"]), Column("cold_soil", "share", shares["cold_soil"])]
    for name in ("cold_rain", "workday"):
        if shares[name] is not None:
            columns.append(Column(name, "share", shares[name], shown=name == "workday" and workdays))
    columns += [Column("made_it", "share", shares["made"]), Column("plan", "share", shares["plan"])]
    if asked.subject == "both":
        for name in ("corn", "legume"):
            columns.append(Column(f"{name}.made_it", "share", counted(rows, found.made[name]), shown=False))
            columns.append(Column(f"{name}.ready", "share", counted(rows, found.fit[name]), shown=False))
    places = np.arange(asked.days.size)
    brief = np.flatnonzero((places < SHOWN) | (places % 7 == 0))
    marked = shares["made"].reaches(odds) & (shares["ready"].share >= MAY)
    return Table("days", Column("day", "day", asked.days.astype(float)), tuple(columns), marked=marked, brief=brief)


def _soil_table(rows: Pinned, asked: Asked) -> Table:
    """The seedbed day by day: usual, this season's, and what may come [degC]."""
    first, last = max(rows.today - BACK, 0), min(rows.today + ON, LAST)
    days = np.arange(first, last + 1)

    def on(of: Ensemble) -> Floats:
        return soil_temperature((of.tmin[:, : last + 1].astype(float) + of.tmax[:, : last + 1]) / 20)[:, first:]

    mine, theirs = on(rows), on(rows.before)
    known = days < rows.today
    usual = np.quantile(theirs[rows.before.index].reshape(-1, days.size), TENTHS, axis=0)
    coming = np.quantile(mine[rows.index].reshape(-1, days.size), TENTHS, axis=0)
    parts = ("low", "middle", "high")
    columns = [Column(f"usual.{name}", "amount", part, "degC", 1) for name, part in zip(parts, usual, strict=True)]
    columns.append(
        Column("this_season", "amount", np.where(known, mine[own_rows(rows)].mean(axis=0), np.nan), "degC", 1)
    )
    columns += [
        Column(f"possible.{name}", "amount", np.where(known, np.nan, part), "degC", 1)
        for name, part in zip(parts, coming, strict=True)
    ]
    return Table("soil_days", Column("day", "day", days.astype(float)), tuple(columns), brief=np.empty(0, np.int64))


def _said(
    rows: Pinned,
    asked: Asked,
    values: dict[str, Any],
    shares: dict[str, Share],
    seeding: int | None,
    odds: float,
    workdays: bool,
) -> tuple[Says, tuple[Says, ...]]:
    """Seed or wait, and what carries it."""
    early, usual, late = values["first_fit"][asked.subject]
    crops = [CropName(crop.name, crop.title) for crop in (asked.corn, asked.legume) if crop is not None]
    soil = values["soil"]
    at: dict[str, Any] = {
        "crops": crops,
        "day": values["today"],
        "ready": values["ready_today"],
        "early": early,
        "usual": usual,
        "late": late,
        "odds": Odds(odds),
        "made": values["seeded_today"]["made_it"],
        "last": values["last_day"],
    }
    headline = Says(values["advice"].key, at)
    said = [
        Says(
            "soil",
            {
                "now": Amount(soil["now"], "degC", 1),
                "low": Amount(soil["usual"][0], "degC", 1),
                "usual": Amount(soil["usual"][1], "degC", 1),
                "high": Amount(soil["usual"][2], "degC", 1),
                "more": soil["warmer_seasons"],
                "seasons": soil["of_seasons"],
            },
        )
    ]
    if isfinite(usual.column):
        key = "first_fit" if isfinite(late.column) else "first_fit_open"
        said.append(Says(key, {**at, "before": values["usual_first_fit"]}))
    if rows.today >= asked.days[0]:
        said.append(Says("cold_48h", {"count": values["cold_soil_48h"], "limit": values["limit"], "hours": HOURS}))
        if values["cold_rain_48h"] is not None:
            key = "rain_48h_forecast" if rows.forecast_days else "rain_48h"
            said.append(Says(key, {"count": values["cold_rain_48h"], "hours": HOURS, "rain": Amount(RAIN, "mm")}))
        week = values["seeded_in_a_week"]
        said.append(Says("a_week", {**at, "week": week["day"], "then": week["made_it"]}))
    if values["last_day"] is not None:
        said.append(Says("until", {**at}))
    if values["planned"] is not None:
        plan = values["planned"]
        said.append(Says("planned", {"day": plan["seeding"], "made": plan["made_it"], "plan": plan["plan"]}))
    if shares["workday"] is None:
        said.append(Says("no_rain" if workdays else "no_rain_short", {}))
    elif workdays:
        said.append(Says("with_workdays", {}))
    off = {"least": Amount(2, "degC more"), "most": Amount(3, "degC more")}  # of the filter: see seasons/soil.py
    said.append(Says("thermometer", {"limit": values["limit"], **off}))
    return headline, (*said, *common_said(rows, values))
