"""Heat: what a day gives a plant, and running sums of it in whole hundredths of a degree day.

A **clock** is any frozen, hashable object with `rate(tmin10, tmax10)` (whole units, int32), `per_unit` (how many of
them make one unit that people say) and `unit`. `Heat` is the clock of degree days and corn heat units: its whole
unit is the hundredth, rounded to the nearest, halves to even, exactly from tenths of a degree.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import Any, ClassVar, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError, choose
from frostkit.seasons.calendar import DAYS, MISSING, NEAR, Cube

Ints = NDArray[np.int32]
SHORT = 3  # days without heat that still lie between the days around them (DESIGN: "heat in missing days")
PIECE = 1 << 17  # days worked on at a time
WEEK = 3  # days either side that make the week around a day
METHODS = ("mean", "clamped", "sine", "chu")
UNBOUNDED = np.int32(1 << 20)  # a rate for stations without one reading; 365 of them still fit int32


@dataclass(frozen=True)
class Heat:
    """How a day's heat is counted: the clock of degree days or corn heat units.

    Parameters
    ----------
    method : "mean", "clamped", "sine" or "chu"
        mean: the day's mean, held to base and cap, less base (interpretation 1 of McMaster and Wilhelm 1997).
        clamped: both temperatures held to base and cap first, then their mean less base (interpretation 2; with 10 and
        30 degC the 86/50 degF method).
        sine: area under a single sine above base, horizontal cutoff at cap (Baskerville and Emin 1969).
        chu: corn heat units (Brown and Bootsma 1993); base and cap are not used.
    base, cap : float [degC]
    day : (float, float)
        Coefficients of the day part of corn heat units; (3.3, 0.082) is another province's print.
    night_base : float [degC]
        Base of the night part of corn heat units; 4.44 (40 degF) is used by some.

    References
    ----------
    McMaster and Wilhelm 1997, Agric. For. Meteorol. 87:291-300; Baskerville and Emin 1969, Ecology 50:514-517; Brown
    and Bootsma 1993, Ontario Ministry of Agriculture Factsheet 93-119.

    Examples
    --------
    >>> Heat("chu").rate(np.int16([120]), np.int16([250])).tolist()  # 22.365: a tie, to the even hundredth
    [2236]
    >>> Heat(base=10).rate(np.int16([50]), np.int16([201])).tolist()
    [255]
    """

    method: str = "mean"
    base: float = 10.0
    cap: float | None = None
    day: tuple[float, float] = (3.33, 0.084)  # Brown and Bootsma 1993
    night_base: float = 4.4  # Brown and Bootsma 1993

    per_unit: ClassVar[int] = 100
    same_every_day: ClassVar[bool] = True  # the rate depends on temperatures alone: any slice of days may be asked for

    def __post_init__(self) -> None:
        choose("method", self.method, METHODS)
        if self.cap is not None and self.cap <= self.base:
            raise SettingError(f"cap={self.cap:g} is not above base={self.base:g} degC.",
                               "Give a cap above the base, or none.")  # fmt: skip

    @property
    def unit(self) -> str:
        """The unit people say."""
        return "CHU" if self.method == "chu" else "degC day"

    def rate(self, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
        """Heat of each day [hundredths]; where a reading is missing the value means nothing.

        tmin10, tmax10 : int16 arrays [..., day], tenths of degC
        """
        work = _WHOLE[self.method]
        if tmin10.ndim < 2 or tmin10.size <= 2 * PIECE:
            return work(self, tmin10, tmax10)
        out = np.empty(tmin10.shape, np.int32)
        step = max(1, PIECE * len(tmin10) // tmin10.size)
        for start in range(0, len(tmin10), step):  # pieces that stay in cache from one step to the next
            at = slice(start, start + step)
            out[at] = work(self, tmin10[at], tmax10[at])
        return out

    def of(self, tmin: ArrayLike, tmax: ArrayLike) -> NDArray[np.float64]:
        """Heat of each day by the plain formula in floats, not rounded [degC day or CHU]; for checks.

        >>> round(float(Heat("chu").of(12, 25)), 3)
        22.365
        """
        return _PLAIN[self.method](self, np.asarray(tmin, float), np.asarray(tmax, float))


# --- the formulas, in floats ---------------------------------------------------------------------------------------


def _mean(heat: Heat, tmin: NDArray[Any], tmax: NDArray[Any]) -> NDArray[Any]:
    return np.clip((tmin + tmax) / 2, heat.base, heat.cap) - heat.base


def _clamped(heat: Heat, tmin: NDArray[Any], tmax: NDArray[Any]) -> NDArray[Any]:
    return (np.clip(tmin, heat.base, heat.cap) + np.clip(tmax, heat.base, heat.cap)) / 2 - heat.base


def _sine(heat: Heat, tmin: NDArray[Any], tmax: NDArray[Any]) -> NDArray[Any]:
    mean, swing = (tmin + tmax) / 2, np.abs(tmax - tmin) / 2

    def above(level: float) -> NDArray[Any]:
        """Degree days above a level: Baskerville and Emin 1969."""
        with np.errstate(divide="ignore", invalid="ignore"):
            angle = np.arcsin(np.clip((level - mean) / swing, -1, 1))
        part = ((mean - level) * (np.pi / 2 - angle) + swing * np.cos(angle)) / np.pi
        return np.where(mean - swing >= level, mean - level, np.where(mean + swing <= level, 0.0, part))

    return above(heat.base) - above(heat.cap) if heat.cap is not None else above(heat.base)


def _chu(heat: Heat, tmin: NDArray[Any], tmax: NDArray[Any]) -> NDArray[Any]:
    over = np.maximum(tmax - 10, 0)  # Brown and Bootsma 1993: the day part starts at 10 degC
    by_day = np.maximum(heat.day[0] * over - heat.day[1] * over * over, 0)
    by_night = np.maximum(1.8 * (tmin - heat.night_base), 0)  # 1.8: Brown and Bootsma 1993
    return (by_day + by_night) / 2


_PLAIN: dict[str, Callable[[Heat, NDArray[Any], NDArray[Any]], NDArray[Any]]] = {
    "mean": _mean, "clamped": _clamped, "sine": _sine, "chu": _chu}  # fmt: skip


# --- the same in whole hundredths, from tenths ---------------------------------------------------------------------


def _exact(number: float) -> Fraction:
    """The number as it was written: 3.33 is 333/100."""
    return Fraction(repr(float(number)))


def _nearest(numerator: NDArray[Any], denominator: int) -> Ints:
    """numerator / denominator, to the nearest whole number, halves to even; exact, since no quotient of whole numbers
    of this size comes nearer to a half than a float can tell."""
    if denominator == 1:
        return numerator.astype(np.int32)
    quotient = np.divide(numerator, numerator.dtype.type(denominator))
    return np.rint(quotient, out=quotient).astype(np.int32)


def _held(values: NDArray[Any], low: int, high: int | None = None) -> NDArray[Any]:
    """Whole numbers held to low and high; `clip` with two bounds is several times as fast as `maximum` with one."""
    kind = values.dtype.type
    return np.clip(values, kind(low), kind(np.iinfo(values.dtype).max if high is None else high))


@lru_cache(maxsize=64)
def degree_day_numbers(base: float, cap: float | None) -> tuple[int, int | None, int]:
    """(base, cap, scale): base and cap as whole numbers of `scale` in a tenth; 1 where both are whole tenths."""
    of_base, of_cap = 10 * _exact(base), None if cap is None else 10 * _exact(cap)
    scale = lcm(of_base.denominator, 1 if of_cap is None else of_cap.denominator)
    return int(of_base * scale), None if of_cap is None else int(of_cap * scale), scale


def _whole_degree_days(heat: Heat, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
    """mean and clamped: hundredths are 5 (tmin10 + tmax10) - 100 base, each held to base and cap."""
    low, high, scale = degree_day_numbers(heat.base, heat.cap)
    kind: Any = np.int16 if scale == 1 else np.int32  # two readings in tenths fit 16 bits, and nonsense does no harm
    parts = [t.astype(kind) * kind(scale) if scale > 1 else t for t in (tmin10, tmax10)]
    if heat.method == "mean":
        total = _held(parts[0] + parts[1], 2 * low, None if high is None else 2 * high)
    else:
        total = _held(parts[0], low, high)
        total += _held(parts[1], low, high)
    total -= kind(2 * low)
    hundredths = total.astype(np.int32)
    hundredths *= np.int32(5)
    return hundredths if scale == 1 else _nearest(hundredths.astype(float), scale)


def _whole_sine(heat: Heat, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
    return np.rint(100 * _sine(heat, tmin10 / 10, tmax10 / 10)).astype(np.int32)


@lru_cache(maxsize=64)
def chu_numbers(day: tuple[float, float], night_base: float) -> tuple[int, int, int, int, int]:
    """Whole coefficients (a, b, c, d) over a denominator: hundredths = (a x - b x^2 + c t - d) / denominator, with
    x, t in tenths: 100 (k x/10 - q x^2/100)/2 + 100 (1.8 (t/10 - base))/2 = 5 k x - q/2 x^2 + 9 t - 90 base."""
    parts = 5 * _exact(day[0]), _exact(day[1]) / 2, Fraction(9), 90 * _exact(night_base)
    scale = lcm(*(part.denominator for part in parts))
    a, b, c, d = (int(part * scale) for part in parts)
    return a, b, c, d, scale


def fits_single(a: int, b: int, c: int, d: int, scale: int) -> bool:
    """Whether single precision gives these corn heat units exactly: it holds whole numbers to 2^24, and tells a
    quotient below 2^12 from a half by 1/1000; 45 degC by night and the peak of the day part stay within both."""
    return b > 0 and scale <= 1000 and c * 450 + a * a // (4 * b) + d < 1 << 24


def _whole_chu(heat: Heat, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
    a, b, c, d, scale = chu_numbers(heat.day, heat.night_base)
    kind: Any = np.float32 if fits_single(a, b, c, d, scale) else np.float64
    over: NDArray[Any] = _held(tmax10, 100).astype(kind)
    over -= kind(100)
    total = over * kind(-b)
    total += kind(a)
    total *= over
    if tmax10.max(initial=0) > 100 + a // max(b, 1):  # hotter than where the day part has fallen to nothing
        np.maximum(total, kind(0), out=total)
    night: NDArray[Any] = _held(tmin10, d // c).astype(kind)
    night *= kind(c)
    night -= kind(d)
    if d % c:
        np.maximum(night, kind(0), out=night)
    total += night
    return _nearest(total, scale)


_WHOLE: dict[str, Callable[[Heat, NDArray[np.int16], NDArray[np.int16]], Ints]] = {
    "mean": _whole_degree_days, "clamped": _whole_degree_days, "sine": _whole_sine, "chu": _whole_chu}  # fmt: skip


# --- sums, and what missing days leave open ------------------------------------------------------------------------


def running(rate: NDArray[Any]) -> Ints:
    """Heat of the days before each day: starts at 0, one column more than days.

    rate : int array [..., day] -> int32 array [..., day + 1]; heat of days a to b is `running[b + 1] - running[a]`.

    >>> running(np.array([5, 0, 2])).tolist()
    [0, 5, 5, 7]
    """
    total = np.empty((*rate.shape[:-1], rate.shape[-1] + 1), np.int32)
    total[..., 0] = 0
    np.cumsum(rate, axis=-1, dtype=np.int32, out=total[..., 1:])
    return total


def has_heat(tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> NDArray[np.bool_]:
    """Days on which both temperatures were read. [..., day]"""
    return (tmin10 != MISSING) & (tmax10 != MISSING)


def extremes(rate: NDArray[Any], known: NDArray[np.bool_], ring: bool = True) -> tuple[Ints, Ints]:
    """Smallest and largest known rate of a station within 10 days of each date, over all its seasons.

    A date without a known day near it takes the station's smallest and largest of all dates.

    rate : int array [..., season, day]; known : bool, same shape -> two int32 arrays [..., day]
    ring : whether the last day is followed by the first
    """
    return -largest_near(-rate, known, ring), largest_near(rate, known, ring)


def largest_near(rate: NDArray[Any], known: NDArray[np.bool_], ring: bool = True) -> Ints:
    """Largest known rate of a station within 10 days of each date: one end of `extremes`."""
    none = -UNBOUNDED - 1
    best = np.where(known, rate, none).max(axis=-2)
    near = around(best, none, ring)
    overall = best.max(axis=-1, keepdims=True)
    return np.where(near == none, np.where(overall == none, UNBOUNDED, overall), near).astype(np.int32)


def around(values: NDArray[Any], none: Any, ring: bool) -> NDArray[Any]:
    """Largest value within 10 days of each. [..., day]"""
    pad = [(0, 0)] * (values.ndim - 1) + [(NEAR, NEAR)]
    wide = np.pad(values, pad, mode="wrap") if ring else np.pad(values, pad, constant_values=none)
    width = 1
    while 2 * width < 2 * NEAR + 1:  # windows of 1, 2, 4, 8, 16 days, then two of these that overlap
        wide = np.maximum(wide[..., :-width], wide[..., width:])
        width *= 2
    more = 2 * NEAR + 1 - width
    return np.maximum(wide[..., :-more], wide[..., more:])


def bounds(rate: NDArray[Any], known: NDArray[np.bool_], smallest: ArrayLike = 0, largest: ArrayLike | None = None,
           short: int = SHORT) -> tuple[NDArray[Any], NDArray[Any]]:  # fmt: skip
    """Least and most that each day can have given; the same array twice where nothing is missing.

    In runs of up to `short` missing days: the least and the most of the known days of the week around (3 days either
    side). In longer runs: between `smallest` and `largest`.

    Parameters
    ----------
    rate : int array, shape (..., season, day) [whole units of a clock]
    known : bool array, same shape
    smallest, largest : int, or int array of shape (..., day)
        Bounds of long runs; heat is never below 0, and by default at most the station's largest within 10 days of that
        date. Passed in, they stay the same whatever is missing.
    short : int [days]; 0: every missing day lies between `smallest` and `largest`

    Examples
    --------
    >>> low, high = bounds(np.array([[4, 9, 0, 7, 5]]), np.array([[True, True, False, True, True]]))
    >>> low.tolist(), high.tolist()
    ([[4, 9, 4, 7, 5]], [[4, 9, 9, 7, 5]])
    """
    if known.all():
        return rate, rate
    if largest is None:
        largest = extremes(rate, known, ring=rate.shape[-1] == DAYS)[1]
    return between(rate, gaps(known, short), smallest, largest)


class Gaps(NamedTuple):
    """Where days are missing, and what lies around the short runs; worked out once for several rates.

    missing : bool [..., day]; spot : places of the missing days of short runs, counted through the whole array [k];
    week : places of the days around each [k, 7]; inside : which of these are known
    """

    missing: NDArray[np.bool_]
    spot: NDArray[np.int64]
    week: NDArray[np.int64]
    inside: NDArray[np.bool_]


def gaps(known: NDArray[np.bool_], short: int = SHORT) -> Gaps:
    """The missing days of `known` [..., day], those in runs of up to `short` with their week around."""
    days, missing, flat = known.shape[-1], ~known, known.reshape(-1)
    place = np.flatnonzero(missing)
    begins = np.ones(place.size, bool)
    begins[1:] = (np.diff(place) != 1) | (place[1:] % days == 0)
    run = np.cumsum(begins) - 1
    spot = place[np.bincount(run)[run] <= short] if place.size else place
    near = spot[:, None] % days + np.arange(-WEEK, WEEK + 1)
    week = spot[:, None] - spot[:, None] % days + np.clip(near, 0, days - 1)
    inside = (near >= 0) & (near < days) & flat[week]
    some = inside.any(axis=1)
    return Gaps(missing, spot[some], week[some], inside[some])


def between(
    rate: NDArray[Any], gap: Gaps, smallest: ArrayLike, largest: ArrayLike
) -> tuple[NDArray[Any], NDArray[Any]]:
    """`bounds` of rates [..., season, day] whose gaps are known."""
    low, high = np.array(rate, order="C"), np.array(rate, order="C")
    for end, limit in ((low, np.asarray(smallest)), (high, np.asarray(largest))):
        np.copyto(end, limit if limit.ndim == 0 else limit[..., None, :], where=gap.missing, casting="same_kind")
    if gap.spot.size:
        seen, limits = rate.reshape(-1)[gap.week], np.iinfo(rate.dtype)
        low.reshape(-1)[gap.spot] = np.where(gap.inside, seen, limits.max).min(axis=1)
        high.reshape(-1)[gap.spot] = np.where(gap.inside, seen, limits.min).max(axis=1)
    return low, high


def in_long_run(missing: NDArray[np.bool_], short: int) -> NDArray[np.bool_]:
    """Missing days in runs of more than `short`: those in some stretch of `short + 1` missing days. [..., day]"""
    days = missing.shape[-1]
    if days <= short:
        return np.zeros_like(missing)
    starts = missing[..., : days - short].copy()
    for step in range(1, short + 1):
        starts &= missing[..., step : days - short + step]
    long = np.zeros_like(missing)
    for step in range(short + 1):
        long[..., step : days - short + step] |= starts
    return long


def totals(cube: Cube, clock: Any, from_day: int, to_day: int, short: int = SHORT) -> tuple[Ints, Ints, Ints]:
    """Heat of each season from one day to another, both counted: (least, most, missing days).

    Parameters
    ----------
    cube : Cube
    clock : a clock, e.g. `Heat`
    from_day, to_day : int [column]

    Returns
    -------
    three int arrays, shape (..., season): least and most [whole units of the clock], and days without heat
    """
    if not 0 <= from_day <= to_day < DAYS:
        raise SettingError(f"Heat can't be counted from day {from_day} to day {to_day} of the season.",
                           "Give two days of one season, the earlier one first.")  # fmt: skip
    known = has_heat(*cube.columns())
    days = np.s_[..., from_day : to_day + 1]
    if known.all():
        least = np.empty(cube.tmin.shape[:-1], np.int32)
        stack = (array.reshape(-1, *array.shape[-2:]) for array in (*cube.columns(), least[..., None]))
        for tmin, tmax, total in zip(*stack, strict=True):  # a station at a time: no great array of rates
            total[:, 0] = clock.rate(tmin, tmax)[days].sum(axis=-1, dtype=np.int32)
        return least, least, np.zeros_like(least)
    low, high = bounds(clock.rate(*cube.columns()), known, short=short)
    least, most = (end[days].sum(axis=-1, dtype=np.int32) for end in (low, high))
    return least, most, (~known[days]).sum(axis=-1, dtype=np.int32)
