"""Blocks to workers and back: futures of dask.distributed, on this machine or on a cluster that runs already.

Each worker reads its block, answers it, and writes the answer and then the block's flag; only a few words come back. A
block that fails is noted by its number and the reason, and the run goes on.
"""

import logging
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import dask
from distributed import Client, LocalCluster, as_completed

from frostkit.errors import FrostkitError, SettingError
from frostkit.region import results
from frostkit.region.answer import Question, of_block
from frostkit.region.places import Source, Stored
from frostkit.region.store import Spots, spots_of, why

Progress = Callable[[int, int, str], None]
AHEAD = 3  # tasks a worker has waiting: it never stands idle, and a lost worker loses little
TOGETHER = 8  # blocks a task at most, where there are many: handing out a task costs a few milliseconds
PATIENCE = 10.0  # s that a scheduler has to answer
TRIM = 1 << 30  # bytes: glibc gives memory back beyond this; the nanny's own 64 kB makes reading three times as slow


@dataclass(frozen=True)
class Done:
    """What came of a block: its number, places without an answer, and why there is no answer to any of them."""

    block: int
    holes: int = 0
    fault: str = ""


@dataclass(frozen=True)
class Run:
    """What came of a run.

    blocks : of all; answered : in this run; before : in earlier runs; faults : reason by number of the block
    """

    blocks: int
    answered: int
    before: int
    faults: dict[int, str]


def work(source: Source, question: Question, out: str, block: int) -> Done:
    """One block read, answered and written, with its flag last; what goes wrong comes back as words."""
    try:
        answers = of_block(source.read(block, question.climate, question.for_season), question)
        results.put(out, block, answers)
    except FrostkitError as fault:
        return Done(block, fault=fault.what)
    except OSError as fault:  # no room on the disk, say: what was written of the block has no flag
        return Done(block, fault=f"{why(fault)} ({Path(out).name})")
    except MemoryError:
        return Done(block, fault="not enough memory")
    except Exception as fault:
        return Done(block, fault=f"{type(fault).__name__}: {why(fault)}")
    return Done(block, int((answers["counted"] == 0).sum()))


def run(
    source: Source,
    question: Question,
    out: str | Path,
    *,
    scheduler: str | None = None,
    workers: int | None = None,
    client: Client | None = None,
    progress: Progress | None = None,
) -> Run:
    """Every block that is not done yet.

    Parameters
    ----------
    source, question : of what, and what
    out : folder of the answers; a run that was stopped goes on there. On a cluster every worker must see it
    scheduler : address of a running scheduler; left out, workers of this machine
    workers : processes of this machine; 0: none, in this process. Left out: as many as it has cores
    client : a client that stands already, in place of both

    Raises
    ------
    SettingError, RecordError
        For a question that no place can be asked, a place that can't be written, a scheduler that does not answer.
    """
    question.checked()
    out = str(Path(out).resolve())
    if not results.begun(out, source, question):
        results.create(out, source, question, _spots(source))
    waiting = results.undone(out)
    every = results.blocks(source)
    faults: dict[int, str] = {}
    before, answered = every - len(waiting), 0

    def told(done: Done) -> None:
        nonlocal answered
        if done.fault:
            faults[done.block] = done.fault
        else:
            answered += 1
        if progress is not None:
            progress(before + answered + len(faults), every, "blocks of places")

    if not waiting:
        return Run(every, 0, before, {})
    if client is None and scheduler is None and (workers == 0 or len(waiting) == 1):
        for block in waiting:
            told(work(source, question, out, block))
    else:
        with _client(scheduler, workers, client) as at:
            for done in _spread(at, source, question, out, waiting):
                told(done)
    return Run(every, answered, before, dict(sorted(faults.items())))


def _spots(source: Source) -> Spots | None:
    return spots_of(source.path) if isinstance(source, Stored) else None


def _spread(client: Client, source: Source, question: Question, out: str, waiting: list[int]) -> Iterator[Done]:
    """Blocks handed out a few at a time, and what came of them as it comes."""
    shared = client.scatter([(source, question)], broadcast=True, hash=False)[0]
    room = max(sum(client.nthreads().values()), 1) * AHEAD
    size = max(1, min(TOGETHER, len(waiting) // (room * TOGETHER)))  # one by one where there are few
    groups = [waiting[start : start + size] for start in range(0, len(waiting), size)]
    left = iter(groups)
    blocks_of: dict[Any, list[int]] = {}

    def some(count: int) -> list[Any]:
        out_of = [client.submit(_shared_work, shared, out, group, pure=False) for group in islice(left, count)]
        blocks_of.update(zip((future.key for future in out_of), groups[len(blocks_of) :], strict=False))
        return out_of

    going = as_completed(some(room))
    for future in going:
        if future.status == "finished":
            yield from future.result()
        else:
            undone, fault = set(results.undone(out)), _lost(future)
            yield from (Done(block, fault=fault if block in undone else "") for block in blocks_of[future.key])
        future.release()
        for other in some(1):
            going.add(other)


def _shared_work(shared: tuple[Source, Question], out: str, blocks: list[int]) -> list[Done]:
    return [work(*shared, out, block) for block in blocks]


def _lost(future: Any) -> str:
    """Why a block came back without an answer."""
    fault = future.exception()
    if type(fault).__name__ == "KilledWorker":
        return "every worker that was given it died"
    return "it was cancelled" if fault is None else f"{type(fault).__name__}: {why(fault)}"


@contextmanager
def _client(scheduler: str | None, workers: int | None, client: Client | None) -> Iterator[Client]:
    """A client: the one given, one of a running scheduler, or one of workers started here and ended with it."""
    if client is not None:
        yield client
        return
    if scheduler is not None:
        try:
            there = Client(scheduler, timeout=PATIENCE)
        except (OSError, ValueError, TimeoutError) as fault:
            raise SettingError(
                f"No scheduler answers at '{scheduler}': {why(fault)}.", "Start one: dask scheduler; or leave it out."
            ) from None
        try:
            if not there.nthreads():
                raise SettingError(
                    f"The scheduler at '{scheduler}' has no workers.", "Start some: dask worker ADDRESS."
                )
            yield there
        finally:
            there.close()
        return
    count = os.cpu_count() or 1 if workers is None else workers
    with (
        dask.config.set({"distributed.nanny.pre-spawn-environ.MALLOC_TRIM_THRESHOLD_": TRIM}),
        LocalCluster(
            n_workers=count, threads_per_worker=1, dashboard_address=None, silence_logs=logging.CRITICAL
        ) as cluster,
        Client(cluster) as here,
    ):
        yield here
