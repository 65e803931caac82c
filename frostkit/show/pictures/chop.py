"""When it is fit to chop, as a picture: odds of every day ahead, and moisture as it falls into the store's range."""

from math import isfinite
from textwrap import wrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator

from frostkit.answers.chopping import ChoppingAnswer
from frostkit.seasons.calendar import column
from frostkit.show import phrases
from frostkit.show.look import BAND, BOTH, CORN, FROST, INK, LEGUME, WINDOW, Sheet, day_axis, look
from frostkit.show.texts import Texts, texts

LINES: dict[str, tuple[str, Any, float]] = {
    "in_range": (BOTH, "-", 2.6),
    "too_wet": (LEGUME, (0, (1, 1.4)), 2.0),
    "too_dry": (CORN, (0, (5, 2)), 1.8),
    "killed": (FROST, (0, (6, 1.5, 1, 1.5)), 1.6),
}
WARN = "#8f2a1c"  # the colour of cautions on pages
FEWEST_DAYS, AFTER = 28, 10  # days drawn at least, and after the last day that may be in range
NARROW = 5.4  # inches, beside a table
MARGIN = 3  # days before today, so that its mark stands clear of the edge
WEEKS = 62  # days up to which the 8th and 22nd of a month are named too
EDGE = 5  # points of moisture above and below what is drawn


def until(answer: ChoppingAnswer) -> int:
    """Last day drawn: some days after the last that may still be in range, or the end of the season."""
    last = answer.fit_to.all[2]
    end = int(answer.days[-1])
    return min(end, max(int(last) + AFTER, answer.today + FEWEST_DAYS)) if isfinite(last) else end


def day_odds(answer: ChoppingAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Odds [%] by day ahead: in the store's range, too wet, too dry, a killing frost has come; the best days shaded."""
    say = say or texts()
    if answer.best is not None:
        axes.axvspan(answer.best[0] - 0.5, answer.best[1] + 0.5, color=WINDOW, linewidth=0, zorder=0)
    for name, (colour, dashes, width) in LINES.items():
        odds = 100 * answer.odds[name].odds
        axes.plot(answer.days, odds, color=colour, linestyle=dashes, linewidth=width, label=say(f"chop.{name}"),
                  zorder=4 if name == "in_range" else 3)  # fmt: skip
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("chop.y_odds"))
    return _days(answer, axes, say)


