"""Momentum theory of hover and vertical climb: induced velocity, ideal power, the mass for a power, ground effect.

It checks hover charts, shows what thin air costs, and takes off the flight manual's hover limit what a load that is
lifted straight up costs beyond the hover. A bucket gets no credit for ground effect.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from diproute.constants import G0_M_S2
from diproute.physics.ranges import F64, Numbers, Range, Result, plain

THRUST: Final = Range("thrust_n", 0, 1e6, "N")
DENSITY: Final = Range("density_kg_m3", 0.2, 2.0, "kg/m3", ((0.0005, 0.004, "that looks like slug/ft3"),))
RADIUS: Final = Range("rotor_radius_m", 0.5, 20, "m", ((20, 66, "that looks like feet, or the diameter"),))
POWER: Final = Range("power_w", 0, 2e7, "W")
MERIT: Final = Range("figure_of_merit", 0.3, 1, "1", ((30, 100, "that looks like per cent: divide by 100"),))
CLIMB: Final = Range("climb_m_s", 0, 20, "m/s")
INDUCED: Final = Range("hover_velocity_m_s", 0.1, 60, "m/s")
MASS: Final = Range("hover_mass_kg", 1, 1e5, "kg")
CLIMB_ROUNDS: Final = 4  # from a start within some per cent
ROTOR_HEIGHT: Final = Range("rotor heights above the surface, in radii", 0.5, np.inf, "1")


def induced_velocity(thrust_n: Numbers, density_kg_m3: Numbers, rotor_radius_m: Numbers) -> Result:
    """Speed of the air through the rotor in an ideal hover out of ground effect.

    Parameters
    ----------
    thrust_n
        Of one rotor, 0 to 1e6 [N], any shape.
    density_kg_m3
        Of the air, 0.2 to 2 [kg/m3], broadcasts.
    rotor_radius_m
        0.5 to 20 [m], broadcasts.

    Returns
    -------
    float or ndarray
        [m/s]; ``sqrt(T/(2·rho·A))`` (J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed., chapter 2).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    return plain(np.sqrt(THRUST.check(thrust_n) / (2 * DENSITY.check(density_kg_m3) * _disc(rotor_radius_m))))


def ideal_power(thrust_n: Numbers, density_kg_m3: Numbers, rotor_radius_m: Numbers) -> Result:
    """Power of an ideal hover out of ground effect; the actual one is this over the figure of merit.

    Parameters
    ----------
    thrust_n
        Of one rotor, 0 to 1e6 [N], any shape.
    density_kg_m3
        Of the air, 0.2 to 2 [kg/m3], broadcasts.
    rotor_radius_m
        0.5 to 20 [m], broadcasts.

    Returns
    -------
    float or ndarray
        [W]; ``T^1.5/sqrt(2·rho·A)`` (J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed., chapter 2).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    return plain(THRUST.check(thrust_n) * induced_velocity(thrust_n, density_kg_m3, rotor_radius_m))


def thrust_for_power(
    power_w: Numbers, density_kg_m3: Numbers, rotor_radius_m: Numbers, figure_of_merit: Numbers
) -> Result:
    """Thrust that a power holds in a hover out of ground effect.

    Parameters
    ----------
    power_w
        At one rotor, 0 to 2e7 [W], any shape.
    density_kg_m3
        Of the air, 0.2 to 2 [kg/m3], broadcasts.
    rotor_radius_m
        0.5 to 20 [m], broadcasts.
    figure_of_merit
        Ideal over actual power, 0.3 to 1 [1], broadcasts.

    Returns
    -------
    float or ndarray
        [N]; ``(2·rho·A)^(1/3)·(FM·P)^(2/3)``, `ideal_power` solved for the thrust.

    Raises
    ------
    RangeError
        A value outside its range.
    """
    useful = MERIT.check(figure_of_merit) * POWER.check(power_w)
    return plain(np.cbrt(2 * DENSITY.check(density_kg_m3) * _disc(rotor_radius_m)) * np.cbrt(useful) ** 2)


def climb_power_ratio(climb_m_s: Numbers, hover_velocity_m_s: Numbers) -> Result:
    """Induced power of a vertical climb over that of the hover, at the same thrust.

    Parameters
    ----------
    climb_m_s
        Straight up, 0 to 20 [m/s], any shape.
    hover_velocity_m_s
        Induced velocity of the hover, above 0, to 60 [m/s], broadcasts.

    Returns
    -------
    float or ndarray
        [1]; ``(Vc + v_i)/v_h`` with ``v_i = -Vc/2 + sqrt(Vc²/4 + v_h²)`` (J. G. Leishman, Principles of Helicopter
        Aerodynamics, 2nd ed., chapter 2).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    half = CLIMB.check(climb_m_s) / (2 * INDUCED.check(hover_velocity_m_s))
    return plain(half + np.sqrt(half**2 + 1))


def climb_mass(hover_mass_kg: Numbers, climb_m_s: Numbers, density_kg_m3: Numbers, rotor_radius_m: Numbers) -> Result:
    """Mass that climbs straight up on the power that holds another mass in the hover.

    Parameters
    ----------
    hover_mass_kg
        Held in the hover, above 0, to 1e5 [kg], any shape; NaN stays NaN.
    climb_m_s
        Straight up, 0 to 20 [m/s], broadcasts.
    density_kg_m3
        Of the air, 0.2 to 2 [kg/m3], broadcasts.
    rotor_radius_m
        0.5 to 20 [m], broadcasts.

    Returns
    -------
    float or ndarray
        [kg]; ``m = M·ratio^(-2/3)``, the ratio of `climb_power_ratio` at that mass: power goes with the mass to
        the 1.5 in the hover (momentum theory; only the induced power is counted, as in the hover).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    hover = MASS.check(hover_mass_kg)
    # with a = Vc/2 / sqrt(g/(2·rho·A)) the law reads a·m + m·sqrt(a² + m) = M^1.5, which is solved by Newton's way
    a = CLIMB.check(climb_m_s) / 2 * np.sqrt(2 * DENSITY.check(density_kg_m3) * _disc(rotor_radius_m) / G0_M_S2.value)
    power = hover**1.5
    mass = np.asarray(hover, dtype=np.float64)
    for _ in range(CLIMB_ROUNDS):
        root = np.sqrt(a**2 + mass)
        mass = mass - (a * mass + mass * root - power) / (a + root + mass / (2 * root))
    return plain(mass)


def ground_effect(rotor_height_m: Numbers, rotor_radius_m: Numbers) -> Result:
    """Thrust near a flat surface over thrust out of ground effect, at the same power.

    Parameters
    ----------
    rotor_height_m
        Of the rotor above the surface, half a radius or more [m], any shape.
    rotor_radius_m
        0.5 to 20 [m], broadcasts.

    Returns
    -------
    float or ndarray
        [1]; ``1/(1 − (R/4z)²)`` (I. C. Cheeseman and W. E. Bennett, ARC R&M 3021, 1955).

    Raises
    ------
    RangeError
        A rotor lower than half its radius, where the formula does not hold.
    """
    heights = ROTOR_HEIGHT.check(np.asarray(rotor_height_m, dtype=np.float64) / RADIUS.check(rotor_radius_m))
    return plain(1 / (1 - (1 / (4 * heights)) ** 2))


def _disc(rotor_radius_m: Numbers) -> F64:
    return np.asarray(np.pi * RADIUS.check(rotor_radius_m) ** 2, dtype=np.float64)
