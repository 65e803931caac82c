"""Corn and legume chopped together, and the late legume, against plain loops on a real record, and what is common practice."""

import numpy as np
import pytest

from frostkit.answers.choosing import choosing
from frostkit.answers.cold_start import cold_start
from frostkit.answers.drying import hybrid
from frostkit.answers.late_legume import late_legume
from frostkit.answers.plans import plan, whole_plan
from frostkit.answers.station import behind
from frostkit.answers.together import corn_days, shelter, together
from frostkit.crops.entry import load
from frostkit.errors import CropError, SettingError
from frostkit.records.readers import read
from frostkit.seasons.calendar import Cube, column
from frostkit.seasons.frost import limit
from frostkit.seasons.silage import moisture_at

pytestmark = pytest.mark.real
LATITUDE = 45.3833
SOWN = np.arange(column(5, 10), column(6, 30), 5)


@pytest.fixture(scope="module")
def place(shared):
    return behind(read(shared / "data/ghcn-daily/CA006105976.dly"), seasons=(1951, 2021))


@pytest.fixture(scope="module")
def whole(place) -> Cube:
    """Seasons without a missing day from March to October."""
    cube = place.cube
    good = ((cube.tmin > -30000) & (cube.tmax > -30000))[:, 50:310].all(axis=1)
    assert good.sum() > 40
    return Cube(cube.tmin[good], cube.tmax[good], cube.seasons[good], cube.lows)


def by_loops(cube: Cube, season: int, of, sown: int) -> dict[str, float]:
    """Day of each stage, one day after the other."""
    came = {-1: float(sown)}
    tmin, tmax = cube.tmin[season : season + 1], cube.tmax[season : season + 1]
    for number, stage in enumerate(of.stages):
        rate, heat, day = stage.clock.rate(tmin, tmax)[0], 0, came[stage.since]
        while np.isfinite(day) and heat < stage.need:
            day += 1
            if day > of.season_end:
                day = np.inf
                break
            heat += int(rate[int(day)])
        came[number] = day
    return {stage.name: came[number] for number, stage in enumerate(of.stages)}


def corn_by_loops(cube, season, crop, sown):
    """Closed, browned, killed, fit, chop of one season and seeding day."""
    of = whole_plan(crop, LATITUDE)
    stages = by_loops(cube, season, of, sown)
    tmin = cube.tmin[season]
    killed = browned = np.inf
    for day in range(sown + 1, of.season_end + 1):
        if killed == np.inf and day >= stages["emergence"]:
            at = -2.0 if day >= stages["v5"] else -4.0
            killed = day if tmin[day] <= limit(at) else killed
        if browned == np.inf and day >= stages["canopy_closed"] and tmin[day] <= limit(-1.0):
            browned = day
    fit = stages["fit_to_chop"]
    chop = fit
    if killed <= fit:
        clock = of.stages[of.goal].clock
        rate = clock.rate(cube.tmin[season : season + 1], cube.tmax[season : season + 1])[0]
        if killed < np.inf:
            heat = int(rate[sown + 1 : int(killed) + 1].sum())
            drying = hybrid(crop).drying
            chop = killed + np.ceil(max(float(moisture_at(heat, drying)) - 65, 0) / drying.frosted)
        chop = np.inf if chop > of.season_end else chop
    return stages["canopy_closed"], browned, killed, fit, chop


def legume_by_loops(cube, season, crop, sown, corn, of):
    """Whether the legume made its growth before the chop and its own sheltered killing frost."""
    closed, browned, _, _, chop = corn
    stages = by_loops(cube, season, of, sown)
    goal = stages[of.stages[of.goal].name]
    if goal == np.inf or goal > chop or sown < warm_by_loops(cube, season, of.warm):
        return False
    for day in range(int(stages["emergence"]), int(goal) + 1):
        kept = crop.shelter.value if closed <= day <= min(browned, chop) else 0.0
        if cube.tmin[season][day] <= limit(crop.stage["emergence"].kills.value - kept):
            return False
    return True


