"""The cells of a text file as numbers and days: strictly, and with file, line and column in every error."""

import contextlib
import csv
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError, nearest
from frostkit.opening import contents
from frostkit.records.record import Repair

NO_READING = {"", "m", "na", "n/a", "nan", "null", "none", "missing", "-", "--", "."}
STAND_INS = {-9999.9, -9999, -999.9, -999, -99.9, -99, 999, 999.9, 9999, 9999.9}  # common practice, no source
YEARS = 1700, 2200  # no thermometer record is older; a year after these is a slip of the pen
_FIRST, _BEHIND = np.datetime64(f"{YEARS[0]}-01-01"), np.datetime64(f"{YEARS[1] + 1}-01-01")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_COMMA = re.compile(r"^([+-]?[0-9]+),([0-9]{1,2})$")
_END = "\n"
_WIDEST = 400  # bytes in a cell of the fast path
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


@dataclass
class Table:
    """A table of text: the names in its header, and its cells by column.

    `lines[i]` is the line in `file` of row `i`; `repairs` gathers what was taken as missing while cells were read.
    """

    file: str
    names: list[str]
    lines: NDArray[np.int64]
    _rows: list[list[str]] | None
    _raw: NDArray[np.uint8] | None = None
    _starts: NDArray[np.int64] | None = None
    _stops: NDArray[np.int64] | None = None
    repairs: list[Repair] = field(default_factory=list)

    def cells(self, column: int) -> list[str]:
        """The cells of a column, without the blanks around them."""
        if self._rows is not None:
            return [row[column].strip() for row in self._rows]
        assert self._raw is not None and self._starts is not None and self._stops is not None
        start, stop = self._starts[:, column], self._stops[:, column]
        width = int((stop - start).max())
        if width == 0:
            return [""] * start.size
        wide = np.arange(width)
        at = np.minimum(start[:, None] + wide, self._raw.size - 1)
        text = np.where(wide < (stop - start)[:, None], self._raw[at], np.uint8(0))
        cells = b"\n".join(text.view(f"S{wide.size}")[:, 0].tolist()).decode().split("\n")
        blank = ((text == 32) | (text == 9)).any()
        return [cell.strip() for cell in cells] if blank else cells

    def only(self, rows: NDArray[np.bool_]) -> "Table":
        """The table of these rows alone."""
        if self._rows is not None:
            kept = [row for row, keep in zip(self._rows, rows, strict=True) if keep]
            return replace(self, lines=self.lines[rows], _rows=kept)
        assert self._starts is not None and self._stops is not None
        return replace(self, lines=self.lines[rows], _starts=self._starts[rows], _stops=self._stops[rows])

    def where(self, row: int, column: int) -> str:
        """'my_farm.csv, line 412, tmin'."""
        return f"{self.file}, line {self.lines[row]}, {self.names[column]}"


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
            raise RecordError(f"{file} is {kind}, not a record that frostkit reads.", "Save the days as a CSV file.")
    text, encoding = _decode(data, file)
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise RecordError(f"{file}, line {line}: there are bytes that are no text (NUL).",
                          "The file is damaged or is no text file: fetch it again, or save it as CSV.")  # fmt: skip
    head = text[:5000].lstrip().lower()
    if head.startswith(("<!doctype", "<html", "<?xml")):
        raise RecordError(f"{file} is a web page, not a record.", "The download gave an error page: fetch it again.")
    return text.replace("\r\n", "\n").replace("\r", "\n"), encoding


def _decode(data: bytes, file: str) -> tuple[str, str]:
    tries = ["utf-8-sig", "cp1252", "latin-1"]
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        tries = ["utf-16"]
    elif len(data) > 3 and data[:4000:2].count(0) + data[1:4000:2].count(0) > len(data[:4000]) / 3:
        tries = ["utf-16-le" if data[1:4000:2].count(0) > data[:4000:2].count(0) else "utf-16-be"]
    for encoding in tries:
        try:
            return data.decode(encoding), encoding.removesuffix("-sig")
        except UnicodeDecodeError:
            continue
    raise RecordError(f"{file} is marked as UTF-16, but is not.", "Save it as UTF-8 text.")


def opened(path: Path, wanted: str) -> tuple[list[str], Callable[[list[str]], Table]]:
    """A small CSV file: its header's cells, and the rest of it as a table, made from the names given to the columns.

    wanted : the columns it should have, for the error where it can't be read. Raises `RecordError` for that.
    """
    data = contents(path, f"Give the path of a CSV file with {wanted}.")
    text, _ = decode(data, path.name)
    lines = text.split("\n")
    at = next(i for i, line in enumerate(lines) if line.strip())
    header = header_cells(lines[at], path.name, at + 1)
    rest, between = "\n".join(lines[at + 1 :]), separator(lines[at])
    return header, lambda names: table(rest, names, between, path.name, at + 2)


