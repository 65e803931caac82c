"""Pictures of answers. Each panel takes and returns an Axes; `seeding_window` composes them into one figure."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from frostkit.answers.seeding import FALL_FROST, HEAT, SeedingAnswer, shown
from frostkit.show.look import (
    BAND,
    BOTH,
    CORN,
    INK,
    LEGUME,
    MAYBE,
    QUIET,
    WINDOW,
    Sheet,
    day_axis,
    look,
    short,
)
from frostkit.show.tables import NAMES, count, crop_words, percent, span

LINES = {"corn": (CORN, (0, (5, 2)), 1.6), "legume": (LEGUME, (0, (1, 1.4)), 1.8), "both": (BOTH, "-", 2.6)}
ENDS = {FALL_FROST: ("v", "a killing frost came first"), HEAT: ("o", "heat ran out")}
FILLS = {"corn": CORN, "legume": "white", "both": INK}


def odds_curve(answer: SeedingAnswer, axes: Axes) -> Axes:
    """Seasons that worked [%] by seeding day, the interval of the subject, the odds wanted, the window."""
    days = answer.days
    subject = answer.odds[answer.subject]
    _shade(answer, axes)
    axes.fill_between(days, 100 * subject.low, 100 * subject.high, color=BAND, linewidth=0, zorder=2)
    order = [name for name in answer.odds if name != answer.subject] + [answer.subject]
    for name in order:
        colour, dashes, width = LINES[name]
        width = LINES["both"][2] if name == answer.subject else width
        label = {"corn": "corn alone", "legume": "legume alone", "both": "both"}[name]
        axes.plot(
            days, 100 * answer.odds[name].share, color=colour, linestyle=dashes, linewidth=width, label=label, zorder=4
        )
    axes.axhline(100 * answer.odds_wanted, color=INK, linewidth=0.9, zorder=3)
    axes.annotate(
        f"wanted: {answer.odds_wanted * 10:g} seasons in 10",
        (1, 100 * answer.odds_wanted),
        xycoords=("axes fraction", "data"),
        xytext=(-4, 3),
        textcoords="offset points",
        ha="right",
        fontsize=8.5,
        zorder=5,
    )
    if answer.not_after is not None:
        axes.axvline(answer.not_after + 0.5, color=INK, linewidth=1.4, linestyle=(0, (4, 2)), zorder=3)
        axes.annotate(
            f"your last day, {short(answer.not_after)}",
            (answer.not_after + 0.5, 3),
            xytext=(4, 0),
            textcoords="offset points",
            fontsize=8.5,
            zorder=5,
        )
    axes.set_ylim(0, 104)
    axes.set_ylabel("seasons that worked, %")
    return day_axis(axes, int(days[0]), int(days[-1]), answer.behind.cube.season_starts)


def season_bars(answer: SeedingAnswer, axes: Axes) -> Axes:
    """Each season's own window as a bar; what ended it by shape; days that can't be known hatched."""
    days, grid = answer.days, answer.works[answer.subject]
    sure = shown(grid)
    maybe = grid.possible & ~sure & ~grid.complete[:, None]
    _shade(answer, axes)
    for row, season in enumerate(answer.seasons):
        y = int(season)
        for first, length in _runs(maybe[row], days):
            axes.broken_barh(
                [(first - 0.5, length)], (y - 0.36, 0.72), facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0
            )
        for first, length in _runs(sure[row], days):
            axes.broken_barh(
                [(first - 0.5, length)],
                (y - 0.36, 0.72),
                facecolor=BOTH if answer.subject == "both" else LINES[answer.subject][0],
                linewidth=0,
                zorder=3,
            )
        end = answer.ended[row]
        if end.reason in ENDS and grid.complete[row]:
            place = days[np.flatnonzero(sure[row])[-1]] + 1.6
            axes.plot(
                [place],
                [y],
                marker=ENDS[end.reason][0],
                markersize=4.6,
                color=INK,
                markerfacecolor=FILLS[end.whose],
                markeredgewidth=0.9,
                linestyle="none",
                zorder=4,
                clip_on=False,
            )
        if not sure[row].any() and not maybe[row].any() and grid.complete[row]:
            axes.plot([days[0] + 1], [y], marker="x", markersize=5, color=INK, linestyle="none", zorder=4)
    first, last = answer.behind.span
    axes.set_ylim(last + 0.8, first - 0.8)
    axes.set_yticks([season for season in range(first, last + 1) if season % (5 if last - first > 12 else 1) == 0])
    axes.set_ylabel("each season's own window")
    return day_axis(axes, int(days[0]), int(days[-1]), answer.behind.cube.season_starts)


def seeding_window(answer: SeedingAnswer) -> Figure:
    """The seeding window as one picture: the answer, the odds by day, each season's own window, what it rests on."""
    bars = min(max(0.085 * answer.seasons.size, 2.0), 9.0)
    with look():
        sheet = Sheet(_headline(answer), [3.1, bars], _foot(answer))
        above = odds_curve(answer, sheet.panels[0])
        season_bars(answer, sheet.panels[1])
        handles, labels = above.get_legend_handles_labels()
        handles = [*reversed(handles), Patch(color=BAND), Patch(color=WINDOW)]
        sheet.legend(0, handles, [*reversed(labels), f"90 % interval of {labels[-1]}", "the window"])
        sheet.legend(1, *_ends_legend(answer), per_row=4)
    return sheet.figure


