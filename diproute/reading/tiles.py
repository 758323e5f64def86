"""Tiles of one grid as one raster, so that nothing is lost or bent at their seams, at ±180° neither."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from diproute.reading.footprint import Source
from diproute.reading.lattice import full_circle, starting_at, through, unwrap
from diproute.records import F32

_SAME: Final = 1e-9  # share by which cells of one grid may differ in size
_ASTRAY: Final = 0.01  # cells that two tiles of one grid may be off whole cells


@dataclass(frozen=True, slots=True)
class _Tile:
    source: Source
    row: int  # in the grid of the first tile
    col: int


def paste(sources: Sequence[Source], lon_deg: float) -> tuple[Source, ...]:
    """Put tiles of one grid together; what lies on a grid of its own stays.

    Where tiles overlap the higher one counts, and a hole in one takes what another has. What no tile covers, within
    the box round all of them, is not known.

    Parameters
    ----------
    sources
        Rasters in any order.
    lon_deg
        Longitude of the working frame's centre [deg]: tiles in degrees are counted on past ±180 round it.

    Returns
    -------
    tuple of Source
        One for each grid, by its first tile's place in `sources`.
    """
    grids: list[list[_Tile]] = []
    for source in (_unwrapped(source, lon_deg) for source in sources):
        for tiles in grids:
            place = _place(tiles[0].source, source)
            if place is not None:
                tiles.append(_Tile(source, *place))
                break
        else:
            grids.append([_Tile(source, 0, 0)])
    return tuple(tiles[0].source if len(tiles) == 1 else _pasted(tiles) for tiles in grids)


def _unwrapped(source: Source, lon_deg: float) -> Source:
    """Move a raster in degrees by whole turns, so that its middle is within half a turn of the frame."""
    circle = full_circle(source.crs)
    if not circle:
        return source
    middle, _ = through(source.transform, source.cols / 2, source.rows / 2)
    turn = float(unwrap(middle, lon_deg * circle / 360, circle)) - middle
    t = source.transform
    return replace(source, transform=type(t)(t.a, t.b, t.c + round(turn / circle) * circle, t.d, t.e, t.f))


def _place(first: Source, other: Source) -> tuple[int, int] | None:
    """Row and column of a raster's corner in the grid of another; None where it is not on that grid."""
    if first.posts != other.posts or first.crs != other.crs:
        return None
    a, b = first.transform, other.transform
    size = max(abs(a.a), abs(a.b), abs(a.d), abs(a.e))
    if max(abs(p - q) for p, q in ((a.a, b.a), (a.b, b.b), (a.d, b.d), (a.e, b.e))) > _SAME * size:
        return None
    col, row = through(~a, b.c, b.f)
    if abs(col - round(col)) > _ASTRAY or abs(row - round(row)) > _ASTRAY:
        return None
    return round(row), round(col)


def _pasted(tiles: Sequence[_Tile]) -> Source:
    first = tiles[0].source
    top, left = min(tile.row for tile in tiles), min(tile.col for tile in tiles)
    bottom = max(tile.row + tile.source.rows for tile in tiles)
    right = max(tile.col + tile.source.cols for tile in tiles)

    def read(rows: slice, cols: slice) -> F32:
        out = np.full((rows.stop - rows.start, cols.stop - cols.start), np.nan, np.float32)
        for tile in tiles:
            r, c = tile.row - top, tile.col - left  # of the tile's corner
            r0, r1 = max(rows.start, r), min(rows.stop, r + tile.source.rows)
            c0, c1 = max(cols.start, c), min(cols.stop, c + tile.source.cols)
            if r0 < r1 and c0 < c1:
                part = out[r0 - rows.start : r1 - rows.start, c0 - cols.start : c1 - cols.start]
                np.fmax(part, tile.source.read(slice(r0 - r, r1 - r), slice(c0 - c, c1 - c)), out=part)
        return out

    return replace(
        first,
        read=read,
        rows=bottom - top,
        cols=right - left,
        transform=starting_at(first.transform, left, top),
        name=", ".join(sorted(tile.source.name for tile in tiles)[:3]) + (", …" if len(tiles) > 3 else ""),
        block_rows=max(tile.source.block_rows for tile in tiles),
    )
