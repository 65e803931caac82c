"""`frostkit track-record` as a person types it."""

import re

import pytest

OTTAWA = "data/ghcn-daily/CA006105976.dly"


def flat(text):
    """The text without its line breaks."""
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("track-record", "--event", "hail"), "'hail' is not one of", "track-record --help"),
        (("track-record", "--threshold", "cold"), "'cold' is not a temperature", "28F"),
        (("track-record", "--crop", "silage-2300"), "--crop goes with --event seeding-deadline", "--help"),
        (
            ("track-record", "--event", "seeding-deadline", "--crop", "silage"),
            "crop='silage' is not known",
            "Choose from",
        ),
        (("track-record", "--seasons", "2010-2020"), "11 seasons leave none to forecast", "longer record"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)


def test_the_track_record_says_first_how_far_the_odds_were_off_and_what_luck_gives(run):
    code, out, err = run("track-record")
    assert (code, err) == (0, "")
    assert re.match(r"Asked before each of \d+ past seasons \(\d{4} to \d{4}\), the odds of the first fall frost at or "
                    r"below 0 °C were off by \d+ points on average; perfect odds would have been off by \d+ by luck",
                    flat(out))  # fmt: skip
    assert "River Flat (invented)" in out


@pytest.mark.parametrize("event", ["first-fall-frost", "last-spring-frost", "seeding-deadline"])
def test_forecasts_are_counted_once_each_and_hold_together(asked, event):
    answer = asked("track-record", "--event", event)
    days, seasons = len(answer["days"]), answer["chosen"]["forecasts"]
    table = answer["reliability"]
    assert sum(row["forecasts"] for row in table) == days * seasons
    for row in table:
        if row["forecasts"]:
            assert row["years"] <= min(row["forecasts"], seasons)
            assert row["band_low"] <= row["given"] <= row["band_high"] or row["forecasts"] < 5
    parts = answer["chosen"]["murphy"]  # Brier score = reliability - resolution + uncertainty (Murphy 1973)
    assert parts["brier"] == pytest.approx(parts["reliability"] - parts["resolution"] + parts["uncertainty"], abs=2e-5)
    assert answer["chosen"]["brier"]["low"] <= answer["chosen"]["brier"]["value"] <= answer["chosen"]["brier"]["high"]


def test_estimators_are_listed_best_first_and_the_one_used_is_marked(run):
    _, out, _ = run("track-record")
    rows = re.findall(r"^([ *]) (\w.*?(?:seasons|before)) +(0\.\d{4})", out, re.MULTILINE)
    scores = [float(score) for _, _, score in rows]
    assert len(rows) == 24
    assert scores == sorted(scores)
    assert [mark for mark, _, _ in rows].count("*") == 1


def test_a_frost_that_never_came_is_said_without_infinity(run, asked):
    assert any(season["first_fall"] == [None, None] for season in asked("frost", "--threshold", "-20")["seasons"])
    code, out, _ = run("track-record", "--threshold", "-20")
    assert code == 0
    assert "inf" not in out.replace("information", "") and "nan" not in out


@pytest.mark.real
def test_the_track_record_of_a_real_record_judges_only_complete_seasons_after_its_first(shared, asked):
    answer = asked("track-record", shared / OTTAWA, "--threshold", "28F")
    assert answer["threshold_c"] == -2.2
    assert answer["first_seasons"] == 30
    assert answer["years"][0] >= 1890 + 30
    assert 80 <= answer["chosen"]["forecasts"] <= 120 - 20
    # with a century of seasons odds that were right on average are off by a few points at most: this is the main job
    assert answer["chosen"]["mean_gap"] <= answer["chosen"]["gap_of_perfect_odds"] + 0.05


def test_the_track_record_as_a_picture(run, tmp_path):
    path = tmp_path / "record.svg"
    code, out, _ = run("track-record", "--event", "last-spring-frost", "--picture", path)
    assert code == 0 and f"Picture: {path}" in out
    drawn = path.read_text("utf-8")
    assert "Odds of the last spring frost: off by" in drawn
    assert "where perfect odds would fall, 9 times in 10" in drawn
