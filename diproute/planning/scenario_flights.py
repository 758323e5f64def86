"""Sites flown again in another wind over the ways they already have: approach chosen anew, legs timed anew."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning.prepared import Prepared
from diproute.planning.scenarios import Flights
from diproute.planning.travel_fields import course_of, last_leg_extra, turned_s
from diproute.records import F64, AssessedSite, Leg, Wind
from diproute.routing.profile import fly_way
from diproute.routing.speed_model import Flying
from diproute.sites.approach import choose


def fly_scenarios(
    scene: Prepared, sites: Sequence[AssessedSite], winds: Sequence[Wind]
) -> tuple[Flights, list[list[str]]]:
    """Fly every site in every wind.

    Parameters
    ----------
    scene
        The ground made ready.
    sites
        Sites with a route.
    winds
        One a weather.

    Returns
    -------
    flights : Flights
        NaN where a course, or a leg, cannot be flown in that wind.
    because : list of lists of str
        Why not, by site and wind; empty where it can.
    """
    incident = scene.incident
    names = ("loaded_s", "empty_s", "lift_m", "lower_m", "departure_turn_s", "arrival_turn_s", "out_s", "home_s")
    told: dict[str, F64] = {name: np.full((len(sites), len(winds)), np.nan) for name in names}
    because = [["" for _ in winds] for _ in sites]
    craft = incident.helicopter
    full = Flying(craft.speed_loaded_m_s, craft.climb_loaded_m_s, craft.descent_loaded_m_s)
    empty = Flying(craft.speed_empty_m_s, craft.climb_empty_m_s, craft.descent_empty_m_s)
    shares = np.array([drop.share for drop in scene.drops])
    main = int(np.argmax(shares))
    based = scene.base is not None
    seen: dict[Wind, int] = {}
    for w, wind in enumerate(winds):
        if wind in seen:  # the same wind needs no second flight
            for name in names:
                told[name][:, w] = told[name][:, seen[wind]]
            for reasons in because:
                reasons[w] = reasons[seen[wind]]
            continue
        seen[wind] = w
        for s, site in enumerate(sites):
            route, point = site.route, site.point
            if route is None:
                raise ValueError(f"{site.name} has no route")
            from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, point.level_m)
            approach = choose(
                site.clearance,
                float(from_deg),
                float(speed),
                incident.limits,
                course_of(route.loaded[main], "start"),
                course_of(route.empty[main], "end"),
                craft.lift_speed_m_s,
                craft.lower_speed_m_s,
                scene.declination.deg,
                incident.display,
                wind.gust_m_s,
                (turned_s(route.loaded[main], "start"), turned_s(route.empty[main], "end")),
            )
            if approach.pair is None:
                because[s][w] = "; ".join(finding.because for finding in approach.refused)
                continue
            arrival, departure = approach.pair
            out = [_seconds(scene, leg, full, wind, start_m=point.level_m + departure.lift_m) for leg in route.loaded]
            back = [_seconds(scene, leg, empty, wind, end_m=point.level_m + arrival.lift_m) for leg in route.empty]
            values: list[float] = [
                float(shares @ out),
                float(shares @ back),
                departure.lift_m,
                arrival.lift_m,
                departure.turn_s,
                arrival.turn_s,
            ]
            if based:
                ferry = (route.from_base, route.to_base)
                out_s, home_s = (np.nan if leg is None else _seconds(scene, leg, empty, wind) for leg in ferry)
                values += [out_s, home_s + last_leg_extra(craft, out, shares)]
            for name, value in zip(names, values, strict=False):
                told[name][s, w] = value
            if not np.isfinite(values).all():
                because[s][w] = "a leg cannot hold its course in this wind"
    ferry_out, ferry_home = told.pop("out_s"), told.pop("home_s")
    base = (ferry_out, ferry_home) if based else (None, None)
    return Flights(**told, out_s=base[0], home_s=base[1], fixed=np.ones(len(winds))), because


def _seconds(
    scene: Prepared,
    leg: Leg,
    flying: Flying,
    wind: Wind,
    start_m: float | None = None,
    end_m: float | None = None,
) -> float:
    """Time of a leg's way in another wind [s]; NaN where it cannot be flown."""
    turning = list(leg.waypoints)
    bottom = leg.altitude_m - leg.hanging_m
    profile = fly_way(
        scene.airspace,
        flying,
        wind,
        leg.x_m[turning],
        leg.y_m[turning],
        float(bottom[0]) if start_m is None else start_m,
        float(bottom[-1]) if end_m is None else end_m,
        leg.hanging_m,
    )
    return float("nan") if profile is None else profile.seconds
