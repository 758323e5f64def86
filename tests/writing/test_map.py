import base64
import hashlib
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
from page_fixture import with_grid

from diproute.document import Finding
from diproute.document.file import read_plan, write_plan
from diproute.document.geometry import Geometry
from diproute.document.ground import Heights
from diproute.errors import OutputError
from diproute.wording import CODES
from diproute.writing.map import draw_map, leaflet
from diproute.writing.map.draw import map_page, policy, unix
from diproute.writing.map.heights import UNKNOWN, cells, standing
from diproute.writing.map.markup import Markup, json_for_script, tag

NASTY = "</script><script>alert(1)</script>{{ 7*7 }}{% raw %}{# & \"'\u2028"


def said(code="x", because="words of a later release", **values):
    """A finding; of a code that no release knows its own sentence stands."""
    return Finding(code=code, values=values, because=because)


@pytest.fixture(scope="module")
def page():
    return map_page(plain())


@pytest.fixture(scope="module")
def full_page():
    return map_page(full())


def data_of(page):
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', page, re.DOTALL)[1])


def words_of(page):
    """All that a reader may see: the page's own text and the table of texts."""
    seen = re.sub(r"<script.*?</script>", "", page.split("<body>")[1], flags=re.DOTALL)
    return "\n".join([seen, *data_of(page)["texts"]])


def said_of(data, numbers):
    return [data["texts"][number] for number in numbers]


def test_the_page_names_no_address_that_a_browser_would_fetch(page):
    body = page.replace(unix(leaflet.script()).strip(), "").replace("http://www.w3.org/2000/svg", "")
    assert not re.findall(r"https?://|//[a-z]+\.[a-z]", re.sub(r"[A-Za-z0-9+/=]{200,}", "", body))
    assert re.findall(r'(?:src|href)="(?!data:|#)', body) == []
    assert [u for u in re.findall(r"url\(([^)]*)\)", body) if not u.startswith(("#", '"#', "data:"))] == []
    assert "sourceMappingURL" not in page


def test_the_policy_lets_run_what_is_in_the_page_and_nothing_else(page):
    found = re.search(r'Content-Security-Policy" content="([^"]+)"', page)[1].replace("&#39;", "'")
    rules = dict(rule.strip().split(" ", 1) for rule in found.split(";"))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert rules["img-src"] == "data:"
    assert "unsafe" not in found
    for rule, tag_ in (("script-src", "script"), ("style-src", "style")):
        inside = re.findall(rf"<{tag_}>(.*?)</{tag_}>", page, re.DOTALL)
        digests = [base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in inside]
        assert rules[rule].split() == [f"'sha256-{digest}'" for digest in digests]
        assert len(digests) == {"script": 3, "style": 1}[tag_]


def test_a_hash_is_that_of_the_text_as_a_browser_reads_it(page):
    # SHA-256 of "abc": FIPS 180-4, example of the Secure Hash Standard
    known = base64.b64encode(bytes.fromhex("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")).decode()
    assert f"script-src 'sha256-{known}';" in policy(["abc"], [])
    assert unix("a\r\nb\rc\n") == "a\nb\nc\n"
    assert "\r" not in page


def test_no_element_carries_a_style_of_its_own(page, full_page):
    for text in (page, full_page):
        assert re.findall(r"<[^>]* style=", re.sub(r"<script.*?</script>", "", text, flags=re.DOTALL)) == []
        assert not re.findall(r"setAttribute\(.style|\.cssText|innerHTML", text.split("planMap")[-1])


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
    assert data_of(spoilt)["sites"][0]["name"] == NASTY


def test_a_line_to_be_served_is_marked_where_each_site_serves_it():
    plan = plain()
    data = data_of(map_page(changed(plan, drops=(changed(plan.drops[0], lat=None, lon=None),))))
    assert [place[0] for place in data["map"]["places"]] == ["base"]
    assert [leg["drop"] for leg in data["sites"][0]["legs"]] == ["Head", None]
    assert all(leg["drop"] is None for leg in data_of(map_page(plan))["sites"][0]["legs"])


def test_markup_escapes_what_is_not_markup():
    assert tag("p", "<b>", Markup("<i>x</i>"), None, title='"&', hidden=True, data_x=None) == (
        '<p title="&quot;&amp;" hidden>&lt;b&gt;<i>x</i></p>'
    )
    text = json_for_script({"a": NASTY})
    assert "<" not in text
    assert "\u2028" not in text
    assert json.loads(text) == {"a": NASTY}


