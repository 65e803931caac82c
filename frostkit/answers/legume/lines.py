"""What a legume in corn is worth, as an answer: each step from kilogrammes to protein, nitrogen, grazing and money."""

from collections.abc import Mapping, Sequence

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, Day, Part, Says, Table
from frostkit.answers.cautions import cautions_for
from frostkit.answers.feed import share_of_beans
from frostkit.answers.legume.goals import corn_kept, kept_source
from frostkit.answers.legume.growth import with_model
from frostkit.answers.legume.late import FIRST, LAST, NEEDS, SEEDING, USUAL_YIELD, kilos
from frostkit.answers.legume.sweeps import Asked, asking, cells, field_of, into, sown_with, standing, with_corn
from frostkit.answers.legume.worth import Given, Line, Range, chain, fact, facts, soil_nitrogen
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError

Ends = float | Sequence[float]
WITH = "with corn"
TOPICS = ("herbicide", "feed", "nitrate", "local")
GRAZED = "grazing"
OWN = ("given", "arithmetic")  # of lines that rest on no source
_SHORT = {  # units as people read them in a cell; all others as they are
    "% of dry matter": "%",
    "% of the corn": "%",
    "% of the ground": "%",
    "% of bare ground's": "%",
}


def worth(
    site: Site,
    corn: Crop,
    legume: Crop,
    seeding: int = SEEDING,
    *,
    way: str | int = WITH,
    growth: Ends | None = None,
    corn_yield: Ends = USUAL_YIELD,
    corn_protein: Ends | None = None,
    bean_protein: Ends | None = None,
    kept: Ends | None = None,
    stubble: Ends | None = None,
    grazed: bool = False,
    new_land: bool = True,
    animal: float = 635.0,
    prices: Mapping[str, float] | None = None,
    soil_ppm: float | None = None,
    depth: float = 30.0,
    rows: str = "ordinary",
    bearing: float = 0.0,
    store: str = "bunker",
    seen: str | None = None,
) -> Answer:
    """What a legume is worth, line by line, each with its spread and its source.

    Parameters
    ----------
    site : Site
    corn, legume, seeding, way, rows, bearing, store, seen : as in `late.late_legume`
    growth : dry matter standing at the chop, kg/ha; left out, what the legume makes on the light that the corn leaves
    corn_yield : corn alone, t/ha of dry matter; corn_protein, bean_protein : % of dry matter
    kept : corn beside the legume, of corn alone; stubble : share of the legume that stays below the cut or falls; each
        of these one number, or least, usual and most
    grazed : the legume is left for grazing and cover, not chopped
    new_land : the field never had the legume; animal : weight of one grazing animal, kg
    prices : see `worth.PRICES`; money only for what has one
    soil_ppm, depth : nitrate nitrogen of a spring soil test, ppm, and its depth, cm

    Raises
    ------
    SettingError, CropError, RecordError
    """
    yields = _range("corn_yield", corn_yield)
    asked = asking(
        site, corn, legume, seeding, (way,), None, store, rows, bearing, seen, yields.middle, "usual", None, FIRST, LAST
    )  # fmt: skip
    of = asked.ways[0]
    if growth is None:
        grown, said = _grown(site, asked), "growth on the light that the corn leaves, less what competition takes"
    else:
        grown, said = _range("growth", growth), "given"
    given = Given(
        corn=yields,
        bean=grown,
        bean_source=said,
        corn_protein=fact("protein", "corn") if corn_protein is None else _range("corn_protein", corn_protein),
        bean_protein=fact("protein", "beans") if bean_protein is None else _range("bean_protein", bean_protein),
        corn_kept=corn_kept(of.together, rows) if kept is None else _range("kept", kept),
        stubble=fact("left", "stubble") if stubble is None else _range("stubble", stubble),
        chopped=not grazed,
        new_land=new_land,
        animal=float(animal),
        kept_source=kept_source(of.together, rows) if kept is None else "given",
    )
    lines = chain(given, prices)
    if soil_ppm is not None:
        if not (0 <= soil_ppm <= 1000 and 0 < depth <= 200):
            raise SettingError(f"{soil_ppm:g} ppm to {depth:g} cm can't be.", "Give 0 to 1,000 ppm, and cm up to 200.")
        found = soil_nitrogen(soil_ppm, depth)
        lines.append(Line("soil_nitrogen", found, found, found, "kg/ha", "the trade's ppm x 2 = lb/ac for six inches"))
    by = {line.name: line for line in lines}
    values = {
        "corn": corn.name,
        "legume": legume.name,
        "seeding": Day(asked.seeding),
        "way": of.named,
        "grazed": grazed,
        "animal_kg": float(animal),
        "prices": dict(prices or {}),
        "sources": [*dict.fromkeys(part for line in lines for part in line.source.split("; ") if part not in OWN)],
    }
    headline, sentences = _said(asked, given, by, grazed, bool(prices))
    topics = (*TOPICS[:-1], GRAZED, TOPICS[-1]) if grazed else TOPICS
    of_growth = site.ensemble(NEEDS) if growth is None else None
    settings = {"asked": asked}
    return Answer(
        "worth",
        headline,
        sentences,
        values,
        (_table(lines),),
        cautions_for(*topics),
        site,
        settings,
        of_growth,
        Says("do_test"),
    )


