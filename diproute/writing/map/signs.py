"""Signs of the map, drawn here after the signs for obstacles of ICAO Annex 4, appendix 2 (from memory)."""

from __future__ import annotations

from diproute.writing.map.markup import Markup, join, tag

_SVG = {"xmlns": "http://www.w3.org/2000/svg", "aria_hidden": "true"}


def _sign(view: str, width: int, height: int, *shapes: Markup) -> Markup:
    return tag("svg", *shapes, viewBox=view, width=width, height=height, **_SVG)


def _path(d: str, class_: str) -> Markup:
    return tag("path", d=d, class_=class_)


def obstacle(*, tall: bool) -> Markup:
    """Draw an obstacle: two legs and a dot at the foot; a tall one stands higher."""
    top = -22 if tall else -15
    legs = f"M-6 0L0 {top}L6 0"
    return _sign("-9 -25 18 28", 18, 28, _path(legs, "sign-rim"), _path(legs, "sign-hazard"),
                 tag("circle", r="1.8", class_="sign-dot"))  # fmt: skip


def crossing() -> Markup:
    """Draw a place where a route crosses a wire: a ring cut by a bar."""
    return _sign("-10 -10 20 20", 20, 20, tag("circle", r="6.5", class_="sign-ring"),
                 _path("M-9 0H9", "sign-hazard"))  # fmt: skip


def drop() -> Markup:
    """Draw a place where the water is wanted: a solid diamond."""
    return _sign("-11 -11 22 22", 22, 22, _path("M0-9L9 0L0 9L-9 0Z", "sign-drop"))


def base() -> Markup:
    """Draw the helibase: the heliport sign, an H in a ring."""
    return _sign("-11 -11 22 22", 22, 22, tag("circle", r="9", class_="sign-base"),
                 _path("M-3.5-5V5M3.5-5V5M-3.5 0H3.5", "sign-line"))  # fmt: skip


def heading(course_deg: float) -> Markup:
    """Draw an arrow head along a leg."""
    turn = f"rotate({course_deg:.0f})"
    return _sign("-9 -9 18 18", 18, 18, tag("path", d="M0-7L5 6L0 3L-5 6Z", class_="sign-arrow", transform=turn))


def site(rank: int | None, word: str | None = None) -> Markup:
    """Draw a dip site: a disc with its rank, or a hollow one with a short word of why."""
    if rank is not None:
        return tag("span", str(rank), class_="disc")
    return join(tag("span", class_="disc hollow"), tag("span", word, class_="why") if word else None)


def north(declination_deg: float) -> Markup:
    """Draw true north and, turned by the declination, magnetic north."""
    return _sign(
        "-26 -46 52 64", 52, 64,
        _path("M0 14V-30", "sign-line"), _path("M0-40L5-26L0-29L-5-26Z", "sign-fill"),
        tag("g", _path("M0 14V-26", "sign-thin"), _path("M0-32L4-22L0-24Z", "sign-fill"),
            transform=f"rotate({declination_deg:.1f} 0 14)"),
    )  # fmt: skip
