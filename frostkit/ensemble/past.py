"""The possible seasons as they would have stood before each of many past seasons: the record cut there, nothing later.

For asking past seasons with earlier ones only. A hole is drawn once, when the first season is asked that counts it,
from the days before that season; what follows knows more, and does not draw it again.
"""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from frostkit.ensemble.fill import DRAWS, Filled, fill
from frostkit.ensemble.site import Ensemble, Site, possible


def ensembles_before(
    site: Site,
    years: Iterable[int],
    needs: tuple[str, ...] = ("tmin", "tmax"),
    shifts: int = 0,
    draws: int = DRAWS,
) -> Iterator[Ensemble]:
    """For each of some years, rising, the ensemble of the site asked for that season.

    Parameters
    ----------
    site : Site; its own `for_season` is of no account
    years : seasons asked for, rising; before each at least one season counts
    needs, shifts : as in `Site.ensemble`; draws : of each hole
    """
    kept: dict[int, dict[str, NDArray[np.int16]]] = {}  # season -> its rows by element
    for year in years:
        here = site.asking(year)
        past, of = here.past, here.past_level
        asked_of = tuple(name for name in needs if name != "prcp")
        wanted = here.counted(asked_of)
        new = wanted & ~np.isin(past.seasons, list(kept))
        if new.any():
            filled = fill(past, of, new, needs, here.beside(), draws)
            for place in np.flatnonzero(new):
                rows = np.unique(filled.index[:, place])
                kept[int(past.seasons[place])] = {
                    name: values[rows]
                    for name in ("tmin", "tmax", "prcp")
                    if (values := getattr(filled, name)) is not None
                }
        yield possible(here, past, of, wanted, _put_together(kept, past.seasons, wanted), asked_of, shifts)


def _put_together(
    kept: dict[int, dict[str, NDArray[np.int16]]], seasons: NDArray[np.int64], wanted: NDArray[np.bool_]
) -> Filled:
    """Seasons drawn at different times as one."""
    places = np.flatnonzero(wanted)
    parts = [kept[int(seasons[place])] for place in places]
    sizes = np.array([len(part["tmin"]) for part in parts])
    draws = int(sizes.max())
    first = np.cumsum(sizes) - sizes
    index = np.full((draws, len(seasons)), -1)
    index[:, places] = first + np.where(sizes > 1, np.arange(draws)[:, None], 0)
    values = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    return Filled(values["tmin"], values["tmax"], values.get("prcp"), np.repeat(places, sizes), index)
