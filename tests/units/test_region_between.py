"""Between stations: better than the nearest one, and as unsure as it is."""

import numpy as np
import pytest
from scipy.stats import norm

from frostkit.errors import RecordError
from frostkit.region.between import errors, learn, log_odds, odds_between


def country(count: int, seed: int):
    """Made-up stations of a plain with hills, and what holds there: a day that goes with place and height."""
    rng = np.random.default_rng(seed)
    latitude, longitude = rng.uniform(49, 53, count), rng.uniform(-110, -98, count)
    height = 250 + 40 * (-98 - longitude) + rng.gamma(2, 40, count)

    def day(lat, lon, high):
        wave = 3 * np.sin((lon + 110) / 1.7) + 2.5 * np.cos((lat - 49) * 1.9)
        return 140 + 2.0 * (lat - 51) + 0.02 * (high - 500) + wave

    return rng, latitude, longitude, height, day


def test_a_date_between_stations_is_nearer_than_that_of_the_nearest_one_and_its_interval_holds():
    rng, latitude, longitude, height, day = country(140, 3)
    noise = np.full(100, 1.2**2)
    at = slice(0, 100)
    seen = day(latitude, longitude, height)[at] + rng.normal(0, 1.2, 100)
    process = learn(latitude[at], longitude[at], height[at], seen, noise)
    new = slice(100, 140)
    of = process.at(latitude[new], longitude[new], height[new])
    truth = day(latitude, longitude, height)[new]
    away = np.hypot(latitude[new][:, None] - latitude[at], (longitude[new][:, None] - longitude[at]) * 0.63)
    nearest = np.sqrt(np.mean((seen[away.argmin(1)] - truth) ** 2))
    off = of.mean[:, 0] - truth
    assert np.sqrt(np.mean(off**2)) < 0.75 * nearest
    assert np.mean(np.abs(off) <= 1.645 * of.deviation[:, 0]) >= 0.8


def test_far_from_all_stations_the_spread_is_that_of_the_whole_country():
    _, latitude, longitude, height, day = country(60, 5)
    seen = day(latitude, longitude, height)
    process = learn(latitude, longitude, height, seen, np.full(60, 0.1))
    near, far = process.at(*(np.array([one]) for one in (51.0, -104.0, 500.0))), process.at(
        *(np.array([one]) for one in (51.0, -60.0, 500.0))
    )  # fmt: skip
    assert near.deviation[0, 0] < 0.6 * seen.std() and far.deviation[0, 0] > 1.5 * near.deviation[0, 0]


@pytest.mark.slow
def test_blocks_left_out_tell_a_larger_error_than_single_stations_left_out():
    rng, latitude, longitude, height, day = country(60, 7)
    seen = day(latitude, longitude, height) + rng.normal(0, 0.5, 60)
    noise = np.full(60, 0.25)
    of = errors(latitude, longitude, height, seen, noise)
    single = []
    for out in range(0, 60, 4):
        left = np.arange(60) != out
        process = learn(latitude[left], longitude[left], height[left], seen[left], noise[left])
        told = process.at(latitude[[out]], longitude[[out]], height[[out]]).mean[0, 0]
        single.append(told - seen[out])
    assert of.rms > np.sqrt(np.mean(np.square(single)))
    assert of.rms < of.nearest and 0.75 <= of.inside <= 1


def test_odds_between_stations_cover_the_true_odds_though_all_stations_share_their_summers():
    """Simulated: 40 seasons that all stations share, true odds that change over the country; 90 % intervals."""
    held = []
    for seed in range(12):
        rng, latitude, longitude, height, day = country(50, seed)
        true = 1 / (1 + np.exp(-(day(latitude, longitude, height) - 140) / 4))
        summers = rng.standard_normal(40)[:, None]  # one summer everywhere, and a little of each place's own
        luck = norm.cdf(0.9 * summers + np.sqrt(1 - 0.81) * rng.standard_normal((40, 50)))
        count = (luck < true).sum(0)
        at = slice(0, 40)
        noise = 1 / (41 * np.clip(count[at] / 40, 0.02, 0.98) * (1 - np.clip(count[at] / 40, 0.02, 0.98)))
        process = learn(latitude[at], longitude[at], height[at], log_odds(count[at], np.full(40, 40)), noise)
        of = odds_between(process, latitude[40:], longitude[40:], height[40:], 40)
        held.append(np.mean((of.low[:, 0] <= true[40:]) & (true[40:] <= of.high[:, 0])))
        assert ((of.low <= of.share) & (of.share <= of.high)).all()
    assert 0.8 <= np.mean(held) <= 0.99


def test_counts_of_none_and_all_have_finite_log_odds_in_order():
    values = log_odds(np.arange(31), np.full(31, 30))
    assert np.isfinite(values).all() and (np.diff(values) > 0).all()
    assert values[0] == pytest.approx(-values[30])


def test_too_few_stations_are_refused():
    few = np.arange(5.0)
    with pytest.raises(RecordError, match="5 stations are too few to say anything between them; it takes 8"):
        learn(50 + few, -100 + few, few, few, few + 1)
