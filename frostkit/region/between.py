"""Between stations: a Gaussian process on place and height, for dates and for odds, with its own spread.

A field 40 km from every station is not the nearest station. What is known of all of them, weighed by how alike stations
so far apart and so much higher have been here, gives a number and how far to trust it. Its error is told by leaving out
whole blocks of stations: leaving out single ones flatters, for their neighbours stay in.

References: Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, ch. 2 (from memory); blocks left out:
Roberts et al. 2017, Ecography 40:913-929 (from memory).
"""

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit
from scipy.stats import norm
from sklearn.cluster import KMeans
from sklearn.exceptions import ConvergenceWarning
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

from frostkit.errors import RecordError
from frostkit.records.record import EARTH_KM

Floats = NDArray[np.float64]
FEWEST = 8  # stations below which nothing can be said of how odds change with distance (common practice, no source)
MOST = 300  # stations that the lengths are learnt from: all of them give the numbers
BLOCKS = 8
SEED = 17


@dataclass(frozen=True)
class Spread:
    """A value between stations and how far it may be off.

    mean : float [place, value]; deviation : float [place, value], one standard deviation
    """

    mean: Floats
    deviation: Floats


@dataclass(frozen=True)
class Process:
    """What was learnt from stations.

    model : fitted; centre : latitude, longitude from which kilometres are counted; usual : a height where none is known
    """

    model: GaussianProcessRegressor
    centre: tuple[float, float]
    usual: float

    def at(self, latitude: Floats, longitude: Floats, height: Floats) -> Spread:
        """Values at places, degrees north and east, m. [place]"""
        mean, deviation = self.model.predict(self._where(latitude, longitude, height), return_std=True)
        mean = mean.reshape(len(latitude), -1)
        deviation = np.broadcast_to(deviation.reshape(len(latitude), -1), mean.shape)
        return Spread(mean, deviation)

    def _where(self, latitude: Floats, longitude: Floats, height: Floats) -> Floats:
        return where(latitude, longitude, height, self.centre, self.usual)


def where(latitude: Floats, longitude: Floats, height: Floats, centre: tuple[float, float], usual: float) -> Floats:
    """Kilometres north and east of a centre, and hundreds of metres of height. [place, 3]"""
    a_degree = np.pi * EARTH_KM / 180
    north = (np.asarray(latitude) - centre[0]) * a_degree
    east = (np.asarray(longitude) - centre[1]) * a_degree * np.cos(np.radians(centre[0]))
    return np.stack([north, east, np.where(np.isfinite(height), height, usual) / 100], axis=1)


def learn(latitude: Floats, longitude: Floats, height: Floats, values: Floats, noise: Floats) -> Process:
    """How values change from station to station.

    Parameters
    ----------
    latitude, longitude, height : [station], degrees north and east, m
    values : float [station] or [station, value]
    noise : float [station], variance of each station's own value, in the unit of the values

    Raises `RecordError` for fewer than eight stations.
    """
    if len(latitude) < FEWEST:
        raise RecordError(
            f"{len(latitude)} stations are too few to say anything between them; it takes {FEWEST}.",
            "Take the nearest station: leave --between out.",
        )
    centre = float(np.mean(latitude)), float(np.mean(longitude))
    known = np.isfinite(height)
    usual = float(np.median(height[known])) if known.any() else 0.0
    at = where(latitude, longitude, height, centre, usual)
    of = values.reshape(len(at), -1)
    scale = float(np.mean(of.var(axis=0))) or 1.0
    kernel = ConstantKernel(1.0, (0.05, 20.0)) * RBF([150.0, 150.0, 4.0], [(15, 3000), (15, 3000), (0.5, 60)])
    kernel += WhiteKernel(0.1, (1e-3, 2.0))
    alpha = np.maximum(noise / scale, 1e-6)
    some = np.arange(len(at))
    if len(at) > MOST:
        some = np.random.default_rng(SEED).permutation(len(at))[:MOST]
    with warnings.catch_warnings():  # a length at its bound is no fault: heights that differ little tell little
        warnings.simplefilter("ignore", ConvergenceWarning)
        model = GaussianProcessRegressor(kernel, alpha=alpha[some], normalize_y=True).fit(at[some], of[some])
        if len(some) < len(at):
            model = GaussianProcessRegressor(model.kernel_, alpha=alpha, normalize_y=True, optimizer=None).fit(at, of)
    return Process(model, centre, usual)


