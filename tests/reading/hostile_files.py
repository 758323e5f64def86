"""Layer files that lie, break or attack, made on the spot: what each would do is in its name.

Each file lies in a folder of its own, the incident's. `port` is where a listener waits on this machine, `secret` a file
outside every folder whose numbers or words must never come back.
"""

import json
import os
import sqlite3
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
import shapely
from layer_scene import flat, write_vector

SQUARE = shapely.box(-200, -200, 200, 200)
RING = [[-160.051, 42.099], [-160.049, 42.099], [-160.049, 42.101], [-160.051, 42.101], [-160.051, 42.099]]
WORD = "TheWordOfTheSecretFile"


@dataclass(frozen=True)
class Scene:
    """Where a hostile file is made."""

    folder: Path
    port: int
    secret: Path  # a GeoTIFF of 4321 m outside the folder

    @property
    def web(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def text(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def tif(self, name: str = "a.tif") -> Path:
        return flat(self.folder / name, half=200.0, cell=20.0)


Maker = Callable[[Scene], Path]


# --- rasters ----------------------------------------------------------------------------------------------------
def vrt(inside: str, name: str = "a.vrt", head: str = "", band: str = "") -> Maker:
    def make(at: Scene) -> Path:
        at.tif()
        filled = inside.replace("WEB", at.web).replace("SECRET", str(at.secret))
        return at.text(
            name,
            f'{head}<VRTDataset rasterXSize="20" rasterYSize="20"><GeoTransform>-200, 20, 0, 200, 0, -20</GeoTransform>'
            f'<VRTRasterBand dataType="Float32" band="1"{band}>{filled}</VRTRasterBand></VRTDataset>',
        )

    return make


BOX = 'xOff="0" yOff="0" xSize="20" ySize="20"'


def source(name: str, relative: int = 1, more: str = "", kind: str = "SimpleSource") -> str:
    return (
        f'<{kind}><SourceFilename relativeToVRT="{relative}">{name}</SourceFilename><SourceBand>1</SourceBand>'
        f"<SrcRect {BOX}/><DstRect {BOX}/>{more}</{kind}>"
    )


def linked_vrt(at: Scene) -> Path:
    (at.folder / "link.tif").symlink_to(at.secret)
    return vrt(source("link.tif"))(at)


def nested_vrt(at: Scene) -> Path:
    vrt(source("a.tif"), name="b.vrt")(at)
    return vrt(source("b.vrt"))(at)


def words(name: str, text: str) -> Maker:
    return lambda at: at.text(name, text.replace("WEB", at.web).replace("SECRET", str(at.secret)))


def raw(name: str, data: bytes) -> Maker:
    def make(at: Scene) -> Path:
        (at.folder / name).write_bytes(data)
        return at.folder / name

    return make


def beside(side: str, text: str, make: Maker | None = None) -> Maker:
    """A good raster with a bad file beside it."""

    def made(at: Scene) -> Path:
        path = make(at) if make else at.tif()
        at.text(side, text.replace("WEB", at.web).replace("SECRET", str(at.secret)))
        return path

    return made


def cut_short(at: Scene) -> Path:
    path = at.tif()
    path.write_bytes(path.read_bytes()[:900])
    return path


def tiff(*entries: tuple[int, int, int], next_at: int = 0) -> bytes:
    """A little-endian TIFF of one directory whose entries are tag, type and value."""
    body = b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in sorted(entries))
    return b"II*\0" + struct.pack("<IH", 8, len(entries)) + body + struct.pack("<I", next_at)


def huge(width: int, height: int) -> bytes:
    return tiff(
        (256, 4, width), (257, 4, height), (258, 3, 32), (259, 3, 1), (262, 3, 1), (273, 4, 8), (277, 3, 1),
        (278, 4, height), (279, 4, 4), (339, 3, 3),
    )  # fmt: skip


def spilt(at: Scene) -> Path:
    """An IMG whose numbers lie in a file that it names, turned to one outside."""
    path = at.folder / "aaaaaaaaaaaa.img"
    profile = {"driver": "HFA", "width": 20, "height": 20, "count": 1, "dtype": "float32", "crs": "EPSG:32604"}
    with rasterio.open(path, "w", transform=rasterio.Affine(20, 0, 1e6, 0, -20, 4e6), USE_SPILL="YES", **profile) as f:
        f.write(np.full((20, 20), 4321, np.float32), 1)
    data = path.read_bytes()
    assert b"aaaaaaaaaaaa.ige" in data
    (at.secret.parent / "secret-n.ige").write_bytes((at.folder / "aaaaaaaaaaaa.ige").read_bytes())
    path.write_bytes(data.replace(b"aaaaaaaaaaaa.ige", b"../secret-n.ige\0"))
    return path


def pipe(at: Scene) -> Path:
    os.mkfifo(at.folder / "a.tif")
    return at.folder / "a.tif"


def device(at: Scene) -> Path:
    (at.folder / "a.tif").symlink_to("/dev/zero")
    return at.folder / "a.tif"


def loop(at: Scene) -> Path:
    (at.folder / "a.tif").symlink_to("a.tif")
    return at.folder / "a.tif"


def named(name: str) -> Maker:
    return lambda at: at.folder / name.replace("WEB", at.web).replace("SECRET", str(at.secret))


def only_named(name: str) -> Maker:
    return lambda at: Path(name.replace("WEB", at.web).replace("SECRET", str(at.secret)))


def tile_package(at: Scene) -> Path:
    path = at.folder / "a.gpkg"
    with rasterio.open(
        path, "w", driver="GPKG", width=256, height=256, count=1, dtype="uint8", crs="EPSG:3857",
        transform=rasterio.Affine(10, 0, 0, 0, -10, 0),
    ) as file:  # fmt: skip
        file.write(np.full((256, 256), 9, np.uint8), 1)
    return path


# --- shapes -----------------------------------------------------------------------------------------------------
def geojson(crs: Any = None, key: str = "crs", *, late: bool = False, **properties: Any) -> str:
    feature = {"type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": [RING]}}
    member = f'"{key}": {json.dumps(crs)}'
    parts = ['"type": "FeatureCollection"', f'"features": [{json.dumps(feature)}]']
    if crs is not None:
        parts.insert(2 if late else 1, member)
    return "{" + ", ".join(parts) + "}"


