"""A record at a glance: every season a row, every day of it read, missing or masked."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.answer import Answer
from frostkit.seasons.calendar import DAYS
from frostkit.show.look import BAND, INK, MAYBE, QUIET, Sheet, bars, day_axis, look, runs
from frostkit.show.pictures.parts import foot_of, season_rows, title_of
from frostkit.show.render.words import Words

BARS: dict[str, dict[str, Any]] = {
    "present": {"facecolor": BAND, "linewidth": 0},
    "missing": {"facecolor": MAYBE, "edgecolor": QUIET, "hatch": "//////", "linewidth": 0.6},
    "masked": {"facecolor": INK, "linewidth": 0},
}
OUT = ("X", INK)  # marker at the end of a season that does not count
MARK = "v"  # over a masked day
LAST = DAYS - 1


def draw(answer: Answer, words: Words) -> Figure:
    """The record as one picture: how many seasons count, every day of every season, what was found."""
    say = words.texts
    seasons, state = days_of(answer)
    tall = min(max(0.095 * seasons.size, 1.6), 9.0)
    with look():
        sheet = Sheet(title_of(answer, words), [tall], foot_of(answer, words))
        seasons_by_days(answer, sheet.panels[0], words)
        mark = Line2D([], [], color=INK, marker=MARK, linestyle="none", markersize=5)
        drawn = [name for name in BARS if (state == name).any()]
        handles: list[Any] = [mark if name == "masked" else Patch(**BARS[name]) for name in drawn]
        labels = [say(f"record_picture.{name}") for name in drawn]
        if not np.asarray(answer.table("seasons")["counted"].values).all():
            handles.append(Line2D([], [], color=OUT[1], marker=OUT[0], linestyle="none"))
            labels.append(say("record_picture.not_counted"))
        sheet.legend(0, handles, labels, per_row=3)
    return sheet.figure


def days_of(answer: Answer) -> tuple[np.ndarray, np.ndarray]:
    """Seasons [season], and the state of each of their days, as text [season, 365], from the runs of the answer."""
    seasons = np.asarray(answer.table("seasons").index.values)
    state = np.full((seasons.size, DAYS), "present", dtype="<U8")
    table = answer.table("days")
    columns = (table.index, table["first"], table["last"], table["state"])
    for season, first, last, name in zip(*(column.values for column in columns), strict=True):
        if seasons[0] <= season <= seasons[-1]:
            state[season - seasons[0], first : last + 1] = name
    return seasons, state


def seasons_by_days(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Each season's days as a row; a mark at its end where it does not count, one over every masked day."""
    say = words.texts
    seasons, state = days_of(answer)
    days = np.arange(DAYS)
    half = 0.44 if seasons.size <= 40 else 0.5  # rows apart, as long as there is room between them
    for order, (name, how) in enumerate(BARS.items()):
        bars(axes, state == name, seasons, days, half=half, zorder=2 + order, **how)
    row, first, after = runs(state == "masked")
    if row.size:  # a day is a hair's breadth on paper: a mark over it says where it is
        axes.plot((first + after - 1) / 2, seasons[row], marker=MARK, color=INK, markersize=5, linestyle="none",
                  markeredgecolor="white", markeredgewidth=0.5, zorder=8)  # fmt: skip
    out = seasons[~np.asarray(answer.table("seasons")["counted"].values)]
    if out.size:
        axes.plot([LAST + 5] * out.size, out, marker=OUT[0], color=OUT[1], markersize=4.4, zorder=5, linestyle="none",
                  clip_on=False)  # fmt: skip
    season_rows(axes, seasons)
    axes.set_ylabel(say("record_picture.y_seasons"))
    axes.spines["left"].set_visible(False)
    return day_axis(axes, 0, LAST, say)
