import base64
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from plan_fixture import make_ground, make_plan

from diproute.errors import OutputError
from diproute.records import Finding
from diproute.writing.map import draw_map, leaflet
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
    assert re.findall(r'(?:src|href)="(?!data:)', body) == []
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