def warm_by_loops(cube, season, rule):
    both = (cube.tmin[season].astype(int) + cube.tmax[season]) / 2
    for day in range(rule.from_day, 365):
        if both[day - rule.days + 1 : day + 1].mean() >= 10 * rule.mean - 1e-9:
            return day
    return np.inf


@pytest.mark.parametrize("rating", ["silage-2300", "silage-2600"])
def test_the_corns_days_equal_plain_counting(whole, rating):
    crop = load(rating)
    got = corn_days(whole, crop, SOWN, LATITUDE)
    for season in range(0, len(whole.seasons), 4):
        for k, sown in enumerate(SOWN):
            expected = corn_by_loops(whole, season, crop, int(sown))
            found = [day.first[season, k] for day in (got.closed, got.browned, got.killed, got.fit, got.chop)]
            assert found == list(expected), (whole.seasons[season], sown)
            assert got.chop.first[season, k] == got.chop.last[season, k]


def test_chopped_together_equals_plain_counting(whole):
    corn, legume = load("silage-2600"), load("forage-late")
    growth = legume.stage["growth"]
    more = growth.model_copy(update={"need": growth.need.model_copy(update={"value": 700.0})})
    legume = legume.model_copy(update={"shelter": legume.shelter.model_copy(update={"value": 2.0}),
                                       "stage": {**legume.stage, "growth": more}})  # fmt: skip
    after = 20
    got = together(whole, corn, legume, SOWN, after, LATITUDE)
    of = plan(legume, LATITUDE)
    differ = 0
    for season in range(0, len(whole.seasons), 4):
        for k, sown in enumerate(SOWN):
            corns = corn_by_loops(whole, season, corn, int(sown))
            worked = legume_by_loops(whole, season, legume, int(sown) + after, corns, of)
            assert got.legume.certain[season, k] == worked, (whole.seasons[season], sown)
            differ += not worked
    assert differ  # some failed, so that the test tells
    assert (got.both.certain == (got.corn.certain & got.legume.certain)).all()


def test_together_is_never_better_than_a_legume_that_waits_for_its_own_frost_without_shelter(place):
    corn, legume = load("silage-2300"), load("forage-late")
    bare = legume.model_copy(update={"shelter": None})
    got = together(place.cube, corn, bare, SOWN, 25, LATITUDE)
    from frostkit.seasons.windows import works

    alone = works(place.cube, plan(legume, LATITUDE), SOWN + 25)
    assert (got.legume.certain <= alone.certain).all()
    assert (got.legume.possible <= alone.possible).all()


def made_up_night(degrees: float) -> Cube:
    """A warm summer of one season, with one cold night on 15 September, invented."""
    tmin, tmax = np.full((1, 365), 120, np.int16), np.full((1, 365), 240, np.int16)
    tmin[0, : column(4, 20)] = tmin[0, column(10, 20) :] = -50
    tmin[0, column(9, 15)] = round(10 * degrees)
    return Cube(tmin, tmax, np.array([2000]), np.full(365, -400, np.int16))


def test_a_mid_september_degree_of_frost_browns_corn_and_spares_beans_within_it():
    """Common practice, no source: -1 degC in the screen turns corn from green to brown, beans in its shelter stay green,
    beans where there is no corn are nipped."""
    cube, corn, bean = made_up_night(-1.0), load("silage-2600"), load("forage-late")
    got = corn_days(cube, corn, [column(6, 15)], 50.0)
    night = column(9, 15)
    assert got.browned.first[0, 0] == night
    assert got.killed.first[0, 0] > night
    cover = shelter(bean, got)
    nips = bean.stage["emergence"].browns.value
    assert cover.first.first[0, 0] <= night <= cover.last.first[0, 0]
    assert cube.tmin[0, night] <= limit(nips)  # in the open: nipped
    assert cube.tmin[0, night] > limit(nips - cover.degrees)  # within the corn: green


def test_a_frost_between_the_two_kills_the_bean_in_the_open_alone():
    cube = made_up_night(-3.0)
    answer_days = np.array([column(6, 15)])
    got = corn_days(cube, load("silage-2600"), answer_days, 50.0)
    bean = load("forage-late")
    from frostkit.seasons.windows import killed

    of = whole_plan(bean, 50.0)
    open_, within = killed(cube, of, answer_days), killed(cube, of, answer_days, shelter=shelter(bean, got))
    assert open_.first[0, 0] == column(9, 15) < within.first[0, 0]


