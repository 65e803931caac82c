"""The field's own logger: a CSV of hours or days, weeks or years long, as daily Tmin and Tmax and hours of cold."""

import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.opening import contents
from frostkit.records import cells, plain
from frostkit.records.alone import COLDEST, WARMEST
from frostkit.records.readers import read
from frostkit.records.record import Hours, Record, Repair, Station

TIMES = ("time", "datetime", "timestamp", "datetimelocal", "localtime", "timelocal", "datetimelst")
CLOCKS = ("time", "hour", "clock", "timeofday", "localtime")
DATES = ("date", "day", "localdate")
READINGS = ("temp", "temperature", "airtemp", "airtemperature", "tair", "t", "tempair", "temperatureair", "drybulb")
LONGEST_STEP = np.timedelta64(180, "m")  # between readings of a day that counts; 3-hourly is the sparsest: OURS
LONGEST_PAUSE = np.timedelta64(1100 * 1440, "m")  # three winters without a reading: sooner a slip of the pen; OURS
HALF_A_TENTH = 0.05  # degC; readings come in tenths, as in DESIGN: a threshold takes the half tenth with it
_CLOCK = re.compile(r"([0-9]{1,2})(?::?([0-9]{2})(?::([0-9]{2})(?:\.[0-9]+)?)?)?\s*([ap])?\.?(?:m\.?)?", re.I)
_ZONE = re.compile(r"(Z|[+-][0-9]{2}:?[0-9]{2}|UTC|GMT)$")


@dataclass(frozen=True)
class Hourly:
    """Readings within the day, in order of time.

    time : datetime64[m] [reading], local standard time
    celsius : float32 [reading], degC
    """

    time: NDArray[np.datetime64]
    celsius: NDArray[np.float32]


@dataclass(frozen=True)
class Logger:
    """What a logger recorded: its days, and its hours where the file has them."""

    record: Record
    hourly: Hourly | None = None


def read_logger(path: str | Path, input_units: str | None = None, name: str | None = None) -> Logger:
    """A field's logger from CSV, hourly (a time and a temperature) or daily (a date, Tmin and Tmax).

    Parameters
    ----------
    path : file, plain or gzipped
    input_units : "C" or "F", for a file whose header does not say it
    name : of the field

    Raises
    ------
    RecordError
        Where a column, a unit or a time can't be told; the message says where, and what to do.
    """
    path = Path(path)
    text, _ = cells.decode(contents(path, "Give a CSV file with the field's hours or days."), path.name)
    head, begin, line = cells.header_at(text, comments=True)
    header = cells.header_cells(head, path.name, line)
    if {"tmin", "tmax"} & {plain.name_and_unit(cell)[0] for cell in header}:
        return Logger(read(path, input_units, name))
    table = cells.table(text, header, cells.separator(head), path.name, line + 1, begin + len(head) + 1, cut=True)
    column, unit = _reading_column(header, path.name, line)
    if input_units is not None:
        input_units = plain.temperature_unit(input_units)
    if unit and input_units and unit != input_units:
        raise RecordError(f"{path.name}, line {line}: the header says °{unit}, the option says °{input_units}.",
                          "Leave out --input-units, or correct the header.")  # fmt: skip
    if not (unit or input_units):
        raise RecordError(f"{path.name}, line {line}, {header[column]}: the header does not say °C or °F.",
                          "Say --input-units C or --input-units F, or write it in the header, as temp_C.")  # fmt: skip
    values = cells.numbers(table, column, "a temperature", stand_ins=cells.STAND_INS)
    time = _times(table, header, line)
    hourly = _in_order(time, plain.TO_CELSIUS[unit or input_units or ""](values), table)
    record = by_day(hourly)
    said = {"format": "logger CSV, hours", "files": path.name}
    return Logger(replace(record, station=Station(name=name or path.stem), source=said,
                          repairs=tuple(table.repairs)), hourly)  # fmt: skip


