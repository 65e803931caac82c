"""Several fields, one chopper: an order and a calendar, and what a second machine or longer days are worth."""

import tomllib
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, CropName, Day, Part, Says, Table, Term
from frostkit.answers.cautions import cautions_of
from frostkit.answers.silage.ahead import TENTHS, ahead
from frostkit.answers.silage.chop import Asked, Today, check_own, chop, field_ahead, today_of
from frostkit.answers.silage.drying import Standing, hybrid, observations
from frostkit.answers.silage.farm import Field
from frostkit.answers.silage.order import (
    Best,
    Run,
    Work,
    best_order,
    carry_out,
    earliest_first,
    nearest_first,
    tonnes_kept,
)
from frostkit.answers.silage.stores import Store, wanted
from frostkit.crops.entry import Crop, load
from frostkit.ensemble.pin import Pinned, pin
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import FrostkitError, SettingError
from frostkit.records.field import Offset, compare, low_spot
from frostkit.records.logger import read_logger
from frostkit.seasons.calendar import DAYS, MISSING, SEASON_END, column, words
from frostkit.seasons.silage import first_day_at

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
MORE_HOURS = 2.0  # h a day more, to show what longer days are worth
LAST = column(*SEASON_END)
DRYING_OUT = slice(column(8, 1), LAST + 1)  # days in which rain is looked at
RAIN_READ = 0.95  # part of these days that must be read for a season's rain to be known
FEWEST_RAIN = 5  # seasons of known rain, or the record has none to speak of
NAMED = 6  # fields named in the verdict; of more, the first four
RAIN_SEED = 22


@cache
def _settings() -> dict[str, Any]:
    return tomllib.loads((files("frostkit.answers.silage") / "fields.toml").read_text("utf-8"))


def _usual(group: str, name: str) -> Any:
    return field(default_factory=lambda: float(_settings()[group][name]["value"]))


@dataclass(frozen=True)
class Chopper:
    """What the chopper can do.

    rate : ha an hour; spread : share that the rate is lower or higher in one season of ten; hours : h a day
    machines : choppers working on the same farm; move : h from one place to another
    trucks, load : hauling trucks and what each carries [t wet]; 0 trucks: hauling holds nothing up
    """

    rate: float = _usual("chopper", "rate")
    spread: float = _usual("chopper", "spread")
    hours: float = _usual("chopper", "hours")
    machines: int = 1
    move: float = _usual("chopper", "move")
    trucks: int = 0
    load: float = 12.0

    def __post_init__(self) -> None:
        for what, value, low, high in (
            ("A rate", self.rate, 0, 50),
            ("A day", self.hours, 0, 24),
            ("A load", self.load, 0, 60),
        ):
            if not low < value <= high:
                unit = {"A rate": "ha an hour", "A day": "hours", "A load": "t"}[what]
                raise SettingError(
                    f"{what} of {value:g} {unit} is not above {low:g} and up to {high:g}.", "Correct the number."
                )
        if not 0 <= self.spread < 0.9:
            raise SettingError(
                f"A spread of {self.spread:g} is outside 0 to 0.9.", "Give a share, such as 0.2 for 20 %."
            )
        if not 1 <= self.machines <= 5:
            raise SettingError(f"{self.machines} machines is outside 1 to 5.", "Give the number of choppers.")
        if not 0 <= self.move <= 24 or self.trucks < 0:
            raise SettingError(
                f"A move of {self.move:g} hours, or {self.trucks} trucks, can't be.",
                "Give 0 to 24 hours, and 0 or more trucks.",
            )


class Windows(NamedTuple):
    """When each field is in its store's range, in every possible season.

    first, last : float [draw, season, field], columns; +inf: never
    lost : bool [draw, season, 365], days on which rain keeps the chopper off
    rain_seasons : seasons whose rain was read; 0: nothing is known of rain
    rows : the possible seasons of fields without an offset of their own; today : column stood on, or None
    """

    first: Floats
    last: Floats
    lost: Mask
    rain_seasons: int
    rows: Ensemble
    today: int | None


class Cases(NamedTuple):
    """Possible seasons that differ in any field's days or in rain, each once.

    season : int [case], place of its season; weight : float [case], part of its season's draws; first, last, lost : as
        in `Windows`
    """

    season: NDArray[np.int64]
    weight: Floats
    first: Floats
    last: Floats
    lost: Mask


