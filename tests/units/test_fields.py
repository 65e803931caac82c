"""Fields, chopper, rain: from a farm's file to an order and a calendar."""

import json
from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.silage.farm import Field, read_fields
from frostkit.answers.silage.fields import Chopper, cases_of, each_chop, fields, fit_windows, work_of
from frostkit.answers.silage.order import carry_out
from frostkit.answers.silage.stores import wanted
from frostkit.ensemble.site import Site
from frostkit.errors import CropError, RecordError, SettingError
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column
from frostkit.show.render.machine import as_dict


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
SITE = Site(RECORD)
FARM = (
    Field("Home", 40, column(5, 14), "silage-2300", place="home", haul=1),
    Field("River", 25, column(5, 20), "silage-2150", place="river", haul=9),
    Field("Hill", 60, column(5, 18), "silage-2300", legume="forage-late", place="home", haul=3, legume_share=0.15),
    Field("School", 30, column(5, 9), "silage-2150", place="school", haul=14),
)
BUNKERS = (wanted("bunker"),) * 4
ODDS = ("early", "usual", "late")


def dates(answer, name):
    """Days of each field at odds of 1, 5 and 9 in 10. [field, 3]"""
    plan = answer.table("plan")
    return np.array([plan[f"{name}.{odds}"].values for odds in ODDS]).T


def tonnes(answer, name="tonnes"):
    return answer.values[name].value


def with_rain(mm):
    return Site(replace(RECORD, more={"prcp": mm}))


def test_the_answer_has_an_order_a_calendar_rules_and_what_more_is_worth():
    answer = fields(SITE, FARM, Chopper(rate=2.0))
    told = json.loads(json.dumps(as_dict(answer)))
    assert sorted(plan["name"] for plan in told["plan"]) == ["Hill", "Home", "River", "School"]
    assert told["order"] == [plan["name"] for plan in told["plan"]]
    assert told["proved"] is True
    assert all(rule["tonnes"] <= told["tonnes"] + 0.1 for rule in told["rules"])
    assert all(more["tonnes"] >= told["tonnes"] - 0.1 for more in told["more"])
    assert told["cautions"][0]["topic"] == "silo_gas"
    assert 0 < told["tonnes"] <= told["all_tonnes"] == pytest.approx(155 * 12)
    assert told["climate"]["moved"] == "today" and told["season_count"] == 25
    assert set(told["plan"][0]["fit_from"]) == set(ODDS)


def test_the_order_keeps_what_a_chopper_followed_hour_by_hour_keeps():
    """Quarter of an hour by quarter of an hour through each season, independent of the clock of hours worked."""
    chopper = Chopper(rate=2.0, spread=0.0, move=1.5)
    answer = fields(SITE, FARM, chopper)
    windows = fit_windows(SITE, FARM, BUNKERS, None)
    order = [[one.name for one in FARM].index(name) for name in answer.values["order"]]
    by_season = answer.table("seasons")["tonnes"].values
    tick = 0.05
    assert len(windows.first) == 1  # nothing is missing here
    for season in range(len(by_season)):
        first, last, lost = windows.first[0, season], windows.last[0, season], windows.lost[0, season]
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
        assert kept == pytest.approx(by_season[season], rel=0.02, abs=6)


def test_the_calendar_holds_the_order_and_no_field_begins_before_it_is_fit():
    answer = fields(SITE, FARM, Chopper(rate=2.0))
    start, fit, finish = (dates(answer, name) for name in ("start", "fit_from", "finish"))
    assert (np.diff(start[:, 1]) >= 0).all()
    assert (start >= fit).all() and (finish >= start).all()


def test_a_slower_chopper_and_a_wetter_country_keep_less():
    fast, slow = (tonnes(fields(SITE, FARM, Chopper(rate=rate))) for rate in (4.0, 0.8))
    assert slow < fast
    wet, dry = (fields(site, FARM, Chopper(rate=1.5)) for site in (with_rain(RECORD.more["prcp"] * 6), SITE))
    assert tonnes(wet) < tonnes(dry)
    assert wet.values["lost_days_of_10"] > dry.values["lost_days_of_10"]


def test_few_trucks_hold_up_a_far_field():
    far = (replace(FARM[0], haul=60.0),)
    cases = cases_of(fit_windows(SITE, far, BUNKERS[:1], None))
    middle = np.array([67.5])
    free, held = (work_of(far, cases, None, Chopper(trucks=trucks), middle)[0].hours[0, 0] for trucks in (0, 2))
    assert held > free
    # 40 ha x 12 t dry = 480 t, at 67.5 % moisture 1,477 t wet, 123 loads of 12 t, 61.5 a truck, 4.15 h each: by hand
    assert held == pytest.approx(40 * 12 / 0.325 / 12 / 2 * (2 * 60 / 30 + 0.15))


def test_rain_days_follow_the_stated_limits():
    mm = np.zeros(RECORD.tmin.size, np.float32)
    day = int((np.datetime64("2000-09-10") - RECORD.start).astype(int))
    mm[day], mm[day + 10], mm[day + 20], mm[day + 25] = 5.0, 16.0, 31.0, 4.9
    windows = fit_windows(with_rain(mm), FARM, BUNKERS, None)
    season = windows.rows.seasons.tolist().index(2000)
    lost = (np.flatnonzero(windows.lost[0, season]) - column(9, 10)).tolist()
    assert lost == [0, 10, 11, 20, 21, 22]
    assert windows.rain_seasons == 25


