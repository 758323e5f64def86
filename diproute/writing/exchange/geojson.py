"""GeoJSON (RFC 7946): one collection, ``table`` says of what kind a feature is.

Coordinates are longitude and latitude alone: a third one would be a height above the ellipsoid, and the plan's heights
are above mean sea level. They stand in the properties.
"""

from __future__ import annotations

import json
from typing import Any, Final

from diproute.document.frames import NAMES, to_geodataframe
from diproute.document.plan import Plan
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.exchange.rows import rows

_DECIMALS: Final = 6  # a tenth of a metre


def geojson(plan: Plan) -> bytes:
    """Give the plan as a feature collection."""
    import shapely

    features = []
    for name in NAMES:
        frame = to_geodataframe(plan, name)
        for row, shape in zip(rows(frame), frame.geometry, strict=True):
            placed = None
            if shape is not None and not shape.is_empty:
                flat = shapely.orient_polygons(shapely.force_2d(shape))
                found = shapely.geometry.mapping(flat)
                placed = {"type": found["type"], "coordinates": _rounded(found["coordinates"])}
            known = {key: value for key, value in row.items() if value is not None}
            features.append({"type": "Feature", "geometry": placed, "properties": {"table": name, **known}})
    whole = {
        "type": "FeatureCollection",
        "title": plan.title,
        "caution": f"{INVENTED} {CAUTIONS[0][1]}" if plan.invented else CAUTIONS[0][1],
        "made_with": plan.made_with,
        "features": features,
    }
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def _rounded(part: Any) -> Any:
    return round(part, _DECIMALS) + 0.0 if isinstance(part, float) else [_rounded(inner) for inner in part]