class Rule(NamedTuple):
    """What another way of working comes to: tonnes in range, mean over seasons; and in how many seasons it is better or
    worse than the plan."""

    name: str
    tonnes: float
    better: int
    worse: int


def fields(
    site: Site,
    of: tuple[Field, ...],
    chopper: Chopper | None = None,
    *,
    store: str = "bunker",
    target: tuple[float, float] | None = None,
    today: Today | None = None,
) -> Answer:
    """An order and a calendar that keep the most tonnes in the stores' ranges over the possible seasons.

    Each field is begun once it is fit in that season (you sample it), in the order given; what is chopped after it has
    become too dry, and what is not fit by the end of the season, counts nothing.

    Parameters
    ----------
    site : Site; its field offset holds for fields that have none of their own
    of : tuple of Field
    chopper : Chopper, default `fields.toml`
    store : of fields that name none; target : your own range of moisture for all
    today : date, optional
        Stand on this day of a season: its days so far, and what was seen, count for all fields. Left out: plan from
        possible seasons alone.

    Raises
    ------
    SettingError
        For no fields, or a seeding day after today.
    RecordError
        Where no season counts, or a logger can't be used.
    CropError
        For a field whose corn is not silage corn.
    """
    if not of:
        raise SettingError("There is no field to chop.", "Give at least one field.")
    chopper = Chopper() if chopper is None else chopper
    limits = tuple(wanted(one.store or store, target) for one in of)
    windows = fit_windows(site, of, limits, today)
    cases = cases_of(windows)
    middle = np.array([(limit.low + limit.high) / 2 for limit in limits])
    work, clock = work_of(of, cases, windows.today, chopper, middle)
    haul = np.array([one.haul for one in of])
    simple = {"earliest_first": earliest_first(work), "nearest_first": nearest_first(haul)}
    best = best_order(work, list(simple.values()))
    run = carry_out(work, best.order)
    by_season = _by_season(work, run, cases)
    rules = [_against(name, work, order, by_season, cases) for name, order in simple.items()]
    more = [
        _with_more(name, of, cases, windows.today, changed, middle, best, by_season) for name, changed in _more(chopper)
    ]
    plan = _plan_table(of, limits, best.order.tolist(), cases, run, clock, site)
    share = best.kept / float(work.tonnes.sum())
    values = _values(windows, chopper, best, work, plan, by_season)
    season = None if windows.today is None else windows.rows.asked
    return Answer(
        "fields",
        _headline(plan, share),
        _said(values, rules, more, of, windows),
        values,
        (plan, _rule_table("rules", rules), _rule_table("more", more), _season_table(windows.rows, by_season)),
        cautions_of("chopping"),
        site if season is None else site.asking(season),
        {"fields": of, "limits": limits, "today": today, "chopper": chopper, "target": target, "store": store},
        windows.rows,
        _next(of, windows, values["order"][0]),
    )


def each_chop(answer: Answer) -> dict[str, Answer]:
    """The chopping answer of every field of an answer that stands on a day, by name, in the plan's order."""
    of: dict[str, Field] = {one.name: one for one in answer.settings["fields"]}
    site = answer.site
    assert site is not None
    if answer.settings["today"] is None:
        raise SettingError("The fields were planned without a day to stand on.", "Say today's date.")
    found = {}
    for name in answer.table("plan").index.values:
        one = of[name]
        found[name] = chop(
            at_field(site, one),
            _corn(one),
            one.seeded,
            today=answer.settings["today"],
            silking=one.silking,
            milk_line=_seen_on(one.milk_line),
            moisture=_seen_on(one.moisture),
            store=one.store or answer.settings["store"],
            target=answer.settings["target"],
            legume_share=one.legume_share,
        )
    return found


def _seen_on(seen: tuple[float, int | None] | None) -> Any:
    """A value with its day, or the value alone where it was seen today."""
    return None if seen is None else seen[0] if seen[1] is None else seen


def _corn(of: Field) -> Crop:
    try:
        return load(of.corn)
    except FrostkitError as fault:
        raise type(fault)(f"{of.name}: {fault.what}", fault.do) from None


def at_field(site: Site, of: Field) -> Site:
    """The site as it is in one field: its own low spot or logger, else the site's."""
    offset: Offset | None = site.offset
    if of.logger:
        offset = compare(site.record, read_logger(of.logger, of.logger_units).record)
    elif of.colder_by is not None:
        offset = low_spot(of.colder_by, clear_nights_only=not of.all_nights)
    return site.with_offset(offset)


