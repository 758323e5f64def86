import base64
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from outlook_fixture import full_plan
from plan_fixture import make_ground, make_plan
from shapely import LineString

from diproute.errors import OutputError
from diproute.physics.geodesy import distance_and_course
from diproute.records import Finding
from diproute.units import show_course
from diproute.writing.map import draw_map, leaflet, tables
from diproute.writing.map.draw import map_page
from diproute.writing.map.markup import Markup, json_for_script, tag
from diproute.writing.map.relief import UNKNOWN, draw_relief

NASTY = "</script><script>alert(1)</script>{{ 7*7 }}{% raw %}{# & \"'\u2028"


@pytest.fixture(scope="module")
def page():
    return map_page(make_plan())


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
    here = Path(__file__).parent
    code = (
        f"import sys; sys.path[:0] = [{str(here)!r}, {str(here.parents[1])!r}]; from plan_fixture import make_plan; "
        "from diproute.writing.map.draw import map_page; sys.stdout.buffer.write(map_page(make_plan()).encode())"
    )
    again = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, timeout=120).stdout
    assert again == page.encode()


def test_names_from_files_stay_text():
    plan = make_plan(title=NASTY, water_name=NASTY)
    spoiled = replace(plan.sites[0], name=NASTY, cautions=(Finding("x", NASTY),))
    drop = replace(plan.incident.drops[0], name=NASTY)
    incident = replace(plan.incident, drops=(drop,))
    refused = replace(plan.sites[-1], refused=(Finding(NASTY, NASTY),))
    page = map_page(replace(plan, incident=incident, sites=(spoiled, *plan.sites[1:-1], refused)))
    assert "alert(1)</script>" not in page
    assert page.count("<script") == map_page(make_plan()).count("<script")
    assert page.count("</script") == map_page(make_plan()).count("</script")
    assert "{{ 7*7 }}" in page  # never read as a template
    assert scene_of(page)["sites"][0]["t"].startswith(f"1. {NASTY}")


def test_a_line_to_be_served_is_marked_where_each_site_serves_it():
    plan = make_plan()
    flank = replace(plan.incident.drops[0], lat_deg=None, lon_deg=None, along=Path("flank.geojson"))
    scene = scene_of(map_page(replace(plan, incident=replace(plan.incident, drops=(flank,)))))
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
    plan, scene = make_plan(), scene_of(page)
    assert [s["id"] for s in scene["sites"]] == [s.id for s in plan.sites]
    assert len(scene["layers"]["water"]) == len(plan.waters)
    assert {f["t"] for f in scene["layers"]["left-out"] if f["k"] == "word"} == {"dries up in summer", "tailings"}
    assert sum(f["c"] == "avoid hard" for f in scene["layers"]["avoid"]) == 1
    assert sum(f["c"] == "avoid soft" for f in scene["layers"]["avoid"]) == 1
    assert any("height assumed" in f["t"] for f in scene["layers"]["wires"])
    assert any("not verified" in f["t"] for f in scene["layers"]["obstacles"])
    legs = scene["legs"][plan.sites[1].id]
    assert [leg["leg"] for leg in legs] == ["loaded", "empty", "ferry", "ferry"]
    assert "crossed at 83°" in legs[0]["marks"][0]["t"]
    assert scene["sites"][-1]["rank"] is None
    assert "line too short" in scene["sites"][-1]["h"]
    assert scene["graticule"]["lat"]
    assert scene["graticule"]["lon"]


def test_the_panel_holds_reasons_cautions_and_the_word_invented(page):
    plan = make_plan()
    for words in (
        "Invented data: this ground",
        "trees ask for a line of 44 m; the longest carried is 38 m",
        "wires come from one layer; there may be others",
        "An estimate, no more.",
        "nobody has measured the depth",
        "9.6° E ± 0.4°",
        "dries up in summer (intermittent)",
        "made up for the demo; not a real type",
        plan.made_with,
    ):
        assert words in page, words
    assert page.count('class="drawing rose"') == len(plan.sites)
    quiet = make_plan()
    assert "Invented data" not in map_page(replace(quiet, incident=replace(quiet.incident, invented=False)))


@pytest.fixture(scope="module")
def full():
    return map_page(full_plan())


def test_day_doubt_fleet_and_duty_stand_in_the_panel(full, page):
    for words in (
        "From 12:00 Long reservoir is first instead of Caldera lake: the heat.",
        "Sunrise 05:47, sunset 19:41. Last departure for a whole fuel cycle at Caldera lake: 18:30.",
        "Caldera lake stays first in 86 % of the draws.",
        "5 helicopters deliver much.",
        "6 h 00 min of flight are left: 4 whole fuel cycles.",
        "2 × Demo other, Demo 1136, crew 419 lb, 80 % fuel",
        "first in 86 %, works in 100 % of the draws",
    ):
        assert words in full, words
    assert full.count('class="drawing day"') == 1
    assert full.count('class="drawing whisker"') == 4
    for part in ("Through the day", "Several helicopters", "The pilot&#x27;s day", "drawing whisker"):
        assert part in full
        assert part not in page


