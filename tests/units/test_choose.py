"""Which hybrid and which bean: the largest rating solved against trying out, entries ranked by their plan."""

import numpy as np
import pytest

from frostkit.answers.corn import fit_plan
from frostkit.answers.seeding.choose import choose
from frostkit.answers.seeding.grids import FIRST, LAST, totals
from frostkit.answers.seeding.ratings import heat_met, met_at, on_first_fit_day
from frostkit.answers.seeding.window import window
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import load
from frostkit.crops.rated import at_rating
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import CropError, SettingError
from frostkit.seasons.calendar import column
from frostkit.seasons.soil import ready
from frostkit.seasons.windows import made_it, waited
from tests import made_up, plain_loops, plain_window

DAYS = np.arange(FIRST, LAST + 1)
SEASONS = 12
LIKE = {"silage": load("silage-2300"), "grain": load("grain-corn-2300")}
DAY = column(5, 20)


def weather(seed=1):
    tmin, tmax = plain_loops.weather(seed, SEASONS, warmer=-2.0)
    return tmin, tmax


@pytest.fixture(scope="module")
def site():
    return Site(made_up.record(*weather()), climate=AS_READ)


@pytest.fixture(scope="module")
def answer(site):
    return choose(site, DAY)


def made(rows, use, rating, store, days):
    return made_it(rows.tmin, rows.tmax, fit_plan(at_rating(LIKE[use], rating), wanted(store), 50.0), days)


@pytest.mark.parametrize("store", ["bunker", "oxygen_limiting"])
@pytest.mark.parametrize("use", ["silage", "grain"])
@pytest.mark.parametrize("odds", [0.5, 0.8])
def test_the_largest_rating_makes_it_and_one_more_chu_does_not(site, use, store, odds):
    rows = site.ensemble()
    table = choose(site, DAY, odds=odds, store=store).table("largest_rating")
    rating = table["rating" if use == "silage" else "grain.rating"].values
    for place in range(0, DAYS.size, 15):
        if rating[place] is not None:
            day = DAYS[place : place + 1]
            reach = [
                totals(rows, made(rows, use, rating[place] + more, store, day))[0] >= odds * SEASONS for more in (0, 1)
            ]
            assert reach == [True, False]
    assert sum(one is not None for one in rating) > 40


def test_the_largest_by_plan_is_that_of_the_first_fit_day(site):
    rows, of = site.ensemble(), fit_plan(LIKE["grain"], wanted("bunker"))
    fit = ready(rows.tmin, rows.tmax, of.warm, DAYS)
    met = heat_met(rows, "grain", wanted("bunker"), DAYS, 50.0)
    by_plan = on_first_fit_day(met, fit)
    for rating in (1500, 1900, 2300):
        need = rating * of.stages[-1].clock.per_unit
        assert np.array_equal(met >= need, made(rows, "grain", rating, "bunker", DAYS))
        assert np.array_equal(by_plan >= need, waited(met >= need, fit))


def test_the_heat_met_is_that_of_plain_loops(site):
    """From the day after sowing to the evening before the frost that kills, or to 31 October."""
    rows = site.ensemble()
    met = heat_met(rows, "grain", wanted("bunker"), DAYS, 50.0)[rows.index[0]] / 50_000
    tmin, tmax = weather()
    for y in range(0, SEASONS, 3):
        of = plain_window.season(tmin[y], tmax[y])
        for place in range(0, DAYS.size, 20):
            dead = plain_window.corn(of, int(DAYS[place]), 1e9)[1]
            stop = plain_window.END + 1 if dead is None else dead
            assert met[y, place] == pytest.approx(sum(of["chu"][DAYS[place] + 1 : stop]), abs=1e-3)


def test_the_need_met_at_the_odds_is_met_by_as_many_seasons_and_the_next_larger_by_fewer(site):
    rows = site.ensemble()
    met = heat_met(rows, "silage", wanted("bunker"), DAYS, 50.0)
    for odds in (0.05, 0.5, 0.8, 0.99):
        at = met_at(rows, met, odds)
        assert ((met >= at).sum(0) >= odds * SEASONS).all()
        assert ((met > at).sum(0) < odds * SEASONS).all()


def test_higher_odds_and_a_colder_field_never_carry_a_larger_rating(site):
    def ratings(of, odds=0.8):
        values = choose(of, DAY, odds=odds).table("largest_rating")["rating"].values
        return np.array([-1 if one is None else one for one in values])

    assert (ratings(site, 0.9) <= ratings(site, 0.8)).all()
    tmin, tmax = weather()
    colder = Site(made_up.record(tmin - 10, tmax - 10), climate=AS_READ)
    assert (ratings(colder) <= ratings(site)).all() and (ratings(colder) < ratings(site)).any()


