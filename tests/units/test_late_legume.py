"""The late legume on small made-up records: kilogrammes, counts and days equal plain loops; ways, goals, what is seen."""

from functools import lru_cache

import numpy as np
import pytest

from frostkit.answers.corn import need_at
from frostkit.answers.legume import growth, ways
from frostkit.answers.legume.goals import Goal, corn_kept, goal as goal_of
from frostkit.answers.legume.late import late_legume
from frostkit.answers.seeding.grids import FIRST, asking, grids
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import CropError, SettingError
from frostkit.seasons.calendar import column
from frostkit.show.render.machine import as_dict
from tests import made_up, plain_legume, plain_loops, plain_window

CORN, LEGUME = load("silage-2150"), load("forage-late")
SEASONS, SEEDING = 7, column(5, 20)
FIXED = column(6, 25)


@lru_cache
def weather():
    return plain_loops.weather(5, SEASONS, warmer=1.5)


def site(**how):
    tmin, tmax = weather()
    return Site(made_up.record(tmin, tmax, **{key: how.pop(key) for key in ("prcp", "latitude") if key in how}),
                climate=AS_READ, **how)  # fmt: skip


@lru_cache
def answer(*chosen, **how):
    return late_legume(site(), CORN, LEGUME, SEEDING, ways=chosen or ways.WAYS, **how)


@lru_cache
def by_loops():
    """[(season, light, chop of corn sown on the seeding day and on 5 June)], all chopped alive before any frost."""
    tmin, tmax = weather()
    fit = need_of_fit()
    out = []
    for y in range(SEASONS):
        of = plain_window.season(tmin[y], tmax[y])
        chops = {}
        for sown in (SEEDING, column(6, 5)):
            made, dead = plain_window.corn(of, sown, fit)
            chop = plain_window.comes(of["chu"], sown, fit)
            assert made and (dead is None or dead > chop)
            frost = plain_window.killed(of, plain_window.comes(of["leaves"], SEEDING, 80.55), None, -2.2, -2.2)
            assert frost is None or frost > chop  # the corn's shelter has no say
            chops[sown] = chop
        out.append((of, plain_legume.light(of, tmax[y] / 10), chops))
    return out


def need_of_fit():
    """Corn heat units at 70 %: between dent at 73 % and 65 % at the goal, as in the entry."""
    dent, fit = CORN.stage["dent"].need.value, CORN.stage["fit_to_chop"].need.value
    return dent + 3 / 8 * (fit - dent)


def cells(rows, name):
    return next(row for row in rows if row["way"] == name)


def test_the_need_of_fit_is_the_one_of_the_drying_curve():
    assert need_at(CORN, 70.0) / 50_000 == pytest.approx(need_of_fit(), abs=1)


def test_kilogrammes_of_each_way_equal_plain_loops():
    told = as_dict(answer("with corn", "v5", "06-25"))["ways"]
    together, fifth, fixed = [], [], []
    for of, par, chops in by_loops():
        chop = chops[SEEDING]
        together.append(plain_legume.grown(of, par, SEEDING, SEEDING, chop))
        fixed.append(plain_legume.grown(of, par, SEEDING, FIXED, chop))
        for end, part in zip((300 / 410, 355 / 410, 1.0), plain_legume.PARTS, strict=True):
            sown = plain_legume.collar_day(of, SEEDING, 5, end)
            fifth += [plain_legume.grown(of, par, SEEDING, sown, chop)] * part
    for name, alone in (("with corn", together), ("V5", fifth), ("06-25", fixed)):
        said = cells(told, name)["growth_kg_ha"]
        truth = plain_legume.with_model(alone)
        assert [said[end] for end in ("low", "middle", "high")] == pytest.approx(truth, rel=0.01, abs=0.3), name