LINK = {"type": "link", "properties": {"href": "WEB/crs.proj4", "type": "proj4"}}


def name_of(name: str) -> dict[str, Any]:
    return {"type": "name", "properties": {"name": name}}


def package(at: Scene, *statements: str) -> Path:
    path = write_vector(at.folder / "a.gpkg", [SQUARE], layer="lakes", kind=["lake"])
    with sqlite3.connect(path) as file:
        for statement in statements:
            file.execute(statement)
    file.close()
    return path


ENDLESS = "with recursive n(i) as (select 1 union all select i + 1 from n) select i as fid, null as geom from n"


def endless_view(at: Scene) -> Path:
    return package(
        at,
        f"create view endless as {ENDLESS}",
        "insert into gpkg_contents (table_name, data_type, identifier, srs_id) values ('endless','features','e',4326)",
        "insert into gpkg_geometry_columns values ('endless', 'geom', 'POLYGON', 4326, 0, 0)",
    )


def endless_contents(at: Scene) -> Path:
    return package(at, "alter table gpkg_contents rename to c", f"create view gpkg_contents as {ENDLESS}")


def foreign_table(at: Scene) -> Path:
    sql = f"create virtual table far using VirtualOGR('/vsicurl/{at.web}/a.geojson')"
    return package(
        at,
        "pragma writable_schema = on",
        f"insert into sqlite_master values ('table', 'far', 'far', 0, '{sql.replace(chr(39), chr(39) * 2)}')",
    )


