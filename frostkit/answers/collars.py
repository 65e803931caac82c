"""Leaf collars of corn by heat: V1, V2 ... after emergence, each with its own need."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from frostkit.crops.entry import Crop, Need, Stage
from frostkit.errors import CropError, SettingError

MOST = 22  # collars: no hybrid of the north has more; from memory of extension practice


def collar_need(crop: Crop, number: int) -> float:
    """Heat from emergence to a leaf collar, in the unit of the entry's collars.

    Raises `CropError` for an entry without collars, `SettingError` for a number outside 1 to 22.

    >>> from frostkit.crops.entry import load
    >>> collar_need(load("silage-2300"), 15)
    1070.0
    """
    collars = crop.collars
    if collars is None:
        raise CropError(f"{crop.name} does not say how its leaves come.",
                        "Add [collars] to the entry: clock, since, to, early, late.")  # fmt: skip
    if not 1 <= number <= MOST:
        raise SettingError(f"There is no leaf collar {number}.", f"Give a number from 1 to {MOST}.")
    return collars.early.value * min(number, collars.to) + collars.late.value * max(number - collars.to, 0)


def collars_at(crop: Crop, heat: ArrayLike, emergence: float | None = None) -> NDArray[np.float64]:
    """How many collars a heat since sowing makes, with the share of the next; 0 before the first.

    heat : array, in the unit of the entry's collars; emergence : the need up to it, the entry's if left out

    >>> from frostkit.crops.entry import load
    >>> collars_at(load("silage-2300"), [785], emergence=120).round(1).tolist()
    [8.1]
    """
    collar_need(crop, 1)
    collars = crop.collars
    assert collars is not None
    begun = crop.stage[collars.since].need.value if emergence is None else emergence
    since = np.asarray(heat, float) - begun
    turn = collars.early.value * collars.to
    later = collars.to + (since - turn) / collars.late.value
    return np.maximum(np.where(since <= turn, since / collars.early.value, later), 0)


def with_collar(crop: Crop, number: int) -> Crop:
    """The entry with one more stage, "v7" for the seventh collar; as it is where it has that stage.

    >>> from frostkit.crops.entry import load
    >>> with_collar(load("silage-2300"), 7).stage["v7"].need.value
    574.0
    """
    name = f"v{number}"
    if name in crop.stage:
        return crop
    need = collar_need(crop, number)
    collars = crop.collars
    assert collars is not None
    source = collars.early.source if number <= collars.to else f"{collars.early.source}; {collars.late.source}"
    stage = Stage(
        title=f"leaf collar {number} (V{number})",
        clock=collars.clock,
        since=collars.since,
        need=Need(value=need, unit=collars.early.unit, source=source),
    )
    return crop.model_copy(update={"stage": {**crop.stage, name: stage}})
