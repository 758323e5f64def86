"""Putting the page together: folium's map and picture layer, everything else written in, nothing linked."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import Final, Protocol

import folium
from branca.element import Element, Figure
from jinja2 import Template

from diproute.document.plan import Plan
from diproute.files import write_atomically
from diproute.writing.drawings import palette
from diproute.writing.map import leaflet
from diproute.writing.map.body import body
from diproute.writing.map.markup import Markup, join, json_for_script
from diproute.writing.map.pack import pack

# in the order in which they are read; a script sees what those before it have put on `dip`
SCRIPTS: Final = (
    "base", "coordinates", "map", "words", "moment", "discs", "legs", "rose", "profile", "bars", "card", "ranking",
    "hours", "dials", "compare", "measure", "tabs", "screen", "start",
)  # fmt: skip
STYLES: Final = ("page.css", "map.css", "side.css", "screens.css")


class Sheet(Figure):
    """An HTML page with its language, its policy and its parts in their order."""

    _template = Template(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="{{ this.policy }}">\n'
        '{% if this.run %}<meta name="diproute-run" content="{{ this.run }}">\n{% endif %}'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<link rel="icon" href="data:,">\n<title>{{ this.title }}</title>\n'
        "{{ this.header.render(**kwargs) }}\n</head>\n<body>\n{{ this.html.render(**kwargs) }}\n"
        "</body>\n</html>\n"
    )
    policy = ""
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
        "center: {{ this.location|tojson }}, zoom: 12, zoomSnap: 0.25, zoomDelta: 0.5, maxZoom: 18, "
        "zoomControl: false, attributionControl: false, fadeAnimation: false, zoomAnimation: false, "
        "markerZoomAnimation: false, preferCanvas: true, wheelPxPerZoomLevel: 120});"
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
    style = unix(leaflet.style() + palette.style_sheet() + "".join(_asset(name) for name in STYLES))
    scripts = tuple(
        unix(f"\n{text}\n")
        for text in (leaflet.script(), _folium_script(plan), "".join(_asset(f"script/{name}.js") for name in SCRIPTS))
    )
    sheet = Sheet(title=Markup(join(f"{plan.title}: dip sites")))
    sheet.run = plan.run
    sheet.policy = policy(scripts, (style,))
    sheet.header.add_child(Written(f"<style>{style}</style>"), name="style")
    data = f'<script type="application/json" id="data">{json_for_script(pack(plan))}</script>'
    inlined = "\n".join(f"<script>{text}</script>" for text in scripts)
    sheet.html.add_child(Written(f"{body(plan)}{data}\n{inlined}"), name="body")
    return str(Sheet._template.render(this=sheet, kwargs={}))


def _folium_script(plan: Plan) -> str:
    """Give the script with which folium makes the map and lays its picture on it."""
    south, west, north, east = plan.terrain.bounds
    sheet = Figure()
    plan_map = PlanMap(location=[(south + north) / 2, (west + east) / 2], tiles=None)
    corners = [[south, west], [north, east]]
    picture = Picture(plan.terrain.picture, corners, pixelated=False, class_name="relief", alt="Shaded ground")
    picture.add_to(plan_map)
    plan_map.add_to(sheet)
    plan_map.render()  # type: ignore[no-untyped-call]  # fills the sheet's script with the map and its picture
    return str(sheet.script.render())


def policy(scripts: Sequence[str], styles: Sequence[str]) -> str:
    """Give the content security policy of a page: it runs and obeys what is written in it now, and asks nobody.

    Parameters
    ----------
    scripts, styles
        The text between the tags, to the letter, its lines ended as a browser reads them.

    Returns
    -------
    str
        A policy by hashes (Content Security Policy Level 3): no other script, no other style, pictures from the page.
    """

    def hashes(texts: Sequence[str]) -> str:
        digests = (base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii") for text in texts)
        return " ".join(f"'sha256-{digest}'" for digest in digests)

    return (
        f"default-src 'none'; script-src {hashes(scripts)}; style-src {hashes(styles)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def unix(text: str) -> str:
    """End the lines as an HTML parser does, so that the hash is that of what a browser runs."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _asset(name: str) -> str:
    return files("diproute.writing.map").joinpath(name).read_text(encoding="utf-8")
