"""Several things in the same seasons, the risk over years, the day that pays best, and several stations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from frostkit.errors import SettingError
from frostkit.odds.estimate import by_day, share
from frostkit.odds.joint import (
    after,
    all_of,
    any_of,
    before_other,
    by,
    condition,
    joint,
    opposite,
    over_years,
    pays_best,
)
from frostkit.odds.pooling import nearness, pool
from frostkit.seasons.interval import SeasonDates, dates

cell = st.sampled_from([(True, True), (False, False), (False, True)])  # yes, no, not known


def conditions(rows):
    return [condition(*(np.array(side) for side in zip(*row, strict=True))) for row in rows]


@given(st.lists(st.lists(cell, min_size=6, max_size=6), min_size=1, max_size=4))
def test_all_of_is_what_every_way_to_fill_the_holes_allows(rows):
    got = all_of(*conditions(rows))
    for season in range(6):
        cells = [row[season] for row in rows]
        assert got.certain[season] == all(certain for certain, _ in cells)
        assert got.possible[season] == all(possible for _, possible in cells)


@given(st.lists(st.lists(cell, min_size=6, max_size=6), min_size=1, max_size=4))
def test_any_of_is_the_opposite_of_none_of(rows):
    got = any_of(*conditions(rows))
    for season in range(6):
        assert got.certain[season] == any(row[season][0] for row in rows)
        assert got.possible[season] == any(row[season][1] for row in rows)


@given(st.lists(st.lists(cell, min_size=12, max_size=12), min_size=2, max_size=4))
def test_joint_odds_are_never_better_than_any_part(rows):
    parts = conditions(rows)
    together = joint(*parts)
    assert together.yes <= min(joint(one).yes for one in parts)
    assert together.low <= min(joint(one).low for one in parts)
    assert together.yes + together.no + together.not_known == 12


def test_things_that_share_a_summer_are_not_multiplied():
    warm = condition([1] * 15 + [0] * 15)
    assert joint(warm, warm).share == 0.5


def test_spring_and_fall_in_the_same_seasons():
    rng = np.random.default_rng(1)
    spring, fall = np.round(rng.normal(130, 10, 40)), np.round(rng.normal(265, 10, 40))
    got = joint(by(dates(spring), 135), after(dates(fall), 259))
    assert got.yes == ((spring <= 135) & (fall > 259)).sum()
    assert got.share == got.yes / 40


def test_a_date_that_can_lie_on_both_sides_of_a_day_is_not_known():
    got = joint(by(dates([250, 250, 262], [250, 262, 262]), 258))
    assert (got.yes, got.no, got.not_known) == (1, 1, 1)


def test_one_event_before_another():
    got = before_other(dates([250, 255, 260], [250, 262, 260]), dates([255, 258, 258]))
    assert got.certain.tolist() == [True, False, False]
    assert got.possible.tolist() == [True, True, False]
    assert opposite(got).possible.tolist() == [False, True, True]


def test_seeding_days_stay_on_their_axis_and_complete_seasons_count():
    rng = np.random.default_rng(2)
    corn, legume = (condition(rng.random((20, 7)) < 0.7) for _ in range(2))
    complete = np.arange(20) > 4
    got = joint(corn, legume, complete=complete[:, None], axis=0)
    both = corn.certain & legume.certain
    assert got.yes.tolist() == both.sum(0).tolist()
    assert got.complete_yes.tolist() == both[complete].sum(0).tolist()
    assert got.complete.tolist() == [15] * 7


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: all_of(), "no condition"),
        (lambda: condition([True], [False]), "certain and not possible"),
        (
            lambda: pays_best(condition(np.ones((9, 2))), 1, 1, np.random.default_rng(0)),
            "9 complete seasons are too few",
        ),
        (lambda: pool(share([20, 20], [10, 10]), [1]), "don't fit 2 stations"),
        (lambda: pool(share([20, 20], [10, 10]), [0, 0]), "not all 0"),
    ],
)
def test_wrong_questions_are_answered_with_what_is_allowed(call, says):
    with pytest.raises(SettingError, match=says):
        call()


def test_risk_over_years_rises_with_both():
    table = over_years(np.array([0.05, 0.1, 0.2])[:, None], [1, 5, 20])
    assert (np.diff(table, axis=0) > 0).all()
    assert (np.diff(table, axis=1) > 0).all()
    assert table[:, 0] == pytest.approx([0.05, 0.1, 0.2])


def made_up(seasons=40, seed=3):
    """Each seeding day works up to a deadline that moves from season to season."""
    deadline = np.round(np.random.default_rng(seed).normal(30, 5, seasons))
    return condition(np.arange(60) <= deadline[:, None]), deadline


def test_the_day_that_pays_best_is_found_by_adding_up_every_season():
    worked, deadline = made_up()
    gain, loss = np.arange(60) * 10.0, 200.0
    got = pays_best(worked, gain, loss, np.random.default_rng(1))
    totals = [sum(day * 10.0 if day <= end else -200.0 for end in deadline) / 40 for day in range(60)]
    np.testing.assert_allclose(got.mean, totals)
    assert got.best == int(np.argmax(totals))
    assert got.best_between[0] <= got.best <= got.best_between[1]
    assert got.gain_over[got.best] == 0
    assert (got.gain_over >= 0).all()
    assert (got.spread.low <= got.mean).all()
    assert (got.mean <= got.spread.high).all()
    assert got.share_of_seasons[20] == (deadline >= 20).mean()


def test_a_dearer_failure_moves_the_best_day_back():
    worked, _ = made_up()
    days = [pays_best(worked, np.arange(60) * 10.0, loss, np.random.default_rng(1)).best for loss in (10, 200, 20000)]
    assert days[0] >= days[1] > days[2]


def test_fewer_seasons_leave_the_best_day_less_sure():
    few, many = (pays_best(made_up(n)[0], np.arange(60) * 10.0, 200.0, np.random.default_rng(1)) for n in (12, 400))
    assert np.subtract(*few.best_between[::-1]) > np.subtract(*many.best_between[::-1])


def test_the_best_day_is_within_its_spread_as_often_as_promised():
    # The truth: deadline normal(30, 5) rounded; gain 10 a day, loss 200. 90 % promised; drawing seasons again is first
    # order, so 80 % and more is asked of 60 records of 40 seasons.
    day = np.arange(60)
    rng = np.random.default_rng(8)
    worked = np.round(rng.normal(30, 5, 200_000))[:, None] >= day
    truth = int(np.where(worked, day * 10.0, -200.0).mean(0).argmax())
    inside = 0
    for seed in range(60):
        got = pays_best(made_up(40, seed)[0], day * 10.0, 200.0, np.random.default_rng(seed), times=300)
        inside += got.best_between[0] <= truth <= got.best_between[1]
    assert inside >= 48


def test_days_that_pay_the_same_are_answered_by_their_middle():
    worked = condition(np.tile([0, 1, 1, 1, 0], (20, 1)))
    assert pays_best(worked, 5, 5, np.random.default_rng(0)).best == 2


def test_what_is_not_known_bounds_the_mean():
    certain = np.zeros((20, 1), bool)
    certain[:10] = True
    possible = certain.copy()
    possible[10:14] = True
    complete = np.r_[np.ones(10, bool), np.zeros(4, bool), np.ones(6, bool)]
    got = pays_best(condition(certain, possible), 10, 10, np.random.default_rng(0), complete)
    assert got.mean[0] == pytest.approx((10 * 10 - 6 * 10) / 16)
    assert got.bounds.low[0] == pytest.approx(0)
    assert got.bounds.high[0] == pytest.approx((14 * 10 - 6 * 10) / 20)


def test_stations_that_agree_are_worth_one_and_those_that_disagree_less():
    one = share(24, 6)
    alike = pool(share([24, 24, 24], [6, 6, 6]), [1, 1, 1])
    apart = pool(share([18, 24, 30], [12, 6, 0]), [1, 1, 1])
    assert alike.low == pytest.approx(one.low, abs=1e-9)
    assert alike.high == pytest.approx(one.high, abs=1e-9)
    assert apart.share == pytest.approx(0.8)
    assert apart.high - apart.low > 1.5 * (alike.high - alike.low)
    assert apart.apart == pytest.approx(0.2)


def test_a_nearer_station_counts_more():
    got = pool(share([18, 30], [12, 0]), nearness([5, 40], [0, 20]))
    assert got.share < 0.8
    assert got.weight.sum() == pytest.approx(1)
    assert got.weight[0] > got.weight[1]


def test_a_station_without_a_point_share_counts_for_nothing():
    with_few = pool(share([24, 3], [6, 2]), [1, 1])
    assert with_few.share == 0.8
    nobody = pool(share([3, 3], [2, 2]), [1, 1])
    assert np.isnan(nobody.share)
    assert (nobody.low, nobody.high) == (0, 1)


def test_not_known_seasons_of_the_stations_widen_the_pool():
    complete = {"complete": [28, 28], "complete_yes": [22, 22]}
    known, holed = pool(share([24, 24], [8, 8]), [1, 1]), pool(share([22, 22], [6, 6], [4, 4], **complete), [1, 1])
    assert holed.low < known.low
    assert holed.high > known.high


def test_odds_by_day_of_several_stations_are_pooled_day_by_day():
    rng = np.random.default_rng(4)
    falls = np.round(rng.normal([[260], [268]], 9, (2, 40)))
    odds = by_day(SeasonDates(falls, falls), days=np.arange(240, 290))
    got = pool(odds, [2, 1])
    assert got.share == pytest.approx((2 * odds.share[0] + odds.share[1]) / 3)
    assert (got.low <= got.share).all()
    assert (got.share <= got.high).all()
