"""Answers for the invented place, as they were last read by eye: a difference says *different*, never *wrong*.

Read the new text, and where it is meant, keep it: `FROSTKIT_KEEP=1 pytest tests/unchanged`.
"""

import os
from pathlib import Path

import pytest

from frostkit.show.cli import main

HERE = Path(__file__).parent
ASKED = {
    "window": ("window", "--all"),
    "window_in_one_look": ("window",),
    "frost": ("frost", "--all"),
    "late_legume": ("late-legume", "--all"),
    "chop": ("chop", "--today", "2025-08-25", "--seeding", "05-22", "--all"),
    "chop_in_one_look": ("chop", "--today", "2025-08-25", "--seeding", "05-22"),
    "triage": ("triage", "--at", "-2", "--hours", "3", "--stage", "dent", "--bean", "vegetative", "--all"),
}


@pytest.mark.parametrize("name", ASKED)
def test_the_answer_for_the_invented_place_is_the_one_last_read_by_eye(name, capsys):
    assert main(list(ASKED[name])) == 0
    said = capsys.readouterr().out
    kept = HERE / f"{name}.txt"
    if os.environ.get("FROSTKIT_KEEP"):
        kept.write_text(said, encoding="utf-8")
    assert said == kept.read_text(encoding="utf-8"), (
        f"different from tests/unchanged/{kept.name}: read it, then keep it"
    )
