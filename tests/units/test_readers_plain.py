"""Plain CSV: every way to say a day, a unit and a missing value, and every fault with its message.

The files are made up here; conversions are exact by definition (°F, inch, foot).
"""

import gzip
import sys

import numpy as np
import pytest

from frostkit.errors import RecordError
from frostkit.records.readers import read, recognise

DAYS = np.datetime64("2001-04-25") + np.arange(60)
ROWS = [f"{day},{-4 + i % 9}.5,{8 + i % 11}" for i, day in enumerate(DAYS)]
HEADER = "date,tmin_C,tmax_C"


def written(folder, text, name="field.csv", encoding="utf-8"):
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return path


def text_of(rows=ROWS, header=HEADER):
    return "\n".join([header, *rows]) + "\n"


def test_a_plain_file_is_read_day_by_day(tmp_path):
    record = read(written(tmp_path, text_of()))
    assert (record.start, record.tmin.size, record.station.name) == (DAYS[0], 60, "field")
    np.testing.assert_array_equal(record.tmin, [-4 + i % 9 + (0.5 if -4 + i % 9 >= 0 else -0.5) for i in range(60)])
    np.testing.assert_array_equal(record.tmax, [8 + i % 11 for i in range(60)])
    assert record.repairs == ()
    assert record.source["format"] == "plain CSV"


@pytest.mark.parametrize(
    ("header", "low", "high"),
    [
        ("date,tmin_F,tmax_F", 28, 50),
        ("Date,Tmin (°F),Tmax (°F)", 28, 50),
        ("DATE,Min Temp [degF],Max Temp [degF]", 28, 50),
        ("date,minimum temperature (Fahrenheit),maximum temperature (Fahrenheit)", 28, 50),
        ("date,Max Temp (°F),Min Temp (°F)", 50, 28),
        ("date,Max F,Min F", 50, 28),
        ("date,tmax F,tmin F", 50, 28),
        ("Date,Temp max (°F),Temp min (°F)", 50, 28),
        ("Day,Maximum (°F),Minimum (°F)", 50, 28),
        ("date,tmin_C,tmax_C", -2.2222222, 10),
        ("date,T.min (°C),T.max (°C)", -2.2222222, 10),
        ("date,tmin deg C,tmax deg C", -2.2222222, 10),
        ("date,tmin_K,tmax_K", 270.92777778, 283.15),
        ("date,tmin_tenths,tmax_tenths", -22.222222, 100),
    ],
)
def test_the_header_says_the_unit(tmp_path, header, low, high):
    record = read(written(tmp_path, text_of([f"2001-05-01,{low},{high}"], header)))
    np.testing.assert_allclose([record.tmin[0], record.tmax[0]], [-2.2222222, 10], atol=1e-5)


def test_the_person_says_the_unit(tmp_path):
    path = written(tmp_path, text_of(["2001-05-01,28,50"], "date,tmin,tmax"))
    assert read(path, input_units="F").tmin[0] == pytest.approx(-2.2222222)
    assert read(path, input_units="°F").tmin[0] == pytest.approx(-2.2222222)
    assert read(path, input_units="C").tmin[0] == 28
    with pytest.raises(RecordError, match=r"field.csv, line 1, tmin: the header does not say whether this is °C or °F"):
        read(path)
    with pytest.raises(RecordError, match="--input-units furlong is not a unit of temperature"):
        read(path, input_units="furlong")


def test_header_and_person_must_agree(tmp_path):
    path = written(tmp_path, text_of())
    assert read(path, input_units="C").tmin.size == 60
    with pytest.raises(RecordError, match="the header says °C, the option says °F"):
        read(path, input_units="F")


@pytest.mark.parametrize("word", ["", "M", "NA", "nan", "NaN", "null", "-", " ", "m", "n/a", "."])
def test_missing_is_missing_however_it_is_written(tmp_path, word):
    rows = [*ROWS[:5], f"2001-04-30,{word},{word}", *ROWS[6:]]
    record = read(written(tmp_path, text_of(rows)))
    assert np.flatnonzero(np.isnan(record.tmin)).tolist() == np.flatnonzero(np.isnan(record.tmax)).tolist() == [5]
    assert record.repairs == ()


