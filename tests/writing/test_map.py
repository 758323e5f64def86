import base64
import json
import re
import subprocess
import sys
import zlib
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from composed import changed, full, plain, with_sites

from diproute.document import Finding
from diproute.document.file import read_plan, write_plan
from diproute.document.geometry import Geometry
from diproute.document.ground import Heights
from diproute.errors import OutputError
from diproute.units import show_course
from diproute.wording import CODES
from diproute.writing.map import draw_map, leaflet, tables
from diproute.writing.map.draw import map_page
from diproute.writing.map.heights import UNKNOWN, cells
from diproute.writing.map.markup import Markup, json_for_script, tag

NASTY = "</script><script>alert(1)</script>{{ 7*7 }}{% raw %}{# & \"'\u2028"


def said(code="x", because="words of a later release", **values):
    """A finding; of a code that no release knows its own sentence stands."""
    return Finding(code=code, values=values, because=because)


@pytest.fixture(scope="module")
def page():
    return map_page(plain())


def scene_of(page):
    return json.loads(re.search(r'<script type="application/json" id="scene">(.*?)</script>', page, re.DOTALL)[1])


def test_the_page_names_no_address_that_a_browser_would_fetch(page):
    body = page.replace(leaflet.script().strip(), "").replace("http://www.w3.org/2000/svg", "")
    assert not re.findall(r"https?://|//[a-z]+\.[a-z]", re.sub(r"[A-Za-z0-9+/=]{200,}", "", body))
    assert re.findall(r'(?:src|href)="(?!data:|#)', body) == []
    assert [u for u in re.findall(r"url\(([^)]*)\)", body) if not u.startswith(("#", "data:"))] == []
    assert "default-src 'none'" in page
    assert "sourceMappingURL" not in page


def test_the_same_plan_gives_the_same_bytes_in_another_process(page, tmp_path):
    tests = Path(__file__).parents[1]
    code = (
        f"import sys; sys.path.insert(0, {str(tests)!r}); from plan_fixture import make_plan; "
        "from diproute.writing.map.draw import map_page; sys.stdout.buffer.write(map_page(make_plan()).encode())"
    )
    again = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, timeout=120).stdout
    assert again == page.encode()


def test_a_plan_that_was_read_back_gives_the_same_bytes(page, full_page, tmp_path):
    for plan, direct in ((plain(), page), (full(), full_page)):
        assert map_page(read_plan(write_plan(plan, tmp_path / "plan.json"))) == direct


def test_what_holds_a_plan_is_drawn_as_the_plan(page, tmp_path):
    held = SimpleNamespace(document=plain())
    assert map_page(held) == page
    assert draw_map(held, tmp_path / "map.html").read_bytes() == page.encode()


def test_names_from_files_stay_text(page):
    plan = plain(title=NASTY, water_name=NASTY)
    spoiled = changed(plan.sites[0], name=NASTY, cautions=(said(because=NASTY),))
    refused = changed(plan.sites[-1], refused=(said(NASTY, NASTY),))
    drops = (changed(plan.drops[0], name=NASTY),)
    spoilt = map_page(changed(plan, drops=drops, sites=(spoiled, *plan.sites[1:-1], refused)))
    assert "alert(1)</script>" not in spoilt
    assert spoilt.count("<script") == page.count("<script")
    assert spoilt.count("</script") == page.count("</script")
    assert "{{ 7*7 }}" in spoilt  # never read as a template
    assert scene_of(spoilt)["sites"][0]["t"].startswith(f"1. {NASTY}")


def test_a_line_to_be_served_is_marked_where_each_site_serves_it():
    plan = plain()
    scene = scene_of(map_page(changed(plan, drops=(changed(plan.drops[0], lat=None, lon=None),))))
    assert [f["c"] for f in scene["layers"]["places"]] == ["base"]
    leg = scene["legs"][plan.sites[0].id][0]
    assert [m["c"] for m in leg["marks"]] == ["drop"]
    assert leg["marks"][0]["at"] == pytest.approx(leg["g"][-1], abs=1e-4)