def _reading_column(header, file, line):
    """The column with the temperature, and its unit where the header says it."""
    found = []
    for index, cell in enumerate(header):
        split = plain.UNIT_AT_END.match(cell)
        unit = plain.WORDS_OF_UNITS.get(plain.bare(split[2] or split[3]), "") if split else ""
        unit = unit if unit in plain.TO_CELSIUS else ""
        name = split[1] if split and unit else cell
        if plain.bare(name) in READINGS:
            found.append((index, unit))
    if len(found) != 1:
        listed = ", ".join(header)
        what = "no column" if not found else "more than one column"
        raise RecordError(f"{file}, line {line}: {what} for the temperature; the columns are: {listed[:120]}.",
                          "Name one column temp_C or temp_F, or give days as date,tmin_C,tmax_C.")  # fmt: skip
    return found[0]


def _times(table, header, line):
    """The time of each reading, datetime64[m], from one column or from a date and a clock column."""
    names = [plain.bare(cell) for cell in header]
    whole = [i for i, name in enumerate(names) if name in TIMES]
    date = [i for i, name in enumerate(names) if name in DATES]
    clock = [i for i, name in enumerate(names) if name in CLOCKS]
    if date and clock:
        column, days, clocks = clock[0], table.cells(date[0]), table.cells(clock[0])
    elif whole or date:
        column = (whole or date)[0]
        parts = [re.split(r"[ T]+", cell, maxsplit=1) for cell in table.cells(column)]
        row = next((i for i, part in enumerate(parts) if len(part) < 2), None)
        if row is not None:
            raise RecordError(f"{table.where(row, column)}: {cells.shown(' '.join(parts[row]))} has no time of day.",
                              "Write time as YYYY-MM-DD HH:MM, or give days as date,tmin_C,tmax_C.")  # fmt: skip
        days, clocks = [part[0] for part in parts], [part[1] for part in parts]
    else:
        raise RecordError(f"{table.file}, line {line}: no column for the time; the columns are: "
                          f"{', '.join(header)[:120]}.", "Name it time, or date and time.")  # fmt: skip
    return cells.days(table.one_column(column, days), 0).astype("datetime64[m]") + _minutes(table, column, clocks)


def _minutes(table, column, clocks):
    """Minutes since midnight of clock times such as 13:05, 1:05 PM or 13."""
    meaning = {}
    for clock in set(clocks):
        row = clocks.index(clock)
        if _ZONE.search(clock):
            raise RecordError(f"{table.where(row, column)}: {cells.shown(clock)} carries a time zone.",
                              "Write the times in local standard time, without a zone.")  # fmt: skip
        match = _CLOCK.fullmatch(clock)
        hour, minute = (int(match[1]), int(match[2] or 0)) if match else (99, 0)
        if match and match[4]:
            hour = hour % 12 + 12 * (match[4].lower() == "p") if 1 <= hour <= 12 else 99
        if not ((hour < 24 and minute < 60) or (hour, minute) == (24, 0)):
            raise RecordError(f"{table.where(row, column)}: {cells.shown(clock)} is not a time of day.",
                              "Write time as HH:MM, such as 05:30.")  # fmt: skip
        meaning[clock] = hour * 60 + minute
    return np.array([meaning[clock] for clock in clocks], "timedelta64[m]")


def _in_order(time, values, table):
    """Known readings in order of time; of two at one time (the clock set back in fall) the later line is kept."""
    known = np.isfinite(values)
    with np.errstate(invalid="ignore"):
        odd = known & ((values < COLDEST) | (values > WARMEST))
    if odd.any():
        what = f"readings colder than {COLDEST} or warmer than {WARMEST} °C taken as missing"
        table.repairs.append(Repair(what, int(odd.sum()), f"line {table.lines[odd.argmax()]}"))
    known &= ~odd
    if not known.any():
        raise RecordError(f"{table.file} has no reading.", "Give a file with temperatures in it.")
    order = np.flatnonzero(known)[np.argsort(time[known], kind="stable")]
    time, values = time[order], values[order]
    step = np.flatnonzero(np.diff(time) > LONGEST_PAUSE)
    if step.size:
        row = min(order[step[0]], order[step[0] + 1], key=lambda row: -table.lines[row])
        raise RecordError(f"{table.file}, near line {table.lines[row]}: nothing between {time[step[0]]} and "
                          f"{time[step[0] + 1]}.", "Is a year mistyped? Correct it, or give two files.")  # fmt: skip
    last = np.append(time[1:] != time[:-1], True)
    return Hourly(time[last], values[last].astype(np.float32))


