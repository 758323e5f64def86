"""Lay a raster onto the working grid so that nothing in it is lost, in any rotation, ratio and reference system.

Every working cell holds the highest and the lowest of all the file's cells that touch it. A corner of a file's cell
is placed to within 0.0025 working cells, and a working cell is widened by 0.01, so that what counts as touched is
rather more than less. A working cell that touches one unknown cell of the file is unknown in all readings.

A file is read once, in full strips from north to south of its own rows; memory holds one strip and the answers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from diproute.errors import LayerError
from diproute.reading.footprint_kernel import Mesh, sample, scatter
from diproute.reading.lattice import Placing, Window, file_on_grid, full_circle, grid_in_file, starting_at, windows
from diproute.records import F32, Grid
from diproute.threads import pool, threads

if TYPE_CHECKING:
    from diproute.physics.geodesy import LocalFrame

_PAD: Final = 0.01  # working cells: the lattice's error and rounding, always outward
_EXACT: Final = 1e-7  # working cells: a lattice with less error has none, and a shared edge is no touch
_STRIP_CELLS: Final = 8_000_000  # of a file read at once
_STRIP_ROWS: Final = 64  # at least
_BANDS: Final = 4  # of the working grid for each thread
_SEAM: Final = 0.01  # cells that a round of the world may be off a whole number of them
_MEAN_FROM: Final = 1.5  # working cells larger than this many file cells take the mean of several points

Read = Callable[[slice, slice], F32]


@dataclass(frozen=True, slots=True)
class Source:
    """A raster, as it lies and as its rows are read.

    Attributes
    ----------
    read
        Gives rows and columns as float32 in metres, NaN where not known; each part is asked for once, from its top.
    rows, cols
        Size of the whole raster.
    transform
        Affine from column and row to x and y, a cell's corners at whole numbers.
    crs
        Horizontal pyproj.CRS.
    name
        For messages.
    block_rows
        Rows that are decoded together; strips end at whole blocks.
    posts
        The numbers are heights at the middles of the cells and say nothing of the cells' areas: the highest is then
        also that of the four posts round every place.
    """

    read: Read
    rows: int
    cols: int
    transform: Any
    crs: Any
    name: str = "the raster"
    block_rows: int = 1
    posts: bool = False


class Laid(NamedTuple):
    """A raster on the working grid [m], (rows, cols) float32 each, NaN off the raster and where a hole is touched."""

    highest: F32
    lowest: F32 | None
    best: F32 | None  # likeliest; also NaN in a cell that meets the raster but has its middle off it


def lay(source: Source, frame: LocalFrame, grid: Grid, *, best: bool = False, lowest: bool = True) -> Laid:
    """Lay a raster onto the working grid.

    Parameters
    ----------
    source
        The raster.
    frame, grid
        Where to.
    best
        Whether to make the likeliest reading: bilinear between the cells' middles, at the middle of a working cell,
        or the mean of several such points where the grid is coarser than the raster.
    lowest
        Whether to make the lowest reading; the highest is always made.

    Returns
    -------
    Laid
        ``lowest <= best <= highest`` wherever they are known. A cell that lies partly off the raster takes what is
        there.

    Raises
    ------
    LayerError
        A raster whose cells have no place on the ground, or whose projection is torn inside the grid.
    """
    source = round_the_world(source)
    placing = Placing.of(source.transform, source.crs, frame, grid, source.name)
    top = np.full(grid.shape, -np.inf, np.float32)
    low = np.full(grid.shape if lowest else (0, 0), np.inf, np.float32)
    points = np.zeros((*(grid.shape if best else (0, 0)), 2), np.float32)
    mesh = grid_in_file(placing, source.rows, source.cols)
    if mesh is not None:
        with pool() as workers:
            for window in windows(placing, mesh, source.rows, source.cols):
                turned = placing.turned(mesh, window.turn)
                for strip in _strips(source, window):
                    _scatter(strip, source.posts, placing, workers, (top, low))
                    if best:
                        _sample(strip, turned, workers, points)
    np.copyto(top, np.nan, where=np.isneginf(top))
    np.copyto(low, np.nan, where=np.isposinf(low))
    if best:
        with np.errstate(invalid="ignore"):
            middle = points[..., 0] / points[..., 1]
        np.copyto(middle, np.nan, where=np.isnan(top))
        np.fmax(top, middle, out=top)
        if lowest:
            np.fmin(low, middle, out=low)
    return Laid(top, low if lowest else None, middle if best else None)


class _Strip(NamedTuple):
    """Some rows of a window."""

    data: F32
    start: int  # the file's row that the data begin with
    above: int  # 1 where the first row of the data was the last of the strip before
    window: Window


def _strips(source: Source, window: Window) -> Iterator[_Strip]:
    first, last = window.rows.start, window.rows.stop
    block = max(source.block_rows, 1)
    tall = max(_STRIP_ROWS, _STRIP_CELLS // (window.cols.stop - window.cols.start))
    tall = max(tall // block, 1) * block
    above = np.empty((0, window.cols.stop - window.cols.start), np.float32)
    while first < last:
        stop = min((first // tall + 1) * tall, last)
        fresh = np.asarray(source.read(slice(first, stop), window.cols), dtype=np.float32)
        if fresh.shape != (stop - first, above.shape[1]):  # the kernels trust it
            raise LayerError(f"{source.name} gave {fresh.shape} cells for {(stop - first, above.shape[1])}")
        yield _Strip(np.concatenate([above, fresh]), first - len(above), len(above), window)
        above, first = fresh[-1:].copy(), stop


def _scatter(
    strip: _Strip, posts: bool, placing: Placing, pool: ThreadPoolExecutor, into: tuple[F32, F32]
) -> None:  # fmt: skip
    """Put a strip's cells into the working cells; of posts, the patches between them as well."""
    data, start, above, window = strip
    fresh = data[above:]
    rows = slice(start + above, start + len(data))
    _put(fresh, fresh, placing, window._replace(rows=rows), pool, into)
    if posts and min(data.shape) > 1:
        half = replace(placing, transform=starting_at(placing.transform, 0.5, 0.5))
        cols = slice(window.cols.start, window.cols.stop - 1)
        four = (data[:-1, :-1], data[:-1, 1:], data[1:, :-1], data[1:, 1:])
        high, deep = (of(of(four[0], four[1]), of(four[2], four[3])) for of in (np.maximum, np.minimum))
        _put(high, deep, half, Window(slice(start, start + len(high)), cols, window.turn), pool, into)


