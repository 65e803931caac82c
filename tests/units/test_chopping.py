"""Chopping time: what moves the forecast, what narrows it, and what it refuses."""

import json
from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.chopping import chopping
from frostkit.answers.drying import hybrid, spread_on
from frostkit.answers.rests import NEWEST, season_of
from frostkit.answers.station import behind
from frostkit.answers.stores import stores
from frostkit.crops.entry import load
from frostkit.errors import CropError, FrostkitError, RecordError, SettingError
from frostkit.records.forecast import Forecast
from frostkit.records.record import Record, Station
from frostkit.seasons.calendar import column

SEEDED, TODAY = column(5, 15), "2020-08-25"
CORN = load("silage-2300")


def summers(first=1985, last=2020, seed=4, warmer=0.0):
    """An invented place: a smooth year, weather with memory, made-up numbers."""
    generator = np.random.default_rng(seed)
    days = np.arange(np.datetime64(f"{first}-01-01"), np.datetime64(f"{last + 1}-01-01"))
    of_year = (days - days.astype("datetime64[Y]")).astype(int)
    mean = 3.5 - 16.5 * np.cos(2 * np.pi * (of_year - 20) / 365) + warmer
    weather = np.zeros(days.size)
    noise = generator.normal(0, 2.6, days.size)
    for day in range(1, days.size):
        weather[day] = 0.7 * weather[day - 1] + noise[day]
    tmin, tmax = mean + weather - 6.5, mean + weather + 6.5 + generator.normal(0, 0.5, days.size)
    return Record(Station("X1", "Made up", 50.0, -100.0, 250.0), days[0], np.round(tmin, 1).astype(np.float32),
                  np.round(tmax, 1).astype(np.float32), invented=True)  # fmt: skip


RECORD = summers()
BEHIND = behind(RECORD)


def standing_today(**options):
    return chopping(BEHIND, CORN, SEEDED, **({"today": TODAY} | options))


def width(answer):
    return answer.fit_from.all[2] - answer.fit_from.all[0]


def test_the_answer_has_what_a_field_sheet_needs():
    answer = standing_today()
    told = json.loads(json.dumps(answer.to_dict()))
    assert told["title"].startswith("Fit for the bunker from about")
    assert told["stage"] == "silking"
    assert [c["topic"] for c in told["cautions"]] == ["silo_gas", "nitrate", "herbicide", "local"]
    assert len(told["days"]) == len(told["odds"]["in_range"]["odds"]) == column(10, 31) - column(8, 25) + 1
    assert told["check"]
    assert told["does_not_know"]
    assert told["record"]["invented"] is True


def test_on_every_day_it_is_too_wet_in_range_or_too_dry():
    odds = standing_today().odds
    np.testing.assert_allclose(sum(odds[name].odds for name in ("too_wet", "in_range", "too_dry")), 1, atol=1e-9)
    counts = [odds[name].share for name in ("too_wet", "in_range", "too_dry")]
    assert (sum(of.yes for of in counts) == counts[0].complete).all()


def test_it_only_gets_drier_and_frost_only_likelier():
    odds = standing_today().odds
    assert (np.diff(odds["too_wet"].odds) <= 1e-9).all()
    assert (np.diff(odds["too_dry"].odds) >= -1e-9).all()
    assert (np.diff(odds["killed"].odds) >= 0).all()


def test_counts_equal_a_plain_count_over_the_rests():
    answer = standing_today(newest=None)
    limits, index = answer.store, 20
    day = answer.days[index]
    by_hand = 0
    for first, last in zip(answer.season_dates.first, answer.season_dates.last, strict=True):
        assert first == last  # no missing days here
        by_hand += first > day
    assert answer.odds["too_wet"].share.yes[index] == by_hand
    assert limits.high == 70


def test_seasons_used_are_the_newest_and_never_later_ones():
    assert standing_today().rests.seasons.tolist() == list(range(2020 - NEWEST, 2020))
    assert standing_today(newest=None).rests.seasons.tolist() == list(range(1985, 2020))
    assert standing_today(today="2010-08-25").rests.seasons.max() == 2009


def test_a_wetter_sample_delays_and_a_drier_one_hastens_and_both_narrow():
    plain = standing_today()
    wet, dry = (standing_today(moisture=value) for value in (80.0, 72.0))
    assert dry.fit_from.all[1] < plain.fit_from.all[1] < wet.fit_from.all[1]
    assert width(dry) < width(plain)
    for answer in (wet, dry):
        assert (spread_on(answer.days, answer.standing) <= spread_on(plain.days, plain.standing)).all()
        assert answer.standing.spread < plain.standing.spread


