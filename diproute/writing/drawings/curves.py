"""Water an hour against fuel: a line for each fill setting, and the side on which the hover margin forbids it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from diproute.records import CurvePoint, Display, Load
from diproute.units import show, show_share, unit_name
from diproute.writing.drawings.axes import Axis
from diproute.writing.drawings.svg import disc, halo, hatch, line, path, picture, words

WIDTH, HEIGHT = 640.0, 260.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 596.0, 26.0, 226.0
HAIR_KG = 1e-6  # just past the last allowed fuel of a fill


def curves(points: Sequence[CurvePoint], chosen: Load | None, litres_per_hour: float | None, display: Display) -> str:
    """Draw the choice between fuel and water.

    Parameters
    ----------
    points
        Every pair of fill and fuel looked at; NaN litres an hour: not allowed.
    chosen
        The load of the plan, marked solid; None: none.
    litres_per_hour
        Its water an hour [L/h].
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG. The hatched side is more fuel than the hover limit lets the bucket be filled with.
    """
    fills = sorted({p.fill for p in points}, reverse=True)
    lines = {f: sorted((p for p in points if p.fill == f), key=lambda p: p.fuel_kg) for f in fills}
    fuels = [p.fuel_kg for p in points]
    rates = [p.litres_per_hour for p in points if math.isfinite(p.litres_per_hour)]
    per_hour = f"{unit_name('volume', display)} an hour"
    if not rates or min(fuels) == max(fuels):
        note = "No pair of fill and fuel is allowed" if not rates else "One fuel load only"
        return picture(WIDTH, 40, note, [words(0, 16, note, font_weight="600")], kind="curves")
    across = Axis("mass", display, min(fuels), max(fuels), LEFT, RIGHT, 6)
    up = Axis("volume", display, 0.0, max(1.0, *rates) * 1.25, BOTTOM, TOP, 4)
    parts = [
        words(LEFT, 13, "Water an hour against fuel at the start", font_weight="600"),
        *(line(LEFT, y, RIGHT, y, stroke="rule", stroke_width=0.6) for y, _ in up.ticks),
    ]
    parts += _forbidden(lines, across, up)
    for fill, row in lines.items():
        allowed = [(across.at(p.fuel_kg), up.at(p.litres_per_hour)) for p in row if math.isfinite(p.litres_per_hour)]
        if not allowed:
            continue
        mine = chosen is not None and math.isclose(chosen.fill, fill, abs_tol=1e-6)
        parts.append(path(allowed, fill="none", stroke="shore", stroke_width=2.6 if mine else 1.3))
        x, y = allowed[-1]
        if not math.isfinite(row[-1].litres_per_hour):
            parts.append(disc(x, y, 2.6, fill="hazard"))
        weight = "600" if mine else None
        parts.append(halo(x + 7, y + 4, show_share(fill), fill="shore", font_weight=weight))
    label = f"Water an hour against fuel for {len(fills)} fill settings"
    if chosen is not None and litres_per_hour is not None and math.isfinite(litres_per_hour):
        x, y = across.at(chosen.fuel_kg), up.at(litres_per_hour)
        best = (
            f"{show(litres_per_hour, 'volume', display)} an hour with {show(chosen.fuel_kg, 'mass', display)} of fuel"
        )
        label = f"{label}; chosen {best}, {show_share(chosen.fill)} fill"
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


def _forbidden(lines: dict[float, list[CurvePoint]], across: Axis, up: Axis) -> list[str]:
    """Hatch what no fill gives: above the best that is allowed, from the fuel on at which the fullest one is not."""
    allowed = [
        np.array([(p.fuel_kg, p.litres_per_hour) for p in row if math.isfinite(p.litres_per_hour)]).reshape(-1, 2)
        for row in lines.values()  # fullest first
    ]
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
