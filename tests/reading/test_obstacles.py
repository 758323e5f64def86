"""Obstacles: what they are, how high they are taken, and that no cell one may touch is missed."""

import itertools
import json
import math
import random
import re
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from layer_scene import FRAME, flat, grid, incident, write_vector
from open_data import package_file
from rasterio.features import rasterize
from shapely import LineString, MultiPoint, MultiPolygon, Point, box
from shapely.geometry import shape

from diproute.constants import ASSUMED_HEIGHT_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import raising
from diproute.reading.grid import transform_of
from diproute.reading.layers import open_layers
from diproute.reading.obstacles import read_obstacles
from diproute.reading.raising import raise_top
from diproute.reading.vectors import middle_of
from diproute.records import Drop, Finding, Obstacle

TODAY = date(2026, 8, 14)
ON = grid(1000, 10)


def stand(geometry, height=40.0, kind="tower", **more):
    named = {"accuracy_m": None, "height_assumed": False, "verified": None, "source": "made up", **more}
    return Obstacle(name=kind, kind=kind, height_m=height, geometry=geometry, is_wire=kind == "wire", **named)


def raised(obstacles, terrain=None, on=ON):
    """Top and cause over level or given terrain."""
    ground = np.full((on.rows, on.cols), 100.0, np.float32) if terrain is None else terrain
    top, cause = ground.copy(), np.zeros((on.rows, on.cols), np.uint16)
    _, said = raise_top(top, cause, ground, obstacles, on)
    return top, cause, said


def wires_on(obstacles, top, on=ON, terrain=None):
    """Heights of the wires alone over the grid, and the obstacle of each; NaN and -1 where there is none."""
    ground = np.full((on.rows, on.cols), 100.0, np.float32) if terrain is None else terrain
    laid, _ = raise_top(top, np.zeros(on.shape, np.uint16), ground, obstacles, on)
    assert (np.diff(laid.cell) > 0).all()
    heights, which = np.full(on.shape, np.nan), np.full(on.shape, -1)
    heights.ravel()[laid.cell], which.ravel()[laid.cell] = laid.top_m, laid.obstacle
    return heights, which


def at(array, x, y, on=ON):
    return array[math.floor((on.top_m - y) / on.cell_m), math.floor((x - on.left_m) / on.cell_m)]


def gorge(on=ON):
    """Plateaus at 500 m, and a gorge 400 m wide whose bed lies at 200 m."""
    x = on.left_m + (np.arange(on.cols) + 0.5) * on.cell_m
    return np.tile(np.where(abs(x) < 200, 200.0, 500.0).astype(np.float32), (on.rows, 1))


# ------------------------------------------------------------------------------------------- points, areas, wires
@settings(max_examples=60, deadline=None)
@given(
    x=st.floats(-900, 900), y=st.floats(-900, 900), accuracy=st.floats(0, 150),
    cell=st.sampled_from([1.0, 4.0, 10.0, 30.0]),
)  # fmt: skip
def test_a_tower_raises_every_cell_in_which_it_may_stand(x, y, accuracy, cell):
    on = grid(100 * cell, cell)
    x, y = x / 10 * cell, y / 10 * cell
    top, cause, _ = raised([stand(Point(x, y), 40.0, accuracy_m=accuracy)], on=on)
    disc = Point(x, y).buffer(max(accuracy, cell), quad_segs=64)
    touched = rasterize([disc], out_shape=top.shape, transform=transform_of(on), all_touched=True) == 1
    assert (top[touched] == 140).all()
    assert (cause[touched] == 2).all()
    r, c = np.nonzero(top > 100)
    far = np.hypot(on.left_m + (c + 0.5) * cell - x, on.top_m - (r + 0.5) * cell - y)
    assert far.max() <= max(accuracy, cell) + math.sqrt(2) * cell


def test_a_tower_of_unknown_place_is_given_room():
    top, _, _ = raised([stand(Point(5, 5), 40.0)])
    assert at(top, 24, 5) == 140
    assert at(top, 55, 5) == 100


@settings(max_examples=80, deadline=None)
@given(
    ends=st.lists(st.tuples(st.floats(-900, 900), st.floats(-900, 900)), min_size=2, max_size=5, unique=True),
    cell=st.sampled_from([1.0, 5.0, 10.0, 30.0]),
)  # fmt: skip
def test_a_wire_misses_no_cell(ends, cell):
    on = grid(100 * cell, cell)
    line = LineString([(x / 10 * cell, y / 10 * cell) for x, y in ends])
    top, cause, said = raised([stand(line, 30.0, "wire")], on=on)
    touched = rasterize([line], out_shape=top.shape, transform=transform_of(on), all_touched=True) == 1
    wider = rasterize([line.buffer(10)], out_shape=top.shape, transform=transform_of(on), all_touched=False) == 1
    assert (top[touched | wider] == 130).all()
    assert (cause[touched] == 2).all()
    assert said == ()


