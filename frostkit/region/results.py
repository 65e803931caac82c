"""Answers of many places on disk: zarr, one chunk a block, a flag a block that is written after its answer.

A run that was stopped goes on where it was: blocks without their flag are worked out again. What a block without a flag
holds is read by nobody.
"""

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from frostkit.errors import RecordError, SettingError
from frostkit.region import store
from frostkit.region.answer import COUNTS, CROPS, ENDS, PARTS, SPAN, SPOTS, TEXTS, Answers, Question
from frostkit.region.further import VARIABLES, variables
from frostkit.region.places import Source, blocks
from frostkit.region.store import Spots
from frostkit.seasons.calendar import code

FORMAT = "frostkit region, 1"
DAY = "day of the 365-day season, 0 on 1 January, without 29 February; NaN where no day reaches the odds"
ABOUT: dict[str, dict[str, Any]] = {
    "share": {"long_name": "share of possible seasons in which it made it", "units": "1"},
    "low": {"long_name": "lower end of the 90 % interval of the share", "units": "1"},
    "high": {"long_name": "upper end of the 90 % interval of the share", "units": "1"},
    "yes": {"long_name": "seasons in which at least 9 in 10 draws said yes", "units": "count"},
    "no": {"long_name": "seasons in which at most 1 in 10 draws said yes", "units": "count"},
    "not_known": {"long_name": "seasons in which the draws disagree", "units": "count"},
    "seasons": {"long_name": "seasons counted; 0 where there is no answer", "units": "count"},
    "count": {"long_name": "seasons that said yes", "units": "count"},
    "ready": {"long_name": "share of possible seasons in which the soil was ready", "units": "1"},
    "plan": {"long_name": "share in which sowing on the first fit day from then on made it", "units": "1"},
    "window_from": {"long_name": f"first day to stand ready: {DAY}", "units": "1"},
    "window_to": {"long_name": f"last sowing day that reaches the odds: {DAY}", "units": "1"},
    "core_from": {"long_name": f"the same at the high end of the hybrid's need: {DAY}", "units": "1"},
    "core_to": {"long_name": f"the same at the high end of the hybrid's need: {DAY}", "units": "1"},
    "fringe_from": {"long_name": f"the same at the low end of the hybrid's need: {DAY}", "units": "1"},
    "fringe_to": {"long_name": f"the same at the low end of the hybrid's need: {DAY}", "units": "1"},
    "ready_usual": {"long_name": f"day by which the soil is fit in half of the seasons: {DAY}", "units": "1"},
    "ready_late": {"long_name": f"day by which the soil is fit in 9 of 10 seasons: {DAY}", "units": "1"},
    "first_season": {"long_name": "first season counted", "units": "1"},
    "last_season": {"long_name": "last season counted", "units": "1"},
    "counted": {"long_name": "seasons counted", "units": "count"},
    "complete": {"long_name": "seasons read without a hole", "units": "count"},
    "distance": {"long_name": "from station to field", "units": "km"},
    "height_above": {"long_name": "station above field", "units": "m"},
    "note": {"long_name": "why there is no answer; empty where there is one"},
    "station": {"long_name": "station behind the place"},
    "corn": {"long_name": "corn, by its entry"},
    "legume": {"long_name": "legume, by its entry"},
    "store": {"long_name": "where the silage goes"},
    **{name: store.ABOUT[name] for name in ("name", "latitude", "longitude", "height")},
    **{
        name: {
            "long_name": f"{of.long_name}: {DAY}" if of.unit == "day" else of.long_name,
            "units": "1" if of.unit == "day" else of.unit,
        }
        for name, of in VARIABLES.items()
    },
}