def test_markup_escapes_what_is_not_markup():
    assert tag("p", "<b>", Markup("<i>x</i>"), None, title='"&', hidden=True, data_x=None) == (
        '<p title="&quot;&amp;" hidden>&lt;b&gt;<i>x</i></p>'
    )
    text = json_for_script({"a": NASTY})
    assert "<" not in text
    assert "\u2028" not in text
    assert json.loads(text) == {"a": NASTY}


def test_everything_of_the_plan_is_in_the_scene(page):
    plan, scene = plain(), scene_of(page)
    assert [s["id"] for s in scene["sites"]] == [s.id for s in plan.sites]
    assert len(scene["layers"]["water"]) == len(plan.waters)
    assert {f["t"] for f in scene["layers"]["left-out"] if f["k"] == "word"} == {"water not sure", "tailings"}
    assert sum(f["c"] == "avoid hard" for f in scene["layers"]["avoid"]) == 1
    assert sum(f["c"] == "avoid soft" for f in scene["layers"]["avoid"]) == 1
    assert any("height assumed" in f["t"] for f in scene["layers"]["wires"])
    assert any("not verified" in f["t"] for f in scene["layers"]["obstacles"])
    legs = scene["legs"][plan.sites[1].id]
    assert [leg["leg"] for leg in legs] == ["loaded", "empty", "ferry", "ferry"]
    assert "crossed at 83°" in legs[0]["marks"][0]["t"]
    assert scene["sites"][-1]["rank"] is None
    assert "line too short" in scene["sites"][-1]["h"]
    assert len([f for f in scene["layers"]["names"] if f["c"] == "word spot"]) == len(plan.terrain.summits) > 0
    assert scene["graticule"]["lat"]
    assert scene["graticule"]["lon"]


def test_a_code_never_serves_as_a_word(page, full_page):
    later = map_page(changed(plain(), sites=(changed(plain().sites[-1], refused=(said("made-of-lava"),)),)))
    assert "see why" in scene_of(later)["sites"][0]["h"]
    for text in (page, full_page, later):
        seen = re.sub(r'id="[^"]*"|(?:class|data-\w+|href|for|aria-\w+)="[^"]*"', "", text.split("<body>")[1])
        seen = re.sub(r"<script.*?</script>", "", seen, flags=re.DOTALL)
        words = scene_of(text)
        seen += " ".join(site["h"] + site["t"] for site in words["sites"])
        for code in [*(code for code in CODES if "-" in code), "made-of-lava"]:
            assert not re.search(rf"\b{code}\b", seen.replace("one-way circuit", "")), code


def test_the_panel_holds_reasons_cautions_and_the_word_invented(page):
    plan = plain()
    for words in (
        "Invented data: this ground",
        "a line of 145 ft would be needed, the longest carried is 125 ft",
        "An estimate, no more.",
        "depth not known; the bucket needs 5 ft",
        "9.6° E ± 0.4°",
        "intermittent: no water is sure",
        "made up for the demo; not a real type",
        "altimeter setting 29.80 inHg",
        '<th scope="row">density altitude</th>',
        plan.made_with,
    ):
        assert words in page, words
    assert page.count('class="drawing rose"') == len(plan.sites)
    assert "Invented data" not in map_page(changed(plan, invented=False))


def test_words_follow_the_reader(page):
    metric = map_page(plain(display="metric"))
    assert "QNH 1" in metric
    assert "altimeter setting" not in metric
    assert "QNH" not in page.split("<body>")[1].split("<script")[0]
    for text, mine, other in ((page, " MSL", " AMSL"), (metric, " AMSL", " MSL")):
        body = text.split("<body>")[1]
        assert mine in body
        assert other not in body
    assert scene_of(page)["seaLevel"] == "MSL"


@pytest.fixture(scope="module")
def full_page():
    return map_page(full())


