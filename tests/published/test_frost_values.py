"""Frost-free length and the calendar against published rows."""

import csv
import re

import pytest

from frostkit.seasons.calendar import code, column
from frostkit.seasons.frost import frost_free_days

pytestmark = pytest.mark.real


def test_published_frost_free_lengths_count_the_days_between_the_two_frosts(shared):
    rows = [r for r in csv.DictReader((shared / "checks/values.csv").read_text().splitlines())
            if r["topic"] == "frost-free period"]  # fmt: skip
    assert len(rows) == 4
    for row in rows:
        last, first = (int(n) for n in re.findall(r"\d{3}", row["inputs"]))
        assert frost_free_days(last, first) == float(row["expected"]), row


def test_15_september_is_day_258_of_a_common_year(shared):
    row = next(
        r for r in csv.DictReader((shared / "checks/values.csv").read_text().splitlines()) if r["id"] == "DAT-01"
    )
    assert column(9, 15) + 1 == int(row["expected"])
    assert code(int(row["expected"]) - 1) == "09-15"