def test_everything_of_the_plan_is_in_the_data(page):
    plan, data = plain(), data_of(page)
    drawn, texts = data["map"], data["texts"]
    assert [s["id"] for s in data["sites"]] == [s.id for s in plan.sites]
    assert len(drawn["layers"]["water"]) == len(plan.waters)
    assert {texts[w[3]] for w in drawn["words"] if w[0] == "left-out"} == {"water not sure", "tailings"}
    assert sorted(area[3] for area in drawn["layers"]["avoid"]) == [0, 1]
    assert all("height assumed" in texts[wire[2]] for wire in drawn["layers"]["wires"])
    assert any("not verified" in texts[one[1]] for one in drawn["obstacles"])
    site = data["sites"][1]
    assert [leg["kind"] for leg in site["legs"]] == ["loaded", "empty"]
    assert [data["ferries"][number]["kind"] for number in site["ferries"]] == ["ferry", "ferry"]
    assert "crossed at 83°" in texts[site["legs"][0]["wires"][0]["words"]]
    assert data["sites"][-1]["rank"] is None
    assert texts[data["sites"][-1]["short"]] == "line too short"
    assert len([w for w in drawn["words"] if w[0] == "spot"]) == len(plan.terrain.summits) > 0
    assert drawn["graticule"]["lat"]
    assert drawn["graticule"]["lon"]


def test_a_code_never_serves_as_a_word(page, full_page):
    later = map_page(changed(plain(), sites=(changed(plain().sites[-1], refused=(said("made-of-lava"),)),)))
    assert data_of(later)["texts"][data_of(later)["sites"][0]["short"]] == "see why"
    for text in (page, full_page, later):
        seen = re.sub(r'\w[\w-]*="[^"]*"', "", words_of(text))
        for code in [*(code for code in CODES if "-" in code), "made-of-lava"]:
            assert not re.search(rf"\b{code}\b", seen.replace("one-way circuit", "")), code


def test_the_page_holds_reasons_cautions_and_the_word_invented(page):
    plan, seen = plain(), words_of(page)
    for words in (
        "Invented data: this ground",
        "a line of 145 ft would be needed, the longest carried is 125 ft",
        "An estimate, no more.",
        "depth not known; the bucket needs 5 ft",
        "9.6° E ± 0.4°",
        "intermittent: no water is sure",
        "made up for the demo; not a real type",
        "altimeter setting 29.80 inHg",
        "density altitude",
        plan.made_with,
    ):
        assert words in seen, words
    assert "Invented data" not in words_of(map_page(changed(plan, invented=False)))
    assert seen.count("<li><b>") >= 12  # the standing cautions


def test_words_follow_the_reader(page):
    metric = map_page(plain(display="metric"))
    assert "QNH 1" in metric
    assert "altimeter setting" not in metric
    assert "QNH" not in words_of(page)
    for text, mine, other in ((page, " MSL", " AMSL"), (metric, " AMSL", " MSL")):
        assert mine in words_of(text)
        assert other not in words_of(text)
    assert data_of(page)["words"]["seaLevel"] == "MSL"


def test_day_uncertainty_fleet_and_duty_stand_in_the_page(full_page, page):
    seen = words_of(full_page) + json.dumps(data_of(full_page)["sites"], ensure_ascii=False)
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
        assert words in seen, words
    assert full_page.count('class="drawing day"') == 1
    assert sum(site["range"] is not None for site in data_of(full_page)["sites"]) == 4
    for part in ("Through the day", "Several helicopters", "The pilot&#x27;s day"):
        assert part in full_page
        assert part not in page


def test_every_tab_has_its_part(full_page, page):
    for text in (full_page, page):
        targets = re.findall(r'role="tab" [^>]*aria-controls="([^"]+)"', text)
        assert len(targets) >= 7
        assert [len(re.findall(rf'role="tabpanel" id="{target}"', text)) for target in targets] == [1] * len(targets)
    assert ("part-day" in full_page, "part-day" in page) == (True, False)


def test_dials_and_hours_stand_only_where_they_were_worked(page, full_page):
    assert ('id="dials"' in page, 'id="hour"' in page) == (False, False)
    assert ('id="dials"' in full_page, 'id="hour"' in full_page) == (True, True)
    without = map_page(changed(full(), what_if=None))
    assert ('id="dials"' in without, 'id="hour"' in without) == (False, True)
    assert 'id="dials"' in map_page(with_grid(plain()))