def test_figures_that_stand_in_for_missing_are_counted(tmp_path):
    record = read(written(tmp_path, text_of([*ROWS[:5], "2001-04-30,-9999,-99.9", *ROWS[6:]])))
    assert np.isnan([record.tmin[5], record.tmax[5]]).all()
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("tmin_C: -9999 taken as missing", 1, "line 7"), ("tmax_C: -99.9 taken as missing", 1, "line 7"),
    ]  # fmt: skip


def test_minus_99_tenths_is_a_reading(tmp_path):
    assert read(written(tmp_path, text_of(["2001-04-30,-99,199"], "date,tmin,tmax")), "tenths").tmin[0] == np.float32(
        -9.9
    )


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("date,tmin_C,tmax_C", "2001-05-18"),
        ("date,tmin_C,tmax_C", "2001/5/18"),
        ("date,tmin_C,tmax_C", "20010518"),
        ("date,tmin_C,tmax_C", "2001-05-18 00:00"),
        ("date,tmin_C,tmax_C", "2001-05-18T00:00:00Z"),
        ("date,tmin_C,tmax_C", "5/18/2001"),
        ("date,tmin_C,tmax_C", "18.05.2001"),
        ("date,tmin_C,tmax_C", '"2001-05-18"'),
        ("year,month,day,tmin_C,tmax_C", "2001,5,18"),
        ("Year,Mo,Day,tmin_C,tmax_C", "2001.0,05,18"),
        ("day,tmin_C,tmax_C", "2001-05-18"),
    ],
)
def test_a_day_may_be_written_in_many_ways(tmp_path, header, cells):
    assert read(written(tmp_path, text_of([f"{cells},-1,9"], header))).start == np.datetime64("2001-05-18")


@pytest.mark.parametrize("sep", [";", "\t"])
def test_semicolons_tabs_and_decimal_commas_are_read(tmp_path, sep):
    record = read(written(tmp_path, sep.join(["date", "tmin_C", "tmax_C"]) + f"\n2001-05-18{sep}-1,5{sep}9,2\n"))
    assert (record.tmin[0], record.tmax[0]) == (np.float32(-1.5), np.float32(9.2))


def test_rain_and_snow_are_carried_in_mm_and_a_trace_is_nothing_that_can_be_measured(tmp_path):
    rows = ["2001-05-01,30,50,0.5,T,2", "2001-05-02,30,50,T,1.0,M", "2001-05-03,30,50,,0,0"]
    record = read(written(tmp_path, text_of(rows, "date,tmin_F,tmax_F,prcp_in,snow_in,snwd_in")))
    np.testing.assert_allclose(record.more["prcp"], [12.7, 0, np.nan], rtol=1e-6)
    np.testing.assert_allclose(record.more["snow"], [0, 25.4, 0], rtol=1e-6)
    np.testing.assert_allclose(record.more["snwd"], [50.8, np.nan, 0], rtol=1e-6)


def test_rain_without_a_unit_is_left_out_and_said(tmp_path):
    record = read(written(tmp_path, text_of([f"{row},3" for row in ROWS], HEADER + ",prcp")))
    assert "prcp" not in record.more
    assert record.repairs[0].what == "prcp left out: the header does not say its unit"


def test_a_flagged_value_is_missing_and_counted(tmp_path):
    rows = [f"{row},,{'Q' if i in (3, 7) else ''}" for i, row in enumerate(ROWS)]
    record = read(written(tmp_path, text_of(rows, HEADER + ",tmax_flag,tmin_flag")))
    assert np.flatnonzero(np.isnan(record.tmin)).tolist() == [3, 7]
    assert not np.isnan(record.tmax).any()
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("tmin with a flag (Q): taken as missing", 2, "2001-04-28")
    ]


def test_comments_and_options_say_where_the_station_stands(tmp_path):
    head = "# name: River Flat\n# latitude: 49.9\n# longitude: -99.9\n# elevation: 380 m\n# units: F\n# invented: yes\n"
    path = written(tmp_path, head + text_of(["2001-05-01,28,50"], "date,tmin,tmax"))
    record = read(path)
    station = record.station
    assert (station.name, station.latitude, station.longitude, station.elevation) == ("River Flat", 49.9, -99.9, 380)
    assert record.invented
    assert record.tmin[0] == pytest.approx(-2.2222222)
    station = read(path, name="Other", latitude=50.1, elevation=0).station
    assert (station.name, station.latitude, station.longitude, station.elevation) == ("Other", 50.1, -99.9, 0)


