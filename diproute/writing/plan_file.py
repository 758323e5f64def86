"""The plan file: ``plan.json``, SI and degrees only, the unit of every number in its key.

The shape is fixed by ``plan.schema.json`` beside the package. What is not known is ``null``. The same plan gives
the same bytes: keys come in the order written here and numbers are rounded to what they are worth.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any, Final

from diproute.records import Assessed, Bucket, Helicopter, Incident
from diproute.writing.files import write_atomically
from diproute.writing.plan_outlook import day_entry, doubt_entry, duty_entry, fleet_entry
from diproute.writing.plan_site import findings, site_entry
from diproute.writing.rounding import coordinate, hundredth, share, tenth, whole

FORMAT: Final = "diproute-plan/1"
_NUMBERS_ONLY = re.compile(r"\[\s+((?:-?[\d.eE+-]+|null)(?:,\s+(?:-?[\d.eE+-]+|null))*)\s+\]")

Entry = dict[str, Any]


def plan_document(plan: Assessed) -> Entry:
    """Turn a plan into the plain dictionary that `write_plan` writes.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    dict
        Text, numbers, lists, dictionaries and None only; valid against ``plan.schema.json``.
    """
    incident = plan.incident
    return {
        "format": FORMAT,
        "title": incident.title,
        "invented": incident.invented,
        "made_with": plan.made_with,
        "when": incident.when.isoformat(),
        "display": incident.display,
        "air": _air(incident),
        "declination_deg": hundredth(plan.declination_deg),
        "declination_sigma_deg": hundredth(plan.declination_sigma_deg),
        "declination_date": incident.when.date().isoformat(),
        "drops": [
            {"name": d.name, "lat": coordinate(d.lat_deg), "lon": coordinate(d.lon_deg), "share": share(d.share)}
            for d in incident.drops
        ],
        "base": None
        if incident.base is None
        else {
            "lat": coordinate(incident.base.lat_deg),
            "lon": coordinate(incident.base.lon_deg),
            "refuel_s": tenth(incident.base.refuel_s),
        },
        "helicopter": _helicopter(incident.helicopter, incident.count, incident.crew_kg, incident.fuel),
        "bucket": _bucket(incident.bucket, incident.fill),
        "more": [
            {
                "helicopter": _helicopter(craft.helicopter, craft.count, craft.crew_kg, craft.fuel),
                "bucket": _bucket(craft.bucket, craft.fill),
            }
            for craft in incident.more
        ],
        "duty_so_far": {
            "flown_today_s": tenth(incident.duty.flown_today_s),
            "on_duty_s": tenth(incident.duty.on_duty_s),
            "flown_before_s": [tenth(flown) for flown in incident.duty.flown_before_s],
        },
        "lines": [
            {"length_m": tenth(line.length_m), "mass_kg": tenth(line.mass_kg), "settle_s": tenth(line.settle_s)}
            for line in incident.lines
        ],
        "limits": _limits(incident),
        "search": {"radius_m": tenth(incident.search.radius_m), "keep": incident.search.keep},
        "ground": _ground(plan),
        "left_out": [{"name": w.name, "because": w.because} for w in plan.left_out],
        "avoid": [
            {
                "name": a.name,
                "because": a.because,
                "hard": a.hard,
                "extra_cost": share(a.extra_cost),
                "floor_m": tenth(a.floor_m),
                "ceiling_m": tenth(a.ceiling_m),
            }
            for a in plan.avoid
        ],
        "cautions": findings(plan.cautions),
        "day": day_entry(plan),
        "doubt": doubt_entry(plan),
        "fleet": fleet_entry(plan),
        "duty": duty_entry(plan),
        "sites": [site_entry(site, plan) for site in plan.sites],
    }


def plan_text(plan: Assessed) -> str:
    """Print a plan as the text of ``plan.json``: indented, a coordinate a line, ending in a line feed."""
    text = json.dumps(plan_document(plan), ensure_ascii=False, allow_nan=False, indent=1)
    return _NUMBERS_ONLY.sub(lambda found: "[" + re.sub(r"\s+", " ", found[1]) + "]", text) + "\n"


def write_plan(plan: Assessed, path: str | Path) -> Path:
    """Write ``plan.json``.

    Parameters
    ----------
    plan
        The plan.
    path
        The file to write.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    return write_atomically(path, plan_text(plan))


def _air(incident: Incident) -> Entry:
    weather = incident.weather
    air, wind = weather.air, weather.wind
    levels = [
        {"altitude_m": tenth(altitude), "from_deg": tenth(origin), "speed_m_s": hundredth(blow)}
        for altitude, origin, blow in zip(wind.altitude_m, wind.from_deg, wind.speed_m_s, strict=True)
    ]
    return {
        "temperature_k": hundredth(air.temperature_k),
        "measured_at_m": tenth(air.measured_at_m),
        "qnh_pa": whole(air.qnh_pa),
        "dew_point_k": hundredth(air.dew_point_k),
        "lapse_k_per_m": share(air.lapse_k_per_m, 5),
        "wind_from_deg": tenth(wind.from_deg[0]),
        "wind_m_s": hundredth(wind.speed_m_s[0]),
        "gust_m_s": hundredth(wind.gust_m_s),
        "wind_levels": levels,
        "source": weather.source,
        "cautions": findings(weather.cautions),
    }


