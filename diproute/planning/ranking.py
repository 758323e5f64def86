"""Score, cautions and order of the sites.

The order is by water delivered an hour among the sites that pass every limit. The score stands beside it: four
criteria, each 0 to 100 with its reason, weighted as the incident says. It never overrules the order.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from diproute.constants import HIGH_DENSITY_ALTITUDE_M, LEVEL_WIDE_M
from diproute.records import (
    AssessedSite,
    Clearance,
    Course,
    Criterion,
    DipPoint,
    Finding,
    Ground,
    Incident,
    Line,
    Load,
    Route,
)


def _points(share: float) -> float:
    return round(100.0 * min(1.0, max(0.0, share)), 1)


def distance_criterion(incident: Incident, route: Route) -> Criterion:
    """Score the way to the drop: 100 on the spot, 0 at the search radius or further, along the legs as flown."""
    legs = (*route.loaded, *route.empty)
    mean_m = sum(leg.length_m for leg in legs) / len(legs)
    far_m = incident.search.radius_m
    why = Finding.of("score-distance", mean_leg_m=mean_m, radius_m=far_m)
    return Criterion("distance", _points(1 - mean_m / far_m), incident.limits.weights[0], why)


def altitude_criterion(incident: Incident, density_altitude_m: float, load: Load) -> Criterion:
    """Score what the thin air costs: the water carried against the full bucket."""
    why = Finding.of(
        "score-altitude",
        fill=load.fill,
        density_altitude_m=density_altitude_m,
        governed_by=load.governed_by,
        place=load.place,
    )
    return Criterion("altitude", _points(load.water_l / incident.bucket.capacity_l), incident.limits.weights[1], why)


def obstacles_criterion(incident: Incident, line: Line, clearance: Clearance, departure: Course) -> Criterion:
    """Score line and lift: 100 straight on the hook with the least lift, 0 with the longest line at the limit."""
    longest = max(carried.length_m for carried in incident.lines)
    limits = incident.limits
    line_share = line.length_m / longest if longest > 0 else 0.0
    span = limits.lift_limit_m - limits.least_lift_m
    lift_share = (departure.lift_m - limits.least_lift_m) / span if span > 0 else 0.0
    asks = clearance.line_governing
    why = Finding.of(
        "score-obstacles",
        belly_hook=line.length_m == 0,
        line_m=line.length_m,
        what=asks.what if asks else None,
        assumed_m=asks.assumed_m if asks else None,
        unverified=asks.unverified if asks else None,
        distance_m=asks.distance_m if asks else None,
        lift_m=departure.lift_m,
    )
    return Criterion("obstacles", _points(1 - (line_share + lift_share) / 2), limits.weights[2], why)


def approach_criterion(incident: Incident, open_share: float, arrival: Course, wind_from_deg: float) -> Criterion:
    """Score the open directions with this wind."""
    why = Finding.of(
        "score-approach",
        open_share=open_share,
        arrival_deg=arrival.course_deg,
        into_wind=arrival.headwind_m_s > 0,
        wind_from_deg=wind_from_deg,
    )
    return Criterion("approach", _points(open_share), incident.limits.weights[3], why)


def point_cautions(incident: Incident, ground: Ground, point: DipPoint, density_altitude_m: float) -> list[Finding]:
    """Give what a crew must know of a point before it trusts it."""
    found = list(point.water.cautions)
    if point.water.flows and point.level_high_m - point.level_low_m > LEVEL_WIDE_M.value:
        found.append(Finding.of("level-wide", low_m=point.level_low_m, high_m=point.level_high_m))
    if point.water.depth_m is None:
        found.append(Finding.of("depth-unknown", needed_m=incident.bucket.depth_needed_m))
    if point.water.salt:
        found.append(Finding.of("salt-water"))
    if not ground.canopy_known:
        found.append(Finding.of("trees-unknown", lower_bound=True))
    limit_m = HIGH_DENSITY_ALTITUDE_M.value
    if density_altitude_m > limit_m:
        found.append(Finding.of("density-altitude-high", density_altitude_m=density_altitude_m, limit_m=limit_m))
    return found


def depth_refusal(incident: Incident, point: DipPoint) -> Finding | None:
    """Refuse water that is known to be too shallow."""
    depth, below = point.water.depth_m, point.water.depth_below_m
    needed = incident.bucket.depth_needed_m
    if below is not None and below <= needed:
        return Finding.of("too-shallow", below_m=below, depth_m=depth, needed_m=needed)
    if depth is None or depth >= needed:
        return None
    return Finding.of("too-shallow", below_m=None, depth_m=depth, needed_m=needed)


def no_power_in_hand(incident: Incident) -> Finding | None:
    """Caution where nothing at all is kept back from the hover chart."""
    if incident.helicopter.weight_reduction_kg + incident.limits.hover_margin_kg > 0:
        return None
    return Finding.of("no-power-in-hand", helicopter=incident.helicopter.name)


def ordered(sites: list[AssessedSite]) -> tuple[AssessedSite, ...]:
    """Put the sites in order and number them: by water an hour, then the refused ones by name.

    Several points of one water body carry its name with a number, in the same order.
    """

    def key(site: AssessedSite) -> tuple[int, float, str, str]:
        if site.refused or site.sortie is None:
            return (1, 0.0, site.point.water.name, site.id)
        return (0, -round(site.sortie.litres_per_hour, 3), site.point.water.name, site.id)

    points = Counter(site.point.water.id for site in sites)
    used: Counter[str] = Counter()
    out: list[AssessedSite] = []
    rank = 0
    for site in sorted(sites, key=key):
        water = site.point.water
        usable = not site.refused and site.sortie is not None
        rank += usable
        used[water.id] += 1
        comma = "" if water.named else ","  # "lake 1.2 km NE of Head, 2": no second Head
        number = f"{comma} {used[water.id]}" if points[water.id] > 1 else ""
        out.append(
            replace(
                site, rank=rank if usable else None, id=f"{water.id}-{used[water.id]}", name=f"{water.name}{number}"
            )
        )
    return tuple(out)
