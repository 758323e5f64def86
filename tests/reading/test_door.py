"""The door to GDAL: its drivers, its limits, and what becomes of broken areas."""

import json
import os
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pyogrio
import pytest
import rasterio
import shapely
from hypothesis import given
from hypothesis import strategies as st
from layer_scene import FRAME, flat, incident, write_raster, write_vector

from diproute.errors import LayerError
from diproute.reading import drivers, limits, raster
from diproute.reading.layers import open_layers
from diproute.reading.refusals import told
from diproute.reading.repair import crossings, repaired
from diproute.reading.vectors import read_features

AREA = (-5000.0, -5000.0, 5000.0, 5000.0)
LAKE = shapely.box(-200, -200, 200, 200)


# --- drivers ----------------------------------------------------------------------------------------------------
def test_every_driver_of_the_builds_is_kept_or_left_out():
    with rasterio.Env() as environment:
        there = set(environment.drivers()) | set(pyogrio.list_drivers())
    assert there <= drivers.KEPT | set(drivers.LEFT_OUT)
    assert not drivers.KEPT & set(drivers.LEFT_OUT)
    assert len(set(drivers.LEFT_OUT)) == len(drivers.LEFT_OUT)


def test_a_process_where_gdal_runs_is_left_as_it_is():
    before = dict(os.environ)
    assert drivers.arm() is False
    assert dict(os.environ) == before
    assert not drivers.armed()


ARMED = """
import json, os, sys, threading, warnings
os.environ["PROJ_NETWORK"] = "ON"
from diproute.reading.drivers import arm, armed, check_drivers
assert arm() and armed()
check_drivers()
import numpy, geopandas, pyogrio, pyproj, rasterio, shapely
found = []
def look():
    with rasterio.Env() as environment:
        found.append(sorted(set(environment.drivers()) | set(pyogrio.list_drivers())))
look()
again = threading.Thread(target=look); again.start(); again.join()
look()
folder = sys.argv[1]
table = geopandas.GeoDataFrame({"name": ["a"]}, geometry=[shapely.Point(1, 2)], crs="EPSG:4326")
for driver, ending in (("GPKG", "gpkg"), ("LIBKML", "kml"), ("GPX", "gpx"), ("GeoJSON", "geojson")):
    pyogrio.write_dataframe(table, f"{folder}/a.{ending}", driver=driver)
warnings.simplefilter("ignore")
for driver in ("WEBP", "PNG"):
    with rasterio.io.MemoryFile() as memory:
        with memory.open(driver=driver, width=9, height=9, count=3, dtype="uint8") as picture:
            picture.write(numpy.zeros((3, 9, 9), "uint8"))
print(json.dumps({"found": found, "network": pyproj.network.is_network_enabled()}))
"""


def test_an_armed_process_has_ours_and_no_network(tmp_path):
    done = subprocess.run([sys.executable, "-c", ARMED, tmp_path], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    said = json.loads(done.stdout)
    assert said["network"] is False
    first, second, third = (set(names) for names in said["found"])
    assert first == second == third
    assert first <= drivers.KEPT
    assert first >= drivers.RASTER | drivers.VECTOR | drivers.WRITTEN


def test_it_fails_closed_when_a_driver_is_unknown(monkeypatch):
    monkeypatch.setattr(drivers, "KEPT", drivers.KEPT | set(drivers.LEFT_OUT) - {"WMS"})
    with pytest.raises(LayerError, match="drivers that diproute does not know: WMS; install"):
        drivers.check_drivers()


LARGE = """
import sys
from diproute.reading.drivers import arm
arm()
from pathlib import Path
from diproute.errors import LayerError
from diproute.reading.door import vector
with vector(Path(sys.argv[1]), "layers.water") as file:
    try:
        file.read("a", None)
    except LayerError as error:
        print(error)
"""


def test_a_geojson_feature_of_over_64_mb_is_refused(tmp_path):
    path = tmp_path / "a.geojson"
    many = ", ".join(f'"{letter}": "{letter * 3_000_000}"' for letter in "abcdefghijklmnopqrstuvwx")
    feature = f'{{"type": "Feature", "properties": {{{many}}}, "geometry": null}}'
    path.write_text(f'{{"type": "FeatureCollection", "features": [{feature}]}}')
    done = subprocess.run([sys.executable, "-c", LARGE, path], capture_output=True, text=True, timeout=120)
    assert "GeoJSON object too complex/large" in done.stdout, done
    assert done.stdout.startswith("layers.water: a.geojson cannot be read")


# --- limits -----------------------------------------------------------------------------------------------------
def refused(entry, match):
    with pytest.raises(LayerError, match=match) as caught:
        read_features((entry, None), FRAME, AREA, "layers.water")
    assert "\n" not in str(caught.value)


def test_a_feature_of_too_many_vertices(tmp_path):
    turn = np.linspace(0, 2 * np.pi, 1_000_002)
    circle = shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]) * 900)
    refused(write_vector(tmp_path / "a.gpkg", [circle]), "a.gpkg has a feature of 100000. vertices, at most 1000000")


