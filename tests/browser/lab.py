"""JupyterLab started for real, a notebook opened in a copy, and its controls moved by keyboard: for test and bench."""

import os
import shutil
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
QUIET_LAB = (
    '{"disabledExtensions": {"@jupyterlab/apputils-extension:announcements": true}}'  # its pop-up covers controls
)
PICTURE = ".widget-html-content svg"
WATCH = """() => {
    const box = document.querySelector('.widget-html-content svg').closest('.widget-html-content');
    window.changed = null;
    document.addEventListener('keydown', () => { window.pressed = performance.now(); }, {once: true, capture: true});
    const watcher = new MutationObserver(() => {
        watcher.disconnect();
        requestAnimationFrame(() => { window.changed = performance.now(); });
    });
    watcher.observe(box, {childList: true, subtree: true});
}"""


def free_port():
    with socket.socket() as ear:
        ear.bind(("127.0.0.1", 0))
        return ear.getsockname()[1]


@contextmanager
def lab(folder, *notebooks):
    """A server on this machine alone over copies of notebooks; gives its address. It ends with the block."""
    work, settings = folder / "work", folder / "settings"
    work.mkdir(parents=True)
    (settings / "labconfig").mkdir(parents=True)
    (settings / "labconfig" / "page_config.json").write_text(QUIET_LAB, encoding="utf-8")
    for name in notebooks:
        shutil.copy(NOTEBOOKS / name, work)
    port = free_port()
    apart = {"JUPYTER_CONFIG_DIR": str(settings), "JUPYTER_DATA_DIR": str(folder / "data"),
             "JUPYTER_RUNTIME_DIR": str(folder / "runtime")}  # fmt: skip
    arguments = ["--no-browser", "--ip=127.0.0.1", f"--port={port}", "--port-retries=0", "--allow-root",
                 "--IdentityProvider.token=", f"--ServerApp.root_dir={work}"]  # fmt: skip
    with open(folder / "lab.log", "w", encoding="utf-8") as log:
        server = subprocess.Popen([sys.executable, "-m", "jupyterlab", *arguments], env={**os.environ, **apart},
                                  stdout=log, stderr=subprocess.STDOUT)  # fmt: skip
    try:
        until = time.monotonic() + 60
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                assert server.poll() is None and time.monotonic() < until, (folder / "lab.log").read_text("utf-8")
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(20)


def run_all(page, address, notebook):
    """Open a notebook, wait for its kernel, run every cell, wait for the picture under the controls."""
    page.goto(f"{address}/lab/workspaces/{notebook[:2]}/tree/{notebook}")  # a workspace shows this notebook alone
    page.wait_for_selector(".jp-Notebook-ExecutionIndicator[data-status='idle']", timeout=60_000)
    page.wait_for_selector("text=/\\) \\| Idle/", timeout=60_000)
    page.click(".lm-MenuBar-itemLabel:text-is('Run')")
    page.click(".lm-Menu-item[data-command='runmenu:run-all']")
    page.wait_for_selector(PICTURE, timeout=60_000, state="attached")
    page.wait_for_selector(".jp-Notebook-ExecutionIndicator[data-status='idle']", timeout=60_000)


def move(page, slider, key):
    """Press a key on a slider; the picture's text before and after, and milliseconds from the key to the new picture."""
    handle = page.locator(f".widget-slider:has-text('{slider}') .noUi-handle").first
    handle.scroll_into_view_if_needed()
    handle.focus()
    drawn = f"document.querySelector('{PICTURE}').outerHTML"
    before = page.evaluate(drawn)
    page.evaluate(WATCH)
    page.keyboard.press(key)
    page.wait_for_function("window.changed", timeout=20_000)
    return before, page.evaluate(drawn), page.evaluate("window.changed - window.pressed")
