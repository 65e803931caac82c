"""`frostkit season`, `tonight`, `winter`, `workdays` and `book` as a person types them, through a year on the demo farm."""

import csv
import io
import re
import shutil

import pytest

from frostkit.demo.place import FARM

DAYS = [f"2025-08-{day:02d},{9 + day % 3},{22 + day % 4}" for day in range(25, 32)]
FORECAST = "date,tmin_C,tmax_C\n" + "\n".join(DAYS) + "\n"
SHARE = {"share", "low", "high", "level", "yes", "no", "not_known", "seasons", "complete", "count"}


def flat(text):
    return re.sub(r"\s+", " ", text)


@pytest.fixture
def farm(tmp_path):
    """The demo farm with its book, in a folder of its own."""
    folder = tmp_path / "farm"
    shutil.copytree(FARM.parent, folder, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    return folder / FARM.name


def test_before_seeding_it_says_seed_or_wait_with_the_count_and_each_days_odds(run, asked):
    arguments = ("season", "--today", "2025-05-08")
    code, out, err = run(*arguments)
    answer = asked(*arguments)
    assert (code, err) == (0, "")
    assert flat(out).startswith(
        "Wait with silage corn rated 2,300 CHU and late forage soybean: the soil is fit today in "
    )
    assert {"advice", "soil", "ready_today", "cold_soil_48h", "cold_rain_48h", "first_fit", "usual_first_fit",
            "seeded_today", "seeded_in_a_week", "last_day", "days", "season", "today", "departure"} <= set(answer)  # fmt: skip
    assert answer["advice"] == "advice_wait"
    assert answer["days"][0]["day"] == "05-08"
    for key in ("ready", "cold_soil", "cold_rain", "workday", "made_it", "plan"):
        assert set(answer["days"][0][key]) == SHARE
    assert answer["first_fit"]["both"] == sorted(answer["first_fit"]["both"])
    first = answer["days"][0]
    assert f"fit today in {first['ready']['count']} of {first['ready']['seasons']} seasons" in flat(out)


def test_after_seeding_it_says_the_stage_the_dates_to_come_and_the_next_act(run, asked):
    arguments = ("season", "--seeding", "05-22", "--today", "2025-07-10")
    code, out, err = run(*arguments, "--all")
    answer = asked(*arguments)
    assert (code, err) == (0, "")
    assert re.match(
        r"10 July: silage corn rated 2,300 CHU, .*; silking about \d+ \w+ \(.*\), fit for the store about ", flat(out)
    )
    assert re.search(r"Next: \d+ \w+: ", out)
    assert answer["stage"] == {"corn": "v5", "legume": "emergence"}
    assert [one["stage"] for one in answer["coming"]][:2] == ["canopy_closed", "silking"]
    for line in answer["coming"]:
        assert set(line["killed_before"]) == SHARE
        dates = [day for day in (line["early"], line["usual"], line["late"]) if day is not None]
        assert dates == sorted(dates)
    assert {"gathered", "usual", "warmer_seasons", "of_seasons", "days_ahead", "unit"} == set(answer["heat"]["corn"])
    assert answer["next"][0]["day"] >= "07-10"
    assert answer["fan"]["corn"][0]["day"] == "05-23"


def test_every_word_of_a_season_is_there_in_french_too(run):
    for more in (("--today", "2025-05-08"), ("--seeding", "05-22", "--today", "2025-09-20"), ("--seeding", "05-22")):
        code, out, err = run("season", *more, "--language", "fr")
        assert (code, err) == (0, "")
        assert not re.search(r"\b(the|and|seasons|about|killed|soil)\b", out.split("\n\n")[0])


def test_observations_are_said_to_set_the_clock_and_stand_among_what_has_come(asked):
    answer = asked("season", "--seeding", "05-22", "--emergence", "06-08", "--collars", "7", "--today", "2025-07-14")
    came = {(line["stage"], line["crop"]): line for line in answer["came"]}
    assert came["emergence", "subject_corn"]["on"] == "06-08"
    assert came["emergence", "subject_corn"]["how"] == "season_seen"
    assert came["v7", "subject_corn"]["on"] == "07-14"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (FORECAST.replace(DAYS[2] + "\n", ""), "1 day is missing"),
        (FORECAST.replace(DAYS[2], "2025-08-27,,23"), "line 4"),
        (FORECAST.replace("2025-08-25", "2025-08-24"), "line 3: 2025-08-26 follows 2025-08-24"),
    ],
)
def test_a_forecast_with_a_hole_is_refused_with_its_line_and_nothing_is_answered(refused, tmp_path, text, what):
    file = tmp_path / "coming.csv"
    file.write_text(text)
    refused(
        ("season", "--seeding", "05-22", "--today", "2025-08-25", "--forecast", file), what, "forecast has no holes"
    )


