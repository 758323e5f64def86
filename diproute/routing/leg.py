"""From a flight to the record of a leg: its pieces, gates and points, and what a pilot should know of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np

from diproute.constants import ARC_CLIMB, WIRE_OBLIQUE_DEG
from diproute.physics.geodesy import frame_of
from diproute.physics.wind import crosswind, headwind, wind_at
from diproute.records import F64, I64, Crossing, Finding, Gate, Leg, Piece, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.corners_kernel import ARC, IN, OUT
from diproute.routing.flight import Flight, Orbits
from diproute.routing.wire_crossings import crossings_of

Kind = Literal["loaded", "empty", "ferry"]
PieceKind = Literal["lift", "corridor", "arc", "straight", "orbits", "lower"]
POINTS_M: Final = 25.0  # between points on arcs and orbits at most
EVERY_M: Final = 20.0  # a point in each such stretch: the samples lie closer than what is left to POINTS_M
STRAYS_M: Final = 0.2  # a kink of the height that would be cut off by more is a point


def make_leg(airspace: Airspace, flight: Flight, hanging_m: float, drop: str, kind: Kind) -> Leg:
    """Make the record of a leg.

    Parameters
    ----------
    airspace
        Where it is flown.
    flight
        How it is flown.
    hanging_m
        Hook to bucket's bottom [m].
    drop, kind
        Name of the drop, and kind of leg.

    Returns
    -------
    Leg
        Heights are the aircraft's.
    """
    points, pieces = _pointed(airspace, *_laid(airspace, flight))
    x, y = points["x_m"], points["y_m"]
    lon, lat = frame_of(airspace.grid).to_lonlat(x, y)
    altitude = points["bottom_m"] + hanging_m
    leg = Leg(
        drop=drop, leg=kind, x_m=x, y_m=y, lon_deg=np.asarray(lon), lat_deg=np.asarray(lat),
        distance_m=points["distance_m"], ground_m=points["ground_m"], top_m=points["top_m"],
        floor_m=points["floor_m"] + hanging_m, altitude_m=altitude, time_s=points["time_s"], crossings=(),
        pieces=pieces, departure=_gate(flight, 0), arrival=_gate(flight, 1), hanging_m=hanging_m,
    )  # fmt: skip
    crossings = crossings_of(airspace, leg)
    cautions = [
        *_orbits(leg),
        *_wires(crossings),
        *_dear_areas(airspace, leg),
        *_wind_table(flight.wind, altitude),
    ]
    return replace(leg, crossings=crossings, cautions=tuple(cautions))


@dataclass(frozen=True, slots=True)
class _Rows:
    """Points in the order of flight, one row each, and the piece that every row ends."""

    x_m: F64
    y_m: F64
    bottom_m: F64
    step_s: F64  # since the row before
    floor_m: F64
    piece: I64

    @classmethod
    def joined(cls, parts: list[_Rows]) -> _Rows:
        """Put rows one after another."""
        return cls(*(np.concatenate([getattr(part, name) for part in parts]) for name in cls.__dataclass_fields__))

    def some(self, which: I64 | slice) -> _Rows:
        """Give a part of the rows."""
        return _Rows(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece before its points are counted."""

    kind: PieceKind
    gate: bool
    radius_m: float = np.nan
    turn_deg: float = 0.0


