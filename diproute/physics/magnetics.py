"""Magnetic declination from the World Magnetic Model 2025, with its error and its warning zones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Final, Literal

import numpy as np

from diproute.constants import MAGNETIC_BLACKOUT_NT, MAGNETIC_CAUTION_NT
from diproute.errors import RangeError
from diproute.physics.geodesy import LATITUDE, LONGITUDE
from diproute.physics.ranges import Numbers, Range, Result, plain

MODEL: Final = "WMM2025"
FIRST_YEAR: Final = 2025.0
LAST_YEAR: Final = 2030.0
_HEIGHT: Final = Range("altitude_m", -1000, 850000, "m")


@dataclass(frozen=True, slots=True)
class Declination:
    """Magnetic declination at a place and a time."""

    deg: float  # east positive: magnetic = true − deg
    sigma_deg: float  # one standard deviation of the model's error
    model: str
    date: date
    horizontal_nt: float  # of the field, on which a compass depends
    zone: Literal["caution", "blackout"] | None  # where a compass must not be trusted; None: outside both


def declination(lat_deg: float, lon_deg: float, altitude_m: float, when: date | datetime) -> Declination:
    """Magnetic declination (variation) at one place and time.

    Parameters
    ----------
    lat_deg, lon_deg
        WGS 84 [deg].
    altitude_m
        −1000 to 850 000 [m]. The model counts it above the ellipsoid; a height above sea level, at most 110 m off,
        moves the answer by less than 0.005 degrees.
    when
        Date, or date and time (without an offset it is taken as UTC), from 1 January 2025 to 1 January 2030.

    Returns
    -------
    Declination
        With its error ``sqrt(0.26² + (5417/H)²)`` (WMM2025 error model) and, where the horizontal field H is below
        6000 nT, the caution zone of the model's issuer, below 2000 nT the blackout zone.

    Raises
    ------
    RangeError
        A date outside the model's five years, a place that is not known, out of range, or swapped.
    """
    for limits, value in ((LATITUDE, lat_deg), (LONGITUDE, lon_deg), (_HEIGHT, altitude_m)):
        if np.isnan(limits.check(value)):
            raise RangeError(f"declination: {limits.name} is not known (NaN); give a place", where=limits.name)
    moment = _utc(when)
    year = _decimal_year(moment)
    if not FIRST_YEAR <= year <= LAST_YEAR:
        ended = "a later diproute carries the next model" if year > LAST_YEAR else "older models are not carried"
        raise RangeError(
            f"declination: got the date {moment.date()}, wanted 2025-01-01 to 2030-01-01 ({MODEL}); {ended}",
            where="when",
            got=when,
        )
    from pygeomag import GeoMag
    from pygeomag.wmm.wmm_2025 import WMM_2025

    # a fresh model each time: its calculation keeps scratch space and is not safe between threads
    field = GeoMag(coefficients_data=WMM_2025).calculate(
        glat=float(lat_deg), glon=float(lon_deg), alt=float(altitude_m) / 1000, time=year
    )
    return Declination(
        deg=float(field.d),
        sigma_deg=min(180.0, float(field.calculate_uncertainty().d)),
        model=MODEL,
        date=moment.date(),
        horizontal_nt=float(field.h),
        zone=_zone(float(field.h)),
    )


def to_magnetic(true_deg: Numbers, declination_deg: Numbers) -> Result:
    """Magnetic direction of a true one.

    Parameters
    ----------
    true_deg
        [deg true], any shape.
    declination_deg
        East positive [deg], broadcasts.

    Returns
    -------
    float or ndarray
        ``true − declination`` [deg magnetic], 0 to 360.
    """
    return plain((np.asarray(true_deg, dtype=np.float64) - np.asarray(declination_deg, dtype=np.float64)) % 360)


def _zone(horizontal_nt: float) -> Literal["caution", "blackout"] | None:
    if horizontal_nt < MAGNETIC_BLACKOUT_NT.value:
        return "blackout"
    return "caution" if horizontal_nt < MAGNETIC_CAUTION_NT.value else None


def _utc(when: date | datetime) -> datetime:
    moment = when if isinstance(when, datetime) else datetime.combine(when, time())
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _decimal_year(moment: datetime) -> float:
    start, end = datetime(moment.year, 1, 1, tzinfo=UTC), datetime(moment.year + 1, 1, 1, tzinfo=UTC)
    return moment.year + (moment - start) / (end - start)
