"""The floor against a plain twin that looks at every cell."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from route_scene import PLAIN, make_ground

from diproute.errors import RangeError
from diproute.records import Obstacle, WireCells
from diproute.routing.airspace import prepare
from diproute.routing.floor import coarsen, disk_reach, spread_top

WIRE = Obstacle(
    "power line", "wire", 30.0, False, None, None, shapely.LineString([(-600, -10), (600, -10)]), "made up", True
)


def plain_spread(top, cell, radius):
    """Every pair of cells: the gap between their nearest sides counts; off the grid or unknown is unknown."""
    rows, cols = top.shape
    out = np.full(top.shape, np.nan, np.float32)
    wide = int(radius / cell) + 2
    for r in range(rows):
        for c in range(cols):
            best = -np.inf
            for i in range(r - wide, r + wide + 1):
                for j in range(c - wide, c + wide + 1):
                    gap = np.hypot(max(abs(i - r) - 1, 0), max(abs(j - c) - 1, 0)) * cell
                    if gap <= radius + 1e-9:
                        best = max(best, top[i, j]) if 0 <= i < rows and 0 <= j < cols else np.nan
                    if np.isnan(best) or (0 <= i < rows and 0 <= j < cols and gap <= radius and np.isnan(top[i, j])):
                        best = np.nan
                        break
                if np.isnan(best):
                    break
            out[r, c] = best
    return out


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 2**31),
    rows=st.integers(1, 24),
    cols=st.integers(1, 24),
    cell=st.sampled_from([1.0, 5.0, 10.0, 30.0]),
    radius=st.sampled_from([0.0, 3.0, 10.0, 14.2, 25.0, 60.0]),
)
def test_the_highest_thing_within_the_clearance(seed, rows, cols, cell, radius):
    radius = min(radius, 6 * cell)
    rng = np.random.default_rng(seed)
    top = rng.uniform(0, 500, (rows, cols)).astype(np.float32)
    top[rng.random(top.shape) < 0.01] = np.nan
    np.testing.assert_array_equal(spread_top(top, cell, radius), plain_spread(top, cell, radius))


@pytest.mark.parametrize(("margin", "floor"), [(10.0, 32 + 45), (45.0, 32 + 45), (60.0, 30 + 60)])
def test_a_wire_keeps_its_own_margin_under_higher_trees(margin, floor):
    """The floor en route keeps the wire's margin where that is the larger, the ends of a leg over the load's."""
    ground = make_ground(np.full((60, 60), 32.0), 20.0, (WIRE,))
    cell = 30 * 60 + np.arange(60)
    ground = replace(ground, wires=WireCells(cell, np.full(60, 30.0, np.float32), np.zeros(60, np.int64)))
    airspace = prepare(ground, (), replace(PLAIN, wire_margin_m=margin))
    assert airspace.fine.floor[30, 30] == floor
    assert airspace.fine.floor[20, 30] == 32 + 45
    assert airspace.near_top[30, 30] == max(32.0, 30.0 + margin - 5.0)
    assert airspace.near_top[20, 30] == 32.0


def test_a_wire_one_cell_wide_is_spread_to_its_full_distance():
    top = np.zeros((41, 41), np.float32)
    top[:, 20] = 35.0
    floor = spread_top(top, 10.0, 60.0)
    known = ~np.isnan(floor[20])
    raised = np.flatnonzero(floor[20] == 35.0)
    assert raised[0] == 20 - 7  # the cell whose nearer side is 60 m from the wire's cell
    assert known.sum() == 41 - 14


def test_reach_counts_from_any_point_of_a_cell():
    assert disk_reach(0.0, 10.0).tolist() == [1, 1]
    assert disk_reach(25.0, 10.0).tolist() == [3, 3, 3, 2]


@pytest.mark.parametrize(("radius", "cell"), [(-1.0, 10.0), (float("nan"), 10.0), (10.0, 0.0)])
def test_a_distance_or_cell_that_cannot_be_is_refused(radius, cell):
    with pytest.raises(RangeError, match="lateral clearance"):
        disk_reach(radius, cell)


def test_coarse_blocks_keep_the_highest_and_the_unknown():
    floor = np.arange(36, dtype=np.float32).reshape(6, 6)
    floor[0, 0] = np.nan
    assert np.isnan(coarsen(floor, 2)[0, 0])
    assert coarsen(floor, 2)[1:, 1:].tolist() == [[21, 23], [33, 35]]
    wide = coarsen(floor, 4)
    assert wide.shape == (2, 2)
    assert np.isnan(wide).all()  # the first holds an unknown cell, the others reach past the grid
