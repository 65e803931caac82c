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
    day_axis,
    footed,
    look,
    short,
    titled,
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
        if end.reason in ENDS:
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


def seeding_window(answer: SeedingAnswer, figure: Figure | None = None) -> Figure:
    """The seeding window as one picture: the answer, the odds by day, each season's own window, what it rests on."""
    seasons = answer.seasons.size
    bars = min(max(0.085 * seasons, 2.4), 9.0)
    tall = 3.3 + bars + 2.35
    with look():
        figure = figure or Figure(figsize=(9.6, tall))
        figure.set_size_inches(9.6, tall)
        top, bottom = 1 - 0.78 / tall, 1.72 / tall
        grid = figure.add_gridspec(
            2,
            1,
            height_ratios=(3.3, bars),
            hspace=0.42 / (bars / 2 + 1.65),
            left=0.075,
            right=0.975,
            top=top,
            bottom=bottom,
        )
        above = odds_curve(answer, figure.add_subplot(grid[0]))
        season_bars(answer, figure.add_subplot(grid[1]))
        titled(figure, *_headline(answer))
        _legends(figure, answer, above, tall)
        footed(figure, _foot(answer))
    return figure


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


def _legends(figure: Figure, answer: SeedingAnswer, above: Axes, tall: float) -> None:
    """Legends stand in bands of their own, clear of lines and bars."""
    handles, labels = above.get_legend_handles_labels()
    top = [*reversed(handles), Patch(color=BAND), Patch(color=WINDOW)]
    names = [*reversed(labels), f"90 % interval of {labels[-1]}", "the window"]
    place = above.get_position()
    figure.legend(
        top,
        names,
        loc="upper left",
        bbox_to_anchor=(place.x0 - 0.01, place.y0 - 0.24 / tall),
        ncols=len(names),
        fontsize=8.5,
        handlelength=2.4,
        columnspacing=1.4,
    )
    whose = {end.whose for end in answer.ended if end.reason}
    below = [
        Line2D([], [], color=INK, marker=marker, markerfacecolor="lightgrey", linestyle="none", markersize=5)
        for marker, _ in ENDS.values()
    ]
    words = [text for _, text in ENDS.values()]
    for name in ("corn", "legume", "both"):
        if name in whose and answer.subject == "both":
            below.append(
                Line2D([], [], color=INK, marker="s", markerfacecolor=FILLS[name], linestyle="none", markersize=5)
            )
            words.append({"corn": "to the corn", "legume": "to the legume", "both": "to both"}[name])
    grid = answer.works[answer.subject]
    if not grid.complete.all():
        below.append(Patch(facecolor=MAYBE, edgecolor=QUIET, hatch="////", linewidth=0))
        words.append("may have worked: missing days")
    if (grid.complete & ~grid.possible.any(1)).any():
        below.append(Line2D([], [], color=INK, marker="x", linestyle="none"))
        words.append("no day worked")
    figure.legend(
        below,
        words,
        loc="lower left",
        bbox_to_anchor=(place.x0 - 0.01, 1.1 / tall),
        ncols=len(words),
        fontsize=8.5,
        handlelength=1.6,
        columnspacing=1.2,
        title="What ended a season's window:",
        title_fontsize=8.5,
        alignment="left",
    )


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
