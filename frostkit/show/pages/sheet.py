"""The field sheet: one printed page that goes into the tractor, in any language, from an answer of `chop` alone."""

from collections.abc import Iterable, Mapping
from datetime import date
from math import ceil, isfinite
from pathlib import Path
from typing import Any

import numpy as np

from frostkit.answers.answer import Amount, Answer, CropName, Day, Says
from frostkit.answers.cautions import Caution
from frostkit.errors import SettingError
from frostkit.show.look import svg
from frostkit.show.pages.page import file_name, made_line, rendered, typed, write
from frostkit.show.pictures.chop import headline, panels
from frostkit.show.render import fixed
from frostkit.show.render.text import next_says, site_says, station_name
from frostkit.show.render.words import Words
from frostkit.show.written import may_replace

ROWS, STEP = 9, 3  # rows of the table at most; days between them at least
NOTES = ("date", "milk", "moisture", "plants", "frost")
ODDS = ("too_wet", "in_range", "too_dry")


def field_sheet(
    answer: Answer,
    words: Words,
    *,
    name: str = "",
    lines: Iterable[str] = (),
    command: str = "frostkit chop",
    made: date | None = None,
) -> str:
    """The page as HTML, without anything from outside: today, the coming weeks, what to check, cautions, sources.

    Parameters
    ----------
    answer : of `chop`
    words : its language and units
    name : the field's; left out, the station's
    lines : sentences of your own, such as the field's place in the order of fields, shown under today's
    command : what was typed to make it
    made : the day written on it; today where it is left out
    """
    say, site = words.texts, answer.site
    assert site is not None
    station = station_name(site, words)
    head, under = headline(answer, words)
    rest = [words.say("chop", says) for says in answer.values["check"][1:]]
    frosted = any(caution.topic == "grazing" for caution in answer.cautions)  # the caution of frosted corn alone
    page = {
        "language": say.language,
        "title": say("sheet.title", name=name or station, season=answer.values["season"]),
        "invented": site.record.invented,
        "head": head,
        "under": under,
        "today": [*_today(answer, words), *lines],
        "cautions": [_caution(caution, words) for caution in answer.cautions],
        "picture": svg(panels(answer, words), f"{head}. {say('chop_picture.says')}"),
        "ahead": _ahead(answer, words),
        "stages": _stages(answer, words),
        "check": [next_says(answer, words), *rest, say("sheet.check_frosted" if frosted else "sheet.check_frost")],
        "notes": [say(f"sheet.note_{key}") for key in NOTES],
        "unknown": [words.value(term) for term in answer.values["does_not_know"]],
        "sources": _sources(answer, words),
        "made": made_line(say, made),
        "again": command,
    }
    return rendered("sheet.html", say, page)


def field_sheets(order: Answer, each: Mapping[str, Answer], words: Words, folder: str | Path, kind: str) -> list[Path]:
    """A sheet for each field, with its place in the order; the folder is made where it is not there.

    order : the answer of `fields`; each : of `chop`, by the field's name; kind : "html" or "pdf"
    """
    folder, taken = Path(folder), set[str]()
    paths = {name: folder / f"{file_name(name, taken)}.{kind}" for name in each}
    for path in paths.values():  # all of them are looked at before one is written
        may_replace(path, "field sheet")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise SettingError(f"The folder '{folder}' can't be made: {fault.strerror}.", "Choose another one.") from None
    command = typed()
    return [
        write(field_sheet(of, words, name=name, lines=[place_line(order, name, words)], command=command), paths[name])
        for name, of in each.items()
    ]


def place_line(order: Answer, name: str, words: Words) -> str:
    """Where one field stands in the order of fields, and when it is chopped."""
    plan = order.table("plan")
    row = list(plan.index.values).index(name)
    early, start, late = (plan[f"start.{odds}"].at(row) for odds in ("early", "usual", "late"))
    where = {"number": row + 1, "count": len(plan)}
    if not isfinite(start.column):
        return words.say("fields", Says("place_none", where))
    return words.say("fields", Says("place", {**where, "start": start, "early": early, "late": late}))


