"""Kept records: one file a station, whole or not at all, whatever happens while it is written.

A new file is written beside the old one, flushed to the disk and put in its place in one step; one process at a time
holds a station's lock. A file that is damaged is set aside under another name, never deleted.
"""

import contextlib
import errno
import os
import re
import stat
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import filelock
import numpy as np
import platformdirs

from frostkit.errors import RecordError, nearest
from frostkit.opening import LARGEST
from frostkit.records.checksum import checksum
from frostkit.records.merge import Changes, merge, merge_hours
from frostkit.records.record import Hours, Record
from frostkit.records.storage import pack, unpack, unpack_hours

VARIABLE = "FROSTKIT_CACHE"
NAME = "data_cache"
_T = TypeVar("_T")


class DamagedError(RecordError):
    """A kept record whose file is not whole; it was set aside, not deleted."""


@dataclass(frozen=True)
class Where:
    """The folder of kept records, and why it is that one."""

    path: Path
    why: str

    def words(self) -> str:
        """A sentence for the first use."""
        return f"Records are kept in {self.path} ({self.why})."


def where(named: str | os.PathLike[str] | None = None) -> Where:
    """The folder of kept records, and why that one.

    The one named, else that of the variable FROSTKIT_CACHE, else the nearest `data_cache` from the working folder
    upward, else the user's cache folder.
    """
    if named:
        return Where(Path(named).expanduser().absolute(), "as asked for")
    if value := os.environ.get(VARIABLE):
        return Where(Path(value).expanduser().absolute(), f"named by {VARIABLE}")
    here = Path.cwd()
    for above in (here, *here.parents):
        if (above / NAME).is_dir():
            return Where(above / NAME, f"the nearest folder {NAME} from the working folder upward")
    return Where(platformdirs.user_cache_path("frostkit", appauthor=False) / NAME, "the cache folder of this user")


def folder(named: str | os.PathLike[str] | None = None) -> Path:
    """The path of `where`."""
    return where(named).path


@dataclass(frozen=True)
class Kept:
    """A kept record at a glance, or what is wrong with its file."""

    id: str
    path: Path
    bytes: int
    name: str = ""
    latitude: float = float("nan")
    longitude: float = float("nan")
    elevation: float = float("nan")  # m
    first: np.datetime64 | None = None  # the first and the last day with a reading
    last: np.datetime64 | None = None
    days: int = 0  # with both Tmin and Tmax
    provider: str = ""
    licence: str = ""
    attribution: str = ""
    fetched: str = ""
    missing_years: str = ""
    checksum: str = ""
    invented: bool = False
    problem: str = ""


