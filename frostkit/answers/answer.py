"""What a question gives back: decisions as keys with values, tables, cautions. No language, no formatting.

`show` renders it, in every medium and language; nothing there decides anything.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from frostkit.answers.cautions import Caution
from frostkit.ensemble.site import Ensemble, Site
from frostkit.errors import SettingError
from frostkit.odds.share import Share, share

KINDS = (
    *("day", "dates", "share", "part", "amount", "number", "range", "text", "term", "crop", "named", "measure"),
    *("flag", "season", "date"),
)
"""What a column holds: a day of the season [column]; earliest and latest day; a `Share`; a part of one, read as
percent; a number with a unit; a plain number; text from the user's own files; the key of a word in the texts; name of
a crop's entry; a `StageName` or `Named`; an `Amount` with a unit of its own; yes or no; a year; a calendar date."""


class Day(NamedTuple):
    """A day of the season, as its column; +inf or -inf: it does not come; NaN: not known."""

    column: float


class Amount(NamedTuple):
    """A number with its unit, as people weigh it: `degC`, `kg/ha`, `CHU`, `%`, `km` ...

    digits : after the point; -2: two figures in all, whatever the unit that it is said in
    """

    value: float
    unit: str
    digits: int = 0


class Odds(NamedTuple):
    """Odds that were asked for: 0.8 is 8 in 10."""

    share: float


class Part(NamedTuple):
    """A part of one that is no count of seasons: 0.53 is 53 %."""

    of_one: float


class Term(NamedTuple):
    """A word of frostkit's own, by its key in the texts: "cold_soil"."""

    key: str


class CropName(NamedTuple):
    """A crop by the name of its entry, with the title that stands in it."""

    name: str
    title: str


class StageName(NamedTuple):
    """A crop's stage by its name in the entry, with the title that stands there."""

    name: str
    title: str


class Says(NamedTuple):
    """A sentence: its key in the texts of the question, and the values that stand in it."""

    key: str
    values: Mapping[str, Any] = {}


class Named(NamedTuple):
    """A name that programs read, and what people read instead: a sentence of the room "say"."""

    name: str
    says: Says


@dataclass(frozen=True)
class Column:
    """One column of a table.

    key : its name for programs; kind : one of `KINDS`
    values : what its kind asks for, an entry a row: float array (day, amount, number), float array [2, row] (dates,
        range), `Share` over the rows, or a sequence
    unit : of an amount; digits : after the point
    shown : whether it stands in what people read
    inline : of a share: for programs its parts stand in the row itself
    """

    key: str
    kind: str
    values: Any
    unit: str = ""
    digits: int = 0
    shown: bool = True
    inline: bool = False

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"column {self.key}: kind {self.kind!r} is none of {KINDS}")

    def at(self, row: int) -> Any:
        """One cell, as the same types that sentences hold."""
        values = self.values
        if self.kind == "share":
            return None if values is None else values.at(row)
        if self.kind == "dates":
            return Day(float(values[0][row])), Day(float(values[1][row]))
        if self.kind == "range":
            return float(values[0][row]), float(values[1][row])
        value = values[row]
        if value is None:
            return None
        match self.kind:
            case "day":
                return Day(float(value))
            case "part":
                return Part(float(value))
            case "amount":
                return Amount(float(value), self.unit, self.digits)
            case "number":
                return float(value)
            case "flag":
                return bool(value)
            case "season":
                return int(value)
            case "term":
                return Term(str(value))
        return value


@dataclass(frozen=True)
class Table:
    """Rows that belong together.

    key : its name; index : what a row is; columns : what is known of it
    under : the key of another table in whose rows these belong (its index stands here as a column); "" for none
    marked : rows that stand out, such as days in the window; brief : rows that people read by default, None for all
    """

    key: str
    index: Column
    columns: tuple[Column, ...]
    under: str = ""
    marked: NDArray[np.bool_] | None = None
    brief: NDArray[np.int64] | None = None

    def __len__(self) -> int:
        return len(self.index.values)

    def __getitem__(self, key: str) -> Column:
        for column in (self.index, *self.columns):
            if column.key == key:
                return column
        raise KeyError(key)

    def __contains__(self, key: str) -> bool:
        return any(column.key == key for column in (self.index, *self.columns))


