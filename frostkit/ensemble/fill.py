"""Holes are drawn, several times, from this station's own days: never one number, and no season goes for a few days.

For a run of missing days the runs of the same length in other seasons, near the date and fully read, whose days are
most alike; one of the nearest ten goes in as departures from the usual, on the level of the season being filled
(hot-deck multiple imputation: Andridge and Little 2010, Int. Stat. Rev. 78:40-64; Rubin 1987, Multiple Imputation for
Nonresponse in Surveys; from memory). Beyond any filling: nights that are missing because they were cold.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.ensemble.fold import Folded
from frostkit.ensemble.readings import CELLS, cells_of
from frostkit.ensemble.today import Level, by_day
from frostkit.seasons.calendar import DAYS, MISSING

Floats = NDArray[np.float64]
SEED = 20
DRAWS = 20  # 5 cover 60 to 82 % of what they should, 10 cover 74 to 92, 20 cover 85 to 98 (DESIGN, measured)
NEAR = (15, 30, 45, 60)  # days from the date within which donors are looked for; the next only where none is found
NEAREST = 10
SMOOTH = 15  # days of the running mean, taken twice, that makes a normal of calendar-day means


@dataclass(frozen=True)
class Filled:
    """Seasons without holes, each as many rows as it has draws.

    tmin, tmax : int16 [row, 365]; prcp : int16 [row, 365] or None
    season : int [row], which season of the folded record the row is
    index : int [draw, season], the row of each draw; a season without holes has one row for all draws
    far : runs whose donors were looked for beyond 15 days; alone : runs without any donor, given the usual weather
    """

    tmin: NDArray[np.int16]
    tmax: NDArray[np.int16]
    prcp: NDArray[np.int16] | None
    season: NDArray[np.int64]
    index: NDArray[np.int64]
    far: int = 0
    alone: int = 0


class Departures(NamedTuple):
    """Weather as departures: NaN where there is no reading.

    of : float [element, season, 365], degC from the usual of the date on the level of the season
    usual : float [element, season, 365], that usual itself, degC
    """

    of: Floats
    usual: Floats


def departures(folded: Folded, level: Level) -> Departures:
    """Tmin and Tmax of every season as departures from the smoothed normal of the date plus the season's level."""
    read = np.stack([folded.tmin, folded.tmax])
    values = np.where(read == MISSING, np.nan, read / 10.0)
    levels = by_day(np.moveaxis(level.own, 1, -1))
    flat = values - levels
    seen = np.isfinite(flat).sum(1)
    mean = np.nansum(flat, axis=1) / np.maximum(seen, 1)
    normal = np.stack([_smoothed(mean[e], seen[e]) for e in range(2)])
    usual = normal[:, None, :] + levels
    return Departures(values - usual, usual)


