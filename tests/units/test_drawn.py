"""Odds over several draws of a field's record."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from frostkit.answers.field import in_field, over
from frostkit.answers.frosts import frosts
from frostkit.answers.seeding import seeding
from frostkit.answers.station import behind
from frostkit.crops.entry import load
from frostkit.demo.place import LOGGER, demo_record
from frostkit.odds.drawn import over_shares
from frostkit.odds.estimate import share
from frostkit.records.field import compare, low_spot
from frostkit.records.logger import read_logger


def of(yes, total=30, unknown=0):
    return share(yes, total - yes - unknown, unknown, complete=total - unknown, complete_yes=yes)


def test_draws_that_agree_are_one_record():
    one, many = of(24), over_shares([of(24)] * 20)
    for name in one._fields:
        assert np.array_equal(getattr(many, name), getattr(one, name)) or getattr(many, name) == pytest.approx(
            getattr(one, name)
        ), name


def test_the_interval_is_rubins():
    # Rubin 1987, Multiple Imputation for Nonresponse in Surveys, eq. 3.1.5 (from memory), worked by hand: two draws,
    # 20 and 25 of 30; low end: within = mean share less mean low, between = var(2/3, 5/6) = 1/72, factor 1 + 1/2
    parts = [of(20), of(25)]
    within = 0.75 - (parts[0].low + parts[1].low) / 2
    low = 0.75 - np.sqrt(within**2 + 1.6448536**2 * 1.5 / 72)
    assert float(over_shares(parts).low) == pytest.approx(float(low), abs=1e-6)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 10)), min_size=2, max_size=8))
def test_counts_stay_counts_of_the_same_seasons(draws):
    parts = [of(min(yes, 30 - unknown), 30, unknown) for yes, unknown in draws]
    whole = over_shares(parts)
    assert whole.yes + whole.no + whole.not_known == 30
    assert min(whole.yes, whole.no, whole.not_known) >= 0
    assert whole.complete_yes <= whole.complete <= 30
    assert whole.low <= min(np.mean([p.low for p in parts]), np.mean([p.yes / 30 for p in parts])) + 1e-12
    assert whole.high >= np.mean([p.high for p in parts]) - 1e-12


def test_odds_are_not_reached_by_rounding():
    # 24 of 30 is 8 in 10; 23.9 of 30 on average is not
    assert int(over_shares([of(24)] * 9 + [of(23)]).complete_yes) == 23


@pytest.fixture(scope="module")
def places():
    record = demo_record()
    offset = compare(record, read_logger(LOGGER).record)
    return (
        behind(record),
        in_field(record, low_spot(2)),
        in_field(record, offset, draws=6),
        in_field(record, offset, draws=6),
    )


def test_a_colder_field_has_lower_odds_by_hand_and_by_logger(places):
    station, typed, logged, _ = places
    crops = load("silage-2300"), load("forage-late")
    odds = [over(at, seeding, *crops).odds["both"].share for at in (station, typed, logged)]
    for colder in odds[1:]:
        assert np.nanmean(colder) < np.nanmean(odds[0]) - 0.05
    assert typed.moved.nights == 0 and not typed.draws
    assert logged.moved.nights > 100 and len(logged.draws) == 6


def test_the_same_logger_gives_the_same_odds(places):
    one, again = (over(at, frosts, 0.0) for at in places[2:])
    assert np.array_equal(one.fall_odds.share, again.fall_odds.share)


def test_scatter_widens_the_interval(places):
    crops = load("silage-2300"), load("forage-late")
    logged = over(places[2], seeding, *crops).odds["both"]
    alone = seeding(places[2].draws[0], *crops).odds["both"]
    middle = (logged.share > 0.2) & (logged.share < 0.8)
    assert middle.any()
    assert np.mean((logged.high - logged.low)[middle]) > np.mean((alone.high - alone.low)[middle])


def test_the_window_over_draws_is_the_run_that_their_odds_reach(places):
    answer = over(places[2], seeding, load("silage-2000"), load("forage-late"), odds=0.5)
    of_both = answer.odds["both"]
    inside = (answer.days >= answer.window.first) & (answer.days <= answer.window.last)
    assert (2 * of_both.complete_yes[inside] >= of_both.complete[inside]).all()
    assert answer.behind is places[2]
