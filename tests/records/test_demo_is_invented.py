"""Nothing of the invented record stands in a real one."""

import numpy as np
import pytest

from frostkit.demo.place import demo_record
from frostkit.records.readers import read
from frostkit.records.record import Record

DAYS = 4  # days in a row: eight readings in tenths, far too many to meet by chance


def spells(record: Record) -> set[tuple[int, ...]]:
    """Every run of `DAYS` known days, as whole tenths of Tmin and Tmax."""
    pairs = np.stack([record.tmin, record.tmax], axis=1)
    runs = np.lib.stride_tricks.sliding_window_view(pairs, DAYS, axis=0).reshape(-1, 2 * DAYS)
    known = runs[np.isfinite(runs).all(axis=1)]
    return set(map(tuple, np.rint(10 * known).astype(int).tolist()))


@pytest.fixture(scope="module")
def invented() -> set[tuple[int, ...]]:
    return spells(demo_record())


@pytest.mark.parametrize(
    "name",
    [
        "ghcn-daily/CA006105976.dly",
        "ghcn-daily/CA006105978.dly",
        "ghcn-daily/USC00305816.dly",
        "eccc/toronto_pearson",
        "eccc/calgary",
    ],
)
def test_no_four_days_of_the_invented_record_are_those_of_a_real_one(shared, invented, name):
    real = spells(read(shared / "data" / name))
    assert len(real) > 500, f"{name} gave too few days to compare"
    assert not invented & real, f"{name} and the invented record share days"
