"""Which estimator and how many past seasons: the figures of docs/odds_choice.md, from the real records in `shared`.

Run by hand from the repository: python tests/bench/choose_estimator.py > figures.md (about a minute).
"""

import sys
import tempfile
import warnings
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from frostkit.answers.plans import plan
from frostkit.answers.station import behind
from frostkit.odds.estimators import DEFAULT, ESTIMATORS, WINDOW, Estimator, trend_shifted
from frostkit.odds.hindcast import FIRST, Cases, Way, difference, hindcast, reliability, together, verdict
from frostkit.odds.scores import brier, mean_by_years
from frostkit.records.readers import read
from frostkit.seasons.frost import first_fall, last_spring
from frostkit.seasons.windows import latest, works
from tests.conftest import SHARED
from tests.real_records import place

STATIONS = ("ottawa", "ottawa_rcs", "new_york", "valleyview", "milwaukee", "twin_cities", "toronto", "farnham",
            "iberville", "marieville", "bc_coast")  # fmt: skip
THRESHOLDS = (0.0, -2.2)  # degC
CROPS = ("silage-2300", "silage-2600", "grain-corn-2300")  # their last seeding day that worked: the deadline
SOWING = np.arange(90, 261)
SEED = 20261125
PLAIN_FIRST = list(ESTIMATORS)  # the table goes from the plainest to the least plain


def events(name: str, folder: Path) -> tuple[dict, np.ndarray, np.ndarray]:
    """Season dates by event, the seasons and which of them are complete."""
    path, options = place(name, SHARED, folder)
    of = behind(read(path, **options))
    found = {}
    for threshold in THRESHOLDS:
        found[f"last spring {threshold}"] = last_spring(of.cube, threshold)
        found[f"first fall {threshold}"] = first_fall(of.cube, threshold)
    for crop in CROPS:
        found[f"deadline {crop}"] = latest(works(of.cube, plan(crop), SOWING))
    return found, of.cube.seasons, of.complete


def gather(folder: Path, kind: str, estimators=ESTIMATORS, first: int = FIRST) -> tuple[Cases, list[str]]:
    """All forecasts of the frost dates, of the deadlines or of both, and the name of each station in them."""
    cases, names = [], []
    for name in STATIONS:
        found, seasons, complete = events(name, folder)
        if len(seasons) <= first:
            continue
        for event, dates in found.items():
            if kind != "both" and event.startswith("deadline") != (kind == "deadlines"):
                continue
            one = hindcast(
                dates,
                seasons,
                complete,
                estimators=estimators,
                first=first,
                open_end="earlier" if "spring" in event else "later",
            )
            if one.year.size:
                cases.append(one)
                names.append(name)
    return together(cases), names


def rng() -> np.random.Generator:
    return np.random.default_rng(SEED)


def line(*cells) -> str:
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


def ways_table(cases: Cases) -> None:
    default = cases.way(DEFAULT, WINDOW)
    fixed = brier(cases.fixed, cases.happened)
    print(f"{len(cases.year)} forecasts of nine days each, {np.unique(cases.year).size} years; "
          f"fixed normal of the first {FIRST} seasons: Brier {fixed.mean():.4f}\n")  # fmt: skip
    print(line("estimator", "past seasons", "Brier", "less the fixed normal's", "less the default's", "mean gap",
               "largest", "tenths outside", "in the 80 %"))  # fmt: skip
    print(line(*["---"] * 9))
    for number, way in enumerate(cases.ways):
        v, d = verdict(cases, number, rng()), difference(cases, number, default, rng())
        mark = "**" if number == default else ""
        print(line(f"{mark}{way.estimator}{mark}", way.window or "all", f"{v.brier.value:.4f}",
                   f"{v.less_fixed.value:+.4f} ({v.less_fixed.low:+.4f} to {v.less_fixed.high:+.4f})",
                   "" if number == default else f"{d.value:+.4f} ({d.low:+.4f} to {d.high:+.4f})",
                   f"{100 * v.gap:.1f}", f"{100 * v.largest:.1f}", v.outside, f"{100 * v.spread80:.0f}"))  # fmt: skip


def reliability_table(cases: Cases) -> None:
    table = reliability(cases, cases.way(), rng())
    print(line("odds given", "happened", "band of perfect odds", "gap", "forecasts"))
    print(line(*["---"] * 5))
    for row in range(10):
        print(line(*(f"{100 * part[row]:.1f}" for part in (table.given, table.happened)),
                   f"{100 * table.low[row]:.1f} to {100 * table.high[row]:.1f}", f"{100 * table.gap()[row]:+.1f}",
                   table.number[row]))  # fmt: skip
    v = verdict(cases, cases.way(), rng())
    for name, part in (("by distinct odds", v.apart), ("by tenths", v.apart_classes)):
        total = part.reliability - part.resolution + part.uncertainty + part.within - part.along
        print(f"\nBrier {name}: {part.brier:.5f} = reliability {part.reliability:.5f} - resolution {part.resolution:.5f} "
              f"+ uncertainty {part.uncertainty:.5f} + within {part.within:.5f} - along {part.along:.5f} "
              f"(adds up to {total - part.brier:+.0e})")  # fmt: skip