def test_a_wire_over_a_gorge_is_where_it_is():
    wire = stand(LineString([(-300, 0), (300, 0)]), 30.0, "wire")
    top, _, _ = raised([wire], gorge())
    assert at(top, 0, 0) == 530  # 330 m above the river
    assert at(top, -250, 0) == 530
    assert at(top, 0, 40) == 200


def test_a_wire_between_supports_of_different_height_slopes():
    on = ON
    x = on.left_m + (np.arange(on.cols) + 0.5) * on.cell_m
    ground = np.tile(np.where(x < -300, 100.0, np.where(x > 300, 700.0, 0.0)).astype(np.float32), (on.rows, 1))
    top, _, _ = raised([stand(LineString([(-400, 0), (400, 0)]), 20.0, "wire")], ground)
    for place in (-200.0, 0.0, 200.0):
        assert at(top, place + 5, 0) == pytest.approx(120 + 600 * (place + 10 + 400) / 800, abs=0.1)  # its upper side


@settings(max_examples=60, deadline=None)
@given(
    ends=st.lists(st.tuples(st.floats(-850, 850), st.floats(-850, 850)), min_size=2, max_size=4, unique=True),
    cell=st.sampled_from([10.0, 30.0]), seed=st.integers(0, 1000),
)  # fmt: skip
def test_a_steep_span_is_nowhere_higher_than_its_cell_says(ends, cell, seed):
    on = grid(60 * cell, cell)
    rng = np.random.default_rng(seed)
    points = np.array(ends) / 30 * cell
    ground = rng.uniform(0, 900, on.shape).astype(np.float32)
    top, _, _ = raised([stand(LineString(points), 20.0, "wire")], ground, on)
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        share = np.linspace(0, 1, 400)
        row, col = on.rowcol(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)
        ends_m = [ground[on.rowcol(x, y)] + 20.0 for x, y in ((x0, y0), (x1, y1))]  # its supports' own ground at least
        assert (top[row, col] >= ends_m[0] + (ends_m[1] - ends_m[0]) * share - 1e-3).all()


def test_a_wire_is_known_under_higher_trees():
    wood = np.full(ON.shape, 132.0, np.float32)  # treetops 2 m above the wire
    wires, which = wires_on([stand(Point(0, 0), 90.0), stand(LineString([(-300, 5), (300, 5)]), 30.0, "wire")], wood)
    assert at(wood, 100, 5) == 132.0
    assert at(wires, 100, 5) == 130.0
    assert at(which, 100, 5) == 1
    assert at(wires, 5, 5) == 130.0  # under the mast too
    assert np.isnan(at(wires, 100, 45))


def test_the_highest_of_several_wires_counts_and_the_first_of_equals():
    low, high, also = (stand(LineString([(-300, 5), (300, 5)]), h, "wire") for h in (20.0, 35.0, 35.0))
    wires, which = wires_on([low, high, also], np.full(ON.shape, 100.0, np.float32))
    assert at(wires, 100, 5) == 135.0
    assert at(which, 100, 5) == 1


def test_a_span_over_unknown_ground_is_a_wire_of_unknown_height():
    top = np.full(ON.shape, 100.0, np.float32)
    wires, which = wires_on([stand(LineString([(-1400, 0), (-500, 0), (500, 0)]), 30.0, "wire")], top)
    assert at(which, -700, 0) == 0
    assert np.isnan(at(wires, -700, 0))
    assert at(wires, 0, 0) == 130.0


def test_what_is_no_wire_leaves_no_wire():
    laid, _ = raise_top(
        np.full(ON.shape, 100.0, np.float32), np.zeros(ON.shape, np.uint16), np.full(ON.shape, 100.0, np.float32),
        [stand(Point(0, 0)), stand(LineString([(-300, 0), (300, 0)]), 30.0, "bridge")], ON,
    )  # fmt: skip
    assert laid.cell.size == 0


