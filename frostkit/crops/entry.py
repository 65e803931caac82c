"""A crop entry: what a crop needs, what kills it, and where every number comes from.

An entry is one TOML file; its name is the file's name. Every table that holds a number holds its `source` too, and
every number has a range: beyond it is a slip of the hand (wide on purpose; common practice, no source). All faults of
an entry are told at once, each with file, table, key, what was found and what is allowed.
"""

import re
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from frostkit.crops.mixes import UNITS, mixes
from frostkit.crops.rated import LEAST, MOST, STEP, rated, rating_of
from frostkit.errors import CropError, nearest
from frostkit.opening import toml

LIBRARY = Path(__file__).parent / "library"
DayLength = Literal["centre", "limb", "sunrise", "civil", "centre-spitters", "centre-fao56"]
"""Which day a day length means: see `frostkit.seasons.daylength`."""
_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)  # a season has no 29 February


def _thousandths(number: float) -> float:
    if round(number, 3) != number:
        raise ValueError("allowed: up to three decimals")
    return number


def _seen(text: str) -> str:
    if not all(letter.isprintable() or letter in "\n\u00a0\u202f" for letter in text):
        raise ValueError("a letter that is not seen stands in it")
    return text


def _of_season(day: str) -> str:
    if int(day[3:]) > _LENGTHS[int(day[:2]) - 1]:
        raise ValueError("not one of the 365 days of a season")
    return day


_Finite = Field(strict=True, allow_inf_nan=False)
Real = Annotated[float, _Finite]
Amount = Annotated[float, _Finite, Field(ge=1, le=9_999)]  # heat or photothermal days that a stage asks for
Less = Annotated[float, _Finite, Field(ge=0, le=100)]  # of them, for each day of later sowing
Degrees = Annotated[float, _Finite, Field(ge=-20, le=60), AfterValidator(_thousandths)]  # degC that a clock goes by
Base = Annotated[float, _Finite, Field(ge=-10, le=25), AfterValidator(_thousandths)]
Frosty = Annotated[float, _Finite, Field(ge=-30, le=5)]  # degC that kills or browns a crop
Kept = Annotated[float, _Finite, Field(ge=0, le=10)]  # degC that a canopy keeps off
Lasts = Annotated[float, _Finite, Field(ge=0.05, le=72)]  # h
Daylight = Annotated[float, _Finite, Field(ge=0, le=24)]  # h
Slower = Annotated[float, _Finite, Field(ge=-5, le=5)]  # what an hour of day length takes off; below 0: long-day crops
Points = Annotated[float, _Finite, Field(gt=0, le=50)]  # of moisture
Coefficient = Annotated[float, _Finite, Field(ge=0, le=20), AfterValidator(_thousandths)]
Source = Annotated[str, StringConstraints(strip_whitespace=True, min_length=8, max_length=2_000), AfterValidator(_seen)]
MonthDay = Annotated[
    str, StringConstraints(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"), AfterValidator(_of_season)
]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=120), AfterValidator(_seen)]
Note = Annotated[str, StringConstraints(max_length=2_000), AfterValidator(_seen)]


class Table(BaseModel):
    """A table of an entry: no key but the known ones."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Number(Table):
    """A number with its unit and source; `low` and `high` where sources disagree, `note` for what is judgement."""

    value: Real
    unit: Text
    source: Source
    low: Real | None = None
    high: Real | None = None
    note: Note = ""


class Need(Number):
    """Heat, or photothermal days, that a stage asks for, counted from the stage (or sowing) it follows."""

    value: Amount
    unit: Literal["CHU", "degree days C", "degree days F", "thermal days", "photothermal days"]
    low: Amount | None = None
    high: Amount | None = None
    derived: Note = ""  # how it was got from a rating or a table


class Cold(Number):
    """A minimum temperature of the day in the station's screen, at or below which something happens to the crop."""

    value: Frosty
    unit: Literal["C"]
    low: Frosty | None = None
    high: Frosty | None = None
    from_day: MonthDay | None = Field(None, alias="from")  # not before this day


class Lasting(Number):
    """A temperature that kills when it lasts so many hours in a row; for where hourly readings are there."""

    value: Frosty
    unit: Literal["C"]
    low: Frosty | None = None
    high: Frosty | None = None
    hours: Lasts


