"""Run by test_cache_faults.py in a process of its own: writers that are killed, and many that refresh at once.

`kill FOLDER TIMES`: forks a writer, kills it (SIGKILL) at a random moment, reads the cache; again and again.
`refresh FOLDER PROCESSES`: forks processes that all refresh the station RIV01 from the provider that the environment
names. Both print what they saw as JSON.
"""

import json
import os
import signal
import sys
import time
from collections import Counter

import numpy as np

from frostkit.records.cache import Cache
from frostkit.records.record import Record, Station

VERSIONS, DAYS = 7, 15 * 365


def version(which: int) -> Record:
    """A record every value of which says which version it belongs to."""
    values = np.full(DAYS, which / 10, np.float32) + np.arange(DAYS, dtype=np.float32) % 100
    return Record(Station("RIV01"), np.datetime64("1990-01-01"), np.round(values, 1), np.round(values + 5, 1))


def kill(folder: str, times: int) -> dict:
    cache, rng = Cache(folder), np.random.default_rng(20)
    versions = [version(which) for which in range(VERSIONS)]
    began = time.perf_counter()
    for which in range(5):
        cache.put(versions[which])
    lasts = (time.perf_counter() - began) / 5
    seen: Counter[str] = Counter()
    for number in range(times):
        read, write = os.pipe()
        writer = os.fork()
        if not writer:
            which = os.getpid() % VERSIONS
            while True:
                os.write(write, b".")  # a write begins: the moment is random within it, however busy the machine
                cache.put(versions[which := (which + 1) % VERSIONS])
        os.read(read, 1)
        if number % 2:  # half of them at any moment, half once a file is seen being written
            time.sleep(float(rng.uniform(0, 1.5)) * lasts)
        else:
            until = time.perf_counter() + 20 * lasts
            while time.perf_counter() < until and not any(name.endswith(".part") for name in os.listdir(cache.path)):
                pass
            time.sleep(float(rng.uniform(0, 0.1)) * lasts)
        os.kill(writer, signal.SIGKILL)
        os.waitpid(writer, 0)
        os.close(read)
        os.close(write)
        seen["killed while a file was being written"] += bool(list(cache.path.glob(".*.part")))
        record = cache.get("RIV01")  # raises where the file is not whole
        which = round(float(record.tmin[0]) * 10)
        whole = all(np.array_equal(getattr(record, name), getattr(versions[which], name)) for name in ("tmin", "tmax"))
        seen["read whole"] += whole
        seen[f"version {which}"] += 1
    cache.put(versions[0])
    seen["left behind"] = len(list(cache.path.glob(".*.part"))) + len(list(cache.path.glob("*.damaged-*")))
    return dict(seen)


def refresh(folder: str, processes: int) -> dict:
    from frostkit.records import live

    cache = Cache(folder)
    pids = []
    for _ in range(processes):
        pid = os.fork()
        if not pid:
            code = 1
            try:
                loaded = live.refresh("RIV01", cache=cache)
                code = 0 if np.isfinite(loaded.record.tmin).any() else 2
            finally:
                os._exit(code)
        pids.append(pid)
    ended = Counter(str(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])) for pid in pids)
    return {"ended": dict(ended), "left behind": len(list(cache.path.glob(".*.part")))}


if __name__ == "__main__":
    what, where, number = sys.argv[1:]
    print(json.dumps({"kill": kill, "refresh": refresh}[what](where, int(number))))
