"""This season stands first: its own days, then a forecast, then the rest of every possible season.

What follows is moved besides by a part of how warm this season has been lately, fading with the days ahead: a warm
August makes a warm September a little likelier. Seasons are never weighted by how like this one they were: that loses.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from frostkit.ensemble.fill import Departures, fill
from frostkit.ensemble.fold import ELEMENTS, GROWING, Folded
from frostkit.ensemble.site import SHIFTS, TODAY, Ensemble, Site, possible
from frostkit.ensemble.today import Level, by_day
from frostkit.records.forecast import Forecast
from frostkit.seasons.calendar import DAYS, MISSING, column, tenths

Floats = NDArray[np.float64]
LATELY = 60  # days before today whose mean departure counts (DESIGN, measured: docs/chopping.md)
KEPT = 0.3  # part of it that the coming days are moved by
FADES = 30.0  # days ahead after which a third of that is left
ENOUGH = 30  # of these days must have been read, or nothing is moved


@dataclass(frozen=True)
class Pinned(Ensemble):
    """Possible seasons that all begin with this season's days.

    Rows, `index` and `shifted` as in `Ensemble`; `seasons` are the past ones whose rest follows, `complete` those read
    without a hole in that rest, if this season's own days are too.

    season, today : year and column of the day stood on; nothing of the record from then on has a say
    own : int [row], which of the draws of this season's own days a row begins with; 0 where they have no hole
    known : bool [today], days of this season read in the elements asked for
    departure : this season's mean departure over its last 60 days, Tmin and Tmax [degC]; NaN where too few were read
    forecast_days : days ahead that a forecast gives
    before : the same possible seasons as they would come whole, for what is usual by today
    """

    season: int
    today: int
    own: NDArray[np.int64]
    known: NDArray[np.bool_]
    departure: tuple[float, float]
    forecast_days: int
    before: Ensemble


class _Own(NamedTuple):
    """This season until today, as one more season of the record.

    folded, level : as of one season; usual, of : float [element, 365] degC, what is usual in the season asked for, and
        this season's departures from it, NaN where there is no reading
    """

    folded: Folded
    level: Level
    usual: Floats
    of: Floats


def pin(
    site: Site,
    season: int,
    today: int,
    forecast: Forecast | None = None,
    needs: tuple[str, ...] = ELEMENTS,
    shifts: int = SHIFTS,
) -> Pinned:
    """The possible seasons of a season under way.

    Parameters
    ----------
    site : Site; its season asked for is of no account
    season, today : year and column of the day stood on: days before it are this season's own
    forecast : Forecast, optional, that begins today (`Forecast.since`); its spread is handed out in the order of the
        past seasons' own warmth on those days
    needs, shifts : as in `Site.ensemble`

    Raises
    ------
    RecordError
        Where there is no earlier season, or none counts.

    References
    ----------
    That a month's departure lasts into the next: persistence of monthly temperature, in text books (Wilks, Statistical
    Methods in the Atmospheric Sciences; from memory). The three constants are ours, judged by chopping dates.
    """
    asked = site.asking(season)
    asked_of = tuple(name for name in needs if name != "prcp")
    wanted = asked.counted(asked_of)
    if not wanted.any():
        asked.ensemble(needs, shifts)  # says what is lacking
    own = _own(asked, today, wanted)
    lately = _lately(own.of, today)
    days = 0 if forecast is None else min(forecast.tmin.size, DAYS - today)
    if forecast is not None:
        _put(own.folded, forecast, today, days)
    more = _more(lately, today, days)
    past, level = _joined(asked.past, own.folded), _levels_joined(asked.past_level, own.level)
    every = np.append(wanted, True)
    until = np.append(np.full(len(wanted), DAYS), today)
    filled = fill(past, level, every, needs, _beside(asked, today), until=until)
    usual = np.vstack([asked.departures.usual[0], own.usual[0][None]])
    rows = possible(asked, past, level, every, filled, asked_of, shifts, usual, more)
    known = np.logical_and.reduce([getattr(own.folded, name)[0, :today] != MISSING for name in asked_of])
    rest = slice(max(today, GROWING[0]), GROWING[1] + 1)
    read = [(getattr(asked.past, name)[wanted, rest] != MISSING).all(axis=1) for name in asked_of]
    whole = np.logical_and.reduce(read) & known[GROWING[0] :].all()
    return _spliced(rows, season, today, known, whole, lately, days, forecast)


def pinned(site: Site, season: int, today: int, forecast: Forecast | None = None) -> Pinned:
    """`pin`, kept with the site where there is no forecast: a person moves what was seen in a field, not the day."""
    if forecast is not None:
        return pin(site, season, today, forecast)
    return site.once(("pinned", season, today), lambda: pin(site, season, today))


def season_of(day: np.datetime64) -> tuple[int, int]:
    """Season and column of a date; 29 February is taken as 28 February.

    >>> season_of(np.datetime64("2020-09-01"))
    (2020, 243)
    """
    year, month, of_month = (int(part) for part in str(day.astype("datetime64[D]")).split("-"))
    return year, column(month, min(of_month, 28) if month == 2 else of_month)


def _own(site: Site, today: int, wanted: NDArray[np.bool_]) -> _Own:
    """This season's days before today, on the season asked for's level."""
    folded, of = site.folded, site.past_level
    at = np.flatnonzero(folded.seasons == site.asked)

    def row(values: NDArray | None, empty: int) -> NDArray | None:
        if values is None:
            return None
        out = np.full((1, DAYS), empty, values.dtype)
        if at.size:
            out[0, :today] = values[at[0], :today]
        return out

    tmin, tmax = row(folded.tmin, int(MISSING)), row(folded.tmax, int(MISSING))
    assert tmin is not None and tmax is not None
    alone = Folded(tmin, tmax, np.array([site.asked]), row(folded.prcp, int(MISSING)), row(folded.sign, 0))
    then = of.then[..., None]
    level = replace(
        of, seasons=alone.seasons, own=then, departure=np.full(then.shape, np.nan)
    )  # what this season departs by has no say in any level
    normal = site.departures.usual[:, 0] - by_day(of.own[..., 0])
    usual = normal + by_day(of.then)
    if site.climate != TODAY:  # past seasons are not moved: what is usual is their own mean
        usual = normal + by_day(of.own[..., wanted].mean(-1))
    read = np.stack([tmin[0], tmax[0]])
    return _Own(alone, level, usual, np.where(read == MISSING, np.nan, read / 10.0) - usual)


def _lately(of: Floats, today: int) -> tuple[float, float]:
    """Mean departure over the last 60 days before today, Tmin and Tmax; NaN where under 30 of them were read."""
    part = of[:, max(today - LATELY, 0) : today]
    seen = np.isfinite(part).sum(1)
    total = np.where(np.isfinite(part), part, 0.0).sum(1)
    tmin, tmax = (
        float(sum_ / number) if number >= ENOUGH else float("nan") for sum_, number in zip(total, seen, strict=True)
    )
    return tmin, tmax


def _more(lately: tuple[float, float], today: int, forecast: int) -> Floats:
    """Degrees that days from today on, and after the forecast's, are moved besides. [element, 365]"""
    ahead = np.arange(DAYS) - today
    fading = np.where(ahead >= forecast, np.exp(-np.maximum(ahead, 0) / FADES), 0.0)
    return KEPT * np.nan_to_num(np.array(lately))[:, None] * fading


