"""Is this record good enough? What the checks masked, what is missing, whether the thermometer was moved."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.station import Behind, behind
from frostkit.records import breaks as moves
from frostkit.records import checks, holes
from frostkit.records import glance as picture
from frostkit.records.record import Record, distance_km
from frostkit.seasons.calendar import DAYS, MISSING, Cube
from frostkit.seasons.frost import cold_days

STATES = ("complete", "bounded", "not known")


@dataclass(frozen=True)
class Neighbour:
    """A record it was held against: its name, how far away [km], and the days both have a reading on."""

    name: str
    distance: float
    days: int


@dataclass(frozen=True)
class Quality:
    """What is known of a record's quality.

    record : Record, with every reading masked that failed a check; behind : the same, folded
    readings : how many there were of Tmin and Tmax; findings : those that failed a check
    repairs : what was repaired before, on the way in
    masked : {season: {check: readings}}; seasons : what each season has and lacks
    breaks : years from which on the thermometer reads otherwise
    glance : what stands on each day of each season
    filled : sentences on what neighbours can stand in for, in heat sums alone
    """

    behind: Behind
    record: Record
    readings: int
    repairs: tuple[str, ...]
    findings: tuple[checks.Finding, ...]
    masked: dict[int, Counter[str]]
    seasons: tuple[holes.SeasonDays, ...]
    breaks: tuple[moves.Break, ...]
    neighbours: tuple[Neighbour, ...]
    glance: picture.Glance
    filled: tuple[str, ...]

    def in_state(self, state: str) -> int:
        """Seasons that are "complete", "bounded" or "not known"."""
        return sum(season.state == state for season in self.seasons)


def quality(record: Record, neighbours: Sequence[Record] = (), season_starts: tuple[int, int] = (1, 1)) -> Quality:
    """Check a record, alone and against neighbours, and tell what each season has and lacks.

    Parameters
    ----------
    record : Record
        As it was read, not yet checked.
    neighbours : records of stations near it, as they were read
    season_starts : (month, day)

    Raises
    ------
    RecordError
        Where the record has no reading in any growing season.
    """
    near = [checks.check(other)[0] for other in neighbours]
    clean, findings = checks.check(record, near)
    clean = replace(clean, source={**clean.source, "checks": str(len(findings))})
    at = behind(clean, season_starts)
    filled = holes.fill(clean, near) if near else None
    there = None if filled is None else filled.how == holes.FROM_NEIGHBOURS
    own = np.isfinite(clean.tmin)
    told = tuple(
        Neighbour(
            other.station.name or other.station.id,
            distance_km(
                clean.station.latitude, clean.station.longitude, other.station.latitude, other.station.longitude
            ),
            _common(clean, own, other),
        )
        for other in near
    )
    return Quality(
        at,
        clean,
        int(np.isfinite(record.tmin).sum() + np.isfinite(record.tmax).sum()),
        tuple(f"{each.what} ({each.count}{f', first {each.first}' if each.first else ''})" for each in record.repairs),
        findings,
        picture.by_season(clean, findings, season_starts),
        holes.season_table(clean, could_be_cold(at.cube), season_starts),
        moves.breaks(clean, near),
        told,
        picture.glance(clean, findings, there, season_starts=season_starts),
        () if filled is None else filled.said,
    )


def could_be_cold(cube: Cube, at_or_below: int = 0) -> NDArray[np.bool_]:
    """Days of the season on which a missing Tmin may hide a frost at this station. bool [365]; at_or_below in tenths"""
    gone = np.full((1, DAYS), MISSING, np.int16)
    return cold_days(gone, at_or_below, cube.lows)[1][0]


def _common(record: Record, known: NDArray[np.bool_], other: Record) -> int:
    ahead = int((other.start - record.start).astype(int))
    first, last = max(ahead, 0), min(ahead + other.tmin.size, known.size)
    return int((known[first:last] & np.isfinite(other.tmin[first - ahead : last - ahead])).sum()) if first < last else 0
