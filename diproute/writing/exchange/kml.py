"""KML 2.2 (OGC 07-147r2) for a globe or a tablet: sites, legs as flown at their heights, what can hurt, waters.

Suitable sites, the first one's legs, obstacles and areas are switched on; all else is there to be switched on. No
picture is fetched from anywhere, and nothing carries a time span, for what can hurt would vanish with a turn of a time
slider: the plan's time is told in words and in the data of the whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final
from xml.etree import ElementTree as Tree

from diproute.document.frames import legs_of, shape
from diproute.document.plan import Plan
from diproute.document.seam import cut, home
from diproute.document.site import Site, Way
from diproute.errors import plain
from diproute.physics.coordinates import format_ddm, format_mgrs
from diproute.units import show, show_course, show_share, show_time, show_up
from diproute.wording import label
from diproute.writing.cautions import CAUTIONS
from diproute.writing.drawings.palette import ROLES
from diproute.writing.exchange.about import about, moment
from diproute.writing.reader import altitude, sentence

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

NAMESPACE: Final = "http://www.opengis.net/kml/2.2"
_HOLLOW: Final = "00ffffff"
_NO_TAGS: Final = str.maketrans("<>", "‹›")

Lines = Sequence[str]


def kml(plan: Plan) -> bytes:
    """Give the plan as KML."""
    root = Tree.Element("kml", xmlns=NAMESPACE)
    whole = _add(root, "Document")
    _add(whole, "name", plan.title)
    _add(whole, "open", "1")
    _describe(whole, [about(plan), *(f"{head} {text}" for head, text in CAUTIONS[1:])])
    _styles(whole)
    _data(whole, {"run": plan.run, "valid_at": moment(plan), "invented": str(plan.invented).lower(),
                  "vertical_datum": plan.ground.vertical_datum})  # fmt: skip
    suitable = _folder(whole, "Dip sites", shown=True)
    for site in plan.suitable:
        _site(suitable, site, plan)
    _legs(whole, plan)
    _places(whole, plan)
    _obstacles(whole, plan)
    _areas(whole, plan)
    refused = _folder(whole, "Unsuitable dip sites", shown=False)
    for site in plan.sites:
        if not site.suitable:
            _site(refused, site, plan)
    _waters(whole, plan)
    text = Tree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}'.encode()


def _add(parent: Tree.Element, tag: str, text: str | None = None, /, **attributes: str) -> Tree.Element:
    found = Tree.SubElement(parent, tag, attributes)
    if text is not None:
        found.text = plain(text)
    return found


def _styles(whole: Tree.Element) -> None:
    ink, hazard, shore = (ROLES[name].light for name in ("ink", "hazard", "shore"))
    for name, icon, stroke, width, fill in (
        ("suitable", _paint(shore), None, 0.0, None),
        ("unsuitable", _paint(hazard), None, 0.0, None),
        ("place", _paint(ink), None, 0.0, None),
        ("obstacle", _paint(hazard), _paint(hazard), 3.0, _HOLLOW),
        ("loaded", None, _paint(ink), 3.0, None),
        ("empty", None, _paint(ink, 0xA0), 2.0, None),
        ("ferry", None, _paint(ink, 0x80), 1.5, None),
        ("closed", None, _paint(hazard), 2.0, _paint(hazard, 0x50)),
        ("priced", None, _paint(hazard), 1.0, _HOLLOW),
        ("water", None, _paint(shore), 1.5, _paint(shore, 0x60)),
        ("left-out", None, _paint(shore), 1.0, _HOLLOW),
    ):
        style = _add(whole, "Style", id=name)
        if icon is not None:
            _add(_add(style, "IconStyle"), "color", icon)
        if stroke is not None:
            line = _add(style, "LineStyle")
            _add(line, "color", stroke)
            _add(line, "width", f"{width:g}")
        if fill is not None:
            _add(_add(style, "PolyStyle"), "color", fill)


def _paint(colour: str, opacity: int = 0xFF) -> str:
    """``#rrggbb`` as KML has it: ``aabbggrr``."""
    return f"{opacity:02x}{colour[5:7]}{colour[3:5]}{colour[1:3]}".lower()


