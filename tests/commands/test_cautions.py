"""No answer that could hurt someone without its caution: in the text people read, in the JSON, on pages, beside tables."""

import json
import re
from html import unescape

import pytest

from frostkit.answers.cautions import NEEDED, as_dicts, cautions_of
from frostkit.show.cli import COMMANDS, main

ANSWERS = {
    "seeding": [("window",), ("choose",)],
    "late legume": [("late-legume",)],
    "chopping": [("chop", "--today", "2025-08-25"), ("fields",)],
    "frosted": [("triage",), ("triage", "--at", "-3"), ("chop", "--today", "2025-09-14", "--seeding", "05-31")],
    "frost": [("frost",)],
}
"""Kind of answer: every command that gives it, as typed."""

HARMLESS = {"heat", "track-record", "crops", "record"}  # facts of the record or the entries, no advice
PAGES = {"report": {*NEEDED["seeding"], *NEEDED["late legume"], *NEEDED["frost"]}}


@pytest.fixture
def typed(capsys):
    """What a command prints, on both streams."""

    def run(*arguments):
        assert main([str(argument) for argument in arguments]) == 0
        return capsys.readouterr()

    return run


def flat(text):
    return re.sub(r"\s+", " ", text)


def test_every_kind_of_answer_and_every_command_is_looked_at():
    assert ANSWERS.keys() == NEEDED.keys()
    commands = {arguments[0] for answers in ANSWERS.values() for arguments in answers}
    assert commands | HARMLESS | PAGES.keys() == set(COMMANDS)


@pytest.mark.parametrize(("kind", "arguments"), [(kind, one) for kind, answers in ANSWERS.items() for one in answers])
def test_its_own_cautions_stand_whole_in_text_and_json(typed, kind, arguments):
    said = flat(typed(*arguments).out)
    for caution in cautions_of(kind):
        assert f"{caution.title}: {flat(caution.text)}" in said
    told = json.loads(typed(*arguments, "--json").out)["cautions"]
    assert told == as_dicts(cautions_of(kind))


@pytest.mark.parametrize(("kind", "command"), [("seeding", "window"), ("frost", "frost")])
def test_a_table_for_programs_has_them_on_the_error_stream(typed, kind, command):
    out, err = typed(command, "--csv")
    for caution in cautions_of(kind):
        assert caution.text in err
        assert caution.text not in out


def test_the_report_has_those_of_all_its_answers(typed, tmp_path):
    typed("report", "--out", tmp_path / "page.html")
    page = flat(unescape((tmp_path / "page.html").read_text("utf-8")))
    for kind in ("seeding", "late legume", "frost"):
        for caution in cautions_of(kind):
            assert flat(caution.text) in page


def test_the_field_sheet_has_those_of_chopping(typed, tmp_path):
    typed("chop", "--today", "2025-08-25", "--sheet", tmp_path / "sheet.html")
    page = flat(unescape((tmp_path / "sheet.html").read_text("utf-8")))
    for caution in cautions_of("chopping"):
        assert flat(caution.text) in page


@pytest.mark.parametrize("topic", sorted({topic for needed in NEEDED.values() for topic in needed}))
def test_a_caution_is_told_in_full_and_names_its_source(topic):
    from frostkit.answers.cautions import cautions_for

    (caution,) = cautions_for(topic)
    assert len(caution.text) > 80
    assert caution.source
