"""A region on one page: its map, on which a place is looked into by a click, and its places, found by name."""

import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from frostkit.answers.answer import Answer
from frostkit.errors import SettingError
from frostkit.show.look import svg
from frostkit.show.pages.page import made_line, rendered
from frostkit.show.pages.report import cautions
from frostkit.show.pictures.region import draw, spots
from frostkit.show.printed import plain
from frostkit.show.render.text import column_head, next_says
from frostkit.show.render.words import Words

MOST = 2000  # places on a page: with more it opens slowly on a telephone


def page(
    answer: Answer,
    words: Words,
    *,
    pages: Mapping[str, Path] | None = None,
    beside: str | Path = ".",
    command: str = "frostkit region",
    made: date | None = None,
) -> str:
    """The page as HTML, without anything from outside.

    Parameters
    ----------
    answer : of `region`; words : language and units
    pages : the places' own pages by name, for links; beside : the folder that the page goes into
    command : what makes the page again; made : the day written on it, today where left out

    Raises `SettingError` for more places than a page can hold.
    """
    table = answer.tables[0]
    if len(table) > MOST:
        raise SettingError(
            f"{len(table):,} places are too many for a page; it holds {MOST:,}.",
            "Leave --page out: --out has every place, --picture the map.",
        )
    told = [words.say(answer.question, says) for says in answer.sentences if says.key != "invented"]
    names = [str(name) for name in table.index.values]
    links = {name: os.path.relpath(path, beside) for name, path in (pages or {}).items()}
    columns = [column for column in table.columns if column.shown]
    rows: list[dict[str, Any]] = [
        {
            "name": name,
            "link": Path(links[name]).as_posix() if name in links else "",
            "marked": table.marked is not None and bool(table.marked[row]),
            "cells": [words.cell(column.kind, column.at(row)) for column in columns],
        }
        for row, name in enumerate(names)
    ]
    last = next(number for number, column in enumerate(columns) if column.key == "window_to")
    content: dict[str, Any] = {
        "language": words.texts.language,
        "title": words.texts("region_page.title"),
        "invented": any(says.key == "invented" for says in answer.sentences),
        "verdict": words.say(answer.question, answer.headline),
        "map": _map(answer, words, [f"{row['name']}: {row['cells'][last]}" for row in rows]),
        "lead": told[: answer.lead],
        "next": next_says(answer, words),
        "rest": told[answer.lead :],
        "cautions": cautions([answer], words),
        "heads": [plain(column_head(answer.question, column, words)) for column in columns],
        "index": words.title(answer.question, table.index.key),
        "rows": rows,
        "note": words.texts("region_tables.places_note"),
        "sources": [],
        "made": made_line(words.texts, made),
        "again": command,
    }
    return rendered("places.html", words.texts, content)


def _map(answer: Answer, words: Words, said: list[str]) -> dict[str, Any] | None:
    """The picture, and a link over each place on it; None where no place says where it lies."""
    of = answer.settings["dataset"]
    if not np.isfinite(of["latitude"].to_numpy()).any():
        return None
    figure = draw(answer, words, titled=False)
    wide = round(figure.get_size_inches()[0] * 72)
    return {
        "picture": svg(figure, words.say(answer.question, answer.headline)),
        "wide": wide,
        "spots": [
            {"number": number, "left": round(100 * left, 2), "top": round(100 * top, 2), "said": said[number]}
            for number, (left, top) in enumerate(spots(figure, of))
            if np.isfinite(left) and np.isfinite(top)
        ],
    }
