"""How long a frost night stayed at or below a temperature, when only its minimum and the days around it were read."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

STEP = 1 / 60  # h, one minute
# Parton & Logan 1981 (Agric. Meteorol. 23:205-216), 150 cm, Denver: lag of the maximum after noon, night decay, lag of
# the minimum after sunrise. Which is which: from memory of the paper (a package document lists them swapped).
MAXIMUM_LAG, DECAY, MINIMUM_LAG = 1.86, 2.20, -0.17
SUNSET_DROP = 0.39  # Cesaraccio et al. 2001 (Int. J. Biometeorol. 45:161-169): share of the range lost by sunset
AFTERNOON = 4.0  # same: hours from the maximum to sunset


class Hours(NamedTuple):
    """Hours, the least and the most of what the curves say [h]."""

    low: NDArray[np.float64]
    high: NDArray[np.float64]


def _sine_and_decay(hour, sunrise, sunset, before, tmin, after):
    """Parton & Logan 1981 from the noon before (hour counts on past midnight) to the noon after."""
    length = sunset - sunrise
    width = length + 2 * (MAXIMUM_LAG - MINIMUM_LAG)

    def day(tmax, since):
        return tmin + (tmax - tmin) * np.sin(np.pi * (since - MINIMUM_LAG) / width)

    dark = 24 - length + MINIMUM_LAG
    at_sunset = day(before, length)
    night = tmin + (at_sunset - tmin) * np.exp(-DECAY * (hour - sunset) / dark)
    lowest = sunrise + 24 + MINIMUM_LAG
    return np.where(hour < sunset, day(before, hour - sunrise),
                    np.where(hour < lowest, night, day(after, hour - sunrise - 24)))  # fmt: skip


def _sine_and_root(hour, sunrise, sunset, before, tmin, after):
    """Cesaraccio et al. 2001 from the noon before to the noon after."""
    at_sunset = before - SUNSET_DROP * (before - tmin)
    top = sunset - AFTERNOON
    falling = at_sunset + (before - at_sunset) * np.sin(np.pi / 2 * (1 + (hour - top) / AFTERNOON))
    since = np.clip(hour - sunset, 0, None)
    night = at_sunset + (tmin - at_sunset) * np.sqrt(since / (sunrise + 24 - sunset))
    rising = tmin + (after - tmin) * np.sin(np.pi / 2 * (hour - sunrise - 24) / (top - sunrise))
    return np.where(hour < top, before,
                    np.where(hour < sunset, falling, np.where(hour < sunrise + 24, night, rising)))  # fmt: skip


CURVES = {"sine and decay": _sine_and_decay, "sine and root": _sine_and_root}


def hours_at_or_below(threshold: ArrayLike, before: ArrayLike, tmin: ArrayLike, after: ArrayLike,
                      day_length: ArrayLike = 12.5) -> Hours:  # fmt: skip
    """Hours of a night at or below a temperature: the two published curves disagree, so it is a range.

    Parameters
    ----------
    threshold, before, tmin, after : arrays that broadcast [degC]
        The temperature asked for; the maximum of the day before, the minimum, the maximum of the day after.
    day_length : array [h]
        Sunrise to sunset; 12.5 is mid-September on the northern plains.

    Returns
    -------
    Hours [h]

    References
    ----------
    Parton & Logan 1981, Agric. Meteorol. 23:205-216; Cesaraccio, Spano, Duce & Snyder 2001, Int. J. Biometeorol.
    45:161-169.

    Examples
    --------
    -2 degC between two days of 14 degC:

    >>> [round(float(h), 2) for h in hours_at_or_below(0.0, 14.0, -2.0, 14.0, 12.7)]
    [3.33, 4.85]
    """
    arrays = np.broadcast_arrays(
        *(np.asarray(a, float)[..., None] for a in (threshold, before, tmin, after, day_length))
    )
    threshold, before, tmin, after, length = arrays
    sunrise, sunset = 12 - length / 2, 12 + length / 2
    hour = np.arange(12, 36, STEP)
    found = [
        (curve(hour, sunrise, sunset, before, tmin, after) <= threshold).sum(-1) * STEP for curve in CURVES.values()
    ]
    # a curve that decays towards the minimum without reaching it still spent a moment there
    return Hours(np.minimum(*found), np.maximum(*found))
