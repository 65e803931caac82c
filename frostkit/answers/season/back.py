"""Looking back in the book: what the odds said on each day, and what happened, over fields and seasons."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, CropName, Says, Table, counted
from frostkit.answers.cautions import cautions_for
from frostkit.answers.corn import is_silage
from frostkit.answers.season.after import FIT, Sown, stand
from frostkit.answers.season.book import KINDS, Book, Told, told
from frostkit.answers.season.calibrate import Calibrated, calibrate
from frostkit.answers.season.seen import Observed
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import Crop
from frostkit.ensemble.pin import pin
from frostkit.ensemble.site import Site
from frostkit.errors import FrostkitError
from frostkit.seasons.calendar import SEASON_END, column

LOOKS = tuple(column(month, 1) for month in (6, 7, 8, 9))  # days on which the odds are asked again
LAST = column(*SEASON_END)


@dataclass(frozen=True)
class Grown:
    """A field as the farm knows it. site : where it lies; corn, legume : entries; store : where its silage goes"""

    site: Site
    corn: Crop | None
    legume: Crop | None = None
    after: int = 0
    store: str = "bunker"
    seeding: int | None = None


@dataclass(frozen=True)
class Look:
    """What was said on one day, and what happened: early, usual, late, fit are columns.

    before : share of killing frosts before it was fit; sampled : whether a dried sample tells when it was fit
    """

    field: str
    season: int
    on: int
    early: float
    usual: float
    late: float
    killed: float
    fit: float
    sampled: bool

    @property
    def held(self) -> bool | None:
        """Whether it was fit within the days that were said; None where they had no end or it is not known."""
        if not isfinite(self.fit):
            return None
        return self.early <= self.fit <= self.late


def book(read: Book, fields: Mapping[str, Grown]) -> Answer:
    """What stands in a book, what the odds said in its seasons, what happened, and what its samples say of a hybrid.

    Parameters
    ----------
    read : the book; fields : by name, as the farm knows them

    Raises
    ------
    FrostkitError
        Never for a season that can't be looked back on: it is left out, and counted.
    """
    looks: list[Look] = []
    left_out = 0
    for name in read.fields():
        if name not in fields or fields[name].corn is None:
            continue
        for season in read.seasons(name):
            try:
                looks += look_back(read, name, season, fields[name])
            except FrostkitError:
                left_out += 1
    needs = _needs(read, fields)
    settled = [one for one in looks if one.held is not None]
    held = sum(1 for one in settled if one.held)
    chopped = sum(1 for one in read.entries if one.what == "chopped")
    at = {
        "lines": len(read.entries),
        "fields": len(read.fields()),
        "seasons": len({one.season for one in read.entries}),
        "held": held,
        "asked": len(settled),
        "chopped": chopped,
    }
    key = "empty" if not read.entries else "held" if settled else "told"
    said = [_need_said(one) for one in needs]
    if left_out:
        said.append(Says("left_out", {"seasons": left_out}))
    unknown = [name for name in read.fields() if name not in fields]
    if unknown:
        said.append(Says("unknown", {"fields": unknown}))
    site = next(iter(fields.values())).site if fields else None
    return Answer(
        "book",
        Says(key, at),
        tuple(said),
        {
            **at,
            "file": read.path.name,
            "needs": [_need_values(one) for one in needs],
            "left_out": left_out,
            "unknown_fields": unknown,
        },
        (_entries_table(read), _looks_table(looks), _needs_table(needs)),
        cautions_for("local"),
        site,
        {},
        next=Says("do_note"),
    )


def look_back(read: Book, name: str, season: int, field: Grown) -> list[Look]:
    """The odds as they would have been said on each day of a season, with what the book told by then."""
    entries = read.of(name, season)
    whole = told(entries, LAST)
    assert field.corn is not None
    if whole.seeding is None or not is_silage(field.corn):
        return []
    end = min(whole.chopped if whole.chopped is not None else LAST, LAST)
    fit = _was_fit(field, whole, season, end)
    out = []
    for on in LOOKS:
        if not whole.seeding < on <= min(end, fit):  # a day after it was fit asks nothing
            continue
        known = told(entries, on - 1)
        rows = pin(field.site, season, on, shifts=0)
        if not rows.known[whole.seeding + 1 :].any():
            continue
        of = _sown(field, known)
        found = stand(rows, of, field.site.latitude)
        line = next(line for line in found.lines if line.stage.name == FIT)
        killed = counted(rows, (found.corn_killed <= line.on) & (found.corn_killed >= on))
        out.append(Look(name, season, on, *line.all, float(killed.share), fit, whole.seen.moisture is not None))
    return out


def _sown(field: Grown, known: Told, seen: Observed | None = None) -> Sown:
    assert known.seeding is not None
    legume = known.seeding + field.after if known.legume_seeding is None else known.legume_seeding
    seen = known.seen if seen is None else seen
    return Sown(field.corn, None, known.seeding, legume, wanted(field.store), seen)


def _was_fit(field: Grown, whole: Told, season: int, end: int) -> float:
    """The day on which the field came into its store's range, by its own weather and what was seen of it."""
    rows = pin(field.site, season, min(end + 1, LAST), shifts=0)
    line = next(line for line in stand(rows, _sown(field, whole), field.site.latitude).lines if line.stage.name == FIT)
    own = np.unique(rows.own, return_index=True)[1]
    days = line.on[own]
    day = float(np.median(days)) if np.isfinite(days).all() else float("inf")
    return day if day <= end else float("inf")  # chopped before it was fit: not known


