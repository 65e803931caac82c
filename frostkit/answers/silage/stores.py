"""Stores for silage, and the moisture that each wants."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import NamedTuple

from frostkit.errors import SettingError, choose


class Store(NamedTuple):
    """What a store wants: whole-plant moisture [percent], from and to."""

    name: str
    says: str
    low: float
    high: float
    others: str
    start_testing_at_milk: float
    source: str


@cache
def stores() -> dict[str, Store]:
    """The stores and the moisture each wants, from `stores.toml`.

    >>> stores()["bunker"].low, stores()["bunker"].high
    (65.0, 70.0)
    """
    table = tomllib.loads((files("frostkit.answers.silage") / "stores.toml").read_text("utf-8"))
    return {name: Store(name, entry["says"], float(entry["moisture"][0]), float(entry["moisture"][1]), entry["others"],
                        float(entry["start_testing_at_milk"]), entry["source"])
            for name, entry in table.items()}  # fmt: skip


def wanted(store: str, target: tuple[float, float] | None = None) -> Store:
    """A store by name, with your own range if you give one. Raises `SettingError` for a range outside 40 to 80 %."""
    found = stores()[choose("store", store, stores())]
    if target is None:
        return found
    low, high = target
    if not 40 <= low < high <= 80:
        raise SettingError(f"A range of {low:g} to {high:g} % moisture is outside 40 to 80, or upside down.",
                           "Give the lower limit first, such as 65 and 70.")  # fmt: skip
    return found._replace(low=float(low), high=float(high), source="your own range", others="")
