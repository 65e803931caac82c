"""Many places at once: a folder of station files, a list of fields with such a folder, or a grid.

Each is a source: so many places in blocks, and `read(block)` gives the block's places with their sites, one by one with
its own fault where a place can't be read. Sources are plain and small, so that they travel to workers.
"""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from io import StringIO
from math import isfinite
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from frostkit.crops.entry import load
from frostkit.ensemble.fold import GROWING, Folded, day_places
from frostkit.ensemble.site import Site
from frostkit.errors import FrostkitError, RecordError, SettingError, nearest
from frostkit.opening import contents
from frostkit.records import dataset as cf
from frostkit.records.assemble import COLDEST, MOST, WARMEST
from frostkit.records.readers import read as read_record
from frostkit.records.record import Record, Station, distance_km
from frostkit.region import store
from frostkit.region.fast_dly import read_fast
from frostkit.region.store import BLOCK, Days, Spots
from frostkit.seasons.calendar import DAYS, MISSING, tenths

STATIONS = 25  # station files a block: enough work for a worker to come back with, few enough to share out
POSITIONS = "stations.csv"
"""Name of the list of positions in a folder of station files; fixed-width files don't say where they were read."""
FIELD_COLUMNS = ("name", "lat", "lon", "height", "crops", "store")


@dataclass(frozen=True)
class Place:
    """One place of a block.

    site : its record and settings, None where there is none; fault : why not, one line
    corn, legume, store : its own, None where it has none of its own
    distance : km to the station, height_above : m that the station stands above the place; NaN where not known
    station : name of the station behind it
    """

    name: str
    latitude: float
    longitude: float
    height: float
    site: Site | None = None
    fault: str = ""
    corn: str | None = None
    legume: str | None = None
    store: str | None = None
    station: str = ""
    distance: float = float("nan")
    height_above: float = float("nan")


@dataclass(frozen=True)
class Block:
    """The places of a block; `days` where all of them come from a grid, else None."""

    places: Sequence[Place]
    days: Days | None = None


@dataclass(frozen=True)
class Cells(Sequence[Place]):
    """The places of a grid's block, each made when it is asked for: most are answered without.

    days, spots : of all of them; climate, for_season : as for `Site`; file : where they were read
    """

    days: Days
    spots: Spots
    climate: str
    for_season: int | None
    file: str

    def __len__(self) -> int:
        return len(self.spots)

    def __getitem__(self, number: Any) -> Any:
        if isinstance(number, slice):
            return tuple(self[one] for one in range(len(self))[number])
        name = str(self.spots.name[number])
        at = Station("", name, *(float(getattr(self.spots, key)[number]) for key in store.SPOTS))
        place = Place(name, at.latitude, at.longitude, at.elevation, station=name)
        grown = _grown(self.days, number)
        if not grown.any():
            return replace(place, fault="There is no reading between 1 April and 31 October in any season.")
        source = {"format": "grid", "files": self.file}
        folded = _trimmed(self.days, number, grown)
        try:
            return replace(place, site=Site.of_seasons(folded, at, source, self.climate, self.for_season))
        except FrostkitError as fault:
            return replace(place, fault=fault.what)


class Source(Protocol):
    """Where places come from."""

    @property
    def count(self) -> int:
        """How many places."""

    @property
    def block(self) -> int:
        """Places a block."""

    @property
    def shape(self) -> tuple[tuple[str, int], ...]:
        """Dimensions of the grid that the places are cells of, ("y", 3), ("x", 4); empty for a list."""

    def read(self, block: int, climate: str, for_season: int | None) -> Block:
        """The places of one block."""

    def says(self) -> dict[str, Any]:
        """What it is, plain: two sources that say the same are the same."""


