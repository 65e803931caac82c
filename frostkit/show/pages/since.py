"""What moved since the last page of the same field: a page keeps its own dates and odds, and reads the older one's."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np

from frostkit.answers.answer import Answer, Day, Says
from frostkit.answers.station.frost import day_by_odds
from frostkit.show.pages.page import date_words
from frostkit.show.render.words import Words

NAME = "frostkit-kept"
"""Name of the page's `meta` in which it keeps what it said, as JSON."""
DAYS = ("window_from", "window_to", "legume_last", "spring_frost", "fall_frost")
LARGEST = 2_000_000  # bytes of a page that is looked into


@dataclass(frozen=True)
class Kept:
    """What a page says, for the next one.

    asked : place and question, which two pages must share to be compared; made : the day written on it
    days : columns of the season by name, None where there is no such day; record : last day read
    odds : count and seasons of the window's last day
    before : of the page that stood there before and said something else
    """

    asked: dict[str, Any]
    made: str
    days: dict[str, float | None]
    record: str
    odds: tuple[int, int] | None
    before: "Kept | None" = None

    def says_the_same(self, other: "Kept") -> bool:
        """Whether both say the same of the same."""
        return (self.days, self.record, self.odds) == (other.days, other.record, other.odds)

    def with_before(self, older: "Kept | None") -> "Kept":
        """The same, with the page that stood there before, or the one that that page replaced; none further back."""
        against = _against(older, self)
        return replace(self, before=None if against is None else replace(against, before=None))

    def as_text(self) -> str:
        """For the page's `meta`."""
        return json.dumps(asdict(self), sort_keys=True, ensure_ascii=False)


def kept(answers: Sequence[Answer], made: date) -> Kept:
    """What the answers of a page say that people plan by."""
    first = answers[0]
    values, site = first.values, first.site
    assert site is not None
    days: dict[str, float | None] = dict.fromkeys(DAYS)
    window = values["window"]
    if window is not None:
        days |= {"window_from": _column(window["from"]), "window_to": _column(window["to"])}
    for answer in answers[1:]:
        if answer.question == "late-legume":
            days["legume_last"] = _column(answer.values["last_day"])
        if answer.question == "frost" and answer.settings["threshold"] == 0:
            days["spring_frost"] = _column(day_by_odds(answer, "last_spring", "nine"))
            days["fall_frost"] = _column(day_by_odds(answer, "first_fall", "one"))
    asked = {"station": site.station.id or site.station.name, "place": site.place and site.place.name}
    asked |= {name: crop and crop.name for name in ("corn", "legume") for crop in [first.settings.get(name)]}
    asked |= {"odds": first.settings["odds"], "store": values["store"], "after": values["after"]}
    return Kept(asked, made.isoformat(), days, str(_last_read(first)), _odds(first, days["window_to"]))


def _column(day: Any) -> float | None:
    column = getattr(day, "column", day)
    return float(column) if column is not None and np.isfinite(column) else None


def _last_read(answer: Answer) -> np.datetime64:
    """The last day of the record with a reading."""
    assert answer.site is not None
    record = answer.site.record
    there = np.flatnonzero(np.isfinite(record.tmin) | np.isfinite(record.tmax))
    return record.start + (int(there[-1]) if there.size else 0)


def _odds(answer: Answer, last: float | None) -> tuple[int, int] | None:
    """In how many seasons it makes it, sown on the window's last day."""
    if last is None:
        return None
    table = answer.table("odds")
    of = table[answer.values["subject"]].at(int(np.flatnonzero(np.asarray(table.index.values) == last)[0]))
    return int(of.count), int(of.seasons)


class _Meta(HTMLParser):
    """The content of the page's own `meta`."""

    found: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        of = dict(attrs)
        if tag == "meta" and of.get("name") == NAME:
            self.found = of.get("content")


def read(path: str | Path) -> Kept | None:
    """What an older page kept; None where there is no page, or none that keeps anything: never an error."""
    try:
        place = Path(path)
        if place.suffix.lower() != ".html" or place.stat().st_size > LARGEST:
            return None
        parser = _Meta()
        parser.feed(place.read_text("utf-8"))
        return None if parser.found is None else _of(json.loads(parser.found))
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def _of(told: dict[str, Any]) -> Kept:
    """Kept words as they were; raises what `read` catches where they are not."""
    date.fromisoformat(told["made"])
    np.datetime64(told["record"], "D")
    days = {name: None if told["days"][name] is None else float(told["days"][name]) for name in DAYS}
    odds = told["odds"]
    older = told["before"]
    return Kept(
        dict(told["asked"]),
        str(told["made"]),
        days,
        str(told["record"]),
        None if odds is None else (int(odds[0]), int(odds[1])),
        None if older is None else _of(older),
    )


def _against(older: Kept | None, now: Kept) -> Kept | None:
    """The page to compare with: the last one of the same place and question that said something else."""
    while older is not None and (older.asked != now.asked or older.says_the_same(now)):
        older = older.before
    return older


def title(older: Kept | None, now: Kept, words: Words) -> str:
    """The heading over what moved."""
    against = _against(older, now)
    if against is None:
        return ""
    return words.texts("moved.title", date=date_words(date.fromisoformat(against.made), words.texts))


def moved(older: Kept | None, now: Kept, words: Words) -> list[str]:
    """What moved since, a sentence each; nothing where there is nothing to compare with, or nothing moved."""
    against = _against(older, now)
    if against is None:
        return []
    said = []
    for name in DAYS:
        old, new = against.days[name], now.days[name]
        if old != new:
            said.append(words.say("moved", Says(name, {"new": _day(new, words), "old": _day(old, words)})))
    if now.odds != against.odds and now.odds is not None and against.odds is not None:
        names = ("yes", "of", "was_yes", "was_of")
        said.append(words.say("moved", Says("odds", dict(zip(names, (*now.odds, *against.odds), strict=True)))))
    if now.record != against.record:
        ends = {"new": np.datetime64(now.record, "D"), "old": np.datetime64(against.record, "D")}
        said.append(words.say("moved", Says("record", ends)))
    return said


def _day(column: float | None, words: Words) -> str:
    return words.texts("moved.no_day") if column is None else words.value(Day(column))
