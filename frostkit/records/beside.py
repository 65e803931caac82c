"""Quality checks of one station's Tmin and Tmax against its neighbours.

The regression and the corroboration after Durre et al. 2010 (J. Appl. Meteorol. Climatol. 49:1615-1633); MEMORY and
OURS as in `records.alone`. Hours of reading differ between stations: a value that a neighbour bears out a day early
or late is kept, and a single neighbour is believed only where it departs less from its own days.
"""

import numpy as np

from frostkit.records.alone import Bad, Look, departures, from_days_around, nearest_of, supported
from frostkit.records.expect import LEAST, TO_SD, expected

NEIGHBOUR = 4.0  # standard deviations from the regression on the neighbours, MEMORY
NEIGHBOUR_DEGREES = 8.0  # degC, same check, MEMORY
CORROBORATE = 10.0  # degC from every neighbour's departure on the day and the days beside it, MEMORY


def regression(look: Look) -> Bad:
    """Far from the regression on the neighbours' readings of the same day.

    Each neighbour's own regression, weighted by one over its squared scatter.
    """
    if not look.neighbours:
        return np.zeros(look.readings.shape, bool)
    departure, beside = departures(look)
    bad = np.zeros(look.readings.shape, bool)
    for element in (0, 1):
        residuals, weights = [], []
        for other in beside:
            residual, scatter = _from_neighbour(departure[element], other[element], other[1 - element], look.days)
            residuals.append(residual)
            weights.append(np.where(np.isfinite(residual), 1 / scatter**2, 0))
        total = np.sum(weights, axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            residual = np.nansum(np.multiply(weights, residuals), axis=0) / total
            score = np.abs(residual) / _robust(residual, look.days.month)
            bad[element] = (np.abs(residual) >= NEIGHBOUR_DEGREES) & (score >= NEIGHBOUR)
    return bad & ~supported(departure, beside) & _not_the_neighbour(look, beside)


def corroboration(look: Look) -> Bad:
    """No neighbour departed from its usual by nearly as much, on the day or the days beside it."""
    if not look.neighbours:
        return np.zeros(look.readings.shape, bool)
    departure, beside = departures(look)
    nearest = nearest_of(departure, beside)
    bad = (nearest >= CORROBORATE) & np.isfinite(nearest)
    return bad & _not_the_neighbour(look, beside)


def _from_neighbour(own, same, other, days):
    """Residual and scatter from one neighbour's Tmin and Tmax, on the days it has a reading."""
    own = np.where(np.isfinite(same), own, np.nan)
    value, scatter = expected(own, np.stack([same, other]), days.month)
    return own - value, scatter


def _robust(residual, month):
    """Robust standard deviation of a calendar month's residuals, for each day."""
    known = np.isfinite(residual)
    size = np.full(12, np.inf)
    for each in range(12):
        here = residual[known & (month == each)]
        if here.size >= LEAST:
            size[each] = TO_SD * np.median(np.abs(here))
    return size[month]


def _not_the_neighbour(look, beside):
    """Where a single neighbour stands against the station: the one that departs more from its own days is wrong."""
    known = np.sum([np.isfinite(other) for other in look.neighbours], axis=0)
    residual, scatter = from_days_around(look.readings, look.days)
    own = np.nan_to_num(np.abs(residual) / scatter)
    least = np.zeros(look.readings.shape, np.float32)
    for other in look.neighbours:
        residual, scatter = from_days_around(other, look.days)
        least = np.fmax(least, np.abs(residual) / scatter)
    return (known > 1) | (least <= own)
