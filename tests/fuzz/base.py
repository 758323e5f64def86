"""The good inputs that are spoilt: a small incident, and one for each way to give a layer or the weather."""

import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from importlib.resources import files

import pyogrio
import rasterio.shutil
import shapely
from layer_scene import LAT, LON, write_vector
from small_incident import INCIDENT, Water, disc, place, write_layers, write_toml
from spoil import spoil_bytes, spoil_json, spoil_text

LAKE = Water("Long Lake", disc(700, 0, 300))
METAR = "METAR PAAA 150053Z 27008KT 10SM CLR 30/08 A2992 RMK AO2 T03000080"
TAF = "TAF PAAA 142330Z 1500/1524 27008KT P6SM SKC TX31/1501Z TN12/1514Z FM150600 30012G20KT P6SM SKC"
VALUES = {f"weather.{key}": None for key in ("temperature", "measured_at", "qnh", "wind")}
TOWERS = (
    "CURRENCY DATE = 06/27/26\n" + "-" * 120 + "\n"
    "01-001307 O US AL DAUPHIN ISLAND   42 06 00.00N 160 03 00.00W RIG                1 00236 00236 R 5 D U "
    "1993ASO01362OE C 1994091\n"
)
HOURS = """\
time,temperature_degC,qnh_hPa,wind_from_deg,wind_kt,gust_kt
2026-08-14T14:00-10:00,30,1013,270,8,
2026-08-14T16:00-10:00,31,1012,280,9,15
"""


@dataclass(frozen=True)
class Kind:
    """One kind of input: the incident that uses it, the files that may be spoilt, and how."""

    changes: dict[str, Any]
    files: tuple[str, ...]
    spoil: Callable[..., bytes]
    verb: str = "plan"


KINDS = {
    "incident": Kind({}, ("incident.toml",), spoil_text),
    "helicopter": Kind({"helicopter.file": "heli.toml", "helicopter.name": None}, ("heli.toml",), spoil_text),
    "bucket": Kind({"bucket.file": "bucket.toml", "bucket.name": None}, ("bucket.toml",), spoil_text),
    "metar": Kind(
        {**VALUES, "weather.metar": METAR, "weather.station_elevation": "600 m"},
        ("incident.toml",),
        spoil_text,
    ),
    "taf": Kind(
        {**VALUES, "weather.metar": METAR, "weather.taf": TAF, "weather.station_elevation": "600 m"},
        ("incident.toml",),
        spoil_text,
    ),
    "hourly": Kind(
        {**VALUES, "weather.hourly": "hours.csv", "weather.measured_at": "600 m"},
        ("hours.csv",),
        spoil_text,
    ),
    "elevation": Kind({}, ("elevation.tif",), spoil_bytes),
    "canopy": Kind({}, ("canopy.tif",), spoil_bytes),
    "ascii grid": Kind({"layers.elevation": ["a.asc"]}, ("a.asc", "a.prj"), spoil_text),
    "img": Kind({"layers.elevation": ["a.img"]}, ("a.img",), spoil_bytes),
    "mosaic": Kind({"layers.elevation": ["a.vrt"]}, ("a.vrt",), spoil_text),
    "geojson": Kind({"layers.water": ["a.geojson"]}, ("a.geojson",), spoil_json),
    "package": Kind({}, ("water.gpkg",), spoil_bytes),
    "shapefile": Kind({"layers.water": ["a.shp"]}, ("a.shp", "a.shx", "a.dbf", "a.prj", "a.cpg"), spoil_bytes),
    "flatgeobuf": Kind({"layers.water": ["a.fgb"]}, ("a.fgb",), spoil_bytes),
    "kml": Kind({"layers.water": ["a.kml"]}, ("a.kml",), spoil_text),
    "zip": Kind({"layers.water": ["a.zip"]}, ("a.zip",), spoil_bytes),
    "wires": Kind({"layers.obstacles": ["wires.geojson"]}, ("wires.geojson",), spoil_json),
    "obstacle file": Kind({"layers.obstacles": ["towers.dat"]}, ("towers.dat",), spoil_text),
    "avoid": Kind({"layers.avoid": ["avoid.geojson"]}, ("avoid.geojson",), spoil_json),
    "drop line": Kind({"drop": [{"name": "Flank", "along": "flank.geojson"}]}, ("flank.geojson",), spoil_json),
    "plan": Kind({}, ("plan.json",), spoil_json, "map"),
}  # fmt: skip


