"""Every past season as one possible rest of this one: this season's days, then a forecast, then theirs."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from frostkit.answers.station import Behind
from frostkit.errors import RecordError, SettingError
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import DAYS, MISSING, SPLIT, Cube, column, moved, words
from frostkit.seasons.frost import cold_days, complete, first_true, limit
from frostkit.seasons.heat import bounds, has_heat
from frostkit.seasons.silage import Killed

LEAST, MIDDLE, MOST = 0, 1, 2
NEWEST = 30
"""Past seasons used by default. On three long records the newest 30 came nearer than all of them at each of three dates
(`tests/records/test_chopping_backtest.py`): summers have warmed."""
NARROW = 0.5  # standard deviations of heat so far within which a season counts as like this one; judgement


class Rests(NamedTuple):
    """This season until yesterday, and the possible rests of it.

    season, today : year and column; seasons : years of the rests [rest]
    complete : bool [rest], decided before any outcome: no long run of missing days and no day that could hide a frost,
        from today to the end of the season
    own : heat of each day of this season [3, 365] [whole units]: least, middle, most; columns before today count
    heat : the same of the rests [3, rest, 365]; only columns from today on count
    killed : day of the first killing frost of the joined season [rest], as (first, last) it can have been
    killed_before : the killing frost of this season so far; +inf where there was none
    past : heat of the past seasons' own days [3, rest, 365], for what is usual by today
    """

    season: int
    today: int
    seasons: NDArray[np.int64]
    complete: NDArray[np.bool_]
    own: NDArray[np.int64]
    heat: NDArray[np.int64]
    killed: Killed
    killed_before: Killed
    past: NDArray[np.int64]


def season_of(day: np.datetime64, season_starts: tuple[int, int] = (1, 1)) -> tuple[int, int]:
    """Season and column of a date; 29 February is taken as 28 February.

    >>> season_of(np.datetime64("2020-09-01"))
    (2020, 243)
    """
    year, month, of_month = (int(part) for part in str(day.astype("datetime64[D]")).split("-"))
    at = column(month, min(of_month, 28) if month == 2 else of_month, season_starts)
    started = (month, of_month) >= season_starts
    return (year if started else year - 1), at


def rests(behind: Behind, clock: Any, kills: float, season: int, today: int,
          forecast: Forecast | None = None, newest: int | None = NEWEST) -> Rests:  # fmt: skip
    """Join this season's days before `today` with a forecast and with every earlier season's rest.

    Parameters
    ----------
    clock : the clock that moisture follows
    kills : float [degC], what kills the corn from here on
    season, today : year, column; nothing of the record from this day on is looked at, nor any later season
    forecast : Forecast, optional; begins today
    newest : the earlier seasons used: as many as hold this number of complete ones; None: all

    Raises
    ------
    RecordError
        Where there is no earlier season.
    """
    cube = behind.cube
    before = cube.seasons < season
    if not before.any():
        raise RecordError(f"The record has no season before {season}: there is no past season to finish this one with.",
                          "Give a longer record.")  # fmt: skip
    if newest is not None:
        whole = np.flatnonzero(before & behind.complete)
        if whole.size > newest:
            before &= np.arange(before.size) >= whole[-newest]
    tmin, tmax = cube.tmin[before].copy(), cube.tmax[before].copy()
    past = _three(clock, tmin, tmax)
    own_tmin, own_tmax = (np.full(DAYS, MISSING, np.int16) for _ in range(2))
    own_sign = np.zeros(DAYS, np.int8)
    row = int(season - cube.seasons[0])
    if 0 <= row < cube.seasons.size:
        own_tmin[:today], own_tmax[:today] = cube.tmin[row, :today], cube.tmax[row, :today]
        if cube.sign is not None:
            own_sign[:today] = cube.sign[row, :today]
    if forecast is not None:
        _insert(forecast, today, tmin, tmax)
    everything = _three(clock, np.concatenate([tmin, own_tmin[None]]), np.concatenate([tmax, own_tmax[None]]))
    own, heat = everything[:, -1], everything[:, :-1]

    since = moved(SPLIT, cube.season_starts)
    sign = None if cube.sign is None else cube.sign[before]
    certain, possible = (
        _first_from(days, max(today, since)) for days in cold_days(tmin, limit(kills), cube.lows, sign)
    )
    own_certain, own_possible = cold_days(
        own_tmin[None, :today], limit(kills), cube.lows[:today], own_sign[None, :today]
    )
    so_far = Killed(_first_from(own_possible, since)[0], _first_from(own_certain, since)[0])
    killed = Killed(np.minimum(possible, so_far.first), np.minimum(certain, so_far.last))

    filled = Cube(tmin, tmax, cube.seasons[before], cube.lows, sign, cube.season_starts)
    filled.tmin[:, :today], filled.tmax[:, :today] = 100, 200  # days gone by are this season's: known either way
    return Rests(season, today, cube.seasons[before], complete(filled), own, heat, killed, so_far, past)


def _three(clock: Any, tmin: NDArray[np.int16], tmax: NDArray[np.int16]) -> NDArray[np.int64]:
    """Heat of each day, least, middle and most. [3, season, 365]"""
    known = has_heat(tmin, tmax)
    low, high = bounds(np.where(known, clock.rate(tmin, tmax), 0), known)
    low, high = low.astype(np.int64), high.astype(np.int64)
    return np.stack([low, (low + high) // 2, high])


def _first_from(days: NDArray[np.bool_], day: int) -> NDArray[np.float64]:
    """First of the days from `day` on; +inf where none is, or none is left."""
    if day >= days.shape[-1]:
        return np.full(days.shape[:-1], np.inf)
    return first_true(days[..., day:]) + day


def _insert(forecast: Forecast, today: int, tmin: NDArray[np.int16], tmax: NDArray[np.int16]) -> None:
    """Put the forecast into every rest. Its spread is handed out in the order of the seasons' own warmth on those days,
    so that a season warm in these days has a warm forecast before its warm rest (Clark et al. 2004, J. Hydrometeorol.
    5:243-262: the order of the past kept)."""
    last = min(today + forecast.tmin.size, DAYS)
    part = np.s_[:, today:last]
    days = last - today
    both = np.where(has_heat(tmin[part], tmax[part]), tmin[part].astype(float) + tmax[part], np.nan)
    seen = ~np.isnan(both)
    warmth = np.where(seen.any(1), np.where(seen, both, 0).sum(1) / np.maximum(seen.sum(1), 1), np.nan)
    warmth = np.where(np.isnan(warmth), np.nanmedian(warmth) if seen.any() else 0.0, warmth)
    place = np.empty(len(tmin))
    place[np.argsort(warmth, kind="stable")] = np.arange(len(tmin))
    steps = ndtri((place + 0.5) / len(tmin))[:, None]
    cold = forecast.tmin[:days] + steps * forecast.tmin_spread[:days]
    warm = forecast.tmax[:days] + steps * forecast.tmax_spread[:days]
    tmin[part] = np.rint(10 * np.minimum(cold, warm))
    tmax[part] = np.rint(10 * np.maximum(cold, warm))


def like_this_one(of: Rests, since: int) -> NDArray[np.float64]:
    """Weights of the rests by how near their heat from `since` to yesterday was to this season's; they sum to 1.

    A bell curve of half a standard deviation of the seasons' heat: near seasons count most, none is left out.

    Raises `SettingError` where no day has passed since `since`.
    """
    if of.today - since < 1:
        raise SettingError(f"No day has passed since {words(since)} to tell which seasons are like this one.",
                           "Leave the weights out until the crop has stood for some days.")  # fmt: skip
    theirs = of.past[MIDDLE, :, since : of.today].sum(1).astype(float)
    mine = float(of.own[MIDDLE, since : of.today].sum())
    width = max(NARROW * float(theirs.std()), 1.0)
    closeness = -0.5 * ((theirs - mine) / width) ** 2
    weight = np.exp(closeness - closeness.max())
    return weight / weight.sum()
