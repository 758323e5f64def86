"""Numbers from print for the air. Nothing in this file was computed by diproute.

"computed" marks values that somebody worked out from the stated formula and not from a printed table.
"""

import numpy as np
import pytest

from diproute.constants import R_AIR_J_KG_K
from diproute.physics.atmosphere import (
    air_density,
    density_altitude,
    pressure_altitude,
    saturation_vapour_pressure,
    standard_density,
    standard_pressure,
    standard_temperature,
    station_pressure,
)

FT, INHG, HPA = 0.3048, 3386.389, 100.0


# ICAO Doc 7488/3 and US Standard Atmosphere 1976 (identical below 32 km), geopotential altitude.
# Computed from their constants, which are from memory; one unit of the last digit.
@pytest.mark.parametrize(
    ("metres", "kelvin", "hpa", "density", "sigma", "delta"),
    [
        (0, 288.150, 1013.250, 1.22500, 1.00000, 1.00000),
        (500, 284.900, 954.608, 1.16727, 0.95287, 0.94213),
        (1000, 281.650, 898.746, 1.11164, 0.90746, 0.88699),
        (1500, 278.400, 845.560, 1.05807, 0.86373, 0.83450),
        (2000, 275.150, 794.952, 1.00649, 0.82162, 0.78456),
        (2500, 271.900, 746.825, 0.95686, 0.78111, 0.73706),
        (3000, 268.650, 701.085, 0.90912, 0.74214, 0.69192),
        (4000, 262.150, 616.402, 0.81913, 0.66868, 0.60834),
    ],
)
def test_standard_atmosphere_in_metres(metres, kelvin, hpa, density, sigma, delta):
    assert standard_temperature(metres) == pytest.approx(kelvin, abs=0.001)
    assert standard_pressure(metres) / HPA == pytest.approx(hpa, abs=0.001)
    assert standard_density(metres) == pytest.approx(density, abs=1e-5)
    assert standard_density(metres) / standard_density(0) == pytest.approx(sigma, abs=1e-5)
    assert standard_pressure(metres) / standard_pressure(0) == pytest.approx(delta, abs=1e-5)


# The same, in feet.
@pytest.mark.parametrize(
    ("feet", "celsius", "hpa", "inhg", "density", "sigma"),
    [
        (1000, 13.02, 977.17, 28.856, 1.18955, 0.9711),
        (2000, 11.04, 942.13, 27.821, 1.15490, 0.9428),
        (4000, 7.08, 875.11, 25.842, 1.08791, 0.8881),
        (5000, 5.09, 843.07, 24.896, 1.05555, 0.8617),
        (6000, 3.11, 812.00, 23.978, 1.02393, 0.8359),
        (8000, -0.85, 752.62, 22.225, 0.96287, 0.7860),
        (10000, -4.81, 696.82, 20.577, 0.90464, 0.7385),
        (12000, -8.77, 644.41, 19.029, 0.84914, 0.6932),
    ],
)
def test_standard_atmosphere_in_feet(feet, celsius, hpa, inhg, density, sigma):
    assert standard_temperature(feet * FT) - 273.15 == pytest.approx(celsius, abs=0.01)
    assert standard_pressure(feet * FT) / HPA == pytest.approx(hpa, abs=0.01)
    assert standard_pressure(feet * FT) / INHG == pytest.approx(inhg, abs=0.001)
    assert standard_density(feet * FT) == pytest.approx(density, abs=1e-5)
    assert standard_density(feet * FT) / 1.225 == pytest.approx(sigma, abs=1e-4)


