"""Which drivers of GDAL a command may have, and the settings that keep GDAL and PROJ off the network.

As a command the process is armed before GDAL is loaded: drivers that nobody needs are never registered, so that no
file, whatever it holds, can make them act. As a library in a process where GDAL already runs nothing of the host's is
changed, and the checks of `diproute.reading.door` stand alone (docs/security.md).
"""

from __future__ import annotations

import os
import sys
from typing import Final

from diproute.errors import LayerError

RASTER: Final = frozenset({"GTiff", "HFA", "AAIGrid", "SRTMHGT", "DTED", "USGSDEM"})
VECTOR: Final = frozenset(
    {"GPKG", "ESRI Shapefile", "GeoJSON", "GeoJSONSeq", "FlatGeobuf", "KML", "LIBKML", "OSM", "OpenFileGDB"}
)
INSIDE: Final = frozenset({"MEM", "Memory"})  # arrays in memory: rasters are drawn and laid with them
WRITTEN: Final = frozenset({"WEBP", "PNG", "GPX"})  # written and never read: the map's pictures, an exchange file
KEPT: Final = RASTER | VECTOR | INSIDE | WRITTEN

# every other driver that a build may bring, by GDAL's own name
LEFT_OUT: Final = (
    "ACE2", "ADBC", "ADRG", "AIG", "AIVector", "ARCGEN", "AVCBin", "AVCE00", "AVIF", "AirSAR", "AmigoCloud", "Arrow",
    "BAG", "BASISU", "BIGGIF", "BLX", "BMP", "BSB", "BT", "BYN", "CAD", "CALS", "COG", "CEOS", "COASP", "COSAR", "CPG",
    "CSV", "CSW", "CTG", "CTable2", "Carto", "Cloudant", "CouchDB", "DAAS", "DB2ODBC", "DDS", "DERIVED", "DGN", "DGNV8",
    "DIMAP", "DIPEx", "DOQ1", "DOQ2", "DWG", "DXF", "ECRGTOC", "ECW", "EDIGEO", "EEDA", "EEDAI", "EHdr", "EIR", "ELAS",
    "ENVI", "ERS", "ESAT", "ESRIC", "ESRIJSON", "EXR", "Elasticsearch", "FAST", "FITS", "FIT", "FileGDB", "GDALG",
    "GFF", "GIF", "GML", "GMLAS", "GMT", "GNMDatabase", "GNMFile", "GPSBabel", "GRASS", "GRASSASCIIGrid", "GRIB",
    "GS7BG", "GSAG", "GSBG", "GSC", "GTFS", "GTI", "GTX", "GXF", "GenBin", "GeoRSS", "GeoRaster", "Geoconcept",
    "Georaster", "HANA", "HDF4", "HDF4Image", "HDF5", "HDF5Image", "HEIF", "HF2", "HTTP", "IDB", "ILWIS", "INGRES",
    "IRIS", "ISCE", "ISG", "ISIS2", "ISIS3", "Idrisi", "Interlis 1", "Interlis 2", "JAXAPALSAR", "JDEM", "JML",
    "JP2ECW", "JP2KAK", "JP2Lura", "JP2MrSID", "JP2OpenJPEG", "JPEG", "JPEGXL", "JPIPKAK", "JSONFG", "KEA",
    "KMLSUPEROVERLAY", "KRO", "KTX2", "L1B", "LAN", "LCP", "LIBERTIFF", "LOSLAS", "LVBAG", "Leveller", "MAP", "MBTiles",
    "MFF", "MFF2", "MG4Lidar", "MRF", "MSGN", "MSSQLSpatial", "MVT", "MapInfo File", "MapML", "MiraMonRaster",
    "MiraMonVector", "MongoDB", "MongoDBv3", "MrSID", "MySQL", "NAS", "NDF", "NGSGEOID", "NGW", "NITF", "NOAA_B",
    "NSIDCbin", "NTv2", "NWT_GRC", "NWT_GRD", "OAPIF", "OCI", "ODBC", "ODS", "OGCAPI", "OGDI", "OGR_GMT", "OGR_OGDI",
    "OGR_PDS", "OGR_SDTS", "OGR_VRT", "OZI", "PAux", "PCIDSK", "PCRaster", "PDF", "PDS", "PDS4", "PGDUMP", "PGeo",
    "PLMOSAIC", "PLSCENES", "PMTiles", "PNM", "PRF", "Parquet", "PostGISRaster", "PostgreSQL", "R", "RCM", "RDB",
    "RIK", "RMF", "ROI_PAC", "RPFTOC", "RRASTER", "RS2", "RST", "Rasterlite", "S102", "S104", "S111", "S57", "SAFE",
    "SAGA", "SAR_CEOS", "SDE", "SDTS", "SENTINEL2", "SGI", "SIGDEM", "SNAP_TIFF", "SNODAS", "SOSI", "SQLite", "SRP",
    "STACIT", "STACTA", "SVG", "SXF", "Selafin", "TGA", "TIGER", "TIL", "TSX", "Terragen", "TileDB", "TopoJSON",
    "UK .NTF", "VDV", "VFK", "VICAR", "VRT", "WAsP", "WCS", "WFS", "WFS3", "WMS", "WMTS", "Walk", "XLS", "XLSX", "XPM",
    "XPlane", "XYZ", "ZMap", "Zarr", "netCDF",
)  # fmt: skip