class Shelter(Number):
    """Degrees that a closed corn canopy keeps off the legume below it."""

    value: Kept
    unit: Literal["C"]
    low: Kept | None = None
    high: Kept | None = None


class Hours(Number):
    """A day length, or a sensitivity to it, with the definition of day that it was fitted with."""

    unit: Literal["h", "per h"]
    day_length: DayLength


class Critical(Hours):
    """The day length up to which days count in full."""

    value: Daylight
    unit: Literal["h"]
    low: Daylight | None = None
    high: Daylight | None = None


class Sensitivity(Hours):
    """What each hour of day length beyond it takes off."""

    value: Slower
    unit: Literal["per h"]
    low: Slower | None = None
    high: Slower | None = None


class LatePlanting(Number):
    """How much less the goal needs for each day of sowing after `from`, up to `until`: beyond it nothing more is taken.

    An option: it makes the need depend on the seeding day.
    """

    value: Less
    unit: Literal["CHU", "degree days C", "degree days F", "thermal days", "photothermal days"]
    low: Less | None = None
    high: Less | None = None
    derived: Note = ""
    from_day: MonthDay = Field(alias="from")
    until_day: MonthDay = Field(alias="until")


class Rating(Table):
    """What a seed label says: not a need, but what a need is derived from."""

    value: Amount
    unit: Literal["CHU"]
    rule: Text  # from when to when the heat of the rating is counted
    day: tuple[Coefficient, Coefficient]
    night_base: Base
    source: Source


class Plain(Table):
    """Degree days of the mean temperature above a base, in degC."""

    method: Literal["mean"]
    base: Base
    source: Source


class Clamped(Table):
    """Degree days with both temperatures held between base and cap, in degC."""

    method: Literal["clamped"]
    base: Base
    cap: Degrees
    source: Source


class Sine(Table):
    """Degree days of a single sine curve above a base, in degC."""

    method: Literal["sine"]
    base: Base
    cap: Degrees | None = None
    source: Source


class CornHeat(Table):
    """Corn heat units, with the variant of their coefficients."""

    method: Literal["chu"]
    day: tuple[Coefficient, Coefficient]
    night_base: Base
    source: Source


class SoilHeat(Table):
    """Degree days of the soil at seed depth, from air temperature by a lagged filter."""

    method: Literal["soil"]
    base: Base
    lag: Annotated[float, _Finite, Field(ge=0.01, le=1)]  # share of the way to the day's air that soil goes in a day
    warmer: Annotated[float, _Finite, Field(ge=-10, le=10)]  # degC that the soil's mean stands above the filtered air
    source: Source


class Temperatures(Table):
    """Base, first and last optimum, ceiling of development [degC]."""

    values: tuple[Degrees, Degrees, Degrees, Degrees]
    unit: Literal["C"]
    source: Source


class CoolNights(Table):
    """Slowing of development by nights cooler than `below` [degC], by `slowing` a degree; counted where `on`."""

    below: Degrees
    slowing: Annotated[float, _Finite, Field(ge=0, le=1)]
    on: bool
    source: Source


class Thermal(Table):
    """Days at the best temperature: the response is 0 at base and ceiling, 1 between the optima, on an hourly curve."""

    method: Literal["thermal"]
    temperatures: Temperatures
    source: Source


class Photothermal(Table):
    """Days at the best temperature and in short days."""

    method: Literal["photothermal"]
    temperatures: Temperatures
    day_length: DayLength
    critical: Critical
    sensitivity: Sensitivity
    cool_nights: CoolNights | None = None
    source: Source


Clock = Annotated[Plain | Clamped | Sine | CornHeat | SoilHeat | Thermal | Photothermal, Field(discriminator="method")]


class Stage(Table):
    """One stage, from the day its need is met.

    `kills`: the plant dies at or below it, from this stage on until a later stage says otherwise; `browns`: the leaves
    in the open go, the plant may live.
    """

    title: Text
    clock: Text
    since: Text = "sowing"
    need: Need
    kills: Cold | None = None
    browns: Cold | None = None
    lasting: tuple[Lasting, ...] = ()


class Collars(Table):
    """Leaf collars of corn: one for each `early` need up to number `to`, one for each `late` need after."""

    clock: Text
    since: Text
    to: Annotated[int, Field(strict=True, ge=1, le=30)]
    early: Need
    late: Need
    source: Source


