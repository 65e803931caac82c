"""No answer that could hurt someone without its caution: in the text people read, in the JSON, on pages, beside tables."""

import json
import re
import shutil
from html import unescape
from importlib.resources import files

import pytest

from frostkit.answers.cautions import LANGUAGES, NEEDED, as_dicts, cautions_for, cautions_of, every, in_language
from frostkit.errors import SettingError
from frostkit.show.cli import COMMANDS, main

ANSWERS = {
    "seeding": [("window",), ("choose",), ("winter",), ("season", "--today", "2025-05-10")],
    "late legume": [("late-legume",)],
    "chopping": [
        ("chop", "--today", "2025-08-25"),
        ("fields",),
        ("season", "--seeding", "05-22", "--today", "2025-08-25"),
    ],
    "frosted": [
        ("triage",),
        ("triage", "--at", "-3"),
        ("chop", "--today", "2025-09-14", "--seeding", "05-31"),
        ("tonight", "--at", "-3", "--seeding", "05-22", "--today", "2025-09-08"),
    ],
    "frosted young": [("triage", "--at", "-3", "--stage", "before_v6")],
    "frost": [("frost",), ("rows",), ("workdays",)],
}
"""Kind of answer: every command that gives it, as typed."""

OTHERS = {"worth": {"herbicide", "feed", "nitrate", "local"}, "book": {"local"}, "region": set(NEEDED["seeding"])}
"""Commands with cautions of their own, or that need a file: the topics that they must carry."""

HARMLESS = {"heat", "track-record", "crops", "record", "setup", "serve"}
"""Facts of the record or the entries, no advice; what `serve` shows is held by the tests of the notebooks."""
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


def words(page):
    """A page's text without its marks: a caution's act and the rest stand in parts of their own."""
    return flat(unescape(re.sub(r"<[^>]+>", " ", page)))


def test_every_kind_of_answer_and_every_command_is_looked_at():
    assert ANSWERS.keys() == NEEDED.keys()
    commands = {arguments[0] for answers in ANSWERS.values() for arguments in answers}
    assert commands | HARMLESS | PAGES.keys() | OTHERS.keys() == set(COMMANDS)


@pytest.mark.parametrize("command", OTHERS)
def test_a_command_with_cautions_of_its_own_carries_them(typed, tmp_path, command):
    book, stations = tmp_path / "book.csv", tmp_path / "stations"
    stations.mkdir()
    shutil.copy(str(files("frostkit.demo") / "river_flat.dly"), stations / "river_flat.dly")
    typed("book", "add", "field", "sown", "--on", "2025-05-22", "--book", book)
    more = {"worth": (), "book": ("show", "--book", book), "region": (stations,)}[command]
    told = json.loads(typed(command, *more, "--json").out)["cautions"]
    assert OTHERS[command] <= {caution["topic"] for caution in told}
    said = flat(typed(command, *more).out)
    assert all(flat(caution["act"]) in said for caution in told)


@pytest.mark.parametrize(("kind", "arguments"), [(kind, one) for kind, answers in ANSWERS.items() for one in answers])
def test_its_own_cautions_stand_whole_in_text_and_json(typed, kind, arguments):
    for how in ("--all", "--cautions"):
        said = flat(typed(*arguments, how).out)
        for caution in cautions_of(kind):
            assert f"{caution.title}: {flat(caution.text)}" in said
    brief = flat(typed(*arguments).out)
    for caution in cautions_of(kind):
        assert f"! {caution.title}: {flat(caution.act)}" in brief
    told = json.loads(typed(*arguments, "--json").out)["cautions"]
    assert told == as_dicts(cautions_of(kind))


@pytest.mark.parametrize(("kind", "command"), [("seeding", "window"), ("frost", "frost")])
def test_a_table_for_programs_has_them_on_the_error_stream(typed, kind, command):
    out, err = typed(command, "--csv")
    for caution in cautions_of(kind):
        assert flat(caution.text) in flat(err)
        assert flat(caution.text) not in flat(out)


