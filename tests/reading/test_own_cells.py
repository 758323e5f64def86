"""From files to the working grid: what is covered, what is a hole, and what is no canopy; good ground is all known."""

import numpy as np
import pytest
import rasterio
from affine import Affine
from known_ground import coast, dead_sea, fjord, polders, tarns, wood
from layer_scene import FRAME, grid, incident, laid, write_raster, write_vector
from pyproj import Transformer
from shapely import affinity, box

from diproute.errors import LayerError
from diproute.reading import ground
from diproute.reading.grid import bounds_of
from diproute.reading.ground import open_tiles, read_elevation
from diproute.reading.layers import open_layers
from diproute.reading.raster import open_rasters
from diproute.records import Layers
from diproute.wording import say

KEY = "layers.elevation"
POND = [box(-60, -60, 60, 60)]


def codes(opened):
    return {finding.code for finding in opened.cautions}


def layer(tmp_path, values, cell, name="a.tif", **more):
    """A raster round the drop."""
    rows, cols = values.shape
    return write_raster(tmp_path / name, values.astype(np.float32), -cols * cell / 2, rows * cell / 2, cell, **more)


def opened(tmp_path, values, cell, water=POND, **more):
    shore = write_vector(tmp_path / "water.gpkg", water, kind=["lake"] * len(water))
    room = min(values.shape) * cell / 2 - 20 * cell
    path = layer(tmp_path, values, cell, unit="m")
    return open_layers(incident(path, shore, radius=room - 1000, corridor=250, **more))


# ------------------------------------------------------------------------------------------- no false alarm
@pytest.mark.parametrize("place", [coast, fjord, dead_sea, polders, tarns], ids=lambda place: place.__name__)
def test_known_good_ground_is_all_known(tmp_path, place):
    z, cell = place()
    found = opened(tmp_path, z, cell)
    assert np.isfinite(found.ground.ground).all()
    assert np.isfinite(found.ground.top).all()
    assert not {"elevation-holes", "partly-covered"} & codes(found)


def test_tarns_under_trees_are_all_known(tmp_path):
    z, cell = tarns()
    trees = np.kron(wood((75, 75)), np.ones((4, 4)))
    canopy = layer(tmp_path, trees, cell, "c.tif", nodata=255)
    found = opened(tmp_path, z, cell, canopy=canopy)
    assert np.isfinite(found.ground.top).all()
    assert not {"elevation-holes", "partly-covered", "canopy-no-trees"} & codes(found)
    assert found.ground.top.max() > z.min() + 30


# ------------------------------------------------------------------------------------------- holes
def test_a_flat_hole_in_the_hills_is_not_known_and_said(tmp_path):
    z, cell = tarns()
    z[140:146, 60:67] = 0.0
    z[100:103, 200:205] = -9999.0
    found = opened(tmp_path, z, cell)
    (said,) = (finding for finding in found.cautions if finding.code == "elevation-holes")
    assert said.values["count"] == 42 + 15
    assert said.values["area_m2"] == pytest.approx(57 * cell**2, rel=1e-6)
    assert said.values["flat_m"] == 0.0
    assert "57 cells of the elevation hold numbers that are no ground, the largest of them a flat patch" in say(said)
    row, col = found.ground.grid.rowcol((63.5 - 150) * cell, (150 - 143) * cell)
    assert np.isnan(found.ground.ground[row, col])
    assert np.isnan(found.ground.top[row, col])
    assert np.nanmin(found.ground.ground) > z[z > 100].min() - 1


def test_a_mapped_quarry_lake_is_no_hole(tmp_path):
    z = np.full((300, 300), 40.0)
    z[140:160, 140:160] = 0.0
    quarry = box(-100, -100, 100, 100)
    assert np.isfinite(opened(tmp_path, z, 10.0, [quarry]).ground.ground).all()
    away = affinity.translate(quarry, 0, 400)
    assert "elevation-holes" in codes(opened(tmp_path, z, 10.0, [away]))


