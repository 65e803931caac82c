"""The order of fields as a picture: a strip for each field, when it is fit and when it is chopped."""

from math import isfinite

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.fields import FieldPlan, FieldsAnswer
from frostkit.show import phrases
from frostkit.show.look import BOTH, INK, QUIET, WINDOW, Sheet, day_axis, look
from frostkit.show.pictures.chop import warn
from frostkit.show.texts import Texts, texts

MARGIN = 4  # days drawn before the first date and after the last
NAMED = 6  # fields named in the title; of more, the first four
ROW = 0.5  # inches a field takes


def calendar(answer: FieldsAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """A strip for each field in the order it is taken: days fit, days chopped, and the 8 seasons in 10 around both."""
    say = say or texts()
    days = [day for plan in answer.plan for dates in (plan.fit_from, plan.fit_to, plan.start, plan.finish)
            for day in dates if isfinite(day)]  # fmt: skip
    first, last = (min(days) - MARGIN, max(days) + MARGIN) if days else (200, 300)
    for row, plan in enumerate(answer.plan):
        if isfinite(plan.fit_from[1]) and isfinite(plan.fit_to[1]):
            _box(axes, row - 0.14, 0.4, plan.fit_from[1], plan.fit_to[1], WINDOW, QUIET)
            _line(axes, row - 0.14 - 0.26, plan.fit_from[0], min(plan.fit_to[2], last), QUIET)
        if isfinite(plan.start[1]):
            end = plan.finish[1] if isfinite(plan.finish[1]) else last
            _box(axes, row + 0.2, 0.24, plan.start[1], end, BOTH, BOTH)
            _line(axes, row + 0.2 + 0.19, plan.start[0], min(plan.finish[2], last), BOTH)
        else:
            axes.text(first, row + 0.2, say("fields.not_fit"), fontsize=8.5, color=QUIET, va="center")
    names = [say("fields.row", place=row + 1, name=plan.field.name) for row, plan in enumerate(answer.plan)]
    axes.set_yticks(range(len(names)), [name if len(name) <= 24 else f"{name[:23]}…" for name in names])
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(names) - 0.4, -0.6)
    return day_axis(axes, int(first), int(last), say, answer.behind.cube.season_starts)


def fields_calendar(answer: FieldsAnswer, language: str = "en") -> Figure:
    """The order of fields as one picture: the order, what it keeps, the calendar, what it rests on."""
    say = texts(language)
    names = [plan.field.name for plan in answer.plan]
    shown = names if len(names) <= NAMED else names[:4]
    order = names[0]
    if len(names) > NAMED:
        order = say("fields.more", names=", ".join(shown), count=len(names) - len(shown))
    elif len(names) > 1:
        order = say("fields.then", names=", ".join(names[:-1]), last=names[-1])
    low, high = np.quantile(answer.by_season, (0.1, 0.9))
    under = say("fields.under", kept=say.number(answer.tonnes), all=say.number(answer.all_tonnes),
                share=f"{100 * answer.tonnes / answer.all_tonnes:.0f}", count=answer.seasons.size,
                low=say.number(low), high=say.number(high))  # fmt: skip
    foot = _foot(answer, say)
    with look():
        sheet = Sheet((say("fields.title", order=order), under), [ROW * len(names) + 0.2], foot, left=1.9)
        calendar(answer, sheet.panels[0], say)
        spread = Line2D([], [], color=INK, linewidth=1.2)
        fit = Patch(facecolor=WINDOW, edgecolor=QUIET)
        words = [say(f"fields.{key}") for key in ("fit", "chopped", "spread")]
        sheet.legend(0, [fit, Patch(color=BOTH), spread], words)
        warn(sheet, say, foot)
    return sheet.figure


def place_line(say: Texts, answer: FieldsAnswer, index: int) -> str:
    """Where one field stands in the order, and when it is chopped: a sentence for its field sheet."""
    plan: FieldPlan = answer.plan[index]
    where = {"number": index + 1, "count": len(answer.plan)}
    if not isfinite(plan.start[1]):
        return say("sheet.place_none", **where)
    low, middle, high = (say.day(day) for day in plan.start)
    return say("sheet.place", start=middle, low=low, high=high, **where)


def _box(axes: Axes, y: float, height: float, first: float, last: float, colour: str, edge: str) -> None:
    axes.barh(y, last - first + 1, left=first - 0.5, height=height, color=colour, edgecolor=edge, linewidth=0.8,
              zorder=2)  # fmt: skip


def _line(axes: Axes, y: float, first: float, last: float, colour: str) -> None:
    if isfinite(first) and isfinite(last) and first < last:
        axes.plot([first - 0.5, last + 0.5], [y, y], color=colour, linewidth=1.2, zorder=3)


def _foot(answer: FieldsAnswer, say: Texts) -> list[str]:
    chopper = answer.chopper
    machines = say("fields.one_machine")
    if chopper.machines > 1:
        machines = say("fields.machines", count=chopper.machines)
    rain = say("fields.rain", days=say.number(answer.lost_days, 1)) if answer.rain_known else say("fields.no_rain")
    method = say("fields.method", rate=say.plain(chopper.rate), hours=say.plain(chopper.hours), machines=machines)
    lines = [method, rain, say("chop.calibration"), phrases.record_line(say, answer.behind),
             phrases.source_line(say, answer.behind)]  # fmt: skip
    return [line for line in lines if line]
