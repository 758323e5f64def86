"""The floor: the lowest height at which the bucket's bottom keeps clear of everything, for every cell.

The surface of all that stands up is spread sideways by the lateral clearance and raised by the clearance en route
and the layers' own vertical error. Heights are those of the *bucket's bottom*, so that one floor serves every line;
the aircraft flies higher by what hangs below it.
"""

from __future__ import annotations

from math import ceil

import numpy as np
import numpy.typing as npt

from diproute.errors import RangeError
from diproute.records import F32
from diproute.threads import pool, threads


def disk_reach(radius_m: float, cell_m: float) -> npt.NDArray[np.int64]:
    """Cells that a disk may touch, row by row.

    Parameters
    ----------
    radius_m
        Radius, 0 or more [m].
    cell_m
        Side of a cell, above 0 [m].

    Returns
    -------
    ndarray of int
        (n,) reach to each side in cells, in the row 0, 1, … n − 1 rows off. Counted from any point of one cell to any
        point of another, so that it errs towards too many: the nearest sides of the two cells are compared.

    Raises
    ------
    RangeError
        A radius below 0 or not known, or a cell that is not above 0.
    """
    if not (radius_m >= 0 and cell_m > 0):
        raise RangeError(
            f"got a lateral clearance of {radius_m} m on cells of {cell_m} m; give 0 m or more, cells above 0 m",
            where="lateral_clearance",
            got=radius_m,
        )
    radius = radius_m / cell_m
    deep = int(radius) + 1  # rows `deep` off come as near as deep − 1 cells
    gap = np.maximum(np.arange(deep + 1) - 1.0, 0.0)
    side = np.sqrt(np.maximum(radius**2 - gap**2, 0.0))
    return np.asarray(np.floor(side + 1e-9) + 1, dtype=np.int64)


def spread_top(top: F32, cell_m: float, lateral_m: float) -> F32:
    """Give the highest thing within the lateral clearance of any point of each cell.

    Parameters
    ----------
    top
        (rows, cols) height of everything that stands up [m AMSL], NaN where not known.
    cell_m
        Side of a cell [m].
    lateral_m
        Sideways distance to keep, 0 or more [m].

    Returns
    -------
    ndarray of float32
        (rows, cols) [m AMSL]; NaN where anything within the distance is not known or lies off the grid.

    Raises
    ------
    RangeError
        A distance below 0 or not known, or a cell that is not above 0.
    """
    from diproute.routing.floor_kernel import spread_rows

    reach = disk_reach(lateral_m, cell_m)
    filled = np.where(np.isnan(top), np.float32(np.inf), top).astype(np.float32, copy=False)
    out = np.empty_like(filled)
    rows = top.shape[0]
    band = max(64, ceil(rows / (4 * threads())))
    with pool() as workers:
        list(workers.map(lambda r: spread_rows(filled, reach, r, min(r + band, rows), out), range(0, rows, band)))
    out[np.isinf(out)] = np.nan
    return out


def coarsen(floor: F32, factor: int) -> F32:
    """Merge blocks of cells into one, keeping the highest floor; a block with an unknown cell is unknown.

    Parameters
    ----------
    floor
        (rows, cols) [m AMSL], NaN where closed or not known.
    factor
        Cells of a block's side, 1 or more. Rows and columns left over at the end become unknown blocks.

    Returns
    -------
    ndarray of float32
        (ceil(rows / factor), ceil(cols / factor)) [m AMSL].
    """
    if factor == 1:
        return floor
    rows, cols = floor.shape
    out = np.full((ceil(rows / factor), ceil(cols / factor)), np.nan, np.float32)
    whole_r, whole_c = rows // factor, cols // factor
    inner = floor[: whole_r * factor, : whole_c * factor].reshape(whole_r, factor, whole_c, factor)
    merged = inner[:, 0]
    for row in range(1, factor):
        merged = np.maximum(merged, inner[:, row])  # NaN wins
    best = merged[..., 0]
    for col in range(1, factor):
        best = np.maximum(best, merged[..., col])
    out[:whole_r, :whole_c] = best
    return out
