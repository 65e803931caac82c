"""Would these odds have been right in the past? Stand at each past season, use only those before it, then look.

Arrays over stations and origins at once; the one loop is over windows, estimators and blocks of stations that bound
the memory.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from frostkit.errors import SettingError
from frostkit.odds.estimators import DEFAULT, ESTIMATORS, WINDOW, Estimator, Seen, middle_day
from frostkit.odds.intervals import LEVEL
from frostkit.odds.normal import mixed_share, moments
from frostkit.odds.scores import Estimate, Parts, brier, draws, mean_by_years, parts, skill, tenth
from frostkit.seasons.interval import SeasonDates

WINDOWS: tuple[int | None, ...] = (20, 30, 40, None)
"""Past seasons used; None: all."""
FIRST = 30  # seasons before the first forecast: those of the fixed normal that all are held against
DECILES = np.arange(1, 10) / 10
FAR = 10_000.0  # a day beyond every date
_AT_ONCE = 1_000_000  # numbers in the largest table held at one time


class Way(NamedTuple):
    """An estimator with its window of past seasons, None for all."""

    estimator: str
    window: int | None

    def words(self) -> str:
        """
        >>> Way("counted", 30).words(), Way("counted", None).words()
        ('counted, last 30 seasons', 'counted, all seasons before')
        """
        return f"{self.estimator}, " + (f"last {self.window} seasons" if self.window else "all seasons before")


class Cases(NamedTuple):
    """Every forecast and what happened. A case is one season of one station.

    ways : what forecast
    days : float [case, day], the days asked about
    share : float [way, case, day], odds given that the event comes on or before each of the days asked about
    fixed : float [case, day], odds of the normal of the first seasons, the same for every case of a station
    happened : bool [case, day]
    below, to : float [way, case], odds given up to the day before the event came, and up to that day
    year, station : int [case]
    """

    ways: tuple[Way, ...]
    days: NDArray[np.float64]
    share: NDArray[np.float64]
    fixed: NDArray[np.float64]
    happened: NDArray[np.bool_]
    below: NDArray[np.float64]
    to: NDArray[np.float64]
    year: NDArray[np.int64]
    station: NDArray[np.int64]

    def of(self, keep: NDArray) -> "Cases":
        """Some of the cases: keep is a mask or numbers [case]."""
        return Cases(self.ways, self.days[keep], self.share[:, keep], self.fixed[keep], self.happened[keep],
                     self.below[:, keep], self.to[:, keep], self.year[keep], self.station[keep])  # fmt: skip

    def way(self, estimator: str = DEFAULT, window: int | None = WINDOW) -> int:
        """Where a way stands on the first axis."""
        return self.ways.index(Way(estimator, window))


def hindcast(dates: SeasonDates, seasons: ArrayLike, complete: ArrayLike, days: ArrayLike | None = None,
             estimators: Mapping[str, Estimator] = ESTIMATORS, windows: Sequence[int | None] = WINDOWS,
             first: int = FIRST, open_end: str | None = None) -> Cases:  # fmt: skip
    """Odds as they would have been given before each past season, and what happened.

    Parameters
    ----------
    dates : SeasonDates [station, season] or [season]
        Frost dates, or any other season dates, such as the last seeding day that worked.
    seasons : int array [season] or [station, season]
    complete : bool array like the dates
        Only complete seasons are judged, so that seasons are not chosen by their outcome; a date open by some days is
        taken at its middle there. All seasons may be learned from. A season before which some way has none to learn
        from, as after a hole as long as its window, is judged for no way, so that all are held against the same cases.
    days : float array [day] or [station, day], optional
        Days whose odds are asked for. Left out: the nine days on which the normal of the first seasons gives 1 to 9 in
        10, settled before anything is forecast.
    estimators, windows
        What is tried; every window takes what there is when fewer seasons have gone.
    first : int
        Seasons that have gone before the first forecast, the same for every window.
    open_end : str, optional
        As in `odds.estimate.by_day`.

    Raises
    ------
    SettingError
        Where no season is left to forecast.
    """
    low, high = np.broadcast_arrays(*(np.atleast_2d(np.asarray(end, float)) for end in dates))
    year = np.broadcast_to(np.asarray(seasons, int), low.shape)
    full = np.broadcast_to(np.asarray(complete, bool), low.shape)
    if low.shape[-1] <= first:
        raise SettingError(f"{low.shape[-1]} seasons leave none to forecast after the first {first}.",
                           "Give a longer record, or ask for fewer first seasons.")  # fmt: skip
    start = moments(_seen(low[:, :first], high[:, :first], open_end).curve())
    asked = _days(start, days, low.shape[0])
    actual = middle_day(low, high)
    judged = full[:, first:] & np.isfinite(asked).all(axis=-1, keepdims=True)
    where, when = np.nonzero(judged)
    came = actual[where, when + first]
    happened = came[:, None] <= asked[where]
    fixed = mixed_share(asked + 0.5, *(part[:, None] for part in (start.event, start.mean, start.sd, start.before)))

    ways = tuple(Way(name, window) for window in windows for name in estimators)
    share = np.empty((len(ways), where.size, asked.shape[-1]))
    below, to = np.empty((2, len(ways), where.size))
    origin = np.arange(first, low.shape[-1])
    for number, window in enumerate(windows):
        size = min(window or low.shape[-1], low.shape[-1] - 1)
        back = origin[:, None] + np.arange(-size, 0)
        gone = back >= 0
        back = np.maximum(back, 0)
        step = max(1, _AT_ONCE // (origin.size * size * (asked.shape[-1] + 2)))
        for block in range(0, low.shape[0], step):
            rows = np.arange(block, min(block + step, low.shape[0]))
            mine = (where >= block) & (where < block + step)
            pick = (where[mine] - block, when[mine])
            past = [part[rows][:, back] for part in (low, high, full, year)]
            use = np.broadcast_to(gone, past[0].shape)
            seen = Seen(np.where(use, past[0], -np.inf), np.where(use, past[1], np.inf), use, past[2],
                        past[3].astype(float), year[rows][:, origin].astype(float), open_end)  # fmt: skip
            curve = seen.curve()
            day = actual[rows][:, origin][..., None]
            around = np.clip(np.concatenate([day - 1, day], -1), -FAR, FAR)
            ask = np.concatenate([np.broadcast_to(asked[rows, None], (*day.shape[:-1], asked.shape[-1])), around], -1)
            for which, estimator in enumerate(estimators.values()):
                at = number * len(estimators) + which
                given = estimator.fit(seen, curve).share(ask)[pick]
                share[at, mine], below[at, mine], to[at, mine] = given[:, :-2], given[:, -2], given[:, -1]
    to[:, came == np.inf] = 1.0
    below[:, came == -np.inf] = 0.0
    cases = Cases(ways, asked[where], share, fixed[where], happened, below, to, year[where, when + first], where)
    return cases.of(np.asarray(np.isfinite(share).all(axis=(0, 2))))


def _seen(low: NDArray, high: NDArray, open_end: str | None) -> Seen:
    """All of these seasons, for a curve that knows no trend."""
    nothing = np.zeros(1)
    return Seen(low, high, np.ones(low.shape, bool), None, nothing, nothing, open_end)


def _days(start, days: ArrayLike | None, stations: int) -> NDArray[np.float64]:
    """Days asked about [station, day]; NaN for a station whose first seasons have no spread."""
    if days is not None:
        return np.broadcast_to(np.asarray(days, float), (stations, np.shape(days)[-1]))
    return np.floor(start.mean[:, None] + start.sd[:, None] * ndtri(DECILES) + 0.5)


def together(cases: Sequence[Cases]) -> Cases:
    """Hindcasts of several stations or events as one; stations are numbered on. The ways must be the same.

    Records of different length go in one by one.
    """
    if len({one.ways for one in cases}) != 1:
        raise SettingError("These hindcasts did not try the same estimators and windows, or there are none.",
                           "Run them with the same ones.")  # fmt: skip
    ahead = np.cumsum([0] + [int(one.station.max(initial=-1)) + 1 for one in cases[:-1]])
    joined = {
        name: np.concatenate([getattr(one, name) for one in cases], axis=axis)
        for name, axis in (
            ("days", 0),
            ("share", 1),
            ("fixed", 0),
            ("happened", 0),
            ("below", 1),
            ("to", 1),
            ("year", 0),
        )
    }
    station = np.concatenate([one.station + more for one, more in zip(cases, ahead, strict=True)])
    return Cases(ways=cases[0].ways, station=station, **joined)


class Reliability(NamedTuple):
    """Odds given against what happened, by classes of odds [class]; empty classes are NaN.

    given, happened : means
    low, high : where `happened` would lie had every odds been right, on the same cases: drawn by whole years
    number : forecasts, and years : years they come from
    luck : mean size of the gaps, weighed by their forecasts, that perfect odds would show on the same cases
    """

    given: NDArray[np.float64]
    happened: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    number: NDArray[np.int64]
    years: NDArray[np.int64]
    luck: float

    def gap(self) -> NDArray[np.float64]:
        """Odds given less what happened."""
        return self.given - self.happened

    def inside(self) -> NDArray[np.bool_]:
        """Whether each class lies in the band of perfect odds."""
        return (self.low <= self.happened) & (self.happened <= self.high)


def reliability(cases: Cases, way: int, rng: np.random.Generator, classes: int = 10, level: float = LEVEL,
                times: int = 2000) -> Reliability:  # fmt: skip
    """How often it happened when the odds were 1 in 10, 2 in 10, and so on.

    The band, a perfect forecaster's, is the wider of two. Whole years are drawn again, and the gap that there is taken
    off: what is left is the luck of years, shared by stations and days. And events are drawn from the odds themselves,
    each case on its own: for a few years the first way has too little to draw from. Each point of a perfect forecaster
    lies inside with confidence `level`.
    """
    odds, came = cases.share[way], cases.happened.astype(float)
    group = tenth(odds, classes)
    belongs, weight = draws(cases.year, rng, times)
    sums = np.zeros((3, classes, weight.shape[1]))
    place = (group, np.broadcast_to(belongs[:, None], group.shape))
    for row, value in enumerate((np.ones_like(odds), odds, came)):
        np.add.at(sums[row], place, value)
    number, given, happened = sums.sum(-1)
    drawn_number, drawn_given, drawn_happened = sums @ weight.T
    with np.errstate(invalid="ignore", divide="ignore"):
        given, happened = given / number, happened / number
        luck = (drawn_happened - drawn_given) / drawn_number - (happened - given)[:, None]
    filled = number > 0
    perfect = _perfect(odds, group, classes, rng)
    tails = [(1 - level) / 2, (1 + level) / 2]
    ends = np.full((2, classes), np.nan)
    by_years, by_odds = (np.nanquantile(one[filled], tails, axis=-1) for one in (luck, perfect))
    ends[:, filled] = np.minimum(by_years[0], by_odds[0]), np.maximum(by_years[1], by_odds[1])
    years = (sums[0] > 0).sum(-1)
    mean_luck = max(_mean_size(luck, number), _mean_size(perfect, number))
    return Reliability(given, happened, np.clip(given + ends[0], 0, 1), np.clip(given + ends[1], 0, 1),
                       number.astype(int), years, mean_luck)  # fmt: skip


def _perfect(odds: NDArray, group: NDArray, classes: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """What happened less the odds, by class, when events are drawn from the odds [case, day]: [class, time]."""
    times = max(1, min(400, 8_000_000 // odds.size))
    member = (group.reshape(-1, 1) == np.arange(classes)).astype(np.float32)
    drawn = rng.random((times, odds.shape[0], 1)) < odds
    happened = drawn.reshape(times, -1).astype(np.float32) @ member
    with np.errstate(invalid="ignore", divide="ignore"):
        return ((happened - odds.reshape(1, -1) @ member) / member.sum(0)).T


def _mean_size(gaps: NDArray, number: NDArray) -> float:
    """Mean size of gaps [class, time], weighed by the forecasts of each class."""
    return float((np.nan_to_num(np.abs(gaps)).mean(-1) * number).sum() / max(number.sum(), 1))


class Verdict(NamedTuple):
    """One way's track record over the cases.

    brier : with its interval by whole years; less_fixed : the same less the fixed normal's, below 0: better
    skill : against the fixed normal
    apart : Murphy's parts, exact by distinct odds; apart_classes : by tenths, the terms inside them named
    gap : mean size of the gaps of the tenths, weighed by their forecasts, and largest : the largest of them
    luck : the mean gap that perfect odds would show; outside : tenths that lie outside the band of perfect odds
    spread80 : share of events between the day given for 1 in 10 and that for 9 in 10; 0.8 is right
    number : cases
    """

    way: Way
    brier: Estimate
    less_fixed: Estimate
    skill: float
    apart: Parts
    apart_classes: Parts
    gap: float
    largest: float
    luck: float
    outside: int
    spread80: float
    number: int


def verdict(cases: Cases, way: int, rng: np.random.Generator, level: float = LEVEL, times: int = 2000) -> Verdict:
    """Scores of one way, with intervals from drawing whole years again. Raises `SettingError` without any case."""
    if not cases.year.size:
        raise SettingError("There is no complete season to judge the odds by.",
                           "Give a record with complete seasons after the first ones.")  # fmt: skip
    came = cases.happened
    score, fixed = brier(cases.share[way], came), brier(cases.fixed, came)
    table = reliability(cases, way, rng, level=level, times=times)
    filled = table.number > 0
    gap = np.abs(table.gap()[filled])
    return Verdict(
        cases.ways[way],
        mean_by_years(score, cases.year, rng, level, times),
        mean_by_years(score - fixed, cases.year, rng, level, times),
        float(skill(score.mean(), fixed.mean())),
        parts(cases.share[way], came),
        parts(cases.share[way], came, classes=10),
        float(np.average(gap, weights=table.number[filled])),
        float(gap.max()),
        table.luck,
        int((~table.inside()[filled]).sum()),
        float(covered(cases, way, 0.8).mean()),
        int(came.shape[0]),
    )


def covered(cases: Cases, way: int, level: float = 0.8) -> NDArray[np.float64]:
    """Part of each case's day [case] that lies between the odds (1 - level)/2 and (1 + level)/2 given for it.

    A day is a step of the odds, part of which may lie inside; where the odds give the day no step, it counts as inside
    or outside by where it stands.
    """
    below, to = cases.below[way], cases.to[way]
    tail = (1 - level) / 2
    inside = np.clip(np.minimum(to, 1 - tail) - np.maximum(below, tail), 0, None)
    step = to - below
    with np.errstate(invalid="ignore", divide="ignore"):
        part = inside / step
    return np.where(step > 1e-12, part, (to >= tail) & (to <= 1 - tail))


def difference(cases: Cases, way: int, other: int, rng: np.random.Generator, level: float = LEVEL,
               times: int = 2000) -> Estimate:  # fmt: skip
    """Brier score of one way less that of another, on the same cases; its interval by drawing whole years again."""
    came = cases.happened
    return mean_by_years(brier(cases.share[way], came) - brier(cases.share[other], came), cases.year, rng, level, times)
