"""Whole plans across the antimeridian and near the pole, against the same ground moved to where nothing is torn.

The ground, a lake, a pond, a wire and a village are laid out round a drop at 179.97° E, so that 180° runs through the
lake, and again 168° further west, where 12° E does. Elevation comes in two tiles, in one file that counts to 360°, and
in a map grid that runs on past 180°; shapes are cut at ±180°, counted on, drawn with both signs, or in the map grid.
"""

import math
from dataclasses import dataclass
from pathlib import Path

import geopandas
import numpy as np
import pytest
import shapely
from layer_scene import write_raster
from pyproj import Transformer
from small_incident import INCIDENT, LAKE, Water, disc, hill, write_toml

from diproute.document.compose import compose
from diproute.physics.geodesy import LocalFrame
from diproute.planning.plan import assess
from diproute.planning.prepared import prepare_ground
from diproute.reading.incident import read_incident
from diproute.reading.layers import open_layers
from diproute.reading.vectors import middle_of, read_features
from diproute.writing.map.draw import map_page
from diproute.writing.map.pack import pack

LAT, HERE, THERE = 42.1, 179.97, 11.97
STEP = 1 / 3600 * 1.25  # of a file in degrees: 28 x 38 m
UTM = {HERE: "EPSG:32660", THERE: "EPSG:32632"}
WATERS = (LAKE, Water("Pond", disc(-1507, -996, 43, 0.9), kind="pond", depth_m=3.0))  # on no line of cells
WIRE = shapely.LineString([(-2500, -1500), (1000, -1400), (4000, -1500)])
VILLAGE = shapely.box(2500, -1400, 3000, -700)


def heights(x, y):
    z = hill(x, y) + 30 * np.sin(x / 400) * np.cos(y / 500) + 30
    for water in WATERS:
        z = np.where(shapely.contains_xy(water.shape.buffer(60), x, y), water.level, z)
    return z.astype(np.float32)


def in_degrees(lon, west, cols, rows=312):
    """Heights of a file in degrees whose first column lies so many cells from the seam."""
    seam = lon + 0.03
    lons = seam + (west + np.arange(cols) + 0.5) * STEP
    lats = LAT + (rows / 2 - np.arange(rows) - 0.5) * STEP
    frame = LocalFrame(LAT, 0.0)
    x, y = frame.to_xy(*np.meshgrid(lons - lon, lats))
    return heights(x, y), (seam + west * STEP, LAT + rows / 2 * STEP)


def tiles(folder, lon):
    """Two tiles that meet at the seam; east of 180 the longitudes are negative."""
    for name, west in (("west", -320), ("east", 0)):
        z, (left, top) = in_degrees(lon, west, 320)
        left = left - 360 if left > 179.999 else left
        write_raster(folder / f"{name}.tif", z, left, top, STEP, "EPSG:4326", unit="m")
    return ["east.tif", "west.tif"]


def to_360(folder, lon):
    z, (left, top) = in_degrees(lon, -320, 640)
    write_raster(folder / "elevation.tif", z, left, top, STEP, "EPSG:4326", unit="m")
    return ["elevation.tif"]


def projected(folder, lon):
    x, y = Transformer.from_crs("EPSG:4326", UTM[lon], always_xy=True).transform(lon, LAT)
    left, top, n = round(x, -2) - 6015.0, round(y, -2) + 6015.0, 401
    east, north = np.meshgrid(left + (np.arange(n) + 0.5) * 30, top - (np.arange(n) + 0.5) * 30)
    lons, lats = Transformer.from_crs(UTM[lon], "EPSG:4326", always_xy=True).transform(east, north)
    z = heights(*LocalFrame(LAT, 0.0).to_xy((lons - lon + 180) % 360 - 180, lats))
    write_raster(folder / "elevation.tif", z, left, top, 30, UTM[lon], unit="m")
    return ["elevation.tif"]


