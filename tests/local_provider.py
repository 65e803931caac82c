"""A weather-data provider on this machine: invented stations in the bulk layout of the real one, and faults on demand.

The days are made up. The client under test is the real one; only its addresses point here.
"""

import contextlib
import gzip
import sqlite3
import threading
import time
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import numpy as np

Row = dict[str, float | str | None]
Table = dict[date, Row]
HEAD = "year,month,day,temp,temp_source,tmin,tmin_source,tmax,tmax_source,prcp,prcp_source,snwd,snwd_source"


def days_of(first: date, last: date, seed: int = 1) -> Table:
    """Invented days: a yearly wave with noise, in tenths."""
    rng = np.random.default_rng(seed)
    table: Table = {}
    for n in range((last - first).days + 1):
        day = first + timedelta(days=n)
        wave = 15 * np.sin(2 * np.pi * (day.timetuple().tm_yday - 110) / 365)
        low = round(float(wave + rng.normal(-3, 4)), 1)
        row: Row = {
            "tmin": low,
            "tmax": round(low + float(rng.uniform(3, 16)), 1),
            "prcp": round(float(rng.gamma(0.4, 3)), 1),
        }
        if day.month in (1, 2, 12):
            row["snwd"] = float(rng.integers(0, 60))  # cm, as the provider gives it
        table[day] = row
    return table


def csv(rows: Table, source: str = "eccc_daily") -> bytes:
    """One year's file, unpacked."""
    lines = [HEAD]
    for day, row in rows.items():
        cells = [str(day.year), str(day.month), str(day.day)]
        for name in ("temp", "tmin", "tmax", "prcp", "snwd"):
            value = row.get(name)
            cells += (
                ["", ""] if value is None else [f"{value}", str(row.get(f"{name}_source", row.get("source", source)))]
            )
        lines.append(",".join(cells))
    return ("\n".join(lines) + "\n").encode()


class Provider:
    """What the server knows: stations, their days, and how it misbehaves for a year or for the station list."""

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        self.stations: dict[str, dict] = {}
        self.tables: dict[str, Table] = {}
        self.hours: dict[str, dict[int, bytes]] = {}
        self.faults: dict[tuple[str, int] | str, Callable[..., None]] = {}
        self.asked: list[str] = []
        self.times: Counter[str] = Counter()

    def add(self, ident: str, table: Table, latitude: float = 49.9, longitude: float = -99.9, elevation: float | None = 400.0,
            name: str = "", completeness: float | None = 0.99, span: tuple[date, date] | None = None,
            listed: tuple[str, ...] = ("daily tmin", "daily tmax", "daily prcp")) -> None:  # fmt: skip
        self.tables[ident] = table
        self.stations[ident] = {"latitude": latitude, "longitude": longitude, "elevation": elevation,
                                "name": name or f"Invented {ident}", "completeness": completeness,
                                "span": span or (min(table), max(table)), "listed": listed}  # fmt: skip

    def stations_db(self) -> bytes:
        db = sqlite3.connect(":memory:")
        db.executescript(
            "CREATE TABLE stations(id TEXT, country TEXT, region TEXT, latitude REAL, longitude REAL, elevation INTEGER, timezone TEXT);"
            "CREATE TABLE names(station TEXT, language TEXT, name TEXT);"
            "CREATE TABLE identifiers(station TEXT, key TEXT, value TEXT);"
            "CREATE TABLE inventory(station TEXT, provider TEXT, parameter TEXT, start TEXT, end TEXT, completeness REAL);"
        )
        for ident, of in self.stations.items():
            db.execute("INSERT INTO stations VALUES(?,'CA','MB',?,?,?,'America/Winnipeg')",
                       (ident, of["latitude"], of["longitude"], of["elevation"]))  # fmt: skip
            db.execute("INSERT INTO names VALUES(?,'en',?)", (ident, of["name"]))
            for row in of["listed"]:
                first, last = of["span"]
                db.execute("INSERT INTO inventory VALUES(?,?,?,?,?,?)",
                           (ident, *row.split(), first.isoformat(), last.isoformat(), of["completeness"]))  # fmt: skip
        db.commit()
        return db.serialize()

    def body(self, kind: str, ident: str, year: int) -> bytes | None:
        if kind == "hourly":
            return self.hours.get(ident, {}).get(year)
        rows = {day: row for day, row in self.tables.get(ident, {}).items() if day.year == year}
        return csv(rows) if rows else None


class Handler(BaseHTTPRequestHandler):
    provider: Provider

    def do_GET(self) -> None:
        provider = self.provider
        provider.asked.append(self.path)
        provider.times[self.path] += 1
        if self.path == "/stations.db":
            provider.faults.get("stations.db", whole)(self, provider.stations_db())
            return
        _, kind, year, name = self.path.split("/")
        ident = name.removesuffix(".csv.gz")
        body = provider.body(kind, ident, int(year))
        fault = provider.faults.get((ident, int(year))) or provider.faults.get("all")
        if fault:
            fault(self, gzip.compress(body or b""))
        elif body is None:
            status(404)(self, b"")
        else:
            whole(self, gzip.compress(body))

    def log_message(self, *_) -> None:
        pass


