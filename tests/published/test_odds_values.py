"""Worked values for odds and their intervals, from shared/checks/values.csv, CHECKS.md section 4, and scipy.

Formulas that frostkit does without, such as normals of dates, are of no account here.
"""

import csv

import numpy as np
import pytest
from scipy import stats

from frostkit.answers.seeding.pays import over_years
from frostkit.odds.hindcast import chances
from frostkit.odds.scores import brier
from frostkit.odds.share import jeffreys, mixed_interval, share
from frostkit.seasons.frost import frost_free_days
from tests.conftest import SHARED

OURS = {
    "PRB-01": lambda: over_years(0.10, 10),
    "PRB-02": lambda: over_years(0.05, 20),
    "PRB-03": lambda: over_years(0.20, 5),
    "PRB-09": lambda: frost_free_days(137, 257),
    "PRB-10": lambda: frost_free_days(143, 265),
    "PRB-11": lambda: frost_free_days(103, 307),
    "PRB-12": lambda: frost_free_days(132, 264),
    "CI-09": lambda: over_years(0.1, 30),
    "VER-05": lambda: brier([0.1] * 10 + [0.5] * 6 + [0.8] * 4, [1] + [0] * 9 + [1] * 3 + [0] * 3 + [1] * 3 + [0]),
}
TOPICS = {"frost-free period"}


def rows() -> dict[str, dict[str, str]]:
    path = SHARED / "checks" / "values.csv"
    if not path.is_file():
        return {}
    return {row["id"]: row for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())}


@pytest.mark.real
@pytest.mark.parametrize("name", OURS)
def test_every_worked_value_on_odds_comes_out(name):
    row = rows()[name]
    allowed = float(row["tolerance"]) + 1e-12
    assert float(OURS[name]()) == pytest.approx(float(row["expected"]), abs=allowed), row["source"]


@pytest.mark.real
def test_no_row_on_frost_free_days_is_left_out():
    assert {row["id"] for row in rows().values() if row["topic"] in TOPICS} <= set(OURS)


# CHECKS.md section 4, the form of the FAO frost handbook (Snyder, de Melo-Abreu 2005), recomputed there.
@pytest.mark.parametrize(
    ("p", "n", "odds"), [(0.1, 20, 0.8784), (0.1, 5, 0.4095), (0.05, 10, 0.4013), (0.2, 3, 0.4880)]
)
def test_the_risk_over_years_of_the_fao_handbook(p, n, odds):
    assert over_years(p, n) == pytest.approx(odds, abs=5e-5)


# Newcombe 1998, Statistics in Medicine 17:857-872, table I, 95 %: FROM MEMORY in CHECKS.md section 4, recomputed there.
@pytest.mark.parametrize(
    ("yes", "total", "score", "tail"),
    [
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
        (0, 20, (0, 0.1611), (0, 0.1684)),
        (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
    ],
)
def test_ours_lies_inside_newcombes_exact_interval_and_near_his_score_interval(yes, total, score, tail):
    low, high = jeffreys(yes, total, 0.95)
    assert tail[0] - 5e-5 <= low and high <= tail[1] + 5e-5
    assert (low, high) == pytest.approx(score, abs=0.05 if total < 30 else 0.005)


# Brown, Cai, DasGupta 2001, Stat. Science 16:101-133, section 3.1.3: equal tails of Beta(x + 1/2, n - x + 1/2).
def test_jeffreys_is_the_middle_of_its_beta():
    for yes in range(31):
        low, high = jeffreys(yes, 30)
        of = stats.beta(yes + 0.5, 30 - yes + 0.5)
        assert low == pytest.approx(of.ppf(0.05) if yes else 0, abs=1e-6)  # printed to 1e-4
        assert high == pytest.approx(of.ppf(0.95) if yes < 30 else 1, abs=1e-6)


def test_a_mixture_of_draws_has_the_ends_that_scipys_betas_give_together():
    counts = np.array([[20], [24], [27]])
    low, high = mixed_interval(counts, 30)
    betas = [stats.beta(yes + 0.5, 30 - yes + 0.5) for yes in counts[:, 0]]
    for end, part in ((low, 0.05), (high, 0.95)):
        assert np.mean([of.cdf(float(end[0])) for of in betas]) == pytest.approx(part, abs=1e-6)


def test_a_share_counts_whole_and_its_interval_holds_it():
    rng = np.random.default_rng(3)
    yes = rng.random((20, 30, 40)) < np.linspace(0, 1, 40)
    shifted = rng.random((20, 30, 40)) < np.linspace(0.2, 0.9, 40)
    found = share(yes, np.ones(30, bool), shifted)
    assert (found.low <= found.share).all() and (found.share <= found.high).all()
    assert (found.yes + found.no + found.not_known == 30).all()
    assert np.array_equal(found.count, yes.sum((0, 1)) // 20)
    at = found.reaches(0.8)
    assert np.array_equal(at, found.count >= 24)  # the number that people read reaches it exactly when it is reached


def test_chances_of_the_next_seasons_are_scipys_beta_binomial():
    for yes in (0, 3, 17, 30):
        below = chances(np.array([[yes]]), 30, 5)[0]
        of = stats.betabinom(5, yes + 0.5, 30 - yes + 0.5)
        np.testing.assert_allclose(below[1:], of.cdf(np.arange(6)), atol=1e-12)
    mixed = chances(np.array([[3], [17]]), 30, 5)[0, 1:]
    both = [stats.betabinom(5, yes + 0.5, 30.5 - yes).cdf(np.arange(6)) for yes in (3, 17)]
    np.testing.assert_allclose(mixed, np.mean(both, axis=0), atol=1e-12)
