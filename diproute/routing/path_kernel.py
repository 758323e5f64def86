"""Compiled loops that walk down a travel-time field, pull the way straight and tune its corners.

Places are counted in cells: ``(col, row)`` from the grid's upper left corner, a cell's middle at +0.5. Everything runs
in the order of the field, away from its source; the caller turns a leg that is flown the other way.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.kernels import njit

TURNS = 4  # rounds of corners at one step


@njit(cache=True, nogil=True)
def line(state: Any, way: Any, cells: Any, gate: Any, far: Any) -> Any:
    """Fly one straight piece, cell by cell.

    Parameters
    ----------
    state
        Time on arrival at its start, latest time so far that the far end can be reached (what must still be climbed or
        descended there included), time without any waiting [s].
    way
        From column, row, to column, row, in cells.
    cells, gate, far
        `Cells`, `Gate` and `FarEnd` of the speed model.

    Returns
    -------
    tuple of float
        The state at its end; +inf when a closed cell or a closed corner is touched.
    """
    code, height, table = cells
    time, late, plain = state
    col0, row0, col1, row1 = way
    closed = (np.inf, np.inf, np.inf)
    speed, cell, open_at, open_rate, _, close_rate = gate
    far_height, far_col, far_row, radius, relief = far
    span_c, span_r = col1 - col0, row1 - row0
    length = np.sqrt(span_c * span_c + span_r * span_r)
    col, row = int(np.floor(col0)), int(np.floor(row0))
    last_c, last_r = int(np.floor(col1)), int(np.floor(row1))
    step_c, step_r = (1 if span_c > 0 else -1), (1 if span_r > 0 else -1)
    if code[row, col] == 0 or code[last_r, last_c] == 0:
        return closed
    if length == 0.0:
        return state
    east, north = span_c / length, -span_r / length
    per_c = abs(1.0 / span_c) if span_c != 0 else np.inf
    per_r = abs(1.0 / span_r) if span_r != 0 else np.inf
    next_c = ((col + 1 - col0) if span_c > 0 else (col0 - col)) * per_c if span_c != 0 else np.inf
    next_r = ((row + 1 - row0) if span_r > 0 else (row0 - row)) * per_r if span_r != 0 else np.inf
    at, kind, pace = 0.0, -1, 0.0
    while True:
        here = code[row, col]
        if here == 0:
            return closed
        if here != kind:
            kind = here
            along = table[kind, 0] * east + table[kind, 1] * north
            across = table[kind, 0] * north - table[kind, 1] * east
            pace = table[kind, 2] * length * cell / (along + np.sqrt(speed * speed - across * across))
        leave = min(next_c, next_r, 1.0)
        took = (leave - at) * pace
        top = height[row, col]
        middle = 0.5 * (at + leave)
        gap_c, gap_r = col0 + middle * span_c - far_col, row0 + middle * span_r - far_row
        if gap_c * gap_c + gap_r * gap_r < radius * radius:
            top -= relief
        time = max(time, (top - open_at) * open_rate) + took
        plain += took
        late = max(late, time + (top - far_height) * close_rate)
        if leave >= 1.0 or (col == last_c and row == last_r):
            return time, max(late, time), plain
        at = leave
        if abs(next_c - next_r) < 1e-9:
            if code[row, col + step_c] == 0 or code[row + step_r, col] == 0:
                return closed
            col += step_c
            row += step_r
            next_c += per_c
            next_r += per_r
        elif next_c < next_r:
            col += step_c
            next_c += per_c
        else:
            row += step_r
            next_r += per_r


@njit(cache=True, nogil=True)
def seed(time: Any, reach: int, col: int, row: int, cells: Any, gate: Any, far: Any) -> None:
    """Fill the straight-line times round a source into `time`, where nothing closed lies between."""
    rows, cols = time.shape
    code = cells.code
    for r in range(max(row - reach, 0), min(row + reach + 1, rows)):
        for c in range(max(col - reach, 0), min(col + reach + 1, cols)):
            if code[r, c] > 0 and (c - col) ** 2 + (r - row) ** 2 <= reach * reach:
                way = (col + 0.5, row + 0.5, c + 0.5, r + 0.5)
                time[r, c] = min(time[r, c], line((0.0, 0.0, 0.0), way, cells, gate, far)[0])


@njit(cache=True, nogil=True)
def walk(time: Any, start: Any, hops: Any, cells: Any, gate: Any, far: Any, out: Any) -> int:
    """Walk from a cell down to a source; cells go to ``out`` (col, row), their number is returned, 0 when stuck.

    ``far`` must have the height 0 and lie out of reach, so that the gate's closing time is what a step must keep.
    """
    rows, cols = time.shape
    col, row = start
    out[0, 0], out[0, 1] = col, row
    count = 1
    while time[row, col] > 0.0:
        best, best_c, best_r = np.inf, -1, -1
        for k in range(hops.shape[0]):
            c, r = col + hops[k, 0], row + hops[k, 1]
            if 0 <= c < cols and 0 <= r < rows and time[r, c] < time[row, col]:
                leave = time[r, c]
                way = (c + 0.5, r + 0.5, col + 0.5, row + 0.5)
                came, late, plain = line((leave, leave, 0.0), way, cells, gate, far)
                value = came + 1e-3 * (leave + plain)
                if value < best and late <= gate.close_at:
                    best, best_c, best_r = value, c, r
        if best_c < 0 or count == out.shape[0]:
            return 0
        col, row = best_c, best_r
        out[count, 0], out[count, 1] = col, row
        count += 1
    return count


@njit(cache=True, nogil=True)
def pull(nodes: Any, back: int, limit: float, toll: float, cells: Any, gate: Any, far: Any) -> Any:
    """Choose among the nodes those whose straight pieces arrive earliest, looking `back` nodes at a time.

    A piece after which the far end is reached later than `limit` does not count; each turning point costs
    `toll` seconds. Returns the indices that stay.
    """
    count = nodes.shape[0]
    time, late, plain = np.full(count, np.inf), np.full(count, np.inf), np.full(count, np.inf)
    value, before = np.full(count, np.inf), np.full(count, -1, np.int64)
    time[0] = late[0] = plain[0] = value[0] = 0.0
    for j in range(1, count):
        for i in range(j - 1, max(j - back, 0) - 1, -1):
            if value[i] < value[j]:
                way = (nodes[i, 0], nodes[i, 1], nodes[j, 0], nodes[j, 1])
                t, last, p = line((time[i], late[i], plain[i]), way, cells, gate, far)
                cost = value[i] + t - time[i] + 1e-3 * (p - plain[i]) + toll
                if last <= limit and cost < value[j]:
                    time[j], late[j], plain[j], value[j], before[j] = t, last, p, cost, i
    kept = np.empty(count, np.int64)
    at, size = count - 1, 0
    while at >= 0:
        kept[size] = at
        size += 1
        at = before[at]
    return kept[:size][::-1]


@njit(cache=True, nogil=True)
def fly(nodes: Any, first: int, cells: Any, gate: Any, far: Any, log: Any) -> Any:
    """Fly a way from its node `first` on; the state at each node is in `log` (n, 3), later ones are filled in.

    Returns what is to be made small: the time, and a little for the length where time is spent waiting.
    """
    state = (log[first, 0], log[first, 1], log[first, 2])
    for i in range(first + 1, nodes.shape[0]):
        way = (nodes[i - 1, 0], nodes[i - 1, 1], nodes[i, 0], nodes[i, 1])
        state = line(state, way, cells, gate, far)
        log[i, 0], log[i, 1], log[i, 2] = state
        if state[0] == np.inf:
            break
    return state[1] + 1e-3 * state[2]


@njit(cache=True, nogil=True)
def tune(nodes: Any, first: float, last: float, cells: Any, gate: Any, far: Any) -> None:
    """Move the corners of a way, in place, while it gets quicker: steps of `first` cells, halved down to `last`."""
    count = nodes.shape[0]
    rows, cols = cells.code.shape
    log, trial = np.zeros((count, 3)), np.zeros((count, 3))
    best = fly(nodes, 0, cells, gate, far, log)
    step, turns = first, 0
    while step >= last:
        moved = False
        turns += 1
        for i in range(1, count - 1):
            for k in range(8):
                col, row = nodes[i, 0], nodes[i, 1]
                nodes[i, 0] += step * np.cos(k * np.pi / 4)
                nodes[i, 1] += step * np.sin(k * np.pi / 4)
                better = False
                if 1 <= nodes[i, 0] < cols - 1 and 1 <= nodes[i, 1] < rows - 1:
                    before = (log[i - 1, 0], log[i - 1, 1], log[i - 1, 2])
                    way = (nodes[i - 1, 0], nodes[i - 1, 1], nodes[i, 0], nodes[i, 1])
                    state = line(before, way, cells, gate, far)
                    way = (nodes[i, 0], nodes[i, 1], nodes[i + 1, 0], nodes[i + 1, 1])
                    state = line(state, way, cells, gate, far) if state[2] < np.inf else state
                    old = log[i + 1]
                    if state[2] < np.inf and (state[0] < old[0] or state[1] < old[1] or state[2] < old[2] - 1e-9):
                        trial[i + 1, 0], trial[i + 1, 1], trial[i + 1, 2] = state
                        value = fly(nodes, i + 1, cells, gate, far, trial)
                        better = value < best - 1e-6
                if better:
                    best, moved = value, True
                    fly(nodes, i - 1, cells, gate, far, log)
                else:
                    nodes[i, 0], nodes[i, 1] = col, row
        if not moved or turns == TURNS:
            step, turns = 0.5 * step, 0
