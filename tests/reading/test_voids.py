"""Holes that come as numbers are found, and known-good ground and canopy raise no alarm."""

import numpy as np
import pytest
from known_ground import (
    coast,
    coast_of_cliffs,
    dead_sea,
    fjord,
    jacksboro,
    polders,
    rockies,
    tarns,
    town_by_the_sea,
    wood,
    wood_by_the_sea,
)
from scipy import ndimage

from diproute.reading.voids import HABITS, SENTINELS, canopy_unknown, elevation_unknown

FT = 0.3048


GOOD = [jacksboro, rockies, coast, coast_of_cliffs, fjord, dead_sea, polders, tarns, town_by_the_sea, wood_by_the_sea]


@pytest.mark.parametrize("water", [False, True], ids=["no water layer", "a water layer"])
@pytest.mark.parametrize("ground", GOOD, ids=lambda g: g.__name__)
def test_known_ground_raises_no_alarm(ground, water):
    z, cell = ground()
    z = z.astype(np.float32)
    bodies = flat_water(z) if water else None
    found = elevation_unknown(z, 1.0, cell, bodies)
    assert found.patches == ()
    assert not found.mask.any()
    assert (found.untold, found.impossible, found.in_patches, found.smeared) == (0, 0, 0, 0)


def flat_water(z):
    """Lakes as a water layer has them: flat patches of 40 cells and more, by their number."""
    flat = (ndimage.maximum_filter(z, 3) == z) & (ndimage.minimum_filter(z, 3) == z)
    label, count = ndimage.label(ndimage.binary_dilation(flat), np.ones((3, 3)))
    large = np.bincount(label.ravel(), minlength=count + 1) >= 40
    return np.where(large[label], label, 0).astype(np.int32)


PLANTED = [(value, size) for value in (0.0, 1.0, -1.0, -99.0, -500.0) for size in (1, 3, 6, 30)] + [
    (137.0, 6), (137.0, 30)  # of any number from 25 cells on
]  # fmt: skip


@pytest.mark.parametrize("ground", [jacksboro, rockies, tarns], ids=lambda g: g.__name__)
@pytest.mark.parametrize(("value", "size"), PLANTED)
def test_holes_inland_are_found(ground, value, size):
    z, cell = ground()
    z = z.astype(np.float32).copy()
    lowest = value + max(60.0, 3 * cell) if value not in HABITS else value + 25.0
    rng = np.random.default_rng(size)
    planted = np.zeros(z.shape, bool)
    made = 0
    while made < 5:
        row, col = rng.integers(2, np.array(z.shape) - size - 2)
        if z[row - 2 : row + size + 2, col - 2 : col + size + 2].min() > lowest and not planted[row, col]:
            planted[row : row + size, col : col + size] = True
            made += 1
    real = z.copy()
    z[planted] = value
    found = elevation_unknown(z, 1.0, cell)
    assert found.mask[planted].all()
    assert found.patches
    assert {patch.value_m for patch in found.patches} == {value}
    assert (found.mask & ~planted).sum() <= found.smeared
    assert np.abs(real - z)[found.mask & ~planted].max(initial=0) == 0


