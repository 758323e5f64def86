"""Sites flown again in another wind over the ways they already have: approach chosen anew, legs timed anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diproute.planning.approaches import approach_to
from diproute.planning.prepared import Prepared
from diproute.planning.scenarios import Flights
from diproute.planning.travel_fields import loaded_and_empty
from diproute.records import F64, AssessedSite, Finding, Leg, Wind
from diproute.routing.profile import Track, fly_way
from diproute.routing.speed_model import Flying
from diproute.sortie.cycle import farthest_drop_s

_NAMES = ("loaded_s", "empty_s", "lift_m", "lower_m", "departure_turn_s", "arrival_turn_s", "out_s", "home_s")
Whys = tuple[Finding, ...]


def fly_scenarios(
    prepared: Prepared, sites: Sequence[AssessedSite], winds: Sequence[Wind]
) -> tuple[Flights, list[list[Whys]]]:
    """Fly every site in every wind.

    Parameters
    ----------
    prepared
        The ground made ready.
    sites
        Sites with a route.
    winds
        One a weather.

    Returns
    -------
    flights : Flights
        NaN where a course, or a leg, cannot be flown in that wind.
    whys : list of lists of tuples of Finding
        Why not, by site and wind; empty where it can.
    """
    told = np.full((len(_NAMES), len(sites), len(winds)), np.nan)
    whys: list[list[Whys]] = [[() for _ in winds] for _ in sites]
    seen: dict[Wind, int] = {}
    for w, wind in enumerate(winds):
        first = seen.setdefault(wind, w)  # the same wind needs no second flight
        for s, site in enumerate(sites):
            if first == w:
                told[:, s, w], whys[s][w] = _fly_site(prepared, site, wind)
            else:
                told[:, s, w], whys[s][w] = told[:, s, first], whys[s][first]
    flown = dict(zip(_NAMES, told, strict=True))
    out_s, home_s = flown.pop("out_s"), flown.pop("home_s")
    based = prepared.base is not None
    return Flights(
        **flown, out_s=out_s if based else None, home_s=home_s if based else None, fixed=np.ones(len(winds))
    ), whys


def _fly_site(prepared: Prepared, site: AssessedSite, wind: Wind) -> tuple[F64, Whys]:
    """Fly one site in one wind; the values in the order of `_NAMES`."""
    route, low_m, main = site.route, site.point.level_low_m, prepared.main_drop
    values = np.full(len(_NAMES), np.nan)
    if route is None:
        raise ValueError(f"{site.name} has no route")
    main_legs = (route.loaded[main], route.empty[main])
    approach = approach_to(prepared.incident, wind, site.clearance, site.point.level_high_m, main_legs)
    if approach.pair is None:
        return values, approach.refused
    arrival, departure = approach.pair
    full, empty = loaded_and_empty(prepared.incident.helicopter)
    loaded_s = [_seconds(prepared, leg, full, wind, _Ends(start_m=low_m + departure.lift_m)) for leg in route.loaded]
    empty_s = [_seconds(prepared, leg, empty, wind, _Ends(end_m=low_m + arrival.lift_m)) for leg in route.empty]
    values[:6] = (
        prepared.shares @ loaded_s,
        prepared.shares @ empty_s,
        departure.lift_m,
        arrival.lift_m,
        departure.turn_s,
        arrival.turn_s,
    )
    wanted = 6
    if prepared.base is not None:
        wanted = 8
        out_s, home_s = (
            np.nan if leg is None else _seconds(prepared, leg, empty, wind, _Ends())
            for leg in (route.from_base, route.to_base)
        )
        extra_s = farthest_drop_s(prepared.incident.helicopter, loaded_s, prepared.shares)
        values[6:] = (out_s, home_s + extra_s)
    return values, () if np.isfinite(values[:wanted]).all() else (Finding.of("leg-wind"),)


@dataclass(frozen=True, slots=True)
class _Ends:
    """Where the bucket's bottom begins and ends [m AMSL]; None: as on the leg."""

    start_m: float | None = None
    end_m: float | None = None


def _seconds(prepared: Prepared, leg: Leg, flying: Flying, wind: Wind, ends: _Ends) -> float:
    """Time of a leg's way in another wind [s]; NaN where it cannot be flown."""
    turning = list(leg.waypoints)
    bottom_m = leg.altitude_m - leg.hanging_m
    track = Track(
        leg.x_m[turning],
        leg.y_m[turning],
        float(bottom_m[0]) if ends.start_m is None else ends.start_m,
        float(bottom_m[-1]) if ends.end_m is None else ends.end_m,
        leg.hanging_m,
    )
    profile = fly_way(prepared.airspace, flying, wind, track)
    return float("nan") if profile is None else profile.seconds
