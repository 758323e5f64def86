"""The map in Debian's chromium with the network cut."""

import shutil

import pytest
from composed import full, plain

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
    return draw_map(plain(), tmp_path_factory.mktemp("map") / "map.html")


@pytest.fixture(scope="module")
def full_file(tmp_path_factory):
    return draw_map(full(), tmp_path_factory.mktemp("full") / "map.html")


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
    assert "depth not known" in popup.inner_text()
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
    assert " ft MSL" in words
    assert page.evaluate("() => document.querySelector('#readout').textContent.match(/ \\d\\d\\.\\d{3}'/g).length") == 2


def test_names_from_files_do_not_run(opened, tmp_path):
    page = opened(draw_map(plain(title="Title", water_name=NASTY), tmp_path / "map.html"))
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


def test_a_plan_without_a_suitable_site_opens_on_the_first_refused(opened, tmp_path):
    page = opened(draw_map(plain(usable=False), tmp_path / "map.html"))
    assert page.locator(".none").is_visible()
    assert "Ringed pond" in page.locator(".detail:visible h2").inner_text()


def test_the_second_point_of_a_water_waits_for_a_closer_look_and_shows_when_chosen(opened, full_file):
    page = opened(full_file)
    page.evaluate("planMap.setView([42.12, -160.02], 11, {animate: false})")
    assert page.locator(".mark.site.behind").count() == 1
    assert page.locator(".mark.site[aria-label^='4.']").is_hidden()
    best = page.locator(".mark.site[aria-label^='1.']")
    assert best.is_visible()
    assert best.get_attribute("data-more") == "1"
    assert best.locator(".disc").bounding_box()["width"] == 24  # no disc is drawn smaller
    page.locator("#ranking tbody tr").nth(3).click()
    assert page.locator(".mark.site[aria-label^='4.']").is_visible()
    assert page.locator(".mark.site[data-more]").count() == 0
    page.locator("#ranking tbody tr").first.click()
    assert page.locator(".mark.site[aria-label^='4.']").is_hidden()
    page.evaluate("planMap.setView([42.12, -160.02], 15, {animate: false})")
    assert page.locator(".mark.site.behind").count() == 0


def test_words_on_the_map_do_not_run_into_each_other(opened, full_file):
    page = opened(full_file)
    page.evaluate("planMap.setView([42.1, -160.05], 10.5, {animate: false})")
    meet = """() => {
      const shown = [...document.querySelectorAll(
        ".agl, .avoid-word > div, .water-word > div, .left-out-word > div, .spot > div")]
        .filter((e) => getComputedStyle(e).visibility === "visible").map((e) => e.getBoundingClientRect())
        .filter((r) => r.width > 0);
      const discs = [...document.querySelectorAll(".mark.site:not(.behind) .disc")]
        .map((e) => e.getBoundingClientRect());
      const hit = (a, b) => a.left < b.right && b.left < a.right && a.top + 2 < b.bottom && b.top + 2 < a.bottom;
      const among = shown.filter((a, i) => shown.slice(i + 1).some((b) => hit(a, b))).length;
      return [shown.length, among, shown.filter((a) => discs.some((b) => hit(a, b))).length];
    }"""
    shown, among, under = page.evaluate(meet)
    assert shown >= 5
    assert (among, under) == (0, 0)
    far = shown
    page.evaluate("planMap.setView([42.1, -160.05], 13, {animate: false})")
    assert page.evaluate(meet)[0] > far


def test_what_blocks_shows_with_its_refused_site_alone(opened, full_file):
    page = opened(full_file)
    assert page.locator("path.blocked").count() == 0
    page.locator("ul.refused button").click()
    blocked = page.locator("path.blocked")
    assert blocked.count() == 1
    style = blocked.evaluate("e => [getComputedStyle(e).fill, getComputedStyle(e).fillOpacity]")
    assert style == ['url("#hatch-block")', "1"]
    assert page.locator(".blocked-word").inner_text() == "in the way"
    page.locator("#ranking tbody tr").first.click()
    assert page.locator("path.blocked").count() == 0


def test_contents_lead_to_the_day_and_its_picture(opened, full_file):
    page = opened(full_file)
    page.locator("nav a", has_text="Through the day").click()
    assert page.locator(".drawing.day").is_visible()
    box = page.locator("#day").bounding_box()
    assert -1 < box["y"] < 300  # a pixel of rounding
    assert page.locator("#planMap").bounding_box()["y"] >= 0  # the map stays where it is


def test_folded_tables_open_on_paper_and_close_again(opened, full_file):
    page = opened(full_file)
    first = page.locator(".detail:visible details").first
    first.locator("summary").click()
    page.emulate_media(media="print")
    page.wait_for_timeout(300)
    assert page.locator("details:not([open])").count() == 0
    assert page.locator(".detail:visible details table").last.is_visible()
    page.emulate_media(media="screen")
    page.wait_for_timeout(300)
    assert page.locator("details[open]").count() == 1
    assert first.get_attribute("open") is not None


@pytest.mark.parametrize("width", [390, 1024])
def test_the_full_plan_fits_its_screen_with_everything_open(opened, full_file, width):
    page = opened(full_file, viewport={"width": width, "height": 800})
    page.evaluate("document.querySelectorAll('details').forEach((e) => { e.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    drawing = page.locator(".drawing.day").bounding_box()["width"]
    assert drawing * 10 / 640 > 6.5  # letters of size 10 in a drawing 640 wide: on a phone it scrolls instead
    panel = page.locator(".panel").bounding_box()
    for table in page.locator(".detail:visible details .wide").all():
        box = table.bounding_box()
        assert box["x"] + box["width"] <= panel["x"] + panel["width"] + 1


def test_the_sample_says_everything_and_asks_for_nothing(opened, sample_plan, tmp_path):
    page = opened(draw_map(sample_plan, tmp_path / "map.html"))
    best = sample_plan.usable[0]
    assert page.locator(".detail:visible h2").inner_text().strip().endswith(best.name)
    assert page.locator("#ranking tbody tr").count() == len(sample_plan.usable)
    shown = page.locator(".mark.site:not(.behind)").count()
    waters = {site.water_id for site in sample_plan.sites}
    assert len(waters) <= shown < len(sample_plan.sites)
    assert page.locator(".detail:visible .taken").count() == 1
    shut = next(site for site in sample_plan.sites if site.blocked is not None)
    page.locator(f"li[data-site='{shut.id}'] button").click()
    assert page.locator("path.blocked").count() >= 1
    assert page.locator(".drawing.day").count() == (sample_plan.document.day is not None)
    assert " nan" not in page.locator("body").inner_text().lower()
