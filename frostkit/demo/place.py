"""The invented place, read like any other: River Flat's made-up record, marked as invented."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from frostkit.records.readers import read
from frostkit.records.record import Record, Station

HERE = Path(__file__).parent
FILE = HERE / "river_flat.dly"
FARM = HERE / "farm.toml"
"""Settings of the invented farm at River Flat."""
BOOK = HERE / "book.toml"
"""The book of that farm: made-up days, samples and yields."""
LOGGER = HERE / "low_corner_logger.csv"
"""Hours of one made-up growing season in a low spot of the invented farm's field `corner`."""


def settled() -> dict[str, Any]:
    """What is settled about the invented place: its station, its climate, what its observer missed.

    >>> settled()["station"]["name"]
    'River Flat'
    """
    return tomllib.loads((HERE / "place.toml").read_text(encoding="utf-8"))


def demo_record() -> Record:
    """The record of River Flat, a place that is not there: 60 seasons of made-up days, through the real reader.

    >>> demo_record().invented
    True
    """
    station = Station(**{key: value for key, value in settled()["station"].items() if key != "source"})
    return replace(read(FILE), station=station)
