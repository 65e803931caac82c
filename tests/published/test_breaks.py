"""Break-point tests against a published break, against random draws, and against a dated move of a real station."""

from dataclasses import replace

import numpy as np
import pytest

from frostkit.records.breaks import CRITICAL_1, CRITICAL_5, YEARS, breaks, pettitt, snht, snht_critical
from frostkit.records.readers import read
from frostkit.records.record import Record, Station
from tests.conftest import SHARED

# Annual flow of the Nile at Aswan, 1871-1970, 10^8 m3: Cobb 1978 (Biometrika 65:243-251), from memory of the table. The
# flow fell after 1898, as Cobb and many after him found.
NILE = """1120 1160 963 1210 1160 1160 813 1230 1370 1140 995 935 1110 994 1020 960 1180 799 958 1140 1100 1210 1150 1250
1260 1220 1030 1100 774 840 874 694 940 833 701 916 692 1020 1050 969 831 726 456 824 702 1120 1100 832 764 821 768 845
864 862 698 845 744 796 1040 759 781 865 845 944 984 897 822 1010 771 676 649 846 812 742 801 1040 860 874 848 890 744
749 838 1050 918 986 797 923 975 815 1020 906 901 1170 912 746 919 718 714 740"""
RELAID = "FARNHAM__7022320__1980-2017", "IBERVILLE__7023270__1980-2016", "MARIEVILLE__7024627__1980-2017"


def test_the_nile_fell_after_1898_by_both_tests():
    flow = np.array(NILE.split(), float)
    assert flow.size == 100
    statistic, before = snht(flow)
    assert 1871 + before - 1 == 1898
    assert statistic > snht_critical(100, 0.01)
    p, before = pettitt(flow)
    assert 1871 + before - 1 == 1898
    assert p < 1e-5


def test_critical_values_are_what_random_series_give():
    """Published values (from memory) against 20,000 draws of white noise: within 3 %."""
    rng = np.random.default_rng(7)
    for years, five, one in list(zip(YEARS, CRITICAL_5, CRITICAL_1, strict=True))[::2]:
        z = rng.standard_normal((20_000, years))
        z = (z - z.mean(1, keepdims=True)) / z.std(1, ddof=1, keepdims=True)
        total, before = np.cumsum(z, 1)[:, :-1], np.arange(1, years)
        drawn = (total**2 / before + total**2 / (years - before)).max(1)
        assert snht(z[0])[0] == pytest.approx(drawn[0])
        assert five == pytest.approx(np.quantile(drawn, 0.95), rel=0.03)
        assert one == pytest.approx(np.quantile(drawn, 0.99), rel=0.06)


def test_a_record_without_a_break_is_let_be_and_constant_or_short_ones_too():
    assert snht(np.full(20, 3.0)) == (0.0, 0)
    tmin = np.random.default_rng(2).normal(5, 3, 365 * 30).astype("f4")
    made_up = Record(Station(), np.datetime64("1990-01-01"), tmin, tmin + 10)
    assert breaks(made_up) == ()
    assert breaks(replace(made_up, tmin=tmin[:900], tmax=tmin[:900] + 10)) == ()


@pytest.mark.real
def test_the_move_to_the_airport_in_1938_is_seen_in_the_twin_cities_record():
    """`data/PROVENANCE.md`: "airport since 1938"."""
    found = breaks(read(SHARED / "data/state-climate-office/twin_cities_1872-2023_F.csv.gz"))
    largest = max(found, key=lambda each: each.statistic)
    assert largest.year == 1938
    assert largest.words().startswith("The daily range (Tmax - Tmin) is 0.8 °C higher from 1938 on (by itself")


@pytest.fixture(scope="module")
def quebec() -> list[Record]:
    return [read(SHARED / "data/eccc/relaid" / f"{name}.csv") for name in RELAID]


@pytest.mark.real
@pytest.mark.parametrize("step", [1.0, -1.0])
def test_a_step_put_into_tmax_is_found_against_a_neighbour_within_a_year(quebec, step):
    neighbour, _, record = quebec
    assert [each for each in breaks(record, [neighbour]) if each.element == "tmax"] == []
    tmax = record.tmax.copy()
    tmax[int((np.datetime64("2001-01-01") - record.start).astype(int)) :] += np.float32(step)
    found = max(breaks(replace(record, tmax=tmax), [neighbour]), key=lambda each: each.statistic)
    assert found.element == "tmax"
    assert abs(found.year - 2001) <= 1
    assert found.shift == pytest.approx(step, abs=0.2)


def test_a_neighbour_that_was_moved_is_not_blamed_on_the_station():
    rng = np.random.default_rng(4)
    weather = rng.normal(10, 4, 365 * 30)

    def station(step=0.0):
        tmax = weather + rng.normal(0, 1, weather.size) + step * (np.arange(weather.size) > 365 * 14)
        return Record(Station(), np.datetime64("1990-01-01"), (weather - 9).astype("f4"), tmax.astype("f4"))

    record, moved, still, also = station(), station(1.0), station(), station()
    (alone,) = breaks(record, [moved])  # a single neighbour can't tell which of the two it was
    assert (alone.element, alone.year) == ("tmax", 2004)
    assert breaks(record, [moved, still, also]) == ()
    (found,) = breaks(moved, [record, still, also])
    assert (found.element, found.year, round(found.shift)) == ("tmax", 2004, 1)
