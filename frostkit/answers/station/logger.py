"""How much colder the field is than the station, from the field's own logger, and what that does to its frost."""

from typing import Any

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, Says, Table, counted
from frostkit.answers.cautions import cautions_of
from frostkit.answers.offset import offset_says
from frostkit.answers.station.frost import FALL, NEEDS, SPRING, frost_dates, spring_day
from frostkit.answers.units import frost_degrees
from frostkit.ensemble.site import Site
from frostkit.odds.share import Share, day_of
from frostkit.records.field import NIGHTS, SEASONS, Offset, compare, mean_of, nights
from frostkit.records.logger import Logger
from frostkit.seasons.calendar import column

KINDS = ("other", "clear")
"""Names of the kinds of night, in the order of `records.field.NIGHTS`."""


def logged(site: Site, logger: Logger, threshold: float = 0.0) -> Answer:
    """Hold a field's logger against the station.

    Parameters
    ----------
    site : Site, the station's, without an offset
    logger : from `records.logger.read_logger`
    threshold : degC of the frost that is compared

    Raises
    ------
    RecordError
        With fewer than 10 nights in common, or an offset that no field has.
    """
    threshold = frost_degrees(threshold)
    offset = compare(site.record, logger.record)
    there = Site(site.record, site.place, offset, site.climate, site.for_season, site.only, site.neighbours)
    frosts = {name: _frost(of, threshold) for name, of in (("station", site), ("field", there))}
    day = logger.record.time()[np.isfinite(logger.record.tmin)]
    name = logger.record.station.name or "logger"
    means = {kind: mean_of(offset, number) for number, kind in enumerate(KINDS)}
    ends = {"first": str(day[0]), "last": str(day[-1]), "nights": int(offset.nights.sum()), "name": name}
    headline = Says(
        f"offset_{'colder' if means['clear'] <= 0 else 'warmer'}",
        {**ends, **{kind: Amount(abs(value), "degC more", 1) for kind, value in means.items()}},
    )
    said = [Says("nights", {**ends, "scatter": Amount(float(offset.scatter[1]), "degC more", 1)})]
    mind = offset_says(offset)[1:]
    said += [Says("said", {"line": line}) for line in mind]
    values = {
        "logger": {"name": name, "from": ends["first"], "to": ends["last"], "hourly": logger.hourly is not None,
                   "nights": ends["nights"]},
        "said": mind,
        "threshold_c": threshold,
    }  # fmt: skip
    tables: list[Table] = [_offset_table(offset), _half_table(frosts)]
    for place, (spring, fall, _) in frosts.items():
        tables.append(_odds_table(f"odds.{place}_first_fall", FALL, fall))
        tables.append(_odds_table(f"odds.{place}_last_spring", SPRING, spring))
    tables.append(_night_table(site, logger))
    rows = there.ensemble(NEEDS)
    return Answer(
        "logger", headline, tuple(said), values, tuple(tables), cautions_of("frost"), there, {}, rows, Says("do_add")
    )


Frost = tuple[Share, Share, dict[str, float]]


def _frost(site: Site, threshold: float) -> Frost:
    """Odds of the last spring and the first fall frost by day, and the days by which half the seasons have each."""
    rows = site.ensemble(NEEDS)
    dates = frost_dates(rows, threshold)
    spring = counted(rows, dates.spring[:, None] <= SPRING)
    fall = counted(rows, dates.fall[:, None] <= FALL)
    half = {
        "last_spring": spring_day(spring, dates.spring[rows.index], 0.5),
        "first_fall": day_of(0.5, fall.total, FALL, fall.seasons, fall.draws),
    }
    return spring, fall, half


def _offset_table(offset: Offset) -> Table:
    """A row a season and kind of night; cells without a night are left out of what people read."""
    cells = [(row, kind) for row in range(len(SEASONS)) for kind in range(len(NIGHTS))[::-1]]
    return Table(
        "offset_c",
        Column("season", "term", [SEASONS[row] for row, _ in cells]),
        (
            Column("nights_are", "term", [KINDS[kind] for _, kind in cells]),
            Column("mean", "amount", [float(offset.mean[at]) for at in cells], "degC more", 2),
            Column("error", "amount", [float(offset.error[at]) for at in cells], "degC more", 2),
            Column("scatter_of_a_night", "amount", [float(offset.scatter[kind]) for _, kind in cells], "degC more", 2),
            Column("nights", "number", [int(offset.nights[at]) for at in cells]),
        ),
        brief=np.array([place for place, at in enumerate(cells) if offset.nights[at]], int),
    )


def _half_table(frosts: dict[str, Frost]) -> Table:
    """The days by which half the seasons have had their frost, at the station and in the field."""
    return Table(
        "half",
        Column("place", "term", [f"place_{name}" for name in frosts]),
        tuple(Column(name, "day", [of[2][name] for of in frosts.values()]) for name in ("last_spring", "first_fall")),
    )


def _odds_table(key: str, days: Any, odds: Share) -> Table:
    share = Column("share", "share", odds, inline=True)
    return Table(key, Column("day", "day", days.astype(float)), (share,), brief=np.empty(0, np.int64))


def _night_table(site: Site, logger: Logger) -> Table:
    """A row a night with both thermometers: the field's Tmin less the station's."""
    day, apart, clear = nights(site.record, logger.record)
    return Table(
        "nights",
        Column("day", "date", list(day)),
        (
            Column("column", "day", [_column(one) for one in day]),
            Column("apart", "amount", apart.tolist(), "degC more", 2),
            Column("clear", "flag", clear),
        ),
        brief=np.empty(0, np.int64),
    )


def _column(day: np.datetime64) -> float:
    one = day.astype("datetime64[D]").item()
    return float(column(one.month, min(one.day, 28) if one.month == 2 else one.day))
