"""After a frost: what it does to corn and bean at this stage, what to look at and when, how drying goes on.

The rule: a source's conditions are alternatives, and one that is met suffices. Certain is what every source says;
possible what some source says, a note of practice included, or calls variable at that temperature; else not expected.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any, NamedTuple

import numpy as np

from frostkit.answers.cautions import Caution, as_dicts, cautions_of
from frostkit.answers.station import Behind
from frostkit.crops.entry import load
from frostkit.errors import CropError, RecordError, SettingError, choose
from frostkit.seasons.calendar import MISSING, SPLIT, moved, words
from frostkit.seasons.daycurve import hours_at_or_below
from frostkit.seasons.daylength import season_day_length
from frostkit.seasons.frost import limit

CERTAIN, POSSIBLE, NOT_EXPECTED = "certain", "possible", "not expected"
KEYS = ("corn_leaves", "corn_plant", "bean")
COLDEST, WARMEST = -20.0, 5.0  # degC a growing-season frost can be typed in as: beyond it is a slip of the hand
LONGEST = 16.0  # h: no night between April and October is longer at the latitudes where corn grows
READ = 0.05  # degC: readings come in tenths, and 28 degF is stored as -2.2
ACRES = 2.471  # in a hectare

Range = tuple[float, float]


class Frost(NamedTuple):
    """One frost night: lowest screen temperature [degC], hours at or below it or None, and the days around it [degC].

    `before` and `after` are the maxima on either side, NaN where not known; `day` a column, `season` its year, or None.
    """

    tmin: float
    hours: float | None = None
    before: float = float("nan")
    after: float = float("nan")
    day_length: float = 12.5
    day: int | None = None
    season: int | None = None

    def says(self) -> str:
        """The frost in words."""
        when = f" on {words(self.day)} {self.season}" if self.day is not None else ""
        return f"{self.tmin:.1f} °C{f' for {self.hours:g} h' if self.hours is not None else ''}{when}"


class Condition(NamedTuple):
    """Enough for a source: where harm may begin and where it is certain [degC], least and most hours it names."""

    at_or_below: Range
    hours: Range


class Source(NamedTuple):
    """What one source says of this frost: "certain", "possible" or "not expected", and the conditions it names."""

    verdict: str
    conditions: tuple[Condition, ...]
    kind: str
    source: str


class Verdict(NamedTuple):
    """What happens to one part of a plant at one place, and which sources say so.

    key : which of `KEYS` it decides, or None
    temperature : least and most the part itself felt [degC]
    met : sources by which it is certain; asked : sources there are, notes of practice apart
    """

    key: str | None
    part: str
    place: str
    effect: str
    verdict: str
    temperature: Range
    met: int
    asked: int
    by: tuple[Source, ...]

    def says(self) -> str:
        """The verdict as a sentence."""
        part = f"{self.part[0].upper()}{self.part[1:]} {_tables()['place'][self.place]['says']}"
        how = {
            CERTAIN: self.effect,
            POSSIBLE: f"may be {self.effect}",
            NOT_EXPECTED: f"not expected to be {self.effect}",
        }
        sources = "source" if self.asked == 1 else "sources"
        return f"{part}: {how[self.verdict]} (certain by {self.met} of {self.asked} {sources})."


class Look(NamedTuple):
    """When to look again: at the corn or the bean, first and last day after the frost, and under what weather."""

    crop: str
    days: Range
    weather: str
    source: str

    def says(self, frost: Frost) -> str:
        """The look as a sentence, with its dates where the frost has one."""
        first, last = self.days
        dates = f" ({words(frost.day + first)} to {words(frost.day + last)})" if frost.day is not None else ""
        return f"Look again at the {self.crop} after {first:g} to {last:g} {self.weather}{dates}."


@dataclass(frozen=True)
class TriageAnswer:
    """What a frost did, for certain, perhaps and not; and what to do about it.

    verdicts : by `KEYS`, in the open (or in a low spot); None for a bean that was not asked about
    details : part by part and place by place, with every source
    losses : percent of grain (corn) or seed (bean) lost, least and most, of what is killed for certain
    moisture : whole plant now, percent, by measurement or by stage; None before blister
    days_to_fit : days of frosted drying until the store's upper limit, least and most; None where not asked
    judgement : what of this is judgement and not measured
    """

    frost: Frost
    stage: str
    stage_says: str
    bean_stage: str | None
    verdicts: dict[str, str | None]
    details: tuple[Verdict, ...]
    growing_point: str | None
    notes: tuple[str, ...]
    look_again: tuple[Look, ...]
    check: tuple[str, ...]
    losses: dict[str, Range]
    moisture: Range | None
    measured: bool
    days_to_fit: Range | None
    drying: tuple[str, ...]
    judgement: tuple[str, ...]
    sources: tuple[str, ...]
    cautions: tuple[Caution, ...]

    def title(self) -> str:
        """The answer in one sentence."""
        names = {"corn_leaves": "corn leaves", "corn_plant": "the whole corn plant", "bean": "the bean"}
        hows = {CERTAIN: "killed for certain", POSSIBLE: "possibly killed", NOT_EXPECTED: "not expected to be killed"}
        parts = []
        for verdict, how in hows.items():
            found = [names[key] for key in KEYS if self.verdicts[key] == verdict]
            if found:
                parts.append(f"{how}: {', '.join(found)}")
        return f"{self.frost.says()} at {self.stage_says.split(',')[0]}: {'; '.join(parts)}."

    def says(self) -> tuple[str, ...]:
        """Every line of the answer, the cautions apart."""
        lines = [self.title()]
        if self.growing_point:
            lines.append(f"The corn's growing point stands {self.growing_point}.")
        lines += [*(look.says(self.frost) for look in self.look_again), *self.check, *self.notes]
        lines += [v.says() for v in self.details]
        lines += _loss_words(self.losses)
        if self.moisture is not None:
            how = "measured" if self.measured else "usual at this stage, sample before you believe it"
            lines.append(f"Whole-plant moisture {_range(self.moisture)} % ({how}).")
        if self.days_to_fit is not None:
            lines.append(_fit_words(self.days_to_fit))
        return (*lines, *self.drying)

    def to_dict(self) -> dict[str, Any]:
        """For programs."""
        return {
            "title": self.title(),
            "verdicts": self.verdicts,
            "frost": {
                name: None if isinstance(part, float) and not isfinite(part) else part
                for name, part in self.frost._asdict().items()
            },
            "stage": self.stage,
            "stage_says": self.stage_says,
            "bean_stage": self.bean_stage,
            "details": [_detail(v) for v in self.details],
            "growing_point": self.growing_point,
            "notes": list(self.notes),
            "look_again": [{**look._asdict(), "says": look.says(self.frost)} for look in self.look_again],
            "check": list(self.check),
            "losses_percent": self.losses,
            "moisture_percent": self.moisture,
            "measured": self.measured,
            "days_to_fit": self.days_to_fit,
            "drying": list(self.drying),
            "judgement": list(self.judgement),
            "sources": list(self.sources),
            "says": list(self.says()),
            "cautions": as_dicts(self.cautions),
        }


def _detail(verdict: Verdict) -> dict[str, Any]:
    by = [{**one._asdict(), "conditions": [c._asdict() for c in one.conditions]} for one in verdict.by]
    return {**verdict._asdict(), "by": by, "says": verdict.says()}


def _range(ends: Range) -> str:
    low, high = ends
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _loss_words(losses: dict[str, Range]) -> list[str]:
    said = []
    if "corn_plant" in losses:
        said.append(f"Grain lost with the whole plant killed now: {_range(losses['corn_plant'])} %.")
    elif "corn_leaves" in losses:
        said.append(f"Grain lost with the leaves killed now: {_range(losses['corn_leaves'])} %.")
    if "bean" in losses:
        said.append(f"Bean seed lost: {_range(losses['bean'])} %.")
    return said


def _fit_words(days: Range) -> str:
    if days[1] <= 0:
        return "It is at or under the store's upper limit now: drying won't wait for you."
    slow, fast = _tables()["drying"]["points_a_day"]
    reached = f"{days[0]:.0f} to {days[1]:.0f} days"
    return f"At {slow:.1f} to {fast:.1f} points a day it reaches the store's upper limit in {reached}."


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads((files("frostkit.answers") / "triage.toml").read_text("utf-8"))


def stages() -> dict[str, str]:
    """The corn stages triage knows, with their words.

    >>> stages()["dent"]
    'dent'
    """
    return {name: entry["says"] for name, entry in _tables()["stage"].items()}


def canopy_keeps() -> tuple[Range, str]:
    """Degrees that a closed canopy keeps off the bean, least and most, and their source: the crop entry's [degC]."""
    kept = load(_tables()["place"]["sheltered"]["crop_entry"]).shelter
    if kept is None or kept.low is None or kept.high is None:
        raise CropError("The bean's entry has no shelter with a low and a high.", "Give it a table [shelter].")
    return (kept.low, kept.high), kept.source


