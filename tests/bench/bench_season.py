"""Stand on 1 June, 1 July and 1 August of every past season: do the dates of silking, dent and fit keep their bands?

Each season is asked with the days before that day and with earlier seasons alone; what happened is the same model on the
whole season, so that this judges the weather to come and not the needs of a hybrid. A band runs from the moment that 1 in
10 possible seasons have come to, to the one that 9 in 10 have. Beside it: the usual date, the middle of all earlier seasons
as they were read. Run by hand from the repository, with the names of records or none for all five:

    python -m tests.bench.bench_season ottawa
"""

import sys
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np

import frostkit as fk
from frostkit.answers.season.stages import alive, course, killed_on, moments, possible
from frostkit.answers.silage.ahead import TENTHS, predicted
from frostkit.answers.silage.drying import hybrid
from frostkit.answers.silage.stores import wanted
from frostkit.crops.entry import load
from frostkit.crops.rated import at_rating
from frostkit.ensemble.pin import pin
from frostkit.ensemble.site import AS_READ, Site
from frostkit.seasons.calendar import column, words
from frostkit.seasons.heat import rates, running
from frostkit.seasons.silage import moisture_by_day
from tests.real_records import AS_THEY_ARE

SHARED = Path(__file__).resolve().parents[3] / "shared"
RATINGS = {"ottawa": 2600, "new_york": 3200, "milwaukee": 2500, "twin_cities": 2600, "toronto": 2600}
SOWN, STORE = column(5, 15), wanted("bunker")
STANDS = (column(6, 1), column(7, 1), column(8, 1))
WHAT = ("silking", "dent", "fit")
FIRST = 30  # counted seasons before the first that is asked
LAST = column(10, 31)


class Rows(NamedTuple):
    """Seasons as rows."""

    tmin: np.ndarray
    tmax: np.ndarray


def came(rows, corn) -> dict[str, np.ndarray]:
    """The moment of silking, dent and the store's range in every row. [row]"""
    of = course(rows, corn, SOWN, float("nan"))
    killed = killed_on(rows, of)
    out = {name: alive(moments(of.counts[name], of.days[name]), killed) for name in ("silking", "dent")}
    drying = hybrid(corn).for_store(STORE).drying
    heat = running(rates(hybrid(corn).clock, rows.tmin, rows.tmax, slice(SOWN + 1, LAST + 1)))[:, 1:].astype(float)
    path = moisture_by_day(heat, drying, killed, first_day=SOWN + 1)
    below = path <= STORE.high + 1e-9
    at = below.argmax(axis=1)
    rows_of = np.arange(len(path))
    after, before = path[rows_of, at], path[rows_of, at - 1]
    back = np.clip((STORE.high - after) / np.maximum(before - after, 1e-9), 0, 1)
    out["fit"] = np.where(below.any(axis=1), at - back + SOWN + 1, np.inf)
    return out


def site_of(name: str) -> Site:
    where, options = AS_THEY_ARE[name]
    latitude = {} if name not in ("milwaukee", "twin_cities") else {"latitude": 44.0, "longitude": -90.0}
    return fk.open(SHARED / "data" / where, **options, **latitude)


def judged(site: Site, corn, every: int = 1) -> dict[tuple[str, str], np.ndarray]:
    """By day stood on and event: rows of (early, middle, late, usual, happened)."""
    read = site.asking(int(site.folded.seasons[-1]) + 1, AS_READ).ensemble(shifts=0)
    happened = {name: of[read.index].mean(axis=0) for name, of in came(read, corn).items()}
    years = [place for place in np.flatnonzero(read.complete) if place >= FIRST][::every]
    found: dict[tuple[str, str], list] = {(words(today), name): [] for today in STANDS for name in WHAT}
    for place in years:
        for today in STANDS:
            rows = pin(site, int(read.seasons[place]), today)
            for name, moment in came(rows, corn).items():
                band = [predicted(moment[possible(rows)], odds) for odds in TENTHS]
                if happened[name][place] < today:
                    continue  # it has come already
                usual = float(np.median(happened[name][:place]))
                found[words(today), name].append([*band, usual, happened[name][place]])
    return {key: np.array(of).reshape(-1, 5) for key, of in found.items()}


def said(of: np.ndarray) -> dict[str, float]:
    """What a set of forecasts shows: part held, part by printed days, width, error of the middle and of the usual date."""
    if not len(of):
        return {"seasons": 0}
    early, middle, late, usual, happened = of.T
    held = (happened >= early) & (happened <= late)
    days = (np.ceil(happened) >= np.ceil(early)) & (np.ceil(happened) <= np.ceil(late))
    there = np.isfinite(happened) & np.isfinite(middle) & np.isfinite(late)
    return {
        "seasons": len(of),
        "held": float(held.mean()),
        "by days": float(days.mean()),
        "width": float(np.mean((late - early)[there])),
        "error": float(np.median(np.abs(happened - middle)[there])),
        "usual error": float(np.median(np.abs(happened - usual)[there])),
    }


def main(names: list[str]) -> None:
    every: dict[tuple[str, str], list[np.ndarray]] = {}
    for name in names or list(RATINGS):
        begin = time.perf_counter()
        corn = at_rating(load("silage-2300"), RATINGS[name])
        found = judged(site_of(name), corn)
        print(f"\n{name}, rated {RATINGS[name]}, {time.perf_counter() - begin:.0f} s")
        for key, of in found.items():
            every.setdefault(key, []).append(of)
            print("  ", *key, {what: round(value, 3) for what, value in said(of).items()})
    print("\nall")
    for key, of in every.items():
        print("  ", *key, {what: round(value, 3) for what, value in said(np.concatenate(of)).items()})


if __name__ == "__main__":
    main(sys.argv[1:])
