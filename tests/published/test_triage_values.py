"""Frost triage against the published rows on frost, each as its source said it."""

import csv
import re
import tomllib

import pytest

from frostkit.answers.silage.triage import CERTAIN, NOT_EXPECTED, POSSIBLE, Frost, stages, triage
from tests.triaged import details, one, said, verdicts

pytestmark = pytest.mark.real


@pytest.fixture
def rows(shared):
    """Rows of checks/values_2.csv on frost, by their mark."""
    text = (shared / "checks/values_2.csv").read_text("utf-8")
    return {row["id"]: row for row in csv.DictReader(text.splitlines()) if row["id"].startswith("FRO-")}


@pytest.fixture
def thresholds(shared):
    return tomllib.loads((shared / "checks/thresholds.toml").read_text("utf-8"))


def given(rows, mark):
    return float(rows[mark]["expected"])


def certain_by(name, tmin, hours):
    """Whether a source of this name says that corn's leaves are killed for certain."""
    leaves = one(triage(Frost(tmin, hours=hours), "dent"), "corn_leaves")
    return any(name in by.source and by.verdict == CERTAIN for by in leaves.by)


def test_corn_leaves_die_by_hours_at_0_or_by_minutes_at_minus_2_2(thresholds, rows):
    # NDSU (3-4 h; 15 min); NCH-57, Carter and Hesterman 1990 (4 to 5 h; a few minutes); FRO-01: either is enough
    corn, kills = thresholds["corn_frost"], given(rows, "FRO-01")
    least, most = corn["kill_32F_hours_ncr"]["v"]
    minutes = corn["kill_28F_minutes"]["v"]
    assert certain_by("NCH-57", 0.0, most) and not certain_by("NCH-57", 0.0, least - 0.1)
    assert certain_by("NCH-57", kills, minutes / 60)
    assert certain_by("North Dakota", kills, minutes / 60) and not certain_by("North Dakota", kills, minutes / 60 - 0.1)
    assert verdicts(0.0, corn["kill_32F_hours_low"]["v"])["corn_leaves"] == POSSIBLE
    assert verdicts(0.0, most)["corn_leaves"] == verdicts(kills, minutes / 60)["corn_leaves"] == CERTAIN


def test_several_hours_at_minus_2_kill_the_plant_by_one_source(thresholds):
    # PARC SaskAdapt: -2 degC for several hours
    kills = thresholds["corn_frost"]["sk_killing"]["v"]
    assert verdicts(kills, 4)["corn_plant"] == POSSIBLE
    assert verdicts(kills + 0.2, 1)["corn_plant"] == NOT_EXPECTED


def test_the_note_of_practice_browns_corn_and_nips_open_beans_alone(thresholds):
    # common practice, no source: -1 degC in mid-September
    note = thresholds["corn_frost"]["trade_note"]["v"]
    tmin = float(re.search(r"-\d+", note)[0])
    answer = triage(Frost(tmin, hours=3), "dent", bean_stage="vegetative")
    assert answer.values["verdicts"]["corn_leaves"] == POSSIBLE
    assert one(answer, "bean_top_leaves").verdict == CERTAIN
    assert one(answer, "bean_plant", "sheltered").verdict == NOT_EXPECTED


def test_leaves_may_be_hurt_on_clear_calm_nights_up_to_a_published_warmth(thresholds):
    # Wisconsin and NCH-57: 32 to 40 degF, damage variable
    upper = thresholds["corn_frost"]["leaf_radiative_upper"]["v"]
    answer = triage(Frost(upper, hours=2), "dent")
    assert f"as warm as {upper:g} °C" in said(answer)


def test_grain_lost_lies_where_two_tables_put_it(thresholds):
    # Wisconsin W029 after Afuakwa and Crookston 1984; NCH-57 table 1
    corn = thresholds["corn_frost"]
    for key, leaves, ours in (
        ("R4", "soft_dough", "dough"),
        ("R5", "full_dent", "dent"),
        ("R5_5", "late_dent", "half_milk"),
    ):
        losses = triage(Frost(-8.0), ours).values["losses_percent"]
        low, high = losses["corn_leaves"]
        assert [low, high] == corn["yieldloss_defoliation_ncr"][leaves]
        assert low <= corn["yieldloss_leaves_only"][key] <= high
        assert losses["corn_plant"] == (corn["yieldloss_leaves_and_stalk"][key],) * 2
    ripe = triage(Frost(-8.0), "black_layer").values["losses_percent"]
    assert set(ripe.values()) == {(corn["yieldloss_leaves_and_stalk"]["R6"],) * 2}


def test_the_growing_point_is_below_ground_until_the_sixth_leaf(thresholds, rows):
    # Univ. of Wisconsin L041: 3/4 in down before V5-V6
    depth = thresholds["corn_frost"]["growing_point_depth"]["v"]
    assert depth == pytest.approx(25.4 * given(rows, "FRO-02"), abs=0.1)
    answer = triage(Frost(-2.2, hours=3), "before_v6")
    assert answer.values["verdicts"]["corn_plant"] == NOT_EXPECTED
    assert answer.values["growing_point"] == "below"
    assert f"about {depth / 10:.0f} cm down" in said(answer)
    assert any(f"({depth} mm)" in source for source in answer.values["sources"])