def create(path: str | Path, source: Source, question: Question, spots: Spots | None) -> None:
    """A place for answers, every block undone.

    spots : where the places lie, where that is known beforehand; else each block writes its own
    """
    try:
        group = store.zarr.open_group(str(path), mode="w", zarr_format=3)
        count, block, days = source.count, source.block, question.days
        group.attrs.update(attributes(source, question))
        for name in PARTS:
            kind, fill = ("int16", 0) if name in COUNTS else ("float32", np.nan)
            dims = ("place", "crop", "seeding")
            store.array(group, name, (count, len(CROPS), days.size), (block, len(CROPS), days.size), kind, dims, fill,
                        ABOUT[name])  # fmt: skip
        known = {} if spots is None else _known(spots, question)
        for name in (*ENDS, *SPOTS, *SPAN, *TEXTS, *variables(question.also)):
            kind_of: Any = str if name in TEXTS else "int32" if name in SPAN else "float64"
            fill_of = None if name in TEXTS else 0 if name in SPAN else np.nan
            chunk = count if name in known else block
            at = store.array(group, name, (count,), (chunk,), kind_of, ("place",), fill_of, ABOUT[name])
            if name in known:
                store.written(at, slice(None), known[name])
        seeding = {"long_name": "seeding day: day of the 365-day season, 0 on 1 January", "units": "1"}
        store.written(store.array(group, "seeding", days.shape, days.shape, "int64", ("seeding",), None, seeding),
                      slice(None), days)  # fmt: skip
        crops = store.array(group, "crop", (len(CROPS),), (len(CROPS),), str, ("crop",))
        store.written(crops, slice(None), np.array(CROPS, object))
        store.array(group, "done", (blocks(source),), (1,), "uint8", ("block",), 0,
                    {"long_name": "1: the block's answers are whole"})  # fmt: skip
    except OSError as fault:
        raise RecordError(f"{path} can't be written: {store.why(fault)}.", "Give it a folder with room.") from None


def _known(spots: Spots, question: Question) -> dict[str, Any]:
    """What is known of a grid's places before any is answered: written once."""
    told = {"station": spots.name}
    for name, value in (("corn", question.corn), ("legume", question.legume)):
        told[name] = np.full(len(spots), "" if value is None else value.name, object)
    told["store"] = np.full(len(spots), question.store, object)
    return told | {name: getattr(spots, name) for name in ("name", "latitude", "longitude", "height")}


def attributes(source: Source, question: Question) -> dict[str, Any]:
    """What stands at the head of the answers."""
    season = question.season
    return {
        "Conventions": "CF-1.11",
        "title": "frostkit region",
        "format": FORMAT,
        "climate": question.climate,
        **({} if season is None else {"for_season": season}),
        "odds_wanted": question.odds,
        "also": " ".join(question.also),
        "corn": "" if question.corn is None else question.corn.name,
        "legume": "" if question.legume is None else question.legume.name,
        "block": source.block,
        "shape": [list(one) for one in source.shape],
        "question": json.dumps(question.says(), sort_keys=True),
        "places": json.dumps(source.says(), sort_keys=True),
    }


def begun(path: str | Path, source: Source, question: Question) -> bool:
    """Whether answers to this very question about these places have been begun there.

    Raises `SettingError` where something else stands there.
    """
    at = Path(path)
    if not at.exists() or (at.is_dir() and not any(at.iterdir())):
        return False
    try:
        head = dict(store.opened(at, "r").attrs)
    except RecordError:
        head = {}
    if head.get("format") != FORMAT:
        raise SettingError(f"'{path}' is there and holds no answers of a region.", "Name another place.")
    wanted = attributes(source, question)
    unlike = [key for key in ("question", "places") if head.get(key) != wanted[key]]
    if unlike:
        raise SettingError(f"'{path}' holds answers to another question, or about other places.", "Name another place.")
    return True


@lru_cache(maxsize=2)
def _kept(path: str, made: int) -> dict[str, Any]:
    """Arrays of answers opened for writing, once a process. made : see `store.stamp`"""
    group = store.opened(path)
    return {name: of.with_config({"write_empty_chunks": True}) for name, of in group.arrays()}


def put(path: str, block: int, answers: Answers) -> None:
    """The answers of a block, and then its flag. Raises `OSError` where the disk is full: then there is no flag."""
    arrays = _kept(path, store.stamp(path))
    size = arrays["share"].chunks[0]
    at = slice(block * size, block * size + len(answers["share"]))
    for name, values in answers.items():
        of = arrays[name]
        if of.chunks[0] != size or (name in TEXTS and not any(values)):
            continue  # written once for all blocks, or nothing to say
        if name in TEXTS or not store.put_chunk(of, (block, *(0 for _ in of.shape[1:])), values):
            of[at] = values
    if not store.put_chunk(arrays["done"], (block,), np.ones(1, np.uint8)):
        arrays["done"][block] = 1


