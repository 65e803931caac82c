"""Published frost odds as points beside the odds of the nearest record: to look at, as plausibility.

Run by hand from the repository: python tests/bench/picture_published_frosts.py frosts.png
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from frostkit.answers.station import behind
from frostkit.odds.estimate import by_day
from frostkit.records.readers import read
from frostkit.seasons.calendar import column, words
from frostkit.seasons.frost import first_fall, last_spring
from tests.conftest import SHARED
from tests.published_frosts import NEAREST, read_published
from tests.real_records import place

TICKS = [column(month, 1) for month in range(4, 12)]


def draw(folder: Path) -> Figure:
    figure = Figure(figsize=(9, 11), layout="constrained")
    panels = figure.subplots(len(NEAREST), 1, sharex=True)
    for panel, (name, rows) in zip(panels, read_published(SHARED).items(), strict=True):
        record, seasons, near = NEAREST[name]
        path, options = place(record, SHARED, folder)
        of = behind(read(path, **options), seasons=seasons)
        for dates, days, open_end, line in ((last_spring(of.cube), np.arange(80, 212), "earlier", "-"),
                                            (first_fall(of.cube), np.arange(212, 340), "later", "--")):  # fmt: skip
            odds = by_day(dates, days, estimator="interval-censored", window=None, open_end=open_end,
                          complete=of.complete)  # fmt: skip
            panel.plot(days, 100 * odds.share, "k" + line, lw=1.2)
            panel.fill_between(days, 100 * odds.low, 100 * odds.high, color="0.85")
        panel.plot(np.array(rows.spring) - 1, 100 - 100 * np.array(rows.p), "o", color="0.35", ms=5)
        panel.plot(rows.fall, 100 * np.array(rows.p), "s", color="0.35", ms=5)
        panel.set_title(f"{name}, published {rows.period} (points); {record} {seasons[0]}-{seasons[1]} (lines): {near}",
                        fontsize=8, loc="left")  # fmt: skip
        panel.set_ylabel("over, come [%]", fontsize=8)
        panel.set_xticks(TICKS, [words(day) for day in TICKS], fontsize=8)
    return figure


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        draw(Path(folder)).savefig(sys.argv[1], dpi=90)


if __name__ == "__main__":
    main()
