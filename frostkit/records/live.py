"""Live stations: which one to take near a place, its record, and what of it did not come.

The kept record comes first: from the second time on no network is needed. Importing this module imports the
provider's client (half a second), so others import it where they use it.
"""

import re
import tomllib
from collections import Counter
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files

import meteostat
import numpy as np
import pandas as pd
from meteostat.core.providers import provider_service
from numpy.typing import NDArray

from frostkit.errors import RecordError, SettingError
from frostkit.records.cache import Cache, DamagedError, folder
from frostkit.records.gates import passed
from frostkit.records.merge import Changes, missing_years
from frostkit.records.provider import HOURLY, Fault, OfflineError, Part, Patience, Progress, asking
from frostkit.records.record import Hours, Record, Repair, Station, distance_km

GOOD = tomllib.loads(files("frostkit.records").joinpath("stations.toml").read_text(encoding="utf-8"))
PROVIDER = "Meteostat"
LICENCE = "CC BY 4.0, as the provider's client says of its data"


@dataclass(frozen=True)
class Candidate:
    """A station near a place, and how it would do."""

    station: Station
    distance: float  # km
    higher: float  # m above the place; NaN where the height of either is not known
    first: date | None  # the span of Tmin and Tmax as the provider's list says
    last: date | None
    complete: float  # share of days in that span; NaN where the list doesn't say
    kept: bool  # its record is kept here and needs no network
    recommended: bool
    reason: str


@dataclass(frozen=True)
class Loaded:
    """A record, and what there is to say about how it came."""

    record: Record
    notes: tuple[str, ...] = ()
    changes: Changes | None = None


def near(latitude: float, longitude: float, elevation: float | None = None, *, cache: Cache | None = None,
         radius: float | None = None, limit: int = 8, patience: Patience | None = None) -> list[Candidate]:  # fmt: skip
    """Stations around a place, the recommended one first, each with its reason.

    Parameters
    ----------
    latitude, longitude : degrees north and east
    elevation : m, or None where it is not known; then heights are not compared
    radius : km to look in; the default stands in stations.toml, with the limits of a good station

    Raises `OfflineError` where the list of stations can't be had and none was kept, `RecordError` where none is near.
    """
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise SettingError(f"{latitude} north, {longitude} east is no place on Earth.",
                           "Give a latitude within 90 and a longitude within 180 degrees, west negative.")  # fmt: skip
    cache = cache or Cache(folder())
    radius = GOOD["search"]["radius"] if radius is None else radius
    with asking(cache.path / ".stations", patience or Patience()) as ask:
        ask.station_list()
        found = meteostat.stations.nearby(meteostat.Point(latitude, longitude), radius=radius * 1000, limit=200)
        spans = _spans([str(ident) for ident in found.index])
    kept = set(cache.ids())
    rated = []
    for ident, row in found.iterrows():
        station = _station(str(ident), row.to_dict())
        span = spans.get(station.id, (None, None, float("nan")))
        higher = float("nan") if elevation is None else station.elevation - elevation
        there = Candidate(station, float(row["distance"]) / 1000, higher, *span, station.id in kept, False, "")
        rated.append((*_shortcomings(there), there))
    if not rated:
        raise RecordError(f"The provider has no station within {radius:g} km of {latitude} north, {longitude} east.",
                          "Check the signs (west is negative), or look farther.")  # fmt: skip
    rated.sort(key=lambda one: (one[0], one[2].distance))
    return [_judged(candidate, short, place == 0) for place, (_, short, candidate) in enumerate(rated[:limit])]


def fetch(station_id: str, start: date | None = None, end: date | None = None, *, progress: Progress | None = None,
          cache: Cache | None = None, station: Station | None = None,
          patience: Patience | None = None) -> Record:  # fmt: skip
    """A station's daily record from the provider, without forecasts; the years that did not come are named in it.

    Parameters
    ----------
    start, end : default: the span in the list of stations, to yesterday where the station still reports
    station : where it stands, when that is known; with `start` it does without a list of stations if there is none
    cache : whose folder holds the list of stations; nothing else is kept here, see `load`

    `source` of the record holds provider, attribution, licence, when, and `missing_years` (see `merge.missing_years`).
    Raises `OfflineError` without a network, `RecordError` where no year came or the record does not hold (see `gates`).
    """
    parts, missing, station, start, end = _asked(station_id, start, end, progress, cache, station, patience, daily=True)
    first, columns = _joined(parts)
    masked: Counter[str] = Counter()
    for part in parts:
        masked.update(part.masked)
    lead = int(np.argmax(np.isfinite(columns["tmin"]) | np.isfinite(columns["tmax"])))
    columns = {name: values[lead:] for name, values in columns.items()}
    record = Record(
        station=station,
        start=first + lead,
        tmin=columns.pop("tmin"),
        tmax=columns.pop("tmax"),
        more={name: values for name, values in columns.items() if np.isfinite(values).any()},
        source=_source("meteostat daily", meteostat.config.daily_endpoint, parts, missing),
        repairs=tuple(Repair(f"Values {what}: taken as missing", count) for what, count in masked.items() if count),
    )
    return passed(record)


