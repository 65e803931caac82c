"""Degree days and corn heat units against published and worked values; each row stands with its source."""

import csv
import re

import numpy as np
import pytest

from frostkit.seasons.heat import Heat, total
from tests import plain_loops
from tests.plain_loops import heat_of

pytestmark = pytest.mark.real
F_BASE, F_CAP = 10.0, 30.0  # 50 and 86 degF


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def rows(shared, topic):
    return [r for r in csv.DictReader((shared / "checks/values.csv").read_text().splitlines()) if r["topic"] == topic]


def numbers(row) -> dict[str, float]:
    return {name: float(value) for name, value in re.findall(r"(\w+)=(-?[\d.]+)", row["inputs"])}


def close(row, got) -> bool:
    return abs(got - float(row["expected"])) <= float(row["tolerance"]) + 1e-9


def whole(heat: Heat, tmin: float, tmax: float) -> float:
    """The integer rate as the number people say."""
    return float(heat.rate(np.int16([round(10 * tmin)]), np.int16([round(10 * tmax)]))[0]) / heat.per_unit


def modified(tmax_f: float, tmin_f: float) -> float:
    """86/50 degF: both held, then averaged; in degF days."""
    return 1.8 * float(heat_of(Heat("clamped", F_BASE, F_CAP), celsius(tmin_f), celsius(tmax_f)))


def simple(tmax_f: float, tmin_f: float, base_f: float) -> float:
    return 1.8 * float(heat_of(Heat("mean", celsius(base_f)), celsius(tmin_f), celsius(tmax_f)))


def degree_days(row) -> float:
    given = numbers(row)
    match row["id"]:
        case "GDD-04":
            return sum(modified(*map(float, day.split("/"))) for day in row["inputs"].split(","))
        case "GDD-08":
            return max(modified(hot, cold) for hot in range(40, 130) for cold in range(20, hot))
        case "GDD-16":
            return 25.5 / 1.8
        case "GDD-15":
            return whole(Heat("clamped", 10, 30), given["tmin_C"], given["tmax_C"])
    if "interpretation" in row["quantity"]:
        method = "mean" if "interpretation 1" in row["quantity"] else "clamped"
        return whole(Heat(method, given["base"]), given["tmin_C"], given["tmax_C"])
    if "simple" in row["quantity"]:
        return simple(given["tmax_F"], given["tmin_F"], given["base"])
    return modified(given["tmax_F"], given["tmin_F"])


def test_every_published_degree_day_row_comes_out(shared):
    found = {row["id"]: (degree_days(row), row["expected"], row["source"]) for row in rows(shared, "GDD")}
    assert len(found) == 14
    assert not {k: v for k, v in found.items() if not close({"expected": v[1], "tolerance": 1e-4}, v[0])}


def test_every_published_single_sine_row_comes_out(shared):
    """Single sine only: the triangle and double-sine rows of the same source are methods that frostkit does not have."""
    checked = 0
    for row in rows(shared, "sine"):
        if not row["quantity"].startswith("single sine"):
            continue
        given = numbers(row)
        if row["unit"] == "F.d":
            heat = Heat("sine", celsius(given["lo"]), celsius(given["up"]))
            got = 1.8 * float(heat_of(heat, celsius(given["tmin_F"]), celsius(given["tmax_F"])))
        else:
            heat = Heat("sine", given["lo"], given.get("up"))
            got = float(heat_of(heat, given["tmin_C"], given["tmax_C"]))
            assert whole(heat, given["tmin_C"], given["tmax_C"]) == pytest.approx(got, abs=0.005 + 1e-9)
        assert close(row, got), (row, got)
        checked += 1
    assert checked == 18


