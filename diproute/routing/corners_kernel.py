"""A leg as one polyline with rounded corners, compiled: its radii, its samples, its plain time.

Corners stand in the order of flight: the start, a corner on the departure's ray, free corners, a corner on the
arrival's ray, the end. Places are metres over the grid (x east, y north), bearings clockwise from grid north. Every
corner gets the largest radius that fits, between that of the turn speed and that of the cruise, each from the arc's
own greatest ground speed: ``gs²/(g·tan bank)``.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diproute.kernels import njit
from diproute.records import F32, F64
from diproute.routing.airspace import U8

PI = np.pi
MOST_CORNERS = 48
MOST_SAMPLES = 12000
TOUCHING_M = 1e-6  # arcs that are no farther apart have no straight between them
WIDEST = np.radians(150.0)  # one corner turns no more; a wider turn takes two
STRAIGHT, ARC, OUT, IN = 0, 1, 2, 3  # kinds of samples: en route, on an arc, on the first corridor, on the last one


class Craft(NamedTuple):
    """How the leg is flown."""

    cruise: float  # airspeed [m/s]
    turn: float  # airspeed in turns [m/s]
    up: float  # climb [m/s]
    down: float  # descent [m/s]
    in_arcs: float  # share of both in arcs and orbits
    slower: float  # share by which a straight takes longer at the turn speed
    lateral: float  # g·tan(bank) [m/s²]
    straight: float  # least length of the first and the last straight [m]
    radius: float  # of orbits [m]
    period: float  # of an orbit [s]
    circle_x: F64  # an orbit's places from its centre, close to each other [m]
    circle_y: F64
    hanging: float  # for the wind by height [m]


class Air(NamedTuple):
    """The wind by height, evenly spaced; one entry: the same everywhere."""

    foot: float  # height of the first entry [m AMSL]
    step: float  # [m]
    east: F64  # motion of the air [m/s]
    north: F64


class Land(NamedTuple):
    """What lies below and above, on the fine grid; arrays of one cell stand for nothing there."""

    floor: F32  # of the bucket's bottom en route, NaN: closed [m AMSL]
    turns: F32  # the same in the gates' arcs and orbits, before `relief`
    relief: float
    ceilings: F32  # of areas that are flown over
    roofs: F32  # of areas that are flown under
    left: float
    top: float
    cell: float
    cost: U8  # on a coarser grid, row of `price`
    price: F64  # what time there counts
    factor: int  # fine cells on a side of that grid's


class End(NamedTuple):
    """The gates of one end."""

    x: float
    y: float
    z: float  # of the bucket's bottom [m AMSL]
    vertical: float  # of lift or lower [m/s]
    most: float  # lift [m]
    bearing: F64  # (d,) outward [rad]
    lift: F64  # (d, k) [m]
    gradient: F64  # (k,)
    surveyed: F64  # (k,) [m]
    speed: F64  # (d, k) over the ground, 0: not open [m/s]


class Work(NamedTuple):
    """Room for one evaluation."""

    x: F64  # (corners,)
    y: F64
    angle: F64
    side: F64
    tangent: F64
    radius: F64
    length: F64
    bearing: F64
    half_tan: F64  # tangent of half the turn
    along: F64  # wind on the heading of each arc that has the most tailwind [m/s]
    across: F64
    px: F64  # (samples,)
    py: F64
    took: F64  # since the sample before
    kind: F64
    corner: F64
    high: F64  # most that can be had climbing from the departure
    back: F64  # most from which the arrival can still be made
    need: F64
    wait: F64
    wait_at: F64


@njit(cache=True, nogil=True, inline="always")
def wind_over(air: Any, altitude: float) -> Any:
    """Wind at a height, straight between the entries and held outside them."""
    count = air.east.size
    if count == 1:
        return air.east[0], air.north[0]
    at = (altitude - air.foot) / air.step
    if not at > 0.0:
        return air.east[0], air.north[0]
    i = int(at)
    if i >= count - 1:
        return air.east[count - 1], air.north[count - 1]
    share = at - i
    return (
        air.east[i] + share * (air.east[i + 1] - air.east[i]),
        air.north[i] + share * (air.north[i + 1] - air.north[i]),
    )


@njit(cache=True, nogil=True, inline="always")
def ground_speed(east: float, north: float, we: float, wn: float, airspeed: float) -> Any:
    """Ground speed on a course, at least a crawl where it cannot be held."""
    across = we * north - wn * east
    left = airspeed * airspeed - across * across
    if left <= 0.0:
        return 0.01
    return max(0.01, we * east + wn * north + np.sqrt(left))


@njit(cache=True, nogil=True, inline="always")
def worst_wind(bearing: float, side: float, angle: float, we: float, wn: float) -> Any:
    """Wind along and across on the heading of an arc that has the most tailwind."""
    strong = np.sqrt(we * we + wn * wn)
    if strong < 1e-9:
        return 0.0, 0.0
    to = (side * (np.arctan2(we, wn) - bearing)) % (2 * PI)  # from the arc's beginning to downwind, the way it turns
    off = 0.0 if to <= angle else min(to - angle, 2 * PI - to)
    return strong * np.cos(off), strong * np.sin(off)


@njit(cache=True, nogil=True, inline="always")
def least_radius(airspeed: float, along: float, across: float, lateral: float) -> Any:
    """Radius at the bank, with the ground speed on the heading of the most tailwind."""
    speed = along + np.sqrt(max(0.0, airspeed * airspeed - across * across))
    return speed * speed / lateral


@njit(cache=True, nogil=True)
def altitude_guess(land: Any, craft: Any, x: float, y: float) -> Any:
    """Height at which the aircraft would fly on the floor, for the wind; the lowest known where closed."""
    r, c = int((land.top - y) / land.cell), int((x - land.left) / land.cell)
    if r < 0 or c < 0 or r >= land.floor.shape[0] or c >= land.floor.shape[1] or np.isnan(land.floor[r, c]):
        return -1e9
    return land.floor[r, c] + craft.hanging


@njit(cache=True, nogil=True)
def shape(work: Any, n: int, craft: Any, air: Any, land: Any) -> Any:
    """Give corners 1 to n − 2 their turns, sides, tangents and radii.

    Returns what does not fit on the straights [m] and by how much turns are too wide [rad].
    """
    x, y, angle, side, tangent, radius = work.x, work.y, work.angle, work.side, work.tangent, work.radius
    length, bearing, half_tan, along, across = work.length, work.bearing, work.half_tan, work.along, work.across
    short = wide = 0.0
    for i in range(n - 1):
        dx, dy = x[i + 1] - x[i], y[i + 1] - y[i]
        length[i] = np.sqrt(dx * dx + dy * dy)
        bearing[i] = np.arctan2(dx, dy) if length[i] > 1e-9 else (bearing[i - 1] if i > 0 else 0.0)
    angle[0] = angle[n - 1] = tangent[0] = tangent[n - 1] = radius[0] = radius[n - 1] = side[0] = side[n - 1] = 0.0
    we, wn = wind_over(air, 0.0)
    for i in range(1, n - 1):
        a = (bearing[i] - bearing[i - 1] + PI) % (2 * PI) - PI
        side[i] = 1.0 if a > 0 else -1.0
        a = abs(a)
        angle[i] = a
        if a > WIDEST:
            wide += a - WIDEST
            a = WIDEST
        if air.east.size > 1:
            we, wn = wind_over(air, altitude_guess(land, craft, x[i], y[i]))
        along[i], across[i] = worst_wind(bearing[i - 1], side[i], a, we, wn)
        radius[i] = least_radius(craft.turn, along[i], across[i], craft.lateral)
        half_tan[i] = np.tan(0.5 * a)
        tangent[i] = radius[i] * half_tan[i]
    for i in range(n - 1):
        over = tangent[i] + tangent[i + 1] - length[i]
        if over > 0:
            short += over
    # what is left of a straight is shared in the proportion of the tangents, up to the radius of the cruise
    for i in range(1, n - 1):
        if half_tan[i] <= 1e-9:
            continue
        room = np.inf
        for j in (i - 1, i):
            both = tangent[j] + tangent[j + 1]
            slack = max(0.0, length[j] - both)
            if j == 0:
                slack = max(0.0, length[0] - both - craft.straight)
            elif j == n - 2:
                slack = max(0.0, length[j] - both - craft.straight)
            room = min(room, slack * (tangent[i] / both if both > 0 else 1.0))
        work.wait[i] = room / half_tan[i]  # room for later: the tangents are still those of the least radii
    for i in range(1, n - 1):
        cruise = least_radius(craft.cruise, along[i], across[i], craft.lateral)
        radius[i] = cruise if half_tan[i] <= 1e-9 else min(cruise, radius[i] + work.wait[i])
        tangent[i] = radius[i] * half_tan[i]
    return short, wide


@njit(cache=True, nogil=True, inline="always")
def arc_airspeed(radius: float, along: float, across: float, craft: Any) -> Any:
    """Airspeed at which an arc of a radius keeps to the bank on its worst heading, at most the cruise."""
    most = max(0.0, np.sqrt(radius * craft.lateral) - along)
    return min(craft.cruise, np.sqrt(most * most + across * across))


@njit(cache=True, nogil=True)
def plain_time(work: Any, n: int, craft: Any, air: Any) -> Any:
    """Time of straights and arcs en route, without any waiting [s]; with a wind table only a bound from below."""
    total = 0.0
    table = air.east.size > 1
    strongest = 0.0
    if table:
        for i in range(air.east.size):
            strongest = max(strongest, np.sqrt(air.east[i] ** 2 + air.north[i] ** 2))
    for i in range(1, n - 1):
        turn = min(work.angle[i], WIDEST)
        if i < n - 2:
            flown = max(0.0, work.length[i] - work.tangent[i] - work.tangent[i + 1])
            if table:
                total += flown / (craft.cruise + strongest)
            else:
                b = work.bearing[i]
                total += flown / ground_speed(np.sin(b), np.cos(b), air.east[0], air.north[0], craft.cruise)
        if turn > 1e-6:
            if table:
                total += work.radius[i] * turn / (craft.cruise + strongest)
            else:
                speed = arc_airspeed(work.radius[i], work.along[i], work.across[i], craft)
                m = work.bearing[i - 1] + work.side[i] * 0.5 * turn
                total += work.radius[i] * turn / ground_speed(np.sin(m), np.cos(m), air.east[0], air.north[0], speed)
    return total


@njit(cache=True, nogil=True)
def sample(work: Any, n: int, craft: Any, air: Any, land: Any, step: float, known: bool) -> Any:
    """Lay samples along the flown path; their number, -1 where there is no room.

    The first straight up to its tangent and the last one from its tangent are the gates' own corridors; their times are
    the gates'. With ``known`` the wind is taken at the heights in ``work.need`` of the samples before (same count).
    """
    px, py, took, kind, corner = work.px, work.py, work.took, work.kind, work.corner
    px[0], py[0], took[0], kind[0], corner[0] = work.x[0], work.y[0], 0.0, OUT, 0
    k = 1
    table = air.east.size > 1
    we, wn = air.east[0], air.north[0]
    for i in range(n - 1):
        length = work.length[i]
        if length < 1e-9:
            continue
        east, north = (work.x[i + 1] - work.x[i]) / length, (work.y[i + 1] - work.y[i]) / length
        a, b = work.tangent[i], length - work.tangent[i + 1]
        what = OUT if i == 0 else (IN if i == n - 2 else STRAIGHT)
        if b - a > TOUCHING_M:
            m = int(np.ceil((b - a) / step))
            if k + m + 2 > px.size:
                return -1
            speed = ground_speed(east, north, we, wn, craft.cruise)
            for j in range(1, m + 1):
                s = a + (b - a) * j / m
                px[k], py[k], kind[k], corner[k] = work.x[i] + east * s, work.y[i] + north * s, what, i
                if table and what == STRAIGHT:
                    high = work.need[k] + craft.hanging if known else altitude_guess(land, craft, px[k], py[k])
                    ke, kn = wind_over(air, high)
                    speed = ground_speed(east, north, ke, kn, craft.cruise)
                took[k] = (b - a) / m / speed
                k += 1
        turn = min(work.angle[i + 1], WIDEST)
        if i + 1 < n - 1 and turn > 1e-6:
            r, sd, th = work.radius[i + 1], work.side[i + 1], work.bearing[i]
            if table:
                we, wn = wind_over(air, altitude_guess(land, craft, work.x[i + 1], work.y[i + 1]))
            airspeed = arc_airspeed(r, work.along[i + 1], work.across[i + 1], craft)
            ax, ay = work.x[i + 1] - east * work.tangent[i + 1], work.y[i + 1] - north * work.tangent[i + 1]
            ox, oy = ax + sd * r * np.cos(th), ay - sd * r * np.sin(th)
            m = max(1, int(np.ceil(r * turn / step)), int(np.ceil(turn / 0.35)))
            if k + m + 2 > px.size:
                return -1
            half = sd * turn / (2 * m)  # the heading turns on by halves: the middle of a piece, then its end
            sin, cos, sin_half, cos_half = np.sin(th), np.cos(th), np.sin(half), np.cos(half)
            piece = r * turn / m
            for _ in range(m):
                sin, cos = sin * cos_half + cos * sin_half, cos * cos_half - sin * sin_half
                took[k] = piece / ground_speed(sin, cos, we, wn, airspeed)
                sin, cos = sin * cos_half + cos * sin_half, cos * cos_half - sin * sin_half
                px[k], py[k] = ox - sd * r * cos, oy + sd * r * sin
                kind[k], corner[k] = ARC, i + 1
                k += 1
    return k
