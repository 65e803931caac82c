"""The fields of a farm's settings file as answers stand on them: each with its record, low spot, crops and book."""

from pathlib import Path
from typing import Any

from frostkit.answers.season.back import Grown
from frostkit.answers.season.book import Book, Told, beside, read_book, told
from frostkit.answers.season.seen import Observed
from frostkit.answers.season.tonight import Field
from frostkit.answers.season.winter import Planned
from frostkit.crops.entry import Crop, load as entry
from frostkit.ensemble.site import Site
from frostkit.records.field import compare, low_spot
from frostkit.records.logger import read_logger
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import from_code
from frostkit.show.commands.options import SPAN, open_record
from frostkit.show.farm import Farm, OneField, Place, found, load


def grown(path: str | Path, names: tuple[str, ...] = ()) -> dict[str, Grown]:
    """The fields of a farm by name, or some of them; each record is opened once. Raises as opening them does."""
    farm, folder = load(path), Path(path).resolve().parent
    records: dict[str, Record] = {}
    out = {}
    for name, of in farm.field.items():
        if names and name not in names:
            continue
        out[name] = _grown(farm, of, folder, records)
    return out


def _grown(farm: Farm, of: OneField, folder: Path, records: dict[str, Record]) -> Grown:
    place = farm.place.get(of.place or "", Place())
    key = of.place or ""
    if key not in records:
        records[key] = open_record(found(place.record, folder), place.input_units)
    record = records[key]
    at = None
    if place.latitude is not None and place.longitude is not None:
        at = Station("field", "field", place.latitude, place.longitude)
    seasons = None if place.seasons is None else SPAN.convert(place.seasons, None, None)
    return Grown(
        Site(record, at, _offset(of, record, folder), only=seasons),
        _crop(of.corn, folder),
        _crop(of.legume, folder),
        of.after,
        of.store or "bunker",
        None if of.seeding is None else from_code(of.seeding),
    )


def _crop(text: str, folder: Path) -> Crop | None:
    return None if text.lower() == "none" else entry(found(text, folder) or text)


def _offset(of: OneField, record: Record, folder: Path) -> Any:
    if of.logger is not None:
        return compare(record, read_logger(found(of.logger, folder) or of.logger, of.logger_units).record)
    return None if of.colder_by is None else low_spot(of.colder_by, clear_nights_only=not of.all_nights)


def book_of(farm: str | Path | None, path: str | Path | None = None) -> Book | None:
    """The book that is named, else the one beside the farm's settings file; None where there is none."""
    names = None if farm is None else tuple(load(farm).field)
    where = Path(path) if path is not None else None if farm is None else beside(farm)
    return None if where is None else read_book(where, names)


def as_told(book: Book | None, name: str, season: int, until: int) -> Told:
    """What a book tells of a field's season until a day, that day included; nothing where there is none."""
    return Told() if book is None else told(book.of(name, season), until)


def tonight_fields(fields: dict[str, Grown], book: Book | None, season: int, today: int) -> dict[str, Field]:
    """Each field as it stands tonight: sown and seen as the book tells, else sown as the farm plans."""
    out = {}
    for name, of in fields.items():
        known = as_told(book, name, season, today)
        seen = known.seen if known.seeding is not None else Observed()
        out[name] = Field(of, of.seeding if known.seeding is None else known.seeding, known.legume_seeding, seen)
    return out


def planned(path: str | Path) -> dict[str, Planned]:
    """The fields of a farm as the winter page plans them: with the insurer's day and their area."""
    farm = load(path)
    return {
        name: Planned(
            of,
            None if farm.field[name].not_after is None else from_code(str(farm.field[name].not_after)),
            farm.field[name].area_ha,
        )
        for name, of in grown(path).items()
    }
