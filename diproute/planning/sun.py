"""Where the sun stands, when it rises and sets, what is flown in the dark, and who looks into the sun."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final, Literal

from diproute.constants import DAYLIGHT_MARGIN_S, SUN_GLARE_ELEVATION_DEG, SUN_GLARE_SIDE_DEG, SUNRISE_ELEVATION_DEG
from diproute.errors import RangeError
from diproute.records import Finding

_HALF_DAY: Final = timedelta(hours=12)
_EXACT: Final = timedelta(seconds=0.5)


@dataclass(frozen=True, slots=True)
class Daylight:
    """Sunrise and sunset of the incident's day, and the flying window the 30-minute rule makes of them."""

    sunrise: datetime | None  # None: the sun does not rise that day
    sunset: datetime | None
    first: datetime | None  # None: there is no end to the light, or to the dark
    last: datetime | None  # on the ground by then
    stays: Literal["up", "down"] | None = None  # the sun all day: polar day, polar night


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
    """Give sunrise, sunset and the flying window of the solar day of `when` at a place.

    The solar day runs from midnight to midnight by the sun, whatever the clock and its offset say. Rise and set are
    looked for one by one, each where the sun's upper rim crosses the horizon; on the days that a polar day or night
    begins or ends there may be one without the other, and the light, or the dark, runs to midnight.

    The window runs from 30 minutes before sunrise to 30 minutes after sunset, the US interagency rule for
    single-engine helicopters (from memory).

    Parameters
    ----------
    lat_deg, lon_deg
        Where [deg].
    when
        Time with its offset, in which the answers are given.

    Raises
    ------
    RangeError
        A time without its offset.
    """
    if when.tzinfo is None:
        raise RangeError(f"{when.isoformat()} came without its offset from UTC; give one", where="when")
    east = timedelta(hours=lon_deg / 15.0)
    noon = (when.astimezone(UTC) + east).replace(hour=12, minute=0, second=0, microsecond=0) - east
    before, after = noon - _HALF_DAY, noon + _HALF_DAY
    rise, sets = _crossing(lat_deg, lon_deg, before, noon), _crossing(lat_deg, lon_deg, noon, after)
    if rise is None and sets is None:
        return Daylight(None, None, None, None, "up" if _is_up(lat_deg, lon_deg, noon) else "down")

    def here(moment: datetime) -> datetime:
        return moment.astimezone(when.tzinfo).replace(microsecond=0)

    margin = timedelta(seconds=DAYLIGHT_MARGIN_S.value)
    return Daylight(
        None if rise is None else here(rise),
        None if sets is None else here(sets),
        here(before if rise is None else rise - margin),
        here(after if sets is None else sets + margin),
    )


def _is_up(lat_deg: float, lon_deg: float, when: datetime) -> bool:
    """Whether some of the sun stands above the horizon, refraction counted."""
    from astral import Observer
    from astral.sun import elevation

    centre = elevation(Observer(latitude=lat_deg, longitude=lon_deg), when, with_refraction=False)
    return bool(centre > SUNRISE_ELEVATION_DEG.value)


def _crossing(lat_deg: float, lon_deg: float, start: datetime, end: datetime) -> datetime | None:
    """Moment between a solar midnight and a solar noon at which the sun crosses the horizon, if it does.

    The library's own sunrise and sunset lose some within a few days of a polar day or night, so that they are
    bracketed here with its elevation.
    """
    at_start = _is_up(lat_deg, lon_deg, start)
    if at_start == _is_up(lat_deg, lon_deg, end):
        return None
    while end - start > _EXACT:
        middle = start + (end - start) / 2
        if _is_up(lat_deg, lon_deg, middle) == at_start:
            start = middle
        else:
            end = middle
    return end


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
    if light.stays == "up":
        return None
    return Finding.of("dark", at=when.isoformat(), first=None, last=None)


def glares(courses_deg: tuple[float, float], lat_deg: float, lon_deg: float, when: datetime) -> tuple[Finding, ...]:
    """Caution where an arrival, or a departure, flies into a low sun.

    Parameters
    ----------
    courses_deg
        The true courses of arrival and departure [deg].
    lat_deg, lon_deg
        Where [deg].
    when
        Time with its offset.
    """
    azimuth_deg, elevation_deg = sun_at(lat_deg, lon_deg, when)
    found = (glare(course, azimuth_deg, elevation_deg, departing=i > 0) for i, course in enumerate(courses_deg))
    return tuple(one for one in found if one is not None)


def glare(course_deg: float, azimuth_deg: float, elevation_deg: float, *, departing: bool = False) -> Finding | None:
    """Caution where an arrival, or a departure, flies into a low sun.

    Parameters
    ----------
    course_deg
        Its true course [deg].
    azimuth_deg, elevation_deg
        The sun [deg].
    departing
        True: a departure.
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
        departing=departing,
    )
