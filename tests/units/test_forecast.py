"""Reading a forecast: no holes, no guessed units."""

import numpy as np
import pytest

from frostkit.errors import RecordError
from frostkit.records.forecast import read_forecast

GOOD = "date,tmin_C,tmax_C,tmin_spread_C,tmax_spread_C\n2020-09-01,5,18,1,1.5\n2020-09-02,-1.0,12,2,2.5\n2020-09-03,3,15,3,3.5\n"


def written(folder, text):
    path = folder / "coming.csv"
    path.write_text(text, "utf-8")
    return path


def test_days_and_spread_are_read(tmp_path):
    forecast = read_forecast(written(tmp_path, GOOD))
    assert forecast.start == np.datetime64("2020-09-01")
    assert forecast.tmin.tolist() == [5, -1, 3]
    assert forecast.tmax_spread.tolist() == [1.5, 2.5, 3.5]


def test_fahrenheit_temperatures_and_spreads_convert_each_in_its_own_way(tmp_path):
    forecast = read_forecast(written(tmp_path, "date,tmin_F,tmax_F,tmin_spread_F\n2020-09-01,32,50,1.8\n"))
    assert forecast.tmin[0] == pytest.approx(0)
    assert forecast.tmax[0] == pytest.approx(10)
    assert forecast.tmin_spread[0] == pytest.approx(1)
    assert forecast.tmax_spread[0] == 0


def test_days_before_today_are_dropped(tmp_path):
    forecast = read_forecast(written(tmp_path, GOOD)).since(np.datetime64("2020-09-02"))
    assert forecast.start == np.datetime64("2020-09-02")
    assert forecast.tmin.tolist() == [-1, 3]


@pytest.mark.parametrize(("text", "says"), [
    ("date,tmin_C,tmax_C\n2020-09-01,5,18\n2020-09-03,5,18\n", r"line 3: 2020-09-03 follows 2020-09-01: 1 day is missing"),
    ("date,tmin_C,tmax_C\n2020-09-01,5,18\n2020-09-01,5,18\n", r"days repeat or are out of order"),
    ("date,tmin_C,tmax_C\n2020-09-01,5,18\n2020-09-02,,18\n", r"line 3, tmin_C: is empty"),
    ("date,tmin_C,tmax_C\n2020-09-01,25,18\n", r"25.0 °C on 2020-09-01 is above tmax 18.0"),
    ("date,tmin,tmax_C\n2020-09-01,5,18\n", r"'tmin' does not say whether it is °C or °F"),
    ("date,tmin_C\n2020-09-01,5\n", r"no column for tmax; the columns are: date, tmin_C"),
    ("date,tmin_C,tmax_C\n2020-09-01,5,88\n", r"88.0 °C is outside -60 to 55"),
    ("date,tmin_C,tmax_C,tmin_spread_C\n2020-09-01,5,18,-1\n", r"-1.0 °C is outside 0 to 15"),
    ("date,tmin_C,tmax_C\n2020-09-31,5,18\n", r"2020-09-31"),
    ("date,tmin_C,tmax_C\n" + "".join(f"2020-09-{d:02d},5,18\n" for d in range(1, 25)), r"has 24 days"),
])  # fmt: skip
def test_a_forecast_with_holes_or_faults_gets_two_lines(tmp_path, text, says):
    with pytest.raises(RecordError, match=says) as found:
        read_forecast(written(tmp_path, text))
    assert found.value.do


def test_a_forecast_that_starts_after_today_or_ended_before_gets_two_lines(tmp_path):
    forecast = read_forecast(written(tmp_path, GOOD))
    with pytest.raises(RecordError, match="starts on 2020-09-01, 3 days after today"):
        forecast.since(np.datetime64("2020-08-29"))
    with pytest.raises(RecordError, match="ended on 2020-09-03; today is 2020-09-10"):
        forecast.since(np.datetime64("2020-09-10"))


def test_a_file_that_is_not_there_gets_two_lines(tmp_path):
    with pytest.raises(RecordError, match=r"no_such.csv can't be read"):
        read_forecast(tmp_path / "no_such.csv")
