"""No input takes the machine: pipes, devices, bombs and damaged files are refused in two lines, in seconds, and in
bounded memory, through whichever door they come."""

import errno
import gzip
import os
import re
import stat
import subprocess
import sys
import time
import tracemalloc

import h5py
import numpy as np
import pytest
import xarray as xr

from frostkit.errors import CropError, RecordError, SettingError
from frostkit.opening import LARGEST, contents, there, toml
from frostkit.records import netcdf
from frostkit.records.cache import Cache
from frostkit.records.gates import passed
from frostkit.records.readers import read
from frostkit.records.record import Record, Station
from frostkit.show.cli import main

pytestmark = pytest.mark.skipif(os.name != "posix", reason="pipes, devices and sparse files as POSIX has them")
SECONDS, MEMORY = 10, 1_000_000_000  # of the issue: within 10 seconds and 1 GB
BUSY = 6  # times slower that a machine may be that does other things too


def pipe(folder):
    os.mkfifo(folder / "pipe")
    return folder / "pipe"


def device(folder):
    (folder / "zero").symlink_to("/dev/zero")
    return folder / "zero"


def sparse(folder):
    with (folder / "sparse").open("wb") as file:
        file.truncate(10_000_000_000)
    return folder / "sparse"


def bomb(folder):
    """A gzip of 400 MB in some hundred kB: members one after the other are one file (RFC 1952, 2.2)."""
    member = gzip.compress(b"2001-05-01,1.5,12.5\n" * 50_000, compresslevel=6)
    (folder / "bomb").write_bytes(400 * member)
    assert 300_000 < (folder / "bomb").stat().st_size < 2_000_000
    return folder / "bomb"


def folder(folder):
    (folder / "inside").mkdir()
    return folder / "inside"


SAYS = {
    pipe: "is a named pipe, where a file is wanted",
    device: "is a device, where a file is wanted",
    sparse: r"has 10,000 MB; frostkit reads up to (50|0\.1) MB",
    bomb: r"unpacks to more than 50 MB|has \d\.?\d* MB; frostkit reads up to 0\.1 MB",
    folder: "is a folder, where a file is wanted|is a folder without files|is a directory",
}


@pytest.fixture(params=SAYS, ids=lambda kind: kind.__name__)
def trap(request, tmp_path):
    """A file that would take all memory or for ever, and what is said of it."""
    return request.param(tmp_path), SAYS[request.param]


DOORS = {
    "record": lambda path: ("window", path),
    "neighbour": lambda path: ("record", "check", "--neighbour", path),
    "logger": lambda path: ("window", "--logger", path),
    "forecast": lambda path: ("chop", "--today", "2025-08-25", "--seeding", "05-22", "--forecast", path),
    "fields": lambda path: ("fields", "--fields", path),
    "farm": lambda path: ("--farm", path, "window"),
    "crop": lambda path: ("window", "--corn", path),
    "own crop": lambda path: ("crops", "check", path),
}


@pytest.mark.parametrize("door", DOORS)
def test_what_is_no_file_or_too_large_is_refused_at_every_door(trap, door, tmp_path, capsys):
    path, says = trap
    if "crop" in door:  # an entry of one's own is known by its ending
        (tmp_path / "own.toml").symlink_to(path)
        path = tmp_path / "own.toml"
    before = time.monotonic()
    code = main([str(word) for word in DOORS[door](path)])
    out, err = capsys.readouterr()
    assert time.monotonic() - before < SECONDS * BUSY
    assert code == 2
    assert "Traceback" not in err
    found = err + out if door == "own crop" else err
    assert re.search(f"{says}|There is no file" if door == "own crop" else says, found), found


def test_a_trap_costs_neither_time_nor_memory(trap):
    """In a process of its own, whose memory and work the system counts."""
    path, _ = trap
    status, work, memory, said = counted("record", str(path))
    assert os.waitstatus_to_exitcode(status) == 2, said
    assert work < SECONDS
    assert memory < MEMORY


