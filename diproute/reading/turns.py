"""Shapes in degrees on the side of the working frame: across ±180°, cut there or not, and counted from 0 to 360.

Longitudes are counted on past ±180 from the middle of the frame. A file may hold the same place a turn to the west or
to the east, so each is looked at, and what lies in two parts there becomes one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from diproute.reading.grid import Box
from diproute.reading.lattice import between, full_circle, unwrap

if TYPE_CHECKING:
    from diproute.physics.geodesy import LocalFrame

Shapes = npt.NDArray[np.object_]

_EDGE_POINTS: Final = 33  # of a box on each side
_WIDER: Final = 1e-3  # of a box's size, for what bulges between these
_WHOLE: Final = 1 - 1e-9  # of a turn: an edge as long is one round the world and no slip over ±180
_ON_EDGE: Final = 1e-6  # degrees, a tenth of a metre: as files round
_BOX_POINTS: Final = 5
_TORN: Final = 3.0  # times as wide as it should be


def box_in(crs: Any, frame: LocalFrame, area: Box, margin_m: float) -> Box | None:
    """Box in a file's own reference system round an area of the working frame.

    Parameters
    ----------
    crs
        The file's pyproj.CRS.
    frame
        The working frame.
    area
        Left, bottom, right and top [m].
    margin_m
        How far the box reaches beyond it.

    Returns
    -------
    tuple of float or None
        In degrees counted on past ±180 round the frame's middle; None where there is no simple box: round a pole, or
        where the file's projection is torn.
    """
    left, bottom, right, top = area[0] - margin_m, area[1] - margin_m, area[2] + margin_m, area[3] + margin_m
    x, y = np.linspace(left, right, _EDGE_POINTS), np.linspace(bottom, top, _EDGE_POINTS)
    x, y = (np.concatenate([x, x, 0 * y + left, 0 * y + right]), np.concatenate([0 * x + bottom, 0 * x + top, y, y]))
    there = between(frame.crs, crs)
    east, north = (np.asarray(v) for v in there.transform(x, y))
    if not np.isfinite(east + north).all():
        return None
    circle = full_circle(crs)
    if circle:
        if any(_holds(area, margin_m, frame.to_xy(frame.lon_deg, pole)) for pole in (-90.0, 90.0)):
            return None
        east = unwrap(east, float(there.transform(0.0, 0.0)[0]), circle)
    elif np.ptp(east) * crs.axis_info[0].unit_conversion_factor > _TORN * (right - left) / _scale(frame):
        return None
    wide = _WIDER * max(float(np.ptp(east)), float(np.ptp(north)))
    return float(east.min()) - wide, float(north.min()) - wide, float(east.max()) + wide, float(north.max()) + wide


def _scale(frame: LocalFrame) -> float:
    """Least scale that a common projection may have here: a cylinder's grows with the latitude."""
    return max(float(np.cos(np.radians(frame.lat_deg))), 0.01)


def _holds(area: Box, margin_m: float, at: Any) -> bool:
    x, y = at
    return bool(area[0] - margin_m <= x <= area[2] + margin_m and area[1] - margin_m <= y <= area[3] + margin_m)


def boxes_to_read(crs: Any, box: Box) -> tuple[Box, ...]:
    """Boxes that a file may hold a box in, the likeliest first: counted from -180, from 0, or on past ±180."""
    circle = full_circle(crs)
    if not circle:
        return (box,)
    west, south, east, north = box
    moved = [(west + turn, south, east + turn, north) for turn in (0.0, -circle, circle)]
    return tuple(b for b in moved if b[2] >= -circle / 2 and b[0] <= circle)


def crosses(crs: Any, box: Box) -> bool:
    """Whether a box of degrees lies across ±180."""
    circle = full_circle(crs)
    return bool(circle) and (box[0] < -circle / 2 or box[2] > circle / 2)


def beside(shapes: Shapes, crs: Any, near: Box | None, middle: float) -> Shapes:
    """Bring shapes in degrees to a box, or to the side of a longitude.

    Parameters
    ----------
    shapes
        Two-dimensional, valid, not empty.
    crs
        Their reference system; shapes of a projected one stay, but for what lies outside the box.
    near
        West, south, east and north, counted on past ±180; None: all of the shapes is wanted.
    middle
        Longitude in their own unit.

    Returns
    -------
    ndarray of shapely geometries
        What lies in the box, in one part where ±180 alone divides it; empty for a shape outside it.
    """
    import shapely

    circle = full_circle(crs)
    out = shapes.copy()
    bounds = shapely.bounds(shapes)
    if near is None:
        for i in range(len(out)) if circle else ():
            out[i] = _moved(out[i], _turn((bounds[i, 0] + bounds[i, 2]) / 2, middle, circle))
        return out
    there = (bounds[:, :2] >= near[:2]).all(axis=1) & (bounds[:, 2:] <= near[2:]).all(axis=1)
    for i in map(int, np.flatnonzero(~there)):
        west, south, east, north = bounds[i]
        parts = []
        for turn in (-circle, 0.0, circle) if circle else (0.0,):
            if west + turn > near[2] or east + turn < near[0] or south > near[3] or north < near[1]:
                continue
            part = _moved(out[i], turn)
            if west + turn < near[0] or east + turn > near[2] or south < near[1] or north > near[3]:
                part = shapely.clip_by_rect(part, *near)
            parts += [part] if not part.is_empty else []
        out[i] = _together(parts, circle)
    return out


