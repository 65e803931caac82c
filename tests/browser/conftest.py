"""Chromium for the tests that need it, started without its own talk to the network."""

import shutil

import pytest

QUIET = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync")  # fmt: skip
WIDTHS = {"laptop": (1366, 768), "phone": (390, 844)}


@pytest.fixture(scope="session")
def chromium():
    """The system's Chromium, one for all tests."""
    from playwright.sync_api import sync_playwright

    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found, "chromium is not installed; leave these tests out with -m 'not browser'"
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=found, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture
def opened(chromium):
    """Open a page at a width: (the page, addresses asked for, complaints)."""
    contexts = []

    def at(address, width):
        wide, tall = WIDTHS[width]
        context = chromium.new_context(viewport={"width": wide, "height": tall})
        contexts.append(context)
        page, asked, complaints = context.new_page(), [], []
        page.on("request", lambda request: asked.append(request.url))
        page.on("requestfailed", lambda request: complaints.append(f"not there: {request.url}"))
        page.on("console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None)
        page.on("pageerror", lambda fault: complaints.append(str(fault)))
        page.goto(address)
        return page, asked, complaints

    yield at
    for context in contexts:
        context.close()
