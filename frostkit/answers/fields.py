"""Several fields, one chopper: an order and a calendar, and what a second machine or longer days are worth."""

import tomllib
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.ahead import ahead, mix
from frostkit.answers.cautions import Caution, as_dicts, cautions_of
from frostkit.answers.chopping import Today, today_of
from frostkit.answers.drying import hybrid, standing
from frostkit.answers.farm import Field
from frostkit.answers.order import Best, Run, Work, best_order, carry_out, earliest_first, nearest_first, tonnes_kept
from frostkit.answers.rests import MIDDLE, NEWEST, rests
from frostkit.answers.station import Behind
from frostkit.answers.stores import Store, wanted
from frostkit.crops.entry import load
from frostkit.errors import RecordError, SettingError
from frostkit.odds.estimate import FEWEST
from frostkit.records.record import Record
from frostkit.seasons.calendar import DAYS, MISSING, SEASON_END, Cube, code, column, fold, words
from frostkit.seasons.silage import first_day_at

MORE_HOURS = 2.0  # h a day more, to show what longer days are worth
QUARTERS = (0.1, 0.5, 0.9)


@cache
def _settings() -> dict[str, Any]:
    return tomllib.loads((files("frostkit.answers") / "fields.toml").read_text("utf-8"))


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
        for what, value, low, high in (("A rate", self.rate, 0, 50), ("A day", self.hours, 0, 24),
                                       ("A load", self.load, 0, 60)):  # fmt: skip
            if not low < value <= high:
                unit = {"A rate": "ha an hour", "A day": "hours", "A load": "t"}[what]
                raise SettingError(f"{what} of {value:g} {unit} is not above {low:g} and up to {high:g}.",
                                   "Correct the number.")  # fmt: skip
        if not 0 <= self.spread < 0.9:
            raise SettingError(
                f"A spread of {self.spread:g} is outside 0 to 0.9.", "Give a share, such as 0.2 for 20 %."
            )
        if not 1 <= self.machines <= 5:
            raise SettingError(f"{self.machines} machines is outside 1 to 5.", "Give the number of choppers.")
        if not 0 <= self.move <= 24 or self.trucks < 0:
            raise SettingError(f"A move of {self.move:g} hours, or {self.trucks} trucks, can't be.",
                               "Give 0 to 24 hours, and 0 or more trucks.")  # fmt: skip


class FieldPlan(NamedTuple):
    """One field in the calendar; days are columns at odds of 1, 5 and 9 in 10, +inf: not in the season.

    fit_from, fit_to : when it is in range; start, finish : when it is chopped
    in_range : share of its tonnes chopped in range, mean; never_fit : seasons in which it does not get fit
    """

    field: Field
    fit_from: tuple[float, float, float]
    fit_to: tuple[float, float, float]
    start: tuple[float, float, float]
    finish: tuple[float, float, float]
    in_range: float
    never_fit: int


class Rule(NamedTuple):
    """What another way of working comes to: tonnes in range, mean over seasons; and in how many seasons it is better or
    worse than the plan."""

    name: str
    tonnes: float
    better: int
    worse: int


