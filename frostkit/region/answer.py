"""The window of every place of a block: the rules of a single station's answer, by rows of all places at once.

Where a place has holes, or its seasons are moved into today's climate, its own possible seasons are made as for a
single station; where a whole block is as read and without holes, its seasons are the rows and no draw is needed.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import checked_odds, counted
from frostkit.answers.plans import needs_latitude
from frostkit.answers.seeding.grids import FIRST, LAST, LATE, NEEDS, SOON, Asked, Grids, asking, grids, with_need
from frostkit.answers.seeding.window import NEED_RANGE
from frostkit.crops.entry import Crop, load
from frostkit.ensemble.site import AS_READ, NORTHERNMOST, TODAY, Ensemble, Site
from frostkit.ensemble.today import next_season
from frostkit.errors import FrostkitError, SettingError, choose
from frostkit.odds.share import Share, share
from frostkit.records.record import Record, Station
from frostkit.region import kernel, store
from frostkit.region.further import FURTHER, Asks, further, variables
from frostkit.region.kernel import WHOLE_ROWS
from frostkit.region.places import Block, Cells, Place
from frostkit.region.store import Days, Spots
from frostkit.seasons.calendar import MISSING, words
from frostkit.seasons.windows import waited

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]
CROPS = ("corn", "legume", "both")
PARTS = ("share", "low", "high", "yes", "no", "not_known", "seasons", "count", "ready", "plan")
"""Variables over (place, crop, seeding): how often it made it, with its interval and counts; ready, plan: shares."""
COUNTS = ("yes", "no", "not_known", "seasons", "count")
ENDS = ("window_from", "window_to", "core_from", "core_to", "fringe_from", "fringe_to", "ready_usual", "ready_late")
"""Variables over place: columns of the season, NaN where no day reaches the odds."""
SPAN = ("first_season", "last_season", "counted", "complete")
"""Variables over place: the seasons counted, from and to, how many, and how many of them read without a hole."""
TEXTS = ("name", "note", "station", "corn", "legume", "store")
SPOTS = ("latitude", "longitude", "height", "distance", "height_above")


@dataclass(frozen=True)
class Question:
    """What is asked of every place; a place's own crops and store go before these.

    corn, legume : entries or None; odds : wanted; after, store, apart, late_planting, not_after : as for one station
    climate, for_season : as for `Site`
    also : questions of `further` asked of each place beside; seeding : the corn's seeding day for these, a column
    """

    corn: Crop | None
    legume: Crop | None
    odds: float = 0.8
    after: int = 0
    store: str = "bunker"
    apart: bool = False
    late_planting: bool = False
    not_after: int | None = None
    climate: str = TODAY
    for_season: int | None = None
    first: int = FIRST
    last: int = LAST
    also: tuple[str, ...] = ()
    seeding: int | None = None

    def checked(self) -> "Question":
        """The same; raises `SettingError` for what no place could be asked."""
        checked_odds(self.odds)
        self.asked(_anywhere(), self.corn, self.legume, self.store)
        for name in self.also:
            choose("also", name, FURTHER)
        if self.seeding is not None and not self.first <= self.seeding <= self.last:
            raise SettingError(
                f"{words(self.seeding)} is not among the seeding days looked at.",
                f"Give a day from {words(self.first)} to {words(self.last)}.",
            )
        return self

    def asked(self, site: Site, corn: Crop | None, legume: Crop | None, store: str) -> Asked:
        """The question of one place."""
        return asking(
            site,
            corn,
            legume,
            after=self.after,
            store=store,
            first=self.first,
            last=self.last,
            apart=self.apart,
            late=self.late_planting,
        )

    @property
    def days(self) -> NDArray[np.int64]:
        """Seeding days looked at, columns."""
        return np.arange(self.first, self.last + 1)

    @property
    def season(self) -> int | None:
        """The season asked for; None where each place's own end says it."""
        return self.for_season if self.for_season is not None or self.climate == AS_READ else next_season()

    def says(self) -> dict[str, Any]:
        """What was asked, plain: two questions that say the same are the same."""
        return {
            "corn": None if self.corn is None else _known(self.corn),
            "legume": None if self.legume is None else _known(self.legume),
            "odds": self.odds,
            "after": self.after,
            "store": self.store,
            "apart": self.apart,
            "late_planting": self.late_planting,
            "not_after": self.not_after,
            "climate": self.climate,
            "for_season": self.season,
            "also": list(self.also),
            "seeding": self.seeding,
        }


