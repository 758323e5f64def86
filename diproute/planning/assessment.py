"""One site judged in full: approach, legs, line, load and fuel cycle, with everything that speaks against it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning import ranking
from diproute.planning.air import AirAt, one_air
from diproute.planning.approaches import approach_to
from diproute.planning.lines import Compared, compare_lines, line_refusal
from diproute.planning.prepared import Prepared
from diproute.planning.shortlist import Candidate
from diproute.planning.sun import glare, sun_at
from diproute.planning.travel_fields import Legs, TravelFields, ferry_home, ferry_out, site_legs
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
    Route,
    Weather,
    Wind,
    keys,
)
from diproute.routing.blocked import Blocked
from diproute.routing.travel_time import Ask
from diproute.sites.clearance import survey
from diproute.sortie.cycle import RoundTrip, cycle, farthest_drop_s
from diproute.sortie.fuel_cycle import Answer, best
from diproute.sortie.load import Place
from diproute.sortie.rig import Ferry, Rig, Task

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

    @property
    def blocked(self) -> Blocked | None:
        """The first thing in a way; None: every way that was asked for is there."""
        ways = (None if self.legs is None else self.legs.blocked, self.out, self.home)
        return next((way for way in ways if isinstance(way, Blocked)), None)

    @property
    def route(self) -> Route | None:
        """The legs; None where they are blocked, or were not asked for."""
        if self.legs is None or self.blocked is not None:
            return None
        return Route(
            tuple(leg for leg in self.legs.loaded if isinstance(leg, Leg)),
            tuple(leg for leg in self.legs.empty if isinstance(leg, Leg)),
            self.out if isinstance(self.out, Leg) else None,
            self.home if isinstance(self.home, Leg) else None,
        )


def fly_sites(prepared: Prepared, fields: TravelFields, weather: Weather, kept: Sequence[Candidate]) -> list[Flown]:
    """Settle the geometry of the kept points: clearance, approach and legs.

    Legs and approach hang together: the approach turns to and from the courses of the legs, and the legs begin and end
    at the lifts of the approach. So the legs are flown from the least lift first, and again from the lifts of the
    courses then chosen, until the choice stays. A site that only the wind closes keeps its first legs, so that other
    hours can be judged.
    """
    if not kept:
        return []
    points = [candidate.point for candidate in kept]
    x, y, level = (np.array([getattr(p, name) for p in points]) for name in ("x_m", "y_m", "level_low_m"))
    surveys = survey(prepared.ground, x, y, level, prepared.rules, heights=prepared.heights)
    lines = [_shortest(prepared, clearance) for clearance in surveys]
    work = _Work(fields, points, lines)
    least_m = prepared.incident.limits.least_lift_m
    lifts = {i: (least_m, least_m) for i, p in enumerate(points) if math.isfinite(p.level_low_m)}
    legs: dict[int, Legs] = {}
    approaches: list[Approach | None] = [None] * len(points)
    changed = list(lifts)
    for _ in range(ROUNDS):
        legs.update(work.legs({i: lifts[i] for i in changed}))
        before = dict(lifts)
        for i in changed:
            approach = approaches[i] = _approach(prepared, weather.wind, surveys[i], points[i].level_high_m, legs[i])
            if approach.pair is not None and not legs[i].blocked:
                lifts[i] = (approach.pair[1].lift_m, approach.pair[0].lift_m)
        changed = [i for i in changed if lifts[i] != before[i]]
        if not changed:
            break
    else:  # the last choice stands, and its lifts are flown
        legs.update(work.legs({i: lifts[i] for i in changed}))
    lifts = {i: pair for i, pair in lifts.items() if not legs[i].blocked}
    arriving = [work.ask(i, into) for i, (_, into) in lifts.items()]
    out = dict(zip(lifts, ferry_out(fields, arriving), strict=True))
    home = ferry_home(fields)
    return [
        Flown(kept[i], surveys[i], lines[i], approaches[i], legs.get(i), out.get(i), home) for i in range(len(points))
    ]


@dataclass(frozen=True, slots=True)
class _Work:
    """The points whose legs are flown, each with the line that hangs there."""

    fields: TravelFields
    points: Sequence[DipPoint]
    lines: Sequence[Line | None]

    def ask(self, i: int, lift_m: float) -> Ask:
        """Ask for a leg that begins or ends straight above a point."""
        incident, point = self.fields.prepared.incident, self.points[i]
        line = self.lines[i] or incident.lines[-1]
        return Ask(point.x_m, point.y_m, point.level_low_m + lift_m, line.length_m + incident.bucket.length_m)

    def legs(self, lifts: dict[int, tuple[float, float]]) -> dict[int, Legs]:
        """Fly the legs of some points, out from the first lift and back to the second one [m]."""
        loaded = [self.ask(i, out) for i, (out, _) in lifts.items()]
        empty = [self.ask(i, into) for i, (_, into) in lifts.items()]
        return dict(zip(lifts, site_legs(self.fields, loaded, empty), strict=True))


def judge(prepared: Prepared, weather: Weather, flown: Flown) -> AssessedSite:
    """Work the loads of a site and gather what speaks for and against it.

    Parameters
    ----------
    prepared
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
    point, nan = flown.candidate.point, math.nan
    air = one_air(weather.air, point.level_high_m) if math.isfinite(point.level_high_m) else None
    worked = None if air is None else _work_loads(prepared, weather, flown)
    answer = None if worked is None else worked.answer
    return AssessedSite(
        id=point.water.id,
        name=point.water.name,
        point=point,
        rank=None,
        temperature_k=nan if air is None else air.temperature_k,
        pressure_altitude_m=nan if air is None else air.pressure_altitude_m,
        density_altitude_m=nan if air is None else air.density_altitude_m,
        clearance=flown.clearance,
        approach=flown.approach,
        line=flown.line if worked is None else worked.line,
        load=None if answer is None else answer.load,
        route=flown.route,
        cycle=None if worked is None else worked.cycle,
        sortie=None if answer is None else answer.sortie,
        criteria=_criteria(prepared, weather.wind, flown, worked, air),
        curve=() if answer is None else answer.curve,
        refused=_refused(prepared, flown, answer),
        cautions=_cautions(prepared, flown, nan if air is None else air.density_altitude_m),
        line_choices=() if worked is None else worked.choices,
        blocked=None if flown.blocked is None else flown.blocked.geometry,
    )


