"""The lower part of the page about crops, `docs/crops.md`: the keys of an entry, and every entry with its sources.

It is written from the entries and their model, so that it can't say something else:
`python -c "from frostkit.crops.page import write; write('docs/crops.md')"`. A test holds that it is current.
"""

from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel

from frostkit.crops import entry
from frostkit.crops.entry import Cold, Crop, Number, entries
from frostkit.crops.mixes import UNITS

MARK = "<!-- From here on frostkit.crops.page writes this page from the entries: change those, not this. -->"


def page(above: str) -> str:
    """The page as Markdown: what people wrote, `above` the mark, and what the entries say."""
    crops = entries()
    sources: dict[str, int] = {}
    details = "\n".join(_details(crop, sources) for crop in crops)
    notes = "\n".join(f"{number}. {source}" for source, number in sources.items())
    parts = [above.partition(MARK)[0] + MARK, "## Keys", _keys(), "## All entries", _overview(crops), details]
    return "\n".join([*parts, "## Sources", notes]) + "\n"


def write(path: str | Path) -> None:
    """Write the lower part of the page anew."""
    Path(path).write_text(page(Path(path).read_text("utf-8")), "utf-8")


def _keys() -> str:
    """Tables and keys that an entry may have, from the model itself."""
    tables: list[tuple[str, type[BaseModel]]] = [("(top)", Crop), ("[rating]", entry.Rating), ("[soil]", entry.Soil)]
    clocks = get_args(get_args(entry.Clock)[0])
    tables += [(f'[clock.NAME], method = "{_method(one)}"', one) for one in clocks]
    tables += [
        ("[clock.NAME] temperatures", entry.Temperatures),
        ("[clock.NAME] critical", entry.Critical),
        ("[clock.NAME] sensitivity", entry.Sensitivity),
        ("[clock.NAME] cool_nights", entry.CoolNights),
        ("[stage.NAME]", entry.Stage),
        ("[stage.NAME] need", entry.Need),
        ("[stage.NAME] kills, browns", Cold),
        ("[stage.NAME] lasting", entry.Lasting),
        ("[collars]", entry.Collars),
        ("[shelter]", entry.Shelter),
        ("[moisture]", entry.Moisture),
        ("[late_planting]", entry.LatePlanting),
    ]
    lines = ["| table | what it is | needed | may have | numbers from, to |", "|---|---|---|---|---|"]
    for place, model in tables:
        fields = {field.alias or key: field for key, field in model.model_fields.items() if key != "name"}
        needed = ", ".join(f"`{key}`" for key, field in fields.items() if field.is_required())
        other = ", ".join(f"`{key}`" for key, field in fields.items() if not field.is_required())
        said = (model.__doc__ or "").strip().splitlines()[0]
        spans = ((key, _span(field.metadata)) for key, field in fields.items())
        allowed = "; ".join(f"`{key}` {span}" for key, span in spans if span)
        lines.append(f"| `{place}` | {said} | {needed} | {other} | {allowed} |")
    lines.append("")
    lines.append(
        "Units of a need: " + "; ".join(f"{method}: {' or '.join(units)}" for method, units in UNITS.items()) + "."
    )
    lines.append(f"Definitions of day: {', '.join(get_args(entry.DayLength))}.\n")
    return "\n".join(lines)


def _span(rules: list[Any]) -> str:
    """The range of a number, as its model has it: "1 to 9999"; empty where it has none."""
    ends = {
        end: getattr(rule, end) for rule in rules for end in ("ge", "gt", "le") if getattr(rule, end, None) is not None
    }
    if "le" not in ends:
        return ""
    low = f"{ends['ge']:g}" if "ge" in ends else f"above {ends['gt']:g}"
    return f"{low} to {ends['le']:g}"


def _method(clock: type[BaseModel]) -> str:
    return str(get_args(clock.model_fields["method"].annotation)[0])


def _overview(crops: list[Crop]) -> str:
    lines = [
        "| name | what it is | goal | need | killed at, from the last stage that says so |",
        "|---|---|---|---|---|",
    ]
    for crop in crops:
        need, kills = crop.goal_need(), [stage.kills for stage in crop.stage.values() if stage.kills is not None]
        killed = f"{in_range(kills[-1])} °C" if kills else ""
        goal = crop.stage[crop.goal].title
        lines.append(f"| `{crop.name}` | {crop.title} | {goal} | {in_range(need)} {need.unit} | {killed} |")
    return "\n".join(lines) + "\n"