def test_a_season_without_rain_readings_takes_the_days_lost_in_another_and_none_is_dropped():
    mm = RECORD.more["prcp"].copy()
    mm[RECORD.time() < np.datetime64("2001-01-01")] = np.nan
    windows = fit_windows(with_rain(mm), FARM, BUNKERS, None)
    assert windows.rain_seasons == 20
    assert windows.rows.seasons.size == 25
    known = {tuple(row) for row in windows.lost[0, 5:, column(8, 1) :]}
    assert all(tuple(row) in known for row in windows.lost[0, :5, column(8, 1) :])


def test_a_record_without_rain_loses_no_day_and_says_so():
    dry = fields(Site(replace(RECORD, more={})), FARM)
    assert dry.values["rain_seasons"] == 0 and dry.values["lost_days_of_10"] is None
    assert dry.sentences[-1].key == "no_rain"


def test_standing_on_a_day_uses_this_seasons_days_for_every_field():
    answer = fields(SITE, FARM, Chopper(rate=2.0), today="2020-08-20")
    assert answer.values["today"].column == column(8, 20)
    assert answer.ensemble.seasons.max() < 2020
    assert (dates(answer, "start")[:, 0] >= column(8, 20)).all()
    spread, planned = (np.ptp(dates(of, "fit_from"), axis=1).sum() for of in (answer, fields(SITE, FARM)))
    assert spread < planned


def test_each_field_has_its_own_store_low_spot_and_what_was_seen_in_it():
    twins = tuple(replace(FARM[0], name=name) for name in ("plain", "upright", "low", "wet"))
    of = (
        twins[0],
        replace(twins[1], store="upright"),
        replace(twins[2], colder_by=3.0, all_nights=True),
        replace(twins[3], moisture=(78.0, None)),
    )
    answer = fields(SITE, of, today="2020-08-20")
    fit = dict(zip(answer.values["order"], dates(answer, "fit_from")[:, 1], strict=True))
    assert fit["upright"] > fit["plain"] and fit["low"] > fit["plain"] and fit["wet"] > fit["plain"]
    stores = dict(zip(answer.values["order"], answer.table("plan")["store"].values, strict=True))
    assert stores["upright"] == "store_upright" and stores["low"] == "store_bunker"
    unused = fields(SITE, of)
    assert unused.sentences[-1].key == "seen_not_used"


def test_fields_and_chop_agree_to_the_day_on_every_field():
    answer = fields(SITE, FARM, Chopper(rate=2.0), today="2020-08-20")
    each = each_chop(answer)
    assert list(each) == answer.values["order"]
    windows = fit_windows(SITE, FARM, BUNKERS, "2020-08-20")
    for place, one in enumerate(FARM):
        first = each[one.name].table("seasons")["fit_from"].values[0]
        assert first.tolist() == windows.first[0, :, place].tolist()


def test_the_rates_of_a_season_keep_their_mean():
    cases = cases_of(fit_windows(SITE, FARM, BUNKERS, None))
    work, _ = work_of(FARM, cases, None, Chopper(spread=0.2), np.full(4, 67.5))
    assert work.weight.sum() == pytest.approx(1)
    assert sorted(set(np.round(FARM[0].area / work.hours[:, 0], 6))) == pytest.approx([2.4, 3.0, 3.6])
    assert carry_out(work, np.arange(4)).kept.shape == (cases.season.size * 3, 4)


def test_possible_seasons_that_differ_in_nothing_are_one_case_with_their_weight():
    tmin = RECORD.tmin.copy()
    at = np.datetime64("2005-08-20") - RECORD.start
    tmin[int(at.astype(int)) : int(at.astype(int)) + 8] = np.nan
    windows = fit_windows(Site(replace(RECORD, tmin=tmin)), FARM, BUNKERS, None)
    cases = cases_of(windows)
    assert len(windows.first) == 20
    assert 25 <= cases.season.size <= 24 + 20
    assert np.bincount(cases.season, cases.weight) == pytest.approx(np.ones(25))


GOOD = "name,area_ha,seeded,corn,legume,place,haul_km,yield_t_ha\nHome,40,05-14,silage-2300,,home,1,13\nRiver,25,05-20,silage-2150,forage-late,river,9,\n"


def written(folder, text):
    path = folder / "farm.csv"
    path.write_text(text, "utf-8")
    return path


def test_a_farm_is_read_from_its_file(tmp_path):
    home, river = read_fields(written(tmp_path, GOOD))
    assert (home.area, home.seeded, home.corn, home.haul, home.yields) == (40, column(5, 14), "silage-2300", 1, 13)
    assert (river.legume, river.yields) == ("forage-late", 12.0)
    seen = read_fields(written(tmp_path, "name,area_ha,seeded,corn,store,colder_by,silking,moisture,moisture_on\n"
                               "Home,40,05-14,silage-2300,bag,2,08-01,71.5,08-20\n"))[0]  # fmt: skip
    assert (seen.store, seen.colder_by, seen.silking, seen.moisture) == ("bag", 2, column(8, 1), (71.5, column(8, 20)))
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
    (GOOD.replace("05-20", "20 Jui"), r"line 3: '20 Jui' is not a day"),
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
        fields(SITE, ())
    with pytest.raises(SettingError, match="Home: seeding on 14 May is not before today, 1 May"):
        fields(SITE, FARM, today="2020-05-01")
    with pytest.raises(CropError, match="forage-late does not say its moisture"):
        fields(SITE, (replace(FARM[0], corn="forage-late"),))
    with pytest.raises(SettingError, match="Home: A whole-plant moisture of 5 % is outside"):
        fields(SITE, (replace(FARM[0], moisture=(5.0, None)),), today="2020-08-20")
    with pytest.raises(SettingError, match="planned without a day"):
        each_chop(fields(SITE, FARM[:1]))


def test_seven_seasons_are_answered_with_their_count():
    answer = fields(Site(summers(2014, 2020)), FARM)
    assert answer.ensemble.seasons.size == 7
    assert answer.sentences[0].values["seasons"] == 7
