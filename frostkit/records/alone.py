"""Quality checks of one station's Tmin and Tmax by its own readings.

After Durre, Menne, Gleason, Houston and Vose 2010 (J. Appl. Meteorol. Climatol. 49:1615-1633). READ: the threshold
stands on NCEI's page on GHCN-Daily; MEMORY: recalled from the paper; OURS: no published source, chosen on the real
records of tests/records/test_seeded_errors.py.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.records.days import Days
from frostkit.records.expect import expected, later, usual

COLDEST, WARMEST = -89.4, 57.7  # degC, READ: the world's extremes; the figures MEMORY
NAUGHT = (0.0, -17.8)  # degC, READ: Tmax = Tmin = 0 degC, or 0 degF at stations read in degF
TWIN = 0.06  # degC, OURS: half a tenth and rounding, for readings kept as float32
SAME_MONTH = 15  # readings a month must have to be a copy of another; OURS, short months agree by chance
STREAK = 15  # equal readings in a row, READ: 15 to 20
MIX = np.cumprod(np.full(28, 6364136223846793005, np.int64))  # wraps; the multiplier is Knuth's, from memory
GAP = 10.0  # degC of empty range in a calendar month's sorted values, READ
OUTLIER = 6.0  # biweight standard deviations within 15 days of the year, READ
OUTLIER_LEAST = 100  # readings in those 15 days of all years, MEMORY
BIWEIGHT = 7.5  # tuning constant, Lanzante 1996 (Int. J. Climatol. 16:1197-1226): MEMORY
CROSSED = 1.0  # degC by which Tmin may exceed the Tmax of a day beside it before it counts, MEMORY; same day: 0
CROSSED_USUAL = 0.0001  # share of days; above it the station reads Tmin and Tmax over different hours: OURS
SPIKE = 25.0  # degC against both neighbours in time, MEMORY
RANGE = 40.0  # degC between Tmax and every Tmin around it, or the other way, MEMORY
MEGA_LEAST = 140  # readings in a calendar month before its extremes count, MEMORY
AROUND = 4.8  # robust standard deviations from what the days around give: OURS
AROUND_DEGREES = 6.0  # degC at least from what the days around give: OURS
LONE = 3.5  # same, for a Tmin or Tmax of exactly 0.0 degC: OURS
SUPPORT = 3.5  # degC within which a neighbour's departure bears a reading out: OURS
ROUNDS = 8  # of a check that takes the worst first; it stops when nothing is left: OURS


@dataclass(frozen=True)
class Look:
    """What a check sees: readings that passed so far, the calendar, and the neighbours on the same days."""

    readings: NDArray[np.float32]  # [element, day] degC, NaN where nothing is known
    days: Days
    neighbours: tuple[NDArray[np.float32], ...] = ()  # each [element, day]


Bad = NDArray[np.bool_]  # [element, day]


def bounds(look: Look) -> Bad:
    """Colder or warmer than was ever read on Earth."""
    with np.errstate(invalid="ignore"):
        return (look.readings < COLDEST) | (look.readings > WARMEST)


def naught(look: Look) -> Bad:
    """Tmin and Tmax both 0 degC, or both 0 degF: zeros where nothing was read."""
    tmin, tmax = look.readings
    same = np.zeros(tmin.size, bool)
    for value in NAUGHT:
        same |= (np.abs(tmin - value) < TWIN) & (np.abs(tmax - value) < TWIN)
    return np.stack([same, same])


def duplicates(look: Look) -> Bad:
    """A month that is, day by day, another month of the record, or whose Tmin are its Tmax."""
    index = (look.days.year - look.days.year[0]) * 12 + look.days.month
    months = np.full((2, int(index[-1]) + 1, 31), np.nan, np.float32)
    months[:, index, look.days.of_month - 1] = look.readings
    seen = np.isfinite(months)
    tenths = np.where(seen, np.rint(np.where(seen, months, 0) * 10), -32768).astype(np.int16)
    enough = seen.sum(-1) >= SAME_MONTH
    equal = enough.all(0) & (np.where(seen.all(0), tenths[0] == tenths[1], True).all(-1))
    bad = np.zeros(enough.shape, bool)
    for element in (0, 1):
        rows = tenths[element]
        varied = enough[element] & (rows.max(-1, where=seen[element], initial=-32768)
                                    > rows.min(-1, where=seen[element], initial=32767))  # fmt: skip
        # a copy onto a shorter month loses its last days: compare the days that every month has
        key = (rows[:, :28].astype(np.int64) * MIX).sum(axis=1)  # two unlike months have one key once in 1e19
        _, which, count = np.unique(key, return_inverse=True, return_counts=True)
        bad[element] = (varied & (count[which] > 1)) | equal
    return bad[:, index] & np.isfinite(look.readings)


def streaks(look: Look) -> Bad:
    """The same reading many days running; missing days between do not end it."""
    bad = np.zeros(look.readings.shape, bool)
    for element in (0, 1):
        at = np.flatnonzero(np.isfinite(look.readings[element]))
        if at.size == 0:
            continue
        row = look.readings[element][at]
        edges = np.flatnonzero(np.concatenate([[True], np.abs(np.diff(row)) > TWIN, [True]]))
        length = np.diff(edges)
        bad[element, at] = np.repeat(length >= STREAK, length)
    return bad


def gaps(look: Look) -> Bad:
    """Beyond an empty stretch in the sorted readings of the calendar month."""
    bad = np.zeros(look.readings.shape, bool)
    for month in range(12):
        at = np.flatnonzero(look.days.month == month)
        for element in (0, 1):
            here = at[np.isfinite(look.readings[element, at])]
            if here.size < 3:
                continue
            values = np.sort(look.readings[element, here])
            middle = values.size // 2
            wide = np.diff(values) >= GAP
            above, below = np.flatnonzero(wide[middle:]), np.flatnonzero(wide[:middle])
            high = values[middle + above[0]] if above.size else np.inf
            low = values[below[-1] + 1] if below.size else -np.inf
            bad[element, here] = (look.readings[element, here] > high) | (look.readings[element, here] < low)
    return bad


def outliers(look: Look) -> Bad:
    """Far from the usual of the 15 days of the year around, in robust standard deviations of all years."""
    days = look.days
    season = days.year - days.year[0]
    bad = np.zeros(look.readings.shape, bool)
    for element in (0, 1):
        folded = np.full((365, int(season[-1]) + 1), np.nan, np.float32)
        folded[days.place[~days.leap], season[~days.leap]] = look.readings[element, ~days.leap]
        around = (np.arange(365)[:, None] + np.arange(-7, 8)) % 365
        centre, spread, count = biweight(folded[around].reshape(365, -1))
        with np.errstate(invalid="ignore", divide="ignore"):
            score = np.abs(look.readings[element] - centre[days.place]) / spread[days.place]
            bad[element] = (score >= OUTLIER) & (count[days.place] >= OUTLIER_LEAST)
    return bad


def biweight(values: NDArray) -> tuple[NDArray, NDArray, NDArray]:
    """Biweight mean, standard deviation and number of known values of each row (Lanzante 1996).

    >>> centre, spread, count = biweight(np.array([[1.0, 2, 3, 4, 5, 500]]))
    >>> round(float(centre[0]), 1), int(count[0])
    (3.0, 6)
    """
    rows = np.sort(values, axis=-1)  # NaN last
    count = np.isfinite(rows).sum(-1)
    middle = _middle(rows, count)
    away = rows - middle[:, None]
    mad = np.maximum(_middle(np.sort(np.abs(away), axis=-1), count), 0.05)
    u = away / (BIWEIGHT * mad[:, None])
    inside = np.abs(u) < 1
    rest = np.where(inside, 1 - np.where(inside, u, 0) ** 2, 0)
    away = np.where(inside, away, 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        centre = middle + (away * rest**2).sum(-1) / (rest**2).sum(-1)
        spread = np.sqrt(count * (away**2 * rest**4).sum(-1)) / np.abs((rest * (5 * rest - 4)).sum(-1))
    return centre, spread, count


def _middle(ordered, count):
    """Median of rows that are sorted, with NaN last."""
    low, high = np.clip((count - 1) // 2, 0, None), count // 2
    row = np.arange(len(ordered))
    return (ordered[row, low] + ordered[row, np.minimum(high, ordered.shape[1] - 1)]) / 2


def consistency(look: Look) -> Bad:
    """Tmin above the Tmax of its own day, or of a day beside it where this station's hours of reading rule that out.

    Of one day both are masked: the columns may be swapped. Of two days the reading is masked that departs more than
    twice as far from the readings beside it, else both.
    """
    readings = look.readings.copy()
    bad = np.zeros(readings.shape, bool)
    bad[:] = readings[0] > readings[1] + TWIN
    readings[bad] = np.nan
    pairs = [by for by in (1, -1) if (later(readings[0], by) > readings[1] + CROSSED).mean() <= CROSSED_USUAL]
    for _ in range(ROUNDS):
        away = np.abs(readings - _beside(readings))
        worst = np.zeros(readings.shape, bool)
        for by in pairs:
            day = np.flatnonzero(later(readings[0], by) > readings[1] + CROSSED)
            low, high = away[0, day - by], away[1, day]
            worst[0, day - by] |= ~(low * 2 < high)  # also where a departure is not known
            worst[1, day] |= ~(high * 2 < low)
        if not worst.any():
            break
        bad |= worst
        readings[worst] = np.nan
    return bad


def _beside(readings):
    """Mean of the readings of the day before and after, or the one that there is."""
    before, after = (np.stack([later(row, by) for row in readings]) for by in (1, -1))
    before, after = np.where(np.isfinite(before), before, after), np.where(np.isfinite(after), after, before)
    return (before + after) / 2


def spikes(look: Look) -> Bad:
    """Up and down again, or down and up, by more than weather does in a day."""
    up = np.stack([row - later(row, 1) for row in look.readings])
    down = np.stack([row - later(row, -1) for row in look.readings])
    with np.errstate(invalid="ignore"):
        return ((up >= SPIKE) & (down >= SPIKE)) | ((up <= -SPIKE) & (down <= -SPIKE))


def ranges(look: Look) -> Bad:
    """Tmax far above every Tmin of the day and the days beside it, or Tmin far below every Tmax."""
    tmin, tmax = look.readings
    lows = np.stack([later(tmin, by) for by in (-1, 0, 1)])
    highs = np.stack([later(tmax, by) for by in (-1, 0, 1)])
    with np.errstate(invalid="ignore"):
        return np.stack([(tmin <= np.fmin.reduce(highs) - RANGE), (tmax >= np.fmax.reduce(lows) + RANGE)])


def mega(look: Look) -> Bad:
    """Tmin above the highest Tmax of its calendar month in all years, or Tmax below the lowest Tmin."""
    tmin, tmax = look.readings
    highest, lowest = np.full(12, np.inf), np.full(12, -np.inf)
    for month in range(12):
        low, high = (row[(look.days.month == month) & np.isfinite(row)] for row in look.readings)
        if high.size >= MEGA_LEAST and low.size >= MEGA_LEAST:
            highest[month], lowest[month] = high.max(), low.min()
    with np.errstate(invalid="ignore"):
        return np.stack([tmin > highest[look.days.month], tmax < lowest[look.days.month]])


def lone_naught(look: Look) -> Bad:
    """A reading of exactly 0.0 degC that the days around speak against: a zero where nothing was read."""
    score = _score(look, look.readings)
    return (score >= LONE) & (np.abs(look.readings) < TWIN)


def days_around(look: Look) -> Bad:
    """Far from what the other element and the days before and after give, in this station's own scatter."""
    readings, bad = look.readings.copy(), np.zeros(look.readings.shape, bool)
    for _ in range(ROUNDS):
        score = _score(look, readings)
        score[score < AROUND] = 0
        worst = (score > 0) & (score >= _highest_near(score))  # a wrong reading makes the days beside it look wrong
        if not worst.any():
            break
        bad |= worst
        readings[worst] = np.nan
    return bad


