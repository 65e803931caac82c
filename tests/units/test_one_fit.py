"""One definition of fit: window, choose, late-legume, chop and the report agree to the day on one field.

The field enters the store's range alive. Each answer tells it in its own way; here all are held against the corn's days.
"""

import numpy as np
import pytest

import frostkit as fk
from frostkit.answers.answer import season_dates
from frostkit.answers.corn import corn_days
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import load
from frostkit.seasons.calendar import from_code

CORN = load("silage-2300")
SOWN = from_code("05-22")


@pytest.fixture(scope="module", params=["bunker", "bag", "oxygen_limiting"])
def store(request):
    return request.param


@pytest.fixture(scope="module")
def site():
    return fk.open(fk.demo(), seasons=(1995, 2024))


def days_of(rows, store, site):
    return corn_days(rows.tmin, rows.tmax, CORN, np.array([SOWN]), wanted(store), site.latitude)


def test_the_window_and_choosing_count_the_seasons_whose_fit_day_comes_before_the_frost(site, store):
    window = fk.window(site, CORN, None, store=store, track_record=False).answer
    rows = window.ensemble
    of = days_of(rows, store, site)
    alive = (of.fit < of.killed)[:, 0][rows.index]
    row = int(SOWN - window.table("odds").index.values[0])
    assert window.table("odds")["corn"].values.total[row] == alive.sum()
    chosen = fk.choose(site, SOWN, corn=CORN, bean="forage-late", store=store).answer.table("corn")
    assert chosen["made_it"].values.total[0] == alive.sum()
    assert window.table("odds")["outcomes.fit"].values[row] == alive.sum() // rows.draws


def test_chopping_enters_the_range_on_that_very_day_in_every_season(site, store):
    """On the first day after seeding, over the members that begin with this season's days."""
    chop = fk.chop(site, CORN, seeding="05-22", today="2025-05-23", store=store).answer
    rows, table = chop.ensemble, chop.table("seasons")
    of = days_of(rows, store, site)
    fit = np.where(of.fit < of.killed, of.fit, np.inf)[:, 0]
    said = table["fit_from"].values
    mine = season_dates(rows, fit)
    there = np.isfinite(mine).all(0)
    assert there.sum() >= 10
    assert (said[:, there] == mine[:, there]).all()


def test_the_legumes_time_under_the_corn_ends_with_that_day(site, store):
    late = fk.late_legume(site, CORN, "forage-late", "05-22", ways=("with corn",), store=store).answer
    rows, table = late.ensemble, late.table("seasons")
    of = days_of(rows, store, site)
    assert (table["chop"].values == season_dates(rows, of.chop[:, 0])).all()
    alive = (of.fit < of.killed)[:, 0]
    assert (of.chop[alive, 0] == of.fit[alive, 0]).all()


def test_the_order_of_fields_waits_for_the_same_days():
    """Before its season begins, a field's fit days are those of all possible seasons: 1, 5 and 9 in 10 of them."""
    site = fk.demo()
    plan = fk.fields(site).answer.table("plan")
    rows = site.ensemble(("tmin", "tmax"))
    for row in range(len(plan)):
        if plan["colder_by"].at(row) is not None or plan["logger"].at(row):
            continue
        sown, store = int(plan["seeded"].values[row]), plan["store"].values[row].removeprefix("store_")
        corn = load(plan["corn"].at(row).name)
        of = corn_days(rows.tmin, rows.tmax, corn, np.array([sown]), wanted(store), site.latitude)
        came = np.sort(of.chop[:, 0][rows.index].ravel())
        for part, name in ((0.1, "early"), (0.5, "usual"), (0.9, "late")):
            mine = came[int(np.ceil(part * came.size - 1e-9)) - 1]
            assert plan[f"fit_from.{name}"].values[row] == mine, (corn.name, name)


def test_the_report_says_the_windows_own_days(site, store):
    window = fk.window(site, CORN, "forage-late", store=store, track_record=False).to_dict()["window"]
    page = fk.report(site, CORN, "forage-late", store=store).html
    for end in ("from", "to"):
        month, day = window[end].split("-")
        assert f"{int(day)} {('April', 'May', 'June', 'July')[int(month) - 4]}" in page
