"""For every eye and hand: axe, contrast on the real relief, touch on a phone, large type, sunlight."""

import io
import math
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

from diproute.writing.drawings.palette import contrast

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
SIZES = [(1400, 900), (1024, 768), (390, 844)]
LIGHTS = ["light", "dark", "sun"]


def settled(page):
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_axe_finds_nothing_serious(opened, full_file, width, height):
    page = opened(full_file, viewport={"width": width, "height": height})
    page.evaluate(f"() => {{ {AXE} }}")
    run = """async () => (await axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa",
      "best-practice"] })).violations.filter((v) => ["serious", "critical"].includes(v.impact))
      .map((v) => v.id + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(" | "))"""
    parts = ["ranking", "site", "compare", "day", "unknown", "layers", "legend", "notes"]
    page.evaluate("dip.compare(0); dip.compare(1)")
    for part in parts if width == 390 else parts[:2]:  # axe is slow, the parts are the same
        page.evaluate(f"dip.openPart('{part}')")
        assert page.evaluate(run) == [], part


def picture(page):
    """The map as it is seen, and where it begins."""
    box = page.locator("#planMap").bounding_box()
    return np.array(Image.open(io.BytesIO(page.screenshot(clip=box))).convert("RGB")).astype(int)


def hexed(colour):
    return "#" + "".join(f"{int(part):02x}" for part in colour)


def in_light(opened, full_file, light):
    page = opened(full_file, color_scheme="dark" if light == "dark" else "light")
    if light == "sun":
        page.evaluate("dip.sunlight(true)")
    page.evaluate("dip.map.setView([42.1, -160.05], 12, { animate: false })")
    settled(page)
    page.wait_for_timeout(150)
    return page


def beside(seen, x, y, normal, off):
    """The contrast of a thin line's middle to what runs along it, the weaker side; None off the picture."""
    strips = []
    for step in (0.0, off, -off):
        pixels = []
        for near in (-0.6, 0.0, 0.6):  # a line falls between two pixels
            col, row = round(x + normal[0] * (step + near)), round(y + normal[1] * (step + near))
            if not (0 <= row < seen.shape[0] and 0 <= col < seen.shape[1]):
                return None
            pixels.append(hexed(seen[row, col]))
        strips.append(pixels)
    line, *sides = strips
    return min(max(contrast(a, b) for a in line for b in side) for side in sides)


@pytest.mark.parametrize("light", LIGHTS)
def test_wires_and_signs_stand_out_on_the_relief(opened, full_file, light):
    page = in_light(opened, full_file, light)
    wires, signs, weight = page.evaluate("""() => {
      const at = (p) => { const q = dip.map.latLngToContainerPoint(p); return [q.x, q.y]; };
      return [dip.data.map.layers.wires.map(([kind, g]) => dip.shape(kind, g).map(at)),
        dip.data.map.obstacles.map(([g, , tall]) => [...at(dip.shape("mark", g)), tall ? 22 : 15]),
        dip.looks.wire().weight];
    }""")
    seen = picture(page)
    ratios = []
    for wire in wires:
        for (x1, y1), (x2, y2) in pairwise(wire):
            length = math.hypot(x2 - x1, y2 - y1)
            normal = (-(y2 - y1) / length, (x2 - x1) / length)
            for part in np.linspace(0.05, 0.95, 60):
                found = beside(seen, x1 + part * (x2 - x1), y1 + part * (y2 - y1), normal, weight / 2 + 1.5)
                if found is not None:
                    ratios.append(found)
    assert np.quantile(ratios, 0.2) >= 3  # some lie under a tick, a disc or a word
    assert len(ratios) > 150
    for x, y, high in signs:
        length = math.hypot(6, high)
        found = beside(seen, x + 3, y - high / 2, (high / length, 6 / length), 3.0)
        assert found is None or found >= 3


@pytest.mark.parametrize("light", LIGHTS)
def test_numbers_and_names_can_be_read_on_the_relief(opened, full_file, light):
    page = in_light(opened, full_file, light)
    boxes = page.evaluate("""() => {
      const frame = document.getElementById("planMap").getBoundingClientRect();
      const dom = [...document.querySelectorAll(".place-name, .why")].map((e) => [e.getBoundingClientRect(), "ink"]);
      const paints = { obstacle: "warning", avoid: "warning", water: "deep", "left-out": "deep", spot: "ink" };
      return [...dip.written.map((b) => [b.left, b.top, b.right, b.bottom, dip.paint(paints[b.look])]),
        ...dom.map(([r, role]) => [r.left - frame.left, r.top - frame.top, r.right - frame.left, r.bottom - frame.top,
          dip.paint(role)])];
    }""")
    seen = picture(page)
    looked = 0
    for left, top, right, bottom, ink in boxes:
        west, north, east, south = (max(0, round(v)) for v in (left - 2, top - 2, right + 2, bottom + 2))
        crop = seen[north:south, west:east]
        colour = np.array([int(ink[i : i + 2], 16) for i in (1, 3, 5)])
        near = np.abs(crop - colour).sum(axis=2) < 60
        if near.sum() < 12:  # under a panel
            continue
        looked += 1
        ring = _grown(near, 2) & ~_grown(near, 1)  # past the pixels that lie between letter and rim
        ratios = [contrast(ink, hexed(pixel)) for pixel in crop[ring]]
        assert np.median(ratios) >= 4.5, (left, top, ink)
    assert looked >= 8


