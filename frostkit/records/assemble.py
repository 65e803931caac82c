"""From what the files gave to a record: days in a row, and every repair counted.

A value is masked or moved to its day, never altered; what is too much to repair is an error that says why.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records import gates
from frostkit.records.record import Record, Repair, Station

COLDEST, WARMEST = -89.4, 57.7  # degC, world bounds: Durre et al. 2010 (from memory of the paper)
MOST = {"prcp": 1825.0, "snow": 2000.0, "snwd": 12000.0}  # mm a day; records of the world (WMO archive, from memory)
BEYOND = 2000.0  # degC, as tenths read as whole degrees
WETTEST = 10.0  # mm a day over all days: more than any field north of the tropics has, and than most within


@dataclass
class Column:
    """One element as a file gave it: its days, values and line numbers [row], in any order."""

    days: NDArray[np.datetime64]
    values: NDArray[np.float64]
    lines: NDArray[np.integer]


@dataclass
class Part:
    """What one file gave. `together`: its columns stand side by side in rows, one row a day."""

    file: str
    columns: dict[str, Column]
    station: Station = Station()
    signs: Column | None = None
    repairs: list[Repair] = field(default_factory=list)
    source: dict[str, str] = field(default_factory=dict)
    together: bool = True
    invented: bool = False


def assemble(parts: Sequence[Part], details: Mapping[str, str | float | None]) -> Record:
    """One record from the parts of one station, in the order of their days.

    Parameters
    ----------
    parts : what each file gave; temperatures in degC
    details : name, latitude, longitude, elevation as the person gave them; None leaves what the file says

    Raises
    ------
    RecordError
        Where there is no Tmin or no Tmax, where the unit changes or columns are swapped for a stretch, or where more
        than 3 % of days (and at least 3) are given twice with different values, have Tmin above Tmax, lie outside the
        bounds of the world, or look impossible beside their neighbours; see `records.gates`.
    """
    parts = sorted(parts, key=_first_day)
    file = parts[0].file if len(parts) == 1 else f"{len(parts)} files from {parts[0].file} to {parts[-1].file}"
    columns = {name: _joined([part.columns[name] for part in parts if name in part.columns])
               for name in dict.fromkeys(name for part in parts for name in part.columns)}  # fmt: skip
    for name in ("tmin", "tmax"):
        if name not in columns:
            raise RecordError(f"{file}: there is no {name}; found {', '.join(columns) or 'no element that is known'}.",
                              "Give a file with daily minimum and maximum temperature.")  # fmt: skip
    repairs = _summed([repair for part in parts for repair in part.repairs])
    start = min(column.days.min() for column in columns.values())
    size = int((max(column.days.max() for column in columns.values()) - start).astype(int)) + 1
    _daily(columns, file)
    together = all(part.together for part in parts)
    if together:
        repairs += _out_of_order(parts)
    values, line_of = _on_the_axis(columns, start, size, file, together, repairs)
    repairs += _unnamed(columns, start)
    sign = None
    if any(part.signs is not None for part in parts):
        joined = _joined([part.signs for part in parts if part.signs is not None])
        sign = np.zeros(size, np.int8)
        sign[(joined.days - start).astype(int)] = joined.values

    def where(day: int) -> str:
        spot = f", line {line_of[day]}" if len(parts) == 1 and line_of[day] else ""
        return f"{file}{spot}"

    _held(gates.odd(_both(values), start), where)
    _bounds(values, start, where, repairs)
    _crossed(values, start, where, repairs)
    _held(gates.whole(_both(values), start), where)
    if not np.isfinite(values["tmin"]).any() or not np.isfinite(values["tmax"]).any():
        empty = "tmin" if not np.isfinite(values["tmin"]).any() else "tmax"
        raise RecordError(f"{file}: no day has a {empty}.", "Give a file with daily minimum and maximum temperature.")
    read = np.isfinite(values["tmin"]) | np.isfinite(values["tmax"])
    if sign is not None:
        sign[np.isfinite(values["tmin"])] = 0
        read |= sign != 0
        sign = sign if sign.any() else None
    first, behind = int(np.argmax(read)), size - int(np.argmax(read[::-1]))
    cut = slice(first, behind)
    station, moves = _station(parts, details)
    if not (station.name or station.id):
        station = replace(station, name=parts[0].file.split("/")[-1].split(".")[0])
    source = {"files": file}
    for part in parts:
        source |= part.source
    record = Record(
        station=station,
        start=start + first,
        tmin=values["tmin"][cut].astype(np.float32),
        tmax=values["tmax"][cut].astype(np.float32),
        sign=None if sign is None else sign[cut],
        more={name: column[cut].astype(np.float32) for name, column in values.items()
              if name not in ("tmin", "tmax") and np.isfinite(column[cut]).any()},
        source=source,
        repairs=tuple(repairs + moves),
        invented=any(part.invented for part in parts),
    )  # fmt: skip
    return gates.counted(record)


def _both(values: Mapping[str, NDArray[np.float64]]) -> NDArray[np.float32]:
    """Tmin and Tmax [2, day]; what is beyond any unit of temperature as not known."""
    both = np.stack([values["tmin"], values["tmax"]])
    with np.errstate(invalid="ignore"):
        return np.where(np.abs(both) < BEYOND, both, np.nan).astype(np.float32)


def _held(fault: gates.Fault | None, where: Callable[[int], str]) -> None:
    if fault is not None:
        raise RecordError(f"{where(fault.day)}, {fault.columns}: {fault.what}", fault.do)


def _daily(columns: Mapping[str, Column], file: str) -> None:
    """Values a week or a month apart are no daily record, and no record with holes either."""
    days = np.sort(columns["tmin"].days[~np.isnan(columns["tmin"].values)])
    days = days[np.diff(days, prepend=days[:1] - 1) > np.timedelta64(0, "D")]
    if days.size > gates.AT_LEAST and (step := float(np.median(np.diff(days).astype(int)))) > 1:
        raise RecordError(f"{file}: the values are {step:g} days apart, first {days[0]} and {days[1]}.",
                          "Give daily values.")  # fmt: skip


def _first_day(part: Part) -> np.datetime64:
    return min(column.days.min() for column in part.columns.values())


def _joined(columns: Sequence[Column]) -> Column:
    if len(columns) == 1:
        return columns[0]
    return Column(np.concatenate([column.days for column in columns]),
                  np.concatenate([column.values for column in columns]),
                  np.concatenate([column.lines for column in columns]))  # fmt: skip


def _summed(repairs: Sequence[Repair]) -> list[Repair]:
    """Repairs of one kind in several files counted as one, at the first place."""
    out: dict[str, Repair] = {}
    for repair in repairs:
        before = out.get(repair.what)
        out[repair.what] = repair if before is None else replace(before, count=before.count + repair.count)
    return list(out.values())


def _out_of_order(parts: Sequence[Part]) -> list[Repair]:
    """Rows that stand behind a later day; nothing is lost by sorting them."""
    count, first = 0, ""
    for part in parts:
        column = next(iter(part.columns.values()))
        back = np.flatnonzero(np.diff(column.days) < np.timedelta64(0, "D"))
        if back.size:
            first = first or f"{part.file}, line {column.lines[back[0] + 1]}"
            count += back.size
    return [Repair("days out of order: sorted", count, first)] if count else []


def _unnamed(columns: Mapping[str, Column], start: np.datetime64) -> list[Repair]:
    """Days between the first and the last that have no line of Tmin or none of Tmax: a stretch of the file is gone."""
    at = [(columns[name].days - start).astype(int) for name in ("tmin", "tmax")]
    first, last = min(days.min() for days in at), max(days.max() for days in at)
    named = np.zeros((2, last - first + 1), bool)
    for row, days in zip(named, at, strict=True):
        row[days - first] = True
    gone = np.flatnonzero(~named.all(0))
    if not gone.size:
        return []
    return [Repair("days that no line names: missing", gone.size, str(start + int(first + gone[0])))]


def _on_the_axis(
    columns: Mapping[str, Column], start: np.datetime64, size: int, file: str, together: bool, repairs: list[Repair]
) -> tuple[dict[str, NDArray[np.float64]], NDArray[np.int64]]:
    """Every element on the regular axis. A day given twice keeps what agrees; what differs is taken as missing.

    An error at the first such day would lose a century for one slip, and to choose one of two values would be a guess;
    a missing day only widens the answer.
    """
    values, line_of = {}, np.zeros(size, np.int64)
    twice, differ = np.zeros(size, bool), np.zeros(size, bool)
    for name, column in columns.items():
        at = (column.days - start).astype(int)
        known = ~np.isnan(column.values)
        line_of[at[::-1]] = column.lines[::-1]
        out = np.full(size, np.nan)
        out[at[known]] = column.values[known]
        counts = np.bincount(at[known], minlength=size)
        if counts.max(initial=0) > 1:
            least, most = np.full(size, np.inf), np.full(size, -np.inf)
            np.minimum.at(least, at[known], column.values[known])
            np.maximum.at(most, at[known], column.values[known])
            unlike = (counts > 1) & (most > least)
            out[unlike] = np.nan
            differ |= unlike
            twice |= counts > 1
        if together:
            twice |= np.bincount(at, minlength=size) > 1
        values[name] = out
    same = twice & ~differ
    if same.any():
        repairs.append(Repair("days given more than once, with the same values: taken once", int(same.sum()),
                              str(start + int(np.argmax(same)))))  # fmt: skip
    if differ.any():
        day = int(np.argmax(differ))
        read = int(np.isfinite(values["tmin"]).sum() + differ.sum())
        spot = f", line {line_of[day]}" if line_of[day] else ""
        if gates.over(int(differ.sum()), read):
            raise RecordError(
                f"{file}{spot}: {differ.sum()} days are given more than once with different values, "
                f"the first is {gates.said(start + day)}.",
                "Give daily values of one station: is the file hourly, or does it hold several stations?",
            )
        repairs.append(Repair("days given more than once, with different values: what differs taken as missing",
                              int(differ.sum()), str(start + day)))  # fmt: skip
    return values, line_of


def _bounds(
    values: dict[str, NDArray[np.float64]], start: np.datetime64, where: Callable[[int], str], repairs: list[Repair]
) -> None:
    """Values that no place on Earth has had are taken as missing; many such temperatures mean another unit."""
    for name in ("tmin", "tmax"):
        column = values[name]
        with np.errstate(invalid="ignore"):
            outside = (column < COLDEST) | (column > WARMEST)
        if not outside.any():
            continue
        day = int(np.argmax(outside))
        if gates.over(int(outside.sum()), int(np.isfinite(column).sum())):
            raise RecordError(
                f"{where(day)}, {name}: {column[day]:.6g} °C on {gates.said(start + day)} and {outside.sum()} days in "
                f"all lie outside what the world has seen ({COLDEST} to {WARMEST} °C).",
                "Are the readings in °F, or in tenths of a degree? Say --input-units F, or tenths.",
            )
        repairs.append(Repair(f"{name} outside {COLDEST} to {WARMEST} °C: taken as missing", int(outside.sum()),
                              str(start + day)))  # fmt: skip
        column[outside] = np.nan
    for name, most in MOST.items():
        if name in values:
            with np.errstate(invalid="ignore"):
                outside = (values[name] < 0) | (values[name] > most)
            if outside.any():
                repairs.append(Repair(f"{name} below 0 or above {most:g} mm: taken as missing", int(outside.sum()),
                                      str(start + int(np.argmax(outside)))))  # fmt: skip
                values[name][outside] = np.nan
    prcp = values.get("prcp", np.zeros(0))
    known = np.isfinite(prcp)
    if known.sum() >= 365 and (mean := float(prcp[known].mean())) > WETTEST:
        repairs.append(Repair(f"prcp left out: {365 * mean:,.0f} mm a year fall on no field; is its unit right?",
                              int(known.sum()), str(start + int(np.argmax(known)))))  # fmt: skip
        prcp[:] = np.nan


def _crossed(
    values: dict[str, NDArray[np.float64]], start: np.datetime64, where: Callable[[int], str], repairs: list[Repair]
) -> None:
    """Tmin above Tmax: one of the two is wrong, and the file can't say which; both are taken as missing."""
    tmin, tmax = values["tmin"], values["tmax"]
    with np.errstate(invalid="ignore"):
        crossed = tmin > tmax
    if not crossed.any():
        return
    day = int(np.argmax(crossed))
    if gates.over(int(crossed.sum()), int((np.isfinite(tmin) & np.isfinite(tmax)).sum())):
        raise RecordError(
            f"{where(day)}, tmin: {tmin[day]:.6g} on {gates.said(start + day)} is above tmax {tmax[day]:.6g}, and so "
            f"on {crossed.sum()} days in all; are the columns swapped, or one of them in °F?",
            "Correct the header, or say the units; allowed: tmin at or below tmax.",
        )
    repairs.append(Repair("Tmin above Tmax: both taken as missing", int(crossed.sum()), str(start + day)))
    tmin[crossed] = tmax[crossed] = np.nan


