"""The legs of a plan: each ferry once, paths thinned, and what their readers ask worked out."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from diproute import records
from diproute.document.findings import findings
from diproute.document.legs import Ferry, Gate, Leg, Low, Piece, Slope, Waypoint, WireCrossed
from diproute.document.thinning import down, envelope, kept, up
from diproute.physics.geodesy import LocalFrame, beside, distance_and_course
from diproute.records import I64

STEEP_M: Final = 200.0  # over what length a leg's steepest part is told


@dataclass(frozen=True, slots=True)
class Ferries:
    """The ways from and to the helibase, each kept once."""

    frame: LocalFrame
    legs: dict[tuple[object, ...], Leg] = field(default_factory=dict)

    def of(self, route: records.Route | None) -> Ferry | None:
        """Name the ferries of a route, and keep those that are new."""
        if route is None or (route.from_base is None and route.to_base is None):
            return None
        return Ferry(from_base=self._id(route.from_base), to_base=self._id(route.to_base))

    def _id(self, leg: records.Leg | None) -> str | None:
        if leg is None:
            return None
        rows = (leg.lon_deg, leg.lat_deg, leg.altitude_m, leg.floor_m, leg.time_s)
        key = (leg.hanging_m, leg.cautions, leg.crossings, *(row.tobytes() for row in rows))
        if key not in self.legs:
            self.legs[key] = compose_leg(leg, f"ferry-{len(self.legs) + 1}", self.frame)
        return self.legs[key].id


def routes(route: records.Route | None, site: str, frame: LocalFrame) -> tuple[Leg, ...]:
    """Give the loaded and the empty legs of a site."""
    if route is None:
        return ()
    return tuple(
        compose_leg(leg, f"{site}-{kind}-{number}", frame)
        for kind, legs in (("loaded", route.loaded), ("empty", route.empty))
        for number, leg in enumerate(legs, start=1)
    )


def compose_leg(leg: records.Leg, id_: str, frame: LocalFrame) -> Leg:
    """Turn a leg as flown into the plan's.

    Parameters
    ----------
    leg
        The leg.
    id_
        Its name in the plan.
    frame
        The working frame.
    """
    at = kept(leg)
    lon_deg = np.asarray(beside(leg.lon_deg, frame.lon_deg))
    lonlat = [np.round(row[at], 6) + 0.0 for row in (lon_deg, leg.lat_deg)]
    height, along, time = (np.round(row[at], 1) + 0.0 for row in (leg.altitude_m, leg.distance_m, leg.time_s))
    path = np.column_stack([*lonlat, height]).tolist()
    won, lost = _turned(leg)
    steepest, slope_known = _steepest(leg)
    lowest, under_known = _lowest(leg)
    return Leg(
        id=id_,
        drop=None if leg.leg == "ferry" else leg.drop,
        leg=leg.leg,
        length_m=leg.length_m,
        seconds=leg.seconds,
        highest_m=leg.highest_m,
        hanging_m=leg.hanging_m,
        path=tuple((lon, lat, metres) for lon, lat, metres in path),
        along_m=tuple(along.tolist()),
        time_s=tuple(time.tolist()),
        waypoints=_waypoints(leg, at),
        envelope=envelope(leg),
        steepest=steepest,
        slope_known=slope_known,
        turned_up_m=won,
        turned_down_m=lost,
        departure=_gate(leg.departure),
        arrival=_gate(leg.arrival),
        pieces=_pieces(leg, at),
        lowest=lowest,
        under_known=under_known,
        wires_crossed=_wires(leg, frame),
        cautions=findings(leg.cautions),
    )


def _waypoints(leg: records.Leg, path: I64) -> tuple[Waypoint, ...]:
    at = np.asarray(leg.waypoints, dtype=np.int64)
    lon, lat = leg.lon_deg[at], leg.lat_deg[at]
    _, true_deg = distance_and_course(lon[:-1], lat[:-1], lon[1:], lat[1:])
    courses = [*np.atleast_1d(true_deg).tolist(), None]
    return tuple(
        Waypoint(
            index=int(index),
            along_m=float(leg.distance_m[i]),
            altitude_m=float(up(leg.altitude_m[i])),
            time_s=float(leg.time_s[i]),
            course_deg=course,
        )
        for i, index, course in zip(at, np.searchsorted(path, at), courses, strict=True)
    )


def _steepest(leg: records.Leg) -> tuple[Slope | None, bool]:
    """Give the steepest stretch, and whether it can be known."""
    if leg.length_m <= STEEP_M:
        return None, True
    start = leg.distance_m[leg.distance_m <= leg.length_m - STEEP_M]
    low, high = (np.interp(start + more, leg.distance_m, leg.altitude_m) for more in (0.0, STEEP_M))
    slope = (high - low) / STEEP_M
    if not np.isfinite(slope).all():
        return None, False
    i = int(np.argmax(np.abs(slope)))
    return Slope(gradient=float(slope[i]), from_m=float(start[i]), over_m=STEEP_M), True


def _turned(leg: records.Leg) -> tuple[float, float]:
    """Give the height that is won and lost in orbits, which no slope along the leg shows [m]."""
    changes = [float(leg.altitude_m[p.last] - leg.altitude_m[p.first]) for p in leg.pieces if p.kind == "orbits"]
    return sum(c for c in changes if c > 0), -sum(c for c in changes if c < 0)


def _gate(gate: records.Gate) -> Gate:
    return Gate(
        place=gate.place,
        kind=gate.kind,
        course_deg=gate.course_deg,
        lift_m=gate.lift_m,
        gradient=gate.gradient,
        ground_speed_m_s=gate.ground_speed_m_s,
        straight_m=gate.straight_m,
        surveyed_m=gate.surveyed_m,
        headwind_m_s=gate.headwind_m_s,
        crosswind_m_s=gate.crosswind_m_s,
    )


def _pieces(leg: records.Leg, path: I64) -> tuple[Piece, ...]:
    """Give the pieces by the points of the thinned path, which keeps all their ends."""
    return tuple(
        Piece(
            kind=piece.kind,
            first=int(np.searchsorted(path, piece.first)),
            last=int(np.searchsorted(path, piece.last)),
            gate=piece.gate,
            seconds=float(leg.time_s[piece.last] - leg.time_s[piece.first]),
            radius_m=piece.radius_m if piece.kind in ("arc", "orbits") else None,
            turn_deg=piece.turn_deg if piece.kind in ("arc", "orbits") else None,
        )
        for piece in leg.pieces
    )


def _lowest(leg: records.Leg) -> tuple[Low | None, bool]:
    """Give the lowest place between the climb away from one end and the descent to the other; and if it is known."""
    room = leg.clearance_m
    if not np.isfinite(room).all():
        return None, False
    falling, rising = np.flatnonzero(np.diff(room) < 0), np.flatnonzero(np.diff(room) > 0)
    first, last = (int(falling[0]), int(rising[-1]) + 1) if len(falling) and len(rising) else (0, -1)
    if first >= last:
        return None, True
    i = first + int(np.argmin(room[first : last + 1]))
    return Low(clearance_m=float(down(room[i])), along_m=float(leg.distance_m[i])), True


def _wires(leg: records.Leg, frame: LocalFrame) -> tuple[WireCrossed, ...]:
    if not leg.crossings:
        return ()
    from shapely import LineString, Point

    flown = LineString(np.column_stack([leg.x_m, leg.y_m]))
    return tuple(
        WireCrossed(
            name=wire.name,
            lat=wire.lat_deg,
            lon=wire.lon_deg,
            along_m=_along(leg, flown.project(Point(*frame.to_xy(wire.lon_deg, wire.lat_deg)))),
            top_m=wire.top_m,
            height_assumed=wire.height_assumed,
            clearance_m=wire.clearance_m,
            angle_deg=wire.angle_deg,
        )
        for wire in leg.crossings
    )


def _along(leg: records.Leg, plane_m: float) -> float:
    """Turn a distance over the plane of the working frame into one along the leg [m]."""
    plane = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(leg.x_m), np.diff(leg.y_m)))])
    return float(np.interp(plane_m, plane, leg.distance_m))
