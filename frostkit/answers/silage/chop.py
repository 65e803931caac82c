"""When is it fit to chop: where this field stands, and every possible season that begins with this one's days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import (
    Amount,
    Answer,
    Column,
    CropName,
    Day,
    Part,
    Says,
    StageName,
    Table,
    Term,
    counted,
    season_dates,
)
from frostkit.answers.cautions import cautions_of
from frostkit.answers.plans import whole_plan
from frostkit.answers.silage.ahead import (
    CONDITIONS,
    TENTHS,
    Ahead,
    Dates,
    ahead,
    band,
    best_days,
    conditions,
    dates_at,
    heat_of,
    kills,
    own_rows,
    predicted,
    with_spread,
)
from frostkit.answers.silage.drying import DENT, Hybrid, Seen, Standing, hybrid, observations, spread_on, standing
from frostkit.answers.silage.stores import Store, wanted
from frostkit.crops.entry import Crop
from frostkit.ensemble.pin import Pinned, pinned, season_of
from frostkit.ensemble.site import Site
from frostkit.errors import RecordError, SettingError
from frostkit.odds.share import Share
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import DAYS, MISSING, NEVER, SEASON_END, column, from_date, month_day, words
from frostkit.seasons.growth import stage_days
from frostkit.seasons.silage import first_day_at, heat_at

Today = np.datetime64 | date | str
Floats = NDArray[np.float64]
Days = NDArray[np.int64]
STEP = 3  # days between the rows that people read
SAMPLE_BEFORE = 3  # days before the first that may be fit: the first sample
AFTER, FEWEST_DAYS = 10, 28  # days read after the last that may be in range, and at least
DEMO_DAY = column(8, 25)  # where the invented record, which ends with a year, is stood on
EXPLAINED = 0.6, 1.6  # shares of the need to silking between which silking is believed: common practice, no source
DOES_NOT_KNOW = ("calibration", "field", "low_spots")


@dataclass(frozen=True)
class Asked:
    """The question, checked: what was sown and seen on one field, and what is wanted.

    corn : entry for silage; store : where it goes; season, today : year and column stood on
    seeding : column, or None; seen : observations; legume_share : of the wet weight; last : last day looked at
    forecast : of the coming days, beginning today, or None; frost : end of the killing temperatures' range
    """

    corn: Crop
    store: Store
    season: int
    today: int
    seeding: int | None
    seen: tuple[Seen, ...]
    legume_share: float
    forecast: Forecast | None
    frost: str = "usual"
    last: int = column(*SEASON_END)

    @property
    def since(self) -> int:
        """The first column whose heat counts."""
        if self.seeding is not None:
            return self.seeding + 1
        return self.seen[0].day - (self.seen[0].kind != "silking")

    @property
    def days(self) -> Days:
        """Columns from today on."""
        return np.arange(self.today, self.last + 1)


@dataclass(frozen=True)
class Stood:
    """Where a field stands and what may come: `field_ahead`."""

    rows: Pinned
    hybrid: Hybrid
    standing: Standing
    ahead: Ahead


def chop(
    site: Site,
    corn: Crop,
    seeding: int | None = None,
    *,
    today: Today | None = None,
    silking: int | None = None,
    milk_line: float | tuple[float, int] | None = None,
    moisture: float | tuple[float, int] | None = None,
    forecast: Forecast | None = None,
    store: str = "bunker",
    target: tuple[float, float] | None = None,
    legume_share: float = 0.0,
    frost: str = "usual",
    last: int = column(*SEASON_END),
) -> Answer:
    """Stage, heat and moisture today; for each day ahead the odds of the store's range, too wet, too dry, and frost.

    Parameters
    ----------
    site : Site; its season asked for is of no account: today's is
    corn : Crop
        A silage corn entry: it says its moisture at the goal.
    seeding, silking : int, columns
        At least one of seeding day, silking, milk line and moisture is needed.
    today : date
        Default: the day after the record's last reading. Nothing of the record from today on is looked at, nor any
        later season.
    milk_line : share of the kernel that it has come down, 0 to 1; or (share, column)
    moisture : percent of wet weight, whole plant; or (percent, column)
    forecast : Forecast, optional
        Comes between this season's days and the rest of the possible seasons.
    store : a key of `stores()`; target : (low, high) [percent], your own range instead
    legume_share : part of the wet weight that is legume, which is wetter than the corn
    frost : "usual", "tender" or "hardy": which end of the range of killing temperatures counts
    last : column, the last day looked at

    Raises
    ------
    SettingError
        For days in the wrong order, a moisture of 0 or 100, a milk line outside 0 to 1, nothing to start from, or
        silking or milk that the heat since seeding can't explain.
    RecordError
        For a record without days of this season since seeding, or without an earlier season that counts.
    CropError
        For an entry without moisture or silking.
    """
    of = hybrid(corn, frost)
    limits = wanted(store, target)
    season, now, date_of_today = today_of(site, today)
    if seeding is not None and seeding >= now:
        raise SettingError(f"Seeding on {words(seeding)} is not before today, {words(now)}.",
                           "Give a seeding day that has passed, or look ahead with: frostkit window.")  # fmt: skip
    if now > last:
        raise SettingError(f"Today, {words(now)}, is after the end of the season, {words(last)}.",
                           "Give an earlier day; there is nothing left to chop.")  # fmt: skip
    if not 0 <= legume_share < 1:
        raise SettingError(
            f"A legume share of {legume_share:g} is outside 0 to 1.", "Give a share of the wet weight, such as 0.1."
        )
    seen = tuple(observations(now, silking, milk_line, moisture, seeding))
    if seeding is None and not seen:
        raise SettingError("There is nothing to start from.",
                           "Give the seeding day, or a silking day, milk line or moisture that was seen.")  # fmt: skip
    coming = None if forecast is None else forecast.since(date_of_today)
    asked = Asked(corn, limits, season, now, seeding, seen, legume_share, coming, frost, last)
    rows = pinned(site, season, now, coming)
    check_own(rows, asked)
    return _answer(site, asked, field_ahead(rows, asked, of))


def field_ahead(rows: Pinned, asked: Asked, of: Hybrid | None = None) -> Stood:
    """Where a field stands after its own days and what was seen, and its moisture in every possible season."""
    corn = (hybrid(asked.corn, asked.frost) if of is None else of).for_store(asked.store)
    own = own_rows(rows)
    gathered = heat_of(rows, corn, asked.since, asked.today - 1)[own, 1:].astype(float)
    killed = kills(rows, corn)[own]
    killed = np.where(killed < asked.today, killed, NEVER)
    check_seen(corn, gathered, asked.seen, asked.seeding)
    at = standing(corn, gathered, asked.since, list(asked.seen), killed, by_heat=asked.seeding is not None)
    return Stood(rows, corn, at, ahead(rows, corn, at, asked.since, asked.last, asked.legume_share))


def today_of(site: Site, today: Today | None) -> tuple[int, int, np.datetime64]:
    """Season, column and date of the day stood on: the one said, or the day after the record's last reading."""
    if today is not None:
        day = np.datetime64(from_date(str(today)))
        return *season_of(day), day
    folded = site.folded
    season = int(folded.seasons[-1])
    at = int(np.flatnonzero((folded.tmin[-1] != MISSING) | (folded.tmax[-1] != MISSING))[-1]) + 1
    if at >= DAYS:
        if not site.record.invented:
            raise SettingError(f"The record runs to the end of season {season}: there is no day to stand on.",
                               "Say today's date, such as 2020-09-01.")  # fmt: skip
        at = DEMO_DAY
    month, of_month = month_day(at)
    return season, at, np.datetime64(f"{season:04d}-{month:02d}-{of_month:02d}")


