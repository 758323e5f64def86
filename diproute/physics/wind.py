"""The wind: triangle, components on a course, wind between the levels of a table.

Directions are degrees true; a wind is named by where it blows from.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from diproute.errors import RangeError
from diproute.physics.ranges import Numbers, Range, Result, plain

_KNOTS = "knots given as m/s? multiply by 0.514444"
DIRECTION: Final = Range("direction", -360, 720, "deg")
AIRSPEED: Final = Range("airspeed_m_s", 0, 150, "m/s", ((150, 300, _KNOTS),))
WIND: Final = Range("wind_m_s", 0, 100, "m/s", ((100, 200, _KNOTS),))


def headwind(course_deg: Numbers, from_deg: Numbers, speed_m_s: Numbers) -> Result:
    """Wind against the way of flight.

    Parameters
    ----------
    course_deg
        Way the aircraft flies [deg true], any shape.
    from_deg
        Where the wind comes from [deg true], broadcasts.
    speed_m_s
        Wind speed, 0 to 100 [m/s], broadcasts.

    Returns
    -------
    float or ndarray
        [m/s]; negative: a tailwind.

    Raises
    ------
    RangeError
        A direction outside −360 to 720, or a speed outside its range.
    """
    angle = np.radians(DIRECTION.check(from_deg) - DIRECTION.check(course_deg))
    return plain(WIND.check(speed_m_s) * np.cos(angle))


def crosswind(course_deg: Numbers, from_deg: Numbers, speed_m_s: Numbers) -> Result:
    """Wind across the way of flight.

    Parameters
    ----------
    course_deg
        Way the aircraft flies [deg true], any shape.
    from_deg
        Where the wind comes from [deg true], broadcasts.
    speed_m_s
        Wind speed, 0 to 100 [m/s], broadcasts.

    Returns
    -------
    float or ndarray
        [m/s]; positive: from the right.

    Raises
    ------
    RangeError
        A direction outside −360 to 720, or a speed outside its range.
    """
    angle = np.radians(DIRECTION.check(from_deg) - DIRECTION.check(course_deg))
    return plain(WIND.check(speed_m_s) * np.sin(angle))


def wind_triangle(
    course_deg: Numbers, airspeed_m_s: Numbers, wind_from_deg: Numbers, wind_m_s: Numbers
) -> tuple[Result, Result]:
    """Ground speed and wind correction on a course.

    Parameters
    ----------
    course_deg
        Course over the ground [deg true], any shape.
    airspeed_m_s
        True airspeed, 0 to 150 [m/s], broadcasts.
    wind_from_deg
        Where the wind comes from [deg true], broadcasts.
    wind_m_s
        Wind speed, 0 to 100 [m/s], broadcasts.

    Returns
    -------
    ground_speed_m_s : float or ndarray
        [m/s]; NaN where the course cannot be held or no way is made over the ground.
    correction_deg : float or ndarray
        Added to the course it gives the heading [deg]; positive: to the right; NaN with the ground speed.
        ``sin WCA = (W/V)·sin(WD − TC)``, ``GS = V·cos WCA − W·cos(WD − TC)`` (FAA-H-8083-25A chapter 15).

    Raises
    ------
    RangeError
        A direction outside −360 to 720, or a speed outside its range.
    """
    airspeed = AIRSPEED.check(airspeed_m_s)
    across = np.asarray(crosswind(course_deg, wind_from_deg, wind_m_s))
    against = np.asarray(headwind(course_deg, wind_from_deg, wind_m_s))
    with np.errstate(invalid="ignore", divide="ignore"):
        correction = np.arcsin(across / airspeed)
        ground_speed = airspeed * np.cos(correction) - against
        good = ground_speed > 0
    return plain(np.where(good, ground_speed, np.nan)), plain(np.where(good, np.degrees(correction), np.nan))


def wind_at(
    altitude_levels_m: Sequence[float], from_deg: Sequence[float], speed_m_s: Sequence[float], altitude_m: Numbers
) -> tuple[Result, Result]:
    """Wind at a height from a table of levels.

    Parameters
    ----------
    altitude_levels_m
        Levels of the table [m AMSL], rising; one level is one wind everywhere.
    from_deg
        Where the wind comes from, by level [deg true].
    speed_m_s
        Wind speed by level, 0 to 100 [m/s].
    altitude_m
        Where the wind is wanted [m AMSL], any shape.

    Returns
    -------
    from_deg : float or ndarray
        [deg true], 0 to 360.
    speed_m_s : float or ndarray
        [m/s]. The wind's vector runs straight between two levels and is held outside the table, which is for the
        caller to say.

    Raises
    ------
    RangeError
        An empty table, columns of different lengths, levels that do not rise, or a value not known in the table.
    """
    levels = np.asarray(altitude_levels_m, dtype=np.float64)
    froms, speeds = DIRECTION.check(from_deg), WIND.check(speed_m_s)
    if levels.ndim != 1 or levels.size == 0 or not levels.shape == froms.shape == speeds.shape:
        raise RangeError(
            f"wind table: got {levels.size} levels, {froms.size} directions, {speeds.size} speeds; give each level one",
            where="wind",
        )
    if not (np.isfinite(levels).all() and np.isfinite(froms).all() and np.isfinite(speeds).all()):
        raise RangeError("wind table: a value is not known (NaN); leave that level out", where="wind")
    if (np.diff(levels) <= 0).any():
        raise RangeError(f"wind table: levels {levels.tolist()} m do not rise; sort them, each once", where="wind")
    altitude = np.asarray(altitude_m, dtype=np.float64)
    if levels.size == 1:
        unknown = np.isnan(altitude)
        return plain(np.where(unknown, np.nan, froms[0] % 360)), plain(np.where(unknown, np.nan, speeds[0]))
    east = np.interp(altitude, levels, speeds * np.sin(np.radians(froms)))
    north = np.interp(altitude, levels, speeds * np.cos(np.radians(froms)))
    return plain(np.degrees(np.arctan2(east, north)) % 360), plain(np.hypot(east, north))
