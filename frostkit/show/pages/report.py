"""The page a grower takes home: verdict, picture, counts, cautions by their act, then the tables and the sources."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from html import escape
from typing import Any

import numpy as np

from frostkit.answers.answer import Answer
from frostkit.answers.cautions import Caution
from frostkit.crops.entry import Crop
from frostkit.show.look import Sheet, svg
from frostkit.show.pages import since
from frostkit.show.pages.page import made_line, rendered
from frostkit.show.pages.since import Kept
from frostkit.show.pictures.window import panels
from frostkit.show.render import fixed
from frostkit.show.render.crop import crop_line, crop_sources
from frostkit.show.render.html import table_html
from frostkit.show.render.text import next_says, site_says, station_name
from frostkit.show.render.words import Words

SECTION = 6  # sentences of a section at most: with its tables the page is two sheets
ROWS = 6  # seeding days on the page of one sheet
TOLD = ("heat",)  # what the sentences say whole
PHONE = 4.4  # inches: a picture of its own for a telephone, whose letters stay large enough to be read


def report(
    answers: Sequence[Answer],
    crops: Sequence[Crop],
    words: Words,
    *,
    whole: bool = False,
    before: Kept | None = None,
    command: str = "frostkit report",
    made: date | None = None,
) -> str:
    """The page as HTML, without anything from outside: pictures inline, no script, ready to print on one sheet.

    Parameters
    ----------
    answers : the first, of `window`, is the page's verdict and has its picture; each of the others is a section
    crops : entries whose numbers stand behind them
    words : language and units
    whole : with every table, sentence and caution in full, on two sheets
    before : what the last page of the same field held (`since.read`): what moved since is said
    command : what makes the page again; made : the day written on it, today where left out
    """
    first, *others = answers
    site = first.site
    assert site is not None
    station = station_name(site, words)
    lead = first.sentences[: first.lead]
    rest = [says for says in first.sentences[first.lead :] if whole or says.key == "track_record"]
    now = since.kept(answers, made or date.today())
    moved = since.moved(before, now, words)
    page: dict[str, Any] = {
        "language": words.texts.language,
        "whole": whole,
        "kept": now.with_before(before).as_text(),
        "since": {"title": since.title(before, now, words), "lines": moved},
        "title": words.texts(_title([crop.kind for crop in crops]), place=station),
        "invented": site.record.invented,
        "verdict": words.say(first.question, first.headline),
        "picture": pictures(first, words),
        "lead": [words.say(first.question, says) for says in lead],
        "next": next_says(first, words),
        "cautions": cautions(answers, words),
        "tables": tables(first if whole else _shortened(first), words),
        "rest": [words.say(first.question, says) for says in rest],
        "seasons": table_html(first.question, first.table("seasons"), words, every_row=True),
        "sections": [section(answer, words, whole) for answer in others],
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


def section(answer: Answer, words: Words, whole: bool) -> dict[str, Any]:
    """One answer as a section: its verdict as heading, what carries it, the first table that people read."""
    return {
        "head": words.say(answer.question, answer.headline),
        "lines": [words.say(answer.question, says) for says in answer.sentences[: SECTION if whole else 1]],
        "tables": tables(answer, words)[:1] if whole and answer.question not in TOLD else [],
    }


def _shortened(answer: Answer) -> Answer:
    """An answer with the marked rows of its first table alone, at most so many, first and last among them."""
    table = answer.tables[0]
    marked = np.arange(len(table)) if table.brief is None else np.asarray(table.brief)
    if table.marked is not None and (inside := marked[np.asarray(table.marked)[marked]]).size:
        marked = inside
    few = np.unique(np.linspace(0, len(marked) - 1, min(ROWS, len(marked))).round().astype(int))
    return replace(answer, tables=(replace(table, brief=marked[few]),))


def tables(answer: Answer, words: Words) -> list[str]:
    """The tables that people read, as HTML."""
    found = (table_html(answer.question, table, words) for table in answer.tables)
    label = escape(words.say(answer.question, answer.headline))  # two answers of a question are told apart by it
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
