"""Standing in past seasons of a real record: bands hold about 8 in 10, and narrow as the season goes on.

A part of what `tests/bench/bench_season.py` asks of five records; its table stands in docs/season.md.
"""

import numpy as np
import pytest

from frostkit.crops.entry import load
from frostkit.crops.rated import at_rating
from frostkit.seasons.calendar import words
from tests.bench.bench_season import RATINGS, STANDS, judged, said, site_of

pytestmark = pytest.mark.real
NAME, EVERY = "milwaukee", 5


@pytest.fixture(scope="module")
def found(shared):
    return judged(site_of(NAME), at_rating(load("silage-2300"), RATINGS[NAME]), EVERY)


def test_bands_of_8_in_10_hold_what_so_few_seasons_let_a_true_band_show(found):
    every = np.concatenate([of for of in found.values() if len(of)])
    held = ((every[:, 4] >= every[:, 0]) & (every[:, 4] <= every[:, 2])).mean()
    assert len(every) > 80
    assert 0.7 <= held <= 0.9


def test_bands_narrow_from_june_to_august_and_beat_the_usual_date(found):
    for what in ("dent", "fit"):
        of = [said(found[words(today), what]) for today in STANDS]
        assert of[0]["width"] > of[1]["width"] > of[2]["width"]
        assert of[2]["error"] < of[1]["error"] < of[1]["usual error"]