@dataclass(frozen=True)
class FieldsAnswer:
    """The order, its calendar, and what it is worth.

    plan : fields in the order they are taken
    tonnes : t dry matter in range, mean over the seasons; all_tonnes : t that stand
    by_season : tonnes in range per season
    rules : the simple rules; more : a second machine, longer days, each with its own best order
    proved : no order is better (for few fields); rain_known : seasons with rain readings
    """

    behind: Behind
    store: Store
    chopper: Chopper
    plan: tuple[FieldPlan, ...]
    tonnes: float
    all_tonnes: float
    seasons: NDArray[np.int64]
    by_season: NDArray[np.float64]
    rules: tuple[Rule, ...]
    more: tuple[Rule, ...]
    proved: bool
    rain_known: int
    lost_days: float
    today: int | None
    cautions: tuple[Caution, ...]

    def title(self) -> str:
        """The answer in one sentence."""
        names = [plan.field.name for plan in self.plan]
        listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])}, then {names[-1]}"
        if len(names) > 6:
            listed = f"{', '.join(names[:4])} and {len(names) - 4} more"
        return f"Chop in this order: {listed}; {100 * self.tonnes / self.all_tonnes:.0f} % of the tonnes in range."

    def says(self) -> tuple[str, ...]:
        """Every line of the answer, the cautions apart."""
        lines = [self.title()]
        low, high = np.quantile(self.by_season, (0.1, 0.9))
        lines.append(
            f"Over {self.seasons.size} past seasons {self.tonnes:.0f} of {self.all_tonnes:.0f} t dry matter come in at "
            f"{self.store.low:g} to {self.store.high:g} %; in 8 of 10 seasons {low:.0f} to {high:.0f} t."
        )
        for plan in self.plan:
            early, middle, late = (words(day) for day in plan.start)
            when = f"from about {middle} ({early} to {late})" if isfinite(plan.start[1]) else "mostly not fit"
            fit = f"fit from {words(plan.fit_from[1])} to {words(plan.fit_to[1])}; {100 * plan.in_range:.0f} % in range"
            lines.append(f"{plan.field.name}: {when}; {fit if plan.in_range >= 0.005 else 'none of it in range'}.")
        for rule in self.rules:
            less = round(self.tonnes - rule.tonnes)
            kept = f"{less} t less" if less > 0 else "as many as this order"
            if rule.better or rule.worse:
                kept += f"; it does better in {rule.better} seasons, worse in {rule.worse}"
            lines.append(f"{rule.name} keeps {rule.tonnes:.0f} t, {kept}.")
        for rule in self.more:
            gain = round(rule.tonnes - self.tonnes)
            lines.append(f"{rule.name} would keep {f'{gain} t more' if gain > 0 else 'no more'} a season.")
        if self.rain_known:
            lines.append(f"Rain takes {self.lost_days:.1f} days of 10, counted over {self.rain_known} seasons.")
        else:
            lines.append("The record has no rain: no day is taken as lost.")
        return tuple(lines)

    def does_not_know(self) -> tuple[str, ...]:
        """What the plan leaves out, in words."""
        return ("the spread of each hybrid about the moisture curve: sample before you move in",
                "how long each field stays wet after rain, breakdowns, and help from neighbours",
                "yield of each field beyond what you gave")  # fmt: skip

    def to_dict(self) -> dict[str, Any]:
        """For programs and the field sheet."""

        def days(of: tuple[float, float, float]) -> list[str | None]:
            return [code(day) for day in of]

        return {
            "title": self.title(),
            "says": list(self.says()),
            "store": self.store._asdict(),
            "today": None if self.today is None else code(self.today),
            "chopper": {key: getattr(self.chopper, key) for key in ("rate", "spread", "hours", "machines", "move",
                                                                    "trucks", "load")},
            "plan": [{"name": p.field.name, "area_ha": p.field.area, "corn": p.field.corn, "legume": p.field.legume,
                      "place": p.field.place, "haul_km": p.field.haul, "tonnes": round(p.field.tonnes, 1),
                      "seeded": code(p.field.seeded), "fit_from": days(p.fit_from), "fit_to": days(p.fit_to),
                      "start": days(p.start), "finish": days(p.finish), "in_range": round(p.in_range, 4),
                      "never_fit": p.never_fit} for p in self.plan],
            "tonnes": round(self.tonnes, 1),
            "all_tonnes": round(self.all_tonnes, 1),
            "seasons": self.seasons.tolist(),
            "by_season": [round(float(t), 1) for t in self.by_season],
            "rules": [r._asdict() for r in self.rules],
            "more": [r._asdict() for r in self.more],
            "proved": self.proved,
            "lost_days_of_10": round(self.lost_days, 2),
            "rain_known": self.rain_known,
            "does_not_know": list(self.does_not_know()),
            "record": self.behind.as_dict(),
            "cautions": as_dicts(self.cautions),
        }  # fmt: skip


class Rain(NamedTuple):
    """Days lost to rain by season.

    lost : bool [season, 365]; known : bool [season], nearly every day of August to October has a reading
    """

    lost: NDArray[np.bool_]
    known: NDArray[np.bool_]


