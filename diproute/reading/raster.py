"""Raster files: what each says of itself, and its own cells within what is looked at."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from diproute.constants import FT_M, US_SURVEY_FT_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import door
from diproute.reading.footprint import Source, round_the_world
from diproute.reading.lattice import Placing, Window, between, grid_in_file, starting_at, through, windows
from diproute.reading.limits import MOST_CELLS
from diproute.reading.mosaic import Tile
from diproute.reading.refusals import no_crs, refused
from diproute.reading.tiles import paste
from diproute.reading.voids import SENTINELS
from diproute.records import F32, Grid

_READ_CELLS: Final = 25_000_000  # of a file decoded at once
_ASTRAY: Final = 0.5  # cells that a mosaic may put a file from where the file says it lies
_MOST_LATITUDE: Final = 91.0  # degrees, a half cell past the pole
_MARGIN: Final = 16  # cells beyond what is laid, so that a hole at its edge is seen as one

_METRES: Final[dict[str, float]] = {
    "m": 1.0, "metre": 1.0, "metres": 1.0, "meter": 1.0, "meters": 1.0, "dm": 0.1, "cm": 0.01, "ft": FT_M.value,
    "foot": FT_M.value, "feet": FT_M.value, "international foot": FT_M.value, "us survey foot": US_SURVEY_FT_M.value,
    "us survey feet": US_SURVEY_FT_M.value, "us_survey_foot": US_SURVEY_FT_M.value, "us-ft": US_SURVEY_FT_M.value,
    "ftus": US_SURVEY_FT_M.value, "foot_us": US_SURVEY_FT_M.value,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Raster:
    """What a raster file says of itself."""

    path: Path
    crs: Any  # horizontal pyproj.CRS
    vertical: Any | None  # vertical pyproj.CRS of a compound one
    transform: Any  # affine
    width: int
    height: int
    unknown: tuple[float, ...]  # numbers that stand for nothing by its mosaic, beside its own
    scale: float
    offset: float
    unit: str
    ellipsoidal: bool  # heights above the ellipsoid, by a three-dimensional reference system
    posts: bool  # heights at places, not of areas
    block_rows: int  # that are decoded together
    key: str  # the incident file's, for messages

    @property
    def name(self) -> str:
        """File name for messages."""
        return self.path.name


def open_rasters(path: Path, frame: LocalFrame, key: str, folder: Path | None = None) -> tuple[Raster, ...]:
    """Read what a raster file, or each file of a VRT mosaic, says of itself.

    Parameters
    ----------
    path
        The file or the mosaic.
    frame
        The working frame.
    key
        The incident file's key, for messages.
    folder
        The incident's folder, inside which a mosaic's files must lie; None: the mosaic's own.

    Raises
    ------
    LayerError
        A file that is not there, of no kind that is read, without a reference system or a place on the ground.
    """
    return tuple(_opened(tile, frame, key) for tile in door.tiles(path, folder, key))


def _opened(tile: Tile, frame: LocalFrame, key: str) -> Raster:
    from pyproj import CRS

    name = tile.path.name
    with door.raster(tile.path, key) as file:
        if file.crs is None:
            raise no_crs(name, key)
        crs = CRS.from_wkt(file.crs.to_wkt())
        parts = crs.sub_crs_list if crs.is_compound else [crs]
        vertical = parts[1] if len(parts) > 1 else None
        flat = parts[0].to_2d()
        _check_place(file, tile, flat, key)
        found = Raster(
            tile.path,
            flat,
            vertical,
            file.transform,
            file.width,
            file.height,
            tile.unknown,
            float(file.scales[0]),
            float(file.offsets[0]),
            (file.units[0] or "").strip() or tile.unit,
            len(parts) == 1 and len(crs.axis_info) == 3,
            file.tags().get("AREA_OR_POINT") == "Point",
            int(file.block_shapes[0][0]),
            key,
        )
        cell_on_ground(found, frame)  # a reference system of another world says so here
    return found


def _check_place(file: Any, tile: Tile, crs: Any, key: str) -> None:
    """Refuse a raster whose cells are no heights or lie nowhere."""
    t, name = file.transform, tile.path.name
    numbers = (t.a, t.b, t.c, t.d, t.e, t.f)
    whole = all(math.isfinite(number) for number in numbers)
    if not whole or t.a * t.e == t.b * t.d or t.is_identity:
        raise refused(key, name, "does not say where on the ground its cells lie; write its place into it")
    if file.width < 2 or file.height < 2:
        raise refused(key, name, f"has {file.width} x {file.height} cells; give a raster of at least 2 x 2")
    if not (file.dtypes[0].startswith(("int", "uint", "float"))):
        raise refused(key, name, f"holds numbers of the type {file.dtypes[0]}, which are no heights; save it anew")
    if not all(math.isfinite(number) for number in (file.scales[0], file.offsets[0])):
        raise refused(key, name, "has a scale or an offset that is no number; save it anew")
    if tile.left is not None and tile.top is not None:
        off = max(abs(tile.left - t.c) / abs(t.a or t.b), abs(tile.top - t.f) / abs(t.e or t.d))
        if off > _ASTRAY:
            raise refused(key, name, f"lies {off:.1f} cells from where its mosaic puts it; list the files themselves")
    if crs.is_geographic and max(abs(t.f), abs(t.f + t.e * file.height)) > _MOST_LATITUDE:
        raise refused(key, name, f"is said to be in degrees but reaches {t.f:.0f} north; name its reference system")


def reaches(raster: Raster, frame: LocalFrame, grid: Grid) -> bool:
    """Whether a file holds any of a grid."""
    return bool(_windows(source_of(raster), frame, grid))


def check_size(rasters: Sequence[Raster], frame: LocalFrame, grid: Grid) -> None:
    """Refuse a layer with more cells inside a grid than can be read.

    Parameters
    ----------
    rasters
        The files of one layer.
    frame, grid
        What is looked at.
    """
    cells = sum(
        (window.rows.stop - window.rows.start) * (window.cols.stop - window.cols.start)
        for raster in rasters
        for window in _windows(source_of(raster), frame, grid)
    )
    if cells > MOST_CELLS:
        raise LayerError(
            f"{rasters[0].key}: {cells / 1e6:.0f} million cells lie within what is looked at, at most "
            f"{MOST_CELLS / 1e6:.0f} million are read; give a coarser file or a smaller search",
            where=rasters[0].key,
        )


def metres_per_unit(raster: Raster) -> float:
    """Metres in one unit of a file that names its unit; LayerError when it is no length."""
    metres = _METRES.get(raster.unit.lower())
    if metres is None:
        raise LayerError(
            f"{raster.key}: {raster.name} is in {raster.unit!r}, wanted metres or feet; convert it",
            where=raster.key,
            got=raster.unit,
        )
    return metres


def cell_on_ground(raster: Raster, frame: LocalFrame) -> float:
    """Shorter side of a file's cell at the middle of the frame [m]."""
    there = between(frame.crs, raster.crs)
    col, row = through(~raster.transform, *there.transform(0.0, 0.0))
    corners = through(raster.transform, col + np.array([0.0, 1.0, 0.0]), row + np.array([0.0, 0.0, 1.0]))
    x, y = there.transform(*corners, direction="INVERSE")
    return float(min(math.hypot(x[1] - x[0], y[1] - y[0]), math.hypot(x[2] - x[0], y[2] - y[0])))


