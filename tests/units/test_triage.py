"""Frost triage: ranges where sources disagree, and every word of caution."""

import json

import numpy as np
import pytest

from frostkit.answers.station import behind
from frostkit.answers.triage import (
    CERTAIN,
    NOT_EXPECTED,
    POSSIBLE,
    Frost,
    below_ground,
    canopy_keeps,
    frosts_in,
    hours_between,
    stages,
    triage,
)
from frostkit.crops.entry import load
from frostkit.errors import RecordError, SettingError
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column

ORDER = {NOT_EXPECTED: 0, POSSIBLE: 1, CERTAIN: 2}
CORN = ("silage-2000", "silage-2150", "silage-2300", "silage-2450", "silage-2600")


def verdict(answer, part, place="open"):
    return next(v for v in answer.details if v.part == part and v.place == place)


def test_a_mid_september_minus_1_may_brown_corn_and_nip_open_beans_while_sheltered_beans_live():
    # HANDBOOK section 5, trade observation: common practice, no source.
    answer = triage(Frost(-1.0, hours=3), "dent", bean_stage="vegetative")
    assert answer.verdicts == {"corn_leaves": POSSIBLE, "corn_plant": NOT_EXPECTED, "bean": NOT_EXPECTED}
    assert verdict(answer, "bean top leaves").verdict == CERTAIN
    assert verdict(answer, "bean", "sheltered").verdict == NOT_EXPECTED


# thresholds.toml [corn_frost], [soy_frost], values_2.csv FRO-01, -06: 0 degC for 3-4 h (NDSU) or 4-5 h (NCH-57), or -2.2
# degC for minutes; bean killed at -2 for over 2 h (Manitoba), at -2.2 for 4 h (Missouri), at -1.1 to -2.2 for several
# hours (Minnesota); growth ends at -5 (a soybean model's species file).
@pytest.mark.parametrize(
    ("tmin", "hours", "part", "met", "asked"),
    [
        (0.0, 3.5, "corn leaves", 0, 2),  # one source's hours are partly reached, none for certain
        (0.0, 4.0, "corn leaves", 1, 2),  # NDSU's 3 to 4 h are over, NCH-57's 4 to 5 h not
        (0.0, 5.0, "corn leaves", 2, 2),
        (-2.2, 0.25, "corn leaves", 2, 2),  # the other condition of the same two sources
        (-2.2, 1.0, "whole corn plant", 2, 3),
        (-2.2, 4.0, "bean", 4, 4),
        (-2.2, 2.0, "bean", 1, 4),
        (-5.0, 2.0, "bean stems and pods", 2, 2),
    ],
)
def test_the_number_of_sources_that_are_met_for_certain(tmin, hours, part, met, asked):
    # a reading's own part: no cooling between the lowest temperature and the threshold is needed for certainty
    found = verdict(triage(Frost(tmin, hours=hours), "dent", bean_stage="R6"), part)
    assert (found.met, found.asked) == (met, asked)


def test_a_note_of_practice_makes_it_possible_and_never_stands_in_the_way_of_certain():
    # common practice, no source: -1 degC browned corn; at 0 degC for 5 h every published source is met, the note is not
    assert triage(Frost(-1.0, hours=0.1), "dent").verdicts["corn_leaves"] == POSSIBLE
    assert triage(Frost(0.0, hours=5), "dent").verdicts["corn_leaves"] == CERTAIN


def test_damage_is_variable_at_or_below_0_and_only_said_above_it():
    # University of Wisconsin and NCH-57: damage variable from 32 to 40 degF
    assert triage(Frost(0.0, hours=0.1), "dent").verdicts["corn_leaves"] == POSSIBLE
    above = triage(Frost(2.0, hours=3), "dent")
    assert above.verdicts["corn_leaves"] == NOT_EXPECTED
    assert any("as warm as 4.4 °C" in line for line in above.says())


