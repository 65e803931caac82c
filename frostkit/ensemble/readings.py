"""A reading stands for its whole cell: a whole degree Fahrenheit is not a point but half a degree to either side.

A record read in whole °F and moved by tenths would make every 32 °F night frost-free at once. So a move undoes the
rounding, adds the move, and rounds again to the cell in which the newest seasons are read.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.seasons.calendar import DAYS, MISSING

SEED = 365  # of the places within cells: the same record gives the same answer
ON_GRID = 0.95  # part of a season's readings that lie on a grid read in it: a few are typed from elsewhere
FEWEST = 30  # readings that show in what they were read
NEWEST = 5  # seasons whose most common cell is that of today's readings


class Cell(NamedTuple):
    """What a reading was rounded to: `step` in tenths of degC; °F are whole."""

    step: float
    fahrenheit: bool = False

    def rounded(self, tenths: NDArray) -> NDArray[np.int16]:
        """Temperatures [tenths of degC, not rounded] as they would be read. [...]"""
        if self.fahrenheit:
            return np.rint((np.rint(tenths * 0.18 + 32) - 32) / 0.18).astype(np.int16)
        if self.step == 1:
            return np.rint(tenths).astype(np.int16)
        return (np.rint(tenths / self.step) * self.step).astype(np.int16)

    def middle(self, tenths: NDArray) -> NDArray:
        """The middle of the cell that readings [tenths of degC] stand for. [...]"""
        return (np.rint(tenths * 0.18 + 32) - 32) / 0.18 if self.fahrenheit else tenths


CELLS = (Cell(10.0), Cell(10 / 1.8, fahrenheit=True), Cell(5.0), Cell(1.0))
"""Whole degC, whole °F, half degC, tenths: from coarse to fine; the coarsest that fits is taken."""
TENTHS = len(CELLS) - 1


def cells_of(values: NDArray[np.int16]) -> NDArray[np.int64]:
    """In which of `CELLS` each season was read; tenths where too few readings tell. [season, 365] -> [season]

    >>> whole = np.full((1, 365), 20, np.int16)
    >>> int(cells_of(whole)[0])
    0
    """
    read = values != MISSING
    number = read.sum(1)
    found = np.full(len(values), TENTHS)
    for place in reversed(range(TENTHS)):
        on = (CELLS[place].rounded(np.where(read, values, 0)) == values) & read
        found[(number >= FEWEST) & (on.sum(1) >= ON_GRID * number)] = place
    return found


def newest_cell(values: NDArray[np.int16], cells: NDArray[np.int64]) -> int:
    """The most common cell of the newest five seasons that were read; the finer of two as common."""
    read = (values != MISSING).sum(1) >= FEWEST
    newest = cells[read][-NEWEST:]
    if not newest.size:
        return TENTHS
    number = np.bincount(newest, minlength=len(CELLS))
    return int(np.flatnonzero(number == number.max())[-1])


def moved(
    values: NDArray[np.int16], cells: NDArray[np.int64], to: int, degrees: NDArray, within: NDArray
) -> NDArray[np.int16]:
    """Readings moved by some degrees, as they would be read today.

    Parameters
    ----------
    values : int16 [season, 365], tenths of degC
    cells : int [season], see `cells_of`
    to : the cell of the result
    degrees : [season, 365] or [season, 1], degC
    within : [season, 365], place of each true temperature within its cell, -0.5 to 0.5; see `places`

    Returns
    -------
    int16 [season, 365]; what is missing stays missing. No move changes no reading of a season read in the cell `to`.
    """
    step = np.array([cell.step for cell in CELLS], np.float32)[cells][:, None]
    exact = values.astype(np.float32)
    fahrenheit = np.array([cell.fahrenheit for cell in CELLS])[cells]
    if fahrenheit.any():
        exact[fahrenheit] = CELLS[1].middle(exact[fahrenheit])
    exact += step * within
    exact += np.float32(10) * degrees
    return np.where(values == MISSING, MISSING, CELLS[to].rounded(exact))


def places(seasons: NDArray[np.int64]) -> NDArray[np.float32]:
    """Where in its cell each true temperature lies, drawn evenly once for all. [element, season, 365], -0.5 to 0.5

    The same season has the same places whatever else the record holds.
    """
    return np.stack([_places(int(season)) for season in seasons], axis=1)


@lru_cache(maxsize=1024)
def _places(season: int) -> NDArray[np.float32]:
    rng = np.random.default_rng([SEED, season])
    # never within a thousandth of a cell's edge, where rounding would have to choose
    return (0.998 * (rng.random((2, DAYS)) - 0.5)).astype(np.float32)
