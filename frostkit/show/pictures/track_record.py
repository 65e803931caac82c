"""Odds given against what happened: the reliability picture."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.track_record import TrackRecord
from frostkit.show import phrases
from frostkit.show.look import BAND, BOTH, INK, Sheet, look
from frostkit.show.texts import Texts, texts


def reliability(answer: TrackRecord, axes: Axes, say: Texts | None = None) -> Axes:
    """Each tenth of the odds given [%] against how often it happened [%], with the band of perfect odds."""
    say = say or texts()
    table = answer.table
    there = table.number > 0
    given, happened, low, high = (100 * part[there] for part in table[:4])
    axes.fill_between(given, low, high, color=BAND, linewidth=0, zorder=1)
    axes.plot([0, 100], [0, 100], color=INK, linewidth=1, linestyle=(0, (4, 2)), zorder=2)
    axes.plot(given, happened, color=BOTH, linewidth=1.6, zorder=3, label=say("track.points"))
    axes.scatter(given, happened, s=18 + 140 * table.number[there] / table.number.max(), color=BOTH, zorder=4,
                 edgecolor="white")  # fmt: skip
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 100)
    axes.set_xlabel(say("track.x"))
    axes.set_ylabel(say("track.y"))
    return axes


def forecasts(answer: TrackRecord, axes: Axes, say: Texts | None = None) -> Axes:
    """How many forecasts fell into each tenth."""
    say = say or texts()
    middles = np.linspace(5, 95, answer.table.number.size)
    axes.bar(middles, answer.table.number, width=7.5, color=BOTH)
    axes.set_xlim(0, 100)
    axes.set_ylabel(say("track.bars_y"))
    axes.set_xlabel(say("track.x"))
    return axes


def reliability_picture(answer: TrackRecord, language: str = "en") -> Figure:
    """The track record as one picture."""
    say = texts(language)
    first, last = answer.years()
    own = answer.verdict
    title = say("track.title", event=say(f"track.{answer.event}"), gap=f"{100 * own.gap:.0f}")
    under = say("track.under", number=own.number, first=first, last=last, luck=f"{100 * own.luck:.0f}")
    foot = [say("track.method", way=own.way.words()), phrases.record_line(say, answer.behind),
            phrases.source_line(say, answer.behind)]  # fmt: skip
    with look():
        sheet = Sheet((title, under), [4.4, 1.1], [line for line in foot if line])
        reliability(answer, sheet.panels[0], say)
        forecasts(answer, sheet.panels[1], say)
        dot = Line2D([], [], color=BOTH, marker="o", markersize=6)
        even = Line2D([], [], color=INK, linewidth=1, linestyle=(0, (4, 2)))
        sheet.legend(0, [dot, even, Patch(color=BAND)], [say("track.points"), say("track.even"), say("track.band")],
                     below=0.5)  # fmt: skip
    return sheet.figure
