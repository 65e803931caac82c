"""Every notebook, top to bottom, on the invented place and on a real record: it must run, and still say its answer."""

import re
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import KernelManager
from nbclient import NotebookClient

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
OTTAWA = "data/ghcn-daily/CA006105976.dly"
ANSWERS = {
    "01_seeding_window": r"Seed corn and legume together from \d+ \w+ to \d+ \w+\.|No seeding day reaches|Too few complete seasons",
    "02_late_legume": r"sow it within the corn from \d+ \w+ to \d+ \w+\.|no sowing day reaches|too few complete seasons",
    "03_silage_timing": r"Fit for the bunker (from about|now, likely until) \d+ \w+|too dry for the bunker already",
    "04_this_record": r"(Good enough|Not good enough|Too short).*: \d+ complete seasons|\d+ of \d+ seasons",
    "05_track_record": r"Asked before each of \d+ past seasons \(\d{4} to \d{4}\), the odds of .* were off by",
    "06_your_field": r"(by my logger|at the station).*: (no seeding day reaches|seed corn and legume together from \d+)",
    "08_this_season": r"\d+ \w+: silage corn rated 2,300 CHU, .*(about \d+ \w+|grown for|killing frost|not this season)",
}
"""What the first cell that runs must say."""
DRAWN = {"01_seeding_window", "02_late_legume", "03_silage_timing", "05_track_record", "08_this_season"}
"""Notebooks whose controls draw a picture at once."""


@pytest.fixture(scope="module")
def kernel():
    """One kernel for all, since starting one takes longer than most notebooks; each begins with an empty namespace."""
    manager = KernelManager(kernel_name="python3")
    manager.start_kernel(cwd=str(FOLDER))
    yield manager
    manager.shutdown_kernel(now=True)


def run(path, kernel, **parameters):
    """The notebook executed; parameters are set in a cell after the one of that tag."""
    book = nbformat.read(path, as_version=4)
    at = next(n for n, cell in enumerate(book.cells) if "parameters" in cell.metadata.get("tags", []))
    if parameters:
        said = "\n".join(f"{name} = {value!r}" for name, value in parameters.items())
        book.cells.insert(at + 1, nbformat.v4.new_code_cell(said))
    book.cells.insert(0, nbformat.v4.new_code_cell("%reset -f"))
    client = NotebookClient(book, km=kernel, timeout=60)
    try:
        return client.execute()
    finally:
        client.kc.stop_channels()


def texts_of(book):
    """Everything shown below the cells, as text."""
    found = []
    for cell in book.cells:
        for output in cell.get("outputs", []):
            data = output.get("data", {})
            found.append(str(data.get("text/html") or data.get("text/plain") or output.get("text", "")))
    return [text for text in found if text]


def check(book, name):
    shown = texts_of(book)
    answer = re.sub(r"<[^>]+>", " ", next(text for text in shown if "<p" in text))
    assert re.search(ANSWERS[name], answer), answer
    assert any("Cautions" in text for text in shown), "no cautions"
    assert "Traceback" not in "".join(shown)
    widgets = book.metadata.get("widgets", {}).get("application/vnd.jupyter.widget-state+json", {}).get("state", {})
    values = [str(widget["state"].get("value", "")) for widget in widgets.values()]
    assert not [value for value in values if value.startswith("<pre")], "a control drew an error"
    if name in DRAWN:
        assert any("<svg" in value for value in values), "the controls drew nothing"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_on_the_invented_place_it_says_its_answer(path, kernel):
    book = run(path, kernel)
    check(book, path.stem)
    assert "River Flat (invented)" in "".join(texts_of(book))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_on_a_real_record_it_says_its_answer(path, kernel, shared):
    check(run(path, kernel, record=str(shared / OTTAWA)), path.stem)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_it_is_committed_as_a_product(path):
    """No outputs, one parameters cell, the question as its title, code hidden behind its answer, no function over 5 lines."""
    book = nbformat.read(path, as_version=4)
    nbformat.validate(book)
    code = [cell for cell in book.cells if cell.cell_type == "code"]
    assert all(not cell.outputs and cell.execution_count is None for cell in code)
    tagged = [cell for cell in code if "parameters" in cell.metadata.get("tags", [])]
    assert tagged == code[:1]
    assert all(cell.metadata.get("jupyter", {}).get("source_hidden") for cell in code[1:])
    assert re.match(r"# .+\?", book.cells[0].source)
    assert not any("def " in cell.source for cell in code)
    assert "does not know" in book.cells[-1].source
    assert [cell.id for cell in book.cells] == [f"cell-{n:02d}" for n in range(len(book.cells))]
