"""The season as strips of stages, corn and bean on one day axis, with the frost odds above."""

from collections.abc import Callable, Sequence
from math import isfinite

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.field import over
from frostkit.answers.frosts import frosts
from frostkit.answers.late_legume import LateLegumeAnswer, Sown
from frostkit.answers.spread import Spread, only_day
from frostkit.seasons.calendar import column
from frostkit.seasons.interval import SeasonDates
from frostkit.show import phrases
from frostkit.show.look import BOTH, CORN, FROST, GRID, INK, LEGUME, Sheet, day_axis, look
from frostkit.show.texts import Texts, texts

FIRST, LAST = column(4, 25), column(10, 31)
FROSTS = (0.0, -2.2)  # a frost in the screen, and one that kills a bean in the open: see the crop entries
GROUND, CORN_UP, CORN_LATE, BEAN_UP, BEAN_LATE = GRID, "#e5c48f", CORN, "#a8d3ca", LEGUME


def frost_curves(answer: LateLegumeAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """Share of seasons [%] whose first fall frost has come, by day, at two thresholds."""
    say = say or texts()
    for degrees, colour, dashes in zip(FROSTS, (FROST, BOTH), ("-", (0, (5, 1.5))), strict=True):
        odds = over(answer.behind, frosts, degrees).fall_odds
        label = say("late.frost_at", degrees=phrases.degrees(say, degrees))
        axes.plot(odds.day, 100 * odds.share, color=colour, linestyle=dashes, linewidth=2, label=label)
    axes.set_ylim(0, 104)
    axes.set_ylabel(say("late.y_odds"))
    return day_axis(axes, FIRST, LAST, say, answer.behind.cube.season_starts)


def strips(answer: LateLegumeAnswer, axes: Axes, say: Texts | None = None) -> Axes:
    """A strip for the corn and one for each way to sow each bean, from sowing to the chop or its killing frost."""
    say = say or texts()
    rows: list[tuple[str, list[tuple[Spread, str, str]]]] = [_corn_row(answer, say)]
    for bean in range(len(answer.beans)):
        rows += [_bean_row(answer, bean, way, say) for way in range(len(answer.beans[bean].sown))]
    for y, (_, parts) in enumerate(rows):
        _strip(axes, y, parts)
    chop = answer.spread(lambda part: only_day(part.corn_days.chop))
    if isfinite(chop.middle):
        axes.axvline(chop.middle, color=INK, linewidth=1, linestyle=(0, (4, 2)), zorder=1)
    axes.set_yticks(range(len(rows)), [name for name, _ in rows])
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    return day_axis(axes, FIRST, LAST, say, answer.behind.cube.season_starts)


def season_strips(answer: LateLegumeAnswer, language: str = "en") -> Figure:
    """The late legume as one picture: frost odds, then the season of the corn and of every way to sow the bean."""
    say = texts(language)
    count = 1 + sum(len(bean.sown) for bean in answer.beans)
    with look():
        sheet = Sheet(headline(answer, say), [1.6, 0.42 * count + 0.2], _foot(answer, say), left=2.5)
        above = frost_curves(answer, sheet.panels[0], say)
        strips(answer, sheet.panels[1], say)
        sheet.legend(0, *above.get_legend_handles_labels())
        boxes = {"sown": GROUND, "bean_up": BEAN_UP, "bean_late": BEAN_LATE, "corn_up": CORN_UP, "corn_late": CORN_LATE}
        handles = [*(Patch(color=colour) for colour in boxes.values()), Line2D([], [], color=INK, linewidth=1.2)]
        sheet.legend(1, handles, [*(say(f"late.legend_{name}") for name in boxes), say("late.spread")])
    return sheet.figure


def _corn_row(answer: LateLegumeAnswer, say: Texts) -> tuple[str, list[tuple[Spread, str, str]]]:
    of = answer.corn_days
    sown = Spread(answer.seeding_day, answer.seeding_day, answer.seeding_day, int(answer.behind.complete.sum()))
    parts = [(sown, GROUND, "")]
    for stage, colour in (("emergence", CORN_UP), ("v5", CORN_UP), ("silking", CORN_LATE), ("dent", CORN_LATE)):
        if stage in of.stages:
            label = {"v5": "V5"}.get(stage) or phrases.stage_title(say, answer.corn, stage).split(",")[0]
            day = answer.spread(lambda part, stage=stage: only_day(part.corn_days.stages[stage]))  # type: ignore[misc]
            parts.append((day, colour, label))
    return say("crops.title_corn"), [*parts, (answer.spread(lambda part: only_day(part.corn_days.chop)), "", "")]


def _bean_row(answer: LateLegumeAnswer, bean: int, way: int, say: Texts) -> tuple[str, list]:
    """One way to sow one bean, by their numbers."""

    def over_draws(dates: Callable[[Sown], SeasonDates]) -> Spread:
        return answer.spread(lambda part: dates(part.beans[bean].sown[way]))

    many = len(answer.beans) > 1
    name = phrases.crop_title(say, answer.beans[bean].crop) if many else ""
    sown = answer.beans[bean].sown[way]
    title = f"{name[:26]}\n{sown.name}" if many else sown.name
    parts = [
        (over_draws(lambda one: one.sown), GROUND, ""),
        (over_draws(lambda one: one.emergence), BEAN_UP, say("late.vegetative")),
    ]
    last = over_draws(_end)
    if sown.flower is not None:
        flower = over_draws(lambda one: one.flower or one.emergence)
        if flower.middle < last.middle:
            parts.append((flower, BEAN_LATE, say("late.flowering")))
    return title, [*parts, (last, "", "")]


def _end(sown: Sown) -> SeasonDates:
    """The chop or its own killing frost, whichever comes first."""
    return SeasonDates(np.minimum(sown.chop.first, sown.killed.first), np.minimum(sown.chop.last, sown.killed.last))


def _strip(axes: Axes, y: int, parts: Sequence[tuple[Spread, str, str]]) -> None:
    """Stages as boxes from their middle day to the next one's; lines show the middle 8 seasons in 10 of each."""
    for (start, colour, label), (after, _, _) in zip(parts, parts[1:], strict=False):
        first, last = start.middle, min(after.middle, LAST)
        if not isfinite(first) or last <= first:
            continue
        axes.barh(y, last - first, left=first, height=0.62, color=colour, edgecolor="white", linewidth=0.8, zorder=2)
        if label and last - first > 1.15 * len(label):
            dark = colour in (CORN_LATE, BEAN_LATE)
            axes.text((first + last) / 2, y, label, ha="center", va="center", fontsize=8, zorder=4,
                      color="white" if dark else INK)  # fmt: skip
    for start, _, _ in parts:
        if isfinite(start.low) and isfinite(start.high) and start.low < start.high:
            axes.plot([start.low, start.high], [y + 0.4, y + 0.4], color=INK, linewidth=1.2, zorder=3, clip_on=True)


def headline(answer: LateLegumeAnswer, say: Texts) -> tuple[str, str]:
    """The days that are worth sowing, and the count of the last way to sow."""
    bean = answer.beans[0]
    title = phrases.crop_title(say, bean.crop)
    title = title[0].upper() + title[1:]
    run = phrases.sowing_run(bean, answer.odds_wanted)
    head = say("late.title", bean=title, span=phrases.span(say, run))
    if phrases.too_few(bean):
        head = say("late.title_few", bean=title)
    elif run is None:
        head = say("late.title_none", bean=title, wanted=say("say.tenths", tenths=say.plain(answer.odds_wanted * 10)))
    sown = bean.sown[-1]
    row = phrases.row(sown.odds)
    name = phrases.capital(phrases.way(say, answer, sown.name))
    under = say("late.under", name=name, growth=phrases.growth(say, bean),
                count=phrases.count(say, row, 0), interval=phrases.percent(say, row, 0))  # fmt: skip
    return head, under


def _foot(answer: LateLegumeAnswer, say: Texts) -> list[str]:
    lines = [say("late.middle"), phrases.record_line(say, answer.behind)]
    lines.append(f"{say('crops.title_corn')}: {phrases.crop_line(say, answer.corn)}")
    lines += [f"{say('crops.title_legume')}: {phrases.crop_line(say, bean.crop)}" for bean in answer.beans[:3]]
    lines.append(say("late.unknown", what="; ".join(answer.does_not_know())))
    return [line for line in (*lines, phrases.source_line(say, answer.behind)) if line]
