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
    _, out, _ = run(*arguments)
    for caution in cautions_of(kind):
        assert f"! {caution.title}: {caution.text}" in flat(out), caution.title
    assert [one["topic"] for one in asked(*arguments)["cautions"]] == list(NEEDED[kind])


def test_chop_says_first_when_it_is_fit_then_the_count_that_carries_it(run):
    code, out, err = run("chop")
    first, second = out.splitlines()[:2]
    assert (code, err) == (0, "")
    assert re.match(r"Fit for the bunker from about \d+ \w+ \(\d+ \w+ to \d+ \w+\), until about \d+ \w+\.", first)
    assert re.search(r"Best days: .* odds \d+ % of 65 to 70 %", second)
    assert "River Flat (invented)" in out


def test_chops_odds_of_moisture_add_up_and_its_band_holds_the_middle(asked):
    answer = asked("chop")
    parts = [np.array(answer["odds"][name]["odds"]) for name in ("too_wet", "in_range", "too_dry")]
    assert np.sum(parts, axis=0) == pytest.approx(1, abs=0.003)
    low, high = (np.array(answer["moisture_band"][end]) for end in ("low", "high"))
    middle = np.array(answer["moisture"])
    assert (low < middle).all() and (middle < high).all()
    assert (np.diff(middle) <= 0).all()
    killed = answer["odds"]["killed"]["odds"]
    assert killed == sorted(killed)


def test_a_dried_sample_moves_the_middle_and_narrows_the_band(asked):
    without, sampled = asked("chop"), asked("chop", "--seeding", "05-22", "--moisture", "69")
    spread = [np.array(a["moisture_band"]["high"]) - np.array(a["moisture_band"]["low"]) for a in (without, sampled)]
    assert (spread[1] <= spread[0] + 0.11).all()  # tenths, rounded
    assert (spread[1][:7] < 0.6 * spread[0][:7]).all()
    assert sampled["moisture"][0] < without["moisture"][0]


@pytest.mark.real
def test_chop_on_a_real_record_stands_on_the_day_asked_for_and_looks_no_further(shared, run, asked):
    record = shared / OTTAWA
    code, out, err = run("chop", record, "--today", "2019-08-20", "--seeding", "05-20")
    assert (code, err) == (0, "")
    assert "Today, 20 August: milk line half way" in out
    assert "CA006105976, 1890-2022" in out
    answers = [asked("chop", record, "--today", "2019-08-20", "--seeding", "05-20", *more)
               for more in ((), ("--seasons", "1890-2019"))]  # fmt: skip
    assert answers[0]["moisture"] == answers[1]["moisture"]
    assert answers[0]["odds"] == answers[1]["odds"]


def test_a_warm_forecast_dries_it_sooner_than_a_cold_one(asked, file):
    days = [f"2025-08-{day}" for day in range(25, 32)]
    warm, cold = (file("date,tmin_C,tmax_C\n" + "\n".join(f"{day},{low},{low + 12}" for day in days), f"{low}.csv")
                  for low in (16, 4))  # fmt: skip
    fit = [asked("chop", "--forecast", path)["fit_from"]["all"][1] for path in (warm, cold)]
    assert fit[0] < fit[1]


def test_with_too_few_seasons_there_are_counts_and_no_odds(run):
    code, out, _ = run("chop", "--seasons", "2019-2025")
    assert code == 0
    assert out.startswith("Too few complete past seasons to say when it is fit")
    assert re.search(r"30 August +- +2 of 6 +4 of 6 +0 of 6 +0 of 6\n", out)
    assert not re.search(r"\bnan\b", out)


def test_every_store_has_an_answer(run):
    from frostkit.answers.stores import stores

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
        (("chop", "--today", "25 August"), "'25 August' is not a date", "YYYY-MM-DD"),
        (("chop", "--today", "1966-08-25"), "no season before 1966", "longer record"),
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
        (FIELDS.replace("05-24", "24 May"), "line 3"),
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
    assert "An invented farm at River Flat" in out
    assert not re.search(r"-\d+ t (more|less)|\b0 t (more|less)", out)
    assert "keeps 2470 t, as many as this order" in out


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
        assert f"In the order of fields: {place} of 3, chopped from about" in page


def test_pictures_and_sheets_follow_the_language_of_the_farm(run, tmp_path):
    farm = tmp_path / "farm.toml"
    farm.write_text(
        '[units]\nlanguage = "fr"\ntemperature = "F"\n[field.nord]\nseeding = "05-22"\narea_ha = 10\n', "utf-8"
    )
    paths = [tmp_path / name for name in ("sheet.html", "odds.svg", "calendar.svg")]
    assert run("--farm", farm, "--field", "nord", "chop", "--sheet", paths[0], "--picture", paths[1])[0] == 0
    assert run("--farm", farm, "fields", "--picture", paths[2])[0] == 0
    sheet, odds, calendar = (path.read_text("utf-8") for path in paths)
    assert "Fiche de champ: nord" in sheet
    assert "°F" in sheet
    assert "un gel mortel est venu" in odds
    assert "Ensiler dans cet ordre: nord" in calendar
