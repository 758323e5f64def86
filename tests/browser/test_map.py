"""The map, the ranking and the card of the page, with the network cut."""

import re

import numpy as np
import pypdfium2
import pytest
from composed import changed, full, plain

from diproute.document.geometry import Geometry
from diproute.writing.map import draw_map

NASTY = "<img src=x onerror=\"document.title='run'\"></script><script>document.title='run'</script>"


def settled(page):
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def ranks(page):
    return page.locator("#ranking tbody td.rank").all_inner_texts()


def card(page):
    return page.locator("#card-head h2").inner_text().strip()


def disc(page, name):
    return page.locator(f".mark.site[aria-label*='{name}']")


def test_it_opens_on_the_best_site_and_the_ranking(opened):
    page = opened()
    assert ranks(page) == ["1", "2", "3"]
    assert page.locator(".mark.site.chosen .disc").inner_text() == "1"
    dashes = [page.locator(f"path.leg.{kind}").evaluate("e => getComputedStyle(e).strokeDasharray")
              for kind in ("loaded", "empty")]  # fmt: skip
    assert dashes[0] == "none"
    assert dashes[1] != "none"
    assert page.locator(".mark.site").count() == 4
    assert page.locator(".mark .disc.hollow").is_visible()
    assert page.locator(".stamp").inner_text() == "Invented data"
    assert page.locator("#card").is_hidden()
    assert page.locator("#card-body").inner_html() == ""  # a card is built when it is asked for


def test_a_row_and_a_disc_choose_their_site(opened):
    page = opened()
    before = page.locator("path.leg.loaded").get_attribute("d")
    page.locator("#ranking tbody tr").nth(1).click()
    assert card(page).endswith("Long reservoir, deepest inside")
    assert page.locator("path.leg.loaded").get_attribute("d") != before
    assert page.locator(".mark.crossing").count() == 1
    assert page.locator(".leaflet-popup").count() == 0
    disc(page, "Ringed pond").click()
    assert card(page).endswith("Ringed pond")
    assert page.locator("path.leg.loaded").count() == 0


def test_the_card_holds_every_part_of_a_site(opened, full_file):
    page = opened(full_file)
    page.locator("#ranking tbody tr").first.click()
    said = page.locator("#card").inner_text()
    for words in (
        "Where", "In and out", "Load", "Watch for", "Water an hour", "Nine cases in ten give", "Approach and departure",
        "8:1 surface", "Gates: how each end", "Loaded leg, to Head", "Empty leg, from Head", "One cycle", "Go or no go",
        "waypoints, loaded leg, to Head", "waypoints, from the helibase", "Computed gross weight", "Load by load",
        "Water an hour against fuel", "By the hour", "Lines compared", "Score ", "Cautions",
    ):  # fmt: skip
        assert words in said, words
    assert page.locator("#card .drawing").count() == 6  # rose, two profiles, cycle, stair, curve
    assert "undefined" not in said
    assert "NaN" not in said


def test_the_keyboard_reaches_sites_and_rows(opened):
    page = opened()
    page.locator("#ranking tbody tr").nth(2).locator("th button").focus()
    page.keyboard.press("Enter")
    assert page.locator(".mark.site.chosen .disc").inner_text() == "3"
    page.locator(".mark.site[aria-label^='2.']").focus()
    page.keyboard.press("Enter")
    assert card(page).endswith("Long reservoir, deepest inside")
    assert page.evaluate("document.activeElement.tagName") == "H2"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Copy"


def test_headings_sort_both_ways(opened):
    page = opened()
    for key, orders in (("fill", ("312", "213")), ("site", ("123", "321")), ("dense", ("213", "312"))):
        for order, direction in zip(orders, ("ascending", "descending"), strict=True):
            page.locator(f"th[data-key={key}] button").click()
            assert "".join(ranks(page)) == order, key
            assert page.locator(f"th[data-key={key}]").get_attribute("aria-sort") == direction


