"""The exact time of a way, and the height at which it is flown.

A way is cut where it crosses the rims of the fine cells. On each piece the wind triangle gives the time; what must be
climbed by each place, and descended after it, can only make the leg longer. With ``a`` the time by which the place can
be as high as its floor, ``b`` the time needed from there down to the end, and ``dt`` the pieces' own times, forward
``A = max(A + dt, a)``, backward ``B = max(B + dt, b)``, and the leg takes the largest ``A + B``: more than the sum of
the pieces where the aircraft must climb or descend in a turn. The climbing turns are flown at the start, the descending
ones at the end, wherever that can be. Within the time the lowest profile is flown that keeps above the floor without
climbing or descending faster than it can.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from diproute.records import F64, I64, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.speed_model import Flying, wind_vector

SETTLED_M: Final = 5.0  # heights that move less than this need no other reading of the wind table


@dataclass(frozen=True, slots=True)
class Track:
    """A way over the ground in the order of flight, with the heights of the bucket's bottom at its ends."""

    x_m: F64  # (k,) turning points, ends included
    y_m: F64
    start_m: float  # AMSL
    end_m: float  # AMSL
    hanging_m: float  # hook to bucket's bottom: line and bucket


@dataclass(frozen=True, slots=True)
class Pieces:
    """A way cut at the rims of the cells; (n,) each."""

    row: I64
    col: I64
    length_m: F64
    east: F64  # unit course over the grid
    north: F64
    node: I64  # index of the way's turning point at which the piece's straight part begins


@dataclass(frozen=True, slots=True)
class Profile:
    """A leg as flown; (n + 1,) along the way, bucket's bottom."""

    x_m: F64
    y_m: F64
    distance_m: F64
    ground_m: F64
    top_m: F64
    floor_m: F64
    bottom_m: F64
    time_s: F64
    turning: tuple[int, ...]  # indices of the way's turning points
    wait_s: F64  # spent climbing or descending in a turn on arrival at each place

    @property
    def seconds(self) -> float:
        """Time of the leg [s]."""
        return float(self.time_s[-1])


def cut(airspace: Airspace, x_m: F64, y_m: F64) -> Pieces:
    """Cut a way where it crosses from cell to cell.

    Parameters
    ----------
    airspace
        Its fine grid.
    x_m, y_m
        (k,) turning points, ends included [m].

    Returns
    -------
    Pieces
        In order; pieces shorter than a millimetre are left out.
    """
    grid = airspace.grid
    col, row = airspace.fine.nodes(x_m, y_m).T
    parts = []
    for i in range(len(col) - 1):
        span_c, span_r = col[i + 1] - col[i], row[i + 1] - row[i]
        length = float(np.hypot(span_c, span_r))
        if length * grid.cell_m < 1e-3:
            continue
        cuts = [np.array([0.0, 1.0])]
        for start, span in ((col[i], span_c), (row[i], span_r)):
            lines = np.arange(np.ceil(min(start, start + span)), np.floor(max(start, start + span)) + 1)
            if span != 0.0:
                cuts.append((lines - start) / span)
        at = np.unique(np.clip(np.concatenate(cuts), 0.0, 1.0))
        at = at[np.concatenate([np.diff(at) * length * grid.cell_m > 1e-3, [True]])]
        at[0] = 0.0
        middle = 0.5 * (at[1:] + at[:-1])
        parts.append((
            np.floor(row[i] + middle * span_r).astype(np.int64), np.floor(col[i] + middle * span_c).astype(np.int64),
            np.diff(at) * length * grid.cell_m, np.full(middle.size, span_c / length),
            np.full(middle.size, -span_r / length), np.full(middle.size, i),
        ))  # fmt: skip
    merged = [np.concatenate(column) for column in zip(*parts, strict=True)] if parts else [np.zeros(0)] * 6
    r, c, length_m, east, north, node = merged
    return Pieces(r.astype(np.int64), c.astype(np.int64), length_m, east, north, node.astype(np.int64))


def ground_speed(east: F64, north: F64, wind_east: F64, wind_north: F64, airspeed_m_s: float) -> F64:
    """Ground speed on a course by the wind triangle [m/s], NaN where the course cannot be held."""
    along = wind_east * east + wind_north * north
    across = wind_east * north - wind_north * east
    with np.errstate(invalid="ignore"):
        speed = along + np.sqrt(airspeed_m_s**2 - across**2)
    return np.where(speed > 0.0, speed, np.nan)