def fit_windows(site: Site, of: tuple[Field, ...], limits: tuple[Store, ...], today: Today | None) -> Windows:
    """When each field is in its store's range: in every possible season; with `today`, in those that begin with its
    season's days.

    Raises what `chop` raises, with the field's name.
    """
    season, now, _ = (None, None, None) if today is None else today_of(site, today)
    needs = ("tmin", "tmax", "prcp") if site.folded.prcp is not None else ("tmin", "tmax")
    made: dict[tuple, Ensemble] = {}

    def possible(one: Field | None) -> Ensemble:
        key = ("",) if one is None else (one.logger, one.logger_units, one.colder_by, one.all_nights)
        if key not in made:
            there = site if one is None else at_field(site, one)
            made[key] = (
                there.ensemble(needs, 0)
                if season is None or now is None
                else pin(there, season, now, needs=needs, shifts=0)
            )
        return made[key]

    days = []
    for one, limit in zip(of, limits, strict=True):
        days.append(_fit_window(possible(one), one, limit, season, now))
    rows = possible(None)
    draws = max(len(first) for first, _ in days)
    draws = max(draws, rows.draws)
    place = np.arange(draws)
    first, last = (np.stack([part[place % len(part)] for part in parts], -1) for parts in zip(*days, strict=True))
    lost, known = rain_days(site, rows)
    return Windows(first, last, lost[place % len(lost)], known, rows, now)


def _fit_window(rows: Ensemble, one: Field, limit: Store, season: int | None, now: int | None) -> tuple[Floats, Floats]:
    """First and last day in range of one field. [draw, season]"""
    corn = _corn(one)
    of = hybrid(corn).for_store(limit)
    if isinstance(rows, Pinned):
        assert season is not None and now is not None
        if one.seeded >= now:
            raise SettingError(
                f"{one.name}: seeding on {words(one.seeded)} is not before today, {words(now)}.",
                "Give a seeding day that has passed, or leave today out.",
            )
        try:
            seen = observations(now, one.silking, _seen_on(one.milk_line), _seen_on(one.moisture), one.seeded)
        except SettingError as fault:
            raise SettingError(f"{one.name}: {fault.what}", fault.do) from None
        asked = Asked(corn, limit, season, now, one.seeded, tuple(seen), one.legume_share, None, last=LAST)
        check_own(rows, asked, one.name)
        path = field_ahead(rows, asked).ahead
    else:
        alone = Standing(np.zeros(1), None, None, 0.0, ())
        path = ahead(rows, of, alone, one.seeded + 1, LAST, one.legume_share)
    first = first_day_at(path.path, limit.high, path.first)
    last = first_day_at(path.path, limit.low - 1e-6, path.first) - 1
    return first[rows.index], last[rows.index]


def rain_days(site: Site, rows: Ensemble) -> tuple[Mask, int]:
    """Days on which nothing is chopped, by draw and season, and the seasons whose rain was read.

    Rain is the season's own, its holes drawn as everywhere; what no donor can fill takes the days lost in a season
    that was read. With fewer than 5 of them no day is taken as lost. The limits [mm] stand in `fields.toml`.
    """
    shape = (*rows.index.shape, DAYS)
    rain_read = site.folded.prcp
    if rows.prcp is None or rain_read is None:
        return np.zeros(shape, bool), 0
    there = np.searchsorted(site.folded.seasons, rows.seasons)
    known = (rain_read[there][:, DRYING_OUT] != MISSING).mean(axis=1) >= RAIN_READ
    if known.sum() < FEWEST_RAIN:
        return np.zeros(shape, bool), 0
    limits = _settings()["rain"]
    rain = np.where(rows.prcp == MISSING, 0, rows.prcp) / 10
    wet, soaked = rain >= limits["wet_ground"]["value"], rain >= limits["soaked"]["value"]
    lost = rain >= limits["lost"]["value"]
    lost[:, 1:] |= wet[:, :-1] | soaked[:, :-1]
    lost[:, 2:] |= soaked[:, :-2]
    by_season = lost[rows.index]
    rng = np.random.default_rng(RAIN_SEED)
    donors = np.flatnonzero(known)
    empty = (rows.prcp[:, DRYING_OUT] == MISSING).mean(axis=1) > 1 - RAIN_READ
    for season in np.flatnonzero(empty[rows.index].any(axis=0)):
        drawn = rng.choice(donors, rows.draws)
        by_season[:, season] = by_season[np.arange(rows.draws), drawn]
    return by_season, int(known.sum())


