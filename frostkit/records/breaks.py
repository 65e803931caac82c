"""Has the thermometer been moved or changed? Break points in a record, by published tests: they warn and alter nothing.

With neighbours: the standard normal homogeneity test on the annual mean difference (Alexandersson 1986, J. Climatol.
6:661-675). Without: that test and Pettitt's (1979, Appl. Stat. 28:126-135) on the annual mean daily range, which the
climate moves less than it moves Tmin (Wijngaard, Klein Tank and Können 2003, Int. J. Climatol. 23:679-692); both
must speak, and a change of land or climate still looks the same.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.records.days import days_of, on_axis
from frostkit.records.expect import course
from frostkit.records.record import Record

# Critical values of the test by number of years: 5 % Alexandersson and Moberg 1997 (Int. J. Climatol. 17:25-34), 1 %
# Wijngaard et al. 2003: from memory of both; a test draws them again at random.
YEARS = (10, 20, 30, 40, 50, 70, 100)  # ends of the table: as in the source
CRITICAL_5 = (5.70, 6.95, 7.65, 8.10, 8.45, 8.80, 9.15)  # Alexandersson and Moberg 1997
CRITICAL_1 = (6.77, 9.56, 10.45, 11.01, 11.38, 11.89, 12.32)  # Wijngaard et al. 2003; 10 years: drawn at random
LEAST_YEARS = 10  # on both sides of a break together: the start of the table
LEAST_SIDE = 3  # years on one side: below it a single odd year is a break; OURS
NEAR = 10  # years either side on which each neighbour is asked; OURS
LEAST_DAYS = 292  # 80 % of a year's days (WMO-No. 1203's share), for an annual mean


@dataclass(frozen=True)
class Break:
    """One likely change of place or instrument.

    element : "tmin", "tmax" or "range" (Tmax - Tmin)
    year : the first year after it
    shift : degC, mean after less mean before
    statistic, critical : of the test that found it
    against : "neighbours" or "itself"
    """

    element: str
    year: int
    shift: float
    statistic: float
    critical: float
    against: str

    def words(self) -> str:
        """A warning for people."""
        names = {"tmin": "Tmin", "tmax": "Tmax", "range": "The daily range (Tmax - Tmin)"}
        way = "higher" if self.shift > 0 else "lower"
        seen = "against its neighbours" if self.against == "neighbours" else "by itself: it may be the climate"
        return (f"{names[self.element]} is {abs(self.shift):.1f} °C {way} from {self.year} on ({seen}). Was the "
                "thermometer moved or changed? Nothing was altered.")  # fmt: skip


def snht(series: NDArray[np.float64]) -> tuple[float, int]:
    """Standard normal homogeneity test for one shift: its statistic, and the number of values before the shift.

    Source: Alexandersson 1986: T(k) = k z1^2 + (n - k) z2^2, z1 and z2 the means of the standardised series before
    and after; the largest is taken.

    >>> round(snht(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]))[0], 2), snht(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]))[1]
    (7.0, 4)
    """
    spread = series.std(ddof=1)
    if spread == 0:
        return 0.0, 0
    z = (series - series.mean()) / spread
    total = np.cumsum(z)[:-1]
    before = np.arange(1, z.size)
    statistic = total**2 / before + (z.sum() - total) ** 2 / (z.size - before)
    at = int(statistic.argmax())
    return float(statistic[at]), at + 1


def snht_critical(years: int, level: float = 0.05) -> float:
    """Critical value of `snht` at 5 % or 1 %, between the published ones.

    >>> snht_critical(30), snht_critical(30, 0.01)
    (7.65, 10.45)
    """
    return float(np.interp(years, YEARS, CRITICAL_1 if level < 0.05 else CRITICAL_5))


def pettitt(series: NDArray[np.float64]) -> tuple[float, int]:
    """Pettitt's rank test for one shift: its approximate p, and the number of values before the shift.

    Source: Pettitt 1979: K = max |U|, p about 2 exp(-6 K^2 / (n^3 + n^2)).

    >>> pettitt(np.array([1.0, 2, 3, 4, 5, 6, 7, 8]))[1]
    4
    """
    number = series.size
    above = np.sign(series[:, None] - series[None, :]).sum(1)
    u = np.abs(np.cumsum(above)[:-1])
    at = int(u.argmax())
    p = 2 * np.exp(-6 * float(u[at]) ** 2 / (number**3 + number**2))
    return min(float(p), 1.0), at + 1


def breaks(record: Record, neighbours: Sequence[Record] = ()) -> tuple[Break, ...]:
    """Likely changes of the thermometer or its place, in order of year; empty where none is seen.

    Parameters
    ----------
    record : Record
        Checked.
    neighbours : records of stations near it, checked; their mean is what the record is held against
    """
    days = days_of(record.start, record.tmin.size)
    own = np.stack([record.tmin, record.tmax])
    own = own - course(own, days.place)
    found: list[Break] = []
    if neighbours:
        near = np.stack([on_axis(other, record.start, record.tmin.size) for other in neighbours])
        near = near - course(near, days.place)
        for element, name in enumerate(("tmin", "tmax")):
            apart = own[element] - near[:, element]
            known = np.isfinite(apart)
            with np.errstate(invalid="ignore"):
                mean = np.where(known, apart, 0).sum(0) / known.sum(0)  # NaN where no neighbour has the day
            years, means = annual(mean, days.year)
            each = [annual(row, days.year) for row in apart]
            found += [one for one in _split(years, means, name, "neighbours", _against_neighbours)
                      if _said_by_most(one, each)]  # fmt: skip
    else:
        years, means = annual(own[1] - own[0], days.year)
        found += _split(years, means, "range", "itself", _by_itself)
    return tuple(sorted(found, key=lambda each: (each.year, each.element)))


def annual(values: NDArray, year: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Years with days enough, and their means."""
    known = np.isfinite(values)
    first = int(year[0])
    count = np.bincount(year[known] - first, minlength=1)
    total = np.bincount(year[known] - first, values[known], minlength=1)
    enough = np.flatnonzero(count >= LEAST_DAYS)
    return enough + first, total[enough] / count[enough]


def _against_neighbours(means):
    statistic, at = snht(means)
    critical = snht_critical(means.size)
    return statistic, critical, at, statistic > critical


def _by_itself(means):
    statistic, at = snht(means)
    critical = snht_critical(means.size, 0.01)
    p, _ = pettitt(means)
    return statistic, critical, at, statistic > critical and p < 0.01


def _split(years, means, element: str, against: str, test: Callable) -> list[Break]:
    """The strongest break, then the same on either side of it."""
    if years.size < LEAST_YEARS:
        return []
    statistic, critical, at, speaks = test(means)
    if not speaks or min(at, years.size - at) < LEAST_SIDE:
        return []
    here = Break(element, int(years[at]), float(means[at:].mean() - means[:at].mean()), statistic, critical, against)
    return [*_split(years[:at], means[:at], element, against, test), here,
            *_split(years[at:], means[at:], element, against, test)]  # fmt: skip


def _said_by_most(found: Break, each: Iterable[tuple[NDArray, NDArray]]) -> bool:
    """More than half of the neighbours see at least half of the shift: else it is one neighbour that was moved."""
    votes = []
    for years, means in each:
        near = np.abs(years - found.year + 0.5) < NEAR
        after = years >= found.year
        if (near & after).sum() >= LEAST_SIDE and (near & ~after).sum() >= LEAST_SIDE:
            votes.append((means[near & after].mean() - means[near & ~after].mean()) / found.shift >= 0.5)
    return sum(votes) * 2 > len(votes)
