"""The working frame and the working grid: where they lie, how fine they are."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from diproute.constants import CELL_AT_MOST_M, CELLS_AT_MOST, COARSE_ELEVATION_M
from diproute.physics.geodesy import LocalFrame
from diproute.records import F64, Finding, Grid

if TYPE_CHECKING:
    from affine import Affine

Circle = tuple[float, float, float]  # x, y, radius [m]
Box = tuple[float, float, float, float]  # left, bottom, right, top [m]

_NEAT: Final = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # and their tens
_FINEST_M: Final = 1.0
_CLOSE: Final = 1.01  # 9.9 m counts as 10 m
_OVER_CELLS: Final = 512  # along the longer side of a grid to look with


def middle(lon_deg: Sequence[float], lat_deg: Sequence[float]) -> tuple[float, float]:
    """Mean of some places, also across the antimeridian.

    Parameters
    ----------
    lon_deg, lat_deg
        The places, WGS 84 [deg].

    Returns
    -------
    lon_deg, lat_deg : float
        Their mean [deg], longitude within ±180.
    """
    turned = (np.asarray(lon_deg) - lon_deg[0] + 180) % 360 - 180
    lon = (lon_deg[0] + float(turned.mean()) + 180) % 360 - 180
    return lon, float(np.mean(lat_deg))


def neat_cell(native_m: float) -> float:
    """Largest neat cell that is no coarser than the native one.

    Parameters
    ----------
    native_m
        Finest cell of the elevation on the ground [m].

    Returns
    -------
    float
        1, 2, 3, 4, 5, 6, 8, 10, 20, 30 m; never under 1 m, never over `constants.CELL_AT_MOST_M`, for trees, shores
        and wires are sharper than coarse ground.
    """
    wanted = min(max(native_m * _CLOSE, _FINEST_M), CELL_AT_MOST_M.value)
    ten = 10.0 ** math.floor(math.log10(wanted))
    return max(step for step in _NEAT if step <= wanted / ten) * ten


def box_round(circles: Iterable[Circle]) -> Box:
    """Left, bottom, right and top [m] of everything inside some circles."""
    box = np.array([(x - r, y - r, x + r, y + r) for x, y, r in circles])
    left, bottom = box[:, :2].min(axis=0)
    right, top = box[:, 2:].max(axis=0)
    return float(left), float(bottom), float(right), float(top)


def lay_grid(frame: LocalFrame, box: Box, native_m: float) -> tuple[Grid, tuple[Finding, ...]]:
    """Lay the working grid over everything that is looked at.

    Parameters
    ----------
    frame
        The working frame.
    box
        Left, bottom, right and top of what must be inside [m].
    native_m
        Finest cell of the elevation on the ground [m].

    Returns
    -------
    grid : Grid
        Edges at whole cells; at most `constants.CELLS_AT_MOST` cells.
    cautions : tuple of Finding
        That the grid is coarser than the elevation, or the elevation coarser than the grid.
    """
    left, bottom, right, top = box
    cell = finest = neat_cell(native_m)
    while math.ceil((right - left) / cell + 1) * math.ceil((top - bottom) / cell + 1) > CELLS_AT_MOST.value:
        cell = _coarser(cell)
    left, top = math.floor(left / cell) * cell, math.ceil(top / cell) * cell
    rows, cols = math.ceil((top - bottom) / cell), math.ceil((right - left) / cell)
    cautions = []
    if cell > finest:
        cautions.append(Finding.of("grid-coarsened", wanted_m=finest, cell_m=cell))
    if native_m > COARSE_ELEVATION_M.value:
        cautions.append(Finding.of("elevation-coarse", spacing_m=native_m))
    return Grid(frame.lat_deg, frame.lon_deg, float(left), float(top), cell, rows, cols), tuple(cautions)


def grid_over(frame: LocalFrame, box: Box) -> Grid:
    """Lay a grid of coarse cells over a box, to look at what lies there before the working grid is known."""
    left, bottom, right, top = box
    cell = max(right - left, top - bottom) / _OVER_CELLS
    rows, cols = math.ceil((top - bottom) / cell), math.ceil((right - left) / cell)
    return Grid(frame.lat_deg, frame.lon_deg, left, top, cell, rows, cols)


def _coarser(cell: float) -> float:
    ten = 10.0 ** math.floor(math.log10(cell) + 1e-9)
    return min(step for step in (*_NEAT, 20.0) if step > cell / ten * _CLOSE) * ten


def transform_of(grid: Grid, rows: slice = slice(0), cols: slice = slice(0)) -> Affine:
    """Affine from column and row to x and y, as rasterio takes it, of the grid or of a window that starts there."""
    from affine import Affine

    left, top = grid.left_m + (cols.start or 0) * grid.cell_m, grid.top_m - (rows.start or 0) * grid.cell_m
    return Affine(grid.cell_m, 0.0, left, 0.0, -grid.cell_m, top)


def bounds_of(grid: Grid) -> Box:
    """Left, bottom, right and top [m]."""
    return grid.left_m, grid.bottom_m, grid.right_m, grid.top_m


def window_of(grid: Grid, box: Box) -> tuple[slice, slice]:
    """Rows and columns of the cells that a box touches, within the grid; empty slices outside it."""
    left, bottom, right, top = box
    row, col = grid.rowcol([left, right], [top, bottom])
    past = np.array([0, 1])  # a slice ends one cell past its last
    (r0, r1), (c0, c1) = np.clip(row + past, 0, grid.rows), np.clip(col + past, 0, grid.cols)
    return slice(int(r0), int(r1)), slice(int(c0), int(c1))


def centres(grid: Grid, rows: slice, cols: slice) -> tuple[F64, F64]:
    """X of the columns' and y of the rows' centres [m]."""
    return grid.xy(np.arange(rows.start, rows.stop), np.arange(cols.start, cols.stop))
