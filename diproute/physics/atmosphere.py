"""The air: standard atmosphere, pressure altitude, density, density altitude, temperature at a site.

The standard atmosphere is ICAO Doc 7488/3 (1993) below 11 km, identical with the US Standard Atmosphere 1976.
Altitudes are geopotential; below 5 km they differ from the geometric ones by less than 0.08 % and are used as one.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from diproute.constants import (
    DRY_LAPSE_K_M,
    G0_M_S2,
    LAPSE_K_M,
    P0_PA,
    R_AIR_J_KG_K,
    RHO0_KG_M3,
    T0_K,
    WATER_AIR_MASS_RATIO,
)
from diproute.physics.ranges import F64, Numbers, Range, Result, plain

_T0, _P0, _RHO0, _LAPSE, _R = T0_K.value, P0_PA.value, RHO0_KG_M3.value, LAPSE_K_M.value, R_AIR_J_KG_K.value
_N: Final = G0_M_S2.value / (_LAPSE * _R)  # pressure exponent, 5.25588
_TROPOPAUSE_M: Final = 11000.0

_FEET = "that looks like feet: multiply by 0.3048"
_KELVIN = "that looks like degrees Celsius: add 273.15"
_PASCAL = "that looks like hPa: multiply by 100"
_INCHES = "that looks like inches of mercury: multiply by 3386.389"
ALTITUDE: Final = Range("altitude_m", -5000, _TROPOPAUSE_M, "m", ((11000, 36100, _FEET),))
ELEVATION: Final = Range("elevation_m", -500, 9000, "m", ((9000, 30000, _FEET),))
QNH: Final = Range("qnh_pa", 85000, 110000, "Pa", ((850, 1100, _PASCAL), (25, 33, _INCHES)))
# all that an elevation and a setting above can give; 1085 hPa at -430 m are 1141 hPa
PRESSURE: Final = Range("pressure_pa", 24500, 117000, "Pa", ((245, 1170, _PASCAL), (7, 35, _INCHES)))
TEMPERATURE: Final = Range("temperature_k", 180, 350, "K", ((-93, 77, _KELVIN), (77, 140, "that looks like degF")))
DEW_POINT: Final = Range("dew_point_k", 180, 350, "K", ((-93, 77, _KELVIN), (77, 140, "that looks like degF")))
LAPSE: Final = Range("lapse_k_per_m", -0.05, 0.05, "K/m", ((-50, 50, "that looks like K/km: divide by 1000"),))


def standard_temperature(altitude_m: Numbers) -> Result:
    """Temperature of the standard atmosphere.

    Parameters
    ----------
    altitude_m
        Geopotential altitude, −5000 to 11 000 [m], any shape.

    Returns
    -------
    float or ndarray
        [K]; ``T0 − L·H`` (ICAO Doc 7488/3).

    Raises
    ------
    RangeError
        An altitude outside the range.
    """
    return plain(_T0 - _LAPSE * ALTITUDE.check(altitude_m))


def standard_pressure(altitude_m: Numbers) -> Result:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m
        Geopotential altitude, −5000 to 11 000 [m], any shape.

    Returns
    -------
    float or ndarray
        [Pa]; ``p0·(1 − L·H/T0)^(g0/(R·L))`` (ICAO Doc 7488/3).

    Raises
    ------
    RangeError
        An altitude outside the range.
    """
    return plain(_P0 * (1 - _LAPSE / _T0 * ALTITUDE.check(altitude_m)) ** _N)


def standard_density(altitude_m: Numbers) -> Result:
    """Density of the standard atmosphere.

    Parameters
    ----------
    altitude_m
        Geopotential altitude, −5000 to 11 000 [m], any shape.

    Returns
    -------
    float or ndarray
        [kg/m3]; ``rho0·(1 − L·H/T0)^(g0/(R·L) − 1)`` (ICAO Doc 7488/3).

    Raises
    ------
    RangeError
        An altitude outside the range.
    """
    return plain(_RHO0 * (1 - _LAPSE / _T0 * ALTITUDE.check(altitude_m)) ** (_N - 1))


