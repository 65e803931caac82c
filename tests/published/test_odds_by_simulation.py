"""What the odds promise, held against made-up seasons whose truth is known."""

import numpy as np
from scipy import stats

from frostkit.ensemble.site import Site
from frostkit.odds.share import share
from frostkit.seasons.frost import first_fall
from tests.made_up_records import DAYS_OF_FALL, fall_truth, record_of, weather

SEASONS, REPEATS = 30, 1000
RECORDS = 12


def test_a_counts_interval_covers_the_odds_in_nine_of_ten():
    rng = np.random.default_rng(4)
    odds = np.arange(0.05, 0.96, 0.05)
    yes = rng.random((REPEATS, SEASONS, odds.size)) < odds
    covered = np.zeros(odds.size)
    for one in yes:
        found = share(one[None], np.ones(SEASONS, bool))
        covered += (found.low <= odds) & (odds <= found.high)
    covered /= REPEATS
    assert 0.88 <= covered.mean() <= 0.92
    assert covered.min() >= 0.84


def test_the_interval_holds_the_coming_seasons_true_odds_while_the_place_warms():
    """By 0.3 °C in ten seasons, with the globe; docs/climate.md has more seasons, other drifts and 150 records each."""
    rng = np.random.default_rng(8)
    truth = fall_truth(rng)
    asked = (truth > 0.05) & (truth < 0.95)
    held = []
    for _ in range(RECORDS):
        record = record_of(*weather(rng, np.arange(1966, 2026), 0.3), first=1966)
        rows = Site(record, for_season=2026).ensemble(("tmin",))
        yes = first_fall(rows.tmin)[:, None] <= DAYS_OF_FALL[asked]
        found = share(yes[rows.index], rows.complete, yes[rows.shifted])
        held.append(((found.low <= truth[asked]) & (truth[asked] <= found.high)).mean())
    low, _ = stats.binomtest(round(RECORDS * 0.9), RECORDS).proportion_ci(0.99)
    assert np.mean(held) > low


def test_seasons_are_not_chosen_by_their_outcome():
    """Days are lost in September, on any night: the odds of a frost by 25 September stay what they were.

    To drop the seasons that are not known then would keep those whose frost came before the hole.
    """
    rng = np.random.default_rng(6)
    years = np.arange(1926, 2026)
    full = kept = dropped = 0.0
    for _ in range(3):
        low, high = weather(rng, years, 0.0)
        whole = first_fall((10 * low).round().astype(np.int16))
        holed = low.copy()
        lost = rng.random(years.size) < 0.4
        for season in np.flatnonzero(lost):
            start = rng.integers(243, 262)
            holed[season, start : start + rng.integers(5, 20)] = np.nan
        rows = Site(record_of(holed, high, first=1926), climate="as read", for_season=2026).ensemble(("tmin",))
        full += (whole <= 267).mean()
        kept += (first_fall(rows.tmin)[rows.index] <= 267).mean()
        seen = np.where(np.isnan(holed), 99, holed)
        sure = ~lost | (first_fall((10 * seen).round().astype(np.int16)) <= 242)
        dropped += (whole[sure] <= 267).mean()
    assert abs(kept - full) / 3 < 0.02
    assert rows.seasons.size == years.size
    assert abs(dropped - full) / 3 > 0.0
