"""Momentum theory of the hover: induced velocity, ideal power, thrust for a power, ground effect.

It checks hover charts and shows what thin air costs. No plan is made from it: the flight manual's chart decides, and a
bucket gets no credit for ground effect.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from diproute.physics.ranges import F64, Numbers, Range, Result, plain

THRUST: Final = Range("thrust_n", 0, 1e6, "N")
DENSITY: Final = Range("density_kg_m3", 0.2, 2.0, "kg/m3", ((0.0005, 0.004, "that looks like slug/ft3"),))
RADIUS: Final = Range("rotor_radius_m", 0.5, 20, "m", ((20, 66, "that looks like feet, or the diameter"),))
POWER: Final = Range("power_w", 0, 2e7, "W")
MERIT: Final = Range("figure_of_merit", 0.3, 1, "1", ((30, 100, "that looks like per cent: divide by 100"),))
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
