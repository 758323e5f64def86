"""Shapes cut at ±180°, as RFC 7946 (3.1.9) and most programs want them."""

from __future__ import annotations

from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

F64 = npt.NDArray[np.float64]
_TURNS = (-2, -1, 0, 1, 2)  # a plan's longitudes are counted on to ±540° at most


def cut(found: BaseGeometry) -> BaseGeometry:
    """Cut a shape whose longitudes are counted on past ±180° there, and bring every part home.

    Parameters
    ----------
    found
        Points, lines or areas in longitude, latitude [deg] and, if there is one, height.

    Returns
    -------
    shapely geometry
        Within ±180°. A line keeps its order, its heights and what it flies twice: a straight up or down, an orbit.
    """
    import shapely

    west, _, east, _ = found.bounds
    if not (west < -180.0 or east > 180.0):
        return found
    dimension = int(shapely.get_dimensions(found))
    part_of: Any = (_points, _lines, _areas)[dimension]
    parts = [piece for part in shapely.get_parts([found]) for piece in part_of(part)]
    many: Any = (shapely.MultiPoint, shapely.MultiLineString, shapely.MultiPolygon)[dimension]
    return parts[0] if len(parts) == 1 else many(parts)


def home(lon_deg: float) -> float:
    """Bring one longitude within ±180° [deg]."""
    turn = round(lon_deg / 360.0)
    return round(lon_deg - 360.0 * turn, 6) if turn else lon_deg


def _points(point: BaseGeometry) -> list[BaseGeometry]:
    import shapely

    turn = round(shapely.get_x(point) / 360.0)
    return [_home(point, turn)]


def _lines(line: BaseGeometry) -> list[BaseGeometry]:
    """Cut a line step by step: an overlay would melt into one what is flown twice."""
    import shapely

    at = _with_seams(shapely.get_coordinates(line, include_z=bool(line.has_z)))
    turn = np.floor(((at[:-1, 0] + at[1:, 0]) / 2 + 180.0) / 360.0)
    along = (at[:-1, 0] == at[1:, 0]) & ((at[1:, 0] + 180.0) % 360.0 == 0.0)  # on the seam: of the step before or after
    for i in np.flatnonzero(along):
        turn[i] = turn[i - 1] if i else next((t for t, on in zip(turn, along, strict=True) if not on), turn[0])
    parts = []
    for one, steps in groupby(range(len(turn)), key=turn.__getitem__):
        step = list(steps)
        parts.append(_home(shapely.LineString(at[step[0] : step[-1] + 2]), int(one)))
    return parts


def _with_seams(at: F64) -> F64:
    """Give the points of a line with those where it crosses a seam."""
    found = [at[:1]]
    for start, end in pairwise(at):
        low, high = sorted((start[0], end[0]))
        seams = [360.0 * turn + 180.0 for turn in _TURNS if low < 360.0 * turn + 180.0 < high]
        for seam in seams if start[0] < end[0] else reversed(seams):
            point = start + (seam - start[0]) / (end[0] - start[0]) * (end - start)
            point[0] = seam
            found.append(point[None])
        found.append(end[None])
    return np.concatenate(found)


def _areas(area: BaseGeometry) -> list[BaseGeometry]:
    import shapely

    found = []
    whole = shapely.make_valid(area, method="structure", keep_collapsed=False)
    for turn in _TURNS:
        inside = whole.intersection(shapely.box(360.0 * turn - 180.0, -90.0, 360.0 * turn + 180.0, 90.0))
        home = _home(inside, turn)
        found += [part for part in shapely.get_parts([home]) if part.geom_type == "Polygon" and not part.is_empty]
    return found


def _home(shape: BaseGeometry, turn: int) -> BaseGeometry:
    import shapely

    def turned(at: F64) -> F64:
        at[:, 0] -= 360.0 * turn
        return at

    return shapely.transform(shape, turned, include_z=bool(shape.has_z))
