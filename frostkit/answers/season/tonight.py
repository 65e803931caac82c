"""Frost tonight: the odds that each field reaches what hurts its corn and its bean in their stage of today."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from math import sqrt
from typing import Any, NamedTuple

import numpy as np
from scipy.special import ndtr

from frostkit.answers.answer import Amount, Answer, Column, Day, Part, Says, Table, Term
from frostkit.answers.cautions import Caution, cautions_for, cautions_of
from frostkit.answers.season.after import Sown, check_own, stand
from frostkit.answers.season.back import Grown
from frostkit.answers.season.seen import Observed
from frostkit.answers.silage.ahead import own_rows
from frostkit.answers.silage.stores import wanted
from frostkit.answers.silage.triage import CERTAIN, READ, Frost, triage
from frostkit.ensemble.pin import pin
from frostkit.errors import SettingError, choose
from frostkit.records.field import Offset
from frostkit.seasons.calendar import month_day

BAND = 1.2816  # standard deviations to either side that hold 8 in 10: how a range without more is taken
COLDEST, WARMEST = -15.0, 15.0  # degC of a forecast minimum in the season: beyond it is a slip
WIDEST = 6.0  # degC of scatter: above it is no forecast
SEARCHED = (-99, 10)  # tenths of degC among which a verdict is looked for
LOOK = 0.1  # odds from which on a field is looked at: common practice, no source
PARTS = {"corn_leaves": "corn", "corn_plant": "corn", "bean": "legume"}


class Night(NamedTuple):
    """The night that comes. tmin : degC at the station; scatter : its standard deviation; sky : "clear" or "cloudy"

    before, after : maxima of the days on either side, NaN where not known
    """

    tmin: float
    scatter: float
    sky: str = "clear"
    before: float = float("nan")
    after: float = float("nan")


@dataclass(frozen=True)
class Field:
    """One field tonight: who stands there, since when, what was seen; stages typed go before what the heat says."""

    grown: Grown
    seeding: int | None = None
    legume_seeding: int | None = None
    seen: Observed = Observed()
    corn_stage: str | None = None
    legume_stage: str | None = None


class Risk(NamedTuple):
    """What tonight may do to one part of a crop at one place.

    place : "open", "top" or "within"; mean, scatter : degC that it may feel
    possible, certain : degC at or below which triage says so; likely : the entry's own figure, by which all answers
    count a plant as killed or browned; NaN where none; odds of each
    """

    field: str
    part: str
    place: str
    mean: float
    scatter: float
    possible: float
    likely: float
    certain: float
    odds_possible: float
    odds_likely: float
    odds_certain: float


@cache
def _numbers() -> dict[str, Any]:
    return tomllib.loads((files("frostkit.answers.season") / "season.toml").read_text("utf-8"))


def night(tmin: float, scatter: float | None = None, sky: str = "clear", before: float = float("nan"),
          after: float = float("nan")) -> Night:  # fmt: skip
    """The night, checked. scatter : left out, `season.toml`'s. Raises `SettingError` for what no forecast is."""
    if not COLDEST <= tmin <= WARMEST:
        raise SettingError(
            f"A minimum of {tmin:g} °C is outside {COLDEST:g} to {WARMEST:g}.", "Give it in °C, or in °F as 28F."
        )
    scatter = float(_numbers()["forecast"]["scatter"]) if scatter is None else scatter
    if not 0 <= scatter <= WIDEST:
        raise SettingError(
            f"A scatter of {scatter:g} °C is outside 0 to {WIDEST:g}.", "Give a standard deviation, such as 1.5."
        )
    return Night(tmin, scatter, choose("sky", sky, ("clear", "cloudy")), before, after)


