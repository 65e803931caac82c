"""GHCN-Daily, in three layouts: fixed-width .dly, one row a day, one row a value.

Elements are in tenths of degC and of mm, snow in whole mm; a value with a quality flag failed a check of NCEI's and is
missing. Source of layouts, units and flags: NOAA NCEI, GHCN-Daily readme.txt (from memory of the publication).
"""

import re
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records import cells
from frostkit.records.assemble import Column, Part
from frostkit.records.plain import TO_CELSIUS
from frostkit.records.record import Repair, Station

ELEMENTS = {"TMIN": ("tmin", 0.1), "TMAX": ("tmax", 0.1), "PRCP": ("prcp", 0.1), "SNOW": ("snow", 1.0),
            "SNWD": ("snwd", 1.0)}  # NCEI readme.txt: tenths of degC, tenths of mm, mm, mm  # fmt: skip
_OTHERS = re.compile(
    r"AC[MS][CH]|ADPT|A[SW]LP|ASTP|AWBT|AWDR|AWND|DA(EV|PR|SF|TN|TX|WM)|DWPR|EVAP|FMTM|FRG[BT]|FRTH|GAHT|MD(EV|PR|SF|TN|TX|WM)|"
    r"M[NX]PN|M[NX]RH|PGTM|PSUN|RHAV|RHM[NX]|S[NX][0-9]{2}|TAVG|TAXN|THIC|TOBS|TSUN|WD(F[125GIM]|MV)|WES[DF]|WSF[125GIM]|"
    r"W[TV][0-9]{2}"
)  # NCEI readme.txt: the elements that are not read here
NO_VALUE = -9999  # NCEI readme.txt
LINE = 269  # 21 characters, then 31 fields of value (5) and three flags
WHOLE = 266  # to the last figure of the last value
LONG_NAMES = ("id", "date", "element", "value", "m", "q", "s", "obs")
_LONG = {"id": "id", "station": "id", "date": "date", "yyyymmdd": "date", "element": "element", "attr": "element",
         "datatype": "element", "value": "value", "datavalue": "value", "datavalue1": "value", "m": "m", "a": "m",
         "mflag": "m", "q": "q", "b": "q", "qflag": "q", "s": "s", "c": "s", "sflag": "s", "obs": "obs", "d": "obs",
         "obstime": "obs", "time": "obs"}  # fmt: skip
_HEADERLESS = re.compile(r'^"?[A-Z]{2}[A-Z0-9_-]{9}"?,"?[0-9]{8}"?,"?[A-Z0-9]{4}"?,')


def _tenths_only(input_units: str | None, file: str) -> None:
    if input_units in ("F", "K"):
        raise RecordError(f"{file}: GHCN-Daily is in tenths of °C by its layout, the option says °{input_units}.",
                          "Leave out --input-units.")  # fmt: skip


def _strange(elements: Mapping[str, int]) -> list[Repair]:
    """Elements that GHCN-Daily does not have, with the line each is first on: a damaged TMIN must not go unseen."""
    strange = [name for name in elements if name not in ELEMENTS and not _OTHERS.fullmatch(name)]
    return [Repair(f"{cells.shown(name)} is no element of GHCN-Daily: left out", 1, f"line {elements[name]}")
            for name in strange]  # fmt: skip


