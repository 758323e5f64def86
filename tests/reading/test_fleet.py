"""Helicopters and buckets: the demo fleet, and the three forms of a hover chart."""

import math
import re
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from diproute.constants import FRESH_WATER_KG_L, LB_KG
from diproute.errors import IncidentError
from diproute.reading.fleet import fleet_names, read_bucket, read_helicopter
from diproute.records import Helicopter, HoverCurve

FT = 0.3048
DEMO = {"demo-light": (3140, 2930), "demo-medium": (5790, 5450), "demo-heavy": (11340, 10700)}  # M0, TOP of the rule


def sigma(pressure_altitude_ft: float, temperature_c: float) -> float:
    """Density ratio by the gas law in the standard pressure of the altitude."""
    delta = (1 - 0.0065 * pressure_altitude_ft * FT / 288.15) ** 5.25588
    return delta * 288.15 / (temperature_c + 273.15)


def cells(helicopter: Helicopter):
    for curve in helicopter.hoge.curves:
        for height, mass in zip(curve.pressure_altitude_m, curve.mass_kg, strict=True):
            yield height / FT, curve.temperature_k - 273.15, mass


def at(helicopter: Helicopter, pressure_altitude_m: float, temperature_c: float) -> float:
    """Read the chart by eye: along both neighbouring curves, then between them."""
    curves = helicopter.hoge.curves
    masses = [np.interp(pressure_altitude_m, c.pressure_altitude_m, c.mass_kg) for c in curves]
    return float(np.interp(temperature_c + 273.15, [c.temperature_k for c in curves], masses))


# ----------------------------------------------------------------------------------------- the demo fleet
# rotor [m]; equipped, greatest, hook and reduction [kg]; tank [L]; as the first release had them
FORMER_HELICOPTERS = [
    (10.7, 1300, 2750, 1200, 60, 540), (14.4, 2900, 5100, 2000, 90, 830), (19.5, 5200, 10_000, 4000, 160, 2050),
]  # fmt: skip
FORMER_BUCKETS = [(820, 135), (1136, 160), (2700, 340)]  # capacity [L], empty [kg]
FORMER_FILLS = (0.9, 0.8, 0.7, 0.6)  # but for the full bucket
# methods.md 8: buckets of 216 and of just under 2600 US gal, as litres and as masses full; the smallest setting
KNOWN_LITRES, KNOWN_FULL_KG, KNOWN_FILL = (820, 9800), (953, 10_000), 0.6
SAMPLE = Path(__file__).parent.parent.parent / "sample_geo"


def apart(value, others):
    return all(abs(value / other - 1) >= 0.05 for other in others)


@pytest.mark.parametrize("which", [*DEMO, SAMPLE / "light.toml"], ids=str)
def test_demo_helicopters_are_like_none_before(which):
    h = read_helicopter(which)
    mine = (
        h.rotor_diameter_m, h.equipped_kg, h.max_gross_external_kg, h.hook_limit_kg, h.weight_reduction_kg,
        h.fuel_capacity_l,
    )  # fmt: skip
    for value, before in zip(mine, zip(*FORMER_HELICOPTERS, strict=True), strict=True):
        assert apart(value, before), value


@pytest.mark.parametrize("which", ["demo-760", "demo-1060", "demo-2900", SAMPLE / "bucket.toml"], ids=str)
def test_demo_buckets_are_like_none_before(which):
    bucket = read_bucket(which)
    capacities, masses = zip(*FORMER_BUCKETS, strict=True)
    assert apart(bucket.capacity_l, (*capacities, *KNOWN_LITRES))
    assert apart(bucket.empty_kg, masses)
    assert apart(bucket.capacity_l * FRESH_WATER_KG_L.value + bucket.empty_kg, KNOWN_FULL_KG)
    assert all(apart(fill, FORMER_FILLS) for fill in bucket.fills)
    assert min(bucket.fills) < 0.95 * KNOWN_FILL


def test_a_demo_helicopter_is_no_faster_with_the_empty_bucket():
    for which in (*DEMO, SAMPLE / "light.toml"):
        h = read_helicopter(which)
        assert h.empty_line_m_s <= h.empty_belly_m_s <= h.speed_empty_m_s <= h.speed_loaded_m_s


