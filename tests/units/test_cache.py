"""Kept records: whole or not at all, found by their folder, told about where something is wrong."""

import os
import sys
import threading
from dataclasses import replace
from pathlib import Path

import filelock
import h5netcdf
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from frostkit.errors import RecordError
from frostkit.records import cache as module
from frostkit.records.cache import Cache, DamagedError, folder, where
from frostkit.records.merge import merge, merge_hours, missing_years
from frostkit.records.record import Hours, Record, Repair, Station
from frostkit.records.storage import pack, unpack, unpack_hours

HERE = Station("RIV01", "Rivière Plate (invented)", 49.9, -99.9, 400.0)


def record(days=400, start="1990-03-01", seed=1, station=HERE, **more):
    rng = np.random.default_rng(seed)
    low = np.round(rng.normal(3, 12, days), 1).astype(np.float32)
    low[rng.random(days) < 0.05] = np.nan
    high = np.round(np.nan_to_num(low) + rng.uniform(2, 15, days), 1).astype(np.float32)
    return Record(station, np.datetime64(start), low, high, **more)


def full():
    """A record with everything a record can have."""
    one = record()
    sign = np.where(np.isnan(one.tmin), 1, 0).astype(np.int8)
    more = {"prcp": np.full(400, 1234.5, np.float32), "snwd": np.full(400, 5000, np.float32)}
    source = {"provider": "Nobody", "licence": "CC BY 4.0", "attribution": "Nobody, 雪", "missing_years": "1994: gone"}
    return replace(
        one, sign=sign, more=more, source=source, repairs=(Repair("Tmin above Tmax", 3, "1990-05-01"),), invented=True
    )


def same(one, other):
    assert (one.station, one.start, one.source, one.repairs, one.invented) == (
        other.station, other.start, other.source, other.repairs, other.invented)  # fmt: skip
    for name in ("tmin", "tmax", "sign"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
    assert list(one.more) == list(other.more)
    for name in one.more:
        np.testing.assert_array_equal(one.more[name], other.more[name])
    return True


@pytest.fixture
def cache(tmp_path):
    return Cache(tmp_path / "data_cache", patience=0.2)


# -- the file -------------------------------------------------------------------------------------------------------------


def test_a_record_comes_back_as_it_was_put(cache):
    cache.put(full())
    assert same(cache.get("RIV01"), full())
    assert same(cache.get("riv01"), full())
    assert cache.ids() == ["RIV01"]


def test_a_record_without_a_day_comes_back_too():
    nothing = np.zeros(0, np.float32)
    empty = Record(
        Station("A1", latitude=1.0, longitude=2.0, elevation=3.0), np.datetime64("1970-01-01"), nothing, nothing
    )
    assert same(unpack(pack(empty)), empty)


@settings(deadline=None, max_examples=25)
@given(st.lists(st.one_of(st.integers(-899, 577), st.none()), min_size=1, max_size=40))
def test_every_tenth_of_a_degree_comes_back_exactly(whole):
    values = np.array([np.nan if one is None else one / 10 for one in whole], np.float32)
    back = unpack(pack(Record(HERE, np.datetime64("2000-02-28"), values, values)))
    np.testing.assert_array_equal(back.tmin, values)


def test_xarray_opens_the_file_by_the_cf_conventions(cache):
    import xarray as xr

    file = cache.put(full())
    with xr.open_dataset(file, engine="h5netcdf") as data:
        np.testing.assert_allclose(data.tmin.values, full().tmin, atol=1e-5)
        np.testing.assert_array_equal(data.time.values.astype("datetime64[D]"), full().time())
        assert (data.tmin.attrs["units"], data.prcp.attrs["units"]) == ("degC", "mm")
        assert data.tmax.attrs["cell_methods"] == "time: maximum"
        assert data.attrs["Conventions"].startswith("CF-1.")
        assert data.attrs["attribution"] == "Nobody, 雪"
        assert data.tmin.encoding["dtype"] == np.int16
        assert float(data.latitude) == pytest.approx(49.9)


def test_the_readers_take_a_kept_file_as_any_other(cache):
    from frostkit.records.readers import read

    back = read(cache.put(full()))
    np.testing.assert_array_equal(back.tmin, full().tmin)
    assert (back.station.name, back.source["attribution"], back.invented) == (HERE.name, "Nobody, 雪", True)


def test_sixty_years_take_little_room():
    assert len(pack(record(days=60 * 365))) < 90_000


def test_a_temperature_that_is_none_is_refused():
    hot = record()
    hot.tmax[5] = 4000
    with pytest.raises(RecordError, match="tmax holds 4000, which is no temperature"):
        pack(hot)


@pytest.mark.parametrize("ident", ["", "../up", "a/b", "a b", ".hidden", "x" * 65])
def test_an_id_that_is_no_file_name_is_refused(cache, ident):
    with pytest.raises(RecordError, match="is not a station id: allowed are letters, digits"):
        cache.put(record(station=Station(ident)))


def test_a_station_that_is_not_kept_is_said_with_the_nearest_id(cache):
    cache.put(record())
    with pytest.raises(
        RecordError, match=r"No record of station 'RIV10' is kept in .* Did you mean 'RIV01'\?\n.*record fetch RIV10"
    ):
        cache.get("RIV10")


# -- where the folder is -----------------------------------------------------------------------------------------------------


def test_the_folder_is_the_named_one_then_the_variable_then_the_nearest_then_the_users(tmp_path, monkeypatch):
    deep = tmp_path / "farm" / "fields" / "north"
    deep.mkdir(parents=True)
    monkeypatch.chdir(deep)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "own"))
    monkeypatch.delenv("FROSTKIT_CACHE", raising=False)
    if sys.platform == "linux":
        assert folder() == tmp_path / "own" / "frostkit" / "data_cache"
    assert where().why == "the cache folder of this user"
    (tmp_path / "data_cache").mkdir()
    assert folder() == tmp_path / "data_cache"
    (tmp_path / "farm" / "data_cache").mkdir()
    assert folder() == tmp_path / "farm" / "data_cache"
    monkeypatch.setenv("FROSTKIT_CACHE", str(tmp_path / "elsewhere"))
    assert where().words() == f"Records are kept in {tmp_path / 'elsewhere'} (named by FROSTKIT_CACHE)."
    assert folder(tmp_path / "asked") == tmp_path / "asked"
    assert not (tmp_path / "elsewhere").exists(), "looking makes no folder"


