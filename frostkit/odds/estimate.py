"""Odds, by two doors: a share of seasons that worked, and the share by which an event has come on each day."""

from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError, choose
from frostkit.odds.estimators import DEFAULT as DEFAULT
from frostkit.odds.estimators import ESTIMATORS as ESTIMATORS
from frostkit.odds.estimators import OPEN_ENDS, Counts, Fitted, Seen, count, counted_interval, moved_to
from frostkit.odds.estimators import WINDOW as WINDOW
from frostkit.odds.intervals import LEVEL
from frostkit.seasons.interval import SeasonDates

FEWEST = 10
"""Below this many complete seasons there is no point share, only bounds (DESIGN, "Being honest about odds")."""


class Share(NamedTuple):
    """How many seasons said yes, and how far that can be trusted; arrays of one shape.

    yes, no, not_known : over all seasons
    complete, complete_yes : complete seasons, and how many of them said yes
    share : yes among complete seasons; NaN with fewer than `FEWEST`
    low, high : the interval, its low end with the not-known as no, its high end as yes
    """

    yes: NDArray[np.int64]
    no: NDArray[np.int64]
    not_known: NDArray[np.int64]
    complete: NDArray[np.int64]
    complete_yes: NDArray[np.int64]
    share: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    level: float


def share(yes: ArrayLike, no: ArrayLike, not_known: ArrayLike = 0, complete: ArrayLike | None = None,
          complete_yes: ArrayLike | None = None, level: float = LEVEL) -> Share:  # fmt: skip
    """In how many seasons, with its interval. Counts in, arrays of any shape.

    Parameters
    ----------
    yes, no, not_known : int arrays, seasons, over all of them
    complete, complete_yes : int arrays, optional
        Complete seasons, decided beforehand and never by the outcome, and those of them that said yes. Left out: where
        every season is known all are complete; where some are not, none is, and there is no point share.
    level : float
        Confidence of the interval.

    Raises
    ------
    SettingError
        For counts below zero, more complete seasons than seasons, or `complete` without `complete_yes`.

    Examples
    --------
    >>> s = share(27, 1, 2, complete=28, complete_yes=27)
    >>> [round(float(v), 3) for v in (s.share, s.low, s.high)]
    [0.964, 0.783, 0.994]
    """
    counts = [np.asarray(part, np.int64) for part in (yes, no, not_known)]
    if (complete is None) != (complete_yes is None):
        raise SettingError("complete and complete_yes come together; only one was given.",
                           "Give both: the complete seasons, and those of them that said yes.")  # fmt: skip
    if complete is None or complete_yes is None:
        whole = np.asarray(counts[2] == 0)
        full, full_yes = np.where(whole, counts[0] + counts[1], 0), np.where(whole, counts[0], 0)
    else:
        full, full_yes = np.asarray(complete, np.int64), np.asarray(complete_yes, np.int64)
    y, n, u, full, full_yes = np.broadcast_arrays(*counts, full, full_yes)
    if min(int(part.min(initial=0)) for part in (y, n, u, full, full_yes)) < 0:
        raise SettingError("A count of seasons is below zero.", "Give counts of 0 or more.")
    if (full > y + n + u).any() or (full_yes > full).any():
        raise SettingError("There are more complete seasons than seasons, or more that said yes than are complete.",
                           "complete_yes <= complete <= yes + no + not_known.")  # fmt: skip
    interval = counted_interval(Counts(y, n, u), level)
    with np.errstate(invalid="ignore", divide="ignore"):
        point = np.where(full >= FEWEST, full_yes / full, np.nan)
    return Share(y, n, u, full, full_yes, point, interval.low, interval.high, level)


def reaches(yes: ArrayLike, complete: ArrayLike, odds: float) -> NDArray[np.bool_]:
    """Whether yes >= odds x complete, compared in whole numbers; never with fewer than `FEWEST` complete seasons.

    yes, complete : int arrays, seasons; odds : float, taken as the fraction it was written as (0.8 is 4/5)

    Raises `SettingError` for odds outside 0 to 1.

    >>> reaches([23, 24], 30, 0.8).tolist(), reaches(7, 7, 0.8).tolist()
    ([False, True], False)
    """
    wanted = fraction(odds)
    y, n = np.asarray(yes, np.int64), np.asarray(complete, np.int64)
    return (y * wanted.denominator >= n * wanted.numerator) & (n >= FEWEST)


