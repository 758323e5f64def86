"""A leg, packed: its path, what lies below it, its wires, its waypoints and its words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from diproute.document.legs import Envelope, Leg, WireCrossed
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.physics.geodesy import beside
from diproute.units import show, show_course, show_down, show_time, show_up, unit_name
from diproute.wording import label
from diproute.writing.drawings.profile import title
from diproute.writing.map import flown, shapes
from diproute.writing.map.packing import Texts, clock, degrees, deltas, downward, kept, tenths, upward
from diproute.writing.reader import altitude, told

MINUTE = 60_000  # places of waypoints in thousandths of a minute, as they are printed


def flown_by(site: Site, plan: Plan) -> list[Leg]:
    """Give a site's legs: loaded and empty ones, then from and to the helibase."""
    home = site.ferry
    ferries = (plan.ferry(home.from_base), plan.ferry(home.to_base)) if home is not None else ()
    return [*site.routes, *(leg for leg in ferries if leg is not None)]


def packed(leg: Leg, plan: Plan, texts: Texts) -> dict[str, Any]:
    """Pack a leg.

    Parameters
    ----------
    leg
        The leg.
    plan
        Its plan.
    texts
        The page's table of texts.

    Returns
    -------
    dict
        ``path``: latitude, longitude, height AMSL and way along it, as differences, thinned to what a screen can show;
        ``below``: the envelope in whole metres, rounded to the safe side, of legs that have a profile; ``wires``;
        ``points``: the waypoints.
    """
    display = plan.display
    points = [leg.path[i] for i in kept(leg.path)]
    along = [leg.along_m[i] for i in kept(leg.path)]
    peak = f"highest {show(leg.highest_m, 'height', display)} {label('altitude', display)}"
    length, seconds = show(leg.length_m, "distance", display), show_time(leg.seconds)
    return {
        "kind": leg.leg,
        "title": texts(f"{title(leg)}: {length}, {seconds}"),
        "name": texts(title(leg)),
        "peak": texts(peak),
        "length": tenths(leg.length_m),
        "path": [
            deltas(degrees(lat) for _, lat, _ in points),
            deltas(degrees(lon) for lon, _, _ in points),
            deltas(round(height) for _, _, height in points),
            deltas(round(d) for d in along),
        ],
        "below": None if leg.envelope is None or leg.leg == "ferry" else _below(leg.envelope),
        "wires": [_wire(wire, plan, texts) for wire in leg.wires_crossed],
        "points": _waypoints(leg, plan),
        "reading": texts(flown.reading(leg, display)),
        "care": [texts(told(found, plan)) for found in leg.cautions],
        "drop": _line_drop(leg, plan),
    }  # fmt: skip


def _below(below: Envelope) -> dict[str, Any]:
    rooms: Sequence[float | None] = below.room_m
    return {
        "step": below.step_m,
        "ground": deltas(upward(h) for h in below.ground_m),
        "top": deltas(upward(h) for h in below.top_m),
        "floor": deltas(upward(h) for h in below.floor_m),
        "room": deltas(downward(h) for h in rooms),
        "craft": deltas(downward(h) for h in below.aircraft_m),
    }


def _wire(wire: WireCrossed, plan: Plan, texts: Texts) -> dict[str, Any]:
    display = plan.display
    assumed = ", height assumed" if wire.height_assumed else ""
    words = (
        f"{wire.name}: top {altitude(wire.top_m, display)}{' (height assumed)' if wire.height_assumed else ''}, "
        f"bucket {show_down(wire.clearance_m, 'height', display)} above it, crossed at {wire.angle_deg:.0f}°"
    )
    return {
        "at": [degrees(wire.lat), degrees(shapes.beside(wire.lon, plan))],
        "along": tenths(wire.along_m),
        "top": tenths(wire.top_m),
        "short": texts(f"wire {show(wire.top_m, 'height', display)}{assumed}"),
        "words": texts(words),
    }


def _waypoints(leg: Leg, plan: Plan) -> dict[str, Any]:
    """Give the turning points, columns beside each other: place, way along, course, height, time."""
    display, places = plan.display, [leg.path[point.index] for point in leg.waypoints]
    return {
        "lat": deltas(_minutes(lat) for _, lat, _ in places),
        "lon": deltas(_minutes(float(beside(lon, 0.0))) for lon, _, _ in places),
        "far": [show(point.along_m, "distance", display, unit=False) for point in leg.waypoints],
        "course": [
            "–" if point.course_deg is None else show_course(point.course_deg - plan.declination_deg)
            for point in leg.waypoints
        ],
        "high": [show_up(point.altitude_m, "height", display) for point in leg.waypoints],
        "time": [clock(point.time_s) for point in leg.waypoints],
    }


def _minutes(value: float) -> int:
    return int(math.copysign(round(abs(value) * MINUTE), value))


def waypoint_heads(plan: Plan) -> tuple[str, ...]:
    """Name the columns of the waypoints."""
    display = plan.display
    return ("", "Place", f"Along, {unit_name('distance', display)}", "Course, magnetic",
            f"Height {label('altitude', display)}", "Time, min:s")  # fmt: skip


def _line_drop(leg: Leg, plan: Plan) -> str | None:
    """Name the drop that is a line, which each site serves at the end of its own loaded leg; None for a place."""
    if leg.leg != "loaded" or not any(drop.name == leg.drop and drop.lat is None for drop in plan.drops):
        return None
    return leg.drop or ""
