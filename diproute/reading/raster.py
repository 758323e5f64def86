"""The one door for raster files: any GDAL raster, laid onto the working grid.

Two readings of one file are made: ``best``, the likeliest height at a cell's centre (bilinear, or the mean where the
grid is coarser than the file), and ``highest``, the highest of *all* file cells that the working cell touches, so that
no ridge, tree or mast falls between two cells. A working cell that touches a hole of the file is not known.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from diproute.constants import FT_M, US_SURVEY_FT_M
from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading.grid import transform_of
from diproute.records import F32, Grid

_STRIP_CELLS: Final = 24_000_000  # of a file read at once
_EXACT: Final = 0.02  # of a file cell: how far GDAL's warp may misplace a cell
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
    nodata: float | None
    scale: float
    offset: float
    unit: str
    ellipsoidal: bool  # heights above the ellipsoid, by a three-dimensional reference system

    @property
    def name(self) -> str:
        """File name for messages."""
        return self.path.name


def no_crs(name: str, key: str) -> LayerError:
    """Refuse a file that does not say where it lies."""
    return LayerError(f"{key}: {name} names no coordinate reference system; write it into the file", where=key)


def open_raster(path: Path, frame: LocalFrame, key: str) -> Raster:
    """Read what a raster file says of itself.

    Parameters
    ----------
    path
        The file.
    frame
        The working frame; a file whose longitudes count to 360 is turned to it.
    key
        The incident file's key, for messages.

    Raises
    ------
    LayerError
        A file that is not there, that GDAL does not read, or without a reference system or a place on the ground.
    """
    import rasterio
    from pyproj import CRS

    if not path.exists():
        raise LayerError(f"{key}: there is no file {path.name}; give its path relative to the incident file", where=key)
    try:
        with rasterio.open(path) as file:
            if file.crs is None:
                raise no_crs(path.name, key)
            crs = CRS.from_wkt(file.crs.to_wkt())
            parts = crs.sub_crs_list if crs.is_compound else [crs]
            vertical = parts[1] if len(parts) > 1 else None
            flat = parts[0].to_2d()
            transform = file.transform
            if flat.is_geographic:
                middle = transform.c + transform.a * file.width / 2
                turn = 360 * round((frame.lon_deg - middle) / 360)
                transform = _moved(transform, transform.c + turn, transform.f)
            return Raster(
                path,
                flat,
                vertical,
                transform,
                file.width,
                file.height,
                file.nodata,
                float(file.scales[0]),
                float(file.offsets[0]),
                (file.units[0] or "").strip(),
                len(parts) == 1 and len(crs.axis_info) == 3,
            )
    except rasterio.errors.RasterioIOError as error:
        raise LayerError(f"{key}: {path.name} is no raster file that GDAL reads: {error}", where=key) from error


def metres_per_unit(raster: Raster, key: str) -> float:
    """Metres in one unit of a file that names its unit; LayerError when it is no length."""
    metres = _METRES.get(raster.unit.lower())
    if metres is None:
        raise LayerError(
            f"{key}: {raster.name} is in {raster.unit!r}, wanted metres or feet; convert it", where=key, got=raster.unit
        )
    return metres


def box_in(raster: Raster, frame: LocalFrame, left: float, bottom: float, right: float, top: float) -> Any | None:
    """Window of a file's own rows and columns round a box of the working frame; None where they do not meet."""
    from pyproj import Transformer
    from rasterio.windows import Window

    x = np.concatenate([np.linspace(left, right, 21)] * 2 + [np.full(21, left), np.full(21, right)])
    y = np.concatenate([np.full(21, bottom), np.full(21, top)] + [np.linspace(bottom, top, 21)] * 2)
    east, north = Transformer.from_crs(frame.crs, raster.crs, always_xy=True).transform(x, y)
    col, row = apply(~raster.transform, east, north)
    if not (np.all(np.isfinite(col)) and np.all(np.isfinite(row))):
        return None
    c0, c1 = max(math.floor(col.min()) - 2, 0), min(math.ceil(col.max()) + 2, raster.width)
    r0, r1 = max(math.floor(row.min()) - 2, 0), min(math.ceil(row.max()) + 2, raster.height)
    return Window(c0, r0, c1 - c0, r1 - r0) if c0 < c1 and r0 < r1 else None


