"""Fields, chopper, rain: from a farm's file to an order and a calendar."""

import json
from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.farm import Field, read_fields
from frostkit.answers.fields import Chopper, fit_windows, order_of_fields, rain_days, work_of
from frostkit.answers.order import carry_out
from frostkit.answers.station import behind
from frostkit.answers.stores import wanted
from frostkit.errors import CropError, RecordError, SettingError
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column


def summers(first=1996, last=2020, seed=4):
    """An invented place: a smooth year, weather, and rain on a fifth of the days; made-up numbers."""
    generator = np.random.default_rng(seed)
    days = np.arange(np.datetime64(f"{first}-01-01"), np.datetime64(f"{last + 1}-01-01"))
    of_year = (days - days.astype("datetime64[Y]")).astype(int)
    mean = 3.5 - 16.5 * np.cos(2 * np.pi * (of_year - 20) / 365) + generator.normal(0, 3, days.size)
    rain = np.where(generator.random(days.size) < 0.2, generator.gamma(0.8, 12, days.size), 0)
    return Record(Station("X1", "Made up", 50.0, -100.0, 250.0), days[0], np.round(mean - 6.5, 1).astype(np.float32),
                  np.round(mean + 6.5, 1).astype(np.float32), more={"prcp": rain.astype(np.float32)}, invented=True)  # fmt: skip


RECORD = summers()
BEHIND = behind(RECORD)
RAIN = rain_days(RECORD, BEHIND.cube)
FARM = (
    Field("Home", 40, column(5, 14), "silage-2300", place="home", haul=1),
    Field("River", 25, column(5, 20), "silage-2150", place="river", haul=9),
    Field("Hill", 60, column(5, 18), "silage-2300", legume="forage-late", place="home", haul=3, legume_share=0.15),
    Field("School", 30, column(5, 9), "silage-2150", place="school", haul=14),
)


def test_the_answer_has_an_order_a_calendar_rules_and_what_more_is_worth():
    answer = order_of_fields(BEHIND, RAIN, FARM, Chopper(rate=2.0))
    told = json.loads(json.dumps(answer.to_dict()))
    assert sorted(plan["name"] for plan in told["plan"]) == ["Hill", "Home", "River", "School"]
    assert told["proved"] is True
    assert all(rule["tonnes"] <= told["tonnes"] + 0.1 for rule in told["rules"])
    assert all(more["tonnes"] >= told["tonnes"] - 0.1 for more in told["more"])
    assert [c["topic"] for c in told["cautions"]] == ["silo_gas", "nitrate", "herbicide", "local"]
    assert 0 < told["tonnes"] <= told["all_tonnes"] == pytest.approx(155 * 12)
    assert answer.title().startswith("Chop in this order: ")


def test_the_order_keeps_what_a_chopper_followed_hour_by_hour_keeps():
    """Quarter of an hour by quarter of an hour through each season, independent of the clock of hours worked."""
    chopper = Chopper(rate=2.0, spread=0.0, move=1.5)
    answer = order_of_fields(BEHIND, RAIN, FARM, chopper, newest=12)
    windows = fit_windows(BEHIND, FARM, wanted("bunker"), None, newest=12)
    order = [[one.name for one in FARM].index(plan.field.name) for plan in answer.plan]
    use = np.isin(windows.seasons, answer.seasons)
    tick = 0.05
    for season, first, last, expected in zip(
        answer.seasons, windows.first[use], windows.last[use], answer.by_season, strict=True
    ):
        lost = RAIN.lost[season - BEHIND.cube.seasons[0]]
        queue = [field for field in order if np.isfinite(first[field])]
        kept, left, moving, came = 0.0, None, 0.0, None
        for day in range(column(7, 1), column(10, 31) + 1):
            for _ in range(0 if lost[day] else round(chopper.hours / tick)):
                if left is None and queue:
                    field = queue.pop(0)
                    moving = chopper.move if came is not None and FARM[came].place != FARM[field].place else 0.0
                    left = FARM[field].area / chopper.rate
                if left is None:
                    break
                if moving > tick / 2:
                    moving -= tick
                elif day >= first[field]:
                    part = min(tick, left)
                    left -= part
                    if day <= last[field]:
                        kept += part * chopper.rate * FARM[field].yields
                    if left <= 1e-9:
                        left, came = None, field
        assert kept == pytest.approx(expected, rel=0.02, abs=6)