@pytest.mark.parametrize("value", [0.0, 300.0])
def test_a_hole_in_a_mapped_lake_is_a_hole(value):
    z, cell = jacksboro()
    lake = flat_water(z)
    body = np.argmax(np.bincount(lake[lake > 0]))
    middle = ndimage.binary_erosion(lake == body, np.ones((3, 3)), iterations=2)
    row, col = np.argwhere(middle)[len(np.argwhere(middle)) // 2]
    z[row - 1 : row + 2, col - 1 : col + 2] = value
    found = elevation_unknown(z, 1.0, cell, lake)
    assert bool(found.patches) == (value == 0.0)  # 5 m under a lake of 305 m is no hole


def test_a_mapped_water_is_exempt_and_the_same_without_is_not():
    """A flooded quarry: 0 with walls of 40 m all round."""
    z = np.full((60, 60), 40.0, np.float32)
    z[20:40, 20:40] = 0.0
    water = np.zeros(z.shape, np.int32)
    assert elevation_unknown(z, 1.0, 10.0).in_patches == 400
    assert elevation_unknown(z, 1.0, 10.0, water).in_patches == 400
    water[19:41, 19:41] = 3
    assert elevation_unknown(z, 1.0, 10.0, water).patches == ()
    water[20:40, :] = 3  # a long lake: the patch is not most of it
    water[:, 20:40] = 3
    assert elevation_unknown(z, 1.0, 10.0, water).in_patches == 400


def test_flat_low_ground_where_no_water_is_mapped():
    """0 that lies 6 m under all its surroundings: water, if water is not mapped; a hole, if it is mapped elsewhere."""
    z = np.full((60, 60), 6.0, np.float32)
    z[20:40, 20:40] = 0.0
    assert elevation_unknown(z, 1.0, 10.0).patches == ()
    assert elevation_unknown(z, 1.0, 10.0, np.zeros(z.shape, np.int32)).in_patches == 400


def test_a_shore_that_leads_down_makes_it_water():
    z = np.full((60, 60), 300.0, np.float32)
    z[20:40, 20:40] = 0.0
    z[0:20, 28:31] = np.arange(20, 0, -1)[:, None]  # a valley
    assert elevation_unknown(z, 1.0, 10.0).patches == ()


@pytest.mark.parametrize("value", [*SENTINELS, -501.0, 9001.0, -12_000.0, np.inf, -np.inf])
def test_impossible_numbers(value):
    z, cell = jacksboro()
    z[100:110, 100:120] = value
    found = elevation_unknown(z, 1.0, cell)
    assert found.impossible == 200
    assert found.mask[100:110, 100:120].all()
    assert found.mask.sum() == 200


def test_numbers_are_looked_at_in_the_file_s_own_unit():
    z = np.full((20, 20), 9_500.0, np.float32)  # feet
    assert not elevation_unknown(z, FT, 10.0).mask.any()
    assert elevation_unknown(z, 1.0, 10.0).mask.all()
    z[5, 5] = -32768.0  # in centimetres no depth that cannot be
    assert elevation_unknown(z, 0.01, 10.0).impossible == 1
    z[10:12, 10:12] = 0.0
    assert elevation_unknown(z, 0.1, 10.0).in_patches == 4


@pytest.mark.parametrize("tagged", [False, True])
@pytest.mark.parametrize("sentinel", [-9999.0, -32768.0])
def test_what_resampling_mixed_with_a_hole_is_unknown(sentinel, tagged):
    z, cell = jacksboro()
    z = ndimage.zoom(z[:200, :200], 2, order=1)
    cell /= 2
    hole = np.zeros(z.shape, bool)
    hole[150:200, 180:230] = True
    with_hole = np.where(hole, sentinel, z)
    mixed = ndimage.shift(with_hole, (0.4, 0.7), order=1, mode="nearest").astype(np.float32)
    clean = ndimage.shift(z, (0.4, 0.7), order=1, mode="nearest")
    if tagged:
        mixed[mixed == np.float32(sentinel)] = np.nan
    found = elevation_unknown(mixed, 1.0, cell)
    off = np.abs(mixed - clean) > max(60.0, 2 * cell) + 30
    assert off.sum() > 100
    assert found.mask[off].all()
    far = ~ndimage.binary_dilation(hole, np.ones((3, 3)), iterations=4)
    assert not found.mask[far].any()


def test_the_rim_of_a_tagged_hole_stays_known():
    z, cell = jacksboro()
    z[100:150, 100:150] = np.nan
    found = elevation_unknown(z, 1.0, cell)
    assert found.untold == 2500
    assert found.mask.sum() == 2500


def test_an_elevation_that_knows_nothing():
    nothing = np.full((10, 10), np.nan, np.float32)
    assert elevation_unknown(nothing, 1.0, 10.0).mask.all()
    zero = np.zeros((10, 10), np.float32)  # the sea, or an empty file: its rim is not seen
    assert not elevation_unknown(zero, 1.0, 10.0).mask.any()


def test_patches_against_scipy_s_labels():
    """The twin: patches of equal cells, their rim and what leads down, by SciPy and loops."""
    rng = np.random.default_rng(9)
    z = (rng.choice([0.0, 50.0, 90.0, 137.0], (60, 60), p=[0.5, 0.1, 0.1, 0.3]) * 3).astype(np.float32)
    z[rng.random(z.shape) < 0.1] = np.nan
    expected = np.zeros(z.shape, bool)
    for value in np.unique(z[~np.isnan(z)]):
        label, count = ndimage.label(z == value, np.ones((3, 3)))
        for n in range(1, count + 1):
            inside = label == n
            step = 25.0 if value in HABITS else max(60.0, 3 * 20.0) if inside.sum() >= 25 else None
            if step is None:
                continue
            rises = [
                z[a, b] - value
                for i, j in np.argwhere(inside)
                for a in range(max(i - 1, 0), min(i + 2, 60))
                for b in range(max(j - 1, 0), min(j + 2, 60))
                if not inside[a, b] and not np.isnan(z[a, b])
            ]
            if len(rises) >= 3 and sum(rise <= step for rise in rises) <= 0.02 * len(rises):
                expected |= inside
    found = elevation_unknown(z, 1.0, 20.0)
    assert found.in_patches == expected.sum() > 0
    np.testing.assert_array_equal(found.mask & ~np.isnan(z) & expected, expected)


# ------------------------------------------------------------------------------------------- canopy
def test_a_wood_is_trees():
    heights = wood()
    heights[0, 0], heights[0, 1], heights[0, 2] = -0.4, 115.0, np.nan
    mask, standing = canopy_unknown(heights, 1.0)
    assert standing.verdict == "trees"
    assert standing.highest_m == 115.0
    assert standing.known == heights.size - 1
    assert mask.sum() == 1


@pytest.mark.parametrize("value", [-0.6, -1.0, -9999.0, 117.0, 255.0, 32767.0, 65535.0, np.inf])
def test_what_is_no_height_of_trees_is_unknown(value):
    heights = wood()
    heights[:20] = value
    mask, standing = canopy_unknown(heights, 1.0)
    assert mask[:20].all()
    assert not mask[20:].any()
    assert standing.verdict == ("absolute-heights" if value == 117.0 else "trees")


@pytest.mark.parametrize(
    "change",
    [lambda h: h + 800, lambda h: h * 10, lambda h: h * 100, lambda h: np.where(h > 0, 95.0, 0.0)],
    ids=["above the sea", "decimetres", "centimetres", "per cent"],
)
def test_absolute_heights_and_other_units_are_seen(change):
    _, standing = canopy_unknown(change(wood()).astype(np.float32), 1.0)
    assert standing.verdict == "absolute-heights"


def test_one_in_a_hundred_may_be_higher_than_a_canopy_is():
    heights = np.full((10, 100), 30.0, np.float32)
    heights[0, :10] = 110.0
    assert canopy_unknown(heights, 1.0)[1].verdict == "trees"
    heights[0, 10] = 110.0
    assert canopy_unknown(heights, 1.0)[1].verdict == "absolute-heights"


def test_heights_are_looked_at_in_metres():
    feet = (wood() / FT).astype(np.float32)
    feet[:5] = -32768.0
    mask, standing = canopy_unknown(feet, FT)
    assert standing.verdict == "trees"
    assert mask[:5].all()
    assert not mask[5:].any()


@pytest.mark.parametrize("change", [lambda h: h / 45, lambda h: np.float32(h > 0)], ids=["share", "mask"])
def test_a_share_of_cover_is_seen(change):
    assert canopy_unknown(change(wood()).astype(np.float32), 1.0)[1].verdict == "cover-share"


def test_no_trees_anywhere():
    for none in (np.zeros((9, 9), np.float32), np.full((9, 9), -0.2, np.float32)):
        mask, standing = canopy_unknown(none, 1.0)
        assert standing.verdict == "no-trees"
        assert not mask.any()


@pytest.mark.parametrize("value", [np.nan, 255.0, -9999.0])
def test_a_canopy_that_knows_nothing(value):
    mask, standing = canopy_unknown(np.full((9, 9), value, np.float32), 1.0)
    assert standing.verdict == "empty"
    assert mask.all()


def test_files_of_one_layer_are_judged_together():
    """Bushes alone look like a share of cover, nothing alone like an empty layer."""
    bushes, wood_ = np.full((9, 9), 1.2, np.float32), wood()
    bare = canopy_unknown(np.zeros((9, 9), np.float32), 1.0)[1]
    low, high = canopy_unknown(bushes, 1.0)[1], canopy_unknown(wood_, 1.0)[1]
    assert low.verdict == "cover-share"
    assert (low + high).verdict == (bare + low + high).verdict == "trees"
    assert (low + high).known == bushes.size + wood_.size
    assert (bare + low).verdict == "cover-share"
