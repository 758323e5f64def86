"""The colours of every picture: one meaning a colour, three lights to see it in.

The ground is grey, the water is blue, what can hurt is dark orange; ink is for what is chosen. Hues are those of
M. Okabe and K. Ito, Color Universal Design, 2008, darkened or lightened where text or a thin line needs the contrast.
A drawing names a role, never a colour; the page chooses the light.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Role:
    """One meaning's colour on a white screen, on a black one, and on paper."""

    light: str
    dark: str
    paper: str


OKABE_ITO: Final[dict[str, str]] = {
    "black": "#000000", "orange": "#E69F00", "sky blue": "#56B4E9", "bluish green": "#009E73", "yellow": "#F0E442",
    "blue": "#0072B2", "vermillion": "#D55E00", "reddish purple": "#CC79A7",
}  # fmt: skip

ROLES: Final[dict[str, Role]] = {
    "page": Role("#ffffff", "#14171a", "#ffffff"),
    "shade": Role("#f3f3f0", "#1d2125", "#f3f3f0"),  # a chosen row
    "ink": Role("#16181a", "#ecebe7", "#000000"),
    "quiet": Role("#54585c", "#a9afb5", "#3c3f42"),  # second text
    "rule": Role("#c4c6c4", "#3d444a", "#a5a7a5"),  # hairlines that carry nothing
    "line": Role("#7c7f80", "#868d93", "#6c6f70"),  # lines that carry something
    "ground": Role("#c2c2bd", "#4b5055", "#cfcfca"),
    "trees": Role("#8d908a", "#737a7e", "#979a94"),
    "water": Role("#56B4E9", "#0072B2", "#a6d8f4"),
    "shore": Role("#0072B2", "#56B4E9", "#0072B2"),  # water's edge, and words about water
    "deep": Role("#005A8E", "#8ECBF0", "#004F7D"),  # words on water
    "hazard": Role("#D55E00", "#F08C3A", "#C05500"),
    "warning": Role("#A14300", "#F5A25D", "#8F3C00"),  # words about what can hurt
    "clear": Role("#dcdcd6", "#3a4046", "#e6e6e1"),  # open directions
    "green": Role("#00755A", "#3CC4A0", "#006B52"),  # bluish green and reddish purple only tell lines apart
    "purple": Role("#9C4A77", "#D894B9", "#8E3F6B"),
    "closed": Role("#B24A00", "#F08C3A", "#9C4200"),
}  # fmt: skip


def paint(role: str) -> str:
    """Colour of a role for a ``fill`` or ``stroke``: the page's, or the light one where no page gives it."""
    return f"var(--{role}, {ROLES[role].light})"


def style_sheet() -> str:
    """CSS variables of all roles for the three lights."""

    def block(light: str) -> str:
        return "".join(f"--{name}:{getattr(role, light)};" for name, role in ROLES.items())

    return (
        f":root{{color-scheme:light dark;{block('light')}}}"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{block('dark')}}}}}"
        f"@media print{{:root{{color-scheme:light;{block('paper')}}}}}"
        f":root.paper{{color-scheme:light;{block('paper')}}}"  # for a page that is about to be printed
    )


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours ``#rrggbb``, 1 to 21 (WCAG 2.1, definition of contrast ratio)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
