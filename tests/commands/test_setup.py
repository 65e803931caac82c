"""Said once, kept everywhere: `frostkit setup`; and input as people type it."""

import json
import shutil
from datetime import date

import pytest
from click.testing import CliRunner

import frostkit as fk
from frostkit.seasons.calendar import column, from_code, from_date
from frostkit.show.cli import COMMANDS, command, main
from frostkit.show.render.words import CONVERTED
from frostkit.show.texts import UNITS


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
    assert run("setup", "--forget")[0] == 2 and settings.exists()
    assert run("setup", "--forget", "--force")[0] == 0 and not settings.exists()
    assert "Nothing is set" in run("setup", "--forget")[1]


@pytest.mark.parametrize(
    ("said", "units"),
    [
        (("--temperature", "C", "--mass", "kg/ha"), "metric"),
        (("--temperature", "F"), "us"),
        (("--mass", "lb/ac"), "acres"),
        (("--temperature", "F", "--mass", "kg/ha"), "fahrenheit"),
    ],
)
def test_degrees_and_weights_are_set_apart(run, settings, said, units):
    assert run("setup", *said)[0] == 0
    degrees, mass = ("°F" if "F" in said else "°C"), ("lb/ac" if units in ("us", "acres") else "kg/ha")
    assert f" 0 {degrees} " in run("frost")[1] if degrees == "°C" else " 32 °F " in run("frost")[1]
    assert mass in run("late-legume")[1]
    assert run("frost")[1] == run("frost", "--units", units)[1]


def test_every_system_of_units_is_known_to_the_words():
    assert tuple(CONVERTED) == UNITS


def test_a_farm_without_units_keeps_to_those_that_are_set_up_and_to_its_own_places(run, settings, tmp_path):
    run("setup", "--language", "fr", "--temperature", "F", "--latitude", "51", "--longitude", "-100")
    farm = tmp_path / "farm.toml"
    farm.write_text("[field.north]\n", "utf-8")
    assert run("--farm", farm, "frost")[1].startswith("Pas de gel à 32 °F ou moins")
    farm.write_text('[units]\nmass = "kg/ha"\n[field.north]\n', "utf-8")
    assert run("--farm", farm, "frost")[1].startswith("Pas de gel à 32 °F ou moins")
    assert "kg/ha" in run("--farm", farm, "late-legume")[1]


def test_what_is_set_up_of_one_station_is_not_said_of_another(run, asked, settings, tmp_path):
    csv = "date,tmin,tmax\n" + "".join(
        f"{year}-{month:02d}-{day:02d},{10 + 8 * (month in (6, 7, 8)) + day % 3},{20 + 9 * (month in (6, 7, 8))}\n"
        for year in range(1990, 2010)
        for month in range(1, 13)
        for day in range(1, 29)
    )
    for name in ("mine.csv", "other.csv"):
        (tmp_path / name).write_text(csv, "utf-8")
    mine = ("--input-units", "C", "--latitude", "49.5", "--elevation", "420", "--name", "Home")
    assert run("setup", "--record", tmp_path / "mine.csv", *mine)[0] == 0
    assert asked("record")["station"]["name"] == "Home"
    assert asked("record")["station"]["latitude"] == 49.5
    code, _, err = run("record", tmp_path / "other.csv")
    assert code == 2 and "does not say whether this is °C or °F" in err
    other = asked("record", tmp_path / "other.csv", "--input-units", "C")["station"]
    assert other["name"] != "Home" and other["latitude"] is None
    run("setup", "--record", tmp_path / "other.csv")  # another record: what was said of the first goes
    assert "Home" not in settings.read_text("utf-8") and "input_units" not in settings.read_text("utf-8")


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        (("--latitude", "-40"), "40 degrees south"),
        (("--language", "xx"), "'xx'"),
        (("--temperature", "K"), "'K'"),
        (("--elevation", "90000"), "90000 m"),
        (("--longitude", "300"), "300"),
    ],
)
def test_nonsense_is_not_kept(run, settings, typed, what):
    code, out, err = run("setup", *typed)
    assert (code, out) == (2, "") and what in err
    assert not settings.exists()


def test_a_language_that_is_not_there_is_refused_in_the_file_too(run, settings):
    settings.parent.mkdir()
    settings.write_text('[units]\nlanguage = "xx"\n', "utf-8")
    code, out, err = run("frost")
    assert (code, out) == (2, "") and "languages are en, fr" in err


def test_settings_that_can_not_be_written_are_said_in_two_lines(run, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setenv("FROSTKIT_SETTINGS", str(tmp_path / "file" / "settings.toml"))
    code, out, err = run("setup", "--language", "fr")
    assert (code, out, len(err.strip().splitlines())) == (2, "", 2)


def test_setup_asks_on_a_terminal_and_keeps_what_is_answered(settings, monkeypatch):
    monkeypatch.setattr("frostkit.show.commands.setup.asks", lambda: True)
    done = CliRunner().invoke(command, ["setup"], input="fr\nF\n\n\nnowhere.dly\n\n")
    assert done.exit_code == 0, done.output
    assert (
        'language = "fr"' in settings.read_text("utf-8") and "There is no file or folder 'nowhere.dly'" in done.output
    )
    assert 'temperature = "F"' in settings.read_text("utf-8")


def test_frostkit_alone_says_five_questions_a_line_each(capsys):
    assert main([]) == 0
    lines = capsys.readouterr().out.splitlines()
    asked = [line.split()[1] for line in lines if line.startswith("  frostkit ")]
    assert len(asked) == 5 and set(asked) <= set(COMMANDS)
    assert len(lines) < 15 and max(map(len, lines)) < 100


def test_what_people_ask_and_the_list_of_commands_stand_in_the_language_of_setup(capsys, tmp_path, monkeypatch):
    settings = tmp_path / "settings.toml"
    monkeypatch.setenv("FROSTKIT_SETTINGS", str(settings))
    assert main(["setup", "--language", "fr"]) == 0
    capsys.readouterr()
    assert main([]) == 0
    assert "Quand semer maïs et légumineuse" in capsys.readouterr().out
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert "Commandes:" in out and all(f"  {name} " in out for name in COMMANDS)
    assert "Va-t-il geler cette nuit" in out
    settings.write_text("language = [", "utf-8")
    assert main([]) == 0
    assert "When can corn and legume be seeded" in capsys.readouterr().out


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


@pytest.mark.parametrize("typed", ["2025-07-15", "15 July 2025", "July 15, 2025", "15 juillet 2025"])
def test_a_date_is_read_as_people_type_it(typed):
    assert from_date(typed) == date(2025, 7, 15)


def test_a_name_that_is_close_to_a_file_beside_it_is_meant(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "home_farm.csv").write_text("date,Max,Min\n2001-05-01,10,1\n", "utf-8")
    assert "Did you mean 'home_farm.csv'?" in run("window", "home_frm.csv")[2]


def test_a_workbook_is_refused_with_the_way_to_save_it(run, tmp_path):
    (tmp_path / "days.xlsx").write_bytes(b"PK\x03\x04 and so on")
    code, out, err = run("window", tmp_path / "days.xlsx")
    assert (code, out, len(err.splitlines())) == (2, "", 2)
    assert "an Excel workbook" in err and "save the sheet with the days as CSV" in err


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