def counted(*arguments):
    """A command in a process of its own: status, seconds of work and bytes of memory of it and its own, what it said."""
    code = "import sys; from frostkit.show.cli import main; sys.exit(main(sys.argv[1:]))"
    run = subprocess.Popen([sys.executable, "-c", code, *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    said = run.stderr.read().decode()
    run.stderr.close()
    _, status, used = os.wait4(run.pid, 0)
    run.returncode = 0
    return status, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024, said


def test_a_folder_is_bounded_in_its_files_and_in_all_that_is_in_them(tmp_path, monkeypatch):
    rng = np.random.default_rng(6)
    for month in range(3):
        lows = rng.uniform(-3, 3, 30)
        rows = "".join(f"2001-0{month + 4}-{day:02d},{low:.1f},{low + 12:.1f}\n" for day, low in enumerate(lows, 1))
        (tmp_path / f"{month}.csv").write_text("date,tmin_C,tmax_C\n" + rows)
    assert read(tmp_path).tmin.size == 91
    monkeypatch.setattr("frostkit.records.readers.LARGEST", 1200)
    with pytest.raises(RecordError, match="1.csv has .* MB; frostkit reads up to .* MB.\nGive one station's days"):
        read(tmp_path)
    monkeypatch.setattr("frostkit.records.readers.MOST_FILES", 2)
    with pytest.raises(RecordError, match="holds more than 2 files"):
        read(tmp_path)


def test_a_pipe_among_the_files_of_a_folder_is_passed_over(tmp_path):
    pipe(tmp_path)
    (tmp_path / "a.csv").write_text("date,tmin_C,tmax_C\n2001-05-01,1.5,12.5\n")
    assert read(tmp_path).tmin.size == 1


@pytest.mark.parametrize("path", ["x" * 5000, "a\0b", "no/such/file", "/proc/kmsg"])
def test_a_path_that_can_not_be_is_refused_in_words(path):
    with pytest.raises(RecordError, match="can't be read: "):
        contents(path, "Give a file.")
    assert there(path) is (path == "/proc/kmsg" and os.path.exists(path))


def test_gzip_of_many_pieces_is_read_and_of_endless_pieces_refused(tmp_path):
    path = tmp_path / "pieces"
    path.write_bytes(b"".join(gzip.compress(b"%d\n" % i) for i in range(900)) + b"\0" * 700_000)
    assert contents(path, "").split() == [b"%d" % i for i in range(900)]
    path.write_bytes(gzip.compress(b"") * 100_000)
    with pytest.raises(RecordError, match="is glued together of more than 1000 gzip files"):
        contents(path, "Give one.")


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 1500,
        "a = " + "[" * 900 + "]" * 900,
        "a" + ".a" * 900 + " = 1",
        "a" + ".a" * 20 + " = 1",
        "a = " + "9" * 1900 + "\n" + "b = " + "9" * 9000,
        "a = '" + "x" * 200_000 + "'",
        "a = 1\n" * 3,
        "a = \x00",
        "\ufeffa = 1",
    ],
)
def test_toml_made_to_break_a_parser_is_refused_in_words(tmp_path, text):
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    for error in (SettingError, CropError):
        with pytest.raises(error, match=r"own\.toml(, line \d+:| can't be read: | has ).*\.\nGive another"):
            toml(path, "Give another.", error)


def test_a_kept_record_that_is_no_file_is_said(tmp_path):
    cache = Cache(tmp_path)
    cache.put(Record(Station("RIV01"), np.datetime64("2001-01-01"), np.float32([1]), np.float32([2])))
    (tmp_path / "RIV01.nc").unlink()
    os.mkfifo(tmp_path / "RIV01.nc")
    with pytest.raises(RecordError, match=f"could not be read in .*: {os.strerror(errno.EINVAL)}"):
        cache.get("RIV01")
    assert "can't be read" in cache.listed()[0].problem
    assert stat.S_ISFIFO((tmp_path / "RIV01.nc").stat().st_mode), "left as it was"


