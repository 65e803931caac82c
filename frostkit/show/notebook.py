"""What notebooks show: an answer as sentences, pictures as SVG, tables, cautions; and controls that pictures follow."""

from collections.abc import Callable, Iterable, Mapping
from html import escape

import ipywidgets
import pandas as pd
from IPython.display import HTML
from matplotlib.figure import Figure

from frostkit.answers.cautions import Caution
from frostkit.answers.seeding import SeedingAnswer, seeding
from frostkit.answers.station import Behind
from frostkit.crops.entry import listed, load
from frostkit.seasons.calendar import code, from_code
from frostkit.show import phrases
from frostkit.show.commands.options import open_behind
from frostkit.show.look import svg
from frostkit.show.pictures.seeding import seeding_window
from frostkit.show.texts import texts

SAY = texts("en")


def place(record: str | None = None, input_units: str | None = None) -> Behind:
    """A record folded into seasons: a file, a folder or a kept station; the invented place where none is named."""
    return open_behind(record, input_units)


def picture(figure: Figure, alt: str = "") -> HTML:
    """A picture for the end of a cell."""
    return HTML(svg(figure, alt))


def sentences(lines: Iterable[str]) -> HTML:
    """The answer: the first line large, the rest below it."""
    first, *rest = lines
    below = "".join(f"<p style='margin:.2em 0'>{escape(line)}</p>" for line in rest if line)
    return HTML(f"<p style='font-size:1.35em;font-weight:600;margin:.2em 0'>{escape(first)}</p>{below}")


def window_sentences(answer: SeedingAnswer) -> HTML:
    """The seeding window in words."""
    title, under = phrases.headline(SAY, answer)
    return sentences([f"{title}.", f"{under}.", phrases.ends(SAY, answer), phrases.record_line(SAY, answer.behind)])


def window_table(answer: SeedingAnswer, every: int = 5) -> pd.DataFrame:
    """Odds by seeding day: seasons that worked out of complete ones, with the interval of the answer's subject."""
    subject = answer.odds[answer.subject]
    rows = range(0, answer.days.size, every)
    columns: dict[str, list] = {
        name: [phrases.count(SAY, share, row) for row in rows] for name, share in answer.odds.items()
    }
    columns["90 % interval"] = [phrases.percent(SAY, subject, row) for row in rows]
    columns["not known"] = [int(subject.not_known[row]) for row in rows]
    return pd.DataFrame(columns, index=pd.Index([SAY.day(answer.days[row]) for row in rows], name="seeding"))


def caution_list(cautions: Iterable[Caution]) -> HTML:
    """Cautions, each with its source."""
    rows = "".join(
        f"<li><b>{escape(caution.title)}.</b> {escape(caution.text)} <small>[{escape(caution.source)}]</small></li>"
        for caution in cautions
    )
    return HTML(f"<div style='border-left:4px solid #9c2f1f;padding:.2em 1em'><b>Cautions</b><ul>{rows}</ul></div>")


def followed(controls: Mapping[str, ipywidgets.Widget], draw: Callable[..., str]) -> ipywidgets.VBox:
    """Controls in a row, and below them what `draw` makes of their values: HTML that follows every change.

    controls : by the name of the argument of `draw` that each sets
    """
    shown = ipywidgets.HTML()

    def follow(_change: object = None) -> None:
        try:
            shown.value = draw(**{name: control.value for name, control in controls.items()})
        except ValueError as fault:  # two lines, as the commands say it
            shown.value = f"<pre style='color:#9c2f1f'>{escape(str(fault))}</pre>"

    for control in controls.values():
        control.observe(follow, names="value")
    follow()
    row = ipywidgets.HBox(list(controls.values()), layout=ipywidgets.Layout(flex_flow="row wrap"))
    return ipywidgets.VBox([row, shown])


def choice(label: str, options: Iterable[str], value: str) -> ipywidgets.Dropdown:
    """A drop-down list; a value that is not in it (a file of your own) is added."""
    names = list(options)
    return ipywidgets.Dropdown(description=label, options=names if value in names else [value, *names], value=value)


def slider(label: str, value: float, low: float, high: float, step: float) -> ipywidgets.Widget:
    """A slider for whole numbers or fractions, that follows while it is dragged."""
    kind = ipywidgets.IntSlider if isinstance(step, int) else ipywidgets.FloatSlider
    return kind(description=label, value=value, min=low, max=high, step=step)


def days(label: str, value: str | None, first: str = "04-15", last: str = "07-15") -> ipywidgets.SelectionSlider:
    """A slider over days; "any" stands first where no day is set."""
    run = [code(day) for day in range(from_code(first), from_code(last) + 1)]
    options = [(SAY.short(from_code(day)), day) for day in run if day]
    return ipywidgets.SelectionSlider(description=label, options=[("any", ""), *options], value=value or "")


def window_controls(at: Behind, corn: str = "silage-2300", legume: str = "forage-late", odds: float = 0.8,
                    after: int = 0, not_after: str | None = None) -> ipywidgets.VBox:  # fmt: skip
    """The seeding window with its controls: crops, days after the corn, odds wanted, your own last day."""
    names = listed()
    controls = {
        "corn": choice("corn", ["none", *(name for name in names if load(name).kind == "corn")], corn),
        "legume": choice("legume", ["none", *(name for name in names if load(name).kind == "legume")], legume),
        "after": slider("days after", after, -1, 14, 1),
        "odds": slider("odds wanted", odds, 0.5, 0.95, 0.05),
        "not_after": days("your last day", not_after),
    }

    def draw(corn: str, legume: str, after: int, odds: float, not_after: str) -> str:
        crops = [None if name == "none" else load(name) for name in (corn, legume)]
        last = from_code(not_after) if not_after else None
        return svg(seeding_window(seeding(at, *crops, odds=round(odds, 2), after=after, not_after=last)))

    return followed(controls, draw)