def test_the_stated_rule_of_an_observation_is_what_is_done():
    # drying.py: weights are one over the variance; by heat 4 points, a sample 2: it counts 16 of 20
    expected = standing_today().moisture_now[0]
    answer = standing_today(moisture=expected + 5)
    ((seen, moved, left),) = answer.standing.moved
    assert seen.kind == "moisture"
    assert moved == pytest.approx(5 * 16 / 20)
    assert left == pytest.approx(np.sqrt(16 * 4 / 20))
    assert answer.moisture_now[0] == pytest.approx(expected + 4)


def test_a_milk_line_narrows_less_than_a_sample():
    spreads = [standing_today(**seen).standing.spread for seen in ({}, {"milk_line": 0.1}, {"moisture": 72.0})]
    assert spreads[0] > spreads[1] > spreads[2]
    both = standing_today(milk_line=0.1, moisture=72.0)
    assert both.standing.spread < spreads[2]


def test_an_old_observation_is_worth_less_than_a_new_one():
    old, new = (standing_today(moisture=(76.0, column(8, day))) for day in (5, 25))
    days = old.moisture_now[1], new.moisture_now[1]
    assert days[0] > days[1]


def test_silking_seen_late_delays_and_narrows():
    plain = standing_today()
    heat = np.cumsum(plain.rests.own[1, SEEDED + 1 : plain.today])
    by_heat = SEEDED + 1 + int((heat >= plain.hybrid.silking).argmax())
    late = standing_today(silking=by_heat + 7)
    assert late.fit_from.all[1] > plain.fit_from.all[1]
    assert late.standing.spread < plain.standing.spread
    assert standing_today(silking=by_heat).fit_from.by_weather == pytest.approx(plain.fit_from.by_weather, abs=1)


def test_without_a_seeding_day_silking_or_a_sample_is_enough():
    for seen in ({"silking": column(8, 1)}, {"moisture": (76.0, column(8, 20))}, {"milk_line": (0.2, column(8, 22))}):
        answer = chopping(BEHIND, CORN, today=TODAY, **seen)
        assert np.isfinite(answer.fit_from.all[1])


def test_a_warm_forecast_hastens_a_cold_one_delays_and_a_frosty_one_kills():
    start = np.datetime64(TODAY)
    none = np.zeros(10)
    plain = standing_today()
    warm, cold, frosty = (standing_today(forecast=Forecast(start, none + low, none + high, none, none))
                          for low, high in ((17, 30), (3, 13), (-4, 8)))  # fmt: skip
    assert warm.fit_from.by_weather[1] < plain.fit_from.by_weather[1] < cold.fit_from.by_weather[1]
    assert frosty.odds["killed"].odds[0] == 1
    assert warm.forecast_days == 10


def test_a_forecasts_spread_reaches_the_odds():
    start, none = np.datetime64(TODAY), np.zeros(10)
    sure, unsure = (
        standing_today(forecast=Forecast(start, none + 1.0, none + 14.0, none + s, none + s)) for s in (0.0, 3.0)
    )
    assert sure.odds["killed"].share.yes[5] == 0
    assert 0 < unsure.odds["killed"].share.yes[5] < 15
    assert np.ptp(unsure.season_dates.first) > np.ptp(sure.season_dates.first)


def test_a_forecast_that_is_what_came_gives_what_came():
    start = np.datetime64(TODAY)
    index = int((start - RECORD.start).astype(int))
    part = np.s_[index : index + 4]
    none = np.zeros(4)
    told = standing_today(
        forecast=Forecast(start, RECORD.tmin[part].astype(float), RECORD.tmax[part].astype(float), none, none)
    )
    later = standing_today(today=str(start + 4))
    np.testing.assert_array_equal(told.season_dates.first, later.season_dates.first)


def test_a_frost_so_far_is_said_with_the_cautions_of_frosted_corn():
    tmin = RECORD.tmin.copy()
    tmin[int((np.datetime64("2020-08-20") - RECORD.start).astype(int))] = -3.0
    answer = chopping(behind(replace(RECORD, tmin=tmin)), CORN, SEEDED, today=TODAY)
    assert answer.killed
    assert [c.topic for c in answer.cautions][:2] == ["nitrate", "silo_gas"]
    assert any("killing frost has come" in line for line in answer.says())
    np.testing.assert_allclose(np.diff(answer.moisture), -0.5, atol=1e-9)


def test_seasons_with_missing_days_are_bounds_and_not_left_out():
    tmin = RECORD.tmin.copy()
    gap = np.datetime64("2015-08-27") - RECORD.start
    tmin[int(gap.astype(int)) : int(gap.astype(int)) + 12] = np.nan
    holed, plain = chopping(behind(replace(RECORD, tmin=tmin)), CORN, SEEDED, today=TODAY), standing_today()
    at = holed.rests.seasons.tolist().index(2015)
    assert not holed.rests.complete[at]
    assert holed.season_dates.first[at] < holed.season_dates.last[at]
    truth = plain.season_dates.first[plain.rests.seasons.tolist().index(2015)]
    assert holed.season_dates.first[at] <= truth <= holed.season_dates.last[at]
    assert holed.odds["in_range"].share.not_known.max() >= 1


