"""What must hold of a record before it answers anything: one unit throughout, columns in their places, few readings
that can't be.

Limits marked OURS have no published source: they stand well outside what the real records hold on which
tests/records/test_gates.py tries them. What tells a change of unit stands in `records.one_unit`.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records import alone
from frostkit.records.alone import Look
from frostkit.records.days import Days, days_of
from frostkit.records.expect import TO_SD
from frostkit.records.one_unit import FEW_DAYS, MONTH_LEAST, OTHER, Fault, by_month, change, medians, said
from frostkit.records.record import Record

RANGE = 1.4  # from one year's usual range of a day to the next larger of any year: OURS; real records up to 1.11
RANGE_LEAST = 2.0  # degC, same: so much at least
_ANY = np.inf
MONTHS = ((2, 0.5, 1.7, _ANY, -_ANY), (3, 0.6, 1.6, _ANY, -_ANY), (2, 0.75, 1.33, -6.5, 6.5))
"""So many months on end, with a range of a day of less or more than so many times the calendar month's, and so many
degC colder or warmer than it: OURS; real records have 0.61 to 1.49 over two months, 0.71 to 1.36 over three, and never
two both 5 degC away and out of 0.8 to 1.25 on the side of a change of unit."""
MONTH_YEARS = 3  # years that a calendar month must have for its usual range: OURS
WIDEST = 25.0  # degC, a record's usual range of a day: OURS; the driest places on Earth have about 20
YEAR_LEAST = 200  # days of a year with both readings, to compare its range: OURS
SWAPPED = 10  # days running with Tmin above Tmax that are no slips: OURS
COPY = 10  # days running that are those of another time, in both columns: OURS
COPY_VARIES = 7  # of them on which both readings differ from the day before; the others may be alike by chance
COPY_APART = 180  # days between the two: OURS; what comes back sooner is a pattern, and made up
COPIES = 50  # such stretches, each a day on: two months and more: OURS
TOO_MANY = 0.03  # share of a column's readings; more of one kind are no slips but another kind of file: OURS
AT_LEAST = 3  # readings: below this a short file's slips are let by
COLD_SUMMER = 10.0  # degC: no crop station keeps its warmest day below this; readings in degC taken as degF do
SPREAD_LEAST = 20  # readings of a calendar month for its scatter: OURS
SCORE, DEGREES = 6.0, 8.0  # robust standard deviations and degC from the days beside it: OURS
NAUGHT_SCORE, NAUGHT_DEGREES = 3.5, 6.0  # same, for exactly 0.0 degC, which stands where nothing was read: OURS
_QUICK = (alone.naught, alone.duplicates, alone.streaks, alone.consistency, alone.spikes, alone.ranges, alone.mega)


def passed(record: Record) -> Record:
    """The record with `source["suspect"]`: how many readings look impossible beside their neighbours, where any do.

    Raises `RecordError` where the unit changes, columns are swapped, or a stretch stands twice.
    """
    readings = np.stack([record.tmin, record.tmax])
    called = record.station.name or record.station.id or "the record"
    for fault in (odd(readings, record.start), whole(readings, record.start)):
        if fault is not None:
            raise RecordError(f"{called}, {fault.columns}: {fault.what}", fault.do)
    return counted(record)


def counted(record: Record) -> Record:
    """The record with the count of `suspects` in its source, as text; no such entry where there are none."""
    found = int(suspects(np.stack([record.tmin, record.tmax]), record.start).sum())
    source = {key: text for key, text in record.source.items() if key != "suspect"}
    return replace(record, source=source | ({"suspect": str(found)} if found else {}))


def odd(readings: NDArray[np.floating], start: np.datetime64) -> Fault | None:
    """What is wrong with a stretch of the record; None where it holds together.

    readings : degC [2, day], Tmin and Tmax as they were read, before anything is masked
    """
    if not np.isfinite(readings).any():
        return None
    days = days_of(start, readings.shape[1])
    for look in (_swapped, change, _range, _months, _copied):
        fault = look(readings, days, start)
        if fault is not None:
            return fault
    return None


def whole(readings: NDArray[np.floating], start: np.datetime64) -> Fault | None:
    """What is wrong with all of the record: Tmin and Tmax too far apart, or no summer."""
    return _wide(readings) or _cold(readings, start)


def suspects(readings: NDArray[np.floating], start: np.datetime64) -> NDArray[np.bool_]:
    """Readings [2, day] that look impossible beside their neighbours; a quick look, the full one is `checks.check`.

    The checks of `records.alone` that cost little (no outliers by the day of the year, no regressions), and what lies
    far from both days beside it, in this station's own scatter of the month.
    """
    days = days_of(start, readings.shape[1])
    look = Look(np.asarray(readings, np.float32), days)
    bad = np.zeros(readings.shape, bool)
    for check in _QUICK:
        bad |= check(look)
    if readings.shape[1] > FEW_DAYS:
        bad |= alone.gaps(look)
    for element in (0, 1):
        bad[element] |= _beside(look.readings[element], days.month)
    return bad & np.isfinite(readings)


def over(count: int, of: int) -> bool:
    """True where so many readings are no slips any more: over 3 %, and at least 3.

    >>> over(2, 10), over(3, 10), over(30, 1000)
    (False, True, False)
    """
    return count >= AT_LEAST and count > TOO_MANY * of


def _beside(row: NDArray[np.float32], month: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Far from the mean of the day before and the day after, in the month's own scatter, and farther than they are."""
    away = np.full(row.size, np.nan, np.float32)
    away[1:-1] = row[1:-1] - (row[:-2] + row[2:]) / 2
    size = np.abs(away)
    spread = np.full(12, np.inf)
    for each in range(12):
        here = size[(month == each) & np.isfinite(size)]
        if here.size >= SPREAD_LEAST:
            spread[each] = max(TO_SD * float(np.median(here)), 1.0)
    score = np.nan_to_num(size) / spread[month]
    bad = (score >= SCORE) & (size >= DEGREES)
    bad |= (score >= NAUGHT_SCORE) & (size >= NAUGHT_DEGREES) & (np.abs(row) < alone.TWIN)
    highest = score.copy()
    highest[1:] = np.maximum(highest[1:], score[:-1])
    highest[:-1] = np.maximum(highest[:-1], score[1:])
    return bad & (score >= highest)  # a wrong reading makes the days beside it look wrong


