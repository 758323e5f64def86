"""Raster files laid onto the working grid.

Two readings of one file are made: ``best``, the likeliest height at a cell's centre (bilinear, or the mean where the
grid is coarser than the file), and ``highest``, the highest of *all* file cells that the working cell touches, so that
no ridge, tree or mast falls between two cells. A working cell that touches a hole of the file is not known.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from diproute.constants import FT_M, US_SURVEY_FT_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import door
from diproute.reading.grid import transform_of
from diproute.reading.limits import MOST_CELLS
from diproute.reading.mosaic import Tile
from diproute.reading.refusals import no_crs, refused
from diproute.records import F32, Grid
from diproute.threads import threads

_BLOCK_CELLS: Final = 24_000_000  # of a file read at once
_BLOCK_M: Final = 4000.0  # a straight row this long strays from a parallel by under 1 m up to 70 degrees
_ASTRAY: Final = 0.5  # cells that a mosaic may put a file from where the file says it lies
_MOST_LATITUDE: Final = 91.0  # degrees, a half cell past the pole
_MEAN_FROM: Final = 1.5  # working cells larger than this many file cells take the mean, not bilinear

_METRES: Final[dict[str, float]] = {
    "m": 1.0, "metre": 1.0, "metres": 1.0, "meter": 1.0, "meters": 1.0, "dm": 0.1, "cm": 0.01, "ft": FT_M.value,
    "foot": FT_M.value, "feet": FT_M.value, "international foot": FT_M.value, "us survey foot": US_SURVEY_FT_M.value,
    "us survey feet": US_SURVEY_FT_M.value, "us_survey_foot": US_SURVEY_FT_M.value, "us-ft": US_SURVEY_FT_M.value,
    "ftus": US_SURVEY_FT_M.value, "foot_us": US_SURVEY_FT_M.value,
}  # fmt: skip

Clean = Callable[[F32], F32]


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
        The working frame; a file whose longitudes count to 360 is turned to it.
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
        transform = file.transform
        if flat.is_geographic:
            middle = transform.c + transform.a * file.width / 2
            turn = 360 * round((frame.lon_deg - middle) / 360)
            transform = _moved(transform, transform.c + turn, transform.f)
        found = Raster(
            tile.path,
            flat,
            vertical,
            transform,
            file.width,
            file.height,
            tile.unknown,
            float(file.scales[0]),
            float(file.offsets[0]),
            (file.units[0] or "").strip() or tile.unit,
            len(parts) == 1 and len(crs.axis_info) == 3,
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


def check_size(rasters: Sequence[Raster], frame: LocalFrame, box: tuple[float, float, float, float]) -> None:
    """Refuse a layer with more cells inside a box of the working frame than can be read.

    Parameters
    ----------
    rasters
        The files of one layer.
    frame
        The working frame.
    box
        Left, bottom, right and top of what is looked at [m].
    """
    windows = [window for raster in rasters if (window := box_in(raster, frame, *box)) is not None]
    cells = sum(int(window.width) * int(window.height) for window in windows)
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


def box_in(raster: Raster, frame: LocalFrame, left: float, bottom: float, right: float, top: float) -> Any | None:
    """Window of a file's own rows and columns round a box of the working frame; None where they do not meet."""
    from rasterio.windows import Window

    x = np.concatenate([np.linspace(left, right, 21)] * 2 + [np.full(21, left), np.full(21, right)])
    y = np.concatenate([np.full(21, bottom), np.full(21, top)] + [np.linspace(bottom, top, 21)] * 2)
    east, north = _between(frame.crs, raster.crs).transform(x, y)
    col, row = apply(~raster.transform, east, north)
    if not (np.all(np.isfinite(col)) and np.all(np.isfinite(row))):
        return None
    c0, c1 = max(math.floor(col.min()) - 2, 0), min(math.ceil(col.max()) + 2, raster.width)
    r0, r1 = max(math.floor(row.min()) - 2, 0), min(math.ceil(row.max()) + 2, raster.height)
    return Window(c0, r0, c1 - c0, r1 - r0) if c0 < c1 and r0 < r1 else None


@lru_cache(maxsize=8)
def _between(a: Any, b: Any) -> Any:
    from pyproj import Transformer

    return Transformer.from_crs(a, b, always_xy=True)


def apply(transform: Any, x: Any, y: Any) -> tuple[Any, Any]:
    """Put places through an affine transform, arrays or numbers."""
    return transform.a * x + transform.b * y + transform.c, transform.d * x + transform.e * y + transform.f


def _moved(transform: Any, left: float, top: float) -> Any:
    return type(transform)(transform.a, transform.b, left, transform.d, transform.e, top)


