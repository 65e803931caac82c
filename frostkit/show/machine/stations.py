"""`frostkit record near | list | drop --json`."""

from collections.abc import Sequence
from typing import Any

from frostkit.records.cache import Kept, Where
from frostkit.records.live import LICENCE, PROVIDER, Candidate
from frostkit.show.machine.parts import number


def candidates(found: Sequence[Candidate]) -> dict[str, Any]:
    """Stations near a place."""
    return {
        "stations": [
            {
                "id": one.station.id,
                "name": one.station.name,
                "latitude": number(one.station.latitude),
                "longitude": number(one.station.longitude),
                "elevation_m": number(one.station.elevation),
                "distance_km": number(one.distance, 1),
                "height_above_place_m": number(one.higher, 0),
                "first": None if one.first is None else one.first.isoformat(),
                "last": None if one.last is None else one.last.isoformat(),
                "complete": number(one.complete, 3),
                "kept": one.kept,
                "recommended": one.recommended,
                "reason": one.reason,
            }
            for one in found
        ],
        "source": {"provider": PROVIDER, "licence": LICENCE},
    }


def kept(at: Where, found: Sequence[Kept]) -> dict[str, Any]:
    """The kept records."""
    return {"folder": str(at.path), "why": at.why, "kept": [_one(one) for one in found]}


def dropped(gone: Sequence[Kept]) -> dict[str, Any]:
    """What was removed."""
    return {"removed": [_one(one) for one in gone]}


def _one(of: Kept) -> dict[str, Any]:
    return {
        "id": of.id,
        "name": of.name,
        "file": str(of.path),
        "bytes": of.bytes,
        "latitude": number(of.latitude),
        "longitude": number(of.longitude),
        "elevation_m": number(of.elevation),
        "first": None if of.first is None else str(of.first),
        "last": None if of.last is None else str(of.last),
        "days": of.days,
        "provider": of.provider,
        "attribution": of.attribution,
        "licence": of.licence,
        "fetched": of.fetched,
        "missing_years": of.missing_years,
        "checksum": of.checksum,
        "invented": of.invented,
        "problem": of.problem,
    }
