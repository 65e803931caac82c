"""Standing at each past season: against a plain loop, and the sums that scores must obey."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, strategies as st

import frostkit.public as fk
from frostkit.answers.station.track_record import cases_of, frost_event
from frostkit.ensemble.fold import GROWING
from frostkit.ensemble.past import ensembles_before
from frostkit.odds.hindcast import ALL, FIXED, RECENT, Cases, first_seasons, hindcast, judged, luck, predictive
from frostkit.seasons.calendar import code

DAYS = np.arange(250, 290)
YEARS = np.arange(1950, 2000)


def question(rows, days):
    """Has the event, whose day stands in the first column, come by each day."""
    return rows.tmin[:, :1] <= days


def made_up(falls, complete=None, draws=1, shift=0, asked=0, shifted=None):
    """An ensemble whose rows hold nothing but a day of fall."""
    rows = np.asarray(falls, np.int16).reshape(-1, 1) + np.int16(shift)
    size = len(rows) // draws
    complete = np.ones(size, bool) if complete is None else complete
    index = np.arange(len(rows)).reshape(draws, size)
    return SimpleNamespace(tmin=rows, tmax=rows, prcp=None, index=index, shifted=shifted, seasons=YEARS[:size],
                           complete=complete, asked=asked)  # fmt: skip


@pytest.fixture(scope="module")
def falls():
    return np.round(np.random.default_rng(6).normal(268, 9, 50) + 0.1 * np.arange(50)).astype(int)


@pytest.fixture(scope="module")
def whole():
    return np.random.default_rng(7).random(50) < 0.8


@pytest.fixture(scope="module")
def cases(falls, whole):
    def before(years):
        return [made_up(falls[: year - 1950], shift=2) for year in years]

    return hindcast(made_up(falls, whole), question, DAYS, before, first=30)


def test_every_forecast_is_the_share_of_the_seasons_before_in_a_plain_loop(cases, falls, whole):
    judged_years = [year for year in range(1980, 2000) if whole[year - 1950]]
    assert cases.year.tolist() == judged_years
    doubt = [day for day in DAYS if 0.03 <= sum(fall <= day for fall in falls[:30]) / 30 <= 0.97]
    assert cases.days.tolist() == doubt
    for case, year in enumerate(judged_years):
        gone = falls[: year - 1950].tolist()
        for place, day in enumerate(doubt):
            assert cases.given[case, place] == pytest.approx(sum(fall + 2 <= day for fall in gone) / len(gone))
            assert cases.against[ALL][case, place] == pytest.approx(sum(fall <= day for fall in gone) / len(gone))
            newest = gone[-30:]
            assert cases.against[RECENT][case, place] == pytest.approx(sum(fall <= day for fall in newest) / 30)
            assert cases.against[FIXED][case, place] == pytest.approx(sum(fall <= day for fall in falls[:30]) / 30)
            assert cases.happened[case, place] == (falls[year - 1950] <= day)


def test_the_days_are_settled_by_the_first_seasons_alone(falls, whole, cases):
    later = falls.copy()
    later[30:] += 25
    other = hindcast(
        made_up(later, whole), question, DAYS, lambda years: [made_up(later[: y - 1950]) for y in years], 30
    )
    assert other.days.tolist() == cases.days.tolist()
    assert np.array_equal(other.against[FIXED], cases.against[FIXED])


def test_only_the_newest_are_judged_where_that_is_asked(falls, whole):
    some = hindcast(
        made_up(falls, whole), question, DAYS, lambda years: [made_up(falls[: y - 1950]) for y in years], 30, newest=5
    )
    assert some.year.tolist() == [year for year in range(1980, 2000) if whole[year - 1950]][-5:]


def test_a_short_record_has_fewer_first_seasons_and_a_very_short_one_no_forecast():
    assert [first_seasons(np.ones(size, bool)) for size in (60, 40, 39, 30, 29, 8)] == [30, 30, 20, 20, 10, 10]
    short = hindcast(made_up(np.full(8, 260)), question, DAYS, lambda years: [])
    assert judged(short.given, short.happened).forecasts == 0
    assert np.isnan(judged(short.given, short.happened).mean_gap)


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=60))
def test_scores_are_those_of_a_plain_loop_and_tenths_hold_every_forecast(pairs):
    odds, came = (np.array(part).reshape(-1, 1) for part in zip(*pairs, strict=True))
    own = judged(odds.astype(float), came.astype(bool))
    assert own.brier == pytest.approx(sum((p - c) ** 2 for p, c in pairs) / len(pairs))
    assert own.bias == pytest.approx(sum(p - c for p, c in pairs) / len(pairs))
    classes = {}
    for p, c in pairs:
        classes.setdefault(min(int(p * 10 + 1e-9), 9), []).append((p, c))
    gaps = {k: abs(sum(p for p, _ in v) - sum(c for _, c in v)) / len(v) for k, v in classes.items()}
    assert own.largest_gap == pytest.approx(max(gaps.values()))
    assert own.mean_gap == pytest.approx(sum(gaps[k] * len(v) for k, v in classes.items()) / len(pairs))
    assert own.tenths.forecasts.sum() == own.forecasts == len(pairs)
    assert own.mean_gap >= abs(own.bias) - 1e-12


def test_odds_that_are_right_are_off_by_luck_alone():
    rng = np.random.default_rng(2)
    mean = rng.uniform(260, 276, (60, 1))
    odds = 1 / (1 + np.exp(-(DAYS - mean) / 4))
    came = rng.random((60, 1)) < odds
    expected = luck(odds)
    assert 0.01 < expected < 0.08
    assert judged(odds, came).mean_gap < 3 * expected


def test_an_honest_range_holds_the_next_seasons_in_nine_of_ten_and_misses_either_side_alike():
    """Odds drawn from the very distribution that 12 yes of 30 leave: every outcome's part inside is counted."""
    rng = np.random.default_rng(5)
    inside = []
    for _ in range(400):
        truth = rng.beta(12.5, 18.5)
        came = (rng.random((5, 1)) < truth).astype(bool)
        seasons = np.arange(2000, 2005)
        past = SimpleNamespace(tmin=np.array([[0]] * 12 + [[1]] * 18, np.int16), tmax=np.zeros((30, 1), np.int16),
                               prcp=None, index=np.arange(30)[None], shifted=None, seasons=np.arange(30), asked=2000)  # fmt: skip
        few = Cases(np.array([0]), seasons[:1], np.zeros((1, 1)), came[:1], {}, 0, seasons, came, np.ones(5, bool))
        inside.append(predictive(few, [past], lambda rows, days: rows.tmin[:, :1] == days))
    assert np.mean([one.within for one in inside]) == pytest.approx(0.90, abs=0.03)
    assert np.mean([one.below for one in inside]) == pytest.approx(np.mean([one.above for one in inside]), abs=0.03)


