"""What a frost did, part by part: certain, possible or not expected."""

import numpy as np
from matplotlib.figure import Figure

from frostkit.answers.answer import Answer
from frostkit.show.look import BAND, INK, Sheet, look
from frostkit.show.pictures.parts import foot_of, title_of
from frostkit.show.render.words import Words

VERDICTS = ("not expected", "possible", "certain")
ROW = 0.34  # inches
FACES = ("white", BAND, INK)


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of a triage, from its table of details: a row a part and place, a mark under its verdict."""
    table = answer.table("details")
    rows = range(len(table))
    names = [", ".join(words.value(table[key].at(row)) for key in ("part", "place")) for row in rows]
    verdicts = [VERDICTS.index(table["verdict"].at(row).key) for row in rows]
    with look():
        sheet = Sheet(title_of(answer, words), [ROW * max(len(rows), 3)], foot_of(answer, words), left=3.2)
        axes = sheet.panels[0]
        for row, place in enumerate(verdicts):
            axes.plot([-0.3, 2.3], [row, row], color=BAND, linewidth=0.8, zorder=1)
            axes.plot(place, row, "o", markersize=11, color=INK, markerfacecolor=FACES[place], zorder=3)
            axes.annotate(
                words.value(table["effect"].at(row)), (place, row), (11, 0), textcoords="offset points", va="center"
            )
        axes.set_xlim(-0.4, 3.0)
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.set_yticks(np.arange(len(rows)), names)
        shown = [words.texts(f"terms.{key}") for key in VERDICTS]
        axes.set_xticks(range(len(VERDICTS)), shown)
        axes.grid(False)
        axes.spines[["left", "bottom"]].set_visible(False)
        axes.tick_params(length=0)
    return sheet.figure