# -- what is kept, at a glance -------------------------------------------------------------------------------------------------


def test_the_list_tells_span_source_licence_and_checksum(cache):
    cache.put(full())
    (kept,) = cache.listed()
    assert (kept.id, kept.name, kept.first, kept.invented) == ("RIV01", HERE.name, np.datetime64("1990-03-01"), True)
    assert (kept.provider, kept.licence, kept.attribution) == ("Nobody", "CC BY 4.0", "Nobody, 雪")
    assert kept.missing_years == "1994: gone"
    assert kept.days == np.isfinite(full().tmin).sum()
    assert kept.checksum.encode() in kept.path.read_bytes()[-70:]


def test_dropping_takes_the_record_its_hours_and_what_was_set_aside(cache):
    cache.put(record())
    cache.put(record(station=Station("RIV02")))
    cache.update_hours(some_hours())
    (cache.path / "RIV01.damaged-20200101").write_bytes(b"old")
    gone = cache.drop("RIV01")
    assert [kept.path.name for kept in gone] == ["RIV01.nc", "RIV01.damaged-20200101"]
    assert cache.ids() == ["RIV02"]
    assert sorted(path.name for path in cache.path.iterdir() if path.is_file()) == ["RIV02.nc"]
    with pytest.raises(RecordError, match="No record of station 'RIV01' is kept"):
        cache.drop("RIV01")


# -- damaged files ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ruin", ["cut", "flipped", "empty", "foreign", "tail"])
def test_a_damaged_file_is_said_and_set_aside_to_the_byte(cache, ruin, tmp_path):
    file = cache.put(record())
    raw = file.read_bytes()
    if ruin == "foreign":
        with h5netcdf.File(tmp_path / "x.nc", "w") as other:
            other.attrs["title"] = "not ours"
        raw = (tmp_path / "x.nc").read_bytes()
    flipped = bytearray(raw)
    flipped[len(raw) // 2] ^= 0x10
    ruined = {"cut": raw[:-500], "flipped": bytes(flipped), "empty": b"", "foreign": raw, "tail": raw[:-1]}[ruin]
    file.write_bytes(ruined)
    assert cache.listed()[0].problem
    with pytest.raises(
        DamagedError, match=r"RIV01.nc is (cut short|damaged).*set aside as RIV01.damaged-.*\n.*record fetch RIV01"
    ):
        cache.get("RIV01")
    (aside,) = cache.path.glob("*.damaged-*")
    assert aside.read_bytes() == ruined
    assert cache.ids() == []
    assert [kept.problem for kept in cache.listed()] == ["damaged; set aside, not deleted"]


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, 10**9), bit=st.integers(0, 7), cut=st.booleans())
def test_no_single_flipped_bit_and_no_cut_goes_unseen(at, bit, cut):
    raw = bytearray(WHOLE)
    at %= len(raw)
    if cut:
        raw = raw[:at]
    else:
        raw[at] ^= 1 << bit
    with pytest.raises(RecordError, match="the file is (cut short|damaged)"):
        unpack(bytes(raw))


