"""Trials of covers and legumes sown into corn, simulated on light alone at the nearest real record: rows of values_2.csv.

What a row does not say (sowing days, harvest days, the corn's leaf area in seed corn) is judgement and stands in `ROWS`.
The covers were rye, ryegrass, clover, radish, camelina and climbing beans; the model's plant is a soybean.
"""

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from tempfile import mkdtemp

import numpy as np

from frostkit.answers.legume import bean_light
from frostkit.answers.plans import plan
from frostkit.crops.entry import load
from frostkit.ensemble.fold import fold
from frostkit.records.readers import read
from frostkit.seasons import canopy
from frostkit.seasons.calendar import MISSING, column
from frostkit.seasons.growth import reached
from frostkit.seasons.heat import running
from tests.conftest import SHARED
from tests.real_records import place

CORN, BEAN = load("silage-2300"), load("forage-late")
WITH = -1  # sown on the corn's day


@dataclass(frozen=True)
class Row:
    """One figure of a trial.

    measured : from the values of `ids`; [kg/ha], or share of the same sowing without corn
    station, latitude, years : record, the trial's latitude, first and last season simulated
    corn, end : the corn's sowing day and the day of the sampling, "MM-DD"
    collars : leaf collars at which it was sown (their mean is taken), or `WITH`
    after : days after the corn, where the row says days
    leaf : the corn's leaf area relative to the library's
    fitted : whether the competition factor is fitted to it; else why not, in words
    """

    name: str
    ids: tuple[str, ...]
    station: str
    latitude: float
    years: tuple[int, int]
    corn: str
    end: str
    collars: tuple[int, ...] = ()
    after: tuple[int, ...] = ()
    of_open: bool = False
    leaf: float = 1.0
    way: str = "even"
    fitted: bool = True
    why: str = ""


ROWS = (
    Row(
        "covers at V7, North Dakota, share of no corn",
        ("LGT-25",),
        "twin_cities",
        46.9,
        (2018, 2019),
        "05-10",
        "10-10",
        collars=(7,),
        of_open=True,
    ),
    Row(
        "crimson clover at V2 to V7, Michigan",
        ("LGT-31",),
        "milwaukee",
        42.7,
        (2016, 2018),
        "05-10",
        "10-10",
        collars=(2, 3, 4, 5, 6, 7),
    ),
    Row(
        "annual ryegrass at V2 to V7, Michigan",
        ("LGT-32",),
        "milwaukee",
        42.7,
        (2016, 2018),
        "05-10",
        "10-10",
        collars=(2, 3, 4, 5, 6, 7),
    ),
    Row(
        "covers at V4 to V6 in seed corn, Ontario",
        ("LGT-27",),
        "toronto",
        42.4,
        (2009, 2011),
        "05-15",
        "09-20",
        collars=(4, 5, 6),
        leaf=0.6,
    ),
    Row(
        "lablab 2 to 4 weeks after corn, Wisconsin",
        ("FED-15", "FED-16"),
        "milwaukee",
        43.3,
        (2002, 2004),
        "05-05",
        "09-10",
        after=(14, 21, 28),
    ),
    Row("soybean with the corn, Quebec", ("FED-14",), "ottawa", 45.4, (1987, 1989), "05-15", "09-10", collars=(WITH,)),
    Row(
        "covers at V10 to V12 in seed corn, Ontario",
        ("LGT-30",),
        "toronto",
        42.4,
        (2009, 2011),
        "05-15",
        "09-20",
        collars=(10, 11, 12),
        leaf=0.6,
        fitted=False,
        why="hardy covers that go on growing in light the falling leaves of seed corn give back",
    ),
    Row(
        "covers at R4, North Dakota, share of no corn",
        ("LGT-26",),
        "twin_cities",
        46.9,
        (2018, 2019),
        "05-10",
        "10-20",
        after=(90,),
        of_open=True,
        fitted=False,
        why="sown into corn that ripens: the model lets no leaf fall",
    ),
    Row(
        "covers in 60-inch rows, Iowa",
        ("LGT-35",),
        "milwaukee",
        42.0,
        (2018, 2019),
        "05-01",
        "10-05",
        collars=(3, 4, 5),
        way="wide",
        fitted=False,
        why="other rows, and mixes with summer grasses",
    ),
)
QUEBEC_CORN = (
    12_000.0  # kg/ha of corn beside the beans: judgement, a common silage yield; the abstract gives protein only
)
LB_AC = 1.12085  # kg/ha


