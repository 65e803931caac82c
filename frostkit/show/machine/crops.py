"""`frostkit crops --json`."""

from collections.abc import Sequence
from typing import Any

from frostkit.crops.entry import Crop


def crops(entries: Sequence[Crop]) -> dict[str, Any]:
    """The library: what each crop needs to its goal, and what kills it in which stage."""
    return {
        "crops": [
            {
                "name": crop.name,
                "title": crop.title,
                "kind": crop.kind,
                "use": crop.use,
                "goal": crop.goal,
                "rating": None if crop.rating is None else crop.rating.value,
                "need": crop.goal_need().model_dump(mode="json", by_alias=True, exclude_none=True),
                "kills": {
                    name: stage.kills.model_dump(mode="json", by_alias=True, exclude_none=True)
                    for name, stage in crop.stage.items()
                    if stage.kills is not None
                },
            }
            for crop in entries
        ]
    }


def crop(entry: Crop) -> dict[str, Any]:
    """One entry as it stands in its file."""
    return {"name": entry.name, **entry.model_dump(mode="json", by_alias=True, exclude_none=True)}


def faults(path: str, found: Sequence[str]) -> dict[str, Any]:
    """What is wrong with an entry."""
    return {"file": path, "can_be_used": not found, "faults": list(found)}
