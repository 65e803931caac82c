"""A region as a map: the last sowing day of each place, and beside it how wide the odds' interval is there."""

from typing import Any

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MaxNLocator
from numpy.typing import NDArray

from frostkit.answers.answer import Answer, Odds
from frostkit.errors import SettingError
from frostkit.region import outlines
from frostkit.show.look import BOTH, INK, QUIET, fitting, look
from frostkit.show.render.words import Words

WIDE, TALL = 11.0, 5.2  # inches
EARLY_TO_LATE = LinearSegmentedColormap.from_list("days", ["#f6e3b4", "#cf9a4d", "#7f8f7f", "#2f6f7a", BOTH])
NARROW_TO_WIDE = LinearSegmentedColormap.from_list("spread", ["#eef2f5", "#9fb4c4", "#4d6b84", INK])
FINE = 12.0  # degrees across below which the finer outlines are drawn
Floats = NDArray[np.float64]


def draw(answer: Answer, words: Words, titled: bool = True) -> Figure:
    """The last sowing day of every place on a map, and the spread of its odds on another.

    titled : with the answer's headline over it; a page has it already

    Raises `SettingError` where no place has a position.
    """
    of: xr.Dataset = answer.settings["dataset"]
    latitude, longitude = (of[name].to_numpy() for name in ("latitude", "longitude"))
    placed = np.isfinite(latitude) & np.isfinite(longitude)
    if not placed.any():
        raise SettingError("None of the places says where it lies.", "Give positions: see the help of frostkit region.")
    subject = answer.headline.values["subject"]
    with look():
        figure = Figure(figsize=(WIDE, TALL))
        tall = 0.6 if titled else 0.7
        left, right = figure.add_axes((0.055, 0.2, 0.405, tall)), figure.add_axes((0.555, 0.2, 0.405, tall))
        last = of["window_to"].to_numpy().astype(float)
        no_window = ~np.isfinite(last) & (of["counted"].to_numpy() > 0)
        unknown = of["counted"].to_numpy() == 0
        _map(left, of, last, EARLY_TO_LATE, lambda day: words.texts.short(round(day)), True)
        _map(right, of, spread(of, answer), NARROW_TO_WIDE, lambda value: f"{value:.0f}", False)
        drawn = []
        for axes in (left, right):
            _marks(axes, longitude, latitude, no_window & placed, unknown & placed)
            drawn.append(_ground(axes, longitude[placed], latitude[placed], words))
        left.set_title(words.texts("region_map.title", subject=words.value(subject)), fontsize=10.5)
        right.set_title(words.texts("region_map.spread"), fontsize=10.5)
        title = words.say("region", answer.headline) if titled else ""
        figure.text(0.012, 0.955, title, fontsize=fitting(title, 15, 0.96 * WIDE, "bold"), weight="bold", va="top")
        _legend(figure, words, answer.values["odds_wanted"], bool(no_window.any()), bool(unknown.any()), 0.3 + tall)
        figure.text(0.012, 0.02, "\n".join(_foot(answer, of, words, any(drawn))), fontsize=8, color=QUIET, va="bottom")
    return figure


def spots(figure: Figure, of: xr.Dataset) -> Floats:
    """Where each place lies on the map of a figure that `draw` made: parts of its width, and of its height from the
    top; NaN where it says no position. [place, 2]"""
    at = np.column_stack([of["longitude"].to_numpy(), of["latitude"].to_numpy()]).astype(float)
    part = figure.transFigure.inverted().transform(figure.axes[0].transData.transform(at))
    return np.column_stack([part[:, 0], 1 - part[:, 1]])


def spread(of: xr.Dataset, answer: Answer) -> Floats:
    """Width of the interval on the last sowing day of each place [percent points]; NaN without a window. [place]"""
    subject = answer.headline.values["subject"].key.removeprefix("subject_")
    own = np.where(of["legume"] == "", "corn", np.where(of["corn"] == "", "legume", subject))
    crop = np.array([list(of["crop"].to_numpy()).index(name) for name in own.tolist()])
    last = of["window_to"].to_numpy()
    there = np.isfinite(last)
    day = np.where(there, last - of["seeding"].to_numpy()[0], 0).astype(int)
    place = np.arange(len(last))
    wide = of["high"].to_numpy()[place, crop, day] - of["low"].to_numpy()[place, crop, day]
    return np.where(there, 100.0 * wide, np.nan)


