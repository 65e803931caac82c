"""`frostkit window` as typed: the JSON that is agreed, the same numbers in text, CSV and frames, refusals in two lines."""

import csv
import io

import pytest

import frostkit as fk
from frostkit.demo.place import FILE

SHARE = {"share", "low", "high", "level", "yes", "no", "not_known", "seasons", "complete", "count"}
QUICK = ("--no-track-record",)


@pytest.fixture(scope="module")
def shown():
    return fk.window(fk.demo(), track_record=False)


def test_the_json_holds_what_is_agreed(asked):
    answer = asked("window", *QUICK)
    assert {"odds_wanted", "from", "to", "core", "fringe"} == answer["window"].keys()
    assert {"usual", "late"} == answer["ready_days"].keys()
    assert answer["window"]["from"] <= answer["ready_days"]["usual"] <= answer["ready_days"]["late"]
    for row in answer["odds"]:
        assert {"seeding", "corn", "legume", "both", "outcomes"} <= row.keys()
        for name in ("corn", "legume", "both"):
            assert SHARE | {"ready", "plan"} == row[name].keys()
            assert row[name]["ready"].keys() == row[name]["plan"].keys() == SHARE
            of = row[name]
            assert of["yes"] + of["no"] + of["not_known"] == of["seasons"] == answer["season_count"]
            assert of["low"] <= of["share"] <= of["high"]
        assert row["both"]["yes"] <= min(row["corn"]["yes"], row["legume"]["yes"]) or answer["chopped_together"]
        assert sum(row["outcomes"][name] for name in ("fit", "usable", "lost")) == answer["season_count"]
        assert row["outcomes"]["fit"] == row["corn"]["count"]
    assert (answer["odds"][0]["seeding"], len(answer["odds"])) == ("04-15", 92)
    assert {"moved", "for_season", "degrees"} == answer["climate"].keys()
    for row in answer["seasons"]:
        assert {"season", "complete", "first_fit", "earliest", "latest", "last_made_it"} <= row.keys()
    assert len(answer["seasons"]) == answer["season_count"]


def test_the_window_in_the_json_is_that_of_its_own_rows(asked):
    """From the first day on which the soil was ready in 1 season in 10 and the plan reaches the odds, to the last of the
    run on which made it reaches them."""
    for odds in (0.8, 0.95):
        answer = asked("window", "--odds", odds, *QUICK)
        rows = answer["odds"]

        def reaches(of, odds=odds):
            return of["share"] >= odds - 1e-9

        first = next(row for row in rows if row["both"]["ready"]["share"] >= 0.1 and reaches(row["both"]["plan"]))
        assert answer["window"]["from"] == first["seeding"]
        place = rows.index(first)
        while reaches(rows[place + 1]["both"]):
            place += 1
        assert answer["window"]["to"] == rows[place]["seeding"]
        if answer["window"]["core"]:
            assert answer["window"]["core"]["to"] <= answer["window"]["to"] <= answer["window"]["fringe"]["to"]


def test_one_day_and_ones_own_last_day_are_obeyed(asked):
    free = asked("window", *QUICK)
    held = asked("window", "--not-after", "05-25", "--seeding", "05-28", *QUICK)
    assert held["window"]["to"] == "05-25"
    assert held["window"]["from"] == free["window"]["from"]
    row = next(row for row in free["odds"] if row["seeding"] == "05-28")
    assert held["seeding"]["seeding"] == "05-28"
    assert {name: held["seeding"][name] for name in ("corn", "legume", "both")} == {
        name: row[name] for name in ("corn", "legume", "both")
    }


def test_a_single_season_gives_shares_of_one(asked):
    answer = asked("window", "--seasons", "2001-2001", *QUICK)
    assert answer["season_count"] == 1
    assert all(row["both"]["seasons"] == 1 for row in answer["odds"])


