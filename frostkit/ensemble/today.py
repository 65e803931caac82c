"""Past seasons in today's climate: how much warmer this place has become, part of the season by part.

Every constant below was chosen by asking past seasons with earlier ones only (docs/climate.md): 7 and 12 years sit on
a flat top, the +3 keeps records that ended early, and no matrix can be singular.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.ensemble.fold import ELEMENTS, Folded
from frostkit.seasons.calendar import DAYS, MISSING, column

Floats = NDArray[np.float64]
PARTS = (
    (column(4, 1), column(6, 15)),
    (column(6, 16), column(8, 15)),
    (column(8, 16), column(10, 31)),
)
"""First and last column of the thirds of the growing season."""
READ = 0.7  # part of a third's days that must be read
NORTH = 1.3  # degC that northern land warms per degC of the globe
SPREAD = 0.49  # variance of that number from place to place: 0.7 degC per degC
INFLATED = 1.25  # of the slope's standard error: seasons in a row are alike
GLOBE_YEARS, OWN_YEARS = 7.0, 12.0  # widths of the Gaussian weights, years
STEADY = 3.0  # seasons' worth of weight that the mean of all residuals has in a level
FEWEST = 15  # seasons below which the slope is taken as `NORTH`
ENDED = 10  # years after which an ended record's own slope is not trusted
DRAWS = 20


@cache
def globe() -> tuple[NDArray[np.int64], Floats]:
    """Global mean surface temperature: years, and departures from 1951-1980 [degC] (NASA GISS, see the file's head)."""
    lines = files("frostkit.ensemble").joinpath("global_temperature.csv").read_text("utf-8").splitlines()
    rows = [line.split(",") for line in lines if line[:1].isdigit()]
    return np.array([int(year) for year, _ in rows]), np.array([float(value) for _, value in rows])


def next_season() -> int:
    """The season after the last year of the global table: the one asked for where none is named."""
    return int(globe()[0][-1]) + 1


@cache
def _smooth_globe(before: int) -> tuple[int, Floats]:
    """First year, and the globe's temperature from it to `before`, by local lines from years before `before`."""
    year, value = globe()
    used = year < before
    if used.sum() < 3:
        used = year <= year[0] + 10  # a season asked for before the table: its first years stand for it
    x, y = year[used].astype(float), value[used]
    first = min(int(x[0]), before)
    at = np.arange(first, before + 1, dtype=float)
    away = x[None, :] - at[:, None]
    square = (away / GLOBE_YEARS) ** 2 / 2
    weight = np.exp(square.min(1, keepdims=True) - square)  # far beyond the table the nearest years still weigh
    total, mean_x, mean_y = weight.sum(1), weight @ x, weight @ y
    mean_x, mean_y = mean_x / total, mean_y / total
    off = x[None, :] - mean_x[:, None]
    slope = (weight * off * (y[None, :] - mean_y[:, None])).sum(1) / (weight * off**2).sum(1)
    return first, mean_y + slope * (at - mean_x)


def warmth_of_globe(years: NDArray[np.int64], before: int) -> Floats:
    """Smoothed global temperature of some years, from the years before `before` alone. [year] degC"""
    first, smooth = _smooth_globe(before)
    return smooth[np.clip(years - first, 0, smooth.size - 1)]


@dataclass(frozen=True)
class Level:
    """How warm each season's thirds were, as a level that changes slowly.

    seasons : int [season]; asked : the season asked for
    own : float [element, third, season] degC, level of each season; elements are Tmin, Tmax
    then : float [element, third] degC, level of the season asked for
    slope, error : [element, third], the place's own warming per degC of the globe and its standard error
    c : [element, third], what is used of it; unsure : standard deviation of it
    departure : [element, third, season], mean departure of the days read, NaN where too few were
    """

    seasons: NDArray[np.int64]
    asked: int
    own: Floats
    then: Floats
    slope: Floats
    error: Floats
    c: Floats
    unsure: Floats
    departure: Floats

    def moves(self) -> Floats:
        """Degrees by which each season's thirds move. [element, third, season]"""
        return self.then[..., None] - self.own


def by_day(moves: Floats) -> Floats:
    """Moves of thirds as moves of days: straight between the middles. [..., third] -> [..., 365]"""
    return moves @ _BY_DAY


def _weights_by_day() -> Floats:
    """What each third has to say on each day; constant before the first middle and after the last. [third, 365]"""
    middles = [(first + last) / 2 for first, last in PARTS]
    return np.array([np.interp(np.arange(DAYS), middles, row) for row in np.eye(len(PARTS))])


_BY_DAY = _weights_by_day()


def departures(folded: Folded, before: int) -> Floats:
    """Mean departure of each season's thirds from the calendar-day means before `before`. [element, third, season]

    NaN where less than 70 % of a third was read. Degrees Celsius.
    """
    past = folded.seasons < before
    out = np.full((len(ELEMENTS), len(PARTS), len(folded.seasons)), np.nan)
    for element, name in enumerate(ELEMENTS):
        values = getattr(folded, name)
        for third, (first, last) in enumerate(PARTS):
            days = values[:, first : last + 1]
            read = days != MISSING
            part = np.where(read, days, 0).astype(float)
            seen = read[past].sum(0)
            normal = part[past].sum(0) / np.maximum(seen, 1)
            used = read & (seen > 0)
            enough = read.mean(1) >= READ
            total = (np.where(used, part - normal, 0.0)).sum(1) / np.maximum(used.sum(1), 1) / 10
            out[element, third, enough] = total[enough]
    return out


def level(folded: Folded, asked: int) -> Level:
    """The level of every season and of the season asked for.

    Parameters
    ----------
    folded : Folded; seasons from `asked` on have no say
    asked : the season asked for, a year

    References
    ----------
    Global temperature: NASA GISS Surface Temperature Analysis (Lenssen et al. 2019, J. Geophys. Res. Atmos.
    124:6307-6326). Shrinking a slope towards a common one: Efron and Morris 1975, J. Am. Stat. Assoc. 70:311-319 (from
    memory). The constants are ours, judged by hindcast.
    """
    departure = departures(folded, asked)
    past = folded.seasons < asked
    warm = warmth_of_globe(folded.seasons, asked)
    warm_asked = float(warmth_of_globe(np.array([asked]), asked)[0])
    shape = departure.shape[:2]
    slope, error = np.full(shape, np.nan), np.full(shape, np.nan)
    c, unsure = np.full(shape, NORTH), np.full(shape, np.sqrt(SPREAD))
    own, then = np.zeros(departure.shape), np.zeros(shape)
    read_last = folded.seasons[past & np.isfinite(departure).any(axis=(0, 1))]
    ended = read_last.size == 0 or asked - int(read_last[-1]) > ENDED
    for cell in np.ndindex(*shape):
        seen = past & np.isfinite(departure[cell])
        if seen.sum() >= FEWEST:
            slope[cell], error[cell] = _line(warm[seen], departure[cell][seen])
            if not ended:
                keep = SPREAD / (SPREAD + error[cell] ** 2)
                c[cell] = NORTH + keep * (slope[cell] - NORTH)
                unsure[cell] = np.sqrt(keep) * error[cell]
        own[cell], then[cell] = _levels(
            np.asarray(c[cell]), warm, warm_asked, folded.seasons, asked, seen, np.nan_to_num(departure[cell])
        )
    return Level(folded.seasons, asked, own, then, slope, error, c, unsure, departure)


def shift_draws(of: Level, rng: np.random.Generator, draws: int = DRAWS) -> Floats:
    """Moves as they may have been, for the interval of the odds. [draw, element, third, season] degC

    Each season's residual about its level is multiplied by a standard normal number (the wild bootstrap: Wu 1986, Ann.
    Stat. 14:1261-1295, from memory), the same for thirds, Tmin and Tmax, and the slope is drawn within its error; then
    both levels are worked out again.
    """
    warm = warmth_of_globe(of.seasons, of.asked)
    warm_asked = float(warmth_of_globe(np.array([of.asked]), of.asked)[0])
    past = of.seasons < of.asked
    out = np.zeros((draws, *of.own.shape))
    normal = rng.standard_normal((draws, of.seasons.size))
    tilt = rng.standard_normal((draws, *of.c.shape))
    for cell in np.ndindex(*of.c.shape):
        seen = past & np.isfinite(of.departure[cell])
        residual = np.nan_to_num(of.departure[cell] - of.own[cell])
        c = of.c[cell] + of.unsure[cell] * tilt[(slice(None), *cell)]
        drawn = of.own[cell] + residual * normal
        own, then = _levels(c, warm, warm_asked, of.seasons, of.asked, seen, drawn)
        out[(slice(None), *cell)] = then[:, None] - own
    return out


def _line(x: Floats, y: Floats) -> tuple[float, float]:
    """Slope of y on x by least squares, and its standard error, inflated."""
    off = x - x.mean()
    squares = float((off**2).sum())
    if squares <= 0:
        return NORTH, float("inf")
    slope = float((off * y).sum()) / squares
    rest = y - y.mean() - slope * off
    return slope, INFLATED * float(np.sqrt((rest**2).sum() / (x.size - 2) / squares))


def _levels(
    c: Floats, warm: Floats, warm_asked: float, seasons: NDArray[Any], asked: int, seen: NDArray[np.bool_], a: Floats
) -> tuple[Floats, Floats]:
    """Level of every season and of the one asked for, from the departures of the seasons seen.

    c : float [...]; a : float [..., season]; returns [..., season] and [...]
    """
    globe_part = c[..., None] * np.append(warm, warm_asked)
    if not seen.any():
        return globe_part[..., :-1], globe_part[..., -1]
    r = a[..., seen] - c[..., None] * warm[seen]
    year = np.append(seasons, asked)
    weight = np.exp(-(((seasons[seen][None, :] - year[:, None]) / OWN_YEARS) ** 2) / 2)
    smooth = (r @ weight.T + STEADY * r.mean(-1, keepdims=True)) / (weight.sum(1) + STEADY)
    level_of = globe_part + smooth
    return level_of[..., :-1], level_of[..., -1]