def test_a_forecast_stands_before_the_rest_and_is_said(run, tmp_path):
    file = tmp_path / "coming.csv"
    file.write_text(FORECAST)
    _, out, _ = run("season", "--seeding", "05-22", "--today", "2025-08-25", "--forecast", file, "--all")
    assert "The next 7 days are the forecast's." in flat(out)


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("--today", "2025-11-20"), "Today, 20 November, is after the end of the season", "frostkit winter"),
        (("--today", "2025-07-20"), "it is too late to seed", "--seeding"),
        (("--today", "soon"), "'soon' is not a date", "YYYY-MM-DD"),
        (("--seeding", "05-22", "--today", "2025-07-01", "--collars", "30"), "no leaf collar 30", "1 to 22"),
        (("--seeding", "05-22", "--today", "2025-07-01", "--silking", "08-01"), "comes after today", "has passed"),
        (("--today", "2025-05-01", "--silking", "04-01"), "still to be sown", "--seeding"),
        (("--seeding", "05-22", "--odds", "1.5"), "Odds of 1.5", "0.8"),
        (("--corn", "none", "--legume", "none"), "no crop", "Name a corn"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_two_lines(refused, arguments, what, do):
    refused(("season", *arguments), what, do)


def test_a_season_has_its_page_and_its_picture(run, tmp_path):
    page, picture = tmp_path / "season.html", tmp_path / "season.svg"
    code, out, _ = run("season", "--seeding", "05-22", "--today", "2025-07-10", "--page", page, "--picture", picture)
    text = page.read_text()
    assert code == 0
    assert "Page: " in out
    assert 'content="frostkit"' in text
    assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", text.split("</svg>")[0].split("<svg")[0])
    assert "invented" in text
    assert "this season" in picture.read_text()


def test_tonight_tells_every_field_of_the_farm_with_its_stages_and_odds(run, asked, farm):
    arguments = ("--farm", farm, "tonight", "--at", "-1.5", "--scatter", "1.5", "--today", "2025-09-08")
    code, out, err = run(*arguments)
    answer = asked(*arguments)
    assert (code, err) == (0, "")
    assert flat(out).startswith("-1.5 °C tonight, give or take 1.5 °C: 3 of 3 fields in danger.")
    assert [one["field"] for one in answer["fields"]] == ["north", "slough", "corner"]
    assert answer["fields"][2]["legume_stage"] is None
    for line in answer["odds"]:
        assert 0 <= line["certain"] <= line["possible"] <= 1
    assert {line["place"] for line in answer["odds"]} == {"tonight_open", "tonight_top", "tonight_within"}
    assert all(one["first"] > "09-08" for one in answer["look"])


def test_tonight_takes_the_forecasts_own_minimum_and_the_book(asked, farm, tmp_path):
    file = tmp_path / "coming.csv"
    file.write_text("date,tmin_C,tmax_C,tmin_spread_C\n2025-09-08,4,18,1\n2025-09-09,-0.5,15,1.2\n")
    answer = asked("--farm", farm, "tonight", "--forecast", file, "--today", "2025-09-08")
    assert (answer["tmin"], answer["scatter"]) == (-0.5, 1.2)


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("tonight",), "no minimum for tonight", "forecast"),
        (("tonight", "--at", "28", "--stage", "dent"), "outside -15 to 15", "28F"),
        (("tonight", "--at", "-1", "--scatter", "40"), "outside 0 to 6", "1.5"),
        (("tonight", "--at", "-1", "--stage", "dnt"), "stage='dnt'", "dent"),
        (("workdays", "--soil", "loam", "--seasons", "1900-1910"), "none from 1900 to 1910", "seasons"),
        (("winter", "--odds", "0"), "Odds of 0", "0.8"),
    ],
)
def test_tonight_winter_and_workdays_refuse_in_two_lines(refused, arguments, what, do):
    refused(arguments, what, do)


