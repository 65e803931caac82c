"""Missing days: what may stand in for them in heat sums, and which months and seasons are whole enough.

A frost is never filled: what is made here stands beside the record (`Filled`), never in its Tmin, and is for heat
alone. Up to 3 days are interpolated; longer holes are filled from neighbours, when they are given, by regression on
the days in common, with its scatter; the rest stays unknown.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import SettingError
from frostkit.records.days import days_of, on_axis, seasons_of
from frostkit.records.expect import LEAST, expected, usual
from frostkit.records.record import Record

SHORT = 3  # days in a row that are interpolated; DESIGN: "up to 3 days"
MONTH_MISSING, MONTH_RUN = 11, 5  # WMO-No. 1203 (2017): a month with so many days missing, or in a row, is not formed
NORMAL_SHARE = 0.8  # WMO-No. 1203 (2017): share of its years that a normal needs
FIRST_DAY, LAST_DAY = 90, 303  # columns of 1 April and 31 October, or of 30 September and 30 April from 1 July on
NOT_FILLED, INTERPOLATED, FROM_NEIGHBOURS = range(3)


@dataclass(frozen=True)
class Filled:
    """Values for heat sums in a record's missing days.

    values : float32 [element, day] degC, Tmin and Tmax; NaN where nothing was filled
    scatter : float32 [element, day] degC, one standard deviation; NaN where nothing was filled
    how : uint8 [element, day]: `NOT_FILLED`, `INTERPOLATED`, `FROM_NEIGHBOURS`
    said : sentences for people: how many days, how far off they may be
    """

    values: NDArray[np.float32]
    scatter: NDArray[np.float32]
    how: NDArray[np.uint8]
    said: tuple[str, ...] = ()

    def there(self) -> NDArray[np.bool_]:
        """Which readings were filled, [element, day]."""
        return self.how != NOT_FILLED

    def for_heat(self, record: Record, spread: float = 0.0) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Tmin and Tmax for heat sums [degC]: the record's, and what was filled where it has none.

        spread : standard deviations added to what was filled; -1.645 and 1.645 give the ends of nine days in ten
        """
        with_scatter = self.values + np.float32(spread) * self.scatter
        return (np.where(np.isfinite(record.tmin), record.tmin, with_scatter[0]),
                np.where(np.isfinite(record.tmax), record.tmax, with_scatter[1]))  # fmt: skip


def fill(record: Record, neighbours: Sequence[Record] = (), longest: int = SHORT) -> Filled:
    """What may stand in for missing days in heat sums, with its scatter; the record is not touched.

    Parameters
    ----------
    record : Record
        Checked.
    neighbours : records of stations near it, checked; they fill the holes that are longer
    longest : days in a row that are interpolated

    Raises
    ------
    SettingError
        Where `longest` is negative.
    """
    if longest < 0:
        raise SettingError(f"longest={longest} days can't be filled.", "Give 0 or more.")
    readings = np.stack([record.tmin, record.tmax]).astype(np.float32)
    days = days_of(record.start, record.tmin.size)
    values, scatter = np.full_like(readings, np.nan), np.full_like(readings, np.nan)
    how = np.zeros(readings.shape, np.uint8)
    for element in (0, 1):
        _interpolate(readings[element], days.month, longest, values[element], scatter[element], how[element])
    if neighbours:
        _from_neighbours(record, readings, neighbours, values, scatter, how)

    # Tmin stays at or under Tmax on every day that has something filled
    low, high = (np.where(how[e] > 0, values[e], readings[e]) for e in (0, 1))
    crossed = low > high
    values[0, crossed & (how[0] > 0)] = np.minimum(low, high)[crossed & (how[0] > 0)]
    values[1, crossed & (how[1] > 0)] = np.maximum(low, high)[crossed & (how[1] > 0)]
    return Filled(values, scatter, how, _said(how, scatter, len(neighbours)))


