"""The late legume on a real record: the corn's days and the bean's growth against plain loops, field rows, practice."""

import numpy as np
import pytest

from frostkit.answers.corn import corn_days, need_at, shelter
from frostkit.answers.legume import growth
from frostkit.answers.legume.late import late_legume
from frostkit.answers.plans import whole_plan
from frostkit.answers.silage.drying import hybrid
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.records.readers import read
from frostkit.seasons.calendar import column
from frostkit.seasons.frost import limit
from frostkit.seasons.silage import moisture_at
from frostkit.seasons.windows import killed
from frostkit.show.render.machine import as_dict
from tests import plain_legume, plain_window

pytestmark = pytest.mark.real
LATITUDE = 45.3833
SOWN = np.arange(column(5, 10), column(6, 30), 10)
BUNKER = wanted("bunker")


@pytest.fixture(scope="module")
def place(shared) -> Site:
    record = read(shared / "data/ghcn-daily/CA006105976.dly", latitude=LATITUDE)
    return Site(record, climate=AS_READ, only=(1951, 2021))


@pytest.fixture(scope="module")
def rows(place):
    """Every third possible season as rows."""
    of = place.ensemble()
    some = of.index[0][::3]
    return of.tmin[some], of.tmax[some]


def corn_by_loops(tmin, tmax, crop, sown):
    """(closed, browned, killed, fit, chop) of one season and seeding day; None for what does not come."""
    of = plain_window.season(tmin, tmax)
    up = plain_window.comes(of["leaves"], sown, 115 / 1.8 - 0.005)
    fifth = plain_window.comes(of["leaves"], up, 410 / 1.8 - 0.005)
    closed = plain_window.comes(of["leaves"], up, 656 / 1.8 - 0.005)
    dead = plain_window.killed(of, up, fifth, -4.0, -2.0)
    browned = None if closed is None else plain_window.killed(of, closed, None, -1.0, -1.0)
    need = need_at(crop, BUNKER.high) / 50_000
    fit = plain_window.comes(of["chu"], sown, need)
    chop = fit
    if dead is not None and (fit is None or dead <= fit):
        heat = sum(of["chu"][sown + 1 : dead + 1])
        drying = hybrid(crop).drying
        points = max(float(moisture_at(heat * 50_000, drying)) - BUNKER.high, 0)
        chop = dead + int(np.ceil(points / drying.frosted - 1e-6))
        chop = None if chop > plain_window.END else chop
    return closed, browned, dead, fit, chop


@pytest.mark.parametrize("rating", ["silage-2300", "silage-2600"])
def test_the_corns_days_equal_plain_counting(rows, rating):
    crop = load(rating)
    tmin, tmax = rows
    got = corn_days(tmin, tmax, crop, SOWN, BUNKER, LATITUDE)
    for row in range(0, len(tmin), 3):
        for k, sown in enumerate(SOWN):
            truth = [np.inf if day is None else day for day in corn_by_loops(tmin[row], tmax[row], crop, int(sown))]
            found = [day[row, k] for day in (got.closed, got.browned, got.killed, got.fit, got.chop)]
            assert found == truth, (row, sown)


def test_growth_on_light_equals_plain_loops_where_frost_has_no_say(rows):
    corn, bean = load("silage-2300"), load("forage-late")
    tmin, tmax = rows[0][:6], rows[1][:6]
    seeding = column(5, 20)
    sown = np.array([seeding, column(6, 10), column(6, 25)])
    of = growth.field(tmin, tmax, corn, bean, LATITUDE)
    days = corn_days(tmin, tmax, corn, np.array([seeding]), BUNKER, LATITUDE)
    (got,) = growth.grow(of, [sown], np.array([seeding]), days)
    compared = 0
    for row in range(len(tmin)):
        season = plain_window.season(tmin[row], tmax[row])
        par = plain_legume.light(season, tmax[row] / 10, LATITUDE)
        for k, day in enumerate(sown):
            if got.killed[row, k] > got.chop[row, k]:
                truth = plain_legume.grown(season, par, seeding, int(day), int(got.chop[row, k]))
                assert got.alone[0, row, k] == pytest.approx(truth, rel=0.01)
                compared += 1
    assert compared > 10


