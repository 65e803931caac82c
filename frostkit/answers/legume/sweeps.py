"""The legume sown on every day, with the corn or into corn that stands; and ways to sow as cells of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Column, StageName
from frostkit.answers.collars import collars_at
from frostkit.answers.corn import CornDays, corn_days, fit_plan
from frostkit.answers.legume import growth, ways
from frostkit.answers.legume.goals import VEGETATIVE, Goal, corn_kept, goal as goal_of
from frostkit.answers.legume.growth import END, Field, Grown, facts
from frostkit.answers.legume.ways import Seen, Way
from frostkit.answers.plans import FAHRENHEIT, whole_plan
from frostkit.answers.silage.stores import Store, wanted
from frostkit.crops.entry import Crop
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError, choose
from frostkit.odds.share import Share
from frostkit.seasons.calendar import column, words
from frostkit.seasons.growth import Plan, stage_days
from frostkit.seasons.windows import made_it

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]
REACH = column(8, 31)  # up to which a stage of the corn is still a way to sow
NOT_STAGES = ("growth",)  # an amount of growth, which the plant does not show
NOT_UP, STILL_VEGETATIVE = StageName("not_up", "sown, not up"), StageName("vegetative", "vegetative")
INTO = None  # the sweep into corn of one seeding day; others by days from corn to legume


class Asked(NamedTuple):
    """What was asked.

    seeding : the corn's, column; ways; goal; store; rows, bearing : of the corn
    corn_yield : corn alone [t/ha of dry matter]; days : int [sowing day] in tables; latitude : NaN where not known
    """

    corn: Crop
    legume: Crop
    seeding: int
    ways: tuple[Way, ...]
    goal: Goal
    store: Store
    rows: str
    bearing: float
    seen: Seen | None
    frost: str
    cool_nights: bool | None
    corn_yield: float
    days: Ints
    latitude: float

    @property
    def afters(self) -> tuple[int, ...]:
        """Days from corn to legume, for the two sown together; rising."""
        return tuple(sorted({one.after for one in self.ways if one.after is not None}))

    @property
    def of_corn(self) -> tuple[Any, ...]:
        """All that decides what corn stands, whichever day is named for its seeding, for `Site.once`."""
        days = int(self.days[0]), int(self.days[-1])
        return self.corn.model_dump_json(), self.store, self.frost, days, self.afters

    @property
    def of_both(self) -> tuple[Any, ...]:
        """All that decides what is made of a legume sown with the corn, for `Site.once`."""
        of_legume = self.legume.model_dump_json(), self.cool_nights, self.goal
        return (*self.of_corn, *of_legume, self.rows, self.bearing, self.corn_yield)

    def standing(self, together: bool) -> float:
        """Dry matter that the goal takes, kg/ha."""
        return self.goal.standing(self.corn_yield, corn_kept(together, self.rows).middle)


def asking(
    site: Site,
    corn: Crop,
    legume: Crop,
    seeding: int,
    chosen: Sequence[str | int],
    goal: str | None,
    store: str,
    rows: str,
    bearing: float,
    seen: str | None,
    corn_yield: float,
    frost: str,
    cool_nights: bool | None,
    first: int,
    last: int,
) -> Asked:
    """The question, checked."""
    choose("rows", rows, growth.ROWS)
    if first > last:
        raise SettingError(f"The first sowing day, {words(first)}, is after the last, {words(last)}.", "Swap them.")
    if not column(3, 1) <= seeding <= column(7, 31):
        raise SettingError(f"Corn seeded on {words(seeding)} is no crop here.", "Give a day from 1 March to 31 July.")
    if not 0 < corn_yield <= 60:
        raise SettingError(
            f"A corn yield of {corn_yield:g} t/ha is outside 0 to 60.", "Give dry matter in tonnes a hectare."
        )
    if legume.kind != "legume":
        raise SettingError(f"{legume.name} is no legume.", "Name one, such as forage-late.")
    collar = ways.seen(seen)
    if collar is not None and tuple(chosen) == ways.WAYS:  # nobody named them: those that are past are left out
        chosen = [one for one in chosen if str(one)[:1] != "v" or int(str(one)[1:]) >= collar.collar]
    found = ways.checked(chosen, corn)
    least = min((one.after for one in found if one.after is not None), default=0)
    days = np.arange(min(first, seeding + least, seeding), max(last, seeding) + 1)
    return Asked(
        corn, legume, int(seeding), found, goal_of(goal), wanted(store), rows, float(bearing), collar, frost,
        cool_nights, float(corn_yield), days, site.latitude,
    )  # fmt: skip


@dataclass(frozen=True)
class Sweep:
    """The legume sown on every day, with the corn or into corn that stands. [row, sowing day]

    field : its light, and the heat of its corn; grown : see `growth.Grown`; together : the corn is sown with it
    corn_sown : int [sowing day] or [1]
    of : the corn's days for those; made : bool, it makes what is wanted; fit : bool, the corn comes fit into the store
    """

    field: Field
    grown: Grown
    together: bool
    corn_sown: Ints
    of: CornDays
    made: Mask
    fit: Mask

    @property
    def yes(self) -> Mask:
        """It makes what is wanted, and corn that was sown with it is fit too."""
        return self.made & self.fit if self.together else self.made

    def some(self, which: Ints) -> "Sweep":
        """Some of the rows."""
        grown = self.grown
        parts = {name: getattr(grown, name)[which] for name in ("up", "killed", "chop")}
        fewer = replace(grown, **parts, alone=grown.alone[:, which])
        return replace(
            self,
            field=self.field.some(which),
            grown=fewer,
            of=_of(self.of, which),
            made=self.made[which],
            fit=self.fit[which],
        )


def _of(of: CornDays, part: Any) -> CornDays:
    """Some rows or sowings of the corn's days."""
    stages = {name: day[part] for name, day in of.stages.items()}
    return CornDays(stages, *(day[part] for day in (of.closed, of.browned, of.killed, of.fit, of.chop)))