def test_the_names_of_the_demo_fleet():
    assert fleet_names("helicopter") == ("demo-heavy", "demo-light", "demo-medium")
    assert fleet_names("bucket") == ("demo-1060", "demo-2900", "demo-760")


@pytest.mark.parametrize("name", fleet_names("helicopter"))
def test_a_demo_helicopter_says_that_it_is_made_up(name):
    helicopter = read_helicopter(name)
    assert "made up" in helicopter.source
    assert "not a real type" in helicopter.source


@pytest.mark.parametrize("name", fleet_names("bucket"))
def test_a_demo_bucket_says_that_it_is_made_up(name):
    bucket = read_bucket(name)
    assert "made up" in bucket.source
    assert bucket.fills == (1.0, 0.85, 0.75, 0.65, 0.55)


@pytest.mark.parametrize("name", DEMO)
def test_a_demo_chart_follows_momentum_theory(name):
    """Thrust ~ sigma^(1/3) at constant power (derived from momentum theory); the gearbox and the heat below it."""
    scale, top = DEMO[name]
    blanks = 0
    for altitude_ft, celsius, mass in cells(read_helicopter(name)):
        standard = 15 - 0.0065 * altitude_ft * FT
        if math.isnan(mass):
            blanks += 1
            assert celsius > standard + 45
            continue
        expected = min(
            top, scale * sigma(altitude_ft, celsius) ** (1 / 3) * (1 - 0.003 * max(0, celsius - 15)) ** (2 / 3)
        )
        assert expected - 5 <= mass <= expected
        assert mass % 5 == 0
    assert blanks == 7


def test_between_cool_cells_below_the_gearbox_limit_only_density_counts():
    masses = {(round(a), round(t)): m for a, t, m in cells(read_helicopter("demo-light"))}
    for low, high in (((10000, 0), (14000, 0)), ((10000, -20), (12000, -10)), ((8000, 10), (14000, -20))):
        assert masses[high] / masses[low] == pytest.approx((sigma(*high) / sigma(*low)) ** (1 / 3), abs=0.003)


def test_the_light_helicopter_is_the_one_of_the_format_page():
    h = read_helicopter("demo-light")
    assert (h.type, h.rotor_diameter_m, h.equipped_kg, h.max_gross_external_kg) == (3, 11.5, 1400, 2930)
    assert (h.hook_limit_kg, h.weight_reduction_kg, h.fuel_capacity_l) == (1290, 64, 575)
    assert h.fuel_capacity_kg == pytest.approx(460)
    assert h.burn_hover_kg_s == pytest.approx(200 * 0.8 / 3600)
    assert h.burn_loaded_kg_s == pytest.approx(190 * 0.8 / 3600)
    assert h.burn_empty_kg_s == pytest.approx(175 * 0.8 / 3600)
    assert h.speed_loaded_m_s == pytest.approx(80 * 1852 / 3600)
    assert h.climb_loaded_m_s == pytest.approx(500 * FT / 60)
    assert (h.lift_speed_m_s, h.lower_speed_m_s, h.manoeuvre_s) == (1.5, 1.2, 45.0)
    assert h.speed_empty_m_s == h.empty_belly_m_s == pytest.approx(80 * 1852 / 3600)
    assert h.empty_line_m_s == pytest.approx(75 * 1852 / 3600)


def test_the_bucket_of_216_gal_weighs_just_over_2100_lb_full_with_its_rigging(tmp_path):
    """Common practice, no published source (methods.md 8): "just over 2100 lb", "about 820 L", "just under 1000 kg"."""
    path = tmp_path / "bucket.toml"
    text = (files("diproute.reading") / "fleet_data" / "buckets" / "demo-760.toml").read_text(encoding="utf-8")
    path.write_text(text.replace('"760 L"', '"216 gal"').replace('"125 kg"', '"135 kg"'))
    bucket = read_bucket(path)
    full_kg = bucket.capacity_l * FRESH_WATER_KG_L.value + bucket.empty_kg
    assert bucket.capacity_l == pytest.approx(820, abs=5)
    assert full_kg / LB_KG.value == pytest.approx(2100, abs=15)
    assert full_kg < 1000


