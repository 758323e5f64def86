"""The page's data: the plan as compact JSON, from which the page's script draws map, ranking and cards."""

from __future__ import annotations

from typing import Any

from diproute.document.plan import Plan
from diproute.units import SHOWN, UNITS, show, unit_name
from diproute.writing.drawings.axes import MEASURES
from diproute.writing.map import card, flown, heights, legs, moments, scene, what_if
from diproute.writing.map.packing import Texts
from diproute.writing.map.unknowns import unknowns
from diproute.writing.map.words import words


def pack(plan: Plan) -> dict[str, Any]:
    """Pack a plan for the page.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    dict
        JSON-ready. Every sentence stands once, in ``texts``; what says it holds its number. Places are differences in
        hundred-thousandths of a degree, lengths and masses whole tenths of the SI unit.
    """
    texts = Texts()
    ferries = {leg.id: number for number, leg in enumerate(plan.ferries)}
    grid = plan.terrain.heights
    return {
        "map": scene.build(plan, texts),
        "heights": heights.cells(grid, plan.display)
        | {
            "standing": heights.standing(grid, plan.obstacles),
            "names": [texts(scene.height_words(plan, one)) for one in plan.obstacles],
        },
        "plan": _whole(plan, texts),
        "sites": [card.packed(site, plan, texts, ferries) for site in plan.sites],
        "ferries": [legs.packed(leg, plan, texts) for leg in plan.ferries],
        "hours": moments.hours(plan, texts),
        "whatIf": what_if.what_if(plan, texts),
        "unknown": [[texts(one.of), texts(one.what), one.at, one.site] for one in unknowns(plan)],
        "units": _units(plan),
        "words": words(plan),
        "texts": texts.table,
    }


def _whole(plan: Plan, texts: Texts) -> dict[str, Any]:
    """Give what belongs to the plan as a whole."""
    speed, air = plan.helicopter.airspeed_m_s, plan.air
    clock = f"{plan.when:%H:%M}"
    return {
        "title": plan.title,
        "clock": clock,
        "declination": plan.declination_deg,
        "limit": plan.limits.lift_limit_m,
        "wind": [air.wind_from_deg, air.wind_m_s, air.gust_m_s],
        "windWords": texts(moments.wind(air.wind_from_deg, air.wind_m_s, air.gust_m_s, plan)),
        "heat": air.temperature_k,
        "airspeed": [speed.loaded, speed.empty],
        "lines": [[round(one.length_m * 10), texts(show(one.length_m, "line", plan.display))] for one in plan.lines],
        "drops": [[d.lat, d.lon] for d in plan.drops],
        "waypoints": [texts(head) for head in legs.waypoint_heads(plan)],
        "goNoGo": texts(flown.GO_NO_GO),
        "uncertain": plan.doubt is not None,
    }


def _units(plan: Plan) -> dict[str, list[Any]]:
    """Give how each kind of reading is printed: factor and offset to its unit, decimals, the unit's name."""
    found: dict[str, list[Any]] = {}
    column = 0 if plan.display == "us" else 1
    for what, kind in MEASURES.items():
        name, decimals = SHOWN[what][column]
        factor, offset = UNITS[kind][name]
        found[what] = [factor, offset, decimals, unit_name(what, plan.display)]
    return found
