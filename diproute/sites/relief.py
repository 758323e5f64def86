"""What a sweep reads and fills: the heights with a pyramid of the highest, the points, and its answers."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from diproute.records import F32, F64, I64

I32 = npt.NDArray[np.int32]
FOLD: Final = 4  # a block of one level holds FOLD x FOLD of the level below


class Relief(NamedTuple):
    """Heights, and for each block of 4 x 4, 16 x 16, … cells the highest of them.

    A block that hides anything unknown carries +inf, so that no sweep may pass over it without opening it.
    ``blocks`` holds the levels one after another; level ``i`` (1 for 4 x 4) starts at ``at[i]`` and has
    ``rows[i]`` x ``cols[i]`` blocks. Level 0 is ``top`` itself.
    """

    top: F32  # (rows, cols), C order, NaN where not known
    blocks: F32  # (sum of the levels,)
    at: I64
    rows: I64
    cols: I64


class Points(NamedTuple):
    """Dip points in grid units, for the kernels: cells east and south of the grid's top left corner."""

    x: F64  # (points,)
    y: F64
    level: F64  # of the water [m AMSL]; NaN: not known
    bearing: F64  # (points, directions) over the grid [rad]

    def part(self, which: slice) -> Points:
        """Give some of the points."""
        return Points(self.x[which], self.y[which], self.level[which], self.bearing[which])


class Circle(NamedTuple):
    """The hover circle with its side surface, for the kernel: lengths in cells, heights in metres."""

    radius: float
    reach: float  # to the side surface's end
    side_slope: float  # rise of the side surface a cell
    stands: float  # what stands no higher than this above the water is the water


class Found(NamedTuple):
    """Answers of a kernel: metres, and the cell that sets each (-1: none)."""

    over_m: F64
    row: I32
    col: I32

    @classmethod
    def room(cls, shape: tuple[int, ...]) -> Found:
        """Make room for answers."""
        return cls(np.empty(shape), np.empty(shape, np.int32), np.empty(shape, np.int32))

    def part(self, which: slice) -> Found:
        """Give the answers of some points."""
        return Found(self.over_m[which], self.row[which], self.col[which])


def _highest(heights: F32) -> F32:
    """Highest of each FOLD x FOLD block, NaN where any of them is (the last row and column may be short)."""
    rows, cols = heights.shape
    tall, wide = -(-rows // FOLD), -(-cols // FOLD)
    down = np.full((tall, cols), -np.inf, dtype=np.float32)
    for i in range(FOLD):
        part = heights[i::FOLD]
        np.maximum(down[: len(part)], part, out=down[: len(part)])
    across = np.full((tall, wide), -np.inf, dtype=np.float32)
    for i in range(FOLD):
        part = down[:, i::FOLD]
        np.maximum(across[:, : part.shape[1]], part, out=across[:, : part.shape[1]])
    return across


def build_relief(top: F32) -> Relief:
    """Stack the pyramid of highest points over a grid of heights.

    Parameters
    ----------
    top
        Heights of everything that stands [m AMSL], shape (rows, cols), NaN where not known.

    Returns
    -------
    Relief
        The heights with their pyramid, down to a single block.
    """
    top = np.ascontiguousarray(top, dtype=np.float32)
    levels: list[F32] = []
    below = top
    while max(below.shape) > 1 or not levels:
        below = _highest(below)
        levels.append(np.where(np.isnan(below), np.float32(np.inf), below))
    sizes = np.array([0] + [level.size for level in levels], dtype=np.int64)
    return Relief(
        top=top,
        blocks=np.concatenate([level.ravel() for level in levels]),
        at=np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64),
        rows=np.array([top.shape[0]] + [level.shape[0] for level in levels], dtype=np.int64),
        cols=np.array([top.shape[1]] + [level.shape[1] for level in levels], dtype=np.int64),
    )