def check_seen(of: Hybrid, gathered: Floats, seen: Sequence[Seen], seeding: int | None) -> None:
    """Raises `SettingError` for silking or milk that the heat since seeding can't explain: a wrong day, or hybrid.

    gathered : [draw, day], whole units by the end of each day from the day after seeding
    """
    if of.silking is None or seeding is None:
        return
    least, most = (share * of.silking for share in EXPLAINED)
    for one in seen:
        had = gathered[:, min(one.day - seeding - 1, gathered.shape[1] - 1)]
        late = one.kind == "silking" and had.min() > most
        if one.kind != "moisture" and (had.max() < least or late):
            unit = of.clock.per_unit
            raise SettingError(
                f"{one.says()} does not go with seeding on {words(seeding)}: {had.mean() / unit:,.0f} "
                f"{of.clock.unit} had come since then, and {of.crop.name} silks at about {of.silking / unit:,.0f}.",
                "Check the two days, or choose the corn that stands there.",
            )


def check_own(rows: Pinned, asked: Asked, name: str = "") -> None:
    """Raises `RecordError` where no day of this season since seeding, or since what was seen, has been read."""
    if asked.today > asked.since and not rows.known[max(asked.since, 0) :].any():
        whose = f"{name}: the" if name else "The"
        span = f"{words(asked.since)} to {words(asked.today - 1)}"
        raise RecordError(
            f"{whose} record has no day of season {asked.season} from {span}.",
            "Bring the record up to date, or say another day for today.",
        )


