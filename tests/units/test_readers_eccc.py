"""Environment and Climate Change Canada's daily CSV in both layouts, on small files made here.

Layout and flags: the legend in the older files themselves; the newer layout from memory of the publication.
"""

import gzip

import numpy as np
import pytest

from frostkit.errors import RecordError
from frostkit.records.readers import read

BLOCK = (
    '"Station Name","RIVER FLAT"\n"Province","NOWHERE"\n"Latitude","49.90"\n"Longitude","-99.90"\n"Elevation","380.00"\n'
    '"Climate Identifier","{id}"\n"WMO Identifier",""\n"TC Identifier","XRF"\n\n"Legend"\n"M","Missing"\n'
    '"N","Temperature missing but known to be > 0"\n"Y","Temperature missing but known to be < 0"\n\n'
)
OLD = (
    '"Date/Time","Year","Month","Day","Data Quality","Max Temp (°C)","Max Temp Flag","Min Temp (°C)","Min Temp Flag",'
    '"Mean Temp (°C)","Mean Temp Flag","Total Precip (mm)","Total Precip Flag","Snow on Grnd (cm)","Snow on Grnd Flag"'
)
NEW = '"Longitude (x)","Latitude (y)","Station Name","Climate ID",' + OLD


def row(day, tmax="12.0", tmax_flag="", tmin="-1.5", tmin_flag="", quality="", prcp="0.4", prcp_flag="", snow=""):
    year, month, of_month = str(day).split("-")
    cells = (day, year, month, of_month, quality, tmax, tmax_flag, tmin, tmin_flag, "", "", prcp, prcp_flag, snow, "")
    return ",".join(f'"{cell}"' for cell in cells)


def days_of(year, changes=()):
    days = np.arange(f"{year}-01-01", f"{year + 1}-01-01", dtype="datetime64[D]")
    changes = dict(changes)
    rng = np.random.default_rng(year)  # no two days alike, as in any record
    usual = [{"tmin": f"{low:.1f}", "tmax": f"{low + 13:.1f}"} for low in rng.uniform(-3, 1, days.size)]
    return [row(day, **(one | changes.get(str(day), {}))) for day, one in zip(days, usual)]


def old(year, changes=(), ident="5019999"):
    return BLOCK.format(id=ident) + "\n".join([OLD, *days_of(year, changes)]) + "\n"


def new(year, changes=()):
    return "\n".join([NEW, *(f'"-99.90","49.90","RIVER FLAT, A","5019999",{r}' for r in days_of(year, changes))]) + "\n"


def written(folder, text, name="daily.csv", encoding="utf-8"):
    (folder / name).write_bytes(text.encode(encoding))
    return folder / name


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_the_older_layout_is_read_with_its_block_of_station_lines(tmp_path, encoding):
    record = read(written(tmp_path, old(2001, {"2001-05-03": {"tmin": "-3.2"}}), encoding=encoding))
    assert (record.start, record.tmin.size, record.tmin[122]) == (np.datetime64("2001-01-01"), 365, np.float32(-3.2))
    station = record.station
    assert (station.id, station.name, station.latitude, station.longitude, station.elevation) == (
        "5019999", "RIVER FLAT", 49.9, -99.9, 380)  # fmt: skip
    assert record.more["prcp"][0] == np.float32(0.4)
    assert record.source["attribution"] == "contains information from Environment and Climate Change Canada"
    assert record.repairs == ()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252"])
def test_the_newer_layout_is_read_with_its_columns_of_station_details(tmp_path, encoding):
    record = read(written(tmp_path, new(2001), encoding=encoding))
    assert record.tmin.size == 365
    station = record.station
    assert (station.id, station.name, station.latitude, station.longitude) == ("5019999", "RIVER FLAT, A", 49.9, -99.9)
    assert np.isnan(station.elevation)


