"""The cautions, read from `cautions.toml`: an answer that could hurt someone is not shown without its own."""

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import NamedTuple

from frostkit.errors import choose


class Caution(NamedTuple):
    """One caution: what it is about, what to heed, and where its figures come from."""

    topic: str
    title: str
    text: str
    source: str


NEEDED = {
    "seeding": ("insurance", "cold_soil", "herbicide", "local"),
    "late legume": ("herbicide", "insurance", "local"),
    "chopping": ("silo_gas", "nitrate", "herbicide", "local"),
    "frosted": ("nitrate", "silo_gas", "grazing", "herbicide", "local"),
    "frost": ("local",),
}
"""Topics by kind of answer, the most dangerous first. A test holds that every answer carries its own."""


@cache
def _all() -> dict[str, Caution]:
    text = (files("frostkit.answers") / "cautions.toml").read_text("utf-8")
    return {topic: Caution(topic, **entry) for topic, entry in tomllib.loads(text).items()}


def cautions_for(*topics: str) -> tuple[Caution, ...]:
    """Cautions by topic ("nitrate", "silo_gas", "herbicide", "insurance", "cold_soil", "grazing", "local").

    Raises `SettingError` for a topic that has none.

    >>> [c.title for c in cautions_for("nitrate")]
    ['Nitrate']
    """
    return tuple(_all()[choose("topic", topic, _all())] for topic in topics)


def cautions_of(kind: str) -> tuple[Caution, ...]:
    """The cautions that a kind of answer must carry: a key of `NEEDED`.

    >>> [c.topic for c in cautions_of("late legume")]
    ['herbicide', 'insurance', 'local']
    """
    return cautions_for(*NEEDED[choose("kind of answer", kind, NEEDED)])


def as_dicts(cautions: Iterable[Caution]) -> list[dict[str, str]]:
    """Cautions for programs."""
    return [caution._asdict() for caution in cautions]
