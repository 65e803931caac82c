"""What must be said of a site whatever is asked of it: short, ended or moved records, and holes on cold nights."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from frostkit.ensemble.fold import GROWING
from frostkit.ensemble.site import LATE, Ensemble, Site
from frostkit.ensemble.today import ENDED, FEWEST, globe
from frostkit.errors import RecordError
from frostkit.records.breaks import breaks
from frostkit.seasons.calendar import MISSING

RECENT = 15  # years within which a moved thermometer leaves the level of today in doubt (DESIGN)
COLDER = 1.0  # degC by which nights beside holes are colder than usual, before it is said: a setting
SURE = 2.0  # standard errors of that mean, before it is said: a setting
FEWEST_BESIDE = 10  # nights beside holes, before anything is said of them: a setting
ALONE = 20  # seasons without readings, in a row, after which a record counts as two: a setting


class Note(NamedTuple):
    """A caution about a site: its key in the texts, and the values that stand in it."""

    key: str
    values: Mapping[str, Any]


def notes(site: Site, ensemble: Ensemble | None = None) -> tuple[Note, ...]:
    """What must be said of a site.

    few : under 15 seasons; the warming of northern land stands for its own
    ended, ended_long : the record ended over 3, over 10 seasons before the season asked for
    gap : a stretch of 20 or more seasons between its first and last without any that counts
    moved : signs that the thermometer was moved or changed within the newest 15 years
    table : the season asked for is later than the one after the global table's last year
    cold_holes : nights were not read beside nights colder than usual
    suspect : readings that look impossible beside their neighbours, and were not masked

    Parameters
    ----------
    site : Site
    ensemble : what the answer counted over; left out, the seasons that count
    """
    kept = site.__dict__.setdefault("_notes", {})
    seasons = _counted(site) if ensemble is None else ensemble.seasons
    key = seasons.tobytes()
    if key not in kept:
        kept[key] = tuple(_notes(site, seasons))
    return kept[key]


def _counted(site: Site) -> np.ndarray:
    try:
        return site.past.seasons[site.counted()]
    except RecordError:
        return np.empty(0, int)


def _notes(site: Site, seasons: np.ndarray) -> list[Note]:
    asked = site.asked
    found = []
    if 0 < seasons.size < FEWEST:
        found.append(Note("few", {"seasons": int(seasons.size)}))
    if seasons.size:
        last = int(seasons[-1])
        if asked - last > LATE and site.only is None:
            found.append(Note("ended_long" if asked - last > ENDED else "ended", {"last": last, "for_season": asked}))
        steps = np.diff(seasons)
        if steps.size and steps.max() > ALONE:
            at = int(steps.argmax())
            found.append(Note("gap", {"first": int(seasons[at]) + 1, "last": int(seasons[at + 1]) - 1}))
        year = moved_in(site, last)
        if year is not None:
            found.append(Note("moved", {"year": year}))
    if asked > int(globe()[0][-1]) + 1:
        found.append(Note("table", {"year": int(globe()[0][-1]), "for_season": asked}))
    beside = beside_holes(site)
    if beside is not None:
        found.append(Note("cold_holes", {"nights": beside[0], "colder": round(beside[1], 1)}))
    suspect = site.record.source.get("suspect")
    if suspect is not None:
        found.append(Note("suspect", {"readings": int(suspect)}))
    return found


def moved_in(site: Site, last: int) -> int | None:
    """The newest year within 15 of the record's last from which on the thermometer reads otherwise; None for none."""
    years = [one.year for one in breaks(site.record, site.neighbours) if last - RECENT < one.year <= last]
    return max(years, default=None)


def beside_holes(site: Site) -> tuple[int, float] | None:
    """Nights read right before or after nights that were not, and how much colder than usual they were [degC].

    From 1 April to 31 October of the seasons before the one asked for. None where they were not colder: by more than a
    degree, and by more than chance would have it. No filling can mend nights that are missing because they were cold.
    """
    if not (site.folded.seasons < site.asked).any():
        return None
    missing = site.past.tmin == MISSING
    beside = np.zeros_like(missing)
    beside[:, 1:] |= missing[:, :-1]
    beside[:, :-1] |= missing[:, 1:]
    beside &= ~missing
    beside[:, : GROWING[0]] = False
    beside[:, GROWING[1] + 1 :] = False
    if beside.sum() < FEWEST_BESIDE:
        return None
    departure = site.departures.of[0][beside]
    departure = departure[np.isfinite(departure)]
    mean = float(departure.mean())
    error = float(departure.std(ddof=1)) / np.sqrt(departure.size)
    if mean > -COLDER or mean > -SURE * error:
        return None
    return int(departure.size), -mean