def _put(own: Folded, forecast: Forecast, today: int, days: int) -> None:
    """The middle of the forecast, as this season's days from today on."""
    part = np.s_[0, today : today + days]
    own.tmin[part], own.tmax[part] = tenths(forecast.tmin[:days]), tenths(forecast.tmax[:days])


def _joined(past: Folded, own: Folded) -> Folded:
    def both(name: str) -> NDArray | None:
        one, other = getattr(past, name), getattr(own, name)
        return None if one is None or other is None else np.concatenate([one, other])

    return Folded(*(both(name) for name in ("tmin", "tmax", "seasons", "prcp", "sign")))  # type: ignore[arg-type]


def _levels_joined(past: Level, own: Level) -> Level:
    return replace(
        past,
        seasons=np.concatenate([past.seasons, own.seasons]),
        own=np.concatenate([past.own, own.own], axis=-1),
        departure=np.concatenate([past.departure, own.departure], axis=-1),
    )


def _beside(site: Site, today: int) -> tuple[Departures | None, ...]:
    """Departures of the neighbours, on the past seasons and this one until today."""
    found: list[Departures | None] = []
    for record, past in zip(site.neighbours, site.beside(), strict=True):
        if past is None:
            found.append(None)
            continue
        theirs = Site(record, for_season=site.asked)
        own = _own(theirs, today, np.ones(len(theirs.past.seasons), bool))
        of, usual = (np.concatenate([a, b[:, None]], axis=1) for a, b in ((past.of, own.of), (past.usual, own.usual)))
        found.append(Departures(of, usual))
    return tuple(found)


