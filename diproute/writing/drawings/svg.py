"""Small pieces of SVG text, so that a drawing reads as what it draws."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape

from diproute.writing.drawings.palette import paint

Points = Iterable[Sequence[float]]


def number(value: float) -> str:
    """Print a coordinate to a tenth of a unit, without a useless zero or a minus zero."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def picture(width: float, height: float, label: str, parts: Iterable[str], *, kind: str, centred: bool = False) -> str:
    """Wrap parts into one SVG document.

    Parameters
    ----------
    width, height
        Size of the view box [user units].
    label
        What the picture says, for those who do not see it.
    parts
        The elements.
    kind
        Class name of the drawing.
    centred
        True: the origin is the middle; False: the upper left corner.

    Returns
    -------
    str
        ``<svg …>…</svg>``, the same for the same input.
    """
    corner = f"{number(-width / 2)} {number(-height / 2)}" if centred else "0 0"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing {kind}" role="img" aria-label="{escape(label)}" '
        f'viewBox="{corner} {number(width)} {number(height)}" font-family="system-ui, sans-serif" font-size="11">'
        f"{''.join(parts)}</svg>"
    )


def attributes(**given: object) -> str:
    """``stroke_width=2`` as ``stroke-width="2"``; roles of the palette in ``fill`` and ``stroke`` become paints."""
    words = []
    for key, value in given.items():
        if value is None:
            continue
        if key in ("fill", "stroke") and value != "none":
            value = paint(str(value))
        shown = number(value) if isinstance(value, float) else str(value)
        words.append(f' {key.rstrip("_").replace("_", "-")}="{escape(shown)}"')
    return "".join(words)


def path(points: Points, *, close: bool = False, **style: object) -> str:
    """Draw a line through points, closed to an area if asked."""
    return f'<path d="{track(points, close=close)}"{attributes(**style)}/>'


def track(points: Points, *, close: bool = False) -> str:
    """Give the ``d`` of a path through points."""
    steps = [f"{number(x)} {number(y)}" for x, y in points]
    return f"M{'L'.join(steps)}{'Z' if close else ''}"


def line(x1: float, y1: float, x2: float, y2: float, **style: object) -> str:
    """Draw a straight line."""
    return f'<path d="{track(((x1, y1), (x2, y2)))}"{attributes(**style)}/>'


def disc(x: float, y: float, radius: float, **style: object) -> str:
    """Draw a circle."""
    return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}"{attributes(**style)}/>'


def box(x: float, y: float, width: float, height: float, **style: object) -> str:
    """Draw a rectangle."""
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}"'
        f"{attributes(**style)}/>"
    )


def words(x: float, y: float, text: str, *, at: str = "start", fill: str = "ink", **style: object) -> str:
    """Write text; ``at`` is ``start``, ``middle`` or ``end``."""
    anchor = None if at == "start" else at
    return (
        f'<text x="{number(x)}" y="{number(y)}"{attributes(text_anchor=anchor, fill=fill, **style)}>'
        f"{escape(text)}</text>"
    )


def halo(x: float, y: float, text: str, *, at: str = "start", fill: str = "ink", **style: object) -> str:
    """Write text with a rim in the page's colour, to stand on lines and areas."""
    return words(x, y, text, at=at, fill=fill, stroke="page", stroke_width=3, paint_order="stroke",
                 stroke_linejoin="round", **style)  # fmt: skip


def polar(angle_deg: float, radius: float) -> tuple[float, float]:
    """Place on a compass card: north up, clockwise."""
    angle = math.radians(angle_deg)
    return radius * math.sin(angle), -radius * math.cos(angle)


def hatch(outline: Sequence[Sequence[float]], gap: float = 5.0, **style: object) -> str:
    """Fill an outline with slanting lines, as one path: the sign of what is not known or not allowed."""
    from shapely import LineString, MultiLineString, Polygon

    area = Polygon(outline).buffer(0)
    if area.is_empty:
        return ""
    left, top, right, bottom = area.bounds
    fall = bottom - top
    first = math.floor((left - fall) / gap) * gap
    slants = [((first + i * gap, bottom), (first + i * gap + fall, top)) for i in range(int((right - first) / gap) + 1)]
    cut = MultiLineString([LineString(s) for s in slants]).intersection(area) if slants else area.boundary
    pieces = [g for g in getattr(cut, "geoms", [cut]) if g.geom_type == "LineString" and g.length > 0]
    if not pieces:
        return ""
    return f'<path d="{"".join(track(p.coords) for p in pieces)}"{attributes(fill="none", **style)}/>'


def arrow_head(x: float, y: float, direction_deg: float, size: float, **style: object) -> str:
    """Draw a filled head whose tip is at a place and points along a compass direction."""
    left, right = polar(direction_deg + 158, size), polar(direction_deg - 158, size)
    return path(((x, y), (x + left[0], y + left[1]), (x + right[0], y + right[1])), close=True, **style)
