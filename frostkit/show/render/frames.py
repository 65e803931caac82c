"""An answer as a pandas DataFrame or an xarray Dataset: numbers and dates, not sentences."""

from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from frostkit.answers.answer import Answer, Column, Table
from frostkit.show.render.machine import DECISIONS, table_rows

PARTS = ("share", "low", "high", "count", "yes", "no", "not_known")
LONG = {
    "share": "share of possible seasons that said yes",
    "low": "lower end of the interval of the share",
    "high": "upper end of the interval of the share",
    "count": "seasons that said yes",
    "yes": "seasons in which at least 9 in 10 draws said yes",
    "no": "seasons in which at most 1 in 10 draws said yes",
    "not_known": "seasons in which the draws disagree",
}
UNITS = {"share": "1", "low": "1", "high": "1"}
_YEAR = 2001  # of the days of tables that are of no one year: a year without 29 February


def as_frame(answer: Answer, name: str | None = None) -> pd.DataFrame:
    """A table of an answer as a frame: days as dates, shares as columns; the first table where none is named.

    Days that belong to no one year are dates of the season asked for (29 February has no column).
    """
    if name == DECISIONS or not answer.tables:
        return pd.DataFrame(table_rows(answer, DECISIONS)).set_index("name")
    table = answer.tables[0] if name is None else answer.table(name)
    year = _YEAR if answer.ensemble is None else answer.ensemble.asked
    found: dict[str, Any] = {}
    for column in (table.index, *table.columns):
        found.update(_columns(column, len(table), year))
    frame = pd.DataFrame(found)
    frame = frame.set_index(table.index.key)
    frame.attrs = {"question": answer.question, "table": table.key}
    return frame


def _columns(column: Column, size: int, year: int) -> dict[str, Any]:
    key, values = column.key.replace(".", "_"), column.values
    match column.kind:
        case "day":
            return {key: _dates(np.asarray(values, float), year)}
        case "dates":
            return {f"{key}_earliest": _dates(values[0], year), f"{key}_latest": _dates(values[1], year)}
        case "share":
            if values is None:
                return {}
            shape = np.shape(values.share)
            lead = "" if column.inline else f"{key}_"
            parts = {f"{lead}{part}": getattr(values, part) for part in PARTS}
            return parts | {f"{lead}seasons": np.full(shape or (size,), values.seasons)}
        case "range":
            return {f"{key}_least": np.asarray(values[0], float), f"{key}_most": np.asarray(values[1], float)}
        case "amount" | "number" | "part":
            return {key: np.array([np.nan if value is None else value for value in values], float)}
        case "flag":
            return {key: np.asarray(values, bool)}
        case "season":
            return {key: np.asarray(values, int)}
        case "date":
            return {key: pd.to_datetime(np.asarray(values))}
        case "measure":
            return {key: np.array([np.nan if value is None else value.value for value in values], float)}
        case "crop" | "named":
            return {key: [None if value is None else value.name for value in values]}
    return {key: list(values)}


def _dates(columns: np.ndarray, year: int) -> pd.DatetimeIndex:
    """Columns of the season as dates; NaT for a day that did not come."""
    there = np.isfinite(columns)
    day = np.where(there, columns, 0).astype(int)
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    day = day + (leap & (day > 58))
    dates = np.datetime64(f"{year}-01-01") + day
    return pd.DatetimeIndex(np.where(there, dates, np.datetime64("NaT")))


def as_dataset(answer: Answer) -> xr.Dataset:
    """All tables of an answer as one Dataset with CF attributes: a dimension a table, named by its index."""
    variables: dict[str, Any] = {}
    coordinates: dict[str, Any] = {}
    for table in answer.tables:
        if len(table):
            _add(variables, coordinates, table)
    attrs: dict[str, Any] = {"Conventions": "CF-1.11", "title": f"frostkit {answer.question}"}
    if answer.site is not None:
        attrs["source"] = answer.site.station.name or answer.site.station.id
        attrs["institution"] = answer.site.record.source.get("provider", "")
    if answer.ensemble is not None:
        attrs["climate"], attrs["for_season"] = answer.ensemble.climate, answer.ensemble.asked
        attrs["seasons_counted"] = int(answer.ensemble.seasons.size)
    return xr.Dataset(variables, coordinates, attrs)


def _add(variables: dict[str, Any], coordinates: dict[str, Any], table: Table) -> None:
    repeated = table.index.key in coordinates or bool(table.under)
    dim = f"{table.key}_{table.index.key}" if repeated else table.index.key
    for column in (table.index, *table.columns):
        for key, values, attrs in _arrays(column, len(table)):
            name = key if column is not table.index else dim
            if column is table.index:
                coordinates[dim] = (dim, values, attrs)
            else:
                variables[name if name not in variables else f"{table.key}_{name}"] = (dim, values, attrs)


def _arrays(column: Column, size: int) -> list[tuple[str, Any, dict[str, Any]]]:
    key, values = column.key.replace(".", "_"), column.values
    match column.kind:
        case "day":
            return [(key, np.asarray(values, float), _day_attrs(key))]
        case "dates":
            return [
                (f"{key}_earliest", np.asarray(values[0], float), _day_attrs(f"{key}, earliest of the draws")),
                (f"{key}_latest", np.asarray(values[1], float), _day_attrs(f"{key}, latest of the draws")),
            ]
        case "share":
            if values is None:
                return []
            return [
                (
                    f"{key}_{part}",
                    np.broadcast_to(getattr(values, part), (size,)),
                    {"long_name": f"{key}: {LONG[part]}", "units": UNITS.get(part, "count")},
                )
                for part in PARTS
            ]
        case "range":
            return [
                (f"{key}_{end}", np.asarray(values[at], float), {"long_name": f"{key}, {end} of draws", "units": "1"})
                for at, end in enumerate(("least", "most"))
            ]
        case "amount":
            numbers = np.array([np.nan if value is None else value for value in values], float)
            return [(key, numbers, {"long_name": key, "units": column.unit})]
        case "number" | "part":
            numbers = np.array([np.nan if value is None else value for value in values], float)
            return [(key, numbers, {"long_name": key, "units": "1"})]
        case "flag":
            return [(key, np.asarray(values, bool), {"long_name": key})]
        case "season":
            return [(key, np.asarray(values, int), {"long_name": "year of the season", "units": "1"})]
        case "date":
            return [(key, np.asarray(values, "datetime64[ns]"), {"long_name": key})]
        case "measure":
            numbers = np.array([np.nan if value is None else value.value for value in values], float)
            return [(key, numbers, {"long_name": key})]
        case "crop" | "named":
            return [(key, np.array(["" if value is None else value.name for value in values]), {"long_name": key})]
    return [(key, np.array(["" if value is None else str(value) for value in values]), {"long_name": key})]


def _day_attrs(name: str) -> dict[str, Any]:
    return {"long_name": f"{name}: day of the 365-day season, 0 on 1 January, without 29 February", "units": "1"}
