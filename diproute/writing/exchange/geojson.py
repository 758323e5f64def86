"""GeoJSON (RFC 7946): one collection, ``table`` says of what kind a feature is.

Coordinates are longitude and latitude alone: a third one would be a height above the ellipsoid, and the plan's heights
are above mean sea level. They stand in the properties. What the plan does not know is null.
"""

from __future__ import annotations

import json
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.document.frames import NAMES, to_geodataframe
from diproute.document.plan import Plan
from diproute.errors import plain
from diproute.writing.exchange.about import about
from diproute.writing.exchange.rows import rows

_DECIMALS: Final = 6  # a tenth of a metre


def geojson(plan: Plan) -> bytes:
    """Give the plan as a feature collection."""
    import shapely

    features = []
    for name in NAMES:
        frame = to_geodataframe(plan, name)
        flat = shapely.transform(shapely.orient_polygons(shapely.force_2d(frame.geometry.values)), _rounded)
        for row, shape in zip(rows(frame), flat, strict=True):
            placed = None if shape is None or shape.is_empty else shapely.geometry.mapping(shape)
            features.append({"type": "Feature", "geometry": placed, "properties": {"table": name, **row}})
    whole = {
        "type": "FeatureCollection",
        "title": plain(plan.title),
        "about": about(plan),
        "run": plan.run,
        "invented": plan.invented,
        "made_with": plain(plan.made_with),
        "features": features,
    }
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def _rounded(at: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.round(at, _DECIMALS) + 0.0
