"""What is wrong with a file is said in one line: the file, the key, what came, what was wanted."""

import re
import traceback
from pathlib import Path

import pytest

from diproute.errors import IncidentError, InputError, WeatherError
from diproute.reading.incident import read_incident

WEATHER = 'temperature = "31 degC"\nmeasured_at = "1200 m"\nqnh = "1009 hPa"\nwind = "240 deg 12 kt"\n'
METAR = 'station_elevation = "900 m"\nmetar = "METAR KXYZ 150053Z 24012KT 10SM CLR 31/08 A2992"\n'

# what is swapped out, what comes in, in which file, what the message must hold
INC, HEL, BUC = "incident.toml", "light.toml", "bucket.toml"
WRONG = [
    # keys
    ('title = "Kestrel Ridge"\n', "", INC, ["incident.toml: title: missing"]),
    ("canopy =", "canopie =", INC, ["layers.canopie", "unknown key", 'did you mean "canopy"?']),
    ("[search]", "[seach]", INC, ["seach", 'did you mean "search"?']),
    ("[layers]", "[layers]\nzzz = 1", INC, ["layers.zzz", "known here: elevation, elevation_is"]),
    ("reserve =", "reserves =", INC, ["limits.reserves", 'did you mean "reserve"?']),
    ('when = "2026', 'unit = "m"\nwhen = "2026', INC, ["unit: unknown key"]),
    ('elevation_is = "ground"\n', "", INC, ["layers.elevation_is: missing"]),
    ('elevation_is = "ground"', 'elevation_is = "bare"', INC, ["layers.elevation_is", "bare", "'ground' or 'surface'"]),
    ("[base]\nat =", "[base]\nwhere =", INC, ["base.where: unknown key"]),
    ("crew =", "cerw =", INC, ["helicopter.cerw", 'did you mean "crew"?']),
    # bare numbers, wrong units, no quantities
    ('"31 degC"', "31", INC, ["incident.toml: weather.temperature: got 31", 'write it like "31 degC"']),
    ('"31 degC"', '"31"', INC, ["weather.temperature: got '31' without a unit", '"31 degC"']),
    ('"31 degC"', '"hot"', INC, ["weather.temperature", "cannot read 'hot'"]),
    ('"95 kg"', '"95 kilo"', INC, ["helicopter.crew", "unknown unit 'kilo'", "kg, lb"]),
    ('"9 km"', "9", INC, ["search.radius: got 9", "with its unit"]),
    ('"80 %"', "0.8", INC, ["helicopter.fuel", "0.8", 'or "plan"']),
    ('"25 min"', '"25 m"', INC, ["limits.reserve", "unknown unit 'm'"]),
    ('"125 ft"', "38", INC, ["lines.carried[2]: got 38"]),
    # impossible values
    ('"31 degC"', '"310 degC"', INC, ["weather.temperature", "310 degC", "at most 58 degC", '"310 K"?']),
    ('"1009 hPa"', '"29.92 hPa"', INC, ["weather.qnh", "at least 870 hPa", '"29.92 inHg"?']),
    ('fill = "75 %"', 'fill = "120 %"', INC, ["bucket.fill", "120 %", "at most 100 %"]),
    ('fill = "75 %"', 'fill = "80 %"', INC, ["bucket.fill", "80 %", "100 %, 85 %, 75 %, 65 %, 55 %"]),
    ("share = 3.0", "share = -1", INC, ["drop[0].share", "-1", "at least 0"]),
    ("share = 3.0", "share = nan", INC, ["drop[0].share", "finite"]),
    ("share = 3.0", 'share = "60 %"', INC, ["drop[0].share", "wanted a number"]),
    ('"0 m"', '"-5 m"', INC, ["lines.carried[1]", "at least 0 m"]),
    ('"30 m", "0 m"', '"30 m", "30 m"', INC, ["lines.carried[1]", "listed twice"]),
    ('carried = ["30 m", "0 m", "125 ft"]', "carried = []", INC, ["lines.carried: empty"]),
    ('"240 deg 12 kt"', '"400 deg 12 kt"', INC, ["weather.wind", "400 deg", "at most 360 deg"]),
    ('"240 deg 12 kt"', '"12 kt"', INC, ["weather.wind", 'write it like "240 deg 12 kt"']),
    ('"240 deg 12 kt"', '"240 deg 12 kt gust 8 kt"', INC, ["weather.wind", "gust", "below"]),
    ('"240 deg 12 kt"', '"28/8"', INC, ["weather.wind: cannot read '28/8'", '"280/8"', '"calm"']),
    ('"240 deg 12 kt"', '"400/8"', INC, ["weather.wind", "400 deg", "at most 360 deg"]),
    ('"240 deg 12 kt"', '"280105KT"', INC, ["weather.wind: cannot read '280105KT'"]),
    ('"240 deg 12 kt"', '"28015G08KT"', INC, ["weather.wind", "gust", "below"]),
    ('"240 deg 12 kt"', '"VRB04KT"', INC, ["weather.wind", "no direction to plan with", '"calm"']),
    ('"240 deg 12 kt"', "[]", INC, ["weather.wind: empty"]),
    (
        '"240 deg 12 kt"',
        '[{ altitude = "1000 m", wind = "280/8", speed = "8 kt" }]',
        INC,
        ["weather.wind[0].speed: cannot stand beside"],
    ),
    ('"240 deg 12 kt"', '[{ altitude = "1000 m" }]', INC, ["weather.wind[0].from: missing", "wind ="]),
    (
        '"240 deg 12 kt"',
        '[{ altitude = "1000 m", from = "240 deg", speed = 12 }]',
        INC,
        ["weather.wind[0].speed: got 12"],
    ),
    ('"240 deg 12 kt"', '[{ altitude = "1000 m", from = "240 deg" }]', INC, ["weather.wind[0].speed: missing"]),
    (
        '"240 deg 12 kt"',
        '[{ altitude = "2 km", from = "9 deg", speed = "9 kt" }, { altitude = "1 km", from = "1 deg", speed = "1kt" }]',
        INC,
        ["weather.wind", "rise"],
    ),
    ('"9 km"', '"0 km"', INC, ["search.radius", "more than 0 km"]),
    ("15:00-10:00", "15:00", INC, ["when", "without its offset", '"2026-08-14T15:00-10:00"']),
    ("15:00-10:00", "25:00-10:00", INC, ["when: cannot read"]),
    ('"2026-08-14T15:00-10:00"', "2026-08-14", INC, ["when"]),
    ("[weather]", '[weather]\ndew_point = "35 degC"', INC, ["weather.dew_point", "above the temperature"]),
    ("[limits]", '[limits]\nhover_circle = "5 m"', INC, ["limits.hover_circle", "smaller than the rotor"]),
    ("[limits]", '[limits]\nleast_lift = "80 m"', INC, ["limits.least_lift", "lift_limit"]),
    ("[limits]", "[limits]\nweights = { distance = -1 }", INC, ["limits.weights.distance", "at least 0"]),
    ("[limits]", "[limits]\nweights = { distanse = 1 }", INC, ["limits.weights.distanse", '"distance"?']),
    (
        "[limits]",
        "[limits]\nweights = { distance = 0, altitude = 0, obstacles = 0, approach = 0 }",
        INC,
        ["limits.weights", "all four weights are 0"],
    ),
    ("crew =", "count = 0\ncrew =", INC, ["helicopter.count", "at least 1"]),
    ("crew =", "count = true\ncrew =", INC, ["helicopter.count", "whole number"]),
    ("title =", 'display = "imperial"\ntitle =', INC, ["display", "'us' or 'metric'"]),
    # places
    ('"42 10.500 N 160 03.250 W"', '"160 03.250 W 42 10.500 N"', INC, ["drop[0].at", "swapped"]),
    ('"42 10.500 N 160 03.250 W"', '"95 N 160 W"', INC, ["drop[0].at", "95"]),
    ('"42 10.500 N 160 03.250 W"', "42.175", INC, ["drop[0].at: got 42.175"]),
    ("share = 3.0", 'along = "flank.geojson"', INC, ["drop[0].along", 'both "at" and "along"']),
    ('along = "flank.geojson"\n', "", INC, ["drop[1].at: missing"]),
    ('name = "Flank"', 'name = "Head"', INC, ["drop[1].name", "used twice"]),
    # files
    ('["elevation.tif"]', '["elevatoin.tif"]', INC, ["layers.elevation[0]", "no such file", "elevatoin.tif"]),
    ('["elevation.tif"]', "[]", INC, ["layers.elevation: empty"]),
    ('["elevation.tif"]', '"elevation.tif"', INC, ["layers.elevation", "wanted a list"]),
    ('["elevation.tif"]', '["."]', INC, ["layers.elevation[0]", "directory"]),
    ('"water.gpkg:lakes"', '"waters.gpkg:lakes"', INC, ["layers.water[0]", "no such file", "waters.gpkg"]),
    ('along = "flank.geojson"', 'along = "flanc.geojson"', INC, ["drop[1].along", "no such file"]),
    ('file = "light.toml"', 'file = "lihgt.toml"', INC, ["helicopter.file", "no such file", "lihgt.toml"]),
    ('file = "light.toml"', 'name = "demo-lihgt"', INC, ["helicopter.name", "demo-light"]),
    (
        'file = "light.toml"',
        'file = "light.toml"\nname = "demo-light"',
        INC,
        ["helicopter.name", 'both "file" and "name"'],
    ),
    ('file = "light.toml"\n', "", INC, ["helicopter.file: missing"]),
    ('name = "demo-760"', 'name = "demo-761"', INC, ["bucket.name", "demo-1060, demo-2900, demo-760"]),
    ("crew =", 'options = ["filters"]\ncrew =', INC, ["light.toml: hoge.option", '"filters"', '"filter"?']),
    # weather from elsewhere
    (WEATHER, METAR + 'qnh = "1009 hPa"\n', INC, ["weather.qnh", "cannot stand beside", "metar"]),
    (WEATHER, METAR.splitlines()[1], INC, ["weather.station_elevation: missing"]),
    (WEATHER, 'taf = "TAF KXYZ"\n' + WEATHER, INC, ["weather.taf", "beside a metar"]),
    (WEATHER, 'hourly = "hourly.csv"\n', INC, ["weather.measured_at: missing"]),
    (WEATHER, 'hourly = "hours.csv"\nmeasured_at = "1200 m"\n', INC, ["weather.hourly", "no such file"]),
    (WEATHER, "", INC, ["weather.temperature: missing", "metar or an hourly table"]),
    (WEATHER, METAR.replace("A2992", ""), INC, ["incident.toml: weather.metar", "no QNH"]),
    # the helicopter's file
    ("equipped =", "equiped =", HEL, ["light.toml: equiped", 'did you mean "equipped"?']),
    ('"180 L/h"', "180", HEL, ["light.toml: burn.hover: got 180", '"180 L/h"']),
    ('hover = "180 L/h", ', "", HEL, ["light.toml: burn.hover: missing"]),
    ("type = 3", "type = 4", HEL, ["light.toml: type", "4"]),
    ("type = 3", 'type = "3"', HEL, ["light.toml: type"]),
    ('"1000 kg"', '"2500 kg"', HEL, ["light.toml: equipped", "max_gross_external"]),
    ('hook_limit = "1100 kg"', 'hook_limit = "2425 kg"', HEL, ["light.toml: hook_limit", "lb"]),
    ('source = "made up for a test"\n', "", HEL, ["light.toml: source: missing"]),
    ('"0.8 kg/L"', '"8 kg/L"', HEL, ["light.toml: fuel_density", "at most 0.90 kg/L"]),
    ('  ["2400 kg", "2300 kg", "2200 kg"],\n', "", HEL, ["light.toml: hoge.mass", "2 rows for 3"]),
    ('"2400 kg", "2300 kg", "2200 kg"]', '"2400 kg", "2300 kg"]', HEL, ["light.toml: hoge.mass[1]", "2 cells for 3"]),
    ('"2400 kg", "2300 kg", "2200 kg"]', '"2400 kg", 2300, "2200 kg"]', HEL, ["light.toml: hoge.mass[1][1]: got 2300"]),
    (
        '["2300 kg", "2200 kg", "-"]',
        '["2300 kg", "2350 kg", "-"]',
        HEL,
        ["light.toml: hoge", "8000 ft", "20 degC", "2350 kg", "2300 kg", "4000 ft", "rise with altitude"],
    ),
    (
        '["2400 kg", "2300 kg", "2200 kg"]',
        '["2400 kg", "2200 kg", "2300 kg"]',
        HEL,
        ["light.toml: hoge", "4000 ft", "40 degC", "2300 kg", "2200 kg", "20 degC", "rise with temperature"],
    ),
    (
        '["2400 kg", "2400 kg", "2300 kg"]',
        '["2300 kg", "2400 kg", "2300 kg"]',
        HEL,
        ["light.toml: hoge", "more than 2300 kg", "0 degC", "rise with"],
    ),
    ('["0 ft", "4000 ft", "8000 ft"]', '["0 ft", "8000 ft", "4000 ft"]', HEL, ["hoge.pressure_altitude[2]", "rising"]),
    ('["0 ft", "4000 ft", "8000 ft"]', '["0 kg", "4000 ft", "8000 ft"]', HEL, ["hoge.pressure_altitude[0]", "'kg'"]),
    ("[hoge]\n", '[[hoge.curve]]\ntemperature = "0 degC"\n', HEL, ["light.toml"]),
    # the bucket's file
    ('"100 %", "80 %"', '"80 %", "100 %"', BUC, ["bucket.toml: fills[1]", "100 %"]),
    ('"600 L"', '"600 kg"', BUC, ["bucket.toml: capacity", "unknown unit 'kg'"]),
    ('length = "4 m"\n', "", BUC, ["bucket.toml: length: missing"]),
    ("part_fill = true", 'part_fill = "yes"', BUC, ["bucket.toml: part_fill", "true or false"]),
]


