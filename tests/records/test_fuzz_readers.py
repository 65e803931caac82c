"""Damaged files: thousands of mutations of files in every format, and no wrong success among them.

A read may end in two ways. It raises `RecordError` with what is wrong and what to do, in two lines. Or it gives a record
that holds to four laws, each checked here against the damaged text itself by plain string work, apart from the readers:

1. every day and value in the record stands on a line of the file, that value with that day;
2. a line that the damage did not touch still gives its values, or the record's repairs say that it does not;
3. the record is sound: a regular axis, Tmin at or below Tmax, nothing outside the bounds of the world;
4. where the repairs say nothing, no day stands on two lines, and a day without a value has a cell that says so;
5. it took less than 10 seconds, and the memory stayed under 1 GB.

Files of six years are damaged by the stretch too (another unit, columns swapped, a year copied over another): of what
changes more than 100 values of the record nothing is taken in silence. Loggers, forecasts, fields, farms and crop
entries are refused in two lines or read, nothing else.

FROSTKIT_FUZZ=25000 raises the number of damaged files for a run by hand (default 900); `pytest -s` prints how they end.
"""

import gzip
import os
import re
import resource
import time
from collections import Counter, defaultdict
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import pytest
import xarray as xr

from frostkit.answers.silage.farm import read_fields
from frostkit.crops.entry import LIBRARY, load as load_crop
from frostkit.demo.place import FARM, LOGGER
from frostkit.errors import FrostkitError, RecordError
from frostkit.records.assemble import COLDEST, WARMEST
from frostkit.records.forecast import read_forecast
from frostkit.records.logger import read_logger
from frostkit.records.readers import read
from frostkit.show.farm import load as load_farm
from tests.units.test_readers_ghcn import dly_line

COUNT = int(os.environ.get("FROSTKIT_FUZZ", "900"))
SHORT, LONG, OTHER, NETCDF = (int(COUNT * share) for share in (0.5, 0.35, 0.11, 0.04))
SECONDS, MEMORY = 10, 1_000_000  # kB
START = date(2001, 4, 21)
DAYS = [START + timedelta(days=i) for i in range(45)]
LOW = [round(-4 + 0.7 * (i % 13) + 0.1 * (i % 4), 1) for i in range(45)]
HIGH = [round(9 + 0.9 * (i % 11) + 0.1 * (i % 3), 1) for i in range(45)]


class Series(NamedTuple):
    """Days in a row with Tmin, Tmax [degC] and rain [mm]."""

    days: list[date]
    low: list[float]
    high: list[float]
    rain: list[float]


def _years():
    """Six invented years: a wave over the year, spells that fade, rain on every fifth day."""
    days = [date(2001, 1, 1) + timedelta(days=i) for i in range(6 * 365)]
    rng = np.random.default_rng(22)
    spells = np.zeros(len(days))
    for i in range(1, len(days)):
        spells[i] = 0.75 * spells[i - 1] + rng.normal(0, 2.5)
    mean = 4 - 16 * np.cos(2 * np.pi * (np.arange(len(days)) - 15) / 365.25) + spells
    half = np.clip(rng.normal(6, 1.5, len(days)), 1.5, 11)
    rain = np.where(rng.random(len(days)) < 0.2, rng.gamma(0.8, 8, len(days)), 0)
    return Series(days, *(np.round(row, 1).tolist() for row in (mean - half, mean + half, rain)))


SPRING = Series(DAYS, LOW, HIGH, [i % 5 for i in range(45)])
YEARS = _years()


def _plain(of):
    return "date,tmin_C,tmax_C,prcp_mm\n" + "".join(f"{d},{a},{b},{r}\n" for d, a, b, r in zip(*of))


def _fahrenheit(of):
    rows = (f"{d.year},{d.month},{d.day},{round(a * 1.8 + 32)},{round(b * 1.8 + 32)},T\n" for d, a, b, _ in zip(*of))
    return "year,month,day,tmin_F,tmax_F,snow_in\n" + "".join(rows)


def _dly(of):
    lines = []
    for year, month in sorted({(d.year, d.month) for d in of.days}):
        for element, values in (("TMAX", of.high), ("TMIN", of.low)):
            there = {d.day: round(10 * v) for d, v in zip(of.days, values) if (d.year, d.month) == (year, month)}
            lines.append(dly_line(year, month, element, [there.get(day, -9999) for day in range(1, 32)]))
    return "\n".join(lines) + "\n"


