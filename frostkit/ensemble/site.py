"""A site: record, place, field and settings behind an answer; and the possible seasons that its answers count over."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from frostkit.ensemble.field import field_moves, is_plain
from frostkit.ensemble.fill import DRAWS, Departures, Filled, departures, fill
from frostkit.ensemble.fold import ELEMENTS, GROWING, Folded, complete, counted, fold, observed
from frostkit.ensemble.readings import TENTHS, cells_of, moved, newest_cell, places
from frostkit.ensemble.today import DRAWS as SHIFTS, Level, by_day, level, next_season, shift_draws
from frostkit.errors import RecordError, SettingError, choose
from frostkit.records.field import Offset
from frostkit.records.record import Record, Station, distance_km
from frostkit.seasons.calendar import DAYS, MISSING

TODAY, AS_READ = "today", "as read"
CLIMATES = (TODAY, AS_READ)
LATE = 3  # seasons between the end of a record and the season asked for, after which it is said
SHIFT_SEED = 21
KEPT = 12  # results of a site kept for the next question
Kept = TypeVar("Kept")


NORTHERNMOST = 66.0  # degrees: beyond it no corn grows, and the sun does not set every day of the season


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
class Ensemble:
    """Possible seasons, as plain rows.

    tmin, tmax : int16 [row, 365], tenths of degC, nothing missing in the elements asked for
    prcp : int16 [row, 365], tenths of mm, or None
    index : int [draw, season], the row of each possible season; seasons without a hole at a fixed field share theirs
    shifted : int [shift, season], the same with the climate's move drawn within its error, for intervals; None as read
    seasons : int [season], the years counted; complete : bool [season], read without a hole
    asked : the season asked for; climate : "today" or "as read"
    degrees : how far the oldest season counted was moved, Tmin and Tmax, mean over 1 April to 31 October, degC
    """

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    prcp: NDArray[np.int16] | None
    index: NDArray[np.int64]
    shifted: NDArray[np.int64] | None
    seasons: NDArray[np.int64]
    complete: NDArray[np.bool_]
    asked: int
    climate: str
    degrees: tuple[float, float]

    @property
    def draws(self) -> int:
        """How many times each season is drawn."""
        return len(self.index)

    def over_draws(self, values: NDArray) -> NDArray:
        """What was worked out by rows, by draw and season. [row, ...] -> [draw, season, ...]"""
        return values[self.index]


@dataclass(frozen=True)
class Site:
    """What an answer rests on.

    record : the station's, as read; place : where the field lies, None where it is not said
    offset : how the field's nights differ from the station's, None where they are the same
    climate : "today" or "as read"; for_season : the season asked for, answered from earlier ones alone
    only : first and last season to be counted, None for all
    neighbours : records whose days help to fill holes, nearest first
    """

    record: Record
    place: Station | None = None
    offset: Offset | None = None
    climate: str = TODAY
    for_season: int | None = None
    only: tuple[int, int] | None = None
    neighbours: tuple[Record, ...] = ()

    def __post_init__(self) -> None:
        choose("climate", self.climate, CLIMATES)
        northern(self.station.latitude, "The station")
        if self.place is not None:
            northern(self.place.latitude)

    @classmethod
    def of_seasons(
        cls,
        folded: Folded,
        station: Station,
        source: Mapping[str, str],
        climate: str = TODAY,
        for_season: int | None = None,
    ) -> "Site":
        """The site of a place whose days are seasons already, such as a cell of a grid; it has no days in a row."""
        nothing = np.empty(0, np.float32)
        record = Record(station, np.datetime64(f"{folded.seasons[0]}-01-01"), nothing, nothing, source=source)
        site = cls(record, climate=climate, for_season=for_season)
        site.__dict__["folded"] = folded
        return site

    @property
    def station(self) -> Station:
        """Where the thermometer stands."""
        return self.record.station

    @property
    def latitude(self) -> float:
        """The field's, degrees north; the station's where the field's is not said; NaN where neither is known."""
        return self.station.latitude if self.place is None else self.place.latitude

    @property
    def distance(self) -> float:
        """Kilometres from station to field, NaN where not known."""
        at, to = self.station, self.place
        return float("nan") if to is None else distance_km(at.latitude, at.longitude, to.latitude, to.longitude)

    @property
    def height(self) -> float:
        """Metres that the station stands above the field, NaN where not known."""
        return float("nan") if self.place is None else self.station.elevation - self.place.elevation

    @cached_property
    def folded(self) -> Folded:
        """The record as seasons."""
        record = self.record
        return fold(record.start, record.tmin, record.tmax, record.more.get("prcp"), record.sign)

    @property
    def asked(self) -> int:
        """The season asked for. As read, and where none is named, the one after all that are counted."""
        if self.for_season is not None:
            return self.for_season
        last = int(self.folded.seasons[-1]) + 1
        return max(next_season(), last) if self.climate == AS_READ else next_season()

    @cached_property
    def level(self) -> Level:
        """How warm each season was, and the season asked for will be, as slowly changing levels."""
        return level(self.folded, self.asked)

    @cached_property
    def departures(self) -> Departures:
        """Weather of every season as departures from the usual of its date."""
        return departures(self.past, self.past_level)

    @cached_property
    def past(self) -> Folded:
        """The seasons before the one asked for: nothing later has a say."""
        past = self.folded.seasons < self.asked
        if not past.any():
            raise RecordError(
                f"The record's first season is {self.folded.seasons[0]}: there is none before {self.asked}.",
                "Ask for a later season.",
            )
        return self.folded.some(past)

    @cached_property
    def past_level(self) -> Level:
        """Their levels, and that of the season asked for."""
        past = self.folded.seasons < self.asked
        of = self.level
        return replace(of, seasons=of.seasons[past], own=of.own[..., past], departure=of.departure[..., past])

    def asking(self, season: int, climate: str | None = None) -> "Site":
        """The same site, asked for another season; the record is not folded again."""
        other = replace(self, for_season=season, climate=self.climate if climate is None else climate)
        other.__dict__["folded"] = self.folded
        return other

    def with_offset(self, offset: Offset | None) -> "Site":
        """The same site with another field, or none; what does not depend on the field is not worked out again."""
        other = replace(self, offset=offset)
        kept = ("folded", "level", "past", "past_level", "departures")
        other.__dict__.update({name: self.__dict__[name] for name in kept if name in self.__dict__})
        return other

    def counted(self, needs: tuple[str, ...] = ELEMENTS) -> NDArray[np.bool_]:
        """Which of the seasons before the one asked for count. [season before]"""
        keep = counted(self.past, needs)
        if self.only is not None:
            keep &= (self.past.seasons >= self.only[0]) & (self.past.seasons <= self.only[1])
        return keep

    def not_observed(self) -> NDArray[np.int64]:
        """Years between the first and the last season that have no readings at all."""
        return self.past.seasons[~observed(self.past)]

    def once(self, key: tuple[Any, ...], make: Callable[[], Kept]) -> Kept:
        """What was worked out for this site before, or is now; the newest few are kept.

        For a person who moves one setting of a question after another.

        key : says all that it hangs on but the site
        """
        kept = self.__dict__.setdefault("_once", {})
        found = kept.pop(key) if key in kept else make()
        kept[key] = found  # the newest stands last
        while len(kept) > KEPT:
            del kept[next(iter(kept))]
        return found

    def ensemble(self, needs: tuple[str, ...] = ELEMENTS, shifts: int = SHIFTS) -> Ensemble:
        """The possible seasons that an answer counts over.

        Parameters
        ----------
        needs : elements that the answer asks for: "tmin", "tmax", "prcp"; a frost date needs no Tmax
        shifts : draws of the climate's move within its error, for intervals; 0: none

        Raises
        ------
        RecordError
            Where no season counts: what each lacks is said.
        """
        kept = self.__dict__.setdefault("_ensembles", {})
        if (needs, shifts) not in kept:
            kept[needs, shifts] = self._ensemble(needs, shifts)
        return kept[needs, shifts]

    def _ensemble(self, needs: tuple[str, ...], shifts: int) -> Ensemble:
        past, of = self.past, self.past_level
        asked_of = tuple(name for name in needs if name != "prcp")
        wanted = self.counted(asked_of)
        if not wanted.any():
            self._refuse(asked_of)
        filled = fill(past, of, wanted, needs, self.beside())
        return possible(self, past, of, wanted, filled, asked_of, shifts)

    def beside(self) -> tuple[Departures | None, ...]:
        """Departures of the neighbours, on the seasons of this record."""
        found: list[Departures | None] = []
        for record in self.neighbours:
            theirs = Site(record, for_season=self.asked)
            try:
                of = theirs.departures
            except RecordError:
                found.append(None)
                continue
            shape = (2, len(self.past.seasons), DAYS)
            here, usual = np.full(shape, np.nan), np.full(shape, np.nan)
            _, mine, its = np.intersect1d(self.past.seasons, theirs.past.seasons, return_indices=True)
            here[:, mine], usual[:, mine] = of.of[:, its], of.usual[:, its]
            found.append(Departures(here, usual))
        return tuple(found)

    def _refuse(self, needs: tuple[str, ...]) -> None:
        seasons = self.past.seasons
        if self.only is not None:
            inside = (seasons >= self.only[0]) & (seasons <= self.only[1])
            if not inside.any():
                raise RecordError(
                    f"The record has seasons {seasons[0]} to {seasons[-1]} before {self.asked}, none from "
                    f"{self.only[0]} to {self.only[1]}.",
                    "Ask for seasons that the record has.",
                )
        names = " and ".join({"tmin": "Tmin", "tmax": "Tmax"}[name] for name in needs)
        raise RecordError(
            f"None of the {len(seasons)} seasons {seasons[0]} to {seasons[-1]} has enough readings of {names}: a "
            "season counts with 80 % of 1 April to 31 October read and no gap of over 31 days.",
            "Give a record that covers at least one growing season.",
        )

    def as_dict(self) -> dict[str, Any]:
        """For programs."""

        def number(value: float) -> float | None:
            return round(float(value), 4) if isfinite(value) else None

        station, record = self.station, self.record
        return {
            "id": station.id,
            "name": station.name,
            "latitude": number(station.latitude),
            "longitude": number(station.longitude),
            "elevation_m": number(station.elevation),
            "seasons": [int(self.folded.seasons[0]), int(self.folded.seasons[-1])],
            "invented": record.invented,
            "distance_km": number(self.distance),
            "height_above_field_m": number(self.height),
            "source": dict(record.source),
            "repairs": [str_of(repair) for repair in record.repairs],
            "field": None if self.offset is None else offset_dict(self.offset),
        }


