"""How late the legume can still go in: what it makes on the light that the corn leaves, way by way and day by day."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import (
    Amount,
    Answer,
    CropName,
    Day,
    Odds,
    Part,
    Says,
    Table,
    checked_odds,
    counted,
)
from frostkit.answers.cautions import cautions_of
from frostkit.answers.legume import worth
from frostkit.answers.legume.bean_light import numbers
from frostkit.answers.legume.goals import WEIGHT, Goal, corn_kept
from frostkit.answers.legume.growth import facts, low_middle_high, sunlit
from frostkit.answers.legume.sweeps import (
    INTO,
    Asked,
    Cells,
    Central,
    Counted,
    Open,
    Sweep,
    asking,
    cells,
    field_of,
    into,
    sown_alone,
    sown_with,
    standing,
    with_corn,
)
from frostkit.answers.legume.tables import by_day, days_table, row_spacing, season_table, ways_table
from frostkit.answers.legume.told import Told, last_day, told
from frostkit.answers.legume.ways import WAYS
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share, share
from frostkit.seasons.calendar import MISSING, column

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
NEEDS = ("tmin", "tmax")
ENDS = ("low", "middle", "high")
SEEDING = column(5, 20)  # of the corn, where none is named: common practice, no source
FIRST, LAST = column(5, 1), column(7, 31)  # the sowing days an answer looks at: a setting, common practice, no source
USUAL_YIELD = 12.0  # t/ha of corn's dry matter: common practice, no source


def late_legume(
    site: Site,
    corn: Crop,
    legume: Crop,
    seeding: int = SEEDING,
    *,
    ways: Sequence[str | int] = WAYS,
    goal: str | None = None,
    odds: float = 0.8,
    store: str = "bunker",
    rows: str = "ordinary",
    bearing: float = 0.0,
    seen: str | None = None,
    corn_yield: float = USUAL_YIELD,
    frost: str = "usual",
    cool_nights: bool | None = None,
    label_days: int | None = None,
    first: int = FIRST,
    last: int = LAST,
) -> Answer:
    """What a legume sown with, into or between corn still makes by the chop, and the last day that gives what is asked.

    Parameters
    ----------
    site : Site
    corn, legume : entries
    seeding : column, the corn's seeding day
    ways : "with corn", days after it (-1, 1), a collar ("V5") or stage of the corn, a day ("06-25")
    goal : "300 kg/ha", "0.5 points of protein", "30 kg N", "90 days" (vegetative); left out, the default of
        `legume.toml`
    odds : wanted, 0.05 to 0.99
    store : where silage goes; it decides when the corn is chopped
    rows : "ordinary" (30 inches), "wide" (60) or "paired"; bearing : theirs, degrees from north
    seen : a collar of this year's corn and its day, "V4 06-18": the clock runs on from it
    corn_yield : corn alone, t/ha of dry matter
    frost : "usual", "tender" or "hardy": end of the killing temperatures' range
    cool_nights : count slowing by cool nights; left out, as the entry says
    label_days : wait from the last spraying to feeding, by the label
    first, last : columns, sowing days looked at

    Raises
    ------
    SettingError, CropError, RecordError
        For a setting or an entry that can't carry the question, or a record without a season that counts.
    """
    asked = asking(
        site, corn, legume, seeding, ways, goal, store, rows, bearing, seen, corn_yield, frost, cool_nights, first, last
    )
    odds = checked_odds(odds)
    whole, rain = site.ensemble(NEEDS), _rain(site, asked)
    which, place = np.unique(whole.index, return_inverse=True)
    weight = np.bincount(place.ravel())
    stands, found = _sown(site, asked, whole, which, weight, rain)
    of_cells = [
        cells(one, asked, stands, found[one.after].central.sweep.grown.sown, found[one.after].made)
        for one in asked.ways
    ]
    made = counted(whole, np.stack([one.made for one in of_cells], axis=1))
    each = [
        told(one, mine, found[one.after], asked, which, odds, made.at(number))
        for number, (one, mine) in enumerate(zip(asked.ways, of_cells, strict=True))
    ]
    centrals = {key: one.central for key, one in found.items()}
    times = _times(asked, of_cells, centrals, which, weight)
    sown, yes = stands.grown.sown, found[INTO].yes
    until = last_day(sown, yes, odds, asked, asked.seeding)
    central = replace(
        whole,
        tmin=whole.tmin[which],
        tmax=whole.tmax[which],
        prcp=None,
        index=place.reshape(whole.index.shape),
        shifted=None,
    )
    spacing = row_spacing(centrals[INTO], asked)
    label = _label(centrals[INTO], label_days)
    tables = (
        ways_table(asked, each, made, rain),
        days_table(asked, {key: one.columns for key, one in found.items()}),
        *((spacing,) if spacing is not None else ()),
        season_table(asked, of_cells, centrals, which, central),
    )
    headline, sentences = _said(asked, odds, until, yes, sown, each, times, label, rain, spacing)
    settings = {"corn": corn, "legume": legume, "seeding": seeding, "odds": odds, "rows": rows, "asked": asked}
    return Answer(
        "late-legume",
        headline,
        sentences,
        _values(asked, odds, until, times, label),
        tables,
        cautions_of("late legume"),
        site,
        settings,
        whole,
        Says("do_goal") if until == -np.inf else Says("do_sow", {"day": Day(asked.seeding), "last": Day(until)}),
    )


def _sown(
    site: Site, asked: Asked, whole: Ensemble, which: Ints, weight: Ints, rain: Share | None
) -> tuple[Sweep, dict[int | None, Counted]]:
    """The sweep into corn that stands; and every sweep, counted.

    What the corn's seeding day does not move is kept with the site. which, weight : see `Central`
    """

    def count(sweep: Sweep, alone: Open) -> Counted:
        mine = Central(asked, sweep.some(which), weight, alone)
        yes, makes, fit = (counted(whole, on) for on in (sweep.yes, sweep.made, sweep.fit))
        return Counted(sweep.made, mine, yes, by_day(asked, mine, makes, fit, rain))

    key = "light", asked.corn.model_dump_json(), asked.frost
    light = site.once(key, lambda: field_of(whole.tmin, whole.tmax, asked))
    of = replace(light, legume=asked.legume, rows=asked.rows, bearing=asked.bearing)

    def together() -> dict[int | None, Counted]:
        corn = site.once(("corn", *asked.of_corn), lambda: sown_with(of, asked))
        alone = sown_alone(of.some(which), asked, asked.days)
        return {after: count(sweep, alone) for after, sweep in with_corn(of, asked, corn).items()}

    found = dict(site.once(("with corn", *asked.of_both), together)) if asked.afters else {}
    stands = into(standing(of, asked), asked)
    found[INTO] = count(stands, sown_alone(of.some(which), asked, stands.grown.sown))
    return stands, found


def _times(
    asked: Asked, of_cells: Sequence[Cells], found: Mapping[int | None, Central], which: Ints, weight: Ints
) -> Floats | None:
    """How many times as much a sowing with the corn makes as one at V5; None where one of them is not asked for."""
    by = {of.named.name: mine for of, mine in zip(asked.ways, of_cells, strict=True)}
    if "with corn" not in by or "V5" not in by:
        return None
    together = by["with corn"].pick(found[0].alone[0], which)
    fifth = by["V5"].pick(found[INTO].alone[0], which)
    times = np.where(fifth > 0, together / np.where(fifth > 0, fifth, 1), np.inf)
    return low_middle_high(times.ravel(), (by["V5"].part[:, None] * weight[None]).ravel())


def _label(of: Central, wait: int | None) -> dict[str, Any]:
    """The last day to spray, by the wait before feeding and an early chop."""
    days = int(facts()["label"]["wait"]["value"]) if wait is None else wait
    if not 0 <= days <= 365:
        raise SettingError(f"A wait of {days} days can't be.", "Give the label's days, 0 to 365.")
    early, usual, _ = low_middle_high(of.sweep.grown.chop[:, 0], of.weight)
    return {"wait_days": days, "early_chop": Day(early), "usual_chop": Day(usual), "last_spraying": Day(early - days)}


def _rain(site: Site, asked: Asked) -> Share | None:
    """Odds of a rain to come up by, after each sowing day; None for a record without rain. [sowing day]"""
    if site.folded.prcp is None:
        return None
    of = site.ensemble((*NEEDS, "prcp"), 0)
    entry = facts()["rain"]["establishment"]
    days = int(entry["days"])
    assert of.prcp is not None
    part = of.prcp[:, int(asked.days[0]) + 1 : int(asked.days[-1]) + days + 1]
    if (part[of.index.ravel()] == MISSING).any():  # nothing to draw it from
        return None
    total = np.concatenate([np.zeros((len(part), 1), np.int64), part.astype(np.int64).cumsum(1)], axis=1)
    fell = total[:, days:] - total[:, :-days]
    return share((fell >= 10 * entry["value"])[of.index], of.complete)


def _values(asked: Asked, odds: float, until: float, times: Floats | None, label: Mapping[str, Any]) -> dict[str, Any]:
    """Decisions for programs."""
    goal = asked.goal
    standing = {name: asked.standing(name == "together") for name in ("together", "into")}
    return {
        "corn": asked.corn.name,
        "legume": asked.legume.name,
        "seeding": Day(asked.seeding),
        "odds_wanted": odds,
        "store": asked.store.name,
        "rows": asked.rows,
        "corn_yield_t_ha": asked.corn_yield,
        "goal": {"amount": goal.amount, "unit": goal.unit, "source": goal.source or None, "standing_kg_ha": standing},
        "last_day": None if until == -np.inf else Day(until),
        "with_corn_over_v5": None
        if times is None
        else dict(zip(("low", "middle", "high"), times.round(2), strict=True)),
        "label": dict(label),
        "latitude_assumed": sunlit(asked.latitude) if asked.latitude != asked.latitude else None,
        "sources": _sources(asked),
        "seen": None if asked.seen is None else {"collar": asked.seen.collar, "day": Day(asked.seen.day)},
    }


def _sources(asked: Asked) -> list[str]:
    """Where the numbers come from that decide most."""
    light, own = numbers(), facts()
    rows = "closing" if asked.rows == "ordinary" else "wide"
    places = [light["competition"][rows], light["bean"]["use"], light["corn"]["extinction"], light["corn"]["most_leaf"]]
    places += [own["collar"]["fifth"], own["corn_kept"]["together"], own["corn_kept"]["into"]]
    places += [] if asked.rows == "ordinary" else [own["corn_kept"][asked.rows]]
    return [*dict.fromkeys([*([asked.goal.source] if asked.goal.source else []), *(one["source"] for one in places)])]


def goal_amount(goal: Goal) -> Amount:
    """The goal as people read it."""
    return Amount(goal.amount, goal.unit, 0 if float(goal.amount).is_integer() else 1)


def kilos(value: float) -> Amount:
    """Dry matter to two figures, as near as it is known.

    >>> kilos(1234.0).value, kilos(87.4).value
    (1200.0, 87.0)
    """
    return Amount(float(f"{value:.2g}") if np.isfinite(value) else value, WEIGHT, -2)


def _said(
    asked: Asked,
    odds: float,
    until: float,
    into: Share,
    sown: Ints,
    each: Sequence[Told],
    times: Floats | None,
    label: Mapping[str, Any],
    rain: Share | None,
    spacing: Table | None,
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, and what carries it."""
    by = {one.way.named.name: one for one in each}
    goal, seeding = goal_amount(asked.goal), Day(asked.seeding)
    names: dict[str, Any] = {
        "corn": CropName(asked.corn.name, asked.corn.title),
        "legume": CropName(asked.legume.name, asked.legume.title),
        "seeding": seeding,
        "goal": goal,
        "odds": Odds(odds),
    }
    sentences: list[Says] = []
    if until == -np.inf:
        headline = Says("none", names)
        inside = np.flatnonzero((sown >= asked.seeding) & (sown <= asked.days[-1]))
        best = int(inside[np.argmax(into.total[inside])])
        sentences.append(Says("most", {"day": Day(sown[best]), "made": into.at(best), "goal": goal}))
    else:
        headline = Says("into", {**names, "last": Day(until)})
        place = int(until - sown[0])
        sentences.append(Says("made", {"last": Day(until), "made": into.at(place), "goal": goal}))
        if until >= asked.days[-1]:
            sentences.append(Says("edge_last", {"last": Day(until)}))
    if "with corn" in by:
        sentences += _with_corn(by["with corn"], asked)
    if "V5" in by:
        sentences.append(_growth_at("at_v5", by["V5"]))
    if times is not None:
        low, middle, high = times
        values = {"times": _times_words(middle), "low": _times_words(low), "high": _times_words(high)}
        sentences.append(Says("times", values))
    sentences.append(_cost(asked))
    if spacing is not None and asked.rows == "ordinary":
        sentences.append(_wide(spacing, asked))
    sentences.append(Says("range", {}))
    if asked.goal.source:
        sentences.append(Says("default_goal", {"goal": goal}))
    if asked.goal.unit != WEIGHT and np.isfinite(asked.standing(False)):
        sentences.append(Says("takes", {"goal": goal, "standing": kilos(asked.standing(False))}))
    sentences += _agronomy(asked, until, label, rain)
    if asked.seen is not None:
        sentences.append(Says("seen", {"collar": f"V{asked.seen.collar}", "day": Day(asked.seen.day)}))
    if asked.latitude != asked.latitude:
        sentences.append(Says("latitude", {"latitude": Amount(sunlit(asked.latitude), "degrees north")}))
    return headline, tuple(sentences)


