"""Compiled loops of the voids: patches of one number, their rims, and cells next to what is not known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from diproute.kernels import njit

if TYPE_CHECKING:
    from diproute.records import F32, F64, I64

I32 = npt.NDArray[np.int32]


@njit(cache=True, nogil=True, inline="always")
def _root(parent: I32, k: int) -> int:
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@njit(cache=True, nogil=True)
def patches(z: F32, habit: F32, label: I32) -> int:
    """Give a number to each patch of cells that touch, also by a corner, and hold exactly one height.

    Parameters
    ----------
    z
        (rows, cols), NaN where not known.
    habit
        Numbers whose patches are also numbered when they are one cell large.
    label
        (rows, cols), filled with the patch's number from 1; 0: of no patch.

    Returns
    -------
    int
        How many patches.
    """
    rows, cols = z.shape
    parent = np.empty(rows * cols + 1, np.int32)
    parent[0] = 0
    count = 0
    for i in range(rows):
        for j in range(cols):
            v, mine = z[i, j], 0
            label[i, j] = 0
            if v != v:
                continue
            for a, b in ((i, j - 1), (i - 1, j - 1), (i - 1, j), (i - 1, j + 1)):
                if a < 0 or b < 0 or b >= cols or z[a, b] != v:
                    continue
                if label[a, b] == 0:
                    count += 1
                    parent[count] = count
                    label[a, b] = count
                other = _root(parent, label[a, b])
                if mine == 0:
                    mine = other
                elif mine != other:
                    parent[max(mine, other)] = min(mine, other)
                    mine = min(mine, other)
            if mine == 0:
                for number in habit:
                    if v == number:
                        count += 1
                        parent[count] = count
                        mine = count
                        break
            label[i, j] = mine
    last = 0
    for k in range(1, count + 1):  # a parent is always the smaller number
        if parent[k] == k:
            last += 1
            parent[k] = -last
        else:
            parent[k] = parent[parent[k]]
    for i in range(rows):
        for j in range(cols):
            if label[i, j] > 0:
                label[i, j] = -parent[label[i, j]]
    return last


@njit(cache=True, nogil=True)
def sizes(z: F32, label: I32, cells: I64, value: F32, place: I64) -> None:
    """Count each patch's cells, note its number and its first cell (row · cols + col); index 0 is of no patch."""
    rows, cols = z.shape
    for i in range(rows):
        for j in range(cols):
            k = label[i, j]
            if cells[k] == 0:
                value[k] = z[i, j]
                place[k] = i * cols + j
            cells[k] += 1


@njit(cache=True, nogil=True)
def rims(z: F32, label: I32, step: F64, rim: I64, low: I64) -> None:
    """Count, for each patch, its pairs with a known neighbour of another number, and those that lead down to it.

    Parameters
    ----------
    z, label
        The cells and their patches.
    step
        By patch: a neighbour that is higher by more than this [m] stands over a drop; NaN: the patch is not counted.
    rim, low
        By patch: pairs, and pairs whose neighbour is no more than the step above; added to in place.
    """
    rows, cols = z.shape
    for i in range(rows):
        for j in range(cols):
            k = label[i, j]
            if k == 0 or step[k] != step[k]:
                continue
            for a in range(max(i - 1, 0), min(i + 2, rows)):
                for b in range(max(j - 1, 0), min(j + 2, cols)):
                    other = z[a, b]
                    if other == other and label[a, b] != k:
                        rim[k] += 1
                        if other - z[i, j] <= step[k]:
                            low[k] += 1


@njit(cache=True, nogil=True)
def smeared(z: F32, unknown: Any, absurd: Any, limits: tuple[int, int, float], out: Any) -> None:
    """Mark cells near unknown ones that stray from the nearest ground further off.

    Parameters
    ----------
    z
        (rows, cols), as the file has it.
    unknown, absurd
        Cells that are not known, and those of them whose number no ground has.
    limits
        Cells the smear reaches, cells to look for ground in, metres it may stray.
    out
        (rows, cols) bool, set where a cell lies too low, or near an absurd number too high.
    """
    rows, cols = z.shape
    reach, look, most = limits
    near = np.zeros((rows, cols), np.uint8)  # 1: near an unknown cell, 2: near an absurd number
    for i in range(rows):
        for j in range(cols):
            if not unknown[i, j]:
                continue
            inside = 0 < i < rows - 1 and 0 < j < cols - 1
            if inside and unknown[i - 1, j] and unknown[i + 1, j] and unknown[i, j - 1] and unknown[i, j + 1]:
                continue  # in the middle of a hole
            mark = 2 if absurd[i, j] else 1
            for a in range(max(i - reach, 0), min(i + reach + 1, rows)):
                for b in range(max(j - reach, 0), min(j + reach + 1, cols)):
                    near[a, b] |= mark
    for i in range(rows):
        for j in range(cols):
            if near[i, j] == 0 or unknown[i, j]:
                continue
            best, ground = look * look + 1, np.float32(np.nan)
            for a in range(max(i - look, 0), min(i + look + 1, rows)):
                for b in range(max(j - look, 0), min(j + look + 1, cols)):
                    away = (a - i) * (a - i) + (b - j) * (b - j)
                    if away < best and near[a, b] == 0 and not unknown[a, b]:
                        best, ground = away, z[a, b]
            if ground != ground:
                out[i, j] = near[i, j] >= 2  # nothing to compare with
            elif ground - z[i, j] > most or (near[i, j] >= 2 and z[i, j] - ground > most):
                out[i, j] = True
