"""frostkit: when to seed, how late the legume can go in, when to chop: odds counted over possible seasons.

The public names are loaded when they are first asked for:

>>> import frostkit as fk
>>> site = fk.demo()
>>> w = fk.window(site, corn="silage-2300", legume="forage-late", odds=0.8)
>>> w.to_frame().shape[0]
92
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from frostkit.public import (
        book as book,
        choose as choose,
        chop as chop,
        crops as crops,
        demo as demo,
        fields as fields,
        frost as frost,
        heat as heat,
        late_legume as late_legume,
        live as live,
        open as open,
        place as place,
        record as record,
        record_check as record_check,
        record_field as record_field,
        region as region,
        report as report,
        rows as rows,
        season as season,
        tonight as tonight,
        track_record as track_record,
        triage as triage,
        window as window,
        winter as winter,
        workdays as workdays,
        worth as worth,
    )

PUBLIC = (
    "book",
    "choose",
    "chop",
    "crops",
    "demo",
    "fields",
    "frost",
    "heat",
    "late_legume",
    "live",
    "open",
    "place",
    "record",
    "record_check",
    "record_field",
    "region",
    "report",
    "rows",
    "season",
    "tonight",
    "track_record",
    "triage",
    "window",
    "winter",
    "workdays",
    "worth",
)


def __getattr__(name: str) -> Any:
    """A public name, or `__version__`: looked up only when asked for, for either costs a part of a command's start."""
    if name in PUBLIC:
        return getattr(import_module("frostkit.public"), name)
    if name == "__version__":
        return import_module("importlib.metadata").version("frostkit")
    raise AttributeError(f"module 'frostkit' has no attribute '{name}'")


def __dir__() -> list[str]:
    return [*PUBLIC, "__version__"]
