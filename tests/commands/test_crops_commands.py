"""`frostkit crops` and `frostkit choose`: entries with their sources, a check of one's own, and what to seed."""

import json

import pytest

from frostkit.answers.cautions import NEEDED
from frostkit.crops.entry import LIBRARY, listed, load


@pytest.fixture
def own(tmp_path):
    """A copy of an entry, and a way to change it."""
    path = tmp_path / "my_hybrid.toml"
    text = (LIBRARY / "silage-2300.toml").read_text("utf-8")

    def changed(old="", new=""):
        assert old in text
        path.write_text(text.replace(old, new) if old else text, "utf-8")
        return path

    return changed


def test_the_library_is_listed_with_the_sources_of_need_and_kill(run, asked):
    code, out, err = run("crops")
    assert (code, err) == (0, "")
    assert run("crops", "list")[1] == out
    flat = " ".join(out.split())
    for name in listed():
        assert f"  {name} " in out
        crop = load(name)
        assert " ".join(crop.goal_need().source.split()) in flat
    assert max(len(line) for line in out.splitlines()) <= 100
    rows = {row["name"]: row for row in asked("crops")["crops"]}
    assert rows.keys() == set(listed())
    assert rows["silage-2300"]["need"]["value"] == 2150
    assert all(row["need"]["source"] for row in rows.values())
    assert all(kill["source"] for row in rows.values() for kill in row["kills"].values())


def test_one_entry_is_shown_whole_by_name_alone_too(run, asked):
    _, out, _ = run("crops", "show", "silage-2300")
    assert run("crops", "silage-2300")[1] == out
    assert out.startswith("silage-2300: silage corn rated 2,300 CHU")
    flat = " ".join(out.split())
    crop = load("silage-2300")
    for stage in crop.stage.values():
        assert stage.title in flat
        assert " ".join(stage.need.source.split()) in flat
    entry = asked("crops", "show", "silage-2300")
    assert entry["stage"]["v5"]["kills"]["value"] == crop.stage["v5"].kills.value
    assert entry["soil"]["from"] == "04-01"


def test_an_entry_shown_as_json_is_the_entry_itself(asked):
    from frostkit.crops.entry import read

    for name in ("silage-2300", "forage-late", "soybean-00"):
        entry = asked("crops", "show", name)
        assert read({key: value for key, value in entry.items() if key != "name"}, name, name) == load(name)


def test_a_good_copy_can_be_used(run, own):
    path = own()
    code, out, _ = run("crops", "check", path)
    assert code == 0
    assert "can be used: frostkit window --corn" in out
    assert run("window", "--corn", path, "--no-track-record")[0] == 0


def test_an_entry_is_copied_as_it_is_or_with_ones_own_numbers_and_can_be_used(run, tmp_path):
    bean, hybrid = tmp_path / "my_bean.toml", tmp_path / "my_hybrid.toml"
    assert run("crops", "copy", "forage-late", bean)[0] == 0
    assert bean.read_text("utf-8") == (LIBRARY / "forage-late.toml").read_text("utf-8")
    own = (
        "--rating",
        "2250",
        "--need",
        "2075",
        "--low",
        "2025",
        "--high",
        "2150",
        "--source",
        "invented for this test",
    )
    code, out, _ = run("crops", "copy", "silage-2300", hybrid, *own)
    assert code == 0
    assert f"frostkit crops check {hybrid}" in out
    assert load(hybrid).goal_need().source == "invented for this test"
    assert run("window", "--corn", hybrid, "--legume", bean, "--no-track-record")[0] == 0
    code, _, err = run("crops", "copy", "silage-2300", hybrid)
    assert code == 2
    assert "is there already" in err
    code, _, err = run("crops", "copy", "silage-2300", tmp_path / "other.toml", "--rating", "2250")
    assert code == 2
    assert "With --rating goes --need, --low, --high, --source" in err


def test_every_fault_of_a_copy_is_told_at_once_and_the_exit_code_is_2(run, own):
    path = own('derived = "rating less 150", source', 'derived = "rating less 150", sauce')
    code, out, err = run("crops", "check", path)
    assert (code, err) == (2, "")
    assert "can't be used yet: 2 faults" in out
    assert "[stage.fit_to_chop], key 'need': missing source" in out
    assert "Did you mean 'source'?" in out
    code, out, _ = run("crops", "check", path, "--json")
    answer = json.loads(out)
    assert (code, answer["can_be_used"], len(answer["faults"])) == (2, False, 2)


