"""How high water lies: an interval that holds the true level, and no false alarm over good layers."""

import math
from dataclasses import replace

import numpy as np
import pytest
from layer_scene import grid
from pond_scene import SETTINGS, pond
from shapely import Point, Polygon, box

from diproute.reading.water_level import with_levels
from diproute.records import Ground, WaterBody

ON = grid(2000, 10)


def water(shape, kind="lake"):
    return WaterBody("w1", "a", kind, shape, False, math.nan, math.nan, math.nan, None, "made up")


def ground(heights, on=ON, **more):
    heights = np.asarray(heights, dtype=np.float32)
    kept = Ground(
        grid=on, ground=heights, top=heights, cause=np.zeros(on.shape, np.uint16), obstacles=(), vertical_datum="",
        vertical_error_m=None, elevation_is="ground", canopy_known=True, sources=(),
    )  # fmt: skip
    return replace(kept, **more)


def level(shape, heights, kind="lake", on=ON, **more):
    return with_levels([water(shape, kind)], ground(heights, on, **more))[0]


def around(height=900.0, on=ON):
    return np.full(on.shape, height, np.float32)


def test_the_level_is_the_ground_inside_the_shore():
    heights = around()
    heights[165:235, 165:235] = 840.0  # 10 m within the shore the elevation still climbs
    heights[171:229, 171:229] = 815.0
    found = level(box(-300, -300, 300, 300), heights)
    assert (found.level_low_m, found.level_high_m, found.level_spread_m) == (815.0, 815.0, 0.0)
    assert found.cautions == ()


def test_of_cells_of_its_own_5_to_50_in_a_hundred_and_the_error():
    heights = around()
    heights[:] = 800 + 2 * np.random.default_rng(1).random(ON.shape)
    found = level(box(-300, -300, 300, 300), heights, elevation_error_m=1.5)
    assert found.level_low_m == pytest.approx(800 + 0.1 - 1.5, abs=0.05)
    assert found.level_high_m == pytest.approx(800 + 1.0 + 1.5, abs=0.05)
    assert found.cautions == ()


def test_a_small_pond_lies_below_the_cells_that_it_shares():
    pit = around()
    pit[198:200, 200:202] = 815.0
    found = level(box(3, 3, 15, 15), pit)
    assert 815.0 - 7.0 < found.level_low_m < 815.0 - 4.0  # the bank beside it climbs by 7 m in a cell at most
    assert found.level_high_m == 815.0
    trees = level(box(3, 3, 15, 15), pit, elevation_is="surface")
    assert 815.0 - 40.0 < trees.level_low_m < 815.0 - 20.0
    less = level(box(3, 3, 15, 15), pit, elevation_error_m=2.0)
    assert less.level_low_m == pytest.approx(found.level_low_m - 4.0)
    assert less.level_high_m == pytest.approx(817.0)


def test_a_pond_held_above_the_valley_may_lie_above_its_cells():
    heights = around(500.0)
    heights[:200] = 506.0
    found = level(box(-8, -2, 8, 8), heights)
    assert found.level_high_m > 506.0


def test_cells_of_the_file_count_and_not_those_of_the_grid():
    on = grid(600, 30)
    heights = around(320.0, on)
    heights[17:23, 17:23] = 305.0
    fine = level(box(-90, -90, 90, 90), heights, on=on)
    assert (fine.level_low_m, fine.level_high_m) == (305.0, 305.0)
    coarse = level(box(-90, -90, 90, 90), heights, on=on, elevation_cell_m=120.0)
    assert coarse.level_low_m < 305.0 - 5.0


def test_flat_cells_up_to_the_shore_show_the_water_itself_but_not_among_trees():
    heights = around()
    heights[197:203, 199:201] = 815.0  # 60 m by 20 m, exactly
    shape = box(-10, -30, 10, 30)
    found = level(shape, heights)
    assert (found.level_low_m, found.level_high_m) == (815.0, 815.0)
    assert level(shape, heights, elevation_is="surface").level_low_m <= 807.0