def refusal(swap, old: str, new: str, file: str) -> InputError:
    if file == BUC:
        swap('name = "demo-760"', 'file = "bucket.toml"')
    path = swap(old, new, file)
    with pytest.raises(InputError) as caught:
        read_incident(path)
    return caught.value


@pytest.mark.parametrize(("old", "new", "file", "wanted"), WRONG)
def test_wrong_input_is_named(swap, old, new, file, wanted):
    message = str(refusal(swap, old, new, file))
    for piece in wanted:
        assert piece in message


@pytest.mark.parametrize(("old", "new", "file", "wanted"), WRONG)
def test_the_message_is_one_plain_line_of_ours(swap, old, new, file, wanted):
    error = refusal(swap, old, new, file)
    message = str(error)
    assert message.splitlines() == [message]
    assert len(message) < 420
    assert not re.search(r"Traceback|pydantic|Input should|validation error|type=|\bNone\b|function-plain|@|~", message)
    shown = "".join(traceback.format_exception_only(error))
    assert shown.count("\n") == 1


def test_the_formats_page_shows_real_messages(swap, incident_folder):
    page = (Path(__file__).parents[2] / "docs" / "formats.md").read_text(encoding="utf-8")
    printed = page.split("```\n")[1].splitlines()
    texts = {path: path.read_text(encoding="utf-8") for path in incident_folder.glob("*.toml")}
    found = set()
    for old, new, file, _ in WRONG:
        found.add(str(refusal(swap, old, new, file)))
        for path, text in texts.items():
            path.write_text(text, encoding="utf-8")
    assert len(printed) == 4
    assert set(printed) <= found


