"""Late planting as an option: the grid by two routes, what it changes, and that it needs a figure."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.corn import corn_days
from frostkit.answers.plans import late_planting, plan
from frostkit.answers.seeding.window import window
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import load
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import CropError, SettingError
from frostkit.seasons.calendar import column
from frostkit.seasons.windows import works
from tests import plain_loops

SITE = Site(demo_record(), climate=AS_READ)
CORN, LEGUME = load("silage-2300"), load("forage-late")
DAYS = np.arange(column(4, 15), column(7, 15) + 1)


@pytest.fixture(scope="module")
def asked():
    """The window without the option, and with it."""
    return [window(SITE, CORN, LEGUME, late_planting=late) for late in (False, True)]


def made(answer, name):
    table = next(table for table in answer.tables if table.key == "odds")
    return next(column.values for column in table.columns if column.key == name)


def test_every_seeding_day_is_what_a_crop_of_that_need_would_do_on_it():
    """Two routes: one grid with a need for each day, and one grid a day with that need alone."""
    tmin, tmax = plain_loops.weather(3, 40)
    of = plan(CORN, 50.0)
    grid = works(tmin, tmax, late_planting(of, CORN, DAYS), DAYS)
    for day in (column(4, 20), column(5, 1), column(5, 21), column(6, 15), column(7, 5)):
        need = late_planting(of, CORN, [day]).stages[of.goal].need[0]
        alone = replace(of, stages=(*of.stages[:-1], replace(of.stages[-1], need=need)))
        assert (works(tmin, tmax, alone, [day])[:, 0] == grid[:, day - DAYS[0]]).all()


def test_up_to_its_first_day_and_where_it_is_not_asked_for_nothing_changes(asked):
    plain, late = asked
    early = column(5, 1) - DAYS[0] + 1
    for name in ("corn", "both"):
        assert (made(plain, name).total[:early] == made(late, name).total[:early]).all()
    assert not plain.values["late_planting"] and late.values["late_planting"]


def test_with_it_corn_and_both_never_make_it_in_fewer_seasons_and_the_chop_is_never_later(asked):
    plain, late = asked
    for name in ("corn", "both"):
        assert (made(late, name).total >= made(plain, name).total).all()
    rows = SITE.ensemble(("tmin", "tmax"))
    days, store = np.arange(column(5, 1), column(6, 20), 5), wanted("bunker")
    with_it, without = (
        corn_days(rows.tmin, rows.tmax, CORN, days, store, SITE.latitude, late=late).chop for late in (True, False)
    )
    assert (with_it <= without).all() and (with_it < without).any()


def test_it_needs_a_corn_that_has_the_figure():
    with pytest.raises(SettingError, match="there is no corn"):
        window(SITE, None, LEGUME, late_planting=True)
    with pytest.raises(CropError, match="does not say how late planting changes its need"):
        window(SITE, CORN.model_copy(update={"late_planting": None}), LEGUME, late_planting=True)
