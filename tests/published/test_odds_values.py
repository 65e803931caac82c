"""Worked values for odds and their intervals, from shared/checks/values.csv, CHECKS.md section 4, and scipy."""

import csv
from functools import cache

import numpy as np
import pytest
from scipy import stats

from frostkit.odds.curve import from_known
from frostkit.odds.estimate import by_day, quantile
from frostkit.odds.intervals import exact, jeffreys, order_coverage, order_ranks, wilson
from frostkit.answers.seeding.pays import over_years
from frostkit.odds.normal import mixed_day, mixed_share, moments, normal_day, normal_share
from frostkit.odds.scores import crps_normal, parts, quantile_score
from frostkit.odds.turnbull import turnbull
from frostkit.seasons.interval import dates, days_between
from tests.conftest import SHARED

INF = np.inf

# Freireich et al. 1963, Blood 21:699-716, remission with 6-MP [weeks], + censored; FROM MEMORY as survival textbooks
# tabulate it: 6 6 6 7 10 13 16 22 23, censored 6 9 10 11 17 19 20 25 32 32 34 35.
REMISSION = ([6, 6, 6, 7, 10, 13, 16, 22, 23], [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35])

# Finkelstein and Wolfe 1985, Biometrics 41:933-945, breast cosmesis, radiation alone, months (left, right];
# FROM MEMORY of that table, checked here against the masses that values.csv gives.
COSMESIS = [
    (45, INF), (25, 37), (37, INF), (6, 10), (46, INF), (0, 5), (0, 7), (26, 40), (18, INF), (46, INF), (46, INF),
    (24, INF), (46, INF), (27, 34), (36, INF), (7, 16), (36, 44), (5, 11), (17, INF), (46, INF), (19, 35), (7, 14),
    (36, 48), (17, 25), (37, 44), (37, INF), (24, INF), (0, 8), (40, INF), (32, INF), (4, 11), (17, 25), (33, INF),
    (15, INF), (46, INF), (19, 26), (11, 15), (11, 18), (37, INF), (22, INF), (38, INF), (34, INF), (46, INF),
    (5, 12), (36, INF), (46, INF),
]  # fmt: skip


def left_after(week: int) -> float:
    """Kaplan and Meier's share still in remission: the censored may relapse at any later week."""
    seen, censored = REMISSION
    first = np.array(seen + [c + 0.5 for c in censored])  # just after the week: a relapse of the same week comes first
    last = np.array([*seen, *([INF] * len(censored))], float)
    return 1 - float(turnbull(first, last).curve.by([week + 0.25])[0])


@cache
def cosmesis():
    """(left, right] in whole months is the days left + 1 to right; the left end is open."""
    left, right = (np.array(end, float) for end in zip(*COSMESIS, strict=True))
    return turnbull(left + 1, right)


def mass_on(left: float, right: float) -> float:
    curve = cosmesis().curve
    inside = (curve.first > left) & (curve.last <= right) | ((curve.first == left + 1) & (left == 46))
    return float(curve.mass[inside].sum() / curve.mass.sum())


def coverage(n, r, s):
    return float(order_coverage(n, 0.5, r, s))


BRIER = parts([0.1] * 10 + [0.5] * 6 + [0.8] * 4, [1] + [0] * 9 + [1] * 3 + [0] * 3 + [1] * 3 + [0])

OURS = {
    "PRB-01": lambda: over_years(0.10, 10),
    "PRB-02": lambda: over_years(0.05, 20),
    "PRB-03": lambda: over_years(0.20, 5),
    "PRB-04": lambda: normal_share(253, 263, 10),
    "PRB-05": lambda: normal_day(0.1, 263, 10),
    "PRB-06": lambda: mixed_share(300, 25 / 30, 300, 10),
    "PRB-07": lambda: mixed_day(0.5, 25 / 30, 300, 10),
    "PRB-08": lambda: float(np.isinf(mixed_day(0.9, 25 / 30, 300, 10))),
    "PRB-09": lambda: days_between(dates([137]), dates([257])).first[0],
    "PRB-10": lambda: days_between(dates([143]), dates([265])).first[0],
    "PRB-11": lambda: days_between(dates([103]), dates([307])).first[0],
    "PRB-12": lambda: days_between(dates([132]), dates([264])).first[0],
    "CI-01": lambda: coverage(30, 10, 21),
    "CI-02": lambda: coverage(20, 6, 15),
    "CI-03": lambda: coverage(15, 4, 12),
    "CI-04": lambda: coverage(10, 2, 9),
    "CI-05": lambda: coverage(17, 5, 13),
    "CI-06": lambda: coverage(12, 3, 10),
    "CI-07": lambda: coverage(35, 17, 19),
    "CI-08": lambda: order_coverage(30, 0.1, 1, 7),
    "CI-09": lambda: over_years(0.1, 30),
    "CI-10": lambda: wilson(81, 263, 0.95).low,
    "CI-11": lambda: wilson(81, 263, 0.95).high,
    "CI-12": lambda: wilson(15, 148, 0.95).low,
    "CI-13": lambda: wilson(15, 148, 0.95).high,
    "CI-14": lambda: wilson(0, 20, 0.95).low,
    "CI-15": lambda: wilson(0, 20, 0.95).high,
    "CI-16": lambda: wilson(1, 29, 0.95).low,
    "CI-17": lambda: wilson(1, 29, 0.95).high,
    "CI-18": lambda: wilson(0, 30, 0.95).high,
    "CI-19": lambda: exact(0, 30, 0.90).high,  # one-sided 95 % is the upper end of two-sided 90 %
    "VER-01": lambda: crps_normal(0, 1, 0),
    "VER-02": lambda: crps_normal(263, 10, 258),
    "VER-03": lambda: quantile_score(0.9, 10, 12),
    "VER-04": lambda: quantile_score(0.9, 10, 8),
    "VER-05": lambda: BRIER.brier,
    "VER-06": lambda: BRIER.reliability,
    "VER-07": lambda: BRIER.resolution,
    "VER-08": lambda: BRIER.uncertainty,
    "VER-09": lambda: BRIER.reliability - BRIER.resolution + BRIER.uncertainty,
    **{f"VER-{10 + i}": lambda week=week: left_after(week) for i, week in enumerate((6, 7, 10, 13, 16, 22, 23))},
    **{
        f"VER-{17 + i}": lambda ends=ends: mass_on(*ends)
        for i, ends in enumerate([(4, 5), (6, 7), (7, 8), (11, 12), (24, 25), (33, 34), (38, 40), (46, 48)])
    },
    "NRM-02": lambda: np.ceil(0.8 * 30),
}
TOPICS = {"frost probability", "frost-free period", "order-statistic CI", "Wilson", "zero events", "CRPS",
          "quantile score", "Brier", "Kaplan-Meier", "Turnbull"}  # fmt: skip


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
def test_no_row_on_odds_is_left_out():
    assert {row["id"] for row in rows().values() if row["topic"] in TOPICS} <= set(OURS)