def test_hybrids_and_beans_are_ranked_by_the_odds_of_their_plan(run, asked):
    answer = asked("choose", "--seeding", "05-22")
    for kind in ("corn", "beans"):
        shares = [row["odds"]["share"] for row in answer[kind]]
        assert shares == sorted(shares, reverse=True)
        for row in answer[kind]:
            assert row["reaches"] == (row["odds"]["share"] >= 0.8 - 1e-9)
            assert row["made_it"]["seasons"] == row["odds"]["seasons"] == answer["season_count"]
    fit = [row["rating"] for row in answer["corn"] if row["reaches"] and row["use"] == "silage"]
    assert load(answer["highest"]["silage"]).rating.value == max(fit)
    assert answer["within"] == answer["highest"]["silage"]
    assert [caution["topic"] for caution in answer["cautions"]] == list(NEEDED["seeding"])

    code, out, _ = run("choose", "--seeding", "05-22")
    assert code == 0
    [row] = [row for row in answer["largest_rating"] if row["seeding"] == "05-22"]
    assert " ".join(out.split()).startswith(
        f"Ready on 22 May and sown as soon as the soil is: silage corn rated up to {row['plan']:,} CHU for the bunker, "
        f"and grain corn up to {row['grain']['plan']:,} CHU, make it for odds of 8 in 10."
    )
    assert "River Flat (invented)" in out
    assert "Cold seedbed" in out


def test_the_largest_rating_by_seeding_day_is_solved_and_an_own_hybrid_of_it_makes_it(run, asked, tmp_path):
    answer = asked("choose")
    rows = answer["largest_rating"]
    assert [row["seeding"] for row in rows][:2] == ["04-15", "04-16"] and len(rows) == 92
    assert all({"seeding", "rating"} <= row.keys() for row in rows)
    [row] = [row for row in rows if row["seeding"] == "06-05"]
    assert row["up_to"] == row["rating"] // 25 * 25
    for number, (more, reaches) in enumerate(((0, True), (25, False))):
        rating = row["rating"] + more
        own = tmp_path / f"own{number}.toml"
        need = {"--rating": rating, "--need": rating - 150, "--low": rating - 200, "--high": rating - 100}
        typed = [part for pair in need.items() for part in pair]
        assert run("crops", "copy", "silage-2300", own, *typed, "--source", "invented for this test")[0] == 0
        one = asked("window", "--corn", own, "--legume", "none", "--seeding", "06-05", "--no-track-record")["seeding"]
        assert (one["corn"]["share"] >= 0.8 - 1e-9) == reaches


def test_the_choice_has_the_odds_that_the_window_has_on_that_day(asked):
    row = asked("choose", "--seeding", "05-25", "--corn", "silage-2150", "--bean", "forage-late")["corn"][0]
    window = asked("window", "--seeding", "05-25", "--corn", "silage-2150", "--legume", "none", "--no-track-record")[
        "seeding"
    ]["corn"]
    assert row["odds"] == window["plan"]
    assert row["made_it"] == {key: window[key] for key in row["made_it"]}


def test_an_early_day_has_more_cold_starts(asked):
    def cold(day):
        return asked("choose", "--seeding", day, "--corn", "silage-2000", "--bean", "forage-late")["cold_start"]["corn"]

    early, late = cold("05-05"), cold("06-05")
    assert early["cold"]["share"] > late["cold"]["share"] + 0.3
    assert early["cold_and_wet"]["yes"] <= early["cold"]["yes"]


def test_where_no_entry_gets_there_the_nearest_is_named(run):
    code, out, _ = run("choose", "--seeding", "06-25", "--corn", "grain-corn-2300", "--bean", "grain-00")
    assert code == 0
    assert "No entry for grain corn gets there; nearest is grain corn rated 2,300 CHU" in " ".join(out.split())


def test_a_corn_of_any_rating_is_an_entry(run, asked):
    assert asked("crops", "show", "silage-2725")["rating"]["value"] == 2725
    assert "silage-2725" in run("crops")[1]
    assert asked("choose", "--corn", "silage-2725", "--bean", "forage-late")["corn"][0]["rating"] == 2725


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("crops", "show", "silage-230"), "Did you mean 'silage-2300'?", "Choose from"),
        (("crops", "chekc"), "There is no 'crops chekc'. Did you mean 'check'?", "crops --help"),
        (("crops", "check", "nowhere.toml"), "There is no file 'nowhere.toml'", "Copy an entry"),
        (("choose", "--odds", "1.5"), "Odds of 1.5 can't be wanted", "0.8"),
        (("choose", "--corn", "silage-230"), "Did you mean 'silage-2300'?", "Choose from"),
        (("choose", "--seeding", "13-01"), "month 13", "choose --help"),
        (("choose", "--seeding", "09-01"), "1 September is not among the seeding days", "15 April to 15 July"),
        (("choose", "--corn", "forage-late"), "forage-late is no corn", "--bean"),
        (("choose", "--corn", "silage-9000"), "outside 1,700 to 3,600", "Choose a rating that is sold"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)
