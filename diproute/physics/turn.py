"""Level turns: radius, bank for a rate of turn, load factor."""

from __future__ import annotations

from typing import Final

import numpy as np

from diproute.constants import G0_M_S2
from diproute.physics.ranges import Numbers, Range, Result, plain

SPEED: Final = Range("speed_m_s", 0, 150, "m/s")
BANK: Final = Range("bank_deg", 0.1, 80, "deg")
RATE: Final = Range("rate_deg_s", 0, 30, "deg/s")


def turn_radius(speed_m_s: Numbers, bank_deg: Numbers) -> Result:
    """Radius of a level, co-ordinated turn.

    Parameters
    ----------
    speed_m_s
        0 to 150 [m/s], any shape: over the ground where the radius over the ground is wanted.
    bank_deg
        0.1 to 80 [deg], broadcasts.

    Returns
    -------
    float or ndarray
        [m]; ``v²/(g·tan φ)`` (FAA-H-8083-25 chapter 5, there as R[ft] = V²[kt]/(11.26·tan φ)).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    return plain(SPEED.check(speed_m_s) ** 2 / (G0_M_S2.value * np.tan(np.radians(BANK.check(bank_deg)))))


def bank_for_rate(speed_m_s: Numbers, rate_deg_s: Numbers) -> Result:
    """Bank of a level turn at a rate of turn.

    Parameters
    ----------
    speed_m_s
        0 to 150 [m/s], any shape.
    rate_deg_s
        0 to 30 [deg/s], broadcasts; 3 is a turn of rate one.

    Returns
    -------
    float or ndarray
        [deg]; ``tan φ = v·ω/g`` (FAA-H-8083-25 chapter 5).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    turning = SPEED.check(speed_m_s) * np.radians(RATE.check(rate_deg_s))
    return plain(np.degrees(np.arctan(turning / G0_M_S2.value)))


def load_factor(bank_deg: Numbers) -> Result:
    """Lift over weight in a level turn.

    Parameters
    ----------
    bank_deg
        0.1 to 80 [deg], any shape.

    Returns
    -------
    float or ndarray
        [1]; ``1/cos φ`` (FAA-H-8083-25 chapter 5).

    Raises
    ------
    RangeError
        A value outside its range.
    """
    return plain(1.0 / np.cos(np.radians(BANK.check(bank_deg))))
