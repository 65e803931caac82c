"""Reads a NetCDF file in a process of its own, for `records.netcdf`: the limits hold before the libraries are there.

`python -m frostkit.records.netcdf_apart PATH FILE SECONDS MEMORY [STATION]`; PATH `-` is the standard input. On the
standard output come arrays (exit status 0), or what is wrong and what to do (3).
"""

import io
import json
import sys
import warnings
from contextlib import suppress
from dataclasses import asdict
from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np

from frostkit.errors import RecordError

if TYPE_CHECKING:  # the libraries come after the limits
    import xarray as xr

    from frostkit.records.assemble import Part


def limited(seconds: int, memory: int) -> None:
    """No more work and memory than that, where the system can; it then ends this process, or refuses the memory."""
    with suppress(ImportError):
        resource = import_module("resource")
        for limit, soft, hard in (
            (resource.RLIMIT_CPU, seconds, seconds + 1),
            (resource.RLIMIT_DATA, memory, memory),
            (resource.RLIMIT_CORE, 0, 0),
            (resource.RLIMIT_FSIZE, 0, 0),
        ):
            with suppress(ValueError, OSError):  # a stricter limit holds already
                resource.setrlimit(limit, (soft, hard))


def read(of: str | io.BytesIO, file: str, station: str | None) -> "Part":
    """What the file holds about one station. Raises `RecordError`."""
    part_of = import_module("frostkit.records.dataset").part_of
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with _opened(of) as ds:
                return part_of(ds, station, file)
    except RecordError:
        raise
    except MemoryError:
        raise RecordError(f"{file} can't be read as NetCDF: it asks for more memory than its days can need.",
                          "The file is damaged, or holds too much: give days of one station.") from None  # fmt: skip
    except Exception as problem:  # the file libraries raise whatever a damaged file leads them to
        reason = str(problem).split("\n")[0][:160]
        do = "The file is damaged, or its time axis is not in days of the real calendar."
        raise RecordError(f"{file} can't be read as NetCDF: {reason}.", do) from None


def _opened(of: str | io.BytesIO) -> "xr.Dataset":
    xr = import_module("xarray")
    if not _head(of).startswith(b"\x89HDF"):
        return xr.open_dataset(of, engine="scipy")
    h5netcdf = import_module("h5netcdf")

    class File(h5netcdf.File):  # type: ignore[name-defined]
        """A file that closes in silence where it could not be opened: h5netcdf's own prints a traceback then."""

        _writable = False
        _closed = True

    file = File(of, "r", decode_vlen_strings=True, phony_dims="access")  # as xarray opens it
    return xr.open_dataset(xr.backends.H5NetCDFStore(file))


def _head(of: str | io.BytesIO) -> bytes:
    if isinstance(of, io.BytesIO):
        return of.getvalue()[:4]
    with open(of, "rb") as file:
        return file.read(4)


def packed(part: "Part") -> bytes:
    """A part as arrays, the rest as JSON."""
    told = {
        "file": part.file,
        "columns": list(part.columns),
        "station": asdict(part.station),
        "repairs": [[one.what, one.count, one.first] for one in part.repairs],
        "source": part.source,
        "invented": part.invented,
    }
    arrays = {name: column.values for name, column in part.columns.items()}
    if part.signs is not None:
        arrays["signs"] = part.signs.values
    days = part.columns["tmin"].days.astype("datetime64[D]").astype(np.int64)
    to = io.BytesIO()
    np.savez(to, allow_pickle=False, days=days, told=np.array(json.dumps(told)), **arrays)
    return to.getvalue()


def main(path: str, file: str, seconds: str, memory: str, station: str | None = None) -> int:
    """The exit status, with the answer written to the standard output."""
    limited(int(seconds), int(memory))
    for unneeded in ("dask", "pint"):  # xarray asks them about every array; to load them takes longer than the file
        sys.modules[unneeded] = None  # type: ignore[assignment]
    try:
        out = packed(read(io.BytesIO(sys.stdin.buffer.read()) if path == "-" else path, file, station))
    except RecordError as fault:
        sys.stdout.buffer.write(json.dumps([fault.what, fault.do]).encode())
        return 3
    sys.stdout.buffer.write(out)
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