# -- memory of what is read ----------------------------------------------------------------------------------------


def rows(stations):
    """A file of many stations' days, one row a day."""
    days = np.arange("1990-01-01", "2020-01-01", dtype="datetime64[D]").astype(str)
    low = [f"{value:.1f}" for value in np.random.default_rng(3).uniform(-9, 9, days.size)]
    body = [
        f"{day},{a},{float(a) + 11:.1f},S{at}\n" for at in range(stations) for day, a in zip(days, low, strict=True)
    ]
    return "date,tmin_C,tmax_C,station\n" + "".join(body)


@pytest.mark.parametrize("ragged", [False, True], ids=["by whole arrays", "by the csv reader"])
def test_to_read_a_file_takes_less_than_ten_times_its_size(tmp_path, ragged):
    path = tmp_path / "many.csv"
    text = rows(8)
    path.write_text(text.replace("1990-01-01,", '"1990-01-01",', 1) if ragged else text)
    tracemalloc.start()
    record = read(path, station="S7")
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert record.tmin.size == 10957
    assert most < 10 * path.stat().st_size


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("date,tmin_C,tmax_C\n" + "\n" * 1_100_000 + "2001-05-01,1,2\n", "has more than 1,000,000 lines"),
        ("date,tmin_C,tmax_C," + "a," * 30_000 + "\n1\n", "line 1: the header has 60,019 characters"),
        ("date,tmin_C,tmax_C\n" + "1" * 3_000_000, "line 2: field larger than field limit"),
        ('date,tmin_C,tmax_C\n"' + "1\n" * 300_000, "quotation mark left open"),
    ],
    ids=["lines", "header", "cell", "quotation"],
)
def test_text_that_is_no_station_s_days_is_refused_before_it_costs_much(tmp_path, text, says):
    path = tmp_path / "odd.csv"
    path.write_text(text)
    tracemalloc.start()
    with pytest.raises(RecordError, match=says):
        read(path)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 10 * path.stat().st_size + 1_000_000


# -- NetCDF, in a process of its own -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """The bytes of a small NetCDF file."""
    days = np.arange("2001-04-21", "2001-06-05", dtype="datetime64[D]").astype("datetime64[ns]")
    low = [round(-4 + 0.7 * (i % 13) + 0.1 * (i % 4), 1) for i in range(45)]
    high = [round(9 + 0.9 * (i % 11) + 0.1 * (i % 3), 1) for i in range(45)]
    ds = xr.Dataset(
        {"tmin": ("time", low, {"units": "degC"}), "tmax": ("time", high, {"units": "degC"})}, {"time": days}
    )
    path = tmp_path_factory.mktemp("small") / "small.nc"
    ds.to_netcdf(path, engine="h5netcdf")
    return path.read_bytes()


def two_bytes(at, values):
    """The same file with two bytes changed; such as these sent the reader round for ever when they were found."""

    def damage(whole, path):
        raw = bytearray(whole)
        for place, value in zip(at, values, strict=True):
            raw[place] = value
        path.write_bytes(raw)

    return damage


def boundless(whole, path):
    """A file of a few kB that says to hold 80 GB."""
    with h5py.File(path, "w") as file:
        time_axis = file.create_dataset("time", (10**10,), "i4", chunks=(10**6,))
        time_axis.make_scale("time")
        time_axis.attrs["units"] = "days since 1970-01-01"
        for name in ("tmin", "tmax"):
            column = file.create_dataset(name, (10**10,), "f8", chunks=(10**6,))
            column.dims[0].attach_scale(time_axis)
            column.attrs["units"] = "degC"
    assert path.stat().st_size < 100_000


