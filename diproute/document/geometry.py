"""Shapes as GeoJSON geometries (RFC 7946): longitude, latitude."""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from pydantic import field_validator

from diproute.document.fields import Part
from diproute.physics.geodesy import LocalFrame, beside

GeometryType = Literal["Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"]
_DEPTH: dict[str, int] = {
    "Point": 1, "MultiPoint": 2, "LineString": 2, "MultiLineString": 3, "Polygon": 3, "MultiPolygon": 4,
}  # fmt: skip
_DECIMALS = 6  # a tenth of a metre


class Geometry(Part):
    """One shape."""

    type: GeometryType
    coordinates: list[Any]

    @field_validator("coordinates")
    @classmethod
    def _nested(cls, value: list[Any], info: Any) -> list[Any]:
        depth = _DEPTH.get(info.data.get("type", ""))
        if depth is not None and not _fits(value, depth):
            raise ValueError("coordinates do not fit the type of the geometry")
        return value


def _fits(value: Any, depth: int) -> bool:
    if not isinstance(value, list):
        return False
    if depth > 1:
        return all(_fits(inner, depth - 1) for inner in value)
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) and math.isfinite(v) for v in value)
    return len(value) == 2 and numbers and -540 <= value[0] <= 540 and -90 <= value[1] <= 90


def geometry(shape: Any, frame: LocalFrame, fine_m: float = 0.0) -> Geometry | None:
    """Give a shape in longitude and latitude.

    Parameters
    ----------
    shape
        shapely geometry in working x, y [m]; None: nothing. Of a mixed collection the areas are taken, else the lines.
    frame
        The working frame.
    fine_m
        The outline may stray so far to save points [m].

    Returns
    -------
    Geometry or None
        Outer rings counterclockwise, longitudes counted on past ±180 round the frame's middle; None for nothing and for
        an empty shape.
    """
    import shapely

    if shape is None or shape.is_empty:
        return None

    def turned(xy: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        lon, lat = frame.to_lonlat(xy[:, 0], xy[:, 1])
        return np.round(np.column_stack([beside(lon, frame.lon_deg), lat]), _DECIMALS) + 0.0

    flat = shapely.force_2d(_of_one_kind(shape))
    thin = flat.simplify(fine_m) if fine_m > 0 else flat
    placed = shapely.orient_polygons(shapely.transform(thin, turned))
    found = shapely.geometry.mapping(placed)
    return Geometry(type=found["type"], coordinates=_listed(found["coordinates"]))


def _of_one_kind(shape: Any) -> Any:
    """Take of a mixed collection the areas, else the lines, else the points; a ring is a line."""
    import shapely

    if shape.geom_type == "LinearRing":
        return shapely.LineString(shape.coords)
    if shape.geom_type != "GeometryCollection":
        return shape
    parts = list(shapely.get_parts([shape]))
    while any(part.geom_type.startswith(("Multi", "Geometry")) for part in parts):
        parts = [inner for part in parts for inner in shapely.get_parts([part])]
    most = max(shapely.get_dimensions(part) for part in parts)
    kept = [part for part in parts if shapely.get_dimensions(part) == most]
    whole = {0: shapely.MultiPoint, 1: shapely.MultiLineString, 2: shapely.MultiPolygon}[int(most)]
    return kept[0] if len(kept) == 1 else whole(kept)


def _listed(part: Any) -> Any:
    return part if isinstance(part, float) else [_listed(inner) for inner in part]
