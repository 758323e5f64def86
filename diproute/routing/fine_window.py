"""From a site that the coarse field does not reach to the nearest part of it that counts, over fine cells.

A coarse cell is closed as soon as one fine cell in it is, so narrow openings close. Instead of a solve of the whole
fine grid, a window of it round the site is solved from the times of the coarse field.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from diproute.records import F32, F64
from diproute.routing.path import walk_down
from diproute.routing.speed_model import SpeedModel

WINDOW_M: Final = 3000.0  # to each side of the site


def walk_through_window(fine: SpeedModel, coarse: SpeedModel, time: F32, col: float, row: float) -> F64 | None:
    """Walk from a site over fine cells to a cell of the coarse field, then down the coarse field.

    Parameters
    ----------
    fine, coarse
        The two levels of one field.
    time
        The coarse field [s].
    col, row
        The site in fine cells.

    Returns
    -------
    ndarray or None
        (n, 2) column and row in fine cells, the source first; None where the window holds no way.
    """
    from diproute.routing.travel_time_kernel import TILE, solve_tiles

    factor = coarse.level.factor
    wide = int(WINDOW_M / coarse.level.cell_m)
    # whole coarse cells, so that the window's cells and theirs match
    c0, r0 = max(int(col) // factor - wide, 0), max(int(row) // factor - wide, 0)
    part = time[r0 : r0 + 2 * wide + 1, c0 : c0 + 2 * wide + 1]
    times = np.repeat(np.repeat(part, factor, axis=0), factor, axis=1)
    window = slice(r0 * factor, r0 * factor + times.shape[0]), slice(c0 * factor, c0 * factor + times.shape[1])
    code = fine.code[window].copy()
    code[[0, -1], :] = 0
    code[:, [0, -1]] = 0
    times = np.ascontiguousarray(times[: code.shape[0], : code.shape[1]])
    reached = np.isfinite(times) & (code > 0)
    times[code == 0] = np.inf
    near = replace(fine, code=code, height=np.ascontiguousarray(fine.height[window]))
    awake = np.zeros((-(-code.shape[0] // TILE), -(-code.shape[1] // TILE)))
    tol = 2e-3 * fine.level.cell_m / fine.airspeed_m_s
    solve_tiles(times, near.cells, near.gate(), tol, awake)
    times[reached] = -1.0  # the walk ends there
    shift = np.array([c0 * factor, r0 * factor])
    here = walk_down(near, times, col - shift[0], row - shift[1])
    if here is None:
        return None
    here = here + shift
    there = walk_down(coarse, time, here[0, 0] / factor, here[0, 1] / factor)
    return None if there is None else np.concatenate([there[:-1] * factor, here])
