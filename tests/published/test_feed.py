"""Feed and nitrogen against the rows of shared/checks/values.csv (each names its source) and CHECKS.md section 8."""

import csv
from itertools import pairwise

import pytest

from frostkit.answers import feed
from frostkit.errors import SettingError
from tests.conftest import SHARED

CORN, BEANS = feed.Load(800, 65, 7.5), feed.Load(200, 75, 18)
# Row of values.csv: how frostkit works it out. COMPUTED rows there show consistency, READ rows (FED-05, FED-08) are published.
WORKED = {
    "FED-01": lambda: feed.blend([feed.Load(90, 0, 7.5), feed.Load(10, 0, 18)]).protein,
    "FED-02": lambda: feed.share_of_beans(7.5, 18, 9.5),
    "FED-03": lambda: feed.blend([CORN, BEANS]).protein,
    "FED-04": lambda: feed.blend([CORN, BEANS]).moisture,
    "FED-05": lambda: feed.blend([feed.Load(1, 0, 7.5 * 1.22)]).protein,
    "FED-06": lambda: feed.nitrogen(18),
    "FED-07": lambda: feed.nitrate(1000),
    "FED-08": lambda: feed.soil_nitrogen_lb_ac(12.5),
    "FED-09": lambda: feed.soil_nitrogen_lb_ac(12.5, inches=12),
    "FED-10": lambda: feed.kg_ha(50),
}


@pytest.mark.real
def test_feed_rows_of_the_checks_come_out():
    with open(SHARED / "checks" / "values.csv", encoding="utf-8", newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file) if row["id"].startswith("FED-")}
    assert rows.keys() == WORKED.keys()
    for name, row in rows.items():
        assert WORKED[name]() == pytest.approx(float(row["expected"]), abs=float(row["tolerance"])), name


def test_weighing_wet_would_overstate_the_protein():
    """HANDBOOK section 13: 9.6 % by wet weight against 9.09 % by dry matter."""
    wet = (CORN.weight * CORN.protein + BEANS.weight * BEANS.protein) / (CORN.weight + BEANS.weight)
    assert wet == pytest.approx(9.6)
    assert feed.blend([CORN, BEANS]).protein < wet


def test_more_beans_never_lower_the_protein():
    mixes = [feed.blend([CORN, BEANS._replace(weight=weight)]).protein for weight in (1, 10, 100, 1000)]
    assert all(a < b for a, b in pairwise(mixes))


@pytest.mark.parametrize(
    ("load", "match"),
    [
        (feed.Load(0, 65, 8), "weight 0"),
        (feed.Load(1, 100, 8), "100 % moisture"),
        (feed.Load(1, 60, 120), "120 % protein"),
    ],
)
def test_a_load_that_cannot_be_is_refused(load, match):
    with pytest.raises(SettingError, match=match):
        feed.blend([load])


def test_no_mix_reaches_more_protein_than_the_beans_have():
    with pytest.raises(SettingError, match="No mix of 7.5 % and 18 %"):
        feed.share_of_beans(7.5, 18, 20)
