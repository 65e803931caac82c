"""Read a record from a file or a folder: the format is known by the content, never by the file's name."""

import re
from itertools import islice
from pathlib import Path

from frostkit.errors import RecordError, nearest
from frostkit.opening import LARGEST, contents, there
from frostkit.records import cells, eccc, ghcn, netcdf, plain
from frostkit.records.assemble import Part, assemble
from frostkit.records.record import Record

READERS = {
    "GHCN-Daily .dly": ghcn.read_dly,
    "GHCN-Daily CSV, one row a day": ghcn.read_wide,
    "GHCN-Daily CSV, one row a value": ghcn.read_long,
    "ECCC daily CSV": eccc.read,
    "plain CSV": plain.read,
}
_DLY = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}[0-9]{4}(0[1-9]|1[0-2])[A-Z]{2}[A-Z0-9]{2}[ 0-9-]{4}[0-9]")
_NETCDF = (b"\x89HDF\r\n\x1a\n", b"CDF\x01", b"CDF\x02", b"CDF\x05")
MOST_FILES = 5000  # in a folder: a century of months in files of their own is 1,200
_WANTED = "Give one station's days: a file, or a folder of files, of up to 50 MB in all."


def read(
    path: str | Path,
    input_units: str | None = None,
    name: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
    elevation: float | None = None,
    station: str | None = None,
) -> Record:
    """A station's record from a file, or from a folder of files that continue each other.

    Reads GHCN-Daily (.dly, and CSV with one row a day or one row a value), daily CSV of Environment and Climate Change
    Canada, plain CSV with dates, Tmin and Tmax, and CF NetCDF; each plain or gzipped. What was repaired stands in
    `Record.repairs`.

    Parameters
    ----------
    path : file or folder
    input_units : "C", "F", "K" or "tenths" (of a degree Celsius), for files that do not say it
    name, latitude, longitude, elevation : details of the station, in place of the file's [degrees north, east; m]
    station : which one, where the file holds several, or the folder a folder for each

    Raises
    ------
    RecordError
        Where the record can't be read without guessing; the message says where, and what to do.
    """
    path = Path(path)
    if input_units is not None:
        input_units = plain.temperature_unit(input_units)
    if station and Path(station).name == station and there(path / station) and (path / station).is_dir():
        path, station = path / station, None  # a folder of stations' folders
    details = {"name": name, "latitude": latitude, "longitude": longitude, "elevation": elevation}
    parts, left = [], LARGEST
    for file in _files(path, station):
        part, size = _part(file, input_units, station or name, left)
        parts.append(part)
        left -= size
    formats = {part.source["format"] for part in parts}
    if len(formats) > 1:
        raise RecordError(f"{path} holds files of several formats: {', '.join(sorted(formats))}.",
                          "Give one file, or a folder with the files of one station alone.")  # fmt: skip
    return assemble(parts, details)


def _files(path: Path, station: str | None) -> list[Path]:
    """The file, or the visible files of a folder in the order of their names."""
    if there(path) and path.is_dir():
        found = _in_folder(path)
        files = sorted(file for file in found if file.is_file())
        folders = sorted(inner.name for inner in found if inner.is_dir())
        if folders and not files:
            more = f" and {len(folders) - 3} more" if len(folders) > 3 else ""
            raise RecordError(
                f"{path} holds no files, but {len(folders)} folders: {', '.join(folders[:3])}{more}."
                + (f" There is no '{station}'.{nearest(station, folders)}" if station else ""),
                f"A record is one station's: say --station {folders[0]}; frostkit region {path} asks all of them.",
            )
        if not files:
            raise RecordError(f"{path} is a folder without files.", "Give a file, or a folder with daily files.")
        return files
    return [path]


def _in_folder(path: Path) -> list[Path]:
    """What stands visibly in a folder."""
    try:
        found = [one for one in islice(path.iterdir(), 2 * MOST_FILES) if not one.name.startswith(".")]
    except OSError as fault:
        raise RecordError(f"{path} can't be read: {fault.strerror}.", "Check the folder's rights.") from None
    if len(found) > MOST_FILES:
        raise RecordError(f"{path} holds more than {MOST_FILES} files.", _WANTED)
    return found


def _part(path: Path, input_units: str | None, station: str | None, most: int) -> tuple[Part, int]:
    """What one file holds, and its size as text [bytes]; 0 for NetCDF, which is read elsewhere."""
    file = path.name
    if contents(path, _WANTED, only=len(_NETCDF[0])).startswith(_NETCDF):
        return netcdf.read(path, file, input_units, station), 0
    data = contents(path, _WANTED, largest=most)
    if data.startswith(_NETCDF):  # it was gzipped
        return netcdf.read(data, file, input_units, station), len(data)
    size = len(data)
    text, encoding = cells.decode(data, file)
    del data  # large files are held once
    part = READERS[recognise(text, file)](text, file, input_units, station)
    part.source = part.source | {"encoding": encoding}
    return part, size


def recognise(text: str, file: str) -> str:
    """The name of the format that a text is in.

    >>> recognise("date,tmin_C,tmax_C\\n1998-03-03,-4,5\\n", "a.csv")
    'plain CSV'
    """
    head = text[:20_000]
    first = next((line for line in head.split("\n") if line.strip() and not line.lstrip().startswith("#")), "")
    if _DLY.match(first):
        return "GHCN-Daily .dly"
    if eccc.HEADER.search(head):
        return "ECCC daily CSV"
    if eccc.HOURLY.search(head):
        raise RecordError(
            f"{file} is an hourly file.", "Give the daily file of the same station; hours of the field go to --logger."
        )
    names = [name.strip(' "').upper() for name in re.split("[,;\t]", first)]
    if {"STATION", "DATE"} <= set(names) and any(name.endswith("_ATTRIBUTES") for name in names):
        return "GHCN-Daily CSV, one row a day"
    if ghcn.is_long(first):
        return "GHCN-Daily CSV, one row a value"
    if re.search("[,;\t]", first) and re.search("[A-Za-z]{3}", first):
        return "plain CSV"
    raise RecordError(f"{file}: the format is not known; the first line is {cells.shown(first)}.",
                      f"frostkit reads {', '.join(READERS)} (header: date,tmin_C,tmax_C) and NetCDF.")  # fmt: skip
