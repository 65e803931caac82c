"""A record as the bytes of one netCDF file, with a checksum over all of them, and back.

Whole tenths in int16, deflated; time and units after the CF conventions, so that xarray and any netCDF reader open the
file. The checksum is a last line behind the netCDF part, which such readers pass over: it is compared before a byte
reaches the HDF5 library, so a damaged file is found and never half read.
"""

import hashlib
import io
import json
from collections.abc import Mapping

import h5netcdf
import h5py
import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records.record import Record, Repair, Station

FORMAT = "frostkit record 1"
MISSING = -32768
"""Stands for 'no reading' in the file (int16); int32 columns use the same number."""

_COLUMNS = {  # CF standard name table and CF section 7.3, cell methods
    "tmin": ("degC", "air_temperature", "time: minimum", "daily minimum air temperature"),
    "tmax": ("degC", "air_temperature", "time: maximum", "daily maximum air temperature"),
    "temp": ("degC", "air_temperature", "time: mean", "daily mean air temperature"),
    "prcp": ("mm", "lwe_thickness_of_precipitation_amount", "time: sum", "precipitation"),
    "snow": ("mm", "thickness_of_snowfall_amount", "time: sum", "new snow"),
    "snwd": ("mm", "surface_snow_thickness", "time: point", "snow depth"),
}
_CHECK = b"\nsha256 "
_TAIL = len(_CHECK) + 64 + 1  # the hexadecimal digits of sha256 and a line end


def pack(record: Record) -> bytes:
    """The file of a record: netCDF, then the checksum of it.

    Values are kept to the tenth, the precision of the readings. Raises `RecordError` where a value can't be written so.
    """
    file = io.BytesIO()
    with h5netcdf.File(file, "w") as to:
        to.attrs.update(
            {
                "Conventions": "CF-1.11",
                "featureType": "timeSeries",
                "title": f"Daily record of {record.station.name or record.station.id}",
                "frostkit_format": FORMAT,
                "source": record.source.get("provider", record.source.get("format", "")),
                "license": record.source.get("licence", ""),
                "attribution": record.source.get("attribution", ""),
                "came_from": json.dumps(dict(record.source), ensure_ascii=False),
                "repairs": json.dumps([[r.what, r.count, r.first] for r in record.repairs], ensure_ascii=False),
                "invented": int(record.invented),
            }
        )
        _station(to, record.station)
        days = record.time().astype("datetime64[D]").astype(np.int32)
        to.dimensions = {"time": days.size}
        time = _column(to, "time", days)
        time.attrs.update(
            {"units": "days since 1970-01-01", "calendar": "standard", "standard_name": "time", "axis": "T"}
        )
        for name, values in {"tmin": record.tmin, "tmax": record.tmax, **record.more}.items():
            _measured(to, name, values)
        if record.sign is not None:
            sign = _column(to, "tmin_sign", record.sign.astype(np.int8))
            sign.attrs["long_name"] = "what is known of a missing daily minimum"
            sign.attrs["flag_values"] = np.array([-1, 0, 1], np.int8)
            sign.attrs["flag_meanings"] = "below_0_degC not_known above_0_degC"
    body = file.getvalue()
    return body + _CHECK + hashlib.sha256(body).hexdigest().encode() + b"\n"


def unpack(data: bytes, where: str = "the file") -> Record:
    """The record in the bytes of a file written by `pack`; `RecordError` where they are not whole."""
    checksum(data, where)
    try:
        with h5netcdf.File(io.BytesIO(data[:-_TAIL]), "r") as of:
            return _record(of)
    except (OSError, KeyError, ValueError, TypeError) as fault:
        raise RecordError(f"{where} is whole, but not a record that this frostkit can read: {fault}.",
                          "Fetch the station again, or use the frostkit that wrote it.") from fault  # fmt: skip


def checksum(data: bytes, where: str = "the file") -> str:
    """The checksum of a whole file, as hexadecimal digits; `RecordError` where it does not fit its bytes.

    >>> checksum(b"half a file")
    Traceback (most recent call last):
    ...
    frostkit.errors.RecordError: the file is cut short or is not a record kept by frostkit (11 bytes).
    Fetch the station again.
    """
    if len(data) <= _TAIL or data[-_TAIL : -_TAIL + len(_CHECK)] != _CHECK:
        raise RecordError(f"{where} is cut short or is not a record kept by frostkit ({len(data)} bytes).",
                          "Fetch the station again.")  # fmt: skip
    written = data[-65:-1].decode("ascii", "replace")
    if (found := hashlib.sha256(data[:-_TAIL]).hexdigest()) != written:
        raise RecordError(f"{where} is damaged: its checksum is {found[:12]}..., written down was {written[:12]}...",
                          "Fetch the station again.")  # fmt: skip
    return written


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
    column.attrs["coordinates"] = "latitude longitude elevation station"


def _column(
    to: h5netcdf.File, name: str, values: NDArray, fillvalue: np.signedinteger | None = None
) -> h5netcdf.Variable:
    return to.create_variable(name, ("time",), values.dtype, data=values, fillvalue=fillvalue, compression="gzip",
                              compression_opts=4, shuffle=True, chunks=(max(1, values.size),))  # fmt: skip


def _station(to: h5netcdf.File, station: Station) -> None:
    ident = to.create_variable("station", (), dtype=h5py.string_dtype(), data=np.array(station.id, dtype=object))
    ident.attrs.update({"cf_role": "timeseries_id", "long_name": "station", "station_name": station.name})
    place = {
        "latitude": (station.latitude, "degrees_north", "latitude"),
        "longitude": (station.longitude, "degrees_east", "longitude"),
        "elevation": (station.elevation, "m", "surface_altitude"),
    }
    for name, (value, units, standard) in place.items():
        to.create_variable(name, (), "f8", data=float(value)).attrs.update({"units": units, "standard_name": standard})


def _record(of: h5netcdf.File) -> Record:
    if of.attrs["frostkit_format"] != FORMAT:
        raise ValueError(f"it says '{of.attrs['frostkit_format']}', known is '{FORMAT}'")
    ident = of["station"][()]
    name = ident.decode() if isinstance(ident, bytes) else str(ident)
    place = (float(of[at][()]) for at in ("latitude", "longitude", "elevation"))
    columns: Mapping[str, NDArray[np.float32]] = {
        name: _degrees(variable[...]) for name, variable in of.variables.items() if "scale_factor" in variable.attrs
    }
    days = of["time"][...]
    return Record(
        station=Station(name, str(of["station"].attrs["station_name"]), *place),
        start=np.datetime64(int(days[0]) if days.size else 0, "D"),
        tmin=columns["tmin"],
        tmax=columns["tmax"],
        sign=of["tmin_sign"][...] if "tmin_sign" in of.variables else None,
        more={name: values for name, values in columns.items() if name not in ("tmin", "tmax")},
        source=json.loads(of.attrs["came_from"]),
        repairs=tuple(Repair(*repair) for repair in json.loads(of.attrs["repairs"])),
        invented=bool(of.attrs["invented"]),
    )


def _degrees(whole: NDArray[np.signedinteger]) -> NDArray[np.float32]:
    return np.where(whole == MISSING, np.nan, whole / 10).astype(np.float32)