def test_what_stood_before_a_season_knows_nothing_of_it_and_equals_the_site_asked_for_it():
    site = fk.demo()
    before = dict(zip((1990, 2000), ensembles_before(site, (1990, 2000)), strict=True))
    for year, rows in before.items():
        asked = site.asking(year).ensemble(shifts=0)
        assert rows.asked == year and rows.seasons.max() < year
        assert rows.seasons.tolist() == asked.seasons.tolist()
        whole, growing = asked.complete, slice(GROWING[0], GROWING[1] + 1)  # in winter they may have holes
        for element in ("tmin", "tmax"):
            mine, its = (getattr(of, element)[of.index[0, whole], growing] for of in (rows, asked))
            assert np.array_equal(mine, its)


def test_the_odds_that_are_judged_are_those_that_frost_prints_for_that_season():
    site = fk.demo()
    cases = cases_of(site, frost_event("first-fall-frost", 0.0))
    for case in (0, len(cases.year) - 1):
        printed = fk.frost(site.asking(int(cases.year[case]))).to_dict()["odds"]["first_fall"]
        by_day = {row["day"]: row["share"] for row in printed}

        for place, day in enumerate(cases.days):
            assert cases.given[case, place] == pytest.approx(by_day[code(float(day))], abs=0.02)  # holes drawn anew