def separator(header: str) -> str:
    """The sign that parts the cells of a header: comma, semicolon or tab, whichever is there most often.

    >>> separator("date;tmin;tmax")
    ';'
    """
    return max(",;\t", key=header.count)


def header_cells(header: str, file: str, line: int) -> list[str]:
    """The names in a header line."""
    try:
        names = next(csv.reader([header], delimiter=separator(header), strict=True))
    except (csv.Error, StopIteration):
        raise RecordError(f"{file}, line {line}: the header can't be taken apart.",
                          "Is a quotation mark left open?") from None  # fmt: skip
    return [name.strip() for name in names]


def table(text: str, names: list[str], sep: str, file: str, first_line: int, cut: bool = False) -> Table:
    """The rows of `text` under the header `names`; blank lines are skipped.

    With `cut`, a last line that looks cut short (no line end, and fewer or shorter cells than the line above) is left
    out and told in `Table.repairs`.

    Rows that are all plain or all quoted are taken apart by whole arrays, the rest by the csv reader.

    Raises
    ------
    RecordError
        Where there are no rows, a row has too few or too many cells, or a quotation mark is left open.
    """
    repairs = []
    if cut and (whole_lines := _cut_short(text, sep)) is not None:
        text = whole_lines
        repairs.append(Repair("the last line is cut short: left out", 1, f"line {first_line + text.count(_END)}"))
    text = text.rstrip("\n \t\x1a")
    lead = len(text) - len(text.lstrip("\n"))
    text, first_line = text[lead:], first_line + lead
    if not text.strip():
        raise RecordError(f"{file} has a header, but no days.", "Give a file with days in it; was it cut off?")
    whole = _whole(text, names, sep, file, first_line)
    if whole is not None:
        whole.repairs = repairs
        return whole
    lines = text.split("\n")
    reader = csv.reader(lines, delimiter=sep, strict=True)
    rows, numbers = [], []
    number = first_line - 1
    try:
        for number, row in enumerate(reader, first_line):
            if reader.line_num != number - first_line + 1:
                raise RecordError(f"{file}, line {number}: a quotation mark is left open.", "Close or remove it.")
            if len(row) < 2 and not "".join(row).strip():
                continue
            if len(row) != len(names):
                if len(row) < len(names) or any(cell.strip() for cell in row[len(names) :]):
                    raise RecordError(
                        f"{file}, line {number}: {len(row)} cells, but the header has {len(names)}.",
                        "Is the line cut short, or a comma inside a number? Write NA where there is no reading.",
                    )
                row = row[: len(names)]
            rows.append(row)
            numbers.append(number)
    except csv.Error as problem:
        raise RecordError(f"{file}, line {number + 1}: {problem}.",
                          "Is a quotation mark left open or misplaced?") from None  # fmt: skip
    return Table(file, names, np.array(numbers, np.int64), rows, repairs=repairs)


def _cut_short(text: str, sep: str) -> str | None:
    """The text without its last line, where that has no line end and seems cut short beside the line above it.

    >>> _cut_short("2001-05-01,1.5,12.5\\n2001-05-02,2.5,1", ",")
    '2001-05-01,1.5,12.5\\n'
    """
    text = text.rstrip(" \t\x1a")
    above, end, last = text.rpartition("\n")
    whole = above[above.rfind("\n") + 1 :]
    if not end or not last or not whole.strip():
        return None
    if last.count(sep) >= whole.count(sep) and last.count('"') >= whole.count('"'):
        had, has = whole.rpartition(sep)[2].strip(), last.rpartition(sep)[2].strip()
        figures, decimals = (len(cell.partition(".")[2]) for cell in (had, has))
        if figures == decimals > 0 or (not figures and len(has) >= len(had)) or has.endswith('"'):
            return None
    return above + end