def station_pressure(elevation_m: Numbers, qnh_pa: Numbers) -> Result:
    """Pressure at a place from its elevation and the altimeter setting.

    Parameters
    ----------
    elevation_m
        Above mean sea level, −500 to 9000 [m], any shape.
    qnh_pa
        Altimeter setting, 85 000 to 110 000 [Pa], broadcasts with `elevation_m`.

    Returns
    -------
    float or ndarray
        [Pa]; ``(QNH^(1/n) − p0^(1/n)·L·h/T0)^n``, from the definition of QNH (ICAO Doc 7488/3).

    Raises
    ------
    RangeError
        An elevation or a setting outside its range (feet for metres, hPa or inHg for Pa).
    """
    height, qnh = ELEVATION.check(elevation_m), QNH.check(qnh_pa)
    return plain((qnh ** (1 / _N) - _P0 ** (1 / _N) * _LAPSE / _T0 * height) ** _N)


def pressure_altitude(elevation_m: Numbers, qnh_pa: Numbers) -> Result:
    """Altitude at which the standard atmosphere has the pressure of a place.

    Parameters
    ----------
    elevation_m
        Above mean sea level, −500 to 9000 [m], any shape.
    qnh_pa
        Altimeter setting, 85 000 to 110 000 [Pa], broadcasts with `elevation_m`.

    Returns
    -------
    float or ndarray
        [m]; ``h + (T0/L)·(1 − (QNH/p0)^(R·L/g0))``, from the definition of QNH (ICAO Doc 7488/3).

    Raises
    ------
    RangeError
        An elevation or a setting outside its range (feet for metres, hPa or inHg for Pa).
    """
    height, qnh = ELEVATION.check(elevation_m), QNH.check(qnh_pa)
    return plain(height + _T0 / _LAPSE * (1 - (qnh / _P0) ** (1 / _N)))


def saturation_vapour_pressure(temperature_k: Numbers) -> Result:
    """Vapour pressure of saturated air over water; the actual one when given the dew point.

    Parameters
    ----------
    temperature_k
        180 to 350 [K], any shape.

    Returns
    -------
    float or ndarray
        [Pa]; Goff and Gratch (1946), the formula behind the Smithsonian Meteorological Tables. Its kelvin counts
        from an ice point of 273.16.

    Raises
    ------
    RangeError
        A temperature outside the range (degrees Celsius for kelvin).
    """
    return plain(_vapour_pressure(TEMPERATURE.check(temperature_k)))


def _vapour_pressure(kelvin: F64) -> F64:
    steam = 373.16 / (kelvin + 0.01)
    log_hpa = (
        -7.90298 * (steam - 1)
        + 5.02808 * np.log10(steam)
        - 1.3816e-7 * (10 ** (11.344 * (1 - 1 / steam)) - 1)
        + 8.1328e-3 * (10 ** (-3.49149 * (steam - 1)) - 1)
        + np.log10(1013.246)
    )
    return np.asarray(100 * 10**log_hpa, dtype=np.float64)


def air_density(pressure_pa: Numbers, temperature_k: Numbers, dew_point_k: Numbers | None = None) -> Result:
    """Density of dry or moist air.

    Parameters
    ----------
    pressure_pa
        Pressure at the place (not QNH), 24 500 to 117 000 [Pa], any shape.
    temperature_k
        180 to 350 [K], broadcasts.
    dew_point_k
        180 to 350 [K], broadcasts; None: dry air. Above the temperature (a moist valley's dew point carried up to a
        cold site) the air is taken as saturated.

    Returns
    -------
    float or ndarray
        [kg/m3]; ideal gases, ``(p − (1 − M_w/M_d)·e)/(R·T)``.

    Raises
    ------
    RangeError
        A value outside its range (hPa for Pa, degrees Celsius for kelvin).
    """
    pressure, temperature = PRESSURE.check(pressure_pa), TEMPERATURE.check(temperature_k)
    if dew_point_k is None:
        return plain(pressure / (_R * temperature))
    vapour = _vapour_pressure(np.minimum(DEW_POINT.check(dew_point_k), temperature))
    return plain((pressure - (1 - WATER_AIR_MASS_RATIO.value) * vapour) / (_R * temperature))


