"""From a field to a way: walk down it, pull it straight, tune its corners on the fine grid."""

from __future__ import annotations

from itertools import pairwise
from math import gcd
from typing import Final

import numpy as np

from diproute.records import F32, F64, I64
from diproute.routing.speed_model import SpeedModel

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


def walk_down(model: SpeedModel, time: F32, col: float, row: float, close_at_s: float = np.inf) -> F64 | None:
    """Walk from a place down the field to a source.

    Parameters
    ----------
    model
        The level on which the field was solved.
    time
        The field [s].
    col, row
        The place on this level [cells].
    close_at_s
        As the field was solved [s].

    Returns
    -------
    ndarray or None
        (n, 2) column and row, the source first, cell by cell, the place itself last; None where the field has no way.
    """
    from diproute.routing.path_kernel import walk

    start = int(col), int(row)
    if not np.isfinite(time[start[1], start[0]]):
        return None
    out = np.empty((int(sum(time.shape)) * 4, 2))
    count = walk(time, start, HOPS, model.cells, model.gate(close_at_s), model.nowhere, out)
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

    col, row = nodes[-1]
    far = model.far(end_m, col, row)
    for back in (BACK, 4 * BACK):
        kept = pull(nodes, back, limit_s, toll_s, model.cells, model.gate(), far)
        if kept[0] != 0:  # the limit leaves no way
            break
        nodes = nodes[kept]
    return nodes


def tune_corners(
    model: SpeedModel, nodes: F64, end_m: float, first_cells: float, last_cells: float
) -> tuple[F64, float, float, float]:
    """Move the corners while that makes the way quicker.

    Parameters
    ----------
    model
        The fine level.
    nodes
        (n, 2) column and row, the source first.
    end_m
        Height of the bucket's bottom at the far end [m AMSL].
    first_cells, last_cells
        Longest and shortest step [cells].

    Returns
    -------
    nodes, seconds, arrival_s, plain_s : ndarray, float, float, float
        (n, 2); the times of `flown`, areas that cost extra counted at their price [s].
    """
    from diproute.routing.path_kernel import tune

    nodes = np.array(nodes)
    col, row = nodes[-1]
    far = model.far(end_m, col, row)
    tune(nodes, first_cells, last_cells, model.cells, model.gate(), far)
    return nodes, *flown(model, nodes, end_m)


def flown(model: SpeedModel, nodes: F64, end_m: float) -> tuple[float, float, float]:
    """Time a way on a level's cells, +inf where it touches a closed cell.

    Returns
    -------
    tuple of float
        With all waiting, without the far end's, without any [s].
    """
    from diproute.routing.path_kernel import fly

    col, row = nodes[-1]
    log = np.zeros((len(nodes), 3))
    fly(nodes, 0, model.cells, model.gate(), model.far(end_m, col, row), log)
    if not np.isfinite(log).all() or (len(nodes) > 1 and log[-1, 2] == 0.0 and log[1:].any()):
        return np.inf, np.inf, np.inf
    return float(log[-1, 1]), float(log[-1, 0]), float(log[-1, 2])


def split(nodes: F64, longest: float) -> F64:
    """Put middles into pieces longer than so many cells, so that tuning can bend them."""
    out = [nodes[:1]]
    for a, b in pairwise(nodes):
        parts = int(np.ceil(np.hypot(*(b - a)) / longest))
        out.append(a + (b - a) * (np.arange(1, parts + 1) / parts)[:, None])
    return np.concatenate(out)