def _put(
    high: F32, deep: F32, placing: Placing, window: Window, pool: ThreadPoolExecutor, into: tuple[F32, F32]
) -> None:  # fmt: skip
    mesh, split, error = file_on_grid(placing, window)
    if split > 1:
        high, deep = (np.repeat(np.repeat(data, split, axis=0), split, axis=1) for data in (high, deep))
    pad = _PAD if error > _EXACT else -_EXACT
    bands = _bands(float(mesh.y.min()), float(mesh.y.max()), placing.grid.rows)
    list(pool.map(lambda band: scatter(high, deep, mesh, pad, band, *into), bands))


def _sample(strip: _Strip, mesh: Mesh, pool: ThreadPoolExecutor, points: F32) -> None:
    rows = (strip.start, strip.window.rows.start, strip.window.rows.stop - 1)
    rate = max(float(np.abs(np.diff(v, axis=k)).max()) for v in (mesh.x, mesh.y) for k in (0, 1))
    rate /= float(mesh.at_row[1] - mesh.at_row[0])
    fine = math.ceil(rate) if rate > _MEAN_FROM else 1
    mesh = mesh._replace(x=mesh.x - strip.window.cols.start)
    bands = _bands(0.0, float(len(points)), len(points))
    list(pool.map(lambda band: sample(strip.data, rows, mesh, band, fine, points), bands))


def _bands(low: float, high: float, rows: int) -> list[tuple[int, int]]:
    """Bands of working rows between two places, some for each thread."""
    first, last = max(math.floor(low) - 1, 0), min(math.ceil(high) + 1, rows)
    edges = np.linspace(first, max(first, last), _BANDS * threads() + 1).astype(int)
    return [(int(a), int(b)) for a, b in pairwise(edges) if a < b]


def round_the_world(source: Source) -> Source:
    """Give a raster in degrees that goes round the world three times round, so that it has no seam."""
    t, circle = source.transform, full_circle(source.crs)
    if not circle or t.b or t.d or not t.a:
        return source
    round_ = round(circle / abs(t.a))
    if source.cols < round_ or abs(circle / abs(t.a) - round_) > _SEAM:
        return source

    def read(rows: slice, cols: slice) -> F32:
        parts = []
        for turn in range(3):
            first, last = max(cols.start - turn * round_, 0), min(cols.stop - turn * round_, round_)
            if first < last:
                parts.append(source.read(rows, slice(first, last)))
        return np.concatenate(parts, axis=1)

    return replace(source, read=read, cols=3 * round_, transform=starting_at(t, -round_, 0))
