"""Plain CSV: date, tmin, tmax, with the unit said in the header, or by the person; never guessed.

A header such as ``date,tmin_F,tmax_F,prcp_in`` or ``year;month;day;Tmin (°C);Tmax (°C)``. Lines before it that start
with ``#`` may say ``# name: River Flat``, ``# latitude: 49.9``, ``# units: C``, ``# invented: yes``.
"""

import re
from dataclasses import replace
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError, nearest
from frostkit.records import cells
from frostkit.records.assemble import Column, Part
from frostkit.records.record import Repair, Station

# Names of a column, as people write them; compared without case, spaces, dots and dashes.
NAMES = {
    "date": ("date", "datetime", "time", "yyyymmdd", "dateiso", "obsdate", "observationdate"),
    "year": ("year", "yr", "yyyy"),
    "month": ("month", "mo", "mon", "mm"),
    "of_month": ("day", "dayofmonth", "dd", "dom"),
    "tmin": ("tmin", "mintemp", "tempmin", "mintemperature", "minimumtemperature", "minimumtemp", "temperaturemin",
             "tmn", "tn", "minairtemp", "tasmin", "dailyminimum", "min", "minimum", "dailymin", "daymin", "lowtemp",
             "templow", "tempminimum", "airtempmin", "airtemperaturemin", "tempmini", "temperatureminimale"),
    "tmax": ("tmax", "maxtemp", "tempmax", "maxtemperature", "maximumtemperature", "maximumtemp", "temperaturemax",
             "tmx", "tx", "maxairtemp", "tasmax", "dailymaximum", "max", "maximum", "dailymax", "daymax", "hightemp",
             "temphigh", "tempmaximum", "airtempmax", "airtemperaturemax", "tempmaxi", "temperaturemaximale"),
    "prcp": ("prcp", "precip", "precipitation", "totalprecip", "totalprecipitation", "rain", "rainfall"),
    "snow": ("snow", "snowfall", "newsnow", "totalsnow"),
    "snwd": ("snwd", "snowdepth", "snowongrnd", "snowonground"),
    "id": ("station", "stationid", "id", "climateid"),
    "name": ("name", "stationname"),
    "latitude": ("latitude", "lat"),
    "longitude": ("longitude", "lon", "long"),
    "elevation": ("elevation", "elev", "altitude", "height"),
}  # fmt: skip
UNITS = {
    "C": ("c", "degc", "celsius", "degreec", "degreesc", "degreecelsius", "degreescelsius"),
    "F": ("f", "degf", "fahrenheit", "degreef", "degreesf", "degreefahrenheit", "degreesfahrenheit"),
    "K": ("k", "kelvin", "degk"),
    "tenths": ("tenths", "tenthsc", "tenthsofc", "tenthsofdegc"),
    "mm": ("mm", "millimetres", "millimeters"),
    "cm": ("cm", "centimetres", "centimeters"),
    "in": ("in", "inch", "inches"),
    "m": ("m", "metres", "meters"),
    "ft": ("ft", "feet"),
}
TO_CELSIUS = {
    "C": lambda t: t + 0.0,
    "F": lambda t: (t - 32) / 1.8,
    "K": lambda t: t - 273.15,
    "tenths": lambda t: t / 10,
}
TO_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}  # international inch, exact
WORDS_OF_UNITS = {word: unit for unit, words in UNITS.items() for word in words}
UNIT_AT_END = re.compile(r"^(.*?)[\s_]*(?:[(\[]([^)\]]*)[)\]]|[_\s](deg[\s_]?[cfk]|°[cfk]|[a-z]+))$", re.I)


def temperature_unit(text: str) -> str:
    """'C', 'F', 'K' or 'tenths', however it is written. Raises `RecordError` for anything else.

    >>> temperature_unit("°F"), temperature_unit("celsius")
    ('F', 'C')
    """
    unit = WORDS_OF_UNITS.get(bare(text))
    if unit not in TO_CELSIUS:
        raise RecordError(f"--input-units {text} is not a unit of temperature that frostkit knows."
                          f"{nearest(text, TO_CELSIUS)}", "Choose from C, F, K, tenths (of a °C).")  # fmt: skip
    return unit


def bare(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.lower())


