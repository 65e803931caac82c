"""Are the odds right? Every past season of five long records asked with earlier ones only; do the intervals hold.

Run by hand from the repository: python tests/bench/bench_track_record.py [records] [simulation]
It prints the tables of docs/climate.md: some minutes. The five are the records on which the constants were chosen.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import frostkit.public as fk
from frostkit.answers.seeding.grids import NEEDS, asking
from frostkit.answers.station.track_record import Event, frost_event, seeding_event
from frostkit.crops.entry import load
from frostkit.ensemble.past import ensembles_before
from frostkit.ensemble.site import AS_READ, Site
from frostkit.ensemble.today import warmth_of_globe
from frostkit.odds.hindcast import ALL, FIXED, RECENT, Cases, Judged, Predicted, hindcast, judged, predictive
from frostkit.odds.share import share
from frostkit.records.record import Record, Station
from frostkit.seasons.frost import first_fall

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
RECORDS: dict[str, tuple[str, dict[str, Any]]] = {
    "Ottawa": ("ghcn-daily/CA006105976.dly", {}),
    "New York": ("ghcn-daily/USC00305816.dly", {}),
    "Milwaukee": ("ghcn-daily/USW00014839_1938-2026_wide_F.csv.gz", {"input_units": "F", "latitude": 42.95}),
    "Twin Cities": ("state-climate-office/twin_cities_1872-2023_F.csv.gz", {"latitude": 44.88}),
    "Toronto": ("eccc/toronto_pearson", {}),
}
CORNS, LEGUME = ("silage-2000", "silage-2300", "silage-2600"), "forage-late"
WAYS = {"as read, all": ALL, "as read, newest 30": RECENT, "moved": "moved"}
GOALS = {"corn": (0.85, 1.8), "both": (0.85, 1.8), "legume": (0.96, 2.2), "fall": (0.87, 1.0), "spring": (0.88, 1.4)}
SHIFTS = 20


def events(site: Site) -> dict[str, list[Event]]:
    """What is judged, by group; frost at 0 and at -2.2 °C."""
    corns = [load(name) for name in CORNS]
    legume = load(LEGUME)
    return {
        "corn": [seeding_event(asking(site, corn, None)) for corn in corns],
        "both": [seeding_event(asking(site, corn, legume)) for corn in corns],
        "legume": [seeding_event(asking(site, None, legume))],
        "legume, soil fit": [fit_event(asking(site, None, legume))],
        "fall": [frost_event("first-fall-frost", threshold) for threshold in (0.0, -2.2)],
        "spring": [frost_event("last-spring-frost", threshold) for threshold in (0.0, -2.2)],
    }


def fit_event(asked: Any) -> Event:
    """The legume sown on that day on fit soil made it: what earlier tables called worked."""
    from frostkit.answers.seeding.grids import grids

    def question(rows: Any, days: np.ndarray) -> np.ndarray:
        found = grids(rows, replace(asked, days=days))
        return found.made["legume"] & found.fit["legume"]

    return Event("seeding", question, asked.days, NEEDS, {})


@dataclass
class Score:
    """Judged odds of one event at one record, by way, and the check of the intervals over 5 and 10 seasons."""

    cases: Cases
    ahead: dict[int, Predicted]


def record_scores(name: str) -> dict[str, list[Score]]:
    place, options = RECORDS[name]
    site = fk.open(DATA / place, **options)
    last = int(site.folded.seasons[-1]) + 1
    as_read = site.asking(last, AS_READ).ensemble(NEEDS, 0)
    kept: dict[tuple[int, ...], list] = {}

    def before(years):
        if tuple(years) not in kept:
            kept[tuple(years)] = list(ensembles_before(site, years, NEEDS, SHIFTS))
        return kept[tuple(years)]

    found: dict[str, list[Score]] = {}
    for group, members in events(site).items():
        for event in members:
            cases = hindcast(as_read, event.question, event.days, before)
            ahead = {}
            for number in (5, 10):
                ensembles = before([int(year) for year in cases.year]) if cases.year.size else []
                ahead[number] = predictive(cases, ensembles, event.question, number)
            found.setdefault(group, []).append(Score(cases, ahead))
        print(f"  {name}: {group}", file=sys.stderr, flush=True)
    return found


def given(cases: Cases, way: str) -> np.ndarray:
    return cases.given if way == "moved" else cases.against[way]


def pooled(scores: list[Score], way: str) -> tuple[Judged, float]:
    """Every forecast of several events or records counts the same: scores, and Brier relative to the fixed shares."""
    odds = np.concatenate([given(one.cases, way).ravel() for one in scores])
    fixed = np.concatenate([one.cases.against[FIXED].ravel() for one in scores])
    came = np.concatenate([one.cases.happened.ravel() for one in scores])
    own = judged(odds[None], came[None])
    return own, own.brier / judged(fixed[None], came[None]).brier


def told(own: Judged, relative: float) -> str:
    return f"{relative:.3f} / {100 * own.mean_gap:.1f} / {100 * own.bias:+.1f}"


def tables(found: dict[str, dict[str, list[Score]]]) -> None:
    groups = list(next(iter(found.values())))
    print("\n## Brier relative to the first 30 seasons / mean gap / bias [points]\n")
    print("| | " + " | ".join(groups) + " |\n|---" * 1 + "|---" * len(groups) + "|")
    for title, way in WAYS.items():
        cells = [told(*pooled([one for of in found.values() for one in of[group]], way)) for group in groups]
        print(f"| five together: {title} | " + " | ".join(cells) + " |")
    for name, of in found.items():
        for title, way in WAYS.items():
            cells = []
            for group in groups:
                scores = [one for one in of[group] if one.cases.given.size]
                cells.append(told(*pooled(scores, way)) if scores else "no day in doubt")
            print(f"| {name}: {title} | " + " | ".join(cells) + " |")
    for title, way in WAYS.items():
        cells = []
        for group in groups:
            each = [
                pooled(scores, way)
                for of in found.values()
                if (scores := [one for one in of[group] if one.cases.given.size])
            ]
            relative, gap, bias = (
                float(np.mean(values))
                for values in zip(*((r, 100 * j.mean_gap, 100 * j.bias) for j, r in each), strict=True)
            )
            cells.append(f"{relative:.3f} / {gap:.1f} / {bias:+.1f}")
        print(f"| mean over records: {title} | " + " | ".join(cells) + " |")
    print("\n## The number of yes in the next seasons: within the 90 % range / below / above [%]\n")
    print("| | " + " | ".join(groups) + " |\n|---" * 1 + "|---" * len(groups) + "|")
    for number in (5, 10):
        for name in (*found, "five together"):
            of = [found[name]] if name in found else list(found.values())
            cells = [spread([one.ahead[number] for each in of for one in each[group]]) for group in groups]
            print(f"| next {number}: {name} | " + " | ".join(cells) + " |")


def spread(all_of: list[Predicted]) -> str:
    total = sum(one.forecasts for one in all_of)
    if not total:
        return "-"
    parts = [
        100 * sum(getattr(one, part) * one.forecasts for one in all_of if one.forecasts) / total
        for part in ("within", "below", "above")
    ]
    return "{:.1f} / {:.1f} / {:.1f}".format(*parts)


# --- does the interval hold the coming season's true odds -----------------------------------------------------------

LAST = 2025
DAYS_A_DEGREE = 4.5  # days by which the made-up first fall frost moves for a degree: told again by the simulation
TIMES = 150
ASKED_DAYS = np.arange(235, 300, 4)


def warming(years: np.ndarray, slope: float, straight: bool) -> np.ndarray:
    """Degrees below the coming season's climate: along a straight line, or as the globe warmed; the newest thirty
    years warm by `slope` [degC in ten seasons] in either case."""
    if straight:
        return slope * (years - LAST - 1) / 10
    globe = warmth_of_globe(np.append(years, [LAST - 29, LAST + 1]), LAST + 1)
    return slope * 3 * (globe[:-2] - globe[-1]) / (globe[-1] - globe[-2])


def made_up(rng: np.random.Generator, years: np.ndarray, cooler: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Made-up Tmin and Tmax of some years, so many degrees off the coming season's climate. [season, 365]"""
    day = np.arange(365)
    mean = 5 - 15 * np.cos(2 * np.pi * (day - 20) / 365)
    noise = rng.normal(0, 3.0, (years.size, 365))
    for at in range(1, 365):
        noise[:, at] += 0.6 * noise[:, at - 1]
    season = rng.normal(0, 0.6, (years.size, 1))
    air = mean + noise + season + cooler[:, None]
    swing = rng.uniform(6, 16, (years.size, 365))
    return np.round(air - swing / 2, 1), np.round(air + swing / 2, 1)


