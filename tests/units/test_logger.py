"""A logger's CSV: times and units as people write them, days and hours of cold by counting, and errors of two lines."""

import numpy as np
import pytest

from frostkit.errors import RecordError
from frostkit.records.logger import Hourly, by_day, hours_at_or_below, of_station, read_logger
from frostkit.records.record import Hours, Station


def csv(tmp_path, text, name="low_spot.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def hourly(values, start="2020-09-10T00:00", step=60):
    time = np.datetime64(start, "m") + np.arange(len(values)) * np.timedelta64(step, "m")
    return Hourly(time, np.asarray(values, np.float32))


DAY = [f"{h:02d}:00" for h in range(24)]
WAYS = {
    "one column": ("time,temp_C", [f"2020-09-10 {h}" for h in DAY], 0),
    "with a T": ("timestamp;Temperature (°C)", [f"2020-09-10T{h}:00" for h in DAY], 0),
    "date and clock": ("date,time,air_temp_C", [f"2020-09-10,{h}" for h in DAY], 0),
    "clock of twelve hours": ("Date Time,Temp (°F)", [f"9/20/2020 {(h + 11) % 12 + 1}:00 {'AM' if h < 12 else 'PM'}" for h in range(24)], 0),
    "hours alone": ("date,hour,temp_C", [f"2020-09-10,{h}" for h in range(24)], 0),
}  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_times_are_read_in_the_ways_people_write_them(tmp_path, way):
    header, times, _ = WAYS[way]
    sep = ";" if ";" in header else ","
    celsius = [round(5 + 0.5 * h, 1) for h in range(24)]
    written = [round(c * 1.8 + 32, 2) for c in celsius] if "°F" in header else celsius
    rows = "\n".join(f"{time}{sep}{value}" for time, value in zip(times, written, strict=True))
    logger = read_logger(csv(tmp_path, f"# invented\n{header}\n{rows}\n"))
    assert logger.hourly is not None
    assert logger.hourly.celsius == pytest.approx(celsius, abs=0.01)
    assert (np.diff(logger.hourly.time) == np.timedelta64(60, "m")).all()
    assert logger.record.station.name == "low_spot"
    assert (logger.record.tmin[0], logger.record.tmax[0]) == pytest.approx((5.0, 16.5), abs=0.01)


def test_a_daily_file_goes_through_the_readers(tmp_path):
    logger = read_logger(csv(tmp_path, "date,tmin_C,tmax_C\n2020-09-10,-1.5,12\n2020-09-11,2,14\n"))
    assert logger.hourly is None
    assert logger.record.tmin.tolist() == [-1.5, 2.0]


ERRORS = {
    "no unit": ("time,temp\n2020-09-10 00:00,5\n", r"line 1, temp: the header does not say °C or °F.\nSay --input-units C"),
    "no temperature": ("time,humidity\n2020-09-10 00:00,5\n", r"no column for the temperature; the columns are: time, humidity.\nName one column temp_C"),
    "two temperatures": ("time,temp_C,temperature\n2020-09-10 00:00,5,5\n", r"more than one column for the temperature"),
    "no time": ("when,temp_C\n2020-09-10 00:00,5\n", r"no column for the time; the columns are: when, temp_C.\nName it time"),
    "a day without a clock": ("time,temp_C\n2020-09-10 00:00,5\n2020-09-11,6\n", r"line 3, time: '2020-09-11' has no time of day.\nWrite time as"),
    "a zone": ("time,temp_C\n2020-09-10 00:00Z,5\n", r"line 2, time: '00:00Z' carries a time zone.\nWrite the times in local standard"),
    "25 o'clock": ("time,temp_C\n2020-09-10 25:00,5\n", r"line 2, time: '25:00' is not a time of day.\nWrite time as HH:MM"),
    "no number": ("time,temp_C\n2020-09-10 01:00,mild\n", r"line 2, temp_C: 'mild' is not a temperature.\nCorrect the line"),
    "a year mistyped": ("time,temp_C\n2020-09-10 01:00,5\n2026-09-10 02:00,5\n", r"near line 3: nothing between 2020-09-10T01:00 and 2026.*\nIs a year mistyped"),
    "nothing": ("time,temp_C\n2020-09-10 01:00,NA\n", r"has no reading.\nGive a file with temperatures"),
}  # fmt: skip


@pytest.mark.parametrize("fault", ERRORS)
def test_a_fault_is_told_with_its_place_and_what_to_do(tmp_path, fault):
    text, message = ERRORS[fault]
    with pytest.raises(RecordError, match=message):
        read_logger(csv(tmp_path, text))


def test_header_and_option_must_agree_on_the_unit(tmp_path):
    path = csv(tmp_path, "time,temp_C\n2020-09-10 01:00,5\n")
    with pytest.raises(RecordError, match=r"the header says °C, the option says °F.\nLeave out --input-units"):
        read_logger(path, input_units="F")


def test_a_day_with_a_step_of_more_than_three_hours_is_not_known():
    readings = hourly(np.tile(np.arange(24.0), 4))
    keep = np.ones(96, bool)
    keep[24 + 5 : 24 + 8] = False  # a step of 4 hours on the second day
    keep[47:50] = False  # and one across the second midnight
    record = by_day(Hourly(readings.time[keep], readings.celsius[keep]))
    assert np.isfinite(record.tmin).tolist() == [True, False, False, True]
    assert (record.tmin[0], record.tmax[0]) == (0, 23)
    late = by_day(Hourly(readings.time[4:], readings.celsius[4:]))
    assert np.isnan(late.tmin[0])  # the logger was set out at 4 in the morning
    three_hourly = by_day(Hourly(readings.time[::3], readings.celsius[::3]))
    assert np.isfinite(three_hourly.tmin).all()


def test_nights_run_from_noon_to_noon_and_are_named_by_the_day_they_end_on():
    readings = hourly([10.0] * 20 + [-3.0] * 2 + [10.0] * 26)  # cold at 20 and 21 o'clock of the tenth
    days, nights = by_day(readings), by_day(readings, from_hour=12)
    assert days.tmin.tolist() == [-3, 10]
    assert nights.start == np.datetime64("2020-09-10")
    assert nights.tmin[1] == -3


@pytest.mark.parametrize("from_hour", [0, 12])
def test_hours_of_cold_are_those_of_counting_by_the_minute(from_hour):
    rng = np.random.default_rng(4)
    values = np.round(rng.normal(0, 3, 24 * 6 + 1), 1)
    readings = hourly(values)
    got = hours_at_or_below(readings, 0.0, from_hour)
    minute = np.arange(24 * 6 * 60)
    course = np.interp(minute + 0.5, np.arange(values.size) * 60, values)
    day = (minute + (from_hour and 720)) // 1440
    counted = np.bincount(day, course <= 0.05, minlength=got.size) / 60
    whole = np.isfinite(got)
    assert whole.sum() == (6 if from_hour == 0 else 5)
    assert got[whole] == pytest.approx(counted[whole], abs=0.05)


def test_hours_of_a_flat_reading_at_the_threshold_count_in_full():
    assert hours_at_or_below(hourly([-2.2] * 25), -2.2)[0] == 24  # 28 °F is stored as -2.2
    assert hours_at_or_below(hourly([-2.1] * 25), -2.2)[0] == 0


def test_a_station_s_hours_are_taken_in_its_local_standard_time():
    hours = Hours(Station(longitude=-99.9), np.datetime64("2020-09-10T00", "h"), np.array([1, np.nan, 3], "f4"))
    local = of_station(hours)
    assert local.time.astype(str).tolist() == ["2020-09-09T17:00", "2020-09-09T19:00"]
    with pytest.raises(RecordError, match=r"The longitude of '' is not known.*\nGive --longitude"):
        of_station(Hours(Station(), hours.start, hours.temp))


def test_damaged_files_are_refused_in_two_lines_or_read_to_the_laws(tmp_path):
    rng = np.random.default_rng(11)
    good = "time,temp_C\n" + "".join(
        f"2020-09-{10 + h // 24} {h % 24:02d}:00,{(h % 24) / 2 - 3:.1f}\n" for h in range(72)
    )
    spice = [b"", b",", b";", b"\n", b"\"", b"-", b"9", b"\x00", b"\xff", b":", b" ", b"T", b"NA", b"1e300", b"99999", b"2020-02-30"]  # fmt: skip
    path, read_whole, refused = tmp_path / "logger.csv", 0, 0
    for turn in range(600):
        lines = good.split("\n")[1:-1]
        if turn % 2:  # lines lost, doubled and out of order; then bytes
            lines = [lines[i] for i in np.sort(rng.integers(len(lines), size=60))[rng.permutation(60)]]
        raw = "\n".join(["time,temp_C", *lines, ""]).encode()
        for _ in range(rng.integers(0, 3)):
            at, length = int(rng.integers(len(raw))), int(rng.choice([0, 1, 1, 2, 21, 22]))
            raw = raw[:at] + spice[rng.integers(len(spice))] + raw[at + length :]
        path.write_bytes(raw)
        try:
            logger = read_logger(path)
        except RecordError as told:
            refused += bool(told.what and told.do)
            continue
        read_whole += 1
        assert logger.hourly is not None
        assert (np.diff(logger.hourly.time).astype(int) > 0).all()
        assert np.isfinite(logger.hourly.celsius).all()
        known = np.isfinite(logger.record.tmin)
        assert (logger.record.tmin[known] <= logger.record.tmax[known]).all()
        hours = hours_at_or_below(logger.hourly, 0.0)
        assert (hours[np.isfinite(hours)] <= 24.0001).all()
    assert read_whole > 100
    assert refused == 600 - read_whole > 100  # each told in two lines
