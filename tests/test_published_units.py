"""Numbers from print for units, water and fuel. Nothing in this file was computed by diproute."""

import pytest

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.units import parse


# NIST SP 811 (2008) Appendix B and NIST Handbook 44 Appendix C, exact. From memory.
@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("1 ft", "length", 0.3048),
        ("1 NM", "length", 1852.0),
        ("1 mi", "length", 1609.344),
        ("1 lb", "mass", 0.45359237),
        ("1 gal", "volume", 3.785411784),
        ("1 impgal", "volume", 4.54609),
        ("1 mph", "speed", 0.44704),
        ("1 inHg", "pressure", 3386.389),
        ("1 hPa", "pressure", 100.0),
        ("32 degF", "temperature", 273.15),
        ("212 degF", "temperature", 373.15),
        ("0 degC", "temperature", 273.15),
    ],
)
def test_definitions(text, kind, si):
    assert parse(text, kind, "key") == pytest.approx(si, rel=1e-12)


def test_knot():
    assert parse("1 kt", "speed", "key") == pytest.approx(0.514444, abs=1e-6)  # NIST SP 811, 0.514444…; from memory


# IAPWS-95 as tabulated in the CRC Handbook (from memory): fresh water at 15 degC
def test_fresh_water():
    assert pytest.approx(0.99910, abs=1e-5) == FRESH_WATER_KG_L.value


# Computed from the densities of IAPWS-95 / CRC (from memory): lb per US gal at 4, 15, 20, 25 degC, and sea water
@pytest.mark.parametrize(
    ("kg_m3", "lb_gal", "digit"),
    [
        (999.97, 8.3452, 1e-4),
        (999.10, 8.3379, 1e-4),
        (998.21, 8.3304, 1e-4),
        (997.05, 8.3208, 1e-4),
        (1025, 8.554, 1e-3),
    ],
)
def test_pounds_in_a_gallon(kg_m3, lb_gal, digit):
    assert parse(f"{kg_m3} kg/m3", "density", "key") / parse("1 lb/gal", "density", "key") == pytest.approx(
        lb_gal, abs=digit
    )


# Sea water is 2.5 % heavier (computed), handbook water 8.34 lb/gal
def test_sea_water_and_the_handbook_gallon():
    assert SEA_WATER_KG_L.value / FRESH_WATER_KG_L.value == pytest.approx(1.025, abs=0.001)
    assert FRESH_WATER_KG_L.value / parse("1 lb/gal", "density", "key") == pytest.approx(8.34, abs=0.005)


# FAA AMT Handbook General, chapter 4, hydrometer section: Jet A 6.7 lb/US gal (0.8028 kg/L)
def test_jet_a():
    assert parse("6.7 lb/gal", "density", "key") == pytest.approx(0.8028, abs=1e-4)


# ASTM D1655 (from memory): 775 to 840 kg/m3 at 15 degC, 6.468 to 7.010 lb/gal (computed)
@pytest.mark.parametrize(("kg_m3", "lb_gal"), [(775, 6.468), (840, 7.010), (800, 6.676), (814.8, 6.8)])
def test_jet_a_range(kg_m3, lb_gal):
    assert parse(f"{kg_m3} kg/m3", "density", "key") / parse("1 lb/gal", "density", "key") == pytest.approx(
        lb_gal, abs=0.001
    )


# Computed from the exact gallon
@pytest.mark.parametrize(
    ("gallons", "litres"),
    [(75, 283.9), (100, 378.5), (180, 681.4), (240, 908.5), (300, 1135.6), (324, 1226.5), (700, 2649.8), (2000, 7570.8),
     (2600, 9842.1)],
)  # fmt: skip
def test_buckets_in_litres(gallons, litres):
    assert parse(f"{gallons} gal", "volume", "key") == pytest.approx(litres, abs=0.05)


# Computed: coverage of 1 gal/100 ft2 in L/m2
def test_coverage():
    assert parse("1 gal", "volume", "key") / (100 * parse("1 ft", "length", "key") ** 2) == pytest.approx(
        0.40746, abs=1e-5
    )


# Common practice, no published source: 216 gal is about 820 L; 80 % of it is exactly 1441 lb of water
def test_trade_bucket():
    litres = parse("216 gal", "volume", "key")
    assert litres == pytest.approx(820, abs=5)
    assert 0.8 * litres * FRESH_WATER_KG_L.value / parse("1 lb", "mass", "key") == pytest.approx(1441, abs=1)


# Computed: the standard lapse is 1.9812 degC/1000 ft
def test_lapse():
    assert parse("1.9812 degC/1000ft", "lapse", "key") == pytest.approx(0.0065, abs=1e-9)