def test_columns_say_where_the_station_stands(tmp_path):
    record = read(written(tmp_path, text_of([f"{row},X1,49.5,-100,1200" for row in ROWS],
                                            HEADER + ",station,lat,lon,elevation_ft")))  # fmt: skip
    assert (record.station.id, record.station.latitude) == ("X1", 49.5)
    assert record.station.elevation == pytest.approx(365.76)


def test_two_stations_in_one_file_must_be_told_apart(tmp_path):
    path = written(
        tmp_path, text_of([f"{row},{'A' if i < 30 else 'B'}" for i, row in enumerate(ROWS)], HEADER + ",station")
    )
    assert read(path, station="B").start == DAYS[30]
    with pytest.raises(RecordError, match=r"holds 2 stations: A, B\.\nSay which one"):
        read(path)
    with pytest.raises(RecordError, match="There is no 'C'"):
        read(path, station="C")


def test_days_out_of_order_are_sorted_and_counted(tmp_path):
    rows = ROWS[:10] + ROWS[11:14] + [ROWS[10]] + ROWS[14:]
    record = read(written(tmp_path, text_of(rows)))
    np.testing.assert_array_equal(record.tmin, read(written(tmp_path, text_of(), "b.csv")).tmin)
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("days out of order: sorted", 1, "field.csv, line 15")
    ]


def test_a_day_given_twice_with_the_same_values_is_taken_once(tmp_path):
    record = read(written(tmp_path, text_of([*ROWS[:11], ROWS[10], *ROWS[11:]])))
    assert record.tmin.size == 60
    assert not np.isnan(record.tmin).any()
    assert [(r.count, r.first) for r in record.repairs] == [(1, "2001-05-05")]


def test_a_day_given_twice_with_different_values_is_missing_where_they_differ(tmp_path):
    rows = [*ROWS[:11], "2001-05-05,-9," + ROWS[10].split(",")[2], *ROWS[11:]]
    record = read(written(tmp_path, text_of(rows)))
    assert np.flatnonzero(np.isnan(record.tmin)).tolist() == [10]
    assert not np.isnan(record.tmax).any()
    assert "with different values: what differs taken as missing" in record.repairs[0].what


def test_many_days_given_twice_differently_are_an_error(tmp_path):
    rows = [*ROWS, *(f"{day},-9,30" for day in DAYS[:5])]
    with pytest.raises(
        RecordError, match="5 days are given more than once with different values, the first is 25 April"
    ):
        read(written(tmp_path, text_of(rows)))


def test_tmin_above_tmax_is_missing_on_both_sides_and_counted(tmp_path):
    record = read(written(tmp_path, text_of([*ROWS[:5], "2001-04-30,20,10", *ROWS[6:]])))
    assert np.isnan([record.tmin[5], record.tmax[5]]).all()
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("Tmin above Tmax: both taken as missing", 1, "2001-04-30")
    ]


def test_swapped_columns_are_an_error_that_asks(tmp_path):
    with pytest.raises(RecordError, match=r"field.csv, line 2, tmin: 8 on 25 April 2001 is above tmax -4.5, and so on"):
        read(written(tmp_path, text_of(header="date,tmax_C,tmin_C")))


def test_impossible_values_are_missing_and_counted(tmp_path):
    record = read(written(tmp_path, text_of([*ROWS[:5], "2001-04-30,-90,88", *ROWS[6:]])))
    assert np.isnan([record.tmin[5], record.tmax[5]]).all()
    assert [(r.what, r.count) for r in record.repairs] == [
        ("tmin outside -89.4 to 57.7 °C: taken as missing", 1), ("tmax outside -89.4 to 57.7 °C: taken as missing", 1),
    ]  # fmt: skip


def test_fahrenheit_called_celsius_is_an_error_that_asks(tmp_path):
    rows = [f"{day},{40 + i % 20},{66 + i % 20}" for i, day in enumerate(DAYS)]
    with pytest.raises(RecordError, match=r"lie outside what the world has seen .*\nAre the readings in °F"):
        read(written(tmp_path, text_of(rows)))


