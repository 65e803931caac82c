"""`frostkit late-legume`, `rows` and `worth` as a person types them."""

import csv
import io
import re

import pytest

from frostkit.answers.cautions import NEEDED, cautions_of

OTTAWA = "data/ghcn-daily/CA006105976.dly"
SHARE = {"share", "low", "high", "level", "yes", "no", "not_known", "seasons", "complete", "count"}


def flat(text):
    """The text without its line breaks."""
    return re.sub(r"\s+", " ", text)


@pytest.fixture(scope="module")
def told():
    """Answers that several tests read, asked once each."""
    return {}


@pytest.fixture
def once(told, asked):
    def typed(*arguments):
        if arguments not in told:
            told[arguments] = asked(*arguments)
        return told[arguments]

    return typed


def test_the_late_legume_says_first_until_when_and_what_it_then_makes(run):
    code, out, err = run("late-legume", "--all")
    assert (code, err) == (0, "")
    first = flat(out).split(". ")[0]
    assert re.match(r"Into corn seeded on 20 May late forage soybean can go until \d+ \w+, to make 300 kg/ha", first)
    assert "River Flat (invented)" in out
    assert "trials kept 50 % to 105 % of corn alone" in flat(out)


def test_every_danger_of_a_late_legume_is_said_in_full_the_label_first(run, once):
    _, out, _ = run("late-legume", "--all")
    for caution in cautions_of("late legume"):
        assert f"! {caution.title}: {caution.text}" in flat(out)
    assert [one["topic"] for one in once("late-legume")["cautions"]] == list(NEEDED["late legume"])
    assert NEEDED["late legume"][0] == "herbicide"


def test_the_json_holds_ways_goal_and_last_day_as_agreed(once):
    answer = once("late-legume")
    assert answer["goal"]["amount"] == 300 and answer["goal"]["unit"] == "kg/ha" and answer["goal"]["source"]
    assert re.fullmatch(r"\d\d-\d\d", answer["last_day"]) and answer["last_day"] < "07-01"
    assert [way["way"] for way in answer["ways"]] == [
        *("with corn", "1 day before corn", "1 day after corn", "V3", "V5", "V7")
    ]
    for way in answer["ways"]:
        assert set(way["growth_kg_ha"]) == {"low", "middle", "high"}
        for row in (way, *way["days"]):
            low, middle, high = (row["growth_kg_ha"][end] for end in ("low", "middle", "high"))
            assert 0 <= low <= middle <= high
            assert 0 <= row["share_of_sole"] <= 1.01 and 0 <= row["light_share"] <= 1
            assert 7.5 <= row["protein_blend"] < 18
            assert set(row["made_it"]) == SHARE
            assert row["stage_at_chop"] and row["stage_at_frost"]
            assert set(row["days_vegetative"]) == set(row["growth_at_frost_kg_ha"]) == {"low", "middle", "high"}
        assert [row["sowing"] for row in way["days"]] == sorted(row["sowing"] for row in way["days"])
    assert len(answer["ways"][0]["days"]) == 92
    assert {"season", "way", "sown", "emergence", "chop", "killed", "first_flower"} <= set(answer["seasons"][0])


def test_a_sowing_at_v5_gives_a_small_part_of_one_with_the_corn_and_the_ratio_is_printed(run, once):
    answer = once("late-legume")
    ways = {way["way"]: way for way in answer["ways"]}
    with_corn, fifth = (ways[name]["growth_kg_ha"]["middle"] for name in ("with corn", "V5"))
    assert 4 < with_corn / fifth < 25
    times = answer["with_corn_over_v5"]
    assert times["low"] < times["middle"] < times["high"]
    _, out, _ = run("late-legume", "--all")
    assert re.search(r"Sowing with the corn gives [\d.]+ times what V5 gives", flat(out))


def test_what_is_printed_of_a_way_stands_in_csv_too(run, once):
    _, out, err = run("late-legume", "--csv", "--table", "ways")
    rows = list(csv.DictReader(io.StringIO(out)))
    for row, way in zip(rows, once("late-legume")["ways"], strict=True):
        assert row["way"] == way["way"]
        assert float(row["growth_kg_ha_middle"]) == way["growth_kg_ha"]["middle"]
        assert int(row["made_it_count"]) == way["made_it"]["count"]
    assert "Herbicide" in err


def test_any_way_collar_stage_or_day_can_be_asked_for(once):
    ways = ("--way", "with corn", "--way", "v7", "--way", "silking", "--way", "06-25", "--way", "3")
    names = [way["way"] for way in once("late-legume", *ways)["ways"]]
    assert names == ["with corn", "V7", "silking", "06-25", "3 days after corn"]


def test_a_goal_of_protein_or_nitrogen_is_said_in_kilogrammes(once):
    for typed, unit, kilos in (("0.5 points of protein", "points of protein", 600), ("20 kg N", "kg N/ha", 694)):
        goal = once("late-legume", "--way", "v5", "--goal", typed)["goal"]
        assert goal["unit"] == unit and goal["source"] is None
        assert goal["standing_kg_ha"]["into"] == pytest.approx(kilos, rel=0.2)


