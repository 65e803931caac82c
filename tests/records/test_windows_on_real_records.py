"""Ready, made it and plan on five real records, season by season, against plain loops over the file's own days."""

import numpy as np
import pytest

from frostkit.answers.seeding.grids import FIRST, LAST, asking, grids
from frostkit.answers.seeding.window import window
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.records.readers import read
from frostkit.seasons.calendar import column
from tests import plain_window
from tests.real_records import by_pandas, place

pytestmark = pytest.mark.real

RECORDS = ["ottawa", "new_york", "milwaukee", "twin_cities", "toronto"]
CORN, LEGUME = load("silage-3200"), load("forage-late")  # late enough to fail in some of these seasons
FIT = 2688 + 3 / 8 * (3050 - 2688)  # CHU at 70 %, between dent (73 %, 84 % of the rating) and 65 % (rating less 150)
DAYS = np.arange(FIRST, LAST + 1)
SOME = DAYS[::4]
EVERY = 9  # of the seasons read without a hole


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("relaid")


def season_of(table, year):
    """tmin, tmax in tenths [365] of a year, from the file by plain pandas."""
    days = table.loc[f"{year}-01-01" : f"{year}-12-31"]
    days = days[days.index.strftime("%m-%d") != "02-29"]
    return [np.rint(10 * days[name].to_numpy()) for name in ("tmin", "tmax")]


@pytest.fixture(scope="module", params=RECORDS)
def both(request, shared, folder):
    """(site, rows, grids, {season: (made, fit) of corn and legume by loops on every fourth day})."""
    path, options = place(request.param, shared, folder)
    record = read(path, **options)
    site = Site(record, climate=AS_READ)
    rows = site.ensemble()
    found = grids(rows, asking(site, CORN, LEGUME, apart=True))
    table = by_pandas(request.param, shared)
    looped = {}
    whole = [int(season) for season in rows.seasons[rows.complete]]
    for year in whole[::EVERY]:
        tmin, tmax = season_of(table, year)
        if tmin.size < 365 or np.isnan([tmin, tmax]).any():
            continue
        rain = None
        at = int(np.flatnonzero(rows.seasons == year)[0])
        if rows.prcp is not None:
            rain = np.maximum(rows.prcp[rows.index[0, at]], 0)
        of = plain_window.season(tmin, tmax, rain)
        looped[at] = {
            "corn": (
                [plain_window.corn(of, int(day), FIT) for day in SOME],
                [plain_window.ready(of, int(day)) for day in DAYS],
            ),
            "legume": (
                [plain_window.bean(of, int(day)) for day in SOME],
                [plain_window.ready(of, int(day), rain=5.0) for day in DAYS],
            ),
        }
    return site, rows, found, looped


def test_every_season_equals_plain_loops(both):
    _, rows, found, looped = both
    assert len(looped) >= 5
    failed = 0
    for at, crops in looped.items():
        row = rows.index[0, at]
        for name, (sown, fit) in crops.items():
            made = [yes for yes, _ in sown]
            assert found.made[name][row, ::4].tolist() == made, (rows.seasons[at], name)
            assert found.fit[name][row].tolist() == fit, (rows.seasons[at], name)
            assert found.plan[name][row].tolist() == plain_window.plan(found.made[name][row].tolist(), fit)
            failed += made.count(False)
    assert failed > 0


def test_the_counts_printed_are_the_sums_of_the_seasons(both):
    site, rows, found, _ = both
    table = window(site, CORN, LEGUME, apart=True).table("odds")
    for name in ("corn", "legume", "both"):
        for key, part in ((name, found.made), (f"{name}.ready", found.fit), (f"{name}.plan", found.plan)):
            of = table[key].values
            by_season = part[name][rows.index].sum(0)  # [season, day], of so many draws
            assert of.total.tolist() == by_season.sum(0).tolist()
            assert of.count.tolist() == (by_season.sum(0) // rows.draws).tolist()
            assert (of.yes + of.no + of.not_known == rows.seasons.size).all()


def test_a_plan_fails_where_a_later_fit_day_made_it_only_through_a_spring_frost(both):
    """Seasons where the soil was ready on a day and the crop sown on it made it, but the plan from an earlier day did
    not: the earlier fit day's sowing was killed before 1 August. Printed, they are few."""
    _, rows, found, _looped = both
    listed = []
    for at in range(rows.seasons.size):
        if not rows.complete[at]:
            continue
        row = rows.index[0, at]
        made, fit, plan = (part["corn"][row] for part in (found.made, found.fit, found.plan))
        last = np.flatnonzero(made & fit)
        if last.size and not plan[: last[-1]].all():
            place_of = int(np.flatnonzero(~plan[: last[-1]])[0])
            sown = next(day for day in range(place_of, DAYS.size) if fit[day])
            listed.append((int(rows.seasons[at]), int(DAYS[sown]), row))
    print([one[:2] for one in listed])
    assert len(listed) <= 0.1 * rows.seasons.size
    for _, sown, row in listed:
        of = plain_window.season(rows.tmin[row], rows.tmax[row])
        dead = plain_window.corn(of, sown, FIT)[1]
        assert dead is not None and dead < column(8, 1)


def test_made_it_never_rises_with_later_sowing_but_through_a_spring_frost(both):
    _, rows, found, _ = both
    made = found.made["corn"]
    for row, day in zip(*np.nonzero(~made[:, :-1] & made[:, 1:]), strict=True):
        dead = plain_window.corn(plain_window.season(rows.tmin[row], rows.tmax[row]), int(DAYS[day]), FIT)[1]
        assert dead is not None and dead < column(8, 1)