def below_ground() -> tuple[Range, str]:
    """Where a corn plant with its growing point below ground may die and where it does, and the source [degC]."""
    part = _tables()["part"]["corn_below_ground"]
    kills = load(part["crop_entry"]).stage[part["crop_stage"]].kills
    if kills is None or kills.low is None:
        raise CropError("The corn's entry has no kills with a low at emergence.", "Give the stage a kills = { ... }.")
    return (kills.value, kills.low), kills.source


def hours_between(frost: Frost, threshold: float, change: Range = (0.0, 0.0)) -> Range:
    """Hours at or below a threshold that a part felt, least and most, where it was `change` degC off the screen.

    The least: from the hours that were given and from how far below it fell, at the fastest rates of cooling and
    warming. The most: from the slowest rates where hours were given; else from the two published night curves, when the
    days on either side are known; else the longest night.

    >>> hours_between(Frost(-2.0, hours=3), -2.0)
    (3.0, 3.0)
    >>> round(hours_between(Frost(-6.0), -2.2)[0], 1)
    5.1
    """
    harder, easier = threshold - change[1], threshold - change[0]  # screen temperatures that belong to it
    (slow_down, fast_down), (slow_up, fast_up) = _tables()["night"]["cooling"], _tables()["night"]["warming"]
    least = _hours_from_rates(frost, harder, 1 / fast_down + 1 / fast_up)
    if frost.tmin > easier + READ:
        return least, 0.0
    if frost.hours is not None:
        return least, _hours_from_rates(frost, easier, 1 / slow_down + 1 / slow_up)
    if isfinite(frost.before) and isfinite(frost.after):
        night = frost.before, frost.tmin, frost.after, 12 - frost.day_length / 2, 12 + frost.day_length / 2
        least = max(least, float(hours_at_or_below(harder + READ, *night).low))
        return least, max(least, float(hours_at_or_below(easier + READ, *night).high))
    return least, LONGEST