@pytest.mark.parametrize("error_m", [0.0, 2.0])
def test_flat_cells_that_hardly_differ_give_both_ends_and_the_error(error_m):
    heights = around()
    heights[197:200, 199:201], heights[200:203, 199:201] = 815.0, 815.2
    found = level(box(-10, -30, 10, 30), heights, elevation_error_m=error_m)
    ends = (found.level_low_m, found.level_high_m)
    assert ends == pytest.approx((815.0 - error_m, 815.2 + error_m))
    assert found.level_spread_m == pytest.approx(0.2, abs=1e-3)


@pytest.mark.parametrize("far_m", [700.0, 990.0, np.nan])
def test_what_lies_further_than_a_cell_from_a_small_pond_says_nothing_of_it(far_m):
    shape = box(3, 3, 15, 15)
    heights = around(far_m)
    heights[197:201, 199:203] = 815.0
    found, alone = level(shape, heights), level(shape, around(815.0))
    for name in ("level_low_m", "level_high_m", "level_spread_m"):
        assert getattr(found, name) == getattr(alone, name)


def test_the_purest_cell_of_a_small_pond_is_one_that_is_known():
    heights = around(820.0)
    heights[199, 200] = np.nan  # it holds most
    found = level(box(0.5, 0.5, 14, 14), heights)
    assert 810.0 < found.level_low_m < found.level_high_m == 820.0


def test_a_wide_interval_is_a_caution():
    assert level(box(3, 3, 15, 15), around(815.0)).cautions == ()
    found = level(box(3, 3, 15, 15), around(815.0), elevation_is="surface")
    (wide,) = (c for c in found.cautions if c.code == "level-wide")
    assert (wide.values["low_m"], wide.values["high_m"]) == (found.level_low_m, found.level_high_m)
    assert found.level_high_m - found.level_low_m > 10


def test_a_sloping_lake_is_flagged_and_a_sloping_river_is_not():
    slope = np.tile(np.linspace(0, 100, ON.cols, dtype=np.float32), (ON.rows, 1))
    shape = box(-500, -300, 500, -100)
    lake, river = level(shape, slope), level(shape, slope, "river")
    assert [c.code for c in lake.cautions] == ["water-slopes", "level-wide"]
    assert lake.cautions[0].values["spread_m"] == lake.level_spread_m > 3
    # columns of 0.25 m: 5th and 50th percentile, and 90th less 10th, of a ramp of 24 m
    assert lake.level_spread_m == pytest.approx(0.8 * 24.0, abs=0.4)
    assert lake.level_low_m == pytest.approx(37.5 + 0.05 * 24.5, abs=0.6)
    assert lake.level_high_m == pytest.approx(50.0, abs=0.3)
    assert river.level_low_m == lake.level_low_m
    assert river.level_high_m == pytest.approx(62.5 - 0.05 * 24.5, abs=0.6)
    assert river.cautions == ()


def test_a_lake_that_stands_above_its_own_shore_takes_the_shore():
    heights = around(790.0)
    heights[170:230, 170:230] = 815.0
    found = level(box(-300, -300, 300, 300), heights)
    assert {c.code for c in found.cautions} == {"above-its-shore", "level-wide"}
    assert next(c for c in found.cautions if c.code == "above-its-shore").values == {"above_m": 25.0}
    assert (found.level_low_m, found.level_high_m) == (790.0, 815.0)


@pytest.mark.parametrize(
    ("below_m", "error_m", "told"), [(3.5, 0.0, True), (2.5, 0.0, False), (13.5, 5.0, True), (12.5, 5.0, False)]
)
def test_a_shore_is_below_its_lake_when_neither_spread_nor_errors_explain_it(below_m, error_m, told):
    heights = around(815.0 - below_m)
    heights[170:230, 170:230] = 815.0
    found = level(box(-300, -300, 300, 300), heights, elevation_error_m=error_m)
    assert ("above-its-shore" in {c.code for c in found.cautions}) == told
    assert found.level_low_m == pytest.approx(815.0 - below_m * told - error_m)