def rain_days(record: Record, cube: Cube) -> Rain:
    """Days on which nothing is chopped, from the record's own rain; a missing reading is taken as a dry day.

    Whether a season's rain is known is judged by its readings alone: at most one day in twenty missing from August to
    October. The limits [mm] stand in `fields.toml`.
    """
    shape = cube.tmin.shape[-2], DAYS
    amounts = record.more.get("prcp")
    nothing = Rain(np.zeros(shape, bool), np.zeros(shape[0], bool))
    if amounts is None or not np.isfinite(amounts).any():
        return nothing
    mm = np.clip(amounts, None, 3000.0)
    try:
        folded = fold(record.start, mm, mm, season_starts=cube.season_starts)
    except SettingError:  # no rain reading in any growing season
        return nothing
    limits = _settings()["rain"]
    rows = np.searchsorted(folded.seasons, cube.seasons)
    inside = (rows < folded.seasons.size) & (folded.seasons[np.minimum(rows, folded.seasons.size - 1)] == cube.seasons)
    tenths = np.full(shape, MISSING, np.int16)
    tenths[inside] = folded.tmin[rows[inside]]
    rain = np.where(tenths == MISSING, 0, tenths) / 10
    lost = rain >= limits["lost"]["value"]
    wet, soaked = rain >= limits["wet_ground"]["value"], rain >= limits["soaked"]["value"]
    lost[:, 1:] |= wet[:, :-1] | soaked[:, :-1]
    lost[:, 2:] |= soaked[:, :-2]
    part = np.s_[:, column(8, 1) : column(10, 31) + 1]
    return Rain(lost, (tenths[part] == MISSING).mean(axis=1) <= 0.05)


class Windows(NamedTuple):
    """First and last day in range of each field in each season [season, field], columns; +inf: never."""

    seasons: NDArray[np.int64]
    complete: NDArray[np.bool_]
    first: NDArray[np.float64]
    last: NDArray[np.float64]
    today: int | None


def fit_windows(behind: Behind, fields: tuple[Field, ...], limits: Store, today: Today | None,
                newest: int | None = NEWEST) -> Windows:  # fmt: skip
    """When each field is in the store's range, in every past season; with `today`, in every possible rest of this one.

    Raises what `chopping` raises, with the field's name.
    """
    season = int(behind.cube.seasons[-1]) + 1
    now = None
    if today is not None:
        season, now, _ = today_of(behind, today)
    done: dict[tuple[str, int, float], tuple[NDArray[np.float64], NDArray[np.float64]]] = {}
    first, last = [], []
    joined = None
    for one in fields:
        key = one.corn, one.seeded, one.legume_share
        if key not in done:
            of = hybrid(load(one.corn))
            at = one.seeded + 1 if now is None else now
            if now is not None and one.seeded >= now:
                raise SettingError(f"{one.name}: seeding on {words(one.seeded)} is not before today, {words(now)}.",
                                   "Give a seeding day that has passed, or leave today out.")  # fmt: skip
            joined = rests(behind, of.clock, of.kills_at, season, at, newest=newest)
            gathered = np.cumsum(joined.own[MIDDLE, one.seeded + 1 : at]).astype(float)
            stands = standing(of, gathered, one.seeded + 1, [], joined.killed_before)
            paths = mix(ahead(joined, of, stands, one.seeded + 1, DAYS - 1), one.legume_share)
            begin = first_day_at(paths.middle, limits.high, paths.first)
            stop = first_day_at(paths.middle, limits.low - 1e-6, paths.first) - 1
            done[key] = begin, stop
        first.append(done[key][0])
        last.append(done[key][1])
    assert joined is not None
    return Windows(joined.seasons, joined.complete, np.stack(first, 1), np.stack(last, 1), now)