def _hours_from_rates(frost: Frost, at_or_below: float, hours_a_degree: float) -> float:
    """Hours at or below a screen temperature, each degree the night fell below it taking so many hours."""
    if frost.tmin > at_or_below + READ:
        return 0.0
    given = _tables()["night"]["shortest"] if frost.hours is None else frost.hours
    return min(given + max(at_or_below - frost.tmin, 0) * hours_a_degree, LONGEST)


def _by_source(frost: Frost, entry: dict[str, Any], change: Range) -> Source:
    conditions = tuple(Condition(tuple(one["at_or_below"]), tuple(one["hours"])) for one in entry["conditions"])
    verdict = NOT_EXPECTED
    if "variable_at_or_below" in entry and frost.tmin + change[0] <= entry["variable_at_or_below"] + READ:
        verdict = POSSIBLE
    for (begins, certain), (fewest, most) in conditions:
        if 0 < hours_between(frost, begins, change)[1] >= fewest and verdict == NOT_EXPECTED:
            verdict = POSSIBLE
        if 0 < hours_between(frost, certain, change)[0] >= most:
            verdict = CERTAIN
    return Source(verdict, conditions, entry["kind"], entry["source"])


def _sources_of(part: dict[str, Any]) -> list[dict[str, Any]]:
    """What sources say of a part: its own, or the crop entry's number with its range."""
    if "crop_entry" not in part:
        return part["source"]
    degrees, source = below_ground()
    return [{"conditions": [{"at_or_below": degrees, "hours": (0.0, 0.0)}], "kind": "judgement", "source": source}]


def _verdict(frost: Frost, name: str, place: str, change: Range) -> Verdict:
    part = _tables()["part"][name]
    by = tuple(_by_source(frost, entry, change) for entry in _sources_of(part))
    asked = [one for one in by if one.kind != "practice"]
    met = sum(one.verdict == CERTAIN for one in asked)
    verdict = NOT_EXPECTED
    if met == len(asked):
        verdict = CERTAIN
    elif any(one.verdict != NOT_EXPECTED for one in by):
        verdict = POSSIBLE
    felt = frost.tmin + change[0], frost.tmin + change[1]
    return Verdict(part.get("verdict"), part["says"], place, part["effect"], verdict, felt, met, len(asked), by)


def _details(
    frost: Frost, corn: dict[str, Any], bean: dict[str, Any] | None, low_spot: bool, canopy: Range
) -> tuple[Verdict, ...]:
    """Every part in the open or in the low spot, and the bean's parts under the canopy too."""
    place = "low_spot" if low_spot else "open"
    least, most = _tables()["place"][place]["offset"]
    parts = [*corn["parts"], *(bean["parts"] if bean else ())]
    found = [_verdict(frost, name, place, (least, most)) for name in parts]
    if bean and not corn.get("open"):
        below = least + canopy[0], most + canopy[1]
        found += [_verdict(frost, name, "sheltered", below) for name in bean["parts"]]
    return tuple(found)


