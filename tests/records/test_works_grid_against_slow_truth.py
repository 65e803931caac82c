"""The works grid against tables worked out by plain loops apart from this code (shared/checks/window_reference.md)."""

import csv
from dataclasses import dataclass, replace

import numpy as np
import pytest

from frostkit.seasons.calendar import MISSING, code, column
from frostkit.seasons.growth import Plan, Stage
from frostkit.seasons.heat import Heat
from frostkit.seasons.soil import Warmth
from frostkit.seasons.windows import earliest, latest, works
from tests import plain_dly

pytestmark = pytest.mark.real


@dataclass(frozen=True)
class Rounded:
    """Corn heat as the tables count it: each day to the nearest hundredth."""

    per_unit, unit = 100, "CHU"

    def rate(self, tmin10, tmax10):
        exact = Heat("chu")
        return np.rint(exact.rate(tmin10, tmax10) / exact.per_unit * 100).astype(np.int32)


# The numbers of window_reference.md; they check the arithmetic and are not for farming.
CHU, DEGREE_DAYS = Heat("chu"), Heat("mean", base=10)
WARM = Warmth(days=7, mean=10.0, from_day=column(4, 1))
FALL = column(8, 1)


def corn(goal, kills_at, clock) -> Plan:
    up = Stage("emergence", clock, 180 * clock.per_unit, kills_at=kills_at, kills_from=FALL)
    return Plan((up, Stage("goal", clock, goal * clock.per_unit)), 1, WARM)


LEGUME = Plan((Stage("emergence", DEGREE_DAYS, 7000, kills_at=-2.2), Stage("goal", DEGREE_DAYS, 65000)), 1, WARM)
HARD_LEGUME = Plan(
    (
        Stage("emergence", DEGREE_DAYS, 7000, kills_at=2.0),
        Stage("hardened", DEGREE_DAYS, 25000, kills_at=-1.0),
        Stage("goal", DEGREE_DAYS, 90000),
    ),
    2,
    WARM,
)
CASES = {
    "window_ottawa.csv": ((2200, -2.0), LEGUME, 0, column(7, 15)),
    "window_ottawa_hard.csv": ((3000, -1.0), HARD_LEGUME, 2, column(8, 10)),
}


def against(name, clock, shared):
    """(seasons compared, rows of the table that come out otherwise as (year, column, ours, theirs))."""
    of_corn, legume_plan, after, last = CASES[name]
    years, tmin, tmax = plain_dly.seasons(shared / "data/ghcn-daily/CA006105976.dly")
    sowing = np.arange(column(4, 15), last + 1)
    part = np.s_[:, column(3, 1) : column(11, 1)]
    full = ((tmin[part] != MISSING) & (tmax[part] != MISSING)).all(axis=1)
    years, tmin, tmax = years[full], tmin[full], tmax[full]
    found = {
        "corn": works(tmin, tmax, corn(*of_corn, clock), sowing),
        "legume": works(tmin, tmax, legume_plan, sowing + after),
    }
    found["both"] = found["corn"] & found["legume"]  # listed by the corn's day
    wrong = []
    rows = list(csv.DictReader((shared / "checks" / name).read_text().splitlines()))
    for row in rows:
        [season] = np.flatnonzero(years == int(row["year"]))
        for crop, grid in found.items():
            got = {
                "earliest": code(earliest(grid[season], sowing)) or "",
                "latest": code(latest(grid[season], sowing)) or "",
                "days_worked": str(grid[season].sum()),
            }
            wrong += [
                (row["year"], f"{crop}_{what}", ours, row[f"{crop}_{what}"])
                for what, ours in got.items()
                if row.get(f"{crop}_{what}", ours) != ours
            ]
    return len(rows), wrong


@pytest.mark.parametrize(("name", "seasons"), [("window_ottawa.csv", 53), ("window_ottawa_hard.csv", 108)])
def test_the_grid_equals_the_slow_reference_on_every_season_and_column(name, seasons, shared):
    assert against(name, Rounded(), shared) == (seasons, [])


@pytest.mark.parametrize(("name", "seasons"), [("window_ottawa.csv", 53), ("window_ottawa_hard.csv", 108)])
def test_exact_corn_heat_gives_the_same_tables_here(name, seasons, shared):
    """Days rounded to hundredths can part from exact ones in a tie with the need; in these seasons none does."""
    assert against(name, CHU, shared) == (seasons, [])


def test_the_hard_case_is_hard(shared):
    """window_reference.md: no day for both in 43 seasons; tenderness when young is what makes it so."""
    years, tmin, tmax = plain_dly.seasons(shared / "data/ghcn-daily/CA006105976.dly")
    rows = csv.DictReader((shared / "checks/window_ottawa_hard.csv").read_text().splitlines())
    at = np.isin(years, [int(row["year"]) for row in rows])
    sowing = np.arange(column(4, 15), column(8, 10) + 1)
    legume = works(tmin[at], tmax[at], HARD_LEGUME, sowing + 2)
    both = legume & works(tmin[at], tmax[at], corn(3000, -1.0, CHU), sowing)
    assert (~both.any(axis=1)).sum() == 43
    hardy = replace(HARD_LEGUME, stages=(replace(HARD_LEGUME.stages[0], kills_at=-1.0), *HARD_LEGUME.stages[1:]))
    hardy_grid = works(tmin[at], tmax[at], hardy, sowing + 2)
    assert not (legume & ~hardy_grid).any() and (hardy_grid & ~legume).any(axis=1).sum() > 10