def _times_words(value: float) -> float:
    """A ratio to two figures."""
    return float(f"{value:.2g}") if np.isfinite(value) else value


def _growth_at(key: str, one: Told) -> Says:
    low, middle, high = one.kilos
    values = {"low": kilos(low), "middle": kilos(middle), "high": kilos(high), "made": one.made}
    days = {"day": Day(one.sown[1]), "early": Day(one.sown[0]), "late": Day(one.sown[2])}
    return Says(key, {**values, **days, "of_sole": Part(one.of_sole)})


def _with_corn(one: Told, asked: Asked) -> list[Says]:
    """What a sowing with the corn makes, and until when both make it."""
    alone = worth.fact("protein", "corn").middle
    gain = one.protein - alone
    seen = worth.facts()["protein"]
    values = {
        "blend": Amount(float(one.protein[1]), "%", 1),
        "low": Amount(float(gain[0]), "points", 1),
        "high": Amount(float(gain[2]), "points", 1),
        "alone": Amount(alone, "%", 1),
        "corn": Amount(asked.corn_yield, "t/ha", 0 if asked.corn_yield.is_integer() else 1),
        "trial": Amount(seen["together"]["value"], "%", 2),
        "trial_alone": Amount(seen["together_corn_alone"]["value"], "%", 2),
    }
    said = [_growth_at("with_corn", one), Says("protein", values)]
    if np.isfinite(one.last_day):
        said.append(Says("together", {"last": Day(one.last_day)}))
    return said