def _folder(parent: Tree.Element, name: str, *, shown: bool) -> Tree.Element:
    folder = _add(parent, "Folder")
    _add(folder, "name", name)
    _add(folder, "visibility", str(int(shown)))
    return folder


def _mark(
    folder: Tree.Element, name: str, style: str, lines: Lines, *, shown: bool = True, data: dict[str, Any] | None = None
) -> Tree.Element:
    mark = _add(folder, "Placemark")
    _add(mark, "name", name)
    _add(mark, "visibility", str(int(shown)))
    _describe(mark, lines)
    _add(mark, "styleUrl", f"#{style}")
    _data(mark, data or {})
    return mark


def _describe(parent: Tree.Element, lines: Lines) -> None:
    """Add a description: programs take it for HTML, so no text from a file may hold a tag."""
    if lines:
        _add(parent, "description").text = "\n".join(plain(line).translate(_NO_TAGS) for line in lines)


def _data(parent: Tree.Element, data: Mapping[str, Any]) -> None:
    known = {key: value for key, value in data.items() if value is not None}
    if known:
        extended = _add(parent, "ExtendedData")
        for key, value in known.items():
            _add(_add(extended, "Data", name=key), "value", str(value))


def _site(folder: Tree.Element, site: Site, plan: Plan) -> None:
    display = plan.display
    east = home(site.lon)
    lines = [
        f"{format_ddm(site.lat, east)}; MGRS {format_mgrs(site.lat, east)} (WGS 84)",
        f"water at {altitude(site.elevation_m, display)}, "
        f"density altitude {show(site.density_altitude_m, 'height', display)}",
    ]
    data: dict[str, Any] = {"site": site.id, "rank": site.rank, "elevation_m_amsl": site.elevation_m}
    if site.suitable:
        lines += _flown(site, plan)
        data["litres_per_hour"] = None if site.sortie is None else site.sortie.litres_per_hour
    reasons = site.refused if not site.suitable else site.cautions
    if reasons:
        lines.append("Refused because:" if not site.suitable else "Cautions:")
        lines += [sentence(found, plan) for found in reasons]
    name = f"{site.rank} {site.name}" if site.suitable else f"{site.name} (unsuitable)"
    style = "suitable" if site.suitable else "unsuitable"
    mark = _mark(folder, name, style, lines, shown=site.suitable, data=data)
    _add(_add(mark, "Point"), "coordinates", _pairs([(east, site.lat)]))


def _flown(site: Site, plan: Plan) -> Lines:
    display, lines = plan.display, []
    if site.sortie is not None and site.cycle is not None:
        rate = show(site.sortie.litres_per_hour, "volume", display)
        lines.append(f"{rate} an hour; cycle {show_time(site.cycle.seconds)}")
    if site.load is not None:
        fuel, margin = (show(value, "mass", display) for value in (site.load.fuel_kg, site.load.margin_kg))
        lines.append(f"bucket setting {show_share(site.load.fill)}, fuel {fuel}, margin {margin}")
    carried = site.line.carried_m
    lines.append("bucket on the belly hook" if carried == 0 else f"line {show(carried, 'line', display)}")
    for way, key in ((site.arrival, "arrival"), (site.departure, "departure")):
        if way is not None:
            lines.append(f"{label(key, display)} {_course(way)}, lift {show(way.lift_m, 'height', display)}")
    return lines


def _course(way: Way) -> str:
    return f"{show_course(way.course_magnetic_deg)} magnetic ({show_course(way.course_deg)} true)"


def _legs(whole: Tree.Element, plan: Plan) -> None:
    from shapely import LineString

    display = plan.display
    folder = _folder(whole, "Legs, at the heights flown", shown=True)
    folders: dict[str, Tree.Element] = {}
    for title, site, leg in legs_of(plan):
        shown = site is not None and site.rank == 1
        name = "Ferries" if site is None else f"{site.rank} {site.name}"
        within = folders.get(name)
        if within is None:
            within = folders[name] = _folder(folder, name, shown=shown)
        lines = [
            f"{show(leg.length_m, 'distance', display)}, {show_time(leg.seconds)}, "
            f"highest {show_up(leg.highest_m, 'height', display)} {label('altitude', display)}",
            *(sentence(found, plan) for found in leg.cautions),
        ]
        mark = _mark(within, title, leg.leg, lines, shown=shown, data={"leg": leg.id, "time_s": leg.seconds})
        _draw(mark, cut(LineString(leg.path)), absolute=True)


