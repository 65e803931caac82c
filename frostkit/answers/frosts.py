"""Frost dates of every season at a threshold, and the odds of each by day."""

from dataclasses import dataclass

import numpy as np

from frostkit.answers.cautions import Caution, cautions_of
from frostkit.answers.station import Behind
from frostkit.odds.estimate import DEFAULT, Odds, by_day
from frostkit.seasons.calendar import DAYS, SPLIT, moved
from frostkit.seasons.frost import first_fall, last_spring
from frostkit.seasons.interval import SeasonDates, days_between

TENTHS = (0.1, 0.2, 0.5, 0.8, 0.9)  # odds at which dates are given: common practice, no source


@dataclass(frozen=True)
class FrostAnswer:
    """Season dates and odds at one threshold [degC]; both odds are of the event falling on or before a day.

    spring, fall : SeasonDates [season]; between : days strictly between the two, least and most
    spring_odds : for every day to 31 July; fall_odds : from 1 August
    """

    behind: Behind
    threshold: float
    spring: SeasonDates
    fall: SeasonDates
    between: SeasonDates
    spring_odds: Odds
    fall_odds: Odds
    cautions: tuple[Caution, ...]


def frosts(behind: Behind, threshold: float = 0.0, estimator: str = DEFAULT) -> FrostAnswer:
    """Last spring and first fall frost of every season, frost-free days, and the odds by day.

    Parameters
    ----------
    behind : Behind
    threshold : float [degC]
        A day counts when Tmin is at or below it.
    estimator : str
        One of `odds.estimate.ESTIMATORS`.
    """
    spring, fall = last_spring(behind.cube, threshold), first_fall(behind.cube, threshold)
    split = moved(SPLIT, behind.cube.season_starts)
    seasons = behind.cube.seasons
    spring_odds, fall_odds = (
        by_day(dates, days, estimator=estimator, seasons=seasons, complete=behind.complete, open_end=open_end)
        for dates, days, open_end in ((spring, np.arange(split), "earlier"), (fall, np.arange(split, DAYS), "later"))
    )
    between, cautions = days_between(spring, fall), cautions_of("frost")
    return FrostAnswer(behind, threshold, spring, fall, between, spring_odds, fall_odds, cautions)