def _cost(asked: Asked) -> Says:
    """What the legume may cost the corn."""
    together, into = corn_kept(True, asked.rows), corn_kept(False, asked.rows)
    values = {"low": Part(together.low), "high": Part(together.high)}
    return Says("cost", {**values, "into_low": Part(into.low), "into_high": Part(into.high)})


def _wide(spacing: Table, asked: Asked) -> Says:
    """What 60-inch rows give beside ordinary ones."""
    place = [one.name for one in spacing.index.values].index("wide")
    kept = corn_kept(False, "wide")
    grown = [kilos(float(spacing[f"growth_kg_ha.{end}"].values[place])) for end in ENDS]
    lost = Part(1 - facts()["corn_kept"]["wide"]["value"])
    values = dict(zip(ENDS, grown, strict=True))
    return Says("wide", {**values, "way": spacing["way"].values[place], "lost": lost, "kept": Part(kept.middle)})


def _agronomy(asked: Asked, until: float, label: Mapping[str, Any], rain: Share | None) -> list[Says]:
    """What decides besides light: rain, nodules, herbicide, the label."""
    entry = facts()["rain"]["establishment"]
    day = asked.seeding if until == -np.inf else until
    water = {"rain": Amount(float(entry["value"]), "mm"), "days": int(entry["days"])}
    said = [
        Says("no_rain", water)
        if rain is None
        else Says("rain", {**water, "day": Day(day), "odds": rain.at(int(day - asked.days[0]))})
    ]
    soil = worth.facts()["nitrogen"]["soil_avoid"]
    ends = {end: Amount(worth.kg_ha(soil[end]), "kg N/ha") for end in ("low", "high")}
    return [*said, Says("nodules", ends), Says("label", dict(label))]
