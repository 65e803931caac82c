"""Where a field that was sown stands, and when its stages come: this season's days, then every possible rest."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, CropName, Day, Says, StageName, Table, Term, counted
from frostkit.answers.cautions import cautions_of
from frostkit.answers.corn import is_silage
from frostkit.answers.plans import clock
from frostkit.answers.season.seen import Observed
from frostkit.answers.season.stages import (
    Count,
    Course,
    Dates,
    alive,
    by_weather,
    course,
    killed_on,
    moments,
    possible,
    with_spread,
)
from frostkit.answers.silage.ahead import TENTHS, Ahead, ahead, dates_at, heat_of, kills, own_rows, predicted
from frostkit.answers.silage.chop import check_seen
from frostkit.answers.silage.drying import Hybrid, Standing, hybrid, spread_on, standing
from frostkit.answers.silage.stores import Store
from frostkit.crops.entry import Crop
from frostkit.ensemble.pin import Pinned
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import RecordError
from frostkit.seasons.calendar import NEVER, SEASON_END, column, words
from frostkit.seasons.heat import running
from frostkit.seasons.silage import first_day_at

Floats = NDArray[np.float64]
LAST = column(*SEASON_END)
SAMPLE_BEFORE = 3  # days before the first that may be fit: the first sample
FIT = "fit"  # the corn's last stage here: it enters the store's range
STAND_AFTER = 10  # days from emergence to a count of the stand: common practice, no source
NODULES_AFTER = 28  # days from the bean's emergence to a look for nodules: four weeks, from memory of extension
TOLD = ("emergence", "silking", "dent")  # stages that the verdict names before others
SOON = 0.05  # odds of a killing frost below which it is not told among what carries the answer


@dataclass(frozen=True)
class Sown:
    """What stands in the field.

    corn, legume : entries, or None; seeding, legume_seeding : columns, the legume's may be to come
    store : of the silage; seen : what was seen; legume_share : of the wet weight; frost : end of the killing range
    """

    corn: Crop | None
    legume: Crop | None
    seeding: int
    legume_seeding: int
    store: Store
    seen: Observed
    legume_share: float = 0.0
    frost: str = "usual"


@dataclass(frozen=True)
class Line:
    """One stage: its crop, when it came or may come.

    who : "corn" or "legume"; stage : its name and title; on : float [row], columns; seen : whether it was seen
    weather, all : days at odds of 1, 5 and 9 in 10, by the weather alone and with the crop's own spread
    need : of the goal's clock, in its unit, else NaN
    """

    who: str
    stage: StageName
    on: Floats
    seen: bool
    weather: Dates
    all: Dates
    need: float


@dataclass(frozen=True)
class Field:
    """The field in every possible season.

    corn, legume : their courses, None where there is none or it is not sown yet
    corn_killed, legume_killed : float [row], columns; lines : every stage
    silage : the corn's hybrid, standing and moisture, None for grain
    """

    corn: Course | None
    legume: Course | None
    corn_killed: Floats
    legume_killed: Floats
    lines: tuple[Line, ...]
    silage: tuple[Hybrid, Standing, Ahead] | None


def check_own(rows: Pinned, seeding: int) -> None:
    """Raises `RecordError` where no day of this season since seeding has been read."""
    if rows.today > seeding + 1 and not rows.known[seeding + 1 :].any():
        raise RecordError(
            f"The record has no day of season {rows.season} from {words(seeding + 1)} to {words(rows.today - 1)}.",
            "Bring the record up to date, or say another day for today.",
        )


def stand(rows: Pinned, of: Sown, latitude: float) -> Field:
    """Where corn and legume stand, and when their stages come, in every possible season."""
    never = np.full(len(rows.tmin), NEVER)
    lines: list[Line] = []
    corn = silage = legume = None
    corn_killed, legume_killed, chop = never, never, np.full(len(rows.tmin), float(LAST))
    if of.corn is not None:
        corn = course(rows, of.corn, of.seeding, latitude, of.seen.stages(), of.seen.collars)
        corn_killed = killed_on(rows, corn, of.frost)
        silage = _silage(rows, of, latitude)
        mine = _corn_lines(rows, of, corn, corn_killed, silage)
        lines += mine
        chop = np.where(np.isfinite(mine[-1].on), mine[-1].on, LAST)
    if of.legume is not None and of.legume_seeding < rows.today:
        seen = {} if of.seen.legume_emergence is None else {"emergence": of.seen.legume_emergence}
        legume = course(rows, of.legume, of.legume_seeding, latitude, seen)
        legume_killed = killed_on(rows, legume, of.frost, _shelter(of, corn, corn_killed, chop))
        lines += [
            _line(rows, "legume", legume, name, legume.days[name], legume.counts[name], legume_killed, float("nan"))
            for name in legume.days
        ]
    return Field(corn, legume, corn_killed, legume_killed, tuple(lines), silage)


def _silage(rows: Pinned, of: Sown, latitude: float) -> tuple[Hybrid, Standing, Ahead] | None:
    """The corn's moisture in every possible season, with everything that was seen; None for grain."""
    assert of.corn is not None
    if not is_silage(of.corn):
        return None
    corn = hybrid(of.corn, of.frost).for_store(of.store)
    since, own = of.seeding + 1, own_rows(rows)
    earlier = {name: on for name, on in of.seen.stages().items() if name != "silking"}
    before = course(rows, of.corn, of.seeding, latitude, earlier, of.seen.collars)
    more = np.broadcast_to(np.asarray(before.ahead.get(corn.clock, 0.0)), len(rows.tmin))[own]
    gathered = heat_of(rows, corn, since, max(rows.today - 1, since))[own, 1:].astype(float) + more[:, None]
    killed = kills(rows, corn)[own]
    killed = np.where(killed < rows.today, killed, NEVER)
    seen = of.seen.drying(rows.today, of.seeding)
    check_seen(corn, gathered, seen, of.seeding)
    at = standing(corn, gathered, since, seen, killed)
    at = at._replace(offset=at.offset + more)
    return corn, at, ahead(rows, corn, at, since, LAST, of.legume_share)


