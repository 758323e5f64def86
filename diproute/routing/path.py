"""From a field to a way: walk down it and pull it straight."""

from __future__ import annotations

from math import gcd
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.records import F32, F64, I64
from diproute.routing.speed_model import FarEnd, SpeedModel

Bools = npt.NDArray[np.bool_]
BACK: Final = 48  # nodes that a pull looks back in the first pass
RINGS: Final = (1, 2, 5)  # cells a walk looks ahead


def hops() -> I64:
    """Offsets in cells that a walk tries: the ways of three rings, each way once."""
    found = [
        (c, r)
        for ring in RINGS
        for c in range(-ring, ring + 1)
        for r in range(-ring, ring + 1)
        if max(abs(c), abs(r)) == ring and gcd(abs(c), abs(r)) == 1
    ]
    return np.array(found, dtype=np.int64)


HOPS: Final = hops()


def walk_down(model: SpeedModel, time: F32, seeded: Bools, col: float, row: float) -> F64 | None:
    """Walk from a place down the field to a gate.

    Parameters
    ----------
    model
        The level on which the field was solved.
    time, seeded
        The field [s], and the cells where it begins.
    col, row
        The place on this level [cells].

    Returns
    -------
    ndarray or None
        (n, 2) column and row, the gate's first, cell by cell, the place itself last; None where the field has no way.
    """
    from diproute.routing.path_kernel import walk

    start = int(col), int(row)
    if not np.isfinite(time[start[1], start[0]]):
        return None
    out = np.empty((int(sum(time.shape)) * 4, 2))
    count = walk(time, seeded, start, HOPS, model.cells, model.gate(), out)
    if count == 0:
        return None
    return np.asarray(np.concatenate([out[:count][::-1] + 0.5, [[col, row]]]))


def thin(nodes: F64) -> F64:
    """Leave out the nodes between two others on one straight line."""
    if len(nodes) < 3:
        return nodes
    step = np.diff(nodes, axis=0)
    cross = step[1:, 0] * step[:-1, 1] - step[1:, 1] * step[:-1, 0]
    ahead = (step[1:] * step[:-1]).sum(axis=1) > 0
    return np.asarray(nodes[np.concatenate([[True], (np.abs(cross) > 1e-9) | ~ahead, [True]])])


def pull_string(model: SpeedModel, nodes: F64, end_m: float, limit_s: float = np.inf, toll_s: float = 1e-4) -> F64:
    """Pull the way straight like a string: leave out every node that makes it no quicker.

    Parameters
    ----------
    model
        The level on whose cells the straight pieces are tried.
    nodes
        (n, 2) column and row, the source first.
    end_m
        Height of the bucket's bottom at the far end [m AMSL].
    limit_s
        The leg must not take longer [s]; a piece that makes it so does not count.
    toll_s
        What a turning point must save to stay [s].

    Returns
    -------
    ndarray
        (m, 2) those that stay.
    """
    from diproute.routing.path_kernel import pull

    far = FarEnd(float(end_m))
    for back in (BACK, 4 * BACK):
        kept = pull(nodes, back, limit_s, toll_s, model.cells, model.gate(), far)
        if kept[0] != 0:  # the limit leaves no way
            break
        nodes = nodes[kept]
    return nodes


def flown(model: SpeedModel, nodes: F64, end_m: float) -> tuple[float, float, float]:
    """Time a way on a level's cells, +inf where it touches a closed cell.

    Returns
    -------
    tuple of float
        With all waiting, without the far end's, without any [s].
    """
    from diproute.routing.path_kernel import fly

    log = np.zeros((len(nodes), 3))
    fly(nodes, 0, model.cells, model.gate(), FarEnd(float(end_m)), log)
    if not np.isfinite(log).all() or (len(nodes) > 1 and log[-1, 2] == 0.0 and log[1:].any()):
        return np.inf, np.inf, np.inf
    return float(log[-1, 1]), float(log[-1, 0]), float(log[-1, 2])