def _needs(read: Book, fields: Mapping[str, Grown]) -> list[Calibrated]:
    """Each hybrid that was sampled, by the samples of all fields of it at one station."""
    found = []
    for crop in {
        one.corn.name: one.corn for one in fields.values() if one.corn is not None and is_silage(one.corn)
    }.values():
        names = [name for name, one in fields.items() if one.corn is not None and one.corn.name == crop.name]
        of = calibrate(fields[names[0]].site, crop, read, names)
        if of is not None:
            found.append(of)
    return found


def _need_values(of: Calibrated) -> dict[str, object]:
    low, high = of.band
    return {
        "corn": of.crop.name,
        "entry": Amount(of.entry, of.unit),
        "need": round(of.need, 1),
        "low": round(low, 1),
        "high": round(high, 1),
        "unit": of.unit,
        "samples": len(of.samples),
        "observed_spread": round(of.observed, 1) if of.observed == of.observed else None,
    }


def _need_said(of: Calibrated) -> Says:
    low, high = of.band
    return Says(
        "need" if len(of.samples) > 1 else "need_one",
        {
            "corn": CropName(of.crop.name, of.crop.title),
            "need": Amount(of.need, of.unit),
            "low": Amount(low, of.unit),
            "high": Amount(high, of.unit),
            "entry": Amount(of.entry, of.unit),
            "samples": len(of.samples),
        },
    )


def _entries_table(read: Book) -> Table:
    """What stands in the book, in the order of days."""
    of = read.entries
    return Table(
        "entries",
        Column("on", "date", [np.datetime64(one.on) for one in of]),
        (
            Column("field", "text", [one.field for one in of]),
            Column("what", "text", [one.what for one in of], shown=False),
            Column("said", "term", [f"book_{one.what}" for one in of]),
            Column("value", "number", [one.value for one in of]),
            Column("unit", "text", [KINDS[one.what].units[0][0] if one.value is not None else "" for one in of]),
            Column("crop", "text", [one.crop for one in of], shown=any(one.crop for one in of)),
            Column("note", "text", [one.note for one in of], shown=any(one.note for one in of)),
            Column("line", "number", [float(one.line) for one in of], shown=False),
        ),
    )


def _looks_table(looks: Sequence[Look]) -> Table:
    """A row a day on which the odds were asked: what they said, and what happened."""
    return Table(
        "looks",
        Column("day", "day", [float(one.on) for one in looks]),
        (
            Column("season", "season", [one.season for one in looks]),
            Column("field", "text", [one.field for one in looks]),
            Column("early", "day", [one.early for one in looks]),
            Column("usual", "day", [one.usual for one in looks]),
            Column("late", "day", [one.late for one in looks]),
            Column("killed_before", "part", [one.killed for one in looks]),
            Column("fit", "day", [one.fit for one in looks]),
            Column("how", "term", ["book_by_sample" if one.sampled else "season_by_heat" for one in looks]),
            Column("held", "flag", [bool(one.held) for one in looks]),
        ),
    )


def _needs_table(needs: Sequence[Calibrated]) -> Table:
    """A row a sampled field-season of each hybrid."""
    rows = [(of, one) for of in needs for one in of.samples]
    return Table(
        "samples",
        Column("season", "season", [one.season for _, one in rows]),
        (
            Column("field", "text", [one.field for _, one in rows]),
            Column("corn", "crop", [CropName(of.crop.name, of.crop.title) for of, _ in rows]),
            Column("on", "day", [float(one.day) for _, one in rows]),
            Column("moisture", "amount", [one.moisture for _, one in rows], "%", 1),
            Column("gathered", "amount", [one.gathered for _, one in rows], rows[0][0].unit if rows else "CHU"),
            Column("need", "amount", [one.need for _, one in rows], rows[0][0].unit if rows else "CHU"),
        ),
    )
