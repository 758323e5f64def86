"""What an elevation or a canopy does not know, though it has a number there.

Holes come as numbers: a no-data number that nobody tagged, the same mixed into its neighbours by resampling, or a
flat patch of 0 in the middle of hills. All of that is unknown, never low ground and never "no trees". Water is flat
too; it is told from a hole by its rim, for some of a shore always leads down to the water.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from diproute import constants as k
from diproute.reading import voids_kernel
from diproute.records import F32

Bools = npt.NDArray[np.bool_]
Bodies = npt.NDArray[np.int32]
Verdict = Literal["trees", "no-trees", "empty", "absolute-heights", "cover-share"]

SENTINELS: Final = np.array(
    [-9999, -32768, -32767, -10000, -99999, -999999, 32767, 65535, -3.4028235e38, 3.4028235e38], np.float32
)  # as stored, before any unit
HABITS: Final = np.array([0, 1, -1, -99, -500, -999, 255], np.float32)  # real heights as well: only their rim tells
_NO_TREES: Final = np.array([255, 9999, 32767, 65535], np.float32)  # in a canopy
_PATCHES_TOLD: Final = 10
_LOOK: Final = 8  # cells to look for ground beside a smeared hole


@dataclass(frozen=True, slots=True)
class Patch:
    """A flat patch that is a hole."""

    value_m: float
    cells: int
    row: int  # of its first cell
    col: int
    habit: bool  # its number often stands for no data


@dataclass(frozen=True, slots=True)
class Unknown:
    """What an elevation does not know."""

    mask: Bools  # (rows, cols), all of it together
    untold: int  # cells that the file itself has as unknown
    impossible: int  # cells with a number that no land has
    in_patches: int  # cells of flat patches that are holes
    patches: tuple[Patch, ...]  # the largest of them, largest first
    smeared: int  # cells beside all these that resampling mixed with them


@dataclass(frozen=True, slots=True)
class Standing:
    """What a canopy, or a part of one, has standing in it."""

    known: int = 0  # cells with a height that a tree may have
    stand: int = 0  # cells in which something stands, the unknown with them
    absurd: int = 0  # of these, higher than a canopy is
    highest_m: float = 0.0  # of the known

    def __add__(self, other: Standing) -> Standing:
        """Take two parts together."""
        return Standing(
            self.known + other.known,
            self.stand + other.stand,
            self.absurd + other.absurd,
            max(self.highest_m, other.highest_m),
        )

    @property
    def verdict(self) -> Verdict:
        """What the numbers are.

        ``absolute-heights``: more than 1 in 100 of what stands is over 90 m (heights above sea level, decimetres or per
        cent); ``cover-share``: something stands, and nowhere as high as 1.5 m. Both are to be refused. ``no-trees``: 0
        everywhere, which is worth a caution; ``empty``: nothing is known.
        """
        if self.absurd > k.CANOPY_ABSURD_SHARE.value * self.stand:
            return "absolute-heights"
        if not self.known:
            return "empty"
        if self.highest_m <= 0.0:
            return "no-trees"
        return "cover-share" if self.highest_m < k.CANOPY_COVER.value else "trees"


def elevation_unknown(numbers: F32, metres: float, cell_m: float, water: Bodies | None = None) -> Unknown:
    """Find what an elevation does not know.

    Parameters
    ----------
    numbers
        (rows, cols) float32 as the file has them, NaN where it says that it does not know.
    metres
        Metres in one unit of the file.
    cell_m
        Shorter side of a cell on the ground [m].
    water
        (rows, cols): which mapped water a cell lies in, from 1; 0: in none. None: no water is mapped here, so that
        flat water may lie anywhere.

    Returns
    -------
    Unknown
        Numbers outside -500 to 9000 m and those that stand for no data; flat patches with a drop all round, but for
        those that are a mapped water; and cells within two of these that stray from the ground beyond.
    """
    untold = np.isnan(numbers)
    z = numbers * np.float32(metres)
    lowest, highest = np.float32(k.LOWEST_LAND_M.value), np.float32(k.ABSURD_HEIGHT_M.value)
    absurd = ~untold & (~(z >= lowest) | ~(z <= highest))
    for sentinel in SENTINELS:
        if lowest <= sentinel * np.float32(metres) <= highest:  # in a small unit; elsewhere the bounds tell
            absurd |= numbers == sentinel
    z[absurd] = np.nan
    in_patch, patches = _flat_holes(z, HABITS * np.float32(metres), cell_m, water)
    unknown = untold | absurd | in_patch
    smeared = np.zeros(z.shape, np.bool_)
    if unknown.any():
        stray = max(k.SMEAR_M.value, k.SMEAR_RISE.value * cell_m)
        voids_kernel.smeared(z, unknown, absurd, (int(k.SMEAR_CELLS.value), _LOOK, stray), smeared)
    held, none, flat, near = (int(np.count_nonzero(cells)) for cells in (untold, absurd, in_patch, smeared))
    return Unknown(unknown | smeared, held, none, flat, patches, near)


def canopy_unknown(numbers: F32, metres: float) -> tuple[Bools, Standing]:
    """Find what a canopy does not know, and what stands in it.

    Parameters
    ----------
    numbers
        (rows, cols) float32 as the file has them, NaN where it says that it does not know.
    metres
        Metres in one unit of the file.

    Returns
    -------
    mask : ndarray of bool
        Not known: below -0.5 m or above the tallest tree on earth, too.
    standing : Standing
        Whether these are heights of trees.
    """
    heights = numbers * np.float32(metres)
    mask = ~((heights >= k.TREE_LEAST_M.value) & (heights <= k.TALLEST_TREE_M.value))
    mask |= np.isin(numbers, SENTINELS)
    said = heights[np.isfinite(heights) & ~np.isin(numbers, SENTINELS) & ~np.isin(numbers, _NO_TREES)]
    known = heights[~mask]
    return mask, Standing(
        known.size,
        int(np.count_nonzero(said > k.TREE_STANDS_M.value)),
        int(np.count_nonzero(said > k.CANOPY_ABSURD_M.value)),
        float(known.max(initial=0.0)),
    )


def _flat_holes(z: F32, habits: F32, cell_m: float, water: Bodies | None) -> tuple[Bools, tuple[Patch, ...]]:
    """Flat patches with a drop all round."""
    label = np.empty(z.shape, np.int32)
    count = voids_kernel.patches(z, habits, label) + 1
    cells, place, value = np.zeros(count, np.int64), np.zeros(count, np.int64), np.zeros(count, np.float32)
    voids_kernel.sizes(z, label, cells, value, place)
    habit = np.isin(value, habits)
    large = cells >= k.VOID_CELLS.value
    step = np.full(count, np.nan)
    step[large] = max(k.VOID_STEP_M.value, k.VOID_STEP_RISE.value * cell_m)
    step[habit] = k.VOID_HABIT_STEP_M.value
    if water is not None:  # but for a few cells: gaps in a wood by the sea are as deep
        step[habit & large] = k.VOID_DRY_STEP_M.value
    step[0] = np.nan
    rim, low = np.zeros(count, np.int64), np.zeros(count, np.int64)
    voids_kernel.rims(z, label, step, rim, low)
    hole = (rim >= k.VOID_RIM_LEAST.value) & (low <= k.VOID_RIM_SHARE.value * rim)
    if water is not None and hole.any():
        hole &= ~_is_water(hole, label, cells, water)
    found = np.flatnonzero(hole)
    found = found[np.argsort(-cells[found], kind="stable")][:_PATCHES_TOLD]
    rows, cols = np.divmod(place[found], z.shape[1])
    patches = tuple(
        Patch(float(value[n]), int(cells[n]), int(row), int(col), bool(habit[n]))
        for n, row, col in zip(found, rows, cols, strict=True)
    )
    return hole[label], patches


def _is_water(hole: Bools, label: npt.NDArray[np.int32], cells: npt.NDArray[np.int64], water: Bodies) -> Bools:
    """Tell which patches lie mostly in mapped waters that they make up for the most part."""
    body_cells = np.bincount(water.ravel())
    inside = hole[label] & (water > 0)
    bodies = len(body_cells)
    pair, shared = np.unique(label[inside].astype(np.int64) * bodies + water[inside], return_counts=True)
    patch, body = np.divmod(pair, bodies)
    makes_up = 2 * shared > body_cells[body]
    wet = np.zeros(len(hole))
    np.add.at(wet, patch[makes_up], shared[makes_up])
    return np.asarray(2 * wet > cells)
