"""The ways to turn season dates into odds, behind one interface: a table of estimators.

Each is fitted to season dates and then answers four questions, for any days and any odds: the share of seasons by a
day, its interval, the day of given odds, its interval.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from frostkit.odds.curve import Curve, from_known
from frostkit.odds.intervals import Interval, jeffreys, order_ranks
from frostkit.odds.normal import mixed_day, mixed_share, moments
from frostkit.odds.trend import middle, slope
from frostkit.odds.turnbull import turnbull

DEFAULT = "trend-shifted"
WINDOW = 30
"""Estimator and number of past seasons, chosen by the track record on real stations: docs/odds_choice.md."""

BANDWIDTH = (
    1.0  # x spread x seasons^(-1/3), Azzalini 1981, Biometrika 68:326-328 (the power); factor: docs/odds_choice.md
)
DRIFT = 0.02  # spreads a season: how much drift is expected beforehand; docs/odds_choice.md
PULLED = 1 / 3  # of the error that drawing the slope to none may add, as variance; tests/published/test_coverage.py
SAVED = 0.3  # of a count's variance, the most that smoothing is taken to save; tests/published/test_coverage.py
MOST_WORTH = 2.0  # a model's odds count for at most as many seasons, times those seen, as a normal's do at one in ten


class Seen(NamedTuple):
    """What an estimator may use.

    first, last : float [..., season], days
    use : bool [..., season], seasons that count (a window of past seasons, say)
    complete : bool [..., season] or None; decided beforehand, never by the outcome
    seasons : float [season], the year of each
    at : float, or array that broadcasts with the leading axes: the season that the odds are for
    open_end : "later", "earlier" or None: which end of an open date is not to be learned from, see `curve`
    """

    first: NDArray[np.float64]
    last: NDArray[np.float64]
    use: NDArray[np.bool_]
    complete: NDArray[np.bool_] | None
    seasons: NDArray[np.float64]
    at: NDArray[np.float64]
    open_end: str | None = None

    def curve(self) -> Curve:
        """The share that fits every season best.

        A first frost that may hide in a hole is an interval from the hole to the first frost that was seen. That seen
        frost is likely to be a second one just when the first was hidden: its day tells of the hole, and taken at its
        word it draws the odds early (measured: by up to 0.16, tests/published/test_odds_by_simulation.py). With
        `open_end` "later" such a season is known only not to have had its event before the hole, which is fair.
        """
        open_date = self.first < self.last
        low = np.where(open_date & (self.open_end == "earlier"), -np.inf, self.first)
        high = np.where(open_date & (self.open_end == "later"), np.inf, self.last)
        return turnbull(low, high, self.use).curve


class Fitted(Protocol):
    """An estimator after it has seen the seasons."""

    def share(self, days: NDArray) -> NDArray[np.float64]:
        """Odds of the event on or before each day [..., day]."""

    def interval(self, days: NDArray, level: float) -> Interval:
        """Interval of those odds [..., day]."""

    def day_of(self, p: NDArray) -> NDArray[np.float64]:
        """First day by which the odds reach `p` [..., q]; `+inf` where none does."""

    def day_interval(self, p: NDArray, level: float) -> Interval:
        """Interval of that day [..., q]."""


OPEN_ENDS = ("later", "earlier")


class Estimator(NamedTuple):
    """One way to odds: in words, and as a function of the seasons and their interval-censored curve."""

    words: str
    fit: Callable[[Seen, Curve], Fitted]


class Counts(NamedTuple):
    """Seasons in which the event came for certain by a day, for certain not, or that can't say: int [..., day]."""

    yes: NDArray[np.int64]
    no: NDArray[np.int64]
    not_known: NDArray[np.int64]


def count(first: ArrayLike, last: ArrayLike, use: ArrayLike, days: ArrayLike) -> Counts:
    """Yes, no and not known over all seasons used, for each day.

    first, last, use : [..., season]; days : [..., day] with the same leading axes, or [day]
    """
    day = np.asarray(days, float)[..., None, :]
    first, last, use = (np.asarray(part)[..., None] for part in (first, last, use))
    yes = (use & (last <= day)).sum(-2)
    no = (use & (first > day)).sum(-2)
    return Counts(yes, no, np.broadcast_to(use.sum(-2), yes.shape) - yes - no)


