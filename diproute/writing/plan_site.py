"""One site of the plan file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from diproute.physics.geodesy import LocalFrame
from diproute.records import (
    Approach,
    Assessed,
    AssessedSite,
    Clearance,
    Course,
    Finding,
    Governing,
    Leg,
    LineChoice,
    Route,
)
from diproute.writing.geojson import geometry
from diproute.writing.rounding import coordinate, course, hundredth, share, tenth

Entry = dict[str, Any]


def findings(found: Sequence[Finding]) -> list[Entry]:
    """Refusals or cautions as the file writes them."""
    return [{"code": f.code, "because": f.because} for f in found]


def site_entry(site: AssessedSite, plan: Assessed) -> Entry:
    """Turn one site into its dictionary; ``course_deg`` is always the course flown.

    Parameters
    ----------
    site
        The site.
    plan
        The plan it belongs to, for the declination.

    Returns
    -------
    dict
        The site's entry of ``plan.json``.
    """
    point, water, clearance, approach = site.point, site.point.water, site.clearance, site.approach
    return {
        "id": site.id,
        "name": site.name,
        "water": water.name,
        "water_kind": water.kind,
        "salt": water.salt,
        "chosen_for": point.chosen_for,
        "lat": coordinate(point.lat_deg),
        "lon": coordinate(point.lon_deg),
        "rank": site.rank,
        "elevation_m": tenth(point.level_m),
        "level_spread_m": tenth(water.level_spread_m),
        "shore_clearance_m": tenth(point.shore_clearance_m),
        "depth_m": tenth(water.depth_m),
        "temperature_k": hundredth(site.temperature_k),
        "pressure_altitude_m": tenth(site.pressure_altitude_m),
        "density_altitude_m": tenth(site.density_altitude_m),
        "line": {
            "needed_m": tenth(clearance.line_needed_m),
            "carried_m": None if site.line is None else tenth(site.line.length_m),
            "governed_by": _governing(clearance.line_governing),
        },
        "lines": [_choice(choice) for choice in site.line_choices],
        "directions": _directions(clearance, approach),
        "open_share": None if approach is None else share(approach.open_share),
        "sectors": []
        if approach is None
        else [{"from_deg": tenth(s.from_deg), "to_deg": tenth(s.to_deg)} for s in approach.sectors],
        "arrival": _course(None if approach is None else approach.arrival, plan),
        "departure": _course(None if approach is None else approach.departure, plan),
        "load": _load(site),
        "routes": _routes(site.route),
        "ferry": _ferry(site.route),
        "cycle": None
        if site.cycle is None
        else {
            "seconds": tenth(site.cycle.seconds),
            "burn_kg": tenth(site.cycle.burn_kg),
            "parts": [
                {"name": part.name, "seconds": tenth(part.seconds), "burn_kg": hundredth(part.burn_kg)}
                for part in site.cycle.parts
            ],
        },
        "sortie": _sortie(site),
        "score": {
            "total": tenth(site.score),
            "criteria": [
                {"name": c.name, "points": tenth(c.points), "weight": share(c.weight), "because": c.because}
                for c in site.criteria
            ],
        },
        "curve": [
            {
                "fill": share(p.fill),
                "fuel_kg": tenth(p.fuel_kg),
                "litres_per_hour": tenth(p.litres_per_hour),
                "margin_kg": tenth(p.margin_kg),
                "because": p.because,
            }
            for p in site.curve
        ],
        "blocked": geometry(site.blocked, LocalFrame(plan.ground.grid.lat_deg, plan.ground.grid.lon_deg)),
        "refused": findings(site.refused),
        "cautions": findings(site.cautions),
    }


def _governing(governing: Governing | None) -> Entry | None:
    if governing is None:
        return None
    return {
        "what": governing.what,
        "distance_m": tenth(governing.distance_m),
        "bearing_deg": course(governing.bearing_deg),
        "height_m": tenth(governing.height_m),
    }


def _choice(choice: LineChoice) -> Entry:
    return {
        "length_m": tenth(choice.length_m),
        "chosen": choice.chosen,
        "litres_per_hour": tenth(choice.litres_per_hour),
        "cycle_s": tenth(choice.cycle_s),
        "margin_kg": tenth(choice.margin_kg),
        "because": choice.because,
    }


def _directions(clearance: Clearance, approach: Approach | None) -> list[Entry]:
    """List every course: the lift of an arrival and of a departure flown on it.

    An arrival flown on a course comes in over the corridor of the opposite bearing. ``open`` and ``known`` speak of
    the corridor that runs outward on the course: arrival and departure over it, wind aside.
    """
    bearings = np.mod(clearance.bearing_deg, 360.0)
    arriving = np.argmin(np.abs(np.mod(bearings[None, :] - bearings[:, None], 360.0) - 180.0), axis=1)
    entries = []
    for i in np.argsort(bearings, kind="stable"):
        behind = int(arriving[i])
        governing = clearance.lift_governing[i] if clearance.lift_governing else None
        entries.append(
            {
                "course_deg": course(float(bearings[i])),
                "arrival_lift_m": tenth(float(clearance.lift_in_m[behind])),
                "departure_lift_m": tenth(float(clearance.lift_out_m[i])),
                "open": False if approach is None else bool(approach.open[i]),
                "known": None if approach is None else bool(approach.known[i]),
                "surface_8_to_1_m": tenth(float(clearance.surface_m[i])),
                "governed_by": None if governing is None else governing.what,
            }
        )
    return entries


def _course(flown: Course | None, plan: Assessed) -> Entry | None:
    if flown is None:
        return None
    return {
        "course_deg": course(flown.course_deg),
        "course_magnetic_deg": course(flown.course_deg - plan.declination_deg),
        "lift_m": tenth(flown.lift_m),
        "headwind_m_s": hundredth(flown.headwind_m_s),
        "crosswind_m_s": hundredth(flown.crosswind_m_s),
        "surface_8_to_1_m": tenth(flown.surface_8_to_1_m),
        "surface_at_m": tenth(flown.surface_at_m),
        "turn_s": tenth(flown.turn_s),
        "governed_by": _governing(flown.governing),
    }


def _load(site: AssessedSite) -> Entry | None:
    load = site.load
    if load is None:
        return None
    return {
        "water_l": tenth(load.water_l),
        "water_kg": tenth(load.water_kg),
        "fill": share(load.fill),
        "fuel_kg": tenth(load.fuel_kg),
        "governed_by": load.governed_by,
        "place": load.place,
        "hoge_limit_kg": tenth(load.hoge_limit_kg),
        "margin_kg": tenth(load.margin_kg),
        "lines": [{"name": line.name, "mass_kg": tenth(line.mass_kg), "note": line.note} for line in load.lines],
    }


def _leg(leg: Leg) -> Entry:
    path = zip(leg.lon_deg.tolist(), leg.lat_deg.tolist(), leg.altitude_m.tolist(), strict=True)
    return {
        "drop": leg.drop,
        "leg": leg.leg,
        "length_m": tenth(leg.length_m),
        "seconds": tenth(leg.seconds),
        "highest_m": tenth(leg.highest_m),
        "path": [[coordinate(lon), coordinate(lat), tenth(altitude)] for lon, lat, altitude in path],
        "waypoints": list(leg.waypoints),
        "wires_crossed": [
            {
                "name": wire.name,
                "lat": coordinate(wire.lat_deg),
                "lon": coordinate(wire.lon_deg),
                "top_m": tenth(wire.top_m),
                "height_assumed": wire.height_assumed,
                "clearance_m": tenth(wire.clearance_m),
                "angle_deg": tenth(wire.angle_deg),
            }
            for wire in leg.crossings
        ],
        "cautions": findings(leg.cautions),
    }


def _routes(route: Route | None) -> list[Entry]:
    return [] if route is None else [_leg(leg) for leg in (*route.loaded, *route.empty)]


def _ferry(route: Route | None) -> Entry | None:
    if route is None or (route.from_base is None and route.to_base is None):
        return None
    return {
        "from_base": None if route.from_base is None else _leg(route.from_base),
        "to_base": None if route.to_base is None else _leg(route.to_base),
    }


def _sortie(site: AssessedSite) -> Entry | None:
    sortie = site.sortie
    if sortie is None:
        return None
    return {
        "cycles": sortie.cycles,
        "seconds": tenth(sortie.seconds),
        "litres": tenth(sortie.litres),
        "litres_per_hour": tenth(sortie.litres_per_hour),
        "first_drop_seconds": tenth(sortie.first_drop_s),
        "reserve_kg": tenth(sortie.reserve_kg),
        "loads_l": [tenth(litres) for litres in sortie.loads_l],
        "margins_kg": [tenth(kg) for kg in sortie.margins_kg],
        "note": sortie.note,
    }
