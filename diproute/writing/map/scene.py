"""What the map draws, as plain data: each thing with its place, its class and its words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from diproute.document.geometry import Geometry
from diproute.document.ground import Area, Bounds, Obstacle
from diproute.document.legs import Leg, WireCrossed
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_share, show_time, unit_name
from diproute.wording import label
from diproute.wording.short import short
from diproute.writing.drawings.profile import probe
from diproute.writing.map import shapes, signs
from diproute.writing.map.heights import cells
from diproute.writing.map.markup import tag
from diproute.writing.reader import altitude, told

Feature = dict[str, Any]
MOST_OBSTACLES = 800
LABELLED_OBSTACLES = 120
LABELLED_WATERS = 16
TALL_M = 60.0  # its sign stands higher
GRATICULE_MINUTES = (0.5, 1, 2, 5, 10, 20, 30, 60)


def build(plan: Plan) -> dict[str, Any]:
    """Collect everything that the page's script draws.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    dict
        JSON-ready: ``layers`` of features, ``legs`` by site, ``sites``, ``view``, ``heights``, ``graticule``.
    """
    bounds = plan.terrain.bounds
    view = _view(plan, bounds)
    layers: dict[str, list[Feature]] = {
        "water": [f for w in plan.waters for f in _shapes(w.geometry, "water", w.name)],
        "left-out": _left_out(plan),
        "avoid": [f for a in plan.avoid for f in _avoid(a, plan)],
        "search": _search(plan),
        "wires": [f for o in plan.obstacles if o.wire for f in _shapes(o.geometry, "wire", _height_words(plan, o))],
        "obstacles": _obstacles(plan),
        "names": _names(plan),
        "graticule": [],
        "places": _places(plan),
    }
    return {
        "view": view,
        "layers": layers,
        "sites": [_site(s, plan) for s in plan.sites],
        "blocked": {s.id: _blocked(s, plan) for s in plan.sites if s.blocked is not None},
        "legs": {s.id: [_leg(leg, plan) for leg in flown(s, plan)] for s in plan.sites if s.routes},
        "heights": cells(plan.terrain.heights, plan.display),
        "heightUnit": unit_name("height", plan.display),
        "seaLevel": label("altitude", plan.display),
        "graticule": _graticule(view, bounds),
    }


def flown(site: Site, plan: Plan) -> list[Leg]:
    """Give a site's legs: loaded and empty ones, then from and to the helibase."""
    home = site.ferry
    ferries = (plan.ferry(home.from_base), plan.ferry(home.to_base)) if home is not None else ()
    return [*site.routes, *(leg for leg in ferries if leg is not None)]


def _shapes(geometry: Geometry | None, class_: str, words: str) -> list[Feature]:
    if geometry is None:
        return []
    return [{"k": kind, "c": class_, "g": g, "t": words} for kind, g in shapes.pieces(geometry)]


def _avoid(area: Area, plan: Plan) -> list[Feature]:
    words = f"{area.name}: {told(area, plan)} ({'closed to a load' if area.hard else 'at a price'})"
    return _shapes(area.geometry, "avoid hard" if area.hard else "avoid soft", words)


def _blocked(site: Site, plan: Plan) -> list[Feature]:
    """Give what stands in the way of an unsuitable site's route, with its label."""
    if site.blocked is None:
        return []
    words = next((told(f, plan) for f in site.refused if f.code.startswith("blocked-")), "in the way")
    found = [
        {"k": kind, "c": "blocked" if kind == "area" else "blocked stretch", "g": g, "t": words}
        for kind, g in shapes.pieces(site.blocked)
    ]
    at = shapes.foot(site.blocked)  # the word stands below, clear of the disc
    return [*found, {"k": "word", "c": "word blocked-word", "at": at, "t": "in the way"}]


def _label(geometry: Geometry, class_: str, words: str) -> Feature:
    return {"k": "word", "c": class_, "at": shapes.inside(geometry), "t": words}


def _left_out(plan: Plan) -> list[Feature]:
    found = []
    for water in plan.left_out:
        if water.geometry is None:
            continue
        why = told(water, plan)
        found += _shapes(water.geometry, "left-out", f"{water.name}: {why}" if water.name else why)
        found.append(_label(water.geometry, "word left-out-word", short(water.code)))
    return found


