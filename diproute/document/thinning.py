"""Long rows made short: a leg's path with few points, and its side view in even steps."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from diproute.document.legs import Envelope
from diproute.records import F64, I64, Leg

STRAY_M: Final = 1.0  # a leg as planned strays so far from its thinned path, at most, upwards and sideways
STEPS: Final = 160
GRAIN: Final = 1e-3  # of the last decimal: what arithmetic alone adds to a number is no reason to round it up
_FAR_M: Final = 1e6


def up(values: F64 | np.float64) -> F64:
    """Round up to a tenth [m]; NaN stays."""
    return np.ceil(values * 10 - GRAIN) / 10 + 0.0


def down(values: F64 | np.float64) -> F64:
    """Round down to a tenth [m]; NaN stays."""
    return np.floor(values * 10 + GRAIN) / 10 + 0.0


def maybe(values: F64) -> tuple[float | None, ...]:
    """Give a row as plain numbers, None where it is not known."""
    return tuple(None if value != value else value for value in values.tolist())


def kept(leg: Leg) -> I64:
    """Choose the points that a leg's path keeps.

    The way of D. H. Douglas and T. K. Peucker (1973), in height and sideways at once, over the distance flown.

    Parameters
    ----------
    leg
        The leg with all its points.

    Returns
    -------
    numpy.ndarray
        Indices, rising: the ends, every turning point, where arcs and orbits begin and end, and as many others as it
        takes for no point to lie more than `STRAY_M` from the path, and for the path to come nowhere below the
        floor where the leg itself does not.
    """
    keep = np.zeros(len(leg.distance_m), dtype=bool)
    keep[[0, -1, *leg.waypoints]] = True
    for piece in leg.pieces:
        if piece.kind in ("arc", "orbits"):
            keep[[piece.first, piece.last]] = True
    open_ = list(pairwise(np.flatnonzero(keep).tolist()))
    while open_:
        first, last = open_.pop()
        if last - first < 2:
            continue
        stray = _stray(leg, first, last)
        worst = int(np.argmax(stray))
        if stray[worst] > STRAY_M:
            middle = first + 1 + worst
            keep[middle] = True
            open_ += [(first, middle), (middle, last)]
    return np.flatnonzero(keep)


def _stray(leg: Leg, first: int, last: int) -> F64:
    """Give how far the points between two others lie from the straight between them [m]."""
    inner = slice(first + 1, last)
    along, height = leg.distance_m, leg.altitude_m
    run = along[last] - along[first]
    if run > 0:
        share = (along[inner] - along[first]) / run
        chord = height[first] + share * (height[last] - height[first])
    else:  # on the spot: anything between the two heights is on the way
        share = np.zeros(last - first - 1)
        chord = np.clip(height[inner], min(height[first], height[last]), max(height[first], height[last]))
    aside = np.hypot(*(xy[inner] - xy[first] - share * (xy[last] - xy[first]) for xy in (leg.x_m, leg.y_m)))
    below = np.fmin(height[inner], leg.floor_m[inner]) - chord
    stray: F64 = np.where(below > GRAIN, _FAR_M + below, np.maximum(np.abs(height[inner] - chord), aside))
    return stray


def envelope(leg: Leg) -> Envelope | None:
    """Give a leg from the side in `STEPS` even steps, or in as many as it has; None for one of no length."""
    length = leg.length_m
    if not length > 0:
        return None
    steps = min(STEPS, len(leg.distance_m) - 1)
    edges = np.linspace(0.0, length, steps + 1)
    first = np.searchsorted(leg.distance_m, edges[:-1], side="left")
    end = np.searchsorted(leg.distance_m, edges[1:], side="right")

    def over(values: F64, most: np.ufunc) -> F64:
        at = np.interp(edges, leg.distance_m, values)
        edge: F64 = most(at[:-1], at[1:])
        inside = most.reduceat(np.append(values, values[-1]), np.column_stack([first, end]).ravel())[::2]
        return np.where(first < end, most(edge, inside), edge)

    return Envelope(
        step_m=length / steps,
        ground_m=maybe(up(over(leg.ground_m, np.maximum))),
        top_m=maybe(up(over(leg.top_m, np.maximum))),
        floor_m=maybe(up(over(leg.floor_m, np.maximum))),
        room_m=maybe(down(over(leg.altitude_m - leg.floor_m, np.minimum))),
        aircraft_m=tuple(down(over(leg.altitude_m, np.minimum)).tolist()),
    )