def field_of(tmin: NDArray[np.int16], tmax: NDArray[np.int16], asked: Asked) -> Field:
    """Light and heat of each row."""
    return growth.field(
        tmin,
        tmax,
        asked.corn,
        asked.legume,
        asked.latitude,
        frost=asked.frost,
        rows=asked.rows,
        bearing=asked.bearing,
    )


def standing(of: Field, asked: Asked) -> Field:
    """The same, for corn of the seeding day that was seen at a collar."""
    return replace(of, heat=ways.seen_heat(of.corn, of.heat, asked.seeding, asked.seen))


class Stand(NamedTuple):
    """Corn seeded on each of several days.

    seeded : int [seeding day]; days : of it; fit : bool [row, seeding day], it comes fit into the store
    """

    seeded: Ints
    days: CornDays
    fit: Mask


def stand(of: Field, asked: Asked, seeded: Ints) -> Stand:
    """Corn seeded on these days, as the legume under it finds it."""
    corn, store, place = asked.corn, asked.store, asked.latitude
    days = corn_days(of.tmin, of.tmax, corn, seeded, store, place, frost=asked.frost)
    return Stand(seeded, days, made_it(of.tmin, of.tmax, fit_plan(corn, store, place, frost=asked.frost), seeded))


def sown_with(of: Field, asked: Asked) -> Stand:
    """Corn seeded on every day from which a legume sown on the days asked for is as far as was asked."""
    first, last = int(asked.days[0]), int(asked.days[-1])
    return stand(of, asked, np.arange(first - asked.afters[-1], last - asked.afters[0] + 1))


