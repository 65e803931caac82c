"""A store gives back what was written, or says that it can't: never other numbers."""

import os
import resource
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from frostkit.errors import RecordError
from frostkit.region import store
from frostkit.seasons.calendar import MISSING
from tests.region_cells import holed, kept, made_up, spots


@pytest.fixture
def days():
    return holed(made_up(12, 5))


def test_a_block_comes_back_as_it_was_written(tmp_path, days):
    path = kept(tmp_path / "days.zarr", days)
    for block in range(3):
        at = slice(4 * block, 4 * block + 4)
        got = store.read(path, block)
        assert np.array_equal(got.tmin, days.tmin[at]) and np.array_equal(got.tmax, days.tmax[at])
        assert got.seasons.tolist() == days.seasons.tolist() and got.prcp is None
    back = store.spots_of(path)
    assert back.name.tolist() == spots(12).name.tolist() and np.array_equal(back.latitude, spots(12).latitude)


def test_one_chunk_is_one_block_in_whole_tenths(tmp_path, days):
    path = kept(tmp_path / "days.zarr", days)
    of = store.opened(path, "r")["tmin"]
    assert of.dtype == np.int16 and of.chunks == (4, 5, 365) and of.fill_value == MISSING
    kinds = [type(codec).__name__ for codec in of.metadata.codecs]
    assert kinds[-2:] == ["BloscCodec", "Crc32cCodec"]


def test_a_flipped_byte_is_said_and_no_number_is_given(tmp_path, days):
    path = kept(tmp_path / "days.zarr", days)
    chunk = path / "tmax/c.1.0.0"
    for place in (40, 2000, -3):
        data = bytearray(chunk.read_bytes())
        data[place] ^= 4
        chunk.write_bytes(data)
        with pytest.raises(RecordError, match=r"tmax, block 1: its checksum is wrong; a chunk is damaged"):
            store.read(path, 1)
        data[place] ^= 4
        chunk.write_bytes(data)
    store.read(path, 1)


@pytest.mark.parametrize("left", [b"", b"short", bytes(4000)])
def test_a_file_cut_short_or_of_zeros_is_said(tmp_path, days, left):
    path = kept(tmp_path / "days.zarr", days)
    (path / "tmin/c.2.0.0").write_bytes(left)
    with pytest.raises(RecordError, match="a chunk is damaged"):
        store.read(path, 2)


def test_a_chunk_that_is_gone_does_not_read_as_missing_days(tmp_path, days):
    path = kept(tmp_path / "days.zarr", days)
    (path / "tmin/c.0.0.0").unlink()
    with pytest.raises(RecordError, match="tmin, block 0: its chunk is not there"):
        store.read(path, 0)
    store.read(path, 1)
    (path / "latitude/c.0").unlink()
    with pytest.raises(RecordError, match="latitude: its chunk is not there"):
        store.spots_of(path)


def test_a_block_without_any_reading_is_written_all_the_same(tmp_path):
    empty = np.full((3, 2, 365), MISSING)
    path = tmp_path / "days.zarr"
    store.create(path, spots(3), np.array([2001, 2002]), block=3)
    store.put(path, 0, empty, empty)
    assert (store.read(path, 0).tmin == MISSING).all()


def test_no_room_for_a_block_is_said_and_the_block_is_not_read_as_zeros(tmp_path, days):
    path = kept(tmp_path / "days.zarr", days)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    (path / "tmin/c.1.0.0").unlink()
    pid = os.fork()
    if pid == 0:  # a limit can't be taken back: in a process of its own
        import signal

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (2000, before[1]))
        try:
            store.put(path, 1, days.tmin[4:8], days.tmax[4:8])
        except RecordError as fault:
            os._exit(7 if "can't be written: File too large" in fault.what else 8)
        os._exit(9)
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 7
    with pytest.raises(RecordError, match="tmin, block 1"):
        store.read(path, 1)


def test_an_old_consolidated_listing_hides_nothing(tmp_path, days):
    import zarr

    path = kept(tmp_path / "days.zarr", days)
    with pytest.warns(zarr.errors.ZarrUserWarning, match="Consolidated metadata"):
        zarr.consolidate_metadata(str(path))
    store.array(store.opened(path), "later", (1,), (1,), "int16", ("one",), 0)
    assert "later" in store.opened(path, "r")


def test_others_may_open_it_in_degrees(tmp_path, days):
    path = kept(tmp_path / "days.zarr", days)
    with xr.open_zarr(path, consolidated=False, chunks=None) as ds:
        got = ds["tmin"].to_numpy()
    want = np.where(days.tmin == MISSING, np.nan, days.tmin / 10)
    assert np.allclose(got, want, equal_nan=True)
    raw = xr.open_zarr(path, consolidated=False, chunks=None, mask_and_scale=False)["tmin"]
    assert raw.dtype == np.int16


@pytest.mark.parametrize("size", [0, 251])
def test_a_block_of_a_size_that_does_not_fit_is_refused(tmp_path, size):
    with pytest.raises(RecordError, match=f"A block of {size} places is outside 1 to 250"):
        store.create(tmp_path / "a.zarr", spots(2), np.array([2001]), block=size)


def test_what_is_no_store_is_said(tmp_path):
    with pytest.raises(RecordError, match="is no store of zarr"):
        store.opened(tmp_path / "nothing.zarr", "r")
    assert not store.is_store(tmp_path) and not store.is_store(Path(__file__))


def test_a_dataset_that_is_held_is_answered_lazily_and_alike(tmp_path, days):
    from frostkit.crops.entry import load
    from frostkit.errors import SettingError
    from frostkit.region import engine, places, results
    from frostkit.region.answer import Question
    from frostkit.region.face import windows

    path = kept(tmp_path / "days.zarr", days)
    question = Question(load("grain-corn-2100"), None, climate="as read")
    engine.run(places.stored(path), question, tmp_path / "out.zarr", workers=0)
    want, _ = results.read(tmp_path / "out.zarr")
    with xr.open_zarr(path, consolidated=False, mask_and_scale=False) as ds:
        found = windows(ds, question)
        assert found["share"].chunks is not None and found["share"].dims == ("place", "crop", "seeding")
        got = found.compute(scheduler="synchronous")
    for name in got.data_vars:
        assert np.array_equal(got[name], want[name], equal_nan=True), name
    with xr.open_zarr(path, consolidated=False) as scaled, pytest.raises(SettingError, match="not whole tenths"):
        windows(scaled, question)
