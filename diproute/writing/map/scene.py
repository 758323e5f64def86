"""What the map draws, as plain data: each thing with its place, its class and its words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from diproute.physics.geodesy import LocalFrame
from diproute.records import Assessed, AssessedSite, AvoidArea, Crossing, Leg, Obstacle
from diproute.units import show, show_course, show_share, show_time
from diproute.writing.drawings.profile import probe
from diproute.writing.map import signs
from diproute.writing.map.markup import tag
from diproute.writing.map.relief import Bounds, Relief

Feature = dict[str, Any]
MOST_OBSTACLES = 800
LABELLED_OBSTACLES = 120
LABELLED_WATERS = 16
SUMMITS = 12
GRATICULE_MINUTES = (0.5, 1, 2, 5, 10, 20, 30, 60)


class Places:
    """From the working frame to latitude and longitude, as Leaflet takes them."""

    def __init__(self, plan: Assessed) -> None:
        self.frame = LocalFrame(plan.ground.grid.lat_deg, plan.ground.grid.lon_deg)
        self.fine_m = max(1.0, min(8.0, plan.ground.grid.cell_m / 2))

    def line(self, xy: npt.ArrayLike) -> list[list[float]]:
        """Latitude and longitude of a row of points, to a metre."""
        points = np.asarray(xy, dtype=np.float64)
        lon, lat = self.frame.to_lonlat(points[:, 0], points[:, 1])
        rounded: list[list[float]] = np.round(np.column_stack([lat, lon]), 5).tolist()
        return rounded

    def pieces(self, geometry: Any) -> Iterator[tuple[str, Any]]:
        """Give polygons as ``("area", rings)``, lines as ``("line", points)``, points as ``("mark", place)``."""
        for part in getattr(geometry, "geoms", [geometry]):
            if part.is_empty:
                continue
            if part.geom_type == "Point":
                yield "mark", self.line([part.coords[0][:2]])[0]
                continue
            if part.geom_type in ("MultiPolygon", "MultiLineString", "GeometryCollection", "MultiPoint"):
                yield from self.pieces(part)
                continue
            thin = part.simplify(self.fine_m)
            if thin.geom_type == "Polygon":
                yield "area", [self.line(np.asarray(r.coords)[:, :2]) for r in (thin.exterior, *thin.interiors)]
            else:
                yield "line", self.line(np.asarray(thin.coords)[:, :2])


def build(plan: Assessed, relief: Relief) -> dict[str, Any]:
    """Collect everything that the page's script draws.

    Parameters
    ----------
    plan
        The plan.
    relief
        The picture of the ground, for its bounds and heights.

    Returns
    -------
    dict
        JSON-ready: ``layers`` of features, ``legs`` by site, ``sites``, ``view``, ``heights``, ``graticule``.
    """
    places = Places(plan)
    view = _view(plan, relief.bounds)
    layers: dict[str, list[Feature]] = {
        "water": [f for w in plan.waters for f in _shapes(places, w.polygon, "water", w.name)],
        "left-out": _left_out(plan, places),
        "avoid": [f for a in plan.avoid for f in _avoid(a, places)],
        "search": _search(plan, places),
        "wires": [f for o in plan.ground.obstacles if o.is_wire for f in _wire(plan, places, o)],
        "obstacles": _obstacles(plan, places),
        "names": _names(plan, places),
        "graticule": [],
        "places": _places(plan),
    }
    return {
        "view": view,
        "layers": layers,
        "sites": [_site(s, plan) for s in plan.sites],
        "blocked": {s.id: _blocked(s, places) for s in plan.sites if s.blocked is not None},
        "legs": {s.id: _legs(s, plan, places) for s in plan.sites if s.route is not None},
        "heights": relief.heights,
        "heightUnit": show(0.0, "height", plan.incident.display).split()[-1],
        "graticule": _graticule(view, relief.bounds),
    }


def _shapes(places: Places, geometry: Any, class_: str, words: str) -> list[Feature]:
    return [{"k": kind, "c": class_, "g": g, "t": words} for kind, g in places.pieces(geometry)]


def _avoid(area: AvoidArea, places: Places) -> list[Feature]:
    words = f"{area.name}: {area.because} ({'closed to a load' if area.hard else 'at a price'})"
    return _shapes(places, area.geometry, "avoid hard" if area.hard else "avoid soft", words)


def _blocked(site: AssessedSite, places: Places) -> list[Feature]:
    """Give what stands in the way of a refused site's route, with its label."""
    if site.blocked.is_empty:
        return []
    words = next((f.because for f in site.refused if f.code.startswith("blocked")), "in the way")
    found = [
        {"k": kind, "c": "blocked" if kind == "area" else "blocked stretch", "g": g, "t": words}
        for kind, g in places.pieces(site.blocked)
    ]
    west, south, east, _ = site.blocked.bounds  # the word stands below, clear of the disc
    at = places.line([((west + east) / 2, south)])[0]
    return [*found, {"k": "word", "c": "word blocked-word", "at": at, "t": "in the way"}]