def with_corn(of: Field, asked: Asked, corn: Stand) -> dict[int, Sweep]:
    """The legume sown with the corn on every day, by each distance asked for. corn : see `sown_with`"""
    days, seeded = asked.days, corn.seeded
    # Sown beyond the days asked for, a legume is only carried along: the same corn serves every distance.
    sown = [np.clip(seeded + after, 0, END) for after in asked.afters]
    out: dict[int, Sweep] = {}
    for after, grown in zip(asked.afters, growth.grow(of, sown, seeded, corn.days), strict=True):
        first = int(days[0]) - after - int(seeded[0])
        at = np.s_[:, first : first + days.size]
        mine = Grown(days, grown.up[at], grown.killed[at], grown.chop[at], grown.alone[:, *at])
        out[after] = Sweep(
            of, mine, True, days - after, _of(corn.days, at), _makes(of, asked, mine, True), corn.fit[at]
        )
    return out


def into(of: Field, asked: Asked) -> Sweep:
    """The legume sown on every day into the corn of the seeding day. of : see `standing`"""
    seeded, corn, fit = stand(of, asked, np.array([asked.seeding]))
    into_it = [one for one in asked.ways if not one.together]
    days = [ways.sown_on(one, asked.seeding, of.corn, of.heat, corn, asked.seen).ravel() for one in into_it]
    needed = np.concatenate([[asked.seeding, asked.days[-1]], *days])  # those of the table, and of every way
    needed = needed[needed <= max([REACH, *(one.day for one in into_it if one.day is not None)])]
    sown = np.arange(int(needed.min()), int(needed.max()) + 1)
    (grown,) = growth.grow(of, [sown], seeded, corn)
    return Sweep(of, grown, False, seeded, corn, _makes(of, asked, grown, False), fit)


def _makes(of: Field, asked: Asked, grown: Grown, together: bool) -> Mask:
    """Whether it makes what is wanted by the chop, at the middle of what is known. [row, sowing day]"""
    if asked.goal.unit != VEGETATIVE:
        return np.asarray(grown.alone[0] * np.float32(growth.factors(asked.rows)[1]) >= asked.standing(together))
    stages = stage_days(of.tmin, of.tmax, _whole(asked), grown.sown)
    vegetative = _vegetative(asked, stages, grown)
    if vegetative is None:
        raise SettingError(
            f"{asked.legume.name} can't count days vegetative: its first flower is not known here.",
            "Give the latitude, and a bean with a stage 'first_flower'.",
        )
    return np.asarray(vegetative >= asked.goal.amount)


def _whole(asked: Asked) -> Plan:
    """Every stage of the legume."""
    return whole_plan(asked.legume, asked.latitude, frost=asked.frost, cool_nights=asked.cool_nights)


def _vegetative(asked: Asked, stages: Floats, grown: Grown) -> Floats | None:
    """Days from emergence to first flower, killing frost or chop; None where flowering is not known."""
    names = [stage.name for stage in _whole(asked).stages]
    if "first_flower" not in names:
        return None
    until = np.minimum(stages[..., names.index("first_flower")], np.minimum(grown.killed, grown.chop))
    return np.where(np.isfinite(grown.up), np.maximum(until - np.minimum(grown.up, END), 0), 0)


class Open(NamedTuple):
    """The legume sown alone: its killing frost [row, sowing day], and its stages [row, sowing day, stage]."""

    killed: Floats
    stages: Floats


def sown_alone(of: Field, asked: Asked, sown: Ints) -> Open:
    """What a legume does that has no corn over it."""
    return Open(growth.frosted(of, sown), stage_days(of.tmin, of.tmax, _whole(asked), sown))


