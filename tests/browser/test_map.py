"""The map in Debian's chromium with the network cut."""

import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "writing"))
from plan_fixture import make_plan

from diproute.writing.map import draw_map

CHROMIUM = shutil.which("chromium")
NASTY = "<img src=x onerror=\"document.title='run'\"></script><script>document.title='run'</script>"

pytestmark = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="needs Debian's chromium")]


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    return draw_map(make_plan(), tmp_path_factory.mktemp("map") / "map.html")


@pytest.fixture
def opened(browser, file):
    """Open a page and, at the end, hold it to its word: one file, no other request, nothing on the console."""
    contexts, heard = [], []

    def open_page(path=file, **settings):
        context = browser.new_context(offline=True, **({"viewport": {"width": 1400, "height": 900}} | settings))
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: heard.append(f"console {message.type}: {message.text}"))
        page.on("pageerror", lambda error: heard.append(f"error: {error}"))
        page.on("request", lambda request: heard.append(f"request: {request.url}"))
        page.goto(path.as_uri())
        page.wait_for_selector(".mark.site")
        return page

    yield open_page
    for context in contexts:
        context.close()
    asked = [line for line in heard if not line.startswith(("request: data:", "request: file:///"))]
    files = [line for line in heard if line.startswith("request: file:")]
    assert asked == []
    assert len(files) == len(contexts)


def ranks(page):
    return page.locator("#ranking tbody td.rank").all_inner_texts()


def test_it_opens_on_the_best_site(opened):
    page = opened()
    assert page.locator(".detail:visible h2").inner_text().strip().endswith("Caldera lake")
    assert page.locator("path.leg.loaded").count() == 1
    assert page.locator("path.leg.empty").count() == 1
    dash = page.locator("path.leg.empty").evaluate("e => getComputedStyle(e).strokeDasharray")
    assert dash != "none"
    assert page.locator("path.leg.loaded").evaluate("e => getComputedStyle(e).strokeDasharray") == "none"
    assert page.locator(".detail:visible .rose").is_visible()
    assert page.locator(".mark.site").count() == 4
    assert page.locator(".disc.hollow").first.is_visible()
    assert page.locator(".stamp").inner_text() == "Invented data"


def test_a_row_selects_its_site_on_the_map(opened):
    page = opened()
    before = page.locator("path.leg.loaded").get_attribute("d")
    page.locator("#ranking tbody tr").nth(1).click()
    assert page.locator(".detail:visible h2").inner_text().strip().endswith("Long reservoir, deepest inside")
    assert page.locator("path.leg.loaded").get_attribute("d") != before
    assert page.locator(".mark.crossing").count() == 1
    assert page.locator(".mark.site.chosen .disc").inner_text() == "2"
    page.locator("ul.refused button").click()
    assert "Ringed pond" in page.locator(".detail:visible h2").inner_text()
    assert page.locator("path.leg.loaded").count() == 0


def test_a_popup_has_numbers_reasons_and_the_rose(opened):
    page = opened()
    page.locator(".mark.site .disc", has_text="3").click()
    popup = page.locator(".leaflet-popup")
    assert popup.locator("h3").inner_text() == "3. Tarn, deepest inside"
    assert popup.locator(".rose").is_visible()
    assert "Water an hour" in popup.inner_text()
    assert "nobody has measured the depth" in popup.inner_text()
    assert page.locator(".detail:visible h2").inner_text().strip().endswith("Tarn, deepest inside")


def test_the_keyboard_reaches_sites_and_rows(opened):
    page = opened()
    page.locator("#ranking tbody tr").nth(2).locator("th button").focus()
    page.keyboard.press("Enter")
    assert page.locator(".mark.site.chosen .disc").inner_text() == "3"
    page.locator(".mark.site[aria-label^='2.']").focus()
    page.keyboard.press("Enter")
    assert page.locator(".leaflet-popup h3").inner_text().startswith("2.")