def steady(shapes: Shapes, crs: Any, near: Box | None) -> Shapes:
    """Take out the slips of a whole turn in shapes in degrees that are drawn over ±180 with both signs.

    Parameters
    ----------
    shapes
        Two-dimensional.
    crs
        Their reference system.
    near
        What is looked at, counted on past ±180; None: all.

    Returns
    -------
    ndarray of shapely geometries
        An edge of a whole turn and an outline round a pole stay as they are; so does a plain box more than half a turn
        wide, unless ±180 is looked at.
    """
    import shapely

    circle = full_circle(crs)
    bounds = shapely.bounds(shapes)
    wide = np.flatnonzero(bounds[:, 2] - bounds[:, 0] > circle / 2) if circle else ()
    out = shapes.copy() if len(wide) else shapes
    away = near is not None and not crosses(crs, near)
    for i in wide:
        if not (away and shapely.get_num_coordinates(shapes[i]) == _BOX_POINTS):
            out[i] = _steady(shapes[i], circle)
    return out


def _turn(at: float, middle: float, circle: float) -> float:
    return float(unwrap(at, middle, circle)) - at if circle else 0.0


def _moved(shape: Any, turn: float) -> Any:
    import shapely

    return shape if turn == 0.0 else shapely.transform(shape, lambda xy: xy + np.array([turn, 0.0]))


def _together(parts: list[Any], circle: float) -> Any:
    """One shape of several: areas grow together; lines do, where ±180 cut them, and keep every vertex of their own."""
    import shapely

    if len(parts) < 2:
        return parts[0] if parts else shapely.Point()
    dimensions = shapely.get_dimensions(parts)
    if (dimensions == 2).all():
        return shapely.union_all(parts)
    if (dimensions == 1).all():
        lines = shapely.line_merge(shapely.multilinestrings(shapely.get_parts(parts)))
        return shapely.multilinestrings([_healed(line, circle) for line in shapely.get_parts([lines])])
    return shapely.GeometryCollection([single for part in parts for single in shapely.get_parts(part)])


def _healed(line: Any, circle: float) -> Any:
    """Take out the vertices that a cut at ±180 put onto straight stretches: a wire has no support there."""
    import shapely

    xy = shapely.get_coordinates(line)
    before, at, after = xy[:-2], xy[1:-1], xy[2:]
    on_edge = np.abs(np.abs(at[:, 0]) % circle - circle / 2) < _ON_EDGE
    run = after - before
    length = np.maximum(np.hypot(run[:, 0], run[:, 1]), _ON_EDGE)
    off = np.abs(run[:, 0] * (at - before)[:, 1] - run[:, 1] * (at - before)[:, 0]) / length
    return shapely.LineString(np.delete(xy, 1 + np.flatnonzero(on_edge & (off < _ON_EDGE)), axis=0))


def _steady(shape: Any, circle: float) -> Any:
    import shapely

    if shape.geom_type in ("LineString", "LinearRing"):
        return type(shape)(_steady_line(shapely.get_coordinates(shape), circle))
    if shape.geom_type == "Polygon":
        shell = _steady_line(shapely.get_coordinates(shape.exterior), circle)
        middle = (shell[:, 0].min() + shell[:, 0].max()) / 2
        holes = []
        for ring in shape.interiors:
            hole = _steady_line(shapely.get_coordinates(ring), circle)
            at = (hole[:, 0].min() + hole[:, 0].max()) / 2
            holes.append(hole + np.array([_turn(at, middle, circle), 0.0]))
        return shapely.Polygon(shell, holes)
    if hasattr(shape, "geoms") and shape.geom_type != "MultiPoint":
        return type(shape)([_steady(part, circle) for part in shape.geoms])
    return shape


def _steady_line(xy: npt.NDArray[np.float64], circle: float) -> npt.NDArray[np.float64]:
    step = np.diff(xy[:, 0])
    slip = (np.abs(step) > circle / 2) & (np.abs(step) < _WHOLE * circle)
    turns = np.concatenate([[0.0], np.cumsum(np.where(slip, -np.sign(step) * circle, 0.0))])
    closed = bool((xy[0] == xy[-1]).all())
    if closed and turns[-1] != 0.0:
        return xy  # it goes round a pole
    return np.column_stack([xy[:, 0] + turns, xy[:, 1]])
