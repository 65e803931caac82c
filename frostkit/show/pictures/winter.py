"""The winter's plan: from when the soil is ready, what the plan's odds are, and how late a hybrid each day carries."""

import numpy as np
from matplotlib.figure import Figure

from frostkit.answers.answer import Answer
from frostkit.show.look import BOTH, CORN, Sheet, day_axis, look
from frostkit.show.pictures.parts import foot_of, title_of
from frostkit.show.render.words import Words

TALL = 2.2  # inches


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of a plan, from its table of seeding days."""
    say, table = words.texts, answer.table("seeding")
    days = np.asarray(table.index.values, float)
    rating = np.array([np.nan if value is None else float(value) for value in table["up_to"].values])
    with look():
        sheet = Sheet(title_of(answer, words), [TALL, TALL], foot_of(answer, words))
        odds, largest = sheet.panels
        lines = []
        for key, style in (("ready", (0, (4, 2))), ("plan", "-")):
            share = 100 * np.asarray(table[key].values.share, float)
            label = say(f"winter_picture.{key}")
            lines += odds.plot(days, share, color=BOTH, linestyle=style, linewidth=2, label=label)
        odds.set_ylim(-3, 103)
        odds.set_ylabel(say("winter_picture.y_odds"))
        sheet.legend(0, lines, [str(line.get_label()) for line in lines])
        largest.plot(days, rating, "o-", color=CORN, linewidth=2, markersize=5, label=say("winter_picture.rating"))
        for day, most in zip(days[::2], rating[::2], strict=True):
            if np.isfinite(most):
                largest.annotate(
                    words.texts.number(most), (day, most), (0, 7), textcoords="offset points", ha="center", fontsize=8.5
                )
        if np.isfinite(rating).any():
            largest.set_ylim(np.nanmin(rating) - 150, np.nanmax(rating) + 250)
        largest.set_ylabel(say("winter_picture.y_rating"))
        for axes in sheet.panels:
            day_axis(axes, int(days[0]), int(days[-1]), say)
    return sheet.figure