def _label(places: Places, geometry: Any, class_: str, words: str) -> Feature:
    at = geometry.representative_point() if geometry.geom_type != "Point" else geometry
    return {"k": "word", "c": class_, "at": places.line([(at.x, at.y)])[0], "t": words}


def _left_out(plan: Assessed, places: Places) -> list[Feature]:
    found = []
    for water in plan.left_out:
        words = f"{water.name}: {water.because}" if water.name else water.because
        found += _shapes(places, water.geometry, "left-out", words)
        found.append(_label(places, water.geometry, "word left-out-word", _short(water.because)))
    return found


def _short(because: str, most: int = 26) -> str:
    """Give the first words of a reason, for the map."""
    head = because.split(";")[0].split("(")[0].split(",")[0].split(":")[0].strip()
    return head if len(head) <= most else head[: most - 1].rsplit(" ", 1)[0] + " …"


def _height_words(plan: Assessed, obstacle: Obstacle) -> str:
    assumed = ", height assumed" if obstacle.height_assumed else ""
    doubt = ", not verified" if obstacle.verified is False else ""
    return f"{obstacle.name}, {show(obstacle.height_m, 'height', plan.incident.display)} AGL{assumed}{doubt}"


def _wire(plan: Assessed, places: Places, wire: Obstacle) -> list[Feature]:
    return _shapes(places, wire.geometry, "wire", _height_words(plan, wire))


def _obstacles(plan: Assessed, places: Places) -> list[Feature]:
    standing = sorted((o for o in plan.ground.obstacles if not o.is_wire), key=lambda o: -o.height_m)
    found = []
    for i, obstacle in enumerate(standing[:MOST_OBSTACLES]):
        words = _height_words(plan, obstacle)
        for kind, g in places.pieces(obstacle.geometry):
            if kind != "mark":
                found.append({"k": kind, "c": "thing", "g": g, "t": words})
                continue
            high = show(obstacle.height_m, "height", plan.incident.display, unit=False)
            html = signs.obstacle(tall=obstacle.height_m >= 60) + (
                f'<span class="agl">({high})</span>' if i < LABELLED_OBSTACLES else ""
            )
            found.append({"k": "mark", "c": "obstacle", "at": g, "h": html, "t": words})
    return found


def _search(plan: Assessed, places: Places) -> list[Feature]:
    from shapely import Point, union_all

    at = [(d.lon_deg, d.lat_deg) for d in plan.incident.drops if d.lat_deg is not None and d.lon_deg is not None]
    rings = [Point(*places.frame.to_xy(*place)).buffer(plan.incident.search.radius_m, 48) for place in at]
    radius = show(plan.incident.search.radius_m, "distance", plan.incident.display)
    return _shapes(places, union_all(rings), "search", f"search limit, {radius} from the drop") if rings else []


def _names(plan: Assessed, places: Places) -> list[Feature]:
    with_sites = {s.point.water.id for s in plan.sites}
    named = [w for w in plan.waters if w.name]
    named.sort(key=lambda w: (w.id not in with_sites, -w.polygon.area))
    found = [_label(places, w.polygon, "word water-word", w.name) for w in named[:LABELLED_WATERS]]
    found += [_label(places, a.geometry, "word avoid-word", a.name) for a in plan.avoid if a.name]
    return found + _summits(plan, places)