def test_the_winter_page_holds_everything_to_plan_for_and_prints_as_one_page(run, asked, farm, tmp_path):
    page = tmp_path / "plan.html"
    code, out, err = run("--farm", farm, "winter", "--page", page)
    answer = asked("--farm", farm, "winter")
    text = flat(re.sub(r"<[^>]+>", " ", page.read_text()))
    assert (code, err) == (0, "")
    assert flat(out).startswith("Plan to seed from ")
    assert {"seeding", "frosts", "seed", "months", "weeks", "herbicide_plan", "largest_rating"} <= set(answer)
    assert [one["field"] for one in answer["fields"]] == ["north", "slough", "corner"]
    assert answer["fields"][0]["not_after"] == "06-05"
    assert answer["largest_rating"]["up_to"] % 25 == 0
    heat = [line["heat"] for line in answer["seeding"]]
    assert all(one["nine"] <= one["half"] <= one["one"] for one in heat)
    for word in ("insurer", "Herbicide plan", "inoculant", "north", "Frosts", "can be worked", "largest rating"):
        assert word in text


def test_the_winter_pages_windows_are_the_windows_own(asked, farm):
    winter, window = asked("--farm", farm, "winter"), asked("--farm", farm, "window")
    assert winter["fields"][0]["from"] == window["window"]["from"]
    assert winter["fields"][0]["to"] == window["window"]["to"]


def test_working_days_by_week_are_ordered_and_never_over_seven(asked):
    answer = asked("workdays")
    for line in answer["weeks"]:
        assert 0 <= line["few"] <= line["usual"] <= line["many"] <= 7
    assert answer["months"]["april"]["usual"] < answer["months"]["may"]["usual"]


def test_a_working_day_may_be_asked_of_the_windows_ready(asked):
    plain, working = asked("window"), asked("window", "--workdays")
    assert working["workdays"] is True
    assert "workdays" not in plain
    pairs = [(a["both"]["ready"]["count"], b["both"]["ready"]["count"]) for a, b in
             zip(plain["odds"], working["odds"], strict=True)]  # fmt: skip
    assert all(with_work <= without for without, with_work in pairs)
    assert any(with_work < without for without, with_work in pairs)


def test_a_record_without_rain_says_that_working_days_are_left_out(run, refused, shared):
    valley = shared / "data/ghcn-daily/CA003076680_2003-2024.csv.gz"
    _, out, _ = run("window", valley, "--input-units", "C", "--workdays", "--latitude", "55.1")
    assert "The record tells too little of rain to tell working days by: they are left out." in flat(out) or (
        "Ready needs a day on which the field can be worked too" in flat(out)
    )


def test_the_book_is_added_to_and_looked_back_on(run, asked, farm):
    before = (farm.parent / "book.toml").read_bytes()
    code, out, err = run("--farm", farm, "book", "add", "slough", "moisture", "67.5", "--on", "2025-08-29")
    assert (code, out.strip(), err) == (
        0,
        "Added to book.toml: slough, 2025-08-29, moisture 67.5. It has 29 lines now.",
        "",
    )
    assert (farm.parent / "book.toml").read_bytes().startswith(before)
    answer = asked("--farm", farm, "book")
    assert answer["lines"] == 29
    assert len(answer["entries"]) == 29
    assert answer["asked"] == len(answer["looks"])
    assert [one["corn"] for one in answer["needs"]] == ["silage-2300", "silage-2150"]
    assert answer["needs"][1]["samples"] == 2
    _, text, _ = run("--farm", farm, "book")
    assert f"{answer['held']} of {answer['asked']} times the field came into its store's range" in flat(text)


