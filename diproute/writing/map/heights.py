"""The heights under the pointer in whole numbers of the reader's unit, and which obstacle stands in which cell."""

from __future__ import annotations

import base64
import math
import zlib
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from diproute.document.geometry import Geometry
from diproute.document.ground import Heights, Obstacle
from diproute.units import Display
from diproute.writing.drawings.axes import shown
from diproute.writing.map import shapes

UNKNOWN: Final = -32768  # of the page
_UNKNOWN_DM: Final = int(np.iinfo("<i4").min)  # of the plan
_GRAIN: Final = 1e-6  # what arithmetic alone adds is no reason to round up


def cells(heights: Heights, display: Display) -> dict[str, Any]:
    """Give the ground and the highest thing in each coarse cell, unknown where any of it is.

    Parameters
    ----------
    heights
        The plan's.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    dict
        ``rows``, ``cols``, ``bounds`` [[south, west], [north, east]]; ``ground`` and ``top``: 16-bit whole numbers in
        base64, in the unit of a height and rounded up, `UNKNOWN` where not known.
    """
    south, west, north, east = heights.bounds
    return {
        "rows": heights.rows,
        "cols": heights.cols,
        "bounds": [[south, west], [north, east]],
        "ground": _whole(heights.ground, display),
        "top": _whole(heights.top, display),
    }


def _whole(packed: str, display: Display) -> str:
    decimetres = np.frombuffer(zlib.decompress(base64.b64decode(packed)), dtype="<i4").astype(np.float64)
    high = np.ceil(decimetres / 10 * shown(1.0, "height", display) - _GRAIN)
    known = (decimetres != _UNKNOWN_DM) & (high > UNKNOWN) & (high < -UNKNOWN)
    return base64.b64encode(np.where(known, high, UNKNOWN).astype("<i2").tobytes()).decode("ascii")


def standing(heights: Heights, obstacles: tuple[Obstacle, ...]) -> dict[str, list[int]]:
    """Give the numbers of the obstacles that touch each coarse cell.

    Parameters
    ----------
    heights
        The coarse grid.
    obstacles
        The plan's.

    Returns
    -------
    dict
        By the number of the cell, row by row; cells without any are left out.
    """
    found: dict[str, list[int]] = {}
    for number, obstacle in enumerate(obstacles):
        if obstacle.geometry is None:
            continue
        for cell in sorted({int(cell) for cell in _touched(heights, obstacle.geometry)}):
            found.setdefault(str(cell), []).append(number)
    return found


def _touched(heights: Heights, geometry: Geometry) -> npt.NDArray[np.int64]:
    """Walk along the shape in steps of a third of a cell."""
    south, west, north, east = heights.bounds
    top, bottom = _mercator(north), _mercator(south)
    lines: list[list[list[float]]] = []
    for kind, part in shapes.pieces(geometry):
        lines += [[part]] if kind == "mark" else [part] if kind == "line" else part
    cells_: list[npt.NDArray[np.int64]] = []
    for line in lines:
        at = np.array([[(lon - west) / (east - west) * heights.cols, (top - _mercator(lat)) / (top - bottom)
                        * heights.rows] for lat, lon in line])  # fmt: skip
        steps = [at[:1]]
        for a, b in pairwise(at):
            count = max(1, math.ceil(float(np.abs(b - a).max()) * 3))
            steps.append(a + np.outer(np.arange(1, count + 1) / count, b - a))
        col, row = np.floor(np.concatenate(steps)).astype(np.int64).T
        inside = (col >= 0) & (row >= 0) & (col < heights.cols) & (row < heights.rows)
        cells_.append(row[inside] * heights.cols + col[inside])
    return np.concatenate(cells_) if cells_ else np.empty(0, dtype=np.int64)


def _mercator(lat: float) -> float:
    return math.log(math.tan(math.pi / 4 + math.radians(lat) / 2))
