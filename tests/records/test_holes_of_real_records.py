"""A full record masked with the holes of a prairie one, and with nights gone because they were cold.

docs/climate.md has more records and kinds of holes, by tests/bench/bench_holes.py.
"""

from dataclasses import replace

import numpy as np
import pytest

import frostkit.public as fk
from frostkit.ensemble.fold import counted, fold
from frostkit.ensemble.notes import notes
from frostkit.records.days import days_of
from frostkit.seasons.calendar import MISSING
from frostkit.seasons.frost import first_fall

pytestmark = pytest.mark.real
DAYS = np.arange(243, 304)  # September and October
SEASONS = (1951, 1990)


@pytest.fixture(scope="module")
def site(shared):
    path = shared / "data/ghcn-daily/USW00014839_1938-2026_wide_F.csv.gz"
    return fk.open(path, input_units="F", latitude=42.95, climate="as read", for_season=1991, seasons=SEASONS)


@pytest.fixture(scope="module")
def prairie_holes(shared):
    """Where Valleyview's counted seasons were not read. bool [element, season, 365]"""
    record = fk.open(shared / "data/ghcn-daily/CA003076680_2003-2024.csv.gz", input_units="C").record
    folded = fold(record.start, record.tmin, record.tmax)
    return np.stack([folded.tmin == MISSING, folded.tmax == MISSING])[:, counted(folded)]


def masked(site, gone):
    record = site.record
    low, high = (
        np.where(lost, np.float32(np.nan), of) for lost, of in zip(gone, (record.tmin, record.tmax), strict=True)
    )
    return replace(site, record=replace(record, tmin=low, tmax=high, sign=None))


def fall_shares(site):
    """Share of seasons with a fall frost by each day, by draw. [draw, day]"""
    rows = site.ensemble(("tmin",), 0)
    return (first_fall(rows.tmin)[:, None] <= DAYS)[rows.index].mean(axis=1)


def test_prairie_holes_leave_fall_frost_and_the_window_within_two_and_a_half_points(site, prairie_holes):
    days = days_of(site.record.start, site.record.tmin.size)
    holed = masked(site, prairie_holes[:, (days.year - days.year[0]) % prairie_holes.shape[1], days.place])
    full, drawn = fall_shares(site)[0], fall_shares(holed)
    doubt = (full > 0.03) & (full < 0.97)
    off = 100 * (drawn.mean(axis=0) - full)[doubt]
    assert np.abs(off).mean() < 2.5 and abs(off.mean()) < 1.0
    held = (drawn.min(axis=0) - 1e-9 <= full) & (full <= drawn.max(axis=0) + 1e-9)
    assert held[doubt].mean() > 0.75
    one, other = (fk.window(of, track_record=False).to_dict()["odds"] for of in (site, holed))
    shares = np.array([[row["both"]["share"] for row in rows] for rows in (one, other)])
    doubt = (shares[0] > 0.03) & (shares[0] < 0.97)
    assert np.abs(shares[1] - shares[0])[doubt].mean() < 0.025
    assert one[0]["both"]["complete"] > other[0]["both"]["complete"] and one[0]["both"]["seasons"] == 40


def test_a_season_without_a_hole_is_never_changed_by_the_holes_of_others(site, prairie_holes):
    days = days_of(site.record.start, site.record.tmin.size)
    gone = prairie_holes[:, (days.year - days.year[0]) % prairie_holes.shape[1], days.place]
    gone &= days.year % 2 == 0
    full, holed = (of.ensemble(("tmin",), 0) for of in (site, masked(site, gone)))
    odd = full.seasons % 2 == 1
    growing = np.s_[:, 90:304]
    assert np.array_equal(full.tmin[full.index[0, odd]][growing], holed.tmin[holed.index[0, odd]][growing])


def test_missing_maxima_leave_frost_as_it_is(site):
    gone = np.zeros((2, site.record.tmin.size), bool)
    gone[1] = np.random.default_rng(2).random(gone.shape[1]) < 0.2
    assert np.array_equal(fall_shares(masked(site, gone))[0], fall_shares(site)[0])


def test_nights_missing_because_they_were_cold_make_fall_frost_late_and_that_is_said(site):
    record = site.record
    month = days_of(record.start, record.tmin.size).month
    rng = np.random.default_rng(3)
    gone = np.zeros((2, record.tmin.size), bool)
    for one in (3, 4, 8, 9):
        there = np.flatnonzero((month == one) & np.isfinite(record.tmin))
        cold = there[record.tmin[there] <= np.quantile(record.tmin[there], 0.1)]
        gone[0, rng.choice(cold, cold.size // 4, replace=False)] = True
    holed = masked(site, gone)
    off = 100 * (fall_shares(holed).mean(axis=0) - fall_shares(site)[0])
    assert -6 < off[(DAYS > 265) & (DAYS < 290)].mean() < -0.5
    assert "cold_holes" in [note.key for note in notes(holed)]
    assert "cold_holes" not in [note.key for note in notes(site)]