def _station(parts: Sequence[Part], details: Mapping[str, str | float | None]) -> tuple[Station, list[Repair]]:
    """The station as the last file knows it, completed by the others and by the person; its changes are reported."""
    station, moves = Station(), []
    for part in parts:
        new = part.station
        for key, what in (("id", "number"), ("name", "name")):
            before, after = getattr(station, key), getattr(new, key)
            if before and after and before != after:
                moves.append(Repair(f"the station's {what} changes from {before} to {after}: read as one record", 1,
                                    f"{part.file}, {_first_day(part)}"))  # fmt: skip
        station = Station(
            new.id or station.id,
            new.name or station.name,
            *(getattr(new, key) if isfinite(getattr(new, key)) else getattr(station, key)
              for key in ("latitude", "longitude", "elevation")),
        )  # fmt: skip
    given: dict[str, Any] = {key: value for key, value in details.items() if value is not None}
    for key, bound in (("latitude", 90.0), ("longitude", 180.0)):
        value = given.get(key, getattr(station, key))
        if isfinite(value) and abs(value) > bound:
            raise RecordError(f"{parts[-1].file}: {key} {value} is not between -{bound:g} and {bound:g}.",
                              f"Give the {key} in degrees, north and east positive.")  # fmt: skip
    return replace(station, **given), moves