def test_search_and_filter_leave_what_passes(opened):
    page = opened()
    page.locator("#find").fill("TARN")
    settled(page)
    assert ranks(page) == ["3"]
    assert page.locator("#counted").inner_text() == "1 of 4 sites pass the filter"
    assert [e.is_visible() for e in page.locator(".mark.site").all()].count(True) == 2  # the chosen one stays
    page.locator("#find").fill("")
    page.locator("summary", has_text="Filter").click()
    page.locator("#filter-line").select_option("0")
    assert ranks(page) == ["2"]
    page.locator("#filter-line").select_option("")
    page.locator("#filter-depth").check()
    assert ranks(page) == []
    page.locator("#filter-depth").uncheck()
    page.locator("#filter-care").select_option(index=1)
    assert ranks(page) == []


def test_the_pointer_on_a_profile_and_on_its_leg_are_one(opened):
    page = opened()
    page.locator("#ranking tbody tr").first.click()
    slide = page.locator("#card .slide").first
    slide.scroll_into_view_if_needed()
    slide.hover(position={"x": 200, "y": 60})
    assert page.locator("path.probe-dot").count() == 1
    words = page.locator("#card .probe").first.inner_text()
    assert " along · aircraft " in words
    assert " ft above the lowest allowed" in words
    page.locator("#moment-said").hover()
    assert page.locator("path.probe-dot").count() == 0
    page.evaluate("dip.tell('along', { leg: 0, metres: 500, from: 'map' })")
    assert page.locator("#card .slide").first.get_attribute("aria-valuetext") != words
    assert page.locator("#card .cursor").first.get_attribute("d")
    slide.focus()
    for key in ("Home", "ArrowRight", "End", "ArrowLeft", "PageUp"):
        page.keyboard.press(key)
    assert page.locator("path.probe-dot").count() == 1


def test_a_wire_is_chosen_in_the_profile_and_on_the_map(opened):
    page = opened()
    page.locator("#ranking tbody tr").nth(1).click()
    assert page.locator("#card g.wire.lit").count() == 0
    page.locator("#card ul.wires button").click()
    assert page.locator("#card g.wire.lit").count() == 1
    assert page.locator(".mark.crossing.lit").count() == 1
    page.locator("#tab-ranking").click()
    page.locator("#ranking tbody tr").nth(1).click()
    page.locator(".mark.crossing svg").click()
    assert "crossed at 83°" in page.locator("#card ul.wires button.lit").inner_text()


def test_layers_switch(opened):
    page = opened()
    page.locator("#tab-legend").click()
    drawn = "() => dip.map.hasLayer(dip.groups.wires)"
    assert page.evaluate(drawn)
    page.locator("input[data-layer=wires]").uncheck()
    assert not page.evaluate(drawn)
    page.locator("input[data-layer=refused]").uncheck()
    settled(page)
    assert page.locator(".mark.site:visible").count() == 3
    page.locator("input[data-layer=others]").check()
    assert page.evaluate("dip.groups.others.getLayers().length") == 3
    hard = page.locator("path.avoid.hard").evaluate("e => getComputedStyle(e).fill")
    assert "hatch-hard" in hard


def test_the_pointer_reads_place_and_heights_in_three_ways(opened):
    page = opened()
    box = page.locator("#planMap").bounding_box()
    middle = (box["x"] + box["width"] / 2 + 40, box["y"] + box["height"] / 2)
    page.mouse.move(*middle)
    said = page.locator("#readout-said")
    assert said.inner_text().startswith("N 42° ")
    assert "W 160° " in said.inner_text()
    assert "ground up to " in said.inner_text()
    assert " ft MSL" in said.inner_text()
    page.locator("#form").select_option("mgrs")
    assert re.match(r"04T [A-Z]{2} \d{5} \d{5} ", said.inner_text())
    page.locator("#form").select_option("dms")
    assert '"' in said.inner_text()
    wire = page.evaluate("dip.heightWords(L.latLng(dip.shape(...dip.data.map.layers.wires[0].slice(0, 2))[1]))")
    assert "obstacle here: power line, 110 kV, 148 ft AGL, height assumed" in wire
    assert page.evaluate("dip.heightWords(L.latLng(0, 0))") == "ground not known"


def test_names_from_files_do_not_run(opened, tmp_path):
    plan = plain(title="Title", water_name=NASTY)
    plan = changed(plan, drops=(changed(plan.drops[0], name=NASTY),))
    page = opened(draw_map(plan, tmp_path / "map.html"))
    page.locator("#ranking tbody tr").first.click()
    page.locator(".mark.drop svg").hover()
    page.wait_for_timeout(100)
    assert page.title() == "Title: dip sites"
    assert NASTY in card(page)
    assert page.locator("img[src=x]").count() == 0


