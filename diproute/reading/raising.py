"""Putting obstacles onto the ground: every cell that one may touch is raised, none is averaged away.

A thing that stands is as high as the ground of each cell under it (the highest that the cell touches) plus its
height, in every cell where it may stand: a disc of its accuracy round a point, an area's cells. A wire or a bridge
hangs between the vertices of its line, which are its supports: in each cell it is the higher of the straight line
between the supports' tops, where that is highest in the cell (so that a wire over a gorge is where it is), and the
ground plus its height (so that sag is never counted on). A cell counts when its centre lies within the wire's
half-width and half a cell's diagonal of the line, which takes in every cell touched. What is a wire is kept aside as
well, for a wire keeps its own margin also under something higher.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from diproute.constants import CATENARY_REACH_M, POINT_ACCURACY_M, WIRE_HALF_WIDTH_M
from diproute.errors import LayerError
from diproute.reading.grid import Box, centres, transform_of, window_of
from diproute.reading.obstacle_rules import SPANS
from diproute.records import F32, F64, I64, U16, Finding, Grid, Obstacle, WireCells

if TYPE_CHECKING:
    import numpy.typing as npt

_HALF_DIAGONAL: Final = math.sqrt(0.5)
_PIECE_CELLS: Final = 64  # a long span is laid down in pieces, to keep their windows small
_MOST: Final = 2**16 - 3


def raise_top(
    top: F32, cause: U16, terrain: F32, obstacles: Sequence[Obstacle], grid: Grid
) -> tuple[WireCells, tuple[Finding, ...]]:
    """Raise ``top`` and mark ``cause`` for every obstacle, in place.

    Parameters
    ----------
    top
        Ground and trees [m], the grid's shape; NaN where not known stays NaN.
    cause
        0 ground, 1 trees; becomes ``i + 2`` where obstacle ``i`` is the highest.
    terrain
        What the obstacles stand on [m].
    obstacles
        In working x, y.
    grid
        The working grid.

    Returns
    -------
    wires : WireCells
        The cells that a wire may touch, whatever else stands there higher.
    cautions : tuple of Finding
        Spans with a support whose ground is not known: nothing is known under them.

    Raises
    ------
    LayerError
        More obstacles than the grid can name.
    """
    if len(obstacles) > _MOST:
        raise LayerError(
            f"layers.obstacles: {len(obstacles)} obstacles here, at most {_MOST} can be told apart; clip the "
            "layers to the search",
            where="layers.obstacles",
            got=len(obstacles),
        )
    work = _Raising(top, cause, terrain, grid)
    for i, obstacle in enumerate(obstacles):
        work.add(obstacle, i + 2)
    cautions = (Finding.of("wire-support-unknown", count=work.hanging),) if work.hanging else ()
    return work.wires(), cautions


@dataclass(frozen=True, slots=True)
class _Thing:
    """An obstacle as it is raised."""

    height: float  # above ground [m], its error added
    stated: float  # above sea level likewise; minus infinity: not stated
    code: int  # in `Ground.cause`
    is_wire: bool


@dataclass(frozen=True, slots=True)
class _Laid:
    """Cells into which a wire was laid, with its height in each."""

    cell: I64  # row · columns + column
    top: F32
    code: int


class _Raising:
    def __init__(self, top: F32, cause: U16, terrain: F32, grid: Grid) -> None:
        self.top, self.cause, self.terrain, self.grid = top, cause, terrain, grid
        self.hanging = 0
        self.laid: list[_Laid] = []

    def add(self, obstacle: Obstacle, code: int) -> None:
        error = obstacle.vertical_error_m or 0.0
        stated = -math.inf if obstacle.top_m is None else obstacle.top_m + error
        thing = _Thing(obstacle.height_m + error, stated, code, obstacle.is_wire)
        beside = obstacle.accuracy_m or 0.0
        shapes = getattr(obstacle.geometry, "geoms", (obstacle.geometry,))
        for shape in shapes if shapes[0].geom_type != "Polygon" else (obstacle.geometry,):
            if shape.geom_type == "Point":
                self._standing(shape, _reach(obstacle, self.grid), thing)
            elif shape.geom_type in ("Polygon", "MultiPolygon"):
                self._covering(shape.buffer(beside) if beside else shape, thing)
            elif obstacle.kind in SPANS:
                self._hanging(shape, max(beside, WIRE_HALF_WIDTH_M.value), thing)
            else:  # a dam, a wall of trees
                self._covering(shape.buffer(max(beside, WIRE_HALF_WIDTH_M.value)), thing)

    def _standing(self, point: Any, reach: float, thing: _Thing) -> None:
        window = self._window(point.bounds, reach)
        x, y = centres(self.grid, *window)
        near = (x[None, :] - point.x) ** 2 + (y[:, None] - point.y) ** 2 <= (reach + self._slack()) ** 2
        self._raise(window, near, np.maximum(self.terrain[window] + thing.height, thing.stated), thing)

    def _covering(self, shape: Any, thing: _Thing) -> None:
        from rasterio.features import rasterize

        rows, cols = window_of(self.grid, shape.bounds)
        if rows.start == rows.stop or cols.start == cols.stop:
            return
        under = rasterize(
            [(shape, 1)],
            out_shape=(rows.stop - rows.start, cols.stop - cols.start),
            transform=transform_of(self.grid, rows, cols),
            all_touched=True,
            dtype="uint8",
        )
        self._raise((rows, cols), under == 1, np.maximum(self.terrain[rows, cols] + thing.height, thing.stated), thing)

    def _hanging(self, line: Any, width: float, thing: _Thing) -> None:
        points = np.asarray(line.coords)[:, :2]
        tops = np.array([self._ground_near(x, y, width) + thing.height for x, y in points])
        for (x0, y0), (x1, y1), z0, z1 in zip(points, points[1:], tops, tops[1:], strict=False):
            self.hanging += int(
                not math.isfinite(z0 + z1) and self._meets((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)), width)
            )
            pieces = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / (_PIECE_CELLS * self.grid.cell_m)))
            share = np.linspace(0.0, 1.0, pieces + 1)
            x, y, z = x0 + (x1 - x0) * share, y0 + (y1 - y0) * share, z0 + (z1 - z0) * share
            for k in range(pieces):
                self._piece(x[k : k + 2], y[k : k + 2], z[k : k + 2], width, thing)

    def _piece(self, x: F64, y: F64, z: F64, width: float, thing: _Thing) -> None:
        window = self._window((x.min(), y.min(), x.max(), y.max()), width)
        cx, cy = centres(self.grid, *window)
        if cx.size == 0 or cy.size == 0:
            return
        dx, dy = x[1] - x[0], y[1] - y[0]
        length2 = dx * dx + dy * dy
        if length2 > 0:
            along = ((cx[None, :] - x[0]) * dx + (cy[:, None] - y[0]) * dy) / length2
            half = 0.5 * self.grid.cell_m * (abs(dx) + abs(dy)) / length2  # of a cell, along the span
        else:
            along, half = np.zeros((cy.size, cx.size)), 0.0
        nearest = np.clip(along, 0.0, 1.0)
        off2 = (cx[None, :] - x[0] - nearest * dx) ** 2 + (cy[:, None] - y[0] - nearest * dy) ** 2
        near = off2 <= (width + self._slack()) ** 2
        highest = np.clip(along + (half if z[1] > z[0] else -half), 0.0, 1.0)  # where in the cell the wire is highest
        hung = z[0] + (z[1] - z[0]) * highest
        self._raise(window, near, np.maximum(hung, self.terrain[window] + thing.height), thing)
        if not math.isfinite(z[0] + z[1]):
            self.top[window][near] = np.nan
            self.cause[window][near] = thing.code

    def _raise(self, window: tuple[slice, slice], where: npt.NDArray[np.bool_], value: Any, thing: _Thing) -> None:
        part = self.top[window]
        value = _up(value)
        higher = where & (value > part)
        part[higher] = value[higher]
        self.cause[window][higher] = thing.code
        if thing.is_wire:
            row, col = np.nonzero(where)
            cell = (row + window[0].start) * self.grid.cols + col + window[1].start
            self.laid.append(_Laid(cell, value[where], thing.code))

    def wires(self) -> WireCells:
        """Give each cell that a wire touches once, with the highest wire in it; of equals the first."""
        if not self.laid:
            return WireCells.none()
        cell = np.concatenate([laid.cell for laid in self.laid])
        top = np.concatenate([laid.top for laid in self.laid])
        code = np.repeat([laid.code for laid in self.laid], [laid.cell.size for laid in self.laid])
        order = np.lexsort((code, -top, cell))  # what is not known comes last
        first = order[np.unique(cell[order], return_index=True)[1]]
        return WireCells(cell[first], top[first], code[first] - 2)

    def _ground_near(self, x: float, y: float, reach: float) -> float:
        """Highest ground on which a support may stand; NaN when some of it is not known."""
        if not self.grid.holds(*self.grid.rowcol(x, y)):
            return math.nan
        window = self._window((x, y, x, y), reach)
        cx, cy = centres(self.grid, *window)
        near = (cx[None, :] - x) ** 2 + (cy[:, None] - y) ** 2 <= (reach + self._slack()) ** 2
        return float(self.terrain[window][near].max())

    def _meets(self, box: Box, width: float) -> bool:
        rows, cols = self._window(box, width)
        return bool(rows.start < rows.stop and cols.start < cols.stop)

    def _window(self, box: Box, reach: float) -> tuple[slice, slice]:
        left, bottom, right, top = box
        reach += self._slack()
        return window_of(self.grid, (left - reach, bottom - reach, right + reach, top + reach))

    def _slack(self) -> float:
        return _HALF_DIAGONAL * self.grid.cell_m


def _reach(obstacle: Obstacle, grid: Grid) -> float:
    """Radius round a point inside which it may stand [m]."""
    stated = POINT_ACCURACY_M.value if obstacle.accuracy_m is None else obstacle.accuracy_m
    least = CATENARY_REACH_M.value if obstacle.kind == "catenary" else grid.cell_m
    return max(stated, least)


def _up(value: Any) -> F32:
    """Round to float32, never down."""
    rounded = np.asarray(value, dtype=np.float32)
    low = rounded < value
    return np.where(low, np.nextafter(rounded, np.float32(np.inf)), rounded).astype(np.float32)