def counted_interval(counts: Counts, level: float) -> Interval:
    """Jeffreys, the low end with the not-known as no, the high end as yes."""
    total = counts.yes + counts.no + counts.not_known
    return Interval(jeffreys(counts.yes, total, level).low, jeffreys(counts.yes + counts.not_known, total, level).high)


def ordered_interval(first: NDArray, last: NDArray, use: NDArray, p: NDArray, level: float) -> Interval:
    """The day of odds `p` between two seasons in order of date: [..., q]; an open end is -inf or +inf.

    The low end takes every season at the earliest day it can have been, the high end at the latest.
    """
    total = use.sum(-1)
    ranks = order_ranks(total[..., None], p, level)

    def at(day, rank, beyond):
        ordered = np.sort(np.where(use, day, np.inf), -1)
        padded = np.concatenate([np.full((*day.shape[:-1], 1), -np.inf), ordered], -1)
        picked = np.take_along_axis(padded, np.minimum(rank, day.shape[-1]), -1)
        return np.where(rank > total[..., None], beyond, picked)

    return Interval(at(first, ranks.low, np.inf), at(last, ranks.high, np.inf))


class Spread:
    """Odds read off a curve; intervals from the counts."""

    def __init__(self, seen: Seen, curve: Curve):
        self.seen, self.curve = seen, curve

    def share(self, days: NDArray) -> NDArray[np.float64]:
        return self.curve.by(days)

    def interval(self, days: NDArray, level: float) -> Interval:
        return counted_interval(count(self.seen.first, self.seen.last, self.seen.use, days), level)

    def day_of(self, p: NDArray) -> NDArray[np.float64]:
        return self.curve.day_of(p)

    def day_interval(self, p: NDArray, level: float) -> Interval:
        return ordered_interval(self.seen.first, self.seen.last, self.seen.use, p, level)


def _counted(seen: Seen, curve: Curve) -> Fitted:
    """Complete seasons, each at the middle of what it can have been; no curve where none is said to be complete and
    some are not known."""
    middle = middle_day(seen.first, seen.last)
    if seen.complete is not None:
        return Spread(seen, from_known(middle, seen.use & seen.complete))
    certain = ((seen.first == seen.last) | ~seen.use).all(-1, keepdims=True)
    return Spread(seen, from_known(middle, np.where(certain, seen.use, np.nan)))


def middle_day(first: NDArray, last: NDArray) -> NDArray[np.float64]:
    """Middle of what a date can have been, rounded down to a day; the end that is a day where the other is open.

    >>> middle_day(np.array([250., 250, np.inf]), np.array([253., np.inf, np.inf])).tolist()
    [251.0, 250.0, inf]
    """
    with np.errstate(invalid="ignore"):
        middle = np.floor((first + last) / 2)
    ends = np.where(np.isfinite(first), first, last)
    return np.where(first == last, first, np.where(np.isfinite(first) & np.isfinite(last), middle, ends))


def _censored(seen: Seen, curve: Curve) -> Fitted:
    return Spread(seen, curve)


