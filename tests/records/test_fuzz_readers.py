"""Damaged files: thousands of mutations of small files in every format, and no wrong success among them.

A read may end in two ways. It raises `RecordError` with what is wrong and what to do, in two lines. Or it gives a record
that holds to four laws, each checked here against the damaged text itself by plain string work, apart from the readers:

1. every day and value in the record stands on a line of the file, that value with that day;
2. a line that the damage did not touch still gives its values, or the record's repairs say that it does not;
3. the record is sound: a regular axis, Tmin at or below Tmax, nothing outside the bounds of the world;
4. where the repairs say nothing, no day stands on two lines, and a day without a value has a cell that says so;
5. it took less than 5 seconds.

FROSTKIT_FUZZ=100000 raises the number of damaged files for a run by hand (default 5,400).
"""

import gzip
import os
import re
import time
from collections import defaultdict
from datetime import date, timedelta

import numpy as np
import pytest
import xarray as xr

from frostkit.errors import RecordError
from frostkit.records.assemble import COLDEST, WARMEST
from frostkit.records.readers import read
from tests.units.test_readers_ghcn import dly_line

COUNT = int(os.environ.get("FROSTKIT_FUZZ", "5400"))
START = date(2001, 4, 21)
DAYS = [START + timedelta(days=i) for i in range(45)]
LOW = [round(-4 + 0.7 * (i % 13) + 0.1 * (i % 4), 1) for i in range(45)]
HIGH = [round(9 + 0.9 * (i % 11) + 0.1 * (i % 3), 1) for i in range(45)]


def _plain():
    return "date,tmin_C,tmax_C,prcp_mm\n" + "".join(
        f"{d},{a},{b},{i % 5}\n" for i, (d, a, b) in enumerate(zip(DAYS, LOW, HIGH))
    )


def _fahrenheit():
    rows = (
        f"{d.year},{d.month},{d.day},{round(a * 1.8 + 32)},{round(b * 1.8 + 32)},T\n"
        for d, a, b in zip(DAYS, LOW, HIGH)
    )
    return "year,month,day,tmin_F,tmax_F,snow_in\n" + "".join(rows)


def _dly():
    lines = []
    for month in (4, 5, 6):
        for element, values in (("TMAX", HIGH), ("TMIN", LOW)):
            of = {d.day: round(10 * v) for d, v in zip(DAYS, values) if d.month == month}
            lines.append(dly_line(2001, month, element, [of.get(day, -9999) for day in range(1, 32)]))
    return "\n".join(lines) + "\n"


def _long():
    rows = (
        f"XX000000001,{d:%Y%m%d},{e},{round(10 * v)},,,W,2400\n"
        for d, a, b in zip(DAYS, LOW, HIGH)
        for e, v in (("TMAX", b), ("TMIN", a))
    )
    return "id,date,element,value,m,q,s,obs\n" + "".join(rows)


def _wide():
    head = '"STATION","DATE","LATITUDE","LONGITUDE","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"\n'
    return head + "".join(f'"XX000000001","{d}","49.9","-99.9","{round(10 * b):5d}",",,W,2400","{round(10 * a):5d}",",,W,2400"\n'
                          for d, a, b in zip(DAYS, LOW, [2 * b for b in HIGH]))  # fmt: skip


def _eccc_rows(lead):
    return "".join(f'{lead}"{d}","{d.year}","{d.month:02d}","{d.day:02d}","","{b}","","{a}","","0.0","T"\n'
                   for d, a, b in zip(DAYS, LOW, HIGH))  # fmt: skip


_ECCC_HEAD = ('"Date/Time","Year","Month","Day","Data Quality","Max Temp (°C)","Max Temp Flag","Min Temp (°C)",'
              '"Min Temp Flag","Total Precip (mm)","Total Precip Flag"\n')  # fmt: skip


def _eccc_old():
    return ('"Station Name","RIVER FLAT"\n"Latitude","49.90"\n"Longitude","-99.90"\n"Climate Identifier","5019999"\n\n'
            + _ECCC_HEAD + _eccc_rows(""))  # fmt: skip