def test_a_name_that_runs_from_right_to_left_does_not_turn_its_numbers(opened, tmp_path):
    page = opened(draw_map(plain(water_name="بحيرة 12"), tmp_path / "map.html"))
    assert page.locator("#ranking tbody tr").first.locator("bdi").inner_text() == "بحيرة 12"
    page.locator("#ranking tbody tr").first.click()
    assert page.locator("#card-head h2 bdi").count() == 1


@pytest.mark.parametrize(("width", "height"), [(1024, 768), (390, 844), (1920, 1080), (700, 450), (3840, 2160)])
def test_it_fits_its_screen_in_light_and_dark(opened, full_file, width, height):
    page = opened(full_file, viewport={"width": width, "height": height})
    page.locator("#ranking tbody tr").first.evaluate("e => e.click()")
    page.evaluate("document.querySelectorAll('details').forEach((e) => { e.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for selector in ("#planMap", ".north", ".leaflet-control-scale", "#moment", "#side", ".tools", ".corner"):
        box = page.locator(selector).bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
    inside = page.locator("#card").bounding_box()
    for wide in page.locator("#card details .wide").all():
        box = wide.bounding_box()
        assert box["x"] + box["width"] <= inside["x"] + inside["width"] + 1
    paper = "(s => [s.backgroundColor, s.color])(getComputedStyle(document.body))"
    assert page.evaluate(paper) == ["rgb(255, 255, 255)", "rgb(22, 24, 26)"]
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(paper) == ["rgb(20, 23, 26)", "rgb(236, 235, 231)"]


def test_it_prints_the_map_at_a_round_scale_then_a_page_a_chosen_site(opened, full_file):
    page = opened(full_file, color_scheme="dark")
    page.evaluate("dip.compare(0); dip.compare(1)")
    page.emulate_media(media="print")
    settled(page)
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.locator(".foot").is_visible()
    assert page.locator(".paper-key").is_visible()
    assert page.locator(".north").is_visible()
    assert not page.locator("#readout").is_visible()
    assert page.locator(".paper-card").count() == 4  # each with a page of tables behind it
    assert page.locator(".paper-card .rose").count() == 2
    assert page.locator(".standing li").count() == 12
    assert page.locator(".standing li").last.is_visible()
    assert page.locator("details:not([open])").count() == 0
    told = page.locator("#scale-said").inner_text().replace("\u202f", "")
    scale = int(told.split(" : ")[1].split(" ")[0])
    assert str(scale).rstrip("0") in {"1", "2", "3", "4", "5", "6", "8", "12", "15", "25"}
    metres = page.evaluate(
        "(() => { const c = dip.map.getSize().divideBy(2), at = (x) => dip.map.containerPointToLatLng([x, c.y]);"
        " const a = at(c.x - 50), b = at(c.x + 50); return dip.inverse(a.lat, a.lng, b.lat, b.lng)[0]; })()"
    )
    assert metres / (100 * 0.0254 / 96) == pytest.approx(scale, rel=0.005)  # a CSS pixel is 1/96 inch
    page.emulate_media(media="screen")
    settled(page)
    assert page.locator(".paper-card").count() == 0
    fresh = opened(full_file, color_scheme="dark")  # its medium is its own
    fresh.evaluate("dip.compare(0); dip.compare(1)")
    paper = pypdfium2.PdfDocument(fresh.pdf(prefer_css_page_size=True))
    first = np.array(paper[0].render(scale=1).to_pil().convert("L"))
    middle = first[200:300, 300:500]
    assert 100 < np.median(middle) < 250  # the ground is there, and is grey
    assert middle.std() > 4
    assert "1 : " in paper[0].get_textpage().get_text_bounded()
    names = [paper[n].get_textpage().get_text_bounded() for n in (1, 3)]
    assert "Caldera lake" in names[0]


def test_a_plan_without_a_suitable_site_opens_on_the_first_refused(opened, tmp_path):
    page = opened(draw_map(plain(usable=False), tmp_path / "map.html"))
    assert page.locator("#none").is_visible()
    assert page.locator("#ranking").is_hidden()
    page.locator("#tab-site").click()
    assert "Ringed pond" in card(page)


def test_the_second_point_of_a_water_waits_for_a_closer_look_and_shows_when_chosen(opened, full_file):
    page = opened(full_file)

    def look(zoom):
        page.evaluate(f"dip.map.setView([42.12, -160.02], {zoom}, {{animate: false}})")
        settled(page)

    look(11)
    assert page.locator(".mark.site.behind").count() == 1
    assert page.locator(".mark.site[aria-label^='4.']").is_hidden()
    best = page.locator(".mark.site[aria-label^='1.']")
    assert best.is_visible()
    assert best.get_attribute("data-more") == "1"
    assert best.locator(".disc").bounding_box()["width"] == 24  # no disc is drawn smaller
    page.locator("#ranking tbody tr").nth(3).click()
    settled(page)
    assert page.locator(".mark.site[aria-label^='4.']").is_visible()
    assert page.locator(".mark.site[data-more]").count() == 0
    look(15)
    assert page.locator(".mark.site.behind").count() == 0


def test_words_on_the_map_do_not_run_into_each_other(opened, full_file):
    page = opened(full_file)
    meet = """() => {
      const frame = document.getElementById("planMap").getBoundingClientRect();
      const shown = dip.written;
      const discs = [...document.querySelectorAll(".mark.site:not(.behind) .disc, .place-name, .why")]
        .map((e) => e.getBoundingClientRect())
        .map((r) => ({ left: r.left - frame.left, right: r.right - frame.left, top: r.top - frame.top,
                       bottom: r.bottom - frame.top }));
      const over = (a, b, from, to) => a[from] + 2 < b[to] && b[from] + 2 < a[to];
      const hit = (a, b) => over(a, b, "left", "right") && over(a, b, "top", "bottom");
      const among = shown.filter((a, i) => shown.slice(i + 1).some((b) => hit(a, b))).length;
      return [shown.length, among, shown.filter((a) => discs.some((b) => hit(a, b))).length];
    }"""
    counts = []
    for zoom in (10.5, 12):
        page.evaluate(f"dip.map.setView([42.1, -160.05], {zoom}, {{animate: false}})")
        settled(page)
        shown, among, under = page.evaluate(meet)
        assert (among, under) == (0, 0)
        counts.append(shown)
    assert 5 <= counts[0] < counts[1]


def test_what_blocks_shows_with_its_refused_site_alone(opened, full_file):
    page = opened(full_file)
    assert page.locator("path.blocked").count() == 0
    page.locator("ul.refused button").click()
    blocked = page.locator("path.blocked")
    assert blocked.count() == 1
    assert blocked.evaluate("e => getComputedStyle(e).fill") == 'url("#hatch-block")'
    assert page.locator(".blocked-word").inner_text() == "in the way"
    page.locator("#tab-ranking").click()
    page.locator("#ranking tbody tr").first.click()
    assert page.locator("path.blocked").count() == 0


def test_a_place_that_blocks_is_drawn_as_a_mark(opened, tmp_path):
    plan = full()
    spot = Geometry(type="Point", coordinates=[-160.0, 42.07])
    shut = changed(plan.sites[-1], blocked=spot)
    page = opened(draw_map(changed(plan, sites=(*plan.sites[:-1], shut)), tmp_path / "map.html"))
    page.locator("ul.refused button").click()
    assert page.locator("path.blocked").count() == 1
    assert page.locator(".blocked-word").inner_text() == "in the way"


def test_the_sample_says_everything_and_asks_for_nothing(opened, sample_plan, tmp_path):
    page = opened(draw_map(sample_plan, tmp_path / "map.html"))
    assert page.locator("#ranking tbody tr").count() == len(sample_plan.usable)
    shown = page.locator(".mark.site:not(.behind)").count()
    waters = {site.water_id for site in sample_plan.sites}
    assert len(waters) <= shown < len(sample_plan.sites)
    shut = next(site for site in sample_plan.sites if site.blocked is not None)
    page.locator(f"li[data-site='{shut.id}'] button").click()
    assert page.locator("path.blocked").count() >= 1
    page.locator("#tab-day").click()
    assert page.locator(".drawing.day").count() == (sample_plan.document.day is not None)
    for number in range(len(sample_plan.sites)):
        page.evaluate(f"dip.choose({number}, {{ card: true }})")
        said = page.locator("#card").inner_text()
        assert not {"undefined", "nan", "null"} & set(said.lower().split())
