"""What is said of a field's offset from its station: where it comes from, and what to mind."""

from typing import Any

from frostkit.answers.answer import Amount, Says
from frostkit.records.field import Offset

APART = ("degrees", "clear", "other")  # degrees that are colder or warmer
DEGREES = ("scatter", "error")


def offset_says(offset: Offset) -> list[Says]:
    """Sentences of the room "say", the first of where the offset comes from."""
    return [
        Says(f"field_{said.key}", {name: _typed(name, value, said.key) for name, value in said.values.items()})
        for said in offset.said
    ]


def _typed(name: str, value: float, key: str) -> Any:
    if name in APART and not key.startswith("by_day"):
        return Says("field_colder" if value <= 0 else "field_warmer", {"degrees": Amount(abs(value), "degC more", 1)})
    return Amount(value, "degC more", 1) if name in (*APART, *DEGREES) else value
