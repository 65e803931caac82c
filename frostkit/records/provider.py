"""The provider's client (meteostat), asked so that a failure can't pass for short data.

The client answers a failure with fewer days and a line in its log. So every year is asked for by itself, in a thread
with a time limit, and the log is listened to for the reason. Importing this module imports the client (half a second).
"""

import contextlib
import errno
import gzip
import hashlib
import http.client
import logging
import os
import socket
import ssl
import sys
import threading
import time
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from urllib.error import HTTPError, URLError

import meteostat
import numpy as np
import pandas as pd
import requests
from meteostat.core.providers import provider_service
from meteostat.enumerations import Grade
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records.bounded import OtherFileError, TooLargeError, bounded, download
from frostkit.records.record import Station

Progress = Callable[[int, int, str], None]
"""Called with (done, of all, what is being done)."""
LIST_DAYS = 7  # the station list is fetched again after a week, as the client itself does
DAILY = {"tmin": 1.0, "tmax": 1.0, "prcp": 1.0, "snwd": 10.0}
"""Columns asked for, and the factor to our units: the client gives snow depth in cm, we keep mm."""
HOURLY = {"temp": 1.0}
_MODELS = {p.id for p in provider_service.providers if p.grade in (Grade.FORECAST, Grade.ANALYSIS)}


_HERE = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOENT}
"""What a file system answers, not a network."""


class OfflineError(RecordError):
    """No network, or no way to the provider's server."""


@dataclass(frozen=True)
class Patience:
    """How long to wait for a server, and how often to ask again."""

    answer: float = 15.0  # seconds without a byte, after which a try has failed
    whole: float = 60.0  # seconds for one year, however slowly it drips
    tries: int = 3
    pause: float = 1.0  # seconds before the second try, doubled before each further one
    in_a_row: int = 2  # years that fail one after the other, after which the rest is not asked for


@dataclass(frozen=True)
class Fault:
    """Why a year did not come, whether asking again may help, and whether there is no way to the server at all."""

    why: str
    again: bool = True
    offline: bool = False


@dataclass(frozen=True)
class Part:
    """What came of one year."""

    first: np.datetime64  # the day or hour of the first value
    columns: dict[str, NDArray[np.float32]]
    licences: frozenset[str]
    attributions: frozenset[str]
    masked: dict[str, int] = field(default_factory=dict)  # what was taken as missing, and how many values