def moisture_days(answer: ChoppingAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Whole-plant moisture [%] by day: the middle, the 8 in 10 around it, what was seen, and the store's range."""
    say = say or texts()
    store, (low, high) = answer.store, answer.moisture_band
    axes.axhspan(store.low, store.high, color=WINDOW, linewidth=0, zorder=0)
    for edge in (store.low, store.high):
        axes.axhline(edge, color=INK, linewidth=0.8, linestyle=(0, (1, 2)), zorder=3)
    axes.fill_between(answer.days, low, high, color=BAND, linewidth=0, alpha=0.85, zorder=2)
    axes.plot(answer.days, answer.moisture, color=BOTH, linewidth=2.4, zorder=4, label=say("chop.middle"))
    for one, _, _ in answer.standing.moved:
        if one.kind == "moisture":
            axes.plot([one.day], [one.value], color=INK, marker="D", markersize=6, linestyle="none", zorder=5,
                      label=say("chop.sample"))  # fmt: skip
    shown = answer.days <= until(answer)
    drawn = np.concatenate([low[shown], high[shown], [store.low, store.high]])
    drawn = drawn[np.isfinite(drawn)]
    axes.set_ylim(max(float(drawn.min()) - EDGE, 30), min(float(drawn.max()) + EDGE, 95))
    axes.set_ylabel(say("chop.y_moisture"))
    return _days(answer, axes, say)


def chopping_days(answer: ChoppingAnswer, language: str = "en") -> Figure:
    """When it is fit to chop as one picture: the answer, the odds by day, moisture, what it rests on."""
    say = texts(language)
    return _drawn(answer, say, headline(say, answer), (2.6, 2.3), _foot(say, answer))


def chopping_panels(answer: ChoppingAnswer, language: str = "en") -> Figure:
    """The two panels alone, narrow, for a page that says the answer and what it rests on in its own words."""
    return _drawn(answer, texts(language), None, (1.25, 1.15), [], wide=NARROW)


def headline(say: Texts, answer: ChoppingAnswer) -> tuple[str, str]:
    """The answer, and the counts that carry it."""
    store, first, last = phrases.store_title(say, answer.store), answer.fit_from.all[1], answer.fit_to.all[1]
    title = say("chop.title_few" if first != first else "chop.title_none", store=store)
    if isfinite(first):
        title = say("chop.title", store=store, first=say.day(first), last=say.day(last))
        if first <= answer.today:
            title = say("chop.title_now" if last >= answer.today else "chop.title_dry", store=store, last=say.day(last))
    return title, best_line(say, answer) or today_line(say, answer)


def best_line(say: Texts, answer: ChoppingAnswer) -> str:
    """The best days with their odds, and the count of seasons by weather alone; empty where no day is worth naming."""
    if answer.best is None:
        return ""
    at, index = answer.odds["in_range"], answer.best[0] - int(answer.days[0])
    shape = at.odds.shape
    yes, whole = (int(np.broadcast_to(part, shape)[index]) for part in (at.share.complete_yes, at.share.complete))
    interval = say("say.percent", low=f"{100 * at.share.low[index]:.0f}", high=f"{100 * at.share.high[index]:.0f}")
    return say("chop.under", span=say.days(*answer.best), odds=f"{100 * at.odds[index]:.0f}", interval=interval,
               count=say("say.of", yes=yes, total=whole))  # fmt: skip


def today_line(say: Texts, answer: ChoppingAnswer) -> str:
    """Moisture today, give or take."""
    middle, spread = answer.moisture_now
    return say("chop.under_none", day=say.day(answer.today), moisture=f"{middle:.0f}", spread=f"{spread:.0f}")


def seen_line(say: Texts, answer: ChoppingAnswer) -> str:
    """The crop, since when it is reckoned, and how many past seasons finish this one."""
    since = say("chop.since_seen")
    if answer.seeding_day is not None:
        since = say("chop.since_seeding", day=say.day(answer.seeding_day))
    return say("chop.seen", corn=phrases.capital(phrases.crop_title(say, answer.hybrid.crop)), since=since,
               count=int(answer.rests.seasons.size), season=answer.season)  # fmt: skip


def _drawn(answer: ChoppingAnswer, say: Texts, title: tuple[str, str] | None, heights: tuple[float, float],
           foot: list[str], wide: float = Sheet.WIDE) -> Figure:  # fmt: skip
    per_row = 6 if wide > NARROW else 3
    with look():
        sheet = Sheet(title, heights, foot, wide=wide, under=Sheet.UNDER if wide > NARROW else 0.78)
        above = day_odds(answer, sheet.panels[0], say)
        below = moisture_days(answer, sheet.panels[1], say)
        handles, words = above.get_legend_handles_labels()
        today = Line2D([], [], color=INK, linewidth=1.2, linestyle=(0, (4, 2)))
        handles, words = [*handles, today], [*words, say("chop.today", day=say.short(answer.today))]
        if answer.best is not None:
            handles, words = [*handles, Patch(color=WINDOW)], [*words, say("chop.best")]
        sheet.legend(0, handles, words, per_row)
        named = dict(zip(*reversed(below.get_legend_handles_labels()), strict=True))
        edge = Patch(facecolor=WINDOW, edgecolor=INK, linestyle=(0, (1, 2)), linewidth=0.8)
        store = say("chop.store_range", store=phrases.store_title(say, answer.store))
        sheet.legend(
            1,
            [*named.values(), Patch(color=BAND), edge],
            [*named, say("chop.spread"), store],
            4 if wide > NARROW else 2,
        )
        if foot:
            warn(sheet, say, foot)
    return sheet.figure


def warn(sheet: Sheet, say: Texts, foot: list[str]) -> None:
    """The dangers of chopping in one line above the foot, in the colour of cautions."""
    lines = sum(len(wrap(sentence, 158)) for sentence in foot)
    sheet.figure.text(0.012, (0.13 + Sheet.LINE * lines) / sheet.tall, say("chop.caution"), fontsize=8.5,
                      color=WARN, weight="bold", va="bottom")  # fmt: skip


def _days(answer: ChoppingAnswer, axes: Axes, say: Texts) -> Axes:
    axes.axvline(answer.today, color=INK, linewidth=1.2, linestyle=(0, (4, 2)), zorder=3)
    first, last, starts = answer.today - MARGIN, until(answer), answer.behind.cube.season_starts
    day_axis(axes, first, last, say, starts)
    if last - first <= WEEKS:
        places = sorted(column(month, day, starts) for month in range(1, 13) for day in (1, 8, 15, 22))
        axes.xaxis.set_major_locator(FixedLocator([place for place in places if first <= place <= last]))
    return axes


def _foot(say: Texts, answer: ChoppingAnswer) -> list[str]:
    lines = [seen_line(say, answer), say("chop.calibration"), phrases.record_line(say, answer.behind),
             phrases.source_line(say, answer.behind)]  # fmt: skip
    return [line for line in lines if line]
