"""After a frost: what it does to corn and bean at this stage, what to look at and when, how drying goes on.

The rule: a source's conditions are alternatives, and one that is met suffices. Certain is what every source says;
possible what some source says, a note of practice included, or calls variable at that temperature; else not expected.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any, NamedTuple

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, Day, Says, Table, Term
from frostkit.answers.cautions import cautions_of
from frostkit.answers.units import frost_degrees
from frostkit.crops.entry import load
from frostkit.ensemble.field import field_moves
from frostkit.ensemble.site import Site
from frostkit.errors import CropError, RecordError, SettingError, choose
from frostkit.records.field import Offset
from frostkit.seasons.calendar import MISSING, SEASON_END, SPLIT, column, words
from frostkit.seasons.daycurve import hours_at_or_below
from frostkit.seasons.daylength import season_day_length
from frostkit.seasons.frost import limit

CERTAIN, POSSIBLE, NOT_EXPECTED = "certain", "possible", "not expected"
KEYS = ("corn_leaves", "corn_plant", "bean")
LONGEST = 16.0  # h: no night between April and October is longer at the latitudes where corn grows
READ = 0.05  # degC: readings come in tenths, and 28 degF is stored as -2.2
ACRES = 2.471  # in a hectare
NAMED = 3  # later frosts of a fall that are named

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

    def says(self) -> Says:
        """The frost in words: how cold, how long, when, as far as known."""
        values: dict[str, Any] = {"tmin": Amount(self.tmin, "degC", 1)}
        key = "triage_frost"
        if self.hours is not None:
            key, values["hours"] = f"{key}_hours", self.hours
        if self.day is not None:
            key, values["day"], values["season"] = f"{key}_on", Day(self.day), str(self.season)
        return Says(key, values)


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


class Look(NamedTuple):
    """When to look again: at the corn or the bean, first and last day after the frost, and under what weather."""

    crop: str
    days: Range
    weather: str
    source: str

    def says(self, frost: Frost) -> Says:
        """The look as a sentence, with its dates where the frost has one."""
        first, last = self.days
        values = {"crop": Term(f"triage_{self.crop}"), "first": first, "last": last}
        values["weather"] = Term(f"triage_{self.weather}")
        if frost.day is None:
            return Says("look", values)
        return Says("look_dated", {**values, "from": Day(frost.day + first), "to": Day(frost.day + last)})


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads((files("frostkit.answers.silage") / "triage.toml").read_text("utf-8"))


def stages() -> tuple[str, ...]:
    """The corn stages that triage knows, from young to ripe.

    >>> stages()[0], stages()[-1]
    ('before_v6', 'black_layer')
    """
    return tuple(_tables()["stage"])


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
    return Verdict(part.get("verdict"), name, place, part["effect"], verdict, felt, met, len(asked), by)


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
    bean_taken: bool = False,
    shelter: Range | None = None,
    low_spot: bool = False,
    moisture: float | None = None,
    upper_limit: float | None = None,
    site: Site | None = None,
    later: tuple[Frost, ...] = (),
) -> Answer:
    """What a frost does to standing corn and bean at this stage: certain, possible, not expected, source by source.

    Parameters
    ----------
    frost : Frost
        Typed in (`Frost(-2.0, hours=3)`) or found in the record (`frosts_in`).
    stage : str
        The corn's stage: one of `stages()`, or a leaf or grain stage such as "V5" or "R5".
    bean_stage : str, optional
        "crook", "VC", "V1", "vegetative", "R5" to "R8"; None where no bean stands. Judged in the open and, unless the
        corn is too young for one, under the canopy. bean_taken : nobody gave it, and that is said
    shelter : (least, most) [degC], optional
        Degrees the canopy keeps off the bean, from your own logger; default the crop entry's.
    low_spot : bool
        Judge the field as a hollow, 2 to 6 degC colder than the screen on clear calm nights.
    moisture : float [percent], optional
        Whole-plant moisture that was measured.
    upper_limit : float [percent], optional
        The store's upper limit, for the days until the corn is fit.
    site : where the frost was found, None where it was typed in; later : the frosts of that fall after this one

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
    losses = {key: (float(low), float(high)) for key, (low, high) in losses.items() if verdicts[key] == CERTAIN}
    water = (moisture, moisture) if moisture is not None else tuple(corn["moisture"]) if "moisture" in corn else None
    drying = _drying(stage) if "moisture" in corn and verdicts["corn_leaves"] != NOT_EXPECTED else []
    entries = [("corn", corn), *([("bean", bean)] if bean else [])]
    looks = [
        Look(crop, tuple(one["look_again"]), one.get("look_days", "days"), one["look_source"])
        for crop, one in entries
        if "look_again" in one
    ]
    check = [Says(f"check_{key}") for _, one in entries for key in one["check"]]
    notes, note_sources = _notes(entries, bean, details, canopy)
    sources = [by.source for v in details for by in v.by if by.kind == "published"]
    sources += [*(one["source"] for _, one in entries), *(look.source for look in looks), *note_sources]
    if frost.tmin > -1.0:
        check.append(Says("check_clear_calm", {"warmest": Amount(tables["clear_calm"]["up_to"], "degC", 1)}))
        sources.append(tables["clear_calm"]["source"])
    sources += [tables[key]["source"] for key in drying]
    days_to_fit = _days_to_fit(water, upper_limit)
    values: dict[str, Any] = {
        "verdicts": verdicts,
        "frost": _frost_values(frost),
        "stage": stage,
        "bean_stage": bean_stage,
        "growing_point": corn.get("growing_point"),
        "look_again": [{"crop": look.crop, "days": list(look.days), "source": look.source} for look in looks],
        "check": check,
        "remarks": notes,
        "losses_percent": losses,
        "moisture_percent": None if water is None else list(water),
        "measured": moisture is not None,
        "days_to_fit": None if days_to_fit is None else list(days_to_fit),
        "drying": [Says(f"drying_{key}") for key in drying],
        "judgement": _judgement(frost, details),
        "sources": list(dict.fromkeys(sources)),
    }
    said = [look.says(frost) for look in looks[1:]] + check
    if bean_taken:
        said.insert(0, Says("bean_taken"))
    if values["growing_point"]:
        said.insert(0, Says(f"growing_{values['growing_point']}"))
    said += [*notes, *_loss_says(losses)]
    if water is not None:
        said.append(Says("moisture_measured" if moisture is not None else "moisture_usual", {"range": _range(water)}))
    if days_to_fit is not None:
        said.append(_fit_says(days_to_fit))
    said += values["drying"]
    if later:
        days = tuple(Day(one.day) for one in later[:NAMED] if one.day is not None)
        said.append(Says("later_more" if len(later) > NAMED else "later", {"days": days, "more": len(later) - NAMED}))
    said += [says for says in values["judgement"] if says.key != "judge_source"]  # those stand in their own table
    return Answer(
        "triage",
        _headline(frost, stage, verdicts),
        tuple(said),
        values,
        (_detail_table(details), _source_table(details)),
        cautions_of("frosted young" if stage == "before_v6" else "frosted"),
        site,
        {"stage": stage, "bean_stage": bean_stage},
        next=looks[0].says(frost) if looks else None,
    )


