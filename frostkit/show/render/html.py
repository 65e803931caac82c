"""An answer as a piece of a page: headline, picture, what carries it, table, cautions. For notebooks and pages."""

from html import escape

from frostkit.answers.answer import Answer, Table
from frostkit.show.printed import plain
from frostkit.show.render import fixed
from frostkit.show.render.text import column_head, site_says, source_says
from frostkit.show.render.words import Words


def as_html(answer: Answer, words: Words, picture: str = "") -> str:
    """The whole answer; every text is escaped. picture : of it, as SVG; "" for none"""
    parts = [f"<h3>{escape(words.say(answer.question, answer.headline))}</h3>"]
    parts.append(picture)
    parts += [f"<p>{escape(words.say(answer.question, says))}</p>" for says in answer.sentences]
    parts += [table_html(answer.question, table, words) for table in answer.tables]
    if answer.site is not None:
        said = site_says(answer.site, answer.ensemble, words)
        parts.append(f"<p><small>{escape(' '.join(said))}</small></p>")
    parts.append(cautions_html(answer, words))
    if (sources := source_says(answer, words)) is not None:
        parts.append(f"<p><small>{escape(sources)}</small></p>")
    return f'<div class="frostkit">{"".join(parts)}</div>'


def table_html(question: str, table: Table, words: Words, every_row: bool = False) -> str:
    """A table; the rows that people read by default, or every one.

    A page may stack the cells of a row where there is little room: each names its column.
    """
    columns = [column for column in (table.index, *table.columns) if column.shown]
    rows = range(len(table)) if table.brief is None or every_row else [int(row) for row in table.brief]
    if not len(rows):
        return ""
    heads = [escape(plain(column_head(question, column, words))) for column in columns]
    body = []
    for row in rows:
        inside = table.marked is not None and bool(table.marked[row])
        marked, star = (' class="marked"', "* ") if inside else ("", "")
        cells = [escape(words.cell(column.kind, column.at(row))) for column in columns]
        first, *others = cells
        rest = "".join(f'<td data-head="{head}">{one}</td>' for head, one in zip(heads[1:], others, strict=True))
        body.append(f'<tr{marked}><th scope="row">{star}{first}</th>{rest}</tr>')
    room = words.texts.entries.get(f"{question}_tables", {})
    caption = f"<caption>{escape(room[table.key])}</caption>" if table.key in room else ""
    note = room.get(f"{table.key}_note", "")
    under = f"<p><small>{escape(note)}</small></p>" if note else ""
    top = "".join(f'<th scope="col">{head}</th>' for head in heads)
    return f'<table class="stack">{caption}<thead><tr>{top}</tr></thead><tbody>{"".join(body)}</tbody></table>{under}'


def cautions_html(answer: Answer, words: Words) -> str:
    """Its cautions, the act first."""
    if not answer.cautions:
        return ""
    said = []
    for caution in answer.cautions:
        own = fixed.caution(caution, words)
        more = own.text.removeprefix(own.act).strip()
        source = "" if fixed.is_practice(own.source, words) else f" <small>[{escape(own.source)}]</small>"
        said.append(
            f"<li><b>{escape(words.texts('say.titled', title=own.title, text=own.act))}</b> {escape(more)}{source}</li>"
        )
    return f"<h4>{escape(words.texts('say.cautions'))}</h4><ul>{''.join(said)}</ul>"