def test_day_uncertainty_fleet_and_duty_stand_in_the_panel(full_page, page):
    for words in (
        "From 12:00 Long reservoir is first instead of Caldera lake: Long reservoir opens.",
        "Sunrise 05:47, sunset 19:41. Last departure for a whole fuel cycle, to Long reservoir, deepest inside: 18:30. "
        "A shortened one, to Caldera lake: 19:10 with 267 lb of fuel, 2 loads.",
        "Caldera lake stays first in 86 % of the cases",
        "5 helicopters deliver ",
        "6 h 00 min of flight ",
        "2 × Demo other, Demo 1136, crew 419 lb, 80 % fuel",
        "first in 86 %, works in 100 % of the cases",
    ):
        assert words in full_page, words
    assert full_page.count('class="drawing day"') == 1
    assert full_page.count('class="drawing whisker"') == 4
    for part in ("Through the day", "Several helicopters", "The pilot&#x27;s day", "drawing whisker"):
        assert part in full_page
        assert part not in page


def test_every_way_of_the_contents_leads_somewhere(full_page, page):
    for text in (full_page, page):
        targets = re.findall(r'href="#([^"]+)"', re.search(r"<nav.*?</nav>", text)[0])
        assert len(targets) >= 5
        assert set(targets) <= set(re.findall(r'id="([^"]+)"', text))


def test_lines_are_compared_with_their_reasons(full_page):
    table = re.search(r"<h3>Lines compared</h3>.*?</table>", full_page, re.DOTALL)[0]
    rows = re.findall(r"<tr.*?</tr>", table)[1:]
    assert "too short: 89 ft is needed" in rows[0]
    assert rows[0].count("<td>–</td>") == 3
    assert ['class="taken"' in row for row in rows] == [False, True, False]


def test_loads_and_hours_open_from_one_sentence(full_page):
    summaries = re.findall(r"<summary>(.*?)</summary>", full_page)
    assert any(re.match(r"Load by load: 14 × \d+ US gal; margin 26 lb at the first lift, 514 lb at the last", s)
               for s in summaries)  # fmt: skip
    assert any(s.endswith("bucket setting 90 % from 05:00, unsuitable from 12:00, 80 % from 15:00") for s in summaries)
    assert "By the hour: it works in none of them." in full_page
    assert "no bucket setting can be lifted" in full_page


def test_waypoints_have_place_course_height_and_time():
    plan = plain()
    leg = plan.sites[0].routes[0]
    table = tables.waypoints(leg, plan)
    rows = [re.findall(r"<td>(.*?)</td>", row) for row in re.findall(r"<tr><th scope=.row.*?</tr>", table)]
    assert len(rows) == len(leg.waypoints)
    first = next(i for i, waypoint in enumerate(leg.waypoints) if waypoint.course_deg is not None)
    assert rows[first][2] == show_course(leg.waypoints[first].course_deg - plan.declination_deg)
    assert all(row[2] == "–" for row in rows[:first])  # the lift
    assert rows[0][4] == "0:00"
    assert rows[-1][2] == "–"
    assert rows[-1][4] == tables.clock(leg.seconds)
    assert "Course, magnetic" in table
    assert "Height MSL" in table


def test_what_blocks_is_drawn_with_its_word(full_page):
    blocked = scene_of(full_page)["blocked"]
    assert list(blocked) == ["pond-1"]
    assert [f["c"] for f in blocked["pond-1"]] == ["blocked", "word blocked-word"]
    assert blocked["pond-1"][0]["t"].startswith("no way that keeps a slung load clear of hamlet")
    stretch = Geometry(type="LineString", coordinates=[[-160.01, 42.07], [-160.0, 42.08]])
    line = changed(full().sites[-1], blocked=stretch)
    drawn = scene_of(map_page(with_sites(plain(), line)))["blocked"]["pond-1"]
    assert [f["c"] for f in drawn] == ["blocked stretch", "word blocked-word"]
    assert drawn[1]["at"] == [42.07, -160.005]


