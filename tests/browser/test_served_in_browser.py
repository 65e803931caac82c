"""`frostkit serve`: the notebooks as pages, in a real browser: nothing from outside, no code, a picture that follows."""

import os
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest

from frostkit.show import served
from tests.browser.lab import PICTURE, free_port, move

pytestmark = pytest.mark.browser


@contextmanager
def serving(*typed):
    port = free_port()
    command = [sys.executable, "-m", "frostkit", "serve", "--no-browser", "--port", str(port), *typed]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                              env={**os.environ, "PYTHONUNBUFFERED": "1"})  # fmt: skip
    try:
        assert f"Pages: http://127.0.0.1:{port}/" in server.stdout.readline()
        yield port
    finally:
        server.terminate()
        server.communicate(timeout=20)


def come(page, address):
    """Open a page as soon as the server listens."""
    until = time.monotonic() + 60
    while True:
        try:
            return page.goto(address)
        except Exception:
            assert time.monotonic() < until
            time.sleep(0.3)


@pytest.fixture
def page(chromium):
    context = chromium.new_context(viewport={"width": 1366, "height": 768})
    page = context.new_page()
    page.outside = []
    page.on("response", lambda got: page.outside.append(got.url) if "//127.0.0.1" not in got.url else None)
    yield page
    context.close()


def test_the_list_leads_to_a_page_whose_picture_follows_its_controls_and_which_shows_no_code(page):
    with serving() as port:
        come(page, served.address(port, None, "en"))
        page.wait_for_selector("text=01 When can I seed corn", timeout=30_000)
        page.goto(served.address(port, "01_seeding_window", "en"))
        page.wait_for_selector(PICTURE, timeout=60_000)
        text = page.inner_text("body")
        assert "import frostkit" not in text and "Run All Cells" not in text and "Move the controls." in text
        assert "River Flat" in text
        before, after, milliseconds = move(page, "not after", "ArrowRight")
        assert before != after and milliseconds > 0
    assert [url for url in page.outside if not url.startswith(("data:", "blob:"))] == []


@pytest.mark.real
def test_ones_own_record_stands_on_the_page(page, shared):
    record = shared / "data/ghcn-daily/CA006105976.dly"
    with serving(str(record), "--latitude", "45.4") as port:
        come(page, served.address(port, "07_which_hybrid", "en"))
        page.wait_for_selector(PICTURE, timeout=60_000)
        assert "131 seasons" in page.inner_text("body")