def fit_days(of: Stood, asked: Asked) -> Floats:
    """The day on which every possible season enters the store's range; +inf where it does not. [row]

    Where what was seen found it in the range already, the day by heat.
    """
    path = of.ahead
    day = first_day_at(path.path, asked.store.high, path.first)
    by_heat = _reached(of, asked, float(heat_at(asked.store.high, of.hybrid.drying)))
    return np.where((day <= path.first) & (by_heat < day), by_heat, day)


def _answer(site: Site, asked: Asked, of: Stood) -> Answer:
    rows, limits, days = of.rows, asked.store, asked.days
    spread = spread_on(days, of.standing)
    by_weather = {name: counted(rows, mask) for name, mask in conditions(of.ahead, limits, days).items()}
    odds = with_spread(of.ahead, limits, spread, days)
    fit_from = dates_at(of.ahead, rows.index, limits.high, spread, days)
    fit_to = dates_at(of.ahead, rows.index, limits.low, spread, days, shift=-1)
    best = best_days(odds["in_range"], days)
    alive, outcomes = _outcomes(of, asked)
    path = of.ahead.since(asked.today)
    table = _odds_table(asked, by_weather, odds, of.ahead.weight @ path, band(path, spread, of.ahead.weight), best,
                        _until(fit_to, asked))  # fmt: skip
    values = _values(asked, of, fit_from, fit_to, best, alive, outcomes)
    headline, sentences = _said(asked, of, values, fit_from, fit_to, best, by_weather, odds, alive)
    killed = bool((kills(rows, of.hybrid) < asked.today).mean() >= 0.5)
    return Answer(
        "chop",
        headline,
        sentences,
        values,
        (table, _season_table(of, asked)),
        cautions_of("frosted" if killed else "chopping"),
        site.asking(asked.season),
        {"corn": asked.corn, "store": limits, "seen": asked.seen, "until": _until(fit_to, asked)},
        rows,
        values["check"][0],
    )


def _until(fit_to: Dates, asked: Asked) -> int:
    """Last day that people read: some days after the last that may still be in range, or the end of the season."""
    late = fit_to.all[2]
    return min(asked.last, max(int(late) + AFTER, asked.today + FEWEST_DAYS)) if isfinite(late) else asked.last


def _outcomes(of: Stood, asked: Asked) -> tuple[Share, dict[str, int]]:
    """In how many possible seasons the field enters the range alive; and how all of them come out, as DESIGN has it:
    fit, usable (dent or more, then killed or the season over) or lost."""
    rows, killed, day = of.rows, of.ahead.killed, fit_days(of, asked)
    fit = (day <= asked.last) & (killed > day)
    alive = counted(rows, fit)
    dent = next((need for name, _, need in of.hybrid.stages if name == DENT), None)
    dented = fit if dent is None else fit | (_reached(of, asked, dent) < killed)
    either = max(int(counted(rows, dented).count), int(alive.count))
    count = int(alive.count)
    return alive, {"fit": count, "usable": either - count, "lost": alive.seasons - either}


def _reached(of: Stood, asked: Asked, need: float) -> Floats:
    """Day by whose end the heat has come to a need; +inf where not by the last day looked at. [row]"""
    heat = heat_of(of.rows, of.hybrid, asked.since, asked.last) + of.standing.offset[of.rows.own][:, None]
    met = heat >= need
    return np.where(met.any(axis=1), met.argmax(axis=1) + asked.since - 1, NEVER)


def _odds_table(
    asked: Asked,
    by_weather: dict[str, Share],
    odds: dict[str, Floats],
    middle: Floats,
    ends: Floats,
    best: tuple[int, int] | None,
    until: int,
) -> Table:
    """A row a day ahead: moisture, and the odds of each condition by weather and with the hybrid's own spread."""
    days = asked.days
    columns = [
        Column("moisture", "amount", middle, "%", 1),
        Column("moisture_band.low", "amount", ends[0], "%", 1, shown=False),
        Column("moisture_band.high", "amount", ends[1], "%", 1, shown=False),
    ]
    for name in CONDITIONS:
        frost = name == "killed"
        columns.append(Column(name, "share", by_weather[name], shown=frost or name == "in_range"))
        if not frost:
            columns.append(Column(f"{name}.odds", "part", odds[name]))
    marked = np.zeros(days.size, bool) if best is None else (days >= best[0]) & (days <= best[1])
    rows = np.flatnonzero((np.arange(days.size) % STEP == 0) & (days <= until))
    return Table("odds", Column("day", "day", days.astype(float)), tuple(columns), marked=marked, brief=rows)


