"""An answer in one look: at most 30 lines of 80 columns, the verdict first and every caution's act in it."""

import numpy as np

from frostkit.answers.answer import Answer, Column, Says, Table
from frostkit.answers.cautions import Caution
from frostkit.answers.offset import offset_says
from frostkit.odds.share import Share
from frostkit.show.printed import NAME, plain
from frostkit.show.render import fixed
from frostkit.show.render.text import WIDTH, checks_say, filled, next_says, note_says, table_lines
from frostkit.show.render.words import Words

LINES = 30
BLOCKS = " ▁▂▃▄▅▆▇█"
FIRST = ("silo_gas",)  # topics that stand above all but the verdict: they kill within minutes
_LEAST_DAYS = 8  # rows of a table, below which a line of blocks says less than the counts do
_MOST_LINES_DRAWN = 2


def as_brief(answer: Answer, words: Words, blocks: bool = True) -> str:
    """The verdict, what carries it, what to do next, the act of every caution, and where the rest is.

    What must stand stands; sentences, then odds drawn in blocks or the first table fill the lines that are left.
    blocks : whether the terminal has the characters that odds are drawn with
    """
    say = words.texts
    verdict = filled(words.say(answer.question, answer.headline))
    acts = [(caution, act_lines(caution, words)) for caution in answer.cautions]
    first = [line for caution, lines in acts if caution.topic in FIRST for line in lines]
    after = [line for caution, lines in acts if caution.topic not in FIRST for line in lines]
    to_do = filled(next_says(answer, words))
    behind = behind_lines(answer, words)
    more = filled(say("say.more"))
    asked = [line for says in answer.always for line in said_lines(answer, says, words)]
    room = LINES - sum(map(len, [verdict, first, asked, to_do, after, behind, more]))
    carried: list[str] = []
    for says in answer.sentences[: answer.lead]:
        lines = [] if says in answer.always else said_lines(answer, says, words)
        if len(lines) > room:
            break
        carried += lines
        room -= len(lines)
    drawn = drawn_lines(answer, words) if blocks else []
    table = [] if drawn or not answer.tables else table_lines(answer.question, answer.tables[0], words)
    drawn = ["", *drawn] if drawn and len(drawn) < room else []
    table = ["", *table, ""] if table and len(table) + 2 <= room and max(map(len, table)) <= WIDTH else []
    return "\n".join([*verdict, *first, *drawn, *carried, *asked, *table, *to_do, *after, *behind, *more])


def said_lines(answer: Answer, says: Says, words: Words) -> list[str]:
    """A sentence of the answer."""
    return filled(words.say(answer.question, says), "  ", "    ")


def act_lines(caution: Caution, words: Words) -> list[str]:
    """What a caution asks for, under its title."""
    own = fixed.caution(caution, words)
    return filled(words.texts("say.titled", title=own.title, text=own.act), "! ", "  ")


def behind_lines(answer: Answer, words: Words) -> list[str]:
    """The record and the climate that were counted, in a line or two; what is wrong with the record in full."""
    site, ensemble = answer.site, answer.ensemble
    if site is None:
        return []
    say = words.texts
    name = plain(site.station.name or site.station.id, NAME) or say("say.nameless")
    if site.record.invented:
        name = say("say.invented", name=name)
    if ensemble is None:
        first, last = int(site.folded.seasons[0]), int(site.folded.seasons[-1])
        said = say("site.record", name=name, first=first, last=last)
    else:
        first, last = int(ensemble.seasons[0]), int(ensemble.seasons[-1])
        climate = say(f"site.brief_{ensemble.climate.replace(' ', '_')}", for_season=ensemble.asked)
        said = say("site.brief", name=name, seasons=ensemble.seasons.size, first=first, last=last, climate=climate)
    moved = [] if site.offset is None else [words.value(says) for says in offset_says(site.offset)]
    far = [say("site.distance", distance=words.amount(site.distance, "km"))] if site.distance == site.distance else []
    source = site.record.source
    thanks = [plain(source["attribution"], 300)] if source.get("attribution") else []
    checks = [] if source.get("checks") in (None, "no") else checks_say(source["checks"], words)
    told = (said, *far, *moved, *note_says(site, ensemble, words), *checks, *thanks)
    return [line for one in told for line in filled(one)]


def drawn_lines(answer: Answer, words: Words) -> list[str]:
    """The odds of each day of the answer's first table as blocks from 0 to 100 %, a column of odds a line.

    Nothing where the table is not by day, or holds no odds. Under the blocks stand the days that the table marks.
    """
    if not answer.tables:
        return []
    table = answer.tables[0]
    odds = [column for column in table.columns if column.kind == "share" and column.shown][:_MOST_LINES_DRAWN]
    if table.index.kind != "day" or len(table) < _LEAST_DAYS or not odds:
        return []
    titles = [words.title(answer.question, column.key) for column in odds]
    wide = max(map(len, titles))
    picked = _spread(len(table), WIDTH - wide - 6)
    lines = [f"  {title.ljust(wide)}  {_blocks(column, picked)}" for title, column in zip(titles, odds, strict=True)]
    left = " " * (wide + 4)
    if table.marked is not None and table.marked.any():
        lines.append(left + "".join("‾" if table.marked[row] else " " for row in picked).rstrip())
    return [*lines, left + _ends(table, picked, words)]


def _spread(rows: int, most: int) -> np.ndarray:
    """At most so many rows, evenly spread from the first to the last."""
    return np.unique(np.linspace(0, rows - 1, min(rows, most)).round().astype(int))


def _blocks(column: Column, rows: np.ndarray) -> str:
    top = len(BLOCKS) - 1
    shares = [column.at(int(row)) for row in rows]
    return "".join(
        BLOCKS[round(top * float(share.share))] if isinstance(share, Share) and share.seasons else " "
        for share in shares
    )


def _ends(table: Table, rows: np.ndarray, words: Words) -> str:
    """The first and the last day under the blocks."""
    first, last = (words.cell("day", table.index.at(int(row))) for row in (rows[0], rows[-1]))
    return first + last.rjust(max(len(rows) - len(first), len(last) + 1))
