"""A shape of the working frame as a GeoJSON geometry (RFC 7946)."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from diproute.physics.geodesy import LocalFrame
from diproute.writing.rounding import coordinate


def geometry(shape: Any, frame: LocalFrame) -> dict[str, Any] | None:
    """Give a shape in longitude and latitude.

    Parameters
    ----------
    shape
        shapely point, line or polygon, or several of one kind, in working x, y [m]; None: nothing.
    frame
        The working frame.

    Returns
    -------
    dict or None
        ``{"type": …, "coordinates": …}``, outer rings counterclockwise; None for nothing and for an empty shape.
    """
    import shapely

    if shape is None or shape.is_empty:
        return None

    def turned(xy: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.column_stack(frame.to_lonlat(xy[:, 0], xy[:, 1]))

    placed = shapely.orient_polygons(shapely.transform(shapely.force_2d(shape), turned))
    found = shapely.geometry.mapping(placed)
    return {"type": found["type"], "coordinates": _rounded(found["coordinates"])}


def _rounded(part: Any) -> Any:
    return coordinate(part) if isinstance(part, float) else [_rounded(inner) for inner in part]