@pytest.mark.parametrize("side", [slice(0, 170), slice(228, 400)])
def test_a_dam_along_one_side_is_no_lake_above_its_shore(side):
    heights = around(830.0)
    heights[170:230, 170:230] = 815.0
    heights[side, 190:210] = 780.0
    assert level(box(-300, -300, 300, 300), heights).cautions == ()


def test_no_ground_no_level():
    for shape in (box(-300, -300, 300, 300), box(3, 3, 15, 15)):
        found = level(shape, around(np.nan))
        assert math.isnan(found.level_low_m)
        assert math.isnan(found.level_high_m)
        assert math.isnan(found.level_spread_m)
        assert [c.code for c in found.cautions] == ["level-unknown"]


@pytest.mark.parametrize("shape", [box(-300, -300, 300, 300), box(-20, -15, 20, 15)])
def test_half_of_the_cells_give_a_level_and_less_do_not(shape):
    for share, known in ((0.75, True), (0.5, True), (0.25, False)):
        heights = around(815.0)
        left, _, right, _ = shape.bounds
        heights[:, 200 + round((left + share * (right - left)) / 10) :] = np.nan
        found = level(shape, heights)
        assert math.isfinite(found.level_low_m) == known
        assert [c.code for c in found.cautions] == ([] if known else ["level-unknown"])


def test_water_that_is_not_on_the_grid_has_no_level():
    for shape in (box(9000, 9000, 9600, 9600), box(9000, 9000, 9012, 9012)):
        assert [c.code for c in level(shape, around(815.0)).cautions] == ["level-unknown"]


# ------------------------------------------------------------------------------------------- good layers, no alarm
def quiet(shape, heights, **more):
    found = level(shape, heights, **more)
    assert found.cautions == ()
    return found.level_low_m, found.level_high_m


def test_a_tarn_under_trees():
    """Bare earth below a wood: the trees are in another layer."""
    y, x = np.meshgrid(*(np.arange(ON.rows) - 199.5,) * 2, indexing="ij")
    heights = 1500 + 0.3 * 10 * np.hypot(x, y).clip(6) - 18
    assert quiet(Point(0, 0).buffer(60), heights) == (1500, 1500)


def test_a_coast_at_sea_level():
    heights = np.tile(np.maximum(0, 2.0 * (np.arange(ON.cols) - 200)).astype(np.float32), (ON.rows, 1))
    assert quiet(box(-2000, -2000, 0, 2000), heights, kind="sea") == (0, 0)


def test_a_basin_below_sea_level():
    heights = around(-400.0)
    heights[100:300, 100:300] = -430.0
    assert quiet(box(-1000, -1000, 1000, 1000), heights) == (-430.0, -430.0)


def test_a_lake_above_the_polder_beside_it():
    heights = around(-4.0)
    heights[165:235, 165:235] = 1.0  # the dyke
    heights[170:230, 170:230] = -2.0
    assert quiet(box(-300, -300, 300, 300), heights) == (-2.0, -2.0)


def test_water_at_the_edge_of_what_is_looked_at():
    shape = Polygon([(-3000, -300), (-1700, -300), (-1700, 300), (-3000, 300)])
    heights = around()
    heights[170:230, :30] = 815.0
    assert quiet(shape, heights) == (815.0, 815.0)


# ------------------------------------------------------------------------------------------------------ many ponds
@pytest.mark.parametrize("setting", SETTINGS, ids=lambda setting: setting.name)
def test_the_true_level_lies_within(setting):
    """Four ponds a setting; `tests/bench/levels.py` looks at 150."""
    for seed in range(4):
        unknown, seen, true_m = pond(setting, seed)
        (found,) = with_levels([unknown], seen)
        assert found.level_low_m - 0.05 <= true_m <= found.level_high_m + 0.05, f"{setting.name}, pond {seed}"


def test_wide_water_in_a_wood_is_known_well():
    setting = next(s for s in SETTINGS if s.name == "surface, wood, larger ponds")
    unknown, seen, true_m = next(made for seed in range(9) if (made := pond(setting, seed))[0].polygon.area > 60_000)
    (found,) = with_levels([unknown], seen)
    assert found.level_high_m - found.level_low_m < 0.5
    assert found.level_low_m == pytest.approx(true_m, abs=0.5)
