"""Crop entries as people read them: the library with its sources, one entry whole, what is wrong with one."""

from collections.abc import Sequence

from frostkit.crops.entry import Crop
from frostkit.crops.page import in_range, numbers
from frostkit.crops.rated import LEAST, MOST, STEP
from frostkit.show.render.text import WIDTH, filled


def crops_text(crops: Sequence[Crop]) -> str:
    """The library: what each crop needs to its goal and what kills it then, each with the number of its source."""
    sources: dict[str, int] = {}
    lines = [f"  {'name':17}{'what it is':32}{'to its goal':36}killed at"]
    for crop in crops:
        need, kills = crop.goal_need(), [stage.kills for stage in crop.stage.values() if stage.kills is not None]
        number = sources.setdefault(need.source, len(sources) + 1)
        asked = f"{in_range(need)} {_SHORT.get(need.unit, need.unit)} [{number}]"
        killed = f"{kills[-1].value:g} °C [{sources.setdefault(kills[-1].source, len(sources) + 1)}]" if kills else ""
        lines.append(f"  {crop.name:17}{crop.title[:31]:32}{asked:36}{killed}".rstrip())
    lines += ["", *_sources(sources), ""]
    lines += filled(
        f"Corn of any other rating that is sold, {LEAST:,} to {MOST:,} CHU in steps of {STEP}, follows the same rule: "
        "silage-2725, grain-corn-2650.",
        then="",
    )
    lines += filled(
        "One entry whole: frostkit crops show NAME. Your own: frostkit crops copy NAME FILE.toml, change its numbers "
        "with their sources, then frostkit crops check FILE.toml.",
        then="",
    )
    return "\n".join(lines)


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