def test_what_is_known_of_a_missing_day_is_kept_as_its_sign(tmp_path):
    changes = {
        "2001-05-01": {"tmin": "", "tmin_flag": "N"},
        "2001-05-02": {"tmin": "", "tmin_flag": "Y"},
        "2001-05-03": {"tmin": "", "tmin_flag": "M", "tmax": "", "tmax_flag": "Y"},  # Tmax below 0: so is Tmin
        "2001-05-04": {"tmin": "", "tmin_flag": "M", "tmax": "", "tmax_flag": "N"},  # Tmax above 0 says nothing of Tmin
        "2001-05-05": {"tmin": "", "tmin_flag": "M"},
    }
    record = read(written(tmp_path, old(2001, changes)))
    assert np.isnan(record.tmin[120:125]).all()
    assert record.sign[120:125].tolist() == [1, -1, -1, 0, 0]
    assert np.count_nonzero(record.sign) == 3


def test_flagged_values_are_missing_and_counted_estimates_are_kept_and_counted(tmp_path):
    changes = {
        "2001-05-01": {"tmin_flag": "M"},
        "2001-05-02": {"tmin_flag": "E", "tmax_flag": "E"},
        "2001-05-03": {"tmin_flag": "^"},
        "2001-05-04": {"quality": "†"},
        "2001-05-05": {"quality": "‡"},
    }
    record = read(written(tmp_path, old(2001, changes)))
    assert np.flatnonzero(np.isnan(record.tmin)).tolist() == [120, 122]
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("tmin with ECCC's flag M, N or Y: taken as missing", 1, "2001-05-01"),
        ("tmin with ECCC's flag ^ (from incomplete data): taken as missing", 1, "2001-05-03"),
        ("tmin estimated by ECCC (flag E): kept", 1, "2001-05-02"),
        ("tmax estimated by ECCC (flag E): kept", 1, "2001-05-02"),
        ("days with preliminary checks only (†): kept", 1, "2001-05-04"),
        ("days of an ECCC partner (‡): kept", 1, "2001-05-05"),
    ]


def test_daggers_are_read_in_every_encoding(tmp_path):
    text = old(2001, {"2001-05-04": {"quality": "†"}})
    record = read(written(tmp_path, text, encoding="cp1252"))
    assert (record.repairs[0].what, record.source["encoding"]) == (
        "days with preliminary checks only (†): kept",
        "cp1252",
    )
    record = read(written(tmp_path, text.replace("†", "\x86"), "b.csv", "utf-8"))  # as one stored copy has it
    assert record.repairs[0].what == "days with preliminary checks only (†): kept"


def test_a_trace_is_0_mm_and_a_sum_over_several_days_is_missing(tmp_path):
    changes = {
        "2001-05-01": {"prcp": "", "prcp_flag": "M"},
        "2001-05-02": {"prcp": "0.0", "prcp_flag": "T", "snow": "3"},
        "2001-05-03": {"prcp": "20.0", "prcp_flag": "A"},
    }
    record = read(written(tmp_path, old(2001, changes)))
    np.testing.assert_array_equal(record.more["prcp"][120:123], np.float32([np.nan, 0, np.nan]))
    assert record.more["snwd"][121] == 30
    assert [(r.what, r.count) for r in record.repairs] == [
        ("prcp with ECCC's flag M, C, L, A or F: taken as missing", 1)
    ]


def test_a_folder_of_yearly_files_is_one_record_and_a_new_station_number_is_told(tmp_path):
    years = tmp_path / "years"
    years.mkdir()
    written(years, old(2000), "a.csv")
    (years / "b.csv.gz").write_bytes(gzip.compress(old(2001).encode("utf-8-sig")))
    written(years, old(2003, ident="5018888"), "c.csv")
    record = read(years)
    assert (record.start, record.tmin.size, int(np.isnan(record.tmin).sum())) == (
        np.datetime64("2000-01-01"),
        1461,
        365,
    )
    assert record.station.id == "5018888"
    assert [(r.what, r.first) for r in record.repairs] == [
        ("days that no line names: missing", "2002-01-01"),
        ("the station's number changes from 5019999 to 5018888: read as one record", "c.csv, 2003-01-01"),
    ]
    assert record.source["files"] == "3 files from a.csv to c.csv"