def _long(of):
    rows = (
        f"XX000000001,{d:%Y%m%d},{e},{round(10 * v)},,,W,2400\n"
        for d, a, b, _ in zip(*of)
        for e, v in (("TMAX", b), ("TMIN", a))
    )
    return "id,date,element,value,m,q,s,obs\n" + "".join(rows)


def _wide(of):
    head = '"STATION","DATE","LATITUDE","LONGITUDE","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"\n'
    return head + "".join(f'"XX000000001","{d}","49.9","-99.9","{round(10 * b):5d}",",,W,2400","{round(10 * a):5d}",",,W,2400"\n'
                          for d, a, b, _ in zip(*of))  # fmt: skip


def _eccc_rows(lead, of):
    return "".join(f'{lead}"{d}","{d.year}","{d.month:02d}","{d.day:02d}","","{b}","","{a}","","0.0","T"\n'
                   for d, a, b, _ in zip(*of))  # fmt: skip


_ECCC_HEAD = ('"Date/Time","Year","Month","Day","Data Quality","Max Temp (°C)","Max Temp Flag","Min Temp (°C)",'
              '"Min Temp Flag","Total Precip (mm)","Total Precip Flag"\n')  # fmt: skip


def _eccc_old(of):
    return ('"Station Name","RIVER FLAT"\n"Latitude","49.90"\n"Longitude","-99.90"\n"Climate Identifier","5019999"\n\n'
            + _ECCC_HEAD + _eccc_rows("", of))  # fmt: skip


def _eccc_new(of):
    return ('"Longitude (x)","Latitude (y)","Station Name","Climate ID",' + _ECCC_HEAD
            + _eccc_rows('"-99.90","49.90","RIVER FLAT","5019999",', of))  # fmt: skip


# format -> (its text, from a number in the file to degC)
MADE = {
    "plain": (_plain, lambda v: v),
    "fahrenheit": (_fahrenheit, lambda v: (v - 32) / 1.8),
    "dly": (_dly, lambda v: v / 10),
    "long": (_long, lambda v: v / 10),
    "wide": (_wide, lambda v: v / 10),
    "eccc_old": (_eccc_old, lambda v: v),
    "eccc_new": (_eccc_new, lambda v: v),
}
WARMER = SPRING._replace(high=[2 * b for b in HIGH])  # whole numbers that prove themselves to be tenths
BASES = {name: (make(WARMER if name == "wide" else SPRING), back) for name, (make, back) in MADE.items()}
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
    told = sum(repair.count for repair in record.repairs if "no line names" not in repair.what)
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


def outcome(path, raw, read=read):
    """What was read, or None where the file was refused as it should be: in two lines, by an error of ours."""
    before, began = work(), time.monotonic()
    try:
        return read(path)
    except FrostkitError as problem:
        refused = problem
    except Exception as problem:
        raise AssertionError(f"{type(problem).__name__} for the file {raw!r}") from problem
    finally:
        assert work() - before < SECONDS, raw
        assert time.monotonic() - began < 10 * SECONDS, raw  # a wait is no work; a busy machine is no fault
    assert refused.what, raw
    assert refused.do, raw
    assert len(str(refused).split("\n")) >= 2, raw
    return None