def _season_table(of: Stood, asked: Asked) -> Table:
    """A row a past season whose rest follows this season's days: when it enters the range, and when frost kills."""
    rows = of.rows
    return Table(
        "seasons",
        Column("season", "season", rows.seasons),
        (
            Column("complete", "flag", rows.complete),
            Column("fit_from", "dates", season_dates(rows, fit_days(of, asked))),
            Column("killed", "dates", season_dates(rows, of.ahead.killed)),
        ),
        brief=np.empty(0, np.int64),
    )


def _values(
    asked: Asked,
    of: Stood,
    fit_from: Dates,
    fit_to: Dates,
    best: tuple[int, int] | None,
    alive: Share,
    outcomes: dict[str, int],
) -> dict[str, Any]:
    """What programs read: every decision by its key."""
    rows, corn = of.rows, asked.corn
    now, following = _stages(of, asked)
    yesterday = of.ahead.path[:, asked.today - 1 - of.ahead.first]
    own_killed = kills(rows, of.hybrid)[own_rows(rows)]
    sample = fit_from.all[0] - SAMPLE_BEFORE
    sample = asked.today if not isfinite(sample) or sample <= asked.today else sample

    def dates(of_event: Dates) -> dict[str, list[Day]]:
        return {"by_weather": [Day(day) for day in of_event.by_weather], "all": [Day(day) for day in of_event.all]}

    return {
        "season": asked.season,
        "today": Day(asked.today),
        "seeding_day": None if asked.seeding is None else Day(asked.seeding),
        "corn": {"name": corn.name, "title": corn.title},
        "store": asked.store._asdict(),
        "stage": now,
        "next_stages": [{"stage": stage, "title": stage.title, "day": Day(day)} for stage, day in following],
        "heat": _heat(of, asked),
        "moisture_now": {
            "percent": round(float(of.ahead.weight @ yesterday), 1),
            "spread": round(float(spread_on(asked.days[:1] - 1, of.standing)[0]), 1),
        },
        "seen": [
            {"what": one.kind, "value": one.value, "day": Day(one.day), "moved": round(by, 2), "spread": round(left, 2)}
            for one, by, left in of.standing.moved
        ],
        "fit_from": dates(fit_from),
        "fit_to": dates(fit_to),
        "best": None if best is None else [Day(best[0]), Day(best[1])],
        "fit": alive,
        "outcomes": outcomes,
        "killed": bool((own_killed < asked.today).mean() >= 0.5),
        "kills_at": Amount(of.hybrid.kills_at, "degC", 1),
        "sample_by": Day(sample),
        "departure": {"tmin": rows.departure[0], "tmax": rows.departure[1]},
        "own_days_missing": int((~rows.known[max(asked.since, 0) :]).sum()),
        "forecast_days": rows.forecast_days,
        "legume_share": asked.legume_share,
        "check": _check(asked, sample),
        "does_not_know": [Term(f"chop_unknown_{what}") for what in DOES_NOT_KNOW],
    }


def _check(asked: Asked, sample: float) -> list[Says]:
    """What to look at in the asked, and when."""
    first = Says("sample_today") if sample <= asked.today else Says("sample_by", {"day": Day(sample)})
    down = Amount(100 - asked.store.start_testing_at_milk, "%")
    return [first, Says("check_milk", {"down": down}), Says("check_sample")]


def _heat(of: Stood, asked: Asked) -> dict[str, Any] | None:
    """Heat gathered since sowing, what is usual by now, and the past seasons that had more."""
    if asked.seeding is None:
        return None
    rows, unit = of.rows, of.hybrid.clock.per_unit
    own = heat_of(rows, of.hybrid, asked.since, asked.today - 1)[own_rows(rows), -1] / unit
    theirs = heat_of(rows.before, of.hybrid, asked.since, asked.today - 1)[:, -1] / unit
    warmer = counted(rows.before, theirs > float(own.mean()))
    return {
        "unit": of.hybrid.clock.unit,
        "gathered": [round(float(own.min()), 1), round(float(own.max()), 1)],
        "usual": [round(predicted(theirs[rows.before.index], odds), 1) for odds in TENTHS],
        "warmer_seasons": int(warmer.count),
        "of_seasons": warmer.seasons,
    }


