"""Every example of the pages works: each fenced `sh` line of frostkit is run, on the invented place; Python is run too."""

import doctest
import re
import shlex
import shutil
from pathlib import Path

import pytest

from frostkit.show.cli import COMMANDS, main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "frostkit" / "demo"
PAGES = sorted([*(ROOT / "docs").glob("*.md"), ROOT / "README.md"])


def examples():
    """(page, line) of every example; the README's own set-up line is what CI starts with."""
    for page in PAGES:
        for block in re.findall(r"^```sh\n(.*?)^```", page.read_text("utf-8"), flags=re.DOTALL | re.MULTILINE):
            for line in block.splitlines():
                if line.removeprefix(".venv/bin/").startswith("frostkit "):
                    yield page.name, line.removeprefix(".venv/bin/").removeprefix("frostkit ")


def grouped():
    pages = {}
    for page, line in examples():
        pages.setdefault(page, []).append(line)
    return pages


@pytest.mark.parametrize("page", grouped())
def test_every_example_of_a_page_answers(page, tmp_path, monkeypatch, capsys):
    shutil.copy(DEMO / "river_flat.dly", tmp_path / "STATION.dly")
    (tmp_path / "stations").mkdir()
    shutil.copy(DEMO / "river_flat.dly", tmp_path / "stations" / "river_flat.dly")
    (tmp_path / "frostkit").symlink_to(ROOT / "frostkit")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FROSTKIT_SETTINGS", str(tmp_path / "settings.toml"))
    for line in grouped()[page]:
        words = [re.sub(r"^[A-Z]{2}\d+\.dly$", "STATION.dly", word) for word in shlex.split(line, comments=True)]
        code = main(words)
        out, err = capsys.readouterr()
        assert code == 0, f"frostkit {line}\n{err}"
        assert out


@pytest.mark.parametrize("page", [page.name for page in PAGES if ">>> " in page.read_text("utf-8")])
def test_every_python_example_of_a_page_gives_what_it_shows(page, tmp_path, monkeypatch):
    path = next(one for one in PAGES if one.name == page)
    monkeypatch.chdir(tmp_path)
    said = []
    test = doctest.DocTestParser().get_doctest(path.read_text("utf-8"), {}, page, str(path), 0)
    flags = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    failed, tried = doctest.DocTestRunner(optionflags=flags).run(test, out=said.append)
    assert tried
    assert not failed, "".join(said)


def test_the_pages_show_every_command():
    shown = {word for _, line in examples() for word in shlex.split(line) if word in COMMANDS}
    assert shown == set(COMMANDS)


def test_every_page_and_picture_that_a_page_names_is_there():
    for page in PAGES:
        text = page.read_text("utf-8")
        named = set(re.findall(r"`(docs/[\w/.]+|notebooks/[\w.]+|tests/[\w/.]+\.py|frostkit/[\w/.]+)`", text))
        named |= set(re.findall(r"\]\(([^)#:]+)\)", text))
        missing = [one for one in named if not (ROOT / one).exists() and not (page.parent / one).exists()]
        assert missing == [], page.name


def test_committed_pictures_are_small_and_stand_alone():
    pictures = sorted((ROOT / "docs" / "pictures").glob("*"))
    assert pictures
    for picture in pictures:
        assert picture.suffix == ".svg"
        assert picture.stat().st_size < 200_000
        assert "<image" not in picture.read_text("utf-8")
