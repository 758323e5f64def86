"""Wrong input through the command line: exit code 2, one plain line on stderr, no traceback, nothing left behind."""

import json
import re
import sqlite3

import numpy as np
import pytest
import shapely
from layer_scene import write_raster, write_vector
from small_incident import INCIDENT, place, write_toml

ELEVATION, WATER = "layers.elevation", "layers.water"
METAR = {
    "weather.temperature": None, "weather.measured_at": None, "weather.qnh": None, "weather.wind": None,
    "weather.station_elevation": "600 m",
}  # fmt: skip
CHART = """
pressure_altitude = ["0 ft", "4000 ft", "8000 ft"]
temperature = ["0 degC", "40 degC"]
mass = [["2700 kg", "2600 kg"], ["2600 kg", "2650 kg"], ["2500 kg", "2400 kg"]]
"""


def keys(**changes):
    """The incident with other keys, dots written as two underscores."""

    def spoil(folder):
        write_toml(folder / "incident.toml", {**INCIDENT, **{k.replace("__", "."): v for k, v in changes.items()}})

    return spoil


def text(old, new):
    def spoil(folder):
        path = folder / "incident.toml"
        before = path.read_text()
        assert old in before
        path.write_text(before.replace(old, new))

    return spoil


def without_crs(folder):
    write_raster(folder / "elevation.tif", np.full((300, 300), 600.0, np.float32), -4500, 4500, 30, crs="", unit="m")


def elsewhere(folder):
    write_raster(folder / "elevation.tif", np.full((300, 300), 600.0, np.float32), 90_000, 4500, 30, unit="m")


def no_unit_and_doubtful(folder):
    write_raster(folder / "elevation.tif", np.full((340, 340), 9900.0, np.float32), -5100, 5100, 30)


def nothing_known(folder):
    write_raster(
        folder / "elevation.tif", np.full((340, 340), -9999.0, np.float32), -5100, 5100, 30, unit="m", nodata=-9999.0
    )


def empty_water(folder):
    (folder / "water.gpkg").unlink()
    write_vector(folder / "water.gpkg", [shapely.Point(0, 0).buffer(5)], name=["speck"])
    with sqlite3.connect(folder / "water.gpkg") as file:
        for (trigger,) in file.execute("select name from sqlite_master where type = 'trigger'").fetchall():
            file.execute(f'drop trigger "{trigger}"')
        file.execute("delete from water")
    file.close()


def far_water(folder):
    (folder / "water.gpkg").unlink()
    write_vector(folder / "water.gpkg", [shapely.Point(40_000, 0).buffer(500)], name=["Far Lake"])


def dry_water(folder):
    (folder / "water.gpkg").unlink()
    write_vector(folder / "water.gpkg", [shapely.Point(1000, 0).buffer(300)], name=["Pan"], intermittent=["yes"])


def water_without_crs(folder):
    (folder / "water.gpkg").unlink()
    write_vector(folder / "water.shp", [shapely.Point(1000, 0).buffer(300)], crs=None, name=["Lake"])
    keys(layers__water=["water.shp"])(folder)


def not_a_vector(folder):
    (folder / "water.gpkg").write_bytes(b"SQLite format 3\0 but not really")


def not_a_raster(folder):
    (folder / "elevation.tif").write_bytes(b"II*\0 and then nothing that makes sense" * 20)