def degrees_of(shape, lon):
    """A shape of the frame in longitudes counted on past 180."""

    def turned(xy):
        lons, lats = LocalFrame(LAT, 0.0).to_lonlat(xy[:, 0], xy[:, 1])
        return np.column_stack([lons + lon, lats])

    return shapely.transform(shape, turned)


def cut(shape, lon):
    """As RFC 7946 wants it: no part runs over ±180."""
    whole = degrees_of(shape, lon)
    west, east = (shapely.intersection(whole, shapely.box(a, -90, a + 180, 90)) for a in (0, 180))
    east = shapely.transform(east, lambda xy: xy - [360, 0])
    parts = [part for part in (west, east) if not part.is_empty]
    return parts[0] if len(parts) == 1 else {2: shapely.MultiPolygon, 1: shapely.MultiLineString}[
        shapely.get_dimensions(whole)
    ](parts)  # fmt: skip


def both_signs(shape, lon):
    """As a careless tool writes it: longitudes within ±180, outlines drawn over the edge."""
    return shapely.transform(
        degrees_of(shape, lon), lambda xy: np.column_stack([(xy[:, 0] + 180) % 360 - 180, xy[:, 1]])
    )


WAYS = {
    "two tiles, shapes cut": (tiles, cut),
    "to 360, shapes counted on": (to_360, degrees_of),
    "two tiles, shapes with both signs": (tiles, both_signs),
    "a map grid": (projected, None),
}


def assessed(incident):
    return assess(prepare_ground(incident), incident.weather)


def place(lon, lat):
    return f"{lat:.6f} N {abs(lon):.6f} {'E' if lon >= 0 else 'W'}"


