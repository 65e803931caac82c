"""The interval-censored estimate against cases worked by hand, the conditions of its maximum, and other libraries."""

import json
import os
import subprocess

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from frostkit.odds.turnbull import GAP, turnbull

INF = np.inf


def masses(first, last):
    """{(first, last): share} of the stretches that carry one."""
    curve = turnbull(first, last).curve
    share = curve.mass / curve.mass.sum()
    return {(a, b): m for a, b, m in zip(curve.first.tolist(), curve.last.tolist(), share.tolist(), strict=True) if m}


def test_one_season_known_only_to_be_later_gives_its_share_to_the_later_ones():
    # By hand, CHECKS.md section 4: 250, 255, 260 known, one after 252, one between 254 and 261. Stretches: 250, 255, 260.
    # With shares a, b, c the likelihood is a b c (b + c)(b + c): by symmetry b = c, and a (1 - a)^4 is largest at a = 1/5.
    got = masses([250, 255, 260, 253, 254], [250, 255, 260, INF, 261])
    assert got == pytest.approx({(250, 250): 0.2, (255, 255): 0.4, (260, 260): 0.4}, abs=1e-9)


def test_the_middle_is_exactly_empty_where_plain_iteration_creeps():
    # CHECKS.md section 4: sets {1}, {1,2}, {2,3}, {3}, {1,2,3}. With shares p, q, r the likelihood p (p + q) (q + r) r is,
    # by symmetry p = r = (1 - q) / 2, (1 - q)^2 (1 + q)^2 / 16: largest at q = 0.
    got = masses([1, 1, 2, 3, 1], [1, 2, 3, 3, 3])
    assert got == pytest.approx({(1, 1): 0.5, (3, 3): 0.5}, abs=1e-12)


def test_kaplan_and_meier_by_hand():
    # 10, 20 seen, one known only to be after 15: 1/3 at 10; the rest, 2/3, all at 20.
    assert masses([10, 20, 16], [10, 20, INF]) == pytest.approx({(10, 10): 1 / 3, (20, 20): 2 / 3}, abs=1e-12)


def test_seasons_that_overlap_share_their_overlap():
    assert masses([1, 3], [5, 8]) == pytest.approx({(3, 5): 1.0}, abs=1e-12)


def test_seasons_without_the_event_and_seasons_that_say_nothing():
    got = masses([250, 260, INF, -INF], [250, 260, INF, INF])
    assert got == pytest.approx({(250, 250): 1 / 3, (260, 260): 1 / 3, (INF, INF): 1 / 3}, abs=1e-12)


def test_known_dates_are_plainly_counted():
    fit = turnbull([3.0, 1.0, 3.0], [3.0, 1.0, 3.0])
    assert fit.curve.by([0, 1, 2, 3]).tolist() == [0, 1 / 3, 1 / 3, 1]


def test_rows_of_a_stack_are_each_solved_as_if_alone():
    rng = np.random.default_rng(3)
    first = np.round(rng.normal(260, 9, (12, 25)))
    last = first + np.where(rng.random((12, 25)) < 0.3, rng.integers(1, 20, (12, 25)), 0)
    last[rng.random((12, 25)) < 0.05] = INF
    first[4] = last[4] = np.round(first[4])
    days = np.arange(230, 300)
    together = turnbull(first, last).curve.by(days)
    alone = np.stack([turnbull(*row).curve.by(days) for row in zip(first, last, strict=True)])
    np.testing.assert_allclose(together, alone, atol=1e-9)


seasons = st.lists(
    st.tuples(st.integers(0, 12), st.one_of(st.integers(0, 8), st.just(INF))).map(lambda p: (p[0], p[0] + p[1])),
    min_size=1,
    max_size=9,
)