def half_a_raster(folder):
    whole = (folder / "elevation.tif").read_bytes()
    (folder / "elevation.tif").write_bytes(whole[: len(whole) // 3])


def cut_geojson(folder):
    (folder / "wires.geojson").write_text('{"type": "FeatureCollection", "features": [{"type": "Feature"')
    keys(layers__obstacles=["wires.geojson"])(folder)


def obstacle_of_no_height_at_all(folder):
    (folder / "towers.dat").write_text("this is no obstacle file\nat all\n")
    keys(layers__obstacles=["towers.dat"])(folder)


def rising_chart(folder):
    craft = {
        "name": "Test", "source": "made up", "type": 3, "rotor_diameter": "10 m", "equipped": "1300 kg",
        "max_gross_external": "2750 kg", "hook_limit": "1200 kg", "weight_reduction": "60 kg",
        "fuel_capacity": "540 L", "fuel_density": "0.8 kg/L",
        "burn": {"hover": "190 L/h", "loaded": "180 L/h", "empty": "165 L/h"},
        "speed": {"loaded": "80 kt", "empty": "95 kt"}, "climb": {"loaded": "500 ft/min", "empty": "900 ft/min"},
        "descent": {"loaded": "500 ft/min", "empty": "800 ft/min"}, "lift_speed": "1.5 m/s", "lower_speed": "2 m/s",
        "manoeuvre": "45 s",
    }  # fmt: skip
    write_toml(folder / "light.toml", craft)
    with (folder / "light.toml").open("a") as file:
        file.write(f"\n[hoge]{CHART}")
    keys(helicopter__name=None, helicopter__file="light.toml")(folder)


def soft_area_without_cost(folder):
    write_vector(folder / "avoid.geojson", [shapely.box(200, 0, 900, 900)], name=["Farm"], hard=["no"])
    keys(layers__avoid=["avoid.geojson"])(folder)


def remove(name):
    return lambda folder: (folder / name).unlink()


def write(name, data):
    return lambda folder: (folder / name).write_bytes(data)


# what is spoiled, and a piece that the line must hold
WRONG = {
    "missing incident": (remove("incident.toml"), "no such file"),
    "not TOML": (write("incident.toml", b"title = Kestrel Ridge"), "not valid TOML"),
    "not text": (write("incident.toml", b"\x89PNG\r\n\x1a\n\0\0"), "not UTF-8"),
    "an empty file": (write("incident.toml", b""), "title: missing"),
    "unknown key": (keys(layers__canopie="canopy.tif"), 'did you mean "canopy"?'),
    "bare number": (keys(weather__temperature=31), 'write it like "31 degC"'),
    "no unit": (keys(search__radius="3200"), "without a unit"),
    "wrong unit of QNH": (keys(weather__qnh="29.92 hPa"), 'did you mean "29.92 inHg"?'),
    "QNH in metres": (keys(weather__qnh="1013 m"), "weather.qnh"),
    "fill not in the list": (keys(bucket__fill="80 %"), "100 %, 85 %, 75 %, 65 %, 55 %"),
    "coordinates swapped": (keys(drop=[{"name": "Head", "at": "160.05 W 42.1 N"}]), "swapped"),
    "no hemisphere": (keys(drop=[{"name": "Head", "at": "42.1, 160.05"}]), "drop[0].at"),
    "elevation missing": (remove("elevation.tif"), "elevation.tif"),
    "elevation without CRS": (without_crs, "elevation.tif"),
    "elevation elsewhere": (elsewhere, "elevation"),
    "elevation of nothing": (nothing_known, "nothing is known"),
    "elevation in feet that does not say so": (no_unit_and_doubtful, "elevation_unit"),
    "no raster": (not_a_raster, "elevation.tif"),
    "half a raster": (half_a_raster, "elevation.tif"),
    "water missing": (remove("water.gpkg"), "water.gpkg"),
    "no vector": (not_a_vector, "water.gpkg"),
    "layer that is not there": (keys(layers__water=["water.gpkg:lakes"]), "lakes"),
    "empty water": (empty_water, "water"),
    "water elsewhere": (far_water, "water"),
    "no water within the radius": (keys(search__radius="100 m"), "no open water lies within the search"),
    "only dry water": (dry_water, "no open water"),
    "water without CRS": (water_without_crs, "water.shp"),
    "wires cut off": (cut_geojson, "wires.geojson"),
    "no obstacle file": (obstacle_of_no_height_at_all, "towers.dat"),
    "area neither closed nor priced": (soft_area_without_cost, "cost"),
    "chart that rises": (rising_chart, "light.toml: hoge"),
    "date outside the magnetic model": (keys(when="2036-08-14T15:00-10:00"), "2036"),
    "METAR without QNH": (keys(**METAR, weather__metar="METAR KXYZ 150053Z 24012KT 10SM CLR 31/08"), "no QNH"),
    "METAR that is none": (keys(**METAR, weather__metar="it is hot and windy"), "metar"),
    "no such helicopter": (keys(helicopter__name="demo-lihgt"), "demo-light"),
    "line listed twice": (keys(lines__carried=["30 m", "30 m"]), "twice"),
    "time without offset": (keys(when="2026-08-14T15:00"), "offset"),
    "drop off the elevation": (keys(drop=[{"name": "Head", "at": place(60_000, 0)}], base=None), "elevation"),
    "base off the elevation": (keys(base__at=place(60_000, 0)), "elevation"),
    "drop line missing": (keys(drop=[{"name": "Flank", "along": "flank.geojson"}]), "flank.geojson"),
}  # fmt: skip


AIR = ("air", "--elevation", "1 km", "--temperature", "20 degC", "--qnh", "1013 hPa")


def one_plain_line(ran):
    assert ran.code == 2, ran
    assert ran.out == ""
    assert len(ran.err.splitlines()) == 1, ran.err
    assert ran.err.startswith("diproute")
    assert not re.search(
        r"Traceback|Error:|Exception|\bNone\b|pydantic|pyogrio|rasterio|shapely|0x[0-9a-f]{6}", ran.err
    )
    return ran.err


@pytest.mark.parametrize("kind", WRONG)
def test_wrong_input(kind, run, folder, tmp_path):
    spoil, wanted = WRONG[kind]
    spoil(folder)
    said = one_plain_line(run("plan", folder / "incident.toml", "--out", tmp_path / "out"))
    assert wanted in said
    assert not (tmp_path / "out").exists()


def test_there_are_twenty_kinds_at_least():
    assert len(WRONG) >= 20


def test_out_is_a_file(run, folder, tmp_path):
    (tmp_path / "out").write_text("mine")
    said = one_plain_line(run("plan", folder / "incident.toml", "--out", tmp_path / "out"))
    assert "is a file" in said
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.parametrize("place", ["mine/plan", "/proc/nobody-writes-here/plan"])
def test_out_cannot_be_written(run, folder, tmp_path, place):
    (tmp_path / "mine").write_text("a file where a folder is wanted")
    said = one_plain_line(run("plan", folder / "incident.toml", "--out", tmp_path / place))
    assert "cannot write" in said
    assert sorted(path.name for path in tmp_path.iterdir()) == ["fire", "mine"]


def test_a_file_of_the_plan_cannot_be_replaced(run, folder, tmp_path):
    """Nothing is written when one of the files cannot be."""
    (tmp_path / "out" / "map.html").mkdir(parents=True)
    one_plain_line(run("plan", folder / "incident.toml", "--out", tmp_path / "out"))
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["map.html"]


def test_an_old_plan_stays_when_the_input_is_wrong(run, folder, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text("the old plan")
    text("title =", "tilte =")(folder)
    one_plain_line(run("plan", folder / "incident.toml", "--out", tmp_path / "out"))
    assert (tmp_path / "out" / "plan.json").read_text() == "the old plan"


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (("air",), "--elevation"),
        (("air", "--elevation", "5883", "--temperature", "70 degF", "--qnh", "30.10 inHg"), "without a unit"),
        (("air", "--elevation", "5883 ft", "--temperature", "70 degF", "--qnh", "30.10 hPa"), "QNH"),
        (("air", "--elevation", "5883 ft", "--temperature", "700 degC", "--qnh", "1013 hPa"), "temperature"),
        (("air", "--elevation", "90 km", "--temperature", "20 degC", "--qnh", "1013 hPa"), "elevation"),
        (("air", "--elevation", "1 km", "--temperature", "20 degC", "--qnh", "1 hPa"), "qnh"),
        ((*AIR, "--dew-point", "30 degC"), "dew"),
        (("air", "nowhere.toml"), "no such file"),
        (("load", "nowhere.toml", "--elevation", "1 km"), "no such file"),
        (("load", "nowhere.toml"), "--elevation"),
        (("plan",), "INCIDENT"),
        (("plan", "a", "b"), "unexpected"),
        (("plan", "a", "--display", "imperial"), "imperial"),
        (("plna",), "plna"),
        (("--verbose",), "--verbose"),
    ],
)  # fmt: skip
def test_wrong_words(run, words, wanted):
    assert wanted.lower() in one_plain_line(run(*words)).lower()


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (("--line", "38 m"), "not carried"),
        (("--fuel", "120 %"), "120 %"),
        (("--elevation", "high"), "high"),
        (("--chart", "/proc/nobody-writes-here/chart.svg"), "cannot write"),
    ],
)
def test_wrong_words_to_load(run, folder, words, wanted):
    given = words if "--elevation" in words else ("--elevation", "600 m", *words)
    assert wanted in one_plain_line(run("load", folder / "incident.toml", *given))


