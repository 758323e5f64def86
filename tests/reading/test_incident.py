"""The incident file as a record."""

import re
import subprocess
import sys
from dataclasses import fields
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from diproute import constants as k
from diproute.errors import IncidentError
from diproute.reading.incident import read_incident
from diproute.records import Drop, Limits, Line, Search, Wind
from diproute.units import UNITS, Kind, parse

DOCS = Path(__file__).parents[2] / "docs"
KT = 1852 / 3600


@pytest.fixture
def incident(incident_folder):
    return read_incident(incident_folder / "incident.toml")


def test_what_is_asked(incident):
    assert incident.title == "Kestrel Ridge"
    assert incident.display == "us"
    assert incident.when == datetime(2026, 8, 14, 15, tzinfo=timezone(timedelta(hours=-10)))
    assert incident.invented is False
    assert incident.helicopter.name == "Test light"
    assert (incident.crew_kg, incident.fuel, incident.count) == (95.0, 0.8, 1)
    assert (incident.bucket.name, incident.fill) == ("Demo 760", 0.75)
    assert incident.base is not None
    assert (incident.base.lat_deg, incident.base.lon_deg) == pytest.approx((42.1010, -160.0420))
    assert incident.base.refuel_s == k.REFUEL_S.value


def test_the_layers_are_found_beside_the_file(incident, incident_folder):
    layers = incident.layers
    assert layers.elevation == (incident_folder / "elevation.tif",)
    assert layers.elevation_is == "ground"
    assert layers.water == ((incident_folder / "water.gpkg", "lakes"), (incident_folder / "rivers.geojson", None))
    assert layers.canopy == (incident_folder / "canopy.tif", None)
    assert layers.obstacles == ((incident_folder / "wires.geojson", None),)
    assert layers.avoid == ((incident_folder / "avoid.geojson", None),)
    assert (layers.elevation_unit, layers.elevation_error_m, layers.canopy_error_m) == (None, None, None)


def test_a_file_with_a_colon_in_its_name_is_that_file(incident_folder, swap):
    (incident_folder / "water.gpkg:lakes").touch()
    layers = read_incident(swap("title", "title")).layers
    assert layers.water[0] == (incident_folder / "water.gpkg:lakes", None)


def test_what_the_layers_say_of_themselves(swap):
    layers = read_incident(
        swap("[layers]", '[layers]\nelevation_unit = "ft"\nelevation_error = "4 m"\ncanopy_error = "10 ft"')
    ).layers
    assert layers.elevation_unit == "ft"
    assert layers.elevation_error_m == 4.0
    assert layers.canopy_error_m == pytest.approx(3.048)


def test_paths_hold_from_another_directory(incident_folder, monkeypatch, tmp_path_factory):
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert read_incident(str(incident_folder / "incident.toml")).title == "Kestrel Ridge"


def test_drops_share_the_loads(incident, incident_folder):
    head, flank = incident.drops
    assert head == Drop("Head", pytest.approx(42 + 10.5 / 60), pytest.approx(-(160 + 3.25 / 60)), 0.75)
    assert flank == Drop("Flank", None, None, 0.25, incident_folder / "flank.geojson")


def test_lines_come_shortest_first_with_what_they_weigh(incident):
    assert [line.length_m for line in incident.lines] == pytest.approx([0, 30, 38.1])
    assert incident.lines[0] == Line(0.0, 0.0, 0.0)
    assert incident.lines[1] == Line(30.0, 30 * k.LINE_MASS_KG_M.value, 30 * k.LINE_SETTLE_S_M.value)


def test_lines_as_told(swap):
    line = read_incident(swap("[lines]", '[lines]\nmass_per_metre = "0.4 lb/ft"\nsettle = "0.1 s/ft"')).lines[1]
    assert line.mass_kg == pytest.approx(0.4 * 0.45359237 / 0.3048 * 30)
    assert line.settle_s == pytest.approx(0.1 / 0.3048 * 30)


def test_left_to_diproute(swap):
    swap('fuel = "80 %"', 'fuel = "plan"')
    incident = read_incident(swap('fill = "75 %"', 'fill = "plan"'))
    assert incident.fuel is None
    assert incident.fill is None


def test_left_out_it_is_left_to_diproute(swap):
    swap('fuel = "80 %"', "")
    incident = read_incident(swap('fill = "75 %"', ""))
    assert incident.fuel is None
    assert incident.fill is None


