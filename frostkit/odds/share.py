"""Odds: the share of possible seasons that said yes, with the interval that so few seasons and an unsure climate leave.

One estimator, counted in integers: by season first, then by draw. Shares equal counts; nothing is smoothed.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
LEVEL = 0.90
"""Every interval is a 90 % one unless asked otherwise (DESIGN)."""
AGREED = 0.9  # part of the draws that must say the same for a season to be a yes or a no (DESIGN)
_GRID = 1024  # angles at which distributions of odds are kept


class Share(NamedTuple):
    """In how many possible seasons, and how far that can be trusted; arrays of one shape [...].

    share : yes over all draws and seasons, of draws x seasons; NaN for no seasons
    low, high : where the true odds of the coming season lie; level : with this confidence
    yes, no : seasons in which at least 9 in 10 draws said so; not_known : the others
    seasons : seasons counted; complete : those read without a hole in what was asked
    total : yes summed over draws; draws : how many
    """

    share: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    level: float
    yes: Ints
    no: Ints
    not_known: Ints
    seasons: int
    complete: int
    total: Ints
    draws: int

    @property
    def count(self) -> Ints:  # type: ignore[override]
        """The number that people read: seasons that said yes, rounded down so that rounding reaches no odds."""
        return self.total // self.draws

    def reaches(self, odds: float) -> NDArray[np.bool_]:
        """Whether yes summed over draws is at least odds x seasons x draws; never by rounding. [...]"""
        return np.asarray(self.total >= odds * self.seasons * self.draws - 1e-9) & (self.seasons > 0)

    def as_dict(self) -> dict[str, float | int | None]:
        """One share for programs, as agreed; `share` is None for no seasons."""
        share = float(self.share)
        return {
            "share": None if share != share else int(share) if share.is_integer() else round(share, 5),
            "low": round(float(self.low), 4),
            "high": round(float(self.high), 4),
            "level": self.level,
            "yes": int(self.yes),
            "no": int(self.no),
            "not_known": int(self.not_known),
            "seasons": int(self.seasons),
            "complete": int(self.complete),
            "count": int(self.count),
        }

    def at(self, place: int | tuple | Ints) -> "Share":
        """One entry, or some."""
        parts = {
            name: getattr(self, name)[place] for name in ("share", "low", "high", "yes", "no", "not_known", "total")
        }
        return self._replace(**parts)


def share(yes: NDArray[np.bool_], complete: ArrayLike, shifted: NDArray[np.bool_] | None = None,
          level: float = LEVEL) -> Share:  # fmt: skip
    """In how many possible seasons, with its interval.

    Parameters
    ----------
    yes : bool [draw, season, ...], of the central shift
    complete : bool [season], settled beforehand
    shifted : bool [shift, season, ...], with the climate's move drawn within its error; None where nothing was moved
    level : confidence of the interval

    References
    ----------
    Jeffreys' interval: Brown, Cai and DasGupta 2001, Statistical Science 16:101-133. Its mixture over draws: Rubin
    1987, Multiple Imputation for Nonresponse in Surveys, ch. 3 (from memory; he takes a normal, we the mixture itself).

    >>> half = share(np.arange(30)[None, :] < 27, np.ones(30, bool))
    >>> int(half.count), [round(float(v), 3) for v in (half.share, half.low, half.high)]
    (27, [0.9, 0.783, 0.963])
    """
    if not 0 < level < 1:
        raise SettingError(f"A level of {level:g} is no confidence.", "Give one between 0 and 1, such as 0.9.")
    draws, seasons = yes.shape[:2]
    by_season = yes.sum(axis=0, dtype=np.int64)
    sure = (by_season >= AGREED * draws - 1e-9).sum(axis=0)
    never = (by_season <= (1 - AGREED) * draws + 1e-9).sum(axis=0)
    total = by_season.sum(axis=0)
    counts = (yes if shifted is None else shifted).sum(axis=1, dtype=np.int64)
    low, high = mixed_interval(counts, seasons, level)
    low, high = np.where(total == 0, 0.0, low), np.where(total == seasons * draws, 1.0, high)
    of = np.full(total.shape, np.nan) if not seasons else total / (seasons * draws)
    # the interval of what the draws of the climate's move allow may lie beside a share at its edge: it holds the share
    low, high = np.fmin(low, of), np.fmax(high, of)
    full = int(np.count_nonzero(complete))
    return Share(of, low, high, level, sure, never, seasons - sure - never, seasons, full, total, draws)


def mixed_interval(counts: Ints, seasons: int, level: float = LEVEL) -> tuple[NDArray, NDArray]:
    """Where the odds lie when each draw counted so many of some seasons: the ends of Jeffreys' distributions, mixed.

    counts : int [draw, ...] -> two float arrays [...]
    """
    if not seasons:
        return np.zeros(counts.shape[1:]), np.ones(counts.shape[1:])
    if len(counts) == 1 or (counts == counts[0]).all():
        return jeffreys(counts[0], seasons, level)
    flat = counts.reshape(len(counts), -1)
    counted, at = np.unique(flat, return_inverse=True)
    weight = np.zeros((flat.shape[1], counted.size))
    np.add.at(weight, (np.arange(flat.shape[1])[None, :], at.reshape(flat.shape)), 1 / len(flat))
    # each cell's mixture [cell, angle]; not by @, whose threads take 30 times as long on a busy machine
    mixed = Posterior(*(np.einsum("cy,yx->cx", weight, part[counted]) for part in _of_counts(seasons)))
    tail = (1 - level) / 2
    low, high = (quantile(mixed, p).reshape(counts.shape[1:]) for p in (tail, 1 - tail))
    return low, high


class Interval(NamedTuple):
    """Two ends of an interval, arrays of one shape."""

    low: Floats
    high: Floats


def jeffreys(yes: ArrayLike, total: ArrayLike, level: float = LEVEL) -> Interval:
    """Where the true odds lie when `yes` of `total` seasons said yes.

    The middle `level` of Beta(yes + 1/2, total - yes + 1/2); 0 when none said yes, 1 when all did, (0, 1) for no
    seasons. Counts need not be whole: an effective number of seasons may be given.

    References
    ----------
    Brown, Cai, DasGupta 2001, Statistical Science 16:101-133, section 3.2 and 4.1.3 (ends at 0 and n).

    >>> [end.round(3).tolist() for end in jeffreys(27, 30)]
    [0.783, 0.963]
    """
    count, of = np.broadcast_arrays(np.asarray(yes, float), np.asarray(total, float))
    behind = posterior(count.ravel(), (of - count).ravel())
    tail = (1 - level) / 2
    low, high = (quantile(behind, p).reshape(of.shape) for p in (tail, 1 - tail))
    return Interval(np.where(count > 0, low, 0.0), np.where(count < of, high, 1.0))


_ANGLES = np.linspace(0, np.pi / 2, 2 * _GRID - 1)
"""Half steps: every other one is a point at which distributions are kept."""
_STEP = 2 * _ANGLES[1]
ODDS = np.sin(_ANGLES[::2]) ** 2
"""Odds from 0 to 1 at even angles, closer together at the ends: the squared sine. [angle]"""


class Posterior(NamedTuple):
    """Where true odds lie, by the angle whose squared sine they are. float [..., angle]

    below : how surely they are at most `ODDS`; density : by the angle
    """

    below: Floats
    density: Floats


def posterior(yes: Floats, no: Floats) -> Posterior:
    """Beta(yes + 1/2, no + 1/2). float [k] -> [k, angle]

    By the angle the density is sine^(2 yes) cosine^(2 no), without the poles that it has by the odds: Simpson's rule
    sums it to a billionth, and no library of special functions is needed at a command's start.

    >>> posterior(np.array([3.0]), np.array([3.0])).below[0, [0, -1]].tolist()
    [0.0, 1.0]
    """
    with np.errstate(divide="ignore"):
        sine, cosine = np.log(np.sin(_ANGLES)), np.log(np.maximum(np.cos(_ANGLES), 0.0))
    sine[0] = cosine[-1] = -1e6  # nothing is there, but where the power is 0
    height = 2 * yes[:, None] * sine + 2 * no[:, None] * cosine
    density = np.exp(height - height.max(axis=1, keepdims=True))
    steps = (density[:, :-1:2] + 4 * density[:, 1::2] + density[:, 2::2]) * _STEP / 6
    below = np.zeros((len(density), _GRID))
    np.cumsum(steps, axis=1, out=below[:, 1:])
    whole = below[:, -1:].copy()
    return Posterior(below / whole, density[:, ::2] / whole)


def quantile(of: Posterior, p: float) -> Floats:
    """The odds that true odds are under with probability `p`. [..., angle] -> [...]

    Between two angles the density is taken as straight.
    """
    at = np.clip((of.below <= p).sum(axis=-1) - 1, 0, _GRID - 2)[..., None]
    below, first, next_ = (
        np.take_along_axis(part, at + more, axis=-1)[..., 0]
        for part, more in ((of.below, 0), (of.density, 0), (of.density, 1))
    )
    rest = np.maximum(p - below, 0.0)
    bend = (next_ - first) / (2 * _STEP)
    root = np.sqrt(np.maximum(first**2 + 4 * bend * rest, 0.0))
    step = 2 * rest / np.maximum(first + root, 1e-300)
    return np.asarray(np.sin(_ANGLES[2 * at[..., 0]] + np.minimum(step, _STEP)) ** 2)


@lru_cache(maxsize=8)
def _of_counts(seasons: int) -> Posterior:
    """`posterior` of every count of so many seasons. [yes, angle]"""
    yes = np.arange(seasons + 1.0)
    return posterior(yes, seasons - yes)


def day_of(odds: float, total: Ints, days: NDArray, seasons: int, draws: int) -> float:
    """First day by which an event has come in at least these odds of the seasons; +inf where it has not by the last.

    total : int [day], yes summed over draws; days : columns [day]
    """
    reached = np.flatnonzero(total >= odds * seasons * draws - 1e-9)
    return float(days[reached[0]]) if reached.size else float("inf")
