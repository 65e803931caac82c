"""Chopping time: plain loops beside the answer, what moves the forecast, what narrows it, and what it refuses."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from frostkit.answers.corn import corn_days, need_at
from frostkit.answers.silage.ahead import CONDITIONS, band, predicted
from frostkit.answers.silage.chop import chop
from frostkit.answers.silage.drying import hybrid
from frostkit.answers.silage.stores import stores, wanted
from frostkit.crops.entry import load
from frostkit.ensemble.site import Site
from frostkit.errors import CropError, FrostkitError, RecordError, SettingError
from frostkit.records.field import low_spot
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import column
from tests.made_up import record
from tests.plain_loops import heat_of, weather

SEEDED, TODAY = column(5, 15), "2020-08-25"
NOW = column(8, 25)
CORN = load("silage-2300")
CLOCK = hybrid(CORN).clock
FIRST = 1990
TMIN, TMAX = weather(8, 31, -5.0)  # as warm as a prairie: fit in September
RECORD = record(TMIN, TMAX, FIRST)
SITE = Site(RECORD)


def asked(site=SITE, **options):
    return chop(site, options.pop("corn", CORN), options.pop("seeding", SEEDED), **({"today": TODAY} | options))


@cache
def plain():
    return asked()


def fit(answer, odds=1, how="all"):
    return answer.values["fit_from"][how][odds].column


def width(answer):
    return fit(answer, 2) - fit(answer, 0)


# --- plain loops ---------------------------------------------------------------------------------------------------


def moisture_of(tmin, tmax, corn=CORN, seeded=SEEDED, store="bunker"):
    """Whole-plant moisture by the evening of each day from sowing to 31 October, day by day, and the killing frost."""
    goal, per = corn.stage[corn.goal].need.value, corn.moisture.points_per_100 / 100
    points = [(corn.stage["silking"].need.value, 82.0), (corn.stage["dent"].need.value, 73.0), (goal, 65.0)]
    upper = wanted(store).high

    def curve(heat):
        if heat <= points[0][0]:
            return 82.0
        for (a, high), (b, low) in zip(points, points[1:]):
            if heat <= b:
                return high - (high - low) * (heat - a) / (b - a)
        return max(65.0 - per * (heat - goal), 20.0)

    killed = next((day for day in range(column(8, 1), 304) if tmin[day] <= -20), float("inf"))
    heat, before, now = 0.0, curve(0.0), curve(0.0)
    found = {seeded: now}
    for day in range(seeded + 1, 304):
        heat += float(heat_of(CLOCK, tmin[day] / 10, tmax[day] / 10))
        after = curve(heat)
        lost = before - after
        if before <= upper and after <= upper:
            lost = min(max(lost, 0.4), 1.0)
        if day > killed:
            lost = 0.5
        now = max(now - lost, 20.0)
        found[day], before = now, after
    return found, killed


def test_every_count_by_day_equals_a_plain_loop_over_the_possible_seasons():
    answer = plain()
    rows, table = answer.ensemble, answer.table("odds")
    total = {name: np.zeros(len(table), int) for name in CONDITIONS}
    first_days = []
    for row in rows.index.ravel().tolist():
        path, killed = moisture_of(rows.tmin[row].tolist(), rows.tmax[row].tolist())
        for place, day in enumerate(range(NOW, 304)):
            total["too_wet"][place] += path[day] > 70
            total["in_range"][place] += 65 <= path[day] <= 70
            total["too_dry"][place] += path[day] < 65
            total["killed"][place] += killed <= day
        first_days.append(next((day for day in sorted(path) if path[day] <= 70), float("inf")))
    for name in CONDITIONS:
        assert table[name].values.total.tolist() == total[name].tolist(), name
    assert answer.table("seasons")["fit_from"].values[0].tolist() == first_days


def test_the_outcomes_equal_a_plain_loop_and_sum_to_the_seasons():
    answer = asked(seeding=column(6, 5), today="2020-09-01")
    rows, counts = answer.ensemble, {"fit": 0, "usable": 0, "lost": 0}
    dent = CORN.stage["dent"].need.value
    for row in rows.index.ravel().tolist():
        tmin, tmax = rows.tmin[row].tolist(), rows.tmax[row].tolist()
        path, killed = moisture_of(tmin, tmax, seeded=column(6, 5))
        entered = next((day for day in sorted(path) if path[day] <= 70), float("inf"))
        heat, dented = 0.0, float("inf")
        for day in range(column(6, 5) + 1, 304):
            heat += float(heat_of(CLOCK, tmin[day] / 10, tmax[day] / 10))
            if heat >= dent and dented == float("inf"):
                dented = day
        alive = entered < killed and entered < 304
        counts["fit" if alive else "usable" if dented < killed and dented < 304 else "lost"] += 1
    assert answer.values["outcomes"] == counts
    assert sum(counts.values()) == rows.seasons.size
    assert counts["fit"] and counts["lost"] + counts["usable"]


@pytest.mark.parametrize("store", ["bunker", "upright", "oxygen_limiting"])
@pytest.mark.parametrize("seeding", [column(5, 10), column(6, 4)])
def test_chopping_and_the_window_have_one_definition_of_fit_to_the_day(store, seeding):
    """Standing on the season's last day, nothing seen: the day of fit is the corn's chop as the window counts it."""
    of = corn_days(TMIN, TMAX, CORN, np.array([seeding]), wanted(store))
    compared = 0
    for season in range(10, 31, 2):
        dead, chopped = of.killed[season, 0], of.chop[season, 0]
        if dead < column(8, 1):  # killed in spring: nobody stands before such a field in fall
            continue
        answer = asked(seeding=seeding, store=store, today=f"{FIRST + season}-10-31")
        found = np.unique(answer.table("seasons")["fit_from"].values)
        assert found.tolist() == [chopped], FIRST + season
        compared += 1
        if of.fit[season, 0] < dead:
            total = np.cumsum(CLOCK.rate(TMIN[season], TMAX[season])[seeding + 1 :])
            assert chopped == seeding + 1 + int((total >= need_at(CORN, wanted(store).high)).argmax())
    assert compared >= 8


def test_the_days_at_odds_stand_at_the_places_of_their_rank():
    # Weibull 1939: the i-th of n at i/(n + 1)
    assert predicted(np.arange(250.0, 259.0)[None], 0.5) == 254.0
    assert predicted(np.arange(1.0, 10.0)[None], 0.1) == 1.0
    assert predicted(np.arange(1.0, 10.0)[None], 0.95) == 9.0
    several = np.tile(np.arange(1.0, 10.0), (20, 1))
    assert predicted(several, 0.5) == 5.0  # draws that agree say what one says
    late = np.where(np.arange(1.0, 10.0) > 6, np.inf, np.arange(1.0, 10.0))[None]
    assert (predicted(late, 0.5), predicted(late, 0.9)) == (5.0, np.inf)


def test_the_band_is_what_drawing_at_random_from_the_same_curves_gives():
    random = np.random.default_rng(3)
    middle = random.normal(68, 4, (12, 3))
    spread, weight = np.array([1.0, 2.0, 4.0]), random.uniform(0, 1, 12)
    found = band(middle, spread, weight / weight.sum())
    rows = random.choice(12, 200_000, p=weight / weight.sum())
    draws = middle[rows] + spread * random.standard_normal((200_000, 3))
    assert found == pytest.approx(np.quantile(draws, (0.1, 0.9), axis=0), abs=0.06)


def test_the_band_of_one_season_is_its_normal_curve():
    # 1.28155 standard deviations hold 8 in 10 (standard normal table)
    low, high = band(np.full((1, 1), 66.0), np.array([4.0]), np.ones(1))
    assert (low[0], high[0]) == pytest.approx((66 - 4 * 1.281552, 66 + 4 * 1.281552), abs=1e-4)


# --- laws ----------------------------------------------------------------------------------------------------------


def test_on_every_day_it_is_too_wet_in_range_or_too_dry():
    table = plain().table("odds")
    parts = [table[f"{name}.odds"].values for name in ("too_wet", "in_range", "too_dry")]
    np.testing.assert_allclose(sum(parts), 1, atol=1e-9)
    shares = [table[name].values for name in ("too_wet", "in_range", "too_dry")]
    assert (sum(of.total for of in shares) == shares[0].seasons * shares[0].draws).all()


def test_it_only_gets_drier_and_frost_only_likelier():
    table = plain().table("odds")
    assert (np.diff(table["too_wet.odds"].values) <= 1e-9).all()
    assert (np.diff(table["too_dry.odds"].values) >= -1e-9).all()
    assert (np.diff(table["killed"].values.total) >= 0).all()
    low, middle, high = (table[key].values for key in ("moisture_band.low", "moisture", "moisture_band.high"))
    assert ((low < middle) & (middle < high)).all()


def test_a_wetter_sample_delays_and_a_drier_one_hastens_and_both_narrow():
    expected = plain().values["moisture_now"]["percent"]
    wet, dry = (asked(moisture=expected + more) for more in (4.0, -4.0))
    assert fit(dry) < fit(plain()) < fit(wet)
    assert width(dry) < width(plain())  # a wet one meets the slower drying of late September
    for answer in (wet, dry):
        assert answer.values["moisture_now"]["spread"] < plain().values["moisture_now"]["spread"]


def test_the_stated_rule_of_an_observation_is_what_is_done():
    # drying.py: weights are one over the variance; by heat 4 points, a sample 2: it counts 16 of 20
    expected = plain().values["moisture_now"]["percent"]
    answer = asked(moisture=expected + 5)
    (seen,) = answer.values["seen"]
    assert seen["what"] == "moisture"
    assert seen["moved"] == pytest.approx(5 * 16 / 20, abs=0.06)
    assert seen["spread"] == pytest.approx(np.sqrt(16 * 4 / 20), abs=0.01)
    assert answer.values["moisture_now"]["percent"] == pytest.approx(expected + 4, abs=0.11)


def test_a_milk_line_narrows_less_than_a_sample_and_an_old_sample_less_than_a_new_one():
    def spread(**seen):
        return asked(**seen).values["moisture_now"]["spread"]

    wet = plain().values["moisture_now"]["percent"]
    assert spread() > spread(milk_line=0.1) > spread(moisture=wet)
    assert spread(moisture=(wet + 8, column(8, 5))) > spread(moisture=(wet, NOW))


def test_silking_seen_late_delays_and_narrows_and_seen_on_time_changes_nothing():
    total = np.cumsum(CLOCK.rate(TMIN[-1], TMAX[-1])[SEEDED + 1 :])
    by_heat = SEEDED + 1 + int((total >= hybrid(CORN).silking).argmax())
    late, on_time = asked(silking=by_heat + 7), asked(silking=by_heat)
    assert fit(late) > fit(plain())
    assert late.values["moisture_now"]["spread"] < plain().values["moisture_now"]["spread"]
    assert fit(on_time, how="by_weather") == pytest.approx(fit(plain(), how="by_weather"), abs=1)


def test_without_a_seeding_day_silking_or_a_sample_is_enough():
    for seen in ({"silking": column(8, 1)}, {"moisture": (76.0, column(8, 20))}, {"milk_line": (0.2, column(8, 22))}):
        assert np.isfinite(fit(asked(seeding=None, **seen)))


def test_a_warm_forecast_hastens_a_cold_one_delays_and_a_frosty_one_kills():
    none = np.zeros(10)
    warm, cold, frosty = (
        asked(forecast=Forecast(np.datetime64(TODAY), none + low, none + high, none, none))
        for low, high in ((17, 30), (3, 13), (-4, 8))
    )
    assert fit(warm, how="by_weather") < fit(plain(), how="by_weather") < fit(cold, how="by_weather")
    assert (frosty.table("odds")["killed"].values.share == 1).all()
    assert warm.values["forecast_days"] == 10


def test_a_frost_so_far_is_said_with_the_cautions_of_frosted_corn_and_dries_half_a_point_a_day():
    tmin = TMIN.copy()
    tmin[-1, column(8, 20)] = -30
    answer = asked(Site(record(tmin, TMAX, FIRST)))
    assert answer.values["killed"] is True
    assert answer.cautions[0].topic == "nitrate" and any(one.topic == "silo_gas" for one in answer.cautions)
    assert any(says.key == "killed" for says in answer.sentences)
    np.testing.assert_allclose(np.diff(answer.table("odds")["moisture"].values), -0.5, atol=1e-9)
    assert plain().cautions[0].topic == "silo_gas"


def test_a_low_spot_freezes_sooner_and_gathers_less():
    low = asked(replace(SITE, offset=low_spot(3.0, clear_nights_only=False)))
    assert low.table("odds")["killed"].values.total.sum() > plain().table("odds")["killed"].values.total.sum()
    assert low.values["heat"]["gathered"][0] < plain().values["heat"]["gathered"][0]


def test_holes_in_a_past_season_leave_it_counted_and_its_dates_a_range():
    of = RECORD.tmin.copy()
    begin = int((np.datetime64("2015-08-27") - RECORD.start).astype(int))
    of[begin : begin + 12] = np.nan
    answer = asked(Site(replace(RECORD, tmin=of)))
    place = answer.ensemble.seasons.tolist().index(2015)
    first, last = answer.table("seasons")["fit_from"].values[:, place]
    assert not answer.ensemble.complete[place]
    assert first < last
    assert first <= plain().table("seasons")["fit_from"].values[0][place] + 2
    assert answer.table("odds")["in_range"].values.not_known.max() >= 1


def test_holes_in_this_seasons_days_are_drawn_and_said():
    of = RECORD.tmin.copy()
    begin = int((np.datetime64("2020-07-01") - RECORD.start).astype(int))
    of[begin : begin + 6] = np.nan
    answer = asked(Site(replace(RECORD, tmin=of)))
    least, most = answer.values["heat"]["gathered"]
    assert least < plain().values["heat"]["gathered"][0] + 40 and least < most
    assert answer.values["own_days_missing"] == 6
    assert any(says.key == "own_missing" for says in answer.sentences)


def test_the_stage_is_told_from_sowing_on():
    stages = [asked(today=f"2020-{day}").values["stage"] for day in ("05-16", "06-12", "07-10", "08-25", "09-30")]
    keys = [getattr(stage, "name", getattr(stage, "key", "")) for stage in stages]
    assert keys[0] == "stage_not_up"
    assert keys[1] in ("emergence", "v5") and keys[2] in ("v5", "canopy_closed")
    assert keys[3] in ("silking", "dent", "half_milk")
    assert keys[4] in ("half_milk", "fit_to_chop", "black_layer")


def test_a_tender_view_of_frost_kills_no_later_than_a_hardy_one():
    tender, usual, hardy = (
        asked(frost=end).table("odds")["killed"].values.total for end in ("tender", "usual", "hardy")
    )
    assert (tender >= usual).all() and (usual >= hardy).all()
    assert tender.sum() > hardy.sum()


def test_a_legume_in_it_makes_it_wetter_and_later_and_a_drier_store_waits_longer():
    assert fit(asked(legume_share=0.2)) > fit(plain())
    days = [fit(asked(store=store), how="by_weather") for store in ("bunker", "upright", "oxygen_limiting")]
    assert days == sorted(days)
    assert set(stores()) == {"bunker", "pile", "bag", "upright", "oxygen_limiting"}


def test_one_past_season_gives_an_answer_with_a_wide_interval():
    answer = asked(today="1991-08-25")
    share = answer.table("odds")["in_range"].values
    assert share.seasons == 1
    assert (share.high - share.low).max() > 0.5


def test_today_is_the_day_after_the_last_reading_unless_said():
    index = int((np.datetime64("2020-09-05") - RECORD.start).astype(int))
    cut = replace(RECORD, tmin=RECORD.tmin[:index], tmax=RECORD.tmax[:index])
    answer = chop(Site(cut), CORN, SEEDED)
    assert answer.values["today"].column == column(9, 5)
    assert answer.values["season"] == 2020


@pytest.mark.parametrize(("options", "error", "says"), [
    ({"today": "2020-05-01"}, SettingError, r"Seeding on 15 May is not before today, 1 May"),
    ({"today": "2020-11-20"}, SettingError, r"Today, 20 November, is after the end of the season, 31 October"),
    ({"today": "yesterday"}, SettingError, r"'yesterday' is not a date"),
    ({"today": "NaT"}, SettingError, r"'NaT' is not a date"),
    ({"moisture": 0.0}, SettingError, r"moisture of 0 % is outside 40 to 90"),
    ({"moisture": 100.0}, SettingError, r"moisture of 100 % is outside 40 to 90"),
    ({"milk_line": 1.5}, SettingError, r"milk line of 1.5 is outside 0 to 1"),
    ({"silking": column(5, 1)}, SettingError, r"Silking on 1 May is not after seeding on 15 May"),
    ({"silking": column(9, 20)}, SettingError, r"Silking on 20 September is not before today, 25 August"),
    ({"silking": column(8, 20), "milk_line": (0.5, column(8, 10))}, SettingError, r"A milk line 50 % down on 10 August is not after silking"),
    ({"moisture": (70.0, column(9, 1))}, SettingError, r"A moisture of 70 % on 1 September is not before today"),
    ({"store": "bunkr"}, SettingError, r"store='bunkr' is not known. Did you mean 'bunker'\?"),
    ({"target": (70, 65)}, SettingError, r"range of 70 to 65 % moisture is outside 40 to 80, or upside down"),
    ({"legume_share": 1.2}, SettingError, r"legume share of 1.2 is outside 0 to 1"),
    ({"today": "2025-08-25"}, RecordError, r"no day of season 2025 from 16 May to 24 August"),
    ({"today": "1990-08-25"}, RecordError, r"none before 1990"),
])  # fmt: skip
def test_what_can_not_be_gets_two_lines(options, error, says):
    with pytest.raises(error, match=says) as found:
        asked(**options)
    assert isinstance(found.value, FrostkitError)
    assert found.value.do


def test_nothing_to_start_from_gets_two_lines():
    with pytest.raises(SettingError, match="nothing to start from"):
        asked(seeding=None)


def test_a_crop_that_is_not_silage_corn_gets_two_lines():
    with pytest.raises(CropError, match="forage-late does not say its moisture"):
        hybrid(load("forage-late"))