def fetch_hours(station_id: str, start: date, end: date | None = None, *, progress: Progress | None = None,
                cache: Cache | None = None, station: Station | None = None,
                patience: Patience | None = None) -> Hours:  # fmt: skip
    """A station's hourly temperature from the provider, in universal time; otherwise as `fetch`."""
    parts, missing, station, *_ = _asked(station_id, start, end, progress, cache, station, patience, daily=False)
    first, columns = _joined(parts)
    source = _source("meteostat hourly", meteostat.config.hourly_endpoint, parts, missing)
    return Hours(station, first, columns["temp"], source)


def load(place_or_id: str | tuple[float, float], elevation: float | None = None, *, cache: Cache | None = None,
         progress: Progress | None = None, patience: Patience | None = None) -> Loaded:  # fmt: skip
    """The record of a station, or of the recommended station near a place: the kept one, else the provider's.

    A place is (latitude, longitude), or words such as "49.9 N, 99.9 W". What came from the provider is kept.
    """
    cache = cache or Cache(folder())
    at = place(place_or_id) if isinstance(place_or_id, str) else place_or_id
    notes: list[str] = []
    if at is None:
        ident = _checked(str(place_or_id))
    else:
        ident, why = _chosen(at, elevation, cache, patience)
        notes.append(why)
    if ident in cache.ids():
        try:
            record = passed(cache.get(ident))
            return Loaded(record, (*notes, *_kept_notes(record)))
        except DamagedError as fault:
            notes.append(fault.what)
    try:
        record = fetch(ident, progress=progress, cache=cache, patience=patience)
    except RecordError as fault:
        raise type(fault)(" ".join([*notes, fault.what]), fault.do) from fault
    notes += [f"{year} did not come: {why}." for year, why in missing_years(record).items()]
    try:
        record, changes = cache.update(record)
    except RecordError as fault:  # a full disk, say: the answer can still be given
        return Loaded(record, (*notes, fault.what))
    return Loaded(record, tuple(notes), changes)


def hours(station_id: str, start: date, end: date, *, cache: Cache | None = None, progress: Progress | None = None,
          patience: Patience | None = None) -> Hours:  # fmt: skip
    """Hourly temperature from `start` to `end`: what is kept where it covers them, else the provider's, then kept."""
    cache = cache or Cache(folder())
    ident = _checked(station_id)
    first, last = np.datetime64(start, "h"), np.datetime64(end, "h") + 23
    years: set[int] = set()
    try:
        kept = cache.hours(ident)
        years = {
            int(year) for year in np.unique(kept.time()[np.isfinite(kept.temp)].astype("datetime64[Y]").astype(str))
        }
    except RecordError:  # none, or a damaged one that has been set aside
        pass
    if not years.issuperset(range(start.year, end.year + 1)):
        kept = cache.update_hours(fetch_hours(ident, start, end, progress=progress, cache=cache, patience=patience))
    at, to = (max(0, int((hour - kept.start).astype(int))) for hour in (first, last + 1))
    return replace(kept, start=kept.start + at, temp=kept.temp[at:to])


def refresh(station_id: str, accept: bool = False, *, cache: Cache | None = None, progress: Progress | None = None,
            patience: Patience | None = None) -> Loaded:  # fmt: skip
    """Add the provider's new days to a kept record, and say what of its history the provider changed.

    Nothing kept is lost: a changed reading is taken over with `accept=True` alone, and a year that did not come this
    time stays as it was. Raises `RecordError` where nothing came, or nothing is kept.
    """
    cache = cache or Cache(folder())
    ident = _checked(station_id)
    try:
        old = cache.get(ident)
    except DamagedError as fault:
        fresh = load(ident, cache=cache, progress=progress, patience=patience)
        return replace(fresh, notes=(fault.what, *fresh.notes))
    try:
        since = date.fromisoformat(str(old.start))
        new = fetch(ident, since, progress=progress, cache=cache, station=old.station, patience=patience)
    except RecordError as fault:
        raise type(fault)(f"{fault.what} The kept record of {ident} stands as it was.", fault.do) from fault
    record, changes = cache.update(new, accept)
    still = missing_years(record)
    notes = [f"{year} did not come: {why}{'' if year in still else '; the kept year stands'}."
             for year, why in missing_years(new).items()]  # fmt: skip
    return Loaded(record, (*changes.words(), *notes), changes)