def test_celsius_called_fahrenheit_is_an_error_that_asks(tmp_path):
    days = np.datetime64("2001-01-01") + np.arange(400)
    rows = [
        f"{day},{-10 + 15 * np.sin(i / 58 - 1.6):.1f},{15 + 15 * np.sin(i / 58 - 1.6):.1f}"
        for i, day in enumerate(days)
    ]
    with pytest.raises(
        RecordError,
        match=r"line \d+, tmax: the warmest of 400 days, \d+ June 2001, has only -1\.\d °C\.\nAre the readings in °C",
    ):
        read(written(tmp_path, text_of(rows, "date,tmin_F,tmax_F")))


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("2001-04-30,warm,10", "field.csv, line 7, tmin_C: 'warm' is not a temperature"),
        ("2001-04-30,1_0,10", "line 7, tmin_C: '1_0' is not a temperature"),
        ("2001-04-30,inf,10", "line 7, tmin_C: 'inf' is not a temperature"),
        ("2001-04-30,٣,10", "line 7, tmin_C: '٣' is not a temperature"),
        ("2001-04-30,T,10", "line 7, tmin_C: 'T' is not a temperature"),
        ("2001-04-31,1,10", "line 7, date: 2001-04-31 is not a day of the calendar"),
        ("2001-13-01,1,10", "line 7, date: 2001-13-01 is not a day of the calendar"),
        ("2913-04-30,1,10", "line 7, date: 2913-04-30 is not a day of the calendar between 1700 and 2200"),
        ("30 April 2001,1,10", "line 7, date: '30 April 2001' is not a day written like '2001-04-25' above it"),
        (",1,10", "line 7, date: '' is not a day"),
        ("2001-04-30 06:00,1,10", "line 7, date: '2001-04-30 06:00' has a time of day"),
        ("2001-04-30,1", "line 7: 2 cells, but the header has 3"),
        ("2001-04-30,1,10,2", "line 7: 4 cells, but the header has 3"),
        ('2001-04-30,"1,10', "line 7: unexpected end of data.\nIs a quotation mark left open"),
        ('2001-04-30,"1"x,10', "line 7: .* expected after"),
        ("2001-04-30,1\0,10", r"line 7: there are bytes that are no text"),
    ],
)  # fmt: skip
def test_a_bad_line_is_named(tmp_path, row, says):
    with pytest.raises(RecordError, match=says) as caught:
        read(written(tmp_path, text_of([*ROWS[:5], row, *ROWS[6:]])))
    assert len(str(caught.value).split("\n")) == 2


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (["5/6/2001,1,9", "5/7/2001,1,9"], "'5/6/2001' may be day and month or month and day"),
        (["5/18/2001,1,9", "19/5/2001,1,9"], "line 3, date: '19/5/2001' has day and month in another order"),
        (["13/18/2001,1,9"], "has day and month in another order"),
        (["2001-05-01,M,9", "2001-05-02,,9"], "no day has a tmin"),
        ([f"2001-{m:02d}-01,1,9" for m in range(1, 13)], "the values are 31 days apart"),
    ],
)
def test_a_file_that_would_need_a_guess_is_refused(tmp_path, rows, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, text_of(rows)))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "field.csv is empty"),
        (b" \n\n", "field.csv is empty"),
        (b"date,tmin_C,tmax_C\n", "has a header, but no days"),
        (b"date,tmin_C,tmax_C", "has a header, but no days"),
        (b"# only\n# comments\n", "the format is not known"),
        (b"date,low,high\n2001-05-01,1,2\n", "no column for tmin, tmax; the columns are: date, low, high"),
        (b"date,tmin_C,tmin_F,tmax_C\n2001-05-01,1,2,3\n", "two columns may be tmin: tmin_C and tmin_F"),
        (b"date,tmin_mm,tmax_C\n2001-05-01,1,2\n", "mm is not a unit of temperature"),
        (b"dear diary\n", "the format is not known; the first line is 'dear diary'"),
        (b"1,2,3\n4,5,6\n", "the format is not known"),
        (b"\x89PNG\r\n\x1a\n123", "is a picture, not a record"),
        (b"PK\x03\x04 and so on", "is a zip archive or an Excel workbook"),
        (b"PAR1....PAR1", "is a parquet file"),
        (bytes(range(256)) * 20, "there are bytes that are no text|marked as UTF-16"),
        (b"\xff\xfe\x41", "is marked as UTF-16, but is not"),
        (b"<!DOCTYPE html><html>503</html>", "is a web page"),
        (b'date,tmin_C,"tmax_C\n2001-05-01,1,2\n', "the header can't be taken apart"),
    ],
)
def test_what_is_no_record_is_named(tmp_path, content, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, content))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1"])
def test_encodings_are_told_by_the_content(tmp_path, encoding):
    record = read(written(tmp_path, text_of(header="date,Tmin (°C),Tmax (°C)"), encoding=encoding))
    assert record.tmin.size == 60


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_do_not_matter_nor_do_blank_lines_or_a_missing_last_one(tmp_path, end):
    text = "\n" + text_of()[:-1].replace(ROWS[30], "\n" + ROWS[30])
    assert read(written(tmp_path, text.replace("\n", end))).tmin.size == 60
    with pytest.raises(RecordError, match="line 63, tmin_C: 'x'"):  # one blank line above the header, one below row 30
        read(written(tmp_path, text.replace(ROWS[59], "2001-06-23,x,99.9").replace("\n", end), "b.csv"))


