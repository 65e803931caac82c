"""Soybean by day length and corn by stage against published values; each table names its source."""

import csv
import re

import numpy as np
import pytest

from frostkit.answers.collars import collar_need, collars_at
from frostkit.answers.plans import late_planting, plan, whole_plan
from frostkit.crops.entry import load, read
from frostkit.seasons.calendar import column, tenths
from frostkit.seasons.daylength import day_length
from frostkit.seasons.growth import stage_days
from frostkit.seasons.photothermal import short_day_response, temperature_response
from frostkit.seasons.soil import soil_temperature

GROUPS = ("000", "00", "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10")
ROMAN = dict(zip(("000", "00", "0", "I", "II", "III", "IV", "V", "VI", "VII"), GROUPS, strict=False))

# A normal prairie summer: monthly means of Tmax and Tmin, April to October, Winnipeg 1981-2010 (ECCC normals, FROM MEMORY).
TMAX = (10.9, 18.6, 23.2, 25.9, 25.4, 19.0, 10.5)
TMIN = (-2.0, 4.5, 10.7, 13.5, 12.1, 6.4, -0.4)


def rows(shared, topic):
    return [r for r in csv.DictReader((shared / "checks/values.csv").read_text().splitlines()) if r["topic"] == topic]


def normal_summer() -> list[np.ndarray]:
    """tmin, tmax of one season in tenths. [season, 365]"""
    middles = [column(month, 15) for month in range(4, 11)]
    return [tenths(np.interp(np.arange(365), middles, monthly))[None] for monthly in (TMIN, TMAX)]


def trapezoid(celsius, temperatures: tuple[float, float, float, float]):
    """Response to one temperature [degC]: 0 at base and ceiling, 1 between the optima."""
    base, first, last, ceiling = temperatures
    t = np.asarray(celsius, float)
    return np.clip(np.minimum((t - base) / (first - base), (ceiling - t) / (ceiling - last)), 0, 1)


def days_to_flower(summer, group, sown, latitude, cool_nights=None):
    of = whole_plan(f"soybean-{group}", latitude, cool_nights=cool_nights)
    at = [stage.name for stage in of.stages].index("first_flower")
    return stage_days(*summer, of, [sown])[:, 0, at] - sown


def response(group: str, hours: float) -> float:
    clock = load(f"soybean-{group}").clock["to_flower"]
    return float(short_day_response(hours, clock.critical.value, clock.sensitivity.value))


def soybean(row) -> float | None:
    """Our number for a soybean row of checks/values.csv; None for facts of practice (losses, other units)."""
    if found := re.match(r"MG (\w+): (.*)", row["quantity"]):
        group, what = found.groups()
        clock = load(f"soybean-{group}").clock["to_flower"]
        if "zero development" in what:
            return clock.critical.value + 1 / clock.sensitivity.value
        hours = float(day_length(50, 172, clock.day_length).hours) if "50 N" in what else float(row["inputs"][2:])
        return response(group, hours)
    if row["quantity"].startswith("temperature factor"):
        cardinals = tuple(float(t) for t in re.search(r"\((.*)\)", row["inputs"])[1].split(","))
        return float(trapezoid(float(re.search(r"T=([\d.]+)", row["inputs"])[1]), cardinals))
    if row["id"] == "SOY-38":
        return load("grain-00").stage["ripe"].need.value
    if row["id"] == "SOY-41":
        return load("grain-00").stage["emergence"].need.value
    return None


def test_soybean_check_values_come_out(shared):
    """checks/values.csv, topic soybean: the published cultivar table and species file (READ), lineage Grimm et al. 1993."""
    told = [(r["id"], soybean(r), float(r["expected"]), float(r["tolerance"])) for r in rows(shared, "soybean")]
    told = [one for one in told if one[1] is not None]
    assert len(told) == 35  # the other six: yield losses after frost, and heat to ripeness of two further varieties
    assert not [one for one in told if abs(one[1] - one[2]) > one[3] + 1e-9]


