"""A notebook's controls: heading, picture and table of an answer move together with them."""

from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from html import escape
from inspect import signature
from typing import Any

import ipywidgets

from frostkit.answers.season.stages import SOONEST
from frostkit.answers.silage.chop import today_of
from frostkit.answers.silage.stores import stores
from frostkit.crops.entry import entries
from frostkit.ensemble.site import Site
from frostkit.errors import FrostkitError
from frostkit.public import Shown, _day as column_of, _how as how
from frostkit.seasons.calendar import code, from_code
from frostkit.show.texts import Texts, texts

Options = list[tuple[str, str | None]]  # of a slider: label and value
FITS = (
    "<style>.widget-html .frostkit svg {max-height: 34rem; width: auto !important; max-width: 100% !important}</style>"
)
"""Controls and the whole picture stand on one screen of 1366 x 768 (34 rem: 544 pixels)."""
_NONE = ""  # the step of a slider that stands for no day
WHOLE_LABEL = {"description_width": "initial"}  # a label is shown whole


def live(
    ask: Callable[..., Shown], *asked: Any, controls: Mapping[str, Any] | None = None, **fixed: Any
) -> ipywidgets.HBox:
    """An answer with controls beside it: whatever is moved, heading, picture and table follow.

    Parameters
    ----------
    ask : a public function, such as `frostkit.window`
    asked : what it takes first, such as the site
    controls : for each option that may be moved its values: a list of choices, or (first, last, step) for a slider,
        or a function that gives the list from `asked` and the options as they stand, anew when one is moved; left out,
        those that `CONTROLS` has for the question
    fixed : the options, as the function takes them; the controls start from these, or where the function does

    Returns
    -------
    an ipywidgets.HBox: the controls, and the answer

    Examples
    --------
    >>> import frostkit as fk
    >>> box = live(fk.window, fk.demo(), controls={"after": (-1, 2, 1)}, after=0)
    >>> box.children[1].value.count("<h3>")
    1
    """
    say = texts(how(fixed.get("language"), fixed.get("units"))[0])
    chosen = CONTROLS[ask.__name__](say) if controls is None else controls
    moving: dict[str, ipywidgets.Widget] = {}
    hanging = {name: values for name, values in chosen.items() if callable(values)}
    start = {name: of.default for name, of in signature(ask).parameters.items() if of.default is not of.empty} | fixed

    def now() -> dict[str, Any]:
        return start | {name: _value(control) for name, control in moving.items()}

    for name, values in chosen.items():
        found = values(*asked, now()) if name in hanging else values
        moving[name] = _control(_label(name, say), found, start.get(name))
    shown = ipywidgets.HTML()

    @lru_cache(maxsize=64)
    def drawn(*values: Any) -> str:
        options = fixed | dict(zip(moving, values, strict=True))
        try:
            return FITS + ask(*asked, **options)._repr_html_()
        except FrostkitError as fault:  # two lines, as the commands say it
            return f"<pre style='color:#8f2a1c'>{escape(str(fault))}</pre>"

    def follow(_change: object = None) -> None:
        for name, values in hanging.items():
            moving[name].unobserve(follow, names="value")  # one picture a move
            _offer(moving[name], values(*asked, now()))
            moving[name].observe(follow, names="value")
        shown.value = drawn(*map(_value, moving.values()))

    for control in moving.values():
        control.observe(follow, names="value")
    follow()
    for control in moving.values():
        control.layout.width = "auto"
    beside = ipywidgets.VBox(list(moving.values()), layout=ipywidgets.Layout(flex="0 0 18rem", width="18rem"))
    shown.layout = ipywidgets.Layout(flex="1 1 30rem", width="auto", min_width="0")
    return ipywidgets.HBox([beside, shown], layout=ipywidgets.Layout(flex_flow="row wrap"))


def _label(name: str, say: Texts) -> str:
    """An option in words; one of your own function by its name."""
    return say(f"controls.{name}") if say.has(f"controls.{name}") else name.replace("_", " ")


def _control(label: str, values: Any, value: Any) -> ipywidgets.Widget:
    if isinstance(values, tuple) and len(values) == 3:
        first, last, step = values
        kind = ipywidgets.IntSlider if isinstance(step, int) else ipywidgets.FloatSlider
        start = first if value is None else value
        return kind(description=label, value=start, min=first, max=last, step=step, style=WHOLE_LABEL)
    options = list(values)
    if options and isinstance(options[0], tuple):
        if value not in [given for _, given in options]:
            options.insert(0, ("–" if value is None else str(value), value))
        steps, stands = _steps(options), _step(value)
        return ipywidgets.SelectionSlider(description=label, options=steps, value=stands, style=WHOLE_LABEL)
    if value not in options:
        options.insert(0, value)
    return ipywidgets.Dropdown(description=label, options=options, value=value, style=WHOLE_LABEL)


