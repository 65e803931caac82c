"""A triage answer as tests read it: its details part by part with their sources, and all that it says in English."""

from types import SimpleNamespace

from frostkit.answers.silage.triage import Frost, triage
from frostkit.show.render.machine import as_dict
from frostkit.show.render.words import words


def details(answer):
    """Rows of its details, with the rows of their sources as `by`."""
    return [
        SimpleNamespace(**{**row, "by": [SimpleNamespace(**one) for one in row["by"]]})
        for row in as_dict(answer)["details"]
    ]


def one(answer, part, place="open"):
    return next(row for row in details(answer) if row.part == part and row.place == place)


def verdicts(tmin, hours, stage="dent", bean=None):
    return triage(Frost(tmin, hours=hours), stage, bean_stage=bean).values["verdicts"]


def lines(answer, language="en"):
    """Every sentence of the answer."""
    say = words(language)
    return [
        say.say("triage", says)
        for says in (answer.headline, *([] if answer.next is None else [answer.next]), *answer.sentences)
    ]


def said(answer, language="en"):
    return " ".join(lines(answer, language))
