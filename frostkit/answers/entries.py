"""The library of crops as an answer: what each needs to its goal, what kills it in which stage, where it comes from."""

from typing import Any

from frostkit.answers.answer import Amount, Answer, Column, CropName, Named, Says, Table
from frostkit.crops.entry import Cold, Crop, Number, entries
from frostkit.crops.rated import LEAST, MOST, STEP


def library() -> Answer:
    """Every entry of the library, a row each."""
    crops = entries()
    sources: dict[str, int] = {}
    noted = [_noted(crop, sources) for crop in crops]
    kills = [
        {name: _dict(stage.kills) for name, stage in crop.stage.items() if stage.kills is not None} for crop in crops
    ]
    killed = [None if kill is None else kill.value for kill in map(_kill, crops)]
    ratings = [None if crop.rating is None else crop.rating.value for crop in crops]
    hidden = {
        "title": [crop.title for crop in crops],
        "kind": [crop.kind for crop in crops],
        "use": [crop.use for crop in crops],
        "goal": [crop.goal for crop in crops],
        "need": [_dict(crop.goal_need()) for crop in crops],
        "kills": kills,
    }
    table = Table(
        "crops",
        Column("name", "text", [crop.name for crop in crops]),
        (
            *(Column(key, "text", values, shown=False) for key, values in hidden.items()),
            Column("rating", "amount", ratings, "CHU", shown=False),
            Column("crop", "named", [CropName(crop.name, crop.title) for crop in crops]),
            Column("to_goal", "named", [_to_goal(crop) for crop in crops]),
            Column("killed_at", "amount", killed, "degC", 1),
            Column("noted", "text", noted),
        ),
    )
    rated = Says("rated", {"least": Amount(LEAST, "CHU"), "most": Amount(MOST, "CHU"), "step": STEP})
    said = [f"[{number}] {source}" for source, number in sources.items()]
    return Answer(
        "crops", Says("library", {"count": len(crops)}), (rated,), {"sources": said}, (table,), (), None,
        next=Says("do_show"),
    )  # fmt: skip


def _to_goal(crop: Crop) -> Named:
    """What a crop needs to its goal, with its range."""
    need = crop.goal_need()
    low = need.value if need.low is None else need.low
    high = need.value if need.high is None else need.high
    digits = 0 if all(float(end).is_integer() for end in (need.value, low, high)) else 1
    ends = {"need": need.value, "low": low, "high": high}
    values = {end: Amount(float(of), need.unit, digits) for end, of in ends.items()}
    return Named(f"{need.value:g} {need.unit}", Says("of_crop" if low == high else "of_crop_range", values))


def _kill(crop: Crop) -> Cold | None:
    """The cold that kills it from its last stage that says so on."""
    return next((stage.kills for stage in reversed(crop.stage.values()) if stage.kills is not None), None)


def _noted(crop: Crop, sources: dict[str, int]) -> str:
    """Numbers of the sources of what it needs and of what kills it."""
    kill = _kill(crop)
    found = [crop.goal_need().source, *([] if kill is None else [kill.source])]
    return ", ".join(str(sources.setdefault(source, len(sources) + 1)) for source in found)


def _dict(number: Number) -> dict[str, Any]:
    """A number with its unit, range and source, as it stands in the entry."""
    return number.model_dump(mode="json", by_alias=True, exclude_none=True)
