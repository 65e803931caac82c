"""The field sheet: one printed page that goes into the tractor, in any of the languages."""

from collections.abc import Iterable
from datetime import date
from math import ceil, isfinite
from typing import Any

from frostkit.answers.chopping import ChoppingAnswer
from frostkit.answers.drying import Seen
from frostkit.odds.estimate import FEWEST
from frostkit.show import phrases
from frostkit.show.look import svg
from frostkit.show.page import made_line, rendered
from frostkit.show.pictures.chop import best_line, chopping_panels, headline, seen_line, until
from frostkit.show.pictures.frost import day_at
from frostkit.show.texts import Texts, texts

ROWS, STEP = 9, 3  # rows of the table at most; days between them at least
NOTES = ("date", "milk", "moisture", "plants", "frost")
ODDS = ("too_wet", "in_range", "too_dry", "killed")


def field_sheet(answer: ChoppingAnswer, language: str = "en", *, name: str = "", lines: Iterable[str] = (),
                fahrenheit: bool = False, command: str = "frostkit chop", made: date | None = None) -> str:  # fmt: skip
    """The page as HTML, without anything from outside: today, the coming weeks, what to check, cautions, sources.

    Parameters
    ----------
    answer : ChoppingAnswer
    language : one of `texts.LANGUAGES`
    name : the field's; left out, the station's
    lines : sentences of your own, such as the field's place in the order of fields, shown under today's
    fahrenheit : the killing temperature in °F
    command : what was typed to make it
    made : the day written on it; today where it is left out
    """
    say = texts(language)
    head, under = headline(say, answer)
    page = {
        "language": language,
        "title": say("sheet.title", name=name or phrases.station_name(say, answer.behind), season=answer.season),
        "invented": answer.behind.invented,
        "head": head,
        "under": under if best_line(say, answer) else "",
        "today": [*_today(say, answer, fahrenheit), *lines],
        "cautions": [phrases.caution(say, caution, fahrenheit) for caution in answer.cautions],
        "picture": svg(chopping_panels(answer, language), f"{head}. {say('sheet.picture')}"),
        "ahead": _ahead(say, answer),
        "stages": _stages(say, answer),
        "check": _check(say, answer),
        "notes": [say(f"sheet.note_{key}") for key in NOTES],
        "unknown": [say(f"sheet.unknown_{key}") for key in ("calibration", "field", "low")],
        "sources": _sources(say, answer, fahrenheit),
        "made": made_line(say, made),
        "again": command,
    }
    return rendered("sheet.html", say, page)


def stage_title(say: Texts, answer: ChoppingAnswer, title: str) -> str:
    """A stage as the answer names it, in this language."""
    crop = answer.hybrid.crop
    for name, stage in crop.stage.items():
        if stage.title == title:
            return phrases.stage_title(say, crop, name)
    early = {"sown, not yet emerged": "not_up", "before silking": "before_silking"}
    return say(f"chop.{early[title]}") if title in early else title


def _today(say: Texts, answer: ChoppingAnswer, fahrenheit: bool) -> list[str]:
    middle, spread = answer.moisture_now
    lines = [say("sheet.stage", day=say.day(answer.today), stage=stage_title(say, answer, answer.stage),
                 moisture=f"{middle:.0f}", spread=f"{spread:.0f}")]  # fmt: skip
    if answer.usual is not None:
        unit = answer.hybrid.clock.per_unit
        low, usual, high = (say.number(amount / unit) for amount in answer.usual)
        lines.append(say("sheet.heat", gathered=say.number(sum(answer.gathered) / 2 / unit), usual=usual, low=low,
                         unit=say(f"units.{answer.hybrid.clock.unit}"), high=high, more=answer.warmer_seasons,
                         count=answer.of_seasons))  # fmt: skip
    lines += [_seen(say, one, left) for one, _, left in answer.standing.moved]
    if answer.legume_share:
        share = say.plain(100 * answer.legume_share)
        lines.append(say("sheet.legume", legume=say("crops.legume"), share=share))
    frost = _frost(say, answer, fahrenheit)
    return [*lines, frost] if frost else lines