def make(folder: Path) -> dict[str, Path]:
    """Write the good inputs; give the incident or the plan of each kind."""
    folder.mkdir(parents=True)
    layers = write_layers(folder, waters=[LAKE], cell=50.0, half=1800.0)
    shape = {"kind": ["lake"], "depth_m": [8.0]}
    for name in ("a.geojson", "a.shp", "a.fgb"):
        write_vector(folder / name, [LAKE.shape], name=["Long Lake"], **shape)
    table = pyogrio.read_dataframe(folder / "a.geojson")
    pyogrio.write_dataframe(table, folder / "a.kml", driver="LIBKML")
    with zipfile.ZipFile(folder / "a.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.write(folder / "a.geojson", "a.geojson")
    for name, driver in (("a.asc", "AAIGrid"), ("a.img", "HFA")):
        rasterio.shutil.copy(folder / "elevation.tif", folder / name, driver=driver)
    (folder / "a.vrt").write_text(
        '<VRTDataset rasterXSize="72" rasterYSize="72"><GeoTransform>-1800, 50, 0, 1800, 0, -50</GeoTransform>\n'
        '<VRTRasterBand dataType="Float32" band="1">\n<SimpleSource>\n'
        '<SourceFilename relativeToVRT="1">elevation.tif</SourceFilename>\n<SourceBand>1</SourceBand>\n'
        '<SrcRect xOff="0" yOff="0" xSize="72" ySize="72"/>\n<DstRect xOff="0" yOff="0" xSize="72" ySize="72"/>\n'
        "</SimpleSource></VRTRasterBand></VRTDataset>\n"
    )
    line = shapely.LineString([(-300, -900), (-300, 900), (-200, 950)])
    write_vector(folder / "wires.geojson", [line], name=["valley line"], kind=["power line"], height_m=[40.0])
    write_vector(folder / "flank.geojson", [shapely.LineString([(-200, 0), (0, 100), (200, 0)])])
    write_vector(folder / "avoid.geojson", [shapely.box(-900, -900, -500, -500)], name=["Camp"], distance=["50 m"])
    (folder / "towers.dat").write_text(TOWERS)
    (folder / "hours.csv").write_text(HOURS)
    shelf = files("diproute.reading") / "fleet_data"
    shutil.copy(str(shelf / "helicopters" / "demo-light.toml"), folder / "heli.toml")
    shutil.copy(str(shelf / "buckets" / "demo-760.toml"), folder / "bucket.toml")
    small = {
        "search.radius": "1200 m", "search.keep": 2, "limits.corridor_length": "300 m", "base.at": place(-300, 500),
        "drop": [{"name": "Head", "at": f"{LAT} N {-LON} W"}],
    }  # fmt: skip
    made = {}
    for number, (name, kind) in enumerate(KINDS.items()):
        if kind.verb == "plan":
            made[name] = write_toml(folder / f"i{number}.toml", {**INCIDENT, **layers, **small, **kind.changes})
    first = made["incident"]
    subprocess.run(
        [sys.executable, "-c", "from diproute.cli import main; main()", "plan", first, "--out", folder / "out"],
        check=True, capture_output=True,
    )  # fmt: skip
    made["plan"] = (folder / "out" / "plan.json").rename(folder / "plan.json")
    shutil.rmtree(folder / "out")
    return made
