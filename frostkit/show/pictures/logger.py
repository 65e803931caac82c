"""The field's nights against the station's, one by one, and what that does to the odds of frost."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from frostkit.answers.answer import Answer
from frostkit.seasons.calendar import column
from frostkit.show.look import BOTH, CORN, FROST, INK, Sheet, day_axis, look
from frostkit.show.pictures.parts import foot_of, title_of
from frostkit.show.render.text import converted_unit
from frostkit.show.render.words import CONVERTED, Words

FIRST, LAST = column(4, 1), column(11, 1)
LOOKS: dict[str, dict[str, Any]] = {
    "other": {"marker": "o", "markerfacecolor": "white", "color": FROST},
    "clear": {"marker": "D", "markerfacecolor": CORN, "color": CORN},
}


def draw(answer: Answer, words: Words) -> Figure:
    """The field's logger as one picture: night by night, then the odds of frost at the station and in the field."""
    with look():
        sheet = Sheet(title_of(answer, words), [2.9, 2.2], foot_of(answer, words))
        for panel, part in enumerate((night_by_night, frost_there)):
            handles, labels = part(answer, sheet.panels[panel], words).get_legend_handles_labels()
            sheet.legend(panel, handles, labels)
    return sheet.figure


def night_by_night(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Each logged night: Tmin of the field less the station's, by its day."""
    say = words.texts
    table = answer.table("nights")
    day, clear = np.asarray(table["column"].values), np.asarray(table["clear"].values, bool)
    factor = CONVERTED[words.units].get("degC more", (1.0, 0.0, ""))[0]
    apart = factor * np.asarray(table["apart"].values, float)
    for name, here in (("other", ~clear), ("clear", clear)):
        axes.plot(day[here], apart[here], linestyle="none", markersize=4, markeredgewidth=0.9, zorder=3,
                  label=say(f"logger_picture.{name}"), **LOOKS[name])  # fmt: skip
    axes.axhline(0, color=INK, linewidth=0.8, zorder=1)
    axes.set_ylabel(say("logger_picture.y_offset", unit=words.unit(converted_unit(words, "degC more"))))
    return day_axis(axes, FIRST, LAST, say)


def frost_there(answer: Answer, axes: Axes, words: Words) -> Axes:
    """Share of seasons [%] whose spring frost is still to come and whose fall frost has come: station and field."""
    say = words.texts
    for place, colour, dashes in (("station", BOTH, (0, (5, 1.5))), ("field", CORN, "-")):
        spring, fall = (answer.table(f"odds.{place}_{end}") for end in ("last_spring", "first_fall"))
        how: dict[str, Any] = {"color": colour, "linestyle": dashes, "linewidth": 2.2, "zorder": 3}
        to_come = 100 - 100 * spring["share"].values.share
        axes.plot(spring.index.values, to_come, label=say(f"logger_picture.{place}"), **how)
        axes.plot(fall.index.values, 100 * fall["share"].values.share, label="_fall", **how)
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("logger_picture.y_odds"))
    return day_axis(axes, FIRST, LAST, say)
