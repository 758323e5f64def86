"""Make the sample scenario: an invented island, its waters, woods, wires and closed areas.

Run ``python make_sample.py [FOLDER]``; the same files come out every time. Nothing here is a real place.
"""

from __future__ import annotations

import json
import sys
from datetime import date
from pathlib import Path
from typing import Any

import geopandas
import island
import numpy as np
import pyogrio
import rasterio
import waters
from affine import Affine
from island import CELL_M, HALF_M, SIZE, F, axes, noise
from pyproj import Transformer
from scipy import ndimage
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, mapping

SAYS = "invented for diproute's demo; not a real place"
CRS, CRS_WITH_HEIGHTS = "EPSG:32604", "EPSG:32604+3855"  # UTM zone 4 north; EGM2008 height
DROP_LAT, DROP_LON = 42 + 10.5 / 60, -(160 + 3.25 / 60)
DROP_NORTH_M = 390.0  # of the island's origin

_to_utm = Transformer.from_crs("EPSG:4326", CRS, always_xy=True)
_to_lonlat = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
_east, _north = _to_utm.transform(DROP_LON, DROP_LAT)
ORIGIN = (CELL_M * round(_east / CELL_M), CELL_M * round((_north - DROP_NORTH_M) / CELL_M))

# metres east and north of the island's origin
POWER_LINE = [
    (1450, -6900), (400, -6300), (-600, -5600), (-1300, -4500), (-1800, -3600), (-2000, -2700), (-1672, -1878),
    (-1072, -1278), (-1520, -620), (-2050, -50), (-2750, 650), (-3550, 1250), (-4350, 1700), (-4800, 2900),
    (-5000, 3900), (-4700, 5600), (-3900, 7400),
]  # fmt: skip
MINE_LINE = [(1600, -7000), (2200, -5900), (2750, -4900), (3150, -4350)]
CABLEWAY = [(3230, -4420), (4330, -4260)]
ROAD = [(1700, -7100), (500, -5600), (-300, -4400), (-1050, -3200), (-1150, -2300), (-980, -1500), (-950, -700)]
CAMPGROUND, VILLAGE, NESTING = (-1000, -450), (1900, -7250), (900, -950)
MASTS = [  # what it is, east, north, height above ground [m], verified, accuracy code
    ("TOWER", 4420, -300, 46, True, "1A"), ("TOWER", -560, 2010, 31, True, "1A"), ("POLE", 620, -700, 24, False, "4D"),
    ("STACK", 2260, -7080, 38, True, "2C"), ("TOWER", 8500, 3020, 61, False, "3D"),
    ("TOWER", -1080, -1760, 28, True, "1A"),
]  # fmt: skip


def lonlat(points: Any) -> list[list[float]]:
    """Degrees of longitude and latitude of points given in metres from the origin."""
    at = np.asarray(points, dtype=float) + ORIGIN
    lon, lat = _to_lonlat.transform(at[:, 0], at[:, 1])
    return np.round(np.c_[lon, lat], 6).tolist()


def height_at(ground: F, east: float, north: float) -> float:
    """Height of the cell that holds a point [m]."""
    return float(ground[int((HALF_M - north) / CELL_M), int((east + HALF_M) / CELL_M)])