def place(words: str) -> tuple[float, float] | None:
    """Latitude and longitude in words, as degrees north and east; None where the words are no place.

    >>> place("49.9 N, 99.9 W"), place("49.9,-99.9"), place("71140")
    ((49.9, -99.9), (49.9, -99.9), None)
    """
    match = _PLACE.fullmatch(words.strip())
    if match is None:
        return None
    latitude, north, longitude, east = match.groups()
    signs = [-1 if letter and letter in "SsWw" else 1 for letter in (north, east)]
    return float(latitude) * signs[0], float(longitude) * signs[1]


_PLACE = re.compile(r"(-?\d+(?:\.\d+)?)\s*°?\s*([NSns])?\s*[,; ]\s*(-?\d+(?:\.\d+)?)\s*°?\s*([EWew])?")


def _asked(station_id, start, end, progress, cache, station, patience, daily: bool):
    """The years of a station as they came, never none, with station and span filled in from the list."""
    ident = _checked(station_id)
    with asking((cache or Cache(folder())).path / ".stations", patience or Patience()) as ask:
        first, last = None, None
        try:
            ask.station_list()
            first, last, _ = _spans([ident]).get(ident, (None, None, float("nan")))
        except RecordError:
            if station is None or start is None:
                raise
        station = station or _listed(ident)
        start = start or first or date(1950, 1, 1)
        if end is None and last and (datetime.now(UTC).date() - last).days > 366:  # it has ended
            end = date(last.year, 12, 31)
        yesterday = datetime.now(UTC).date() - timedelta(days=1)
        end = min(end or yesterday, yesterday)
        if start > end:
            raise RecordError(f"Station '{ident}' was asked for from {start} to {end}, which holds no day.",
                              "Give a start before the end; today is not over and never asked for.")  # fmt: skip
        parts, missing = ask.years(station, start, end, progress, *(() if daily else (HOURLY,)))
    if not parts:
        offline = any(fault.offline for fault in missing.values())
        count = Counter(fault.why for fault in missing.values() if not fault.why.startswith("not asked for"))
        why = ", ".join(f"{reason} ({years} year{'s' * (years != 1)})" for reason, years in count.most_common(3))
        raise (OfflineError if offline else RecordError)(
            f"Nothing came of station '{ident}', {start.year} to {end.year}: {why}.",
            "Try again later; records that are kept work without a network: frostkit record list.",
        )
    return parts, missing, station, start, end


def _joined(parts: list[Part]) -> tuple[np.datetime64, dict[str, NDArray[np.float32]]]:
    """The years on one axis; a year that did not come between others is NaN."""
    first, last = parts[0].first, parts[-1].first + next(iter(parts[-1].columns.values())).size
    columns = {name: np.full(int((last - first).astype(int)), np.nan, np.float32) for name in parts[0].columns}
    for part in parts:
        at = int((part.first - first).astype(int))
        for name, values in part.columns.items():
            columns[name][at : at + values.size] = values
    return first, columns