def values(shared: Path = SHARED) -> dict[str, float]:
    """Expected values of values_2.csv by id."""
    with open(shared / "checks" / "values_2.csv", encoding="utf-8", newline="") as file:
        return {
            row["id"]: float(row["expected"])
            for row in csv.DictReader(file)
            if row["expected"].replace(".", "").replace("-", "").isdigit()
        }


def measured(row: Row) -> float:
    """What the field had [kg/ha, or share of the open]."""
    of = values()
    if row.ids[0] == "FED-15":  # 8.8 % of the 19.9 t/ha of both
        return of["FED-15"] / 100 * 19_900
    if row.ids[0] == "FED-14":  # share of the dry matter that explains the protein
        return QUEBEC_CORN * of["FED-14"]
    if row.ids[0] == "LGT-35":  # 2,500 to 4,000 lb/ac
        return 3_250 * LB_AC
    return of[row.ids[0]]


@lru_cache
def weather(station: str, years: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """Tmin, Tmax of whole seasons, int16 [season, 365]; a missing day lies straight between its neighbours here."""
    path, options = place(station, SHARED, Path(mkdtemp()))
    record = read(path, **options)
    folded = fold(record.start, record.tmin, record.tmax)
    kept = (folded.seasons >= years[0]) & (folded.seasons <= years[1])
    out = []
    for values_ in (folded.tmin[kept], folded.tmax[kept]):
        whole = values_.astype(float)
        for season, missing in zip(whole, values_ == MISSING):
            season[missing] = np.interp(np.flatnonzero(missing), np.flatnonzero(~missing), season[~missing])
        out.append(np.rint(whole).astype(np.int16))
    return out[0], out[1]


def simulated(row: Row, end: str = "high") -> float:
    """The same on light alone, mean of the seasons and sowings [kg/ha, or share of the open]."""
    tmin, tmax = weather(row.station, row.years)
    light = bean_light.growing_light(tmin, tmax, row.latitude)
    heat = bean_light.corn_heat(CORN, tmin, tmax)
    corn_day, last = (column(*(int(part) for part in day.split("-"))) for day in (row.corn, row.end))
    planted = np.full((len(tmin), 1), corn_day)
    sown = [planted[:, 0] + days for days in row.after]
    for number in row.collars:
        need = round(bean_light.collar_heat(CORN, number)[0]) if number != WITH else 0
        sown.append(planted[:, 0] if number == WITH else np.array([reached(one, [corn_day], need)[0] for one in heat]))
    days = np.stack(sown, axis=1).astype(int)
    emergence = plan(BEAN, goal="emergence").stages[0]
    total = running(emergence.clock.rate(tmin, tmax))
    up = np.stack([reached(one, day, emergence.need) for one, day in zip(total, days)])
    if row.way == "even":
        corn = bean_light.even_corn(CORN, heat, planted, end)
    else:
        corn = bean_light.row_corn(CORN, heat, planted, row.latitude, row.way, 0.0, end=end)
    corn = corn._replace(reaches=corn.reaches**row.leaf)
    bean = bean_light.bean(end)
    under = canopy.growth(light, up, [last], bean, corn)[0].mean()
    return float(under / canopy.growth(light, up, [last], bean)[0].mean() if row.of_open else under)


def fit(rows: tuple[Row, ...]) -> tuple[float, float]:
    """The competition factor, (low, middle): the least and the geometric mean of measured / light alone."""
    left = [measured(row) / simulated(row) for row in rows]
    return min(left), float(np.exp(np.mean(np.log(left))))


def left_out() -> list[tuple[Row, float, float, float, float]]:
    """(row, measured, low, middle, high): each row by light alone and the factor fitted to the others."""
    out = []
    for row in ROWS:
        low, middle = fit(tuple(other for other in ROWS if other.fitted and other.name != row.name))
        alone = simulated(row)
        out.append((row, measured(row), low * alone, middle * alone, alone))
    return out
