"""A farm's settings file: places, fields, crops and units in one TOML, so that nothing is typed twice."""

from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from frostkit.answers.silage.farm import Field as FarmField
from frostkit.ensemble.site import northern
from frostkit.errors import SettingError, nearest
from frostkit.opening import toml
from frostkit.seasons.calendar import from_code
from frostkit.show.texts import LANGUAGES

MonthDay = Annotated[str, Field(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$")]
Degrees = Annotated[float, Field(allow_inf_nan=False)]


def northerly(latitude: float) -> float:
    """A latitude that answers are built for. Raises `ValueError`, as a model's check must."""
    try:
        return northern(latitude, "The place")
    except SettingError as fault:
        raise ValueError(f"{fault.what} {fault.do}") from None


def _language(name: str) -> str:
    if name not in LANGUAGES:
        raise ValueError(f"languages are {', '.join(LANGUAGES)}")
    return name


class Table(BaseModel):
    """A table of the file: no key but the known ones."""

    model_config = ConfigDict(extra="forbid", frozen=True)


Of = TypeVar("Of", bound=Table)


class Place(Table):
    """A record and where the fields that go by it lie."""

    record: str | None = None  # a file or folder beside this file, or a kept station; left out: the invented place
    input_units: Literal["C", "F"] | None = None
    seasons: str | None = None
    latitude: Annotated[Degrees, AfterValidator(northerly)] | None = None
    longitude: Annotated[Degrees, Field(ge=-180, le=180)] | None = None

    def defaults(self, beside: Path) -> dict[str, Any]:
        """What the options of commands start from, by the option's name.

        beside : the folder that paths are taken from
        """
        at = None if self.latitude is None or self.longitude is None else (self.latitude, self.longitude)
        values = {
            "record": found(self.record, beside),
            "input_units": self.input_units,
            "seasons": self.seasons,
            "field_at": at,
        }
        return {option: value for option, value in values.items() if value is not None}


class OneField(Table):
    """One field: its place, crops, days, and what the chopper needs to know."""

    place: str | None = None
    corn: str = "silage-2300"
    legume: str = "forage-late"
    after: int = 0
    seeding: MonthDay | None = None
    not_after: MonthDay | None = None
    area_ha: Annotated[Degrees, Field(gt=0)] | None = None
    haul_km: Annotated[Degrees, Field(ge=0)] = 0.0
    yield_t_ha: Annotated[Degrees, Field(gt=0)] | None = None
    legume_share: Annotated[Degrees, Field(ge=0, lt=1)] = 0.0
    store: str | None = None
    colder_by: Degrees | None = None  # a low spot: on clear, calm nights, or on all
    all_nights: bool = False
    logger: str | None = None  # the field's own logger, a file beside this one; goes before colder_by
    logger_units: Literal["C", "F"] | None = None
    silking: MonthDay | None = None  # what was seen this season; a value without its day was seen today
    milk_line: Annotated[Degrees, Field(ge=0, le=1)] | None = None
    milk_line_on: MonthDay | None = None
    moisture: Degrees | None = None
    moisture_on: MonthDay | None = None


HEAT = {"chu": "chu", "degree-days": "mean"}
"""How `frostkit heat` counts, by the farm's word for it."""


class Written(Table):
    """How answers are written."""

    temperature: Literal["C", "F"] = "C"
    heat: Literal["chu", "degree-days"] | None = None
    mass: Literal["kg/ha", "lb/ac"] | None = None  # left out: as goes with the degrees
    language: Annotated[str, AfterValidator(_language)] = "en"

    def system(self) -> str:
        """The system of units, one of `texts.UNITS`."""
        acres = self.mass == "lb/ac" or (self.mass is None and self.temperature == "F")
        return {("C", False): "metric", ("F", True): "us", ("C", True): "acres", ("F", False): "fahrenheit"}[
            self.temperature, acres
        ]

    def over(self, under: "Written") -> "Written":
        """This, and what `under` says where this says nothing."""
        return Written(**(under.model_dump(exclude_unset=True) | self.model_dump(exclude_unset=True)))

    def defaults(self) -> dict[str, Any]:
        """What the options of commands start from, by the option's name."""
        method = {} if self.heat is None else {"method": HEAT[self.heat]}
        return {"units": self.system(), "language": self.language, **method}


def found(text: str | None, beside: Path) -> str | None:
    """A path in a settings file, taken from its folder where it is there; anything else as it is."""
    return str(beside / text) if text and (beside / text).exists() else text


class Farm(Table):
    """The whole file. `field` by name, `place` by name; `odds` wanted everywhere."""

    about: str = ""
    odds: Annotated[float, Field(ge=0.05, le=0.99)] = 0.8
    units: Written = Written()
    place: dict[str, Place] = {}
    field: dict[str, OneField] = Field(min_length=1)


def load(path: str | Path) -> Farm:
    """The farm of a settings file.

    Raises `SettingError` for a file that can't be read, a key that is not known, a value that is not allowed, or a
    field whose place is not in the file: all of them, a line each.
    """
    path = Path(path)
    farm = read_table(path, Farm, "Start from the example in docs/farm.md, which lists every key.")
    for name, place in farm.place.items():
        if (place.latitude is None) != (place.longitude is None):
            lacks = "latitude" if place.latitude is None else "longitude"
            raise SettingError(f"{path.name}, [place.{name}], {lacks}: missing; latitude and longitude go together.",
                               "Give both in degrees, north and east (west with a minus).")  # fmt: skip
    for name, one in farm.field.items():
        if one.place is not None and one.place not in farm.place:
            said = f"{path.name}, [field.{name}], place: '{one.place}' is no place of this file."
            raise SettingError(said + nearest(one.place, farm.place), f"Places: {', '.join(farm.place) or 'none'}.")
    return farm


def read_table(path: Path, model: type[Of], do: str) -> Of:
    """A settings file by its model. Raises `SettingError` with all of its faults, and what to do."""
    raw = toml(path, do, SettingError)
    try:
        return model.model_validate(raw)
    except ValidationError as fault:
        lines = "; ".join(_fault(one) for one in fault.errors(include_url=False))
        raise SettingError(f"{path.name}, {lines}.", f"Correct these. {do}") from None


def _fault(error: Any) -> str:
    where, key = ".".join(str(part) for part in error["loc"][:-1]), error["loc"][-1]
    place = f"[{where}], {key}" if where else str(key)
    if error["type"] == "extra_forbidden":
        models: dict[str, type[Table]] = {"units": Written, "place": Place, "field": OneField}
        allowed = models.get(str(error["loc"][0]), Farm).model_fields
        return f"{place}: not a key.{nearest(str(key), allowed)}".rstrip(".")
    if error["type"] == "missing":
        return f"{place}: missing"
    said = error["msg"].removeprefix("Value error, ").rstrip(".")
    return f"{place}: {error['input']!r} found; {said[0].lower()}{said[1:]}"


def one_field(farm: Farm, name: str | None) -> tuple[str, OneField]:
    """A field by name; the first one where none is named. Raises `SettingError` for a name that is not there."""
    if name is None:
        return next(iter(farm.field.items()))
    if name not in farm.field:
        raise SettingError(f"There is no field '{name}' in the settings file.{nearest(name, farm.field)}",
                           f"Fields: {', '.join(farm.field)}.")  # fmt: skip
    return name, farm.field[name]


def defaults(farm: Farm, name: str | None, beside: Path, under: Written | None = None) -> dict[str, Any]:
    """What the options of commands start from for one field, by the option's name; what is typed goes before it.

    beside : the folder of the settings file, from which paths in it are taken
    under : how answers are written where the file does not say
    """
    _, of = one_field(farm, name)
    values = {
        **farm.place.get(of.place or "", Place()).defaults(beside),
        **farm.units.over(under or Written()).defaults(),
        "corn": found(of.corn, beside),
        "legume": found(of.legume, beside),
        "after": of.after,
        "odds": farm.odds,
        "not_after": of.not_after,
        "seeding": of.seeding,
        "store": of.store,
        "corn_yield": of.yield_t_ha,
        "colder_by": None if of.logger else of.colder_by,
        "all_nights": of.all_nights or None,
        "logger": found(of.logger, beside),
        "logger_units": of.logger_units,
    }
    return {option: value for option, value in values.items() if value is not None}


def fields(farm: Farm, beside: Path) -> tuple[FarmField, ...]:
    """The fields that have an area and a seeding day, for the order in which they are chopped.

    Raises `SettingError` where none has.
    """
    all_of = []
    for name, of in farm.field.items():
        if of.area_ha is None or of.seeding is None:
            continue
        own = {} if of.yield_t_ha is None else {"yields": of.yield_t_ha}
        corn, legume, logger = (found(text, beside) or "" for text in (of.corn, of.legume, of.logger))
        all_of.append(
            FarmField(
                name,
                of.area_ha,
                from_code(of.seeding),
                corn,
                legume,
                of.place or "",
                of.haul_km,
                legume_share=of.legume_share,
                store=of.store or "",
                colder_by=of.colder_by,
                all_nights=of.all_nights,
                logger=logger,
                logger_units=of.logger_units,
                silking=None if of.silking is None else from_code(of.silking),
                milk_line=_seen(of.milk_line, of.milk_line_on),
                moisture=_seen(of.moisture, of.moisture_on),
                **own,
            )
        )
    if not all_of:
        raise SettingError("No field of the settings file has both area_ha and seeding.", "Add them to the fields.")
    return tuple(all_of)


def _seen(value: float | None, on: str | None) -> tuple[float, int | None] | None:
    """A value that was seen, with its column; None where nothing was, and for the column where it was today."""
    return None if value is None else (value, None if on is None else from_code(on))
