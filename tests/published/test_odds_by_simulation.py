"""What the odds promise, held against made-up seasons whose truth is known."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from frostkit.odds.estimate import by_day, share
from frostkit.odds.intervals import jeffreys
from frostkit.seasons.interval import SeasonDates

SEASONS, REPEATS, SPREAD = 30, 2000, 10.0
TODAY = 260.0
DRIFT = 0.1  # days a season: as the frost dates of the long real records move (0.04 to 0.2, docs/odds_choice.md)
DAYS = np.floor(TODAY + SPREAD * ndtri(np.arange(0.05, 0.96, 0.05)) + 0.5)
TRUTH = ndtr((DAYS + 0.5 - TODAY) / SPREAD)  # dates are whole days: the normal, rounded


def seasons(drift: float, not_known: float, seed: int) -> SeasonDates:
    """Made-up first fall frosts [repeat, season] that drift towards today's; some records stop in September."""
    rng = np.random.default_rng(seed)
    mean = TODAY + drift * (np.arange(SEASONS) - SEASONS)
    day = np.floor(mean + SPREAD * rng.normal(size=(REPEATS, SEASONS)) + 0.5)
    stop = np.floor(rng.uniform(245, 275, day.shape))
    stopped = (rng.random(day.shape) < not_known) & (day > stop)
    return SeasonDates(np.where(stopped, stop + 1, day), np.where(stopped, np.inf, day))


def coverage(dates: SeasonDates, **how) -> np.ndarray:
    odds = by_day(dates, days=DAYS, open_end="later", **how)
    return ((odds.low <= TRUTH) & (odds.high >= TRUTH)).mean(0)


@pytest.mark.parametrize("drift", [0.0, DRIFT], ids=["still", "drifting"])
def test_the_defaults_interval_covers_todays_odds_in_nine_of_ten(drift):
    covered = coverage(seasons(drift, 0.0, seed=1))
    assert 0.88 <= covered.mean() <= 0.92
    assert covered.min() >= 0.84


@pytest.mark.parametrize("not_known", [0.05, 0.15])
@pytest.mark.parametrize("drift", [0.0, DRIFT], ids=["still", "drifting"])
def test_it_covers_as_often_where_seasons_are_not_known(drift, not_known):
    assert coverage(seasons(drift, not_known, seed=2)).mean() >= 0.88


@pytest.mark.parametrize("not_known", [0.0, 0.15])
@pytest.mark.parametrize("estimator", ["counted", "interval-censored", "smooth", "normal", "mixed"])
def test_every_estimators_interval_covers_where_nothing_drifts(estimator, not_known):
    assert coverage(seasons(0.0, not_known, seed=3), estimator=estimator).mean() >= 0.88


def test_a_counts_interval_covers_a_share_of_seasons_that_worked():
    rng = np.random.default_rng(4)
    odds = np.arange(0.05, 0.96, 0.05)
    yes = rng.binomial(SEASONS, odds, size=(REPEATS, odds.size))
    found = share(yes, SEASONS - yes)
    covered = ((found.low <= odds) & (odds <= found.high)).mean(0)
    assert 0.88 <= covered.mean() <= 0.92
    assert covered.min() >= 0.84


def test_a_counts_interval_covers_the_odds_of_its_own_seasons_when_they_drift():
    # A count does not follow a drift: what it covers then is the mean of its seasons, not today.
    rng = np.random.default_rng(5)
    mean = TODAY + DRIFT * (np.arange(SEASONS) - SEASONS)
    each = ndtr((DAYS[:, None] + 0.5 - mean) / SPREAD)  # [day, season]
    yes = (rng.random((REPEATS, *each.shape)) < each).sum(-1)
    low, high = jeffreys(yes, SEASONS)
    of_record = each.mean(-1)
    covered = ((low <= of_record) & (of_record <= high)).mean(0)
    assert 0.88 <= covered.mean() <= 0.92