def read_dly(text: str, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What a fixed-width .dly file holds.

    Raises
    ------
    RecordError
        For a line that is cut short, a month or a value that is no number, or more than one station.
    """
    _tenths_only(input_units, file)
    repairs: list[Repair] = []
    lines = text.rstrip("\n \x1a").split("\n")
    if not text.rstrip(" \x1a").endswith("\n") and any(lines[:-1]) and len(lines[-1]) < WHOLE:
        repairs.append(Repair("the last line is cut short: left out", 1, f"line {len(lines)}"))
        lines = lines[:-1]
    found = list(dict.fromkeys(line[:11] for line in lines if line))
    if len(found) > 1 and station not in found:
        listed = ", ".join(repr(name) for name in found[:8])
        raise RecordError(f"{file} holds {len(found)} stations, the first are {listed}.",
                          "Say which one: --station, or keep the lines of one station.")  # fmt: skip
    station = station if station in found else found[0]
    columns: dict[str, Column] = {}
    of_element: dict[str, list[int]] = {}
    for at, line in enumerate(lines):
        if line[:11] == station:
            of_element.setdefault(line[17:21], []).append(at)
    for element, (name, unit) in ELEMENTS.items():
        if element in of_element:
            column, failed = _element(lines, of_element[element], element, unit, file)
            if column.days.size:
                columns[name] = column
            repairs += failed
    repairs += _strange({element: at[0] + 1 for element, at in of_element.items()})
    if not {"tmin", "tmax"} <= set(columns):
        raise RecordError(f"{file}: no TMIN or no TMAX; found {', '.join(sorted(of_element)[:12])}.",
                          "Give a station that measures daily minimum and maximum temperature.")  # fmt: skip
    made_up = station.startswith(MADE_UP)
    source = _NOT_THERE if made_up else _SOURCE
    return Part(file, columns, Station(id=station.strip()), repairs=repairs, source=source, invented=made_up,
                together=False)  # fmt: skip


_SOURCE = {"format": "GHCN-Daily", "provider": "NOAA NCEI"}
MADE_UP = "DEMO"  # how ids of places that are not there begin; no station of the network has such an id
_NOT_THERE = {
    "format": "made-up days in the layout of GHCN-Daily",
    "provider": "invented by frostkit's weather generator",
}


def _element(lines: list[str], at: list[int], element: str, unit: float, file: str) -> tuple[Column, list[Repair]]:
    """One element's lines, as (row, 31) fields taken apart at once."""
    numbers = np.array(at, np.int64) + 1
    try:
        raw = np.frombuffer(b"".join(lines[i].rstrip().ljust(LINE).encode("ascii")[: LINE + 1] for i in at), np.uint8)
        raw = raw.reshape(len(at), LINE)
    except (UnicodeEncodeError, ValueError):
        wrong = next(i for i in at if not lines[i].isascii() or len(lines[i].rstrip()) > LINE)
        raise RecordError(f"{file}, line {wrong + 1}, {element}: the line is not {LINE} characters of plain text.",
                          "The file is damaged: fetch it again.") from None  # fmt: skip
    year_month = raw[:, 11:17].astype(int) - 48
    month = year_month[:, 4] * 10 + year_month[:, 5]
    year = year_month[:, :4] @ np.array([1000, 100, 10, 1])
    wrong_month = ((year_month < 0) | (year_month > 9)).any(1) | (month < 1) | (month > 12)
    wrong_month |= (year < cells.YEARS[0]) | (year > cells.YEARS[1])
    if wrong_month.any():
        row = int(np.argmax(wrong_month))
        raise RecordError(f"{file}, line {numbers[row]}, {element}: {lines[at[row]][11:17]!r} is not a year and month.",
                          "The file is damaged: fetch it again.")  # fmt: skip
    fields = raw[:, 21:].reshape(len(at), 31, 8)
    values, bad = np.empty(fields.shape[:2]), np.empty(fields.shape[:2], bool)
    for at_once in range(0, len(at), 2000):
        some = slice(at_once, at_once + 2000)
        values[some], bad[some] = _fixed_width(fields[some, :, :5])
    if bad.any():
        row, day = (int(i) for i in np.argwhere(bad)[0])
        seen = fields[row, day, :5].tobytes().decode()
        raise RecordError(
            f"{file}, line {numbers[row]}, {element} of day {day + 1}: {seen!r} is not a number of 5 characters.",
            "The line is cut short or damaged: fetch the file again.",
        )
    first = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    days = first.astype("datetime64[D]")[:, None] + np.arange(31)
    present = values != NO_VALUE
    outside = present & (days.astype("datetime64[M]") != first[:, None])
    quality = present & (fields[:, :, 6] != 32)
    repairs = []
    if outside.any():
        row, day = (int(i) for i in np.argwhere(outside)[0])
        repairs.append(Repair(f"{element} on days that are not in the calendar: left out", int(outside.sum()),
                              f"line {numbers[row]}, day {day + 1}"))  # fmt: skip
    flags = fields[:, :, 6]
    for flag in np.unique(flags[quality & ~outside]):
        hit = quality & ~outside & (flags == flag)
        repairs.append(Repair(f"{element} with NCEI's quality flag {chr(flag)}: taken as missing", int(hit.sum()),
                              str(days[hit].min())))  # fmt: skip
    keep = present & ~outside & ~quality
    values = np.where(keep, values * unit, np.nan)
    inside = days.astype("datetime64[M]") == first[:, None]
    return Column(days[inside], values[inside], np.repeat(numbers, 31).reshape(-1, 31)[inside]), repairs


def _fixed_width(text: NDArray[np.uint8]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Whole numbers set right in fields of characters [..., width], and which fields hold none."""
    digit = (text >= 48) & (text <= 57)
    kind = np.where(digit, 2, np.where(text == 45, 1, np.where(text == 32, 0, 9))).astype(np.int8)
    bad = (kind == 9).any(-1) | (np.diff(kind, axis=-1) < 0).any(-1) | (kind[..., -1] != 2)
    bad |= (kind == 1).sum(-1) > 1
    size = np.where(digit, text - np.uint8(48), 0) @ (10 ** np.arange(text.shape[-1] - 1, -1, -1)).astype(float)
    return np.where((kind == 1).any(-1), -size, size), bad


def read_wide(text: str, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What NCEI's one-row-a-day CSV holds: STATION, DATE, ..., TMAX, TMAX_ATTRIBUTES; attributes are "m,q,s".

    Whole numbers are tenths of degC where one of them proves it; else, and with decimals, the unit must be said.

    Raises
    ------
    RecordError
        Where a column is missing, a cell is not what it should be, the unit is not settled, or stations are mixed.
    """
    head, begin, line = cells.header_at(text)
    names = cells.header_cells(head, file, line)
    table = cells.table(text, names, cells.separator(head), file, line + 1, begin + len(head) + 1, cut=True)
    places = {name.upper(): index for index, name in enumerate(names)}
    found = table.coded(places["STATION"])[0]
    if len(found) > 1:
        table = cells.of_station(table, places["STATION"], found, station)
    missing = [name for name in ("TMIN", "TMAX") if name not in places]
    if missing:
        raise RecordError(f"{file}, line {line}: no column for {', '.join(missing)}.",
                          "Give a station that measures daily minimum and maximum temperature.")  # fmt: skip
    days = cells.days(table, places["DATE"])
    raw = {element: cells.numbers(table, places[element], "a temperature" if element[0] == "T" else "an amount",
                                  stand_ins=(NO_VALUE,))
           for element in ELEMENTS if element in places}  # fmt: skip
    unit = _unit_of(raw, input_units, file, line)
    columns = {}
    for element, values in raw.items():
        name, factor = ELEMENTS[element]
        if f"{element}_ATTRIBUTES" in places:
            _by_flag(element, values, *table.coded(places[f"{element}_ATTRIBUTES"]), 1, days, table.repairs)
        if name in ("tmin", "tmax"):
            values = TO_CELSIUS[unit](values)
        elif unit == "tenths":
            values = values * factor
        else:
            table.repairs.append(Repair(f"{name} left out: its unit is not said", 1, f"line {line}"))
            continue
        columns[name] = Column(days, values, table.lines)
    first = {key: table.cell(0, places[key]) for key in ("STATION", "NAME") if key in places}
    spot = {key: _only(table, places[key]) for key in ("LATITUDE", "LONGITUDE", "ELEVATION") if key in places}
    where = Station(first["STATION"], first.get("NAME", ""), *(spot.get(key, float("nan"))
                    for key in ("LATITUDE", "LONGITUDE", "ELEVATION")))  # fmt: skip
    return Part(file, columns, where, repairs=table.repairs, source=_SOURCE)


def _only(table: cells.Table, column: int) -> float:
    """The first number in a column of positions; NaN where there is none."""
    values = cells.numbers(table, column, "a position")
    known = values[~np.isnan(values)]
    return float(known[0]) if known.size else float("nan")


def _unit_of(raw: dict[str, NDArray[np.float64]], asked: str | None, file: str, line: int) -> str:
    """Tenths where the numbers prove it; otherwise what the person says; never a guess."""
    values = np.concatenate([raw["TMIN"], raw["TMAX"]])
    known = values[~np.isnan(values)]
    whole = bool((known == np.rint(known)).all())
    if whole and known.size and np.percentile(np.abs(known), 90) > 135:  # 135 °F is the warmest the world has seen
        if asked in ("F", "K"):
            raise RecordError(f"{file}: these are tenths of °C, the option says °{asked}.", "Leave out --input-units.")
        return "tenths"
    if asked is None:
        raise RecordError(
            f"{file}, line {line}, TMIN: numbers {'without' if whole else 'with'} decimals may be °C, °F"
            f"{' or tenths of °C' if whole else ''}; nothing says which.",
            "Say --input-units C, --input-units F, or --input-units tenths.",
        )
    return asked


def _by_flag(
    element: str,
    values: NDArray[np.float64],
    attributes: list[str],
    codes: NDArray[np.int32],
    place: int | None,
    days: NDArray,
    repairs: list[Repair],
) -> None:
    """Values whose quality flag is set become missing, counted by flag.

    attributes, codes : what stands beside the values, and which of it beside each
    place : which part of "m,q,s" the flag is
    """
    flag_of = []
    for cell in attributes:
        parts = cell.split(",") if place is not None else [cell]
        flag_of.append(parts[place or 0].strip() if len(parts) > (place or 0) else "")
    for flag in sorted({flag for flag in flag_of if flag}):
        hit = np.array([of == flag for of in flag_of], bool)[codes] & ~np.isnan(values)
        if hit.any():
            repairs.append(Repair(f"{element} with NCEI's quality flag {flag[:8]}: taken as missing", int(hit.sum()),
                                  str(days[hit].min())))  # fmt: skip
            values[hit] = np.nan


def is_long(header: str) -> bool:
    """True for the header, or the first row, of a file with one row a value.

    >>> is_long("date,attr,value,a,b,c,d"), is_long("USW00014922,20140101,TMAX,-171,,,W,2400"), is_long("date,tmin")
    (True, True, False)
    """
    names = {_LONG.get(name.strip(' "').lower().replace("_", "")) for name in re.split("[,;\t]", header)}
    return bool(_HEADERLESS.match(header)) or {"date", "element", "value"} <= names


def read_long(text: str, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What a CSV with one row a value holds: id, yyyymmdd, element, value, m, q, s, obs; with a header or without.

    Raises
    ------
    RecordError
        Where a cell is not what it should be, TMIN or TMAX is missing, or stations are mixed.
    """
    _tenths_only(input_units, file)
    head, begin, line = cells.header_at(text)
    sep = cells.separator(head)
    if _HEADERLESS.match(head):
        width = len(cells.header_cells(head, file, line))
        names = list(LONG_NAMES[:width]) + ["more"] * (width - len(LONG_NAMES))
    else:
        names, line, begin = cells.header_cells(head, file, line), line + 1, begin + len(head) + 1
    table = cells.table(text, names, sep, file, line, begin, cut=True)
    places: dict[str, int] = {}
    for index, name in enumerate(names):
        places.setdefault(_LONG.get(name.lower().replace("_", ""), ""), index)
    ident = ""
    if "id" in places:
        found = table.coded(places["id"])[0]
        if len(found) > 1:
            table = cells.of_station(table, places["id"], found, station)
        ident = table.cell(0, places["id"])
    elements, of_row = table.coded(places["element"])
    columns: dict[str, Column] = {}
    repairs = table.repairs
    for element, (name, unit) in ELEMENTS.items():
        if element not in elements:
            continue
        rows = of_row == elements.index(element)
        part = table.only(rows)
        part.repairs = repairs
        days = cells.days(part, places["date"])
        values = cells.numbers(part, places["value"], f"a {element} in whole units", stand_ins=(NO_VALUE,))
        odd = ~np.isnan(values) & (values != np.rint(values))
        if odd.any():
            row = int(np.argmax(odd))
            raise RecordError(f"{part.where(row, places['value'])}: {values[row]:g} is not in whole units of "
                              "GHCN-Daily.", "Give the file as NCEI has it, or a plain CSV with tmin_C.")  # fmt: skip
        if "q" in places:
            _by_flag(element, values, *part.coded(places["q"]), None, days, repairs)
        columns[name] = Column(days, values * unit, part.lines)
    repairs += _strange({name: int(table.lines[np.argmax(of_row == at)]) for at, name in enumerate(elements)})
    if not {"tmin", "tmax"} <= set(columns):
        raise RecordError(f"{file}: no TMIN or no TMAX; found {', '.join(sorted(elements)[:12])}.",
                          "Give a station that measures daily minimum and maximum temperature.")  # fmt: skip
    return Part(file, columns, Station(id=ident), repairs=repairs, source=_SOURCE, together=False)
