"""An answer as text for a terminal: verdict, what carries it, tables, what is behind it, cautions."""

from collections.abc import Mapping, Sequence
from textwrap import wrap
from typing import Any

from frostkit.answers.answer import Answer, Column, Says, Table
from frostkit.answers.cautions import Caution
from frostkit.answers.offset import offset_says
from frostkit.ensemble.notes import notes
from frostkit.ensemble.site import AS_READ, Ensemble, Site
from frostkit.show.printed import NAME, plain
from frostkit.show.render import fixed
from frostkit.show.render.words import CONVERTED, Words

WIDTH = 80
_KEPT = "\x1f%"  # no space to break a line at
TITLE = 9  # letters that a line of a column's title has room for at least


def filled(text: str, first: str = "", then: str = "  ", width: int = WIDTH) -> list[str]:
    """A sentence as lines of the terminal's width; numbers keep their per cent sign, paths and commands stay whole."""
    lines = wrap(
        text.replace(" %", _KEPT),
        width,
        initial_indent=first,
        subsequent_indent=then,
        break_on_hyphens=False,
        break_long_words=any(len(word) > 3 * width for word in text.split()),
    )
    return [line.replace(_KEPT, " %") for line in lines]


def as_text(answer: Answer, words: Words) -> str:
    """The whole answer as text."""
    lines = filled(words.say(answer.question, answer.headline))
    for says in answer.sentences[: answer.lead]:
        lines += said_lines(answer, says, words)
    lines += filled(next_says(answer, words))
    for says in answer.sentences[answer.lead :]:
        lines += said_lines(answer, says, words)
    for table in answer.tables:
        shown = table_lines(answer.question, table, words)
        if shown:
            lines += ["", *shown]
    if answer.site is not None:
        lines += ["", *site_lines(answer.site, answer.ensemble, words)]
    lines += caution_lines(answer.cautions, words)
    if (sources := source_says(answer, words)) is not None:
        lines += ["", *filled(sources)]
    return "\n".join(lines)


def said_lines(answer: Answer, says: Says, words: Words) -> list[str]:
    """A sentence of the answer, as lines under its verdict."""
    return filled(words.say(answer.question, says), "  ", "    ")


def next_says(answer: Answer, words: Words) -> str:
    """What to do next; "" where the answer does not know."""
    if answer.next is None:
        return ""
    do = words.say(answer.question, answer.next)
    opens = words.texts.entries[answer.question][answer.next.key][:1]
    return words.texts("say.next", do=do if opens == "{" else do[:1].lower() + do[1:])


def source_says(answer: Answer, words: Words) -> str | None:
    """Where an answer's figures come from, as it names them in `values["sources"]`; None where it names none."""
    sources = answer.values.get("sources")
    return None if not sources else words.texts("say.sources", sources="; ".join(plain(one) for one in sources))


def column_head(question: str, column: Column, words: Words) -> str:
    """What stands over a column: its title, and the unit of an amount."""
    unit = f" [{words.unit(converted_unit(words, column.unit))}]" if column.kind == "amount" and column.unit else ""
    return words.title(question, column.key) + unit


def table_lines(question: str, table: Table, words: Words) -> list[str]:
    """A table of plain columns; days and names stand left, all else right."""
    columns = [column for column in (table.index, *table.columns) if column.shown]
    rows = range(len(table)) if table.brief is None else [int(row) for row in table.brief]
    if not len(rows) or not columns:
        return []
    heads = [column_head(question, column, words) for column in columns]
    body = [[words.cell(column.kind, column.at(row)) for column in columns] for row in rows]
    cells_wide = [max(len(line[place]) for line in body) for place in range(len(columns))]
    titles = [_title_lines(head, wide) for head, wide in zip(heads, cells_wide, strict=True)]
    widths = [max(wide, *map(len, title)) for wide, title in zip(cells_wide, titles, strict=True)]
    left = [column.kind in ("day", "text", "term", "crop", "named") for column in columns]

    def line(mark: str, cells: Sequence[str]) -> str:
        parts = [
            cell.ljust(width) if to_left else cell.rjust(width)
            for cell, width, to_left in zip(cells, widths, left, strict=True)
        ]
        return f"{mark} {'   '.join(parts)}".rstrip()

    out = []
    if words.has(f"{question}_tables", table.key):
        out += filled(words.texts.entries[f"{question}_tables"][table.key])
    high = max(map(len, titles))
    out += [line(" ", row) for row in zip(*([""] * (high - len(title)) + title for title in titles), strict=True)]
    for row, cells in zip(rows, body, strict=True):
        mark = "*" if table.marked is not None and table.marked[row] else " "
        out.append(line(mark, cells))
    note = f"{table.key}_note"
    if words.has(f"{question}_tables", note):
        out += filled(words.texts.entries[f"{question}_tables"][note], "  ", "  ")
    return out


