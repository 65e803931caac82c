"""Crop entries as people read them: one entry whole, what is wrong with one."""

from collections.abc import Sequence

from frostkit.crops.entry import Crop
from frostkit.crops.page import numbers
from frostkit.show.render.text import WIDTH, filled

_SHORT = {
    "degree days C": "degree days °C",
    "degree days F": "degree days °F",
}


def crop_text(crop: Crop) -> str:
    """One entry: every number with its range, and where it comes from."""
    lines = [f"{crop.name}: {crop.title}, {crop.kind}, grown for {crop.use}; its goal: {crop.stage[crop.goal].title}."]
    lines += filled(crop.about)
    sources: dict[str, int] = {}
    lines.append("")
    for what, number, source in numbers(crop):
        amount = number
        for plain, sign in _SHORT.items():
            amount = amount.replace(plain, sign)
        lines += filled(f"{what}: {amount} [{sources.setdefault(source, len(sources) + 1)}]", "  ", "      ")
    return "\n".join([*lines, "", *_sources(sources)])


def _sources(sources: dict[str, int]) -> list[str]:
    lines = ["Sources"]
    for source, number in sources.items():
        lines += filled(f"[{number}] {source}", "  ", "       ")
    return lines


def faults_text(path: str, faults: Sequence[str]) -> str:
    """What is wrong with an entry, a line each; that it can be used where nothing is."""
    if not faults:
        return f"{path} can be used: frostkit window --corn {path}, or --legume {path} for a legume."
    count = f"{len(faults)} fault{'s' * (len(faults) != 1)}"
    do = "Correct the entry (docs/crops.md lists the keys), then check it again."
    return "\n".join([f"{path} can't be used yet: {count}.", *(line[: 3 * WIDTH] for line in faults), do])
