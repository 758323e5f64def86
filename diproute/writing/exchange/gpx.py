"""GPX 1.1 for a GPS: suitable sites, drops and helibase as waypoints, turning points as routes, paths as tracks.

A route joins its turning points by straight lines; how the turns are flown stands in the track of the same name.
Heights are metres above mean sea level, courses say true or magnetic.
"""

from __future__ import annotations

from datetime import UTC
from typing import Final

from gpxpy import gpx as model

from diproute.document.frames import legs_of
from diproute.document.legs import Leg
from diproute.document.plan import Plan
from diproute.document.seam import home
from diproute.document.site import Site
from diproute.errors import plain
from diproute.units import show, show_course, show_down, show_share, show_time, show_up
from diproute.wording import label
from diproute.writing.exchange.about import about, run

_DECIMALS: Final = 6  # a tenth of a metre


def gpx(plan: Plan) -> bytes:
    """Give what a GPS can hold of the plan; a drop along a line is where the loaded legs end."""
    whole = model.GPX()
    whole.creator = plain(plan.made_with)
    whole.name = plain(plan.title)
    whole.time = plan.when.astimezone(UTC)
    whole.description = about(plan)
    taken: set[str] = set()
    for site in plan.suitable:
        whole.waypoints.append(_site(site, plan, taken))
    for drop in plan.drops:
        if drop.lat is not None and drop.lon is not None:
            whole.waypoints.append(_waypoint(drop.lat, drop.lon, drop.name, "drop", taken))
    if plan.base is not None:
        whole.waypoints.append(_waypoint(plan.base.lat, plan.base.lon, "helibase", "helibase", taken))
    called: set[str] = set()
    for name, of_site, leg in legs_of(plan):
        own = _unlike(name, called)
        whole.routes.append(_route(own, of_site, leg, plan))
        whole.tracks.append(_track(own, leg, plan))
    return whole.to_xml(version="1.1", prettyprint=False).encode()


def _place(lat: float, lon: float) -> tuple[float, float]:
    """Round a place; the schema's longitudes end below 180."""
    east = round(home(lon), _DECIMALS) + 0.0
    return round(lat, _DECIMALS) + 0.0, -180.0 if east == 180.0 else east


def _unlike(name: str, taken: set[str]) -> str:
    """Give a name that nothing else has: many receivers keep one thing a name."""
    name = plain(name)
    found, number = name, 2
    while found in taken:
        found, number = f"{name} ({number})", number + 1
    taken.add(found)
    return found


def _waypoint(lat: float, lon: float, name: str, kind: str, taken: set[str]) -> model.GPXWaypoint:
    return model.GPXWaypoint(*_place(lat, lon), name=_unlike(name, taken), type=kind)


def _site(site: Site, plan: Plan, taken: set[str]) -> model.GPXWaypoint:
    found = _waypoint(site.lat, site.lon, f"{site.rank} {site.name}", "dip site", taken)
    found.elevation = site.elevation_m
    parts = []
    if site.load is not None:
        parts.append(f"bucket {show_share(site.load.fill)}, fuel {show(site.load.fuel_kg, 'mass', plan.display)}")
    carried = site.line.carried_m
    parts.append("bucket on the belly hook" if carried == 0 else f"line {show(carried, 'line', plan.display)}")
    for way, name in ((site.arrival, "approach"), (site.departure, "departure")):
        if way is not None:
            parts.append(f"{name} {_courses(way.course_deg, way.course_magnetic_deg)}")
    count = len(site.cautions)
    if count:
        parts.append(f"{count} caution{'s' if count > 1 else ''} in the plan")
    found.description = plain("; ".join(parts))
    return found


def _route(name: str, site: Site | None, leg: Leg, plan: Plan) -> model.GPXRoute:
    route = model.GPXRoute(name=name, description=_about(leg, plan))
    for number, point in enumerate(leg.waypoints, start=1):
        lon, lat, _ = leg.path[point.index]
        course = point.course_deg
        told = None if course is None else f"to the next {_courses(course, course - plan.declination_deg)}"
        route.points.append(
            model.GPXRoutePoint(
                *_place(lat, lon), elevation=point.altitude_m, name=f"{_short(site, leg, plan)}{number:02d}",
                description=told,
            )
        )  # fmt: skip
    return route


def _track(name: str, leg: Leg, plan: Plan) -> model.GPXTrack:
    track = model.GPXTrack(name=name, description=_about(leg, plan))
    points = [model.GPXTrackPoint(*_place(lat, lon), elevation=height) for lon, lat, height in leg.path]
    track.segments.append(model.GPXTrackSegment(points))
    return track


def _courses(true_deg: float, magnetic_deg: float) -> str:
    return f"{show_course(true_deg)} true, {show_course(magnetic_deg)} magnetic"


def _short(site: Site | None, leg: Leg, plan: Plan) -> str:
    """Begin the names of a leg's points so that a small display tells them apart: ``1L02``, ``1L2-02``, ``F1-02``."""
    which = leg.id.rsplit("-", 1)[-1]
    if site is None:
        return f"F{which}-"
    return f"{site.rank}{leg.leg[0].upper()}" + (f"{which}-" if len(plan.drops) > 1 else "")


def _about(leg: Leg, plan: Plan) -> str:
    low, display = leg.lowest, plan.display
    if low is not None:
        told = f"load at least {show_down(low.clearance_m, 'height', display)} clear between its ends"
    else:
        told = "load lowest at its ends" if leg.under_known else "what is below is not known everywhere"
    highest = f"{show_up(leg.highest_m, 'height', display)} {label('altitude', display)}"
    how_far = f"{show(leg.length_m, 'distance', display)}, {show_time(leg.seconds)}"
    return f"{how_far}, highest {highest}; {told}; {run(plan)}"
