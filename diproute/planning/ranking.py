"""Score, cautions and order of the sites.

The order is by water delivered an hour among the sites that pass every limit. The score stands beside it: four
criteria, each 0 to 100 with its sentence, weighted as the incident says. It never overrules the order.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from diproute.constants import HIGH_DENSITY_ALTITUDE_M
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
from diproute.units import show, show_course, show_down, show_share, show_up


def _points(share: float) -> float:
    return round(100.0 * min(1.0, max(0.0, share)), 1)


def distance_criterion(incident: Incident, route: Route) -> Criterion:
    """Score the way to the drop: 100 on the spot, 0 at the search radius or further, along the legs as flown."""
    legs = (*route.loaded, *route.empty)
    mean_m = sum(leg.length_m for leg in legs) / len(legs)
    far = incident.search.radius_m
    return Criterion(
        "distance",
        _points(1 - mean_m / far),
        incident.limits.weights[0],
        f"{show(mean_m, 'distance', incident.display)} a leg as flown; 0 points at the search radius of "
        f"{show(far, 'distance', incident.display)}",
    )


def altitude_criterion(incident: Incident, density_altitude_m: float, load: Load) -> Criterion:
    """Score what the thin air costs: the water carried against the full bucket."""
    full = incident.bucket.capacity_l
    return Criterion(
        "altitude",
        _points(load.water_l / full),
        incident.limits.weights[1],
        f"{show_share(load.fill)} of the bucket at a density altitude of "
        f"{show(density_altitude_m, 'height', incident.display)}, held by the {load.governed_by} at the {load.place}",
    )


def obstacles_criterion(incident: Incident, line: Line, clearance: Clearance, departure: Course) -> Criterion:
    """Score line and lift: 100 straight on the hook with the least lift, 0 with the longest line at the limit."""
    longest = max(carried.length_m for carried in incident.lines)
    limits = incident.limits
    line_share = line.length_m / longest if longest > 0 else 0.0
    span = limits.lift_limit_m - limits.least_lift_m
    lift_share = (departure.lift_m - limits.least_lift_m) / span if span > 0 else 0.0
    asks = clearance.line_governing
    thing = f", asked for by {asks.what} {show(asks.distance_m, 'line', incident.display)} away" if asks else ""
    needs = (
        f"a line of {show(line.length_m, 'line', incident.display)}{thing}"
        if line.length_m > 0
        else "no line: the bucket goes straight on the belly hook"
    )
    return Criterion(
        "obstacles",
        _points(1 - (line_share + lift_share) / 2),
        limits.weights[2],
        f"{needs}; {show(departure.lift_m, 'line', incident.display)} of lift before moving off",
    )


def approach_criterion(incident: Incident, open_share: float, arrival: Course, wind_from_deg: float) -> Criterion:
    """Score the open directions with this wind."""
    wind = "into wind" if arrival.headwind_m_s > 0 else "with no headwind"
    return Criterion(
        "approach",
        _points(open_share),
        incident.limits.weights[3],
        f"{show_share(open_share)} of the directions open; arrival on {show_course(arrival.course_deg)} true "
        f"{wind}, wind from {show_course(wind_from_deg)}",
    )


def point_cautions(incident: Incident, ground: Ground, point: DipPoint, density_altitude_m: float) -> list[Finding]:
    """Give what a crew must know of a point before it trusts it."""
    found = list(point.water.cautions)
    needed = show_up(incident.bucket.depth_needed_m, "line", incident.display)
    if point.water.depth_m is None:
        found.append(Finding("depth-unknown", f"depth not known; the bucket needs {needed}: look before the first dip"))
    if point.water.salt:
        found.append(Finding("salt-water", "salt water: heavier, hard on the machine, and not wanted on every ground"))
    if not ground.canopy_known:
        found.append(
            Finding("trees-unknown", "trees not known here: no canopy layer; the line and lift are a lower bound")
        )
    if density_altitude_m > HIGH_DENSITY_ALTITUDE_M.value:
        found.append(
            Finding(
                "density-altitude-high",
                f"density altitude {show(density_altitude_m, 'height', incident.display)}, above "
                f"{show(HIGH_DENSITY_ALTITUDE_M.value, 'height', incident.display)}: little power in hand, settling "
                "with power on a steep slow approach has happened there",
            )
        )
    return found


def depth_refusal(incident: Incident, point: DipPoint) -> Finding | None:
    """Refuse water that is known to be too shallow."""
    depth, needed = point.water.depth_m, incident.bucket.depth_needed_m
    if depth is None or depth >= needed:
        return None
    return Finding(
        "too-shallow",
        f"{show_down(depth, 'line', incident.display)} deep, the bucket needs "
        f"{show_up(needed, 'line', incident.display)}",
    )


def no_power_in_hand(incident: Incident) -> Finding | None:
    """Caution where nothing at all is kept back from the hover chart."""
    if incident.helicopter.weight_reduction_kg + incident.limits.hover_margin_kg > 0:
        return None
    return Finding(
        "no-power-in-hand",
        f"the loads go right up to the hover chart of {incident.helicopter.name}: neither its file gives a weight "
        "reduction nor limits.hover_margin a margin",
    )


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
        number = f" {used[water.id]}" if points[water.id] > 1 else ""
        out.append(
            replace(
                site, rank=rank if usable else None, id=f"{water.id}-{used[water.id]}", name=f"{water.name}{number}"
            )
        )
    return tuple(out)
