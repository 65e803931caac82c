"""`frost`, `heat` and `window` on real records, from the file to the answer, against xclim, plain pandas and plain loops.

Dated facts, counts and published tables stand in shared/checks and shared/data; each test names its own.
"""

import csv
import json
from functools import lru_cache

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from click.testing import CliRunner
from xclim import indices

from frostkit.ensemble.fold import fold
from frostkit.records.readers import read
from frostkit.seasons.calendar import MISSING, column, from_code, words
from frostkit.seasons.frost import first_fall, last_spring
from frostkit.show import cli
from tests.real_records import by_pandas, complete_years, fahrenheit, place

pytestmark = pytest.mark.real

LONG = ["ottawa", "new_york", "valleyview", "milwaukee", "twin_cities", "toronto", "farnham", "marieville", "bc_coast"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("relaid")


@pytest.fixture(scope="module")
def said(shared, folder):
    """What a command says as JSON about a record as it stands in the file, unchecked; each asked once."""
    seen = {}

    def ask(command, name, *more):
        if (command, name, more) not in seen:
            path, options = place(name, shared, folder)
            units = ["--input-units", options["input_units"]] if "input_units" in options else []
            how = ["--no-check", "--climate", "as-read", "--json"] + (
                ["--no-track-record"] if command == "window" else []
            )
            told = CliRunner().invoke(cli.command, [command, str(path), *units, *more, *how])
            assert told.exit_code == 0, told.output
            seen[command, name, more] = json.loads(told.output)
        return seen[command, name, more]

    return ask


def by_season(answer):
    return {row["season"]: row for row in answer["seasons"]}


def columns_of(day_of_year, years):
    """xclim's day of the year as "MM-DD", None where it found no such day."""
    return [None if np.isnan(day) else str(np.datetime64(f"{year}-01-01") + int(day) - 1)[5:]
            for day, year in zip(day_of_year, years, strict=True)]  # fmt: skip


@pytest.mark.parametrize("name", ["valleyview", "milwaukee", "toronto", "farnham", "bc_coast"])
def test_frost_dates_equal_xclim_in_every_complete_year(said, shared, name):
    seasons = by_season(said("frost", name, "--threshold", "0"))
    years, parts = zip(*complete_years(name, shared), strict=True)
    days = pd.concat(parts).tmin.round(1)  # 28 °F is stored as -2.2: xclim is given the record's own tenths
    tmin = xr.DataArray(days.to_numpy(), {"time": days.index}, ["time"], attrs={"units": "degC"})
    spring = indices.last_spring_frost(tmin, thresh="0.01 degC", op="<=", before_date="07-31")
    fall = indices.first_day_temperature_below(tmin, thresh="0.01 degC", op="<=", after_date="08-01")
    starts = pd.to_datetime([f"{year}-01-01" for year in years])
    spring, fall = (found.reindex(time=starts).values for found in (spring, fall))
    for year, last, first in zip(years, columns_of(spring, years), columns_of(fall, years), strict=True):
        got = seasons[year]["last_spring"], seasons[year]["first_fall"]
        assert (year, *got) == (year, [last, last], [first, first])
    assert len(years) >= {"valleyview": 3, "farnham": 17, "bc_coast": 26}.get(name, 55)


@pytest.mark.parametrize("threshold", [0.0, -2.2])
@pytest.mark.parametrize("name", LONG)
def test_frost_dates_and_frost_free_days_equal_plain_pandas_in_every_complete_year(said, shared, name, threshold):
    seasons = by_season(said("frost", name, "--threshold", str(threshold)))
    count = 0
    for year, days in complete_years(name, shared):
        tmin = days.tmin.round(1)
        cold = tmin.index[(tmin <= threshold + 0.01) & ~((tmin.index.month == 2) & (tmin.index.day == 29))]
        before, after = cold[cold < f"{year}-08-01"], cold[cold >= f"{year}-08-01"]
        row = seasons[year]
        assert row["last_spring"] == [str(before[-1])[5:10]] * 2 if len(before) else [None, None]
        assert row["first_fall"] == [str(after[0])[5:10]] * 2 if len(after) else [None, None]
        if len(before) and len(after):
            between = pd.date_range(before[-1], after[0], inclusive="neither")
            between = between[~((between.month == 2) & (between.day == 29))]  # that day has no column
            assert row["frost_free_days"] == [len(between)] * 2
        count += 1
    assert count >= {"valleyview": 3, "farnham": 17, "marieville": 14, "bc_coast": 26}.get(name, 55)


@pytest.mark.parametrize("name", LONG)
def test_frost_dates_with_missing_days_hold_what_plain_pandas_saw(said, shared, name):
    """Where days are missing the first fall frost that was seen is as late as the draws can be, in spring as early."""
    table = by_pandas(name, shared).tmin.round(1)
    for season, row in by_season(said("frost", name, "--threshold", "0")).items():
        cold = table.loc[f"{season}-01-01" : f"{season}-12-31"]
        cold = cold[(cold <= 0.01) & ~((cold.index.month == 2) & (cold.index.day == 29))].index
        before, after = cold[cold < f"{season}-08-01"], cold[cold >= f"{season}-08-01"]
        if len(before):
            assert row["last_spring"][0] >= str(before[-1])[5:10]
        if len(after):
            assert row["first_fall"][1] <= str(after[0])[5:10]


@pytest.mark.parametrize("name", LONG)
def test_degree_days_equal_xclim_and_plain_pandas_in_every_complete_summer(said, shared, name):
    seasons = by_season(said("heat", name, "--method", "mean", "--base", "10", "--from", "05-01", "--to", "09-30"))
    years, parts = zip(*complete_years(name, shared, ("tmin", "tmax"), "05-01", "09-30"), strict=True)
    for year, days in zip(years, parts, strict=True):
        tenths = days.round(1)
        whole = ((tenths.tmin + tenths.tmax) / 2 - 10).clip(lower=0).round(3).sum()
        assert seasons[year]["missing_days"] == 0
        assert seasons[year]["total"] == [pytest.approx(whole, abs=1e-6)] * 2
    days = pd.concat(parts).mean(axis=1)
    days = days.reindex(pd.date_range(f"{years[0]}-01-01", f"{years[-1]}-12-31"), fill_value=0.0)  # no heat elsewhere
    tas = xr.DataArray(days.to_numpy(), {"time": days.index}, ["time"], attrs={"units": "degC"})
    by_year = indices.growing_degree_days(tas, thresh="10 degC", freq="YS").to_series().dropna()
    by_year.index = by_year.index.year
    own = np.array([seasons[year]["total"][0] for year in years])
    # °F come out as tenths of °C in the cube: at most 0.05 °C a day on each of two readings, by chance both ways
    assert np.abs(own - by_year.loc[list(years)].to_numpy()).max() < (3 if name == "twin_cities" else 0.01)
    assert len(years) >= {"valleyview": 4}.get(name, 18)


@pytest.mark.parametrize("name", ["ottawa", "valleyview", "toronto", "twin_cities", "marieville", "bc_coast"])
def test_corn_heat_units_equal_the_formula_in_plain_pandas(said, shared, name):
    """Brown and Bootsma 1993, Ontario Factsheet 93-119, written out."""
    seasons = by_season(said("heat", name, "--method", "chu", "--from", "05-15", "--to", "09-15"))
    for year, days in complete_years(name, shared, ("tmin", "tmax"), "05-15", "09-15"):
        over = (days.tmax.round(1) - 10).clip(lower=0)
        daily = ((3.33 * over - 0.084 * over**2) + 1.8 * (days.tmin.round(1) - 4.4).clip(lower=0)) / 2
        assert seasons[year]["total"][0] == pytest.approx(daily.sum(), abs=0.005 * 124)
        assert seasons[year]["total"][0] == seasons[year]["total"][1]


def words_code(day):
    return str(np.datetime64("2001-01-01") + day)[5:]


@pytest.mark.parametrize("name", ["ottawa", "valleyview", "bc_coast"])
def test_the_window_of_both_adds_up(said, name):
    """Counts of odds against seasons: yes + no + not known is every season; both is never better than either."""
    answer = said("window", name)
    seasons = answer["seasons"]
    assert len(answer["odds"]) == 92
    for row in answer["odds"]:
        for crop in ("corn", "legume", "both"):
            odds = row[crop]
            assert odds["yes"] + odds["no"] + odds["not_known"] == len(seasons)
        assert (
            row["both"]["yes"] <= min(row["corn"]["yes"], row["legume"]["yes"])
            or row["legume"]["yes"] < row["both"]["yes"]
        )
    assert answer["cautions"]


def test_a_coast_without_fall_frost_says_never_and_not_a_day(said):
    seasons = said("frost", "bc_coast", "--threshold", "-2.2")["seasons"]
    never = [row for row in seasons if row["first_fall"] == [None, None]]
    assert never  # seasons without a fall frost: PROVENANCE.md
    assert all(row["frost_free_days"] == [None, None] for row in never)


# ---- dated facts and plain counts ------------------------------------------------------------------------------------


@lru_cache
def season_dates(name, shared, folder, at_or_below=0.0):
    path, options = place(name, shared, folder)
    record = read(path, **options)
    folded = fold(record.start, record.tmin, record.tmax)
    return folded, last_spring(folded.tmin, at_or_below), first_fall(folded.tmin, at_or_below)


RECORD_OF = {"Twin Cities MN": "twin_cities", "Milwaukee WI": "milwaukee"}


def test_every_dated_fact_comes_out(shared, folder):
    """shared/checks/dated_facts.csv: single facts that dated public pages state (READ); 32 °F is 0 °C."""
    rows = list(csv.DictReader((shared / "checks/dated_facts.csv").read_text().splitlines()))
    assert len(rows) == 11
    for row in rows:
        folded, spring, fall = season_dates(RECORD_OF[row["place"]], shared, folder)
        seasons, fact, day = folded.seasons, row["fact"], from_code(row["day"])
        if row["season"].isdigit():
            dates = spring if "spring" in fact else fall
            at = int(row["season"]) - int(seasons[0])
            assert (row, dates[at]) == (row, day)
            known = dates[np.isfinite(dates) & (folded.tmin[:, 90:304] != MISSING).all(axis=1)]
            if "earliest on record" in fact or "earliest first" in fact:
                assert known.min() == day
            if "latest on record" in fact + row["source_and_note"]:
                assert known.max() == day
            continue
        first, last = (int(part) for part in row["season"].split("-"))
        these = (seasons >= first) & (seasons <= last)
        dates = spring if "last freeze" in fact else fall
        # "average": the page's own way of averaging is not said; mean and median are given in the note, a day apart
        middle = [np.median(dates[these]), np.mean(dates[these])]
        assert min(abs(value - day) for value in middle) <= 1, (row, [words(round(value)) for value in middle])


def test_facts_hold_in_the_records_own_fahrenheit(shared, folder):
    """The same frost dates from the listing in whole °F, without any conversion: at or below 32 and 28 °F."""
    listing = fahrenheit(shared).tmin
    for limit, at_or_below in ((32, 0.0), (28, -2.2), (28, (28 - 32) / 1.8)):
        folded, spring, fall = season_dates("twin_cities", shared, folder, at_or_below)
        for place_of, season in enumerate(folded.seasons[:-1]):
            cold = listing.loc[f"{season}-01-01" : f"{season}-12-31"]
            cold = cold[cold <= limit].index
            after = cold[cold >= f"{season}-08-01"][0]
            before = cold[cold < f"{season}-08-01"]
            assert words_code(int(fall[place_of])) == str(after)[5:10]
            if len(before):
                assert words_code(int(spring[place_of])) == str(before[-1])[5:10]


def test_ottawa_equals_the_plain_counts(shared, folder):
    """shared/data/PROVENANCE.md, end: a season counts with Tmin on 95 % of the days of its half; 10, 50 and 90 %."""
    folded, spring, fall = season_dates("ottawa", shared, folder)
    here = folded.tmin != MISSING
    in_spring = here[:, column(4, 15) : column(6, 30) + 1].mean(axis=1) >= 0.95
    in_fall = here[:, column(8, 1) : column(10, 31) + 1].mean(axis=1) >= 0.95
    assert (in_spring.sum(), in_fall.sum()) == (131, 131)

    def tenths(dates):
        return np.percentile(dates, [10, 50, 90])

    def days(*pairs):
        return pytest.approx([column(*pair) for pair in pairs], abs=0.5)  # printed to the day

    assert tenths(fall[in_fall]) == days((9, 19), (10, 2), (10, 17))
    assert tenths(spring[in_spring]) == days((4, 23), (5, 6), (5, 22))
    colder = season_dates("ottawa", shared, folder, -2.2)[2]
    assert tenths(colder[in_fall]) == days((10, 1), (10, 15), (10, 31))
    late = in_fall & (folded.seasons >= 1991) & (folded.seasons <= 2020)
    assert tenths(fall[late]) == days((9, 28), (10, 7), (10, 21))
    shares = [np.mean(fall[in_fall] <= column(9, day)) for day in (10, 15, 20, 30)]
    assert shares == pytest.approx([0.008, 0.046, 0.122, 0.450], abs=0.0005)


# ---- published tables: plausibility only -----------------------------------------------------------------------------

# No record here has its own published frost table: neighbours are compared in words, with three weeks of room.
NEIGHBOURS = [
    # record, seasons, published row nearest to it: last spring, first fall at 50 %, source
    (
        "toronto",
        1981,
        2010,
        (4, 28),
        (10, 19),
        "Toronto (city) ON 6158350, ECCC 1981-2010, 50 % row; warmer than the airport",
    ),
    ("ottawa", 1991, 2020, (5, 9), (10, 6), "Lebanon NH, US normals 1991-2020, 50 %"),
    ("farnham", 1981, 2016, (5, 9), (10, 6), "Lebanon NH, US normals 1991-2020, 50 %"),
    ("valleyview", 2003, 2023, (6, 13), (8, 30), "Redwater AB 301N49A, ECCC 1981-2010, 50 % row: days 164 and 242"),
]


@pytest.mark.parametrize(("name", "first", "last", "spring_day", "fall_day", "source"), NEIGHBOURS)
def test_medians_lie_near_the_nearest_published_row(shared, folder, name, first, last, spring_day, fall_day, source):
    folded, spring, fall = season_dates(name, shared, folder)
    whole = (folded.tmin[:, 90:304] != MISSING).mean(axis=1) > 0.98
    these = (folded.seasons >= first) & (folded.seasons <= last) & whole & np.isfinite(spring) & np.isfinite(fall)
    middle = np.median(spring[these]), np.median(fall[these])
    print(f"{name} {first}-{last}, {these.sum()} seasons known: last spring frost {words(middle[0])}, first fall frost "
          f"{words(middle[1])}; {source}: {words(column(*spring_day))} and {words(column(*fall_day))}")  # fmt: skip
    assert these.sum() >= 7
    assert abs(middle[0] - column(*spring_day)) <= 21
    assert abs(middle[1] - column(*fall_day)) <= 21