def test_a_hole_is_known_where_another_file_covers_it(tmp_path):
    z, cell = tarns()
    pierced = z.copy()
    pierced[140:146, 60:67] = 0.0
    on = grid(2000, 20)
    a, b = layer(tmp_path, pierced, cell, unit="m"), layer(tmp_path, z[:, 40:100], cell, "b.tif", unit="m")
    with rasterio.open(b, "r+") as file:
        file.transform = Affine(cell, 0, -150 * cell + 40 * cell + 7, 0, -cell, 150 * cell + 11)  # on a grid of its own
    named = Layers((a, b), "ground", ())
    tiles, _ = open_tiles(named, FRAME, bounds_of(on), bounds_of(on))
    found = read_elevation(tiles, named, FRAME, on)
    assert np.isfinite(found.ground).all()
    assert found.ground.min() > 500


def test_a_large_file_is_looked_at_in_parts(tmp_path, monkeypatch):
    z, cell = tarns()
    z[140:146, 60:67] = 0.0
    whole = opened(tmp_path, z, cell)
    monkeypatch.setattr(ground, "_JUDGED_CELLS", 300 * 10)
    monkeypatch.setattr(ground, "_OVERLAP", 64)
    parts = opened(tmp_path, z, cell)
    np.testing.assert_array_equal(parts.ground.ground, whole.ground.ground)


def test_feet_taken_for_metres_are_refused_and_a_slip_is_not(tmp_path):
    z, cell = tarns()
    z[10:16, 10:16] = 9500.0
    said = Layers((layer(tmp_path, z, cell, unit="m"),), "ground", ())
    on = grid(4000, 30)
    tiles, _ = open_tiles(said, FRAME, bounds_of(on), bounds_of(on))
    found = read_elevation(tiles, said, FRAME, on)
    assert np.nanmax(found.highest) < 3000
    assert "elevation-holes" in {finding.code for finding in found.cautions}
    unsaid = Layers((layer(tmp_path, z, cell),), "ground", ())
    tiles, _ = open_tiles(unsaid, FRAME, bounds_of(on), bounds_of(on))
    with pytest.raises(LayerError, match="does not say whether its heights are metres or feet"):
        read_elevation(tiles, unsaid, FRAME, on)


# ------------------------------------------------------------------------------------------- what is covered
def test_a_cell_at_the_rim_is_known_only_where_it_is_covered_wholly(tmp_path):
    path = layer(tmp_path, np.full((60, 60), 100.0), 10.0)  # from -300 to 300
    with rasterio.open(path, "r+") as file:
        file.transform = Affine(10, 0, -294, 0, -10, 294)
    found = laid(open_rasters(path, FRAME, KEY), grid(400, 20), best=True)
    x = -400 + 20.0 * np.arange(40)
    inside = (x >= -294) & (x + 20 <= 306)
    inside_y = (-x - 20 >= -306) & (-x <= 294)
    np.testing.assert_array_equal(np.isfinite(found.highest), inside_y[:, None] & inside[None, :])
    np.testing.assert_array_equal(np.isfinite(found.best), np.isfinite(found.highest))


def test_files_of_two_grids_that_meet_leave_no_gap_and_files_that_do_not_meet_do(tmp_path):
    left = write_raster(tmp_path / "l.tif", np.full((50, 30), 100, np.float32), -400, 500, (13.5, 20))  # to x = 5
    right = write_raster(tmp_path / "r.tif", np.full((50, 50), 100, np.float32), 5, 507, 20)
    on = grid(300, 20)
    tiles = [tile for path in (left, right) for tile in open_rasters(path, FRAME, KEY)]
    assert np.isfinite(laid(tiles, on, best=True).best).all()
    apart = write_raster(tmp_path / "r.tif", np.full((50, 50), 100, np.float32), 6, 507, 20)
    tiles = [tile for path in (left, apart) for tile in open_rasters(path, FRAME, KEY)]
    missing = np.isnan(laid(tiles, on).highest)
    assert missing.all(axis=0).sum() == 1
    assert missing[:, 15].all()


def test_posts_stand_for_the_ground_between_them(tmp_path):
    values = np.zeros((60, 60), np.float32)
    values[30, 30] = 50.0
    area = write_raster(tmp_path / "a.tif", values, -600, 600, 20)
    posts = write_raster(tmp_path / "p.tif", values, -600, 600, 20)
    with rasterio.open(posts, "r+") as file:
        file.update_tags(AREA_OR_POINT="Point")
    on = grid(200, 5)
    of_area, of_posts = (laid(open_rasters(path, FRAME, KEY), on).highest for path in (area, posts))
    assert open_rasters(posts, FRAME, KEY)[0].posts
    (across,), (wider,) = ({int((z == 50).sum(axis=1).max())} for z in (of_area, of_posts))
    assert 4 <= across <= 6
    assert 8 <= wider <= 10  # as far as the next post
    assert (of_posts >= of_area).all()


