"""Trees: a raster of heights above ground, or woods as areas with a height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from diproute.constants import GAP_NEAR_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import attributes
from diproute.reading.cover import lay_all
from diproute.reading.grid import bounds_of, transform_of
from diproute.reading.kinds import is_raster
from diproute.reading.raster import check_size, metres_per_unit, open_rasters, own_cells
from diproute.reading.tiles import paste
from diproute.reading.vectors import Entry, read_features
from diproute.reading.voids import Standing, Verdict, canopy_unknown
from diproute.records import F32, Finding, Grid

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from diproute.reading.footprint import Source
    from diproute.reading.raster import Raster

_KEY: Final = "layers.canopy"
_HEIGHTS: Final = ("height", "canopy", "canopy_height", "tree_height", "est_height")
_REFUSED: Final[dict[Verdict, str]] = {
    "absolute-heights": "is higher than trees are: it holds heights above sea level, decimetres or per cent; "
    "give heights of the trees above the ground, in metres",
    "cover-share": "is nowhere as high as 1.5 m: it holds a share of cover; "
    "give heights of the trees above the ground, in metres",
}
_WOODS: Final = (("natural", "wood"), ("landuse", "forest"), ("natural", "scrub"), ("landuse", "orchard"))


@dataclass(frozen=True, slots=True)
class Canopy:
    """Height of the trees on the working grid."""

    height: F32  # (rows, cols) [m], 0 without trees, NaN where not known
    source: str
    cautions: tuple[Finding, ...]


def read_canopy(
    entry: Entry, frame: LocalFrame, grid: Grid, open_water: Sequence[Any], folder: Path | None = None
) -> Canopy:
    """Lay the trees onto the working grid; each cell as high as the tallest tree that it touches.

    Where a raster says nothing the height is not known, but for cells that lie wholly within mapped open water, where
    no tree stands (canopy maps commonly leave out the water). Outside mapped woods there are no trees.

    Parameters
    ----------
    entry
        The canopy layer.
    frame, grid
        Where to.
    open_water
        Polygons of mapped water in working x, y.
    folder
        The incident's folder, inside which a mosaic's files must lie.

    Returns
    -------
    Canopy
        Heights above ground [m].

    Raises
    ------
    LayerError
        A file that cannot be read, has no reference system, is in a unit that is not metres or feet, or holds something
        else than heights of trees.
    """
    if entry[1] is not None or not is_raster(entry[0], _KEY):
        return _from_areas(entry, frame, grid)
    height, verdict = _from_rasters(open_rasters(entry[0], frame, _KEY, folder), frame, grid)
    unknown = np.isnan(height)
    if unknown.any() and open_water:
        height[unknown & _within(open_water, grid)] = 0.0
    said = (Finding.of("canopy-no-trees", file=entry[0].name),) if verdict == "no-trees" else ()
    return Canopy(height, entry[0].name, said)


def taller_than(surface: F32, canopy: F32, cell_m: float) -> F32:
    """Give by how much a canopy stands taller than a surface model shows.

    The bare earth is not known; the lowest surface near by stands for it, which is no higher than where a gap in the
    trees is seen. So trees that the surface shows are not counted twice, and those that it does not show are kept.

    Parameters
    ----------
    surface
        Highest of the surface model in each cell [m], NaN where not known.
    canopy
        Height of the trees [m], NaN where not known: there the surface alone counts.
    cell_m
        Size of a cell [m].

    Returns
    -------
    ndarray of float32
        [m], 0 where the surface is the taller, or not known.
    """
    from scipy.ndimage import minimum_filter

    wide = 2 * max(1, round(GAP_NEAR_M.value / cell_m)) + 1
    lowest = minimum_filter(np.where(np.isnan(surface), np.float32(np.inf), surface), wide, mode="nearest")
    return np.asarray(np.fmax(lowest + np.nan_to_num(canopy) - surface, 0.0), dtype=np.float32)


def _from_rasters(rasters: Sequence[Raster], frame: LocalFrame, grid: Grid) -> tuple[F32, Verdict]:
    check_size(rasters, frame, grid)
    factors = [metres_per_unit(raster) if raster.unit else 1.0 for raster in rasters]
    standing = Standing()
    known: list[Source] = []
    for factor in dict.fromkeys(factors):
        alike = [raster for raster, metres in zip(rasters, factors, strict=True) if metres == factor]
        for numbers, source in own_cells(alike, frame, grid):
            mask, there = canopy_unknown(numbers, factor)
            standing += there
            numbers[mask] = np.nan
            numbers *= np.float32(factor)
            np.maximum(numbers, 0.0, out=numbers)
            known.append(source)
    if standing.verdict in _REFUSED:
        raise LayerError(f"{_KEY}: {rasters[0].name} {_REFUSED[standing.verdict]}", where=_KEY)
    return lay_all(paste(known, frame.lon_deg), frame, grid).highest, standing.verdict


def _within(areas: Sequence[Any], grid: Grid) -> Any:
    """Cells that lie wholly within some areas."""
    import shapely
    from rasterio.features import rasterize

    shape, transform = grid.shape, transform_of(grid)
    inside = rasterize([(area, 1) for area in areas], out_shape=shape, transform=transform, dtype="uint8")
    edges = [(edge, 1) for edge in shapely.boundary(np.asarray(areas, dtype=object)) if not edge.is_empty]
    touched = rasterize(edges, out_shape=shape, transform=transform, all_touched=True, dtype="uint8")
    return (inside == 1) & (touched == 0)


def _from_areas(entry: Entry, frame: LocalFrame, grid: Grid) -> Canopy:
    from rasterio.features import rasterize

    features, cautions = read_features(entry, frame, bounds_of(grid), _KEY)
    woods = [f for f in features if f.geometry.geom_type in ("Polygon", "MultiPolygon")]
    woods = [f for f in woods if not f.osm or any(attributes.word(f.tags, key) == value for key, value in _WOODS)]
    heights = [attributes.length_m(f.tags, *_HEIGHTS) for f in woods]
    height = np.zeros(grid.shape, np.float32)
    # lowest first, so that the tallest stays; woods of unknown height go over everything
    order = sorted(range(len(woods)), key=lambda i: (heights[i] is None, heights[i] or 0.0))
    shapes = [(woods[i].geometry, np.nan if heights[i] is None else heights[i]) for i in order]
    if shapes:
        rasterize(shapes, out=height, transform=transform_of(grid), all_touched=True)
    blank = sum(h is None for h in heights)
    if blank:
        cautions = (
            *cautions,
            Finding.of("tree-height-unknown", count=blank, of=len(woods), file=entry[0].name),
        )
    return Canopy(height, entry[0].name, cautions)