def _title_lines(head: str, wide: int) -> list[str]:
    """A column's title in several lines where it is wider than what stands under it."""
    longest = max((len(word) for word in head.split()), default=0)
    return wrap(head, max(wide, longest, TITLE)) or [""]


def converted_unit(words: Words, unit: str) -> str:
    """The unit that an amount is shown in."""
    return CONVERTED[words.units].get(unit, (1.0, 0.0, unit))[2]


def site_lines(site: Site, ensemble: Ensemble | None, words: Words) -> list[str]:
    """The record behind an answer, how its seasons were moved, and where it came from."""
    return [line for sentence in site_says(site, ensemble, words) for line in filled(sentence)]


def site_says(site: Site, ensemble: Ensemble | None, words: Words) -> list[str]:
    """The same as sentences."""
    say = words.texts
    name = told_name(site, words)
    first, last = int(site.folded.seasons[0]), int(site.folded.seasons[-1])
    out = []
    if ensemble is None:
        out.append(say("site.record", name=name, first=first, last=last))
    else:
        values: dict[str, Any] = {
            "name": name,
            "first": int(ensemble.seasons[0]),
            "last": int(ensemble.seasons[-1]),
            "seasons": int(ensemble.seasons.size),
            "complete": int(ensemble.complete.sum()),
            "for_season": ensemble.asked,
        }
        out.append(say("site.counted", **values))
        gone = site.not_observed().size
        if gone:
            out.append(say("site.not_observed", years=gone))
        if ensemble.climate == AS_READ:
            out.append(say("site.as_read"))
        else:
            tmin, tmax = ensemble.degrees
            more = {
                "season": int(ensemble.seasons[0]),
                "for_season": ensemble.asked,
                "nights": words.amount(tmin, "degC more", 1),
                "days": words.amount(tmax, "degC more", 1),
            }
            out.append(say("site.today", **more))
    out += note_says(site, ensemble, words)
    if site.distance == site.distance:
        out.append(say("site.distance", distance=words.amount(site.distance, "km")))
    if site.offset is not None:
        out += [words.value(says) for says in offset_says(site.offset)]
    source = site.record.source
    out += checks_say(source.get("checks"), words)
    parts = [plain(source[key], 300) for key in ("format", "provider", "attribution", "licence") if source.get(key)]
    if parts:
        out.append(say("site.source", source="; ".join(parts)))
    return out


def station_name(site: Site, words: Words) -> str:
    """The station's name, or its ID, filtered and cut; said where it has neither."""
    return plain(site.station.name or site.station.id, NAME) or words.texts("say.nameless")


def told_name(site: Site, words: Words) -> str:
    """The same, with "invented" where it is."""
    name = station_name(site, words)
    return words.texts("say.invented", name=name) if site.record.invented else name


def note_says(site: Site, ensemble: Ensemble | None, words: Words) -> list[str]:
    """What must be said of the record, whatever was asked."""
    return [words.texts(f"site.note_{key}", **_in_words(values, words)) for key, values in notes(site, ensemble)]


def _in_words(values: Mapping[str, Any], words: Words) -> dict[str, Any]:
    degrees = values.get("colder")
    return dict(values) if degrees is None else {**values, "colder": words.amount(degrees, "degC more", 1)}


def checks_say(checks: str | None, words: Words) -> list[str]:
    """Whether suspect readings were masked."""
    if checks is None:
        return []
    return [words.texts("site.unchecked") if checks == "no" else words.texts("site.checked", masked=checks)]


def caution_lines(cautions: tuple[Caution, ...], words: Words) -> list[str]:
    """Cautions as indented lines, the act first, each with its source."""
    if not cautions:
        return []
    lines = ["", words.texts("say.cautions")]
    for caution in cautions:
        own = fixed.caution(caution, words)
        source = "" if fixed.is_practice(own.source, words) else f" [{own.source}]"
        lines += filled(words.texts("say.titled", title=own.title, text=own.text) + source, "  ! ", "    ")
    return lines
