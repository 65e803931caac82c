"""Frost dates as a picture: the odds by day, and each season's own time without frost."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from frostkit.answers.frosts import FrostAnswer
from frostkit.seasons.calendar import MISSING, column
from frostkit.show import phrases
from frostkit.show.look import BAND, BOTH, FROST, LEGUME, MAYBE, QUIET, Sheet, bars, day_axis, look
from frostkit.show.texts import Texts, texts

FIRST, LAST = column(4, 1), column(11, 15)


def frost_odds(answer: FrostAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Share of seasons [%] in which spring frost is still to come, and in which fall frost has come, by day."""
    say = say or texts()
    spring, fall = answer.spring_odds, answer.fall_odds
    axes.fill_between(spring.day, 100 - 100 * spring.low, 100 - 100 * spring.high, color=BAND, linewidth=0, zorder=2)
    axes.fill_between(fall.day, 100 * fall.low, 100 * fall.high, color=BAND, linewidth=0, zorder=2)
    to_come = 100 - 100 * spring.share
    axes.plot(spring.day, to_come, color=FROST, linewidth=2.2, label=say("frost.spring_line"), zorder=4)
    has_come: dict[str, Any] = {"linestyle": (0, (5, 1.5)), "label": say("frost.fall_line")}
    axes.plot(fall.day, 100 * fall.share, color=BOTH, linewidth=2.2, zorder=4, **has_come)
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("frost.y_odds"))
    return day_axis(axes, FIRST, LAST, say, answer.behind.cube.season_starts)


def free_bars(answer: FrostAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Each season's days between its last spring and its first fall frost; hatched where missing days leave it open."""
    say = say or texts()
    days = np.arange(FIRST, LAST + 1)
    sure = (days > answer.spring.last[:, None]) & (days < answer.fall.first[:, None])
    maybe = (days > answer.spring.first[:, None]) & (days < answer.fall.last[:, None]) & ~sure
    read = answer.behind.cube.tmin != MISSING
    sure &= read.any(axis=1)[:, None]
    seasons = answer.behind.cube.seasons
    bars(axes, maybe, seasons, days, facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0, zorder=2)
    bars(axes, sure, seasons, days, facecolor=LEGUME, linewidth=0, zorder=3)
    first, last = answer.behind.span
    axes.set_ylim(last + 0.8, first - 0.8)
    step = 5 if last - first <= 70 else 10
    axes.set_yticks([season for season in range(first, last + 1) if season % step == 0])
    axes.set_ylabel(say("frost.y_bars"))
    return day_axis(axes, FIRST, LAST, say, answer.behind.cube.season_starts)


def day_at(odds: np.ndarray, day: np.ndarray, level: float) -> float:
    """First day on which the odds have reached a level, +inf where none has; NaN where there are no odds at all.

    >>> day_at(np.array([0.1, 0.5, 0.9]), np.array([250, 260, 270]), 0.5)
    260.0
    """
    if np.isnan(odds).all():
        return float("nan")
    reached = np.flatnonzero(odds >= level - 1e-12)
    return float(day[reached[0]]) if reached.size else float("inf")


def frost_dates(answer: FrostAnswer, language: str = "en", fahrenheit: bool = False) -> Figure:
    """Frost dates as one picture: the odds by day, each season's own time without frost, what it rests on."""
    say = texts(language)
    tall = min(max(0.085 * answer.behind.complete.size, 2.0), 9.0)
    with look():
        sheet = Sheet(_headline(answer, say, fahrenheit), [2.6, tall], _foot(answer, say, fahrenheit))
        above = frost_odds(answer, sheet.panels[0], say)
        free_bars(answer, sheet.panels[1], say)
        handles, labels = above.get_legend_handles_labels()
        sheet.legend(0, [*handles, Patch(color=BAND)], [*labels, say("frost.band")])
        hatched = Patch(facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0)
        sheet.legend(1, [Patch(color=LEGUME), hatched], [say("frost.bar"), say("frost.maybe")])
    return sheet.figure


def _headline(answer: FrostAnswer, say: Texts, fahrenheit: bool) -> tuple[str, str]:
    at = phrases.degrees(say, answer.threshold, fahrenheit)
    known = answer.between.known() & np.isfinite(answer.between.first)
    free = np.sort(answer.between.first[known])
    numbers = {"median": "-", "least": "-", "most": "-"}
    if free.size:
        amounts = (float(np.median(free)), float(free[0]), float(free[-1]))
        numbers = dict(zip(numbers, map(say.number, amounts), strict=True))
    spring, fall = answer.spring_odds, answer.fall_odds
    half = day_at(spring.share, spring.day, 0.5), day_at(fall.share, fall.day, 0.5)
    most = day_at(spring.share, spring.day, 0.9), day_at(fall.share, fall.day, 0.1)
    title, under = say("frost.title_open", degrees=at), say("frost.under_open", **numbers)
    if np.isfinite(half).all():
        title = say("frost.title", degrees=at, spring=say.day(half[0] + 1), fall=say.day(half[1] - 1))
    if np.isfinite(most).all():
        under = say("frost.under", spring=say.day(most[0] + 1), fall=say.day(most[1] - 1), **numbers)
    return title, under


def _foot(answer: FrostAnswer, say: Texts, fahrenheit: bool) -> list[str]:
    method = say("frost.method", degrees=phrases.degrees(say, answer.threshold, fahrenheit),
                 estimator=answer.fall_odds.estimator)  # fmt: skip
    unknown = say("window.unknown", what=say("unknowns.low_spots"))
    lines = [phrases.record_line(say, answer.behind), method, unknown, phrases.source_line(say, answer.behind)]
    return [line for line in lines if line]
