"""Small made-up layers, and an incident that names them."""

import warnings
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import rasterio
from affine import Affine

from diproute.physics.geodesy import LocalFrame
from diproute.reading.cover import lay_all
from diproute.reading.footprint import Laid
from diproute.reading.raster import Raster, own_cells
from diproute.records import Air, Base, Drop, Grid, Incident, Layers, Limits, Search, Weather, Wind

LAT, LON = 42.1, -160.05
FRAME = LocalFrame(LAT, LON)
TM = FRAME.crs.to_wkt()
WEATHER = Weather(Air(293.15, 0.0, 101_325.0), Wind((0.0,), (0.0,), (0.0,)), "made up")


def write_raster(
    path: Path,
    values: Any,
    left: float,
    top: float,
    cell: float | tuple[float, float],
    crs: str = TM,
    nodata: float | None = None,
    unit: str | None = None,
    scale: float = 1.0,
    offset: float = 0.0,
) -> Path:
    """A one-band GeoTIFF; `cell` is one size or width and height."""
    array = np.asarray(values)
    width, height = cell if isinstance(cell, tuple) else (cell, cell)
    profile = {
        "driver": "GTiff", "height": array.shape[0], "width": array.shape[1], "count": 1, "dtype": array.dtype,
        "crs": crs or None, "transform": Affine(width, 0, left, 0, -height, top), "nodata": nodata,
    }  # fmt: skip
    with rasterio.open(path, "w", **profile) as file:
        file.write(array, 1)
        if unit is not None:
            file.units = (unit,)
        file.scales, file.offsets = (scale,), (offset,)
    return path


def flat(path: Path, height: float = 100.0, half: float = 3000.0, cell: float = 10.0, **more: Any) -> Path:
    """Level ground round the drop, in metres."""
    n = round(2 * half / cell)
    return write_raster(path, np.full((n, n), height, np.float32), -half, half, cell, **{"unit": "m", **more})


def write_vector(path: Path, geometry: Sequence[Any], crs: Any = TM, layer: str | None = None, **columns: Any) -> Path:
    """A vector file by its ending; None as CRS writes one without."""
    table = geopandas.GeoDataFrame(columns, geometry=list(geometry), crs=crs)
    if path.suffix == ".geojson":  # RFC 7946: WGS 84
        table = table.to_crs("EPSG:4326")
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "'crs' was not provided")
        table.to_file(path, **({} if layer is None else {"layer": layer}))
    return path


def grid(half: float, cell: float) -> Grid:
    """A grid round the frame's centre."""
    n = round(2 * half / cell)
    return Grid(LAT, LON, -half, half, cell, n, n)


def incident(
    elevation: Path | Sequence[Path],
    water: Path | Sequence[Path] = (),
    *,
    drops: Sequence[Drop] = (Drop("Head", LAT, LON),),
    base: Base | None = None,
    radius: float = 1000.0,
    corridor: float = 300.0,
    **layers: Any,
) -> Incident:
    """An incident with what the layers' readers look at; the rest is left out."""

    def entries(paths: Path | Sequence[Path]) -> tuple[tuple[Path, str | None], ...]:
        return tuple((path, None) for path in ([paths] if isinstance(paths, Path) else paths))

    named = {key: entries(value) if key in ("obstacles", "avoid") else value for key, value in layers.items()}
    if isinstance(named.get("canopy"), Path):
        named["canopy"] = (named["canopy"], None)
    rasters = (elevation,) if isinstance(elevation, Path) else tuple(elevation)
    return Incident(
        title="made up", display="metric", when=datetime(2026, 8, 14, 15, tzinfo=UTC),
        layers=Layers(rasters, named.pop("elevation_is", "ground"), entries(water), **named),
        drops=tuple(drops), base=base, limits=Limits(corridor_length_m=corridor), search=Search(radius_m=radius),
        weather=WEATHER, helicopter=None, crew_kg=0.0, fuel=None, count=1, bucket=None, fill=None, lines=(),
    )  # type: ignore[arg-type]  # fmt: skip


def laid(rasters: Sequence[Raster], on: Grid, *, best: bool = False) -> Laid:
    """The files' own cells on a grid of the frame as they are, nothing looked at for holes."""
    return lay_all([source for _, source in own_cells(rasters, FRAME, on)], FRAME, on, best=best)
