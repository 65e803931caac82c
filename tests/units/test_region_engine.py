"""Blocks over workers: what fails is said and the run goes on, what was stopped goes on, and no number is wrong.

For real: a scheduler and two worker processes of their own, killed and started again.
"""

import json
import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from distributed import Client

from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ
from frostkit.errors import SettingError
from frostkit.region import engine, places, results
from frostkit.region.answer import Question
from tests.region_cells import holed, kept, made_up

QUESTION = Question(load("grain-corn-2100"), None, climate=AS_READ)
OTHER = Question(load("grain-corn-2300"), None, climate=AS_READ)
PLACES, BLOCK = 40, 4
REPOSITORY = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def days():
    whole = made_up(PLACES, 6)
    some = holed(made_up(PLACES, 6))
    for cells in (whole.tmin, whole.tmax):  # block 1 has cells with holes, block 9 one that was never read
        name = "tmin" if cells is whole.tmin else "tmax"
        cells[5:7], cells[39] = getattr(some, name)[5:7], getattr(some, name)[39]
    return whole


@pytest.fixture
def grid(tmp_path, days):
    return places.stored(kept(tmp_path / "days.zarr", days, BLOCK))


@pytest.fixture(scope="module")
def truth(tmp_path_factory, days):
    """Every answer, worked out in one process without a fault."""
    folder = tmp_path_factory.mktemp("truth")
    source = places.stored(kept(folder / "days.zarr", days, BLOCK))
    ran = engine.run(source, QUESTION, folder / "out.zarr", workers=0)
    assert ran == engine.Run(10, 10, 0, {})
    return results.read(folder / "out.zarr")[0]