def work():
    """Seconds that this process and those it started have worked."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def in_bounds():
    """The most memory that this process and those it started have taken."""
    for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN):
        assert resource.getrusage(who).ru_maxrss < MEMORY


@pytest.mark.parametrize("name", BASES)
def test_no_damage_to_a_text_file_ends_in_a_traceback_a_hang_or_a_wrong_success(name, tmp_path):
    rng = np.random.default_rng([20, list(BASES).index(name)])
    path = tmp_path / "station"
    path.write_text(BASES[name][0])
    base = read(path)
    assert base.tmin.size == 45
    check(base, BASES[name][0], name, base)
    ends = {"read": 0, "refused": 0}
    for _ in range(SHORT // len(BASES)):
        raw, text = as_bytes(damaged(BASES[name][0], rng), rng)
        path.write_bytes(raw)
        record = outcome(path, raw)
        ends["refused" if record is None else "read"] += 1
        if record is not None:
            try:
                check(record, text, name, base)
            except AssertionError as problem:
                raise AssertionError(f"{problem} for the file {raw!r}") from problem
    print(f"\n{name}: {ends}")
    in_bounds()
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
    one, so laws 1 and 2 have nothing to hold to here, and every such record says so; the cache of records keeps a
    checksum of its own."""
    rng = np.random.default_rng([21, engine == "scipy"])
    path = tmp_path / "station"
    ds = xr.Dataset(
        {"tmin": ("time", YEARS.low, {"units": "degC"}), "tmax": ("time", YEARS.high, {"units": "degC"})},
        {"time": np.array(YEARS.days, "datetime64[ns]")},
    )
    ds.to_netcdf(path, engine=engine)
    whole = path.read_bytes()
    base = read(path)
    ends = Counter({"read": 0, "refused": 0})
    for _ in range(max(NETCDF // 2, 12)):
        raw = bytearray(whole)
        for _ in range(1 + int(rng.integers(3))):
            raw[int(rng.integers(8, len(raw)))] = int(rng.integers(256))
        raw = bytes(raw[: int(rng.integers(8, len(raw)))] if rng.random() < 0.1 else raw)
        path.write_bytes(raw)
        record = outcome(path, raw)
        ends["refused" if record is None else "read"] += 1
        if record is not None:
            sound(record)
            ends["more than 100 values changed"] += changed(base, record) > 100
            assert any("which has no checksum" in repair.what for repair in record.repairs)
    print(f"\n{engine}: {dict(ends)}")
    in_bounds()
    assert min(ends["read"], ends["refused"]) > 0, ends


# -- six years: damage by the stretch ------------------------------------------------------------------------------


def _row_numbers(name, line):
    """Where Tmin and Tmax stand among the cells of a line, or None where it is not one of days."""
    at = {"plain": (1, 2), "fahrenheit": (3, 4), "wide": (9, 4), "eccc_old": (7, 5), "eccc_new": (11, 9)}[name]
    cells = line.split(",")
    return at if len(cells) > max(at) and any(ch.isdigit() for ch in line[:30]) else None


def _change(value, how, unit):
    """A number as it would stand in another unit, or otherwise gone wrong."""
    number = float(value.strip(' "'))
    changes = {
        "unit": (number - 32) / 1.8 if unit == "F" else number * 1.8 + 32 * (10 if unit == "tenths" else 1),
        "tenths": number / 10 if unit == "tenths" else number * 10,
        "sign": abs(number),
        "same": 0,
    }
    new = f"{changes[how]:.0f}" if unit in ("tenths", "F") else f"{changes[how]:.1f}"
    return value.replace(value.strip(' "'), new)


def by_stretch(name, rng):
    """A file of six years with a stretch of 60 days to five years damaged, and what was done to it."""
    text = LONG_BASES[name]
    lines = text.split("\n")
    first = int(rng.integers(10, len(lines) - 70))
    last = min(len(lines) - 1, first + int(rng.integers(60, 1800)) * (2 if name == "long" else 1))
    how = ["unit", "tenths", "sign", "same", "swap", "copy", "lost", "header"][rng.integers(8)]
    if name == "dly" and how not in ("copy", "lost"):
        how = "swap"
    if how == "header":
        head = text.index("\n", text.index("Max Temp") if "Max Temp" in text else 0)
        at = int(rng.integers(head))
        return text[:at] + chr(int(rng.integers(33, 127))) + text[at + 1 :], how
    if how == "lost":
        return "\n".join(lines[:first] + lines[last:]), how
    if how == "copy":
        shift = 365 * (2 if name == "long" else 1)
        if name == "dly":
            shift = 24
        source = [lines[(i - shift) if i - shift > 10 else i + shift] if 10 < i + shift < len(lines) - 1 else lines[i]
                  for i in range(first, last)]  # fmt: skip
        new = [_dated(mine, theirs, name) for mine, theirs in zip(lines[first:last], source)]
        return "\n".join(lines[:first] + new + lines[last:]), how
    unit = {"dly": "tenths", "long": "tenths", "wide": "tenths", "fahrenheit": "F"}.get(name, "C")
    for i in range(first, last):
        if name in ("long", "dly"):
            if how == "swap":
                lines[i] = lines[i].replace("TMIN", "T___").replace("TMAX", "TMIN").replace("T___", "TMAX")
            else:
                cells = lines[i].split(",")
                cells[3] = _change(cells[3], how, unit)
                lines[i] = ",".join(cells)
        elif (at := _row_numbers(name, lines[i])) is not None:
            cells = lines[i].split(",")
            if how == "swap":
                cells[at[0]], cells[at[1]] = cells[at[1]], cells[at[0]]
            else:
                for one in at:
                    cells[one] = _change(cells[one], how, unit)
            lines[i] = ",".join(cells)
    return "\n".join(lines), how


def _dated(mine, theirs, name):
    """Their line with my day."""
    if name == "dly":
        return mine[:21] + theirs[21:]
    keep = {"plain": 1, "fahrenheit": 3, "long": 3, "wide": 4, "eccc_old": 4, "eccc_new": 8}[name]
    return ",".join(mine.split(",")[:keep] + theirs.split(",")[keep:])


LONG_BASES = {name: make(YEARS) for name, (make, _) in MADE.items()}


def changed(base, record):
    """How many values of `base` are others in `record`, are gone within its span, or stand there without being in it."""
    count = 0
    at = int((record.start - base.start).astype(int))
    size = record.tmin.size
    for name in ("tmin", "tmax", "prcp"):
        was, now = (of.more.get(name) if name == "prcp" else getattr(of, name) for of in (base, record))
        if was is None:
            continue
        now = np.full(size, np.nan, np.float32) if now is None else now
        laid = np.full(size, np.nan, np.float32)
        first, behind = max(at, 0), min(at + size, was.size)
        if first < behind:
            laid[first - at : behind - at] = was[first:behind]
        count += int((np.abs(laid - now) > 0.06).sum() + (np.isnan(laid) != np.isnan(now)).sum())
    return count


@pytest.mark.parametrize("name", MADE)
def test_of_damage_that_changes_over_100_values_none_is_taken_in_silence(name, tmp_path):
    rng = np.random.default_rng([23, list(MADE).index(name)])
    path = tmp_path / "station"
    path.write_text(LONG_BASES[name])
    base = read(path)
    assert base.tmin.size == 2190
    assert not base.source.get("suspect")
    known = {repair.what for repair in base.repairs}
    ends = Counter()
    for number in range(LONG // len(MADE)):
        text, how = by_stretch(name, rng) if number % 3 else (damaged(LONG_BASES[name], rng), "bytes")
        raw = text.encode()
        path.write_bytes(raw)
        record = outcome(path, raw[:300])
        if record is None:
            ends[f"{how}: refused"] += 1
            continue
        sound(record)
        much = changed(base, record) > 100
        said = record.source.get("suspect") or any(repair.what not in known for repair in record.repairs)
        ends[f"{how}: {'over 100 changed, ' if much else 'read'}{('said' if said else 'SILENT') if much else ''}"] += 1
        if much and not said:
            (tmp_path / "silent").write_bytes(raw)
            raise AssertionError(
                f"{how}: {changed(base, record)} values changed and nothing is said; {path.parent}/silent"
            )
    print(f"\n{name}: {dict(sorted(ends.items()))}")
    in_bounds()
    assert sum(count for end, count in ends.items() if "refused" in end) > 0.2 * sum(ends.values())


# -- the other inputs ----------------------------------------------------------------------------------------------

FORECAST = "date,tmin_C,tmax_C,tmin_spread_C\n" + "".join(
    f"2025-08-{d},8.{d % 10},{20 + d % 5},1\n" for d in range(20, 31)
)
FIELDS = "name,area_ha,seeded,corn,haul_km\n" + "".join(
    f"f{i},{20 + i},05-{10 + i},silage-2300,{i}\n" for i in range(9)
)
INPUTS = {
    "logger": (LOGGER.read_text("utf-8")[:6000], read_logger),
    "forecast": (FORECAST, read_forecast),
    "fields": (FIELDS, read_fields),
    "farm.toml": (FARM.read_text("utf-8"), load_farm),
    "crop.toml": ((LIBRARY / "silage-2300.toml").read_text("utf-8"), load_crop),
}


@pytest.mark.parametrize("name", INPUTS)
def test_no_damage_to_another_input_ends_in_a_traceback_or_a_hang(name, tmp_path):
    rng = np.random.default_rng([24, list(INPUTS).index(name)])
    text, load = INPUTS[name]
    path = tmp_path / name
    path.write_text(text, "utf-8")
    load(path)
    ends = {"read": 0, "refused": 0}
    for _ in range(OTHER // len(INPUTS)):
        raw, _ = as_bytes(damaged(text, rng), rng)
        path.write_bytes(raw)
        ends["refused" if outcome(path, raw, load) is None else "read"] += 1
    print(f"\n{name}: {ends}")
    in_bounds()
    assert min(ends.values()) > 0, ends