def _headline(frost: Frost, stage: str, verdicts: Mapping[str, str | None]) -> Says:
    """The frost, and what it did: for certain first."""
    groups = []
    for verdict, key in ((CERTAIN, "certain"), (POSSIBLE, "possible"), (NOT_EXPECTED, "not_expected")):
        found = tuple(Term(f"triage_{name}") for name in KEYS if verdicts[name] == verdict)
        if found:
            groups.append(Says(f"triage_{key}", {"parts": found}))
    parts = dict(zip(("first", "second", "third"), groups, strict=False))
    return Says(f"verdict_{len(groups)}", {"frost": frost.says(), "stage": Term(f"triage_stage_{stage}"), **parts})


def _frost_values(frost: Frost) -> dict[str, Any]:
    """The frost for programs; what is not known is None."""

    def known(value: float) -> float | None:
        return value if isfinite(value) else None

    return {
        "tmin": frost.tmin,
        "hours": frost.hours,
        "before": known(frost.before),
        "after": known(frost.after),
        "day_length": round(frost.day_length, 2),
        "day": None if frost.day is None else Day(frost.day),
        "season": frost.season,
    }


def _notes(
    entries: list[tuple[str, dict[str, Any]]], bean: dict[str, Any] | None, details: tuple[Verdict, ...], canopy: Range
) -> tuple[list[Says], list[str]]:
    """What else there is to know of these stages, and where it comes from."""
    tables = _tables()
    tender = {"degrees": Amount(-4.4, "degC", 1)}
    notes = [Says(f"note_{key}", tender if key == "hardy_cotyledon" else {})
             for _, one in entries for key in one.get("notes", ())]  # fmt: skip
    sources = []
    if bean and bean.get("stand"):
        per_acre = tables["bean_stand"]["per_acre"]
        per_hectare = 1000 * round(per_acre * ACRES / 1000)
        stand = {"per_acre": per_acre, "per_hectare": per_hectare}
        notes.append(Says("note_stand", stand))
        sources.append(tables["bean_stand"]["source"])
    if any(v.place == "sheltered" for v in details):
        least, most = (Amount(degrees, "degC more", 1) for degrees in canopy)
        notes.append(Says("note_canopy", {"least": least, "most": most}))
    return notes, sources


