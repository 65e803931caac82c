"""What is gated before any answer: real records pass, and the same records with their unit changed in mid-file,
columns swapped or a stretch copied do not, wherever and however long that is.

The damage is done to the readings as a person's file would hold them: whole °F or tenths of a degree.
"""

import re
from dataclasses import replace

import numpy as np
import pytest

from frostkit.demo.place import demo_record
from frostkit.errors import RecordError
from frostkit.records import gates
from frostkit.records.days import days_of
from frostkit.records.one_unit import FEW_DAYS
from frostkit.records.readers import read
from frostkit.records.record import Record
from tests.real_records import AS_THEY_ARE, NAMES, place

pytestmark = pytest.mark.real
LONG = [name for name in NAMES if name not in ("minneapolis_long", "ottawa_eccc", "calgary", "saskatoon_era5")]
CITIES = ("Halifax", "Montréal", "Iqaluit", "Saskatoon", "Victoria")  # of the reanalysis


@pytest.fixture(scope="module")
def records(shared, tmp_path_factory):
    folder, seen = tmp_path_factory.mktemp("relaid"), {"demo": demo_record()}

    def record(name) -> Record:
        if name not in seen:
            path, options = place(name, shared, folder)
            seen[name] = read(path, **options)
        return seen[name]

    return record


def readings(record):
    return np.stack([record.tmin, record.tmax]).astype(float)


def fahrenheit(celsius):
    """Whole °F as a file would have them, where °C are read."""
    return np.rint(1.8 * celsius + 32)


def celsius(celsius):
    """Tenths of °C as a file would have them, where °F are read."""
    return (np.round(celsius, 1) - 32) / 1.8


def swapped(both):
    return both[::-1]


