"""Each quality check by itself: a made-up calm record with one planted fault, and the checks that must stay silent."""

import numpy as np
import pytest

from frostkit.records.alone import biweight
from frostkit.records.checks import CHECKS, check
from frostkit.records.glance import MASKED, MISSING, OUTSIDE, PRESENT, by_season, glance
from frostkit.records.record import Record, Station

START = np.datetime64("1991-01-01")
DAYS = 30 * 365


def calm(seed: int = 0) -> Record:
    """Invented: a smooth year with a scatter of 2 °C from day to day, 30 years."""
    rng = np.random.default_rng(seed)
    course = 4 - 16 * np.cos(2 * np.pi * (np.arange(DAYS) - 15) / 365.25)
    mean = course + 2 * rng.standard_normal(DAYS)
    half = 6 + rng.standard_normal(DAYS).clip(-2, 2)
    return Record(Station(name="Flat (invented)"), START, (mean - half).round(1).astype("f4"),
                  (mean + half).round(1).astype("f4"), invented=True)  # fmt: skip


def planted(tmin=(), tmax=(), record=None) -> Record:
    record = record or calm()
    low, high = record.tmin.copy(), record.tmax.copy()
    for row, changes in ((low, tmin), (high, tmax)):
        for day, value in changes:
            row[day] = value
    return Record(record.station, START, low, high)


JULY = 190 + 365 * 7
JANUARY = 10 + 365 * 7
FAULTS = {
    "bounds": planted(tmax=[(JULY, 88.0)]),
    "naught": planted(tmin=[(JULY, 0.0)], tmax=[(JULY, 0.0)]),
    "streak": planted(tmin=[(day, 12.3) for day in range(JULY, JULY + 15)]),
    "gap": planted(tmax=[(JULY, 55.0)]),
    "outlier": planted(tmin=[(JULY, -2.1)]),
    "consistency": planted(tmin=[(JULY, 20.6)], tmax=[(JULY, 20.0)]),
}


@pytest.mark.parametrize("name", ["bounds", "naught", "streak", "gap", "outlier", "consistency"])
def test_a_planted_fault_is_found_by_its_own_check_and_nothing_else_is_masked(name):
    clean, findings = check(calm())
    assert findings == ()
    assert clean.repairs == ()
    record = FAULTS[name]
    changed = np.flatnonzero((record.tmin != calm().tmin) | (record.tmax != calm().tmax))
    checked, findings = check(record)
    assert {f.check for f in findings} == {name}
    assert {int((f.day - START).astype(int)) for f in findings} == set(changed.tolist())
    assert sum(repair.count for repair in checked.repairs) == len(findings)
    kept = np.isfinite(checked.tmin)
    assert (checked.tmin[kept] == record.tmin[kept]).all()  # masked, never altered


def test_a_streak_goes_on_over_a_missing_day_and_14_equal_days_are_let_be():
    run = [(day, 12.3) for day in range(JULY, JULY + 16)]
    run[5] = (JULY + 5, np.nan)
    _, findings = check(planted(tmin=run))
    assert len([f for f in findings if f.check == "streak"]) == 15
    _, findings = check(planted(tmin=[(day, 12.3) for day in range(JULY, JULY + 14)]))
    assert not [f for f in findings if f.check == "streak"]


def test_spike_and_range_and_mega_see_what_their_definitions_say():
    look = _look([[0, 0, -26, 0, 0], [9, 9, 9, 9, 9]])
    assert np.argwhere(CHECKS["spike"](look)).tolist() == [[0, 2]]
    look = _look([[0, 0, -24.9, 0, 0], [9, 9, 9, 9, 9]])
    assert not CHECKS["spike"](look).any()
    look = _look([[-20, -31, -20, -20, -20], [10, 10, 10, 10, 21]])
    assert np.argwhere(CHECKS["range"](look)).tolist() == [[0, 1], [1, 4]]
    quiet = np.full(31 * 12 * 15, 10.0)  # 140 readings of each calendar month are asked for
    look = _look([quiet - 5, quiet])
    look.readings[0, 40] = 10.5
    look.readings[1, 41] = 4.5
    assert np.argwhere(CHECKS["mega-consistency"](look)).tolist() == [[0, 40], [1, 41]]


def test_a_copied_month_and_a_month_with_tmin_equal_to_tmax_are_duplicates():
    record = calm()
    low = record.tmin.copy()
    june, later_june = 151, 151 + 365 * 3 + 1  # 1992 was a leap year
    low[later_june : later_june + 30] = low[june : june + 30]
    _, findings = check(Record(record.station, START, low, record.tmax))
    assert len([f for f in findings if f.check == "duplicate"]) == 60
    high = record.tmax.copy()
    high[june : june + 30] = record.tmin[june : june + 30]
    _, findings = check(Record(record.station, START, record.tmin, high))
    assert {(f.check, f.element) for f in findings} == {("duplicate", "tmin"), ("duplicate", "tmax")}


def test_a_neighbour_finds_an_error_that_the_weather_hides_and_bears_out_a_true_extreme():
    record, near = calm(), calm()
    near = Record(near.station, START, near.tmin - 1, near.tmax + 1)
    wrong = planted(tmin=[(JULY, float(record.tmin[JULY]) - 9.5)])
    _, findings = check(wrong, [near])
    assert [(f.element, f.check) for f in findings] == [("tmin", "neighbours")]
    cold = float(record.tmin[JULY]) - 13
    true = planted(tmin=[(JULY, cold)])
    borne_out = planted(tmin=[(JULY, cold - 1)], record=near)
    _, alone = check(true)
    _, beside = check(true, [borne_out])
    assert [f.element for f in alone] == ["tmin"]
    assert [f for f in beside if f.check in ("days around", "neighbours", "corroboration")] == []


def test_an_empty_a_short_and_a_one_sided_record_pass_through():
    none = np.full(400, np.nan, "f4")
    for record in (Record(Station(), START, none, none), Record(Station(), START, none, none + 5),
                   Record(Station(), START, np.array([1.0], "f4"), np.array([2.0], "f4")),
                   Record(Station(), START, calm().tmin, np.full(DAYS, np.nan, "f4"))):  # fmt: skip
        _, findings = check(record, [calm()])
        assert findings == ()


def test_biweight_of_a_normal_sample_is_its_mean_and_standard_deviation():
    sample = np.random.default_rng(3).normal(5, 2, (1, 20_000))
    centre, spread, count = biweight(sample)
    assert centre[0] == pytest.approx(5, abs=0.05)
    assert spread[0] == pytest.approx(2, abs=0.05)
    assert count[0] == 20_000


def test_a_glance_shows_present_missing_masked_and_outside():
    record = planted(tmin=[(JULY, -2.1), (JULY + 5, np.nan)])
    checked, findings = check(record)
    seen = glance(checked, findings)
    assert seen.state.dtype == np.uint8
    assert seen.state.shape == (30, 365)
    at = {day: int(seen.state[7, day - 365 * 7 - 2]) for day in (JULY, JULY + 1, JULY + 5)}  # two leap days
    assert list(at.values()) == [MASKED, PRESENT, MISSING]
    assert seen.state[-1, -1] == OUTSIDE  # the last week of the last year is not there
    assert glance(checked, findings, elements=["tmax"]).state[7, JULY - 365 * 7 - 2] == PRESENT
    assert by_season(checked, findings) == {1998: {"outlier": 1}}


def _look(rows):
    from frostkit.records.alone import Look
    from frostkit.records.days import days_of

    readings = np.asarray(rows, np.float32)
    return Look(readings, days_of(START, readings.shape[1]))
