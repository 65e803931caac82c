"""NetCDF and the dataset: CF names, units, stations; there and back."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from frostkit.errors import RecordError
from frostkit.records.dataset import from_dataset, read_dataset, to_dataset
from frostkit.records.readers import read
from frostkit.records.record import Record, Repair, Station

DAYS = pd.date_range("2001-04-01", periods=90)
LOW = np.float32(-5 + np.arange(90) % 17)
HIGH = LOW + np.float32(10)


def made(units="degC", names=("tmin", "tmax"), **attributes):
    low, high = (
        (LOW, HIGH)
        if units == "degC"
        else ((LOW + 273.15, HIGH + 273.15) if units == "K" else (LOW * 1.8 + 32, HIGH * 1.8 + 32))
    )
    return xr.Dataset(
        {names[0]: ("time", low, {"units": units, **attributes}), names[1]: ("time", high, {"units": units})},
        {"time": DAYS, "lat": 49.9, "lon": 260.1},
    )


def written(folder, ds, name="record.nc", **kwargs):
    ds.to_netcdf(folder / name, **({"engine": "h5netcdf"} | kwargs))
    return folder / name


@pytest.mark.parametrize("units", ["degC", "K", "degF"])
@pytest.mark.parametrize("names", [("tmin", "tmax"), ("tasmin", "tasmax"), ("TN", "TX")])
def test_units_and_names_of_variables_are_known(tmp_path, units, names):
    record = read(written(tmp_path, made(units, names)))
    np.testing.assert_allclose(record.tmin, LOW, atol=1e-4)
    np.testing.assert_allclose(record.tmax, HIGH, atol=1e-4)
    assert record.start == np.datetime64("2001-04-01")
    assert (record.station.latitude, record.station.longitude) == (49.9, pytest.approx(-99.9))


def test_variables_are_known_by_standard_name_and_cell_methods(tmp_path):
    ds = made(names=("a", "b"), standard_name="air_temperature", cell_methods="time: minimum within days")
    ds["b"].attrs |= {"standard_name": "air_temperature", "cell_methods": "time: maximum within days"}
    np.testing.assert_array_equal(read(written(tmp_path, ds)).tmax, HIGH)


def test_the_classic_format_is_read_too(tmp_path):
    np.testing.assert_array_equal(read(written(tmp_path, made(), engine="scipy", format="NETCDF3_CLASSIC")).tmin, LOW)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda ds: ds.assign(tmin=ds.tmin.assign_attrs(units="furlong")), "the unit of tmin is 'furlong'"),
        (lambda ds: ds.assign(tmin=ds.tmin.drop_attrs()), "the unit of tmin is ''"),
        (lambda ds: ds.drop_vars("tmin"), "no variable for tmin; found tmax"),
        (lambda ds: ds.assign(tasmin=ds.tmin), "several variables may be tmin: tmin, tasmin"),
        (lambda ds: ds.rename(tmin="tmax", tmax="tmin"), "tmin: 5 on 1 April 2001 is above tmax -5"),
        (lambda ds: ds.drop_vars("time"), "tmin has no axis of days; its dimensions are time"),
        (lambda ds: ds.assign_coords(time=pd.date_range("2001-04-01", periods=90, freq="h")), "days are given more than once"),
        (lambda ds: ds.assign_coords(time=pd.date_range("2001-04-01", periods=90, freq="MS")), "values are 31 days apart"),
        (lambda ds: ds.expand_dims(lat=[49, 50], lon=[-100, -99, -98]), "holds a grid of 2 lat x 3 lon"),
        (lambda ds: ds.assign(tmin=ds.tmin * 1e30), "lie outside what the world has seen"),
        (lambda ds: ds.assign(tmin=ds.tmin.astype(str).assign_attrs(units="degC")), "tmin holds no numbers"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_file_is_named(tmp_path, change, says):
    with pytest.raises(RecordError, match=says):
        read(written(tmp_path, change(made())))


def test_a_damaged_file_is_named(tmp_path):
    path = written(tmp_path, made())
    path.write_bytes(path.read_bytes()[:3000])
    with pytest.raises(RecordError, match=r"record.nc can't be read as NetCDF: .*\nThe file is damaged"):
        read(path)


def test_netcdf_says_its_units_itself(tmp_path):
    with pytest.raises(RecordError, match="NetCDF says its units in the attribute units"):
        read(written(tmp_path, made()), input_units="F")


def stations():
    return xr.concat([made(), made() + 1], xr.Variable("station", ["North", "South"])).assign_coords(
        elevation=("station", [380.0, 390.0])
    )


def test_a_station_is_chosen_by_label_or_number(tmp_path):
    ds = stations()
    for variable in ds.data_vars.values():
        variable.attrs["units"] = "degC"
    path = written(tmp_path, ds)
    for asked in ("South", "south", "2"):
        record = read(path, station=asked)
        assert (record.station.name, record.station.elevation, record.tmin[0]) == ("South", 390, -4)
    with pytest.raises(RecordError, match=r"holds 2 stations: 1 North, 2 South\.\nSay which one"):
        read(path)
    with pytest.raises(RecordError, match="There is no 'Nort'. Did you mean 'North'"):
        read(path, station="Nort")


def test_a_cell_of_a_grid_is_chosen_by_its_position(tmp_path):
    ds = made().drop_vars(["lat", "lon"]).expand_dims(lat=[49.0, 50.0], lon=[260.0, 261.0]).copy(deep=True)
    ds["tmin"][1, 0] = ds["tmin"][1, 0] - 3
    record = read(written(tmp_path, ds), station="49.9,-99.9")
    assert (record.tmin[0], record.station.latitude, record.station.longitude) == (-8, 50, -100)


def full_record():
    tmin, tmax = LOW.copy(), HIGH.copy()
    tmin[[3, 7]] = np.nan
    sign = np.zeros(90, np.int8)
    sign[3] = -1
    return Record(
        Station("X1", "River Flat", 49.9, -99.9, 380.0), np.datetime64("2001-04-01"), tmin, tmax, sign,
        {"prcp": np.float32(np.arange(90) % 4), "snwd": np.float32(np.arange(90) % 3)},
        {"format": "plain CSV", "files": "river_flat.csv"}, (Repair("Tmin above Tmax: both taken as missing", 2, "2001-05-01"),),
        invented=True,
    )  # fmt: skip


def same(a, b):
    for name in ("tmin", "tmax", "sign"):
        np.testing.assert_array_equal(getattr(a, name), getattr(b, name))
    assert set(a.more) == set(b.more)
    for name in a.more:
        np.testing.assert_array_equal(a.more[name], b.more[name])
    assert (a.station, a.start, a.repairs, a.invented) == (b.station, b.start, b.repairs, b.invented)
    assert a.source["format"] == b.source["format"]


def from_file(path, station=None):
    """The record of a file, without what is said of every NetCDF file: that it has no checksum."""
    record = read(path, station=station)
    said = [repair for repair in record.repairs if "which has no checksum" in repair.what]
    assert len(said) == 1
    return dataclasses.replace(record, repairs=tuple(one for one in record.repairs if one not in said))


def test_a_record_comes_back_from_a_dataset_as_it_went_in(tmp_path):
    record = full_record()
    same(from_dataset(to_dataset([record])), record)
    same(from_file(written(tmp_path, to_dataset([record]))), record)


def test_records_of_several_stations_come_back_one_by_one(tmp_path):
    first = full_record()
    second = dataclasses.replace(
        first, station=Station("X2", "Hill", 50.0, -100.0, 500.0), start=np.datetime64("2003-01-01"), sign=None, more={}, repairs=(),
        invented=False,
    )  # fmt: skip
    path = written(tmp_path, to_dataset([first, second]))
    back = read(path, station="X2")
    np.testing.assert_array_equal(back.tmin, second.tmin)
    assert (back.start, back.station, back.invented, back.sign, back.more) == (
        second.start,
        second.station,
        False,
        None,
        {},
    )
    same(from_file(path, station="X1"), first)


def test_the_dataset_carries_cf_attributes():
    ds = to_dataset([full_record()])
    assert ds.tmin.dims == ("station", "time")
    assert ds.tmin.attrs["standard_name"] == ds.tmax.attrs["standard_name"] == "air_temperature"
    assert (ds.tmin.attrs["cell_methods"], ds.tmax.attrs["cell_methods"]) == ("time: minimum", "time: maximum")
    assert ds.tmin.attrs["units"] == "degC"
    assert ds.prcp.attrs["units"] == ds.snwd.attrs["units"] == "mm"
    assert (ds.attrs["featureType"], ds.station.attrs["cf_role"]) == ("timeSeries", "timeseries_id")
    assert float(ds.elevation[0]) == 380


def test_any_file_can_be_read_as_a_dataset(tmp_path):
    (tmp_path / "a.csv").write_text("date,tmin_F,tmax_F\n2001-05-01,32,50\n")
    assert float(read_dataset(tmp_path / "a.csv", name="River Flat").tmax[0, 0]) == 10


def test_no_record_makes_no_dataset():
    with pytest.raises(RecordError, match="no record to put into a dataset"):
        to_dataset([])
