"""The cells of a text file as numbers and days: strictly, and with file, line and column in every error."""

import csv
import re
import sys
from collections.abc import Callable, Collection
from functools import lru_cache
from pathlib import Path
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError, nearest
from frostkit.opening import contents
from frostkit.records.record import Repair
from frostkit.records.rows import MOST_LINES, Table, table

NO_READING = {"", "m", "na", "n/a", "nan", "null", "none", "missing", "-", "--", "."}
STAND_INS = {-9999.9, -9999, -999.9, -999, -99.9, -99, 999, 999.9, 9999, 9999.9}  # common practice, no source
YEARS = 1700, 2200  # no thermometer record is older; a year after these is a slip of the pen
_ASTRAL = re.compile("[\U00010000-\U0010ffff]")
_TENS = np.array([1000, 100, 10, 1])
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_COMMA = re.compile(r"^([+-]?[0-9]+),([0-9]{1,2})$")
LONGEST_HEADER = 20_000  # characters
_MAGIC = {
    b"PK\x03\x04": "a zip archive or an Excel workbook",
    b"\xd0\xcf\x11\xe0": "an old Excel workbook",
    b"%PDF": "a PDF",
    b"PAR1": "a parquet file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"7z\xbc\xaf": "a 7z archive",
    b"BZh": "a bzip2 archive",
    b"\xfd7zXZ": "an xz archive",
}

_SAVE_IT = "Save the days as a CSV file."
_SHEET = "Open it, and save the sheet with the days as CSV (UTF-8): File, Save as; then give that file."
_SAVE = {b"PK\x03\x04": _SHEET, b"\xd0\xcf\x11\xe0": _SHEET}


def decode(data: bytes, file: str) -> tuple[str, str]:
    """The text of a file, with the encoding it is in.

    UTF-8 and UTF-16 are known by their marks or by trial; what is neither is read as cp1252, in which the degree sign
    and the daggers of older files stand. Line ends come out as ``\\n``.

    Raises
    ------
    RecordError
        Where the file is empty or is no text.

    >>> decode(b"\\xef\\xbb\\xbfdate,tmin\\r\\n", "a.csv")
    ('date,tmin\\n', 'utf-8')
    """
    if not data.strip():
        raise RecordError(f"{file} is empty.", "Give a file with days in it; was the download cut off?")
    for magic, kind in _MAGIC.items():
        if data.startswith(magic):
            raise RecordError(f"{file} is {kind}, not a record that frostkit reads.", _SAVE.get(magic, _SAVE_IT))
    text, encoding = _decode(data, file)
    if text.count("\n") > MOST_LINES:
        raise RecordError(f"{file} has more than {MOST_LINES:,} lines, the most that frostkit reads.",
                          "Give one station's days.")  # fmt: skip
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise RecordError(f"{file}, line {line}: there are bytes that are no text (NUL).",
                          "The file is damaged or is no text file: fetch it again, or save it as CSV.")  # fmt: skip
    head = text[:5000].lstrip().lower()
    if head.startswith(("<!doctype", "<html", "<?xml")):
        raise RecordError(f"{file} is a web page, not a record.", "The download gave an error page: fetch it again.")
    return text, encoding


def _decode(data: bytes, file: str) -> tuple[str, str]:
    tries = ["utf-8-sig", "cp1252", "latin-1"]
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        tries = ["utf-16"]
    elif len(data) > 3 and data[:4000:2].count(0) + data[1:4000:2].count(0) > len(data[:4000]) / 3:
        tries = ["utf-16-le" if data[1:4000:2].count(0) > data[:4000:2].count(0) else "utf-16-be"]
    elif b"\r" in data:  # before it is decoded: a text of any sign beyond the common ones takes four times the room
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    for encoding in tries:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\r" in text:
            text = text.replace("\r\n", "\n").replace("\r", "\n")
        if sys.getsizeof(text) > 3 * len(text) + 1000:  # one sign beyond the common planes makes all of it so wide
            text = _ASTRAL.sub("\ufffd", text)
        return text, encoding.removesuffix("-sig")
    raise RecordError(f"{file} is marked as UTF-16, but is not.", "Save it as UTF-8 text.")


