"""Rasters of several grids laid as one layer, known only where they cover a working cell wholly.

A raster alone takes, in a working cell at its edge, what is there; the rest of the cell is then not known, and so is
the cell, unless another raster covers the rest. A cell that touches a hole of one raster is known where another covers
all of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from diproute.reading.footprint import Laid, Source, lay
from diproute.reading.lattice import Placing
from diproute.records import Grid

if TYPE_CHECKING:
    from diproute.physics.geodesy import LocalFrame

Bools = npt.NDArray[np.bool_]

_PAD: Final = 0.01  # working cells: an edge that two rasters share is no gap between them
_EDGE_POINTS: Final = 257  # of a raster's outline on each side


def lay_all(sources: Iterable[Source], frame: LocalFrame, grid: Grid, *, best: bool = False) -> Laid:
    """Lay rasters onto the working grid as one layer.

    Parameters
    ----------
    sources
        The rasters; each is read once, in their order, which changes nothing.
    frame, grid
        Where to.
    best
        Whether to make the likeliest reading as well.

    Returns
    -------
    Laid
        The highest of all and the likeliest, where rasters overlap the higher one; no lowest. Both are NaN in the same
        cells: those that no raster, and no rasters together, cover wholly.
    """
    top = np.full(grid.shape, np.nan, np.float32)
    middle = np.full(grid.shape if best else (0, 0), np.nan, np.float32)
    known, holed = np.zeros(grid.shape, np.bool_), np.zeros(grid.shape, np.bool_)
    outlines = []
    for source in sources:
        laid = lay(source, frame, grid, best=best, lowest=False)
        outlines.append(_outline(source, frame, grid))
        inside, edge = _cells_in(outlines[-1], grid)
        told = np.isfinite(laid.highest)
        known |= told & inside
        holed |= (inside | edge) & ~told
        np.fmax(top, laid.highest, out=top)
        if laid.best is not None:
            np.fmax(middle, laid.best, out=middle)
    if len(outlines) > 1 and not known.all():
        import shapely

        together, _ = _cells_in(shapely.union_all(outlines), grid)
        known |= together & ~holed & np.isfinite(top)
    top[~known] = np.nan
    if best:
        middle[~known] = np.nan
    return Laid(top, None, middle if best else None)


def burn(areas: Sequence[Any], source: Source, frame: LocalFrame) -> npt.NDArray[np.int32]:
    """Burn areas of the working frame onto a raster's own cells.

    Parameters
    ----------
    areas
        Polygons in working x, y.
    source
        The raster.
    frame
        The working frame.

    Returns
    -------
    ndarray of int32
        (rows, cols): number of the area that a cell's middle lies in, from 1; 0: in none.
    """
    import shapely
    from rasterio.features import rasterize

    unit = Grid(frame.lat_deg, frame.lon_deg, 0.0, 0.0, 1.0, 1, 1)
    placing = Placing.of(source.transform, source.crs, frame, unit, source.name)

    def own(xy: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.column_stack(placing.in_file(xy[:, 0], -xy[:, 1]))

    placed = shapely.transform(np.asarray(areas, dtype=object), own)
    shapes = [(area, number) for number, area in enumerate(placed, start=1) if np.isfinite(area.bounds).all()]
    shape = (source.rows, source.cols)
    if not shapes:
        return np.zeros(shape, np.int32)
    return np.asarray(rasterize(shapes, out_shape=shape, dtype="int32"))


def _outline(source: Source, frame: LocalFrame, grid: Grid) -> Any:
    """Edge of a raster on the working grid [cells], a little wide."""
    import shapely

    placing = Placing.of(source.transform, source.crs, frame, grid, source.name)
    part, none = np.linspace(0.0, 1.0, _EDGE_POINTS)[:-1], np.zeros(_EDGE_POINTS - 1)
    col = np.concatenate([part, none + 1, 1 - part, none]) * source.cols
    row = np.concatenate([none, part, none + 1, 1 - part]) * source.rows
    x, y = placing.on_grid(col, row, 0.0)
    return shapely.Polygon(np.column_stack([x, y])).buffer(_PAD, join_style="mitre")


def _cells_in(area: Any, grid: Grid) -> tuple[Bools, Bools]:
    """Cells that lie wholly in an area, and those that its edge runs through."""
    import shapely
    from rasterio.features import rasterize

    if area.contains(shapely.box(0, 0, grid.cols, grid.rows)):
        return np.ones(grid.shape, np.bool_), np.zeros(grid.shape, np.bool_)
    near = area.intersection(shapely.box(-1, -1, grid.cols + 1, grid.rows + 1))
    if near.is_empty:
        return np.zeros(grid.shape, np.bool_), np.zeros(grid.shape, np.bool_)
    inside = rasterize([(near, 1)], out_shape=grid.shape, dtype="uint8") == 1
    edge = rasterize([(near.boundary, 1)], out_shape=grid.shape, all_touched=True, dtype="uint8") == 1
    return inside & ~edge, edge
