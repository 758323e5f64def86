"""From a solved field to the legs of many sites, each with what a pilot should know of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Literal, TypeVar

import numpy as np

from diproute.constants import LONG_WAIT_S, WIRE_OBLIQUE_DEG
from diproute.physics.geodesy import frame_of
from diproute.records import F64, Crossing, Finding, Leg, Wind
from diproute.routing.airspace import Airspace
from diproute.routing.blocked import Blocked, under_ceiling, why_blocked
from diproute.routing.end_climb import better_ways
from diproute.routing.profile import Profile
from diproute.routing.travel_time import Ask, Field, Way
from diproute.routing.wire_crossings import cross_at_right_angles, crossings_of
from diproute.threads import threads

Kind = Literal["loaded", "empty", "ferry"]
T = TypeVar("T")
R = TypeVar("R")


def fly_legs(
    field: Field, asks: Sequence[Ask], drop: str, kind: Kind, *, workers: int | None = None
) -> list[Leg | Blocked]:
    """Give the leg between each site and the source that suits it best.

    Parameters
    ----------
    field
        The field of the legs.
    asks
        The sites, with the height of the bucket's bottom there and what hangs below the aircraft.
    drop
        Name of the source for the record.
    kind
        Kind of leg for the record.
    workers
        On how many threads the sites are shared out; 1 where other fields run beside this one, None: on all.

    Returns
    -------
    list of Leg or Blocked
        One for each site; `Blocked` says what is in the way, after a solve on the fine grid.
    """
    count = threads() if workers is None else workers
    ways = better_ways(field, asks, _shared_out(field.way, asks, count))

    def fly(pair: tuple[Ask, Way | None]) -> Leg | Blocked:
        return _fly(field, *pair, drop, kind)

    return _shared_out(fly, list(zip(asks, ways, strict=True)), count)


def _fly(field: Field, ask: Ask, way: Way | None, drop: str, kind: Kind) -> Leg | Blocked:
    airspace, fine = field.airspace, field.airspace.fine
    profile = None
    if way is not None:
        nodes = cross_at_right_angles(airspace, field.model(fine), way.nodes, ask.bottom_m)
        profile = field.profile(ask, nodes)
    if profile is None:
        return why_blocked(airspace, field.model(fine), field.source_cells(fine), ask.x_m, ask.y_m)
    ends = ((profile.x_m[i], profile.y_m[i], profile.bottom_m[i]) for i in (0, -1))
    inside = next((shut for end in ends if (shut := under_ceiling(airspace, *end)) is not None), None)
    if inside is not None:
        return inside
    entered = entered_areas(airspace, profile, ask.hanging_m)
    if entered:
        return fly_legs(field.without(entered), [ask], drop, kind, workers=1)[0]
    return make_leg(airspace, profile, field.wind, ask.hanging_m, drop, kind)


def _shared_out(function: Callable[[T], R], items: Sequence[T], workers: int) -> list[R]:
    """Run a function over items on some threads, in order."""
    if len(items) < 4 or workers < 2:
        return [function(item) for item in items]
    with ThreadPoolExecutor(workers) as pool:
        return list(pool.map(function, items))


def make_leg(airspace: Airspace, profile: Profile, wind: Wind, hanging_m: float, drop: str, kind: Kind) -> Leg:
    """Make the record of a leg.

    Parameters
    ----------
    airspace, profile, wind
        Where, how and in what wind it is flown.
    hanging_m
        Hook to bucket's bottom [m].
    drop, kind
        Name of the drop, and kind of leg.

    Returns
    -------
    Leg
        Heights are the aircraft's.
    """
    lon, lat = frame_of(airspace.grid).to_lonlat(profile.x_m, profile.y_m)
    crossings = crossings_of(airspace, profile)
    altitude = profile.bottom_m + hanging_m
    cautions = [
        *_waits(profile, kind, drop),
        *_wires(crossings),
        *_dear_areas(airspace, profile, altitude),
        *_wind_table(wind, altitude),
    ]
    return Leg(
        drop=drop, leg=kind, x_m=profile.x_m, y_m=profile.y_m, lon_deg=np.asarray(lon), lat_deg=np.asarray(lat),
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
            high_m = np.inf if area.ceiling_m is None else area.ceiling_m
            if _meets(area.geometry, profile, altitude, (area.floor_m, high_m)):
                out.append(i)
    return tuple(out)


def _meets(shape: Any, profile: Profile, altitude_m: F64, between_m: tuple[float, float]) -> bool:
    """Tell whether a leg touches a shape between two heights [m AMSL], also in the middle of a stretch."""
    import shapely

    ends = np.column_stack([profile.x_m, profile.y_m])
    over = shapely.intersects(shape, shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1)))
    highest = np.maximum(altitude_m[:-1], altitude_m[1:])
    lowest = np.minimum(profile.bottom_m[:-1], profile.bottom_m[1:])
    low_m, high_m = between_m
    return bool((over & (highest >= low_m) & (lowest <= high_m)).any())


def _waits(profile: Profile, kind: Kind, drop: str) -> list[Finding]:
    out = []
    for i in np.flatnonzero(profile.wait_s > LONG_WAIT_S.value):
        rise_m = float(profile.bottom_m[i] - profile.bottom_m[i - 1])
        along_m = float(profile.distance_m[i])
        end = "start" if along_m == 0.0 else "end" if along_m == profile.distance_m[-1] else None
        out.append(
            Finding.of(
                "climb-in-turn" if rise_m >= 0 else "descent-in-turn",
                leg=kind,
                to=drop if kind == "loaded" else None,
                back=drop if kind == "empty" else None,
                height_m=abs(rise_m),
                end=end,
                along_m=along_m if end is None else None,
                wait_s=float(profile.wait_s[i]),
            )
        )
    return out


def _wires(crossings: tuple[Crossing, ...]) -> list[Finding]:
    out = []
    for wire in crossings:
        if wire.angle_deg < WIRE_OBLIQUE_DEG.value:
            out.append(Finding.of("wire-oblique", wire=wire.name, angle_deg=wire.angle_deg))
        if wire.height_assumed:
            out.append(Finding.of("wire-height-assumed", wire=wire.name, top_m=wire.top_m))
    return out


def _dear_areas(airspace: Airspace, profile: Profile, altitude_m: F64) -> list[Finding]:
    out = []
    for area in airspace.avoid:
        if not area.hard:
            low = -np.inf if area.floor_m is None else area.floor_m
            high = np.inf if area.ceiling_m is None else area.ceiling_m
            if _meets(area.geometry, profile, altitude_m, (low, high)):
                out.append(Finding.of("area-crossed", area=area.name, why=area.why))
    return out


def _wind_table(wind: Wind, altitude_m: F64) -> list[Finding]:
    known_low_m, known_high_m = wind.altitude_m[0], wind.altitude_m[-1]
    low_m, high_m = float(altitude_m.min()), float(altitude_m.max())
    if len(wind.altitude_m) == 1 or (low_m >= known_low_m and high_m <= known_high_m):
        return []
    return [
        Finding.of("wind-outside-table", low_m=low_m, high_m=high_m, known_low_m=known_low_m, known_high_m=known_high_m)
    ]
