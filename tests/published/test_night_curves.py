"""The night curves against the values printed for them."""

import pytest

from frostkit.seasons.night import CURVES, hours_at_or_below


# checks/values.csv SUB-04 to SUB-07, READ: Cesaraccio et al. 2001 as in an open package, sunrise 6, sunset 18, Tmax 30,
# Tmin 10, next Tmin 12; printed to five decimals.
@pytest.mark.parametrize(("hour", "tmin", "expected"), [
    (8 + 24, 10, 17.65367), (2 + 24, 12, 14.01487), (16, 12, 27.94389), (20, 12, 18.49743)])  # fmt: skip
def test_cesaraccio_and_others_2001(hour, tmin, expected):
    # before 18 h the fall is towards the next minimum, 12; after the night the rise is from this one
    assert CURVES["sine and root"](hour, 6, 18, 30, tmin, 30) == pytest.approx(expected, abs=1e-4)


def test_hours_at_or_below_freezing_differ_by_curve_as_printed():
    # SUB-12 4.85 h (Cesaraccio), SUB-13 3.33 h (Parton-Logan): Tmax 14, Tmin -2, sunrise 6.7, sunset 19.4; tolerance 0.05
    low, high = hours_at_or_below(0.0, 14.0, -2.0, 14.0, 12.7)
    assert low == pytest.approx(3.33, abs=0.05)
    assert high == pytest.approx(4.85, abs=0.05)


def test_a_colder_threshold_never_lasts_longer():
    hours = hours_at_or_below([0.0, -0.5, -1.0, -2.0, -3.0, -4.0], 12.0, -3.0, 15.0)
    assert (hours.low[1:] <= hours.low[:-1]).all() and (hours.high[1:] <= hours.high[:-1]).all()
    assert hours.high[-1] == 0