def woods(ground: F, wet: waters.B) -> F:
    """Tree heights [m]: woods below a ragged tree line, clearings, ways kept open, and giants round Lantern Pond."""
    east, north = axes(SIZE)
    gy, gx = np.gradient(ndimage.gaussian_filter(ground, 1), CELL_M)
    steep = np.hypot(gx, gy)
    stand = noise(SIZE, 1500, 4, 71)
    height = 21 + 8 * noise(SIZE, 900, 3, 72) + 2.5 * noise(SIZE, 60, 1, 73) - 9 * np.clip((ground - 900) / 600, 0, 1)
    sparse = (stand < -0.35 - 0.5 * np.clip((700 - ground) / 700, 0, 1)) | (noise(SIZE, 420, 3, 74) > 1.25)
    bare = (ground > 1440 + 90 * noise(SIZE, 700, 3, 75)) | (ground < 14 + 6 * stand) | (steep > 0.95)
    lava = (np.abs(north - 3100 - 260 * np.sin(east / 900)) < 330 + 90 * stand) & (east < -1500) & (east > -6200)
    height = np.where(sparse | bare | lava, 0, np.clip(height, 4, 38))

    open_ways = [
        Point(8350, 3250).buffer(620), Point(*VILLAGE).buffer(420), Point(*CAMPGROUND).buffer(170),
        LineString(POWER_LINE).buffer(28), LineString(MINE_LINE).buffer(15), Point(2350, -5050).buffer(300),
        LineString([*waters.RESERVOIR_LINE[:1], (-1200, -1750)]).buffer(90),
    ]  # fmt: skip
    for way in open_ways:
        height[waters.cells(way)] = 0
    giants = ndimage.distance_transform_edt(~waters.cells(Point(waters.LANTERN).buffer(35)), sampling=CELL_M)
    height = np.where(giants < 240, 39 + 2 * noise(SIZE, 80, 2, 76), height)
    height = np.where((giants >= 240) & (giants < 420), np.maximum(height, 28), height)
    shore = ndimage.distance_transform_edt(~wet, sampling=CELL_M) < 30
    return np.round(np.where(wet | (shore & (giants > 100)), 0, np.clip(height, 0, 45)))


def write_raster(path: Path, values: Any, crs: str, **more: Any) -> None:
    """Write a grid as a compressed GeoTIFF that says what it is."""
    west, top = ORIGIN[0] - HALF_M, ORIGIN[1] + HALF_M
    profile = {
        "driver": "GTiff", "width": SIZE, "height": SIZE, "count": 1, "dtype": values.dtype, "crs": crs, "tiled": True,
        "transform": Affine(CELL_M, 0, west, 0, -CELL_M, top), "compress": "deflate", "zlevel": 9,
    }  # fmt: skip
    with rasterio.open(path, "w", **profile, **more) as file:
        file.write(values, 1)
        file.set_band_unit(1, "metre")
        file.update_tags(invented=SAYS)


def write_waters(path: Path, bodies: list[waters.Water]) -> None:
    """Write the waters with OpenStreetMap's tags, one column a tag."""
    columns = ("natural", "water", "intermittent", "salt", "covered", "reservoir_type", "depth_m")
    rows = [{"name": w.name} | {c: w.tags.get(c) for c in columns} | {"note": SAYS} for w in bodies]
    shapes = [affinity.translate(w.polygon, *ORIGIN) for w in bodies]
    frame = geopandas.GeoDataFrame(rows, geometry=shapes, crs=CRS)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2026-08-14T00:00:00.000Z"})
    path.unlink(missing_ok=True)
    pyogrio.write_dataframe(frame, path, layer="water", driver="GPKG")


def write_geojson(path: Path, features: list[tuple[Any, dict[str, Any]]]) -> None:
    """Write shapes given in metres from the origin as GeoJSON, one feature a line."""

    def turned(shape: Any) -> dict[str, Any]:
        at = mapping(shape)
        if at["type"] == "Point":
            return {"type": "Point", "coordinates": lonlat([at["coordinates"]])[0]}
        if at["type"] == "LineString":
            return {"type": "LineString", "coordinates": lonlat(at["coordinates"])}
        return {"type": "Polygon", "coordinates": [lonlat(ring) for ring in at["coordinates"]]}

    lines = [
        json.dumps({"type": "Feature", "properties": tags | {"note": SAYS}, "geometry": turned(shape)})
        for shape, tags in features
    ]
    text = ",\n".join(lines)
    path.write_text(f'{{"type": "FeatureCollection", "note": "{SAYS}", "features": [\n{text}\n]}}\n', encoding="utf-8")


def wires() -> list[tuple[Any, dict[str, Any]]]:
    """Power lines with a tower at every vertex, and a cableway; some heights are given and some are not."""
    towers = LineString(POWER_LINE).segmentize(330).coords
    mark = [i for i, at in enumerate(towers) if at in ((-1672.0, -1878.0), (-1072.0, -1278.0))]
    # the reservoir is crossed in one span
    south, across, north = towers[: mark[0] + 1], [towers[mark[0]], towers[mark[1]]], towers[mark[1] :]
    line = {"power": "line", "voltage": "110000"}
    found: list[tuple[Any, dict[str, Any]]] = [
        (LineString(south), {"name": "Ridge line, south"} | line | {"height": "34"}),
        (LineString(across), {"name": "Ridge line, reservoir span"} | line | {"height": "42"}),
        (LineString(north), {"name": "Ridge line, north"} | line),
        (LineString(MINE_LINE).segmentize(160), {"name": "Mine line", "power": "minor_line", "voltage": "20000"}),
        (LineString(CABLEWAY), {"name": "Gannet cableway", "aerialway": "goods", "height": "14"}),
    ]
    found += [(Point(at), {"power": "tower", "height": "42"}) for at in across]
    found += [(Point(at), {"power": "tower"}) for at in north[3:9:3]]
    found += [(Point(at), {"aerialway": "pylon", "height": "14"}) for at in CABLEWAY]
    return found


