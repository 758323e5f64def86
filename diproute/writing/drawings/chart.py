"""The flight manual's hover chart as a picture, with one reading marked, to be checked by eye against the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

from diproute.units import Display, show
from diproute.writing.drawings.axes import Axis
from diproute.writing.drawings.svg import disc, halo, line, path, picture, words

WIDTH, HEIGHT = 640.0, 400.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 600.0, 30.0, 356.0


class Curve(Protocol):
    """One temperature of a hover chart, of the plan or of a helicopter's file; None or NaN: no answer there."""

    @property
    def temperature_k(self) -> float:
        """Its temperature."""

    @property
    def pressure_altitude_m(self) -> Sequence[float]:
        """Pressure altitudes, rising."""

    @property
    def mass_kg(self) -> Sequence[float | None]:
        """Gross mass at each of them."""


def hover_chart(
    curves: Sequence[Curve],
    *,
    pressure_altitude_m: float,
    temperature_k: float,
    mass_kg: float | None,
    display: Display,
) -> str:
    """Draw a HOGE chart and how it was read.

    Parameters
    ----------
    curves
        The chart, a curve for each temperature.
    pressure_altitude_m, temperature_k
        Where the chart was read [m], [K].
    mass_kg
        What was read [kg]; None or NaN: the chart has no answer there, and the drawing says so.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG: gross weight across, pressure altitude up, a line for each temperature.
    """
    masses = [m for c in curves for m in c.mass_kg if m is not None and math.isfinite(m)]
    heights = [h for c in curves for h in c.pressure_altitude_m] + [pressure_altitude_m]
    room = 0.06 * (max(masses) - min(masses)) or 50.0
    across = Axis("mass", display, min(masses) - room, max(masses) + room, LEFT, RIGHT, 7)
    up = Axis("height", display, min(heights), max(min(heights) + 1.0, *heights), BOTTOM, TOP, 6)
    height, heat = show(pressure_altitude_m, "height", display), show(temperature_k, "temperature", display)
    at = f"{height} pressure altitude, {heat}"
    answered = mass_kg is not None and math.isfinite(mass_kg)
    read = show(mass_kg, "mass", display) if answered else "no answer on this chart"
    parts = [
        words(LEFT, 14, f"Hover out of ground effect (HOGE): {read}", font_weight="600"),
        words(RIGHT, 14, at, at="end", fill="quiet"),
        *(line(LEFT, y, RIGHT, y, stroke="rule", stroke_width=0.6) for y, _ in up.ticks),
        *(line(x, TOP, x, BOTTOM, stroke="rule", stroke_width=0.6) for x, _ in across.ticks),
    ]
    for curve in curves:
        known = [
            (across.at(m), up.at(h))
            for h, m in zip(curve.pressure_altitude_m, curve.mass_kg, strict=True)
            if m is not None and math.isfinite(m)
        ]
        if known:
            parts.append(path(known, fill="none", stroke="ink", stroke_width=1.4))
            x, y = known[-1]
            parts.append(halo(x, y + 13, show(curve.temperature_k, "temperature", display), at="middle", font_size=10))
    y = up.at(pressure_altitude_m)
    if mass_kg is not None and math.isfinite(mass_kg):
        x = across.at(mass_kg)
        parts += [
            path(((LEFT, y), (x, y), (x, BOTTOM)), fill="none", stroke="hazard", stroke_width=2),
            disc(x, y, 4.5, fill="hazard", stroke="page", stroke_width=1.5),
            halo(x - 7, BOTTOM - 8, read, at="end", fill="warning", font_weight="600"),
        ]
    else:
        parts.append(line(LEFT, y, RIGHT, y, stroke="hazard", stroke_width=2, stroke_dasharray="6 5"))
    parts += [
        path(((LEFT, TOP), (LEFT, BOTTOM), (RIGHT, BOTTOM)), fill="none", stroke="ink", stroke_width=1),
        *(words(LEFT - 6, b + 4, name, at="end", fill="quiet", font_size=10) for b, name in up.ticks),
        *(words(a, BOTTOM + 15, name, at="middle", fill="quiet", font_size=10) for a, name in across.ticks),
        words(RIGHT, BOTTOM + 32, f"gross weight, {across.unit}", at="end", fill="quiet", font_size=10),
        words(LEFT, BOTTOM + 32, f"pressure altitude, {up.unit}, up the side", fill="quiet", font_size=10),
    ]
    return picture(WIDTH, HEIGHT, f"HOGE chart read at {at}: {read}", parts, kind="chart")