@dataclass(frozen=True, slots=True)
class NearEnd:
    """One end of a leg as its pieces see it; arrays (n,)."""

    height_m: float  # of the bucket's bottom at the end [m AMSL]
    gradient: float  # of the departure, or of the arrival
    rate_m_s: float  # of climb, or of descent
    away_m: F64  # from the end to the nearest part of the piece
    elapsed_s: F64  # between the end and the piece
    near_top_m: F64  # highest thing in the corridor's width; NaN: further than the corridor's length, or not known


def relieved(floor: F64, end: NearEnd, margin_m: float) -> F64:
    """Floor near one end of a leg, where the cruise clearance is being gained or given up.

    Within the corridor's length of the end the bucket may be lower than the floor en route, down to the margin of the
    corridor over everything in the corridor's width about the leg itself, on a surface that rises from the end as the
    gradient of departure or arrival, or as steeply as the aircraft climbs or descends where that is less.
    """
    rising = end.height_m + np.minimum(end.gradient * end.away_m, end.rate_m_s * end.elapsed_s)
    allowed = np.maximum(end.near_top_m + margin_m, rising)
    return np.fmin(floor, allowed)  # NaN: not known, or further than the corridor's length


def near_tops(airspace: Airspace, pieces: Pieces, from_end_m: F64) -> F64:
    """Highest thing in the corridor's width about each piece within the corridor's length of an end; NaN elsewhere.

    Wires count by what their margin has over the load's as higher than they are.
    """
    from diproute.routing.profile_kernel import highest_near

    rules, cell = airspace.rules, airspace.grid.cell_m
    furthest = from_end_m + pieces.length_m
    half = rules.corridor_start_m + rules.corridor_spread * furthest
    radius = np.where(furthest <= rules.corridor_length_m, half / cell, -1.0)
    return np.asarray(highest_near(airspace.near_top, pieces.row, pieces.col, radius))


def fly_way(airspace: Airspace, flying: Flying, wind: Wind, track: Track) -> Profile | None:
    """Time a way exactly and give it its lowest profile.

    Parameters
    ----------
    airspace
        The airspace; its fine grid counts.
    flying, wind
        How the leg is flown, and in what wind (taken at the aircraft's own height).
    track
        The way, the heights at its ends, and what hangs below the aircraft.

    Returns
    -------
    Profile or None
        None where the way touches a closed cell or the wind does not let its course be held.
    """
    rules, cut_up = airspace.rules, cut(airspace, track.x_m, track.y_m)
    row, col, length = cut_up.row, cut_up.col, cut_up.length_m
    if length.size == 0:
        return _hover(airspace, track, flying)
    cruise = airspace.fine.floor[row, col].astype(np.float64)
    if np.isnan(cruise).any():
        return None
    ends = np.concatenate([[0.0], np.cumsum(length)])
    before, after = ends[:-1], ends[-1] - ends[1:]  # nearest part of the piece to each end
    near_start, near_end = near_tops(airspace, cut_up, before), near_tops(airspace, cut_up, after)
    altitude = cruise + track.hanging_m
    ceiling = -np.inf if airspace.ceilings is None else airspace.ceilings[row, col].astype(np.float64)
    profile: tuple[F64, F64, F64, F64] | None = None
    for _ in range(1 if len(wind.altitude_m) == 1 else 3):
        speed = ground_speed(cut_up.east, cut_up.north, *wind_vector(wind, altitude), flying.airspeed_m_s)
        took = length / speed
        if np.isnan(took).any():
            return None
        clock = np.concatenate([[0.0], np.cumsum(took)])
        start = NearEnd(track.start_m, rules.departure_gradient, flying.climb_m_s, before, clock[:-1], near_start)
        end = NearEnd(track.end_m, rules.arrival_gradient, flying.descent_m_s, after, clock[-1] - clock[1:], near_end)
        floor = np.maximum(relieved(relieved(cruise, start, rules.margin_m), end, rules.margin_m), ceiling)
        profile = lowest(floor, took, track.start_m, track.end_m, flying)
        bottom = profile[1]
        before_m, altitude = altitude, np.maximum(0.5 * (bottom[1:-2] + bottom[2:-1]), floor) + track.hanging_m
        if np.abs(altitude - before_m).max() < SETTLED_M:
            break
    assert profile is not None
    floors, bottom, time, wait = profile
    ground = airspace.ground.ground[row, col].astype(np.float64)
    top = airspace.ground.top[row, col].astype(np.float64)
    x, y = _places(cut_up, track.x_m[0], track.y_m[0])
    keep = np.ones(bottom.size, bool)  # the doubled ends stay only where something is climbed or descended there
    keep[1] = wait[1] > 0.0
    keep[-1] = wait[-1] > 0.0
    index = np.cumsum(keep) - 1
    turning = [0] + [int(index[1 + i]) for i in np.flatnonzero(np.diff(cut_up.node)) + 1] + [int(keep.sum()) - 1]
    x, y, ends, ground, top = (
        np.concatenate([v[:1], v, v[-1:]])[keep] for v in (x, y, ends, _higher(ground), _higher(top))
    )
    return Profile(
        x, y, ends, ground, top, floors[keep], bottom[keep], time[keep], tuple(sorted(set(turning))), wait[keep]
    )


