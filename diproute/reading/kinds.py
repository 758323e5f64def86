"""What a layer file is, by its first bytes: its name's ending never chooses what reads it.

Each kind is read by one driver of GDAL and no other, or by us: a VRT mosaic as a list of files, a zip by unpacking it.
What is read otherwise by GDAL and not here is named, with what to save it as.
"""

from __future__ import annotations

import mmap
import re
from pathlib import Path
from typing import Final

from diproute.errors import LayerError
from diproute.reading.drivers import RASTER, VECTOR
from diproute.reading.refusals import Wanted, no_kind, other_kind, refused, there, told

MOSAIC: Final = "VRT"  # a list of rasters, never opened by GDAL
ZIP: Final = "zip"  # one vector file, unpacked first
RASTERS: Final = RASTER | {MOSAIC}
VECTORS: Final = VECTOR | {ZIP}

_HEAD: Final = 4096
_PROLOG: Final = 65_536  # of XML: a DOCTYPE stands before the first element
_TIFF: Final = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_SHAPE: Final = b"\0\0\x27\x0a"
_SEQUENCES: Final = frozenset({".geojsonl", ".geojsons", ".jsonl", ".ndjson"})
_GEOJSON: Final = re.compile(
    rb'"type"\s*:\s*"(?:FeatureCollection|Feature|(?:Multi)?(?:Point|LineString|Polygon)|GeometryCollection)"'
)
_HGT: Final = re.compile(r"[NS]\d\d[EW]\d\d\d", re.IGNORECASE)
_HGT_POSTS: Final = (1201 * 1201, 3601 * 3601, 1801 * 3601, 7201 * 7201)
_ASCII_GRID: Final = re.compile(rb"(?:ncols|nrows|xllcorner|yllcorner|xllcenter|yllcenter)\s", re.IGNORECASE)
_USGS_COLUMN: Final = 150
_USGS_DEM: Final = re.compile(rb" {5}[14](?: {5}[0-3]| -9999)")
_DESCRIPTIONS: Final = (
    b"<MRF_META", b"<GDAL_WMS", b"<WMS_", b"<WMT_MS", b"<GDAL_WMTS", b"<WCS_GDAL", b"<OGRVRTDataSource",
    b"<OGRWFSDataSource", b"<OGCAPI", b"<GDALTileIndexDataset", b"<StacIt",
)  # fmt: skip
_NAMED: Final = (  # first bytes, what it is, and what to do
    (b"PAR1", "GeoParquet, which is not read; save it as GeoPackage (.gpkg)"),
    (b"CDF", "netCDF, which is not read; save it as GeoTIFF (.tif)"),
    (b"\x89HDF\r\n\x1a\n", "HDF5 or netCDF, which is not read; save it as GeoTIFF (.tif)"),
    (b"%PDF", "a PDF; save the layer as GeoTIFF or GeoPackage"),
    (b"\x1f\x8b", "packed with gzip; unpack it"),
    (b"\x89PNG", "a picture; save the heights as GeoTIFF (.tif)"),
    (b"\xff\xd8\xff", "a picture; save the heights as GeoTIFF (.tif)"),
    (b"\0\0\0\x0cjP", "JPEG 2000, which is not read; save it as GeoTIFF (.tif)"),
)


def kind_of(path: Path, key: str, wanted: Wanted) -> str:
    """Give the driver that may read a file, `MOSAIC` or `ZIP`.

    Parameters
    ----------
    path
        The file.
    key
        The incident file's key, for messages.
    wanted
        What it is to be, for messages.

    Raises
    ------
    LayerError
        No such file, an empty one, one of the other sort, or of no kind that is read.
    """
    real = there(path, key)
    with told(key, path.name):
        kind = _of_folder(real) if real.is_dir() else _of_file(real, path.name, key)
    if kind is None:
        raise no_kind(wanted, path.name, key)
    if kind not in (RASTERS if wanted == "raster" else VECTORS):
        raise other_kind(wanted, path.name, key)
    return kind


def is_raster(path: Path, key: str) -> bool:
    """Tell whether a file is a raster; False for anything else, what nobody reads among it."""
    try:
        return kind_of(path, key, "raster") in RASTERS
    except LayerError:
        return False