def _grown(mask, steps):
    for _ in range(steps):
        wide = np.pad(mask, 1)
        mask = wide[1:-1, 1:-1] | wide[:-2, 1:-1] | wide[2:, 1:-1] | wide[1:-1, :-2] | wide[1:-1, 2:]
    return mask


def test_sunlight_has_large_type_thick_lines_and_large_targets(opened, full_file):
    page = opened(full_file, viewport={"width": 1024, "height": 768})
    page.locator("#sun").click()
    settled(page)
    page.locator("#ranking tbody tr").first.locator("th button").click()
    page.evaluate("document.querySelectorAll('#card details').forEach((e) => { e.open = true; })")
    small = page.evaluate("""() => [...document.querySelectorAll("body *")].filter((e) => e.checkVisibility()
      && [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())
      && !e.closest("svg") && parseFloat(getComputedStyle(e).fontSize) < 14).map((e) => e.outerHTML.slice(0, 90))""")
    assert small == []
    drawn = page.evaluate("""() => [...document.querySelectorAll("#card svg text")].map((e) =>
      parseFloat(getComputedStyle(e).fontSize) * e.ownerSVGElement.getBoundingClientRect().width
      / e.ownerSVGElement.viewBox.baseVal.width)""")
    assert min(drawn) >= 11  # in a narrow card a drawing shrinks with its letters
    assert page.evaluate("parseFloat(getComputedStyle(document.querySelector('path.leg.loaded')).strokeWidth)") >= 3
    assert page.evaluate("dip.looks.wire().weight") == 3
    low = page.evaluate("""() => [...document.querySelectorAll(".tools button, .tabs [role=tab], #moment-plan, .copy,"
      + " summary, .card-tools button, .leaflet-bar a, select, #hour, .dial input")].filter((e) => e.checkVisibility())
      .map((e) => [e.id || e.textContent, e.getBoundingClientRect().height]).filter(([, high]) => high < 44)""")
    assert low == []


def test_a_phone_answers_to_the_finger(opened, full_file):
    page = opened(full_file, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    side = page.locator("#side")
    assert side.bounding_box()["height"] < 130
    page.locator(".mark.site[aria-label^='1.']").tap()
    settled(page)
    half = side.bounding_box()["height"]
    assert 350 < half < 500
    assert page.locator(".big.place").is_visible()
    page.locator("#handle").tap()
    assert side.bounding_box()["height"] > 750
    page.locator("#handle").tap()
    assert side.bounding_box()["height"] < 130
    page.locator("#handle").focus()
    page.keyboard.press("ArrowUp")
    assert side.bounding_box()["height"] == half
    page.locator("#handle").tap()
    dial = page.locator("#card .turn")
    dial.scroll_into_view_if_needed()
    box = dial.bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.25)
    assert (
        "360° magnetic" in page.locator("#card .answer").inner_text()
        or "magnetic" in page.locator("#card .answer").inner_text()
    )
    small = page.evaluate("""() => [...document.querySelectorAll("button, select, input, [role=slider], summary")]
      .filter((e) => e.checkVisibility() && !e.closest(".leaflet-pane") && e.tabIndex >= 0)
      .map((e) => [e.outerHTML.slice(0, 60), e.closest("label") || e])
      .map(([name, e]) => [name, e.getBoundingClientRect()])
      .filter(([, r]) => r.width && (r.height < 24 || r.width < 24)).map(([name]) => name)""")
    assert small == []  # WCAG 2.2, 2.5.8: 24 px


def test_a_slider_of_hours_has_ticks_of_24_px_and_keys(opened, full_file):
    page = opened(full_file, viewport={"width": 390, "height": 844})
    ticks = page.locator(".tick")
    first, second = (ticks.nth(i).bounding_box() for i in (0, 1))
    assert second["x"] - first["x"] >= 24
    assert first["width"] >= 24
    page.locator("#hour").focus()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    assert page.locator("#moment-said").inner_text().startswith("06:00")
    page.keyboard.press("End")
    assert page.locator("#hour").get_attribute("aria-valuetext").startswith("20:00")


def test_type_of_twice_the_size_still_fits(opened, full_file):
    page = opened(full_file, viewport={"width": 700, "height": 450}, device_scale_factor=2)  # 1400 x 900 at 200 %
    page.evaluate("dip.choose(0, { card: true }); dip.standSheet(2)")
    assert page.evaluate("document.documentElement.scrollWidth") <= 700
    assert page.locator(".big.place").is_visible()


def test_what_follows_the_tab_key_can_be_seen(opened):
    page = opened()
    outlines = set()
    for _ in range(14):
        page.keyboard.press("Tab")
        outlines.add(page.evaluate("getComputedStyle(document.activeElement).outlineStyle"))
    assert outlines == {"solid"}


def test_less_light_is_followed_by_the_canvas(opened):
    page = opened()
    before = page.evaluate("dip.paints.page")
    page.emulate_media(color_scheme="dark")
    settled(page)
    assert page.evaluate("dip.paints.page") != before
