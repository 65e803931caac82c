"""What else can be asked of every place: days and numbers of the other questions, by a single station's own answers."""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from frostkit.answers.answer import Answer, Day
from frostkit.answers.legume.late import SEEDING as LEGUME_SEEDING, late_legume
from frostkit.answers.seeding.choose import SEEDING, choose
from frostkit.answers.seeding.grids import FIRST, Asked
from frostkit.answers.station.frost import day_by_odds, frost
from frostkit.answers.station.heat import heat
from frostkit.answers.station.track_record import quickly_judged, seeding_event
from frostkit.crops.entry import load
from frostkit.crops.rated import PATTERNS
from frostkit.ensemble.site import Site
from frostkit.errors import FrostkitError

Values = dict[str, float]


class Variable(NamedTuple):
    """One number of a place. unit : "day" for a column of the season; shown : whether it stands in what people read"""

    long_name: str
    unit: str = "day"
    shown: bool = False


class Asks(NamedTuple):
    """What is asked of a place beside its window: the question as for the window, and the corn's seeding day."""

    site: Site
    asked: Asked
    odds: float
    seeding: int | None


def of_frost(asks: Asks) -> Values:
    """Frost at 0 degC, as `frostkit frost` has it."""
    answer = frost(asks.site)
    return {
        "spring_frost_half": day_by_odds(answer, "last_spring", "half"),
        "spring_frost_nine": day_by_odds(answer, "last_spring", "nine"),
        "fall_frost_half": day_by_odds(answer, "first_fall", "half"),
        "fall_frost_one": day_by_odds(answer, "first_fall", "one"),
        "frost_free_days": _known(answer.values["frost_free_days"]["usual"]),
    }


def of_heat(asks: Asks) -> Values:
    """Heat from 1 May to 31 October, as `frostkit heat` and `frostkit heat --method chu` have it."""
    found: Values = {}
    for name, method in (("heat_units", "chu"), ("degree_days", "mean")):
        reached = heat(asks.site, method).values["at_least"]
        found |= {f"{name}_{odds}": reached[odds] for odds in ("half", "nine")}
    return found


def of_choice(asks: Asks) -> Values:
    """The largest ratings that get there, ready on the seeding day, as `frostkit choose` has them."""
    day = SEEDING if asks.seeding is None else asks.seeding
    corn = [load(PATTERNS["silage"])]  # the ratings do not hang on the entries that are ranked beside them
    answer = choose(asks.site, day, corn, [], odds=asks.odds, store=asks.asked.store.name)
    table = answer.table("largest_rating")
    return {
        name: _known(table[key].values[day - FIRST])
        for name, key in (("silage_rating", "plan"), ("grain_rating", "grain.plan"))
    }


def of_late_legume(asks: Asks) -> Values:
    """The last day for the legume between the rows, and what it makes, as `frostkit late-legume` has them."""
    corn, legume = asks.asked.corn, asks.asked.legume
    if corn is None or legume is None:
        return {}
    day = LEGUME_SEEDING if asks.seeding is None else asks.seeding
    answer = late_legume(asks.site, corn, legume, day, odds=asks.odds, store=asks.asked.store.name)
    last: Day | None = answer.values["last_day"]
    return {
        "legume_last": float("nan") if last is None else last.column,
        "legume_with_corn": _growth(answer, "with corn"),
        "legume_at_v5": _growth(answer, "V5"),
    }


def _growth(answer: Answer, way: str) -> float:
    """Dry matter of a way of sowing, the middle of its range [kg/ha]."""
    table = answer.tables[0]
    place = [one.name for one in table.index.values].index(way)
    return _known(table["growth_kg_ha.middle"].values[place])


def of_track_record(asks: Asks) -> Values:
    """How far the window's own odds were off in the newest seasons, as the last line of `frostkit window` has it."""
    _, own = quickly_judged(asks.site, seeding_event(asks.asked))
    if not own.forecasts:
        return {}
    return {"track_gap": 100 * own.mean_gap, "track_bias": 100 * own.bias, "track_seasons": float(own.seasons)}


def _known(value: Any) -> float:
    return float("nan") if value is None else float(getattr(value, "value", value))


FURTHER: dict[str, tuple[Callable[[Asks], Values], dict[str, Variable]]] = {
    "frost": (
        of_frost,
        {
            "spring_frost_half": Variable("last spring frost (0 degC) is over by then in half of the seasons"),
            "spring_frost_nine": Variable("last spring frost is over by then in 9 of 10 seasons", shown=True),
            "fall_frost_half": Variable("first fall frost has come by then in half of the seasons"),
            "fall_frost_one": Variable("first fall frost has come by then in 1 of 10 seasons", shown=True),
            "frost_free_days": Variable("days between the two frosts in half of the seasons at most", "days"),
        },
    ),
    "heat": (
        of_heat,
        {
            "heat_units_half": Variable("corn heat units, 1 May to 31 October, reached in half of the seasons", "CHU"),
            "heat_units_nine": Variable("corn heat units reached in 9 of 10 seasons", "CHU", True),
            "degree_days_half": Variable(
                "degree days above 10 degC, 1 May to 31 October, in half of the seasons", "degree days C"
            ),
            "degree_days_nine": Variable("degree days above 10 degC reached in 9 of 10 seasons", "degree days C"),
        },
    ),
    "choose": (
        of_choice,
        {
            "silage_rating": Variable("largest rating of silage corn that gets there at the odds", "CHU", True),
            "grain_rating": Variable("largest rating of grain corn that gets there at the odds", "CHU"),
        },
    ),
    "late-legume": (
        of_late_legume,
        {
            "legume_last": Variable("last day between the corn's rows that gives what is asked", "day", True),
            "legume_with_corn": Variable("dry matter of the legume at the chop, sown with the corn", "kg/ha"),
            "legume_at_v5": Variable("the same, sown at the corn's fifth collar", "kg/ha", True),
        },
    ),
    "track-record": (
        of_track_record,
        {
            "track_gap": Variable("how far the odds were off in the newest seasons, mean", "points", True),
            "track_bias": Variable("odds too high (above 0) or too low", "points"),
            "track_seasons": Variable("seasons judged", "count"),
        },
    ),
}
"""By question: what answers it, and its variables over place."""
VARIABLES = {name: of for _, variables in FURTHER.values() for name, of in variables.items()}


def variables(also: tuple[str, ...]) -> tuple[str, ...]:
    """Names of the variables of some questions, in the order of `FURTHER`."""
    return tuple(name for key, (_, of) in FURTHER.items() if key in also for name in of)


def further(also: tuple[str, ...], asks: Asks) -> Values:
    """The variables of some questions at a place; NaN where one can't be answered there."""
    found = dict.fromkeys(variables(also), float("nan"))
    for name in also:
        try:
            found |= FURTHER[name][0](asks)
        except FrostkitError:
            continue  # a place without the latitude that the bean's light needs, say: a hole in this question alone
    return {name: float(np.asarray(value, float)) for name, value in found.items()}
