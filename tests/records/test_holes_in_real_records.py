"""Known days blanked out of real records and filled again: the error in degrees, and in days of the resulting dates.

Quebec stations some 20 km from each other (`data/PROVENANCE.md`); `-s` prints what was measured.
"""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.records.checks import check
from frostkit.records.days import days_of
from frostkit.records.holes import FROM_NEIGHBOURS, INTERPOLATED, fill, season_table
from frostkit.records.readers import read
from frostkit.records.record import Record
from tests.conftest import SHARED

pytestmark = pytest.mark.real
RELAID = "FARNHAM__7022320__1980-2017", "IBERVILLE__7023270__1980-2016", "MARIEVILLE__7024627__1980-2017"
NINETY = 1.645  # standard deviations either side of the middle 90 % of a normal


@pytest.fixture(scope="module")
def stations() -> list[Record]:
    read_in = [read(SHARED / "data/eccc/relaid" / f"{name}.csv") for name in RELAID]
    return [check(record, [other for other in read_in if other is not record])[0] for record in read_in]


def blank(record: Record, runs) -> tuple[Record, np.ndarray]:
    """The record without the days of these runs, and where both readings were there before."""
    gone = np.zeros(record.tmin.size, bool)
    for start, length in runs:
        gone[start : start + length] = True
    known = gone & np.isfinite(record.tmin) & np.isfinite(record.tmax)
    tmin, tmax = (np.where(gone, np.float32(np.nan), x) for x in (record.tmin, record.tmax))
    return replace(record, tmin=tmin, tmax=tmax), known


def errors(record, filled, known):
    truth = np.stack([record.tmin, record.tmax])
    return (filled.values - truth)[:, known]


@pytest.mark.parametrize("length", [1, 2, 3])
def test_short_holes_are_interpolated_within_the_scatter_that_is_said(stations, length):
    record = stations[0]
    starts = np.random.default_rng(length).choice(np.arange(10, record.tmin.size - 10, 8), 500, replace=False)
    holed, known = blank(record, [(start, length) for start in starts])
    filled = fill(holed)
    known &= (filled.how == INTERPOLATED).all(0)
    assert known.sum() > 350 * length
    error = errors(record, filled, known)
    within = np.abs(error) <= NINETY * filled.scatter[:, known]
    print(f"\n{length} days: root mean square {np.sqrt((error**2).mean(1)).round(2)} °C (Tmin, Tmax), said "
          f"{np.sqrt((filled.scatter[:, known] ** 2).mean(1)).round(2)}, within the 90 % ends {within.mean():.3f}")  # fmt: skip
    assert within.mean() == pytest.approx(0.90, abs=0.03)


def test_long_holes_from_neighbours_err_less_and_within_the_scatter_that_is_said(stations):
    record, *neighbours = stations
    starts = np.arange(200, record.tmin.size - 60, 240)
    holed, known = blank(record, [(start, 30) for start in starts])
    assert not fill(holed).there()[:, known].any()  # unknown without neighbours
    filled = fill(holed, neighbours)
    known &= (filled.how == FROM_NEIGHBOURS).all(0)
    assert known.sum() > 1000
    error = errors(record, filled, known)
    within = np.abs(error) <= NINETY * filled.scatter[:, known]
    print(f"\n30 days from neighbours: root mean square {np.sqrt((error**2).mean(1)).round(2)} °C (Tmin, Tmax), said "
          f"{np.sqrt((filled.scatter[:, known] ** 2).mean(1)).round(2)}, within the 90 % ends {within.mean():.3f}, "
          f"mean {error.mean(1).round(2)}\n{filled.said}")  # fmt: skip
    assert np.sqrt((error**2).mean(1)).max() < 2.0  # a line over one missing day errs by 4 °C here
    assert np.abs(error.mean(1)).max() < 0.3
    assert 0.85 < within.mean() < 0.95


def heat_dates(record: Record, tmin, tmax, need=800.0) -> dict[int, int]:
    """Plain loop: in each year the day by whose end the degree days (base 10, mean) from 15 May reach the need."""
    days = days_of(record.start, tmin.size)
    rate = np.maximum((tmin.astype(float) + tmax) / 2 - 10, 0)
    dates = {}
    for year in np.unique(days.year):
        here = np.flatnonzero((days.year == year) & (days.place >= 134) & (days.place < 304) & ~days.leap)
        total = np.cumsum(rate[here])  # NaN from the first missing day on
        reached = np.flatnonzero(total >= need)
        if here.size == 170 and reached.size:
            dates[int(year)] = int(days.place[here[reached[0]]])
    return dates


def test_twenty_days_of_july_filled_from_neighbours_move_the_day_of_800_degree_days_by_a_day_or_two(stations):
    record, *neighbours = stations
    whole = fill(record, neighbours).for_heat(record)  # the few days the record itself lacks
    truth = heat_dates(record, *whole)
    days = days_of(record.start, record.tmin.size)
    starts = np.flatnonzero((days.place == 186) & (np.isfinite(record.tmin)))  # 6 July
    holed, _ = blank(record, [(start, 20) for start in starts])
    filled = fill(holed, neighbours)
    got = heat_dates(holed, *filled.for_heat(holed))
    early, late = (heat_dates(holed, *filled.for_heat(holed, spread)) for spread in (NINETY, -NINETY))
    years = sorted(set(truth) & set(got) & set(early) & set(late))
    off = np.array([got[year] - truth[year] for year in years])
    print(f"\n20 July days filled: {len(years)} seasons, day of 800 degree days off by {np.abs(off).mean():.2f} days "
          f"on average, at most {np.abs(off).max()}; without filling no season has a date")  # fmt: skip
    assert len(years) >= 25
    assert np.abs(off).mean() < 1.0
    assert np.abs(off).max() <= 3
    assert all(early[year] <= truth[year] <= late[year] for year in years)
    assert not set(years) & set(heat_dates(holed, holed.tmin, holed.tmax))


def test_the_record_itself_is_never_filled(stations):
    record, *neighbours = stations
    before = record.tmin.copy(), record.tmax.copy()
    filled = fill(record, neighbours)
    assert filled.there().any()
    assert np.array_equal(record.tmin, before[0], equal_nan=True)
    assert np.array_equal(record.tmax, before[1], equal_nan=True)
    assert not (filled.there()[0] & np.isfinite(record.tmin)).any()
    low, high = filled.for_heat(record)
    assert (low[np.isfinite(low + high)] <= high[np.isfinite(low + high)]).all()


def test_the_season_table_agrees_with_the_rule_for_complete_seasons(stations):
    """Against `seasons.frost.complete`, which follows the same definition by another road."""
    from frostkit.seasons.calendar import fold
    from frostkit.seasons.frost import complete

    for record in (*stations, read(SHARED / "data/ghcn-daily/CA003076680_2003-2024.csv.gz", input_units="C")):
        cube = fold(record.start, record.tmin, record.tmax, record.sign)
        could = cube.lows - 20 <= 0  # tenths: within 2 °C
        table = season_table(record, could)
        assert [row.season for row in table] == cube.seasons.tolist()
        assert [row.state == "complete" for row in table] == complete(cube).tolist()
