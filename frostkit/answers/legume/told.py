"""What a way to sow makes, as people read it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.answer import StageName
from frostkit.answers.legume import growth, worth
from frostkit.answers.legume.goals import corn_kept, kept_source
from frostkit.answers.legume.growth import low_middle_high, with_model
from frostkit.answers.legume.sweeps import Asked, Cells, Counted
from frostkit.answers.legume.ways import Way
from frostkit.odds.share import Share

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Told:
    """One way, as people read it; triples are 10, 50 and 90 %.

    sown : day; kilos, at_frost : kg/ha at the chop, and at its killing frost were it left standing
    of_sole, light : middle; vegetative : days or None; chop, up : middle days; lines : of `worth`, by name
    protein : of the blend at those kilogrammes, all else at its middle, %
    """

    way: Way
    sown: Floats
    kilos: Floats
    at_frost: Floats
    of_sole: float
    light: float
    vegetative: Floats | None
    stage_at_chop: StageName
    stage_at_frost: StageName
    up: float
    chop: float
    lines: Mapping[str, worth.Line]
    protein: Floats
    last_day: float
    made: Share


def told(of: Way, of_cells: Cells, counted: Counted, asked: Asked, which: Ints, odds: float, made: Share) -> Told:
    """One way, from its cells. which : int [row counted], places among all rows"""
    central = counted.central
    weight = (of_cells.part[:, None] * central.weight[None]).ravel()

    def middle(array: NDArray[Any], absent: float = 0.0) -> Floats:
        return low_middle_high(of_cells.pick(array, which, absent).ravel(), weight)

    def stage(array: Ints) -> StageName:
        each = of_cells.pick(array, which)
        counts = np.bincount(each.ravel().astype(int), weights=weight, minlength=len(central.stage_names))
        return central.stage_names[int(counts.argmax())]

    kilos = with_model(of_cells.pick(central.alone[0], which).ravel(), weight, asked.rows)
    since = asked.seeding if not of.together else int(asked.days[0])
    return Told(
        of,
        low_middle_high(of_cells.sown[:, which].ravel(), weight),
        kilos,
        with_model(of_cells.pick(central.alone[1], which).ravel(), weight, asked.rows),
        float(middle(central.of_sole)[1]) * growth.factors(asked.rows)[1],
        float(middle(central.light)[1]),
        None if central.vegetative is None else middle(central.vegetative),
        stage(central.stage_at_chop),
        stage(central.stage_at_frost),
        float(middle(central.sweep.grown.up, np.inf)[1]),
        float(middle(central.sweep.grown.chop, np.inf)[1]),
        {line.name: line for line in worth.chain(given(asked, of.together, kilos))},
        protein(asked, of.together, kilos),
        last_day(central.sweep.grown.sown, counted.yes, odds, asked, since),
        made,
    )


def given(asked: Asked, together: bool, kilos: Floats) -> worth.Given:
    """What the chain of worth starts from."""
    return worth.Given(
        corn=worth.Range(asked.corn_yield, asked.corn_yield, asked.corn_yield),
        bean=worth.Range(*(float(one) for one in kilos)),
        bean_source="growth on the light that the corn leaves, and what competition takes",
        corn_kept=corn_kept(together, asked.rows),
        kept_source=kept_source(together, asked.rows),
    )


def last_day(sown: Ints, by_day: Share, odds: float, asked: Asked, since: int) -> float:
    """The last sowing day that reaches the odds; -inf for none."""
    good = np.flatnonzero(by_day.reaches(odds) & (sown >= since) & (sown <= asked.days[-1]))
    return float(sown[good[-1]]) if good.size else -np.inf


def protein(asked: Asked, together: bool, kilos: Floats) -> Floats:
    """Protein of the blend [%] at the middle of all else, as `worth.chain` has it. kilos : [...], standing, kg/ha"""
    of = worth.fact
    poor, rich, stays = (of(*one).middle for one in (("protein", "corn"), ("protein", "beans"), ("left", "stubble")))
    corn = asked.corn_yield * corn_kept(together, asked.rows).middle
    bean = np.asarray(kilos) / 1000 * (1 - stays)
    return (corn * poor + bean * rich) / (corn + bean)
