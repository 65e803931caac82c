"""Records as an xarray.Dataset, after the CF conventions, and back.

Dimensions (station, time); `tmin` and `tmax` in degC; name, latitude, longitude and elevation along station. What was
repaired and where the days came from travels along as JSON.
"""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from frostkit.errors import RecordError, nearest
from frostkit.records.assemble import Column, Part, assemble
from frostkit.records.plain import NAMES, TO_CELSIUS, WORDS_OF_UNITS, bare, temperature_unit
from frostkit.records.readers import read
from frostkit.records.record import Record, Repair, Station

ATTRIBUTES = {
    "tmin": {"standard_name": "air_temperature", "cell_methods": "time: minimum", "units": "degC",
             "long_name": "daily minimum air temperature"},
    "tmax": {"standard_name": "air_temperature", "cell_methods": "time: maximum", "units": "degC",
             "long_name": "daily maximum air temperature"},
    "prcp": {"standard_name": "lwe_thickness_of_precipitation_amount", "cell_methods": "time: sum", "units": "mm",
             "long_name": "daily precipitation"},
    "snow": {"standard_name": "thickness_of_snowfall_amount", "cell_methods": "time: sum", "units": "mm",
             "long_name": "daily new snow"},
    "snwd": {"standard_name": "surface_snow_thickness", "cell_methods": "time: point", "units": "mm",
             "long_name": "depth of snow on the ground"},
    "sign": {"long_name": "where tmin is missing: known to be above or below 0 degC", "units": "1",
             "flag_values": np.array([-1, 0, 1], np.int8), "flag_meanings": "below not_known above"},
    "latitude": {"standard_name": "latitude", "units": "degrees_north"},
    "longitude": {"standard_name": "longitude", "units": "degrees_east"},
    "elevation": {"standard_name": "surface_altitude", "units": "m", "positive": "up", "axis": "Z"},
    "name": {"standard_name": "platform_name"},
    "station": {"cf_role": "timeseries_id", "long_name": "station"},
}  # fmt: skip
_MORE = {"prcp": ("prcp", "pr", "precipitation", "tp"), "snow": ("snow",), "snwd": ("snwd", "snd", "snow_depth")}
_MM = {"mm": 1.0, "kgm2": 1.0, "kgm2s1": 86400.0, "mmday1": 1.0, "mmd1": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


def to_dataset(records: Sequence[Record]) -> xr.Dataset:
    """Records of one or more stations as one dataset, on the days that any of them has.

    >>> record = Record(Station("X1", "River Flat"), np.datetime64("2001-05-01"), np.float32([1]), np.float32([9]))
    >>> to_dataset([record]).tmin.attrs["units"]
    'degC'
    """
    if not records:
        raise RecordError("There is no record to put into a dataset.", "Give at least one.")
    start = min(record.start for record in records)
    size = int((max(record.start + record.tmin.size for record in records) - start).astype(int))
    names = [record.station.id or record.station.name or f"station {i + 1}" for i, record in enumerate(records)]
    if len(set(names)) < len(names):
        names = [f"{name} ({i + 1})" if names.count(name) > 1 else name for i, name in enumerate(names)]

    def stacked(element: str, empty: float, dtype: type) -> xr.Variable:
        out: np.ndarray = np.full((len(records), size), empty, dtype)
        for row, record in zip(out, records, strict=True):
            values = record.more.get(element) if element in _MORE else getattr(record, element)
            if values is not None:
                at = int((record.start - start).astype(int))
                row[at : at + values.size] = values
        return xr.Variable(("station", "time"), out, ATTRIBUTES.get(element, {}))

    elements = ["tmin", "tmax", *(name for name in _MORE if any(name in record.more for record in records))]
    data = {element: stacked(element, np.nan, np.float32) for element in elements}
    if any(record.sign is not None for record in records):
        data["sign"] = stacked("sign", 0, np.int8)
    for key in ("source", "repairs"):
        told = [_json(record)[key] for record in records]
        data[key] = xr.Variable("station", np.array(told, object), {"long_name": f"{key} of the record, as JSON"})
    data["invented"] = xr.Variable("station", np.array([record.invented for record in records], np.int8),
                                   {"long_name": "1 for a made-up record", "units": "1"})  # fmt: skip
    spots = {key: xr.Variable("station", [getattr(record.station, key) for record in records], ATTRIBUTES[key])
             for key in ("latitude", "longitude", "elevation")}  # fmt: skip
    coords = {
        "station": xr.Variable("station", np.array(names, object), ATTRIBUTES["station"]),
        "time": xr.Variable("time", (start + np.arange(size)).astype("datetime64[ns]"), {"standard_name": "time"}),
        "name": xr.Variable("station", np.array([record.station.name for record in records], object),
                            ATTRIBUTES["name"]),
        "id": xr.Variable("station", np.array([record.station.id for record in records], object)),
    }  # fmt: skip
    return xr.Dataset(data, coords | spots, {"Conventions": "CF-1.10", "featureType": "timeSeries"})


def _json(record: Record) -> dict[str, str]:
    repairs = [[repair.what, repair.count, repair.first] for repair in record.repairs]
    return {"source": json.dumps(dict(record.source), ensure_ascii=False),
            "repairs": json.dumps(repairs, ensure_ascii=False)}  # fmt: skip


def read_dataset(path: str | Path, **options: Any) -> xr.Dataset:
    """A station's record, from whatever file `frostkit.records.readers.read` reads, as a dataset of one station."""
    return to_dataset([read(path, **options)])


def from_dataset(ds: xr.Dataset, station: str | None = None, file: str = "the dataset") -> Record:
    """One station's record from a dataset.

    `tmin` and `tmax` are known by their names (tmin, tasmin, ...) or by standard_name and cell_methods; the unit is
    read from the attribute `units`.

    Parameters
    ----------
    ds : with a time axis of days, and one other dimension at most (or a grid, see `station`)
    station : the station's label, or its number counted from 1; on a grid "latitude,longitude": the nearest cell

    Raises
    ------
    RecordError
        Where a variable, its unit or the axis of days is missing, or the station is not settled; stations are listed.
    """
    return assemble([part_of(ds, station, file)], {})


def from_any(source: Any, input_units: str | None, details: Mapping[str, Any]) -> Record:
    """A record from an `xarray.Dataset`, or from a `pandas.DataFrame` with a date index, `tmin` and `tmax`.

    Parameters
    ----------
    source : columns of a frame are known by the names that files use; `prcp` is in mm
    input_units : of a frame's temperatures, "C" where left out; a dataset says its own
    details : name, latitude, longitude, elevation, station, as `readers.read` takes them

    Raises
    ------
    RecordError
        For anything else, a frame without dates, Tmin or Tmax, or columns that hold no numbers.
    """
    told = {key: details.get(key) for key in ("name", "latitude", "longitude", "elevation")}
    if isinstance(source, xr.Dataset):
        return assemble([part_of(source, details.get("station"), "the dataset")], told)
    if isinstance(source, pd.DataFrame):
        return assemble([_part_of_frame(source, temperature_unit(input_units or "C"))], told)
    raise RecordError(
        f"A record can't be read from a {type(source).__name__}.",
        "Give a path, the id of a kept station, an xarray.Dataset, or a pandas.DataFrame with a date index.",
    )


def _part_of_frame(frame: pd.DataFrame, unit: str) -> Part:
    """A frame's columns, as `assemble` takes them."""
    if not isinstance(frame.index, pd.DatetimeIndex):
        raise RecordError(
            f"The frame's index holds {frame.index.dtype}, no dates.", "Set it: frame.index = pd.to_datetime(...)."
        )
    if frame.index.hasnans:
        raise RecordError("The frame's index has rows without a date.", "Drop these rows.")
    days = frame.index.to_numpy().astype("datetime64[D]")
    columns = {}
    wanted = {"tmin": NAMES["tmin"], "tmax": NAMES["tmax"], "prcp": _MORE["prcp"]}
    for element, names in wanted.items():
        found = [name for name in frame.columns if bare(str(name)) in names]
        if not found:
            continue
        if len(found) > 1:
            raise RecordError(
                f"Several columns of the frame may be {element}: {', '.join(map(str, found))}.", "Keep one of them."
            )
        try:
            values = frame[found[0]].to_numpy(np.float64, na_value=np.nan)
        except (TypeError, ValueError):
            raise RecordError(
                f"Column {found[0]} of the frame holds no numbers.", "Give temperatures as numbers."
            ) from None
        columns[element] = Column(
            days, TO_CELSIUS[unit](values) if element != "prcp" else values, np.zeros(days.size, np.int64)
        )
    if not columns:
        listed = ", ".join(str(name) for name in frame.columns[:20]) or "none"
        raise RecordError(f"The frame has no column tmin or tmax; found {listed}.", "Rename its columns.")
    return Part("the frame", columns, source={"format": "pandas.DataFrame"})


def part_of(ds: xr.Dataset, station: str | None, file: str) -> Part:
    """The part of one station, as `assemble` takes it."""
    low, high = _temperature(ds, "tmin", "minimum", file), _temperature(ds, "tmax", "maximum", file)
    time = _time(ds[low], file)
    ds, details = _one_place(ds, time, low, station, file)
    days = ds[time].to_numpy().astype("datetime64[D]")
    lines = np.zeros(days.size, np.int64)
    columns = {}
    for element, name in (("tmin", low), ("tmax", high)):
        unit = _unit(ds[name], name, file)
        columns[element] = Column(days, TO_CELSIUS[unit](_values(ds[name], file)), lines)
    repairs = [Repair(*repair) for repair in _told(ds, "repairs", [])]
    for element, names in _MORE.items():
        found = [name for name in names if name in ds and ds[name].dims == ds[low].dims]
        if not found:
            continue
        name = found[0]
        factor = _MM.get(bare(str(ds[name].attrs.get("units", ""))))
        if factor is None:
            repairs.append(Repair(f"{element} left out: the unit of {name} is not known", 1, file))
            continue
        columns[element] = Column(days, _values(ds[name], file) * factor, lines)
    signs = Column(days, ds["sign"].to_numpy().astype(float), lines) if "sign" in ds else None
    source = {"format": "CF NetCDF"} | {
        key: str(ds.attrs[key])
        for key in ("title", "institution", "license", "licence", "comment")
        if ds.attrs.get(key)
    }
    source |= _told(ds, "source", {})
    invented = "invented" in ds and bool(ds["invented"].item())
    return Part(file, columns, details, signs, repairs, source, invented=invented)


def _values(variable: xr.DataArray, file: str) -> np.ndarray:
    values = np.asarray(variable.to_numpy())
    if values.dtype.kind not in "fiu":
        raise RecordError(f"{file}: {variable.name} holds no numbers.", "Give temperatures as numbers.")
    return values.astype(np.float64)


def _told(ds: xr.Dataset, key: str, empty: Any) -> Any:
    """What a dataset of ours says about a record, as JSON; `empty` for any other dataset."""
    try:
        told = json.loads(str(ds[key].item()))
    except (KeyError, ValueError):
        return empty
    return told if isinstance(told, type(empty)) else empty


def _temperature(ds: xr.Dataset, element: str, method: str, file: str) -> str:
    """The name of the variable that holds Tmin or Tmax."""
    named = [str(name) for name in ds.data_vars if bare(str(name)) in NAMES[element]]
    by_attributes = [
        str(name) for name, variable in ds.data_vars.items()
        if variable.attrs.get("standard_name") == "air_temperature"
        and method in str(variable.attrs.get("cell_methods", ""))
    ]  # fmt: skip
    found = named or by_attributes
    if len(found) == 1:
        return found[0]
    listed = ", ".join(found or [str(name) for name in ds.data_vars][:20]) or "none"
    if found:
        raise RecordError(f"{file}: several variables may be {element}: {listed}.", "Keep one of them.")
    raise RecordError(f"{file}: no variable for {element}; found {listed}.",
                      f"Name it {element}, or give it standard_name air_temperature and cell_methods "
                      f"'time: {method}'.")  # fmt: skip


def _unit(variable: xr.DataArray, name: str, file: str) -> str:
    said = str(variable.attrs.get("units", ""))
    unit = WORDS_OF_UNITS.get(bare(said))
    if unit not in TO_CELSIUS:
        raise RecordError(f"{file}: the unit of {name} is {said!r}.",
                          "Give it the attribute units: degC, K or degF.")  # fmt: skip
    return unit


def _time(variable: xr.DataArray, file: str) -> str:
    """The dimension of days."""
    for name in variable.dims:
        if name in variable.coords and variable[name].dtype.kind == "M":
            if np.isnat(variable[name].to_numpy()).any():
                raise RecordError(f"{file}: the axis {name} has values that are no days.", "Correct the axis.")
            return str(name)
    listed = ", ".join(str(name) for name in variable.dims)
    raise RecordError(f"{file}: {variable.name} has no axis of days; its dimensions are {listed or 'none'}.",
                      "Give it a time coordinate in days of the real calendar.")  # fmt: skip


def _one_place(
    ds: xr.Dataset, time: str, low: str, station: str | None, file: str
) -> tuple[xr.Dataset, Station]:  # fmt: skip
    """The dataset at one place, and what it says about the place."""
    others = [str(name) for name in ds[low].dims if name != time]
    label = ""
    if len(others) == 1 and ds.sizes[others[0]] >= 1:
        labels = _labels(ds, others[0])
        at = _chosen(labels, station, file)
        ds, label = ds.isel({others[0]: at}), labels[at]
    elif len(others) > 1:
        ds = ds.isel(_cell(ds, others, station, file))
    elif others:
        raise RecordError(f"{file} holds no station.", "Give a file with at least one.")
    spot = {}
    for key, names in (("latitude", ("lat", "latitude")), ("longitude", ("lon", "longitude")),
                       ("elevation", ("elevation", "elev", "alt", "altitude", "height", "z"))):  # fmt: skip
        name = next((name for name in ds.variables if str(name).lower() in names and ds[name].ndim == 0), None)
        value = float("nan")
        if name is not None and ds[name].dtype.kind in "fiu":
            value = float(ds[name])
        spot[key] = value - 360 if key == "longitude" and 180 < value <= 360 else value
    said = {key: str(ds[key].item()) for key in ("id", "name") if key in ds.coords and ds[key].ndim == 0}
    return ds, Station(said.get("id", ""), said.get("name", label), **spot)


def _labels(ds: xr.Dataset, dim: str) -> list[str]:
    """What the stations along a dimension are called."""
    texts = [
        variable for name, variable in ds.variables.items()
        if variable.dims == (dim,) and variable.dtype.kind in "OUS" and name not in ("source", "repairs")
    ]  # fmt: skip
    texts.sort(key=lambda variable: variable.attrs.get("cf_role") != "timeseries_id")
    if dim in ds.coords and ds[dim].dtype.kind in "OUSif":
        texts.insert(0, ds[dim].variable)
    if not texts:
        return [str(i + 1) for i in range(ds.sizes[dim])]
    return [value.decode() if isinstance(value, bytes) else str(value) for value in texts[0].to_numpy()]


def _chosen(labels: list[str], asked: str | None, file: str) -> int:
    """Where the station that was asked for stands, by its label or its number counted from 1."""
    if len(labels) == 1:
        return 0
    if asked is not None:
        for at, label in enumerate(labels):
            if label.lower() == asked.lower():
                return at
        if asked.isascii() and asked.isdigit() and 1 <= int(asked) <= len(labels):
            return int(asked) - 1
    listed = ", ".join(f"{i + 1} {label}" for i, label in enumerate(labels[:12]))
    listed += f" and {len(labels) - 12} more" if len(labels) > 12 else ""
    unknown = f" There is no '{asked}'.{nearest(asked, labels)}" if asked is not None else ""
    raise RecordError(f"{file} holds {len(labels)} stations: {listed}.{unknown}",
                      "Say which one, by name or number: --station.")  # fmt: skip


def _cell(ds: xr.Dataset, dims: list[str], asked: str | None, file: str) -> dict[str, int]:
    """The cell of a grid that is nearest to "latitude,longitude"."""
    if all(ds.sizes[dim] == 1 for dim in dims):
        return dict.fromkeys(dims, 0)
    axes = {key: next((dim for dim in dims if dim.lower().startswith(key)), None) for key in ("lat", "lon")}
    size = " x ".join(f"{ds.sizes[dim]} {dim}" for dim in dims)
    try:
        spot = [float(part) for part in (asked or "").split(",")]
        (lat, lon), (north, east) = (axes["lat"], axes["lon"]), spot
        if lat is None or lon is None or len(dims) != 2:
            raise ValueError
    except ValueError:
        do = "Say which cell: --station LATITUDE,LONGITUDE, such as --station 49.9,-99.9."
        raise RecordError(f"{file} holds a grid of {size}.", do) from None
    across = np.abs((ds[lon].to_numpy() - east + 180) % 360 - 180)
    return {lat: int(np.abs(ds[lat].to_numpy() - north).argmin()), lon: int(across.argmin())}
