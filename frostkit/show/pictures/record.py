"""A record at a glance: every season a row, every day of it present, missing, masked or filled."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.quality import Quality
from frostkit.records.glance import FILLED, MASKED, MISSING, PRESENT
from frostkit.show import phrases
from frostkit.show.look import BAND, CORN, INK, MAYBE, QUIET, Sheet, bars, day_axis, look, runs
from frostkit.show.texts import Texts, texts

BARS: dict[int, dict[str, Any]] = {
    PRESENT: {"facecolor": BAND, "linewidth": 0},
    MISSING: {"facecolor": MAYBE, "edgecolor": QUIET, "hatch": "//////", "linewidth": 0.6},
    FILLED: {"facecolor": CORN, "linewidth": 0},
    MASKED: {"facecolor": INK, "linewidth": 0},
}
NAMES = {PRESENT: "present", MISSING: "missing", FILLED: "filled", MASKED: "masked"}
STATES = {"bounded": ("D", "white"), "not known": ("X", INK)}  # at the end of a season's row
MARK = "v"  # over a masked day
LAST = 364


def seasons_by_days(answer: Quality, axes: Axes, say: Texts | None = None) -> Axes:
    """Each season's days as a row; a mark at its end where it is not complete, one over every masked day."""
    say = say or texts()
    of, days = answer.glance, np.arange(365)
    half = 0.44 if of.seasons.size <= 40 else 0.5  # rows apart, as long as there is room between them
    for kind, how in BARS.items():
        bars(axes, of.state == kind, of.seasons, days, half=half, zorder=2 + kind, **how)
    row, first, after = runs(of.state == MASKED)
    if row.size:  # a day is a hair's breadth on paper: a mark over it says where it is
        axes.plot((first + after - 1) / 2, of.seasons[row], marker=MARK, color=INK, markersize=5, linestyle="none",
                  markeredgecolor="white", markeredgewidth=0.5, zorder=8)  # fmt: skip
    for state, (marker, face) in STATES.items():
        seasons = [season.season for season in answer.seasons if season.state == state]
        if seasons:
            places = [LAST + 5] * len(seasons)
            axes.plot(places, seasons, marker=marker, color=INK, markerfacecolor=face, markersize=4.4, zorder=5,
                      linestyle="none", markeredgewidth=0.8, clip_on=False)  # fmt: skip
    span = int(of.seasons[-1] - of.seasons[0])
    axes.set_ylim(of.seasons[-1] + 0.8, of.seasons[0] - 0.8)
    step = 5 if span <= 70 else 10
    first_year, last_year = int(of.seasons[0]), int(of.seasons[-1])
    axes.set_yticks([year for year in range(first_year, last_year + 1) if span <= 12 or year % step == 0])
    axes.set_ylabel(say("quality.y_seasons"))
    axes.spines["left"].set_visible(False)
    return day_axis(axes, 0, LAST, say, answer.behind.cube.season_starts)


def record_at_a_glance(answer: Quality, language: str = "en") -> Figure:
    """The record as one picture: how many seasons are whole, every day of every season, what was found."""
    say = texts(language)
    count = answer.glance.seasons.size
    with look():
        sheet = Sheet(phrases.quality_headline(say, answer), [min(max(0.095 * count, 1.6), 9.0)], _foot(answer, say))
        seasons_by_days(answer, sheet.panels[0], say)
        drawn = [state for state in BARS if (answer.glance.state == state).any()]
        mark = Line2D([], [], color=INK, marker=MARK, linestyle="none", markersize=5)
        handles: list[Any] = [mark if state == MASKED else Patch(**BARS[state]) for state in drawn]
        words = [say(f"quality.{NAMES[state]}") for state in drawn]
        for state, (marker, face) in STATES.items():
            if answer.in_state(state):
                handles.append(Line2D([], [], color=INK, marker=marker, markerfacecolor=face, linestyle="none"))
                words.append(say(f"quality.season_{state.replace(' ', '_')}"))
        sheet.legend(0, handles, words, per_row=3)
    return sheet.figure


def _foot(answer: Quality, say: Texts) -> list[str]:
    lines = [say("quality.meaning"), phrases.breaks_line(say, answer), phrases.record_line(say, answer.behind)]
    return [line for line in (*lines, phrases.source_line(say, answer.behind)) if line]
