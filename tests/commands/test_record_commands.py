"""`frostkit record`: checked, found, fetched, kept and dropped, as a person types it; the field's logger; the odds there."""

import gzip
from datetime import date

import numpy as np
import pytest

from frostkit.demo.place import LOGGER
from tests.local_provider import Provider, days_of, pointed_at, serving
from tests.real_records import AS_THEY_ARE


@pytest.fixture(scope="module")
def provider():
    """A long station at the place and a short one, by the real client from a server of this machine."""
    known = Provider()
    known.add("71140", days_of(date(2016, 1, 1), date(2025, 12, 31)))
    known.add("71141", days_of(date(2024, 1, 1), date(2025, 12, 31), 2), latitude=50.1)
    with serving(known) as address, pointed_at(address):
        yield known


@pytest.fixture
def kept(provider, tmp_path, monkeypatch):
    """The folder of kept records, new for this test."""
    folder = tmp_path / "data_cache"
    monkeypatch.setenv("FROSTKIT_CACHE", str(folder))
    return folder


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory):
    """Twelve invented seasons, with errors of known kinds planted in them."""
    days = np.arange(np.datetime64("2009-01-01"), np.datetime64("2021-01-01"))
    rng = np.random.default_rng(5)
    wave = 15 * np.sin(2 * np.pi * ((days - days[0]).astype(int) - 110) / 365.25)
    tmin = np.round(wave + rng.normal(-3, 3, days.size), 1)
    tmax = np.round(tmin + rng.uniform(4, 14, days.size), 1)

    def on(day):
        return int((np.datetime64(day) - days[0]).astype(int))

    tmin[on("2013-07-04")] *= -1  # sign; some 20 °C wrong
    tmax[on("2015-01-09") : on("2015-01-09") + 18] = -3.3  # stuck
    tmin[on("2017-05-20")] = tmax[on("2017-05-20")] + 4  # crossed: the reader takes both out
    path = tmp_path_factory.mktemp("records") / "spoilt.csv"
    rows = [f"{day},{low:.1f},{high:.1f}" for day, low, high in zip(days, tmin, tmax, strict=True)]
    path.write_text("date,tmin_C,tmax_C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


# -- checking ------------------------------------------------------------------------------------------------------


def test_a_check_tells_day_value_check_and_what_was_done(run, spoilt):
    code, out, err = run("record", "check", spoilt, "--all")
    assert (code, err) == (0, "")
    assert " ".join(out.split()).startswith(
        "spoilt, once checked: 12 of 12 seasons count, 10 of them read without a hole; 19 of "
    )
    rows = [" ".join(line.split()) for line in out.splitlines()]
    assert "9 January 2015 Tmax -3.3 streak masked" in rows
    assert any(row.startswith("4 July 2013 Tmin") for row in rows)
    assert "Repaired on the way in: Tmin above Tmax" in out
    assert "streak 18" in out


def test_check_json_lists_every_finding_and_every_season(asked, spoilt):
    answer = asked("record", "check", spoilt)
    assert {"station", "notes", "readings", "repaired_on_the_way_in", "masked", "findings", "seasons", "breaks",
            "neighbours", "days", "counted", "complete", "not_counted", "not_observed"} <= answer.keys()  # fmt: skip
    planted = {"2013-07-04", *map(str, np.datetime64("2015-01-09") + np.arange(18))}
    assert planted <= {finding["day"] for finding in answer["findings"]}
    assert answer["masked"] == len(answer["findings"]) <= len(planted) + 4
    assert answer["counted"] + answer["not_counted"] + answer["not_observed"] == len(answer["seasons"]) == 12
    masked = {season["season"]: season["masked"] for season in answer["seasons"]}
    assert sum(masked.values()) == answer["masked"]
    assert masked[2015] == 18


def test_a_neighbour_is_named_and_finds_what_the_station_alone_hides(asked, spoilt, tmp_path):
    lines = spoilt.read_text("utf-8").splitlines()
    at = next(index for index, line in enumerate(lines) if line.startswith("2011-06-15"))
    day, low, high = lines[at].split(",")
    lines[at] = f"{day},{float(low) - 11:.1f},{high}"
    wrong = tmp_path / "wrong.csv"
    wrong.write_text("\n".join(lines) + "\n", encoding="utf-8")
    found = asked("record", "check", wrong, "--neighbour", spoilt)
    assert "2011-06-15" in {finding["day"] for finding in found["findings"]}
    assert found["neighbours"][0]["days_in_common"] > 4000


def test_a_file_is_taken_as_it_is_unless_a_check_is_asked_for_and_the_answer_says_which(run, asked, spoilt):
    _, out, _ = run("frost", spoilt, "--check")
    assert "Quality checks masked 19 of its readings." in " ".join(out.split())
    _, out, _ = run("frost", spoilt, "--all")
    assert "Taken as it is: --check masks suspect readings." in " ".join(out.split())
    assert asked("heat", spoilt, "--check")["station"]["source"]["checks"] == "19"
    assert asked("heat", spoilt)["station"]["source"]["checks"] == "no"


def test_a_zero_in_july_of_a_real_record_no_longer_counts_as_frost(asked, shared):
    # PROVENANCE.md: Valleyview has Tmin 0.0 on 20 July 2017 between 8.7 and 11.8: almost surely an error
    place, options = AS_THEY_ARE["valleyview"]
    typed = ("frost", shared / "data" / place, "--input-units", options["input_units"])
    last = {check: asked(*typed, check)["seasons"][2017 - 2003]["last_spring"] for check in ("--check", "--no-check")}
    assert last["--no-check"][0] == "07-20"
    assert last["--check"][0] < "07-01"


@pytest.mark.parametrize(("stuck", "refused"), [(40, True), (20, False)])
def test_a_record_of_which_over_3_percent_fail_a_check_is_refused_with_a_way_out(run, spoilt, tmp_path, stuck, refused):
    lines = spoilt.read_text("utf-8").splitlines()
    lines = [lines[0], *lines[1:720]]
    for at in range(400, 400 + stuck):
        lines[at] = lines[at].rpartition(",")[0] + ",24.4"
    path = tmp_path / "stuck.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    code, out, err = run("frost", path, "--check")
    assert code == (2 if refused else 0), err
    if refused:
        first, second = err.strip().splitlines()
        assert out == ""
        assert "of 719 readings of tmax fail a quality check, most of them 'streak', the first on " in first
        assert "--no-check" in second


def test_the_picture_of_a_record_is_drawn(run, spoilt, tmp_path):
    for how in (("show",), ("check",)):
        path = tmp_path / f"{how[0]}.svg"
        code, out, _ = run("record", *how, spoilt, "--picture", path)
        assert code == 0
        assert f"Picture: {path}" in out
        assert "12 of 12 seasons count" in path.read_text("utf-8")


# -- stations ------------------------------------------------------------------------------------------------------


def test_near_names_the_best_station_first_with_its_reason_and_the_provider(run, asked, kept):
    code, out, err = run("record", "near", "49.9", "-99.9", "--elevation", "410")
    assert code == 0
    assert err == f"Records are kept in {kept} (named by FROSTKIT_CACHE).\n"
    first = out.splitlines()[0]
    assert first.startswith("Take Invented 71140 (71140): ")
    assert "71141" in out
    assert "Meteostat, CC BY 4.0" in out
    rows = asked("record", "near", "49.9", "-99.9", "--elevation", "410")["stations"]
    assert [row["id"] for row in rows] == ["71140", "71141"]
    assert rows[0]["height_above_place_m"] == -10
    assert rows[0]["recommended"] and not rows[1]["recommended"]


def test_a_record_is_fetched_kept_listed_answered_from_and_dropped(run, asked, kept, provider):
    code, out, _ = run("record", "fetch", "49.9 N, 99.9 W")
    assert code == 0
    assert "71140" in out
    assert "Meteostat, Environment and Climate Change Canada" in " ".join(out.split())
    assert "frostkit window 71140" in out

    [row] = asked("record", "list")["kept"]
    assert (row["id"], row["days"], row["first"], row["last"]) == ("71140", 3653, "2016-01-01", "2025-12-31")
    _, out, _ = run("record", "list")
    assert "Data: Meteostat" in out
    assert str(kept) in out

    asked_before = len(provider.asked)
    code, out, _ = run("frost", "71140")
    assert code == 0
    assert "of Invented 71140, 2016 to 2024" in " ".join(out.split())
    assert "Meteostat" in out
    assert len(provider.asked) == asked_before  # no network the second time

    _, out, _ = run("record", "drop", "71140")
    assert out.startswith("Removed: 71140, Invented 71140, 3,653 days")
    code, _, err = run("record", "drop", "71140")
    assert code == 2
    assert len(err.strip().splitlines()) == 2


def test_what_is_kept_is_checked_when_it_answers(run, asked, kept, provider):
    good = dict(provider.tables["71140"])
    day = date(2020, 7, 9)
    provider.tables["71140"][day] = {**good[day], "tmin": -31.0, "tmax": good[day]["tmax"]}
    try:
        run("record", "fetch", "71140")
    finally:
        provider.tables["71140"] = good
    assert {finding["day"] for finding in asked("record", "check", "71140")["findings"]} == {"2020-07-09"}
    assert asked("frost", "71140")["station"]["source"]["checks"] == "1"


def test_a_changed_history_is_told_and_taken_over_only_with_accept(run, kept, provider):
    run("record", "fetch", "71140")
    good = dict(provider.tables["71140"])
    day = date(2019, 5, 4)
    provider.tables["71140"][day] = {**good[day], "tmin": good[day]["tmin"] - 2}
    try:
        _, out, _ = run("record", "refresh", "71140")
        assert "The provider changed 1 reading, the first on 2019-05-04" in " ".join(out.split())
        assert "the old ones were kept" in " ".join(out.split())
        _, out, _ = run("record", "refresh", "71140", "--accept")
        assert "the provider's were taken over" in " ".join(out.split())
    finally:
        provider.tables["71140"] = good


def test_a_place_can_stand_for_a_record(run, kept):
    code, out, err = run("heat", "49.9, -99.9", "--from", "05-01", "--to", "05-31")
    assert code == 0
    assert "Invented 71140 (71140), 0 km away" in err
    assert "Invented 71140" in out


def test_the_cache_folder_may_be_named_by_option(run, asked, kept, tmp_path):
    other = tmp_path / "elsewhere"
    run("record", "fetch", "71141", "--cache", other)
    assert [row["id"] for row in asked("record", "list", "--cache", other)["kept"]] == ["71141"]
    assert asked("record", "list")["kept"] == []
    assert run("frost", "71141", "--cache", other)[0] == 0


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("record", "near", "95", "0"), "can't lie at latitude 95; allowed: 0 to 66", "99.9 west"),
        (("record", "near", "north", "0"), "'north' is not a number", "record near --help"),
        (("record", "fetch", "99999"), "The provider knows no station '99999'", "record near"),
        (("record", "refresh", "71140"), "No record of station '71140' is kept", "record fetch 71140"),
        (("record", "chekc"), "There is no 'record chekc'. Did you mean 'check'?", "record --help"),
        (("frost", "--colder-by", "40"), "is not believed", "such as 2"),
        (("frost", "--colder-by", "2", "--logger", str(LOGGER)), "say the same thing twice", "one of them"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, kept, arguments, what, do):
    refused(arguments, what, do, beside="Records are kept")


