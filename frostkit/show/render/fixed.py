"""Cautions in the reader's language and units."""

import re

from frostkit.answers.cautions import Caution, in_language
from frostkit.show.render.words import Words
from frostkit.show.texts import Texts


def caution(of: Caution, words: Words) -> Caution:
    """A caution in this language, its temperatures in these units; a source that is practice is said so.

    >>> from frostkit.answers.cautions import cautions_for
    >>> from frostkit.show.render.words import words
    >>> "50 °F" in caution(cautions_for("cold_soil")[0], words(units="us")).text
    True
    """
    told = in_language(of, words.texts.language)
    told = told._replace(source=told.source.replace("common practice, no source", words.texts("say.practice")))
    if not words.fahrenheit:
        return told
    return Caution(**{name: in_fahrenheit(part, words.texts) for name, part in told._asdict().items()})


def is_practice(source: str, words: Words) -> bool:
    """Whether a source is common practice, which needs no brackets behind a sentence."""
    return source.startswith(words.texts("say.practice"))


def in_fahrenheit(text: str, say: Texts) -> str:
    """A fixed sentence with every temperature in °F, whole degrees as sources in °F give them.

    >>> from frostkit.show.texts import texts
    >>> in_fahrenheit("under 10 °C, or 7.2 °C", texts()), in_fahrenheit("sous -2,2 °C", texts("fr"))
    ('under 50 °F, or 45 °F', 'sous 28 °F')
    """

    def put(found: re.Match[str]) -> str:
        return f"{say.plain(round(float(found[1].replace(',', '.')) * 1.8 + 32))} °F"

    return re.sub(r"(-?\d+(?:[.,]\d+)?) °C", put, text)
