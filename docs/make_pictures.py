"""Make the pictures of these pages from the sample: ``python docs/make_pictures.py``, by hand, after a change.

Plans ``sample_geo/incident.toml`` and writes beside this file ``rose-*.svg``, ``gate.svg`` and ``orbit.svg``, each with
its colours for a light and a dark page, and ``map.jpg``, a screenshot of the map taken with Debian's chromium and no
network.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from pathlib import Path

import numpy as np

from diproute import Plan, Site, draw_map, make_plan, read_incident
from diproute.document.legs import Gate, Leg, Piece
from diproute.files import write_atomically
from diproute.records import F64
from diproute.units import show, show_course
from diproute.writing.drawings import svg
from diproute.writing.drawings.palette import ROLES
from diproute.writing.drawings.rose import rose
from diproute.writing.reader import told

HERE = Path(__file__).parent
ROSES = {"reservoir": "Weir Reservoir", "pond": "Lantern Pond", "gorge": "Gannet River"}
WIDE, HIGH, QUALITY = 1400, 950, 80


def picked(plan: Plan, water: str) -> Site:
    """Pick the site of a water with the fewest open directions, the one that has most to show."""
    of_it = [site for site in plan.sites if site.water == water and site.open_share is not None]
    if not of_it:
        raise SystemExit(f"the plan has no site on {water}")
    return min(of_it, key=lambda site: site.open_share or 0.0)


def self_contained(svg: str) -> str:
    """Give a drawing the page's colours and ground, so that it stands alone."""
    used = {name: role for name, role in ROLES.items() if f"var(--{name}," in svg} | {"page": ROLES["page"]}
    light = "".join(f"--{name}:{role.light};" for name, role in used.items())
    dark = "".join(f"--{name}:{role.dark};" for name, role in used.items())
    style = f"<style>:root{{{light}}}@media (prefers-color-scheme:dark){{:root{{{dark}}}}}</style>"
    box = re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', svg)
    if box is None:
        raise SystemExit("the drawing has no view box")
    x, y, width, height = box.groups()
    ground = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="var(--page)"/>'
    sized = svg.replace(box[0], f'{box[0]} width="{width}" height="{height}"', 1)
    return sized.replace(">", f">{style}{ground}", 1) + "\n"


def draw_roses(plan: Plan) -> None:
    """Write the roses of the three places."""
    for name, water in ROSES.items():
        site = picked(plan, water)
        path = write_atomically(HERE / f"rose-{name}.svg", self_contained(rose(site, plan)))
        asks = site.line.governed_by
        print(f"{path.name}: {site.name}, rank {site.rank}, line {site.line.needed_m} m"
              f"{f' for {asks.what}' if asks else ''}, {site.open_share or 0:.0%} open, "
              f"{'; '.join(told(f, plan) for f in site.refused) or 'suitable'}")  # fmt: skip


def draw_flights(plan: Plan) -> None:
    """Write the beginning of two loaded legs from above: one without orbits, one with them."""
    legs = [(site, site.routes[0]) for site in plan.suitable]
    for name, circling in (("gate", False), ("orbit", True)):
        site, leg = next((s, leg) for s, leg in legs if any(p.kind == "orbits" for p in leg.pieces) == circling)
        path = write_atomically(HERE / f"{name}.svg", self_contained(from_above(site, leg, plan)))
        print(f"{path.name}: {site.name}, {leg.seconds:.0f} s")


