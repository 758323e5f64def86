"""The incident for the brief: air, aircraft, ranking, the day, cautions, what is unknown, layers and their age."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Final

from diproute.document.asked import Bucket, Helicopter
from diproute.document.ground import Layer
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_course, show_share, unit_name
from diproute.wording import label
from diproute.writing.brief.unknown import unknown_of
from diproute.writing.reader import altitude, sentence, told
from diproute.writing.typeset import called

RANKED: Final = 16  # rows of the ranking on the first page
REFUSED: Final = 8
LATE_DAYS: Final = 56  # the cycle of aeronautical data, twice 28 days: older than this is said


def incident_data(plan: Plan) -> dict[str, Any]:
    """Give the first page as data."""
    own = {told(one, plan): sentence(one, plan) for one in (*plan.cautions, *plan.ground.cautions, *plan.air.cautions)}
    refused = [site for site in plan.sites if not site.suitable]
    crafts = [(plan.helicopter, plan.bucket), *((one.helicopter, one.bucket) for one in plan.more)]
    units = {key: unit_name(key, plan.display) for key in ("volume", "mass", "line")}
    return {
        "weather": _weather(plan),
        "craft": [_craft(plan, *pair) for pair in crafts],
        "heads": [
            "", "dip site", f"{units['volume']}/h", "setting", f"fuel {units['mass']}", f"line {units['line']}",
            "cycle", "in / out magnetic", "cautions",
        ],
        "ranking": [_row(site, plan) for site in plan.suitable[:RANKED]],
        "more": max(0, len(plan.suitable) - RANKED),
        "refused": [_why(site, plan) for site in refused[:REFUSED]],
        "refused_more": max(0, len(refused) - REFUSED),
        "day": _day(plan),
        "holds": [sentence(one, plan) for one in (plan.doubt, plan.fleet, plan.duty) if one is not None],
        "cautions": list(own.values()),
        "unknown": list(unknown_of(plan)),
        "layers": [_layer(layer, plan) for layer in plan.layers],
    }  # fmt: skip


def _why(site: Site, plan: Plan) -> str:
    return f"{called(site.name)}: {'; '.join(told(one, plan) for one in site.refused)}"


def _weather(plan: Plan) -> str:
    air, display = plan.air, plan.display
    gust = "" if air.gust_m_s is None else f", gusts {show(air.gust_m_s, 'wind', display)}"
    return (
        f"{show(air.temperature_k, 'temperature', display)} at {altitude(air.measured_at_m, display)}, "
        f"{label('qnh', display)} {show(air.qnh_pa, 'pressure', display)}, wind from "
        f"{show_course(air.wind_from_deg)} true ({show_course(air.wind_from_deg - plan.declination_deg)} magnetic) "
        f"{show(air.wind_m_s, 'wind', display)}{gust} ({air.source})"
    )


def _craft(plan: Plan, craft: Helicopter, bucket: Bucket) -> str:
    several = f"{craft.count} × " if craft.count > 1 else ""
    return (
        f"{several}{craft.name}, {bucket.name} ({show(bucket.capacity_l, 'volume', plan.display)}), "
        f"crew {show(craft.crew_kg, 'mass', plan.display)}"
    )


def _row(site: Site, plan: Plan) -> list[str]:
    display, load = plan.display, site.load
    ways = [
        "none" if way is None else show_course(way.course_magnetic_deg) for way in (site.arrival, site.departure)
    ]  # fmt: skip
    seconds = None if site.cycle is None else round(site.cycle.seconds)
    return [
        str(site.rank),
        called(site.name),
        "not known" if site.sortie is None else show(site.sortie.litres_per_hour, "volume", display, unit=False),
        "not known" if load is None else show_share(load.fill),
        "not known" if load is None else show(load.fuel_kg, "mass", display, unit=False),
        show(site.line.carried_m, "line", display, unit=False),
        "not known" if seconds is None else f"{seconds // 60}:{seconds % 60:02d}",
        " / ".join(ways),
        str(len(site.cautions)),
    ]


def _day(plan: Plan) -> list[str]:
    day = plan.day
    if day is None:
        return []
    zone = plan.when.tzinfo
    named = (
        ("Sunrise", day.sunrise),
        ("Sunset", day.sunset),
        ("Last departure that is home in light", day.last_departure),
    )
    times = [f"{name} {moment.astimezone(zone):%H:%M}" for name, moment in named if moment is not None]
    return [*([f"{'. '.join(times)}."] if times else []), *(sentence(one, plan) for one in day.story)]


def _layer(layer: Layer, plan: Plan) -> list[str]:
    error = "not stated" if layer.vertical_error_m is None else show(layer.vertical_error_m, "height", plan.display)
    heights = layer.role in ("elevation", "canopy", "obstacles")
    return [layer.role, layer.file, layer.current or "not stated", age(layer.current, plan), error if heights else "–",
            layer.licence or "not stated"]  # fmt: skip


def age(current: str | None, plan: Plan) -> str:
    """Say how old a layer's content is at the plan's time; a date that cannot be read is not guessed at."""
    if current is None:
        return "not known"
    try:
        moment = datetime.fromisoformat(current).date() if "T" in current else date.fromisoformat(current)
    except ValueError:
        return "not known"
    days = (plan.when.date() - moment).days
    if days < 0:
        return "later than the plan"
    return f"{days} day{'s' if days != 1 else ''}{', old' if days > LATE_DAYS else ''}"
