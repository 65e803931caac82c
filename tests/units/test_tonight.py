"""Frost tonight: odds against drawn nights, limits against the triage itself, places and stages."""

import numpy as np
import pytest

from frostkit.answers.season.back import Grown
from frostkit.answers.season.seen import Observed
from frostkit.answers.season.tonight import Field, night, thresholds, tonight
from frostkit.answers.silage.triage import Frost, triage
from frostkit.crops.entry import load
from frostkit.ensemble.site import Site
from frostkit.errors import SettingError
from frostkit.records.field import low_spot
from frostkit.seasons.calendar import column
from tests.made_up import record
from tests.plain_loops import weather

FIRST, LAST = 1995, 2014
TMIN, TMAX = weather(13, LAST - FIRST + 1)
SITE = Site(record(TMIN, TMAX, FIRST))
CORN, BEAN = load("silage-2300"), load("forage-late")
SOWN = column(5, 20)


def field(stage="dent", bean="vegetative", site=SITE, **more):
    return Field(Grown(site, CORN, BEAN), SOWN, corn_stage=stage, legume_stage=bean, **more)


def row(answer, part, place="open", name="home"):
    table = answer.table("odds")
    for number in range(len(table)):
        if (table.index.values[number], table["part"].values[number], table["place"].values[number]) == (
            name, f"tonight_{part}", f"tonight_{place}"):  # fmt: skip
            return {column_.key: column_.values[number] for column_ in table.columns}
    raise AssertionError(f"no row {part} {place}")


def test_a_limit_is_the_warmest_tenth_at_which_triage_says_so():
    for corn, bean in (("before_v6", "VC"), ("v6_to_silking", "V1"), ("dent", "vegetative")):
        for part, limits in thresholds(corn, bean).items():
            for limit, verdicts in zip(limits, (("possible", "certain"), ("certain",)), strict=True):
                at, warmer = (
                    triage(Frost(tmin), corn, bean_stage=bean).values["verdicts"][part] for tmin in (limit, limit + 0.1)
                )
                assert at in verdicts
                assert warmer not in verdicts


def test_odds_are_those_of_drawn_nights():
    answer = tonight(night(-1.0, 1.5), {"home": field()}, LAST, column(9, 8))
    drawn = np.round(-1.0 + 1.5 * np.random.default_rng(1).standard_normal(200_000), 1)
    for part in ("corn_leaves", "corn_plant", "bean"):
        told = row(answer, part)
        for which in ("possible", "likely", "certain"):
            assert told[which] == pytest.approx((drawn <= told[f"{which}_at"] + 1e-9).mean(), abs=0.01)


def test_without_scatter_the_night_either_reaches_a_limit_or_does_not():
    for tmin, odds in ((-1.0, 1.0), (-0.9, 0.0)):
        told = row(tonight(night(tmin, 0.0), {"home": field()}, LAST, column(9, 8)), "corn_leaves")
        assert told["likely_at"] == -1.0
        assert told["likely"] == odds


def test_a_low_spot_is_colder_on_a_clear_night_and_not_on_a_cloudy_one():
    hollow = field(site=Site(SITE.record, offset=low_spot(3.0)))
    told = {sky: tonight(night(0.0, 1.0, sky), {"home": field(), "hollow": hollow}, LAST, column(9, 8))
            for sky in ("clear", "cloudy")}  # fmt: skip
    assert row(told["clear"], "bean", name="hollow")["mean"] == -3.0
    assert row(told["cloudy"], "bean", name="hollow")["mean"] == 0.0
    assert row(told["clear"], "bean", name="home")["mean"] == 0.0
    assert told["clear"].headline.values["field"] == "hollow"


def test_the_bean_within_the_canopy_is_sheltered_and_the_canopys_top_is_as_cold_as_the_open():
    answer = tonight(night(-1.5, 1.0), {"home": field()}, LAST, column(9, 8))
    in_open, top, within = (row(answer, "bean", place) for place in ("open", "top", "within"))
    assert top["mean"] == in_open["mean"]
    assert within["mean"] == in_open["mean"] + BEAN.shelter.value
    assert within["likely"] < in_open["likely"]


def test_young_corn_has_no_canopy_and_a_growing_point_below_ground():
    answer = tonight(night(-2.5, 1.0), {"home": field("before_v6", "VC")}, LAST, column(6, 8))
    assert {str(place) for place in answer.table("odds")["place"].values} == {"tonight_open"}
    assert row(answer, "corn_plant")["likely_at"] == -4.0
    assert row(answer, "corn_plant")["likely"] < row(answer, "corn_leaves")["likely"]


@pytest.mark.parametrize(
    ("day", "corn", "bean"),
    [(column(5, 24), None, None), (column(6, 20), "before_v6", "V1"), (column(7, 5), "v6_to_silking", "V1")],
)
def test_stages_of_today_follow_the_heat_since_sowing(day, corn, bean):
    of = tonight(night(-1.0, 1.0), {"home": Field(Grown(SITE, CORN, BEAN), SOWN)}, LAST, day)
    told = of.values["fields"][0]
    assert told["corn_stage"] == corn
    assert (told["legume_stage"] is None) == (bean is None)


def test_the_corns_kernel_stages_follow_each_other_to_dent():
    found = []
    for day in range(column(7, 1), column(9, 20), 3):
        told = tonight(night(5.0, 1.0), {"home": Field(Grown(SITE, CORN, None), SOWN)}, LAST, day).values["fields"][0]
        found.append(told["corn_stage"])
    order = ["before_v6", "v6_to_silking", "blister", "milk", "dough", "dent", "half_milk", "black_layer"]
    places = [order.index(one) for one in found]
    assert places == sorted(places)
    assert set(order[1:7]) <= set(found)


def test_a_field_that_was_not_sown_is_bare_and_a_stage_seen_moves_it():
    bare = tonight(night(-1.0, 1.0), {"home": Field(Grown(SITE, CORN, BEAN), None)}, LAST, column(6, 10))
    assert bare.headline.key == "nothing"
    seen = Observed(silking=column(7, 30))
    late, usual = (
        tonight(night(1.0, 1.0), {"home": Field(Grown(SITE, CORN, None), SOWN, None, of)}, LAST, column(8, 12))
        for of in (seen, Observed())
    )
    order = ["v6_to_silking", "blister", "milk", "dough", "dent", "half_milk", "black_layer"]
    stages = [order.index(one.values["fields"][0]["corn_stage"]) for one in (late, usual)]
    assert stages[0] <= stages[1]


def test_looks_are_told_only_where_there_is_danger_with_days_after_the_night():
    calm, cold = (tonight(night(tmin, 1.0), {"home": field()}, LAST, column(9, 8)) for tmin in (8.0, -2.0))
    assert calm.values["look"] == []
    assert calm.headline.key == "quiet"
    assert cold.headline.key == "danger_one"
    assert all(one["first"].column > column(9, 8) for one in cold.values["look"])


@pytest.mark.parametrize(
    ("tmin", "scatter", "sky", "message"),
    [
        (28, 1.0, "clear", "outside -15 to 15"),
        (-1, 9.0, "clear", "outside 0 to 6"),
        (-1, 1.0, "starry", "sky='starry'"),
    ],
)
def test_what_no_forecast_says_is_refused(tmin, scatter, sky, message):
    with pytest.raises(SettingError, match=message):
        night(tmin, scatter, sky)
