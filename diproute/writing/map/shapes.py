"""Shapes of the plan as Leaflet takes them: latitude before longitude, thinned to what a screen can show."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from diproute.document.geometry import Geometry
from diproute.document.plan import Plan
from diproute.errors import PlanError
from diproute.physics import geodesy

Place = list[float]
DECIMALS = 5  # a metre
DEGREE_M = 111_120.0  # of a meridian, near enough for thinning


def place(lat: float, lon: float) -> Place:
    """Give a place to a metre."""
    return [round(lat, DECIMALS), round(lon, DECIMALS)]


def beside(lon: float, plan: Plan) -> float:
    """Count a longitude on past ±180 round the middle of the ground, as shapes and legs do in the plan."""
    return float(geodesy.beside(lon, plan.ground.centre_lon))


def pieces(geometry: Geometry) -> Iterator[tuple[str, Any]]:
    """Give polygons as ``("area", rings)``, lines as ``("line", points)``, points as ``("mark", place)``."""
    kind, parts = geometry.type.removeprefix("Multi"), geometry.coordinates
    for part in parts if geometry.type.startswith("Multi") else [parts]:
        if kind == "Point":
            yield "mark", place(part[1], part[0])
        elif kind == "LineString":
            yield "line", line(part)
        else:
            yield "area", [line(ring) for ring in part]


def line(points: Sequence[Sequence[float]]) -> list[Place]:
    """Turn longitude and latitude round."""
    return [place(point[1], point[0]) for point in points]


def thinned(points: Sequence[Sequence[float]], fine_m: float) -> list[Place]:
    """Turn longitude and latitude round, and leave out points that the drawn line strays from by less than `fine_m`."""
    from shapely import LineString

    if len(points) < 3:
        return line(points)
    wide = math.cos(math.radians(points[0][1]))
    drawn = LineString([(point[0] * wide, point[1]) for point in points]).simplify(fine_m / DEGREE_M)
    return [place(lat, lon / wide) for lon, lat in drawn.coords]


def inside(geometry: Geometry) -> Place:
    """Give a place inside an area, on a line or at a point, for its name."""
    at = _drawn(geometry).representative_point()
    return place(at.y, at.x)


def foot(geometry: Geometry) -> Place:
    """Give the middle of the southern edge of what a shape covers."""
    west, south, east, _ = _drawn(geometry).bounds
    return place(south, (west + east) / 2)


def size(geometry: Geometry) -> float:
    """Give a measure to tell large areas from small ones."""
    return float(_drawn(geometry).area)


def _drawn(geometry: Geometry) -> Any:
    import shapely

    try:
        drawn = shapely.geometry.shape({"type": geometry.type, "coordinates": geometry.coordinates})
    except (ValueError, shapely.errors.ShapelyError) as error:
        raise PlanError(f"a {geometry.type} of the plan cannot be drawn: {error}") from error
    if drawn.is_empty:
        raise PlanError(f"a {geometry.type} of the plan has no points; a shape that is not known is null")
    return drawn
