"""A record at a glance: what stands on each day of each season, and what each season has."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.records.checks import ELEMENTS, Finding
from frostkit.records.days import days_of
from frostkit.records.record import Record

OUTSIDE, PRESENT, MISSING, MASKED = range(4)
STATES = ("outside", "present", "missing", "masked")
"""What the numbers of a `Glance` mean; a darker matter has a higher number, so that the worse of two is the larger."""


@dataclass(frozen=True)
class Glance:
    """seasons : int [season], the year in which each starts; state : uint8 [season, 365], see `STATES`."""

    seasons: NDArray[np.int64]
    state: NDArray[np.uint8]


def glance(record: Record, findings: Iterable[Finding] = (), elements: Iterable[str] = ELEMENTS) -> Glance:
    """What stands on each day of each season: years by days, for a picture.

    Parameters
    ----------
    record : Record
        As `check` gave it.
    findings : what `check` found: these readings were masked
    elements : "tmin", "tmax" or both; of two elements the worse is shown

    >>> from frostkit.records.record import Station
    >>> record = Record(Station(), np.datetime64("2020-01-01"), np.array([1, np.nan], "f4"), np.array([5, 6], "f4"))
    >>> [STATES[s] for s in glance(record).state[0, :3]]
    ['present', 'missing', 'outside']
    """
    known = np.stack([np.isfinite(record.tmin), np.isfinite(record.tmax)])
    state = np.where(known, PRESENT, MISSING).astype(np.uint8)
    for finding in findings:
        day = int((finding.day - record.start).astype(int))
        state[ELEMENTS.index(finding.element), day] = MASKED
    shown = state[[ELEMENTS.index(element) for element in elements]].max(0)
    days = days_of(record.start, record.tmin.size)
    first, last, keep = days.year[0], days.year[-1], ~days.leap
    out = np.full((last - first + 1, 365), OUTSIDE, np.uint8)
    out[(days.year - first)[keep], days.place[keep]] = shown[keep]
    return Glance(np.arange(first, last + 1), out)


def by_season(record: Record, findings: Iterable[Finding]) -> dict[int, Counter[str]]:
    """How many readings each check masked in each season that has any: {season: {check: number}}."""
    found = tuple(findings)
    if not found:
        return {}
    season = days_of(record.start, record.tmin.size).year
    table: dict[int, Counter[str]] = {}
    for finding in found:
        year = int(season[int((finding.day - record.start).astype(int))])
        table.setdefault(year, Counter())[finding.check] += 1
    return dict(sorted(table.items()))