def test_an_error_names_the_other_wrong_keys_too(swap):
    swap('"95 kg"', "95")
    swap('"9 km"', "9")
    with pytest.raises(IncidentError, match=r"helicopter.crew: got 95.*\(also wrong: search.radius\)$"):
        read_incident(swap('fill = "75 %"', 'fill = "75 %"'))


def test_all_shares_zero(swap):
    swap('along = "flank.geojson"', 'along = "flank.geojson"\nshare = 0')
    with pytest.raises(IncidentError, match=r"drop\[0\]\.share: the shares of all drops are 0"):
        read_incident(swap("share = 3.0", "share = 0"))


def test_pounds_taken_for_kilograms(incident_folder):
    path = incident_folder / "light.toml"
    text = path.read_text()
    head, hoge = text.split("[hoge]\n")
    path.write_text(head + "[hoge]\n" + re.sub(r'"(2\d{3}) kg"', lambda m: f'"{round(int(m[1]) / 0.4536)} kg"', hoge))
    with pytest.raises(IncidentError, match=r"light.toml: hoge: 5291 kg at 0 ft .* 0 degC.*more than twice.*lb"):
        read_incident(incident_folder / "incident.toml")
    path.write_text(head + "[hoge]\n" + re.sub(r'"(2\d{3}) kg"', r'"\1 lb"', hoge))
    with pytest.raises(IncidentError, match=r"light.toml: hoge: its greatest mass is 1089 kg.*kg written as lb"):
        read_incident(incident_folder / "incident.toml")