def run_lengths(missing: NDArray[np.bool_]) -> NDArray[np.int64]:
    """For each missing day the number of missing days in its run, else 0.

    >>> run_lengths(np.array([True, False, True, True])).tolist()
    [1, 0, 2, 2]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[0], missing.astype(np.int8), [0]])))
    lengths = np.zeros(missing.size, np.int64)
    lengths[missing] = np.repeat(edges[1::2] - edges[::2], edges[1::2] - edges[::2])
    return lengths


def _interpolate(reading, month, longest, values, scatter, how):
    """Straight lines over short holes, and how far such lines miss where the record knows the days."""
    missing = ~np.isfinite(reading)
    day = np.flatnonzero(missing & (run_lengths(missing) <= longest))
    known = np.flatnonzero(~missing)
    if known.size == 0:
        return
    day = day[(day > known[0]) & (day < known[-1])]
    values[day] = np.interp(day, known, reading[known])
    how[day] = INTERPOLATED
    after = known[np.searchsorted(known, day)]
    before = known[np.searchsorted(known, day) - 1]
    for length in np.unique(after - before - 1):
        for place in range(1, length + 1):
            here = day[(after - before - 1 == length) & (day - before == place)]
            if here.size:
                scatter[here] = _line_misses(reading, month, length, place)[month[here]]


def _line_misses(reading, month, length, place):
    """Standard deviation about a line over so many days, at one of them, by calendar month and those beside it."""
    span = length + 1
    start, middle, end = reading[:-span], reading[place : place - span], reading[span:]
    miss = middle - (start + (end - start) * (place / span))
    known = np.isfinite(miss)
    month, miss = month[place : place - span][known], miss[known].astype(float)
    square, number = np.bincount(month, miss**2, 12), np.bincount(month, minlength=12)
    square, number = _with_next(square), _with_next(number)
    all_year = square.sum() / max(number.sum(), 1)
    return np.sqrt(np.where(number >= LEAST, square / np.maximum(number, 1), all_year))


def _from_neighbours(record, readings, neighbours, values, scatter, how):
    """The rest by regression on the neighbours' departures from their usual, month by month."""
    days = days_of(record.start, record.tmin.size)
    others = np.stack([on_axis(other, record.start, record.tmin.size) for other in neighbours])
    departures = (others - usual(others, days.place)).astype(np.float32)  # [neighbour, element, day]
    level = usual(readings, days.place)
    for element in (0, 1):
        same = np.isfinite(departures[:, element]).any(0)
        wanted = same & ~np.isfinite(readings[element]) & (how[element] == NOT_FILLED)
        target = np.where(same, readings[element] - level[element], np.nan).astype(np.float32)
        common = np.bincount(days.month[np.isfinite(target)], minlength=12)
        wanted &= _with_next(common)[days.month] >= LEAST
        if wanted.any():
            value, spread = expected(target, departures.reshape(-1, record.tmin.size), days.month)
            spread = spread * _plain(target - value, spread, days.month)
            values[element, wanted] = (level[element] + value)[wanted]
            scatter[element, wanted] = spread[wanted]
            how[element, wanted] = FROM_NEIGHBOURS


def _plain(residual, robust, month):
    """From robust scatter to the standard deviation of a month's residuals: what is filled has their tails."""
    known = np.isfinite(residual)
    square = np.bincount(month[known], (residual[known] / robust[known]) ** 2, 12)
    number = np.bincount(month[known], minlength=12)
    return np.sqrt(_with_next(square) / np.maximum(_with_next(number), 1)).astype(np.float32)[month]


def _with_next(by_month):
    """Each month with the month before and after."""
    return by_month + np.roll(by_month, 1) + np.roll(by_month, -1)


def _said(how, scatter, neighbours):
    """Sentences: what was filled, give or take."""
    said = []
    words = {INTERPOLATED: "interpolated for heat", FROM_NEIGHBOURS: f"filled for heat from {neighbours} neighbour"}
    for way, what in words.items():
        for element, name in enumerate(("Tmin", "Tmax")):
            here = how[element] == way
            if here.any():
                off = float(np.sqrt(np.mean(scatter[element, here] ** 2)))
                plural = "s" if way == FROM_NEIGHBOURS and neighbours != 1 else ""
                said.append(f"{name} of {here.sum()} days {what}{plural}, give or take {off:.1f} °C; never for frost.")
    return tuple(said)