def test_a_wire_over_a_hill_between_its_supports_clears_the_hill():
    ground = np.full((ON.rows, ON.cols), 100.0, np.float32)
    ground[:, 95:105] = 180.0
    top, _, _ = raised([stand(LineString([(-300, 0), (300, 0)]), 30.0, "wire")], ground)
    assert at(top, 5, 0) == 210
    assert at(top, -200, 0) == 130


def test_the_whole_span_is_as_high_as_its_supports_so_that_sag_is_never_counted_on():
    top, _, _ = raised([stand(LineString([(-300, 0), (300, 0)]), 30.0, "wire")])
    assert {float(at(top, x, 0)) for x in range(-300, 300, 10)} == {130.0}


def test_an_uncertain_wire_is_spread_sideways():
    top, _, _ = raised([stand(LineString([(-300, 0), (300, 0)]), 30.0, "wire", accuracy_m=100.0)])
    assert at(top, 0, 99) == 130
    assert at(top, 0, 115) == 100


def test_a_support_on_unknown_ground_leaves_its_span_unknown():
    wire = stand(LineString([(-1400, 0), (-500, 0), (500, 0)]), 30.0, "wire")
    top, cause, said = raised([wire])
    assert np.isnan(at(top, -700, 0))
    assert at(cause, -700, 0) == 2
    assert at(top, 0, 0) == 130
    assert [c.code for c in said] == ["wire-support-unknown"]


def test_unknown_ground_stays_unknown_under_an_obstacle():
    ground = np.full((ON.rows, ON.cols), 100.0, np.float32)
    ground[:, :100] = np.nan
    top, cause, _ = raised([stand(Point(0, 0), 40.0, accuracy_m=50.0)], ground)
    assert np.isnan(top[:, :100]).all()
    assert at(top, 5, 5) == 140
    assert (cause[:, :100] == 0).all()


def test_the_highest_thing_is_the_cause_and_the_first_of_equals():
    obstacles = [
        stand(Point(5, 5), 40.0),
        stand(Point(5, 5), 60.0),
        stand(Point(5, 5), 60.0),
        stand(Point(405, 5), 10.0),
    ]
    top, cause, _ = raised(obstacles)
    assert at(top, 5, 5) == 160
    assert at(cause, 5, 5) == 3
    assert at(cause, 405, 5) == 5


def test_a_height_above_sea_level_counts_when_it_is_the_higher():
    top, _, _ = raised([stand(Point(5, 5), 40.0, top_m=155.0), stand(Point(505, 5), 40.0, top_m=120.0)])
    assert at(top, 5, 5) == 155
    assert at(top, 505, 5) == 140


def test_a_stated_vertical_error_is_added():
    top, _, _ = raised(
        [stand(Point(5, 5), 40.0, vertical_error_m=6.0), stand(Point(505, 5), 40.0, vertical_error_m=6.0, top_m=150.0)]
    )
    assert at(top, 5, 5) == 146
    assert at(top, 505, 5) == 156


def test_areas_and_bridges():
    hall = stand(box(-202, -202, -98, -98), 25.0, "building")
    bridge = stand(LineString([(-300, 0), (300, 0)]), 30.0, "bridge")
    dam = stand(LineString([(-300, 500), (300, 500)]), 15.0, "dam")
    top, _, _ = raised([hall, bridge, dam], gorge())
    assert at(top, -205, -150) == 525
    assert at(top, -215, -150) == 500
    assert at(top, -150, -150) == 225  # the part over the gorge's edge
    assert at(top, 0, 0) == 530  # the deck spans the gorge
    assert at(top, 0, 505) == 215  # a dam stands on its bed


def test_more_obstacles_than_the_grid_can_name(monkeypatch):
    monkeypatch.setattr(raising, "_MOST", 2)
    with pytest.raises(LayerError, match="3 obstacles here, at most 2"):
        raised([stand(Point(0, 0))] * 3)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_an_obstacle_never_lowers_the_top(seed):
    rng = np.random.default_rng(seed)
    ground = rng.uniform(0, 300, (ON.rows, ON.cols)).astype(np.float32)
    points = rng.uniform(-950, 950, (6, 2))
    things = [
        stand(LineString(points[:3]), 25.0, "wire"),
        stand(Point(points[3]), 60.0),
        stand(Point(points[4]).buffer(80), 15.0),
    ]
    top, cause, _ = raised(things, ground)
    assert (top >= ground).all()
    assert ((cause == 0) == (top == ground)).all()


