"""Faults between the tables of a crop entry: names that lead nowhere, units that don't fit, definitions in a mix."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeGuard

from frostkit.errors import nearest

SOWING = "sowing"
UNITS = {
    "mean": ("degree days C", "degree days F"),
    "clamped": ("degree days C", "degree days F"),
    "sine": ("degree days C", "degree days F"),
    "soil": ("degree days C", "degree days F"),
    "chu": ("CHU",),
    "thermal": ("thermal days",),
    "photothermal": ("photothermal days",),
}
"""The units a need may have on each kind of clock."""


def _dict(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def mixes(raw: Mapping[str, Any]) -> Iterator[str]:
    """Faults between tables: names that lead nowhere, units that don't fit, definitions that don't belong together.

    Works on the parsed TOML, so that these are told together with the faults inside tables.
    """
    clocks, stages = _dict(raw.get("clock")), _dict(raw.get("stage"))
    rating, goal = _dict(raw.get("rating")), raw.get("goal")
    before: list[str] = [SOWING]
    yield from _ranges(raw, ())
    needed: dict[tuple[str, str, str], tuple[str, float]] = {}  # the last stage on a clock, counted from the same stage
    for name, stage in ((name, _dict(stage)) for name, stage in stages.items()):
        place, need = f"[stage.{name}]", _dict(stage.get("need"))
        clock, since, unit = str(stage.get("clock", "")), str(stage.get("since", SOWING)), str(need.get("unit", ""))
        if clock and clock not in clocks:
            yield f"{place}, key 'clock': '{clock}' is no clock of this entry; {_choice(clock, clocks)}"
        if since not in before:
            yield f"{place}, key 'since': '{since}' does not come before; {_choice(since, before)}"
        method = str(_dict(clocks.get(clock)).get("method", ""))
        fitting = UNITS.get(method, ())
        if fitting and unit not in fitting and any(unit in units for units in UNITS.values()):
            yield (f"{place}, key 'need.unit': '{unit}' does not fit clock '{clock}' ({method}); "
                   f"{_choice(unit, fitting)}")  # fmt: skip
        value = need.get("value")
        if _number(value):
            last, most = needed.get((clock, since, unit), ("", value))
            if value < most:
                yield (f"{place}, key 'need.value': {value} found, less than the {most} of '{last}' before it on the "
                       "same clock; stages stand in the order in which they come.")  # fmt: skip
            needed[clock, since, unit] = name, value
        before.append(name)
    for key in ("goal", "closes"):
        named = raw.get(key)
        if isinstance(named, str) and named not in stages:
            yield f"key '{key}': '{named}' is no stage of this entry; {_choice(named, stages)}"
    if rating and isinstance(goal, str) and goal in stages:
        need = _dict(_dict(stages[goal]).get("need"))
        lacking = [key for key in ("derived", "low", "high") if key not in need]
        if lacking:
            yield (f"[stage.{goal}], key 'need': a rating is not a need; missing: {', '.join(lacking)}. Say how the "
                   "need from sowing was derived from the rating, and its range.")  # fmt: skip
    for name, counts in ((name, _dict(counts)) for name, counts in clocks.items()):
        method = str(counts.get("method", ""))
        if method == "chu" and rating:
            for key in ("day", "night_base"):
                if key in rating and key in counts and rating[key] != counts[key]:
                    yield (f"[clock.{name}], key '{key}': {counts[key]} counts other corn heat units than those of the "
                           f"rating ({rating[key]}). Use the rating's coefficients.")  # fmt: skip
        if method == "photothermal":
            for key in ("critical", "sensitivity"):
                fitted = _dict(counts.get(key)).get("day_length")
                if isinstance(fitted, str) and "day_length" in counts and fitted != counts["day_length"]:
                    yield (f"[clock.{name}], key '{key}': fitted with the day length '{fitted}', but the clock uses "
                           f"'{counts['day_length']}'. A mix moves flowering by weeks.")  # fmt: skip
        base, cap = counts.get("base"), counts.get("cap")
        if _number(base) and _number(cap) and cap <= base:
            yield f"[clock.{name}], key 'cap': {cap} found; allowed: above the base of {base}."
        if method in ("thermal", "photothermal"):
            four = _dict(counts.get("temperatures")).get("values")
            if isinstance(four, list) and len(four) == 4 and all(map(_number, four)):
                if not four[0] < four[1] <= four[2] < four[3]:
                    yield (f"[clock.{name}], key 'temperatures.values': {four} found; allowed: base < first optimum "
                           "<= last optimum < ceiling.")  # fmt: skip
    collars = _dict(raw.get("collars"))
    for key, names in (("clock", clocks), ("since", before)):
        named = collars.get(key)
        if isinstance(named, str) and named not in names:
            yield f"[collars], key '{key}': '{named}' is not of this entry; {_choice(named, names)}"
    late = _dict(raw.get("late_planting"))
    need = _dict(_dict(stages.get(str(goal))).get("need"))
    if late and "unit" in late and "unit" in need and late["unit"] != need["unit"]:
        yield (f"[late_planting], key 'unit': '{late['unit']}' is not the unit of the goal's need; "
               f"allowed: {need['unit']}.")  # fmt: skip
    days = [str(late.get(key, "")) for key in ("from", "until")]
    if late and all(days) and not days[0] < days[1]:
        yield f"[late_planting], key 'until': '{days[1]}' found; allowed: a day after '{days[0]}'."
    less = [number for number in (late.get("value"), late.get("high")) if _number(number)]
    if less and _number(need.get("value")) and all(map(_DAY.fullmatch, days)):
        total = max(less) * (_of_year(days[1]) - _of_year(days[0]))
        if total > need["value"] / 2:
            yield (f"[late_planting], key 'value': {max(less)} a day takes {total:g} off a need of {need['value']}; "
                   "allowed: half of it in all.")  # fmt: skip


_DAY = re.compile(r"\d\d-\d\d")


def _of_year(day: str) -> int:
    """A day as a number whose differences are days, but for the ends of months: near enough for a range."""
    return round(30.4 * int(day[:2])) + int(day[3:])


def _number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _ranges(table: Mapping[str, Any], at: tuple[str, ...]) -> Iterator[str]:
    """Every number of an entry, however deep, that lies outside its own range."""
    middle = "points_per_100" if "points_per_100" in table else "value"
    ends = [end for end in (table.get(key, table.get(middle)) for key in ("low", middle, "high")) if _number(end)]
    if len(ends) == 3 and not ends[0] <= ends[1] <= ends[2]:
        depth = 2 if at[:1] in (("clock",), ("stage",)) else 1
        place = f"[{'.'.join(at[:depth])}]" + (f", key '{'.'.join(at[depth:])}'" if at[depth:] else "")
        yield f"{place}: value {ends[1]} is outside its range {ends[0]} to {ends[2]}."
    for name, inner in table.items():
        for one in inner if isinstance(inner, list) else [inner]:
            yield from _ranges(_dict(one), (*at, str(name)))


def _choice(word: str, allowed: Iterable[str]) -> str:
    allowed = list(allowed)
    return f"allowed: {', '.join(allowed)}.{nearest(word, allowed)}"