SETTINGS: Final = {  # both builds of GDAL, and PROJ, read these from the environment
    "GDAL_SKIP": ",".join(LEFT_OUT),
    "CPL_LOG": os.devnull,  # names that a build lacks; errors reach us all the same
    "GDAL_DRIVER_PATH": "disable",
    "PROJ_NETWORK": "OFF",
    "CPL_VSIL_CURL_ALLOWED_FILENAME": "/vsicurl/none",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none-at-all",
    "GDAL_HTTP_PROXY": "127.0.0.1:9",  # nobody listens there
    "GDAL_HTTPS_PROXY": "127.0.0.1:9",
    "GDAL_HTTP_TIMEOUT": "1",
    "GDAL_HTTP_MAX_RETRY": "0",
    "CPL_ALLOW_VSISTDIN": "NO",
    "LIBKML_EXTERNAL_STYLE": "NO",
    "OGR_SQLITE_LOAD_EXTENSIONS": "NO",
    "OGR_SQLITE_PRAGMA": "",
    "OGR_GEOJSON_MAX_OBJ_SIZE": "64",  # MB
    "SHAPE_RESTORE_SHX": "NO",
    "GDAL_PAM_ENABLED": "YES",
    "GDAL_PAM_PROXY_DIR": "",
    "OSM_CONFIG_FILE": "",
}  # fmt: skip
LOADERS: Final = ("rasterio", "pyogrio", "osgeo", "fiona")  # each brings a GDAL, which reads GDAL_SKIP as it loads


def arm() -> bool:
    """Set this process's environment for a GDAL that is not loaded yet; False when one is, and nothing is changed."""
    if any(name in sys.modules for name in LOADERS):
        return False
    os.environ.update({name: value for name, value in SETTINGS.items() if value})
    for name in (name for name, value in SETTINGS.items() if not value):
        os.environ.pop(name, None)
    return True


def armed() -> bool:
    """Tell whether this process was armed."""
    return os.environ.get("GDAL_SKIP") == SETTINGS["GDAL_SKIP"]


def check_drivers() -> None:
    """Refuse to go on in an armed process whose GDAL brings a driver that is neither kept nor left out."""
    import pyogrio
    import rasterio

    with rasterio.Env() as environment:
        there = set(environment.drivers()) | set(pyogrio.list_drivers())
    if unknown := sorted(there - KEPT):
        raise LayerError(
            f"this GDAL brings drivers that diproute does not know: {', '.join(unknown)}; install the versions of "
            "rasterio and pyogrio that diproute was tried with (docs/security.md)",
            where="GDAL",
        )