def test_every_coefficient_of_the_soybean_entries_is_the_published_one(shared):
    """checks/soybean_mg.csv: published soybean cultivar table, version 048, READ."""
    for row in csv.DictReader((shared / "checks/soybean_mg.csv").read_text().splitlines()):
        crop = load(f"soybean-{row['mg']}")
        flower, seed, ripe = (crop.clock[name] for name in ("to_flower", "to_seed", "to_ripe"))
        earlier = float(row["csdl_h"]) - float(row["r1ppo_h"])
        assert flower.critical.value == float(row["csdl_h"])
        assert seed.critical.value == pytest.approx(earlier) == ripe.critical.value
        assert {c.sensitivity.value for c in (flower, seed, ripe)} == {float(row["ppsen_per_h"])}
        assert (flower.cool_nights.below, flower.cool_nights.slowing) == (float(row["optbi_C"]), float(row["slobi"]))
        needs = [crop.stage[name].need.value for name in ("first_flower", "first_pod", "first_seed", "ripe")]
        assert needs == [float(row[name]) for name in ("em_fl", "fl_sh", "fl_sd", "sd_pm")]


# Grimm et al. 1993, Crop Sci. 33:137-144; Boote and others' cultivar tables (FROM MEMORY; CHECKS.md section 7).
RECALLED = {"000": (14.60, 0.129, 15.5), "00": (14.35, 0.148, 16.0), "0": (14.10, 0.171, 16.8), "I": (13.84, 0.203, 17.0),
            "II": (13.59, 0.249, 17.4), "III": (13.40, 0.285, 19.0), "IV": (13.09, 0.294, 19.4), "V": (12.83, 0.303, 19.8),
            "VI": (12.58, 0.311, 20.2), "VII": (12.33, 0.320, 20.8)}  # fmt: skip


@pytest.mark.parametrize("group", RECALLED)
def test_the_recalled_table_agrees_with_the_entries(group):
    crop = load(f"soybean-{ROMAN[group]}")
    clock = crop.clock["to_flower"]
    assert (clock.critical.value, clock.sensitivity.value, crop.stage["first_flower"].need.value) == RECALLED[group]


def test_the_closed_temperature_response_is_the_mean_over_a_sine_day():
    """A thousand points of the day against the closed form (ramps on a sine: Baskerville & Emin 1969)."""
    cardinals = (7.0, 28.0, 35.0, 45.0)
    hour = (np.arange(1000) + 0.5) / 1000
    for tmin, tmax in ((2, 14), (9, 24), (15, 33), (20, 41), (-5, 6), (25, 50), (12, 12), (30, 34)):
        curve = (tmax + tmin) / 2 + (tmax - tmin) / 2 * np.sin(2 * np.pi * hour)
        got = temperature_response(np.int16([10 * tmin]), np.int16([10 * tmax]), cardinals)[0]
        assert got == pytest.approx(trapezoid(curve, cardinals).mean(), abs=2e-4), (tmin, tmax)


def test_at_50_n_an_early_grain_type_flowers_from_mid_june_to_mid_july():
    """Common practice, no source (CHECKS.md section 7): group 00 sown 15 to 25 May; cool-night slowing off, as it is by
    default. Measured: 12, 14 and 17 July in this cool normal summer, 6 July with Ottawa's warmth at 50 N."""
    for sown in (column(5, 15), column(5, 20), column(5, 25)):
        flower = sown + days_to_flower(normal_summer(), "00", sown, 50.0)[0]
        assert column(6, 15) <= flower <= column(7, 18)


@pytest.mark.parametrize("group", ["6", "7"])
def test_at_50_n_a_late_forage_type_stays_vegetative_over_100_days(group):
    """Common practice, no source: counted from sowing, which CHECKS.md section 7 says is how it is told."""
    for sown in (column(5, 15), column(5, 20), column(5, 25)):
        assert days_to_flower(normal_summer(), group, sown, 50.0)[0] > 100


def test_flowering_moves_later_with_group_and_with_latitude_without_a_break():
    summer, sown = normal_summer(), column(5, 20)
    table = np.array([[days_to_flower(summer, group, sown, lat)[0] for group in GROUPS] for lat in range(44, 58)])
    finite = np.where(np.isfinite(table), table, 999)
    assert (np.diff(finite, axis=1) >= 0).all()
    assert (np.diff(finite, axis=0) >= 0).all()
    assert (np.diff(finite[:, :4], axis=0) <= 4).all()  # a degree north is never more than four days for early groups