def of_station(hours: Hours) -> Hourly:
    """A station's hourly record in local standard time, taken from its longitude (15 degrees an hour).

    Raises `RecordError` where the station's longitude is not known.
    """
    east = hours.station.longitude
    if not np.isfinite(east):
        raise RecordError(f"The longitude of '{hours.station.name}' is not known, so neither is its local time.",
                          "Give --longitude.")  # fmt: skip
    known = np.isfinite(hours.temp)
    start = hours.start.astype("datetime64[m]") + np.timedelta64(60 * round(east / 15), "m")
    time = start + np.arange(known.size) * np.timedelta64(60, "m")
    return Hourly(time[known], hours.temp[known])


def by_day(hourly: Hourly, from_hour: int = 0) -> Record:
    """Tmin and Tmax of each day that has no step of more than 3 hours between readings; the others are not known.

    from_hour : hour at which a day begins: 0 for calendar days; 12 for nights, named by the day on which they end
    """
    start, day, whole = _days(hourly, from_hour)
    tmin, tmax = (np.full(whole.size, fill, np.float32) for fill in (np.inf, -np.inf))
    np.minimum.at(tmin, day, hourly.celsius)
    np.maximum.at(tmax, day, hourly.celsius)
    none = np.float32(np.nan)
    return Record(Station(), start, np.where(whole, tmin, none), np.where(whole, tmax, none))


def hours_at_or_below(hourly: Hourly, at_or_below: float, from_hour: int = 0) -> NDArray[np.float32]:
    """Hours of each day at or below a temperature [h], by straight lines between readings; NaN where a day has gaps.

    Parameters
    ----------
    hourly : Hourly
    at_or_below : degC; the half tenth is counted with it
    from_hour : as in `by_day`, whose days these are

    >>> time = np.datetime64("2020-09-10T00:00") + np.arange(25) * np.timedelta64(60, "m")
    >>> hourly = Hourly(time, np.abs(np.arange(25) - 6).astype("f4") - 2)  # -2 at 6:00, 1 degree an hour
    >>> round(float(hours_at_or_below(hourly, 0.0)[0]), 1)
    4.1
    """
    limit = at_or_below + HALF_A_TENTH
    start, _, whole = _days(hourly, from_hour)
    edges = start.astype("datetime64[m]") + _shift(from_hour) + np.arange(whole.size + 1) * np.timedelta64(1440, "m")
    minute = (hourly.time - edges[0]).astype(float)
    edge = (edges - edges[0]).astype(float)
    edge = edge[(edge > minute[0]) & (edge < minute[-1])]
    at = np.union1d(minute, edge)
    value = np.interp(at, minute, hourly.celsius)
    low, high = np.minimum(value[:-1], value[1:]), np.maximum(value[:-1], value[1:])
    flat = high == low
    share = np.where(flat, low <= limit, np.clip((limit - low) / np.where(flat, 1, high - low), 0, 1))
    day = ((at[:-1] + at[1:]) / 2 // 1440).astype(int)
    hours = np.bincount(day, share * np.diff(at) / 60, whole.size)
    return np.where(whole, hours, np.nan).astype(np.float32)


def _shift(from_hour):
    """From midnight to the begin of the day: a night begins on the day before the one it is named by."""
    return np.timedelta64(from_hour * 60 - (1440 if from_hour else 0), "m")


def _days(hourly, from_hour):
    """First day, each reading's day counted from it, and which days have no step of more than 3 hours."""
    moved = hourly.time - _shift(from_hour)
    dates = moved.astype("datetime64[D]")
    start = dates[0]
    day = (dates - start).astype(int)
    count = int(day[-1]) + 1
    whole = np.ones(count, bool)
    step = np.flatnonzero(np.diff(hourly.time) > LONGEST_STEP)
    begins = (moved[step] - start.astype("datetime64[m]")).astype(int) // 1440
    ends = ((moved[step + 1] - start.astype("datetime64[m]")).astype(int) - 1) // 1440
    for first, last in zip(begins, ends, strict=True):
        whole[first : last + 1] = False
    whole[0] &= moved[0] - start.astype("datetime64[m]") <= LONGEST_STEP
    whole[-1] &= (start + count).astype("datetime64[m]") - moved[-1] <= LONGEST_STEP
    return start, day, whole
