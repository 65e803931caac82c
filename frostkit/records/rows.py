"""The rows of a text file as a table of cells, kept as the bytes they came in: few bytes a cell, however many rows."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records.record import Repair

MOST_LINES = 1_000_000  # 27 stations of a century; more are no station's days
_WIDEST = 400  # bytes in a cell of the fast path
_CHUNK = 1 << 15  # rows looked at together
_PIECE = 1 << 20  # bytes or characters looked at together
_UNIT = "\x1f"  # between cells that were taken apart by the csv reader
_END = "\n"


@dataclass
class Table:
    """A table of text: the names in its header, and its cells by column.

    `lines[i]` is the line in `file` of row `i`; `repairs` gathers what was taken as missing while cells were read.
    `_begins` is where each row begins, or each cell where they are quoted.
    """

    file: str
    names: list[str]
    lines: NDArray[np.int32]
    _raw: NDArray[np.uint8]
    _begins: NDArray[np.int32]
    _stops: NDArray[np.int32]
    repairs: list[Repair] = field(default_factory=list)

    def chunks(self, column: int) -> Iterator[list[str]]:
        """The cells of a column without the blanks around them, some thousands at a time."""
        for at in range(0, self.lines.size, _CHUNK):
            start, stop = self._span(column, slice(at, at + _CHUNK))
            yield _texts(self._raw, start, stop)

    def cells(self, column: int) -> list[str]:
        """All cells of a column."""
        return [cell for chunk in self.chunks(column) for cell in chunk]

    def cell(self, row: int, column: int) -> str:
        """One cell."""
        start, stop = self._span(column, slice(row, row + 1))
        return _texts(self._raw, start, stop)[0]

    def coded(self, column: int) -> tuple[list[str], NDArray[np.int32]]:
        """What stands in a column, each once, in order of appearance; and which of it stands in each row."""
        known: dict[str, int] = {}
        codes = [np.array([known.setdefault(cell, len(known)) for cell in chunk], np.int32)
                 for chunk in self.chunks(column)]  # fmt: skip
        return list(known), np.concatenate(codes)

    def only(self, rows: NDArray[np.bool_]) -> "Table":
        """The table of these rows alone."""
        return replace(self, lines=self.lines[rows], _begins=self._begins[rows], _stops=self._stops[rows])

    def one_column(self, column: int, cells: list[str]) -> "Table":
        """A table of these cells alone, as if they stood in this column."""
        raw, begins, stops = _packed(bytearray("".join(f"{cell}{_UNIT}" for cell in cells), "utf-8"), len(cells), 1)
        return replace(self, names=[self.names[column]], _raw=raw, _begins=begins, _stops=stops)

    def where(self, row: int, column: int) -> str:
        """'my_farm.csv, line 412, tmin'."""
        return f"{self.file}, line {self.lines[row]}, {self.names[column]}"

    def _span(self, column: int, rows: slice) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        stop = self._stops[rows, column]
        if self._begins.ndim == 2:
            return self._begins[rows, column], stop
        return (self._stops[rows, column - 1] + 1 if column else self._begins[rows]), stop


def _texts(raw: NDArray[np.uint8], start: NDArray[np.int32], stop: NDArray[np.int32]) -> list[str]:
    width = int((stop - start).max())
    if width == 0:
        return [""] * start.size
    if width > _WIDEST:  # a few such cells would make a wide matrix of blanks
        return [raw[a:b].tobytes().decode().strip() for a, b in zip(start.tolist(), stop.tolist(), strict=True)]
    wide = np.arange(width, dtype=np.int32)
    at = np.minimum(start[:, None] + wide, raw.size - 1)
    text = np.where(wide < (stop - start)[:, None], raw[at], np.uint8(0))
    cells = b"\n".join(text.view(f"S{width}")[:, 0].tolist()).decode().split("\n")
    blank = ((text == 32) | (text == 9)).any()
    return [cell.strip() for cell in cells] if blank else cells


def table(
    text: str, names: list[str], sep: str, file: str, first_line: int, begin: int = 0, cut: bool = False
) -> Table:
    """The rows of `text` from `begin` on under the header `names`; blank lines are skipped.

    With `cut`, a last line that looks cut short (no line end, and fewer or shorter cells than the line above) is left
    out and told in `Table.repairs`.

    Rows that are all plain or all quoted are taken apart by whole arrays, the rest by the csv reader.

    Raises
    ------
    RecordError
        Where there are no rows, a row has too few or too many cells, or a quotation mark is left open.
    """
    repairs = []
    end = _stripped(text, begin)
    if cut and (at := _cut_short(text, sep, begin, end)) is not None:
        repairs.append(Repair("the last line is cut short: left out", 1,
                              f"line {first_line + text.count(_END, begin, at)}"))  # fmt: skip
        end = _stripped(text, begin, at)
    while begin < end and text[begin] == _END:
        begin, first_line = begin + 1, first_line + 1
    if not text[begin : begin + _PIECE].strip() and not text[begin:end].strip():
        raise RecordError(f"{file} has a header, but no days.", "Give a file with days in it; was it cut off?")
    found = _whole(text, begin, end, names, sep, file, first_line)
    if found is None:
        found = _by_csv(text, begin, end, names, sep, file, first_line)
    found.repairs = repairs
    return found


def _stripped(text: str, begin: int, end: int | None = None) -> int:
    """Where the text ends without the blanks, line ends and the old mark of an end (\\x1a) behind it."""
    end = len(text) if end is None else end
    while end > begin:
        piece = text[max(begin, end - 4096) : end]
        kept = len(piece.rstrip("\n \t\x1a"))
        if kept:
            return end - len(piece) + kept
        end -= len(piece)
    return begin


def _cut_short(text: str, sep: str, begin: int, end: int) -> int | None:
    """Where the last line begins, if no line end follows it and it seems cut short beside the line above it.

    >>> _cut_short("2001-05-01,1.5,12.5\\n2001-05-02,2.5,1", ",", 0, 36)
    20
    """
    if _END in text[end:]:
        return None
    at = text.rfind(_END, begin, end)
    above = text[text.rfind(_END, begin, max(at, begin)) + 1 : at] if at >= 0 else ""
    last = text[at + 1 : end]
    if not above.strip() or not last:
        return None
    if last.count(sep) >= above.count(sep) and last.count('"') >= above.count('"'):
        had, has = above.rpartition(sep)[2].strip(), last.rpartition(sep)[2].strip()
        figures, decimals = (len(cell.partition(".")[2]) for cell in (had, has))
        if figures == decimals > 0 or (not figures and len(has) >= len(had)) or has.endswith('"'):
            return None
    return at + 1


def _bytes(text: str, begin: int, end: int) -> NDArray[np.uint8]:
    """Part of a text as bytes of UTF-8, with a line end behind it."""
    raw = bytearray()
    for at in range(begin, end, _PIECE):
        raw += text[at : min(at + _PIECE, end)].encode()
    raw += b"\n"
    return np.frombuffer(raw, np.uint8)


def _places(raw: NDArray[np.uint8], *marks: int) -> NDArray[np.int32]:
    """Where any of these bytes stand."""

    def pieces() -> Iterator[tuple[int, NDArray[np.bool_]]]:
        for at in range(0, raw.size, _PIECE):
            piece = raw[at : at + _PIECE]
            found = piece == marks[0]
            for mark in marks[1:]:
                found |= piece == mark
            yield at, found

    places = np.empty(sum(np.count_nonzero(found) for _, found in pieces()), np.int32)
    filled = 0
    for at, found in pieces():
        here = np.flatnonzero(found)
        places[filled : filled + here.size] = here + at
        filled += here.size
    return places


def _whole(text: str, begin: int, end: int, names: list[str], sep: str, file: str, first_line: int) -> Table | None:
    """The table by whole arrays, or None where its rows are not all plain or all quoted."""
    rows = text.count(_END, begin, end) + 1
    shape = rows, len(names)
    quotes = text.count('"', begin, end)
    if quotes not in (0, 2 * rows * len(names)):
        return None
    if not quotes and text.count(sep, begin, end) != rows * (len(names) - 1):
        return None
    raw = _bytes(text, begin, end)
    lines = np.arange(first_line, first_line + rows, dtype=np.int32)
    if not quotes:
        stops = _places(raw, ord(sep), 10).reshape(shape)
        if (raw[stops[:, -1]] != 10).any():
            return None
        begins = _row_begins(stops)
        widest = max(int((stops[:, 0] - begins).max()), *(int((stops[:, i] - stops[:, i - 1]).max() - 1)
                                                          for i in range(1, len(names))), 0)  # fmt: skip
    else:
        pairs = _places(raw, 34).reshape(*shape, 2)
        begins, stops, ends = pairs[..., 0] + 1, pairs[..., 1], _places(raw, 10)
        tidy = (begins[1:, 0] == ends[:-1] + 2).all() and begins[0, 0] == 1 and (stops[:, -1] + 1 == ends).all()
        tidy = tidy and (begins[:, 1:] == stops[:, :-1] + 3).all() and (raw[stops[:, :-1] + 1] == ord(sep)).all()
        if not tidy:
            return None
        widest = int((stops - begins).max())
    if widest > _WIDEST:
        return None
    return Table(file, names, lines, raw, begins, stops)


def _lines(text: str, begin: int, end: int) -> Iterator[str]:
    while begin <= end:
        at = text.find(_END, begin, end)
        at = end if at < 0 else at
        yield text[begin:at]
        begin = at + 1


def _by_csv(text: str, begin: int, end: int, names: list[str], sep: str, file: str, first_line: int) -> Table:
    """The table by the csv reader, row by row."""
    reader = csv.reader(_lines(text, begin, end), delimiter=sep, strict=True)
    raw, numbers = bytearray(), []
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
            if any(_UNIT in cell for cell in row):
                row = [cell.replace(_UNIT, " ") for cell in row]
            raw += _UNIT.join(row).encode() + b"\x1f"
            numbers.append(number)
    except csv.Error as problem:
        raise RecordError(f"{file}, line {number + 1}: {problem}.",
                          "Is a quotation mark left open or misplaced?") from None  # fmt: skip
    return Table(file, names, np.array(numbers, np.int32), *_packed(raw, len(numbers), len(names)))


def _packed(
    cells: bytearray, rows: int, columns: int
) -> tuple[NDArray[np.uint8], NDArray[np.int32], NDArray[np.int32]]:
    """Cells with `_UNIT` behind each: their bytes, where each row begins, where each cell ends."""
    raw = np.frombuffer(cells, np.uint8)
    stops = _places(raw, ord(_UNIT)).reshape(rows, columns)
    return raw, _row_begins(stops), stops


def _row_begins(stops: NDArray[np.int32]) -> NDArray[np.int32]:
    return np.concatenate([np.zeros(1, np.int32), stops[:-1, -1] + 1])
