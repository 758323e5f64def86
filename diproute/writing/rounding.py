"""How far each kind of number is printed: what it is worth and no more. What is not known becomes None."""

from __future__ import annotations

import math


def rounded(value: float | None, decimals: int) -> float | None:
    """Round a number for print; None, NaN and infinities are None, and no zero carries a minus sign."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), decimals) + 0.0


def coordinate(value: float | None) -> float | None:
    """Latitude or longitude [deg], to a tenth of a metre."""
    return rounded(value, 6)


def course(value: float | None) -> float | None:
    """Direction of flight [deg], 0 <= course < 360 after rounding."""
    number = rounded(value, 1)
    return None if number is None else rounded(number % 360.0, 1)


def whole(value: float | None) -> float | None:
    """Pressures [Pa]."""
    return rounded(value, 0)


def tenth(value: float | None) -> float | None:
    """Lengths [m], times [s], masses [kg], litres, angles [deg]."""
    return rounded(value, 1)


def hundredth(value: float | None) -> float | None:
    """Speeds [m/s], temperatures [K], the declination [deg]."""
    return rounded(value, 2)


def share(value: float | None, decimals: int = 4) -> float | None:
    """Shares, ratios, weights and rates."""
    return rounded(value, decimals)