def test_gzip_is_known_by_its_content(tmp_path):
    packed = gzip.compress(text_of().encode())
    assert read(written(tmp_path, packed, "field.txt")).tmin.size == 60
    with pytest.raises(RecordError, match=r"field.txt is cut short: the gzip file ends in the middle"):
        read(written(tmp_path, packed[:-20], "field.txt"))
    with pytest.raises(RecordError, match="field.txt is a damaged gzip file"):
        read(written(tmp_path, packed[:30] + b"\xff\xff\xff\xff" + packed[34:], "field.txt"))
    with pytest.raises(RecordError, match="field.txt is empty"):
        read(written(tmp_path, gzip.compress(b""), "field.txt"))


def test_a_path_that_is_not_there_names_its_neighbour(tmp_path):
    written(tmp_path, text_of(), "river_flat.csv")
    with pytest.raises(
        RecordError, match=r"river_flt.csv can't be read: it is not there. Did you mean 'river_flat.csv'"
    ):
        read(tmp_path / "river_flt.csv")
    (tmp_path / "empty").mkdir()
    with pytest.raises(RecordError, match="empty is a folder without files"):
        read(tmp_path / "empty")


def test_a_folder_of_files_that_go_on_is_one_record(tmp_path):
    (tmp_path / "years").mkdir()
    written(tmp_path / "years", text_of(ROWS[30:]), "a_later.csv")
    written(tmp_path / "years", text_of(ROWS[:30]), "b_earlier.csv")
    record = read(tmp_path / "years")
    assert (record.start, record.tmin.size, record.repairs) == (DAYS[0], 60, ())
    assert record.source["files"] == "2 files from b_earlier.csv to a_later.csv"
    written(tmp_path / "years", "USW00014922,20010501,TMIN,-17,,,W,\nUSW00014922,20010501,TMAX,100,,,W,\n", "c.csv")
    with pytest.raises(RecordError, match="holds files of several formats: GHCN-Daily, plain CSV"):
        read(tmp_path / "years")


def test_days_before_the_first_and_after_the_last_reading_are_cut(tmp_path):
    rows = ["2001-04-01,M,M", *ROWS, "2001-12-31,,"]
    record = read(written(tmp_path, text_of(rows)))
    assert (record.start, record.tmin.size) == (DAYS[0], 60)


def test_a_position_that_is_not_on_earth_is_refused(tmp_path):
    with pytest.raises(RecordError, match="latitude 149.9 is not between -90 and 90"):
        read(written(tmp_path, text_of()), latitude=149.9)


def test_text_formats_are_read_without_pandas_and_xarray(tmp_path):
    import subprocess

    path = written(tmp_path, text_of())
    code = f"import sys; from frostkit.records.readers import read; read({str(path)!r}); " \
           "print([m for m in ('pandas', 'xarray', 'scipy') if m in sys.modules])"  # fmt: skip
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_the_first_line_tells_the_format():
    assert recognise("date,tmin_C,tmax_C\n", "a") == "plain CSV"
    assert recognise("# note: x\nstation,date,element,value\n", "a") == "GHCN-Daily CSV, one row a value"
    assert recognise('"STATION","DATE","TMAX","TMAX_ATTRIBUTES"\n', "a") == "GHCN-Daily CSV, one row a day"
    assert recognise('"Date/Time","Year","Month","Day","Max Temp (°C)"\n', "a") == "ECCC daily CSV"
    with pytest.raises(RecordError, match="is an hourly file"):
        recognise('"Date/Time","Year","Month","Day","Time","Temp (°C)"\n', "a")


