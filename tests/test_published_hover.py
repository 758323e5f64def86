"""Numbers from print for hover momentum theory. Nothing in this file was computed by diproute.

"computed" marks values that were worked out from the stated formula and not from a printed table.
"""

import math

import pytest

from diproute.physics.hover import ground_effect, ideal_power, induced_velocity, thrust_for_power

LBF, FT, HP, SLUG_FT3 = 4.4482216152605, 0.3048, 745.69987, 515.3788


# J. G. Leishman, Principles of Helicopter Aerodynamics, chapter 2, tilt-rotor example: 45 000 lb, two 38-ft rotors,
# 0.002378 slug/ft3, figure of merit 0.75, 5 % losses. Statement from memory, and computed.
def test_tilt_rotor_example():
    thrust, density, radius = 45000 / 2 * LBF, 0.002378 * SLUG_FT3, 19 * FT
    power = ideal_power(thrust, density, radius) / HP
    assert induced_velocity(thrust, density, radius) / FT == pytest.approx(64.59, abs=0.01)
    assert power == pytest.approx(2642, abs=1)
    assert 2 * power / 0.75 * 1.05 == pytest.approx(7398, abs=1)


# A public momentum-theory page, as restated by others; its inputs are inferred (6500 lb, R 18 ft, 0.00237 slug/ft3)
def test_public_page_default():
    thrust, density, radius = 6500 * LBF, 0.00237 * SLUG_FT3, 18 * FT
    assert induced_velocity(thrust, density, radius) / FT == pytest.approx(36.70, abs=0.01)
    assert ideal_power(thrust, density, radius) / HP == pytest.approx(433.8, abs=0.1)


# Computed: 2000 kg, R 5 m, figure of merit 0.7
@pytest.mark.parametrize(
    ("density", "velocity", "kilowatts", "digit", "actual"),
    [
        (1.225, 10.0960, 198.015, 0.001, 282.88),
        (1.0066, 11.1375, 218.44, 0.01, 312.06),
        (0.9093, 11.7182, 229.83, 0.01, 328.33),
    ],
)
def test_two_tonnes(density, velocity, kilowatts, digit, actual):
    thrust = 2000 * 9.80665
    assert induced_velocity(thrust, density, 5) == pytest.approx(velocity, abs=1e-4)
    assert ideal_power(thrust, density, 5) / 1000 == pytest.approx(kilowatts, abs=digit)
    assert ideal_power(thrust, density, 5) / 0.7 / 1000 == pytest.approx(actual, abs=0.01)
    assert thrust_for_power(actual * 1000, density, 5, 0.7) == pytest.approx(thrust, rel=1e-4)


# Computed: disc loading 170 N/m2 at 1.225 kg/m3
def test_disc_loading():
    assert induced_velocity(170 * math.pi * 25, 1.225, 5) == pytest.approx(8.330, abs=0.001)


# Computed: at constant power the thrust falls with the cube root of the density ratio; 1 … 10 thousand ft
@pytest.mark.parametrize(
    ("sigma", "ratio"),
    [(0.9711, 0.9903), (0.9428, 0.9806), (0.8881, 0.9612), (0.8617, 0.9516), (0.8359, 0.9420), (0.7860, 0.9229),
     (0.7385, 0.9039)],
)  # fmt: skip
def test_thrust_in_thin_air(sigma, ratio):
    thin, standard = (thrust_for_power(300e3, 1.225 * s, 5, 0.75) for s in (sigma, 1.0))
    assert thin / standard == pytest.approx(ratio, abs=1e-4)


# I. C. Cheeseman and W. E. Bennett, ARC R&M 3021, 1955. Formula from memory, numbers computed.
@pytest.mark.parametrize(
    ("heights", "ratio"),
    [(0.5, 1.3333), (0.75, 1.1250), (1, 1.0667), (1.25, 1.0417), (1.5, 1.0286), (2, 1.0159), (3, 1.0070), (4, 1.0039)],
)
def test_ground_effect(heights, ratio):
    assert ground_effect(heights * 6, 6) == pytest.approx(ratio, abs=1e-4)


# Computed: on a 30.48 m line (100 ft) the gain is 0.17 % for R 5.0 m and 0.36 % for R 7.3 m: none is ever credited
@pytest.mark.parametrize(("radius", "per_cent"), [(5.0, 0.17), (7.3, 0.36)])
def test_ground_effect_on_a_line(radius, per_cent):
    assert (ground_effect(30.48, radius) - 1) * 100 == pytest.approx(per_cent, abs=0.01)
