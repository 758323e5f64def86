import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from diproute.errors import RangeError
from diproute.physics.atmosphere import (
    ELEVATION,
    PRESSURE,
    QNH,
    air_density,
    density_altitude,
    lapse_used,
    pressure_altitude,
    saturation_vapour_pressure,
    site_temperature,
    standard_density,
    standard_pressure,
    standard_temperature,
    station_pressure,
)

heights = st.floats(ELEVATION.low, 5000)
settings_pa = st.floats(QNH.low, QNH.high)
kelvins = st.floats(225, 325)


# what one formula gives, the next one takes
@given(st.floats(ELEVATION.low, ELEVATION.high), settings_pa, kelvins)
@example(-430.0, 108500.0, 240.0)  # the deepest land under the highest setting
@example(ELEVATION.low, QNH.high, 240.0)
@example(ELEVATION.high, QNH.low, 240.0)
def test_every_elevation_and_setting_has_a_density(height, qnh, kelvin):
    pressure = station_pressure(height, qnh)
    assert PRESSURE.low < pressure < PRESSURE.high
    assert air_density(pressure, kelvin) > 0
    assert standard_temperature(pressure_altitude(height, qnh)) > 0


# the way back
@given(heights, settings_pa)
def test_pressure_altitude_is_where_the_standard_atmosphere_has_the_station_pressure(height, qnh):
    altitude = pressure_altitude(height, qnh)
    assert standard_pressure(altitude) == pytest.approx(station_pressure(height, qnh), rel=1e-12)


@given(heights)
def test_density_altitude_of_the_standard_atmosphere_is_the_height(height):
    assert density_altitude(standard_pressure(height), standard_temperature(height)) == pytest.approx(height, abs=0.01)


@given(heights, kelvins)
def test_density_altitude_is_where_the_standard_atmosphere_has_the_density(height, kelvin):
    pressure = standard_pressure(height)
    found = standard_density(density_altitude(pressure, kelvin))
    assert found == pytest.approx(air_density(pressure, kelvin), rel=1e-12)


# independent routes
def test_pressure_is_what_holds_up_the_air_above():
    heights = np.linspace(0, 5000, 5001)
    weight = np.trapezoid(9.80665 * standard_density(heights), heights)
    assert standard_pressure(0) - standard_pressure(5000) == pytest.approx(weight, rel=1e-6)


def test_standard_density_is_that_of_an_ideal_gas():
    heights = np.linspace(-400, 11000, 100)
    ideal = air_density(standard_pressure(heights[:80]), standard_temperature(heights[:80]))
    np.testing.assert_allclose(standard_density(heights[:80]), ideal, rtol=1e-7)


@pytest.mark.parametrize("celsius", [-10, -5, 0, 5, 15, 25, 40])
def test_vapour_pressure_by_another_formula(celsius):
    magnus = 611.2 * np.exp(17.62 * celsius / (243.12 + celsius))  # WMO-No. 8, Annex 4.B; from memory
    assert saturation_vapour_pressure(celsius + 273.15) == pytest.approx(magnus, rel=4e-3)


# laws
@given(heights, settings_pa, kelvins, st.floats(0.1, 20))
def test_hotter_is_higher(height, qnh, kelvin, more):
    pressure = station_pressure(height, qnh)
    assert density_altitude(pressure, kelvin + more) > density_altitude(pressure, kelvin)


@given(heights, settings_pa, kelvins, st.floats(1, 30), st.floats(0.1, 10))
def test_moister_is_higher(height, qnh, kelvin, spread, more):
    pressure, dew = station_pressure(height, qnh), kelvin - spread
    dry, moist = density_altitude(pressure, kelvin), density_altitude(pressure, kelvin, dew)
    assert dry < moist < density_altitude(pressure, kelvin, min(dew + more, kelvin))


@given(heights, st.floats(QNH.low + 500, QNH.high), st.floats(1, 500))
def test_a_lower_setting_is_higher(height, qnh, less):
    assert pressure_altitude(height, qnh - less) > pressure_altitude(height, qnh)


@given(heights, heights, kelvins)
def test_site_is_the_warmer_of_both_answers(site, station, kelvin):
    standard, dry = (site_temperature(site, kelvin, station, lapse) for lapse in (0.0065, 0.0098))
    assert site_temperature(site, kelvin, station) == max(standard, dry)


def test_dew_point_above_the_temperature_is_saturated_air():
    assert air_density(70000, 280, 290) == air_density(70000, 280, 280)


def test_lapse_used_is_standard_above_the_station_and_dry_adiabatic_below():
    np.testing.assert_array_equal(lapse_used([500, 1200, 2000, np.nan], 1200), [0.0098, 0.0065, 0.0065, np.nan])
    np.testing.assert_array_equal(lapse_used([500, np.nan], 1200, 0.004), [0.004, np.nan])
    assert site_temperature(500, 300, 1200, -0.002) == pytest.approx(298.6)


# arrays
def test_shapes_broadcast_and_nan_stays():
    height = np.array([[0.0], [np.nan]])
    answer = pressure_altitude(height, np.array([100000.0, 101325.0, np.nan]))
    assert answer.shape == (2, 3)
    np.testing.assert_array_equal(np.isnan(answer), [[False, False, True], [True, True, True]])
    for function in (standard_temperature, standard_pressure, standard_density, saturation_vapour_pressure):
        assert np.isnan(function(np.nan))
        assert type(function(280.0)) is float
    assert np.isnan(air_density(90000, np.nan))
    assert np.isnan(density_altitude(90000, 290, np.nan))


def test_density_altitude_ends_with_the_troposphere():
    assert np.isnan(density_altitude(25000, 300))


# refusals
@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: pressure_altitude(1000, 1013.25), r"qnh_pa: got 1013\.25, .* looks like hPa: multiply by 100"),
        (lambda: pressure_altitude(1000, 29.92), r"qnh_pa: got 29\.92, .* inches of mercury"),
        (lambda: pressure_altitude(12000, 101325), r"elevation_m: got 12000, .* looks like feet"),
        (lambda: station_pressure(np.array([0, -600]), 101325), r"elevation_m: got -600, wanted -500 to 9000 m"),
        (lambda: air_density(900, 300), r"pressure_pa: got 900, .* looks like hPa"),
        (lambda: air_density(90000, 31), r"temperature_k: got 31, .* degrees Celsius: add 273\.15"),
        (lambda: air_density(90000, 300, 8), r"dew_point_k: got 8, .* degrees Celsius"),
        (lambda: density_altitude(90000, 88), r"temperature_k: got 88, .* degF"),
        (lambda: saturation_vapour_pressure(-10), r"temperature_k: got -10, .* degrees Celsius"),
        (lambda: site_temperature(1000, 300, 500, 6.5), r"lapse_k_per_m: got 6\.5, .* K/km: divide by 1000"),
        (lambda: site_temperature(1000, 25, 500), r"temperature_k: got 25, .* degrees Celsius"),
        (lambda: standard_pressure(36000), r"altitude_m: got 36000, .* feet"),
        (lambda: standard_density(-6000), r"altitude_m: got -6000, wanted -5000 to 11000 m"),
    ],
)
def test_slips_are_named(call, message):
    with pytest.raises(RangeError, match=message):
        call()