def name_and_unit(header: str) -> tuple[str, str]:
    """A header cell as (the element's name, its unit), "" where it is not known or not said.

    >>> name_and_unit("tmin_F"), name_and_unit("Max Temp (°C)"), name_and_unit("PRCP"), name_and_unit("tmin_flag")
    (('tmin', 'F'), ('tmax', 'C'), ('prcp', ''), ('tmin_flag', ''))
    """
    flag = re.match(r"^(.*?)[\s_]*(?:q?flag|flags)$", header, re.I)
    if flag:
        return f"{name_and_unit(flag[1])[0]}_flag", ""
    whole, split = bare(header), UNIT_AT_END.match(header)
    known = {name: element for element, names in NAMES.items() for name in names}
    if whole in known and not split:
        return known[whole], ""
    if split and (unit := WORDS_OF_UNITS.get(bare(split[2] or split[3]))) and bare(split[1]) in known:
        return known[bare(split[1])], unit
    return known.get(whole, ""), ""


def read(text: str, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What a plain CSV holds, in degC and mm.

    Raises
    ------
    RecordError
        Where a column or a unit is missing, a header and `input_units` disagree, or a cell is not what it should be.
    """
    head, begin, line = cells.header_at(text, comments=True)
    if not head:
        raise RecordError(f"{file} has no header.", "Start with a line such as: date,tmin_C,tmax_C")
    said = _comments(text[:begin].split("\n"), file)
    header = cells.header_cells(head, file, line)
    columns = _find(header, file, line)
    table = cells.table(text, header, cells.separator(head), file, line + 1, begin + len(head) + 1, cut=True)
    table, details = _one_station(table, columns, said, station)
    days = _days(table, columns)
    out, kept_out = {}, []
    for element in ("tmin", "tmax"):
        index, unit = columns[element]
        unit = _settled(element, unit or said.get("units", ""), input_units, file, line)
        stand_ins = {-9999.0} if unit == "tenths" else cells.STAND_INS  # -99 tenths are a reading
        out[element] = TO_CELSIUS[unit](cells.numbers(table, index, "a temperature", stand_ins=stand_ins))
    for element in ("prcp", "snow", "snwd"):
        if element not in columns:
            continue
        index, unit = columns[element]
        if unit not in TO_MM:
            kept_out.append(Repair(f"{element} left out: the header does not say its unit", 1, f"line {line}"))
            continue
        out[element] = cells.numbers(table, index, "an amount", trace=True, stand_ins=cells.STAND_INS) * TO_MM[unit]
    for element in list(out):
        if f"{element}_flag" in columns:
            _flagged(out[element], *table.coded(columns[f"{element}_flag"][0]), element, table.repairs, days)
    return Part(
        file,
        {element: Column(days, values, table.lines) for element, values in out.items()},
        details,
        repairs=table.repairs + kept_out + _misspelt(header, line),
        source={"format": "plain CSV"} | {key: said[key] for key in ("source", "licence") if key in said},
        invented=said.get("invented", "no").lower() not in ("no", "false", "0", ""),
    )


def _comments(lines: list[str], file: str) -> dict[str, str]:
    """What the lines that start with # say, as 'key: value'."""
    said = {}
    for line in lines:
        key, colon, value = line.lstrip("# \t").partition(":")
        if colon:
            said[key.strip().lower()] = value.strip()
    if "units" in said:
        said["units"] = temperature_unit(said["units"])
    return said


def _find(header: list[str], file: str, line: int) -> dict[str, tuple[int, str]]:
    """Where each element stands, and its unit where the header says it."""
    columns: dict[str, tuple[int, str]] = {}
    for index, cell in enumerate(header):
        element, unit = name_and_unit(cell)
        if element == "of_month" and not any(name_and_unit(other)[0] == "year" for other in header):
            element = "date"
        if element and element in columns and element in ("tmin", "tmax", "date", "year", "month", "of_month"):
            raise RecordError(f"{file}, line {line}: two columns may be {element}: {header[columns[element][0]]} and "
                              f"{cell}.", "Take one out.")  # fmt: skip
        columns.setdefault(element, (index, unit))
    columns.pop("", None)
    units = [columns[element][1] for element in ("tmin", "tmax") if element in columns]
    if len(set(units) - {""}) > 1 and set(units) <= set(TO_CELSIUS):
        raise RecordError(f"{file}, line {line}: tmin is in °{units[0]}, tmax in °{units[1]}.",
                          "Give both in one unit; is the header right?")  # fmt: skip
    missing = [element for element in ("tmin", "tmax") if element not in columns]
    if "date" not in columns and not {"year", "month", "of_month"} <= set(columns):
        missing.insert(0, "date")
    if missing:
        listed = ", ".join(header)
        raise RecordError(f"{file}, line {line}: no column for {', '.join(missing)}; the columns are: "
                          f"{listed if len(listed) <= 120 else listed[:117] + '...'}.",
                          "Name the columns in a header, such as: date,tmin_C,tmax_C (or year,month,day)")  # fmt: skip
    return columns


def _misspelt(header: list[str], line: int) -> list[Repair]:
    """Columns that are not read, though their names are close to one that would be and is not there."""
    there = [name_and_unit(cell)[0].removesuffix("_flag") for cell in header]
    lacking = [name for element in ("prcp", "snow", "snwd") if element not in there for name in NAMES[element]]
    out = []
    for cell, element in zip(header, there, strict=True):
        name = bare((UNIT_AT_END.match(cell) or [cell, cell])[1])
        close = get_close_matches(name, lacking, n=1, cutoff=0.7)
        if close and element not in NAMES:
            out.append(Repair(f"column {cells.shown(cell)} not read: is {close[0]} meant?", 1, f"line {line}"))
    return out


def _days(table: cells.Table, columns: dict[str, tuple[int, str]]) -> NDArray[np.datetime64]:
    if "date" in columns:
        return cells.days(table, columns["date"][0])
    year, month, day = (columns[part][0] for part in ("year", "month", "of_month"))
    return cells.days_of_parts(table, (year, month, day))


def _settled(element: str, said: str, asked: str | None, file: str, line: int) -> str:
    """The unit of a temperature: what the header says, or what the person says; both must agree."""
    if said and said not in TO_CELSIUS:
        raise RecordError(f"{file}, line {line}, {element}: {said} is not a unit of temperature.",
                          "Write °C, °F or K, such as tmin_C.")  # fmt: skip
    if said and asked and said != asked:
        raise RecordError(f"{file}, line {line}, {element}: the header says °{said}, the option says °{asked}.",
                          "Leave out --input-units, or correct the header.")  # fmt: skip
    if not (said or asked):
        raise RecordError(f"{file}, line {line}, {element}: the header does not say whether this is °C or °F.",
                          "Say --input-units C or --input-units F, or write it in the header, as tmin_C.")  # fmt: skip
    return said or asked or ""


def _flagged(
    values: NDArray[np.float64],
    flags: list[str],
    codes: NDArray[np.int32],
    element: str,
    repairs: list[Repair],
    days: NDArray[np.datetime64],
) -> None:
    """A value with a flag is missing; what the flag means the file does not say.

    flags, codes : the flags, and which of them stands beside each value
    """
    means = [cell.lower() not in cells.NO_READING for cell in flags]
    if element in ("prcp", "snow", "snwd"):  # a trace is a reading
        means = [on and cell.upper() != "T" for on, cell in zip(means, flags, strict=True)]
    flag = np.array(means, bool)[codes] & ~np.isnan(values)
    if flag.any():
        kinds = ", ".join(sorted(flags[code] for code in np.unique(codes[flag])))
        repairs.append(Repair(f"{element} with a flag ({kinds[:40]}): taken as missing", int(flag.sum()),
                              str(days[np.argmax(flag)])))  # fmt: skip
        values[flag] = np.nan


def _one_station(
    table: cells.Table, columns: dict[str, tuple[int, str]], said: dict[str, str], asked: str | None
) -> tuple[cells.Table, Station]:
    """The rows of one station, and what file and comments say about it."""
    details: dict[str, str | float] = {}
    for key in ("id", "name"):
        if key in columns:
            found = [cell for cell in table.coded(columns[key][0])[0] if cell]
            if len(found) > 1:
                table = cells.of_station(table, columns[key][0], found, asked)
                found = [table.cell(0, columns[key][0])]
            details[key] = found[0] if found else ""
        elif key in said:
            details[key] = said[key]
    for key in ("latitude", "longitude", "elevation"):
        if key in columns:
            index, unit = columns[key]
            places = np.unique(cells.numbers(table, index, "a position"))
            places = places[~np.isnan(places)]
            if places.size > 1:
                raise RecordError(f"{table.file}: the column {table.names[index]} has {places.size} values; "
                                  "one record is one place.", "Give the days of one station.")  # fmt: skip
            if places.size:
                details[key] = float(places[0]) * (0.3048 if unit == "ft" else 1.0)  # international foot, exact
        elif key in said:
            value = cells.number(re.sub(r"\s*(m|°|degrees|N|E)$", "", said[key]))
            if value is None:
                raise RecordError(f"{table.file}: '# {key}: {said[key]}' is not a number.", "Write degrees, or metres.")
            details[key] = value
    return table, replace(Station(), **details)  # type: ignore[arg-type]
