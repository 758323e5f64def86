"""Where the cells of a file lie on the working grid and the other way round, in any projection, also at ±180°.

Places are worked out exactly on a lattice only, and are bilinear in between. The lattice is halved until that is good
enough. A rule to measure by: along one direction the error of a straight line is largest at its middle, and the error
of a bilinear patch is no larger than those of its two directions together. (The middle of the patch alone would not
do: between two conformal projections the two directions cancel there.)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from diproute.errors import LayerError
from diproute.reading.footprint_kernel import Mesh

if TYPE_CHECKING:
    from diproute.physics.geodesy import LocalFrame
    from diproute.records import F64, I64, Grid

Places = tuple[Any, Any]
_WIDEST: Final = 32  # cells between two lines of a lattice
_CLOSE_GRID: Final = 0.0025  # working cells, of the places of source cells
_CLOSE_FILE: Final = 0.01  # source cells, of the places of working cells
_LEAST_ON_GRID: Final = 4  # working cells between two lines, where a smooth projection has long been good enough
_MOST_SPLIT: Final = 1024  # parts a side that a source cell is cut into
_MARGIN: Final = 2  # source cells more than needed on each side of a window


class Window(NamedTuple):
    """A part of a file that meets the working grid."""

    rows: slice
    cols: slice
    turn: float  # added to the longitudes of the working grid to come to the file's


@dataclass(frozen=True, slots=True)
class Placing:
    """How a file lies towards the working grid.

    Attributes
    ----------
    transform
        Affine from the file's column and row to its x and y.
    grid
        The working grid.
    circle
        A full circle in the file's unit of longitude; 0 for a projected file.
    middle
        Longitude of the frame's centre in the file's own unit and from its own prime meridian.
    between
        pyproj's transformer from the file's reference system to the frame's.
    name
        Of the file, for messages.
    """

    transform: Any
    grid: Grid
    circle: float
    middle: float
    between: Any
    name: str

    @classmethod
    def of(cls, transform: Any, crs: Any, frame: LocalFrame, grid: Grid, name: str = "the raster") -> Placing:
        """Find out how a file lies.

        Parameters
        ----------
        transform
            Affine from column and row to x and y: turned, sheared and mirrored ones too.
        crs
            The file's horizontal pyproj.CRS.
        frame, grid
            Where to.
        name
            Of the file, for messages.

        Raises
        ------
        LayerError
            A transform that cannot be turned round.
        """
        numbers = (transform.a, transform.b, transform.c, transform.d, transform.e, transform.f)
        if not all(map(math.isfinite, numbers)) or transform.determinant == 0.0:
            raise LayerError(f"{name} gives its cells no place on the ground; write its transform anew", got=numbers)
        to_frame = between(crs, frame.crs)
        circle = full_circle(crs)
        middle = float(to_frame.transform(0.0, 0.0, direction="INVERSE")[0]) if circle else 0.0
        return cls(transform, grid, circle, middle, to_frame, name)

    def on_grid(self, col: F64, row: F64, turn: float) -> Places:
        """Working columns and rows of places in the file [cells]; not finite where there is none."""
        x, y = through(self.transform, col, row)
        x, y = self.between.transform(x - turn, y)
        return (x - self.grid.left_m) / self.grid.cell_m, (self.grid.top_m - y) / self.grid.cell_m

    def in_file(self, col: F64, row: F64) -> Places:
        """Columns and rows of the file at places on the working grid; longitudes within half a circle of the frame."""
        x, y = self.grid.left_m + col * self.grid.cell_m, self.grid.top_m - row * self.grid.cell_m
        x, y = self.between.transform(x, y, direction="INVERSE")
        x, y = np.where(np.isfinite(x), x, np.nan), np.where(np.isfinite(y), y, np.nan)
        if self.circle:
            x = unwrap(x, self.middle, self.circle)
        return through(~self.transform, x, y)

    def turned(self, mesh: Mesh, turn: float) -> Mesh:
        """Give the places in the file that lie a turn of longitude further on."""
        t = ~self.transform
        return mesh._replace(x=mesh.x + t.a * turn, y=mesh.y + t.d * turn)


@lru_cache(maxsize=16)
def between(crs: Any, other: Any) -> Any:
    """Give pyproj's transformer from one reference system to another, longitude first; one is made once."""
    from pyproj import Transformer

    return Transformer.from_crs(crs, other, always_xy=True)


def through(transform: Any, x: Any, y: Any) -> Places:
    """Put places through an affine transform, arrays or numbers."""
    t = transform
    return t.a * x + t.b * y + t.c, t.d * x + t.e * y + t.f


def starting_at(transform: Any, col: float, row: float) -> Any:
    """Give the transform of a part of a raster that starts at another column and row."""
    x, y = through(transform, col, row)
    return type(transform)(transform.a, transform.b, x, transform.d, transform.e, y)


def full_circle(crs: Any) -> float:
    """Give a turn in a reference system's own unit of longitude: 360 for degrees; 0 for a projected one."""
    return round(2 * math.pi / crs.axis_info[0].unit_conversion_factor, 6) if crs.is_geographic else 0.0


def unwrap(lon: Any, middle: float, circle: float = 360.0) -> Any:
    """Longitudes counted on past the antimeridian, within half a circle of a middle one."""
    return middle + (np.asarray(lon) - middle + circle / 2) % circle - circle / 2


