"""Elevation: several files as one mosaic on the working grid, in metres, with what is not known left unknown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from diproute.constants import FT_M, GEOID_MOST_M, HIGHEST_GROUND_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.cover import burn, lay_all
from diproute.reading.footprint import Source
from diproute.reading.grid import Box, Circle, centres, grid_over
from diproute.reading.lattice import through
from diproute.reading.raster import (
    Raster,
    cell_on_ground,
    check_size,
    metres_per_unit,
    open_rasters,
    own_cells,
    reaches,
)
from diproute.reading.tiles import paste
from diproute.reading.vectors import lies_at
from diproute.reading.voids import SENTINELS, Bodies, Unknown, elevation_unknown
from diproute.records import F32, Finding, Grid, Layers
from diproute.wording import say

if TYPE_CHECKING:
    import numpy.typing as npt

_KEY: Final = "layers.elevation"
_FEET_AT_MOST: Final = 30_000.0  # the highest ground on earth is at 29 032 ft
_MANY: Final = 0.01  # share of the cells from which too great heights are the wrong unit and no slips
_JUDGED_CELLS: Final = 50_000_000  # of a file looked at for holes at once
_OVERLAP: Final = 256  # rows that two such parts share
_COMPASS: Final = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True, slots=True)
class Elevation:
    """The mosaic on the working grid."""

    ground: F32  # likeliest height of each cell's centre [m], NaN where not known
    highest: F32  # highest of every file cell that a cell touches [m], NaN where not known
    vertical_datum: str
    sources: tuple[str, ...]
    cautions: tuple[Finding, ...]


def open_tiles(layers: Layers, frame: LocalFrame, search: Box, box: Box) -> tuple[tuple[Raster, ...], float]:
    """Open the elevation files that reach into what is looked at.

    Parameters
    ----------
    layers
        The incident's layers.
    frame
        The working frame.
    search, box
        Left, bottom, right and top of the search, and of all that is looked at [m].

    Returns
    -------
    tiles : tuple of Raster
        Those that reach into the box, by file name.
    native_m : float
        Finest cell on the ground of those that reach into the search [m].

    Raises
    ------
    LayerError
        No file given, one that cannot be read or has no reference system, or none that reaches into the search: where
        they lie, and where the search is.
    """
    if not layers.elevation:
        raise LayerError(f"{_KEY}: no elevation file; give at least one", where=_KEY)
    rasters = [raster for path in sorted(layers.elevation) for raster in open_rasters(path, frame, _KEY, layers.folder)]
    near = [raster for raster in rasters if reaches(raster, frame, grid_over(frame, search))]
    if not near:
        lie = "; ".join(f"{raster.name} lies at {say(_lies_at(raster))}" for raster in rasters[:3])
        (west, east), (south, north) = frame.to_lonlat(np.array(search[::2]), np.array(search[1::2]))
        searched = say(lies_at((west, south, east, north)))
        raise LayerError(f"{_KEY}: {lie}; the search is at {searched}; give elevation that covers it", where=_KEY)
    whole = grid_over(frame, box)
    tiles = tuple(raster for raster in rasters if reaches(raster, frame, whole))
    check_size(tiles, frame, whole)
    return tiles, min(cell_on_ground(tile, frame) for tile in near)


def read_elevation(
    tiles: Sequence[Raster], layers: Layers, frame: LocalFrame, grid: Grid, waters: Sequence[Any] = ()
) -> Elevation:
    """Lay the elevation files onto the working grid as one mosaic.

    Where files overlap the higher one counts, in whatever order they come. Heights stay in the files' own vertical
    datum, which is named and never changed.

    Parameters
    ----------
    tiles
        The files, from `open_tiles`.
    layers
        The incident's layers: the unit when a file does not say it.
    frame, grid
        Where to.
    waters
        Polygons of all that is mapped as water, in working x, y; none: no water is mapped here.

    Returns
    -------
    Elevation
        Float32 arrays of the grid's shape [m].

    Raises
    ------
    LayerError
        Heights whose unit is doubtful or said twice differently, and files in different vertical datums.
    """
    factors = {tile: _metres_per_unit(tile, layers) for tile in tiles}
    cautions = [Finding.of("elevation-unit-assumed", file=t.name) for t in tiles if factors[t] is None]
    known: list[Source] = []
    holes = _Holes()
    for factor in dict.fromkeys(factors.values()):
        alike = [tile for tile in tiles if factors[tile] == factor]
        for numbers, source in own_cells(alike, frame, grid):
            _check_unit(numbers, factor, alike)
            metres = 1.0 if factor is None else factor
            cell_m = cell_on_ground(alike[0], frame)
            found = _judged(numbers, metres, cell_m, burn(waters, source, frame) if waters else None)
            holes.add(found, cell_m)
            known.append(source)
    laid = lay_all(paste(known, frame.lon_deg), frame, grid, best=True)
    assert laid.best is not None
    datum, said = _vertical_datum(tiles)
    names = tuple(tile.name for tile in tiles)
    return Elevation(laid.best, laid.highest, datum, names, (*cautions, *holes.told(), *said))


def coverage(known: npt.NDArray[np.bool_], grid: Grid, circles: Sequence[Circle], what: str) -> Finding | None:
    """Say which part of the search is not known.

    Parameters
    ----------
    known
        Cells that are known, of the grid's shape.
    grid
        The working grid.
    circles
        The search: x, y and radius [m] of each circle.
    what
        What is missing there: ``"elevation"``, ``"canopy height"``.

    Returns
    -------
    Finding or None
        The share and the directions; None when all of it is known.
    """
    if known.all():
        return None
    x, y = centres(grid, slice(0, grid.rows), slice(0, grid.cols))
    inside = np.zeros(known.shape, bool)
    for cx, cy, radius in circles:
        inside |= (x[None, :] - cx) ** 2 + (y[:, None] - cy) ** 2 <= radius**2
    total = np.count_nonzero(inside)
    missing = inside & ~known
    lost = np.count_nonzero(missing)
    if lost == 0:
        return None
    rows, cols = np.nonzero(missing)
    cx, cy = (float(np.mean([circle[i] for circle in circles])) for i in (0, 1))
    octant = np.round(np.arctan2(x[cols] - cx, y[rows] - cy) / (math.pi / 4)).astype(int) % 8
    count = np.bincount(octant, minlength=8)
    worst = [_COMPASS[i] for i in np.argsort(-count, kind="stable") if count[i] >= 0.2 * lost]
    towards, second, third = (*worst, None, None, None)[:3]
    share = float(lost / total)
    return Finding.of(
        "partly-covered", what=what, share=share, little=share < 0.01, towards=towards, second=second, third=third,
        all_round=not worst,
    )  # fmt: skip


def _metres_per_unit(tile: Raster, layers: Layers) -> float | None:
    """Metres in one unit of the file; None when nobody says and metres are assumed."""
    said: float | None = None
    if tile.unit:
        said = metres_per_unit(tile)
    elif tile.vertical is not None:
        said = float(tile.vertical.axis_info[0].unit_conversion_factor)
    wanted = None if layers.elevation_unit is None else {"m": 1.0, "ft": FT_M.value}[layers.elevation_unit]
    if said is not None and wanted is not None and abs(said / wanted - 1) > 1e-4:
        raise LayerError(
            f"{_KEY}: {tile.name} says that it is in {'metres' if said == 1 else 'feet'} and elevation_unit says "
            f"{layers.elevation_unit!r}; remove the key or correct the file",
            where="layers.elevation_unit",
        )
    if said is None and wanted is None and tile.crs.is_projected and tile.crs.axis_info[0].unit_conversion_factor < 0.5:
        raise _doubtful([tile], None, None)
    return wanted if said is None else said


def _doubtful(tiles: Sequence[Raster], factor: float | None, tallest: float | None) -> LayerError:
    name = ", ".join(tile.name for tile in tiles[:3])
    why = "a map grid in feet" if tallest is None else f"heights up to {tallest:.0f}"
    if factor is None:
        wrong = f"{name} does not say whether its heights are metres or feet, and has {why}"
    else:
        wrong = f"{name} has {why} m, which is above any ground on earth"
    return LayerError(
        f'{_KEY}: {wrong}; write elevation_unit = "ft" or "m" under [layers], or correct the file',
        where="layers.elevation_unit",
    )


def _check_unit(numbers: F32, factor: float | None, tiles: Sequence[Raster]) -> None:
    """Refuse heights that are above any ground, and so are feet taken for metres."""
    metres = 1.0 if factor is None else factor
    if not np.fmax.reduce(numbers, axis=None) * metres > HIGHEST_GROUND_M.value:
        return
    most, feet = np.float32(HIGHEST_GROUND_M.value / metres), np.float32(_FEET_AT_MOST / metres)
    high = (numbers > most) & (numbers <= feet)
    high[high] = ~np.isin(numbers[high], SENTINELS)
    least = 0 if factor is None else _MANY * np.count_nonzero(np.isfinite(numbers))
    if np.count_nonzero(high) > least:
        raise _doubtful(tiles, factor, float(numbers[high].max()) * metres)


def _judged(numbers: F32, metres: float, cell_m: float, water: Bodies | None) -> list[Unknown]:
    """Turn a file's numbers into metres in place, NaN where not known; what was found, by parts of what is large."""
    rows, cols = numbers.shape
    tall = max(_JUDGED_CELLS // cols, _OVERLAP)
    masks, found = [], []
    for first in range(0, rows, tall):
        start, stop = max(first - _OVERLAP, 0), min(first + tall + _OVERLAP, rows)
        part = slice(start, stop)
        told = elevation_unknown(numbers[part], metres, cell_m, None if water is None else water[part])
        found.append(told)
        masks.append(told.mask[first - start : min(first + tall, rows) - start])
    numbers *= np.float32(metres)
    for number, mask in enumerate(masks):
        numbers[number * tall : number * tall + len(mask)][mask] = np.nan
    return found


class _Holes:
    """What the elevation holds a number for and does not know."""

    def __init__(self) -> None:
        self.cells = 0
        self.area_m2 = 0.0
        self.flat: tuple[int, float] | None = None

    def add(self, found: Sequence[Unknown], cell_m: float) -> None:
        """Count what was found in some cells."""
        for part in found:
            cells = part.impossible + part.in_patches + part.smeared
            self.cells += cells
            self.area_m2 += cells * cell_m**2
            for patch in part.patches[:1]:
                self.flat = max(self.flat or (0, 0.0), (patch.cells, patch.value_m))

    def told(self) -> tuple[Finding, ...]:
        """Say it."""
        if not self.cells:
            return ()
        flat = None if self.flat is None else self.flat[1]
        return (Finding.of("elevation-holes", count=self.cells, area_m2=self.area_m2, flat_m=flat),)


def _vertical_datum(tiles: Sequence[Raster]) -> tuple[str, list[Finding]]:
    """Name of the vertical datum, or a refusal when the files differ."""
    names = {datum_of(tile) for tile in tiles}
    named = sorted(name for name in names if name is not None)
    if len(named) > 1:
        raise LayerError(
            f"{_KEY}: the files are in different vertical datums ({', '.join(named)}); bring them into one", where=_KEY
        )
    cautions = []
    if not named:
        cautions.append(Finding.of("vertical-datum-unknown", taken_as=None))
    elif None in names:
        cautions.append(Finding.of("vertical-datum-unknown", taken_as=named[0]))
    if named and any(tile.ellipsoidal for tile in tiles):
        cautions.append(Finding.of("heights-above-ellipsoid", datum=named[0], most_m=GEOID_MOST_M.value))
    return (named[0] if named else "not stated"), cautions


def datum_of(tile: Raster) -> str | None:
    """Name of a file's vertical datum; None when it does not say."""
    if tile.vertical is not None:
        name = str(tile.vertical.name)
        return name.split(" (")[0]
    return f"height above the ellipsoid of {tile.crs.name}" if tile.ellipsoidal else None


def _lies_at(raster: Raster) -> Finding:
    from pyproj import Transformer

    width, height = raster.width, raster.height
    corners = through(raster.transform, np.array([0, width, 0, width]), np.array([0, 0, height, height]))
    lon, lat = Transformer.from_crs(raster.crs, "EPSG:4326", always_xy=True).transform(*corners)
    return lies_at((lon.min(), lat.min(), lon.max(), lat.max()))
