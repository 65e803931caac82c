"""Tables of the late legume: a row a way, a row a sowing day, a row a season; and rows of corn side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import Column, Named, Says, Table, season_dates
from frostkit.answers.legume import growth, worth
from frostkit.answers.legume.goals import corn_kept
from frostkit.answers.legume.growth import low_middle_high, with_model
from frostkit.answers.legume.sweeps import Asked, Cells, Central, cells, collars_on, into
from frostkit.answers.legume.told import Told, protein
from frostkit.answers.legume.ways import Way
from frostkit.ensemble.site import Ensemble
from frostkit.odds.share import Share

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ENDS = ("low", "middle", "high")


def row_spacing(standing: Central, asked: Asked) -> Table | None:
    """The same sowing at V5, or the first collar asked for, in ordinary, wide and paired rows; None without one.

    standing : of sowings into standing corn, in the rows that were asked for
    """
    collars = [one for one in asked.ways if one.collar is not None]
    if not collars:
        return None
    of = next((one for one in collars if one.collar == 5), collars[0])
    assert of.collar is not None
    kilos, kept = [], []
    field = standing.sweep.field
    every = np.arange(len(field.tmin))
    for rows in growth.ROWS:
        here = asked._replace(rows=rows, ways=(of,))
        sweep = standing.sweep if rows == asked.rows else into(replace(field, rows=rows), here)
        mine = cells(of, here, sweep, sweep.grown.sown, sweep.made)
        both = (mine.part[:, None] * standing.weight[None]).ravel()
        kilos.append(with_model(mine.pick(sweep.grown.alone[0], every).ravel(), both, rows))
        kept.append(corn_kept(False, rows))
    of_kilos, of_kept = np.stack(kilos), np.array(kept)
    columns = [
        Column(f"growth_kg_ha.{end}", "amount", of_kilos[:, n].round(1), "kg/ha")
        for n, end in enumerate(("low", "middle", "high"))
    ]
    columns += [
        Column(f"corn_kept.{end}", "part", of_kept[:, n], shown=True) for n, end in enumerate(("low", "middle", "high"))
    ]
    names = [Named(rows, Says(f"rows_{rows}")) for rows in growth.ROWS]
    way = Column("way", "named", [of.named] * len(names), shown=False)
    return Table("row_spacing", Column("rows", "named", names), (way, *columns))


def _triple(key: str, values: Floats, unit: str, digits: int = 0, shown: bool = True) -> list[Column]:
    """Three columns, low, middle and high. values : float [row, 3]"""
    rounded = np.round(values, digits + 1)
    return [Column(f"{key}.{end}", "amount", rounded[:, n], unit, digits, shown) for n, end in enumerate(ENDS)]


def _line_triple(key: str, of: Sequence[Told], name: str, unit: str, digits: int, shown: bool) -> list[Column]:
    values = np.array([[getattr(one.lines[name], end) for end in ENDS] for one in of])
    return _triple(key, values, unit, digits, shown)


def ways_table(asked: Asked, told: Sequence[Told], made: Share, rain: Share | None) -> Table:
    """A row a way to sow."""
    sown = np.array([one.sown for one in told])
    kept = np.array([corn_kept(one.way.together, asked.rows) for one in told])
    blend = np.array([one.protein for one in told])
    no_days = np.full((len(told), 3), np.nan)
    days = np.array([no_days[0] if one.vegetative is None else one.vegetative for one in told])
    columns = [
        Column("sown", "day", sown[:, 1]),
        Column("sown_range", "dates", (sown[:, 0], sown[:, 2]), shown=False),
        *_triple("growth_kg_ha", np.array([one.kilos for one in told]), "kg/ha"),
        Column("made_it", "share", made),
        Column("share_of_sole", "part", np.round([one.of_sole for one in told], 4)),
        Column("light_share", "part", np.round([one.light for one in told], 4)),
        Column("protein_blend", "amount", np.round(blend[:, 1], 3), "%", 2),
        *_triple("protein_blend_range", blend, "%", 2, False),
        *_triple("protein_gain", blend - worth.fact("protein", "corn").middle, "points", 2, False),
        *_line_triple("protein_change_kg_ha", told, "protein_change", "kg/ha", 0, False),
        *_line_triple("nitrogen_kg_ha", told, "nitrogen_in_bean", "kg/ha", 0, False),
        *[Column(f"corn_kept.{end}", "part", kept[:, n], shown=False) for n, end in enumerate(ENDS)],
        *_line_triple("corn_lost_t_ha", told, "corn_lost", "t/ha", 1, False),
        *_triple("growth_at_frost_kg_ha", np.array([one.at_frost for one in told]), "kg/ha", shown=False),
        Column("emergence", "day", np.array([one.up for one in told]), shown=False),
        Column("chop", "day", np.array([one.chop for one in told]), shown=False),
        *[Column(f"days_vegetative.{end}", "number", days[:, n], shown=False) for n, end in enumerate(ENDS)],
        Column("stage_at_chop", "named", [one.stage_at_chop for one in told], shown=False),
        Column("stage_at_frost", "named", [one.stage_at_frost for one in told], shown=False),
        Column("last_day", "day", [None if one.last_day == -np.inf else one.last_day for one in told]),
    ]
    if rain is not None:
        places = np.clip(np.nan_to_num(sown[:, 1], posinf=0) - asked.days[0], 0, asked.days.size - 1).astype(int)
        columns.append(Column("rain_after_sowing", "share", rain.at(places), shown=False))
    return Table("ways", Column("way", "named", [one.way.named for one in told]), tuple(columns))


def _days_of(of: Way, asked: Asked) -> Ints:
    """Sowing days in the table of a way: into standing corn from its seeding on."""
    return asked.days if of.together else asked.days[asked.days >= asked.seeding]


def days_table(asked: Asked, each: Mapping[int | None, list[Column]]) -> Table:
    """A row a sowing day, under each way. each : `by_day` of every sweep"""
    names: list[Named] = []
    parts: list[list[Column]] = []
    for of in asked.ways:
        parts.append(each[of.after])
        names += [of.named] * len(each[of.after][0].values)
    columns = []
    for same in zip(*parts, strict=True):
        columns.append(replace(same[0], values=_joined([column.values for column in same])))
    return Table("days", Column("way", "named", names, shown=False), tuple(columns), under="ways", brief=_brief(asked))


def _joined(values: list[Any]) -> Any:
    if isinstance(values[0], Share):
        parts: dict[str, Any] = {
            name: np.concatenate([np.atleast_1d(getattr(one, name)) for one in values])
            for name in ("share", "low", "high", "yes", "no", "not_known", "total")
        }
        return values[0]._replace(**parts)
    if isinstance(values[0], list):
        return [one for each in values for one in each]
    return np.concatenate(values)


def _brief(asked: Asked) -> Ints:
    """Rows that people read: every tenth day of the first way together, and of the first into standing corn."""
    rows, begins = [], 0
    seen_: set[bool] = set()
    for of in asked.ways:
        days = _days_of(of, asked)
        if of.together not in seen_:
            seen_.add(of.together)
            since = days[0] if not of.together else asked.seeding - 20
            rows += [begins + n for n, day in enumerate(days) if day >= since and (day - asked.seeding) % 10 == 0]
        begins += days.size
    return np.array(rows, np.int64)


def by_day(asked: Asked, of: Central, makes: Share, fit: Share, rain: Share | None) -> list[Column]:
    """The columns of one sweep's sowing days: what it makes, and of corn that was sown with it or stands.

    makes : the legume makes what is wanted, by sowing day; fit : the corn comes fit, by its seeding day
    """
    sown, together = of.sweep.grown.sown, of.sweep.together
    days = asked.days if together else asked.days[asked.days >= asked.seeding]
    at = (days - sown[0]).astype(int)
    weight = of.weight
    kilos = with_model(of.alone[0][:, at], weight, asked.rows).T
    frost = with_model(of.alone[1][:, at], weight, asked.rows).T
    blend = protein(asked, together, kilos[:, 1])
    factor = growth.factors(asked.rows)[1]
    vegetative = np.full((days.size, 3), np.nan)
    if of.vegetative is not None:
        vegetative = low_middle_high(of.vegetative[:, at], weight).T
    seeded = of.sweep.corn_sown[at] if together else np.full(days.size, asked.seeding)
    columns = [
        Column("sowing", "day", days.astype(float)),
        Column("corn_seeded", "day", seeded.astype(float)),
        Column("corn_collars", "number", np.round(_collars(of, days, seeded), 1)),
        *_triple("growth_kg_ha", kilos, "kg/ha"),
        Column("made_it", "share", makes.at(at)),
        Column("share_of_sole", "part", np.round(low_middle_high(of.of_sole[:, at], weight)[1] * factor, 4)),
        Column("light_share", "part", np.round(low_middle_high(of.light[:, at], weight)[1], 4)),
        Column("protein_blend", "amount", np.round(blend, 3), "%", 2),
        Column(
            "protein_gain",
            "amount",
            np.round(blend - worth.fact("protein", "corn").middle, 3),
            "points",
            2,
            shown=False,
        ),
        *_triple("growth_at_frost_kg_ha", frost, "kg/ha", shown=False),
        *[Column(f"days_vegetative.{end}", "number", vegetative[:, n], shown=False) for n, end in enumerate(ENDS)],
        Column("stage_at_chop", "named", of.commonest(of.stage_at_chop[:, at]), shown=False),
        Column("stage_at_frost", "named", of.commonest(of.stage_at_frost[:, at]), shown=False),
        Column("chop", "day", low_middle_high(of.sweep.grown.chop[:, at], weight)[1], shown=False),
    ]
    columns.append(Column("corn_fit", "share", fit.at(at if together else np.zeros_like(at)), shown=False))
    if rain is not None:
        columns.append(Column("rain_after_sowing", "share", rain.at((days - asked.days[0]).astype(int)), shown=False))
    return columns


def _collars(of: Central, days: Ints, seeded: Ints) -> Floats:
    """Collars that the corn usually has on each day."""
    return low_middle_high(collars_on(of.sweep.field, days, seeded), of.weight)[1]


def season_table(
    asked: Asked, of_cells: Sequence[Cells], found: Mapping[int | None, Central], which: Ints, central: Ensemble
) -> Table:
    """A row a season and way: earliest and latest of each day among the draws.

    which : int [row counted], places among all rows; central : the ensemble of those rows alone
    """
    columns: dict[str, list[Floats]] = {}
    for way, mine in zip(asked.ways, of_cells, strict=True):
        of = found[way.after]
        grown, middle = of.sweep.grown, mine.middle
        chop = np.where(np.isfinite(of.sweep.of.chop), of.sweep.of.chop, np.inf)
        each = {
            "emergence": grown.up,
            "first_flower": np.full_like(grown.up, np.nan) if of.flower is None else of.flower,
            "chop": np.broadcast_to(chop, grown.up.shape),
            "killed": grown.killed,
            "killed_in_the_open": of.killed_open,
        }
        columns.setdefault("sown", []).append(mine.sown[middle, which])
        for name, day in each.items():
            columns.setdefault(name, []).append(mine.pick(day, which, np.inf)[middle])
    seasons, count = central.seasons, len(asked.ways)
    dates = {name: season_dates(central, np.stack(days, axis=1)) for name, days in columns.items()}
    return Table(
        "seasons",
        Column("season", "season", np.repeat(seasons, count)),
        (
            Column("complete", "flag", np.repeat(central.complete, count)),
            Column("way", "named", [way.named for way in asked.ways] * seasons.size),
            *(Column(name, "dates", days.reshape(2, -1)) for name, days in dates.items()),
        ),
        brief=np.empty(0, np.int64),
    )