def grid_in_file(placing: Placing, rows: int, cols: int) -> Mesh | None:
    """Places of the working grid in a file of so many rows and columns; None where the two cannot meet.

    Raises
    ------
    LayerError
        The file's projection is torn on the grid: at the antimeridian of a world map, or at the pole of a file in
        degrees.
    """
    shape = placing.grid.shape
    step = min(_WIDEST, _largest_step(min(shape)))
    while True:
        mesh = _mesh(placing.in_file, np.arange(0, shape[0] + step, step), np.arange(0, shape[1] + step, step))
        whole = bool(np.isfinite(mesh.x).all() and np.isfinite(mesh.y).all())
        if whole and _error(mesh) <= _CLOSE_FILE:
            return mesh
        if not whole or step <= _LEAST_ON_GRID:
            if _near(mesh, rows, cols):
                raise _torn(placing.name)
            return None
        step //= 2


def windows(placing: Placing, mesh: Mesh, rows: int, cols: int) -> Iterator[Window]:
    """Every part of a file that meets the working grid.

    A file in degrees is tried a turn to the west and to the east as well, whether it counts from -180 or from 0.

    Parameters
    ----------
    placing
        How the file lies.
    mesh
        The working grid's places in it, from `grid_in_file`.
    rows, cols
        Of the file.
    """
    once = not placing.circle or cols * abs(placing.transform.a) >= 2 * placing.circle  # holds the other turns itself
    for turn in (0.0,) if once else (-placing.circle, 0.0, placing.circle):
        x, y = placing.turned(mesh, turn)[:2]
        c0, c1 = max(math.floor(x.min()) - _MARGIN, 0), min(math.ceil(x.max()) + _MARGIN, cols)
        r0, r1 = max(math.floor(y.min()) - _MARGIN, 0), min(math.ceil(y.max()) + _MARGIN, rows)
        if c0 < c1 and r0 < r1:
            yield Window(slice(r0, r1), slice(c0, c1), turn)


def file_on_grid(placing: Placing, window: Window) -> tuple[Mesh, int, float]:
    """Places of a window's corners on the working grid.

    Parameters
    ----------
    placing
        How the file lies.
    window
        Part of the file.

    Returns
    -------
    mesh : Mesh
        Working places [cells]; the lattice counts parts of cells from the window's first.
    split : int
        Parts a side that each source cell is to be cut into: more than 1 where a cell is so large that its edges bend.
    error : float
        How far a place may be off [working cells].

    Raises
    ------
    LayerError
        A part of the window has no place in the working frame.
    """
    rows, cols = window.rows.stop - window.rows.start, window.cols.stop - window.cols.start

    def place(col: F64, row: F64) -> Places:
        return placing.on_grid(window.cols.start + col / split, window.rows.start + row / split, window.turn)

    split = 1 if min(rows, cols) > 1 else 2
    step = min(_WIDEST, _largest_step(min(rows, cols) * split))
    while True:
        mesh = _mesh(place, _lines(rows * split, step), _lines(cols * split, step))
        if not (np.isfinite(mesh.x).all() and np.isfinite(mesh.y).all()):
            raise _torn(placing.name)
        error = _error(mesh)
        if error <= _CLOSE_GRID:
            return mesh, split, error
        if step > 1:
            step //= 2
        elif split < _MOST_SPLIT:
            split *= 2
        else:
            raise _torn(placing.name)


def _near(mesh: Mesh, rows: int, cols: int) -> bool:
    """Whether any place of a lattice lies in the file, or within two of its own steps of it."""
    steps = np.hypot(np.diff(mesh.x, axis=1), np.diff(mesh.y, axis=1))
    by = 2 * float(np.median(steps[np.isfinite(steps)])) if np.isfinite(steps).any() else 0.0
    return bool(((mesh.x > -by) & (mesh.x < cols + by) & (mesh.y > -by) & (mesh.y < rows + by)).any())


def _largest_step(cells: int) -> int:
    """Largest power of two that leaves two steps in so many cells."""
    return 1 << max(cells.bit_length() - 2, 0)


def _lines(cells: int, step: int) -> I64:
    return np.unique(np.minimum(np.arange(0, cells + step, step), cells))


def _mesh(place: Callable[[F64, F64], Places], at_row: I64, at_col: I64) -> Mesh:
    col, row = np.meshgrid(at_col.astype(np.float64), at_row.astype(np.float64))
    x, y = place(col, row)
    return Mesh(np.ascontiguousarray(x), np.ascontiguousarray(y), at_row.astype(np.int64), at_col.astype(np.int64))


def _error(mesh: Mesh) -> float:
    """How far a place on a lattice twice as wide would be off; on this one it is about a quarter of that."""
    off = [0.0, 0.0]
    for values in (mesh.x, mesh.y):
        for axis, at in enumerate((mesh.at_row, mesh.at_col)):
            if at.size < 3:
                continue
            lines = np.moveaxis(values, axis, 0)
            share = ((at[1:-1] - at[:-2]) / (at[2:] - at[:-2]))[:, None]
            straight = lines[:-2] * (1 - share) + lines[2:] * share
            off[axis] = max(off[axis], float(np.abs(lines[1:-1] - straight).max()))
    return math.sqrt(2.0) * sum(off)


def _torn(name: str) -> LayerError:
    return LayerError(
        f"{name}: its projection is torn inside the search (the antimeridian of a world map, or the pole of a file in "
        "degrees); convert it to degrees or to a local map grid"
    )
