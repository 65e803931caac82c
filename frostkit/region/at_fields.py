"""Fields between stations: the odds of every station of a folder, told at each field with its own spread."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from frostkit.answers.seeding.grids import SOON
from frostkit.errors import RecordError
from frostkit.region import results
from frostkit.region.answer import CROPS, ENDS, Answers, Question, empty, own_crop, windows
from frostkit.region.between import FEWEST, Errors, Process, errors, learn, log_odds, odds_between, own_variance
from frostkit.region.engine import Progress, Run, run
from frostkit.region.places import Fields, Place, stations

Floats = NDArray[np.float64]
SPREAD = "window_to_spread"


def between(
    source: Fields, question: Question, room: Path, workers: int | None, progress: Progress | None
) -> tuple[xr.Dataset, Run, Errors | None]:
    """The answers of a list of fields, each told from all stations of its folder.

    Shares and their intervals carry the spread between stations; windows are those of the shares; `window_to_spread`
    is one standard deviation of the last sowing day, days. Counts of seasons are the stations', at half of them.

    Parameters
    ----------
    source, question : the fields, and what is asked of each
    room : a folder for the stations' answers; workers, progress : as in `engine.run`

    Returns
    -------
    answers by field, what came of the last run over the stations, and the error of the last sowing day by leaving
    blocks of stations out (None where too few have a window)

    Raises `RecordError` where fewer than eight stations can be answered.
    """
    groups: dict[tuple[str | None, str | None, str | None], list[int]] = {}
    for number, one in enumerate(source.fields):
        groups.setdefault((one.corn, one.legume, one.store), []).append(number)
    out = empty(source.count, question.days.size)
    spread = np.full(source.count, np.nan)
    found: Errors | None = None
    ran = Run(0, 0, 0, {})
    for at, ((corn, legume, store), numbers) in enumerate(groups.items()):
        own = replace(
            question,
            corn=own_crop(corn, question.corn),
            legume=own_crop(legume, question.legume),
            store=store or question.store,
        )
        path = room / f"stations {at}.zarr"
        ran = run(stations(source.folder), own, path, workers=workers, progress=progress)
        of, _ = results.read(path)
        part, wide, found = _told(of, own, [source.fields[number] for number in numbers])
        spread[numbers] = wide
        for name, values in part.items():
            out[name][numbers] = values
    data = {name: (dims(values), values, results.ABOUT[name]) for name, values in out.items()}
    for name in ("name", "note", "station", "corn", "legume", "store"):
        data[name] = ("place", data[name][1].astype(str), results.ABOUT[name])
    data[SPREAD] = ("place", spread, {"long_name": "one standard deviation of the last sowing day", "units": "days"})
    coords = {"crop": ("crop", np.array(CROPS)), "seeding": ("seeding", question.days)}
    ds = xr.Dataset(data, coords, results.attributes(source, question))
    return ds.set_coords(["name", "latitude", "longitude"]), ran, found


def dims(values: NDArray) -> tuple[str, ...] | str:
    """The dimensions of a variable of answers."""
    return ("place", "crop", "seeding") if values.ndim == 3 else "place"


def _told(of: xr.Dataset, question: Question, fields: list[Place]) -> tuple[Answers, Floats, Errors | None]:
    """Every variable of some fields that ask the same."""
    spots = [of[name].to_numpy().astype(float) for name in ("latitude", "longitude", "height")]
    good = (of["counted"].to_numpy() > 0) & np.isfinite(spots[0]) & np.isfinite(spots[1])
    if good.sum() < FEWEST:
        raise RecordError(
            f"{good.sum()} stations with an answer and a position are too few to say anything between them; it takes "
            f"{FEWEST}.",
            "Leave --between out: each field then takes the nearest station.",
        )
    spots = [one[good] for one in spots]
    seasons = of["counted"].to_numpy()[good].astype(float)
    usual = float(np.median(seasons))
    to = [np.array([getattr(one, name) for one in fields]) for name in ("latitude", "longitude", "height")]
    out = empty(len(fields), question.days.size)
    every = [name for name in CROPS if of["seasons"].sel(crop=name).to_numpy()[good].any()]
    for name in every:
        at = CROPS.index(name)
        for part in ("share", "ready", "plan"):
            values = of[part].to_numpy()[good, at].astype(float)
            process = _process(spots, values, seasons)
            told = odds_between(process, to[0], to[1], to[2], usual)
            out[part][:, at] = told.share
            if part == "share":
                out["low"][:, at], out["high"][:, at] = told.low, told.high
        out["seasons"][:, at] = round(usual)
        out["count"][:, at] = np.floor(out["share"][:, at] * round(usual) + 1e-6)
    subject = CROPS.index("both" if len(every) == 3 else every[0])
    allowed = np.ones(question.days.size, bool)
    if question.not_after is not None:
        allowed = question.days <= question.not_after
    starts = (out["ready"][:, subject] >= SOON) & (out["plan"][:, subject] >= question.odds) & allowed
    first, last = windows(starts, (out["share"][:, subject] >= question.odds) & allowed)
    for end, place in (("from", first), ("to", last)):
        out[f"window_{end}"] = np.where(last >= 0, question.days[np.maximum(place, 0)], np.nan)
    spread, found = _dates(of, good, spots, to, out)
    for number, one in enumerate(fields):
        out["name"][number] = one.name
        for name in ("latitude", "longitude", "height"):
            out[name][number] = getattr(one, name)
        out["corn"][number] = "" if question.corn is None else question.corn.name
        out["legume"][number] = "" if question.legume is None else question.legume.name
        out["store"][number] = question.store
    for name, how in (("first_season", np.min), ("last_season", np.max), ("counted", np.median)):
        out[name][:] = int(how(of[name].to_numpy()[good]))
    return out, spread, found


def _process(spots: list[Floats], share: Floats, seasons: Floats) -> Process:
    """What was learnt of shares. share : [station, seeding day]"""
    count = share * seasons[:, None]
    noise = np.median(own_variance(share, float(np.median(seasons))), axis=1)
    return learn(spots[0], spots[1], spots[2], log_odds(count, seasons[:, None]), noise)


def _dates(
    of: xr.Dataset, good: NDArray[np.bool_], spots: list[Floats], to: list[Floats], out: Answers
) -> tuple[Floats, Errors | None]:
    """The other dates of fields that have a window, the spread of the last sowing day, and its error by blocks."""
    spread, found = np.full(len(to[0]), np.nan), None
    there = np.isfinite(out["window_to"])
    for name in ENDS:
        values = of[name].to_numpy()[good]
        known = np.isfinite(values)
        if known.sum() < FEWEST:
            continue
        here = spots[0][known], spots[1][known], spots[2][known]
        noise = np.full(int(known.sum()), 1.0)  # days squared: a window's end is one of whole days
        told = learn(*here, values[known], noise).at(to[0], to[1], to[2])
        if name == "window_to":
            spread = np.where(there, told.deviation[:, 0], np.nan)
            if known.sum() >= 2 * FEWEST:
                found = errors(*here, values[known], noise)
        elif name != "window_from":
            out[name] = np.where(there, np.rint(told.mean[:, 0]), np.nan)
    for end, inner in (
        ("from", np.maximum),
        ("to", np.minimum),
    ):  # the core lies inside the window, the fringe around it
        outer = np.minimum if inner is np.maximum else np.maximum
        out[f"core_{end}"] = inner(out[f"core_{end}"], out[f"window_{end}"])
        out[f"fringe_{end}"] = outer(out[f"fringe_{end}"], out[f"window_{end}"])
    return spread, found