def undone(path: str | Path) -> list[int]:
    """Numbers of the blocks that have no answer yet."""
    flags = store.opened(path, "r")["done"]
    try:
        done = np.asarray(flags[:]) == 1
    except (ValueError, RuntimeError, OSError):  # a flag cut short by a full disk: each by itself
        done = np.zeros(flags.shape, bool)
        for number in range(done.size):
            try:
                done[number] = int(flags[number]) == 1
            except (ValueError, RuntimeError, OSError):
                continue
    return np.flatnonzero(~done).tolist()


def read(path: str | Path) -> tuple[xr.Dataset, dict[int, str]]:
    """Whole answers as a Dataset, and the blocks that can't be read, with the reason.

    Blocks that are not done, or are damaged, are holes: no window, no season counted, a note that says why.
    """
    group = store.opened(path, "r")
    size, count = int(group.attrs["block"]), int(group["share"].shape[0])
    faults = dict.fromkeys(undone(path), "not done yet")
    data: dict[str, Any] = {}
    more = [name for name in VARIABLES if name in group]
    for name in (*PARTS, *ENDS, *SPAN, *TEXTS, *SPOTS, *more):
        of = group[name]
        values = _by_block(of, f"{path}, {name}", faults, by_block=of.chunks[0] == size, text=name in TEXTS)
        data[name] = (of.metadata.dimension_names, values, dict(of.attrs))
    for number, reason in faults.items():
        at = slice(number * size, (number + 1) * size)
        for name in (*PARTS, *ENDS, *SPAN, *more):
            data[name][1][at] = 0 if name in (*COUNTS, *SPAN) else np.nan
        data["note"][1][at] = reason
    for name in TEXTS:
        data[name] = (data[name][0], data[name][1].astype(str), data[name][2])
    coords = {
        "crop": ("crop", np.array(CROPS)),
        "seeding": ("seeding", np.asarray(group["seeding"][:]), dict(group["seeding"].attrs)),
    }
    assert count == len(data["share"][1])
    ds = xr.Dataset(data, coords, dict(group.attrs))
    return ds.set_coords(["name", "latitude", "longitude"]), dict(sorted(faults.items()))


def _by_block(of: Any, where: str, faults: dict[int, str], by_block: bool, text: bool) -> np.ndarray:
    """Values of an array; blocks of which a chunk is gone or damaged come into `faults` and keep the fill value."""
    chunks = range(-(-of.shape[0] // of.chunks[0]))
    try:
        values = store.checked(of, where)
        values = values.astype(object) if text else values.copy()
    except RecordError:
        values = np.full(of.shape, "" if text else of.fill_value, object if text else of.dtype)
        for number in chunks:
            at = slice(number * of.chunks[0], (number + 1) * of.chunks[0])
            try:
                values[at] = store.checked(of, f"{where}, block {number}", at)
            except RecordError as fault:
                if by_block:
                    faults.setdefault(number, fault.what)
    if by_block and not text:
        for number in chunks:
            if number not in faults and not store.there(of, (number, *(0 for _ in of.shape[1:]))):
                faults[number] = f"{where}, block {number}: its chunk is not there."
    return values


def as_rows(ds: xr.Dataset) -> list[dict[str, Any]]:
    """A row a place, plain: days as "MM-DD", what is not known as None."""
    columns: dict[str, Any] = {}
    for name in (
        "name",
        "latitude",
        "longitude",
        "height",
        *TEXTS[2:],
        "distance",
        "height_above",
        *ENDS,
        *(name for name in VARIABLES if name in ds),
        *SPAN,
        "note",
    ):
        values = ds[name].to_numpy()
        if name in ENDS or (name in VARIABLES and VARIABLES[name].unit == "day"):
            columns[name] = [code(value) if np.isfinite(value) else None for value in values]
        elif values.dtype.kind == "f":
            columns[name] = [round(float(value), 5) if np.isfinite(value) else None for value in values]
        else:
            columns[name] = values.tolist()
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def as_geojson(ds: xr.Dataset) -> str:
    """Places as points with their windows (RFC 7946); places without a position are left out, and counted."""
    features = []
    for row in as_rows(ds):
        if row["latitude"] is None or row["longitude"] is None:
            continue
        point = {"type": "Point", "coordinates": [row.pop("longitude"), row.pop("latitude")]}
        features.append({"type": "Feature", "geometry": point, "properties": row})
    whole = {"type": "FeatureCollection", "features": features, "places": int(ds.sizes["place"])}
    return json.dumps(whole, ensure_ascii=False, allow_nan=False)
