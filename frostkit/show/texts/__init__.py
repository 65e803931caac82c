"""What people read, in one place for translation: `en.toml`, and other languages with the same keys."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any

from frostkit.errors import choose
from frostkit.seasons.calendar import month_day

LANGUAGES = ("en", "fr")
UNITS = ("metric", "us", "acres", "fahrenheit")
"""Systems of units: °C with kg/ha, °F with lb/ac (and miles, inches), °C with lb/ac, °F with kg/ha."""


class Texts:
    """The sentences, days and numbers of one language.

    >>> say = texts("en")
    >>> say("say.from_to", first=say.day(120), last=say.day(137)), say.number(2150)
    ('from 1 May to 18 May', '2,150')
    """

    def __init__(self, language: str, entries: Mapping[str, Any]):
        self.language, self.entries, self.marks = language, entries, entries["marks"]

    def __call__(self, key: str, **values: object) -> str:
        """The sentence of a key such as "window.title", with its {names} filled in."""
        room, _, name = key.partition(".")
        return self.entries[room][name].format(**values)

    def has(self, key: str) -> bool:
        """Whether there is such a sentence."""
        room, _, name = key.partition(".")
        return name in self.entries.get(room, {})

    def day(self, day: float, names: str = "months") -> str:
        """A column as people say it in this language; "never" for a day that did not come, NaN is "not known"."""
        if day != day:
            return self("say.not_known")
        if not isfinite(day):
            return self("say.never")
        month, of_month = month_day(int(day))
        number = self.marks["first"] if of_month == 1 else str(of_month)
        return self.marks["day"].format(day=number, month=self.marks[names][month - 1])

    def short(self, day: float) -> str:
        """A column as a label on an axis."""
        return self.day(day, "short")

    def number(self, value: float, digits: int = 0) -> str:
        """A number with the marks of this language."""
        plain = f"{value:,.{digits}f}"
        swap = {",": self.marks["thousands"], ".": self.marks["decimal"], "-": "-"}
        return "".join(swap.get(mark, mark) for mark in plain)

    def plain(self, value: float) -> str:
        """A number with as many digits as it has, up to two."""
        text = f"{value:.2f}".rstrip("0").rstrip(".")
        return self.number(value, len(text.partition(".")[2]))

    def days(self, first: float, last: float) -> str:
        """ "from 9 May to 27 May", or "on 9 May"."""
        return self("say.on" if first == last else "say.from_to", first=self.day(first), last=self.day(last))


@cache
def texts(language: str = "en") -> Texts:
    """The texts of a language. Raises `SettingError` for one that has none."""
    name = choose("language", language, LANGUAGES)
    return Texts(name, tomllib.loads((files("frostkit.show.texts") / f"{name}.toml").read_text("utf-8")))