def _refused(prepared: Prepared, flown: Flown, answer: Answer | None) -> tuple[Finding, ...]:
    """Gather every hard limit that is broken, in the order a crew would ask."""
    incident, point = prepared.incident, flown.candidate.point
    known = math.isfinite(point.level_high_m)
    first = (
        flown.candidate.refused,
        ranking.depth_refusal(incident, point),
        line_refusal(incident, flown.clearance),
        None if known else Finding.of("level-unknown", water=point.water.name),
    )
    return (
        *(found for found in first if found is not None),
        *(() if flown.approach is None else flown.approach.refused),
        *(() if flown.blocked is None else (flown.blocked.why,)),
        *(() if answer is None else answer.refused),
    )


def _cautions(prepared: Prepared, flown: Flown, density_altitude_m: float) -> tuple[Finding, ...]:
    """Gather what a crew must know before it trusts the site, each once."""
    incident, point, approach, route = prepared.incident, flown.candidate.point, flown.approach, flown.route
    found = list(ranking.point_cautions(incident, prepared.ground, point, density_altitude_m))
    if approach is not None:
        found += approach.cautions
    if approach is not None and approach.arrival is not None:
        sun = glare(approach.arrival.course_deg, *sun_at(point.lat_deg, point.lon_deg, incident.when))
        found += [sun] if sun else []
    if route is not None:
        found += [caution for leg in (*route.loaded, *route.empty) for caution in leg.cautions]
    return tuple(dict.fromkeys(found))


