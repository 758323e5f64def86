"""GPX 1.1 for a GPS: suitable sites, drops and helibase as waypoints, turning points as routes, paths as tracks.

A route joins its turning points by straight lines; how the turns are flown stands in the track of the same name.
Heights are metres above mean sea level, courses say true or magnetic.
"""

from __future__ import annotations

import math
from datetime import UTC
from typing import Final

from gpxpy import gpx as model

from diproute.document.frames import legs_of
from diproute.document.legs import Leg
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.errors import plain
from diproute.physics.geodesy import beside
from diproute.units import show, show_course, show_share
from diproute.writing.cautions import CAUTIONS, INVENTED

_DECIMALS: Final = 6


def gpx(plan: Plan) -> bytes:
    """Give what a GPS can hold of the plan."""
    whole = model.GPX()
    whole.creator = plan.made_with
    whole.name = plain(plan.title)
    whole.time = plan.when.astimezone(UTC)
    head = f"{INVENTED} " if plan.invented else ""
    whole.description = (
        f"{head}{CAUTIONS[0][1]} WGS 84; heights in metres above mean sea level ({plain(plan.ground.vertical_datum)})."
    )
    whole.waypoints += [_site(site, plan) for site in plan.suitable]
    for drop in plan.drops:
        if drop.lat is not None and drop.lon is not None:
            whole.waypoints.append(_waypoint(drop.lat, drop.lon, f"Drop {drop.name}", "drop"))
    if plan.base is not None:
        whole.waypoints.append(_waypoint(plan.base.lat, plan.base.lon, "Helibase", "helibase"))
    for site, leg in legs_of(plan):
        name, about = _named(site, leg), _about(leg, plan)
        route = model.GPXRoute(name=name, description=about)
        for number, point in enumerate(leg.waypoints, start=1):
            lon, lat, _ = leg.path[point.index]
            route.points.append(
                model.GPXRoutePoint(
                    *_place(lat, lon), elevation=point.altitude_m, name=f"{_short(site, leg, plan)}{number:02d}",
                    description=_course(point.course_deg, plan),
                )
            )  # fmt: skip
        whole.routes.append(route)
        track = model.GPXTrack(name=name, description=about)
        track.segments.append(
            model.GPXTrackSegment([model.GPXTrackPoint(*_place(lat, lon), elevation=up) for lon, lat, up in leg.path])
        )
        whole.tracks.append(track)
    return whole.to_xml(version="1.1", prettyprint=False).encode()


def _place(lat: float, lon: float) -> tuple[float, float]:
    return round(lat, _DECIMALS), round(float(beside(lon, 0.0)), _DECIMALS)


def _waypoint(lat: float, lon: float, name: str, kind: str) -> model.GPXWaypoint:
    return model.GPXWaypoint(*_place(lat, lon), name=plain(name), type=kind)


def _site(site: Site, plan: Plan) -> model.GPXWaypoint:
    found = _waypoint(site.lat, site.lon, f"{site.rank} {site.name}", "dip site")
    found.elevation = site.elevation_m
    line = "none" if not site.line.carried_m else show(site.line.carried_m, "line", plan.display)
    parts = [f"line {line}"]
    if site.load is not None:
        parts.insert(0, f"bucket {show_share(site.load.fill)}, fuel {show(site.load.fuel_kg, 'mass', plan.display)}")
    for way, name in ((site.arrival, "approach"), (site.departure, "departure")):
        if way is not None:
            parts.append(f"{name} {_course(way.course_deg, plan)}")
    parts.append(f"{len(site.cautions)} cautions in the plan")
    found.description = plain("; ".join(parts))
    return found


def _course(course_deg: float | None, plan: Plan) -> str | None:
    if course_deg is None:
        return None
    return f"{show_course(course_deg)} true, {show_course(course_deg - plan.declination_deg)} magnetic"


def _named(site: Site | None, leg: Leg) -> str:
    if site is None:
        return plain(leg.id)
    return plain(f"{site.rank} {site.name}, {leg.leg}" + (f", {leg.drop}" if leg.drop else ""))


def _short(site: Site | None, leg: Leg, plan: Plan) -> str:
    """Begin the names of a leg's points so that a small display tells them apart: ``1L02``, ``1L2-02``, ``F1-02``."""
    which = leg.id.rsplit("-", 1)[-1]
    if site is None:
        return f"F{which}-"
    return f"{site.rank}{leg.leg[0].upper()}" + (f"{which}-" if len(plan.drops) > 1 else "")


def _about(leg: Leg, plan: Plan) -> str:
    low = leg.lowest
    lowest = "" if low is None else f"; load at least {math.floor(low.clearance_m)} m clear between its ends"
    highest = math.ceil(leg.highest_m)
    return f"{leg.length_m:.0f} m, {leg.seconds:.0f} s, highest {highest} m AMSL{lowest}. Run {plan.run}."