def stretches(record):
    """From 10 to 90 % of the record to its end, and single summers and years within."""
    size, days = record.tmin.size, record.time()
    cuts = [(int(share * size), size) for share in np.linspace(0.1, 0.9, 9)]
    years = np.unique(days.astype("datetime64[Y]"))[1:-1]
    for year in years[:: max(1, len(years) // 4)]:
        first = int((year.astype("datetime64[D]") - record.start).astype(int))
        cuts += [(first + 90, first + 304), (first, first + 365)]  # April to October; the year
    known = np.isfinite(readings(record)).all(0)
    return [(first, behind) for first, behind in cuts if known[first:behind].sum() >= 200]


# -- nothing true is refused ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [*NAMES, "demo"])
def test_no_record_is_refused_and_few_of_its_readings_look_impossible(records, name):
    record = records(name)  # it was read, so it was not refused
    assert gates.passed(record).source == record.source
    assert int(record.source.get("suspect", 0)) <= 0.0002 * np.isfinite(readings(record)).sum() + 1


@pytest.mark.parametrize("city", CITIES)
def test_no_place_of_the_reanalysis_is_refused(shared, city):
    record = read(shared / "data" / AS_THEY_ARE["saskatoon_era5"][0], station=city)
    assert gates.odd(readings(record), record.start) is None


@pytest.mark.parametrize("name", [*NAMES, "demo"])
def test_no_part_of_a_record_is_refused_be_it_two_months_or_ten_years(records, name):
    record = records(name)
    both, tried = readings(record), 0
    for length in (60, 200, 400, 730, 1096, 1826, 3653):
        for first in range(0, max(1, both.shape[1] - length), max(length // 2, 150)):
            part = both[:, first : first + length]
            if np.isfinite(part).any():
                for gate in (gates.odd, gates.whole):
                    assert gate(part, record.start + first) is None
                tried += 1
    assert tried > both.shape[1] / 150


# -- what is wrong is refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize("damage", [fahrenheit, celsius, swapped])
@pytest.mark.parametrize("name", [*LONG, "demo"])
def test_a_change_of_unit_or_swapped_columns_are_found_wherever_they_are(records, name, damage):
    record = records(name)
    both = readings(record)
    away = []
    for first, behind in stretches(record):
        bad = both.copy()
        bad[:, first:behind] = damage(bad[:, first:behind])
        fault = gates.odd(bad, record.start)
        assert fault is not None, (first, behind)
        known = np.isfinite(bad).all(0)
        if all(known[max(0, at - 40) : at + 40].mean() > 0.9 for at in (first, behind)):  # no hole about the turns
            away.append(min(abs(fault.day - first), abs(fault.day - behind)))
    assert np.median(away) <= 1
    assert max(away) <= 60  # a cold spell before the turn looks like it
    assert np.mean(np.array(away) <= 10) >= 0.8


@pytest.mark.parametrize("name", [*LONG, "demo"])
def test_one_column_alone_in_another_unit_is_found(records, name):
    record = records(name)
    for first, behind in stretches(record):
        bad = readings(record)
        bad[0, first:behind] = fahrenheit(bad[0, first:behind])
        assert gates.odd(bad, record.start) is not None, (first, behind)


@pytest.mark.parametrize(
    "damage",
    [
        lambda both: both * 10,  # whole degrees read as tenths elsewhere
        lambda both: both / 10,
        lambda both: both + 273.15,
        lambda both: both * 1.8,  # the 32 forgotten
        lambda both: both + 32,
    ],
    ids=["tenths", "a tenth", "K", "1.8", "32"],
)
@pytest.mark.parametrize("name", ["twin_cities", "farnham", "demo"])
def test_other_slips_of_a_unit_are_found_too(records, name, damage):
    record = records(name)
    for first, behind in stretches(record):
        bad = readings(record)
        bad[:, first:behind] = damage(bad[:, first:behind])
        assert gates.odd(bad, record.start) is not None, (first, behind)


def test_in_records_of_a_few_years_most_changes_of_unit_are_found(records):
    """Not all: 14 months hold no month twice, and a spring that turns as far as the unit does is not told from it."""
    found = []
    for name in ("minneapolis_long", "ottawa_eccc", "calgary", "saskatoon_era5"):
        record = records(name)
        assert record.tmin.size < FEW_DAYS
        for first, behind in stretches(record):
            for damage in (fahrenheit, celsius):
                bad = readings(record)
                bad[:, first:behind] = damage(bad[:, first:behind])
                found.append(gates.odd(bad, record.start) is not None)
    assert np.mean(found) >= 0.9


def test_a_year_copied_over_another_is_found(records):
    record = records("ottawa")
    at, onto = (int((np.datetime64(day) - record.start).astype(int)) for day in ("1950-01-01", "1957-01-01"))
    bad = readings(record)
    bad[:, onto : onto + 365] = bad[:, at : at + 365]
    fault = gates.odd(bad, record.start)
    assert "365 days or more hold the readings of other days, one by one, first from 1 January 1957 on" in fault.what


def test_a_year_copied_a_day_late_is_found(records):
    record = records("twin_cities")
    at, onto = (int((np.datetime64(day) - record.start).astype(int)) for day in ("1951-01-01", "1953-01-02"))
    bad = readings(record)
    bad[:, onto : onto + 300] = bad[:, at : at + 300]
    found = re.match(r"(\d+) days or more hold the readings of other days", gates.odd(bad, record.start).what)
    assert 290 <= int(found[1]) <= 300


# -- the count that every answer can say ---------------------------------------------------------------------------


def test_readings_that_look_impossible_are_counted_on_the_record(records):
    record = records("farnham")
    before = int(record.source.get("suspect", 0))
    tmin = record.tmin.copy()
    july = np.flatnonzero((days_of(record.start, tmin.size).month == 6) & np.isfinite(tmin))[10::40][:20]
    tmin[july] -= 25
    after = gates.counted(replace(record, tmin=tmin)).source["suspect"]
    assert before + 18 <= int(after) <= before + 22


def test_the_lone_zero_of_20_july_2017_is_counted(records, shared):
    """shared/data/PROVENANCE.md: Tmin 0.0 between 8.7 and 11.8 with Tmax 22.5, almost surely an error."""
    record = records("valleyview")
    bad = gates.suspects(readings(record), record.start)
    assert str(record.time()[np.flatnonzero(bad[0])[0]]) == "2017-07-20"
    assert record.source["suspect"] == "1"


def test_the_count_costs_little(records):
    """60 years in some ten milliseconds of work; room for a busy machine."""
    import time

    record = records("demo")
    took = []
    for _ in range(5):
        before = time.process_time()
        gates.passed(record)
        took.append(time.process_time() - before)
    assert min(took) < 0.1


# -- as a person meets it ------------------------------------------------------------------------------------------


def written(record, path, low, high, header="date,tmin_F,tmax_F"):
    rows = [f"{day},{_cell(a)},{_cell(b)}" for day, a, b in zip(record.time(), low, high, strict=True)]
    path.write_text(header + "\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def _cell(value):
    return "M" if np.isnan(value) else f"{value:.1f}".removesuffix(".0")


@pytest.fixture
def complained(capsys):
    """The two lines of a command that is refused."""
    from frostkit.show.cli import main

    def typed(*arguments):
        code = main([str(one) for one in arguments])
        out, err = capsys.readouterr()
        lines = err.strip().splitlines()
        assert (code, out, len(lines)) == (2, "", 2), err
        return lines

    return typed


def test_a_real_file_in_fahrenheit_whose_second_half_is_in_celsius_is_refused(records, tmp_path, complained):
    record = records("twin_cities")
    both = readings(record)
    half = both.shape[1] // 2
    both[:, :half] = np.rint(1.8 * both[:, :half] + 32)
    path = written(record, tmp_path / "halved.csv", *np.round(both, 1))
    for command in ("window", "frost", "record"):
        first, second = complained(command, path)
        day = record.start + half
        told = f"{day.item().day} {day.item():%B %Y}"
        assert f"halved.csv, line {half + 2}, tmin and tmax: from {told} on the warm months lie" in first
        assert "as °C and °F do" in first
        assert "Split the file" in second
        assert "own unit" in second


def test_a_real_file_with_columns_swapped_from_the_middle_on_is_refused(records, tmp_path, complained):
    record = records("farnham")
    both = readings(record)
    half = int(np.flatnonzero(np.isfinite(both).all(0))[both.shape[1] // 2])
    both[:, half:] = both[::-1, half:]
    path = written(record, tmp_path / "crossed.csv", *both, "date,tmin_C,tmax_C")
    first, second = complained("window", path)
    day = record.start + half
    assert f"tmin and tmax: from {day.item().day} {day.item():%B %Y} on tmin is above tmax" in first
    assert "swapped columns" in first
    assert "fetch the file again" in second


def test_each_format_is_gated(records, tmp_path):
    """A dly whose second half is in tenths of °F, and ECCC's and NCEI's CSV likewise, are refused as plain CSV is."""
    from tests.records.test_fuzz_readers import MADE, YEARS

    half = len(YEARS.days) // 2
    low, high = (
        [round(v * 1.8 + 32, 1) if i >= half else v for i, v in enumerate(row)] for row in (YEARS.low, YEARS.high)
    )
    for name, (make, _) in MADE.items():
        path = tmp_path / name
        path.write_text(make(YEARS._replace(low=low, high=high)))
        with pytest.raises(
            RecordError, match=r"tmin and tmax: from .* (2003|2004) on the warm months lie \d+ °C above"
        ):
            read(path)
