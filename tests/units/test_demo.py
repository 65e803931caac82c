"""The invented place: its file is what its generator makes, and is read like a real one."""

import numpy as np
import pytest
from numpy.random import RandomState

from frostkit.demo.generate import layout, texts, weather
from frostkit.demo.place import FILE, LOGGER, demo_record, settled
from frostkit.records.logger import read_logger
from frostkit.records.record import Record


@pytest.fixture(scope="module")
def record() -> Record:
    return demo_record()


def test_the_files_are_what_the_generator_makes_from_its_seed():
    made = texts()
    assert set(made) == {FILE, LOGGER}
    for path, text in made.items():
        assert path.read_bytes() == text.encode("ascii"), f"{path.name}: run python -m frostkit.demo.generate"


def test_another_seed_makes_other_weather():
    climate = settled()["weather"]
    one, other = (weather(climate, RandomState(seed)) for seed in (1, 2))
    assert (one.tmin != other.tmin).mean() > 0.9


def test_it_is_marked_as_invented(record):
    assert record.invented
    assert record.station.name == "River Flat"
    assert "invented" in record.source["provider"]


def test_it_has_sixty_seasons_of_days(record):
    years = np.unique(record.time().astype("datetime64[Y]"))
    assert years.size == 60
    assert (str(record.time()[0]), str(record.time()[-1])) == ("1966-01-01", "2025-12-31")


def test_every_day_comes_back_from_the_reader_as_it_was_made(record):
    told = settled()
    made = weather(told["weather"], RandomState(told["weather"]["seed"]))
    time = record.time()
    missing = np.zeros(time.size, bool)
    for gap in told["missing"]:
        missing |= (time >= np.datetime64(gap["first"])) & (time <= np.datetime64(gap["last"]))
    marked = {element: [np.datetime64(m["day"]) for m in told["marked"] if m["element"] == element] for element in ("TMIN", "TMAX")}  # fmt: skip
    for values, tenths, element in ((record.tmin, made.tmin, "TMIN"), (record.tmax, made.tmax, "TMAX")):
        gone = missing | np.isin(time, marked[element])
        np.testing.assert_array_equal(np.isnan(values), gone)
        np.testing.assert_array_equal(np.rint(10 * values[~gone]), tenths[~gone])
    np.testing.assert_array_equal(np.rint(10 * record.more["prcp"][~missing]), made.prcp[~missing])


def test_the_values_its_publisher_would_doubt_are_counted(record):
    assert sum(repair.count for repair in record.repairs) == len(settled()["marked"])


def test_a_month_is_a_line_of_31_places():
    # GHCN-Daily readme, record layout: 11 + 4 + 2 + 4 places, then 31 x (5 + 3) places.
    told = settled()
    days = weather(told["weather"], RandomState(0))
    lines = list(layout(told["station"]["id"], days, [], []))
    assert {len(line) for line in lines} == {21 + 31 * 8}
    assert len(lines) == 60 * 12 * 3


def test_its_weather_looks_like_the_northern_plains(record):
    # common practice, no source: last spring frost in the second half of May, first fall frost in September, about
    # 2,000 to 2,500 corn heat units where silage corn is grown; June the wettest quarter's middle, winters to -40.
    time = record.time()
    year, month = time.astype("datetime64[Y]").astype(int) + 1970, time.astype("datetime64[M]").astype(int) % 12 + 1
    of_year = (time - time.astype("datetime64[Y]").astype("datetime64[D]")).astype(int)
    frost = record.tmin <= 0.05
    seasons = np.unique(year)
    last = np.median([of_year[(year == y) & (of_year < 212) & frost].max() for y in seasons])
    first = np.median([of_year[(year == y) & (of_year >= 212) & frost].min() for y in seasons])
    assert 134 <= last <= 150  # 15 to 31 May
    assert 248 <= first <= 268  # 6 to 26 September

    # Brown and Bootsma 1993, from memory of Ontario Factsheet 93-119
    day = np.where(record.tmax > 10, 3.33 * (record.tmax - 10) - 0.084 * (record.tmax - 10) ** 2, 0)
    night = np.where(record.tmin > 4.4, 1.8 * (record.tmin - 4.4), 0)
    heat = [np.nansum(((day + night) / 2)[(year == y) & (of_year >= 134) & (of_year < first)]) for y in seasons]
    assert 2000 <= np.median(heat) <= 2500

    assert np.nanmin(record.tmin) < -35
    assert np.nansum(record.more["prcp"][(month >= 5) & (month <= 8)]) > np.nansum(record.more["prcp"]) / 2
    assert np.nanmin(record.tmax - record.tmin) > 0


def test_the_loggers_corner_is_colder_on_clear_nights_and_as_warm_by_day(record):
    days = read_logger(LOGGER).record
    told = settled()["logger"]
    assert (days.time()[0], days.time()[-1]) == (np.datetime64(told["first"]), np.datetime64(told["last"]))
    at = int((days.start - record.start).astype(int))
    tmin, tmax = record.tmin[at : at + days.tmin.size], record.tmax[at : at + days.tmin.size]
    colder, clear = tmin - days.tmin, tmax - tmin > told["clear_range"]
    assert 20 < clear.sum() < days.tmin.size / 2
    # 190 nights with this scatter know their mean to about 0.2; hours turn at 5:00 and 15:00, so the low is met but on
    # days that end colder than they began
    assert np.mean(colder[clear]) == pytest.approx(told["colder"], abs=0.5)
    assert np.mean(colder[tmax - tmin < 5]) < told["colder"] / 2
    assert np.mean(days.tmax - tmax) == pytest.approx(told["warmer"], abs=0.3)


def test_the_file_of_the_invented_place_is_known_as_invented_by_whoever_reads_it():
    from frostkit.demo.place import FILE
    from frostkit.records.readers import read

    record = read(FILE)
    assert record.invented
    assert "NOAA" not in " ".join(record.source.values())