def test_a_book_with_a_slip_stops_every_command_that_reads_it_and_loses_nothing(refused, farm):
    book = farm.parent / "book.toml"
    book.write_text(book.read_text().replace('what = "emerged"', 'what = "emergd"', 1))
    before = book.read_bytes()
    line = before.decode()[: before.decode().index("emergd")].count("[[seen]]")
    assert line > 0
    for arguments in (
        ("book",),
        ("book", "add", "north", "chopped", "--on", "2025-09-10"),
        ("season", "--today", "2025-07-10"),
        ("tonight", "--at", "-1", "--today", "2025-09-08"),
    ):
        refused(
            ("--farm", farm, *arguments),
            "what = 'emergd' is not known (did you mean 'emerged'?)",
            "Correct these lines",
        )
    assert book.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (
            ("add", "slogh", "sown", "--on", "2026-05-22"),
            "no field 'slogh' in the farm (did you mean 'slough'?)",
            "Nothing",
        ),
        (("add", "north", "sown", "--on", "2024-05-20"), "says 'sown' of north on 2024-05-20 already", "Nothing"),
        (("add", "north", "moisture", "--on", "2025-09-20"), "moisture has no value", "Nothing"),
        (("add", "north", "moisture", "wet", "--on", "2025-09-20"), "'wet' is not a number", "Nothing"),
        (("add", "north", "frost", "40", "--on", "2025-09-20"), "outside -20 to 5", "Nothing"),
    ],
)
def test_what_cannot_stand_in_the_book_is_refused_in_two_lines(refused, farm, arguments, what, do):
    refused(("--farm", farm, "book", *arguments), what, do)


def test_a_season_of_the_farm_reads_its_field_from_the_book(asked, farm):
    north = asked("--farm", farm, "--field", "north", "season", "--today", "2025-08-10")
    came = {(line["stage"], line["crop"]): line for line in north["came"]}
    assert came["silking", "subject_corn"]["on"] == "07-20"
    assert north["legume_seeding_day"] == "05-23"
    assert north["calibrated"]["entry"] == 2150
    earlier = asked("--farm", farm, "--field", "north", "season", "--today", "2025-07-01")
    assert "silking" in [line["stage"] for line in earlier["coming"]]


def test_every_table_goes_out_as_csv(run, farm):
    for arguments, table in (
        (("season", "--seeding", "05-22", "--today", "2025-07-10"), "coming"),
        (("season", "--seeding", "05-22", "--today", "2025-07-10"), "fan.corn"),
        (("season", "--today", "2025-05-10"), "soil_days"),
        (("workdays",), "weeks"),
        (("winter",), "seed"),
        (("--farm", farm, "book"), "entries"),
        (("tonight", "--at", "-1", "--stage", "dent", "--today", "2025-09-08"), "odds"),
    ):
        code, out, _ = run(*arguments, "--csv", "--table", table)
        rows = list(csv.DictReader(io.StringIO(out)))
        assert code == 0
        assert rows
        assert all(None not in row for row in rows)
    code, out, _ = run("season", "--today", "2025-05-10", "--csv", "--table", "decisions")
    assert code == 0
    assert out.startswith("name,value")


def test_the_year_is_walked_from_winter_to_winter_without_a_fault(run, farm):
    for arguments in (
        ("winter",),
        ("workdays",),
        ("season", "--today", "2025-04-20"),
        ("season", "--today", "2025-05-18"),
        ("book", "add", "corner", "sown", "--on", "2025-05-30"),
        ("tonight", "--at", "-2", "--today", "2025-06-10"),
        ("season", "--today", "2025-06-20"),
        ("season", "--today", "2025-08-01"),
        ("--field", "corner", "season", "--today", "2025-08-20"),
        ("chop", "--today", "2025-08-25"),
        ("tonight", "--at", "-1", "--today", "2025-09-11"),
        ("season", "--today", "2025-09-20"),
        ("book", "add", "corner", "chopped", "--on", "2025-09-21"),
        ("season", "--today", "2025-10-31"),
        ("book",),
    ):
        code, out, err = run("--farm", farm, *arguments)
        assert (code, err) == (0, ""), arguments
        assert out.strip()


@pytest.mark.parametrize(
    "typed",
    [
        ("report", "--out"),
        ("season", "--seeding", "05-22", "--today", "2025-07-10", "--page"),
        ("winter", "--page"),
    ],
)
def test_a_page_says_verdict_picture_counts_next_act_and_cautions_in_this_order(run, tmp_path, typed):
    path = tmp_path / "page.html"
    assert run(*typed, path)[0] == 0
    page = path.read_text("utf-8")
    parts = (
        '<p class="answer">',
        "<figure",
        '<p class="lead">',
        "<strong>Next: ",
        '<section class="cautions"',
        "<table",
    )
    places = [page.index(part) for part in parts]
    assert places == sorted(places)
    assert page.count("<strong>Next: ") == 1
