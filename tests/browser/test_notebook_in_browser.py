"""A notebook as it is used beside a client: JupyterLab started, every cell run, a slider moved, the picture follows."""

from statistics import median

import pytest

from tests.browser.lab import PICTURE, lab, move, run_all

pytestmark = pytest.mark.browser


def test_the_picture_of_the_seeding_window_follows_its_slider(chromium, tmp_path):
    context = chromium.new_context(viewport={"width": 1366, "height": 900})
    with lab(tmp_path, "01_seeding_window.ipynb") as address:
        page = context.new_page()
        run_all(page, address, "01_seeding_window.ipynb")
        assert page.locator("[data-mime-type='application/vnd.jupyter.stderr']").count() == 0
        assert page.locator(PICTURE).get_attribute("aria-label").startswith("Seed from ")
        taken = []
        for _ in range(16):  # each to a value not yet seen, for what was drawn once is kept
            before, after, milliseconds = move(page, "not after", "ArrowRight")
            assert before != after
            taken.append(milliseconds)
        told = page.locator(PICTURE).get_attribute("aria-label")
        for _ in range(3):
            move(page, "odds", "ArrowRight")
        assert page.locator(PICTURE).get_attribute("aria-label") != told
    context.close()
    print(
        f"slider moved to picture changed, {len(taken)} moves: median {median(taken):.0f} ms, most {max(taken):.0f} ms"
    )
