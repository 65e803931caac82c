"""How far past seasons are moved, against values that others worked out by the formulas of the page on climate.

Source: shared/checks/today_reference.csv (COMPUTED there from the records of shared/data and GISTEMP).
"""

import csv
from functools import cache

import numpy as np
import pytest

import frostkit.public as fk
from frostkit.ensemble.today import PARTS, Level, warmth_of_globe
from tests.conftest import SHARED

pytestmark = pytest.mark.real
WHERE = {
    "CA006105976.dly": ("ghcn-daily", {}),
    "CA003076680_2003-2024.csv.gz": ("ghcn-daily", {"input_units": "C"}),
    "USC00305816.dly": ("ghcn-daily", {}),
    "USW00014839_1938-2026_wide_F.csv.gz": ("ghcn-daily", {"input_units": "F", "latitude": 42.95}),
    "twin_cities_1872-2023_F.csv.gz": ("state-climate-office", {"latitude": 44.88}),
}


def rows() -> list[dict[str, str]]:
    path = SHARED / "checks" / "today_reference.csv"
    return list(csv.DictReader(path.read_text("utf-8").splitlines())) if path.is_file() else []


@cache
def site(record: str):
    folder, options = WHERE[record]
    return fk.open(SHARED / "data" / folder / record, **options)


@cache
def level(record: str, asked: int) -> Level:
    return site(record).asking(asked).level


CASES = sorted({(row["record"], int(row["season_asked_for"])) for row in rows()})


@pytest.mark.parametrize(("record", "asked"), CASES)
def test_slopes_levels_and_moves_are_those_worked_out_by_others(record, asked):
    of = level(record, asked)
    moves = of.moves()
    mine = [row for row in rows() if (row["record"], int(row["season_asked_for"])) == (record, asked)]
    parts = sorted({row["part"] for row in mine})
    assert len(parts) == len(PARTS)
    for row in mine:
        cell = ("tmin", "tmax").index(row["element"]), parts.index(row["part"])
        season = int(np.flatnonzero(of.seasons == int(row["past_season"]))[0])
        assert of.slope[cell] == pytest.approx(float(row["slope_b"]), abs=6e-4)
        assert of.error[cell] == pytest.approx(float(row["se"]), abs=6e-4)
        assert of.c[cell] == pytest.approx(float(row["c"]), abs=6e-4)
        assert moves[(*cell, season)] == pytest.approx(float(row["move_degc"]), abs=6e-4)
        then = warmth_of_globe(np.array([int(row["past_season"]), asked]), asked)
        assert then == pytest.approx([float(row["global_then"]), float(row["global_asked_for"])], abs=6e-4)


def test_the_reference_is_there_and_no_record_is_left_out():
    assert len(rows()) > 100
    assert {row["record"] for row in rows()} <= set(WHERE)