def test_counts_of_seasons_that_make_the_goal_equal_plain_loops():
    later = column(6, 5)
    alone = {"into": [], "with": []}
    for of, par, chops in by_loops():
        alone["into"].append(plain_legume.grown(of, par, SEEDING, later, chops[SEEDING]))
        alone["with"].append(plain_legume.grown(of, par, later, later, chops[later]))
    for goal in (350, 600):
        told = as_dict(answer("with corn", "06-05", goal=f"{goal} kg/ha"))
        for name, key in (("with corn", "with"), ("06-05", "into")):
            row = next(day for day in cells(told["ways"], name)["days"] if day["sowing"] == "06-05")
            truth = sum(value * plain_legume.MIDDLE >= goal for value in alone[key])
            assert row["made_it"]["count"] == row["made_it"]["yes"] == truth
            assert row["made_it"]["seasons"] == SEASONS
        way = cells(told["ways"], "06-05")
        assert way["made_it"]["count"] == sum(value * plain_legume.MIDDLE >= goal for value in alone["into"])


def test_days_of_collars_equal_plain_loops():
    told = as_dict(answer("v3", "v5"))
    for number in (3, 5):
        days = []
        for of, _, _ in by_loops():
            for end, part in zip((300 / 410, 355 / 410, 1.0), plain_legume.PARTS, strict=True):
                days += [plain_legume.collar_day(of, SEEDING, number, end)] * part
        low, middle, high = plain_legume.tenths(days)
        way = cells(told["ways"], f"V{number}")
        assert column(*map(int, way["sown"].split("-"))) == middle
        assert [column(*map(int, day.split("-"))) for day in way["sown_range"]] == [low, high]


def test_the_last_day_is_the_last_that_reaches_the_odds_and_a_higher_goal_ends_sooner():
    found = []
    for goal in ("100 kg/ha", "200 kg/ha", "400 kg/ha"):
        told = as_dict(answer("06-25", goal=goal))
        rows = cells(told["ways"], "06-25")["days"]
        good = [row["sowing"] for row in rows if row["made_it"]["share"] >= 0.8]
        assert told["last_day"] == (good[-1] if good else None)
        found.append(told["last_day"])
    assert found == sorted(found, reverse=True) and found[0] > found[-1]


def test_sowing_with_the_corn_gives_several_times_what_v5_gives_and_the_ratio_is_said():
    told = as_dict(answer())
    with_corn, fifth = (cells(told["ways"], name)["growth_kg_ha"]["middle"] for name in ("with corn", "V5"))
    times = told["with_corn_over_v5"]
    assert times["low"] <= times["middle"] <= times["high"]
    assert times["middle"] == pytest.approx(with_corn / fifth, rel=0.15)
    assert times["low"] > 2


def test_july_under_closed_corn_is_never_offered():
    for seeding in (column(5, 1), column(5, 20), column(6, 5)):
        told = as_dict(late_legume(site(), CORN, LEGUME, seeding, ways=("v5", "07-10")))
        assert told["last_day"] is None or told["last_day"] < "07-01"
        late = [
            row for row in cells(told["ways"], "V5")["days"] if row["sowing"] >= "07-05" and row["corn_collars"] > 8
        ]
        assert late and all(row["made_it"]["count"] == 0 for row in late)


def test_the_window_for_both_counts_the_same_growth():
    """Corn and legume together make it where the corn does and the bean makes the default goal, by plain loops."""
    at = site()
    found = grids(at.ensemble(), asking(at, CORN, LEGUME))
    for sown in (SEEDING, column(6, 5)):
        place = sown - FIRST
        for y, (of, par, chops) in enumerate(by_loops()):
            bean = plain_legume.MIDDLE * plain_legume.grown(of, par, sown, sown, chops[sown]) >= 300
            assert found.made["both"][at.ensemble().index[0][y], place] == bean
    late = grids(at.ensemble(), asking(at, CORN, LEGUME, after=45))
    july = [day - FIRST for day in range(column(5, 20), column(6, 5))]  # the legume then goes in from 4 July on
    assert not late.made["both"][:, july].any() and late.made["corn"][:, july].any()


def test_growth_and_light_fall_the_later_it_goes_into_standing_corn():
    rows = cells(as_dict(answer("v5"))["ways"], "V5")["days"]
    middle = [row["growth_kg_ha"]["middle"] for row in rows]
    light = [row["light_share"] for row in rows if row["sowing"] < "07-25"]
    assert (np.diff(middle) <= 1.5).all() and middle[0] > 20 * middle[-1]
    assert (np.diff(light) <= 0.02).all()