def _range(ends: Range) -> Says | float:
    """ "22 to 31", or one number."""
    low, high = ends
    return low if low == high else Says("to", {"first": low, "last": high})


def _loss_says(losses: Mapping[str, Range]) -> list[Says]:
    said = []
    if "corn_plant" in losses:
        said.append(Says("loss_plant", {"range": _range(losses["corn_plant"])}))
    elif "corn_leaves" in losses:
        said.append(Says("loss_leaves", {"range": _range(losses["corn_leaves"])}))
    if "bean" in losses:
        said.append(Says("loss_bean", {"range": _range(losses["bean"])}))
    return said


def _fit_says(days: Range) -> Says:
    if days[1] <= 0:
        return Says("fit_now")
    slow, fast = _tables()["drying"]["points_a_day"]
    return Says("fit_days", {"slow": slow, "fast": fast, "first": round(days[0]), "last": round(days[1])})


def _detail_table(details: tuple[Verdict, ...]) -> Table:
    """A row a part and place: what is certain, possible, not expected, and by how many sources."""
    felt = np.array([v.temperature for v in details]).T
    return Table(
        "details",
        Column("id", "text", [f"{v.part}.{v.place}" for v in details], shown=False),
        (
            Column("key", "text", [v.key for v in details], shown=False),
            Column("part", "term", [v.part for v in details]),
            Column("place", "term", [v.place for v in details]),
            Column("effect", "term", [v.effect for v in details]),
            Column("verdict", "term", [v.verdict for v in details]),
            Column("met", "number", [v.met for v in details]),
            Column("asked", "number", [v.asked for v in details]),
            Column("least", "amount", felt[0], "degC", 1, shown=False),
            Column("most", "amount", felt[1], "degC", 1, shown=False),
        ),
    )


def _source_table(details: tuple[Verdict, ...]) -> Table:
    """A row a source of each of those."""
    rows = [(f"{v.part}.{v.place}", one) for v in details for one in v.by]
    conditions = [
        "; ".join(f"{low:g} to {high:g} degC, {least:g} to {most:g} h" for (low, high), (least, most) in one.conditions)
        for _, one in rows
    ]
    return Table(
        "by",
        Column("id", "text", [name for name, _ in rows]),
        (
            Column("verdict", "term", [one.verdict for _, one in rows]),
            Column("kind", "text", [one.kind for _, one in rows]),
            Column("conditions", "text", conditions),
            Column("source", "text", [one.source for _, one in rows]),
        ),
        under="details",
        brief=np.empty(0, np.int64),
    )


def _stage(name: str, typed: str, table: dict[str, Any]) -> str:
    """The stage that was meant: its key, or one of the standard stages that fall in it, whatever the case."""
    for key, entry in table.items():
        if typed.lower() in {one.lower() for one in (key, *entry.get("also", ()))}:
            return key
    return choose(name, typed, table)


def _drying(stage: str) -> list[str]:
    """Keys of what is said on how frosted corn goes on drying."""
    said = ["drying"]
    if stage in ("blister", "milk", "dough", "dent"):
        said.append("fit_at_dent")
    if stage in ("dent", "half_milk"):
        said.append("milk_line")
    return [*said, "feeding_first"]


def _days_to_fit(water: Range | None, upper_limit: float | None) -> Range | None:
    if water is None or upper_limit is None:
        return None
    slow, fast = _tables()["drying"]["points_a_day"]
    return max(water[0] - upper_limit, 0) / fast, max(water[1] - upper_limit, 0) / slow


