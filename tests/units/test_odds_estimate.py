"""The two doors of the odds: shares and dates, with counts that travel along."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from frostkit.errors import SettingError
from frostkit.odds.estimate import FEWEST, by_day, quantile, reaches, share, to_today
from frostkit.odds.estimators import DEFAULT, ESTIMATORS
from frostkit.odds.intervals import jeffreys, order_coverage, order_ranks
from frostkit.odds.joint import after, by, joint
from frostkit.seasons.interval import SeasonDates, dates

INF = np.inf
FALLS = np.round(np.random.default_rng(2).normal(265, 11, 40))
SPRINGS = np.round(np.random.default_rng(3).normal(130, 11, 40))
ALL = sorted(ESTIMATORS)


def test_the_point_is_among_complete_seasons_and_the_interval_over_all():
    s = share(24, 4, 4, complete=28, complete_yes=23)
    assert s.share == pytest.approx(23 / 28)
    assert s.low == jeffreys(24, 32).low
    assert s.high == jeffreys(28, 32).high


def test_without_complete_seasons_there_are_bounds_and_no_point():
    few = share([8, 20], [1, 5], [0, 3])
    assert np.isnan(few.share).all()
    assert few.complete.tolist() == [9, 0]
    assert (few.low < few.high).all()


def test_no_season_at_all_is_no_knowledge():
    s = share(0, 0)
    assert np.isnan(s.share)
    assert (s.low, s.high) == (0, 1)


@given(st.integers(0, 30), st.integers(0, 30), st.integers(0, 10))
def test_more_not_known_never_narrows_the_interval(yes, no, not_known):
    here, more = share(yes, no, not_known), share(yes, no, not_known + 1)
    fewer_yes, fewer_no = share(max(yes - 1, 0), no, not_known + 1), share(yes, max(no - 1, 0), not_known + 1)
    assert more.high >= here.high - 1e-12
    if yes:
        assert fewer_yes.low <= here.low + 1e-12
        assert fewer_yes.high >= here.high - 1e-12
    if no:
        assert fewer_no.low <= here.low + 1e-12
        assert fewer_no.high >= here.high - 1e-12


@given(st.integers(0, 200), st.integers(FEWEST, 200), st.integers(0, 100))
def test_a_level_is_reached_in_whole_numbers(yes, complete, percent):
    assert bool(reaches(yes, complete, percent / 100)) == (Fraction(yes, complete) >= Fraction(percent, 100))


def test_a_level_is_never_reached_by_few_seasons():
    assert reaches([9, 10], [9, 10], 0.5).tolist() == [False, True]


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: share(-1, 3), "below zero"),
        (lambda: share(3, 3, complete=5), "come together"),
        (lambda: share(3, 3, complete=9, complete_yes=3), "more complete seasons than seasons"),
        (lambda: reaches(3, 30, 8), "not between 0 and 1"),
        (lambda: by_day(dates([250]), estimator="count"), "estimator='count' is not known.*Did you mean 'counted'"),
        (lambda: by_day(dates([np.nan])), "never NaN"),
        (lambda: by_day(dates([260], [250])), "first on or before last"),
        (lambda: by_day(dates([])), "no season dates"),
        (lambda: by_day(dates([250]), window=0), "less than 1"),
        (lambda: by_day(dates([250]), open_end="late"), "open_end='late' is not known"),
        (lambda: quantile(dates([250]), 1.2), "not between 0 and 1"),
    ],
)
def test_wrong_questions_are_answered_with_what_is_allowed(call, says):
    with pytest.raises(SettingError, match=rf"(?s){says}"):
        call()


@pytest.mark.parametrize("name", ALL)
def test_odds_rise_from_day_to_day_and_lie_in_their_interval(name):
    odds = by_day(dates(FALLS), days=np.arange(225, 310), estimator=name, window=None)
    assert (np.diff(odds.share) >= -1e-12).all()
    assert (odds.low <= odds.share + 1e-9).all()
    assert (odds.share <= odds.high + 1e-9).all()
    assert odds.share[0] < 0.02
    assert odds.share[-1] > 0.98


@pytest.mark.parametrize("name", ALL)
def test_the_day_of_given_odds_is_the_first_that_reaches_them(name):
    p = np.array([0.1, 0.25, 0.5, 0.8, 0.9])
    days = np.arange(200, 340)
    odds = by_day(dates(FALLS), days=days, estimator=name, window=None).share
    first = days[(odds[None, :] >= p[:, None] - 1e-9).argmax(-1)]
    day = quantile(dates(FALLS), p, estimator=name, window=None).day
    if name in ("normal", "mixed"):
        day = np.round(day)  # theirs are not rounded to a day, which is over half a day later
    assert day.tolist() == first.tolist()


@pytest.mark.parametrize("name", ALL)
def test_shifting_every_date_shifts_the_odds(name):
    days = np.arange(240, 290)
    here = by_day(dates(FALLS), days=days, estimator=name).share
    there = by_day(dates(FALLS + 7), days=days + 7, estimator=name).share
    np.testing.assert_allclose(here, there, atol=1e-9)


@pytest.mark.parametrize("name", ALL)
def test_a_stack_of_stations_is_the_same_as_each_alone(name):
    both = dates(np.stack([FALLS, SPRINGS + 140]))
    days = np.arange(240, 290)
    stacked = by_day(both, days=days, estimator=name)
    for row, one in enumerate((FALLS, SPRINGS + 140)):
        alone = by_day(dates(one), days=days, estimator=name)
        np.testing.assert_allclose(stacked.share[row], alone.share, atol=1e-12)
        np.testing.assert_allclose(stacked.low[row], alone.low, atol=1e-12)
    q = quantile(both, [0.2, 0.8], estimator=name)
    assert q.day.shape == q.low.shape == q.high.shape == (2, 2)


@pytest.mark.parametrize("name", [name for name in ALL if name != "normal"])
def test_seasons_without_a_fall_frost_keep_the_odds_below_one(name):
    odds = by_day(dates(np.concatenate([FALLS, [INF] * 10])), days=[200, 400], estimator=name, window=None)
    assert odds.share == pytest.approx([0, 0.8], abs=1e-6)
    q = quantile(dates(np.concatenate([FALLS, [INF] * 10])), [0.5, 0.9], estimator=name, window=None)
    assert np.isfinite(q.day).tolist() == [True, False]
    assert q.high[1] == INF


@pytest.mark.parametrize("name", [name for name in ALL if name != "normal"])
def test_seasons_without_a_spring_frost_are_over_on_every_day(name):
    odds = by_day(dates(np.concatenate([SPRINGS, [-INF] * 10])), days=[20, 300], estimator=name, window=None)
    assert odds.share == pytest.approx([0.2, 1], abs=1e-6)
    assert quantile(dates(np.concatenate([SPRINGS, [-INF] * 10])), 0.1, estimator=name, window=None).day[0] == -INF


@pytest.mark.parametrize("name", ALL)
def test_an_event_that_never_came_breaks_nothing(name):
    never = dates([INF] * 30)
    odds, q = by_day(never, days=[250, 300], estimator=name), quantile(never, 0.5, estimator=name)
    assert odds.yes.tolist() == [0, 0]
    assert not (odds.share > 0).any()
    assert odds.low.tolist() == [0, 0]
    assert (odds.high <= 1).all()
    assert not np.isfinite(q.day[0])


@pytest.mark.parametrize("name", ALL)
def test_few_seasons_give_no_point_but_bounds(name):
    odds = by_day(dates(FALLS[:9]), days=[265], estimator=name)
    assert np.isnan(odds.share[0])
    assert 0 <= odds.low[0] < odds.high[0] <= 1
    assert np.isnan(quantile(dates(FALLS[:9]), 0.5, estimator=name).day[0])


def test_counts_are_over_all_seasons_and_the_estimator_says_how_many_it_used():
    odds = by_day(dates(FALLS), days=[265])
    assert odds.yes[0] + odds.no[0] + odds.not_known[0] == 40
    assert int(odds.used) == 30
    assert odds.complete is None
    assert by_day(dates(FALLS), days=[265], complete=np.arange(40) > 4).complete == 35
    assert odds.estimator == DEFAULT


def test_the_count_is_among_complete_seasons():
    first, last = FALLS.copy(), FALLS.copy()
    last[:10] = INF  # ten seasons stop before their frost
    complete = np.arange(40) >= 10
    odds = by_day(SeasonDates(first, last), days=[265], estimator="counted", complete=complete, window=None)
    assert odds.share[0] == (FALLS[10:] <= 265).mean()
    assert odds.not_known[0] == (FALLS[:10] <= 265).sum()
    assert np.isnan(by_day(SeasonDates(first, last), days=[265], estimator="counted", window=None).share[0])


def test_a_short_record_shifts_little_and_a_long_one_follows_its_drift():
    rng = np.random.default_rng(5)
    moved = {}
    for seasons in (12, 30, 120):
        day = np.round(260 + 0.2 * np.arange(seasons) + rng.normal(0, 6, (50, seasons)))
        shifted, plain = (quantile(dates(day), 0.5, estimator=name, window=None).day.mean()
                          for name in ("trend-shifted", "smooth"))  # fmt: skip
        moved[seasons] = (shifted - plain) / (0.2 * (seasons + 1) / 2)
    assert moved[12] < 0.25
    assert moved[12] < moved[30] < moved[120]
    assert moved[120] > 0.9


def test_dates_known_to_a_few_days_only_lie_between_their_ends():
    first = FALLS - 2
    odds = by_day(SeasonDates(first, FALLS + 2), days=np.arange(240, 290), estimator="interval-censored", window=None)
    early, late = (by_day(dates(end), days=np.arange(240, 290), estimator="counted", window=None).share
                   for end in (first, FALLS + 2))  # fmt: skip
    assert (late - 1e-9 <= odds.share).all()
    assert (odds.share <= early + 1e-9).all()


@given(st.integers(1, 60), st.floats(0.02, 0.98), st.sampled_from([0.8, 0.9, 0.95]))
def test_order_statistics_cover_at_least_what_they_promise_and_no_narrower_pair_does(n, p, level):
    low, high = (int(rank) for rank in order_ranks(n, p, level))
    assert 0 <= low <= high <= n + 1
    assert order_coverage(n, p, low, high) >= level - 1e-9
    tail = (1 - level) / 2
    if low < high - 1:
        assert (
            order_coverage(n, p, 0, low + 1) > tail - 1e-9
        )  # one rank higher would leave out more than half of the rest


def test_dates_moved_to_today_are_counted_together_in_the_same_seasons():
    rng = np.random.default_rng(6)
    year = np.arange(60)
    summer = rng.normal(0, 6, 60)  # both ends of a season hang on its summer
    first, last = np.round(140 - 0.3 * year + summer), np.round(175 + 0.3 * year + summer)
    begin, end = (to_today(dates(one), year, window=None) for one in (first, last))
    assert begin.first.mean() == pytest.approx(140 - 0.3 * 60, abs=3)
    assert end.first.mean() == pytest.approx(175 + 0.3 * 60, abs=3)
    together = joint(by(begin, 125), after(end, 187))
    assert together.share == ((begin.first <= 125) & (end.first > 187)).mean()
    assert together.share > joint(by(dates(first), 125), after(dates(last), 187)).share


def test_moving_to_today_keeps_open_ends_and_the_last_seasons_alone():
    day = np.concatenate([FALLS, [INF]])
    moved = to_today(SeasonDates(np.where(day == INF, INF, day - 3), day), np.arange(41), window=20)
    assert moved.first.size == 20
    assert moved.first[-1] == moved.last[-1] == INF
    assert (moved.last[:-1] - moved.first[:-1] == 3).all()


@pytest.mark.parametrize("name", ALL)
def test_seasons_that_all_stop_before_their_frost_say_nothing(name):
    stopped = SeasonDates(np.full(30, 212.0), np.full(30, INF))
    odds = by_day(stopped, days=[212, 265, 300], estimator=name, open_end="later")
    assert np.isnan(odds.share).all()
    assert (odds.low == 0).all()
    assert (odds.high == 1).all()


@pytest.mark.parametrize("name", ["interval-censored", "smooth", "trend-shifted"])
def test_what_was_never_seen_in_30_seasons_is_not_ruled_out(name):
    odds = by_day(dates([INF] * 30), days=[260], estimator=name)
    assert odds.share[0] == 0
    assert odds.high[0] == pytest.approx(jeffreys(0, 30).high)