def _seen(say: Texts, one: Seen, left: float) -> str:
    value = one.value * (100 if one.kind == "milk line" else 1)
    return say(f"sheet.seen_{one.kind.replace(' ', '_')}", day=say.day(one.day), value=say.plain(value),
               left=say.number(left, 1))  # fmt: skip


def _frost(say: Texts, answer: ChoppingAnswer, fahrenheit: bool) -> str:
    if answer.killed:
        return say("sheet.killed")
    odds = answer.odds["killed"].odds
    if not isfinite(odds[0]):
        return ""
    one, half = (day_at(odds, answer.days, level) for level in (0.1, 0.5))
    degrees = phrases.degrees(say, answer.hybrid.kills_at, fahrenheit)
    if isfinite(half):
        return say("sheet.frost", degrees=degrees, one=say.day(one), half=say.day(half))
    if isfinite(one):
        return say("sheet.frost_later", degrees=degrees, one=say.day(one))
    return say("sheet.frost_none", degrees=degrees, last=say.day(answer.days[-1]))


def _ahead(say: Texts, answer: ChoppingAnswer) -> dict[str, Any]:
    store, last = answer.store, until(answer) - answer.today
    step = max(STEP, ceil((last + 1) / ROWS))
    rows = []
    for index in range(0, min(last + 1, answer.days.size), step):
        day = int(answer.days[index])
        low, high = answer.moisture_band[:, index]
        moisture = say("say.percent", low=f"{low:.0f}", high=f"{high:.0f}") if isfinite(low) else ""
        inside = answer.best is not None and answer.best[0] <= day <= answer.best[1]
        cells = [moisture, *(phrases.day_odds(say, answer.odds[name], index) for name in ODDS)]
        rows.append({"day": say.day(day), "inside": inside, "cells": cells})
    note = say("sheet.ahead_note", low=say.plain(store.low), high=say.plain(store.high),
               store=phrases.store_title(say, store))  # fmt: skip
    if not isfinite(answer.fit_from.all[0]) and not isfinite(answer.moisture[0]):
        note += f" {say('sheet.few', fewest=FEWEST)}"
    return {
        "note": note,
        "heads": [say("sheet.col_moisture"), *(say(f"chop.{name}") for name in ODDS[:-1]), say("sheet.col_frost")],
        "rows": rows,
    }


def _stages(say: Texts, answer: ChoppingAnswer) -> str:
    coming = [f"{stage_title(say, answer, title)} {say.day(day)}" for title, day in answer.next_stages if isfinite(day)]
    return say("sheet.stages", stages="; ".join(coming)) if coming else ""


def _check(say: Texts, answer: ChoppingAnswer) -> list[str]:
    sample, first = answer.fit_from.all[0] - 3, say("sheet.check_today")
    if isfinite(sample) and sample > answer.today:
        first = say("sheet.check_first", day=say.day(sample))
    frosted = any(caution.topic == "grazing" for caution in answer.cautions)  # the caution of frosted corn alone
    return [
        first,
        say("sheet.check_milk", down=say.plain(100 - answer.store.start_testing_at_milk)),
        say("sheet.check_sample"),
        say("sheet.check_frosted" if frosted else "sheet.check_frost"),
    ]


def _sources(say: Texts, answer: ChoppingAnswer, fahrenheit: bool) -> list[str]:
    store, crop = answer.store, answer.hybrid.crop
    numbers = [crop.stage[crop.goal].need.source] + ([crop.moisture.source] if crop.moisture is not None else [])
    lines = [
        " ".join(
            (phrases.record_line(say, answer.behind, fahrenheit), phrases.source_line(say, answer.behind))
        ).strip(),
        seen_line(say, answer),
        f"{phrases.crop_line(say, crop, fahrenheit)} [{'; '.join(dict.fromkeys(numbers))}]",
        say("sheet.store_source", store=phrases.store_title(say, store), source=store.source),
    ]
    return [phrases.source(say, line) for line in lines if line]