def test_every_way_of_the_contents_leads_somewhere(full, page):
    for text in (full, page):
        targets = re.findall(r'href="#([^"]+)"', re.search(r"<nav.*?</nav>", text)[0])
        assert len(targets) >= 5
        assert set(targets) <= set(re.findall(r'id="([^"]+)"', text))


def test_lines_are_compared_with_their_reasons(full):
    table = re.search(r"<h3>Lines compared</h3>.*?</table>", full, re.DOTALL)[0]
    rows = re.findall(r"<tr.*?</tr>", table)[1:]
    assert "too short: 89 ft is needed" in rows[0]
    assert rows[0].count("<td>–</td>") == 3
    assert ['class="taken"' in row for row in rows] == [False, True, False]


def test_loads_and_hours_open_from_one_sentence(full):
    summaries = re.findall(r"<summary>(.*?)</summary>", full)
    assert any(re.match(r"Load by load: 14 × \d+ US gal; 26 lb left over at the first lift, 514 lb at the last", s)
               for s in summaries)  # fmt: skip
    assert any(s.endswith("fill 90 % from 05:00, not usable from 12:00, 80 % from 15:00") for s in summaries)
    assert "By the hour: it works in none of them." in full


def test_waypoints_have_place_course_height_and_time():
    plan = full_plan()
    leg = plan.sites[0].route.loaded[0]
    table = tables.waypoints(leg, plan)
    rows = [re.findall(r"<td>(.*?)</td>", row) for row in re.findall(r"<tr><th scope=.row.*?</tr>", table)]
    assert len(rows) == len(leg.waypoints)
    first, middle = leg.waypoints[:2]
    _, course = distance_and_course(leg.lon_deg[first], leg.lat_deg[first], leg.lon_deg[middle], leg.lat_deg[middle])
    assert rows[0][2] == show_course(course - plan.declination_deg)
    assert rows[0][4] == "0:00"
    assert rows[-1][2] == "–"
    assert rows[-1][4] == tables.clock(leg.seconds)


def straight(altitude, top, hanging=40.0):
    leg = make_plan().sites[0].route.loaded[0]
    n = len(altitude)
    more = {name: getattr(leg, name)[:n] for name in ("x_m", "y_m", "lon_deg", "lat_deg", "ground_m", "floor_m")}
    return replace(leg, **more, distance_m=np.arange(n) * 100.0, altitude_m=np.array(altitude), top_m=np.array(top),
                   time_s=np.arange(n) * 3.0, waypoints=(0, n - 1), hanging_m=hanging)  # fmt: skip


def test_the_steepest_part_and_the_lowest_place_are_told():
    flat = np.zeros(11)
    hill = flat.copy()
    hill[6] = 60.0
    altitude = np.array([50.0, 60, 70, 80, 90, 130, 170, 170, 160, 150, 140])
    assert tables.reading(straight(altitude, hill), "metric") == (
        "Steepest over 0.2 km: 40 % up, from 0.4 km along. "
        "Between its ends the load comes no closer than 70 m to anything below it, 0.6 km along."
    )
    away = tables.reading(straight(np.linspace(50, 90, 11), flat), "metric")
    assert away.endswith("The load is lowest at the ends.")
    turning = straight(np.linspace(90, 50, 11), flat)
    turning = replace(turning, distance_m=np.minimum(turning.distance_m, 900.0), altitude_m=turning.altitude_m - 200 * (
        np.arange(11) == 10))  # fmt: skip
    assert "In turns over one place: 204 m down." in tables.reading(turning, "metric")
    unknown = hill.copy()
    unknown[3] = np.nan
    assert "not known everywhere" in tables.reading(straight(altitude, unknown), "metric")


def test_what_blocks_is_drawn_with_its_word(full):
    blocked = scene_of(full)["blocked"]
    assert list(blocked) == ["pond-1"]
    assert [f["c"] for f in blocked["pond-1"]] == ["blocked", "word blocked-word"]
    assert blocked["pond-1"][0]["t"] == "no way that keeps a slung load clear of the hamlet"
    line = replace(full_plan().sites[-1], blocked=LineString([(4700.0, -3400.0), (4000.0, -2000.0)]))
    drawn = scene_of(map_page(replace(make_plan(), sites=(*make_plan().sites[:-1], line))))["blocked"]["pond-1"]
    assert [f["c"] for f in drawn] == ["blocked stretch", "word blocked-word"]


