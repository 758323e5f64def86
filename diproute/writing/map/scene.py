"""What the map draws, packed: each thing with its place and its words."""

from __future__ import annotations

import math
from typing import Any, Final

from diproute.document.geometry import Geometry
from diproute.document.ground import Area, Bounds, LeftOut, Obstacle
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import show, show_share
from diproute.wording.short import short
from diproute.writing.map import shapes
from diproute.writing.map.packing import Texts, nested
from diproute.writing.reader import told

MOST_OBSTACLES: Final = 800
LABELLED_OBSTACLES: Final = 120
LABELLED_WATERS: Final = 16
TALL_M: Final = 60.0  # its sign stands higher
GRATICULE_MINUTES: Final = (0.5, 1, 2, 5, 10, 20, 30, 60)


def build(plan: Plan, texts: Texts) -> dict[str, Any]:
    """Collect everything that the map draws besides the sites.

    Parameters
    ----------
    plan
        The plan.
    texts
        The page's table of texts.

    Returns
    -------
    dict
        JSON-ready: ``view``, ``layers`` of shapes ``[kind, geometry, text, …]``, ``obstacles``, ``words`` in the order
        in which they take their room, ``places``, ``blocked`` by site, ``graticule``.
    """
    bounds = plan.terrain.bounds
    view = _view(plan, bounds)
    wires = [o for o in plan.obstacles if o.wire]
    return {
        "view": view,
        "bounds": [[bounds[0], bounds[1]], [bounds[2], bounds[3]]],
        "layers": {
            "water": [shape for w in plan.waters for shape in _shapes(w.geometry, texts(w.name))],
            "left-out": [shape for w in plan.left_out for shape in _shapes(w.geometry, texts(_left_out(w, plan)))],
            "avoid": [shape for area in plan.avoid for shape in _avoid(area, plan, texts)],
            "search": _shapes(plan.search.area, texts(_search(plan))),
            "wires": [shape for o in wires for shape in _shapes(o.geometry, texts(height_words(plan, o)))],
            "things": [shape for shape in _standing(plan, texts) if shape[0] != "mark"],
        },
        "obstacles": [shape[1:] for shape in _standing(plan, texts) if shape[0] == "mark"],
        "words": _words(plan, texts),
        "places": _places(plan, texts),
        "blocked": {str(i): _blocked(s, plan, texts) for i, s in enumerate(plan.sites) if s.blocked is not None},
        "graticule": _graticule(view, bounds),
    }


def _shapes(geometry: Geometry | None, text: int) -> list[list[Any]]:
    if geometry is None:
        return []
    return [[kind, nested(g), text] for kind, g in shapes.pieces(geometry)]


def _avoid(area: Area, plan: Plan, texts: Texts) -> list[list[Any]]:
    words = f"{area.name}: {told(area, plan)} ({'closed to a load' if area.hard else 'at a price'})"
    return [[*shape, int(area.hard)] for shape in _shapes(area.geometry, texts(words))]


def _left_out(water: LeftOut, plan: Plan) -> str:
    why = told(water, plan)
    return f"{water.name}: {why}" if water.name else why


def _search(plan: Plan) -> str:
    return f"search limit, {show(plan.search.radius_m, 'distance', plan.display)} from the drop"


def height_words(plan: Plan, obstacle: Obstacle) -> str:
    """Name an obstacle and its height above ground."""
    assumed = ", height assumed" if obstacle.height_assumed else ""
    unsure = ", not verified" if obstacle.verified is False else ""
    return f"{obstacle.name}, {show(obstacle.height_m, 'height', plan.display)} AGL{assumed}{unsure}"


def _standing(plan: Plan, texts: Texts) -> list[list[Any]]:
    """Give what stands up and is no wire, the tallest first: kind, place, words, whether it is tall, its height."""
    standing = sorted((o for o in plan.obstacles if not o.wire), key=lambda o: -o.height_m)
    found = []
    for i, obstacle in enumerate(standing[:MOST_OBSTACLES]):
        high = f"({show(obstacle.height_m, 'height', plan.display, unit=False)})" if i < LABELLED_OBSTACLES else ""
        for shape in _shapes(obstacle.geometry, texts(height_words(plan, obstacle))):
            found.append([*shape, int(obstacle.height_m >= TALL_M), high])
    return found


def _blocked(site: Site, plan: Plan, texts: Texts) -> dict[str, Any]:
    """Give what stands in the way of an unsuitable site's route, and the place of its word below it."""
    assert site.blocked is not None
    words = next((told(f, plan) for f in site.refused if f.code.startswith("blocked-")), "in the way")
    return {"shapes": _shapes(site.blocked, texts(words)), "at": shapes.foot(site.blocked)}


def _words(plan: Plan, texts: Texts) -> list[list[Any]]:
    """Give the words that stand on the map: look, latitude, longitude, text."""
    with_sites = {site.water_id for site in plan.sites}
    named = [w for w in plan.waters if w.name]
    named.sort(key=lambda w: (w.id not in with_sites, -shapes.size(w.geometry)))
    found: list[list[Any]] = [
        ["avoid", *shapes.inside(a.geometry), texts(a.name)] for a in plan.avoid if a.name and a.geometry is not None
    ]
    found += [["water", *shapes.inside(w.geometry), texts(w.name)] for w in named[:LABELLED_WATERS]]
    found += [
        ["left-out", *shapes.inside(w.geometry), texts(short(w.code))] for w in plan.left_out if w.geometry is not None
    ]
    found += [
        ["spot", *shapes.place(summit.lat, shapes.beside(summit.lon, plan)),
         texts(show(summit.elevation_m, "height", plan.display, unit=False))]
        for summit in plan.terrain.summits
    ]  # fmt: skip
    return found


def _places(plan: Plan, texts: Texts) -> list[list[Any]]:
    """Give drops and helibase: look, latitude, longitude, name, words."""
    found: list[list[Any]] = []
    for d in plan.drops:
        if d.lat is not None and d.lon is not None:
            share = f", {show_share(d.share)} of the loads" if len(plan.drops) > 1 else ""
            found.append(["drop", d.lat, shapes.beside(d.lon, plan), texts(d.name), texts(f"drop: {d.name}{share}")])
    if plan.base is not None:
        lon = shapes.beside(plan.base.lon, plan)
        found.append(["base", plan.base.lat, lon, texts("Helibase"), texts("helibase, where fuel is taken")])
    return found


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
