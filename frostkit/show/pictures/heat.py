"""Heat of every season as it would come today, in order of size."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from frostkit.answers.answer import Answer
from frostkit.show.look import BAND, CORN, INK, Sheet, look
from frostkit.show.pictures.parts import foot_of, title_of
from frostkit.show.render.text import converted_unit
from frostkit.show.render.words import CONVERTED, Words


def draw(answer: Answer, words: Words) -> Figure:
    """Heat as one picture."""
    with look():
        sheet = Sheet(title_of(answer, words), [3.2], foot_of(answer, words))
        heat_bars(answer, sheet.panels[0], words)
    return sheet.figure


def heat_bars(answer: Answer, axes: Axes, words: Words) -> Axes:
    """A bar a season, from the coolest to the warmest, with what half of them and 9 in 10 have."""
    say = words.texts
    table, unit = answer.table("seasons"), answer.values["unit"]
    factor = CONVERTED[words.units].get(unit, (1.0, 0.0, unit))[0]
    heat = factor * np.asarray(table["today.total"].values).mean(axis=0)
    order = np.argsort(heat)
    place = np.arange(order.size)
    axes.bar(place, heat[order], width=0.86, color=BAND, zorder=2)
    for name in ("half", "nine"):
        at = factor * answer.values["at_least"][name]
        axes.axhline(at, color=CORN if name == "half" else INK, linewidth=1.6, zorder=3)
        axes.annotate(say(f"terms.tenths_{name}"), (place[-1] + 0.5, at), xytext=(-2, 3), ha="right",
                      textcoords="offset points", fontsize=8.5, zorder=4)  # fmt: skip
    seasons = np.asarray(table.index.values)[order]
    every = max(1, order.size // 16)
    axes.set_xticks(place[::every], [str(season) for season in seasons[::every]], rotation=60, fontsize=8)
    axes.set_ylim(0.9 * heat.min(), 1.04 * heat.max())
    axes.set_xlim(-1, order.size)
    axes.set_ylabel(say("heat_picture.y", unit=words.unit(converted_unit(words, unit))))
    return axes