def cases_of(windows: Windows) -> Cases:
    """The possible seasons that differ in anything, each once, with the part of its season that it stands for."""
    draws, seasons, count = windows.first.shape
    number = np.broadcast_to(np.arange(seasons, dtype=float), (draws, seasons))[..., None]
    late = np.minimum(windows.last, LAST)
    lost = windows.lost[..., DRYING_OUT]
    every = np.concatenate([number, windows.first, late, lost], axis=-1).reshape(draws * seasons, -1)
    unique, index, counts = np.unique(every, axis=0, return_index=True, return_counts=True)
    season = unique[:, 0].astype(int)
    first = unique[:, 1 : 1 + count]
    return Cases(season, counts / draws, first, windows.last.reshape(-1, count)[index],
                 windows.lost.reshape(-1, DAYS)[index])  # fmt: skip


def work_of(
    of: tuple[Field, ...], cases: Cases, today: int | None, chopper: Chopper, moisture: Floats
) -> tuple[Work, Floats]:
    """The work on the clock of hours worked, by case and rate; and that clock.

    moisture : float [field], percent, for what the trucks carry

    Returns Work with cases (case, rate) in that order, and the clock: hours worked before each day [case, 366].
    """
    begin = 0 if today is None else today
    free = ~cases.lost & (np.arange(DAYS) >= begin) & (np.arange(DAYS) <= LAST)
    clock = np.zeros((len(free), DAYS + 1))
    np.cumsum(free * chopper.hours, axis=1, out=clock[:, 1:])
    steps = np.array([1 - chopper.spread, 1.0, 1 + chopper.spread] if chopper.spread else [1.0])
    area, dry = (np.array(values) for values in zip(*((one.area, one.tonnes) for one in of), strict=True))
    hours = area / (chopper.rate * steps[:, None])
    if chopper.trucks:
        settings = _settings()["chopper"]
        haul = np.array([one.haul for one in of])
        trip = 2 * haul / settings["road_speed"]["value"] + settings["unloading"]["value"]
        hours = np.maximum(hours, dry / (1 - moisture / 100) / (chopper.trucks * chopper.load) * trip)
    rates = steps.size

    def on_clock(day: Floats) -> Floats:
        at = np.clip(np.nan_to_num(day, posinf=DAYS), 0, DAYS).astype(int)
        return np.take_along_axis(clock, at, axis=1)

    never = ~np.isfinite(cases.first)
    fit = np.where(never, np.inf, on_clock(cases.first))
    late = np.where(never, np.inf, on_clock(cases.last + 1))
    places = np.array([one.place for one in of])
    move = np.where(places[:, None] != places[None], chopper.move, 0.0)
    weight = (cases.weight[:, None] * _rate_weights(rates)).ravel()
    work = Work(
        np.tile(hours, (len(free), 1)),
        np.repeat(fit, rates, 0),
        np.repeat(late, rates, 0),
        np.repeat(clock[:, -1], rates),
        dry.astype(float),
        weight / weight.sum(),
        move,
        chopper.machines,
    )
    return work, clock


def _rate_weights(rates: int) -> Floats:
    return np.asarray(_settings()["rates"]["weights"] if rates > 1 else [1.0])


def _by_season(work: Work, run: Run, cases: Cases) -> Floats:
    """Tonnes in range of each season, mean over its draws and the rates. [season]"""
    rates = work.weight.size // cases.season.size
    season = np.repeat(cases.season, rates)
    total = np.bincount(season, run.kept.sum(1) * work.weight)
    return total / np.bincount(season, work.weight)


def _against(name: str, work: Work, order: NDArray[np.int64], plan: Floats, cases: Cases) -> Rule:
    theirs = _by_season(work, carry_out(work, order), cases)
    kept = float(tonnes_kept(work, order[None])[0])
    return Rule(name, kept, int((theirs > plan + 0.05).sum()), int((theirs < plan - 0.05).sum()))