def months_formed(start: np.datetime64, known: NDArray[np.bool_]) -> tuple[NDArray, NDArray[np.bool_]]:
    """Which calendar months have days enough for a mean, after WMO-No. 1203.

    Parameters
    ----------
    start : datetime64[D]
    known : bool array, shape (day,)

    Returns
    -------
    months, formed : datetime64[M] array and bool array, shape (month,)
        Not formed: 11 or more days missing, or 5 or more in a row. Days outside the record are missing.

    Source: WMO-No. 1203 (2017), Guidelines on the Calculation of Climate Normals: from memory.

    >>> months, formed = months_formed(np.datetime64("2020-01-01"), np.ones(45, bool))
    >>> formed.tolist()
    [True, False]
    """
    first = start.astype("datetime64[M]")
    days = days_of(start, known.size)
    month = (days.year - days.year[0]) * 12 + days.month - days.month[0]
    months = first + np.arange(month[-1] + 1)
    length = ((months + 1).astype("datetime64[D]") - months.astype("datetime64[D]")).astype(int)
    table = np.arange(31) >= length[:, None]  # days that are not in the month count as known
    table[month, days.of_month - 1] = known
    missing = ~table
    run = longest_run(missing)
    return months, (missing.sum(1) < MONTH_MISSING) & (run < MONTH_RUN)


def longest_run(missing: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Longest run of missing days in each row.

    >>> longest_run(np.array([[True, False, True, True]])).tolist()
    [2]
    """
    total = np.cumsum(missing, axis=-1)
    before = np.maximum.accumulate(np.where(missing, 0, total), axis=-1)
    return (total - before).max(-1, initial=0)


def normal_stands(formed: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether a normal may be given: at least 80 % of its years are there (WMO-No. 1203), over the first axis.

    >>> normal_stands(np.arange(30) < 24).item(), normal_stands(np.arange(30) < 23).item()
    (True, False)
    """
    return formed.sum(0) * 10 >= round(NORMAL_SHARE * 10) * formed.shape[0]


@dataclass(frozen=True)
class SeasonDays:
    """What one season has from 1 April to 31 October.

    tmin_missing, heat_missing : days without Tmin; without Tmin or Tmax
    longest : days in the longest run without heat
    could_hide_frost : days without Tmin on which a frost could hide
    months_not_formed : numbers of the calendar months (1 to 12) that are not formed, after WMO-No. 1203
    state : "complete", "bounded" (season dates are intervals) or "not known" (a month is not formed)
    """

    season: int
    tmin_missing: int
    heat_missing: int
    longest: int
    could_hide_frost: int
    months_not_formed: tuple[int, ...]
    state: str


def season_table(record: Record, could_be_cold: NDArray[np.bool_] | None = None,
                 season_starts: tuple[int, int] = (1, 1)) -> tuple[SeasonDays, ...]:  # fmt: skip
    """Each season of the record: complete, bounded, or not known.

    Parameters
    ----------
    record : Record
        Checked.
    could_be_cold : bool array, shape (365,), columns on which a missing Tmin may hide a frost (answers work it out
        from `Cube.lows`); all of them where it is not given
    season_starts : month and day

    Returns
    -------
    SeasonDays of each season from the first to the last that has a reading in these months. Complete: no run of more
    than 3 days without heat, and no missing day that could be cold (decided by the holes, never by the outcome).
    """
    cold = np.ones(365, bool) if could_be_cold is None else could_be_cold
    season, column, keep = seasons_of(record.start, record.tmin.size, season_starts)
    rows, at = (season - season[0])[keep], column[keep]

    def cube(known):
        out = np.zeros((season[-1] - season[0] + 1, 365), bool)
        out[rows, at] = known[keep]
        return out[:, FIRST_DAY : LAST_DAY + 1]

    has_tmin = np.isfinite(record.tmin)
    sure = has_tmin if record.sign is None else has_tmin | (record.sign != 0)
    tmin, heat = cube(has_tmin), cube(has_tmin & np.isfinite(record.tmax))
    hidden = (~cube(sure) & cold[FIRST_DAY : LAST_DAY + 1]).sum(1)
    longest = longest_run(~heat)
    months, formed = months_formed(record.start, has_tmin & np.isfinite(record.tmax))
    table = []
    read = np.flatnonzero(cube(has_tmin | np.isfinite(record.tmax)).any(1))
    for row in range(read[0], read[-1] + 1) if read.size else ():
        year = int(season[0] + row)
        first = np.datetime64(f"{year}-04") if season_starts[0] < 7 else np.datetime64(f"{year}-10")
        wanted = first + np.arange(7)
        whole = set(months[formed].tolist())
        without = tuple(month.month for month in wanted.tolist() if month not in whole)
        complete = longest[row] <= SHORT and not hidden[row]
        state = "complete" if complete else "not known" if without else "bounded"
        table.append(SeasonDays(year, int((~tmin[row]).sum()), int((~heat[row]).sum()), int(longest[row]),
                                int(hidden[row]), without, state))  # fmt: skip
    return tuple(table)
