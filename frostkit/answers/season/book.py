"""The field's book: what was done and seen, in a TOML or CSV that people write themselves.

Nothing that stands in the book is ever written again: an entry is added behind what is there, byte by byte the same,
and the new file takes the old one's place only once it is whole and reads as the old one with that entry.
"""

import csv
import io
import os
import re
import secrets
import tomllib
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, NamedTuple

from frostkit.answers.season.seen import Observed
from frostkit.answers.silage.drying import DRIEST, WETTEST
from frostkit.errors import SettingError, nearest
from frostkit.opening import LARGEST_TOML, contents
from frostkit.seasons.calendar import column

FAHRENHEIT = 1.8
SHORT_TONS = 0.90718474 / 0.40468564224  # t/ha in a short ton an acre, exact
NAMES = ("book.toml", "book.csv")
"""What a book beside the farm's settings file is called."""
COLUMNS = ("field", "on", "what", "value", "unit", "crop", "note")
NEEDED = ("field", "on", "what")
LONGEST = 200  # letters of a name or a note
FIRST_YEAR, LAST_YEAR = 1900, 2100


class Kind(NamedTuple):
    """One thing that a book may say.

    value : "none", "number" or "maybe"; low, high : what a number may be, in the first unit; units : allowed, with the
    factor and shift to the first
    """

    value: str
    low: float = 0.0
    high: float = 0.0
    units: tuple[tuple[str, float, float], ...] = (("", 1.0, 0.0),)


PERCENT = (("%", 1.0, 0.0),)
PPM = (("ppm", 1.0, 0.0),)
KINDS = {
    "sown": Kind("none"),
    "legume_sown": Kind("none"),
    "emerged": Kind("none"),
    "legume_emerged": Kind("none"),
    "collars": Kind("number", 1, 22),
    "silking": Kind("none"),
    "milk_line": Kind("number", 0, 1),
    "moisture": Kind("number", DRIEST, WETTEST, PERCENT),
    "frost": Kind("maybe", -20, 5, (("C", 1.0, 0.0), ("F", 1 / FAHRENHEIT, -32 / FAHRENHEIT))),
    "chopped": Kind("none"),
    "yield": Kind("number", 0.1, 60, (("t/ha", 1.0, 0.0), ("ton/ac", SHORT_TONS, 0.0))),
    "protein": Kind("number", 1, 40, PERCENT),
    "starch": Kind("number", 0, 60, PERCENT),
    "fibre": Kind("number", 10, 80, PERCENT),
    "nitrate": Kind("number", 0, 50_000, PPM),
    "soil_nitrate": Kind("number", 0, 500, PPM),
    "note": Kind("none"),
}
"""What a book may say: the feed test is `protein`, `starch`, `fibre` (NDF) and `nitrate` (NO3), of dry matter; the
spring soil test `soil_nitrate` (nitrate-nitrogen). Ranges are wide: beyond them is a slip of the hand."""
AFTER_SOWN = ("emerged", "collars", "silking", "milk_line", "moisture", "chopped", "yield")
ONCE = ("sown", "legume_sown", "emerged", "legume_emerged", "silking", "chopped")


@dataclass(frozen=True)
class Entry:
    """One line of a book.

    field : its name; on : the day; what : a key of `KINDS`
    value : in the first unit of its kind, None where it has none; crop : what was sown, an entry's name
    note : the user's own words; line : where it stands, 0 for one to be added
    typed, unit : the value as it was written
    """

    field: str
    on: date
    what: str
    value: float | None = None
    crop: str = ""
    note: str = ""
    line: int = 0
    typed: float | None = None
    unit: str = ""

    @property
    def season(self) -> int:
        """The season it belongs to."""
        return self.on.year

    @property
    def column(self) -> int:
        """Its day of the season; 29 February is taken as 28 February."""
        return column(self.on.month, min(self.on.day, 28) if self.on.month == 2 else self.on.day)

    def written(self) -> tuple[str, str]:
        """Its value and unit as they are written; both empty where it has none."""
        if self.value is None:
            return "", ""
        return (repr(self.value), "") if self.typed is None else (f"{self.typed:g}", self.unit)

    def says(self) -> str:
        """The entry in a line."""
        value, unit = self.written()
        return f"{self.field}, {self.on}, {self.what} {value} {unit}".strip()


