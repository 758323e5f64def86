"""Score, cautions and order of the sites.

The order is by water delivered an hour among the sites that pass every limit, in bands of sites that the uncertainty
cannot tell apart; within a band hazards and the mass in hand decide. The score stands beside it: four criteria, each 0
to 100 with its reason, weighted as the incident says. It never orders.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from diproute.constants import HIGH_DENSITY_ALTITUDE_M, LEVEL_WIDE_M, MARGIN_AMPLE, THIN_AIR_M, TIED_CASES, TIED_LOSS
from diproute.planning.cases import Cases
from diproute.records import (
    F64,
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

HAZARDS: Final = frozenset({
    "one-way", "surface-penetrated", "surface-unknown", "directions-unknown", "tailwind-loaded", "yaw-sector",
    "steep-tailwind", "fast-descent", "orbits", "wire-oblique", "wire-height-assumed", "area-crossed", "legs-close",
    "density-altitude-high", "sun-in-the-eyes", "level-wide", "trees-unknown",
})  # fmt: skip


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


def point_cautions(incident: Incident, ground: Ground, point: DipPoint) -> list[Finding]:
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
    return found


def thin_air(density_altitude_m: float, load: Load | None) -> Finding | None:
    """Caution where the air is thin for what is left in hand.

    With `constants.MARGIN_AMPLE` of the water's mass or more left under the limits the caution begins at
    `HIGH_DENSITY_ALTITUDE_M`, with nothing left at `THIN_AIR_M`, straight between.
    """
    ample = 1.0
    if load is not None and load.water_kg > 0 and math.isfinite(load.margin_kg):
        ample = min(1.0, max(0.0, load.margin_kg) / (MARGIN_AMPLE.value * load.water_kg))
    limit_m = THIN_AIR_M.value + ample * (HIGH_DENSITY_ALTITUDE_M.value - THIN_AIR_M.value)
    if not density_altitude_m > limit_m:
        return None
    left_kg = None if load is None or not math.isfinite(load.margin_kg) else max(0.0, load.margin_kg)
    return Finding.of("density-altitude-high", density_altitude_m=density_altitude_m, limit_m=limit_m, left_kg=left_kg)


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
    limits = incident.limits
    margin = limits.hover_margin_share if limits.hover_margin_kg is None else limits.hover_margin_kg
    if incident.helicopter.weight_reduction_kg + margin > 0:
        return None
    return Finding.of("no-power-in-hand", helicopter=incident.helicopter.name)


def ordered(sites: Sequence[AssessedSite], cases: Cases | None) -> tuple[tuple[AssessedSite, ...], tuple[int, ...]]:
    """Put the sites in order and number them; the refused ones come last, by name.

    Sites that the uncertainty cannot tell apart share a band. The bands follow one another by water an hour; within a
    band the site with fewer hazards comes first, then the one with more mass in hand, then the one with more water.
    Several points of one water body carry its name with a number, in the same order.

    Parameters
    ----------
    sites
        As judged.
    cases
        The usable ones in the cases of the uncertainty; None: none is usable.

    Returns
    -------
    tuple
        The sites in order, and the index that each had before.
    """
    band = bands(sites, cases)

    def key(i: int) -> tuple[float, int, float, float, str, str, float, float]:
        site, of_band = sites[i], band[i]
        name = (site.point.water.name, site.id, site.point.x_m, site.point.y_m)
        if of_band is None or site.load is None or site.sortie is None:
            return (math.inf, 0, 0.0, 0.0, *name)
        margin = round(site.load.margin_kg, -1)
        return (of_band, hazards(site), -margin, -round(site.sortie.litres_per_hour, 3), *name)

    points = Counter(site.point.water.id for site in sites)
    used: Counter[str] = Counter()
    out: list[AssessedSite] = []
    order = sorted(range(len(sites)), key=key)
    for place, i in enumerate(order, start=1):
        water = sites[i].point.water
        used[water.id] += 1
        comma = "" if water.named else ","  # "lake 1.2 km NE of Head, 2": no second Head
        number = f"{comma} {used[water.id]}" if points[water.id] > 1 else ""
        out.append(
            replace(
                sites[i],
                rank=None if band[i] is None else place,
                rank_band=band[i],
                id=f"{water.id}-{used[water.id]}",
                name=f"{water.name}{number}",
            )
        )
    return tuple(out), tuple(order)


def bands(sites: Sequence[AssessedSite], cases: Cases | None) -> list[int | None]:
    """Give each site the number of its band, of those that cannot be told apart; None: refused.

    A band is led by the site with the most water an hour that is in none yet. Every other one that brings at least as
    much in `constants.TIED_CASES` or more of the cases in which the leader works, and loses no more than
    `constants.TIED_LOSS` of its water in the middle one of them, is in it: a leader that a few cases hit hard, and a
    site that most cases close, are no tie.
    """
    band: list[int | None] = [None] * len(sites)
    if cases is None:
        return band

    def water(i: int) -> float:
        sortie = sites[i].sortie
        return -math.inf if sortie is None else sortie.litres_per_hour

    rate = np.nan_to_num(cases.litres_per_hour, nan=0.0)
    left = sorted(cases.rows, key=lambda i: (-water(i), i))
    number = 0
    while left:
        number += 1
        leader = rate[cases.rows.index(left[0])]
        tied = [i for i in left if i == left[0] or _as_good(rate[cases.rows.index(i)], leader)]
        for i in tied:
            band[i] = number
        left = [i for i in left if band[i] is None]
    return band


def _as_good(rate: F64, leader: F64) -> bool:
    works = leader > 0.0
    if not works.any():
        return False
    share = rate[works] / leader[works]
    return bool((share >= 1.0).mean() >= TIED_CASES.value and np.median(share) >= 1.0 - TIED_LOSS.value)


def hazards(site: AssessedSite) -> int:
    """Count the cautions of a site that a pilot weighs against more water, each kind once."""
    return len({found.code for found in site.cautions} & HAZARDS)
