"""Pictures of the working grid in web Mercator: where they lie, and what of the grid each of their cells covers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np

from diproute.physics.geodesy import LocalFrame, beside
from diproute.records import F32, F64, I64, Grid

_DEGREE: Final = math.pi * 6_378_137.0 / 180.0  # of longitude [m]
_GRAIN: Final = 1e-6  # of a pixel: what arithmetic alone adds is no reason for one more
FINER = 4  # a coarse grid is drawn with up to so many pixels a cell, for smooth contours


@dataclass(frozen=True, slots=True)
class Frame:
    """A picture's place in web Mercator: its west and north edge and its pixel [m of that projection]."""

    west: float
    north: float
    pixel: float
    rows: int
    cols: int

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """South, west, north, east [deg], longitudes counted on past ±180."""
        lon, lat = _inverse(*self._edges)
        return float(lat[0]), float(lon[0]), float(lat[1]), float(lon[1])

    @property
    def _edges(self) -> tuple[list[float], list[float]]:
        return [self.west, self.west + self.cols * self.pixel], [self.north - self.rows * self.pixel, self.north]

    def blocks(self, grid: Grid) -> tuple[I64, I64, I64, I64]:
        """Give the rows and columns of the working grid that hold each cell of the picture.

        Returns
        -------
        tuple of numpy.ndarray
            First row, row past the last, first column, column past the last, each (rows, cols); they reach over the
            grid's edge where the picture does. The blocks are a little larger than the cells, never smaller.
        """
        x = self.west + np.arange(self.cols + 1) * self.pixel
        y = self.north - np.arange(self.rows + 1) * self.pixel
        lon, lat = _inverse(*np.meshgrid(x, y))
        row, col = grid.rowcol(*LocalFrame(grid.lat_deg, grid.lon_deg).to_xy(beside(lon, 0.0), lat))

        def corners(index: I64) -> I64:
            return np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, :-1], index[1:, 1:]])

        rows, cols = corners(row), corners(col)
        return rows.min(axis=0), rows.max(axis=0) + 1, cols.min(axis=0), cols.max(axis=0) + 1


def frame_of(grid: Grid, most: int) -> Frame:
    """Fit a picture of at most so many pixels a side round the working grid."""
    edge = np.linspace(0.0, 1.0, 33)
    x = grid.left_m + np.concatenate([edge, edge, 0 * edge, 0 * edge + 1]) * grid.cols * grid.cell_m
    y = grid.bottom_m + np.concatenate([0 * edge, 0 * edge + 1, edge, edge]) * grid.rows * grid.cell_m
    lon, lat = LocalFrame(grid.lat_deg, grid.lon_deg).to_lonlat(x, y)
    east, north = _forward(beside(lon, grid.lon_deg), lat)
    wide, high = float(np.ptp(east)), float(np.ptp(north))
    native = grid.cell_m / math.cos(math.radians(grid.lat_deg))
    pixel = max(native / FINER, wide / most, high / most)
    rows, cols = (math.ceil(length / pixel - _GRAIN) for length in (high, wide))
    return Frame(float(east.min()), float(north.max()), pixel, rows, cols)


def highest(values: F32, blocks: tuple[I64, I64, I64, I64]) -> F64:
    """Give the highest value in each block of a grid, NaN where any of it is NaN or lies off the grid."""
    rows, cols = values.shape
    first_row, end_row, first_col, end_col = (edge.ravel() for edge in blocks)
    on_grid = (first_row >= 0) & (end_row <= rows) & (first_col >= 0) & (end_col <= cols)
    found = np.full(len(on_grid), np.nan)
    for i in np.flatnonzero(on_grid):
        found[i] = values[first_row[i] : end_row[i], first_col[i] : end_col[i]].max()
    return found.reshape(blocks[0].shape)


def _forward(lon_deg: Any, lat_deg: Any) -> tuple[F64, F64]:
    x, y = _mercator().transform(beside(lon_deg, 0.0), lat_deg)
    return x + (lon_deg - beside(lon_deg, 0.0)) * _DEGREE, y


def _inverse(x: Any, y: Any) -> tuple[F64, F64]:
    lon, lat = _mercator().transform(np.asarray(x), np.asarray(y), direction="INVERSE")
    return np.asarray(beside(lon, float(np.mean(x)) / _DEGREE)), lat


@cache
def _mercator() -> Any:
    from pyproj import Transformer

    return Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