def _whole(text: str, names: list[str], sep: str, file: str, first_line: int) -> Table | None:
    """The table by whole arrays, or None where its rows are not all plain or all quoted."""
    raw = np.frombuffer((text + "\n").encode(), np.uint8)
    ends = np.flatnonzero(raw == 10)
    begins = np.concatenate([[0], ends[:-1] + 1])
    shape = ends.size, len(names)
    quotes = np.flatnonzero(raw == 34)
    if not quotes.size:
        marks = np.flatnonzero((raw == ord(sep)) | (raw == 10))
        if marks.size != ends.size * len(names) or (marks.reshape(shape)[:, -1] != ends).any():
            return None
        starts, stops = np.concatenate([[0], marks[:-1] + 1]).reshape(shape), marks.reshape(shape)
    else:
        if quotes.size != 2 * ends.size * len(names):
            return None
        pairs = quotes.reshape(*shape, 2)
        starts, stops = pairs[..., 0] + 1, pairs[..., 1]
        tidy = (starts[:, 0] == begins + 1).all() and (stops[:, -1] + 1 == ends).all()
        tidy = tidy and (starts[:, 1:] == stops[:, :-1] + 3).all() and (raw[stops[:, :-1] + 1] == ord(sep)).all()
        if not tidy:
            return None
    if (stops - starts).max() > _WIDEST:
        return None
    return Table(file, names, np.arange(first_line, first_line + ends.size), None, raw, starts, stops)


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
    cells = table.cells(column)
    meaning = {cell: number(cell) for cell in set(cells)}
    if trace:
        meaning |= {cell: 0.0 for cell in meaning if cell.upper() == "T"}
    bad = {cell for cell, value in meaning.items() if value is None}
    if bad:
        row = next(i for i, cell in enumerate(cells) if cell in bad)
        raise RecordError(f"{table.where(row, column)}: {shown(cells[row])} is not {what}.",
                          "Correct the line, or write NA where there is no reading.")  # fmt: skip
    for stand_in in [cell for cell, value in meaning.items() if value in stand_ins]:
        line = table.lines[cells.index(stand_in)]
        table.repairs.append(
            Repair(f"{table.names[column]}: {stand_in} taken as missing", cells.count(stand_in), f"line {line}")
        )
        meaning[stand_in] = float("nan")
    return np.array([meaning[cell] for cell in cells], float)


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
    return table.only(np.array([cell == asked for cell in table.cells(column)]))


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
    cells = table.cells(column)
    text = "\n".join(cells)
    if _ISO.fullmatch(text + "\n"):
        with contextlib.suppress(ValueError):  # a day that is not in the calendar is named below
            out = np.array(cells, "datetime64[D]")
            if out.min() >= _FIRST and out.max() < _BEHIND:
                return out
    for form, parts in _FORMS:
        if not form.match(cells[0]):
            continue
        found = form.findall(text)
        if len(found) != len(cells):
            row = next(i for i, cell in enumerate(cells) if not form.match(cell))
            break
        found_parts = np.array(found)
        if parts is None:
            parts = _order(table, column, found_parts[:, [0, 2]].astype(int), cells)
        return _in_calendar(table, column, found_parts[:, [part - 1 for part in parts]].astype(int))
    else:
        row = 0
    if re.search(r"[0-9]:[0-9]{2}|T[0-9]{2}", cells[row]):
        raise RecordError(f"{table.where(row, column)}: {shown(cells[row])} has a time of day.",
                          "Give daily values, one line a day.")  # fmt: skip
    raise RecordError(f"{table.where(row, column)}: {shown(cells[row])} is not a day"
                      f"{'' if row == 0 else f' written like {shown(cells[0])} above it'}.",
                      "Write days as YYYY-MM-DD, such as 1998-03-03, all in the same way.")  # fmt: skip


def _order(table: Table, column: int, two: NDArray[np.int64], cells: list[str]) -> tuple[int, int, int]:
    """Which of the two numbers before the year is the month, told from the column itself."""
    above = two > 12
    leads = above[:, 0].astype(int) - above[:, 1]  # 1: the day stands first, -1: the month does
    first, second = (leads == 1).any(), (leads == -1).any()
    odd = above.all(axis=1) | (leads == -leads[np.argmax(leads != 0)]) & (leads != 0)
    if odd.any():
        row = int(np.argmax(odd))
        raise RecordError(f"{table.where(row, column)}: {shown(cells[row])} has day and month in another order than "
                          "the other lines.", "Write days as YYYY-MM-DD, such as 1998-03-03.")  # fmt: skip
    if not first and not second:
        raise RecordError(f"{table.where(0, column)}: {shown(cells[0])} may be day and month or month and day.",
                          "Write days as YYYY-MM-DD, such as 1998-03-03.")  # fmt: skip
    return (4, 3, 1) if first else (4, 1, 3)


def days_of_parts(table: Table, columns: tuple[int, int, int]) -> NDArray[np.datetime64]:
    """Three columns, year, month and day of the month, as days. Raises `RecordError` as `days` does."""
    parts = [numbers(table, column, "a whole number") for column in columns]
    for column, part in zip(columns, parts, strict=True):
        wrong = ~(part == np.rint(part)) | (np.abs(part) > 9999)
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            raise RecordError(f"{table.where(row, column)}: {shown(table.cells(column)[row])} is not a whole number.",
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
