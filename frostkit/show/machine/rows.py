"""Tables for programs: rows as CSV, a column for every number, days as MM-DD, nothing where nothing is known."""

import csv
import io
from collections.abc import Iterable, Mapping
from typing import Any

from frostkit.answers.cautions import Caution
from frostkit.errors import SettingError
from frostkit.show.printed import echo

AMOUNTS = ("total", "frost_free_days", "days_worked")  # pairs that are least and most, where dates are first and last


def table(rows: Iterable[Mapping[str, Any]]) -> str:
    """Rows of an answer for programs as CSV: a part of a part becomes `part_name`, a pair two columns.

    >>> print(table([{"season": 1990, "both": {"yes": 3}, "last_spring": ["05-01", None], "total": [9, 9.5]}]), end="")
    season,both_yes,last_spring_first,last_spring_last,total_least,total_most
    1990,3,05-01,,9,9.5
    """
    flat = [_flat(row) for row in rows]
    kept = io.StringIO()
    writer = csv.DictWriter(kept, list(flat[0]) if flat else [], lineterminator="\n")
    writer.writeheader()
    writer.writerows(flat)
    return kept.getvalue()


def _flat(row: Mapping[str, Any]) -> dict[str, Any]:
    cells: dict[str, Any] = {}
    for name, value in row.items():
        if isinstance(value, Mapping):
            cells.update({f"{name}_{inner}": one for inner, one in _flat(value).items()})
        elif isinstance(value, list):
            ends = ("least", "most") if name in AMOUNTS else ("first", "last")
            cells.update({f"{name}_{end}": one for end, one in zip(ends, value, strict=True)})
        else:
            cells[name] = value
    return cells


def write(rows: Iterable[Mapping[str, Any]], cautions: Iterable[Caution] = ()) -> None:
    """Write the table to the output, and the cautions that go with it to the error stream, clear of the table."""
    echo(table(rows), nl=False)
    for caution in cautions:
        echo(f"{caution.title}: {caution.text} [{caution.source}]", err=True)


def one_kind(as_json: bool, as_csv: bool) -> None:
    """Raises `SettingError` where two kinds of output are asked for at once."""
    if as_json and as_csv:
        raise SettingError("--json and --csv ask for two answers in one output.", "Give one of them.")
