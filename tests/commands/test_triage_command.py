"""`frostkit triage` as a person types it: verdicts, their order on the page, and two lines for bad input."""

import re

import pytest

from frostkit.answers.cautions import NEEDED, cautions_of

CERTAIN, POSSIBLE, NOT_EXPECTED = "certain", "possible", "not expected"
ORDER = {NOT_EXPECTED: 0, POSSIBLE: 1, CERTAIN: 2}


def flat(text):
    """The text without its line breaks."""
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("arguments", [("triage", "--at", "-2"), ("triage",)])
def test_every_danger_of_frosted_corn_is_said_in_full(run, asked, arguments):
    _, out, _ = run(*arguments, "--all")
    for caution in cautions_of("frosted"):
        assert f"! {caution.title}: {flat(caution.text)}" in flat(out), caution.title
    assert [one["topic"] for one in asked(*arguments)["cautions"]] == list(NEEDED["frosted"])


# Corn leaves: 0 °C for 3 to 5 h or -2.2 °C for minutes (NDSU; NCH-57), a note of practice at -1 °C; the plant from -2 °C
# for hours (SaskAdapt) or -2.2 °C for minutes; before the sixth leaf its growing point is below ground (Wisconsin L041).
@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (("--at", "-3", "--hours", "0.5", "--stage", "dent"), {"corn_leaves": CERTAIN}),
        (("--at", "-6", "--stage", "dent"), {"corn_leaves": CERTAIN}),
        (("--at", "-8", "--stage", "dent"), {"corn_leaves": CERTAIN}),
        (("--at", "-1", "--hours", "1", "--stage", "dent"), {"corn_leaves": POSSIBLE}),
        (("--at", "-0.5", "--hours", "1", "--stage", "dent"), {"corn_plant": NOT_EXPECTED}),
        (("--at", "-2", "--hours", "3", "--stage", "before_v6"), {"corn_plant": NOT_EXPECTED}),
        (("--at", "-2", "--hours", "3", "--stage", "v5", "--bean", "VC"), {"corn_plant": NOT_EXPECTED}),
        (("--at", "-2", "--hours", "3", "--stage", "v5", "--bean", "VC"), {"bean": NOT_EXPECTED}),
    ],
)
def test_three_verdicts_stand_in_the_json(asked, arguments, expected):
    answer = asked("triage", *arguments)
    verdicts = answer["verdicts"]
    assert list(verdicts) == ["corn_leaves", "corn_plant", "bean"]
    assert set(verdicts.values()) <= {CERTAIN, POSSIBLE, NOT_EXPECTED}
    assert {key: verdicts[key] for key in expected} == expected
    assert {one["key"] for one in answer["details"]} >= set(verdicts)
    assert all(by["source"] for one in answer["details"] for by in one["by"])


def test_before_the_sixth_leaf_the_growing_point_is_named(run):
    code, out, _ = run("triage", "--at", "-2", "--hours", "3", "--stage", "before_v6")
    assert code == 0
    assert "not expected to be killed: the whole corn plant" in flat(out)
    assert "growing point stands below ground" in flat(out)
    assert "chop while" not in out


def test_the_verdict_stands_first_then_what_to_look_at_then_the_dangers_then_sources(run):
    _, out, _ = run("triage", "--at", "-2", "--hours", "3", "--stage", "dent", "--bean", "vegetative", "--all")
    assert out.startswith("-2.0 °C for 3 h at dent: killed for certain: corn leaves;")
    places = [
        out.index(part) for part in ("Next: look again", "corn leaves           in the open", "Silo gas", "\nSources: ")
    ]
    assert places == sorted(places)
    assert all(len(line) <= 100 for line in out.splitlines())


def test_a_bean_that_was_not_named_is_taken_as_vegetative_and_that_is_said(run, asked):
    assert "vegetative was taken" in run("triage", "--at", "-2")[1]
    assert "vegetative was taken" not in run("triage", "--at", "-2", "--bean", "R5")[1]
    assert asked("triage", "--at", "-2")["bean_stage"] == "vegetative"


@pytest.mark.parametrize(
    ("arguments", "what", "do"),
    [
        (("triage", "--at", "20"), "20 °C is no frost", "28F"),
        (("triage", "--at", "28"), "28 °C is no frost", "28F"),
        (("triage", "--at", "nan"), "nan", "28F"),
        (("triage", "--at", "-2", "--hours", "0"), "0 hours is not part of a night", "leave them out"),
        (("triage", "--at", "cold"), "'cold' is not a temperature", "28F"),
        (("triage", "--at", "-2", "--hours", "30"), "30 hours is not part of a night", "leave them out"),
        (("triage", "--at", "-2", "--stage", "dnt"), "Did you mean 'dent'?", "Choose from"),
        (("triage", "--at", "-2", "--bean", "R9"), "bean_stage='R9' is not known", "Choose from"),
        (("triage", "--at", "-2", "--moisture", "100"), "outside 40 to 90", "such as 68"),
        (("triage", "--at", "-2", "--season", "2014"), "--season looks for a frost in a record", "triage --help"),
        (("triage", "--season", "1900"), "The record has no season 1900", "Ask for one of these"),
        (("triage", "--on", "08-02"), "The record has no frost on 2 August 2025", "Type it in"),
    ],
)
def test_bad_input_gets_two_lines_and_exit_code_2(refused, arguments, what, do):
    refused(arguments, what, do)


def test_a_harder_frost_never_does_less(asked):
    before = None
    for degrees in ("0", "-1", "-2", "-3", "-5", "-8"):
        details = asked("triage", "--at", degrees, "--hours", "4", "--bean", "vegetative")["details"]
        now = [ORDER[one["verdict"]] for one in details]
        assert before is None or all(a <= b for a, b in zip(before, now)), degrees
        before = now
    assert set(before) == {2}


def test_a_frost_of_the_record_can_be_chosen_by_its_day_and_given_its_hours(run, asked):
    _, out, _ = run("triage", "--all")
    later = re.search(r"This is the first frost of that fall; later ones: (\d+) September", flat(out))
    assert later
    assert int(later[1]) > 12
    chosen = asked("triage", "--on", f"09-{later[1]}", "--hours", "4")
    assert (chosen["frost"]["hours"], chosen["frost"]["season"]) == (4, 2025)
    assert chosen["frost"]["tmin"] < asked("triage")["frost"]["tmin"]


def test_fahrenheit_typed_in_is_the_same_frost(asked):
    assert asked("triage", "--at", "28F")["frost"]["tmin"] == asked("triage", "--at", "-2.2")["frost"]["tmin"]