def _shade(answer: SeedingAnswer, axes: Axes) -> None:
    if answer.window is not None:
        axes.axvspan(answer.window.first - 0.5, answer.window.last + 0.5, color=WINDOW, linewidth=0, zorder=0)


def _runs(on: np.ndarray, days: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(np.int8), [0]])))
    return [(int(days[a]), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _headline(answer: SeedingAnswer) -> tuple[str, str]:
    crops = NAMES[answer.subject] + (" together" if answer.subject == "both" else "")
    share = answer.odds[answer.subject]
    if answer.window is None:
        under = f"{int(np.max(share.complete))} complete seasons"
        if np.isfinite(share.share).any():
            best = int(np.nanargmax(share.share))
            under = f"Best day: {short(answer.days[best])}, {count(share, best)} seasons ({percent(share, best)})"
        return f"No seeding day reaches {answer.odds_wanted * 10:g} in 10 for {crops}", under
    inside = np.arange(answer.window.first, answer.window.last + 1) - int(answer.days[0])
    low = inside[int(np.argmin(share.complete_yes[inside]))]
    return (
        f"Seed {crops} {span(answer.window)}",
        f"On every day of the window it worked in at least {count(share, low)} seasons ({percent(share, low)})",
    )


def _ends_legend(answer: SeedingAnswer) -> tuple[list, list[str]]:
    """What a season's bar and its end say, only as far as they are drawn."""
    grid = answer.works[answer.subject]
    drawn = [end for end, whole in zip(answer.ended, grid.complete, strict=True) if whole and end.reason]
    whose = {end.whose for end in drawn}
    reasons = {end.reason for end in drawn}
    handles: list = []
    words = []

    def mark(marker: str, face: str, text: str) -> None:
        handles.append(Line2D([], [], color=INK, marker=marker, markerfacecolor=face, linestyle="none", markersize=5))
        words.append(text)

    for reason, (marker, text) in ENDS.items():
        if reason in reasons:
            mark(marker, "lightgrey", f"ended: {text}")
    for name in ("corn", "legume", "both"):
        if name in whose and answer.subject == "both":
            mark("s", FILLS[name], {"corn": "for the corn", "legume": "for the legume", "both": "for both"}[name])
    if not grid.complete.all():
        handles.append(Patch(facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0))
        words.append("may have worked: missing days")
    if (grid.complete & ~grid.possible.any(1)).any():
        mark("x", INK, "no day worked")
    return handles, words


def _foot(answer: SeedingAnswer) -> list[str]:
    lines = [answer.behind.words()]
    for title, crop in (("Corn", answer.corn), ("Legume", answer.legume)):
        if crop is not None:
            lines.append(f"{title}: {crop_words(crop)}")
    if answer.subject == "both" and answer.after:
        lines.append(f"The legume is sown {answer.after:+d} days from the corn; days are the corn's.")
    lines.append(
        "Not known here: "
        + "; ".join(answer.does_not_know())
        + ". Mind your insurer's deadline and ask your agronomist."
    )
    if answer.behind.sources():
        lines.append(answer.behind.sources())
    return lines