def test_the_wait_before_judging_is_the_published_one(rows):
    # Lauer 1994 W004: 4 warm days before V6; Lauer: 5 to 7 days for a late frost; Michigan State: 5 to 7 for beans
    early = triage(Frost(-2.0), "before_v6", bean_stage="VC")
    corn, bean = (look["days"] for look in early.values["look_again"])
    assert corn[0] <= given(rows, "FRO-03") <= corn[1]
    assert bean[0] == given(rows, "FRO-10") and f"high end {bean[1]}" in rows["FRO-10"]["note"]
    for stage in set(stages()) - {"before_v6", "v6_to_silking", "black_layer"}:
        (late,) = (look["days"] for look in triage(Frost(-2.0), stage).values["look_again"])
        assert late[0] == given(rows, "FRO-04") and f"high end {late[1]}" in rows["FRO-04"]["note"]


def test_bean_seedlings_stand_what_chamber_tests_say_they_do(rows):
    # Purdue chamber tests: survived -2.2 for 2-4 h; NDSU 2001: half died at -4.4; Michigan State 2020: harmed below -1.1
    for hours in (2, 4):
        assert verdicts(given(rows, "FRO-07"), hours, "before_v6", "VC")["bean"] == NOT_EXPECTED
    assert verdicts(given(rows, "FRO-05"), 0.25, "before_v6", "VC")["bean"] == POSSIBLE
    assert verdicts(given(rows, "FRO-05"), 4, "before_v6", "VC")["bean"] == CERTAIN

    def harmed(tmin):
        found = details(triage(Frost(tmin, hours=4), "before_v6", bean_stage="VC"))
        return next(row.verdict for row in found if row.effect == "harmed")

    assert harmed(given(rows, "FRO-08")) == CERTAIN
    assert harmed(given(rows, "FRO-08") + 0.2) == NOT_EXPECTED


def test_bean_tissue_dies_between_minus_1_1_and_minus_2_2_in_several_hours(rows):
    # Univ. of Minnesota 2015 (28-30 F); NC State (28 F for over 4 h)
    low, high = given(rows, "FRO-06"), -1.1
    assert f"high end {high}" in rows["FRO-06"]["note"]
    assert verdicts(low, 4.5, bean="vegetative")["bean"] == CERTAIN
    assert verdicts(high, 4, bean="vegetative")["bean"] == POSSIBLE
    assert verdicts(high + 0.2, 1, bean="vegetative")["bean"] == NOT_EXPECTED


def test_a_stand_that_need_not_be_replanted_is_said(rows):
    # Purdue Pest and Crop: 70,000 living or recovering plants an acre
    told = said(triage(Frost(-3.0), "before_v6", bean_stage="V1"))
    assert f"{given(rows, 'FRO-09'):,.0f} living or recovering plants an acre" in told
    assert "173,000" in rows["FRO-09"]["note"] and "173,000 a hectare" in told


def test_soybean_thresholds_are_each_a_source_of_the_verdict(thresholds):
    # Manitoba Agriculture, Manitoba pulse growers 2019, Univ. of Missouri, soybean species file FREEZ2
    soy = thresholds["soy_frost"]
    open_ = [row for row in details(triage(Frost(-2.0), "dent", bean_stage="R6")) if row.place == "open"]
    by = {row.part: {source.source: first_of(source.conditions) for source in row.by} for row in open_}
    killing = by["bean_plant"]
    assert {soy["killing_mb"]["v"], soy["killing_mpsg"]["v"]} <= {degrees for degrees, _ in killing.values()}
    missouri = next(found for source, found in killing.items() if "Missouri" in source)
    assert missouri[1] == (soy["killing_illinois_type"]["v"],) * 2
    manitoba = next(found for source, found in killing.items() if "Manitoba Agriculture" in source)
    assert manitoba[1][0] == soy["duration_split"]["v"]
    pods = {degrees for degrees, _ in by["bean_stems_and_pods"].values()}
    assert pods == {soy["stems_kill"]["v"], soy["model_freeze2"]["v"]}
    leaves = [source.conditions for row in open_ if row.part == "bean_top_leaves" for source in row.by]
    assert {float(text.split(" to ")[0]) for one_ in leaves for text in one_.split("; ")} == set(soy["top_leaves"]["v"])


def first_of(conditions):
    """The first condition of a source, as it is written: where harm may begin, and the hours."""
    degrees, hours = conditions.split("; ")[0].split(", ")
    return float(degrees.split(" to ")[0]), tuple(float(part) for part in hours.removesuffix(" h").split(" to "))


def test_seed_lost_to_a_killing_frost_spans_two_publications(thresholds):
    # Saliba et al. 1982 via K-State MF-2234; Manitoba Agriculture
    soy = thresholds["soy_frost"]
    for stage in ("R5", "R6", "R7", "R8"):
        low, high = triage(Frost(-8.0), "dent", bean_stage=stage).values["losses_percent"]["bean"]
        manitoba = soy["loss_mb"][stage]
        assert low <= soy["loss_killing"][stage] <= high
        assert low == min(manitoba if isinstance(manitoba, list) else [manitoba])
