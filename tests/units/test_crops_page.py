"""The page about crops is written from the entries, and is current."""

from pathlib import Path

from frostkit.crops.entry import listed, load
from frostkit.crops.page import page

PAGE = Path(__file__).resolve().parents[2] / "docs" / "crops.md"


def test_the_page_is_current():
    """Where it is not: python -c "from frostkit.crops.page import write; write('docs/crops.md')"."""
    text = PAGE.read_text("utf-8")
    assert page(text) == text


def test_the_page_shows_every_entry_and_every_source():
    text = page("")
    for name in listed():
        crop = load(name)
        assert f"### `{name}`: {crop.title}" in text
        for stage in crop.stage.values():
            assert f". {stage.need.source}\n" in text
            assert stage.kills is None or f". {stage.kills.source}\n" in text
