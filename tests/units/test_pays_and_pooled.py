"""The day that pays best to stand ready from, and stations taken together: by hand, by plain loops and by laws."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.answers.seeding.grids import FIRST, LAST, asking, grids
from frostkit.answers.seeding.pays import YEARS, over_years, pays_best
from frostkit.answers.seeding.pooled import nearness, pool
from frostkit.answers.seeding.window import window
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.errors import SettingError
from frostkit.odds.share import share
from frostkit.records.field import low_spot
from frostkit.records.record import Station
from tests import made_up, plain_loops

CORN, LEGUME = load("silage-2300"), load("forage-late")
DAYS = np.arange(FIRST, LAST + 1)
SEASONS = 14


def made(colder=2.0, **where):
    tmin, tmax = plain_loops.weather(5, SEASONS, warmer=-colder)
    return made_up.record(tmin, tmax, **where)


@pytest.fixture(scope="module")
def site():
    return Site(made(), climate=AS_READ)


def paid(site, **amounts):
    return window(site, CORN, **amounts).values["pays"]


# --- what pays --------------------------------------------------------------------------------------------------------


def test_what_a_day_pays_is_added_up_season_by_season(site):
    """Sown on the first fit day: it brings what that day is worth, or costs the loss; not sown at all it pays nothing."""
    answer = window(site, CORN, worth=900, per_day=6, loss=400)
    rows = site.ensemble()
    found = grids(rows, asking(site, CORN, None))
    for place in range(0, DAYS.size, 7):
        total = 0.0
        for row in rows.index[0]:
            first = next((at for at in range(place, DAYS.size) if found.fit["corn"][row, at]), None)
            if first is not None:
                total += 900 - 6 * first if found.made["corn"][row, first] else -400
        assert answer.table("pays_by_day")["mean"].values[place] == pytest.approx(total / SEASONS, abs=0.006)


def test_the_best_day_is_one_that_the_soil_may_be_fit_on_and_pays_most(site):
    answer = window(site, CORN, worth=900, per_day=6, loss=400)
    of, mean = answer.values["pays"], answer.table("pays_by_day")["mean"].values
    soon = answer.table("odds")["corn.ready"].values.total >= 0.1 * SEASONS
    assert of["mean"] == mean[soon].max() == mean[of["best"].column - FIRST]
    assert of["low"] <= of["mean"] <= of["high"]
    assert of["between"][0].column <= of["best"].column <= of["between"][1].column


def test_sowing_pays_until_the_last_day_that_brings_more_than_it_risks(site):
    answer = window(site, CORN, worth=900, per_day=6, loss=400)
    share_of = answer.table("odds")["corn"].values.share
    gain = share_of * (900 - 6 * np.arange(DAYS.size)) - (1 - share_of) * 400
    assert answer.values["pays"]["until"].column == DAYS[np.flatnonzero(gain > 0)[-1]]


def test_a_dearer_wait_never_moves_the_best_day_later_and_a_dearer_loss_never_the_last_one(site):
    best = [paid(site, worth=900, per_day=cost, loss=100)["best"].column for cost in (0, 5, 20)]
    assert best == sorted(best, reverse=True)
    until = [paid(site, worth=900, loss=cost)["until"].column for cost in (0, 100, 2000, 20000)]
    assert until == sorted(until, reverse=True) and until[0] > until[-1]


def test_the_risk_over_years_follows_the_published_form(site):
    """1 - (1 - p)^n: Snyder and de Melo-Abreu 2005, FAO, vol. 2 ch. 1, from memory; p is the share that failed."""
    answer = window(site, CORN, worth=900)
    of = answer.values["pays"]
    failed = 1 - answer.table("odds")["corn.plan"].values.share[of["best"].column - FIRST]
    assert of["fails_once"]["share"] == pytest.approx(1 - (1 - failed) ** YEARS)
    assert of["fails_once"]["low"] <= of["fails_once"]["share"] <= of["fails_once"]["high"]


def test_risk_over_years_rises_with_both():
    table = over_years(np.array([0.05, 0.1, 0.2])[:, None], [1, 5, 20])
    assert (np.diff(table, axis=0) > 0).all()
    assert (np.diff(table, axis=1) > 0).all()
    assert table[:, 0] == pytest.approx([0.05, 0.1, 0.2])


@pytest.mark.parametrize(("worth", "loss"), [(0, 10), (-5, 0), (100, -1), (float("nan"), 0)])
def test_amounts_that_cannot_be_weighed_are_refused(site, worth, loss):
    with pytest.raises(SettingError, match="can't be weighed"):
        window(site, CORN, worth=worth, loss=loss)


def deadlines(seasons=40, seed=3):
    """What each day pays: 10 a day up to a deadline that moves from season to season, -200 after it."""
    deadline = np.round(np.random.default_rng(seed).normal(30, 5, seasons))
    return np.where(np.arange(60) <= deadline[:, None], np.arange(60) * 10.0, -200.0)


def best(pays, seed=1, times=2000):
    return pays_best(pays, np.ones(pays.shape[1], bool), np.random.default_rng(seed), times)


def test_fewer_seasons_leave_the_best_day_less_sure():
    few, many = best(deadlines(12)), best(deadlines(400))
    assert np.subtract(*few.between[::-1]) > np.subtract(*many.between[::-1])


def test_the_best_day_is_within_its_spread_as_often_as_promised():
    # The truth: deadline normal(30, 5) rounded; gain 10 a day, loss 200. 90 % promised; drawing seasons again is first
    # order, so 80 % and more is asked of 60 records of 40 seasons.
    truth = int(deadlines(200_000, 8).mean(0).argmax())
    inside = 0
    for seed in range(60):
        got = best(deadlines(40, seed), seed, 300)
        inside += got.between[0] <= truth <= got.between[1]
    assert inside >= 48


def test_days_that_pay_the_same_are_answered_by_their_middle():
    assert best(np.tile([-5.0, 5, 5, 5, -5], (20, 1))).best == 2


# --- stations taken together ------------------------------------------------------------------------------------------


def of(yes, seasons=30):
    """A share of so many seasons; one for each entry of `yes`."""
    return share(np.arange(seasons)[None, :, None] < np.atleast_1d(yes), np.ones(seasons, bool))


def test_a_station_taken_twice_says_what_it_says_alone(site):
    answer = window(site, CORN, LEGUME, also=[site])
    table, alone = answer.table("pooled_odds"), answer.table("odds")
    for key, name in (("made_it", "both"), ("ready", "both.ready"), ("plan", "both.plan")):
        for part in ("share", "low", "high"):
            assert table[f"{key}.{part}"].values == pytest.approx(getattr(alone[name].values, part), abs=1e-9)
        assert table[f"{key}.apart"].values == pytest.approx(0)
    mine = answer.values["window"]
    assert answer.values["pooled"]["window"] == {"from": mine["from"], "to": mine["to"]}


def test_stations_that_agree_are_worth_one_and_those_that_disagree_less():
    alike, apart = pool([of(24)] * 3, [1, 1, 1]), pool([of(18), of(24), of(30)], [1, 1, 1])
    assert alike.low == pytest.approx(of(24).low) and alike.high == pytest.approx(of(24).high)
    assert apart.share == pytest.approx(0.8)
    assert apart.high - apart.low > 1.5 * (alike.high - alike.low)
    assert apart.apart == pytest.approx(0.2)


def test_the_interval_is_never_narrower_than_the_stations_own():
    unsure = of(24)._replace(low=np.array([0.3]), high=np.array([0.99]))
    got = pool([unsure, unsure], [1, 1])
    assert got.low <= 0.3 and got.high >= 0.99


def test_the_nearer_station_counts_more(site):
    field = Station("field", "field", 50.0, -100.1, 400.0)
    near = replace(site, place=field)
    far = Site(made(5.0, longitude=-100.6), field, climate=AS_READ)
    answer = window(near, CORN, also=[far])
    weights = [one["weight"] for one in answer.values["pooled"]["stations"]]
    assert answer.values["pooled"]["by_nearness"]
    assert weights[0] > weights[1] and sum(weights) == pytest.approx(1, abs=1e-4)
    distance = [one.distance for one in (near, far)]
    wanted = np.exp(-((np.array(distance) / 50) ** 2))
    assert weights == pytest.approx(wanted / wanted.sum(), abs=1e-4)
    mixed = (
        weights[0] * answer.table("odds")["corn"].values.share
        + weights[1] * window(far, CORN).table("odds")["corn"].values.share
    )
    assert answer.table("pooled_odds")["made_it.share"].values == pytest.approx(mixed, abs=1e-4)


def test_where_the_field_lies_is_not_known_stations_weigh_the_same(site):
    answer = window(site, CORN, also=[Site(made(5.0), climate=AS_READ)])
    assert not answer.values["pooled"]["by_nearness"]
    assert [one["weight"] for one in answer.values["pooled"]["stations"]] == [0.5, 0.5]
    assert "pooled_equal" in [says.key for says in answer.sentences]


def test_height_counts_besides_distance():
    assert nearness(0, 100) == pytest.approx(np.exp(-1)) == nearness(50, 0)


def test_a_station_at_another_height_counts_less_in_an_answer():
    field = Station("field", "field", 50.0, -100.0, 400.0)
    one = made(2.0)
    beside, above = (
        Site(replace(one, station=Station("one", "one", 50.0, -100.1, height)), field, climate=AS_READ)
        for height in (400.0, 500.0)
    )
    answer = window(beside, CORN, also=[above])
    weights = [one["weight"] for one in answer.values["pooled"]["stations"]]
    wanted = np.exp(-((np.array([beside.distance, above.distance]) / 50) ** 2) - np.array([0.0, 1.0]))
    assert weights == pytest.approx(wanted / wanted.sum(), abs=1e-4)
    assert weights[0] == pytest.approx(np.e * weights[1], rel=1e-3)


@pytest.mark.parametrize("weight", [[1], [0, 0], [1, -1]])
def test_weights_that_do_not_fit_are_refused(weight):
    with pytest.raises(SettingError, match="don't fit 2 stations"):
        pool([of(20), of(20)], weight)


def test_stations_too_far_from_the_field_are_refused(site):
    field = Station("field", "field", 10.0, 30.0, 0.0)
    with pytest.raises(SettingError, match="too far from the field"):
        window(replace(site, place=field), CORN, also=[replace(site, place=field)])


def test_a_low_spot_goes_with_the_field_to_every_station(site):
    colder = replace(site, offset=low_spot(3.0))
    low, plain = (window(one, CORN, also=[one]).table("pooled_odds")["made_it.share"].values for one in (colder, site))
    assert (low <= plain + 1e-12).all() and (low < plain).any()
