"""Frost triage: ranges where sources disagree, and every word of caution."""

import json

import numpy as np
import pytest

from frostkit.answers.silage.triage import (
    CERTAIN,
    NOT_EXPECTED,
    POSSIBLE,
    Frost,
    below_ground,
    canopy_keeps,
    frost_of,
    frosts_in,
    hours_between,
    stages,
    triage,
)
from frostkit.crops.entry import load
from frostkit.ensemble.site import Site
from frostkit.errors import RecordError, SettingError
from frostkit.records.field import low_spot
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column
from frostkit.show.render.machine import as_dict
from frostkit.show.render.words import words
from tests.triaged import details, lines, one, said, verdicts

ORDER = {NOT_EXPECTED: 0, POSSIBLE: 1, CERTAIN: 2}
CORN = ("silage-2000", "silage-2150", "silage-2300", "silage-2450", "silage-2600")


def test_a_mid_september_minus_1_may_brown_corn_and_nip_open_beans_while_sheltered_beans_live():
    # HANDBOOK section 5, trade observation: common practice, no source.
    answer = triage(Frost(-1.0, hours=3), "dent", bean_stage="vegetative")
    assert answer.values["verdicts"] == {"corn_leaves": POSSIBLE, "corn_plant": NOT_EXPECTED, "bean": NOT_EXPECTED}
    assert one(answer, "bean_top_leaves").verdict == CERTAIN
    assert one(answer, "bean_plant", "sheltered").verdict == NOT_EXPECTED


# thresholds.toml [corn_frost], [soy_frost], values_2.csv FRO-01, -06: 0 degC for 3-4 h (NDSU) or 4-5 h (NCH-57), or -2.2
# degC for minutes; bean killed at -2 for over 2 h (Manitoba), at -2.2 for 4 h (Missouri), at -1.1 to -2.2 for several
# hours (Minnesota); growth ends at -5 (a soybean model's species file).
@pytest.mark.parametrize(
    ("tmin", "hours", "part", "met", "asked"),
    [
        (0.0, 3.5, "corn_leaves", 0, 2),  # one source's hours are partly reached, none for certain
        (0.0, 4.0, "corn_leaves", 1, 2),  # NDSU's 3 to 4 h are over, NCH-57's 4 to 5 h not
        (0.0, 5.0, "corn_leaves", 2, 2),
        (-2.2, 0.25, "corn_leaves", 2, 2),  # the other condition of the same two sources
        (-2.2, 1.0, "corn_plant", 2, 3),
        (-2.2, 4.0, "bean_plant", 4, 4),
        (-2.2, 2.0, "bean_plant", 1, 4),
        (-5.0, 2.0, "bean_stems_and_pods", 2, 2),
    ],
)
def test_the_number_of_sources_that_are_met_for_certain(tmin, hours, part, met, asked):
    # a reading's own part: no cooling between the lowest temperature and the threshold is needed for certainty
    found = one(triage(Frost(tmin, hours=hours), "dent", bean_stage="R6"), part)
    assert (found.met, found.asked) == (met, asked)


def test_a_note_of_practice_makes_it_possible_and_never_stands_in_the_way_of_certain():
    # common practice, no source: -1 degC browned corn; at 0 degC for 5 h every published source is met, the note is not
    assert verdicts(-1.0, 0.1)["corn_leaves"] == POSSIBLE
    assert verdicts(0.0, 5)["corn_leaves"] == CERTAIN


def test_damage_is_variable_at_or_below_0_and_only_said_above_it():
    # University of Wisconsin and NCH-57: damage variable from 32 to 40 degF
    assert verdicts(0.0, 0.1)["corn_leaves"] == POSSIBLE
    above = triage(Frost(2.0, hours=3), "dent")
    assert above.values["verdicts"]["corn_leaves"] == NOT_EXPECTED
    assert "as warm as 4.4 °C" in said(above)