def _laid(airspace: Airspace, flight: Flight) -> tuple[_Rows, list[_Part]]:
    """Lay a flight out row by row, with lift, lower and orbits."""
    parts: list[_Part] = [_Part("lift", True)]
    x, y, bottom = flight.x_m, flight.y_m, flight.bottom_m
    count, floor = x.size, _floors(airspace, flight)
    piece = np.zeros(count, np.int64)  # row 0 ends the lift
    corners = flight.radius_m.size
    for i in range(1, count):
        kind, corner = int(flight.kind[i]), int(flight.corner[i])
        if i == 1 or (kind, corner) != (int(flight.kind[i - 1]), int(flight.corner[i - 1])):
            if kind == ARC:
                turn = float(np.degrees(flight.turn_rad[corner]))
                near = corner <= 1 or corner >= corners - 2
                parts.append(_Part("arc", near, float(flight.radius_m[corner]), turn))
            else:
                parts.append(_Part("corridor" if kind in (OUT, IN) else "straight", kind in (OUT, IN)))
        piece[i] = len(parts) - 1
    rows = _Rows(x, y, bottom, flight.took_s.copy(), floor, piece)
    rows.step_s[0] = flight.lift_s
    start = _Rows(
        x[:1], y[:1], bottom[:1] - flight.lift_m, np.zeros(1), bottom[:1] - flight.lift_m, np.zeros(1, np.int64)
    )
    out, done = [start], 0
    for turns in sorted(flight.orbits, key=lambda one: one.sample):
        at = turns.sample
        begun_m, circle = _circle(airspace, flight, turns)
        before = rows.some(slice(done, at + 1))
        out.append(replace(before, bottom_m=np.append(before.bottom_m[:-1], begun_m)))
        # what is left of the piece that the orbits stand in is a piece of its own
        inside = int(piece[min(at + 1, count - 1)])
        begun = at > 0 and piece[at] == inside
        parts.insert(inside + begun, _Part("orbits", True, turns.radius_m, 360.0 * turns.turns * turns.side))
        piece[at + 1 :] += 1
        if begun:
            parts.insert(inside + 2, parts[inside])
            piece[at + 1 :] += 1
        circle.piece[:] = inside + begun
        out.append(circle)
        done = at + 1
    out.append(rows.some(slice(done, count)))
    parts.append(_Part("lower", True))
    low = bottom[-1:] - flight.lower_m
    out.append(_Rows(x[-1:], y[-1:], low, np.array([flight.lower_s]), low, np.array([len(parts) - 1])))
    return _Rows.joined(out), parts


def _circle(airspace: Airspace, flight: Flight, turns: Orbits) -> tuple[float, _Rows]:
    """Lay whole turns, with the height in which they begin; they win or lose what the rest of their piece cannot."""
    at, flying = turns.sample, flight.flying
    i = at if turns.descending else at + 1
    change = float(flight.bottom_m[i] - flight.bottom_m[i - 1])
    took = float(flight.took_s[i]) * (ARC_CLIMB.value if flight.kind[i] == ARC else 1.0)
    if turns.descending:
        gained = min(0.0, change + flying.descent_m_s * took)
    else:
        gained = max(0.0, change - flying.climb_m_s * took)
    begun_m = float(flight.bottom_m[at]) - (gained if turns.descending else 0.0)
    count = turns.turns * int(np.ceil(2.0 * np.pi * turns.radius_m / POINTS_M))
    share = np.arange(1, count + 1) / count
    begin = np.arctan2(flight.y_m[at] - turns.y_m, flight.x_m[at] - turns.x_m)
    angle = begin - turns.side * 2.0 * np.pi * turns.turns * share
    x, y = turns.x_m + turns.radius_m * np.cos(angle), turns.y_m + turns.radius_m * np.sin(angle)
    x[-1], y[-1] = flight.x_m[at], flight.y_m[at]
    return begun_m, _Rows(
        x, y, begun_m + gained * share, np.full(count, turns.seconds / count),
        _raster(airspace, "turns", x, y), np.zeros(count, np.int64),
    )  # fmt: skip


def _raster(airspace: Airspace, name: Literal["turns", "floor", "near"], x: F64, y: F64) -> F64:
    """Read one of the floors at places [m AMSL], ceilings counted."""
    grid = airspace.grid
    row, col = grid.rowcol(x, y)
    row, col = np.clip(row, 0, grid.rows - 1), np.clip(col, 0, grid.cols - 1)
    if name == "turns":
        heights, relief = airspace.turn_floor
        found = heights[row, col].astype(np.float64) - relief
    elif name == "floor":
        found = airspace.fine.floor[row, col].astype(np.float64)
    else:
        margin = airspace.rules.load_margin_m + airspace.rules.vertical_error_m
        found = airspace.near_top[row, col].astype(np.float64) + margin
    if airspace.ceilings is not None:
        found = np.maximum(found, airspace.ceilings[row, col])
    return found


