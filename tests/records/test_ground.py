"""Cells and points of a grid, and the wires of a ground."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.records import Grid, Ground, Obstacle, WireCells

GRID = Grid(lat_deg=42.0, lon_deg=-160.0, left_m=-300.0, top_m=500.0, cell_m=25.0, rows=40, cols=30)


def test_corners_by_hand():
    assert GRID.shape == (40, 30)
    assert (GRID.right_m, GRID.bottom_m) == (450.0, -500.0)
    assert GRID.rowcol(-300.0, 500.0) == (0, 0)  # the north-west corner belongs to the first cell
    assert GRID.rowcol(-275.01, 475.01) == (0, 0)
    assert GRID.rowcol(-275.0, 475.0) == (1, 1)
    assert GRID.rowcol(449.9, -499.9) == (39, 29)
    assert GRID.rowcol(-300.1, 500.1) == (-1, -1)
    assert GRID.rowcol(450.0, -500.0) == (40, 30)
    assert GRID.xy(0, 0) == (-287.5, 487.5)
    assert GRID.xy(39, 29) == (437.5, -487.5)


@pytest.mark.parametrize(
    ("row", "col", "there"),
    [(0, 0, True), (39, 29, True), (0, 29, True), (-1, 5, False), (40, 5, False), (5, -1, False), (5, 30, False),
     (35, 5, True), (5, 35, False)],
)  # fmt: skip
def test_a_grid_holds_its_own_cells_and_no_other(row, col, there):
    assert GRID.holds(row, col) == there


@given(st.integers(-50, 90), st.integers(-50, 90), st.floats(-0.49, 0.49), st.floats(-0.49, 0.49))
def test_any_point_of_a_cell_lies_in_it(row, col, south, east):
    assert GRID.rowcol(*GRID.xy(row + south, col + east)) == (row, col)


@given(st.floats(-2000, 2000), st.floats(-2000, 2000))
def test_a_point_on_the_grid_is_within_half_a_cell_of_its_cell(x, y):
    row, col = GRID.rowcol(x, y)
    assert GRID.holds(row, col) == (GRID.left_m <= x < GRID.right_m and GRID.bottom_m < y <= GRID.top_m)
    middle = GRID.xy(row, col)
    assert max(abs(middle[0] - x), abs(middle[1] - y)) <= GRID.cell_m / 2 + 1e-9


def test_many_points_at_once():
    row, col = GRID.rowcol(np.array([-300.0, 0.0]), np.array([[500.0], [0.0]]))
    np.testing.assert_array_equal(row, [[0], [20]])
    np.testing.assert_array_equal(col, [0, 12])
    assert row.dtype == col.dtype == np.int64
    assert GRID.holds(row, col).all()


def thing(is_wire):
    return Obstacle(
        "thing", "wire" if is_wire else "mast", 30.0, False, None, None, shapely.Point(0, 0), "test", is_wire
    )


def ground(*wires):
    """One row: bare, trees, then two cells of each obstacle."""
    cause = np.repeat(np.arange(2 + len(wires), dtype=np.uint16), 2)[np.newaxis]
    top = np.full(cause.shape, 100.0, np.float32)
    top[0, -1] = np.nan
    grid = Grid(42.0, -160.0, 0.0, 10.0, 10.0, *cause.shape)
    things = tuple(thing(is_wire) for is_wire in wires)
    under = [i for i, c in enumerate(cause[0]) if c >= 2 and wires[c - 2]]
    laid = WireCells(np.array(under, np.int64), top[0, under], cause[0, under].astype(np.int64) - 2)
    return Ground(grid, top, top, cause, things, "not stated", None, "ground", True, (), wires=laid)


def test_wires_alone_are_raised_by_what_their_margin_has_over_the_load_s():
    before = ground(False, True, False, True)
    np.testing.assert_array_equal(
        before.with_wire_margin(5.0), [[100, 100, 100, 100, 100, 100, 105, 105, 100, 100, 105, np.nan]]
    )
    np.testing.assert_array_equal(before.top[0, :-1], 100.0)  # the ground itself stays as it was


@pytest.mark.parametrize(
    ("wires", "extra"), [((True, True), 0.0), ((True, True), -3.0), ((False, False), 5.0), ((), 5.0)]
)
def test_nothing_to_raise_gives_the_top_itself(wires, extra):
    before = ground(*wires)
    assert before.with_wire_margin(extra) is before.top


def test_a_wire_keeps_its_margin_under_something_higher():
    laid = WireCells(np.arange(3, 6), np.full(3, 100.0, np.float32), np.zeros(3, np.int64))
    trees = replace(ground(True), top=np.array([[100, 100, 100, 100, 103, 108]], np.float32), wires=laid)
    np.testing.assert_array_equal(trees.with_wire_margin(5.0), [[100, 100, 100, 105, 105, 108]])
    unknown = replace(trees, wires=replace(laid, top_m=np.array([100, np.nan, 100], np.float32)))
    assert np.isnan(unknown.with_wire_margin(5.0)[0, 4])


def test_wires_without_their_cells_are_refused():
    with pytest.raises(RangeError, match="own margin would be lost"):
        replace(ground(True), wires=WireCells.none())
    assert replace(ground(False), wires=WireCells.none()).wires.at(4) is None


def test_a_small_margin_raises_as_well():
    assert ground(True).with_wire_margin(0.5)[0, 4] == 100.5
