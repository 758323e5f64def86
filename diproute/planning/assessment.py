"""One site judged in full: approach, legs, line, load and fuel cycle, with everything that speaks against it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diproute.physics.wind import wind_at
from diproute.planning import ranking
from diproute.planning.air import AirAt, one_air
from diproute.planning.circuits import Circuit, fly_circuits
from diproute.planning.ferries import Ferried, ferry_home, ferry_out
from diproute.planning.gateways import Ends, survey_ends, wind_over
from diproute.planning.lines import Compared, compare_lines, line_refusal
from diproute.planning.prepared import Prepared
from diproute.planning.shortlist import Candidate
from diproute.planning.sun import glares
from diproute.planning.travel_fields import TravelFields
from diproute.records import (
    Air,
    Approach,
    AssessedSite,
    Clearance,
    Criterion,
    Cycle,
    DipPoint,
    Finding,
    GoNoGo,
    Line,
    Load,
    Route,
    Weather,
    Wind,
    keys,
)
from diproute.routing.blocked import Blocked
from diproute.sites.approach import approach_of, open_of
from diproute.sites.clearance import survey
from diproute.sites.people import people_near
from diproute.sites.wind_rules import DipWind, WindLimits, gate_cautions
from diproute.sortie.cycle import RoundTrip, cycle, farthest_drop_s
from diproute.sortie.fuel_cycle import Answer, best
from diproute.sortie.go_no_go import go_no_go
from diproute.sortie.load import Place
from diproute.sortie.rig import Ferry, Rig, Task

UNFLYABLE = frozenset({"no-flyable-departure", "no-flyable-arrival", "audit-area", "audit-wire"})


@dataclass(frozen=True, slots=True)
class Flown:
    """A site with its geometry settled: where it is, what stands round it, its rounds and the ferries."""

    candidate: Candidate
    clearance: Clearance
    line: Line | None  # the shortest that is long enough at the dip and at the drops
    ends: Ends  # the point's own, one row
    approach: Approach | None
    circuits: tuple[Circuit | Blocked, ...] | None  # one a drop; None: the water level is not known
    out: Ferried | Blocked | None  # from the base
    home: Ferried | Blocked | None  # to the base

    @property
    def blocked(self) -> Blocked | None:
        """The first thing in a way; None: every way that was asked for is there."""
        ways = (*(self.circuits or ()), self.out, self.home)
        return next((way for way in ways if isinstance(way, Blocked)), None)

    @property
    def rounds(self) -> tuple[Circuit, ...] | None:
        """The rounds to all drops; None where one is blocked, or was not asked for."""
        if self.circuits is None or self.blocked is not None:
            return None
        return tuple(one for one in self.circuits if isinstance(one, Circuit))

    @property
    def route(self) -> Route | None:
        """The legs; None where they are blocked, or were not asked for."""
        if self.rounds is None:
            return None
        out, home = (one.leg if isinstance(one, Ferried) else None for one in (self.out, self.home))
        return Route(tuple(one.loaded for one in self.rounds), tuple(one.empty for one in self.rounds), out, home)


def fly_sites(fields: TravelFields, kept: Sequence[Candidate]) -> list[Flown]:
    """Settle the geometry of points: clearance, line, the rounds to all drops, the ferries.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    kept
        The points.

    Returns
    -------
    list of Flown
        In the order of the points. What one of them gets does not depend on the others.
    """
    if not kept:
        return []
    prepared = fields.prepared
    points = [candidate.point for candidate in kept]
    x, y, level = (np.array([getattr(p, name) for p in points]) for name in ("x_m", "y_m", "level_low_m"))
    surveys = survey(prepared.ground, x, y, level, prepared.rules, heights=prepared.heights)
    opened = [open_of(clearance, prepared.incident.limits) for clearance in surveys]
    open_in, open_out = (np.array(part) for part in zip(*opened, strict=True))
    dips = survey_ends(prepared, fields.flyings, "dip", (x, y, level), (open_out, open_in))
    lines = [shortest_line(prepared, clearance) for clearance in surveys]
    hanging_m = [(line or prepared.incident.lines[-1]).length_m + prepared.incident.bucket.length_m for line in lines]
    known = np.flatnonzero(np.isfinite(level))
    vectors = prepared.vectors
    flown = fly_circuits(fields, dips.some(known), [hanging_m[i] for i in known], vectors)
    circuits = dict(zip(known.tolist(), flown, strict=True))
    good = np.array([i for i, some in circuits.items() if not any(isinstance(c, Blocked) for c in some)], np.int64)
    ferries = ferry_out(fields, dips.some(good), [hanging_m[i] for i in good])
    out = dict(zip(good.tolist(), ferries, strict=True))
    return [
        Flown(
            kept[i], surveys[i], lines[i], dips.some(np.array([i])),
            approach_at(prepared, fields.weather.wind, surveys[i], points[i], circuits.get(i)),
            circuits.get(i), out.get(i), ferry_home(fields, hanging_m[i]),
        )
        for i in range(len(points))
    ]  # fmt: skip


def fly_kept(fields: TravelFields, kept: Sequence[Candidate]) -> list[Flown]:
    """Fly the kept points, and where no leg can be flown from one, its neighbours in the same water, the best first."""
    flown = fly_sites(fields, kept)
    failed = [i for i, one in enumerate(flown) if _only_unflyable(one)]
    for k in range(max((len(kept[i].spares) for i in failed), default=0)):
        tried = [i for i in failed if k < len(kept[i].spares)]
        again = fly_sites(fields, [replace(kept[i], point=kept[i].spares[k]) for i in tried])
        for i, one in zip(tried, again, strict=True):
            if one.blocked is None and one.rounds is not None:
                flown[i] = one
        failed = [i for i in failed if flown[i].blocked is not None]
    return flown


def _only_unflyable(flown: Flown) -> bool:
    """Whether a point has nothing against it but that no leg can be flown from it."""
    blocked = flown.blocked
    return blocked is not None and flown.line is not None and blocked.why.code in UNFLYABLE


def judge(fields: TravelFields, flown: Flown) -> AssessedSite:
    """Work the loads of a site and gather what speaks for and against it.

    Parameters
    ----------
    fields
        In the weather of the plan's time.
    flown
        From `fly_sites` in the same weather.

    Returns
    -------
    AssessedSite
        Not yet ranked and named; refused when any hard limit is broken.
    """
    prepared, weather = fields.prepared, fields.weather
    point, nan = flown.candidate.point, math.nan
    air = one_air(weather.air, point.level_high_m) if math.isfinite(point.level_high_m) else None
    worked = None if air is None else _work_loads(prepared, weather, flown)
    answer = None if worked is None else worked.answer
    density_altitude_m = nan if air is None else air.density_altitude_m
    return AssessedSite(
        id=point.water.id,
        name=point.water.name,
        point=point,
        rank=None,
        temperature_k=nan if air is None else air.temperature_k,
        pressure_altitude_m=nan if air is None else air.pressure_altitude_m,
        density_altitude_m=density_altitude_m,
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
        cautions=_cautions(prepared, weather, flown, (density_altitude_m, None if answer is None else answer.load)),
        line_choices=() if worked is None else worked.choices,
        go_no_go=None if worked is None else _table(prepared, weather, flown, worked),
        blocked=None if flown.blocked is None else flown.blocked.geometry,
    )


def _refused(prepared: Prepared, flown: Flown, answer: Answer | None) -> tuple[Finding, ...]:
    """Gather every hard limit that is broken, in the order a crew would ask."""
    incident, point = prepared.incident, flown.candidate.point
    known = math.isfinite(point.level_high_m)
    first = (
        flown.candidate.refused,
        ranking.depth_refusal(incident, point),
        people_near(prepared.opened.avoid, incident.people_distance_m, point.x_m, point.y_m),
        line_refusal(incident, flown.clearance, prepared.drop_line_m),
        None if known else Finding.of("level-unknown", water=point.water.name),
    )
    return (
        *(found for found in first if found is not None),
        *(() if flown.approach is None else flown.approach.refused),
        *(() if flown.blocked is None or _told_already(flown) else (flown.blocked.why,)),
        *(() if answer is None else answer.refused),
    )


def _told_already(flown: Flown) -> bool:
    """Whether the approach says already that nothing is open, so that no leg need say it again."""
    closed = flown.approach is not None and flown.approach.refused
    why = None if flown.blocked is None else flown.blocked.why.values.get("why")
    return bool(closed) and isinstance(why, Finding) and why.code == "fails-open"


def _cautions(
    prepared: Prepared, weather: Weather, flown: Flown, judged: tuple[float, Load | None]
) -> tuple[Finding, ...]:
    """Gather what a crew must know before it trusts the site, each once."""
    incident, point, approach, route = prepared.incident, flown.candidate.point, flown.approach, flown.route
    found = list(ranking.point_cautions(incident, prepared.ground, point))
    thin = ranking.thin_air(*judged)
    found += [thin] if thin else []
    if approach is not None:
        found += approach.cautions
        if approach.pair is not None:
            arrival, departure = approach.pair
            courses = (arrival.course_deg, departure.course_deg)
            found += glares(courses, point.lat_deg, point.lon_deg, incident.when)
    if route is not None:
        for leg in (*route.loaded, *route.empty):
            found += leg.cautions
            found += gate_cautions(leg.departure, incident.helicopter, weather.wind, loaded=leg.leg == "loaded")
            found += gate_cautions(leg.arrival, incident.helicopter, weather.wind, loaded=leg.leg == "loaded")
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
    """Compare the carried lines that reach; None where there is no line or no way."""
    line, rounds = flown.line, flown.rounds
    if line is None or rounds is None:
        return None
    return compare_lines(
        [carried for carried in prepared.incident.lines if carried.length_m >= line.length_m],
        lambda carried: _fly(prepared, weather, flown, carried),
        prepared.incident,
        flown.clearance,
    )


def trip_of(prepared: Prepared, rounds: Sequence[Circuit]) -> RoundTrip:
    """Give what a cycle flies: the rounds to all drops, each by its share of the loads."""

    def mean(values: Sequence[float]) -> float:
        return float(prepared.shares @ np.array(values))

    return RoundTrip(
        loaded_s=mean([one.loaded.transit_s for one in rounds]),
        empty_s=mean([one.empty.transit_s for one in rounds]),
        lift_m=mean([one.loaded.departure.lift_m for one in rounds]),
        lower_m=mean([one.empty.arrival.lift_m for one in rounds]),
        drop_lower_m=mean([one.loaded.arrival.lift_m for one in rounds]),
        drop_lift_m=mean([one.empty.departure.lift_m for one in rounds]),
        dip_turn_s=mean([one.dip_turn_s for one in rounds]),
        drop_turn_s=mean([one.drop_turn_s for one in rounds]),
    )


def _fly(prepared: Prepared, weather: Weather, flown: Flown, line: Line) -> tuple[Cycle, Answer]:
    """Fly one site's cycle and fuel cycle with one line."""
    rounds, point = flown.rounds, flown.candidate.point
    assert rounds is not None
    rig = Rig.of(prepared.incident, line)
    places = _places(prepared, weather.air, flown, rig)
    ferry, base = None, prepared.incident.base
    if isinstance(flown.out, Ferried) and isinstance(flown.home, Ferried) and base is not None:
        loaded_s = [one.loaded.seconds for one in rounds]
        last_s = float(farthest_drop_s(rig.helicopter, loaded_s, prepared.shares))
        ferry = Ferry(flown.out.leg.seconds, flown.home.leg.seconds + last_s, base.refuel_s, "drop")
    one_cycle = cycle(rig, trip_of(prepared, rounds))
    return one_cycle, best(rig, Task.of(prepared.incident, point.water.density_kg_l, ferry), places, one_cycle)


