"""`frostkit chop` and `fields` as a person types them: answers, dangers, files, and two lines for bad input."""

import re

import numpy as np
import pytest

from frostkit.answers.cautions import NEEDED, cautions_of

OTTAWA = "data/ghcn-daily/CA006105976.dly"
FORECAST = "date,tmin_C,tmax_C\n2025-08-25,9,24\n2025-08-26,8,22\n"
FIELDS = "name,area_ha,seeded,corn,haul_km\nhome,40,05-20,silage-2300,1\nfar,60,05-24,silage-2150,9\n"


@pytest.fixture
def file(tmp_path):
    """A file with this text."""

    def made(text, name="file.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return made


def flat(text):
    """The text without its line breaks."""
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(
    ("arguments", "kind"),
    [(("chop",), "chopping"), (("fields",), "chopping"),
     (("chop", "--today", "2025-09-20"), "frosted")],
)  # fmt: skip
def test_every_danger_of_its_kind_is_said_in_full(run, asked, arguments, kind):
    _, out, _ = run(*arguments, "--all")
    for caution in cautions_of(kind):
        assert f"! {caution.title}: {flat(caution.text)}" in flat(out), caution.title
    assert [one["topic"] for one in asked(*arguments)["cautions"]] == list(NEEDED[kind])


def test_chop_says_first_when_it_is_fit_then_the_count_that_carries_it_then_the_next_act(run):
    code, out, err = run("chop", "--all")
    first, *_ = out.split("\n  Best: ")
    assert (code, err) == (0, "")
    assert re.match(
        r"Fit to chop from about \d+ \w+ \(\d+ \w+ to \d+ \w+\), until about \d+ \w+: silage corn .*bunker\.",
        flat(first),
    )
    assert re.search(r"Best: .* at 65 to 70 % in \d+ of \d+ seasons \(\d+ to \d+ %\) by the weather", flat(out))
    places = [out.index(part) for part in ("Best: ", "alive in", "Today, ", "Next: ", "Heat gathered", "Silo gas")]
    assert places == sorted(places)
    assert "River Flat (invented)" in out


def test_chops_json_has_its_keys_and_a_share_is_the_agreed_one(asked):
    answer = asked("chop")
    assert {"season", "today", "seeding_day", "corn", "store", "stage", "next_stages", "heat", "moisture_now", "seen",
            "fit_from", "fit_to", "best", "fit", "outcomes", "killed", "check", "climate", "odds", "seasons"} <= set(answer)  # fmt: skip
    assert answer["climate"] == {"moved": "today", "for_season": 2025, "degrees": answer["climate"]["degrees"]}
    row = answer["odds"][0]
    share = {"share", "low", "high", "level", "yes", "no", "not_known", "seasons", "complete", "count"}
    assert all(share <= set(row[name]) for name in ("in_range", "too_wet", "too_dry", "killed"))
    assert sum(answer["outcomes"].values()) == answer["fit"]["seasons"] == answer["season_count"]
    assert answer["outcomes"]["fit"] == answer["fit"]["count"]
    for row in answer["odds"]:
        assert sum(row[name]["yes"] + row[name]["not_known"] for name in ("too_wet", "in_range", "too_dry")) >= 58


def test_chops_odds_of_moisture_add_up_and_its_band_holds_the_middle(asked):
    rows = asked("chop")["odds"]
    parts = [np.array([row[name]["odds"] for row in rows]) for name in ("too_wet", "in_range", "too_dry")]
    assert np.sum(parts, axis=0) == pytest.approx(1, abs=0.003)
    low, high = (np.array([row["moisture_band"][end] for row in rows]) for end in ("low", "high"))
    middle = np.array([row["moisture"] for row in rows])
    assert (low < middle).all() and (middle < high).all()
    assert (np.diff(middle) <= 0).all()
    killed = [row["killed"]["share"] for row in rows]
    assert killed == sorted(killed)


def test_a_dried_sample_moves_the_middle_and_narrows_the_band(asked):
    bands = []
    middles = []
    for more in ((), ("--seeding", "05-22", "--moisture", "69")):
        rows = asked("chop", *more)["odds"]
        bands.append(np.array([row["moisture_band"]["high"] - row["moisture_band"]["low"] for row in rows]))
        middles.append(rows[0]["moisture"])
    assert (bands[1] <= bands[0] + 0.11).all()
    assert (bands[1][:7] < 0.6 * bands[0][:7]).all()
    assert middles[1] < middles[0]


@pytest.mark.real
def test_chop_on_a_real_record_stands_on_the_day_asked_for_and_looks_no_further(shared, run, asked):
    record = shared / OTTAWA
    code, out, err = run("chop", record, "--today", "2019-08-20", "--seeding", "05-20")
    assert (code, err) == (0, "")
    assert "Today, 20 August: milk line half way" in out
    answers = [asked("chop", record, "--today", "2019-08-20", "--seeding", "05-20", *more)
               for more in ((), ("--seasons", "1890-2030"))]  # fmt: skip
    assert answers[0]["odds"] == answers[1]["odds"]
    assert answers[0]["seasons"][-1]["season"] == 2018


def test_a_warm_forecast_dries_it_sooner_than_a_cold_one(asked, file):
    days = [f"2025-08-{day}" for day in range(25, 32)]
    warm, cold = (file("date,tmin_C,tmax_C\n" + "\n".join(f"{day},{low},{low + 12}" for day in days), f"{low}.csv")
                  for low in (16, 4))  # fmt: skip
    fit = [asked("chop", "--forecast", path)["fit_from"]["all"][1] for path in (warm, cold)]
    assert fit[0] < fit[1]


def test_six_seasons_are_answered_by_their_counts_and_wide_intervals(run):
    code, out, _ = run("chop", "--seasons", "2019-2024")
    assert code == 0
    assert re.search(r"in \d of 6 seasons \(\d+ to \d+ %\)", flat(out))
    assert not re.search(r"\bnan\b", out)


@pytest.mark.parametrize("command", ["chop", "fields"])
def test_the_climate_as_read_a_low_spot_and_the_fields_place_are_obeyed(asked, command):
    plain = asked(command)
    read, low = asked(command, "--climate", "as-read"), asked(command, "--colder-by", "3", "--all-nights")
    there = asked(command, "--field-at", "50.2", "-100.4")
    assert (
        read["climate"] == {"moved": "as read", "for_season": 2025, "degrees": {"tmin": 0, "tmax": 0}}
        or read["climate"]["moved"] == "as read"
    )
    assert low["station"]["field"]["clear"] == -3
    assert there["station"]["distance_km"] == pytest.approx(36, abs=3)
    key = "odds" if command == "chop" else "plan"
    assert low[key] != plain[key]


def test_what_is_printed_stands_in_the_csv_too(run, asked):
    table = run("chop", "--csv")[1].splitlines()
    assert len(table) == 1 + len(asked("chop")["odds"])
    assert "in_range_count" in table[0] and "in_range_odds" in table[0]
    decisions = run("chop", "--csv", "--table", "decisions")[1]
    assert "fit_from_all_1" in decisions and "moisture_now_percent" in decisions
    plan = run("fields", "--csv")[1].splitlines()
    assert len(plan) == 4 and "start_usual" in plan[0]


def test_every_store_has_an_answer(run):
    from frostkit.answers.silage.stores import stores

    for store in stores():
        assert run("chop", "--store", store)[0] == 0


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("chop", "--seeding", "09-20"), "Seeding on 20 September is not before today, 25 August", "frostkit window"),
        (("chop", "--moisture", "0"), "A whole-plant moisture of 0 % is outside 40 to 90", "such as 68"),
        (("chop", "--moisture", "100"), "A whole-plant moisture of 100 % is outside 40 to 90", "such as 68"),
        (("chop", "--milk-line", "50"), "A milk line of 50 is outside 0 to 1", "0.5 is half way"),
        (("chop", "--silking", "08-26"), "Silking on 26 August is not before today", "has passed"),
        (("chop", "--store", "bonker"), "Did you mean 'bunker'?", "Choose from"),
        (("chop", "--target", "70", "65"), "A range of 70 to 65 % moisture", "lower limit first"),
        (("chop", "--today", "25 August"), "'25 August' has no year", "-08-25"),
        (("chop", "--today", "1966-08-25"), "none before 1966", "later season"),
        (("chop", "--today", "2025-11-20"), "is after the end of the season", "earlier day"),
        (("chop", "--corn", "forage-late"), "has no chopping time", "silage corn"),
        (("chop", "--legume-share", "1.2"), "A legume share of 1.2 is outside 0 to 1", "such as 0.1"),
        (("chop", "--picture", "odds.gif"), "does not end in a kind of picture", ".png"),
        (("chop", "--sheet", "sheet.docx"), "does not end in a kind of page", ".html"),
        (("chop", "--forecast", "nowhere.csv"), "nowhere.csv can't be read", "date, tmin_C, tmax_C"),
        (("fields", "--rate", "0"), "A rate of 0 ha an hour", "Correct"),
        (("fields", "--hours", "30"), "A day of 30 hours", "Correct"),
        (("fields", "--machines", "0"), "0 machines is outside 1 to 5", "number of choppers"),
        (("fields", "--fields", "nowhere.csv"), "nowhere.csv can't be read", "Give the path"),
        (("fields", "--today", "2025-05-24"), "slough: seeding on 27 May is not before today", "leave today out"),
        (("fields", "--sheets", "sheets"), "add --today", "fields --help"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (FORECAST.replace("2025-08-26", "2025-08-27"), "2025-08-27 follows 2025-08-25: 1 day is missing"),
        (FORECAST.replace("8,22", ",22"), "line 3, tmin_C: is empty"),
        (FORECAST.replace("8,22", "25,22"), "is above tmax 22.0"),
        (FORECAST.replace("2025-08-25,9,24\n", ""), "1 day after today"),
        (FORECAST.replace("tmin_C", "tmin"), "does not say whether it is °C or °F"),
    ],
)
def test_a_forecast_with_holes_gets_two_lines(run, file, text, what):
    code, out, err = run("chop", "--forecast", file(text))
    assert (code, out, len(err.strip().splitlines())) == (2, "", 2)
    assert what in err


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (FIELDS.replace("40", "-40"), "line 2: home: an area of -40 ha is not above 0"),
        (FIELDS.replace("far", "home"), "'home' is there twice"),
        (FIELDS.replace("silage-2150", "silage-215"), "Did you mean 'silage-2150'?"),
        (FIELDS.replace("silage-2150", "forage-late"), "has no chopping time"),
        (FIELDS.replace("05-24", "24.5."), "line 3"),
        (FIELDS.replace("area_ha", "acreage"), "the column 'acreage' is not known"),
        (FIELDS.split("\n", 1)[0] + "\n", "no"),
    ],
)
def test_a_fields_file_with_faults_gets_two_lines(run, file, text, what):
    code, out, err = run("fields", "--fields", file(text))
    assert (code, out, len(err.strip().splitlines())) == (2, "", 2)
    assert what in err


