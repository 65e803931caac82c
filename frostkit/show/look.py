"""One house look for every picture: our colours, days on the axis in words, and a footer that says what it rests on.

The colours keep their order of lightness in grey and differ for the common kinds of colour blindness (checked by a
test on simulated sight); meaning never rests on colour alone: line style, hatch or marker says it too.
"""

import io
import re
from collections.abc import Iterable, Sequence
from html import escape
from pathlib import Path
from textwrap import wrap
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text
from matplotlib.textpath import text_to_path
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator
from numpy.typing import NDArray

from frostkit.seasons.calendar import column
from frostkit.show.printed import lines
from frostkit.show.texts import Texts
from frostkit.show.written import MAKER, written

INK = "#1d2b36"  # text, axes, the main line
QUIET = "#5b6872"  # second text: 5.8 to 1 on white
CORN = "#b9741c"  # ripe ear
LEGUME = "#256a5f"  # bean leaf
BOTH = "#1f3f59"  # the two together
WINDOW = "#f3e7c6"  # the days to seed
BAND = "#c4d2dc"  # an interval
MAYBE = "#dfe3e6"  # not known
FROST = "#3b6ea8"
GRID = "#dde2e6"

STYLE: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "text.color": INK,
    "axes.labelcolor": INK,
    "axes.edgecolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.grid.axis": "x",
    "grid.color": GRID,
    "grid.linewidth": 0.8,
    "axes.axisbelow": True,
    "legend.frameon": False,
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
    "svg.fonttype": "none",
    "svg.hashsalt": "frostkit",
    "hatch.linewidth": 0.6,
    "text.parse_math": False,  # a dollar in a name is a dollar
}


def look():
    """The house look as a context: `with look(): ...`."""
    return matplotlib.rc_context(STYLE)


def inches_wide(axes: Axes) -> float:
    """How wide a panel is, for what must fit into it."""
    figure = axes.get_figure(root=True)
    assert figure is not None
    return float(axes.get_position().width * figure.get_figwidth())


def day_axis(axes: Axes, first: int, last: int, say: Texts) -> Axes:
    """Days along the bottom: the 1st and 15th of each month; the 1st alone where both would stand too close."""
    of_month = (1, 15) if 15 * inches_wide(axes) / (last - first) >= 0.72 else (1,)
    places = sorted(column(month, day) for month in range(1, 13) for day in of_month)
    axes.set_xlim(first - 0.5, last + 0.5)
    axes.xaxis.set_major_locator(FixedLocator([place for place in places if first <= place <= last]))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda day, _: say.short(day)))
    return axes


