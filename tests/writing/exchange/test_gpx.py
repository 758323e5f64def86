"""GPX: the published order and types, and read back by GDAL as the plan has it."""

import re
from datetime import datetime
from xml.etree import ElementTree as Tree

import pandas as pd
import pyogrio
import pytest
import shapely
from composed import changed, full
from exchange_scene import HOSTILE, as_written, on_disk, plans
from exchange_variants import variants
from hypothesis import given, settings

from diproute.document.frames import legs_of
from diproute.errors import plain as shown
from diproute.physics.geodesy import distance_and_course
from diproute.writing.exchange.formats import exchange

G = "{http://www.topografix.com/GPX/1/1}"

# GPX 1.1 Schema Documentation (topografix, 2004): what may stand in what, in this order; * may come again
_POINT = (
    "ele time magvar geoidheight name cmt desc src link* sym type fix sat hdop vdop pdop ageofdgpsdata dgpsid"
    " extensions"
)
ORDER = {
    "gpx": "metadata wpt* rte* trk* extensions",
    "metadata": "name desc author copyright link* time keywords bounds extensions",
    "wpt": _POINT,
    "rtept": _POINT,
    "trkpt": _POINT,
    "rte": "name cmt desc src link* number type extensions rtept*",
    "trk": "name cmt desc src link* number type extensions trkseg*",
    "trkseg": "trkpt* extensions",
}
NEEDED = {"gpx": {"version", "creator"}, "wpt": {"lat", "lon"}, "rtept": {"lat", "lon"}, "trkpt": {"lat", "lon"}}
DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")  # xsd:decimal has no exponent
LAYERS = ("waypoints", "routes", "tracks", "route_points", "track_points")


def assert_fits(data):
    root = Tree.fromstring(data)
    assert root.tag == f"{G}gpx"
    assert root.get("version") == "1.1"
    for element in root.iter():
        name = element.tag.removeprefix(G)
        allowed = ORDER.get(name, "").split()
        children = [child.tag.removeprefix(G) for child in element]
        places = [[one.rstrip("*") for one in allowed].index(child) for child in children]  # unknown: ValueError
        assert places == sorted(places), f"{name}: {children}"
        single = [child for child in children if f"{child}*" not in allowed]
        assert len(single) == len(set(single)), f"{name}: {children}"
        attributes = {key for key in element.attrib if not key.startswith("{")}
        assert attributes == NEEDED.get(name, set())
        if "lat" in attributes:
            lat, lon = element.get("lat"), element.get("lon")
            assert DECIMAL.fullmatch(lat)
            assert DECIMAL.fullmatch(lon)
            assert -90 <= float(lat) <= 90
            assert -180 <= float(lon) < 180  # longitudeType: maxExclusive
        if name == "ele":
            assert DECIMAL.fullmatch(element.text)
        if name == "time":
            assert datetime.fromisoformat(element.text).utcoffset() is not None
    return root


def read(data):
    with on_disk(data, "gpx") as path:
        return {layer: pyogrio.read_dataframe(path, layer=layer) for layer in LAYERS}


def home(lon):
    return (lon + 180.0) % 360.0 - 180.0


@pytest.mark.parametrize("name", list(plans()))
def test_the_file_fits_the_published_order_and_types(name):
    assert_fits(exchange(plans()[name], "gpx"))


@given(variants())
@settings(max_examples=25)
def test_whatever_the_names_and_values_the_file_fits_and_reads_back(plan):
    data = exchange(plan, "gpx")
    assert_fits(data)
    sites = read(data)["waypoints"].query("type == 'dip site'")
    assert list(sites["name"]) == [f"{site.rank} {shown(site.name)}" for site in plan.suitable]
    for row, site in zip(sites.itertuples(), plan.suitable, strict=True):
        distance, _ = distance_and_course(row.geometry.x, row.geometry.y, site.lon, site.lat)
        assert distance < 0.1
        assert (None if pd.isna(row.ele) else row.ele) == site.elevation_m


