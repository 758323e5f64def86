"""From a flown profile to the leg's record, with what a pilot should know of it."""

from __future__ import annotations

from typing import Any, Final, Literal

import numpy as np

from diproute.records import Crossing, Display, Finding, Leg, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.crossings import OBLIQUE_DEG, crossings_of, frame_of
from diproute.routing.profile import Profile
from diproute.units import show, show_time

LONG_WAIT_S: Final = 5.0  # less than this in a turn is not worth a word


def make_leg(
    airspace: Airspace, profile: Profile, wind: Wind, hanging_m: float, drop: str,
    leg: Literal["loaded", "empty", "ferry"], display: Display,
) -> Leg:  # fmt: skip
    """Make the record of a leg.

    Parameters
    ----------
    airspace, profile, wind
        Where, how and in what wind it is flown.
    hanging_m
        Hook to bucket's bottom [m].
    drop, leg
        Name of the drop, and kind of leg.
    display
        Units of the sentences.

    Returns
    -------
    Leg
        Heights are the aircraft's.
    """
    lon, lat = frame_of(airspace.grid.lat_deg, airspace.grid.lon_deg).to_lonlat(profile.x_m, profile.y_m)
    crossings = crossings_of(airspace, profile)
    altitude = profile.bottom_m + hanging_m
    cautions = [
        *_waits(profile, display),
        *_wires(crossings, display),
        *_dear_areas(airspace, profile, hanging_m),
        *_wind_table(wind, altitude, display),
    ]
    return Leg(
        drop=drop, leg=leg, x_m=profile.x_m, y_m=profile.y_m, lon_deg=np.asarray(lon), lat_deg=np.asarray(lat),
        distance_m=profile.distance_m, ground_m=profile.ground_m, top_m=profile.top_m,
        floor_m=profile.floor_m + hanging_m, altitude_m=altitude, time_s=profile.time_s, crossings=crossings,
        waypoints=profile.turning, cautions=tuple(cautions), hanging_m=hanging_m,
    )  # fmt: skip


def entered_areas(airspace: Airspace, profile: Profile, hanging_m: float) -> tuple[int, ...]:
    """Find the hard areas with a floor that the aircraft would climb into, as indices into `Airspace.avoid`.

    The solve lets a leg pass under such an area; a profile that must be high there may not.
    """
    altitude = profile.bottom_m + hanging_m
    out = []
    for i, area in enumerate(airspace.avoid):
        if area.hard and area.floor_m is not None:
            inside = _inside(area.geometry, profile) & (altitude >= area.floor_m)
            if area.ceiling_m is not None:
                inside &= profile.bottom_m <= area.ceiling_m
            if inside.any():
                out.append(i)
    return tuple(out)


def _inside(shape: Any, profile: Profile) -> Any:
    import shapely

    return shapely.intersects_xy(shape, profile.x_m, profile.y_m)


def _waits(profile: Profile, display: Display) -> list[Finding]:
    out = []
    for i in np.flatnonzero(profile.wait_s > LONG_WAIT_S):
        up = profile.bottom_m[i] - profile.bottom_m[i - 1]
        at = float(profile.distance_m[i])
        along = f"{show(at, 'distance', display)} along"
        where = "at the start" if at == 0.0 else "at the end" if at == profile.distance_m[-1] else along
        verb = "climbs" if up >= 0 else "descends"
        out.append(Finding(
            "climb-in-turn" if up >= 0 else "descent-in-turn",
            f"{verb} {show(abs(float(up)), 'height', display)} in turns {where}, {show_time(float(profile.wait_s[i]))} "
            f"on top of the leg's own way",
        ))  # fmt: skip
    return out


def _wires(crossings: tuple[Crossing, ...], display: Display) -> list[Finding]:
    out = []
    for wire in crossings:
        if wire.angle_deg < OBLIQUE_DEG:
            out.append(Finding("wire-oblique", f"crosses {wire.name} at {wire.angle_deg:.0f}°, not squarely: watch it"))
        if wire.height_assumed:
            top = show(wire.top_m, "height", display)
            out.append(Finding("wire-height-assumed", f"crosses {wire.name}, height assumed, taken as {top} AMSL"))
    return out


def _dear_areas(airspace: Airspace, profile: Profile, hanging_m: float) -> list[Finding]:
    altitude = profile.bottom_m + hanging_m
    out = []
    for area in airspace.avoid:
        if not area.hard:
            low = -np.inf if area.floor_m is None else area.floor_m
            high = np.inf if area.ceiling_m is None else area.ceiling_m
            if (_inside(area.geometry, profile) & (altitude >= low) & (profile.bottom_m <= high)).any():
                out.append(Finding("area-crossed", f"crosses {area.name}: {area.because}"))
    return out


def _wind_table(wind: Wind, altitude_m: Any, display: Display) -> list[Finding]:
    low, high = wind.altitude_m[0], wind.altitude_m[-1]
    if len(wind.altitude_m) == 1 or (altitude_m.min() >= low and altitude_m.max() <= high):
        return []
    return [Finding(
        "wind-outside-table",
        f"flown between {show(float(altitude_m.min()), 'height', display)} and "
        f"{show(float(altitude_m.max()), 'height', display)}, the wind is known from {show(low, 'height', display)} to "
        f"{show(high, 'height', display)} only and held beyond",
    )]  # fmt: skip