class Cache:
    """The kept records in one folder.

    Parameters
    ----------
    path : the folder, made when something is first put there; see `folder`
    patience : seconds to wait for another frostkit that holds the same station
    """

    def __init__(self, path: str | os.PathLike[str], patience: float = 60.0):
        self.path = Path(path)
        self.patience = patience

    def ids(self) -> list[str]:
        """The stations that are kept."""
        return sorted(file.stem for file in self.path.glob("*.nc") if _ID.fullmatch(file.stem))

    def get(self, station: str) -> Record:
        """The kept record of a station.

        Raises `DamagedError` where its file is not whole (it is then set aside), `RecordError` where there is none.
        """
        return self._whole(station, self._file(station), unpack)

    def hours(self, station: str) -> Hours:
        """The kept hourly temperature of a station; errors as in `get`."""
        return self._whole(station, self._file(station, ".hours"), unpack_hours)

    def put(self, record: Record) -> Path:
        """Keep a record in place of the one that was kept of its station; on any failure the old one stands."""
        with self._held(record.station.id):
            return self._put(self._file(record.station.id), record)

    def update(self, new: Record, accept: bool = False) -> tuple[Record, Changes]:
        """Join new days to what is kept of the station (see `merge`) and keep that, in one step among processes."""
        with self._held(new.station.id):
            file = self._file(new.station.id)
            aside = self._set_aside(file)
            if file.exists():
                record, changes = merge(unpack(_bytes(file), str(file)), new, accept)
            else:
                known = np.isfinite(new.tmin) | np.isfinite(new.tmax)
                record, changes = new, Changes(int(known.sum()), aside=aside.name if aside else "")
            self._put(file, record)
            return record, changes

    def update_hours(self, new: Hours) -> Hours:
        """Join new hours to what is kept of the station and keep that; an hour that is kept stays as it was."""
        with self._held(new.station.id):
            file = self._file(new.station.id, ".hours")
            self._set_aside(file)
            if file.exists():
                new = merge_hours(unpack_hours(_bytes(file), str(file)), new)
            self._put(file, new)
            return new

    def drop(self, station: str) -> list[Kept]:
        """Remove a station's kept record, hours, and what was set aside of it; what they were is given back."""
        file = self._file(station)
        with self._held(station):
            gone = [_glance(file)] if file.exists() else []
            gone += [_aside(damaged) for damaged in sorted(self.path.glob(f"{file.stem}.*damaged-*"))]
            hours = self._file(station, ".hours")
            if not gone and not hours.exists():
                raise self._not_kept(station)
            hours.unlink(missing_ok=True)
            for kept in gone:
                kept.path.unlink()
            return gone

    def listed(self) -> list[Kept]:
        """Every kept record at a glance; damaged and set-aside files with their problem."""
        self.sweep()
        kept = [_glance(self._file(station)) for station in self.ids()]
        return kept + [_aside(file) for file in sorted(self.path.glob("*.damaged-*"))]

    def sweep(self) -> int:
        """Remove what writers left that were killed; files of a writer at work stay. Returns how many went."""
        swept = 0
        for left in self.path.glob(".*.part"):
            station = left.name[1:].split(".")[0]
            with contextlib.suppress(RecordError), self._held(station, patience=0):
                swept += self._sweep(station)
        return swept

    def _whole(self, station: str, file: Path, unpacked: Callable[[bytes, str], _T]) -> _T:
        try:
            return unpacked(_bytes(file), str(file))
        except FileNotFoundError:
            raise self._not_kept(station) from None
        except OSError as fault:
            raise self._failed(station, "read", fault) from fault
        except RecordError as fault:
            with self._held(station):
                aside = self._set_aside(file)
                if aside is None and file.exists():  # another process has just put a whole one in its place
                    return unpacked(_bytes(file), str(file))
            put = f" It was set aside as {aside.name}." if aside else ""
            raise DamagedError(
                f"{fault.what}{put}", f"Fetch the station again: frostkit record fetch {station}"
            ) from fault

    # -- one station's file, under its lock ------------------------------------------------------------------------

    @contextlib.contextmanager
    def _held(self, station: str, patience: float | None = None) -> Iterator[None]:
        """The lock of a station between processes; it falls with its holder, even a killed one."""
        self._file(station)
        locks = self.path / ".locks"
        wait = self.patience if patience is None else patience
        try:
            locks.mkdir(parents=True, exist_ok=True)
            lock = filelock.FileLock(locks / f"{station.upper()}.lock", timeout=wait)
            lock.acquire()
        except filelock.Timeout:
            raise RecordError(f"Another frostkit has held station '{station}' for {wait:.0f} seconds.",
                              "Wait until it is done, then try again.") from None  # fmt: skip
        except OSError as fault:
            raise self._failed(station, "locked", fault) from fault
        try:
            yield
        except OSError as fault:
            raise self._failed(station, "read or written", fault) from fault
        finally:
            lock.release()

    def _put(self, file: Path, record: Record | Hours) -> Path:
        data = pack(record)
        self._sweep(record.station.id)
        self._set_aside(file)
        handle, name = tempfile.mkstemp(prefix=f".{file.stem}.", suffix=".part", dir=self.path)
        try:
            with os.fdopen(handle, "wb") as to:
                to.write(data)
                to.flush()
                os.fsync(to.fileno())
            os.chmod(name, 0o644)
            os.replace(name, file)
        except BaseException:  # a full disk, or Ctrl-C
            Path(name).unlink(missing_ok=True)
            raise
        _flush(self.path)
        return file

    def _sweep(self, station: str) -> int:
        left = list(self.path.glob(f".{station.upper()}.*.part"))
        for part in left:
            part.unlink(missing_ok=True)
        return len(left)

    def _set_aside(self, file: Path) -> Path | None:
        """Move a damaged file out of the way, to a name that says what it is; None where it is whole or not there."""
        try:
            checksum(_bytes(file))
        except FileNotFoundError:
            return None
        except RecordError:
            stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S.%f")
            aside = file.with_name(f"{file.stem}.damaged-{stamp}")
            os.replace(file, aside)
            return aside
        return None

    def _file(self, station: str, kind: str = "") -> Path:
        if not _ID.fullmatch(station):
            raise RecordError(f"'{station}' is not a station id: allowed are letters, digits, - and _, at most 64.",
                              "Look for the id with frostkit record near LATITUDE LONGITUDE.")  # fmt: skip
        return self.path / f"{station.upper()}{kind}.nc"

    def _not_kept(self, station: str) -> RecordError:
        return RecordError(
            f"No record of station '{station}' is kept in {self.path}.{nearest(station.upper(), self.ids())}",
            f"frostkit record list shows what is kept; get it with frostkit record fetch {station}",
        )

    def _failed(self, station: str, what: str, fault: OSError) -> RecordError:
        why = os.strerror(fault.errno) if fault.errno else str(fault)
        return RecordError(
            f"The record of {station} could not be {what} in {self.path}: {why}. What was kept there still stands.",
            f"Make room or allow writing there, or name another folder with {VARIABLE}.",
        )