def test_a_collar_that_was_seen_moves_the_fifth_collar_and_says_so():
    free = cells(as_dict(answer("v5"))["ways"], "V5")
    early, late = (as_dict(answer("v5", seen=f"V4 06-{day}")) for day in ("12", "28"))
    days = [cells(told["ways"], "V5")["sown"] for told in (early, late)]
    assert days[0] < free["sown"] < days[1]
    spread = [np.diff([column(*map(int, day.split("-"))) for day in cells(told["ways"], "V5")["sown_range"]])[0]
              for told in (early, {"ways": [free]})]  # fmt: skip
    assert spread[0] < spread[1]
    assert "seen" in [says["key"] for says in early["sentences"]]
    with pytest.raises(SettingError, match="V3 is past: V4 was seen"):
        answer("v3", seen="V4 06-12")
    assert [row["way"] for row in as_dict(answer(seen="V4 06-12"))["ways"]][-2:] == ["V5", "V7"]


def test_a_seen_collar_sets_the_corns_leaves_on_that_day():
    tmin, tmax = weather()
    of = growth.field(tmin, tmax, CORN, LEGUME, 50.0)
    heat = ways.seen_heat(CORN, of.heat, SEEDING, ways.Seen(4, column(6, 18)))
    since = heat[:, column(6, 18) + 1] - heat[:, SEEDING + 1]
    assert (np.abs(since - plain_legume.collar_need(4)) <= 1).all()
    assert (np.diff(heat, axis=1) >= 0).all()
    after = np.s_[:, column(6, 18) + 1 :]
    assert (np.abs(np.diff(heat[after], axis=1) - np.diff(of.heat[after], axis=1)) <= 1).all()


def test_a_rain_to_come_up_by_is_counted_in_the_fourteen_days_after_sowing():
    rain = np.random.default_rng(3).integers(0, 60, (SEASONS, 365))
    rain = np.where(rain > 45, rain, 0).astype(np.int16)
    tmin, tmax = weather()
    at = Site(made_up.record(tmin, tmax, prcp=rain), climate=AS_READ)
    rows = cells(as_dict(late_legume(at, CORN, LEGUME, SEEDING, ways=("v5",)))["ways"], "V5")["days"]
    for row in rows[::9]:
        day = column(*map(int, row["sowing"].split("-")))
        assert row["rain_after_sowing"]["count"] == sum(
            rain[y, day + 1 : day + 15].sum() >= 100 for y in range(SEASONS)
        )
    dry = as_dict(answer("v5"))
    assert "no_rain" in [says["key"] for says in dry["sentences"]]
    assert "rain_after_sowing" not in dry["ways"][0]


def test_goals_of_protein_and_nitrogen_are_kilogrammes_by_their_published_middle():
    assert goal_of("30 kg N").standing(12, 1) == pytest.approx(30 / 0.0288)
    asked = goal_of("0.5 points of protein")
    bean = asked.standing(12, 0.95) / 1000 * 0.85  # 15 % stays below the cut
    assert (11.4 * 7.5 + bean * 18) / (11.4 + bean) == pytest.approx(8.0)
    assert goal_of("270 lb/ac").amount == pytest.approx(302.6, abs=0.1)
    assert goal_of("0.3 t/ha") == Goal(300.0, "kg/ha")
    assert goal_of("20 points").standing(12, 1) == np.inf
    assert goal_of(None).source and goal_of("300 kg/ha").source == ""


def test_what_it_costs_the_corn_is_the_published_range_and_wide_rows_cost_more():
    assert tuple(corn_kept(True, "ordinary")) == (0.5, 0.95, 1.05)
    assert corn_kept(False, "ordinary").low > corn_kept(True, "ordinary").low
    assert corn_kept(False, "wide").middle == pytest.approx(0.88)
    told = as_dict(answer("with corn"))
    assert told["ways"][0]["corn_kept"] == {"low": 0.5, "middle": 0.95, "high": 1.05}
    assert "cost" in [says["key"] for says in told["sentences"]]


