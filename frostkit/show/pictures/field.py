"""The field's nights against the station's, one by one, and what that does to the odds of frost."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from frostkit.answers.logged import Logged
from frostkit.seasons.calendar import column, month_day
from frostkit.show import phrases
from frostkit.show.look import BOTH, CORN, FROST, INK, Sheet, day_axis, look
from frostkit.show.texts import Texts, texts

FIRST, LAST = column(4, 1), column(11, 1)
CLEAR, OTHER = 1, 0  # places in `records.field.NIGHTS`
MONTHS = (range(3, 5), range(5, 8), range(8, 10))  # of `records.field.SEASONS`, from 0; half a year later in the south


def night_by_night(answer: Logged, axes: Axes, say: Texts | None = None) -> Axes:
    """Each logged night: Tmin of the field less the station's [°C], by its day; the means of both kinds by season."""
    say = say or texts()
    day, apart, clear = answer.nights
    starts = answer.behind.cube.season_starts
    at = np.array([_place(one, starts) for one in day])
    looks: tuple[dict[str, Any], dict[str, Any]] = (
        {"marker": "o", "markerfacecolor": "white", "color": FROST},
        {"marker": "D", "markerfacecolor": CORN, "color": CORN},
    )
    for kind, name in ((OTHER, "other"), (CLEAR, "clear")):
        here = clear == bool(kind)
        axes.plot(at[here], apart[here], linestyle="none", markersize=4, markeredgewidth=0.9, zorder=3,
                  label=say(f"field_picture.{name}"), **looks[kind])  # fmt: skip
    month = np.array([month_day(int(one), starts)[0] - 1 for one in at])
    south = answer.behind.station.latitude < 0
    labelled: set[int] = set()
    for row, months in enumerate(MONTHS):
        of_season = np.isin((month + 6) % 12 if south else month, list(months))
        for kind, dashes, name in ((OTHER, (0, (4, 2)), "mean_other"), (CLEAR, "-", "mean_clear")):
            if of_season.any() and answer.offset.nights[row, kind]:
                label = "_" if kind in labelled else say(f"field_picture.{name}")
                labelled.add(kind)
                axes.plot([at[of_season].min(), at[of_season].max()], [answer.offset.mean[row, kind]] * 2, color=INK,
                          linewidth=2, linestyle=dashes, label=label, zorder=4)  # fmt: skip
    axes.axhline(0, color=INK, linewidth=0.8, zorder=1)
    axes.set_ylabel(say("field_picture.y_offset"))
    return day_axis(axes, FIRST, LAST, say, starts)


def frost_there(answer: Logged, axes: Axes, say: Texts | None = None) -> Axes:
    """Share of seasons [%] whose spring frost is still to come and whose fall frost has come: station and field."""
    say = say or texts()
    for of, colour, dashes, name in ((answer.here, BOTH, (0, (5, 1.5)), "station"), (answer.there, CORN, "-", "field")):
        spring, fall = of.spring_odds, of.fall_odds
        how: dict[str, Any] = {"color": colour, "linestyle": dashes, "linewidth": 2.2, "zorder": 3}
        axes.plot(spring.day, 100 - 100 * spring.share, label=say(f"field_picture.{name}"), **how)
        axes.plot(fall.day, 100 * fall.share, label="_fall", **how)
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("field_picture.y_odds"))
    return day_axis(axes, FIRST, LAST, say, answer.behind.cube.season_starts)


def field_and_station(answer: Logged, language: str = "en") -> Figure:
    """The field's logger as one picture: night by night, then the odds of frost at the station and in the field."""
    say = texts(language)
    with look():
        sheet = Sheet(headline(answer, say), [2.9, 2.2], _foot(answer, say))
        for panel, draw in enumerate((night_by_night, frost_there)):
            handles, labels = draw(answer, sheet.panels[panel], say).get_legend_handles_labels()
            sheet.legend(panel, handles, labels)
    return sheet.figure


def headline(answer: Logged, say: Texts) -> tuple[str, str]:
    """How much colder the field is, and the nights that carry it."""
    clear, other = (phrases.colder(say, answer.mean(kind)) for kind in (CLEAR, OTHER))
    title = say("field_picture.title", clear=clear, other=other)
    name = phrases.capital(answer.logger.replace("_", " "))
    under = say("field_picture.under", name=name, nights=int(answer.offset.nights.sum()), first=answer.first,
                last=answer.last, scatter=say.number(float(answer.offset.scatter[CLEAR]), 1))  # fmt: skip
    return title, under


def _place(day: np.datetime64, starts: tuple[int, int]) -> int:
    one = day.astype("datetime64[D]").item()
    return column(one.month, min(one.day, 28 if one.month == 2 else 31), starts)


def _foot(answer: Logged, say: Texts) -> list[str]:
    draws = len(answer.there.behind.draws) or 1
    method = say("field_picture.method", degrees=phrases.degrees(say, answer.here.threshold), draws=draws)
    lines = [method, phrases.record_line(say, answer.behind), phrases.source_line(say, answer.behind)]
    return [line for line in lines if line]
