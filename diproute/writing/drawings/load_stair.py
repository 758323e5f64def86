"""The load stair: from the hover chart's limit down to the water, a step a line of the load calculation."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diproute.records import Display, Load
from diproute.units import show
from diproute.writing.drawings.svg import box, halo, hatch, line, picture, words

WIDTH = 640.0
LEFT, RIGHT, TOP, ROW = 132.0, 566.0, 44.0, 18.0
TAKEN_OFF = ("weight reduction", "hover margin")
ABOARD = ("equipped", "crew", "fuel", "bucket", "line", "gear")


@dataclass(frozen=True, slots=True)
class Step:
    """One step down: its name, and the mass left above and below it [kg]."""

    name: str
    above_kg: float
    below_kg: float

    @property
    def mass_kg(self) -> float:
        """Height of the step [kg]."""
        return self.above_kg - self.below_kg


def steps(load: Load) -> tuple[Step, ...]:
    """Turn the lines of a load calculation into steps that start at the chart's limit.

    Parameters
    ----------
    load
        The load with its lines.

    Returns
    -------
    tuple of Step
        Steps of no height are left out; empty where the chart gave no answer. The last two are the water carried
        and what is left; below nothing they show by how much the load is too heavy.
    """
    mass = {entry.name: entry.mass_kg for entry in load.lines}
    at = mass.get("chart limit", load.hoge_limit_kg)
    if not (math.isfinite(at) and math.isfinite(load.water_kg)):
        return ()
    found: list[Step] = []

    def down(name: str, kg: float) -> None:
        nonlocal at
        if abs(kg) >= 0.05:
            found.append(Step(name, at, at - kg))
            at -= kg

    for name in TAKEN_OFF:
        down(name, mass.get(name, 0.0))
    down("certificated limit", max(0.0, at - mass.get("certificated limit", math.inf)))
    for name in ABOARD:
        down(name, mass.get(name, 0.0))
    if load.margin_kg < 0:
        down("water, lowest fill", at - load.margin_kg)
        return tuple(found)
    down("water", load.water_kg)
    down("over the hook limit", max(0.0, at - load.margin_kg))
    down("left over", at)
    return tuple(found)


def load_stair(load: Load, display: Display) -> str:
    """Draw a load calculation.

    Parameters
    ----------
    load
        The load with its lines.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG: what is aboard is grey, the water blue, what is left hollow; a load that is too heavy ends in a dark
        orange step below nothing.
    """
    stair = steps(load)
    top = f"Hover limit {show(load.hoge_limit_kg, 'mass', display)} at {load.place}"
    if not stair:
        note = next((entry.note for entry in load.lines if entry.name == "chart limit"), "") or "no answer"
        label = f"No load: the hover chart gives none. {note}"
        return picture(WIDTH, 40, label, [words(0, 16, label, fill="warning", font_weight="600")], kind="stair")
    low = min(0.0, stair[-1].below_kg)
    high = stair[0].above_kg

    def at(kg: float) -> float:
        return LEFT + (kg - low) / (high - low) * (RIGHT - LEFT)

    parts = [
        words(0, 13, f"{top}; the {load.governed_by} decides", font_weight="600"),
        words(0, 32, "hover limit", font_size=11),
        box(LEFT, 22, at(high) - LEFT, 13, fill="none", stroke="ink", stroke_width=1.2),
        words(WIDTH, 32, show(high, "mass", display), at="end", font_weight="600"),
        line(at(high), 22, at(high), TOP, stroke="ink", stroke_width=1),
    ]
    for i, step in enumerate(stair):
        y = TOP + i * ROW
        x1, x2 = at(step.below_kg), at(step.above_kg)
        fill, edge, weight = _look(step)
        parts.append(box(x1, y, max(1.0, x2 - x1), 13, fill=fill, stroke=edge, stroke_width=1))
        if fill == "none" and step.name != "left over":
            parts.append(hatch([(x1, y), (x2, y), (x2, y + 13), (x1, y + 13)], 4, stroke="line", stroke_width=0.8))
        if i + 1 < len(stair):
            parts.append(line(x1, y, x1, y + ROW, stroke="ink", stroke_width=1))
        parts.append(words(0, y + 10.5, step.name, font_weight=weight))
        sign = "" if step.name.startswith(("water", "left")) else "− "
        mass = f"{sign}{show(step.mass_kg, 'mass', display)}"
        parts.append(words(WIDTH, y + 10.5, mass, at="end", font_weight=weight))
    if low < 0:
        parts.append(line(at(0), TOP - 4, at(0), TOP + ROW * len(stair), stroke="hazard", stroke_width=1.6))
        parts.append(halo(at(0) + 4, TOP + ROW * len(stair) + 11, f"too heavy by {show(-low, 'mass', display)}",
                          fill="warning", font_weight="600"))  # fmt: skip
    words_of = ", ".join(f"{s.name} {show(s.mass_kg, 'mass', display)}" for s in stair)
    return picture(WIDTH, TOP + ROW * len(stair) + 16, f"{top}: {words_of}", parts, kind="stair")


def _look(step: Step) -> tuple[str, str, str | None]:
    """Fill, edge and weight of a step."""
    if step.below_kg < -0.05 and not step.name.startswith("water"):
        return "hazard", "hazard", "600"
    if step.name.startswith("water"):
        return "water", "shore", "600"
    if step.name == "left over":
        return "none", "ink", None
    if step.name in (*TAKEN_OFF, "certificated limit", "over the hook limit"):
        return "none", "line", None
    return "trees" if step.name in ("bucket", "line", "gear") else "ground", "line", None
