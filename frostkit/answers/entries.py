"""The library of crops as an answer: what each needs to its goal, what kills it in which stage, where it comes from."""

from typing import Any

from frostkit.answers.answer import Answer, Column, Says, Table
from frostkit.crops.entry import Number, listed, load


def library() -> Answer:
    """Every entry of the library, a row each."""
    crops = [load(name) for name in listed()]
    kills = [
        {name: _dict(stage.kills) for name, stage in crop.stage.items() if stage.kills is not None} for crop in crops
    ]
    ratings = [None if crop.rating is None else crop.rating.value for crop in crops]
    table = Table(
        "crops",
        Column("name", "text", [crop.name for crop in crops]),
        (
            Column("title", "text", [crop.title for crop in crops]),
            Column("kind", "text", [crop.kind for crop in crops]),
            Column("use", "text", [crop.use for crop in crops]),
            Column("goal", "text", [crop.goal for crop in crops]),
            Column("rating", "amount", ratings, "CHU"),
            Column("need", "text", [_dict(crop.goal_need()) for crop in crops], shown=False),
            Column("kills", "text", kills, shown=False),
        ),
    )
    return Answer("crops", Says("library", {"count": len(crops)}), (), {}, (table,), (), None)


def _dict(number: Number) -> dict[str, Any]:
    """A number with its unit, range and source, as it stands in the entry."""
    return number.model_dump(mode="json", by_alias=True, exclude_none=True)
