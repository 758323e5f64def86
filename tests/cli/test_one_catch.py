"""Whatever an input does to the libraries or the system ends in one plain line and exit code 2."""

import os
import subprocess
import sys

import numpy as np
import pytest
import rasterio
import shapely
from layer_scene import LAT, LON, write_raster, write_vector
from small_incident import INCIDENT, write_toml

COMMAND = [sys.executable, "-c", "from diproute.cli import main; main()"]
MOON = 'GEOGCS["Moon",DATUM["Moon",SPHEROID["Moon",1737400,0]],PRIMEM["Zero",0],UNIT["degree",0.0174532925199433]]'


def keys(folder, **changes):
    write_toml(folder / "incident.toml", {**INCIDENT, **{k.replace("__", "."): v for k, v in changes.items()}})


def spoil(name, how):
    def spoiled(folder):
        path = folder / name
        path.write_bytes(how(path.read_bytes()))

    return spoiled


def of_shapefile(ending, how):
    def spoiled(folder):
        write_vector(folder / "water.shp", [shapely.box(900, -300, 1500, 300)], kind=["lake"])
        path = folder / f"water{ending}"
        path.write_bytes(how(path.read_bytes()))
        keys(folder, layers__water=["water.shp"])

    return spoiled


def missing_mosaic(folder):
    (folder / "a.vrt").write_text(
        '<VRTDataset rasterXSize="9" rasterYSize="9"><VRTRasterBand band="1"><SimpleSource>'
        '<SourceFilename relativeToVRT="1">gone.tif</SourceFilename></SimpleSource></VRTRasterBand></VRTDataset>'
    )
    keys(folder, layers__elevation=["a.vrt"])


def obstacle_date(folder):
    (folder / "towers.dat").write_text("CURRENCY DATE = 99/99/99\n" + "-" * 100 + "\n")
    keys(folder, layers__obstacles=["towers.dat"])


def turned(a, b, d, e):
    def spoiled(folder):
        with rasterio.open(folder / "elevation.tif", "r+") as file:
            file.transform = rasterio.Affine(a, b, -5100, d, e, 5100)

    return spoiled


def moon(folder):
    write_raster(folder / "elevation.tif", np.zeros((9, 9), np.float32), LON - 1, LAT + 1, 0.3, MOON, unit="m")


def over_long(folder):
    keys(folder, layers__water=["w" * 5000 + ".gpkg"])


def nobody(folder):
    keys(folder, layers__water=["~nouser-of-this-name/water.gpkg"])


def knotted(folder):
    """A line that touches itself is no error; one that is not there is."""
    (folder / "flank.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    keys(folder, drop=[{"name": "Flank", "along": "flank.geojson"}])


def endless(folder):
    import sqlite3

    with sqlite3.connect(folder / "water.gpkg") as file:
        file.execute("create view v as with recursive n(i) as (select 1 union all select i from n) select i from n")
    file.close()


def locked(folder):
    (folder / "elevation.tif").chmod(0)


def endless_cells(folder):
    import struct

    tags = [
        (256, 2_000_000_000),
        (257, 2_000_000_000),
        (258, 8),
        (259, 1),
        (262, 1),
        (273, 8),
        (277, 1),
        (278, 9),
        (279, 9),
    ]
    body = b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in tags)
    (folder / "elevation.tif").write_bytes(b"II*\0" + struct.pack("<IH", 8, len(tags)) + body + bytes(4))


