"""`frostkit serve` as typed: what can't be served is said in two lines; the copies say what was told."""

import json
import re
import socket

import nbformat
import pytest

from frostkit.show import served
from frostkit.show.cli import main


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["--notebook", "which-hybird"], "There is no notebook 'which-hybird'. Did you mean 'which-hybrid'?"),
        (["no_such_file.dly"], "There is no file or folder 'no_such_file.dly'"),
        (["--port", "70000"], "70000 is not in the range"),
    ],
)
def test_what_is_not_there_is_said(typed, said, capsys):
    assert main(["serve", "--no-browser", *typed]) == 2
    err = capsys.readouterr().err
    assert said in err and "Traceback" not in err


def test_a_port_that_is_taken_is_said(capsys):
    with socket.socket() as ear:
        ear.bind(("127.0.0.1", 0))
        ear.listen()
        assert main(["serve", "--no-browser", "--port", str(ear.getsockname()[1])]) == 2
    assert "Name another one, or 0 for any." in capsys.readouterr().err


def test_without_the_extra_it_says_what_to_install(monkeypatch, capsys):
    def gone(name):
        raise ModuleNotFoundError(f"No module named '{name}'", name="voila")

    monkeypatch.setattr(served, "import_module", gone)
    assert main(["serve", "--no-browser"]) == 2
    assert "pip install 'frostkit[serve]'" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["1", "seeding-window", "01_seeding_window", "01_seeding_window.ipynb"])
def test_a_notebook_is_known_by_its_number_and_its_words(name):
    assert served.named(name) == "01_seeding_window"


def test_the_copies_are_told_the_record_and_are_called_by_their_question():
    with served.copies({"record": "my.dly", "latitude": 50.1}, "en") as place:
        books = {path.stem: json.loads(path.read_text("utf-8")) for path in place.iterdir()}
    assert len(books) == len(served.notebooks()) and "01 When can I seed corn, and corn with the legume" in books
    for book in books.values():
        sources = ["".join(cell["source"]) for cell in book["cells"]]
        assert "record = 'my.dly'\nlatitude = 50.1\ntoday = None" in sources
        assert not any("Run All Cells" in source for source in sources)
    assert not place.exists()


def prose(book):
    return ["".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "markdown"]


def code(book):
    """Lines of code without their comments."""
    sources = ("".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code")
    return [line.partition("  # ")[0].rstrip() for source in sources for line in source.splitlines()]


@pytest.mark.parametrize("name", served.notebooks())
def test_in_french_the_code_is_the_same_and_every_text_and_comment_is_french(name):
    english, french = (served.read(name, language, by_hand=True) for language in ("en", "fr"))
    assert english == json.loads(served.notebooks()[name].read_text("utf-8")) | {"cells": english["cells"]}
    assert prose(english) == prose(json.loads(served.notebooks()[name].read_text("utf-8")))
    assert code(french) == code(english)
    assert len(prose(french)) == len(prose(english))
    for mine, theirs in zip(prose(french), prose(english), strict=True):
        assert mine != theirs
        for mark in ("`", "**", "](", "# "):
            assert mine.count(mark) == theirs.count(mark), mine
        assert sorted(re.findall(r"`(?:docs|fk)[^`]*`", mine)) == sorted(re.findall(r"`(?:docs|fk)[^`]*`", theirs))
        assert sorted(re.findall(r"\d+", mine)) == sorted(re.findall(r"\d+", theirs)), "the same numbers"
    settings = next(cell for cell in french["cells"] if "parameters" in cell["metadata"].get("tags", ()))["source"]
    assert not re.search(r"# .*\b(the|your|of|where|day)\b", settings), settings
    assert not re.search(r"[^\u00a0]:(?= |\*| $)| [;?]", "\n".join([*prose(french), settings.replace("://", "")]))


def test_pages_in_french_are_called_by_their_question_and_ask_for_nothing_by_hand(french):
    with served.copies({}, "fr") as place:
        books = {path.stem: json.loads(path.read_text("utf-8")) for path in place.iterdir()}
    assert "01 Quand puis-je semer le maïs, et le maïs avec la légumineuse" in books
    first = prose(books["01 Quand puis-je semer le maïs, et le maïs avec la légumineuse"])[0]
    assert first.endswith("Déplacez les réglages.") and "Run" not in first


@pytest.fixture
def french(monkeypatch, tmp_path):
    monkeypatch.setenv("FROSTKIT_SETTINGS", str(tmp_path / "settings.toml"))
    assert main(["setup", "--language", "fr"]) == 0


def test_notebooks_are_put_into_a_new_folder_and_none_into_one_that_is_there(tmp_path, capsys, french):
    place = tmp_path / "a" / "mine"
    assert main(["serve", "--out", str(place)]) == 0
    assert f"jupyter lab {place}" in capsys.readouterr().out
    assert sorted(path.stem for path in place.iterdir()) == list(served.notebooks())
    for path in place.iterdir():
        nbformat.validate(nbformat.read(path, 4))
        assert "Choisissez d'abord **Run > Run All Cells**" in path.read_text("utf-8")
    assert [path.name for path in place.parent.iterdir()] == ["mine"]
    before = {path: path.read_bytes() for path in place.iterdir()}
    assert main(["serve", "--out", str(place)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in place.iterdir()} == before
    assert main(["serve", "--out", str(place / "01_seeding_window.ipynb" / "x")]) == 2
    assert "can't be made" in capsys.readouterr().err