@dataclass(frozen=True)
class Answer:
    """What a question gives back.

    question : "window", "late-legume" ...: the name of its command, and of its texts
    headline : the verdict; sentences : what carries it, in order; each a key with values
    values : decisions for programs, by key; tables : in the order in which people read them
    cautions : as data; site : record, place and settings behind it; settings : what was asked, plain
    ensemble : the possible seasons counted over, None where nothing was counted
    next : what to do next, with its date, where the answer knows; lead : how many of the sentences carry the verdict:
        these stand beside the picture, the others below the tables; always : sentences that an option asked for, or
        that must stand wherever the answer does
    """

    question: str
    headline: Says
    sentences: tuple[Says, ...]
    values: Mapping[str, Any]
    tables: tuple[Table, ...]
    cautions: tuple[Caution, ...]
    site: Site | None
    settings: Mapping[str, Any] = field(default_factory=dict)
    ensemble: Ensemble | None = None
    next: Says | None = None
    lead: int = 3
    always: tuple[Says, ...] = ()

    def table(self, key: str) -> Table:
        """The table of this name."""
        for table in self.tables:
            if table.key == key:
                return table
        raise KeyError(key)

    def with_more(self, sentences: Sequence[Says] = (), values: Mapping[str, Any] | None = None,
                  tables: Sequence[Table] = ()) -> "Answer":  # fmt: skip
        """The same answer with something added that was asked for."""
        return replace(
            self,
            sentences=(*self.sentences, *sentences),
            always=(*self.always, *sentences),
            values={**self.values, **(values or {})},
            tables=(*self.tables, *tables),
        )


def climate(of: Ensemble) -> dict[str, Any]:
    """How far past seasons were moved, for programs: the mean move of the oldest season counted."""
    tmin, tmax = of.degrees
    return {
        "moved": of.climate,
        "for_season": of.asked,
        "degrees": {"tmin": round(tmin, 2), "tmax": round(tmax, 2)},
    }


def checked_odds(odds: float) -> float:
    """Odds wanted, if they can be. Raises `SettingError` outside 0.05 to 0.99."""
    if not 0.05 <= odds <= 0.99:
        raise SettingError(
            f"Odds of {odds:g} can't be wanted: a few dozen seasons tell 0.05 to 0.99.",
            "Give odds such as 0.8 for 8 in 10.",
        )
    return float(odds)


def longest_run(reached: NDArray[np.bool_]) -> tuple[int, int] | None:
    """First and last place of the longest run of True; the first of equals. None where none is.

    >>> longest_run(np.array([True, False, True, True])), longest_run(np.array([True, True, False, True, True]))
    ((2, 3), (0, 1))
    """
    found = runs(reached)
    return max(found, key=lambda run: run[1] - run[0]) if found else None


def runs(reached: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of every run of True.

    >>> runs(np.array([True, False, True, True]))
    [(0, 0), (2, 3)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], reached, [False]]).astype(np.int8)))
    return [(int(first), int(stop) - 1) for first, stop in zip(edges[::2], edges[1::2], strict=True)]


def counted(of: Ensemble, yes: NDArray[np.bool_]) -> Share:
    """Odds of what was worked out by rows. bool [row, ...] -> Share [...]"""

    return share(yes[of.index], of.complete, None if of.shifted is None else yes[of.shifted])


def season_dates(of: Ensemble, days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Earliest and latest day of each season among its draws. [row, ...] -> [2, season, ...]"""
    drawn = days[of.index]
    return np.stack([drawn.min(axis=0), drawn.max(axis=0)])
