"""What the late legume makes by sowing day, with bands and the corn's collars; below, each way beside the others."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator
from numpy.typing import NDArray

from frostkit.answers.answer import Answer
from frostkit.answers.legume.late import kilos
from frostkit.show.look import BAND, CORN, INK, LEGUME, QUIET, Sheet, day_axis, look
from frostkit.show.pictures.parts import named_rows
from frostkit.show.render.text import site_says
from frostkit.show.render.words import CONVERTED, Words

LEAST = 3.0  # kg/ha at the foot of the axis of logarithms: less is nothing
COLLARS = (1, 3, 5, 7, 9)  # marked where the corn has them
SCALE = (3, 10, 30, 100, 300, 1000, 3000)  # what people read on it, in the unit shown
BAR = 0.3  # inches a way


def draw(answer: Answer, words: Words) -> Figure:
    """The late legume as one picture: the answer, growth by sowing day, the ways side by side, what it rests on."""
    title = words.say("late-legume", answer.headline).rstrip("."), under(answer, words)
    count = len(answer.table("ways"))
    return _drawn(answer, words, title, (3.0, BAR * count + 0.25), foot(answer, words))


def panels(answer: Answer, words: Words, wide: float = Sheet.WIDE) -> Figure:
    """The two panels alone, for a page that says the answer and what it rests on in its own words."""
    return _drawn(answer, words, None, (2.4, BAR * len(answer.table("ways")) + 0.25), [], wide)


def under(answer: Answer, words: Words) -> str:
    """The line under the title: how little V5 gives beside a sowing with the corn, or else the count."""
    times = answer.values["with_corn_over_v5"]
    if times is None or not np.isfinite(times["middle"]):
        return words.say("late-legume", answer.sentences[0])
    ratio = words.texts.plain(float(f"{times['middle']:.2g}"))
    return f"{words.say('late-legume', answer.sentences[0])} {words.texts('late-legume_picture.against', times=ratio)}."


def foot(answer: Answer, words: Words) -> list[str]:
    """What it may cost, what the band holds, and the record behind it."""
    cost = next(says for says in answer.sentences if says.key == "cost")
    values = {end: words.value(cost.values[end]) for end in ("low", "high")}
    assert answer.site is not None
    said = [words.texts("late-legume_picture.cost", **values), words.texts("late-legume_picture.alone")]
    return [*said, *site_says(answer.site, answer.ensemble, words)]


def growth_by_day(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Dry matter at the chop by sowing day, sown with the corn and into corn that stands; a scale of logarithms."""
    say, asked = words.texts, answer.settings["asked"]
    factor = _factor(words)
    seeding = say.short(answer.values["seeding"].column)
    styles: tuple[tuple[bool, str, Any, str, dict[str, str]], ...] = (
        (True, CORN, "-", "with_corn", {}),
        (False, LEGUME, (0, (5, 1.5)), "into", {"day": seeding}),
    )
    for together, colour, dashes, key, more in styles:
        rows = rows_of(answer, together)
        if rows is None:
            continue
        day = _of(answer, "sowing", rows)
        low, middle, high = (np.maximum(_of(answer, f"growth_kg_ha.{end}", rows), LEAST) for end in _ENDS)
        axes.fill_between(day, factor * low, factor * high, color=colour, alpha=0.16, linewidth=0, zorder=1)
        label = say(f"late-legume_picture.{key}", **more)
        axes.plot(day, factor * middle, color=colour, linestyle=dashes, linewidth=2.4, label=label, zorder=4)
        if not together:
            _marks(axes, day, factor * middle, _of(answer, "corn_collars", rows), words)
    goal = asked.standing(False)
    if np.isfinite(goal):
        axes.axhline(factor * goal, color=INK, linewidth=1, linestyle=(0, (1, 2)), zorder=3)
    last = answer.values["last_day"]
    if last is not None:
        axes.axvline(last.column, color=INK, linewidth=1.2, linestyle=(0, (4, 2)), zorder=3)
    axes.set_yscale("log")
    axes.set_ylim(factor * LEAST, factor * 9000)
    axes.yaxis.set_major_locator(FixedLocator(SCALE))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: say.number(value)))
    axes.set_ylabel(f"{say('late-legume_picture.y_growth')}, {words.unit(_unit(words))}")
    return day_axis(axes, int(asked.days[0]), int(asked.days[-1]), say)


