"""A farm's settings file: what it says need not be run, what is run goes before it, what is wrong is said."""

import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from frostkit.errors import SettingError
from frostkit.show.cli import COMMANDS
from frostkit.show.farm import OneField, Place, Written, defaults, load

DEMO = files("frostkit.demo")
EXAMPLE = str(DEMO / "farm.toml")
PAGE = Path(__file__).parents[2] / "docs" / "farm.md"


@pytest.fixture
def farm(tmp_path):
    """Write a settings file, with a record and a logger beside it."""
    shutil.copy(str(DEMO / "river_flat.dly"), tmp_path / "home.dly")
    shutil.copy(str(DEMO / "low_corner_logger.csv"), tmp_path / "logger.csv")

    def written(text):
        (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
        return tmp_path / "farm.toml"

    return written


FARM = """
odds = 0.7
[place.home]
record = "home.dly"
seasons = "1981-2020"
[field.low]
place = "home"
corn = "silage-2000"
legume = "none"
not_after = "05-30"
[field.high]
place = "home"
corn = "silage-2150"
legume = "forage-late"
after = 2
"""


def test_the_first_field_answers_with_the_files_record_crops_days_and_odds(farm, asked, tmp_path):
    by_farm = asked("--farm", farm(FARM), "window")
    spelled = asked("window", tmp_path / "home.dly", "--seasons", "1981-2020", "--corn", "silage-2000", "--legume", "none",
                    "--not-after", "05-30", "--odds", "0.7")  # fmt: skip
    assert by_farm == spelled
    assert by_farm["window"]["odds_wanted"] == 0.7
    assert [by_farm["seasons"][end]["season"] for end in (0, -1)] == [1981, 2020]


def test_another_field_is_named_and_what_is_typed_goes_before_the_file(farm, asked):
    path = farm(FARM)
    high = asked("--farm", path, "--field", "high", "window")
    assert (high["corn"], high["legume"], high["after"]) == ("silage-2150", "forage-late", 2)
    typed_over = asked(
        "--farm", path, "--field", "high", "window", "--corn", "silage-2300", "--after", "0", "--odds", "0.9"
    )
    assert (typed_over["corn"], typed_over["legume"], typed_over["after"]) == ("silage-2300", "forage-late", 0)
    assert typed_over["window"]["odds_wanted"] == 0.9


def test_the_file_is_found_by_the_environment_too(farm, asked, monkeypatch):
    monkeypatch.setenv("FROSTKIT_FARM", str(farm(FARM)))
    assert asked("window")["corn"] == "silage-2000"


@pytest.mark.parametrize("field", ["north", "corner"])
@pytest.mark.parametrize(
    "command", [name for name in COMMANDS if name not in ("report", "track-record", "tonight", "region", "serve")]
)
def test_every_command_takes_the_example_farm(run, command, field):
    code, out, err = run("--farm", EXAMPLE, "--field", field, command)
    assert (code, err) == (0, "")
    assert out


def test_the_report_is_written_in_the_farms_units_and_language(farm, run, tmp_path):
    units = '[units]\ntemperature = "F"\nheat = "degree-days"\nmass = "lb/ac"\nlanguage = "fr"\n'
    code, _, _ = run(
        "--farm",
        farm(units + FARM.replace("odds = 0.7", "")),
        "--field",
        "high",
        "report",
        "--out",
        tmp_path / "page.html",
    )
    page = (tmp_path / "page.html").read_text("utf-8")
    assert code == 0
    assert '<html lang="fr">' in page
    assert "28,0 °F" in page and "lb/ac" in page and "degrés-jours °F" in page


def test_a_records_own_commands_take_the_farms_record(farm, asked):
    assert asked("--farm", farm(FARM), "record")["station"]["seasons"] == [1981, 2020]


def test_a_low_spot_and_a_logger_stand_in_the_file_and_the_typed_one_goes_before(farm, run):
    by_logger = FARM.replace('corn = "silage-2000"', 'corn = "silage-2000"\nlogger = "logger.csv"')
    code, out, _ = run("--farm", farm(by_logger), "window")
    assert code == 0 and "its own logger" in out
    code, out, _ = run("--farm", farm(by_logger), "window", "--colder-by", "2")
    assert code == 0 and "2.0 °C colder" in out and "its own logger" not in out
    low = FARM.replace('corn = "silage-2000"', 'corn = "silage-2000"\ncolder_by = 2.0\nall_nights = true')
    code, out, _ = run("--farm", farm(low), "window")
    assert code == 0 and "all nights taken as 2.0 °C colder" in out


@pytest.mark.parametrize(
    ("wrong", "what", "do"),
    [
        (FARM.replace("not_after", "not_aftr"), "[field.low], not_aftr: not a key. Did you mean 'not_after'?", "docs/farm.md"),
        (FARM.replace("seasons =", "season ="), "[place.home], season: not a key. Did you mean 'seasons'?", "docs/farm.md"),
        (FARM + '[units]\nheat = "btu"\n', "[units], heat: 'btu' found; input should be 'chu' or 'degree-days'", "docs/farm.md"),
        (FARM.replace("odds = 0.7", "odds = 7"), "odds: 7 found; input should be less than or equal to 0.99", "docs/farm.md"),
        (FARM.replace("05-30", "05-33"), "[field.low], not_after: '05-33' found", "docs/farm.md"),
        (FARM.replace('place = "home"', 'place = "hame"', 1), "'hame' is no place of this file. Did you mean 'home'?", "Places: home."),
        ("odds = 0.8\n", "field: missing", "docs/farm.md"),
        ("odds = = 0.8\n", "farm.toml can't be read", "Start from the example in docs/farm.md"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_the_file_is_said_with_its_place(farm, run, wrong, what, do):
    code, out, err = run("--farm", farm(wrong), "window")
    lines = err.strip().splitlines()
    assert (code, out, len(lines)) == (2, "", 2)
    assert what in lines[0]
    assert do in lines[1]


def test_a_field_that_is_not_there_and_a_file_that_is_not_there(farm, run):
    code, _, err = run("--farm", farm(FARM), "--field", "hihg", "window")
    assert (code, err.splitlines()) == (
        2, ["There is no field 'hihg' in the settings file. Did you mean 'high'?", "Fields: low, high."])  # fmt: skip
    assert run("--farm", "nowhere.toml", "window")[0] == 2
    code, _, err = run("--field", "north", "window")
    assert code == 2 and err.startswith("--field needs a settings file")


def test_two_faults_are_said_at_once(farm):
    with pytest.raises(SettingError, match=r"not_aftr.*; .*odds|odds.*; .*not_aftr"):
        load(farm(FARM.replace("not_after", "not_aftr").replace("0.7", "7")))


def test_every_key_of_the_file_is_told_on_its_page():
    page = PAGE.read_text("utf-8")
    for table in (Place, OneField, Written):
        assert [key for key in table.model_fields if f"`{key}`" not in page] == []


def test_paths_in_the_file_are_taken_from_its_folder(farm, tmp_path):
    assert defaults(load(farm(FARM)), "low", tmp_path)["record"] == str(tmp_path / "home.dly")


def test_the_example_on_its_page_is_the_demo_farm():
    page = PAGE.read_text("utf-8")
    assert Path(EXAMPLE).read_text("utf-8").strip() in page