def source_of(raster: Raster) -> Source:
    """Give a file as what can be laid: numbers in the file's own unit, NaN where it says that it does not know."""

    def read(rows: slice, cols: slice) -> F32:
        return _read(raster, rows, cols)

    return Source(
        read,
        raster.height,
        raster.width,
        raster.transform,
        raster.crs,
        f"{raster.key}: {raster.name}",
        raster.block_rows,
        raster.posts,
    )


def own_cells(rasters: Iterable[Raster], frame: LocalFrame, grid: Grid) -> Iterator[tuple[F32, Source]]:
    """Read the files' own cells within a grid, those of one grid as one piece.

    Parameters
    ----------
    rasters
        Files in one unit.
    frame, grid
        What is looked at.

    Yields
    ------
    numbers : ndarray
        In the files' unit, NaN where they say that they do not know, or hold nothing.
    source : Source
        The same, to be laid; it follows what is changed in the numbers.
    """
    for whole in paste([source_of(raster) for raster in rasters], frame.lon_deg):
        source = round_the_world(whole)
        for window in _windows(source, frame, grid):
            rows, cols = _wider(window.rows, source.rows), _wider(window.cols, source.cols)
            numbers = _numbers(source, rows, cols)
            yield (
                numbers,
                _held(numbers, replace(source, transform=starting_at(source.transform, cols.start, rows.start))),
            )


def _held(numbers: F32, source: Source) -> Source:
    def read(rows: slice, cols: slice) -> F32:
        return numbers[rows, cols]

    return replace(source, read=read, rows=numbers.shape[0], cols=numbers.shape[1], block_rows=1)


def _windows(source: Source, frame: LocalFrame, grid: Grid) -> tuple[Window, ...]:
    placing = Placing.of(source.transform, source.crs, frame, grid, source.name)
    mesh = grid_in_file(placing, source.rows, source.cols)
    return () if mesh is None else tuple(windows(placing, mesh, source.rows, source.cols))


def _wider(part: slice, most: int) -> slice:
    return slice(max(part.start - _MARGIN, 0), min(part.stop + _MARGIN, most))


def _numbers(source: Source, rows: slice, cols: slice) -> F32:
    """Read a part in full strips, so that little more than the answer is held."""
    width = cols.stop - cols.start
    numbers = np.empty((rows.stop - rows.start, width), np.float32)
    tall = max(_READ_CELLS // (width * source.block_rows), 1) * source.block_rows
    first = rows.start
    while first < rows.stop:
        stop = min((first // tall + 1) * tall, rows.stop)
        numbers[first - rows.start : stop - rows.start] = source.read(slice(first, stop), cols)
        first = stop
    return numbers


def _read(raster: Raster, rows: slice, cols: slice) -> F32:
    from rasterio.windows import Window as Part

    part = Part(cols.start, rows.start, cols.stop - cols.start, rows.stop - rows.start)
    with door.raster(raster.path, raster.key) as file:
        raw = file.read(1, window=part)
        known = file.read_masks(1, window=part) > 0
    if raster.unknown:
        known &= ~np.isin(raw, np.array(raster.unknown).astype(raw.dtype))
    with np.errstate(over="ignore"):  # a number beyond float32 is no height
        data: F32 = raw.astype(np.float32)
    known &= ~np.isnan(data)  # a NaN that would raise its voice in arithmetic becomes a quiet one
    if raster.scale != 1.0 or raster.offset != 0.0:
        known &= ~np.isin(data, SENTINELS)  # no longer told from heights afterwards
        with np.errstate(all="ignore"):
            data = (data * raster.scale + raster.offset).astype(np.float32)
    data[~known] = np.nan
    return data