def _stages(of: Stood, asked: Asked) -> tuple[StageName | Term, list[tuple[StageName, float]]]:
    """The last stage reached, and the day at odds of 5 in 10 of each to come; a plant that was killed reaches none."""
    rows = of.rows
    yesterday = of.ahead.heat[:, asked.today - 1 - of.ahead.first]
    now = float(of.ahead.weight @ yesterday)
    reached = [StageName(name, title) for name, title, need in of.hybrid.stages if need <= now]
    following = []
    for name, title, need in of.hybrid.stages:
        if need > now:
            day = _reached(of, asked, need)
            day = np.where(day > of.ahead.killed, NEVER, day)
            following.append((StageName(name, title), float(np.ceil(predicted(day[rows.index], 0.5)))))
    return (reached[-1] if reached else _early_stage(rows, asked)), following


def _early_stage(rows: Pinned, asked: Asked) -> StageName | Term:
    """The last stage before today of those that go by leaves and not by the goal's clock."""
    if asked.seeding is None:
        return Term("stage_before_silking")
    row = own_rows(rows)[:1]
    plan = whole_plan(asked.corn)
    came = stage_days(rows.tmin[row], rows.tmax[row], plan, np.array([asked.seeding]))[0, 0] < asked.today
    names = [stage.name for stage, there in zip(plan.stages, came, strict=True) if there]
    return StageName(names[-1], asked.corn.stage[names[-1]].title) if names else Term("stage_not_up")


def _said(
    asked: Asked,
    of: Stood,
    values: dict[str, Any],
    fit_from: Dates,
    fit_to: Dates,
    best: tuple[int, int] | None,
    by_weather: dict[str, Share],
    odds: dict[str, Floats],
    alive: Share,
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, what carries it, and where the field stands."""
    store = asked.store
    both = {
        "corn": CropName(asked.corn.name, asked.corn.title),
        "store": Term(f"store_{store.name}"),
        "low": store.low,
        "high": store.high,
    }
    sentences: list[Says] = []
    if best is not None:
        place = best[0] - asked.today
        at = {"count": by_weather["in_range"].at(place), "odds": Part(float(odds["in_range"][place]))}
        key = "best_day" if best[0] == best[1] else "best_days"
        sentences.append(Says(key, {**both, **at, "first": Day(best[0]), "last": Day(best[1])}))
    outcomes = values["outcomes"]
    sentences.append(Says("outcomes", {**both, "fit": alive, "usable": outcomes["usable"], "lost": outcomes["lost"],
                                       "last": Day(asked.last)}))  # fmt: skip
    now = values["moisture_now"]
    sentences.append(Says("today", {"day": values["today"], "stage": values["stage"],
                                    "moisture": Amount(now["percent"], "%"), "spread": now["spread"]}))  # fmt: skip
    sentences += _standing_said(asked, of, values)
    return _headline(asked, fit_from, fit_to, both), tuple(sentences)


def _headline(asked: Asked, fit_from: Dates, fit_to: Dates, both: dict[str, Any]) -> Says:
    early, middle, late = fit_from.all
    until = Day(min(fit_to.all[1], float(asked.last)))
    if not isfinite(middle):
        return Says("none", {**both, "last": Day(asked.last)})
    if middle <= asked.today:
        return Says("too_dry" if until.column < asked.today else "now", {**both, "until": until})
    at = {**both, "first": Day(middle), "early": Day(early), "late": Day(late), "until": until}
    return Says("fit" if isfinite(late) else "fit_open", at)


def _standing_said(asked: Asked, of: Stood, values: dict[str, Any]) -> Sequence[Says]:
    """Heat, what was seen, frost, holes and forecast, each where there is something to say."""
    said = []
    heat = values["heat"]
    if heat is not None:
        unit = heat["unit"]
        low, usual, high = heat["usual"]
        more = {"more": heat["warmer_seasons"], "seasons": heat["of_seasons"]}
        amounts = {"gathered": Amount(sum(heat["gathered"]) / 2, unit), "usual": Amount(usual, unit)}
        said.append(Says("heat", {**amounts, "low": Amount(low, unit), "high": Amount(high, unit), **more}))
    for one, by, left in of.standing.moved:
        percent = 100 * one.value if one.kind == "milk line" else one.value
        at = {"day": Day(one.day), "value": Amount(percent, "%", 0 if one.kind == "milk line" else 1)}
        points = {"moved": Amount(by, "points", 1), "left": Amount(left, "points", 1)}
        said.append(Says(f"seen_{one.kind.replace(' ', '_')}", {**at, **points}))
    if values["killed"]:
        said.append(Says("killed"))
    if asked.legume_share:
        said.append(Says("legume", {"share": Part(asked.legume_share)}))
    if values["own_days_missing"]:
        said.append(Says("own_missing", {"days": values["own_days_missing"]}))
    if of.rows.forecast_days:
        said.append(Says("forecast", {"days": of.rows.forecast_days}))
    return said
