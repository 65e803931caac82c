"""Fixed-width station files read fast, for a thousand of them: what answers count over, and nothing else.

The same days as `records.readers.read` gives, without its list of repairs, or None for a file that is not in the one
plain shape: then that reader is asked, and says what is wrong. Layout and flags: NOAA NCEI, GHCN-Daily readme.txt (from
memory of the publication).
"""

from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.opening import contents
from frostkit.records import gates
from frostkit.records.assemble import COLDEST, MOST, WARMEST, WETTEST
from frostkit.records.ghcn import LINE, MADE_UP, NO_VALUE
from frostkit.records.readers import read
from frostkit.records.record import Record, Station

WIDTH = LINE + 1  # with its end of line
ELEMENTS = {"tmin": b"TMIN", "tmax": b"TMAX", "prcp": b"PRCP"}
_TENS = np.array([1000, 100, 10, 1], np.int32)
_WHOLE_DAYS = 100_000  # days: more than any record of the world


def read_fast(path: str | Path) -> Record | None:
    """A station's tmin, tmax and prcp, or None where the file is not plain: other lines, days twice, slips by the many.

    Raises `RecordError` where the file can't be opened.
    """
    data = contents(path, "Give a station's days.")
    if len(data) < WIDTH or len(data) % WIDTH:
        return None
    lines = np.frombuffer(data, np.uint8).reshape(-1, WIDTH)
    if (lines[:, LINE] != 10).any() or (lines[:, :11] != lines[0, :11]).any() or (lines > 126).any():
        return None
    names = np.ascontiguousarray(lines[:, 17:21]).view("S4")[:, 0]
    found = {name: _element(lines[names == code]) for name, code in ELEMENTS.items()}
    if any(values is None for values in found.values()):
        return None
    every = {name: values for name, values in found.items() if values is not None and values[0].size}
    if not {"tmin", "tmax"} <= set(every):
        return None
    start = min(int(days[0]) for days, _ in every.values())
    size = max(int(days[-1]) for days, _ in every.values()) - start + 1
    if size > _WHOLE_DAYS:
        return None
    columns = {}
    for name, (days, values) in every.items():
        columns[name] = np.full(size, np.nan)
        columns[name][days - start] = values
    if not _holds(columns, np.datetime64("1970-01-01") + start):
        return None
    read = np.flatnonzero(np.isfinite(columns["tmin"]) | np.isfinite(columns["tmax"]))
    if not np.isfinite(columns["tmin"]).any() or not np.isfinite(columns["tmax"]).any():
        return None
    cut = slice(int(read[0]), int(read[-1]) + 1)
    whole = {name: values[cut].astype(np.float32) for name, values in columns.items()}
    station = lines[0, :11].tobytes().decode("ascii").strip()
    if station.startswith(MADE_UP):
        return None
    more = {"prcp": whole["prcp"]} if "prcp" in whole and np.isfinite(whole["prcp"]).any() else {}
    source = {"files": Path(path).name, "format": "GHCN-Daily", "provider": "NOAA NCEI"}
    first = np.datetime64("1970-01-01") + (start + cut.start)
    return Record(Station(id=station), first, whole["tmin"], whole["tmax"], more=more, source=source)


def _element(lines: NDArray[np.uint8]) -> tuple[NDArray[np.int64], NDArray[np.float64]] | None:
    """Days (since 1970, rising) and values of one element's lines; None where a line is not plain."""
    if not len(lines):
        return np.empty(0, np.int64), np.empty(0)
    date = lines[:, 11:17].astype(np.int32) - 48
    year, month = date[:, :4] @ _TENS, date[:, 4] * 10 + date[:, 5]
    if (date < 0).any() or (date > 9).any() or (month < 1).any() or (month > 12).any():
        return None
    if (year < 1700).any() or (year > 2199).any():
        return None
    months = (year - 1970) * 12 + month - 1
    if (np.diff(months) <= 0).any():  # twice, or not in order
        return None
    first = months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    length = (months + 1).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64) - first
    fields = lines[:, 21:LINE].reshape(-1, 31, 8)
    values = _whole(fields[:, :, :5])
    if values is None:
        return None
    keep = (values != NO_VALUE) & (fields[:, :, 6] == 32) & (np.arange(31) < length[:, None])
    days = first[:, None] + np.arange(31)
    return days[keep], values[keep] * 0.1  # every element here is in tenths


def _whole(text: NDArray[np.uint8]) -> NDArray[np.int32] | None:
    """Whole numbers set right in fields of 5 characters; None where one is something else."""
    marks = [np.ascontiguousarray(text[..., place]) for place in range(5)]  # one place of every field at a time: fast
    size = np.zeros(marks[0].shape, np.int32)
    minus = np.zeros(marks[0].shape, bool)
    before = np.zeros(marks[0].shape, np.int8)  # 0 blank, 1 minus, 2 digit: they may only rise
    for mark in marks:
        digit = mark - np.uint8(48)
        is_digit, is_minus = digit < 10, mark == 45
        kind = is_digit.astype(np.int8) * np.int8(2) + is_minus
        if (kind < before).any() or ((kind == 0) & (mark != 32)).any() or (is_minus & minus).any():
            return None
        size = size * np.int32(10) + np.where(is_digit, digit, np.uint8(0))
        minus |= is_minus
        before = kind
    if (before != 2).any():
        return None
    return np.where(minus, -size, size)


def _holds(columns: dict[str, NDArray[np.float64]], start: np.datetime64) -> bool:
    """Whether the record passes what `records.gates` asks of it; its slips are then missing."""

    def both() -> NDArray[np.float32]:
        return np.stack([columns["tmin"], columns["tmax"]]).astype(np.float32)

    return gates.odd(both(), start) is None and _mended(columns) and gates.whole(both(), start) is None


def _mended(columns: dict[str, NDArray[np.float64]]) -> bool:
    """Slips taken as missing, as `records.assemble` does it; False where they are too many to be slips."""
    with np.errstate(invalid="ignore"):
        for name, values in columns.items():
            low, high = (0.0, MOST["prcp"]) if name == "prcp" else (COLDEST, WARMEST)
            outside = (values < low) | (values > high)
            if name != "prcp" and gates.over(int(outside.sum()), int(np.isfinite(values).sum())):
                return False
            values[outside] = np.nan
        crossed = columns["tmin"] > columns["tmax"]
    both = np.isfinite(columns["tmin"]) & np.isfinite(columns["tmax"])
    if gates.over(int(crossed.sum()), int(both.sum())):
        return False
    columns["tmin"][crossed] = columns["tmax"][crossed] = np.nan
    rain = columns.get("prcp", np.empty(0))
    rain = rain[np.isfinite(rain)]
    return bool(rain.size < 365 or rain.mean() <= WETTEST)


def read_many(files: Sequence[str], pool: Executor) -> list[Record | RecordError]:
    """Many station files by a pool of processes, in the order given; a file that can't be read gives its error."""
    return list(pool.map(_read_one, files, chunksize=max(1, min(16, len(files) // 8))))


def _read_one(file: str) -> Record | RecordError:
    try:
        found = read_fast(file)
        if found is not None:
            return found
        return read(file)
    except RecordError as fault:
        return RecordError(fault.what, fault.do)
