"""Environment and Climate Change Canada's daily CSV: the layout with a block of station lines, and the newer one.

Flags (legend in the older files themselves): M missing, E estimated, N and Y temperature missing but known to be above
or below 0 °C, T trace, C precipitation of uncertain amount, L it may or may not have occurred, A accumulated over
several days, F accumulated and estimated, S more than once, ^ based on incomplete data; in the column Data Quality a
dagger marks preliminary values and a double dagger those of a partner.
"""

import re
from collections.abc import Callable
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records import cells
from frostkit.records.assemble import Column, Part
from frostkit.records.record import Repair, Station

_SOURCE = {
    "format": "ECCC daily CSV",
    "provider": "Environment and Climate Change Canada",
    "attribution": "contains information from Environment and Climate Change Canada",
}
Days = NDArray[np.datetime64]
HEADER = re.compile(r'^"?(?:Date/Time|Longitude \(x\)|Year).*Max Temp \((?:.?.?|deg )C\)', re.M)
_MORE = {"Total Precip (mm)": ("prcp", 1.0), "Total Snow (cm)": ("snow", 10.0), "Snow on Grnd (cm)": ("snwd", 10.0)}
_DETAILS = {"climate identifier": "id", "climate id": "id", "station name": "name", "latitude": "latitude",
            "latitude (y)": "latitude", "longitude": "longitude", "longitude (x)": "longitude",
            "elevation": "elevation", "elevation (m)": "elevation"}  # fmt: skip
HOURLY = re.compile(r'^"?(?:Date/Time|Longitude \(x\)|Year).*[",]Temp \(', re.M)


