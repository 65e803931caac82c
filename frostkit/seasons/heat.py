"""Heat: what a day gives a plant, and running sums of it in whole numbers.

A **clock** is any frozen, hashable object with `rate(tmin10, tmax10)` (whole units, int32), `per_unit` (how many of
them make one unit that people say) and `unit`. `Heat` is the clock of degree days and corn heat units. Its whole unit
is the hundredth of a degree day, rounded to the nearest, halves to even; and for corn heat units the smallest that
holds every day of readings in tenths exactly (1/50,000 for the usual coefficients), since days rounded to hundredths
decide ties of a season wrongly. A year's sum stays within 32 bits.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import SettingError, choose
from frostkit.seasons.calendar import DAYS

Ints = NDArray[np.int32]
PIECE = 1 << 17  # days worked on at a time: they stay in cache from one step to the next
METHODS = ("mean", "clamped", "sine", "chu")
HUNDREDTHS = 100
FINEST = 100_000  # parts of a corn heat unit: 365 days of 58 units each still fit 32 bits


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
    >>> Heat("chu").per_unit, Heat("chu").rate(np.int16([120]), np.int16([250])).tolist()  # 22.365
    (50000, [1118250])
    >>> Heat(base=10).rate(np.int16([50]), np.int16([201])).tolist()
    [255]
    """

    method: str = "mean"
    base: float = 10.0
    cap: float | None = None
    day: tuple[float, float] = (3.33, 0.084)  # Brown and Bootsma 1993
    night_base: float = 4.4  # Brown and Bootsma 1993

    same_every_day: ClassVar[bool] = True  # the rate depends on temperatures alone: any slice of days may be asked for

    def __post_init__(self) -> None:
        choose("method", self.method, METHODS)
        if self.cap is not None and self.cap <= self.base:
            raise SettingError(
                f"cap={self.cap:g} is not above base={self.base:g} degC.", "Give a cap above the base, or none."
            )

    @property
    def per_unit(self) -> int:
        """Whole units in a degree day or a corn heat unit."""
        return chu_numbers(self.day, self.night_base)[4] if self.method == "chu" else HUNDREDTHS

    @property
    def unit(self) -> str:
        """The unit people say."""
        return "CHU" if self.method == "chu" else "degC day"

    def rate(self, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
        """Heat of each day [whole units]; where a reading is missing the value means nothing.

        tmin10, tmax10 : int16 arrays [..., day], tenths of degC
        """
        work = _RATES[self.method]
        if tmin10.ndim < 2 or tmin10.size <= 2 * PIECE:
            return work(self, tmin10, tmax10)
        out = np.empty(tmin10.shape, np.int32)
        step = max(1, PIECE * len(tmin10) // tmin10.size)
        for start in range(0, len(tmin10), step):  # pieces that stay in cache from one step to the next
            at = slice(start, start + step)
            out[at] = work(self, tmin10[at], tmax10[at])
        return out


# --- whole units from tenths ---------------------------------------------------------------------------------------


def _exact(number: float) -> Fraction:
    """The number as it was written: 3.33 is 333/100."""
    return Fraction(repr(float(number)))


def _nearest(numerator: NDArray[Any], denominator: int) -> Ints:
    """numerator / denominator, to the nearest whole number, halves to even."""
    if denominator == 1:
        return numerator.astype(np.int32)
    return np.rint(numerator / denominator).astype(np.int32)


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


def _degree_days(heat: Heat, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
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


def _sine(heat: Heat, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
    """Hundredths of degree days under a single sine above base, less those above cap (Baskerville and Emin 1969)."""
    tmin, tmax = tmin10 / 10, tmax10 / 10
    mean, swing = (tmin + tmax) / 2, np.abs(tmax - tmin) / 2

    def above(level: float) -> NDArray[Any]:
        with np.errstate(divide="ignore", invalid="ignore"):
            angle = np.arcsin(np.clip((level - mean) / swing, -1, 1))
        part = ((mean - level) * (np.pi / 2 - angle) + swing * np.cos(angle)) / np.pi
        return np.where(mean - swing >= level, mean - level, np.where(mean + swing <= level, 0.0, part))

    area = above(heat.base) - above(heat.cap) if heat.cap is not None else above(heat.base)
    return np.rint(HUNDREDTHS * area).astype(np.int32)


@lru_cache(maxsize=64)
def chu_numbers(day: tuple[float, float], night_base: float) -> tuple[int, int, int, int, int, int]:
    """Whole coefficients and unit of corn heat: (a, b, c, d, per_unit, parts), from readings in tenths x (Tmax above
    10 degC) and t (Tmin).

    A day's corn heat units are (k x/10 - q x^2/100)/2 + 1.8 (t/10 - base)/2 (Brown and Bootsma 1993), each half at
    least 0: (a x - b x^2) + (c t - d) whole parts, `parts` of which make a unit. `per_unit` is the same, but where the
    parts would be finer than `FINEST`: then a day is rounded to one of those.
    """
    terms = _exact(day[0]) / 20, _exact(day[1]) / 200, Fraction(9, 100), Fraction(9, 10) * _exact(night_base)
    parts = lcm(*(term.denominator for term in terms))
    a, b, c, d = (int(term * parts) for term in terms)
    return a, b, c, d, min(parts, FINEST), parts


def _chu(heat: Heat, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16]) -> Ints:
    """Corn heat units (Brown and Bootsma 1993); the day part starts at 10 degC and falls above its peak."""
    a, b, c, d, per_unit, parts = chu_numbers(heat.day, heat.night_base)
    kind: Any = np.int32 if parts <= FINEST else np.int64
    nothing = 101 + (a // b if b > 0 else 900)  # tenths from which the day part has fallen to nothing
    over = _held(tmax10, 100, nothing).astype(kind)
    over -= kind(100)
    total = over * kind(-b)
    total += kind(a)
    total *= over
    np.maximum(total, kind(0), out=total)
    night = _held(tmin10, d // c).astype(kind)
    night *= kind(c)
    night -= kind(d)
    if d % c:
        np.maximum(night, kind(0), out=night)
    total += night
    return total if parts == per_unit else _nearest(total.astype(float) * per_unit, parts)


_RATES: dict[str, Callable[[Heat, NDArray[np.int16], NDArray[np.int16]], Ints]] = {
    "mean": _degree_days,
    "clamped": _degree_days,
    "sine": _sine,
    "chu": _chu,
}


# --- sums ----------------------------------------------------------------------------------------------------------


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


def total(tmin: NDArray[np.int16], tmax: NDArray[np.int16], clock: Any, first: int, last: int) -> NDArray[np.int64]:
    """Heat of each season from one day to another, both counted [whole units of the clock].

    Parameters
    ----------
    tmin, tmax : int16 arrays, shape (..., 365) [tenths of degC]
    clock : a clock, e.g. `Heat`
    first, last : int [column]

    Returns
    -------
    int array, shape (...)
    """
    if not 0 <= first <= last < DAYS:
        raise SettingError(
            f"Heat can't be counted from day {first} to day {last} of the season.",
            "Give two days of one season, the earlier one first.",
        )
    low, high = tmin.reshape(-1, DAYS), tmax.reshape(-1, DAYS)
    out = np.empty(len(low), np.int64)
    days = slice(first, last + 1)
    for start in range(0, len(low), PIECE // DAYS):  # no great array of rates
        rows = slice(start, start + PIECE // DAYS)
        out[rows] = rates(clock, low[rows], high[rows], days).sum(axis=-1, dtype=np.int32)
    return out.reshape(tmin.shape[:-1])


def rates(clock: Any, tmin: NDArray[np.int16], tmax: NDArray[np.int16], days: slice) -> Ints:
    """Heat of some days of whole seasons [row, 365]; clocks that go by the calendar are asked for all of them."""
    if getattr(clock, "same_every_day", False):
        return clock.rate(tmin[:, days], tmax[:, days])
    return clock.rate(tmin, tmax)[:, days]
