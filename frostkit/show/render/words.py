"""Typed values as people read them, in one language and one set of units."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from string import Formatter
from typing import Any

import numpy as np

from frostkit.answers.answer import Amount, CropName, Day, Named, Odds, Part, Says, StageName, Term
from frostkit.errors import choose
from frostkit.odds.share import Share
from frostkit.records.record import Repair
from frostkit.show.printed import NAME, plain
from frostkit.show.texts import UNITS, Texts, texts

# From units of data to units of people: factor, shift, unit; exact by definition but where said.
_DEGREES = {
    "degC": (1.8, 32.0, "degF"),
    "degC more": (1.8, 0.0, "degF more"),
    "degC day": (1.8, 0.0, "degF day"),
}
_ACRES = {
    "kg/ha": (0.892179, 0.0, "lb/ac"),  # 2.20462 lb a kg, 2.47105 acres a hectare
    "kg N/ha": (0.892179, 0.0, "lb N/ac"),
    "days/ha": (0.404686, 0.0, "days/ac"),
    "money/ha": (0.404686, 0.0, "money/ac"),
    "kg": (2.204623, 0.0, "lb"),
    "t/ha": (0.446090, 0.0, "ton/ac"),  # short tons
    "ha": (2.47105, 0.0, "ac"),
    "t": (1.102311, 0.0, "ton"),
}
_LENGTHS = {"mm": (1 / 25.4, 0.0, "in"), "km": (0.621371, 0.0, "mi"), "m": (3.28084, 0.0, "ft")}
CONVERTED: dict[str, dict[str, tuple[float, float, str]]] = {
    "metric": {},
    "us": {**_DEGREES, **_ACRES, **_LENGTHS},
    "acres": _ACRES,
    "fahrenheit": _DEGREES,
}
"""What each of `texts.UNITS` makes of a unit; one that is not in it stays as it is."""

_RATED = re.compile(r"(silage|grain) corn rated ([\d,]+) CHU")


_OPENING = re.compile(r"\{(\w+)[^}]*\}.*\.$", re.DOTALL)
"""A whole sentence that opens with a value, by its name."""


@dataclass(frozen=True)
class Words:
    """One language with one system of units.

    texts : the language's file; units : one of `texts.UNITS`
    """

    texts: Texts
    units: str = "metric"

    @property
    def fahrenheit(self) -> bool:
        """Whether temperatures are said in °F."""
        return "degC" in CONVERTED[self.units]

    def say(self, question: str, says: Says) -> str:
        """A sentence of an answer; one that opens with a word of ours opens with a capital, a name stays as it is."""
        template = self.texts.entries[question][says.key]
        said = _Filled(self).vformat(template, (), says.values)
        opens = _OPENING.match(template)
        if opens is None or isinstance(says.values[opens[1]], str):
            return said
        return said[:1].upper() + said[1:]

    def has(self, question: str, key: str) -> bool:
        """Whether the language has such a sentence."""
        return key in self.texts.entries.get(question, {})

    def title(self, question: str, column: str) -> str:
        """What stands over a column: of this question's table, or common to all."""
        for room in (f"{question}_columns", "columns"):
            found = self.texts.entries.get(room, {})
            for key in (column, column.rpartition(".")[2]):  # "both.ready": its own title, or that of "ready"
                if key in found:
                    return found[key]
        return column.replace("_", " ").replace(".", " ")

    def value(self, value: Any, how: str = "") -> str:
        """A typed value as it stands in a sentence or a cell; `how` as after the colon of a {name}."""
        if value is None:
            return self.texts("say.none")
        match value:
            case Day(column):
                return self.texts.day(column, how or "months")
            case Share():
                return self.share(value, how)
            case Amount(number, unit, digits):
                return self.amount(number, unit, digits, how)
            case Odds(share):
                return self.texts("say.tenths", tenths=self.texts.plain(10 * share))
            case Part(of_one):
                return self.texts("say.not_known") if of_one != of_one else f"{100 * of_one:.0f} %"
            case StageName(_, title):
                return self.texts.entries.get("stages", {}).get(title) or plain(title, NAME)
            case Term(key):
                return self.texts(f"terms.{key}")
            case CropName(name, title):
                return self.crop(name, title)
            case Named(_, says):
                return self.say("say", says)
            case Says():
                return self.say("say", value)
            case bool():
                return self.texts("say.yes" if value else "say.no")
            case str():
                return plain(value)
            case Repair():
                return repaired(value, self.texts)
            case np.datetime64():
                return self.date(value)
            case tuple() | list():
                return self.listed([self.value(one, how) for one in value])
        number = float(value)
        if not isfinite(number):
            return self.texts("say.never" if number == number else "say.not_known")
        return self.texts.number(number, int(how)) if how.isdigit() else self.texts.plain(number)

    def crop(self, name: str, title: str) -> str:
        """A crop by its title; those of the library, and of corn of any rating, in this language."""
        if self.texts.has(f"titles.{name}"):
            return self.texts(f"titles.{name}")
        rated = _RATED.fullmatch(title)
        if rated is not None:
            return self.texts(f"rated.{rated[1]}", rating=self.texts.number(float(rated[2].replace(",", ""))))
        return plain(title, NAME)

    def share(self, share: Share, how: str = "") -> str:
        """ "44 of 55 seasons (69 to 89 %)"; how: "count", "seasons", "interval", "percent"."""
        say = self.texts
        if not share.seasons:
            return say("say.not_known")
        count, of = int(share.count), int(share.seasons)
        match how:
            case "count":
                return say("say.of", yes=count, total=of)
            case "seasons":
                return say("say.of_seasons", yes=count, total=of)
            case "interval":
                return self._interval(share)
            case "percent":
                return f"{100 * float(share.share):.0f} %"
        return f"{say('say.of_seasons', yes=count, total=of)} ({self._interval(share)})"

    def _interval(self, share: Share) -> str:
        low, high = f"{100 * float(share.low):.0f}", f"{100 * float(share.high):.0f}"
        return self.texts("say.percent", low=low, high=high)

    def amount(self, number: float, unit: str, digits: int = 0, how: str = "") -> str:
        """A number with its unit, in this system; how: "plain" leaves the unit out."""
        if not isfinite(number):
            return self.texts("say.never" if number == number else "say.not_known")
        factor, shift, unit = CONVERTED[self.units].get(unit, (1.0, 0.0, unit))
        turned = number * factor + shift
        if digits < 0:
            turned, digits = float(f"{turned:.{-digits}g}"), 0
        if unit == "in":
            digits += 1
        elif unit == "ton/ac":  # 12 t/ha is 5.4 of them
            digits = max(digits, 1)
        said = self.texts.number(turned, digits)
        return said if how == "plain" else f"{said} {self.unit(unit)}"

    def unit(self, unit: str) -> str:
        """A unit as people write it."""
        return self.texts(f"units.{unit}") if self.texts.has(f"units.{unit}") else unit

    def date(self, date: np.datetime64) -> str:
        """A calendar date."""
        year, month, day = str(date.astype("datetime64[D]")).split("-")
        marks = self.texts.marks
        number = marks["first"] if int(day) == 1 else str(int(day))
        return marks["date"].format(day=number, month=marks["months"][int(month) - 1], year=year)

    def listed(self, parts: list[str]) -> str:
        """ "a, b and c"."""
        if len(parts) < 2:
            return "".join(parts)
        return self.texts("say.and", first=", ".join(parts[:-1]), last=parts[-1])

    def cell(self, kind: str, cell: Any) -> str:
        """One cell of a table."""
        if cell is None:
            return ""
        match kind:
            case "share":
                return f"{self.share(cell, 'count')} ({self._interval(cell)})" if cell.seasons else self.value(cell)
            case "dates":
                first, last = cell
                if first.column == last.column:
                    return self.value(first)
                return self.texts("say.to", first=self.value(first), last=self.value(last))
            case "range":
                least, most = cell
                if least == most:
                    return self.value(least)
                return self.texts("say.to", first=self.value(least), last=self.value(most))
            case "amount":
                return self.amount(cell.value, cell.unit, cell.digits, "plain")
            case "season":
                return str(cell)
        return self.value(cell)


