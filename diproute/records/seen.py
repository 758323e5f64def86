"""How an elevation sees the ground, and so how high water may lie where its cells are too coarse to show it alone.

A cell that water fills in part shows a mean of the water and of what stands beside it. The water then lies lower than
the cell by the dry share of what rises round it, as far as the elevation shows that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diproute.constants import LEVEL_BANK_M, LEVEL_CELL_RISE, LEVEL_MIXED_SHARE, LEVEL_PURE_CELLS, LEVEL_TREE_M
from diproute.records.base import F64


@dataclass(frozen=True, slots=True)
class Mixed:
    """Cells that water fills in part, heights [m AMSL]; arrays have one entry a place."""

    lowest_m: F64  # of those that hold water
    purest_m: F64  # the one that holds most
    share: F64  # how much of the two by two cells round that one the water fills [0 to 1]
    round_lowest_m: F64  # of those that hold water and their neighbours
    round_highest_m: F64


@dataclass(frozen=True, slots=True)
class Seen:
    """How an elevation sees the ground."""

    cell_m: float  # one of its files' own cells on the ground, no finer than the working grid's
    surface: bool  # treetops and roofs are in it
    error_m: float = 0.0  # vertical; 0 where none is stated

    @property
    def pure_m(self) -> float:
        """From this distance to the shore on, a cell's value holds water alone [m]."""
        return LEVEL_PURE_CELLS.value * self.cell_m

    def mixed_level(self, cells: Mixed) -> tuple[F64, F64]:
        """Give the lowest and the highest level that water may have among cells that it fills in part.

        Parameters
        ----------
        cells
            What the cells show.

        Returns
        -------
        low_m, high_m : numpy.ndarray
            The lowest cell less two vertical errors and the dry share of what rises beside the water: that hides a
            bank more than the cells show, in a surface model half a tree where the water fills the purest cell and up
            to a whole one where it hardly shows, and is no more than `constants.LEVEL_CELL_RISE` a cell, or a tall
            tree. The purest cell and the dry share of what falls away from it, and a vertical error [m AMSL].
        """
        wet = LEVEL_MIXED_SHARE.value * np.clip(cells.share, 0.0, 1.0)
        rise = cells.round_highest_m - cells.lowest_m + LEVEL_BANK_M.value
        most_m = LEVEL_CELL_RISE.value * self.cell_m
        if self.surface:
            tree_m = LEVEL_TREE_M.value
            rise, most_m = rise + tree_m * (1.0 - np.clip(cells.share, 0.0, 1.0) / 2), max(most_m, tree_m)
        low: F64 = cells.lowest_m - 2 * self.error_m - (1.0 - wet) * np.minimum(rise, most_m)
        high: F64 = cells.purest_m + (1.0 - wet) * (cells.purest_m - cells.round_lowest_m) + self.error_m
        return low, high