def work_of(fields: tuple[Field, ...], windows: Windows, rain: NDArray[np.bool_], chopper: Chopper,
            moisture: float) -> tuple[Work, NDArray[np.float64]]:  # fmt: skip
    """The work on the clock of hours worked, by season and rate; and that clock.

    rain : bool [season, 365], days lost; moisture : percent, for what the trucks carry

    Returns Work with cases (season, rate) in that order, and the clock: hours worked before each day [season, 366].
    """
    begin = 0 if windows.today is None else windows.today
    free = ~rain & (np.arange(DAYS) >= begin) & (np.arange(DAYS) <= column(*SEASON_END))
    clock = np.zeros((len(rain), DAYS + 1))
    np.cumsum(free * chopper.hours, axis=1, out=clock[:, 1:])
    weights = _settings()["rates"]["weights"] if chopper.spread else [1.0]
    steps = np.array([1 - chopper.spread, 1.0, 1 + chopper.spread] if chopper.spread else [1.0])
    area, wet = (np.array([value(one) for one in fields])
                 for value in (lambda f: f.area, lambda f: f.tonnes / (1 - moisture / 100)))  # fmt: skip
    hours = area / (chopper.rate * steps[:, None])
    if chopper.trucks:
        settings = _settings()["chopper"]
        haul = np.array([one.haul for one in fields])
        trip = 2 * haul / settings["road_speed"]["value"] + settings["unloading"]["value"]
        hours = np.maximum(hours, wet / (chopper.trucks * chopper.load) * trip)
    rates = steps.size

    def on_clock(day: NDArray[np.float64]) -> NDArray[np.float64]:
        at = np.clip(np.nan_to_num(day, posinf=DAYS), 0, DAYS).astype(int)
        return np.take_along_axis(clock, at, axis=1)

    never = ~np.isfinite(windows.first)
    fit = np.where(never, np.inf, on_clock(windows.first))
    late = np.where(never, np.inf, on_clock(windows.last + 1))
    places = np.array([one.place for one in fields])
    move = np.where(places[:, None] != places[None], chopper.move, 0.0)
    seasons = len(rain)
    weight = np.tile(np.asarray(weights) / seasons, seasons)
    return Work(np.tile(hours, (seasons, 1)), np.repeat(fit, rates, 0), np.repeat(late, rates, 0),
                np.repeat(clock[:, -1], rates), np.array([one.tonnes for one in fields]), weight, move,
                chopper.machines), clock  # fmt: skip


def order_of_fields(behind: Behind, rain: Rain, fields: tuple[Field, ...], chopper: Chopper | None = None, *,
                    store: str = "bunker", target: tuple[float, float] | None = None, today: Today | None = None,
                    newest: int | None = NEWEST) -> FieldsAnswer:  # fmt: skip
    """An order and a calendar that keep the most tonnes in the store's range over the past seasons.

    Each field is begun once it is fit in that season (you sample it), in the order given; what is chopped after it has
    become too dry, and what is not fit by the end of the season, counts nothing.

    Parameters
    ----------
    behind, rain : the record, folded, and its days lost to rain (`rain_days`)
    fields : tuple of Field
    chopper : Chopper, default `fields.toml`
    store, target : as in `chopping`
    today : date, optional
        Stand on this day of a season: its days so far count for all fields. Left out: plan from past seasons alone.
    newest : int or None
        Complete past seasons used, the newest ones; None: all.

    Raises
    ------
    SettingError
        For no fields, or a seeding day after today.
    RecordError
        With fewer than 10 complete past seasons.
    CropError
        For a field whose corn is not silage corn.
    """
    if not fields:
        raise SettingError("There is no field to chop.", "Give at least one field.")
    chopper = Chopper() if chopper is None else chopper
    limits = wanted(store, target)
    windows = fit_windows(behind, fields, limits, today, newest)
    rows = np.isin(behind.cube.seasons, windows.seasons)
    use = windows.complete & (rain.known[rows] | ~rain.known[rows].any())
    if int(use.sum()) < FEWEST:
        raise RecordError(f"Only {int(use.sum())} past seasons are complete with their rain; a plan needs {FEWEST}.",
                          "Give a longer record.")  # fmt: skip
    windows = windows._replace(seasons=windows.seasons[use], complete=windows.complete[use], first=windows.first[use],
                               last=windows.last[use])  # fmt: skip
    lost = rain.lost[rows][use]
    middle = (limits.low + limits.high) / 2
    work, clock = work_of(fields, windows, lost, chopper, middle)
    haul = np.array([one.haul for one in fields])
    simple = {"Earliest first": earliest_first(work), "Nearest first": nearest_first(haul)}
    best = best_order(work, list(simple.values()))
    run = carry_out(work, best.order)
    rates = work.weight.size // len(lost)
    by_season = _by_season(work, run, rates)
    rules = tuple(_against(name, work, order, by_season, rates) for name, order in simple.items())
    more = tuple(_with_more(name, fields, windows, lost, changed, middle, best, by_season)
                 for name, changed in _more(chopper))  # fmt: skip
    plan = tuple(_plan_of(index, fields, windows, run, clock, rates) for index in best.order.tolist())
    span = np.s_[:, column(9, 1) : column(10, 15)]
    return FieldsAnswer(behind, limits, chopper, plan, best.kept, float(work.tonnes.sum()), windows.seasons, by_season,
                        rules, more, best.proved, int(rain.known[rows][use].sum()), 10 * float(lost[span].mean()),
                        windows.today, cautions_of("chopping"))  # fmt: skip


