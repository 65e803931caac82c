"""Every notebook, top to bottom, on the invented place and on a real record: it must run, and still say its answer."""

import re
from html import unescape
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import KernelManager
from nbclient import NotebookClient

FOLDER = Path(__file__).resolve().parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
OTTAWA = "data/ghcn-daily/CA006105976.dly"
DAY = r"\d+ [A-Z][a-z]+"
ANSWERS = {
    "01_seeding_window": rf"Seed .+ from {DAY}, as soon as the soil is ready, to {DAY} for odds of 8 in 10|no seeding day reaches",
    "02_late_legume": rf"Into corn seeded on {DAY} late forage soybean can go until {DAY}|no sowing day",
    "03_silage_timing": r"[Ff]it to chop|[Tt]oo (dry|wet)|in the bunker's range",
    "04_this_record": r"\d+ of \d+ seasons",
    "05_track_record": r"odds of the first fall frost .*were off by",
    "06_your_field": rf"Seed .+ from {DAY}, as soon as the soil is ready, to {DAY} for odds of 8 in 10|no seeding day reaches",
    "07_which_hybrid": r"makes? it|ratings? up to",
    "08_this_season": rf"{DAY}: silage corn rated 2,300 CHU, .*(about {DAY}|grown for|killing frost|not this season)",
    "09_order_of_fields": r"Chop in this order: .+ % of the tonnes in range",
    "10_my_fields": r"too late a hybrid for odds of 8 in 10 at this place",  # its first field lies highest
}
"""What the heading of the first answer must say."""
HARMLESS = {"04_this_record", "05_track_record"}  # facts of the record, no advice
STOOD_ON = {"03_silage_timing": "2005-08-25", "08_this_season": "2005-07-10"}
"""A day within the real record, for notebooks that stand on one."""
CONTROLLED = {name for name in ANSWERS if name not in ("04_this_record", "06_your_field")}
"""Notebooks with controls."""


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


def shown_by(book):
    """Everything shown below the cells, and by the controls, as HTML or text."""
    found = []
    for cell in book.cells:
        for output in cell.get("outputs", []):
            data = output.get("data", {})
            found.append(str(data.get("text/html") or data.get("text/plain") or output.get("text", "")))
    return found, controlled(book)


def controlled(book):
    """What the HTML of every set of controls shows."""
    widgets = book.metadata.get("widgets", {}).get("application/vnd.jupyter.widget-state+json", {}).get("state", {})
    values = [str(widget["state"].get("value", "")) for widget in widgets.values()]
    return [value for value in values if value.startswith(("<style", "<pre"))]


def check(book, name):
    below, moving = shown_by(book)
    heads = re.findall(r"<h3>(.*?)</h3>", "".join(moving + below))
    assert re.search(ANSWERS[name], unescape(heads[0])), heads
    assert any("Cautions" in text for text in below + moving) or name in HARMLESS, "no cautions"
    assert "Traceback" not in "".join(below)
    assert not [value for value in moving if "<pre" in value], "a control drew an error"
    assert bool(moving) == (name in CONTROLLED)
    drawn = [value for value in moving if "<svg" in value]
    assert drawn or name not in CONTROLLED, "the controls drew nothing"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_on_the_invented_place_it_says_its_answer(path, kernel):
    book = run(path, kernel)
    check(book, path.stem)
    said = "".join(text for shown in shown_by(book) for text in shown)
    assert "River Flat (invented)" in said or (path.stem == "10_my_fields" and "are invented." in said)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_on_a_real_record_it_says_its_answer(path, kernel, shared):
    more = {"today": STOOD_ON[path.stem]} if path.stem in STOOD_ON else {}
    check(run(path, kernel, record=str(shared / OTTAWA), **more), path.stem)


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
