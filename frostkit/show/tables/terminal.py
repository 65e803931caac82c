"""What every table in the terminal shares: its width, sentences as lines, the record behind it, the cautions."""

from collections.abc import Iterable
from math import isfinite
from textwrap import wrap

from frostkit.answers.cautions import Caution
from frostkit.answers.station import Behind
from frostkit.seasons.calendar import words
from frostkit.show import phrases
from frostkit.show.texts import texts

WIDTH = 100
SAY = texts("en")  # the terminal speaks English


def filled(text: str, first: str = "", then: str = "  ") -> list[str]:
    """A sentence as lines of the terminal's width."""
    return wrap(text, WIDTH, initial_indent=first, subsequent_indent=then)


def cautions_text(cautions: Iterable[Caution]) -> list[str]:
    """Cautions as indented lines, each with its source."""
    lines = []
    for caution in cautions:
        source = "" if caution.source.startswith("common practice") else f" [{caution.source}]"
        lines += filled(f"{caution.title}: {caution.text}{source}", "  ! ", "    ")
    return lines


def behind_text(behind: Behind) -> list[str]:
    """The record's sentence and source, and that a place is invented where it is."""
    lines = (phrases.record_line(SAY, behind), phrases.source_line(SAY, behind))
    return [part for line in lines if line for part in filled(line)]


def dates_words(first: float, last: float, absent: str) -> str:
    """One season's date: a day, "between ... and ...", open where it may not have come, or what absence means."""
    if first == last:
        return words(first) if isfinite(first) else absent
    if not isfinite(last):
        return f"{words(first)} or later, perhaps never"
    if not isfinite(first):
        return f"{words(last)} or earlier, perhaps none"
    return f"{words(first)} to {words(last)}"