def _by_season(work: Work, run: Run, rates: int) -> NDArray[np.float64]:
    total = (run.kept.sum(1) * work.weight).reshape(-1, rates).sum(1)
    return total / work.weight.reshape(-1, rates).sum(1)


def _against(name: str, work: Work, order: NDArray[np.int64], plan: NDArray[np.float64], rates: int) -> Rule:
    theirs = _by_season(work, carry_out(work, order), rates)
    return Rule(name, float(tonnes_kept(work, order[None])[0]), int((theirs > plan + 0.05).sum()),
                int((theirs < plan - 0.05).sum()))  # fmt: skip


def _more(chopper: Chopper) -> list[tuple[str, Chopper]]:
    found = []
    if chopper.machines < 5:
        found.append(("A second machine" if chopper.machines == 1 else "One machine more",
                      replace(chopper, machines=chopper.machines + 1)))  # fmt: skip
    if chopper.hours + MORE_HOURS <= 24:
        found.append((f"{MORE_HOURS:g} more hours a day", replace(chopper, hours=chopper.hours + MORE_HOURS)))
    return found


def _with_more(name: str, fields: tuple[Field, ...], windows: Windows, lost: NDArray[np.bool_], chopper: Chopper,
               moisture: float, best: Best, plan: NDArray[np.float64]) -> Rule:  # fmt: skip
    work, _ = work_of(fields, windows, lost, chopper, moisture)
    found = best_order(work, [best.order], shakes=0)
    return _against(name, work, found.order, plan, work.weight.size // len(lost))


def _plan_of(index: int, fields: tuple[Field, ...], windows: Windows, run: Run, clock: NDArray[np.float64],
             rates: int) -> FieldPlan:  # fmt: skip
    """One field's days, at the middle rate, over the seasons."""
    middle = rates // 2
    starts, ends = (
        _days_of(part, clock) for part in (run.start[middle::rates, index], run.finish[middle::rates, index] - 1e-6)
    )

    def dates(days: NDArray[np.float64]) -> tuple[float, float, float]:
        low, mid, high = np.quantile(days, QUARTERS, method="inverted_cdf")
        return float(low), float(mid), float(high)

    kept = (run.kept[:, index].reshape(-1, rates) * _rate_weights(rates)).sum(1).mean()
    never = int((~np.isfinite(windows.first[:, index])).sum())
    return FieldPlan(fields[index], dates(windows.first[:, index]), dates(windows.last[:, index]), dates(starts),
                     dates(ends), float(kept / fields[index].tonnes), never)  # fmt: skip


def _rate_weights(rates: int) -> NDArray[np.float64]:
    return np.asarray(_settings()["rates"]["weights"] if rates > 1 else [1.0])


def _days_of(hours: NDArray[np.float64], clock: NDArray[np.float64]) -> NDArray[np.float64]:
    """The day on which each season's clock shows those hours; +inf after its end. hours : float [season]"""
    day = (clock[:, 1:] <= hours[:, None] + 1e-9).sum(axis=1).astype(float)
    return np.where(hours < clock[:, -1] - 1e-9, day, np.inf)