def test_a_refused_site_never_shows_a_bare_water_an_hour():
    plan = full_plan()
    shut = replace(plan.sites[0], rank=None, refused=(Finding("too-shallow", "2 ft deep"),))
    page = map_page(replace(make_plan(), sites=(shut,)))
    assert "<dt>Water an hour, were it not refused</dt>" in page
    assert "<dt>Water an hour</dt>" not in page


def test_the_page_says_when_it_does_not_draw_every_obstacle():
    plan = make_plan()
    mast = plan.ground.obstacles[1]
    many = tuple(replace(mast, height_m=20.0 + i / 100) for i in range(801))
    page = map_page(replace(plan, ground=replace(plan.ground, obstacles=many)))
    assert "The 800 tallest of 801 obstacles are drawn." in page
    heights = [f["t"] for f in scene_of(page)["layers"]["obstacles"]]
    assert len(heights) == 800
    assert "obstacles are drawn" not in map_page(plan)


def test_units_follow_the_incident(page):
    metric = map_page(make_plan(display="metric"))
    assert "US gal" in page
    assert "US gal" not in metric
    assert scene_of(page)["heightUnit"] == "ft"
    assert scene_of(metric)["heightUnit"] == "m"


def test_a_plan_with_no_usable_site_still_draws():
    page = map_page(make_plan(usable=False))
    assert "No dip site passes every limit" in page
    assert '<table id="ranking"' not in page


def test_what_could_not_be_computed_is_written_as_not_known():
    plan = make_plan()
    nan = float("nan")
    best = plan.sites[0]
    site = replace(
        best,
        density_altitude_m=nan,
        load=replace(best.load, water_l=nan, water_kg=nan, margin_kg=nan),
        sortie=replace(best.sortie, seconds=nan, litres_per_hour=nan, first_drop_s=nan),
        clearance=replace(best.clearance, line_needed_m=nan),
    )
    page = map_page(replace(plan, sites=(site,)))
    assert page.count("not known") > map_page(replace(plan, sites=(best,))).count("not known") + 6
    assert ">nan<" not in page.lower()


def test_the_relief_is_small_and_hides_what_is_not_known():
    from rasterio.errors import NotGeoreferencedWarning
    from rasterio.io import MemoryFile

    ground = make_ground()
    relief = draw_relief(ground, "us")
    data = base64.b64decode(relief.url.split(",")[1])
    with pytest.warns(NotGeoreferencedWarning), MemoryFile(data) as memory, memory.open() as picture:
        bands = picture.read()
    assert max(bands.shape[1:]) <= 1500
    shade, alpha = bands[0], bands[3]
    rows, cols = alpha.shape
    assert alpha[rows // 20, -cols // 20] == 0  # the corner that the fixture does not know
    assert alpha[rows // 2, cols // 2] == 255
    assert shade[alpha > 0].std() > 10  # there are hills in it
    (south, west), (north, east) = relief.bounds
    assert south < ground.grid.lat_deg < north
    assert west < ground.grid.lon_deg < east
    assert (north - south) * 111_000 == pytest.approx(420 * 44, rel=0.02)


def test_the_pointer_height_is_the_highest_thing_and_unknown_where_any_is_not_known():
    ground = make_ground(size=120, cell_m=200.0)
    top = np.full((120, 120), 100.0, dtype=np.float32)
    top[60, 60] = 777.0
    top[30, 30] = np.nan
    field = draw_relief(replace(ground, ground=top, top=top), "metric").heights
    cells = np.frombuffer(base64.b64decode(field["cells"]), dtype="<i2").reshape(field["rows"], field["cols"])
    assert cells.max() == 777
    inside = cells[4:-4, 4:-4]
    assert set(np.unique(inside)) == {UNKNOWN, 100, 777}


def test_flat_and_wholly_unknown_ground_draw_without_a_warning():
    ground = make_ground(size=40, cell_m=100.0)
    flat = np.full((40, 40), 12.0, dtype=np.float32)
    for values in (flat, flat * np.nan):
        assert draw_relief(replace(ground, ground=values, top=values), "us").url.startswith("data:image/webp;base64,")


def test_a_large_grid_stays_below_three_megabytes():
    assert len(map_page(make_plan(size=1600, cell_m=12.0)).encode()) < 3_000_000


def test_another_leaflet_is_refused(monkeypatch, tmp_path):
    monkeypatch.setitem(leaflet.DIGESTS, "leaflet.js", "0" * 64)
    with pytest.raises(OutputError, match=r"leaflet\.js has SHA-256 db49d009c841…, wanted 000000000000…; install"):
        draw_map(make_plan(), tmp_path / "map.html")
    assert list(tmp_path.iterdir()) == []