def test_fields_never_speak_of_no_gain_as_a_gain(run):
    _, out, _ = run("fields")
    assert "River Flat (invented)" in out
    assert not re.search(r"-\d+ t (more|less)|\b0 t (more|less)", out)
    assert re.search(r"Earliest first keeps [\d,]+ t, as many as this order", flat(out))
    assert re.search(r"Next: dry a first sample from \w+ by \d+ \w+", flat(out))


def test_more_hours_machines_or_rate_never_keep_less(asked):
    tonnes = [
        asked("fields", *more)["tonnes"] for more in ((), ("--machines", "2"), ("--hours", "14"), ("--rate", "6"))
    ]
    assert all(more >= tonnes[0] for more in tonnes[1:])


def test_a_sheet_for_each_field_says_its_place_in_the_order(run, tmp_path):
    folder = tmp_path / "new" / "sheets"
    code, out, _ = run("fields", "--today", "2025-08-20", "--sheets", folder)
    assert code == 0
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["corner.html", "north.html", "slough.html"]
    assert out.count("Field sheet: ") == 3
    for place, name in enumerate(("corner", "slough", "north"), 1):
        page = (folder / f"{name}.html").read_text("utf-8")
        assert f"Field sheet: {name}, season 2025" in page
        assert f"In the order of fields: {place} of 3, chopped from about" in flat(page)


def test_pictures_and_sheets_follow_the_language_of_the_farm(run, tmp_path):
    farm = tmp_path / "farm.toml"
    farm.write_text(
        '[units]\nlanguage = "fr"\ntemperature = "F"\n[field.nord]\nseeding = "05-22"\narea_ha = 10\n', "utf-8"
    )
    paths = [tmp_path / name for name in ("sheet.html", "odds.svg", "calendar.svg")]
    assert run("--farm", farm, "--field", "nord", "chop", "--sheet", paths[0], "--picture", paths[1])[0] == 0
    assert run("--farm", farm, "fields", "--picture", paths[2])[0] == 0
    sheet, odds, calendar = (path.read_text("utf-8") for path in paths)
    assert "Fiche de champ : nord" in flat(sheet)
    assert "°F" in sheet
    assert "un gel mortel est venu" in odds
    assert "Ensiler nord;" in calendar
