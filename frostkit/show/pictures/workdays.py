"""Working days by week: the usual number, and where 8 in 10 possible seasons lie."""

import numpy as np
from matplotlib.figure import Figure

from frostkit.answers.answer import Answer
from frostkit.show.look import BAND, BOTH, Sheet, look
from frostkit.show.render.text import site_says
from frostkit.show.render.words import Words

TALL = 3.0  # inches
HALF = 0.34  # of a bar's width, in weeks


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of working days, from the answer's own table."""
    say, table = words.texts, answer.table("weeks")
    weeks = np.asarray(table.index.values, float)
    few, usual, many = (np.asarray(table[key].values, float) for key in ("few", "usual", "many"))
    foot = [] if answer.site is None else site_says(answer.site, answer.ensemble, words)[:1]
    with look():
        sheet = Sheet((say("workdays_picture.title"), words.say("workdays", answer.headline)), [TALL], foot)
        axes = sheet.panels[0]
        place = np.arange(weeks.size, dtype=float) + np.cumsum(np.diff(weeks, prepend=weeks[0]) > 14)
        band = axes.bar(place, many - few, bottom=few, width=2 * HALF, color=BAND, zorder=1)
        dots = axes.plot(place, usual, "o", color=BOTH, markersize=6, zorder=3, label=say("workdays_picture.usual"))
        axes.set_ylim(0, 7.3)
        axes.set_yticks(range(8))
        axes.set_ylabel(say("workdays_picture.y"))
        axes.set_xticks(place, [say.short(week) for week in weeks], fontsize=8)
        axes.grid(False)
        sheet.legend(0, [dots[0], band], [say("workdays_picture.usual"), say("workdays_picture.band")])
    return sheet.figure
