"""Frost dates as a picture: the odds by day, and each season's own time without frost."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from frostkit.answers.answer import Answer
from frostkit.seasons.calendar import column
from frostkit.show.look import BAND, BOTH, FROST, LEGUME, MAYBE, QUIET, Sheet, bars, day_axis, look
from frostkit.show.pictures.parts import foot_of, season_rows, title_of
from frostkit.show.render.words import Words

FIRST, LAST = column(4, 1), column(11, 15)


def draw(answer: Answer, words: Words) -> Figure:
    """Frost dates as one picture: the odds by day, each season's own time without frost, what it rests on."""
    tall = min(max(0.085 * len(answer.table("seasons")), 2.0), 9.0)
    with look():
        sheet = Sheet(title_of(answer, words), [2.6, tall], foot_of(answer, words))
        handles, labels = frost_odds(answer, sheet.panels[0], words).get_legend_handles_labels()
        free_bars(answer, sheet.panels[1], words)
        say = words.texts
        sheet.legend(0, [*handles, Patch(color=BAND)], [*labels, say("frost_picture.band")])
        hatched = Patch(facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0)
        sheet.legend(1, [Patch(color=LEGUME), hatched], [say("frost_picture.bar"), say("frost_picture.maybe")])
    return sheet.figure


def frost_odds(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Share of seasons [%] in which spring frost is still to come, and in which fall frost has come, by day."""
    say = words.texts
    spring, fall = answer.table("odds.last_spring"), answer.table("odds.first_fall")
    before, after = spring["share"].values, fall["share"].values
    first, second = spring.index.values, fall.index.values
    axes.fill_between(first, 100 - 100 * before.low, 100 - 100 * before.high, color=BAND, linewidth=0, zorder=2)
    axes.fill_between(second, 100 * after.low, 100 * after.high, color=BAND, linewidth=0, zorder=2)
    to_come: dict[str, Any] = {"color": FROST, "linewidth": 2.2, "label": say("frost_picture.spring_line"), "zorder": 4}
    axes.plot(first, 100 - 100 * before.share, **to_come)
    has_come: dict[str, Any] = {"linestyle": (0, (5, 1.5)), "label": say("frost_picture.fall_line")}
    axes.plot(second, 100 * after.share, color=BOTH, linewidth=2.2, zorder=4, **has_come)
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("frost_picture.y_odds"))
    return day_axis(axes, FIRST, LAST, say)


def free_bars(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Each season's days between its last spring and its first fall frost; hatched where the draws disagree."""
    say = words.texts
    table = answer.table("seasons")
    spring, fall = table["today.last_spring"].values, table["today.first_fall"].values
    seasons = np.asarray(table.index.values)
    days = np.arange(FIRST, LAST + 1)
    sure = (days > spring[1][:, None]) & (days < fall[0][:, None])
    maybe = (days > spring[0][:, None]) & (days < fall[1][:, None]) & ~sure
    bars(axes, maybe, seasons, days, facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0, zorder=2)
    bars(axes, sure, seasons, days, facecolor=LEGUME, linewidth=0, zorder=3)
    season_rows(axes, seasons)
    axes.set_ylabel(say("frost_picture.y_bars"))
    return day_axis(axes, FIRST, LAST, say)
