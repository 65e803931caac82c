"""Every real record through the readers: spans and counts as published beside them, days as plain pandas reads them."""

import numpy as np
import pandas as pd
import pytest

from frostkit.errors import RecordError
from frostkit.records.dataset import from_dataset, to_dataset
from frostkit.records.readers import read
from tests.real_records import NAMES, by_pandas, place

pytestmark = pytest.mark.real

# first and last month or year, percent of days with both temperatures: shared/data/PROVENANCE.md, the table (READ)
SPANS = {
    "ottawa": ("1889-11", "2022-09", 99.6),
    "ottawa_rcs": ("2000-10", "2022-10", 97.1),
    "new_york": ("1871-07", "1960", 99.5),
    "valleyview": ("2003", "2024-04", 94.4),
    "minneapolis_long": ("2014-01", "2015-02", 100),
    "milwaukee": ("1938-04", "2026-08", 100),
    "twin_cities": ("1872-10", "2023-03", 99.99),
    "toronto": ("1953", "2017-03", 98.9),
    "ottawa_eccc": ("2013", "2015", None),
    "calgary": ("2013", "2014", None),
    "saskatoon_era5": ("1990", "1993", None),
    "farnham": ("1980", "2017", (86, 91)),
    "iberville": ("1980", "2016", (86, 91)),
    "marieville": ("1980", "2017", (86, 91)),
    "bc_coast": ("1959", "2004", 95.5),
}


@pytest.fixture(scope="module")
def records(shared, tmp_path_factory):
    folder, seen = tmp_path_factory.mktemp("relaid"), {}

    def record(name):
        if name not in seen:
            path, options = place(name, shared, folder)
            seen[name] = read(path, **options)
        return seen[name]

    return record


@pytest.mark.parametrize("name", NAMES)
def test_every_day_equals_what_plain_pandas_reads(records, shared, name):
    record, table = records(name), by_pandas(name, shared)
    assert record.start == table.index[0].to_datetime64()
    assert record.tmin.size == len(table)
    np.testing.assert_allclose(record.tmin, table.tmin, atol=1e-5)  # float32 of the same number; NaN on the same days
    np.testing.assert_allclose(record.tmax, table.tmax, atol=1e-5)


@pytest.mark.parametrize("name", NAMES)
def test_span_and_completeness_are_as_published(records, name):
    record, (first, last, percent) = records(name), SPANS[name]
    days = record.time()
    assert str(days[0]).startswith(first)
    assert str(days[-1]).startswith(last)
    complete = 100 * np.mean(~np.isnan(record.tmin) & ~np.isnan(record.tmax))
    if isinstance(percent, tuple):
        assert percent[0] - 0.5 <= complete <= percent[1] + 0.5  # printed as whole percent
    elif percent is not None:
        assert complete == pytest.approx(percent, abs=0.051)  # printed to one decimal, some on all days of their file


def test_ottawa_is_the_same_in_both_sources_on_every_shared_day(records):
    dly, eccc = records("ottawa"), records("ottawa_eccc")
    at = int((eccc.start - dly.start).astype(int))
    same = slice(at, at + eccc.tmin.size)
    low, high = ~np.isnan(dly.tmin[same]) & ~np.isnan(eccc.tmin), ~np.isnan(dly.tmax[same]) & ~np.isnan(eccc.tmax)
    assert (low & high).sum() == 1077  # PROVENANCE.md: all 1,077 shared days of 2013-2015
    np.testing.assert_array_equal(dly.tmin[same][low], eccc.tmin[low])
    np.testing.assert_array_equal(dly.tmax[same][high], eccc.tmax[high])
    both = ~np.isnan(dly.more["prcp"][same]) & ~np.isnan(eccc.more["prcp"])
    assert np.mean(np.abs(dly.more["prcp"][same] - eccc.more["prcp"])[both] < 0.051) > 0.99


def test_toronto_is_one_record_over_its_change_of_station(records):
    record = records("toronto")
    assert any("changes from 6158733 to 6158731" in repair.what for repair in record.repairs)
    days = record.time()
    missing = days[np.isnan(record.tmin)]
    hole = missing[(missing >= np.datetime64("2013-06-01")) & (missing <= np.datetime64("2013-12-31"))]
    assert len(hole) > 190  # PROVENANCE.md: hole June to December 2013
    assert (record.station.latitude, record.station.longitude, record.station.elevation) == (43.68, -79.63, 173.4)