def _corn_lines(
    rows: Pinned, of: Sown, corn: Course, killed: Floats, silage: tuple[Hybrid, Standing, Ahead] | None
) -> list[Line]:
    """The corn's stages in order, the last one what it is grown for."""
    assert of.corn is not None
    goal_clock = of.corn.stage[of.corn.goal].clock
    unit = clock(of.corn, goal_clock).per_unit
    lines = []
    for name in corn.days:
        stage = corn.crop.stage[name]
        if name == of.corn.goal and silage is not None:
            continue
        count, days = corn.counts[name], corn.days[name]
        on_goal = (stage.clock, stage.since) == (goal_clock, of.corn.stage[of.corn.goal].since)
        if silage is not None and on_goal and name not in corn.seen:
            count, days = _by_sample(rows, of, count, silage, days)
        lines.append(
            _line(rows, "corn", corn, name, days, count, killed, count.need / unit if on_goal else float("nan"))
        )
    if silage is None:
        goal = [line for line in lines if line.stage.name == of.corn.goal]
        return [line for line in lines if line.stage.name != of.corn.goal] + goal
    return [*lines, _fit_line(rows, of, silage)]


def _by_sample(
    rows: Pinned, of: Sown, count: Count, silage: tuple[Hybrid, Standing, Ahead], days: Floats
) -> tuple[Count, Floats]:
    """A count on the goal's clock as a milk line or a dried sample moves it."""
    corn, at, _ = silage
    if at.start is None:
        return count, days
    raw = np.concatenate(
        [np.zeros((len(rows.tmin), of.seeding + 1)), heat_of(rows, corn, of.seeding + 1, LAST)[:, 1:]], axis=1
    )
    heat = raw + at.offset[rows.own][:, None]
    slope = (corn.drying.moisture[0] - corn.drying.moisture[-1]) / (corn.drying.heat[-1] - corn.drying.heat[0])
    met = heat >= count.need
    day = np.where(met.any(axis=1), met.argmax(axis=1), NEVER)
    return Count(heat, count.need, min(count.spread, at.spread / slope)), day