@pytest.mark.parametrize("bean", ["crook", "VC", "V1", "R5"])
def test_colder_or_longer_never_makes_it_milder(bean):
    grid = [
        [details(triage(Frost(tmin, hours=hours), "milk", bean_stage=bean)) for hours in (None, 0.25, 1, 3, 8, 16)]
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
        for part in ("bean_top_leaves", "bean_plant", "bean_stems_and_pods"):
            assert ORDER[one(flat, part, "sheltered").verdict] <= ORDER[one(flat, part).verdict]
            assert ORDER[one(flat, part).verdict] <= ORDER[one(low, part, "low_spot").verdict]


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
    assert answer.values["verdicts"] == {"corn_leaves": POSSIBLE, "corn_plant": POSSIBLE, "bean": None}
    assert "No hours were given" in said(answer)


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
    found = triage(frost, stage, bean_stage="vegetative").values["verdicts"]
    assert {key: found[key] for key in expected} == expected


def test_before_the_sixth_leaf_the_plant_follows_the_crop_entry_and_its_stand_is_counted():
    assert below_ground()[0] == (-4.0, -6.0)
    for name in CORN:
        kills = load(name).stage["emergence"].kills
        assert (kills.value, kills.low) == below_ground()[0]
    told = said(triage(Frost(-2.0, hours=3), "before_v6", bean_stage="VC"))
    assert "growing point stands below ground" in told
    assert "after 3 to 5 warm days" in told and "before any thought of replanting" in told
    assert "Count the stand" in told
    assert "canopy" not in told  # none to shelter anything yet


def test_shelter_is_the_crop_entrys_and_holds_neither_in_gaps_nor_at_the_top():
    entry = load("forage-late").shelter
    assert canopy_keeps()[0] == (entry.low, entry.high)
    answer = triage(Frost(-2.0, hours=3), "dent", bean_stage="vegetative")
    kept = one(answer, "bean_plant", "sheltered")
    assert (kept.least, kept.most) == (-2.0 + entry.low, -2.0 + entry.high)
    told = said(answer)
    assert "keeps 0.5 to 3.0 °C off the bean" in told
    assert "gaps and headlands" in told and "top of the canopy" in told


def test_a_bean_is_hardier_than_corn_leaves_as_a_seedling_and_tender_in_the_crook_and_from_v1_on():
    def bean(stage, tmin, hours):
        found = verdicts(tmin, hours, "before_v6", stage)
        return ORDER[found["bean"]], ORDER[found["corn_leaves"]]

    for tmin, hours in ((-1.0, 3), (-2.2, 1), (-2.2, 4), (-3.0, 0.5)):
        hardy, corn = bean("VC", tmin, hours)
        assert hardy == 0 < corn
    for stage in ("crook", "V1", "vegetative"):
        assert bean(stage, -2.2, 4)[0] == 2
    assert bean("VC", -4.4, 0.25)[0] == 1  # half of them died (NDSU 2001)


@pytest.mark.parametrize("corn", ["before_v6", "v6_to_silking"])
@pytest.mark.parametrize("bean", ["crook", "VC", "VE", "V1", "v2", "vegetative"])
def test_in_june_a_bean_is_looked_at_after_5_to_7_days_and_its_leaves_are_not_to_chop(corn, bean):
    told = said(triage(Frost(-3.0, hours=2), corn, bean_stage=bean))
    assert "the bean after 5 to 7 warm days" in told
    assert "70,000" in told and "173,000 a hectare" in told and "frozen below the cotyledons" in told
    assert "chop" not in told.lower()
    assert "chop while they hang on" in said(triage(Frost(-3.0), "dent", bean_stage="vegetative"))


def test_losses_are_said_of_what_is_killed_for_certain_and_of_nothing_else():
    # thresholds.toml: full dent, leaves alone 22 to 31 %, leaves and stalk 40 %; soybean at R5 50 to 70 %
    def losses(tmin, hours):
        return triage(Frost(tmin, hours=hours), "dent", bean_stage="R5").values["losses_percent"]

    assert losses(-1.0, 1) == {}
    assert losses(0.0, 5) == {"corn_leaves": (22, 31)}
    assert losses(-6.0, None) == {"corn_leaves": (22, 31), "corn_plant": (40, 40), "bean": (50, 70)}
    assert " lost" not in said(triage(Frost(-1.0, hours=1), "dent", bean_stage="R5"))
    assert [line for line in lines(triage(Frost(-6.0), "dent", bean_stage="R5")) if " lost" in line] == [
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
    assert answer.values["days_to_fit"] == pytest.approx([5.0, 12.5])
    told = said(answer)
    assert "dries no faster" in told and "looks drier" in told and "in 5 to 12 days" in told


def test_a_bean_in_the_corn_is_not_asked_about_before_it_is_there():
    assert all("corn" in row.part for row in details(triage(Frost(-1, hours=1), "milk")))


@pytest.mark.parametrize("stage", stages())
def test_every_stage_carries_checks_a_day_to_look_again_sources_and_the_cautions(stage):
    answer = triage(Frost(-2.0, hours=2), stage, bean_stage="vegetative")
    assert answer.values["check"] and answer.values["sources"]
    assert all(look["source"] and 1 <= look["days"][0] < look["days"][1] for look in answer.values["look_again"])
    assert {"nitrate", "silo_gas", "herbicide", "local"} <= {caution.topic for caution in answer.cautions}
    assert all(source.source for row in details(answer) for source in row.by)
    assert json.loads(json.dumps(as_dict(answer)))["cautions"]


@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("bean", ["crook", "VC", "V1", "vegetative", "R5", "R6", "R7", "R8"])
def test_every_sentence_and_cell_can_be_said_in_every_language(language, bean):
    say = words(language)
    for stage in stages():
        for frost in (Frost(1.0), Frost(-2.0, 3.0, 12.0, 15.0, 12.4, column(9, 12), 2014), Frost(-6.0)):
            answer = triage(frost, stage, bean_stage=bean, low_spot=frost.hours is None, upper_limit=70)
            told = lines(answer, language)
            told += [say.say("triage", says) for says in answer.values["judgement"]]
            for column_ in answer.table("details").columns:
                told += [say.cell(column_.kind, column_.at(row)) for row in range(len(answer.table("details")))]
            assert all(told) or None in [row.key for row in details(answer)]
            assert not any("{" in text for text in told)


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


def two_years():
    """Two made-up years with one fall frost on 11 September 2002, and one in spring that is not asked for."""
    days = np.arange(np.datetime64("2001-01-01"), np.datetime64("2003-01-01"))
    tmin, tmax = np.full(days.size, 8.0), np.full(days.size, 20.0)
    tmin[days == np.datetime64("2002-09-11")] = -1.5
    tmax[days == np.datetime64("2002-09-10")] = 12.0
    tmin[days == np.datetime64("2002-05-01")] = -4.0
    return Site(Record(Station(), days[0], tmin.astype(np.float32), tmax.astype(np.float32)))


def test_frosts_are_found_in_the_record_with_the_days_around_them():
    (frost,) = frosts_in(two_years())
    assert (frost.tmin, frost.before, frost.after) == (-1.5, 12.0, 20.0)
    assert (frost.day, frost.season) == (column(9, 11), 2002)
    assert frosts_in(two_years(), 2001) == ()
    assert (
        words("en")
        .say("triage", triage(frost, "dent").next)
        .endswith("after 5 to 7 days (16 September to 18 September).")
    )
    with pytest.raises(RecordError, match="no season 1990; it has 2001 to 2002"):
        frosts_in(two_years(), 1990)
    with pytest.raises(RecordError, match="no frost on 12 September 2002; its frosts: 11 September"):
        frost_of(two_years(), None, column(9, 12))


def test_in_a_low_spot_the_nights_are_the_fields():
    from dataclasses import replace

    low = replace(two_years(), offset=low_spot(2.5, clear_nights_only=False))
    (frost,) = frosts_in(low)
    assert frost.tmin == -4.0 and frost.after == 20.0
