"""The cycle bar: one round trip, its parts in flying order, seconds written in."""

from __future__ import annotations

import math

from diproute.document.site import Cycle
from diproute.units import Display, show_time
from diproute.wording import label
from diproute.writing.drawings.svg import box, halo, hatch, line, picture, words

WIDTH = 640.0
TOP, THICK, ROW = 26.0, 26.0, 13.0
LETTER = 5.6  # width to count for a letter at size 10
LOOKS = {"fill": ("water", "ink"), "transit loaded": ("ink", "page"), "transit empty": ("page", "ink")}


def cycle_bar(cycle: Cycle, display: Display) -> str:
    """Draw a cycle.

    Parameters
    ----------
    cycle
        The round trip.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG: what is done over water is blue, the loaded leg solid, the empty leg hollow, the rest pale. A part too
        narrow for its name has it below.
    """
    total = cycle.seconds
    heading = f"One cycle {show_time(total)}"
    parts = [words(0, 13, heading, font_weight="600")]
    said, rows = [], [-math.inf]
    x = 0.0
    for part in cycle.parts:
        width = WIDTH * part.seconds / total if total else 0.0
        seconds = f"{part.seconds:.0f} s"
        name = label(part.name, display)
        said.append(f"{name} {seconds}")
        fill, text = look_of(part.name)
        parts.append(box(x + 0.5, TOP, max(0.0, width - 1), THICK, fill=fill, stroke="ink", stroke_width=1))
        if part.name == "drop":
            corners = [(x + 1, TOP), (x + width - 1, TOP), (x + width - 1, TOP + THICK), (x + 1, TOP + THICK)]
            parts.append(hatch(corners, 4, stroke="ink", stroke_width=1))
        middle = x + width / 2
        if width >= LETTER * len(name) + 8:
            parts.append(words(middle, TOP + 11.5, name, at="middle", fill=text, font_size=10.5))
            parts.append(words(middle, TOP + 22.5, seconds, at="middle", fill=text, font_size=10))
        elif round(part.seconds) > 0:
            parts += _below(middle, said[-1], rows)
        x += width
    return picture(WIDTH, TOP + THICK + ROW * len(rows) + 5, f"{heading}: {', '.join(said)}", parts, kind="cycle")


def _below(middle: float, text: str, rows: list[float]) -> list[str]:
    """Write a name under its part, in the first row that has room; ``rows`` holds how far each is filled."""
    half = LETTER * len(text) / 2
    left = min(max(middle - half, 0.0), WIDTH - 2 * half)
    row = next((i for i, end in enumerate(rows) if left > end + 6), len(rows))
    if row == len(rows):
        rows.append(0.0)
    rows[row] = left + 2 * half
    y = TOP + THICK + 13 + ROW * row
    foot = line(middle, TOP + THICK, middle, y - 9, stroke="line", stroke_width=0.8)
    return [foot, halo(left + half, y, text, at="middle", font_size=10)]


def look_of(key: str) -> tuple[str, str]:
    """Fill and text colour of a part, by its key."""
    return LOOKS.get(key, ("clear", "ink"))