WHOLE = pack(record(days=200))


def test_a_whole_file_of_a_later_format_is_left_alone(cache, monkeypatch):
    monkeypatch.setitem(module.pack.__globals__["FORMATS"], Record, "frostkit record 99")
    cache.put(record())
    monkeypatch.undo()
    with pytest.raises(RecordError, match="is whole, but not a record that this frostkit can read.*record 99"):
        cache.get("RIV01")
    assert cache.ids() == ["RIV01"]


def test_putting_over_a_damaged_file_sets_it_aside_first(cache):
    file = cache.put(record())
    file.write_bytes(b"half")
    cache.put(record(seed=2))
    assert [path.read_bytes() for path in cache.path.glob("*.damaged-*")] == [b"half"]
    assert same(cache.get("RIV01"), record(seed=2))
    file.write_bytes(b"again")
    _, changes = cache.update(record(seed=2))
    assert any("The kept file was damaged: it was set aside as RIV01.damaged-" in words for words in changes.words())


# -- writing fails ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("step", ["fsync", "replace", "chmod"])
def test_a_write_that_fails_at_any_step_leaves_the_old_record(cache, monkeypatch, step):
    cache.put(record())

    def full_disk(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(f"frostkit.records.cache.os.{step}", full_disk)
    with pytest.raises(
        RecordError,
        match=r"RIV01 could not be .*: No space left on device. What was kept there still stands.\nMake room",
    ):
        cache.put(record(seed=2))
    monkeypatch.undo()
    assert same(cache.get("RIV01"), record())
    assert list(cache.path.glob(".*.part")) == []


def test_a_real_limit_on_file_size_loses_nothing(cache):
    """The system itself refuses the write, half-way: as on a full disk or over a quota."""
    cache.put(record())
    big = record(days=20_000, seed=3)
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, before[1]))
    try:
        with pytest.raises(RecordError, match="File too large. What was kept there still stands"):
            cache.put(big)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert same(cache.get("RIV01"), record())
    assert list(cache.path.glob(".*.part")) == []
    cache.put(big)
    assert same(cache.get("RIV01"), big)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_device_that_is_full_loses_nothing(cache, monkeypatch):
    """/dev/full answers every write with ENOSPC, as a full disk does."""
    cache.put(record())
    monkeypatch.setattr("frostkit.records.cache.tempfile.mkstemp",
                        lambda **_: (os.open("/dev/full", os.O_WRONLY), str(cache.path / ".RIV01.gone.part")))  # fmt: skip
    with pytest.raises(RecordError, match="No space left on device. What was kept there still stands"):
        cache.put(record(seed=2))
    assert same(cache.get("RIV01"), record())


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(RecordError, match=r"could not be locked in .*: Not a directory.*\n.*FROSTKIT_CACHE"):
        Cache(tmp_path / "file" / "data_cache").put(record())


def test_leftovers_of_killed_writers_are_swept_those_of_a_writer_at_work_are_not(cache):
    cache.put(record())
    dead, busy = cache.path / ".RIV01.abc.part", cache.path / ".RIV02.abc.part"
    dead.write_bytes(b"half")
    busy.write_bytes(b"half")
    with filelock.FileLock(cache.path / ".locks" / "RIV02.lock"):
        cache.listed()
    assert (dead.exists(), busy.exists()) == (False, True)
    assert cache.sweep() == 1
    assert not busy.exists()


def test_a_station_held_for_long_by_another_is_said(cache):
    cache.put(record())
    with (filelock.FileLock(cache.path / ".locks" / "RIV01.lock"),
          pytest.raises(RecordError, match=r"Another frostkit has held station 'RIV01' for 0 seconds.\nWait")):  # fmt: skip
        cache.put(record(seed=2))
    assert same(cache.get("RIV01"), record())


