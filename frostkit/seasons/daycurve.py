"""Temperature through a night from its daily extremes, by two published curves, and hours of cold from them.

Only the extremes were read, so hours are an estimate, and the two curves part by hours at the same Tmin: they are
given as a range. That range is between methods, not an interval for a night. Measured on hourly readings of four
airports (three at New York, one on the Gulf of Alaska; nights at or below 0 degC): the mean over nights lies within
an hour of the range, a single night is off from its middle by 2 to 3 hours, and inside it in 1 of 5 nights. Each
curve is turned round exactly, so that hours need no steps in time.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

# Parton and Logan 1981 (Agric. Meteorol. 23:205-216), Denver, 150 cm. A package document lists them in the order lag of
# the maximum, lag of the minimum, decay, while its code takes the second as the decay: which is which is from memory of
# the paper.
MAXIMUM_LAG = 1.86  # h after noon, a: Parton and Logan 1981
MINIMUM_LAG = -0.17  # h after sunrise, c: Parton and Logan 1981
DECAY = 2.20  # of the night, b: Parton and Logan 1981
SUNSET_DROP = 0.39  # share of the fall to the next minimum that is lost by sunset: Cesaraccio et al. 2001
TO_SUNSET = 4.0  # h from the maximum to sunset: Cesaraccio et al. 2001


class Hours(NamedTuple):
    """Hours by the curve that gives fewer, and by the one that gives more; float [...], h."""

    low: Floats
    high: Floats


def hours_at_or_below(at_or_below: ArrayLike, before: ArrayLike, tmin: ArrayLike, after: ArrayLike, sunrise: ArrayLike,
                      sunset: ArrayLike) -> Hours:  # fmt: skip
    """Hours of a night at or below a temperature, as a range over the two curves.

    From the maximum of the day before to that of the day after.

    Parameters
    ----------
    at_or_below : [degC]
    before, tmin, after : float arrays that broadcast [degC], NaN where nothing is known
        Maximum of the day before, minimum of the night, maximum of the day after.
    sunrise, sunset : [h]

    Returns
    -------
    Hours [h], NaN where a reading is not known

    Examples
    --------
    -2 degC between two days of 14 degC, mid-September at 52 N:

    >>> [round(float(h), 2) for h in hours_at_or_below(0.0, 14.0, -2.0, 14.0, 6.7, 19.4)]
    [3.33, 4.85]
    """
    arrays = np.broadcast_arrays(*_floats(at_or_below, before, tmin, after, sunrise, sunset))
    found = _hours_of_decay(*arrays), _hours_of_root(*arrays)
    return Hours(np.minimum(*found), np.maximum(*found))


def _floats(*values: ArrayLike) -> list[Floats]:
    return [np.asarray(value, float) for value in values]


def _parts(sunrise, sunset, maximum_lag=MAXIMUM_LAG, minimum_lag=MINIMUM_LAG):
    """Day length, width of the day's sine, and length of the night's decay [h]."""
    length = sunset - sunrise
    return length, length + 2 * (maximum_lag - minimum_lag), 24 - length + minimum_lag


def _share(limit, low, high):
    """Where the limit stands between two temperatures: 0 at or under the low one, 1 at or over the high one."""
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.clip((limit - low) / (high - low), 0, 1)
        share = np.where(high > low, share, limit >= low)
    return np.where(np.isnan(limit + low + high), np.nan, share)


def _hours_of_decay(limit, before, tmin, after, sunrise, sunset):
    """the curve of Parton and Logan 1981 turned round: hours before sunset, between sunset and dawn, and after dawn."""
    length, width, night = _parts(sunrise, sunset)
    noon = width / 2 + MINIMUM_LAG  # of the sine, after sunrise
    at_sunset = tmin + (before - tmin) * np.sin(np.pi * (length - MINIMUM_LAG) / width)
    falling = np.arcsin(_share(limit, tmin, before)) * width / np.pi  # from the far foot of the sine
    evening = np.clip(falling - (width - (length - MINIMUM_LAG)), 0, length - noon)
    with np.errstate(divide="ignore", invalid="ignore"):
        since = np.where(limit >= at_sunset, 0, -np.log(_share(limit, tmin, at_sunset)) * night / DECAY)
    dark = np.where(np.isnan(at_sunset + limit), np.nan, np.clip(night - since, 0, None))
    morning = np.arcsin(_share(limit, tmin, after)) * width / np.pi
    return np.where(
        limit >= tmin, evening + dark + morning, np.where(np.isnan(limit + before + tmin + after), np.nan, 0)
    )


def _hours_of_root(limit, before, tmin, after, sunrise, sunset):
    """the curve of Cesaraccio et al. 2001 turned round: hours before sunset, in the night, and after sunrise."""
    at_sunset = before - SUNSET_DROP * (before - tmin)
    evening = TO_SUNSET * (1 - np.arccos(_share(limit, at_sunset, before)) / (np.pi / 2))
    night = (24 - sunset + sunrise) * (1 - (1 - _share(limit, tmin, at_sunset)) ** 2)
    morning = (sunset - TO_SUNSET - sunrise) * np.arcsin(_share(limit, tmin, after)) / (np.pi / 2)
    return np.where(limit >= tmin, evening + night + morning,
                    np.where(np.isnan(limit + before + tmin + after), np.nan, 0))  # fmt: skip
