"""The seeding window as a picture: odds by seeding day, and below each season's own days; labelled in place."""

from textwrap import wrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from frostkit.answers.answer import Answer, Odds, Says, Table
from frostkit.show.look import (
    BAND,
    BOTH,
    CORN,
    INK,
    LEGUME,
    QUIET,
    WINDOW,
    Sheet,
    bars,
    day_axis,
    inches_wide,
    look,
)
from frostkit.show.pictures.parts import foot_of, season_rows
from frostkit.show.render.words import Words

ROOM = "window_picture"
FRINGE = "#faf4e4"  # days that reach the odds for a part of the hybrid's need alone
COLOURS = {"corn": CORN, "legume": LEGUME, "both": BOTH}
NEWEST = 40  # seasons drawn one by one; the older ones are a band
APART = 4.0  # points from which on two lines are told apart by their labels
SMALL = 8.5
Floats = NDArray[np.float64]


def draw(answer: Answer, words: Words) -> Figure:
    """The seeding window as one picture: the answer, the odds by day, each season's own days, what it rests on."""
    return _drawn(answer, words, _title(answer, words), foot_of(answer, words), Sheet.WIDE, (3.2, 0.085))


def panels(answer: Answer, words: Words, wide: float = Sheet.WIDE) -> Figure:
    """The two panels alone, for a page that says the answer and what it rests on in its own words.

    wide : inches; below 6, as for a telephone, letters stand closer
    """
    return _drawn(answer, words, None, [], wide, (2.6, 0.06))


def _drawn(
    answer: Answer, words: Words, title: tuple[str, str] | None, foot: list[str], wide: float, tall: tuple[float, float]
) -> Figure:
    """tall : inches of the upper panel, and of each season below"""
    rows = min(len(answer.table("seasons")), NEWEST + 5)
    with look():
        sheet = Sheet(
            title, (tall[0], min(max(tall[1] * rows, 1.2), 4.2)), foot, wide=wide, under=0.72 if wide > 6 else 0.9
        )
        odds_curve(answer, sheet.panels[0], words)
        season_bars(answer, sheet.panels[1], words)
    return sheet.figure


def _title(answer: Answer, words: Words) -> tuple[str, str]:
    """The answer in a line, and what is seeded with the count that carries it."""
    of, values = answer.values["window"], dict(answer.headline.values)
    if of["from"] is not None:
        made = next(says for says in answer.sentences if says.key == "made")
        return words.say(ROOM, Says("title", values)), words.say(ROOM, Says("under", {**values, **made.values}))
    key = "too_late" if answer.headline.key == "too_late" else "none"
    return words.say(ROOM, Says(key, values)), words.say(ROOM, Says("under_none", values))