def _more(chopper: Chopper) -> list[tuple[str, Chopper]]:
    found = []
    if chopper.machines < 5:
        found.append(("machine_more", replace(chopper, machines=chopper.machines + 1)))
    if chopper.hours + MORE_HOURS <= 24:
        found.append(("hours_more", replace(chopper, hours=chopper.hours + MORE_HOURS)))
    return found


def _with_more(
    name: str,
    of: tuple[Field, ...],
    cases: Cases,
    today: int | None,
    chopper: Chopper,
    moisture: Floats,
    best: Best,
    plan: Floats,
) -> Rule:
    work, _ = work_of(of, cases, today, chopper, moisture)
    found = best_order(work, [best.order], shakes=0)
    return _against(name, work, found.order, plan, cases)


def _dates(days: Floats, weight: Floats) -> Floats:
    """The days at odds of 1, 5 and 9 in 10. days : float [case, field]; weight : [case] -> [3, field]"""
    order = np.argsort(days, axis=0, kind="stable")
    sorted_ = np.take_along_axis(days, order, axis=0)
    sofar = np.cumsum(weight[order], axis=0) / weight.sum()
    return np.stack([np.take_along_axis(sorted_, (sofar >= odds - 1e-9).argmax(axis=0)[None], axis=0)[0]
                     for odds in TENTHS])  # fmt: skip


def _days_of(hours: Floats, clock: Floats) -> Floats:
    """The day on which each case's clock shows those hours; +inf after its end. hours : float [case, field]"""
    day = (clock[:, None, 1:] <= hours[..., None] + 1e-9).sum(axis=-1).astype(float)
    return np.where(hours < clock[:, -1:] - 1e-9, day, np.inf)


def _plan_table(
    of: tuple[Field, ...],
    limits: tuple[Store, ...],
    order: list[int],
    cases: Cases,
    run: Run,
    clock: Floats,
    site: Site,
) -> Table:
    """A row a field, in the order in which they are taken; days at the middle rate."""
    rates = len(run.start) // len(clock)
    middle = rates // 2
    start, finish = _days_of(run.start[middle::rates], clock), _days_of(run.finish[middle::rates] - 1e-6, clock)
    dates = {
        "fit_from": _dates(cases.first, cases.weight),
        "fit_to": _dates(np.where(np.isfinite(cases.first), cases.last, np.inf), cases.weight),
        "start": _dates(start, cases.weight),
        "finish": _dates(finish, cases.weight),
    }
    kept = (run.kept.reshape(-1, rates, len(of)) * _rate_weights(rates)[:, None]).sum(1)
    tonnes = np.array([one.tonnes for one in of])
    inside = cases.weight @ kept / cases.weight.sum() / tonnes
    never = cases.weight @ ~np.isfinite(cases.first)
    shown = {"start": ("early", "usual", "late"), "fit_from": ("usual",), "fit_to": ("usual",)}
    columns = []
    for name in ("start", "fit_from", "fit_to", "finish"):
        for odds, days in zip(("early", "usual", "late"), dates[name][:, order], strict=True):
            columns.append(Column(f"{name}.{odds}", "day", days, shown=odds in shown.get(name, ())))
    columns.append(Column("in_range", "part", inside[order]))
    columns.append(Column("never_fit", "number", np.floor(never[order] + 1e-9), shown=False))
    texts: dict[str, list[Any]] = {
        "corn": [CropName(of[at].corn, of[at].corn) for at in order],
        "legume": [of[at].legume for at in order],
        "place": [of[at].place for at in order],
        "store": [f"store_{limits[at].name}" for at in order],
    }
    for key, kind in (("corn", "crop"), ("legume", "text"), ("place", "text"), ("store", "term")):
        columns.append(Column(key, kind, texts[key], shown=False))
    numbers = {"area_ha": ("area", "ha", 1), "haul_km": ("haul", "km", 1), "tonnes": ("tonnes", "t", 0)}
    for key, (name, unit, digits) in numbers.items():
        values = [getattr(of[at], name) for at in order]
        columns.append(Column(key, "amount", np.array(values, float), unit, digits, shown=False))
    columns.append(Column("seeded", "day", np.array([of[at].seeded for at in order], float), shown=False))
    columns.append(Column("colder_by", "number", [of[at].colder_by for at in order], shown=False))
    columns.append(Column("logger", "flag", [bool(of[at].logger) for at in order], shown=False))
    return Table("plan", Column("name", "text", [of[at].name for at in order]), tuple(columns))