def _details(crop: Crop, sources: dict[str, int]) -> str:
    """One entry: every number, and the number of its source."""
    lines = [f"### `{crop.name}`: {crop.title}", crop.about, "", "| what | number | source |", "|---|---|---|"]
    for what, number, source in numbers(crop):
        lines.append(f"| {what} | {number} | {sources.setdefault(source, len(sources) + 1)} |")
    return "\n".join(lines) + "\n"


def numbers(crop: Crop) -> list[tuple[str, str, str]]:
    """Every number of an entry: what it is, the number with its range and unit, its source."""
    rows: list[tuple[str, str, str]] = []
    if crop.rating is not None:
        rows.append((f"rating, {crop.rating.rule}", f"{crop.rating.value:g} {crop.rating.unit}", crop.rating.source))
    soil = crop.soil
    dry = "" if soil.rain is None else f", without a cold rain of {soil.rain:g} mm"
    held = f"{soil.limit:g} °C on the day and {soil.next_days} after it{dry}, from {soil.from_day}"
    rows.append(("soil fit to sow at", held, soil.source))
    for name, clock in crop.clock.items():
        rows += _clock_rows(name, clock)
    for stage in crop.stage.values():
        need = stage.need
        since = "" if stage.since == entry.Stage.model_fields["since"].default else f" since {stage.since}"
        how = f" ({need.derived})" if need.derived else ""
        rows.append((stage.title, f"{in_range(need)} {need.unit}{since}{how}", need.source))
        for word, cold in (("killed", stage.kills), ("leaves brown", stage.browns)):
            if cold is not None:
                after = f" from {cold.from_day}" if cold.from_day else ""
                rows.append((f"{stage.title}: {word} at", f"{in_range(cold)} °C{after}", cold.source))
        for rule in stage.lasting:
            said = f"{rule.value:g} °C for {rule.hours:g} hours in a row"
            rows.append((f"{stage.title}: killed by, where hours are known", said, rule.source))
    if crop.collars is not None:
        each = crop.collars
        rows.append((f"leaf collar, to V{each.to}", f"{in_range(each.early)} {each.early.unit}", each.early.source))
        rows.append(("leaf collar, after", f"{in_range(each.late)} {each.late.unit}", each.late.source))
    if crop.shelter is not None:
        rows.append(("shelter in closed corn", f"{in_range(crop.shelter)} °C", crop.shelter.source))
    if crop.moisture is not None:
        wet = crop.moisture
        slope = f"{wet.points_per_100:g} ({wet.low:g} to {wet.high:g}) points for 100 units of heat"
        rows.append(("moisture at the goal", f"{wet.at_goal:g} %, {slope}", wet.source))
    if crop.late_planting is not None:
        late = crop.late_planting
        rows.append((f"less need a day sown after {late.from_day}, to {late.until_day}; an option",
                     f"{in_range(late)} {late.unit} ({late.derived})", late.source))  # fmt: skip
    return rows


def _clock_rows(name: str, clock: Any) -> list[tuple[str, str, str]]:
    """A clock's own numbers, and those of the tables in it."""
    plain, rows = [], []
    for key, value in clock:
        if isinstance(value, Number):
            of_day = f", day = {value.day_length}" if isinstance(value, entry.Hours) else ""
            rows.append((f"clock `{name}`: {key}", f"{in_range(value)} {value.unit}{of_day}", value.source))
        elif isinstance(value, entry.Temperatures):
            said = ", ".join(f"{t:g}" for t in value.values)
            rows.append((f"clock `{name}`: base, optima, ceiling", f"{said} °C", value.source))
        elif isinstance(value, entry.CoolNights):
            state = "on" if value.on else "off"
            slowing = f"below {value.below:g} °C, {value.slowing:g} a degree"
            rows.append((f"clock `{name}`: cool nights ({state})", slowing, value.source))
        elif key not in ("source", "method") and value is not None:
            said = " and ".join(f"{part:g}" for part in value) if isinstance(value, tuple) else value
            plain.append(f"{key.replace('_', ' ')} {said}")
    return [(f"clock `{name}`: {clock.method}", ", ".join(plain), clock.source), *rows]


def in_range(number: Number) -> str:
    """ "-2 (-2.2 to 0)", or the value alone where there is no range."""
    if number.low is None or number.high is None or number.low == number.high:
        return f"{number.value:g}"
    return f"{number.value:g} ({number.low:g} to {number.high:g})"