def record_of(low: np.ndarray, high: np.ndarray, years: np.ndarray) -> Record:
    start = np.datetime64(f"{years[0]}-01-01")
    days = start + np.arange((np.datetime64(f"{years[-1] + 1}-01-01") - start).astype(int))
    tmin, tmax = np.full((2, days.size), np.nan, np.float32)
    year = days.astype("datetime64[Y]").astype(int) + 1970
    of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(int)
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    place = np.minimum(of_year - (leap & (of_year > 59)), 364)
    tmin[:], tmax[:] = low[year - years[0], place], high[year - years[0], place]
    return Record(Station("made up", "made up", 50.0, -100.0), start, tmin, tmax)


def simulated(seasons: int, drift: float, straight: bool, rng: np.random.Generator) -> tuple[float, float, float]:
    """Share of the days' true odds of the coming season that lie in the 90 % interval, below it and above it."""
    slope = drift / DAYS_A_DEGREE
    coming = np.full(6000, LAST + 1)
    low, _ = made_up(rng, coming, np.zeros(coming.size))
    truth = (first_fall((10 * low).round().astype(np.int16))[:, None] <= ASKED_DAYS).mean(0)
    asked = (truth > 0.05) & (truth < 0.95)
    sums = np.zeros(3)
    for _ in range(TIMES):
        years = np.arange(LAST + 1 - seasons, LAST + 1)
        site = Site(record_of(*made_up(rng, years, warming(years, slope, straight)), years), for_season=LAST + 1)
        rows = site.ensemble(("tmin",), SHIFTS)
        yes = first_fall(rows.tmin)[:, None] <= ASKED_DAYS[asked]
        odds = share(yes[rows.index], rows.complete, None if rows.shifted is None else yes[rows.shifted])
        below, above = truth[asked] < odds.low, truth[asked] > odds.high
        sums += [1 - (below | above).mean(), below.mean(), above.mean()]
    return tuple(100 * sums / TIMES)  # type: ignore[return-value]


def simulation() -> None:
    print("\n## Coverage of the coming season's true odds, 90 % interval: within / truth below / truth above [%]\n")
    drifts = (0.0, 1.0, 2.0)
    for straight in (False, True):
        print("as the globe warmed\n" if not straight else "\nalong a straight line\n")
        print(
            "| seasons | " + " | ".join(f"{drift:g} days in ten seasons" for drift in drifts) + " |\n|---|---|---|---|"
        )
        for seasons in (15, 30, 60, 100):
            rng = np.random.default_rng(seasons)
            cells = ["{:.0f} / {:.0f} / {:.0f}".format(*simulated(seasons, drift, straight, rng)) for drift in drifts]
            print(f"| {seasons} | " + " | ".join(cells) + " |", flush=True)


def main(wanted: list[str]) -> None:
    jobs: dict[str, Callable[[], None]] = {
        "records": lambda: tables({name: record_scores(name) for name in RECORDS}),
        "simulation": simulation,
    }
    for name in wanted or list(jobs):
        jobs[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