def apply(transform: Any, x: Any, y: Any) -> tuple[Any, Any]:
    """Put places through an affine transform, arrays or numbers."""
    return transform.a * x + transform.b * y + transform.c, transform.d * x + transform.e * y + transform.f


def _moved(transform: Any, left: float, top: float) -> Any:
    return type(transform)(transform.a, transform.b, left, transform.d, transform.e, top)


def cell_on_ground(raster: Raster, frame: LocalFrame) -> float:
    """Shorter side of a file's cell at the middle of the frame [m]."""
    from pyproj import Transformer

    there = Transformer.from_crs(frame.crs, raster.crs, always_xy=True)
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
    likeliest = np.full((grid.rows, grid.cols), np.nan, np.float32) if best else None
    highest = np.full((grid.rows, grid.cols), np.nan, np.float32)
    step = _strip_rows(raster, frame, grid)
    mean = grid.cell_m > _MEAN_FROM * cell_on_ground(raster, frame)
    for row in range(0, grid.rows, step):
        rows = slice(row, min(row + step, grid.rows))
        top = grid.top_m - rows.start * grid.cell_m
        window = box_in(raster, frame, grid.left_m, grid.top_m - rows.stop * grid.cell_m, grid.right_m, top)
        if window is None:
            continue
        data, transform = _read(raster, window, clean)
        place = _Place(transform, raster.crs, transform_of(grid, rows), frame.crs)
        place.warp(data, highest[rows], "max")
        if (holes := np.isnan(data)).any():
            touched = np.zeros(highest[rows].shape, np.float32)
            place.warp(holes.astype(np.float32), touched, "max")
            highest[rows][touched > 0] = np.nan
        if likeliest is not None:
            place.warp(data, likeliest[rows], "average" if mean else "bilinear")
            likeliest[rows][np.isnan(highest[rows])] = np.nan
    return likeliest, highest


def _strip_rows(raster: Raster, frame: LocalFrame, grid: Grid) -> int:
    per_cell = max(1.0, (grid.cell_m / cell_on_ground(raster, frame)) ** 2)
    return max(1, min(grid.rows, int(_STRIP_CELLS / (per_cell * grid.cols))))


def _read(raster: Raster, window: Any, clean: Clean) -> tuple[F32, Any]:
    import rasterio

    with rasterio.open(raster.path) as file:
        raw = file.read(1, window=window)
        known = file.read_masks(1, window=window) > 0
    data = raw.astype(np.float32)
    if raster.scale != 1.0 or raster.offset != 0.0:
        data = (data * raster.scale + raster.offset).astype(np.float32)
    data[~known] = np.nan
    left, top = apply(raster.transform, window.col_off, window.row_off)
    return clean(data), _moved(raster.transform, left, top)


@dataclass(frozen=True, slots=True)
class _Place:
    """From a file's window to a strip of the grid."""

    from_transform: Any
    from_crs: Any
    to_transform: Any
    to_crs: Any

    def warp(self, data: F32, into: F32, how: str) -> None:
        import rasterio
        from rasterio.warp import Resampling, reproject

        with rasterio.Env(GDAL_NUM_THREADS="2"):
            reproject(
                data,
                into,
                src_transform=self.from_transform,
                src_crs=self.from_crs.to_wkt(),
                dst_transform=self.to_transform,
                dst_crs=self.to_crs.to_wkt(),
                src_nodata=np.nan,
                dst_nodata=np.nan,
                resampling=Resampling[how],
                num_threads=2,
                tolerance=_EXACT,
            )
