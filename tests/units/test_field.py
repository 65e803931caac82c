"""The field against its station: invented offsets come back, few nights are shrunk, scatter goes into the draws."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.errors import RecordError, SettingError
from frostkit.records.field import compare, corrected, low_spot, mean_of, shrunk
from frostkit.records.record import Record, Station

START = np.datetime64("1991-01-01")
YEARS = 20


def station(seed: int = 0, latitude: float = 50.0) -> Record:
    """Invented: a smooth year with weather that lasts for days, and nights from windy to calm."""
    rng = np.random.default_rng(seed)
    size = 365 * YEARS + 5
    course = 4 - 16 * np.cos(2 * np.pi * (np.arange(size) - 15) / 365.25)
    weather = np.convolve(rng.standard_normal(size + 4), np.ones(5) / 5**0.5, "valid") * 4
    half = 6 + 2 * rng.uniform(-1, 1, size)
    tmin, tmax = course + weather - half, course + weather + half
    return Record(Station(latitude=latitude), START, tmin.round(1).astype("f4"), tmax.round(1).astype("f4"),
                  invented=True)  # fmt: skip


def clear_nights(record: Record) -> np.ndarray:
    return record.tmax - record.tmin >= 12


def field_of(record: Record, first: str, last: str, seed: int = 1, clear=-2.5, cloudy=-0.5, scatter=0.8) -> Record:
    """A logger in an invented field: colder by two figures, with a scatter from night to night."""
    rng = np.random.default_rng(seed)
    move = np.where(clear_nights(record), clear, cloudy) + scatter * rng.standard_normal(record.tmin.size)
    a, b = (int((np.datetime64(day) - record.start).astype(int)) for day in (first, last))
    return Record(Station(name="low spot (invented)"), record.start + a, (record.tmin + move).round(1)[a:b].astype("f4"),
                  record.tmax[a:b])  # fmt: skip


def test_two_seasons_of_a_logger_give_back_the_offset_its_scatter_and_the_number_of_nights():
    there = compare(station(), field_of(station(), "2003-04-01", "2004-11-01"))
    assert there.nights.sum() == 2 * 214
    assert there.mean[:, 0] == pytest.approx([-0.5] * 3, abs=0.35)  # mid-range nights fall on either side of the median
    assert there.mean[:, 1] == pytest.approx([-2.5] * 3, abs=0.35)
    assert there.scatter == pytest.approx([0.8, 0.8], abs=0.2)
    assert there.said[0].key == "logged"
    assert there.said[0].values == {
        "nights": 428,
        "clear": pytest.approx(mean_of(there, 1)),
        "other": pytest.approx(mean_of(there, 0)),
        "scatter": there.scatter[1],
    }


def test_the_corrected_records_freeze_as_often_as_the_field_does():
    record = station()
    truth = field_of(record, "1991-01-01", "2010-12-30")
    offset = compare(record, field_of(record, "2003-08-01", "2003-10-15", seed=5))
    draws = corrected(record, offset, np.random.default_rng(3), 40)
    september = np.zeros(truth.tmin.size, bool)
    for year in range(1991, 2011):
        a = int((np.datetime64(f"{year}-09-01") - START).astype(int))
        september[a : a + 30] = True
    cold = [(each.tmin[: truth.tmin.size][september] <= 0.05).mean() for each in draws]
    frosts = (truth.tmin[september] <= 0.05).mean()
    unmoved = (record.tmin[: truth.tmin.size][september] <= 0.05).mean()
    assert unmoved < frosts - 0.05
    assert np.mean(cold) == pytest.approx(frosts, abs=0.02)
    assert min(cold) < frosts < max(cold)


def test_ten_nights_are_few_and_said_to_be_rough():
    record = station()
    with pytest.raises(RecordError, match=r"9 nights in common; 10 are needed.\nDo they cover the same days"):
        compare(record, field_of(record, "2003-09-01", "2003-09-10"))
    few = compare(record, field_of(record, "2003-09-01", "2003-09-15"))
    many = compare(record, field_of(record, "2003-04-01", "2003-11-01"))
    (rough,) = (said for said in few.said if said.key == "few")
    assert rough.values == {"nights": 14, "error": few.error[few.nights > 0].max()}
    assert few.error.max() > many.error.max()
    assert (few.nights[0] == 0).all()
    assert few.mean[0].min() > -2.6  # a season that was not seen takes the mean of what was


def test_winter_nights_are_left_out_and_the_south_has_its_own_seasons():
    record = station()
    with pytest.raises(RecordError, match=r"0 nights in common"):
        compare(record, field_of(record, "2003-12-01", "2004-03-01"))
    south = station(latitude=-40.0)
    assert compare(south, field_of(south, "2003-12-01", "2004-03-01")).nights[1].sum() == 91


def test_a_logger_in_fahrenheit_or_with_its_clock_a_day_off_is_spoken_of():
    record = station()
    logger = field_of(record, "2003-05-01", "2003-10-01")
    hot = replace(logger, tmin=logger.tmin * np.float32(1.8) + 32)
    with pytest.raises(RecordError, match=r"The logger is \d\d °C warmer than the station on average.*\n.*in °F"):
        compare(record, hot)
    late = replace(logger, start=logger.start + 1)
    assert "clock_earlier" in [said.key for said in compare(record, late).said]
    assert not any("clock" in said.key for said in compare(record, logger).said)


def test_a_low_spot_typed_in_moves_clear_nights_alone_and_carries_no_scatter():
    record = station()
    (moved,) = corrected(record, low_spot(2.0), np.random.default_rng(0), 20)
    away = (record.tmin - moved.tmin).round(1)
    assert set(np.unique(away).tolist()) == {0.0, 2.0}
    assert 0.45 < (away == 2).mean() < 0.55
    assert away[record.tmax - record.tmin > 14].min() == 2
    (all_of_them,) = corrected(record, low_spot(1.5, clear_nights_only=False), np.random.default_rng(0))
    assert np.unique((record.tmin - all_of_them.tmin).round(1)).tolist() == [1.5]
    assert moved.repairs[-1].what == "Tmin moved from the station to the field"
    with pytest.raises(SettingError, match=r"A field 40 °C colder than its station is not believed.\nGive a number"):
        low_spot(40)


def test_missing_stays_missing_tmin_never_passes_tmax_and_the_same_generator_gives_the_same_draws():
    record = station()
    holed = replace(record, tmin=np.where(np.arange(record.tmin.size) % 7 == 0, np.float32(np.nan), record.tmin),
                    sign=np.ones(record.tmin.size, np.int8))  # fmt: skip
    offset = compare(record, field_of(record, "2003-05-01", "2003-10-01", clear=4.0, cloudy=6.0))
    one, two = (corrected(holed, offset, np.random.default_rng(8), 3) for _ in range(2))
    assert len(one) == 3
    for a, b in zip(one, two, strict=True):
        assert np.array_equal(a.tmin, b.tmin, equal_nan=True)
        assert np.array_equal(np.isnan(a.tmin), np.isnan(holed.tmin))
        assert (a.tmin <= a.tmax)[np.isfinite(a.tmin)].all()
        assert a.sign is None  # known above 0 °C at the station says nothing of the field
    assert not np.array_equal(one[0].tmin, one[1].tmin, equal_nan=True)
    with pytest.raises(SettingError, match=r"draws=0 gives no record"):
        corrected(record, offset, np.random.default_rng(0), 0)


def test_shrinking_follows_the_worked_example_of_the_method():
    """By hand: means 0, 2 with squared errors 1, 1: Q = 2, between = (2 - 1) / (2 - 1) = 1, so half way to the mean."""
    mean, error = shrunk(np.array([0.0, 2.0, 7.0]), np.array([1.0, 1.0, 1.0]), np.array([True, True, False]))
    assert mean == pytest.approx([0.5, 1.5, 1.0])
    assert error[2] == pytest.approx(np.sqrt(1 + 1))  # between cells, and of the common mean: 1 / (1/2 + 1/2)
