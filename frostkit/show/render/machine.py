"""An answer for programs: JSON, CSV and the plain rows under both."""

import csv
import io
import json
from collections import Counter
from collections.abc import Iterable, Mapping, Set
from math import isfinite
from typing import Any

import numpy as np

from frostkit.answers.answer import (
    Amount,
    Answer,
    CropName,
    Day,
    Named,
    Odds,
    Part,
    Says,
    StageName,
    Table,
    Term,
    climate,
)
from frostkit.answers.cautions import as_dicts
from frostkit.ensemble.notes import notes
from frostkit.ensemble.site import str_of
from frostkit.errors import choose
from frostkit.odds.share import Share
from frostkit.records.record import Repair
from frostkit.seasons.calendar import code
from frostkit.show.printed import escaped

DECISIONS = "decisions"
"""The name of the table of an answer's decisions: a row a value."""


def plain(value: Any) -> Any:
    """A typed value as JSON holds it: days as "MM-DD", shares as dicts, what is not there as None."""
    match value:
        case None | bool() | str():
            return value
        case Day(column):
            return code(column) if column == column else None
        case Share():
            return value.as_dict()
        case Amount(number, _, _):
            return _number(number)
        case Odds(share):
            return share
        case Term(key):
            return key
        case Part(of_one):
            return _number(of_one)
        case CropName(name, _) | StageName(name, _) | Named(name, _):
            return name
        case Says(key, values):
            return {"key": key, **{name: plain(one) for name, one in values.items()}}
        case Repair():
            return str_of(value)
        case np.datetime64():
            return str(value)
        case Mapping():
            return {str(key): plain(one) for key, one in value.items()}
        case tuple() | list():
            return [plain(one) for one in value]
        case np.ndarray():
            return [plain(one) for one in value.tolist()]
        case np.bool_():
            return bool(value)
        case int() | np.integer():
            return int(value)
    return _number(float(value))


def _number(value: float) -> float | int | None:
    if not isfinite(value):
        return None
    return int(value) if float(value).is_integer() and abs(value) < 1e15 else round(float(value), 5)


def rows(table: Table) -> list[dict[str, Any]]:
    """A table as a list of rows; a key "a.b" becomes "b" within "a", and a share inline its parts."""
    out = []
    for number in range(len(table)):
        row: dict[str, Any] = {}
        for column in (table.index, *table.columns):
            place, *inner = column.key.split(".")
            value = plain(column.at(number))
            if column.inline:
                row.update(value)
            elif inner:
                row.setdefault(place, {})[inner[0]] = value
            else:
                row[place] = value
        out.append(row)
    return out


def as_dict(answer: Answer) -> dict[str, Any]:
    """The answer for programs: what `--json` prints."""
    out: dict[str, Any] = {"question": answer.question}
    if answer.site is not None:
        out["station"] = answer.site.as_dict()
        out["notes"] = [{"key": key, **values} for key, values in notes(answer.site, answer.ensemble)]
    out.update(plain(answer.values))
    out["do_next"] = plain(answer.next)
    if answer.ensemble is not None:
        out["climate"] = climate(answer.ensemble)
        out["season_count"] = int(answer.ensemble.seasons.size)
    out["headline"] = plain(answer.headline)
    out["sentences"] = plain(answer.sentences)
    nested = {table.key: table for table in answer.tables if table.under}
    for table in answer.tables:
        if not table.under:
            place, _, name = table.key.partition(".")
            within, key = (out.setdefault(place, {}), name) if name else (out, place)
            within[key] = _with_nested(table, [inner for inner in nested.values() if inner.under == table.key])
    out["cautions"] = as_dicts(answer.cautions)
    return out


def _with_nested(table: Table, inner: Iterable[Table]) -> list[dict[str, Any]]:
    """Rows of a table, each with its rows of the tables that stand under it."""
    out = rows(table)
    for below in inner:
        own = rows(below)
        for row in out:
            at = row[table.index.key]
            row[below.key] = [
                {key: value for key, value in one.items() if key != table.index.key}
                for one in own
                if one[table.index.key] == at
            ]
    return out


def as_json(answer: Answer) -> str:
    """The answer as JSON."""
    return json_text(as_dict(answer))


def json_text(value: Any) -> str:
    """JSON, every character that a terminal would act on written out."""
    return escaped(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))


def flat(value: Any, name: str = "") -> dict[str, Any]:
    """A value as columns of one row: nested keys joined by underscores.

    >>> flat({"window": {"from": "05-01", "core": None}})
    {'window_from': '05-01', 'window_core': None}
    """
    if isinstance(value, Mapping):
        return {
            key: one
            for inner, part in value.items()
            for key, one in flat(part, f"{name}_{inner}" if name else str(inner)).items()
        }
    if isinstance(value, list):
        return {f"{name}_{number + 1}": one for number, one in enumerate(value)} if _plain(value) else {}
    return {name: value}


def _plain(values: list) -> bool:
    return all(not isinstance(value, dict | list) for value in values)


def table_rows(answer: Answer, name: str | None = None) -> list[dict[str, Any]]:
    """A table as flat rows: one of the answer's by name, "decisions", or the first."""
    names = [table.key for table in answer.tables]
    name = (names[0] if names else DECISIONS) if name is None else choose("table", name, [*names, DECISIONS])
    if name == DECISIONS:
        skipped = {*(key.partition(".")[0] for key in names), "cautions", "question"}
        whole = {key: value for key, value in as_dict(answer).items() if key not in skipped}
        whole["sentences"] = _by_key(whole["sentences"])
        return [{"name": key, "value": value} for key, value in flat(whole).items()]
    table = answer.table(name)
    numbers = {column.key.replace(".", "_") for column in table.columns if column.kind == "range"}
    return [_flat_row(row, numbers) for row in rows(table)]


def _by_key(sentences: Iterable[dict[str, Any]]) -> dict[str, Any]:
    """Sentences by their key, the second of a key with _2."""
    out: dict[str, Any] = {}
    seen: Counter[str] = Counter()
    for says in sentences:
        key = says.pop("key")
        seen[key] += 1
        out[key if seen[key] == 1 else f"{key}_{seen[key]}"] = says
    return out


def _flat_row(row: Mapping[str, Any], numbers: Set[str], under: str = "") -> dict[str, Any]:
    """A row whose pairs are two columns: earliest and latest day, or least and most of a number."""
    out: dict[str, Any] = {}
    for key, value in row.items():
        name = f"{under}_{key}" if under else key
        if isinstance(value, list) and len(value) == 2:
            first, last = ("least", "most") if name in numbers else ("earliest", "latest")
            out[f"{name}_{first}"], out[f"{name}_{last}"] = value
        elif isinstance(value, Mapping):
            out.update(_flat_row(value, numbers, name))
        else:
            out.update(flat(value, name))
    return out


def as_csv(answer: Answer, name: str | None = None) -> str:
    """A table for programs, with a header."""
    found = table_rows(answer, name)
    if not found:
        return ""
    out = io.StringIO()
    header = list(dict.fromkeys(key for row in found for key in row))
    writer = csv.DictWriter(out, header, lineterminator="\n", restval="")
    writer.writeheader()
    writer.writerows({key: "" if value is None else value for key, value in row.items()} for row in found)
    return escaped(out.getvalue()).rstrip("\n")
