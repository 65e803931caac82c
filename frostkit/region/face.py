"""For those who hold a Dataset: the windows of its places, lazily, through `xarray.apply_ufunc`."""

from functools import partial

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from frostkit.errors import SettingError
from frostkit.region.answer import COUNTS, CROPS, ENDS, PARTS, SPOTS, TEXTS, Question, of_block
from frostkit.region.further import VARIABLES
from frostkit.region.places import Block, Cells
from frostkit.region.results import ABOUT
from frostkit.region.store import Days, Spots
from frostkit.seasons.calendar import DAYS

NAMES = tuple(name for name in ABOUT if name not in (*TEXTS, *SPOTS, *VARIABLES))


def windows(ds: xr.Dataset, question: Question) -> xr.Dataset:
    """The window of every place of a dataset of seasons.

    Parameters
    ----------
    ds : `tmin`, `tmax` (and `prcp`) int16 over (place, season, day), tenths of degC and of mm, -32768 where not read,
        as `xarray.open_zarr(store, mask_and_scale=False, consolidated=False)` gives them; `season`, the years;
        `latitude` over place. Chunked over places alone it is answered chunk by chunk, when it is computed
    question : what is asked

    Returns
    -------
    Dataset over (place, crop, seeding) and place; what can't be answered has no seasons and no window

    Raises `SettingError` for values that are no whole tenths, or for days that are not the 365 of a season.
    """
    question.checked()
    if question.also:
        raise SettingError("A dataset is asked for its windows alone.", "Leave `also` out, or ask with fk.region.")
    for name in ("tmin", "tmax"):
        if ds[name].dtype != np.int16 or ds.sizes.get("day") != DAYS:
            raise SettingError(
                f"{name} is {ds[name].dtype} over {dict(ds[name].sizes)}, not whole tenths (int16) over 365 days.",
                "Open the store with mask_and_scale=False.",
            )
    core = ["season", "day"]
    seasons = ds["season"].to_numpy()
    rain = [ds["prcp"]] if "prcp" in ds else []
    grids = [["crop", "seeding"] if name in PARTS else [] for name in NAMES]
    found = xr.apply_ufunc(
        partial(_answered, seasons=seasons, question=question),
        ds["tmin"],
        ds["tmax"],
        ds["latitude"],
        *rain,
        input_core_dims=[core, core, [], *([core] if rain else [])],
        output_core_dims=grids,
        dask="parallelized",
        output_dtypes=[_kind(name) for name in NAMES],
        dask_gufunc_kwargs={"output_sizes": {"crop": len(CROPS), "seeding": question.days.size}},
    )
    data = {name: of.assign_attrs(ABOUT[name]) for name, of in zip(NAMES, found, strict=True)}
    return xr.Dataset(data).assign_coords(crop=list(CROPS), seeding=question.days)


def _kind(name: str) -> type:
    if name in PARTS:
        return np.int16 if name in COUNTS else np.float32
    return np.float64 if name in ENDS else np.int32


def _answered(
    tmin: NDArray[np.int16],
    tmax: NDArray[np.int16],
    latitude: NDArray[np.float64],
    prcp: NDArray[np.int16] | None = None,
    *,
    seasons: NDArray[np.int64],
    question: Question,
) -> tuple[NDArray, ...]:
    """The variables of some places, in the order of `NAMES`."""
    days = Days(np.asarray(tmin), np.asarray(tmax), prcp, seasons)
    nothing = np.full(len(tmin), np.nan)
    spots = Spots(np.arange(len(tmin)).astype(str).astype(object), np.asarray(latitude, float), nothing, nothing)
    block = Block(Cells(days, spots, question.climate, question.for_season, "a dataset"), days)
    out = of_block(block, question)
    return tuple(out[name] for name in NAMES)