def lowest(floor: F64, took: F64, start_m: float, end_m: float, flying: Flying) -> tuple[F64, F64, F64, F64]:
    """Give the lowest profile and its times over a floor.

    Parameters
    ----------
    floor
        (n,) of each piece [m].
    took
        (n,) time that each piece takes when nothing is waited for [s].
    start_m, end_m
        Heights at the ends [m].
    flying
        Rates of climb and descent.

    Returns
    -------
    floor_m, bottom_m, time_s, wait_s : ndarray
        (n + 3,) at the start, at the start again once the first piece's floor is reached, at each rim, and twice at
        the end [m, m, s, s].
    """
    inner = np.concatenate([floor[:1], np.maximum(floor[1:], floor[:-1]), floor[-1:]])
    needed = np.concatenate([[start_m], inner, [end_m]])
    step = np.concatenate([[0.0], took, [0.0]])
    plain = np.concatenate([[0.0], np.cumsum(step)])
    left = plain[-1] - plain
    up, down = (needed - start_m) / flying.climb_m_s, (needed - end_m) / flying.descent_m_s
    earliest = plain + np.maximum.accumulate(np.maximum(up, 0.0) - plain)
    remaining = left + np.maximum.accumulate((np.maximum(down, 0.0) - left)[::-1])[::-1]
    total = float((earliest + remaining).max())
    # as much of the waiting as can be is done at the start, the rest of it where it must be and at the end
    time = plain + np.maximum(earliest - plain, min(total - remaining[0], earliest[-2] - plain[-2]))
    time[0], time[-1] = 0.0, total
    back = np.maximum.accumulate((needed - flying.climb_m_s * time)[::-1])[::-1] + flying.climb_m_s * time
    bottom = np.maximum.accumulate(back + flying.descent_m_s * time) - flying.descent_m_s * time
    wait = np.concatenate([[0.0], np.diff(time) - step])
    wait[wait < 1e-6] = 0.0
    return needed, np.maximum(bottom, needed), time, wait


def _higher(values: F64) -> F64:
    """Values at the rims between pieces: the higher of the two sides."""
    return np.concatenate([values[:1], np.maximum(values[1:], values[:-1]), values[-1:]])


def _places(pieces: Pieces, x0: float, y0: float) -> tuple[F64, F64]:
    x = x0 + np.concatenate([[0.0], np.cumsum(pieces.length_m * pieces.east)])
    y = y0 + np.concatenate([[0.0], np.cumsum(pieces.length_m * pieces.north)])
    return x, y


def _hover(airspace: Airspace, track: Track, flying: Flying) -> Profile:
    """Give the leg of no length: straight up or down."""
    x, y = track.x_m[0], track.y_m[0]
    row, col = airspace.grid.rowcol(x, y)
    change = track.end_m - track.start_m
    seconds = change / flying.climb_m_s if change > 0 else -change / flying.descent_m_s
    heights = np.array([track.start_m, track.end_m])
    ground, top = (float(a[row, col]) for a in (airspace.ground.ground, airspace.ground.top))
    twice = np.ones(2)
    return Profile(
        x * twice, y * twice, np.zeros(2), ground * twice, top * twice, heights, heights, np.array([0.0, seconds]),
        (0, 1), np.array([0.0, seconds]),
    )  # fmt: skip