def same(got, truth, blocks=range(PLACES // BLOCK)) -> None:
    """These blocks as in the truth; the others holes, with a note and nothing else."""
    for number in range(PLACES // BLOCK):
        at = {"place": slice(number * BLOCK, (number + 1) * BLOCK)}
        if number in blocks:
            assert got.isel(at).drop_attrs().equals(truth.isel(at).drop_attrs()), number
        else:
            assert (got.isel(at)["seasons"] == 0).all() and got.isel(at)["share"].isnull().all()
            assert got.isel(at)["window_from"].isnull().all() and (got.isel(at)["note"] != "").all()


def test_a_flipped_byte_and_a_lost_chunk_leave_holes_with_their_reason_and_the_run_goes_on(tmp_path, grid, truth):
    low = Path(grid.path) / "tmin/c.2.0.0"
    data = bytearray(low.read_bytes())
    data[100] ^= 1
    low.write_bytes(data)
    (Path(grid.path) / "tmax/c.5.0.0").unlink()
    out = tmp_path / "out.zarr"
    ran = engine.run(grid, QUESTION, out, workers=0)
    assert (ran.blocks, ran.answered) == (10, 8) and sorted(ran.faults) == [2, 5]
    assert "its checksum is wrong" in ran.faults[2] and "its chunk is not there" in ran.faults[5]
    got, faults = results.read(out)
    assert sorted(faults) == [2, 5]
    same(got, truth, set(range(10)) - {2, 5})
    data[100] ^= 1
    low.write_bytes(data)
    again = engine.run(grid, QUESTION, out, workers=0)
    assert (again.before, again.answered, sorted(again.faults)) == (8, 1, [5])
    same(results.read(out)[0], truth, set(range(10)) - {5})


def test_answers_that_were_damaged_on_disk_are_holes(tmp_path, grid, truth):
    out = tmp_path / "out.zarr"
    engine.run(grid, QUESTION, out, workers=0)
    share = out / "share/c.3.0.0"
    data = bytearray(share.read_bytes())
    data[30] ^= 1
    share.write_bytes(data)
    (out / "yes/c.7.0.0").unlink()
    got, faults = results.read(out)
    assert "checksum" in faults[3] and "its chunk is not there" in faults[7]
    same(got, truth, set(range(10)) - {3, 7})


def test_a_full_disk_is_said_and_what_was_written_before_it_stands(tmp_path, grid, truth):
    """In a process whose files may have so many bytes: a chunk of shares does not fit, as on a disk without room."""
    out, told = tmp_path / "out.zarr", tmp_path / "told.json"
    pid = os.fork()
    if pid == 0:  # a limit can't be taken back: in a process of its own
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        most = resource.getrlimit(resource.RLIMIT_FSIZE)[1]

        def after(done, total, what):
            if done == 4:
                resource.setrlimit(resource.RLIMIT_FSIZE, (150, most))

        ran = engine.run(grid, QUESTION, out, workers=0, progress=after)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        told.write_text(json.dumps([ran.answered, ran.faults]))
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
    answered, faults = json.loads(told.read_text())
    assert answered == 4 and sorted(map(int, faults)) == [4, 5, 6, 7, 8, 9]
    assert all("File too large" in reason for reason in faults.values())
    same(results.read(out)[0], truth, range(4))
    assert engine.run(grid, QUESTION, out, workers=0).answered == 6
    same(results.read(out)[0], truth)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can mount a small disk")
def test_a_disk_that_is_full_for_real_is_said(tmp_path, grid, truth):
    disk = tmp_path / "disk"
    disk.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=700k", "tmpfs", str(disk)], capture_output=True).returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        ran = engine.run(grid, QUESTION, disk / "out.zarr", workers=0)
        assert ran.answered < 10 and all("No space left" in reason for reason in ran.faults.values())
        same(results.read(disk / "out.zarr")[0], truth, set(range(10)) - set(ran.faults))
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_another_question_is_not_mixed_into_answers_that_stand_there(tmp_path, grid):
    out = tmp_path / "out.zarr"
    engine.run(grid, QUESTION, out, workers=0)
    with pytest.raises(SettingError, match="holds answers to another question"):
        engine.run(grid, OTHER, out, workers=0)
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "file").touch()
    with pytest.raises(SettingError, match="holds no answers of a region"):
        engine.run(grid, QUESTION, tmp_path / "other", workers=0)


def test_a_scheduler_that_does_not_answer_is_said(tmp_path, grid, monkeypatch):
    monkeypatch.setattr(engine, "PATIENCE", 0.5)
    with pytest.raises(SettingError, match="No scheduler answers at 'tcp://127.0.0.1:9'"):
        engine.run(grid, QUESTION, tmp_path / "out.zarr", scheduler="tcp://127.0.0.1:9")


# --- a scheduler and workers in processes of their own ------------------------------------------------------------


def _env() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(REPOSITORY), "PYTHONWARNINGS": "ignore"}


class Cluster:
    """A scheduler and workers, each a process of its own, ended by their ids alone."""

    def __init__(self, folder: Path):
        self.folder, self.workers = folder, []
        self.file = folder / "scheduler.json"
        self.scheduler = self._started("distributed.cli.dask_scheduler", "--port", "0", "--scheduler-file", self.file,
                                       "--no-dashboard", "--host", "127.0.0.1")  # fmt: skip
        self.address = self._told()

    def _started(self, module, *arguments):
        return subprocess.Popen(
            [sys.executable, "-m", module, *map(str, arguments)],
            cwd=self.folder,
            env=_env(),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def _told(self) -> str:
        for _ in range(600):
            try:
                return json.loads(self.file.read_text())["address"]
            except (FileNotFoundError, ValueError):
                time.sleep(0.05)
        raise AssertionError("the scheduler did not start")

    def worker(self) -> subprocess.Popen:
        one = self._started("distributed.cli.dask_worker", self.address, "--nthreads", "1", "--no-nanny",
                            "--no-dashboard", "--host", "127.0.0.1")  # fmt: skip
        self.workers.append(one)
        return one

    def end(self) -> None:
        for one in [*self.workers, self.scheduler]:
            if one.poll() is None:
                one.kill()
            one.wait()


@pytest.fixture
def cluster(tmp_path):
    one = Cluster(tmp_path)
    one.worker()
    one.worker()
    yield one
    one.end()


DRIVER = """
from pathlib import Path
from frostkit.crops.entry import load
from frostkit.region import engine, places
from frostkit.region.answer import Question

engine.run(
    places.stored({grid!r}),
    Question(load("grain-corn-2100"), None, climate="as read"),
    {out!r},
    scheduler={address!r},
    progress=lambda done, total, what: print(done, flush=True),
)
"""


@pytest.mark.slow
def test_workers_and_driver_killed_in_the_middle_cost_no_answer(tmp_path, grid, truth, cluster):
    gone = []

    def after(done, total, what):
        if done >= 2 and not gone:
            gone.append(cluster.workers[0])
            os.kill(cluster.workers[0].pid, signal.SIGKILL)

    with Client(cluster.address, timeout=60) as client:
        client.wait_for_workers(2, timeout=120)
    ran = engine.run(grid, QUESTION, tmp_path / "one.zarr", scheduler=cluster.address, progress=after)
    assert gone and (ran.answered, ran.faults) == (10, {})
    same(results.read(tmp_path / "one.zarr")[0], truth)

    out = tmp_path / "out.zarr"
    code = DRIVER.format(grid=str(grid.path), out=str(out), address=cluster.address)
    driver = subprocess.Popen([sys.executable, "-c", code], env=_env(), stdout=subprocess.PIPE, text=True)
    assert driver.stdout is not None
    for line in driver.stdout:
        if int(line) >= 2:
            break
    for process in (driver, *cluster.workers):  # at once, in the middle of what they do
        process.kill()
        process.wait()
    driver.stdout.close()
    left = results.undone(out)
    assert len(left) <= 8
    same(results.read(out)[0], truth, set(range(10)) - set(left))
    cluster.worker()
    with Client(cluster.address, timeout=60) as client:
        client.wait_for_workers(1, timeout=120)
    ran = engine.run(grid, QUESTION, out, scheduler=cluster.address)
    assert (ran.before, ran.answered, ran.faults) == (10 - len(left), len(left), {})
    same(results.read(out)[0], truth)


def test_a_block_that_kills_every_worker_is_given_up_and_said():
    class Lost:
        status, key = "error", "a"

        def exception(self):
            return type("KilledWorker", (Exception,), {})("a")

    assert engine._lost(Lost()) == "every worker that was given it died"


@pytest.mark.slow
def test_reading_in_local_workers_is_not_slowed_by_giving_memory_back(tmp_path, grid, truth):
    ran = engine.run(grid, QUESTION, tmp_path / "out.zarr", workers=2)
    assert ran.answered == 10
    same(results.read(tmp_path / "out.zarr")[0], truth)
    with engine._client(None, 1, None) as client:
        [trim] = client.run(lambda: os.environ["MALLOC_TRIM_THRESHOLD_"]).values()
    assert int(trim) == engine.TRIM
