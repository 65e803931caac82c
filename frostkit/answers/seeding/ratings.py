"""The largest rating of a hybrid that makes it from each seeding day at the odds wanted: solved, not tried out.

A corn made it when the heat from the day after sowing to the evening before the frost that kills it, or to the end of
the season, meets its need. What kills does not depend on the rating. So that heat is the largest need that a possible
season meets; the need met at the odds wanted is the one that so many of all possible seasons meet or pass; and the
rule from a rating to its needs, read backwards, gives the rating.
"""

from bisect import bisect_right
from functools import cache

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.corn import fit_plan, heat_to, is_silage, need_at
from frostkit.answers.plans import clock, whole_units
from frostkit.answers.seeding.grids import Ints, Mask
from frostkit.answers.silage.stores import Store
from frostkit.crops.entry import load
from frostkit.crops.rated import LEAST, MOST, PATTERNS, STEP, at_rating
from frostkit.ensemble.site import Ensemble
from frostkit.seasons.windows import killed

Heat = NDArray[np.float64]
RATINGS = range(1_000, 6_001)  # CHU, among which the largest is sought: far wider than what is sold
KINDS = {"silage": "silage", "grain": "grain-corn"}
"""What corn is grown for, and the kind of entry of the library that stands for it."""


def heat_met(rows: Ensemble, use: str, store: Store, days: Ints, latitude: float, frost: str = "usual") -> Heat:
    """The largest need that each row meets, sown on each day [whole units of corn heat]. [row, seeding day]"""
    of = fit_plan(load(PATTERNS[KINDS[use]]), store, latitude, frost=frost)
    dead = killed(rows.tmin, rows.tmax, of, days)
    return heat_to(rows.tmin, rows.tmax, of, days, np.minimum(dead - 1, of.season_end))


def on_first_fit_day(met: Heat, fit: Mask) -> Heat:
    """The same, sown on the first fit day from each day on; -inf where none comes. [row, seeding day]

    >>> on_first_fit_day(np.array([[9.0, 8.0, 7.0]]), np.array([[False, True, False]])).tolist()
    [[8.0, 8.0, -inf]]
    """
    count = fit.shape[-1]
    first = np.where(fit, np.arange(count), count)
    first = np.minimum.accumulate(first[..., ::-1], axis=-1)[..., ::-1]
    sown = np.take_along_axis(met, np.minimum(first, count - 1), axis=-1)
    return np.where(first < count, sown, -np.inf)


def met_at(rows: Ensemble, met: Heat, odds: float) -> Heat:
    """The need that at least these odds of all possible seasons meet or pass. [seeding day]"""
    every = np.sort(met[rows.index].reshape(-1, met.shape[-1]), axis=0)
    number = max(int(np.ceil(odds * len(every) - 1e-9)), 1)  # so many must meet it
    return np.asarray(every[len(every) - number])


def largest(met: Heat, use: str, store: Store) -> list[int | None]:
    """The largest rating whose need is met, for each need met; None where it lies below all that are sought [CHU]."""
    places = [bisect_right(RATINGS, heat, key=lambda rating: _need(use, store, rating)) for heat in met]
    return [RATINGS[place - 1] if place else None for place in places]


@cache
def _need(use: str, store: Store, rating: int) -> int:
    """What a corn of a rating needs to be fit, from sowing [whole units]."""
    like = load(PATTERNS[KINDS[use]])
    corn = at_rating(like, rating)
    if is_silage(corn):
        return need_at(corn, store.high)
    return whole_units(corn.goal_need(), clock(corn, corn.stage[corn.goal].clock).per_unit)


def as_sold(rating: int | None) -> int | None:
    """The same among hybrids that are sold, rounded down to the steps in which they are rated; None: none is so early.

    >>> as_sold(2347), as_sold(4100), as_sold(1500)
    (2325, 3600, None)
    """
    return None if rating is None or rating < LEAST else min(rating, MOST) // STEP * STEP
