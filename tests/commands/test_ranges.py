"""Every number has its range: what lies beyond is refused in two lines with exit code 2, and never answered."""

import copy
import re
import subprocess
import sys
import tomllib
from html import unescape

import numpy as np
import pytest

from frostkit.answers.seeding.window import window
from frostkit.answers.usable import faults
from frostkit.crops.entry import LIBRARY, load, read
from frostkit.demo.place import demo_record
from frostkit.ensemble.site import AS_READ, Site
from frostkit.ensemble.today import globe
from frostkit.errors import CropError
from frostkit.seasons.calendar import code as code_of
from frostkit.show.texts import texts

NAN, INF = float("nan"), float("inf")
SAY = texts("en")
NUMBERS = (0, -1, 1e9, -1e9, NAN, INF, -INF, 1e-9, 0.123456789, 100.001, 9_999, -30)
DAYS = ("02-29", "02-30", "12-31", "01-01", "11-15")
AT = Site(demo_record(), climate=AS_READ, only=(2021, 2024))
OTHER = {"corn": load("forage-late"), "legume": load("silage-2300")}


def raw(name):
    return tomllib.loads((LIBRARY / f"{name}.toml").read_text("utf-8"))


def keys(table, at=()):
    """Paths to every number and day of an entry, and to its numbers with a range, all of which move together."""
    if {"value", "low", "high"} <= table.keys():
        yield (*at, ("value", "low", "high")), NUMBERS
    for key, inner in table.items():
        for number, one in enumerate(inner) if isinstance(inner, list) else [(None, inner)]:
            path = (*at, key) if number is None else (*at, key, number)
            if isinstance(one, dict):
                yield from keys(one, path)
            elif isinstance(one, int | float) and not isinstance(one, bool):
                yield path, NUMBERS
            elif key in ("from", "until"):
                yield path, DAYS


def put(entry, path, value):
    spoiled = copy.deepcopy(entry)
    table = spoiled
    for key in path[:-1]:
        table = table[key]
    for key in path[-1] if isinstance(path[-1], tuple) else path[-1:]:
        table[key] = value
    return spoiled


@pytest.mark.parametrize("name", ["silage-2300", "forage-late", "soybean-00"])
def test_no_extreme_value_passes_the_check_and_then_breaks_the_window(name):
    """Of over 500 extreme values in each entry; those that pass are answered with late planting too."""
    tried = passed = 0
    for path, values in keys(raw(name)):
        for value in values:
            tried += 1
            try:
                crop = read(put(raw(name), path, value), "mine", "mine.toml")
            except CropError:
                continue
            if faults(crop):
                continue
            passed += 1
            pair = (crop, OTHER["corn"]) if crop.kind == "corn" else (OTHER["legume"], crop)
            window(AT, *pair, late_planting=crop.late_planting is not None)
    assert tried > 500 * (name == "silage-2300")
    assert 0 < passed < tried / 2


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("clock", "leaves", "cap"), 10.0, "[clock.leaves], key 'cap': 10.0 found; allowed: above the base of 10.0"),
        (("clock", "leaves", "cap"), 5.0, "allowed: above the base"),
        (("clock", "leaves", "base"), 10.123456, "up to three decimals"),
        (
            ("moisture", "points_per_100"),
            0,
            "[moisture], key 'points_per_100': 0 found; input should be greater than 0",
        ),
        (("moisture", "points_per_100"), 9.0, "[moisture]: value 9.0 is outside its range 2.0 to 5.0"),
        (("stage", "silking", "need", ("value", "low", "high")), 0.5, "greater than or equal to 1"),
        (("stage", "silking", "need", ("value", "low", "high")), 10_000, "less than or equal to 9999"),
        (("stage", "silking", "need", ("value", "low", "high")), 1_950, "stages stand in the order in which they come"),
        (("stage", "v5", "kills", ("value", "low", "high")), 28.0, "less than or equal to 5"),
        (("soil", "from"), "02-30", "not one of the 365 days"),
        (("late_planting", "until"), "04-15", "allowed: a day after '05-01'"),
        (("late_planting", ("value", "high")), 60.0, "allowed: half of it in all"),
        (("collars", "early", "value"), 90, "[collars], key 'early': value 90 is outside its range 82 to 84"),
    ],
)
def test_a_number_outside_its_range_is_named_with_what_is_allowed(path, value, said):
    with pytest.raises(CropError, match=re.escape(said)):
        read(put(raw("silage-2300"), path, value), "mine", "mine.toml")


