"""The questions that a pilot and a planner ask, each answered in at most two clicks or taps."""

import math

import pytest
from composed import full
from geographiclib.geodesic import Geodesic
from page_fixture import with_grid

from diproute.physics.coordinates import format_ddm
from diproute.units import show, show_course, show_share


class Hand:
    """Counts the clicks; keys that step a slider count as the one tap that a finger needs."""

    def __init__(self, page):
        self.page, self.clicks = page, 0

    def click(self, selector, **where):
        self.clicks += 1
        self.page.locator(selector).first.click(**where)

    def slide(self, selector, value):
        self.clicks += 1
        self.page.locator(selector).fill(str(value))

    def read(self, selector):
        assert self.clicks <= 2
        return self.page.locator(selector).first.inner_text()


@pytest.fixture
def hand(opened, full_file):
    return Hand(opened(full_file))


PLAN = with_grid(full())
BEST, SECOND, THIRD = PLAN.sites[:3]


def magnetic(course_deg):
    return show_course(course_deg - PLAN.declination_deg)


def test_which_site_now_and_by_which_courses(hand):
    hand.click(".mark.site[aria-label^='1.']")
    assert BEST.name in hand.read("#card-head h2")
    assert (
        hand.read(".big.ways dd")
        == f"in {magnetic(BEST.arrival.course_deg)}M out {magnetic(BEST.departure.course_deg)}M"
    )


def test_which_site_at_another_hour_and_by_which_courses(hand):
    hour = PLAN.day.hours[8]
    best = max((one for one in hour.sites if one.litres_per_hour), key=lambda one: one.litres_per_hour)
    hand.slide("#hour", 8)
    hand.click(".mark.site[aria-label^='1.']")
    assert PLAN.site(best.site).name in hand.read("#card-head h2")
    assert hand.read(".big.ways dd") == f"in {magnetic(best.arrival_deg)}M out {magnetic(best.departure_deg)}M"
    assert show(best.litres_per_hour, "volume", "us") in hand.read("#card-head .rate")
    assert show_share(best.fill) in hand.read(".big.load dd")
    assert "13:00" in hand.read(".moment-note")


def test_when_a_site_is_closed(hand):
    hand.slide("#hour", 8)
    said = hand.read(f"li[data-site='{THIRD.id}']")
    assert "no bucket setting can be lifted" in said
    assert "closed from 12:00 to 15:00: too heavy" in said
    assert hand.page.locator(f".mark.site[data-site='{THIRD.id}'] .why").inner_text() == "too heavy"


def test_why_a_site_is_refused(hand):
    hand.click(".mark.site.refused")
    assert "no way that keeps a slung load clear of hamlet" in hand.read(".big.watch")


def test_how_high_straight_up_before_the_departure(hand):
    hand.click("#ranking tbody tr")
    row = hand.page.locator("#card tr", has_text="Departure").first
    assert show(BEST.departure.lift_m, "height", "us") in row.inner_text()


def test_what_closes_a_direction(hand):
    site = next(s for s in PLAN.sites if any(one.known and not one.open for one in s.directions))
    hand.click(f".mark.site[data-site='{site.id}']")
    dial = hand.page.locator("#card .turn")
    dial.scroll_into_view_if_needed()
    dial.focus()
    shut = next(i for i, one in enumerate(site.directions) if one.known and not one.open)
    hand.page.keyboard.press("Home")
    for _ in range(shut):
        hand.page.keyboard.press("ArrowRight")
    said = hand.read("#card .answer")
    direction = site.directions[shut]
    thing = site.things[direction.departure_thing]
    assert said.startswith(f"{magnetic(direction.course_deg)} magnetic: closed.")
    assert f"It is for {thing.what}, {show(thing.distance_m, 'height', 'us')} out" in said
    assert show(direction.departure_lift_m, "height", "us") in said
    assert hand.page.locator("path.lit-wedge").count() == 1
    assert dial.get_attribute("aria-valuetext") == said


def test_an_unknown_direction_is_never_open(hand):
    hand.click("#ranking tbody tr:nth-child(3)")
    unknown = next(i for i, one in enumerate(THIRD.directions) if not one.known)
    dial = hand.page.locator("#card .turn")
    dial.scroll_into_view_if_needed()
    box = dial.bounding_box()
    angle, reach = math.radians(5.0 * unknown), box["width"] * 80 / 340
    hand.page.mouse.move(box["x"] + box["width"] / 2 + reach * math.sin(angle),
                         box["y"] + box["height"] / 2 - reach * math.cos(angle))  # fmt: skip
    assert hand.read("#card .answer").endswith("magnetic: not known, so never open.")


def test_the_position_to_read_out_and_to_copy(opened, full_file):
    page = opened(full_file, permissions=["clipboard-read", "clipboard-write"])
    hand = Hand(page)
    hand.click("#ranking tbody tr")
    words = format_ddm(BEST.lat, BEST.lon)
    assert " ".join(hand.read(".big.place .at").split()) == words
    hand.click("#card .copy")
    assert " ".join(page.evaluate("navigator.clipboard.readText()").split()) == words
    assert hand.read("#card .copied") == "copied"
    size = page.locator(".big.place dd").evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
    assert size >= 20


def test_the_leg_from_the_side_with_its_wires(hand):
    hand.click("#ranking tbody tr:nth-child(2)")
    figure = hand.page.locator("#card figure.leg").first
    assert "Loaded leg, to Head" in figure.inner_text()
    assert figure.locator("g.wire").count() == 1
    assert "crossed at 83°" in figure.locator("ul.wires").inner_text()