class Modelled(ABC):
    """Odds from a fitted model. Its error is put as the number of seasons that, counted, would be as sure.

    Then the interval is Jeffreys' for that number, with the not-known as no for the low end and as yes for the high.
    """

    def __init__(self, seen: Seen):
        self.seen = seen

    @abstractmethod
    def share(self, days: NDArray) -> NDArray[np.float64]:
        """Share of seasons by each day [..., day]."""

    @abstractmethod
    def variance(self, days: NDArray, share: NDArray) -> NDArray[np.float64]:
        """Of the share, where every season is known [..., day]."""

    def interval(self, days: NDArray, level: float) -> Interval:
        share = self.share(days)
        counts = count(self.seen.first, self.seen.last, self.seen.use, days)
        total = counts.yes + counts.no + counts.not_known
        with np.errstate(invalid="ignore", divide="ignore"):
            open_part = counts.not_known / total
            worth = share * (1 - share) / self.variance(days, share)
            worth = np.where(np.isnan(worth), total, np.minimum(worth, MOST_WORTH * total))  # NaN at shares of 0 and 1
        least, most = share * (1 - open_part), share * (1 - open_part) + open_part
        low, high = jeffreys(least * worth, worth, level).low, jeffreys(most * worth, worth, level).high
        return Interval(np.fmin(low, least), np.fmax(high, most))  # far out a model's odds are surer than any count

    def day_of(self, p: NDArray) -> NDArray[np.float64]:
        days = self._axis()
        return _first_day(days, self.share(days), p)

    def day_interval(self, p: NDArray, level: float) -> Interval:
        days = self._axis()
        ends = self.interval(days, level)
        return Interval(_first_day(days, ends.high, p), _first_day(days, ends.low, p))

    def _axis(self) -> NDArray[np.float64]:
        """Whole days well beyond every date seen."""
        ends = np.concatenate([self.seen.first.ravel(), self.seen.last.ravel()])
        ends = ends[np.isfinite(ends)]
        low, high = (ends.min(), ends.max()) if ends.size else (0.0, 0.0)
        beyond = np.ceil((high - low) / 2) + 20
        return np.arange(low - beyond, high + beyond + 1)


def _first_day(days: NDArray, share: NDArray, p: NDArray) -> NDArray[np.float64]:
    """First of the days on which a share [..., day] is at least p [q]: [..., q]; +inf where none is, -inf where all."""
    reached = share[..., None, :] >= np.asarray(p, float)[:, None] - 1e-12
    first = days[reached.argmax(-1)]
    day = np.where(reached.any(-1), np.where(reached.all(-1), -np.inf, first), np.inf)
    return np.where(np.isnan(share).any(-1)[..., None], np.nan, day)


class Smooth(Modelled):
    """The curve, each season's date spread by a normal of a width that narrows with the number of seasons.

    shift_error : days [...], the error of moving the dates to today
    """

    def __init__(self, seen: Seen, curve: Curve, shift_error: NDArray | float = 0.0, bandwidth: float = BANDWIDTH):
        super().__init__(seen)
        self.curve = curve
        found = moments(curve)
        self.size = np.maximum(found.total, 1.0)
        spread = np.where(np.isnan(found.sd), 1.0, found.sd)
        self.width = bandwidth * spread * self.size ** (-1 / 3)
        self.shift_error = np.asarray(shift_error, float)

    def _standard(self, days: NDArray) -> tuple[NDArray, NDArray, NDArray]:
        """Distance of each day's end from each piece in widths, with the piece's weight, and where it is a day."""
        first, last, mass = self.curve
        dated = np.isfinite(first)
        day = np.where(dated, (first + np.where(np.isfinite(last), last, first)) / 2, 0.0)
        far = (np.asarray(days, float)[..., None, :] + 0.5 - day[..., None]) / self.width[..., None, None]
        with np.errstate(invalid="ignore", divide="ignore"):
            weight = mass / mass.sum(-1, keepdims=True)
        return far, weight[..., None], dated[..., None]

    def share(self, days: NDArray) -> NDArray[np.float64]:
        far, weight, dated = self._standard(days)
        before = (self.curve.first == -np.inf)[..., None]
        return (weight * np.where(dated, ndtr(far), before)).sum(-2)

    def variance(self, days: NDArray, share: NDArray) -> NDArray[np.float64]:
        """A count's; less what the smoothing saves (Azzalini 1981), more what the shift may be wrong."""
        far, weight, dated = self._standard(days)
        width = self.width[..., None]
        dense = (weight * np.where(dated, np.exp(-(far**2) / 2), 0.0)).sum(-2) / (np.sqrt(2 * np.pi) * width)
        counted = share * (1 - share) / self.size[..., None]
        saved = np.minimum(dense * width / np.sqrt(np.pi) / self.size[..., None], SAVED * counted)
        return counted - saved + (dense * self.shift_error[..., None]) ** 2