def whole(to: Handler, body: bytes) -> None:
    to.send_response(200)
    to.send_header("Content-Length", str(len(body)))
    to.end_headers()
    to.wfile.write(body)


def status(code: int) -> Callable[[Handler, bytes], None]:
    def answer(to: Handler, _: bytes) -> None:
        to.send_response(code)
        to.send_header("Content-Length", "0")
        to.end_headers()

    return answer


def truncated(to: Handler, body: bytes) -> None:
    """Half a gzip file that says it is whole."""
    whole(to, body[: len(body) // 2])


def garbage(to: Handler, body: bytes) -> None:
    whole(to, bytes(np.random.default_rng(3).integers(0, 256, 2000, dtype=np.uint8)))


def zipped_page(to: Handler, body: bytes) -> None:
    """A page of a proxy, packed, with status 200."""
    whole(to, gzip.compress(b"<html><body>Please sign in, then try again.</body></html>\n" * 5))


def empty(to: Handler, body: bytes) -> None:
    whole(to, gzip.compress(HEAD.encode() + b"\n"))


def nothing(to: Handler, body: bytes) -> None:
    whole(to, b"")


def dropped(to: Handler, body: bytes) -> None:
    """The connection ends in the middle of the answer."""
    to.send_response(200)
    to.send_header("Content-Length", str(len(body)))
    to.end_headers()
    to.wfile.write(body[: len(body) // 3])
    to.wfile.flush()
    to.close_connection = True


def slow(seconds: float) -> Callable[[Handler, bytes], None]:
    def answer(to: Handler, body: bytes) -> None:
        time.sleep(seconds)
        with contextlib.suppress(OSError):
            whole(to, body)

    return answer


def dripping(seconds: float) -> Callable[[Handler, bytes], None]:
    """A byte now and then: no single wait is long, the whole is."""

    def answer(to: Handler, body: bytes) -> None:
        to.send_response(200)
        to.send_header("Content-Length", str(len(body)))
        to.end_headers()
        with contextlib.suppress(OSError):
            for n in range(len(body)):
                to.wfile.write(body[n : n + 1])
                to.wfile.flush()
                time.sleep(seconds / len(body))

    return answer


def flipped(to: Handler, body: bytes) -> None:
    """A packed file with one byte changed: its own checksum no longer fits."""
    raw = bytearray(body)
    raw[len(raw) // 2] ^= 0xFF
    with contextlib.suppress(zlib.error, OSError, EOFError):
        assert gzip.decompress(bytes(raw)) != gzip.decompress(body)
    whole(to, bytes(raw))


def once(first: Callable[[Handler, bytes], None], then: Callable[[Handler, bytes], None] = whole):
    """A fault that is gone when asked again."""
    seen: set[str] = set()

    def answer(to: Handler, body: bytes) -> None:
        again = to.path in seen
        seen.add(to.path)
        (then if again else first)(to, body)

    return answer


@contextlib.contextmanager
def serving(provider: Provider) -> Iterator[str]:
    """The provider on a free port of this machine; gives its address."""
    handler = type("Bound", (Handler,), {"provider": provider})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


def environment(address: str, cache: Path) -> dict[str, str]:
    """What points another process at this provider."""
    return {
        "MS_STATIONS_DB_ENDPOINTS": f'["{address}/stations.db"]',
        "MS_DAILY_ENDPOINT": address + "/daily/{year}/{station}.csv.gz",
        "MS_HOURLY_ENDPOINT": address + "/hourly/{year}/{station}.csv.gz",
        "FROSTKIT_CACHE": str(cache),
    }


@contextlib.contextmanager
def pointed_at(address: str) -> Iterator[None]:
    """The client in this process pointed at an address, and back: it binds the two endpoints when it first fetches."""
    import meteostat
    import meteostat.providers.meteostat.daily as daily
    import meteostat.providers.meteostat.hourly as hourly

    config = meteostat.config
    before = (
        config.stations_db_endpoints,
        config.daily_endpoint,
        config.hourly_endpoint,
        daily.ENDPOINT,
        hourly.ENDPOINT,
    )
    config.stations_db_endpoints = [f"{address}/stations.db"]
    config.daily_endpoint = daily.ENDPOINT = address + "/daily/{year}/{station}.csv.gz"
    config.hourly_endpoint = hourly.ENDPOINT = address + "/hourly/{year}/{station}.csv.gz"
    try:
        yield
    finally:
        (
            config.stations_db_endpoints,
            config.daily_endpoint,
            config.hourly_endpoint,
            daily.ENDPOINT,
            hourly.ENDPOINT,
        ) = before


def closed_port() -> str:
    """An address of this machine where nobody answers."""
    import socket

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{free.getsockname()[1]}"
