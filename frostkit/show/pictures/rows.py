"""Light on the ground between rows of corn: by the hour of one day, and by day; each way the rows may run."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from frostkit.answers.answer import Answer
from frostkit.show.look import BOTH, CORN, INK, LEGUME, Sheet, day_axis, look
from frostkit.show.render.text import site_says
from frostkit.show.render.words import Words

WAYS: dict[str, tuple[str, Any]] = {
    "north_south": (BOTH, "-"),
    "east_west": (CORN, (0, (5, 1.5))),
    "own": (LEGUME, (0, (1, 1.2))),
}
WIDTHS = {"ordinary": 1.4, "wide": 2.6}


def draw(answer: Answer, words: Words) -> Figure:
    """The rows as one picture: the answer, hours, days, and what it rests on."""
    first, *rest = words.say("rows", answer.headline).split(". ")
    title = first.rstrip("."), words.say("rows", answer.sentences[0])
    notes = [
        ". ".join(rest),
        *(words.say("rows", says) for says in answer.sentences if says.key in ("practice", "no_trial")),
    ]
    assert answer.site is not None
    notes += site_says(answer.site, answer.ensemble, words)
    with look():
        sheet = Sheet(title, (2.4, 2.4), [note for note in notes if note], under=0.86)
        hours(answer, sheet.panels[0], words)
        by_day(answer, sheet.panels[1], words)
        handles = [Line2D([], [], color=WAYS[way][0], linestyle=WAYS[way][1], linewidth=2) for way in _ways(answer)]
        handles += [Line2D([], [], color=INK, linewidth=width) for width in WIDTHS.values()]
        sheet.legend(1, handles, [_label(answer, way, words) for way in _ways(answer)]
                     + [words.texts(f"rows_picture.{name}") for name in WIDTHS])  # fmt: skip
    return sheet.figure


def hours(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Share of the sun's beam on the ground [%] by solar time."""
    table = answer.table("hours")
    hour = np.asarray(table.index.values)
    _lines(answer, axes, table, hour)
    axes.set_ylabel(words.texts("rows_picture.y_hours"))
    axes.set_xlabel(words.texts("rows_picture.x_hours", day=words.value(answer.values["day"])))
    axes.set_xlim(hour[0], hour[-1])
    axes.set_xticks(np.arange(np.ceil(hour[0] / 2) * 2, hour[-1] + 0.1, 2))
    return axes


def by_day(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Share of each day's light on the ground [%]."""
    table = answer.table("days")
    day = np.asarray(table.index.values)
    _lines(answer, axes, table, day)
    cross = answer.values["crossing"]["wide"]
    if cross is not None:
        axes.axvline(cross.column, color=INK, linewidth=1.2, linestyle=(0, (4, 2)))
        text = words.texts("rows_picture.cross", day=words.texts.short(cross.column))
        axes.annotate(text, (cross.column, 92), xytext=(-6, 0), textcoords="offset points", ha="right", fontsize=8.5)
    axes.set_ylabel(words.texts("rows_picture.y_days"))
    return day_axis(axes, int(day[0]), int(day[-1]), words.texts)


def _ways(answer: Answer) -> list[str]:
    return list(answer.settings["ways"])


def _lines(answer: Answer, axes: Axes, table: Any, x: Any) -> None:
    for name, width in WIDTHS.items():
        for way in _ways(answer):
            colour, dashes = WAYS[way]
            axes.plot(x, 100 * np.asarray(table[f"{name}.{way}"].values), color=colour, linestyle=dashes,
                      linewidth=width, label=f"{name} {way}")  # fmt: skip
    axes.set_ylim(0, 104)


def _label(answer: Answer, way: str, words: Words) -> str:
    bearing = answer.values["bearing"]
    degrees = "" if bearing is None else words.amount(bearing, "degrees")
    return words.texts(f"rows_picture.{way}", bearing=degrees)
