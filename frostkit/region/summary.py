"""What the places of a region say together, as an answer: how many have a window, from when to when, a row a place."""

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from frostkit.answers.answer import Amount, Answer, Column, CropName, Day, Odds, Says, Table, Term
from frostkit.answers.cautions import cautions_of
from frostkit.errors import RecordError, SettingError
from frostkit.region import at_fields, results
from frostkit.region.answer import ENDS, Question
from frostkit.region.at_fields import SPREAD
from frostkit.region.engine import Progress, Run, run
from frostkit.region.further import VARIABLES
from frostkit.region.places import Fields, Grid, Source, keep
from frostkit.region.store import why

KINDS = (".zarr", ".nc", ".csv", ".geojson")
FAR = 50.0  # km from station to field from which on it is said (common practice, no source)
HIGH = 150.0  # m between them: a degree Celsius, at the usual 6.5 a kilometre (ISO 2533)
MOST = 40  # rows that people read


def region(
    source: Source,
    question: Question,
    *,
    out: str | Path | None = None,
    store: str | Path | None = None,
    between: bool = False,
    scheduler: str | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Answer:
    """The window of every place.

    Parameters
    ----------
    source, question : which places, and what is asked of each
    out : where the answers go, by its ending: .zarr, .nc, .csv, .geojson; a run that was stopped goes on there
    store : a grid's days are kept there first, and answered from there
    between : fields are told from all stations, with the spread between them, and not from the nearest
    scheduler, workers, progress : as in `engine.run`

    Raises
    ------
    SettingError, RecordError
        For what can't be asked, read or written.
    """
    path = None if out is None else Path(out)
    if path is not None and path.suffix.lower() not in KINDS:
        raise SettingError(f"'{path.name}' does not end in a kind of answers.", f"End it in one of {', '.join(KINDS)}.")
    if path is not None and not path.resolve().parent.is_dir():
        raise SettingError(f"There is no folder '{path.parent}' for the answers.", "Make it, or name another one.")
    if store is not None:
        if not isinstance(source, Grid):
            raise SettingError("Only a grid's days are kept as a store.", "Leave --store-to out.")
        source = keep(source, store, progress)
    if between:
        if not isinstance(source, Fields):
            raise SettingError("Only fields lie between stations.", "Give a list of fields, with --stations.")
        if path is not None and path.suffix.lower() == ".zarr":
            raise SettingError("Fields between stations are not kept as zarr.", "End it in .nc, .csv or .geojson.")
        if question.also:
            raise SettingError("Between stations only the window is told.", "Leave --also out, or --between.")
        with tempfile.TemporaryDirectory(prefix="frostkit-") as room:
            found, ran, off = at_fields.between(source, question, Path(room), workers, progress)
        found = _as_listed(found, source)
        if path is not None:
            write(found, path)
        answer = answer_of(found, question, ran, ran.faults, path, source)
        if off is None:
            return answer
        values = {"error": off.rms, "nearest": off.nearest}
        between_ = {"rms_days": off.rms, "nearest_rms_days": off.nearest, "inside_interval": off.inside}
        return answer.with_more([Says("between", values)], {"between": between_})
    with _folder(path) as folder:
        ran = run(source, question, folder, scheduler=scheduler, workers=workers, progress=progress)
        found, faults = results.read(folder)
        for block, reason in ran.faults.items():
            found["note"][block * source.block : (block + 1) * source.block] = reason
        found = _as_listed(found, source)
        if path is not None and path != folder:
            write(found, path)
    return answer_of(found, question, ran, {**faults, **ran.faults}, path, source)


def _as_listed(found: xr.Dataset, source: Source) -> xr.Dataset:
    """Fields in the order of their list."""
    return found.isel(place=np.argsort(source.order)) if isinstance(source, Fields) else found


@contextmanager
def _folder(path: Path | None) -> Iterator[Path]:
    """Where the blocks' answers are kept: the zarr itself, a folder beside the file wanted, or for this run alone.

    The folder beside a file goes once the file is whole; until then a run that was stopped goes on from it.
    """
    if path is not None and path.suffix.lower() == ".zarr":
        yield path
        return
    if path is not None:
        beside = path.with_name(f".{path.name}.parts.zarr")
        yield beside
        shutil.rmtree(beside, ignore_errors=True)
        return
    with tempfile.TemporaryDirectory(prefix="frostkit-") as folder:
        yield Path(folder) / "region.zarr"


def write(found: xr.Dataset, path: Path) -> None:
    """The answers as one file, whole or not at all. Raises `RecordError` where it can't be written."""
    partial = path.with_name(f".{path.name}.part")
    try:
        match path.suffix.lower():
            case ".nc":
                found.to_netcdf(partial, engine="h5netcdf", encoding=_packed(found))
            case ".csv":
                partial.write_text(as_csv(found), "utf-8")
            case ".geojson":
                partial.write_text(results.as_geojson(found), "utf-8")
        partial.replace(path)
    except OSError as fault:
        raise RecordError(f"{path} can't be written: {why(fault)}.", "Make room, and run it again.") from None
    finally:
        partial.unlink(missing_ok=True)


def _packed(found: xr.Dataset) -> dict[str, Any]:
    return {str(name): {"zlib": True, "complevel": 4} for name, of in found.data_vars.items() if of.dtype.kind in "fi"}


def as_csv(found: xr.Dataset) -> str:
    """A row a place."""
    return pd.DataFrame(results.as_rows(found)).to_csv(index=False, lineterminator="\n")


def answer_of(
    found: xr.Dataset, question: Question, ran: Run, faults: dict[int, str], path: Path | None, source: Source
) -> Answer:
    """The region's answer: no language."""
    first, last = (found[name].to_numpy() for name in ("window_from", "window_to"))
    notes, there = found["note"].to_numpy(), np.isfinite(first)
    answered = found["counted"].to_numpy() > 0
    said: dict[str, Any] = {
        "subject": Term(f"subject_{_subject(question)}"),
        "odds": Odds(question.odds),
        "with": int(there.sum()),
        "places": int(there.size),
        "answered": int(answered.sum()),
    }
    sentences = []
    if there.any():
        for name, values in (("from", first[there]), ("to", last[there])):
            low, half, high = np.sort(values)[[0, (values.size - 1) // 2, -1]]
            sentences.append(Says(name, {"first": Day(low), "half": Day(half), "last": Day(high)}))
    if (none := int((answered & ~there).sum())) > 0:
        sentences.append(Says("none", {"places": none, "odds": said["odds"]}))
    if (holes := int((~answered).sum())) > 0:
        why_not = next((str(note) for note in notes[~answered] if note), "")
        sentences.append(Says("holes", {"places": holes, "first": why_not}))
    if faults:
        sentences.append(Says("blocks", {"blocks": len(faults), "first": min(faults), "reason": faults[min(faults)]}))
    sentences += _further_said(found)
    far = (found["distance"].to_numpy() > FAR).sum()
    if far:
        sentences.append(Says("far", {"places": int(far)}))
    high_above = (np.abs(found["height_above"].to_numpy()) > HIGH).sum()
    if high_above:
        sentences.append(Says("high", {"places": int(high_above)}))
    if path is not None:
        sentences.append(Says("out", {"path": str(path)}))
    values = {
        "places_asked": said["places"],
        "places_answered": said["answered"],
        "places_with_window": said["with"],
        "odds_wanted": question.odds,
        "climate": {"moved": question.climate, "for_season": question.season},
        "blocks": {"all": ran.blocks, "answered": ran.answered, "before": ran.before},
        "failed": [{"block": block, "reason": reason} for block, reason in faults.items()],
        "out": None if path is None else str(path),
    }
    settings: dict[str, Any] = {
        "corn": question.corn,
        "legume": question.legume,
        "dataset": found,
        "odds": question.odds,
    }
    settings |= {"source": source, "question": question}
    table = _table(found, there)
    headline = Says("some" if there.any() else "nowhere", said)
    if any("(invented)" in str(name) for name in found["station"].to_numpy()):
        sentences.append(Says("invented"))
    always = tuple(says for says in sentences if says.key in ("holes", "blocks", "out", "invented"))
    return Answer(
        "region", headline, tuple(sentences), values, (table,), cautions_of("seeding"), None, settings, always=always
    )


TOLD = ("spring_frost_nine", "fall_frost_one", "heat_units_nine", "silage_rating", "legume_last", "track_gap")
"""Variables asked beside the window that a sentence is about."""


def _further_said(found: xr.Dataset) -> list[Says]:
    """A sentence for each variable that tells most: least, middle and most over the places."""
    said = []
    for name in (name for name in TOLD if name in found):
        values = found[name].to_numpy()
        values = np.sort(values[np.isfinite(values)])
        if values.size:
            ends = (float(values[at]) for at in (0, (values.size - 1) // 2, -1))
            said.append(Says(name, dict(zip(("low", "half", "high"), map(_shown(name), ends), strict=True))))
    return said


def _shown(name: str) -> Callable[[float], Any]:
    """How a value of a variable stands in a sentence."""
    unit = VARIABLES[name].unit
    return Day if unit == "day" else lambda value: Amount(value, unit, 1 if unit == "points" else 0)


def _further_columns(found: xr.Dataset) -> list[Column]:
    """What was asked beside the window; only what tells most is shown to people."""
    columns = []
    for name, of in VARIABLES.items():
        if name in found:
            values = [float(value) if np.isfinite(value) else None for value in found[name].to_numpy()]
            kind = "day" if of.unit == "day" else "amount"
            unit = "" if of.unit in ("day", "count") else of.unit
            digits = 1 if of.unit == "points" else 0
            columns.append(Column(name, kind, values, unit, digits, of.shown))
    return columns


def _subject(question: Question) -> str:
    corn, legume = question.corn, question.legume
    return "both" if corn is not None and legume is not None else "corn" if corn is not None else "legume"


def _table(found: xr.Dataset, there: np.ndarray) -> Table:
    """A row a place."""
    text = {name: [str(value) for value in found[name].to_numpy()] for name in ("name", "station", "note", "store")}
    crops = {name: [CropName(one, one) if one else None for one in found[name].to_numpy().tolist()]
             for name in ("corn", "legume")}  # fmt: skip
    ends = {name: [float(value) if value == value else None for value in found[name].to_numpy()] for name in ENDS}
    numbers = {name: [float(value) if value == value else None for value in found[name].to_numpy()]
               for name in ("latitude", "longitude", "height", "distance", "height_above")}  # fmt: skip
    spread = None
    if SPREAD in found:
        spread = [float(value) if value == value else None for value in found[SPREAD].to_numpy()]
    listed = any(value is not None for value in numbers["distance"])
    noted = any(text["note"])
    columns = [
        Column("latitude", "number", numbers["latitude"], shown=False),
        Column("longitude", "number", numbers["longitude"], shown=False),
        Column("height", "amount", numbers["height"], "m", shown=False),
        Column("station", "text", text["station"], shown=listed),
        Column("distance", "amount", numbers["distance"], "km", shown=listed),
        Column("height_above", "amount", numbers["height_above"], "m", shown=False),
        Column("corn", "crop", crops["corn"], shown=False),
        Column("legume", "crop", crops["legume"], shown=False),
        Column("store", "text", text["store"], shown=False),
        *(Column(name, "day", ends[name], shown=name in SHOWN) for name in ENDS),
        *([Column(SPREAD, "amount", spread, "days", 1)] if spread is not None else []),
        *_further_columns(found),
        Column("counted", "number", found["counted"].to_numpy()),
        Column("complete", "number", found["complete"].to_numpy(), shown=False),
        Column("note", "text", text["note"], shown=noted),
    ]
    brief = np.arange(len(there)) if len(there) <= MOST else np.unique(np.linspace(0, len(there) - 1, MOST).astype(int))
    return Table("places", Column("name", "text", text["name"]), tuple(columns), marked=there, brief=brief)


SHOWN = ("window_from", "window_to", "core_to", "fringe_to", "ready_usual")
