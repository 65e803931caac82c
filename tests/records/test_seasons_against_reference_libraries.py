"""Degree days, corn heat and frost dates on real records against xclim and plain pandas, season by season."""

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from xclim import indices

from frostkit.seasons.calendar import MISSING, code, column
from frostkit.seasons.frost import first_fall, frost_free_days, last_spring
from frostkit.seasons.heat import Heat, total
from tests import plain_dly

pytestmark = pytest.mark.real
RECORDS = ["CA006105976.dly", "USC00305816.dly"]
FIRST, LAST = column(5, 1), column(9, 30)


@pytest.fixture(scope="module", params=RECORDS)
def record(request, shared):
    path = shared / "data/ghcn-daily" / request.param
    start, tmin, tmax = plain_dly.days(path)
    table = pd.DataFrame({"tmin": tmin, "tmax": tmax}, pd.date_range(start, periods=tmin.size))
    return plain_dly.seasons(path), table


def summers(years, table):
    """(place of the season, its days from 1 May to 30 September) where none is missing."""
    for place, season in enumerate(years):
        days = table.loc[f"{season}-05-01" : f"{season}-09-30"]
        if len(days) == 153 and days.notna().all(axis=None):
            yield place, days


def test_degree_days_equal_plain_pandas_in_every_season_without_missing_days(record):
    (years, tmin, tmax), table = record
    heat = total(tmin, tmax, Heat("mean", 10), FIRST, LAST)
    count = 0
    for place, days in summers(years, table):
        daily = (((days.tmin + days.tmax) / 2).round(3) - 10).clip(lower=0)
        assert heat[place] == round(100 * daily.sum())
        count += 1
    assert count > 60


def test_degree_days_and_corn_heat_equal_xclim(record):
    (years, low, high), table = record
    degree_days = total(low, high, Heat("mean", 5), FIRST, LAST) / 100
    chu = Heat("chu", night_base=4.44)  # xclim's variant
    corn_heat = total(low, high, chu, FIRST, LAST) / chu.per_unit
    places, parts = zip(*summers(years, table), strict=True)
    days = pd.concat(parts)
    units = {"units": "degC"}
    tmin, tmax = (xr.DataArray(days[name].to_numpy(), {"time": days.index}, ["time"], attrs=units) for name in days)
    year = days.index.year.to_numpy()

    tas = ((tmin + tmax) / 2).assign_attrs(units)
    by_day = (tas - 5).clip(min=0)
    one = tas.sel(time=str(year[0]))
    assert float(indices.growing_degree_days(one, thresh="5 degC", freq="YS")[0]) == pytest.approx(
        float(by_day.sel(time=str(year[0])).sum())
    )
    whole = pd.Series(by_day.to_numpy()).groupby(year).sum().to_numpy()
    assert np.abs(degree_days[list(places)] - whole).max() < 1e-6

    theirs = indices.corn_heat_units(tmin, tmax, thresh_tasmin="4.44 degC", thresh_tasmax="10 degC").to_numpy()
    assert np.abs(corn_heat[list(places)] - pd.Series(theirs).groupby(year).sum().to_numpy()).max() < 1e-6


@pytest.mark.parametrize("at_or_below", [0.0, -2.2])
def test_frost_dates_equal_plain_pandas_in_every_season_without_missing_days(record, at_or_below):
    (years, tmin, _), table = record
    spring, fall = last_spring(tmin, at_or_below), first_fall(tmin, at_or_below)
    between = frost_free_days(spring, fall)
    count = 0
    for place, season in enumerate(years):
        year = table.tmin.loc[f"{season}-01-01" : f"{season}-12-31"]
        if len(year) < 365 or year.isna().any():
            continue
        cold = year[year <= at_or_below + 1e-6].index
        before, after = cold[cold < f"{season}-08-01"][-1], cold[cold >= f"{season}-08-01"][0]
        assert code(spring[place]) == before.strftime("%m-%d")
        assert code(fall[place]) == after.strftime("%m-%d")
        assert between[place] == (after - before).days - 1
        count += 1
    assert count > 40


def test_first_fall_frost_equals_xclim_with_the_comparison_said(record):
    """xclim compares with `<` unless told otherwise."""
    (years, low, _), table = record
    fall = first_fall(low, 0.0)
    days = table.tmin[table.tmin.index.month >= 8]
    tmin = xr.DataArray(days.to_numpy(), {"time": days.index}, ["time"], attrs={"units": "degC"})
    count = 0
    for place in range(0, len(years), 5):
        season = years[place]
        year = tmin.sel(time=str(season))
        if year.size < 153 or bool(year.isnull().any()):
            continue
        day = indices.first_day_temperature_below(
            year, thresh="0 degC", op="<=", after_date="08-01", window=1, freq="YS"
        )
        leap = pd.Timestamp(f"{season}-01-01").is_leap_year
        assert fall[place] == float(day[0]) - 1 - leap
        count += 1
    assert count > 8


def test_ottawas_plain_counts_come_out(shared):
    """PROVENANCE.md, "Ottawa CDA by plain counting": seasons with Tmin on 95 % of the days of the half year."""
    _, tmin, _ = plain_dly.seasons(shared / "data/ghcn-daily/CA006105976.dly")
    there = tmin != MISSING
    fall_days, spring_days = np.s_[:, column(8, 1) : column(11, 1)], np.s_[:, column(4, 15) : column(7, 1)]
    for at_or_below, season_part, event, published in (
        (0.0, fall_days, first_fall, ["09-19", "10-02", "10-17"]),
        (-2.2, fall_days, first_fall, ["10-01", "10-15", "10-31"]),
        (0.0, spring_days, last_spring, ["04-23", "05-06", "05-22"]),
    ):
        use = there[season_part].mean(axis=1) >= 0.95
        assert use.sum() == 131
        day = np.sort(event(tmin, at_or_below)[use])
        got = [code(day[min(int(p * use.sum()), 130)]) for p in (0.1, 0.5, 0.9)]
        assert got == published
    first = first_fall(tmin, 0.0)[there[fall_days].mean(axis=1) >= 0.95]
    by = [(first <= column(9, day)).mean() for day in (10, 15, 20, 30)]
    assert np.round(by, 3).tolist() == [0.008, 0.046, 0.122, 0.450]
