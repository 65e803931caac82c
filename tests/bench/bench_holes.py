"""What holes do to the odds: full records masked as real ones are holed, by days, weeks and months, and Tmax alone.

Run by hand from the repository: python tests/bench/bench_holes.py. It prints the table of docs/climate.md.
Points are means over the days on which the full record's share lies between 3 and 97 %. The range is that from the
least to the most over the 20 draws: it should hold the full record's share, of the seasons that count with the holes
too, in 19 of 21 cases.
"""

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import frostkit.public as fk
from frostkit.answers.seeding.grids import asking
from frostkit.answers.station.track_record import Event, frost_event, seeding_event
from frostkit.crops.entry import load
from frostkit.ensemble.fold import counted, fold
from frostkit.ensemble.site import AS_READ, Site
from frostkit.records.days import days_of
from frostkit.records.record import Record
from frostkit.seasons.calendar import MISSING, column

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
FULL = {
    "Ottawa": ("ghcn-daily/CA006105976.dly", {}),
    "New York": ("ghcn-daily/USC00305816.dly", {}),
    "Milwaukee": (
        "ghcn-daily/USW00014839_1938-2026_wide_F.csv.gz",
        {"input_units": "F", "latitude": 42.95},
    ),
    "Twin Cities": ("state-climate-office/twin_cities_1872-2023_F.csv.gz", {"latitude": 44.88}),
}
HOLED = {
    "Valleyview": ("ghcn-daily/CA003076680_2003-2024.csv.gz", {"input_units": "C"}),
    "Farnham": ("eccc/relaid/FARNHAM__7022320__1980-2017.csv", {}),
}
SEASONS = (1931, 1990)
TIMES = 6  # masks of each kind for each record
GROWING = column(4, 1), column(10, 31)
Mask = Callable[[Record, np.random.Generator], np.ndarray]


class Off(NamedTuple):
    """Masked less full record: mean size and mean of the difference of shares, and how often the range holds it."""

    size: float
    bias: float
    held: float
    days: int


def pattern(name: str) -> Mask:
    """The holes of a real record, its counted seasons in turn laid over the seasons of another."""
    place, options = HOLED[name]
    record = fk.open(DATA / place, **options).record
    folded = fold(record.start, record.tmin, record.tmax)
    gone = np.stack([folded.tmin == MISSING, folded.tmax == MISSING])
    gone = gone[:, counted(folded)]

    def mask(of: Record, rng: np.random.Generator) -> np.ndarray:
        days = days_of(of.start, of.tmin.size)
        return gone[:, (days.year - days.year[0]) % gone.shape[1], days.place]

    return mask


def runs(length: int, a_season: float, elements: tuple[int, ...] = (0, 1)) -> Mask:
    """So many runs of a length in each growing season, on days of chance."""

    def mask(of: Record, rng: np.random.Generator) -> np.ndarray:
        out = np.zeros((2, of.tmin.size), bool)
        days = days_of(of.start, of.tmin.size)
        for year in np.unique(days.year):
            inside = np.flatnonzero(
                (days.year == year) & (days.place >= GROWING[0]) & (days.place <= GROWING[1] + 1 - length)
            )
            if inside.size:
                for first in rng.choice(inside, rng.poisson(a_season)):
                    out[list(elements), first : first + length] = True
        return out

    return mask


def coldest(part: float) -> Mask:
    """A quarter of the coldest tenth of nights of spring and fall: missing because they were cold."""

    def mask(of: Record, rng: np.random.Generator) -> np.ndarray:
        days = days_of(of.start, of.tmin.size)
        out = np.zeros((2, of.tmin.size), bool)
        for month in (3, 4, 8, 9):
            there = np.flatnonzero((days.month == month) & np.isfinite(of.tmin))
            cold = there[of.tmin[there] <= np.quantile(of.tmin[there], 0.1)]
            out[:, rng.choice(cold, int(part * cold.size), replace=False)] = True
        return out

    return mask


MASKS: dict[str, Mask] = {
    "holes of Valleyview": pattern("Valleyview"),
    "holes of Farnham": pattern("Farnham"),
    "single days, 10 a season": runs(1, 10),
    "weeks, 2 a season": runs(7, 2),
    "months, 1 in 2 seasons": runs(30, 0.5),
    "Tmax alone, 2 weeks a season": runs(7, 2, (1,)),
    "a quarter of the coldest nights": coldest(0.25),
}


def said(site: Site, event: Event) -> tuple[np.ndarray, np.ndarray]:
    """What each draw of each season says, bool [draw, season, day], and the seasons."""
    rows = site.ensemble(event.needs, 0)
    return event.question(rows, event.days)[rows.index], rows.seasons


def off(site: Site, event: Event, mask: Mask, rng: np.random.Generator) -> Off:
    record = site.record
    gone = mask(record, rng)
    holed = replace(
        record,
        tmin=np.where(gone[0], np.float32(np.nan), record.tmin),
        tmax=np.where(gone[1], np.float32(np.nan), record.tmax),
        sign=None,
    )
    (full, seasons), (drawn, kept) = said(site, event), said(replace(site, record=holed), event)
    share, masked = full.mean((0, 1)), drawn.mean((0, 1))
    asked = (share >= 0.03) & (share <= 0.97)
    apart = (masked - share)[asked]
    same = full[:, np.isin(seasons, kept)].mean((0, 1))  # a season left out for its holes is not the filling's fault
    by_draw = drawn.mean(1)
    held = (by_draw.min(0) - 1e-9 <= same) & (same <= by_draw.max(0) + 1e-9)
    return Off(100 * np.abs(apart).mean(), 100 * apart.mean(), 100 * held[asked].mean(), int(asked.sum()))


def cases() -> Iterator[tuple[str, str, Event, Site]]:
    for name, (place, options) in FULL.items():
        site = fk.open(DATA / place, climate=AS_READ, for_season=SEASONS[1] + 1, seasons=SEASONS, **options)
        pair = asking(site, load("silage-2300"), load("forage-late"))
        yield name, "window", seeding_event(pair), site
        yield name, "fall frost", frost_event("first-fall-frost", 0.0), site


def main() -> None:
    print(f"seasons {SEASONS[0]} to {SEASONS[1]}; off by / bias [points] / range of the draws holds the share [%]\n")
    print("| | window | fall frost |\n|---|---|---|")
    todo = list(cases())
    for title, mask in MASKS.items():
        cells = []
        for what in ("window", "fall frost"):
            rng = np.random.default_rng(1)
            found = [off(site, event, mask, rng) for _, kind, event, site in todo if kind == what for _ in range(TIMES)]
            weight = [one.days for one in found]
            size, bias, held = (float(np.average([one[i] for one in found], weights=weight)) for i in range(3))
            cells.append(f"{size:.1f} / {bias:+.1f} / {held:.0f}")
        print(f"| {title} | " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