def header_at(text: str, comments: bool = False) -> tuple[str, int, int]:
    """The first line that is not blank (with `comments`: nor begins with #), where it begins, and its number from 1.

    >>> header_at("\\n# units: C\\ndate,tmin,tmax\\n", comments=True)
    ('date,tmin,tmax', 12, 3)
    """
    begin, number = 0, 1
    while begin <= len(text):
        end = text.find("\n", begin)
        end = len(text) if end < 0 else end
        line = text[begin:end]
        if line.strip() and not (comments and line.lstrip().startswith("#")):
            return line, begin, number
        begin, number = end + 1, number + 1
    return "", len(text), number


def opened(path: Path, wanted: str) -> tuple[list[str], Callable[[list[str]], Table]]:
    """A small CSV file: its header's cells, and the rest of it as a table, made from the names given to the columns.

    wanted : the columns it should have, for the error where it can't be read. Raises `RecordError` for that.
    """
    data = contents(path, f"Give the path of a CSV file with {wanted}.")
    text, _ = decode(data, path.name)
    head, begin, line = header_at(text)
    header = header_cells(head, path.name, line)
    rest, between = begin + len(head) + 1, separator(head)
    return header, lambda names: table(text, names, between, path.name, line + 1, rest)


def separator(header: str) -> str:
    """The sign that parts the cells of a header: comma, semicolon or tab, whichever is there most often.

    >>> separator("date;tmin;tmax")
    ';'
    """
    return max(",;\t", key=header.count)


def header_cells(header: str, file: str, line: int) -> list[str]:
    """The names in a header line."""
    if len(header) > LONGEST_HEADER:
        raise RecordError(f"{file}, line {line}: the header has {len(header):,} characters.",
                          "Are the line ends lost? Save it as CSV, one line a day.")  # fmt: skip
    try:
        names = next(csv.reader([header], delimiter=separator(header), strict=True))
    except (csv.Error, StopIteration):
        raise RecordError(f"{file}, line {line}: the header can't be taken apart.",
                          "Is a quotation mark left open?") from None  # fmt: skip
    return [name.strip() for name in names]


@lru_cache(50_000)
def number(text: str) -> float | None:
    """A number in plain figures, NaN where the cell says there is none, None where it is neither.

    A comma before one or two figures is a decimal point (before three it may be thousands: no number); a printed
    minus counts as one.

    >>> number("-2.5"), number("M"), number("2,5"), number("1_000")
    (-2.5, nan, 2.5, None)
    """
    if _NUMBER.fullmatch(text):
        return float(text)
    if text.lower() in NO_READING:
        return float("nan")
    text = text.replace("−", "-")
    text = _COMMA.sub(r"\1.\2", text)
    return float(text) if _NUMBER.fullmatch(text) else None


def numbers(
    table: Table, column: int, what: str = "a number", trace: bool = False, stand_ins: Collection[float | None] = ()
) -> NDArray[np.float64]:
    """A column as numbers, NaN where there is no reading.

    With `trace`, a T stands for a trace that can't be measured, and is 0. `stand_ins`: figures that mean "no reading",
    such as -9999; they are missing, and counted in `table.repairs`.

    Raises
    ------
    RecordError
        For the first cell that is no number, with its line.
    """
    out = np.empty(table.lines.size)
    stood: dict[str, list[int]] = {}  # figures that mean "no reading": how many, and the first line
    at = 0
    for cells in table.chunks(column):
        meaning = {cell: number(cell) for cell in set(cells)}
        if trace:
            meaning |= {cell: 0.0 for cell in meaning if cell.upper() == "T"}
        if None in meaning.values():
            row = next(i for i, cell in enumerate(cells) if meaning[cell] is None)
            raise RecordError(f"{table.where(at + row, column)}: {shown(cells[row])} is not {what}.",
                              "Correct the line, or write NA where there is no reading.")  # fmt: skip
        for stand_in in [cell for cell, value in meaning.items() if value in stand_ins]:
            stood.setdefault(stand_in, [0, int(table.lines[at + cells.index(stand_in)])])[0] += cells.count(stand_in)
            meaning[stand_in] = float("nan")
        out[at : at + len(cells)] = [meaning[cell] for cell in cells]
        at += len(cells)
    table.repairs.extend(
        Repair(f"{table.names[column]}: {stand_in} taken as missing", count, f"line {line}")
        for stand_in, (count, line) in sorted(stood.items())
    )
    return out


