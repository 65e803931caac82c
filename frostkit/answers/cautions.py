"""The cautions, read from `cautions.toml`: an answer that could hurt someone is not shown without its own."""

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import NamedTuple

from frostkit.errors import choose


class Caution(NamedTuple):
    """One caution: what it is about, what to heed, and where its figures come from.

    topic : its name in `cautions.toml`
    title : two or three words
    act : the one line that names what to do
    text : all of it; opens with `act`
    source : where its figures come from
    """

    topic: str
    title: str
    act: str
    text: str
    source: str


LANGUAGES = ("en", "fr")
NEEDED = {
    "seeding": ("insurance", "cold_soil", "residual", "herbicide", "seed", "local"),
    "late legume": ("herbicide", "residual", "insurance", "seed", "local"),
    "chopping": ("silo_gas", "nitrate", "adjuster", "pile", "store", "feed", "herbicide", "local"),
    "frosted": ("nitrate", "silo_gas", "adjuster", "grazing", "store", "feed", "herbicide", "local"),
    "frosted young": ("adjuster", "nitrate", "herbicide", "silo_gas", "local"),  # before V6 nobody fills a silo with it
    "frost": ("local",),
}
"""Topics by kind of answer, the most dangerous first. A test holds that every answer carries its own."""


@cache
def _all(language: str = "en") -> dict[str, Caution]:
    """Every caution by topic; English stands in the table of the topic, others in a table of their own below it."""
    choose("language", language, LANGUAGES)
    told = tomllib.loads((files("frostkit.answers") / "cautions.toml").read_text("utf-8"))
    found = {}
    for topic, entry in told.items():
        of = entry if language == "en" else entry[language]
        found[topic] = Caution(topic, of["title"], of["act"], f"{of['act']} {of['more']}", of["source"])
    return found


def every() -> tuple[Caution, ...]:
    """Every caution there is, whatever it goes with."""
    return tuple(_all().values())


def cautions_for(*topics: str) -> tuple[Caution, ...]:
    """Cautions by topic, such as "nitrate" or "silo_gas": a table of `cautions.toml`.

    Raises `SettingError` for a topic that has none.

    >>> [c.title for c in cautions_for("nitrate")]
    ['Nitrate']
    """
    return tuple(_all()[choose("topic", topic, _all())] for topic in topics)


def cautions_of(kind: str) -> tuple[Caution, ...]:
    """The cautions that a kind of answer must carry: a key of `NEEDED`.

    >>> [c.topic for c in cautions_of("late legume")]
    ['herbicide', 'residual', 'insurance', 'seed', 'local']
    """
    return cautions_for(*NEEDED[choose("kind of answer", kind, NEEDED)])


def in_language(caution: Caution, language: str) -> Caution:
    """The same caution in one of `LANGUAGES`. Raises `SettingError` for another.

    >>> in_language(cautions_for("seed")[0], "fr").title
    'Semence traitée'
    """
    return _all(language)[caution.topic]


def as_dicts(cautions: Iterable[Caution]) -> list[dict[str, str]]:
    """Cautions for programs."""
    return [caution._asdict() for caution in cautions]
