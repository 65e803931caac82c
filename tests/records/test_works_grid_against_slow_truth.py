"""The works grid against tables worked out by plain loops apart from this code (shared/checks/window_reference.md)."""

import csv
from dataclasses import replace

import numpy as np
import pytest

from frostkit.seasons.calendar import code, column
from frostkit.seasons.growth import Plan, Stage, Warmth
from frostkit.seasons.heat import Heat
from frostkit.seasons.shortcut import season_windows
from frostkit.seasons.windows import both, days_worked, earliest, latest, works
from tests import plain_dly

pytestmark = pytest.mark.real

# The numbers of window_reference.md; they check the arithmetic and are not for farming.
CHU, DEGREE_DAYS = Heat("chu"), Heat("mean", base=10)
WARM = Warmth(days=7, mean=10.0, from_day=column(4, 1))
FALL = column(8, 1)
CORN = Plan((Stage("emergence", CHU, 18000, kills_at=-2.0, kills_from=FALL), Stage("goal", CHU, 220000)), 1, WARM)
LEGUME = Plan((Stage("emergence", DEGREE_DAYS, 7000, kills_at=-2.2), Stage("goal", DEGREE_DAYS, 65000)), 1, WARM)
HARD_CORN = Plan((Stage("emergence", CHU, 18000, kills_at=-1.0, kills_from=FALL), Stage("goal", CHU, 300000)), 1, WARM)
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
    "window_ottawa.csv": (CORN, LEGUME, 0, column(7, 15)),
    "window_ottawa_hard.csv": (HARD_CORN, HARD_LEGUME, 2, column(8, 10)),
}


def by_grid(cube, plan, sowing):
    return works(cube, plan, sowing)


def by_shortcut(cube, plan, sowing):
    return season_windows(cube, [plan], sowing)[0].works()


def by_compiled_loop(cube, plan, sowing):
    compiled = pytest.importorskip("frostkit.seasons.compiled", reason="numba is an extra")
    return compiled.works_many(cube, [plan], sowing)[0]


@pytest.mark.parametrize("how", [by_grid, by_shortcut, by_compiled_loop])
@pytest.mark.parametrize("name", CASES)
def test_the_grid_equals_the_slow_reference_on_every_season_and_column(name, how, shared):
    corn_plan, legume_plan, after, last = CASES[name]
    cube = plain_dly.cube(shared / "data/ghcn-daily/CA006105976.dly")
    sowing = np.arange(column(4, 15), last + 1)
    corn, legume = how(cube, corn_plan, sowing), how(cube, legume_plan, sowing + after)
    legume_by_corn = replace(legume, sowing=sowing)
    together = both(corn, legume)
    wrong = []
    rows = list(csv.DictReader((shared / "checks" / name).read_text().splitlines()))
    for row in rows:
        season = int(row["year"]) - int(cube.seasons[0])
        for crop, grid in (("corn", corn), ("legume", legume_by_corn), ("both", together)):
            for end, dates in (("earliest", earliest(grid)), ("latest", latest(grid))):
                assert dates.first[season] == dates.last[season]
                got = code(dates.first[season]) or ""
                if got != row[f"{crop}_{end}"]:
                    wrong.append((row["year"], crop, end, got, row[f"{crop}_{end}"]))
            if f"{crop}_days_worked" in row:
                got_days = int(days_worked(grid).first[season])
                if got_days != int(row[f"{crop}_days_worked"]):
                    wrong.append((row["year"], crop, "days", got_days, row[f"{crop}_days_worked"]))
    assert not wrong
    assert len(rows) in (53, 108)


def test_the_shortcut_declines_the_crop_that_is_tender_when_young_and_serves_the_others(shared):
    cube = plain_dly.cube(shared / "data/ghcn-daily/CA006105976.dly")
    sowing = np.arange(column(4, 15), column(7, 15) + 1)
    corn, legume, hard = season_windows(cube, [CORN, LEGUME, HARD_LEGUME], sowing)
    assert hard.by_grid().all()
    for served in (corn, legume):
        whole = earliest(served.works()).known() & served.complete
        assert served.by_grid()[whole].mean() < 0.3