def _helicopter(craft: Helicopter, count: int, crew_kg: float, fuel: float | None) -> Entry:
    return {
        "name": craft.name,
        "source": craft.source,
        "type": craft.type,
        "count": count,
        "crew_kg": tenth(crew_kg),
        "fuel_share": share(fuel),
        "rotor_diameter_m": tenth(craft.rotor_diameter_m),
        "equipped_kg": tenth(craft.equipped_kg),
        "max_gross_external_kg": tenth(craft.max_gross_external_kg),
        "hook_limit_kg": tenth(craft.hook_limit_kg),
        "weight_reduction_kg": tenth(craft.weight_reduction_kg),
        "fuel_capacity_kg": tenth(craft.fuel_capacity_kg),
        "burn_kg_s": {
            "hover": share(craft.burn_hover_kg_s, 5),
            "loaded": share(craft.burn_loaded_kg_s, 5),
            "empty": share(craft.burn_empty_kg_s, 5),
        },
        "airspeed_m_s": {"loaded": hundredth(craft.speed_loaded_m_s), "empty": hundredth(craft.speed_empty_m_s)},
        "climb_m_s": {"loaded": hundredth(craft.climb_loaded_m_s), "empty": hundredth(craft.climb_empty_m_s)},
        "descent_m_s": {"loaded": hundredth(craft.descent_loaded_m_s), "empty": hundredth(craft.descent_empty_m_s)},
        "hoge": [
            {
                "temperature_k": hundredth(curve.temperature_k),
                "pressure_altitude_m": [tenth(h) for h in curve.pressure_altitude_m],
                "mass_kg": [tenth(m) for m in curve.mass_kg],
            }
            for curve in craft.hoge.curves
        ],
    }


def _bucket(bucket: Bucket, fill: float | None) -> Entry:
    return {
        "name": bucket.name,
        "source": bucket.source,
        "capacity_l": tenth(bucket.capacity_l),
        "empty_kg": tenth(bucket.empty_kg),
        "gear_kg": tenth(bucket.gear_kg),
        "length_m": tenth(bucket.length_m),
        "depth_needed_m": tenth(bucket.depth_needed_m),
        "fills": [share(f) for f in bucket.fills],
        "fill_asked": share(fill),
        "part_fill": bucket.part_fill,
        "fill_s": tenth(bucket.fill_s),
        "drop_s": tenth(bucket.drop_s),
    }


def _limits(incident: Incident) -> Entry:
    limits = incident.limits
    return {
        "reserve_s": tenth(limits.reserve_s),
        "tailwind_m_s": hundredth(limits.tailwind_m_s),
        "crosswind_m_s": hundredth(limits.crosswind_m_s),
        "shore_clearance_m": tenth(limits.shore_clearance_m),
        "hover_circle_m": tenth(incident.hover_circle_m),
        "rotor_margin_m": tenth(limits.rotor_margin_m),
        "side_slope": share(limits.side_slope),
        "side_length_m": tenth(limits.side_length_m),
        "load_margin_m": tenth(limits.load_margin_m),
        "wire_margin_m": tenth(limits.wire_margin_m),
        "departure_gradient": share(limits.departure_gradient),
        "arrival_gradient": share(limits.arrival_gradient),
        "corridor_start_m": tenth(limits.corridor_start_m),
        "corridor_spread": share(limits.corridor_spread),
        "corridor_length_m": tenth(limits.corridor_length_m),
        "least_lift_m": tenth(limits.least_lift_m),
        "lift_limit_m": tenth(limits.lift_limit_m),
        "cruise_clearance_m": tenth(limits.cruise_clearance_m),
        "lateral_clearance_m": tenth(limits.lateral_clearance_m),
        "drop_height_m": tenth(limits.drop_height_m),
        "hover_margin_kg": tenth(limits.hover_margin_kg),
        "surface": limits.surface,
        "weights": [share(w) for w in limits.weights],
    }


def _ground(plan: Assessed) -> Entry:
    ground = plan.ground
    return {
        "cell_m": tenth(ground.grid.cell_m),
        "centre_lat": coordinate(ground.grid.lat_deg),
        "centre_lon": coordinate(ground.grid.lon_deg),
        "elevation_is": ground.elevation_is,
        "vertical_datum": ground.vertical_datum,
        "vertical_error_m": tenth(ground.vertical_error_m),
        "canopy_known": ground.canopy_known,
        "sources": list(ground.sources),
        "cautions": findings(ground.cautions),
    }
