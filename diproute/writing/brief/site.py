"""One site for the brief: every text that its page and its card hold, and its drawings."""

from __future__ import annotations

from typing import Any, Final

from diproute.document.legs import Leg
from diproute.document.plan import Plan
from diproute.document.site import FillCurve, GoNoGo, Site, Thing, Way
from diproute.physics.coordinates import format_ddm, format_mgrs
from diproute.physics.geodesy import beside
from diproute.units import show, show_course, show_down, show_share, show_time, unit_name
from diproute.wording import label
from diproute.writing.brief.unknown import unknown_at
from diproute.writing.drawings.cycle_bar import cycle_bar
from diproute.writing.drawings.profile import profile
from diproute.writing.drawings.rose import rose, summary
from diproute.writing.reader import altitude, sentence, told
from diproute.writing.typeset import called, on_paper

FUELS: Final = 8  # rows of the fuel table
THINGS: Final = 4
STRONG: Final = ("allowable payload", "water carried", "selected", "left")

Pairs = list[tuple[str, str]]


def site_data(site: Site, plan: Plan) -> dict[str, Any]:
    """Give a site's page as data."""
    display = plan.display
    home = float(beside(site.lon, 0.0))
    return {
        "id": site.id,
        "rank": "" if site.rank is None else str(site.rank),
        "name": called(site.name),
        "water": f"{site.water}: {site.water_kind}{', salt' if site.salt else ''}; point {site.chosen_for}",
        "ddm": format_ddm(site.lat, home),
        "mgrs": spaced(format_mgrs(site.lat, home)),
        "refused": [sentence(one, plan) for one in site.refused],
        "air": _air(site, plan),
        "cells": cells(site, plan),
        "rose": on_paper(rose(site, plan)),
        "rose_alt": summary(site, plan.declination_deg),
        "things": _things(site, plan),
        "sheet": _sheet(site, plan),
        "table": None if site.go_no_go is None else _go_no_go(site.go_no_go, plan),
        "fuel": _fuel(site, plan),
        "cycle": None if site.cycle is None else on_paper(cycle_bar(site.cycle, display)),
        "cycle_alt": "" if site.cycle is None else f"One cycle, {show_time(site.cycle.seconds)}",
        "legs": [_leg(leg, plan) for leg in site.routes],
        "wires": _wires(site, plan),
        "cautions": [sentence(one, plan) for one in site.cautions],
        "unknown": list(unknown_at(site, plan)),
    }


def spaced(mgrs: str) -> str:
    """Print a grid reference as it is read out: ``04T DM 10796 68121``."""
    if not mgrs[:1].isdigit():
        return mgrs
    zone = 3 if mgrs[1:2].isdigit() else 2
    figures = mgrs[zone + 2 :]
    half = len(figures) // 2
    return f"{mgrs[:zone]} {mgrs[zone : zone + 2]} {figures[:half]} {figures[half:]}"


def cells(site: Site, plan: Plan) -> Pairs:
    """Give the numbers that are read first, largest on the page: courses, load, fuel, line, time."""
    display, load, sortie = plan.display, site.load, site.sortie
    arrival, departure = (label(key, display) for key in ("arrival", "departure"))
    line = "not known" if site.line.carried_m is None else show(site.line.carried_m, "line", display)
    found = [
        (f"{arrival}, magnetic", _course(site.arrival)),
        (f"{departure}, magnetic", _course(site.departure)),
        (
            "straight up first",
            "none" if site.departure is None else show(site.departure.lift_m, "height", display),
        ),
        ("line", "none, belly hook" if site.line.carried_m == 0 else line),
    ]
    if load is not None:
        found += [
            ("bucket setting", show_share(load.fill)),
            ("fuel at the start", show(load.fuel_kg, "mass", display)),
            ("load of water", show(load.water_l, "volume", display)),
            ("margin", show(load.margin_kg, "mass", display)),
        ]
    if site.cycle is not None:
        found.append(("cycle", show_time(site.cycle.seconds)))
    if sortie is not None:
        found.append(("water an hour", show(sortie.litres_per_hour, "volume", display)))
        found.append(("cycles on the fuel", f"{sortie.cycles} in {show_time(sortie.seconds)}"))
    if site.go_no_go is not None and site.go_no_go.holds_to_k is not None:
        edge = " or more" if site.go_no_go.edge else ""
        found.append(("hovers up to", f"{show_down(site.go_no_go.holds_to_k, 'temperature', display)}{edge}"))
    return found


def _course(way: Way | None) -> str:
    return "none" if way is None else show_course(way.course_magnetic_deg)


