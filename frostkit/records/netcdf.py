"""CF NetCDF: daily minimum and maximum air temperature of one or more stations, or of a grid.

The libraries that read it loop for ever on some damaged files and take any memory on others, so they run in a process
of their own (`records.netcdf_apart`), with a limit on its time and its memory. NetCDF has no checksum of its own.
"""

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np

from frostkit.errors import RecordError
from frostkit.opening import contents
from frostkit.records.assemble import Column, Part
from frostkit.records.checksum import TAIL, checksum, is_sealed
from frostkit.records.record import Repair, Station

LARGEST = 400_000_000  # bytes of the file: days of a province on a grid
SECONDS = 6  # of work, then the file is taken to be damaged; to start takes 1 of them
PATIENCE = 60.0  # seconds by the clock, on a machine that is busy with other things
MEMORY = 800_000_000  # bytes that the reading may take
_WANTED = "Give days of one station or of a smaller grid."
_DAMAGED = "The file is damaged, or its time axis is not in days of the real calendar."


def read(of: Path | bytes, file: str, input_units: str | None = None, station: str | None = None) -> Part:
    """What a NetCDF file holds about one station, in degC and mm.

    Parameters
    ----------
    of : the file, or its bytes; NetCDF 4 is HDF5, older ones are the classic format
    station : its label, its number counted from 1, or on a grid "latitude,longitude"

    Raises
    ------
    RecordError
        Where the file is damaged, or something is missing in it; see `frostkit.records.dataset.from_dataset`.
    """
    if input_units is not None:
        raise RecordError(f"{file}: NetCDF says its units in the attribute units.", "Leave out --input-units.")
    data = b""
    if not isinstance(of, Path):
        data = of
    elif (size := of.stat().st_size) > LARGEST:
        most = f"{LARGEST / 1e6:.0f} MB"
        raise RecordError(f"{file} has {size / 1e6:,.0f} MB; of NetCDF frostkit reads up to {most}.", _WANTED)
    sealed = is_sealed(_end(of))
    if sealed:
        checksum(data if not isinstance(of, Path) else contents(of, _WANTED), file)
    asked = [str(of) if isinstance(of, Path) else "-", file, str(SECONDS), str(MEMORY)]
    part = _part(_apart(asked + ([station] if station is not None else []), data, file))
    if not sealed:
        part.repairs.append(Repair("read from NetCDF, which has no checksum: damage inside it can't be told", 1, file))
    return part


def _end(of: Path | bytes) -> bytes:
    """The last bytes of a file."""
    if isinstance(of, bytes):
        return of[-TAIL:]
    with of.open("rb") as file:
        file.seek(max(0, os.fstat(file.fileno()).st_size - TAIL))
        return file.read(TAIL)


def _apart(asked: list[str], data: bytes, file: str) -> dict[str, Any]:
    """What the other process found: arrays by name, and `told`, the rest as JSON."""
    here = str(Path(__file__).parents[2])
    path = os.pathsep.join(filter(None, [here, os.environ.get("PYTHONPATH", "")]))
    one_thread = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    command = [sys.executable, "-P", "-m", "frostkit.records.netcdf_apart", *asked]
    try:
        done = subprocess.run(command, input=data, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=PATIENCE,
                              env=os.environ | one_thread | {"PYTHONPATH": path}, check=False)  # fmt: skip
    except subprocess.TimeoutExpired:
        raise RecordError(f"{file} can't be read as NetCDF: it was not read within {PATIENCE:.0f} seconds.",
                          _DAMAGED) from None  # fmt: skip
    except OSError as fault:
        raise RecordError(f"{file}: NetCDF is read in a process of its own, and none can be started: {fault.strerror}.",
                          "Save the days as CSV: date,tmin_C,tmax_C.") from None  # fmt: skip
    if done.returncode == 0:
        with np.load(io.BytesIO(done.stdout), allow_pickle=False) as arrays:
            return {name: arrays[name] for name in arrays.files}
    if done.returncode == 3:  # refused in words
        raise RecordError(*json.loads(done.stdout))
    why = f"it took more than {SECONDS} seconds of work" if done.returncode in _OUT_OF_TIME else "it breaks the reader"
    raise RecordError(f"{file} can't be read as NetCDF: {why}.", _DAMAGED)


_OUT_OF_TIME = (-24, -9)  # SIGXCPU, and SIGKILL a second later


def _part(found: dict[str, Any]) -> Part:
    told = json.loads(str(found["told"]))
    days = found["days"].astype("datetime64[D]")
    lines = np.zeros(days.size, np.int64)
    columns = {name: Column(days, found[name], lines) for name in told["columns"]}
    signs = Column(days, found["signs"], lines) if "signs" in found else None
    repairs = [Repair(*repair) for repair in told["repairs"]]
    station = Station(**told["station"])
    return Part(told["file"], columns, station, signs, repairs, told["source"], invented=told["invented"])