def runs(on: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Days in a row: the row, the first place and the place after the last of each run.

    on : bool [row, place]

    >>> [part.tolist() for part in runs(np.array([[True, True, False, True]]))]
    [[0, 0], [0, 3], [2, 4]]
    """
    edges = np.diff(np.pad(on.astype(np.int8), ((0, 0), (1, 1))), axis=1)
    row, first = np.nonzero(edges == 1)
    return row, first, np.nonzero(edges == -1)[1]


def bars(axes: Axes, on: NDArray[np.bool_], heights: NDArray[np.int64], days: NDArray[np.int64], *,
         half: float = 0.36, **how: Any) -> None:  # fmt: skip
    """Runs of days as bars, a row each, in one stroke: a picture in a notebook must follow its controls.

    on : bool [row, day]; heights : int [row], where each row stands; days : int [day], columns in a row
    half : of a bar's height, in rows
    """
    row, first, after = runs(on)
    left, right = days[0] + first - 0.5, days[0] + after - 0.5
    low, high = heights[row] - half, heights[row] + half
    corners = np.stack([np.stack([left, left, right, right], 1), np.stack([low, high, high, low], 1)], axis=-1)
    axes.add_collection(PolyCollection(list(corners), **how), autolim=False)


def fitting(text: str, size: float, inches: float, weight: str = "normal") -> float:
    """The font size [points] at which a line fits a width: the one asked for, or as much smaller as it takes."""
    font = FontProperties(family=STYLE["font.family"], size=size, weight=weight)
    wide, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return size * min(1.0, 72 * inches / wide) if wide else size


TITLE = 15  # points
_SMALLEST = 12.5  # points, below which a title is set in two lines


def _title_lines(title: str, room: float) -> list[str]:
    """A title, in two lines where one would be too small to read."""
    if fitting(title, TITLE, room, "bold") >= _SMALLEST:
        return [title]
    middle = len(title) / 2
    breaks = [place for place, letter in enumerate(title) if letter == " "]
    if not breaks:
        return [title]
    at = min(breaks, key=lambda place: abs(place - middle))
    return [title[:at], title[at + 1 :]]


class Sheet:
    """A picture laid out in inches from the top: title, line under it, panels with a legend below each, the foot.

    title : (answer, the count that carries it), or None; heights : of the panels [inches]; foot : sentences;
    left : room for the labels of the first panel's rows; wide : of the sheet; under : below each panel, for its days
    and its legend [inches]
    """

    WIDE, LEFT, RIGHT = 9.6, 0.72, 0.22
    TITLE = 0.27  # of a second line of the title
    HEAD, UNDER, LINE = 0.80, 0.72, 0.155  # above the first panel; below each: its days and legend; a line of the foot

    def __init__(self, title: tuple[str, str] | None, heights: Sequence[float], foot: Iterable[str],
                 left: float = LEFT, wide: float = WIDE, under: float = UNDER):  # fmt: skip
        lines = [part for sentence in foot for part in wrap(sentence, 158)]
        room = 0.93 * wide  # a screen may draw letters a little wider than they are
        answer = _title_lines(title[0], room) if title else []
        head = self.HEAD + self.TITLE * (len(answer) - 1) if title else 0.12
        tall = head + sum(height + under for height in heights) + self.LINE * len(lines) + 0.14
        self.tall, self.figure = tall, Figure(figsize=(wide, tall))
        self.panels: list[Axes] = []
        top = tall - head
        for height in heights:
            place = (left / wide, (top - height) / tall, (wide - left - self.RIGHT) / wide, height / tall)
            self.panels.append(self.figure.add_axes(place))
            top -= height + under
        if title:
            size = min(fitting(line, TITLE, room, "bold") for line in answer)
            small = fitting(title[1], 10.5, room)
            set_ = "\n".join(answer)
            self.figure.text(0.012, 1 - 0.12 / tall, set_, fontsize=size, weight="bold", va="top", linespacing=1.25)
            under_it = 0.46 + self.TITLE * (len(answer) - 1)
            self.figure.text(0.012, 1 - under_it / tall, title[1], fontsize=small, color=QUIET, va="top")
        if lines:
            text = "\n".join(lines)
            self.figure.text(0.012, 0.08 / tall, text, fontsize=8, color=QUIET, va="bottom", linespacing=1.3)

    def legend(
        self, panel: int, handles: Sequence, words: Sequence[str], per_row: int = 6, below: float = 0.26
    ) -> None:
        """A legend in the band under a panel, `below` inches under its edge, clear of lines and bars."""
        box = self.panels[panel].get_position()
        self.figure.legend(
            handles,
            words,
            loc="upper left",
            bbox_to_anchor=(min(box.x0, 0.075) - 0.012, box.y0 - below / self.tall),
            ncols=min(len(words), per_row),
            fontsize=8.5,
            handlelength=2.2,
            columnspacing=1.3,
            borderaxespad=0,
        )


ABOUT: dict[str, dict[str, Any]] = {
    "png": {"Software": MAKER},
    "svg": {"Creator": MAKER, "Date": None},  # without a date: the same picture, the same file
    "pdf": {"Creator": MAKER, "CreationDate": None},  # as its last line says too
}
"""What a picture's file says of itself: by it `written` knows a picture of ours again."""


def save(figure: Figure, path: str | Path, dpi: int = 150) -> Path:
    """Write a picture (.png, .svg, .pdf), whole or not at all. Raises `SettingError` as `written` does."""

    def write(place: Path, kind: str) -> None:
        with look():
            figure.savefig(place, format=kind, dpi=dpi, metadata=ABOUT[kind])

    _filter(figure)
    return written(path, tuple(ABOUT), "picture", write)


def _filter(figure: Figure) -> None:
    """Take characters that are not seen out of every text of a picture but its ticks, whose names come plain."""
    texts: list[Text] = [*figure.texts]
    for axes in figure.axes:  # one by one: looking into every object would make each tick once more
        texts += [*axes.texts, axes.title, axes.xaxis.label, axes.yaxis.label]
    for legend in [*figure.legends, *(axes.get_legend() for axes in figure.axes)]:
        texts += legend.get_texts() if legend else []
    for text in texts:
        if text.get_text() != (seen := lines(text.get_text())):
            text.set_text(seen)


_GROUP_NAMES = re.compile(r'<g id="[^"]*"')
_ABOUT = re.compile(r"<metadata>.*?</metadata>\s*", re.DOTALL)


def svg(figure: Figure, alt: str = "") -> str:
    """A picture as SVG text that scales with the page and says what it shows to those who can't see it."""
    _filter(figure)
    kept = io.StringIO()
    with look(), matplotlib.rc_context({"svg.hashsalt": f"frostkit {figure.get_size_inches()}"}):
        figure.savefig(kept, format="svg", metadata={"Date": None})
    drawn = kept.getvalue()
    drawn = drawn[drawn.index("<svg") :]
    drawn = _GROUP_NAMES.sub("<g", _ABOUT.sub("", drawn))  # two pictures on a page must not share names
    wide, tall = (round(inches * 72) for inches in figure.get_size_inches())
    label = escape(alt or figure.texts[0].get_text().replace("\n", " "), quote=True)
    head = f'<svg role="img" aria-label="{label}" viewBox="0 0 {wide} {tall}" style="max-width:{wide}pt;width:100%" '
    start = drawn.index(">")
    spaces = " ".join(part for part in drawn[4:start].split() if part.startswith("xmlns"))
    return head + spaces + drawn[start:]


def says(figure: Figure) -> str:
    """What a picture says, as text: titles, labels, legends, ticks and drawn numbers. Tests read this, not pixels."""
    said = [text.get_text() for text in figure.texts]
    if said:
        said[0] = said[0].replace("\n", " ")  # a long title stands in two lines
    for legend in figure.legends:
        said.append("legend: " + ", ".join(text.get_text() for text in legend.get_texts()))
    for axes in figure.axes:
        said += [axes.get_title(), axes.get_xlabel(), axes.get_ylabel()]
        said.append("ticks: " + ", ".join(label.get_text() for label in axes.get_xticklabels() if label.get_text()))
        said += [text.get_text() for text in axes.texts]
        for line in axes.get_lines():
            name = str(line.get_label())
            if not name.startswith("_"):
                x, y = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
                said.append(f"{name}: " + " ".join(f"{a:.6g},{b:.6g}" for a, b in zip(x, y, strict=True)))
    return "\n".join(part for part in said if part)