def _swapped(readings: NDArray, days: Days, start: np.datetime64) -> Fault | None:
    """Tmin above Tmax for days on end, where the columns exchanged fit the rest of the record."""
    tmin, tmax = readings
    at = np.flatnonzero(np.isfinite(tmin) & np.isfinite(tmax) & (tmin != tmax))
    crossed = tmin[at] > tmax[at]
    runs = [run for run in _runs(crossed) if run[1] - run[0] >= SWAPPED]
    if not runs or crossed.all():
        return None
    exchanged = readings.copy()
    for first, behind in runs:
        part = slice(int(at[first]), int(at[behind - 1]) + 1)
        exchanged[:, part] = readings[::-1, part]
    if change(exchanged, days, start) or _range(exchanged, days, start):
        return None  # no exchange, then: one of them in another unit
    first, behind = runs[0]
    day, last = int(at[first]), int(at[behind - 1])
    until = f"to {said(start + last)}" if behind < at.size else "on"
    what = f"from {said(start + day)} {until} tmin is above tmax, {behind - first} days running: swapped columns."
    return Fault(day, "tmin and tmax", what, "Put the columns of those days in their places, or fetch the file again.")


def _runs(mask: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and behind-the-last of each run of True.

    >>> list(_runs(np.array([True, False, True, True])))
    [(0, 1), (2, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _wide(readings: NDArray) -> Fault | None:
    """A range from Tmin to Tmax that no place has: the columns are in two units."""
    apart = readings[1] - readings[0]
    known = np.isfinite(apart)
    if known.sum() < YEAR_LEAST or (usual := float(np.median(apart[known]))) <= WIDEST:
        return None
    do = "Are both columns in the same unit? Correct the header, or say --input-units."
    return Fault(int(np.argmax(known)), "tmin and tmax", f"they lie {usual:.0f} °C apart on a usual day.", do)


def _range(readings: NDArray, days: Days, start: np.datetime64) -> Fault | None:
    """Years in two groups by their usual range from Tmin to Tmax."""
    apart = readings[1] - readings[0]
    table = by_month(apart, days)
    ranges = medians(table.reshape(table.shape[0] // 12, -1), YEAR_LEAST)
    order = np.sort(ranges[np.isfinite(ranges)])
    wide = (order[1:] > RANGE * np.maximum(order[:-1], 0.1)) & (np.diff(order) > RANGE_LEAST)
    if not wide.any():
        return None
    less = order[int(np.argmax(wide))]
    low, high = (np.flatnonzero(group) for group in (ranges <= less, ranges > less))
    rare, others = (low, high) if (low.size, -low[0]) < (high.size, -high[0]) else (high, low)
    day = int(np.argmax(days.year == days.year[0] + rare[0]))
    here, there = (float(np.median(ranges[group])) for group in (rare, others))
    what = f"in {days.year[day]} they lie {here:.1f} °C apart on a usual day, in other years {there:.1f}."
    return Fault(day, "tmin and tmax", what, OTHER)


def _months(readings: NDArray, days: Days, start: np.datetime64) -> Fault | None:
    """Months on end whose usual range of a day is far from that of the same months in other years."""
    table = by_month(readings, days)
    ranges = medians(table[1] - table[0], MONTH_LEAST)
    usual = medians(ranges.reshape(-1, 12).T, MONTH_YEARS)
    level = medians(table, MONTH_LEAST).reshape(2, -1, 12)
    away = (level - medians(level.transpose(0, 2, 1), MONTH_YEARS)[:, None]).mean(0).ravel()
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = (ranges.reshape(-1, 12) / usual).ravel()
        for months, narrow, wide, colder, warmer in MONTHS:
            far = np.stack([(ratio < narrow) & (away < colder), (ratio > wide) & (away > warmer)])
            if ratio.size < months:
                continue
            runs = np.lib.stride_tricks.sliding_window_view(far, months, axis=1).all(-1).any(0)
            if runs.any():
                month = int(np.argmax(runs))
                day = int(np.argmax((days.year - days.year[0]) * 12 + days.month == month))
                what = (
                    f"from about {said(start + day)} on they lie {ranges[month]:.1f} °C apart on a usual day, in the "
                    f"same month of other years {usual[month % 12]:.1f}; both together {abs(away[month]):.0f} °C "
                    f"{'below' if away[month] < 0 else 'above'} those."
                )
                return Fault(day, "tmin and tmax", what, OTHER)
    return None


def _copied(readings: NDArray, days: Days, start: np.datetime64) -> Fault | None:
    """Days on end that are, in both columns, those of another time: a stretch was copied over another."""
    if readings.shape[1] < 2 * COPY:
        return None
    known = np.isfinite(readings).all(0)
    tenths = np.rint(np.where(known, readings, 0) * 10).astype(np.int64)
    turns = (np.diff(tenths, axis=1, prepend=0) != 0).all(0)
    counts = np.cumsum(np.stack([known, turns]), axis=1)
    within = counts[:, COPY - 1 :] - counts[:, : 1 - COPY] + np.stack([known, turns])[:, : 1 - COPY]
    at = np.flatnonzero((within[0] == COPY) & (within[1] >= COPY_VARIES))
    key = np.zeros(at.size, np.int64)
    for day in range(COPY):  # of one key are two unlike windows once in 1e19
        for element in (0, 1):
            key += tenths[element, at + day] * alone.MIX[2 * day + element]
    order = np.argsort(key, kind="stable")
    again = np.zeros(at.size, bool)
    again[order[1:]] = (key[order[1:]] == key[order[:-1]]) & (np.diff(at[order]) >= COPY_APART)
    if again.sum() < COPIES:
        return None
    day = int(at[again].min())
    count = np.unique(at[again][:, None] + np.arange(COPY)).size
    what = f"{count} days or more hold the readings of other days, one by one, first from {said(start + day)} on."
    return Fault(day, "tmin and tmax", what, "Was a stretch copied over another? Fetch the file again.")


def _cold(readings: NDArray, start: np.datetime64) -> Fault | None:
    """More than a year without a day above 10 degC: °C taken as °F."""
    known = np.isfinite(readings[1])
    if known.sum() < YEAR_LEAST or np.ptp(np.flatnonzero(known)) < 365:
        return None
    day = int(np.nanargmax(readings[1]))
    if readings[1, day] >= COLD_SUMMER:
        return None
    what = f"the warmest of {known.sum()} days, {said(start + day)}, has only {readings[1, day]:.1f} °C."
    return Fault(day, "tmax", what, "Are the readings in °C? Correct the header, or say --input-units C.")
