"""The wires that a leg crosses, with their height, the clearance and the angle."""

from __future__ import annotations

from typing import Any

import numpy as np

from diproute.physics.geodesy import frame_of
from diproute.records import Crossing, Leg, Obstacle
from diproute.routing.airspace import Airspace


def wires_near(airspace: Airspace, path: Any) -> list[Obstacle]:
    """Give the wires whose line touches a path [working x, y]."""
    import shapely

    wires = [o for o in airspace.ground.obstacles if o.is_wire]
    if not wires:
        return []
    hit = shapely.intersects(np.array([o.geometry for o in wires], dtype=object), path)
    return [wire for wire, yes in zip(wires, hit, strict=True) if yes]


def crossings_of(airspace: Airspace, leg: Leg) -> tuple[Crossing, ...]:
    """List the wires that a leg crosses, in the order of flight.

    Parameters
    ----------
    airspace
        Its obstacles that are wires are looked at.
    leg
        The leg as flown.

    Returns
    -------
    tuple of Crossing
        `top_m` is the highest of the surface there and of the wire's own height above the ground.
    """
    import shapely

    path = shapely.LineString(np.column_stack([leg.x_m, leg.y_m]))
    found: list[tuple[float, Crossing]] = []
    for wire in wires_near(airspace, path):
        for point in points_of(wire.geometry.intersection(path)):
            along = float(path.project(point))
            found.append((along, _crossing(airspace, leg, wire, point, along)))
    return tuple(crossing for _, crossing in sorted(found, key=lambda pair: pair[0]))


def points_of(shape: Any) -> list[Any]:
    """Places of an intersection: a stretch flown along a wire counts once, at its middle."""
    if shape.is_empty:
        return []
    if hasattr(shape, "geoms"):
        return [point for part in shape.geoms for point in points_of(part)]
    return [shape.interpolate(0.5, normalized=True) if shape.geom_type == "LineString" else shape]


def _crossing(airspace: Airspace, leg: Leg, wire: Obstacle, point: Any, along: float) -> Crossing:
    ground, grid = airspace.ground, airspace.grid
    row, col = grid.rowcol(point.x, point.y)
    top = float(np.fmax(ground.top[row, col], ground.ground[row, col] + wire.height_m))
    after = int(np.clip(np.searchsorted(leg.distance_m, along), 1, leg.distance_m.size - 1))
    bottom = float(np.interp(along, leg.distance_m, leg.altitude_m - leg.hanging_m))
    course = np.array([leg.x_m[after] - leg.x_m[after - 1], leg.y_m[after] - leg.y_m[after - 1]])
    lon, lat = frame_of(grid).to_lonlat(point.x, point.y)
    return Crossing(
        name=wire.name,
        lat_deg=float(lat),
        lon_deg=float(lon),
        top_m=top,
        height_assumed=wire.height_assumed,
        clearance_m=bottom - top,
        angle_deg=angle_between(course, wire_direction(wire.geometry, point)),
    )


def wire_direction(line: Any, point: Any) -> Any:
    """Direction of a wire at a place on it, (2,) [m]."""
    import shapely

    parts = list(line.geoms) if hasattr(line, "geoms") else [line]
    part = min(parts, key=lambda p: p.distance(point))
    ends = shapely.get_coordinates(part)
    spans = shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1))
    nearest = int(np.argmin(shapely.distance(spans, point)))
    return ends[nearest + 1] - ends[nearest]


def angle_between(course: Any, wire: Any) -> float:
    """Angle between two directions, 0 to 90 [deg]."""
    cross = abs(course[0] * wire[1] - course[1] * wire[0])
    dot = abs(course[0] * wire[0] + course[1] * wire[1])
    return float(np.degrees(np.arctan2(cross, dot)))
