"""A record, daily or hourly, as the bytes of one netCDF file with a checksum over all of them, and back.

Whole tenths in int16, deflated; time and units after the CF conventions, so that xarray and any netCDF reader open the
file. The checksum is a last line behind the netCDF part, which such readers pass over: it is compared before a byte
reaches the HDF5 library, so a damaged file is found and never half read.
"""

import contextlib
import io
import json
from collections.abc import Iterator

import h5netcdf
import h5py
import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records.checksum import TAIL, checksum, seal
from frostkit.records.record import Hours, Record, Repair, Station

FORMATS = {Record: "frostkit record 1", Hours: "frostkit hours 1"}
MISSING = -32768
"""Stands for 'no reading' in the file (int16); int32 columns use the same number."""

_COLUMNS = {  # CF standard name table and CF section 7.3, cell methods
    "tmin": ("degC", "air_temperature", "time: minimum", "daily minimum air temperature"),
    "tmax": ("degC", "air_temperature", "time: maximum", "daily maximum air temperature"),
    "temp": ("degC", "air_temperature", "time: point", "hourly air temperature"),
    "prcp": ("mm", "lwe_thickness_of_precipitation_amount", "time: sum", "precipitation"),
    "snow": ("mm", "thickness_of_snowfall_amount", "time: sum", "new snow"),
    "snwd": ("mm", "surface_snow_thickness", "time: point", "snow depth"),
}


def pack(record: Record | Hours) -> bytes:
    """The file of a record: netCDF, then the checksum of it.

    Values are kept to the tenth, the precision of the readings. Raises `RecordError` where a value can't be written so.
    """
    file = io.BytesIO()
    with h5netcdf.File(file, "w") as to:
        to.attrs.update(
            {
                "Conventions": "CF-1.11",
                "featureType": "timeSeries",
                "title": f"Temperature record of {record.station.name or record.station.id}",
                "frostkit_format": FORMATS[type(record)],
                "license": record.source.get("licence", ""),
                "attribution": record.source.get("attribution", ""),
            }
        )
        _said(to, record)
        steps = record.time().astype(np.int64).astype(np.int32)
        to.dimensions = {"time": steps.size}
        time = _column(to, "time", steps)
        unit = "hours since 1970-01-01T00:00:00Z" if isinstance(record, Hours) else "days since 1970-01-01"
        time.attrs.update({"units": unit, "calendar": "standard", "standard_name": "time", "axis": "T"})
        if isinstance(record, Hours):
            _measured(to, "temp", record.temp)
        else:
            for name, values in {"tmin": record.tmin, "tmax": record.tmax, **record.more}.items():
                _measured(to, name, values)
            _only_daily(to, record)
    body = file.getvalue()
    return body + seal(body)


def unpack(data: bytes, where: str = "the file") -> Record:
    """The record in the bytes of a file written by `pack`; `RecordError` where they are not whole."""
    with _opened(data, where, Record) as of:
        columns = _columns(of)
        return Record(
            station=_station(of),
            start=np.datetime64(_first(of), "D"),
            tmin=columns.pop("tmin"),
            tmax=columns.pop("tmax"),
            sign=of["sign"][...] if "sign" in of.variables else None,
            more=columns,
            source=json.loads(_text(of, "source")),
            repairs=tuple(Repair(*repair) for repair in json.loads(_text(of, "repairs"))),
            invented=bool(of["invented"][()]),
        )


def unpack_hours(data: bytes, where: str = "the file") -> Hours:
    """As `unpack`, for hourly temperature."""
    with _opened(data, where, Hours) as of:
        start = np.datetime64(_first(of), "h")
        return Hours(_station(of), start, _columns(of)["temp"], json.loads(_text(of, "source")))


@contextlib.contextmanager
def _opened(data: bytes, where: str, kind: type) -> Iterator[h5netcdf.File]:
    checksum(data, where)
    try:
        with h5netcdf.File(io.BytesIO(data[:-TAIL]), "r") as of:
            if (said := of.attrs["frostkit_format"]) != FORMATS[kind]:
                raise ValueError(f"it says '{said}' where '{FORMATS[kind]}' is known")
            yield of
    except (OSError, KeyError, ValueError, TypeError) as fault:
        raise RecordError(f"{where} is whole, but not a record that this frostkit can read: {fault}.",
                          "Fetch the station again, or use the frostkit that wrote it.") from fault  # fmt: skip


