"""Putting the page together: folium's map and picture layer, everything else written in, nothing linked."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Any, Protocol

import folium
from branca.element import Element, Figure
from jinja2 import Template

from diproute.document.plan import Plan
from diproute.files import write_atomically
from diproute.writing.drawings import palette
from diproute.writing.map import leaflet, outlook, panel, scene, signs
from diproute.writing.map.detail import detail, popup
from diproute.writing.map.markup import Markup, join, json_for_script, tag

# the page may run what is written in it and show pictures that it holds; it may ask nobody for anything
POLICY = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"


class Sheet(Figure):
    """An HTML page with its language, its policy and its parts in their order."""

    _template = Template(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="{{ this.policy }}">\n'
        '{% if this.run %}<meta name="diproute-run" content="{{ this.run }}">\n{% endif %}'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<link rel="icon" href="data:,">\n<title>{{ this.title }}</title>\n'
        "{{ this.header.render(**kwargs) }}\n</head>\n<body>\n{{ this.html.render(**kwargs) }}\n"
        "<script>\n{{ this.script.render(**kwargs) }}\n</script>\n</body>\n</html>\n"
    )
    policy = POLICY
    run: str | None = None  # the plan's, for whoever compares the files of a folder


class Written(Element):
    """Text that stands in the page as it is: no template language is read in it a second time."""

    _template = Template("{{ this.text }}")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class PlanMap(folium.Map):
    """folium's map without its links to script and style servers, and with a name that does not change."""

    default_js: list[tuple[str, str]] = []  # noqa: RUF012  folium declares them on the instance
    default_css: list[tuple[str, str]] = []  # noqa: RUF012
    _template = Template(
        "{% macro script(this, kwargs) %}"
        "var {{ this.get_name() }} = L.map({{ this.get_name()|tojson }}, {"
        "center: {{ this.location|tojson }}, zoom: 12, zoomSnap: 0.25, zoomDelta: 0.5, minZoom: 7, maxZoom: 18, "
        "zoomControl: false, attributionControl: false, fadeAnimation: false, markerZoomAnimation: false, "
        "wheelPxPerZoomLevel: 120});"
        "{% endmacro %}"
    )

    def get_name(self) -> str:
        """Name the map in the page."""
        return "planMap"


class Picture(folium.raster_layers.ImageOverlay):
    """A picture layer with a name that does not change."""

    def get_name(self) -> str:
        """Name the layer in the page."""
        return "planRelief"


class Planned(Protocol):
    """What holds a plan: what `diproute.make_plan` gives."""

    @property
    def document(self) -> Plan:
        """The plan."""


def draw_map(plan: Plan | Planned, path: str | Path) -> Path:
    """Draw a plan as one HTML file that opens without a network.

    Parameters
    ----------
    plan
        The plan, made here or read from a file; the map shows it and computes nothing.
    path
        The file to write.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    OutputError
        The file cannot be written, or Leaflet's files are missing or not the known ones.
    """
    return write_atomically(path, map_page(plan))


def map_page(plan: Plan | Planned) -> str:
    """Give the map's HTML as text, the same for the same plan, whether it was made here or read from a file."""
    if not isinstance(plan, Plan):
        plan = plan.document
    things = scene.build(plan)
    south, west, north, east = plan.terrain.bounds
    sheet = Sheet(title=Markup(join(f"{plan.title}: dip sites")))
    sheet.run = plan.run
    plan_map = PlanMap(location=[(south + north) / 2, (west + east) / 2], tiles=None)
    corners = [[south, west], [north, east]]
    picture = Picture(plan.terrain.picture, corners, pixelated=False, class_name="relief", alt="Shaded ground")
    picture.add_to(plan_map)
    plan_map.add_to(sheet)
    head = f"<style>{leaflet.style()}{palette.style_sheet()}{_asset('page.css')}</style>"
    data = f'<script type="application/json" id="scene">{json_for_script(things)}</script>'
    sheet.header.add_child(Written(head), name="style")
    sheet.html.add_child(Written(join(_body(plan), Markup(data))), name="body")
    sheet.script.add_child(Written(leaflet.script()), name="leaflet")
    plan_map.render()  # type: ignore[no-untyped-call]  # fills the sheet's script with the map and its picture
    sheet.script.add_child(Written(_asset("page.js")), name="page")
    return str(Sheet._template.render(this=sheet, kwargs={}))


def _asset(name: str) -> str:
    return files("diproute.writing.map").joinpath(name).read_text(encoding="utf-8")


def _body(plan: Plan) -> Markup:
    return join(
        Markup(_PATTERNS),
        tag(
            "main",
            tag(
                "div",
                tag("div", id="planMap", role="application", aria_label="Map of the dip sites"),
                tag("div", id="frame", aria_hidden="true"),
                tag(
                    "div",
                    signs.north(plan.declination_deg),
                    *(tag("p", text) for text in panel.declination(plan)),
                    class_="north",
                ),
                tag("p", class_="readout", id="readout", aria_live="off"),
                tag("p", "Invented data", class_="stamp") if plan.invented else None,
                tag("p", panel.foot(plan), class_="foot"),
                class_="sheet",
            ),
            tag(
                "div",
                panel.title(plan),
                panel.contents(plan),
                panel.ranking(plan),
                tag("div", *(detail(site, plan) for site in plan.sites), id="details"),
                outlook.through_the_day(plan),
                outlook.together(plan),
                outlook.duty(plan),
                panel.refused(plan),
                panel.legend(plan),
                panel.notes(plan),
                class_="panel",
            ),
        ),
        *(popup(site, plan) for site in plan.sites),
    )  # fmt: skip


def _hatch(name: str, role: str, gap: int, width: float, *, both: bool = False) -> str:
    lines = f'<path d="M0 {gap}L{gap} 0M-1 1L1 -1M{gap - 1} {gap + 1}L{gap + 1} {gap - 1}"/>'
    other = f'<path d="M0 0L{gap} {gap}"/>' if both else ""
    return (
        f'<pattern id="{name}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse">'
        f'<g stroke="var(--{role})" stroke-width="{width}" fill="none">{lines}{other}</g></pattern>'
    )


_PATTERNS: Any = (
    '<svg class="patterns" width="0" height="0" aria-hidden="true"><defs>'
    + _hatch("hatch-hard", "hazard", 7, 1.8)
    + _hatch("hatch-soft", "hazard", 16, 0.9)
    + _hatch("hatch-block", "hazard", 10, 1.8, both=True)
    + "</defs></svg>"
)