def test_an_unsuitable_site_never_shows_a_bare_water_an_hour():
    shut = changed(full().sites[0], rank=None, refused=(said("too-shallow", depth_m=0.6, needed_m=1.5),))
    page = map_page(with_sites(plain(), shut))
    assert "<dt>Water an hour, were it not refused</dt>" in page
    assert "<dt>Water an hour</dt>" not in page
    assert "1 ft deep, the bucket needs 5 ft" in page


def test_the_page_says_when_it_does_not_draw_every_obstacle(page):
    plan = plain()
    mast = plan.obstacles[1]
    many = tuple(changed(mast, height_m=20.0 + i / 100) for i in range(801))
    drawn = map_page(changed(plan, obstacles=many))
    assert "The 800 tallest of 801 obstacles are drawn." in drawn
    assert len(scene_of(drawn)["layers"]["obstacles"]) == 800
    assert "obstacles are drawn" not in page


def test_units_follow_the_incident(page):
    metric = map_page(plain(display="metric"))
    assert "US gal" in page
    assert "US gal" not in metric
    assert scene_of(page)["heightUnit"] == "ft"
    assert scene_of(metric)["heightUnit"] == "m"


def test_a_plan_with_no_suitable_site_still_draws():
    page = map_page(plain(usable=False))
    assert "No dip site passes every limit" in page
    assert '<table id="ranking"' not in page


def test_what_could_not_be_computed_is_written_as_not_known():
    best = plain().sites[0]
    site = changed(
        best,
        density_altitude_m=None,
        load=changed(best.load, water_l=None, water_kg=None, margin_kg=None),
        line=changed(best.line, needed_m=None),
        wind=changed(best.wind, speed_m_s=None),
        open_share=None,
        cycle=None,
        sortie=None,
    )
    page, whole = (map_page(with_sites(plain(), one)) for one in (site, best))
    assert page.count("not known") > whole.count("not known") + 6
    assert ">nan<" not in page.lower()
    assert ">none<" not in page.lower()


def test_the_plan_s_own_picture_of_the_ground_stands_in_the_page(page):
    assert page.count(plain().terrain.picture) == 1
    south, west, north, east = plain().terrain.bounds
    assert json.dumps([[south, west], [north, east]]) in page


def packed(values):
    return base64.b64encode(zlib.compress(np.array(values, dtype="<i4").tobytes())).decode("ascii")


@pytest.mark.parametrize(("display", "wanted"), [("metric", [101, UNKNOWN, -4, 0]), ("us", [329, UNKNOWN, -13, 0])])
def test_the_pointer_height_is_rounded_up_and_unknown_where_any_is_not_known(display, wanted):
    # 100.1 m are 328.4 ft and -4 m are -13.1 ft: NIST SP 811, 1 ft = 0.3048 m
    row = packed([1001, np.iinfo("<i4").min, -40, 0])
    field = cells(Heights(rows=2, cols=2, bounds=(1.0, 2.0, 3.0, 4.0), ground=row, top=row), display)
    assert np.frombuffer(base64.b64decode(field["cells"]), dtype="<i2").tolist() == wanted
    assert (field["rows"], field["cols"], field["bounds"]) == (2, 2, [[1.0, 2.0], [3.0, 4.0]])


def test_a_large_grid_stays_below_three_megabytes():
    assert len(map_page(plain(size=1600, cell_m=12.0)).encode()) < 3_000_000


def test_another_leaflet_is_refused(monkeypatch, tmp_path):
    monkeypatch.setitem(leaflet.DIGESTS, "leaflet.js", "0" * 64)
    with pytest.raises(OutputError, match=r"leaflet\.js has SHA-256 db49d009c841…, wanted 000000000000…; install"):
        draw_map(plain(), tmp_path / "map.html")
    assert list(tmp_path.iterdir()) == []