class Soil(Table):
    """Sow when the seedbed has `limit` [degC] on the day and the `next_days`, without a cold rain of `rain` [mm]."""

    limit: Annotated[float, _Finite, Field(ge=0, le=30)]
    next_days: Annotated[int, Field(strict=True, ge=0, le=14)]
    unit: Literal["C"]
    from_day: MonthDay = Field(alias="from")
    rain: Annotated[float, _Finite, Field(ge=0.1, le=100)] | None = None  # on a day whose air has a mean below 10 degC
    source: Source


class Moisture(Table):
    """Whole-plant moisture [%] at the goal, and how many points of it go with 100 units of heat about the goal."""

    at_goal: Annotated[float, _Finite, Field(ge=40, le=85)]
    points_per_100: Points
    low: Points
    high: Points
    source: Source


class Crop(Table):
    """A crop: stages in order, clocks, what kills it, the goal it is grown for."""

    name: str = Field(exclude=True)
    title: Text
    kind: Literal["corn", "legume"]
    use: Literal["silage", "grain", "forage"]
    goal: Text
    about: Note = ""
    rating: Rating | None = None
    soil: Soil
    clock: dict[str, Clock] = Field(min_length=1)
    stage: dict[str, Stage] = Field(min_length=1)
    collars: Collars | None = None
    closes: str | None = None  # corn: the stage from which its canopy shelters what grows below
    shelter: Shelter | None = None  # legume
    moisture: Moisture | None = None
    late_planting: LatePlanting | None = None

    def stages(self) -> list[str]:
        """Names of the stages in order."""
        return list(self.stage)

    def goal_need(self) -> Need:
        """The need of the goal, in the unit of its clock."""
        return self.stage[self.goal].need


def listed() -> list[str]:
    """Names of the entries that come with frostkit.

    >>> "silage-2300" in listed()
    True
    """
    return sorted(path.stem for path in LIBRARY.glob("*.toml"))


def entries(kind: str = "") -> list["Crop"]:
    """The entries that come with frostkit, by name; those of a kind, "corn" or "legume", where it is named.

    >>> {crop.kind for crop in entries("corn")}
    {'corn'}
    """
    return [crop for crop in map(load, listed()) if kind in ("", crop.kind)]


def load(name_or_path: str | Path) -> Crop:
    """The crop of this name in the library, or in this file of yours.

    A corn of any other rating that is sold is made by the library's own rule: "silage-2725", "grain-corn-2650"; a
    number alone is the rating of a silage corn: "2725".

    Raises `CropError` for a name that is not known, a file that can't be read, or an entry with faults: all of them.

    >>> load("silage-2300").rating.value, load("silage-2725").goal_need().value
    (2300.0, 2575.0)
    """
    path = Path(name_or_path)
    if path.suffix != ".toml":
        name = str(name_or_path)
        return _of_library(f"silage-{name}" if re.fullmatch(r"\d{4}", name) else name)
    raw = toml(path, "Copy an entry of the library and change its numbers.", CropError)
    return read(raw, path.stem, path.name)


@lru_cache(maxsize=128)
def _of_library(name: str) -> Crop:
    """An entry that comes with frostkit: read once, and never changed."""
    return read(tomllib.loads(text_of(name)), name, f"{name}.toml")


def text_of(name: str) -> str:
    """The TOML of an entry that comes with frostkit, or of a corn of another rating. Raises `CropError` as `load`."""
    if name in listed():
        return (LIBRARY / f"{name}.toml").read_text("utf-8")
    asked = rating_of(name)
    if asked is None:
        raise CropError(
            f"crop='{name}' is not known.{nearest(name, listed())}",
            f"Choose from {', '.join(listed())}, a corn of another rating ({LEAST:,} to {MOST:,} in steps of {STEP}: "
            "silage-2725, grain-corn-2650), or give the path of your own .toml file.",
        )
    like, rating = asked
    return rated((LIBRARY / f"{like}.toml").read_text("utf-8"), rating)