def test_gear_hangs_with_the_bucket(swap):
    swap('name = "demo-760"', 'file = "bucket.toml"')
    bucket = read_incident(swap('fill = "75 %"', 'gear = "44 lb"')).bucket
    assert bucket.gear_kg == pytest.approx(10 + 44 * 0.45359237)
    assert bucket.part_fill is True


def test_options_reach_the_chart(swap):
    plain = read_incident(swap("title", "title")).helicopter
    fitted = read_incident(swap("crew =", 'options = ["filter"]\ncrew =')).helicopter
    assert fitted.hoge.curves[0].mass_kg[0] == plain.hoge.curves[0].mass_kg[0] - 35
    assert fitted.source.endswith("fitted: filter")


def test_one_wind(incident):
    assert incident.weather.wind == Wind((1200.0,), (240.0,), (pytest.approx(12 * KT),))
    assert incident.weather.source == "incident file"
    assert incident.weather.air.lapse_k_per_m is None
    assert incident.weather.air.dew_point_k is None


@pytest.mark.parametrize(
    ("text", "from_deg", "speed", "gust"),
    [
        ("calm", 0, 0, None), ("Calm", 0, 0, None), ("280/8", 280, 8, None), ("280/08", 280, 8, None),
        ("280/8 kt", 280, 8, None), ("280/8G15", 280, 8, 15), ("28008KT", 280, 8, None), ("28008kt", 280, 8, None),
        ("28008G15KT", 280, 8, 15), ("00000KT", 0, 0, None), ("36010KT", 360, 10, None),
        ("28005MPS", 280, 5 / KT, None), (" 280 deg 8 kt gust 15 kt ", 280, 8, 15),
    ],
)  # fmt: skip
def test_winds_as_people_write_them(swap, text, from_deg, speed, gust):
    wind = read_incident(swap('"240 deg 12 kt"', f'"{text}"')).weather.wind
    assert (wind.altitude_m, wind.from_deg) == ((1200.0,), (from_deg,))
    assert wind.speed_m_s == pytest.approx((speed * KT,))
    assert wind.gust_m_s == (None if gust is None else pytest.approx(gust * KT))


def test_levels_take_a_wind_in_one_text(swap):
    levels = (
        '[{ altitude = "1000 m", wind = "calm" }, { altitude = "1500 m", wind = "280/8G15" },'
        ' { altitude = "2000 m", from = "290 deg", speed = "20 kt" }]'
    )
    wind = read_incident(swap('"240 deg 12 kt"', levels)).weather.wind
    assert wind.from_deg == (0.0, 280.0, 290.0)
    assert wind.speed_m_s == pytest.approx((0, 8 * KT, 20 * KT))
    assert wind.gust_m_s == pytest.approx(15 * KT)


def test_a_gust_and_a_lapse(swap):
    swap("12 kt", "12 kt gust 20 kt")
    weather = read_incident(swap("[weather]", '[weather]\nlapse = "6.5 K/km"')).weather
    assert weather.wind.gust_m_s == pytest.approx(20 * KT)
    assert weather.air.lapse_k_per_m == pytest.approx(0.0065)


def test_a_table_of_winds(swap):
    levels = (
        '[{ altitude = "1000 m", from = "240 deg", speed = "12 kt" },'
        ' { altitude = "6000 ft", from = "270 deg", speed = "10 m/s", gust = "15 m/s" }]'
    )
    wind = read_incident(swap('"240 deg 12 kt"', levels)).weather.wind
    assert wind.altitude_m == pytest.approx((1000, 1828.8))
    assert wind.from_deg == (240.0, 270.0)
    assert wind.speed_m_s == pytest.approx((12 * KT, 10))
    assert wind.gust_m_s == 15.0


def test_toml_own_time_is_read_too(swap):
    assert read_incident(swap('"2026-08-14T15:00-10:00"', "2026-08-14T15:00:00-10:00")).when.hour == 15


def test_a_byte_order_mark_does_no_harm(incident_folder):
    path = incident_folder / "incident.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert read_incident(path).title == "Kestrel Ridge"


def test_demo_data_says_so(swap):
    assert read_incident(swap("title", "invented = true\ntitle")).invented is True


def test_the_asked_limits(incident):
    assert incident.limits == Limits(reserve_s=1500.0)
    assert incident.search == Search(radius_m=9000.0)
    assert incident.hover_circle_m == k.HOVER_CIRCLE_TYPE_3_M.value


