"""The plan's shaded picture, laid into the sheet's projection: grey, light, hatched where the ground is not known."""

from __future__ import annotations

import base64
import contextlib
import math
import warnings
from collections.abc import Iterator
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.document.plan import Plan
from diproute.errors import PlanError
from diproute.physics.geodesy import beside
from diproute.writing.sheet.frame import SheetFrame

_PIXELS_MM: Final = 6.0
MOST_PIXELS: Final = 4_000_000  # of the plan's picture; ours have 1500 on a side
_FAINT: Final = 0.55  # of the picture's darkness
_STEP: Final = 4  # of grey: fine enough for the eye, and a small file
_HATCH: Final = 14  # pixels from line to line
_HATCH_GREY: Final = 150


def relief(plan: Plan, frame: SheetFrame) -> str:
    """Give the picture as the data URI of a PNG that fills the frame."""
    from scipy import ndimage

    bands = _bands(base64.b64decode(plan.terrain.picture.split(",", 1)[1]))
    grey = bands[:3].mean(axis=0) if len(bands) >= 3 else bands[0].astype(np.float64)
    alpha = bands[-1].astype(np.float64) if len(bands) in (2, 4) else np.full(grey.shape, 255.0)

    cols, rows = round(frame.width_mm * _PIXELS_MM), round(frame.height_mm * _PIXELS_MM)
    wide, high = frame.metres
    east = frame.west_m + (np.arange(cols) + 0.5) * wide / cols
    north = frame.north_m - (np.arange(rows) + 0.5) * high / rows
    lon, lat = frame.to_lonlat(*np.meshgrid(east, north))
    south, west, top, right = plan.terrain.bounds
    y = _northing(lat)
    row = (_northing(np.array(top)) - y) / (_northing(np.array(top)) - _northing(np.array(south))) * grey.shape[0] - 0.5
    col = (beside(lon, (west + right) / 2) - west) / (right - west) * grey.shape[1] - 0.5
    known = ndimage.map_coordinates(alpha, [row, col], order=0, cval=0.0) > 0
    drawn = ndimage.map_coordinates(grey, [row, col], order=1, mode="nearest")
    light = 255.0 - _FAINT * (255.0 - drawn)
    i, j = np.indices(light.shape)
    hatch = np.where((i + j) % _HATCH == 0, _HATCH_GREY, 255)
    whole = np.where(known, np.round(light / _STEP) * _STEP, hatch).clip(0, 255).astype(np.uint8)
    return f"data:image/png;base64,{base64.b64encode(_png(whole)).decode('ascii')}"


def _northing(lat_deg: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Web Mercator's northing in radians: ln tan(π/4 + φ/2)."""
    return np.log(np.tan(math.pi / 4 + np.radians(lat_deg) / 2))


def _bands(packed: bytes) -> npt.NDArray[np.uint8]:
    """Read the plan's picture, which may come from anybody: as WebP and as nothing else, and no larger than ours are.

    Raises
    ------
    PlanError
        It is no such picture.
    """
    from rasterio.errors import RasterioError
    from rasterio.io import MemoryFile

    try:
        with _unplaced(), MemoryFile(packed) as held, held.open(driver="WEBP") as picture:
            if picture.width * picture.height > MOST_PIXELS:
                size = f"{picture.width} × {picture.height} pixels"
                said = f"the plan's picture of the ground is too large: {size}; plan the incident again"
                raise PlanError(said, where="terrain.picture")
            return np.asarray(picture.read())
    except RasterioError as error:
        raise PlanError("the plan's picture of the ground cannot be read as WebP; plan the incident again",
                        where="terrain.picture") from error  # fmt: skip


def _png(grey: npt.NDArray[np.uint8]) -> bytes:
    from rasterio.io import MemoryFile

    rows, cols = grey.shape
    with _unplaced(), MemoryFile() as held:
        with held.open(driver="PNG", width=cols, height=rows, count=1, dtype="uint8", zlevel=6) as out:
            out.write(grey, 1)
        return bytes(held.read())


@contextlib.contextmanager
def _unplaced() -> Iterator[None]:
    """Pictures do not say where they lie: the sheet knows."""
    from rasterio.errors import NotGeoreferencedWarning

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        yield
