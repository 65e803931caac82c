"""GHCN-Daily in its three layouts, on small files made here.

Layouts, units (tenths of °C and mm) and flags: NOAA NCEI, GHCN-Daily readme.txt and the notes beside the by-station
CSV (from memory of the publications); the real files in tests/records hold the readers to them.
"""

import calendar

import numpy as np
import pytest

from frostkit.errors import RecordError
from frostkit.records.readers import read

STATION = "XX000000001"


def dly_line(year, month, element, values, flags=None, station=STATION):
    """One line of 31 fields; days the month does not have are -9999."""
    days = calendar.monthrange(year, month)[1]
    fields = [(value, (flags or {}).get(day, "   ")) for day, value in enumerate([*values, *[-9999] * 31][:31], 1)]
    fields = [(value if day <= days else -9999, flag) for day, (value, flag) in enumerate(fields, 1)]
    return f"{station}{year}{month:02d}{element}" + "".join(f"{value:5d}{flag}" for value, flag in fields)


def two_months(**flags):
    return [
        dly_line(2001, 4, "TMAX", [100 + d for d in range(30)], flags.get("april_tmax")),
        dly_line(2001, 4, "TMIN", [-22 + d for d in range(30)], flags.get("april_tmin")),
        dly_line(2001, 4, "PRCP", [0, 254] + [-9999] * 28, {1: "T  "}),
        dly_line(2001, 5, "TMAX", [150] * 31),
        dly_line(2001, 5, "TMIN", [31] * 30 + [-9999]),
        dly_line(2001, 5, "WT01", [1] * 31),
    ]


def written(folder, lines, name="station.dly"):
    path = folder / name
    path.write_text("\n".join(lines) + "\n")
    return path


def test_a_dly_file_is_read_day_by_day(tmp_path):
    record = read(written(tmp_path, two_months()))
    assert (record.station.id, record.start, record.tmin.size) == (STATION, np.datetime64("2001-04-01"), 61)
    np.testing.assert_array_equal(record.tmin[:30], np.float32((-22 + np.arange(30)) / 10))
    np.testing.assert_array_equal(record.tmin[30:60], np.float32([3.1] * 30))
    assert np.isnan(record.tmin[60])
    assert record.tmax[60] == 15
    np.testing.assert_array_equal(record.more["prcp"][:3], np.float32([0, 25.4, np.nan]))
    assert list(record.more) == ["prcp"]
    assert record.repairs == ()


def test_a_dly_value_that_failed_a_check_is_missing_and_counted_by_its_flag(tmp_path):
    flags = {"april_tmin": {3: " I ", 9: " I ", 10: " S "}, "april_tmax": {3: "  C", 4: "H  "}}
    record = read(written(tmp_path, two_months(**flags)))
    assert np.flatnonzero(np.isnan(record.tmin[:30])).tolist() == [2, 8, 9]
    assert not np.isnan(record.tmax).any()  # a measurement flag or a source flag is no fault
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("TMIN with NCEI's quality flag I: taken as missing", 2, "2001-04-03"),
        ("TMIN with NCEI's quality flag S: taken as missing", 1, "2001-04-10"),
    ]


def test_a_month_that_is_not_there_is_missing(tmp_path):
    lines = [line.replace("200105", "200107") for line in two_months()]
    record = read(written(tmp_path, lines))
    assert record.tmin.size == 30 + 31 + 30 + 31
    assert np.isnan(record.tmin[30:91]).all()


def test_dly_lines_may_come_in_any_order_without_blanks_at_their_ends(tmp_path):
    record = read(written(tmp_path, [line.rstrip() for line in two_months()[::-1]]))
    np.testing.assert_array_equal(record.tmin, read(written(tmp_path, two_months(), "b.dly")).tmin)


def test_a_value_on_30_february_is_left_out_and_counted(tmp_path):
    february = dly_line(2001, 2, "TMIN", [-50] * 28)
    bad = february[: 21 + 29 * 8] + "  -70   " + february[21 + 30 * 8 :]
    record = read(written(tmp_path, [dly_line(2001, 2, "TMAX", [50] * 28), bad]))
    assert record.tmin.size == 28
    assert [(r.what, r.count) for r in record.repairs] == [("TMIN on days that are not in the calendar: left out", 1)]


