"""Invented plans as the tests of tables and exchange files want them: moved, renamed, at another offset, emptied."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta, timezone
from functools import cache
from pathlib import Path
from typing import Any

from composed import changed, full, plain, with_sites

from diproute.document import Plan

HOSTILE = "<b>&\"' ]]> =1+1 \x00\x07\x1b[31m \u202eelif\u202c ‹ü水🚁 <img src=x onerror=alert(1)>"
SHAPED = ("waters", "left_out", "obstacles", "avoid")


def moved(plan: Plan, by_deg: float) -> Plan:
    """The plan with everything so many degrees further east; what stands alone within ±180°, shapes counted on."""

    def place(part: Any) -> Any:
        if part is None or part.lon is None:
            return part
        return changed(part, lon=round((part.lon + by_deg + 180.0) % 360.0 - 180.0, 6))

    def nested(at: Any) -> Any:
        return [round(at[0] + by_deg, 6), at[1]] if isinstance(at[0], float) else [nested(inner) for inner in at]

    def shaped(part: Any) -> Any:
        if part.geometry is None:
            return part
        return changed(part, geometry=changed(part.geometry, coordinates=nested(part.geometry.coordinates)))

    def flown(leg: Any) -> Any:
        return changed(leg, path=tuple((round(lon + by_deg, 6), lat, up) for lon, lat, up in leg.path))

    return changed(
        plan,
        **{name: tuple(shaped(part) for part in getattr(plan, name)) for name in SHAPED},
        drops=tuple(place(drop) for drop in plan.drops),
        base=place(plan.base),
        ferries=tuple(flown(leg) for leg in plan.ferries),
        sites=tuple(changed(place(site), routes=tuple(flown(leg) for leg in site.routes)) for site in plan.sites),
    )


def renamed(plan: Plan, name: str) -> Plan:
    """The plan with one name for everything that a file may name."""
    shaped = {key: tuple(changed(part, name=name) for part in getattr(plan, key)) for key in SHAPED}
    sites = tuple(
        changed(site, name=name, water=name, routes=tuple(changed(leg, drop=name) for leg in site.routes))
        for site in plan.sites
    )
    drops = tuple(changed(drop, name=name) for drop in plan.drops)
    return changed(plan, title=name, sites=sites, drops=drops, **shaped)


def at_offset(plan: Plan, hours: float) -> Plan:
    """The plan at the same instant, told at another offset from UTC."""
    zone = timezone(timedelta(hours=hours))
    return changed(plan, when=datetime(2026, 8, 15, 1, 0, tzinfo=UTC).astimezone(zone))


def bare(plan: Plan) -> Plan:
    """The plan with nothing that a table could hold."""
    empty: Any = ()
    return changed(with_sites(plan), ferries=empty, drops=empty, base=None, **dict.fromkeys(SHAPED, empty))


def of_all_shapes(plan: Plan) -> Plan:
    """The plan with obstacles, areas and left-out waters of every shape, and a wire that is filed as a point."""
    point = [-160.1, 42.12]
    line = [point, [-160.08, 42.13]]
    ring = [[point, [-160.09, 42.12], [-160.09, 42.13], point]]
    shapes = {
        "Point": point, "MultiPoint": [point, [-160.11, 42.11]], "LineString": line, "MultiLineString": [line],
        "Polygon": ring, "MultiPolygon": [ring],
    }  # fmt: skip
    kinds = [changed(plan.obstacles[0].geometry, type=key, coordinates=at) for key, at in shapes.items()]

    def each(part: Any, **more: Any) -> tuple[Any, ...]:
        return tuple(changed(part, geometry=shape, **more) for shape in (*kinds, None))

    wire = plan.obstacles[0]
    return changed(
        plan,
        obstacles=(*plan.obstacles, *each(wire, wire=True), *each(wire, wire=False, top_m=512.3, verified=False)),
        left_out=(*plan.left_out, *each(plan.left_out[0])),
        avoid=(*plan.avoid, *each(plan.avoid[0], floor_m=10.0, ceiling_m=900.5)),
    )


def two_drops(plan: Plan) -> Plan:
    """The plan with a second drop of the same name, along a line: each site has two legs each way."""
    sites = []
    for site in plan.sites:
        more = tuple(changed(leg, id=leg.id[:-1] + "2") for leg in site.routes)
        sites.append(changed(site, routes=(*site.routes, *more)))
    return changed(plan, drops=(*plan.drops, changed(plan.drops[0], lat=None, lon=None)), sites=tuple(sites))


@contextmanager
def on_disk(data: bytes, ending: str) -> Iterator[Path]:
    """A file for another program to open, gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"plan.{ending}"
        path.write_bytes(data)
        yield path


def read_back(plan: Plan) -> Plan:
    """The plan through its own file's text: what a reader of a plan file has."""
    return Plan.model_validate_json(plan.model_dump_json())


@cache
def plans() -> dict[str, Plan]:
    """The plans that every format is tried on, by what is special about them."""
    return {
        "plain": plain(),
        "full": full(),
        "none suitable": with_sites(plain(), *[site for site in plain().sites if not site.suitable]),
        "bare": bare(plain()),
        "across 180 from the west": moved(full(), 340.05),
        "across 180 from the east": moved(full(), -19.95),
        "hostile names": renamed(full(), HOSTILE),
        "all shapes": of_all_shapes(full()),
        "two drops": two_drops(full()),
    }


def as_written(name: str) -> str:
    """A name as the files show it: control characters as they are written in code."""
    return "".join(_shown(sign) for sign in name)


def _shown(sign: str) -> str:
    if sign < " " or sign in "\u202e\u202c":
        return f"\\x{ord(sign):02x}" if sign < " " else f"\\u{ord(sign):04x}"
    return sign