def test_the_check_builds_the_plan_as_the_window_does(run, tmp_path):
    """Moisture can't follow heat that is not counted from sowing: the window says so, and so the check must."""
    text = (LIBRARY / "silage-2300.toml").read_text("utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text.replace("[stage.fit_to_chop]\n", '[stage.fit_to_chop]\nsince = "emergence"\n'), "utf-8")
    code, out, _ = run("crops", "check", mine)
    assert code == 2
    assert "does not count from sowing" in out
    assert run("window", "--corn", mine)[0] == 2


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("window", "--latitude", "-34.6"), "The station lies at 34.6 degrees south", "0 to 66 degrees north"),
        (("window", "--field-at", "-34.6", "-58.4"), "does not count southern seasons yet", "degrees north"),
        (("window", "--field-at", "-99.9", "49.9"), "Are latitude and longitude swapped?", "49.9"),
        (("chop", "--latitude", "70"), "can't lie at latitude 70; allowed: 0 to 66", "degrees north"),
        (("frost", "--latitude", "nan"), "'nan' is not a number", "frost --help"),
        (("record", "near", "--", "-30", "20"), "The place lies at 30 degrees south", "degrees north"),
        (("record", "fetch", "34.6 S, 58.4 W"), "The place lies at 34.6 degrees south", "degrees north"),
        (("window", "--field-at", "49.9", "inf"), "Longitude inf can't be; allowed: -180 to 180", "-99.9"),
        (("window", "--elevation", "99999"), "A height of 99999 m can't be", "metres above the sea"),
        (("window", "--odds", "0.04"), "Odds of 0.04 can't be wanted; allowed: 0.05 to 0.99", "0.8"),
        (("late-legume", "--odds", "80"), "Odds of 80 can't be wanted", "0.8"),
        (("choose", "--odds", "0"), "Odds of 0 can't be wanted", "0.8"),
        (("report", "--odds", "nan"), "Odds of nan can't be wanted", "0.8"),
        (("frost", "--threshold", "28"), "28 °C is no frost in the growing season; allowed: -20 to 5", "28F"),
        (("track-record", "--threshold", "28"), "28 °C is no frost in the growing season", "28F"),
        (("triage", "--at", "28"), "28 °C is no frost in the growing season", "28F"),
        (("heat", "--base", "50"), "A base of 50 °C can't be", "50 °F is 10"),
        (("heat", "--base", "10.33333"), "more than 3 decimals", "up to three decimals"),
        (("heat", "--base", "10", "--cap", "86"), "A cap of 86 °C can't be", "86 °F is 30"),
        (("chop", "--today", "NaT"), "'NaT' is not a date", "YYYY-MM-DD"),
        (("chop", "--today", "2025-13-01"), "'2025-13-01' is not a date", "YYYY-MM-DD"),
        (("chop", "--seeding", "05-22", "--silking", "05-25"), "42 CHU had come since then", "Check the two days"),
        (("chop", "--seeding", "04-20", "--silking", "08-24"), "does not go with seeding on 20 April", "choose the corn"),
        (("chop", "--seeding", "05-22", "--today", "2025-06-20", "--milk-line", "0.5"), "A milk line 50 % down", "choose the corn"),
        (("chop", "--seeding", "05-22", "--moisture", "nan"), "A whole-plant moisture of nan % is outside", "68"),
        (("chop", "--legume-share", "nan"), "A legume share of nan is outside 0 to 1", "0.1"),
        (("chop", "--target", "nan", "70"), "outside 40 to 80", "65 and 70"),
        (("fields", "--rate", "nan"), "A rate of nan ha an hour", "Correct"),
        (("window", "--colder-by", "nan"), "not believed", "such as 2"),
        (("window", "--worth", "nan"), "An amount of nan can't be weighed", "900"),
        (("choose", "--after", "400"), "400 is not in the range", "choose --help"),
    ],
)  # fmt: skip
def test_an_option_outside_its_range_is_refused_in_two_lines_with_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)


def test_silking_in_its_time_is_taken_and_the_heat_printed_is_the_heat_ranked(asked):
    """With silking seen the stage moves; the heat since seeding stays what it was, beside the past seasons' own."""
    plain = asked("chop", "--seeding", "05-22", "--today", "2025-08-25")
    seen = asked("chop", "--seeding", "05-22", "--today", "2025-08-25", "--silking", "07-28")
    assert seen["heat"] == plain["heat"]
    assert seen["moisture_now"] != plain["moisture_now"]
    rows = asked("heat", "--method", "chu", "--from", "05-23", "--to", "08-24", "--for-season", "2026")["seasons"]
    own = next(row["total"] for row in rows if row["season"] == 2025)  # as read
    assert plain["heat"]["gathered"] == pytest.approx(own, abs=0.5)