# a plan file that no map can be made of, and a piece that the line must hold
NO_PLAN = {
    "no such file": (None, "no such file"),
    "empty": (b"", "empty"),
    "no JSON": (b"title = Kestrel Ridge", "JSON"),
    "cut short": (b'{"format": "diproute-plan/2", "title": "Kes', "cut short"),
    "no text": (b"\x89PNG\r\n\x1a\n\0\0", "UTF-8"),
    "another file": (b'{"type": "FeatureCollection", "features": []}', "no plan"),
    "an older format": (b'{"format": "diproute-plan/1"}', "diproute-plan/1"),
    "a newer format": (b'{"format": "diproute-plan/3"}', "newer diproute"),
    "NaN": (b'{"format": "diproute-plan/2", "declination_deg": NaN}', "NaN"),
    "too deep": (b'{"format": "diproute-plan/2", "x": ' + b"[" * 200_000 + b"]" * 200_000 + b"}", "deep"),
    "nothing in it": (b'{"format": "diproute-plan/2"}', "title"),
}


@pytest.mark.parametrize("kind", NO_PLAN)
def test_a_plan_file_that_no_map_can_be_made_of(kind, run, tmp_path):
    data, wanted = NO_PLAN[kind]
    if data is not None:
        (tmp_path / "plan.json").write_bytes(data)
    said = one_plain_line(run("map", tmp_path / "plan.json", "--out", tmp_path / "out" / "map.html"))
    assert wanted in said
    assert not (tmp_path / "out").exists()


def test_a_map_needs_its_file_and_no_folder(run, tmp_path):
    assert "--out" in one_plain_line(run("map", tmp_path / "plan.json"))
    assert "folder" in one_plain_line(run("map", tmp_path / "plan.json", "--out", tmp_path))


def test_json_of_a_wrong_input_is_no_json(run, folder):
    text("title =", "tilte =")(folder)
    ran = run("plan", folder / "incident.toml", "--json")
    with pytest.raises(json.JSONDecodeError):
        json.loads(ran.out)
    one_plain_line(ran)
