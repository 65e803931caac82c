"""The page a grower takes home: verdict, picture, counts, cautions by their act, then the tables and the sources."""

from collections.abc import Iterable, Sequence
from datetime import date
from html import escape
from typing import Any

from frostkit.answers.answer import Answer
from frostkit.answers.cautions import Caution
from frostkit.crops.entry import Crop
from frostkit.show.look import Sheet, svg
from frostkit.show.pages.page import made_line, rendered
from frostkit.show.pictures.window import panels
from frostkit.show.render import fixed
from frostkit.show.render.crop import crop_line, crop_sources
from frostkit.show.render.html import table_html
from frostkit.show.render.text import next_says, site_says, station_name
from frostkit.show.render.words import Words

LEAD = 4  # sentences under the verdict; the others stand with the tables
SECTION = 6  # sentences of a section at most: on paper it is two sheets
TOLD = ("heat",)  # what the sentences say whole
PHONE = 4.4  # inches: a picture of its own for a telephone, whose letters stay large enough to be read


def report(
    answers: Sequence[Answer],
    crops: Sequence[Crop],
    words: Words,
    *,
    command: str = "frostkit report",
    made: date | None = None,
) -> str:
    """The page as HTML, without anything from outside: pictures inline, no script, ready to print.

    Parameters
    ----------
    answers : the first, of `window`, is the page's verdict and has its picture; each of the others is a section
    crops : entries whose numbers stand behind them
    words : language and units
    command : what makes the page again; made : the day written on it, today where left out
    """
    first, *others = answers
    site = first.site
    assert site is not None
    station = station_name(site, words)
    lead, rest = first.sentences[:LEAD], first.sentences[LEAD:]
    page: dict[str, Any] = {
        "language": words.texts.language,
        "title": words.texts(_title([crop.kind for crop in crops]), place=station),
        "invented": site.record.invented,
        "verdict": words.say(first.question, first.headline),
        "picture": pictures(first, words),
        "lead": [words.say(first.question, says) for says in lead],
        "next": next_says(first, words),
        "cautions": cautions(answers, words),
        "tables": tables(first, words),
        "rest": [words.say(first.question, says) for says in rest],
        "sections": [section(answer, words) for answer in others],
        "record": site_says(site, first.ensemble, words),
        "sources": [line for crop in crops for line in (crop_line(crop, words), crop_sources(crop, words))],
        "made": made_line(words.texts, made),
        "again": command,
    }
    return rendered("report.html", words.texts, page)


def _title(kinds: Sequence[str]) -> str:
    """The key of the page's title: what is seeded."""
    return f"report.title_{kinds[0]}" if len(kinds) == 1 else "report.title"


def pictures(window: Answer, words: Words) -> dict[str, str]:
    """The window's picture as SVG, for paper and screen and for a telephone."""
    said = words.say(window.question, window.headline)
    return {name: svg(panels(window, words, wide), said) for name, wide in (("broad", Sheet.WIDE), ("narrow", PHONE))}


def section(answer: Answer, words: Words) -> dict[str, Any]:
    """One answer as a section: its verdict as heading, what carries it, the first table that people read."""
    return {
        "head": words.say(answer.question, answer.headline),
        "lines": [words.say(answer.question, says) for says in answer.sentences[:SECTION]],
        "tables": [] if answer.question in TOLD else tables(answer, words)[:1],
    }


def tables(answer: Answer, words: Words) -> list[str]:
    """The tables that people read, as HTML."""
    found = (table_html(answer.question, table, words) for table in answer.tables)
    label = escape(answer.question)
    return [f'<div class="wide" tabindex="0" role="region" aria-label="{label}">{one}</div>' for one in found if one]


def cautions(answers: Iterable[Answer], words: Words) -> list[dict[str, str]]:
    """The cautions of all answers, each once: title, act, the rest of its text, source."""
    seen: dict[str, Caution] = {}
    for answer in answers:
        for caution in answer.cautions:
            seen.setdefault(caution.topic, fixed.caution(caution, words))
    return [
        {
            "topic": topic,
            "title": own.title,
            "act": own.act,
            "more": own.text.removeprefix(own.act).strip(),
            "source": own.source,
        }
        for topic, own in seen.items()
    ]