def _air(site: Site, plan: Plan) -> Pairs:
    display, wind = plan.display, site.wind
    low, high = site.level_low_m, site.elevation_m
    level = altitude(high, display)
    if low is not None and show(low, "height", display) != show(high, "height", display):
        level = f"{show(low, 'height', display, unit=False)} to {level}"
    blows = "not known"
    if wind.speed_m_s is not None:
        gust = "" if wind.gust_m_s is None else f", gusts {show(wind.gust_m_s, 'wind', display)}"
        from_ = "calm" if wind.from_deg is None else f"{show_course(wind.from_deg - plan.declination_deg)} magnetic"
        blows = f"{from_} {show(wind.speed_m_s, 'wind', display)}{gust}"
    return [
        ("water level", level),
        ("density altitude", show(site.density_altitude_m, "height", display)),
        ("pressure altitude", show(site.pressure_altitude_m, "height", display)),
        ("temperature", show(site.temperature_k, "temperature", display)),
        ("wind", blows),
        ("depth", show(site.depth_m, "depth", display)),
        ("shore", f"{show(site.shore_clearance_m, 'line', display)} away"),
    ]


def _things(site: Site, plan: Plan) -> list[str]:
    """Name what stands round the dip, the tallest of a kind, tallest first."""
    display = plan.display
    each: dict[str, Thing] = {}
    for one in sorted(site.things, key=lambda one: -one.height_m):
        each.setdefault(one.what, one)
    tallest = list(each.values())[:THINGS]
    return [
        f"{one.what}: {show(one.height_m, 'height', display)} above the water, {show(one.distance_m, 'line', display)} "
        f"off on {show_course(one.bearing_deg - plan.declination_deg)} magnetic"
        f"{', height assumed' if one.assumed_m is not None else ''}{', not verified' if one.unverified else ''}"
        for one in tallest
    ]


def _sheet(site: Site, plan: Plan) -> list[dict[str, Any]]:
    if site.load is None:
        return []
    return [
        {
            "name": label(line.name, plan.display),
            "mass": show(line.mass_kg, "mass", plan.display, unit=False),
            "note": "" if line.note is None else told(line.note, plan),
            "strong": line.name in STRONG,
        }
        for line in site.load.lines
    ]


def _go_no_go(table: GoNoGo, plan: Plan) -> dict[str, Any]:
    display = plan.display
    rows = []
    for i, (kelvin, fills) in enumerate(zip(table.temperature_k, table.fill, strict=True)):
        told_ = ["?" if fill is None else "none" if fill == 0 else show_share(fill) for fill in fills]
        rows.append(
            {
                "head": show(kelvin, "temperature", display),
                "cells": told_,
                "own": table.column if i == table.row else -1,
            }
        )
    return {"heads": [show(fuel, "mass", display, unit=False) for fuel in table.fuel_kg], "rows": rows}


def _fuel(site: Site, plan: Plan) -> list[list[str]]:
    """Give water an hour against fuel at the plan's bucket setting, the plan's own fuel among the rows."""
    if site.load is None:
        return []
    curve = next((one for one in site.curve if one.fill == site.load.fill), None)
    if curve is None:
        return []
    display = plan.display
    return [
        [
            show(curve.fuel_kg[i], "mass", display, unit=False),
            "too heavy" if curve.cycles[i] == 0 else show(curve.litres_per_hour[i], "volume", display, unit=False),
            show(curve.margin_kg[i], "mass", display, unit=False),
            str(curve.cycles[i]),
            "own" if abs(curve.fuel_kg[i] - site.load.fuel_kg) < 0.05 else "",
        ]
        for i in _rows_of(curve, site.load.fuel_kg)
    ]


def _rows_of(curve: FillCurve, own_kg: float) -> list[int]:
    """Choose rows of a curve: the plan's own, those that can be lifted spread evenly, and the first too heavy one."""
    lifted = [i for i, cycles in enumerate(curve.cycles) if cycles > 0]
    own = min(range(len(curve.fuel_kg)), key=lambda i: abs(curve.fuel_kg[i] - own_kg))
    step = max(1, -(-len(lifted) // (FUELS - 2)))
    heavy = [i for i, cycles in enumerate(curve.cycles) if cycles == 0][:1]
    return sorted({*lifted[::step], own, *heavy})


def _leg(leg: Leg, plan: Plan) -> dict[str, str]:
    display = plan.display
    way = f"to {leg.drop}" if leg.leg == "loaded" else f"from {leg.drop}"
    alt = (
        f"Height profile of the {leg.leg} leg {way}: {show(leg.length_m, 'distance', display)}, "
        f"{show_time(leg.seconds)}, highest {altitude(leg.highest_m, display)}"
    )
    return {"drawing": on_paper(profile(leg, display)), "alt": alt}


def _wires(site: Site, plan: Plan) -> list[str]:
    display = plan.display
    return [
        f"{leg.leg} leg, {show(wire.along_m, 'distance', display)} along: {wire.name}, "
        f"top {altitude(wire.top_m, display)}{' (height assumed)' if wire.height_assumed else ''}, "
        f"load {show_down(wire.clearance_m, 'height', display)} above it, crossed at {wire.angle_deg:.0f}°"
        for leg in site.routes
        for wire in leg.wires_crossed
    ]


def units_of(plan: Plan) -> dict[str, str]:
    """Name the units of the tables' columns."""
    return {key: unit_name(key, plan.display) for key in ("mass", "volume", "height")}