def tenths(values: NDArray[np.floating]) -> NDArray[np.int32]:
    """Readings in whole tenths, `MISSING` where there is none.

    >>> tenths(np.array([-2.2, np.nan, 0.05]))
    array([   -22, -32768,      0], dtype=int32)
    """
    known = np.isfinite(values)
    return np.where(known, np.rint(np.where(known, values, 0).astype(np.float64) * 10), MISSING).astype(np.int32)


def _measured(to: h5netcdf.File, name: str, values: NDArray[np.floating]) -> None:
    whole = tenths(values)
    known = whole[np.isfinite(values)]
    far = known.size and max(abs(int(known.min())), abs(int(known.max())))
    if name in ("tmin", "tmax") and far >= -MISSING:
        raise RecordError(f"{name} holds {far / 10:.0f}, which is no temperature in °C.", "Check the record first.")
    kind = np.int16 if far < -MISSING else np.int32
    column = _column(to, name, whole.astype(kind), fillvalue=kind(MISSING))
    units, standard, cells, long = _COLUMNS.get(name, ("", "", "", name))
    words = {"units": units, "standard_name": standard, "cell_methods": cells, "long_name": long}
    column.attrs.update({key: word for key, word in words.items() if word})
    column.attrs["scale_factor"] = 0.1
    column.attrs["coordinates"] = "id name latitude longitude elevation"


def _column(
    to: h5netcdf.File, name: str, values: NDArray, fillvalue: np.signedinteger | None = None
) -> h5netcdf.Variable:
    return to.create_variable(name, ("time",), values.dtype, data=values, fillvalue=fillvalue, compression="gzip",
                              compression_opts=4, shuffle=True, chunks=(max(1, values.size),))  # fmt: skip


def _said(to: h5netcdf.File, record: Record | Hours) -> None:
    """Station and source, under the names that `frostkit.records.dataset` knows."""
    station = record.station
    texts = {
        "id": (station.id, "station"),
        "name": (station.name, "name of the station"),
        "source": (json.dumps(dict(record.source), ensure_ascii=False), "source of the record, as JSON"),
    }
    for name, (text, long) in texts.items():
        _put_text(to, name, text, long)
    to["id"].attrs["cf_role"] = "timeseries_id"
    place = {
        "latitude": (station.latitude, "degrees_north", "latitude"),
        "longitude": (station.longitude, "degrees_east", "longitude"),
        "elevation": (station.elevation, "m", "surface_altitude"),
    }
    for name, (value, units, standard) in place.items():
        to.create_variable(name, (), "f8", data=float(value)).attrs.update({"units": units, "standard_name": standard})


def _only_daily(to: h5netcdf.File, record: Record) -> None:
    repairs = [[repair.what, repair.count, repair.first] for repair in record.repairs]
    _put_text(to, "repairs", json.dumps(repairs, ensure_ascii=False), "repairs of the record, as JSON")
    made_up = to.create_variable("invented", (), "i1", data=int(record.invented))
    made_up.attrs["long_name"] = "1 for a made-up record"
    if record.sign is not None:
        sign = _column(to, "sign", record.sign.astype(np.int8))
        sign.attrs["long_name"] = "where tmin is missing: known to be above or below 0 degC"
        sign.attrs["flag_values"] = np.array([-1, 0, 1], np.int8)
        sign.attrs["flag_meanings"] = "below not_known above"


def _put_text(to: h5netcdf.File, name: str, text: str, long: str) -> None:
    one = to.create_variable(name, (), dtype=h5py.string_dtype(), data=np.array(text, dtype=object))
    one.attrs["long_name"] = long


def _station(of: h5netcdf.File) -> Station:
    place = (float(of[at][()]) for at in ("latitude", "longitude", "elevation"))
    return Station(_text(of, "id"), _text(of, "name"), *place)


def _first(of: h5netcdf.File) -> int:
    steps = of["time"][...]
    return int(steps[0]) if steps.size else 0


def _columns(of: h5netcdf.File) -> dict[str, NDArray[np.float32]]:
    return {name: _degrees(column[...]) for name, column in of.variables.items() if "scale_factor" in column.attrs}


def _text(of: h5netcdf.File, name: str) -> str:
    text = of[name][()]
    return text.decode() if isinstance(text, bytes) else str(text)


def _degrees(whole: NDArray[np.signedinteger]) -> NDArray[np.float32]:
    return np.where(whole == MISSING, np.nan, whole / 10).astype(np.float32)