def _places(whole: Tree.Element, plan: Plan) -> None:
    folder = _folder(whole, "Drop and helibase", shown=True)
    places = [(drop.name, "drop", drop.lat, drop.lon) for drop in plan.drops]
    places += [("helibase", "helibase, where fuel is taken", plan.base.lat, plan.base.lon)] if plan.base else []
    for name, what, lat, lon in places:
        if lat is not None and lon is not None:
            east = home(lon)
            mark = _mark(folder, name, "place", [what, f"{format_ddm(lat, east)} (WGS 84)"])
            _add(_add(mark, "Point"), "coordinates", _pairs([(east, lat)]))


def _obstacles(whole: Tree.Element, plan: Plan) -> None:
    folder = _folder(whole, "Wires and obstacles", shown=True)
    for one in plan.obstacles:
        height = f"{show(one.height_m, 'height', plan.display)} above ground"
        lines = [
            f"{one.kind}, {height}{', height assumed' if one.height_assumed else ''}",
            *([f"top at {altitude(one.top_m, plan.display)}"] if one.top_m is not None else []),
            *(["not verified"] if one.verified is False else []),
        ]
        _draw(_mark(folder, one.name, "obstacle", lines), shape(one.geometry))


def _areas(whole: Tree.Element, plan: Plan) -> None:
    folder = _folder(whole, "Areas closed to a load, or crossed at a price", shown=True)
    for area in plan.avoid:
        ends = [
            f"{end} {altitude(value, plan.display)}"
            for end, value in (("floor", area.floor_m), ("ceiling", area.ceiling_m))
            if value is not None
        ]
        lines = ["closed to a load" if area.hard else "crossed at a price", *ends, sentence(area, plan)]
        _draw(_mark(folder, area.name, "closed" if area.hard else "priced", lines), shape(area.geometry))


def _waters(whole: Tree.Element, plan: Plan) -> None:
    folder = _folder(whole, "Waters", shown=False)
    for water in plan.waters:
        level = altitude(water.level_high_m, plan.display)
        lines = [
            f"{water.kind}{', salt' if water.salt else ''}, level {level}, "
            f"depth {show(water.depth_m, 'depth', plan.display)}",
            *(sentence(found, plan) for found in water.cautions),
        ]
        _draw(_mark(folder, water.name, "water", lines, shown=False), shape(water.geometry))
    for out in plan.left_out:
        lines = [f"Left out: {sentence(out, plan)}"]
        _draw(_mark(folder, out.name or "unnamed", "left-out", lines, shown=False), shape(out.geometry))


def _draw(mark: Tree.Element, found: BaseGeometry | None, *, absolute: bool = False) -> None:
    """Add a shape to a placemark; nothing where there is none."""
    import shapely

    if found is None or found.is_empty:
        return
    parts = shapely.get_parts([found])
    where = mark if len(parts) == 1 else _add(mark, "MultiGeometry")
    for part in parts:
        if part.geom_type == "Polygon":
            area = shapely.orient_polygons(part)
            drawn = _add(where, "Polygon")
            for name, ring in (("outerBoundaryIs", area.exterior), *(("innerBoundaryIs", r) for r in area.interiors)):
                _add(_add(_add(drawn, name), "LinearRing"), "coordinates", _pairs(ring.coords))
        else:
            drawn = _add(where, "Point" if part.geom_type == "Point" else "LineString")
            if absolute:
                _add(drawn, "altitudeMode", "absolute")
            _add(drawn, "coordinates", _pairs(part.coords))


def _pairs(coords: Any) -> str:
    return " ".join(",".join(_number(value, 6 if i < 2 else 1) for i, value in enumerate(at)) for at in coords)


def _number(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
