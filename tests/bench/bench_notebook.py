"""What people wait for: from a moved control to the new picture in JupyterLab, and the report as HTML and PDF.

Run by hand: python tests/bench/bench_notebook.py (needs the extras browser and pdf, chromium and pango).
"""

import shutil
import subprocess
import sys
import time
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.browser.conftest import QUIET
from tests.browser.lab import lab, move, run_all

SLIDERS = {
    "01_seeding_window.ipynb": ("not after", 30),
    "02_late_legume.ipynb": ("corn seeded", 16),
    "03_silage_timing.ipynb": ("corn seeded", 16),
    "07_which_hybrid.ipynb": ("corn seeded", 12),
    "08_this_season.ipynb": ("corn up", 16),
    "09_order_of_fields.ipynb": ("ha an hour", 6),
}
"""Notebook: a slider of its picture, and how often it is moved, each time to a value not yet seen: pictures are kept."""


def sliders(folder: Path) -> None:
    """Goal: a median under 200 ms and none over 400 on the invented place."""
    with lab(folder, *SLIDERS) as address, sync_playwright() as player:
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=list(QUIET))
        for notebook, (label, moves) in SLIDERS.items():
            page = browser.new_page(viewport={"width": 1366, "height": 900})
            run_all(page, address, notebook)
            taken = sorted(move(page, label, "ArrowRight")[2] for _ in range(moves))
            page.close()
            print(f"{notebook}, '{label}' moved to picture changed: median {median(taken):.0f} ms, {taken[0]:.0f} to "
                  f"{taken[-1]:.0f} ({moves} moves; goal: median under 200, none over 400)")  # fmt: skip
        browser.close()


def report(folder: Path, kind: str) -> None:
    """Goal: under 5 s from the command to the page, and under 1 MB."""
    path = folder / f"page.{kind}"
    taken = []
    for _ in range(3):
        start = time.perf_counter()
        subprocess.run(
            [str(Path(sys.executable).with_name("frostkit")), "report", "--out", str(path)],
            check=True,
            capture_output=True,
        )
        taken.append(time.perf_counter() - start)
    print(f"report as {kind}: {min(taken):.1f} to {max(taken):.1f} s, {path.stat().st_size / 1000:.0f} kB "
          "(goal: under 5 s, 1000 kB)")  # fmt: skip


if __name__ == "__main__":
    with TemporaryDirectory() as place:
        for kind in ("html", "pdf"):
            report(Path(place), kind)
        sliders(Path(place) / "lab")
