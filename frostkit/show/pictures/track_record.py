"""Odds given against what happened: each tenth of the odds as a point."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from frostkit.answers.answer import Answer
from frostkit.show.look import BOTH, INK, Sheet, look
from frostkit.show.pictures.parts import foot_of, title_of
from frostkit.show.render.words import Words


def draw(answer: Answer, words: Words) -> Figure:
    """The track record as one picture."""
    say = words.texts
    with look():
        sheet = Sheet(title_of(answer, words), [4.4], foot_of(answer, words), under=0.95)
        reliability(answer, sheet.panels[0], words)
        dot = Line2D([], [], color=BOTH, marker="o", linestyle="none", markersize=6)
        even = Line2D([], [], color=INK, linewidth=1, linestyle=(0, (4, 2)))
        labels = [say("track-record_picture.tenths"), say("track-record_picture.right")]
        sheet.legend(0, [dot, even], labels, below=0.5)
    return sheet.figure


def reliability(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Each tenth of the odds given [%] against how often it came true [%]; larger with more forecasts."""
    say = words.texts
    table = answer.table("by_tenths")
    given, happened = np.asarray(table.index.values, float), np.asarray(table["happened_percent"].values, float)
    number = np.asarray(table["forecasts"].values, float)
    axes.plot([0, 100], [0, 100], color=INK, linewidth=1, linestyle=(0, (4, 2)), zorder=2)
    axes.plot(given, happened, color=BOTH, linewidth=1.6, zorder=3, label=say("track-record_picture.title"))
    size = 18 + 140 * number / max(number.max(initial=0), 1)
    axes.scatter(given, happened, s=size, color=BOTH, zorder=4, edgecolor="white")
    axes.set_xlim(-2, 102)
    axes.set_ylim(-2, 102)
    axes.set_xlabel(say("track-record_picture.x"))
    axes.set_ylabel(say("track-record_picture.y"))
    return axes