def _eccc_new():
    return ('"Longitude (x)","Latitude (y)","Station Name","Climate ID",' + _ECCC_HEAD
            + _eccc_rows('"-99.90","49.90","RIVER FLAT","5019999",'))  # fmt: skip


# format -> (its text, from a number in the file to degC)
BASES = {
    "plain": (_plain(), lambda v: v),
    "fahrenheit": (_fahrenheit(), lambda v: (v - 32) / 1.8),
    "dly": (_dly(), lambda v: v / 10),
    "long": (_long(), lambda v: v / 10),
    "wide": (_wide(), lambda v: v / 10),
    "eccc_old": (_eccc_old(), lambda v: v),
    "eccc_new": (_eccc_new(), lambda v: v),
}
HEADERS = {name: sum(not any(ch.isdigit() for ch in line) or "Latitude" in line or "Longitude" in line or "Identifier" in line
                     for line in text.split("\n")[:-1]) for name, (text, _) in BASES.items()}  # fmt: skip
ODD = [
    "\0",
    "°",
    "−",
    "٣",
    "½",
    "\u2028",
    "\ufeff",
    "é",
    '"',
    "'",
    ",",
    ";",
    "\t",
    "\n",
    "\r",
    "e",
    "-",
    ".",
    "T",
    "M",
    "#",
    "\x1a",
    "x" * 9000,
]
HUGE = ["1e308", "1e999", "-1e999", "99999999999999999999", "-273.16", "58", "-89.5", "0x10", "nan", "inf", "1_0", "--3", "3-", "1.2.3", "9" * 400,
        "-9999", "999", "", " ", "NA", "1,5", "０", "-0", "+7"]  # fmt: skip


def damaged(text, rng):
    """One to three damages, as bytes; and the text to hold the record against."""
    how_many = 1 + rng.integers(3) * (rng.random() < 0.4)
    for _ in range(how_many):
        text = DAMAGES[rng.integers(len(DAMAGES))](text, rng)
    return text


def _at(text, rng):
    return int(rng.integers(len(text) + 1)) if text else 0


def _flip(text, rng):
    at = _at(text, rng)
    return text[:at] + chr(int(rng.integers(32, 127))) + text[at + 1 :]


def _insert(text, rng):
    at = _at(text, rng)
    return text[:at] + ODD[rng.integers(len(ODD))] + text[at:]


def _drop(text, rng):
    at = _at(text, rng)
    return text[:at] + text[at + int(rng.integers(1, 30)) :]


def _cut(text, rng):
    return text[: _at(text, rng)]


def _lines(change):
    def damage(text, rng):
        lines = text.split("\n")
        return "\n".join(change(lines, int(rng.integers(len(lines))), int(rng.integers(len(lines))), rng))

    return damage


def _swap_cells(lines, i, j, rng):
    cells = lines[i].split(",")
    a, b = rng.integers(len(cells), size=2)
    cells[a], cells[b] = cells[b], cells[a]
    return [*lines[:i], ",".join(cells), *lines[i + 1 :]]


def _swap_columns(lines, i, j, rng):
    a, b = (int(k) for k in rng.integers(lines[i].count(",") + 1, size=2))
    out = []
    for line in lines:
        cells = line.split(",")
        if max(a, b) < len(cells):
            cells[a], cells[b] = cells[b], cells[a]
        out.append(",".join(cells))
    return out


def _huge(text, rng):
    numbers = list(re.finditer(r"-?\d+(\.\d+)?", text))
    if not numbers:
        return text
    hit = numbers[rng.integers(len(numbers))]
    new = HUGE[rng.integers(len(HUGE))]
    return text[: hit.start()] + new.rjust(len(hit[0]))[: max(len(new), len(hit[0]))] + text[hit.end() :]


def _other_value(text, rng):
    numbers = list(re.finditer(r"-?\d+(\.\d+)?", text))
    if not numbers:
        return text
    hit, other = numbers[rng.integers(len(numbers))], numbers[rng.integers(len(numbers))]
    return text[: hit.start()] + other[0] + text[hit.end() :]


