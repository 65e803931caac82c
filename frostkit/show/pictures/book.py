"""Looking back: on each day asked, when the corn was said to be fit, and when it was."""

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.answer import Answer
from frostkit.show.look import BAND, BOTH, CORN, Sheet, day_axis, look
from frostkit.show.pictures.parts import foot_of, named_rows, title_of
from frostkit.show.render.words import Words

ROW = 0.30  # inches
MOST = 40  # rows: the newest
AROUND = 6  # days beside the first and the last that are drawn


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of a book, from its table of looks: a row a day asked, its band, and the day that came."""
    say, table = words.texts, answer.table("looks")
    rows = np.arange(len(table))[-MOST:]
    early, usual, late, fit = (
        np.array([float(table[key].values[row]) for row in rows]) for key in ("early", "usual", "late", "fit")
    )
    names = [
        say("book_picture.row", field=words.value(table["field"].at(int(row))), season=int(table["season"].values[row]),
            day=words.texts.short(float(table.index.values[row])))
        for row in rows
    ]  # fmt: skip
    with look():
        sheet = Sheet(title_of(answer, words), [ROW * max(rows.size, 3)], foot_of(answer, words), left=2.3)
        axes = sheet.panels[0]
        at = np.arange(rows.size)
        there = np.isfinite(early) & np.isfinite(late)
        axes.barh(at[there], (late - early)[there], left=early[there], height=0.62, color=BAND, zorder=2)
        axes.plot(usual, at, "|", color=BOTH, markersize=11, markeredgewidth=2, zorder=3)
        axes.plot(fit, at, "D", color=CORN, markersize=5.5, zorder=4)
        seen = np.concatenate([early, late, fit, usual])
        seen = seen[np.isfinite(seen)]
        if seen.size:
            day_axis(axes, int(seen.min()) - AROUND, int(seen.max()) + AROUND, say)
        named_rows(axes, names)
        handles = [
            Patch(color=BAND),
            Line2D([], [], color=BOTH, marker="|", linestyle="none", markersize=11, markeredgewidth=2),
            Line2D([], [], color=CORN, marker="D", linestyle="none", markersize=5.5),
        ]
        sheet.legend(0, handles, [say(f"book_picture.{name}") for name in ("band", "usual", "fit")])
    return sheet.figure