def _known(crop: Crop) -> str:
    """An entry by name and content: one that was changed in between is another."""
    return f"{crop.name} {sha256(crop.model_dump_json().encode()).hexdigest()[:16]}"


def _anywhere() -> Site:
    """A place to check a question by: the middle of the prairie."""
    nothing = np.empty(0, np.float32)
    return Site(Record(Station("", "", 50.0, -100.0), np.datetime64("2000-01-01"), nothing, nothing))


Answers = dict[str, NDArray[Any]]
"""Variables of a block by name: `PARTS` [place, crop, seeding], `ENDS`, `SPAN`, `TEXTS` and `SPOTS` [place]."""


def empty(places: int, days: int, also: tuple[str, ...] = ()) -> Answers:
    """Answers of places of which nothing is known yet."""
    out: Answers = {}
    for name in PARTS:
        kind: Any = np.int16 if name in COUNTS else np.float32
        out[name] = np.full((places, len(CROPS), days), 0 if name in COUNTS else np.nan, kind)
    for name in (*ENDS, *SPOTS, *variables(also)):
        out[name] = np.full(places, np.nan)
    for name in SPAN:
        out[name] = np.zeros(places, np.int32)
    for name in TEXTS:
        out[name] = np.full(places, "", object)
    return out


def of_block(block: Block, question: Question) -> Answers:
    """The answers of a block's places; what could not be answered stands in `note`, place by place."""
    out = empty(len(block.places), question.days.size, question.also)
    if isinstance(block.places, Cells):
        _named(out, block.places.spots)
    kept: dict[Any, Any] = {}
    left = _together(block, question, out)
    if question.also:
        for number in sorted(set(range(len(block.places))) - set(left)):
            site = block.places[number].site
            assert site is not None  # it has been answered
            asked = question.asked(site, question.corn, question.legume, question.store)
            _put(out, number, _further(site, asked, question))
    for number in left:
        place = block.places[number]
        out["name"][number], out["note"][number], out["station"][number] = place.name, place.fault, place.station
        for name in SPOTS:
            out[name][number] = getattr(place, name)
        if place.site is None:
            continue
        try:
            _one(out, number, place, place.site, question, kept)
        except FrostkitError as fault:
            out["note"][number] = " ".join(fault.what.split())
    return out


def _named(out: Answers, spots: Spots) -> None:
    """Where the cells of a grid lie."""
    out["name"][:] = out["station"][:] = spots.name
    for name in store.SPOTS:
        out[name][:] = getattr(spots, name)


# --- a place by itself -----------------------------------------------------------------------------------------------


def _one(out: Answers, number: int, place: Place, site: Site, question: Question, kept: dict[Any, Any]) -> None:
    """A place's own answer; fields of one station and one question are worked out once."""
    corn, legume = own_crop(place.corn, question.corn), own_crop(place.legume, question.legume)
    store = place.store or question.store
    asked = question.asked(site, corn, legume, store)
    at = site.latitude if by_latitude(asked) or "late-legume" in question.also else None
    key = (id(site.record), corn and corn.name, legume and legume.name, store, at)
    _told(out, number, corn, legume, store)
    if key not in kept or site.record.tmin.size == 0:
        rows = kept.get(id(site.record)) if site.record.tmin.size else None
        rows = site.ensemble(NEEDS) if rows is None else rows
        kept[id(site.record)] = rows
        kept[key] = _of_rows(rows, asked, question)
        kept[key] |= _further(site, asked, question)
    _put(out, number, kept[key])


def _further(site: Site, asked: Asked, question: Question) -> Mapping[str, float]:
    """What is asked of a place beside its window."""
    return further(question.also, Asks(site, asked, question.odds, question.seeding))


