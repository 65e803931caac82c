"""What the legume is worth: every line with its spread, as times its usual amount."""

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, NullLocator

from frostkit.answers.answer import Answer
from frostkit.show.look import BAND, BOTH, QUIET, Sheet, look
from frostkit.show.pictures.parts import foot_of, named_rows, title_of
from frostkit.show.render.words import Words

ROW = 0.30  # inches
TIMES = (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10)


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of what it is worth, from its own table: a row a line whose ends differ, its amount beside it."""
    say, table = words.texts, answer.table("lines")
    low, middle, high = (
        np.array([cell.value for cell in table[key].values], float) for key in ("low", "middle", "high")
    )
    with np.errstate(invalid="ignore"):
        drawn = np.flatnonzero((low > 0) & (high > low) & (middle > 0))
    names = [words.value(table.index.at(int(row))) for row in drawn]
    with look():
        sheet = Sheet(title_of(answer, words), [ROW * max(drawn.size, 3)], foot_of(answer, words), left=3.1)
        axes = sheet.panels[0]
        at = np.arange(drawn.size)
        axes.set_xscale("log")
        axes.hlines(at, low[drawn] / middle[drawn], high[drawn] / middle[drawn], color=BAND, linewidth=7)
        axes.plot(np.ones(drawn.size), at, "o", color=BOTH, markersize=6)
        for place, row in enumerate(drawn):
            least, usual, most = (table[key].at(int(row)) for key in ("low", "middle", "high"))
            ends = {
                "low": words.value(least, "plain"),
                "middle": words.value(usual, "plain"),
                "high": words.value(most),
            }
            text = say("worth_picture.amount", **ends)
            axes.annotate(text, (1.01, place), xycoords=("axes fraction", "data"), va="center", fontsize=8, color=QUIET)
        axes.set_xlim(TIMES[0], TIMES[-1])
        axes.xaxis.set_major_locator(FixedLocator(TIMES))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.set_xticklabels([words.texts.plain(times) for times in TIMES])
        named_rows(axes, names)
        axes.set_xlabel(say("worth_picture.x"))
        box = axes.get_position()
        axes.set_position((box.x0, box.y0, box.width * 0.70, box.height))
    return sheet.figure
