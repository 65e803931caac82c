"""Holes on small arrays that can be checked in the head, and the completeness rules of WMO-No. 1203."""

import numpy as np
import pytest

from frostkit.errors import SettingError
from frostkit.records.holes import (
    FROM_NEIGHBOURS,
    INTERPOLATED,
    fill,
    longest_run,
    months_formed,
    normal_stands,
    season_table,
)
from frostkit.records.record import Record, Station

NAN = float("nan")


def record(tmin, tmax=None, start="2001-01-01", sign=None) -> Record:
    tmin = np.asarray(tmin, "f4")
    return Record(Station(), np.datetime64(start), tmin, tmin + 10 if tmax is None else np.asarray(tmax, "f4"), sign)


def test_three_days_are_interpolated_and_four_are_not():
    filled = fill(record([0, NAN, NAN, NAN, 4, NAN, NAN, NAN, NAN, 9]))
    assert filled.values[0, 1:4].tolist() == [1, 2, 3]
    assert (filled.how[0, 1:4] == INTERPOLATED).all()
    assert np.isnan(filled.values[0, 5:9]).all()
    assert filled.said[0].startswith("Tmin of 3 days interpolated for heat, give or take ")
    assert filled.said[0].endswith("never for frost.")


def test_a_hole_at_either_end_of_the_record_is_not_filled():
    assert not fill(record([NAN, 1, 2, NAN])).there().any()
    assert not fill(record([NAN, NAN])).there().any()


def test_no_negative_number_of_days():
    with pytest.raises(SettingError, match=r"longest=-1 days can't be filled.\nGive 0 or more."):
        fill(record([1, 2]), longest=-1)


def test_a_neighbour_that_is_always_3_degrees_colder_fills_a_month_exactly():
    rng = np.random.default_rng(1)
    truth = (10 * np.sin(np.arange(1461) / 58.1) + rng.standard_normal(1461) * 4).astype("f4")
    holed = truth.copy()
    holed[500:530] = NAN
    filled = fill(record(holed), [record(truth - 3)])
    assert (filled.how[0, 500:530] == FROM_NEIGHBOURS).all()
    assert filled.values[0, 500:530] == pytest.approx(truth[500:530], abs=0.5)
    assert filled.scatter[0, 500:530].max() < 0.5
    low, _ = filled.for_heat(record(holed), spread=-1.645)
    assert (low[500:530] < filled.values[0, 500:530]).all()
    assert (low[:500] == truth[:500]).all()


@pytest.mark.parametrize(
    ("missing", "formed"),
    [
        (range(4), True),
        (range(5), False),  # 5 in a row
        (range(0, 20, 2), True),  # 10 in all
        (range(0, 22, 2), False),  # 11 in all
    ],
)
def test_a_month_is_not_formed_with_11_missing_or_5_in_a_row(missing, formed):
    """WMO-No. 1203 (2017): from memory of it."""
    known = np.ones(31, bool)
    known[list(missing)] = False
    assert months_formed(np.datetime64("2001-07-01"), known)[1].tolist() == [formed]


def test_a_normal_needs_24_of_30_years():
    """WMO-No. 1203 (2017): 80 % of the years, from memory of it."""
    formed = np.ones((30, 2), bool)
    formed[:6, 0] = False
    formed[:7, 1] = False
    assert normal_stands(formed).tolist() == [True, False]


def test_longest_run_against_counting():
    rng = np.random.default_rng(5)
    missing = rng.random((50, 30)) < 0.5
    counted = [max(len(run) for run in "".join("x" if m else " " for m in row).split(" ")) for row in missing]
    assert longest_run(missing).tolist() == counted


def test_seasons_are_complete_bounded_or_not_known():
    tmin = np.full(365 * 3, 5.0, "f4")
    tmin[365 + 200 : 365 + 204] = NAN  # 4 days of July
    tmin[730 + 200 : 730 + 206] = NAN  # 6: the month is not formed
    states = [(row.season, row.state, row.longest, row.months_not_formed) for row in season_table(record(tmin))]
    assert states == [(2001, "complete", 0, ()), (2002, "bounded", 4, ()), (2003, "not known", 6, (7,))]
    summer = np.zeros(365, bool)
    one = np.full(365, 5.0, "f4")
    one[200] = NAN
    assert season_table(record(one))[0].state == "bounded"  # a frost could hide
    assert season_table(record(one), could_be_cold=summer)[0].state == "complete"
    known_above = np.zeros(365, np.int8)
    known_above[200] = 1
    assert season_table(record(one, sign=known_above))[0].could_hide_frost == 0