@pytest.mark.parametrize("bean", ["crook", "VC", "V1", "R5"])
def test_colder_or_longer_never_makes_it_milder(bean):
    grid = [
        [triage(Frost(tmin, hours=hours), "milk", bean_stage=bean).details for hours in (None, 0.25, 1, 3, 8, 16)]
        for tmin in (2.0, 0.0, -0.5, -1.0, -2.0, -3.0, -5.0, -8.0)
    ]
    for row in grid:
        for shorter, longer in zip(row[1:], row[2:]):  # without hours anything to a whole night is possible
            assert all(ORDER[a.verdict] <= ORDER[b.verdict] for a, b in zip(shorter, longer))
    for warmer, colder in zip(grid, grid[1:]):
        for a, b in zip(warmer, colder):
            assert all(ORDER[u.verdict] <= ORDER[v.verdict] for u, v in zip(a, b))


def test_a_canopy_is_never_worse_than_the_open_and_a_low_spot_never_better():
    for tmin in (0.0, -1.0, -2.5, -4.0):
        flat = triage(Frost(tmin, hours=3), "dent", bean_stage="R6")
        low = triage(Frost(tmin, hours=3), "dent", bean_stage="R6", low_spot=True)
        for part in ("bean top leaves", "bean", "bean stems and pods"):
            assert ORDER[verdict(flat, part, "sheltered").verdict] <= ORDER[verdict(flat, part).verdict]
            assert ORDER[verdict(flat, part).verdict] <= ORDER[verdict(low, part, "low_spot").verdict]


def test_without_hours_the_least_follow_from_how_far_it_fell_and_are_never_none():
    # 1 degC an hour down, 3 up: 3.8 degC under -2.2 take 5.07 h at least, and 3 minutes where it only just came down to it
    assert hours_between(Frost(-6.0), -2.2)[0] == pytest.approx(0.05 + 3.8 * (1 / 1.0 + 1 / 3.0))
    assert hours_between(Frost(-2.2), -2.2)[0] == 0.05
    assert hours_between(Frost(-2.1), -2.2) == (0, 0)


def test_a_night_of_the_record_is_never_milder_than_the_same_temperature_typed_in():
    for tmin in (-2.2, -3.0, -6.0, -8.0):
        typed, read = hours_between(Frost(tmin), -2.2), hours_between(Frost(tmin, None, 25.0, 25.0, 14.0), -2.2)
        assert typed[0] <= read[0] <= read[1] <= typed[1]


@pytest.mark.parametrize("tmin", [-2.0, -2.2])
def test_without_hours_what_hours_decide_stays_possible(tmin):
    answer = triage(Frost(tmin), "dent")
    assert answer.verdicts == {"corn_leaves": POSSIBLE, "corn_plant": POSSIBLE, "bean": None}
    assert any("No hours were given" in line for line in answer.judgement)


@pytest.mark.parametrize(
    ("frost", "stage", "expected"),
    [
        (Frost(-3.0, hours=0.5), "dent", {"corn_leaves": CERTAIN}),
        (Frost(-6.0), "dent", {"corn_leaves": CERTAIN, "corn_plant": CERTAIN, "bean": CERTAIN}),
        (Frost(-8.0), "dent", {"corn_leaves": CERTAIN, "corn_plant": CERTAIN, "bean": CERTAIN}),
        (Frost(-1.0, hours=1), "dent", {"corn_leaves": POSSIBLE, "corn_plant": NOT_EXPECTED}),
        (Frost(-0.5, hours=1), "dent", {"corn_plant": NOT_EXPECTED}),
        (Frost(-2.0, hours=3), "before_v6", {"corn_leaves": CERTAIN, "corn_plant": NOT_EXPECTED}),
        (Frost(-2.0, hours=3), "V5", {"corn_leaves": CERTAIN, "corn_plant": NOT_EXPECTED}),
        (Frost(-4.0, hours=1), "before_v6", {"corn_plant": POSSIBLE}),
    ],
)
def test_verdicts_that_follow_from_what_the_sources_name(frost, stage, expected):
    found = triage(frost, stage, bean_stage="vegetative").verdicts
    assert {key: found[key] for key in expected} == expected