def test_more_missing_days_never_turn_a_yes_into_a_no():
    generator = np.random.default_rng(8)
    plain = standing_today(newest=None)
    tmin = RECORD.tmin.copy()
    before = RECORD.time() < np.datetime64("2020-01-01")
    tmin[before & (generator.random(tmin.size) < 0.06)] = np.nan
    holed = chopping(behind(replace(RECORD, tmin=tmin)), CORN, SEEDED, today=TODAY, newest=None)
    assert (holed.season_dates.first <= plain.season_dates.first).all()
    assert (holed.season_dates.last >= plain.season_dates.last).all()


def test_weights_for_seasons_like_this_one_are_shown_and_favour_near_ones():
    answer = standing_today(like=True)
    assert sum(answer.weights.values()) == pytest.approx(1)
    heat = answer.rests.past[1, :, SEEDED + 1 : answer.today].sum(1)
    mine = answer.rests.own[1, SEEDED + 1 : answer.today].sum()
    near = int(answer.rests.seasons[np.argmin(abs(heat - mine))])
    assert max(answer.weights, key=answer.weights.get) == near
    assert standing_today().weights is None


def test_fewer_than_10_seasons_give_counts_and_no_odds():
    short = chopping(behind(summers(2013, 2020)), CORN, SEEDED, today=TODAY)
    assert np.isnan(short.odds["in_range"].odds).all()
    assert short.odds["in_range"].share.yes.max() > 0
    assert short.title().startswith("Too few complete past seasons")
    json.dumps(short.to_dict())


def test_the_stage_is_told_from_sowing_on():
    stages = [chopping(BEHIND, CORN, SEEDED, today=f"2020-{day}").stage
              for day in ("05-16", "06-12", "07-15", "08-25", "09-20")]  # fmt: skip
    assert stages[0] == "sown, not yet emerged"
    assert stages[1:3] == ["emergence", "fifth leaf collar (V5)"]
    assert stages[3] == "silking"
    assert stages[4] in ("milk line half way", "fit to chop (whole plant at 65 % moisture)", "black layer")


def test_a_tender_view_of_frost_kills_no_later_than_a_hardy_one():
    tender, usual, hardy = (standing_today(frost=end).odds["killed"].odds for end in ("tender", "usual", "hardy"))
    assert (tender >= usual).all()
    assert (usual >= hardy).all()
    assert tender.sum() > hardy.sum()


def test_a_legume_in_it_makes_it_wetter_and_later():
    assert standing_today(legume_share=0.2).fit_from.all[1] > standing_today().fit_from.all[1]


def test_a_drier_store_waits_longer():
    days = [standing_today(store=store).fit_from.by_weather[1] for store in ("bunker", "upright", "oxygen_limiting")]
    assert days == sorted(days)
    assert set(stores()) == {"bunker", "pile", "bag", "upright", "oxygen_limiting"}


def test_today_is_the_day_after_the_last_reading_unless_said():
    index = int((np.datetime64("2020-09-05") - RECORD.start).astype(int))
    cut = replace(RECORD, tmin=RECORD.tmin[:index], tmax=RECORD.tmax[:index])
    assert chopping(behind(cut), CORN, SEEDED).today == column(9, 5)


def test_a_leap_day_and_a_southern_season_have_their_column():
    assert season_of(np.datetime64("2020-02-29")) == (2020, column(2, 28))
    assert season_of(np.datetime64("2020-03-01"), (7, 1)) == (2019, column(3, 1, (7, 1)))


@pytest.mark.parametrize(("options", "error", "says"), [
    ({"today": "2020-05-01"}, SettingError, r"Seeding on 15 May is not before today, 1 May"),
    ({"today": "2020-11-20"}, SettingError, r"Today, 20 November, is after the end of the season, 31 October"),
    ({"today": "yesterday"}, SettingError, r"'yesterday' is not a date"),
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
    ({"today": "1985-08-25"}, RecordError, r"no season before 1985"),
])  # fmt: skip
def test_what_can_not_be_gets_two_lines(options, error, says):
    with pytest.raises(error, match=says) as found:
        standing_today(**options)
    assert isinstance(found.value, FrostkitError)
    assert found.value.do


def test_nothing_to_start_from_gets_two_lines():
    with pytest.raises(SettingError, match="nothing to start from"):
        chopping(BEHIND, CORN, today=TODAY)


def test_a_crop_that_is_not_silage_corn_gets_two_lines():
    with pytest.raises(CropError, match="forage-late does not say its moisture"):
        hybrid(load("forage-late"))