def odds_curve(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Seasons [%] by seeding day: soil ready, made it with its interval, plan; the window with its core and fringe."""
    table, subject = answer.table("odds"), answer.values["subject"]
    days = np.asarray(table.index.values, float)
    made, fit, plan = (table[f"{subject}{part}"].values for part in ("", ".ready", ".plan"))
    colour = COLOURS[subject]
    _shade(answer, axes, words)
    axes.fill_between(days, 100 * made.low, 100 * made.high, color=BAND, linewidth=0, zorder=2)
    lines = {"ready": (fit, QUIET, (0, (1, 1.4)), 1.8), "plan": (plan, colour, (0, (5, 2)), 1.8),
             "made": (made, colour, "-", 2.6)}  # fmt: skip
    for name, (share, ink, dashes, width) in lines.items():
        label = words.texts(f"{ROOM}.{name}")
        axes.plot(days, 100 * share.share, color=ink, linestyle=dashes, linewidth=width, label=label, zorder=4)
    _label_lines(axes, days, 100 * made.share, 100 * plan.share, 100 * fit.share, colour, words)
    odds = answer.settings["odds"]
    axes.axhline(100 * odds, color=INK, linewidth=0.9, zorder=3)
    wanted = words.say(ROOM, Says("wanted", {"odds": Odds(odds)}))
    edge = 0.5 if days.size and fit.share[0] < odds else days.size - 12
    axes.annotate(wanted, (days[0] + edge, 100 * odds), xytext=(2, -3), va="top", **_note())
    last = answer.values["not_after"]
    if last is not None:
        axes.axvline(last.column + 0.5, color=INK, linewidth=1.4, linestyle=(0, (4, 2)), zorder=3)
        own = words.say(ROOM, Says("your_last", {"day": last}))
        axes.annotate(own, (last.column + 0.5, 14), xytext=(4, 0), **_note())
    axes.set_ylim(0, 112)
    axes.set_yticks(range(0, 101, 20))
    axes.set_ylabel(words.texts(f"{ROOM}.y_odds"))
    under(axes, words.texts(f"{ROOM}.lines"))
    return day_axis(axes, int(days[0]), int(days[-1]), words.texts)


def under(axes: Axes, text: str) -> None:
    """What the panel's marks say, in lines of its width."""
    lines = wrap(text, int(13.5 * inches_wide(axes)))
    axes.set_xlabel("\n".join(lines), fontsize=SMALL, color=QUIET, loc="left", labelpad=3)


def _note(**more: Any) -> dict[str, Any]:
    return {"textcoords": "offset points", "fontsize": SMALL, "zorder": 6, **more}


def _shade(answer: Answer, axes: Axes, words: Words) -> None:
    """Fringe and core as bands, the window as a bracket with its two days."""
    of = answer.values["window"]
    for part, colour in ((of["fringe"], FRINGE), (of["core"], WINDOW)):
        if part is not None:
            axes.axvspan(part["from"].column - 0.5, part["to"].column + 0.5, color=colour, linewidth=0, zorder=0)
    if of["from"] is None:
        return
    first, last = of["from"].column, of["to"].column
    axes.plot([first - 0.5, first - 0.5, last + 0.5, last + 0.5], [101, 104, 104, 101], color=INK, linewidth=1.2,
              solid_joinstyle="miter", zorder=5)  # fmt: skip
    span = words.say(ROOM, Says("window", {"first": of["from"], "last": of["to"]}))
    middle = (max(first, answer.table("odds").index.values[0]) + last) / 2
    axes.annotate(span, (middle, 104), xytext=(0, 2), ha="center", va="bottom", weight="bold", **_note())
    if of["core"] is None or of["core"]["to"] == of["fringe"]["to"]:
        return
    room = inches_wide(axes) / len(answer.table("odds"))  # inches a day
    for name, begins, ends in (
        ("core", of["core"]["from"].column, of["core"]["to"].column),
        ("fringe", of["core"]["to"].column + 1, of["fringe"]["to"].column),
    ):
        text = words.texts(f"{ROOM}.{name}")
        if (ends - begins + 1) * room > 0.075 * len(text):  # where it fits
            axes.annotate(text, ((begins + ends) / 2, 1), xytext=(0, 2), ha="center", color=QUIET, **_note())


def _label_lines(axes: Axes, days: Floats, made: Floats, plan: Floats, fit: Floats, colour: str, words: Words) -> None:
    """Each line's name beside it, where it stands clear of the others."""
    say = words.texts
    apart = np.abs(plan - made)
    at = int(np.argmax(apart))
    same = apart[at] < APART
    name = say(f"{ROOM}.made_and_plan" if same else f"{ROOM}.made")
    falling = np.flatnonzero(made[:-1] > made[1:])
    low = next((int(place) for place in falling if made[place + 1] <= 62), None)
    if low is not None:
        room = inches_wide(axes) * (days[-1] - days[low]) / days.size  # to the right of the line
        aside: dict[str, Any] = {"xytext": (8, 0)} if room > 0.09 * len(name) else {"xytext": (-16, -8), "ha": "right"}
        axes.annotate(name, (days[low], made[low]), color=colour, weight="bold", **aside, **_note())
    else:  # it stays high: below its end
        place = int(0.72 * days.size)
        axes.annotate(name, (days[place], made[place]), xytext=(0, -13), ha="center", color=colour, weight="bold",
                      **_note())  # fmt: skip
    if not same:
        below = plan[at] < made[at]
        axes.annotate(
            say(f"{ROOM}.plan"), (days[at], plan[at]), xytext=(6, -12 if below else 6), color=colour, **_note()
        )
    rising = np.flatnonzero(fit >= 38)
    if rising.size and rising[0] > 8:
        place = int(rising[0])
        axes.annotate(say(f"{ROOM}.ready"), (days[place], fit[place]), xytext=(-8, 0), ha="right", color=QUIET,
                      **_note())  # fmt: skip
    elif rising.size:
        place = int(np.argmin(fit[: days.size // 2]))
        axes.annotate(say(f"{ROOM}.ready"), (days[place], fit[place]), xytext=(6, -10), color=QUIET, **_note())


def season_bars(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Each season's days from its first fit day to the last that made it; light where draws of missing days differ."""
    table, subject = answer.table("seasons"), answer.values["subject"]
    days = np.asarray(answer.table("odds").index.values, int)
    sure, maybe = _spans(table, days)
    newest = slice(max(len(table) - NEWEST, 0), None)
    seasons = np.asarray(table.index.values, int)
    colour = COLOURS[subject]
    bars(axes, maybe[newest] & ~sure[newest], seasons[newest], days, facecolor=BAND, linewidth=0, zorder=2)
    bars(axes, sure[newest], seasons[newest], days, facecolor=colour, linewidth=0, zorder=3)
    none = seasons[newest][~maybe[newest].any(1)]
    if none.size:
        axes.plot(
            np.full(none.size, days[0] + 1), none, marker="x", color=INK, markersize=4.6, linestyle="none", zorder=4
        )
        text = words.texts(f"{ROOM}.no_day")
        axes.annotate(text, (days[0] + 1, none[-1]), xytext=(6, 0), va="center", color=QUIET, **_note())
    season_rows(axes, seasons[newest])
    if newest.start:
        _older(axes, sure[: newest.start], seasons, days, colour, words)
    _shade_days(answer, axes)
    axes.set_ylabel(words.texts(f"{ROOM}.y_bars"))
    under(axes, words.texts(f"{ROOM}.bars"))
    return day_axis(axes, int(days[0]), int(days[-1]), words.texts)


def _spans(table: Table, days: NDArray[np.int64]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Days from the first fit day to the last that made it: in all draws, and in any. bool [season, day]"""
    first, last = table["first_fit"].values, table["last_made_it"].values
    sure = (days >= first[1][:, None]) & (days <= last[0][:, None])
    return sure, (days >= first[0][:, None]) & (days <= last[1][:, None])


def _older(
    axes: Axes, sure: NDArray[np.bool_], seasons: NDArray[np.int64], days: NDArray[np.int64], colour: str, words: Words
) -> None:
    """The seasons before the newest as one band: the darker a day, the more of them had it."""
    older, newest = seasons[: len(sure)], seasons[len(sure) :]
    low, high = axes.get_ylim()
    top = high - 4.6
    axes.set_ylim(low, top)
    share = sure.mean(0)
    for level in (0.1, 0.25, 0.5, 0.75, 0.9):
        on = (share >= level)[None]
        bars(axes, on, np.array([top + 2.2]), days, half=1.5, facecolor=colour, alpha=0.22, linewidth=0, zorder=3)
    span = words.say(ROOM, Says("older", {"first": str(older[0]), "last": str(older[-1])}))
    ticks = [int(tick) for tick in axes.get_yticks()]
    axes.set_yticks([top + 2.2, *ticks], [span.replace("-", "-\n"), *map(str, ticks)])
    axes.axhline(newest[0] - 0.9, color=QUIET, linewidth=0.6, zorder=2)


def _shade_days(answer: Answer, axes: Axes) -> None:
    of = answer.values["window"]
    for part, colour in ((of["fringe"], FRINGE), (of["core"], WINDOW)):
        if part is not None:
            axes.axvspan(part["from"].column - 0.5, part["to"].column + 0.5, color=colour, linewidth=0, zorder=0)
