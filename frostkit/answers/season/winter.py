"""The winter page: what to plan for a place and a farm, from soil and frost to hybrid, seed, label and insurer."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, CropName, Day, Odds, Says, Table, Term, checked_odds
from frostkit.answers.cautions import cautions_of
from frostkit.answers.corn import is_silage
from frostkit.answers.legume.worth import fact, seed_rate, source, spread
from frostkit.answers.plans import clock
from frostkit.answers.season.back import Grown
from frostkit.answers.seeding.grids import FIRST, NEEDS as PLAIN
from frostkit.answers.seeding.ratings import as_sold, heat_met, largest, met_at
from frostkit.answers.seeding.window import window
from frostkit.answers.silage.stores import wanted
from frostkit.answers.station.frost import frost
from frostkit.answers.working import NEEDS, has_rain, months_table, weeks, weeks_table, workable
from frostkit.crops.entry import load
from frostkit.crops.rated import PATTERNS
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError
from frostkit.seasons.calendar import column

SHOWN = (column(5, 1), column(6, 15), 5)  # first, last and step of the seeding days on the page
COLD = (0.0, -2.0)  # degC: frost, and what kills corn above ground
NEWS = 2  # doses of inoculant on land new to soybean: worth.toml
ACRES_A_HECTARE = 2.47105
TOLD = ("ready", "core", "no_core")  # sentences of the window that the page says too
CLEAR = ("carryover", "both_crops", "timing", "rotation", "write")
"""What to clear with the label before anything is bought: keys of sentences."""


@dataclass(frozen=True)
class Planned:
    """One field of the plan. grown : site, crops and store; not_after : column, an insurer's last day; area : ha"""

    grown: Grown
    not_after: int | None = None
    area: float | None = None


def winter(fields: Mapping[str, Planned], odds: float = 0.8) -> Answer:
    """What to plan, on one page: soil, frosts, heat and largest rating by seeding day, a plan a field, seed, label.

    Parameters
    ----------
    fields : by name; the first one's place, crops and store are the page's
    odds : wanted, 0.05 to 0.99

    Raises
    ------
    SettingError
        Where there is no field, or nothing is grown in any.
    RecordError
        Where no season counts.
    """
    odds = checked_odds(odds)
    grown = {name: one for name, one in fields.items() if one.grown.corn is not None or one.grown.legume is not None}
    if not grown:
        raise SettingError("There is no field with a crop to plan for.", "Name a corn, a legume or both.")
    windows = {
        name: window(
            one.grown.site,
            one.grown.corn,
            one.grown.legume,
            odds=odds,
            after=one.grown.after,
            not_after=one.not_after,
            store=one.grown.store,
        )
        for name, one in grown.items()
    }
    name, first = next(iter(grown.items()))
    site, head = first.grown.site, windows[name]
    frosts = {limit: frost(site, limit) for limit in COLD}
    days = _days_table(site, first.grown, head, odds)
    tables = [days, _fields_table(grown, windows), _frost_table(frosts), _seed_table(grown)]
    rain = has_rain(site)
    if rain:
        rows = site.ensemble(NEEDS)
        work = workable(rows, site.latitude)
        assert work is not None
        tables += [months_table(rows, work), replace(weeks_table(weeks(rows, work)), brief=np.empty(0, np.int64))]
    ratings = _ratings(days, head)
    at: dict[str, Any] = {"odds": Odds(odds), "store": Term(f"store_{wanted(first.grown.store).name}"), **ratings}
    sentences = [Says(f"window_{one.key}", one.values) for one in head.sentences if one.key in TOLD]
    sentences.append(Says("rating" if ratings["up_to"] is not None else "no_rating", at))
    last = [name for name, one in grown.items() if one.not_after is None]
    sentences.append(Says("insurer_ask", {"fields": tuple(last)}) if last else Says("insurer", {}))
    if not rain:
        sentences.append(Says("no_rain", {}))
    to_clear = [Says(f"label_{key}", {}) for key in CLEAR]
    values = {
        "odds_wanted": odds,
        "largest_rating": ratings,
        "seed_source": source("seed.plants", "seed.weight", "seed.survival", "seed.corn_plants"),
        "herbicide_plan": to_clear,
    }
    sentences += to_clear
    return Answer(
        "winter",
        _headline(head, odds),
        tuple(sentences),
        values,
        tuple(tables),
        cautions_of("seeding"),
        site,
        {"corn": first.grown.corn, "legume": first.grown.legume, "odds": odds},
        head.ensemble,
        Says("do_order"),
    )


def _headline(head: Answer, odds: float) -> Says:
    of = head.values["window"]
    if of["from"] is None:
        return Says("none", {"odds": Odds(odds)})
    return Says("plan", {"first": of["from"], "last": of["to"], "odds": Odds(odds)})