class Normal(Modelled):
    """Normal dates, in all seasons or in a share of them. A date is a whole day, over half a day later."""

    def __init__(self, seen: Seen, curve: Curve, mixed: bool):
        super().__init__(seen)
        found = moments(curve)
        nothing = np.zeros_like(found.event)
        self.mean, self.sd = found.mean[..., None], found.sd[..., None]
        self.event = (found.event if mixed else nothing + 1)[..., None]
        self.before = (found.before if mixed else nothing)[..., None]
        self.dated, self.total = found.dated[..., None], found.total[..., None]

    def share(self, days: NDArray) -> NDArray[np.float64]:
        return mixed_share(days + 0.5, self.event, self.mean, self.sd, self.before)

    def variance(self, days: NDArray, share: NDArray) -> NDArray[np.float64]:
        """By the errors of mean, spread and share of seasons with the event (first order)."""
        z = (days + 0.5 - self.mean) / self.sd
        with np.errstate(invalid="ignore", divide="ignore"):
            date = self.event * np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi)
            inside = (share - self.before) / self.event
            of_event = inside**2 * self.event * (1 - self.event) / self.total
            return date**2 * (1 / self.dated + z**2 / (2 * (self.dated - 1))) + of_event

    def day_of(self, p: NDArray) -> NDArray[np.float64]:
        """Not rounded to a day: mean + z(p) sd."""
        return mixed_day(p, self.event, self.mean, self.sd, self.before)


def _smooth(seen: Seen, curve: Curve) -> Fitted:
    return Smooth(seen, curve)


def _normal(seen: Seen, curve: Curve) -> Fitted:
    return Normal(seen, curve, mixed=False)


def _mixed(seen: Seen, curve: Curve) -> Fitted:
    return Normal(seen, curve, mixed=True)


class Shift(NamedTuple):
    """Season dates moved to stand for the season `at`, whole days, and the error of that for the mean of them."""

    first: NDArray[np.float64]
    last: NDArray[np.float64]
    error: NDArray[np.float64]


def moved_to(seen: Seen, curve: Curve, drift: float = DRIFT) -> Shift:
    """Each season's date moved along the trend [..., season], by whole days.

    The robust slope is drawn towards none by its own error: with the drift expected beforehand `drift` x spread a
    season, the part kept is expected^2 / (expected^2 + error^2), which is little for a short record.
    """
    spread = moments(curve).sd
    found = slope(np.where(seen.use, middle(seen.first, seen.last), np.nan), seen.seasons)
    expected = (drift * np.where(np.isnan(spread), 1.0, spread)) ** 2
    sampled = np.where(np.isfinite(found.error), found.error**2, 1e12)
    kept = expected / (expected + sampled)
    error = np.sqrt(sampled * kept * (kept + PULLED * (1 - kept)))
    years = np.where(seen.use, seen.at[..., None] - seen.seasons, 0.0)
    arm = years.sum(-1) / np.maximum(seen.use.sum(-1), 1)
    days = (kept * found.slope)[..., None] * years
    return Shift(np.floor(seen.first + days + 0.5), np.floor(seen.last + days + 0.5), error * arm)


def trend_shifted(seen: Seen, curve: Curve, drift: float = DRIFT, bandwidth: float = BANDWIDTH) -> Fitted:
    """The trend-shifted estimator; other constants are for the script that chose them."""
    moved = moved_to(seen, curve, drift)
    today = seen._replace(first=moved.first, last=moved.last)
    return Smooth(today, today.curve(), moved.error, bandwidth)


ESTIMATORS: dict[str, Estimator] = {
    "counted": Estimator("share of the complete seasons", _counted),
    "normal": Estimator("dates taken as normal, the event as coming every season (Thom and Shaw 1958)", _normal),
    "mixed": Estimator("dates taken as normal in the seasons that have the event (Thom 1959)", _mixed),
    "interval-censored": Estimator("share that fits every season best, those with holes included", _censored),
    "smooth": Estimator("the interval-censored share, smoothed", _smooth),
    "trend-shifted": Estimator("the smoothed share, each season moved along the trend to today", trend_shifted),
}
"""One entry here is one more way to odds; the track record then reports it by itself."""