def cell_on_ground(raster: Raster, frame: LocalFrame) -> float:
    """Shorter side of a file's cell at the middle of the frame [m]."""
    there = _between(frame.crs, raster.crs)
    col, row = apply(~raster.transform, *there.transform(0.0, 0.0))
    corners = apply(raster.transform, col + np.array([0.0, 1.0, 0.0]), row + np.array([0.0, 0.0, 1.0]))
    x, y = there.transform(*corners, direction="INVERSE")
    return float(min(math.hypot(x[1] - x[0], y[1] - y[0]), math.hypot(x[2] - x[0], y[2] - y[0])))


def lay_on(raster: Raster, frame: LocalFrame, grid: Grid, clean: Clean, *, best: bool) -> tuple[F32 | None, F32]:
    """Lay a file onto the working grid.

    Parameters
    ----------
    raster
        The file.
    frame, grid
        Where to.
    clean
        Turns the file's float32 numbers into metres; NaN where not known.
    best
        Also make the likeliest reading.

    Returns
    -------
    best : ndarray or None
        Likeliest height at the cells' centres [m], float32, NaN where not known.
    highest : ndarray
        Highest of all file cells touched [m], float32, NaN outside the file and where a hole is touched.
    """
    likeliest = np.full(grid.shape, np.nan, np.float32) if best else None
    highest = np.full(grid.shape, np.nan, np.float32)
    native = cell_on_ground(raster, frame)
    mean = grid.cell_m > _MEAN_FROM * native
    warp = _Warp(raster.crs.to_wkt(), frame.crs.to_wkt())
    for rows, cols in _blocks(grid, native):
        left, top = grid.left_m + cols.start * grid.cell_m, grid.top_m - rows.start * grid.cell_m
        right, bottom = grid.left_m + cols.stop * grid.cell_m, grid.top_m - rows.stop * grid.cell_m
        window = box_in(raster, frame, left, bottom, right, top)
        if window is None:
            continue
        data, transform = _read(raster, window, clean)
        place = (transform, transform_of(grid, rows, cols), (rows.stop - rows.start, cols.stop - cols.start))
        most = warp(data, *place, "max")
        if (holes := np.isnan(data)).any():
            most[warp(holes.astype(np.float32), *place, "max") > 0] = np.nan
        if likeliest is not None:
            centre = warp(data, *place, "average" if mean else "bilinear")
            centre[np.isnan(most)] = np.nan
            likeliest[rows, cols] = centre
            np.maximum(most, centre, out=most)
        highest[rows, cols] = most
    return likeliest, highest


def _blocks(grid: Grid, native_m: float) -> Iterator[tuple[slice, slice]]:
    """Blocks to be laid at once: narrow, for GDAL takes a row of cells as straight in the file's own grid."""
    wide = max(1, min(grid.cols, round(_BLOCK_M / grid.cell_m)))
    per_cell = max(1.0, (grid.cell_m / native_m) ** 2)
    tall = max(1, min(grid.rows, int(_BLOCK_CELLS / (per_cell * wide))))
    for row in range(0, grid.rows, tall):
        for col in range(0, grid.cols, wide):
            yield slice(row, min(row + tall, grid.rows)), slice(col, min(col + wide, grid.cols))


def _read(raster: Raster, window: Any, clean: Clean) -> tuple[F32, Any]:
    with door.raster(raster.path, raster.key) as file:
        raw = file.read(1, window=window)
        known = file.read_masks(1, window=window) > 0
        if raster.unknown:
            known &= ~np.isin(raw, np.array(raster.unknown).astype(raw.dtype))
        data = raw.astype(np.float32)
    if raster.scale != 1.0 or raster.offset != 0.0:
        data = (data * raster.scale + raster.offset).astype(np.float32)
    data[~known] = np.nan
    left, top = apply(raster.transform, window.col_off, window.row_off)
    return clean(data), _moved(raster.transform, left, top)


@dataclass(frozen=True, slots=True)
class _Warp:
    """From a file's reference system to the working frame's, both as text."""

    from_crs: str
    to_crs: str

    def __call__(self, data: F32, transform: Any, to: Any, shape: tuple[int, int], how: str) -> F32:
        from rasterio.warp import Resampling, reproject

        into = np.full(shape, np.nan, np.float32)
        reproject(
            data, into, src_transform=transform, src_crs=self.from_crs, dst_transform=to, dst_crs=self.to_crs,
            src_nodata=np.nan, dst_nodata=np.nan, resampling=Resampling[how], num_threads=threads(),
        )  # fmt: skip
        return into
