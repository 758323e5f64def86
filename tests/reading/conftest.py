"""An incident's folder, whole and right, for a test to spoil."""

from pathlib import Path

import pytest

INCIDENT = """\
title = "Kestrel Ridge"
when = "2026-08-14T15:00-10:00"

[layers]
elevation = ["elevation.tif"]
elevation_is = "ground"
canopy = "canopy.tif"
water = ["water.gpkg:lakes", "rivers.geojson"]
obstacles = ["wires.geojson"]
avoid = ["avoid.geojson"]

[[drop]]
name = "Head"
at = "42 10.500 N 160 03.250 W"
share = 3.0

[[drop]]
name = "Flank"
along = "flank.geojson"

[base]
at = "42.1010 N 160.0420 W"

[weather]
temperature = "31 degC"
measured_at = "1200 m"
qnh = "1009 hPa"
wind = "240 deg 12 kt"

[helicopter]
file = "light.toml"
crew = "95 kg"
fuel = "80 %"

[bucket]
name = "demo-760"
fill = "75 %"

[lines]
carried = ["30 m", "0 m", "125 ft"]

[limits]
reserve = "25 min"

[search]
radius = "9 km"
"""

HELICOPTER = """\
name = "Test light"
source = "made up for a test"
type = 3
rotor_diameter = "10 m"
equipped = "1000 kg"
max_gross_external = "2400 kg"
hook_limit = "1100 kg"
weight_reduction = "50 kg"
fuel_capacity = "500 L"
fuel_density = "0.8 kg/L"
burn = { hover = "180 L/h", loaded = "171 L/h", empty = "162 L/h" }
speed = { loaded = "80 kt", empty = "90 kt" }
climb = { loaded = "600 ft/min", empty = "1200 ft/min" }
descent = { loaded = "500 ft/min", empty = "800 ft/min" }
lift_speed = "1.5 m/s"
lower_speed = "2 m/s"
manoeuvre = "40 s"

[hoge]
pressure_altitude = ["0 ft", "4000 ft", "8000 ft"]
temperature = ["0 degC", "20 degC", "40 degC"]
mass = [
  ["2400 kg", "2400 kg", "2300 kg"],
  ["2400 kg", "2300 kg", "2200 kg"],
  ["2300 kg", "2200 kg", "-"],
]

[hoge.option.filter]
reduction = "35 kg"

[hoge.option.skis]
reduction = "20 kg"

[hoge.option.engine]
pressure_altitude = ["0 ft", "8000 ft"]
temperature = ["0 degC", "40 degC"]
mass = [["2400 kg", "2400 kg"], ["2400 kg", "2350 kg"]]
"""

BUCKET = """\
name = "Test bucket"
source = "made up for a test"
capacity = "600 L"
empty = "60 kg"
length = "4 m"
depth_needed = "1.2 m"
fills = ["100 %", "80 %", "60 %"]
fill_time = "20 s"
drop_time = "6 s"
part_fill = true
gear = "10 kg"
"""

HOURLY = """\
time,temperature_degC,qnh_hPa,wind_from_deg,wind_kt,gust_kt,dew_point_degC
2026-08-14T14:00-10:00,30,1010,230,10,,8
2026-08-14T16:00-10:00,32,1008,250,14,22,8
2026-08-14T17:00-10:00,31,1008,260,14,20,
"""


@pytest.fixture
def incident_folder(tmp_path: Path) -> Path:
    """A folder with the incident, helicopter, bucket and weather files, and empty files for the layers."""
    texts = {"incident.toml": INCIDENT, "light.toml": HELICOPTER, "bucket.toml": BUCKET, "hourly.csv": HOURLY}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    layers = "elevation.tif canopy.tif water.gpkg rivers.geojson wires.geojson avoid.geojson flank.geojson"
    for name in layers.split():
        (tmp_path / name).touch()
    return tmp_path


@pytest.fixture
def swap(incident_folder: Path):
    """Replace a piece of text in one of the folder's files, which must be there."""

    def swap(old: str, new: str, file: str = "incident.toml") -> Path:
        path = incident_folder / file
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {file}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return incident_folder / "incident.toml"

    return swap
