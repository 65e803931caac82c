"""Which seeding day pays best over the years, and what a run of years risks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.seeding import SeedingAnswer
from frostkit.errors import SettingError
from frostkit.odds.joint import Condition, Pays, over_years, pays_best

SEED = 20  # of the drawing of seasons: the same record gives the same answer
YEARS = 5  # of the risk that is told: a rotation's length, common practice, no source


@dataclass(frozen=True)
class PaysAnswer:
    """What each seeding day pays over the years, in the unit of the amounts given. Days are columns.

    worth : what the first day looked at brings when it works; per_day : how much less each day later brings
    loss : what a failed seeding costs; best : the day that pays best; between : where it lies when seasons are redrawn
    mean, low, high : what the best day pays a season, with its interval
    fails : odds that the best day fails at least once in `YEARS` seasons, with its ends
    """

    worth: float
    per_day: float
    loss: float
    best: int
    between: tuple[int, int]
    mean: float
    low: float
    high: float
    fails: tuple[float, float, float]
    pays: Pays
    days: NDArray[np.int64]


def pays(answer: SeedingAnswer, worth: float, per_day: float = 0.0, loss: float = 0.0) -> PaysAnswer:
    """The seeding day that pays best over the years, from the same seasons as the seeding window.

    Parameters
    ----------
    answer : SeedingAnswer
    worth : what a seeding that works brings, sown on the first day looked at: money or any unit, an acre say
    per_day : how much less each day later brings (a negative number: more)
    loss : what a failed seeding costs

    Raises
    ------
    SettingError
        For a worth or a loss below 0, or with fewer than 10 complete seasons.
    """
    if not (worth > 0 and loss >= 0 and np.isfinite([worth, per_day, loss]).all()):
        raise SettingError(f"A worth of {worth:g} with a loss of {loss:g} can't be weighed.",
                           "Give a worth above 0 and a loss of 0 or more, in the same unit.")  # fmt: skip
    grid, days = answer.works[answer.subject], answer.days
    gain = worth - per_day * (days - days[0])
    worked = Condition(grid.certain, grid.possible)
    found = pays_best(worked, gain, loss, np.random.default_rng(SEED), complete=grid.complete)
    best, share = found.best, answer.odds[answer.subject]
    risk = over_years([1 - share.share[best], 1 - share.high[best], 1 - share.low[best]], YEARS)
    first, last = (int(days[place]) for place in found.best_between)
    return PaysAnswer(worth, per_day, loss, int(days[best]), (first, last), float(found.mean[best]),
                      float(found.spread.low[best]), float(found.spread.high[best]),
                      (float(risk[0]), float(risk[1]), float(risk[2])), found, days)  # fmt: skip
