"""Days of many places on disk: zarr, whole tenths, one chunk a block of places, checked when it is read.

Traps met, each held by a test: without a checksum a flipped byte is read as other temperatures; a chunk that is not
there reads as days without readings; a full disk leaves files of zeros; an old consolidated listing hides new arrays.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import google_crc32c
import numpy as np
import zarr
from numcodecs import Blosc
from numpy.typing import NDArray
from zarr.codecs import BloscCodec, Crc32cCodec

from frostkit.errors import RecordError
from frostkit.seasons.calendar import DAYS, MISSING

BLOCK = 125  # places: 125 x 75 seasons are 7 MB a temperature, which stays in memory beside what is worked out of it
LARGEST_BLOCK = 250
FORMAT = "frostkit days, 1"
ELEMENTS = ("tmin", "tmax", "prcp")
ABOUT = {
    "tmin": {"standard_name": "air_temperature", "cell_methods": "time: minimum", "units": "degC"},
    "tmax": {"standard_name": "air_temperature", "cell_methods": "time: maximum", "units": "degC"},
    "prcp": {"standard_name": "lwe_thickness_of_precipitation_amount", "cell_methods": "time: sum", "units": "mm"},
    "latitude": {"standard_name": "latitude", "units": "degrees_north"},
    "longitude": {"standard_name": "longitude", "units": "degrees_east"},
    "height": {"standard_name": "surface_altitude", "units": "m"},
    "name": {"standard_name": "platform_name"},
}
SPOTS = ("latitude", "longitude", "height")
CODECS = ["BytesCodec", "BloscCodec", "Crc32cCodec"]
"""How numbers lie in a chunk (see `array`): what `chunk_of` reads by itself."""


@dataclass(frozen=True)
class Spots:
    """Where places lie.

    name : str [place]; latitude, longitude, height : float [place], degrees north and east, m; NaN where not known
    """

    name: NDArray[Any]
    latitude: NDArray[np.float64]
    longitude: NDArray[np.float64]
    height: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.name)

    def some(self, at: slice | NDArray[Any]) -> "Spots":
        """Some of the places."""
        return Spots(self.name[at], self.latitude[at], self.longitude[at], self.height[at])


@dataclass(frozen=True)
class Days:
    """Days of some places; int16 [place, season, 365] tenths of degC and of mm, `MISSING` where not read; prcp or None.

    seasons : int [season], the year of each
    """

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    prcp: NDArray[np.int16] | None
    seasons: NDArray[np.int64]


def array(group: Any, name: str, shape: tuple[int, ...], chunks: tuple[int, ...], dtype: Any, dims: tuple[str, ...],
          fill: Any = None, attrs: Mapping[str, Any] | None = None) -> Any:  # fmt: skip
    """A new array of a group: numbers by lz4 with bit shuffling, then a checksum over what is written."""
    how: dict[str, Any] = {} if fill is None else {"fill_value": fill}
    if dtype is not str:
        size = np.dtype(dtype).itemsize
        how["compressors"] = [BloscCodec(typesize=size, cname="lz4", clevel=5, shuffle="bitshuffle"), Crc32cCodec()]
    else:
        how["compressors"] = [Crc32cCodec()]
    return group.create_array(
        name,
        shape=shape,
        chunks=tuple(max(size, 1) for size in chunks),
        dtype=dtype,
        dimension_names=dims,
        attributes=dict(attrs or {}),
        chunk_key_encoding={"name": "default", "separator": "."},  # a file a chunk, and no folders to make for it
        config={"write_empty_chunks": True},  # else a chunk that is lost could not be told from one without readings
        **how,
    )


def create(
    path: str | Path,
    spots: Spots,
    seasons: NDArray[np.int64],
    *,
    rain: bool = False,
    block: int = BLOCK,
    attrs: Mapping[str, Any] | None = None,
) -> None:
    """A store without days yet: `put` fills it block by block.

    Parameters
    ----------
    path : folder of the store, made anew
    spots : where the places lie; seasons : int [season], years in a row
    rain : whether it holds precipitation; block : places a chunk
    attrs : what else is known: "source", "licence", "invented"

    Raises `RecordError` where it can't be written.
    """
    if not 1 <= block <= LARGEST_BLOCK:
        raise RecordError(f"A block of {block} places is outside 1 to {LARGEST_BLOCK}.", f"Give one such as {BLOCK}.")
    try:
        group = zarr.open_group(str(path), mode="w", zarr_format=3)
        group.attrs.update({"format": FORMAT, "block": block, "Conventions": "CF-1.11", **(attrs or {})})
        shape, chunks = (len(spots), len(seasons), DAYS), (block, len(seasons), DAYS)
        for name in ELEMENTS[: 3 if rain else 2]:
            scaled = {**ABOUT[name], "scale_factor": 0.1, "_FillValue": int(MISSING)}
            array(group, name, shape, chunks, "int16", ("place", "season", "day"), int(MISSING), scaled)
        array(group, "season", (len(seasons),), (len(seasons),), "int64", ("season",))[:] = seasons
        for name in SPOTS:
            at = array(group, name, (len(spots),), (len(spots),), "float64", ("place",), np.nan, ABOUT[name])
            at[:] = getattr(spots, name)
        names = array(group, "name", (len(spots),), (len(spots),), str, ("place",), None, ABOUT["name"])
        names[:] = np.asarray(spots.name, object)
    except OSError as fault:
        raise RecordError(f"{path} can't be written: {why(fault)}.", "Give it a folder with room.") from None


def put(path: str | Path, block: int, tmin: NDArray[np.int16], tmax: NDArray[np.int16],
        prcp: NDArray[np.int16] | None = None) -> None:  # fmt: skip
    """The days of one block, int16 [place, season, 365] in tenths. Raises `RecordError` where they can't be written."""
    group = opened(path)
    size = int(group.attrs["block"])
    at = slice(block * size, block * size + len(tmin))
    try:
        for name, values in (("tmin", tmin), ("tmax", tmax), ("prcp", prcp)):
            if values is not None:
                written(group[name], at, values)
    except OSError as fault:
        raise RecordError(f"{path}, block {block}, can't be written: {why(fault)}.", "Make room, and go on.") from None