def _smoothed(mean: Floats, seen: NDArray[np.int64]) -> Floats:
    """A running mean around the year, twice, weighed by how many readings each day has. [365]"""
    weight, total = seen.astype(float), mean * seen
    ring = np.arange(DAYS)[:, None] + np.arange(-(SMOOTH // 2), SMOOTH // 2 + 1)
    for _ in range(2):
        weight, total = weight[ring % DAYS].mean(1), total[ring % DAYS].mean(1)
    known = weight > 0
    if not known.any():
        return np.zeros(DAYS)
    out = np.divide(total, weight, out=np.zeros(DAYS), where=known)
    day = np.arange(DAYS)
    return np.where(known, out, np.interp(day, day[known], out[known], period=DAYS))


def fill(
    folded: Folded,
    level: Level,
    wanted: NDArray[np.bool_],
    needs: tuple[str, ...],
    beside: tuple[Departures | None, ...] = (),
    draws: int = DRAWS,
    until: NDArray[np.int64] | None = None,
) -> Filled:
    """Every wanted season without holes in the elements needed.

    Parameters
    ----------
    folded : Folded; donors are all its seasons, wanted or not
    level : Level of the same seasons
    wanted : bool [season], seasons to be filled; the others get no row (index -1)
    needs : "tmin", "tmax", "prcp"; only their holes are filled
    beside : departures of neighbours on the same seasons, nearest first: where one has read a run, what is drawn is the
        difference between the two stations
    draws : how many times
    until : int [season], holes before this column are filled and no later ones; left out: all
    """
    rng = np.random.default_rng(SEED)
    weather = departures(folded, level)
    elements: list[str] = [
        name for name in ("tmin", "tmax", "prcp") if name in needs and getattr(folded, name) is not None
    ]
    holes = np.zeros(folded.tmin.shape, bool)
    for name in elements:
        holes |= getattr(folded, name) == MISSING
    if until is not None:
        holes &= np.arange(DAYS) < until[:, None]
    cells = [cells_of(folded.tmin), cells_of(folded.tmax)]
    rows: dict[str, list[NDArray]] = {"tmin": [], "tmax": [], "prcp": []}
    of_row: list[int] = []
    index = np.full((draws, len(folded.seasons)), -1)
    far = alone = 0
    for season in np.flatnonzero(wanted):
        holed = holes[season].any()
        times = draws if holed else 1
        index[:, season] = len(of_row) + (np.arange(draws) if holed else 0)
        of_row += [int(season)] * times
        drawn = {
            name: np.repeat(values[season][None], times, axis=0)
            for name in rows
            if (values := getattr(folded, name)) is not None
        }
        if holed:
            for first, stop in _runs(holes[season]):
                found = _donors(folded, weather, elements, int(season), first, stop, beside)
                far, alone = far + found.far, alone + (not found.season.size)
                _put(drawn, folded, weather, elements, int(season), first, found, cells, beside, rng)
        for name, values in drawn.items():
            rows[name].append(values)
    if not (index >= 0).any():
        raise ValueError("no season is wanted")  # ours: callers have refused before
    if len(of_row) == int(np.asarray(wanted).sum()):
        index = index[:1]
    return Filled(
        np.concatenate(rows["tmin"]),
        np.concatenate(rows["tmax"]),
        np.concatenate(rows["prcp"]) if rows["prcp"] else None,
        np.array(of_row),
        index,
        far,
        alone,
    )


def _runs(missing: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First day and the day after the last of each run of True. [day]"""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], missing, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


class _Found(NamedTuple):
    """Donors of one run, nearest first: their season and first day; `stop` of the run; far : looked for farther away;
    beside : number of the neighbour whose difference is drawn, or -1."""

    season: NDArray[np.int64]
    first: NDArray[np.int64]
    stop: int
    far: bool
    beside: int


def _donors(
    folded: Folded,
    weather: Departures,
    elements: list[str],
    season: int,
    first: int,
    stop: int,
    beside: tuple[Departures | None, ...],
) -> _Found:
    """The nearest ten runs of the same length."""
    length = stop - first
    number = next(
        (
            at
            for at, other in enumerate(beside)
            if other is not None and np.isfinite(other.of[:, season, first:stop]).all()
        ),
        -1,
    )
    of = weather.of if number < 0 else weather.of - beside[number].of  # type: ignore[union-attr]
    own = of[:, season]
    alike = np.arange(max(first - 1, 0), min(stop + 1, DAYS))
    alike = alike[np.isfinite(own[:, alike]).any(0)]  # the days by which donors are chosen: those that were read
    signs = None if folded.sign is None else folded.sign[season, first:stop]
    for reach in NEAR:
        starts = np.arange(max(first - reach, 0), min(first + reach, DAYS - length) + 1)
        usable = _read_whole(folded, of, elements, starts, length)
        usable[season] = False
        if signs is not None and signs.any():
            usable &= _bears_out(weather, signs, season, first, starts)
        if not usable.any():
            continue
        of_season, of_start = np.nonzero(usable)
        days = alike + (starts[of_start] - first)[:, None]  # [candidate, day]
        there = of[:, of_season[:, None], np.clip(days, 0, DAYS - 1)]
        known = np.isfinite(own[:, None, alike])
        told = np.isfinite(there) & ((days >= 0) & (days < DAYS))
        square = np.where(known & told, (there - own[:, None, alike]) ** 2, 0.0)
        distance = square.sum((0, 2)) / np.maximum((known & told).sum((0, 2)), 1)
        lacking = (known & ~told).any((0, 2))  # a donor whose own days beside it were not read comes last
        order = np.lexsort((distance, lacking))[:NEAREST]
        return _Found(of_season[order], starts[of_start[order]], stop, reach != NEAR[0], number)
    return _Found(np.empty(0, int), np.empty(0, int), stop, True, -1)


def _read_whole(
    folded: Folded, of: Floats, elements: list[str], starts: NDArray[np.int64], length: int
) -> NDArray[np.bool_]:
    """Which runs of each season were read whole in the elements that are to be drawn. [season, start]"""
    unread = np.zeros(of.shape[1:], bool)
    for name in elements:
        if name == "prcp":
            unread |= folded.prcp == MISSING
        else:
            unread |= ~np.isfinite(of[("tmin", "tmax").index(name)])
    before = np.zeros((len(unread), DAYS + 1), np.int32)
    np.cumsum(unread, axis=1, out=before[:, 1:])
    return np.asarray(before[:, starts + length] == before[:, starts])


def _bears_out(
    weather: Departures, signs: NDArray[np.int8], season: int, first: int, starts: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Which runs would lie above 0 degC on the days flagged so, and below on the others. [season, start]"""
    days = starts[:, None] + np.arange(signs.size)
    there = weather.usual[0, season, first : first + signs.size] + weather.of[0][:, days]
    return np.asarray(~(((signs > 0) & ~(there > 0)) | ((signs < 0) & ~(there < 0))).any(-1))


def _put(
    drawn: dict[str, NDArray],
    folded: Folded,
    weather: Departures,
    elements: list[str],
    season: int,
    first: int,
    found: _Found,
    cells: list[NDArray[np.int64]],
    beside: tuple[Departures | None, ...],
    rng: np.random.Generator,
) -> None:
    """One donor for each draw, into the days of the run that were not read."""
    run, length = np.s_[first : found.stop], found.stop - first
    draws = len(drawn["tmin"])
    pick = rng.integers(max(found.season.size, 1), size=draws)
    for element, name in enumerate(("tmin", "tmax")):
        missing = getattr(folded, name)[season, run] == MISSING
        if name not in elements or not missing.any():
            continue
        departure = np.zeros((draws, length))
        if found.season.size:
            days = found.first[pick][:, None] + np.arange(length)
            departure = weather.of[element][found.season[pick][:, None], days]
            if found.beside >= 0:
                other = beside[found.beside]
                assert other is not None
                departure = departure - other.of[element][found.season[pick][:, None], days]
                departure = departure + other.of[element, season, run]
        value = weather.usual[element, season, run] + np.nan_to_num(departure)
        put = CELLS[cells[element][season]].rounded(10 * value)
        drawn[name][:, run] = np.where(missing, put, drawn[name][:, run])
    if folded.prcp is not None and "prcp" in drawn:
        missing = folded.prcp[season, run] == MISSING
        if missing.any() and found.season.size:
            days = found.first[pick][:, None] + np.arange(length)
            rain = folded.prcp[found.season[pick][:, None], days]
            drawn["prcp"][:, run] = np.where(missing, rain, drawn["prcp"][:, run])
    _in_order(drawn, folded, season, run)


def _in_order(drawn: dict[str, NDArray], folded: Folded, season: int, run: slice) -> None:
    """No Tmin above its Tmax: what was read stays, what was drawn gives way."""
    low, high = drawn["tmin"][:, run], drawn["tmax"][:, run]
    both = (low != MISSING) & (high != MISSING) & (low > high)
    if both.any():
        read_low = folded.tmin[season, run] != MISSING
        drawn["tmax"][:, run] = np.where(both & read_low, low, high)
        drawn["tmin"][:, run] = np.where(both & ~read_low, high, low)
