"""The fields of a farm from a plain CSV: where, how large, what stands on them and since when."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from frostkit.errors import FrostkitError, RecordError, SettingError, nearest
from frostkit.records import cells
from frostkit.seasons.calendar import from_code

ACRE = 0.40468564224  # ha, international acre, exact
MILE = 1.609344  # km, international mile, exact
TON = 0.90718474  # t, short ton, exact
LONGEST = 80  # letters of a field's name
LARGEST, FARTHEST, MOST = 5000.0, 300.0, 60.0  # ha, km, t dry matter a ha: beyond them is a slip of the hand

COLUMNS = {
    "name": ("name", "field"),
    "area": ("area_ha", "area_ac"),
    "seeded": ("seeded", "seeding_day"),
    "corn": ("corn", "hybrid"),
    "legume": ("legume",),
    "place": ("place",),
    "haul": ("haul_km", "haul_mi"),
    "yield": ("yield_t_ha", "yield_ton_ac"),
    "legume_share": ("legume_share",),
    "store": ("store",),
    "colder_by": ("colder_by",),
    "logger": ("logger",),
    "silking": ("silking",),
    "milk_line": ("milk_line",),
    "milk_line_on": ("milk_line_on",),
    "moisture": ("moisture",),
    "moisture_on": ("moisture_on",),
}
NUMBERS = ("area", "haul", "yield", "legume_share", "colder_by", "milk_line", "moisture")
NEEDED = ("name", "area", "seeded", "corn")
FACTORS = {"area_ac": ACRE, "haul_mi": MILE, "yield_ton_ac": TON / ACRE}
USUAL_YIELD = 12.0  # t dry matter a ha where the file says none: common practice, no source
Seen = tuple[float, int | None]


@dataclass(frozen=True)
class Field:
    """One field.

    area : ha; seeded : column; corn, legume : names or files of crop entries; place : fields of one place need no move;
    haul : km to the store; yields : t dry matter a ha; legume_share : share of the wet weight that is legume
    store : where it goes, "" where that is not said of this field
    colder_by : degC, a low spot on clear, calm nights, or on all; logger : the field's own logger, a file
    silking : column; milk_line : (share, column); moisture : (percent, column): what was seen; column None: today
    """

    name: str
    area: float
    seeded: int
    corn: str
    legume: str = ""
    place: str = ""
    haul: float = 0.0
    yields: float = USUAL_YIELD
    legume_share: float = 0.0
    store: str = ""
    colder_by: float | None = None
    all_nights: bool = False
    logger: str = ""
    logger_units: str | None = None
    silking: int | None = None
    milk_line: Seen | None = None
    moisture: Seen | None = None

    @property
    def seen(self) -> bool:
        """Whether anything was seen in it this season."""
        return not (self.silking is None and self.milk_line is None and self.moisture is None)

    def __post_init__(self) -> None:
        if not self.name.isprintable() or len(self.name) > LONGEST:
            raise SettingError(
                f"'{self.name[:LONGEST]}' is no name of a field; allowed: up to {LONGEST} letters, all of them seen.",
                "Give it a shorter, plain name.",
            )
        for what, value, low, high, unit in (("an area", self.area, 0, LARGEST, "ha"),
                                             ("a yield", self.yields, 0, MOST, "t a ha")):  # fmt: skip
            if not low < value <= high:
                raise SettingError(f"{self.name}: {what} of {value:g} {unit} is not above {low:g} and up to {high:g}.",
                                   "Correct the number, or its unit.")  # fmt: skip
        if not 0 <= self.haul <= FARTHEST:
            raise SettingError(f"{self.name}: a haul of {self.haul:g} km is outside 0 to {FARTHEST:g}.",
                               "Give the distance to the store, 0 where it lies beside it.")  # fmt: skip
        if not 0 <= self.legume_share < 1:
            raise SettingError(f"{self.name}: a legume share of {self.legume_share:g} is outside 0 to 1.",
                               "Give a share of the wet weight, such as 0.1.")  # fmt: skip

    @property
    def tonnes(self) -> float:
        """Dry matter that stands on it [t]."""
        return self.area * self.yields


def read_fields(path: str | Path) -> tuple[Field, ...]:
    """The fields in a CSV file, one a line.

    A header such as ``name,area_ha,seeded,corn,legume,place,haul_km,yield_t_ha``; acres, miles, short tons an acre are
    written as ``area_ac``, ``haul_mi``, ``yield_ton_ac``. Seeded is MM-DD; yield is dry matter. Name, area, seeded and
    corn are needed. Besides: store, colder_by [degC], logger (a file), silking, milk_line and milk_line_on, moisture
    and moisture_on.

    Raises
    ------
    RecordError
        Where a column is missing, a name repeats, or a cell is not what it should be: with the line.
    """
    path = Path(path)
    header, table_of = cells.opened(path, "name, area_ha, seeded, corn")
    header = [name.lower() for name in header]
    found = _columns(header, path.name)
    table = table_of(header)
    return _fields(table, found)


def _columns(header: list[str], file: str) -> dict[str, int]:
    known = {name for names in COLUMNS.values() for name in names}
    for name in header:
        if name not in known:
            raise RecordError(f"{file}: the column '{name}' is not known.{nearest(name, known)}",
                              f"Allowed: {', '.join(sorted(known))}.")  # fmt: skip
    found = {key: next((header.index(n) for n in names if n in header), -1) for key, names in COLUMNS.items()}
    missing = [COLUMNS[key][0] for key in NEEDED if found[key] < 0]
    if missing:
        raise RecordError(f"{file}: no column for {', '.join(missing)}; the columns are: {', '.join(header)}.",
                          "Name them in a header, such as name,area_ha,seeded,corn,place,haul_km")  # fmt: skip
    return {key: index for key, index in found.items() if index >= 0}


def _fields(table: cells.Table, found: dict[str, int]) -> tuple[Field, ...]:
    numbers = {
        key: cells.numbers(table, found[key], "a number") * FACTORS.get(table.names[found[key]], 1.0)
        for key in NUMBERS
        if key in found
    }
    texts = {key: table.cells(found[key]) for key in found if key not in NUMBERS}
    rows = len(texts["name"])
    usual = {"haul": 0.0, "yield": USUAL_YIELD, "legume_share": 0.0}
    fields: list[Field] = []
    for row in range(rows):

        def number(key: str, row: int = row) -> float:
            value = float(numbers[key][row]) if key in numbers else float("nan")
            return usual.get(key, float("nan")) if np.isnan(value) else value

        def text(key: str, row: int = row) -> str:
            return texts[key][row] if key in texts else ""

        def day(key: str) -> int | None:
            return from_code(text(key)) if text(key) else None

        def seen(key: str) -> Seen | None:
            return None if np.isnan(number(key)) else (number(key), day(f"{key}_on"))

        name = text("name")
        if not name or any(field.name == name for field in fields):
            raise RecordError(f"{table.where(row, found['name'])}: "
                              + (f"'{name}' is there twice." if name else "a field has no name."),
                              "Give each field a name of its own.")  # fmt: skip
        if not text("corn"):
            raise RecordError(f"{table.where(row, found['corn'])}: no corn is named.",
                              "Name a crop entry, such as silage-2300, or a file of yours.")  # fmt: skip
        try:
            fields.append(
                Field(
                    name,
                    number("area"),
                    from_code(text("seeded")),
                    text("corn"),
                    text("legume"),
                    text("place"),
                    number("haul"),
                    number("yield"),
                    number("legume_share"),
                    text("store"),
                    None if np.isnan(number("colder_by")) else number("colder_by"),
                    logger=text("logger"),
                    silking=day("silking"),
                    milk_line=seen("milk_line"),
                    moisture=seen("moisture"),
                )
            )
        except FrostkitError as fault:
            raise RecordError(f"{table.file}, line {table.lines[row]}: {fault.what}", fault.do) from None
    return tuple(fields)
