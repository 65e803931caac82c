"""Known errors put into real records: how many the checks find, and how many good days they mask.

Gross means that a reading is changed by 10 °C or more. The records are as their providers give them (readings with a
provider's flag taken out), so what is masked in them untouched counts as a false alarm, though some of it will be true
errors: the Quebec files carry no flags. `pytest -s tests/records/test_seeded_errors.py` prints the table.
"""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from frostkit.records.checks import CHECKS, ELEMENTS, check
from frostkit.records.readers import read
from frostkit.records.record import Record
from tests.conftest import SHARED

pytestmark = pytest.mark.real

FILES = {
    "Ottawa": "ghcn-daily/CA006105976.dly",
    "New York": "ghcn-daily/USC00305816.dly",
    "Twin Cities": "state-climate-office/twin_cities_1872-2023_F.csv.gz",
    "Farnham": "eccc/relaid/FARNHAM__7022320__1980-2017.csv",
    "Iberville": "eccc/relaid/IBERVILLE__7023270__1980-2016.csv",
    "Marieville": "eccc/relaid/MARIEVILLE__7024627__1980-2017.csv",
}
KINDS = ("10 to 30 °C off", "10 °C off", "20 °C off", "sign", "°F for °C", "swapped", "stuck for 15 days")
ERRORS = 500  # of each kind


@pytest.fixture(scope="module")
def records() -> dict[str, Record]:
    return {name: read(SHARED / "data" / file) for name, file in FILES.items()}


def with_errors(record: Record, kind: str, errors: int, seed: int = 1) -> tuple[Record, np.ndarray]:
    """A copy with so many gross errors of one kind, and which readings they are [element, day]."""
    rng = np.random.default_rng(seed)
    readings = np.stack([record.tmin, record.tmax]).astype(float)
    wrong = np.zeros(readings.shape, bool)
    element = rng.integers(2, size=readings.shape[1])
    day = np.arange(readings.shape[1])
    if kind == "stuck for 15 days":
        starts = rng.choice(np.arange(0, day.size - 40, 30), errors, replace=False)
        for start in starts:
            run = slice(start, start + 15)
            if np.isfinite(readings[element[start], run]).all():
                readings[element[start], run] = readings[element[start], start]
                wrong[element[start], run] = True
        return _back(record, readings, wrong)
    changed = {
        "10 to 30 °C off": lambda: readings + rng.uniform(10, 30, readings.shape) * rng.choice([-1, 1], readings.shape),
        "10 °C off": lambda: readings + 10 * rng.choice([-1, 1], readings.shape),
        "20 °C off": lambda: readings + 20 * rng.choice([-1, 1], readings.shape),
        "sign": lambda: -readings,
        "°F for °C": lambda: readings * 1.8 + 32,
        "swapped": lambda: readings[::-1],
    }[kind]()
    gross = np.abs(changed - readings) >= 10 - 1e-6
    both = kind in ("°F for °C", "swapped")
    able = np.flatnonzero(gross.all(0) if both else gross[element, day])
    chosen = np.zeros(day.size, bool)
    chosen[rng.choice(able, errors, replace=False)] = True
    for each in (0, 1):
        wrong[each] = chosen & (both | (element == each))
    return _back(record, np.where(wrong, changed, readings), wrong)


def _back(record, readings, wrong):
    tmin, tmax = readings.round(1).astype(np.float32)
    return replace(record, tmin=tmin, tmax=tmax), wrong


def same_as_beside(record: Record, wrong: np.ndarray) -> np.ndarray:
    """Good readings that continue a stuck run by chance: nobody could tell them from it."""
    readings = np.stack([record.tmin, record.tmax])
    runs = wrong.copy()
    for shift in (1, -1, 1, -1):
        runs |= np.roll(runs, shift, 1) & (np.abs(readings - np.roll(readings, shift, 1)) < 0.06)
    return runs & ~wrong


def masked(record: Record, findings) -> np.ndarray:
    out = np.zeros((2, record.tmin.size), bool)
    for found in findings:
        out[ELEMENTS.index(found.element), (found.day - record.start).astype(int)] = True
    return out


def measure(record: Record, neighbours, errors: int = ERRORS, kinds=KINDS) -> dict[str, tuple[float, float]]:
    """Per kind: share of the wrong readings that were masked, and share of the good days that lost a reading."""
    rates = {}
    for kind in kinds:
        bad, wrong = with_errors(record, kind, errors)
        _, findings = check(bad, neighbours)
        caught = masked(bad, findings)
        good = ~(wrong | same_as_beside(bad, wrong)).any(0) & (np.isfinite(bad.tmin) | np.isfinite(bad.tmax))
        hit = Counter()
        lost = Counter()
        for found in findings:
            place = ELEMENTS.index(found.element), (found.day - record.start).astype(int)
            hit[found.check] += wrong[place]
            lost[found.check] += good[place[1]]
        rates[kind] = (caught & wrong).sum() / wrong.sum(), (caught.any(0) & good).sum() / good.sum()
        each = ", ".join(f"{name} {hit[name]}/{lost[name]}" for name in CHECKS if hit[name] or lost[name])
        print(f"  {kind:18s} found {rates[kind][0]:6.1%} of {wrong.sum():5d}, good days masked {rates[kind][1]:.3%}"
              f"  (hits/good values masked: {each})")  # fmt: skip
    return rates