def _places(prepared: Prepared, air: Air, flown: Flown, rig: Rig) -> list[Place]:
    """Give the places where the load hovers: lifted over the dip, lowered at every drop."""
    rounds = flown.rounds
    assert rounds is not None
    lift_m = max(one.loaded.departure.lift_m for one in rounds)
    height_m = flown.candidate.point.level_high_m + lift_m + rig.hanging_m
    places = [place_over(keys.DIP, air, height_m, rig.helicopter.lift_speed_m_s)]
    for drop, one in zip(prepared.drops, rounds, strict=True):
        bottom_m = float(one.loaded.altitude_m[-2]) - one.loaded.hanging_m  # where the lowering begins
        places.append(place_over(keys.drop_place(drop.name, len(prepared.drops)), air, bottom_m + rig.hanging_m, 0.0))
    return places


def _table(prepared: Prepared, weather: Weather, flown: Flown, worked: Compared) -> GoNoGo | None:
    """Work the go/no-go table of a site: the air as warm or as cool over the dip as asked, the station's with it."""
    if worked.answer.sortie is None:
        return None
    point, rig = flown.candidate.point, Rig.of(prepared.incident, worked.line)
    here_k = one_air(weather.air, point.level_high_m).temperature_k

    def air_at(temperature_k: float) -> Air:
        station_k = weather.air.temperature_k + temperature_k - here_k
        dew = weather.air.dew_point_k
        return replace(weather.air, temperature_k=station_k, dew_point_k=None if dew is None else min(dew, station_k))

    task = Task.of(prepared.incident, point.water.density_kg_l)
    table = go_no_go(
        rig, task, lambda kelvin: _places(prepared, air_at(kelvin), flown, rig), here_k, worked.answer.load
    )
    if table is None or math.isnan(table.holds_to_k):
        return table
    holds_to_m = one_air(air_at(table.holds_to_k), point.level_high_m).density_altitude_m
    return replace(table, holds_to_m=holds_to_m)


