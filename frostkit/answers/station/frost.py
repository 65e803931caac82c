"""Last spring and first fall frost of every season at a threshold, the odds of each by day, and the days between."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Amount, Answer, Column, Day, Says, Table, counted, season_dates
from frostkit.answers.cautions import cautions_of
from frostkit.answers.units import frost_degrees
from frostkit.ensemble.site import AS_READ, Ensemble, Site
from frostkit.odds.share import Share, day_of
from frostkit.seasons.calendar import DAYS, NEVER, NONE, SPLIT, column
from frostkit.seasons.frost import first_fall, frost_free_days, last_spring

Floats = NDArray[np.float64]
TENTHS = {"one": 0.1, "two": 0.2, "half": 0.5, "eight": 0.8, "nine": 0.9}
"""Odds at which days are given: common practice, no source."""
NEEDS = ("tmin",)
SPRING, FALL = np.arange(column(*SPLIT)), np.arange(column(*SPLIT), DAYS)


class Dates(NamedTuple):
    """Last spring and first fall frost, and the days strictly between them; float [row]."""

    spring: Floats
    fall: Floats
    between: Floats


def frost_dates(rows: Ensemble, threshold: float) -> Dates:
    """The dates of every possible season."""
    spring, fall = last_spring(rows.tmin, threshold), first_fall(rows.tmin, threshold)
    return Dates(spring, fall, frost_free_days(spring, fall))


def degrees(threshold: float) -> Amount:
    """A threshold as people read it."""
    return Amount(threshold, "degC", 0 if float(threshold).is_integer() else 1)


def frost(site: Site, threshold: float = 0.0, *, each: bool = False) -> Answer:
    """Last spring and first fall frost of every season, their odds by day, and the frost-free days between.

    Parameters
    ----------
    site : Site
    threshold : degC; a night counts when its minimum is at or below it
    each : every season stands in what people read

    Raises
    ------
    SettingError
        For a threshold that no frost has.
    RecordError
        Where no season counts.
    """
    threshold = frost_degrees(threshold)
    rows = site.ensemble(NEEDS)
    dates = frost_dates(rows, threshold)
    spring = counted(rows, dates.spring[:, None] <= SPRING)
    fall = counted(rows, dates.fall[:, None] <= FALL)
    spring_on = {name: spring_day(spring, dates.spring[rows.index], odds) for name, odds in TENTHS.items()}
    fall_on = {name: day_of(odds, fall.total, FALL, fall.seasons, fall.draws) for name, odds in TENTHS.items()}
    first, last = spring_on["nine"] + 1, fall_on["one"] - 1  # the span that only 1 season in 10 cuts at either end
    free = counted(rows, (dates.spring < first) & (dates.fall > last))
    tables = (
        _season_table(site, rows, dates, threshold, each),
        _dates_table(spring, fall, spring_on, fall_on),
        _odds_table("odds.first_fall", FALL, fall),
        _odds_table("odds.last_spring", SPRING, spring),
    )
    values = {
        "threshold_c": threshold,
        "frost_free": {"from": Day(first), "to": Day(last), "share": free} if first <= last else None,
        "frost_free_days": _lengths(rows, dates),
    }
    said = _said(rows, dates, threshold, first, last, free, spring_on, fall_on)
    settings = {"threshold": threshold}
    return Answer(
        "frost", said[0], said[1:], values, tables, cautions_of("frost"), site, settings, rows, Says("do_window")
    )


def spring_day(spring: Share, dates: Floats, odds: float) -> float:
    """First day by which the last spring frost is over in these odds of the seasons; -inf where it mostly never came.

    spring : Share [day]; dates : float [draw, season]
    """
    never = int((dates == NONE).sum())
    if never >= odds * dates.size - 1e-9:
        return float(NONE)
    return day_of(odds, spring.total, SPRING, spring.seasons, spring.draws)


def _lengths(rows: Ensemble, dates: Dates) -> dict[str, Any]:
    """Frost-free days in 1, 5 and 9 of 10 possible seasons at most; None where a frost did not come."""
    lengths = np.sort(dates.between[rows.index].ravel())
    at = [lengths[min(int(np.ceil(odds * lengths.size - 1e-9)), lengths.size) - 1] for odds in (0.1, 0.5, 0.9)]
    return dict(
        zip(("short", "usual", "long"), (None if value == NEVER else float(value) for value in at), strict=True)
    )


def _places(on: dict[str, float], days: NDArray[np.int64]) -> NDArray[np.int64]:
    """Places of the days on which odds are reached; the first or the last day where there is none."""
    return np.array([int(np.clip(day, days[0], days[-1])) - int(days[0]) for day in on.values()])


def _dates_table(spring: Share, fall: Share, spring_on: dict[str, float], fall_on: dict[str, float]) -> Table:
    """A row for odds of 1, 2, 5, 8 and 9 in 10: the days by which both have come, and in how many seasons."""
    return Table(
        "dates",
        Column("odds", "term", [f"tenths_{name}" for name in TENTHS]),
        (
            Column("last_spring", "day", list(spring_on.values())),
            Column("last_spring_share", "share", spring.at(_places(spring_on, SPRING))),
            Column("first_fall", "day", list(fall_on.values())),
            Column("first_fall_share", "share", fall.at(_places(fall_on, FALL))),
        ),
    )


def day_by_odds(answer: Answer, event: str, tenths: str) -> float:
    """The day of a frost answer by which an event has come at some odds. event : "last_spring" or "first_fall"

    tenths : a key of `TENTHS`
    """
    dates = answer.table("dates")
    return float(dates[event].values[list(dates.index.values).index(f"tenths_{tenths}")])


def _season_table(site: Site, rows: Ensemble, dates: Dates, threshold: float, each: bool) -> Table:
    """A row a season: as it was read, and as it would come today; earliest and latest among the draws."""
    read = site.asking(site.asked, AS_READ).ensemble(NEEDS, 0)
    own = frost_dates(read, threshold)
    columns = []
    for name, of, these in (("", read, own), ("today.", rows, dates)):
        columns += [
            Column(f"{name}last_spring", "dates", season_dates(of, these.spring)),
            Column(f"{name}first_fall", "dates", season_dates(of, these.fall)),
            Column(f"{name}frost_free_days", "range", season_dates(of, these.between)),
        ]
    complete = Column("complete", "flag", rows.complete, shown=False)
    brief = None if each else np.empty(0, np.int64)
    return Table("seasons", Column("season", "season", rows.seasons), (complete, *columns), brief=brief)


def _odds_table(key: str, days: NDArray[np.int64], odds: Share) -> Table:
    """Odds of the event on or before each day."""
    share = Column("share", "share", odds, inline=True)
    return Table(key, Column("day", "day", days.astype(float)), (share,), brief=np.empty(0, np.int64))


def _said(
    rows: Ensemble,
    dates: Dates,
    threshold: float,
    first: float,
    last: float,
    free: Share,
    spring_on: dict[str, float],
    fall_on: dict[str, float],
) -> tuple[Says, ...]:
    """The verdict, and what carries it; both ends are counted together or worded apart."""
    at = {"threshold": degrees(threshold)}
    ends = {**at, "first": Day(first), "last": Day(last), "free": free}
    if first == NONE and last == NEVER:
        headline = Says("never", ends)
    elif first == NONE:
        headline = Says("free_to", ends)
    elif last == NEVER:
        headline = Says("free_from", ends)
    else:
        headline = Says("free" if first <= last else "no_span", ends)
    said = [headline]
    if spring_on["half"] != NONE:
        values = {"half": Day(spring_on["half"]), "nine": Day(spring_on["nine"])}
        said.append(Says("spring", values))
    else:
        said.append(Says("spring_none", {**at, "came": counted(rows, dates.spring != NONE)}))
    if fall_on["half"] != NEVER:
        said.append(Says("fall", {"half": Day(fall_on["half"]), "one": Day(fall_on["one"])}))
    else:
        said.append(Says("fall_none", {**at, "came": counted(rows, dates.fall != NEVER)}))
    lengths = _lengths(rows, dates)
    if all(value is not None for value in lengths.values()):
        said.append(Says("length", lengths))
    return tuple(said)