def _spliced(
    rows: Ensemble,
    season: int,
    today: int,
    known: NDArray[np.bool_],
    whole: NDArray[np.bool_],
    lately: tuple[float, float],
    days: int,
    forecast: Forecast | None,
) -> Pinned:
    """This season's days put before the rest of each of the others: the last season of `rows` is this one."""
    before = replace(
        rows,
        index=rows.index[:, :-1],
        shifted=None if rows.shifted is None else rows.shifted[:, :-1],
        seasons=rows.seasons[:-1],
        complete=rows.complete[:-1],
    )
    central = np.stack([before.index, np.broadcast_to(rows.index[:, -1:], before.index.shape)])
    pairs = [central.reshape(2, -1)]
    if rows.shifted is not None and before.shifted is not None:
        moved = np.stack([before.shifted, np.broadcast_to(rows.shifted[:, -1:], before.shifted.shape)])
        moved[1] = rows.index[np.arange(len(moved[1])) % len(rows.index), -1][:, None]  # own days are not moved
        pairs.append(moved.reshape(2, -1))
    every, place = np.unique(np.concatenate(pairs, axis=1), axis=1, return_inverse=True)
    place = place.ravel()
    rest, first = every
    tmin, tmax = rows.tmin[rest], rows.tmax[rest]
    prcp = None if rows.prcp is None else rows.prcp[rest]
    tmin[:, : today + days], tmax[:, : today + days] = (
        rows.tmin[first, : today + days],
        rows.tmax[first, : today + days],
    )
    if prcp is not None and rows.prcp is not None:
        prcp[:, :today] = rows.prcp[first, :today]
    size = central[0].size
    if forecast is not None and days:
        part = np.s_[:, today : today + days]
        warmth = rows.tmin[rest][part].mean(1) + rows.tmax[rest][part].mean(1)
        _spread(forecast, tmin[part], tmax[part], _scores(warmth, warmth[place[:size]]))
    return Pinned(
        tmin=tmin,
        tmax=tmax,
        prcp=prcp,
        index=place[:size].reshape(before.index.shape),
        shifted=None if before.shifted is None else place[size:].reshape(before.shifted.shape),
        seasons=before.seasons,
        complete=whole,
        asked=season,
        climate=rows.climate,
        degrees=rows.degrees,
        season=season,
        today=today,
        own=np.unique(first, return_inverse=True)[1],
        known=known,
        departure=lately,
        forecast_days=days,
        before=before,
    )


def _scores(warmth: Floats, among: Floats) -> Floats:
    """Where each of some values stands among others, as a standard normal number. [row]"""
    order = np.sort(among)
    place = np.searchsorted(order, warmth, "left") + np.searchsorted(order, warmth, "right")
    return np.asarray(ndtri(np.clip(place / 2 / order.size, 0.5 / order.size, 1 - 0.5 / order.size)))


def _spread(forecast: Forecast, tmin: NDArray[np.int16], tmax: NDArray[np.int16], scores: Floats) -> None:
    """Hand the forecast's spread out in the order of the seasons' own warmth on those days, so that a season warm then
    has a warm forecast before its warm rest (Clark et al. 2004, J. Hydrometeorol. 5:243-262: the order of the past
    kept). tmin, tmax : int16 [row, day], changed in place; scores : [row]
    """
    days = tmin.shape[1]
    low = np.rint(tmin + 10 * scores[:, None] * forecast.tmin_spread[:days])
    high = np.rint(tmax + 10 * scores[:, None] * forecast.tmax_spread[:days])
    tmin[:], tmax[:] = np.minimum(low, high), np.maximum(low, high)
