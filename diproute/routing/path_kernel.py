"""Compiled loops that walk down a travel-time field and pull the way straight.

Places are counted in cells: ``(col, row)`` from the grid's upper left corner, a cell's middle at +0.5. Everything runs
in the order of the field, away from its source; the caller turns a leg that is flown the other way.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.kernels import njit


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
    far_height = far.height
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
def walk(time: Any, seeded: Any, start: Any, hops: Any, cells: Any, gate: Any, out: Any) -> int:
    """Walk from a cell down to a gate; cells go to ``out`` (col, row), their number is returned, 0 when stuck.

    Of the cells that the hops reach the one is taken from which, with the hop, the start is the soonest.
    """
    code, table = cells.code, cells.table
    rows, cols = time.shape
    col, row = start
    out[0, 0], out[0, 1] = col, row
    count = 1
    while not seeded[row, col]:
        best, best_c, best_r = np.inf, -1, -1
        kind = code[row, col]
        for k in range(hops.shape[0]):
            dc, dr = hops[k, 0], hops[k, 1]
            c, r = col + dc, row + dr
            if c < 0 or r < 0 or c >= cols or r >= rows or not time[r, c] < time[row, col]:
                continue
            ring = max(abs(dc), abs(dr))
            shut = False
            for j in range(1, 2 * ring):
                if code[int(row + 0.5 + dr * j / (2 * ring)), int(col + 0.5 + dc * j / (2 * ring))] == 0:
                    shut = True
                    break
            if shut or (ring == 1 and dc != 0 and dr != 0 and (code[row, c] == 0 or code[r, col] == 0)):
                continue
            length = np.sqrt(dc * dc + dr * dr)
            east, north = -dc / length, dr / length  # the field grows outward, against the walk
            along = table[kind, 0] * east + table[kind, 1] * north
            across = table[kind, 0] * north - table[kind, 1] * east
            value = time[r, c] + length * gate.cell * table[kind, 2] / (
                along + np.sqrt(gate.speed * gate.speed - across * across)
            )
            if value < best:
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