def test_before_the_sixth_leaf_the_plant_follows_the_crop_entry_and_its_stand_is_counted():
    assert below_ground()[0] == (-4.0, -6.0)
    for name in CORN:
        kills = load(name).stage["emergence"].kills
        assert (kills.value, kills.low) == below_ground()[0]
    answer = triage(Frost(-2.0, hours=3), "before_v6", bean_stage="VC")
    said = " ".join(answer.says())
    assert "growing point stands below ground" in said
    assert "after 3 to 5 warm days" in said and "before any thought of replanting" in said
    assert "Count the stand" in said
    assert "canopy" not in said  # none to shelter anything yet


def test_shelter_is_the_crop_entrys_and_holds_neither_in_gaps_nor_at_the_top():
    entry = load("forage-late").shelter
    assert canopy_keeps()[0] == (entry.low, entry.high)
    answer = triage(Frost(-2.0, hours=3), "dent", bean_stage="vegetative")
    assert verdict(answer, "bean", "sheltered").temperature == (-2.0 + entry.low, -2.0 + entry.high)
    said = " ".join(answer.says())
    assert "keeps 0.5 to 3 °C off the bean" in said
    assert "gaps and headlands" in said and "top of the canopy" in said


def test_a_bean_is_hardier_than_corn_leaves_as_a_seedling_and_tender_in_the_crook_and_from_v1_on():
    def bean(stage, tmin, hours):
        answer = triage(Frost(tmin, hours=hours), "before_v6", bean_stage=stage)
        return ORDER[answer.verdicts["bean"]], ORDER[answer.verdicts["corn_leaves"]]

    for tmin, hours in ((-1.0, 3), (-2.2, 1), (-2.2, 4), (-3.0, 0.5)):
        hardy, corn = bean("VC", tmin, hours)
        assert hardy == 0 < corn
    for stage in ("crook", "V1", "vegetative"):
        assert bean(stage, -2.2, 4)[0] == 2
    assert bean("VC", -4.4, 0.25)[0] == 1  # half of them died (NDSU 2001)


@pytest.mark.parametrize("corn", ["before_v6", "v6_to_silking"])
@pytest.mark.parametrize("bean", ["crook", "VC", "VE", "V1", "v2", "vegetative"])
def test_in_june_a_bean_is_looked_at_after_5_to_7_days_and_its_leaves_are_not_to_chop(corn, bean):
    answer = triage(Frost(-3.0, hours=2), corn, bean_stage=bean)
    said = " ".join(answer.says())
    assert "the bean after 5 to 7 warm days" in said
    assert "70,000" in said and "173,000 a hectare" in said and "frozen below the cotyledons" in said
    assert "chop" not in said.lower()
    assert "chop while they hang on" in " ".join(triage(Frost(-3.0), "dent", bean_stage="vegetative").says())


def test_losses_are_said_of_what_is_killed_for_certain_and_of_nothing_else():
    # thresholds.toml: full dent, leaves alone 22 to 31 %, leaves and stalk 40 %; soybean at R5 50 to 70 %
    assert triage(Frost(-1.0, hours=1), "dent", bean_stage="R5").losses == {}
    assert triage(Frost(0.0, hours=5), "dent", bean_stage="R5").losses == {"corn_leaves": (22, 31)}
    hard = triage(Frost(-6.0), "dent", bean_stage="R5")
    assert hard.losses == {"corn_leaves": (22, 31), "corn_plant": (40, 40), "bean": (50, 70)}
    assert not any(" lost" in line for line in triage(Frost(-1.0, hours=1), "dent", bean_stage="R5").says())
    assert [line for line in hard.says() if " lost" in line] == [
        "Grain lost with the whole plant killed now: 40 %.",
        "Bean seed lost: 50 to 70 %.",
    ]