def _source(form: str, address: str, parts: list[Part], missing: dict[int, Fault]) -> dict[str, str]:
    attributions = sorted(frozenset().union(*(part.attributions for part in parts)))
    licences = sorted(frozenset().union(*(part.licences for part in parts)))
    source = {
        "format": form,
        "provider": PROVIDER,
        "attribution": ", ".join([PROVIDER, *attributions]),
        "licence": "; ".join([LICENCE, *licences]),
        "endpoint": address,
        "client": f"meteostat {meteostat.__version__}",
        "fetched": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    if missing:
        source["missing_years"] = "; ".join(f"{year}: {fault.why}" for year, fault in sorted(missing.items()))
    return source


def _spans(idents: list[str]) -> dict[str, tuple[date | None, date | None, float]]:
    """First and last day of Tmin and Tmax and share of days, from the list of stations."""
    table = meteostat.stations.inventory(idents).df if idents else None
    if table is None:
        return {}
    rows = table.reset_index().dropna(subset=["start", "end"])
    granularity = {p.id: p.granularity for p in provider_service.providers}
    daily = rows["provider"].map(granularity) == meteostat.Granularity.DAILY
    spans: dict[str, tuple[date | None, date | None, float]] = {}
    for ident, of in rows.groupby("station"):
        own = of[of["parameter"].isin(["tmin", "tmax"]) & daily[of.index]]
        own = own if len(own) else of[of["parameter"] == "temp"]  # daily values that the provider works out from hours
        own = own[own["provider"] == meteostat.Provider.DAILY] if (own["provider"] == "daily").any() else own
        if len(own):
            share = float(pd.to_numeric(own["completeness"], errors="coerce").min())
            first, last = (date.fromisoformat(str(day)[:10]) for day in (own["start"].min(), own["end"].max()))
            spans[str(ident)] = first, last, share / 100 if share > 1 else share
    return spans


def _station(ident: str, row: dict) -> Station:
    place = (float("nan") if pd.isna(row[at]) else float(row[at]) for at in ("latitude", "longitude", "elevation"))
    return Station(ident, str(row["name"] or ""), *place)


def _listed(ident: str) -> Station:
    found = meteostat.stations.meta(ident)
    if found is None or str(found.id).upper() != ident:
        raise RecordError(f"The provider knows no station '{ident}'.",
                          "Look for one with frostkit record near LATITUDE LONGITUDE.")  # fmt: skip
    return _station(ident, vars(found))


def _checked(station_id: str) -> str:
    ident = station_id.strip().upper()  # as the provider writes them
    if not re.fullmatch(r"[A-Z0-9]{1,16}", ident):
        raise RecordError(f"'{station_id}' is neither a station id nor a place.",
                          'Give an id of letters and digits, or a place such as "49.9 N, 99.9 W".')  # fmt: skip
    return ident


def _shortcomings(one: Candidate) -> tuple[float, list[str]]:
    """How far a station falls short of a good one, and where: each shortcoming counts by its excess over the limit."""
    limit = {name: entry["limit"] for name, entry in GOOD.items() if "limit" in entry}
    short: list[tuple[float, str]] = []
    if one.first is None or one.last is None:
        short.append((limit["years"], "no known span of Tmin and Tmax"))
    else:
        years = _years(one)
        ended = (date.today() - one.last).days / 365.25
        short.append((limit["years"] / max(years, 0.5) - 1, f"only {years:.0f} years"))
        short.append((ended / limit["ended"] - 1, f"ends in {one.last.year}"))
        short.append(((1 - one.complete) / limit["missing"] - 1, f"{one.complete:.0%} complete"))
    short.append((one.distance / limit["distance"] - 1, f"{one.distance:.0f} km away"))
    up = "higher" if one.higher > 0 else "lower"
    short.append((abs(one.higher) / limit["height"] - 1, f"{abs(one.higher):.0f} m {up}"))
    over = [(much, words) for much, words in short if much > 0]  # NaN, not known, is no shortcoming
    return sum(much for much, _ in over), [words for _, words in sorted(over, reverse=True)]


def _judged(one: Candidate, short: list[str], best: bool) -> Candidate:
    enough = one.first is not None and _years(one) >= GOOD["fewest_years"]["limit"]
    if best and enough and not short:
        good = f"the nearest with {_years(one):.0f} years" + (
            f", {one.complete:.0%} complete" if one.complete >= 0 else ""
        )
        return replace(one, recommended=True, reason=good)
    if best and enough:
        return replace(one, recommended=True, reason=f"the best there is, but {', '.join(short)}")
    if best:
        return replace(one, reason=f"the best there is, and too short for odds: {', '.join(short)}")
    return replace(one, reason=", ".join(short) or "as good, but farther away")


def _years(one: Candidate) -> float:
    return ((one.last - one.first).days + 1) / 365.25 if one.first and one.last else 0.0


def _chosen(
    at: tuple[float, float], elevation: float | None, cache: Cache, patience: Patience | None
) -> tuple[str, str]:
    """The station for a place, and why; without a network and a list of stations, the nearest that is kept."""
    try:
        best = near(*at, elevation, cache=cache, limit=1, patience=patience)[0]
        return best.station.id, f"{_called(best.station)}, {best.distance:.0f} km away: {best.reason}."
    except OfflineError as fault:
        whole = [one for one in cache.listed() if not one.problem]
        far = [distance_km(*at, one.latitude, one.longitude) for one in whole]
        kept = sorted(
            (km, one.id, one.name) for km, one in zip(far, whole, strict=True) if km <= GOOD["search"]["radius"]
        )
        if not kept:
            raise
        km, ident, name = kept[0]
        called = _called(Station(ident, name))
        return ident, f"{fault.what} {called}, {km:.0f} km away, is the nearest record kept here."


def _called(station: Station) -> str:
    return f"{station.name} ({station.id})" if station.name else station.id


def _kept_notes(record: Record) -> list[str]:
    notes = []
    if record.source.get("fetched"):
        notes.append(
            f"Kept since {record.source['fetched'][:10]}; frostkit record refresh {record.station.id} adds new days."
        )
    notes += [f"{year} is missing: {why}." for year, why in missing_years(record).items()]
    return notes
