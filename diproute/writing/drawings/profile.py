"""The profile of a leg: the ground, what stands on it, the floor and the path above it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diproute.document.legs import Leg
from diproute.units import Display, show, show_down, show_time
from diproute.wording import label
from diproute.writing.drawings.axes import Axis
from diproute.writing.drawings.svg import disc, halo, hatch, line, path, picture, words

WIDTH, HEIGHT = 640.0, 212.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 628.0, 26.0, 182.0
_READING = (
    "Line: the aircraft. Dots: the lowest that keeps every clearance, load included. Grey: ground; darker: trees."
)
_DASHES: dict[str, str | None] = {"loaded": None, "empty": "8 5", "ferry": "1.5 4"}

Heights = Sequence[float | None]
Points = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class _Scales:
    """The two axes, and the ends of a step of the leg's envelope on the drawing."""

    across: Axis
    up: Axis
    step_m: float

    def edges(self, step: int) -> tuple[float, float]:
        return self.across.at(step * self.step_m), self.across.at((step + 1) * self.step_m)

    def over(self, heights: Heights, first: int, end: int) -> Points:
        """Give a line over known steps, in the middle of each, out to the edges of the first and the last."""
        found = []
        for step in range(first, end):
            height = heights[step]
            assert height is not None
            left, right = self.edges(step)
            y = self.up.at(height)
            found += [(left, y)] if step == first else []
            found.append(((left + right) / 2, y))
            found += [(right, y)] if step + 1 == end else []
        return found


def profile(leg: Leg, display: Display) -> str:
    """Draw a leg from the side.

    Parameters
    ----------
    leg
        The leg; heights AMSL.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        SVG. Ground that is not known is hatched over the whole height; the aircraft's line is the leg's own path.
    """
    flown = [point[2] for point in leg.path]
    below = leg.envelope
    heights = [*flown, *(wire.top_m for wire in leg.wires_crossed)]
    for row in (below.ground_m, below.top_m, below.floor_m) if below is not None else ():
        heights += [height for height in row if height is not None]
    low, high = min(heights), max(heights)
    spare = max(20.0, 0.12 * (high - low))
    scales = _Scales(
        Axis("distance", display, 0.0, max(leg.length_m, 1.0), LEFT, RIGHT, 6),
        Axis("height", display, low - spare, high + spare, BOTTOM, TOP, 4),
        0.0 if below is None else below.step_m,
    )
    across, up = scales.across, scales.up
    heading = f"{title(leg)}: {show(leg.length_m, 'distance', display)}, {show_time(leg.seconds)}"
    peak = f"highest {show(leg.highest_m, 'height', display)} {label('altitude', display)}"
    parts = [
        words(LEFT, 13, heading, font_weight="600"),
        words(RIGHT, 13, peak, at="end", fill="quiet"),
        *(line(LEFT, y, RIGHT, y, stroke="rule", stroke_width=0.6) for y, _ in up.ticks),
        *_below(leg, scales),
        *_aircraft(leg, scales),
        *_wires(leg, scales),
        line(LEFT, BOTTOM, RIGHT, BOTTOM, stroke="ink", stroke_width=1),
        *(words(LEFT - 6, y + 4, name, at="end", fill="quiet", font_size=10) for y, name in up.ticks),
        words(LEFT - 6, TOP - 4, up.unit, at="end", fill="quiet", font_size=10),
        *(line(a, BOTTOM, a, BOTTOM + 4, stroke="ink", stroke_width=1) for a, _ in across.ticks),
        *(words(a, BOTTOM + 16, name, at="middle", fill="quiet", font_size=10) for a, name in across.ticks),
        words(RIGHT, BOTTOM + 28, across.unit, at="end", fill="quiet", font_size=10),
        words(LEFT, BOTTOM + 28, _READING, fill="quiet", font_size=10),
    ]
    return picture(WIDTH, HEIGHT, f"{heading}, {peak}", parts, kind="profile")


