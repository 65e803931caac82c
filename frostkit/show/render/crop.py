"""A crop's entry in a sentence: what its goal needs, what kills it, where its numbers come from."""

from frostkit.crops.entry import Crop
from frostkit.crops.mixes import SOWING
from frostkit.show.printed import plain
from frostkit.show.render.words import Words


def crop_title(crop: Crop, words: Words) -> str:
    """The crop's own title, or its translation where the language has one for its name."""
    say = words.texts
    return say(f"titles.{crop.name}") if say.has(f"titles.{crop.name}") else plain(crop.title)


def stage_title(crop: Crop, stage: str, words: Words, room: str = "stages") -> str:
    """A stage's own title, or its translation; room "since": as a point in time, after "from"."""
    title = crop.stage[stage].title
    return words.texts(f"{room}.{title}") if words.texts.has(f"{room}.{title}") else plain(title)


def heat_words(amount: float, unit: str, words: Words) -> str:
    """An amount of heat in the unit of its entry, or in degree days °F where these units are asked for."""
    if words.fahrenheit and unit == "degree days C":
        amount, unit = 1.8 * amount, "degree days F"
    return f"{words.texts.number(amount)} {words.unit(unit)}"


def crop_line(crop: Crop, words: Words) -> str:
    """A crop, what its goal needs and what kills it."""
    say, goal = words.texts, crop.stage[crop.goal]
    since = say("crops.sowing") if goal.since == SOWING else stage_title(crop, goal.since, words, "since")
    each = [
        say(
            "crops.kill",
            degrees=words.amount(stage.kills.value, "degC", 0 if stage.kills.value.is_integer() else 1),
            stage=stage_title(crop, name, words, "since"),
        )
        for name, stage in crop.stage.items()
        if stage.kills is not None
    ]
    return say(
        "crops.line",
        title=crop_title(crop, words),
        goal=stage_title(crop, crop.goal, words),
        need=heat_words(goal.need.value, goal.need.unit, words),
        since=since,
        kills=say("crops.kills", each=", ".join(each)) if each else "",
    )


def crop_sources(crop: Crop, words: Words) -> str:
    """Where the numbers of its goal, its soil and its killing temperatures come from."""
    kills = [stage.kills.source for stage in crop.stage.values() if stage.kills is not None]
    parts = [crop.stage[crop.goal].need.source, crop.soil.source, *kills]
    return words.texts("report.source_of", source=plain("; ".join(dict.fromkeys(parts)), 900))