def blocks(source: Source) -> int:
    """How many blocks a source has."""
    return -(-source.count // source.block)


# --- stations --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Stations:
    """A folder of station files, one file or folder a station, and where the stations lie where the files don't say."""

    files: tuple[str, ...]
    positions: dict[str, tuple[str, float, float, float]] = field(default_factory=dict)
    block: int = STATIONS

    @property
    def count(self) -> int:
        return len(self.files)

    @property
    def shape(self) -> tuple[tuple[str, int], ...]:
        return ()

    def says(self) -> dict[str, Any]:
        return {"stations": [_name_of(file) for file in self.files]}

    def read(self, block: int, climate: str, for_season: int | None) -> Block:
        out = []
        for file in self.files[block * self.block : (block + 1) * self.block]:
            try:
                record = station(file, self.positions)
            except FrostkitError as fault:
                nan = float("nan")
                told = self.positions.get(_name_of(file), (_name_of(file), nan, nan, nan))
                out.append(Place(*told, fault=fault.what))
                continue
            of = record.station
            name = _said(record, file)
            site = Site(record, climate=climate, for_season=for_season)
            out.append(Place(name, of.latitude, of.longitude, of.elevation, site, station=name))
        return Block(tuple(out))


def stations(folder: str | Path, block: int = STATIONS) -> Stations:
    """The stations of a folder: each file, or folder of yearly files, is one.

    A list `stations.csv` in it (id or file, name, latitude, longitude, elevation) says what the files don't.

    Raises `RecordError` for a folder without files, or a list that can't be read.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise RecordError(f"{folder} is no folder of station files.", "Give a folder with a file for each station.")
    files = sorted(str(file) for file in folder.iterdir() if file.name != POSITIONS and not file.name.startswith("."))
    if not files:
        raise RecordError(f"{folder} is a folder without station files.", "Put a file for each station into it.")
    return Stations(tuple(files), _positions(folder / POSITIONS), block)


def _positions(path: Path) -> dict[str, tuple[str, float, float, float]]:
    if not path.is_file():
        return {}
    found = {}
    for line, row in _rows(path, "Give columns id, name, latitude, longitude, elevation."):
        key = row.get("id") or row.get("file") or row.get("name") or ""
        spot = (_number(row, names, path, line) for names in (("latitude", "lat"), ("longitude", "lon"), HEIGHTS))
        found[_name_of(key)] = (row.get("name") or key, *spot)
    return found  # type: ignore[return-value]


HEIGHTS = ("height", "elevation", "altitude")


def _said(record: Record, file: str) -> str:
    """What a station is called in answers; an invented one says so."""
    name = record.station.name or record.station.id or _name_of(file)
    return f"{name} (invented)" if record.invented else name


def _name_of(file: str) -> str:
    """What a station file is called in a list: its name without endings."""
    return Path(file).name.split(".")[0]


def station(file: str, positions: dict[str, tuple[str, float, float, float]]) -> Record:
    """The record of a station file, at the position that the list gives it where the file says none."""
    record = read_fast(file) if file.endswith(".dly") else None
    record = read_record(file) if record is None else record
    told = positions.get(_name_of(file)) or positions.get(record.station.id)
    if told is None:
        return record
    of = record.station
    spot = (here if isfinite(here) else there
            for here, there in zip((of.latitude, of.longitude, of.elevation), told[1:], strict=True))  # fmt: skip
    return replace(record, station=Station(of.id, of.name or told[0], *spot))


# --- a list of fields ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Fields:
    """A list of fields, each with the nearest station of a folder, in the order of their stations.

    order : where each stood in the list
    """

    fields: tuple[Place, ...]
    behind: tuple[tuple[str, float], ...]
    positions: dict[str, tuple[str, float, float, float]]
    folder: str
    order: tuple[int, ...]
    block: int = STATIONS

    @property
    def count(self) -> int:
        return len(self.fields)

    @property
    def shape(self) -> tuple[tuple[str, int], ...]:
        return ()

    def says(self) -> dict[str, Any]:
        listed = [[one.name, one.latitude, one.longitude, one.corn, one.legume, one.store] for one in self.fields]
        return {"fields": [[None if part != part else part for part in row] for row in listed]}

    def read(self, block: int, climate: str, for_season: int | None) -> Block:
        out = []
        for number in range(block * self.block, min((block + 1) * self.block, self.count)):
            one, (file, distance) = self.fields[number], self.behind[number]
            try:
                record = _kept_station(file, tuple(sorted(self.positions.items())))
            except FrostkitError as fault:
                out.append(replace(one, fault=fault.what))
                continue
            of = record.station
            at = Station("field", one.name, one.latitude, one.longitude, one.height)
            out.append(
                replace(
                    one,
                    site=Site(record, at, climate=climate, for_season=for_season),
                    station=_said(record, file),
                    distance=distance,
                    height_above=of.elevation - one.height,
                )
            )
        return Block(tuple(out))


@lru_cache(maxsize=64)
def _kept_station(file: str, positions: tuple) -> Record:
    """A station's record, read once for all the fields of a block that it stands for."""
    return station(file, dict(positions))


def fields(path: str | Path, folder: str | Path, block: int = STATIONS) -> Fields:
    """A list of fields (CSV: name, lat, lon, height, crops, store), each with the nearest station of a folder.

    `crops` holds the names of a corn and a legume, joined by "+"; it and `height` and `store` may be left out. Fields
    are put in the order of their stations, so that each station is read and answered once; `order` leads back.

    Raises
    ------
    RecordError
        For a list that can't be read, or a folder in which no station's position is known.
    """
    of = stations(folder)
    spots = {}
    for file in of.files:
        told = of.positions.get(_name_of(file))
        if told is None:
            try:
                at = station(file, of.positions).station
            except FrostkitError:
                continue  # said for its fields where it would be the nearest: a file without a position is no one's
            told = (at.name, at.latitude, at.longitude, at.elevation)
        if isfinite(told[1]) and isfinite(told[2]):
            spots[file] = told
    if not spots:
        raise RecordError(
            f"No station in {folder} says where it lies.",
            f"Put a list {POSITIONS} beside the files: id,name,latitude,longitude,elevation.",
        )
    found = []
    for one in read_fields(path):
        away = {file: distance_km(one.latitude, one.longitude, told[1], told[2]) for file, told in spots.items()}
        file = min(away, key=lambda name: away[name])
        found.append((file, away[file], one))
    order = tuple(sorted(range(len(found)), key=lambda number: found[number][0]))
    found = [found[number] for number in order]
    behind = tuple((file, distance) for file, distance, _ in found)
    return Fields(tuple(one for _, _, one in found), behind, of.positions, str(folder), order, block)


def read_fields(path: str | Path) -> tuple[Place, ...]:
    """Fields of a CSV: name, lat, lon, and where given height, crops, store."""
    out: list[Place] = []
    taken: dict[str, int] = {}
    for line, row in _rows(Path(path), f"Give a CSV with columns {', '.join(FIELD_COLUMNS)}."):
        name = row.get("name") or f"field {len(out) + 1}"
        if name in taken:
            raise RecordError(f"{path}, line {line}: '{name}' stands on line {taken[name]} too.", "Name each apart.")
        taken[name] = line
        spot = [_number(row, names, path, line) for names in (("lat", "latitude"), ("lon", "longitude"), HEIGHTS)]
        if not (isfinite(spot[0]) and isfinite(spot[1])):
            raise RecordError(f"{path}, line {line}: '{name}' has no lat or no lon.", "Say where it lies.")
        if abs(spot[0]) > 90 or abs(spot[1]) > 180:
            raise RecordError(
                f"{path}, line {line}: {spot[0]:g}, {spot[1]:g} is no place.", "Give degrees north, east."
            )
        crops = [part.strip() for part in (row.get("crops") or "").split("+") if part.strip()]
        if len(crops) > 2:
            raise RecordError(f"{path}, line {line}: {len(crops)} crops.", "Give a corn and a legume: corn+legume.")
        corn, legume = _sorted_crops(crops)
        of = Place(name, spot[0], spot[1], spot[2], corn=corn, legume=legume, store=row.get("store") or None)
        out.append(of)
    if not out:
        raise RecordError(f"{path} lists no field.", f"Give a row a field: {', '.join(FIELD_COLUMNS)}.")
    return tuple(out)


def _sorted_crops(names: list[str]) -> tuple[str | None, str | None]:
    """Corn and legume among a field's crops: "none" where it names crops and has no such, None where it names none."""
    found: dict[str, str | None] = dict.fromkeys(("corn", "legume"), "none" if names else None)
    for name in names:
        found[load(name).kind] = name
    return found["corn"], found["legume"]


def _rows(path: Path, wanted: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows of a CSV by line, with names in small letters."""
    text = contents(path, wanted).decode("utf-8-sig", "replace")
    rows = csv.DictReader(StringIO(text))
    names = [(name or "").strip().lower() for name in rows.fieldnames or ()]
    if not {"lat", "latitude"} & set(names):
        raise RecordError(f"{path} has no column lat; found {', '.join(names) or 'nothing'}.", wanted)
    rows.fieldnames = names
    for row in rows:
        if any(isinstance(value, str) and value.strip() for value in row.values()):
            yield rows.line_num, {key: value.strip() for key, value in row.items() if key and isinstance(value, str)}


def _number(row: dict[str, str], names: tuple[str, ...], path: Path | str, line: int) -> float:
    text = next((row[name] for name in names if row.get(name)), "")
    try:
        return float(text) if text else float("nan")
    except ValueError:
        raise RecordError(f"{path}, line {line}, {names[0]}: '{text}' is no number.", "Correct the line.") from None


# --- grids -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Stored:
    """A store of frostkit's days."""

    path: str
    count: int
    block: int
    shape: tuple[tuple[str, int], ...] = ()

    def says(self) -> dict[str, Any]:
        return {"store": Path(self.path).name, "places": self.count, "block": self.block}

    def read(self, block: int, climate: str, for_season: int | None) -> Block:
        days, spots = store.read(self.path, block), _kept_spots(self.path, store.stamp(self.path))
        at = slice(block * self.block, (block + 1) * self.block)
        return Block(Cells(days, spots.some(at), climate, for_season, Path(self.path).name), days)


@lru_cache(maxsize=4)
def _kept_spots(path: str, made: int) -> Spots:
    """Where the places of a store lie, read once a process. made : see `store.stamp`"""
    return store.spots_of(path)


def stored(path: str | Path) -> Stored:
    """A store as a source. Raises `RecordError` where its head can't be read."""
    group = store.opened(path, "r")
    shape = tuple((str(name), int(size)) for name, size in group.attrs.get("shape", ()))
    return Stored(str(path), int(group["tmin"].shape[0]), int(group.attrs["block"]), shape)


@dataclass(frozen=True)
class Grid:
    """A grid or stations in CF NetCDF or zarr, read in blocks of places; its days become seasons as they are read."""

    path: str
    count: int
    shape: tuple[tuple[str, int], ...]
    block: int = BLOCK

    def says(self) -> dict[str, Any]:
        return {"grid": Path(self.path).name, "places": self.count, "block": self.block}

    def read(self, block: int, climate: str, for_season: int | None) -> Block:
        with dataset(self.path) as ds:
            first, last = block * self.block, min((block + 1) * self.block, self.count)
            days, spots = days_of(ds, slice(first, last), Path(self.path).name)
        return Block(Cells(days, spots, climate, for_season, Path(self.path).name), days)


def grid(path: str | Path, block: int = BLOCK) -> Grid:
    """A CF file as a source. Raises `RecordError` where a variable, a unit or the axis of days is missing."""
    with dataset(path) as ds:
        low = cf._temperature(ds, "tmin", "minimum", Path(path).name)
        dims = _place_dims(ds, low, Path(path).name)
    count = int(np.prod([size for _, size in dims]))
    return Grid(str(path), count, dims if len(dims) > 1 else (), block)


def dataset(path: str | Path) -> xr.Dataset:
    """A NetCDF file or a zarr folder, opened without its values.

    Raises `RecordError` where it can't be opened.
    """
    try:
        if Path(path).is_dir():
            return xr.open_zarr(str(path), consolidated=False, chunks=None)
        return xr.open_dataset(path)
    except Exception as fault:  # the file libraries raise whatever a damaged file leads them to
        raise RecordError(f"{path} can't be read: {store.why(fault)}.", "Give CF NetCDF or zarr.") from None


def _place_dims(ds: xr.Dataset, low: str, file: str) -> tuple[tuple[str, int], ...]:
    time = cf._time(ds[low], file)
    dims = tuple((str(name), int(ds.sizes[name])) for name in ds[low].dims if name != time)
    if not 1 <= len(dims) <= 2:
        listed = ", ".join(name for name, _ in dims) or "none"
        raise RecordError(f"{file}: dimensions beside the days: {listed}.", "Give one of places, or y and x.")
    return dims


def days_of(ds: xr.Dataset, at: slice, file: str) -> tuple[Days, Spots]:
    """Some places of a dataset as seasons, in the order of its dimensions.

    What no place on Earth has had, and Tmin above Tmax, is taken as missing, as for a single station.
    """
    low, high = cf._temperature(ds, "tmin", "minimum", file), cf._temperature(ds, "tmax", "maximum", file)
    dims, time = _place_dims(ds, low, file), cf._time(ds[low], file)
    rain = next((name for name in cf._MORE["prcp"] if name in ds and set(ds[name].dims) == set(ds[low].dims)), None)
    factor = None if rain is None else cf._MM.get(cf.bare(str(ds[rain].attrs.get("units", ""))))
    wanted = {"tmin": low, "tmax": high} | ({"prcp": rain} if rain is not None and factor is not None else {})
    values = {}
    for element, name in wanted.items():
        of = _part(ds[name], dims, time, at)
        scale = (lambda v: v * factor) if element == "prcp" else cf.TO_CELSIUS[cf._unit(ds[name], name, file)]
        values[element] = scale(cf._values(of, file))
    with np.errstate(invalid="ignore"):
        for element in ("tmin", "tmax"):
            values[element][(values[element] < COLDEST) | (values[element] > WARMEST)] = np.nan
        if "prcp" in values:
            values["prcp"][(values["prcp"] < 0) | (values["prcp"] > MOST["prcp"])] = np.nan
        crossed = values["tmin"] > values["tmax"]
    values["tmin"][crossed] = values["tmax"][crossed] = np.nan
    days = ds[time].to_numpy().astype("datetime64[D]")
    return folded_together(days, values), _spots(ds, dims, at)


def _part(of: xr.DataArray, dims: tuple[tuple[str, int], ...], time: str, at: slice) -> xr.DataArray:
    """Some places, places first and days last; only what is asked for is read."""
    names = [name for name, _ in dims]
    if len(dims) == 1:
        return of.isel({names[0]: at}).transpose(names[0], time)
    wide = dims[1][1]
    rows = slice(at.start // wide, -(-at.stop // wide))
    flat = of.isel({names[0]: rows}).transpose(*names, time).load()
    inside = slice(at.start - rows.start * wide, at.stop - rows.start * wide)
    return xr.DataArray(flat.to_numpy().reshape(-1, flat.sizes[time])[inside], dims=("place", time), name=of.name)


def _spots(ds: xr.Dataset, dims: tuple[tuple[str, int], ...], at: slice) -> Spots:
    names, sizes = [name for name, _ in dims], [size for _, size in dims]
    count = int(np.prod(sizes))
    wanted = np.arange(count)[at]
    places = np.unravel_index(wanted, sizes)

    def along(keys: tuple[str, ...], standard: str) -> NDArray[np.float64]:
        found = [name for name in ds.variables if ds[name].attrs.get("standard_name") == standard]
        found += [name for name in ds.variables if str(name).lower() in keys]
        for name in found:
            of = ds[name]
            if of.dtype.kind in "fiu" and of.ndim and set(of.dims) <= set(names):
                return of.to_numpy()[tuple(places[names.index(str(dim))] for dim in of.dims)].astype(float)
        return np.full(wanted.size, np.nan)

    latitude = along(("lat", "latitude"), "latitude")
    longitude = along(("lon", "longitude"), "longitude")
    height = along(("elevation", "elev", "alt", "altitude", "height", "z", "orog"), "surface_altitude")
    if len(dims) == 1:
        every = cf._labels(ds, names[0])
        label = np.array([every[one] for one in wanted], object)
    else:
        label = np.array([f"{a},{b}" for a, b in zip(*places, strict=True)], object)
    return Spots(label, latitude, np.where(longitude > 180, longitude - 360, longitude), height)


def folded_together(days: NDArray[np.datetime64], values: dict[str, NDArray[np.float64]]) -> Days:
    """Days of several places folded into seasons at once, as `ensemble.fold.fold` does it for one.

    days : datetime64[D] [day], in any order; values : by element, float [place, day], degC and mm, NaN where not read
    """
    year, column = day_places(days)
    keep = column >= 0
    first, last = int(year[keep].min()), int(year[keep].max())
    at = year[keep] - first, column[keep]
    out = {}
    for name, of in values.items():
        whole = np.full((len(of), last - first + 1, DAYS), MISSING, np.int16)
        whole[:, at[0], at[1]] = tenths(of.astype(np.float32))[:, keep]
        out[name] = whole
    return Days(out["tmin"], out["tmax"], out.get("prcp"), np.arange(first, last + 1))


def _grown(days: Days, number: int) -> NDArray[np.bool_]:
    """Seasons of a place with any reading from 1 April to 31 October. [season]"""
    growing = slice(GROWING[0], GROWING[1] + 1)
    return ((days.tmin[number, :, growing] != MISSING) | (days.tmax[number, :, growing] != MISSING)).any(-1)


def _trimmed(days: Days, number: int, grown: NDArray[np.bool_]) -> Folded:
    """One place from its first to its last season with a reading, as `fold` has it."""
    at = np.flatnonzero(grown)
    keep = slice(int(at[0]), int(at[-1]) + 1)
    prcp = None if days.prcp is None else days.prcp[number, keep]
    prcp = None if prcp is None or not (prcp != MISSING).any() else prcp
    return Folded(days.tmin[number, keep], days.tmax[number, keep], days.seasons[keep], prcp)


def keep(source: Grid, path: str | Path, progress: Any = None) -> Stored:
    """A grid's days kept as a store, block by block: to ask it often, or from many workers."""
    first = None
    total = blocks(source)
    attrs = {"shape": [list(one) for one in source.shape], "source": Path(source.path).name}
    with dataset(source.path) as ds:
        every = _spots(ds, source.shape or ((spots_dim(ds, source), source.count),), slice(0, source.count))
        for number in range(total):
            at = slice(number * source.block, min((number + 1) * source.block, source.count))
            days, _ = days_of(ds, at, Path(source.path).name)
            if first is None:
                first = days
                rain = days.prcp is not None
                store.create(path, every, days.seasons, rain=rain, block=source.block, attrs=attrs)
            store.put(path, number, days.tmin, days.tmax, days.prcp)
            if progress is not None:
                progress(number + 1, total, "days kept")
    return stored(path)


def spots_dim(ds: xr.Dataset, source: Grid) -> str:
    """The one dimension of places of a file that is no grid."""
    low = cf._temperature(ds, "tmin", "minimum", source.path)
    return _place_dims(ds, low, source.path)[0][0]


def source_of(path: str | Path, folder: str | Path | None = None) -> Source:
    """Whatever holds places, as a source.

    Parameters
    ----------
    path : folder of station files; CSV of fields (then `folder` has the stations); NetCDF; zarr
    folder : of station files, for a list of fields

    Raises
    ------
    RecordError, SettingError
        Where it is none of these.
    """
    at = Path(path)
    if not at.exists():
        beside = [file.name for file in at.parent.iterdir()] if at.parent.is_dir() else []
        raise RecordError(f"{path} is not there.{nearest(at.name, beside)}", "Check the path.")
    if store.is_store(at):
        return stored(at)
    if (at / "zarr.json").exists() or (at / ".zgroup").exists():
        return grid(at)
    if at.is_dir():
        if folder is not None:
            raise SettingError("A folder of stations has no list of fields.", "Give the list first: fields.csv.")
        return stations(at)
    if at.suffix.lower() == ".csv":
        if folder is None:
            raise SettingError(
                f"{path} is a list of fields, and no stations are named.", "Add --stations FOLDER with station files."
            )
        return fields(at, folder)
    return grid(at)
