"""When it is fit to chop, as a picture: odds of every day ahead, and moisture as it falls into the store's range."""

from textwrap import wrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator

from frostkit.answers.answer import Answer
from frostkit.seasons.calendar import column
from frostkit.show.look import BAND, BOTH, CORN, FROST, INK, LEGUME, WINDOW, Sheet, day_axis, fitting, look
from frostkit.show.render.text import site_says
from frostkit.show.render.words import Words

LINES: dict[str, tuple[str, Any, float]] = {
    "in_range": (BOTH, "-", 2.6),
    "too_wet": (LEGUME, (0, (1, 1.4)), 2.0),
    "too_dry": (CORN, (0, (5, 2)), 1.8),
    "killed": (FROST, (0, (6, 1.5, 1, 1.5)), 1.6),
}
WARN = "#8f2a1c"  # the colour of cautions on pages
NARROW = 5.4  # inches, beside a table
MARGIN = 3  # days before today, so that its mark stands clear of the edge
WEEKS = 62  # days up to which the 8th and 22nd of a month are named too
EDGE = 5  # points of moisture above and below what is drawn


def draw(answer: Answer, words: Words) -> Figure:
    """When it is fit to chop as one picture: the answer, the odds by day, moisture, what it rests on."""
    return _drawn(answer, words, headline(answer, words), (2.6, 2.3), _foot(answer, words))


def panels(answer: Answer, words: Words) -> Figure:
    """The two panels alone, narrow, for a page that says the answer and what it rests on in its own words."""
    return _drawn(answer, words, None, (1.1, 1.0), [], wide=NARROW)


def headline(answer: Answer, words: Words) -> tuple[str, str]:
    """The answer, and the first sentence that carries it."""
    return words.say("chop", answer.headline).rstrip("."), words.say("chop", answer.sentences[0])


def day_odds(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Odds [%] by day ahead: in the store's range, too wet, too dry, a killing frost has come; the best days shaded."""
    table, best = answer.table("odds"), answer.values["best"]
    if best is not None:
        axes.axvspan(best[0].column - 0.5, best[1].column + 0.5, color=WINDOW, linewidth=0, zorder=0)
    for name, (colour, dashes, width) in LINES.items():
        odds = table[f"{name}.odds"].values if f"{name}.odds" in table else table[name].values.share
        axes.plot(table.index.values, 100 * np.asarray(odds), color=colour, linestyle=dashes, linewidth=width,
                  label=words.texts(f"chop_picture.{name}"), zorder=4 if name == "in_range" else 3)  # fmt: skip
    axes.set_ylim(0, 104)
    axes.set_ylabel(words.texts("chop_picture.y_odds"))
    return _days(answer, axes, words)


def moisture_days(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Whole-plant moisture [%] by day: the middle, the 8 in 10 around it, what was seen, and the store's range."""
    table, store = answer.table("odds"), answer.values["store"]
    days = np.asarray(table.index.values)
    low, high = (np.asarray(table[f"moisture_band.{end}"].values) for end in ("low", "high"))
    axes.axhspan(store["low"], store["high"], color=WINDOW, linewidth=0, zorder=0)
    for edge in (store["low"], store["high"]):
        axes.axhline(edge, color=INK, linewidth=0.8, linestyle=(0, (1, 2)), zorder=3)
    axes.fill_between(days, low, high, color=BAND, linewidth=0, alpha=0.85, zorder=2)
    middle = words.texts("chop_picture.middle")
    axes.plot(days, table["moisture"].values, color=BOTH, linewidth=2.4, zorder=4, label=middle)
    for one in answer.values["seen"]:
        if one["what"] == "moisture":
            axes.plot([one["day"].column], [one["value"]], color=INK, marker="D", markersize=6, linestyle="none",
                      zorder=5, label=words.texts("chop_picture.sample"))  # fmt: skip
    shown = days <= answer.settings["until"]
    drawn = np.concatenate([low[shown], high[shown], [store["low"], store["high"]]])
    axes.set_ylim(max(float(drawn.min()) - EDGE, 30), min(float(drawn.max()) + EDGE, 95))
    axes.set_ylabel(words.texts("chop_picture.y_moisture"))
    return _days(answer, axes, words)


def warn(sheet: Sheet, words: Words, foot: list[str]) -> None:
    """The dangers of chopping in one line above the foot, in the colour of cautions."""
    lines = sum(len(wrap(sentence, 158)) for sentence in foot)
    text = words.texts("chop_picture.caution")
    size = fitting(text, 8.5, 0.97 * sheet.figure.get_figwidth(), "bold")
    place = (0.13 + Sheet.LINE * lines) / sheet.tall
    sheet.figure.text(0.012, place, text, fontsize=size, color=WARN, weight="bold", va="bottom")


def _drawn(
    answer: Answer,
    words: Words,
    title: tuple[str, str] | None,
    heights: tuple[float, float],
    foot: list[str],
    wide: float = Sheet.WIDE,
) -> Figure:
    narrow, say = wide <= NARROW, words.texts
    with look():
        sheet = Sheet(title, heights, foot, wide=wide, under=0.78 if narrow else Sheet.UNDER)
        above = day_odds(answer, sheet.panels[0], words)
        below = moisture_days(answer, sheet.panels[1], words)
        handles, labels = above.get_legend_handles_labels()
        today = Line2D([], [], color=INK, linewidth=1.2, linestyle=(0, (4, 2)))
        day = say.short(answer.values["today"].column)
        handles, labels = [*handles, today], [*labels, say("chop_picture.today", day=day)]
        if answer.values["best"] is not None:
            handles, labels = [*handles, Patch(color=WINDOW)], [*labels, say("chop_picture.best")]
        sheet.legend(0, handles, labels, 3 if narrow else 6)
        named = dict(zip(*reversed(below.get_legend_handles_labels()), strict=True))
        edge = Patch(facecolor=WINDOW, edgecolor=INK, linestyle=(0, (1, 2)), linewidth=0.8)
        store = say("chop_picture.store_range", store=say(f"terms.store_{answer.values['store']['name']}"))
        sheet.legend(
            1,
            [*named.values(), Patch(color=BAND), edge],
            [*named, say("chop_picture.spread"), store],
            2 if narrow else 4,
        )
        if foot:
            warn(sheet, words, foot)
    return sheet.figure


def _days(answer: Answer, axes: Axes, words: Words) -> Axes:
    today = answer.values["today"].column
    axes.axvline(today, color=INK, linewidth=1.2, linestyle=(0, (4, 2)), zorder=3)
    first, last = int(today) - MARGIN, int(answer.settings["until"])
    day_axis(axes, first, last, words.texts)
    if last - first <= WEEKS:
        places = sorted(column(month, day) for month in range(1, 13) for day in (1, 8, 15, 22))
        axes.xaxis.set_major_locator(FixedLocator([place for place in places if first <= place <= last]))
    return axes


def _foot(answer: Answer, words: Words) -> list[str]:
    """Where the field stands, the calibration, and the record behind it."""
    now = [says for says in answer.sentences if says.key == "today"]
    assert answer.site is not None
    said = [words.say("chop", says) for says in now]
    return [*said, words.texts("chop_picture.calibration"), *site_says(answer.site, answer.ensemble, words)]