def _days_table(site: Site, of: Grown, head: Answer, odds: float) -> Table:
    """A row a seeding day: soil, plan, heat to a killing frost or the season's end, the largest rating it carries."""
    first, last, step = SHOWN
    days = np.arange(first, last + 1, step)
    places = days - FIRST
    table = head.table("odds")
    subject = head.values["subject"]
    columns = [
        Column("ready", "share", table[f"{subject}.ready"].values.at(places)),
        Column("plan", "share", table[f"{subject}.plan"].values.at(places)),
    ]
    rows = site.ensemble(PLAIN)
    use = "silage" if of.corn is None or is_silage(of.corn) else "grain"
    met = heat_met(rows, use, wanted(of.store), days, site.latitude)
    like = load(PATTERNS[{"silage": "silage", "grain": "grain-corn"}[use]])
    unit = clock(like, like.stage[like.goal].clock).per_unit
    for name, wanted_odds in (("heat.nine", 0.9), ("heat.half", 0.5), ("heat.one", 0.1)):
        columns.append(Column(name, "amount", met_at(rows, met, wanted_odds) / unit, "CHU"))
    rating = [as_sold(one) for one in largest(met_at(rows, met, odds), use, wanted(of.store))]
    columns.append(Column("up_to", "amount", rating, "CHU"))
    return Table("seeding", Column("seeding", "day", days.astype(float)), tuple(columns))


def _ratings(days: Table, head: Answer) -> dict[str, Any]:
    """The largest rating sown on the usual first fit day."""
    usual = head.values["ready_days"]["usual"].column
    at = np.asarray(days.index.values)
    place = int(np.abs(at - usual).argmin()) if np.isfinite(usual) else 0
    up_to = days["up_to"].values[place]
    return {"seeding": Day(float(at[place])), "up_to": None if up_to is None else Amount(float(up_to), "CHU")}


def _fields_table(fields: Mapping[str, Planned], windows: Mapping[str, Answer]) -> Table:
    """A row a field: what goes in, when it is usually fit, and from when to when it makes it."""
    never = Day(float("nan"))
    of = [windows[name].values for name in fields]
    return Table(
        "fields",
        Column("field", "text", list(fields)),
        (
            Column("corn", "crop", [_crop(one.grown.corn) for one in fields.values()]),
            Column("legume", "crop", [_crop(one.grown.legume) for one in fields.values()]),
            Column("usual", "day", [values["ready_days"]["usual"].column for values in of]),
            Column("from", "day", [(values["window"]["from"] or never).column for values in of]),
            Column("to", "day", [(values["window"]["to"] or never).column for values in of]),
            Column("not_after", "day", [one.not_after for one in fields.values()]),
        ),
    )


def _crop(crop: Any) -> CropName | None:
    return None if crop is None else CropName(crop.name, crop.title)


def _frost_table(frosts: Mapping[float, Answer]) -> Table:
    """A row a threshold: last spring and first fall frost at odds of 1, 5 and 9 in 10."""
    places = {"one": 0, "half": 2, "nine": 4}
    columns = []
    for key in ("last_spring", "first_fall"):
        for odds, place in places.items():
            days = [float(of.table("dates")[key].values[place]) for of in frosts.values()]
            columns.append(Column(f"{key}.{odds}", "day", days))
    return Table("frosts", Column("threshold", "amount", list(frosts), "degC", 0), tuple(columns))


def _seed_table(fields: Mapping[str, Planned]) -> Table:
    """A row a field: corn seeds, bean seed and inoculant, a hectare and, where its area is known, in all."""
    beans = spread(seed_rate, fact("seed", "plants"), fact("seed", "weight"), fact("seed", "survival"))
    plants = fact("seed", "corn_plants")
    seeds = np.array([plants.low, plants.high]) * ACRES_A_HECTARE / 1000
    corn = [seeds if one.grown.corn is not None else None for one in fields.values()]
    legume = [one.grown.legume is not None for one in fields.values()]
    area = [one.area for one in fields.values()]
    middle = float(seeds.mean())
    return Table(
        "seed",
        Column("field", "text", list(fields)),
        (
            Column("area", "amount", area, "ha", 0),
            Column("corn_plants", "amount", [None if one is None else middle for one in corn], "thousand/ha", 0),
            Column(
                "corn_in_all",
                "amount",
                [None if one is None or a is None else middle * a for one, a in zip(corn, area, strict=True)],
                "thousand",
                0,
            ),
            Column("bean_seed", "amount", [beans.middle if there else None for there in legume], "kg/ha", 0),
            Column("bean_low", "amount", [beans.low if there else None for there in legume], "kg/ha", 0, shown=False),
            Column("bean_high", "amount", [beans.high if there else None for there in legume], "kg/ha", 0, shown=False),
            Column(
                "bean_in_all",
                "amount",
                [beans.middle * a if there and a is not None else None for there, a in zip(legume, area, strict=True)],
                "kg",
                0,
            ),
            Column("inoculant", "number", [1.0 if there else None for there in legume]),
            Column("inoculant_new_land", "number", [float(NEWS) if there else None for there in legume]),
        ),
    )