@pytest.mark.parametrize("name", ["full", "across 180 from the west", "across 180 from the east", "two drops"])
def test_gdal_reads_the_plan_s_waypoints_routes_and_tracks(name):
    plan = plans()[name]
    found = read(exchange(plan, "gpx"))
    marks = found["waypoints"]
    expected = [(site.lon, site.lat, "dip site", site.elevation_m) for site in plan.suitable]
    expected += [(drop.lon, drop.lat, "drop", None) for drop in plan.drops if drop.lat is not None]
    expected += [(plan.base.lon, plan.base.lat, "helibase", None)]
    assert [
        (row.geometry.x, row.geometry.y, row.type, None if pd.isna(row.ele) else row.ele) for row in marks.itertuples()
    ] == [pytest.approx(one) if None not in one else one for one in expected]
    legs = [leg for _, _, leg in legs_of(plan)]
    for layer, points, of_leg in (
        ("routes", "route_points", lambda leg: [(*leg.path[p.index][:2], p.altitude_m) for p in leg.waypoints]),
        ("tracks", "track_points", lambda leg: [tuple(point) for point in leg.path]),
    ):
        number = "route_fid" if layer == "routes" else "track_fid"
        assert len(found[layer]) == len(legs)
        for i, leg in enumerate(legs):
            part = found[points][found[points][number] == i]
            at = shapely.get_coordinates(part.geometry.values)
            assert [(x, y, up) for (x, y), up in zip(at, part["ele"], strict=True)] == [
                pytest.approx((home(lon), lat, up), abs=1e-6) for lon, lat, up in of_leg(leg)
            ]
    assert list(found["routes"]["name"]) == list(found["tracks"]["name"])


@pytest.mark.parametrize("name", list(plans()))
def test_refused_sites_are_not_in_it(name):
    plan = plans()[name]
    found = read(exchange(plan, "gpx"))
    assert len(found["waypoints"].query("type == 'dip site'")) == len(plan.suitable)
    refused = [(site.lon, site.lat) for site in plan.sites if not site.suitable]
    told = [shape for layer in ("waypoints", "route_points") for shape in found[layer].geometry]
    for lon, lat in refused:
        assert all(max(abs(shape.x - lon), abs(shape.y - lat)) > 1e-4 for shape in told)


@pytest.mark.parametrize("name", list(plans()))
def test_no_two_things_of_a_kind_have_one_name(name):
    found = read(exchange(plans()[name], "gpx"))
    for layer in ("waypoints", "routes", "tracks", "route_points"):
        assert found[layer]["name"].notna().all()
        assert found[layer]["name"].is_unique, layer


def test_courses_say_true_and_magnetic_and_agree():
    plan = full()
    routes = read(exchange(plan, "gpx"))["route_points"]
    points = [point for _, _, leg in legs_of(plan) for point in leg.waypoints]
    for told, point in zip(routes["desc"], points, strict=True):
        if point.course_deg is None:
            assert pd.isna(told)
            continue
        true, magnetic = map(int, re.fullmatch(r"to the next (\d{3})° true, (\d{3})° magnetic", told).groups())
        assert abs((true - point.course_deg + 180) % 360 - 180) <= 0.5
        assert abs((magnetic + plan.declination_deg - point.course_deg + 180) % 360 - 180) <= 0.51


def test_180_degrees_is_written_as_the_schema_has_it():
    plan = full()
    site = changed(plan.sites[0], lon=180.0)
    root = assert_fits(exchange(changed(plan, sites=(site, *plan.sites[1:])), "gpx"))
    assert float(root.find(f"{G}wpt").get("lon")) == -180.0


def test_a_small_number_has_no_exponent():
    plan = full()
    site = changed(plan.sites[0], lon=0.000002, lat=-0.000001)
    root = assert_fits(exchange(changed(plan, sites=(site, *plan.sites[1:])), "gpx"))
    first = root.find(f"{G}wpt")
    assert (float(first.get("lon")), float(first.get("lat"))) == (0.000002, -0.000001)


def test_hostile_names_stay_text():
    root = Tree.fromstring(exchange(plans()["hostile names"], "gpx"))
    named = {found.text for found in root.iter(f"{G}name")}
    assert {as_written(HOSTILE), f"1 {as_written(HOSTILE)}"} <= named


def test_a_leg_over_what_is_not_known_says_so():
    plan = full()
    best = plan.suitable[0]
    leg = changed(best.routes[0], lowest=None, under_known=False)
    told = changed(plan, sites=(changed(best, routes=(leg, *best.routes[1:])), *plan.sites[1:]))
    assert "what is below is not known everywhere" in read(exchange(told, "gpx"))["routes"]["desc"].iloc[0]
