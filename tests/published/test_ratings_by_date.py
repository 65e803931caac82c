"""The largest rating by seeding date beside published tables: their shape, in a climate near the one they are made for.

shared/checks/values_2.csv, topic "rating by date" (READ: La Financière agricole du Québec, hybrids by seeding date and
zone) and COR-37 (READ: Le Bulletin des agriculteurs, 100 to 150 CHU a week after 26 May; Ontario 100). A policy table
for one climate: what is compared is how it falls with the date, and that a station near its zone lies near its row.
"""

import csv
import re

import pytest

from frostkit.answers.seeding.choose import choose
from frostkit.crops.entry import load
from frostkit.ensemble.site import AS_READ, Site
from frostkit.records.readers import read
from frostkit.seasons.calendar import column, from_code
from frostkit.seasons.heat import Heat, total
from tests.real_records import place

pytestmark = pytest.mark.real

THEN = (1979, 2008)  # the seasons that zones of that time were drawn from; as they were read
NEAR = ("farnham", "ottawa")  # a Quebec station in the zones of 2,800 to 3,000, and one across the river


@pytest.fixture(scope="module")
def published(shared):
    """{zone: [(middle of the dates, rating)]}"""
    found = {}
    for row in csv.DictReader((shared / "checks/values_2.csv").read_text().splitlines()):
        if row["topic"] == "rating by date":
            zone = int(re.search(r"zone_CHU=(\d+)", row["inputs"])[1])
            ends = [from_code(day) for day in re.findall(r"\d\d-\d\d", row["inputs"].partition(";")[2])]
            found.setdefault(zone, []).append((sum(ends) / len(ends), float(row["expected"])))
    return found


@pytest.fixture(scope="module", params=NEAR)
def solved(request, shared, tmp_path_factory):
    """{column: largest rating of grain corn}, 8 in 10, of seasons as read."""
    path, options = place(request.param, shared, tmp_path_factory.mktemp("relaid"))
    site = Site(read(path, **options), climate=AS_READ, only=THEN)
    table = choose(site, column(5, 20), corns=[load("grain-corn-2300")], beans=[]).table("largest_rating")
    return dict(zip(table.index.values.astype(int).tolist(), table["grain.rating"].values, strict=True))


def test_it_falls_with_the_date_more_slowly_than_published_tables_but_as_steadily(published, solved):
    """From 10 to 30 May the zones of 2,800 and 3,000 fall by 350 and 400 CHU. Measured here: 267 at Ottawa, 308 at
    Farnham, two thirds to nine tenths of that: tables of a policy ask for more room the later it gets."""
    for zone in (2800, 3000):
        (first, high), (last, low) = published[zone][0], published[zone][-1]
        assert 0.6 <= (solved[int(first)] - solved[int(last)]) / (high - low) <= 1.0, zone
    days = [solved[int(day)] for day, _ in published[2800]]
    assert days == sorted(days, reverse=True)
    assert published[2300][0][1] - published[2300][-1][1] == 75  # a cold zone's table ends near what is sold: no shape


def test_a_station_near_a_zone_lies_near_its_row(published, solved):
    """Between the rows of 2,800 and 3,000 on every date, with a step of the table's own (75 CHU) of room."""
    for (day, low), (_, high) in zip(published[2800], published[3000], strict=True):
        assert low - 75 <= solved[int(day)] <= high + 75


def test_after_late_may_it_falls_by_what_advisers_say_a_week(solved):
    """100 (Ontario) to 150 (Quebec) CHU a week after about 20 to 26 May."""
    for first in (column(5, 22), column(5, 26)):
        assert 90 <= solved[first] - solved[first + 7] <= 160


def test_an_areas_sum_counts_what_a_hybrids_does_not(shared, tmp_path):
    """A rating counts from planting to maturity (COR-39, READ: MAPAQ); an area's from 1 May, whenever the crop is sown:
    sown on 20 May, a hybrid has lost the heat of three weeks that the area's figure holds."""
    path, options = place("ottawa", shared, tmp_path)
    rows = Site(read(path, **options), climate=AS_READ, only=THEN).ensemble()
    chu = Heat("chu")
    area = total(rows.tmin, rows.tmax, chu, column(5, 1), column(9, 30)) / chu.per_unit
    hybrid = total(rows.tmin, rows.tmax, chu, column(5, 21), column(9, 30)) / chu.per_unit
    before = total(rows.tmin, rows.tmax, chu, column(5, 1), column(5, 20)) / chu.per_unit
    assert area - hybrid == pytest.approx(before)
    assert before.mean() > 200