def test_the_report_has_those_of_all_its_answers(typed, tmp_path):
    typed("report", "--out", tmp_path / "page.html")
    page = words((tmp_path / "page.html").read_text("utf-8"))
    for kind in ("seeding", "late legume", "frost"):
        for caution in cautions_of(kind):
            assert flat(caution.text) in page


def test_the_field_sheet_has_those_of_chopping(typed, tmp_path):
    typed("chop", "--today", "2025-08-25", "--sheet", tmp_path / "sheet.html")
    page = words((tmp_path / "sheet.html").read_text("utf-8"))
    for caution in cautions_of("chopping"):
        assert flat(caution.text) in page


TOPICS = sorted({topic for needed in NEEDED.values() for topic in needed})


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("topic", TOPICS)
def test_a_caution_opens_with_its_act_in_one_line_and_names_its_source(topic, language):
    caution = in_language(cautions_for(topic)[0], language)
    assert caution.title and caution.source
    assert caution.act.endswith(".") and caution.act.count(". ") == 0
    assert 40 < len(caution.act) < 240
    assert caution.text.startswith(f"{caution.act} ") and len(caution.text) > len(caution.act) + 40


@pytest.mark.parametrize("topic", TOPICS)
def test_a_caution_in_french_is_no_english_one(topic):
    english, french = cautions_for(topic)[0], in_language(cautions_for(topic)[0], "fr")
    for part in ("title", "act", "text", "source"):
        assert getattr(english, part) != getattr(french, part)
    assert not re.search(r"\b(the|of|and|with|before|from|never|State University)\b", french.text + french.source)
    # Every figure stands in both: spaces between thousands and decimal commas apart.
    plain = french.text.replace("\u202f", "").replace(",", ".")
    figures = re.sub(r"(?<=\d)[ ,](?=\d{3})", "", english.text), re.sub(r"(?<=\d)[ ](?=\d{3}\b)", "", plain)
    english_figures, french_figures = (sorted(re.findall(r"\d+(?:\.\d+)?", text)) for text in figures)
    assert english_figures == french_figures


def test_a_language_without_cautions_is_refused():
    with pytest.raises(SettingError, match="language='de' is not known"):
        in_language(cautions_for("local")[0], "de")


def test_what_can_hurt_carries_what_it_must():
    """Silo gas, nitrate and the adjuster wherever corn is chopped; labels, what they leave and the insurer where a
    bean goes in; grazing where frosted corn may be grazed: the rule of this project, no answer without."""
    for kind in ("chopping", "frosted"):
        assert {"silo_gas", "nitrate", "adjuster", "store", "feed", "herbicide", "local"} <= set(NEEDED[kind])
        assert {NEEDED[kind][0], NEEDED[kind][1]} == {"silo_gas", "nitrate"}
    for kind in ("seeding", "late legume"):
        assert {"herbicide", "residual", "insurance", "seed", "local"} <= set(NEEDED[kind])
    assert "pile" in NEEDED["chopping"]
    assert "grazing" in NEEDED["frosted"]
    assert {topic for needed in NEEDED.values() for topic in needed} == {caution.topic for caution in every()}


def test_the_english_of_an_answer_and_its_json_have_the_act(typed):
    told = json.loads(typed("chop", "--today", "2025-08-25", "--json").out)["cautions"]
    assert [one["act"] for one in told] == [caution.act for caution in cautions_of("chopping")]
    assert all(set(one) == {"topic", "title", "act", "text", "source"} for one in told)


def test_on_paper_the_field_sheet_has_every_act_and_silo_gas_in_full(typed, tmp_path):
    for language in LANGUAGES:
        path = tmp_path / f"{language}.html"
        typed("chop", "--today", "2025-08-25", "--language", language, "--sheet", path)
        page = flat(unescape(path.read_text("utf-8")))
        on_paper = re.sub(r'<li class="(?!silo_gas)(\w+)">(.*?)<p class="more">.*?</p></details></li>', r"\2", page)
        for caution in cautions_of("chopping"):
            told = in_language(caution, language)
            assert flat(told.act) in on_paper
            assert (flat(told.text.removeprefix(told.act)).strip() in on_paper) == (caution.topic == "silo_gas")
        assert ".cautions li:not(.silo_gas) .more" in page