def shown(text: str) -> str:
    """What stood in a cell, short enough for an error."""
    return repr(text if len(text) <= 40 else text[:37] + "...")


def of_station(table: Table, column: int, found: list[str], asked: str | None) -> Table:
    """The rows of the station that was asked for. Raises `RecordError` that lists them where none was."""
    if asked not in found:
        listed = ", ".join(found[:8]) + (f" and {len(found) - 8} more" if len(found) > 8 else "")
        raise RecordError(f"{table.file} holds {len(found)} stations: {listed}."
                          + (f" There is no '{asked}'.{nearest(asked, found)}" if asked else ""),
                          "Say which one: --station, or keep the rows of one station.")  # fmt: skip
    distinct, codes = table.coded(column)
    return table.only(codes == distinct.index(asked))


# How a day is written -> how to write it as YYYY-MM-DD. A time of day is allowed where it is midnight.
_MIDNIGHT = r"(?:[ T]0?0:00(?::00(?:\.0+)?)?(?:Z|\+00:?00)?)?"
_FORMS = (
    (re.compile(rf"^([0-9]{{4}})([-/.])([0-9]{{1,2}})\2([0-9]{{1,2}}){_MIDNIGHT}$", re.M), (1, 3, 4)),
    (re.compile(rf"^([0-9]{{4}})([0-9]{{2}})([0-9]{{2}})(?:\.0)?{_MIDNIGHT}$", re.M), (1, 2, 3)),
    (re.compile(rf"^([0-9]{{1,2}})([-/.])([0-9]{{1,2}})\2([0-9]{{4}}){_MIDNIGHT}$", re.M), None),
)
_ISO = re.compile(r"(?:[0-9]{4}-[0-9]{2}-[0-9]{2}\n)*")


def days(table: Table, column: int) -> NDArray[np.datetime64]:
    """A column as days, datetime64[D].

    2013-05-18, 2013/5/18, 20130518, and 18/5/2013 or 5/18/2013 where the column itself settles which number is the
    month. One column, one way of writing.

    Raises
    ------
    RecordError
        For the first cell that is not a day of the calendar, with its line; where day and month can't be told apart;
        where the file is hourly.
    """
    first = table.cell(0, column)
    at, out = 0, []
    form, parts = next(((form, parts) for form, parts in _FORMS if form.match(first)), (None, None))
    for cells in table.chunks(column):
        days = None if form is None else _days(cells, form, parts)
        if days is None:
            _no_day(table, column, at, cells, form, first)
        out.append(days)
        at += len(cells)
    found = np.concatenate(out)
    if parts is None:
        found = found[:, list(_order(table, column, found[:, :2]))]
    return _in_calendar(table, column, found)


