"""The table of layers: which file, its digest, and only what the file itself says of its date and licence."""

import hashlib
import json
import os
import sqlite3
from dataclasses import replace

import numpy as np
import pyogrio
import pytest
import rasterio
from layer_scene import LAT, LON, WEATHER, flat, incident, write_raster, write_vector
from rasterio.warp import transform
from shapely import LineString, box

from diproute.reading.layer_sources import digest_of, name_in, said_by
from diproute.reading.layers import open_layers
from diproute.records import Drop, Layers


@pytest.fixture
def water(tmp_path):
    path = write_vector(tmp_path / "water.gpkg", [box(-200, -200, 200, 200)], layer="lakes", kind=["lake"])
    with sqlite3.connect(path) as file:
        file.execute("update gpkg_contents set last_change = '2026-05-04T00:00:00.000Z'")
    return path


def tagged(path, **tags):
    with rasterio.open(path, "r+") as file:
        file.update_tags(**tags)
    return path


def test_every_opened_layer_has_its_row(tmp_path, water):
    (tmp_path / "data").mkdir()
    x, y = (float(v[0]) for v in transform("EPSG:4326", "EPSG:32604", [LON], [LAT]))
    block = np.full((600, 600), 100, np.float32)
    ground = write_raster(tmp_path / "data" / "a.tif", block, x - 3000, y + 3000, 10, "EPSG:32604+3855", unit="m")
    tagged(ground, TIFFTAG_COPYRIGHT="CC0")
    canopy = write_raster(tmp_path / "c.tif", np.zeros((200, 200), np.float32), -3000, 3000, 30)
    flank = write_vector(tmp_path / "flank.geojson", [LineString([(-300, 0), (300, 0)])])
    wires = write_vector(tmp_path / "wires.geojson", [LineString([(-300, 9), (300, 9)])], kind=["wire"])
    camp = write_vector(tmp_path / "camp.gpkg", [box(300, 300, 400, 400)], name=["Camp"])
    table = tmp_path / "hours.csv"
    table.write_text("time\n")
    drops = [Drop("Head", LAT, LON, 0.5), Drop("Flank", None, None, 0.5, flank)]
    asked = incident(
        ground, water, drops=drops, radius=400, corridor=200, canopy=canopy, obstacles=wires, avoid=camp,
        elevation_error_m=4.0, canopy_error_m=2.0,
    )  # fmt: skip
    asked = replace(asked, layers=replace(asked.layers, folder=tmp_path), weather=replace(WEATHER, file=table))
    rows = open_layers(asked).ground.layers
    assert [(row.role, row.file) for row in rows] == [
        ("elevation", "data/a.tif"), ("canopy", "c.tif"), ("water", "water.gpkg"), ("obstacles", "wires.geojson"),
        ("avoid", "camp.gpkg"), ("drop", "flank.geojson"), ("weather", "hours.csv"),
    ]  # fmt: skip
    for row in rows:
        assert row.digest == hashlib.sha256((tmp_path / row.file).read_bytes()).hexdigest()
    elevation, trees, lakes = rows[:3]
    assert (elevation.licence, elevation.vertical_datum, elevation.vertical_error_m) == ("CC0", "EGM2008 height", 4.0)
    assert (trees.licence, trees.vertical_datum, trees.vertical_error_m) == (None, None, 2.0)
    assert (lakes.layer, lakes.current) == (None, "2026-05-04T00:00:00+00:00")


def test_the_picked_layer_is_named_and_a_file_is_known_by_its_name_when_it_lies_elsewhere(tmp_path, water):
    inside = tmp_path / "incident"
    inside.mkdir()
    asked = incident(flat(inside / "a.tif"), water, radius=400, corridor=200)
    layers = Layers((inside / "a.tif",), "ground", ((water, "lakes"),), folder=inside)
    rows = open_layers(replace(asked, layers=layers)).ground.layers
    assert [(row.file, row.layer) for row in rows] == [("a.tif", None), ("water.gpkg", "lakes")]


def test_a_canopy_beside_a_surface_model_is_read_and_listed(tmp_path, water):
    canopy = write_raster(tmp_path / "c.tif", np.zeros((200, 200), np.float32), -3000, 3000, 30)
    asked = incident(flat(tmp_path / "a.tif"), water, radius=400, canopy=canopy, elevation_is="surface")
    assert [row.role for row in open_layers(asked).ground.layers] == ["elevation", "canopy", "water"]


def test_names(tmp_path):
    assert name_in(tmp_path / "a" / "b.tif", tmp_path) == "a/b.tif"
    assert name_in(tmp_path / "a" / ".." / "b.tif", tmp_path) == "b.tif"
    assert name_in(tmp_path / "b.tif", tmp_path / "a") == "b.tif"
    assert name_in(tmp_path / "a" / "b.tif", None) == "b.tif"


@pytest.mark.parametrize(
    ("tags", "said"),
    [
        ({}, (None, None)),
        ({"TIFFTAG_DATETIME": "2024:07:01 10:20:30"}, ("2024-07-01T10:20:30", None)),
        ({"TIFFTAG_DATETIME": "2024-07-01"}, ("2024-07-01", None)),
        ({"TIFFTAG_DATETIME": "last summer", "TIFFTAG_COPYRIGHT": "public domain"}, (None, "public domain")),
    ],
)
def test_what_a_geotiff_says(tmp_path, tags, said):
    assert said_by(tagged(flat(tmp_path / "a.tif"), **tags), None) == said


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ({}, (None, None)),
        ({"license": "ODbL-1.0", "date": "2025-03-04"}, ("2025-03-04", "ODbL-1.0")),
        ({"licence": "CC BY 4.0", "timestamp": "2025-03-04T05:06:00Z"}, ("2025-03-04T05:06:00+00:00", "CC BY 4.0")),
        ({"metadata": {"date": "2025-03-04", "license": "CC0"}}, ("2025-03-04", "CC0")),
        ({"license": 7, "date": ["2025"]}, (None, None)),
    ],
)
def test_what_a_geojson_says(tmp_path, members, said):
    path = tmp_path / "a.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", **members, "features": []}))
    assert said_by(path, None) == said


def test_what_a_geopackage_says(tmp_path, water):
    assert said_by(water, "lakes") == said_by(water, None) == ("2026-05-04T00:00:00+00:00", None)
    table = pyogrio.read_dataframe(water)
    path = tmp_path / "m.gpkg"
    pyogrio.write_dataframe(table, path, layer="lakes", layer_metadata={"LICENCE": "CC0", "DATE": "2024-02-03"})
    assert said_by(path, "lakes") == ("2024-02-03", "CC0")


def test_what_an_obstacle_file_says(sample_folder):
    assert said_by(sample_folder / "towers.dat", None)[0] == "2026-07-01"  # its heading: CURRENCY DATE = 07/01/26


def test_the_files_own_time_says_nothing(tmp_path, water):
    path = flat(tmp_path / "a.tif")
    before = [said_by(file, None) for file in (path, water)]
    for file in (path, water):
        os.utime(file, (0, 0))
    assert [said_by(file, None) for file in (path, water)] == before
    assert before[0] == (None, None)


def test_a_folder_has_a_digest_of_its_files(tmp_path):
    folder = tmp_path / "a.gdb"
    folder.mkdir()
    (folder / "one").write_bytes(b"1")
    first = digest_of(folder)
    (folder / "two").write_bytes(b"")
    assert digest_of(folder) != first