def held_out(cases: Cases, names: list[str]) -> None:
    """Choose on the other stations, score on the one held out; stations at one place go out together."""
    places = np.array(names)[cases.station]
    scores = brier(cases.share, cases.happened)  # [way, case]
    fixed = brier(cases.fixed, cases.happened)
    kept = np.empty(len(cases.year))
    print(line("held out", "best on the others", "simplest not clearly worse", "Brier there: chosen", "best", "fixed"))
    print(line(*["---"] * 6))
    for station in dict.fromkeys(names):
        out = places == station
        chosen, best = choose(cases.of(~out))
        kept[out] = scores[chosen, out]
        print(line(station, cases.ways[best].words(), cases.ways[chosen].words(), f"{scores[chosen, out].mean():.4f}",
                   f"{scores[best, out].mean():.4f}", f"{fixed[out].mean():.4f}"))  # fmt: skip
    less = mean_by_years(kept - fixed, cases.year, rng())
    print(f"\nAll stations as held out: Brier {kept.mean():.4f}, less the fixed normal's {less.value:+.4f} "
          f"({less.low:+.4f} to {less.high:+.4f}).")  # fmt: skip


def choose(cases: Cases) -> tuple[int, int]:
    """(the plainest estimator whose Brier score is not clearly above the best one's, the best), each in its best window.

    Clearly: the interval of the difference, by drawing whole years again, excludes zero.
    """
    mean = brier(cases.share, cases.happened).mean(-1)
    best = int(mean.argmin())
    for name in PLAIN_FIRST:
        number = min((n for n, way in enumerate(cases.ways) if way.estimator == name), key=lambda n: mean[n])
        if number == best or difference(cases, number, best, rng()).low <= 0:
            return number, best
    return best, best


def constants(folder: Path, kind: str) -> None:
    """How much the two constants of the default matter."""
    tried = {f"drift {drift:.3f}, width {width:.1f}": Estimator("", partial(trend_shifted, drift=drift, bandwidth=width))
             for drift, width in ((0.010, 1.0), (0.015, 1.0), (0.020, 0.7), (0.020, 1.0), (0.020, 1.3), (0.030, 1.0))}  # fmt: skip
    cases, _ = gather(folder, kind, tried)
    print(line("constants of the default", "Brier", "mean gap", "largest", "tenths outside"))
    print(line(*["---"] * 5))
    for name in tried:
        v = verdict(cases, cases.ways.index(Way(name, WINDOW)), rng())
        print(line(name, f"{v.brier.value:.4f}", f"{100 * v.gap:.1f}", f"{100 * v.largest:.1f}", v.outside))


def by_station(cases: Cases, names: list[str]) -> None:
    print(line("station", "forecasts", "Brier", "fixed normal", "mean gap", "tenths outside"))
    print(line(*["---"] * 6))
    places = np.array(names)[cases.station]
    for name in dict.fromkeys(names):
        own = cases.of(places == name)
        v = verdict(own, own.way(), rng())
        print(line(name, v.number, f"{v.brier.value:.4f}", f"{brier(own.fixed, own.happened).mean():.4f}",
                   f"{100 * v.gap:.1f}", v.outside))  # fmt: skip


def main() -> None:
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory() as there:
        folder = Path(there)
        for kind in ("frost dates", "deadlines"):
            cases, names = gather(folder, kind)
            print(f"\n### {kind.capitalize()}: all stations pooled\n")
            ways_table(cases)
            print(f"\n### {kind.capitalize()}: the default, odds given and what happened [%]\n")
            reliability_table(cases)
            print(f"\n### {kind.capitalize()}: the default, station by station\n")
            by_station(cases, names)
            print(f"\n### {kind.capitalize()}: constants\n")
            constants(folder, kind)
        cases, names = gather(folder, "both")
        print("\n### The choice, stations held out: frost dates and deadlines together\n")
        held_out(cases, names)
        chosen, best = choose(cases)
        print(f"\nOn all stations: chosen {cases.ways[chosen].words()}; best {cases.ways[best].words()}.")
        cases, names = gather(folder, "frost dates", first=20)
        print("\n### Frost dates after the first 20 seasons, which lets the short records in: station by station\n")
        by_station(cases, names)


if __name__ == "__main__":
    main()
