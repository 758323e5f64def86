"""The page in Debian's chromium with the network cut: opened, listened to, and held to its word at the end."""

import shutil
import sys
from pathlib import Path

import pytest
from composed import full, plain

sys.path.insert(0, str(Path(__file__).parent))

from page_fixture import with_grid

from diproute.writing.map import draw_map

CHROMIUM = shutil.which("chromium")


def pytest_collection_modifyitems(items):
    here = Path(__file__).parent
    for item in items:
        if here in Path(item.fspath).parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.skipif(CHROMIUM is None, reason="needs Debian's chromium"))


@pytest.fixture(scope="session")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def file(tmp_path_factory):
    return draw_map(plain(), tmp_path_factory.mktemp("map") / "map.html")


@pytest.fixture(scope="session")
def full_file(tmp_path_factory):
    """With hours and with the grid of other weathers."""
    return draw_map(with_grid(full()), tmp_path_factory.mktemp("full") / "map.html")


@pytest.fixture
def opened(browser, file):
    """Open a page and, at the end, hold it to its word: one file, no other request, nothing on the console."""
    contexts, heard = [], []

    def open_page(path=file, **settings):
        context = browser.new_context(offline=True, **({"viewport": {"width": 1400, "height": 900}} | settings))
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("console", lambda message: heard.append(f"console {message.type}: {message.text}"))
        page.on("pageerror", lambda error: heard.append(f"error: {error}"))
        page.on("request", lambda request: heard.append(f"request: {request.url}"))
        page.add_init_script(
            "document.addEventListener('securitypolicyviolation', (e) => console.error('policy', e.violatedDirective))"
        )
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready]", state="attached")
        page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        return page

    yield open_page
    for context in contexts:
        context.close()
    asked = [line for line in heard if not line.startswith(("request: data:", "request: file:///"))]
    files = [line for line in heard if line.startswith("request: file:")]
    assert asked == []
    assert len(files) == len(contexts)


def settled(page):
    """Wait for what the page does before its next picture."""
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
