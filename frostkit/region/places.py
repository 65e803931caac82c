"""The seeding answer for many places at once, in blocks: the same grid and odds, over stations or grid cells."""

from collections.abc import Sequence

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from frostkit.answers.plans import plan
from frostkit.answers.seeding import FIRST, LAST, longest_run
from frostkit.crops.entry import Crop
from frostkit.errors import SettingError
from frostkit.odds.estimate import Share, reaches, share
from frostkit.records.dataset import to_dataset
from frostkit.records.record import Record
from frostkit.seasons.calendar import COMPLETE, MISSING, Cube, code, fold, moved
from frostkit.seasons.windows import Works, both, works

BLOCK = 8  # places worked at a time: their grids stay in the processor's cache (measured by tests/bench)


def seeding_windows(records: Sequence[Record], corn: Crop | None, legume: Crop | None = None, *, odds: float = 0.8,
                    after: int = 0, first: int = FIRST, last: int = LAST,
                    block: int = BLOCK) -> xr.Dataset:  # fmt: skip
    """When corn, legume, or both in the same seasons can be seeded at every place, each to its own goal.

    Parameters
    ----------
    records : Records, one a place; each counts the seasons of its own span
    corn, legume : Crop, at least one
    odds : float, wanted
    after : int [days] from the corn's seeding to the legume's
    first, last : int [column], seeding days looked at
    block : int, places worked at a time

    Returns
    -------
    Dataset, dimensions (station, seeding): `yes`, `no`, `not_known`, `complete`, `complete_yes` [seasons], `share`,
    `low`, `high` [1]; by station: `window_from`, `window_to` as MM-DD, empty where no day reaches the odds; the
    stations' names and positions.

    Raises
    ------
    SettingError
        For no place, no crop, or odds outside 0 to 1.
    """
    crops = [(crop, shift) for crop, shift in ((corn, 0), (legume, after)) if crop is not None]
    if not records or not crops:
        raise SettingError("There is no place, or no crop.", "Give records, and a corn, a legume or both.")
    if not 0 < odds <= 1:
        raise SettingError(f"Odds of {odds:g} can't be wanted.", "Give odds above 0 and up to 1, such as 0.8.")
    days = np.arange(first, last + 1)
    found = [_block(records[at : at + block], crops, days) for at in range(0, len(records), block)]
    counts = [np.concatenate(parts) for parts in zip(*found, strict=True)]
    of = share(counts[0], counts[1], counts[2], complete=counts[3], complete_yes=counts[4])
    places = to_dataset([_bare(record) for record in records])
    return _as_dataset(of, days, odds, places.drop_vars(["tmin", "tmax"]).drop_dims("time", errors="ignore"))


def _bare(record: Record) -> Record:
    """A record of one day: what `to_dataset` needs to name and place a station."""
    return Record(record.station, record.start, record.tmin[:1], record.tmax[:1], source=record.source)


def _block(records: Sequence[Record], crops: list[tuple[Crop, int]], days: NDArray[np.int64]) -> tuple[NDArray, ...]:
    """Counts by place and seeding day: yes, no, not known, complete, yes among the complete."""
    cube, own = _cube(records)
    grids: list[Works] = []
    for crop, shift in crops:
        one = _by_latitude(cube, crop, days + shift, [record.station.latitude for record in records])
        grids.append(one)
    grid = grids[0] if len(grids) == 1 else both(grids[0], grids[1])
    in_span = own[..., None]
    whole = in_span & grid.complete[..., None]
    yes = (grid.certain & in_span).sum(1)
    no = (~grid.possible & in_span).sum(1)
    seasons = np.broadcast_to(in_span.sum(1), yes.shape)
    complete = np.broadcast_to(whole.sum(1), yes.shape)
    return yes, no, seasons - yes - no, complete, (grid.typical & whole).sum(1)


def _by_latitude(cube: Cube, crop: Crop, sowing: NDArray[np.int64], latitudes: list[float]) -> Works:
    """The grid of a crop over places; a crop that goes by day length is asked place by place, for each has its own."""
    plans = [plan(crop, latitude=latitude) for latitude in latitudes]
    if all(one == plans[0] for one in plans):
        return works(cube, plans[0], sowing)
    parts = []
    for index, one in enumerate(plans):
        sign = None if cube.sign is None else cube.sign[index]
        at = Cube(cube.tmin[index], cube.tmax[index], cube.seasons, cube.lows[index], sign, cube.season_starts)
        parts.append(works(at, one, sowing))
    certain, possible, typical, good = (
        np.stack([getattr(part, name) for part in parts]) for name in ("certain", "possible", "typical", "complete")
    )
    return Works(certain, possible, typical, good, sowing)


def _cube(records: Sequence[Record]) -> tuple[Cube, NDArray[np.bool_]]:
    """Records of different spans on one axis, and which seasons lie in each one's own span. [place, season]"""
    start = min(record.start for record in records)
    size = int((max(record.start + record.tmin.size for record in records) - start).astype(int))
    columns = np.full((2, len(records), size), np.nan, np.float32)
    sign = np.zeros((len(records), size), np.int8)
    for row, record in enumerate(records):
        at = int((record.start - start).astype(int))
        columns[:, row, at : at + record.tmin.size] = record.tmin, record.tmax
        if record.sign is not None:
            sign[row, at : at + record.tmin.size] = record.sign
    cube = fold(start, columns[0], columns[1], sign if sign.any() else None)
    judged = np.s_[moved(COMPLETE[0]) : moved(COMPLETE[1]) + 1]
    read = ((cube.tmin[..., judged] != MISSING) | (cube.tmax[..., judged] != MISSING)).any(-1)
    after = np.maximum.accumulate(read, axis=1)
    before = np.maximum.accumulate(read[:, ::-1], axis=1)[:, ::-1]
    return cube, after & before


def _as_dataset(of: Share, days: NDArray[np.int64], odds: float, places: xr.Dataset) -> xr.Dataset:
    wanted = reaches(of.complete_yes, of.complete, odds)
    runs = [longest_run(row, days) for row in wanted]
    over = ("station", "seeding")
    seasons = {"units": "1", "long_name": "seasons"}
    counts = {
        name: (over, getattr(of, name), seasons) for name in ("yes", "no", "not_known", "complete", "complete_yes")
    }
    shares = {name: (over, getattr(of, name), {"units": "1"}) for name in ("share", "low", "high")}
    ends = {
        "window_from": ("station", [code(run.first) if run else "" for run in runs], {"long_name": "first day, MM-DD"}),
        "window_to": ("station", [code(run.last) if run else "" for run in runs], {"long_name": "last day, MM-DD"}),
    }
    kept = places.assign_coords(seeding=[code(day) for day in days])
    return kept.assign({**counts, **shares, **ends}).assign_attrs(odds_wanted=odds, interval="90 % Jeffreys")