def test_the_late_legume_tells_what_each_sowing_makes(place):
    answer = late_legume(
        place, load("silage-2600"), [load("forage-late"), load("grain-00")], column(5, 20), latitude=LATITUDE
    )
    late, grain = answer.beans
    with_corn, before, _, at_v5 = late.sown
    assert [one.name for one in late.sown] == ["with the corn", "1 day before the corn", "1 day after the corn",
                                               "at fifth leaf collar (V5)"]  # fmt: skip
    good = place.complete
    assert (before.emergence.first <= with_corn.emergence.first).all()
    assert (at_v5.sown.first[good] > column(6, 5)).all()
    for one in late.sown:
        assert (one.vegetative.first <= one.vegetative.last).all()
        assert (one.heat_at_chop.first <= one.heat_at_chop.last + 1e-9).all()
        later = good & (one.killed_open.first >= one.chop.last)  # nothing killed it before the chop, in the open either
        assert later.sum() > 50
        assert (one.heat_at_chop.last[later] <= one.heat_at_frost.last[later] + 1e-9).all()
        assert sum(one.instead) == good.sum()
    assert np.median(at_v5.heat_at_chop.first[good]) < 0.75 * np.median(with_corn.heat_at_chop.first[good])
    assert (
        with_corn.stage_at_chop.count("vegetative") >= 0.9 * good.sum()
    )  # a late forage type does not flower by the chop
    assert "ripe (R8)" in grain.sown[0].stage_at_chop
    assert next(c.topic for c in answer.cautions) == "herbicide"
    assert "slowing by cool nights is off" in answer.options


def test_the_last_sensible_sowing_day_is_the_last_that_reaches_the_odds(place):
    bean = late_legume(place, load("silage-2300"), load("forage-late"), column(5, 20), growth="500 degree days").beans[
        0
    ]
    reaches = 5 * bean.odds.complete_yes >= 4 * bean.odds.complete
    assert bean.last_day == bean.days[np.flatnonzero(reaches)[-1]]
    stricter = late_legume(
        place, load("silage-2300"), load("forage-late"), column(5, 20), growth="700 degree days", odds=0.9
    )
    assert stricter.beans[0].last_day < bean.last_day


def test_days_vegetative_can_be_what_is_wanted(place):
    chosen = [load(name) for name in ("soybean-00", "soybean-2", "soybean-7")]
    answer = late_legume(
        place, load("silage-2600"), chosen, column(5, 15), when=(0,), growth="80 days", latitude=LATITUDE
    )
    early, middle, late = (bean.sown[0].odds.complete_yes for bean in answer.beans)
    assert early == middle == 0
    assert late > 0.9 * place.complete.sum()
    one = answer.beans[2].sown[0]
    sure = one.vegetative.first >= 80
    assert (one.odds.yes == sure.sum()).all()


def test_growth_by_heat_equals_the_heat_told(place):
    """The share that reaches 600 degree days is the share whose heat at the chop is 600 or more."""
    one = late_legume(
        place, load("silage-2300"), load("forage-late"), column(5, 20), when=("v5",), growth="600 degree days"
    )
    sown = one.beans[0].sown[0]
    least, most = sown.heat_at_chop
    warm = sown.sown.first > column(6, 1)  # by then the soil is warm: the rule does not speak
    assert warm.all()
    assert abs(int((least >= 600).sum()) - int(sown.odds.yes)) <= int(sown.odds.not_known)
    assert int((most < 600).sum()) <= int(sown.odds.no)


def test_any_stage_collar_or_day_can_be_the_sowing(place):
    answer = late_legume(
        place, load("silage-2300"), load("forage-late"), column(5, 15), when=("v7", "silking", "06-25", "3")
    )
    names = [one.name for one in answer.beans[0].sown]
    assert names == ["at leaf collar 7 (V7)", "at silking", "on 25 June", "3 days after the corn"]


