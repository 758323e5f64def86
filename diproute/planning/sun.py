"""Where the sun stands, when it rises and sets, what is flown in the dark, and who looks into the sun."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from diproute.constants import DAYLIGHT_MARGIN_S, SUN_GLARE_ELEVATION_DEG, SUN_GLARE_SIDE_DEG
from diproute.errors import RangeError
from diproute.records import Finding


@dataclass(frozen=True, slots=True)
class Daylight:
    """Sunrise and sunset of the incident's day, and the flying window the 30-minute rule makes of them."""

    sunrise: datetime | None  # None: the sun does not rise or set that day
    sunset: datetime | None
    first: datetime | None
    last: datetime | None  # on the ground by then


def sun_at(lat_deg: float, lon_deg: float, when: datetime) -> tuple[float, float]:
    """Give the sun's true azimuth and its elevation.

    Parameters
    ----------
    lat_deg, lon_deg
        Where [deg].
    when
        Time with its offset.

    Returns
    -------
    tuple of float
        Azimuth [deg true] and elevation above the horizon, with refraction [deg].
    """
    from astral import Observer
    from astral.sun import azimuth, elevation

    observer = Observer(latitude=lat_deg, longitude=lon_deg)
    return float(azimuth(observer, when)), float(elevation(observer, when))


def daylight(lat_deg: float, lon_deg: float, when: datetime) -> Daylight:
    """Give sunrise, sunset and the flying window of the local day of `when`.

    The window runs from 30 minutes before sunrise to 30 minutes after sunset, the US interagency rule for
    single-engine helicopters (from memory).
    """
    from astral import Observer
    from astral.sun import sun

    if when.tzinfo is None:
        raise RangeError(f"{when.isoformat()} came without its offset from UTC; give one", where="when")
    observer = Observer(latitude=lat_deg, longitude=lon_deg)
    try:
        times = sun(observer, date=when.date(), tzinfo=when.tzinfo)
    except ValueError:  # polar day or night
        return Daylight(None, None, None, None)
    margin = timedelta(seconds=DAYLIGHT_MARGIN_S.value)
    rise, sets = times["sunrise"].replace(microsecond=0), times["sunset"].replace(microsecond=0)
    return Daylight(rise, sets, rise - margin, sets + margin)


def darkness(lat_deg: float, lon_deg: float, when: datetime) -> Finding | None:
    """Caution where a time lies outside the flying window of its day, or in a night that does not end.

    Parameters
    ----------
    lat_deg, lon_deg
        Where [deg].
    when
        Time with its offset.
    """
    light = daylight(lat_deg, lon_deg, when)
    if light.first is not None and light.last is not None:
        if light.first <= when <= light.last:
            return None
        return Finding.of("dark", at=when.isoformat(), first=light.first.isoformat(), last=light.last.isoformat())
    if sun_at(lat_deg, lon_deg, when)[1] > 0:
        return None
    return Finding.of("dark", at=when.isoformat(), first=None, last=None)


def glare(course_deg: float, azimuth_deg: float, elevation_deg: float) -> Finding | None:
    """Caution where an arrival flies into a low sun.

    Parameters
    ----------
    course_deg
        The arrival's true course [deg].
    azimuth_deg, elevation_deg
        The sun [deg].
    """
    beside = abs((course_deg - azimuth_deg + 180) % 360 - 180)
    if not 0 < elevation_deg < SUN_GLARE_ELEVATION_DEG.value or beside > SUN_GLARE_SIDE_DEG.value:
        return None
    return Finding.of(
        "sun-in-the-eyes",
        elevation_deg=elevation_deg,
        azimuth_deg=azimuth_deg,
        off_deg=beside,
        course_deg=course_deg,
    )
