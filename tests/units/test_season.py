"""Through the season against plain loops over this season's days and the rest of every past one."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.answer import StageName, Term
from frostkit.answers.plans import whole_plan
from frostkit.answers.season.season import season
from frostkit.answers.season.stages import by_weather, course, killed_on, moments, with_spread
from frostkit.crops.entry import load
from frostkit.ensemble.pin import pin
from frostkit.ensemble.site import Site
from frostkit.errors import CropError, RecordError, SettingError
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import MISSING, column
from frostkit.seasons.growth import stage_days
from frostkit.seasons.windows import Shelter, killed
from tests.made_up import record
from tests.plain_loops import weather

FIRST, LAST = 1990, 2019
TMIN, TMAX = weather(11, LAST - FIRST + 1)
RAIN = np.where(np.random.default_rng(3).random(TMIN.shape) < 0.3, 60, 0).astype(np.int16)
SITE = Site(record(TMIN, TMAX, FIRST, RAIN), climate="as read")
CORN, BEAN = load("silage-2300"), load("forage-late")
SOWN, JULY, SEPTEMBER = column(5, 20), column(7, 10), column(9, 5)


def rows_of(today, site=SITE):
    return pin(site, LAST, today)


def chu(low, high):
    """Corn heat units of a day (Brown and Bootsma 1993)."""
    day = 3.33 * (high - 10) - 0.084 * (high - 10) ** 2 if high > 10 else 0.0
    night = 1.8 * (low - 4.4) if low > 4.4 else 0.0
    return (day + night) / 2


def silking_by_loop(low, high, sown, need):
    """The day by whose end the heat since the day after sowing has come to a need."""
    heat = 0.0
    for day in range(sown + 1, 304):
        heat += chu(low[day] / 10, high[day] / 10)
        if heat >= need - 1e-9:
            return day
    return np.inf


def test_without_anything_seen_stages_and_the_killing_day_are_the_kernels():
    rows = rows_of(JULY)
    for crop in (CORN, BEAN):
        of = course(rows, crop, SOWN, 50.0)
        plan = whole_plan(crop, 50.0)
        came = stage_days(rows.tmin, rows.tmax, plan, [SOWN])[:, 0]
        for number, stage in enumerate(plan.stages):
            assert (of.days[stage.name] == came[:, number]).all()
        assert (killed_on(rows, of) == killed(rows.tmin, rows.tmax, plan, [SOWN])[:, 0]).all()


def test_shelter_keeps_the_bean_alive_as_the_kernel_has_it():
    rows = rows_of(JULY)
    of = course(rows, BEAN, SOWN, 50.0)
    first, last = np.full(len(rows.tmin), 200.0), np.full(len(rows.tmin), 290.0)
    by_kernel = killed(rows.tmin, rows.tmax, whole_plan(BEAN, 50.0), [SOWN],
                       shelter=Shelter(1.5, first[:, None], last[:, None]))[:, 0]  # fmt: skip
    assert (killed_on(rows, of, shelter=(1.5, first, last)) == by_kernel).all()
    assert (by_kernel != killed_on(rows, of)).any()


def test_coming_stages_are_those_of_a_plain_loop_over_every_possible_season():
    answer = season(SITE, CORN, BEAN, seeding=SOWN, today=f"{LAST}-07-10")
    rows = answer.ensemble
    days = [silking_by_loop(low, high, SOWN, 1208.0) for low, high in zip(rows.tmin, rows.tmax, strict=True)]
    every = np.sort(np.array(days)[rows.index].ravel())
    table = answer.table("coming")
    place = [one.name for one in table.index.values].index("silking")
    n, draws = rows.seasons.size, len(rows.index)
    at = (np.arange(1, every.size + 1) / draws + (1 - 1 / draws) / 2) / (n + 1)
    for name, odds in (("early", 0.1), ("usual", 0.5), ("late", 0.9)):
        said = float(table[f"by_weather.{name}"].values[place])
        assert abs(said - np.interp(odds, at, every)) <= 1.0  # the moment lies within the day
        assert every[0] <= said <= every[-1]


def test_the_odds_of_a_killing_frost_before_a_stage_are_counted_season_by_season():
    late = column(6, 18)
    answer = season(SITE, CORN, None, seeding=late, today=f"{LAST}-09-05")
    rows, table = answer.ensemble, answer.table("coming")
    place = [one.name for one in table.index.values].index("black_layer")
    yes = 0
    for draw in rows.index:
        for row in draw:
            low, high = rows.tmin[row], rows.tmax[row]
            ripe = silking_by_loop(low, high, late, 2300.0)
            dead = next((day for day in range(SEPTEMBER - 60, 304) if low[day] <= -20), np.inf)
            yes += SEPTEMBER <= dead < np.inf and dead <= ripe
    share = table["killed_before"].values.at(place)
    assert int(share.total) == yes
    assert 0 < yes < rows.index.size


def test_heat_is_ranked_among_the_past_seasons_as_they_would_come():
    answer = season(SITE, CORN, None, seeding=SOWN, today=f"{LAST}-07-10")
    heat = answer.values["heat"]["corn"]
    before = answer.ensemble.before

    def gathered(low, high):
        return sum(chu(low[day] / 10, high[day] / 10) for day in range(SOWN + 1, JULY))

    own = gathered(TMIN[-1], TMAX[-1])
    theirs = [gathered(before.tmin[row], before.tmax[row]) for row in before.index[0]]
    assert heat["gathered"] == pytest.approx(own, abs=0.05)
    assert heat["warmer_seasons"] == sum(one > own for one in theirs)
    assert heat["of_seasons"] == len(theirs)


def test_an_observation_sets_the_stage_and_moves_what_follows_it():
    rows = rows_of(column(8, 1))
    usual = course(rows, CORN, SOWN, 50.0)
    up, silks = usual.days["emergence"][0], usual.days["silking"][0]
    late = course(rows, CORN, SOWN, 50.0, {"emergence": int(up) + 4})
    seen = course(rows, CORN, SOWN, 50.0, {"silking": int(silks) + 5})
    assert (late.days["v5"] >= usual.days["v5"]).all()
    assert (late.days["dent"] >= usual.days["dent"]).all()
    assert (late.days["dent"] > usual.days["dent"]).any()
    assert (seen.days["silking"] == silks + 5).all()
    assert (seen.days["dent"] > usual.days["dent"]).all()
    assert (seen.days["emergence"] == up).all()


def test_what_is_seen_on_the_day_that_heat_gives_moves_nothing():
    rows = rows_of(column(8, 1))
    usual = course(rows, CORN, SOWN, 50.0)
    as_it_came = {"emergence": int(usual.days["emergence"][0]), "silking": int(usual.days["silking"][0])}
    again = course(rows, CORN, SOWN, 50.0, as_it_came)
    for name in ("v5", "dent", "black_layer"):  # the day's heat beyond the need is what can differ
        both = np.isfinite(again.days[name]) & np.isfinite(usual.days[name])
        assert np.abs(again.days[name] - usual.days[name])[both].max() <= 2


def test_collars_seen_set_the_clock_of_leaves_and_of_corn_heat():
    rows = rows_of(column(7, 5))
    usual = course(rows, CORN, SOWN, 50.0)
    behind = course(rows, CORN, SOWN, 50.0, collars=(5, int(usual.days["v5"][0]) + 5))
    assert (behind.days["canopy_closed"] > usual.days["canopy_closed"]).all()
    assert (behind.days["silking"] > usual.days["silking"]).all()


def test_the_band_of_silking_narrows_as_the_season_goes_on():
    wide = []
    for today in (column(6, 1), column(6, 25), column(7, 10)):
        rows = rows_of(today)
        of = course(rows, CORN, SOWN, 50.0)
        early, _, late = by_weather(rows, moments(of.counts["silking"], of.days["silking"]))
        wide.append(late - early)
    assert wide[0] >= wide[1] >= wide[2]
    assert wide[0] > wide[2]


def test_the_crops_own_spread_widens_the_dates_of_the_weather_and_keeps_their_middle():
    rows = rows_of(JULY)
    of = course(rows, CORN, SOWN, 50.0)
    dead = killed_on(rows, of)
    weather_alone = by_weather(rows, moments(of.counts["silking"], of.days["silking"]))
    both = with_spread(rows, of.counts["silking"], dead, JULY, 303)
    assert both[0] <= weather_alone[0]
    assert both[2] >= weather_alone[2]
    assert abs(both[1] - weather_alone[1]) <= 1


def test_before_seeding_ready_cold_and_made_it_are_counted_by_plain_loops():
    answer = season(SITE, CORN, None, today=f"{LAST}-05-06")
    rows, table = answer.ensemble, answer.table("days")
    first = column(5, 6)
    for place in (0, 6, 20):
        day = first + place
        ready = cold = wet = 0
        for row in rows.index.ravel():
            air = (rows.tmin[row].astype(float) + rows.tmax[row]) / 20
            soil = weight = 0.0
            by_day = []
            for value in air:
                soil, weight = 0.8 * soil + 0.2 * value, 0.8 * weight + 0.2
                by_day.append(soil / weight + 0.8)
            ready += by_day[day] >= 10 - 1e-9 and by_day[day + 1] >= 10 - 1e-9
            cold += by_day[day] < 10 - 1e-9 or by_day[day + 1] < 10 - 1e-9
            wet += any(rows.prcp[row, at] >= 50 and air[at] < 10 for at in (day, day + 1))
        assert int(table["ready"].values.at(place).total) == ready
        assert int(table["cold_soil"].values.at(place).total) == cold
        assert int(table["cold_rain"].values.at(place).total) == wet


def test_the_first_fit_day_is_the_first_of_the_days_on_which_the_soil_is_ready():
    answer = season(SITE, CORN, BEAN, today=f"{LAST}-05-01")
    early, usual, late = answer.values["first_fit"]["both"]
    corn = answer.values["first_fit"]["corn"]
    assert column(5, 1) <= early.column <= usual.column <= late.column
    assert corn[1].column <= usual.column


def test_a_working_day_asked_of_ready_never_brings_more_ready_days():
    plain, working = (season(SITE, CORN, BEAN, today=f"{LAST}-05-06", workdays=on) for on in (False, True))
    more = working.table("days")["ready"].values.total - plain.table("days")["ready"].values.total
    assert (more <= 0).all()
    assert (more < 0).any()
    assert working.values["workdays"] is True


def test_without_rain_working_days_are_left_out_and_it_is_said():
    dry = Site(record(TMIN, TMAX, FIRST), climate="as read")
    answer = season(dry, CORN, BEAN, today=f"{LAST}-05-06", workdays=True)
    assert "no_rain" in [says.key for says in answer.sentences]
    assert "workday" not in answer.table("days")
    assert answer.values["cold_rain_48h"] is None
    assert answer.values["workdays"] is False


@pytest.mark.parametrize(
    ("soil", "advice"),
    [(4.0, "advice_wait"), (17.0, "advice_seed")],
)
def test_it_says_seed_where_a_forecast_holds_the_soil_warm_and_wait_where_it_holds_it_cold(soil, advice):
    days = np.full(10, soil)
    forecast = Forecast(np.datetime64(f"{LAST}-05-12"), days - 5, days + 5, np.zeros(10), np.zeros(10))
    tmin, tmax = TMIN.copy(), TMAX.copy()
    tmin[-1, column(4, 20) : column(5, 12)] = round(10 * (soil - 5))
    tmax[-1, column(4, 20) : column(5, 12)] = round(10 * (soil + 5))
    site = Site(record(tmin, tmax, FIRST), climate="as read")
    answer = season(site, CORN, None, today=f"{LAST}-05-12", forecast=forecast)
    assert answer.values["advice"] == Term(advice)
    assert answer.values["forecast_days"] == 10
    assert answer.headline.key == advice


def test_too_late_to_seed_is_said_where_no_day_reaches_the_odds():
    answer = season(SITE, load("silage-2600"), None, today=f"{LAST}-07-12")
    assert answer.headline.key == "advice_late"
    assert answer.values["last_day"] is None


def test_a_record_that_ends_in_july_draws_the_days_since_and_says_how_many():
    tmin, tmax = TMIN.copy(), TMAX.copy()
    tmin[-1, column(7, 21) :] = tmax[-1, column(7, 21) :] = MISSING
    of = record(tmin, tmax, FIRST)
    low, high = (np.where(part < -100, np.nan, part) for part in (of.tmin, of.tmax))
    site = Site(replace(of, tmin=low.astype(np.float32), tmax=high.astype(np.float32)))
    whole, cut = (season(one, load("silage-2600"), BEAN, seeding=SOWN, today=f"{LAST}-08-10") for one in (SITE, site))
    assert cut.values["own_days_missing"] == column(8, 10) - column(7, 21)
    assert "own_missing" in [says.key for says in cut.sentences]
    assert whole.values["own_days_missing"] == 0
    assert {line.name for line in cut.table("coming").index.values} >= {"fit", "black_layer"}
    assert season(site, CORN, BEAN, seeding=SOWN).values["today"].column == column(7, 21)


def test_a_record_without_a_day_since_seeding_is_refused():
    tmin, tmax = TMIN.copy(), TMAX.copy()
    of = record(tmin, tmax, FIRST)
    cut = int(np.flatnonzero(of.time() == np.datetime64(f"{LAST}-05-10"))[0])
    site = Site(replace(of, tmin=of.tmin[:cut], tmax=of.tmax[:cut]))
    with pytest.raises(RecordError, match="no day of season 2019 from 21 May to 9 August"):
        season(site, CORN, BEAN, seeding=SOWN, today=f"{LAST}-08-10")


@pytest.mark.parametrize(
    ("seen", "error", "message"),
    [
        ({"emergence": SOWN + 1}, SettingError, "within 3 days of sowing"),
        ({"collars": 7.5}, SettingError, "no leaf collar 7.5"),
        ({"collars": 40}, SettingError, "no leaf collar 40"),
        ({"moisture": 95.0}, SettingError, "outside 40 to 90"),
        ({"silking": SEPTEMBER}, SettingError, "after today"),
        ({"emergence": SOWN + 30, "collars": (3, SOWN + 20)}, SettingError, "is not after emergence"),
    ],
)
def test_what_cannot_have_been_seen_is_refused(seen, error, message):
    with pytest.raises(error, match=message):
        season(SITE, CORN, BEAN, seeding=SOWN, today=f"{LAST}-08-20", **seen)


def test_an_observation_that_the_entry_has_no_stage_for_is_refused():
    grain = load("soybean-00")
    with pytest.raises((CropError, SettingError), match="stage|collar"):
        season(SITE, grain, None, seeding=SOWN, today=f"{LAST}-08-20", silking=column(8, 1))


def test_something_seen_before_sowing_is_refused():
    with pytest.raises(SettingError, match="still to be sown"):
        season(SITE, CORN, BEAN, today=f"{LAST}-05-10", silking=column(5, 1))


def test_the_next_act_has_a_day_from_today_on_and_follows_the_stage():
    acts = {}
    for today in ("05-24", "06-20", "07-10", "08-10", "09-05"):
        answer = season(SITE, CORN, BEAN, seeding=SOWN, today=f"{LAST}-{today}")
        month, day = (int(part) for part in today.split("-"))
        assert all(one["day"].column >= column(month, day) for one in answer.values["next"])
        acts[today] = [one["what"].key for one in answer.values["next"]]
    assert "do_emergence" in acts["05-24"]
    assert "do_v5" in acts["06-20"] or "do_stand" in acts["06-20"]
    assert "do_silking" in acts["07-10"] or "do_milk_line" in acts["07-10"]
    assert "do_sample" in acts["08-10"]


def test_grain_corn_and_a_bean_alone_are_answered_too():
    grain = season(SITE, load("grain-corn-2100"), None, seeding=SOWN, today=f"{LAST}-07-20")
    assert grain.values["store"] is None
    assert [one.name for one in grain.table("coming").index.values][-1] == "black_layer"
    bean = season(SITE, None, load("soybean-000"), seeding=SOWN, today=f"{LAST}-07-20")
    assert isinstance(bean.values["stage"]["legume"], StageName)
    assert bean.values["stage"]["corn"] is None
