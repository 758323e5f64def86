"""The wires that a leg crosses: at a right angle where that costs little, listed with their height and clearance."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from diproute.constants import WIRE_RIGHT_ANGLE_DEG, WIRE_RIGHT_ANGLE_WORTH
from diproute.physics.geodesy import frame_of
from diproute.records import F64, Crossing, Obstacle
from diproute.routing.airspace import Airspace
from diproute.routing.path import flown
from diproute.routing.profile import Profile
from diproute.routing.speed_model import SpeedModel

REACHES_M: Final = (200.0, 120.0, 60.0)  # flown at a right angle to the wire on each side
SHIFTS_M: Final = (0.0, -60.0, 60.0, -150.0, 150.0, -300.0, 300.0)  # along the wire


def wires_near(airspace: Airspace, path: Any) -> list[Obstacle]:
    """Give the wires whose line touches a path [working x, y]."""
    import shapely

    wires = [o for o in airspace.ground.obstacles if o.is_wire]
    if not wires:
        return []
    hit = shapely.intersects(np.array([o.geometry for o in wires], dtype=object), path)
    return [wire for wire, yes in zip(wires, hit, strict=True) if yes]


def crossings_of(airspace: Airspace, profile: Profile) -> tuple[Crossing, ...]:
    """List the wires that a leg crosses, in the order of flight.

    Parameters
    ----------
    airspace
        Its obstacles that are wires are looked at.
    profile
        The leg as flown.

    Returns
    -------
    tuple of Crossing
        `top_m` is the highest of the surface there and of the wire's own height above the ground.
    """
    import shapely

    path = shapely.LineString(np.column_stack([profile.x_m, profile.y_m]))
    found: list[tuple[float, Crossing]] = []
    for wire in wires_near(airspace, path):
        for point in points_of(wire.geometry.intersection(path)):
            along = float(path.project(point))
            found.append((along, _crossing(airspace, profile, wire, point, along)))
    return tuple(crossing for _, crossing in sorted(found, key=lambda pair: pair[0]))


def points_of(shape: Any) -> list[Any]:
    """Places of an intersection: a stretch flown along a wire counts once, at its middle."""
    if shape.is_empty:
        return []
    if hasattr(shape, "geoms"):
        return [point for part in shape.geoms for point in points_of(part)]
    return [shape.interpolate(0.5, normalized=True) if shape.geom_type == "LineString" else shape]


def _crossing(airspace: Airspace, profile: Profile, wire: Obstacle, point: Any, along: float) -> Crossing:
    ground, grid = airspace.ground, airspace.grid
    row, col = grid.rowcol(point.x, point.y)
    top = float(np.fmax(ground.top[row, col], ground.ground[row, col] + wire.height_m))
    after = int(np.clip(np.searchsorted(profile.distance_m, along), 1, profile.distance_m.size - 1))
    bottom = float(np.interp(along, profile.distance_m, profile.bottom_m))
    course = np.array([profile.x_m[after] - profile.x_m[after - 1], profile.y_m[after] - profile.y_m[after - 1]])
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


def cross_at_right_angles(airspace: Airspace, model: SpeedModel, nodes: F64, end_m: float) -> F64:
    """Bend the way to cross wires at a right angle where that costs no more than `constants.WIRE_RIGHT_ANGLE_WORTH`.

    Parameters
    ----------
    airspace
        Its obstacles that are wires are looked at.
    model
        Its fine level, on which the way is flown.
    nodes
        (n, 2) column and row of the turning points, the source first.
    end_m
        Height of the bucket's bottom at the far end [m AMSL].

    Returns
    -------
    ndarray
        (m, 2) the turning points, two more for every crossing that was bent.
    """
    if len(nodes) < 2:  # the leg of no length crosses nothing
        return nodes
    path = _path(airspace, nodes)
    wires = wires_near(airspace, path)
    limit = flown(model, nodes, end_m)[0] * (1.0 + WIRE_RIGHT_ANGLE_WORTH.value) if wires else 0.0
    for wire in wires:
        for point in points_of(wire.geometry.intersection(path)):
            if _angle(path, wire.geometry, point) >= WIRE_RIGHT_ANGLE_DEG.value:
                continue
            best, least = nodes, np.inf
            for trial in _trials(airspace, nodes, path, wire.geometry, point):
                seconds = flown(model, trial, end_m)[0]
                if seconds < min(limit, least) and _all_right(airspace, trial, wire.geometry, path):
                    best, least = trial, seconds
            if least < np.inf:
                nodes = best
                path = _path(airspace, nodes)
    return nodes


def _path(airspace: Airspace, nodes: F64) -> Any:
    import shapely

    return shapely.LineString(np.column_stack(airspace.fine.places(nodes)))


def _course(path: Any, point: Any) -> Any:
    """Direction of a path where it passes a place, (2,)."""
    along = path.project(point)
    a, b = path.interpolate(max(along - 1.0, 0.0)), path.interpolate(along + 1.0)
    return np.array([b.x - a.x, b.y - a.y])


def _angle(path: Any, wire: Any, point: Any) -> float:
    return angle_between(_course(path, point), wire_direction(wire, point))


def _all_right(airspace: Airspace, nodes: F64, wire: Any, before: Any) -> bool:
    """Tell whether a trial crosses the wire no more often than before, and nowhere at more of a slant."""
    path = _path(airspace, nodes)
    old, new = points_of(wire.intersection(before)), points_of(wire.intersection(path))
    return len(new) <= len(old) and sum(_angle(path, wire, p) < WIRE_RIGHT_ANGLE_DEG.value for p in new) < sum(
        _angle(before, wire, p) < WIRE_RIGHT_ANGLE_DEG.value for p in old
    )


def _trials(airspace: Airspace, nodes: F64, path: Any, wire: Any, point: Any) -> list[F64]:
    """Give the ways that meet the wire at a right angle near a place of crossing, as turning points in cells."""
    grid = airspace.grid
    wire_way = wire_direction(wire, point)
    wire_way = wire_way / np.hypot(*wire_way)
    normal = np.array([-wire_way[1], wire_way[0]])
    normal = normal if normal @ _course(path, point) > 0 else -normal
    along, length = path.project(point), path.length
    xy = np.column_stack(airspace.fine.places(nodes))
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    out = []
    for reach in REACHES_M:
        if not 1.5 * reach < along < length - 1.5 * reach:
            continue
        keep_before, keep_after = at < along - 1.5 * reach, at > along + 1.5 * reach
        for shift in SHIFTS_M:
            place = np.array([point.x, point.y]) + shift * wire_way
            kink = np.array([place - reach * normal, place + reach * normal])
            trial = np.concatenate([xy[keep_before], kink, xy[keep_after]])
            cells = airspace.fine.nodes(*trial.T)
            if (cells >= 1).all() and (cells < [grid.cols - 1, grid.rows - 1]).all():
                out.append(cells)
    return out