def _range(name: str, ends: Ends) -> Range:
    """One number, or least, usual and most. Raises `SettingError` for anything else."""
    found = [float(one) for one in np.atleast_1d(np.asarray(ends, float))]
    if len(found) not in (1, 3):
        raise SettingError(f"{name} has {len(found)} numbers.", "Give one, or three: least, usual, most.")
    return Range(*(found * 3 if len(found) == 1 else found))


def _grown(site: Site, asked: Asked) -> Range:
    """What the legume makes by the chop, seasons and the model's range together."""
    whole = site.ensemble(NEEDS)
    which, weight = np.unique(whole.index, return_counts=True)
    field, of = field_of(whole.tmin[which], whole.tmax[which], asked), asked.ways[0]
    stands = into(standing(field, asked), asked)
    sweep = with_corn(field, asked, sown_with(field, asked))[of.after] if of.after is not None else stands
    mine = cells(of, asked, stands, sweep.grown.sown, sweep.made)
    alone = mine.pick(sweep.grown.alone[0], np.arange(len(which))).ravel()
    found = with_model(alone, (mine.part[:, None] * weight[None]).ravel(), asked.rows)
    return Range(*(float(round(one, 1)) for one in found))


def _table(lines: Sequence[Line]) -> Table:
    """A row a line."""
    names = [line.name for line in lines]
    ends = []
    for end in ("low", "middle", "high"):
        amounts = [Amount(getattr(line, end), _unit(line), _digits(line)) for line in lines]
        ends.append(Column(end, "measure", amounts))
    units = Column("unit", "text", [line.unit for line in lines], shown=False)
    sources = Column("source", "text", [line.source for line in lines], shown=False)
    return Table("lines", Column("name", "term", names), (*ends, units, sources))


def _unit(line: Line) -> str:
    return "days/ha" if line.unit.startswith("days/ha") else _SHORT.get(line.unit, line.unit)


def _digits(line: Line) -> int:
    """As many as it is known to: three figures at most."""
    most = max(abs(end) for end in (line.low, line.middle, line.high))
    return 0 if most >= 100 else 1 if most >= 10 else 2


def _amount(line: Line, end: str = "middle") -> Amount:
    return Amount(getattr(line, end), _unit(line), _digits(line))


def _said(
    asked: Asked, given: Given, by: Mapping[str, Line], grazed: bool, priced: bool
) -> tuple[Says, tuple[Says, ...]]:
    """The verdict, and what carries it."""
    ends = ("low", "middle", "high")

    def line(name: str, key: str) -> Says:
        return Says(key, {end: _amount(by[name], end) for end in ends})

    values = {
        "way": asked.ways[0].named,
        "bean": kilos(given.bean.middle),
        "alone": Amount(given.corn_protein.middle, "%", 1),
        "blend": Amount(by["protein_blend"].middle, "%", 1),
        "per_hectare": _amount(by["protein_change"]),
    }
    said: list[Says] = [Says("bean", {**values, "low": kilos(given.bean.low), "high": kilos(given.bean.high)})]
    if grazed:
        headline = Says("grazed", {**values, "days": _amount(by["grazing_days"]), "animal": Amount(given.animal, "kg")})
        said += [line("grazing_days", "grazing"), line("ground_covered", "cover")]
    else:
        headline = Says("chopped", values)
        said += [line("protein_blend", "blend"), line("protein_change", "per_hectare")]
        wanted = fact("protein", "with_beans_seen").middle
        if given.corn_protein.middle < wanted < given.bean_protein.middle:
            share = share_of_beans(given.corn_protein.middle, given.bean_protein.middle, wanted)
            said.append(Says("needed", {"wanted": Amount(wanted, "%", 1), "share": Amount(100 * share, "%", 1)}))
    low, _, high = given.corn_kept
    even = _amount(by["break_even_loss"])
    said.append(Says("cost", {"low": Part(low), "high": Part(high), "lost": _amount(by["corn_lost"]), "even": even}))
    seen = facts()["nitrogen"]["soil_seen"]["value"]
    more = {"seen": Amount(seen / 0.892179, "kg N/ha"), "gives": _amount(by["nitrogen_first_season"])}
    said.append(Says("nitrogen", {**more, **{end: _amount(by["nitrogen_balance"], end) for end in ends}}))
    if "soil_nitrogen" in by:
        said.append(Says("soil", {"found": _amount(by["soil_nitrogen"])}))
    said.append(Says("seed", {"seed": _amount(by["seed"]), "doses": by["inoculant"].middle}))
    if priced:
        said.append(line("money_total", "money"))
    said.append(Says("widest"))
    return headline, tuple(said)
