"""Trees on the working grid: added and marked, and not known where no layer knows them."""

import numpy as np
import pytest
from layer_scene import flat, incident, write_raster, write_vector
from shapely import box

from diproute.reading.canopy import taller_than
from diproute.reading.layers import open_layers


def lake(tmp_path):
    return write_vector(tmp_path / "water.gpkg", [box(-200, -200, 200, 200)], kind=["lake"])


def test_trees_are_added_and_marked(tmp_path):
    wood = np.zeros((100, 100), np.float32)
    wood[:, 50:] = 25
    canopy = write_raster(tmp_path / "c.tif", wood, -1500, 1500, 30)
    ground = open_layers(
        incident(flat(tmp_path / "a.tif", 300), lake(tmp_path), radius=500, corridor=200, canopy=canopy)
    ).ground
    trees = ground.cause == 1
    assert ground.canopy_known
    assert set(np.unique(ground.top[trees])) == {325.0}
    assert set(np.unique(ground.top[~trees])) == {300.0}
    assert (ground.ground == 300).all()
    assert trees[:, ground.grid.cols // 2 + 1 :].all()
    assert not trees[:, : ground.grid.cols // 2 - 3].any()


def test_unknown_trees_are_not_known_but_on_open_water(tmp_path):
    wood = np.full((100, 100), 20, np.uint8)
    wood[30:70, 30:70] = 255  # the lake of 400 m and its shore
    canopy = write_raster(tmp_path / "c.tif", wood, -1500, 1500, 30, nodata=255)
    opened = open_layers(
        incident(flat(tmp_path / "a.tif", 300), lake(tmp_path), radius=700, corridor=200, canopy=canopy)
    )
    top, on = opened.ground.top, opened.ground.grid
    x = on.left_m + (np.arange(on.cols) + 0.5) * on.cell_m
    y = on.top_m - (np.arange(on.rows) + 0.5) * on.cell_m
    water = (abs(x) < 190)[None, :] & (abs(y) < 190)[:, None]
    hole = (abs(x) < 590)[None, :] & (abs(y) < 590)[:, None]
    shore = hole & ~((abs(x) < 215)[None, :] & (abs(y) < 215)[:, None])
    assert (top[water] == 300).all()
    assert np.isnan(top[shore]).all()
    assert "partly-covered" in {c.code for c in opened.cautions}
    assert np.isnan(top[:, :3]).sum() == 0


def test_beyond_the_canopy_raster_nothing_is_known(tmp_path):
    canopy = write_raster(tmp_path / "c.tif", np.zeros((40, 40), np.float32), -600, 600, 30)
    opened = open_layers(
        incident(flat(tmp_path / "a.tif", 300), lake(tmp_path), radius=900, corridor=200, canopy=canopy)
    )
    on = opened.ground.grid
    assert np.isnan(opened.ground.top[on.rows // 2, 5])
    assert opened.ground.top[on.rows // 2, on.cols // 2] == 300
    assert any(c.code == "partly-covered" and c.values["what"] == "canopy height" for c in opened.cautions)


def test_trees_higher_than_any_are_no_trees(tmp_path):
    canopy = write_raster(tmp_path / "c.tif", np.full((100, 100), 255, np.uint8), -1500, 1500, 30)
    opened = open_layers(
        incident(flat(tmp_path / "a.tif", 300), lake(tmp_path), radius=400, corridor=200, canopy=canopy)
    )
    assert np.isnan(opened.ground.top[0]).all()


def test_woods_as_areas(tmp_path):
    woods = write_vector(
        tmp_path / "woods.geojson", [box(-500, 300, -300, 500), box(-400, 300, -200, 500), box(300, 300, 500, 500)],
        height=["20 m", "60 ft", None],
    )  # fmt: skip
    opened = open_layers(
        incident(flat(tmp_path / "a.tif", 300), lake(tmp_path), radius=600, corridor=200, canopy=woods)
    )

    def at(x, y):
        on = opened.ground.grid
        row, col = int((on.top_m - y) / on.cell_m), int((x - on.left_m) / on.cell_m)
        return opened.ground.top[row, col]

    assert at(-450, 400) == 320
    assert at(-350, 400) == 320  # the taller of two
    assert at(-250, 400) == pytest.approx(300 + 60 * 0.3048, abs=1e-3)
    assert np.isnan(at(400, 400))
    assert at(0, 400) == 300
    assert "tree-height-unknown" in {c.code for c in opened.cautions}


def test_trees_in_a_surface_model_are_not_added_twice(tmp_path):
    """A surface of 300 m with woods 25 m tall on its east, and a canopy of the same, or taller, or of other woods."""
    east = np.arange(300) >= 150
    surface = np.tile(np.where(east, 325.0, 300.0).astype(np.float32), (300, 1))
    path = write_raster(tmp_path / "a.tif", surface, -1500, 1500, 10, unit="m")
    for height, where, top in ((25.0, east, 325.0), (15.0, east, 325.0), (32.0, east, 332.0), (25.0, ~east, 325.0)):
        trees = np.tile(np.where(where, height, 0.0).astype(np.float32), (300, 1))
        canopy = write_raster(tmp_path / "c.tif", trees, -1500, 1500, 10)
        asked = incident(path, lake(tmp_path), radius=400, corridor=200, canopy=canopy, elevation_is="surface")
        opened = open_layers(asked)
        row, col = opened.ground.grid.rowcol(np.array([-25.0, 25.0]), np.array([5.0, 5.0]))
        west_m, east_m = opened.ground.top[row, col]
        assert (east_m, west_m) == ((top, 300.0) if where is east else (325.0, 325.0))
        assert list(opened.ground.cause[row, col]) == [int(where is not east), int(height > 25)]
        assert {"canopy-beside-surface", "bare-earth-unknown"} <= {c.code for c in opened.cautions}


def test_a_canopy_that_is_not_known_leaves_the_surface_as_it_is():
    surface = np.array([[300.0, 300.0, 310.0, np.nan]], np.float32)
    canopy = np.array([[np.nan, 20.0, 5.0, 20.0]], np.float32)
    np.testing.assert_array_equal(taller_than(surface, canopy, 10.0), [[0.0, 20.0, 0.0, 0.0]])


def test_without_a_canopy_the_trees_are_not_known(tmp_path):
    opened = open_layers(incident(flat(tmp_path / "a.tif", 300), lake(tmp_path), radius=400, corridor=200))
    assert not opened.ground.canopy_known
    assert "trees-unknown" in {c.code for c in opened.cautions}


def test_vertical_errors_add_as_squares(tmp_path):
    canopy = write_raster(tmp_path / "c.tif", np.zeros((100, 100), np.float32), -1500, 1500, 30)
    asked = incident(
        flat(tmp_path / "a.tif"), lake(tmp_path), radius=400, corridor=200, canopy=canopy, elevation_error_m=4.0,
        canopy_error_m=3.0,
    )  # fmt: skip
    assert open_layers(asked).ground.vertical_error_m == 5.0
    assert open_layers(incident(flat(tmp_path / "a.tif"), lake(tmp_path), radius=400)).ground.vertical_error_m is None