def from_above(site: Site, leg: Leg, plan: Plan) -> str:
    """Draw the first pieces of a leg from above, numbered, with a line of words on each."""
    gate = leg.departure
    if gate is None:
        raise SystemExit(f"{site.name}: the leg has no gate")
    lon, lat, _ = (np.array(row) for row in zip(*leg.path, strict=True))
    east, north = (lon - lon[0]) * 111_320 * np.cos(np.radians(lat[0])), (lat - lat[0]) * 111_132
    pieces = leg.pieces[: next(i for i, p in enumerate(leg.pieces) if p.kind == "straight") + 1]
    last = min(pieces[-1].last, int(np.searchsorted(leg.along_m, leg.along_m[pieces[-1].first] + 600.0)))
    course = np.radians(gate.course_deg)
    half = [(plan.limits.corridor_start_m + plan.limits.corridor_spread * a, a) for a in (0.0, gate.surveyed_m)]
    edge = np.array([(-half[0][0], 0.0), (-half[1][0], half[1][1]), (half[1][0], half[1][1]), (half[0][0], 0.0)])
    rim = edge @ np.array([[np.cos(course), -np.sin(course)], [np.sin(course), np.cos(course)]])
    at = np.column_stack([east, north])[: last + 1]
    low, high = np.concatenate([at, rim]).min(axis=0), np.concatenate([at, rim]).max(axis=0)
    scale = min(560.0 / (high[0] - low[0]), 300.0 / (high[1] - low[1]))
    width, drawn = 640.0, float((high[1] - low[1]) * scale) + 40.0

    def placed(points: F64) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in (points - (low[0], high[1])) * (scale, -scale) + (40.0, 20.0)]

    path = placed(at)
    parts = [svg.path(placed(rim), close=True, fill="clear", stroke="line", stroke_width=0.7)]
    lines = []
    for number, piece in enumerate(pieces, 1):
        points = path[piece.first : min(piece.last, last) + 1]
        heavy = piece.kind in ("corridor", "arc")
        if piece.kind != "lift":
            dash = "5 3" if piece.kind == "orbits" else None
            parts.append(
                svg.path(points, fill="none", stroke="ink", stroke_width=3.0 if heavy else 1.8, stroke_dasharray=dash)
            )
        x, y = points[len(points) // 2] if len(points) > 2 else np.mean(points, axis=0)
        lines.append((number, float(x), float(y), _told(piece, gate, plan)))
    parts.append(svg.disc(*path[0], 5.0, fill="water", stroke="shore", stroke_width=1.5))
    for number, x, y, told_ in lines:
        parts.append(svg.halo(x + 7, y - 5, str(number), font_weight=600))
        parts.append(svg.words(12, drawn + 16.0 * number, f"{number}  {told_}"))
    parts.append(svg.line(width - 12, drawn, width - 12 - 200 * scale, drawn, stroke="ink", stroke_width=1.2))
    parts.append(svg.words(width - 12, drawn - 5, "200 m", at="end"))
    label = f"The departure from {site.name} from above"
    return svg.picture(width, drawn + 16.0 * len(lines) + 16.0, label, parts, kind="flight")


def _told(piece: Piece, gate: Gate, plan: Plan) -> str:
    radius = show(piece.radius_m, "line", plan.display)
    turn = f"{abs(piece.turn_deg or 0.0):.0f}° to the {'right' if (piece.turn_deg or 0.0) > 0 else 'left'}"
    return {
        "lift": f"lift: straight up {show(gate.lift_m, 'height', plan.display)}",
        "corridor": f"corridor on {show_course(gate.course_deg)} true at {gate.gradient:.1%}, "
        f"{show(gate.ground_speed_m_s, 'speed', plan.display)} over the ground; pale: the strip that was surveyed",
        "arc": f"arc, {turn}, radius {radius}",
        "orbits": f"orbit, {turn}, radius {radius}: the whole circle is clear",
    }.get(piece.kind, "the way of the travel-time field")


def shoot_map(plan: Plan) -> None:
    """Write a screenshot of the map as it opens."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("no chromium; install Debian's package chromium")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        page_file = draw_map(plan, Path(folder) / "map.html")
        browser = playwright.chromium.launch(executable_path=chromium)
        page = browser.new_context(viewport={"width": WIDE, "height": HIGH}, offline=True).new_page()
        page.goto(page_file.as_uri())
        page.wait_for_selector(".mark.site")
        shot = page.screenshot(type="jpeg", quality=QUALITY)
        browser.close()
    path = write_atomically(HERE / "map.jpg", shot)
    print(f"{path.name}: {len(shot) / 1000:.0f} kB")


if __name__ == "__main__":
    the_plan = make_plan(read_incident(HERE.parent / "sample_geo" / "incident.toml")).document
    draw_roses(the_plan)
    draw_flights(the_plan)
    shoot_map(the_plan)