def _days(cells: list[str], form: re.Pattern[str], parts: tuple[int, int, int] | None) -> NDArray[np.int64] | None:
    """Year, month and day of each cell [row, 3], or the numbers as they stand; None where a cell has another form."""
    text = "\n".join(cells)
    if form is _FORMS[0][0] and _ISO.fullmatch(text + "\n"):
        year_month_day = np.frombuffer(text.encode() + b"\n", np.uint8).reshape(-1, 11) - np.uint8(48)
        figures = year_month_day[:, [0, 1, 2, 3, 5, 6, 8, 9]].astype(np.int64)
        year, month, day = figures[:, :4] @ _TENS, figures[:, 4:6] @ _TENS[2:], figures[:, 6:] @ _TENS[2:]
        return np.stack([year, month, day], axis=1)
    found = form.findall(text)
    if len(found) != len(cells):
        return None
    which = (0, 2, 3) if parts is None else tuple(part - 1 for part in parts)
    return np.array([[row[i] for i in which] for row in found]).astype(np.int64)


def _no_day(table: Table, column: int, at: int, cells: list[str], form: re.Pattern[str] | None, first: str) -> NoReturn:
    row = 0 if form is None else next(i for i, cell in enumerate(cells) if not form.match(cell))
    if re.search(r"[0-9]:[0-9]{2}|T[0-9]{2}", cells[row]):
        raise RecordError(f"{table.where(at + row, column)}: {shown(cells[row])} has a time of day.",
                          "Give daily values, one line a day.")  # fmt: skip
    raise RecordError(f"{table.where(at + row, column)}: {shown(cells[row])} is not a day"
                      f"{'' if at + row == 0 else f' written like {shown(first)} above it'}.",
                      "Write days as YYYY-MM-DD, such as 1998-03-03, all in the same way.")  # fmt: skip


def _order(table: Table, column: int, two: NDArray[np.int64]) -> tuple[int, int, int]:
    """Where year, month and day stand among two numbers and the year, told from the column itself."""
    above = two > 12
    leads = above[:, 0].astype(int) - above[:, 1]  # 1: the day stands first, -1: the month does
    first, second = (leads == 1).any(), (leads == -1).any()
    odd = above.all(axis=1) | (leads == -leads[np.argmax(leads != 0)]) & (leads != 0)
    if odd.any():
        row = int(np.argmax(odd))
        seen = shown(table.cell(row, column))
        raise RecordError(f"{table.where(row, column)}: {seen} has day and month in another order than other lines.",
                          "Write days as YYYY-MM-DD, such as 1998-03-03.")  # fmt: skip
    if not first and not second:
        seen = shown(table.cell(0, column))
        raise RecordError(f"{table.where(0, column)}: {seen} may be day and month or month and day.",
                          "Write days as YYYY-MM-DD, such as 1998-03-03.")  # fmt: skip
    return (2, 1, 0) if first else (2, 0, 1)


def days_of_parts(table: Table, columns: tuple[int, int, int]) -> NDArray[np.datetime64]:
    """Three columns, year, month and day of the month, as days. Raises `RecordError` as `days` does."""
    parts = [numbers(table, column, "a whole number") for column in columns]
    for column, part in zip(columns, parts, strict=True):
        wrong = ~(part == np.rint(part)) | (np.abs(part) > 9999)
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            raise RecordError(f"{table.where(row, column)}: {shown(table.cell(row, column))} is not a whole number.",
                              "Write year, month and day as whole numbers.")  # fmt: skip
    return _in_calendar(table, columns[0], np.stack(parts, axis=1).astype(int))


def _in_calendar(table: Table, column: int, parts: NDArray[np.int64]) -> NDArray[np.datetime64]:
    """Years, months and days of the month [row, 3] as days, checked against the calendar."""
    year, month, day = parts.T
    months = ((year - 1970) * 12 + np.clip(month, 1, 12) - 1).astype("datetime64[M]")
    out = months.astype("datetime64[D]") + (day - 1)
    wrong = (month < 1) | (month > 12) | (day < 1) | (out.astype("datetime64[M]") != months)
    wrong |= (year < YEARS[0]) | (year > YEARS[1])
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        raise RecordError(
            f"{table.where(row, column)}: {year[row]}-{month[row]:02d}-{day[row]:02d} is not a day of the calendar "
            f"between {YEARS[0]} and {YEARS[1]}.",
            "Correct the line.",
        )
    return out