def _fit_line(rows: Pinned, of: Sown, silage: tuple[Hybrid, Standing, Ahead]) -> Line:
    corn, at, coming = silage
    days = np.arange(rows.today, LAST + 1)
    dates = dates_at(coming, possible(rows), of.store.high, spread_on(days, at), days)
    on = first_day_at(coming.path, of.store.high, coming.first)
    need = float(np.interp(-of.store.high, [-m for m in corn.drying.moisture], corn.drying.heat)) / corn.clock.per_unit
    return Line("corn", StageName(FIT, "fit for the store"), on, False, dates.by_weather, dates.all, need)


def _line(
    rows: Pinned, who: str, of: Course, name: str, days: Floats, count: Count, killed: Floats, need: float
) -> Line:
    stage = StageName(name, of.crop.stage[name].title)
    if name in of.seen:
        on = (float(of.seen[name]),) * 3
        return Line(who, stage, days, True, on, on, need)
    lives = alive(days, killed)
    weather = by_weather(rows, np.where(np.isfinite(lives), moments(count, days), NEVER))
    spread = with_spread(rows, count, killed, rows.today, LAST) if count.spread else weather
    return Line(who, stage, lives, False, weather, spread, need)


def _shelter(of: Sown, corn: Course | None, killed: Floats, chop: Floats) -> tuple[float, Floats, Floats] | None:
    """Degrees that the corn keeps off the legume, from its closing until it is killed or chopped."""
    if corn is None or of.corn is None or of.legume is None or of.legume.shelter is None or not of.corn.closes:
        return None
    closed = corn.days.get(of.corn.closes)
    return None if closed is None else (of.legume.shelter.value, closed, np.minimum(killed, chop))


def after(site: Site, rows: Pinned, of: Sown) -> Answer:
    """The answer for a field that was sown before today."""
    check_own(rows, of.seeding)
    field = stand(rows, of, site.latitude)
    came = [line for line in field.lines if line.weather[1] < rows.today or line.seen]
    coming = [line for line in field.lines if line not in came]
    killed = {"corn": field.corn_killed, "legume": field.legume_killed}
    tables = [_coming(rows, coming, killed), _came(rows, came)]
    heat = {}
    for who, sown in (("corn", of.seeding), ("legume", of.legume_seeding)):
        crop = of.corn if who == "corn" else of.legume
        if crop is not None and sown < rows.today:
            own, table = _heat(rows, crop, sown, who)
            heat[who] = own
            tables.append(table)
    values = _values(rows, of, field, came, coming, heat)
    headline, sentences = _said(rows, of, field, values, coming)
    any_killed = any(values["killed"].values())
    return Answer(
        "season",
        headline,
        sentences,
        values,
        tuple(tables),
        cautions_of("frosted" if any_killed else "chopping" if _near(values) else "frost"),
        site.asking(rows.season),
        {"corn": of.corn, "legume": of.legume, "store": of.store, "sown": of},
        rows,
        Says("do", values["next"][0]) if values["next"] else None,
    )


def _near(values: dict[str, Any]) -> bool:
    """Whether it is time to think of the chop: silking has come."""
    stage = values["stage"]["corn"]
    return isinstance(stage, StageName) and stage.name in ("silking", "dent", "half_milk", FIT, "black_layer")


def _coming(rows: Pinned, lines: Sequence[Line], killed: dict[str, Floats]) -> Table:
    """A row a stage to come, at odds of 1, 5 and 9 in 10, and the odds of a killing frost before it."""
    before = np.zeros((len(rows.tmin), len(lines)), bool)
    for number, line in enumerate(lines):
        before[:, number] = (killed[line.who] <= line.on) & (killed[line.who] >= rows.today)
    dates = np.array([line.all for line in lines]).reshape(-1, 3)
    weather = np.array([line.weather for line in lines]).reshape(-1, 3)
    parts = ("early", "usual", "late")
    return Table(
        "coming",
        Column("stage", "crop", [line.stage for line in lines]),
        (
            Column("crop", "term", [f"subject_{line.who}" for line in lines]),
            *(Column(name, "day", dates[:, place]) for place, name in enumerate(parts)),
            *(Column(f"by_weather.{name}", "day", weather[:, place], shown=False) for place, name in enumerate(parts)),
            Column("killed_before", "share", counted(rows, before)),
            Column("need", "amount", [line.need for line in lines], "CHU", shown=False),
        ),
    )


