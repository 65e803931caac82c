"""CF NetCDF: daily minimum and maximum air temperature of one or more stations, or of a grid."""

import io
import warnings

import h5netcdf
import xarray as xr

from frostkit.errors import RecordError
from frostkit.records.assemble import Part
from frostkit.records.dataset import part_of


class _File(h5netcdf.File):
    """A file that closes in silence where it could not be opened: h5netcdf's own prints a traceback then."""

    _writable = False
    _closed = True


def _opened(data: bytes) -> xr.Dataset:
    if not data.startswith(b"\x89HDF"):
        return xr.open_dataset(io.BytesIO(data), engine="scipy")
    file = _File(io.BytesIO(data), "r", decode_vlen_strings=True, phony_dims="access")  # as xarray opens it
    return xr.open_dataset(xr.backends.H5NetCDFStore(file))


def read(data: bytes, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What a NetCDF file holds about one station, in degC and mm.

    Parameters
    ----------
    data : the file; NetCDF 4 is HDF5, older ones are the classic format
    station : its label, its number counted from 1, or on a grid "latitude,longitude"

    Raises
    ------
    RecordError
        Where the file is damaged, or something is missing in it; see `frostkit.records.dataset.from_dataset`.
    """
    if input_units is not None:
        raise RecordError(f"{file}: NetCDF says its units in the attribute units.", "Leave out --input-units.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with _opened(data) as ds:
                return part_of(ds.load(), station, file)
    except RecordError:
        raise
    except Exception as problem:  # the file libraries raise whatever a damaged file leads them to
        reason = str(problem).split("\n")[0][:160]
        do = "The file is damaged, or its time axis is not in days of the real calendar."
        raise RecordError(f"{file} can't be read as NetCDF: {reason}.", do) from None
