"""Score, cautions and order of the sites.

The order is by water delivered an hour among the sites that pass every limit. The score stands beside it: four
criteria, each 0 to 100 with its sentence, weighted as the incident says. It never overrules the order.
"""

from __future__ import annotations

from dataclasses import replace

from diproute.constants import HIGH_DENSITY_ALTITUDE_M
from diproute.records import (
    Approach,
    Clearance,
    Criterion,
    DipPoint,
    Finding,
    Ground,
    Helicopter,
    Incident,
    Line,
    Load,
    Route,
    SitePlan,
)
from diproute.units import show, show_course


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
        f"{load.fill:.0%} of the bucket at a density altitude of {show(density_altitude_m, 'height', incident.display)}, "
        f"held by the {load.governed_by} at the {load.place}",
    )


def obstacles_criterion(incident: Incident, line: Line, clearance: Clearance, approach: Approach) -> Criterion:
    """Score the line and the lift: 100 straight on the hook with the least lift, 0 with the longest line at the limit."""
    assert approach.departure is not None
    longest = max(carried.length_m for carried in incident.lines)
    limits = incident.limits
    line_share = line.length_m / longest if longest > 0 else 0.0
    span = limits.lift_limit_m - limits.least_lift_m
    lift_share = (approach.departure.lift_m - limits.least_lift_m) / span if span > 0 else 0.0
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
        f"{needs}; {show(approach.departure.lift_m, 'line', incident.display)} of lift before moving off",
    )


def approach_criterion(incident: Incident, approach: Approach, wind_from_deg: float) -> Criterion:
    """Score the open directions with this wind."""
    assert approach.arrival is not None
    into = approach.arrival.headwind_m_s
    wind = "into wind" if into > 0 else "with no headwind"
    return Criterion(
        "approach",
        _points(approach.open_share),
        incident.limits.weights[3],
        f"{approach.open_share:.0%} of the directions open; arrival on {show_course(approach.arrival.course_deg)} true "
        f"{wind}, wind from {show_course(wind_from_deg)}",
    )


def point_cautions(incident: Incident, ground: Ground, point: DipPoint, density_altitude_m: float) -> list[Finding]:
    """Give what a crew must know of a point before it trusts it."""
    found = list(point.water.cautions)
    needed = show(incident.bucket.depth_needed_m, "line", incident.display)
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
                f"{show(HIGH_DENSITY_ALTITUDE_M.value, 'height', incident.display)}: little power in hand, settling with "
                "power on a steep slow approach has happened there",
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
        f"{show(depth, 'line', incident.display)} deep, the bucket needs {show(needed, 'line', incident.display)}",
    )


def thin_margin(incident: Incident, helicopter: Helicopter, load: Load) -> Finding | None:
    """Caution where the chosen load leaves less than one hundredth of the hover limit in hand."""
    if load.margin_kg >= 0.01 * load.hoge_limit_kg:
        return None
    return Finding(
        "margin-thin",
        f"only {show(load.margin_kg, 'mass', incident.display)} left under the limit of {helicopter.name} at the "
        f"{load.place} with this load: set hover_margin for more power in hand",
    )


def ordered(sites: list[SitePlan]) -> tuple[SitePlan, ...]:
    """Put the sites in order: by water an hour, the refused ones last by distance-free name, and number them."""

    def key(site: SitePlan) -> tuple[int, float, str]:
        if site.refused or site.sortie is None:
            return (1, 0.0, site.id)
        return (0, -round(site.sortie.litres_per_hour, 3), site.id)

    out: list[SitePlan] = []
    rank = 0
    for site in sorted(sites, key=key):
        usable = not site.refused and site.sortie is not None
        rank += usable
        out.append(replace(site, rank=rank if usable else None))
    return tuple(out)
