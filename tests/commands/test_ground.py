"""What a newcomer meets first: the README's lines, the versions, and River Flat marked as invented everywhere."""

import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from frostkit.show.cli import COMMANDS, command

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def plain(name: str) -> str:
    """A package's name as registries compare it: PEP 503."""
    return re.sub(r"[-_.]+", "-", re.split(r"[\s<>=!~\[;]", name, maxsplit=1)[0]).lower()


def answer(*words: str) -> str:
    result = CliRunner().invoke(command, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_the_first_two_commands_of_the_readme_are_a_line_each_and_make_their_own_environment():
    first, second = [text for kind, text in BLOCKS if kind == "sh"][:2]
    for line in (first, second):
        assert line.count("\n") == 1
        assert line.startswith("python3 -m venv .venv && .venv/bin/pip install ")
        assert " -c constraints.txt " in line
    assert first.endswith("&& .venv/bin/frostkit window\n")
    assert ".venv/bin/pytest" in second


def test_the_answer_that_the_readme_shows_is_the_answer_of_the_command():
    (shown,) = [text for kind, text in BLOCKS if kind == ""]
    assert answer("window").startswith(shown)


def test_the_readmes_picture_shows_that_answer_too():
    (picture,) = re.findall(r"!\[.*?\]\((.*?)\)", README)
    said = " ".join(answer("window").split())
    first, last = re.search(r"from (.*?), as soon as the soil is ready, to (.*?) for odds of 8 in 10\.", said).groups()
    drawn = (ROOT / picture).read_text(encoding="utf-8")
    assert f"Seed from {first}, as soon as the soil is ready, to {last} for 8 in 10" in drawn


def test_versions_are_plain_and_complete():
    lines = (ROOT / "constraints.txt").read_text(encoding="ascii").split("\n")[:-1]
    assert [line for line in lines if not re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.]+", line)] == []
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *(name for extra in project["optional-dependencies"].values() for name in extra)]
    assert {plain(name) for name in asked} - {plain(line) for line in lines} == {"frostkit"}


def test_every_command_that_answers_without_a_record_says_that_the_place_is_invented(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # a page or picture that is written goes here
    answered = {}
    for name in set(COMMANDS) - {
        "crops",
        "setup",
        "serve",
    }:  # which tell of no place, or go on until they are stopped
        result = CliRunner().invoke(command, [name])
        if result.exit_code == 0:
            shown = result.output + "".join(page.read_text(encoding="utf-8") for page in tmp_path.glob("*.html"))
            answered[name] = "River Flat" in shown and "invented" in shown
            for page in tmp_path.iterdir():
                page.unlink()
    assert {"window", "frost", "heat", "record", "late-legume", "chop", "winter"} <= answered.keys()
    assert [name for name, said in answered.items() if not said] == []


def test_nothing_committed_names_a_path_of_one_machine_or_the_address_of_a_registry():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a clone: git can't list what is committed")
    bad = re.compile(r"(?:^|[^\w./])/(?:root|home|work)/\w|index[-]url|pypi[.](?:org|python)|files[.]pythonhosted")
    found = []
    for name in listed.stdout.split("\n")[:-1]:
        path = ROOT / name
        if path.is_file() and path.suffix not in {".dly", ".png", ".nc"}:
            found += [f"{name}: {line[:80]}" for line in path.read_text(encoding="utf-8", errors="replace").split("\n") if bad.search(line)]  # fmt: skip
    assert found == []
