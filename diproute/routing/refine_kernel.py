"""The cost of a leg's corners and gates, and the search that makes it small, compiled.

What does not fit, is closed or too near costs extra, so that the search can leave it. Corners, rays, lifts, directions
and kinds of corridor are moved one at a time while the leg gets quicker; corners that save nothing are left out.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diproute.kernels import njit
from diproute.records import F64, I64
from diproute.routing.corners_kernel import ARC, MOST_CORNERS, plain_time, sample, shape
from diproute.routing.heights_kernel import (
    AS_IT_IS,
    BAD,
    BAD_AT,
    BAD_WHY,
    DOWN,
    FLYABLE,
    ORBITS_DOWN,
    ORBITS_UP,
    PRICE,
    UP,
    WHOLE,
    closed_between,
    heights,
    late_for,
    orbit_place,
)

PI = np.pi
NO_ROOM = 5  # beside the reasons of `heights`: the turns do not fit on the straights
NO_CIRCLE = 6
ROUNDS = 5  # of one step at most
TURNED = 2  # of them in which directions and kinds are tried, too
SAVED_S = 1e-3
SPARED = 6  # doublings of half a metre of lift, and of ten of a corridor, that are tried to save an orbit
CLOSE_M = 5.0  # sampling step that counts in the end
SLACK_S_M = 0.02  # seconds by which a coarser one stays clear of an orbit, by metre of its step
WORTH_S = 0.05  # what a corner must save to stay
ENOUGH_S = 0.08  # a round that saves less is the last one of its step
UNFLYABLE_S = 600.0  # what cannot be flown costs more than any orbits that it would save, and less the nearer it comes


class Leg(NamedTuple):
    """What is searched: changed in place, but for the number of free corners."""

    free: F64  # (MOST_CORNERS, 2) x and y of the free corners
    gate: I64  # (4,) direction and kind of corridor of the departure, then of the arrival
    ray: F64  # (4,) lengths of the rays to their corners, then extra lifts [m]


class Scene(NamedTuple):
    """What a leg is flown in."""

    start: Any  # End
    end: Any  # End
    craft: Any
    air: Any
    land: Any


@njit(cache=True, nogil=True)
def lay(leg: Any, m: int, scene: Any, work: Any) -> Any:
    """Put the corners together: start, ray, free corners, ray, end; their number."""
    start, end = scene.start, scene.end
    x, y = work.x, work.y
    x[0], y[0] = start.x, start.y
    b = start.bearing[leg.gate[0]]
    x[1], y[1] = start.x + leg.ray[0] * np.sin(b), start.y + leg.ray[0] * np.cos(b)
    for i in range(m):
        x[2 + i], y[2 + i] = leg.free[i, 0], leg.free[i, 1]
    b = end.bearing[leg.gate[2]]
    x[2 + m], y[2 + m] = end.x + leg.ray[1] * np.sin(b), end.y + leg.ray[1] * np.cos(b)
    x[3 + m], y[3 + m] = end.x, end.y
    return m + 4


@njit(cache=True, nogil=True)
def cost(leg: Any, m: int, scene: Any, step: float, whole: int, limit: float, work: Any, out: Any) -> Any:
    """Seconds of a leg with what is charged; once it cannot be below the limit, anything above it.

    ``out[FLYABLE]`` is 1 where it can be flown (but for the places of its orbits), else ``BAD_WHY`` says why not.
    """
    start, end, craft, land = scene.start, scene.end, scene.craft, scene.land
    g = leg.gate
    out[FLYABLE] = 0.0
    out[BAD], out[BAD_AT], out[BAD_WHY] = 0.0, -1.0, NO_ROOM
    speed0, speed1 = start.speed[g[0], g[1]], end.speed[g[2], g[3]]
    if not (speed0 > 0.0 and speed1 > 0.0):
        return np.inf
    lift0, lift1 = start.lift[g[0], g[1]] + leg.ray[2], end.lift[g[2], g[3]] + leg.ray[3]
    if (lift0 > start.most and leg.ray[2] > 0.0) or (lift1 > end.most and leg.ray[3] > 0.0):
        return np.inf
    n = lay(leg, m, scene, work)
    short, wide = shape(work, n, craft, scene.air, land)
    s0, s1 = work.length[0] - work.tangent[1], work.length[n - 2] - work.tangent[n - 2]
    short += max(0.0, craft.straight - s0) + max(0.0, craft.straight - s1)
    time = lift0 / start.vertical + max(s0, 0.0) / speed0 + lift1 / end.vertical + max(s1, 0.0) / speed1
    if short > 0.0:
        time += UNFLYABLE_S + short / 8.0
    if wide > 0.0:
        time += UNFLYABLE_S + 60.0 * wide
    left = limit - time - plain_time(work, n, craft, scene.air)
    if left <= 0.0:
        return np.inf
    k = sample(work, n, craft, scene.air, land, step, False)
    if k < 0:
        return np.inf
    line = (start.z + lift0, start.gradient[g[1]], start.surveyed[g[1]], start.vertical, end.z + lift1,
            end.gradient[g[3]], end.surveyed[g[3]], end.vertical, SLACK_S_M * max(0.0, step - CLOSE_M))  # fmt: skip
    if not heights(work, k, n, line, craft, land, (whole, left, late_for(left, craft, whole)), out):
        return np.inf
    time += out[UP] + out[DOWN] + out[PRICE]
    for i in range(1, k):
        if work.kind[i] <= ARC:
            time += work.took[i]
    if time + (UNFLYABLE_S if out[BAD] > 0.0 else 0.0) >= limit:
        return np.inf
    closed_between(work, k, land, out)
    if out[BAD] > 0.0:
        time += UNFLYABLE_S + out[BAD] * step / 20.0
    if whole == WHOLE and time < limit:
        for e in range(2):
            orbits = out[ORBITS_DOWN] if e == 1 else out[ORBITS_UP]
            if orbits > 0:
                waited = out[DOWN] if e == 1 else out[UP]
                rate = craft.down if e == 1 else craft.up
                turning = (e, max(0.0, waited - orbits * craft.period),
                           orbits * craft.period * craft.in_arcs * rate)  # fmt: skip
                found = orbit_place(work, turning, craft, land, out)
                if found[0] < 0:
                    time += UNFLYABLE_S + min(found[1], 300.0)
    if short < 0.01 and wide < 1e-6 and out[BAD] == 0.0:
        out[FLYABLE] = 1.0
    elif short >= 0.01 or wide >= 1e-6:
        out[BAD_WHY] = NO_ROOM
    return time


@njit(cache=True, nogil=True)
def spare_orbits(leg: Any, m: int, scene: Any, work: Any, out: Any) -> Any:
    """Lift a little more, or turn a little later, where that saves whole orbits; the leg in place, and its seconds."""
    ray, whole = leg.ray, np.int64(WHOLE)  # a literal would compile everything once more
    best = cost(leg, m, scene, CLOSE_M, whole, np.inf, work, out)
    for e in range(2):
        if out[ORBITS_DOWN if e == 1 else ORBITS_UP] == 0:
            continue
        for which, unit in ((2 + e, 0.5), (e, 10.0)):
            old = kept = ray[which]
            for k in range(SPARED):
                ray[which] = old + unit * 2.0**k
                c = cost(leg, m, scene, CLOSE_M, whole, np.inf, work, out)
                if c < best - SAVED_S:
                    best, kept = c, ray[which]
            ray[which] = kept
        best = cost(leg, m, scene, CLOSE_M, whole, np.inf, work, out)
    return best


@njit(cache=True, nogil=True)
def _drop_corner(leg: Any, m: int, i: int) -> None:
    for j in range(i, m - 1):
        leg.free[j, 0], leg.free[j, 1] = leg.free[j + 1, 0], leg.free[j + 1, 1]


@njit(cache=True, nogil=True)
def refine(leg: Any, m: int, scene: Any, steps: Any, how: Any, work: Any, out: Any) -> Any:
    """Move everything that can be moved while the leg gets quicker; the free corners that are left, and the seconds.

    Parameters
    ----------
    leg, m
        `Leg` and its number of free corners.
    scene
        `Scene`.
    steps
        Of the corners, falling [m].
    how
        Sampling step [m], how waiting is counted, whether directions and kinds may change (1) or not (0).
    work, out
        `Work` and the answer of `heights`, in place.
    """
    ds, whole, turning = how
    free, gate, ray = leg.free, leg.gate, leg.ray
    best = cost(leg, m, scene, ds, whole, np.inf, work, out)
    directions = scene.start.bearing.size
    moved = np.ones(MOST_CORNERS + 2, np.bool_)  # by the round before: the departure, the free corners, the arrival
    now = np.ones(MOST_CORNERS + 2, np.bool_)
    for h in steps:
        for i in range(MOST_CORNERS + 2):
            moved[i] = True
        for turn in range(ROUNDS):
            before = best
            for i in range(m + 2):
                now[i] = False
            for i in range(m):
                if not (moved[i] or moved[i + 1] or moved[i + 2]):
                    continue
                x, y = free[i, 0], free[i, 1]
                for j in range(8):
                    a = j * PI / 4
                    free[i, 0], free[i, 1] = x + h * np.cos(a), y + h * np.sin(a)
                    c = cost(leg, m, scene, ds, whole, best - SAVED_S, work, out)
                    if c < best - SAVED_S:
                        best = c
                        x, y = free[i, 0], free[i, 1]
                        now[i + 1] = True
                        break
                free[i, 0], free[i, 1] = x, y
            for e in range(4):  # the rays, then a little more lift than the corridor asks for
                unit = h if e < 2 else 0.1 * h
                for f in (1.0, -1.0, 3.0):
                    old = ray[e]
                    new = old + f * unit
                    if (e < 2 and new < scene.craft.straight) or (e >= 2 and new < 0.0 and old == 0.0):
                        continue
                    ray[e] = max(0.0, new)
                    c = cost(leg, m, scene, ds, whole, best - SAVED_S, work, out)
                    if c < best - SAVED_S:
                        best = c
                        now[0 if e % 2 == 0 else m + 1] = True
                        break
                    ray[e] = old
            for e in range(2):  # a longer corridor for less of that lift, or the other way round
                slope = scene.start.gradient[gate[1]] if e == 0 else scene.end.gradient[gate[3]]
                for f in (1.0, -1.0, 3.0):
                    old, lift = ray[e], ray[2 + e]
                    if old + f * h < scene.craft.straight or (f > 0.0 and lift == 0.0):
                        continue
                    ray[e], ray[2 + e] = old + f * h, max(0.0, lift - f * h * slope)
                    c = cost(leg, m, scene, ds, whole, best - SAVED_S, work, out)
                    if c < best - SAVED_S:
                        best = c
                        now[0 if e == 0 else m + 1] = True
                        break
                    ray[e], ray[2 + e] = old, lift
            if turning == 1 and turn < TURNED:
                for e in (0, 2):
                    for f in (1, -1, 3, -3):
                        was = gate[e]
                        gate[e] = (was + f) % directions
                        c = cost(leg, m, scene, ds, whole, best - SAVED_S, work, out)
                        if c < best - SAVED_S:
                            best = c
                            now[0 if e == 0 else m + 1] = True
                            break
                        gate[e] = was
                for e in (1, 3):
                    kinds = scene.start.gradient.size if e == 1 else scene.end.gradient.size
                    for f in range(kinds):
                        was = gate[e]
                        if f == was:
                            continue
                        gate[e] = f
                        c = cost(leg, m, scene, ds, whole, best - SAVED_S, work, out)
                        if c < best - SAVED_S:
                            best = c
                        else:
                            gate[e] = was
            i = 0
            while i < m:
                x, y = free[i, 0], free[i, 1]
                _drop_corner(leg, m, i)
                c = cost(leg, m - 1, scene, ds, whole, best + WORTH_S, work, out)
                if c <= best + WORTH_S:
                    best = c
                    m -= 1
                    for j in range(m + 2):
                        now[j] = True
                else:
                    for j in range(m - 1, i, -1):
                        free[j, 0], free[j, 1] = free[j - 1, 0], free[j - 1, 1]
                    free[i, 0], free[i, 1] = x, y
                    i += 1
            if best > before - ENOUGH_S:
                break
            for i in range(m + 2):
                moved[i] = now[i]
    best = cost(leg, m, scene, ds, whole, np.inf, work, out)
    return m, best


@njit(cache=True, nogil=True)
def first_corners(leg: Any, nodes: Any, scene: Any, sides: Any, between: Any) -> Any:
    """Begin a search from a way's nodes in the order of flight: rays with room for the turn, helpers for wide turns.

    ``sides`` says on which side of each ray a helper corner stands (0: none), ``between`` the first node that is kept
    and the one after the last. The number of free corners is returned.
    """
    craft = scene.craft
    low, high = between
    m = 0
    for e in range(2):
        here, other = (scene.start, scene.end) if e == 0 else (scene.end, scene.start)
        b = here.bearing[leg.gate[2 * e]]
        if low < high:
            tx, ty = (nodes[low, 0], nodes[low, 1]) if e == 0 else (nodes[high - 1, 0], nodes[high - 1, 1])
        else:
            tx, ty = other.x, other.y
        x, y = (
            here.x + (craft.straight + craft.radius) * np.sin(b),
            here.y + (craft.straight + craft.radius) * np.cos(b),
        )
        a = abs((np.arctan2(tx - x, ty - y) - b + PI) % (2 * PI) - PI)
        leg.ray[e] = craft.straight + craft.radius * max(0.05, np.tan(0.5 * min(a, 1.9)))
        x, y = here.x + leg.ray[e] * np.sin(b), here.y + leg.ray[e] * np.cos(b)
        if e == 1:
            for i in range(low, high):
                if m < MOST_CORNERS - 8:
                    leg.free[m, 0], leg.free[m, 1] = nodes[i, 0], nodes[i, 1]
                    m += 1
        if sides[e] != 0:
            leg.free[m, 0] = x + sides[e] * 2.2 * craft.radius * np.cos(b)
            leg.free[m, 1] = y - sides[e] * 2.2 * craft.radius * np.sin(b)
            m += 1
    leg.ray[2] = leg.ray[3] = 0.0
    return m


class Starts(NamedTuple):
    """Room for the best beginnings of a search, the best first."""

    seconds: F64  # (n,) +inf: none
    free: F64  # (n, MOST_CORNERS, 2)
    gate: I64  # (n, 4)
    ray: F64  # (n, 4)
    corners: I64  # (n,)


@njit(cache=True, nogil=True)
def begin(nodes: Any, gates: Any, scene: Any, step: float, work: Any, out: Any, trial: Any, best: Any) -> None:
    """Try helper corners on both sides of both rays, with the way's first and last node kept or not, for some gates.

    Parameters
    ----------
    nodes
        (n, 2) of the way in the order of flight, without its ends.
    gates
        (g, 4) directions and kinds of both ends.
    scene, step, work, out
        As for `cost`.
    trial
        A `Leg` to write on.
    best
        `Starts`, filled in place.
    """
    count = nodes.shape[0]
    by_the_second = np.int64(AS_IT_IS)  # a literal would compile everything once more
    most = best.seconds.size
    for s in range(most):
        best.seconds[s] = np.inf
    for g in range(gates.shape[0]):
        for first in (0, -1, 1):
            for last in (0, -1, 1):
                for skip_first in range(2):
                    for skip_last in range(2):
                        if skip_first + skip_last > count:
                            continue
                        for e in range(4):
                            trial.gate[e] = gates[g, e]
                        m = first_corners(trial, nodes, scene, (first, last), (skip_first, count - skip_last))
                        seconds = cost(trial, m, scene, step, by_the_second, best.seconds[most - 1], work, out)
                        if not seconds < best.seconds[most - 1]:
                            continue
                        s = most - 1
                        while s > 0 and best.seconds[s - 1] > seconds:
                            best.seconds[s], best.corners[s] = best.seconds[s - 1], best.corners[s - 1]
                            for e in range(4):
                                best.gate[s, e], best.ray[s, e] = best.gate[s - 1, e], best.ray[s - 1, e]
                            for i in range(best.corners[s - 1]):
                                best.free[s, i, 0], best.free[s, i, 1] = best.free[s - 1, i, 0], best.free[s - 1, i, 1]
                            s -= 1
                        best.seconds[s], best.corners[s] = seconds, m
                        for e in range(4):
                            best.gate[s, e], best.ray[s, e] = trial.gate[e], trial.ray[e]
                        for i in range(m):
                            best.free[s, i, 0], best.free[s, i, 1] = trial.free[i, 0], trial.free[i, 1]
