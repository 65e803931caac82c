"""Heat gathered between two days of every season, as it was read and as it would come today."""

from dataclasses import asdict
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, Day, Says, Table, counted, season_dates
from frostkit.ensemble.site import AS_READ, Ensemble, Site
from frostkit.errors import SettingError, choose
from frostkit.seasons.calendar import MISSING, column, words
from frostkit.seasons.heat import METHODS, Heat, total

Floats = NDArray[np.float64]
FIRST, LAST = column(5, 1), column(10, 31)
NEEDS = ("tmin", "tmax")
TENTHS = {"nine": 0.9, "eight": 0.8, "half": 0.5, "two": 0.2, "one": 0.1}
"""Odds of having at least so much heat: common practice, no source."""
BASE = 10.0  # degC, where none is named
BASES, CAPS = (-10, 25), (-10, 60)  # degC: common practice, no source; beyond them a slip of the hand or °F


def clock_of(method: str, base: float | None = None, cap: float | None = None) -> Heat:
    """The clock that was asked for.

    Raises `SettingError` for an unknown method, a base or cap out of range, a cap not above the base, or either given
    to corn heat units, which have their own.
    """
    choose("method", method, METHODS)
    if method == "chu":
        if base is not None or cap is not None:
            raise SettingError("Corn heat units have no base and no cap to set.", "Leave base and cap out.")
        return Heat("chu")
    base = BASE if base is None else base
    _in_range("base", base, *BASES, "50 °F is 10")
    if cap is not None:
        _in_range("cap", cap, *CAPS, "86 °F is 30")
        if cap <= base:
            raise SettingError(f"The cap, {cap:g} °C, is not above the base, {base:g} °C.", "Give a higher cap.")
    return Heat(method, base, cap)


def _in_range(name: str, degrees: float, low: float, high: float, example: str) -> None:
    """Raises `SettingError` for a temperature beyond its range, or finer than the kernel's whole numbers take."""
    do = f"Give °C, with up to three decimals: {example}."
    if not low <= degrees <= high:
        raise SettingError(f"A {name} of {degrees:g} °C can't be; allowed: {low:g} to {high:g}.", do)
    if round(degrees, 3) != degrees:
        raise SettingError(f"{degrees!r} has more than 3 decimals.", do)


def heat(
    site: Site,
    method: str = "mean",
    *,
    base: float | None = None,
    cap: float | None = None,
    first: int = FIRST,
    last: int = LAST,
    each: bool = False,
) -> Answer:
    """Heat gathered from one day to another, both counted, in every season.

    Parameters
    ----------
    site : Site
    method : "mean", "clamped", "sine" or "chu"; base, cap : degC, of degree days
    first, last : columns
    each : every season stands in what people read

    Raises
    ------
    SettingError
        As `clock_of`, and for days in the wrong order.
    RecordError
        Where no season counts.
    """
    clock = clock_of(method, base, cap)
    if first > last:
        raise SettingError(f"The first day, {words(first)}, is after the last, {words(last)}.", "Swap the two days.")
    rows = site.ensemble(NEEDS)
    gathered = _gathered(rows, clock, first, last)
    unit = clock.unit
    reached = _reached(rows, gathered)
    with_ends = {"first": Day(first), "last": Day(last)}
    amounts = {name: Amount(value, unit) for name, value in reached.items()}
    usual = counted(rows, gathered >= reached["half"])
    said = Says("heat", {**with_ends, "half": amounts["half"], "nine": amounts["nine"]})
    spread = Says("spread", {"nine": amounts["nine"], "one": amounts["one"], "share": usual, "half": amounts["half"]})
    values = {
        "unit": clock.unit,
        "method": {**asdict(clock), "from": Day(first), "to": Day(last)},
        "at_least": {name: round(value, 2) for name, value in reached.items()},
    }
    seasons = _season_table(site, rows, gathered, clock, first, last, each)
    tables = (seasons, _odds_table(rows, gathered, reached, unit))
    settings = {"clock": clock, "first": first, "last": last}
    return Answer("heat", said, (spread,), values, tables, (), site, settings, rows, Says("do_choose"))


def _gathered(rows: Ensemble, clock: Heat, first: int, last: int) -> Floats:
    """Heat of every row, in the clock's unit. [row]"""
    return total(rows.tmin, rows.tmax, clock, first, last) / clock.per_unit


def _reached(rows: Ensemble, gathered: Floats) -> dict[str, float]:
    """The most heat that is reached in so many of ten possible seasons."""
    falling = np.sort(gathered[rows.index].ravel())[::-1]
    return {name: float(falling[int(np.ceil(odds * falling.size - 1e-9)) - 1]) for name, odds in TENTHS.items()}


def _odds_table(rows: Ensemble, gathered: Floats, reached: dict[str, float], unit: str) -> Table:
    """A row for odds of 9, 8, 5, 2 and 1 in 10: at least so much heat, and in how many seasons."""
    share = counted(rows, gathered[:, None] >= np.array(list(reached.values())))
    return Table(
        "odds",
        Column("odds", "term", [f"tenths_{name}" for name in reached]),
        (Column("at_least", "amount", list(reached.values()), unit), Column("share", "share", share)),
    )


def _season_table(
    site: Site, rows: Ensemble, gathered: Floats, clock: Heat, first: int, last: int, each: bool
) -> Table:
    """A row a season: heat as read and as it would come today, least and most among the draws; days not read."""
    read = site.asking(site.asked, AS_READ).ensemble(NEEDS, 0)
    own = season_dates(read, _gathered(read, clock, first, last))
    folded = site.past
    span = np.s_[:, first : last + 1]
    missing = ((folded.tmin[span] == MISSING) | (folded.tmax[span] == MISSING)).sum(axis=1)
    places = np.searchsorted(folded.seasons, rows.seasons)
    columns: tuple[Any, ...] = (
        Column("complete", "flag", missing[places] == 0, shown=False),
        Column("total", "range", own.round(2)),
        Column("today.total", "range", season_dates(rows, gathered).round(2)),
        Column("missing_days", "number", missing[places]),
    )
    brief = None if each else np.empty(0, np.int64)
    return Table("seasons", Column("season", "season", rows.seasons), columns, brief=brief)
