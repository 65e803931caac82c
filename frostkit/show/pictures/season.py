"""This season against past ones: heat since sowing, or before it the seedbed, with what may come as a fan."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.answer import Answer, Says, Table
from frostkit.show.look import BAND, BOTH, CORN, FROST, INK, LEGUME, QUIET, Sheet, day_axis, look
from frostkit.show.render.text import site_says
from frostkit.show.render.words import CONVERTED, Words

TALL, LOW = 3.6, 2.5  # inches of the first panel and of the second
COLOURS = {"corn": CORN, "legume": LEGUME, "soil": BOTH}
NAMED = ("silking", "dent", "fit", "black_layer")
BACK, ON = 3, 5  # days shown before sowing, and after the last stage's late day


def draw(answer: Answer, words: Words) -> Figure:
    """The picture of a season under way, from the answer's own tables."""
    say, room = words.texts, "season_picture"
    sown = [table for table in answer.tables if table.key.startswith("fan.")]
    panels = sown or [answer.table("soil_days")]
    head = answer.headline
    title, under = (words.say(room, Says(f"{part}_{head.key}", head.values)) for part in ("title", "under"))
    foot = [] if answer.site is None else site_says(answer.site, answer.ensemble, words)[:2]
    with look():
        sheet = Sheet((title, under), [TALL, LOW][: len(panels)], foot, under=0.95)
        for number, table in enumerate(panels):
            who = table.key.partition(".")[2] or "soil"
            axes = sheet.panels[number]
            _fan(axes, table, words, COLOURS[who])
            unit = table["this_season"].unit
            named = say(f"{room}.y_heat" if sown else f"{room}.y_soil", unit=words.unit(_shown(words, unit)[2]))
            axes.set_ylabel(named)
            _days(axes, table, answer, words)
            if sown:
                _stages(axes, answer, words, who)
            else:
                _level(
                    axes,
                    words,
                    answer.values["limit"].value,
                    "degC",
                    say(f"{room}.limit", limit=words.value(answer.values["limit"])),
                )
            if not number:
                sheet.legend(number, *_legend(words, answer, COLOURS[who]), per_row=3)
    return sheet.figure


def _shown(words: Words, unit: str) -> tuple[float, float, str]:
    return CONVERTED[words.units].get(unit, (1.0, 0.0, unit))


def _fan(axes: Axes, table: Table, words: Words, colour: str) -> None:
    """Usual band, this season's line, and the fan of what may come."""
    days = np.asarray(table.index.values, float)
    factor, shift, _ = _shown(words, table["this_season"].unit)

    def of(key: str) -> Any:
        return np.asarray(table[key].values, float) * factor + shift

    axes.fill_between(days, of("usual.low"), of("usual.high"), color=BAND, linewidth=0, zorder=1)
    axes.plot(days, of("usual.middle"), color=QUIET, linewidth=1.0, linestyle=(0, (1, 2)), zorder=2)
    axes.fill_between(days, of("possible.low"), of("possible.high"), color=colour, alpha=0.28, linewidth=0, zorder=3)
    axes.plot(days, of("possible.middle"), color=colour, linewidth=1.4, linestyle=(0, (5, 2)), zorder=4)
    name = words.texts("season_picture.this")
    axes.plot(days, of("this_season"), color=colour, linewidth=2.2, label=name, zorder=5)


def _days(axes: Axes, table: Table, answer: Answer, words: Words) -> None:
    days = np.asarray(table.index.values, float)
    last = days[-1]
    if "coming" in [one.key for one in answer.tables]:
        late = np.asarray(answer.table("coming")["late"].values, float)
        late = late[np.isfinite(late)]
        last = min(last, max([answer.values["today"].column + 21, *late]) + ON)
    day_axis(axes, int(days[0]) - BACK, int(last), words.texts)
    top = max(np.nanmax(np.asarray(table[key].values, float)[days <= last]) for key in ("usual.high", "possible.high")
              if not np.isnan(np.asarray(table[key].values, float)[days <= last]).all())  # fmt: skip
    factor, shift, _ = _shown(words, table["this_season"].unit)
    if table.key != "soil":
        axes.set_ylim(0, (top * factor + shift) * 1.05)
    axes.axvline(answer.values["today"].column, color=INK, linewidth=1.2, linestyle=(0, (4, 2)), zorder=6)


def _stages(axes: Axes, answer: Answer, words: Words, who: str) -> None:
    """The needs of stages on this clock, as levels with their names."""
    low, high = axes.get_ylim()
    last = -np.inf
    for table in (answer.table("came"), answer.table("coming")):
        for row in range(len(table)):
            need = float(table["need"].values[row])
            if table["crop"].values[row] != f"subject_{who}" or not low < need < high:
                continue
            if table.index.values[row].name not in NAMED:
                continue
            axes.axhline(need, color=QUIET, linewidth=0.6, zorder=0)
            close = need - last < 0.05 * (high - low)
            last = need
            stage, at = words.value(table.index.at(row)), axes.get_xlim()[1 if close else 0]
            side = "right" if close else "left"
            axes.text(at, need, f" {stage} ", fontsize=8, va="bottom", ha=side, color=INK, zorder=7)


def _level(axes: Axes, words: Words, at: float, unit: str, name: str) -> None:
    factor, shift, _ = _shown(words, unit)
    axes.axhline(at * factor + shift, color=FROST, linewidth=1.0, zorder=2)
    axes.text(axes.get_xlim()[0] + 1, at * factor + shift, name, fontsize=8, va="bottom", color=FROST)


def _legend(words: Words, answer: Answer, colour: str) -> tuple[list[Any], list[str]]:
    say, room = words.texts, "season_picture"
    handles = [
        Line2D([], [], color=colour, linewidth=2.2),
        Patch(color=colour, alpha=0.28),
        Line2D([], [], color=colour, linewidth=1.4, linestyle=(0, (5, 2))),
        Patch(color=BAND),
        Line2D([], [], color=QUIET, linewidth=1.0, linestyle=(0, (1, 2))),
        Line2D([], [], color=INK, linewidth=1.2, linestyle=(0, (4, 2))),
    ]
    names = [say(f"{room}.{key}") for key in ("this", "possible", "likely", "usual", "middle")]
    return handles, [*names, say(f"{room}.today", day=say.short(answer.values["today"].column))]