@pytest.mark.real
def test_the_late_legume_on_a_real_record(shared, asked):
    answer = asked("late-legume", shared / OTTAWA, "--corn", "silage-2600", "--seeding", "05-15", "--way", "with corn",
                   "--way", "v5")  # fmt: skip
    with_corn, fifth = answer["ways"]
    # a fifth leaf collar in mid to late June after seeding in mid May: common practice in eastern Ontario, no source
    assert "06-08" < fifth["sown"] < "07-01"
    assert with_corn["made_it"]["share"] > 0.95 and fifth["made_it"]["share"] < 0.2
    assert "05-20" < answer["last_day"] < "06-25"
    assert answer["latitude_assumed"] == 50  # the file does not say where it stands


def test_the_late_legume_as_a_picture(run, tmp_path):
    path = tmp_path / "late.svg"
    code, out, _ = run("late-legume", "--picture", path)
    assert code == 0 and f"Picture: {path}" in out
    drawn = path.read_text("utf-8")
    assert re.search(r"can go\b.*\buntil", drawn, re.DOTALL) and "River Flat (invented)" in drawn
    for said in ("with the corn", "V5", "log scale", "asked for: 300 kg/ha", "V5 gives one part in"):
        assert said in drawn


@pytest.mark.parametrize(("command", "says"), [("late-legume", "maïs"), ("rows", "nord-sud"), ("worth", "légumineuse")])
def test_french_says_it_whole(run, command, says):
    _, out, _ = run(command, "--language", "fr", "--units", "us")
    assert says in out
    for slip in (" the ", " of ", "kg/ha", "corn"):
        assert slip not in out.split("River Flat")[0]


def test_rows_tell_hours_days_and_the_day_they_cross(once):
    answer = once("rows", "--bearing", "30")
    assert {row["rows"] for row in answer["season"]} == {"ordinary", "wide"}
    assert set(answer["hours"][0]["wide"]) == {"north_south", "east_west", "own"}
    assert answer["crossing"]["wide"] > "07-01"
    assert len(answer["days"]) > 80


def test_rows_as_a_picture(run, tmp_path):
    path = tmp_path / "rows.svg"
    code, _, _ = run("rows", "--picture", path)
    drawn = path.read_text("utf-8")
    assert code == 0
    for said in ("north-south", "east-west", "60-inch rows", "No trial at 45 to 55"):
        assert said in drawn


def test_worth_holds_its_lines_as_agreed(once):
    lines = once("worth")["lines"]
    assert all(set(line) == {"name", "low", "middle", "high", "unit", "source"} for line in lines)
    names = [line["name"] for line in lines]
    assert {"protein_blend", "nitrogen_first_season", "grazing_days", "ground_covered", "seed", "inoculant"} <= set(
        names
    )
    assert not any(name.startswith("money") for name in names)
    priced = once("worth", "--price", "silage_t=160", "--price", "seed_kg=2.5")["lines"]
    assert {"money_corn_lost", "money_total", "money_break_even_loss"} <= {line["name"] for line in priced}


def test_worked_lines_of_the_handbook_come_out_of_the_command(once):
    """FED-28: 12 t of corn at 7.5 % with 1.2 t of beans at 18 % is 8.4545 %."""
    given = ("--growth", "1200", "--corn-yield", "12", "--corn-protein", "7.5", "--bean-protein", "18", "--kept", "1")
    lines = {line["name"]: line for line in once("worth", *given, "--stubble", "0")["lines"]}
    assert lines["protein_blend"]["middle"] == pytest.approx(8.4545, abs=1e-4)


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("late-legume", "--way", "v99"), "There is no leaf collar 99", "from 1 to 22"),
        (("late-legume", "--way", "v5s"), "way='v5s' is not known. Did you mean 'v5'?", "a stage"),
        (("late-legume", "--way", "200"), "200 days after the corn", "as MM-DD"),
        (("late-legume", "--way", "13-40"), "Day 40 of month 13", "month from 1 to 12"),
        (("late-legume", "--goal", "lots"), "goal='lots' is not known", "'300 kg/ha'"),
        (("late-legume", "--odds", "2"), "Odds of 2 can't be wanted", "0.8"),
        (("late-legume", "--legume", "forage-lat"), "Did you mean 'forage-late'?", "Choose from"),
        (("late-legume", "--legume", "none"), "There is no legume here", "--legume"),
        (("late-legume", "--frost", "mild"), "'mild' is not one of", "late-legume --help"),
        (("late-legume", "--picture", "late.bmp"), "does not end in a kind of picture", ".png"),
        (("late-legume", "--seen", "V4"), "is not a collar and a day", "V4 06-18"),
        (("rows", "--bearing", "-5"), "A bearing of -5 degrees", "0 to 359"),
        (("rows", "--day", "04-01"), "outside the corn's time", "usual chop"),
        (("worth", "--growth", "a"), "'a' is not a number", "worth --help"),
        (("worth", "--growth", "1,2"), "growth has 2 numbers", "least, usual, most"),
        (("worth", "--price", "seed=3"), "Did you mean 'seed_kg'", "Choose from"),
        (("worth", "--price", "seed_kg"), "is not a price", "worth --help"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)