def test_two_stations_in_one_folder_are_refused(tmp_path):
    written(tmp_path, old(2001), "a.csv")
    written(tmp_path, old(2001, {f"2001-06-{day:02d}": {"tmin": "5.5"} for day in range(1, 29)}, "5018888"), "b.csv")
    with pytest.raises(
        RecordError, match="28 days are given more than once with different values, the first is 1 June"
    ):
        read(tmp_path)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (old(2001, {"2001-05-01": {"tmin": "cold"}}), "daily.csv, line 136, Min Temp .°C.: 'cold' is not a temperature"),
        (old(2001).replace('"2001-05-01","2001"', '"2001-05-02","2001"'), "line 136, Date/Time: 2001-05-02 is not the day"),
        (old(2001).replace("Min Temp (°C)", "Low (°C)"), "line 15: no column for Min Temp"),
        (new(2001).replace("Date/Time", "Moment").replace('"Year"', '"Season"'), "line 1: no column for Date/Time"),
        (old(2001)[:3000] + "\n", "cells, but the header has 15|is a quotation mark left open|unexpected end"),
        (old(2001).split('"2001-01-01"')[0], "has a header, but no days"),
        (new(2001).replace('"5019999","2001-07-01"', '"5018888","2001-07-01"'), "holds several stations: Climate ID is"),
        (old(2001).replace('"49.90"', '"north"'), "latitude 'north' is not a number"),
        (old(2001).replace("Max Temp (°C)", "Temp (°C)").replace("Min Temp", "Dew Point Temp"), "is an hourly file"),
    ],
)  # fmt: skip
def test_a_bad_file_is_named(tmp_path, text, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, text))


def test_eccc_is_never_fahrenheit(tmp_path):
    with pytest.raises(RecordError, match="ECCC's daily files are in °C by their layout"):
        read(written(tmp_path, old(2001)), input_units="F")


def test_an_impossible_amount_of_rain_is_missing_and_counted(tmp_path):
    record = read(written(tmp_path, old(2001, {"2001-05-01": {"prcp": "1e308"}, "2001-05-02": {"prcp": "-1"}})))
    assert np.isnan(record.more["prcp"][120:122]).all()
    assert [(r.what, r.count) for r in record.repairs] == [("prcp below 0 or above 1825 mm: taken as missing", 2)]


def test_year_month_and_day_do_in_place_of_a_date(tmp_path):
    lines = [
        "Year,Month,Day,Max Temp (deg C),Min Temp (deg C)",
        *(f"2001.0,5.0,{day}.0,12.0,-1.5" for day in range(1, 32)),
    ]
    record = read(written(tmp_path, "Station Name,RIVER FLAT\nLatitude,49.9\n\n" + "\n".join(lines) + "\n"))
    assert (record.start, record.tmin.size, record.station.latitude) == (np.datetime64("2001-05-01"), 31, 49.9)


def test_a_last_line_cut_short_is_missing_and_said(tmp_path):
    text = old(2001)
    for lost in (1, 2, 3, 20, 60):
        record = read(written(tmp_path, text[:-lost]))
        cut = [repair for repair in record.repairs if "the last line is cut short" in repair.what]
        assert (record.tmin.size, len(cut)) == ((365, 0) if lost == 1 else (364, 1)), lost


def test_a_column_of_rain_with_a_slip_in_its_name_is_said(tmp_path):
    record = read(written(tmp_path, old(2001).replace("Total Precip (mm)", "Total Prec)p (mm)")))
    assert "prcp" not in record.more
    assert [repair.what for repair in record.repairs] == [
        "column 'Total Prec)p (mm)' not read: is Total Precip (mm) meant?"
    ]