def fraction(odds: float) -> Fraction:
    """The fraction that a decimal was meant as.

    >>> fraction(0.8), fraction(0.1 + 0.2)
    (Fraction(4, 5), Fraction(3, 10))
    """
    if not 0 <= odds <= 1:
        raise SettingError(f"odds={odds} is not between 0 and 1.", "Write 8 in 10 as 0.8.")
    return Fraction(float(odds)).limit_denominator(10_000)


class Odds(NamedTuple):
    """Odds that an event has come on or before each day; arrays [..., day].

    share : the estimator's, from the last `used` seasons; NaN with too few
    low, high : its interval
    yes, no, not_known : seasons, over all of them
    complete : complete seasons [...], over all of them, or None where the caller did not say
    used : seasons that the estimator looked at [...]
    """

    day: NDArray[np.float64]
    share: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    yes: NDArray[np.int64]
    no: NDArray[np.int64]
    not_known: NDArray[np.int64]
    complete: NDArray[np.int64] | None
    used: NDArray[np.int64]
    estimator: str
    level: float


def by_day(dates: SeasonDates, days: ArrayLike | None = None, level: float = LEVEL, estimator: str = DEFAULT,
           seasons: ArrayLike | None = None, complete: ArrayLike | None = None, at: ArrayLike | None = None,
           window: int | None = WINDOW, open_end: str | None = None) -> Odds:  # fmt: skip
    """In how many seasons by which day.

    Parameters
    ----------
    dates : SeasonDates [..., season], days
    days : array [day] or [..., day], optional
        Left out: every day from the earliest to the latest that any season allows.
    estimator : str
        A name in `ESTIMATORS`.
    seasons : int array [season], optional
        The year of each season; left out, they follow each other. Only a trend needs it.
    complete : bool array [..., season], optional
        Seasons complete by a rule that does not look at the outcome.
    at : int, optional
        The season that the odds are for, where a trend is followed: the one after the last, if left out.
    window : int or None
        The estimator looks at so many of the last seasons; None: at all of them. The counts are over all of them.
    open_end : "later", "earlier" or None
        What may have come before it was first seen (a first fall frost, the last seeding day that a hidden frost would
        end) is open to "later": where holes leave it open, only its first day is learned from. What may have come after
        it was last seen (a last spring frost) is open to "earlier". None: both ends are learned from, as is right for
        bounds of heat. The counts and the interval's bounds keep both ends.

    Raises
    ------
    SettingError
        For an estimator that is not known, or dates that are NaN or the wrong way round.

    Examples
    --------
    >>> from frostkit.seasons.interval import dates
    >>> odds = by_day(dates(range(250, 270)), days=[249, 259, 269], estimator="counted", window=None)
    >>> odds.share.tolist(), odds.yes.tolist()
    ([0.0, 0.5, 1.0], [0, 10, 20])
    """
    seen, fitted = fit(dates, estimator, seasons, complete, at, window, open_end)
    day = np.asarray(days, float) if days is not None else _span(seen)
    counts = count(seen.first, seen.last, np.ones(seen.first.shape, bool), day)
    enough = _enough(seen)[..., None]
    interval = fitted.interval(day, level)
    full = None if seen.complete is None else seen.complete.sum(-1)
    return Odds(day, np.where(enough, fitted.share(day), np.nan), interval.low, interval.high, *counts, full,
                seen.use.sum(-1), estimator, level)  # fmt: skip


class Quantiles(NamedTuple):
    """The day by which an event has come with given odds; arrays [..., q].

    day, low, high : days; `+inf` where no day reaches those odds, or none bounds them; NaN with too few seasons
    p : the odds [q]
    seasons : seasons used [...]
    """

    p: NDArray[np.float64]
    day: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    seasons: NDArray[np.int64]
    estimator: str
    level: float