def made_up_night(degrees: float):
    """A warm summer of one season, with one cold night on 15 September, invented."""
    tmin, tmax = np.full((1, 365), 120, np.int16), np.full((1, 365), 240, np.int16)
    tmin[0, : column(4, 20)] = tmin[0, column(10, 20) :] = -50
    tmin[0, column(9, 15)] = round(10 * degrees)
    return tmin, tmax


def test_a_mid_september_degree_of_frost_browns_corn_and_spares_beans_within_it():
    """Common practice, no source: -1 degC in the screen turns corn from green to brown, beans in its shelter stay green,
    beans where there is no corn are nipped."""
    (tmin, tmax), bean = made_up_night(-1.0), load("forage-late")
    got = corn_days(tmin, tmax, load("silage-2600"), np.array([column(6, 15)]), BUNKER, 50.0)
    night = column(9, 15)
    assert got.browned[0, 0] == night < got.killed[0, 0]
    cover = shelter(bean, got)
    nips = bean.stage["emergence"].browns.value
    assert cover.first[0, 0] <= night <= cover.last[0, 0]
    assert tmin[0, night] <= limit(nips)  # in the open: nipped
    assert tmin[0, night] > limit(nips - cover.degrees)  # within the corn: green


def test_a_frost_between_the_two_kills_the_bean_in_the_open_alone():
    tmin, tmax = made_up_night(-3.0)
    sown = np.array([column(6, 15)])
    got, bean = corn_days(tmin, tmax, load("silage-2600"), sown, BUNKER, 50.0), load("forage-late")
    of = whole_plan(bean, 50.0)
    open_, within = killed(tmin, tmax, of, sown), killed(tmin, tmax, of, sown, shelter=shelter(bean, got))
    assert open_[0, 0] == column(9, 15) < within[0, 0]
    field = growth.field(tmin, tmax, load("silage-2600"), bean, 50.0)
    assert growth.frosted(field, sown)[0, 0] == open_[0, 0]
    assert growth.frosted(field, sown, got)[0, 0] == within[0, 0]


@pytest.fixture(scope="module")
def told(place):
    ways = ("with corn", "-1", "1", "v3", "v5", "v7")
    return as_dict(late_legume(place, load("silage-2600"), load("forage-late"), column(5, 15), ways=ways))


def test_each_way_makes_less_the_later_it_goes_in_and_stays_vegetative(told):
    middle = [way["growth_kg_ha"]["middle"] for way in told["ways"]]
    assert middle[1] >= middle[0] >= middle[2] > middle[3] > middle[4] > middle[5]
    for way in told["ways"]:
        assert way["stage_at_chop"] == "vegetative"  # a late forage type does not flower by the chop
        assert way["growth_at_frost_kg_ha"]["middle"] >= way["growth_kg_ha"]["middle"] - 0.2
    assert told["ways"][1]["emergence"] <= told["ways"][0]["emergence"] <= told["ways"][4]["emergence"]


def test_the_fifth_collar_carries_its_published_spread(told):
    """231 to 292 degree days (degC) from planting: 415 to 525 degF by source; the days apart in June are a week or so."""
    fifth = next(way for way in told["ways"] if way["way"] == "V5")
    early, late = fifth["sown_range"]
    assert "06-08" < early < fifth["sown"] < late < "07-02"
    assert column(*map(int, late.split("-"))) - column(*map(int, early.split("-"))) >= 6


def test_a_sowing_at_v7_leaves_a_few_percent_as_in_north_dakota(told):
    """LGT-25: 3 % of the same cover without corn at V7, light under the corn below 20 % then, 4 to 12 % at the fullest."""
    seventh = next(way for way in told["ways"] if way["way"] == "V7")
    assert 0.01 < seventh["share_of_sole"] < 0.06


def test_a_sowing_with_the_corn_holds_the_share_that_explains_the_trial_of_quebec(told):
    """FED-14: 17 % of the dry matter where 9.24 % protein stood against 7.41 %, sown together near here."""
    with_corn = told["ways"][0]["growth_kg_ha"]
    assert with_corn["low"] < 2_074 < with_corn["high"]
    assert told["ways"][0]["protein_blend"] < 9.24 < told["ways"][0]["protein_blend_range"]["high"]
