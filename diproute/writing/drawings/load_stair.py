"""The load stair: from the hover chart's limit down to the water, a step a line of the load calculation."""

from __future__ import annotations

from dataclasses import dataclass

from diproute.document.site import Load
from diproute.units import Display, show
from diproute.wording import Reader, label, say
from diproute.writing.drawings.svg import box, halo, hatch, line, picture, words

WIDTH = 640.0
LEFT, RIGHT, TOP, ROW = 132.0, 566.0, 44.0, 18.0
TAKEN_OFF = ("weight reduction", "hover margin")
ABOARD = ("equipped", "crew", "fuel", "bucket", "line", "gear")
WATER, TOO_MUCH_WATER, LEFT_OVER = "water carried", "lowest setting", "left"
# steps that no line of the load sheet has: what a limit takes off, and water that is too heavy
NAMES = {
    "certificated limit": "over the gross weight limit",
    "hook limit": "over the hook limit",
    WATER: "water",
    TOO_MUCH_WATER: "water, lowest bucket setting",
}


@dataclass(frozen=True, slots=True)
class Step:
    """One step down: its key, and the mass left above and below it [kg]."""

    key: str
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
    mass = {entry.name: entry.mass_kg for entry in load.lines if entry.mass_kg is not None}
    limit = mass.get("chart limit", load.hoge_limit_kg)
    if limit is None or load.water_kg is None or load.margin_kg is None:
        return ()
    found: list[Step] = []
    at = limit

    def down(key: str, kg: float) -> None:
        nonlocal at
        if abs(kg) >= 0.05:
            found.append(Step(key, at, at - kg))
            at -= kg

    for key in TAKEN_OFF:
        down(key, mass.get(key, 0.0))
    down("certificated limit", max(0.0, at - mass.get("certificated limit", at)))
    for key in ABOARD:
        down(key, mass.get(key, 0.0))
    if load.margin_kg < 0:
        down(TOO_MUCH_WATER, at - load.margin_kg)
        return tuple(found)
    down(WATER, load.water_kg)
    down("hook limit", max(0.0, at - load.margin_kg))
    down(LEFT_OVER, at)
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
    top = heading(load, display)
    if not stair:
        return picture(WIDTH, 40, top, [words(0, 16, top, fill="warning", font_weight="600")], kind="stair")
    low = min(0.0, stair[-1].below_kg)
    high = stair[0].above_kg

    def at(kg: float) -> float:
        return LEFT + (kg - low) / (high - low) * (RIGHT - LEFT)

    parts = [
        words(0, 13, f"{top}; the {label(load.governed_by, display)} decides", font_weight="600"),
        words(0, 32, "gross weight", font_size=11),
        box(LEFT, 22, at(high) - LEFT, 13, fill="none", stroke="ink", stroke_width=1.2),
        words(WIDTH, 32, show(high, "mass", display), at="end", font_weight="600"),
        line(at(high), 22, at(high), TOP, stroke="ink", stroke_width=1),
    ]
    for i, step in enumerate(stair):
        y = TOP + i * ROW
        x1, x2 = at(step.below_kg), at(step.above_kg)
        fill, edge, weight = look_of(step)
        parts.append(box(x1, y, max(1.0, x2 - x1), 13, fill=fill, stroke=edge, stroke_width=1))
        if is_hatched(step):
            parts.append(hatch([(x1, y), (x2, y), (x2, y + 13), (x1, y + 13)], 4, stroke="line", stroke_width=0.8))
        if i + 1 < len(stair):
            parts.append(line(x1, y, x1, y + ROW, stroke="ink", stroke_width=1))
        parts.append(words(0, y + 10.5, name_of(step, display), font_weight=weight))
        mass = f"{sign(step)}{show(step.mass_kg, 'mass', display)}"
        parts.append(words(WIDTH, y + 10.5, mass, at="end", font_weight=weight))
    if low < 0:
        parts.append(line(at(0), TOP - 4, at(0), TOP + ROW * len(stair), stroke="hazard", stroke_width=1.6))
        parts.append(halo(at(0) + 4, TOP + ROW * len(stair) + 11, f"too heavy by {show(-low, 'mass', display)}",
                          fill="warning", font_weight="600"))  # fmt: skip
    words_of = ", ".join(f"{name_of(s, display)} {show(s.mass_kg, 'mass', display)}" for s in stair)
    return picture(WIDTH, TOP + ROW * len(stair) + 16, f"{top}: {words_of}", parts, kind="stair")


def heading(load: Load, display: Display) -> str:
    """Say what the chart gives and where, or why it gives nothing."""
    if not steps(load):
        note = next((entry.note for entry in load.lines if entry.name == "chart limit"), None)
        why = "" if note is None else f": {say(note, Reader(display))}"
        return f"No load: the hover chart gives no answer{why}"
    place, chart = label(load.place, display), label("chart limit", display)
    return f"{chart[0].upper()}{chart[1:]} {show(load.hoge_limit_kg, 'mass', display)} at {place}"


def name_of(step: Step, display: Display) -> str:
    """Name a step."""
    return NAMES.get(step.key) or label(step.key, display)


def sign(step: Step) -> str:
    """Give the minus of a step that takes off."""
    return "" if step.key in (WATER, TOO_MUCH_WATER, LEFT_OVER) else "− "


def is_hatched(step: Step) -> bool:
    """Tell whether a step takes off what a limit does not allow."""
    return look_of(step)[0] == "none" and step.key != LEFT_OVER


def look_of(step: Step) -> tuple[str, str, str | None]:
    """Give fill, edge and weight of a step."""
    if step.key in (WATER, TOO_MUCH_WATER):
        return "water", "shore", "600"
    if step.below_kg < -0.05:
        return "hazard", "hazard", "600"
    if step.key == LEFT_OVER:
        return "none", "ink", None
    if step.key in (*TAKEN_OFF, "certificated limit", "hook limit"):
        return "none", "line", None
    return "trees" if step.key in ("bucket", "line", "gear") else "ground", "line", None