DAMAGES = [
    _flip, _flip, _insert, _drop, _cut, _huge, _huge, _other_value,
    _lines(lambda lines, i, j, rng: lines[:i] + lines[i + 1 :]),  # a line lost
    _lines(lambda lines, i, j, rng: [*lines[:i], lines[i], *lines[i:]]),  # a line twice
    _lines(lambda lines, i, j, rng: [*lines[:i], lines[j], *lines[i + 1 :]]),  # a line over another
    _lines(lambda lines, i, j, rng: lines[: min(i, j)] + lines[max(i, j) :]),  # a stretch lost
    _lines(lambda lines, i, j, rng: [*lines[:i], "", *lines[i:]]),  # a blank line
    _lines(_swap_cells), _lines(_swap_columns),
]  # fmt: skip


def as_bytes(text, rng):
    """The text as a file: mostly UTF-8; at times another encoding, other line ends, gzip, broken gzip, broken bytes."""
    way = rng.random()
    if way < 0.05:
        return text.encode("utf-16"), text
    if way < 0.10:
        return text.replace("\n", "\r\n").encode("utf-8-sig"), text
    if way < 0.15:
        return gzip.compress(text.encode()), text
    if way < 0.18:
        packed = gzip.compress(text.encode())
        return packed[: int(rng.integers(len(packed)))], text
    if way < 0.21:
        packed = bytearray(gzip.compress(text.encode()))
        packed[int(rng.integers(2, len(packed)))] ^= 1 << int(rng.integers(8))
        return bytes(packed), text
    if way < 0.30:
        raw = bytearray(text.encode())
        if raw:
            raw[int(rng.integers(len(raw)))] = int(rng.integers(256))
        return bytes(raw), bytes(raw).decode("utf-8", "replace") if _is_utf8(bytes(raw)) else bytes(raw).decode(
            "latin-1"
        )
    return text.encode(), text


def _is_utf8(raw):
    try:
        raw.decode()
    except UnicodeDecodeError:
        return False
    return True


