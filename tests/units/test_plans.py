"""From entries to plans: whole units, what kills, and what is left out where the latitude is not known."""

import numpy as np
import pytest

from frostkit.answers.collars import with_collar
from frostkit.answers.plans import clock, late_planting, plan, whole_plan
from frostkit.crops.entry import load
from frostkit.errors import CropError, SettingError
from frostkit.seasons.calendar import column, tenths
from frostkit.seasons.growth import stage_days
from frostkit.seasons.photothermal import Photothermal
from frostkit.seasons.soil import SoilDegreeDays


def test_a_plan_holds_the_goal_and_what_changes_the_killing_frost():
    of = plan("silage-2300")
    assert [stage.name for stage in of.stages] == ["emergence", "v5", "fit_to_chop"]
    assert [stage.kills_at for stage in of.stages] == [-4.0, -2.0, None]  # growing point below ground until V5
    assert of.stages[of.goal].need == 2150 * of.stages[of.goal].clock.per_unit
    assert of.stages[0].need == round(115 / 1.8 * 100)  # degF days to hundredths of degC days


def test_the_range_of_the_killing_frost_can_be_taken_at_either_end():
    usual, tender, hardy = (plan("silage-2300", frost=end).stages[1].kills_at for end in ("usual", "tender", "hardy"))
    assert (usual, tender, hardy) == (-2.0, 0.0, -2.2)
    with pytest.raises(SettingError, match="frost='tnder' is not known"):
        plan("silage-2300", frost="tnder")


def test_more_heat_is_added_to_the_goal_alone():
    more = plan("silage-2300", more=100)
    assert more.stages[-1].need - plan("silage-2300").stages[-1].need == 100 * more.stages[-1].clock.per_unit
    assert more.stages[0] == plan("silage-2300").stages[0]


def test_without_a_latitude_day_length_stages_are_left_out_unless_they_are_the_goal():
    assert [stage.name for stage in whole_plan("forage-late", float("nan")).stages] == ["emergence", "growth"]
    assert "first_flower" in [stage.name for stage in whole_plan("forage-late", 50.0).stages]
    with pytest.raises(SettingError, match=r"soybean-00 goes by day length .*, and the latitude is not known"):
        plan("soybean-00")


def test_an_unknown_goal_says_what_is_allowed():
    with pytest.raises(SettingError, match=r"goal='silkin' is not known\. Did you mean 'silking'"):
        plan("silage-2300", goal="silkin")


def test_cool_nights_are_off_unless_asked_for():
    crop = load("soybean-7")
    assert clock(crop, "to_flower", 50.0).cool_nights is None
    assert clock(crop, "to_flower", 50.0, cool_nights=True).cool_nights == (20.0, 0.035)


def test_an_emergence_by_soil_is_a_clock_like_the_others():
    soil = {"method": "soil", "base": 10.0, "lag": 0.2, "warmer": 0.8, "source": "fitted, see frostkit.seasons.soil"}
    crop = load("silage-2300")
    crop = type(crop).model_validate({**crop.model_dump(by_alias=True), "name": "mine",
                                      "clock": {**crop.model_dump()["clock"], "leaves": soil}})  # fmt: skip
    of = plan(crop)
    assert of.stages[0].clock == SoilDegreeDays(10.0, 0.2, 0.8)
    warm = tenths(np.full((1, 365), 20.0))
    assert stage_days(warm, warm, of, [column(5, 10)])[0, 0, 0] == column(5, 10) + 6  # 63.89 degC days at 10.8 a day


def test_late_planting_needs_an_entry_that_says_how():
    with pytest.raises(CropError, match="grain-00 does not say how late planting changes its need"):
        late_planting(plan("grain-00"), "grain-00", [140])


def test_late_planting_makes_a_need_for_each_seeding_day_and_the_grid_takes_it():
    of = late_planting(plan("silage-2300"), "silage-2300", [column(5, 1), column(5, 31)])
    warm, cool = tenths(np.full((1, 365), 24.0)), tenths(np.full((1, 365), 10.0))
    late = stage_days(cool, warm, of, [column(5, 1), column(5, 31)])[0, :, of.goal]
    plain = stage_days(cool, warm, plan("silage-2300"), [column(5, 1), column(5, 31)])[0, :, of.goal]
    assert late[0] == plain[0]
    assert late[1] < plain[1]


def test_a_leaf_collar_can_be_added_to_an_entry():
    assert with_collar(load("silage-2300"), 12).stage["v12"].need.value == 82 * 10 + 50 * 2
    with pytest.raises(SettingError, match="There is no leaf collar 40"):
        with_collar(load("silage-2300"), 40)
    with pytest.raises(CropError, match="forage-late does not say how its leaves come"):
        with_collar(load("forage-late"), 3)


def test_a_long_day_and_a_day_neutral_crop_need_no_other_clock():
    steady = np.full((1, 365), 175, np.int16)
    neutral = Photothermal(latitude=50.0, critical=14.0, sensitivity=0.0).rate(steady, steady)
    assert (neutral == 5000).all()
    short = Photothermal(latitude=50.0, critical=12.0, sensitivity=0.3)
    assert short.rate(steady, steady)[0, 171] == 0 < short.rate(steady, steady)[0, 259]


@pytest.mark.parametrize(("given", "match"), [
    ({"critical": 14.0}, "needs a latitude"),
    ({"temperatures": (7.0, 35.0, 28.0, 45.0)}, "are not in order"),
    ({"day_length": "dawn"}, "day_length='dawn' is not known"),
])  # fmt: skip
def test_a_clock_refuses_what_makes_no_sense(given, match):
    with pytest.raises(SettingError, match=match):
        Photothermal(**given)


def test_the_seedbeds_rule_is_the_entrys_own():
    corn, bean = (plan(name).warm for name in ("silage-2300", "forage-late"))
    assert (corn.limit, corn.next_days, corn.from_day, corn.rain) == (10.0, 1, column(4, 1), None)
    assert (bean.limit, bean.next_days, bean.from_day, bean.rain) == (10.0, 1, column(4, 1), 5.0)
