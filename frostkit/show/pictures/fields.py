"""The order of fields as a picture: a strip for each field, when it is fit and when it is chopped."""

from math import isfinite

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.answer import Answer
from frostkit.show.look import BOTH, INK, QUIET, WINDOW, Sheet, day_axis, look
from frostkit.show.pictures.chop import warn
from frostkit.show.pictures.parts import named_rows
from frostkit.show.printed import NAME, plain
from frostkit.show.render.text import site_says
from frostkit.show.render.words import Words

MARGIN = 4  # days drawn before the first date and after the last
ROW = 0.5  # inches a field takes
LONGEST = 24  # letters of a field's name


def draw(answer: Answer, words: Words) -> Figure:
    """The order of fields as one picture: the order, what it keeps, the calendar, what it rests on."""
    title = words.say("fields", answer.headline).rstrip("."), words.say("fields", answer.sentences[0])
    foot = _foot(answer, words)
    with look():
        sheet = Sheet(title, [ROW * len(answer.table("plan")) + 0.2], foot, left=1.9)
        calendar(answer, sheet.panels[0], words)
        spread = Line2D([], [], color=INK, linewidth=1.2)
        fit = Patch(facecolor=WINDOW, edgecolor=QUIET)
        labels = [words.texts(f"fields_picture.{key}") for key in ("fit", "chopped", "spread")]
        sheet.legend(0, [fit, Patch(color=BOTH), spread], labels)
        warn(sheet, words, foot)
    return sheet.figure


def calendar(answer: Answer, axes: Axes, words: Words) -> Axes:
    """A strip for each field in the order it is taken: days fit, days chopped, and the 8 seasons in 10 around both."""
    plan = answer.table("plan")
    days = {
        f"{name}.{odds}": np.asarray(plan[f"{name}.{odds}"].values, float)
        for name in ("fit_from", "fit_to", "start", "finish")
        for odds in ("early", "usual", "late")
    }
    known = np.concatenate(list(days.values()))
    known = known[np.isfinite(known)]
    first, last = (known.min() - MARGIN, known.max() + MARGIN) if known.size else (200.0, 300.0)
    for row in range(len(plan)):
        at = {key: float(values[row]) for key, values in days.items()}
        if isfinite(at["fit_from.usual"]) and isfinite(at["fit_to.usual"]):
            _box(axes, row - 0.14, 0.4, at["fit_from.usual"], at["fit_to.usual"], WINDOW, QUIET)
            _line(axes, row - 0.14 - 0.26, at["fit_from.early"], min(at["fit_to.late"], last), QUIET)
        if isfinite(at["start.usual"]):
            end = at["finish.usual"] if isfinite(at["finish.usual"]) else last
            _box(axes, row + 0.2, 0.24, at["start.usual"], end, BOTH, BOTH)
            _line(axes, row + 0.2 + 0.19, at["start.early"], min(at["finish.late"], last), BOTH)
        else:
            not_fit = words.texts("fields_picture.not_fit")
            axes.text(first, row + 0.2, not_fit, fontsize=8.5, color=QUIET, va="center")
    names = [
        words.texts("fields_picture.row", place=row + 1, name=plain(name, NAME))
        for row, name in enumerate(plan.index.values)
    ]
    named_rows(axes, [plain(name, LONGEST) for name in names])
    return day_axis(axes, int(first), int(last), words.texts)


def _box(axes: Axes, y: float, height: float, first: float, last: float, colour: str, edge: str) -> None:
    axes.barh(y, last - first + 1, left=first - 0.5, height=height, color=colour, edgecolor=edge, linewidth=0.8,
              zorder=2)  # fmt: skip


def _line(axes: Axes, y: float, first: float, last: float, colour: str) -> None:
    if isfinite(first) and isfinite(last) and first < last:
        axes.plot([first - 0.5, last + 0.5], [y, y], color=colour, linewidth=1.2, zorder=3)


def _foot(answer: Answer, words: Words) -> list[str]:
    say, chopper = words.texts, answer.values["chopper"]
    rate, hours = (say.plain(chopper[key]) for key in ("rate", "hours"))
    method = say("fields_picture.method", rate=rate, hours=hours, machines=chopper["machines"])
    rain = [words.say("fields", says) for says in answer.sentences if says.key in ("rain", "no_rain")]
    assert answer.site is not None
    return [method, *rain, say("chop_picture.calibration"), *site_says(answer.site, answer.ensemble, words)]
