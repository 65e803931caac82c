"""The legume under the corn: sheltered until the corn browns, and grown at the middle of what competition takes."""

import numpy as np
import pytest

from frostkit.answers.corn import CornDays, corn_days, shelter
from frostkit.answers.legume.bean_light import bean
from frostkit.answers.legume.growth import END, HIGH, emerged, factors, field, frosted, over, worth_having
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import load
from frostkit.seasons import canopy
from frostkit.seasons.calendar import column
from tests import plain_loops

CORN, LEGUME = load("silage-2300"), load("forage-late")
CLOSED, BROWNED, COLD, CHOP = column(7, 10), column(9, 1), column(9, 5), column(9, 15)


def test_a_frost_between_the_browning_and_the_chop_finds_the_legume_in_the_open():
    day = np.arange(365)
    tmin = np.where((day > column(5, 1)) & (day < column(10, 20)), 100, -50).astype(np.int16)[None]
    kept = LEGUME.shelter.value
    kills = LEGUME.stage["emergence"].kills.value
    tmin[0, COLD] = round(10 * (kills - kept / 2))  # kills in the open, not in the shelter
    tmax = tmin + np.int16(120)
    at = {name: np.array([[float(value)]]) for name, value in (("closed", CLOSED), ("chop", CHOP))}
    for browned, dead in ((BROWNED, COLD), (column(9, 10), np.inf)):
        under = CornDays(
            {}, at["closed"], np.array([[float(browned)]]), np.full((1, 1), np.inf), at["chop"], at["chop"]
        )
        assert shelter(LEGUME, under).last.tolist() == [[min(browned, CHOP)]]
        of = field(tmin, tmax, CORN, LEGUME, 50.0)
        found = frosted(of, np.array([column(5, 22)]), under)[0, 0]
        assert found == dead or (dead == np.inf and found > CHOP)


@pytest.mark.parametrize("goal", [300.0, 600.0])
def test_worth_having_is_growth_on_light_less_what_competition_takes_at_the_chop(goal):
    tmin, tmax = plain_loops.weather(3, 8)
    sown = np.arange(column(5, 10), column(7, 20), 9)
    days = corn_days(tmin, tmax, CORN, sown, wanted("bunker"), 50.0)
    of = field(tmin, tmax, CORN, LEGUME, 50.0)
    up, dead = emerged(of, sown), frosted(of, sown, days)
    alone = canopy.growth(of.light, up, [np.minimum(days.chop, END)], bean(HIGH), over(of, sown), dead)[0]
    low, middle, high = factors()
    assert low < middle < high == 1  # light alone is an upper bound
    made = worth_having(tmin, tmax, CORN, LEGUME, sown, sown, days, 50.0, goal=goal)
    for row in range(len(tmin)):
        for place in range(sown.size):
            assert made[row, place] == (float(alone[row, place]) * np.float32(middle) >= goal)
    assert (made != (alone >= goal)).any()  # competition decides somewhere