def test_a_layer_of_too_many_vertices_and_features(tmp_path, monkeypatch):
    path = write_vector(tmp_path / "a.gpkg", [LAKE] * 20)
    monkeypatch.setattr(limits, "MOST_VERTICES", 99)
    refused(path, "a.gpkg has 100 vertices here, at most 99 are read; cut it to the search")
    monkeypatch.setattr(limits, "MOST_VERTICES", 100)
    assert len(read_features((path, None), FRAME, AREA, "layers.water")[0]) == 20
    monkeypatch.setattr(limits, "MOST_FEATURES", 19)
    refused(path, "a.gpkg has more than 19 features here; cut it to the search")


def test_what_lies_elsewhere_does_not_count(tmp_path, monkeypatch):
    path = write_vector(tmp_path / "a.gpkg", [LAKE, *[shapely.box(90_000, 0, 90_001, 1)] * 20])
    monkeypatch.setattr(limits, "MOST_FEATURES", 1)
    assert len(read_features((path, None), FRAME, AREA, "layers.water")[0]) == 1


def test_too_many_cells_within_the_search(tmp_path):
    path = tmp_path / "a.tif"
    with rasterio.open(
        path, "w", driver="GTiff", width=40_000, height=40_000, count=1, dtype="float32", crs=FRAME.crs.to_wkt(),
        transform=rasterio.Affine(0.1, 0, -2000, 0, -0.1, 2000), tiled=True, sparse_ok=True, bigtiff="YES",
        blockxsize=512, blockysize=512,
    ):  # fmt: skip
        pass
    water = write_vector(tmp_path / "w.gpkg", [LAKE], kind=["lake"])
    with pytest.raises(
        LayerError, match=r"layers\.elevation: 1\d\d\d million cells lie within what is looked at, at mo"
    ):
        open_layers(incident(path, water, radius=1100, corridor=200))


def test_cells_elsewhere_do_not_count(tmp_path, monkeypatch):
    water = write_vector(tmp_path / "w.gpkg", [LAKE], kind=["lake"])
    monkeypatch.setattr(raster, "MOST_CELLS", 60_000)
    open_layers(incident(flat(tmp_path / "a.tif", half=2000.0), water, radius=400, corridor=200))


# --- a raster's place -------------------------------------------------------------------------------------------
PLACES = {
    "nan": rasterio.Affine(float("nan"), 0, 0, 0, -10, 0),
    "zero": rasterio.Affine(0, 0, 0, 0, 0, 0),
    "not invertible": rasterio.Affine(10, 10, 0, 10, 10, 0),
    "infinite": rasterio.Affine(10, 0, float("inf"), 0, -10, 0),
    "none": rasterio.Affine.identity(),
}


@pytest.mark.parametrize("kind", PLACES)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_a_raster_without_a_place_is_refused(tmp_path, kind):
    path = flat(tmp_path / "a.tif")
    with rasterio.open(path, "r+") as file:
        file.transform = PLACES[kind]
    with pytest.raises(
        LayerError, match=r"layers\.elevation: a\.tif (does not say where on the ground|cannot be read)"
    ):
        open_layers(incident(path, write_vector(tmp_path / "w.gpkg", [LAKE])))


def test_a_raster_of_another_world_is_refused(tmp_path):
    moon = 'GEOGCS["Moon 2000",DATUM["D_Moon_2000",SPHEROID["Moon_2000",1737400,0]],PRIMEM["Reference_Meridian",0],'
    path = write_raster(
        tmp_path / "a.tif", np.zeros((9, 9), np.float32), -161, 43, 0.3, moon + 'UNIT["degree",0.0174532925199433]]'
    )
    with pytest.raises(LayerError, match=r"layers\.elevation: a\.tif cannot be read: .*celestial"):
        open_layers(incident(path, write_vector(tmp_path / "w.gpkg", [LAKE])))


def test_complex_numbers_and_one_row_are_no_heights(tmp_path):
    water = write_vector(tmp_path / "w.gpkg", [LAKE])
    for values, match in ((np.zeros((9, 9), np.complex64), "complex64"), (np.zeros((1, 9), np.float32), "9 x 1 cells")):
        path = write_raster(tmp_path / "a.tif", values, -45, 45, 10)
        with pytest.raises(LayerError, match=match):
            open_layers(incident(path, water))