def test_a_base_beyond_the_search_has_its_ground_from_a_tile_of_its_own(tmp_path):
    from diproute.records import Base

    here = write_raster(tmp_path / "here.tif", np.full((400, 400), 100, np.float32), -4000, 4000, 20, unit="m")
    there = write_raster(tmp_path / "there.tif", np.full((400, 600), 120, np.float32), 4000, 4000, 20, unit="m")
    lon, lat = FRAME.to_lonlat(9000.0, 0.0)
    water = write_vector(tmp_path / "w.gpkg", POND, kind=["lake"])
    found = open_layers(
        incident([here, there], water, radius=1500, corridor=200, base=Base(float(lat), float(lon), 0.0))
    )
    row, col = found.ground.grid.rowcol(9000.0, 0.0)
    assert found.ground.ground[row, col] == 120


def test_a_file_of_the_whole_world_has_no_seam(tmp_path):
    """A file of the whole world in quarter degrees, counted from 0, whose seam lies in the search."""
    from diproute.physics.geodesy import LocalFrame

    frame = LocalFrame(50.0, 0.0)
    z = np.arange(1440, dtype=np.float32)[None, :] + np.zeros((720, 1), np.float32)
    path = write_raster(tmp_path / "w.tif", np.minimum(z, 1440 - z), 0, 90, 0.25, "EPSG:4326", unit="m")
    named = Layers((path,), "ground", ())
    on = grid(30_000, 1000)
    on = type(on)(50.0, 0.0, on.left_m, on.top_m, on.cell_m, on.rows, on.cols)
    tiles, _ = open_tiles(named, frame, bounds_of(on), bounds_of(on))
    found = read_elevation(tiles, named, frame, on)
    assert np.isfinite(found.ground).all()
    to_lonlat = Transformer.from_crs(frame.crs, "EPSG:4326", always_xy=True)
    for x, height in ((20_500.0, lambda lon: lon / 0.25 - 0.5), (-20_500.0, lambda lon: 0.5 - lon / 0.25)):
        lon, _ = to_lonlat.transform(x, 500.0)
        assert found.ground[on.rowcol(x, 500.0)] == pytest.approx(height(lon), abs=0.05)


# ------------------------------------------------------------------------------------------- canopy
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda h: h + 800,
            "c.tif is higher than trees are: it holds heights above sea level, decimetres or per cent;",
        ),
        (lambda h: h / 45, "c.tif is nowhere as high as 1.5 m: it holds a share of cover; give heights of the trees"),
    ],
    ids=["above the sea", "share"],
)
def test_what_is_no_canopy_is_refused(tmp_path, change, words):
    canopy = layer(tmp_path, change(wood((300, 300))), 10.0, "c.tif")
    with pytest.raises(LayerError) as caught:
        opened(tmp_path, np.full((300, 300), 500.0), 10.0, canopy=canopy)
    assert words in str(caught.value)
    assert caught.value.where == "layers.canopy"


def test_a_canopy_without_a_tree_is_said(tmp_path):
    canopy = layer(tmp_path, np.zeros((300, 300)), 10.0, "c.tif")
    found = opened(tmp_path, np.full((300, 300), 500.0), 10.0, canopy=canopy)
    assert "canopy-no-trees" in codes(found)
    assert np.isfinite(found.ground.top).all()


@pytest.mark.parametrize("number", [-9999.0, -1.0, 255.0, 32767.0])
def test_a_number_that_no_tree_has_is_never_no_trees(tmp_path, number):
    trees = wood((300, 300))
    trees[100:110, 100:110] = number
    canopy = layer(tmp_path, trees, 10.0, "c.tif")  # no no-data tag
    found = opened(tmp_path, np.full((300, 300), 500.0), 10.0, canopy=canopy)
    assert np.isnan(found.ground.top).sum() == 100
    row, col = found.ground.grid.rowcol(-450.0, 450.0)
    assert np.isnan(found.ground.top[row, col])