# ----------------------------------------------------------------------------------------------------- reading
def test_heights_assumed_are_said(tmp_path):
    path = write_vector(
        tmp_path / "o.geojson", [LineString([(-500, 0), (500, 0)]), Point(0, 300), Point(0, -300)],
        power=["line", None, None], voltage=["110000", None, None], kind=[None, "mast", "whatsit"],
        height=[None, "55 m", "20 m"],
    )  # fmt: skip
    found, cautions = read_obstacles([(path, None)], FRAME, ON, TODAY)
    assert [(o.kind, o.height_m, o.height_assumed, o.is_wire) for o in found] == [
        ("mast", 55.0, False, False), ("obstacle", 20.0, False, False), ("power line", 45.0, True, True),
    ]  # fmt: skip
    said = {c.code: c.values for c in cautions}
    taken = (Finding.of("assumed-height", kind="power line", height_m=45.0),)
    assert said["obstacle-height-assumed"] == {"count": 1, "of": 3, "assumed": taken}
    assert said["obstacle-kind-unknown"] == {"count": 1}
    assert not any("assumed" in o.name for o in found)  # `height_assumed` says it


def test_accuracy_and_vertical_error_columns(tmp_path):
    path = write_vector(
        tmp_path / "o.gpkg", [Point(0, 0)], kind=["mast"], height=[50], accuracy=["100 ft"], height_error=["3 m"]
    )
    mast = read_obstacles([(path, None)], FRAME, ON, TODAY)[0][0]
    assert mast.accuracy_m == pytest.approx(30.48)
    assert mast.vertical_error_m == 3.0


def test_countless_houses_and_trees_are_kept_together(tmp_path):
    shapes = [Point(30 * i, 10 * j) for i in range(20) for j in range(20)] + [
        box(-500 - 20 * i, 0, -490 - 20 * i, 10) for i in range(9)
    ]
    path = write_vector(
        tmp_path / "o.gpkg", shapes, natural=["tree"] * 400 + [None] * 9, building=[None] * 400 + ["yes"] * 9,
        name=[None] * 408 + ["Mill"], height=[20 + i % 2 for i in range(400)] + [9] * 9,
        osm_id=[str(i) for i in range(409)],
    )  # fmt: skip
    found, _ = read_obstacles([(path, None)], FRAME, ON, TODAY)
    assert sorted((o.name, o.height_m) for o in found) == [
        ("building", 9.0),
        ("building Mill", 9.0),
        ("tree", 20.0),
        ("tree", 21.0),
    ]
    assert isinstance(next(o for o in found if o.name == "building").geometry, MultiPolygon)
    assert all(isinstance(o.geometry, MultiPoint) for o in found if o.name == "tree")
    top, _, _ = raised(found)
    for place in shapes[:400]:
        assert at(top, place.x, place.y) == 121
    assert at(top, -495, 5) == 109


def test_the_order_of_obstacles_changes_nothing(tmp_path):
    rows = [(f"n{i % 3}", Point(90 * i, 10 * i), 20 + i) for i in range(9)]
    found = []
    for seed in range(4):
        random.Random(seed).shuffle(rows)
        path = write_vector(
            tmp_path / f"o{seed}.gpkg", [p for _, p, _ in rows],
            name=[n for n, _, _ in rows], kind=["mast"] * 9, height=[h for _, _, h in rows],
        )  # fmt: skip
        found.append(
            [(o.name, o.height_m, o.geometry.wkt) for o in read_obstacles([(path, None)], FRAME, ON, TODAY)[0]]
        )
    assert all(entry == found[0] for entry in found)


# ------------------------------------------------------------------------------------------------- real open data
def test_the_power_lines_of_a_real_openstreetmap_extract(tmp_path):
    """pyrosm's test.osm.pbf (OpenStreetMap contributors, ODbL).

    Debian's ogrinfo lists four power=tower, one power=line of 110 000 V and one power=minor_line there.
    """
    path = package_file("pyrosm", "data/test.osm.pbf")
    lon, lat = middle_of((path, None), "layers.obstacles")
    frame, on = LocalFrame(lat, lon), grid(6000, 20)
    found, cautions = read_obstacles([(path, None)], frame, on, TODAY)
    count = {kind: sum(o.kind == kind for o in found) for kind in ("power tower", "power line", "minor power line")}
    assert count == {"power tower": 4, "power line": 1, "minor power line": 1}
    line = next(o for o in found if o.kind == "power line")
    assert (line.name, line.height_m, line.height_assumed, line.is_wire) == ("power line, 110 kV", 45.0, True, True)
    towers = [o.geometry for o in found if o.kind == "power tower"]
    assert all(line.geometry.distance(tower) < 0.5 for tower in towers)  # they are its supports
    assert {"obstacle-height-assumed", "features-dropped"} <= {c.code for c in cautions}
    ground = np.zeros((on.rows, on.cols), np.float32)
    top, cause = ground.copy(), np.zeros(ground.shape, np.uint16)
    raise_top(top, cause, ground, found, on)
    wire = np.isin(cause, [i + 2 for i, o in enumerate(found) if o.is_wire])
    assert top[wire].min() >= 20