def read(raw: Mapping[str, Any], name: str, where: str) -> Crop:
    """The crop of a parsed entry. Raises `CropError` with one line for each fault.

    raw : the parsed TOML. name : the entry's name. where : what errors call it.
    """
    said: list[str] = []
    crop = None
    try:
        crop = Crop.model_validate({**raw, "name": name})
    except ValidationError as error:
        said += [_fault(one, raw) for one in error.errors(include_url=False)]
    said += list(mixes(raw))
    if said or crop is None:
        lines = "\n".join(f"{where}, {line}" for line in dict.fromkeys(said))
        raise CropError(lines, "Correct the entry (docs/crops.md lists the keys), then check it again.")
    return crop


def check(path: str | Path) -> list[str]:
    """What is wrong with an entry, a line each; nothing when it can be used."""
    try:
        load(path)
    except CropError as error:
        return error.what.splitlines()
    return []


def _place(loc: tuple[str | int, ...]) -> str:
    """("stage", "v5", "need", "unit") as "[stage.v5], key 'need.unit'"; the kind of clock is no part of the path."""
    path = [str(part) for part in loc]
    if path[0] == "clock" and len(path) > 2 and path[2] in UNITS:
        del path[2]
    depth = 2 if path[0] in ("clock", "stage") else 1
    if len(path) <= depth:
        return f"key '{'.'.join(path)}'" if depth == 1 else f"[{'.'.join(path)}]"
    return f"[{'.'.join(path[:depth])}], key '{'.'.join(path[depth:])}'"


def _fault(error: Any, raw: Mapping[str, Any]) -> str:
    """One fault as a sentence: place, what was found, what is allowed, the nearest guess."""
    loc, kind, found, context = error["loc"], error["type"], error["input"], error.get("ctx", {})
    place = _place(loc)
    if kind == "missing":
        if loc[-1] == "source":
            return (f"{_place(loc[:-1])}: missing source. "
                    'Add source = "...", "from memory of ..." or "common practice, no source".')  # fmt: skip
        return f"{place}: missing."
    if kind == "extra_forbidden":
        allowed = _allowed(loc)
        return f"{place}: not a key of an entry. Allowed: {', '.join(allowed)}.{nearest(str(loc[-1]), allowed)}"
    if kind == "literal_error":
        allowed = [word.strip("' ") for word in context["expected"].replace(" or ", ",").split(",")]
        return f"{place}: '{found}' found; allowed: {', '.join(allowed)}.{nearest(str(found), allowed)}"
    if kind == "union_tag_invalid":
        return (f"{place}, key 'method': '{context['tag']}' found; allowed: {', '.join(UNITS)}."
                f"{nearest(context['tag'], UNITS)}")  # fmt: skip
    if kind == "union_tag_not_found":
        return f"{place}, key 'method': missing; allowed: {', '.join(UNITS)}."
    if loc[-1] == "source":
        return f'{place}: {found!r} is no source. Name author, year and table, or say "common practice, no source".'
    if kind == "string_pattern_mismatch":
        return f'{place}: {found!r} is not a day; allowed: MM-DD, such as "05-28".'
    said = error["msg"].removeprefix("Value error, ")
    shown = repr(found)
    return f"{place}: {shown if len(shown) <= 60 else shown[:59] + '…'} found; {said[0].lower()}{said[1:]}."


def _allowed(loc: tuple[str | int, ...]) -> list[str]:
    """Keys that may stand where an unknown key stands."""
    here: Any = Crop
    for part in loc[:-1]:
        if not _is_table(here):  # a name of the user's: [stage.NAME], or the method of a clock
            fitting = [one for one in _tables(here) if "method" not in one.model_fields or part in _methods(one)]
            here = fitting[0] if fitting else here
            continue
        found = {field.alias or key: field.annotation for key, field in here.model_fields.items()}.get(str(part))
        plain = [one for one in get_args(found) if _is_table(one)] if get_origin(found) is not dict else []
        here = found if _is_table(found) or not plain else plain[0]
    return [field.alias or key for key, field in here.model_fields.items() if key != "name"] if _is_table(here) else []


def _is_table(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _tables(kind: Any) -> list[type[BaseModel]]:
    """The tables that a type is made of, however deep."""
    return [kind] if _is_table(kind) else [one for part in get_args(kind) for one in _tables(part)]


def _methods(clock: type[BaseModel]) -> tuple[Any, ...]:
    return get_args(clock.model_fields["method"].annotation)