def test_80_percent_fuel_gives_about_two_hours_of_bucket_work():
    """Common practice, no published source (methods.md 8): 80 % fuel, about two hours before refuelling."""
    h = read_helicopter("demo-light")
    usable_kg = 0.8 * h.fuel_capacity_kg - 20 * 60 * h.burn_empty_kg_s
    hours = [usable_kg / burn / 3600 for burn in (h.burn_hover_kg_s, h.burn_empty_kg_s)]
    assert 1.9 < hours[0] < hours[1] < 2.35


@pytest.mark.parametrize(("altitude_m", "celsius"), [(1500, 29.0), (1800, 27.1), (2100, 25.2)])
def test_on_a_hot_day_fill_is_traded_for_fuel(altitude_m, celsius):
    """31 degC at 1200 m, cooled by 6.5 K/km: 85 % fill goes with 80 % fuel, a full bucket does not."""
    h, bucket = read_helicopter("demo-light"), read_bucket("demo-760")
    selected = min(at(h, altitude_m + 35, celsius) - h.weight_reduction_kg, h.max_gross_external_kg)

    def spare_kg(fill: float, fuel: float) -> float:
        water = fill * bucket.capacity_l * FRESH_WATER_KG_L.value
        return selected - h.equipped_kg - 95 - fuel * h.fuel_capacity_kg - bucket.empty_kg - 24 - water

    assert spare_kg(0.85, 0.8) >= 0
    assert spare_kg(1.0, 0.8) < 0 <= spare_kg(1.0, 0.4)
    assert spare_kg(0.75, 0.98) >= 0


@pytest.mark.parametrize(
    ("name", "bucket", "kind", "litres"),
    [("demo-light", "demo-760", 3, (681, 800)), ("demo-medium", "demo-1060", 2, (800, 1136)),
     ("demo-heavy", "demo-2900", 1, (2384, 2915))],
)  # fmt: skip
def test_the_demo_buckets_are_of_the_classes_bucket_size(name, bucket, kind, litres):
    """Bucket sizes by type from the NIFC helicopters page: 1 about 700 US gal, 2 up to 300, 3 180 at least."""
    h, b = read_helicopter(name), read_bucket(bucket)
    assert h.type == kind
    assert litres[0] <= b.capacity_l <= litres[1]
    full = b.capacity_l * FRESH_WATER_KG_L.value + b.empty_kg + 40
    assert full < h.hook_limit_kg
    assert h.equipped_kg + 95 + 0.6 * h.fuel_capacity_kg + full < at(h, 0, 0) - h.weight_reduction_kg


# ----------------------------------------------------------------------------------------- the forms of a chart
def with_hoge(folder, hoge: str):
    path = folder / "light.toml"
    path.write_text(re.split(r"\[+hoge", path.read_text())[0] + hoge)
    return path


def test_a_table_becomes_curves(incident_folder):
    curves = read_helicopter(incident_folder / "light.toml").hoge.curves
    assert [round(c.temperature_k - 273.15) for c in curves] == [0, 20, 40]
    assert curves[1].pressure_altitude_m == pytest.approx((0, 4000 * FT, 8000 * FT))
    assert curves[1].mass_kg == (2400, 2300, 2200)
    assert curves[2].mass_kg[:2] == (2300, 2200)
    assert math.isnan(curves[2].mass_kg[2])


CURVES = """
[[hoge.curve]]
temperature = "40 degC"
pressure_altitude = ["0 m", "1000 m"]
mass = ["5070.632 lb", "4850.17 lb"]

[[hoge.curve]]
temperature = "32 degF"
pressure_altitude = ["-500 ft", "2000 ft", "9000 ft"]
mass = ["2400 kg", "2400 kg", "2250 kg"]
"""


def test_irregular_curves_in_other_units(incident_folder):
    cool, hot = read_helicopter(with_hoge(incident_folder, CURVES)).hoge.curves
    assert cool.temperature_k == pytest.approx(273.15)
    assert cool.pressure_altitude_m == pytest.approx((-500 * FT, 2000 * FT, 9000 * FT))
    assert hot.temperature_k == pytest.approx(313.15)
    assert hot.mass_kg == pytest.approx((2300, 2200), abs=0.01)