def _score(look, readings):
    """Robust standard deviations from what the days around give; 0 where that is few degrees, or a neighbour agrees."""
    residual, scatter = from_days_around(readings, look.days)
    away = np.nan_to_num(np.abs(residual))
    score = np.where(away >= AROUND_DEGREES, away / scatter, 0)
    return np.where(supported(*departures(look)), 0, score) if look.neighbours else score


def _highest_near(score):
    """The highest score of both elements on the day and the days beside it."""
    day = score.max(0)
    return np.maximum(np.maximum(day, np.append(day[1:], 0)), np.insert(day[:-1], 0, 0))


def from_days_around(readings: NDArray, days: Days) -> tuple[NDArray, NDArray]:
    """How far each reading lies from what the days around give, and the scatter of that: [element, day] degC.

    Two estimates are made, with and without the other element of the day (both may be wrong in the same way); the
    one in which the reading departs more of its scatter is given.
    """
    departure = (readings - usual(readings, days.place)).astype(np.float32)
    residual, scatter = np.zeros_like(departure), np.ones_like(departure)
    for element in (0, 1):
        own, other = departure[element], departure[1 - element]
        beside = [later(row, by) for row in (own, other) for by in (1, -1)]
        for turn, predictors in enumerate((beside, [other, *beside])):
            value, spread = expected(own, np.stack(predictors), days.month)
            with np.errstate(invalid="ignore"):
                more = (turn == 0) | (np.abs(own - value) / spread > np.abs(residual[element]) / scatter[element])
            residual[element] = np.where(more, own - value, residual[element])
            scatter[element] = np.where(more, spread, scatter[element])
    return residual, scatter


def departures(look):
    """Departures from the usual of the station and of each neighbour."""
    place = look.days.place
    return ((look.readings - usual(look.readings, place)).astype(np.float32),
            [(other - usual(other, place)).astype(np.float32) for other in look.neighbours])  # fmt: skip


def nearest_of(departure, beside):
    """How near any neighbour's departure comes on the day or the days beside it; `inf` where there is none."""
    nearest = np.full(departure.shape, np.inf, np.float32)
    for other in beside:
        for by in (-1, 0, 1):
            nearest = np.fmin(nearest, np.abs(departure - np.stack([later(row, by) for row in other])))
    return nearest


def supported(departure, beside):
    """Readings that a neighbour bears out, be it a day early or late: hours of reading differ between stations."""
    return nearest_of(departure, beside) < SUPPORT