# US Standard Atmosphere 1976, Table I by geometric altitude. From memory, and computed.
@pytest.mark.parametrize(
    ("geometric", "kelvin", "hpa", "density", "density_digit"),
    [
        (1000, 281.651, 898.76, 1.1117, 1e-4),
        (2000, 275.154, 795.01, 1.0066, 1e-4),
        (3000, 268.659, 701.21, 0.90925, 1e-5),
        (4000, 262.166, 616.60, 0.81935, 1e-5),
    ],
)
def test_table_by_geometric_altitude(geometric, kelvin, hpa, density, density_digit):
    geopotential = 6356766 * geometric / (6356766 + geometric)  # Earth radius of US76
    assert standard_temperature(geopotential) == pytest.approx(kelvin, abs=0.001)
    assert standard_pressure(geopotential) / HPA == pytest.approx(hpa, abs=0.01)
    assert standard_density(geopotential) == pytest.approx(density, abs=density_digit)


# NIST SP 811 Appendix B, conventional inch of mercury at 0 degC. From memory.
def test_standard_pressure_in_inches_of_mercury():
    assert standard_pressure(0) / INHG == pytest.approx(29.92126, abs=1e-5)


# FAA-H-8083-25A, Pilot's Handbook of Aeronautical Knowledge, chapter 10, density-altitude sample problem 1, p. 10-19
def test_pressure_altitude_of_the_handbook_example():
    assert pressure_altitude(5883 * FT, 30.10 * INHG) / FT == pytest.approx(5718, abs=1)


# Same problem, 70 degF: "about 7700 ft" read off a chart; the chart reads to 100 ft
def test_density_altitude_of_the_handbook_example():
    pressure = station_pressure(5883 * FT, 30.10 * INHG)
    kelvin = (70 - 32) / 1.8 + 273.15
    assert density_altitude(pressure, kelvin) / FT == pytest.approx(7700, abs=100)
    assert air_density(pressure, kelvin) == pytest.approx(0.97156, abs=1e-5)  # computed
    assert density_altitude(pressure, kelvin) / FT == pytest.approx(7709.6, abs=0.1)  # computed


# Computed from the definition of QNH (ICAO Doc 7488, Doc 9837)
@pytest.mark.parametrize(
    ("metres", "qnh", "answer_m", "answer_ft"), [(1000, 1003.25, 1083.58, 3555.0), (1000, 1023.25, 917.09, 3008.8)]
)
def test_pressure_altitude_at_1000_m(metres, qnh, answer_m, answer_ft):
    assert pressure_altitude(metres, qnh * HPA) == pytest.approx(answer_m, abs=0.01)
    assert pressure_altitude(metres, qnh * HPA) / FT == pytest.approx(answer_ft, abs=0.1)


# Computed, as above
def test_pressure_at_2000_ft():
    assert station_pressure(2000 * FT, 1003 * HPA) / HPA == pytest.approx(932.47, abs=0.01)
    assert pressure_altitude(2000 * FT, 1003 * HPA) / FT == pytest.approx(2281.1, abs=0.1)


# Australian PPL training page, as restated by others: 1800 ft at QNH 1027 gives 1380 ft by the rule 30 ft/hPa.
# The exact slope up there is 27.2 ft/hPa, from 1013.25: over 14 hPa the rule may stray by 14·(30 − 27) + 0.25·30 ft.
def test_pressure_altitude_by_the_rule_of_thirty_feet():
    assert pressure_altitude(1800 * FT, 1027 * HPA) / FT == pytest.approx(1380, abs=14 * 3 + 8)


# NWS El Paso pressure-altitude calculator, as restated by others (constants in public code, from memory). Its constants
# differ from the exact 145 442 ft and 0.190263 in the fourth figure: up to 5 ft below 12 000 ft.
@pytest.mark.parametrize("feet", [0, 2000, 5000, 8000, 12000])
def test_pressure_altitude_by_the_weather_service(feet):
    theirs = 145366.45 * (1 - (standard_pressure(feet * FT) / 101325) ** 0.190284)
    assert feet == pytest.approx(theirs, abs=5)


# Computed: slope of density altitude with temperature, nearly independent of pressure altitude; whole feet per degree
@pytest.mark.parametrize("altitude_ft", [0, 4000, 8000])
@pytest.mark.parametrize(("excess", "slope"), [(10, 116), (20, 114)])
def test_density_altitude_per_degree(altitude_ft, excess, slope):
    h = altitude_ft * FT
    higher = density_altitude(standard_pressure(h), standard_temperature(h) + excess)
    assert (higher - h) / FT / excess == pytest.approx(slope, abs=1)


