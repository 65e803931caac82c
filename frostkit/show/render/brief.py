"""An answer in one look: at most 30 lines of 80 columns, the verdict first and every caution's act in it."""

import numpy as np

from frostkit.answers.answer import Amount, Answer, Column, Table
from frostkit.answers.cautions import Caution
from frostkit.answers.offset import offset_says
from frostkit.odds.share import Share
from frostkit.show.printed import plain
from frostkit.show.render import fixed
from frostkit.show.render.text import (
    WIDTH,
    checks_say,
    converted_unit,
    filled,
    next_says,
    note_says,
    said_lines,
    table_lines,
    told_name,
)
from frostkit.show.render.words import Words

LINES = 30
BLOCKS = " ▁▂▃▄▅▆▇█"
FIRST = ("silo_gas",)  # topics that stand above all but the verdict: they kill within minutes
_LEAST_DAYS = 8  # rows of a table, below which a line of blocks says less than the counts do
_MOST_LINES_DRAWN = 2
_WIDEST = 4  # blocks that a day is drawn with at most
DRAWN = {
    "choose": ("largest_rating", "", ("up_to", "grain.up_to")),
    "late-legume": ("days", "sowing", ("made_it", "growth_kg_ha.middle")),
    "workdays": ("weeks", "", ("usual",)),
}
"""Question: the table that is drawn, the column its days stand in ("": its index), and the columns drawn; left out, the
first table's odds."""


def as_brief(answer: Answer, words: Words, blocks: bool = True) -> str:
    """The verdict, what carries it, what to do next, the act of every caution, and where the rest is.

    What must stand stands; odds drawn in blocks with the first sentence, further sentences, and a first table where
    nothing is drawn fill the lines that are left.
    blocks : whether the terminal has the characters that odds are drawn with
    """
    say = words.texts
    verdict = filled(words.say(answer.question, answer.headline))
    acts = [(caution, act_lines(caution, words)) for caution in answer.cautions]
    ahead = [caution.topic for caution in answer.cautions[:2] if caution.topic in FIRST]  # where someone fills
    first = [line for caution, lines in acts if caution.topic in ahead for line in lines]
    after = [line for caution, lines in acts if caution.topic not in ahead for line in lines]
    to_do = filled(next_says(answer, words))
    behind = behind_lines(answer, words)
    more = filled(say("say.more"))
    asked = [line for says in answer.always for line in said_lines(answer, says, words)]
    room = LINES - sum(map(len, [verdict, first, asked, to_do, after, behind, more]))
    drawn = drawn_lines(answer, words) if blocks else []
    least = sum(len(said_lines(answer, says, words)) for says in answer.sentences[:1])
    drawn = ["", *drawn] if drawn and len(drawn) + 1 + least <= room else []
    room -= len(drawn)
    carried: list[str] = []
    for says in answer.sentences[: answer.lead]:
        lines = [] if says in answer.always else said_lines(answer, says, words)
        if len(lines) > room:
            break
        carried += lines
        room -= len(lines)
    table = [] if drawn else _first_table(answer, words, room)
    return "\n".join([*verdict, *first, *drawn, *carried, *asked, *table, *to_do, *after, *behind, *more])