def tonight(of: Night, fields: Mapping[str, Field], season: int, today: int) -> Answer:
    """The odds for each field: in the open, at the canopy's top, and within it; what to look at, and when.

    Parameters
    ----------
    of : from `night`; fields : by name; season, today : year and column of the day before the night

    Raises
    ------
    SettingError
        Where no field has anything growing in it.
    """
    risks: list[Risk] = []
    stands: dict[str, tuple[str | None, str | None]] = {}
    looks: list[dict[str, Any]] = []
    for name, field in fields.items():
        corn, legume, closed = _stages(field, season, today)
        stands[name] = corn, legume
        mine = _risks(name, field, of, corn, legume, closed, today)
        risks += mine
        looks += _looks(name, field, of, corn, legume, mine, today)
    worst = {name: max((one.odds_possible for one in risks if one.field == name), default=0.0) for name in fields}
    first = max(worst, key=lambda name: worst[name]) if worst else None
    growing = [name for name, (corn, legume) in stands.items() if corn is not None or legume is not None]
    values = {
        "season": season,
        "today": Day(today),
        "tmin": Amount(of.tmin, "degC", 1),
        "scatter": Amount(of.scatter, "degC more", 1),
        "sky": Term(f"tonight_{of.sky}"),
        "fields": [
            {
                "field": name,
                "corn_stage": stands[name][0],
                "legume_stage": stands[name][1],
                **{
                    key: round(max((getattr(one, f"odds_{key}") for one in risks if one.field == name), default=0.0), 3)
                    for key in ("possible", "likely", "certain")
                },
            }
            for name in fields
        ],
        "look": looks,
    }
    return Answer(
        "tonight",
        _headline(of, growing, first, risks, worst, len(fields)),
        tuple(_said(of, fields, growing, looks, risks)),
        values,
        (_table(risks),),
        _cautions(risks, stands),
        None,
        {"night": of},
        next=Says("do_thermometer") if looks else None,
    )


def _cautions(risks: list[Risk], stands: Mapping[str, tuple[str | None, str | None]]) -> tuple[Caution, ...]:
    """Of frosted corn where it may be chopped after the night; of the adjuster where young corn may be hurt."""
    hurt = {one.field for one in risks if one.odds_likely >= LOOK}
    if any(stands[name][0] not in (None, "before_v6", "v6_to_silking") for name in hurt):
        return cautions_of("frosted")
    return cautions_for("adjuster", "local") if hurt else cautions_of("frost")


def _stages(field: Field, season: int, today: int) -> tuple[str | None, str | None, bool]:
    """Triage's stage of corn and bean today, None where nothing stands; and whether the canopy has closed."""
    corn, legume = field.corn_stage, field.legume_stage
    grown = field.grown
    if (corn is not None or grown.corn is None) and (legume is not None or grown.legume is None):
        return corn, legume, corn not in (None, "before_v6")
    if field.seeding is None or field.seeding >= today:
        return corn, legume, corn not in (None, "before_v6")
    rows = pin(grown.site, season, today + 1, shifts=0)
    check_own(rows, field.seeding)
    later = field.seeding + grown.after if field.legume_seeding is None else field.legume_seeding
    sown = Sown(grown.corn, grown.legume, field.seeding, later, wanted(grown.store), field.seen)
    found = stand(rows, sown, grown.site.latitude)
    own = own_rows(rows)
    closed = False
    if grown.corn is not None and found.corn is not None:
        days = {name: float(np.median(day[own])) for name, day in found.corn.days.items()}
        closed = grown.corn.closes is not None and days.get(grown.corn.closes, np.inf) <= today
        corn = corn or _corn_stage(days, found, own, today)
    if grown.legume is not None and found.legume is not None:
        days = {name: float(np.median(day[own])) for name, day in found.legume.days.items()}
        legume = legume or _bean_stage(days, today)
    return corn, legume, closed


def _corn_stage(days: Mapping[str, float], found: Any, own: Any, today: int) -> str | None:
    """Where the corn stands, in triage's words."""
    came = [name for name, day in days.items() if day <= today]
    if "emergence" not in came:
        return None
    for name in ("black_layer", "half_milk", "dent"):
        if name in came:
            return name
    if "silking" in came:
        silking, dent = found.corn.counts["silking"], found.corn.counts.get("dent")
        if dent is None:
            return "blister"
        heat = float(silking.heat[own, today].mean())
        part = (heat - silking.need) / max(dent.need - silking.need, 1)
        kernel = _numbers()["kernel"]
        return next((name for name in ("dough", "milk", "blister") if part >= kernel[name]), "v6_to_silking")
    return "v6_to_silking" if "v5" in came else "before_v6"