def being_written(at: Scene) -> Path:
    path = package(at)
    path.with_name("a.gpkg-wal").write_bytes(b"7\x7f\x06\x82" + bytes(60))
    return path


def write_ahead(at: Scene) -> Path:
    return package(at, "pragma journal_mode = wal")


def shapefile(at: Scene) -> Path:
    return write_vector(at.folder / "a.shp", [SQUARE], kind=["lake"])


def without_index(at: Scene) -> Path:
    path = shapefile(at)
    path.with_suffix(".shx").unlink()
    return path


def linked_table(at: Scene) -> Path:
    path = shapefile(at)
    path.with_suffix(".dbf").unlink()
    path.with_suffix(".dbf").symlink_to(at.secret)
    return path


def zipped(*parts: tuple[str, bytes], attributes: int = 0, flags: int = 0, name: str = "a.zip") -> Maker:
    def make(at: Scene) -> Path:
        path = at.folder / name
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
            for inside, data in parts:
                info = zipfile.ZipInfo(inside)
                info.external_attr = attributes
                file.writestr(info, data.replace(b"WEB", at.web.encode()))
        if flags:
            data = bytearray(path.read_bytes())
            data[6] |= flags
            data[data.index(b"PK\x01\x02") + 8] |= flags
            path.write_bytes(data)
        return path

    return make


def lying_zip(at: Scene) -> Path:
    """It says 10 bytes and holds 50 MB."""
    path = zipped(("a.geojson", bytes(50_000_000)))(at)
    data = path.read_bytes().replace(struct.pack("<I", 50_000_000), struct.pack("<I", 10))
    path.write_bytes(data)
    return path


def large_zip(at: Scene) -> Path:
    path = zipped(("a.geojson", bytes(1000)))(at)
    path.write_bytes(path.read_bytes().replace(struct.pack("<I", 1000), struct.pack("<I", 4_000_000_000)))
    return path


def geodatabase(at: Scene) -> Path:
    folder = at.folder / "a.gdb"
    folder.mkdir()
    for name in ("a00000001.gdbtable", "a00000001.gdbtablx"):
        (folder / name).write_bytes(bytes(64))
    (folder / "a00000002.gdbtable").symlink_to(at.secret)
    return folder


def blob(raw_size: int, data: bytes) -> bytes:
    """An OSM PBF that holds more, packed, than it says."""

    def field(number: int, value: bytes | int) -> bytes:
        def varint(n: int) -> bytes:
            out = b""
            while n > 127:
                out, n = out + bytes([n & 127 | 128]), n >> 7
            return out + bytes([n])

        if isinstance(value, int):
            return varint(number << 3) + varint(value)
        return varint(number << 3 | 2) + varint(len(value)) + value

    packed = field(2, raw_size) + field(3, zlib.compress(data))
    head = field(1, b"OSMHeader") + field(3, len(packed))
    return struct.pack(">I", len(head)) + head + packed