def test_a_month_given_twice_is_taken_once_or_refused(tmp_path):
    lines = two_months()
    record = read(written(tmp_path, [*lines, lines[1]]))
    assert [(r.what, r.count) for r in record.repairs] == [
        ("days given more than once, with the same values: taken once", 30)
    ]
    with pytest.raises(RecordError, match="31 days are given more than once with different values, the first is 1 May"):
        read(written(tmp_path, [*lines, dly_line(2001, 5, "TMAX", [140] * 31)]))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda lines: [*lines[:-2], lines[-2][:120]], r"line 5, TMIN of day 13: '   31' is not|line 5, TMIN of day 13"),
        (lambda lines: [lines[0], lines[1].replace("  -22", "  -2x"), *lines[2:]], "line 2, TMIN of day 1: '  -2x'"),
        (lambda lines: [lines[0], lines[1].replace("  -22", "-  22"), *lines[2:]], "line 2, TMIN of day 1: '-  22'"),
        (lambda lines: [lines[0], lines[1].replace("  -22", " --22"), *lines[2:]], "line 2, TMIN of day 1: ' --22'"),
        (lambda lines: [lines[0], lines[1].replace("200104", "200113"), *lines[2:]], "line 2, TMIN: '200113' is not a year"),
        (lambda lines: [lines[0], lines[1].replace("200104", "20O104"), *lines[2:]], "line 2, TMIN: '20O104' is not a year"),
        (lambda lines: [lines[0], lines[1] + "xyz", *lines[2:]], "line 2, TMIN: the line is not 269 characters"),
        (lambda lines: [lines[0], lines[1].replace("  -22", "  −22"), *lines[2:]], "line 2, TMIN: the line is not 269"),
        (lambda lines: [*lines, lines[1].replace(STATION, "XX000000002")], "holds 2 stations, the first are 'XX000000001'"),
        (lambda lines: [line for line in lines if "TMIN" not in line], "no TMIN or no TMAX; found PRCP, TMAX, WT01"),
        (lambda lines: [line.replace("TMIN", "TAVG") for line in lines], "no TMIN or no TMAX; found PRCP, TAVG, TMAX"),
        (lambda lines: [line[:17] + {"TMIN": "TMAX", "TMAX": "TMIN"}.get(line[17:21], line[17:21]) + line[21:]
                        for line in lines], "tmin: 10 on 1 April 2001 is above tmax -2.2, and so on 60 days"),
    ],
)  # fmt: skip
def test_a_damaged_dly_file_is_named(tmp_path, change, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, change(two_months())))


def test_one_of_several_dly_stations_can_be_chosen(tmp_path):
    other = [line.replace(STATION, "XX000000002").replace("200104", "199904") for line in two_months()]
    path = written(tmp_path, two_months() + other)
    assert read(path, station="XX000000002").start == np.datetime64("1999-04-01")


def test_ghcn_is_never_fahrenheit(tmp_path):
    with pytest.raises(RecordError, match="GHCN-Daily is in tenths of °C by its layout, the option says °F"):
        read(written(tmp_path, two_months()), input_units="F")


# ---- one row a value -------------------------------------------------------------------------------------------------

LONG = [
    "XX000000001,20010401,TMAX,150,,,W,2400",
    "XX000000001,20010401,TMIN,-22,,,W,2400",
    "XX000000001,20010401,PRCP,0,T,,W,",
    "XX000000001,20010402,TMAX,160,,,W,2400",
    "XX000000001,20010402,TMIN,-99,,,W,2400",
    "XX000000001,20010402,WT01,1,,,W,",
    "XX000000001,20010403,TMAX,170,,,W,2400",
    "XX000000001,20010403,TMIN,30,,X,W,2400",
]


@pytest.mark.parametrize(
    "header",
    [None, "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME", "id,yyyymmdd,element,value,m,q,s,obs",
     "station,date,datatype,value,mflag,qflag,sflag,time"],
)  # fmt: skip
def test_one_row_a_value_is_read_with_and_without_a_header(tmp_path, header):
    record = read(written(tmp_path, [*([header] if header else []), *LONG], "by_station.csv"))
    np.testing.assert_array_equal(record.tmin, np.float32([-2.2, -9.9, np.nan]))
    np.testing.assert_array_equal(record.tmax, np.float32([15, 16, 17]))
    np.testing.assert_array_equal(record.more["prcp"], np.float32([0, np.nan, np.nan]))
    assert record.station.id == STATION
    assert [(r.what, r.count, r.first) for r in record.repairs] == [
        ("TMIN with NCEI's quality flag X: taken as missing", 1, "2001-04-03")
    ]


def test_one_row_a_value_without_a_station_is_read(tmp_path):
    rows = [row.removeprefix("XX000000001,") for row in LONG]
    assert read(written(tmp_path, ["date,attr,value,a,b,c,d", *rows], "long.csv")).tmin[1] == np.float32(-9.9)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("XX000000001,20010403,TMIN,3.0.1,,,W,", "line 8, value: '3.0.1' is not a TMIN in whole units"),
        ("XX000000001,20010403,TMIN,-0.5,,,W,", "line 8, value: -0.5 is not in whole units of GHCN-Daily"),
        ("XX000000001,20010431,TMIN,5,,,W,", "line 8, date: 2001-04-31 is not a day of the calendar"),
        ("XX000000001,2001040,TMIN,5,,,W,", "line 8, date: '2001040' is not a day"),
        ("XX000000002,20010403,TMIN,5,,,W,", "holds 2 stations: XX000000001, XX000000002"),
        ("XX000000001,20010403,TMIN", "line 8: 3 cells, but the header has 8"),
    ],
)
def test_a_bad_row_of_one_value_is_named(tmp_path, row, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, [*LONG[:7], row], "by_station.csv"))