# --- the catch --------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("error", "said"),
    [
        (MemoryError(), "needs more memory than there is"),
        (PermissionError(13, "Permission denied"), "may not be read by you"),
        (UnicodeDecodeError("utf-8", b"\xff", 0, 1, "invalid start byte"), "cannot be read: 'utf-8' codec"),
        (RuntimeError("two\nlines \x1b[31m"), r"cannot be read: two lines \x1b[31m; get it anew"),
        (UnboundLocalError(), "cannot be read: UnboundLocalError; get it anew"),
        (OSError(36, "File name too long"), "cannot be read: [Errno 36] File name too long"),
    ],
)
def test_whatever_a_library_raises_is_one_line(error, said):
    with pytest.raises(LayerError) as caught, told("layers.water", "a.gpkg"):
        raise error
    message = str(caught.value)
    assert message.startswith("layers.water: a.gpkg ")
    assert said in message
    assert message.isprintable()


# --- broken areas -----------------------------------------------------------------------------------------------
def star(points: int) -> shapely.Polygon:
    """One with an odd number of points, drawn in one go, each edge across most of the others."""
    turn = np.arange(points) * np.pi * (1 - 1 / points)
    return shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]))


@pytest.mark.parametrize("points", [5, 7, 51, 201])
def test_the_crossings_are_counted_point_by_point(points):
    assert crossings(star(points)) == points * (points - 3) // 2


def brute(shape: shapely.Polygon) -> int:
    """Pairs of edges that cross inside both, each pair looked at."""
    found = 0
    ring = shapely.get_coordinates(shape)
    edges = list(pairwise(ring))

    def side(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    for i, (a, b) in enumerate(edges):
        for c, d in edges[i + 1 :]:
            found += side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
    return found


@given(st.integers(0, 2**32 - 1), st.integers(4, 60))
def test_crossings_are_those_of_every_pair(seed, corners):
    shape = shapely.Polygon(np.random.default_rng(seed).uniform(-100, 100, (corners, 2)))
    assert crossings(shape) == brute(shape)


def test_the_counting_ends_early():
    assert crossings(star(2001)) == limits.MOST_CROSSINGS + 1


def test_holes_stay_holes_and_what_has_no_extent_stands():
    bow_tie = shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])
    holed = shapely.Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(2, 2), (5, 5), (5, 2), (2, 5)]])
    thin = shapely.Polygon([(0, 0), (1, 0), (2, 0)])
    point = shapely.Point(1, 1)
    still = shapely.LineString([(3, 3), (3, 3)])
    made = repaired(np.array([bow_tie, holed, thin, point, still, None], dtype=object), "a.gpkg", "layers.water")
    assert all(shapely.is_valid(shape) for shape in made[:5])
    assert made[0].area == pytest.approx(2.0)
    assert made[1].area == pytest.approx(81 - 4.5)
    assert not made[1].contains(shapely.Point(2.2, 3.5))
    assert made[2].bounds == (0, 0, 2, 0)
    assert made[3] == point
    assert made[4].distance(shapely.Point(3, 3)) == 0.0
    assert not made[4].is_empty
    assert made[5] is None


def test_two_columns_of_one_name_are_refused(tmp_path):
    path = write_vector(tmp_path / "a.shp", [LAKE], kind=["lake"], kine=["sea"])
    table = path.with_suffix(".dbf")
    table.write_bytes(table.read_bytes().replace(b"kine", b"kind"))
    refused(path, "a.shp has two columns of the name 'kind'; rename one")


STUMBLES = """
import sys
from types import SimpleNamespace
from diproute.reading.drivers import arm
from diproute.reading.refusals import told
arm()
hooks = sys.excepthook, sys.unraisablehook
error = ValueError("its own log")
said = SimpleNamespace(exc_type=ValueError, exc_value=error, exc_traceback=None, err_msg=None, object="a library")
with told("layers.elevation", "a.img"):
    sys.excepthook(ValueError, error, None)
    sys.unraisablehook(said)
assert (sys.excepthook, sys.unraisablehook) == hooks
"""


def test_a_library_that_stumbles_over_its_own_log_is_not_heard():
    done = subprocess.run([sys.executable, "-c", STUMBLES], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")


def test_the_hooks_of_a_host_are_left_alone():
    hooks = sys.excepthook, sys.unraisablehook
    with told("layers.elevation", "a.img"):
        assert (sys.excepthook, sys.unraisablehook) == hooks


def test_a_nan_that_signals_is_a_hole_like_any_other(tmp_path):
    values = np.full((600, 600), 100.0, np.float32)
    values.view(np.uint32)[290:310, 200:220] = 0x7F800001
    path = write_raster(tmp_path / "a.tif", values, -3000, 3000, 10, unit="ft")
    water = write_vector(tmp_path / "w.gpkg", [LAKE], kind=["lake"])
    ground = open_layers(incident(path, water, radius=1000, corridor=200)).ground.ground
    assert np.nanmax(ground) == pytest.approx(30.48)