def str_of(repair: Any) -> str:
    """A repair in words.

    >>> from frostkit.records.record import Repair
    >>> str_of(Repair("Tmin above Tmax", 2, "1998-03-03"))
    'Tmin above Tmax: 2, first 1998-03-03'
    """
    return f"{repair.what}: {repair.count}" + (f", first {repair.first}" if repair.first else "")


def offset_dict(offset: Offset) -> dict[str, Any]:
    """How the field's nights differ, for programs: means over spring, summer and fall, weighed by nights logged."""
    nights = int(offset.nights.sum())
    weight = np.maximum(offset.nights, 1e-9) if nights else np.ones(offset.mean.shape)
    other, clear = (float(value) for value in np.average(offset.mean, axis=0, weights=weight))
    return {
        "clear": round(clear, 4),
        "other": round(other, 4),
        "scatter": round(float(offset.scatter[1]), 4),
        "nights": nights,
        "draws": 1 if is_plain(offset) else DRAWS,
        "said": [{"key": said.key, **said.values} for said in offset.said],
    }


def possible(
    site: Site,
    past: Folded,
    of: Level,
    wanted: NDArray[np.bool_],
    filled: Filled,
    needs: tuple[str, ...],
    shifts: int,
    usual: NDArray[np.float64] | None = None,
    more: NDArray[np.float64] | None = None,
) -> Ensemble:
    """Fill, today and field put together: one rounding for all that moves a reading.

    usual : float [season, 365], Tmin usual on each date in each season of `past`; left out, as the site has it
    more : float [element, 365], degrees that every row moves besides
    """
    seasons = np.flatnonzero(wanted)
    index = filled.index[:, seasons]
    field = None
    if site.offset is not None:
        plain = is_plain(site.offset)
        if not plain:
            index = np.broadcast_to(index, (DRAWS, seasons.size))
        tmin, tmax = filled.tmin[index], filled.tmax[index]
        usual = site.departures.usual[0] if usual is None else usual
        departure = np.where(tmin == MISSING, 0.0, tmin / 10.0 - usual[seasons])
        field = field_moves(site.offset, tmin, tmax, departure, 1 if plain else DRAWS)
    today = site.climate == TODAY
    if not today and field is None and more is None:
        renumbered = np.searchsorted(np.unique(index), index)
        rows = np.unique(index)
        prcp = None if filled.prcp is None else filled.prcp[rows]
        return Ensemble(
            filled.tmin[rows], filled.tmax[rows], prcp, renumbered, None, past.seasons[wanted],
            complete(past, needs)[wanted], site.asked, site.climate, (0.0, 0.0),
        )  # fmt: skip
    # one entry a row: (row of the filled seasons, season, number of the shift, draw of the field)
    own = [(int(index[d, s]), s, 0, d) for d in range(len(index)) for s in range(seasons.size)]
    several = field is not None and len(field) > 1
    keys = [(row, s, 0, d if several else 0) for row, s, _, d in own]
    if today and shifts:
        keys += [
            (int(index[e % len(index), s]), s, e + 1, e % DRAWS if several else 0)
            for e in range(shifts)
            for s in range(seasons.size)
        ]
    number: dict[tuple[int, int, int, int], int] = {}
    for key in keys:
        number.setdefault(key, len(number))
    place = np.array([number[key] for key in keys])
    rows = np.array(list(number))
    moves = np.zeros((1 + shifts, *of.own.shape))  # [shift, element, third, season]
    if today:
        moves[0] = of.moves()
        if shifts:
            moves[1:] = shift_draws(of, np.random.default_rng(SHIFT_SEED), shifts)
    at_row, season, shift, drawn = rows.T
    season_of = seasons[season]
    within = places(past.seasons[seasons])
    out = []
    for element, values in enumerate((filled.tmin, filled.tmax)):
        read = getattr(past, ELEMENTS[element])
        cells = cells_of(read)
        to = newest_cell(read, cells) if today else TENTHS  # at a field as read, tenths tell more than the old cell
        degrees = by_day(moves[shift, element, :, season_of]).astype(np.float32)
        if element == 0 and field is not None:
            degrees += field[drawn, season]
        if more is not None:
            degrees += more[element].astype(np.float32)
        out.append(moved(values[at_row], cells[season_of], to, degrees, within[element][season]))
    tmin, tmax = out
    both = (tmin != MISSING) & (tmax != MISSING)
    tmin = np.where(both, np.minimum(tmin, tmax), tmin)
    central = len(own)
    growing = slice(GROWING[0], GROWING[1] + 1)
    oldest = by_day(moves[0][:, :, seasons[0]])[:, growing].mean(-1)
    return Ensemble(
        tmin,
        tmax,
        None if filled.prcp is None else filled.prcp[at_row],
        place[:central].reshape(index.shape),
        place[central:].reshape(shifts, seasons.size) if today and shifts else None,
        past.seasons[wanted],
        complete(past, needs)[wanted],
        site.asked,
        site.climate,
        (float(oldest[0]), float(oldest[1])),
    )