def test_year_month_day_and_fahrenheit_as_a_spreadsheet_has_them(tmp_path):
    record = read(written(tmp_path, "Year,Month,Day,Max Temp (°F),Min Temp (°F)\n2001,5,1,50,28\n"))
    assert (record.source["format"], record.tmax[0]) == ("plain CSV", 10)


def test_one_file_leaves_no_trace_in_the_next(tmp_path):
    first = read(written(tmp_path, text_of(), "a.csv", "utf-16"))
    second = read(written(tmp_path, text_of(), "b.csv"))
    assert (first.source["encoding"], second.source["encoding"]) == ("utf-16", "utf-8")


# -- a last line cut short, and what a slip in a header or a lost stretch would hide --------------------------------


@pytest.mark.parametrize(
    ("last", "kept"),
    [
        ("2001-06-24,-1.5,12.5", True),  # whole: as many decimals as above
        ("2001-06-24,-1.5,9.5", True),
        ("2001-06-24,-1.5,1", False),  # may have been 12.5
        ("2001-06-24,-1.5,12.", False),
        ("2001-06-24,-1.5,", False),
        ("2001-06-24,-1.5", False),
        ("2001-06-24,-1", False),
        ("2001-0", False),
    ],
)
def test_a_last_line_that_may_be_cut_short_is_missing_and_said(tmp_path, last, kept):
    text = text_of([f"{day},-2.5,11.5" for day in DAYS]) + last
    record = read(written(tmp_path, text))
    assert record.tmin.size == len(DAYS) + kept
    cut = [(repair.count, repair.first) for repair in record.repairs if "the last line is cut short" in repair.what]
    assert cut == ([] if kept else [(1, f"line {len(DAYS) + 2}")])
    whole = read(written(tmp_path, text + "\n", "whole.csv")) if kept else None
    assert whole is None or whole.tmin.size == record.tmin.size


def test_a_line_cut_short_above_the_last_is_an_error(tmp_path):
    with pytest.raises(RecordError, match="line 3: 2 cells, but the header has 3"):
        read(written(tmp_path, text_of(["2001-05-01,-2.5,11.5", "2001-05-02,-2", "2001-05-03,-2.5,11.5"])))


def test_whole_degrees_at_the_end_are_kept_where_they_are_as_long_as_those_above(tmp_path):
    rows = [f"{day},{40 + i % 9},{62 + i % 9}" for i, day in enumerate(DAYS)]
    for last, size in (("2001-06-24,41,75", 61), ("2001-06-24,41,7", 60)):
        record = read(written(tmp_path, text_of(rows, "date,tmin_F,tmax_F") + last))
        assert record.tmin.size == size


def test_days_that_no_line_names_are_said(tmp_path):
    record = read(written(tmp_path, text_of(ROWS[:20] + ROWS[25:])))
    assert np.isnan(record.tmin[20:25]).all()
    assert [(repair.what, repair.count, repair.first) for repair in record.repairs] == [
        ("days that no line names: missing", 5, str(DAYS[20]))
    ]


def test_a_column_of_rain_with_a_slip_in_its_name_is_said(tmp_path):
    rows = [f"{day},-2.5,11.5,0.4,5" for day in DAYS]
    record = read(written(tmp_path, text_of(rows, "date,tmin_C,tmax_C,prcpOmm,humidity")))
    assert "prcp" not in record.more
    assert [(repair.what, repair.first) for repair in record.repairs] == [
        ("column 'prcpOmm' not read: is prcp meant?", "line 1")
    ]


def test_tmin_and_tmax_in_two_units_are_refused(tmp_path):
    with pytest.raises(RecordError, match="line 1: tmin is in °F, tmax in °C.\nGive both in one unit"):
        read(written(tmp_path, text_of(header="date,tmin_F,tmax_C")))


def test_rain_of_another_unit_is_left_out_and_said(tmp_path):
    days = np.datetime64("2001-01-01") + np.arange(800)
    low = np.random.default_rng(5).uniform(-5, 5, days.size)
    rows = [f"{day},{a:.1f},{a + 12:.1f},{i % 5 / 2}" for i, (day, a) in enumerate(zip(days, low, strict=True))]
    assert "prcp" in read(written(tmp_path, text_of(rows, "date,tmin_C,tmax_C,prcp_mm"))).more
    record = read(written(tmp_path, text_of(rows, "date,tmin_C,tmax_C,prcp_in"), "in.csv"))
    assert "prcp" not in record.more
    assert any("prcp left out: 9,27" in repair.what for repair in record.repairs)
