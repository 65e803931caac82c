"""`frostkit serve` as typed: what can't be served is said in two lines; the copies say what was told."""

import json
import socket

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
    with served.copies({"record": "my.dly", "latitude": 50.1}) as place:
        books = {path.stem: json.loads(path.read_text("utf-8")) for path in place.iterdir()}
    assert len(books) == len(served.notebooks()) and "1 When can I seed corn, and corn with the legume" in books
    for book in books.values():
        sources = ["".join(cell["source"]) for cell in book["cells"]]
        assert "record = 'my.dly'\nlatitude = 50.1\ntoday = None" in sources
        assert not any("Run All Cells" in source for source in sources)
    assert not place.exists()