def test_threads_that_update_at_once_lose_no_day(tmp_path):
    cache = Cache(tmp_path)
    parts = [record(days=30, start=f"19{n}-05-01", seed=n) for n in range(60, 76)]
    threads = [threading.Thread(target=cache.update, args=(part,)) for part in parts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = cache.get("RIV01")
    for part in parts:
        at = int((part.start - kept.start).astype(int))
        np.testing.assert_array_equal(kept.tmax[at : at + 30], part.tmax)


# -- joining new days ------------------------------------------------------------------------------------------------------------

reading = st.one_of(st.none(), st.integers(-300, 300))


@st.composite
def pieces(draw):
    """A short record somewhere around a turn of the year."""
    low = draw(st.lists(reading, min_size=1, max_size=12))
    values = np.array([np.nan if one is None else one / 10 for one in low], np.float32)
    start = np.datetime64("1999-12-25") + draw(st.integers(0, 12))
    more = {"prcp": np.abs(values)} if draw(st.booleans()) else {}
    sign = (
        np.where(np.isnan(values), draw(st.sampled_from([-1, 0, 1])), 0).astype(np.int8)
        if draw(st.booleans())
        else None
    )
    return Record(HERE, start, values, np.round(values + 1, 1), sign=sign, more=more)


def by_day(one, name):
    values = getattr(one, name) if name in ("tmin", "tmax") else one.more.get(name, np.zeros(0))
    return {day: value for day, value in zip(one.time().tolist(), values.tolist(), strict=False) if value == value}


@given(pieces(), pieces())
def test_joining_loses_no_kept_reading_and_adds_every_new_day(old, new):
    out, changes = merge(old, new)
    for name in ("tmin", "tmax", "prcp"):
        was, now, got = by_day(old, name), by_day(new, name), by_day(out, name)
        assert got == now | was, "the kept reading stands, a new one is added where there was none"
        told = {(change.day.item(), change.column) for change in changes.changed}
        assert {day for day, column in told if column == name} == {
            day for day in was.keys() & now.keys() if was[day] != now[day]
        }
    assert changes.added == len(by_day(out, "tmin")) - len(by_day(old, "tmin"))


@given(pieces(), pieces())
def test_joining_again_changes_nothing_more(old, new):
    once, _ = merge(old, new)
    again, changes = merge(once, new)
    assert changes.added == 0
    assert by_day(again, "tmin") == by_day(once, "tmin")


@given(pieces(), pieces())
def test_accepting_takes_the_new_readings_but_never_empties_a_year(old, new):
    out, changes = merge(old, new, accept=True)
    now, got, was = by_day(new, "tmin"), by_day(out, "tmin"), by_day(old, "tmin")
    assert {day: got[day] for day in now} == now
    answered = {day.year for day in now}
    for day, value in was.items():
        if day.year not in answered:
            assert got[day] == value
    assert {c.day.item() for c in changes.withdrawn if c.column == "tmin"} == {
        day for day in was if day.year in answered and day in new.time().tolist() and day not in now
    }


def test_a_year_that_came_at_last_is_no_longer_missing():
    old = record(days=365, start="1990-01-01", source={"missing_years": "1991: the server answered 500; 1992: gone"})
    new = record(
        days=365, start="1991-01-01", source={"missing_years": "1990: the connection dropped", "fetched": "today"}
    )
    out, _ = merge(old, new)
    assert missing_years(out) == {1992: "gone"}


def test_two_stations_are_not_joined():
    with pytest.raises(RecordError, match="of station 'RIV01', the new one of 'RIV02'; they can't be joined"):
        merge(record(), record(station=Station("RIV02")))


def test_repairs_of_both_are_kept_once():
    old, new = record(repairs=(Repair("a", 1), Repair("b", 2))), record(repairs=(Repair("b", 5),))
    assert merge(old, new)[0].repairs == (Repair("a", 1), Repair("b", 5))


# -- hours ----------------------------------------------------------------------------------------------------------------------


def some_hours(start="1990-03-01T00", size=48, value=1.5):
    return Hours(HERE, np.datetime64(start), np.full(size, value, np.float32), {"provider": "Nobody"})


def test_hours_come_back_and_are_joined_without_a_change_to_the_kept_ones(cache):
    cache.update_hours(some_hours())
    cache.update_hours(some_hours("1990-03-02T00", 72, 9.0))
    kept = cache.hours("RIV01")
    assert kept.temp.tolist() == [1.5] * 48 + [9.0] * 48
    assert (kept.start, kept.source["provider"], kept.time()[-1]) == (
        np.datetime64("1990-03-01T00"), "Nobody", np.datetime64("1990-03-04T23"))  # fmt: skip
    assert cache.ids() == [], "hours alone are no daily record"


def test_hours_and_days_are_not_taken_for_each_other():
    with pytest.raises(RecordError, match="'frostkit hours 1' where 'frostkit record 1' is known"):
        unpack(pack(some_hours()))
    with pytest.raises(RecordError, match="'frostkit record 1' where 'frostkit hours 1' is known"):
        unpack_hours(pack(record()))
    assert merge_hours(some_hours(size=2), some_hours(size=3)).temp.size == 3