def place_over(name: str, air: Air, height_m: float, climb_m_s: float) -> Place:
    """Give a place where the load hovers, or is lifted at a speed, with the air at the aircraft's height."""
    at = one_air(air, height_m)
    return Place(name, at.pressure_altitude_m, at.temperature_k, climb_m_s)


def shortest_line(prepared: Prepared, clearance: Clearance) -> Line | None:
    """Give the shortest carried line that is long enough at the dip and at every drop; None: none is."""
    needed_m = max(clearance.line_needed_m, prepared.drop_line_m)
    return next((line for line in prepared.incident.lines if line.length_m >= needed_m - 1e-9), None)


def approach_at(
    prepared: Prepared, wind: Wind, clearance: Clearance, point: DipPoint, circuits: Sequence[Circuit | Blocked] | None
) -> Approach | None:
    """Give the approach of a point as the round to the main drop flies it; None where the water level is not known."""
    if circuits is None:
        return None
    main = circuits[prepared.main_drop]
    arrival, departure = (main.empty.arrival, main.loaded.departure) if isinstance(main, Circuit) else (None, None)
    from_deg, speed_m_s = wind_over(wind, np.asarray(point.level_low_m))
    air = DipWind(float(from_deg), float(speed_m_s), wind.gust_m_s, wind.between_deg)
    limits = (prepared.incident.limits, WindLimits.of(prepared.incident))
    return approach_of(clearance, air, limits, arrival, departure)