DAY = np.arange(213, 304)  # August to October
BY = 268  # 25 September: about half of these made-up seasons have had their first frost


def nights(seed: int) -> np.ndarray:
    """2,000 made-up seasons of cold (bool [season, day]): nights that cool towards fall and resemble the one before."""
    rng = np.random.default_rng(seed)
    weather = rng.normal(size=(2000, DAY.size))
    for day in range(1, DAY.size):
        weather[:, day] = 0.6 * weather[:, day - 1] + 0.8 * weather[:, day]
    return 14 - 0.17 * (DAY - DAY[0]) + 3.5 * weather + rng.normal(size=(2000, 1)) <= 0


def first_frost(cold: np.ndarray, missing: np.ndarray) -> SeasonDates:
    """First cold day as an interval: a missing day may have been cold, for all that is known."""
    seen, maybe = cold & ~missing, cold | missing

    def first(mask):
        return np.where(mask.any(-1), DAY[mask.argmax(-1)], np.inf)

    return SeasonDates(first(maybe), first(seen))


def missing_days(kind: str, shape: tuple[int, int]) -> np.ndarray:
    rng = np.random.default_rng(7)
    season = rng.random((shape[0], 1))
    september = (DAY >= 244) & (DAY < 274)
    if kind == "half of the records stop in mid-September":
        return (season < 0.5) & (rng.integers(248, 269, (shape[0], 1)) <= DAY)
    if kind == "40 % of the Septembers have 5 to 25 days missing in a row":
        start = rng.integers(244, 268, (shape[0], 1))
        return (season < 0.4) & (start <= DAY) & (start + rng.integers(5, 26, (shape[0], 1)) > DAY) & september
    return (season < 0.4) & september & (rng.random(shape) < 0.3)  # 40 % of the Septembers miss 3 days in 10


@pytest.mark.parametrize(
    "kind",
    [
        "half of the records stop in mid-September",
        "40 % of the Septembers have 5 to 25 days missing in a row",
        "40 % of the Septembers miss 3 days in 10",
    ],
)
@pytest.mark.parametrize("estimator", ["interval-censored", "smooth", "trend-shifted"])
def test_seasons_are_not_chosen_by_their_outcome(kind, estimator):
    """DESIGN, "Being honest about odds": a season whose frost came before the missing days is known, its sister is not."""
    cold = nights(6)
    truth = (first_frost(cold, np.zeros_like(cold)).first <= BY).mean()
    dates = first_frost(cold, missing_days(kind, cold.shape))
    records = SeasonDates(*(end.reshape(80, 25) for end in dates))  # 80 records of 25 seasons
    odds = by_day(records, days=[BY], estimator=estimator, open_end="later").share
    assert abs(odds.mean() - truth) < 0.02
    yes, no = (dates.last <= BY).sum(), (dates.first > BY).sum()
    assert 0.08 < yes / (yes + no) - truth < 0.17  # what dropping the not-known would do


def test_the_day_a_frost_was_seen_after_a_hole_is_not_taken_at_its_word():
    """Learning from both ends draws the odds early: the frost seen after a hole is often the second one."""
    cold = nights(6)
    truth = (first_frost(cold, np.zeros_like(cold)).first <= BY).mean()
    dates = first_frost(cold, missing_days("scattered", cold.shape))
    both_ends = float(by_day(dates, days=[BY], estimator="interval-censored", window=None).share[0])
    assert both_ends - truth > 0.1


def test_last_spring_frosts_are_open_to_the_other_side():
    cold = nights(6)  # a fall run backwards is a spring
    falls = [first_frost(cold, missing) for missing in (np.zeros_like(cold), missing_days("scattered", cold.shape))]
    whole, holed = (SeasonDates(-fall.last, -fall.first) for fall in falls)
    odds = by_day(holed, days=[-BY], estimator="interval-censored", window=None, open_end="earlier")
    assert abs(float(odds.share[0]) - (whole.first <= -BY).mean()) < 0.02