def write(folder: Path, lon: float, way: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    raster, put = WAYS[way]

    def save(file, shapes, **columns):
        if put is None:
            placed = geopandas.GeoSeries([degrees_of(s, lon) for s in shapes], crs="EPSG:4326").to_crs(UTM[lon])
        else:
            placed = geopandas.GeoSeries([put(s, lon) for s in shapes], crs="EPSG:4326")
        geopandas.GeoDataFrame(columns, geometry=list(placed), crs=placed.crs).to_file(folder / file)

    save(
        "water.gpkg", [w.shape for w in WATERS], name=[w.name for w in WATERS], kind=[w.kind for w in WATERS],
        depth_m=[w.depth_m for w in WATERS], salt=[w.salt for w in WATERS],
    )  # fmt: skip
    save("wires.gpkg", [WIRE], name=["valley line"], kind=["power line"], height_m=[40.0])
    save("avoid.gpkg", [VILLAGE], name=["Village"], because=["people live here"], hard=["yes"])
    east, north = LocalFrame(LAT, 0.0).to_lonlat(3300.0, 1500.0)  # beyond 180
    base = (east + lon + 180) % 360 - 180
    hour = 12.0 if lon == HERE else 0.8  # of the sun, as far from UTC in both places
    offset = f"+{int(hour):02d}:{round(hour % 1 * 60):02d}"
    keys = {
        **INCIDENT, "layers.elevation": raster(folder, lon), "layers.canopy": None, "layers.obstacles": ["wires.gpkg"],
        "layers.avoid": ["avoid.gpkg"], "drop": [{"name": "Head", "at": place(lon, LAT)}],
        "base.at": place(base, north), "when": f"2026-08-14T15:00{offset}", "search.keep": 3,
    }  # fmt: skip
    return write_toml(folder / "incident.toml", keys)


@dataclass(frozen=True)
class Both:
    here: object
    there: object


@pytest.fixture(scope="module", params=list(WAYS))
def incidents(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("antimeridian")
    reference = "a map grid" if request.param == "a map grid" else "to 360, shapes counted on"
    return Both(
        read_incident(write(folder / "here", HERE, request.param)),
        read_incident(write(folder / "there", THERE, reference)),
    )


def test_ground_obstacles_and_water_are_the_same(incidents):
    here, there = open_layers(incidents.here), open_layers(incidents.there)
    assert here.ground.grid.shape == there.ground.grid.shape
    for name in ("ground", "top"):
        np.testing.assert_allclose(getattr(here.ground, name), getattr(there.ground, name), atol=0.05)
        assert np.isfinite(getattr(here.ground, name)).all()
    assert (here.ground.cause == there.ground.cause).mean() > 0.9999
    assert [(w.name, w.kind) for w in here.waters] == [(w.name, w.kind) for w in there.waters]
    for a, b in zip(here.waters, there.waters, strict=True):
        assert a.polygon.hausdorff_distance(b.polygon) < 0.5
        assert (a.level_low_m, a.level_high_m) == pytest.approx((b.level_low_m, b.level_high_m), abs=0.15)
    (a,), (b,) = here.ground.obstacles, there.ground.obstacles
    assert a.geometry.hausdorff_distance(b.geometry) < 0.5
    (a,), (b,) = here.avoid, there.avoid
    assert a.geometry.hausdorff_distance(b.geometry) < 0.5
    assert {f.code for f in here.cautions} == {f.code for f in there.cautions}


def test_the_plan_is_the_same_and_its_map_is_whole(incidents):
    here, there = assessed(incidents.here), assessed(incidents.there)
    assert len(here.usable) == len(there.usable) >= 3
    # ground that differs by centimetres may send the search for a leg to another course that is nearly as good, and the
    # choice among the points of a water to another point
    for name in {site.point.water.name for site in here.usable}:
        of_it = [[s for s in plan.usable if s.point.water.name == name] for plan in (here, there)]
        assert len(of_it[0]) == len(of_it[1])
        best = [max(some, key=lambda site: site.sortie.litres_per_hour) for some in of_it]
        assert best[0].sortie.litres_per_hour == pytest.approx(best[1].sortie.litres_per_hour, rel=0.05)
        assert best[0].line.length_m == best[1].line.length_m
    assert all(abs(site.point.lon_deg) <= 180 for site in here.usable)
    plan = compose(here)
    _, west, _, east = plan.terrain.bounds
    assert west < 180 < east < west + 0.5
    assert plan.terrain.heights.bounds[1] == pytest.approx(west, abs=0.01)
    unpacked = compose(there)
    assert [len(p) for p in (plan.waters, plan.obstacles, plan.avoid)] == [
        len(p) for p in (unpacked.waters, unpacked.obstacles, unpacked.avoid)
    ]
    assert (plan.terrain.heights.rows, plan.terrain.heights.cols) == (
        unpacked.terrain.heights.rows, unpacked.terrain.heights.cols,
    )  # fmt: skip
    shapes = [thing.geometry for thing in (*plan.waters, *plan.obstacles, *plan.avoid)] + [plan.search.area]
    for shape in shapes:
        inside = shapely.get_coordinates(shapely.geometry.shape({"type": shape.type, "coordinates": shape.coordinates}))
        assert (inside[:, 0] > west).all()
        assert (inside[:, 0] < east).all()
    for site in plan.sites:
        for leg in site.routes:
            assert all(west < lon < east for lon, _, _ in leg.path)
    data = pack(plan)
    marks = list(marked(data))
    assert len(marks) > 5
    assert all(west - 0.1 < lon < east + 0.1 for _, lon in marks)
    (_, left), (_, right) = data["map"]["view"]
    assert west - 0.1 < left < right < east + 0.1
    graticule = [line["t"] for line in data["map"]["graticule"]["lon"]]
    assert any(text.startswith("E 179") for text in graticule)
    assert any(text.startswith("W 179") for text in graticule)


def marked(data):
    """Every place that the page's script puts a mark or a word at: latitude and longitude."""
    yield from (site["at"] for site in data["sites"])
    yield from (place[1:3] for place in (*data["map"]["places"], *data["map"]["words"]))
    for site in data["sites"]:
        yield from ([v / 1e5 for v in wire["at"]] for leg in site["legs"] for wire in leg["wires"])


def test_a_drop_line_across_180_has_its_middle_there(tmp_path):
    line = degrees_of(shapely.LineString([(1500, 0), (3500, 0)]), HERE)
    geopandas.GeoSeries([cut(shapely.LineString([(1500, 0), (3500, 0)]), HERE)], crs="EPSG:4326").to_file(
        tmp_path / "cut.gpkg"
    )
    lon, lat = middle_of((tmp_path / "cut.gpkg", None), "drop.along")
    assert abs(lon) <= 180
    middle = line.interpolate(0.5, normalized=True)
    assert (lon % 360, lat) == pytest.approx((middle.x, middle.y), abs=1e-4)


SEAS = {
    "the whole world": (shapely.box(-180, -80, 180, 80), 2000 * 2000),
    "half of it": (shapely.box(0, -80, 180, 80), None),
    "both halves": (shapely.MultiPolygon([shapely.box(-180, -80, -90, 80), shapely.box(90, -80, 180, 80)]), 4e6),
    "counted from 0": (shapely.box(90, -80, 270, 80), 4e6),
}


@pytest.mark.parametrize("sea", SEAS)
def test_a_sea_is_clipped_to_what_is_looked_at(tmp_path, sea):
    shape, area = SEAS[sea]
    geopandas.GeoSeries([shape], crs="EPSG:4326").to_file(tmp_path / "sea.gpkg")
    frame = LocalFrame(LAT, 180.0)
    features, _ = read_features((tmp_path / "sea.gpkg", None), frame, (-1000, -1000, 1000, 1000), "layers.water")
    (feature,) = features
    assert feature.geometry.area == pytest.approx(2e6 if area is None else area, rel=1e-4)
    away, _ = read_features((tmp_path / "sea.gpkg", None), LocalFrame(LAT, 100.0), (-1000, -1000, 1000, 1000), "k")
    assert away[0].geometry.area == pytest.approx(4e6, rel=1e-4)


# --------------------------------------------------------------------------------------------- near the pole
def test_an_incident_at_85_degrees_north_plans_in_a_polar_grid(tmp_path):
    crs, lat, lon = "EPSG:3413", 85.0, 170.0  # polar stereographic, turned by 215 degrees here
    frame = LocalFrame(lat, lon)
    there = Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    x, y = there.transform(lon, lat)
    n, cell = 520, 30.0
    left, top = x - n / 2 * cell, y + n / 2 * cell
    east, north = np.meshgrid(left + (np.arange(n) + 0.5) * cell, top - (np.arange(n) + 0.5) * cell)
    z = heights(*frame.to_xy(*there.transform(east, north, direction="INVERSE")))
    write_raster(tmp_path / "elevation.tif", z, left, top, cell, crs, unit="m")
    waters = geopandas.GeoSeries([w.shape for w in WATERS], crs=frame.crs).to_crs(crs)
    geopandas.GeoDataFrame(
        {"name": [w.name for w in WATERS], "kind": [w.kind for w in WATERS], "depth_m": [w.depth_m for w in WATERS],
         "salt": ["no"] * 2}, geometry=waters,
    ).to_file(tmp_path / "water.gpkg")  # fmt: skip
    base = frame.to_lonlat(-600.0, 2500.0)
    path = write_toml(
        tmp_path / "incident.toml",
        {**INCIDENT, "layers.canopy": None, "drop": [{"name": "Head", "at": place(lon, lat)}], "base.at": place(*base),
         "when": "2026-07-01T12:00+11:00", "search.keep": 2},
    )  # fmt: skip
    plan = assessed(read_incident(path))
    assert len(plan.usable) == 2
    assert np.isfinite(plan.ground.top).all()
    grid = plan.ground.grid
    rows, cols = np.indices(grid.shape)[:, ::40, ::40].reshape(2, -1)
    exact = heights(*grid.xy(rows, cols))
    assert np.abs(plan.ground.ground[rows, cols] - exact).max() < 8  # a shore that is a step lies between two cells
    assert np.median(np.abs(plan.ground.ground[rows, cols] - exact)) < 0.2
    for site in plan.usable:
        away = math.hypot(site.point.x_m, site.point.y_m)
        assert site.route.loaded[0].length_m >= away * 0.999
    assert "<svg" in map_page(compose(plan))