@pytest.mark.parametrize(("name", "beside"), [("Farnham", ("Iberville", "Marieville")), ("Marieville", ("Farnham",))])
def test_with_neighbours_95_of_100_gross_errors_are_found_and_fewer_than_1_good_day_in_1000_is_masked(
    records, name, beside
):
    print(f"\n{name} beside {' and '.join(beside)}")
    neighbours = [records[other] for other in beside]
    rates = measure(records[name], neighbours, kinds=["10 to 30 °C off", "sign", "swapped"])
    # 500 whole days in °F are 1 day in 27 here, and 500 stuck runs more than half of all days: 100 stand for what a
    # record can hold and still be one
    rates |= measure(records[name], neighbours, errors=100, kinds=["°F for °C", "stuck for 15 days"])
    assert min(found for found, _ in rates.values()) >= 0.95
    assert max(lost for _, lost in rates.values()) < 0.001
    # all errors exactly 10 °C: the goal is not met, the figure kept as it is measured
    rates = measure(records[name], neighbours, kinds=["10 °C off"])
    assert rates["10 °C off"][0] >= 0.80


@pytest.mark.parametrize(("name", "least"), [("Ottawa", 0.84), ("New York", 0.96)])
def test_without_neighbours_the_weather_hides_some_of_the_errors_under_20_degrees(records, name, least):
    print(f"\n{name} by itself")
    rates = measure(records[name], (), kinds=[kind for kind in KINDS if kind != "10 °C off"])
    assert rates["10 to 30 °C off"][0] >= least  # below 95 %: 10 °C is within a January's own scatter at Ottawa
    assert rates["20 °C off"][0] >= 0.95
    assert rates["sign"][0] >= 0.92
    assert rates["°F for °C"][0] >= 0.92
    assert rates["swapped"][0] >= 0.98
    assert rates["stuck for 15 days"][0] >= 0.99
    assert max(lost for _, lost in rates.values()) < 0.001


def test_records_as_they_are_lose_fewer_than_1_day_in_1000(records):
    for name, record in records.items():
        _, findings = check(record)
        known = np.isfinite(record.tmin) | np.isfinite(record.tmax)
        assert masked(record, findings).any(0).sum() < 0.001 * known.sum(), name


def test_a_copied_month_is_found(records):
    record = records["Ottawa"]
    tmin, start = record.tmin.copy(), record.start
    source, onto = (int((np.datetime64(day) - start).astype(int)) for day in ("1950-06-01", "1957-06-01"))
    tmin[onto : onto + 30] = tmin[source : source + 30]
    _, findings = check(replace(record, tmin=tmin))
    found = [f for f in findings if f.check == "duplicate"]
    assert {str(f.day)[:7] for f in found} == {"1950-06", "1957-06"}
    assert len(found) == 60
    assert {f.element for f in found} == {"tmin"}


def test_tmin_of_0_on_20_july_2017_at_valleyview_is_found():
    """`data/PROVENANCE.md`: between 8.7 and 11.8 with Tmax 22.5, almost surely an error."""
    record = read(SHARED / "data/ghcn-daily/CA003076680_2003-2024.csv.gz", input_units="C")
    day = int((np.datetime64("2017-07-20") - record.start).astype(int))
    assert record.tmin[day] == 0.0
    checked, findings = check(record)
    assert np.isnan(checked.tmin[day])
    assert checked.tmax[day] == record.tmax[day]
    assert [f.check for f in findings if str(f.day) == "2017-07-20"] == ["lone naught"]


def test_a_reading_that_ncei_flagged_against_its_neighbours_is_found_with_one():
    """GHCN-Daily: Tmax 10.6 on 24 March 2011 at CA006105978 carries flag S (spatial); the same place's other
    thermometer stands beside it."""
    record = read(SHARED / "data/ghcn-daily/CA006105978.dly")
    day = int((np.datetime64("2011-03-24") - record.start).astype(int))
    tmax = record.tmax.copy()
    assert np.isnan(tmax[day])
    tmax[day] = 10.6
    _, findings = check(replace(record, tmax=tmax), [read(SHARED / "data/ghcn-daily/CA006105976.dly")])
    assert ("2011-03-24", "tmax") in {(str(f.day), f.element) for f in findings}