@pytest.mark.parametrize(
    ("make", "wanted"),
    [
        (lambda path: path.unlink(), "no such file; give the path of the incident file"),
        (lambda path: (path.unlink(), path.mkdir()), "this is a directory"),
        (lambda path: path.write_bytes(b'title = "caf\xe9"'), "not UTF-8 text"),
        (lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n\0\0"), "not UTF-8 text"),
        (lambda path: path.write_text("title = Kestrel"), "not valid TOML"),
        (lambda path: path.write_text('{"title": "Kestrel"}'), "not valid TOML"),
        (lambda path: path.write_text(""), "title: missing"),
        (lambda path: path.write_text("a = " + "[" * 5000), "not valid TOML"),
    ],
)
def test_a_file_that_is_no_incident(incident_folder, make, wanted):
    path = incident_folder / "incident.toml"
    make(path)
    with pytest.raises(IncidentError) as caught:
        read_incident(path)
    message = str(caught.value)
    assert wanted in message
    assert "incident.toml" in message
    assert message.splitlines() == [message]


def test_a_helicopter_file_that_is_not_toml(incident_folder):
    (incident_folder / "light.toml").write_text("name: Test light")
    with pytest.raises(IncidentError, match=r"light\.toml: not valid TOML"):
        read_incident(incident_folder / "incident.toml")


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("temperature_degC", "temp_degC", 'unknown column "temp_degC"'),
        ("temperature_degC", "temperature", "temperature_K, temperature_degC, temperature_degF"),
        ("wind_kt", "wind_knots", 'unknown column "wind_knots" in hourly.csv; known: wind_m/s, wind_m_s'),
        ("gust_kt,", "", "8 cells under 7|7 cells under 6"),
        ("qnh_hPa", "gust_kt", "no column for qnh|twice"),
        (",30,", ",,", "line 2: temperature_degC is blank"),
        (",30,", ",warm,", 'line 2: cannot read "warm" under temperature_degC'),
        (",1010,", ",29.8,", "line 2: 29.8 under qnh_hPa is not possible"),
        (",230,", ",430,", "line 2: 430 under wind_from_deg is not possible"),
        (",22,", ",5,", "line 3: the gust is below"),
        (",,8", ",,38", "line 2: the dew point is above"),
        ("T14:00-10:00", "T14:00", "line 2: the time .* lacks its offset"),
        ("2026-08-14T14:00", "14:00", "line 2: cannot read .* as a time"),
        ("T14:00", "T16:30", "line 3: its time is not after"),
        ("T14:00", "T15:30", "does not hold the plan's time"),
    ],
)
def test_a_wrong_hourly_table(swap, old, new, wanted):
    swap(old, new, "hourly.csv")
    with pytest.raises(WeatherError, match=wanted) as caught:
        read_incident(swap(WEATHER, 'hourly = "hourly.csv"\nmeasured_at = "1200 m"\n'))
    assert str(caught.value).startswith("incident.toml: weather.hourly: ")
    assert len(str(caught.value).splitlines()) == 1