def _first_table(answer: Answer, words: Words, room: int) -> list[str]:
    """The first of the tables that is shown, where it has room; blank lines around it."""
    for table in answer.tables:
        lines = table_lines(answer.question, table, words)
        if lines:
            return ["", *lines, ""] if len(lines) + 2 <= room and max(map(len, lines)) <= WIDTH else []
    return []


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
    name = told_name(site, words)
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
    """What an answer says of every day as blocks, a line a column: odds from 0 to 100 %, amounts from least to most.

    Nothing where the answer's first table is not by day, or holds no odds. Under the blocks stand the days that the
    table marks, the first and the last.
    """
    if not answer.tables:
        return []
    key, axis, keys = DRAWN.get(answer.question, (answer.tables[0].key, "", ()))
    table = next((one for one in answer.tables if one.key == key), None)
    if table is None:
        return []
    columns = {column.key: column for column in table.columns}
    days = columns[axis] if axis else table.index
    drawn = [columns[name] for name in keys if name in columns] or [
        column for column in table.columns if column.kind == "share" and column.shown
    ][:_MOST_LINES_DRAWN]
    rows = np.arange(len(table))
    if axis:  # several ways below each other: the first one
        rows = rows[[table.index.at(int(row)) == table.index.at(0) for row in rows]]
    if days.kind != "day" or len(rows) < _LEAST_DAYS or not drawn:
        return []
    titles = [_drawn_title(answer.question, column.key, words) for column in drawn]
    ends = [_least_and_most(column, rows, words) for column in drawn]
    wide, behind = max(map(len, titles)), max(map(len, ends))
    room = WIDTH - wide - behind - 6
    picked = _spread(rows, room)
    times = min(room // len(picked), _WIDEST)
    lines = []
    for title, column, end in zip(titles, drawn, ends, strict=True):
        blocks = "".join(times * block for block in _blocks(column, rows, picked))
        lines.append(f"  {title.ljust(wide)}  {blocks}  {end}".rstrip())
    left = " " * (wide + 4)
    if table.marked is not None:
        marks = _marks(table, picked)
        lines += [left + "".join(times * mark for mark in marks).rstrip()] if set(marks) - {" "} else []
    first, last = (words.cell("day", days.at(int(row))) for row in (picked[0], picked[-1]))
    return [*lines, left + first + last.rjust(max(times * len(picked) - len(first), len(last) + 1))]


def _drawn_title(question: str, column: str, words: Words) -> str:
    """What stands before a line of blocks: a title of its own, or that of the column."""
    key = f"{question}.{column}"
    return str(words.texts.entries["drawn"][key]) if words.has("drawn", key) else words.title(question, column)


def _spread(rows: np.ndarray, most: int) -> np.ndarray:
    """At most so many of the rows, evenly spread from the first to the last."""
    return rows[np.unique(np.linspace(0, len(rows) - 1, min(len(rows), most)).round().astype(int))]


def _heights(column: Column, rows: np.ndarray) -> np.ndarray:
    """What is drawn of a column: odds, or the number of an amount; NaN where there is none."""
    cells = [column.at(int(row)) for row in rows]
    return np.array(
        [
            np.nan
            if cell is None or (isinstance(cell, Share) and not cell.seasons)
            else float(cell.share if isinstance(cell, Share) else cell.value if isinstance(cell, Amount) else cell)
            for cell in cells
        ]
    )


def _blocks(column: Column, rows: np.ndarray, picked: np.ndarray) -> list[str]:
    heights, top = _heights(column, picked), len(BLOCKS) - 1
    if column.kind == "share":
        parts = heights
    else:
        of = _heights(column, rows)
        low, high = np.nanmin(of), np.nanmax(of)
        parts = (1 + (top - 1) * (heights - low) / max(high - low, 1e-9)) / top  # the least is a low block, not a blank
    return [" " if part != part else BLOCKS[round(top * float(part))] for part in parts]


def _least_and_most(column: Column, rows: np.ndarray, words: Words) -> str:
    """From what to what the blocks of an amount reach; "" for odds, which go from 0 to 100 %."""
    if column.kind == "share":
        return ""
    heights = _heights(column, rows)
    if np.isnan(heights).all():
        return ""
    cells = [column.at(int(rows[place])) for place in (np.nanargmin(heights), np.nanargmax(heights))]
    least, most = (words.cell(column.kind, cell) for cell in cells)
    unit = f" {words.unit(converted_unit(words, column.unit))}" if column.kind == "amount" and column.unit else ""
    return words.texts("say.to", first=least, last=most) + unit


def _marks(table: Table, picked: np.ndarray) -> list[str]:
    """A mark under every block whose day, or one between it and the next, is marked."""
    assert table.marked is not None
    until = [*picked[1:], picked[-1] + 1]
    return ["‾" if table.marked[at:end].any() else " " for at, end in zip(picked, until, strict=True)]
