"""Holes are drawn from the station's own days, several times; what was read stays as it was."""

import numpy as np
import pytest

from frostkit.ensemble.fill import DRAWS, departures, fill
from frostkit.ensemble.fold import Folded
from frostkit.ensemble.today import level
from frostkit.seasons.calendar import DAYS, MISSING


def made_up(seasons=15, seed=3, sign=False, rain=False):
    """Seasons of an invented place: a yearly wave with weather that lasts some days."""
    rng = np.random.default_rng(seed)
    noise = rng.normal(0, 30, (seasons, DAYS))
    for day in range(1, DAYS):
        noise[:, day] = 0.7 * noise[:, day - 1] + noise[:, day]
    wave = 60 - 150 * np.cos(2 * np.pi * (np.arange(DAYS) - 20) / DAYS)
    tmin = np.rint(wave + noise).astype(np.int16)
    tmax = (tmin + 60 + np.abs(np.rint(rng.normal(40, 30, tmin.shape)))).astype(np.int16)
    prcp = (
        np.where(rng.random(tmin.shape) < 0.3, rng.integers(1, 200, tmin.shape), 0).astype(np.int16) if rain else None
    )
    return Folded(tmin, tmax, np.arange(2000, 2000 + seasons), prcp, np.zeros(tmin.shape, np.int8) if sign else None)


def filled(folded, needs=("tmin", "tmax"), **more):
    wanted = np.ones(len(folded.seasons), bool)
    return fill(folded, level(folded, 2030), wanted, needs, **more)


def test_seasons_without_a_hole_are_one_row_for_all_draws():
    folded = made_up()
    out = filled(folded)
    assert out.index.shape == (1, 15)
    assert np.array_equal(out.tmin, folded.tmin) and np.array_equal(out.tmax, folded.tmax)


def test_what_was_read_stays_and_nothing_needed_is_missing():
    folded = made_up()
    rng = np.random.default_rng(4)
    for values in (folded.tmin, folded.tmax):
        values[3][rng.random(DAYS) < 0.2] = MISSING
    folded.tmin[7, 100:125] = MISSING
    out = filled(folded)
    assert out.index.shape == (DRAWS, 15)
    for before, after in ((folded.tmin, out.tmin), (folded.tmax, out.tmax)):
        assert (after != MISSING).all()
        of_rows = before[out.season]
        assert np.array_equal(after[of_rows != MISSING], of_rows[of_rows != MISSING])
    assert (out.tmin <= out.tmax).all()
    assert len(np.unique(out.tmin[out.index[:, 7], 110])) > 3, "several draws, never one number"
    assert len(np.unique(out.index[:, 0])) == 1, "a season without holes is shared"


def test_a_draw_is_a_run_of_another_season_within_15_days_as_departures_on_this_seasons_level():
    folded = made_up()
    true = folded.tmin.copy()
    folded.tmin[5, 150:160] = MISSING
    out = filled(folded)
    of = departures(folded, level(folded, 2030))
    runs = {
        tuple(np.rint(10 * (of.usual[0, 5, 150:160] + of.of[0, season, start : start + 10])).astype(int))
        for season in range(15)
        for start in range(135, 166)
        if season != 5
    }
    drawn = {tuple(out.tmin[row, 150:160]) for row in out.index[:, 5]}
    tmax = folded.tmax[5, 150:160]
    held = {tuple(np.minimum(run, tmax)) for run in runs}
    assert drawn <= held and len(drawn) <= 10, "one of the nearest ten, whole"
    assert np.array_equal(out.tmin[out.index[0, 4]], true[4])


def test_the_nearest_runs_are_those_whose_days_beside_are_most_alike():
    folded = made_up(40)
    folded.tmin[20, 200] = folded.tmax[20, 200] = MISSING
    of = departures(folded, level(folded, 2030)).of
    beside = []
    for season in range(40):
        for start in range(185, 216):
            if season != 20:
                off = [of[e, season, start + d] - of[e, 20, 200 + d] for e in (0, 1) for d in (-1, 1)]
                beside.append((np.mean(np.square(off)), season, start))
    best = sorted(beside)[:10]
    usual = departures(folded, level(folded, 2030)).usual[0, 20, 200]
    allowed = {int(np.rint(10 * (usual + of[0, season, start]))) for _, season, start in best}
    out = filled(folded)
    assert {int(value) for value in out.tmin[out.index[:, 20], 200]} <= allowed


def test_flags_above_and_below_zero_choose_among_the_donors():
    folded = made_up(30, sign=True)
    day = 110  # a day with nights on either side of zero
    folded.tmin[4, day] = folded.tmin[9, day] = MISSING
    folded.sign[4, day], folded.sign[9, day] = 1, -1
    out = filled(folded)
    assert (out.tmin[out.index[:, 4], day] > 0).all()
    assert (out.tmin[out.index[:, 9], day] < 0).all()


def test_the_same_record_gives_the_same_draws():
    folded = made_up()
    folded.tmin[2, 140:150] = MISSING
    assert np.array_equal(filled(folded).tmin, filled(folded).tmin)


def test_rain_is_the_donors_own_amount():
    folded = made_up(rain=True)
    folded.prcp[6, 130:140] = MISSING
    out = filled(folded, ("tmin", "tmax", "prcp"))
    drawn = out.prcp[out.index[:, 6], 130:140]
    assert (drawn != MISSING).all() and set(drawn.ravel()) <= set(folded.prcp.ravel())


def test_a_neighbour_that_read_the_days_narrows_the_draws():
    folded, other = made_up(30), made_up(30)  # the same weather
    rng = np.random.default_rng(9)
    other.tmin[...] = other.tmin + 20 + np.rint(rng.normal(0, 5, other.tmin.shape)).astype(np.int16)
    true = folded.tmin.copy()
    folded.tmin[8, 140:170] = folded.tmax[8, 140:170] = MISSING
    alone = filled(folded)
    beside = (departures(other, level(other, 2030)),)
    together = filled(folded, beside=beside)
    off = [
        np.abs(out.tmin[out.index[:, 8], 140:170].astype(float) - true[8, 140:170]).mean() for out in (alone, together)
    ]
    assert off[1] < 0.3 * off[0]


def test_where_no_other_season_can_give_a_run_the_usual_weather_stands_and_is_counted():
    folded = made_up(2)
    folded.tmin[0, 100:160] = MISSING
    folded.tmin[1, 90:170:7] = MISSING
    out = filled(folded)
    assert out.alone >= 1 and (out.tmin != MISSING).all()


@pytest.mark.parametrize("pattern", ["days", "week", "month"])
def test_masked_days_are_drawn_without_bias(pattern):
    """Against the truth that was masked: the mean of the draws is off by little over many holes."""
    folded = made_up(60, seed=11)
    true = folded.tmin.copy()
    rng = np.random.default_rng(5)
    length = {"days": 1, "week": 7, "month": 30}[pattern]
    for season in range(0, 60, 2):
        for _ in range(6 if length < 30 else 2):
            start = int(rng.integers(90, 300 - length))
            folded.tmin[season, start : start + length] = folded.tmax[season, start : start + length] = MISSING
    holes = folded.tmin == MISSING
    out = filled(folded)
    off = [
        (out.tmin[out.index[:, s]][:, holes[s]].mean(0) - true[s][holes[s]]) / 10 for s in range(60) if holes[s].any()
    ]
    assert abs(np.concatenate(off).mean()) < 0.6
