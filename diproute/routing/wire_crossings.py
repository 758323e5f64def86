"""Crossing wires squarely: a short kink in the way where it meets a wire at a slant, when it costs little."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from diproute.records import F64
from diproute.routing.airspace import Airspace
from diproute.routing.crossings import angle_between, points_of, wire_direction, wires_near
from diproute.routing.path import flown
from diproute.routing.speed_model import SpeedModel

SQUARE_DEG: Final = 75.0  # from here on a crossing is left as it is
WORTH: Final = 0.02  # share of the leg's time that a square crossing may cost
REACHES_M: Final = (200.0, 120.0, 60.0)  # flown square to the wire on each side
SHIFTS_M: Final = (0.0, -60.0, 60.0, -150.0, 150.0, -300.0, 300.0)  # along the wire


def squared(airspace: Airspace, medium: SpeedModel, nodes: F64, end_m: float) -> F64:
    """Turn the slanting crossings of wires square where the leg gets no more than 2 % longer by it.

    Parameters
    ----------
    airspace
        Its obstacles that are wires are looked at.
    medium
        Its fine level, on which the way is flown.
    nodes
        (n, 2) column and row of the turning points, the source first.
    end_m
        Height of the bucket's bottom at the far end [m AMSL].

    Returns
    -------
    ndarray
        (m, 2) the turning points, two more for every crossing that was turned.
    """
    if len(nodes) < 2:  # the leg of no length crosses nothing
        return nodes
    path = _path(airspace, nodes)
    wires = wires_near(airspace, path)
    limit = flown(medium, nodes, end_m)[0] * (1.0 + WORTH) if wires else 0.0
    for wire in wires:
        for point in points_of(wire.geometry.intersection(path)):
            if _angle(path, wire.geometry, point) >= SQUARE_DEG:
                continue
            best, least = nodes, np.inf
            for trial in _trials(airspace, nodes, path, wire.geometry, point):
                seconds = flown(medium, trial, end_m)[0]
                if seconds < min(limit, least) and _all_square(airspace, trial, wire.geometry, path):
                    best, least = trial, seconds
            if least < np.inf:
                nodes = best
                path = _path(airspace, nodes)
    return nodes


def _path(airspace: Airspace, nodes: F64) -> Any:
    import shapely

    grid = airspace.grid
    return shapely.LineString(
        np.column_stack([grid.left_m + nodes[:, 0] * grid.cell_m, grid.top_m - nodes[:, 1] * grid.cell_m])
    )


def _course(path: Any, point: Any) -> Any:
    """Direction of a path where it passes a place, (2,)."""
    along = path.project(point)
    a, b = path.interpolate(max(along - 1.0, 0.0)), path.interpolate(along + 1.0)
    return np.array([b.x - a.x, b.y - a.y])


def _angle(path: Any, wire: Any, point: Any) -> float:
    return angle_between(_course(path, point), wire_direction(wire, point))


def _all_square(airspace: Airspace, nodes: F64, wire: Any, before: Any) -> bool:
    """Tell whether a trial crosses the wire no more often than before, and nowhere at more of a slant."""
    path = _path(airspace, nodes)
    old, new = points_of(wire.intersection(before)), points_of(wire.intersection(path))
    return len(new) <= len(old) and sum(_angle(path, wire, p) < SQUARE_DEG for p in new) < sum(
        _angle(before, wire, p) < SQUARE_DEG for p in old
    )


def _trials(airspace: Airspace, nodes: F64, path: Any, wire: Any, point: Any) -> list[F64]:
    """Give the ways that meet the wire square near a place of crossing, as turning points in cells."""
    grid = airspace.grid
    wire_way = wire_direction(wire, point)
    wire_way = wire_way / np.hypot(*wire_way)
    normal = np.array([-wire_way[1], wire_way[0]])
    normal = normal if normal @ _course(path, point) > 0 else -normal
    along, length = path.project(point), path.length
    xy = np.column_stack([grid.left_m + nodes[:, 0] * grid.cell_m, grid.top_m - nodes[:, 1] * grid.cell_m])
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
            cells = np.column_stack([(trial[:, 0] - grid.left_m), (grid.top_m - trial[:, 1])]) / grid.cell_m
            if (cells >= 1).all() and (cells < [grid.cols - 1, grid.rows - 1]).all():
                out.append(cells)
    return out