def _height_words(plan: Plan, obstacle: Obstacle) -> str:
    assumed = ", height assumed" if obstacle.height_assumed else ""
    unsure = ", not verified" if obstacle.verified is False else ""
    return f"{obstacle.name}, {show(obstacle.height_m, 'height', plan.display)} AGL{assumed}{unsure}"


def _obstacles(plan: Plan) -> list[Feature]:
    standing = sorted((o for o in plan.obstacles if not o.wire), key=lambda o: -o.height_m)
    found = []
    for i, obstacle in enumerate(standing[:MOST_OBSTACLES]):
        words = _height_words(plan, obstacle)
        for kind, g in shapes.pieces(obstacle.geometry) if obstacle.geometry is not None else ():
            if kind != "mark":
                found.append({"k": kind, "c": "thing", "g": g, "t": words})
                continue
            high = show(obstacle.height_m, "height", plan.display, unit=False)
            html = signs.obstacle(tall=obstacle.height_m >= TALL_M) + (
                f'<span class="agl">({high})</span>' if i < LABELLED_OBSTACLES else ""
            )
            found.append({"k": "mark", "c": "obstacle", "at": g, "h": html, "t": words})
    return found


def _search(plan: Plan) -> list[Feature]:
    radius = show(plan.search.radius_m, "distance", plan.display)
    return _shapes(plan.search.area, "search", f"search limit, {radius} from the drop")


def _names(plan: Plan) -> list[Feature]:
    with_sites = {site.water_id for site in plan.sites}
    named = [w for w in plan.waters if w.name]
    named.sort(key=lambda w: (w.id not in with_sites, -shapes.size(w.geometry)))
    found = [_label(w.geometry, "word water-word", w.name) for w in named[:LABELLED_WATERS]]
    found += [_label(a.geometry, "word avoid-word", a.name) for a in plan.avoid if a.name and a.geometry is not None]
    found += [
        {
            "k": "word",
            "c": "word spot",
            "at": shapes.place(summit.lat, shapes.beside(summit.lon, plan)),
            "t": show(summit.elevation_m, "height", plan.display, unit=False),
        }
        for summit in plan.terrain.summits
    ]
    return found


def _places(plan: Plan) -> list[Feature]:
    found = []
    for d in plan.drops:
        if d.lat is not None and d.lon is not None:
            share = f", {show_share(d.share)} of the loads" if len(plan.drops) > 1 else ""
            found.append(
                _mark(
                    (d.lat, shapes.beside(d.lon, plan)), "drop", signs.drop() + _name(d.name), f"drop: {d.name}{share}"
                )
            )
    if plan.base is not None:
        at = (plan.base.lat, shapes.beside(plan.base.lon, plan))
        found.append(_mark(at, "base", signs.base() + _name("Helibase"), "helibase, where fuel is taken"))
    return found


def _name(text: str) -> str:
    return tag("span", text, class_="place-name")


def _mark(at: Sequence[float], class_: str, html: str, words: str) -> Feature:
    return {"k": "mark", "c": class_, "at": [round(v, 6) for v in at], "h": html, "t": words}


def _site(site: Site, plan: Plan) -> dict[str, Any]:
    word = short(site.refused[0].code) if site.refused else None
    rate = "" if site.sortie is None else f", {show(site.sortie.litres_per_hour, 'volume', plan.display)} an hour"
    if site.rank is None:
        words = f"{site.name}: unsuitable" + (f", {word}" if word else "")
    else:
        words = f"{site.rank}. {site.name}{rate}"
    return {
        "id": site.id,
        "at": [site.lat, shapes.beside(site.lon, plan)],
        "rank": site.rank,
        "water": site.water_id,
        "h": signs.site(site.rank, word),
        "t": words,
    }


def leg_words(leg: Leg) -> str:
    """Say which leg it is."""
    return {"loaded": f"loaded, to {leg.drop}", "empty": f"empty, from {leg.drop}", "ferry": "ferry"}[leg.leg]