def test_the_calendar_holds_the_order_and_no_field_begins_before_it_is_fit():
    answer = order_of_fields(BEHIND, RAIN, FARM, Chopper(rate=2.0))
    starts = [plan.start[1] for plan in answer.plan]
    assert starts == sorted(starts)
    for plan in answer.plan:
        assert all(begin >= fit for begin, fit in zip(plan.start, plan.fit_from, strict=True))
        assert all(end >= begin for begin, end in zip(plan.start, plan.finish, strict=True))


def test_a_slower_chopper_and_a_wetter_country_keep_less():
    fast, slow = (order_of_fields(BEHIND, RAIN, FARM, Chopper(rate=rate)).tonnes for rate in (4.0, 0.8))
    assert slow < fast
    soaked = replace(RECORD, more={"prcp": RECORD.more["prcp"] * 6})
    wet = order_of_fields(BEHIND, rain_days(soaked, BEHIND.cube), FARM, Chopper(rate=1.5))
    dry = order_of_fields(BEHIND, RAIN, FARM, Chopper(rate=1.5))
    assert wet.tonnes < dry.tonnes
    assert wet.lost_days > dry.lost_days


def test_few_trucks_hold_up_a_far_field():
    far = (replace(FARM[0], haul=60.0),)
    windows = fit_windows(BEHIND, far, wanted("bunker"), None)
    lost = RAIN.lost[np.isin(BEHIND.cube.seasons, windows.seasons)]
    free, held = (work_of(far, windows, lost, Chopper(trucks=trucks), 67.5)[0].hours[0, 0] for trucks in (0, 2))
    assert held > free
    # 40 ha x 12 t dry = 480 t, at 67.5 % moisture 1,477 t wet, 123 loads of 12 t, 61.5 a truck, 4.15 h each: by hand
    assert held == pytest.approx(40 * 12 / 0.325 / 12 / 2 * (2 * 60 / 30 + 0.15))


def test_rain_days_follow_the_stated_limits():
    mm = np.zeros(RECORD.tmin.size, np.float32)
    day = int((np.datetime64("2000-09-10") - RECORD.start).astype(int))
    mm[day], mm[day + 10], mm[day + 20], mm[day + 25] = 5.0, 16.0, 31.0, 4.9
    rain = rain_days(replace(RECORD, more={"prcp": mm}), BEHIND.cube)
    at = column(9, 10)
    lost = (np.flatnonzero(rain.lost[4]) - at).tolist()
    assert lost == [0, 10, 11, 20, 21, 22]
    assert rain.known.all()


def test_seasons_without_rain_readings_are_left_out_by_their_readings_alone():
    mm = RECORD.more["prcp"].copy()
    mm[RECORD.time() < np.datetime64("2001-01-01")] = np.nan
    rain = rain_days(replace(RECORD, more={"prcp": mm}), BEHIND.cube)
    assert rain.known.tolist() == [False] * 5 + [True] * 20
    assert order_of_fields(BEHIND, rain, FARM).seasons.min() == 2001
    none = rain_days(replace(RECORD, more={}), BEHIND.cube)
    dry = order_of_fields(BEHIND, none, FARM)
    assert dry.lost_days == 0
    assert "no rain" in dry.says()[-1]


def test_standing_on_a_day_uses_this_seasons_days_for_every_field():
    answer = order_of_fields(BEHIND, RAIN, FARM, Chopper(rate=2.0), today="2020-08-20")
    assert answer.today == column(8, 20)
    assert answer.seasons.max() < 2020
    assert all(plan.start[0] >= column(8, 20) for plan in answer.plan)
    spread = [plan.fit_from[2] - plan.fit_from[0] for plan in answer.plan]
    planned = [plan.fit_from[2] - plan.fit_from[0] for plan in order_of_fields(BEHIND, RAIN, FARM).plan]
    assert sum(spread) < sum(planned)