def _came(rows: Pinned, lines: Sequence[Line]) -> Table:
    """A row a stage that has come, as it was seen or by its heat."""
    return Table(
        "came",
        Column("stage", "crop", [line.stage for line in lines]),
        (
            Column("crop", "term", [f"subject_{line.who}" for line in lines]),
            Column("on", "day", [line.weather[1] for line in lines]),
            Column("how", "term", ["season_seen" if line.seen else "season_by_heat" for line in lines]),
            Column("need", "amount", [line.need for line in lines], "CHU", shown=False),
        ),
    )


def _heat(rows: Pinned, crop: Crop, sown: int, who: str) -> tuple[dict[str, Any], Table]:
    """Heat since sowing against past seasons: now, and day by day for the fan."""
    its = clock(crop, crop.stage[crop.goal].clock, None) if who == "corn" else _bean_clock(crop)
    first, last = sown + 1, LAST
    days = np.arange(first, last + 1)
    mine = _gathered(rows, its, first, last)
    theirs = _gathered(rows.before, its, first, last)
    now = max(rows.today - 1, first) - first
    own = mine[own_rows(rows)]
    usual = _tenths(rows.before.index, theirs)
    ahead_ = _tenths(rows.index, mine)
    known = days < rows.today
    middle = own.mean(axis=0)
    more = counted(rows.before, theirs[:, now] > middle[now])
    when = np.where((theirs >= middle[now]).any(axis=1), (theirs >= middle[now]).argmax(axis=1) + first, NEVER)
    lead = predicted(when[rows.before.index], 0.5) - (first + now)
    value = {
        "unit": its.unit,
        "gathered": round(float(middle[now]), 1),
        "usual": [round(float(part[now]), 1) for part in usual],
        "warmer_seasons": int(more.count),
        "of_seasons": more.seasons,
        "days_ahead": round(float(lead)) if isfinite(lead) else None,
    }
    columns = [
        Column(f"usual.{name}", "amount", part, its.unit)
        for name, part in zip(("low", "middle", "high"), usual, strict=True)
    ]
    columns.append(Column("this_season", "amount", np.where(known, middle, np.nan), its.unit))
    columns += [
        Column(f"possible.{name}", "amount", np.where(known, np.nan, part), its.unit)
        for name, part in zip(("low", "middle", "high"), ahead_, strict=True)
    ]
    return value, Table(
        f"fan.{who}", Column("day", "day", days.astype(float)), tuple(columns), brief=np.empty(0, np.int64)
    )


def _bean_clock(crop: Crop) -> Any:
    """The clock of heat that the bean's growth goes by, or of its emergence where its goal goes by day length."""
    goal = crop.stage[crop.goal].clock
    return clock(
        crop, goal if crop.clock[goal].method in ("mean", "clamped", "sine") else crop.stage["emergence"].clock
    )


def _gathered(rows: Ensemble, its: Any, first: int, last: int) -> Floats:
    """Heat from one day to each of the next, in the clock's own unit. [row, day]"""
    total = running(its.rate(rows.tmin, rows.tmax))
    return np.asarray((total[:, first + 1 : last + 2] - total[:, first : first + 1]) / its.per_unit)


def _tenths(index: NDArray[np.int64], values: Floats) -> Floats:
    """The 1st, 5th and 9th tenth of possible seasons on each day. [3, day]"""
    every = values[index].reshape(-1, values.shape[-1])
    return np.quantile(every, TENTHS, axis=0)