def test_cool_night_slowing_only_ever_delays():
    summer, sown = normal_summer(), column(5, 20)
    for group in GROUPS:
        off, on = (days_to_flower(summer, group, sown, 50.0, cool)[0] for cool in (False, True))
        assert on >= off


def test_a_southern_illinois_type_flowers_in_manitoba_at_the_end_of_august():
    """Western Producer 2014 (READ): at Russell, about 50.8 N, it might not flower until late August. Southern Illinois
    grows late group III to IV: 29 August and 14 September here, so within two weeks of what was printed."""
    summer, sown = normal_summer(), column(5, 20)
    late_three, four = (sown + days_to_flower(summer, group, sown, 50.8)[0] for group in ("3", "4"))
    assert column(8, 21) <= late_three <= column(9, 1)
    assert late_three < four <= column(9, 15)


def corn(row) -> float | None:
    """Our number for a corn row of checks/values.csv; None for facts of other answers (days after silking, drying)."""
    of = load("silage-2300")
    match row["id"]:
        case "COR-01":
            return float(collars_at(of, [785], emergence=120)[0])
        case "COR-02":
            return adjusted(2700, column(5, 31))
        case "COR-03":
            return adjusted(2300, column(5, 20))
        case "COR-04":
            return of.stage["emergence"].need.value + collar_need(of, 15)
        case "COR-05":
            return plan(of).stages[0].need / 100
        case "COR-09":
            return (collar_need(of, 10) - collar_need(of, 3)) / 17.5
        case "COR-19":
            return of.stage["silking"].need.value / of.stage["black_layer"].need.value
    return None


def adjusted(rated: float, sown: int) -> float:
    """Need in degF days after the delayed-planting rule, through an entry that counts in degF days."""
    of = {"value": rated, "unit": "degree days F", "source": "a test's own number"}
    late = {"value": 6.8, "unit": "degree days F", "from": "05-01", "until": "06-15", "source": "Nielsen et al. 2002"}
    entry = {
        "title": "t", "kind": "corn", "use": "grain", "goal": "ripe", "late_planting": late,
        "soil": {"limit": 10.0, "next_days": 1, "unit": "C", "from": "04-01", "source": "a test's own number"},
        "clock": {"leaves": {"method": "clamped", "base": 10.0, "cap": 30.0, "source": "86/50 degF rule"}},
        "stage": {"ripe": {"title": "ripe", "clock": "leaves", "need": of}},
    }  # fmt: skip
    crop = read(entry, "t", "t.toml")
    return late_planting(plan(crop), crop, [sown]).stages[0].need[0] * 1.8 / 100


def test_corn_check_values_come_out(shared):
    """checks/values.csv, topic corn: Nielsen (Purdue), Nielsen, Thomison et al. 2002, Manitoba; each as said there."""
    told = [(r["id"], corn(r), float(r["expected"]), float(r["tolerance"])) for r in rows(shared, "corn")]
    told = [one for one in told if one[1] is not None]
    assert len(told) == 7
    assert not [one for one in told if abs(one[1] - one[2]) > max(one[3], 0.011) + 1e-9]  # needs are whole hundredths


def test_late_planting_stops_at_the_ends_of_its_range():
    """Nielsen, Thomison et al. 2002: from 1 May; trials sown to mid-June."""
    of = load("silage-2300")
    needs = (
        late_planting(plan(of), of, [column(4, 20), column(5, 1), column(5, 2), column(6, 15), column(7, 10)])
        .stages[-1]
        .need
    )
    assert needs[0] == needs[1] == 2150 * plan(of).stages[-1].clock.per_unit
    assert needs[1] > needs[2] > needs[3] == needs[4]


def test_the_lagged_soil_filter_gives_its_check_values():
    """checks SOI-01 to SOI-03, COMPUTED: a step from 0 to 10 degC, a = 0.25."""
    step = soil_temperature([0.0] * 80 + [10.0] * 11, lag=0.25, warmer=0.0)
    assert step[[84, 90]] == pytest.approx([7.627, 9.5776], abs=1e-3)
    assert -1 / np.log(1 - 0.25) == pytest.approx(3.476, abs=1e-3)
