"""How a station's season dates are spread over the days: so many seasons on each stretch of days."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray


class Curve(NamedTuple):
    """Seasons spread over pieces, each lying evenly on the whole days `first` to `last`.

    first, last : float [..., piece], days; `-inf` and `+inf` for seasons without the event
    mass : float [..., piece], in seasons, whole or not; all NaN where nothing can be said
    """

    first: NDArray[np.float64]
    last: NDArray[np.float64]
    mass: NDArray[np.float64]

    def by(self, days: ArrayLike) -> NDArray[np.float64]:
        """Share of seasons whose date is on or before each day.

        days : array [..., day] with the curve's leading axes, or [day]

        >>> Curve(np.array([10., 20.]), np.array([10., 23.]), np.ones(2)).by([9, 10, 21, 23]).tolist()
        [0.0, 0.5, 0.75, 1.0]
        """
        day = np.asarray(days, float)[..., None, :]
        first, last, mass = (part[..., None] for part in self)
        total = mass.sum(-2)
        if np.array_equal(self.first, self.last):
            with np.errstate(invalid="ignore", divide="ignore"):
                return (mass * (first <= day)).sum(-2) / total
        with np.errstate(invalid="ignore", divide="ignore"):
            length = np.where(np.isfinite(last - first), last - first + 1, 1.0)
            part = np.where(first == last, first <= day, np.clip((day - first + 1) / length, 0, 1))
            return (mass * part).sum(-2) / total

    def day_of(self, p: ArrayLike) -> NDArray[np.float64]:
        """First whole day by which the share reaches `p` [q]: [..., q]; `+inf` where no day does.

        `-inf` where seasons without the event (first = last = -inf) are enough.

        >>> never = Curve(np.array([10., 20., np.inf]), np.array([10., 23., np.inf]), np.ones(3))
        >>> never.day_of([0.3, 0.5, 0.9]).tolist()
        [10.0, 21.0, inf]
        """
        order = np.argsort(self.first, axis=-1, kind="stable")
        first, last, mass = (np.take_along_axis(part, order, -1) for part in self)
        total = np.cumsum(mass, -1)
        wanted = np.atleast_1d(np.asarray(p, float)) * total[..., -1:] - 1e-9  # sums of floats: reached within rounding
        piece = (total[..., None, :] < wanted[..., None]).sum(-1)  # [..., q]
        at = [np.take_along_axis(part, piece, -1) for part in (first, last, mass, total)]
        with np.errstate(invalid="ignore", divide="ignore"):
            inside = np.clip((wanted - (at[3] - at[2])) / at[2], 0, 1)
            later = np.maximum(np.ceil(inside * (at[1] - at[0] + 1) - 1e-9) - 1, 0)
        day = np.where(at[0] == at[1], at[0], at[0] + later)
        return np.where(np.isnan(total[..., -1:]), np.nan, day)


def from_known(day: ArrayLike, use: ArrayLike | None = None) -> Curve:
    """Every season on its day, weighing 1, or what `use` (bool or weight [..., season]) says.

    >>> from_known([250, 260]).by([255]).tolist()
    [0.5]
    """
    at = np.asarray(day, float)
    return Curve(at, at, np.broadcast_to(np.ones(1) if use is None else np.asarray(use, float), at.shape))
