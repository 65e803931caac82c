"""Whole commands: what a person types and reads, the exit codes, the two-line errors, and the keys programs rely on."""

import subprocess
import sys

import numpy as np
import pytest

from frostkit.answers.cautions import NEEDED
from frostkit.show.cli import COMMANDS

SHARE = {
    "share",
    "low",
    "high",
    "level",
    "yes",
    "no",
    "not_known",
    "seasons",
    "complete",
    "count",
}  # agreed keys of odds


@pytest.fixture(scope="module")
def plain_csv(tmp_path_factory):
    """Forty invented seasons without a missing day: warm from 10 May to 20 September, frost outside."""
    days = np.arange(np.datetime64("1981-01-01"), np.datetime64("2021-01-01"))
    of_year = (days - days.astype("datetime64[Y]").astype(days.dtype)).astype(int)
    warm = (of_year >= 129) & (of_year < 263)
    path = tmp_path_factory.mktemp("records") / "invented.csv"
    rows = [f"{day},{'9.0,26.0' if on else '-8.0,4.0'}" for day, on in zip(days, warm, strict=True)]
    path.write_text("date,tmin_C,tmax_C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_every_command_answers_for_the_invented_place_and_says_that_it_is_invented(run):
    for name in ("window", "frost", "heat", "record"):
        code, out, err = run(name)
        assert (code, err) == (0, ""), name
        assert "River Flat (invented)" in out, name


def test_every_command_has_help_with_examples(run):
    for name in COMMANDS:
        code, out, _ = run(name, "--help")
        assert code == 0
        assert f"frostkit {name}" in out, name
        assert "Examples:" in out, name


def test_the_window_is_said_first_with_the_count_that_carries_it(run):
    code, out, _ = run("window", "--all")
    first = " ".join(out.splitlines()[:2])
    assert code == 0
    assert first.startswith("Seed silage corn rated 2,300 CHU for the bunker and late forage soybean from ")
    text = " ".join(out.split())
    assert "it made it in 49 of 58 seasons (" in text
    assert text.index("it made it in") < text.index("Core, should") < text.index("Counted over 58 seasons")


def test_window_json_has_the_agreed_keys(asked):
    answer = asked("window", "--odds", "0.8", "--after", "1")
    assert {"window", "seasons", "odds", "cautions", "climate"} <= answer.keys()
    assert {"odds_wanted", "from", "to", "core", "fringe"} <= answer["window"].keys()
    assert {"season", "complete"} <= answer["seasons"][0].keys()
    assert answer["climate"].keys() == {"moved", "for_season", "degrees"}
    assert [row["seeding"] for row in answer["odds"]][:2] == ["04-15", "04-16"]
    assert answer["odds"][-1]["seeding"] == "07-15"
    for who in ("corn", "legume", "both"):
        assert answer["odds"][0][who].keys() >= SHARE
    assert [caution["topic"] for caution in answer["cautions"]] == list(NEEDED["seeding"])


def test_heat_json_has_the_agreed_keys_and_a_range_only_where_days_are_missing(asked):
    answer = asked("heat", "--method", "chu", "--from", "05-01", "--to", "09-30")
    assert answer["unit"] == "CHU"
    for season in answer["seasons"]:
        least, most = season["total"]
        assert (least == most) == (season["missing_days"] == 0)
    assert any(season["missing_days"] for season in answer["seasons"])


def test_heat_of_a_plain_file_is_what_one_works_out_by_hand(plain_csv, asked):
    answer = asked("heat", str(plain_csv), "--method", "mean", "--base", "10", "--from", "05-01", "--to", "05-15")
    # days that are all alike would be masked as stuck; (26 + 9)/2 - 10 = 7.5 a day from 10 May (leap years: from 9 May, day 130 of the year)
    assert {season["total"][0] for season in answer["seasons"]} == {6 * 7.5, 7 * 7.5}


def test_one_day_and_the_users_own_last_day_are_obeyed(asked):
    free = asked("window")
    held = asked("window", "--not-after", "05-25", "--seeding", "05-28")
    assert held["window"]["to"] == "05-25"
    assert held["window"]["from"] == free["window"]["from"]
    assert held["seeding"]["seeding"] == "05-28"
    row = next(row for row in free["odds"] if row["seeding"] == "05-28")
    assert held["seeding"]["both"] == row["both"]


def test_the_legume_is_listed_by_the_corns_day(asked):
    same, later = asked("window", "--corn", "none"), asked("window", "--after", "2")
    by_day = {row["seeding"]: row["legume"]["share"] for row in same["odds"]}
    assert later["odds"][10]["seeding"] == "04-25"
    assert later["odds"][10]["legume"]["share"] == by_day["04-27"]


def test_both_is_never_better_than_either(asked):
    for row in asked("window")["odds"]:
        assert row["both"]["yes"] <= min(row["corn"]["yes"], row["legume"]["yes"])


def test_more_odds_wanted_never_widen_the_window(asked):
    def length(odds):
        window = asked("window", "--odds", str(odds))["window"]
        if window is None:
            return 0
        first, last = (np.datetime64(f"2001-{window[end]}") for end in ("from", "to"))
        return int((last - first).astype(int)) + 1

    assert length(0.5) >= length(0.7) >= length(0.8) >= length(0.99)


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("windw",), "There is no command 'windw'. Did you mean 'window'?", "frostkit --help"),
        (("window", "nowhere.csv"), "There is no file or folder 'nowhere.csv'", "Check the path"),
        (("window", "--corn", "silage-230"), "Did you mean 'silage-2300'?", "Choose from"),
        (("window", "--odds", "1.5"), "Odds of 1.5 can't be wanted", "0.8 for 8 in 10"),
        (("window", "--seeding", "05-33"), "Day 33 of month 5", "frostkit window --help"),
        (("window", "--seeding", "08-01"), "1 August is not among the seeding days", "from 15 April to 15 July"),
        (("window", "--after", "90"), "'--after': 90 is not in the range -60<=x<=60", "frostkit window --help"),
        (("window", "--seasons", "1800-1850"), "none from 1800 to 1850", "seasons that the record has"),
        (("window", "--picture", "window.xyz"), "does not end in a kind of picture", ".png"),
        (("frost", "--threshold", "cold"), "'cold' is not a temperature", "28F"),
        (("heat", "--method", "maen"), "Did you mean 'mean'?", "Choose from"),
        (("heat", "--method", "chu", "--base", "5"), "Corn heat units have no base", "Leave base"),
        (("heat", "--from", "09-01", "--to", "05-01"), "is after the last", "Swap"),
        (("heat", "--method", "clamped", "--base", "10", "--cap", "5"), "is not above the base", "higher cap"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)


