"""The pictures: one module a question, `draw(answer, words)`; they draw what the answer says and decide nothing."""

from importlib import import_module
from typing import Any

from frostkit.answers.answer import Answer
from frostkit.errors import SettingError
from frostkit.show.render.words import Words

DRAWN = (
    "book",
    "choose",
    "chop",
    "fields",
    "frost",
    "heat",
    "late-legume",
    "logger",
    "record",
    "region",
    "rows",
    "season",
    "tonight",
    "track-record",
    "triage",
    "window",
    "winter",
    "workdays",
    "worth",
)
"""Questions whose answer has a picture, in a module of that name."""


def has(question: str) -> bool:
    """Whether there is a picture of answers to this question."""
    return question in DRAWN


def draw(answer: Answer, words: Words) -> Any:
    """The picture of an answer, a matplotlib figure. Raises `SettingError` where there is none."""
    if not has(answer.question):
        raise SettingError(f"There is no picture of '{answer.question}'.", f"These have one: {', '.join(DRAWN)}.")
    return import_module(f"frostkit.show.pictures.{answer.question.replace('-', '_')}").draw(answer, words)


def inline(answer: Answer, words: Words) -> str:
    """The answer's picture as SVG, to stand within a page; empty for an answer without one."""
    if not has(answer.question):
        return ""
    return str(import_module("frostkit.show.look").svg(draw(answer, words)))  # matplotlib: only where one is drawn