_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")


def _bytes(file: Path) -> bytes:
    """The bytes of a kept file; `OSError` where it is none that could be kept here: a pipe, or far too large."""
    found = file.stat()
    if not stat.S_ISREG(found.st_mode):
        raise OSError(errno.EINVAL, "no regular file")
    if found.st_size > LARGEST:
        raise OSError(errno.EFBIG, "too large")
    return file.read_bytes()


def _flush(path: Path) -> None:
    """The folder's own entry to the disk, where the system can."""
    if os.name == "posix":
        at = os.open(path, os.O_RDONLY)
        try:
            os.fsync(at)
        finally:
            os.close(at)


def _aside(file: Path) -> Kept:
    return Kept(file.name.split(".")[0], file, file.stat().st_size, problem="damaged; set aside, not deleted")


def _glance(file: Path) -> Kept:
    try:
        data = _bytes(file)
        record = unpack(data, file.name)
    except OSError as fault:
        return Kept(file.stem, file, 0, problem=f"can't be read: {fault}")
    except RecordError as fault:
        return Kept(file.stem, file, len(data), problem=fault.what)
    station, source, time = record.station, record.source, record.time()
    known = np.isfinite(record.tmin) | np.isfinite(record.tmax)
    return Kept(
        id=station.id,
        path=file,
        bytes=len(data),
        name=station.name,
        latitude=station.latitude,
        longitude=station.longitude,
        elevation=station.elevation,
        first=time[known][0] if known.any() else None,
        last=time[known][-1] if known.any() else None,
        days=int((np.isfinite(record.tmin) & np.isfinite(record.tmax)).sum()),
        provider=source.get("provider", ""),
        licence=source.get("licence", ""),
        attribution=source.get("attribution", ""),
        fetched=source.get("fetched", ""),
        missing_years=source.get("missing_years", ""),
        checksum=checksum(data),
        invented=record.invented,
    )