def written(to: Any, at: Any, values: NDArray[Any]) -> None:
    """Values into an array opened for writing; empty chunks too."""
    to.with_config({"write_empty_chunks": True})[at] = values


def put_chunk(of: Any, chunk: tuple[int, ...], values: NDArray[Any]) -> bool:
    """One chunk of an array of numbers as a file; False where the array does not lie in a folder.

    What zarr would write (its way there costs two milliseconds a chunk, and a block has thirty), checksum last
    (CRC-32C, RFC 3720, least byte first, as the codec `crc32c` of zarr 3 has it). Raises `OSError` where it does not
    fit: what was begun has a wrong checksum then, and the block no flag.
    """
    file = _file(of, chunk)
    if file is None:
        return False
    if values.shape != of.chunks or values.dtype != of.dtype:
        whole_ = np.full(of.chunks, of.fill_value, of.dtype)
        whole_[tuple(slice(size) for size in values.shape)] = values
        values = whole_
    packed = Blosc(cname="lz4", clevel=5, shuffle=Blosc.BITSHUFFLE).encode(np.ascontiguousarray(values))
    _write(file, packed + google_crc32c.value(packed).to_bytes(4, "little"))
    return True


def _file(of: Any, chunk: tuple[int, ...]) -> str | None:
    """Where a chunk of an array lies, None where the array does not lie in a folder."""
    place = of.store_path
    root = getattr(place.store, "root", None)
    return None if root is None else f"{root}/{place.path}/{of.metadata.encode_chunk_key(chunk)}"


def _write(path: str, data: bytes) -> None:
    how = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
    try:
        file = os.open(path, how, 0o666)
    except FileNotFoundError:
        os.makedirs(os.path.dirname(path), exist_ok=True)
        file = os.open(path, how, 0o666)
    try:
        while data:
            data = data[os.write(file, data) :]
    finally:
        os.close(file)


def opened(path: str | Path, mode: Any = "r+") -> Any:
    """The group of a store, by its own listing and not by a consolidated one, which may be old.

    Raises `RecordError` where there is no store.
    """
    try:
        return zarr.open_group(str(path), mode=mode, use_consolidated=False)
    except (FileNotFoundError, ValueError, KeyError, OSError) as fault:
        raise RecordError(f"{path} is no store of zarr: {why(fault)}.", "Check the path.") from None


def is_store(path: str | Path) -> bool:
    """Whether a folder is a store of frostkit's days."""
    try:
        return Path(path).is_dir() and opened(path, "r").attrs.get("format") == FORMAT
    except RecordError:
        return False