def _criteria(
    prepared: Prepared, wind: Wind, flown: Flown, worked: Compared | None, air: AirAt | None
) -> tuple[Criterion, ...]:
    """Score a site that can be flown."""
    incident, approach, route = prepared.incident, flown.approach, flown.route
    if worked is None or worked.answer.sortie is None or air is None or approach is None or route is None:
        return ()
    if approach.pair is None:
        return ()
    arrival, departure = approach.pair
    from_deg, _ = wind_at(wind.altitude_m, wind.from_deg, wind.speed_m_s, flown.candidate.point.level_high_m)
    return (
        ranking.distance_criterion(incident, route),
        ranking.altitude_criterion(incident, air.density_altitude_m, worked.answer.load),
        ranking.obstacles_criterion(incident, worked.line, flown.clearance, departure),
        ranking.approach_criterion(incident, approach.open_share, arrival, float(from_deg)),
    )


def _work_loads(prepared: Prepared, weather: Weather, flown: Flown) -> Compared | None:
    """Compare the carried lines that reach; None where there is no line, no pair of courses or no route."""
    line, route, pair = flown.line, flown.route, None if flown.approach is None else flown.approach.pair
    if line is None or route is None or pair is None:
        return None
    lines = prepared.incident.lines
    return compare_lines(
        [carried for carried in lines if carried.length_m >= line.length_m],
        lambda carried: _fly(prepared, weather, flown.candidate.point, (pair, route), carried),
        prepared.incident,
        flown.clearance,
    )


def _fly(
    prepared: Prepared, weather: Weather, point: DipPoint, ways: tuple[tuple[Course, Course], Route], line: Line
) -> tuple[Cycle, Answer]:
    """Fly one site's cycle and fuel cycle with one line."""
    (arrival, departure), route = ways
    rig = Rig.of(prepared.incident, line)
    loaded_s, empty_s = ([leg.seconds for leg in legs] for legs in (route.loaded, route.empty))
    trip = RoundTrip(
        loaded_s=float(prepared.shares @ loaded_s),
        empty_s=float(prepared.shares @ empty_s),
        lift_m=departure.lift_m,
        lower_m=arrival.lift_m,
        departure_turn_s=departure.turn_s,
        arrival_turn_s=arrival.turn_s,
    )
    bottoms = {keys.DIP: point.level_high_m + departure.lift_m}
    for drop, leg in zip(prepared.drops, route.loaded, strict=True):
        bottoms[keys.drop_place(drop.name, len(prepared.drops))] = float(leg.altitude_m[-1]) - leg.hanging_m
    places = []
    for name, bottom_m in bottoms.items():
        air = one_air(weather.air, bottom_m + rig.hanging_m)
        places.append(Place(name, air.pressure_altitude_m, air.temperature_k))
    ferry, base = None, prepared.incident.base
    if route.from_base is not None and route.to_base is not None and base is not None:
        last_s = float(farthest_drop_s(rig.helicopter, loaded_s, prepared.shares))
        ferry = Ferry(route.from_base.seconds, route.to_base.seconds + last_s, base.refuel_s, "drop")
    one = cycle(rig, trip)
    return one, best(rig, Task.of(prepared.incident, point.water.density_kg_l, ferry), places, one)


def _shortest(prepared: Prepared, clearance: Clearance) -> Line | None:
    needed_m = clearance.line_needed_m
    return next((line for line in prepared.incident.lines if line.length_m >= needed_m - 1e-9), None)


def _approach(prepared: Prepared, wind: Wind, clearance: Clearance, level_m: float, legs: Legs) -> Approach:
    main = prepared.main_drop
    out, back = (leg if isinstance(leg, Leg) else None for leg in (legs.loaded[main], legs.empty[main]))
    return approach_to(prepared.incident, wind, clearance, level_m, (out, back))