def _summits(plan: Assessed, places: Places) -> list[Feature]:
    """Find the highest places, well apart, for spot heights."""
    ground, grid = plan.ground.ground, plan.ground.grid
    step = max(1, max(ground.shape) // 300)
    coarse = np.where(np.isfinite(ground), ground, -np.inf)[::step, ::step].astype(np.float64)
    apart = max(2.0, max(coarse.shape) / 9)
    found: list[Feature] = []
    rows, cols = np.indices(coarse.shape)
    for x, y in _taken(plan, places):
        r, c = (grid.top_m - y) / grid.cell_m / step, (x - grid.left_m) / grid.cell_m / step
        coarse[np.hypot(rows - r, cols - c) < apart / 3] = -np.inf
    while len(found) < SUMMITS:
        r, c = (int(i) for i in np.unravel_index(int(np.argmax(coarse)), coarse.shape))
        if not np.isfinite(coarse[r, c]):
            break
        inside = 0 < r < coarse.shape[0] - 1 and 0 < c < coarse.shape[1] - 1
        x, y = grid.left_m + (c * step + 0.5) * grid.cell_m, grid.top_m - (r * step + 0.5) * grid.cell_m
        if inside:
            words = show(float(coarse[r, c]), "height", plan.incident.display, unit=False)
            found.append({"k": "word", "c": "word spot", "at": places.line([(x, y)])[0], "t": words})
        coarse[np.hypot(rows - r, cols - c) < apart] = -np.inf
    return found


def _taken(plan: Assessed, places: Places) -> list[tuple[float, float]]:
    """Where other signs and words stand already."""
    at = [(s.point.x_m, s.point.y_m) for s in plan.sites]
    at += [(o.geometry.x, o.geometry.y) for o in plan.ground.obstacles if o.geometry.geom_type == "Point"]
    for place in (*plan.incident.drops, plan.incident.base):
        if place is not None and place.lat_deg is not None and place.lon_deg is not None:
            x, y = places.frame.to_xy(place.lon_deg, place.lat_deg)
            at.append((float(x), float(y)))
    return at


def _places(plan: Assessed) -> list[Feature]:
    found = []
    for d in plan.incident.drops:
        if d.lat_deg is not None:
            share = f", {show_share(d.share)} of the loads" if len(plan.incident.drops) > 1 else ""
            found.append(_mark((d.lat_deg, d.lon_deg), "drop", signs.drop() + _name(d.name), f"drop: {d.name}{share}"))
    if plan.incident.base is not None:
        at = (plan.incident.base.lat_deg, plan.incident.base.lon_deg)
        found.append(_mark(at, "base", signs.base() + _name("Base"), "base, where fuel is taken"))
    return found


def _name(text: str) -> str:
    return tag("span", text, class_="place-name")


def _mark(at: Sequence[Any], class_: str, html: str, words: str) -> Feature:
    return {"k": "mark", "c": class_, "at": [round(float(v), 6) for v in at], "h": html, "t": words}


def _site(site: AssessedSite, plan: Assessed) -> dict[str, Any]:
    refused = site.rank is None
    word = _short(site.refused[0].code.replace("-", " ")) if refused and site.refused else None
    rate = (
        "" if site.sortie is None else f", {show(site.sortie.litres_per_hour, 'volume', plan.incident.display)} an hour"
    )
    words = f"{site.name}: refused, {word}" if refused else f"{site.rank}. {site.name}{rate}"
    return {
        "id": site.id,
        "at": [round(site.point.lat_deg, 6), round(site.point.lon_deg, 6)],
        "rank": site.rank,
        "water": site.point.water.id,
        "h": signs.site(site.rank, word),
        "t": words,
    }


def _legs(site: AssessedSite, plan: Assessed, places: Places) -> list[dict[str, Any]]:
    assert site.route is not None
    flown: list[Leg | None] = [*site.route.loaded, *site.route.empty, site.route.from_base, site.route.to_base]
    return [_leg(leg, plan, places) for leg in flown if leg is not None]


def _leg(leg: Leg, plan: Assessed, places: Places) -> dict[str, Any]:
    from shapely import LineString

    display = plan.incident.display
    xy = np.column_stack([leg.x_m, leg.y_m])
    thin = np.asarray(LineString(xy).simplify(places.fine_m).coords) if leg.length_m > 0 else xy
    way = {"loaded": f"loaded, to {leg.drop}", "empty": f"empty, from {leg.drop}", "ferry": "ferry"}[leg.leg]
    entry: dict[str, Any] = {
        "leg": leg.leg,
        "g": places.line(thin),
        "t": f"{way}: {show(leg.length_m, 'distance', display)}, {show_time(leg.seconds)}",
        "heads": [_head(leg, share) for share in (0.3, 0.7)] if leg.length_m > 0 else [],
        "marks": [
            _mark((w.lat_deg, w.lon_deg), "crossing", signs.crossing(), _crossing(w, plan)) for w in leg.crossings
        ],
    }
    if leg.leg == "loaded" and any(d.name == leg.drop and d.lat_deg is None for d in plan.incident.drops):
        end = (leg.lat_deg[-1], leg.lon_deg[-1])  # the point of a line that this site serves best
        entry["marks"].append(_mark(end, "drop", signs.drop() + _name(leg.drop), f"drop: {leg.drop}"))
    if leg.leg != "ferry":
        entry["probe"] = probe(leg, display)
    return entry


def _crossing(wire: Crossing, plan: Assessed) -> str:
    display = plan.incident.display
    assumed = " (height assumed)" if wire.height_assumed else ""
    return (
        f"{wire.name}: top {show(wire.top_m, 'height', display)} AMSL{assumed}, "
        f"bucket {show(wire.clearance_m, 'height', display)} above it, crossed at {wire.angle_deg:.0f}°"
    )


def _head(leg: Leg, share: float) -> Feature:
    i = int(np.searchsorted(leg.distance_m, share * leg.length_m))
    i = min(max(i, 1), len(leg.distance_m) - 1)
    j = max(0, i - 3)
    east = (leg.lon_deg[i] - leg.lon_deg[j]) * math.cos(math.radians(float(leg.lat_deg[i])))
    course = math.degrees(math.atan2(east, leg.lat_deg[i] - leg.lat_deg[j])) % 360
    return _mark(
        (leg.lat_deg[i], leg.lon_deg[i]), "heading", signs.heading(course), f"course {show_course(course)} true"
    )


def _view(plan: Assessed, bounds: Bounds) -> list[list[float]]:
    """Give the frame to open with: the sites, drops, base and their legs, with some room."""
    lat, lon = [], []
    for site in plan.sites:
        lat.append(site.point.lat_deg)
        lon.append(site.point.lon_deg)
        for leg in site.route.loaded if site.route is not None else ():
            lat.append(float(leg.lat_deg[-1]))
            lon.append(float(leg.lon_deg[-1]))
    for place in (*plan.incident.drops, plan.incident.base):
        if place is not None and place.lat_deg is not None and place.lon_deg is not None:
            lat.append(place.lat_deg)
            lon.append(place.lon_deg)
    if not lat:
        return [list(bounds[0]), list(bounds[1])]
    room = max(0.012, 0.08 * (max(lat) - min(lat)))
    wide = max(room / math.cos(math.radians(lat[0])), 0.13 * (max(lon) - min(lon)))  # names stand to the right
    return [
        [round(min(lat) - room, 5), round(min(lon) - wide, 5)],
        [round(max(lat) + room, 5), round(max(lon) + wide, 5)],
    ]


def _graticule(view: list[list[float]], bounds: Bounds) -> dict[str, list[dict[str, Any]]]:
    """Lines of round minutes over the known ground, with the words that stand on the frame."""
    span = max(view[1][0] - view[0][0], (view[1][1] - view[0][1]) / 1.6)
    step = next((m for m in GRATICULE_MINUTES if span * 60 / m <= 7), GRATICULE_MINUTES[-1])
    (south, west), (north, east) = bounds

    def lines(low: float, high: float, letters: str, width: int) -> list[dict[str, Any]]:
        found = []
        for i in range(math.ceil(low * 60 / step), math.floor(high * 60 / step) + 1):
            minutes = abs(i * step)
            letter = letters[0] if i >= 0 else letters[1]
            left = minutes % 60
            shown = f"{left:02.0f}" if step >= 1 else f"{left:04.1f}"
            text = f"{letter} {int(minutes // 60):0{width}d}° {shown}'"
            found.append({"v": round(i * step / 60, 7), "t": text})
        return found

    return {"lat": lines(south, north, "NS", 2), "lon": lines(west, east, "EW", 3)}
