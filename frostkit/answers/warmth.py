"""Heat gathered between two days of every season."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.station import Behind
from frostkit.errors import SettingError, choose
from frostkit.seasons.calendar import words
from frostkit.seasons.heat import METHODS, Heat, totals


@dataclass(frozen=True)
class HeatAnswer:
    """Heat from `first` to `last` (columns, both counted): least and most [season] in `clock.unit`; missing days."""

    behind: Behind
    clock: Heat
    first: int
    last: int
    least: NDArray[np.float64]
    most: NDArray[np.float64]
    missing: NDArray[np.integer]


def gathered(
    behind: Behind,
    method: str = "mean",
    base: float | None = None,
    cap: float | None = None,
    first: int = 120,
    last: int = 303,
) -> HeatAnswer:
    """Heat gathered from one day to another, both counted, in every season.

    Raises `SettingError` for an unknown method, days in the wrong order, a cap not above the base, or a base or cap
    given to corn heat units, which have their own.
    """
    choose("method", method, METHODS)
    if first > last:
        raise SettingError(f"The first day, {words(first)}, is after the last, {words(last)}.", "Swap --from and --to.")
    if method == "chu":
        if base is not None or cap is not None:
            raise SettingError("Corn heat units have no base and no cap to set.", "Leave --base and --cap out.")
        clock = Heat("chu")
    else:
        base = 10.0 if base is None else base
        if not -50 <= base <= 50:
            raise SettingError(f"A base of {base:g} °C is outside -50 to 50.", "Give the base in °C, such as 10.")
        if cap is not None and cap <= base:
            raise SettingError(f"The cap, {cap:g} °C, is not above the base, {base:g} °C.", "Give a higher cap.")
        clock = Heat(method, base, cap)
    least, most, missing = totals(behind.cube, clock, first, last)
    return HeatAnswer(behind, clock, first, last, least / clock.per_unit, most / clock.per_unit, missing)