def _values(
    rows: Pinned, of: Sown, field: Field, came: Sequence[Line], coming: Sequence[Line], heat: dict[str, Any]
) -> dict[str, Any]:
    """What programs read."""
    own = own_rows(rows)
    gone = {who: float(np.mean(day[own] < rows.today)) >= 0.5 for who, day in _killed(field).items()}
    stage = {
        "corn": _now(of.corn, came, "corn", rows, of.seeding),
        "legume": _now(of.legume, came, "legume", rows, of.legume_seeding),
    }
    moisture = None
    if field.silage is not None:
        _, at, path = field.silage
        percent = path.weight @ path.path[:, rows.today - 1 - path.first]
        spread = spread_on(np.array([rows.today - 1]), at)[0]
        moisture = {"percent": round(float(percent), 1), "spread": round(float(spread), 1)}
    return {
        "season": rows.season,
        "today": Day(rows.today),
        "seeding_day": Day(of.seeding),
        "legume_seeding_day": None if of.legume is None else Day(of.legume_seeding),
        "corn": None if of.corn is None else of.corn.name,
        "legume": None if of.legume is None else of.legume.name,
        "store": of.store.name if of.corn is not None and is_silage(of.corn) else None,
        "stage": stage,
        "heat": heat,
        "moisture_now": moisture,
        "killed": gone,
        "next": _next(rows, of, field, coming, gone),
        "departure": {"tmin": rows.departure[0], "tmax": rows.departure[1]},
        "own_days_missing": int((~rows.known[of.seeding + 1 :]).sum()),
        "forecast_days": rows.forecast_days,
    }


def _killed(field: Field) -> dict[str, Floats]:
    found = {}
    if field.corn is not None:
        found["corn"] = field.corn_killed
    if field.legume is not None:
        found["legume"] = field.legume_killed
    return found


def _now(crop: Crop | None, came: Sequence[Line], who: str, rows: Pinned, sown: int) -> StageName | Term | None:
    """The last stage that has come."""
    if crop is None:
        return None
    mine = [line for line in came if line.who == who]
    if mine:
        return max(mine, key=lambda line: line.weather[1]).stage
    return Term("season_not_up" if sown < rows.today else "season_to_sow")


def _next(rows: Pinned, of: Sown, field: Field, coming: Sequence[Line], gone: dict[str, bool]) -> list[dict[str, Any]]:
    """What to do next, each with its day, in order: {"what", "day"}; a day that has passed is today."""
    by = {(line.who, line.stage.name): line for line in coming}
    tasks: list[tuple[str, float]] = []

    def add(what: str, day: float) -> None:
        if isfinite(day):
            tasks.append((what, max(day, float(rows.today))))

    if gone.get("corn"):
        add("frosted", rows.today)
    elif ("corn", "emergence") in by:
        add("emergence", by["corn", "emergence"].all[0])
    elif ("corn", "v5") in by:
        assert field.corn is not None
        up = predicted(field.corn.days["emergence"][rows.index], 0.5)
        if up + STAND_AFTER >= rows.today:
            add("stand", up + STAND_AFTER)
        add("v5", by["corn", "v5"].all[1])
    elif ("corn", "silking") in by:
        add("silking", by["corn", "silking"].all[0])
    elif ("corn", "dent") in by:
        add("milk_line", by["corn", "dent"].all[0])
    if not gone.get("corn") and ("corn", FIT) in by:
        add("sample", by["corn", FIT].all[0] - SAMPLE_BEFORE)
        add("chop", by["corn", FIT].all[1])
    if of.legume is not None and of.legume_seeding >= rows.today:
        add("sow_legume", of.legume_seeding)
    elif ("legume", "emergence") in by:
        add("legume_emergence", by["legume", "emergence"].all[0])
    elif field.legume is not None and not gone.get("legume"):
        up = predicted(field.legume.days["emergence"][rows.index], 0.5)
        if up + NODULES_AFTER >= rows.today:
            add("nodules", up + NODULES_AFTER)
    return [{"what": Term(f"do_{what}"), "day": Day(day)} for what, day in sorted(tasks, key=lambda one: one[1])]


