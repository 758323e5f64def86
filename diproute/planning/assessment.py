"""One site judged in full: approach, legs, line, load and fuel cycle, with everything that speaks against it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diproute.constants import FRESH_WATER_KG_L, SEA_WATER_KG_L
from diproute.physics.wind import wind_at
from diproute.planning import ranking
from diproute.planning.air import one_air
from diproute.planning.lines import compare_lines, line_refusal
from diproute.planning.prepared import Prepared
from diproute.planning.shortlist import Candidate
from diproute.planning.sun import glare, sun_at
from diproute.planning.travel_fields import (
    Legs,
    TravelFields,
    course_of,
    ferry_home,
    ferry_out,
    last_leg_extra,
    site_legs,
    turned_s,
)
from diproute.records import (
    Approach,
    AssessedSite,
    Clearance,
    Course,
    Criterion,
    Cycle,
    DipPoint,
    Finding,
    Leg,
    Line,
    LineChoice,
    Route,
    Weather,
)
from diproute.routing.blocked import Blocked
from diproute.routing.travel_time import Ask
from diproute.sites.approach import choose
from diproute.sites.clearance import survey
from diproute.sortie.cycle import cycle
from diproute.sortie.fuel_cycle import Answer, Ferry, best
from diproute.sortie.load import Place

STILL_COURSE_DEG = 0.0
ROUNDS = 4  # of legs and approach; nearly all sites stay after two


@dataclass(frozen=True, slots=True)
class Flown:
    """A site with its geometry settled: where it is, what stands round it, the courses and the legs."""

    candidate: Candidate
    clearance: Clearance
    line: Line | None  # the shortest that is long enough
    approach: Approach | None
    legs: Legs | None
    out: Leg | Blocked | None  # from the base
    home: Leg | Blocked | None  # to the base


def fly_sites(scene: Prepared, ways: TravelFields, weather: Weather, kept: Sequence[Candidate]) -> list[Flown]:
    """Settle the geometry of the kept points: clearance, approach and legs.

    Legs and approach hang together: the approach turns to and from the courses of the legs, and the legs begin and end
    at the lifts of the approach. So the legs are flown from the least lift first, and again from the lifts of the
    courses then chosen, until the choice stays. A site that only the wind closes keeps its first legs, so that other
    hours can be judged.
    """
    if not kept:
        return []
    points = [candidate.point for candidate in kept]
    x, y, level = (np.array([getattr(p, name) for p in points]) for name in ("x_m", "y_m", "level_m"))
    surveys = survey(scene.ground, x, y, level, scene.rules, heights=scene.heights)
    lines = [_shortest(scene, clearance) for clearance in surveys]
    flyable = [i for i, p in enumerate(points) if math.isfinite(p.level_m)]
    least = scene.incident.limits.least_lift_m
    lifts = dict.fromkeys(flyable, (least, least))
    legs: dict[int, Legs] = {}
    approaches: list[Approach | None] = [None] * len(points)
    changed = flyable
    for _ in range(ROUNDS):
        legs.update(zip(changed, _legs(scene, ways, points, lines, changed, [lifts[i] for i in changed]), strict=True))
        before = dict(lifts)
        for i in changed:
            approach = approaches[i] = _approach(scene, weather, surveys[i], level[i], legs[i])
            if approach.pair is not None and not legs[i].blocked:
                lifts[i] = (approach.pair[1].lift_m, approach.pair[0].lift_m)
        changed = [i for i in changed if lifts[i] != before[i]]
        if not changed:
            break
    else:  # the last choice stands, and its lifts are flown
        legs.update(zip(changed, _legs(scene, ways, points, lines, changed, [lifts[i] for i in changed]), strict=True))
    lifts = {i: pair for i, pair in lifts.items() if not legs[i].blocked}
    arriving = _asks(scene, points, lines, list(lifts), [into for _, into in lifts.values()])
    out = dict(zip(lifts, ferry_out(ways, arriving), strict=True))
    home = ferry_home(ways)
    return [
        Flown(kept[i], surveys[i], lines[i], approaches[i], legs.get(i), out.get(i), home) for i in range(len(points))
    ]


def judge(scene: Prepared, weather: Weather, flown: Flown) -> AssessedSite:
    """Work the loads of a site and gather what speaks for and against it.

    Parameters
    ----------
    scene
        The ground made ready.
    weather
        Air and wind of the hour.
    flown
        From `fly_sites` in the same weather.

    Returns
    -------
    AssessedSite
        Not yet ranked and named; refused when any hard limit is broken.
    """
    incident, point, clearance = scene.incident, flown.candidate.point, flown.clearance
    known = math.isfinite(point.level_m)
    air = one_air(weather.air, point.level_m) if known else None
    refused = [f for f in (flown.candidate.refused, ranking.depth_refusal(incident, point)) if f]
    refused += [f for f in (line_refusal(incident, clearance),) if f]
    if not known:
        refused.append(
            Finding("level-unknown", f"{point.water.name}: the water level is not known, the ground has no data")
        )
    approach, legs, line = flown.approach, flown.legs, flown.line
    if approach is not None:
        refused += approach.refused
    blocked = None if legs is None else legs.blocked
    for way in (flown.out, flown.home):
        blocked = blocked or (way if isinstance(way, Blocked) else None)
    if blocked is not None:
        refused.append(Finding(f"blocked-{blocked.code}", blocked.because))
    route: Route | None = None
    trip: Cycle | None = None
    answer: Answer | None = None
    choices: tuple[LineChoice, ...] = ()
    pair = None if approach is None else approach.pair
    if legs and not blocked:
        route = _route(legs, flown)
    if line and pair and route and air:
        flyable = route
        compared = compare_lines(
            [carried for carried in incident.lines if carried.length_m >= line.length_m],
            lambda carried: _fly(scene, weather, flown, pair, flyable, carried),
            incident,
            clearance,
        )
        line, (trip, answer), choices = compared.line, compared.flown, compared.choices
        refused += answer.refused
    cautions = ranking.point_cautions(
        incident, scene.ground, point, math.nan if air is None else air.density_altitude_m
    )
    if approach is not None:
        cautions += approach.cautions
    if approach is not None and approach.arrival is not None:
        sun = glare(approach.arrival.course_deg, *sun_at(point.lat_deg, point.lon_deg, incident.when))
        cautions += [sun] if sun else []
    if route is not None:
        cautions += [f for leg in (*route.loaded, *route.empty) for f in leg.cautions]
    load = None if answer is None else answer.load
    sortie = None if answer is None else answer.sortie
    criteria: tuple[Criterion, ...] = ()
    if sortie and load and route and line and approach and pair and air:
        wind_from, _ = wind_at(weather.wind.altitude_m, weather.wind.from_deg, weather.wind.speed_m_s, point.level_m)
        criteria = (
            ranking.distance_criterion(incident, route),
            ranking.altitude_criterion(incident, air.density_altitude_m, load),
            ranking.obstacles_criterion(incident, line, clearance, pair[1]),
            ranking.approach_criterion(incident, approach.open_share, pair[0], float(wind_from)),
        )
    return AssessedSite(
        id=point.water.id,
        name=point.water.name,
        point=point,
        rank=None,
        temperature_k=math.nan if air is None else air.temperature_k,
        pressure_altitude_m=math.nan if air is None else air.pressure_altitude_m,
        density_altitude_m=math.nan if air is None else air.density_altitude_m,
        clearance=clearance,
        approach=approach,
        line=line,
        load=load,
        route=route,
        cycle=trip,
        sortie=sortie,
        criteria=criteria,
        curve=() if answer is None else answer.curve,
        refused=tuple(refused),
        cautions=tuple(dict.fromkeys(cautions)),
        line_choices=choices,
        blocked=None if blocked is None else blocked.geometry,
    )


def _fly(
    scene: Prepared, weather: Weather, flown: Flown, pair: tuple[Course, Course], route: Route, line: Line
) -> tuple[Cycle, Answer]:
    """Fly one site's cycle and fuel cycle with one line."""
    incident = scene.incident
    craft, bucket, point = incident.helicopter, incident.bucket, flown.candidate.point
    arrival, departure = pair
    trip = cycle(
        craft,
        bucket,
        line,
        loaded_s=sum(d.share * leg.seconds for d, leg in zip(scene.drops, route.loaded, strict=True)),
        empty_s=sum(d.share * leg.seconds for d, leg in zip(scene.drops, route.empty, strict=True)),
        lift_m=departure.lift_m,
        lower_m=arrival.lift_m,
        departure_turn_s=departure.turn_s,
        arrival_turn_s=arrival.turn_s,
    )
    hanging = line.length_m + bucket.length_m
    heights = {"dip": point.level_m + departure.lift_m + hanging}
    for drop, leg in zip(scene.drops, route.loaded, strict=True):
        name = "drop" if len(scene.drops) == 1 else f"drop {drop.name}"
        heights[name] = float(leg.altitude_m[-1]) - leg.hanging_m + hanging
    places = []
    for name, height in heights.items():
        air = one_air(weather.air, height)
        places.append(Place(name, air.pressure_altitude_m, air.temperature_k))
    ferry = None
    if route.from_base is not None and route.to_base is not None and incident.base is not None:
        shares = np.array([drop.share for drop in scene.drops])
        home_s = route.to_base.seconds + last_leg_extra(craft, [leg.seconds for leg in route.loaded], shares)
        ferry = Ferry(route.from_base.seconds, home_s, incident.base.refuel_s, "drop")
    answer = best(
        craft,
        bucket,
        line,
        trip,
        crew_kg=incident.crew_kg,
        water_kg_l=(SEA_WATER_KG_L if point.water.salt else FRESH_WATER_KG_L).value,
        places=places,
        ferry=ferry,
        reserve_s=incident.limits.reserve_s,
        hover_margin_kg=incident.limits.hover_margin_kg,
        fuel=incident.fuel,
        fill=incident.fill,
        display=incident.display,
    )
    return trip, answer


