"""Stations near a place, and the records that are kept here."""

from collections.abc import Sequence
from math import isfinite
from typing import Any

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, Says, Table
from frostkit.records.cache import Kept, Where
from frostkit.records.record import Station


def near(found: Sequence[Any], provider: str, licence: str) -> Answer:
    """Stations near a place, the recommended one first, each with its reason.

    found : `records.live.Candidate`, at least one; provider, licence : of the list
    """
    best = found[0]
    values = {"name": best.station.name or best.station.id, "id": best.station.id, "reason": best.reason}
    headline = Says("take" if best.recommended else "none_good", values)
    said = (Says("listed_by", {"provider": provider, "licence": licence}),)
    table = Table(
        "stations",
        Column("id", "text", [one.station.id for one in found]),
        (
            Column("name", "text", [one.station.name for one in found]),
            *_place([one.station for one in found]),
            Column("distance_km", "amount", [_number(one.distance, 1) for one in found], "km"),
            Column("height_above_place_m", "amount", [_number(one.higher, 0) for one in found], "m"),
            Column("first", "date", [_date(one.first) for one in found]),
            Column("last", "date", [_date(one.last) for one in found]),
            Column("complete", "part", [_number(one.complete, 3) for one in found]),
            Column("kept", "flag", [one.kept for one in found]),
            Column("recommended", "flag", [one.recommended for one in found], shown=False),
            Column("reason", "text", [one.reason for one in found]),
        ),
        marked=np.array([one.recommended for one in found]),
    )
    source = {"source": {"provider": provider, "licence": licence}}
    get = Says("do_get", {"id": best.station.id})
    return Answer("stations", headline, said, source, (table,), (), None, next=get)


def kept(at: Where, found: Sequence[Kept]) -> Answer:
    """The kept records, and the folder that they are kept in."""
    folder = {"folder": str(at.path), "why": at.why}
    where = Says("folder", folder)
    whole = [one for one in found if not one.problem]
    said = [where]
    said += [
        Says("problem", {"id": one.id, "file": one.path.name, "problem": one.problem}) for one in found if one.problem
    ]
    said += [Says("years_missing", {"id": one.id, "years": one.missing_years}) for one in whole if one.missing_years]
    for source in dict.fromkeys((one.attribution, one.licence) for one in whole if one.attribution):
        said.append(Says("data", {"source": "; ".join(part for part in source if part)}))
    headline = Says("kept" if found else "nothing_kept", {"records": len(found)})
    get = None if found else Says("do_keep")
    return Answer("stations", headline, tuple(said), folder, (_kept_table("kept", found),), (), None, next=get)


def dropped(gone: Sequence[Kept]) -> Answer:
    """What was removed."""
    of = [Says("removed", _removed(one)) for one in gone] or [Says("hours_removed")]
    return Answer("stations", of[0], tuple(of[1:]), {}, (_kept_table("removed", gone, brief=True),), (), None)


def _removed(of: Kept) -> dict[str, Any]:
    return {"id": of.id, "name": of.name or of.path.name, "days": Amount(of.days, "days")}


def _kept_table(key: str, found: Sequence[Kept], brief: bool = False) -> Table:
    """A row a kept record."""
    stations = [Station(one.id, one.name, one.latitude, one.longitude, one.elevation) for one in found]
    hidden = (
        ("file", [str(one.path) for one in found]),
        ("provider", [one.provider for one in found]),
        ("attribution", [one.attribution for one in found]),
        ("licence", [one.licence for one in found]),
        ("missing_years", [one.missing_years for one in found]),
        ("checksum", [one.checksum for one in found]),
        ("problem", [one.problem for one in found]),
    )
    return Table(
        key,
        Column("id", "text", [one.id for one in found]),
        (
            Column("name", "text", [one.name for one in found]),
            *_place(stations),
            Column("first", "date", [one.first for one in found]),
            Column("last", "date", [one.last for one in found]),
            Column("days", "number", [one.days for one in found]),
            Column("fetched", "text", [one.fetched for one in found]),
            Column("bytes", "number", [one.bytes for one in found], shown=False),
            Column("invented", "flag", [one.invented for one in found]),
            *(Column(name, "text", values, shown=False) for name, values in hidden),
        ),
        brief=np.empty(0, np.int64) if brief else None,
    )


def _place(stations: Sequence[Station]) -> tuple[Column, ...]:
    """Where stations stand, for programs."""
    return (
        Column("latitude", "number", [_number(one.latitude, 4) for one in stations], shown=False),
        Column("longitude", "number", [_number(one.longitude, 4) for one in stations], shown=False),
        Column("elevation_m", "number", [_number(one.elevation, 1) for one in stations], shown=False),
    )


def _number(value: float, digits: int) -> float | None:
    return round(float(value), digits) if isfinite(value) else None


def _date(day: Any) -> np.datetime64 | None:
    return None if day is None else np.datetime64(day, "D")