def _today(answer: Answer, words: Words) -> list[str]:
    """Every sentence on where the field stands, the verdict and the count that carries it apart; then frost."""
    said = [words.say("chop", says) for says in answer.sentences[1:] if not says.key.startswith("sample")]
    return [*said, frost] if (frost := _frost(answer, words)) else said


def _frost(answer: Answer, words: Words) -> str:
    """When a killing frost has come; empty where one has already, which is said elsewhere."""
    if answer.values["killed"]:
        return ""
    table = answer.table("odds")
    odds, days = np.asarray(table["killed"].values.share), np.asarray(table.index.values)
    kills = words.value(answer.values["kills_at"])
    one, half = (Day(float(days[(odds >= level).argmax()])) if odds[-1] >= level else None for level in (0.1, 0.5))
    if half is not None:
        return words.texts("sheet.frost", degrees=kills, one=words.value(one), half=words.value(half))
    if one is not None:
        return words.texts("sheet.frost_later", degrees=kills, one=words.value(one))
    return words.texts("sheet.frost_none", degrees=kills, last=words.value(Day(float(days[-1]))))


def _ahead(answer: Answer, words: Words) -> dict[str, Any]:
    """The coming weeks as a table of at most nine rows."""
    table, say, store = answer.table("odds"), words.texts, answer.values["store"]
    days = np.asarray(table.index.values)
    shown = int((days <= answer.settings["until"]).sum())
    rows = []
    for row in range(0, shown, max(STEP, ceil(shown / ROWS))):
        low, high = (float(table[f"moisture_band.{end}"].values[row]) for end in ("low", "high"))
        odds = [words.value(table[f"{name}.odds"].at(row)) for name in ODDS]
        cells = [say("say.percent", low=f"{low:.0f}", high=f"{high:.0f}"), *odds]
        cells.append(words.share(table["killed"].at(row), "percent"))
        inside = table.marked is not None and bool(table.marked[row])
        rows.append({"day": words.value(table.index.at(row)), "inside": inside, "cells": cells})
    note = say(
        "sheet.ahead_note",
        low=say.plain(store["low"]),
        high=say.plain(store["high"]),
        store=say(f"terms.store_{store['name']}"),
    )
    heads = [say("sheet.col_moisture"), *(say(f"chop_picture.{name}") for name in ODDS), say("sheet.col_frost")]
    return {"note": note, "heads": heads, "rows": rows}


def _stages(answer: Answer, words: Words) -> str:
    coming = [
        f"{words.value(one['stage'])} {words.value(one['day'])}"
        for one in answer.values["next_stages"]
        if isfinite(one["day"].column)
    ]
    return words.texts("sheet.stages", stages="; ".join(coming)) if coming else ""


def _caution(caution: Caution, words: Words) -> dict[str, str]:
    """A caution in this language and these units: title, what to do, the rest of it, and the source."""
    told = fixed.caution(caution, words)
    return {**told._asdict(), "more": told.text.removeprefix(told.act).strip()}


def _sources(answer: Answer, words: Words) -> list[str]:
    """The record, the corn's numbers and the store's, each with where it comes from."""
    site, corn, store = answer.site, answer.settings["corn"], answer.settings["store"]
    assert site is not None
    say, need = words.texts, corn.stage[corn.goal].need
    numbers = [need.source] + ([corn.moisture.source] if corn.moisture is not None else [])
    return [
        " ".join(site_says(site, answer.ensemble, words)),
        say(
            "sheet.corn_source",
            corn=words.value(CropName(corn.name, corn.title)),
            need=words.value(Amount(need.value, need.unit)),
            kills=words.value(answer.values["kills_at"]),
            source="; ".join(dict.fromkeys(numbers)),
        ),
        say("sheet.store_source", store=say(f"terms.store_{store.name}"), source=store.source),
    ]