def _bean_stage(days: Mapping[str, float], today: int) -> str | None:
    """Where the bean stands, in triage's words."""
    up = days.get("emergence", np.inf)
    if up > today:
        return None
    for stage, name in (("ripe", "R8"), ("seed_full", "R7"), ("first_seed", "R5")):
        if days.get(stage, np.inf) <= today:
            return name
    bean = _numbers()["bean"]
    return next((name for name in ("crook", "VC", "V1") if today - up <= bean[name]), "vegetative")


def _offset(of: Offset | None, sky: str, today: int) -> tuple[float, float]:
    """Mean and scatter of how the field's night differs from the station's [degC]."""
    if of is None:
        return 0.0, 0.0
    month = month_day(today)[0]
    season = 0 if month <= 5 else 1 if month <= 8 else 2
    kind = int(_numbers()["sky"][sky])
    return float(of.mean[season, kind]), sqrt(float(of.scatter[kind]) ** 2 + float(of.error[season, kind]) ** 2)


def _risks(
    name: str, field: Field, of: Night, corn: str | None, legume: str | None, closed: bool, today: int
) -> list[Risk]:
    """Every part of every crop at every place of one field."""
    shift, spread = _offset(field.grown.site.offset, of.sky, today)
    mean, scatter = of.tmin + shift, sqrt(of.scatter**2 + spread**2)
    places = [("open", mean, scatter)]
    bean = field.grown.legume
    if closed and legume is not None and bean is not None and bean.shelter is not None:
        kept = bean.shelter
        low, high = kept.low if kept.low is not None else kept.value, kept.high if kept.high is not None else kept.value
        own = (high - low) / 2 / BAND
        places += [("top", mean, scatter), ("within", mean + kept.value, sqrt(scatter**2 + own**2))]
    limits = thresholds(corn, legume, of.before, of.after)
    found = []
    for part, (possible, certain) in limits.items():
        for place, middle, wide in places:
            if PARTS[part] == "corn" and place == "within":
                continue
            if PARTS[part] == "corn" and place == "top" and part == "corn_plant":
                continue
            likely = _own_limit(field.grown, part, corn)
            odds = [_odds(limit, middle, wide) for limit in (possible, likely, certain)]
            found.append(Risk(name, part, place, middle, wide, possible, likely, certain, *odds))
    return found


def _own_limit(grown: Grown, part: str, corn: str | None) -> float:
    """What the crop's entry says of a part in its stage of today [degC]; NaN where it says nothing."""
    crop = grown.corn if PARTS[part] == "corn" else grown.legume
    if crop is None:
        return float("nan")
    of_part = "browns" if part == "corn_leaves" else "kills"
    told = [found for stage in crop.stage.values() if (found := getattr(stage, of_part)) is not None]
    if not told:
        return float("nan")
    return float(told[0 if corn == "before_v6" and PARTS[part] == "corn" else -1].value)


def _odds(limit: float, mean: float, scatter: float) -> float:
    """Odds that the night reads at or below a limit, as readings come in tenths."""
    if limit != limit:
        return 0.0
    edge = limit + READ
    return float(ndtr((edge - mean) / scatter)) if scatter > 0 else float(mean <= edge)


@lru_cache(maxsize=64)
def thresholds(
    corn: str | None, legume: str | None, before: float = float("nan"), after: float = float("nan")
) -> dict[str, tuple[float, float]]:
    """The warmest minimum at which triage calls each part's harm possible, and certain [degC]; NaN where never.

    >>> thresholds("dent", None)["corn_leaves"]
    (0.0, -2.4)
    """
    stage = corn or "v6_to_silking"
    wanted_parts = [part for part, crop in PARTS.items() if (corn if crop == "corn" else legume) is not None]

    @cache
    def at(tenths: int) -> dict[str, str | None]:
        frost = Frost(tenths / 10, before=before, after=after)
        return dict(triage(frost, stage, bean_stage=legume).values["verdicts"])

    def warmest(part: str, verdicts: tuple[str, ...]) -> float:
        low, high = SEARCHED
        if at(low)[part] not in verdicts:
            return float("nan")
        if at(high)[part] in verdicts:
            return high / 10
        while high - low > 1:  # harm never lessens with cold: halved until the two tenths around its limit are left
            middle = (low + high) // 2
            if at(middle)[part] in verdicts:
                low = middle
            else:
                high = middle
        return low / 10

    return {part: (warmest(part, ("possible", CERTAIN)), warmest(part, (CERTAIN,))) for part in wanted_parts}


