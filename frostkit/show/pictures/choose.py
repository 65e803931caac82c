"""The largest rating that makes it by seeding day, as a picture; the entries asked about where they lie under it."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from frostkit.answers.answer import Answer, Day, Odds, Says
from frostkit.show.look import CORN, INK, QUIET, WINDOW, Sheet, day_axis, inches_wide, look
from frostkit.show.pictures.parts import foot_of
from frostkit.show.pictures.window import SMALL, under
from frostkit.show.render.words import Words

ROOM = "choose_picture"
GRAIN = "#6b4a2b"  # darker than silage, so that the two part in grey too
SOON = 0.1  # share of seasons with a ready soil from which on a day is one to seed on
Floats = NDArray[np.float64]
LINES = {"": (CORN, "silage"), "grain.": (GRAIN, "grain")}


def draw(answer: Answer, words: Words) -> Figure:
    """The largest rating by seeding day as one picture: the answer, the lines, what it rests on."""
    title = words.say(ROOM, Says("title", {"odds": Odds(answer.settings["odds"])}))
    under_ = words.say(ROOM, Says(f"under_{answer.headline.key}", answer.headline.values))
    return _drawn(answer, words, (title, under_), foot_of(answer, words), Sheet.WIDE, 4.2)


def panels(answer: Answer, words: Words, wide: float = Sheet.WIDE) -> Figure:
    """The panel alone, for a page that says the answer in its own words. wide : inches"""
    return _drawn(answer, words, None, [], wide, 3.0)


def _drawn(
    answer: Answer, words: Words, title: tuple[str, str] | None, foot: list[str], wide: float, tall: float
) -> Figure:
    with look():
        sheet = Sheet(title, (tall,), foot, wide=wide, under=0.72 if wide > 6 else 0.9)
        rating_curve(answer, sheet.panels[0], words)
    return sheet.figure


def rating_curve(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Largest rating [CHU] by seeding day, sown that day and by plan; the days before the soil is ready shaded."""
    table = answer.table("largest_rating")
    days = np.asarray(table.index.values, float)
    drawn = {key: _numbers(table[f"{key}rating"].values) for key in LINES}
    known = np.concatenate([part[np.isfinite(part)] for part in drawn.values()])
    ready = table["ready"].values.share >= SOON
    if ready.any():
        axes.axvspan(days[int(np.argmax(ready))] - 0.5, days[-1] + 0.5, color=WINDOW, alpha=0.55, linewidth=0, zorder=0)
        text = words.texts(f"{ROOM}.ready")
        axes.annotate(text, (days[int(np.argmax(ready))], 0), xycoords=("data", "axes fraction"), xytext=(3, 4),
                      color=QUIET, **_note())  # fmt: skip
    for key, (colour, use) in LINES.items():
        sown, plan = drawn[key], _numbers(table[f"{key}plan"].values)
        axes.plot(days, sown, color=colour, linewidth=2.6, zorder=4, label=words.texts(f"{ROOM}.{use}"))
        apart = np.where(np.abs(plan - sown) >= 25, plan, np.nan)  # a step of ratings
        axes.plot(days, apart, color=colour, linewidth=1.6, linestyle=(0, (5, 2)), zorder=4)
        there = np.flatnonzero(np.isfinite(sown))
        if there.size:
            place = int(there[0])
            axes.annotate(words.texts(f"{ROOM}.{use}"), (days[place], sown[place]), xytext=(4, 6), color=colour,
                          weight="bold", **_note())  # fmt: skip
    _entries(answer, axes, drawn, days, words)
    _asked(answer, axes, drawn, days, words)
    if known.size:
        axes.set_ylim(max(np.floor(known.min() / 200) * 200, 1400), np.ceil(min(known.max(), 4200) / 200) * 200 + 100)
    axes.set_ylabel(words.texts(f"{ROOM}.y"))
    axes.yaxis.set_major_formatter(lambda value, _: words.texts.number(value))
    under(axes, words.texts(f"{ROOM}.lines"))
    return day_axis(axes, int(days[0]), int(days[-1]), words.texts)


def _numbers(values: Any) -> Floats:
    return np.array([np.nan if value is None else value for value in values], float)


def _note(**more: Any) -> dict[str, Any]:
    return {"textcoords": "offset points", "fontsize": SMALL, "zorder": 6, **more}


def _entries(answer: Answer, axes: Axes, drawn: dict[str, Floats], days: Floats, words: Words) -> None:
    """Each corn that was asked about as a thin line up to the last day on which its rating lies under the largest."""
    corns = next((table for table in answer.tables if table.key == "corn"), None)
    if corns is None:
        return
    for row in range(len(corns)):
        rating, use = corns["rating"].values[row], corns["use"].values[row]
        key = "" if use == "silage" else "grain."
        if rating is None:
            continue
        with np.errstate(invalid="ignore"):
            under_ = np.flatnonzero(drawn[key] >= rating)
        if under_.size:
            end = days[under_[-1]]
            colour = LINES[key][0]
            axes.plot([days[0], end], [rating, rating], color=colour, linewidth=0.8, alpha=0.7, zorder=3)
            axes.plot([end], [rating], marker="o", color=colour, markersize=3.4, zorder=5)
            name = corns.index.values[row].name if inches_wide(axes) > 6 else words.texts.number(rating)
            aside: dict[str, Any] = {"xytext": (5, -3)} if use == "silage" else {"xytext": (-5, -10), "ha": "right"}
            axes.annotate(name, (end, rating), color=QUIET, **aside, **{**_note(), "fontsize": 7.5})


def _asked(answer: Answer, axes: Axes, drawn: dict[str, Floats], days: Floats, words: Words) -> None:
    """The seeding day that was asked for, and the ratings on it."""
    day = answer.values["seeding"].column
    axes.axvline(day, color=INK, linewidth=1.1, linestyle=(0, (4, 2)), zorder=3)
    said = words.say(ROOM, Says("asked", {"day": Day(day)}))
    axes.annotate(said, (day, 1), xycoords=("data", "axes fraction"), xytext=(4, -11), weight="bold", **_note())
    for key, (colour, _) in LINES.items():
        rating = drawn[key][int(day - days[0])]
        if np.isfinite(rating):
            axes.plot([day], [rating], marker="o", color=colour, markersize=7, zorder=6)