def test_weights(swap):
    limits = read_incident(swap("[limits]", "[limits]\nweights = { distance = 40, approach = 0 }")).limits
    assert limits.weights == (40.0, 25.0, 25.0, 0.0)


# ------------------------------------------------------------------------------ docs/limits.md against the code
KIND_OF_UNIT: dict[str, Kind] = {"_m": "length", "_s": "time", "_m_s": "speed", "_kg": "mass", "": "ratio"}


def printed_defaults() -> dict[str, tuple[str, str]]:
    """Key -> default and source, as the tables of docs/limits.md print them."""
    rows = re.findall(r"^\| `(\w[\w. ]*)` \| ([^|]+) \| ([^|]+) \|", (DOCS / "limits.md").read_text(), re.MULTILINE)
    return {key: (default.strip(), source.strip()) for key, default, source in rows}


def field_of(key: str) -> tuple[str, str]:
    names = {field.name for field in fields(Limits)}
    return next((key + unit, unit) for unit in ("_m_s", "_m", "_s", "_kg", "") if key + unit in names)


def test_every_limit_can_be_set_and_is_printed(incident_folder):
    from diproute.reading.incident_schema import LimitsTable

    keys = [key for key in LimitsTable.model_fields if key not in ("weights", "surface")]
    assert {field_of(key)[0] for key in keys} | {"weights", "surface", "hover_margin_share"} == {
        field.name for field in fields(Limits)
    }
    printed = printed_defaults()
    assert set(keys) <= set(printed)
    path = incident_folder / "incident.toml"
    plain = path.read_text()
    for key in keys:
        field, unit = field_of(key)
        low = next(iter(UNITS[KIND_OF_UNIT[unit]]))
        asked = {"_m": 40, "_s": 30, "_m_s": 2, "_kg": 70, "": 7}[unit]
        path.write_text(plain.replace('reserve = "25 min"', f'{key} = "{asked} {low}"'))
        got = getattr(read_incident(path).limits, field)
        assert got == pytest.approx(asked / 100 if unit == "" else asked), key
        assert got != getattr(Limits(), field), f"{key}: choose another value, this is the default"


IN_WORDS = (
    "radius", "keep", "hover_circle", "weights", "surface", "keep_apart", "hover_margin", "wind", "people_distance",
)  # fmt: skip


@pytest.mark.parametrize("key", [key for key in printed_defaults() if key not in IN_WORDS])
def test_the_printed_default_is_the_default(key):
    text = printed_defaults()[key][0].strip("`")
    elsewhere = {
        "refuel": ("time", k.REFUEL_S), "mass_per_metre": ("line_mass", k.LINE_MASS_KG_M),
        "settle": ("settle", k.LINE_SETTLE_S_M),
    }  # fmt: skip
    if key in elsewhere:
        kind, constant = elsewhere[key]
        assert parse(text, kind, key) == pytest.approx(constant.value)
    else:
        field, unit = field_of(key)
        assert parse(text, KIND_OF_UNIT[unit], key) == pytest.approx(getattr(Limits(), field), rel=0.002)


def test_the_printed_search_surface_and_hover_circles():
    printed = printed_defaults()
    assert printed["surface"][0] == Limits().surface
    assert parse(printed["radius"][0].strip("`"), "length", "radius") == Search().radius_m
    assert int(printed["keep"][0]) == Search().keep
    assert printed["weights"][0] == "25 each"
    assert Limits().weights == (25.0,) * 4
    circles = re.findall(r"([\d.]+) m \(type (\d)\)", printed["hover_circle"][0])
    assert {int(kind): float(size) for size, kind in circles} == {
        1: pytest.approx(k.HOVER_CIRCLE_TYPE_1_M.value, abs=0.05),
        2: pytest.approx(k.HOVER_CIRCLE_TYPE_2_M.value, abs=0.05),
        3: pytest.approx(k.HOVER_CIRCLE_TYPE_3_M.value, abs=0.05),
    }