@dataclass(frozen=True)
class Book:
    """A field's book. path : its file; entries : in the order of days; empty where there is no file yet"""

    path: Path
    entries: tuple[Entry, ...] = ()

    def of(self, field: str, season: int | None = None) -> tuple[Entry, ...]:
        """What stands there of a field, or of one of its seasons."""
        return tuple(one for one in self.entries if one.field == field and season in (None, one.season))

    def fields(self) -> list[str]:
        """The fields it tells of, in the order in which they come."""
        return list(dict.fromkeys(one.field for one in self.entries))

    def seasons(self, field: str) -> list[int]:
        """The seasons it tells of a field."""
        return sorted({one.season for one in self.of(field)})


def beside(farm: str | Path) -> Path | None:
    """The book beside a farm's settings file; None where there is none."""
    return next((path for name in NAMES if (path := Path(farm).resolve().parent / name).is_file()), None)


def read_book(path: str | Path, fields: Sequence[str] | None = None) -> Book:
    """A book, checked. fields : names of the farm's fields, where they are known

    Raises
    ------
    SettingError
        For a file that can't be read; or for every slip in it, each with its line.
    """
    path = Path(path)
    return Book(path, _entries(path, _bytes(path), fields))


def _bytes(path: Path) -> bytes:
    raw = contents(path, "Give a book: docs/season.md shows one.", SettingError, LARGEST_TOML)
    if path.stat().st_size != len(raw):
        raise SettingError(f"{path.name} is packed, or it changed while it was read.", "Give the plain file.")
    return raw


def _entries(path: Path, raw: bytes, fields: Sequence[str] | None) -> tuple[Entry, ...]:
    """The entries of a book's bytes. Raises `SettingError` with every slip."""
    slips: list[tuple[int, str]] = []
    rows = _toml_rows(path, raw, slips) if path.suffix.lower() == ".toml" else _csv_rows(path, raw, slips)
    entries = [entry for line, row in rows if (entry := _entry(line, row, slips, fields)) is not None]
    entries.sort(key=lambda one: one.on)
    _together(entries, slips)
    if slips:
        slips.sort()
        told = "; ".join(f"line {line}: {what}" for line, what in slips[:8])
        more = f"; and {len(slips) - 8} more" if len(slips) > 8 else ""
        raise SettingError(f"{path.name}, {told}{more}.", "Correct these lines; nothing was changed in the book.")
    return tuple(entries)