def quantile(dates: SeasonDates, p: ArrayLike, level: float = LEVEL, estimator: str = DEFAULT,
             seasons: ArrayLike | None = None, complete: ArrayLike | None = None, at: ArrayLike | None = None,
             window: int | None = WINDOW, open_end: str | None = None) -> Quantiles:  # fmt: skip
    """The first day by which the event has come in a share `p` of the seasons, with an interval of days.

    Arguments as in `by_day`; `p` is a number or an array [q]. The last axis of the answer is q.

    >>> from frostkit.seasons.interval import dates
    >>> q = quantile(dates(range(250, 280)), [0.5, 0.9], estimator="counted")
    >>> q.day.tolist(), q.low.tolist(), q.high.tolist()
    ([264.0, 276.0], [260.0, 273.0], [269.0, 279.0])
    """
    odds = np.atleast_1d(np.asarray(p, float))
    for one in odds:
        fraction(one)
    seen, fitted = fit(dates, estimator, seasons, complete, at, window, open_end)
    enough = _enough(seen)[..., None]
    interval = fitted.day_interval(odds, level)
    day = np.where(enough, fitted.day_of(odds), np.nan)
    return Quantiles(odds, day, interval.low, interval.high, seen.use.sum(-1), estimator, level)


def to_today(dates: SeasonDates, seasons: ArrayLike | None = None, at: ArrayLike | None = None,
             window: int | None = WINDOW) -> SeasonDates:  # fmt: skip
    """The dates of the last seasons, each moved along the trend to stand for the season `at`.

    For odds that need more than one date of the same season: move each date, then count them together (`odds.joint`).
    Arguments and errors as in `by_day`; [..., season] with the last `window` seasons.

    >>> from frostkit.seasons.interval import dates
    >>> to_today(dates(250 + np.arange(60)), window=None).first[[0, 59]].tolist()
    [310.0, 310.0]
    """
    seen, _ = fit(dates, "interval-censored", seasons, None, at, window)
    first, last, _ = moved_to(seen, seen.curve())
    keep = slice(-min(window or first.shape[-1], first.shape[-1]), None)
    return SeasonDates(first[..., keep], last[..., keep])


def fit(dates: SeasonDates, estimator: str = DEFAULT, seasons: ArrayLike | None = None,
        complete: ArrayLike | None = None, at: ArrayLike | None = None,
        window: int | None = WINDOW, open_end: str | None = None) -> tuple[Seen, Fitted]:  # fmt: skip
    """An estimator that has seen these season dates: for more than one question of the same dates.

    Arguments and errors as in `by_day`.
    """
    choose("estimator", estimator, ESTIMATORS)
    first, last = np.broadcast_arrays(np.asarray(dates.first, float), np.asarray(dates.last, float))
    if not first.shape[-1:] or first.shape[-1] == 0:
        raise SettingError("There are no season dates.", "Give at least one season.")
    if not (first <= last).all():
        raise SettingError("Season dates are pairs (first, last) with first on or before last; some are not.",
                           "Give +inf or -inf for an event that did not come, never NaN.")  # fmt: skip
    if open_end is not None:
        choose("open_end", open_end, OPEN_ENDS)
    if window is not None and window < 1:
        raise SettingError(f"window={window} seasons is less than 1.", "Give a number of seasons, or None for all.")
    year = np.arange(first.shape[-1], dtype=float) if seasons is None else np.asarray(seasons, float)
    full = None if complete is None else np.broadcast_to(np.asarray(complete, bool), first.shape)
    target = np.asarray(year[-1] + 1.0 if at is None else at, float)
    use = np.broadcast_to(np.arange(first.shape[-1]) >= first.shape[-1] - (window or first.shape[-1]), first.shape)
    seen = Seen(first, last, use, full, year, target, open_end)
    return seen, ESTIMATORS[estimator].fit(seen, seen.curve())


def _enough(seen: Seen) -> NDArray[np.bool_]:
    """Whether the seasons used are enough for a point: complete ones, or those that say more than the emptiest one."""
    if seen.complete is not None:
        return (seen.complete & seen.use).sum(-1) >= FEWEST
    first, last = seen.first, seen.last
    says = (first == last) | (first > first.min(-1, keepdims=True)) | (last < last.max(-1, keepdims=True))
    return (says & seen.use).sum(-1) >= FEWEST


def _span(seen: Seen) -> NDArray[np.float64]:
    """Every day from the earliest to the latest finite end."""
    ends = np.concatenate([seen.first.ravel(), seen.last.ravel()])
    ends = ends[np.isfinite(ends)]
    return np.arange(ends.min(), ends.max() + 1) if ends.size else np.zeros(0)
