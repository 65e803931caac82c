"""A reading stands for its whole cell: moves are smooth, and no move changes no reading."""

import numpy as np
import pytest

from frostkit.ensemble.readings import CELLS, cells_of, moved, newest_cell, places
from frostkit.seasons.calendar import DAYS, MISSING


def read_in(cell, seasons=40, seed=1):
    """Made-up temperatures as they would be read in a cell; some days are missing."""
    rng = np.random.default_rng(seed)
    true = rng.normal(30, 80, (seasons, DAYS))
    values = CELLS[cell].rounded(true)
    values[rng.random(values.shape) < 0.02] = MISSING
    return values


@pytest.mark.parametrize("cell", range(len(CELLS)))
def test_the_cell_of_a_season_is_found_and_no_move_changes_no_reading(cell):
    values = read_in(cell)
    found = cells_of(values)
    assert (found == cell).all() and newest_cell(values, found) == cell
    same = moved(values, found, cell, np.zeros((40, 1), np.float32), places(np.arange(1980, 2020))[0])
    assert np.array_equal(same, values)


@pytest.mark.parametrize("cell", range(len(CELLS)))
def test_the_mean_of_moved_readings_moves_as_told_however_small_the_move(cell):
    values = read_in(cell)
    within, found = places(np.arange(1980, 2020))[0], cells_of(values)
    read = values != MISSING
    for degrees in (0.1, 0.3, 0.5, 1.0, -0.2):
        after = moved(values, found, cell, np.full((40, 1), degrees, np.float32), within)
        assert (after == MISSING).tolist() == (~read).tolist()
        mean = (after[read].astype(float) - values[read]).mean() / 10
        assert mean == pytest.approx(degrees, abs=0.01), "evenly over the cell: a tenth moves a tenth of the readings"


def test_a_night_of_32_degrees_fahrenheit_is_not_frost_free_at_once():
    """DESIGN: 0.0 degC in such a record means 31.5 to 32.5 degF."""
    values = np.full((40, DAYS), 0, np.int16)
    values[:, ::2] = CELLS[1].rounded(np.linspace(-50, 250, 183))  # so that the cell shows
    cells = np.full(40, 1)
    within = places(np.arange(1980, 2020))[0]
    share = [
        (moved(values, cells, 1, np.full((40, 1), d, np.float32), within)[:, 1::2] > 0).mean()
        for d in (0.05, 0.1, 0.2, 0.4)
    ]
    assert share == sorted(share)
    assert share[1] == pytest.approx(0.18, abs=0.02), "0.1 degC is 18 % of a degree Fahrenheit"


def test_the_same_season_has_the_same_places_whatever_else_the_record_holds():
    assert np.array_equal(places(np.array([1990, 2000]))[:, 1], places(np.array([2000]))[:, 0])


def test_an_old_record_in_whole_fahrenheit_comes_out_in_the_tenths_read_today():
    old, new = read_in(1, 20), read_in(3, 5, seed=2)
    values = np.concatenate([old, new])
    cells = cells_of(values)
    assert newest_cell(values, cells) == 3
    after = moved(values, cells, 3, np.zeros((25, 1), np.float32), places(np.arange(1990, 2015))[0])
    assert np.array_equal(after[20:], new), "seasons read in the newest cell stay"
    off = (after[:20].astype(float) - old)[old != MISSING]
    assert np.abs(off).max() <= 3.3 and len(np.unique(after[:20] % 10)) == 10, "spread over half a degree F either side"