def test_the_real_overhead_lines_of_pandapower(tmp_path):
    """Geometry of a real 20 kV network (pandapower's mv_oberrhein.json): ten overhead sections, the rest is cable."""
    network = json.loads(package_file("pandapower", "networks/mv_oberrhein.json").read_text(encoding="utf-8"))[
        "_object"
    ]
    table = json.loads(network["line"]["_object"])
    rows = [dict(zip(table["columns"], row, strict=True)) for row in table["data"]]
    shapes = [shape(json.loads(row["geo"])) for row in rows]
    path = write_vector(
        tmp_path / "lines.gpkg", shapes, crs="EPSG:4326", name=[row["name"] for row in rows],
        voltage_kv=[20.0] * len(rows),
        power=["line" if row["type"] == "ol" else "cable" for row in rows],
    )  # fmt: skip
    overhead = [s for s, row in zip(shapes, rows, strict=True) if row["type"] == "ol"]
    assert (len(overhead), len(rows)) == (10, 181)
    west, south, east, north = MultiPoint([p for s in overhead for p in s.coords]).bounds
    lat, lon = (south + north) / 2, (west + east) / 2
    water = write_vector(tmp_path / "w.gpkg", [Point(lon, lat).buffer(0.002)], crs="EPSG:4326", kind=["lake"])
    level = flat(tmp_path / "a.tif", 150.0, half=1.0, cell=0.001, crs="EPSG:4326")
    import rasterio

    with rasterio.open(level, "r+") as file:  # move the block onto the Rhine
        file.transform = type(file.transform)(0.001, 0, lon - 1, 0, -0.001, lat + 1)
    opened = open_layers(incident(level, water, drops=[Drop("d", lat, lon)], radius=15_000, obstacles=path))
    ground, on = opened.ground, opened.ground.grid
    assert len(ground.obstacles) == 10
    assert all(o.is_wire and o.height_assumed and o.height_m == 20.0 for o in ground.obstacles)
    (left,) = next(c for c in opened.cautions if c.code == "obstacles-left-out").values["left"]
    assert (left.code, left.values["count"]) == ("obstacle-underground", 171)
    for line in overhead:
        for place in np.linspace(0, 1, 200):
            x, y = opened.frame.to_xy(*line.interpolate(place, normalized=True).coords[0])
            if on.left_m < x < on.right_m and on.bottom_m < y < on.top_m:
                assert at(ground.top, x, y, on) == 170.0
                assert at(ground.cause, x, y, on) >= 2


def test_every_kind_has_a_cautious_height():
    assert min(entry.value for entry in ASSUMED_HEIGHT_M.values()) >= 15
    assert all(entry.source.trust == "assumption" for entry in ASSUMED_HEIGHT_M.values())


def test_the_page_lists_the_heights_that_are_assumed():
    page = (Path(__file__).parents[2] / "docs" / "layers.md").read_text(encoding="utf-8")
    listed = {kind.strip(): float(metres) for kind, metres in re.findall(r"\| ([a-z][\w ]+?) \| (\d+) (?=\|)", page)}
    assert listed == {kind: entry.value for kind, entry in ASSUMED_HEIGHT_M.items()}


def test_the_page_lists_every_caution():
    folder = Path(raising.__file__).parent
    modules = ("canopy", "cross_checks", "grid", "ground", "layers", "obstacles", "raising", "vectors", "water")
    code = "\n".join((folder / f"{name}.py").read_text(encoding="utf-8") for name in modules)
    parts = {
        "lies-at",
        "assumed-height",
        "obstacle-gone",
        "obstacle-off-ground",
        "line-without-width",
    }  # of a caution, or no caution
    said = set(re.findall(r'Finding\.of\(\s*"([a-z-]+)"', code)) - parts
    page = (Path(__file__).parents[2] / "docs" / "layers.md").read_text(encoding="utf-8")
    assert len(said) > 20
    assert said <= set(re.findall(r"`([a-z-]+)`", page.split("## Cautions")[1]))
