"""The map as a drawing: ground, waters, what can hurt, legs as flown, sites, grid."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from diproute.document.geometry import Geometry
from diproute.document.legs import Leg
from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.units import Display, show, unit_name
from diproute.wording.short import short
from diproute.writing.drawings import svg
from diproute.writing.sheet.frame import UNITS_MM, SheetFrame
from diproute.writing.sheet.labels import Labels
from diproute.writing.sheet.relief import relief

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

MOST_OBSTACLES: Final = 400
LEGS_SHOWN: Final = 3  # sites whose legs are drawn strongly
_GRID: Final = (100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000, 50_000)  # [m]
_GRID_MM: Final = 22.0  # at least, from line to line
_DISC: Final = 24.0
_DASH: Final = "14 9"


def picture(plan: Plan, frame: SheetFrame) -> str:
    """Draw the map of a plan in a frame.

    Parameters
    ----------
    plan
        The plan.
    frame
        The sheet's.

    Returns
    -------
    str
        SVG in tenths of a millimetre, colours by role.
    """
    from shapely import box

    wide, high = frame.width_mm * UNITS_MM, frame.height_mm * UNITS_MM
    edge = box(0, 0, wide, high)
    labels = Labels(wide, high)
    parts = [
        f'<image x="0" y="0" width="{svg.number(wide)}" height="{svg.number(high)}" '
        f'preserveAspectRatio="none" href="{relief(plan, frame)}"/>',
        *_waters(plan, frame, edge),
        *_areas(plan, frame, edge),
        *_grid(frame, labels),
        *_legs(plan, frame),
        *_wires(plan, frame, edge),
        *_obstacles(plan, frame, labels),
        *_places(plan, frame, labels),
        *_sites(plan, frame, labels),
    ]
    _names(plan, frame, edge, labels)
    label = f"Map of the dip sites, 1:{frame.scale:,}".replace(",", "\u202f")
    frame_line = svg.box(0, 0, wide, high, fill="none", stroke="ink", stroke_width=4)
    clip = f'<clipPath id="edge"><rect width="{svg.number(wide)}" height="{svg.number(high)}"/></clipPath>'
    inside = f'{clip}<g clip-path="url(#edge)">{"".join(parts)}{"".join(labels.drawn)}</g>'
    return svg.picture(wide, high, label, [inside, frame_line], kind="sheet")


def _drawn(geometry: Geometry | None, frame: SheetFrame, edge: BaseGeometry) -> Iterator[BaseGeometry]:
    """Give the parts of a shape that lie on the sheet, in its units."""
    import shapely

    if geometry is None:
        return
    given = shapely.geometry.shape(geometry.model_dump())
    laid = shapely.transform(given, lambda at: np.column_stack(frame.place(at[:, 0], at[:, 1])))
    whole = shapely.make_valid(laid) if laid.geom_type.endswith("Polygon") else laid
    for part in shapely.get_parts([shapely.intersection(whole, edge)]):
        for inner in shapely.get_parts([part]):
            if not inner.is_empty:
                yield inner


def _area(area: Any, **style: object) -> str:
    rings = "".join(svg.track(ring.coords, close=True) for ring in (area.exterior, *area.interiors))
    return f'<path d="{rings}" fill-rule="evenodd"{svg.attributes(**style)}/>'


def _waters(plan: Plan, frame: SheetFrame, edge: BaseGeometry) -> Iterator[str]:
    for water in plan.waters:
        for part in _drawn(water.geometry, frame, edge):
            if part.geom_type == "Polygon":
                yield _area(part, fill="water", stroke="shore", stroke_width=2.5)
    for out in plan.left_out:
        for part in _drawn(out.geometry, frame, edge):
            if part.geom_type == "Polygon":
                yield _area(part, fill="none", stroke="shore", stroke_width=2, stroke_dasharray="8 6")
            elif part.geom_type == "LineString":
                yield svg.path(part.coords, fill="none", stroke="shore", stroke_width=2, stroke_dasharray="8 6")


def _areas(plan: Plan, frame: SheetFrame, edge: BaseGeometry) -> Iterator[str]:
    for area in plan.avoid:
        for part in _drawn(area.geometry, frame, edge):
            if part.geom_type == "Polygon":
                yield _area(part, fill="none", stroke="hazard", stroke_width=3 if area.hard else 1.5)
                gap = 16.0 if area.hard else 45.0
                yield svg.hatch(part.exterior.coords, gap, stroke="hazard", stroke_width=3 if area.hard else 1.5)


def _grid(frame: SheetFrame, labels: Labels) -> Iterator[str]:
    """Draw the lines of the UTM grid, with their figures on the edge."""
    step = next((m for m in _GRID if m * 1000.0 / frame.scale >= _GRID_MM), _GRID[-1])
    wide, high = frame.metres
    kilometres = 0 if step % 1000 == 0 else 1
    for first, length, upright in ((frame.west_m, wide, True), (frame.north_m - high, high, False)):
        for i in range(math.ceil(first / step), math.floor((first + length) / step) + 1):
            at = i * step
            ground = ([at, at], [frame.north_m, frame.north_m - high]) if upright else (
                [frame.west_m, frame.west_m + wide], [at, at])  # fmt: skip
            x, y = frame.on_sheet(*ground)
            yield svg.line(x[0], y[0], x[1], y[1], stroke="line", stroke_width=0.8)
            text = f"{at / 1000:.{kilometres}f}"
            where = (x[0] + 4, 14.0, "right") if upright else (6.0, y[0] - 12, "right")
            labels.write(where[0], where[1], text, size=20, fill="quiet", off=2.0, sides=(where[2],))


def _legs(plan: Plan, frame: SheetFrame) -> Iterator[str]:
    """Draw the legs as flown: those of the first sites strongly, the loaded ones of the others faintly."""
    for site in reversed(plan.suitable):
        strong = site.rank is not None and site.rank <= LEGS_SHOWN
        for leg in site.routes:
            line = _track(leg, frame)
            if not strong and leg.leg == "loaded":
                yield svg.path(line, fill="none", stroke="quiet", stroke_width=2)
            elif strong:
                yield svg.path(line, fill="none", stroke="page", stroke_width=9, stroke_linejoin="round")
                dashed = None if leg.leg == "loaded" else _DASH
                yield svg.path(line, fill="none", stroke="ink", stroke_width=5, stroke_dasharray=dashed)


def _track(leg: Leg, frame: SheetFrame) -> Sequence[tuple[float, float]]:
    lon, lat, _ = (np.array(row) for row in zip(*leg.path, strict=True))
    x, y = frame.place(lon, lat)
    return list(zip(x.tolist(), y.tolist(), strict=True))


def _wires(plan: Plan, frame: SheetFrame, edge: BaseGeometry) -> Iterator[str]:
    """Draw wires with the cross strokes of a power line."""
    for wire in plan.obstacles:
        if not wire.wire:
            continue
        for part in _drawn(wire.geometry, frame, edge):
            if part.geom_type != "LineString":
                continue
            yield svg.path(part.coords, fill="none", stroke="page", stroke_width=9)
            yield svg.path(part.coords, fill="none", stroke="hazard", stroke_width=5)
            for far in np.arange(30.0, part.length, 60.0):
                at, after = part.interpolate(far), part.interpolate(far + 1.0)
                dx, dy = after.x - at.x, after.y - at.y
                size = math.hypot(dx, dy) or 1.0
                across = (-dy / size * 10, dx / size * 10)
                yield svg.line(at.x - across[0], at.y - across[1], at.x + across[0], at.y + across[1],
                               stroke="hazard", stroke_width=3)  # fmt: skip


def _sites(plan: Plan, frame: SheetFrame, labels: Labels) -> Iterator[str]:
    """Draw the sites, the best on top; one that would lie on a better one is counted beside that: ``+2``."""
    kept: list[tuple[Site, float, float, int]] = []
    for site in plan.suitable:
        x, y = _at(site.lon, site.lat, frame)
        near = next((i for i, (_, a, b, _) in enumerate(kept) if math.hypot(x - a, y - b) < 1.5 * _DISC), None)
        if near is not None:
            kept[near] = (*kept[near][:3], kept[near][3] + 1)
        elif _inside(x, y, frame):
            kept.append((site, x, y, 0))
    for site in plan.sites:
        x, y = _at(site.lon, site.lat, frame)
        if site.rank is None and _inside(x, y, frame):
            labels.keep_off(x, y, _DISC * 0.7)
            yield svg.disc(x, y, _DISC * 0.7, fill="page", stroke="hazard", stroke_width=6)
    for site, x, y, hidden in reversed(kept):
        labels.keep_off(x, y, _DISC)
        yield svg.disc(x, y, _DISC, fill="ink", stroke="page", stroke_width=3)
        yield svg.words(x, y + 10, str(site.rank), at="middle", fill="page", font_size=29, font_weight="600")
        if hidden:
            labels.write(x, y, f"+{hidden}", size=22, off=_DISC + 2)
    for site in plan.sites:
        _why(site, frame, labels)


def _why(site: Site, frame: SheetFrame, labels: Labels) -> None:
    """Write at a refused site in a word why."""
    if site.rank is None and site.refused:
        x, y = _at(site.lon, site.lat, frame)
        labels.write(x, y, short(site.refused[0].code), size=20, fill="warning", off=_DISC)


def _places(plan: Plan, frame: SheetFrame, labels: Labels) -> Iterator[str]:
    for drop in plan.drops:
        if drop.lat is not None and drop.lon is not None:
            x, y = _at(drop.lon, drop.lat, frame)
            yield svg.path(((x, y - 26), (x + 26, y), (x, y + 26), (x - 26, y)), close=True, fill="hazard",
                           stroke="page", stroke_width=4)  # fmt: skip
            labels.keep_off(x, y, 26)
            labels.write(x, y, f"Drop {drop.name}", size=26, off=32, font_weight="600")
    if plan.base is not None:
        x, y = _at(plan.base.lon, plan.base.lat, frame)
        yield svg.disc(x, y, 24, fill="page", stroke="ink", stroke_width=4)
        yield svg.words(x, y + 11, "H", at="middle", font_size=32, font_weight="600")
        labels.keep_off(x, y, 26)
        labels.write(x, y, "Helibase", size=26, off=32, font_weight="600")


def _obstacles(plan: Plan, frame: SheetFrame, labels: Labels) -> Iterator[str]:
    """Draw the tallest obstacles, each with its height above ground."""
    standing = sorted((o for o in plan.obstacles if not o.wire), key=lambda o: -o.height_m)
    for one in standing[:MOST_OBSTACLES]:
        if one.geometry is None or one.geometry.type != "Point":
            continue
        lon, lat = one.geometry.coordinates
        x, y = _at(lon, lat, frame)
        if not _inside(x, y, frame):
            continue
        legs = ((x - 12, y), (x, y - 32), (x + 12, y))
        yield svg.path(legs, fill="none", stroke="page", stroke_width=9)
        yield svg.path(legs, fill="none", stroke="hazard", stroke_width=4.5)
        yield svg.disc(x, y, 3.5, fill="hazard")
        labels.keep_off(x, y - 12, 16)
        height = show(one.height_m, "height", plan.display, unit=False)
        labels.write(x, y - 12, f"({height})", size=20, fill="warning", off=18)


def _names(plan: Plan, frame: SheetFrame, edge: BaseGeometry, labels: Labels) -> None:
    """Write the names of waters and areas, large ones first, and spot heights, where there is room."""
    named: list[tuple[str, Geometry | None, str]] = [(w.name, w.geometry, "deep") for w in plan.waters if w.name]
    named += [(area.name, area.geometry, "warning") for area in plan.avoid if area.name]
    found = []
    for name, geometry, fill in named:
        parts = [part for part in _drawn(geometry, frame, edge) if part.geom_type == "Polygon"]
        if parts:
            largest = max(parts, key=lambda part: float(part.area))
            found.append((largest.area, name, largest.representative_point(), fill))
    for area, name, at, fill in sorted(found, key=lambda one: -one[0]):
        size = 26.0 if area > 20_000 else 22.0
        inside = labels.write(at.x, at.y, name, size=size, fill=fill, font_style="italic")
        inside or labels.write(at.x, at.y, name, size=size, fill=fill, off=_DISC + 4, font_style="italic")
    for summit in plan.terrain.summits:
        x, y = _at(summit.lon, summit.lat, frame)
        if _inside(x, y, frame):
            labels.write(x, y, show(summit.elevation_m, "height", plan.display, unit=False), size=20, fill="quiet")


def _at(lon: float, lat: float, frame: SheetFrame) -> tuple[float, float]:
    x, y = frame.place(lon, lat)
    return float(x), float(y)


def _inside(x: float, y: float, frame: SheetFrame) -> bool:
    return 0 <= x <= frame.width_mm * UNITS_MM and 0 <= y <= frame.height_mm * UNITS_MM


def scale_bar(plan: Plan, frame: SheetFrame, width_mm: float = 80.0) -> str:
    """Draw a bar of round lengths in the reader's unit of distance, and one in kilometres or nautical miles beside it.

    The scale is true along the sheet's middle; elsewhere UTM is off by less than 0.1 %.
    """
    own = plan.display
    other: Display = "metric" if own == "us" else "us"
    parts = []
    for row, display in enumerate((own, other)):
        unit_m = {"NM": 1852.0, "km": 1000.0}[unit_name("distance", display)]
        most = width_mm * frame.scale / 1000.0 / unit_m
        step = max((s for s in (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0) if 4 * s <= most), default=0.05)
        y = 26.0 + 52.0 * row
        for i in range(4):
            x = i * step * unit_m * 1000.0 * UNITS_MM / frame.scale
            wide = step * unit_m * 1000.0 * UNITS_MM / frame.scale
            parts.append(svg.box(x + 10, y, wide, 9, fill="ink" if i % 2 == 0 else "page", stroke="ink",
                                 stroke_width=2))  # fmt: skip
            parts.append(svg.words(x + 10, y - 5, f"{i * step:g}", at="middle", font_size=19))
        end = 4 * step * unit_m * 1000.0 * UNITS_MM / frame.scale
        parts.append(svg.words(end + 10, y - 5, f"{4 * step:g} {unit_name('distance', display)}", font_size=19))
    return svg.picture(width_mm * UNITS_MM + 90, 96, "Scale bar", parts, kind="scale-bar")


def north(plan: Plan, frame: SheetFrame) -> str:
    """Draw true, grid and magnetic north at the sheet's middle, and the wind."""
    wide, high = frame.metres
    east, top = frame.west_m + wide / 2, frame.north_m - high / 2
    lon, lat = frame.to_lonlat([east, east], [top, top + 100.0])
    grid_deg = math.degrees(math.atan2((lon[1] - lon[0]) * math.cos(math.radians(lat[0])), lat[1] - lat[0]))
    parts = []
    for turn, name, length in ((0.0, "true", 150.0), (grid_deg, "grid", 120.0), (plan.declination_deg, "mag", 135.0)):
        seen = turn - grid_deg  # the sheet's own up is grid north
        x, y = svg.polar(seen, length)
        parts.append(svg.line(0, 60, x, y + 60, stroke="ink", stroke_width=4 if name == "true" else 2))
        parts.append(svg.arrow_head(x, y + 60, seen, 18 if name == "true" else 12, fill="ink"))
    parts.append(svg.words(0, 92, "N", at="middle", font_size=30, font_weight="600"))
    said = "true, grid and magnetic north"
    return svg.picture(200, 240, f"{said}: magnetic {plan.declination_deg:.1f}°, grid {grid_deg:.1f}° from true",
                       parts, kind="north", centred=True)  # fmt: skip