class Asking:
    """The client, set up for one question: see `asking`."""

    def __init__(self, home: Path, patience: Patience):
        self.patience = patience
        addresses = " ".join(meteostat.config.stations_db_endpoints)
        self.stations = home / hashlib.sha256(addresses.encode()).hexdigest()[:12] / "stations.db"

    def station_list(self) -> None:
        """See to it that the client finds a whole station list: a fresh one if it can be had, else the kept one.

        The client writes a new list over the old one; here it is written beside it, tried, and put in its place.
        """
        file = self.stations
        if not file.exists() or time.time() - file.stat().st_mtime > LIST_DAYS * 86400:
            self._swept(file.parent)
            part = file.with_name(f"{os.getpid()}-{time.monotonic_ns()}.part")
            meteostat.config.stations_db_file = str(part)
            fault = self._downloaded(part)
            if fault is None:
                part.replace(file)
            else:
                part.unlink(missing_ok=True)
                if not file.exists():
                    raise (OfflineError if fault.offline else RecordError)(
                        f"The provider's list of stations can't be had: {fault.why}.",
                        "Try again later; records that are kept work without a network: frostkit record list.",
                    )
        meteostat.config.stations_db_file = str(file)

    def _swept(self, home: Path) -> None:
        """The folder, there and without what a killed download left behind."""
        try:
            home.mkdir(parents=True, exist_ok=True)
            for left in home.glob("*.part"):
                if time.time() - left.stat().st_mtime > 86400:
                    left.unlink(missing_ok=True)
        except OSError as problem:
            raise RecordError(
                f"The list of stations can't be kept in {home}: {problem.strerror}.",
                "Make room or allow writing there, or name another folder with FROSTKIT_CACHE.",
            ) from problem

    def _downloaded(self, part: Path) -> Fault | None:
        """Why the list did not come, or is none; None where it stands whole in `part`."""
        fault = None
        for address in meteostat.config.stations_db_endpoints * min(2, self.patience.tries):
            try:
                download(address, part, self.patience.answer)
                break
            except Exception as problem:
                fault = fault_of(problem, self.patience)
        else:
            return fault
        with Listener(self.patience) as heard:
            try:
                if meteostat.stations.query("PRAGMA quick_check").iloc[0, 0] != "ok":
                    return Fault("it came damaged")
                meteostat.stations.query("SELECT id, latitude, longitude, elevation FROM stations LIMIT 1")
                meteostat.stations.query("SELECT station, parameter, start, end FROM inventory LIMIT 1")
            except Exception as problem:  # the client raises the bare class
                return heard.fault or fault_of(problem, self.patience)
        return None

    def years(self, station: Station, first: date, last: date, progress: Progress | None = None,
              columns: dict[str, float] = DAILY) -> tuple[list[Part], dict[int, Fault]]:  # fmt: skip
        """What came of each year, and why the others did not.

        After a few failures in a row the rest is not asked for.
        """
        parts: list[Part] = []
        missing: dict[int, Fault] = {}
        failed = 0
        stopped: Fault | None = None
        for year in range(first.year, last.year + 1):
            if progress:
                progress(year - first.year, last.year + 1 - first.year, f"{station.id} {year}")
            if stopped:
                missing[year] = stopped
                continue
            span = max(first, date(year, 1, 1)), min(last, date(year, 12, 31))
            part, fault = self._patiently(station, *span, columns)
            if part is not None:
                parts.append(part)
                failed = 0
                continue
            missing[year] = fault
            failed = failed + 1 if fault.again else 0
            if fault.offline or failed >= self.patience.in_a_row:
                stopped = Fault(f"not asked for, as {fault.why} before", fault.again, fault.offline)
        if progress:
            progress(last.year + 1 - first.year, last.year + 1 - first.year, station.id)
        return parts, missing

    def _patiently(self, station: Station, first: date, last: date, columns) -> tuple[Part | None, Fault]:
        part, fault = self._once(station, first, last, columns)
        for again in range(self.patience.tries - 1):
            if part is not None or not fault.again:
                break
            time.sleep(self.patience.pause * (1 << again))
            part, fault = self._once(station, first, last, columns)
        return part, fault

    def _once(self, station: Station, first: date, last: date, columns) -> tuple[Part | None, Fault]:
        """One try, in a thread of its own: an answer that drips in byte by byte would never run into a time limit."""
        came: list[Fault | _Came] = []

        def ask() -> None:
            with Listener(self.patience) as heard:
                try:
                    came.append(_client(station, first, last, columns) or heard.fault or nothing)
                except Exception as problem:  # whatever the client breaks on is this year's fault
                    came.append(fault_of(problem, self.patience))

        nothing = Fault("its file holds no temperature", again=False)
        worker = threading.Thread(target=ask, daemon=True)
        worker.start()
        worker.join(self.patience.whole)
        if not came:
            return None, Fault(f"it was not whole within {self.patience.whole:g} seconds")
        if isinstance(came[0], Fault):
            return None, came[0]
        return _part(came[0], first, last, columns), nothing


@contextlib.contextmanager
def asking(home: Path, patience: Patience) -> Iterator[Asking]:
    """The client set up for one question; what it shares with the whole program is put back afterwards.

    home : folder for the client's station list, one for each address that it comes from
    """
    config, log = meteostat.config, logging.getLogger("meteostat")
    config.block_large_requests = False  # else more than 30 years raise
    config.include_model_data = False  # else forecast days are mixed into a record
    config.cache_enable = False  # its cache writes empty years over good ones: frostkit keeps records itself
    config.cache_autoclean = False
    config.stations_db_ttl = 10**9
    ask = Asking(home, patience)
    config.cache_directory = str(ask.stations.parent)
    before = socket.getdefaulttimeout(), log.level, log.propagate
    socket.setdefaulttimeout(patience.answer)  # the one limit that reaches the client's way to the daily files
    log.setLevel(logging.INFO)
    log.propagate = False
    try:
        with bounded():
            yield ask
    finally:
        socket.setdefaulttimeout(before[0])
        log.setLevel(before[1])
        log.propagate = before[2]