def spots_of(path: str | Path) -> Spots:
    """Where the places of a store lie."""
    group = opened(path, "r")
    found = {name: whole(group, name, path) for name in ("name", *SPOTS)}
    return Spots(np.asarray(found["name"], object), found["latitude"], found["longitude"], found["height"])


def read(path: str | Path, block: int) -> Days:
    """The days of one block.

    Raises
    ------
    RecordError
        Where a chunk is not there, or is not what was written: a flipped byte, a file cut short, zeros of a full disk.
    """
    arrays, seasons = _head(str(path), stamp(path))
    values = {}
    for name, of in arrays.items():
        if not there(of, (block, 0, 0)):
            raise RecordError(f"{path}, {name}, block {block}: its chunk is not there.", "Write the block again.")
        values[name] = chunk_of(of, (block, 0, 0), f"{path}, {name}, block {block}")
    return Days(values["tmin"], values["tmax"], values.get("prcp"), seasons)


def chunk_of(of: Any, chunk: tuple[int, ...], where: str) -> NDArray[Any]:
    """The values of one chunk of places, as zarr reads them; from a folder by itself, which threads do side by side.

    zarr hands every chunk through one loop of its own: two threads read no faster than one.
    """
    size, count = of.chunks[0], of.shape[0]
    first = chunk[0] * size
    path = _file(of, chunk)
    if path is None or [type(codec).__name__ for codec in of.metadata.codecs] != CODECS:
        return checked(of, where, slice(first, first + size))
    with open(path, "rb") as file:
        data = file.read()
    if len(data) < 4 or google_crc32c.value(data[:-4]) != int.from_bytes(data[-4:], "little"):
        raise _damaged(where, "its checksum is wrong")
    values = np.empty(of.chunks, of.dtype)
    try:
        Blosc().decode(memoryview(data)[:-4], out=values)
    except (ValueError, RuntimeError) as fault:
        raise _damaged(where, why(fault)) from None
    return values[: count - first]


def _damaged(where: str, said: str) -> RecordError:
    return RecordError(f"{where}: {said}; a chunk is damaged.", "Write the block again; no answer is given from it.")


def stamp(path: str | Path) -> int:
    """When a store was made: another one under the same name is another one. 0 where there is none."""
    head = Path(path) / "zarr.json"
    return head.stat().st_mtime_ns if head.is_file() else 0


@lru_cache(maxsize=4)
def _head(path: str, made: int) -> tuple[dict[str, Any], NDArray[np.int64]]:
    """Opened arrays of a store and its seasons, once a process. made : see `stamp`"""
    group = opened(path, "r")
    arrays = {name: group[name] for name in ELEMENTS if name in group}
    if not {"tmin", "tmax"} <= set(arrays):
        raise RecordError(f"{path} has no tmin or no tmax.", "Is it a store that frostkit wrote?")
    return arrays, whole(group, "season", path)


def there(of: Any, chunk: tuple[int, ...]) -> bool:
    """Whether a chunk of an array has been written."""
    file = _file(of, chunk)
    if file is not None:
        return os.path.isfile(file)
    key = of.store_path / of.metadata.encode_chunk_key(chunk)
    return bool(zarr.core.sync.sync(key.exists()))  # another kind of store: as zarr asks


def whole(group: Any, name: str, path: str | Path) -> NDArray[Any]:
    """An array of a single chunk. Raises `RecordError` where it is not there, or damaged."""
    if name not in group:
        raise RecordError(f"{path} has no {name}.", "Is it a store that frostkit wrote?")
    of = group[name]
    if not there(of, (0,) * of.ndim):
        raise RecordError(f"{path}, {name}: its chunk is not there.", "Write the store again.")
    return checked(of, f"{path}, {name}")


def checked(of: Any, where: str, at: slice = slice(None)) -> NDArray[Any]:
    """Values of an array, with every fault of a chunk said in words."""
    try:
        return np.asarray(of[at])
    except (ValueError, RuntimeError, OSError) as fault:
        raise _damaged(where, "its checksum is wrong" if "checksum" in str(fault) else why(fault)) from None


def why(fault: BaseException) -> str:
    """The reason of a fault, in a line."""
    said = getattr(fault, "strerror", None) or str(fault) or type(fault).__name__
    return " ".join(str(said).split())[:200]