def test_gusts_are_told_wherever_the_wind_is():
    plan = full()
    gusty = changed(plan, air=changed(plan.air, wind_m_s=7.2, gust_m_s=11.3))
    data = data_of(map_page(gusty))
    assert data["plan"]["wind"][2] == 11.3
    assert "gusts 22 kt" in data["texts"][data["plan"]["windWords"]]
    gusts = [hour.gust_m_s for hour in plan.day.hours]
    assert [one[2] for one in data["hours"]["wind"]] == gusts
    calm = data_of(map_page(changed(plan, air=changed(plan.air, gust_m_s=None))))
    assert "gusts" not in calm["texts"][calm["plan"]["windWords"]]


def test_an_unsuitable_site_never_shows_a_bare_water_an_hour():
    shut = changed(full().sites[0], rank=None, refused=(said("too-shallow", depth_m=0.6, needed_m=1.5),))
    data = data_of(map_page(with_sites(plain(), shut)))
    names = said_of(data, [name for name, _ in data["sites"][0]["numbers"]])
    assert "Water an hour, were it not refused" in names
    assert "Water an hour" not in names
    assert said_of(data, data["sites"][0]["refused"]) == ["1 ft deep, the bucket needs 5 ft"]


def test_the_page_says_when_it_does_not_draw_every_obstacle(page):
    plan = plain()
    mast = plan.obstacles[1]
    many = tuple(changed(mast, height_m=20.0 + i / 100) for i in range(801))
    drawn = map_page(changed(plan, obstacles=many))
    assert "The 800 tallest of 801 obstacles are drawn." in drawn
    assert len(data_of(drawn)["map"]["obstacles"]) == 800
    assert "obstacles are drawn" not in page


def test_units_follow_the_incident(page):
    metric = map_page(plain(display="metric"))
    assert "US gal" in page
    assert "US gal" not in metric
    assert data_of(page)["units"]["height"][3] == "ft"
    assert data_of(metric)["units"]["height"][3] == "m"


def test_a_plan_with_no_suitable_site_still_draws():
    data = data_of(map_page(plain(usable=False)))
    assert [site["rank"] for site in data["sites"]] == [None]


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
    page, whole = (data_of(map_page(with_sites(plain(), one)))["sites"][0] for one in (site, best))
    count = [json.dumps(one["numbers"]).count("not known") for one in (page, whole)]
    assert count[0] >= count[1] + 4
    assert [page[key] for key in ("rate", "dense", "needed", "cycle")] == [None] * 4
    assert "nan" not in json.dumps(page).lower()


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
    for key in ("ground", "top"):
        assert np.frombuffer(base64.b64decode(field[key]), dtype="<i2").tolist() == wanted
    assert (field["rows"], field["cols"], field["bounds"]) == (2, 2, [[1.0, 2.0], [3.0, 4.0]])


def test_obstacles_are_found_in_the_cells_that_they_touch():
    row = packed([0] * 16)
    grid = Heights(rows=4, cols=4, bounds=(0.0, 0.0, 0.04, 0.04), ground=row, top=row)  # near the equator: even cells
    mast, wire = plain().obstacles[1], plain().obstacles[0]
    at = Geometry(type="Point", coordinates=[0.015, 0.035])  # second column, first row from the north
    across = Geometry(type="LineString", coordinates=[[-0.01, 0.005], [0.05, 0.005]])  # along the last row, and past it
    found = standing(grid, (changed(mast, geometry=at), changed(wire, geometry=across), changed(mast, geometry=None)))
    assert found == {"1": [0], "12": [1], "13": [1], "14": [1], "15": [1]}


def test_a_large_grid_stays_below_three_megabytes():
    assert len(map_page(plain(size=1600, cell_m=12.0)).encode()) < 3_000_000


def test_another_leaflet_is_refused(monkeypatch, tmp_path):
    monkeypatch.setitem(leaflet.DIGESTS, "leaflet.js", "0" * 64)
    with pytest.raises(OutputError, match=r"leaflet\.js has SHA-256 db49d009c841…, wanted 000000000000…; install"):
        draw_map(plain(), tmp_path / "map.html")
    assert list(tmp_path.iterdir()) == []
