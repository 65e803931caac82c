"""How fast a region is answered, in ratios to reading it; run by hand, on a quiet machine.

    python tests/bench/bench_region.py [cells] [seasons]

One run: reading the store by threads is the unit. Corn, legume and both, 92 seeding days, no draws: by heat goals (a
clock, an emergence, a goal, a cold that kills), and by the library's own entries with core and fringe; the general path (growth on light) and today's climate apart, on fewer cells. The load stands at the top and at the end.
"""

import os
import resource
import shutil
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import dask
import numpy as np
import zarr
from distributed import Client, LocalCluster

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from frostkit.answers.plans import plan
from frostkit.answers.seeding.grids import corn_plan
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, TODAY
from frostkit.region import engine, kernel, places, store
from frostkit.region.answer import Question, _anywhere, of_block, of_whole
from frostkit.region.engine import TRIM
from frostkit.seasons.windows import made_it_many
from tests.region_cells import made_up, spots

BLOCK = 125
CORN, LEGUME = load("silage-2300"), load("forage-late")


def by_heat(entry, goal: str, degree_days: float):
    """An entry whose every stage goes by one clock from sowing on, with one cold that kills: a heat goal, no more."""
    stage = entry.stage["emergence"]
    kills = stage.kills.model_copy(update={"value": -2.2})
    clock = LEGUME.clock["growth"]

    def needs(value: float):
        return stage.need.model_copy(update={"value": value, "unit": "degree days C"})

    stages = {
        "emergence": stage.model_copy(update={"clock": "growth", "need": needs(65.0), "kills": kills}),
        goal: stage.model_copy(update={"clock": "growth", "need": needs(degree_days), "kills": None}),
    }
    return entry.model_copy(update={"clock": {"growth": clock}, "stage": stages, "goal": goal, "collars": None})


HEAT = Question(by_heat(load("grain-corn-2100"), "ripe", 1050.0), by_heat(LEGUME, "worth", 850.0),
                climate=AS_READ, apart=True)  # fmt: skip
PLAIN = Question(CORN, LEGUME, climate=AS_READ, apart=True)


def said(what: str, value: float, unit: str = "") -> None:
    print(f"{what:<72} {value:9.3f} {unit}", flush=True)


def best(work, times: int = 3) -> float:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return min(took)