class Listener(logging.Handler):
    """Hears from the client's log why something did not come; it writes there while it handles the exception."""

    def __init__(self, patience: Patience):
        super().__init__()
        self.patience = patience
        self.fault: Fault | None = None
        self.thread_heard = threading.get_ident()

    def emit(self, record: logging.LogRecord) -> None:
        if record.thread != self.thread_heard:
            return
        problem = sys.exc_info()[1]
        if problem is not None:
            self.fault = fault_of(problem, self.patience)
        elif "returned status" in record.msg and isinstance(record.args, tuple):
            self.fault = _answered(int(str(record.args[1])))

    def __enter__(self) -> "Listener":
        logging.getLogger("meteostat").addHandler(self)
        return self

    def __exit__(self, *_) -> None:
        logging.getLogger("meteostat").removeHandler(self)


def fault_of(problem: BaseException, patience: Patience) -> Fault:
    """What an exception of the client means, in plain words."""
    if isinstance(problem, HTTPError):
        return _answered(problem.code)
    if isinstance(problem, TooLargeError):
        return Fault("its file is far too large", again=False)
    if isinstance(problem, OtherFileError):
        return Fault("the server sends another file than the one asked for", again=False)
    if isinstance(problem, URLError) and isinstance(problem.reason, BaseException):
        return fault_of(problem.reason, patience)
    if isinstance(problem, TimeoutError | requests.Timeout):
        return Fault(f"no answer within {patience.answer:g} seconds")
    if isinstance(problem, EOFError | gzip.BadGzipFile | zlib.error):
        return Fault("its file came cut short or damaged")
    if isinstance(problem, ConnectionResetError | BrokenPipeError | http.client.HTTPException
                  | requests.exceptions.ChunkedEncodingError):  # fmt: skip
        return Fault("the connection dropped")
    named = isinstance(problem, socket.gaierror | ssl.SSLError)  # their numbers are others, not those of the system
    if isinstance(problem, OSError) and problem.errno in _HERE and not named:
        return Fault(f"it could not be kept here: {problem.strerror}", again=False)
    if isinstance(problem, OSError):  # no name for the address, refused, no route, no certificate
        return Fault("the server can't be reached", offline=True)
    return Fault(f"its file can't be read ({type(problem).__name__})")


def _answered(status: int) -> Fault:
    if status in (404, 410):
        return Fault("the provider has no file for it", again=False)
    if status in (401, 403):
        return Fault(f"the server refused it ({status})", again=False)
    return Fault(f"the server answered {status}")


def _client(station: Station, first: date, last: date, columns: dict[str, float]) -> "_Came | None":
    """The client's own data of one span: its table with sources, the values it ruled out, its licences."""
    where = meteostat.Station(id=station.id, name=station.name, latitude=station.latitude, longitude=station.longitude)
    of = meteostat.daily if columns is DAILY else meteostat.hourly
    series = of(where, first, last, parameters=[meteostat.Parameter(name) for name in columns])
    table, raw = series.fetch(sources=True), series.fetch(clean=False)
    return None if table is None or raw is None else (table, raw, series.licenses)


_Came = tuple[pd.DataFrame, pd.DataFrame, list[meteostat.License]]


def _part(came: _Came, first: date, last: date, columns: dict[str, float]) -> Part | None:
    """What came, on a regular axis in our units; None where there is no temperature in it."""
    table, raw, licences = came
    unit = "datetime64[D]" if columns is DAILY else "datetime64[h]"
    start, end = np.array([first, last + timedelta(days=1)], "datetime64[D]").astype(unit)
    size = int((end - start).astype(int))
    at = (pd.DatetimeIndex(table.index).to_numpy().astype(unit) - start).astype(int)
    out, masked = {}, dict.fromkeys(("out of the client's bounds", "partly from a forecast model"), 0)
    for name, factor in columns.items():
        values = table[name].to_numpy("float32", na_value=np.nan)
        model = np.array([not _MODELS.isdisjoint(str(source).split()) for source in table[f"{name}_source"]], bool)
        masked["partly from a forecast model"] += int((model & np.isfinite(values)).sum())
        masked["out of the client's bounds"] += int((raw[name].notna() & table[name].isna()).sum())
        out[name] = np.full(size, np.nan, np.float32)
        out[name][at] = np.where(model, np.nan, values * np.float32(factor))
    if not any(np.isfinite(out[name]).any() for name in ("tmin", "tmax", "temp") if name in out):
        return None
    names = {" ".join(filter(None, (one.name, one.url and f"({one.url})"))) for one in licences}
    attributions = {one.attribution or "" for one in licences}
    return Part(start, out, frozenset(names - {""}), frozenset(attributions - {""}), masked)