# FAA handbook's rule of thumb DA = PA + 120 ft · (OAT − ISA), ISA = 15 − 2/1000 ft, as restated by others, on the
# handbook's problem: 7824 ft; 7790 ft with 118.8 and 1.98 (computed). It over-reads by 3 to 5 %, and
# by its rounded ISA.
def test_rule_of_120_feet_over_reads():
    celsius = (70 - 32) / 1.8
    altitude = pressure_altitude(5883 * FT, 30.10 * INHG) / FT
    rule = altitude + 120 * (celsius - (15 - 2 * altitude / 1000))
    finer = altitude + 118.8 * (celsius - (15 - 1.98 * altitude / 1000))
    exact = density_altitude(station_pressure(5883 * FT, 30.10 * INHG), celsius + 273.15) / FT
    assert rule == pytest.approx(7824, abs=1)
    assert finer == pytest.approx(7790, abs=1)
    assert 1.03 < (rule - altitude) / (exact - altitude) < 1.06


# Smithsonian Meteorological Tables, saturation vapour pressure over water, as printed by R. Shelquist (2023)
@pytest.mark.parametrize(
    ("celsius", "hpa", "digit"),
    [
        (30, 42.430, 1e-3),
        (20, 23.373, 1e-3),
        (10, 12.272, 1e-3),
        (0, 6.1078, 1e-4),
        (-10, 2.8627, 1e-4),
        (-30, 0.5088, 1e-4),
    ],
)
def test_saturation_vapour_pressure(celsius, hpa, digit):
    assert saturation_vapour_pressure(celsius + 273.15) / HPA == pytest.approx(hpa, abs=digit)


# Computed: ideal-gas moist air with a Magnus vapour pressure; whole feet
@pytest.mark.parametrize(
    ("hpa", "celsius", "dew_point", "dry_ft", "moist_ft", "weather_service_ft"),
    [(1013.25, 30, 20, 1724, 2019, 2035), (900, 35, 10, 6207, 6376, 6390), (800, 20, 15, 8411, 8671, 8683)],
)
def test_density_altitude_of_moist_air(hpa, celsius, dew_point, dry_ft, moist_ft, weather_service_ft):
    pressure, kelvin, dew = hpa * HPA, celsius + 273.15, dew_point + 273.15
    dry, moist = density_altitude(pressure, kelvin) / FT, density_altitude(pressure, kelvin, dew) / FT
    assert dry == pytest.approx(dry_ft, abs=1)
    assert moist == pytest.approx(moist_ft, abs=1)
    # NWS El Paso formula (computed from constants as restated by others) reads 12 to 16 ft more
    assert moist == pytest.approx(weather_service_ft, abs=17)
    # Rule of 20 ft per degree of dew point (article of July 2019, as restated by others): 15 to 35 % over
    assert 1.15 <= 20 * dew_point / (moist - dry) <= 1.36


def test_density_of_moist_air():
    assert air_density(101325, 303.15, 293.15) == pytest.approx(1.1542, abs=1e-4)  # computed, as above


# MetPy documentation, virtual temperature of 1000 hPa, 30 degC, dew point 25 degC: 33.668 degC (formula of Hobbs 2006,
# p. 80), 33.674 with a Magnus vapour pressure (computed). The two differ by 0.006: no closer can be asked.
def test_virtual_temperature():
    virtual = 100000 / (R_AIR_J_KG_K.value * air_density(100000, 303.15, 298.15)) - 273.15
    assert virtual == pytest.approx(33.668, abs=0.006)


def test_published_rows_as_one_array():
    heights = np.array([0.0, 1000.0, np.nan, 4000.0])
    np.testing.assert_allclose(standard_pressure(heights), [101325, 89874.6, np.nan, 61640.2], atol=0.1)