def triage(
    frost: Frost,
    stage: str,
    *,
    bean_stage: str | None = None,
    shelter: Range | None = None,
    low_spot: bool = False,
    moisture: float | None = None,
    upper_limit: float | None = None,
) -> TriageAnswer:
    """What a frost does to standing corn and bean at this stage: certain, possible, not expected, source by source.

    Parameters
    ----------
    frost : Frost
        Typed in (`Frost(-2.0, hours=3)`) or found in the record (`frosts_in`).
    stage : str
        The corn's stage: a key of `stages()`, or a leaf or grain stage such as "V5" or "R5".
    bean_stage : str, optional
        "crook", "VC", "V1", "vegetative", "R5" to "R8"; None where no bean stands. Judged in the open and, unless the
        corn is too young for one, under the canopy.
    shelter : (least, most) [degC], optional
        Degrees the canopy keeps off the bean, from your own logger; default the crop entry's.
    low_spot : bool
        Judge the field as a hollow, 2 to 6 degC colder than the screen on clear calm nights.
    moisture : float [percent], optional
        Whole-plant moisture that was measured.
    upper_limit : float [percent], optional
        The store's upper limit, for the days until the corn is fit.

    Raises
    ------
    SettingError
        For a temperature that is no frost, hours outside a night, an unknown stage, a moisture outside 40 to 90.
    """
    tables = _tables()
    _check(frost, moisture)
    stage = _stage("stage", stage, tables["stage"])
    corn = tables["stage"][stage]
    bean = None
    if bean_stage is not None:
        bean_stage = _stage("bean_stage", bean_stage, tables["bean"])
        young = corn.get("vegetative") if bean_stage == "vegetative" else None
        bean = tables["bean"][young or bean_stage]
    canopy = canopy_keeps()[0] if shelter is None else shelter
    details = _details(frost, corn, bean, low_spot, canopy)
    verdicts: dict[str, str | None] = dict.fromkeys(KEYS)
    verdicts |= {v.key: v.verdict for v in details if v.key and v.place != "sheltered"}

    losses = {**corn.get("loss", {}), **({"bean": bean["seed_loss"]} if bean and "seed_loss" in bean else {})}
    water = (moisture, moisture) if moisture is not None else tuple(corn["moisture"]) if "moisture" in corn else None
    drying = _drying(stage) if "moisture" in corn and verdicts["corn_leaves"] != NOT_EXPECTED else []
    entries = [("corn", corn), *([("bean", bean)] if bean else [])]
    looks = [
        Look(crop, tuple(one["look_again"]), one.get("look_says", "days"), one["look_source"])
        for crop, one in entries
        if "look_again" in one
    ]
    check = [line for _, one in entries for line in one["check"]]
    notes = [line for _, one in entries for line in one.get("notes", ())]
    sources = [by.source for v in details for by in v.by if by.kind == "published"]
    sources += [*(one["source"] for _, one in entries), *(look.source for look in looks)]
    if bean and bean.get("stand"):
        notes.append(_stand_words(tables["bean_stand"]))
        sources.append(tables["bean_stand"]["source"])
    if any(v.place == "sheltered" for v in details):
        notes.append(tables["place"]["sheltered"]["text"].format(least=canopy[0], most=canopy[1]))
    if frost.tmin > -1.0:
        check.append(tables["clear_calm"]["text"])
        sources.append(tables["clear_calm"]["source"])
    sources += [one["source"] for one in drying]
    return TriageAnswer(
        frost=frost,
        stage=stage,
        stage_says=corn["says"],
        bean_stage=bean_stage,
        verdicts=verdicts,
        details=details,
        growing_point=corn.get("growing_point"),
        notes=tuple(notes),
        look_again=tuple(looks),
        check=tuple(check),
        losses={key: (float(low), float(high)) for key, (low, high) in losses.items() if verdicts[key] == CERTAIN},
        moisture=water,
        measured=moisture is not None,
        days_to_fit=_days_to_fit(water, upper_limit),
        drying=tuple(one["text"] for one in drying),
        judgement=_judgement(frost, details),
        sources=tuple(dict.fromkeys(sources)),
        cautions=cautions_of("frosted"),
    )