# ---- one row a day ---------------------------------------------------------------------------------------------------

WIDE = '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"'


def wide_rows(tmin="  -22", tmin_flag=",,W,2400"):
    return [
        f'"XX000000001","2001-05-{day:02d}","49.9","-99.9","380.0","RIVER FLAT, XX","    5","T,,W","  {150 + day}",",,W,2400",'
        f'"{tmin if day == 7 else "   12"}","{tmin_flag if day == 7 else ",,W,2400"}"'
        for day in range(1, 32)
    ]


def test_one_row_a_day_is_tenths_where_a_number_proves_it(tmp_path):
    record = read(written(tmp_path, [WIDE, *wide_rows()], "wide.csv"))
    assert (record.tmin[6], record.tmax[6], record.more["prcp"][0]) == (
        np.float32(-2.2),
        np.float32(15.7),
        np.float32(0.5),
    )
    station = record.station
    assert (station.id, station.name, station.latitude, station.elevation) == (STATION, "RIVER FLAT, XX", 49.9, 380)
    assert record.repairs == ()


def test_one_row_a_day_honours_quality_flags(tmp_path):
    record = read(written(tmp_path, [WIDE, *wide_rows(tmin_flag=",S,W,2400")], "wide.csv"))
    assert np.flatnonzero(np.isnan(record.tmin)).tolist() == [6]
    assert record.repairs[0].what == "TMIN with NCEI's quality flag S: taken as missing"


@pytest.mark.parametrize(("units", "first"), [("C", 9), ("F", (9 - 32) / 1.8)])
def test_one_row_a_day_in_small_whole_numbers_needs_its_unit_said(tmp_path, units, first):
    rows = [
        row.replace(f"  {150 + day}", f"  {day + 20}").replace("   12", "    9")
        for day, row in enumerate(wide_rows(), 1)
    ]
    path = written(tmp_path, [WIDE, *rows], "wide.csv")
    assert read(path, input_units=units).tmin[0] == pytest.approx(first)
    assert read(path, input_units="tenths").tmin[0] == np.float32(0.9)
    with pytest.raises(RecordError, match="numbers without decimals may be °C, °F or tenths of °C; nothing says which"):
        read(path)


def test_tenths_called_fahrenheit_are_refused(tmp_path):
    with pytest.raises(RecordError, match="these are tenths of °C, the option says °F"):
        read(written(tmp_path, [WIDE, *wide_rows()], "wide.csv"), input_units="F")


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ([WIDE, *wide_rows(tmin="cold")], "wide.csv, line 8, TMIN: 'cold' is not a temperature"),
        ([WIDE.replace("TMIN", "TAVG"), *wide_rows()], "line 1: no column for TMIN"),
        ([WIDE], "has a header, but no days"),
        ([WIDE, *wide_rows(), wide_rows()[0].replace("XX000000001", "XX000000002")], "holds 2 stations"),
    ],
)
def test_a_bad_file_of_one_row_a_day_is_named(tmp_path, lines, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, lines, "wide.csv"))


def test_a_damaged_element_is_left_out_and_told(tmp_path):
    rows = [LONG[0], LONG[1], LONG[3], LONG[4].replace("TMIN", "TMMIN"), *LONG[5:]]
    record = read(written(tmp_path, rows, "by_station.csv"))
    assert np.isnan(record.tmin[1])
    assert [(r.what, r.first) for r in record.repairs if "element" in r.what] == [
        ("'TMMIN' is no element of GHCN-Daily: left out", "line 4")
    ]
    record = read(written(tmp_path, [*two_months(), dly_line(2001, 6, "TMIX", [1] * 30)]))
    assert [(r.what, r.first) for r in record.repairs] == [("'TMIX' is no element of GHCN-Daily: left out", "line 7")]


# -- a last line cut short ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("length", [265, 200, 30, 15])
def test_a_last_month_cut_short_is_missing_and_said(tmp_path, length):
    lines = two_months()
    path = tmp_path / "station.dly"
    path.write_text("\n".join(lines[:-1]) + "\n" + lines[-1].ljust(269)[:length])
    record = read(path)
    assert (record.repairs[0].what, record.repairs[0].first) == (
        "the last line is cut short: left out",
        f"line {len(lines)}",
    )
    path.write_text("\n".join(lines)[:-3])  # blanks behind the last value may be gone
    assert not any("cut short" in repair.what for repair in read(path).repairs)


def test_a_last_value_cut_short_is_missing_and_said(tmp_path):
    lines = ["id,date,element,value,m,q,s,obs", *LONG[:5]]
    record = read(written(tmp_path, lines, "long.csv"))
    text = "\n".join(lines)
    (tmp_path / "cut.csv").write_text(text[:-6])
    short = read(tmp_path / "cut.csv")
    assert any("the last line is cut short" in repair.what for repair in short.repairs)
    known = [np.isfinite(np.concatenate([of.tmin, of.tmax])).sum() for of in (record, short)]
    assert known[1] == known[0] - 1
