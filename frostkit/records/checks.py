"""Which readings can't be trusted: the published quality checks for daily Tmin and Tmax, and two of our own.

After Durre, Menne, Gleason, Houston and Vose 2010 (J. Appl. Meteorol. Climatol. 49:1615-1633); the checks stand in
`records.alone` and `records.beside`. A value is masked, never altered. Each check runs on the values that passed the
ones before it; what the provider flagged was taken out by the reader.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frostkit.errors import RecordError
from frostkit.records import alone, beside
from frostkit.records.alone import Bad, Look
from frostkit.records.days import days_of, on_axis
from frostkit.records.gates import over
from frostkit.records.one_unit import said
from frostkit.records.record import Record, Repair

ELEMENTS = ("tmin", "tmax")


@dataclass(frozen=True)
class Finding:
    """One reading that failed a check.

    day : datetime64[D]
    element : "tmin" or "tmax"
    value : degC, as it was read
    check : name of the check (a key of `CHECKS`)
    done : what was done with the value
    """

    day: np.datetime64
    element: str
    value: float
    check: str
    done: str = "masked"


CHECKS: dict[str, Callable[[Look], Bad]] = {
    "bounds": alone.bounds,
    "naught": alone.naught,
    "duplicate": alone.duplicates,
    "streak": alone.streaks,
    "gap": alone.gaps,
    "outlier": alone.outliers,
    "consistency": alone.consistency,
    "spike": alone.spikes,
    "range": alone.ranges,
    "neighbours": beside.regression,
    "corroboration": beside.corroboration,
    "mega-consistency": alone.mega,
    "lone naught": alone.lone_naught,
    "days around": alone.days_around,
}
"""The checks in the order in which they run, as in the paper; the last two are ours."""


def check(record: Record, neighbours: Sequence[Record] = ()) -> tuple[Record, tuple[Finding, ...]]:
    """The record with every reading that failed a check masked, and what was found.

    Parameters
    ----------
    record : Record
        Its provider's flags honoured already (the readers do that).
    neighbours : records of stations near it; without them an error of 10 degC is mostly lost in the weather

    Returns
    -------
    Record, findings : masked copy, and one `Finding` for each masked reading, in order of day
    """
    days = days_of(record.start, record.tmin.size)
    readings = np.stack([record.tmin, record.tmax]).astype(np.float32)
    others = [on_axis(other, record.start, record.tmin.size) for other in neighbours]
    look = Look(readings, days, tuple(_passed(other, days) for other in others if np.isfinite(other).any()))
    failed = _run(look, CHECKS)
    masked = np.where(failed >= 0, np.float32(np.nan), readings)

    names = list(CHECKS)
    time = record.time()
    found = sorted(zip(*(x.tolist() for x in np.nonzero(failed.T >= 0)), strict=True))
    findings = tuple(Finding(time[day], ELEMENTS[element], round(float(readings[element, day]), 2),
                             names[failed[element, day]]) for day, element in found)  # fmt: skip
    repairs = tuple(
        Repair(f"{what} failed the check '{name}': masked", len(hits), str(hits[0].day))
        for name in names
        for element, what in zip(ELEMENTS, ("Tmin", "Tmax"), strict=True)
        if (hits := [f for f in findings if f.check == name and f.element == element])
    )
    return replace(record, tmin=masked[0], tmax=masked[1], repairs=record.repairs + repairs), findings


def few(record: Record, findings: Sequence[Finding], do: str) -> None:
    """Hold that the checks found slips and no more: raises `RecordError` where they mask over 3 % of a column.

    record : as it was before the check; findings : what the check found; do : what to do, for the error
    """
    for element, readings in zip(ELEMENTS, (record.tmin, record.tmax), strict=True):
        hits = [finding for finding in findings if finding.element == element]
        known = int(np.isfinite(readings).sum())
        if over(len(hits), known):
            worst = Counter(finding.check for finding in hits).most_common(1)[0][0]
            raise RecordError(
                f"{record.station.name or record.station.id}: {len(hits)} of {known} readings of {element} fail a "
                f"quality check, most of them '{worst}', the first on {said(hits[0].day)}.",
                do,
            )


def _run(look: Look, checks: dict[str, Callable[[Look], Bad]]) -> NDArray[np.int8]:
    """Which check each reading failed, counted from 0 in the order of `checks`; -1: none."""
    failed = np.full(look.readings.shape, -1, np.int8)
    for number, each in enumerate(checks.values()):
        bad = each(look) & np.isfinite(look.readings)
        if bad.any():
            failed[bad] = number
            look = replace(look, readings=np.where(bad, np.float32(np.nan), look.readings))
    return failed


def _passed(readings, days):
    """A neighbour's readings without the plain blunders; its extremes stay, for they may bear the station's out."""
    plain = {name: CHECKS[name] for name in ("bounds", "naught", "duplicate", "streak", "gap")}
    return np.where(_run(Look(readings, days), plain) >= 0, np.float32(np.nan), readings)
