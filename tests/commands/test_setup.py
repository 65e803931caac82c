"""Said once, kept everywhere: `frostkit setup`; and input as people type it."""

import json
import shutil

import pytest

import frostkit as fk
from frostkit.seasons.calendar import column, from_code
from frostkit.show.cli import COMMANDS, main


@pytest.fixture
def settings(tmp_path, monkeypatch):
    path = tmp_path / "kept" / "settings.toml"
    monkeypatch.setenv("FROSTKIT_SETTINGS", str(path))
    return path


def test_what_is_said_once_holds_in_terminal_json_and_python(run, asked, settings):
    assert run("frost")[1].startswith("No frost at or below 0 °C")
    code, out, _ = run("setup", "--language", "fr", "--temperature", "F", "--mass", "lb/ac")
    assert code == 0 and str(settings) in out
    assert run("frost")[1].startswith("Pas de gel à 32 °F ou moins")
    assert "lb/ac" in run("late-legume")[1]
    assert fk.frost(fk.demo()).brief().startswith("Pas de gel à 32 °F ou moins")
    assert fk.frost(fk.demo(), language="en", units="metric").brief().startswith("No frost at or below 0 °C")
    assert run("frost", "--language", "en", "--units", "metric")[1].startswith("No frost at or below 0 °C")


def test_the_farms_file_goes_before_the_settings_and_what_is_typed_before_both(run, settings, tmp_path):
    run("setup", "--language", "fr")
    farm = tmp_path / "farm.toml"
    farm.write_text('[units]\nlanguage = "en"\ntemperature = "F"\n[field.north]\n', "utf-8")
    assert run("--farm", farm, "frost")[1].startswith("No frost at or below 32 °F")
    assert run("--farm", farm, "frost", "--language", "fr")[1].startswith("Pas de gel")


def test_the_record_is_found_from_any_folder(run, asked, settings, tmp_path, monkeypatch):
    from importlib.resources import files

    shutil.copy(str(files("frostkit.demo") / "river_flat.dly"), tmp_path / "mine.dly")
    monkeypatch.chdir(tmp_path)
    run("setup", "--record", "mine.dly", "--field-at", "50.1", "-101")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    told = asked("frost")["station"]
    assert told["source"]["format"] == asked("frost", tmp_path / "mine.dly")["station"]["source"]["format"]
    code, _, err = run("setup", "--record", "nowhere.dly")
    assert code == 2 and "There is no file or folder 'nowhere.dly'" in err
    assert json.dumps(str(tmp_path / "mine.dly")) in settings.read_text("utf-8")  # what was set stays


def test_a_slip_in_the_settings_is_said_with_the_way_out_and_a_strange_file_is_not_replaced(run, settings):
    settings.parent.mkdir()
    settings.write_text('[units]\nlangauge = "fr"\n', "utf-8")
    code, out, err = run("frost")
    assert (code, out) == (2, "")
    assert "langauge: not a key. Did you mean 'language'?" in err and "frostkit setup --forget" in err
    settings.write_text("[units]\n", "utf-8")  # written by hand
    code, _, err = run("setup", "--language", "fr")
    assert code == 2 and "frostkit did not write it" in err
    assert settings.read_text("utf-8") == "[units]\n"
    assert run("setup", "--forget")[0] == 0 and not settings.exists()


def test_frostkit_alone_says_five_questions_a_line_each(capsys):
    assert main([]) == 0
    lines = capsys.readouterr().out.splitlines()
    asked = [line.split()[1] for line in lines if line.startswith("  frostkit ")]
    assert len(asked) == 5 and set(asked) <= set(COMMANDS)
    assert len(lines) < 15


@pytest.mark.parametrize(
    "typed", ["05-28", "5-28", "2026-05-28", "28 May", "May 28", "28th May", "may 28, 2026", "28 mai", "28 MAI 2026"]
)
def test_a_day_is_read_as_people_type_it(typed):
    assert from_code(typed) == column(5, 28)


@pytest.mark.parametrize("typed", ["28", "May", "28 Jui", "28 May May", "31 June", "2026-13-01", "28.5", ""])
def test_what_could_be_two_days_or_none_is_refused(run, typed):
    code, out, err = run("window", "--seeding", typed)
    assert (code, out) == (2, "")
    assert len(err.strip().splitlines()) == 2


def test_a_rating_alone_is_a_silage_corn(asked):
    assert asked("window", "--corn", "2725")["corn"] == asked("window", "--corn", "silage-2725")["corn"]


def test_open_shows_the_page_that_was_written_and_the_picture_where_none_was(run, tmp_path, monkeypatch):
    shown = []
    monkeypatch.setattr("webbrowser.open", lambda place: shown.append(place) or True)
    run("frost", "--open")
    run("frost", "--picture", tmp_path / "frost.svg", "--open")
    run("winter", "--page", tmp_path / "plan.html", "--open")
    assert [place.rpartition("/")[2] for place in shown] == ["frost.svg", "frost.svg", "plan.html"]
    assert all(place.startswith("file://") for place in shown)
    monkeypatch.setattr("webbrowser.open", lambda place: False)
    assert "No browser was found" in run("frost", "--open")[2]
