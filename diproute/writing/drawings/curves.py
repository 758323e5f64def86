"""Water an hour against fuel: a line for each bucket setting, and where no margin to the hover limit is left."""

from __future__ import annotations

import math

import numpy as np

from diproute.document.site import FillCurve, Site
from diproute.units import Display, show, show_share, unit_name
from diproute.writing.drawings.axes import Axis
from diproute.writing.drawings.svg import disc, halo, hatch, line, path, picture, words

WIDTH, HEIGHT = 640.0, 260.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 596.0, 26.0, 226.0
HAIR_KG = 1e-6  # just past the last allowed fuel of a setting

Points = list[tuple[float, float]]  # fuel [kg], water an hour [L/h]


def curves(site: Site, display: Display) -> str:
    """Draw the choice between fuel and water.

    Parameters
    ----------
    site
        Its curves hold every pair of bucket setting and fuel looked at; the pair of its load is marked solid.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG. The hatched side is more fuel than the hover limit lets the bucket be filled with.
    """
    lines = sorted(site.curve, key=lambda curve: -curve.fill)
    fuels = [fuel for curve in lines for fuel in curve.fuel_kg]
    rates = [rate for curve in lines for _, rate in _allowed(curve)]
    per_hour = f"{unit_name('volume', display)} an hour"
    if not rates or min(fuels) == max(fuels):
        note = "No pair of bucket setting and fuel is allowed" if not rates else "One fuel load only"
        return picture(WIDTH, 40, note, [words(0, 16, note, font_weight="600")], kind="curves")
    across = Axis("mass", display, min(fuels), max(fuels), LEFT, RIGHT, 6)
    up = Axis("volume", display, 0.0, max(1.0, *rates) * 1.25, BOTTOM, TOP, 4)
    parts = [
        words(LEFT, 13, "Water an hour against fuel at the start", font_weight="600"),
        *(line(LEFT, y, RIGHT, y, stroke="rule", stroke_width=0.6) for y, _ in up.ticks),
        *_forbidden(lines, across, up),
    ]
    for curve in lines:
        allowed = [(across.at(fuel), up.at(rate)) for fuel, rate in _allowed(curve)]
        if not allowed:
            continue
        mine = site.load is not None and math.isclose(site.load.fill, curve.fill, abs_tol=1e-6)
        parts.append(path(allowed, fill="none", stroke="shore", stroke_width=2.6 if mine else 1.3))
        x, y = allowed[-1]
        if curve.litres_per_hour[-1] is None:
            parts.append(disc(x, y, 2.6, fill="hazard"))
        parts.append(halo(x + 7, y + 4, show_share(curve.fill), fill="shore", font_weight="600" if mine else None))
    label = f"Water an hour against fuel for {len(lines)} bucket settings"
    if site.load is not None and site.sortie is not None:
        hourly, fuel = site.sortie.litres_per_hour, site.load.fuel_kg
        x, y = across.at(fuel), up.at(hourly)
        best = f"{show(hourly, 'volume', display)} an hour with {show(fuel, 'mass', display)} of fuel"
        label = f"{label}; chosen {best}, bucket setting {show_share(site.load.fill)}"
        parts.append(line(x, y, x, BOTTOM, stroke="ink", stroke_width=1, stroke_dasharray="2 3"))
        parts.append(disc(x, y, 5, fill="ink", stroke="page", stroke_width=1.5))
    parts += [
        line(LEFT, BOTTOM, RIGHT, BOTTOM, stroke="ink", stroke_width=1),
        *(words(LEFT - 6, y + 4, name, at="end", fill="quiet", font_size=10) for y, name in up.ticks),
        words(RIGHT, 13, per_hour, at="end", fill="quiet", font_size=10),
        *(line(x, BOTTOM, x, BOTTOM + 4, stroke="ink", stroke_width=1) for x, _ in across.ticks),
        *(words(x, BOTTOM + 16, name, at="middle", fill="quiet", font_size=10) for x, name in across.ticks),
        words(RIGHT, BOTTOM + 30, f"fuel, {across.unit}", at="end", fill="quiet", font_size=10),
    ]
    return picture(WIDTH, HEIGHT, label, parts, kind="curves")


def _allowed(curve: FillCurve) -> Points:
    """Give the allowed points of a setting."""
    pairs = zip(curve.fuel_kg, curve.litres_per_hour, strict=True)
    return sorted((fuel, rate) for fuel, rate in pairs if rate is not None)


def _forbidden(lines: list[FillCurve], across: Axis, up: Axis) -> list[str]:
    """Hatch what no setting gives: above the best that is allowed, from the fuel on at which the fullest one is not."""
    allowed = [np.array(_allowed(curve)).reshape(-1, 2) for curve in lines]  # fullest first
    ends = [rates[-1, 0] if len(rates) else across.low for rates in allowed]
    fuels = np.unique(np.concatenate([*(r[:, 0] for r in allowed), np.array(ends) + HAIR_KG, [across.high]]))
    fuels = fuels[(fuels >= ends[0]) & (fuels <= across.high)]
    if len(fuels) < 2:
        return []
    best = np.max([np.interp(fuels, r[:, 0], r[:, 1], left=0.0, right=0.0) for r in allowed if len(r)], axis=0)
    edge = [(across.at(x), up.at(y)) for x, y in zip(fuels, best, strict=True)]
    edge.insert(0, (edge[0][0], TOP))
    return [
        hatch([*edge, (edge[-1][0], TOP)], 7, stroke="hazard", stroke_width=0.8),
        path(edge, fill="none", stroke="hazard", stroke_width=1.2),
        halo(
            (edge[0][0] + RIGHT) / 2, TOP + 14, "no hover margin left", at="middle", fill="warning", font_weight="600"
        ),
    ]