def _check(frost: Frost, moisture: float | None) -> None:
    frost_degrees(frost.tmin)
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


def _judgement(frost: Frost, details: tuple[Verdict, ...]) -> list[Says]:
    """What of this is judgement and not measured."""
    tables = _tables()
    places = {v.place for v in details}
    said = []
    if "low_spot" in places:
        said.append(Says("judge_low_spot", {"source": tables["place"]["low_spot"]["source"]}))
    if "sheltered" in places:
        said.append(Says("judge_shelter", {"source": canopy_keeps()[1]}))
    if frost.hours is None and isfinite(frost.before) and isfinite(frost.after):
        said.append(Says("judge_curves"))
    elif frost.hours is None:
        said.append(Says("judge_no_hours"))
    said.append(Says("judge_night", {"source": tables["night"]["source"]}))
    kinds = {one.source for v in details for one in v.by if one.kind != "published"}
    return [*said, *(Says("judge_source", {"source": source}) for source in sorted(kinds))]


def frosts_in(
    site: Site, season: int | None = None, *, at_or_below: float = 0.0, from_day: int = column(*SPLIT)
) -> tuple[Frost, ...]:
    """The frost nights of one season in the record, in order, each with the days on either side.

    In a field that differs from the station, its nights: as the low spot was typed in, or as its logger has them in the
    mean.

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
    folded = site.folded
    season = int(folded.seasons[-1]) if season is None else season
    if season not in folded.seasons:
        raise RecordError(
            f"The record has no season {season}; it has {folded.seasons[0]} to {folded.seasons[-1]}.",
            "Ask for one of these.",
        )
    row = int(season - folded.seasons[0])
    tmin, tmax = folded.tmin[row], folded.tmax[row]
    if site.offset is not None:
        tmin = _in_field(site, site.offset, row)
    cold = (tmin != MISSING) & (tmin <= limit(at_or_below)) & (np.arange(tmin.size) >= from_day)

    def degrees(day: int) -> float:
        return float(tmax[day]) / 10 if 0 <= day < tmax.size and tmax[day] != MISSING else float("nan")

    light = season_day_length(site.latitude).hours

    def hours(day: int) -> float:
        return float(light[day]) if isfinite(light[day]) else Frost._field_defaults["day_length"]

    return tuple(
        Frost(float(tmin[day]) / 10, None, degrees(day - 1), degrees(day), hours(day), day, season)
        for day in np.flatnonzero(cold).tolist()
    )


def _in_field(site: Site, offset: Offset, row: int) -> np.ndarray:
    """Tmin of one season in the field: the offset's means, without the scatter of single nights. int16 [365]"""
    folded = site.folded
    still = replace(
        offset,
        error=np.zeros_like(offset.error),
        lean_error=0.0,
        residuals=tuple(np.empty((2, 0)) for _ in offset.residuals),
    )
    asked = site.asking(int(folded.seasons[-1]) + 1)
    departure = np.where(folded.tmin == MISSING, 0.0, folded.tmin / 10.0 - asked.departures.usual[0])
    moves = field_moves(still, folded.tmin[None], folded.tmax[None], departure[None], 1)[0, row]
    here = np.rint(folded.tmin[row] + 10 * moves).astype(np.int16)
    return np.where(folded.tmin[row] == MISSING, MISSING, here)


def frost_of(site: Site, season: int | None = None, on: int | None = None) -> tuple[Frost, tuple[Frost, ...]]:
    """One frost of a fall until the season's end, the first or that of a day, and those that follow it.

    Raises `RecordError` where there is none.
    """
    end = column(*SEASON_END)
    found = [one for one in frosts_in(site, season) if one.day is not None and one.day <= end]
    where = int(site.folded.seasons[-1]) if season is None else season
    typed = "Type it in: frostkit triage --at -2 --hours 3"
    if not found:
        raise RecordError(f"The record has no fall frost in {where} until {words(end)}.", typed)
    chosen = found[0] if on is None else next((one for one in found if one.day == on), None)
    if chosen is None:
        days = ", ".join(words(one.day) for one in found[:4] if one.day is not None)
        raise RecordError(f"The record has no frost on {words(on)} {where}; its frosts: {days}.", typed)  # type: ignore[arg-type]
    return chosen, tuple(found[1:]) if on is None else ()