def _floors(airspace: Airspace, flight: Flight) -> F64:
    """Give the floor that counts at each sample: of the strip in corridors, of the gates' arcs, else en route."""
    x, y, count = flight.x_m, flight.y_m, flight.x_m.size
    arcs = (flight.kind == ARC) & ((flight.corner <= 1) | (flight.corner >= flight.radius_m.size - 2))
    floor = np.where(arcs, _raster(airspace, "turns", x, y), _raster(airspace, "floor", x, y))
    for end, which in ((0, np.flatnonzero(flight.kind == OUT)), (1, np.flatnonzero(flight.kind == IN))):
        gates, kind = flight.gates[end], int(flight.search.gate[2 * end + 1])
        if end == 1 and which.size:
            which = np.concatenate([which[:1] - 1, which])
        which = np.union1d(which, [0 if end == 0 else count - 1])
        away = np.hypot(x[which] - gates.x_m[0], y[which] - gates.y_m[0])
        bearing = gates.bearing[0, int(flight.search.gate[2 * end])]
        half = airspace.rules.corridor_start_m + airspace.rules.corridor_spread * away
        across = np.linspace(-1.0, 1.0, 2 * int(np.ceil(half.max() / airspace.grid.cell_m)) + 3)
        wide = half[:, None] * across
        strip = _raster(
            airspace, "near", x[which, None] + wide * np.cos(bearing), y[which, None] - wide * np.sin(bearing)
        ).max(axis=1)
        beyond = away > gates.surveyed_m[kind] + 1.0
        floor[which] = np.where(beyond, _raster(airspace, "turns", x[which], y[which]), strip)
    return floor


def _kept(rows: _Rows) -> I64:
    """Choose the rows that become points: the pieces' ends, some between them, kinks in height."""
    keep = np.zeros(rows.x_m.size, np.bool_)
    keep[[0, -1]] = True
    keep[:-1] |= rows.piece[1:] != rows.piece[:-1]
    step = np.hypot(np.diff(rows.x_m), np.diff(rows.y_m))
    along = np.concatenate([[0.0], np.cumsum(step)])
    keep[1:] |= np.diff(np.floor(along / EVERY_M)) > 0
    slope = np.diff(rows.bottom_m) / np.maximum(step, 1e-9)
    keep[1:-1] |= np.abs(np.diff(slope)) * EVERY_M > STRAYS_M
    return np.flatnonzero(keep)


def _pointed(airspace: Airspace, rows: _Rows, parts: list[_Part]) -> tuple[dict[str, F64], tuple[Piece, ...]]:
    """Give the points of a leg, what lies below them counted over the stretches on both sides, and its pieces."""
    at = _kept(rows)
    grid = airspace.grid
    row, col = grid.rowcol(rows.x_m, rows.y_m)
    row, col = np.clip(row, 0, grid.rows - 1), np.clip(col, 0, grid.cols - 1)
    below = {
        "ground_m": airspace.ground.ground[row, col].astype(np.float64),
        "top_m": airspace.ground.top[row, col].astype(np.float64),
        "floor_m": rows.floor_m,
    }
    time = np.cumsum(rows.step_s)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(rows.x_m), np.diff(rows.y_m)))])
    points = {"x_m": rows.x_m[at], "y_m": rows.y_m[at], "bottom_m": rows.bottom_m[at], "time_s": time[at],
              "distance_m": along[at]}  # fmt: skip
    for name, values in below.items():
        if name == "floor_m":  # the floor is compared point by point with the height there
            points[name] = values[at]
            continue
        stretch = np.maximum.reduceat(values, at)  # from each point up to the next
        before = np.maximum(np.concatenate([stretch[:1], stretch[:-1]]), values[at])
        points[name] = np.maximum(stretch, before)
    pieces, first = [], 0
    for i, part in enumerate(parts):
        of = np.flatnonzero(rows.piece[at] == i)
        if not of.size:
            continue
        last = int(of[-1])
        pieces.append(Piece(part.kind, first, last, part.gate, part.radius_m, part.turn_deg))
        first = last
    return points, tuple(pieces)