def test_a_fault_of_ours_is_said_as_ours_and_exits_with_1(run, monkeypatch):
    from frostkit.answers.seeding import window

    def broken(*_, **__):
        raise RuntimeError("wires crossed")

    monkeypatch.setattr(window, "window", broken)
    code, _, err = run("window")
    assert code == 1
    assert err.splitlines()[0] == "Something in frostkit itself broke: RuntimeError: wires crossed"


def test_a_picture_is_written_whole_or_not_at_all(run, tmp_path):
    for ending in ("png", "svg", "pdf"):
        path = tmp_path / f"window.{ending}"
        code, out, _ = run("window", "--picture", str(path))
        assert code == 0
        assert f"Picture: {path}" in out
        assert path.stat().st_size > 5_000
    code, _, err = run("window", "--picture", str(tmp_path / "no" / "window.png"))
    assert code == 2
    assert "There is no folder" in err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["window.pdf", "window.png", "window.svg"]


def test_the_picture_the_command_and_the_json_say_the_same_numbers(run, asked):
    import frostkit as fk
    from frostkit.show.look import says

    _, out, _ = run("window", "--legume", "none")
    figure = fk.window(fk.demo(), legume=None).plot()
    window = asked("window", "--legume", "none")["window"]
    title = says(figure).splitlines()[0]
    ends = [np.datetime64(f"2025-{window[end]}").item().strftime("%-d %B") for end in ("from", "to")]
    assert title.startswith(f"Seed from {ends[0]}, as soon as the soil is ready, to {ends[1]}")
    assert f"from {ends[0]}, as soon as the soil is ready, to {ends[1]} for odds of 8 in 10." in " ".join(out.split())
    (drawn,) = (line for axes in figure.axes for line in axes.get_lines() if line.get_label() == "made it")
    shares = [row["corn"]["share"] for row in asked("window", "--legume", "none")["odds"]]
    assert np.asarray(drawn.get_ydata()) == pytest.approx([100 * share for share in shares], abs=0.01)


def test_a_text_command_loads_neither_pandas_nor_xarray_nor_matplotlib():
    """A cold start must not cost more than those two imports (issue: within 1.5 times)."""
    program = (
        "import sys; from frostkit.show.cli import main; main(['window']); "
        "sys.exit(any(name in sys.modules for name in ('pandas', 'xarray', 'matplotlib', 'scipy.stats', 'meteostat')))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