def test_headings_sort_both_ways(opened):
    page = opened()
    assert ranks(page) == ["1", "2", "3"]
    page.locator("th.fill button").click()
    assert ranks(page) == ["3", "1", "2"]
    assert page.locator("th.fill").get_attribute("aria-sort") == "ascending"
    page.locator("th.fill button").click()
    assert ranks(page) == ["2", "1", "3"]
    page.locator("thead th.site button").click()
    assert ranks(page) == ["1", "2", "3"]
    page.locator("th.dense button").click()
    assert ranks(page) == ["2", "1", "3"]


def test_the_pointer_on_a_profile_shows_its_place_on_the_map(opened):
    page = opened()
    page.locator(".detail:visible figure.leg svg").first.scroll_into_view_if_needed()
    page.locator(".detail:visible figure.leg svg").first.hover(position={"x": 200, "y": 60})
    assert page.locator("path.probe-dot").count() == 1
    words = page.locator(".detail:visible figure.leg .probe").first.inner_text()
    assert " along · aircraft " in words
    assert words.endswith(" ft above the lowest allowed")
    page.locator("h1").hover()
    assert page.locator("path.probe-dot").count() == 0


def test_layers_switch(opened):
    page = opened()
    assert page.locator("path.wire").count() == 2
    page.locator("input[data-layer=wires]").uncheck()
    assert page.locator("path.wire").count() == 0
    page.locator("input[data-layer=wires]").check()
    assert page.locator("path.wire").count() == 2
    hard = page.locator("path.avoid.hard").evaluate("e => getComputedStyle(e).fill")
    assert "hatch-hard" in hard


def test_the_pointer_reads_degrees_and_minutes(opened):
    page = opened()
    box = page.locator("#planMap").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    words = page.locator("#readout").inner_text()
    assert words.startswith("N 42° ")
    assert "W 160° " in words
    assert " ft AMSL" in words
    assert page.evaluate("() => document.querySelector('#readout').textContent.match(/ \\d\\d\\.\\d{3}'/g).length") == 2


def test_names_from_files_do_not_run(opened, tmp_path):
    page = opened(draw_map(make_plan(title="Title", water_name=NASTY), tmp_path / "map.html"))
    page.locator(".mark.site .disc", has_text="1").click()
    page.wait_for_timeout(200)
    assert page.title() == "Title: dip sites"
    assert NASTY in page.locator(".detail:visible h2").inner_text()


@pytest.mark.parametrize(("width", "height"), [(1024, 768), (390, 844), (1920, 1080)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_its_screen(opened, width, height, scheme):
    page = opened(viewport={"width": width, "height": height}, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for selector in ("#planMap", ".north", ".leaflet-control-scale"):
        box = page.locator(selector).bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
    paper, ink = page.evaluate("(s => [s.backgroundColor, s.color])(getComputedStyle(document.body))")
    assert (paper, ink) == (
        ("rgb(255, 255, 255)", "rgb(22, 24, 26)") if scheme == "light" else ("rgb(20, 23, 26)", "rgb(236, 235, 231)")
    )


def test_it_prints(opened, tmp_path):
    page = opened(color_scheme="dark")
    page.emulate_media(media="print")
    page.wait_for_timeout(300)
    assert page.screenshot(path=tmp_path / "print.png")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.locator(".foot").is_visible()
    assert page.locator(".standing li").count() == 12
    assert page.locator(".standing li").last.is_visible()
    assert not page.locator("#readout").is_visible()
    assert page.locator("#planMap").bounding_box()["width"] < 980
    for disc in page.locator(".mark.site").all():
        assert disc.is_visible()
    page.emulate_media(media="screen")
    assert page.pdf(prefer_css_page_size=True).startswith(b"%PDF")


def test_a_plan_without_a_usable_site_opens_on_the_first_refused(opened, tmp_path):
    page = opened(draw_map(make_plan(usable=False), tmp_path / "map.html"))
    assert page.locator(".none").is_visible()
    assert "Ringed pond" in page.locator(".detail:visible h2").inner_text()
