"""An invented region around River Flat: a dozen stations with made-up weather, and a list of made-up fields."""

import atexit
import shutil
import tempfile
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from numpy.random import RandomState

from frostkit.demo.generate import layout, weather
from frostkit.demo.place import settled

FIRST = 1990  # season from which the stations were read
COOLER_NORTH = 0.6  # degC a degree of latitude: invented, like the rest
COOLER_UP = 0.0065  # degC a metre (ISO 2533)
FIELDS = 30
CROPS = ("silage-2300+forage-late", "silage-2150+forage-late", "silage-2450", "silage-2000+forage-late")


class Spot(NamedTuple):
    """A station that is not there."""

    name: str
    latitude: float
    longitude: float
    height: int


STATIONS = (
    Spot("north ridge", 50.9, -100.6, 610),
    Spot("north bench", 50.8, -99.4, 520),
    Spot("long coulee", 50.5, -101.2, 560),
    Spot("upper ford", 50.4, -100.1, 450),
    Spot("willow bend", 50.3, -98.9, 380),
    Spot("stone corner", 50.0, -101.0, 480),
    Spot("river flat east", 50.0, -99.6, 390),
    Spot("sand hills", 49.8, -98.7, 360),
    Spot("lower ford", 49.6, -100.3, 410),
    Spot("oak hollow", 49.5, -99.2, 340),
    Spot("south bench", 49.2, -100.8, 430),
    Spot("south mouth", 49.1, -98.9, 300),
)


def write(folder: Path) -> tuple[Path, Path]:
    """The region's files, all of it invented: the list of fields, and the folder of stations with their positions."""
    stations = folder / "stations"
    stations.mkdir(parents=True)
    lines = ["id,name,latitude,longitude,elevation"]
    told = settled()
    for number, spot in enumerate(STATIONS):
        own = deepcopy(told["weather"])
        own["first"] = own["first"].replace(year=FIRST)
        own["mean"]["level"] -= COOLER_NORTH * (spot.latitude - told["station"]["latitude"])
        own["mean"]["level"] -= COOLER_UP * (spot.height - told["station"]["elevation"])
        days = weather(own, RandomState(own["seed"] + 1 + number))
        name = f"DEMO{number + 1:07d}"
        text = "\n".join(layout(name, days, [], [])) + "\n"
        (stations / f"{name}.dly").write_text(text, "ascii", newline="\n")
        lines.append(f"{name},{spot.name},{spot.latitude},{spot.longitude},{spot.height}")
    (stations / "stations.csv").write_text("\n".join(lines) + "\n", "utf-8")
    return _fields(folder / "fields.csv"), stations


def _fields(path: Path) -> Path:
    dice = RandomState(settled()["weather"]["seed"])
    lines = ["name,lat,lon,height,crops,store"]
    for number in range(FIELDS):
        near = STATIONS[number % len(STATIONS)]
        north, east = dice.uniform(-0.2, 0.2, 2)
        height = near.height + int(dice.randint(-40, 40))
        spot = f"{near.latitude + north:.3f},{near.longitude + east:.3f},{height}"
        lines.append(f"field {number + 1},{spot},{CROPS[number % len(CROPS)]},bunker")
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


@lru_cache(maxsize=1)
def written() -> tuple[Path, Path]:
    """The same in a folder of its own, made once a process and gone with it."""
    folder = Path(tempfile.mkdtemp(prefix="frostkit-region-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return write(folder)