def _shortest(scene: Prepared, clearance: Clearance) -> Line | None:
    needed = clearance.line_needed_m
    return next((line for line in scene.incident.lines if line.length_m >= needed - 1e-9), None)


def _asks(
    scene: Prepared,
    points: Sequence[DipPoint],
    lines: Sequence[Line | None],
    which: Sequence[int],
    lifts: Sequence[float],
) -> list[Ask]:
    asks = []
    for i, lift in zip(which, lifts, strict=True):
        line = lines[i] or scene.incident.lines[-1]
        bottom = points[i].level_m + lift
        asks.append(Ask(points[i].x_m, points[i].y_m, bottom, line.length_m + scene.incident.bucket.length_m))
    return asks


def _legs(
    scene: Prepared,
    ways: TravelFields,
    points: Sequence[DipPoint],
    lines: Sequence[Line | None],
    which: Sequence[int],
    lifts: Sequence[tuple[float, float]],
) -> list[Legs]:
    loaded = _asks(scene, points, lines, which, [out for out, _ in lifts])
    empty = _asks(scene, points, lines, which, [into for _, into in lifts])
    return site_legs(ways, loaded, empty)


def _approach(scene: Prepared, weather: Weather, clearance: Clearance, level_m: float, legs: Legs) -> Approach:
    incident, wind = scene.incident, weather.wind
    main = int(np.argmax([drop.share for drop in scene.drops]))
    out, back = legs.loaded[main], legs.empty[main]
    from_deg, speed = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, level_m)
    return choose(
        clearance,
        float(from_deg),
        float(speed),
        incident.limits,
        course_of(out, "start") if isinstance(out, Leg) else STILL_COURSE_DEG,
        course_of(back, "end") if isinstance(back, Leg) else STILL_COURSE_DEG,
        incident.helicopter.lift_speed_m_s,
        incident.helicopter.lower_speed_m_s,
        scene.declination.deg,
        incident.display,
        wind.gust_m_s,
        (
            turned_s(out, "start") if isinstance(out, Leg) else 0.0,
            turned_s(back, "end") if isinstance(back, Leg) else 0.0,
        ),
    )


def _route(legs: Legs, flown: Flown) -> Route:
    return Route(
        tuple(leg for leg in legs.loaded if isinstance(leg, Leg)),
        tuple(leg for leg in legs.empty if isinstance(leg, Leg)),
        flown.out if isinstance(flown.out, Leg) else None,
        flown.home if isinstance(flown.home, Leg) else None,
    )
