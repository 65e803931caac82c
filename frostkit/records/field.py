"""From the station to the field: how much colder the nights are there, from a logger or typed in by hand.

A low spot is colder on clear, calm nights. The offset is taken by season and by how clear and calm the night was,
told by the station's daily range, and its scatter from night to night goes into the odds: the corrected record is
drawn several times, each night with the residual of a night that the logger saw.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError, SettingError
from frostkit.records.days import days_of, on_axis
from frostkit.records.expect import usual
from frostkit.records.record import Record, Repair

SEASONS = ("spring", "summer", "fall")  # April and May, June to August, September and October; half a year later south
NIGHTS = ("cloudy or windy", "clear and calm")
LEAST_NIGHTS = 10  # with both thermometers, before an offset is said; OURS
FEW_NIGHTS = 30  # below it the offset is called rough; OURS
FAR = 10.0  # degC of mean offset that no field has against its station: another unit, or another place; OURS
LEAN = 0.15  # standard deviation of `Offset.lean` from one field to another, before it is measured; OURS
YEARLY = 0.3  # degC, standard deviation of an offset's mean from year to year: OURS, measured on three Quebec stations
ALIKE = 0.1  # share of the logged nights that count as most like a night; OURS
DRAWS = 20  # corrected records; OURS: their mean share then moves by about a fifth of one record's own


class Said(NamedTuple):
    """Something to be said of an offset: its key in the texts, and its numbers, degrees in degC."""

    key: str
    values: Mapping[str, float] = {}


@dataclass(frozen=True)
class Offset:
    """Tmin of the field less Tmin of the station.

    mean : float [season, night], degC; cells as in `SEASONS` and `NIGHTS`; shrunk towards the mean of all where a
        cell has few nights
    error : float [season, night], degC, standard error of `mean`, with the change from one year to the next
    nights : int [season, night], nights with both thermometers
    lean, lean_error : degC more for each degC that the station's night is warmer than its kind usually is; below 0
        where the field does not follow the station all the way, as two thermometers never quite do
    scatter : float [night], degC, standard deviation of single nights about `mean` and `lean`
    residuals : for each season and kind of night, single nights [2, night] in order of how much warmer the station was
        than it usually is (first row, degC), and what they departed from `mean` and `lean` (second row, degC)
    said : what people should know of it; first where it comes from
    """

    mean: NDArray[np.float64]
    error: NDArray[np.float64]
    nights: NDArray[np.int64]
    scatter: NDArray[np.float64]
    residuals: tuple[NDArray[np.float64], ...]
    lean: float = 0.0
    lean_error: float = 0.0
    said: tuple[Said, ...] = field(default=())


def compare(station: Record, logger: Record) -> Offset:
    """How much colder or warmer the field's nights are than the station's, by season and kind of night.

    Parameters
    ----------
    station : Record
        Checked; its own daily range tells clear nights from the others.
    logger : Record
        The field's days, weeks or years of them.

    Raises
    ------
    RecordError
        With fewer than 10 nights in common, or a mean offset of more than 10 degC.

    References
    ----------
    Means of cells are shrunk by the scatter between them: DerSimonian and Laird 1986, Control. Clin. Trials 7:177-188.
    Nights in a row count for fewer: n (1 - r) / (1 + r), Zwiers and von Storch 1995, J. Clim. 8:336-351.
    """
    there = on_axis(logger, station.start, station.tmin.size)
    apart = (there[0] - station.tmin).astype(float)
    season, clear = _cells(station)
    used = np.isfinite(apart) & (clear >= 0) & _growing(station)
    if used.sum() < LEAST_NIGHTS:
        raise RecordError(f"Station and logger have {int(used.sum())} nights in common; {LEAST_NIGHTS} are needed.",
                          "Do they cover the same days? Log for longer, or type the low spot in.")  # fmt: skip
    overall = float(apart[used].mean())
    if abs(overall) > FAR:
        raise RecordError(f"The logger is {abs(overall):.0f} °C {'colder' if overall < 0 else 'warmer'} than the "
                          "station on average: no field is.", "Is the logger in °F, or elsewhere?")  # fmt: skip

    cell = np.where(clear >= 0, season * 2 + clear, 0)
    nights = np.bincount(cell[used], minlength=6)
    raw = _mean_of(apart, cell, used)
    ahead = _ahead(station, cell, clear >= 0)
    here = _mean_of(ahead, cell, used)  # the weather of the nights that were logged, against all nights of the record
    departure, x = (np.where(used, y - mean[cell], np.nan) for y, mean in ((apart, raw), (ahead, here)))
    lean, lean_error = _lean(x[used], departure[used])
    departure = departure - lean * x
    spread = np.array([_sd(departure[used & (clear == kind)], (nights[kind::2] > 0).sum()) for kind in (0, 1)])
    count = nights * _independent(departure)
    squared = np.tile(spread**2, 3) / np.maximum(count, 1e-9)
    mean, error = shrunk(raw - lean * here, squared, nights > 0)
    years = np.unique(days_of(station.start, station.tmin.size).year[used]).size
    error = np.sqrt(error**2 + YEARLY**2 / years)
    residual = apart - mean[cell] - lean * ahead
    pools = _pools(ahead, residual, cell, used)
    scatter = np.array([float(np.sqrt(np.mean(np.concatenate(pools[kind::2], axis=1)[1] ** 2))) for kind in (0, 1)])
    said = _said(mean, nights, scatter, error) + _clock(there[0], station) + _by_day(there[1], station)
    return Offset(mean.reshape(3, 2), error.reshape(3, 2), nights.reshape(3, 2), scatter, pools, lean, lean_error, said)


def nights(station: Record, logger: Record) -> tuple[NDArray[np.datetime64], NDArray[np.float64], NDArray[np.bool_]]:
    """Each night that `compare` looks at: its day, Tmin of the field less the station's, whether it was clear and calm.

    Returns
    -------
    datetime64[D], float [degC], bool arrays, shape (night,)
    """
    apart = (on_axis(logger, station.start, station.tmin.size)[0] - station.tmin).astype(float)
    _, clear = _cells(station)
    used = np.isfinite(apart) & (clear >= 0) & _growing(station)
    return station.time()[used], apart[used], clear[used] == 1


def low_spot(degrees: float, clear_nights_only: bool = True) -> Offset:
    """A low spot typed in by hand: so many degrees colder than the station, on clear and calm nights or on all.

    Raises `SettingError` for a number that no low spot has. It carries no scatter: nobody measured it.

    >>> low_spot(2).mean[2].tolist()
    [0.0, -2.0]
    """
    if not -FAR <= degrees <= FAR:
        raise SettingError(f"A field {degrees} °C colder than its station is not believed.",
                           f"Give a number of degrees Celsius up to {FAR:.0f}, such as 2.")  # fmt: skip
    mean = np.full((3, 2), -float(degrees))
    if clear_nights_only:
        mean[:, 0] = 0
    said = (Said("typed" if clear_nights_only else "typed_all", {"degrees": -float(degrees)}),)
    return Offset(mean + 0.0, np.zeros((3, 2)), np.zeros((3, 2), int), np.zeros(2), (np.zeros((2, 0)),) * 6, said=said)


def corrected(record: Record, offset: Offset, rng: np.random.Generator, draws: int = DRAWS) -> tuple[Record, ...]:
    """The station's record moved to the field, drawn several times: shares are counted over all draws together.

    Each draw takes the offset of each kind of night within its error, and for each night the residual of a night
    that the logger saw. Missing days stay missing; Tmax is not moved. An offset without scatter gives one record.

    Parameters
    ----------
    record : Record
        The station's, checked.
    offset : Offset
        From `compare` or `low_spot`.
    rng : random generator; the same one gives the same draws
    draws : how many records

    Raises
    ------
    SettingError
        For fewer than one draw.
    """
    if draws < 1:
        raise SettingError(f"draws={draws} gives no record.", "Give 1 or more.")
    season, clear = _cells(record)
    kind = np.where(clear < 0, 0, clear)
    ahead = np.nan_to_num(_ahead(record, season * 2 + kind, clear >= 0))
    plain = not offset.scatter.any() and not offset.error.any()
    records = []
    for _ in range(1 if plain else draws):
        mean = offset.mean + offset.error * rng.standard_normal(offset.mean.shape)
        move = mean[season, kind] + (offset.lean + offset.lean_error * rng.standard_normal()) * ahead
        for each, pool in enumerate(offset.residuals):
            here = 2 * season + kind == each
            if pool.size:
                move[here] += _drawn(pool, ahead[here], rng)
        tmin = np.round(record.tmin + move, 1)
        tmin = np.fmin(tmin, np.where(np.isfinite(record.tmin), record.tmax, np.nan))
        tmin = np.where(np.isfinite(record.tmin), tmin, np.nan).astype(np.float32)
        moved = Repair("Tmin moved from the station to the field", int(np.isfinite(tmin).sum()))
        records.append(replace(record, tmin=tmin, sign=None, repairs=record.repairs + (moved,)))
    return tuple(records)


def shrunk(mean: NDArray[np.float64], squared_error: NDArray[np.float64], seen: NDArray[np.bool_]
           ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:  # fmt: skip
    """Means of cells drawn towards their common mean, as far as the scatter between cells gives reason to.

    Parameters
    ----------
    mean, squared_error : float arrays, shape (cell,)
    seen : bool array, shape (cell,), cells that have any night; the others get the common mean

    Returns
    -------
    mean, standard error : float arrays, shape (cell,)

    Source: scatter between cells after DerSimonian and Laird 1986, by the method of moments; at least 0.

    >>> m, _ = shrunk(np.array([1.0, 1.0, 9.0]), np.array([0.1, 0.1, 0.1]), np.array([True, True, False]))
    >>> m.tolist()
    [1.0, 1.0, 1.0]
    """
    weight = np.where(seen, 1 / squared_error, 0)
    common = (weight * mean).sum() / weight.sum()
    cells = seen.sum()
    excess = (weight * (mean - common) ** 2).sum() - (cells - 1)
    room = weight.sum() - (weight**2).sum() / weight.sum()
    between = max(excess / room, 0.0) if cells > 1 else 0.0
    pooled = np.where(seen, 1 / (squared_error + between), 0)
    common = (pooled * mean).sum() / pooled.sum()
    keep = np.where(seen, between / (between + squared_error), 0) if between else np.zeros(mean.size)
    error = np.sqrt(keep * squared_error + (1 - keep) * (between * ~seen) + (1 - keep) ** 2 / pooled.sum())
    return np.where(seen, common + keep * (mean - common), common), error


def _months(record):
    """Month of each day, 0 to 11, moved by half a year in the south."""
    month = days_of(record.start, record.tmin.size).month
    return (month + 6) % 12 if record.station.latitude < 0 else month


def _growing(record):
    """Days from April to October, whose nights matter to a crop; winter's offsets are others."""
    return np.isin(_months(record), range(3, 10))