def _stage(name: str, typed: str, table: dict[str, Any]) -> str:
    """The stage that was meant: its key, or one of the standard stages that fall in it, whatever the case."""
    for key, entry in table.items():
        if typed.lower() in {one.lower() for one in (key, *entry.get("also", ()))}:
            return key
    return choose(name, typed, table)


def _drying(stage: str) -> list[dict[str, str]]:
    """Texts with their sources on how frosted corn goes on drying."""
    tables = _tables()
    said = [tables["drying"]]
    if stage in ("blister", "milk", "dough", "dent"):
        said.append(tables["fit_at_dent"])
    if stage in ("dent", "half_milk"):
        said.append(tables["milk_line"])
    return [*said, tables["feeding_first"]]


def _days_to_fit(water: Range | None, upper_limit: float | None) -> Range | None:
    if water is None or upper_limit is None:
        return None
    slow, fast = _tables()["drying"]["points_a_day"]
    return max(water[0] - upper_limit, 0) / fast, max(water[1] - upper_limit, 0) / slow


def _stand_words(stand: dict[str, Any]) -> str:
    per_acre = stand["per_acre"]
    return stand["text"].format(per_acre=per_acre, per_hectare=1000 * round(per_acre * ACRES / 1000))


def _check(frost: Frost, moisture: float | None) -> None:
    if not COLDEST <= frost.tmin <= WARMEST:
        raise SettingError(
            f"{frost.tmin:g} °C is no frost in the growing season; allowed: {COLDEST:g} to {WARMEST:g}.",
            "Give the lowest temperature of the night in °C, or with F behind it in °F, such as 28F.",
        )
    if frost.hours is not None and not 0 < frost.hours <= LONGEST:
        raise SettingError(
            f"{frost.hours:g} hours is not part of a night: allowed are above 0 to {LONGEST:g}.",
            "Give the hours at that temperature, such as 3, or leave them out.",
        )
    if moisture is not None and not 40 <= moisture <= 90:
        raise SettingError(
            f"A whole-plant moisture of {moisture:g} % is outside 40 to 90.",
            "Give percent of wet weight from a dried sample, such as 68.",
        )


def _judgement(frost: Frost, details: tuple[Verdict, ...]) -> tuple[str, ...]:
    tables = _tables()
    places = {v.place for v in details}
    said = []
    if "low_spot" in places:
        said.append(f"How much colder the low spot was: {tables['place']['low_spot']['source']}.")
    if "sheltered" in places:
        said.append(f"Shelter: {canopy_keeps()[1]}.")
    if frost.hours is None and isfinite(frost.before) and isfinite(frost.after):
        said.append("Hours come from two published curves of the night, which differ by hours for the same minimum.")
    elif frost.hours is None:
        said.append("No hours were given: the fewest follow from how far it fell, the most is a whole night.")
    said.append(f"Hours at warmer temperatures: {tables['night']['source']}.")
    kinds = {one.source for v in details for one in v.by if one.kind != "published"}
    return (*said, *sorted(kinds))


def frosts_in(
    behind: Behind, season: int | None = None, *, at_or_below: float = 0.0, from_day: int | None = None
) -> tuple[Frost, ...]:
    """The frost nights of one season in the record, in order, each with the days on either side.

    Parameters
    ----------
    season : int, optional
        The season's year; default the record's last.
    at_or_below : float [degC]
    from_day : int, column
        From this day on; default the split of the year, 1 August.

    Raises
    ------
    RecordError
        For a season that the record does not have.
    """
    cube = behind.cube
    season = int(cube.seasons[-1]) if season is None else season
    if season not in cube.seasons:
        raise RecordError(
            f"The record has no season {season}; it has {cube.seasons[0]} to {cube.seasons[-1]}.",
            "Ask for one of these.",
        )
    row = int(season - cube.seasons[0])
    tmin, tmax = cube.tmin[row], cube.tmax[row]
    start = moved(SPLIT, cube.season_starts) if from_day is None else from_day
    cold = (tmin != MISSING) & (tmin <= limit(at_or_below)) & (np.arange(tmin.size) >= start)

    def degrees(day: int) -> float:
        return float(tmax[day]) / 10 if 0 <= day < tmax.size and tmax[day] != MISSING else float("nan")

    light = season_day_length(behind.station.latitude, season_starts=cube.season_starts).hours

    def hours(day: int) -> float:
        return float(light[day]) if isfinite(light[day]) else Frost._field_defaults["day_length"]

    return tuple(
        Frost(float(tmin[day]) / 10, None, degrees(day - 1), degrees(day), hours(day), day, season)
        for day in np.flatnonzero(cold).tolist()
    )