def _put(out: Answers, number: int, values: Mapping[str, Any]) -> None:
    """The variables of one place."""
    for name, value in values.items():
        out[name][number] = value


def by_latitude(asked: Asked) -> bool:
    """Whether two places of the same days may differ: a crop goes by day length, or the legume by the corn's shade."""
    return asked.together or any(crop is not None and needs_latitude(crop) for crop in (asked.corn, asked.legume))


def own_crop(named: str | None, asked: Crop | None) -> Crop | None:
    """A place's own crop by name, "none" where it has none; the one asked for where it names none."""
    return asked if named is None else None if named.lower() == "none" else load(named)


def _told(out: Answers, number: int | slice, corn: Crop | None, legume: Crop | None, store: str) -> None:
    out["corn"][number] = "" if corn is None else corn.name
    out["legume"][number] = "" if legume is None else legume.name
    out["store"][number] = store


def _of_rows(rows: Ensemble, asked: Asked, question: Question) -> dict[str, Any]:
    """Every variable of one place."""
    found = grids(rows, asked)
    days, every = asked.days, rows.index.size
    out = {name: values[0] for name, values in empty(1, days.size).items() if name in (*PARTS, *ENDS, *SPAN)}
    for name, made in found.made.items():
        at = CROPS.index(name)
        of = counted(rows, made)
        for part in ("share", "low", "high", "yes", "no", "not_known", "count"):
            out[part][at] = getattr(of, part)
        out["seasons"][at] = of.seasons
        out["ready"][at] = found.fit[name][rows.index].sum((0, 1)) / every
        out["plan"][at] = found.plan[name][rows.index].sum((0, 1)) / every
    totals = {key: mask[rows.index].sum((0, 1), dtype=np.int64)[None] for key, mask in _masks(rows, asked, found)}
    fit = found.fit[asked.subject][rows.index].reshape(1, every, days.size)
    out |= {name: values[0] for name, values in _ends(totals, _from_masks(fit, days), every, question, days).items()}
    return out | dict(
        zip(SPAN, (rows.seasons[0], rows.seasons[-1], rows.seasons.size, rows.complete.sum()), strict=True)
    )


def _masks(rows: Any, asked: Asked, found: Grids) -> list[tuple[str, Mask]]:
    """What windows are decided by: bool [row, seeding day] by name, for the need itself and both ends of its range."""
    subject = asked.subject
    fit = found.fit[subject]
    out = [("fit", fit), ("made", found.made[subject]), ("plan", found.plan[subject])]
    if has_range(asked):
        for end, more in (("core", NEED_RANGE), ("fringe", -NEED_RANGE)):
            mine = with_need(rows, asked, found, more)
            out += [(f"made_{end}", mine), (f"plan_{end}", waited(mine, fit))]
    return out


def has_range(asked: Asked) -> bool:
    """Whether the corn's need has a range, so that the window has a core and a fringe of its own."""
    if asked.corn is None:
        return False
    need = asked.corn.goal_need()
    return need.unit == "CHU" and need.value > NEED_RANGE


def _ends(
    totals: dict[str, NDArray[np.int64]],
    came: Callable[[NDArray[np.int64]], Floats],
    every: int,
    question: Question,
    days: NDArray[np.int64],
) -> dict[str, Floats]:
    """Windows of places and the days on which the soil is ready. totals : int [place, seeding day]

    came : first fit day of every possible season from a place among the seeding days on, [place] -> [place, season]
    every : possible seasons of a place
    """
    allowed = np.ones(days.size, bool) if question.not_after is None else days <= question.not_after
    soon = _reached(totals["fit"], every, SOON)
    since = soon.argmax(1)
    out: dict[str, Floats] = {}
    for name, tail in (("window", ""), ("core", "_core"), ("fringe", "_fringe")):
        tail = tail if f"made{tail}" in totals else ""
        made = _reached(totals[f"made{tail}"], every, question.odds) & allowed
        planned = _reached(totals[f"plan{tail}"], every, question.odds)
        first, last = windows(soon & planned & allowed, made)
        there = last >= 0
        since = np.where(there, first, since) if name == "window" else since
        for end, place in (("from", first), ("to", last)):
            out[f"{name}_{end}"] = np.where(there, days[np.maximum(place, 0)], np.nan)
    in_order = np.sort(came(since), axis=1)
    for name, odds in (("ready_usual", 0.5), ("ready_late", LATE)):
        day = in_order[:, max(int(np.ceil(odds * every - 1e-9)) - 1, 0)]
        out[name] = np.where(np.isfinite(day), day, np.nan)
    return out


