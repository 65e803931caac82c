"""Development by heat and day length: a plant's own days, counted in ten-thousandths so that sums are exact.

One day at the best temperature and in short days counts as one; every other day as the share that its temperature and
its length allow. A rate that depends on the calendar day is still one running sum, so the forward and the backward
search work through these stages like through any other.
"""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError, choose
from frostkit.seasons.daylength import CLOSED, season_day_length

Floats = NDArray[np.float64]
WHOLE = 10_000


@dataclass(frozen=True)
class Photothermal:
    """The clock of photothermal days; of thermal days where no critical day length is given.

    Parameters
    ----------
    temperatures : base, first optimum, last optimum, ceiling [degC]
        The response is 0 at base and ceiling, 1 between the optima, straight between them, on a sine curve of the day.
    latitude : degrees north
    critical : day length [h] up to which days count in full; None: day length does not matter (a day-neutral crop)
    sensitivity : what each hour above it takes off [1/h]
    day_length : the definition of day that `critical` and `sensitivity` were fitted with, one of `daylength.CLOSED`
    cool_nights : (below, slowing) or None: Tmin under `below` [degC] slows by `slowing` a degree

    References
    ----------
    Grimm, Jones, Boote & Hesketh 1993, Crop Sci. 33:137-144: rate = temperature response x day-length response, and
    the latter 1 - sensitivity x (day length - critical), held to 0..1 (from memory; form read in open source).

    Examples
    --------
    17.5 degC all day is half way from 7 to 28:

    >>> steady = np.full((1, 365), 175, np.int16)
    >>> int(Photothermal().rate(steady, steady)[0, 171])
    5000

    The same on 21 June at 50 N, for soybean of maturity group 00:

    >>> group_00 = Photothermal(latitude=50.0, critical=14.35, sensitivity=0.148)
    >>> int(group_00.rate(steady, steady)[0, 171])
    3668
    """

    temperatures: tuple[float, float, float, float] = (7.0, 28.0, 35.0, 45.0)  # published soybean species file
    latitude: float | None = None
    critical: float | None = None
    sensitivity: float = 0.0
    day_length: str = "centre-spitters"
    cool_nights: tuple[float, float] | None = None

    per_unit: ClassVar[int] = WHOLE

    def __post_init__(self) -> None:
        choose("day_length", self.day_length, CLOSED)
        base, first, last, ceiling = self.temperatures
        if not base < first <= last < ceiling:
            raise SettingError(f"temperatures={self.temperatures} are not in order.",
                               "Give base < first optimum <= last optimum < ceiling, in degC.")  # fmt: skip
        if self.critical is not None and self.latitude is None:
            raise SettingError("A crop that goes by day length needs a latitude, and there is none.",
                               "Give latitude= in degrees north.")  # fmt: skip

    @property
    def unit(self) -> str:
        """The unit people say."""
        return "thermal days" if self.critical is None else "photothermal days"

    @property
    def same_every_day(self) -> bool:
        """Whether the rate depends on temperatures alone, so that any slice of days may be asked for."""
        return self.critical is None

    def rate(
        self, tmin10: NDArray[np.int16], tmax10: NDArray[np.int16], response: Floats | None = None
    ) -> NDArray[np.int32]:
        """Development of each day [ten-thousandths]; where a reading is missing the value means nothing.

        tmin10, tmax10 : int16 arrays [..., 365], tenths of degC
        response : `temperature_response` of the same days, where it is known already
        """
        if response is None:
            response = temperature_response(tmin10, tmax10, self.temperatures)
        rate = response * WHOLE
        if self.critical is not None:
            rate *= self.day_length_response()
        if self.cool_nights is not None:
            below, slowing = self.cool_nights
            rate *= np.clip(1 - slowing * (below - tmin10 / 10), 0, 1)
        return np.rint(rate).astype(np.int32)

    def day_length_response(self) -> Floats:
        """Share of full development that the length of each day allows. [365]"""
        if self.critical is None or self.latitude is None:
            return np.ones(1)
        hours = season_day_length(self.latitude, self.day_length).hours
        return short_day_response(hours, self.critical, self.sensitivity)


def short_day_response(hours: ArrayLike, critical: float, sensitivity: float) -> Floats:
    """Share of full development that a day length [h] allows: 1 up to `critical`, less `sensitivity` an hour above it.

    A negative sensitivity makes a long-day crop, 0 a day-neutral one. `hours` and `critical` must have one definition.

    >>> round(float(short_day_response(15.0, 14.35, 0.148)), 4)
    0.9038
    """
    return np.clip(1 - sensitivity * np.maximum(np.asarray(hours, float) - critical, 0), 0, 1)


def temperature_response(
    tmin10: NDArray[np.int16], tmax10: NDArray[np.int16], temperatures: tuple[float, float, float, float]
) -> Floats:
    """Mean of the response over a day whose temperature is a sine from Tmin to Tmax, in closed form.

    The response is a trapezoid: 0 at base and ceiling, 1 between the optima. It is two ramps up to the first optimum
    less two from the last on; the mean of a ramp on a sine is the degree days above its foot (Baskerville & Emin 1969,
    Ecology 50:514-517).

    tmin10, tmax10 : int16 arrays [...], tenths of degC. Returns float [...] 0 to 1.

    >>> temperature_response(np.int16([280, 70]), np.int16([350, 70]), (7, 28, 35, 45)).tolist()
    [1.0, 0.0]
    """
    base, first, last, ceiling = temperatures
    low, high = np.minimum(tmin10, tmax10), np.maximum(tmin10, tmax10)
    out = np.zeros(low.shape)
    warm = high > 10 * base  # half the year is colder: skip it
    mean = (low[warm].astype(float) + high[warm]) / 20
    swing = (high[warm].astype(float) - low[warm]) / 20
    up, down = 1 / (first - base), 1 / (ceiling - last)
    response = up * (_above(base, mean, swing) - _above(first, mean, swing))
    hot = mean + swing > last  # the falling side is seldom reached
    if hot.any():
        response[hot] -= down * (_above(last, mean[hot], swing[hot]) - _above(ceiling, mean[hot], swing[hot]))
    out[warm] = np.clip(response, 0, 1)
    return out


def _above(level: float, mean: Floats, swing: Floats) -> Floats:
    """Mean of max(0, t - level) over a sine of this mean and swing [degC] (Baskerville & Emin 1969)."""
    side = np.clip((level - mean) / np.where(swing == 0, 1e-9, swing), -1, 1)
    part = ((mean - level) * (np.pi / 2 - np.arcsin(side)) + swing * np.sqrt(1 - side * side)) / np.pi
    return np.where(side <= -1, mean - level, np.where(side >= 1, 0.0, part))
