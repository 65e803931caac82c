"""Days on which the field can be worked, over possible seasons: by week, and beside what else a day needs."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Answer, Column, Says, Table
from frostkit.answers.cautions import cautions_for
from frostkit.ensemble.fold import observed
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import RecordError, choose
from frostkit.seasons.calendar import MISSING, column
from frostkit.seasons.frost import Mask
from frostkit.seasons.workdays import SOILS, by_week, workdays

MONTHS = {"april": (4, 30), "may": (5, 31), "june": (6, 30), "september": (9, 30)}
READ = 0.95  # part of April to September's days whose rain must be read for a season's rain to be known
FEWEST = 5  # such seasons, or the record has none to speak of
NEEDS = ("tmin", "tmax", "prcp")


class Weeks(NamedTuple):
    """Workdays by week: first day of each [week], and in 1, 5 and 9 of 10 possible seasons at most [3, week]."""

    month: list[str]
    start: NDArray[np.int64]
    days: NDArray[np.float64]


def has_rain(site: Site) -> bool:
    """Whether the record tells enough of rain, and where it fell, to speak of working days."""
    rain = site.folded.prcp
    if rain is None or site.latitude != site.latitude:
        return False
    summer = slice(column(4, 1), column(9, 30) + 1)
    whole = (rain[:, summer] != MISSING).mean(axis=1) >= READ
    return int((whole & observed(site.folded)).sum()) >= FEWEST


def needs_of(site: Site) -> tuple[str, ...]:
    """The elements an answer asks for: rain too, where the record tells enough of it."""
    return NEEDS if has_rain(site) else NEEDS[:2]


def workable(rows: Ensemble, latitude: float, soil: str = "loam", last: int = column(10, 31)) -> Mask | None:
    """Whether the field could be worked, on each day of each row; None without rain. bool [row, 365]"""
    if rows.prcp is None or latitude != latitude:
        return None
    return workdays(rows.tmin, rows.tmax, rows.prcp, latitude, soil, last)


def weeks(rows: Ensemble, work: Mask) -> Weeks:
    """Workdays by week of the months in which fields are worked."""
    names: list[str] = []
    starts, days = [], []
    for name, (month, length) in MONTHS.items():
        start, count = by_week(work, column(month, 1), column(month, length))
        every = np.sort(count[rows.index].reshape(-1, start.size), axis=0)
        places = [max(int(np.ceil(odds * len(every) - 1e-9)) - 1, 0) for odds in (0.1, 0.5, 0.9)]
        names += [name] * start.size
        starts.append(start)
        days.append(every[places])
    return Weeks(names, np.concatenate(starts), np.concatenate(days, axis=1).astype(float))


def working_days(site: Site, soil: str = "loam") -> Answer:
    """How many days of each week of April, May, June and September the field can be worked.

    Parameters
    ----------
    site : Site; soil : "loam" or "sand"

    Raises
    ------
    RecordError
        For a record without rain, or of no known latitude.
    """
    if not has_rain(site):
        lacking = "no latitude" if site.folded.prcp is not None else "no rain"
        raise RecordError(
            f"The record has {lacking} to tell working days by.",
            "Give the station's latitude, or a record with rain in most of 5 summers.",
        )
    rows = site.ensemble(NEEDS)
    work = workable(rows, site.latitude, choose("soil", soil, SOILS))
    assert work is not None
    every_week = weeks(rows, work)
    months = {name: _month(rows, work, month, length) for name, (month, length) in MONTHS.items()}
    may = months["may"]
    return Answer(
        "workdays",
        Says("may", {"usual": may["usual"], "few": may["few"], "many": may["many"]}),
        (
            Says("months", {name: values["usual"] for name, values in months.items()}),
            Says("rule", {}),
            Says("trust", {}),
        ),
        {"soil": soil, "months": months},
        (weeks_table(every_week),),
        cautions_for("local"),
        site,
        {"soil": soil},
        rows,
        Says("do_plan", {"few": may["few"]}),
    )


def _month(rows: Ensemble, work: Mask, month: int, length: int) -> dict[str, float]:
    """Workdays of a month in 1, 5 and 9 of 10 possible seasons at most."""
    count = work[:, column(month, 1) : column(month, length) + 1].sum(axis=1)
    every = np.sort(count[rows.index].ravel())
    at = [float(every[max(int(np.ceil(odds * every.size - 1e-9)) - 1, 0)]) for odds in (0.1, 0.5, 0.9)]
    return dict(zip(("few", "usual", "many"), at, strict=True))


def weeks_table(of: Weeks) -> Table:
    """A row a week: days that can be worked, at most in 1, 5 and 9 of 10 possible seasons."""
    few, usual, many = of.days
    return Table(
        "weeks",
        Column("week", "day", of.start.astype(float)),
        (Column("few", "number", few), Column("usual", "number", usual), Column("many", "number", many)),
    )


def months_table(rows: Ensemble, work: Mask) -> Table:
    """A row a month: days that can be worked, at most in 1, 5 and 9 of 10 possible seasons."""
    of = {name: _month(rows, work, month, length) for name, (month, length) in MONTHS.items()}
    columns = [Column(key, "number", [values[key] for values in of.values()]) for key in ("few", "usual", "many")]
    return Table("months", Column("month", "term", [f"month_{name}" for name in of]), tuple(columns))
