"""Tables for programs: the same numbers as the JSON, clean of anything else, and refused together with it."""

import csv
import io
import json

import pytest

from frostkit.answers.cautions import cautions_of


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def cell(value):
    return "" if value is None else str(value)


def test_the_window_as_csv_has_the_odds_of_the_json_and_its_cautions_apart(run):
    answer = json.loads(run("window", "--json")[1])
    code, out, err = run("window", "--csv")
    assert code == 0
    assert all(caution.title in err and caution.title not in out for caution in cautions_of("seeding"))
    table = rows(out)
    assert len(table) == len(answer["odds"])
    for row, one in zip(table, answer["odds"]):
        assert row.pop("seeding") == one["seeding"]
        assert row == {
            f"{crop}_{key}": cell(value) for crop in ("corn", "legume", "both") for key, value in one[crop].items()
        }


def test_one_seeding_day_as_csv_is_one_row(run):
    one = rows(run("window", "--csv", "--seeding", "05-28")[1])
    assert [row["seeding"] for row in one] == ["05-28"]


@pytest.mark.parametrize(
    ("command", "first", "last"),
    [
        (("frost", "--threshold", "-2.2"), ("last_spring", "first_fall"), ("frost_free_days",)),
        (("heat", "--method", "chu"), (), ("total",)),
    ],
)
def test_seasons_as_csv_are_those_of_the_json(run, command, first, last):
    seasons = json.loads(run(*command, "--json")[1])["seasons"]
    table = rows(run(*command, "--csv")[1])
    assert [row["season"] for row in table] == [str(season["season"]) for season in seasons]
    for row, season in zip(table, seasons):
        for name in first:
            assert [row[f"{name}_first"], row[f"{name}_last"]] == [cell(day) for day in season[name]]
        for name in last:
            assert [row[f"{name}_least"], row[f"{name}_most"]] == [cell(amount) for amount in season[name]]


@pytest.mark.parametrize("command", ["window", "frost", "heat"])
def test_json_and_csv_at_once_are_refused(run, command):
    code, out, err = run(command, "--json", "--csv")
    assert (code, out) == (2, "")
    assert err.splitlines() == ["--json and --csv ask for two answers in one output.", "Give one of them."]