def stored(path: Path, cells: int, seasons: int) -> places.Stored:
    """A store of made-up cells: one block's weather, moved a little from block to block."""
    days = made_up(BLOCK, seasons)
    store.create(path, spots(cells), days.seasons, block=BLOCK)
    for number in range(cells // BLOCK):
        move = np.int16(number % 17 - 8)
        store.put(path, number, days.tmin + move, days.tmax + move)
    return places.stored(path)


def by_threads(read, source: places.Stored, threads: int = 2) -> float:
    """Seconds to read every block and drop it. read : of a block's number"""
    start = time.perf_counter()
    with ThreadPoolExecutor(threads) as pool:
        for days in pool.map(read, range(places.blocks(source))):
            del days
    return time.perf_counter() - start


def by_zarr(source: places.Stored):
    """A block read as zarr reads it."""
    group = zarr.open_group(source.path, mode="r", use_consolidated=False)

    def read(number: int):
        at = slice(number * source.block, (number + 1) * source.block)
        return group["tmin"][at], group["tmax"][at]

    return read


def run(source: places.Stored, question: Question, out: Path, **how) -> float:
    shutil.rmtree(out, ignore_errors=True)
    start = time.perf_counter()
    ran = engine.run(source, question, out, **how)
    took = time.perf_counter() - start
    assert not ran.faults, ran.faults
    return took


def kernels(seasons: int) -> None:
    """A block's answer against float32 sums over both of its temperatures."""
    days = made_up(BLOCK, seasons)
    both = np.stack([days.tmin, days.tmax]).astype(np.float32)
    one = best(lambda: both.sum(), 20)
    rows = BLOCK * seasons
    said("float32 sum of both temperatures of a block", one * 1e6 / rows, "us a season")
    low, high = days.tmin.reshape(rows, -1), days.tmax.reshape(rows, -1)
    for name, question in (("heat goals", HEAT), ("the library's own", PLAIN)):
        asked = question.asked(_anywhere(), question.corn, question.legume, "bunker")
        plans = [corn_plan(asked), plan(question.legume, 50.0)]
        said(f"{name}: numpy, made it", best(lambda p=plans, a=asked: made_it_many(low, high, p, a.days)) / one, "sums")
        of = kernel.compiled(asked, (0.0,), False)
        bare = of.soil.copy()
        bare[:] = 0, 0, 0, 0, 0, 1
        for what, how in (("made it", of._replace(soil=bare)), ("soil, made it and plan", of)):
            kernel.counts(how, days.tmin, days.tmax)
            took = best(lambda how=how: kernel.counts(how, days.tmin, days.tmax), 7)
            said(f"{name}: compiled, {what}", took / one, "sums")
        said(f"{name}: the whole answer", best(lambda q=question, a=asked: of_whole(days, a, q)) / one, "sums")
        said(f"{name}: the whole answer, numpy alone",
             best(lambda q=question, a=asked: of_whole(days, a, q, compiled=False)) / one, "sums")  # fmt: skip


def end_to_end(every: places.Stored, small: places.Stored, room: Path, reading: float) -> None:
    """Read, answered and written, on two threads and on two processes, against reading alone."""
    kinds = (("heat goals", HEAT), ("the library's own", PLAIN))
    with (
        LocalCluster(n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None) as at,
        Client(at) as of,
    ):
        for name, question in kinds:
            run(small, question, room / "warm.zarr", client=of)
            part = min(run(small, question, room / "a.zarr", client=of) for _ in range(2))
            whole = min(run(every, question, room / "b.zarr", client=of) for _ in range(2))
            slope = np.log(whole / part) / np.log(every.count / small.count)
            said(f"{name}: end to end on two threads / reading", whole / reading)
            said(f"{name}: slope of time from {small.count} to {every.count} cells", slope)
    with (
        dask.config.set({"distributed.nanny.pre-spawn-environ.MALLOC_TRIM_THRESHOLD_": TRIM}),
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as at,
        Client(at) as of,
    ):
        for name, question in kinds:
            run(small, question, room / "warm.zarr", client=of)
            whole = min(run(every, question, room / "c.zarr", client=of) for _ in range(2))
            said(f"{name}: end to end on two processes / reading", whole / reading)
        peak = max(of.run(lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss).values())
    said("peak of a worker", peak / 1024**2, "GiB")


def main(cells: int, seasons: int) -> None:
    print(f"load {os.getloadavg()}, {os.cpu_count()} cores, {cells} cells x {seasons} seasons")
    kernels(seasons)
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder)
        every = stored(room / "days.zarr", cells, seasons)
        size = sum(file.stat().st_size for file in (room / "days.zarr").rglob("*") if file.is_file())
        said("stored", size / 1e9, "GB")
        small = places.Stored(every.path, cells // 8 // BLOCK * BLOCK, BLOCK)
        own = min(by_threads(lambda number: store.read(every.path, number), every) for _ in range(2))
        reading = min(by_threads(by_zarr(every), every) for _ in range(2))
        said("reading by two threads, by zarr: the unit", reading, "s")
        said("reading by two threads, as frostkit reads / the unit", own / reading)
        end_to_end(every, small, room, reading)
        few = Question(CORN, LEGUME, climate=AS_READ)
        block = every.read(0, AS_READ, None)
        read = best(lambda: store.read(every.path, 0))
        start = time.perf_counter()
        of_block(block, few)
        said("one block, general path (growth on light) / reading it", (time.perf_counter() - start) / read)
        today = every.read(0, TODAY, None)
        some = type(today)(today.places[:5])
        start = time.perf_counter()
        of_block(some, Question(CORN, LEGUME, climate=TODAY, apart=True))
        said("a place in today's climate, with its interval", (time.perf_counter() - start) / 5, "s")
    print(f"load {os.getloadavg()}")


if __name__ == "__main__":
    main(*(int(one) for one in (sys.argv[1:] or (100_000, 75))))
