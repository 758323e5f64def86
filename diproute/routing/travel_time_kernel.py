"""Compiled solver of the travel-time field: fast sweeping on tiles, the earliest tile first.

The time obeys ``V·|∇T| + W·∇T = c`` away from the source. A cell is updated from the triangles that it makes with one
neighbour beside it and the diagonal one next to that; the update counts only when the way it comes from lies inside
the triangle, else the two straight steps stand. Both neighbours must be earlier than the cell: with winds up to 0.6 of
the airspeed the way never comes from a triangle with a later corner. A diagonal step needs both cells beside it, so
corners are not cut.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.kernels import njit

TILE = 64


@njit(cache=True, nogil=True)
def triangle(beside: float, diagonal: float, along: float, across: float, step: float, speed: float) -> Any:
    """Time at a cell from a triangle of neighbours; +inf when the way does not come through it.

    ``beside`` and ``diagonal`` are the neighbours' times [s], ``along`` and ``across`` the wind along the step from
    the cell beside and at right angles to it towards the diagonal's far side [m/s], ``step`` the cell's side times its
    cost [m], ``speed`` the airspeed [m/s].
    """
    rise = beside - diagonal  # step · (slowness across)
    left = step - across * rise
    root = left * left - rise * rise * (speed * speed - along * along)
    if root < 0.0 or left <= 0.0:
        return np.inf
    ahead = (speed * np.sqrt(root) - along * left) / (speed * speed - along * along)
    scale = left - along * ahead  # step · |∇T| · V
    go_across = speed * speed * rise + across * scale
    go_along = speed * speed * ahead + along * scale
    if go_across < 0.0 or go_along < go_across:
        return np.inf
    return beside + ahead


@njit(cache=True, nogil=True)
def sweep(time: Any, cells: Any, gate: Any, tol: float, bounds: Any, order: Any, edge: Any) -> bool:
    """Sweep one tile once in one order (down, right; 1 or -1 each); True when a time fell.

    ``edge`` collects the earliest fall by side.
    """
    code, height, table = cells
    speed, cell, open_at, open_rate, close_at, close_rate = gate
    down, right = order
    first_r, last_r, first_c, last_c = bounds
    changed = False
    flat, upright = (3 if right > 0 else 7), (9 if down > 0 else 5)  # columns of the table
    slanted = (10 if right > 0 else 8) if down > 0 else (4 if right > 0 else 6)
    row = first_r if down > 0 else last_r - 1
    for _ in range(last_r - first_r):
        col = first_c if right > 0 else last_c - 1
        for _ in range(last_c - first_c):
            kind = code[row, col]
            if kind > 0:
                now = time[row, col]
                beside, above, corner = time[row, col - right], time[row - down, col], time[row - down, col - right]
                if beside < now or above < now or corner < now:
                    best = min(beside + table[kind, flat], above + table[kind, upright])
                    if code[row, col - right] > 0 and code[row - down, col] > 0:
                        best = min(best, corner + table[kind, slanted])
                    if corner < now:
                        along, across, step = table[kind, 0] * right, -table[kind, 1] * down, cell * table[kind, 2]
                        if beside < now:
                            best = min(best, triangle(beside, corner, along, across, step, speed))
                        if above < now:
                            best = min(best, triangle(above, corner, across, along, step, speed))
                    best = max(best, (height[row, col] - open_at) * open_rate)
                    if best < now - tol and best <= close_at - height[row, col] * close_rate:
                        time[row, col] = best
                        changed = True
                        if row == first_r:
                            edge[0] = min(edge[0], best)
                        if row == last_r - 1:
                            edge[1] = min(edge[1], best)
                        if col == first_c:
                            edge[2] = min(edge[2], best)
                        if col == last_c - 1:
                            edge[3] = min(edge[3], best)
            col += right
        row += down
    return changed


@njit(cache=True, nogil=True)
def solve_tiles(time: Any, cells: Any, gate: Any, tol: float, awake: Any) -> int:
    """Bring every time down to its lowest; the number of tiles visited.

    Parameters
    ----------
    time
        (rows, cols) float32, the sources and their surroundings filled, +inf elsewhere; filled in place.
    cells, gate
        `Cells` and `Gate` of the speed model.
    tol
        Falls smaller than this are left [s].
    awake
        (tiles down, tiles across) earliest time on the rim of a tile that has work to do, +inf for none.
    """
    rows, cols = time.shape
    tiles_r, tiles_c = awake.shape
    edge = np.empty(4)
    visits = 0
    while True:
        pick = np.argmin(awake)
        tr, tc = pick // tiles_c, pick % tiles_c
        if awake[tr, tc] == np.inf:
            return visits
        awake[tr, tc] = np.inf
        visits += 1
        bounds = (
            max(1, tr * TILE), min(rows - 1, (tr + 1) * TILE), max(1, tc * TILE), min(cols - 1, (tc + 1) * TILE)
        )  # fmt: skip
        edge[:] = np.inf
        first_r, last_r, first_c, last_c = bounds
        # the first sweep runs away from the earliest corner, the last of four towards it
        corners = (
            time[first_r - 1, first_c - 1], time[first_r - 1, last_c], time[last_r, first_c - 1], time[last_r, last_c]
        )  # fmt: skip
        start = 0
        for k in range(1, 4):
            start = k if corners[k] < corners[start] else start
        quiet, turn = 0, 0
        while quiet < 3:
            order = start ^ turn
            ways = (1 if order & 2 == 0 else -1), (1 if order & 1 == 0 else -1)
            quiet = 0 if sweep(time, cells, gate, tol, bounds, ways, edge) else quiet + 1
            turn = (turn + 1) & 3
        for dr in (-1, 0, 1):
            for dc in (-1, 0, 1):
                nr, nc = tr + dr, tc + dc
                if (dr != 0 or dc != 0) and 0 <= nr < tiles_r and 0 <= nc < tiles_c:
                    key = 0.0
                    if dr != 0:
                        key = max(key, edge[0] if dr < 0 else edge[1])
                    if dc != 0:
                        key = max(key, edge[2] if dc < 0 else edge[3])
                    awake[nr, nc] = min(awake[nr, nc], key)


@njit(cache=True, nogil=True)
def least_heights(time: Any, height: Any, code: Any, order: Any, rate: float, out: Any) -> None:
    """Find the least height at which each cell may be left so that climbing on the way clears every floor on it.

    A cell is followed by its neighbour of the steepest fall; ``N = max(F, N_next - rate·(T - T_next))``.

    Parameters
    ----------
    time, height, code
        (rows, cols) the field [s], the floor [m AMSL], 0 where closed.
    order
        Cells in rising time.
    rate
        Of climb [m/s].
    out
        (rows, cols, 2), filled in place: the height [m AMSL] and the time to the place that asks for it [s]; NaN where
        there is no way.
    """
    rows, cols = time.shape
    for q in range(order.size):
        r, c = order[q] // cols, order[q] % cols
        now = time[r, c]
        if not np.isfinite(now) or code[r, c] == 0:
            out[r, c, 0] = out[r, c, 1] = np.nan
            continue
        best, br, bc = 0.0, -1, -1
        for dr in range(-1, 2):
            for dc in range(-1, 2):
                rr, cc = r + dr, c + dc
                if rr < 0 or cc < 0 or rr >= rows or cc >= cols or not time[rr, cc] < now:
                    continue
                fall = (now - time[rr, cc]) / np.sqrt(dr * dr + dc * dc)
                if fall > best:
                    best, br, bc = fall, rr, cc
        out[r, c, 0], out[r, c, 1] = height[r, c], 0.0
        if br >= 0:
            took = now - time[br, bc]
            least = out[br, bc, 0] - rate * took
            if least > height[r, c]:
                out[r, c, 0], out[r, c, 1] = least, out[br, bc, 1] + took
