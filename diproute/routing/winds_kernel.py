"""A path of a leg timed in many winds, compiled: in each it is held against the law by which a leg is flown."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diproute.kernels import njit
from diproute.records import F64, I64
from diproute.routing.heights_kernel import FLYABLE, ORBITS_DOWN, ORBITS_UP, PRICE, WHOLE
from diproute.routing.refine_kernel import CLOSE_M, SAVED_S, cost


class Winds(NamedTuple):
    """The winds that one craft flies in, w of them, and what they leave of a path's gates."""

    at: I64  # (w,) place of each in the answer
    east: F64  # (w,) motion of the air [m/s]
    north: F64
    speed: F64  # (w, 2) over the ground on the path's departure and arrival, above 0 [m/s]
    most: F64  # (w,) a path that takes longer is none [s]


class Timed(NamedTuple):
    """What is found by wind, changed in place: only a quicker path takes the place of one."""

    seconds: F64  # of the quickest, with what dear areas add to it; +inf: none
    flown_s: F64  # without that
    path: I64  # its number; -1: none


@njit(cache=True, nogil=True)
def time_path(path: Any, winds: Any, scene: Any, work: Any, out: Any, found: Any) -> None:
    """Time a path in winds, and keep it in those in which it can be flown and is the quickest so far.

    Where one end would ask for orbits and the other one, too, the path counts as none: both may ask for one place.

    Parameters
    ----------
    path
        Its number, its `Leg`, and how many free corners that has.
    winds
        `Winds`.
    scene
        Of the search; its one-level air and the speeds of the path's gates are written over.
    work, out
        As for `cost`.
    found
        `Timed`.
    """
    number, leg, m = path
    whole = np.int64(WHOLE)  # a literal would compile everything once more
    g = leg.gate
    for w in range(winds.at.size):
        scene.start.speed[g[0], g[1]], scene.end.speed[g[2], g[3]] = winds.speed[w, 0], winds.speed[w, 1]
        scene.air.east[0], scene.air.north[0] = winds.east[w], winds.north[w]
        at = winds.at[w]
        limit = found.seconds[at] - SAVED_S
        if scene.land.cost.size == 1:  # no dear areas
            limit = min(limit, winds.most[w])
        seconds = cost(leg, m, scene, CLOSE_M, whole, limit, work, out)
        if not seconds < limit or out[FLYABLE] < 1.0 or min(out[ORBITS_UP], out[ORBITS_DOWN]) > 0.0:
            continue
        if seconds - out[PRICE] <= winds.most[w]:
            found.seconds[at], found.flown_s[at], found.path[at] = seconds, seconds - out[PRICE], number