class Central:
    """What people read of a sweep, over the rows that are counted, at the climate's central move.

    weight : int [row], how often each is counted; alone : of the same sowings
    """

    def __init__(self, asked: Asked, sweep: Sweep, weight: Ints, alone: Open):
        self.sweep, self.weight, of = sweep, weight, sweep.field
        grown = sweep.grown
        self.alone = grown.alone
        self.killed_open, stages = alone
        sole = growth.in_the_open(of, grown, self.killed_open)
        self.of_sole = np.divide(grown.alone[0], sole, out=np.zeros_like(sole), where=sole > 0)
        self.light = growth.light_share(of, grown, sweep.corn_sown)
        self.vegetative = _vegetative(asked, stages, grown)
        names = [stage.name for stage in _whole(asked).stages]
        self.flower = stages[..., names.index("first_flower")] if "first_flower" in names else None
        shown = [n for n, name in enumerate(names) if name not in NOT_STAGES]
        titles = [StageName(names[n], asked.legume.stage[names[n]].title) for n in shown]
        if "first_flower" in names and titles:
            titles[0] = STILL_VEGETATIVE
        self.stage_names = [NOT_UP, *titles]
        order = stages[..., shown]
        self.stage_at_chop = _latest(order, np.minimum(grown.chop, grown.killed))
        self.stage_at_frost = _latest(order, np.minimum(grown.killed, END))

    def commonest(self, stage: Ints) -> list[StageName]:
        """The stage of most possible seasons. int [row, ...] -> one for each of the others"""
        counts = [(np.where(stage == n, 1, 0) * self.weight[:, None]).sum(0) for n in range(len(self.stage_names))]
        return [self.stage_names[n] for n in np.argmax(counts, axis=0)]


class Counted(NamedTuple):
    """A sweep, counted.

    made : `Sweep.made` of every row; central : what people read of it; yes : of `Sweep.yes` by sowing day
    columns : of the table of sowing days
    """

    made: Mask
    central: Central
    yes: Share
    columns: list[Column]


def _latest(order: Floats, until: Floats) -> Ints:
    """Number of the stage that came last by a day, 0 for none. order : day of each stage [row, sowing day, stage]"""
    came = np.where(order <= until[..., None], order, -1.0)
    return np.where(came.max(-1) < 0, 0, came.shape[-1] - came[..., ::-1].argmax(-1))


@dataclass(frozen=True)
class Cells:
    """One way to sow, as cells of its sweep.

    sown : float [end, row], the legume's day at each end of what is published of the corn's clock
    part : int [end], parts of 10; at : int [end, row], places among the sweep's days; there : bool [end, row]
    made : bool [row], at the middle end
    """

    sown: Floats
    part: Ints
    at: Ints
    there: Mask
    made: Mask

    @property
    def middle(self) -> int:
        """The middle end."""
        return len(self.part) // 2

    def pick(self, array: NDArray[Any], which: Ints, absent: float = 0.0) -> NDArray[Any]:
        """Values of a sweep [row counted, sowing day] at its cells. -> [end, row counted]"""
        at, there = self.at[:, which], self.there[:, which]
        return np.where(there, array[np.arange(array.shape[0]), at], absent)


def cells(of: Way, asked: Asked, into: Sweep, days: Ints, made: Mask) -> Cells:
    """A way to sow on its sweep.

    into : the sweep into standing corn, whose clock says when a collar comes
    days, made : of the way's own sweep, int [sowing day] and bool [row, sowing day]
    """
    sown = ways.sown_on(of, asked.seeding, into.field.corn, into.field.heat, into.of, asked.seen)
    first = int(days[0])
    there = np.isfinite(sown) & (sown >= first) & (sown < first + days.size)
    at = np.where(there, sown - first, 0).astype(np.int64)
    part = np.asarray(facts()["weights"]["ends"]["value"]) if len(sown) == 3 else np.array([1])
    middle = len(sown) // 2
    makes = made[np.arange(sown.shape[1]), at[middle]] & there[middle]
    return Cells(sown, part, at, there, makes)


def collars_on(of: Field, days: Ints, seeded: Ints) -> Floats:
    """Collars of corn on each day, by the middle of what is published. [row, day]"""
    collars = of.corn.collars
    assert collars is not None
    turn = FAHRENHEIT if collars.early.unit == "degree days F" else 1.0
    heat = turn * (of.heat[:, days + 1] - of.heat[:, seeded + 1]).astype(float)
    up = of.corn.stage[collars.since].need.value
    return collars_at(of.corn, np.where(heat > up, up + (heat - up) / ways.collar_ends()[1], heat))