def test_text_json_csv_and_frames_say_the_same_counts(run, asked, shown):
    answer = asked("window", *QUICK)
    _, text, _ = run("window", *QUICK)
    code, out, err = run("window", "--csv", *QUICK)
    assert code == 0 and "Ask first" in err
    rows = list(csv.DictReader(io.StringIO(out)))
    frame = shown.to_frame()
    for place, row in enumerate(answer["odds"]):
        assert int(rows[place]["both_count"]) == row["both"]["count"] == frame["both_count"].iloc[place]
        assert int(rows[place]["both_plan_count"]) == row["both"]["plan"]["count"]
        assert rows[place]["seeding"] == row["seeding"]
    to = next(row for row in answer["odds"] if row["seeding"] == answer["window"]["to"])
    assert f"{to['both']['count']} of {to['both']['seasons']} seasons" in text
    decisions = {
        row["name"]: row["value"]
        for row in csv.DictReader(io.StringIO(run("window", "--csv", "--table", "decisions", *QUICK)[1]))
    }
    assert decisions["window_to"] == answer["window"]["to"]
    assert decisions["ready_days_usual"] == answer["ready_days"]["usual"]


def test_the_headline_says_the_hybrid_the_store_and_the_days(run):
    _, out, _ = run("window", "--store", "bag", *QUICK)
    flat = " ".join(out.split())
    assert flat.startswith("Seed silage corn rated 2,300 CHU for the bag and late forage soybean from ")
    assert "as soon as the soil is ready" in flat
    _, french, _ = run("window", "--language", "fr", *QUICK)
    assert "dès que le sol est prêt" in " ".join(french.split())


def test_a_later_store_never_makes_it_more_often(asked):
    wet, dry = (
        asked("window", "--store", store, "--legume", "none", *QUICK)["odds"] for store in ("bunker", "oxygen_limiting")
    )
    assert all(a["corn"]["count"] >= b["corn"]["count"] for a, b in zip(wet, dry, strict=True))


def test_what_pays_and_stations_together_stand_in_text_and_json(run, asked):
    typed = ("window", "--worth", 900, "--per-day", 6, "--loss", 400, "--also", FILE, *QUICK)
    said = " ".join(run(*typed, "--all")[1].split())
    assert "pays best" in said and "Sowing still brings more than it risks until" in said
    assert "2 stations together: seed from " in said
    answer = asked(*typed)
    assert answer["pooled"]["window"] == {key: answer["window"][key] for key in ("from", "to")}
    assert [one["weight"] for one in answer["pooled"]["stations"]] == [0.5, 0.5]
    assert answer["pays"]["fails_once"]["seasons"] == 5
    assert len(answer["pays_by_day"]) == len(answer["pooled_odds"]) == 92


def test_a_hybrid_too_late_is_answered_by_the_one_that_makes_it(run, asked):
    _, out, _ = run("window", "--corn", "silage-3500", "--legume", "none", *QUICK)
    flat = " ".join(out.split())
    assert "too late a hybrid for odds of 8 in 10" in flat and "No seeding day" not in flat
    rating = asked("window", "--corn", "silage-3500", "--legume", "none", *QUICK)["smaller_rating"]
    assert f"silage corn up to {rating:,} CHU makes it" in flat


def test_a_picture_is_written(run, tmp_path):
    code, out, _ = run("window", "--picture", tmp_path / "w.png", *QUICK)
    assert code == 0 and (tmp_path / "w.png").read_bytes()[:4] == b"\x89PNG"
    assert f"Picture: {tmp_path / 'w.png'}" in out


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("--odds", "1.5"), "Odds of 1.5 can't be wanted", "0.8"),
        (("--after", "90"), "90 is not in the range", "window --help"),
        (("--store", "bunkr"), "Did you mean 'bunker'", "Choose from"),
        (("--seeding", "09-01"), "1 September is not among the seeding days", "Give a day from 15 April to 15 July"),
        (("--corn", "none", "--legume", "none"), "no crop to seed", "Name a corn"),
        (("--loss", "5"), "weighed against a worth", "--worth"),
        (("--worth", "-5"), "can't be weighed", "worth above 0"),
        (("--also", "nowhere.dly"), "no file or folder 'nowhere.dly'", "Check the path"),
        (("--not-after", "13-01"), "month 13", "window --help"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(("window", *arguments), what, do)


def test_how_the_corns_harvest_came_out_is_said_for_the_last_day(run, asked):
    answer = asked("window", *QUICK)
    of = next(row for row in answer["odds"] if row["seeding"] == answer["window"]["to"])["outcomes"]
    flat = " ".join(run("window", *QUICK, "--all")[1].split())
    said = f"{of['fit']} of {answer['season_count']} seasons enter the range of the bunker alive; {of['usable']} more"
    assert said in flat and f"and {of['lost']} are lost" in flat
    assert "enter the range" not in run("window", "--corn", "grain-corn-2300", *QUICK, "--all")[1]
