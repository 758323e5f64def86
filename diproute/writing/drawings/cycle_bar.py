"""The cycle bar: one round trip, its parts in flying order, seconds written in."""

from __future__ import annotations

from diproute.records import Cycle
from diproute.units import show_time
from diproute.writing.drawings.svg import box, hatch, line, picture, words

WIDTH = 640.0
TOP, THICK = 26.0, 26.0
NARROW = 58.0  # a part thinner than this has its name below


def cycle_bar(cycle: Cycle) -> str:
    """Draw a cycle.

    Parameters
    ----------
    cycle
        The round trip.

    Returns
    -------
    str
        SVG: what is done over water is blue, the loaded leg solid, the empty leg hollow, the rest pale.
    """
    total = cycle.seconds
    parts = [words(0, 13, f"One cycle {show_time(total)}", font_weight="600")]
    x, below = 0.0, 0
    label = []
    for part in cycle.parts:
        width = WIDTH * part.seconds / total if total else 0.0
        seconds = f"{part.seconds:.0f} s"
        label.append(f"{part.name} {seconds}")
        fill, text = _look(part.name)
        parts.append(box(x + 0.5, TOP, max(0.0, width - 1), THICK, fill=fill, stroke="ink", stroke_width=1))
        if "drop" in part.name:
            corners = [(x + 1, TOP), (x + width - 1, TOP), (x + width - 1, TOP + THICK), (x + 1, TOP + THICK)]
            parts.append(hatch(corners, 4, stroke="ink", stroke_width=1))
        middle = x + width / 2
        if width >= NARROW and width >= 6.2 * len(part.name):
            parts.append(words(middle, TOP + 11.5, part.name, at="middle", fill=text, font_size=10.5))
            parts.append(words(middle, TOP + 22.5, seconds, at="middle", fill=text, font_size=10))
        else:
            row = TOP + THICK + 13 + 13 * (below % 2)
            side = "start" if middle < 30 else "end" if middle > WIDTH - 30 else "middle"
            parts.append(line(middle, TOP + THICK, middle, row - 9, stroke="line", stroke_width=0.8))
            parts.append(words(middle, row, label[-1], at=side, font_size=10))
            below += 1
        x += width
    return picture(WIDTH, 82, f"One cycle {show_time(total)}: {', '.join(label)}", parts, kind="cycle")


def _look(name: str) -> tuple[str, str]:
    """Fill and text colour of a part."""
    if "fill" in name:
        return "water", "ink"
    if "loaded" in name:
        return "ink", "page"
    if "empty" in name:
        return "page", "ink"
    return "clear", "ink"
