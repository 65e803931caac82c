"""One page of an answer through the season: the winter's plan, where a field stands. For the wall and the tractor."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from frostkit.answers.answer import Answer, Says
from frostkit.crops.entry import Crop
from frostkit.show.pages.page import made_line, rendered
from frostkit.show.pages.report import cautions
from frostkit.show.pictures import inline
from frostkit.show.render.crop import crop_line, crop_sources
from frostkit.show.render.html import table_html
from frostkit.show.render.text import next_says, site_says, station_name
from frostkit.show.render.words import Words


def page(
    answer: Answer,
    words: Words,
    crops: Iterable[Crop] = (),
    *,
    place: str = "",
    command: str = "frostkit",
    made: date | None = None,
) -> str:
    """The page as HTML, without anything from outside, ready to print on one sheet.

    Parameters
    ----------
    answer : of `season` or `winter`; crops : entries whose numbers stand behind it
    place : what the page is for; left out, the station
    command : what makes the page again; made : the day written on it, today where left out
    """
    site = answer.site
    assert site is not None
    room = f"{answer.question}_page"
    name = place or station_name(site, words)
    tasks = [says for says in answer.sentences if _is_task(says)]
    told = [words.say(answer.question, says) for says in answer.sentences if not _is_task(says)]
    content: dict[str, Any] = {
        "language": words.texts.language,
        "title": words.texts(f"{room}.title", place=name),
        "invented": site.record.invented,
        "verdict": words.say(answer.question, answer.headline),
        "lead": told[: answer.lead],
        "next": next_says(answer, words),
        "rest": told[answer.lead :],
        "check_title": words.texts(f"{room}.check"),
        "check": [words.say(answer.question, says) for says in tasks],
        "picture": inline(answer, words),
        "cautions": cautions([answer], words),
        "tables": [
            {"name": table.key, "html": html}
            for table in answer.tables
            if (html := table_html(answer.question, table, words))
        ],
        "record": site_says(site, answer.ensemble, words),
        "sources": [line for crop in crops for line in (crop_line(crop, words), crop_sources(crop, words))],
        "made": made_line(words.texts, made),
        "again": command,
    }
    return rendered("season.html", words.texts, content)


def _is_task(says: Says) -> bool:
    """Whether a sentence is something to do, which goes into the list that is ticked off."""
    return says.key == "then" or says.key.startswith("label_")