def test_wide_rows_let_a_late_sowing_grow_several_times_as_much():
    told = as_dict(answer("v5"))["row_spacing"]
    usual, wide, paired = (row["growth_kg_ha"]["middle"] for row in told)
    assert [row["rows"] for row in told] == ["ordinary", "wide", "paired"]
    assert 3 * usual < wide
    assert usual < paired
    whole = as_dict(late_legume(site(), CORN, LEGUME, SEEDING, ways=("v5",), rows="wide", bearing=0.0))
    assert whole["ways"][0]["growth_kg_ha"]["middle"] == pytest.approx(wide, abs=0.2)


def test_days_vegetative_can_be_what_is_wanted_and_need_a_known_flower():
    told = as_dict(answer("with corn", "07-10", goal="40 days"))
    counts = [row["made_it"]["count"] for row in told["ways"]]
    assert counts == [SEASONS, 0]
    with pytest.raises(SettingError, match="can't count days vegetative"):
        late_legume(site(latitude=float("nan")), CORN, LEGUME, SEEDING, ways=("v5",), goal="40 days")


def test_without_a_latitude_light_is_of_fifty_degrees_and_that_is_said():
    there, not_known = site(), site(latitude=float("nan"))
    told = [as_dict(late_legume(at, CORN, LEGUME, SEEDING, ways=("v5",))) for at in (there, not_known)]
    assert told[0]["ways"][0]["growth_kg_ha"] == told[1]["ways"][0]["growth_kg_ha"]
    assert told[0]["latitude_assumed"] is None and told[1]["latitude_assumed"] == 50
    assert "latitude" in [says["key"] for says in told[1]["sentences"]]


def test_season_dates_stay_pairs_a_row_a_season_and_way():
    told = as_dict(answer("with corn", "v5"))
    assert len(told["seasons"]) == 2 * SEASONS
    for row in told["seasons"]:
        assert row["sown"][0] == row["sown"][1] <= row["emergence"][0] <= row["chop"][0]
        assert row["complete"] is True


def test_the_label_asks_for_its_wait_before_an_early_chop():
    told = as_dict(answer("v5", label_days=60))["label"]
    chop, spray = (column(*map(int, told[key].split("-"))) for key in ("early_chop", "last_spraying"))
    assert chop - spray == told["wait_days"] == 60


@pytest.mark.parametrize(
    ("how", "says"),
    [
        ({"ways": ("v55",)}, "There is no leaf collar 55"),
        ({"ways": ("silkin",)}, r"way='silkin' is not known\. Did you mean 'silking'"),
        ({"ways": ("300",)}, "300 days after the corn is outside"),
        ({"ways": ()}, "There is no way to sow"),
        ({"goal": "lots"}, "goal='lots' is not known"),
        ({"odds": 1.2}, r"Odds of 1\.2 can't be wanted"),
        ({"rows": "narrow"}, "rows='narrow' is not known"),
        ({"seen": "V4"}, "is not a collar and a day"),
        ({"seen": "V4 05-10"}, "can't be seen before the corn is seeded"),
        ({"corn_yield": -1.0}, "A corn yield of -1 t/ha"),
        ({"label_days": -5}, "A wait of -5 days"),
        ({"frost": "mild"}, "frost='mild' is not known"),
    ],
)
def test_bad_input_gets_its_two_lines(how, says):
    with pytest.raises(SettingError, match=says):
        late_legume(site(), CORN, LEGUME, SEEDING, **how)


def test_a_bean_is_no_corn_and_corn_no_legume():
    with pytest.raises(CropError, match="forage-late is no corn"):
        late_legume(site(), LEGUME, LEGUME, SEEDING, ways=("with corn",))
    with pytest.raises(SettingError, match="silage-2150 is no legume"):
        late_legume(site(), CORN, CORN, SEEDING)


def test_corn_without_collars_borrows_those_of_the_library():
    bare = CORN.model_copy(update={"collars": None})
    told = [as_dict(late_legume(site(), corn, LEGUME, SEEDING, ways=("v5",)))["ways"] for corn in (CORN, bare)]
    assert told[0] == told[1]