def _cells(record):
    """Season (0 to 2) of each day, and kind of its night: 1 clear and calm, 0 not, -1 not known.

    A night counts as clear and calm where the day's range is at least the median of its calendar month. Winter days
    go with the nearer of spring and fall.
    """
    month = _months(record)
    span = record.tmax - record.tmin
    known = np.isfinite(span)
    usual_span = np.array([np.median(x) if (x := span[known & (month == m)]).size else np.inf for m in range(12)])
    with np.errstate(invalid="ignore"):
        clear = np.where(known, span >= usual_span[month], -1).astype(int)
    return np.array([0, 0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2])[month], clear


def _pools(ahead, residual, cell, used):
    """The nights from which each cell is drawn, in order: its own if it has 10, else those of its kind, or all."""
    pools = []
    for each in range(6):
        for among in (cell == each, cell % 2 == each % 2, used):
            here = np.flatnonzero(used & among)
            if here.size >= LEAST_NIGHTS:
                break
        here = here[np.argsort(ahead[here])]
        pools.append(np.stack([ahead[here], residual[here]]))
    return tuple(pools)


def _drawn(pool, ahead, rng):
    """For each night the residual of one of the logged nights that were most like it: cold nights scatter less."""
    number = pool.shape[1]
    alike = min(number, max(LEAST_NIGHTS, round(number * ALIKE)))
    first = np.clip(np.searchsorted(pool[0], ahead) - alike // 2, 0, number - alike)
    return pool[1][first + rng.integers(alike, size=ahead.size)]


def _mean_of(values, cell, used):
    """Mean of each of the six cells over the days used; 0 where there is none."""
    return np.bincount(cell[used], values[used], 6) / np.maximum(np.bincount(cell[used], minlength=6), 1)


def _ahead(station, cell, known):
    """How much warmer each of the station's nights is than its kind usually is at that time of year, degC."""
    place = days_of(station.start, station.tmin.size).place
    departure = (station.tmin - usual(station.tmin, place)).astype(float)
    return departure - _mean_of(np.nan_to_num(departure), cell, known & np.isfinite(departure))[cell]


def _lean(x, departure):
    """Slope of the field's departure on the station's, drawn towards 0 as far as it is unsure, and its error."""
    squares = float((x**2).sum())
    if squares == 0:
        return 0.0, 0.0
    slope = float((x * departure).sum()) / squares
    unsure = float(((departure - slope * x) ** 2).mean()) / squares / _independent(departure)
    keep = LEAN**2 / (LEAN**2 + unsure)
    return slope * keep, float(np.sqrt(keep * unsure))


def _sd(departure, cells):
    """Standard deviation of nights about the means of their cells; of few nights at least half a degree."""
    free = departure.size - cells
    return (
        max(float(np.sqrt((departure**2).sum() / free)), 0.1) if free > 4 else 1.0
    )  # 1 degC: OURS, where none is seen


def _independent(departure):
    """Share of nights that count as independent, from the correlation of one night with the next."""
    both = np.isfinite(departure[1:]) & np.isfinite(departure[:-1])
    if both.sum() < LEAST_NIGHTS:
        return 0.5  # OURS
    now, next_ = departure[:-1][both], departure[1:][both]
    r = float(np.clip((now * next_).sum() / max(np.sqrt((now**2).sum() * (next_**2).sum()), 1e-9), 0, 0.9))
    return (1 - r) / (1 + r)


def _said(mean, nights, scatter, error):
    """Over how many nights it was measured, and how much colder they are; kinds that were not seen; few nights."""
    other, clear = (_mean_of_kind(mean[kind::2], nights[kind::2]) for kind in (0, 1))
    said = [Said("logged", {"nights": int(nights.sum()), "clear": clear, "other": other, "scatter": float(scatter[1])})]
    said += [Said(f"no_{name}") for kind, name in enumerate(("other", "clear")) if not nights[kind::2].sum()]
    if nights.sum() < FEW_NIGHTS:
        said.append(Said("few", {"nights": int(nights.sum()), "error": float(error[nights > 0].max())}))
    return tuple(said)


def mean_of(offset: Offset, kind: int) -> float:
    """Offset of one kind of night (a place in `NIGHTS`) over the seasons that were logged [degC]."""
    return _mean_of_kind(offset.mean[:, kind], offset.nights[:, kind])


def _mean_of_kind(mean, nights):
    return float(np.average(mean, weights=np.maximum(nights, 1e-9)))


def _clock(tmin, station):
    """A warning where the logger's nights fit the station's better a day early or late."""

    def fit(by):
        moved = np.roll(tmin, by)
        both = np.isfinite(moved) & np.isfinite(station.tmin)
        return float(np.std(moved[both] - station.tmin[both])) if both.sum() >= LEAST_NIGHTS else np.inf

    best: Sequence[int] = sorted((0, 1, -1), key=fit)
    if best[0] and fit(best[0]) < 0.8 * fit(0):
        return (Said("clock_later" if best[0] > 0 else "clock_earlier"),)
    return ()


def _by_day(tmax, station):
    """What the logger says of Tmax: told, not used, for sun on a bare logger reads warm."""
    apart = (tmax - station.tmax).astype(float)
    apart = apart[np.isfinite(apart)]
    if apart.size < LEAST_NIGHTS:
        return ()
    key = "by_day_warmer" if apart.mean() > 0 else "by_day_colder"
    return (Said(key, {"degrees": float(abs(apart.mean())), "scatter": float(apart.std()), "days": int(apart.size)}),)