CAUSES = {
    "a damaged TIFF": (spoil("elevation.tif", lambda data: data[: len(data) // 3]), "elevation.tif"),
    "a damaged TIFF's head": (spoil("elevation.tif", lambda data: data[:8] + bytes(len(data) - 8)), "elevation.tif"),
    "a damaged .dbf": (of_shapefile(".dbf", lambda data: data[:20]), "water.shp"),
    "a damaged .prj": (of_shapefile(".prj", lambda data: b"PROJCS[\xff\xfe" + data[9:40]), "water.shp"),
    "a damaged .shp": (of_shapefile(".shp", lambda data: data[:104]), "water"),
    "a VRT of missing files": (missing_mosaic, "gone.tif"),
    "a bad obstacle date": (obstacle_date, "towers.dat"),
    "a transform of NaN": (turned(np.nan, 0, 0, -30), "elevation.tif"),
    "a transform of zero": (turned(0, 0, 0, 0), "elevation.tif"),
    "a transform that cannot be inverted": (turned(30, 30, -30, -30), "elevation.tif"),
    "a reference system of the moon": (moon, "elevation.tif"),
    "a name too long": (over_long, "layers.water[0]"),
    "a user who is not there": (nobody, "layers.water[0]"),
    "a day before the magnetic model": (lambda f: keys(f, when="2019-08-14T15:00-10:00"), "2019"),
    "a day after the magnetic model": (lambda f: keys(f, when="2092-08-14T15:00-10:00"), "2092"),
    "a line of nothing": (knotted, "flank.geojson"),
    "an endless view": (endless, "water.gpkg"),
    "2e9 x 2e9 cells": (endless_cells, "elevation.tif"),
    "too many sites in too many hours": (lambda f: hours(f, 300), "search.keep"),
    "a climb of 1 ft/min": (lambda f: slow(f), "climb.loaded"),
    "a title that rings": (lambda f: keys(f, title="\x1b[31mred\x07"), "title"),
}  # fmt: skip


def hours(folder, count):
    from datetime import datetime, timedelta

    start = datetime.fromisoformat("2026-08-14T00:00-10:00")
    rows = [f"{(start + timedelta(hours=i)).isoformat()},30,1013,270,8" for i in range(count)]
    (folder / "hours.csv").write_text("time,temperature_degC,qnh_hPa,wind_from_deg,wind_kt\n" + "\n".join(rows))
    keys(
        folder, search__keep=5000, weather__hourly="hours.csv", weather__measured_at="600 m", weather__wind=None,
        weather__temperature=None, weather__qnh=None,
    )  # fmt: skip


def slow(folder):
    from importlib.resources import files

    text = (files("diproute.reading") / "fleet_data/helicopters/demo-light.toml").read_text()
    head, rest = text.split("climb = { loaded = ")
    (folder / "light.toml").write_text(f'{head}climb = {{ loaded = "1 ft/min"{rest[rest.index(",") :]}')
    keys(folder, helicopter__file="light.toml", helicopter__name=None)


@pytest.mark.parametrize("cause", CAUSES)
def test_a_cause_ends_in_one_line(run, folder, tmp_path, cause):
    do, named = CAUSES[cause]
    do(folder)
    ran = run("plan", folder / "incident.toml", "--out", tmp_path / "out")
    assert ran.code == 2, ran
    assert ran.out == ""
    (line,) = ran.err.splitlines()
    assert line.isprintable()
    assert named in line
    assert len(line) < 700
    assert not (tmp_path / "out").exists()


def test_a_drop_line_that_touches_itself_is_a_line(run, folder, tmp_path):
    loop = shapely.LineString([(-900, 0), (900, 0), (900, 500), (0, 0), (-900, 0), (-900, 0)])
    write_vector(folder / "flank.geojson", [loop])
    keys(folder, drop=[{"name": "Flank", "along": "flank.geojson"}])
    ran = run("plan", folder / "incident.toml", "--json")
    assert ran.code == 0, ran.err


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read(run, folder, tmp_path):
    locked(folder)
    ran = run("plan", folder / "incident.toml", "--out", tmp_path / "out")
    assert ran.code == 2
    assert len(ran.err.splitlines()) == 1


# --- the terminal -----------------------------------------------------------------------------------------------
def test_a_reader_that_goes_is_no_bug(folder):
    with subprocess.Popen([*COMMAND, "--help"], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as asked:
        asked.stdout.close()
        said = asked.stderr.read()
    assert asked.returncode == 0
    assert said == b""


def test_a_pipe_that_closes_in_the_middle_of_a_plan(folder):
    plan = subprocess.Popen(
        [*COMMAND, "plan", folder / "incident.toml", "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    with plan:
        plan.stdout.read(10)
        plan.stdout.close()
        said = plan.stderr.read()
    assert plan.returncode == 0
    assert b"Traceback" not in said
    assert b"Exception" not in said


def test_output_that_cannot_be_written_in_its_encoding(folder):
    keys(folder, drop=[{"name": "H\u00f6he \u2603", "at": f"{LAT} N {-LON} W"}])
    done = subprocess.run(
        [*COMMAND, "plan", folder / "incident.toml", "--out", folder / "out"], capture_output=True, text=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "LC_ALL": "C"},
    )  # fmt: skip
    assert done.returncode == 2
    assert (folder / "out" / "plan.json").is_file()
    last = done.stderr.splitlines()[-1]
    assert "the output cannot hold" in last
    assert "PYTHONIOENCODING=utf-8" in last
    assert "Traceback" not in done.stderr


def test_a_word_that_rings_is_shown_and_not_sent(run, folder):
    ran = run("plan", folder / "incident.toml", "--display", "\x1b[31mred")
    assert ran.code == 2
    assert "\\x1b[31mred" in ran.err
    assert "\x1b" not in ran.err
