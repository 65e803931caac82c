"""The cache under writers that are killed, and under many processes at once."""

import json
import os
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from frostkit.records import live
from frostkit.records.cache import Cache
from tests import local_provider as local

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="forks")


def run(what: str, folder: Path, number: int, **environment: str) -> dict:
    paths = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    done = subprocess.run(
        [sys.executable, "-m", "tests.cache_faults", what, str(folder), str(number)],
        capture_output=True, text=True, timeout=120, cwd=ROOT, env=os.environ | environment | {"PYTHONPATH": paths},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.mark.slow
def test_200_writers_killed_at_random_moments_leave_a_whole_record_each_time(tmp_path):
    seen = run("kill", tmp_path / "data_cache", 200)
    assert seen["read whole"] == 200
    assert seen["killed while a file was being written"] >= 10, "else the test does not test: see the times in it"
    assert sum(name.startswith("version") for name in seen) > 1, "writers got through between the kills"
    assert seen["left behind"] == 0


@pytest.mark.parametrize("processes", [2, 8])
def test_processes_that_refresh_one_station_at_once_lose_no_day(tmp_path, processes):
    """The provider has one more day each time it is asked: the one that got the most may write first, or last."""
    provider, cache = local.Provider(), Cache(tmp_path / "data_cache")
    first, last = date(1990, 1, 1), date(1991, 6, 30)
    table = local.days_of(first, date(1991, 12, 31))
    provider.add("RIV01", table, span=(first, date(1991, 12, 31)))
    most = {"day": last}

    def grows(to, _):
        most["day"] += timedelta(days=1)
        rows = {day: row for day, row in table.items() if date(1991, 1, 1) <= day <= most["day"]}
        local.whole(to, local.gzip.compress(local.csv(rows)))

    provider.faults["RIV01", 1991] = grows
    with local.serving(provider) as address:
        with local.pointed_at(address):
            live.load("RIV01", cache=cache)
        ended = run("refresh", cache.path, processes, **local.environment(address, cache.path))
    assert ended == {"ended": {"0": processes}, "left behind": 0}
    record = cache.get("RIV01")
    assert most["day"] == last + timedelta(days=1 + processes)
    known = np.isfinite(record.tmin)
    assert record.time()[known][-1] == np.datetime64(most["day"])
    served = [row["tmin"] for day, row in table.items() if day <= most["day"]]
    np.testing.assert_array_equal(record.tmin[known], np.array(served, np.float32))
