"""Several things in the same seasons: joint odds, the risk over years, and the day that pays best."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.errors import SettingError
from frostkit.odds.estimate import FEWEST, Share, share
from frostkit.odds.intervals import LEVEL, Interval
from frostkit.seasons.interval import SeasonDates


class Condition(NamedTuple):
    """Yes, no or not known: bool arrays of one shape, the season on an axis of its own.

    certain : it was so for certain; possible : it may have been. Not possible: no. Possible, not certain: not known.
    """

    certain: NDArray[np.bool_]
    possible: NDArray[np.bool_]


def condition(certain: ArrayLike, possible: ArrayLike | None = None) -> Condition:
    """A condition from plain arrays; with one array all is known. Raises `SettingError` for certain but not possible.

    >>> condition([True, False]).possible.tolist()
    [True, False]
    """
    yes = np.asarray(certain, bool)
    maybe = yes if possible is None else np.asarray(possible, bool)
    if (yes & ~maybe).any():
        raise SettingError("A season can't be certain and not possible.", "Give possible wherever certain.")
    return Condition(yes, maybe)


def by(dates: SeasonDates, day: ArrayLike) -> Condition:
    """The event came on or before a day.

    >>> from frostkit.seasons.interval import dates
    >>> by(dates([250, 255, 262], [250, 262, 262]), 258)
    Condition(certain=array([ True, False, False]), possible=array([ True,  True, False]))
    """
    on = np.asarray(day, float)
    return Condition(dates.last <= on, dates.first <= on)


def after(dates: SeasonDates, day: ArrayLike) -> Condition:
    """The event had not come by the end of a day: the opposite of `by`."""
    return opposite(by(dates, day))


def before_other(one: SeasonDates, other: SeasonDates) -> Condition:
    """One event came before another in the same season; on the same day is not before."""
    return Condition(np.asarray(one.last) < other.first, np.asarray(one.first) < other.last)


def opposite(one: Condition) -> Condition:
    """Not so: what was not known stays not known."""
    return Condition(~one.possible, ~one.certain)


def all_of(*conditions: Condition) -> Condition:
    """All of them in the same season. Each may hide in holes of its own: safe, at most wider than the truth.

    >>> all_of(condition([True, True]), condition([True, False], [True, True]))
    Condition(certain=array([ True, False]), possible=array([ True,  True]))
    """
    if not conditions:
        raise SettingError("There is no condition.", "Give at least one.")
    certain, possible = (np.broadcast_arrays(*(one[which] for one in conditions)) for which in (0, 1))
    return Condition(np.logical_and.reduce(certain), np.logical_and.reduce(possible))


def any_of(*conditions: Condition) -> Condition:
    """At least one of them in the same season."""
    return opposite(all_of(*(opposite(one) for one in conditions)))


def joint(*conditions: Condition, complete: ArrayLike | None = None, axis: int = -1, level: float = LEVEL) -> Share:
    """Odds of all conditions in the same seasons: counted together, never multiplied.

    Parameters
    ----------
    conditions : Condition, arrays with the season on `axis`
    complete : bool array [..., season], optional
        Seasons complete by a rule that does not look at the outcome; without it there is a point share only where
        every season is known. Its season axis is `axis` too, and it must broadcast.

    Examples
    --------
    Corn worked in 8 of 10 seasons, the legume in 8 of 10, both in 7, not in 6.4:

    >>> corn, legume = condition([1] * 8 + [0] * 2), condition([0] + [1] * 8 + [0])
    >>> float(joint(corn, legume).share)
    0.7
    """
    both = all_of(*conditions)
    yes, no = both.certain.sum(axis), (~both.possible).sum(axis)
    not_known = both.certain.shape[axis] - yes - no
    if complete is None:
        return share(yes, no, not_known, level=level)
    full = np.broadcast_to(np.asarray(complete, bool), both.certain.shape)
    return share(yes, no, not_known, full.sum(axis), (full & both.certain).sum(axis), level=level)


def over_years(p: ArrayLike, years: ArrayLike) -> NDArray[np.float64]:
    """Odds that something with odds `p` a season happens at least once in so many seasons: 1 - (1 - p)^n.

    It takes seasons as independent; a run of bad years is more likely than that where they resemble each other
    (`odds.trend` reports the correlation). Rising in `p`: put the ends of an interval in to get the ends out.

    References
    ----------
    Snyder, de Melo-Abreu 2005, Frost Protection, FAO, volume 2, chapter 1 (after Haan 1979).

    >>> over_years([0.1, 0.1, 0.05, 0.2], [20, 5, 10, 3]).round(4).tolist()
    [0.8784, 0.4095, 0.4013, 0.488]
    """
    return 1 - (1 - np.asarray(p, float)) ** np.asarray(years, float)


class Pays(NamedTuple):
    """What each seeding day pays, season for season, and the day that pays best.

    mean : float [day], mean over complete seasons
    spread : its interval by drawing seasons again [day]
    bounds : mean over all seasons, the not-known as failed and as worked [day]
    best : number of the day that pays most
    best_between : where `best` lies when the seasons are drawn again
    gain_over : mean gain of the best day over each day [day]
    share_of_seasons : share of complete seasons in which each day paid more than it cost [day]
    complete : number of complete seasons
    """

    mean: NDArray[np.float64]
    spread: Interval
    bounds: Interval
    best: int
    best_between: tuple[int, int]
    gain_over: NDArray[np.float64]
    share_of_seasons: NDArray[np.float64]
    complete: int


def pays_best(worked: Condition, gain: ArrayLike, loss: ArrayLike, rng: np.random.Generator,
              complete: ArrayLike | None = None, level: float = LEVEL, times: int = 2000) -> Pays:  # fmt: skip
    """The seeding day that pays best over the years, with its spread.

    Parameters
    ----------
    worked : Condition [season, day]
    gain, loss : float arrays [day] or numbers, in money or any one unit
        What a day brings where it worked, and what it costs where it failed (a positive number).
    rng : random generator
        Seasons are drawn again with it.
    complete : bool array [season], optional
        As in `joint`.

    Raises
    ------
    SettingError
        With fewer than `FEWEST` complete seasons: then there is no mean to compare days by.

    Examples
    --------
    The early day pays 120 but fails in 4 seasons of 10, at 100; the late one pays 90 and never fails:

    >>> worked = condition(np.array([[1, 1]] * 6 + [[0, 1]] * 4))
    >>> p = pays_best(worked, [120, 90], [100, 100], np.random.default_rng(1))
    >>> p.mean.tolist(), p.best
    ([32.0, 90.0], 1)
    """
    brings, costs = (np.broadcast_to(np.asarray(part, float), worked.certain.shape[-1:]) for part in (gain, loss))
    all_known = bool((worked.certain == worked.possible).all())
    full = np.full(len(worked.certain), all_known) if complete is None else np.asarray(complete, bool)
    if full.sum() < FEWEST:
        raise SettingError(f"{int(full.sum())} complete seasons are too few to say which day pays best.",
                           f"It takes {FEWEST} complete seasons.")  # fmt: skip
    least, most = (np.where(part, brings, -costs) for part in (worked.certain, worked.possible))
    paid = ((least + most) / 2)[full]  # what is open in a complete season counts half
    mean = paid.mean(0)
    weight = rng.multinomial(len(paid), np.full(len(paid), 1 / len(paid)), size=times) / len(paid)
    drawn = weight @ paid
    tails = [(1 - level) / 2, (1 + level) / 2]
    best = _middle_of_best(mean[None])[0]
    low, high = np.quantile(_middle_of_best(drawn), tails, method="nearest")
    return Pays(mean, Interval(*np.quantile(drawn, tails, axis=0)), Interval(least.mean(0), most.mean(0)), int(best),
                (int(low), int(high)), mean[best] - mean, (paid > 0).mean(0), len(paid))  # fmt: skip


def _middle_of_best(pay: NDArray) -> NDArray[np.int64]:
    """The day that pays most in each row; of several that pay the same, the one nearest their middle."""
    top = np.isclose(pay, pay.max(-1, keepdims=True), rtol=1e-9, atol=1e-9)
    day = np.arange(pay.shape[-1])
    middle = (top * day).sum(-1) / top.sum(-1)
    return np.where(top, np.abs(day - middle[..., None]), np.inf).argmin(-1)
