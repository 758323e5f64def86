"""The sign of true and magnetic north; the other signs of the map are drawn by its script."""

from __future__ import annotations

import math

from diproute.writing.map.markup import Markup, tag

_SVG = {"xmlns": "http://www.w3.org/2000/svg", "aria_hidden": "true"}


def _sign(view: str, width: int, height: int, *shapes: Markup) -> Markup:
    return tag("svg", *shapes, viewBox=view, width=width, height=height, **_SVG)


def _path(d: str, class_: str) -> Markup:
    return tag("path", d=d, class_=class_)


def north(declination_deg: float) -> Markup:
    """Draw true north and, turned by the declination, magnetic north, each with its letter."""
    side = 1.0 if declination_deg >= 0 else -1.0
    lean = 40.0 * math.sin(math.radians(declination_deg))
    return _sign(
        "-26 -46 52 64", 52, 64,
        _path("M0 14V-30", "sign-line"), _path("M0-40L5-26L0-29L-5-26Z", "sign-fill"),
        tag("g", _path("M0 14V-26", "sign-thin"), _path("M0-32L4-22L0-24Z", "sign-fill"),
            transform=f"rotate({declination_deg:.1f} 0 14)"),
        tag("text", "N", x=-9.0 * side, y=-34, text_anchor="middle"),
        tag("text", "M", x=max(12.0, abs(lean) + 12.0) * side, y=-20, text_anchor="middle"),
    )  # fmt: skip