def test_the_rates_of_a_season_keep_their_mean():
    windows = fit_windows(BEHIND, FARM, wanted("bunker"), None)
    lost = RAIN.lost[np.isin(BEHIND.cube.seasons, windows.seasons)]
    work, _ = work_of(FARM, windows, lost, Chopper(spread=0.2), 67.5)
    assert work.weight.sum() == pytest.approx(1)
    assert sorted(set(np.round(FARM[0].area / work.hours[:, 0], 6))) == pytest.approx([2.4, 3.0, 3.6])
    assert carry_out(work, np.arange(4)).kept.shape == (len(lost) * 3, 4)


GOOD = "name,area_ha,seeded,corn,legume,place,haul_km,yield_t_ha\nHome,40,05-14,silage-2300,,home,1,13\nRiver,25,05-20,silage-2150,forage-late,river,9,\n"


def written(folder, text):
    path = folder / "farm.csv"
    path.write_text(text, "utf-8")
    return path


def test_a_farm_is_read_from_its_file(tmp_path):
    home, river = read_fields(written(tmp_path, GOOD))
    assert (home.area, home.seeded, home.corn, home.haul, home.yields) == (40, column(5, 14), "silage-2300", 1, 13)
    assert (river.legume, river.yields) == ("forage-late", 12.0)
    acres = read_fields(written(tmp_path, "field,area_ac,seeding_day,hybrid,haul_mi\nHome,100,05-14,silage-2300,5\n"))[
        0
    ]
    assert acres.area == pytest.approx(40.4686, abs=1e-3)  # 1 acre = 0.404686 ha (international acre)
    assert acres.haul == pytest.approx(8.04672)  # 1 mile = 1.609344 km, exact


@pytest.mark.parametrize(("text", "says"), [
    (GOOD.replace("Home,40", "Home,-40"), r"farm.csv, line 2: Home: an area of -40 ha is not above 0"),
    (GOOD.replace("Home,40", "Home,0"), r"an area of 0 ha is not above 0"),
    (GOOD.replace("Home,40", "Home,"), r"an area of nan ha"),
    (GOOD.replace("Home,40", "Home,forty"), r"line 2, area_ha: 'forty' is not a number"),
    (GOOD.replace("River", "Home"), r"line 3, name: 'Home' is there twice"),
    (GOOD.replace("05-20", "20 May"), r"line 3: '20 May' is not a day"),
    (GOOD.replace("home,1,13", "home,-1,13"), r"a haul of -1 km is outside 0 to 300"),
    (GOOD.replace("1,13", "1,130"), r"a yield of 130 t a ha"),
    (GOOD.replace("area_ha", "aera_ha"), r"the column 'aera_ha' is not known. Did you mean 'area_ha'\?"),
    (GOOD.replace("seeded,", "place,", 1), r"no column for seeded"),
    (GOOD.replace("silage-2300", ""), r"line 2, corn: no corn is named"),
])  # fmt: skip
def test_a_farm_file_with_faults_gets_two_lines(tmp_path, text, says):
    with pytest.raises(RecordError, match=says) as found:
        read_fields(written(tmp_path, text))
    assert found.value.do


@pytest.mark.parametrize(("options", "says"), [
    ({"rate": 0}, "A rate of 0 ha an hour is not above 0"),
    ({"rate": -2}, "A rate of -2"),
    ({"hours": 30}, "A day of 30 hours"),
    ({"spread": 1.0}, "A spread of 1 is outside 0 to 0.9"),
    ({"machines": 0}, "0 machines is outside 1 to 5"),
    ({"trucks": -1}, "or -1 trucks"),
])  # fmt: skip
def test_a_chopper_that_can_not_be_gets_two_lines(options, says):
    with pytest.raises(SettingError, match=says):
        Chopper(**options)


def test_other_faults_get_two_lines():
    with pytest.raises(SettingError, match="There is no field to chop"):
        order_of_fields(BEHIND, RAIN, ())
    with pytest.raises(SettingError, match="Home: seeding on 14 May is not before today, 1 May"):
        order_of_fields(BEHIND, RAIN, FARM, today="2020-05-01")
    with pytest.raises(CropError, match="forage-late does not say its moisture"):
        order_of_fields(BEHIND, RAIN, (replace(FARM[0], corn="forage-late"),))
    short = summers(2014, 2020)
    with pytest.raises(RecordError, match="Only 7 past seasons are complete with their rain; a plan needs 10"):
        order_of_fields(behind(short), rain_days(short, behind(short).cube), FARM)