def test_a_record_of_the_south_is_refused_wherever_its_latitude_comes_from(run, tmp_path):
    """Its own latitude, in a column of the file (layout of GHCN-Daily by station)."""
    head = (
        '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"'
    )
    days = [f'"XX000000001","2020-{month:02d}-{day:02d}","-34.60","-58.40","25.0","INVENTED","  200",",,S","  100",",,S"'
            for month in range(4, 11) for day in range(1, 31)]  # fmt: skip
    path = tmp_path / "south.csv"
    path.write_text("\n".join([head, *days]) + "\n", "utf-8")
    for command in ("window", "frost", "heat", "late-legume", "chop", "choose", "track-record", "report", "fields"):
        code, out, err = run(command, path)
        assert (code, out) == (2, ""), command
        assert "34.6 degrees south" in err, command
        assert len(err.splitlines()) == 2
    farm = tmp_path / "farm.toml"
    farm.write_text('[place.home]\nlatitude = -34.6\nlongitude = -58.4\n[field.north]\nplace = "home"\n', "utf-8")
    code, _, err = run("--farm", farm, "window")
    assert code == 2
    assert "[place.home], latitude: -34.6 found" in err
    assert "southern seasons" in err


def plain_days(path, first, last, hole=(), rain=()):
    """Seasons of made-up weather as a plain file: warm from May to September, with noise that is the same each time."""
    rng = np.random.default_rng(20)
    axis = np.arange(np.datetime64(f"{first}-01-01"), np.datetime64(f"{last + 1}-01-01"))
    year = axis.astype("datetime64[Y]").astype(int) + 1970
    month = axis.astype("datetime64[M]").astype(int) % 12 + 1
    of_year = (axis - axis.astype("datetime64[Y]").astype(axis.dtype)).astype(int)
    mean = 5 - 18 * np.cos(2 * np.pi * (of_year - 15) / 365) + rng.normal(0, 3, axis.size)
    rows = []
    for at in np.flatnonzero(~np.isin(year, hole)):
        fallen = f",{2.0 if month[at] in rain else ''}" if rain else ""
        rows.append(f"{axis[at]},{mean[at] - 6:.1f},{mean[at] + 6:.1f}{fallen}")
    path.write_text("date,tmin_C,tmax_C" + (",prcp_mm" if rain else "") + "\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def test_a_record_that_ended_long_ago_is_said_to_have_ended(run, tmp_path):
    last = int(globe()[0][-1])  # the coming season is the one after the global table's last year
    old = plain_days(tmp_path / "old.csv", 1975, 1990)
    for command in ("window", "frost", "late-legume"):
        _, out, _ = run(command, old)
        assert "The record ended in 1990, over ten years before" in " ".join(out.split()), command
    new = plain_days(tmp_path / "new.csv", last - 16, last)
    assert "The record ended in" not in run("window", new)[1]
    assert "The record ended in" not in run("window", new, "--seasons", f"{last - 16}-{last - 6}")[1]


def test_a_window_that_runs_to_the_edge_of_the_days_looked_at_is_said_to_do_so(run, asked):
    typed = ("window", "--corn", "none", "--odds", "0.6")
    answer = asked(*typed)
    assert answer["window"]["to"] == "07-15"
    assert answer["at_edge"] == {"from": False, "to": True}
    assert "15 July is the last day looked at, later ones may do too" in " ".join(run(*typed)[1].split())
    assert asked("window")["at_edge"] == {"from": False, "to": False}
    _, out, _ = run("late-legume", "--goal", "5 kg/ha", "--odds", "0.05", "--all")
    assert "31 July is the last day looked at" in out


def test_a_folder_of_folders_is_said_with_what_to_do(run, tmp_path):
    for name in ("far", "near"):
        (tmp_path / name).mkdir()
        plain_days(tmp_path / name / "days.csv", 2012, 2023)
    code, out, err = run("window", tmp_path)
    assert (code, out, len(err.splitlines())) == (2, "", 2)
    assert "holds no files, but 2 folders: far, near" in err
    assert "--station far" in err
    assert run("window", tmp_path / "far")[0] == 0
    assert run("window", tmp_path, "--station", "far")[1] == run("window", tmp_path / "far")[1]
    assert "There is no 'nera'. Did you mean 'near'?" in run("window", tmp_path, "--station", "nera")[2]


def test_a_record_with_a_hole_of_twenty_years_has_a_track_record_and_a_page(run, asked, tmp_path):
    path = plain_days(tmp_path / "hole.csv", 1935, 2024, hole=range(1960, 1981))
    answer = asked("track-record", path)
    assert answer["years"][0] > 1980
    assert answer["judged"]["forecasts"] > 40
    code, _, err = run("report", path, "--out", tmp_path / "page.html")
    assert (code, err) == (0, "")
    said = unescape((tmp_path / "page.html").read_text("utf-8"))
    assert "Track record: in" in said
    assert "No season from 1960 to 1980 counts" in said


def test_choose_takes_a_record_with_rain_in_winter_alone_as_one_without_rain(asked, tmp_path):
    answer = asked("choose", plain_days(tmp_path / "winter.csv", 2000, 2023, rain=(12, 1, 2)))
    assert answer["cold_start"]["corn"]["cold_and_wet"] is None
    assert answer["cold_start"]["corn"]["cold"]["yes"] >= 0


def test_the_fields_place_tells_day_length_where_the_station_has_none(run, asked, tmp_path):
    path = plain_days(tmp_path / "days.csv", 2000, 2023)
    field = ("--field-at", "50", "-100")
    assert asked("late-legume", path)["latitude_assumed"] is not None
    there = asked("late-legume", path, *field)
    known = asked("late-legume", path, "--latitude", "50", "--longitude", "-100")
    assert there["latitude_assumed"] is known["latitude_assumed"] is None
    assert there["ways"] == known["ways"]
    farm = tmp_path / "farm.toml"
    place = '[place.home]\nrecord = "days.csv"\nlatitude = 50.0\n'
    rest = 'longitude = -100.0\n[field.north]\nplace = "home"\n'
    farm.write_text(place + rest, "utf-8")
    seeded = asked("late-legume", path, *field, "--seeding", "05-20")["ways"]
    assert asked("--farm", farm, "late-legume", "--seeding", "05-20")["ways"] == seeded
    assert run("window", path, "--legume", "soybean-00", "--corn", "none")[0] == 2, "its goal goes by day length"
    assert run("window", path, "--legume", "soybean-00", "--corn", "none", *field)[0] == 0
    farm.write_text(place + '[field.north]\nplace = "home"\n', "utf-8")
    code, _, err = run("--farm", farm, "window")
    assert code == 2
    assert "latitude and longitude go together" in err


def test_fields_are_told_how_far_the_station_is(run, asked):
    at = asked("fields", "--field-at", "50.5", "-101.5")["station"]
    assert at["distance_km"] > 0
    assert asked("fields")["station"]["distance_km"] is None
    assert "Station to field: " in " ".join(run("fields", "--field-at", "50.5", "-101.5")[1].split())


def test_the_span_without_frost_counts_seasons_that_met_both_ends_and_each_end_stands_apart(run, asked, tmp_path):
    path = tmp_path / "frost.svg"
    code, out, _ = run("frost", "--picture", path)
    said = " ".join(out.split())
    assert code == 0
    first, last, met, of = re.search(
        r"No frost at or below 0 °C from (\d+ \w+) to (\d+ \w+) in (\d+) of (\d+) seasons .*?: both ends in the same season",
        said,
    ).groups()
    days = {SAY.day(column): column for column in range(365)}
    free = [
        row["today"]["last_spring"][0] < code_of(days[first]) and row["today"]["first_fall"][1] > code_of(days[last])
        for row in asked("frost")["seasons"]
        if row["today"]["last_spring"][0] == row["today"]["last_spring"][1]
        and row["today"]["first_fall"][0] == row["today"]["first_fall"][1]
    ]
    assert int(of) - len(free) >= int(met) - sum(free) >= 0
    assert "The last spring frost is over by" in said
    assert "The first fall frost has come by" in said
    assert f"from {first} to {last}" in path.read_text("utf-8")


def test_python_m_frostkit_is_the_command_line():
    good = subprocess.run([sys.executable, "-m", "frostkit", "--version"], capture_output=True, text=True, check=False)
    assert good.returncode == 0
    assert good.stdout.startswith("frostkit ")
    bad = subprocess.run([sys.executable, "-m", "frostkit", "windw"], capture_output=True, text=True, check=False)
    assert bad.returncode == 2
    assert len(bad.stderr.splitlines()) == 2
