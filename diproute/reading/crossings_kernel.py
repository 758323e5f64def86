"""Counting where the edges of an area cross each other, with an early end."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from diproute.kernels import njit
from diproute.records import F64, I64


class Bins(NamedTuple):
    """Edges sorted into the bins of a square mesh that their boxes touch."""

    first: I64  # (bins + 1,) where each bin's edges begin in `edges`
    edges: I64  # numbers of edges, bin by bin
    left: float
    low: float
    wide: float  # of a bin
    tall: float
    side: int  # bins along each side of the mesh


@njit(cache=True)
def count(edges: F64, bins: Bins, most: int, most_pairs: int) -> int:
    """Count pairs of edges that cross inside both.

    Parameters
    ----------
    edges
        Start and end of each edge, (n, 4): x, y, x, y.
    bins
        The edges by bin. A pair that shares several bins counts in the one that holds its crossing.
    most
        Where the counting ends.
    most_pairs
        Pairs looked at before the counting ends.

    Returns
    -------
    int
        Crossings; more than `most` when there are more, or too many pairs to look at.
    """
    found = 0
    pairs = 0
    for bin_ in range(bins.first.size - 1):
        for i in range(bins.first[bin_], bins.first[bin_ + 1]):
            a = bins.edges[i]
            ax, ay = edges[a, 0], edges[a, 1]
            ux, uy = edges[a, 2] - ax, edges[a, 3] - ay
            for j in range(i + 1, bins.first[bin_ + 1]):
                b = bins.edges[j]
                pairs += 1
                bx, by = edges[b, 0], edges[b, 1]
                vx, vy = edges[b, 2] - bx, edges[b, 3] - by
                start = ux * (by - ay) - uy * (bx - ax)
                end = ux * (by + vy - ay) - uy * (bx + vx - ax)
                if start * end >= 0.0:
                    continue
                if (vx * (ay - by) - vy * (ax - bx)) * (vx * (ay + uy - by) - vy * (ax + ux - bx)) >= 0.0:
                    continue
                along = start / (start - end)
                col = min(int((bx + along * vx - bins.left) / bins.wide), bins.side - 1)
                row = min(int((by + along * vy - bins.low) / bins.tall), bins.side - 1)
                if row * bins.side + col == bin_:
                    found += 1
                    if found > most:
                        return found
            if pairs > most_pairs:
                return most + 1
    return found


def sort_into_bins(edges: F64, most_entries: int) -> Bins | None:
    """Sort edges into a mesh of about as many bins as edges; None when their boxes touch too many bins."""
    low, high = np.minimum(edges[:, :2], edges[:, 2:]), np.maximum(edges[:, :2], edges[:, 2:])
    corner = low.min(axis=0)
    side = int(np.clip(np.sqrt(len(edges)), 1, 1024))
    size = np.maximum((high.max(axis=0) - corner) / side, 1e-12)
    first: npt.NDArray[np.int64] = np.minimum((low - corner) / size, side - 1).astype(np.int64)
    span = np.minimum((high - corner) / size, side - 1).astype(np.int64) - first + 1
    entries = span[:, 0] * span[:, 1]
    if int(entries.sum()) > most_entries:
        return None
    edge = np.repeat(np.arange(len(edges)), entries)
    nth = np.arange(len(edge)) - np.repeat(np.cumsum(entries) - entries, entries)
    col, row = first[edge, 0] + nth % span[edge, 0], first[edge, 1] + nth // span[edge, 0]
    bin_ = row * side + col
    order = np.argsort(bin_, kind="stable")
    begins = np.searchsorted(bin_[order], np.arange(side * side + 1))
    return Bins(begins, edge[order], float(corner[0]), float(corner[1]), float(size[0]), float(size[1]), side)