def _leg(leg: Leg, plan: Plan) -> dict[str, Any]:
    display = plan.display
    fine_m = max(1.0, min(8.0, plan.ground.cell_m / 2))
    entry: dict[str, Any] = {
        "leg": leg.leg,
        "g": shapes.thinned(leg.path, fine_m),
        "t": f"{leg_words(leg)}: {show(leg.length_m, 'distance', display)}, {show_time(leg.seconds)}",
        "heads": [_head(leg, share) for share in (0.3, 0.7)] if leg.length_m > 0 else [],
        "marks": [
            _mark((w.lat, shapes.beside(w.lon, plan)), "crossing", signs.crossing(), _crossing(w, plan))
            for w in leg.wires_crossed
        ],
    }
    if leg.leg == "loaded" and any(d.name == leg.drop and d.lat is None for d in plan.drops):
        lon, lat, _ = leg.path[-1]  # the point of a line that this site serves best
        name = leg.drop or ""
        entry["marks"].append(_mark((lat, lon), "drop", signs.drop() + _name(name), f"drop: {name}"))
    if leg.leg != "ferry":
        entry["probe"] = probe(leg, display)
    return entry


def _crossing(wire: WireCrossed, plan: Plan) -> str:
    assumed = " (height assumed)" if wire.height_assumed else ""
    return (
        f"{wire.name}: top {altitude(wire.top_m, plan.display)}{assumed}, "
        f"bucket {show(wire.clearance_m, 'height', plan.display)} above it, crossed at {wire.angle_deg:.0f}°"
    )


def _head(leg: Leg, share: float) -> Feature:
    """Give an arrow head at a share of a leg, along its drawn line."""
    at = share * leg.length_m
    i = next((n for n, along in enumerate(leg.along_m) if along >= at and n), len(leg.path) - 1)
    (west, south, _), (east, north, _) = leg.path[i - 1], leg.path[i]
    run = leg.along_m[i] - leg.along_m[i - 1]
    part = (at - leg.along_m[i - 1]) / run if run > 0 else 1.0
    course = math.degrees(math.atan2((east - west) * math.cos(math.radians(north)), north - south)) % 360
    place = (south + part * (north - south), west + part * (east - west))
    return _mark(place, "heading", signs.heading(course), "")


def _view(plan: Plan, bounds: Bounds) -> list[list[float]]:
    """Give the frame to open with: the sites, drops, helibase and their legs, with some room."""
    places = [(site.lat, shapes.beside(site.lon, plan)) for site in plan.sites]
    places += [(leg.path[-1][1], leg.path[-1][0]) for site in plan.sites for leg in site.routes if leg.leg == "loaded"]
    places += [(d.lat, shapes.beside(d.lon, plan)) for d in plan.drops if d.lat is not None and d.lon is not None]
    places += [(plan.base.lat, shapes.beside(plan.base.lon, plan))] if plan.base is not None else []
    south, west, north, east = bounds
    if not places:
        return [[south, west], [north, east]]
    lat, lon = zip(*places, strict=True)
    room = max(0.012, 0.08 * (max(lat) - min(lat)))
    wide = max(room / math.cos(math.radians(lat[0])), 0.13 * (max(lon) - min(lon)))  # names stand to the right
    return [shapes.place(min(lat) - room, min(lon) - wide), shapes.place(max(lat) + room, max(lon) + wide)]


def _graticule(view: list[list[float]], bounds: Bounds) -> dict[str, list[dict[str, Any]]]:
    """Lines of round minutes over the known ground, with the words that stand on the frame."""
    span = max(view[1][0] - view[0][0], (view[1][1] - view[0][1]) / 1.6)
    step = next((m for m in GRATICULE_MINUTES if span * 60 / m <= 7), GRATICULE_MINUTES[-1])
    south, west, north, east = bounds

    def lines(low: float, high: float, letters: str, width: int) -> list[dict[str, Any]]:
        found = []
        for i in range(math.ceil(low * 60 / step), math.floor(high * 60 / step) + 1):
            signed = (i * step + 10_800) % 21_600 - 10_800  # past 180 degrees the other half begins
            minutes = abs(signed)
            letter = letters[0] if signed >= 0 else letters[1]
            left = minutes % 60
            shown = f"{left:02.0f}" if step >= 1 else f"{left:04.1f}"
            text = f"{letter} {int(minutes // 60):0{width}d}° {shown}'"
            found.append({"v": round(i * step / 60, 7), "t": text})
        return found

    return {"lat": lines(south, north, "NS", 2), "lon": lines(west, east, "EW", 3)}
