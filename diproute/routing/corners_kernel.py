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
WIDEST_TAN = np.tan(0.5 * WIDEST)
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
    watched: U8  # on a coarser grid: row of `price`, and `SHUT` where a closed cell may lie within a step
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
    east: F64  # unit vector of the straight from each corner to the next
    north: F64
    half_tan: F64  # tangent of half the turn
    along: F64  # wind on the heading of each arc that has the most tailwind [m/s]
    across: F64
    moved: F64  # in the round before, 0: not; the departure, the free corners, the arrival
    now: F64  # in this round
    px: F64  # (samples,)
    py: F64
    took: F64  # since the sample before
    kind: F64
    corner: F64
    eased: F64  # seconds en route up to each sample that count for climbing and descending: those in arcs less
    straight: F64  # seconds on straights up to each sample
    high: F64  # most that can be had climbing from the departure
    back: F64  # most from which the arrival can still be made
    need: F64
    wait: F64
    wait_at: F64


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False, inline="always")
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


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False, inline="always")
def ground_speed(east: float, north: float, we: float, wn: float, airspeed: float) -> Any:
    """Ground speed on a course, at least a crawl where it cannot be held."""
    across = we * north - wn * east
    left = airspeed * airspeed - across * across
    if left <= 0.0:
        return 0.01
    return max(0.01, we * east + wn * north + np.sqrt(left))


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False, inline="always")
def worst_wind(work: Any, i: int, we: float, wn: float) -> Any:
    """Wind along and across on the heading of a corner's arc that has the most tailwind."""
    east, north = work.east, work.north
    after_first = work.side[i] * (we * north[i - 1] - wn * east[i - 1])
    before_last = work.side[i] * (wn * east[i] - we * north[i])
    strong = we * we + wn * wn
    if after_first >= 0.0 and before_last >= 0.0:  # the arc turns through downwind
        return np.sqrt(strong), 0.0
    most = max(we * east[i - 1] + wn * north[i - 1], we * east[i] + wn * north[i])
    return most, np.sqrt(max(0.0, strong - most * most))


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False, inline="always")
def least_radius(airspeed: float, along: float, across: float, lateral: float) -> Any:
    """Radius at the bank, with the ground speed on the heading of the most tailwind."""
    speed = along + np.sqrt(max(0.0, airspeed * airspeed - across * across))
    return speed * speed / lateral


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False)
def altitude_guess(land: Any, craft: Any, x: float, y: float) -> Any:
    """Height at which the aircraft would fly on the floor, for the wind; the lowest known where closed."""
    r, c = int((land.top - y) / land.cell), int((x - land.left) / land.cell)
    if r < 0 or c < 0 or r >= land.floor.shape[0] or c >= land.floor.shape[1] or np.isnan(land.floor[r, c]):
        return -1e9
    return land.floor[r, c] + craft.hanging


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False)
def shape(work: Any, n: int, craft: Any, air: Any, land: Any) -> Any:
    """Give corners 1 to n − 2 their turns, sides, tangents and radii.

    Returns what does not fit on the straights [m] and by how much turns are too wide [rad].
    """
    x, y, angle, side, tangent, radius = work.x, work.y, work.angle, work.side, work.tangent, work.radius
    length, east, north, half_tan = work.length, work.east, work.north, work.half_tan
    along, across = work.along, work.across
    short = wide = 0.0
    for i in range(n - 1):
        dx, dy = x[i + 1] - x[i], y[i + 1] - y[i]
        length[i] = np.sqrt(dx * dx + dy * dy)
        if length[i] > 1e-9:
            east[i], north[i] = dx / length[i], dy / length[i]
        elif i > 0:
            east[i], north[i] = east[i - 1], north[i - 1]
        else:
            east[i], north[i] = 0.0, 1.0
    angle[0] = angle[n - 1] = tangent[0] = tangent[n - 1] = radius[0] = radius[n - 1] = side[0] = side[n - 1] = 0.0
    we, wn = wind_over(air, 0.0)
    for i in range(1, n - 1):
        sin = east[i] * north[i - 1] - north[i] * east[i - 1]
        cos = east[i] * east[i - 1] + north[i] * north[i - 1]
        side[i] = 1.0 if sin > 0 else -1.0
        angle[i] = np.arctan2(abs(sin), cos)
        if angle[i] > WIDEST:
            wide += angle[i] - WIDEST
            half_tan[i] = WIDEST_TAN
        else:
            half_tan[i] = abs(sin) / (1.0 + cos)
        if air.east.size > 1:
            we, wn = wind_over(air, altitude_guess(land, craft, x[i], y[i]))
        along[i], across[i] = worst_wind(work, i, we, wn)
        radius[i] = least_radius(craft.turn, along[i], across[i], craft.lateral)
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


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False, inline="always")
def arc_airspeed(radius: float, along: float, across: float, craft: Any) -> Any:
    """Airspeed at which an arc of a radius keeps to the bank on its worst heading, at most the cruise."""
    most = max(0.0, np.sqrt(radius * craft.lateral) - along)
    return min(craft.cruise, np.sqrt(most * most + across * across))


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False)
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
                total += flown / ground_speed(work.east[i], work.north[i], air.east[0], air.north[0], craft.cruise)
        if turn > 1e-6:
            if table:
                total += work.radius[i] * turn / (craft.cruise + strongest)
            else:
                speed = arc_airspeed(work.radius[i], work.along[i], work.across[i], craft)
                east, north = work.east[i - 1] + work.east[i], work.north[i - 1] + work.north[i]
                both = max(1e-9, np.sqrt(east * east + north * north))  # its middle has the heading between the two
                total += (
                    work.radius[i] * turn / ground_speed(east / both, north / both, air.east[0], air.north[0], speed)
                )
    return total