def _of_folder(real: Path) -> str | None:
    geodatabase = real.suffix.lower() == ".gdb" and (real / "a00000001.gdbtable").is_file()
    return "OpenFileGDB" if geodatabase else None


def _of_file(real: Path, name: str, key: str) -> str | None:
    if not real.is_file():
        raise refused(key, name, "is no plain file")
    if real.stat().st_size == 0:
        raise refused(key, name, "is empty (0 bytes); copy it again")
    with real.open("rb") as file:
        head = file.read(_HEAD)
    for mark, why in _NAMED:
        if head.startswith(mark):
            raise refused(key, name, f"is {why}")
    return _binary(real, head, name, key) or _text(real, head, name, key)


def _binary(real: Path, head: bytes, name: str, key: str) -> str | None:
    ending = real.suffix.lower()
    if head[:4] in _TIFF:
        return "GTiff"
    if head.startswith(b"EHFA_HEADER_TAG"):
        return "HFA"
    if head.startswith(b"SQLite format 3\0"):
        if head[68:72] in (b"GPKG", b"GP10", b"GP11") or ending == ".gpkg":
            return "GPKG"
        raise refused(key, name, "is an SQLite file and no GeoPackage; save it as GeoPackage (.gpkg)")
    if head.startswith(b"fgb\x03fgb"):
        return "FlatGeobuf"
    if head.startswith(_SHAPE):
        if ending == ".shp":
            return "ESRI Shapefile"
        raise refused(key, name, "is one part of a shapefile; give the .shp")
    if head.startswith(b"PK\x03\x04"):
        if ending == ".kmz":
            raise refused(key, name, "is a KMZ, which is not read; unpack it and give the .kml inside")
        return ZIP
    if head[4:15] == b"\x0a\x09OSMHeader":
        return "OSM"
    if head[:4] in (b"UHL1", b"HDR1", b"VOL1") and b"UHL1" in head:
        return "DTED"
    if ending == ".hgt" and _HGT.match(real.name) and real.stat().st_size in {2 * posts for posts in _HGT_POSTS}:
        return "SRTMHGT"
    return None


def _text(real: Path, head: bytes, name: str, key: str) -> str | None:
    text = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if text[:1] == b"<":
        return _xml(real, head, name, key)
    if any(mark in head for mark in _DESCRIPTIONS):
        raise refused(key, name, "describes data that lies elsewhere; give the data itself")
    if text[:1] in (b"{", b"\x1e"):
        return _json(real, text, name, key)
    if _ASCII_GRID.match(text):
        return "AAIGrid"
    if _USGS_DEM.match(head, _USGS_COLUMN):
        return "USGSDEM"
    return None


def _json(real: Path, text: bytes, name: str, key: str) -> str:
    if text[:1] == b"\x1e" or real.suffix.lower() in _SEQUENCES:
        return "GeoJSONSeq"
    if _GEOJSON.search(text) or _GEOJSON.search(_tail(real)):
        return "GeoJSON"
    raise refused(key, name, "is JSON and no GeoJSON; save it as GeoJSON or GeoPackage")


def _xml(real: Path, head: bytes, name: str, key: str) -> str:
    with real.open("rb") as file:
        prolog = file.read(_PROLOG)
    if re.search(rb"<!\s*(?:DOCTYPE|ENTITY)", prolog, re.IGNORECASE):
        raise refused(key, name, "is XML with a DOCTYPE, which is not read; save it again without")
    if any(mark in head for mark in _DESCRIPTIONS):
        raise refused(key, name, "describes data that lies elsewhere; give the data itself")
    if b"<VRTDataset" in head:
        return MOSAIC
    if re.search(rb"<(?:\w+:)?kml[\s>]", head):
        with real.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as whole:
            if re.search(rb"<(?:\w+:)?NetworkLink\b", whole):
                raise refused(key, name, "links to other files, which are not followed; save what they show in one")
        return "KML"
    if re.search(rb"<osm[\s>]", head):
        return "OSM"
    raise refused(key, name, "is XML of a kind that is not read (KML, OSM and VRT mosaics are); save it as GeoPackage")


def _tail(path: Path) -> bytes:
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - _HEAD))
        return file.read()