def _said(
    rows: Pinned, of: Sown, field: Field, values: dict[str, Any], coming: Sequence[Line]
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, what carries it, and where the field stands."""
    who = "corn" if of.corn is not None else "legume"
    crop = of.corn or of.legume
    assert crop is not None
    mine = [line for line in coming if line.who == who]
    at: dict[str, Any] = {
        "crop": CropName(crop.name, crop.title),
        "day": values["today"],
        "stage": values["stage"][who],
        "store": Term(f"store_{of.store.name}"),
    }
    goal = next((line for line in mine if line.stage.name in (FIT, crop.goal)), None)
    others = [line for line in mine if line is not goal and isfinite(line.all[1])]
    following = next((line for line in others if line.stage.name in TOLD), others[0] if others else None)
    for key, line in (("goal", goal), ("next", following)):
        if line is not None:
            at |= {f"{key}_stage": line.stage, key: span(line.all)}
    if values["killed"].get(who):
        headline = Says("killed", at)
    elif goal is None:
        headline = Says("there", at)
    else:
        headline = Says("goal" if following is None else "stands", at)
    said: list[Says] = []
    said += _frost_said(rows, field, mine, goal, who)
    said += [Says("then", one) for one in values["next"][1:3]]
    for name, heat in values["heat"].items():
        if values["killed"].get(name):
            continue  # what heat a dead plant gathers says nothing
        said.append(Says(_heat_key(heat), _heat_values(heat, name)))
    if who == "corn" and of.legume is not None:
        said += _legume_said(of, field, values, coming)
    if values["moisture_now"] is not None and _near(values):
        now = values["moisture_now"]
        said.append(Says("moisture", {"moisture": Amount(now["percent"], "%"), "spread": now["spread"]}))
    if of.seen.anything:
        said.append(Says("seen", {}))
    return headline, (*said, *common_said(rows, values))


def span(of: Dates) -> Says:
    """Days at odds of 1, 5 and 9 in 10 as a part of a sentence: "about 12 July (4 to 22 July)"."""
    early, usual, late = of
    key = "season_never" if not isfinite(usual) else "season_open" if not isfinite(late) else "season_span"
    return Says(key, {"early": Day(early), "usual": Day(usual), "late": Day(late)})


def _frost_said(rows: Pinned, field: Field, mine: Sequence[Line], goal: Line | None, who: str) -> list[Says]:
    if goal is None:
        return []
    killed = _killed(field)[who]
    before = counted(rows, (killed <= goal.on) & (killed >= rows.today))
    key = "frost_before" if float(before.share) >= SOON else "frost_seldom"
    return [Says(key, {"stage": goal.stage, "count": before})]


def _heat_key(heat: dict[str, Any]) -> str:
    days = heat["days_ahead"]
    if days is None:
        return "heat"
    return "heat_as_usual" if abs(days) <= 1 else "heat_ahead" if days > 0 else "heat_behind"


def _heat_values(heat: dict[str, Any], who: str) -> dict[str, Any]:
    unit = heat["unit"]
    low, usual, high = (Amount(value, unit) for value in heat["usual"])
    return {
        "who": Term(f"season_{who}"),
        "gathered": Amount(heat["gathered"], unit),
        "low": low,
        "usual": usual,
        "high": high,
        "days": abs(heat["days_ahead"] or 0),
        "more": heat["warmer_seasons"],
        "seasons": heat["of_seasons"],
    }


def _legume_said(of: Sown, field: Field, values: dict[str, Any], coming: Sequence[Line]) -> list[Says]:
    assert of.legume is not None
    at: dict[str, Any] = {"crop": CropName(of.legume.name, of.legume.title), "stage": values["stage"]["legume"]}
    if field.legume is None:
        return [Says("legume_to_sow", {**at, "on": Day(of.legume_seeding)})]
    if values["killed"].get("legume"):
        return [Says("legume_killed", at)]
    mine = [line for line in coming if line.who == "legume"]
    if not mine or not isfinite(mine[0].all[1]):
        return [Says("legume_stands", at)]
    return [Says("legume_next", {**at, "next_stage": mine[0].stage, "next": span(mine[0].all)})]


def common_said(rows: Pinned, values: dict[str, Any]) -> list[Says]:
    """How warm it has been and what follows from it, holes and forecast, each where there is something to say."""
    said = []
    tmin, tmax = rows.departure
    if isfinite(tmin) and isfinite(tmax):
        both = (tmin + tmax) / 2
        key = "warmer" if both >= 0.05 else "colder" if both <= -0.05 else ""
        if key:
            said.append(Says(key, {"degrees": Amount(abs(both), "degC more", 1)}))
    if values["own_days_missing"]:
        lately = values["seeding_day"] is None
        said.append(Says("own_missing_lately" if lately else "own_missing", {"days": values["own_days_missing"]}))
    if rows.forecast_days:
        said.append(Says("forecast", {"days": rows.forecast_days}))
    return said