def test_irregular_curves_that_cross(incident_folder):
    crossing = CURVES.replace('"2400 kg", "2400 kg", "2250 kg"', '"2400 kg", "2400 kg", "1900 kg"')
    crossing = crossing.replace('"1000 m"', '"9000 ft"')
    odd = r"hoge: the cell 9000 ft \(2743 m\) at 40 degC holds 2200 kg, more than 1900 kg cooler at 0 degC"
    with pytest.raises(IncidentError, match=odd):
        read_helicopter(with_hoge(incident_folder, crossing))


CEILINGS = """
[[hoge.ceiling]]
temperature = "0 degC"
mass = ["2000 kg", "2200 kg", "2400 kg"]
pressure_altitude = ["14000 ft", "9500 ft", "5000 ft"]

[[hoge.ceiling]]
temperature = "30 degC"
mass = ["2400 kg", "2200 kg", "2000 kg"]
pressure_altitude = ["0 ft", "6000 ft", "10500 ft"]
"""


def test_ceilings_become_the_same_curves(incident_folder):
    cool, hot = read_helicopter(with_hoge(incident_folder, CEILINGS)).hoge.curves
    # the ceiling at 2400 kg is 5000 ft, so all below 5000 ft hovers 2400 kg
    assert cool == HoverCurve(273.15, pytest.approx((0, 5000 * FT, 9500 * FT, 14000 * FT)), (2400, 2400, 2200, 2000))
    assert hot == HoverCurve(303.15, pytest.approx((0, 6000 * FT, 10500 * FT)), (2400, 2200, 2000))


AS_CURVES = """
[[hoge.curve]]
temperature = "0 degC"
pressure_altitude = ["0 ft", "5000 ft", "9500 ft", "14000 ft"]
mass = ["2400 kg", "2400 kg", "2200 kg", "2000 kg"]

[[hoge.curve]]
temperature = "30 degC"
pressure_altitude = ["0 ft", "6000 ft", "10500 ft"]
mass = ["2400 kg", "2200 kg", "2000 kg"]
"""


def test_a_ceiling_says_the_same_as_its_curves(incident_folder):
    ceilings = read_helicopter(with_hoge(incident_folder, CEILINGS)).hoge
    assert ceilings == read_helicopter(with_hoge(incident_folder, AS_CURVES)).hoge


def test_a_ceiling_that_rises_with_mass(incident_folder):
    wrong = CEILINGS.replace('"9500 ft", "5000 ft"', '"5000 ft", "9500 ft"')
    odd = r"hoge\.ceiling\[0\]\.pressure_altitude: 9500 ft .* belongs to 2400 kg and 5000 ft .* 2200 kg"
    with pytest.raises(IncidentError, match=odd):
        read_helicopter(with_hoge(incident_folder, wrong))


@pytest.mark.parametrize("blank", ["", "-", " ", "none", "None"])
def test_a_blank_cell_is_not_known(incident_folder, blank):
    path = incident_folder / "light.toml"
    path.write_text(path.read_text().replace('"-"', f'"{blank}"'))
    assert math.isnan(read_helicopter(path).hoge.curves[2].mass_kg[2])


def test_two_forms_at_once(incident_folder):
    with pytest.raises(IncidentError, match=r"light\.toml: hoge\.ceiling: a chart has one form"):
        read_helicopter(with_hoge(incident_folder, CURVES + CEILINGS))


def test_no_form_at_all(incident_folder):
    with pytest.raises(IncidentError, match=r"light\.toml: hoge\.mass: missing; give a table"):
        read_helicopter(with_hoge(incident_folder, "[hoge]\n"))


def test_one_curve_is_no_chart(incident_folder):
    with pytest.raises(IncidentError, match=r"light\.toml: hoge\.curve: wanted at least 2"):
        read_helicopter(with_hoge(incident_folder, CURVES[: CURVES.index("[[hoge.curve]]", 5)]))


def test_two_curves_of_one_temperature(incident_folder):
    with pytest.raises(IncidentError, match="two curves for 0 degC"):
        read_helicopter(with_hoge(incident_folder, CURVES.replace('"40 degC"', '"0 degC"')))


# ----------------------------------------------------------------------------------------- options
def test_reductions_add_up(incident_folder):
    chart = read_helicopter(incident_folder / "light.toml", ["filter", "skis"]).hoge
    assert chart.curves[1].mass_kg == (2400 - 55, 2300 - 55, 2200 - 55)