@dataclass(frozen=True)
class Between:
    """Odds between stations; float [place, ...]: share with its interval, the spread of places and of seasons in it."""

    share: Floats
    low: Floats
    high: Floats


def odds_between(
    process: Process, latitude: Floats, longitude: Floats, height: Floats, seasons: float, level: float = 0.9
) -> Between:
    """Odds at places from a process that learnt `log_odds`.

    The interval holds both: how far a place may differ from its stations, and how far a share of so few seasons may be
    from the odds. Stations share their summers, so that more of them make that second part no smaller.
    """
    of = process.at(latitude, longitude, height)
    middle = expit(of.mean)
    own = own_variance(middle, seasons)
    deviation = np.sqrt(of.deviation**2 + own)
    ends = norm.ppf((1 + level) / 2) * deviation
    points, weights = np.polynomial.hermite_e.hermegauss(15)  # the mean of what the spread of places allows
    drawn = expit(of.mean[..., None] + of.deviation[..., None] * points)
    return Between(drawn @ (weights / weights.sum()), expit(of.mean - ends), expit(of.mean + ends))


def log_odds(count: NDArray[Any], seasons: NDArray[Any]) -> Floats:
    """Counts as log odds that stay finite at none and at all."""
    return np.asarray(logit((count + 0.5) / (seasons + 1.0)))


def own_variance(share: Floats, seasons: float) -> Floats:
    """Variance of the log odds of a share of so many seasons."""
    held = np.clip(share, 0.5 / (seasons + 1), 1 - 0.5 / (seasons + 1))
    return 1 / ((seasons + 1) * held * (1 - held))


@dataclass(frozen=True)
class Errors:
    """What leaving out blocks of stations shows; in the unit of the values.

    rms : of the process; nearest : of taking the nearest station left; inside : share of values in the 90 % interval
    """

    rms: float
    nearest: float
    inside: float


def errors(latitude: Floats, longitude: Floats, height: Floats, values: Floats, noise: Floats) -> Errors:
    """Each block of neighbouring stations told from all others. values, noise : [station]"""
    count = min(BLOCKS, len(latitude) // 3)
    centre = float(np.mean(latitude)), float(np.mean(longitude))
    at = where(latitude, longitude, height, centre, 0.0)
    block = KMeans(count, n_init=4, random_state=SEED).fit_predict(at[:, :2])
    told, deviation, nearest = (np.full(len(at), np.nan) for _ in range(3))
    for one in range(count):
        out, left = block == one, block != one
        if left.sum() < FEWEST:
            continue
        process = learn(latitude[left], longitude[left], height[left], values[left], noise[left])
        of = process.at(latitude[out], longitude[out], height[out])
        told[out], deviation[out] = of.mean[:, 0], of.deviation[:, 0]
        away = np.hypot(*(at[out][:, None, :2] - at[left][None, :, :2]).transpose(2, 0, 1))
        nearest[out] = values[left][away.argmin(1)]
    held = np.isfinite(told)
    if not held.any():
        raise RecordError("The stations are too few to leave blocks of them out.", "Take the nearest station.")
    wide = norm.ppf(0.95) * np.sqrt(deviation**2 + noise)
    off = values - told
    return Errors(
        float(np.sqrt(np.mean(off[held] ** 2))),
        float(np.sqrt(np.mean((values - nearest)[held] ** 2))),
        float(np.mean(np.abs(off[held]) <= wide[held])),
    )
