"""Standing at each past season: against a plain loop, and the sums that scores must obey."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from frostkit.errors import SettingError
from frostkit.odds.estimate import by_day
from frostkit.odds.estimators import ESTIMATORS
from frostkit.odds.hindcast import Cases, Way, covered, difference, hindcast, reliability, together, verdict
from frostkit.odds.scores import brier, crps, crps_normal, mean_by_years, parts, quantile_score, skill
from frostkit.seasons.interval import SeasonDates, dates

INF = np.inf
YEARS = np.arange(1950, 2000)
RNG = np.random.default_rng(6)
FALLS = np.round(RNG.normal(265, 10, (3, 50)) + 0.1 * np.arange(50))
COMPLETE = RNG.random((3, 50)) < 0.9
LAST = np.where(COMPLETE, FALLS, np.where(RNG.random((3, 50)) < 0.5, INF, FALLS + 6))
HOLED = SeasonDates(FALLS, LAST)


@pytest.fixture(scope="module")
def cases():
    return hindcast(HOLED, YEARS, COMPLETE, open_end="later")


def rng():
    return np.random.default_rng(0)


@pytest.mark.parametrize("name", sorted(ESTIMATORS))
@pytest.mark.parametrize("window", [20, None])
def test_every_forecast_is_what_by_day_says_of_the_seasons_before(cases, name, window):
    way = cases.way(name, window)
    for case in range(0, cases.year.size, 7):
        station, year = cases.station[case], cases.year[case]
        gone = year > YEARS
        past = SeasonDates(FALLS[station, gone], LAST[station, gone])
        alone = by_day(past, days=cases.days[case], estimator=name, seasons=YEARS[gone],
                       complete=COMPLETE[station, gone], at=year, window=window, open_end="later")  # fmt: skip
        np.testing.assert_allclose(cases.share[way, case], alone.share, atol=1e-9)


def test_what_happened_is_the_season_itself_and_only_complete_seasons_are_judged(cases):
    assert cases.year.size == COMPLETE[:, 30:].sum()
    for case in range(cases.year.size):
        day = FALLS[cases.station[case], cases.year[case] - 1950]
        assert cases.happened[case].tolist() == (day <= cases.days[case]).tolist()


def test_the_fixed_normal_and_the_days_are_settled_by_the_first_seasons_alone():
    later = FALLS.copy()
    later[:, 30:] += 25
    here, there = (hindcast(dates(one), YEARS, np.ones((3, 50), bool)) for one in (FALLS, later))
    np.testing.assert_array_equal(here.days, there.days)
    np.testing.assert_array_equal(here.fixed, there.fixed)
    first = FALLS[0, :30]
    own = here.station == 0
    want = stats.norm.cdf(here.days[own] + 0.5, first.mean(), first.std(ddof=1))
    np.testing.assert_allclose(here.fixed[own], want, atol=1e-12)


def test_no_season_is_forecast_from_itself_or_from_later_ones():
    later = FALLS.copy()
    later[:, 40:] += 25
    here, there = (hindcast(dates(one), YEARS, np.ones((3, 50), bool)) for one in (FALLS, later))
    before = here.year <= 1990
    np.testing.assert_array_equal(here.share[:, before], there.share[:, before])
    assert not np.array_equal(here.share, there.share)


def test_murphys_parts_add_up_exactly_and_by_tenths(cases):
    for way in range(len(cases.ways)):
        for classes in (None, 10, 4):
            p = parts(cases.share[way], cases.happened, classes)
            assert p.reliability - p.resolution + p.uncertainty + p.within - p.along == pytest.approx(
                p.brier, abs=1e-12
            )
    exact = parts(cases.share[0], cases.happened)
    assert (exact.within, exact.along) == pytest.approx((0, 0), abs=1e-15)


@given(st.lists(st.tuples(st.sampled_from([0.0, 0.1, 0.25, 0.5, 0.8, 1.0]), st.booleans()), min_size=1, max_size=40))
def test_murphys_parts_add_up_for_any_forecasts(rows):
    odds, came = zip(*rows, strict=True)
    p = parts(odds, came)
    assert p.reliability - p.resolution + p.uncertainty == pytest.approx(p.brier, abs=1e-12)
    assert p.brier == pytest.approx(np.mean([(o - c) ** 2 for o, c in rows]), abs=1e-12)


def perfect(seed, cases=3000):
    """Forecasts that are right by construction, in the shape of a hindcast of one way."""
    rng = np.random.default_rng(seed)
    centre = rng.normal(265, 6, cases)
    day = np.round(rng.normal(centre, 8))
    days = np.broadcast_to(np.arange(250, 281, 5.0), (cases, 7))
    share = stats.norm.cdf(days + 0.5, centre[:, None], 8)
    fixed = stats.norm.cdf(days + 0.5, 265, 10)
    below, to = (stats.norm.cdf(day + half, centre, 8) for half in (-0.5, 0.5))
    return Cases((Way("perfect", None),), days, share[None], fixed, day[:, None] <= days, below[None], to[None],
                 1900 + np.arange(cases) % 100, np.zeros(cases, int))  # fmt: skip


def test_perfect_odds_lie_in_the_band_about_as_often_as_it_promises():
    inside = np.concatenate([reliability(perfect(seed, 1000), 0, rng(), times=400).inside() for seed in range(12)])
    assert inside.mean() > 0.86


def test_odds_that_are_too_sure_lie_outside_the_band():
    cases = perfect(1)
    sure = cases._replace(share=np.clip(0.5 + 1.5 * (cases.share - 0.5), 0.001, 0.999))
    assert reliability(sure, 0, rng()).inside().sum() < 5


def test_perfect_odds_have_skill_and_cover(cases):
    v = verdict(perfect(2), 0, rng(), times=300)
    assert v.skill > 0.05
    assert v.less_fixed.high < 0
    assert v.spread80 == pytest.approx(0.8, abs=0.02)
    assert v.gap < 2 * v.luck


def test_the_day_spread_covers_by_steps():
    cases = perfect(3, 10)._replace(
        below=np.array([[0.0, 0.05, 0.2, 0.9, 0.5]]), to=np.array([[0.05, 0.15, 0.3, 1.0, 0.5]])
    )
    assert covered(cases, 0, 0.8) == pytest.approx([0, 0.5, 1, 0, 1])


def test_scores_of_the_same_forecasts_do_not_differ(cases):
    d = difference(cases, 3, 3, rng())
    assert (d.value, d.low, d.high) == (0, 0, 0)


def test_whole_years_are_drawn_again_not_single_forecasts():
    # Every year has a value of its own on all of its ten cases: the interval must be that of 20 years, not 200 cases.
    by_year = np.random.default_rng(1).normal(size=20)
    year = np.repeat(np.arange(20), 10)
    found = mean_by_years(by_year[year], year, rng())
    assert found.value == pytest.approx(by_year.mean())
    half = 1.645 * by_year.std() / np.sqrt(20)
    assert (found.high - found.low) / 2 == pytest.approx(half, rel=0.1)


def test_crps_by_days_equals_its_closed_form():
    # Gneiting and Raftery 2007: the closed form of a normal, here by adding up its odds on a fine grid.
    grid = np.arange(150, 400, 0.01)
    for day in (240.0, 258.0, 265.0, 300.0):
        by_days = crps(stats.norm.cdf(grid, 263, 10), day <= grid, step=0.01)
        assert by_days == pytest.approx(float(crps_normal(263, 10, day)), abs=0.01)


def test_the_quantile_score_is_least_at_the_quantile():
    sample = np.random.default_rng(2).normal(265, 10, 4000)
    days = np.arange(240, 295, 0.5)
    for p in (0.1, 0.5, 0.9):
        score = quantile_score(p, days[:, None], sample).mean(-1)
        assert days[score.argmin()] == pytest.approx(np.quantile(sample, p), abs=0.5)


def test_skill_is_the_part_of_the_score_that_is_saved():
    assert skill(brier([0, 1.0], [0, 1]), 0.25) == 1
    assert skill(0.25, 0.25) == 0


def test_records_of_different_length_go_together(cases):
    short = hindcast(SeasonDates(FALLS[0, 10:], LAST[0, 10:]), YEARS[10:], COMPLETE[0, 10:], open_end="later")
    both = together([cases, short])
    assert both.year.size == cases.year.size + short.year.size
    assert set(both.station) == {0, 1, 2, 3}
    np.testing.assert_array_equal(both.of(both.station == 3).share, short.share)


def test_seasons_without_the_event_are_forecast_too():
    never = FALLS.copy()
    never[RNG.random(never.shape) < 0.3] = INF
    got = hindcast(dates(never), YEARS, np.ones((3, 50), bool))
    odds = got.share[got.way("mixed", None)]
    assert odds.max() < 0.95
    assert np.isfinite(got.share).all()
    assert (got.to[:, ~np.isfinite(never[got.station, got.year - 1950])] == 1).all()


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: hindcast(dates(FALLS[:, :30]), YEARS[:30], np.ones((3, 30), bool)), "leave none to forecast"),
        (lambda: together([]), "did not try the same"),
        (lambda: verdict(hindcast(dates(FALLS), YEARS, np.zeros((3, 50), bool)), 0, rng()), "no complete season"),
    ],
)
def test_nothing_to_judge_is_said(call, says):
    with pytest.raises(SettingError, match=says):
        call()