_NUMBER = re.compile(r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?")


def given(text, to_celsius, fixed_width):
    """What stands in a text: day -> the values [degC] on any line that names the day, by plain string work."""
    out = defaultdict(set)
    for line in re.split(r"[\r\n]", text):
        if fixed_width:
            if re.fullmatch(r"[0-9]{6}", line[11:17]):
                for day in range(1, 32):
                    field = line[13 + 8 * day : 18 + 8 * day]
                    if re.fullmatch(r" *-?[0-9]+", field):
                        out[line[11:15], line[15:17], f"{day:02d}"].add(round(to_celsius(int(field)), 3))
            continue
        days = [m.groups() for m in re.finditer(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})(?![0-9])", line)]
        days += [m.groups() for m in re.finditer(r"(?<![0-9])([0-9]{4})([0-9]{2})([0-9]{2})(?![0-9])", line)]
        days += [(m[2], *order) for m in re.finditer(r"(?<![0-9])([0-9]{1,2}[-/.][0-9]{1,2})[-/.]([0-9]{4})", line)
                 for order in _both_orders(m[1])]  # fmt: skip
        cells = [cell.strip(' "\t').removesuffix(".0").removesuffix(".") for cell in re.split("[,;\t]", line)]
        whole = [cell.lstrip("+") for cell in cells if re.fullmatch(r"\+?[0-9]{1,4}", cell)]
        days += [(y, m, d) for y in whole if len(y) == 4 for m in whole for d in whole if len(m) <= 2 and len(d) <= 2]
        parts = [part.replace("−", "-") for part in re.split(r"[,;\t\s\"]", line)]
        parts += [f"{a}.{b}" for a, b in zip(parts, parts[1:], strict=False) if b.isdigit()]  # a decimal comma
        values = {float(part) for part in parts if _NUMBER.fullmatch(part)}
        for y, m, d in days:
            out[y, m.zfill(2), d.zfill(2)] |= {round(to_celsius(value), 3) for value in values}
    return out


def _both_orders(two):
    a, b = re.split("[-/.]", two)
    return (a, b), (b, a)


def sound(record):
    """Law 3."""
    assert record.tmin.dtype == record.tmax.dtype == np.float32
    assert record.tmin.shape == record.tmax.shape == record.time().shape
    assert all(column.shape == record.tmin.shape for column in record.more.values())
    known = ~np.isnan(record.tmin) & ~np.isnan(record.tmax)
    assert (record.tmin[known] <= record.tmax[known]).all(), "Tmin above Tmax"
    both = np.concatenate([record.tmin, record.tmax])
    both = both[~np.isnan(both)]
    assert both.size
    assert both.min() >= COLDEST - 1e-3, "colder than the world has seen"
    assert both.max() <= WARMEST + 1e-3, "warmer than the world has seen"
    assert record.sign is None or set(np.unique(record.sign)) <= {-1, 0, 1}


def check(record, text, name, base):
    sound(record)
    to_celsius, headers = BASES[name][1], HEADERS[name]
    base_lines, lines = BASES[name][0].split("\n"), text.replace("\r", "\n").split("\n")
    if lines[:headers] != base_lines[:headers]:
        return  # another header may mean another unit or other columns: then the laws below have nothing to hold to
    # law 1: what is in the record was given
    stands = given(text, to_celsius, name == "dly")
    for day, low, high in zip(record.time(), record.tmin, record.tmax, strict=True):
        for value in (low, high):
            if not np.isnan(value):
                here = stands[tuple(str(day).split("-"))]
                assert any(abs(float(value) - g) < 2e-3 for g in here), f"{day}: {value} is nowhere in the file"
    # law 2: an untouched line gives its values, or it is told
    untouched = set(lines)
    told = sum(repair.count for repair in record.repairs)
    silent, at = [], int((base.start - record.start).astype(int))
    keys = {i: [line for line in base_lines[headers:] if _names(line, day, name)] for i, day in enumerate(DAYS)}
    for i, day in enumerate(DAYS):
        if not all(line in untouched for line in keys[i]) or not 0 <= at + i < record.tmin.size:
            if all(line in untouched for line in keys[i]):
                silent.append(day)
            continue
        if (record.tmin[at + i], record.tmax[at + i]) != (base.tmin[i], base.tmax[i]):
            silent.append(day)
    assert len(silent) <= told, f"lost without a word: {silent[:3]}"

    # law 4: nothing is passed over in silence
    if told == 0 and name in DAY_CELL:
        lines_of = defaultdict(list)
        for line in lines[headers:]:
            cells = [cell.strip(' "\t') for cell in line.split(",")]
            day = _day_of(cells, DAY_CELL[name]) if len(cells) > 3 else None
            if day is not None:
                lines_of[day].append((cells, line))
        for day, here in lines_of.items():
            assert name == "long" or len(here) == 1, f"{day} stands on {len(here)} lines, and nothing is said"
            i = (np.datetime64(day) - record.start).astype(int)
            inside = 0 <= i < record.tmin.size
            if not inside or np.isnan(record.tmin[i]) or np.isnan(record.tmax[i]):
                stated = [cells[at].lower() for cells, _ in here for at in VALUE_CELLS[name] if at < len(cells)]
                lost = name == "long" and len(here) < 2  # the line of the other element is gone
                assert lost or NO_READING & set(stated), f"{day} is missing in silence"


DAY_CELL = {"plain": [0], "fahrenheit": [0, 1, 2], "wide": [1], "eccc_old": [0], "eccc_new": [4], "long": [1]}
VALUE_CELLS = {
    "plain": [1, 2],
    "fahrenheit": [3, 4],
    "wide": [4, 9],
    "eccc_old": [5, 7],
    "eccc_new": [9, 11],
    "long": [3],
}
NO_READING = {"", "nan", "m", "na", "-", "."}


def _day_of(cells, at):
    """The day that stands in these cells, or None."""
    text = "-".join(cell.zfill(2) for cell in cells[at[0] : at[-1] + 1])
    try:
        return date.fromisoformat(text) if re.fullmatch(r"[0-9]{4}-?[0-9]{2}-?[0-9]{2}", text) else None
    except ValueError:
        return None


def _names(line, day, name):
    if name == "dly":
        return line[11:17] == f"{day:%Y%m}"
    if name == "fahrenheit":
        return line.startswith(f"{day.year},{day.month},{day.day},")
    return f"{day:%Y-%m-%d}" in line or f"{day:%Y%m%d}" in line


def outcome(path, raw):
    """The record, or None where the file was refused as it should be: in two lines, and with nothing but RecordError."""
    try:
        return read(path)
    except RecordError as problem:
        refused = problem
    except Exception as problem:
        raise AssertionError(f"{type(problem).__name__} for the file {raw!r}") from problem
    assert refused.what, raw
    assert refused.do, raw
    assert len(str(refused).split("\n")) == 2, raw
    return None


@pytest.mark.parametrize("name", BASES)
def test_no_damage_to_a_text_file_ends_in_a_traceback_a_hang_or_a_wrong_success(name, tmp_path):
    rng = np.random.default_rng([20, list(BASES).index(name)])
    path = tmp_path / "station"
    path.write_text(BASES[name][0])
    base = read(path)
    assert base.tmin.size == 45
    check(base, BASES[name][0], name, base)
    ends = {"read": 0, "refused": 0}
    for _ in range(COUNT // len(BASES)):
        raw, text = as_bytes(damaged(BASES[name][0], rng), rng)
        path.write_bytes(raw)
        before = time.monotonic()
        record = outcome(path, raw)
        ends["refused" if record is None else "read"] += 1
        if record is not None:
            try:
                check(record, text, name, base)
            except AssertionError as problem:
                raise AssertionError(f"{problem} for the file {raw!r}") from problem
        assert time.monotonic() - before < 5, raw
    assert min(ends.values()) > 0.1 * sum(ends.values()), ends  # the damage is neither too kind nor too cruel


def test_files_of_several_formats_glued_together_are_never_read_as_one(tmp_path):
    """A download that went on into the next file."""
    for first in BASES:
        for second in BASES:
            if {first, second} == {"eccc_old", "eccc_new"} or first == second:
                continue
            (tmp_path / "glued").write_text(BASES[first][0] + BASES[second][0])
            with pytest.raises(RecordError, match="line|holds 2 stations"):
                read(tmp_path / "glued")


@pytest.mark.parametrize("engine", ["h5netcdf", "scipy"])
def test_no_damage_to_a_netcdf_file_ends_in_a_traceback_or_an_unsound_record(engine, tmp_path):
    """Bytes changed or cut off. NetCDF protects its numbers by no checksum: a changed reading can't be told from a true
    one, so laws 1 and 2 have nothing to hold to here; the cache of records keeps a checksum of its own."""
    rng = np.random.default_rng([21, engine == "scipy"])
    path = tmp_path / "station"
    days = np.arange("2001-04-21", "2001-06-05", dtype="datetime64[D]").astype("datetime64[ns]")
    ds = xr.Dataset(
        {"tmin": ("time", LOW, {"units": "degC"}), "tmax": ("time", HIGH, {"units": "degC"})}, {"time": days}
    )
    ds.to_netcdf(path, engine=engine)
    whole = path.read_bytes()
    ends = {"read": 0, "refused": 0}
    for _ in range(max(COUNT // 30, 100)):
        raw = bytearray(whole)
        for _ in range(1 + int(rng.integers(3))):
            raw[int(rng.integers(8, len(raw)))] = int(rng.integers(256))
        raw = bytes(raw[: int(rng.integers(8, len(raw)))] if rng.random() < 0.1 else raw)
        path.write_bytes(raw)
        before = time.monotonic()
        record = outcome(path, raw)
        assert time.monotonic() - before < 5, raw
        ends["refused" if record is None else "read"] += 1
        if record is not None:
            sound(record)
    assert min(ends.values()) > 0, ends
