"""Whether a record is in one unit from its first day to its last, told by the level of its warm months.

No place on Earth has two Julys of one thermometer 8 degC apart with none between them, while °C read as °F (or the
other way round) moves a July by 20 or more. Limits marked OURS have no published source: they stand well outside what
the real records of tests/records/test_gates.py hold, and well inside what a change of unit does.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.records.days import Days

LEVEL = 8.0  # degC between one calendar month's medians with none between: OURS; real records up to 5.0
WARM = 5  # the warmest calendar months, in which the level is compared: OURS
MONTH_LEAST = 10  # readings of a month for its median: OURS
WEEKS = 21  # days whose medians are held against the days before, in records of a few years: OURS
FEW_DAYS = 5 * 366  # a record of a few years
STEP = 46.0  # degC, Tmin's and Tmax's together, from three weeks to the next: OURS; real records up to 42
WARM_DAY = 10.0  # degC, Tmax of the warmer three weeks: OURS, winters turn as far in a week
FITS = 4.0  # degC within which a change of unit explains the step: OURS
SCATTER = 5.0  # degC, of a day about the usual of its month: OURS
COLUMNS = ("tmin", "tmax")
SPLIT = "Does the unit change there? Split the file, and give each part its own unit (tmin_C or tmin_F in the header)."
OTHER = "Another unit, element or place in one file? Give one station's days in one unit; was the download damaged?"
_AS_DEGREES = "as °C and °F do"
_MAPS: dict[str, Callable[[NDArray], NDArray]] = {
    _AS_DEGREES: lambda low: 1.8 * low + 32,
    "as tenths and whole degrees do": lambda low: 10 * low,
    "as readings do that are 1.8 times too large": lambda low: 1.8 * low,
    "as readings do that are 32 too large": lambda low: low + 32,
}


@dataclass(frozen=True)
class Fault:
    """Why a record is refused: on which day it shows, in which columns, what, and what to do."""

    day: int
    columns: str
    what: str
    do: str


def said(day: np.datetime64) -> str:
    """A day as people write it.

    >>> said(np.datetime64("1998-03-03"))
    '3 March 1998'
    """
    when = day.astype("datetime64[D]").item()
    return f"{when.day} {when:%B %Y}"


def by_month(rows: NDArray, days: Days) -> NDArray[np.float32]:
    """Readings [.., day] as [.., month, 31], from January of the first year on; NaN where there is none."""
    index = _month_of(days)
    table = np.full((*rows.shape[:-1], (int(index[-1]) // 12 + 1) * 12, 31), np.nan, np.float32)
    table[..., index, days.of_month - 1] = rows
    return table


def medians(table: NDArray[np.float32], least: int) -> NDArray[np.float32]:
    """The (lower) median along the last axis, NaN where there are fewer than `least` readings.

    >>> medians(np.array([[3, 1, np.nan, 2], [1, np.nan, np.nan, np.nan]], "f4"), 2).tolist()
    [2.0, nan]
    """
    ordered = np.sort(table, axis=-1)  # NaN last
    count = np.isfinite(ordered).sum(-1)
    middle = np.take_along_axis(ordered, np.maximum((count - 1) // 2, 0)[..., None], -1)[..., 0]
    return np.where(count >= least, middle, np.float32(np.nan))


def change(readings: NDArray, days: Days, start: np.datetime64) -> Fault | None:
    """Warm months in two groups that no weather parts: another unit in one of them. None where all hold together."""
    of_month = medians(by_month(readings, days), MONTH_LEAST)  # [2, month]
    calendar = np.arange(of_month.shape[1]) % 12
    warm = _warm(of_month[1], calendar)
    labels = np.stack([_labels(row, calendar, warm) for row in of_month])
    hit = [element for element in (0, 1) if min((labels[element] == group).sum() for group in (0, 1)) >= 2]
    if not hit:
        return _step(readings, start)
    label = labels[hit].max(0)
    rare, before, after = _turn_months(label)
    group = _around(label)
    low, high = (_usual(of_month, group == each, calendar) for each in (0, 1))
    name = next((name for name, of in _MAPS.items() if _fits(of, low, high, hit, warm)), "")
    if name == _AS_DEGREES:  # a month that one group lacks, as the other has it
        low, high = np.where(np.isnan(low), (high - 32) / 1.8, low), np.where(np.isnan(high), low * 1.8 + 32, high)
    behind = int(label[after])  # the group that begins there
    day = _turn(readings, days, group, behind, (before, after), (low, high) if behind else (high, low), hit)
    apart = np.nanmedian([high[element][c] - low[element][c] for element in hit for c in warm])
    when = f"from {said(start + day)} on" if behind == rare else f"before {said(start + day)}"
    way, so = "above" if rare else "below", f", {name}" if name else ""
    what = f"{when} the warm months lie {apart:.0f} °C {way} the others{so}."
    return Fault(day, " and ".join(COLUMNS[each] for each in hit), what, SPLIT if name == _AS_DEGREES else OTHER)


def _month_of(days: Days) -> NDArray[np.int64]:
    """The month of each day, counted from January of the first year."""
    return (days.year - days.year[0]) * 12 + days.month


def _warm(row: NDArray, calendar: NDArray[np.int64]) -> list[int]:
    """The warmest calendar months, by the upper half of their medians; none where not half the year is there."""
    level = {}
    for c in range(12):
        of = row[(calendar == c) & np.isfinite(row)]
        if of.size:
            level[c] = float(np.sort(of)[of.size * 3 // 4])
    return sorted(level, key=lambda c: -level[c])[:WARM] if len(level) > 6 else []


def _labels(row: NDArray, calendar: NDArray[np.int64], warm: list[int]) -> NDArray[np.int8]:
    """0 and 1 for the lower and the upper group of months where they lie in two, -1 for all other months."""
    label = np.full(row.size, -1, np.int8)
    for c in warm:
        at = np.flatnonzero((calendar == c) & np.isfinite(row))
        order = np.sort(row[at])
        steps = np.diff(order)
        if steps.size and steps.max() > LEVEL:
            label[at] = row[at] > order[int(np.argmax(steps))]
    return label


def _turn_months(label: NDArray[np.int8]) -> tuple[int, int, int]:
    """The rarer group, and the months between which its first stretch begins (ends, where it begins the record)."""
    told = np.flatnonzero(label >= 0)
    upper = int((label == 1).sum())
    rare = int(label[told[-1]]) if 2 * upper == told.size else int(2 * upper < told.size)
    leads = label[told[0]] == rare
    at = int(np.argmax(label[told] != rare if leads else label[told] == rare))
    return rare, int(told[at - 1]), int(told[at])


def _around(label: NDArray[np.int8]) -> NDArray[np.int8]:
    """The group of each month: that of the labelled months before and after it; -1 where they differ or are not."""
    told = np.flatnonzero(label >= 0)
    month = np.arange(label.size)
    left = told[np.maximum(np.searchsorted(told, month, "right") - 1, 0)]
    right = told[np.minimum(np.searchsorted(told, month, "left"), told.size - 1)]
    inside = (month >= told[0]) & (month <= told[-1])
    return np.where(inside & (label[left] == label[right]), label[left], np.int8(-1))


def _usual(of_month: NDArray, months: NDArray[np.bool_], calendar: NDArray[np.int64]) -> NDArray[np.float64]:
    """The median [2, calendar month] of some of the months, NaN where there are none."""
    usual = np.full((2, 12), np.nan)
    for element, row in enumerate(of_month):
        for c in range(12):
            of = row[months & (calendar == c) & np.isfinite(row)]
            usual[element, c] = np.median(of) if of.size else np.nan
    return usual


def _fits(of: Callable[[NDArray], NDArray], low: NDArray, high: NDArray, hit: list[int], warm: list[int]) -> bool:
    away = np.array([high[element][warm] - of(low[element][warm]) for element in hit])
    return bool(np.isfinite(away).any() and np.nanmedian(np.abs(away)) < FITS)


def _turn(readings: NDArray, days: Days, group: NDArray[np.int8], behind: int, between: tuple[int, int],
          usual: tuple[NDArray, NDArray], hit: list[int]) -> int:  # fmt: skip
    """The day from which on the readings are those of the group behind it: by their level, and by their last figure.

    usual : the medians [2, calendar month] of the group before and of the group behind
    """
    month = _month_of(days)
    window = np.flatnonzero((month >= between[0]) & (month <= between[1]))
    gain = np.zeros(window.size)  # the log of how much more likely each day is behind the turn
    for element in hit:
        row = readings[element]
        old, new = (level[element][days.month[window]] for level in usual)
        gain += np.nan_to_num((np.abs(row[window] - old) - np.abs(row[window] - new)) / SCATTER)
        for whole in (np.abs(row - np.rint(row)) < 0.03, np.abs(1.8 * row - np.rint(1.8 * row)) < 0.03):
            here = [whole[(group[month] == each) & np.isfinite(row)].mean() for each in (1 - behind, behind)]
            was, now = np.clip(here, 0.02, 0.98)
            odds = np.where(whole[window], np.log(now / was), np.log((1 - now) / (1 - was)))
            gain += np.where(np.isfinite(row[window]), odds, 0)
    turned = int(np.argmin(np.concatenate([[0.0], np.cumsum(gain)])))
    return int(window[min(turned, window.size - 1)])


def _step(readings: NDArray, start: np.datetime64) -> Fault | None:
    """Tmin and Tmax of three weeks together far from those of the three weeks before, in the warm part of a year.

    For records of a few years, whose months have no others to be held against.
    """
    if not 2 * WEEKS <= readings.shape[1] <= FEW_DAYS:
        return None
    windows = np.lib.stride_tricks.sliding_window_view(np.asarray(readings, np.float32), WEEKS, axis=1)
    usual = medians(windows, WEEKS * 2 // 3)
    before, after = usual[:, :-WEEKS], usual[:, WEEKS:]
    step = (after - before).sum(0)
    with np.errstate(invalid="ignore"):
        told = (np.maximum(before[1], after[1]) >= WARM_DAY) & (np.abs(step) >= STEP)
    if not told.any():
        return None
    at = int(np.argmax(np.where(told, np.abs(step), 0)))
    day, way = at + WEEKS, "above" if step[at] > 0 else "below"
    what = f"from about {said(start + day)} on they lie {abs(step[at]) / 2:.0f} °C {way} those of the weeks before."
    return Fault(day, "tmin and tmax", what, SPLIT)
