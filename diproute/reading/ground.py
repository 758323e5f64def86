"""Elevation: several files as one mosaic on the working grid, in metres, with what is not known left unknown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from diproute.constants import DEEPEST_GROUND_M, FT_M, GEOID_MOST_M, HIGHEST_GROUND_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.grid import Box, Circle, centres
from diproute.reading.raster import (
    Clean,
    Raster,
    apply,
    box_in,
    cell_on_ground,
    check_size,
    lay_on,
    metres_per_unit,
    open_rasters,
)
from diproute.reading.vectors import lies_at
from diproute.records import F32, Finding, Grid, Layers
from diproute.wording import say

if TYPE_CHECKING:
    import numpy.typing as npt

_KEY: Final = "layers.elevation"
_NO_DATA_BY_HABIT: Final = (-9999.0, -32767.0, -32768.0)
_NO_DATA_ABOVE: Final = 1e6
_COMPASS: Final = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True, slots=True)
class Elevation:
    """The mosaic on the working grid."""

    ground: F32  # likeliest height of each cell's centre [m], NaN where not known
    highest: F32  # highest of every file cell that a cell touches [m], NaN where not known
    vertical_datum: str
    sources: tuple[str, ...]
    cautions: tuple[Finding, ...]


def open_tiles(layers: Layers, frame: LocalFrame, box: Box) -> tuple[tuple[Raster, ...], float]:
    """Open the elevation files that reach into a box.

    Parameters
    ----------
    layers
        The incident's layers.
    frame
        The working frame.
    box
        Left, bottom, right and top of what is looked at [m].

    Returns
    -------
    tiles : tuple of Raster
        Those that reach into the box, by file name.
    native_m : float
        Their finest cell on the ground [m].

    Raises
    ------
    LayerError
        No file given, one that cannot be read or has no reference system, or none that reaches into the box: where
        they lie, and where the search is.
    """
    if not layers.elevation:
        raise LayerError(f"{_KEY}: no elevation file; give at least one", where=_KEY)
    rasters = [raster for path in sorted(layers.elevation) for raster in open_rasters(path, frame, _KEY, layers.folder)]
    tiles = tuple(raster for raster in rasters if box_in(raster, frame, *box) is not None)
    if not tiles:
        lie = "; ".join(f"{raster.name} lies at {say(_lies_at(raster))}" for raster in rasters[:3])
        (west, east), (south, north) = frame.to_lonlat(np.array(box[::2]), np.array(box[1::2]))
        search = say(lies_at((west, south, east, north)))
        raise LayerError(f"{_KEY}: {lie}; the search is at {search}; give elevation that covers it", where=_KEY)
    check_size(tiles, frame, box)
    return tiles, min(cell_on_ground(tile, frame) for tile in tiles)


def read_elevation(tiles: Sequence[Raster], layers: Layers, frame: LocalFrame, grid: Grid) -> Elevation:
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

    Returns
    -------
    Elevation
        Float32 arrays of the grid's shape [m].

    Raises
    ------
    LayerError
        Heights whose unit is doubtful or said twice differently, and files in different vertical datums.
    """
    cautions: list[Finding] = []
    ground = np.full(grid.shape, np.nan, np.float32)
    highest = np.full(grid.shape, np.nan, np.float32)
    for tile in tiles:
        factor = _metres_per_unit(tile, layers)
        best, most = lay_on(tile, frame, grid, _cleaner(factor), best=True)
        tallest = float(np.fmax.reduce(most.ravel(), initial=-np.inf))
        if tallest > HIGHEST_GROUND_M.value:
            raise _doubtful(tile, factor, tallest)
        if factor is None:
            cautions.append(Finding.of("elevation-unit-assumed", file=tile.name))
        np.fmax(highest, most, out=highest)
        if best is not None:
            np.fmax(ground, best, out=ground)
    datum, said = _vertical_datum(tiles)
    return Elevation(ground, highest, datum, tuple(tile.name for tile in tiles), (*cautions, *said))


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
        raise _doubtful(tile, None, None)
    return wanted if said is None else said


def _doubtful(tile: Raster, factor: float | None, tallest: float | None) -> LayerError:
    why = "a map grid in feet" if tallest is None else f"heights up to {tallest:.0f}"
    if factor is None:
        wrong = f"{tile.name} does not say whether its heights are metres or feet, and has {why}"
    else:
        wrong = f"{tile.name} has {why} m, which is above any ground on earth"
    return LayerError(
        f'{_KEY}: {wrong}; write elevation_unit = "ft" or "m" under [layers], or correct the file',
        where="layers.elevation_unit",
    )


def _cleaner(factor: float | None) -> Clean:
    metres = 1.0 if factor is None else factor

    def clean(data: F32) -> F32:
        data[np.isin(data, np.array(_NO_DATA_BY_HABIT, np.float32)) | ~np.isfinite(data)] = np.nan
        if metres != 1.0:
            data *= np.float32(metres)
        data[(data < DEEPEST_GROUND_M.value) | (data > _NO_DATA_ABOVE)] = np.nan
        return data

    return clean


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
    corners = apply(raster.transform, np.array([0, width, 0, width]), np.array([0, 0, height, height]))
    lon, lat = Transformer.from_crs(raster.crs, "EPSG:4326", always_xy=True).transform(*corners)
    return lies_at((lon.min(), lat.min(), lon.max(), lat.max()))
