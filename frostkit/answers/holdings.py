"""What a record holds, season by season: days read, days missing, and whether the season is complete."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.station import Behind
from frostkit.seasons.calendar import COMPLETE, MISSING, moved


@dataclass(frozen=True)
class Holdings:
    """Counts [season] over the days a complete season is judged by (1 April to 31 October).

    missing_tmin, missing_tmax : days without a reading
    longest : the longest run of days without heat, which needs both readings
    """

    behind: Behind
    first: int
    last: int
    missing_tmin: NDArray[np.int64]
    missing_tmax: NDArray[np.int64]
    longest: NDArray[np.int64]


def holdings(behind: Behind) -> Holdings:
    """Days missing in every season, and the longest run of them."""
    first, last = (moved(day, behind.cube.season_starts) for day in COMPLETE)
    no_tmin, no_tmax = (values[:, first : last + 1] == MISSING for values in behind.cube.columns())
    no_heat = no_tmin | no_tmax
    since = np.where(no_heat, 0, np.arange(1, no_heat.shape[1] + 1))
    run = np.arange(1, no_heat.shape[1] + 1) - np.maximum.accumulate(since, axis=1)
    return Holdings(behind, first, last, no_tmin.sum(1), no_tmax.sum(1), run.max(1))
