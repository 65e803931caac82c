"""What all tests share: where the real records lie, and what happens where they are not there."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile(
    "frostkit", deadline=None, derandomize=bool(os.environ.get("CI"))
)  # a busy machine is no fault
settings.load_profile("frostkit")

os.environ["FROSTKIT_SETTINGS"] = os.devnull + "-settings"  # what a person set up on this machine has no say

SHARED = Path(__file__).resolve().parents[2] / "shared"
"""Real records and published values, beside the clone; never part of it."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that read `SHARED` are marked `real`; without it they are skipped, but fail under CI (see `shared`)."""
    for item in items:
        if "shared" in getattr(item, "fixturenames", ()):
            item.add_marker("real")
    if not SHARED.is_dir():
        for item in items:
            if item.get_closest_marker("real") and "shared" not in item.fixturenames:
                item.fixturenames.insert(0, "shared")


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder with the real records."""
    if not SHARED.is_dir():
        say = "the real records are not there: put the folder 'shared' beside the clone"
        pytest.fail(say) if os.environ.get("CI") else pytest.skip(say)
    return SHARED


def pytest_terminal_summary(terminalreporter) -> None:
    """Says aloud that tests on real records were skipped."""
    skipped = sum("real" in report.keywords for report in terminalreporter.stats.get("skipped", ()))
    if skipped and not SHARED.is_dir():
        terminalreporter.write_line(
            f"NOT CHECKED AGAINST REAL RECORDS: {skipped} tests were skipped, for there is no folder 'shared' beside "
            "the clone.",
            red=True,
            bold=True,
        )