def _text(path: Path, raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise SettingError(
            f"{path.name} can't be read: it is no text in UTF-8 (byte {fault.start + 1}).", "Save it as UTF-8 text."
        ) from None


def _toml_rows(path: Path, raw: bytes, slips: list[tuple[int, str]]) -> list[tuple[int, dict[str, Any]]]:
    text = _text(path, raw)
    if any(len(line) > 10 * LONGEST for line in text.splitlines()):
        raise SettingError(f"{path.name} has a line of more than {10 * LONGEST} letters.", "Shorten it.")
    try:
        told = tomllib.loads(text)
    except (ValueError, RecursionError) as fault:
        raise SettingError(f"{path.name} can't be read: {fault}.", "docs/season.md shows a book.") from None
    heads = [number for number, line in enumerate(text.splitlines(), 1) if re.match(r"\s*\[\[\s*seen\s*\]\]", line)]
    for key in told:
        if key != "seen":
            where = next((n for n, line in enumerate(text.splitlines(), 1) if key in line), 1)
            slips.append((where, f"'{key}' is no part of a book, which is a list of [[seen]]"))
    rows = told.get("seen", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        slips.append((heads[0] if heads else 1, "an entry begins with [[seen]]"))
        return []
    if len(heads) != len(rows):
        heads = [0] * len(rows)
    return list(zip(heads, rows, strict=True))


def _csv_rows(path: Path, raw: bytes, slips: list[tuple[int, str]]) -> list[tuple[int, dict[str, Any]]]:
    if path.suffix.lower() != ".csv":
        raise SettingError(f"'{path.name}' is no kind of book.", "End it in .toml or .csv.")
    reader = csv.reader(io.StringIO(_text(path, raw), newline=""))
    rows: list[tuple[int, dict[str, Any]]] = []
    header: list[str] | None = None
    try:
        for cells in reader:
            cells = [cell.strip() for cell in cells]
            if not any(cells):
                continue
            if header is None:
                header = [cell.lower() for cell in cells]
                _check_header(reader.line_num, header, slips)
                continue
            if len(cells) != len(header):
                slips.append((reader.line_num, f"it has {len(cells)} cells, the header {len(header)}"))
                continue
            rows.append((reader.line_num, {key: cell for key, cell in zip(header, cells, strict=True) if cell}))
    except csv.Error as fault:
        raise SettingError(f"{path.name}, line {reader.line_num}: {fault}.", "docs/season.md shows a book.") from None
    return rows


def _check_header(line: int, header: list[str], slips: list[tuple[int, str]]) -> None:
    for name in header:
        if name not in COLUMNS:
            slips.append((line, f"the column '{name}' is not known{_close(name, COLUMNS)}"))
    missing = [name for name in NEEDED if name not in header]
    if missing:
        slips.append((line, f"there is no column for {', '.join(missing)}"))
    if len(set(header)) != len(header):
        slips.append((line, "a column stands twice in the header"))


def _entry(line: int, row: dict[str, Any], slips: list[tuple[int, str]], fields: Sequence[str] | None) -> Entry | None:
    """One entry; every slip in it goes into `slips`, and then it is None."""
    before = len(slips)

    def slip(what: str) -> None:
        slips.append((line, what))

    for key in row:
        if key not in COLUMNS:
            slip(f"'{key}' is not a key{_close(key, COLUMNS)}")
    for key in NEEDED:
        if key not in row and not any(known not in COLUMNS for known in row):
            slip(f"{key} is missing")
    texts = {}
    for key in ("field", "what", "unit", "crop", "note"):
        value = row.get(key, "")
        if not isinstance(value, str) or len(value) > LONGEST or not value.isprintable():
            slip(f"{key} is no text of up to {LONGEST} letters")
            value = ""
        texts[key] = value.strip()
    if fields is not None and texts["field"] and texts["field"] not in fields:
        slip(f"there is no field '{texts['field']}' in the farm{_close(texts['field'], fields)}")
    on = _day(row.get("on"), slip) if "on" in row else None
    what = texts["what"]
    kind = KINDS.get(what)
    if what and kind is None:
        slip(f"what = '{what}' is not known{_close(what, KINDS)}")
    value = None if kind is None else _value(what, kind, row.get("value"), texts["unit"], slip)
    if len(slips) > before or on is None or kind is None:
        return None
    typed = None if value is None else float(row["value"])
    return Entry(texts["field"], on, what, value, texts["crop"], texts["note"], line, typed, texts["unit"])


def _close(word: str, allowed: Iterable[str]) -> str:
    """As " (did you mean 'sown'?)", where an allowed word is close."""
    found = nearest(word, allowed).strip()
    return f" ({found[0].lower()}{found[1:]})" if found else ""


def _day(on: Any, slip: Any) -> date | None:
    if isinstance(on, datetime):
        on = on.date()
    if isinstance(on, str):
        with suppress(ValueError):
            on = date.fromisoformat(on)
    if not isinstance(on, date):
        slip(f"on = {on!r} is not a date, such as 2025-05-22")
        return None
    if not FIRST_YEAR <= on.year <= LAST_YEAR:
        slip(f"on = {on} lies outside {FIRST_YEAR} to {LAST_YEAR}")
        return None
    return on


def _value(what: str, kind: Kind, value: Any, unit: str, slip: Any) -> float | None:
    units = [name for name, _, _ in kind.units]
    if value is None:
        if kind.value == "number":
            slip(f"{what} has no value")
        return None
    if kind.value == "none":
        slip(f"{what} takes no value")
        return None
    if isinstance(value, str):
        with suppress(ValueError):
            value = float(value)
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        slip(f"value = {value!r} is not a number")
        return None
    if unit and unit not in units:
        slip(f"{what} is not told in '{unit}': allowed are {', '.join(name for name in units if name) or 'no unit'}")
        return None
    factor, shift = next((a, b) for name, a, b in kind.units if name == (unit or units[0]))
    number = float(value) * factor + shift
    if not kind.low <= number <= kind.high:
        of = f" {units[0]}" if units[0] else ""
        slip(f"{what} of {value:g}{f' {unit}' if unit else ''} is outside {kind.low:g} to {kind.high:g}{of}")
        return None
    return number


def _together(entries: list[Entry], slips: list[tuple[int, str]]) -> None:
    """What can't stand together: things seen before sowing, or twice what comes once."""
    first: dict[tuple[str, int, str], Entry] = {}
    for one in entries:
        key = (one.field, one.season, one.what)
        if one.what in ONCE and key in first:
            slips.append((one.line, f"{one.field} is '{one.what}' in {one.season} already, in line {first[key].line}"))
        first.setdefault(key, one)
    for one in entries:
        sown = first.get((one.field, one.season, "legume_sown" if one.what == "legume_emerged" else "sown"))
        if sown is not None and one.what in (*AFTER_SOWN, "legume_emerged") and one.on <= sown.on:
            slips.append((one.line, f"{one.what} on {one.on} is not after {sown.what} on {sown.on}, line {sown.line}"))


def entry_of(
    field: str,
    on: str,
    what: str,
    value: str | float | None = None,
    unit: str = "",
    crop: str = "",
    note: str = "",
    fields: Sequence[str] | None = None,
) -> Entry:
    """An entry as a person types it; 29F is 29 with the unit F. Raises `SettingError` with every slip."""
    if isinstance(value, str) and (found := re.fullmatch(r"(-?\d+(?:\.\d+)?)\s*(%|[A-Za-z][A-Za-z/]*)", value.strip())):
        value, unit = found[1], unit or found[2]
    told = {"field": field, "on": on, "what": what, "unit": unit, "crop": crop, "note": note}
    row = {key: text for key, text in told.items() if text}
    if value is not None:
        row["value"] = str(value)
    slips: list[tuple[int, str]] = []
    entry = _entry(0, row, slips, fields)
    if entry is None:
        raise SettingError(f"It can't go into the book: {'; '.join(what for _, what in slips)}.", "Nothing was added.")
    return entry


def added(path: str | Path, entry: Entry, fields: Sequence[str] | None = None) -> Book:
    """The book with one more entry, in its file.

    Raises
    ------
    SettingError
        For an entry that is not allowed or stands there already; for a book with a slip, which is then left as it is;
        where the file can't be written, or was changed by someone meanwhile.
    """
    path = Path(os.path.realpath(path))
    if path.suffix.lower() not in (".toml", ".csv"):
        raise SettingError(f"'{path.name}' is no kind of book.", "End it in .toml or .csv.")
    old = _bytes(path) if path.exists() else None
    before = () if old is None else _entries(path, old, fields)
    for one in before:
        if (one.field, one.on, one.what) == (entry.field, entry.on, entry.what):
            raise SettingError(
                f"{path.name}, line {one.line}, says '{entry.what}' of {entry.field} on {entry.on} already.",
                "Nothing was added. Correct that line by hand where it is wrong.",
            )
    more = _toml_text(entry, old) if path.suffix.lower() == ".toml" else _csv_text(path, entry, old)
    new = (old or b"") + more
    try:
        after = _entries(path, new, fields)
    except SettingError as fault:
        raise SettingError(f"It can't go into the book: {fault.what}", "Nothing was added.") from None
    if sorted(map(_plain, after)) != sorted(map(_plain, (*before, entry))):
        raise SettingError(f"{path.name} would not read as before with the entry in it.", "Add it by hand.")
    _replace(path, old, new)
    return Book(path, after)


def _plain(one: Entry) -> tuple:
    return (one.field, one.on, one.what, -1.0 if one.value is None else round(one.value, 9), one.crop, one.note)


def _newline(old: bytes | None) -> str:
    return "\r\n" if old is not None and b"\r\n" in old else "\n"


def _ended(old: bytes | None, end: str) -> str:
    """What ends a last line that was left open."""
    return "" if not old or old.endswith((b"\n", b"\r")) else end


def _quoted(text: str) -> str:
    """A text of TOML in one line."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _toml_text(entry: Entry, old: bytes | None) -> bytes:
    lines = [] if old is not None else ["# The field's book: what was done and seen. docs/season.md tells every key."]
    lines += ["", "[[seen]]", f"field = {_quoted(entry.field)}", f"on = {entry.on.isoformat()}"]
    lines.append(f"what = {_quoted(entry.what)}")
    value, unit = entry.written()
    lines += [f"value = {value}"] if value else []
    lines += [f"unit = {_quoted(unit)}"] if unit else []
    lines += [f"{key} = {_quoted(text)}" for key, text in (("crop", entry.crop), ("note", entry.note)) if text]
    end = _newline(old)
    return (_ended(old, end) + end.join(lines) + end).encode()


def _csv_text(path: Path, entry: Entry, old: bytes | None) -> bytes:
    end = _newline(old)
    header = list(COLUMNS)
    if old is not None:
        first = next((row for row in csv.reader(io.StringIO(_text(path, old), newline="")) if any(row)), None)
        header = [cell.strip().lower() for cell in first] if first else header
    value, unit = entry.written()
    cells = {
        "field": entry.field,
        "on": entry.on.isoformat(),
        "what": entry.what,
        "value": value,
        "unit": unit,
        "crop": entry.crop,
        "note": entry.note,
    }
    lacking = [key for key, cell in cells.items() if cell and key not in header]
    if lacking:
        raise SettingError(
            f"{path.name} has no column for {', '.join(lacking)}; its columns are: {', '.join(header)}.",
            "Nothing was added. Add the column to the header, and an empty cell to each line.",
        )
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, header, restval="", extrasaction="ignore", lineterminator=end)
    if old is None or not old.strip():
        writer.writeheader()
    writer.writerow(cells)
    return (_ended(old, end) + out.getvalue()).encode()


def _replace(path: Path, old: bytes | None, new: bytes) -> None:
    """The new file in the old one's place: whole, with its rights, and only if nobody changed it meanwhile."""
    partial = path.with_name(f".frostkit-{secrets.token_hex(8)}.part")
    try:
        with partial.open("xb") as file:
            file.write(new)
            file.flush()
            os.fsync(file.fileno())
        if old is None:
            if path.exists():
                raise SettingError(f"{path.name} was made by someone meanwhile.", "Nothing was added: try again.")
        else:
            os.chmod(partial, path.stat().st_mode & 0o7777)
            if path.read_bytes() != old:
                raise SettingError(f"{path.name} was changed by someone meanwhile.", "Nothing was added: try again.")
        os.replace(partial, path)
    except OSError as fault:
        raise SettingError(
            f"{path.name} could not be written: {fault.strerror or fault}.", "Nothing was added: the book is as it was."
        ) from None
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)


@dataclass(frozen=True)
class Told:
    """What a book tells of a field's season until a day, for the answers that stand on it.

    seeding, legume_seeding : columns or None; crop : the corn that was sown, "" where not said; seen : what was seen
    chopped : column or None; frosts : (column, degC or None)
    """

    seeding: int | None = None
    legume_seeding: int | None = None
    crop: str = ""
    seen: Observed = Observed()
    chopped: int | None = None
    frosts: tuple[tuple[int, float | None], ...] = ()


def told(entries: Iterable[Entry], until: int) -> Told:
    """What the entries of one field and season tell of the days until a column, that day included."""
    known = [one for one in entries if one.column <= until]
    last = {one.what: one for one in known}

    def on(what: str) -> int | None:
        return last[what].column if what in last else None

    def valued(what: str) -> tuple[float, int] | None:
        return (float(last[what].value or 0.0), last[what].column) if what in last else None

    collars = valued("collars")
    seen = Observed(
        on("emerged"),
        None if collars is None else (int(collars[0]), collars[1]),
        on("silking"),
        valued("milk_line"),
        valued("moisture"),
        on("legume_emerged"),
    )
    frosts = tuple((one.column, one.value) for one in known if one.what == "frost")
    crop = last["sown"].crop if "sown" in last else ""
    return Told(on("sown"), on("legume_sown"), crop, seen, on("chopped"), frosts)