@njit(cache=True, nogil=True, error_model="numpy", _nrt=False)
def sample(work: Any, n: int, craft: Any, air: Any, land: Any, step: float, known: bool) -> Any:
    """Lay samples along the flown path; their number, -1 where there is no room, and the seconds en route.

    The first straight up to its tangent and the last one from its tangent are the gates' own corridors; their times are
    the gates'. With ``known`` the wind is taken at the heights in ``work.need`` of the samples before (same count).
    """
    px, py, took, kind, corner = work.px, work.py, work.took, work.kind, work.corner
    eased, straight = work.eased, work.straight
    px[0], py[0], took[0], kind[0], corner[0] = work.x[0], work.y[0], 0.0, OUT, 0
    eased[0] = straight[0] = 0.0
    k = 1
    table = air.east.size > 1
    we, wn = air.east[0], air.north[0]
    flown = ease = ahead = 0.0
    for i in range(n - 1):
        length = work.length[i]
        if length < 1e-9:
            continue
        east, north = work.east[i], work.north[i]
        a, b = work.tangent[i], length - work.tangent[i + 1]
        what = OUT if i == 0 else (IN if i == n - 2 else STRAIGHT)
        if b - a > TOUCHING_M:
            m = int(np.ceil((b - a) / step))
            if k + m + 2 > px.size:
                return -1, flown
            x, y, piece = work.x[i] + east * a, work.y[i] + north * a, (b - a) / m
            seconds = piece / ground_speed(east, north, we, wn, craft.cruise)
            for j in range(1, m + 1):
                px[k], py[k], kind[k], corner[k] = x + east * (piece * j), y + north * (piece * j), what, i
                if what == STRAIGHT:
                    if table:
                        high = work.need[k] + craft.hanging if known else altitude_guess(land, craft, px[k], py[k])
                        ke, kn = wind_over(air, high)
                        seconds = piece / ground_speed(east, north, ke, kn, craft.cruise)
                    flown += seconds
                    ease += seconds
                    ahead += seconds
                took[k], eased[k], straight[k] = seconds, ease, ahead
                k += 1
        turn = min(work.angle[i + 1], WIDEST)
        if i + 1 < n - 1 and turn > 1e-6:
            r, sd = work.radius[i + 1], work.side[i + 1]
            if table:
                we, wn = wind_over(air, altitude_guess(land, craft, work.x[i + 1], work.y[i + 1]))
            airspeed = arc_airspeed(r, work.along[i + 1], work.across[i + 1], craft)
            ax, ay = work.x[i + 1] - east * work.tangent[i + 1], work.y[i + 1] - north * work.tangent[i + 1]
            ox, oy = ax + sd * r * north, ay - sd * r * east
            m = max(1, int(np.ceil(r * turn / step)), int(np.ceil(turn / 0.35)))
            if k + m + 2 > px.size:
                return -1, flown
            half = sd * turn / (2 * m)  # the heading turns on by halves: the middle of a piece, then its end
            sin, cos, sin_half, cos_half = east, north, np.sin(half), np.cos(half)
            piece = r * turn / m
            for _ in range(m):
                sin, cos = sin * cos_half + cos * sin_half, cos * cos_half - sin * sin_half
                took[k] = piece / ground_speed(sin, cos, we, wn, airspeed)
                sin, cos = sin * cos_half + cos * sin_half, cos * cos_half - sin * sin_half
                px[k], py[k] = ox - sd * r * cos, oy + sd * r * sin
                kind[k], corner[k] = ARC, i + 1
                flown += took[k]
                ease += took[k] * craft.in_arcs
                eased[k], straight[k] = ease, ahead
                k += 1
    return k, flown