def test_every_published_corn_heat_row_comes_out(shared):
    checked = 0
    for row in rows(shared, "CHU"):
        given = numbers(row)
        day = (3.3, 0.082) if "MANITOBA" in row["quantity"] else (3.33, 0.084)
        heat = Heat("chu", day=day, night_base=given.get("tbase_night", 4.4))
        match row["id"]:
            case "CHU-17":  # the peak of the day part
                got = 10 + day[0] / (2 * day[1])
            case "CHU-18":
                got = 2 * float(heat_of(heat, -20, given["tmax"]))
            case "CHU-22":  # published without clamps, to show why they are needed
                assert heat_of(heat, given["tmin_C"], given["tmax_C"]) == 0 and float(row["expected"]) < 0
                continue
            case _:
                got = float(heat_of(heat, given["tmin_C"], given["tmax_C"]))
                assert abs(whole(heat, given["tmin_C"], given["tmax_C"]) - got) <= 0.005 + 1e-9
        assert close(row, got), (row, got)
        checked += 1
    assert checked == 21


def test_the_whole_table_of_corn_heat_comes_out_in_three_variants(shared):
    table = list(csv.DictReader((shared / "checks/chu_table.csv").read_text().splitlines()))
    for column, heat in (
        ("chu_333_084_44", Heat("chu")),
        ("chu_333_084_444", Heat("chu", night_base=4.44)),
        ("chu_manitoba_33_082_44", Heat("chu", day=(3.3, 0.082))),
    ):
        for row in table:
            tmin, tmax = float(row["tmin_C"]), float(row["tmax_C"])
            assert float(heat_of(heat, tmin, tmax)) == pytest.approx(float(row[column]), abs=5.1e-4), row
            assert whole(heat, tmin, tmax) == pytest.approx(float(row[column]), abs=5.6e-3), row
    assert len(table) > 100


# CHECKS.md section 1: 86/50 degF, from memory of Nielsen (Purdue), heat-unit concepts for corn; (tmax, tmin) degF
NIELSEN = [(80, 55, 17.5), (90, 72, 29), (68, 41, 9), (45, 30, 0), (95, 88, 36)]
# McMaster and Wilhelm 1997 (from memory): the mean clamped, at the same (68, 41)
SINES = [(20, 5, None, 3.7712), (25, 15, None, 10), (12, 2, None, 0.3877), (9, 2, None, 0), (35, 15, 30, 13.91)]
# CHECKS.md section 2: Brown and Bootsma 1993 (from memory, worked again); (tmax, tmin) degC
CORN_HEAT = [(25, 12, 22.365), (30, 15, 26.04), (20, 5, 12.99), (35, 20, 29.415), (28, 10, 21.402), (12, 8, 6.402),
             (15, 0, 7.275), (10, 4.4, 0)]  # fmt: skip


def test_the_worked_examples_of_the_checks_page_hold():
    for tmax, tmin, expected in NIELSEN:
        assert modified(tmax, tmin) == pytest.approx(expected)
    assert simple(68, 41, 50) == pytest.approx(4.5)
    assert modified(90, 55) == pytest.approx(20.5)  # a magazine prints 17.5: wrong
    for tmax, tmin, cap, expected in SINES:
        assert float(heat_of(Heat("sine", 10, cap), tmin, tmax)) == pytest.approx(
            expected, abs=5e-5 if cap is None else 5e-3
        )
    assert float(heat_of(Heat("sine", 12, 33), 35, 40)) == 21  # a package test prints 5: wrong
    for tmax, tmin, expected in CORN_HEAT:
        assert float(heat_of(Heat("chu"), tmin, tmax)) == pytest.approx(expected, abs=1e-9)
        assert whole(Heat("chu"), tmin, tmax) == pytest.approx(expected, abs=0.005 + 1e-9)
    # the day part falls above its peak: it is not clamped flat
    assert heat_of(Heat("chu"), -5, 40) < heat_of(Heat("chu"), -5, 29.8)


def test_a_seasons_total_is_the_sum_of_its_days():
    tmin, tmax = plain_loops.weather(1)
    heat = Heat("chu")
    by_float = heat_of(heat, tmin / 10, tmax / 10)[:, 120:273].sum(axis=1)
    assert np.abs(total(tmin, tmax, heat, 120, 272) / heat.per_unit - by_float).max() < 1e-6  # no day is rounded