DAMAGES = {
    "two bytes, one": two_bytes((2144, 2030), (173, 248)),
    "two bytes, two": two_bytes((2097, 8631), (8, 117)),
    "two bytes, three": two_bytes((2264, 6186), (167, 125)),
    "cut in the middle": lambda whole, path: path.write_bytes(whole[: len(whole) // 2]),
    "boundless": boundless,
}


LIKE_THE_FIRST = ("two bytes, two", "two bytes, three")  # each goes round until its six seconds are over


@pytest.mark.parametrize(
    "damage", [pytest.param(one, marks=pytest.mark.slow if one in LIKE_THE_FIRST else ()) for one in DAMAGES]
)
def test_a_damaged_netcdf_file_is_refused_in_seconds_and_in_bounded_memory(small, tmp_path, damage):
    path = tmp_path / "damaged.nc"
    DAMAGES[damage](small, path)
    status, work, memory, said = counted("record", str(path))
    assert os.waitstatus_to_exitcode(status) == 2, said
    assert len(said.strip().splitlines()) == 2
    assert "damaged.nc can't be read as NetCDF" in said
    assert work < SECONDS
    assert memory < MEMORY


def test_a_whole_netcdf_file_is_read_there_and_gzipped_too(small, tmp_path):
    for name, data in (("whole.nc", small), ("whole.nc.gz", gzip.compress(small))):
        (tmp_path / name).write_bytes(data)
        assert read(tmp_path / name).tmin.size == 45


@pytest.mark.parametrize(
    ("does", "ends"),
    [
        ("while True: pass", -24),  # SIGXCPU
        ("import numpy; numpy.ones(500_000_000)", 1),  # 4 GB: MemoryError
        ("with open('more', 'w') as file: file.write('x')", 1),  # a reader has nothing to write
    ],
)
def test_the_limits_hold_in_that_process(tmp_path, does, ends):
    code = f"from frostkit.records.netcdf_apart import limited; limited(1, 500_000_000)\n{does}"
    run = subprocess.run([sys.executable, "-c", code], stderr=subprocess.DEVNULL, cwd=tmp_path, timeout=60, check=False)
    assert run.returncode == ends


def test_a_reader_that_is_stopped_or_breaks_is_said(tmp_path, small, monkeypatch):
    path = tmp_path / "record.nc"
    path.write_bytes(small)
    for status, says in ((-24, "it took more than 6 seconds of work"), (-11, "it breaks the reader")):
        ended = subprocess.CompletedProcess([], status, b"", b"")
        monkeypatch.setattr(netcdf.subprocess, "run", lambda *_, ended=ended, **__: ended)
        with pytest.raises(RecordError, match=f"record.nc can't be read as NetCDF: {says}.\nThe file is damaged"):
            read(path)


def test_a_sealed_file_is_proved_before_it_is_read(tmp_path):
    """A kept record named by its path: a byte changed anywhere is found by its checksum."""
    values = np.round(np.random.default_rng(4).uniform(-5, 5, 400), 1).astype(np.float32)
    cache = Cache(tmp_path)
    file = cache.put(passed(Record(Station("RIV01"), np.datetime64("2001-01-01"), values, values + 15)))
    assert not any("no checksum" in repair.what for repair in read(file).repairs)
    raw = bytearray(file.read_bytes())
    raw[len(raw) // 2] ^= 1
    file.write_bytes(raw)
    with pytest.raises(RecordError, match="RIV01.nc is damaged: its checksum is"):
        read(file)


def test_a_netcdf_file_beyond_its_limit_is_refused_unread(tmp_path, small):
    path = tmp_path / "large.nc"
    path.write_bytes(small)
    with path.open("r+b") as file:
        file.truncate(netcdf.LARGEST + 1)
    with pytest.raises(RecordError, match="large.nc has 400 MB; of NetCDF frostkit reads up to 400 MB"):
        read(path)
    assert netcdf.LARGEST > LARGEST