def test_the_entry_named_on_a_day_is_the_largest_of_the_library_below_the_rating_solved(answer):
    table = answer.table("largest_rating")
    for rating, entry in zip(table["rating"].values, table["entry"].values, strict=True):
        under = [one for one in (2000, 2150, 2300, 2450, 2600) if rating is not None and one <= rating]
        assert (None if entry is None else entry.name) == (f"silage-{under[-1]}" if under else None)


def test_hybrids_are_ranked_by_the_plan_that_the_window_counts(site, answer):
    table = answer.table("corn")
    totals_ = table["odds"].values.total
    assert (np.diff(totals_) <= 0).all()
    for row in range(len(table)):
        name = table.index.values[row].name
        one = window(site, load(name), seeding=DAY).values["seeding"]["corn"]
        assert (one["plan"].total, one["count"]) == (totals_[row], table["made_it"].values.count[row])
        assert table["reaches"].values[row] == (totals_[row] >= 0.8 * SEASONS)
    reach = [crop.name for crop, yes in zip(table.index.values, table["reaches"].values, strict=True) if yes]
    silage = [name for name in reach if name.startswith("silage")]
    assert answer.values["highest"]["silage"] == (max(silage) if silage else None)
    assert answer.values["within"] == answer.values["highest"]["silage"]


def test_earliness_is_not_weighed(site):
    """Of entries that make it as often, the one of the higher rating stands first, whatever day it is fit on."""
    table = choose(site, column(5, 5), corns=[load("silage-1700"), load("silage-1725")]).table("corn")
    assert table["odds"].values.total[0] == table["odds"].values.total[1]
    assert table.index.values[0].name == "silage-1725"


def test_a_grain_bean_counts_in_the_open_and_a_forage_bean_under_the_corn(answer):
    table = answer.table("beans")
    for row in range(len(table)):
        if table["use"].values[row] == "grain":
            assert table["odds"].values.total[row] == table["in_the_open"].values.total[row]
    assert {"grain", "forage"} <= set(table["use"].values)


def test_cold_starts_are_the_days_that_the_seedbed_is_not_fit(site, answer):
    rows = site.ensemble()
    fit = ready(rows.tmin, rows.tmax, fit_plan(LIKE["silage"], wanted("bunker")).warm, [DAY])
    cold = answer.values["cold_start"]["corn"]
    assert cold["cold"].count == SEASONS - totals(rows, fit)[0]
    assert cold["cold_and_wet"] is None


def test_rain_on_cold_days_is_counted_and_a_day_without_a_reading_is_dry():
    """Without any reading at that time of the year the record has no rain to tell of."""
    tmin, tmax = weather()
    rain = np.full(tmin.shape, 60)
    wet = choose(Site(made_up.record(tmin, tmax, prcp=rain), climate=AS_READ), DAY).values["cold_start"]["corn"]
    assert wet["cold_and_wet"].count == wet["cold"].count > 0
    record = made_up.record(tmin, tmax, prcp=rain)
    record.more["prcp"][:] = np.nan
    record.more["prcp"][:30] = 0
    none = choose(Site(record, climate=AS_READ), DAY).values["cold_start"]["corn"]
    assert none["cold_and_wet"] is None
    record.more["prcp"][: 2 * 365] = 6
    dry = choose(Site(record, climate=AS_READ), DAY).values["cold_start"]["corn"]
    assert dry["cold_and_wet"].count <= 2 < dry["cold"].count


def test_without_a_latitude_the_beans_that_go_by_day_length_are_left_out_and_named(site):
    record = made_up.record(*weather(), latitude=float("nan"))
    answer = choose(Site(record, climate=AS_READ), DAY)
    assert "soybean-00" in answer.values["left_out"]
    assert "left_out" in [says.key for says in answer.sentences]
    listed = [crop.name for crop in answer.table("beans").index.values]
    assert "forage-late" in listed and not set(listed) & set(answer.values["left_out"])


@pytest.mark.parametrize(
    ("how", "says"),
    [
        ({"odds": 1.5}, "Odds of 1.5 can't be wanted"),
        ({"corns": [], "beans": []}, "no crop to choose from"),
        ({"corns": [load("forage-late")]}, "forage-late is no corn"),
        ({"beans": [load("silage-2300")]}, "silage-2300 is no legume"),
        ({"after": 90}, "90 days after the corn"),
    ],
)
def test_wrong_questions_are_answered_with_what_is_allowed(site, how, says):
    with pytest.raises(SettingError, match=says):
        choose(site, DAY, **how)


def test_a_day_beyond_those_looked_at_is_refused(site):
    with pytest.raises(SettingError, match="1 September is not among the seeding days"):
        choose(site, column(9, 1))


def test_a_rating_that_nobody_sells_is_refused():
    with pytest.raises(CropError, match="outside 1,700 to 3,600"):
        load("grain-corn-9000")