def _rule_table(key: str, rules: list[Rule]) -> Table:
    parts = list(zip(*rules, strict=True)) or [(), (), (), ()]
    names, tonnes, better, worse = parts
    return Table(
        key,
        Column("name", "term", [f"fields_{name}" for name in names]),
        (
            Column("tonnes", "amount", np.array(tonnes, float), "t"),
            Column("better", "number", np.array(better, float)),
            Column("worse", "number", np.array(worse, float)),
        ),
        brief=np.empty(0, np.int64),
    )


def _season_table(rows: Ensemble, by_season: Floats) -> Table:
    return Table(
        "seasons",
        Column("season", "season", rows.seasons),
        (Column("complete", "flag", rows.complete), Column("tonnes", "amount", by_season, "t", 1)),
        brief=np.empty(0, np.int64),
    )


def _values(
    windows: Windows, chopper: Chopper, best: Best, work: Work, plan: Table, by_season: Floats
) -> dict[str, Any]:
    low, high = np.quantile(by_season, (TENTHS[0], TENTHS[2]))
    span = np.s_[..., column(9, 1) : column(10, 15)]
    total = float(work.tonnes.sum())
    return {
        "today": None if windows.today is None else Day(windows.today),
        "season": windows.rows.asked,
        "order": list(plan.index.values),
        "tonnes": Amount(best.kept, "t"),
        "all_tonnes": Amount(total, "t"),
        "in_range": Part(best.kept / total),
        "tonnes_8_in_10": [Amount(float(low), "t"), Amount(float(high), "t")],
        "proved": best.proved,
        "chopper": {key: getattr(chopper, key) for key in ("rate", "spread", "hours", "machines", "move", "trucks",
                                                           "load")},
        "rain_seasons": windows.rain_seasons,
        "lost_days_of_10": round(10 * float(windows.lost[span].mean()), 1) if windows.rain_seasons else None,
        "does_not_know": [Term(f"fields_unknown_{what}") for what in ("spread", "wet", "yield")],
    }  # fmt: skip


def _next(of: tuple[Field, ...], windows: Windows, first: str) -> Says | None:
    """When to dry a first sample from the field that goes first."""
    at = [one.name for one in of].index(first)
    begin = float(_dates(windows.first.reshape(-1, len(of)), np.ones(windows.first[..., 0].size))[0, at])
    if not isfinite(begin):
        return None
    day = begin - 3 if windows.today is None else max(begin - 3, windows.today)
    return Says("do_sample", {"name": first, "day": Day(day)})


def _headline(plan: Table, share: float) -> Says:
    names = list(plan.index.values)
    if len(names) > NAMED:
        return Says("order_more", {"names": tuple(names[:4]), "more": len(names) - 4, "in_range": Part(share)})
    return Says("order" if len(names) > 1 else "one", {"names": tuple(names), "in_range": Part(share)})


def _said(
    values: dict[str, Any], rules: list[Rule], more: list[Rule], of: tuple[Field, ...], windows: Windows
) -> tuple[Says, ...]:
    """Counts, the simple rules, what more would keep, and rain."""
    low, high = values["tonnes_8_in_10"]
    both = {"kept": values["tonnes"], "all": values["all_tonnes"], "seasons": windows.rows.seasons.size}
    said = [Says("kept", {**both, "low": low, "high": high})]
    for rule in rules:
        less = round(values["tonnes"].value - rule.tonnes)
        at_rule = {"rule": Term(f"fields_{rule.name}"), "kept": Amount(rule.tonnes, "t"), "less": Amount(less, "t"),
                   "better": rule.better, "worse": rule.worse}  # fmt: skip
        said.append(Says("rule_less" if less > 0 else "rule_same", at_rule))
    for rule in more:
        gain = round(rule.tonnes - values["tonnes"].value)
        said.append(Says(f"{rule.name}" if gain > 0 else f"{rule.name}_none", {"gain": Amount(gain, "t"),
                                                                             "hours": MORE_HOURS}))  # fmt: skip
    if windows.rain_seasons:
        said.append(Says("rain", {"days": values["lost_days_of_10"], "seasons": windows.rain_seasons}))
    else:
        said.append(Says("no_rain"))
    if windows.today is None and any(one.seen for one in of):
        said.append(Says("seen_not_used"))
    return tuple(said)