def closed_areas() -> list[tuple[Any, dict[str, Any]]]:
    """Areas closed to a slung load, and two that cost extra."""

    def area(at: tuple[int, int], radius: float, seed: int) -> Polygon:
        return waters.outline(*at, radius, seed, 1.1).simplify(5)

    return [
        (area(CAMPGROUND, 340, 201), {"name": "Camp Pond campground", "because": "people camp here", "hard": True}),
        (area(VILLAGE, 430, 202), {"name": "Gannet Harbour", "because": "houses", "hard": True}),
        (
            area(NESTING, 330, 203),
            {"name": "Nesting ground", "because": "birds nest here", "hard": False, "extra_cost": 1.6},
        ),
        (
            LineString(ROAD),
            {"name": "Camp road", "because": "road with traffic", "hard": False, "extra_cost": 2.0, "distance_m": 60},
        ),
    ]  # fmt: skip


def obstacle_file(ground: F) -> str:
    """Masts in the columns of a digital obstacle file; the heights above the sea follow from the ground."""

    def degrees(value: float, width: int, letters: str) -> str:
        hundredths = round(abs(value) * 360000)
        d, m, s = hundredths // 360000, hundredths // 6000 % 60, hundredths % 6000 / 100
        return f"{d:0{width}d} {m:02d} {s:05.2f}{letters[value < 0]}"

    day = date(2026, 7, 1)
    lines = [
        f"  CURRENCY DATE = {day:%m/%d/%y}   INVENTED, NOT A REAL PLACE",
        "                                   KESTREL RIDGE, INVENTED FOR THE DEMO OF DIPROUTE",
        "OAS#      V CO ST CITY             LATITUDE     LONGITUDE     OBSTACLE           NO.  AGL   AMSL  LT ACC MAR"
        " STUDY          A JDATE",
        "-" * 127,
    ]
    for number, (kind, east, north, tall, verified, accuracy) in enumerate(MASTS, 1):
        ((lon, lat),) = lonlat([(east, north)])
        agl = round(tall / 0.3048)
        amsl = round(height_at(ground, east, north) / 0.3048) + agl
        fields = [
            (1, f"99-{number:06d}"), (11, "O" if verified else "U"), (13, "XX"), (16, "XX"), (19, "KESTREL RIDGE"),
            (36, degrees(lat, 2, "NS")), (49, degrees(lon, 3, "EW")), (63, kind), (82, "1"), (84, f"{agl:05d}"),
            (90, f"{amsl:05d}"), (96, "N"), (98, accuracy[0]), (100, accuracy[1]), (102, "N"), (119, "A"),
            (121, f"{day:%Y%j}"),
        ]  # fmt: skip
        row = [" "] * 127
        for column, text in fields:
            row[column - 1 : column - 1 + len(text)] = text
        lines.append("".join(row))
    return "\n".join(lines) + "\n"


def make(folder: Path) -> None:
    """Make every generated file of the sample in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    ground, bodies = waters.fill(*island.natural())
    ground = np.round(ground * 8) / 8
    wet = ground <= 0
    for body in bodies:
        wet |= waters.cells(body.polygon)
    trees = woods(ground, wet)
    write_raster(folder / "elevation.tif", ground.astype(np.float32), CRS_WITH_HEIGHTS, predictor=3, nodata=-9999)
    write_raster(folder / "canopy.tif", trees.astype(np.uint8), CRS, predictor=2)
    write_waters(folder / "water.gpkg", bodies)
    write_geojson(folder / "wires.geojson", wires())
    write_geojson(folder / "avoid.geojson", closed_areas())
    (folder / "towers.dat").write_text(obstacle_file(ground), encoding="ascii")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