def test_flagged_values_are_missing_and_counted(records):
    told = {repair.what: repair.count for repair in records("ottawa").repairs}
    # counted with grep-like loops over the .dly: see tests/real_records.py for the same days by pandas
    assert told["TMIN with NCEI's quality flag S: taken as missing"] == 4
    assert told["TMIN with NCEI's quality flag I: taken as missing"] == 1


def test_28_degrees_fahrenheit_come_out_as_the_tenths_that_are_stored(records, shared):
    record = records("twin_cities")
    listing = by_pandas("twin_cities", shared)
    nights = np.isclose(listing.tmin * 1.8 + 32, 28)
    assert nights.sum() > 500
    assert set(np.rint(record.tmin[nights] * 10)) == {-22}


def test_rows_out_of_order_are_sorted_and_counted(records):
    assert [repair.count for repair in records("milwaukee").repairs if "out of order" in repair.what] == [1]


@pytest.mark.parametrize(("name", "units"), [("valleyview", "C"), ("milwaukee", "F")])
def test_a_record_without_a_unit_is_not_guessed(shared, tmp_path, name, units):
    path, options = place(name, shared, tmp_path)
    assert options == {"input_units": units}
    with pytest.raises(RecordError, match="the header does not say whether this is °C or °F"):
        read(path)


def test_fahrenheit_read_as_celsius_is_refused(shared, tmp_path):
    path, _ = place("milwaukee", shared, tmp_path)
    with pytest.raises(RecordError, match="Are the readings in °F"):
        read(path, input_units="C")


def test_celsius_read_as_fahrenheit_is_refused(shared, tmp_path):
    path, _ = place("valleyview", shared, tmp_path)
    with pytest.raises(RecordError, match="Are the readings in °C"):
        read(path, input_units="F")


@pytest.mark.parametrize("name", ["ottawa", "toronto", "twin_cities", "bc_coast"])
def test_a_real_record_comes_back_from_netcdf_as_it_went_in(records, tmp_path, name):
    record = records(name)
    to_dataset([record]).to_netcdf(tmp_path / "record.nc", engine="h5netcdf")
    for back, more in ((read(tmp_path / "record.nc"), 1), (from_dataset(to_dataset([record])), 0)):
        np.testing.assert_array_equal(back.tmin, record.tmin)
        np.testing.assert_array_equal(back.tmax, record.tmax)
        assert (back.start, set(back.more)) == (record.start, set(record.more))
        said = [repair for repair in back.repairs if "NetCDF, which has no checksum" in repair.what]
        assert len(said) == more
        assert [repair for repair in back.repairs if repair not in said] == list(record.repairs)


def test_other_files_of_the_folder_are_refused_with_a_reason(shared):
    for path, says in {
        "data/ghcn-daily/stations_northern_plains.csv.gz": "no column for date, tmin, tmax",
        "data/reference-network/uscrn_daily_2020.parquet": "is a parquet file",
        "data/grid/nclimgrid_tmin-2006_2020-daily-normals.nc": "no variable for tmin; found dlytmin_norm",
        "data/eccc/relaid/BC_1018935_MAX_TEMP.csv": "no column for date, tmin",
        "data/normals/eccc_brandon_a_5010480_1981-2010_frost.csv": "no column for date, tmin, tmax",
        "data/PROVENANCE.md": "the format is not known|no column for",
        "checks/thresholds.toml": "the format is not known|no column for",
        "data/eccc": "holds no files, but 4 folders",
    }.items():
        with pytest.raises(RecordError, match=says):
            read(shared / path)


def test_60_years_are_read_in_a_tenth_of_a_second_of_work(shared):
    """The goal of the design; CPU time, the best of three, with room for a slow machine."""
    import time

    path = shared / "data/ghcn-daily/CA006105976.dly"
    took = []
    for _ in range(3):
        before = time.process_time()
        read(path)
        took.append(time.process_time() - before)
    assert min(took) < 0.1 * 133 / 60


def test_pandas_reads_the_same_file_of_ours_as_we_do(records, tmp_path):
    """A record written as plain CSV by pandas and read back by us."""
    record = records("calgary")
    table = pd.DataFrame({"date": record.time(), "tmin_C": record.tmin.round(1), "tmax_C": record.tmax.round(1)})
    table.to_csv(tmp_path / "calgary.csv", index=False, float_format="%.1f")
    np.testing.assert_array_equal(read(tmp_path / "calgary.csv").tmin, record.tmin)