def probe(leg: Leg, display: Display) -> dict[str, list[object]]:
    """Numbers behind a profile for a pointer, in trade units, one entry a step of the leg's envelope.

    Parameters
    ----------
    leg
        The leg.
    display
        ``"us"`` or ``"metric"``.

    Returns
    -------
    dict
        ``at`` [lat, lon]; ``x`` across the drawing; ``far`` along the leg, ``path`` of the aircraft above sea level
        and ``room`` between it and the lowest height that keeps every clearance, as words.
    """
    below = leg.envelope
    if below is None:
        return {"at": [], "x": [], "far": [], "path": [], "room": []}
    across = Axis("distance", display, 0.0, max(leg.length_m, 1.0), LEFT, RIGHT)
    along = [(step + 0.5) * below.step_m for step in range(len(below.aircraft_m))]
    lon, lat = (np.interp(along, leg.along_m, [point[i] for point in leg.path]) for i in (0, 1))
    altitude = label("altitude", display)
    return {
        "at": [[round(float(a), 5), round(float(b), 5)] for a, b in zip(lat, lon, strict=True)],
        "x": [round(across.at(d), 1) for d in along],
        "far": [show(d, "distance", display) for d in along],
        "path": [f"{show_down(h, 'height', display)} {altitude}" for h in below.aircraft_m],
        "room": [show_down(h, "height", display) for h in below.room_m],
    }


def title(leg: Leg) -> str:
    """Name a leg."""
    way = {"loaded": f"Loaded leg, to {leg.drop}", "empty": f"Empty leg, from {leg.drop}", "ferry": "Ferry"}
    return way[leg.leg]


def _below(leg: Leg, scales: _Scales) -> list[str]:
    """Draw ground, what stands on it and the floor; hatch what is not known."""
    below = leg.envelope
    if below is None:
        corners = [(LEFT, TOP), (RIGHT, TOP), (RIGHT, BOTTOM), (LEFT, BOTTOM)]
        return [hatch(corners, stroke="line", stroke_width=0.9)]
    parts = []
    for first, end in _runs([height is not None for height in below.top_m]):
        tops = scales.over(below.top_m, first, end)
        parts.append(path([*tops, (tops[-1][0], BOTTOM), (tops[0][0], BOTTOM)], close=True, fill="trees"))
    for first, end in _runs([height is not None for height in below.ground_m]):
        earth = scales.over(below.ground_m, first, end)
        parts.append(path([*earth, (earth[-1][0], BOTTOM), (earth[0][0], BOTTOM)], close=True, fill="ground"))
        parts.append(path(earth, fill="none", stroke="line", stroke_width=0.8))
    unknown = [ground is None or top is None for ground, top in zip(below.ground_m, below.top_m, strict=True)]
    for first, end in _runs(unknown):
        a, b = scales.edges(first)[0], scales.edges(end - 1)[1]
        parts.append(hatch([(a, TOP), (b, TOP), (b, BOTTOM), (a, BOTTOM)], stroke="line", stroke_width=0.9))
    for first, end in _runs([height is not None for height in below.floor_m]):
        floor = scales.over(below.floor_m, first, end)
        parts.append(path(floor, fill="none", stroke="hazard", stroke_width=1.1, stroke_dasharray="2 2.5"))
    return parts


def _aircraft(leg: Leg, scales: _Scales) -> list[str]:
    flown = [(scales.across.at(d), scales.up.at(point[2])) for d, point in zip(leg.along_m, leg.path, strict=True)]
    return [
        path(flown, fill="none", stroke="page", stroke_width=5, stroke_linejoin="round"),
        path(flown, fill="none", stroke="ink", stroke_width=2.2, stroke_dasharray=_DASHES[leg.leg]),
        disc(*flown[0], 3.2, fill="ink"),
        disc(*flown[-1], 3.2, fill="page", stroke="ink", stroke_width=1.8),
    ]


def _wires(leg: Leg, scales: _Scales) -> list[str]:
    """Draw a tick as high as each wire that is crossed."""
    parts = []
    display = scales.up.display
    for wire in leg.wires_crossed:
        a, y = scales.across.at(wire.along_m), scales.up.at(wire.top_m)
        parts.append(line(a, y, a, BOTTOM, stroke="hazard", stroke_width=2))
        parts.append(line(a - 5, y, a + 5, y, stroke="hazard", stroke_width=2))
        note = f"wire {show(wire.top_m, 'height', display)}{', height assumed' if wire.height_assumed else ''}"
        flip = a > (LEFT + RIGHT) / 2
        parts.append(halo(a - 8 if flip else a + 8, BOTTOM - 6, note, at="end" if flip else "start", fill="warning"))
    return parts


def _runs(mask: Sequence[bool]) -> list[tuple[int, int]]:
    """Stretches where a mask holds, as first and one past the last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], np.asarray(mask, dtype=np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
