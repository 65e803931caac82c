"""Which hybrid and which bean for this place: entries ranked by their plan, and the largest rating by seeding day.

A hybrid's rating counts heat from planting, an area's from a calendar date: what is solved here is a hybrid's.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import (
    Amount,
    Answer,
    Column,
    CropName,
    Day,
    Odds,
    Says,
    Table,
    Term,
    checked_odds,
    counted,
)
from frostkit.answers.cautions import cautions_of
from frostkit.answers.corn import chopped_together, fit_plan, shelter
from frostkit.answers.growth import growth_plan, wanted as growth_wanted
from frostkit.answers.plans import needs_latitude, plan, soil_rule
from frostkit.answers.seeding.grids import (
    FIRST,
    LAST,
    NEEDS,
    SOON,
    Asked,
    Ints,
    Mask,
    asking,
    days_of_corn,
    reached,
    totals,
    under_corn,
)
from frostkit.answers.seeding.ratings import KINDS, as_sold, heat_met, largest, met_at, on_first_fit_day
from frostkit.crops.entry import Crop, entries, load
from frostkit.crops.rated import PATTERNS
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share
from frostkit.seasons.calendar import column, words
from frostkit.seasons.growth import Plan
from frostkit.seasons.soil import ready, soil_temperature
from frostkit.seasons.windows import made_it, made_it_many, waited

COLD, COLD_DAYS = 10.0, 2
"""Seedbed [degC] and days from sowing on in which colder soil is a cold start: the first 24 hours after planting in
water under 10 degC are the risk of soybean (Manitoba Agriculture 2013), the same limit common advice for corn."""
SEEDING = column(5, 22)  # of the corn, where none is named: common practice, no source
NEXT = 2  # crops that don't get there which people read too
WET = 5.0  # mm of rain in those days that soak the seedbed: common practice, no source


@dataclass(frozen=True)
class Choice:
    """One crop, sown on each day: made and plan (from each day on), bool [row, seeding day]; alone : in the open."""

    crop: Crop
    made: Mask
    plan: Mask
    alone: Mask | None = None


def choose(
    site: Site,
    seeding: int,
    corns: Sequence[Crop] | None = None,
    beans: Sequence[Crop] | None = None,
    *,
    odds: float = 0.8,
    after: int = 0,
    growth: str | None = None,
    store: str = "bunker",
) -> Answer:
    """Hybrids and beans ranked by the seasons in which they make it, ready on a seeding day and sown once soil is fit.

    Parameters
    ----------
    site : Site
    seeding : column, the corn's first seeding day
    corns, beans : entries to choose among; left out, the library's
    odds : wanted, 0.05 to 0.99
    after : days from the corn's seeding to the bean's
    growth : what is wanted of the beans, see `growth.wanted`; left out, each bean's own goal
    store : where silage goes; it decides what fit means

    Raises
    ------
    SettingError
        For odds or days that are not allowed, or no crop to choose from.
    RecordError
        Where no season counts.
    """
    odds = checked_odds(odds)
    if not FIRST <= seeding <= LAST:
        raise SettingError(
            f"{words(seeding)} is not among the seeding days looked at.",
            f"Give a day from {words(FIRST)} to {words(LAST)}.",
        )
    corns = entries("corn") if corns is None else _of_kind(corns, "corn")
    dark = beans is None and site.latitude != site.latitude and growth is None
    beans = entries("legume") if beans is None else _of_kind(beans, "legume")
    left_out = [crop for crop in beans if dark and needs_latitude(crop)]
    beans = [crop for crop in beans if crop not in left_out]
    if not corns and not beans:
        raise SettingError("There is no crop to choose from.", "Name hybrids, beans or both.")
    asked = asking(site, load(PATTERNS["silage"]), None, after=after, store=store)
    rows, place = site.ensemble(NEEDS), int(seeding - FIRST)
    hybrids = site.once(("hybrids", *asked.key, *_content(corns)), lambda: _hybrids(rows, asked, corns))
    corn_rows = _ranked(rows, hybrids, place, odds)
    highest = {use: _highest(corn_rows, use) for use in KINDS}
    within = highest["silage"] or highest["grain"]
    of_bean = replace(asked, corn=within)
    of_beans = (*_content(beans), growth, after)
    alone = site.once(("beans alone", *of_beans), lambda: _alone(rows, of_bean, beans, growth))
    under = site.once(("beans", *of_bean.key, *of_beans), lambda: _legumes(rows, of_bean, beans, growth, alone))
    bean_rows = _ranked(rows, under, place, odds)
    ratings = _ratings(rows, asked, hybrids, place, odds)
    cold = {who: _cold_start(rows, day) for who, day in (("corn", seeding), ("legume", seeding + after))}
    values: dict[str, Any] = {
        "seeding": Day(seeding),
        "after": after,
        "odds_wanted": odds,
        "store": asked.store.name,
        "highest": {use: None if crop is None else crop.name for use, crop in highest.items()},
        "within": None if within is None else within.name,
        "left_out": [crop.name for crop in left_out],
        "cold_start": {"soil_under_c": COLD, "days": COLD_DAYS, "rain_mm": WET, **cold},
    }
    of_day = {use: ratings[f"{key}plan"].at(place) for use, key in (("silage", ""), ("grain", "grain."))}
    about = {"day": Day(seeding), "odds": Odds(odds), "store": Term(f"store_{asked.store.name}")}
    sentences = [
        *_entries_said(corn_rows, highest),
        Says("rating_is", {}),
        *_cold_said(cold, seeding, after, bool(corns), bool(beans)),
    ]
    if left_out:
        sentences.append(Says("left_out", {"crops": [CropName(crop.name, crop.title) for crop in left_out]}))
    return Answer(
        "choose",
        _headline(of_day, about, bool(corns), bean_rows),
        tuple(sentences),
        values,
        (ratings, *(_table(key, of) for key, of in (("corn", corn_rows), ("beans", bean_rows)) if of)),
        cautions_of("seeding"),
        site,
        {"store": asked.store, "odds": odds, "seeding": seeding},
        rows,
        _next(within),
    )


def _content(crops: Sequence[Crop]) -> list[str]:
    """What entries say, for `Site.once`."""
    return [crop.model_dump_json() for crop in crops]


def _next(within: Crop | None) -> Says:
    """Look at the window of the largest hybrid that gets there; at an earlier day where none does."""
    return Says("do_earlier") if within is None else Says("do_window", {"entry": within.name})


def _of_kind(crops: Sequence[Crop], kind: str) -> list[Crop]:
    for crop in crops:
        if crop.kind != kind:
            raise SettingError(f"{crop.name} is no {kind}.", "Name corns with --corn, beans with --bean.")
    return list(crops)


def _hybrids(rows: Ensemble, asked: Asked, corns: Sequence[Crop]) -> list[Choice]:
    """Every corn on every seeding day."""
    plans = [fit_plan(corn, asked.store, asked.latitude) for corn in corns]
    made = made_it_many(rows.tmin, rows.tmax, plans, asked.days)
    rules = {of.warm for of in plans}
    fit = {rule: ready(rows.tmin, rows.tmax, rule, asked.days, rows.prcp) for rule in rules}
    return [Choice(corn, grid, waited(grid, fit[of.warm])) for corn, of, grid in zip(corns, plans, made, strict=True)]


class Alone(NamedTuple):
    """A bean in the open: its plan, whether it made it sown on a day, and the soil was fit then. [row, seeding day]"""

    of: Plan
    made: Mask
    fit: Mask


def _alone(rows: Ensemble, asked: Asked, beans: Sequence[Crop], growth: str | None) -> list[Alone]:
    """Every bean in the open, which no corn and no store has a say in."""
    plans = [growth_plan(bean, growth_wanted(growth, bean), asked.latitude) for bean in beans]
    sown, each = asked.sown("legume"), list(dict.fromkeys(plans))  # beans of a table differ by less than their names
    made = dict(zip(each, made_it_many(rows.tmin, rows.tmax, each, sown), strict=True))
    rules = [soil_rule(bean) for bean in beans]
    fit = {rule: ready(rows.tmin, rows.tmax, rule, sown, rows.prcp) for rule in set(rules)}
    return [Alone(of, made[of], fit[rule]) for of, rule in zip(plans, rules, strict=True)]


def _legumes(
    rows: Ensemble, asked: Asked, beans: Sequence[Crop], growth: str | None, alone: Sequence[Alone]
) -> list[Choice]:
    """Every bean: a forage bean under the corn it is chopped with, and all in the open too."""
    sown = asked.sown("legume")
    corn = days_of_corn(rows, asked) if any(chopped_together(asked.corn, bean) for bean in beans) else None
    under: dict[Any, Mask] = {}
    found = []
    for bean, (of, open_, fit) in zip(beans, alone, strict=True):
        made = open_
        if corn is not None and chopped_together(asked.corn, bean):
            alike = plan(bean, asked.latitude, next(iter(bean.stage))), bean.shelter  # all that light asks of a bean
            if alike not in under:
                under[alike] = under_corn(rows, replace(asked, legume=bean), corn)
            made = under[alike]
            if growth is not None:  # by heat or days, which tell nothing of the light that the corn leaves
                cover = shelter(bean, corn)
                made = made & made_it(rows.tmin, rows.tmax, of, sown, end=corn.chop, shelter=cover)
        by_plan = waited(open_, fit)
        found.append(Choice(bean, made, by_plan if made is open_ else waited(made, fit), by_plan))
    return found


@dataclass(frozen=True)
class Ranked:
    """One crop from the seeding day asked for on: its shares (`alone`: the plan in the open), whether it gets there."""

    crop: Crop
    plan: Share
    made: Share
    alone: Share | None
    reaches: bool


def _ranked(rows: Ensemble, choices: Sequence[Choice], place: int, odds: float) -> list[Ranked]:
    """Crops by the odds of their plan; of equals the higher rating first."""
    found = []
    for one in choices:
        planned = counted(rows, one.plan[:, place])
        alone = None if one.alone is None else counted(rows, one.alone[:, place])
        found.append(Ranked(one.crop, planned, counted(rows, one.made[:, place]), alone, bool(planned.reaches(odds))))
    return sorted(found, key=lambda one: (-int(one.plan.total), -_rating(one.crop), one.crop.name))


def _rating(crop: Crop) -> float:
    return 0.0 if crop.rating is None else crop.rating.value


def _highest(ranked: Sequence[Ranked], use: str) -> Crop | None:
    """Of the corns that get there, the one of the highest rating."""
    return max((one.crop for one in ranked if one.reaches and one.crop.use == use), key=_rating, default=None)


def _table(key: str, ranked: Sequence[Ranked]) -> Table:
    """A row a crop; what gets there is marked."""
    crops = [one.crop for one in ranked]
    columns = [
        Column("title", "text", [crop.title for crop in crops], shown=False),
        Column("use", "term", [crop.use for crop in crops]),
        Column("rating", "number", [None if crop.rating is None else crop.rating.value for crop in crops], shown=False),
        Column("reaches", "flag", [one.reaches for one in ranked], shown=False),
        Column("odds", "share", _side_by_side([one.plan for one in ranked])),
        Column("made_it", "share", _side_by_side([one.made for one in ranked])),
    ]
    if key == "beans":
        alone = [one.plan if one.alone is None else one.alone for one in ranked]
        columns.append(Column("in_the_open", "share", _side_by_side(alone)))
    names = [CropName(crop.name, crop.title) for crop in crops]
    marked = np.array([one.reaches for one in ranked])
    brief = np.arange(min(int(marked.sum()) + NEXT, len(ranked)))
    return Table(key, Column("name", "crop", names), tuple(columns), marked=marked, brief=brief)


def _side_by_side(shares: Sequence[Share]) -> Share:
    """Shares of single things as one over all of them."""

    def of(part: str) -> NDArray[Any]:
        return np.array([getattr(one, part) for one in shares])

    names = ("share", "low", "high", "yes", "no", "not_known", "total")
    share, low, high, yes, no, not_known, total = map(of, names)
    return shares[0]._replace(share=share, low=low, high=high, yes=yes, no=no, not_known=not_known, total=total)


def _ratings(rows: Ensemble, asked: Asked, hybrids: Sequence[Choice], place: int, odds: float) -> Table:
    """A row a seeding day: the largest rating that makes it sown on it, and whose plan from it on does; by what it is
    grown for. `entry` is the largest of the entries asked about that makes it sown on that day."""
    rule = soil_rule(load(PATTERNS["silage"]))
    fit = ready(rows.tmin, rows.tmax, rule, asked.days, rows.prcp)
    columns, sown = [], []
    for use, key in (("silage", ""), ("grain", "grain.")):
        met = heat_met(rows, use, asked.store, asked.days, asked.latitude)
        rating = largest(met_at(rows, met, odds), use, asked.store)
        by_plan = largest(met_at(rows, on_first_fit_day(met, fit), odds), use, asked.store)
        under = _entries_under(rows, [one for one in hybrids if one.crop.use == use], odds, asked.days)
        columns += [
            Column(f"{key}rating", "amount", rating, "CHU", shown=False),
            Column(f"{key}up_to", "amount", [as_sold(one) for one in rating], "CHU"),
            Column(f"{key}plan", "amount", [as_sold(one) for one in by_plan], "CHU"),
            Column(f"{key}entry", "crop", under, shown=False),
        ]
        sown.append(rating)
    ready_ = counted(rows, fit)
    columns.append(Column("ready", "share", ready_))
    places = np.arange(asked.days.size)
    soon = reached(totals(rows, fit), rows.index.size, SOON)
    any_ = np.array([one is not None or other is not None for one, other in zip(*sown, strict=True)])
    brief = np.flatnonzero((soon & any_ & (places % 5 == 0)) | (places == place))
    return Table(
        "largest_rating",
        Column("seeding", "day", asked.days.astype(float)),
        tuple(columns),
        marked=places == place,
        brief=brief,
    )


def _entries_under(rows: Ensemble, hybrids: Sequence[Choice], odds: float, days: Ints) -> list[CropName | None]:
    """Of some entries, the one of the highest rating that makes it sown on each day."""
    rising = sorted(hybrids, key=lambda one: _rating(one.crop))
    found: NDArray[np.int64] = np.full(days.size, -1)
    for number, one in enumerate(rising):
        found[reached(totals(rows, one.made), rows.index.size, odds)] = number
    return [None if at < 0 else CropName(rising[at].crop.name, rising[at].crop.title) for at in found]


def _cold_start(rows: Ensemble, day: int) -> dict[str, Share | None]:
    """How often the seed would have lain in cold soil after sowing, and in cold soil with rain.

    A day whose rain was not read counts as dry; None for a record without rain at that time of the year.
    """
    after = slice(day, day + COLD_DAYS)
    air = np.add(rows.tmin[:, : after.stop], rows.tmax[:, : after.stop], dtype=np.int32) / 20
    cold = np.asarray((soil_temperature(air)[:, after] < COLD).any(-1))
    if rows.prcp is None or not (rows.prcp[:, after] >= 0).any():
        return {"cold": counted(rows, cold), "cold_and_wet": None}
    wet = np.asarray(np.maximum(rows.prcp[:, after], 0).sum(-1, dtype=np.int64) >= round(10 * WET))
    return {"cold": counted(rows, cold), "cold_and_wet": counted(rows, cold & wet)}


def _headline(of_day: dict[str, Amount | None], about: dict[str, Any], corns: bool, beans: Sequence[Ranked]) -> Says:
    """The largest ratings from the day asked for on; where beans alone are asked about, the best of them."""
    if not corns:
        return Says(
            "beans", {**about, "bean": CropName(beans[0].crop.name, beans[0].crop.title), "plan": beans[0].plan}
        )
    silage, grain = of_day["silage"], of_day["grain"]
    if silage is None:
        return Says("none", about)
    return Says("silage" if grain is None else "both", {**about, "silage": silage, "grain": grain})


def _entries_said(ranked: Sequence[Ranked], highest: dict[str, Crop | None]) -> list[Says]:
    """The largest of the entries that gets there, by what it is grown for; the nearest where none does."""
    said = []
    for use, crop in highest.items():
        mine = [one for one in ranked if one.crop.use == use]
        if mine:
            one = next((one for one in mine if one.crop is crop), mine[0])
            values = {"use": Term(f"{use}_corn"), "crop": CropName(one.crop.name, one.crop.title)}
            said.append(Says("entry" if crop else "no_entry", {**values, "plan": one.plan, "made": one.made}))
    return said


def _cold_said(cold: dict[str, Any], seeding: int, after: int, corns: bool, beans: bool) -> list[Says]:
    """Cold starts, for whoever is sown on a day of its own."""
    said = []
    for who, day, there in (("corn", seeding, corns or not after), ("legume", seeding + after, beans and after)):
        if there:
            of = cold[who]
            values = {"day": Day(day), "cold": of["cold"], "limit": Amount(COLD, "degC"), "days": COLD_DAYS}
            if of["cold_and_wet"] is None:
                said.append(Says("cold", values))
            else:
                said.append(Says("cold_wet", {**values, "wet": of["cold_and_wet"], "rain": Amount(WET, "mm")}))
    return said
