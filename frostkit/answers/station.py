"""The record behind an answer: folded into seasons once, and described in the words that stand under every result."""

from dataclasses import asdict, dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError, SettingError
from frostkit.records.record import Record, Station, distance_km
from frostkit.seasons.calendar import Cube, fold
from frostkit.seasons.frost import complete

NORTHERNMOST = 66.0  # degrees: up to the polar circle every day has a night


def northern(latitude: float, whose: str = "The field") -> float:
    """A latitude [degrees north] that answers are built for, or NaN where it is not known.

    Raises `SettingError` for any other: seasons of the south run over the turn of the year, and no answer counts them
    yet.
    """
    if -90 <= latitude < 0:
        raise SettingError(
            f"{whose} lies at {-latitude:g} degrees south: frostkit does not count southern seasons yet.",
            "For a northern place give degrees north without a minus; answers hold from 0 to 66 degrees north.",
        )
    if latitude == latitude and not 0 <= latitude <= NORTHERNMOST:
        swapped = " Are latitude and longitude swapped?" if abs(latitude) > 90 else ""
        raise SettingError(
            f"{whose} can't lie at latitude {latitude:g}; allowed: 0 to {NORTHERNMOST:g} degrees north.{swapped}",
            "Give degrees north, such as 49.9 (then degrees east: -99.9 is 99.9 west).",
        )
    return latitude


@dataclass(frozen=True)
class Moved:
    """How the station's nights were moved to the field.

    clear, other : degC added to Tmin on clear, calm nights and on the others, a mean over spring, summer and fall
    scatter : degC, give or take on a single clear night; nights : with both thermometers, 0 where it was typed in
    draws : how many records the odds are counted over
    said : sentences on the offset, as `records.field` gives them
    """

    clear: float
    other: float
    scatter: float = 0.0
    nights: int = 0
    draws: int = 1
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class Behind:
    """What an answer rests on.

    cube : the record folded into seasons
    complete : bool [season]; decided before any answer is looked at
    at : where the field lies, None where it is not said
    distance, height : km and m from station to field (station minus field for height), NaN where not said
    moved : how its nights were moved to the field, None where they are the station's
    draws : the field's record drawn several times, where its offset has scatter: odds are counted over all of them
        (`answers.field.over`), and `cube` is the first
    """

    station: Station
    cube: Cube
    complete: NDArray[np.bool_]
    source: dict[str, str]
    repairs: tuple[str, ...]
    invented: bool
    distance: float = float("nan")
    height: float = float("nan")
    moved: Moved | None = None
    draws: tuple["Behind", ...] = ()
    at: Station | None = None
    ends: int = 0  # the record's own last season, whichever were asked for

    @property
    def latitude(self) -> float:
        """What day lengths go by: the field's where it is said, else the station's [degrees north]; NaN: not known."""
        return self.station.latitude if self.at is None else self.at.latitude

    @property
    def span(self) -> tuple[int, int]:
        """First and last season."""
        return int(self.cube.seasons[0]), int(self.cube.seasons[-1])

    def as_dict(self) -> dict:
        """For programs."""

        def number(value: float) -> float | None:
            return round(float(value), 4) if isfinite(value) else None

        station = self.station
        return {
            "id": station.id,
            "name": station.name,
            "latitude": number(station.latitude),
            "longitude": number(station.longitude),
            "elevation_m": number(station.elevation),
            "seasons": list(self.span),
            "record_ends": self.ends,
            "complete": int(self.complete.sum()),
            "invented": self.invented,
            "distance_km": number(self.distance),
            "height_above_field_m": number(self.height),
            "source": dict(self.source),
            "repairs": list(self.repairs),
            "field": None if self.moved is None else asdict(self.moved),
        }


def behind(
    record: Record,
    season_starts: tuple[int, int] = (1, 1),
    field: Station | None = None,
    seasons: tuple[int, int] | None = None,
) -> Behind:
    """Fold a record into seasons, once, for any number of answers.

    Parameters
    ----------
    record : Record
    season_starts : (month, day)
        (1, 1), or (7, 1) for the south.
    field : Station, optional
        Where the field lies, for distance and height difference.
    seasons : (first, last), optional
        Only these seasons; the station's own lows still come from its whole record.

    Raises
    ------
    RecordError
        Where the record has no reading in any growing season, or none in the seasons asked for.
    SettingError
        Where station or field lie in the south, and the seasons are the north's (`northern`).
    """
    if season_starts == (1, 1):
        northern(record.station.latitude, record.station.name or "The station")
        northern(float("nan") if field is None else field.latitude)
    cube = fold(record.start, record.tmin, record.tmax, record.sign, season_starts)
    ends = int(cube.seasons[-1])
    if seasons is not None:
        keep = (cube.seasons >= seasons[0]) & (cube.seasons <= seasons[1])
        if not keep.any():
            raise RecordError(
                f"The record has seasons {cube.seasons[0]} to {cube.seasons[-1]}, none from "
                f"{seasons[0]} to {seasons[1]}.",
                "Ask for seasons that the record has.",
            )
        sign = None if cube.sign is None else cube.sign[..., keep, :]
        cube = Cube(
            cube.tmin[..., keep, :], cube.tmax[..., keep, :], cube.seasons[keep], cube.lows, sign, season_starts
        )
    distance = height = float("nan")
    if field is not None:
        at = record.station
        distance = distance_km(at.latitude, at.longitude, field.latitude, field.longitude)
        height = at.elevation - field.elevation
    repairs = tuple(f"{r.what}: {r.count}" + (f", first {r.first}" if r.first else "") for r in record.repairs)
    source = dict(record.source)
    return Behind(record.station, cube, complete(cube), source, repairs, record.invented, distance, height, at=field,
                  ends=ends)  # fmt: skip