def _from_masks(fit: Mask, days: NDArray[np.int64]) -> Callable[[NDArray[np.int64]], Floats]:
    """First fit days from a place on. fit : bool [place, season, seeding day]"""

    def came(since: NDArray[np.int64]) -> Floats:
        later = fit & (np.arange(days.size) >= since[:, None, None])
        return np.where(later.any(-1), days[later.argmax(-1)].astype(float), np.inf)

    return came


def _from_bits(fits: kernel.Bits, days: NDArray[np.int64]) -> Callable[[NDArray[np.int64]], Floats]:
    """The same from bits of the fit days. fits : uint64 [place, season, 2]"""

    def came(since: NDArray[np.int64]) -> Floats:
        place = kernel.first_fit(fits, since)
        return np.where(place < days.size, days[np.minimum(place, days.size - 1)].astype(float), np.inf)

    return came


def _reached(total: NDArray[np.int64], every: int, odds: float) -> Mask:
    """Whether so many of `every` possible seasons are the odds; never by rounding."""
    return np.asarray(total >= odds * every - 1e-9)


def windows(starts: Mask, made: Mask) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First and last place of the window of each row; last -1 where there is none. bool [place, seeding day]

    From the first start to the end of the first run of `made` that ends no earlier.

    >>> windows(np.array([[False, True, False, False]]), np.array([[True, True, True, False]]))
    (array([1]), array([2]))
    """
    size = made.shape[1]
    at = np.arange(size)
    first = np.where(starts.any(1), starts.argmax(1), size)
    after = made & (at >= first[:, None])
    run = np.where(after.any(1), after.argmax(1), size)
    ended = ~made & (at > run[:, None])
    last = np.where(ended.any(1), ended.argmax(1), size) - 1
    return np.minimum(first, size - 1), np.where(run < size, last, -1)


# --- a block at once -------------------------------------------------------------------------------------------------


def _together(block: Block, question: Question, out: Answers) -> list[int]:
    """Answers all places of a grid's block that need no draws; the numbers of those that are left."""
    every = list(range(len(block.places)))
    if block.days is None or question.climate != AS_READ or not isinstance(block.places, Cells):
        return every
    seasons = block.days.seasons
    past = slice(None) if question.for_season is None else seasons < question.for_season
    latitudes = block.places.spots.latitude
    whole = (block.days.tmin.min((1, 2)) != MISSING) & (block.days.tmax.min((1, 2)) != MISSING)  # nothing is lower
    whole &= np.isnan(latitudes) | ((latitudes >= 0) & (latitudes <= NORTHERNMOST))
    if not whole.any() or not seasons[past].size:
        return every
    asked = question.asked(_anywhere(), question.corn, question.legume, question.store)
    key = np.where(np.isnan(latitudes), -999.0, latitudes) if by_latitude(asked) else np.zeros(len(every))
    for one in np.unique(key[whole]):
        at = np.flatnonzero(whole & (key == one))
        some = slice(int(at[0]), int(at[-1]) + 1) if at[-1] - at[0] + 1 == at.size else at
        of = block.days
        days = Days(
            of.tmin[some][:, past], of.tmax[some][:, past], None if of.prcp is None else of.prcp[some][:, past],
            seasons[past],
        )  # fmt: skip
        if by_latitude(asked):
            asked = question.asked(block.places[int(at[0])].site, question.corn, question.legume, question.store)
        for name, values in of_whole(days, asked, question).items():
            out[name][some] = values
        for number in at:
            _told(out, int(number), question.corn, question.legume, question.store)
    return np.flatnonzero(~whole).tolist()