def words(language: str = "en", units: str = "metric") -> Words:
    """The words of a language and a system of units. Raises `SettingError` for one that is not there."""
    return Words(texts(language), choose("units", units, UNITS))


class _Filled(Formatter):
    """Fills {name:how} with typed values; {first.made:count} is not needed and not known."""

    def __init__(self, of: Words):
        self.of = of

    def get_value(self, key: Any, args: Any, kwargs: Mapping[str, Any]) -> Any:
        return kwargs[key]

    def format_field(self, value: Any, format_spec: str) -> str:
        return self.of.value(value, format_spec)


def repaired(repair: Repair, say: Texts) -> str:
    """What was repaired of a record, how often and where first, in this language."""
    what = _told(repair.what, say)
    if not repair.first:
        return say("say.repair", what=what, count=repair.count)
    return say("say.repair_first", what=what, count=repair.count, first=_told(repair.first, say))


def _told(text: str, say: Texts) -> str:
    """The translation whose English fits, with its {names} filled in; the text itself where none does."""
    for english, sentence in say.entries.get("repairs", {}).items():
        pattern = re.sub(r"\\{(\w+)\\}", r"(?P<\1>.+)", re.escape(english))
        if found := re.fullmatch(pattern, text):
            return str(sentence).format(**found.groupdict())
    return plain(text)