def _looks(
    name: str, field: Field, of: Night, corn: str | None, legume: str | None, risks: list[Risk], today: int
) -> list[dict[str, Any]]:
    """What to look at in one field, and when: only where harm has odds worth a walk."""
    if not risks or max(one.odds_possible for one in risks) < LOOK:
        return []
    coldest = min(one.mean for one in risks)
    frost = Frost(max(min(coldest - of.scatter, 0.0), -15.0), day=today + 1)
    answer = triage(frost, corn or "v6_to_silking", bean_stage=legume)
    looks = [one for one in answer.values["look_again"] if (corn if one["crop"] == "corn" else legume) is not None]
    return [
        {
            "field": name,
            "crop": Term(f"subject_{'corn' if one['crop'] == 'corn' else 'legume'}"),
            "first": Day(today + 1 + one["days"][0]),
            "last": Day(today + 1 + one["days"][1]),
            "source": one["source"],
        }
        for one in looks
    ] or [{"field": name, "crop": Term("subject_both"), "first": Day(today + 1), "last": Day(today + 2), "source": ""}]


def _headline(
    of: Night, growing: list[str], first: str | None, risks: list[Risk], worst: Mapping[str, float], many: int
) -> Says:
    at: dict[str, Any] = {"tmin": Amount(of.tmin, "degC", 1), "scatter": Amount(of.scatter, "degC more", 1)}
    if not growing or first is None:
        return Says("nothing", at)
    of_first = [one for one in risks if one.field == first]
    risk = max(of_first, key=lambda one: (one.odds_likely, one.odds_possible))
    more = max(of_first, key=lambda one: one.odds_possible)
    danger = [name for name in growing if worst[name] >= LOOK]
    at |= {"field": first, "part": Term(f"tonight_{risk.part}"), "likely": Part(risk.odds_likely)}
    at |= {
        "possible_part": Term(f"tonight_{more.part}"),
        "possible": Part(more.odds_possible),
        "fields": len(danger),
        "of": many,
    }
    if worst[first] < LOOK:
        return Says("quiet", at)
    return Says("danger_one" if many == 1 else "danger", at)


def _said(
    of: Night, fields: Mapping[str, Field], growing: list[str], looks: list[dict[str, Any]], risks: list[Risk]
) -> list[Says]:
    said = [Says(f"sky_{of.sky}", {})] if any(one.grown.site.offset is not None for one in fields.values()) else []
    for one in looks:
        said.append(Says("look", one))
    bare = [name for name in fields if name not in growing]
    if bare and growing:
        said.append(Says("bare", {"fields": tuple(bare)}))
    if any(one.place == "within" for one in risks):
        said.append(Says("within", {}))
    said.append(Says("how", {}))
    return said


def _table(risks: list[Risk]) -> Table:
    """A row a field, part and place."""
    return Table(
        "odds",
        Column("field", "text", [one.field for one in risks]),
        (
            Column("part", "term", [f"tonight_{one.part}" for one in risks]),
            Column("place", "term", [f"tonight_{one.place}" for one in risks]),
            Column("mean", "amount", [one.mean for one in risks], "degC", 1),
            Column("scatter", "amount", [one.scatter for one in risks], "degC more", 1, shown=False),
            Column("possible_at", "amount", [one.possible for one in risks], "degC", 1),
            Column("possible", "part", [one.odds_possible for one in risks]),
            Column("likely_at", "amount", [one.likely for one in risks], "degC", 1),
            Column("likely", "part", [one.odds_likely for one in risks]),
            Column("certain_at", "amount", [one.certain for one in risks], "degC", 1),
            Column("certain", "part", [one.odds_certain for one in risks]),
        ),
        marked=np.array([one.odds_possible >= LOOK for one in risks], bool) if risks else None,
    )