def test_hours_from_the_days_around_are_the_range_of_two_curves():
    # values.csv SUB-12 and SUB-13: 14/-2 degC in mid-September, 4.85 and 3.33 h at or below 0; 0.05 degC below the
    # threshold counts, as everywhere: 0.05 h more
    low, high = hours_between(Frost(-2.0, None, 14.0, 14.0, 12.7), 0.0, (0.0, 0.0))
    assert low == pytest.approx(3.33, abs=0.15)
    assert high == pytest.approx(4.85, abs=0.15)


def test_frosted_corn_dries_at_half_a_point_a_day_and_no_faster():
    # thresholds.toml: frosted_drydown 0.5, drydown 0.4 to 1.0 points a day
    answer = triage(Frost(-3.0, hours=4), "dent", moisture=75, upper_limit=70)
    assert answer.days_to_fit == pytest.approx((5.0, 12.5))
    assert any("dries no faster" in line and "looks drier" in line for line in answer.says())


def test_a_bean_in_the_corn_is_not_asked_about_before_it_is_there():
    assert all("corn" in v.part for v in triage(Frost(-1, hours=1), "milk").details)


@pytest.mark.parametrize("stage", sorted(stages()))
def test_every_stage_carries_checks_a_day_to_look_again_sources_and_the_cautions(stage):
    answer = triage(Frost(-2.0, hours=2), stage, bean_stage="vegetative")
    assert answer.check and answer.sources
    assert all(look.source and 1 <= look.days[0] < look.days[1] for look in answer.look_again)
    assert {"nitrate", "silo_gas", "herbicide", "local"} <= {c.topic for c in answer.cautions}
    assert all(s.source for v in answer.details for s in v.by)
    assert json.loads(json.dumps(answer.to_dict()))["cautions"]


@pytest.mark.parametrize(("frost", "stage", "options", "says"), [
    (Frost(8.0), "dent", {}, r"8 °C is no frost"),
    (Frost(float("nan")), "dent", {}, r"nan °C is no frost"),
    (Frost(-2.0, hours=float("nan")), "dent", {}, r"nan hours is not part of a night"),
    (Frost(-28.0), "dent", {}, r"-28 °C is no frost"),
    (Frost(-2.0, hours=40), "dent", {}, r"40 hours is not part of a night"),
    (Frost(-2.0, hours=0), "dent", {}, r"0 hours"),
    (Frost(-2.0), "dents", {}, r"stage='dents' is not known. Did you mean 'dent'\?"),
    (Frost(-2.0), "dent", {"bean_stage": "R9"}, r"bean_stage='R9' is not known"),
    (Frost(-2.0), "dent", {"moisture": 100}, r"moisture of 100 % is outside 40 to 90"),
    (Frost(-2.0), "dent", {"moisture": 0}, r"moisture of 0 % is outside 40 to 90"),
])  # fmt: skip
def test_what_can_not_be_gets_two_lines(frost, stage, options, says):
    with pytest.raises(SettingError, match=says) as found:
        triage(frost, stage, **options)
    assert found.value.what and found.value.do


def test_frosts_are_found_in_the_record_with_the_days_around_them():
    days = np.arange(np.datetime64("2001-01-01"), np.datetime64("2003-01-01"))
    tmin, tmax = np.full(days.size, 8.0), np.full(days.size, 20.0)
    tmin[days == np.datetime64("2002-09-11")] = -1.5
    tmax[days == np.datetime64("2002-09-10")] = 12.0
    tmin[days == np.datetime64("2002-05-01")] = -4.0  # spring: not asked
    found = behind(Record(Station(), days[0], tmin.astype(np.float32), tmax.astype(np.float32)))
    (frost,) = frosts_in(found)
    assert (frost.tmin, frost.before, frost.after) == (-1.5, 12.0, 20.0)
    assert (frost.day, frost.season) == (column(9, 11), 2002)
    assert frosts_in(found, 2001) == ()
    look = triage(frost, "dent").look_again[0]
    assert look.says(frost).endswith("after 5 to 7 days (16 September to 18 September).")
    with pytest.raises(RecordError, match="no season 1990; it has 2001 to 2002"):
        frosts_in(found, 1990)
