"""Real records in whole °F: moved by tenths, or to a low spot by tenths, frost dates go smoothly.

A reading of 32 °F stands for 31.5 to 32.5: were it a point, the first tenth of a degree would take two days at once.
"""

import numpy as np
import pytest

import frostkit.public as fk
from frostkit.ensemble.readings import cells_of, moved, newest_cell, places
from frostkit.seasons.frost import first_fall, last_spring

pytestmark = pytest.mark.real
STEPS = np.arange(0.0, 1.05, 0.1)
RECORDS = {
    "twin cities": ("state-climate-office/twin_cities_1872-2023_F.csv.gz", {"latitude": 44.88}),
    "milwaukee": ("ghcn-daily/USW00014839_1938-2026_wide_F.csv.gz", {"input_units": "F", "latitude": 42.95}),
}


@pytest.fixture(scope="module", params=RECORDS)
def place(request, shared):
    where, options = RECORDS[request.param]
    return shared / "data" / where, options


def mean_dates(tmin, index):
    """Mean first fall and last spring frost of the seasons that have both, one draw each. [day]"""
    fall, spring = first_fall(tmin)[index[0]], last_spring(tmin)[index[0]]
    there = np.isfinite(fall) & np.isfinite(spring)
    return np.array([fall[there].mean(), spring[there].mean()])


def is_smooth(dates, most):
    """Each step moves the dates the same way, none by more than a part of all.

    Were a reading a point, one tenth of the ten would take over half of what a degree takes.
    """
    steps = np.diff(np.asarray(dates), axis=0) * [1, -1]  # fall later, spring sooner
    total = steps.sum(axis=0)
    assert (steps >= -1e-9).all()
    assert ((total > 2.0) & (total < 10.0)).all(), "days for a degree"
    assert (steps.max(axis=0) < most * total).all()


def test_frost_dates_go_smoothly_with_a_move_of_tenths(place):
    path, options = place
    site = fk.open(path, climate="as read", **options)
    rows = site.ensemble(("tmin",))
    values, cells = rows.tmin, cells_of(rows.tmin)
    of_row = np.zeros(len(values), int)
    of_row[rows.index] = np.arange(rows.seasons.size)
    within = places(rows.seasons)[0][of_row]
    to = newest_cell(values, cells)
    found = [
        mean_dates(moved(values, cells, to, np.full((len(values), 1), step, np.float32), within), rows.index)
        for step in STEPS
    ]
    is_smooth(found if (cells == to).mean() > 0.9 else found[1:], 0.4)  # else the first step is to another cell


def test_no_move_changes_no_reading(place):
    path, options = place
    site = fk.open(path, climate="as read", **options)
    values = site.ensemble(("tmin",)).tmin
    cells = cells_of(values)
    newest = newest_cell(values, cells)
    same = cells == newest
    after = moved(values, cells, newest, np.zeros((len(values), 1), np.float32), np.zeros(values.shape, np.float32))
    assert np.array_equal(after[same], values[same])


def test_frost_dates_go_smoothly_with_a_low_spot_of_tenths(place):
    path, options = place
    found = []
    for step in STEPS[1::3]:
        site = fk.open(path, climate="as read", colder_by=float(step), all_nights=True, **options)
        rows = site.ensemble(("tmin",), 0)
        found.append(mean_dates(rows.tmin, rows.index))
    is_smooth(found[::-1], 0.6)
