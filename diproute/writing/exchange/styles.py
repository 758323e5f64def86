"""How a GIS draws the layers: the map's own look, as QML and as SLD 1.0 (OGC 02-070)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final
from xml.etree import ElementTree as Tree

from diproute.writing.drawings.palette import ROLES

_SLD: Final = "http://www.opengis.net/sld"
_OGC: Final = "http://www.opengis.net/ogc"


@dataclass(frozen=True, slots=True)
class Look:
    """One rule: the rows whose ``column`` has ``value`` (None: all), and how they are drawn; colours are roles."""

    label: str
    column: str | None
    value: str | None
    shape: str  # circle, triangle, square; line; area
    stroke: str
    fill: str | None = None  # None: hollow
    width_mm: float = 0.5
    size_mm: float = 4.0
    dash: str | None = None  # lengths in mm, ``"3;2"``
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Style:
    """The rules of one layer, and the column that is written beside each thing."""

    looks: tuple[Look, ...]
    named: str | None = None

    def qml(self) -> str:
        """Give the style as QML."""
        root = Tree.Element("qgis", version="3.22", styleCategories="Symbology|Labeling",
                            labelsEnabled=str(int(self.named is not None)))  # fmt: skip
        renderer = Tree.SubElement(root, "renderer-v2", type="RuleRenderer", symbollevels="0", enableorderby="0")
        rules = Tree.SubElement(renderer, "rules", key="all")
        symbols = Tree.SubElement(renderer, "symbols")
        for i, look in enumerate(self.looks):
            rule = Tree.SubElement(rules, "rule", key=f"rule-{i}", symbol=str(i), label=look.label)
            if look.column is not None:
                rule.set("filter", f'"{look.column}" = {_value(look.value)}')
            kind = {"line": "line", "area": "fill"}.get(look.shape, "marker")
            symbol = Tree.SubElement(symbols, "symbol", name=str(i), type=kind, alpha=f"{look.opacity:g}")
            name = {"line": "SimpleLine", "area": "SimpleFill"}.get(look.shape, "SimpleMarker")
            layer = Tree.SubElement(symbol, "layer", {"class": name, "enabled": "1", "pass": "0", "locked": "0"})
            options = Tree.SubElement(layer, "Option", type="Map")
            for key, value in _options(look):
                Tree.SubElement(options, "Option", name=key, type="QString", value=value)
        if self.named is not None:
            labels = Tree.SubElement(root, "labeling", type="simple")
            settings = Tree.SubElement(labels, "settings", calloutType="simple")
            text = Tree.SubElement(
                settings, "text-style", fieldName=self.named, isExpression="0", fontSize="9", fontSizeUnit="Point",
                textColor=_rgba("ink"), fontWeight="63",
            )  # fmt: skip
            Tree.SubElement(
                text, "text-buffer", bufferDraw="1", bufferSize="0.8", bufferSizeUnits="MM", bufferColor=_rgba("page")
            )
        return "<!DOCTYPE qgis>" + Tree.tostring(root, encoding="unicode")

    def sld(self, layer: str) -> str:
        """Give the style as SLD, for the layer of that name."""
        root = Tree.Element("StyledLayerDescriptor", {"version": "1.0.0", "xmlns": _SLD, "xmlns:ogc": _OGC})
        named = Tree.SubElement(root, "NamedLayer")
        Tree.SubElement(named, "Name").text = layer
        style = Tree.SubElement(Tree.SubElement(named, "UserStyle"), "FeatureTypeStyle")
        for look in self.looks:
            rule = Tree.SubElement(style, "Rule")
            Tree.SubElement(rule, "Name").text = look.label
            if look.column is not None and look.value is not None:
                equal = Tree.SubElement(Tree.SubElement(rule, "ogc:Filter"), "ogc:PropertyIsEqualTo")
                Tree.SubElement(equal, "ogc:PropertyName").text = look.column
                Tree.SubElement(equal, "ogc:Literal").text = look.value
            _symbolizer(rule, look)
        return '<?xml version="1.0" encoding="UTF-8"?>' + Tree.tostring(root, encoding="unicode")


def _value(value: str | None) -> str:
    """Write a value as an expression has it."""
    return value if value in ("true", "false") else f"'{value}'"


def _rgba(role: str | None) -> str:
    if role is None:
        return "255,255,255,0"
    colour = ROLES[role].light
    return ",".join(str(int(colour[i : i + 2], 16)) for i in (1, 3, 5)) + ",255"


def _options(look: Look) -> Iterator[tuple[str, str]]:
    if look.shape == "line":
        yield from (("line_color", _rgba(look.stroke)), ("line_width", f"{look.width_mm:g}"), ("line_width_unit", "MM"))
        if look.dash is not None:
            yield from (("use_custom_dash", "1"), ("customdash", look.dash), ("customdash_unit", "MM"))
        return
    yield from (
        ("color", _rgba(look.fill)), ("outline_color", _rgba(look.stroke)), ("outline_width", f"{look.width_mm:g}"),
        ("outline_width_unit", "MM"), ("outline_style", "solid"),
    )  # fmt: skip
    if look.shape == "area":
        yield "style", "no" if look.fill is None else "solid"
    else:
        yield from (("name", look.shape), ("size", f"{look.size_mm:g}"), ("size_unit", "MM"))


def _symbolizer(rule: Tree.Element, look: Look) -> None:
    if look.shape == "line":
        _stroke(Tree.SubElement(rule, "LineSymbolizer"), look)
    elif look.shape == "area":
        area = Tree.SubElement(rule, "PolygonSymbolizer")
        _fill(area, look)
        _stroke(area, look)
    else:
        graphic = Tree.SubElement(Tree.SubElement(rule, "PointSymbolizer"), "Graphic")
        mark = Tree.SubElement(graphic, "Mark")
        Tree.SubElement(mark, "WellKnownName").text = look.shape
        _fill(mark, look)
        _stroke(mark, look)
        Tree.SubElement(graphic, "Size").text = f"{look.size_mm * 3.6:.0f}"  # pixels of 0.28 mm (SLD 1.0)


def _fill(parent: Tree.Element, look: Look) -> None:
    if look.fill is not None:
        fill = Tree.SubElement(parent, "Fill")
        Tree.SubElement(fill, "CssParameter", name="fill").text = ROLES[look.fill].light
        Tree.SubElement(fill, "CssParameter", name="fill-opacity").text = f"{look.opacity:g}"


def _stroke(parent: Tree.Element, look: Look) -> None:
    stroke = Tree.SubElement(parent, "Stroke")
    Tree.SubElement(stroke, "CssParameter", name="stroke").text = ROLES[look.stroke].light
    Tree.SubElement(stroke, "CssParameter", name="stroke-width").text = f"{look.width_mm * 3.6:.1f}"
    if look.dash is not None:
        lengths = " ".join(f"{float(part) * 3.6:.0f}" for part in look.dash.split(";"))
        Tree.SubElement(stroke, "CssParameter", name="stroke-dasharray").text = lengths


_LEGS: Final = Style(
    (
        Look("loaded leg", "kind", "loaded", "line", "ink", width_mm=0.8),
        Look("empty leg", "kind", "empty", "line", "ink", width_mm=0.6, dash="3;2"),
        Look("ferry", "kind", "ferry", "line", "quiet", width_mm=0.5, dash="0.6;1.5"),
    )
)
STYLES: Final[dict[str, Style]] = {
    "sites": Style(
        (
            Look("suitable dip site", "suitable", "true", "circle", "page", "ink", size_mm=5.0),
            Look("unsuitable dip site", "suitable", "false", "circle", "hazard", None, 0.6, 4.0),
        ),
        named="rank",
    ),
    "legs": _LEGS,
    "waypoints": Style((Look("turning point", None, None, "square", "ink", "page", 0.3, 1.5),)),
    "waters": Style(
        (
            Look("water in use", "used", "true", "area", "shore", "water"),
            Look("water left out", "used", "false", "area", "shore", None, 0.4),
        ),
        named="name",
    ),
    "waters_lines": Style((Look("water left out", None, None, "line", "shore", width_mm=0.4, dash="2;1"),)),
    # no rule picks among obstacles: a wire filed as a point, or a wall drawn as a line, must be seen as well
    "obstacles": Style((Look("obstacle", None, None, "triangle", "hazard", "page", size_mm=3.5),)),
    "obstacles_lines": Style((Look("wire or other obstacle", None, None, "line", "hazard", width_mm=0.8),)),
    "obstacles_areas": Style((Look("obstacle", None, None, "area", "hazard", None, 0.6),)),
    "areas": Style(
        (
            Look("closed to a load", "closed", "true", "area", "hazard", "hazard", 0.6, opacity=0.4),
            Look("crossed at a price", "closed", "false", "area", "hazard", None, 0.4),
        ),
        named="name",
    ),
    "places": Style((Look("drop or helibase", None, None, "square", "ink", "page", 0.8),), named="name"),
}