@pytest.mark.parametrize(("options", "match"), [
    ({"when": ("v55",)}, "There is no leaf collar 55"),
    ({"when": ("silkin",)}, r"when='silkin' is not known\. Did you mean 'silking'"),
    ({"when": (300,)}, "300 days after the corn is outside"),
    ({"growth": "lots"}, r"growth='lots' is not known for forage-late"),
    ({"growth": "-5 days"}, r"growth='-5 days' is not known for forage-late"),
    ({"odds": 1.2}, r"Odds of 1\.2 can't be wanted"),
    ({"frost": "mild"}, "frost='mild' is not known"),
])  # fmt: skip
def test_bad_input_gets_its_two_lines(place, options, match):
    with pytest.raises(SettingError, match=match):
        late_legume(place, load("silage-2300"), load("forage-late"), column(5, 15), **options)


def test_a_bean_is_no_corn(place):
    with pytest.raises(CropError, match="forage-late is no corn"):
        corn_days(place.cube, load("forage-late"), [140])


def test_choosing_finds_the_highest_rating_that_still_gets_there(place):
    early, late = (choosing(place, column(*day), latitude=LATITUDE) for day in ((5, 20), (6, 25)))
    assert early.highest["silage"].rating.value > late.highest["silage"].rating.value
    for answer in (early, late):
        top = answer.highest["silage"].rating.value
        for one in answer.corns:
            if one.crop.use == "silage":
                assert one.reaches == (5 * one.odds.complete_yes >= 4 * one.odds.complete)
                assert one.crop.rating.value <= top or not one.reaches
        shares = [float(one.odds.share) for one in answer.corns]
        assert shares == sorted(shares, reverse=True)
    assert {"insurance", "cold_soil"} <= {caution.topic for caution in early.cautions}


def test_without_a_latitude_beans_by_day_length_are_left_out_and_named(place):
    answer = choosing(place, column(5, 20))
    assert "soybean-00" in answer.left_out
    assert {one.crop.name for one in answer.beans} >= {"forage-late", "soybean-7"}
    with pytest.raises(SettingError, match="soybean-00 goes by day length"):
        late_legume(place, load("silage-2300"), load("soybean-00"), column(5, 20))


def test_cold_soil_is_told_for_early_days_and_fades(place):
    days = np.array([column(4, 20), column(5, 10), column(6, 10)])
    start = cold_start(place.cube, days, place.complete)
    assert start.rain is None
    first, second, third = start.soil.share
    assert first > 0.8 > second > third
    rain = np.zeros(place.cube.tmin.shape)
    rain[:, column(5, 10)] = 12.0
    wet = cold_start(place.cube, days, place.complete, rain).rain
    assert wet.yes[1] == start.soil.yes[1]
    assert wet.yes[0] == 0


def test_what_the_missing_days_hid_lies_within_the_ends(whole):
    """Days taken out of seasons that are known: every date lies between its ends, every yes and no holds.

    Runs of 6 days, so that heat is bounded by 0 and the largest of the other seasons; the lows are those of the whole
    record, as DESIGN.md states the law.
    """
    rng = np.random.default_rng(3)
    tmin, tmax = whole.tmin.copy(), whole.tmax.copy()
    for season in range(len(tmin)):
        for start in rng.integers(column(5, 20), column(10, 5), 2):
            tmin[season, start : start + 6] = tmax[season, start : start + 6] = -32768
    holed = Cube(tmin, tmax, whole.seasons, whole.lows)
    corn, legume = load("silage-2600"), load("forage-late")
    truth, got = (together(cube, corn, legume, SOWN, 30, LATITUDE) for cube in (whole, holed))
    for name in ("closed", "browned", "killed", "fit", "chop"):
        sure, ends = getattr(truth.days, name), getattr(got.days, name)
        assert (ends.first <= sure.first).all(), name
        assert (ends.last >= sure.last).all(), name
    assert (got.days.chop.first < got.days.chop.last).mean() > 0.3
    for name in ("corn", "legume", "both"):
        sure, ends = getattr(truth, name), getattr(got, name)
        assert (ends.certain <= sure.certain).all()
        assert (sure.possible <= ends.possible).all()
