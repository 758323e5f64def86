"""Compiled loops of the floor: the highest thing within a distance, for every cell of a band of rows."""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.kernels import njit


@njit(cache=True, nogil=True)
def spread_rows(top: Any, reach: Any, first: int, last: int, out: Any) -> None:
    """Fill ``out[first:last]`` with the highest ``top`` within a disk of cells.

    Parameters
    ----------
    top
        (rows, cols) float32, unknown cells as +inf so that they win.
    reach
        (n,) int: how many cells to each side the disk covers in a row that lies so many rows off.
    first, last
        The rows to fill.
    out
        (rows, cols) float32, filled in place. A cell whose disk leaves the grid becomes +inf.
    """
    rows, cols = top.shape
    deep = reach.size - 1
    wide = np.empty(cols, np.float32)
    out[first:last] = -np.inf
    for row in range(max(first - deep, 0), min(last + deep, rows)):
        for col in range(cols):  # an assigned slice would compile two seconds of text formatting
            wide[col] = top[row, col]
        width = 0
        for off in range(deep, -1, -1):  # the narrowest part of the disk lies furthest off
            while width < reach[off]:
                width += 1
                for col in range(width, cols):
                    other = top[row, col - width]
                    wide[col] = other if other > wide[col] else wide[col]
                for col in range(cols - width):
                    other = top[row, col + width]
                    wide[col] = other if other > wide[col] else wide[col]
            for sign in (-1, 1):
                target = row + sign * off
                if first <= target < last and (off > 0 or sign > 0):
                    for col in range(cols):
                        value = wide[col]
                        out[target, col] = value if value > out[target, col] else out[target, col]
    side = min(reach[0], cols)
    out[first:last, :side] = np.inf
    out[first:last, cols - side :] = np.inf
    for row in range(first, last):
        if row < deep or row >= rows - deep:
            out[row] = np.inf
