"""Broken areas mended, and those refused whose mending would take all day."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from diproute.reading.limits import MOST_CROSSINGS
from diproute.reading.refusals import refused

_MOST_PAIRS: Final = 400_000_000  # of edges, looked at in one area: some seconds
_BINS_AN_EDGE: Final = 40
_BINS_AT_LEAST: Final = 100_000


def repaired(shapes: Any, name: str, key: str) -> Any:
    """Give valid shapes for valid and broken ones.

    An area that crosses itself becomes what its rings enclose, holes stay holes. One that has no extent at all
    becomes a line or a point, so that an obstacle drawn so still stands.

    Parameters
    ----------
    shapes
        Array of shapely geometries.
    name, key
        The file and the incident file's key, for messages.

    Raises
    ------
    LayerError
        An area whose edge crosses itself over `limits.MOST_CROSSINGS` times.
    """
    import shapely

    broken = np.flatnonzero(~shapely.is_missing(shapes) & ~shapely.is_valid(shapes))
    if broken.size == 0:
        return shapes
    shapes = shapes.copy()
    for i in broken:
        if shapely.get_dimensions(shapes[i]) < 2:
            shapes[i] = shapely.make_valid(shapes[i])
            continue
        if crossings(shapes[i]) > MOST_CROSSINGS:
            raise refused(key, name, f"has an area whose edge crosses itself over {MOST_CROSSINGS} times; repair it")
        whole = shapely.make_valid(shapes[i], method="structure", keep_collapsed=False)
        shapes[i] = shapely.make_valid(shapes[i], method="structure", keep_collapsed=True) if whole.is_empty else whole
    return shapes


def crossings(shape: Any) -> int:
    """Count where the edges of an area cross each other.

    Over `limits.MOST_CROSSINGS` it stops, also where the edges are too long and too close to tell.
    """
    import shapely

    from diproute.reading.crossings_kernel import count, sort_into_bins

    rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(shape))]
    edges = np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings] or [np.empty((0, 4))])
    edges = np.ascontiguousarray(edges[np.isfinite(edges).all(axis=1)])
    if len(edges) < 4:
        return 0
    bins = sort_into_bins(edges, _BINS_AN_EDGE * len(edges) + _BINS_AT_LEAST)
    return MOST_CROSSINGS + 1 if bins is None else int(count(edges, bins, MOST_CROSSINGS, _MOST_PAIRS))