def test_fuel_bucket_setting_and_line(hand):
    hand.click("#ranking tbody tr")
    said = hand.read(".big.load dd")
    for words in (
        show_share(BEST.load.fill),
        show(BEST.load.fuel_kg, "mass", "us"),
        show(BEST.line.carried_m, "line", "us"),
    ):
        assert words in said


def test_how_far_between_two_points(hand):
    places = [(SECOND.lat, SECOND.lon), (PLAN.drops[0].lat, PLAN.drops[0].lon)]
    corner = hand.page.locator("#planMap").bounding_box()
    spots = [hand.page.evaluate("(at) => { const p = dip.map.latLngToContainerPoint(at); return [p.x, p.y]; }", at)
             for at in places]  # fmt: skip
    spots = [(corner["x"] + x + 31, corner["y"] + y + 31) for x, y in spots]
    hand.clicks += 2
    hand.page.mouse.click(*spots[0], button="right")  # a long press on a tablet
    hand.page.mouse.click(*spots[1])
    line = Geodesic.WGS84.Inverse(*places[0], *places[1])
    said = hand.read("#measured")
    nm = float(said.split(" NM")[0])
    assert nm == pytest.approx(line["s12"] / 1852, rel=0.01)
    true, mag = (int(said.split(f"° {word}")[0][-3:]) for word in ("true", "magnetic"))
    assert true == pytest.approx(line["azi1"] % 360, abs=1.5)
    assert (true - mag) % 360 == pytest.approx(PLAN.declination_deg, abs=1)
    assert "loaded " in said
    assert "empty " in said


def test_what_is_not_known_and_where(hand):
    hand.click("#tab-unknown")
    assert "water.gpkg: how current it is" in hand.read("#unknown-list")
    before = hand.page.evaluate("dip.map.getCenter()")
    hand.click("#unknown-list button:has-text('tower')")
    assert hand.page.evaluate("dip.map.getCenter()") != before
    assert hand.page.locator("path.probe-dot").count() == 1


def test_how_old_each_layer_is(hand):
    hand.click("#tab-layers")
    rows = hand.page.locator("table.sources tbody tr")
    assert rows.count() == len(PLAN.layers)
    assert "5 years" in rows.first.inner_text()
    assert "not stated" in rows.nth(2).inner_text()


def test_what_if_the_wind_turns(hand):
    hand.slide("#dial-from", 0)
    assert "wind from 360° true" in hand.read("#moment-said")
    first = PLAN.what_if.sites[0]
    speed = hand.page.locator("#told-speed").inner_text()
    assert speed == "10 kt"
    assert first.why[1 + 1] == 0
    assert BEST.name in hand.read("#refused-list")
    assert "no bucket setting can be lifted" in hand.read("#refused-list")
    assert hand.page.locator(f".mark.site[data-site='{BEST.id}'] .disc.hollow").count() == 1


def test_what_if_it_gets_hotter(hand):
    hand.slide("#dial-heat", 5)
    assert "104 °F" in hand.read("#moment-said")
    assert THIRD.name in hand.read("#refused-list")
    count, heat = len(PLAN.what_if.wind_m_s), 5
    node = PLAN.what_if.wind_from_deg.index(247.5) + 1  # 10 kt
    rate = PLAN.what_if.sites[1].litres_per_hour[heat * count + node]
    assert show(rate, "volume", "us", unit=False) in hand.read(f"tr[data-site='{SECOND.id}'] td.rate")


def test_the_last_departure(hand):
    assert "18:30" in hand.read(".moment-head .last")


def test_how_two_sites_differ_and_why(hand):
    hand.click("#ranking tbody tr:nth-child(1) .box")
    hand.click("#ranking tbody tr:nth-child(2) .box")
    said = hand.read("#compare")
    for words in (BEST.name, SECOND.name, "What not all of them have", "Loaded legs over each other"):
        assert words in said
    row = hand.page.locator("#compare tr.differs", has_text="Bucket setting").inner_text()
    assert "80 %" in row
    assert "90 %" in row
    assert hand.page.locator("#compare .rose").count() == 2
    assert hand.page.locator("#compare .profile .craft").count() == 2


def test_what_is_of_the_plan_s_own_time_is_not_shown_as_of_another(hand):
    cells = "#ranking tbody td.cycle"
    assert all(":" in text for text in hand.page.locator(cells).all_inner_texts())
    hand.slide("#hour", 2)
    assert set(hand.page.locator(cells).all_inner_texts()) == {"–"}
    hand.page.evaluate("dip.compare(0); dip.compare(1, { open: true })")
    said = hand.read("#compare")
    assert "Cycle, min:s (plan 15:00)" in said
    assert "Density altitude (plan 15:00)" in said
    assert "(plan 15:00)" not in hand.page.locator("#compare tr", has_text="Water an hour").inner_text()


def test_the_way_back_to_the_plan_s_own_time(hand):
    hand.slide("#hour", 2)
    assert hand.page.locator("#moment-plan").get_attribute("aria-pressed") == "false"
    hand.click("#moment-plan")
    assert hand.read("#moment-said").startswith("The plan, 15:00")
    assert hand.page.locator("#ranking tbody td.rank").all_inner_texts() == ["1", "2", "3", "4"]