def of_whole(days: Days, asked: Asked, question: Question, compiled: bool = True) -> Answers:
    """Variables of places whose seasons were read without a hole and are counted as read: no draw, no shift.

    compiled : by `kernel` where the question is of its kind and there is enough to do; else by numpy alone
    """
    places, seasons = days.tmin.shape[:2]
    prcp = None if days.prcp is None or not (days.prcp != MISSING).any() else days.prcp
    more = (0.0, NEED_RANGE, -NEED_RANGE) if has_range(asked) else (0.0,)
    of = None
    if compiled and places * seasons >= WHOLE_ROWS:
        of = kernel.compiled(asked, more, prcp is not None)
    found, totals, came = _plainly(days, prcp, asked) if of is None else _compiled(of, days, asked)
    out = empty(places, asked.days.size)
    by_count = shares_by_count(seasons)
    for name, (made, fit, planned) in found.items():
        at = CROPS.index(name)
        for part in ("share", "low", "high", "yes", "no", "not_known", "count"):
            out[part][:, at] = getattr(by_count, part).astype(out[part].dtype)[made]
        out["seasons"][:, at] = seasons
        out["ready"][:, at], out["plan"][:, at] = fit / seasons, planned / seasons
    out |= _ends(totals, came, seasons, question, asked.days)
    span = days.seasons[0], days.seasons[-1], seasons, seasons
    for key, value in zip(SPAN, span, strict=True):
        out[key][:] = value
    return {name: values for name, values in out.items() if name in (*PARTS, *ENDS, *SPAN)}


Counts = dict[str, tuple[NDArray[Any], NDArray[Any], NDArray[Any]]]
"""Seasons that made it, in which the soil was fit, whose plan made it; int [place, seeding day], by crop."""


def _plainly(days: Days, prcp: NDArray[np.int16] | None, asked: Asked) -> tuple[Counts, dict[str, Any], Any]:
    """Counts by crop, totals for the windows, and when the soil was fit, by the kernels that every answer uses."""
    places, seasons = days.tmin.shape[:2]
    flat = [None if of is None else of.reshape(places * seasons, -1) for of in (days.tmin, days.tmax, prcp)]
    rows = _Rows(*flat)  # type: ignore[arg-type]
    grid = grids(rows, asked)  # type: ignore[arg-type]
    shape = (places, seasons, asked.days.size)

    def total(mask: Mask) -> NDArray[Any]:
        return mask.reshape(shape).sum(1, dtype=np.int32)

    found = {name: (total(grid.made[name]), total(grid.fit[name]), total(grid.plan[name])) for name in grid.made}
    totals = {key: total(mask) for key, mask in _masks(rows, asked, grid)}
    return found, totals, _from_masks(grid.fit[asked.subject].reshape(shape), asked.days)


def _compiled(of: kernel.Compiled, days: Days, asked: Asked) -> tuple[Counts, dict[str, Any], Any]:
    """The same by the compiled kernel."""
    counts, fits = kernel.counts(of, days.tmin, days.tmax)
    needs = of.goals.shape[1]
    names = CROPS if asked.subject == "both" else (asked.subject,)
    found = {name: (counts[:, at, 1], counts[:, at, 0], counts[:, at, 1 + needs]) for at, name in enumerate(names)}
    own = counts[:, len(names) - 1]
    totals = {"fit": own[:, 0]}
    for need, tail in enumerate(("", "_core", "_fringe")[:needs]):
        totals |= {f"made{tail}": own[:, 1 + need], f"plan{tail}": own[:, 1 + needs + need]}
    return found, totals, _from_bits(fits, asked.days)


@dataclass(frozen=True)
class _Rows:
    """Rows of seasons without the rest of an ensemble; int16 [row, 365]."""

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    prcp: NDArray[np.int16] | None


@lru_cache(maxsize=64)
def shares_by_count(seasons: int) -> Share:
    """The share of each count of yes, 0 to all, of so many seasons read without a hole. Share [count]"""
    yes = np.arange(seasons)[:, None] < np.arange(seasons + 1)
    return share(yes[None], np.ones(seasons, bool))