# CHECKS.md section 4, Thom 1959, Mon. Weather Rev. 87:136-144, recomputed there: printed to 4 digits.
@pytest.mark.parametrize(("day", "odds"), [(260, 0.1428), (270, 0.4500), (280, 0.7572), (300, 0.8988)])
def test_the_mixed_distribution_of_thom_1959(day, odds):
    assert mixed_share(day, 0.9, 270, 10) == pytest.approx(odds, abs=5e-5)


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
def test_newcombes_intervals_come_out(yes, total, score, tail):
    assert tuple(wilson(yes, total, 0.95)) == pytest.approx(score, abs=5e-5)
    assert tuple(exact(yes, total, 0.95)) == pytest.approx(tail, abs=6e-5)


# CHECKS.md section 4: Wilson 95 %, recomputed there.
@pytest.mark.parametrize(("yes", "ends"), [(27, (0.7438, 0.9654)), (24, (0.6269, 0.9049))])
def test_wilsons_interval_of_the_odds_that_growers_ask_for(yes, ends):
    assert tuple(wilson(yes, 30, 0.95)) == pytest.approx(ends, abs=5e-5)


# CHECKS.md section 4: n = 30, at least 90 %, recomputed from the binomial there.
@pytest.mark.parametrize(("p", "ranks", "covers"), [(0.5, (11, 20), 0.9013), (0.9, (24, 30), 0.9318)])
def test_quantiles_lie_between_the_seasons_that_the_binomial_says(p, ranks, covers):
    assert tuple(int(rank) for rank in order_ranks(30, p)) == ranks
    assert order_coverage(30, p, *ranks) == pytest.approx(covers, abs=5e-5)


@pytest.mark.parametrize("level", [0.90, 0.95])
def test_wilson_and_exact_equal_scipy(level):
    for total in (1, 7, 30, 131):
        for yes in range(total + 1):
            test = stats.binomtest(yes, total)
            assert tuple(wilson(yes, total, level)) == pytest.approx(
                tuple(test.proportion_ci(level, "wilson")), abs=1e-9
            )
            assert tuple(exact(yes, total, level)) == pytest.approx(tuple(test.proportion_ci(level, "exact")), abs=1e-9)


# Brown, Cai, DasGupta 2001, Stat. Science 16:101-133, section 3.1.3: equal tails of Beta(x + 1/2, n - x + 1/2).
def test_jeffreys_is_the_middle_of_its_beta():
    for yes in range(31):
        low, high = jeffreys(yes, 30)
        of = stats.beta(yes + 0.5, 30 - yes + 0.5)
        assert low == pytest.approx(of.ppf(0.05) if yes else 0, abs=1e-12)
        assert high == pytest.approx(of.ppf(0.95) if yes < 30 else 1, abs=1e-12)


@pytest.fixture(scope="module")
def falls():
    return np.round(np.random.default_rng(7).normal(265, 11, 40))


def test_normal_quantiles_equal_scipy(falls):
    p = np.linspace(0.01, 0.99, 99)
    got = quantile(dates(falls), p, estimator="normal", window=None).day
    np.testing.assert_allclose(got, stats.norm.ppf(p, falls.mean(), falls.std(ddof=1)), rtol=0, atol=1e-9)


def test_mixed_quantiles_equal_scipy_and_stop_where_the_event_does(falls):
    with_none = np.concatenate([falls, [INF] * 10])
    p = np.linspace(0.01, 0.99, 99)
    got = quantile(dates(with_none), p, estimator="mixed", window=None).day
    inside = p < 0.8
    of = stats.norm(falls.mean(), falls.std(ddof=1))
    np.testing.assert_allclose(got[inside], of.ppf(p[inside] / 0.8), rtol=0, atol=1e-9)
    assert np.isinf(got[p > 0.8]).all()


def test_normal_odds_are_scipys_at_the_end_of_the_day(falls):
    days = np.arange(230, 300)
    got = by_day(dates(falls), days=days, estimator="normal", window=None).share
    want = stats.norm.cdf(days + 0.5, falls.mean(), falls.std(ddof=1))
    np.testing.assert_allclose(got, want, rtol=0, atol=1e-12)


def test_moments_equal_numpys(falls):
    found = moments(from_known(np.concatenate([falls, [INF] * 10])))
    assert found.mean == pytest.approx(falls.mean(), abs=1e-12)
    assert found.sd == pytest.approx(falls.std(ddof=1), abs=1e-12)
    assert found.event == pytest.approx(0.8, abs=1e-12)
