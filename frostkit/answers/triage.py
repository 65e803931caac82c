"""After a frost: what it does to corn and bean at this stage, how drying goes on, what to check and when to look."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any, NamedTuple

import numpy as np

from frostkit.answers.cautions import Caution, as_dicts, cautions_of
from frostkit.answers.station import Behind
from frostkit.errors import RecordError, SettingError, choose
from frostkit.seasons.calendar import MISSING, SPLIT, moved, words
from frostkit.seasons.daycurve import hours_at_or_below
from frostkit.seasons.daylength import season_day_length
from frostkit.seasons.frost import limit

CERTAIN, POSSIBLE, NOT_EXPECTED = "certain", "possible", "not expected"
COLDEST, WARMEST = -20.0, 5.0  # degC a growing-season frost can be typed in as: beyond it is a slip of the hand
LONGEST = 16.0  # h: no night between April and October is longer at the latitudes where corn grows


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


class Source(NamedTuple):
    """What one source says of this frost: "certain", "possible" or "not expected"."""

    verdict: str
    at_or_below: float
    hours: tuple[float, float]
    kind: str
    source: str


class Verdict(NamedTuple):
    """What happens to one part of a plant at one place, and which sources say so.

    temperature : least and most the part itself felt [degC]
    met : sources by which it is certain; asked : sources there are
    """

    part: str
    place: str
    effect: str
    verdict: str
    temperature: tuple[float, float]
    met: int
    asked: int
    by: tuple[Source, ...]

    def says(self) -> str:
        """The verdict as a sentence."""
        where = {"open": "in the open", "sheltered": "under the canopy", "low_spot": "in a low spot"}[self.place]
        how = {
            CERTAIN: f"{self.effect} by all {self.asked} sources",
            POSSIBLE: f"may be {self.effect}; certain by {self.met or 'none'} of {self.asked} sources, "
            + ("by the others hours and place decide" if self.met else "hours and place decide"),
            NOT_EXPECTED: f"not expected to be {self.effect} by any of {self.asked} sources",
        }[self.verdict]
        return f"{self.part[0].upper()}{self.part[1:]} {where}: {how}."


@dataclass(frozen=True)
class TriageAnswer:
    """What a frost did, for certain, perhaps and not; and what to do about it.

    grain_loss : percent of grain yield, least and most, over leaves alone and the whole plant; None where no figure
    seed_loss : the same for the bean's seed
    moisture : whole plant now, percent, by measurement or by stage; None before blister
    days_to_fit : days of frosted drying until the store's upper limit, least and most; None where not asked
    look_again : days after the frost, first and last
    judgement : what of this is judgement and not measured
    """

    frost: Frost
    stage: str
    stage_says: str
    bean_stage: str | None
    verdicts: tuple[Verdict, ...]
    growing_point: str | None
    grain_loss: tuple[float, float] | None
    seed_loss: tuple[float, float] | None
    moisture: tuple[float, float] | None
    measured: bool
    days_to_fit: tuple[float, float] | None
    drying: tuple[str, ...]
    check: tuple[str, ...]
    look_again: tuple[int, int]
    judgement: tuple[str, ...]
    sources: tuple[str, ...]
    cautions: tuple[Caution, ...]

    def title(self) -> str:
        """The answer in one sentence."""
        worst = [v for v in self.verdicts if v.verdict == CERTAIN and v.effect == "killed"]
        perhaps = [v for v in self.verdicts if v.verdict == POSSIBLE and v.effect == "killed"]
        if not worst and not perhaps:
            return f"{self.frost.says()}: no source expects corn or bean to be killed; look in {self._days()}."
        parts = f"killed: {_listed(worst)}" if worst else "nothing killed for certain"
        if perhaps:
            parts += f"; perhaps: {_listed(perhaps)}"
        return f"{self.frost.says()} at {self.stage_says.split(',')[0]}: {parts}."

    def _days(self) -> str:
        first, last = self.look_again
        return f"{first} to {last} days"

    def says(self) -> tuple[str, ...]:
        """Every line of the answer, the cautions apart."""
        lines = [self.title(), *(v.says() for v in self.verdicts)]
        if self.growing_point:
            lines.append(f"The corn's growing point stands {self.growing_point} at this stage.")
        if self.grain_loss is not None:
            lines.append(f"Grain lost if it is killed now: {_range(self.grain_loss)} % (leaves alone to whole plant).")
        if self.seed_loss is not None:
            lines.append(f"Bean seed lost to a killing frost at {self.bean_stage}: {_range(self.seed_loss)} %.")
        if self.moisture is not None:
            how = "measured" if self.measured else "usual at this stage, sample before you believe it"
            lines.append(f"Whole-plant moisture {_range(self.moisture)} % ({how}).")
        if self.days_to_fit is not None:
            lines.append(_fit_words(self.days_to_fit))
        lines += [*self.drying, *self.check, f"Look again in {self._days()}."]
        return tuple(lines)

    def to_dict(self) -> dict[str, Any]:
        """For programs and the field sheet."""
        return {
            "title": self.title(),
            "frost": {
                name: None if isinstance(part, float) and not isfinite(part) else part
                for name, part in self.frost._asdict().items()
            },
            "stage": self.stage,
            "stage_says": self.stage_says,
            "bean_stage": self.bean_stage,
            "verdicts": [{**v._asdict(), "by": [s._asdict() for s in v.by], "says": v.says()} for v in self.verdicts],
            "growing_point": self.growing_point,
            "grain_loss_percent": self.grain_loss,
            "seed_loss_percent": self.seed_loss,
            "moisture_percent": self.moisture,
            "measured": self.measured,
            "days_to_fit": self.days_to_fit,
            "drying": list(self.drying),
            "check": list(self.check),
            "look_again_days": self.look_again,
            "judgement": list(self.judgement),
            "sources": list(self.sources),
            "says": list(self.says()),
            "cautions": as_dicts(self.cautions),
        }


def _listed(verdicts: list[Verdict]) -> str:
    where = {"open": "", "sheltered": " under the canopy", "low_spot": " in a low spot"}
    return ", ".join(f"{v.part}{where[v.place]}" for v in verdicts)


def _range(ends: tuple[float, float]) -> str:
    low, high = ends
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _fit_words(days: tuple[float, float]) -> str:
    if days[1] <= 0:
        return "It is at or under the store's upper limit now: drying won't wait for you."
    return f"At 0.4 to 1.0 points a day it reaches the store's upper limit in {days[0]:.0f} to {days[1]:.0f} days."


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads((files("frostkit.answers") / "triage.toml").read_text("utf-8"))


def stages() -> dict[str, str]:
    """The corn stages triage knows, with their words.

    >>> stages()["dent"]
    'dent'
    """
    return {name: entry["says"] for name, entry in _tables()["stage"].items()}


def hours_between(frost: Frost, threshold: float, change: tuple[float, float]) -> tuple[float, float]:
    """Hours at or below a threshold that a part felt, least and most, where it was `change` degC off the screen.

    From hours that were given, and from warming and cooling rates for warmer thresholds; else from the two published
    night curves, when the days on either side are known; else from nothing to the longest night.

    >>> hours_between(Frost(-2.0, hours=3), -2.0, (0.0, 0.0))
    (3.0, 3.0)
    """
    at = threshold - change[1], threshold - change[0]  # screen temperature that belongs to it: harder, easier
    if frost.hours is not None:
        rates = _tables()["night"]
        gentle = 1 / rates["cooling"][0] + 1 / rates["warming"][0]
        steep = 1 / rates["cooling"][1] + 1 / rates["warming"][1]
        low = frost.hours + max(at[0] - frost.tmin, 0) * steep if frost.tmin <= at[0] + 0.05 else 0.0
        high = frost.hours + max(at[1] - frost.tmin, 0) * gentle if frost.tmin <= at[1] + 0.05 else 0.0
        return low, min(high, LONGEST)
    if isfinite(frost.before) and isfinite(frost.after):
        night = frost.before, frost.tmin, frost.after, 12 - frost.day_length / 2, 12 + frost.day_length / 2
        low, high = (hours_at_or_below(limit_at + 0.05, *night) for limit_at in at)
        return float(low.low), float(high.high)
    return 0.0, LONGEST if frost.tmin <= at[1] + 0.05 else 0.0


def _by_source(frost: Frost, rule: dict[str, Any], change: tuple[float, float]) -> Source:
    least, most = rule["hours"]
    low, high = hours_between(frost, rule["at_or_below"], change)
    verdict = NOT_EXPECTED if high < least or high <= 0 else CERTAIN if low >= most else POSSIBLE
    return Source(verdict, rule["at_or_below"], (least, most), rule["kind"], rule["source"])


def _verdicts(frost: Frost, place: str, part_of: tuple[str, ...], change: tuple[float, float]) -> list[Verdict]:
    rules: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for rule in _tables()["rule"]:
        if rule["part"].startswith(part_of):
            rules.setdefault((rule["part"], rule["effect"]), []).append(rule)
    found = []
    for (part, effect), entries in rules.items():
        by = tuple(_by_source(frost, rule, change) for rule in entries)
        met = sum(s.verdict == CERTAIN for s in by)
        verdict = (
            CERTAIN if met == len(by) else NOT_EXPECTED if all(s.verdict == NOT_EXPECTED for s in by) else POSSIBLE
        )
        felt = frost.tmin + change[0], frost.tmin + change[1]
        found.append(Verdict(part, place, effect, verdict, felt, met, len(by), by))
    return found


def triage(
    frost: Frost,
    stage: str,
    *,
    bean_stage: str | None = None,
    shelter: tuple[float, float] | None = None,
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
        The corn's stage: a key of `stages()`.
    bean_stage : str, optional
        "vegetative", "R5", "R6", "R7" or "R8"; None where no bean stands. Judged in the open and under the canopy.
    shelter : (least, most) [degC], optional
        Degrees the canopy keeps off the bean, from a crop entry or your own logger; default the handbook's range.
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
    entry = tables["stage"][choose("stage", stage, tables["stage"])]
    bean = tables["bean"][choose("bean_stage", bean_stage, tables["bean"])] if bean_stage is not None else None
    place = "low_spot" if low_spot else "open"
    verdicts = _verdicts(frost, place, ("corn",), tuple(tables["place"][place]["offset"]))
    if bean is not None:
        verdicts += _verdicts(frost, place, ("bean",), tuple(tables["place"][place]["offset"]))
        canopy = shelter if shelter is not None else tuple(tables["place"]["sheltered"]["offset"])
        base = tables["place"]["low_spot"]["offset"] if low_spot else (0.0, 0.0)
        verdicts += _verdicts(frost, "sheltered", ("bean",), (base[0] + canopy[0], base[1] + canopy[1]))

    water = (moisture, moisture) if moisture is not None else tuple(entry["moisture"]) if "moisture" in entry else None
    fit = None
    if water is not None and upper_limit is not None:
        slow, fast = tables["drying"]["points_a_day"]
        fit = max(water[0] - upper_limit, 0) / fast, max(water[1] - upper_limit, 0) / slow
    loss = None
    if "grain_loss_plant" in entry:
        both = [*entry["grain_loss_leaves"], *entry["grain_loss_plant"]]
        loss = float(min(both)), float(max(both))
    drying = [tables["drying"]["text"]]
    if stage in ("blister", "milk", "dough", "dent"):
        drying.append(tables["fit_at_dent"]["text"])
    if stage in ("dent", "half_milk"):
        drying.append(tables["milk_line"]["text"])
    drying = [] if "moisture" not in entry else [*drying, tables["feeding_first"]["text"]]
    check = [*entry["check"], *(bean["check"] if bean else ())]
    if frost.tmin > -1.0:
        check.append(tables["clear_calm"]["text"])
    judgement = _judgement(frost, verdicts, place, tables)
    sources = [entry["source"], *([bean["source"]] if bean else []), tables["clear_calm"]["source"]]
    if drying:
        sources += [tables["drying"]["source"], tables["feeding_first"]["source"]]
    seed = (float(bean["seed_loss"][0]), float(bean["seed_loss"][1])) if bean and "seed_loss" in bean else None
    point = entry.get("growing_point")
    return TriageAnswer(frost, stage, entry["says"], bean_stage, tuple(verdicts), point, loss, seed, water,
                        moisture is not None, fit, tuple(drying), tuple(check), tuple(entry["look_again"]), judgement,
                        tuple(dict.fromkeys(sources)), cautions_of("frosted"))  # fmt: skip


def _check(frost: Frost, moisture: float | None) -> None:
    if not COLDEST <= frost.tmin <= WARMEST:
        raise SettingError(f"{frost.tmin:g} °C is no frost in the growing season; allowed: {COLDEST:g} to {WARMEST:g}.",
                           "Give the lowest temperature of the night in °C.")  # fmt: skip
    if frost.hours is not None and not 0 < frost.hours <= LONGEST:
        raise SettingError(f"{frost.hours:g} hours is not part of a night: allowed are above 0 to {LONGEST:g}.",
                           "Give the hours at that temperature, such as 3, or leave them out.")  # fmt: skip
    if moisture is not None and not 40 <= moisture <= 90:
        raise SettingError(f"A whole-plant moisture of {moisture:g} % is outside 40 to 90.",
                           "Give percent of wet weight from a dried sample, such as 68.")  # fmt: skip


def _judgement(frost: Frost, verdicts: list[Verdict], place: str, tables: dict[str, Any]) -> tuple[str, ...]:
    said = [f"How far the plant was off the screen: {tables['place'][place]['source']}."]
    if any(v.place == "sheltered" for v in verdicts):
        said.append(f"Shelter: {tables['place']['sheltered']['source']}.")
    if frost.hours is not None:
        said.append(f"Hours at warmer temperatures: {tables['night']['source']}.")
    elif isfinite(frost.before) and isfinite(frost.after):
        said.append("Hours come from two published curves of the night, which differ by hours for the same minimum.")
    else:
        said.append("No hours were given: where hours decide, the answer is possible.")
    kinds = {s.source for v in verdicts for s in v.by if s.kind != "published"}
    return tuple(said + sorted(kinds))


def frosts_in(behind: Behind, season: int | None = None, *, at_or_below: float = 0.0,
              from_day: int | None = None) -> tuple[Frost, ...]:  # fmt: skip
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
        raise RecordError(f"The record has no season {season}; it has {cube.seasons[0]} to {cube.seasons[-1]}.",
                          "Ask for one of these.")  # fmt: skip
    row = int(season - cube.seasons[0])
    tmin, tmax = cube.tmin[row], cube.tmax[row]
    start = moved(SPLIT, cube.season_starts) if from_day is None else from_day
    cold = (tmin != MISSING) & (tmin <= limit(at_or_below)) & (np.arange(tmin.size) >= start)

    def degrees(day: int) -> float:
        return float(tmax[day]) / 10 if 0 <= day < tmax.size and tmax[day] != MISSING else float("nan")

    light = season_day_length(behind.station.latitude, season_starts=cube.season_starts).hours

    def hours(day: int) -> float:
        return float(light[day]) if isfinite(light[day]) else Frost._field_defaults["day_length"]

    return tuple(Frost(float(tmin[day]) / 10, None, degrees(day - 1), degrees(day), hours(day), day, season)
                 for day in np.flatnonzero(cold).tolist())  # fmt: skip