def _map(axes: Axes, of: xr.Dataset, values: Floats, colours: Any, label: Any, lines: bool) -> None:
    """Filled cells of a grid with contours, or points, with a bar of the colours below."""
    known = np.isfinite(values)
    cells = _cells(of)
    figure = axes.get_figure(root=True)
    assert figure is not None
    if not known.any():
        return
    low, high = float(values[known].min()), float(values[known].max())
    limits: dict[str, Any] = {"vmin": low - 0.5, "vmax": high + 0.5}
    if cells is not None:
        east, north, shape = cells
        field = np.ma.masked_invalid(values.reshape(shape))
        drawn: Any = axes.pcolormesh(east, north, field, cmap=colours, shading="nearest", zorder=1, **limits)
        if lines and min(shape) > 3 and high - low > 2:
            contours = axes.contour(east, north, field, levels=MaxNLocator(5, integer=True).tick_values(low, high),
                                 colors=INK, linewidths=0.5, zorder=2)  # fmt: skip
            axes.clabel(contours, fmt=label, fontsize=7)
    else:
        at = known & np.isfinite(of["longitude"].to_numpy())
        size = float(np.clip(2600 / max(at.sum(), 1), 9, 46))
        drawn = axes.scatter(of["longitude"].to_numpy()[at], of["latitude"].to_numpy()[at], c=values[at], cmap=colours,
                             s=size, edgecolors=INK, linewidths=0.4, zorder=4, **limits)  # fmt: skip
    box = axes.get_position()
    bar = figure.add_axes((box.x0, box.y0 - 0.075, box.width, 0.018))
    scale = figure.colorbar(drawn, cax=bar, orientation="horizontal")
    ticks = MaxNLocator(5, integer=True).tick_values(low, high)
    scale.set_ticks([tick for tick in ticks if low - 0.5 <= tick <= high + 0.5])
    scale.ax.set_xticklabels([label(tick) for tick in scale.get_ticks()], fontsize=8)
    scale.outline.set_linewidth(0.4)


def _cells(of: xr.Dataset) -> tuple[Floats, Floats, tuple[int, int]] | None:
    """East and north of a grid's columns and rows and its shape; None where places are no regular grid."""
    shape = tuple(int(size) for _, size in of.attrs.get("shape", ()))
    if len(shape) != 2 or min(shape) < 2:
        return None
    east = of["longitude"].to_numpy().reshape(shape)
    north = of["latitude"].to_numpy().reshape(shape)
    if np.allclose(east, east[:1]) and np.allclose(north, north[:, :1]):
        return east[0], north[:, 0], (shape[0], shape[1])
    return None


def _marks(axes: Axes, east: Floats, north: Floats, no_window: Any, unknown: Any) -> None:
    """Places without a window hollow, places without an answer crossed out: never a colour of the scale."""
    axes.scatter(
        east[no_window], north[no_window], s=14, facecolors="white", edgecolors=QUIET, linewidths=0.7, zorder=5
    )
    axes.scatter(east[unknown], north[unknown], s=16, c=QUIET, marker="x", linewidths=0.9, zorder=5)


def _ground(axes: Axes, east: Floats, north: Floats, words: Words) -> bool:
    """Outlines behind, a frame around the places, degrees along the edges; whether there are outlines."""
    middle = float(np.mean([north.min(), north.max()]))
    squeeze = max(float(np.cos(np.radians(middle))), 0.2)
    tall = max(float(np.ptp(north)) * 1.16, 0.6)
    wide = max(float(np.ptp(east)) * 1.12, 0.6 / squeeze)
    box = axes.get_position()
    ratio = (box.width * WIDE) / (box.height * TALL)
    if wide * squeeze / tall < ratio:
        wide = tall * ratio / squeeze
    else:
        tall = wide * squeeze / ratio
    centre = float(np.mean([east.min(), east.max()]))
    edges = centre - wide / 2, centre + wide / 2, middle - tall / 2, middle + tall / 2
    there = False
    for layer, width in (("states", 0.5), ("gshhs", 0.5), ("countries", 0.8)):
        found = outlines.lines(*edges, layer=layer, fine=wide < FINE)
        there = there or bool(found)
        axes.add_collection(LineCollection(found, colors=QUIET, linewidths=width, zorder=3), autolim=False)
    axes.set_xlim(edges[0], edges[1])
    axes.set_ylim(edges[2], edges[3])
    axes.set_facecolor("#fbfbf9")
    axes.grid(True, axis="both", linewidth=0.4)
    axes.xaxis.set_major_formatter(FuncFormatter(lambda at, _: _degrees(at, "east", "west", words)))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda at, _: _degrees(at, "north", "south", words)))
    axes.tick_params(labelsize=8)
    return there


def _degrees(at: float, plus: str, minus: str, words: Words) -> str:
    return words.texts(f"region_map.{plus if at >= 0 else minus}", degrees=words.texts.plain(abs(at)))


def _legend(figure: Figure, words: Words, odds: float, no_window: bool, unknown: bool, top: float) -> None:
    handles: list[Any] = []
    said = []
    if no_window:
        handles.append(Line2D([], [], marker="o", color=QUIET, markerfacecolor="white", linestyle="none", markersize=5))
        said.append(words.texts("region_map.no_window", odds=words.value(Odds(odds))))
    if unknown:
        handles.append(Line2D([], [], marker="x", color=QUIET, linestyle="none", markersize=5))
        said.append(words.texts("region_map.not_known"))
    if handles:
        figure.legend(handles, said, loc="upper right", bbox_to_anchor=(0.975, top), ncols=2, fontsize=8.5)


def _foot(answer: Answer, of: xr.Dataset, words: Words, drawn: bool) -> list[str]:
    """What the map rests on."""
    counted = of["counted"].to_numpy()
    half = int(np.median(counted[counted > 0])) if (counted > 0).any() else 0
    climate = answer.values["climate"]
    if climate["moved"] == "today":
        said = words.texts("region_map.today", season=climate["for_season"])
    else:
        said = words.texts("region_map.as_read")
    out = [words.texts("region_map.rests", places=int(counted.size), counted=half, climate=said)]
    return [*out, words.texts("region_map.outlines")] if drawn else out