def density_altitude(pressure_pa: Numbers, temperature_k: Numbers, dew_point_k: Numbers | None = None) -> Result:
    """Altitude at which the standard atmosphere has the density of the air.

    Parameters
    ----------
    pressure_pa
        Pressure at the place (not QNH), 24 500 to 117 000 [Pa], any shape.
    temperature_k
        180 to 350 [K], broadcasts.
    dew_point_k
        As in `air_density`.

    Returns
    -------
    float or ndarray
        [m]; ``(T0/L)·(1 − (rho/rho0)^(1/(n − 1)))`` (R. Shelquist, An Introduction to Air Density and Density Altitude
        Calculations, 2023). NaN above 11 000 m, where the formula ends.

    Raises
    ------
    RangeError
        A value outside its range (hPa for Pa, degrees Celsius for kelvin).
    """
    density = np.asarray(air_density(pressure_pa, temperature_k, dew_point_k))
    altitude = _T0 / _LAPSE * (1 - (density / _RHO0) ** (1 / (_N - 1)))
    return plain(np.where(altitude > _TROPOPAUSE_M, np.nan, altitude))


def lapse_used(elevation_m: Numbers, measured_at_m: Numbers, lapse_k_per_m: float | None = None) -> Result:
    """Lapse rate by which `site_temperature` goes from the station to a site.

    Parameters
    ----------
    elevation_m
        Of the site [m], any shape.
    measured_at_m
        Of the station [m], broadcasts.
    lapse_k_per_m
        Fall of temperature with height, −0.05 to 0.05 [K/m]; None: the warmer of the standard and the dry adiabatic
        answer, so 6.5 K/km above the station and 9.8 K/km below it.

    Returns
    -------
    float or ndarray
        [K/m].

    Raises
    ------
    RangeError
        A value outside its range (K/km for K/m, feet for metres).
    """
    rise = ELEVATION.check(elevation_m) - ELEVATION.check(measured_at_m)
    if lapse_k_per_m is not None:
        return plain(np.where(np.isnan(rise), np.nan, LAPSE.check(lapse_k_per_m)))
    return plain(np.where(np.isnan(rise), np.nan, np.where(rise < 0, DRY_LAPSE_K_M.value, _LAPSE)))


def site_temperature(
    elevation_m: Numbers, temperature_k: Numbers, measured_at_m: Numbers, lapse_k_per_m: float | None = None
) -> Result:
    """Temperature at a site from that of a station.

    Parameters
    ----------
    elevation_m
        Of the site, −500 to 9000 [m], any shape.
    temperature_k
        At the station, 180 to 350 [K], broadcasts.
    measured_at_m
        Elevation of the station's thermometer, −500 to 9000 [m], broadcasts.
    lapse_k_per_m
        Fall of temperature with height [K/m]; None: the warmer of the standard (6.5 K/km) and the dry adiabatic
        (9.8 K/km) answer, above the station and below it. `lapse_used` tells which.

    Returns
    -------
    float or ndarray
        [K]. Inversions are not modelled unless a negative lapse is given.

    Raises
    ------
    RangeError
        A value outside its range (degrees Celsius for kelvin, K/km for K/m, feet for metres).
    """
    lapse = np.asarray(lapse_used(elevation_m, measured_at_m, lapse_k_per_m))
    rise = np.asarray(elevation_m, dtype=np.float64) - np.asarray(measured_at_m, dtype=np.float64)
    return plain(TEMPERATURE.check(temperature_k) - lapse * rise)
