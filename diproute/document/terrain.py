"""The ground as a reader without our layers gets it: a shaded picture, coarse heights, spot heights."""

from __future__ import annotations

import base64
import zlib
from typing import Final

import numpy as np

from diproute import records
from diproute.document.ground import Heights, Summit, Terrain
from diproute.document.mercator import frame_of, highest
from diproute.document.relief import shaded
from diproute.document.thinning import GRAIN
from diproute.physics.geodesy import LocalFrame
from diproute.records import F64

HEIGHT_CELLS: Final = 200
SUMMITS: Final = 12
UNKNOWN_DM: Final = int(np.iinfo("<i4").min)


def terrain(assessed: records.Assessed, frame: LocalFrame) -> Terrain:
    """Picture the ground.

    Parameters
    ----------
    assessed
        Gives the working grid, the units that contours are round in, and the places that spot heights keep clear of.
    frame
        The working frame.
    """
    picture = shaded(assessed.ground, assessed.incident.display)
    return Terrain(
        picture=picture.url,
        bounds=picture.bounds,
        contour_m=picture.contour_m,
        heights=_heights(assessed.ground),
        summits=_summits(assessed, frame),
    )


def _heights(ground: records.Ground) -> Heights:
    frame = frame_of(ground.grid, HEIGHT_CELLS)
    blocks = frame.blocks(ground.grid)
    return Heights(
        rows=frame.rows,
        cols=frame.cols,
        bounds=frame.bounds,
        ground=_packed(highest(ground.ground, blocks)),
        top=_packed(highest(ground.top, blocks)),
    )


def _packed(height_m: F64) -> str:
    """Pack heights as `Heights` describes."""
    known = np.isfinite(height_m)
    decimetres = np.where(known, np.ceil(np.where(known, height_m, 0.0) * 10 - GRAIN), UNKNOWN_DM).astype("<i4")
    return base64.b64encode(zlib.compress(decimetres.tobytes(), 9)).decode("ascii")


def _summits(assessed: records.Assessed, frame: LocalFrame) -> tuple[Summit, ...]:
    """Find the highest places, well apart from each other and from what is drawn there already."""
    ground, grid = assessed.ground.ground, assessed.ground.grid
    step = max(1, max(ground.shape) // 300)
    coarse = np.where(np.isfinite(ground), ground, -np.inf)[::step, ::step].astype(np.float64)
    apart = max(2.0, max(coarse.shape) / 9)
    rows, cols = np.indices(coarse.shape)
    found: list[Summit] = []
    for x, y in _taken(assessed, frame):
        r, c = (grid.top_m - y) / grid.cell_m / step, (x - grid.left_m) / grid.cell_m / step
        coarse[np.hypot(rows - r, cols - c) < apart / 3] = -np.inf
    while len(found) < SUMMITS:
        r, c = (int(i) for i in np.unravel_index(int(np.argmax(coarse)), coarse.shape))
        if not np.isfinite(coarse[r, c]):
            break
        if 0 < r < coarse.shape[0] - 1 and 0 < c < coarse.shape[1] - 1:
            lon, lat = frame.to_lonlat(*grid.xy(r * step, c * step))
            found.append(Summit(lat=float(lat), lon=float(lon), elevation_m=float(coarse[r, c])))
        coarse[np.hypot(rows - r, cols - c) < apart] = -np.inf
    return tuple(found)


def _taken(assessed: records.Assessed, frame: LocalFrame) -> list[tuple[float, float]]:
    """Where signs and words stand already [m]."""
    at = [(site.point.x_m, site.point.y_m) for site in assessed.sites]
    at += [(o.geometry.x, o.geometry.y) for o in assessed.ground.obstacles if o.geometry.geom_type == "Point"]
    for place in (*assessed.incident.drops, assessed.incident.base):
        if place is not None and place.lat_deg is not None and place.lon_deg is not None:
            x, y = frame.to_xy(place.lon_deg, place.lat_deg)
            at.append((float(x), float(y)))
    return at