# -- the field's own logger ----------------------------------------------------------------------------------------


def test_a_logger_gives_the_offset_with_scatter_and_nights(run, asked):
    code, out, _ = run("record", "field", "-", LOGGER)
    assert code == 0
    assert "colder on clear and calm nights" in out.splitlines()[0]
    assert "194 nights with both" in out
    cells = asked("record", "field", "-", LOGGER)["offset_c"]
    assert sum(cell["nights"] for cell in cells) == 194
    clear = [cell for cell in cells if cell["nights_are"].startswith("clear") and cell["nights"]]
    # the made-up logger is 2.6 °C colder on a wholly clear night, by the hour; see frostkit/demo/place.toml
    assert all(-2.9 < cell["mean"] < -1.5 for cell in clear)
    assert all(cell["scatter_of_a_night"] > 0.3 for cell in clear)


def test_a_low_spot_and_a_logger_lower_the_odds_and_are_said(run, asked):
    here, typed = asked("window"), asked("window", "--colder-by", "2")
    both = [(a["both"]["share"], b["both"]["share"]) for a, b in zip(here["odds"], typed["odds"], strict=True)]
    assert sum(station - field for station, field in both) > 1
    here, logged = asked("frost"), asked("frost", "--logger", LOGGER)
    fall = [(a["share"], b["share"]) for a, b in zip(*(of["odds"]["first_fall"] for of in (here, logged)), strict=True)]
    assert sum(field - station for station, field in fall) > 5  # days by which the first fall frost comes sooner
    assert here["station"]["field"] is None
    assert (typed["station"]["field"]["draws"], logged["station"]["field"]["draws"]) == (1, 20)
    for command in (("window",), ("frost",), ("late-legume",)):
        _, out, _ = run(*command, "--colder-by", "2")
        said = "Moved to the field: clear, calm nights taken as 2.0 °C colder, typed in and not measured."
        assert said in " ".join(out.split())
    _, out, _ = run("frost", "--logger", LOGGER)
    assert "Moved to the field by 194 nights of its own logger" in " ".join(out.split())


def test_a_logger_of_the_field_goes_into_the_page(run, tmp_path):
    page = tmp_path / "page.html"
    code, _, _ = run("report", "--colder-by", "1.5", "--all-nights", "--out", page)
    assert code == 0
    assert "Moved to the field: all nights taken as 1.5 °C colder" in page.read_text("utf-8")


def test_a_logger_in_gzip_and_without_its_unit_is_asked_for(run, tmp_path):
    path = tmp_path / "corner.csv.gz"
    text = LOGGER.read_text("ascii").replace("temp_C", "temp")
    path.write_bytes(gzip.compress(text.encode()))
    code, _, err = run("record", "field", "-", path)
    assert code == 2
    assert "does not say °C or °F" in err
    assert run("record", "field", "-", path, "--logger-units", "C")[0] == 0


def test_a_long_load_shows_a_bar_to_a_person_and_nothing_to_a_pipe(monkeypatch, capsys):
    from frostkit.show.commands.progress import progress

    with progress() as step:
        assert step is None
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    with progress() as step:
        step(3, 14, "71140 2014")
    assert capsys.readouterr().out == ""
