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
    frosts_in,
    hours_between,
    stages,
    triage,  # fmt: skip
)
from frostkit.errors import RecordError, SettingError
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column


def verdict(answer, part, place="open"):
    return next(v for v in answer.verdicts if v.part == part and v.place == place)


def test_a_mid_september_minus_1_may_brown_corn_and_nip_open_beans_while_sheltered_beans_live():
    # HANDBOOK section 5, trade observation: common practice, no source.
    answer = triage(Frost(-1.0, hours=3), "dent", bean_stage="vegetative")
    assert verdict(answer, "corn leaves").verdict == POSSIBLE
    assert verdict(answer, "bean top leaves").verdict == CERTAIN
    assert verdict(answer, "bean plant", "sheltered").verdict == NOT_EXPECTED


# thresholds.toml [corn_frost], [soy_frost]: 0 degC for 3-4 h (NDSU) or 4-5 h (NCH-57), -2.2 degC for minutes; bean killed
# at -2 for over 2 h (Manitoba), at -2.2 for 4 h (Missouri); growth ends at -5 (a soybean model's species file).
@pytest.mark.parametrize(("tmin", "hours", "part", "met", "asked"), [
    (0.0, 3.5, "corn leaves", 0, 3),  # one source's hours are partly reached, none for certain
    (0.0, 4.0, "corn leaves", 1, 3),  # NDSU's 3 to 4 h are over, NCH-57's 4 to 5 h not
    (0.0, 5.0, "corn leaves", 2, 3),
    (-2.2, 5.0, "corn leaves", 3, 3),
    (-2.2, 1.0, "corn stalk and whole plant", 1, 2),
    (-2.2, 4.0, "bean plant", 3, 3),
    (-2.2, 2.0, "bean plant", 1, 3),
    (-5.0, 2.0, "bean stems and pods", 2, 2),
])  # fmt: skip
def test_the_number_of_sources_that_are_met_for_certain(tmin, hours, part, met, asked):
    # a reading's own part: no cooling between the lowest temperature and the threshold is needed for certainty
    found = verdict(triage(Frost(tmin, hours=hours), "dent", bean_stage="R6"), part)
    assert (found.met, found.asked) == (met, asked)


def test_colder_or_longer_never_makes_it_milder():
    order = {NOT_EXPECTED: 0, POSSIBLE: 1, CERTAIN: 2}
    grid = [[triage(Frost(tmin, hours=hours), "milk", bean_stage="R5").verdicts for hours in (0.25, 1, 3, 8)]
            for tmin in (0.0, -0.5, -1.0, -2.0, -3.0, -5.0)]  # fmt: skip
    for row in grid:
        for shorter, longer in zip(row, row[1:]):
            assert all(order[a.verdict] <= order[b.verdict] for a, b in zip(shorter, longer))
    for warmer, colder in zip(grid, grid[1:]):
        for a, b in zip(warmer, colder):
            assert all(order[u.verdict] <= order[v.verdict] for u, v in zip(a, b))


def test_a_canopy_is_never_worse_than_the_open_and_a_low_spot_never_better():
    order = {NOT_EXPECTED: 0, POSSIBLE: 1, CERTAIN: 2}
    for tmin in (0.0, -1.0, -2.5, -4.0):
        flat = triage(Frost(tmin, hours=3), "dent", bean_stage="R6")
        low = triage(Frost(tmin, hours=3), "dent", bean_stage="R6", low_spot=True)
        for part in ("bean top leaves", "bean plant", "bean stems and pods"):
            assert order[verdict(flat, part, "sheltered").verdict] <= order[verdict(flat, part).verdict]
            assert order[verdict(flat, part).verdict] <= order[verdict(low, part, "low_spot").verdict]


def test_without_hours_what_hours_decide_stays_possible():
    answer = triage(Frost(-2.0), "dent")
    assert verdict(answer, "corn leaves").verdict == POSSIBLE
    assert "No hours were given" in answer.judgement[1]


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
    assert all(v.part.startswith("corn") for v in triage(Frost(-1, hours=1), "milk").verdicts)


@pytest.mark.parametrize("stage", sorted(stages()))
def test_every_stage_carries_checks_a_day_to_look_again_sources_and_the_cautions(stage):
    answer = triage(Frost(-2.0, hours=2), stage, bean_stage="vegetative")
    assert answer.check and answer.sources and 1 <= answer.look_again[0] < answer.look_again[1]
    assert {"nitrate", "silo_gas", "herbicide", "local"} <= {c.topic for c in answer.cautions}
    assert all(s.source for v in answer.verdicts for s in v.by)
    assert json.loads(json.dumps(answer.to_dict()))["cautions"]


@pytest.mark.parametrize(("frost", "stage", "options", "says"), [
    (Frost(8.0), "dent", {}, r"8 °C is no frost"),
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
    with pytest.raises(RecordError, match="no season 1990; it has 2001 to 2002"):
        frosts_in(found, 1990)