def ways_side_by_side(answer: Answer, axes: Axes, words: Words) -> Axes:
    """A bar for each way, in plain kilogrammes from 0, so that lengths compare; lines from low to high."""
    table = answer.table("ways")
    made = [np.asarray(table[f"growth_kg_ha.{end}"].values, float) for end in ("middle", "low", "high")]
    middle, low, high = (_factor(words) * values for values in made)
    places = np.arange(len(table))
    together = [way.together for way in answer.settings["asked"].ways]
    axes.barh(places, middle, height=0.6, color=[CORN if one else LEGUME for one in together], zorder=2)
    axes.hlines(places, low, high, color=INK, linewidth=1.1, zorder=3)
    names = [words.value(way) for way in table.index.values]
    named_rows(axes, names)
    most = float(high.max())
    axes.set_xlim(0, 1.28 * most if most > 0 else 1)
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: words.texts.number(value)))
    axes.set_xlabel(f"{words.texts('late-legume_picture.x_growth')}, {words.unit(_unit(words))}")
    for place in places:
        ends = [words.value(kilos(float(values[place])), "plain") for values in made]
        text = f"{ends[0]} ({words.texts('say.to', first=ends[1], last=ends[2])})"
        axes.text(high[place] + 0.012 * most, float(place), text, va="center", fontsize=8.5, color=QUIET)
    return axes


def rows_of(answer: Answer, together: bool) -> NDArray[np.int64] | None:
    """Rows of the table of days for the first way with the corn, or into corn that stands; None without one."""
    name = next((way.named.name for way in answer.settings["asked"].ways if way.together == together), None)
    names = answer.table("days").index.values
    return None if name is None else np.array([row for row, one in enumerate(names) if one.name == name])


_ENDS = ("low", "middle", "high")


def _of(answer: Answer, key: str, rows: NDArray[np.int64]) -> NDArray[np.float64]:
    return np.asarray(answer.table("days")[key].values, float)[rows]


def _unit(words: Words) -> str:
    return CONVERTED[words.units].get("kg/ha", (1.0, 0.0, "kg/ha"))[2]


def _factor(words: Words) -> float:
    return CONVERTED[words.units].get("kg/ha", (1.0, 0.0, "kg/ha"))[0]


def _marks(axes: Axes, day: NDArray, grown: NDArray, collars: NDArray, words: Words) -> None:
    """The corn's collars on the curve of sowings into it, on the first day on which it usually has them."""
    for number in COLLARS:
        reached = np.flatnonzero(collars >= number)
        if reached.size:
            at = reached[0]
            axes.plot(day[at], grown[at], marker="o", markersize=6, color=INK, markerfacecolor="white", zorder=5)
            label = words.texts("late-legume_picture.collar", number=number)
            axes.annotate(label, (day[at], grown[at]), xytext=(5, 5), textcoords="offset points", fontsize=8.5)


def _drawn(
    answer: Answer,
    words: Words,
    title: tuple[str, str] | None,
    heights: tuple[float, float],
    notes: list[str],
    wide: float = Sheet.WIDE,
) -> Figure:
    say = words.texts
    with look():
        sheet = Sheet(title, heights, notes, left=1.75, wide=wide)
        above = growth_by_day(answer, sheet.panels[0], words)
        ways_side_by_side(answer, sheet.panels[1], words)
        handles, labels = above.get_legend_handles_labels()
        handles = [*handles, Patch(color=BAND)]
        labels = [*labels, say("late-legume_picture.band")]
        goal = words.value(goal_of(answer))
        handles.append(Line2D([], [], color=INK, linewidth=1, linestyle=(0, (1, 2))))
        labels.append(say("late-legume_picture.goal", goal=goal))
        if answer.values["last_day"] is not None:
            handles.append(Line2D([], [], color=INK, linewidth=1.2, linestyle=(0, (4, 2))))
            labels.append(say("late-legume_picture.last", day=say.short(answer.values["last_day"].column)))
        sheet.legend(0, handles, labels, 3 if wide >= 6 else 1)
    return sheet.figure


def goal_of(answer: Answer) -> Any:
    """The goal, as the headline says it."""
    return answer.headline.values["goal"]
