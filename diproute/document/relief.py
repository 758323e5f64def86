"""The ground as a grey picture in web Mercator: light from the north-west, contours, holes where it is not known."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from diproute.document.mercator import Frame, frame_of
from diproute.physics.geodesy import LocalFrame
from diproute.records import F32, Display, Ground

MOST_PIXELS: Final = 1500
QUALITY: Final = 72
CONTOURS: Final[dict[Display, tuple[float, ...]]] = {
    "us": tuple(n * 0.3048 for n in (20, 50, 100, 200, 500, 1000)),
    "metric": (5, 10, 20, 50, 100, 200, 500),
}


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture and what belongs to it."""

    url: str  # data:image/webp
    bounds: tuple[float, float, float, float]  # south, west, north, east [deg]
    contour_m: float


def shaded(ground: Ground, display: Display) -> Picture:
    """Shade the ground.

    Parameters
    ----------
    ground
        The working grid. Cells that are NaN stay transparent.
    display
        Chooses round contour intervals in feet or metres.

    Returns
    -------
    Picture
        At most `MOST_PIXELS` a side.
    """
    frame = frame_of(ground.grid, MOST_PIXELS)
    metres = frame.pixel * math.cos(math.radians(ground.grid.lat_deg))  # a pixel on the ground
    height = _warp(ground, frame, "average" if metres > 1.5 * ground.grid.cell_m else "cubic_spline")
    known = np.isfinite(height)
    interval = _interval(height, display)
    down, right = (np.asarray(g, dtype=np.float32) for g in np.gradient(height))
    fall = np.maximum(np.hypot(down, right), np.float32(1e-6))
    grey = _shade(height, down / metres, right / metres) * (1 - 0.42 * _contours(height, fall, interval))
    grey = np.where(np.isfinite(grey), grey, 205.0)  # a known cell beside an unknown one has no slope
    band = np.where(known, np.clip(grey, 0, 255), 0).astype(np.uint8)
    alpha = np.where(known, 255, 0).astype(np.uint8)
    url = "data:image/webp;base64," + base64.b64encode(_encode(band, alpha)).decode("ascii")
    return Picture(url, frame.bounds, interval)


def _warp(ground: Ground, frame: Frame, how: str) -> F32:
    from affine import Affine
    from rasterio.crs import CRS
    from rasterio.enums import Resampling
    from rasterio.warp import reproject

    grid = ground.grid
    out = np.full((frame.rows, frame.cols), np.nan, dtype=np.float32)
    reproject(
        np.ascontiguousarray(ground.ground, dtype=np.float32),
        out,
        src_transform=Affine(grid.cell_m, 0, grid.left_m, 0, -grid.cell_m, grid.top_m),
        src_crs=CRS.from_wkt(LocalFrame(grid.lat_deg, grid.lon_deg).crs.to_wkt()),
        src_nodata=np.nan,
        dst_transform=Affine(frame.pixel, 0, frame.west, 0, -frame.pixel, frame.north),
        dst_crs=CRS.from_epsg(3857),
        dst_nodata=np.nan,
        resampling=Resampling[how],
    )
    return out


def _shade(height: F32, down: F32, right: F32) -> F32:
    """Light from four sides, the north-west strongest, so that no slope is lost in one shadow."""
    slope = np.hypot(down, right)
    steep = float(np.nanpercentile(slope, 90)) if np.isfinite(slope).any() else 0.0
    lift = np.float32(np.clip(0.55 / max(steep, 1e-6), 1.0, 3.0))
    down, right = down * lift, right * lift
    length = np.sqrt(1 + down**2 + right**2)
    light = np.zeros_like(slope)
    for azimuth, altitude, share in ((315, 45, 0.55), (270, 40, 0.15), (0, 40, 0.15), (225, 60, 0.15)):
        a, h = math.radians(azimuth), math.radians(altitude)
        east, north, up = math.sin(a) * math.cos(h), math.cos(a) * math.cos(h), math.sin(h)
        light += share * np.clip((up - right * east + down * north) / length, 0, 1)
    low, high = _span(height)
    grey: F32 = 128 + 142 * light**1.15 + 10 * (height - low) / max(high - low, 1.0)  # low ground a shade darker
    return grey


def _contours(height: F32, fall: F32, interval: float) -> F32:
    """Share of each pixel that a contour covers: fine lines, every fifth stronger; ``fall`` is metres a pixel."""
    ink = np.zeros_like(height)
    for step, width, strength in ((interval, 0.5, 0.55), (5 * interval, 0.8, 1.0)):
        off = np.abs(height - np.round(height / step) * step) / fall  # pixels to the nearest contour
        crowded = np.clip((step / fall - 3.0) / 4.0, 0, 1)  # fade where the lines would run together
        ink = np.maximum(ink, strength * crowded * np.clip(width + 0.5 - off, 0, 1))
    covered: F32 = np.where(np.isfinite(ink), ink, 0)
    return covered


def _span(height: F32) -> tuple[float, float]:
    known = height[np.isfinite(height)]
    return (float(known.min()), float(known.max())) if known.size else (0.0, 0.0)


def _interval(height: F32, display: Display) -> float:
    low, high = _span(height)
    return next((c for c in CONTOURS[display] if (high - low) / c <= 24), CONTOURS[display][-1])


def _encode(band: npt.NDArray[np.uint8], alpha: npt.NDArray[np.uint8]) -> bytes:
    import warnings

    from rasterio.errors import NotGeoreferencedWarning
    from rasterio.io import MemoryFile

    rows, cols = band.shape
    with warnings.catch_warnings(), MemoryFile() as memory:
        warnings.simplefilter("ignore", NotGeoreferencedWarning)  # a picture: the page knows where it lies
        with memory.open(driver="WEBP", width=cols, height=rows, count=4, dtype="uint8", QUALITY=QUALITY) as sink:
            sink.write(np.stack([band, band, band, alpha]))
        return bytes(memory.read())