def tangled(corners: int) -> str:
    """One area whose edge crosses itself again and again."""
    turn = np.arange(corners) * (np.pi * (1 - 1 / corners))
    points = np.column_stack([-160.05 + 0.001 * np.cos(turn), 42.1 + 0.001 * np.sin(turn)])
    ring = [*points.tolist(), points[0].tolist()]
    return json.dumps({"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}})


def marked(at: Scene) -> Path:
    folder = at.folder / "a!b"
    folder.mkdir()
    return package(at).replace(folder / "a.gpkg")


KML = '<?xml version="1.0"?>{}<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{}</Document></kml>'
PLACE = (
    "<Placemark><name>p</name>{}<Polygon><outerBoundaryIs><LinearRing><coordinates>"
    + " ".join(f"{x},{y}" for x, y in RING)
    + "</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
)
ENTITY = '<!DOCTYPE a [<!ENTITY e SYSTEM "WEB/e">]>'
LAUGHS = '<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
NETWORK_LINK = "<NetworkLink><Link><href>WEB/a.kml</href></Link></NetworkLink>"
ASC = "ncols {0}\nnrows {0}\nxllcorner 0\nyllcorner 0\ncellsize {1}\n1 2\n3 4\n"
FAR = "<Metadata><MDI key='OVERVIEW_FILE'>WEB/o</MDI></Metadata>"
FAR_VRT = "<VRTDataset><SourceFilename>WEB/a.tif</SourceFilename></VRTDataset>"
OGR_VRT = (
    '<OGRVRTDataSource><OGRVRTLayer name="a"><SrcDataSource>WEB/a.geojson</SrcDataSource></OGRVRTLayer>'
    "</OGRVRTDataSource>"
)
MRF = (
    '<MRF_META><CachedSource><Source>WEB/a.tif</Source></CachedSource><Raster><Size x="512" y="512"/>'
    "<DataFile>../written.bin</DataFile><IndexFile>../written.idx</IndexFile></Raster></MRF_META>"
)

RASTERS: dict[str, Maker] = {
    "an MRF that fetches and writes": words("a.tif", MRF),
    "an MRF by its own name": words("a.mrf", MRF),
    "a web map": words("a.tif", "<GDAL_WMS><Service name='WMS'><ServerUrl>WEB/wms</ServerUrl></Service></GDAL_WMS>"),
    "a web map's tiles": words("a.xml", "<GDAL_WMTS><GetCapabilitiesUrl>WEB/c</GetCapabilitiesUrl></GDAL_WMTS>"),
    "a web coverage": words("a.tif", "<WCS_GDAL><ServiceURL>WEB/wcs</ServiceURL></WCS_GDAL>"),
    "a catalogue": words("a.tif", '{"type": "FeatureCollection", "stac_version": "1.0.0", "features": []}'),
    "a tile index": words("a.tif", "<GDALTileIndexDataset><IndexDataset>WEB/i</IndexDataset></GDALTileIndexDataset>"),
    "a VRT of a web file": vrt(source("/vsicurl/WEB/a.tif", 0)),
    "a VRT of a web address": vrt(source("WEB/a.tif", 0)),
    "a VRT of a file elsewhere": vrt(source("SECRET", 0)),
    "a VRT that climbs out": vrt(source("../secret.tif")),
    "a VRT of a zip's inside": vrt(source("/vsizip/SECRET/a.tif", 0)),
    "a VRT of a link that leads out": linked_vrt,
    "a VRT of a VRT": nested_vrt,
    "a VRT of raw bytes": vrt(
        '<SourceFilename relativeToVRT="0">SECRET</SourceFilename><ImageOffset>0</ImageOffset>',
        band=' subClass="VRTRawRasterBand"',
    ),
    "a VRT of a program": vrt(
        "<PixelFunctionLanguage>Python</PixelFunctionLanguage><PixelFunctionCode>import os</PixelFunctionCode>",
        band=' subClass="VRTDerivedRasterBand"',
    ),
    "a VRT that filters": vrt(source("a.tif", kind="KernelFilteredSource")),
    "a VRT that scales": vrt(source("a.tif", kind="ComplexSource", more="<ScaleRatio>9</ScaleRatio>")),
    "a VRT that scales its band": vrt("<Scale>0.5</Scale>" + source("a.tif")),
    "a VRT that stretches": vrt(source("a.tif").replace(f"<DstRect {BOX}", f"<DstRect {BOX.replace('20', '9')}")),
    "a VRT that moves": vrt(source("a.tif").replace('<DstRect xOff="0"', '<DstRect xOff="7"')),
    "a VRT of a second band": vrt(source("a.tif").replace("<SourceBand>1", "<SourceBand>2")),
    "a VRT of a missing file": vrt(source("b.tif")),
    "a VRT of too many files": vrt(source("a.tif") * 2001),
    "a VRT of no file": vrt(""),
    "a VRT with an entity": vrt(source("a.tif"), head=ENTITY),
    "a VRT that laughs": vrt(source("a.tif"), head=LAUGHS),
    "a VRT in a TIFF's name": vrt(source("SECRET", 0), name="b.tif"),
    "a broken VRT": words("a.vrt", '<VRTDataset rasterXSize="2"><VRTRasterBand>'),
    "a VRT of numbers that are none": vrt("<NoDataValue>none</NoDataValue>" + source("a.tif")),
    "side file: an overview on the web": beside("a.tif.aux.xml", f"<PAMDataset>{FAR}</PAMDataset>"),
    "side file: an entity": beside("a.tif.aux.xml", ENTITY + "<PAMDataset/>"),
    "side file: an overview that is a VRT": beside("a.tif.ovr", FAR_VRT),
    "side file: a mask that is a VRT": beside("a.tif.msk", FAR_VRT),
    "netCDF": raw("a.tif", b"CDF\x01" + bytes(99)),
    "HDF5": raw("a.tif", b"\x89HDF\r\n\x1a\n" + bytes(99)),
    "a PDF": raw("a.tif", b"%PDF-1.7\n" + bytes(99)),
    "raw numbers with a heading beside": beside("a.hdr", "ENVI\nsamples = 9\nlines = 9\n", raw("a.bil", bytes(400))),
    "a TIFF cut short": cut_short,
    "a TIFF without numbers": raw("a.tif", b"II*\0\x08\0\0\0"),
    "a TIFF that leads back to itself": raw("a.tif", tiff((256, 4, 9), next_at=8)),
    "a TIFF of 2e9 x 2e9 cells": raw("a.tif", huge(2_000_000_000, 2_000_000_000)),
    "an IMG that keeps its numbers elsewhere": spilt,
    "an ASCII grid of 2e9 cells": words("a.asc", ASC.format(2_000_000_000, 1)),
    "an ASCII grid of no size": words("a.asc", ASC.format(2, "nan")),
    "a package of map tiles": tile_package,
    "a zip for a raster": zipped(("a.tif", b"II*\0")),
    "a pipe": pipe,
    "a device": device,
    "a link to itself": loop,
    "a folder": lambda at: at.folder,
    "an empty file": raw("a.tif", b""),
    "a web address": named("WEB/a.tif"),
    "a virtual path": only_named("/vsicurl/WEB/a.tif"),
    "a driver's name": named("GTIFF_RAW:SECRET"),
}  # fmt: skip

VECTORS: dict[str, Maker] = {
    "GeoJSON with a linked crs": words("a.geojson", geojson(LINK)),
    "GeoJSON with a linked crs, in capitals": words("a.geojson", geojson(LINK, "CRS")),
    "GeoJSON with a linked crs, escaped": words("a.geojson", geojson(LINK, "\\u0063rs")),
    "GeoJSON with a linked crs at its end": words("a.geojson", geojson(LINK, late=True)),
    "GeoJSON with a crs on the web": words("a.geojson", geojson(name_of("WEB/def/crs/EPSG/0/4326"))),
    "GeoJSON with a crs of a file": words("a.geojson", geojson(name_of("SECRET"))),
    "GeoJSON with a crs that is unknown": words("a.geojson", geojson(name_of("EPSG:999999"))),
    "GeoJSON with a crs of text": words("a.geojson", geojson("EPSG:4326")),
    "GeoJSON with two crs": words("a.geojson", geojson(LINK, late=True).replace("{", '{"crs": null, ', 1)),
    "a GeoJSON sequence with a crs": words("a.geojsonl", geojson(LINK) + "\n" + geojson(LINK) + "\n"),
    "GeoJSON nested without end": words("a.geojson", '{"type": "FeatureCollection", "features": ' + "[" * 200_000),
    "GeoJSON cut short": words("a.geojson", geojson()[:-40]),
    "an OGR VRT": words("a.vrt", OGR_VRT),
    "an OGR VRT in a GeoJSON's name": words("a.geojson", OGR_VRT),
    "a web feature service": words("a.gpkg", "<OGRWFSDataSource><URL>WEB/wfs</URL></OGRWFSDataSource>"),
    "GML with a schema on the web": words(
        "a.gml",
        '<?xml version="1.0"?><gml:FeatureCollection xmlns:gml="http://www.opengis.net/gml" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://a WEB/a.xsd"/>',
    ),
    "KML with an entity": words("a.kml", KML.format(ENTITY, PLACE.format(""))),
    "KML of links alone": words("a.kml", KML.format("", NETWORK_LINK)),
    "OSM with an entity": words("a.osm", ENTITY + '<osm version="0.6"><node id="1" lat="42.1" lon="-160.05"/></osm>'),
    "an OSM PBF that holds more than it says": raw("a.osm.pbf", blob(10, bytes(10_000_000))),
    "an OSM PBF cut short": raw("a.osm.pbf", blob(10, b"0123456789")[:30]),
    "a view that never ends": endless_view,
    "a table of contents that never ends": endless_contents,
    "a table of another file": foreign_table,
    "a package that another program writes": being_written,
    "a package that is none": raw("a.gpkg", b"SQLite format 3\0" + bytes(500)),
    "a shapefile without its index": without_index,
    "a shapefile whose table is another file": linked_table,
    "a shapefile's table alone": raw("a.shx", b"\0\0\x27\x0a" + bytes(96)),
    "a shapefile cut short": raw("a.shp", b"\0\0\x27\x0a" + bytes(20)),
    "a zip that leads out": zipped(("../../out.geojson", geojson().encode())),
    "a zip with a link": zipped(("a.geojson", b"/etc/hostname"), attributes=(stat.S_IFLNK | 0o777) << 16),
    "a zip with a password": zipped(("a.geojson", geojson().encode()), flags=1),
    "a zip that lies about its size": lying_zip,
    "a zip of 4 GB": large_zip,
    "a zip of too many files": zipped(*((f"{i}.txt", b"") for i in range(5001))),
    "a zip of two layers": zipped(("a.geojson", geojson().encode()), ("b.geojson", geojson().encode())),
    "a zip of an OGR VRT": zipped(("a.geojson", OGR_VRT.encode())),
    "a zip of a GeoJSON with a linked crs": zipped(("a.geojson", geojson(LINK).encode())),
    "a zip that is none": raw("a.zip", b"PK\x03\x04" + bytes(99)),
    "a KMZ": zipped(("doc.kml", KML.format("", "").encode()), name="a.kmz"),
    "a geodatabase with a link that leads out": geodatabase,
    "FlatGeobuf cut short": raw("a.fgb", b"fgb\x03fgb\x00" + bytes(20)),
    "GeoParquet": raw("a.parquet", b"PAR1" + bytes(99)),
    "TopoJSON": words("a.geojson", '{"type": "Topology", "objects": {}, "arcs": []}'),
    "a service's JSON": words("a.geojson", '{"geometryType": "esriGeometryPolygon", "features": [], "href": "WEB"}'),
    "a table with shapes as text": words("a.csv", f"id,WKT\n1,{SQUARE.wkt}\n"),
    "an area that crosses itself 45 000 times": words("a.geojson", tangled(301)),
    "a name with a mark": marked,
    "a web address of shapes": named("WEB/a.geojson"),
    "a packed web address": only_named("zip+WEB/a.zip"),
    "bytes that are nothing": raw("a.gpkg", bytes(range(256)) * 4),
}  # fmt: skip

# opened all the same, for what they name is not followed
OPENED: dict[str, Maker] = {
    "KML with a style on the web": words("a.kml", KML.format("", PLACE.format("<styleUrl>WEB/s.kml#a</styleUrl>"))),
    "GeoJSON with control characters": words("a.geojson", geojson(name="\x1b[31mred\x07\u202e")),
    "a package in write-ahead mode": write_ahead,
    "a zip of one GeoJSON": zipped(("in/a.geojson", geojson().encode())),
}