SOURCES = {
    "reserve": k.RESERVE_S, "tailwind": k.TAILWIND_M_S, "crosswind": k.CROSSWIND_M_S, "side_slope": k.SIDE_SLOPE,
    "shore_clearance": k.SHORE_CLEARANCE_M, "hover_circle": k.HOVER_CIRCLE_TYPE_3_M, "rotor_margin": k.ROTOR_MARGIN_M,
    "side_length": k.SIDE_LENGTH_M, "load_margin": k.LOAD_MARGIN_M, "wire_margin": k.WIRE_MARGIN_M,
    "departure_gradient": k.SURFACE_SLOPE, "arrival_gradient": k.SURFACE_SLOPE, "corridor_start": k.CORRIDOR_START_M,
    "corridor_spread": k.CORRIDOR_SPREAD, "corridor_length": k.CORRIDOR_LENGTH_M, "least_lift": k.LEAST_LIFT_M,
    "lift_limit": k.LIFT_LIMIT_M, "cruise_clearance": k.CRUISE_CLEARANCE_M,
    "lateral_clearance": k.LATERAL_CLEARANCE_M, "drop_height": k.DROP_HEIGHT_M,
    "hover_margin": k.HOVER_MARGIN_SHARE, "wind": k.WIND_TYPE_3_M_S, "gust_spread": k.GUST_SPREAD_M_S,
    "vertical_descent": k.VERTICAL_DESCENT_M_S, "turn_clearance": k.TURN_CLEARANCE_M,
    "people_distance": k.PEOPLE_ROTORS, "drop_lift_limit": k.DROP_LIFT_LIMIT_M, "weights": k.SCORE_WEIGHT,
    "radius": k.SEARCH_RADIUS_M, "keep": k.SEARCH_KEEP, "refuel": k.REFUEL_S, "mass_per_metre": k.LINE_MASS_KG_M,
    "settle": k.LINE_SETTLE_S_M, "keep_apart": k.KEEP_APART_M, "surface": k.SURFACE_SLOPE,
}  # fmt: skip


@pytest.mark.parametrize("key", printed_defaults())
def test_the_printed_source_is_the_constants_source(key):
    source = SOURCES[key].source
    printed = printed_defaults()[key][1]
    assert ("planning assumption" if source.trust == "assumption" else source.title) in printed
    words = {"print": "read in print", "memory": "from memory", "restated": "as restated", "assumption": "assumption"}
    assert words[source.trust] in printed


def test_every_key_is_in_the_formats_page():
    from diproute.reading import fleet_schema, incident_schema
    from diproute.reading.schema import Table

    page = (DOCS / "formats.md").read_text()
    for module in (incident_schema, fleet_schema):
        for table in vars(module).values():
            if isinstance(table, type) and issubclass(table, Table) and table is not Table:
                written = table.keys()
                for field in written:
                    assert f"`{field}`" in page, f"{table.__name__}: {field}"


def test_reading_loads_no_heavy_library(incident_folder):
    code = (
        "import sys; from diproute.reading import incident; early = 'pydantic' in sys.modules; "
        f"incident.read_incident({str(incident_folder / 'incident.toml')!r}); "
        "heavy = {'numba', 'scipy', 'rasterio', 'geopandas', 'pandas', 'metar_taf_parser'} & set(sys.modules); "
        "sys.exit(f'early {early}, {heavy}' if early or heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


MORE = """
[[more]]
helicopter = { name = "demo-medium", crew = "190 kg", count = 2 }
bucket = { name = "demo-1060", fill = "75 %" }

[duty]
flown_today = "2 h"
on_duty = "5 h"
flown_before = ["7 h", "6 h"]
"""


def test_more_helicopters_duty_and_the_surface_are_read(incident_folder):
    path = incident_folder / "incident.toml"
    path.write_text(path.read_text().replace('reserve = "25 min"', 'surface = "icao-b"') + MORE)
    incident = read_incident(path)
    (craft,) = incident.more
    assert (craft.helicopter.type, craft.count, craft.crew_kg, craft.fuel, craft.fill) == (2, 2, 190, None, 0.75)
    assert incident.duty.flown_before_s == (25200, 21600)
    assert (incident.duty.flown_today_s, incident.duty.on_duty_s) == (7200, 18000)
    assert incident.limits.surface == "icao-b"


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (MORE.replace('on_duty = "5 h"', 'on_duty = "1 h"'), "duty.on_duty: less than flown_today"),
        (MORE.replace("demo-medium", "demo-medum"), "more[0].helicopter.name"),
        (MORE.replace('"75 %"', '"80 %"'), "more[0].bucket.fill"),
        (MORE.replace("crew", "crow"), "crow"),
    ],
)
def test_wrong_more_and_duty_are_refused(incident_folder, wrong, says):
    path = incident_folder / "incident.toml"
    path.write_text(path.read_text() + wrong)
    with pytest.raises(IncidentError) as caught:
        read_incident(path)
    assert says in str(caught.value)