def _gate(flight: Flight, end: int) -> Gate:
    """Give the record of the departure (0) or the arrival (1)."""
    gates = flight.gates[end]
    direction, kind = int(flight.search.gate[2 * end]), int(flight.search.gate[2 * end + 1])
    course = flight.course_deg(end)
    wind = flight.wind
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, float(gates.z_m[0]))
    return Gate(
        place=gates.place,
        kind="departure" if end == 0 else "arrival",
        course_deg=course,
        lift_m=flight.lift_m if end == 0 else flight.lower_m,
        gradient=float(gates.gradient[kind]),
        ground_speed_m_s=float(gates.speed_m_s[0, direction, kind]),
        straight_m=flight.straight_m[end],
        surveyed_m=float(gates.surveyed_m[kind]),
        headwind_m_s=float(headwind(course, from_deg, speed)),
        crosswind_m_s=float(crosswind(course, from_deg, speed)),
    )


def _orbits(leg: Leg) -> list[Finding]:
    """Tell the whole turns that are flown to win or lose height."""
    return [
        Finding.of(
            "orbits",
            leg=leg.leg,
            turns=round(abs(piece.turn_deg) / 360.0),
            along_m=float(leg.distance_m[piece.first]),
            lat=float(leg.lat_deg[piece.first]),
            lon=float(leg.lon_deg[piece.first]),
            from_m=float(leg.altitude_m[piece.first]),
            to_m=float(leg.altitude_m[piece.last]),
            seconds=float(leg.time_s[piece.last] - leg.time_s[piece.first]),
        )
        for piece in leg.pieces
        if piece.kind == "orbits"
    ]


def _wires(crossings: tuple[Crossing, ...]) -> list[Finding]:
    out = []
    for wire in crossings:
        if wire.angle_deg < WIRE_OBLIQUE_DEG.value:
            out.append(Finding.of("wire-oblique", wire=wire.name, angle_deg=wire.angle_deg))
        if wire.height_assumed:
            out.append(Finding.of("wire-height-assumed", wire=wire.name, top_m=wire.top_m))
    return out


def _dear_areas(airspace: Airspace, leg: Leg) -> list[Finding]:
    out = []
    for area in airspace.avoid:
        if not area.hard:
            low = -np.inf if area.floor_m is None else area.floor_m
            high = np.inf if area.ceiling_m is None else area.ceiling_m
            if _meets(area.geometry, leg, (low, high)):
                out.append(Finding.of("area-crossed", area=area.name, why=area.why))
    return out


def _meets(shape: Any, leg: Leg, between_m: tuple[float, float]) -> bool:
    """Tell whether a leg touches a shape between two heights [m AMSL], also in the middle of a stretch."""
    import shapely

    ends = np.column_stack([leg.x_m, leg.y_m])
    over = shapely.intersects(shape, shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1)))
    bottom = leg.altitude_m - leg.hanging_m
    highest = np.maximum(leg.altitude_m[:-1], leg.altitude_m[1:])
    lowest = np.minimum(bottom[:-1], bottom[1:])
    low_m, high_m = between_m
    return bool((over & (highest >= low_m) & (lowest <= high_m)).any())


def _wind_table(wind: Wind, altitude_m: F64) -> list[Finding]:
    known_low_m, known_high_m = wind.altitude_m[0], wind.altitude_m[-1]
    low_m, high_m = float(altitude_m.min()), float(altitude_m.max())
    if len(wind.altitude_m) == 1 or (low_m >= known_low_m and high_m <= known_high_m):
        return []
    return [
        Finding.of("wind-outside-table", low_m=low_m, high_m=high_m, known_low_m=known_low_m, known_high_m=known_high_m)
    ]
