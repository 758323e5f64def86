"""What the two doors for layers, the raster one and the vector one, refuse in the same words."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal

from diproute.errors import LayerError

Kind = Literal["raster", "vector"]
_WANTED: Final[dict[Kind, str]] = {
    "raster": "a raster of heights, such as a GeoTIFF",
    "vector": "shapes, such as a GeoPackage or GeoJSON with polygons, lines or points",
}
_CAME: Final[dict[Kind, str]] = {"raster": "a raster (cells)", "vector": "a vector file (shapes)"}


def check_there(path: Path, key: str) -> None:
    """Refuse a file that is not there."""
    if not path.exists():
        raise LayerError(f"{key}: there is no file {path.name}; give its path relative to the incident file", where=key)


def no_crs(name: str, key: str) -> LayerError:
    """Refuse a file that does not say where it lies."""
    return LayerError(f"{key}: {name} names no coordinate reference system; write it into the file", where=key)


def not_a(wanted: Kind, path: Path, key: str) -> LayerError:
    """Refuse a file that the door cannot open: one of the other kind, or one that GDAL does not read at all."""
    other: Kind = "vector" if wanted == "raster" else "raster"
    is_other = is_vector(path) if wanted == "raster" else is_raster(path)
    came = f"is {_CAME[other]}" if is_other else f"is no {wanted} file that GDAL reads"
    return LayerError(f"{key}: {path.name} {came}; give {_WANTED[wanted]}", where=key, got=path.name)


def damaged(name: str, key: str) -> LayerError:
    """Refuse a file that opens and cannot be read to its end."""
    return LayerError(f"{key}: {name} is damaged and cannot be read to its end; get it anew", where=key, got=name)


def is_raster(path: Path) -> bool:
    """Tell whether GDAL opens a file as a raster."""
    import rasterio

    try:
        with rasterio.open(path) as file:
            return bool(file.count > 0)
    except rasterio.errors.RasterioError:
        return False


def is_vector(path: Path) -> bool:
    """Tell whether GDAL opens a file as shapes."""
    import pyogrio

    try:
        return any(kind is not None for _, kind in pyogrio.list_layers(path))
    except pyogrio.errors.DataSourceError:
        return False
