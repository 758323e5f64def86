"""Compiled choice among the gates of many points: lift, corridor, one arc, then the way of a travel-time field.

Places are counted in cells of the field's level from the grid's upper left corner. Everything is built outward from the
points; for arrivals the wind's sign and the rates are those of the flight run backwards.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diproute.kernels import njit
from diproute.records import F32, F64, I64

PI = np.pi
ARC_STEPS = 12  # of 15 degrees
TOOK, EAST, SOUTH, MIDDLE_EAST, MIDDLE_SOUTH = range(5)  # of a step of an arc
TRIES = 7  # places along a corridor at which a turn may begin
STEP_M = 40.0
FARTHEST_M = 3000.0


class Near(NamedTuple):
    """The gates of n points, d directions, k kinds."""

    col: F64  # (n,)
    row: F64
    height: F64  # of the bucket's bottom before the lift [m AMSL]
    bearing: F64  # (n, d) outward over the grid [rad]
    gradient: F64  # (k,)
    surveyed: F64  # (k,) [m]
    lift: F64  # (n, d, k) [m]
    speed: F64  # (n, d, k) over the ground, 0: not open [m/s]
    east: F64  # (n,) wind as the flight built outward feels it [m/s]
    north: F64


class Manner(NamedTuple):
    """How the leg is flown, built outward."""

    cruise: float  # airspeed [m/s]
    turn: float  # airspeed in arcs
    rate: float  # height won outward [m/s]
    rate_in_arcs: float
    vertical: float  # lift or lower [m/s]
    radius: float  # of arcs and orbits [m]
    straight: float  # least before a turn [m]
    far_height: float  # lowest of the source's ends [m AMSL]
    far_rate: float  # at which height is lost towards the source [m/s]
    relief: float  # of the floor in arcs [m]
    cell: float  # [m]


class Chosen(NamedTuple):
    """What is found, by point and direction."""

    seconds: F64  # (n, d) +inf: cannot be flown
    kind: I64
    rung: I64
    exit: F64  # (n, d, 3) column, row, height where the arc ends


@njit(cache=True, nogil=True, inline="always")
def over_ground(east: float, north: float, wind_east: float, wind_north: float, airspeed: float) -> Any:
    """Ground speed on a course given as a unit vector; 0 where it cannot be held."""
    across = wind_east * north - wind_north * east
    left = airspeed * airspeed - across * across
    if left <= 0.0:
        return 0.0
    return max(0.0, wind_east * east + wind_north * north + np.sqrt(left))


@njit(cache=True, nogil=True)
def circle_clear(floor: F32, col: float, row: float, radius: float, height: float) -> bool:
    """Whether a whole circle (in cells) lies over known floor no higher than a height; sampled closer than a cell."""
    rows, cols = floor.shape
    count = int(2 * PI * radius) + 8
    for j in range(count):
        a = 2 * PI * j / count
        r, c = int(row + radius * np.sin(a)), int(col + radius * np.cos(a))
        if r < 0 or c < 0 or r >= rows or c >= cols or not floor[r, c] <= height:
            return False
    return True


@njit(cache=True, nogil=True)
def _rest(answers: Any, floor: Any, manner: Any, place: Any, limit: float) -> Any:
    """Least time from the end of an arc (column, row, height, heading) to the source, +inf beyond the limit; rung."""
    col, row, height, heading = place
    r, c = int(row), int(col)
    down = max(0.0, height - manner.far_height) / manner.far_rate
    best, rung = limit, -1
    clear = -1
    period = 2 * PI * manner.radius / manner.turn
    slower = manner.cruise / manner.turn - 1.0
    for q in range(answers.shape[2]):
        time = answers[r, c, q, 0]
        if not np.isfinite(time):
            continue
        wait = max(0.0, answers[r, c, q, 1] - height) / manner.rate
        if wait <= 0.0:
            total = max(time, down)
        else:
            slow = answers[r, c, q, 2] * slower
            if wait > slow + 1.0:
                wait = max(wait, np.ceil((wait - slow) / period) * period)
                if time + wait >= best:
                    continue
                if clear < 0:
                    clear = 0
                    for turned in (-1.0, 1.0):
                        oc = col + turned * manner.radius / manner.cell * np.cos(heading)
                        orow = row + turned * manner.radius / manner.cell * np.sin(heading)
                        if circle_clear(floor, oc, orow, manner.radius / manner.cell, height + manner.relief):
                            clear = 1
                            break
                if clear == 0:
                    continue
            total = time + wait
        if total < best:
            best, rung = total, q
    if rung < 0:
        return np.inf, -1
    # a kink against the field's own way is a turn, too
    rows, cols = floor.shape
    if r >= 3 and c >= 3 and r < rows - 3 and c < cols - 3:
        east = answers[r, c - 3, rung, 0] - answers[r, c + 3, rung, 0]
        north = answers[r + 3, c, rung, 0] - answers[r - 3, c, rung, 0]
        if np.isfinite(east + north) and (east != 0.0 or north != 0.0):
            off = abs((np.arctan2(east, north) - heading + PI) % (2 * PI) - PI)
            if off > 0.26:
                best += 0.5 * off * manner.radius / manner.turn
            if off > 1.05:
                best += manner.radius / manner.turn
    return best, rung


@njit(cache=True, nogil=True)
def _downhill(near: Any, answers: Any, p: int) -> Any:
    """Direction of the steepest fall of the field at a point; the first one where it has none."""
    r, c, q = int(near.row[p]), int(near.col[p]), 3
    rows, cols = answers.shape[0], answers.shape[1]
    if r < q or c < q or r >= rows - q or c >= cols - q:
        return 0
    east = answers[r, c - q, 0, 0] - answers[r, c + q, 0, 0]
    north = answers[r + q, c, 0, 0] - answers[r - q, c, 0, 0]
    if not np.isfinite(east + north):
        return 0
    count = near.bearing.shape[1]
    return int(np.round((np.arctan2(east, north) - near.bearing[p, 0]) / (2 * PI) * count)) % count


@njit(cache=True, nogil=True)
def _arcs(near: Any, manner: Any, p: int, d: int, arcs: Any) -> None:
    """Fill in both turns after a direction: each step's time, its end and its middle, in cells from the beginning."""
    bearing, radius = near.bearing[p, d], manner.radius / manner.cell
    east, north = np.sin(bearing), np.cos(bearing)
    for i in range(2):
        side = 2.0 * i - 1.0  # the centre of a right turn lies at right angles to the right of the heading
        for a in range(1, ARC_STEPS + 1):
            heading = bearing + side * a * PI / 12
            middle = heading - side * PI / 24
            sin, cos = np.sin(middle), np.cos(middle)
            speed = over_ground(sin, cos, near.east[p], near.north[p], manner.turn)
            arcs[i, a, TOOK] = manner.radius * PI / 12 / max(1.0, speed)
            arcs[i, a, MIDDLE_EAST], arcs[i, a, MIDDLE_SOUTH] = (
                side * radius * (north - cos),
                side * radius * (east - sin),
            )
            arcs[i, a, EAST] = side * radius * (north - np.cos(heading))
            arcs[i, a, SOUTH] = side * radius * (east - np.sin(heading))


