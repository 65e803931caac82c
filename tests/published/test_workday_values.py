"""Working days against published counts: what comes out right and what does not, as docs/season.md says it."""

import csv
from datetime import date

import numpy as np
import pytest

from frostkit.public import open as opened
from frostkit.seasons.calendar import column
from frostkit.seasons.workdays import workdays

pytestmark = pytest.mark.real
TWIN_CITIES = "data/state-climate-office/twin_cities_1872-2023_F.csv.gz"
LATITUDE = 44.88
WEEKS = {"WRK-01": date(2020, 5, 3), "WRK-02": date(2020, 5, 10), "WRK-03": date(2018, 5, 13),
         "WRK-04": date(2017, 5, 21), "WRK-05": date(2017, 5, 28), "WRK-06": date(2018, 5, 27)}  # fmt: skip
"""Minnesota's weeks of checks/values_2.csv, by the day they ended."""


@pytest.fixture(scope="module")
def work(shared):
    """Workdays at the Twin Cities, by season, as read; and the seasons."""
    site = opened(shared / TWIN_CITIES, input_units="F", latitude=LATITUDE, longitude=-93.23)
    folded = site.folded
    some = (folded.seasons >= 1938) & (folded.seasons <= 2022)
    low, high = (np.where(part < -5000, 0, part)[some] for part in (folded.tmin, folded.tmax))
    return workdays(low, high, folded.prcp[some], LATITUDE), folded.seasons[some]


@pytest.fixture
def rows(shared):
    text = (shared / "checks/values_2.csv").read_text("utf-8")
    return {
        row["id"]: float(row["expected"]) for row in csv.DictReader(text.splitlines()) if row["topic"] == "workdays"
    }


def in_week(work, ends):
    days, seasons = work
    last = column(ends.month, ends.day)
    return int(days[list(seasons).index(ends.year), last - 6 : last + 1].sum())


def test_a_week_in_may_has_as_many_workdays_as_minnesota_reports_over_the_years(work, rows):
    # USDA NASS weekly reports, as kept in checks/values_2.csv: six weeks in May of 2.5 to 5.5 days
    said = [rows[mark] for mark in WEEKS]
    may = work[0][:, column(5, 1) : column(5, 29)].reshape(len(work[0]), 4, 7).sum(-1)
    assert min(said) <= may.mean() <= max(said)
    assert np.mean(said) == pytest.approx(may.mean(), abs=1.0)


def test_single_weeks_are_off_by_about_two_days_which_is_why_the_filter_is_off_by_default(work, rows):
    apart = [in_week(work, ends) - rows[mark] for mark, ends in WEEKS.items()]
    assert 1.0 < np.abs(apart).mean() < 2.5


def test_april_to_mid_june_has_as_many_workdays_as_nebraska_reports(work, rows):
    # WRK-12: Nebraska 1996-2021, 49.5 days (35.9 in 1999 to 66.6 in 2000); another state, so within a tenth
    days, seasons = work
    span = days[:, column(4, 1) : column(6, 16)].sum(-1)[(seasons >= 1996) & (seasons <= 2021)]
    assert span.mean() == pytest.approx(rows["WRK-12"], rel=0.1)
    assert 20 <= span.min() < 40
    assert 55 < span.max() <= 70
