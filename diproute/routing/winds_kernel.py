"""A path of a leg timed in many winds, compiled: in each it is held against the law by which a leg is flown."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diproute.kernels import njit
from diproute.records import F64, I64
from diproute.routing.corners_kernel import Craft
from diproute.routing.heights_kernel import FLYABLE, ORBITS_DOWN, ORBITS_UP, PRICE, WHOLE
from diproute.routing.refine_kernel import CLOSE_M, SAVED_S, Scene, cost

FIRST_M = 40.0  # sampling step of a first look
AT_A_GLANCE = 1.02  # longer than what is wanted by so much at the first look: not looked at closely


class Winds(NamedTuple):
    """The winds, w of them, and what they make of a path's gates."""

    asked: I64  # (n,) those that are to be looked at, with both gates open
    east: F64  # (w,) motion of the air [m/s]
    north: F64
    speed: F64  # (w, 2) over the ground on the path's departure and arrival [m/s]
    most: F64  # (w,) a path that takes longer is none [s]
    craft: I64  # (w,) which one flies


class Crafts(NamedTuple):
    """The craft of several strengths of the wind, c of them, as `Craft`."""

    numbers: F64  # (c, 11) without an orbit's places
    around: I64  # (c,) how many places an orbit has
    circle_x: F64  # (c, most)
    circle_y: F64


class Timed(NamedTuple):
    """What is found by wind, changed in place: only a quicker path takes the place of one."""

    seconds: F64  # of the quickest, with what dear areas add to it; +inf: none
    flown_s: F64  # without that
    path: I64  # its number; -1: none


@njit(cache=True, nogil=True)
def time_path(path: Any, winds: Any, crafts: Any, scene: Any, work: Any, out: Any, found: Any) -> None:
    """Time a path in winds, and keep it in those in which it can be flown and is the quickest so far.

    Where one end would ask for orbits and the other one, too, the path counts as none: both may ask for one place.

    Parameters
    ----------
    path
        Its number, its `Leg`, and how many free corners that has.
    winds, crafts
        `Winds` and `Crafts`.
    scene
        Of the search; its one-level air and the speeds of the path's gates are written over, its craft is not read.
    work, out
        As for `cost`.
    found
        `Timed`.
    """
    number, leg, m = path
    whole = np.int64(WHOLE)  # a literal would compile everything once more
    close, first = np.float64(CLOSE_M), np.float64(FIRST_M)
    g = leg.gate
    for w in winds.asked:
        i = winds.craft[w]
        c, count = crafts.numbers[i], crafts.around[i]
        craft = Craft(c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8], c[9],
                      crafts.circle_x[i, :count], crafts.circle_y[i, :count], c[10])  # fmt: skip
        now = Scene(scene.start, scene.end, craft, scene.air, scene.land)
        now.start.speed[g[0], g[1]], now.end.speed[g[2], g[3]] = winds.speed[w, 0], winds.speed[w, 1]
        now.air.east[0], now.air.north[0] = winds.east[w], winds.north[w]
        limit = found.seconds[w] - SAVED_S
        if scene.land.cost.size == 1:  # no dear areas
            limit = min(limit, winds.most[w])
        if not cost(leg, m, now, first, whole, AT_A_GLANCE * limit, work, out) < AT_A_GLANCE * limit:
            continue
        seconds = cost(leg, m, now, close, whole, limit, work, out)
        if not seconds < limit or out[FLYABLE] < 1.0 or min(out[ORBITS_UP], out[ORBITS_DOWN]) > 0.0:
            continue
        if seconds - out[PRICE] <= winds.most[w]:
            found.seconds[w], found.flown_s[w], found.path[w] = seconds, seconds - out[PRICE], number