@njit(cache=True, nogil=True)
def choose_gates(near: Any, manner: Any, floor: Any, answers: Any, at_most: Any, chosen: Any) -> None:
    """Fill in, for each point and direction, the least time to the source.

    Parameters
    ----------
    near, manner
        `Near` and `Manner`.
    floor
        (rows, cols) of the field's level, NaN closed [m AMSL].
    answers
        (rows, cols, rungs, 3) of the field.
    at_most
        (n,) time that is of no interest any more [s]; it falls to the best of the point's directions where it is
        finite.
    chosen
        `Chosen`, filled in place.
    """
    rows, cols = floor.shape
    cell = manner.cell
    arcs = np.zeros((2, ARC_STEPS + 1, 5))
    for p in range(near.col.size):
        limit = at_most[p]
        prune = np.isfinite(limit)
        count = near.bearing.shape[1]
        begin = _downhill(near, answers, p)
        for turn in range(count):  # from the field's own way outwards, so that a good one is found early
            half = (turn + 1) // 2
            d = (begin + (half if turn % 2 == 1 else -half)) % count
            chosen.seconds[p, d] = np.inf
            chosen.kind[p, d] = chosen.rung[p, d] = -1
            east, north = np.sin(near.bearing[p, d]), np.cos(near.bearing[p, d])
            turned = False
            for k in range(near.gradient.size):
                speed = near.speed[p, d, k]
                if speed <= 0.0:
                    continue
                base = near.height[p] + near.lift[p, d, k]
                lifted = near.lift[p, d, k] / manner.vertical
                if prune and (not lifted < limit or (base - manner.far_height) / manner.far_rate + lifted >= limit):
                    continue
                s, next_try, tries = 0.0, manner.straight, 0
                while s < FARTHEST_M and tries < TRIES:
                    s += STEP_M if s >= manner.straight else manner.straight / 2
                    col, row = near.col[p] + east * s / cell, near.row[p] - north * s / cell
                    r, c = int(row), int(col)
                    if r < 0 or c < 0 or r >= rows or c >= cols or np.isnan(floor[r, c]):
                        break
                    height = base + near.gradient[k] * s
                    if height < floor[r, c] - manner.relief:
                        if s > near.surveyed[k]:
                            break
                        continue
                    if s < next_try:
                        continue
                    next_try = s * 1.3 + STEP_M
                    tries += 1
                    gone = lifted + s / speed
                    if prune and gone + max(0.0, height - manner.far_height) / manner.far_rate >= limit:
                        break
                    if not turned:
                        _arcs(near, manner, p, d, arcs)
                        turned = True
                    for i in range(2):
                        time, high, x, y = gone, height, col, row
                        for a in range(ARC_STEPS + 1):
                            if a > 0:
                                took = arcs[i, a, TOOK]
                                x, y = col + arcs[i, a, EAST], row + arcs[i, a, SOUTH]
                                mx, my = col + arcs[i, a, MIDDLE_EAST], row + arcs[i, a, MIDDLE_SOUTH]
                                if mx < 0 or my < 0 or x < 0 or y < 0 or max(mx, x) >= cols or max(my, y) >= rows:
                                    break
                                if not floor[int(my), int(mx)] - manner.relief <= high:
                                    break
                                time += took
                                high += manner.rate_in_arcs * took
                                if not floor[int(y), int(x)] - manner.relief <= high:
                                    break
                            elif i == 1:
                                continue
                            best = min(limit, chosen.seconds[p, d]) if prune else chosen.seconds[p, d]
                            if not time < best:
                                break
                            if not time + answers[int(y), int(x), 0, 0] < best:  # the free rung is the quickest
                                continue
                            heading = near.bearing[p, d] + (2 * i - 1) * a * PI / 12
                            rest, rung = _rest(answers, floor, manner, (x, y, high, heading), best - time)
                            if rung >= 0 and time + rest < chosen.seconds[p, d]:
                                chosen.seconds[p, d] = time + rest
                                chosen.kind[p, d], chosen.rung[p, d] = k, rung
                                chosen.exit[p, d, 0], chosen.exit[p, d, 1], chosen.exit[p, d, 2] = x, y, high
                                if prune:
                                    limit = min(limit, time + rest)
