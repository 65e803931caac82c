"""Whole-plant moisture of corn through a season, from the heat it gathered, and the day on which it reaches a moisture.

This is a calibration through published points (dent 72 to 75 %, half milk 65 to 68 %, black layer 55 to 62 %, 0.4 to
1.0 points a day near harvest), not a law of growth: a hybrid at a given heat lies several points to either side.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.seasons.calendar import NEVER

Floats = NDArray[np.float64]
DRIEST = 20.0  # percent at which the sum stops: nothing is chopped below; common practice, no source


@dataclass(frozen=True)
class Drying:
    """How corn dries: moisture at some heats since sowing, straight between them and beyond the last.

    Parameters
    ----------
    heat : tuple of float [whole units of the crop's clock], rising
    moisture : tuple of float [percent], falling
    held_from : float [percent]
        From this moisture (dent) down, a day's drying is held between `least` and `most`.
    least, most : float [points a day]
    frosted : float [points a day]
        After a killing frost; heat then has no say.
    """

    heat: tuple[float, ...]
    moisture: tuple[float, ...]
    held_from: float
    least: float
    most: float
    frosted: float

    def __post_init__(self) -> None:
        rising = all(a < b for a, b in zip(self.heat, self.heat[1:], strict=False))
        falling = all(a > b for a, b in zip(self.moisture, self.moisture[1:], strict=False))
        if len(self.heat) < 2 or len(self.heat) != len(self.moisture) or not (rising and falling):
            raise SettingError(f"Moisture {self.moisture} at heat {self.heat} is no drying curve.",
                               "Give two or more points: heat rises, moisture falls.")  # fmt: skip
        if not 0 <= self.least <= self.frosted <= self.most:
            raise SettingError(f"Drying of {self.least:g} to {self.most:g} points a day and {self.frosted:g} when "
                               "frosted does not fit together.", "Give 0 <= least <= frosted <= most.")  # fmt: skip

    @property
    def last_slope(self) -> float:
        """Points lost for each whole unit of heat on the last stretch."""
        return (self.moisture[-2] - self.moisture[-1]) / (self.heat[-1] - self.heat[-2])


def moisture_at(heat: ArrayLike, drying: Drying) -> Floats:
    """Whole-plant moisture [percent] by the curve alone, at a heat since sowing [whole units].

    >>> drying = Drying((0, 100), (80, 60), held_from=73, least=0.4, most=1.0, frosted=0.5)
    >>> moisture_at([-5, 0, 50, 110], drying).tolist()
    [80.0, 80.0, 70.0, 58.0]
    """
    gathered = np.asarray(heat, float)
    inside = np.interp(gathered, drying.heat, drying.moisture)
    beyond = np.maximum(gathered - drying.heat[-1], 0)
    return np.maximum(inside - beyond * drying.last_slope, DRIEST)


def heat_at(moisture: ArrayLike, drying: Drying) -> Floats:
    """Heat since sowing [whole units] at which the curve has a moisture [percent]: the way back from `moisture_at`.

    Wetter than the first point gives the first heat.

    >>> drying = Drying((0, 100), (80, 60), held_from=73, least=0.4, most=1.0, frosted=0.5)
    >>> heat_at([85, 80, 70, 58], drying).tolist()
    [0.0, 0.0, 50.0, 110.0]
    """
    wanted = np.asarray(moisture, float)
    inside = np.interp(-wanted, [-m for m in drying.moisture], drying.heat)
    return inside + np.maximum(drying.moisture[-1] - wanted, 0) / drying.last_slope


def moisture_by_day(
    gathered: ArrayLike,
    drying: Drying,
    killed: ArrayLike | None = None,
    *,
    first_day: int = 0,
    start: ArrayLike | None = None,
) -> Floats:
    """Whole-plant moisture at the end of each day.

    Each day it falls by what the curve gives for the day's heat; from dent on by no less and no more than the published
    least and most points a day; after the day of a killing frost by the frosted rate, whatever the heat.

    Parameters
    ----------
    gathered : array, shape (..., day) [whole units]
        Heat since sowing by the end of each day; never falling.
    drying : Drying
    killed : array, shape (...), optional [column]
        Day of the killing frost, +inf where none came.
    first_day : int [column]
        Column of the first day of `gathered`.
    start : array, shape (...), optional [percent]
        Moisture at the end of the first day, where it was measured; else the curve's.

    Returns
    -------
    float array, shape (..., day) [percent]

    Examples
    --------
    Ten units a day: two points by the curve, one at most; after a killing frost on day 2 half a point:

    >>> drying = Drying((0, 100), (80, 60), held_from=73, least=0.4, most=1.0, frosted=0.5)
    >>> moisture_by_day(np.arange(20, 80, 10), drying, killed=2).tolist()
    [76.0, 74.0, 72.0, 71.5, 71.0, 70.5]
    """
    heat = np.asarray(gathered, float)
    curve = moisture_at(heat, drying)
    lost = np.diff(curve, axis=-1, prepend=curve[..., :1])
    np.negative(lost, out=lost)
    held = np.zeros(curve.shape, bool)
    held[..., 1:] = curve[..., :-1] <= drying.held_from  # the day that passes dent is the curve's
    lost = np.where(held, np.clip(lost, drying.least, drying.most), lost)
    if killed is not None:
        days = first_day + np.arange(heat.shape[-1])
        lost = np.where(days > np.asarray(killed)[..., None], drying.frosted, lost)
    begin = curve[..., 0] if start is None else np.asarray(start, float)
    lost[..., 0] = 0
    return np.maximum(begin[..., None] - np.cumsum(lost, axis=-1), DRIEST)


def first_day_at(moisture: Floats, percent: float, first_day: int = 0) -> Floats:
    """First day whose evening is at or under a moisture; +inf where none is. The backward form of `moisture_by_day`.

    moisture : float array [..., day], percent, falling -> float array [...], columns

    >>> first_day_at(np.array([72.0, 70.5, 70.0, 69.5]), 70, first_day=250)
    array(252.)
    """
    reached = moisture <= percent + 1e-9  # sums of points are not exact
    return np.where(reached.any(axis=-1), reached.argmax(axis=-1) + first_day, NEVER)


def mixed(corn: ArrayLike, legume: ArrayLike, legume_share: ArrayLike) -> Floats:
    """Moisture of what comes off a field of corn and legume [percent]; shares of the wet weight.

    >>> float(mixed(65, 75, 0.2))
    67.0
    """
    share = np.asarray(legume_share, float)
    return (1 - share) * np.asarray(corn, float) + share * np.asarray(legume, float)