def _steps(options: Options) -> list[tuple[str, str]]:
    """Choices as a slider holds them: to it None is nothing chosen, and it can't be moved there."""
    return [(label, _step(value)) for label, value in options]


def _step(value: Any) -> Any:
    """A value as a slider holds it."""
    return _NONE if value is None else value


def _value(control: ipywidgets.Widget) -> Any:
    """What a control stands on, as the question takes it."""
    return None if control.value == _NONE else control.value


def _offer(slider: ipywidgets.SelectionSlider, options: Options) -> None:
    """Give a slider other choices; it moves to the first where its own is not among them any more."""
    steps, value = _steps(options), slider.value
    if list(slider.options) != steps:
        slider.options = steps  # moves it to the first
        if value in [given for _, given in steps]:
            slider.value = value


def names(kind: str) -> list[str]:
    """Names of the library's entries of a kind, "corn" or "legume", and "none"."""
    return ["none", *(crop.name for crop in entries(kind))]


def days(say: Texts, first: str, last: str, none: str | None = "any_day") -> Options:
    """Days for a slider, as (label, "MM-DD"); `none` is the key of what no day is called, which then stands first.

    >>> days(texts("en"), "05-01", "05-02", none=None)
    [('1 May', '05-01'), ('2 May', '05-02')]
    """
    found: Iterable[int] = range(from_code(first), from_code(last) + 1)
    listed_days: Options = [(say.short(day), code(day)) for day in found]
    return listed_days if none is None else [(say(f"controls.{none}"), None), *listed_days]


def days_seen(say: Texts, first: str, last: str, before_today: int) -> Callable[..., Options]:
    """Days on which something was seen in the field: from its seeding on, and none that is still to come.

    before_today : days that it was seen before today, at the least
    """

    def found(site: Site, now: Mapping[str, Any]) -> Options:
        nothing: Options = [(say("controls.not_seen"), None)]
        try:
            seeding, (_, today, _) = column_of(now["seeding"]), today_of(site, now.get("today"))
        except FrostkitError:  # the answer says it
            return nothing
        if seeding is None:
            return nothing
        offered = range(max(from_code(first), seeding + SOONEST), min(from_code(last), today - before_today) + 1)
        return [*nothing, *((say.short(day), code(day)) for day in offered)]

    return found


def _stores() -> list[str]:
    return list(stores())


ODDS = (0.5, 0.95, 0.05)
CONTROLS: dict[str, Callable[[Texts], dict[str, Any]]] = {
    "window": lambda say: {
        "corn": names("corn"),
        "legume": names("legume"),
        "store": _stores(),
        "after": (-1, 14, 1),
        "odds": ODDS,
        "not_after": days(say, "05-01", "07-15"),
    },
    "late_legume": lambda say: {
        "legume": names("legume"),
        "seeding": days(say, "05-01", "06-15", None),
        "odds": ODDS,
    },
    "choose": lambda say: {"seeding": days(say, "05-01", "06-15", None), "store": _stores(), "odds": ODDS},
    "chop": lambda say: {"corn": names("corn"), "seeding": days(say, "05-01", "06-15", None), "store": _stores()},
    "fields": lambda _: {"rate": (0.5, 6.0, 0.5), "hours": (6.0, 16.0, 1.0), "machines": (1, 3, 1), "store": _stores()},
    "frost": lambda _: {"threshold": (-4.0, 1.0, 0.5)},
    "heat": lambda say: {"method": ["mean", "clamped", "sine", "chu"], "first": days(say, "04-15", "06-15", None)},
    "track_record": lambda _: {"event": ["first-fall-frost", "last-spring-frost", "seeding"]},
    "season": lambda say: {
        "corn": names("corn"),
        "legume": names("legume"),
        "seeding": days(say, "05-01", "06-15", "to_be_sown"),
        "emergence": days_seen(say, "05-10", "07-01", 0),
        "silking": days_seen(say, "07-01", "08-31", 1),
        "store": _stores(),
    },
    "tonight": lambda _: {"tmin": (-6.0, 4.0, 0.5), "scatter": (0.5, 4.0, 0.5), "sky": ["clear", "cloudy"]},
    "triage": lambda _: {"at": (-8.0, 1.0, 0.5), "hours": (0.5, 8.0, 0.5)},
}
"""Controls of each question, by the name of its public function."""
