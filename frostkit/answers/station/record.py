"""What a record holds and whether it is good enough: seasons that count, days not read, readings that fail."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, Day, Says, Table, Term
from frostkit.ensemble.fold import GROWING, complete, counted, longest_run, observed
from frostkit.ensemble.site import Site, str_of
from frostkit.errors import RecordError
from frostkit.records import checks
from frostkit.records.breaks import Break, breaks
from frostkit.records.glance import PRESENT, STATES, by_season, glance
from frostkit.records.record import Record, distance_km
from frostkit.seasons.calendar import DAYS, MISSING

ELEMENTS = ("tmin", "tmax")
FINDINGS = 25  # findings that people read unless each one is asked for: a setting
SEASON_STATES = ("complete", "counted", "not_counted", "not_observed")
"""Read without a hole; read enough to count; not enough; not at all."""


def completeness(site: Site, *, each: bool = False) -> Answer:
    """What a record holds: seasons that count, seasons without a hole, years without readings, days missing.

    Parameters
    ----------
    site : Site
    each : every season stands in what people read, not only those that lack something

    Raises `RecordError` where the record has none of the seasons asked for.
    """
    site = _asked_for(site)
    states = season_states(site)
    headline = Says("holds", _counts(site, states))
    said = [*_missing_says(site), Says("rule"), *_repairs(site.record)]
    seasons = _season_table(site, states, {}, each)
    values = {**_values(site, states), "repaired_on_the_way_in": [str_of(one) for one in site.record.repairs]}
    return Answer("record", headline, tuple(said), values, (seasons, _days_table(site.record)), (), site,
                  next=Says("do_check"))  # fmt: skip


def quality(site: Site, *, each: bool = False) -> Answer:
    """Whether a record is good enough: what the checks find, what each season lacks, whether the thermometer moved.

    Parameters
    ----------
    site : Site, its record as it was read; the neighbours' records are checked, and it is held against them
    each : every finding and every season stands in what people read

    References
    ----------
    `frostkit.records.checks` for the checks, `frostkit.records.breaks` for the tests.

    Raises `RecordError` where the record has none of the seasons asked for.
    """
    site = _asked_for(site)
    record = site.record
    near = [checks.check(other)[0] for other in site.neighbours]
    clean, findings = checks.check(record, near)
    clean = replace(clean, source={**clean.source, "checks": str(len(findings))})
    of = replace(site, record=clean, neighbours=tuple(near))
    states = season_states(of)
    moves = breaks(clean, near)
    masked = {season: sum(found.values()) for season, found in by_season(clean, findings).items()}
    readings = int(np.isfinite(record.tmin).sum() + np.isfinite(record.tmax).sum())
    headline = Says("checked", {**_counts(of, states), "masked": len(findings), "readings": readings})
    said = [*_repairs(record), *_failed(findings), *_missing_says(of), Says("rule")]
    said += [Says("break", _break_values(one)) for one in moves] or [Says("no_break")]
    said += [Says("neighbour", _neighbour_values(clean, other)) for other in near] or [Says("alone")]
    said.append(Says("masked_only"))
    tables = (
        _finding_table(findings, each),
        _season_table(of, states, masked, each),
        _break_table(moves),
        _neighbour_table(clean, near),
        _days_table(clean, findings),
    )
    values = {
        **_values(of, states),
        "readings": readings,
        "masked": len(findings),
        "repaired_on_the_way_in": [str_of(one) for one in record.repairs],
    }
    return Answer("record", headline, tuple(said), values, tables, (), of, next=Says("do_answer"))


def _asked_for(site: Site) -> Site:
    """The site with the days of the seasons asked for alone, where some were."""
    if site.only is None:
        return site
    record, (first, last) = site.record, site.only
    years = record.time().astype("datetime64[Y]").astype(int) + 1970
    kept = np.flatnonzero((years >= first) & (years <= last))
    if not kept.size:
        raise RecordError(
            f"The record has seasons {years[0]} to {years[-1]}, and none from {first} to {last}.",
            "Ask for seasons that the record has.",
        )
    days = slice(int(kept[0]), int(kept[-1]) + 1)
    cut = replace(
        record,
        start=record.start + days.start,
        tmin=record.tmin[days],
        tmax=record.tmax[days],
        sign=None if record.sign is None else record.sign[days],
        more={name: values[days] for name, values in record.more.items()},
    )
    return replace(site, record=cut)


# --- seasons --------------------------------------------------------------------------------------------------------


def season_states(site: Site) -> NDArray[np.str_]:
    """The state of every season of the record, one of `SEASON_STATES`; in Tmin and Tmax together. [season]"""
    folded = site.folded
    out = np.full(len(folded.seasons), "not_counted", dtype="<U12")
    out[counted(folded)] = "counted"
    out[complete(folded)] = "complete"
    out[~observed(folded)] = "not_observed"
    return out


def _counts(site: Site, states: NDArray[np.str_]) -> dict[str, Any]:
    number = Counter(states.tolist())
    station = site.station
    return {
        "name": station.name or station.id,
        "first": str(site.folded.seasons[0]),
        "last": str(site.folded.seasons[-1]),
        "seasons": len(states),
        "counted": number["counted"] + number["complete"],
        "complete": number["complete"],
        "not_counted": number["not_counted"],
        "not_observed": number["not_observed"],
    }


def _values(site: Site, states: NDArray[np.str_]) -> dict[str, Any]:
    counts = _counts(site, states)
    return {
        "judged": [Day(GROWING[0]), Day(GROWING[1])],
        **{key: counts[key] for key in ("counted", "complete", "not_counted", "not_observed")},
        "missing_percent": {name: round(100 * share, 2) for name, share in _missing(site).items()},
    }


def _growing(site: Site) -> dict[str, NDArray[np.bool_]]:
    """Days from 1 April to 31 October that were not read, by element. [season, day]"""
    growing = np.s_[:, GROWING[0] : GROWING[1] + 1]
    return {name: getattr(site.folded, name)[growing] == MISSING for name in ELEMENTS}


def _missing(site: Site) -> dict[str, float]:
    """Share of days that were not read, of the years with any reading."""
    there = observed(site.folded)
    return {name: float(gone[there].mean()) for name, gone in _growing(site).items()}


def _missing_says(site: Site) -> list[Says]:
    share = _missing(site)
    return [Says("missing", {name: Amount(100 * share[name], "%", 1) for name in ELEMENTS})]


def _repairs(record: Record) -> list[Says]:
    return [Says("repaired", {"repair": repair}) for repair in record.repairs]


def _season_table(site: Site, states: NDArray[np.str_], masked: dict[int, int], each: bool) -> Table:
    """A row a season: its state, days that were not read, the longest run of them, readings masked."""
    gone = _growing(site)
    seasons = site.folded.seasons
    longest = longest_run(gone["tmin"] | gone["tmax"])
    failed = np.array([masked.get(int(season), 0) for season in seasons])
    told = np.ones(states.size, bool) if each else (states != "complete") | (failed > 0)
    return Table(
        "seasons",
        Column("season", "season", seasons),
        (
            Column("state", "term", states.tolist()),
            Column("complete", "flag", states == "complete", shown=False),
            Column("counted", "flag", np.isin(states, ("complete", "counted")), shown=False),
            Column("missing_tmin", "number", gone["tmin"].sum(axis=1)),
            Column("missing_tmax", "number", gone["tmax"].sum(axis=1)),
            Column("longest_run", "number", longest),
            Column("masked", "number", failed, shown=bool(masked)),
        ),
        brief=np.flatnonzero(told),
    )


def _days_table(record: Record, findings: Sequence[checks.Finding] = ()) -> Table:
    """Runs of days that were not read, were masked, or lie outside the record: a row a run."""
    of = glance(record, findings)
    rows: list[tuple[int, int, int, str]] = []
    for season, state in zip(of.seasons, of.state, strict=True):
        edges = np.flatnonzero(np.diff(state)) + 1
        for first, stop in zip([0, *edges], [*edges, DAYS], strict=True):
            if state[first] != PRESENT:
                rows.append((int(season), int(first), int(stop) - 1, STATES[state[first]]))
    season, first, last, name = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Table(
        "days",
        Column("season", "season", list(season)),
        (
            Column("first", "day", list(first)),
            Column("last", "day", list(last)),
            Column("state", "term", list(name)),
        ),
        brief=np.empty(0, np.int64),
    )


# --- what the checks find -------------------------------------------------------------------------------------------


def _failed(findings: Sequence[checks.Finding]) -> list[Says]:
    """How many readings failed each check."""
    if not findings:
        return []
    number = Counter(finding.check for finding in findings)
    return [Says("failed", {"failed": [f"{check} {count}" for check, count in number.most_common()]})]


def _finding_table(findings: Sequence[checks.Finding], each: bool) -> Table:
    """A row a reading that failed a check; the first 25 are read by default."""
    return Table(
        "findings",
        Column("day", "date", [of.day for of in findings]),
        (
            Column("reading", "term", [of.element for of in findings]),
            Column("value", "amount", [of.value for of in findings], "degC", 1),
            Column("check", "text", [of.check for of in findings]),
            Column("done", "term", [of.done for of in findings]),
        ),
        brief=None if each else np.arange(min(len(findings), FINDINGS)),
    )


def _break_values(of: Break) -> dict[str, Any]:
    return {
        "element": Term(of.element),
        "shift": Amount(abs(of.shift), "degC more", 1),
        "way": Term("higher" if of.shift > 0 else "lower"),
        "year": str(of.year),
        "against": Term(of.against),
    }


def _break_table(found: Sequence[Break]) -> Table:
    """A row a year from which on the thermometer reads otherwise."""
    return Table(
        "breaks",
        Column("from", "season", [of.year for of in found]),
        (
            Column("of", "term", [of.element for of in found]),
            Column("shift_c", "amount", [of.shift for of in found], "degC more", 2),
            Column("statistic", "number", [round(of.statistic, 2) for of in found]),
            Column("critical", "number", [round(of.critical, 2) for of in found]),
            Column("against", "term", [of.against for of in found]),
        ),
    )


def _neighbour_values(record: Record, other: Record) -> dict[str, Any]:
    return {
        "name": other.station.name or other.station.id,
        "distance": Amount(_distance(record, other), "km"),
        "days": _common(record, other),
    }


def _neighbour_table(record: Record, near: Sequence[Record]) -> Table:
    """A row a record that it was held against."""
    return Table(
        "neighbours",
        Column("name", "text", [other.station.name or other.station.id for other in near]),
        (
            Column("distance_km", "amount", [_distance(record, other) for other in near], "km", 1),
            Column("days_in_common", "number", [_common(record, other) for other in near]),
        ),
        brief=np.empty(0, np.int64),
    )


def _distance(record: Record, other: Record) -> float:
    here, there = record.station, other.station
    far = distance_km(here.latitude, here.longitude, there.latitude, there.longitude)
    return far if isfinite(far) else float("nan")


def _common(record: Record, other: Record) -> int:
    """Days on which both have a Tmin."""
    ahead = int((other.start - record.start).astype(int))
    first, last = max(ahead, 0), min(ahead + other.tmin.size, record.tmin.size)
    if first >= last:
        return 0
    both = np.isfinite(record.tmin[first:last]) & np.isfinite(other.tmin[first - ahead : last - ahead])
    return int(both.sum())