def read(text: str, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What one daily file holds.

    Raises
    ------
    RecordError
        Where a column is missing or a cell is not what it should be.
    """
    if input_units not in (None, "C"):
        raise RecordError(f"{file}: ECCC's daily files are in °C by their layout, the option says {input_units}.",
                          "Leave out --input-units.")  # fmt: skip
    found = HEADER.search(text)
    assert found is not None
    at = text.count("\n", 0, found.start())
    head = text[found.start() : text.find("\n", found.start()) if "\n" in text[found.start() :] else len(text)]
    names = cells.header_cells(head, file, at + 1)
    table = cells.table(text, names, cells.separator(head), file, at + 2, found.start() + len(head) + 1, cut=True)
    places = {re.sub(r"\(.?.?C\)|\(deg C\)", "(C)", name).strip(): index for index, name in enumerate(names)}
    missing = [name for name in ("Min Temp (C)", "Max Temp (C)") if name not in places]
    if "Date/Time" not in places and not {"Year", "Month", "Day"} <= set(places):
        missing.insert(0, "Date/Time")
    if missing:
        raise RecordError(f"{file}, line {at + 1}: no column for {', '.join(missing)}.",
                          "Give ECCC's daily file as it was fetched.")  # fmt: skip
    days = _days(table, places)
    tmin = cells.numbers(table, places["Min Temp (C)"], "a temperature", stand_ins=cells.STAND_INS)
    tmax = cells.numbers(table, places["Max Temp (C)"], "a temperature", stand_ins=cells.STAND_INS)
    low_flag, high_flag = (_flags(table, places, f"{name} Temp Flag") for name in ("Min", "Max"))
    repairs = table.repairs
    for element, values, flag in (("tmin", tmin, low_flag), ("tmax", tmax, high_flag)):
        _masked(values, flag("M", "N", "Y"), f"{element} with ECCC's flag M, N or Y", days, repairs)
        _masked(values, flag("^"), f"{element} with ECCC's flag ^ (from incomplete data)", days, repairs)
        _told(~np.isnan(values) & flag("E"), f"{element} estimated by ECCC (flag E): kept", days, repairs)
    signs = np.where(low_flag("N"), 1, np.where(low_flag("Y") | high_flag("Y"), -1, 0))
    signs = np.where(np.isnan(tmin), signs, 0)
    if "Data Quality" in places:
        quality = _flags(table, places, "Data Quality")
        read_at_all = ~np.isnan(tmin) | ~np.isnan(tmax)
        _told(quality("†", "\x86") & read_at_all, "days with preliminary checks only (†): kept", days, repairs)
        _told(quality("‡", "\x87") & read_at_all, "days of an ECCC partner (‡): kept", days, repairs)
    columns = {"tmin": Column(days, tmin, table.lines), "tmax": Column(days, tmax, table.lines)}
    for name, (element, factor) in _MORE.items():
        if name not in places:
            continue
        values = cells.numbers(table, places[name], "an amount", trace=True, stand_ins=cells.STAND_INS) * factor
        flag = _flags(table, places, name.rpartition(" (")[0] + " Flag")
        _masked(values, flag("M", "C", "L", "A", "F"), f"{element} with ECCC's flag M, C, L, A or F", days,
                repairs)  # fmt: skip
        columns[element] = Column(days, values, table.lines)
    for name in set(_MORE) - set(places):
        if close := get_close_matches(name, [one for one in names if one not in _MORE], n=1, cutoff=0.85):
            repairs.append(Repair(f"column {cells.shown(close[0])} not read: is {name} meant?", 1, f"line {at + 1}"))
    known = Column(days[signs != 0], signs[signs != 0].astype(float), table.lines[signs != 0])
    return Part(file, columns, _station(text[: found.start()], table, places, file), known if known.days.size else None,
                repairs, _SOURCE)  # fmt: skip


def _flags(table: cells.Table, places: dict[str, int], name: str) -> Callable[..., NDArray[np.bool_]]:
    """Where certain flags stand beside an element; nowhere where the file has no such column."""
    if name not in places:
        return lambda *_: np.zeros(table.lines.size, bool)
    flags, codes = table.coded(places[name])
    return lambda *wanted: np.array([flag in wanted for flag in flags], bool)[codes]


def _days(table: cells.Table, places: dict[str, int]) -> NDArray[np.datetime64]:
    """Date/Time, or Year, Month and Day; where all are there they must agree."""
    if "Date/Time" not in places:
        return cells.days_of_parts(table, (places["Year"], places["Month"], places["Day"]))
    days = cells.days(table, places["Date/Time"])
    if {"Year", "Month", "Day"} <= set(places):
        again = cells.days_of_parts(table, (places["Year"], places["Month"], places["Day"]))
        if (again != days).any():
            row = int(np.argmax(again != days))
            raise RecordError(f"{table.where(row, places['Date/Time'])}: {days[row]} is not the day in the columns "
                              f"Year, Month, Day: {again[row]}.", "Correct the line, or fetch it again.")  # fmt: skip
    return days


def _masked(values: NDArray[np.float64], hit: NDArray[np.bool_], what: str, days: Days, repairs: list[Repair]) -> None:
    hit = hit & ~np.isnan(values)
    _told(hit, f"{what}: taken as missing", days, repairs)
    values[hit] = np.nan


def _told(hit: NDArray[np.bool_], what: str, days: Days, repairs: list[Repair]) -> None:
    if hit.any():
        repairs.append(Repair(what, int(hit.sum()), str(days[np.argmax(hit)])))


def _station(block: str, table: cells.Table, places: dict[str, int], file: str) -> Station:
    """The station from the lines above the header, or from columns. Such a line is a name and a value."""
    said: dict[str, str] = {}
    for number, line in enumerate(block.split("\n"), 1):
        parts = cells.header_cells(line, file, number) if line.strip() else []
        if len(parts) > 2:
            raise RecordError(f"{file}, line {number}: {cells.shown(line)} is no line about the station.",
                              "Is another file stuck before this one? Fetch it again.")  # fmt: skip
        if len(parts) == 2 and (detail := _DETAILS.get(parts[0].lower())):
            said[detail] = parts[1]
    for name, index in places.items():
        if detail := _DETAILS.get(name.lower()):
            found = [cell for cell in table.coded(index)[0] if cell]
            if len(found) > 1:
                raise RecordError(f"{file} holds several stations: {name} is {', '.join(found[:8])}.",
                                  "Keep the rows of one station.")  # fmt: skip
            said[detail] = found[0] if found else ""
    spot = []
    for key in ("latitude", "longitude", "elevation"):
        degrees = cells.number(said.get(key, ""))
        if degrees is None:
            raise RecordError(f"{file}: {key} {cells.shown(said[key])} is not a number.", "Correct the file.")
        spot.append(degrees)
    return Station(said.get("id", ""), said.get("name", ""), *spot)