def test_an_option_with_a_chart_of_its_own_takes_the_place_of_the_first(incident_folder):
    chart = read_helicopter(incident_folder / "light.toml", ["filter", "engine"]).hoge
    assert [c.mass_kg for c in chart.curves] == [(2365, 2365), (2365, 2315)]


def test_an_option_that_is_listed_twice_counts_once(incident_folder):
    chart = read_helicopter(incident_folder / "light.toml", ["filter", "filter"]).hoge
    assert chart.curves[0].mass_kg[0] == 2400 - 35


def test_unknown_options(incident_folder):
    with pytest.raises(IncidentError, match='no option "snow"; known here: filter, skis, engine'):
        read_helicopter(incident_folder / "light.toml", ["snow"])
    with pytest.raises(IncidentError, match='no option "snow"; this file has none'):
        read_helicopter(with_hoge(incident_folder, CURVES), ["snow"])


@pytest.mark.parametrize("kit", ["", 'reduction = "35 kg"\n' + CEILINGS.replace("hoge.", "hoge.option.kit.")])
def test_an_option_with_nothing_or_with_both(incident_folder, kit):
    path = with_hoge(incident_folder, f"{CURVES}[hoge.option.kit]\n{kit}")
    with pytest.raises(IncidentError, match=r"light\.toml: hoge\.option\.kit\.reduction: an option has either"):
        read_helicopter(path)


def test_a_reduction_larger_than_a_cell(incident_folder):
    path = with_hoge(incident_folder, CURVES + '[hoge.option.kit]\nreduction = "2300 kg"\n')
    with pytest.raises(IncidentError, match=r"hoge\.option: the reductions take 2300 kg off a cell of 2200 kg"):
        read_helicopter(path, ["kit"])


# ----------------------------------------------------------------------------------------- doors
def test_a_bucket_file(incident_folder):
    bucket = read_bucket(incident_folder / "bucket.toml", gear_kg=5)
    assert (bucket.capacity_l, bucket.empty_kg, bucket.length_m, bucket.depth_needed_m) == (600, 60, 4, 1.2)
    assert (bucket.fills, bucket.fill_s, bucket.drop_s) == ((1.0, 0.8, 0.6), 20, 6)
    assert (bucket.gear_kg, bucket.part_fill) == (15, True)


def test_a_path_as_text(incident_folder):
    assert read_helicopter(str(incident_folder / "light.toml")).name == "Test light"


@pytest.mark.parametrize("read", [read_helicopter, read_bucket])
def test_no_such_name_and_no_such_file(read, tmp_path):
    with pytest.raises(IncidentError, match=r'no built-in \w+ "demo-x"; there are demo-'):
        read("demo-x")
    with pytest.raises(IncidentError, match=r"x\.toml: no such file; give the path of the"):
        read(tmp_path / "x.toml")


# ----------------------------------------------------------------------------------------- docs/helicopter.md
BLOCKS = re.findall(
    r"```toml\n(.*?)```", (Path(__file__).parents[2] / "docs" / "helicopter.md").read_text(encoding="utf-8"), re.DOTALL
)
NUMBERS, *FORMS, OPTIONS, BUCKET = BLOCKS


@pytest.mark.parametrize("form", FORMS)
def test_the_pages_helicopter_is_read(tmp_path, form):
    path = tmp_path / "mine.toml"
    path.write_text(NUMBERS + form + OPTIONS, encoding="utf-8")
    helicopter = read_helicopter(path)
    assert len(helicopter.hoge.curves) in (2, 3)
    fitted = read_helicopter(path, ["particle-separator"])
    assert fitted.hoge.curves[0].mass_kg[0] == pytest.approx(helicopter.hoge.curves[0].mass_kg[0] - 35)
    assert len(read_helicopter(path, ["heavy-duty-kit"]).hoge.curves) == 2


def test_the_pages_bucket_is_the_demo_one(tmp_path):
    path = tmp_path / "my-bucket.toml"
    path.write_text(BUCKET, encoding="utf-8")
    told, demo = read_bucket(path), read_bucket("demo-760")
    assert replace(told, name=demo.name, source=demo.source) == demo