@settings(max_examples=150, deadline=None)
@given(seasons)
def test_no_direction_rises_from_the_answer_and_none_with_a_share_falls(rows):
    # Lindsay 1983, Annals of Statistics 11:86-94: at the maximum the gradient is at most n, and n where there is mass.
    first, last = (np.array(end, float) for end in zip(*rows, strict=True))
    fit = turnbull(first, last)
    assert fit.excess <= 10 * GAP
    curve = fit.curve
    inside = (first[:, None] <= curve.first) & (curve.last <= last[:, None])
    share = curve.mass / curve.mass.sum()
    rise = (inside / (inside @ share)[:, None]).sum(0)
    assert (rise <= len(first) * (1 + 1e-7)).all()
    assert rise[share > 1e-6] == pytest.approx(len(first), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(seasons)
def test_no_other_shares_are_more_likely(rows):
    # The slow truth: expectation-maximisation from a thousand passes never gets above the answer's likelihood.
    first, last = (np.array(end, float) for end in zip(*rows, strict=True))
    curve = turnbull(first, last).curve
    inside = ((first[:, None] <= curve.first) & (curve.last <= last[:, None])).astype(float)
    mine = np.log(inside @ (curve.mass / curve.mass.sum())).sum()
    share = np.full(inside.shape[1], 1 / inside.shape[1])
    for _ in range(1000):
        share = share * (inside / (inside @ share)[:, None]).mean(0)
    assert mine >= np.log(inside @ share).sum() - 1e-9


@settings(max_examples=100, deadline=None)
@given(seasons, st.booleans())
def test_the_closed_form_for_seasons_cut_off_is_the_same_as_the_search(rows, mirrored):
    first, last = (np.array(end, float) for end in zip(*rows, strict=True))
    last[last > first] = INF
    searched = np.where(np.isinf(last), 1000.0, last)  # an end that is only far away is searched for
    curve, slow = (turnbull(*((-high, -low) if mirrored else (low, high))).curve
                   for low, high in ((first, last), (first, searched)))  # fmt: skip
    days = np.arange(-30, 30)
    settled = days < first.max() if not mirrored else days >= -first.max()
    np.testing.assert_allclose(curve.by(days)[settled], slow.by(days)[settled], atol=1e-9)


def test_it_equals_scipys_estimate_where_seasons_are_only_cut_off():
    rng = np.random.default_rng(11)
    day = np.round(rng.normal(265, 10, 60))
    stop = np.round(rng.uniform(250, 290, 60))
    cut = stop < day
    first, last = np.where(cut, stop + 1, day), np.where(cut, INF, day)
    data = stats.CensoredData(uncensored=day[~cut], right=np.minimum(stop, 400)[cut])
    truth = stats.ecdf(data).cdf
    days = np.unique(day[~cut])
    np.testing.assert_allclose(turnbull(first, last).curve.by(days), truth.evaluate(days), atol=1e-6)


LIFELINES = """
import json, sys
from lifelines.fitters.npmle import npmle
out = []
for first, last in json.load(sys.stdin):
    share, stretches = npmle(first, [float("inf") if day is None else day for day in last], tol=1e-10)
    out.append([[float(s.left), float(s.right) if s.right < 1e9 else None, float(p)] for p, s in zip(share, stretches)])
json.dump(out, sys.stdout)
"""


@pytest.mark.skipif(
    "FROSTKIT_LIFELINES_PYTHON" not in os.environ,
    reason="set FROSTKIT_LIFELINES_PYTHON to a python with lifelines, which needs an environment of its own",
)
def test_it_equals_lifelines():
    """lifelines 0.30, whose iteration stops by its steps: equal to 1e-4, and here never less likely."""
    rng = np.random.default_rng(5)
    cases = []
    for _ in range(8):
        day = np.round(rng.normal(260, 8, 20))
        before = np.where(rng.random(20) < 0.4, rng.integers(1, 12, 20), 0)
        cases.append((day - before, np.where(rng.random(20) < 0.2, INF, day)))
    asked = [[first.tolist(), [None if np.isinf(day) else day for day in last]] for first, last in cases]
    python = os.environ["FROSTKIT_LIFELINES_PYTHON"]
    ran = subprocess.run([python, "-c", LIFELINES], input=json.dumps(asked), capture_output=True, text=True, check=True)
    for (first, last), theirs in zip(cases, json.loads(ran.stdout), strict=True):
        mine = masses(first, last)
        for begin, end, share in theirs:
            stretch = (begin, begin if end is None else end)  # a stretch without an end is put on its first day here
            assert mine.get(stretch, 0.0) == pytest.approx(share, abs=1e-4)
        assert sum(mine.values()) == pytest.approx(1.0, abs=1e-9)
