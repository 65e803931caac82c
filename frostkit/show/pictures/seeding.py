"""The seeding window as a picture. Each panel takes and returns an Axes; `seeding_window` composes them."""

from collections.abc import Iterable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.seeding import FALL_FROST, HEAT, SeedingAnswer, shown
from frostkit.show import phrases
from frostkit.show.look import (
    BAND,
    BOTH,
    CORN,
    INK,
    LEGUME,
    MAYBE,
    QUIET,
    WINDOW,
    Sheet,
    bars,
    day_axis,
    inches_wide,
    look,
)
from frostkit.show.texts import Texts, texts

LINES: dict[str, tuple[str, Any, float]] = {
    "corn": (CORN, (0, (5, 2)), 1.6),
    "legume": (LEGUME, (0, (1, 1.4)), 1.8),
    "both": (BOTH, "-", 2.6),
}
ENDS = {FALL_FROST: ("v", "window.ended_frost"), HEAT: ("o", "window.ended_heat")}
FILLS = {"corn": CORN, "legume": "white", "both": INK}


def odds_curve(answer: SeedingAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Seasons that worked [%] by seeding day, the interval of the subject, the odds wanted, the window."""
    say = say or texts()
    days, subject = answer.days, answer.odds[answer.subject]
    _shade(answer, axes)
    axes.fill_between(days, 100 * subject.low, 100 * subject.high, color=BAND, linewidth=0, zorder=2)
    for name in [*(name for name in answer.odds if name != answer.subject), answer.subject]:
        colour, dashes, width = LINES[name]
        label = say("crops.both_line" if name == "both" else f"crops.{name}_alone")
        width = LINES["both"][2] if name == answer.subject else width
        share = 100 * answer.odds[name].share
        axes.plot(days, share, color=colour, linestyle=dashes, linewidth=width, label=label, zorder=4)
    axes.axhline(100 * answer.odds_wanted, color=INK, linewidth=0.9, zorder=3)
    note: dict[str, Any] = {"textcoords": "offset points", "fontsize": 8.5, "zorder": 5}
    wanted = say("window.wanted" if inches_wide(axes) > 5 else "say.tenths", tenths=say.plain(answer.odds_wanted * 10))
    place = (0, 100 * answer.odds_wanted)  # on the left, where no early day has worked yet
    axes.annotate(wanted, place, xycoords=("axes fraction", "data"), xytext=(4, 3), **note)
    if answer.not_after is not None:
        edge = answer.not_after + 0.5
        axes.axvline(edge, color=INK, linewidth=1.4, linestyle=(0, (4, 2)), zorder=3)
        axes.annotate(say("window.your_last", day=say.short(answer.not_after)), (edge, 3), xytext=(4, 0), **note)
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("window.y_odds"))
    return day_axis(axes, int(days[0]), int(days[-1]), say, answer.behind.cube.season_starts)


def season_bars(answer: SeedingAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Each season's own window as a bar; what ended it by shape; days that can't be known hatched."""
    say = say or texts()
    days, grid = answer.days, answer.works[answer.subject]
    sure = shown(grid)
    maybe = grid.possible & ~sure & ~grid.complete[:, None]
    _shade(answer, axes)
    bars(axes, maybe, answer.seasons, days, facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0, zorder=2)
    bars(axes, sure, answer.seasons, days, facecolor=LINES[answer.subject][0], linewidth=0, zorder=3)
    marks: dict[tuple[str, str], list[tuple[float, int]]] = {}
    for row, season in enumerate(answer.seasons):
        end = answer.ended[row]
        if end.reason in ENDS and grid.complete[row]:
            after = days[np.flatnonzero(sure[row])[-1]] + 1.6
            marks.setdefault((ENDS[end.reason][0], FILLS[end.whose or "both"]), []).append((after, int(season)))
        if grid.complete[row] and not grid.possible[row].any():
            marks.setdefault(("x", INK), []).append((days[0] + 1.0, int(season)))
    for (marker, face), places in marks.items():
        x, y = zip(*places, strict=True)
        axes.plot(x, y, marker=marker, markersize=4.6, color=INK, markerfacecolor=face, markeredgewidth=0.9,
                  linestyle="none", zorder=4, clip_on=False)  # fmt: skip
    first, last = answer.behind.span
    axes.set_ylim(last + 0.8, first - 0.8)
    every = next(step for step, most in ((1, 12), (5, 75), (10, np.inf)) if last - first <= most)
    axes.set_yticks([season for season in range(first, last + 1) if season % every == 0])
    axes.set_ylabel(say("window.y_bars"))
    return day_axis(axes, int(days[0]), int(days[-1]), say, answer.behind.cube.season_starts)


def seeding_window(answer: SeedingAnswer, language: str = "en") -> Figure:
    """The seeding window as one picture: the answer, the odds by day, each season's own window, what it rests on."""
    say = texts(language)
    tall = min(max(0.085 * answer.seasons.size, 2.0), 9.0)
    return _drawn(answer, say, phrases.headline(say, answer), (3.1, tall), phrases.foot(say, answer))


def seeding_panels(answer: SeedingAnswer, language: str = "en", wide: float = Sheet.WIDE) -> Figure:
    """The two panels alone, for a page that says the answer and what it rests on in its own words.

    wide : inches; below 6, as for a telephone, legends stand in more rows
    """
    tall = min(max(0.06 * answer.seasons.size, 1.8), 3.9)
    return _drawn(answer, texts(language), None, (2.6, tall), (), wide)


def _drawn(answer: SeedingAnswer, say: Texts, title: tuple[str, str] | None, heights: tuple[float, float],
           foot: Iterable[str], wide: float = Sheet.WIDE) -> Figure:  # fmt: skip
    narrow = wide < 6
    with look():
        sheet = Sheet(title, heights, foot, wide=wide, under=1.14 if narrow else Sheet.UNDER)
        above = odds_curve(answer, sheet.panels[0], say)
        season_bars(answer, sheet.panels[1], say)
        handles, labels = above.get_legend_handles_labels()
        band = say("window.interval_of", line=labels[-1])
        sheet.legend(0, [*reversed(handles), Patch(color=BAND), Patch(color=WINDOW)],
                     [*reversed(labels), band, say("window.the_window")], per_row=2 if narrow else 6)  # fmt: skip
        sheet.legend(1, *_ends_legend(answer, say), per_row=1 if narrow else 4)
    return sheet.figure


def _shade(answer: SeedingAnswer, axes: Axes) -> None:
    if answer.window is not None:
        axes.axvspan(answer.window.first - 0.5, answer.window.last + 0.5, color=WINDOW, linewidth=0, zorder=0)


def _ends_legend(answer: SeedingAnswer, say: Texts) -> tuple[list[Any], list[str]]:
    """What a season's bar and its end say, only as far as they are drawn."""
    grid = answer.works[answer.subject]
    drawn = [end for end, whole in zip(answer.ended, grid.complete, strict=True) if whole and end.reason]
    reasons, whose = {end.reason for end in drawn}, {end.whose for end in drawn}
    handles: list[Any] = []
    words = []

    def mark(marker: str, face: str, text: str) -> None:
        handles.append(Line2D([], [], color=INK, marker=marker, markerfacecolor=face, linestyle="none", markersize=5))
        words.append(say(text))

    for reason, (marker, text) in ENDS.items():
        if reason in reasons:
            mark(marker, "lightgrey", text)
    for name in ("corn", "legume", "both"):
        if name in whose and answer.subject == "both":
            mark("s", FILLS[name], f"window.for_{name}")
    if not grid.complete.all():
        handles.append(Patch(facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0))
        words.append(say("window.maybe"))
    if (grid.complete & ~grid.possible.any(1)).any():
        mark("x", INK, "window.no_day")
    return handles, words
